"""What every check looks at, and how runs of the same finding are told as one."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.lengths import Unit, length_text
from holecam.plan.limits import ProgramLimits
from holecam.plan.motions import ToolUse
from holecam.program.body import UNKNOWN_BODY, Body, body_of, deeper_by
from holecam.program.moves import Event, EventKind, Floats, Mask, Moves
from holecam.program.paths import bounds, is_feed
from holecam.program.program_findings import MOST_OF_A_CODE, FindingList, Place

Indexes = NDArray[np.intp]


class CheckContext(Struct, dict=True):
    """The program as it was read, and what it is held against.

    ``safe_height`` and ``stock_top`` are mm. ``tolerance`` is how far a written coordinate may lie from the planned
    one, mm; ``chord`` how far more the middle of a chord may, where arcs are written as lines.
    """

    moves: Moves
    events: tuple[Event, ...]
    limits: ProgramLimits
    tools: dict[int, ToolUse]
    safe_height: float
    stock_top: float
    tolerance: float
    unit: Unit
    found: FindingList
    chord: float = 0.0

    @cached_property
    def tool_numbers(self) -> NDArray[np.int32]:
        """The tool of every move."""
        return np.array([s.tool for s in self.moves.setups], np.int32)[self.moves.setup]

    @cached_property
    def tools_used(self) -> tuple[int, ...]:
        """Each tool once, in the order of the program."""
        used: list[int] = np.flatnonzero(np.bincount(self.moves.setup)).tolist()
        return tuple(dict.fromkeys(self.moves.setups[s].tool for s in used))

    @cached_property
    def _bounds(self) -> tuple[Floats, Floats]:
        return bounds(self.moves)

    @property
    def low(self) -> Floats:
        """Least x, y and z of every move, shape (moves, 3), mm."""
        return self._bounds[0]

    @property
    def high(self) -> Floats:
        """Greatest x, y and z of every move, shape (moves, 3), mm."""
        return self._bounds[1]

    @cached_property
    def feeds(self) -> Mask:
        """Which moves are made at feed."""
        return is_feed(self.moves)

    @cached_property
    def _deeper(self) -> dict[tuple[int, int], float]:
        return {}

    def body(self, tool: int) -> Body:
        """Return the body of a tool; a needle for one that nobody described."""
        return body_of(self.tools[tool]) if tool in self.tools else UNKNOWN_BODY

    def deeper_by(self, cut: int, following: int) -> float:
        """Return how much deeper one tool must have cut for another to follow through air; 0 for the same tool."""
        known = self._deeper.get((cut, following))
        if known is None:
            known = 0.0 if cut == following else deeper_by(self.body(cut), self.body(following))
            self._deeper[cut, following] = known
        return known

    def cuts(self) -> Mask:
        """Return which moves are made at feed below the safe height."""
        with np.errstate(invalid="ignore"):
            return np.asarray(self.feeds & ~(self.low[:, 2] >= self.safe_height - self.tolerance))

    def length_stops(self) -> dict[int, Event | None]:
        """Return the stop at which a tool's height is set, for the index of each change to a further tool by M6.

        It stands between the change and the next move; ``None`` where there is none. The first tool has its height set
        before the program begins, and a change that is a stop itself needs no other.
        """
        found: dict[int, Event | None] = {}
        first = True
        for index, event in enumerate(self.events):
            if event.kind is not EventKind.TOOL_CHANGE:
                continue
            if not first and not event.halts:
                rest = self.events[index + 1 :]
                found[index] = next(
                    (e for e in rest if e.kind is EventKind.STOP and e.before_move == event.before_move), None
                )
            first = False
        return found

    def over_stock(self, margin: Floats | float) -> Mask:
        """Return which moves come near the stock in plan: within ``margin`` of the box round it."""
        stock = self.limits.stock
        if stock is None:
            return np.ones(len(self.moves), np.bool_)
        x0, y0, x1, y1 = stock.outline.bounds
        with np.errstate(invalid="ignore"):
            away = (
                (self.low[:, 0] >= x1 + margin)
                | (self.high[:, 0] <= x0 - margin)
                | (self.low[:, 1] >= y1 + margin)
                | (self.high[:, 1] <= y0 - margin)
            )
        return np.asarray(~away)

    def radii(self) -> Floats:
        """Return the radius of the cutter of every move."""
        return self.moves.per_setup([self.body(s.tool).radius for s in self.moves.setups])

    def place(self, index: int) -> Place:
        """Return where a move ends."""
        x, y, z = self.moves.end[index]
        return (float(x), float(y), float(z))

    def line(self, index: int) -> int:
        """Return the line of a move."""
        return int(self.moves.line[index])

    def length(self, value: float, *, signed: bool = False) -> str:
        """Return a length in the unit of the program."""
        return length_text(value, self.unit, signed=signed)

    def report(
        self,
        mask: Mask,
        code: str,
        message: Callable[[int], str],
        *,
        rule: str = "",
        remedy: str = "",
        measured: Callable[[int], float] | None = None,
        limit: float | None = None,
        unit: str = "mm",
    ) -> None:
        """Add a finding for each run of neighbouring moves in ``mask``; the first of a run is named."""
        index = np.flatnonzero(mask)
        if not len(index):
            return
        begins = np.flatnonzero(np.diff(index, prepend=-2) > 1)
        sizes = np.diff(begins, append=len(index))
        for begin, size in zip(begins[:MOST_OF_A_CODE], sizes, strict=False):
            first = int(index[begin])
            more = f" (and the {size - 1} moves after it)" if size > 1 else ""
            self.found.add(
                code,
                self.line(first),
                message(first) + more,
                place=self.place(first),
                measured=measured(first) if measured else None,
                limit=limit,
                unit=unit,
                rule=rule,
                remedy=remedy,
            )
        self.found.count_more(code, len(begins) - MOST_OF_A_CODE)
