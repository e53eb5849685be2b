"""Where along lines and arcs the distance to other lines, arcs and points is less than wanted; exact.

The places nearer than a radius to a point are a disc; to a line, a slab between two discs; to an arc, a ring sector
between two discs. Each meets a line or a circle in stretches with closed forms. Nothing is sampled, no arc is
replaced by chords: a stretch that is kept never comes nearer than the radius, but for :data:`KEPT_NOISE`.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from msgspec import Struct

from holecam.cuts.elements import Elements, Flags, Floats, Indexes, near_pairs

KEPT_NOISE = 1e-10
"""mm. A place counts as too near only when it is nearer than the radius by more than this: shop-sized float64
coordinates carry noise of about 1e-13 mm, and neighbours that touch must not nibble at each other. It stays below the
1e-9 mm to which lengths are snapped before they are rounded, so that a coordinate on a tie stays on it."""

SHORTEST = 1e-7
"""mm. Stretches shorter than this are noise where two borders of a forbidden zone meet."""

_EMPTY = np.zeros(0)


class Stretches(Struct, frozen=True, eq=False):
    """Parts of elements: row of the element, and the shares between which the part lies."""

    row: Indexes
    low: Floats
    high: Floats

    def __len__(self) -> int:
        return len(self.row)

    def chosen(self, which: Flags | Indexes) -> Stretches:
        """Return some of them."""
        return Stretches(self.row[which], self.low[which], self.high[which])

    @property
    def middle(self) -> Floats:
        """Share at the middle of each."""
        return (self.low + self.high) / 2


def no_stretches() -> Stretches:
    """Return an empty list."""
    return Stretches(np.zeros(0, dtype=np.intp), _EMPTY, _EMPTY)


def combined(parts: list[Stretches]) -> Stretches:
    """Return several lists as one."""
    if not parts:
        return no_stretches()
    return Stretches(*(np.concatenate([getattr(p, n) for p in parts]) for n in ("row", "low", "high")))


def near_points(queries: Elements, x: Floats, y: Floats, radius: Floats) -> Stretches:
    """Return the stretches of the queries that lie nearer to a point than its radius."""
    i, j = near_pairs(queries.boxes(), (x, y, x, y), radius)
    return near_points_of_pairs(queries, x, y, radius, i, j)


def near_points_of_pairs(queries: Elements, x: Floats, y: Floats, radius: Floats, i: Indexes, j: Indexes) -> Stretches:
    """Return the same for given pairs (row of query, row of point)."""
    bent = queries.is_arc[i]
    straight = ~bent
    near = np.maximum(radius - KEPT_NOISE, 0.0)
    return combined(
        [
            _line_disc(queries, i[straight], x[j[straight]], y[j[straight]], near[j[straight]]),
            _arc_disc(queries, i[bent], x[j[bent]], y[j[bent]], near[j[bent]]),
        ]
    )


def near_bodies(queries: Elements, bodies: Elements, radius: Floats) -> Stretches:
    """Return the stretches of the queries that lie square beside a line or arc and nearer to it than its radius.

    The discs round the ends of the bodies are left out; :func:`near_points` adds them.
    """
    i, j = near_pairs(queries.boxes(), bodies.boxes(), radius)
    return near_bodies_of_pairs(queries, bodies, radius, i, j)


def near_bodies_of_pairs(queries: Elements, bodies: Elements, radius: Floats, i: Indexes, j: Indexes) -> Stretches:
    """Return the same for given pairs (row of query, row of body)."""
    bent, round_body = queries.is_arc[i], bodies.is_arc[j]
    parts = []
    for query_bent, body_round, meet in (
        (False, False, _line_slab),
        (True, False, _arc_slab),
        (False, True, _line_ring),
        (True, True, _arc_ring),
    ):
        which = (bent == query_bent) & (round_body == body_round)
        if which.any():
            parts.append(meet(queries, bodies, i[which], j[which], radius[j[which]] - KEPT_NOISE))
    return combined(parts)


def near_curves(queries: Elements, bodies: Elements, radius: Floats) -> Stretches:
    """Return the stretches of the queries nearer to a line or arc than its radius, the ends of the bodies included."""
    return combined(
        [
            near_bodies(queries, bodies, radius),
            near_points(queries, bodies.x0, bodies.y0, radius),
            near_points(queries, bodies.x1, bodies.y1, radius),
        ]
    )


def merged(stretches: Stretches, lengths: Floats) -> Stretches:
    """Return overlapping stretches of one element as one, in order; gaps shorter than :data:`SHORTEST` are closed."""
    if not len(stretches):
        return stretches
    order = np.lexsort((stretches.low, stretches.row))
    row, low, high = stretches.row[order], stretches.low[order], stretches.high[order]
    slack = SHORTEST / np.maximum(lengths[row], SHORTEST)
    # Shares lie in 0 to 1, so that rows two apart never mix in one running maximum
    reached = np.maximum.accumulate(high + 2.0 * row)
    fresh = np.ones(len(row), dtype=np.bool_)
    fresh[1:] = (row[1:] != row[:-1]) | (low[1:] + 2.0 * row[1:] > reached[:-1] + slack[1:])
    first = np.flatnonzero(fresh)
    return Stretches(row[first], low[first], np.maximum.reduceat(high, first))


def complement(taken: Stretches, lengths: Floats) -> Stretches:
    """Return what merged stretches leave of all elements, without pieces shorter than :data:`SHORTEST`."""
    count = len(lengths)
    inner_row, inner_low, inner_high = taken.row, taken.low, taken.high
    last = np.ones(len(inner_row), dtype=np.bool_)
    first = np.ones(len(inner_row), dtype=np.bool_)
    first[1:] = inner_row[1:] != inner_row[:-1]
    last[:-1] = first[1:]
    before_low = np.where(first, 0.0, np.roll(inner_high, 1))
    free = np.ones(count, dtype=np.bool_)
    free[inner_row] = False
    whole = np.flatnonzero(free)
    row = np.concatenate([inner_row, inner_row[last], whole])
    low = np.concatenate([before_low, inner_high[last], np.zeros(len(whole))])
    high = np.concatenate([inner_low, np.ones(int(last.sum())), np.ones(len(whole))])
    keep = (high - low) * lengths[row] > SHORTEST
    row, low, high = row[keep], low[keep], high[keep]
    order = np.lexsort((low, row))
    return Stretches(row[order], low[order], high[order])


def _line_disc(q: Elements, i: Indexes, x: Floats, y: Floats, radius: Floats) -> Stretches:
    dx, dy = q.x1[i] - q.x0[i], q.y1[i] - q.y0[i]
    square = dx * dx + dy * dy
    square = np.where(square > 0.0, square, 1e-30)
    wx, wy = x - q.x0[i], y - q.y0[i]
    along = (wx * dx + wy * dy) / square
    off = (wx * dy - wy * dx) ** 2 / square
    half = np.sqrt(np.maximum(radius * radius - off, 0.0) / square)
    return _clipped(i, along - half, along + half)


def _arc_disc(q: Elements, i: Indexes, x: Floats, y: Floats, radius: Floats) -> Stretches:
    r, wx, wy = q.radius[i], x - q.cx[i], y - q.cy[i]
    apart = np.hypot(wx, wy)
    # cosine of the half angle; (r^2 + D^2 - rho^2) / (2 r D) with the difference of squares kept exact
    base = 2.0 * r * apart
    level = ((r - apart) ** 2 - radius * radius) / np.maximum(base, 1e-30) + 1.0
    half = np.arccos(np.clip(level, -1.0, 1.0))
    middle = np.arctan2(wy, wx)
    sense, size = np.sign(q.sweep[i]), np.abs(q.sweep[i])
    centre = (sense * (middle - q.angle[i])) % math.tau
    parts = []
    for turns in (-math.tau, 0.0, math.tau):
        low, high = centre - half + turns, centre + half + turns
        parts.append(_clipped(i, low / size, high / size))
    return combined(parts)


def _clipped(i: Indexes, low: Floats, high: Floats) -> Stretches:
    """Return what of the stretches lies on the elements, between their shares 0 and 1."""
    low, high = np.maximum(low, 0.0), np.minimum(high, 1.0)
    keep = high > low
    return Stretches(i[keep], low[keep], high[keep])


def _slab_frame(bodies: Elements, j: Indexes) -> tuple[Floats, Floats, Floats]:
    ex, ey = bodies.x1[j] - bodies.x0[j], bodies.y1[j] - bodies.y0[j]
    size = np.hypot(ex, ey)
    safe = np.where(size > 0.0, size, 1.0)
    return ex / safe, ey / safe, size


def _line_slab(q: Elements, bodies: Elements, i: Indexes, j: Indexes, radius: Floats) -> Stretches:
    ex, ey, size = _slab_frame(bodies, j)
    ax, ay = q.x0[i] - bodies.x0[j], q.y0[i] - bodies.y0[j]
    bx, by = q.x1[i] - bodies.x0[j], q.y1[i] - bodies.y0[j]
    low, high = np.full(len(i), -math.inf), np.full(len(i), math.inf)
    for f0, f1, least, greatest in (
        (ax * ex + ay * ey, bx * ex + by * ey, np.zeros(len(i)), size),
        (ay * ex - ax * ey, by * ex - bx * ey, -radius, radius),
    ):
        step = f1 - f0
        flat = np.abs(step) < 1e-12
        safe = np.where(flat, 1.0, step)
        a, b = (least - f0) / safe, (greatest - f0) / safe
        within = (f0 > least) & (f0 < greatest)
        low = np.maximum(low, np.where(flat, np.where(within, -math.inf, math.inf), np.minimum(a, b)))
        high = np.minimum(high, np.where(flat, math.inf, np.maximum(a, b)))
    return _clipped(i, low, high)


def _arc_slab(q: Elements, bodies: Elements, i: Indexes, j: Indexes, radius: Floats) -> Stretches:
    ex, ey, size = _slab_frame(bodies, j)
    wx, wy = q.cx[i] - bodies.x0[j], q.cy[i] - bodies.y0[j]
    along, off, r = wx * ex + wy * ey, wy * ex - wx * ey, q.radius[i]
    lean = np.arctan2(ey, ex)
    with np.errstate(invalid="ignore"):
        up, down = np.arcsin((radius - off) / r), np.arcsin((-radius - off) / r)
        near, far = np.arccos(-along / r), np.arccos((size - along) / r)
    angles = np.stack([up, math.pi - up, down, math.pi - down, near, -near, far, -far]) + lean

    def inside(theta: Floats) -> Flags:
        turned = theta - lean
        where, side = along + r * np.cos(turned), off + r * np.sin(turned)
        return np.asarray((where > 0.0) & (where < size) & (np.abs(side) < radius))

    return _between_angles(q, i, angles, inside)


def _between_angles(q: Elements, i: Indexes, angles: Floats, inside: Callable[[Floats], Flags]) -> Stretches:
    """Return the stretches of arcs between candidate angles, shape (k, n), in whose middle ``inside`` holds."""
    sense, size, start = np.sign(q.sweep[i]), np.abs(q.sweep[i]), q.angle[i]
    progress = (sense * (angles - start)) % math.tau
    progress = np.fmin(progress, size)  # no crossing, or beyond the end: nothing ends there
    cuts = np.concatenate([np.zeros((1, len(i))), np.sort(progress, axis=0), size[None, :]])
    middle = (cuts[1:] + cuts[:-1]) / 2
    good = inside(start + sense * middle) & (cuts[1:] > cuts[:-1])
    which, column = np.nonzero(good)
    return Stretches(i[column], cuts[which, column] / size[column], cuts[which + 1, column] / size[column])


def _line_ring(q: Elements, bodies: Elements, i: Indexes, j: Indexes, radius: Floats) -> Stretches:
    cx, cy, ring = bodies.cx[j], bodies.cy[j], bodies.radius[j]
    ax, ay = q.x0[i] - cx, q.y0[i] - cy
    dx, dy = q.x1[i] - q.x0[i], q.y1[i] - q.y0[i]
    square = dx * dx + dy * dy
    square = np.where(square > 0.0, square, 1e-30)
    off = np.abs(ax * dy - ay * dx) / np.sqrt(square)
    foot = -(ax * dx + ay * dy) / square
    start, sweep = bodies.angle[j], bodies.sweep[j]
    with np.errstate(invalid="ignore", divide="ignore"):
        outer = np.sqrt(((ring + radius) - off) * ((ring + radius) + off) / square)
        gap = ring - radius
        inner = np.sqrt((gap - off) * (gap + off) / square)
        shares = [foot - outer, foot + outer, foot - inner, foot + inner]
        for theta in (start, start + sweep):
            ux, uy = np.cos(theta), np.sin(theta)
            shares.append(-(ax * uy - ay * ux) / (dx * uy - dy * ux))
    table = np.stack(shares)
    table = np.where(np.isfinite(table), np.clip(table, 0.0, 1.0), 1.0)
    cuts = np.concatenate([np.zeros((1, len(i))), np.sort(table, axis=0), np.ones((1, len(i)))])
    middle = (cuts[1:] + cuts[:-1]) / 2
    px, py = ax + middle * dx, ay + middle * dy
    good = _in_ring(px, py, ring, radius, start, sweep) & (cuts[1:] > cuts[:-1])
    which, column = np.nonzero(good)
    return Stretches(i[column], cuts[which, column], cuts[which + 1, column])


def _in_ring(px: Floats, py: Floats, ring: Floats, radius: Floats, start: Floats, sweep: Floats) -> Flags:
    """Return whether places relative to the centre of an arc lie beside it and nearer than the radius."""
    turn = (np.sign(sweep) * (np.arctan2(py, px) - start)) % math.tau
    return np.asarray((np.abs(np.hypot(px, py) - ring) < radius) & (turn < np.abs(sweep)))


def _arc_ring(q: Elements, bodies: Elements, i: Indexes, j: Indexes, radius: Floats) -> Stretches:
    wx, wy = q.cx[i] - bodies.cx[j], q.cy[i] - bodies.cy[j]
    r, ring = q.radius[i], bodies.radius[j]
    apart = np.hypot(wx, wy)
    start, sweep = bodies.angle[j], bodies.sweep[j]
    toward = np.arctan2(-wy, -wx)
    base = 2.0 * r * np.maximum(apart, 1e-30)
    angles = []
    with np.errstate(invalid="ignore"):
        for other in (ring + radius, ring - radius):
            level = ((r - apart) ** 2 - other * other) / base + 1.0
            half = np.arccos(level)
            angles += [toward + half, toward - half]
        for theta in (start, start + sweep):
            off = wy * np.cos(theta) - wx * np.sin(theta)
            tilt = np.arcsin(-off / r)
            angles += [theta + tilt, theta + math.pi - tilt]

    def inside(theta: Floats) -> Flags:
        return _in_ring(wx + r * np.cos(theta), wy + r * np.sin(theta), ring, radius, start, sweep)

    return _between_angles(q, i, np.stack(angles), inside)
