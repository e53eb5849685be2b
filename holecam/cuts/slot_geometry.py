"""Shape of a slot: its centre line with both ends worked out, and its walls."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.kept_curves import connected
from holecam.cuts.level_layout import share_of, split_curve
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.slot_values import Bar, BlindEnd, OpenEnd, SlotEnd, SlotRequest, StopShort
from holecam.cuts.walls import WallChain, walls_of
from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Point, Segment, distance
from holecam.shapes.distances import crossings, point_to_chain

EXACT_WIDTH = 1e-4
"""mm. A slot wider than the cutter by less than this is cut in one pass: no readout shows the difference."""

EDGE_NOISE = 1e-6
"""mm. A stated end this near to the edge lies on it."""

STOP_NOISE = 1e-9
"""mm. Taken off the way to a stop, so that arithmetic noise does not count as a margin that is not kept."""

AIR_START = 1.0
"""mm between the cutter's edge and the work where it gets down outside without a spoil board (common practice)."""


class EndShape(Struct, frozen=True):
    """One end as worked out along the centre line's own direction at that end, outward.

    ``limit`` is how far the cutter's centre may go past the stated end point (negative: it stays short of it), mm;
    ``crossing`` how far past it the axis crosses the edge, and ``spoil_board`` what the cutter reaches beyond the edge,
    square to it; ``opened`` are the pieces of the body's outline that it runs through, ``edge_at`` and ``edge_along``
    where the axis crosses the edge and the edge's direction there.
    """

    limit: float
    crossing: float | None = None
    spoil_board: float | None = None
    opened: tuple[Curve, ...] = ()
    edge_at: Point | None = None
    edge_along: Point | None = None


class SlotShape(Struct, frozen=True):
    """The slot with both ends: centre line up to the limits of the centre, and walls all round.

    ``half_room`` is how far the centre may go to each side. The walls lie beyond stops, which are kept by their margin.
    """

    line: tuple[Curve, ...]
    walls: Outline
    half_room: float
    ends: tuple[EndShape, EndShape]


def slot_shape(request: SlotRequest) -> SlotShape:
    """Return the shape of a slot.

    Raises
    ------
    InputError
        The slot is narrower than the cutter, an open end finds no edge, or the ends leave no length.
    """
    what = f'slot "{request.name}"'
    radius = request.cutter.radius
    half_room = request.width / 2 - radius
    if half_room < -EXACT_WIDTH / 2:
        raise InputError(
            f'{what} is {request.width:.3f} mm wide, its cutter "{request.cutter.name}" {request.cutter.diameter:.3f} '
            "mm. Take a narrower cutter, or make the slot wider.",
            key="width",
        )
    half_room = max(half_room, 0.0)
    line = request.centre_line
    shapes = []
    for end, at_start in ((request.ends[0], True), (request.ends[1], False)):
        chain = tuple(c.reversed() for c in reversed(line)) if at_start else line
        shapes.append(_end_shape(request, chain, end, half_room, what))
    used = _reaching(line, shapes[0].limit, shapes[1].limit, what)
    # The walls stand a cutter's radius beyond the centre's limits, at flat ends
    outer = _reaching(line, shapes[0].limit + radius, shapes[1].limit + radius, what)
    walls = band(outer, radius + half_room, what)
    return SlotShape(used, walls, half_room, (shapes[0], shapes[1]))


def bar_reach(bar: Bar | None, radius: float, half_room: float) -> float:
    """Return how far beyond the cutter's centre a bar may end on the axis, its clearance kept all round, mm.

    A bar with square ends touches with its corners: with half width b, clearance c and the centre's room h to each
    side, ``sqrt((R - c)^2 - (b - h)^2)`` where the corner lies beside the room. Without a bar: where the full width of
    the slot ends.
    """
    if bar is None:
        return 0.0
    free = radius - bar.clearance
    beside = bar.width / 2 - half_room
    if not bar.square_ends or beside <= 0:
        return free
    return math.sqrt(max(free * free - beside * beside, 0.0))


