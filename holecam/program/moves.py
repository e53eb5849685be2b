"""The moves of a program as columns, with what was set up while they ran, and the events between them.

One value for both sides of the check: the text that was read back, and the motions that the plan asked for. A million
moves take about 90 bytes each.
"""

from __future__ import annotations

from enum import IntEnum, StrEnum
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]
Codes = NDArray[np.uint8]
Mask = NDArray[np.bool_]


class Kind(IntEnum):
    """How a move runs; the numbers are those of the G words."""

    RAPID = 0
    FEED = 1
    ARC_CW = 2
    ARC_CCW = 3


class Setup(Struct, frozen=True):
    """What was set while a move ran.

    ``spindle`` is +1 clockwise from above (M3), -1 (M4), 0 stopped; ``rpm`` is ``None`` until it is stated; ``tool``
    is 0 until one was taken.
    """

    tool: int = 0
    spindle: int = 0
    rpm: float | None = None
    units_stated: bool = False
    distance_stated: bool = False
    length_offset: int | None = None


class Moves(Struct, frozen=True, eq=False):
    """Columns of equal length ``n``; positions in mm in the work frame, nan where a coordinate is not known yet.

    ``start`` and ``end`` are (n, 3); ``center`` is (n, 2), nan for straight moves; ``feed`` mm/min, nan where none
    was stated; ``setup`` indexes ``setups``; ``line`` counts from 1 in the text; ``cycle`` is the count of the
    canned cycle that a move belongs to, -1 outside.
    """

    line: Integers
    kind: Codes
    start: Floats
    end: Floats
    center: Floats
    feed: Floats
    setup: Integers
    cycle: Integers
    setups: tuple[Setup, ...]

    def __post_init__(self) -> None:
        for column in (self.line, self.kind, self.start, self.end, self.center, self.feed, self.setup, self.cycle):
            column.setflags(write=False)

    def __len__(self) -> int:
        return len(self.kind)

    def take(self, index: NDArray[np.intp] | Mask | slice) -> Moves:
        """Return the moves of an index, a mask or a slice."""
        index = as_slice(index)
        return Moves(
            self.line[index],
            self.kind[index],
            self.start[index],
            self.end[index],
            self.center[index],
            self.feed[index],
            self.setup[index],
            self.cycle[index],
            self.setups,
        )

    def per_setup(self, values: list[float]) -> Floats:
        """Return one value a move from one value a setup."""
        return np.asarray(values, dtype=np.float64)[self.setup] if len(self) else np.empty(0)


def as_slice(index: NDArray[np.intp] | Mask | slice) -> NDArray[np.intp] | Mask | slice:
    """Return the same index as a slice where it is one: then nothing is copied."""
    if isinstance(index, slice) or not len(index):
        return index
    if index.dtype == np.bool_:
        return slice(None) if index.all() else index
    first, last = int(index[0]), int(index[-1])
    if last - first + 1 == len(index) and (np.diff(index) == 1).all():
        return slice(first, last + 1)
    return index


class EventKind(StrEnum):
    """What happens between moves."""

    STOP = "stop"
    OPTIONAL_STOP = "optional stop"
    TOOL_CHANGE = "tool change"
    SPINDLE = "spindle"
    DWELL = "dwell"
    END = "end"
    REMARK = "remark"


class Event(Struct, frozen=True):
    """Something between the moves: it happens before the move with index ``before_move``.

    ``number`` is the tool, the seconds of a dwell or the speed; ``spindle_turning`` says whether the spindle turned,
    ``halts`` whether the machine stands until somebody starts it.
    """

    kind: EventKind
    line: int
    before_move: int
    text: str = ""
    number: float = 0.0
    spindle_turning: bool = False
    halts: bool = False


class MoveColumns:
    """Collects moves one by one or as whole arrays, in order."""

    def __init__(self) -> None:
        self._parts: list[tuple[Any, ...]] = []
        self._rows: list[tuple[int, int, float, float, float, float, float, float, float, float, float, int, int]] = []
        self._setup_index: dict[Setup, int] = {}
        self._done = 0

    def __len__(self) -> int:
        return self._done + len(self._rows)

    def setup_index(self, setup: Setup) -> int:
        """Return the index of a setup, new or known."""
        return self._setup_index.setdefault(setup, len(self._setup_index))

    def add(
        self,
        line: int,
        kind: int,
        start: tuple[float, float, float],
        end: tuple[float, float, float],
        center: tuple[float, float],
        feed: float,
        setup: int,
        cycle: int = -1,
    ) -> None:
        """Add one move."""
        self._rows.append((line, kind, *start, *end, *center, feed, setup, cycle))

    def add_arrays(
        self, line: Integers, kind: Codes, start: Floats, end: Floats, center: Floats, feed: Floats, setup: int
    ) -> None:
        """Add many moves that ran with one setup, outside of cycles."""
        self._flush()
        n = len(kind)
        setups, cycles = np.full(n, setup, np.int32), np.full(n, -1, np.int32)
        self._parts.append((line, kind, start, end, center, feed, setups, cycles))
        self._done += n

    def _flush(self) -> None:
        if not self._rows:
            return
        table = np.array(self._rows, dtype=np.float64)
        self._parts.append(
            (
                table[:, 0].astype(np.int32),
                table[:, 1].astype(np.uint8),
                table[:, 2:5].copy(),
                table[:, 5:8].copy(),
                table[:, 8:10].copy(),
                table[:, 10].copy(),
                table[:, 11].astype(np.int32),
                table[:, 12].astype(np.int32),
            )
        )
        self._done += len(self._rows)
        self._rows.clear()

    def moves(self) -> Moves:
        """Return everything that was added."""
        self._flush()
        setups = tuple(self._setup_index)
        if not self._parts:
            none = np.empty(0, np.int32)
            flat, wide = np.empty((0, 3)), np.empty((0, 2))
            return Moves(none, np.empty(0, np.uint8), flat, flat.copy(), wide, np.empty(0), none, none, setups)
        columns: list[Any] = [
            np.concatenate(c) if len(self._parts) > 1 else c[0] for c in zip(*self._parts, strict=True)
        ]
        self._parts.clear()
        self._done = 0
        line, kind, start, end, center, feed, setup, cycle = columns
        return Moves(line, kind, start, end, center, feed, setup, cycle, setups)
