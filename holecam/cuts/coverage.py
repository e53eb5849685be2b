"""Whether a path cuts everything that its cutter reaches, certified by boxes that are split until each is decided.

Two facts decide a box of half diagonal ``h`` round a place: the path passes within ``R - h`` of the place, so the
whole box is swept; or no point of the box lies deeper than a radius inside the cutter's room, and there the pass along
the walls, run in full, sweeps everything that can be swept. What stays undecided down to :data:`FINEST` is uncut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.elements import Elements, Flags, Floats, Indexes, near_pairs
from holecam.cuts.walls import Walls
from holecam.shapes import Outline, Point, Segment
from holecam.shapes.curve_arrays import ClosedArea

FIRST_BOX = 0.5
"""Times the radius: side of the first boxes."""

FINEST = 0.005
"""Times the diameter: side of the last boxes. One of them is a quarter of the patch that still counts."""

COARSE = 0.03
"""Times the diameter: side at which boxes are not split further when more than :data:`MANY` of them are uncut."""

PLACES_AT_ONCE = 20_000
"""Boxes that are held against the path together: bounds the memory of a large pocket."""

MANY = 300

Box = tuple[float, float, float, float]
"""x least, y least, x greatest, y greatest."""

ON_WALL_PASS = 2e-6
"""mm. The pass along the walls counts as run where the path passes this near to it."""


class Patch(Struct, frozen=True, eq=False):
    """Places that the path leaves: corners of the boxes that hold them, and their area, mm2."""

    centers: Floats
    area: float

    def middle(self) -> Point:
        """Return the box nearest to the middle of the patch."""
        mean = self.centers.mean(axis=0)
        best = int(((self.centers - mean) ** 2).sum(axis=1).argmin())
        return (float(self.centers[best, 0]), float(self.centers[best, 1]))

    def spine(self) -> Segment | None:
        """Return the line between its ends, or ``None`` when it is about as short as it is wide."""
        mean = self.centers.mean(axis=0)
        off = self.centers - mean
        along = off @ np.linalg.eigh(off.T @ off)[1][:, 1]
        a, b = self.centers[int(along.argmin())], self.centers[int(along.argmax())]
        start, end = (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
        return Segment(start, end) if math.dist(start, end) > 1e-6 else None


def distance_to_path(path: Elements, x: Floats, y: Floats, reach: float) -> Floats:
    """Return the distance of places to the nearest move, infinite where it is more than ``reach``, mm."""
    best = np.full(len(x), np.inf)
    boxes, reaches = path.boxes(), np.full(len(path), reach)
    for first in range(0, len(x), PLACES_AT_ONCE):
        px, py = x[first : first + PLACES_AT_ONCE], y[first : first + PLACES_AT_ONCE]
        i, j = near_pairs((px, py, px, py), boxes, reaches)
        np.minimum.at(best, i + first, pair_distances(path, j, px[i], py[i]))
    best[best > reach] = np.inf
    return best


def pair_distances(curves: Elements, row: Indexes, x: Floats, y: Floats) -> Floats:
    """Return the distance of each place to the curve of its row, mm."""
    x0, y0 = curves.x0[row], curves.y0[row]
    dx, dy = curves.x1[row] - x0, curves.y1[row] - y0
    square = dx * dx + dy * dy
    along = np.clip(((x - x0) * dx + (y - y0) * dy) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    away = np.hypot(x0 + along * dx - x, y0 + along * dy - y)
    bent = curves.is_arc[row]
    if bent.any():
        r = row[bent]
        ux, uy = x[bent] - curves.cx[r], y[bent] - curves.cy[r]
        turn = (np.sign(curves.sweep[r]) * (np.arctan2(uy, ux) - curves.angle[r])) % math.tau
        ends = np.minimum(
            np.hypot(curves.x0[r] - x[bent], curves.y0[r] - y[bent]),
            np.hypot(curves.x1[r] - x[bent], curves.y1[r] - y[bent]),
        )
        beside = np.abs(np.hypot(ux, uy) - curves.radius[r])
        away[bent] = np.where(turn <= np.abs(curves.sweep[r]), np.minimum(beside, ends), ends)
    return np.asarray(away)


def uncut_patches(
    walls: Walls, rooms: list[Outline], path: Elements, radius: float, *, only: Sequence[Outline] | None = None
) -> list[Patch]:
    """Return what the path leaves deeper than a radius inside the rooms of the cutter's centre.

    Parameters
    ----------
    walls : Walls
    rooms : list of Outline
        The pass along the walls: edges of the places where the cutter's centre may be. It must be part of the path.
    path : Elements
        Every stroke.
    radius : float
        Of the cutter.
    only : outlines or None
        Look in these places only: what another cutter has left.
    """
    if not rooms:
        return []
    areas = [ClosedArea(room) for room in rooms]
    boxes = [room.bounds for room in rooms]
    left, low = min(b[0] for b in boxes), min(b[1] for b in boxes)
    right, high = max(b[2] for b in boxes), max(b[3] for b in boxes)
    side = FIRST_BOX * radius
    nx, ny = math.ceil((right - left) / side), math.ceil((high - low) / side)
    gx, gy = np.meshgrid(left + (np.arange(nx) + 0.5) * side, low + (np.arange(ny) + 0.5) * side)
    x, y = gx.ravel(), gy.ravel()
    finest = FINEST * 2.0 * radius
    wanted = None if only is None else [(ClosedArea(o), o.bounds) for o in only]
    while len(x):
        half = side / math.sqrt(2.0)
        away = distance_to_path(path, x, y, radius + half)
        open_ = away + half > radius
        x, y, away = x[open_], y[open_], away[open_]
        deep = _may_be_deep(walls, areas, x, y, half, radius)
        if wanted is not None:
            deep &= _touches(wanted, x, y, half)
        x, y, away = x[deep], y[deep], away[deep]
        uncut = away > radius
        if side <= finest or (side <= COARSE * 2.0 * radius and int(uncut.sum()) > MANY):
            return _clustered(x[uncut], y[uncut], side, (left, low))
        quarter = side / 4.0
        x, y = (
            np.concatenate([x + sign * quarter for sign in (-1, 1, -1, 1)]),
            np.concatenate([y + sign * quarter for sign in (-1, -1, 1, 1)]),
        )
        side /= 2.0
    return []


def _may_be_deep(walls: Walls, areas: list[ClosedArea], x: Floats, y: Floats, half: float, radius: float) -> Flags:
    """Return whether a box may hold a point deeper than two radii from all walls, a radius inside the rooms."""
    xy = np.column_stack([x, y])
    inside = np.zeros(len(x), dtype=np.bool_)
    for area in areas:
        inside ^= area.inside(xy)
    need = 2.0 * radius - half
    near = np.zeros(len(x), dtype=np.bool_)
    bodies = walls.bodies
    boxes, reaches = bodies.boxes(), need + walls.margin
    for first in range(0, len(x), PLACES_AT_ONCE):
        px, py = x[first : first + PLACES_AT_ONCE], y[first : first + PLACES_AT_ONCE]
        i, j = near_pairs((px, py, px, py), boxes, reaches)
        close = pair_distances(bodies, j, px[i], py[i]) - walls.margin[j] < need
        near[i[close] + first] = True
    return np.asarray(inside & ~near)


def _touches(areas: list[tuple[ClosedArea, Box]], x: Floats, y: Floats, half: float) -> Flags:
    """Return whether a box may share a place with one of the areas, each told with the box round it."""
    xy = np.column_stack([x, y])
    near = np.zeros(len(x), dtype=np.bool_)
    for area, (left, low, right, high) in areas:
        close = (x > left - half) & (x < right + half) & (y > low - half) & (y < high + half)
        if close.any():
            near[close] |= area.inside_by(xy[close]) > -half
    return near


def _clustered(x: Floats, y: Floats, side: float, origin: Point) -> list[Patch]:
    """Return boxes that touch each other as one patch."""
    columns = np.floor((x - origin[0]) / side).astype(np.int64).tolist()
    rows_of = np.floor((y - origin[1]) / side).astype(np.int64).tolist()
    cells = {cell: k for k, cell in enumerate(zip(columns, rows_of, strict=True))}
    patches: list[Patch] = []
    while cells:
        first = next(iter(cells))
        waiting, rows = [first], []
        rows.append(cells.pop(first))
        while waiting:
            cx, cy = waiting.pop()
            for near in ((cx + a, cy + b) for a in (-1, 0, 1) for b in (-1, 0, 1)):
                if near in cells:
                    rows.append(cells.pop(near))
                    waiting.append(near)
        centers = np.column_stack([x[rows], y[rows]])
        patches.append(Patch(centers, len(rows) * side * side))
    return patches
