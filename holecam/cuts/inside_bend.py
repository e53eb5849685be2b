"""How near a cutter may come to a wall that runs into a sheet with an inside radius, at each height.

Section square to the bend: wall at x = 0, sheet at z = 0, fillet of radius ``Rb`` about (Rb, Rb); the cutter stands on
the +x side with its tip at height h, its flank at x and a corner of radius rc (0 = sharp). Seen from above the wall may
have any shape: the bent sheet is the same section at every point of the wall, so what counts is the distance of the
cutter's axis from the wall, less the cutter's radius.
"""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.cuts.layer_estimates import NOTHING, DoubtRule, Estimate
from holecam.errors import InputError

HEIGHT_NOISE = 1e-9
"""mm. A height below the gap by less than this is the gap: the floor's height comes from sums of floats."""


class InsideBend(Struct, frozen=True):
    """The bend and the two margins, mm.

    Parameters
    ----------
    radius : float
        Inside radius; the largest that was measured.
    gap : float
        Gap that may never be lost, square to the surface; by default of the planner the gap between floor and sheet.
    sideways : float
        Margin along x for wall, runout, spring and backlash.
    """

    radius: float
    gap: float
    sideways: float = 0.0

    def __post_init__(self) -> None:
        for what, size in (("inside radius", self.radius), ("gap", self.gap), ("sideways margin", self.sideways)):
            if not (math.isfinite(size) and size >= 0):
                raise InputError(f"bend: {what} {size} mm: expected a length of 0 or more", key=what)


class BendGap(Struct, frozen=True):
    """Least distance between cutter and bent sheet, mm, what it is measured to, and its direction in the section.

    ``surface`` is ``sheet``, ``bend`` or ``wall``. ``toward`` is the unit direction (x, z) from cutter to sheet;
    ``foot`` the point (x, z) of the sheet's surface.
    """

    gap: float
    surface: str
    toward: tuple[float, float]
    foot: tuple[float, float]


def flank_limit(bend: InsideBend, *, height: float, corner_radius: float) -> float:
    """Return the least distance x of the cutter's flank from the wall's plane at a height above the sheet, mm.

    ``Rb - rc - sqrt((Rb - rc - g)^2 - (Rb - rc - h)^2) + m`` below ``Rb - rc``, else ``g + m`` (design page section 5;
    practice C5). The flat of the cutter's end begins ``corner_radius`` farther out.

    Raises
    ------
    InputError
        The height lies below the gap: the sheet itself would lose it.

    Examples
    --------
    At the last pass (height = gap) a sharp cutter stands at the bend's tangent line plus the margin.

    >>> flank_limit(InsideBend(2.0, gap=0.05, sideways=0.1), height=0.05, corner_radius=0.0)
    2.1
    """
    if not (math.isfinite(height) and height >= bend.gap - HEIGHT_NOISE):
        raise InputError(
            f"height {height} mm over the sheet: expected at least the gap of {bend.gap} mm that may never be lost"
        )
    inner = bend.radius - corner_radius
    if height >= inner:
        return bend.gap + bend.sideways
    h = max(height, bend.gap)
    # (a^2 - b^2) as a product, so that nothing is lost near the floor
    room = (h - bend.gap) * (2.0 * inner - h - bend.gap)
    return inner - math.sqrt(room) + bend.sideways


def bend_gap(radius: float, *, flank: float, height: float, corner_radius: float) -> BendGap:
    """Return the least distance between a cutter and the bent sheet, negative when it cuts into it.

    ``flank`` is the distance of the cutter's flank from the wall's plane, ``height`` that of its tip above the sheet.
    The free space beside the bend is convex and grows outward, so the centre of the cutter's corner decides.
    """
    x, z = flank + corner_radius, height + corner_radius
    if x < radius and z < radius:
        off = (x - radius, z - radius)
        away = math.hypot(*off)
        gap = radius - away - corner_radius
        toward = (off[0] / away, off[1] / away)
        return BendGap(gap, "bend", toward, (radius + radius * toward[0], radius + radius * toward[1]))
    if z <= x:
        return BendGap(height, "sheet", (0.0, -1.0), (max(x, radius), 0.0))
    return BendGap(flank, "wall", (-1.0, 0.0), (0.0, max(z, radius)))


def gap_standard(gap: BendGap, *, sideways: float, vertical: float) -> float:
    """Return the standard doubt of a gap, mm, from those of the wall's place and of the sheet's height."""
    return math.hypot(gap.toward[0] * sideways, gap.toward[1] * vertical)


def sideways_margin(
    stated: float,
    *,
    wall: Estimate = NOTHING,
    runout: float = 0.0,
    spring: float = 0.0,
    backlash: float = 0.0,
    rule: DoubtRule = DoubtRule.ROOT_OF_SQUARES,
    sureness: float = 3.0,
) -> float:
    """Return the margin m along x, mm: what was stated, the wall's doubt, and what moves the flank toward the wall.

    ``runout`` is the full indicator reading: half of it stands out beyond the radius. ``spring`` is how far the cutter
    bends toward the wall and ``backlash`` how far the table can be pulled; all three are one-sided and add up. The
    wall's doubt counts ``sureness`` times, or at its limit.
    """
    for what, size in (("margin", stated), ("runout", runout), ("spring", spring), ("backlash", backlash)):
        if not (math.isfinite(size) and size >= 0):
            raise InputError(f"{what} {size} mm: expected a length of 0 or more", key=what)
    return stated + wall.doubt(rule, sureness) + 0.5 * runout + spring + backlash
