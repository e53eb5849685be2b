"""Lengths on the way out: decimals, 64ths with the remainder, thou, and reading back what was printed."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.lengths import (
    MM_PER_INCH,
    MM_PER_UNIT,
    Unit,
    decimal_text,
    exact,
    fraction_text,
    length_text,
    nearest_fraction,
    number_in,
    parse_length,
    reading_text,
    round_half_away,
    thou_text,
)

INCH = Fraction(254, 10)

SHOP_LENGTHS = st.fractions(min_value=-2000, max_value=2000, max_denominator=10**6)
UNITS = st.sampled_from(["in", "mm"])


@given(SHOP_LENGTHS, UNITS, st.integers(0, 6))
def test_what_was_printed_reads_back_as_itself(value: Fraction, unit: Unit, decimals: int) -> None:
    """parse(print(x)) is x, x being what the printed resolution can show."""
    step = MM_PER_UNIT[unit] / 10**decimals
    shown = round_half_away(value / step) * step
    text = length_text(value, unit, decimals=decimals)
    assert parse_length(text, unit=None) == shown
    assert length_text(shown, unit, decimals=decimals) == text
    assert parse_length(number_in(value, unit, decimals=decimals, signed=True), unit=unit) == shown


@given(SHOP_LENGTHS, st.integers(0, 6))
def test_decimals_agree_with_the_decimal_library(value: Fraction, decimals: int) -> None:
    """Decimal's ROUND_HALF_UP means away from zero at ties; fine digits make the division exact enough to decide."""
    near = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(near) != value:  # not exact in 28 digits: ties cannot occur, rounding is safe either way
        assert (value * 10**decimals * 2).denominator != 1
    rounded = near.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    assert decimal_text(value, decimals) == f"{abs(rounded) if rounded == 0 else rounded:.{decimals}f}"


@pytest.mark.parametrize("sixty_fourths", range(1, 65))
def test_64ths_print_as_the_decimal_equivalents_of_every_shop_chart(sixty_fourths: int) -> None:
    """Decimal equivalents have six exact digits; to four they round half away (1/32 is 0.0313, not 0.0312)."""
    value = Fraction(sixty_fourths, 64) * INCH
    assert number_in(value, "in", decimals=6) == f"{sixty_fourths / 64:.6f}"
    by_hand = (sixty_fourths * 10_000 * 2 + 64) // 128
    assert number_in(value, "in", decimals=4) == f"{by_hand // 10_000}.{by_hand % 10_000:04d}"


def test_eight_32nds_that_half_to_even_would_print_one_digit_low() -> None:
    texts = [number_in(Fraction(k, 32) * INCH, "in") for k in (1, 5, 9, 13, 17, 21, 25, 29)]
    assert texts == ["0.0313", "0.1563", "0.2813", "0.4063", "0.5313", "0.6563", "0.7813", "0.9063"]


def test_a_tie_that_went_through_millimetres_still_rounds_away() -> None:
    """3/32 in is 2.38125 mm, which float64 holds a hair low."""
    assert number_in(2.38125, "in") == "0.0938"
    assert number_in(-2.38125, "in") == "-0.0938"


@given(st.integers(-64 * 40, 64 * 40))
def test_fractions_of_an_inch_print_and_read_back(count: int) -> None:
    value = Fraction(count, 64) * INCH
    text = fraction_text(value)
    assert parse_length(text, unit=None) == value
    assert float(value) == pytest.approx(float(parse_length(fraction_text(float(value)), unit=None)), abs=1e-9)


@given(SHOP_LENGTHS, st.sampled_from([8, 16, 32, 64]))
def test_fraction_and_remainder_add_up(value: Fraction, denominator: int) -> None:
    near, rest = nearest_fraction(value, denominator=denominator)
    assert (near + rest) * MM_PER_INCH == value
    assert abs(rest) <= Fraction(1, 2 * denominator)
    assert (near * denominator).denominator == 1


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(0), "0 in"),
        (INCH, "1 in"),
        (INCH / 64, "1/64 in"),
        (-INCH / 2, "-1/2 in"),
        (Fraction(-39, 32) * INCH, "-1-7/32 in"),
        (Fraction(9, 2), "11/64 in + 0.0053"),
        (Fraction(-9, 2), "-11/64 in - 0.0053"),
        (Fraction(3), "1/8 in - 0.0069"),
        (INCH + Fraction(1, 10**7), "1 in"),
    ],
)
def test_fraction_texts(value: Fraction, text: str) -> None:
    assert fraction_text(value) == text


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "text"),
    [
        (Fraction(-1, 10**9), 3, True, "0.000"),
        (Fraction(-1, 2000), 3, False, "-0.001"),
        (Fraction(1, 2000), 3, True, "+0.001"),
        (Fraction(5, 2), 0, False, "3"),
        (Fraction(-5, 2), 0, True, "-3"),
        (Fraction(1999, 1000), 2, False, "2.00"),
    ],
)
def test_signs_ties_and_no_minus_zero(value: Fraction, decimals: int, signed: bool, text: str) -> None:
    assert decimal_text(value, decimals, signed=signed) == text


@given(st.integers(-200_000, 200_000))
def test_readings_show_the_step_they_have(count: int) -> None:
    step = Fraction(5, 10_000) * INCH
    text = reading_text(count, step, "in")
    assert parse_length(text, unit="in") == count * step
    assert len(text.split(".")[1]) == 4
    assert text.startswith("+" if count > 0 else "-" if count < 0 else "0")


def test_thou_and_units() -> None:
    assert thou_text(Fraction(12, 1000) * INCH) == "12.0 thou"
    assert thou_text(0.0127, decimals=2) == "0.50 thou"
    assert length_text(0.0, "in") == "0.0000 in"
    assert length_text(-0.0004, "mm") == "0.000 mm"


def test_a_readout_step_that_needs_too_many_decimals_is_refused() -> None:
    with pytest.raises(InputError, match=r"expected a step that 6 decimals can show, such as 0\.0005 in or 0\.005 mm"):
        reading_text(1, Fraction(1, 3), "mm")


def test_a_denominator_below_one_is_refused() -> None:
    with pytest.raises(InputError, match="denominator 0: expected 1 or more"):
        nearest_fraction(1.0, denominator=0)


def test_snapping_is_finer_than_any_readout_and_coarser_than_noise() -> None:
    assert exact(0.1 + 0.2) == Fraction(3, 10)
    assert exact(0.3001) == Fraction(3001, 10_000)
