"""Short tours: a space-filling start, improved by 2-opt and moved runs, then by small kicks that are undone if useless.

Local search with neighbour lists after Bentley 1992 ("Fast algorithms for geometric traveling salesman problems", ORSA
Journal on Computing 4:387-411, from memory); the kick swaps two neighbouring runs of the tour. Fixed random numbers:
the same points always give the same tour.

An open tour is a closed one with a stand-in point at no distance from any other; where the start is given, start and
stand-in are tied together by a bonus that no detour can outweigh.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import numpy as np

from holecam.shapes import Point

NEIGHBOURS = 8
"""Nearest points tried as new partners of a point. Eight covers a grid's own neighbours, straight and diagonal."""

LONGEST_RUN = 3
"""Points that are moved together, at most."""

KICK_RUN = 30
"""Points in each of the two runs that a kick swaps, at most: near enough for the search to mend what it broke."""

LEAST_KICKS = 100
KICKS_PER_POINT = 2
MOST_KICKS = 2000
"""Bounds of the work: a hundred points take about a tenth of a second, ten thousand some seconds."""

MOST_IMPROVED = 20_000
"""With more points the space-filling order is taken as it is, about a quarter longer than the best."""

LEAST_GAIN = 1e-7
"""mm. Smaller gains are noise of the arithmetic and could go round in circles."""

TIE_BONUS = 1e7
"""mm. More than any detour among points within 100 m; keeps stand-in and start together."""

_SEED = 20_011
_CURVE_BITS = 16


class _Distances(dict[int, float]):
    """Distances from one point, computed when first asked for."""

    __slots__ = ("here", "points")

    def __init__(self, here: Point, points: Sequence[Point]) -> None:
        super().__init__()
        self.here = here
        self.points = points

    def __missing__(self, other: int) -> float:
        x, y = self.points[other]
        value = self[other] = math.hypot(x - self.here[0], y - self.here[1])
        return value


def improved_order(points: Sequence[Point], *, start: Point | None, closed: bool) -> list[int]:
    """Return a short order of the points by index: open or back to its beginning, from a start point or from any."""
    count = len(points)
    nodes = [*points] if start is None else [*points, start]
    begin = None if start is None else count
    if count <= 1:
        return list(range(count))
    cycle = _curve_order(nodes)
    if len(nodes) > MOST_IMPROVED:
        return _read_off(cycle, count, begin, closed=closed, standin=None)
    rows: list[dict[int, float]] = [_Distances(p, nodes) for p in nodes]
    near = _nearest(nodes)
    standin = None
    if not closed:
        standin = len(nodes)
        for k, row in enumerate(rows):
            row[standin] = 0.0
            near[k].insert(0, standin)
        rows.append(dict.fromkeys(range(len(nodes)), 0.0))
        near.append([])
        place = len(cycle)
        if begin is not None:
            rows[begin][standin] = rows[standin][begin] = -TIE_BONUS
            place = cycle.index(begin)
        cycle.insert(place, standin)
    _Search(cycle, rows, near).run()
    return _read_off(cycle, count, begin, closed=closed, standin=standin)


def _read_off(cycle: list[int], count: int, begin: int | None, *, closed: bool, standin: int | None) -> list[int]:
    """Return the cycle as an order of the points, begun and turned so that equal tours read alike."""
    if begin is not None:
        first = cycle.index(begin)
        way = cycle[first:] + cycle[:first]
        if standin is not None and way[1] == standin:
            way = way[:1] + way[:0:-1]
    elif standin is not None:
        first = cycle.index(standin)
        way = cycle[first:] + cycle[:first]
    elif closed:
        first = cycle.index(0)
        way = cycle[first:] + cycle[:first]
        if way[1] > way[-1]:
            way = way[:1] + way[:0:-1]
    else:
        way = cycle
    order = [k for k in way if k < count]
    free_ends = begin is None and not closed
    return order[::-1] if free_ends and order[0] > order[-1] else order


