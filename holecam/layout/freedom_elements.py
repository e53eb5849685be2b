"""The border of the allowed shifts is made of circles and straight pieces; they and their crossings, in shift space.

A disc obstacle grown by what a hole needs gives a circle about q - p. A straight edge gives the two lines at that
distance and a circle about each of its ends, an arc the two concentric circles and those about its ends. Whole circles
stand for arcs here: a candidate that lies on no real border is sorted out by the exact margin afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from msgspec import Struct

from holecam.layout.freedom_field import AreaLimits, DiscLimits, Freedom
from holecam.shapes import Arc, Point
from holecam.shapes.curve_arrays import Floats, Indexes

SAME_ELEMENT = 1e-9
"""mm. Elements that agree to this are one: rows moved onto their own old holes give each circle many times."""

ON_PIECE = 1e-7
"""mm. A crossing this far beyond the end of a straight piece is still looked at; the margin decides."""

TOUCH = 1e-6
"""mm. Circles and lines that miss each other by this are looked at where they come nearest; the margin decides."""


class Elements(Struct, frozen=True, eq=False):
    """Circles (x, y, radius) and straight pieces (x0, y0, x1, y1) in shift space, mm."""

    circles: Floats
    pieces: Floats

    def __len__(self) -> int:
        return len(self.circles) + len(self.pieces)

    def near(self, center: Point, reach: float) -> Elements:
        """Return those that come within ``reach`` of a shift."""
        x, y = center
        c, s = self.circles, self.pieces
        to_circle = np.abs(np.hypot(c[:, 0] - x, c[:, 1] - y) - c[:, 2])
        feet = _feet_on_pieces(s, center)
        to_piece = np.hypot(feet[:, 0] - x, feet[:, 1] - y)
        return Elements(c[to_circle <= reach], s[to_piece <= reach])

    def distinct(self) -> Elements:
        """Return each element once."""
        return Elements(distinct_rows(self.circles), distinct_rows(self.pieces))


def distinct_rows(rows: Floats) -> Floats:
    """Return the rows that differ by more than :data:`SAME_ELEMENT`, in their order."""
    if len(rows) < 2:
        return rows
    _, first = np.unique(np.round(rows / SAME_ELEMENT), axis=0, return_index=True)
    return np.asarray(rows[np.sort(first)], dtype=np.float64)


def join(parts: Iterable[Elements]) -> Elements:
    """Return several sets of elements as one."""
    kept = list(parts)
    if not kept:
        return Elements(np.empty((0, 3)), np.empty((0, 4)))
    return Elements(np.concatenate([p.circles for p in kept]), np.concatenate([p.pieces for p in kept]))


def disc_elements(freedom: Freedom, discs: DiscLimits) -> Elements:
    """Return the circles of disc limits, the inner ones too."""
    x, y = discs.x - freedom.xy[discs.site, 0], discs.y - freedom.xy[discs.site, 1]
    outer = np.stack([x, y, discs.outer], axis=1)[discs.outer > 0.0]
    inner = np.stack([x, y, discs.inner], axis=1)[discs.inner > 0.0]
    return Elements(np.concatenate([outer, inner]), np.empty((0, 4)))


def area_elements(freedom: Freedom, area: AreaLimits, *, near: Point | None = None, reach: float = 0.0) -> Elements:
    """Return the offsets of a boundary's curves for every hole of the limits; at wish only those near a shift."""
    circles: list[tuple[float, float, float]] = []
    pieces: list[tuple[float, float, float, float]] = []
    xy = freedom.xy[area.site]
    if near is not None:
        table = area.boundary.chain.table(xy + np.array(near))
        wanted = np.abs(table - np.abs(area.need)[:, None]) <= reach
    else:
        wanted = np.ones((len(area.site), len(area.boundary.curves)), dtype=np.bool_)
    curves = area.boundary.curves
    for row, k in zip(*np.nonzero(wanted), strict=True):
        (px, py), need, curve = xy[row].tolist(), abs(float(area.need[row])), curves[k]
        (ax, ay), (bx, by) = curve.start, curve.end
        if need > 0.0:
            circles += [(ax - px, ay - py, need), (bx - px, by - py, need)]
        if isinstance(curve, Arc):
            (cx, cy), r = curve.center, curve.radius
            circles += [(cx - px, cy - py, size) for size in (r + need, abs(r - need)) if size > 0.0]
            continue
        size = curve.length
        if size == 0.0:
            continue
        nx, ny = need * (ay - by) / size, need * (bx - ax) / size
        for side in (1.0, -1.0):
            sx, sy = side * nx - px, side * ny - py
            pieces.append((ax + sx, ay + sy, bx + sx, by + sy))
    return Elements(np.array(circles).reshape(-1, 3), np.array(pieces).reshape(-1, 4))


