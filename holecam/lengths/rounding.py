"""Round a length once, on the way out, to what a readout, a dial or a program can show.

Ties go away from zero, on both sides of it, so that a mirrored part gets mirrored readings. A length that went
through millimetres may miss its tie by a hair (3/32 in does); it is snapped to a grid a million times finer than any
readout before the rounding.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache

from holecam.errors import InputError

SNAP = Fraction(1, 10**9)
"""mm. Arithmetic noise of a shop-sized float64 coordinate is below 1e-12 mm; the finest readout is 1e-4 mm."""

DECIMALS_OF_RESOLUTION = 6
"""A readout that would need more decimals than this is a mistake."""


def round_half_away(value: Fraction) -> int:
    """Return the nearest integer; a tie goes away from zero."""
    return _nearest(value.numerator, value.denominator)


def _nearest(top: int, bottom: int) -> int:
    """Return the nearest integer to a quotient, a tie away from zero: whole numbers alone, ten times as quick."""
    count = (2 * abs(top) + bottom) // (2 * bottom)
    return -count if top < 0 else count


def exact(value: float | Fraction) -> Fraction:
    """Return a length in mm as a fraction, floats snapped to the arithmetic grid.

    Raises
    ------
    InputError
        The value is not finite.
    """
    if isinstance(value, Fraction):
        return value
    if not math.isfinite(value):
        raise InputError(f"length {value} mm: expected a finite number")
    # Whole numbers instead of fractions: a sheet of a thousand holes rounds some ten thousand lengths
    top, bottom = value.as_integer_ratio()
    steps = (2 * abs(top) * SNAP.denominator + bottom) // (2 * bottom)
    return Fraction(-steps if top < 0 else steps, SNAP.denominator)


def counts(value: float | Fraction, resolution: Fraction) -> int:
    """Return how many steps of the resolution the length is, rounded half away from zero.

    Both in mm. The count times the resolution is what the readout shows; differences of counts are exact, so
    incremental moves always add up to the last absolute reading.

    >>> counts(2.38125, Fraction(254, 10) / 2000)          # 3/32 in on a readout of 0.0005 in
    188
    """
    if resolution <= 0:
        raise InputError(f"resolution {float(resolution)} mm: expected a positive length")
    length = exact(value)
    return _nearest(length.numerator * resolution.denominator, length.denominator * resolution.numerator)


def rounded(value: float | Fraction, resolution: Fraction) -> Fraction:
    """Return the length in exact mm as the readout can show it."""
    return counts(value, resolution) * resolution


def increments(absolutes: Sequence[float | Fraction], resolution: Fraction, *, start: int = 0) -> list[int]:
    """Return the moves between rounded absolutes, in counts; ``start`` plus their sum is the last absolute."""
    moves, before = [], start
    for value in absolutes:
        here = counts(value, resolution)
        moves.append(here - before)
        before = here
    return moves


@lru_cache(maxsize=64)
def decimals_of(step: Fraction) -> int:
    """Return how many decimals show every multiple of ``step`` exactly (0.0005 needs 4), at most six.

    Raises
    ------
    InputError
        No such number of decimals is enough (1/3 needs infinitely many).
    """
    for decimals in range(DECIMALS_OF_RESOLUTION + 1):
        if (step * 10**decimals).denominator == 1:
            return decimals
    raise InputError(
        f"step {step}: expected a step that {DECIMALS_OF_RESOLUTION} decimals can show, such as 0.0005 in or 0.005 mm"
    )