def _curve_order(points: Sequence[Point]) -> list[int]:
    """Return the indices in the order of a Hilbert curve over the points' square."""
    left, low = min(p[0] for p in points), min(p[1] for p in points)
    size = max(max(p[0] for p in points) - left, max(p[1] for p in points) - low)
    scale = ((1 << _CURVE_BITS) - 1) / size if size > 0.0 else 0.0
    keys = [_along_curve(int((x - left) * scale), int((y - low) * scale)) for x, y in points]
    return sorted(range(len(points)), key=lambda k: (keys[k], k))


def _along_curve(x: int, y: int) -> int:
    """Return how far along the Hilbert curve a cell lies."""
    far, side = 0, 1 << (_CURVE_BITS - 1)
    while side:
        right, up = int(bool(x & side)), int(bool(y & side))
        far += side * side * ((3 * right) ^ up)
        if not up:
            if right:
                x, y = side - 1 - (x & (side - 1)), side - 1 - (y & (side - 1))
            x, y = y, x
        x, y = x & (side - 1), y & (side - 1)
        side >>= 1
    return far


def _nearest(points: Sequence[Point]) -> list[list[int]]:
    """Return for each point its nearest others, nearest first; ties by index, so that no machine decides otherwise."""
    xy = np.array(points, dtype=np.float64)
    n = len(xy)
    wanted = min(NEIGHBOURS, n - 1)
    lists: list[list[int]] = []
    for begin in range(0, n, 256):
        block = xy[begin : begin + 256]
        square = (block[:, None, 0] - xy[None, :, 0]) ** 2 + (block[:, None, 1] - xy[None, :, 1]) ** 2
        square[np.arange(len(block)), np.arange(begin, begin + len(block))] = np.inf
        limit = np.partition(square, wanted - 1, axis=1)[:, wanted - 1]
        for row, bound in zip(square, limit, strict=True):
            tied = np.flatnonzero(row <= bound)
            lists.append([int(k) for k in tied[np.argsort(row[tied], kind="stable")][:wanted]])
    return lists