def feet(elements: Elements, wish: Point) -> Floats:
    """Return the point of every element that is nearest to the wish, shape (n, 2).

    About its own centre a circle has no nearest point; its rightmost one is given.
    """
    c = elements.circles
    dx, dy = wish[0] - c[:, 0], wish[1] - c[:, 1]
    away = np.hypot(dx, dy)
    at_center = away <= SAME_ELEMENT
    safe = np.where(at_center, 1.0, away)
    ux, uy = np.where(at_center, 1.0, dx / safe), np.where(at_center, 0.0, dy / safe)
    on_circles = np.stack([c[:, 0] + c[:, 2] * ux, c[:, 1] + c[:, 2] * uy], axis=1)
    return np.concatenate([on_circles, _feet_on_pieces(elements.pieces, wish)])


def crossings_of(elements: Elements) -> Floats:
    """Return every point where two elements cross or touch, shape (n, 2)."""
    c, s = elements.circles, elements.pieces
    found = []
    if len(c) > 1:
        i, j = np.triu_indices(len(c), 1)
        found.append(circle_crossings(c, c, i, j))
    if len(c) and len(s):
        i, j = (part.ravel() for part in np.indices((len(s), len(c))))
        found.append(piece_circle_crossings(s, c, i, j))
    if len(s) > 1:
        i, j = np.triu_indices(len(s), 1)
        found.append(piece_crossings(s, s, i, j))
    return np.concatenate([f.reshape(-1, 2) for f in found]) if found else np.empty((0, 2))


def circle_crossings(a: Floats, b: Floats, i: Indexes, j: Indexes) -> Floats:
    """Return the crossings of circles a[i] and b[j], shape (found, 2); touching ones once or twice."""
    (ax, ay, ra), (bx, by, rb) = a[i].T, b[j].T
    dx, dy = bx - ax, by - ay
    apart = np.hypot(dx, dy)
    near = (apart <= ra + rb + TOUCH) & (apart >= np.abs(ra - rb) - TOUCH) & (apart > SAME_ELEMENT)
    ax, ay, ra, rb, dx, dy, apart = (v[near] for v in (ax, ay, ra, rb, dx, dy, apart))
    ux, uy = dx / apart, dy / apart
    along = 0.5 * (apart + (ra - rb) * (ra + rb) / apart)
    half = np.sqrt(np.maximum((ra - along) * (ra + along), 0.0))
    x, y = ax + along * ux, ay + along * uy
    return np.concatenate(
        [np.stack([x - half * uy, y + half * ux], axis=1), np.stack([x + half * uy, y - half * ux], axis=1)]
    )


def piece_circle_crossings(s: Floats, c: Floats, i: Indexes, j: Indexes) -> Floats:
    """Return the crossings of straight pieces s[i] with circles c[j], shape (found, 2)."""
    (x0, y0, x1, y1), (cx, cy, r) = s[i].T, c[j].T
    dx, dy = x1 - x0, y1 - y0
    size = np.hypot(dx, dy)
    ux, uy = dx / size, dy / size
    along = (cx - x0) * ux + (cy - y0) * uy
    off = (cx - x0) * uy - (cy - y0) * ux
    near = np.abs(off) <= r + TOUCH
    x0, y0, ux, uy, along, off, r, size = (v[near] for v in (x0, y0, ux, uy, along, off, r, size))
    half = np.sqrt(np.maximum((r - off) * (r + off), 0.0))
    out = []
    for at in (along - half, along + half):
        on = (at >= -ON_PIECE) & (at <= size + ON_PIECE)
        out.append(np.stack([x0 + at * ux, y0 + at * uy], axis=1)[on])
    return np.concatenate(out)


def piece_crossings(a: Floats, b: Floats, i: Indexes, j: Indexes) -> Floats:
    """Return the crossings of straight pieces a[i] and b[j], shape (found, 2); none for parallel ones."""
    (ax, ay, ax1, ay1), (bx, by, bx1, by1) = a[i].T, b[j].T
    adx, ady, bdx, bdy = ax1 - ax, ay1 - ay, bx1 - bx, by1 - by
    a_size, b_size = np.hypot(adx, ady), np.hypot(bdx, bdy)
    cross = adx * bdy - ady * bdx
    slanted = np.abs(cross) > 1e-14 * a_size * b_size
    divisor = np.where(slanted, cross, 1.0)
    s = ((bx - ax) * bdy - (by - ay) * bdx) / divisor
    t = ((bx - ax) * ady - (by - ay) * adx) / divisor
    a_slack, b_slack = ON_PIECE / a_size, ON_PIECE / b_size
    met = slanted & (s >= -a_slack) & (s <= 1 + a_slack) & (t >= -b_slack) & (t <= 1 + b_slack)
    return np.asarray(np.stack([ax + s * adx, ay + s * ady], axis=1)[met], dtype=np.float64)


def _feet_on_pieces(pieces: Floats, wish: Point) -> Floats:
    x0, y0, x1, y1 = pieces.T
    dx, dy = x1 - x0, y1 - y0
    along = ((wish[0] - x0) * dx + (wish[1] - y0) * dy) / (dx * dx + dy * dy)
    along = np.clip(along, 0.0, 1.0)
    return np.stack([x0 + along * dx, y0 + along * dy], axis=1)