def _end_shape(request: SlotRequest, chain: tuple[Curve, ...], end: SlotEnd, half_room: float, what: str) -> EndShape:
    radius = request.cutter.radius
    if isinstance(end, BlindEnd):
        if end.measured_to == "axis":
            return EndShape(0.0)
        if end.measured_to == "arc":
            return EndShape(-radius)
        return EndShape(-bar_reach(request.bar, radius, half_room))
    if isinstance(end, StopShort):
        near = point_to_chain(chain[-1].start, end.before.curves)
        if near < radius + end.before.margin - EDGE_NOISE:
            raise InputError(
                f'{what}: the margin of {end.before.margin:.3f} mm before "{end.before.name}" leaves nothing of it: '
                f"its line begins {near:.3f} mm from there, and the cutter alone has a radius of {radius:.3f} mm.",
                key="ends",
            )
        return EndShape(_flat_stop(chain, end, radius, half_room))
    return _open_end(request, chain, end, half_room, what)


def _flat_stop(chain: tuple[Curve, ...], end: StopShort, radius: float, half_room: float) -> float:
    """Return how far past the stated end the centre may go on its whole width, the margin kept everywhere.

    The first place, along the axis, of the curves at radius plus margin from the stop, within the room to each side.
    A line that ends in an arc has no straight axis: there a limit beyond everything is returned, and the margin cuts
    the slot where it is met.
    """
    tip = chain[-1].end
    (tx, ty) = chain[-1].tangent_at(1.0)
    beyond = max(distance(tip, p) for c in end.before.curves for p in (c.start, c.end, c.point_at(0.5))) + 1.0
    last = chain[-1]
    if not isinstance(last, Segment):
        return beyond
    walls = walls_of([WallChain(part, closed=False) for part in connected(end.before.curves)])
    least = beyond
    for loop in OffsetStack(walls).at(radius + end.before.margin).loops:
        for curve in loop.curves:
            for p in _first_places(curve, tip, (tx, ty), half_room):
                along = (p[0] - tip[0]) * tx + (p[1] - tip[1]) * ty
                if along >= -last.length - EDGE_NOISE:
                    least = min(least, along)
    return least - STOP_NOISE if least < beyond else beyond


def _first_places(curve: Curve, tip: Point, tangent: Point, half_room: float) -> list[Point]:
    """Return the places of a curve, within the room beside the axis, one of which lies first along it."""
    tx, ty = tangent
    nx, ny = -ty, tx
    places = [curve.start, curve.end]
    if isinstance(curve, Arc):
        (cx, cy), r = curve.center, curve.radius
        extreme = (cx - tx * r, cy - ty * r)
        if curve.covers(extreme):
            places.append(extreme)
    far = distance(tip, curve.start) + curve.length + half_room + 1.0
    for side in (half_room, -half_room):
        x, y = tip[0] + nx * side, tip[1] + ny * side
        places += crossings(Segment((x - tx * far, y - ty * far), (x + tx * far, y + ty * far)), curve)
    return [p for p in places if abs((p[0] - tip[0]) * nx + (p[1] - tip[1]) * ny) <= half_room + EDGE_NOISE]


def _open_end(request: SlotRequest, chain: tuple[Curve, ...], end: OpenEnd, half_room: float, what: str) -> EndShape:
    radius = request.cutter.radius
    tip = chain[-1].end
    tx, ty = chain[-1].tangent_at(1.0)
    run_out = end.run_out if end.run_out is not None else radius
    if not request.spoil_board:
        run_out = max(run_out, radius + AIR_START)
    half = radius + half_room
    if request.body is None:  # the stated end is the edge, square to the axis
        return EndShape(run_out, 0.0, run_out + radius, (), tip, (-ty, tx))
    inside = request.body.contains(tip) and request.body.distance_to(tip) > EDGE_NOISE
    axis = _nearest_first(_edge_crossings(request.body, chain, tip, (tx, ty), 0.0), inside=inside)
    if axis is None:
        x, y = tip
        raise InputError(
            f"{what}: its open end at X {x:.3f} Y {y:.3f} mm, led straight on, never crosses the edge of "
            f"{request.body_name}. End it at the edge, or make it blind.",
            key="ends",
        )
    found = [axis]
    for side in (half, -half):
        others = _edge_crossings(request.body, chain, tip, (tx, ty), side)
        if others:
            found.append(min(others, key=lambda f: abs(f[0] - axis[0])))
    along = [f[0] for f in found]
    edges = tuple({f[1]: None for f in found})
    limit = max(along) + run_out
    # Square to the edge: the corner of the centre's room that lies farthest out, and the radius
    ex, ey = axis[2]
    away = abs(tx * ey - ty * ex)  # sine of the angle between axis and edge
    lean = abs(tx * ex + ty * ey)
    spoil = (limit - axis[0]) * away + half_room * lean + radius
    return EndShape(limit, axis[0], spoil, edges, (tip[0] + tx * axis[0], tip[1] + ty * axis[0]), axis[2])


