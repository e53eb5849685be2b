"""Lines and arcs held as columns, for work on many pairs of them at once.

A place on an element is told by its share, 0 at the start to 1 at the end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.shapes import Arc, Curve, Segment

Floats = NDArray[np.float64]
Indexes = NDArray[np.intp]
Flags = NDArray[np.bool_]

CELLS_AT_ONCE = 1_000_000
"""Entries of a table of pairs up to which all are compared with all; a tree of boxes is quicker beyond, and needs no
table."""

FAR = 1e9
"""mm. A box without an end is taken to end here, beyond all work: the tree of boxes needs numbers."""

CENTRE_NOISE = 1e-5
"""mm. The centre of an arc is slid by at most this to make its two radii equal; an arc with a tiny chord that would
need more keeps its centre."""


class Elements(Struct, frozen=True, eq=False):
    """Columns of equal length. For a line only its ends count; an arc has centre, radius, start angle and sweep too."""

    is_arc: Flags
    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    cx: Floats
    cy: Floats
    radius: Floats
    angle: Floats
    sweep: Floats

    def __len__(self) -> int:
        return len(self.x0)

    def take(self, rows: Indexes | Flags) -> Elements:
        """Return the chosen rows."""
        return Elements(*(getattr(self, name)[rows] for name in self.__struct_fields__))

    @property
    def lengths(self) -> Floats:
        """Length of each element, mm."""
        return np.where(self.is_arc, self.radius * np.abs(self.sweep), np.hypot(self.x1 - self.x0, self.y1 - self.y0))

    def points_at(self, rows: Indexes, share: Floats) -> tuple[Floats, Floats]:
        """Return x and y at a share of each chosen row."""
        x = self.x0[rows] + share * (self.x1[rows] - self.x0[rows])
        y = self.y0[rows] + share * (self.y1[rows] - self.y0[rows])
        bent = self.is_arc[rows]
        if bent.any():
            which = rows[bent]
            theta = self.angle[which] + share[bent] * self.sweep[which]
            x[bent] = self.cx[which] + self.radius[which] * np.cos(theta)
            y[bent] = self.cy[which] + self.radius[which] * np.sin(theta)
        return x, y

    def directions_at(self, rows: Indexes, share: Floats) -> tuple[Floats, Floats]:
        """Return the unit direction of travel at a share of each chosen row."""
        dx, dy = self.x1[rows] - self.x0[rows], self.y1[rows] - self.y0[rows]
        bent = self.is_arc[rows]
        if bent.any():
            which = rows[bent]
            theta = self.angle[which] + share[bent] * self.sweep[which]
            sense = np.sign(self.sweep[which])
            dx[bent] = -sense * np.sin(theta)
            dy[bent] = sense * np.cos(theta)
        size = np.hypot(dx, dy)
        size[size == 0.0] = 1.0
        return dx / size, dy / size

    def part(self, rows: Indexes, low: Floats, high: Floats) -> Elements:
        """Return the stretches between two shares of the chosen rows."""
        x0, y0 = self.points_at(rows, low)
        x1, y1 = self.points_at(rows, high)
        return Elements(
            self.is_arc[rows],
            x0,
            y0,
            x1,
            y1,
            self.cx[rows],
            self.cy[rows],
            self.radius[rows],
            self.angle[rows] + low * self.sweep[rows],
            (high - low) * self.sweep[rows],
        )

    def boxes(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Return x least, y least, x greatest, y greatest of each; an arc's box may be larger than it need be."""
        left, right = np.minimum(self.x0, self.x1), np.maximum(self.x0, self.x1)
        low, high = np.minimum(self.y0, self.y1), np.maximum(self.y0, self.y1)
        if self.is_arc.any():
            # Past its ends an arc reaches at most its rise over the chord, or its whole circle beyond a half turn
            turn = np.abs(self.sweep)
            bulge = np.where(turn < math.pi, self.radius * (1.0 - np.cos(turn / 2)), 0.0)
            wide = self.is_arc & (turn >= math.pi)
            small = np.where(self.is_arc & ~wide, bulge, 0.0)
            left, low, right, high = left - small, low - small, right + small, high + small
            left = np.where(wide, self.cx - self.radius, left)
            right = np.where(wide, self.cx + self.radius, right)
            low = np.where(wide, self.cy - self.radius, low)
            high = np.where(wide, self.cy + self.radius, high)
        return left, low, right, high

    def curves(self) -> tuple[Curve, ...]:
        """Return the elements as single curves."""
        made: list[Curve] = []
        columns = (self.is_arc, self.x0, self.y0, self.x1, self.y1, self.cx, self.cy, self.sweep)
        for bent, x0, y0, x1, y1, cx, cy, sweep in zip(*(c.tolist() for c in columns), strict=True):
            made.append(Arc((x0, y0), (x1, y1), (cx, cy), sweep > 0) if bent else Segment((x0, y0), (x1, y1)))
        return tuple(made)


