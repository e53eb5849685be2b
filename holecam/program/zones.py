"""Places where the cutter's body must not be, and by how much a program enters them.

Exact: curves of the program against curves of the zone. A first pass clears almost every move by bisection, because the
distance to a zone changes at most as fast as the tool moves; what stays is settled one by one.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator
from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.plan.limits import Bend
from holecam.program.body import Body
from holecam.program.moves import Floats, Kind, Mask, Moves
from holecam.program.paths import radii, sweeps
from holecam.shapes import Arc, Curve, Outline, Point, Segment
from holecam.shapes.curve_arrays import ClosedArea, CurveArray
from holecam.shapes.distances import chain_approach

Indexes = NDArray[np.intp]

NOISE = 1e-6
"""mm. An entry of less than this is arithmetic noise of sums of shop-sized coordinates."""

FINEST_PIECE = 0.02
"""mm. Where a piece of a move is this short and still not cleared, the exact arithmetic decides."""

FINEST_STEP = 1e-4
"""mm. A sloping move is cut into parts until each changes its height by no more than this; the lower end counts."""

AT_ONCE = 20_000
"""Moves that are bisected together: bounds the memory, and a program that enters everywhere is soon told."""

MOST_PIECES = 2000
"""Pieces of one sloping move; beyond it the entry is reported a little too great, never too small."""

DEEPEST_BISECTION = 40
"""Halvings at most: a metre is then cut finer than float64 can hold."""


class Entry(Struct, frozen=True):
    """A move that enters a zone: its index, by how much, and where the tip is then."""

    move: int
    amount: float
    place: tuple[float, float, float]


class Heap(Struct, frozen=True, eq=False, dict=True):
    """A region in plan with a height: the body may not be inside the outline below ``top``.

    ``top`` ``None`` means any height. ``side`` is how much less than the full radius of the body counts, mm: the
    rounding of the program.
    """

    outline: Outline
    top: float | None
    side: float = 0.0

    @cached_property
    def _area(self) -> ClosedArea:
        return ClosedArea(self.outline)

    def near(self, low: Floats, high: Floats, body: Body) -> Mask:
        """Return which moves, given by their bounds, may enter at all."""
        x0, y0, x1, y1 = self.outline.bounds
        r = body.radius
        near = (low[:, 0] < x1 + r) & (high[:, 0] > x0 - r) & (low[:, 1] < y1 + r) & (high[:, 1] > y0 - r)
        if self.top is not None:
            near &= low[:, 2] < self.top - NOISE
        return np.asarray(near)

    def depth(self, xy: Floats, z: Floats, slack: Floats, body: Body) -> Floats:
        """Return the greatest possible entry, mm, for a tip within ``slack`` of ``xy`` and not below ``z``."""
        away = np.maximum(0.0, -self._area.inside_by(xy) - slack) + self.side
        if self.top is None:
            return np.asarray(np.where(away < body.radius, body.radius - away, -np.inf))
        return np.asarray(self.top - z - body.rise(away))

    def exact_depth(self, curve: Curve | None, at: Point, z: float, body: Body) -> tuple[float, Point]:
        """Return the greatest entry over a curve at one height, and the point of the curve where it is."""
        ends = (at,) if curve is None else (curve.start, curve.end)
        inside = [p for p in ends if self.outline.contains(p)]
        if inside:
            away, where = 0.0, inside[0]
        elif curve is None:
            away, where = self.outline.distance_to(at), at
        else:
            approach = chain_approach((curve,), self.outline.curves)
            away, where = approach.distance, approach.on_first
        away += self.side
        if self.top is None:
            return (body.radius - away if away < body.radius else -math.inf), where
        return self.top - z - body.rise_at(away), where


class Hollow(Struct, frozen=True, eq=False, dict=True):
    """The inside of a bend: the body keeps ``bend.gap`` from wall, radius and sheet, measured square to the surface.

    With the flank at x from the wall, the tip at h over the sheet and the corner radius rc, and the corner within the
    quarter of the inside radius Rb: gap = Rb - rc - sqrt((Rb - rc - x)^2 + (Rb - rc - h)^2); else the lesser of x
    and h. A point is taken as a sharp flat end, which errs safe.
    """

    bend: Bend
    side: float = 0.0

    @cached_property
    def _wall(self) -> CurveArray:
        return CurveArray(self.bend.wall)

    def near(self, low: Floats, high: Floats, body: Body) -> Mask:
        """Return which moves, given by their bounds, may come too near at all."""
        xs = [c for curve in self.bend.wall for c in _box(curve)[0::2]]
        ys = [c for curve in self.bend.wall for c in _box(curve)[1::2]]
        r = body.radius + self.bend.inside_radius + self.bend.gap
        near = (low[:, 0] < max(xs) + r) & (high[:, 0] > min(xs) - r)
        near &= (low[:, 1] < max(ys) + r) & (high[:, 1] > min(ys) - r)
        if self.bend.wall_top_z is not None:
            near &= low[:, 2] < self.bend.wall_top_z + self.bend.gap
        return np.asarray(near)

    def depth(self, xy: Floats, z: Floats, slack: Floats, body: Body) -> Floats:
        """Return by how much the gap may be missing, mm, for a tip within ``slack`` of ``xy`` and not below ``z``."""
        away, nearest = self._wall.nearest(xy)
        signed = np.where(_left_of(xy, self.bend.wall, nearest), away, -away) - slack + self.side
        return np.asarray(self.bend.gap - self._gap(signed - body.radius, z - self.bend.sheet_z, body))

    def _gap(self, x: Floats, h: Floats, body: Body) -> Floats:
        rc = body.corner_radius
        reach = self.bend.inside_radius - rc
        gap = np.minimum(x, h)
        corner = (x < reach) & (h < reach)
        if corner.any():
            gap = np.where(corner, reach - np.hypot(np.maximum(reach - x, 0), np.maximum(reach - h, 0)), gap)
        # Far from the wall nothing but the sheet is near, and the sheet is a hard floor of its own
        return np.where(x > self.bend.inside_radius + self.bend.gap, np.inf, gap)

    def exact_depth(self, curve: Curve | None, at: Point, z: float, body: Body) -> tuple[float, Point]:
        """Return by how much the gap is missing over a curve at one height, and where."""
        if curve is None:
            where = at
            away = min(math.dist(at, c.nearest(at)) for c in self.bend.wall)
        else:
            approach = chain_approach((curve,), self.bend.wall)
            away, where = approach.distance, approach.on_first
        points = np.array([where] if curve is None else [where, curve.start, curve.end])
        to_wall, nearest = self._wall.nearest(points)
        left = _left_of(points, self.bend.wall, nearest)
        if not left.all():  # on the wrong side of the wall: the farthest such point counts
            worst = int(np.argmax(np.where(left, -1.0, to_wall)))
            away, where = -float(to_wall[worst]), (float(points[worst, 0]), float(points[worst, 1]))
        x, h = np.array([away + self.side - body.radius]), np.array([z - self.bend.sheet_z])
        return self.bend.gap - float(self._gap(x, h, body)[0]), where


def _box(curve: Curve) -> tuple[float, float, float, float]:
    if isinstance(curve, Segment):
        return (*curve.start, *curve.end)
    (x, y), r = curve.center, curve.radius
    return (x - r, y - r, x + r, y + r)


def _left_of(xy: Floats, wall: tuple[Curve, ...], nearest: Indexes) -> Mask:
    """Return which points lie on the left of the wall, or beyond its ends; on it counts as left."""
    left = np.ones(len(xy), np.bool_)
    for k, curve in enumerate(wall):
        mine = nearest == k
        if not mine.any():
            continue
        p = xy[mine]
        if isinstance(curve, Arc):
            inside = np.hypot(p[:, 0] - curve.center[0], p[:, 1] - curve.center[1]) <= curve.radius
            side = inside if curve.ccw else ~inside
        else:
            (ax, ay), (bx, by) = curve.start, curve.end
            side = (bx - ax) * (p[:, 1] - ay) - (by - ay) * (p[:, 0] - ax) >= 0
        left[mine] = side
    return left


Zone = Heap | Hollow


def entries(moves: Moves, candidates: Indexes, zone: Zone, body: Body, most: int) -> Iterator[Entry]:
    """Yield the moves that enter a zone, in order, at most ``most`` of them.

    ``candidates`` are indexes of moves whose bounds are near the zone; unknown coordinates are never near.
    """
    found = 0
    for first in range(0, len(candidates), AT_ONCE):
        for index in _not_cleared(moves, candidates[first : first + AT_ONCE], zone, body):
            entry = _settle(moves, int(index), zone, body)
            if entry is None:
                continue
            yield entry
            found += 1
            if found >= most:
                return


def _not_cleared(moves: Moves, candidates: Indexes, zone: Zone, body: Body) -> Indexes:
    """Return the moves that bisection does not clear."""
    some = moves.take(candidates)
    plan_length = np.where(
        some.kind >= Kind.ARC_CW,
        np.abs(sweeps(some)) * radii(some),
        np.hypot(some.end[:, 0] - some.start[:, 0], some.end[:, 1] - some.start[:, 1]),
    )
    owner = np.arange(len(some))
    first, last = np.zeros(len(some)), np.ones(len(some))
    doubtful = np.zeros(len(some), np.bool_)
    for _ in range(DEEPEST_BISECTION):
        if not len(owner):
            break
        part = some.take(owner)
        middle = _points(part, (first + last) / 2)
        half = plan_length[owner] * (last - first) / 2
        z0 = part.start[:, 2] + first * (part.end[:, 2] - part.start[:, 2])
        z1 = part.start[:, 2] + last * (part.end[:, 2] - part.start[:, 2])
        low = np.minimum(z0, z1)
        stays = ~(zone.depth(middle[:, :2], low, half, body) <= NOISE)
        # What is in the zone at the middle of a piece need not be cut up to know it
        sure = zone.depth(middle[:, :2], middle[:, 2], np.zeros(len(part)), body) > NOISE
        doubtful[owner[stays & sure]] = True
        short = (half <= FINEST_PIECE) & (np.abs(z1 - z0) <= FINEST_PIECE)
        doubtful[owner[stays & short]] = True
        split = stays & ~short & ~doubtful[owner]
        owner, first, last = owner[split], first[split], last[split]
        mid = (first + last) / 2
        owner = np.concatenate((owner, owner))
        first, last = np.concatenate((first, mid)), np.concatenate((mid, last))
    doubtful[owner] = True
    return candidates[np.flatnonzero(doubtful)]


def _points(moves: Moves, shares: Floats) -> Floats:
    """Return one point a move, each at its own share."""
    point = moves.start + shares[:, None] * (moves.end - moves.start)
    arc = np.flatnonzero(moves.kind >= Kind.ARC_CW)
    if len(arc):
        some = moves.take(arc)
        c, a = some.center, some.start[:, :2] - some.center
        angle = np.arctan2(a[:, 1], a[:, 0]) + shares[arc] * sweeps(some)
        r = np.hypot(a[:, 0], a[:, 1])
        point[arc, 0], point[arc, 1] = c[:, 0] + r * np.cos(angle), c[:, 1] + r * np.sin(angle)
    return np.asarray(point)


def _settle(moves: Moves, index: int, zone: Zone, body: Body) -> Entry | None:
    """Return the greatest entry of one move, or ``None``; exact for level and upright moves."""
    z0, z1 = float(moves.start[index, 2]), float(moves.end[index, 2])
    curve = plan_curve(moves, index)
    at = (float(moves.end[index, 0]), float(moves.end[index, 1]))
    count = itertools.count()  # settles equal amounts without comparing curves
    open_pieces: list[tuple[float, int, Curve | None, float, float, Point]] = []

    def look(piece: Curve | None, a: float, b: float) -> None:
        amount, where = zone.exact_depth(piece, at, min(a, b), body)
        if not amount <= NOISE:
            heapq.heappush(open_pieces, (-amount, next(count), piece, a, b, where))

    look(curve, z0, z1)
    while open_pieces:  # the worst piece first: the first one that needs no cutting up is the answer
        amount, tried, piece, a, b, where = heapq.heappop(open_pieces)
        if piece is None or abs(b - a) <= FINEST_STEP or tried > MOST_PIECES:
            return Entry(index, -amount, (*where, min(a, b)))
        near, far = _halves(piece)
        middle = (a + b) / 2
        look(near, a, middle)
        look(far, middle, b)
    return None


def plan_curve(moves: Moves, index: int) -> Curve | None:
    """Return a move seen from above; ``None`` for one that only goes up or down.

    A written arc has two slightly different radii (up to the published limit); its centre is moved square to the chord,
    so that both ends stay where they are.
    """
    a = (float(moves.start[index, 0]), float(moves.start[index, 1]))
    b = (float(moves.end[index, 0]), float(moves.end[index, 1]))
    if moves.kind[index] < Kind.ARC_CW:
        return None if a == b else Segment(a, b)
    c = (float(moves.center[index, 0]), float(moves.center[index, 1]))
    chord = math.dist(a, b)
    if chord > 1e-9:
        ux, uy = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord
        off = (c[0] - (a[0] + b[0]) / 2) * ux + (c[1] - (a[1] + b[1]) / 2) * uy
        c = (c[0] - off * ux, c[1] - off * uy)
    return Arc(a, b, c, ccw=bool(moves.kind[index] == Kind.ARC_CCW))


def _halves(curve: Curve) -> tuple[Curve, Curve]:
    middle = curve.point_at(0.5)
    if isinstance(curve, Segment):
        return Segment(curve.start, middle), Segment(middle, curve.end)
    return (
        Arc(curve.start, middle, curve.center, ccw=curve.ccw),
        Arc(middle, curve.end, curve.center, ccw=curve.ccw),
    )
