"""Random jobs of one slot in a rectangular part, and what of the part it may and must take away.

Straight, slanting and bent slots, bends sharp or rounded; ends open, open with a run-out, blind, blind with the axis at
the point, stopped short of a kept curve; to a width and depth, or to clear a bar; at once or in sneaking stages.
"""

from __future__ import annotations

from dataclasses import dataclass

from cnc_setups import CncSetup, Cutting, EndMill, draw_cutting, draw_setup, head_text, part_text, tools_text
from shop_figures import XY, ShopFigures


@dataclass(frozen=True)
class Kept:
    """A curve that a slot stops short of: a line from (x, 0) to (bow, H), or an arc from (x, 0) to (x, H) over bow."""

    arc: bool
    x: float
    bow: float
    short_by: float


@dataclass(frozen=True)
class Bar:
    """A bar that a slot is to clear; ``clear`` is within and float together, mm."""

    width: float
    clear: float
    round_ends: bool


@dataclass(frozen=True)
class SlotJob:
    """A job and its truth; lengths in mm, points in the part frame."""

    text: str
    setup: CncSetup
    size: XY
    mill: EndMill
    cutting: Cutting
    line: tuple[XY, ...]
    rounded: float
    width: float
    depth: float
    ends: tuple[str, str]
    """open, open and run out, blind, axis at the point, or stopped."""
    kept: Kept | None
    bar: Bar | None
    undersize: float
    stages: int
    """Steps of sneaking up; nought for a slot cut at once."""


END_WORDS = ("open", "blind", "stopped", "axis at the point", "open and run out")
MATERIALS = ("brass", "copper", "aluminium", "mild steel", "beech", "maple")


def draw_slot_job(seed: int) -> SlotJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"slot {seed}")
    draw = figures.random
    setup = draw_setup(figures)
    material, thickness = draw.choice(MATERIALS), figures.pick((20.0, 30.0, 12.0))
    size = figures.exact_point((160.0, 80.0))
    mill = EndMill(
        "cutA",
        figures.pick((3.0, 4.0, 6.0, 6.35, 8.0, 10.0)),
        draw.choice((2, 3, 4)),
        figures.chance(0.7),
        draw.choice(("hss", "carbide")),
    )
    width = figures.exact(mill.diameter * draw.choice((1.0, 1.2, 1.5, 1.9, 2.5, 3.3)))
    depth = figures.pick((1.5, 3.0, 5.0, 7.0))
    ends = tuple(draw.choice(END_WORDS) for _ in range(2))
    if ends[0] == "stopped":
        ends = ("blind", ends[1])
    line, rounded, path = _draw_line(figures, size, (ends[0], ends[1]))
    bar, width, depth, room = _draw_room(figures, width, depth)
    kept, keep_out = _draw_kept(figures, size) if "stopped" in ends else (None, [])
    undersize, stages, sneak = 0.0, 0, []
    if width - mill.diameter > 1.0 and figures.chance(0.6):
        undersize, stages = figures.pick((0.3, 0.5)), draw.randint(1, 4)
        sneak = [f"sneak = {{ undersize = {figures.text(undersize)}, steps = {stages} }}"]
    cutting, cutting_text = draw_cutting(figures)
    words = {
        "open": '"open"',
        "blind": '"blind"',
        "stopped": f'{{ stop_short = "kept", by = {figures.text(2.5)} }}',
        "axis at the point": "{ blind = true, axis_at_point = true }",
        "open and run out": f"{{ open = true, run_out = {figures.text(mill.diameter * 0.8)} }}",
    }
    lines = [
        *head_text(figures, f"slot {seed}"),
        *setup.text,
        *tools_text(figures, (mill,)),
        *part_text(figures, material=material, thickness=thickness, size=size),
        *setup.skew_text,
        *keep_out,
        "[[slot]]",
        'name = "s1"',
        'cutter = "cutA"',
        *path,
        *room,
        *(["spoil_board = false"] if figures.chance(0.3) else []),
        f"ends = [{', '.join(words[end] for end in ends)}]",
        *sneak,
        *cutting_text,
    ]
    return SlotJob(
        "\n".join(lines) + "\n", setup, size, mill, cutting, line, rounded, width, depth, (ends[0], ends[1]), kept,
        bar, undersize, stages,
    )  # fmt: skip


def _draw_line(figures: ShopFigures, size: XY, ends: tuple[str, str]) -> tuple[tuple[XY, ...], float, list[str]]:
    """Return the middle line, the radius of its bends, and the lines that say so."""
    draw = figures.random
    y = figures.between(30.0, 50.0)
    begin = (0.0, y) if "open" in ends[0] else (figures.exact(25.0), y)
    end = (size[0], y) if "open" in ends[1] else (figures.between(105.0, 125.0), y)
    if not figures.chance(0.35):
        if figures.chance(0.3):
            end = (end[0], figures.exact(y + draw.uniform(-8.0, 8.0)))
        return (begin, end), 0.0, [f"from = {figures.pair(begin)}", f"to = {figures.pair(end)}"]
    after = figures.exact(y + draw.choice((-12.0, 10.0)))
    bends = [figures.exact_point((70.0, y)), figures.exact_point((95.0, after))]
    end = (size[0] if "open" in ends[1] else figures.exact(118.0), after)
    rounded = figures.exact(12.0) if figures.chance(0.5) else 0.0
    if not rounded:
        return (begin, *bends, end), 0.0, [f"path = {figures.pairs([begin, *bends, end])}"]
    words = [f"{{ to = {figures.pair(p)}, rounded = {figures.text(rounded)} }}" for p in bends]
    return (begin, *bends, end), rounded, [f"path = [{', '.join([figures.pair(begin), *words, figures.pair(end)])}]"]


def _draw_room(figures: ShopFigures, width: float, depth: float) -> tuple[Bar | None, float, float, list[str]]:
    """Return a bar to be cleared, if there is one, then width and depth, and the lines that say so.

    A bar is cleared by its doubt and its float on each side and below: width + 2 (within + float), height + both.
    """
    if figures.chance(0.25):
        floats, within = figures.exact(0.3), figures.exact(0.2)
        bar_width = figures.exact(width - 2 * floats - 2 * within)
        height = figures.exact(depth - floats - within)
        if bar_width > 1.0 and height > 0.3:
            bar = Bar(bar_width, floats + within, figures.chance(0.4))
            words = (
                f"clears = {{ width = {figures.text(bar_width)}, height = {figures.text(height)}, "
                f"within = {figures.text(within)}, float = {figures.text(floats)} }}"
            )
            more = ['bar_ends = "round"'] if bar.round_ends else []
            return bar, bar_width + 2 * bar.clear, height + bar.clear, [words, *more]
    return None, width, depth, [f"width = {figures.text(width)}", f"depth = {figures.text(depth)}"]


def _draw_kept(figures: ShopFigures, size: XY) -> tuple[Kept, list[str]]:
    x = figures.exact(140.0)
    by = figures.exact(2.5)
    head = ["[[keep_out]]", 'name = "kept"', 'kind = "curve"']
    if figures.chance(0.5):
        bow = figures.exact(147.0)
        end = f"{{ arc_to = {figures.pair((x, size[1]))}, through = {figures.pair((bow, size[1] / 2))} }}"
        return Kept(True, x, bow, by), [*head, f"line = [{figures.pair((x, 0.0))}, {end}]"]
    bow = figures.exact(x + 8.0)
    return Kept(False, x, bow, by), [*head, f"line = {figures.pairs([(x, 0.0), (bow, size[1])])}"]
