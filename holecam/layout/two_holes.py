"""Place a pattern from two holes that were found, and say by how much their distance misses the drawn one."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.patterns import COINCIDENT_HOLES, PatternPoints
from holecam.layout.placing import PlacedPattern, placed
from holecam.plan.reports import HoleResidual
from holecam.shapes import Placement, Point, direction_deg, distance

Hold = Literal["first", "second", "split"]
"""Which of the two holes lies exactly where it was found; ``split`` shares the misfit evenly between both."""


class TwoHoleFit(Struct, frozen=True):
    """A pattern placed on the line through two found holes.

    Spacing is as drawn; the misfit of the distance stays between the pattern and the hole that was not held.

    Parameters
    ----------
    placed : PlacedPattern
    drawn, measured : float
        Distance of the two holes in the pattern and as found, mm.
    difference : float
        Measured less drawn, mm: above zero when the found holes are too far apart.
    per_pitch : float or None
        The difference shared out over the pitches between the two holes of a row, mm; ``None`` where it is no row.
    hold : {"first", "second", "split"}
    residuals : tuple of HoleResidual
        For both holes: where the placed pattern has it, less where it was found.
    """

    placed: PlacedPattern
    drawn: float
    measured: float
    difference: float
    per_pitch: float | None
    hold: Hold
    residuals: tuple[HoleResidual, HoleResidual]


def place_from_two(
    pattern: PatternPoints,
    *,
    first: int,
    first_at: Point,
    second: int,
    second_at: Point,
    hold: Hold = "first",
    mirror: bool = False,
) -> TwoHoleFit:
    """Return the pattern with two of its holes on the line through the two places where they were found.

    Two holes cannot tell one hand from the other: ``mirror`` has to be asked for (the pattern's y becomes -y before).

    Raises
    ------
    InputError
        The same hole twice, or both found in one place.
    """
    if first == second:
        raise InputError(f"holes {first} and {second}: expected two different holes of the pattern")
    a, b = pattern.at(first), pattern.at(second)
    drawn, measured = distance(a, b), distance(first_at, second_at)
    if not measured > COINCIDENT_HOLES:
        raise InputError(
            f"holes {first} and {second} were both found at {first_at}: expected two places, {drawn:.3f} mm apart"
        )
    motion = line_up(a, b, first_at, second_at, hold=hold, mirror=mirror)
    result = placed(pattern, motion, reference={"first": first, "second": second}.get(hold))
    steps = pattern.pitches_between(first, second)
    return TwoHoleFit(
        placed=result,
        drawn=drawn,
        measured=measured,
        difference=measured - drawn,
        per_pitch=(measured - drawn) / steps if steps else None,
        hold=hold,
        residuals=(residual(first, result.at(first), first_at), residual(second, result.at(second), second_at)),
    )


def line_up(a: Point, b: Point, a_found: Point, b_found: Point, *, hold: Hold, mirror: bool = False) -> Placement:
    """Return the motion that lays the line from a to b on the line through the two found points.

    The held point comes out exactly; with ``split`` the middles fall together.
    """
    if hold not in ("first", "second", "split"):
        raise InputError(f'hold "{hold}": expected first, second or split')
    drawn_deg, found_deg = direction_deg(a, b), direction_deg(a_found, b_found)
    # A mirror takes x to -x: a direction of d degrees becomes 180 - d
    turn = found_deg - (180.0 - drawn_deg) if mirror else found_deg - drawn_deg
    if hold == "first":
        return Placement(turn, a_found, mirror, a)
    if hold == "second":
        return Placement(turn, b_found, mirror, b)
    return Placement(turn, _middle(a_found, b_found), mirror, _middle(a, b))


def steady_between(a: Point, b: Point, doubt_a: float, doubt_b: float) -> tuple[Point, float]:
    """Return the point of the line a to b whose place across the line is surest, and its standard doubt there, mm.

    At that point the doubt of the place and the doubt of the turn are independent. With equal doubts u it is the
    middle, with u / sqrt(2); a point without doubt is itself the steady one.
    """
    both = doubt_a * doubt_a + doubt_b * doubt_b
    if both == 0.0:
        return _middle(a, b), 0.0
    share = doubt_a * doubt_a / both
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])), doubt_a * doubt_b / math.sqrt(both)


def along_doubt(doubt_first: float, doubt_second: float, hold: Hold) -> float:
    """Return the standard doubt, mm, along the line of two holes: that of the held one, or of the middle."""
    return {"first": doubt_first, "second": doubt_second, "split": math.hypot(doubt_first, doubt_second) / 2.0}[hold]


def residual(hole: int, lies_at: Point, found_at: Point) -> HoleResidual:
    """Return where a hole lies less where it was found, mm."""
    dx, dy = lies_at[0] - found_at[0], lies_at[1] - found_at[1]
    return HoleResidual(hole, dx, dy, distance(lies_at, found_at))


def _middle(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