def _edge_crossings(
    body: Outline, chain: tuple[Curve, ...], tip: Point, tangent: Point, side: float
) -> list[tuple[float, Curve, Point]]:
    """Return where the axis, shifted sideways, crosses the body's edge: distance past the stated end, the piece of the
    edge and its direction there."""
    left, low, right, high = body.bounds
    far = math.hypot(right - left, high - low) + distance(tip, ((left + right) / 2, (low + high) / 2)) + 1.0
    last = chain[-1]
    reach_back = last.length if isinstance(last, Segment) else EDGE_NOISE
    nx, ny = -tangent[1] * side, tangent[0] * side
    probe = Segment(
        (tip[0] + nx - tangent[0] * reach_back, tip[1] + ny - tangent[1] * reach_back),
        (tip[0] + nx + tangent[0] * far, tip[1] + ny + tangent[1] * far),
    )
    found = []
    for edge in body.curves:
        for p in crossings(probe, edge):
            past = (p[0] - tip[0]) * tangent[0] + (p[1] - tip[1]) * tangent[1]
            found.append((past, edge, edge.tangent_at(share_of(edge, p))))
    return found


def _nearest_first(found: list[tuple[float, Curve, Point]], *, inside: bool) -> tuple[float, Curve, Point] | None:
    """Return the crossing at which the slot leaves the body: the next one ahead, or the last one behind."""
    ahead = [f for f in found if f[0] >= -EDGE_NOISE]
    behind = [f for f in found if f[0] < EDGE_NOISE]
    if inside:
        return min(ahead, key=lambda f: f[0], default=None)
    if behind:
        return max(behind, key=lambda f: f[0])
    return min(ahead, key=lambda f: f[0], default=None)


def _reaching(line: tuple[Curve, ...], before: float, after: float, what: str) -> tuple[Curve, ...]:
    """Return the line led straight on past its ends, or cut short where the lengths are negative."""
    total = math.fsum(c.length for c in line)
    if total + min(before, 0.0) + min(after, 0.0) <= 1e-6:
        raise InputError(
            f"{what}: its ends leave nothing of its {total:.3f} mm. Make it longer, or its margins smaller.", key="ends"
        )
    curves = _led_on(line, after)
    back = _led_on(tuple(c.reversed() for c in reversed(curves)), before)
    return tuple(c.reversed() for c in reversed(back))


def _led_on(line: tuple[Curve, ...], by: float) -> tuple[Curve, ...]:
    if by > 1e-12:
        tip, (tx, ty) = line[-1].end, line[-1].tangent_at(1.0)
        end = (tip[0] + tx * by, tip[1] + ty * by)
        last = line[-1]
        if isinstance(last, Segment):
            return (*line[:-1], Segment(last.start, end))
        return (*line, Segment(tip, end))
    rest = -by
    curves = list(line)
    while rest > 1e-12:
        last = curves.pop()
        if last.length > rest + 1e-9:
            curves.append(split_curve(last, 1.0 - rest / last.length)[0])
            break
        rest -= last.length
    return tuple(curves)


def band(line: Sequence[Curve], half: float, what: str) -> Outline:
    """Return the outline of all places at most ``half`` beside a line, with flat ends; bends are rounded outside.

    Raises
    ------
    InputError
        The line bends so sharply or comes so near to itself that its sides meet.
    """
    walls = walls_of([WallChain(tuple(line), closed=False)])
    level = OffsetStack(walls).at(half)
    if len(level.loops) != 1:
        raise InputError(
            f"{what}: its line comes nearer to itself than its width, {2 * half:.3f} mm. Make a pocket of it.",
            key="path",
        )
    loop = level.loops[0]
    count = len(walls.bodies)
    caps = {count + k for k in np.flatnonzero(np.abs(walls.corner_sweep) > math.pi - 1e-6).tolist()}
    curves: list[Curve] = []
    for curve, row in zip(loop.curves, loop.pieces, strict=True):
        if int(level.pieces.row[row]) in caps:
            curves.append(Segment(curve.start, curve.end))
        else:
            curves.append(curve)
    return Outline(tuple(curves)).counterclockwise()
