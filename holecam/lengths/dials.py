"""Turns and divisions of a handwheel dial, proved by multiplying back."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from holecam.errors import InputError
from holecam.lengths.rounding import exact, round_half_away

MOST_DIVISIONS = 1000
"""A dial with more marks than this cannot be read; the number is a mistake."""


LEAST_LEAD, GREATEST_LEAD = Fraction(1, 4), Fraction(50)
"""mm. Travel of one turn of a handwheel: fine screws have 0.5, a rack some 25; beyond these the unit is wrong."""


class Dial(Struct, frozen=True):
    """A handwheel dial: travel of one full turn, exact mm, and the number of marks on it."""

    lead: Fraction
    divisions: int

    def __post_init__(self) -> None:
        if self.lead <= 0:
            raise InputError(f"dial lead {float(self.lead)} mm: expected a length above zero")
        if not 1 <= self.divisions <= MOST_DIVISIONS:
            raise InputError(f"dial divisions {self.divisions}: expected 1 to {MOST_DIVISIONS}")

    @property
    def mark(self) -> Fraction:
        """Travel of one mark, exact mm."""
        return self.lead / self.divisions


class DialSetting(Struct, frozen=True):
    """Whole turns and marks from the zero, counted in the direction of travel.

    ``negative`` tells the direction; ``turns`` and ``marks`` are never negative. ``shows`` is the number on the dial:
    the marks when it was turned forward, and what is left of the turn when it was turned back.
    """

    negative: bool
    turns: int
    marks: int
    shows: int

    def text(self) -> str:
        """Return the setting as printed: ``+12 turns + 37, dial shows 37``."""
        sign = "\u2212" if self.negative else "+" if self.turns or self.marks else ""
        return f"{sign}{self.turns} turns + {self.marks}, dial shows {self.shows}"


def dial_setting(value: float | Fraction, dial: Dial) -> DialSetting:
    """Return turns and marks for a position ``value`` mm from the zero, rounded once to the nearest mark.

    >>> dial_setting(Fraction(254, 10), Dial(Fraction(1), 50)).text()      # 1 inch on a screw of 1 mm
    '+25 turns + 20, dial shows 20'
    """
    total = round_half_away(exact(value) / dial.mark)
    turns, marks = divmod(abs(total), dial.divisions)
    shows = marks if total >= 0 else (dial.divisions - marks) % dial.divisions
    return DialSetting(negative=total < 0, turns=turns, marks=marks, shows=shows)


def dial_travel(setting: DialSetting, dial: Dial) -> Fraction:
    """Return the exact travel, mm, of a setting: the proof by multiplying back."""
    travel = setting.turns * dial.lead + setting.marks * dial.mark
    return -travel if setting.negative else travel
