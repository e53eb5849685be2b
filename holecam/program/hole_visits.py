"""Holes as a program really makes them: the tool fed along its own axis at one place, however the lines are written."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from holecam.program.moves import Kind, Mask, Moves

SAME_PLACE = 1e-4
"""mm. Moves at one place in plan differ by no more than this: the same coordinate."""


class HoleVisit(Struct, frozen=True):
    """One tool fed down at one place.

    ``bottom`` is the deepest tip, mm; ``bite`` the longest way fed without coming out of the material in between, mm;
    ``slowest`` and ``fastest`` the feeds, mm/min; ``line`` where the visit begins, ``deepest_line`` where the bottom is
    reached; ``last_move`` the index of its last move down; ``cycle`` the canned cycle, -1 outside.
    """

    x: float
    y: float
    bottom: float
    bite: float
    tool: int
    rpm: float
    slowest: float
    fastest: float
    line: int
    deepest_line: int
    first_move: int
    last_move: int
    cycle: int


def upright(moves: Moves) -> Mask:
    """Return which moves go straight up or down at a known place."""
    with np.errstate(invalid="ignore"):
        same = np.abs(moves.end[:, :2] - moves.start[:, :2]) <= SAME_PLACE
    return np.asarray(same.all(axis=1) & (moves.kind <= Kind.FEED))


def hole_visits(moves: Moves, top: float, tolerance: float, diameters: dict[int, float]) -> tuple[HoleVisit, ...]:
    """Return every place where a tool is fed down below ``top`` (mm), in the order of the program.

    A bite counts from where tools of no lesser diameter (``diameters``, mm, by tool) have been at the same place: a
    drill that follows a spot begins there, one that follows a pilot drill at the top.
    """
    vertical = upright(moves)
    index = np.flatnonzero(vertical)
    visits: list[HoleVisit] = []
    open_visit: _Open | None = None
    reached: dict[tuple[int, int], list[tuple[float, float]]] = {}  # diameter and bottom of what was there
    columns = (moves.kind, moves.start, moves.end, moves.feed, moves.setup, moves.line, moves.cycle)
    kinds, starts, ends, feeds, setups, lines, cycles = (c[index].tolist() for c in columns)
    for k, i in enumerate(index.tolist()):
        (x, y, z0), z1 = starts[k], ends[k][2]
        setup = moves.setups[setups[k]]
        if open_visit is not None and not open_visit.holds(x, y, setup.tool, i):
            visits.append(open_visit.closed())
            diameter = diameters.get(open_visit.tool, 0.0)
            reached.setdefault(_key(open_visit.x, open_visit.y), []).append((diameter, open_visit.bottom))
            open_visit = None
        if kinds[k] == Kind.FEED and z1 < z0 and z1 < top - tolerance:
            if open_visit is None:
                mine = diameters.get(setup.tool, 0.0)
                begun = min((z for d, z in reached.get(_key(x, y), []) if d >= mine), default=top)
                open_visit = _Open(x, y, setup.tool, setup.rpm or 0.0, top, begun, lines[k], i, cycles[k])
            open_visit.down(z0, z1, feeds[k], lines[k], i)
        elif open_visit is not None:
            open_visit.other(max(z0, z1), i)
    if open_visit is not None:
        visits.append(open_visit.closed())
    return tuple(visits)


def _key(x: float, y: float) -> tuple[int, int]:
    return (round(x / SAME_PLACE), round(y / SAME_PLACE))


class _Open:
    """A visit that is being followed; ``begun`` is how deep the hole was before it."""

    def __init__(
        self, x: float, y: float, tool: int, rpm: float, top: float, begun: float, line: int, move: int, cycle: int
    ) -> None:
        self.x, self.y, self.tool, self.rpm, self.top = x, y, tool, rpm, top
        self.line, self.first, self.cycle = line, move, cycle
        self.begun = begun
        self.bottom = top
        self.bite = 0.0
        self.uncleared = 0.0
        self.slowest, self.fastest = float("inf"), 0.0
        self.deepest_line = line
        self.last = self.last_any = move

    def holds(self, x: float, y: float, tool: int, move: int) -> bool:
        """Return whether an upright move belongs here: same place and tool, and nothing sideways in between."""
        return (
            abs(x - self.x) <= SAME_PLACE
            and abs(y - self.y) <= SAME_PLACE
            and tool == self.tool
            and move == self.last_any + 1
        )

    def down(self, z0: float, z1: float, feed: float, line: int, move: int) -> None:
        """Take a feed down: what is new under the bottom so far is the bite."""
        new = min(z0, self.bottom, self.begun) - z1
        if new > 0:
            self.uncleared += new
            self.bite = max(self.bite, self.uncleared)
            self.slowest, self.fastest = min(self.slowest, feed), max(self.fastest, feed)
        if z1 < self.bottom:
            self.bottom, self.deepest_line = z1, line
            self.last = move
        self.last_any = move

    def other(self, reached: float, move: int) -> None:
        """Take any other upright move: out of the material, the chips are cleared."""
        if reached >= self.top - SAME_PLACE:
            self.uncleared = 0.0
        self.last_any = move

    def closed(self) -> HoleVisit:
        """Return what was followed."""
        return HoleVisit(
            self.x,
            self.y,
            self.bottom,
            self.bite,
            self.tool,
            self.rpm,
            self.slowest,
            self.fastest,
            self.line,
            self.deepest_line,
            self.first,
            self.last,
            self.cycle,
        )
