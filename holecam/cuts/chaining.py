"""Pieces of offsets, each in its place, joined to closed chains."""

from __future__ import annotations

import math
from collections import defaultdict

import numpy as np
from msgspec import Struct

from holecam.cuts.elements import Elements, Floats
from holecam.shapes import Arc, Curve, Outline, Point, Segment

JOIN_NEAR = 2e-6
"""mm. Ends that belong together lie this near in nearly all cases: both are the same crossing, worked out twice."""

JOIN_FAR = 2e-3
"""mm. Where two curves meet at a grazing angle the crossing is known only along them; across them it is exact."""

BRIDGED = 5e-7
"""mm. Joints farther apart than this are bridged by a line when the piece between them vanishes; an arc may start
this far off its circle."""

FLAT = 1e-6
"""mm. A chain whose area is less than this times its length has no inside: it runs there and back on one line."""


class Loop(Struct, frozen=True, eq=False):
    """A closed chain: its curves, and its signed area (anticlockwise above 0).

    ``pieces`` names for each curve the row in the list of pieces that it was made from, and with it the source that it
    runs beside.
    """

    curves: tuple[Curve, ...]
    pieces: tuple[int, ...]
    signed_area: float
    length: float

    @property
    def is_flat(self) -> bool:
        """Whether it runs there and back on one line, as in a slot that is as wide as the cutter."""
        return abs(self.signed_area) <= FLAT * self.length

    def outline(self) -> Outline:
        """Return it as an outline, in the same sense of travel."""
        return Outline(self.curves)


def chained_loops(pieces: Elements) -> tuple[tuple[Loop, ...], int]:
    """Return closed chains of the pieces, and how many ends found no partner (0 when all is well)."""
    count = len(pieces)
    if not count:
        return (), 0
    follows = _partners(pieces)
    # In a notch without an angle both walls keep a trace of an offset, shorter than any joint is uncertain
    lonely = int(sum(1 for f, size in zip(follows, pieces.lengths.tolist(), strict=True) if f < 0 and size > JOIN_FAR))
    loops: list[Loop] = []
    seen = [False] * count
    for first in range(count):
        if seen[first] or follows[first] < 0:
            continue
        ring: list[int] = []
        here = first
        while here >= 0 and not seen[here]:
            seen[here] = True
            ring.append(here)
            here = follows[here]
        if here != first:
            continue
        loop = _loop(pieces, ring)
        if loop is not None:
            loops.append(loop)
    return tuple(loops), lonely


def _partners(pieces: Elements) -> list[int]:
    """Return for each piece the one that starts where it ends, -1 for none."""
    count = len(pieces)
    every = np.arange(count, dtype=np.intp)
    out_x, out_y = pieces.directions_at(every, np.ones(count))
    in_x, in_y = pieces.directions_at(every, np.zeros(count))
    follows = [-1] * count
    taken = [False] * count
    for reach in (JOIN_NEAR, JOIN_FAR):
        ends = [i for i in range(count) if follows[i] < 0]
        starts = [i for i in range(count) if not taken[i]]
        for _, _, i, j in _candidates(pieces, ends, starts, reach, out_x, out_y, in_x, in_y):
            if follows[i] < 0 and not taken[j]:
                follows[i] = j
                taken[j] = True
    return follows


def _candidates(
    pieces: Elements,
    ends: list[int],
    starts: list[int],
    reach: float,
    out_x: Floats,
    out_y: Floats,
    in_x: Floats,
    in_y: Floats,
) -> list[tuple[int, float, int, int]]:
    """Return (rank of distance, turn, end, start) sorted: the nearest first, of equals the one most to the left.

    The free side is on the left, so the leftmost way keeps apart what only touches in a point.
    """
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    size = 2.0 * reach
    x0, y0, x1, y1 = (v.tolist() for v in (pieces.x0, pieces.y0, pieces.x1, pieces.y1))
    for j in starts:
        cells[(math.floor(x0[j] / size), math.floor(y0[j] / size))].append(j)
    found: list[tuple[int, float, int, int]] = []
    for i in ends:
        x, y = x1[i], y1[i]
        low_x, low_y = math.floor((x - reach) / size), math.floor((y - reach) / size)
        high_x, high_y = math.floor((x + reach) / size), math.floor((y + reach) / size)
        for cell_x in range(low_x, high_x + 1):
            for cell_y in range(low_y, high_y + 1):
                for j in cells.get((cell_x, cell_y), ()):
                    if j == i and not abs(pieces.sweep[i]) > math.pi:
                        continue  # only a whole circle follows itself; a trace of an arc is near to it by its size
                    away = math.hypot(x0[j] - x, y0[j] - y)
                    if away <= reach:
                        left = math.atan2(
                            out_x[i] * in_y[j] - out_y[i] * in_x[j], out_x[i] * in_x[j] + out_y[i] * in_y[j]
                        )
                        found.append((round(away / (0.05 * reach)), -left, i, j))
    found.sort()
    return found


