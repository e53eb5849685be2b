"""How the ends of a slot come out: spoil board, kept margin, and how far the bar that it clears may reach."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from holecam.cuts.slot_geometry import EndShape, SlotShape, bar_reach
from holecam.cuts.slot_values import Bar, BlindEnd, EndReport, OpenEnd, SlotRequest, StopShort
from holecam.shapes import Curve, Outline, Point, outline_through
from holecam.shapes.curve_arrays import ClosedArea, CurveArray
from holecam.shapes.distances import nearest_approach

ACROSS = 41
"""Places looked at across the end of a bar."""

BAR_NOISE = 1e-11
"""mm. Noise of distances at shop size."""

BOARD_ENDS = 0.6
"""Times the width of the slot: how far a spoil board is drawn past it on each side."""

STEEPEST = 0.3
"""Least sine of the angle between slot and edge that still lengthens the drawn board."""

STEPS_BACK = 16
"""Parts of half the slot's width by which the end of a bar is moved back until it fits."""

HALVINGS = 50
"""Of the search for the end of a bar: to less than a nanometre of a metre."""


def end_report(
    request: SlotRequest, shape: SlotShape, room: Sequence[Curve], *, at_start: bool, long_words: bool = True
) -> EndReport:
    """Return how one end came out; ``room`` is the edge of the places where the cutter's centre goes."""
    end = request.ends[0] if at_start else request.ends[1]
    chain = request.centre_line
    if at_start:
        chain = tuple(c.reversed() for c in reversed(chain))
    tip, tangent = chain[-1].end, chain[-1].tangent_at(1.0)
    radius = request.cutter.radius
    worked: EndShape = shape.ends[0] if at_start else shape.ends[1]
    stop = _farthest(room, tip, tangent, shape.half_room)
    place = _past(tip, tangent, stop)
    if isinstance(end, OpenEnd):
        spoil = worked.spoil_board or 0.0
        words = f"open: the cutter reaches {spoil:.3f} mm past the edge, so the spoil board is at least that thick"
        if not request.spoil_board:
            words = "open, without a spoil board: the exit may splinter"
        if not request.spoil_board:
            return EndReport(at_start, words, place, led_on=worked.crossing or 0.0)
        board = _board(worked, tangent, radius + shape.half_room)
        return EndReport(at_start, words, place, spoil_board=spoil, board=board, led_on=worked.crossing or 0.0)
    margin = None
    if isinstance(end, StopShort):
        near = min((nearest_approach(a, b) for a in room for b in end.before.curves), key=lambda n: n.distance)
        margin = near.distance - radius
        words = f'stops short of "{end.before.name}": the cutter\'s edge keeps {margin:.3f} mm'
    else:
        words = f"blind, the end rounded to the cutter's radius of {radius:.3f} mm"
    bar = request.bar
    if bar is None:
        return EndReport(at_start, words, place, kept_margin=margin)
    reach = bar_end(bar, room, tip, tangent, radius, stop, shape.half_room)
    wanted = -worked.limit if isinstance(end, BlindEnd) and end.measured_to == "axis" else 0.0
    too_long = max(0.0, min(wanted, 0.0) - reach) if isinstance(end, BlindEnd) and end.measured_to == "bar" else None
    if too_long is None:
        too_long = max(0.0, -reach)
    if too_long < 1e-6:
        too_long = 0.0
    corner = _rounding(bar, radius, shape.half_room, too_long, reach, stop)
    if math.isinf(reach):
        words += f'; "{bar.name}" fits nowhere there'
    else:
        words += (
            f'; "{bar.name}" may reach to {abs(reach):.3f} mm {"past" if reach >= 0 else "short of"} the stated end'
        )
    if 0 < too_long < math.inf:
        words += f": take {too_long:.3f} mm off it"
        if corner is not None:
            words += f", or round its corners to {corner:.3f} mm"
    return EndReport(
        at_start,
        words,
        place,
        kept_margin=margin,
        bar_ends_at=_past(tip, tangent, reach) if math.isfinite(reach) else None,
        bar_too_long_by=too_long,
        round_corners_to=corner,
    )


