"""A short account of what a program does: box, deepest point, lengths, time, tools, stops."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from holecam.program.check_context import CheckContext
from holecam.program.moves import EventKind
from holecam.program.paths import lengths
from holecam.program.program_findings import Place
from holecam.shapes.curve_arrays import distinct


class ToolAccount(Struct, frozen=True):
    """What one tool does: lengths in mm, ``minutes`` at feed, range of speeds in rpm (0 where none is stated)."""

    number: int
    name: str
    cutting: float
    minutes: float
    slowest_rpm: float
    fastest_rpm: float
    deepest: float | None


class StopAccount(Struct, frozen=True):
    """A stop: its line, its remark, whether it depends on the switch."""

    line: int
    text: str
    optional: bool


class ProgramAccount(Struct, frozen=True):
    """What a program does.

    ``least`` and ``greatest`` are corners of the box round all known positions of the tip, mm; ``None`` without moves.
    ``deepest`` is the lowest tip with its line. ``cutting`` is the length at feed, ``rapid`` by rapid, mm;
    ``cutting_minutes`` at the stated feeds and ``dwell_seconds`` as stated. Rapids take time that depends on the
    machine; it is not in.
    """

    units: str | None
    line_count: int
    move_count: int
    least: Place | None
    greatest: Place | None
    deepest: Place | None
    deepest_line: int
    cutting: float
    rapid: float
    cutting_minutes: float
    dwell_seconds: float
    tools: tuple[ToolAccount, ...]
    stops: tuple[StopAccount, ...]


def make_account(context: CheckContext, units: str | None, line_count: int) -> ProgramAccount:
    """Return the account of a program."""
    moves = context.moves
    length = np.nan_to_num(lengths(moves))
    feeds = context.feeds
    with np.errstate(invalid="ignore", divide="ignore"):
        minutes = np.where(feeds & (moves.feed > 0), length / moves.feed, 0.0)
    least = greatest = deepest = None
    line = 0
    known = ~np.isnan(context.low[:, 2])
    if known.any():
        least = _corner(context.low, np.min)
        greatest = _corner(context.high, np.max)
        index = int(np.flatnonzero(known)[np.argmin(context.low[known, 2])])
        x, y, _ = context.place(index)
        deepest, line = (x, y, float(context.low[index, 2])), context.line(index)
    stops = tuple(
        StopAccount(e.line, e.text, e.kind is EventKind.OPTIONAL_STOP)
        for e in context.events
        if e.kind in (EventKind.STOP, EventKind.OPTIONAL_STOP)
    )
    return ProgramAccount(
        units,
        line_count,
        len(moves),
        least,
        greatest,
        deepest,
        line,
        float(length[feeds].sum()),
        float(length[~feeds].sum()),
        float(minutes.sum()),
        sum(e.number for e in context.events if e.kind is EventKind.DWELL),
        _tools(context, length, minutes),
        stops,
    )


def _corner(points: np.ndarray, choose) -> Place:  # type: ignore[no-untyped-def]
    values = [points[~np.isnan(points[:, axis]), axis] for axis in range(3)]
    x, y, z = (float(choose(v)) if len(v) else float("nan") for v in values)
    return (x, y, z)


def _tools(context: CheckContext, length: np.ndarray, minutes: np.ndarray) -> tuple[ToolAccount, ...]:
    moves = context.moves
    rows = []
    for number in context.tools_used:
        mine = (context.tool_numbers == number) & context.feeds
        used = distinct(moves.setup[mine])
        speeds = [moves.setups[int(s)].rpm or 0.0 for s in used if moves.setups[int(s)].spindle]
        tool = context.tools.get(number)
        low = context.low[mine, 2]
        low = low[~np.isnan(low)]
        rows.append(
            ToolAccount(
                number,
                tool.name if tool else "",
                float(length[mine].sum()),
                float(minutes[mine].sum()),
                min(speeds, default=0.0),
                max(speeds, default=0.0),
                float(low.min()) if len(low) else None,
            )
        )
    return tuple(rows)
