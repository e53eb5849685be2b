"""Orders of points in which each axis turns back as seldom as can be, then with little travel.

A step from a to b turns an axis back when b counts less than a on it. A run of steps that never turn back climbs on
both axes, so the fewest runs are a partition of the points into chains, and no order needs fewer turns than the largest
set of points of which none can follow another, less one (Dilworth 1950, Annals of Mathematics 51:161-166).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from itertools import pairwise

from holecam.shapes import Point, distance

MOST_EXACT = 9
"""Points up to which every order is weighed (by subsets); the work doubles with each further point."""

MOST_MENDED = 60
"""Points up to which runs are moved about to save turns and travel; beyond it the best of the simple orders stands."""

LEAST_GAIN = 1e-7
"""mm, as for tours: smaller gains are noise."""

Counts = tuple[int, int]
"""Positions of both axes in steps, counted in the sense of approach."""


def turns_back(a: Counts, b: Counts) -> int:
    """Return how many axes turn back on the way from a to b."""
    return (b[0] < a[0]) + (b[1] < a[1])


def least_reversals(counts: Sequence[Counts]) -> int:
    """Return a number of turns that no order of the points can undercut."""
    return max(len(fewest_runs(counts)) - 1, 0)


def fewest_runs(counts: Sequence[Counts]) -> list[list[int]]:
    """Return the points as the fewest runs that never turn an axis back, each a list of indices in order.

    Points are taken from the left; each is put on the run whose last point is highest yet not above it.
    """
    runs: list[list[int]] = []
    tops: list[int] = []  # negative height of each run's last point, ascending, so that bisect can be used
    for k in sorted(range(len(counts)), key=lambda i: (counts[i], i)):
        height = counts[k][1]
        place = bisect_left(tops, -height)
        if place < len(runs):
            runs[place].append(k)
            tops[place] = -height
        else:
            runs.append([k])
            tops.append(-height)
    return runs


def best_one_sided(counts: Sequence[Counts], points: Sequence[Point]) -> list[int]:
    """Return an order with few turns: plain rows or columns if nothing has fewer, else with little travel."""
    n = len(counts)
    weight = _Weight(counts, points)
    plain = min(
        sorted(range(n), key=lambda k: (counts[k][1], counts[k][0], k)),
        sorted(range(n), key=lambda k: (counts[k][0], counts[k][1], k)),
        key=weight.of_order,
    )
    if n <= MOST_EXACT:
        best = _exact_order(weight)
    else:
        best = min(_chained(counts), key=weight.of_order)
        if n <= MOST_MENDED:
            best = min(_mended(plain, weight), _mended(best, weight), key=weight.of_order)
    return plain if weight.of_order(plain)[0] <= weight.of_order(best)[0] else best


class _Weight:
    """The weight of a step: turns first, then travel; added up as pairs."""

    def __init__(self, counts: Sequence[Counts], points: Sequence[Point]) -> None:
        self.counts = counts
        self.points = points

    def of_step(self, a: int, b: int) -> tuple[int, float]:
        return turns_back(self.counts[a], self.counts[b]), distance(self.points[a], self.points[b])

    def of_order(self, order: Sequence[int]) -> tuple[int, float]:
        turns, travel = 0, 0.0
        for a, b in pairwise(order):
            more, way = self.of_step(a, b)
            turns, travel = turns + more, travel + way
        return turns, travel

    def of_steps(self, steps: Iterable[tuple[int | None, int | None]]) -> tuple[int, float]:
        """Return the weight of single steps; one that leads nowhere (``None``) weighs nothing."""
        turns, travel = 0, 0.0
        for a, b in steps:
            if a is not None and b is not None:
                more, way = self.of_step(a, b)
                turns, travel = turns + more, travel + way
        return turns, travel


def _chained(counts: Sequence[Counts]) -> list[list[int]]:
    """Return the fewest runs one after the other, in three plain orders of the runs.

    Upward by their beginnings; as they come, each beginning farther right and ending lower than the one before; and the
    one that ends farthest right first.
    """
    runs = fewest_runs(counts)
    upward = sorted(runs, key=lambda r: counts[r[0]][1])
    orders = (upward, runs, sorted(upward, key=lambda r: -counts[r[-1]][0]))
    return [[k for run in order for k in run] for order in orders]


def _mended(order: list[int], weight: _Weight) -> list[int]:
    """Move runs of points to better places, never turned round, until none gains.

    A run may be one to three points, or everything between two turns.
    """
    gained = True
    while gained:
        gained = False
        for first in range(len(order)):
            for last in _run_ends(order, first, weight):
                place = _better_place(order, first, last, weight)
                if place is not None:
                    run, rest = order[first : last + 1], order[:first] + order[last + 1 :]
                    order = rest[:place] + run + rest[place:]
                    gained = True
                    break
    return order


def _run_ends(order: Sequence[int], first: int, weight: _Weight) -> list[int]:
    n = len(order)
    ends = [last for last in (first, first + 1, first + 2) if last < n]
    last = first
    while last + 1 < n and not turns_back(weight.counts[order[last]], weight.counts[order[last + 1]]):
        last += 1
    return ends if last in ends else [*ends, last]


def _better_place(order: Sequence[int], first: int, last: int, weight: _Weight) -> int | None:
    """Return where in the rest of the order the run is better off, ``None`` if nowhere; the best place counts."""

    def at(k: int) -> int | None:
        return rest[k] if 0 <= k < len(rest) else None

    rest = [*order[:first], *order[last + 1 :]]
    head, tail = order[first], order[last]
    gap = weight.of_steps([(at(first - 1), at(first))])
    now = weight.of_steps([(at(first - 1), head), (tail, at(first))])
    freed = (now[0] - gap[0], now[1] - gap[1])
    best, found = (0, LEAST_GAIN), None
    for place in range(len(rest) + 1):
        if place == first:
            continue
        open_step = weight.of_steps([(at(place - 1), at(place))])
        put = weight.of_steps([(at(place - 1), head), (tail, at(place))])
        gain = (freed[0] - put[0] + open_step[0], freed[1] - put[1] + open_step[1])
        if gain > best:
            best, found = gain, place
    return found


def _exact_order(weight: _Weight) -> list[int]:
    """Return the best order of all, by dynamic programming over the subsets already visited."""
    n = len(weight.counts)
    step = [[weight.of_step(a, b) for b in range(n)] for a in range(n)]
    best: dict[tuple[int, int], tuple[int, float, int]] = {(1 << k, k): (0, 0.0, -1) for k in range(n)}
    for visited in range(1, 1 << n):
        for here in range(n):
            if (visited, here) not in best:
                continue
            turns, travel, _ = best[visited, here]
            for then in range(n):
                if visited >> then & 1:
                    continue
                more, way = step[here][then]
                key = (visited | 1 << then, then)
                found = (turns + more, travel + way, here)
                if key not in best or found[:2] < best[key][:2]:
                    best[key] = found
    visited = (1 << n) - 1
    here = min(range(n), key=lambda k: (*best[visited, k][:2], k))
    order = []
    while here >= 0:
        order.append(here)
        visited, here = visited & ~(1 << here), best[visited, here][2]
    return order[::-1]
