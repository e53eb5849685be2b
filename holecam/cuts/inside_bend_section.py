"""The section square to an inside bend as shapes: the bent sheet, the line that no tooth may cross, the cutter.

Wall at x = 0, sheet at z = 0, the cutter on the +x side; a point is (x, z), mm. The same letters as in
:mod:`holecam.cuts.inside_bend`.
"""

from __future__ import annotations

from msgspec import Struct

from holecam.cuts.inside_bend import BendGap, InsideBend, bend_gap
from holecam.shapes import Arc, Curve, Point, Segment

MOST_SHOWN = 3
"""Passes whose cutter is drawn: the first that the bend keeps off, one between, the last."""

NO_LENGTH = 1e-9
"""mm. Shorter pieces are left out of a section."""


class StandingCutter(Struct, frozen=True):
    """The cutter at one height: its outline, and its least distance from the sheet, measured from ``tooth``."""

    outline: tuple[Curve, ...]
    gap: BendGap
    tooth: Point


def bent_surface(radius: float, *, top: float, reach: float) -> tuple[Curve, ...]:
    """Return the inner face of the sheet: down the wall from ``top``, round the bend, along the flat to ``reach``."""
    return _joined((0.0, max(top, radius)), (0.0, radius), (radius, 0.0), (max(reach, radius), 0.0), radius)


def bent_sheet(radius: float, thickness: float, *, top: float, reach: float) -> tuple[Curve, ...]:
    """Return the bent sheet as a closed chain: its inner face and, its thickness behind it, the outer one."""
    inner = bent_surface(radius, top=top, reach=reach)
    t, r = thickness, radius + thickness
    high, far = inner[0].start[1], inner[-1].end[0]
    outer = _joined((-t, high), (-t, radius), (radius, -t), (far, -t), r)
    back = tuple(c.reversed() for c in reversed(outer))
    ends = (Segment(inner[-1].end, back[0].start), Segment(back[-1].end, inner[0].start))
    return (*inner, ends[0], *back, ends[1])


def tooth_limit(bend: InsideBend, *, top: float, reach: float) -> tuple[Curve, ...]:
    """Return the line that no tooth may cross: the sheet's face moved in by the gap, then sideways by the margin.

    It holds for every corner radius: the flank limit keeps the corner's arc on this line's inner side.
    """
    g, m, r = bend.gap, bend.sideways, bend.radius - bend.gap
    if r <= 0.0:
        corner = (g + m, g)
        return (Segment((g + m, max(top, 2.0 * g)), corner), Segment(corner, (max(reach, 2.0 * g + m), g)))
    return _joined(
        (g + m, max(top, bend.radius)), (g + m, bend.radius), (bend.radius + m, g), (max(reach, bend.radius + m), g), r
    )


def _joined(start: Point, bend_start: Point, bend_end: Point, end: Point, radius: float) -> tuple[Curve, ...]:
    curves: list[Curve] = [Segment(start, bend_start)]
    if radius > NO_LENGTH:
        curves.append(Arc(bend_start, bend_end, (bend_end[0], bend_start[1]), ccw=True))
    curves.append(Segment(bend_end, end))
    return tuple(c for c in curves if c.length > NO_LENGTH)


def standing_cutter(
    radius: float, *, flank: float, height: float, corner_radius: float, axis: float | None, top: float, reach: float
) -> StandingCutter:
    """Return the cutter with its flank and tip at a place: from ``top`` down its flank, along its end, up the other.

    ``radius`` is that of the bend. Without an ``axis`` its diameter is not known: its end runs on to ``reach``.
    """
    rc = corner_radius
    high = max(top, height + rc)
    far = max(reach, flank + rc) if axis is None else max(2.0 * axis - flank, flank + 2.0 * rc)
    curves: list[Curve] = [Segment((flank, high), (flank, height + rc))]
    if rc > NO_LENGTH:
        curves.append(Arc((flank, height + rc), (flank + rc, height), (flank + rc, height + rc), ccw=True))
    if axis is None:
        curves.append(Segment((flank + rc, height), (far, height)))
    else:
        curves.append(Segment((flank + rc, height), (far - rc, height)))
        if rc > NO_LENGTH:
            curves.append(Arc((far - rc, height), (far, height + rc), (far - rc, height + rc), ccw=True))
        curves.append(Segment((far, height + rc), (far, high)))
    gap = bend_gap(radius, flank=flank, height=height, corner_radius=rc)
    x, z = gap.toward
    tooth = (gap.foot[0] - gap.gap * x, gap.foot[1] - gap.gap * z)
    return StandingCutter(tuple(c for c in curves if c.length > NO_LENGTH), gap, tooth)


def telling_passes(heights: list[float], radius: float) -> list[int]:
    """Return which passes are drawn beside a bend, by their place in the list: heights fall from first to last.

    The first that the bend keeps farther off than the wall does, the one nearest to the middle of the rest, the last.
    """
    if not heights:
        return []
    beside = [n for n, height in enumerate(heights) if height < radius] or [len(heights) - 1]
    first, last = beside[0], beside[-1]
    middle = min(beside, key=lambda n: abs(heights[n] - (heights[first] + heights[last]) / 2))
    return sorted({first, middle, last})[:MOST_SHOWN]