def _board(worked: EndShape, tangent: Point, half: float) -> Outline | None:
    """Return where the spoil board lies; it stands out to each side of the slot by :data:`BOARD_ENDS` of its width."""
    if worked.edge_at is None or worked.edge_along is None or worked.spoil_board is None:
        return None
    (x, y), (ux, uy) = worked.edge_at, worked.edge_along
    nx, ny = (uy, -ux) if uy * tangent[0] - ux * tangent[1] > 0 else (-uy, ux)
    long = half * (1.0 + 2.0 * BOARD_ENDS) / max(nx * tangent[0] + ny * tangent[1], STEEPEST)
    thick = worked.spoil_board
    return outline_through(
        [
            (x + side * ux * long + out * nx * thick, y + side * uy * long + out * ny * thick)
            for side, out in ((-1, 0), (1, 0), (1, 1), (-1, 1))
        ]
    ).counterclockwise()


def bar_end(
    bar: Bar, room: Sequence[Curve], tip: Point, tangent: Point, radius: float, stop: float, half_room: float
) -> float:
    """Return how far past ``tip`` the bar may end, mm: every place of its end keeps its clearance from the walls.

    That is, it lies within the cutter's radius less the clearance of a place where the centre goes.
    """
    free = radius - bar.clearance  # below 0 the bar's end keeps off the edge of those places by as much
    array = CurveArray(tuple(room))
    outline = _area(room)
    side = bar.width / 2
    across = np.linspace(-side, side, ACROSS)
    half_chord = np.zeros(ACROSS)
    if not bar.square_ends:  # a round end lies behind its tip by the height of its arc
        half_chord = side - np.sqrt(np.maximum(side * side - across * across, 0.0))
    nx, ny = -tangent[1], tangent[0]

    def fits(past: float) -> bool:
        x = tip[0] + tangent[0] * (past - half_chord) + nx * across
        y = tip[1] + tangent[1] * (past - half_chord) + ny * across
        xy = np.column_stack([x, y])
        away = array.distance(xy)
        if outline is not None:
            away = np.where(outline.inside(xy), -away, away)
        return bool((away <= free + BAR_NOISE).all())

    # From outside inward: behind a bend of the slot the end of a straight bar fits no more
    high = stop + radius + 1.0
    step = (radius + half_room) / STEPS_BACK
    low = high - step
    far = stop - math.fsum(c.length for c in room) - 1.0
    while not fits(low):
        high, low = low, low - step
        if low < far:
            return -math.inf
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if fits(middle):
            low = middle
        else:
            high = middle
    return low


def _area(room: Sequence[Curve]) -> ClosedArea | None:
    outline = Outline(tuple(room))
    return ClosedArea(outline) if outline.area > 1e-6 * sum(c.length for c in room) else None


def _rounding(bar: Bar, radius: float, half_room: float, too_long: float, reach: float, stop: float) -> float | None:
    """Return the radius to which the corners of the bar are rounded so that it goes in without being shortened.

    Corners of radius ``b - h`` follow the rim of the cutter; they gain the whole way to its tip, and no more.
    """
    if too_long <= 0 or not bar.square_ends:
        return None
    corner = bar.width / 2 - half_room
    free = radius - bar.clearance
    plain = bar_reach(bar, radius, half_room)
    if not 0 < corner <= free or abs((reach - stop) - plain) > 1e-3:
        return None  # a stop that lies askew: the rim is not what is in the way
    return corner if too_long <= free - plain + 1e-9 else None


def _farthest(room: Sequence[Curve], tip: Point, tangent: Point, half_room: float) -> float:
    """Return how far past the tip, along the axis, the centre goes on the axis."""
    best = -math.inf
    for curve in room:
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            p = curve.point_at(share)
            along = (p[0] - tip[0]) * tangent[0] + (p[1] - tip[1]) * tangent[1]
            off = abs((p[1] - tip[1]) * tangent[0] - (p[0] - tip[0]) * tangent[1])
            if off <= half_room + 1e-6:
                best = max(best, along)
    return best


def _past(tip: Point, tangent: Point, by: float) -> Point:
    return (tip[0] + tangent[0] * by, tip[1] + tangent[1] * by)
