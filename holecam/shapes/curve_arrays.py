"""Distances from many points to many curves at once, and whether points lie inside a closed outline; exact for arcs.

The same answers as :mod:`holecam.shapes.distances`, one array operation for all points.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property
from itertools import pairwise
from typing import TypeVar

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.errors import InputError
from holecam.shapes.curve_index import PAIRS_FROM, CurveTree, Slabs
from holecam.shapes.curves import Arc, Circle, Curve, Point, Segment
from holecam.shapes.outline import Outline

Floats = NDArray[np.float64]
Indexes = NDArray[np.intp]
Value = TypeVar("Value", bound=np.generic)

CELLS_AT_ONCE = 2_000_000
"""Entries of a points-by-curves table that are worked on at a time: bounds the memory at some 16 MB a column."""


def points_array(points: Iterable[Point] | Floats) -> Floats:
    """Return points as a fresh float64 array of shape (n, 2), mm.

    Raises
    ------
    InputError
        Another shape, or a number that is not finite.
    """
    xy = np.array(points if isinstance(points, np.ndarray) else list(points), dtype=np.float64)
    if xy.size == 0:
        xy = xy.reshape(0, 2)
    if xy.ndim != 2 or xy.shape[1] != 2 or not np.isfinite(xy).all():
        raise InputError(f"points: expected finite numbers of shape (n, 2), got shape {xy.shape}")
    return xy


def distinct(values: NDArray[Value]) -> NDArray[Value]:
    """Return each value of a flat array once, rising.

    As ``numpy.unique``, which loads all of NumPy's masked arrays to find out that there are none.
    """
    rising = np.sort(values)
    fresh = np.ones(len(rising), dtype=np.bool_)
    fresh[1:] = rising[1:] != rising[:-1]
    return rising[fresh]


class CurveArray(Struct, frozen=True, eq=False, dict=True):
    """Segments and arcs held as columns. ``curves`` keeps their order; indexes refer to it."""

    curves: tuple[Curve, ...]

    def __post_init__(self) -> None:
        if not self.curves:
            raise InputError("curves: expected at least one line or arc")

    @cached_property
    def _segments(self) -> Indexes:
        return np.array([i for i, c in enumerate(self.curves) if isinstance(c, Segment)], dtype=np.intp)

    @cached_property
    def _arcs(self) -> Indexes:
        return np.array([i for i, c in enumerate(self.curves) if isinstance(c, Arc)], dtype=np.intp)

    @cached_property
    def _straight(self) -> Floats:
        columns = [
            (*c.start, c.end[0] - c.start[0], c.end[1] - c.start[1]) for c in self.curves if isinstance(c, Segment)
        ]
        return np.array(columns, dtype=np.float64).reshape(-1, 4)

    @cached_property
    def _round(self) -> Floats:
        rows = [
            (*c.center, c.radius, c.start_angle, c.sweep, *c.start, *c.end) for c in self.curves if isinstance(c, Arc)
        ]
        return np.array(rows, dtype=np.float64).reshape(-1, 9)

    def points_along(self, ways: Floats) -> Floats:
        """Return the points at distances along the curves, taken as a chain, from its start, shape (ways, 2), mm.

        As :func:`holecam.shapes.offset.point_along` does for one; a way outside the chain gives its nearer end.
        """
        lengths = np.empty(len(self.curves))
        lengths[self._segments] = np.hypot(self._straight[:, 2], self._straight[:, 3])
        lengths[self._arcs] = self._round[:, 2] * np.abs(self._round[:, 4])
        ends = np.cumsum(lengths)
        index = np.minimum(np.searchsorted(ends, ways), len(lengths) - 1)
        size = lengths[index]
        share = np.clip((ways - (ends - lengths)[index]) / np.where(size > 0.0, size, 1.0), 0.0, 1.0)
        points = np.empty((len(ways), 2))
        row, on_arc = self._rows, self._bent[index]
        ax, ay, dx, dy = self._straight[row[index[~on_arc]]].T
        points[~on_arc] = np.column_stack((ax + share[~on_arc] * dx, ay + share[~on_arc] * dy))
        cx, cy, r, start, sweep = self._round[row[index[on_arc]], :5].T
        turn = start + share[on_arc] * sweep
        points[on_arc] = np.column_stack((cx + r * np.cos(turn), cy + r * np.sin(turn)))
        return points

    @cached_property
    def _rows(self) -> Indexes:
        """Return where each curve stands among the straight ones or the round ones."""
        row = np.empty(len(self.curves), dtype=np.intp)
        row[self._segments], row[self._arcs] = np.arange(len(self._segments)), np.arange(len(self._arcs))
        return row

    @cached_property
    def _bent(self) -> NDArray[np.bool_]:
        bent = np.zeros(len(self.curves), dtype=np.bool_)
        bent[self._arcs] = True
        return bent

    @cached_property
    def _tree(self) -> CurveTree:
        return CurveTree(self.curves)

    def table(self, points: Floats) -> Floats:
        """Return the distance of every point to every curve, shape (points, curves), mm."""
        out = np.empty((len(points), len(self.curves)))
        x, y = points[:, 0, None], points[:, 1, None]
        if len(self._segments):
            out[:, self._segments] = _to_segments(x, y, self._straight.T)
        if len(self._arcs):
            out[:, self._arcs] = _to_arcs(x, y, self._round.T)
        return out

    def distance(self, points: Floats, *, within: float = math.inf) -> Floats:
        """Return the distance of every point to the nearest of the curves, shape (points,), mm.

        What lies farther off than ``within``, mm, may be given as infinite: of many curves that is quicker to tell.
        """
        if math.isfinite(within) and len(points) * len(self.curves) >= PAIRS_FROM:
            return self._nearest_by_tree(points, max(within, 0.0))[0]
        return self.nearest(points)[0]

    def nearest(self, points: Floats) -> tuple[Floats, Indexes]:
        """Return the distance of every point to the nearest curve, mm, and the index of that curve."""
        if len(points) * len(self.curves) >= PAIRS_FROM:
            return self._nearest_by_tree(points, math.inf)
        away = np.empty(len(points))
        which = np.empty(len(points), dtype=np.intp)
        step = max(1, CELLS_AT_ONCE // len(self.curves))
        for first in range(0, len(points), step):
            table = self.table(points[first : first + step])
            index = table.argmin(axis=1)
            which[first : first + step] = index
            away[first : first + step] = table[np.arange(len(table)), index]
        return away, which

    def _nearest_by_tree(self, points: Floats, within: float) -> tuple[Floats, Indexes]:
        of_point, of_curve = self._tree.candidates(points, within)
        away = np.empty(len(of_point))
        x, y = points[of_point].T
        row, bent = self._rows[of_curve], self._bent[of_curve]
        away[~bent] = _to_segments(x[~bent], y[~bent], self._straight[row[~bent]].T)
        away[bent] = _to_arcs(x[bent], y[bent], self._round[row[bent]].T)
        order = np.lexsort((of_curve, away, of_point))
        asked, first = of_point[order], np.full(len(points), np.inf)
        nearest = np.full(len(points), -1, dtype=np.intp)
        begins = np.flatnonzero(np.diff(asked, prepend=-1))
        first[asked[begins]], nearest[asked[begins]] = away[order[begins]], of_curve[order[begins]]
        return first, nearest


def _to_segments(x: Floats, y: Floats, columns: Floats) -> Floats:
    """Return distances of points to segments given by start and way, mm; shapes as NumPy joins them."""
    ax, ay, dx, dy = columns
    square = dx * dx + dy * dy
    along = ((x - ax) * dx + (y - ay) * dy) / np.where(square > 0.0, square, 1.0)
    along = np.clip(along, 0.0, 1.0)
    return np.asarray(np.hypot(ax + along * dx - x, ay + along * dy - y))


def _to_arcs(x: Floats, y: Floats, columns: Floats) -> Floats:
    """Return distances of points to arcs given by centre, radius, start angle, sweep and ends, mm."""
    cx, cy, r, start, sweep, sx, sy, ex, ey = columns
    ux, uy = x - cx, y - cy
    turn = (np.arctan2(uy, ux) - start) * np.sign(sweep) % math.tau
    facing = turn <= np.abs(sweep)
    to_ends = np.minimum(np.hypot(x - sx, y - sy), np.hypot(x - ex, y - ey))
    return np.asarray(np.where(facing, np.minimum(np.abs(np.hypot(ux, uy) - r), to_ends), to_ends))


class ClosedArea(Struct, frozen=True, eq=False, dict=True):
    """An outline or circle ready to be asked about many points.

    Inside is decided by counting the edges to the right of the point. Arcs are cut at their top and bottom, so that
    each piece has one x at each height; neighbouring pieces share one stored height, so that no gap of a drawing (up
    to ``JOIN_GAP``) lets a point slip through.
    """

    shape: Outline | Circle

    @cached_property
    def edge(self) -> CurveArray | None:
        """The curves of an outline; ``None`` for a circle."""
        return CurveArray(self.shape.curves) if isinstance(self.shape, Outline) else None

    @cached_property
    def _pieces(self) -> Floats:
        return _monotone_pieces(self.shape) if isinstance(self.shape, Outline) else np.empty((0, 8))

    @cached_property
    def _slabs(self) -> Slabs | None:
        return Slabs.of(self._pieces[:, 0], self._pieces[:, 1])

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return for every point whether it lies inside; on the edge the answer may be either."""
        if isinstance(self.shape, Circle):
            return self.inside_by(points) > 0.0
        if len(points) * len(self._pieces) >= PAIRS_FROM and self._slabs is not None:
            point, piece = self._slabs.pairs(points[:, 1])
            right = _lies_to_the_right(points[point, 0], points[point, 1], self._pieces[piece].T)
            return np.asarray(np.bincount(point[right], minlength=len(points)) % 2 == 1)
        answer = np.empty(len(points), dtype=np.bool_)
        step = max(1, CELLS_AT_ONCE // len(self._pieces))
        for first in range(0, len(points), step):
            part = points[first : first + step]
            answer[first : first + step] = _edges_to_the_right(part, self._pieces) % 2 == 1
        return answer

    def inside_by(self, points: Floats, *, within: float = math.inf) -> Floats:
        """Return how far inside the edge every point lies, mm; negative outside.

        Farther from the edge than ``within``, mm, it may be given as infinite.
        """
        if isinstance(self.shape, Circle):
            (cx, cy), r = self.shape.center, self.shape.radius
            return r - np.hypot(points[:, 0] - cx, points[:, 1] - cy)
        assert self.edge is not None
        away = self.edge.distance(points, within=within)
        return np.where(self.inside(points), away, -away)


def _monotone_pieces(outline: Outline) -> Floats:
    """Return rows (y low, y high, x0, y0, slope, centre x, centre y, signed radius) of an outline's edge.

    A radius of zero marks a straight piece; its sign tells the right half of a circle from the left.
    """
    rows: list[tuple[float, ...]] = []
    start_y = outline.curves[-1].end[1]
    for curve in outline.curves:
        stations = [start_y]
        halves = []
        if isinstance(curve, Arc):
            shares = sorted(_turning_shares(curve))
            for before, after in zip([0.0, *shares], [*shares, 1.0], strict=True):
                middle = curve.point_at((before + after) / 2)
                halves.append(1.0 if middle[0] >= curve.center[0] else -1.0)
            stations += [_extreme(curve, share) for share in shares]
        else:
            halves.append(0.0)
        stations.append(curve.end[1])
        for (y0, y1), half in zip(pairwise(stations), halves, strict=True):
            low, high = min(y0, y1), max(y0, y1)
            if isinstance(curve, Arc):
                rows.append((low, high, 0.0, 0.0, 0.0, *curve.center, half * curve.radius))
            else:
                rise = curve.end[1] - curve.start[1]
                slope = (curve.end[0] - curve.start[0]) / rise if rise != 0.0 else 0.0
                rows.append((low, high, *curve.start, slope, 0.0, 0.0, 0.0))
        start_y = curve.end[1]
    return np.array(rows, dtype=np.float64)


def _turning_shares(arc: Arc) -> list[float]:
    """Return the shares of the arc, strictly inside it, at which it passes its circle's top or bottom."""
    shares = []
    for quarter in (0.25, 0.75):
        turn = (quarter * math.tau - arc.start_angle) * math.copysign(1.0, arc.sweep) % math.tau
        share = turn / abs(arc.sweep)
        if 0.0 < share < 1.0:
            shares.append(share)
    return shares


def _extreme(arc: Arc, share: float) -> float:
    """Return the height of the top or bottom that the arc passes at this share."""
    up = math.sin(arc.start_angle + share * arc.sweep) > 0.0
    return arc.center[1] + (arc.radius if up else -arc.radius)


def _edges_to_the_right(points: Floats, pieces: Floats) -> Indexes:
    """Return for every point how many pieces of the edge a ray towards +X crosses."""
    y = points[:, 1, None]
    low, high = pieces[:, 0], pieces[:, 1]
    right = _lies_to_the_right(points[:, 0, None], y, pieces.T)
    return np.asarray(((low <= y) & (y < high) & right).sum(axis=1), dtype=np.intp)


def _lies_to_the_right(x: Floats, y: Floats, columns: Floats) -> NDArray[np.bool_]:
    """Return whether a piece of the edge passes a point's height on its right."""
    _, _, x0, y0, slope, cx, cy, r = columns
    half = np.sqrt(np.maximum((np.abs(r) - (y - cy)) * (np.abs(r) + (y - cy)), 0.0))
    edge_x = np.where(r == 0.0, x0 + (y - y0) * slope, cx + np.sign(r) * half)
    return np.asarray(edge_x > x)
