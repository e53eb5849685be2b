"""Random jobs of one step-down: a bar soldered to a thin sheet is milled away over it, perhaps beside an inside bend.

Touched on the bar or on the bare sheet; doubts by root of squares or in the worst case; wedge and high spot; a bend at
the left, below or round the corner, drawn either way; open and closed sides; flat and bull-nose cutters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cnc_setups import CncSetup, EndMill, draw_setup, head_text, part_text, tools_text
from shop_figures import XY, ShopFigures


@dataclass(frozen=True)
class Bend:
    """An inside bend; lengths in mm."""

    where: str
    line: tuple[XY, ...]
    radius: float
    margin: float
    gap: float | None
    wall_height: float | None


@dataclass(frozen=True)
class StepDownJob:
    """A job and its truth; lengths in mm, points in the part frame, heights over the touched face."""

    text: str
    setup: CncSetup
    size: XY
    mill: EndMill
    sheet: float
    top: float
    doubts: tuple[float, ...]
    """Half widths of the doubts of the sheet's height, each of an even distribution."""
    k: float
    worst_case: bool
    wedge: float
    high_spot: float
    rough_step: float | None
    region: XY
    """Width and height of the rectangle that is milled, its corner at the origin."""
    open_sides: tuple[int, ...]
    bend: Bend | None

    @property
    def standard_doubt(self) -> float:
        """Root of the sum of squares of the standard doubts; of an even distribution, half its width over root 3."""
        return math.sqrt(sum(half * half / 3.0 for half in self.doubts))


def draw_step_down_job(seed: int) -> StepDownJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"step-down {seed}")
    draw = figures.random
    setup = draw_setup(figures)
    corner_radius = figures.pick((0.2, 0.4)) if figures.chance(0.2) else 0.0
    mill = EndMill(
        "cutA",
        figures.pick((3.175, 5.0, 6.35, 8.0)),
        draw.choice((2, 3)),
        figures.chance(0.7),
        corner_radius=corner_radius,
    )
    bar, bar_within = figures.pick((2.0, 3.0, 4.7625)), figures.exact(0.02)
    solder, solder_within = figures.pick((0.1, 0.15, 0.2)), figures.exact(0.04)
    size = (figures.pick((60.0, 90.0)), figures.pick((12.0, 20.0)))
    on_bar = figures.chance(0.5)
    offset, within = figures.pick((0.0, 0.09)) if on_bar else 0.0, figures.exact(0.01)
    touched = "brass bar" if on_bar else "bare sheet"
    lines = [
        'name = "sd"',
        (
            f'layers = [ {{ is = "brass bar", thick = {figures.text(bar)}, within = {figures.text(bar_within)} }}, '
            f'{{ is = "soft solder", thick = {figures.text(solder)}, within = {figures.text(solder_within)} }}, '
            f'{{ is = "copper sheet", thick = {figures.text(0.6)}, keep = true }} ]'
        ),
        (
            f'touch = {{ on = "{touched}", with = "{"paper" if on_bar else "lamp"}", offset = {figures.text(offset)}, '
            f"within = {figures.text(within)} }}"
        ),
    ]
    wedge = high_spot = 0.0
    rough_step, k = None, 3.0
    if figures.chance(0.3):
        wedge = figures.exact(0.02)
        lines.append(f"wedge = {figures.text(wedge)}")
    if figures.chance(0.2):
        high_spot = figures.exact(0.03)
        lines.append(f"high_spot = {figures.text(high_spot)}")
    if figures.chance(0.2):
        k = 3.5
        lines.append("k = 3.5")
    worst_case = figures.chance(0.2)
    if worst_case:
        lines.append('method = "worst"')
    if figures.chance(0.2):
        rough_step = figures.exact(0.5)
        lines.append(f"rough_step = {figures.text(rough_step)}")
    if figures.chance(0.2):
        lines.append("climb = true")
    region = (figures.between(10.0, 18.0), size[1])
    where = draw.choice(("none", "left", "bottom", "corner"))
    open_sides = {"none": (1, 3, 4), "left": (1, 3), "bottom": (3, 4), "corner": (3,)}[where]
    if where == "none" and figures.chance(0.3):
        open_sides = (4,)
    lines += [
        f"region = {{ rectangle = {figures.pair(region)}, at = [0.0, 0.0] }}",
        f"open_sides = {list(open_sides)}",
        'cutter = "cutA"',
        'supported_by = "a former over the whole sheet"',
    ]
    if figures.chance(0.2):
        lines.append(f"step_over = {figures.text(mill.diameter * 0.3)}")
    bend, bend_lines = _draw_bend(figures, where, size)
    text = [
        *head_text(figures, f"step-down {seed}"),
        *setup.text,
        *tools_text(figures, (mill,)),
        *part_text(figures, material="brass", thickness=bar, size=size),
        *setup.skew_text,
        "[[step_down]]",
        *lines,
        *bend_lines,
    ]
    # The readout is set to the offset as it can show it: its zero lies off the touched face by what was rounded
    shown = math.floor(offset / setup.readout + 0.5 + 1e-9) * setup.readout
    sheet = shown - offset - (bar + solder if on_bar else 0.0)
    doubts = (within, bar_within, solder_within) if on_bar else (within,)
    return StepDownJob(
        "\n".join(text) + "\n", setup, size, mill, sheet, sheet + bar + solder, doubts, k, worst_case, wedge, high_spot,
        rough_step, region, open_sides, bend,
    )  # fmt: skip


def _draw_bend(figures: ShopFigures, where: str, size: XY) -> tuple[Bend | None, list[str]]:
    if where == "none":
        return None, []
    radius, margin = figures.pick((1.0, 2.0, 2.5)), figures.pick((0.3, 0.5))
    wide, high = size
    line = {
        "left": ((0.0, high), (0.0, 0.0)),
        "bottom": ((0.0, 0.0), (wide, 0.0)),
        "corner": ((0.0, high), (0.0, 0.0), (wide, 0.0)),
    }[where]
    side = "left"
    if figures.chance(0.4):
        line, side = line[::-1], "right"
    gap = figures.exact(0.02) if figures.chance(0.3) else None
    wall_height = figures.pick((2.0, 8.0)) if figures.chance(0.3) else None
    lines = [
        "[step_down.bend]",
        f"inside_radius = {figures.text(radius)}",
        f"margin = {figures.text(margin)}",
        f"along = {figures.pairs(line)}",
        f'cut_side = "{side}"',
        *([f"gap = {figures.text(gap)}"] if gap is not None else []),
        *([f"wall_height = {figures.text(wall_height)}"] if wall_height is not None else []),
    ]
    return Bend(where, line, radius, margin, gap, wall_height), lines
