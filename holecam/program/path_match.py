"""Find the planned cut for every cut of a program: same path, however it is divided, repeated or reordered.

Usually plan and program run piece by piece alike, and arrays settle it. Where they part, each piece of the program is
looked for along the plan; what is not found, and what is left of the plan, is told.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from holecam.program.check_rapids import nearest_on_path
from holecam.program.moves import Floats, Mask, Moves
from holecam.program.path_pieces import Indexes, Pieces, locate, part_of

Point3 = tuple[float, float, float]

SEARCH_BUDGET = 40_000_000
"""Distances between pieces that are computed at most; a program that needs more has little to do with its plan."""

STRETCH = 4096
"""Pieces that are compared one to one at once where plan and program meet again."""

SHORTEST_STRETCH = 4
"""Pieces in a row that must run alike for that; fewer are looked for one by one."""

NEIGHBORHOOD = 64
"""Planned pieces to both sides of the expected one that are searched before all."""

MOST_EXTRA = 100
"""Cuts off the plan that are worked out; a program with more has little to do with its plan."""

SAMPLES = 9
"""Places along a cut that is not on the plan, at which it is asked whether it removes anything."""


class PathMatch(Struct):
    """How a program's cuts lie on the planned ones.

    ``planned`` and ``program`` are pairs of indexes of pieces that belong together, ``reversed_pairs`` those among
    them that run the other way. ``missing`` are (planned piece, length not cut). ``extra`` are (program piece, how far
    off, place); ``repeats`` counts cuts that only go over planned ones again. ``out_of_order`` are (planned, program)
    pieces that were cut before the material over them; ``reordered`` counts other changes of order. ``given_up`` is
    the first piece of the program that was not looked for any more, or -1.
    """

    planned: Indexes
    program: Indexes
    reversed_pairs: list[tuple[int, int]] = field(default_factory=list)
    missing: list[tuple[int, float]] = field(default_factory=list)
    extra: list[tuple[int, float, Point3]] = field(default_factory=list)
    repeats: int = 0
    out_of_order: list[tuple[int, int]] = field(default_factory=list)
    reordered: int = 0
    given_up: int = -1


def same_paths(plan: Pieces, program: Pieces, tolerance: float) -> bool:
    """Return whether both have the same pieces in the same order."""
    return len(plan) == len(program) and bool(_alike(plan, program, tolerance).all())


def match_paths(plan: Pieces, program: Pieces, tolerance: float, cutter_radius: Floats) -> PathMatch:
    """Return how the pieces of a program lie on those of the plan.

    ``cutter_radius`` is the radius for each planned piece, mm: pieces farther apart than a diameter do not touch the
    same material.
    """
    ahead = _alike(plan, program, tolerance)
    n = min(len(plan), len(program))
    head = n if ahead.all() else int(np.argmin(ahead))
    if head == len(plan) == len(program):
        both = np.arange(head)
        return PathMatch(both, both.copy())
    rest = n - head
    behind = _alike(plan.take(slice(len(plan) - rest, None)), program.take(slice(len(program) - rest, None)), tolerance)
    tail = rest if behind.all() else int(np.argmin(behind[::-1]))
    search = _Search(plan, program, tolerance, head, tail)
    search.run()
    search.settle_extras()
    search.settle_missing()
    search.settle_order(cutter_radius)
    result = search.result
    head_index = np.arange(head)
    tail_index = np.arange(tail)
    pairs = np.array(search.pairs, dtype=np.intp).reshape(-1, 2)
    result.planned = np.concatenate((head_index, pairs[:, 0], len(plan) - tail + tail_index))
    result.program = np.concatenate((head_index, pairs[:, 1], len(program) - tail + tail_index))
    return result


def _alike(plan: Pieces, program: Pieces, tolerance: float) -> Mask:
    """Return for each piece up to the shorter list whether both are the same path the same way."""
    n = min(len(plan), len(program))
    alike = np.ones(n, np.bool_)
    for ours, theirs in ((plan.start, program.start), (plan.middle, program.middle), (plan.end, program.end)):
        off = ours[:n] - theirs[:n]
        alike &= (off * off).sum(axis=1) <= tolerance * tolerance
    return alike


class _Search:
    """Looks for the pieces of the program between head and tail along the plan."""

    def __init__(self, plan: Pieces, program: Pieces, tolerance: float, head: int, tail: int) -> None:
        self.plan = plan
        self.program = program
        self.tolerance = tolerance
        self.begin, self.end = head, len(plan) - tail
        self.program_begin, self.program_end = head, len(program) - tail
        self.plan_tools, self.program_tools = _tools(plan), _tools(program)
        self.cursor = head
        self.covered: dict[int, list[tuple[float, float]]] = {}
        self.first_cut: dict[int, int] = {}
        self.pairs: list[tuple[int, int]] = []
        self.lost: list[tuple[int, Pieces]] = []
        self.budget = SEARCH_BUDGET
        none = np.empty(0, np.intp)
        self.result = PathMatch(none, none)

    def run(self) -> None:
        """Look for every piece; what is found only in part is divided there."""
        alike_to = self.program_begin
        for j in range(self.program_begin, self.program_end):
            if j < alike_to:
                continue
            alike_to = j + self._run_alike(j)
            if alike_to > j:
                continue
            waiting = [self.program.take(slice(j, j + 1))]
            while waiting:
                piece = waiting.pop()
                if piece.length[0] <= self.tolerance:
                    continue
                if self.budget <= 0:
                    self.result.given_up = j
                    return
                for near in (True, False):
                    if self._place(piece, j, near=near):
                        break
                    cut = self._divide(piece, near=near)
                    if cut is not None:  # no place is divided at twice, so this comes to an end
                        waiting += [part_of(piece, 0, cut, 1.0), part_of(piece, 0, 0.0, cut)]
                        break
                else:
                    self.lost.append((j, piece))

    def _run_alike(self, j: int) -> int:
        """Note pieces that run alike from the expected planned one on; return how many there are, 0 for a few."""
        first = self.cursor + 1
        count = min(STRETCH, self.end - first, self.program_end - j)
        if count < SHORTEST_STRETCH:
            return 0
        self.budget -= count
        plan, program = self.plan.take(slice(first, first + count)), self.program.take(slice(j, j + count))
        alike = _alike(plan, program, self.tolerance)
        run = count if alike.all() else int(np.argmin(alike))
        if run < SHORTEST_STRETCH or any(i in self.covered for i in range(first, first + run)):
            return 0
        for k in range(run):
            self._note(first + k, 0.0, 1.0, j + k)
        return run

    def _ends(self, piece: Pieces) -> tuple[Point3, Point3, Point3]:
        a, m, b = piece.start[0], piece.middle[0], piece.end[0]
        return (
            (float(a[0]), float(a[1]), float(a[2])),
            (float(m[0]), float(m[1]), float(m[2])),
            (float(b[0]), float(b[1]), float(b[2])),
        )

    def _place(self, piece: Pieces, j: int, *, near: bool) -> bool:
        """Find a planned piece that this one lies on, the expected one first; note it."""
        if near:
            searched = (slice(self.cursor, min(self.cursor + 3, len(self.plan))), self._neighborhood())
        else:
            searched = (slice(self.begin, self.end), slice(0, len(self.plan)))
        for where in searched:
            found = self._on(piece, where)
            if not found:
                continue
            fresh = [f for f in found if not self._is_covered(f[0], f[1], f[2])]
            index, s0, s1 = (fresh or found)[0]
            self._note(index, s0, s1, j)
            return True
        return False

    def _on(self, piece: Pieces, where: slice) -> list[tuple[int, float, float]]:
        """Return (planned piece, share at start, share at end) of the planned pieces that this piece lies on."""
        some = self.plan.take(where)
        self.budget -= len(some)
        a, m, b = self._ends(piece)
        off_a, share_a = locate(some, a)
        near = off_a <= self.tolerance
        if not near.any():
            return []
        off_b, share_b = locate(some, b)
        # Three points tell a line or an arc of at most half a turn, on both sides
        near &= (locate(some, m)[0] <= self.tolerance) & (off_b <= self.tolerance)
        return [(where.start + int(i), float(share_a[i]), float(share_b[i])) for i in np.flatnonzero(near)]

    def _divide(self, piece: Pieces, *, near: bool) -> float | None:
        """Return the share of a piece at which a planned piece ends or begins on it; ``None`` if there is none."""
        margin = min(0.49, 2 * self.tolerance / float(piece.length[0]))
        best: float | None = None
        for node in self._nodes(piece, self._neighborhood() if near else slice(0, len(self.plan))):
            off, share = locate(piece, node)
            s = float(share[0])
            if off[0] <= self.tolerance and margin < s < 1 - margin and (best is None or s < best):
                best = s
        return best

    def _neighborhood(self) -> slice:
        """Return the planned pieces round the expected one: what is looked for is mostly there."""
        return slice(max(0, self.cursor - NEIGHBORHOOD), min(self.cursor + NEIGHBORHOOD, len(self.plan)))

    def _nodes(self, piece: Pieces, where: slice) -> list[Point3]:
        """Return ends of planned pieces near a piece."""
        some = self.plan.take(where)
        self.budget -= 2 * len(some)
        low = np.minimum(np.minimum(piece.start[0], piece.end[0]), piece.middle[0] - piece.radius[0]) - self.tolerance
        high = np.maximum(np.maximum(piece.start[0], piece.end[0]), piece.middle[0] + piece.radius[0]) + self.tolerance
        found: list[Point3] = []
        for ends in (some.start, some.end):
            inside = ((ends >= low) & (ends <= high)).all(axis=1)
            found += [(float(x), float(y), float(z)) for x, y, z in ends[inside][:5000]]
        return found

    def _is_covered(self, index: int, s0: float, s1: float) -> bool:
        if not self.begin <= index < self.end:
            return True
        margin = 2 * self.tolerance / max(float(self.plan.length[index]), self.tolerance)
        low, high = min(s0, s1) + margin, max(s0, s1) - margin
        return any(a <= low and b >= high for a, b in self.covered.get(index, []))

    def _note(self, index: int, s0: float, s1: float, j: int) -> None:
        if self._is_covered(index, s0, s1):
            self.result.repeats += 1
        self.covered.setdefault(index, []).append((min(s0, s1), max(s0, s1)))
        self.first_cut.setdefault(index, j)
        self.pairs.append((index, j))
        # what is no longer than two rounded ends are off may run anywhere
        if (s0 - s1) * float(self.plan.length[index]) > 2 * self.tolerance:
            self.result.reversed_pairs.append((index, j))
        self.cursor = index

    # What is left

    def settle_missing(self) -> None:
        """Note the planned pieces that are not cut.

        A part of a piece whose rest is cut may be left out where the program was at least that deep already: a plunge
        into a hole of the pass before may begin at its bottom.
        """
        following = self.program_end
        found: list[tuple[int, float]] = []
        for index in reversed(range(self.begin, self.end)):
            length = float(self.plan.length[index])
            gaps = self._gaps(index)
            left = length * sum(b - a for a, b in gaps)
            if (
                left > 4 * self.tolerance
                and (index not in self.covered or not self._was_cut(index, gaps, following))
                and not self._passed_as_often(index, gaps)
            ):
                found.append((index, left))
            following = min(following, self.first_cut.get(index, following))
        self.result.missing = found[::-1]

    def _passed_as_often(self, index: int, gaps: list[tuple[float, float]]) -> bool:
        """Return whether the program passes the gaps of a piece as often as the plan, all its pieces counted.

        Then nothing is missing. Two planned pieces may run over each other, such as the ways down of two levels; a cut
        of the program that was noted for the one leaves a gap in the other.
        """
        tool = self.plan_tools[index]
        for first, last in gaps:
            if (last - first) * float(self.plan.length[index]) <= 2 * self.tolerance:
                continue
            for k in range(SAMPLES):
                share = first + (last - first) * (k + 0.5) / SAMPLES
                x, y, z = part_of(self.plan, index, 0.0, share).end[0].tolist()
                self.budget -= len(self.plan) + len(self.program)
                if self.budget <= 0:
                    return False
                made = _visits(self.program, self.program_tools == tool, (x, y, z), self.tolerance)
                if made < _visits(self.plan, self.plan_tools == tool, (x, y, z), self.tolerance):
                    return False
        return True

    def _before(self, j: int, tool: int) -> Moves:
        """Return what the program cut with the same tool before its piece ``j``."""
        return self.program.moves.take(np.flatnonzero(self.program_tools[:j] == tool))

    def _gaps(self, index: int) -> list[tuple[float, float]]:
        """Return the shares of a planned piece that no cut of the program lies on."""
        gaps = []
        reached = 0.0
        for a, b in [*sorted(self.covered.get(index, [])), (1.0, 1.0)]:
            if a > reached:
                gaps.append((reached, a))
            reached = max(reached, b)
        return gaps

    def _was_cut(self, index: int, gaps: list[tuple[float, float]], before: int) -> bool:
        """Return whether the program had cut the gaps of a piece, as deep or deeper, before a piece of its own."""
        done = self._before(before, self.plan_tools[index])
        for first, last in gaps:
            if (last - first) * float(self.plan.length[index]) <= 2 * self.tolerance:
                continue
            for k in range(SAMPLES):
                share = first + (last - first) * (k + 0.5) / SAMPLES
                x, y, z = part_of(self.plan, index, 0.0, share).end[0].tolist()
                self.budget -= len(done)
                if self.budget <= 0 or not len(done):
                    return False
                away, height = nearest_on_path(done, x, y)
                if not ((away <= self.tolerance) & (height <= z + self.tolerance)).any():
                    return False
        return True

    def settle_extras(self) -> None:
        """Note the cuts that are nowhere on the plan and not merely above it."""
        for j, piece in self.lost:
            if len(self.result.extra) >= MOST_EXTRA or self.budget <= 0:
                self.result.given_up = j if self.result.given_up < 0 else min(j, self.result.given_up)
                return
            worst = self._off_plan(piece, j)
            if worst is None:
                self.result.repeats += 1
            else:
                self.result.extra.append((j, *worst))

    def _off_plan(self, piece: Pieces, j: int) -> tuple[float, Point3] | None:
        """Return how far a cut leaves the planned ones, and where; ``None`` if it removes nothing.

        It removes nothing where the program has been before, as deep or deeper.
        """
        if not len(self.plan):
            return float("inf"), self._ends(piece)[0]
        worst: tuple[float, Point3] | None = None
        done = self._before(j, self.program_tools[j])
        for k in range(SAMPLES):
            share = k / (SAMPLES - 1)
            x, y, z = (part_of(piece, 0, 0.0, share).end[0] if k else piece.start[0]).tolist()
            self.budget -= len(self.plan) + len(done)
            if len(done):
                away, height = nearest_on_path(done, x, y)
                if ((away <= self.tolerance) & (height <= z + self.tolerance)).any():
                    continue
            off = float(locate(self.plan, (x, y, z))[0].min())
            if off > self.tolerance and (worst is None or off > worst[0]):
                worst = (off, (x, y, z))
        return worst

    def settle_order(self, cutter_radius: Floats) -> None:
        """Note planned pieces that were cut before planned ones over the same place that come first and lie higher."""
        order = sorted(self.first_cut)
        index = np.array(order, dtype=np.intp)
        when = np.array([self.first_cut[i] for i in order])
        latest = np.maximum.accumulate(when)
        early = np.flatnonzero(when < latest)
        some = self.plan.take(index)
        grow = cutter_radius[index][:, None]
        corner_low, corner_high = _boxes(some)
        low, high = corner_low[:, :2] - grow, corner_high[:, :2] + grow
        for k in early.tolist():
            later = np.flatnonzero(when[:k] > when[k])
            touch = ((low[later] < high[k]) & (high[later] > low[k])).all(axis=1)
            higher = corner_low[later, 2] > corner_low[k, 2] + self.tolerance
            if (touch & higher).any():
                self.result.out_of_order.append((order[k], int(when[k])))
            else:
                self.result.reordered += 1


def _visits(pieces: Pieces, ours: Mask, place: Point3, tolerance: float) -> int:
    """Return how many times a path comes by a place; where two pieces of it meet there, that is once."""
    near = (locate(pieces, place)[0] <= tolerance) & ours
    off = pieces.start - np.asarray(place)
    joint = np.zeros_like(near)
    joint[1:] = near[:-1] & ((off * off).sum(axis=1) <= tolerance * tolerance)[1:]
    return int((near & ~joint).sum())


def _tools(pieces: Pieces) -> NDArray[np.int64]:
    """Return the tool of every piece."""
    return np.array([s.tool for s in pieces.moves.setups], dtype=np.int64)[pieces.moves.setup]


def _boxes(pieces: Pieces) -> tuple[Floats, Floats]:
    """Return corners of boxes round pieces; arcs by their full circle, which errs to the side of touching."""
    low, high = np.minimum(pieces.start, pieces.end), np.maximum(pieces.start, pieces.end)
    arc = np.flatnonzero(pieces.radius > 0)
    if len(arc):
        c, r = pieces.moves.center[arc], pieces.radius[arc, None]
        low[arc, :2], high[arc, :2] = c - r, c + r
    return low, high
