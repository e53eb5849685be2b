"""Rounding to a readout: ties away from zero on both sides, and increments that add up."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.lengths import counts, decimals_of, exact, increments, round_half_away, rounded

INCH = Fraction(254, 10)
RESOLUTIONS = st.sampled_from(
    [Fraction(5, 10_000) * INCH, Fraction(1, 10_000) * INCH, Fraction(5, 1000), Fraction(1, 1000), Fraction(1, 100)]
)
COORDINATES = st.floats(-3000, 3000, allow_nan=False)


@given(st.fractions(min_value=-10_000, max_value=10_000, max_denominator=1000))
def test_the_nearest_integer_and_the_greater_size_at_a_tie(value: Fraction) -> None:
    count = round_half_away(value)
    assert abs(count - value) <= Fraction(1, 2)
    if abs(count - value) == Fraction(1, 2):
        assert abs(count) > abs(value)


@given(st.fractions(min_value=-10_000, max_value=10_000, max_denominator=1000))
def test_a_mirrored_coordinate_gets_the_mirrored_reading(value: Fraction) -> None:
    assert round_half_away(-value) == -round_half_away(value)


@given(st.lists(COORDINATES, min_size=1, max_size=50), RESOLUTIONS, st.integers(-1000, 1000))
def test_increments_add_up_to_every_absolute(values: list[float], resolution: Fraction, start: int) -> None:
    moves = increments(values, resolution, start=start)
    absolutes = list(accumulate(moves, initial=start))[1:]
    assert absolutes == [counts(v, resolution) for v in values]
    assert start + sum(moves) == counts(values[-1], resolution)


@given(COORDINATES, RESOLUTIONS)
def test_rounding_twice_changes_nothing_and_stays_within_half_a_step(value: float, resolution: Fraction) -> None:
    once = rounded(value, resolution)
    assert rounded(once, resolution) == once
    assert rounded(float(once), resolution) == once
    assert abs(once - exact(value)) <= resolution / 2


@given(st.integers(-40_000, 40_000), st.integers(-3, 3))
def test_ties_survive_a_trip_through_float_millimetres(half_steps: int, ulps: int) -> None:
    """A coordinate half-way between two readings, as float64 and a few last digits off, still goes away from zero."""
    resolution = Fraction(5, 10_000) * INCH
    value = float(Fraction(2 * half_steps + 1, 2) * resolution)
    for _ in range(abs(ulps)):
        value = math.nextafter(value, math.copysign(math.inf, ulps))
    expected = half_steps + 1 if half_steps >= 0 else half_steps
    assert counts(value, resolution) == expected


def test_a_row_of_ten_spacers_does_not_carry_its_rounding() -> None:
    """Adding rounded pitches would be half a thou out at the tenth hole; absolutes are not."""
    pitch = Fraction(1, 3) * INCH
    resolution = Fraction(1, 1000) * INCH
    absolutes = [counts(i * pitch, resolution) for i in range(10)]
    assert absolutes[-1] == 3000
    assert 9 * counts(pitch, resolution) == 2997


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_lengths_that_are_not_finite_are_refused(value: float) -> None:
    with pytest.raises(InputError, match=r"length (nan|inf|-inf) mm: expected a finite number"):
        counts(value, Fraction(1, 1000))


@pytest.mark.parametrize("resolution", [Fraction(0), Fraction(-1, 1000)])
def test_a_resolution_has_to_be_above_zero(resolution: Fraction) -> None:
    with pytest.raises(InputError, match=r"resolution .* mm: expected a positive length"):
        counts(1.0, resolution)


@pytest.mark.parametrize(
    ("step", "decimals"),
    [(Fraction(1), 0), (Fraction(5, 1000), 3), (Fraction(5, 10_000), 4), (Fraction(1, 8), 3), (Fraction(1, 10**6), 6)],
)
def test_decimals_that_show_a_step(step: Fraction, decimals: int) -> None:
    assert decimals_of(step) == decimals


def test_a_step_of_a_third_has_no_decimals() -> None:
    with pytest.raises(InputError, match="step 1/3: expected a step that 6 decimals can show"):
        decimals_of(Fraction(1, 3))
