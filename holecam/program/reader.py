"""Read a program from its text: what the published language says it does, and what is refused.

Long stretches of lines that only move go the quick way (:mod:`holecam.program.plain_lines`); the interpreter does the
rest, line by line.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.plan.dialect import Dialect
from holecam.program.arc_words import RADIUS_MISMATCH
from holecam.program.blocks import RefusedLineError, read_block
from holecam.program.interpreter import Interpreter
from holecam.program.moves import Event, Floats, Moves
from holecam.program.plain_lines import F, G, I, J, PlainLines, X, Y, Z, carried, line_numbers, take_apart

CHUNK = 1_500_000
"""Characters taken apart at once: the arrays stay within a few tens of megabytes."""

SHORTEST_STRETCH = 24
"""Plain lines in a row from which the arrays pay."""

MOST_BY_LINE = 4096
"""Plain lines read one by one before the quick way is tried again."""

LOOK_ON = 2000
"""Lines after the first refused one whose form is still looked at."""

MOST_REFUSALS = 20
"""Lines reported after the first refusal; nothing is executed any more, only the form is looked at."""


class Refused(Struct, frozen=True):
    """A line that was not read: number from 1, its text, the reason, the rule."""

    line: int
    text: str
    reason: str
    rule: str


class Reading(Struct, frozen=True):
    """What a program does.

    ``moves`` and ``events`` reach to the first refused line. ``ended_at`` is the line of M2 or M30, 0 without one;
    ``after_end`` the first line with words after it, or 0. ``doubts`` are (line, code) of what is read by the rule but
    differently by some controls. ``deletable`` says whether a line begins with ``/``. ``zero`` names the zero that the
    program counts from, such as ``G54``; empty where it does not say.
    """

    moves: Moves
    events: tuple[Event, ...]
    refused: tuple[Refused, ...]
    doubts: tuple[tuple[int, str], ...]
    ended_at: int
    after_end: int
    line_count: int
    deletable: bool
    units: str | None
    zero: str = ""


def read_program(
    text: str, dialect: Dialect | None = None, *, skip_deletable: bool = False, quick: bool = True
) -> Reading:
    """Return what a program does, read by the published rules in the given dialect.

    Parameters
    ----------
    text : str
        Lines ended by ``\\n`` or ``\\r\\n``.
    dialect : Dialect, optional
        Only what the text itself cannot tell is taken from it: whether arc centres are absolute, how remarks are
        marked, and whether a stop after a T word is a change of tool.
    skip_deletable : bool
        Leave out lines that begin with ``/``, as a control does when its switch is on.
    quick : bool
        Take stretches of plain lines the quick way. The result is the same.

    Raises
    ------
    Nothing for bad programs: what is refused is in ``refused``.
    """
    return _Reader(text, dialect or Dialect(), skip_deletable=skip_deletable, quick=quick).read()


class _Reader:
    def __init__(self, text: str, dialect: Dialect, *, skip_deletable: bool, quick: bool) -> None:
        self.text = text if text.endswith("\n") or not text else text + "\n"
        self.machine = Interpreter(dialect)
        self.semicolons = dialect.comments == "semicolon"
        self.skip_deletable = skip_deletable
        self.quick = quick
        self.refused: list[Refused] = []
        self.deletable = False
        self.after_end = 0
        self.tape_marks = 0
        self.tape_ended = False
        self.number_seen = False

    def read(self) -> Reading:
        line_count = 0
        for chunk, first in self._chunks():
            line_count = first + self._read_chunk(chunk, first) - 1
        machine = self.machine
        return Reading(
            machine.columns.moves(),
            tuple(machine.events),
            tuple(self.refused),
            tuple(machine.doubts),
            machine.ended_at,
            self.after_end,
            line_count,
            self.deletable,
            machine.units,
            machine.zero,
        )

    def _chunks(self) -> Iterator[tuple[str, int]]:
        """Yield stretches of whole lines with the number of their first line."""
        at, line, size = 0, 1, len(self.text)
        while at < size:
            end = size if at + CHUNK >= size else self.text.rfind("\n", at, at + CHUNK) + 1
            if end <= at:  # one line longer than a chunk
                end = self.text.find("\n", at) + 1
            chunk = self.text[at:end]
            yield chunk, line
            line += chunk.count("\n")
            at = end

    def _read_chunk(self, chunk: str, first: int) -> int:
        """Read a stretch; return how many lines it has."""
        # A chunk longer than CHUNK is one endless line: it is refused by its length, not taken apart
        if not self.quick or len(chunk) < 16 * SHORTEST_STRETCH or len(chunk) > CHUNK:
            short = chunk.split("\n")[:-1]
            for k, line in enumerate(short):
                self._read_line(line, first + k)
            return len(short)
        # One byte a character: what is not Latin-1 becomes "?", which no plain line has. A line end of two characters
        # counts as a blank and a newline; a lone carriage return is left to the interpreter
        plain_ends = chunk.replace("\r\n", " \n")
        data = np.frombuffer(plain_ends.encode("latin-1", "replace"), np.uint8)
        ends = np.flatnonzero(data == ord("\n"))
        table = take_apart(data, ends)
        lines: list[str] = []
        count = len(ends)
        edges = np.flatnonzero(np.diff(table.plain.astype(np.int8), prepend=0, append=0)).reshape(-1, 2)
        at = 0
        for begin, end in edges[edges[:, 1] - edges[:, 0] >= SHORTEST_STRETCH]:
            lines = lines or chunk.split("\n")
            for k in range(at, begin):
                self._read_line(lines[k], first + k)
            at = self._read_stretch(table, int(begin), int(end), lines, first)
        lines = lines or chunk.split("\n")
        for k in range(at, count):
            self._read_line(lines[k], first + k)
        return count

    def _read_stretch(self, table: PlainLines, begin: int, end: int, lines: list[str], first: int) -> int:
        """Read plain lines; return the index after the last one read. A line that must be refused is left over."""
        at = begin
        by_line = 1  # grows while the quick way fails, so that it is not tried for every line of a long stretch
        while at < end:
            done = self._quick_moves(table, at, end, first)
            at += done
            by_line = 1 if done else min(by_line * 2, MOST_BY_LINE)
            for k in range(at, min(at + by_line, end)):  # what the arrays cannot run in this state
                self._read_line(lines[k], first + k)
            at = min(at + by_line, end)
        return end

    def _quick_moves(self, table: PlainLines, begin: int, end: int, first: int) -> int:
        """Add the moves of plain lines as arrays; return how many lines were taken."""
        machine = self.machine
        if (
            machine.incremental
            or machine.plane != 170
            or machine.ended_at
            or self.tape_ended
            or self.refused
            or machine.motion not in (None, 0, 10, 20, 30)
            or end - begin < SHORTEST_STRETCH
        ):
            return 0
        values = table.values[:, begin:end]
        moving = np.asarray(~np.isnan(values[X : Z + 1]).all(axis=0))
        motion = carried(values[G], -1.0 if machine.motion is None else machine.motion / 10)
        good = _straight_or_arc(values, motion, moving)
        count = len(good) if good.all() else int(np.argmin(good))
        if count < SHORTEST_STRETCH:
            return 0
        values, motion, moving = values[:, :count], motion[:count], moving[:count]
        scale = machine.scale
        place = np.empty((count + 1, 3))
        for axis in range(3):
            place[0, axis] = machine.place[axis]
            place[1:, axis] = carried(values[X + axis] * scale, machine.place[axis])
        feed = carried(values[F] * scale, machine.feed)
        center, bad = self._centers(values, motion, place, moving)
        if bad < count:
            if bad < SHORTEST_STRETCH:
                return 0
            count = bad
            values, motion, moving, feed, center = (
                values[:, :count],
                motion[:count],
                moving[:count],
                feed[:count],
                center[:count],
            )
        if not moving.any():
            return count
        pick = np.flatnonzero(moving)
        whole = len(pick) == count
        machine.columns.add_arrays(
            line_numbers(first + begin, moving),
            motion[pick].astype(np.uint8),
            place[:count] if whole else place[pick],
            place[1 : count + 1] if whole else place[pick + 1],
            center if whole else center[pick],
            feed if whole else feed[pick],
            machine.setup,
        )
        machine.place = [float(v) for v in place[count]]
        machine.feed = float(feed[-1])
        machine.motion = round(float(motion[count - 1]) * 10)
        machine.cycle = None
        machine.remark, machine.remark_closed = "", True
        return count

    def _centers(self, values: Floats, motion: Floats, place: Floats, moving: NDArray[np.bool_]) -> tuple[Floats, int]:
        """Return centres of arcs, nan elsewhere, and the first arc that the interpreter has to look at."""
        count = len(motion)
        center = np.full((count, 2), np.nan)
        arcs = np.flatnonzero((motion >= 2) & moving)
        if not len(arcs):
            return center, count
        machine = self.machine
        i, j = values[I][arcs] * machine.scale, values[J][arcs] * machine.scale
        start, end = place[arcs, :2], place[arcs + 1, :2]
        if machine.absolute_centers:
            middle = np.column_stack((i, j))
        else:
            middle = start + np.column_stack((np.nan_to_num(i), np.nan_to_num(j)))
        r0 = np.hypot(*(middle - start).T)
        r1 = np.hypot(*(middle - end).T)
        limit = RADIUS_MISMATCH["in" if machine.units == "in" else "mm"]
        fine = (np.abs(r0 - r1) <= limit) & (r0 > 1e-6)  # nan is not fine; what is close is left to the interpreter
        fine &= ~np.isnan(values[X][arcs]) | ~np.isnan(values[Y][arcs])
        center[arcs] = middle
        return center, count if fine.all() else int(arcs[np.argmin(fine)])

    def _read_line(self, line: str, number: int) -> None:
        if line.endswith("\r"):
            line = line[:-1]
        if self.tape_ended:
            if line.strip() and not self.after_end:
                self.after_end = number
            return
        if self.refused and (len(self.refused) >= MOST_REFUSALS or number > self.refused[0].line + LOOK_ON):
            return
        machine = self.machine
        try:
            block = read_block(line, semicolons=self.semicolons)
            if block.tape_mark:
                self.tape_marks += 1
                self.tape_ended = self.tape_marks > 1 or len(machine.columns) > 0 or machine.ended_at > 0
                return
            machine.doubts.extend((number, code) for code in block.doubts)
            if block.deletable:
                self.deletable = True
                if self.skip_deletable:
                    return
            if block.program_number:
                if self.number_seen or len(machine.columns) or machine.ended_at:
                    raise RefusedLineError(f"{block.program_number}: a program number belongs at the beginning, once")
                self.number_seen = True
                return
            if machine.ended_at:
                if not block.empty and not self.after_end:
                    self.after_end = number
                return
            if not self.refused:
                machine.execute(block, number)
        except RefusedLineError as refusal:
            self.refused.append(Refused(number, line, refusal.reason, refusal.rule))


def _straight_or_arc(values: Floats, motion: Floats, moving: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which lines the arrays can run: a motion is known, and centre words stand with arcs only."""
    centered = ~np.isnan(values[I]) | ~np.isnan(values[J])
    return np.asarray((motion >= 0) & (~centered | ((motion >= 2) & moving)) & ((motion < 2) | ~moving | centered))
