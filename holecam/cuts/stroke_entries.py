"""Where the cutter comes down for strokes that start on metal: beside it, or where strokes before have cut it away."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec.structs import replace

from holecam.cuts.step_down_region import KeptOff
from holecam.cuts.stroke_values import Stroke, keeps_off
from holecam.shapes import Point, Segment, distance

CUT_BEFORE = 0.1
"""Ratio of the step-over. The cutter has been at a place when its axis came as near as this: strokes lie a fiftieth
nearer than a step-over, and where they meet a side at the least slope five times as much nearer."""

OUTSIDE_AT = (0.5, 1.0, 2.0)
DIRECTIONS = 24
"""How far off, in cutter's radii and leads, and in how many directions, a place beside the region is looked for."""

MOST_AWAY = 1.5
"""Ratio of the step-over. From no farther than this the cutter goes sideways into a stroke through metal."""


def with_ways_in(
    strokes: Sequence[Stroke],
    kept_off: Sequence[KeptOff],
    *,
    step_over: float,
    off: float,
    touches: Callable[[Point], bool],
) -> tuple[Stroke, ...]:
    """Return the strokes with ways in from where there is no metal, or none any more, as far as there are such.

    A stroke that starts on metal was given a way in from where the stroke before it was taken to have come. Where none
    came there, the nearest place of an earlier stroke is taken, or one beside the region.

    Parameters
    ----------
    strokes : sequence of Stroke
        In the order in which they are cut.
    step_over, off : float
        Distance between neighbouring strokes; cutter's radius and lead together; mm.
    touches : callable
        Whether the cutter standing at a place overlaps the region.
    """
    out: list[Stroke] = []
    for stroke in strokes:
        if stroke.starts_in_metal:
            _, away = _nearest_before(stroke.curves[0].start, out)
            known = away <= CUT_BEFORE * step_over
            if not known:
                start = stroke.cut[0].start
                way = _from_before(start, out, MOST_AWAY * step_over, kept_off) or _from_beside(
                    start, off, touches, kept_off
                )
                known = way is not None
                stroke = replace(stroke, lead_in=() if way is None else (way,))
            stroke = replace(stroke, where_cut=known)
        out.append(stroke)
    return tuple(out)


def _from_before(start: Point, before: Sequence[Stroke], most: float, kept_off: Sequence[KeptOff]) -> Segment | None:
    been, away = _nearest_before(start, before)
    if been is None or not 0.0 < away <= most:
        return None
    way = Segment(been, start)
    return way if keeps_off(way, kept_off) else None


def _from_beside(
    start: Point, off: float, touches: Callable[[Point], bool], kept_off: Sequence[KeptOff]
) -> Segment | None:
    for share in OUTSIDE_AT:
        for n in range(DIRECTIONS):
            angle = math.tau * n / DIRECTIONS
            place = (start[0] + share * off * math.cos(angle), start[1] + share * off * math.sin(angle))
            if not touches(place) and keeps_off(Segment(place, start), kept_off):
                return Segment(place, start)
    return None


def _nearest_before(p: Point, strokes: Sequence[Stroke]) -> tuple[Point | None, float]:
    """Return the nearest place at which the axis has been, and how far away it is; the last strokes count first."""
    places = (curve.nearest(p) for stroke in reversed(strokes) for curve in stroke.curves)
    been = min(places, key=lambda q: distance(p, q), default=None)
    return been, math.inf if been is None else distance(p, been)
