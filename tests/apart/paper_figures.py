"""Figures as a paper has to say them, computed and written apart: readings, lengths, dials, whole turns that pass."""

from __future__ import annotations

from fractions import Fraction

from layout_model import shown
from paper_jobs import UNIT_MM, Dial

_LENGTH_DECIMALS = {"in": 4, "mm": 3}
"""Decimals of a length that is no reading."""

MOST_TURNS = 40
"""More whole turns than this are told by fives."""

_OF_NOISE = Fraction(1, 10**9)


def _exact(value: float) -> Fraction:
    return Fraction(round(Fraction(value) / _OF_NOISE)) * _OF_NOISE


def _written(value: Fraction, decimals: int, *, signed: bool) -> str:
    whole = int(abs(value) * 10**decimals)
    digits = str(whole).rjust(decimals + 1, "0")
    sign = "-" if value < 0 and whole else "+" if signed and whole else ""
    return sign + digits[: len(digits) - decimals] + ("." + digits[len(digits) - decimals :] if decimals else "")


def decimals_of(step: Fraction) -> int:
    """Return how many decimals a step needs."""
    return next(n for n in range(7) if (step * 10**n).denominator == 1)


def reading(value: float, step: Fraction, unit: str, *, signed: bool = True) -> str:
    """Return a position, mm, as a readout of this step shows it."""
    return _written(shown(value, step) / UNIT_MM[unit], decimals_of(step / UNIT_MM[unit]), signed=signed)


def move(before: float, now: float, step: Fraction, unit: str) -> str:
    """Return the move between two positions as a readout shows it: the difference of what it showed."""
    moved = shown(now, step) - shown(before, step)
    return _written(moved / UNIT_MM[unit], decimals_of(step / UNIT_MM[unit]), signed=True)


def number(value: float, unit: str) -> str:
    """Return a length, mm, that is no reading, without its unit."""
    decimals = _LENGTH_DECIMALS[unit]
    return _written(shown(value, UNIT_MM[unit] / 10**decimals) / UNIT_MM[unit], decimals, signed=False)


def length(value: float, unit: str) -> str:
    """Return a length, mm, that is no reading."""
    return f"{number(value, unit)} {unit}"


def marks(value: float, dial: Dial) -> int:
    """Return the whole marks from zero to a position, mm, half a mark away from nought."""
    count = _exact(value) * dial.marks / dial.lead
    nearest = (2 * abs(count.numerator) + count.denominator) // (2 * count.denominator)
    return -nearest if count < 0 else nearest


def dialled(count: int, dial: Dial) -> tuple[str, int, int, int]:
    """Return sign, whole turns and marks from zero, and what the dial shows there."""
    turns, rest = divmod(abs(count), dial.marks)
    return ("-" if count < 0 else "+" if count else "", turns, rest, count % dial.marks)


def turns_passed(before: int, now: int, dial: Dial) -> str:
    """Return the whole turns at which the dial's zero goes by, in their order, where it ends included."""
    going = 1 if now > before else -1
    passed = [n // dial.marks for n in range(before + going, now + going, going) if n % dial.marks == 0]
    if len(passed) > MOST_TURNS:
        passed = [n for n in passed if n % 5 == 0 or n == passed[-1]]
    return " ".join(str(n) for n in passed)
