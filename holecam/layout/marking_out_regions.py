"""What one outline has beyond another, as closed regions of lines and arcs: exact, nothing is replaced by chords.

Both outlines are cut where they cross and where one runs onto the other. The border of "A beyond B" consists of the
pieces of A outside B, the pieces of B inside A travelled backwards, and pieces that both share while lying on
opposite sides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import Enum
from itertools import pairwise

from msgspec import Struct

from holecam.shapes import Arc, Curve, Outline, Point, Segment, distance
from holecam.shapes.curves import curve_bounds
from holecam.shapes.distances import crossings
from holecam.shapes.offset import sub_curve

ON_EDGE = 1e-6
"""mm. A piece whose middle lies this near to the other outline runs on it: noise of drawings and of moved shapes."""

JOINS = 1e-5
"""mm. Ends this near to one another belong together; the gap is closed by a line of that length."""

CUT_WITHIN = 10.0 * ON_EDGE
"""mm. Where the other outline ends so near, a piece is cut. Two edges that are told apart by their middles may lie
further from each other at their ends: uncut there, one of them would go on where the other has left it."""

BRIDGED = 0.01
"""mm. Where nothing goes on, a gap of up to this is bridged: edges that are nearly one cross at a place that rounding
moves along them."""

NO_AREA = 1e-6
"""mm2. A region smaller than this is a crack of rounding between two edges that are meant to be one."""

SHORTEST = 1e-9
"""mm. Pieces shorter than this are dropped: two crossings that are one point."""


class _Side(Enum):
    INSIDE = "inside"
    OUTSIDE = "outside"
    SAME_WAY = "on it, same way"
    OTHER_WAY = "on it, other way"


class Strip(Struct, frozen=True):
    """A closed region: its border anticlockwise, and the islands in it clockwise."""

    outer: Outline
    islands: tuple[Outline, ...] = ()

    @property
    def area(self) -> float:
        """Area, mm2, islands left out."""
        return self.outer.area - math.fsum(i.area for i in self.islands)


def share_of(curve: Curve, p: Point) -> float:
    """Return where on a curve a point of it lies, as a share from 0 to 1."""
    if isinstance(curve, Segment):
        (x, y), (u, v) = curve.start, curve.end
        square = (u - x) ** 2 + (v - y) ** 2
        along = ((p[0] - x) * (u - x) + (p[1] - y) * (v - y)) / square if square > 0.0 else 0.0
        return min(1.0, max(0.0, along))
    angle = math.atan2(p[1] - curve.center[1], p[0] - curve.center[0])
    sweep = curve.sweep
    gone = (angle - curve.start_angle) % math.tau
    if sweep < 0.0:
        gone = (math.tau - gone) % math.tau
    if gone > abs(sweep):  # a hair before the start reads as nearly a full turn
        return 0.0 if math.tau - gone < gone - abs(sweep) else 1.0
    return gone / abs(sweep)


def _pieces(curves: Sequence[Curve], others: Sequence[Curve]) -> list[Curve]:
    """Return the curves cut wherever the others cross, touch or join them."""
    boxes = [curve_bounds(c) for c in others]
    result: list[Curve] = []
    for curve in curves:
        x0, y0, x1, y1 = curve_bounds(curve)
        shares = {0.0, 1.0}
        for other, (u0, v0, u1, v1) in zip(others, boxes, strict=True):
            if u0 > x1 + JOINS or x0 > u1 + JOINS or v0 > y1 + JOINS or y0 > v1 + JOINS:
                continue
            shares.update(share_of(curve, p) for p in crossings(curve, other))
            shares.update(
                share_of(curve, p) for p in (other.start, other.end) if distance(curve.nearest(p), p) <= CUT_WITHIN
            )
        for first, last in pairwise(sorted(shares)):
            if (last - first) * curve.length > SHORTEST:
                result.append(sub_curve(curve, first, last))
    return result


def _side(piece: Curve, other: Outline) -> _Side:
    """Return where a piece lies against the other outline, judged at its middle."""
    middle = piece.point_at(0.5)
    nearest = min(other.curves, key=lambda c: distance(c.nearest(middle), middle))
    if distance(nearest.nearest(middle), middle) <= ON_EDGE:
        ux, uy = piece.tangent_at(0.5)
        vx, vy = nearest.tangent_at(share_of(nearest, middle))
        return _Side.SAME_WAY if ux * vx + uy * vy > 0.0 else _Side.OTHER_WAY
    return _Side.INSIDE if other.contains(middle) else _Side.OUTSIDE


def _left_turn(before: Curve, after: Curve) -> float:
    """Return how far left the way turns from one piece into the next, radians; a short step ahead settles tangents."""
    ux, uy = before.tangent_at(1.0)
    near = after.point_at(min(0.5, 0.01 / max(after.length, 0.02)))
    vx, vy = near[0] - after.start[0], near[1] - after.start[1]
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _loops(pieces: Sequence[Curve]) -> list[Outline]:
    """Return the pieces strung into closed loops, the sharpest left turn first where several go on."""
    left = list(pieces)
    loops: list[Outline] = []
    while left:
        chain = [left.pop(0)]
        while True:
            here = chain[-1].end
            if distance(here, chain[0].start) <= JOINS:
                loops.append(_closed(chain))
                break
            following = [c for c in left if distance(here, c.start) <= JOINS]
            if not following:
                nearest = min([chain[0], *left], key=lambda c: distance(here, c.start))
                if nearest is not chain[0] and distance(here, nearest.start) <= BRIDGED:
                    left.remove(nearest)
                    chain.append(nearest)
                    continue
                loop = _closed(chain)
                if loop.area > JOINS * sum(c.length for c in chain):  # else a crack at a shared edge
                    loops.append(loop)
                break
            chosen = max(following, key=lambda c: _left_turn(chain[-1], c))
            left.remove(chosen)
            chain.append(chosen)
    return loops


def _closed(chain: Sequence[Curve]) -> Outline:
    """Return a chain as an outline; tiny gaps are closed by lines."""
    curves: list[Curve] = []
    for curve, following in zip(chain, [*chain[1:], chain[0]], strict=True):
        curves.append(curve)
        if distance(curve.end, following.start) > 1e-7:
            curves.append(Segment(curve.end, following.start))
    return Outline(tuple(curves))


def beyond(first: Outline, second: Outline, *, least_area: float = NO_AREA) -> tuple[Strip, ...]:
    """Return what the first outline encloses and the second does not, the largest region first.

    Parameters
    ----------
    first, second : Outline
        Neither may cross itself; they may share edges.
    least_area : float
        Regions up to this area, mm2, are left out.
    """
    a, b = first.counterclockwise(), second.counterclockwise()
    border: list[Curve] = []
    for piece in _pieces(a.curves, b.curves):
        if _side(piece, b) in (_Side.OUTSIDE, _Side.OTHER_WAY):
            border.append(piece)
    for piece in _pieces(b.curves, a.curves):
        if _side(piece, a) is _Side.INSIDE:
            border.append(piece.reversed())
    loops = _loops(border)
    outer = [o for o in loops if o.signed_area > least_area]
    islands = [o for o in loops if o.signed_area < -NO_AREA]
    strips = []
    for outline in sorted(outer, key=lambda o: -o.area):
        inside = tuple(i for i in islands if outline.contains(i.curves[0].point_at(0.5)) and i.area < outline.area)
        strips.append(Strip(outline, inside))
    return tuple(strips)


def total_area(strips: Sequence[Strip]) -> float:
    """Return the area of all regions together, mm2."""
    return math.fsum(s.area for s in strips)


def mirrored_strip(strip: Strip) -> Strip:
    """Return a region as seen from the back, x to -x, its border anticlockwise again."""

    def flip(p: Point) -> Point:
        return (-p[0], p[1])

    def turned(outline: Outline) -> Outline:
        curves: list[Curve] = [
            Segment(flip(c.start), flip(c.end))
            if isinstance(c, Segment)
            else Arc(flip(c.start), flip(c.end), flip(c.center), not c.ccw)
            for c in outline.curves
        ]
        return Outline(tuple(curves)).reversed()

    return Strip(turned(strip.outer), tuple(turned(i) for i in strip.islands))
