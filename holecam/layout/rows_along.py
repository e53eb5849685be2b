"""Rows of holes along an edge or a line of segments and arcs, at a distance to one side."""

from __future__ import annotations

import math
from collections.abc import Sequence

from holecam.errors import InputError
from holecam.layout.patterns import PatternPoints, check_count, check_pitch
from holecam.shapes import Curve
from holecam.shapes.offset import chain_length, offset_line, point_along

FITS_WITHIN = 1e-6
"""mm. A hole may lie past the end of the line by this much: noise of lengths along arcs."""


def row_along(
    curves: Sequence[Curve],
    *,
    offset: float = 0.0,
    pitch: float | None = None,
    count: int | None = None,
    start: float = 0.0,
    end: float = 0.0,
    closed: bool = False,
) -> PatternPoints:
    """Return holes along the line beside a chain of curves; the frame is the one of the curves.

    The line of the holes lies at the offset from every part of the chain: round an outer corner it swings about the
    corner, into an inner corner it is cut short. All distances are measured along this line of the holes.

    Parameters
    ----------
    curves : sequence of Segment or Arc
        Each starts where the one before ended.
    offset : float
        mm to the left of the direction of travel, negative to the right; 0 puts the holes on the chain itself. Going
        anticlockwise round a part its inside is on the left.
    pitch : float, optional
        From hole to hole along the line. Without a count as many holes as fit.
    count : int, optional
        How many holes. Without a pitch they are spread evenly: from ``start`` to ``end`` on an open line, a single
        one at ``start``; all the way round on a closed one.
    start : float
        From the beginning of the line of holes to hole 1.
    end : float
        What stays free at the far end; with it a closed line is treated as an open one.
    closed : bool
        The chain ends where it began.

    Raises
    ------
    InputError
        Neither pitch nor count, no room for the offset or the holes, a line that falls apart.
    """
    what = "row along a line"
    if pitch is None and count is None:
        raise InputError(f"{what}: expected a pitch or a count, or both")
    for name, value in (("start", start), ("end", end)):
        if not (value >= 0.0 and math.isfinite(value)):
            raise InputError(f"{what}: {name} {value:g} mm: expected 0 or more", key=name, value=f"{value:g}")
    pieces = offset_line(curves, offset, closed=closed)
    if not pieces:
        raise InputError(f"{what}: no room for a line {abs(offset):g} mm beside it; expected a smaller offset")
    if len(pieces) > 1:
        raise InputError(
            f"{what}: {abs(offset):g} mm beside it the line falls apart into {len(pieces)} pieces; expected one. Use a "
            "smaller offset, or give each piece a row of its own."
        )
    length = chain_length(pieces[0])
    round_about = closed and end == 0.0
    ways = _ways(length, pitch, count, start, end, what, round_about=round_about)
    return PatternPoints(
        points=tuple(point_along(pieces[0], way % length if round_about else way) for way in ways),
        numbers=tuple(range(1, len(ways) + 1)),
        kind=what,
        origin="as the line was given",
        numbering="along the line from its beginning",
        places=tuple(f"{way:.3f} mm along the line" for way in ways),
    )


def _ways(
    length: float, pitch: float | None, count: int | None, start: float, end: float, what: str, *, round_about: bool
) -> list[float]:
    """Return how far along the line of holes each hole lies, mm."""
    room = length if round_about else length - start - end
    if room < -FITS_WITHIN or start > length + FITS_WITHIN:
        raise InputError(
            f"{what}: {start:g} mm at the start and {end:g} mm at the end: expected less than the line, {length:.3f} mm"
        )
    if count is not None:
        check_count(count, what)
    if pitch is None:
        spread = count or 1
        steps = spread if round_about else max(spread - 1, 1)
        return [start + i * room / steps for i in range(spread)]
    check_pitch(pitch, what)
    fitting = math.floor((room + FITS_WITHIN) / pitch) + (0 if round_about else 1)
    if round_about:
        fitting = max(fitting, 1)
    if count is not None and count > fitting:
        needed = pitch * (count if round_about else count - 1)
        raise InputError(
            f"{what}: {count} holes at a pitch of {pitch:g} mm need {needed:.3f} mm; the line has {room:.3f} mm. "
            f"Expected at most {fitting} holes.",
            key="count",
            value=str(count),
        )
    chosen = check_count(fitting if count is None else count, what)
    return [start + i * pitch for i in range(chosen)]
