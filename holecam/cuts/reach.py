"""What a cutter reaches of a shape and what it leaves, with exact borders of lines and arcs.

The cutter touches the walls along the feet of the pass beside them. Where two neighbouring pieces of that pass meet in
a corner, the rim of the cutter bridges from one foot to the other. The parts of the rims that no other place of the
pass covers, together with the touched walls, border what is reached; together with the others, what stays.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.cuts.chaining import Loop, chained_loops
from holecam.cuts.distance_clip import (
    Stretches,
    combined,
    complement,
    merged,
    near_bodies,
    near_points,
    no_stretches,
)
from holecam.cuts.elements import Elements, Floats, Indexes, concatenated, elements_of
from holecam.cuts.offsets import Level
from holecam.cuts.proof_values import Leftover
from holecam.cuts.walls import Walls, beside
from holecam.shapes import Outline, Point
from holecam.shapes.curve_arrays import ClosedArea

SAME_FOOT = 1e-6
"""mm. Feet nearer than this are one: the pass bends round a corner or along a smooth joint and leaves nothing."""

CORNER_SHARE = 1.05
"""A patch larger than this times that of a corner of its angle between straight walls is not just a corner."""

HARDLY = 2e-6
"""mm. Distance at which the border of the place that may be cut is looked for."""

SMALLEST = 1e-7
"""mm2. Patches smaller than this are noise of joints that are meant to be smooth."""


class Reach(Struct, frozen=True, eq=False):
    """Borders of what is reached (anticlockwise, holes clockwise), and what stays, each patch with its reason."""

    reached: tuple[Outline, ...]
    leftovers: tuple[Leftover, ...]

    @property
    def left_area(self) -> float:
        """Area of everything that stays, mm2."""
        return math.fsum(patch.area for patch in self.leftovers)


class _Rims(Struct, frozen=True, eq=False):
    """Arcs of the cutter's rim at the corners of the pass, from the foot of the piece that begins to the one that ends
    there: what stays lies on their left. ``opening`` is the whole angle of the arc that each part belongs to."""

    arcs: Elements
    opening: Floats
    center_x: Floats
    center_y: Floats


def reach_of(walls: Walls, level: Level, border: Level | None = None) -> Reach:
    """Return what a cutter reaches whose pass beside the walls is ``level``, run in full with all inside it.

    ``border`` is the level hardly off the walls, :data:`HARDLY`; it is needed where walls and curves that are kept
    away from cross each other, to know which parts of them bound the place that may be cut.
    """
    count = walls.sources
    every = np.arange(count, dtype=np.intp)
    line, exists = beside(walls, every, np.zeros(count), np.ones(count), 0.0)
    corner = every >= len(walls.bodies)
    exists = exists & (line.lengths > 1e-9)
    exists[corner] &= walls.pointed
    lengths = np.where(exists, line.lengths, 0.0)
    rows = np.array(sorted({r for loop in level.loops for r in loop.pieces}), dtype=np.intp)
    pieces = level.pieces.chosen(rows)
    touched = merged(pieces.chosen(exists[pieces.row]), lengths)
    hidden = no_stretches() if border is None else complement(merged(border.pieces, lengths), lengths)
    bare = complement(merged(combined([touched, hidden]), lengths), lengths)
    rims = _rims(walls, level, line)
    reached_walls = line.part(touched.row, touched.low, touched.high)
    bare_walls = line.part(bare.row, bare.low, bare.high)
    reached, _ = chained_loops(concatenated([reached_walls, _turned(rims.arcs)]))
    bare_loops, _ = chained_loops(concatenated([bare_walls, rims.arcs]))
    borders = tuple(loop.outline() for loop in reached if not loop.is_flat)
    return Reach(borders, _leftovers(bare_loops, len(bare), rims, level.distance))


def _rims(walls: Walls, level: Level, line: Elements) -> _Rims:
    first: list[int] = []
    second: list[int] = []
    centers: list[Point] = []
    for loop in level.loops:
        rows = loop.pieces
        first += rows
        second += rows[1:] + rows[:1]
        centers += [c.end for c in loop.curves]
    a, b = np.array(first, dtype=np.intp), np.array(second, dtype=np.intp)
    xy = np.array(centers, dtype=np.float64).reshape(-1, 2)
    end_x, end_y = _feet(walls, line, level.pieces.row[a], level.pieces.high[a])
    begin_x, begin_y = _feet(walls, line, level.pieces.row[b], level.pieces.low[b])
    apart = np.hypot(end_x - begin_x, end_y - begin_y) > SAME_FOOT
    x, y = xy[apart, 0], xy[apart, 1]
    start = np.arctan2(begin_y[apart] - y, begin_x[apart] - x)
    sweep = -((start - np.arctan2(end_y[apart] - y, end_x[apart] - x)) % math.tau)
    radius = np.full(len(x), level.distance)
    whole = Elements(
        np.ones(len(x), dtype=np.bool_),
        begin_x[apart],
        begin_y[apart],
        end_x[apart],
        end_y[apart],
        x,
        y,
        radius,
        start,
        sweep,
    )
    # A rim may lie in what another place of the pass covers: two rooms on both sides of a narrow place
    covered = merged(_covered(whole, level), whole.lengths)
    free = complement(covered, whole.lengths)
    arcs = whole.part(free.row, free.low, free.high)
    return _Rims(arcs, np.abs(sweep)[free.row], x[free.row], y[free.row])


def _covered(rims: Elements, level: Level) -> Stretches:
    passes = elements_of([c for loop in level.loops for c in loop.curves])
    radius = np.full(len(passes), level.distance - 1e-7)
    near = near_bodies(rims, passes, radius)
    points = near_points(rims, passes.x0, passes.y0, radius)
    return Stretches(
        np.concatenate([near.row, points.row]),
        np.concatenate([near.low, points.low]),
        np.concatenate([near.high, points.high]),
    )


def _feet(walls: Walls, line: Elements, source: Indexes, share: Floats) -> tuple[Floats, Floats]:
    """Return where the walls, at their margins, are touched from a share of each source."""
    count = len(walls.bodies)
    x, y = line.points_at(source, share)
    sharp = source >= count
    sharp[sharp] &= walls.corner_margin[source[sharp] - count] == 0.0
    x[sharp] = walls.corner_x[source[sharp] - count]
    y[sharp] = walls.corner_y[source[sharp] - count]
    return x, y


def _turned(arcs: Elements) -> Elements:
    return Elements(
        arcs.is_arc,
        arcs.x1,
        arcs.y1,
        arcs.x0,
        arcs.y0,
        arcs.cx,
        arcs.cy,
        arcs.radius,
        arcs.angle + arcs.sweep,
        -arcs.sweep,
    )


def _leftovers(loops: tuple[Loop, ...], walls: int, rims: _Rims, radius: float) -> tuple[Leftover, ...]:
    borders = [loop for loop in loops if loop.signed_area > SMALLEST]
    holes = [loop for loop in loops if loop.signed_area < -SMALLEST]
    owner: dict[int, list[Loop]] = {}
    if holes:
        points = np.array([h.curves[0].start for h in holes])
        inside = [ClosedArea(b.outline()).inside(points) for b in borders]
        for k, hole in enumerate(holes):
            around = [i for i in range(len(borders)) if inside[i][k]]
            if around:
                owner.setdefault(min(around, key=lambda i: borders[i].signed_area), []).append(hole)
    found = []
    for k, loop in enumerate(borders):
        inner = owner.get(k, [])
        area = loop.signed_area + sum(h.signed_area for h in inner)
        own = [row - walls for row in loop.pieces if row >= walls]
        plain = len(own) == 1 and not inner
        if plain:
            plain = area <= CORNER_SHARE * corner_area(radius, math.pi - float(rims.opening[own[0]])) + SMALLEST
        at = (float(rims.center_x[own[0]]), float(rims.center_y[own[0]])) if own else loop.curves[0].start
        reason = "inside corner" if plain else "narrow place"
        found.append(Leftover(loop.outline(), tuple(h.outline() for h in inner), area, at, reason))
    return tuple(found)


def corner_area(radius: float, angle: float) -> float:
    """Return the area that a cutter leaves in a corner between straight walls, mm2; the angle in radians.

    ``R^2 (cot(g/2) - (pi - g)/2)``; at 90 degrees ``0.2146 R^2``.

    >>> round(corner_area(1.0, math.pi / 2), 4)
    0.2146
    """
    if not 0.0 < angle < math.pi:
        return 0.0
    return radius * radius * (1.0 / math.tan(angle / 2) - (math.pi - angle) / 2)
