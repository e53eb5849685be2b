"""Chains cut up: the part between two ways, pieces without a sharp turn, where room ends, places all over a region."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from holecam.shapes import Curve, Outline, Point, Segment, distance
from holecam.shapes.curve_arrays import ClosedArea, Floats, points_array
from holecam.shapes.offset import sub_curve

END_ACCURACY = 1e-8
"""mm. How closely the end of a stroke is found."""

EVENLY = np.linspace(0.0, 1.0, 41)
ROUND_AN_END = np.outer((-1.0, 1.0), np.geomspace(1e-8, 0.1, 29)).ravel()
"""Where in an interval a search for the end of a stroke looks, as shares of it: everywhere, and the nearer to the
likeliest end the closer."""

SHARP_TURN_DEG = 15.0
"""Beside a wall, a stroke that turns more sharply than this in one point is cut in two there: a cutter slows down in
such a corner and digs in. It stops before the corner and is lifted straight up (common practice)."""

SPREAD = 40
"""Parts into which a region is divided each way, and each curve of its edge, to find its farthest place."""

ON_EDGE = 1e-9
"""mm. Arithmetic noise of a place on the edge of the region, which belongs to it."""


def part_of(chain: Sequence[Curve], low: float, high: float) -> tuple[Curve, ...]:
    """Return the part of a chain between two ways from its start, mm."""
    out: list[Curve] = []
    before = 0.0
    for curve in chain:
        size = curve.length
        first, last = max(low - before, 0.0), min(high - before, size)
        if last - first > 1e-9:
            out.append(curve if first == 0.0 and last == size else sub_curve(curve, first / size, last / size))
        before += size
    return tuple(out)


def way_along(curve: Curve, p: Point) -> float:
    """Return how far along a curve one of its points lies, mm."""
    if isinstance(curve, Segment):
        return min(distance(curve.start, p), curve.length)
    (cx, cy), (sx, sy) = curve.center, curve.start
    turned = math.atan2(p[1] - cy, p[0] - cx) - math.atan2(sy - cy, sx - cx)
    return min(((turned if curve.ccw else -turned) % math.tau) * curve.radius, curve.length)


def split_at_corners(chain: Sequence[Curve]) -> list[tuple[Curve, ...]]:
    """Return a chain in pieces that have no sharp turn inside them."""
    pieces: list[list[Curve]] = [[chain[0]]]
    for before, after in pairwise(chain):
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        turn_deg = math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
        if turn_deg > SHARP_TURN_DEG:
            pieces.append([after])
        else:
            pieces[-1].append(after)
    return [tuple(piece) for piece in pieces]


def turnings(brackets: Floats, rooms: Floats, free: Callable[[Floats], Floats]) -> list[float]:
    """Return the ways at which room ends, from the side with room.

    Parameters
    ----------
    brackets : array, shape (n, 2)
        Ways along a chain, mm: each row one without room, then one with it.
    rooms : array, shape (n, 2)
        The room there, mm; negative where there is none.
    free : callable
        Room at many ways.
    """
    rows = np.arange(len(brackets))[:, None]
    while (np.abs(brackets[:, 1] - brackets[:, 0]) > END_ACCURACY).any():
        # nearly everywhere room changes evenly: most looks go round the place where it would then end
        ends = rooms[:, :1] / (rooms[:, :1] - rooms[:, 1:])
        shares = np.sort(np.clip(np.column_stack((np.tile(EVENLY, (len(ends), 1)), ends + ROUND_AN_END)), 0.0, 1.0))
        ways = brackets[:, :1] + (brackets[:, 1:] - brackets[:, :1]) * shares
        looks = free(ways.ravel()).reshape(ways.shape)
        looks[:, [0, -1]] = rooms
        # the last place without room, counted from outside, and the first with room behind it
        blocked = np.where(looks[:, :-1] < 0.0, np.arange(ways.shape[1] - 1), 0).max(axis=1, initial=0)
        pair = np.column_stack((blocked, blocked + 1))
        brackets, rooms = ways[rows, pair], looks[rows, pair]
    found: list[float] = brackets[:, 1].tolist()
    return found


def points_spread_over(area: ClosedArea, region: Outline) -> Floats:
    """Return places of the region, its edge included, such that no place of it is far from one, shape (n, 2), mm."""
    x0, y0, x1, y1 = region.bounds
    grid = [
        (x0 + (x1 - x0) * i / SPREAD, y0 + (y1 - y0) * j / SPREAD) for i in range(SPREAD + 1) for j in range(SPREAD + 1)
    ]
    edge = [c.point_at(n / SPREAD) for c in region.curves for n in range(SPREAD)]
    points = points_array(grid + edge)
    return points[area.inside_by(points) >= -ON_EDGE]