def _loop(pieces: Elements, ring: list[int]) -> Loop | None:
    """Return the ring as a loop whose curves share their ends, or ``None`` when nothing of it is left."""
    curves: list[Curve] = []
    names: list[int] = []
    joints = _joints(pieces, ring)
    for at, row in enumerate(ring):
        start, end = joints[at - 1], joints[at]
        curve = _fitted(pieces, row, start, end)
        if curve is None and math.dist(start, end) > BRIDGED:
            curve = Segment(start, end)  # shorter than its ends are uncertain: a bridge, not a turn round
        if curve is None:
            joints[at] = start  # what vanished leaves its start to the next one
            continue
        curves.append(curve)
        names.append(row)
    while curves and math.dist(curves[-1].end, curves[0].start) > 0.0:
        closed = _moved_start(curves[0], curves[-1].end)
        if closed is not None:
            curves[0] = closed
            break
        curves.pop(0)
        names.pop(0)
    if not curves or (len(curves) == 1 and isinstance(curves[0], Segment)):
        return None
    area = Outline(tuple(curves)).signed_area
    return Loop(tuple(curves), tuple(names), area, math.fsum(c.length for c in curves))


def _joints(pieces: Elements, ring: list[int]) -> list[Point]:
    """Return where each piece of the ring meets the next: midway, on the tighter arc where there is one."""
    joints: list[Point] = []
    for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
        x = (float(pieces.x1[a]) + float(pieces.x0[b])) / 2
        y = (float(pieces.y1[a]) + float(pieces.y0[b])) / 2
        arcs = [k for k in (a, b) if pieces.is_arc[k]]
        if arcs:
            k = min(arcs, key=lambda row: float(pieces.radius[row]))
            cx, cy, r = float(pieces.cx[k]), float(pieces.cy[k]), float(pieces.radius[k])
            away = math.hypot(x - cx, y - cy)
            if away > 0.0:
                x, y = cx + (x - cx) * r / away, cy + (y - cy) * r / away
        joints.append((x, y))
    return joints


def _fitted(pieces: Elements, row: int, start: Point, end: Point) -> Curve | None:
    """Return the piece between its joints, or ``None`` when they leave nothing of it or turn it round."""
    away = math.dist(start, end)
    if not pieces.is_arc[row]:
        dx, dy = float(pieces.x1[row] - pieces.x0[row]), float(pieces.y1[row] - pieces.y0[row])
        forward = (end[0] - start[0]) * dx + (end[1] - start[1]) * dy
        return Segment(start, end) if forward > 0.0 and away > 1e-9 else None
    sweep = float(pieces.sweep[row])
    if away <= 1e-9:
        if abs(sweep) > math.pi:
            return Arc(start, end, (float(pieces.cx[row]), float(pieces.cy[row])), sweep > 0)
        return None
    return _arc_through(start, end, (float(pieces.cx[row]), float(pieces.cy[row])), sweep)


def _arc_through(start: Point, end: Point, center: Point, sweep: float) -> Curve | None:
    """Return the arc between two joints, ``None`` when they turn it round.

    Where a joint lies off the circle, the centre is moved to be equally far from both, square to the chord; between
    joints hardly farther apart than that a line does.
    """
    r0, r1 = math.dist(center, start), math.dist(center, end)
    if abs(r0 - r1) > BRIDGED:
        if math.dist(start, end) < 10.0 * abs(r0 - r1):
            return Segment(start, end)
        dx, dy = end[0] - start[0], end[1] - start[1]
        off = ((start[0] + end[0] - 2 * center[0]) * dx + (start[1] + end[1] - 2 * center[1]) * dy) / 2
        off /= dx * dx + dy * dy
        center = (center[0] + off * dx, center[1] + off * dy)
    arc = Arc(start, end, center, sweep > 0)
    return arc if abs(arc.sweep - sweep) < 1.0 else None


def _moved_start(curve: Curve, start: Point) -> Curve | None:
    if math.dist(start, curve.end) <= 1e-9:
        return None
    if isinstance(curve, Segment):
        return Segment(start, curve.end)
    return _arc_through(start, curve.end, curve.center, curve.sweep)
