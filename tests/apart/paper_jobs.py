"""Random jobs for the papers: by hand with dials or a readout, or by program; skewed, as a pair, with a milled slot.

Parts, old holes and patterns are those of the layouts. What is new is the machine: readout steps that are round in the
unit of the job or in the other one only, screws of either unit, not the same for both axes, every approach.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from layout_jobs import NewPattern, draw_old_set, draw_pattern
from layout_model import Part, Points, Shape
from layout_parts import Drawn, draw_part
from shapely.affinity import scale
from shop_figures import INCH, ShopFigures

UNIT_MM = {"in": Fraction(254, 10), "mm": Fraction(1)}
USUAL_STEP = {"in": Fraction(127, 10000), "mm": Fraction(5, 1000)}
"""Step where the job states none, or one that is not round in its unit: 0.0005 in or 0.005 mm."""

READOUTS = {
    "in": ("0.0005", "0.001", "0.0002", "0.0001", "0.002", "0.005 mm", "0.01 mm"),
    "mm": ("0.005", "0.01", "0.001", "0.02", "0.002", "0.0005 in", "0.0001 in"),
}
SCREWS = {
    "in": (("0.1", 100), ("0.125", 125), ("0.2", 200), ("1/16", 62), ("2.5 mm", 125), ("5 mm", 100)),
    "mm": (("2.5", 125), ("2", 100), ("4", 80), ("5", 250), ("3", 150), ("0.1 in", 100), ("1/8 in", 125)),
}
"""Lead of a screw and marks on its dial."""


@dataclass(frozen=True)
class Dial:
    """A handwheel: travel of a turn, exact mm, and its marks."""

    lead: Fraction
    marks: int


@dataclass(frozen=True)
class PaperJob:
    """A job and its truth; lengths in mm."""

    text: str
    unit: str
    step: Fraction
    """What positions are rounded to."""
    dials: tuple[Dial, Dial] | None
    approach: tuple[int, int]
    backlash: float
    safe_height: float
    hands: tuple[str, ...]
    datums: tuple[str, ...]
    flip: str
    part: Part
    on_table: Callable[[Points], Points]
    patterns: tuple[NewPattern, ...]
    drawings: dict[str, Callable[[Path], None]]
    wants_papers: bool = True

    def of_hand(self, points: Any, hand: int) -> Points:
        """Return points of the part, for the other hand mirrored: one coordinate has the other sign there."""
        p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        sign = np.array((-1.0, 1.0) if self.flip == "x" else (1.0, -1.0))
        return np.asarray(p * sign) if hand else p

    def shape_of_hand(self, shape: Shape, hand: int) -> Shape:
        """Return a shape of the part, for the other hand mirrored."""
        sign = (-1.0, 1.0) if self.flip == "x" else (1.0, -1.0)
        return scale(shape, *sign, origin=(0.0, 0.0)) if hand else shape


def draw_paper_job(seed: int) -> PaperJob:
    """Return the random job of a seed; an outline that crosses itself is drawn again."""
    for again in range(20):
        figures = ShopFigures(f"paper {seed} {again}", decimals_in=3, decimals_mm=2)
        drawn = draw_part(figures)
        if drawn.part.outline.is_valid:
            return _draw_machine(figures, drawn, seed)
    raise AssertionError(f"no outline for seed {seed}")


def length(text: str, unit: str) -> Fraction:
    """Return the exact millimetres of a length as the job writes it."""
    number, _, own = text.partition(" ")
    return Fraction(number) * UNIT_MM[own or unit]


def _draw_machine(figures: ShopFigures, drawn: Drawn, seed: int) -> PaperJob:
    draw, unit = figures.random, figures.unit
    kind = draw.choice(("dials", "dials and readout", "readout", "readout", "cnc"))
    machine, dials, step = ["[machine]"], None, USUAL_STEP[unit]
    if kind == "cnc":
        machine.append('kind = "cnc"')
    if "dials" in kind:
        screws = [draw.choice(SCREWS[unit])] * 2
        words = f'lead = "{screws[0][0]}", divisions = {screws[0][1]}'
        if figures.chance(0.4):
            screws[1] = draw.choice(SCREWS[unit])
            words += f', lead_y = "{screws[1][0]}", divisions_y = {screws[1][1]}'
        machine.append(f"dials = {{ {words} }}")
        x, y = (Dial(length(lead, unit), marks) for lead, marks in screws)
        dials = (x, y)
    if kind != "dials":
        told = draw.choice(READOUTS[unit])
        machine.append(f'readout = "{told}"')
        if "mm" not in told:  # no step of a metric readout is a round number of inches
            step = length(told, unit)
    senses = (draw.choice((1, -1)), draw.choice((1, -1)))
    if figures.chance(0.6):
        machine.append(f'approach = ["{"+-"[senses[0] < 0]}x", "{"+-"[senses[1] < 0]}y"]')
    else:
        senses = (1, 1)
    backlash = 0.0
    if figures.chance(0.6):
        backlash = figures.pick((0.05, 0.1, 0.3))
        machine.append(f"backlash = {figures.text(backlash)}")
    safe = INCH / 2 if unit == "in" else 12.0
    if figures.chance(0.4):
        safe = figures.pick((8.0, 15.0))
        machine.append(f"safe_height = {figures.text(safe)}")
    flip = draw.choice(("x", "y")) if figures.chance(0.35) else ""
    hands = ("left as fitted; notch", "right as fitted; notch")[: 2 if flip else 1]
    datums = ("left end and front edge", "right end and front edge")[: len(hands)]
    sets = [draw_old_set(figures, drawn, number) for number in range(draw.choice((0, 1, 1, 2)))]
    patterns, lines = [], []
    for number in range(draw.choice((1, 1, 2))):
        pattern, more = draw_pattern(figures, drawn.part, f"p{number}", sets)
        patterns.append(pattern)
        lines += more
    drawn.lines.insert(drawn.lines.index("[part]") + 1, f'datum = "{datums[0]}"')
    lines += _draw_slot(figures, drawn) if figures.chance(0.35) else []
    pair = f'other_hand = {{ hand = "{hands[-1]}", flip = "{flip}", datum = "{datums[-1]}" }}'
    text = [
        f'title = "Invented: paper {seed}"',
        f'unit = "{unit}"',
        f'hand = "{hands[0]}"',
        *([pair] if flip else []),
        *machine,
        *drawn.lines,
        *lines,
    ]
    return PaperJob(
        "\n".join(text) + "\n", unit, step, dials, senses, backlash, safe, hands, datums, flip, drawn.part,
        drawn.on_table, tuple(patterns), drawn.drawings,
    )  # fmt: skip


def _draw_slot(figures: ShopFigures, drawn: Drawn) -> list[str]:
    """A slot across the middle of the part, with a cutter of its own: passes begin and end somewhere."""
    x0, y0, x1, y1 = drawn.part.outline.bounds
    diameter = figures.pick((3.0, 4.0, 6.0))
    turn = figures.random.choice((0.0, 0.0, 0.3, -0.4))
    middle, reach = ((x0 + x1) / 2, (y0 + y1) / 2), 0.2 * (x1 - x0)
    ends = [figures.exact_point((middle[0] + s * reach * math.cos(turn), middle[1] + s * reach * math.sin(turn)))
            for s in (-1, 1)]  # fmt: skip
    drawn.lines.insert(1, f'end_mills = [{{ name = "cutA", diameter = {figures.text(diameter)}, flutes = 2 }}]')
    return [
        "[[slot]]",
        'name = "s1"',
        'cutter = "cutA"',
        f"from = {figures.pair(ends[0])}",
        f"to = {figures.pair(ends[1])}",
        f"width = {figures.text(diameter * figures.random.choice((1.0, 1.5)))}",
        f"depth = {figures.text(min(2.0, drawn.part.thickness / 2))}",
        'ends = ["blind", "blind"]',
    ]
