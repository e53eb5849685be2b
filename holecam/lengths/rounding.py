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

STEPS_OF_GRID = 10**9
SNAP = Fraction(1, STEPS_OF_GRID)
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


def _snapped(value: float) -> int:
    """Return a length in whole steps of the arithmetic grid, by whole numbers alone: sheets round many thousands."""
    if not math.isfinite(value):
        raise InputError(f"length {value} mm: expected a finite number")
    top, bottom = value.as_integer_ratio()
    return _nearest(top * STEPS_OF_GRID, bottom)


def exact(value: float | Fraction) -> Fraction:
    """Return a length in mm as a fraction, floats snapped to the arithmetic grid.

    Raises
    ------
    InputError
        The value is not finite.
    """
    return value if isinstance(value, Fraction) else Fraction(_snapped(value), STEPS_OF_GRID)


def counts(value: float | Fraction, resolution: Fraction) -> int:
    """Return how many steps of the resolution the length is, rounded half away from zero.

    Both in mm. The count times the resolution is what the readout shows; differences of counts are exact, so
    incremental moves always add up to the last absolute reading.

    >>> counts(2.38125, Fraction(254, 10) / 2000)          # 3/32 in on a readout of 0.0005 in
    188
    """
    step, parts = resolution.numerator, resolution.denominator
    if step <= 0:
        raise InputError(f"resolution {float(resolution)} mm: expected a positive length")
    if isinstance(value, float):
        return _nearest(_snapped(value) * parts, STEPS_OF_GRID * step)
    length = exact(value)
    return _nearest(length.numerator * parts, length.denominator * step)


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