class _Search:
    """A closed tour under improvement. ``cycle`` is changed in place; ``at[k]`` is where node k stands in it."""

    def __init__(self, cycle: list[int], rows: list[dict[int, float]], near: list[list[int]]) -> None:
        self.cycle = cycle
        self.rows = rows
        self.near = near
        self.at = [0] * len(cycle)
        for place, node in enumerate(cycle):
            self.at[node] = place
        self.reversed_paths: list[tuple[int, int]] = []

    def run(self) -> None:
        """Improve until nothing small helps, then kick and mend, keeping what became shorter."""
        n = len(self.cycle)
        if n < 4:
            return
        self._improve(list(reversed(self.cycle)))
        if n < 6:
            return
        chance = random.Random(_SEED)
        longest = min(KICK_RUN, (n - 2) // 2)
        for _ in range(min(max(KICKS_PER_POINT * n, LEAST_KICKS), MOST_KICKS)):
            # random() alone is promised to stay the same from version to version
            one, two = 1 + int(chance.random() * longest), 1 + int(chance.random() * longest)
            place = int(chance.random() * (n - one - two))
            self._kick_and_mend(place, one, two)

    def _kick_and_mend(self, place: int, one: int, two: int) -> None:
        cycle, rows = self.cycle, self.rows
        a, b = cycle[place - 1], cycle[place]
        c, d = cycle[place + one - 1], cycle[place + one]
        e, f = cycle[place + one + two - 1], cycle[(place + one + two) % len(cycle)]
        worse = rows[a][d] + rows[e][b] + rows[c][f] - rows[a][b] - rows[c][d] - rows[e][f]
        self._swap_runs(place, one, two)
        self.reversed_paths.clear()
        gain = self._improve([a, b, c, d, e, f])
        if gain - worse < LEAST_GAIN:
            for first, last in reversed(self.reversed_paths):
                self._reverse(first, last)
            self._swap_runs(place, two, one)

    def _swap_runs(self, place: int, one: int, two: int) -> None:
        cycle, at, end = self.cycle, self.at, place + one + two
        cycle[place:end] = cycle[place + one : end] + cycle[place : place + one]
        for k in range(place, end):
            at[cycle[k]] = k

    def _improve(self, waiting: list[int]) -> float:
        """Improve around the waiting nodes until none of them, nor any node touched, can be; return the gain, mm."""
        listed = set(waiting)
        total = 0.0
        while waiting:
            node = waiting.pop()
            listed.discard(node)
            while True:
                gain, touched = self._better_partner(node)
                if not touched:
                    gain, touched = self._move_run(node)
                if not touched:
                    break
                total += gain
                for other in touched:
                    if other not in listed and other != node:
                        listed.add(other)
                        waiting.append(other)
        return total

    def _better_partner(self, a: int) -> tuple[float, tuple[int, ...]]:
        """Try to replace an edge of ``a`` and an edge of a near node by two shorter ones (2-opt)."""
        cycle, at, rows, n = self.cycle, self.at, self.rows, len(self.cycle)
        from_a = rows[a]
        for step in (1, -1):
            b = cycle[(at[a] + step) % n]
            now = from_a[b]
            for c in self.near[a]:
                first = now - from_a[c]
                if first <= LEAST_GAIN:
                    break
                d = cycle[(at[c] + step) % n]
                gain = first + rows[c][d] - rows[b][d]
                if gain > LEAST_GAIN and c != b and d != a:
                    self._exchange(a, b, c, d)
                    return gain, (a, b, c, d)
        return 0.0, ()

    def _move_run(self, a: int) -> tuple[float, tuple[int, ...]]:
        """Try to take a short run that begins at ``a`` out and put it beside a near node, either way round."""
        cycle, at, rows, n = self.cycle, self.at, self.rows, len(self.cycle)
        from_a = rows[a]
        for step in (1, -1):
            p = cycle[(at[a] - step) % n]
            for extra in range(min(LONGEST_RUN, n - 3)):
                e = cycle[(at[a] + step * extra) % n]
                q = cycle[(at[e] + step) % n]
                freed = from_a[p] + rows[e][q] - rows[p][q]
                for c in self.near[a]:
                    spare = freed - from_a[c]
                    if spare <= LEAST_GAIN:
                        break
                    if (at[c] - at[a]) * step % n <= extra:
                        continue  # c is in the run itself
                    for d in (cycle[(at[c] + 1) % n], cycle[(at[c] - 1) % n]):
                        if (at[d] - at[a]) * step % n <= extra:
                            continue
                        gain = spare + rows[c][d] - rows[e][d]
                        if gain > LEAST_GAIN:
                            self._insert(p, a, e, q, c, d, forward=d == cycle[(at[c] + step) % n])
                            return gain, (p, a, e, q, c, d)
        return 0.0, ()

    def _insert(self, p: int, a: int, e: int, q: int, c: int, d: int, *, forward: bool) -> None:
        """Take the run a..e out from between p and q and put it between c and d, with a beside c.

        Seen along the run the tour reads p a..e q ... ; ``forward`` tells that d follows c in that direction.
        """
        if forward:  # p a..e q ... c d  becomes  p q ... c a..e d
            self._exchange(p, a, c, d)
            self._exchange(p, c, q, e)
            self._exchange(c, e, a, d)
        else:  # p a..e q ... d c  becomes  p q ... d e..a c
            self._exchange(p, a, d, c)
            self._exchange(p, d, q, e)

    def _exchange(self, a: int, b: int, c: int, d: int) -> None:
        """Replace the edges a-b and c-d by a-c and b-d; b follows a as d follows c, in either direction."""
        at, n = self.at, len(self.cycle)
        if (at[a] + 1) % n == at[b]:
            first, last = at[b], at[c]
        else:
            first, last = at[a], at[d]
        self.reversed_paths.append((first, last))
        self._reverse(first, last)

    def _reverse(self, first: int, last: int) -> None:
        """Reverse the path between two places, or the rest of the tour if that is shorter: the same cycle."""
        cycle, at, n = self.cycle, self.at, len(self.cycle)
        size = (last - first) % n + 1
        if 2 * size > n:
            first, last, size = (last + 1) % n, (first - 1) % n, n - size
        if first <= last:
            cycle[first : last + 1] = cycle[first : last + 1][::-1]
            for k in range(first, last + 1):
                at[cycle[k]] = k
            return
        for _ in range(size // 2):
            u, v = cycle[first], cycle[last]
            cycle[first], cycle[last] = v, u
            at[v], at[u] = first, last
            first, last = (first + 1) % n, (last - 1) % n