def elements_of(curves: Sequence[Curve], *, closed: bool = False) -> Elements:
    """Return curves as columns; the centre of an arc is moved by its noise, so that both radii are equal.

    In a closed chain each curve is made to start at the very point where the one before ends: drawings leave gaps of
    up to a nanometre there.
    """
    rows = [
        (True, *c.start, *c.end, *c.center, c.ccw) if isinstance(c, Arc) else (False, *c.start, *c.end, 0.0, 0.0, True)
        for c in curves
    ]
    table = np.array(rows, dtype=np.float64).reshape(-1, 8)
    x0, y0, x1, y1, cx, cy = (table[:, i].copy() for i in range(1, 7))
    if closed:
        x0, y0 = np.roll(x1, 1), np.roll(y1, 1)
    return arcs_completed(table[:, 0] > 0.5, x0, y0, x1, y1, cx, cy, table[:, 7] > 0.5)


def arcs_completed(
    is_arc: Flags, x0: Floats, y0: Floats, x1: Floats, y1: Floats, cx: Floats, cy: Floats, ccw: Flags
) -> Elements:
    """Return elements from ends, centre and sense; radius, start angle and sweep are worked out."""
    chord_x, chord_y = x1 - x0, y1 - y0
    chord = np.hypot(chord_x, chord_y)
    full = is_arc & (chord <= 1e-9)
    # Slide the centre along the chord to its middle: equal radii, to the last bit or two
    safe = np.where(chord > 0.0, chord, 1.0)
    off = (((x0 + x1) / 2 - cx) * chord_x + ((y0 + y1) / 2 - cy) * chord_y) / (safe * safe)
    slide = is_arc & (np.abs(off) * chord <= CENTRE_NOISE)
    cx = np.where(slide, cx + off * chord_x, cx)
    cy = np.where(slide, cy + off * chord_y, cy)
    radius = np.where(is_arc, np.hypot(x0 - cx, y0 - cy), 0.0)
    start = np.arctan2(y0 - cy, x0 - cx)
    turn = (np.arctan2(y1 - cy, x1 - cx) - start) % math.tau
    sweep = np.where(ccw, turn, turn - math.tau)
    sweep = np.where(full, np.where(ccw, math.tau, -math.tau), sweep)
    zero = np.zeros_like(x0)
    return Elements(
        is_arc,
        x0,
        y0,
        x1,
        y1,
        np.where(is_arc, cx, zero),
        np.where(is_arc, cy, zero),
        radius,
        np.where(is_arc, start, zero),
        np.where(is_arc, sweep, zero),
    )


def concatenated(parts: Sequence[Elements]) -> Elements:
    """Return several lists of elements as one."""
    return Elements(*(np.concatenate([getattr(p, name) for p in parts]) for name in Elements.__struct_fields__))


def near_pairs(
    first: tuple[Floats, Floats, Floats, Floats], second: tuple[Floats, Floats, Floats, Floats], reach: Floats
) -> tuple[Indexes, Indexes]:
    """Return the pairs (row of first, row of second) whose boxes come nearer than the second's reach, mm."""
    grown = (second[0] - reach, second[1] - reach, second[2] + reach, second[3] + reach)
    if len(first[0]) * len(reach) <= CELLS_AT_ONCE:
        i, j = np.nonzero(_overlap([side[:, None] for side in first], grown))
        return i, j
    return _near_pairs_by_tree(first, grown)


def _near_pairs_by_tree(first: Sequence[Floats], grown: Sequence[Floats]) -> tuple[Indexes, Indexes]:
    """Return the pairs of boxes that overlap, in the order of the table, without comparing all with all."""
    import shapely

    def boxes(sides: Sequence[Floats]) -> Any:
        return shapely.box(*np.clip(sides, -FAR, FAR))

    i, j = shapely.STRtree(boxes(grown)).query(boxes(first))
    # boxes that only touch are no pair
    inside = _overlap([side[i] for side in first], [side[j] for side in grown])
    i, j = i[inside], j[inside]
    order = np.lexsort((j, i))
    return i[order], j[order]


def _overlap(first: Sequence[Floats], second: Sequence[Floats]) -> Flags:
    near = first[0] < second[2]
    near &= first[2] > second[0]
    near &= first[1] < second[3]
    near &= first[3] > second[1]
    return near
