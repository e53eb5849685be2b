"""Lengths as people write them: every form, exact values, and every message."""

from __future__ import annotations

import math
import unicodedata
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.lengths import EXAMPLES, MM_PER_INCH, MM_PER_UNIT, parse_length
from holecam.lengths.parsing import LONGEST_TEXT, MOST_DIGITS

INCH = Fraction(254, 10)  # exact since the international yard and pound agreement of 1959

FORMS = [
    # text, unit of a bare number, exact mm
    ("0.1875", "in", Fraction(3, 16) * INCH),
    ("3/16", "in", Fraction(3, 16) * INCH),
    ("1-7/32", "in", Fraction(39, 32) * INCH),
    ("1 7/32", "in", Fraction(39, 32) * INCH),
    ("1 - 7/32", "in", Fraction(39, 32) * INCH),
    ("1  7 / 32", "in", Fraction(39, 32) * INCH),
    ('0.187"', "mm", Fraction(187, 1000) * INCH),
    ('1-1/4"', "mm", Fraction(5, 4) * INCH),
    ("1-1/4 in", "mm", Fraction(5, 4) * INCH),
    ("1/4 inch", "mm", INCH / 4),
    ("2 inches", "mm", 2 * INCH),
    ("2 in.", "mm", 2 * INCH),
    ("12 thou", "mm", Fraction(12, 1000) * INCH),
    ("12thou", "mm", Fraction(12, 1000) * INCH),
    ("0.5 thou", "in", INCH / 2000),
    ("4.5 mm", "in", Fraction(9, 2)),
    ("4.5mm", "in", Fraction(9, 2)),
    ("4.5 MM", "in", Fraction(9, 2)),
    ("2 cm", "in", Fraction(20)),
    ("2.5cm", "in", Fraction(25)),
    ("4.5", "mm", Fraction(9, 2)),
    (".5", "mm", Fraction(1, 2)),
    ("4.", "mm", Fraction(4)),
    ("  7  ", "mm", Fraction(7)),
    ("-1-1/4", "in", Fraction(-5, 4) * INCH),
    ("-3/16", "in", Fraction(-3, 16) * INCH),
    ("+3/16", "in", Fraction(3, 16) * INCH),
    ("- 0.5", "mm", Fraction(-1, 2)),
    ("1½", "in", Fraction(3, 2) * INCH),
    ("1 ½", "in", Fraction(3, 2) * INCH),
    ("½", "in", INCH / 2),
    ("-½", "in", -INCH / 2),
    ("2⅜″", "mm", Fraction(19, 8) * INCH),
    ("⅝”", "mm", Fraction(5, 8) * INCH),
    ("1′′", "mm", INCH),
    ("3/16''", "mm", Fraction(3, 16) * INCH),
    ("3⁄16", "in", Fraction(3, 16) * INCH),  # fraction slash
    ("3∕16", "in", Fraction(3, 16) * INCH),  # division slash
    ("\u22120.5", "mm", Fraction(-1, 2)),  # minus sign
    ("1\u20137/32", "in", Fraction(39, 32) * INCH),  # en dash
    ("4.5\u00a0mm", "in", Fraction(9, 2)),  # no-break space
    ("4.5\u202fmm", "in", Fraction(9, 2)),
    ("0", "mm", Fraction(0)),
]


@pytest.mark.parametrize(("text", "unit", "expected"), FORMS)
def test_every_form_is_exact(text: str, unit: str, expected: Fraction) -> None:
    assert parse_length(text, unit=unit) == expected  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("number", "unit", "expected"),
    [
        (3, "mm", Fraction(3)),
        (0.1, "mm", Fraction(1, 10)),  # the shortest decimal text, not the binary neighbour
        (0.195, "in", Fraction(195, 1000) * INCH),
        (1e-3, "mm", Fraction(1, 1000)),
        (Fraction(3, 16), "in", Fraction(3, 16) * INCH),
        (-2, "in", -2 * INCH),
    ],
)
def test_numbers_take_the_stated_unit(number: float | Fraction, unit: str, expected: Fraction) -> None:
    assert parse_length(number, unit=unit) == expected  # type: ignore[arg-type]


@pytest.mark.outside_check(
    subject="lengths as written",
    source="Unicode database: numeric value of each fraction",
    closeness="exact",
    standing="published",
)
def test_every_vulgar_fraction_of_unicode_is_read_as_its_value() -> None:
    """The value in the Unicode database is the outside source."""
    found = 0
    for code in range(0x80, 0x2190):
        char = chr(code)
        if "VULGAR FRACTION" not in unicodedata.name(char, "") or "NUMERATOR" in unicodedata.name(char):
            continue
        if char == "↉":  # zero thirds: a sign for box scores, not for lengths, yet it has a value
            assert parse_length(char, unit="mm") == 0
            continue
        value = Fraction(unicodedata.numeric(char)).limit_denominator(10)
        assert parse_length(char, unit="in") == value * INCH
        assert parse_length(f"3{char}", unit="in") == (3 + value) * INCH
        found += 1
    assert found >= 18


@given(whole=st.integers(0, 200), top=st.integers(0, 127), bottom=st.integers(1, 128), minus=st.booleans())
def test_mixed_numbers_with_hyphen_space_and_sign_agree(whole: int, top: int, bottom: int, minus: bool) -> None:
    sign, value = ("-", -1) if minus else ("", 1)
    expected = value * (whole + Fraction(top, bottom)) * INCH
    for text in (f"{sign}{whole}-{top}/{bottom}", f"{sign}{whole} {top}/{bottom}", f"{sign} {whole} - {top}/{bottom}"):
        assert parse_length(text, unit="in") == expected


@given(st.decimals(min_value=-9999, max_value=9999, places=6, allow_nan=False, allow_infinity=False))
def test_decimals_are_exact_in_every_unit(value: object) -> None:
    text = f"{value:f}"
    for unit, factor in MM_PER_UNIT.items():
        assert parse_length(f"{text} {unit}", unit=None) == Fraction(text) * factor


@pytest.mark.outside_check(
    subject="lengths as written",
    source="the international inch of 1959",
    closeness="exact",
    standing="published",
)
def test_an_inch_is_exactly_25_4_mm() -> None:
    assert Fraction(254, 10) == MM_PER_INCH
    assert parse_length("1 in", unit=None) == Fraction(127, 5)
    assert parse_length("1000 thou", unit=None) == parse_length("1 in", unit=None)


REFUSED = [
    # text, unit, what the message has to say
    ("4,5 mm", "in", 'Write "4.5 mm".'),
    ("4,5", "mm", 'Write "4.5".'),
    ("1e3", "mm", "Write the number out, without a power of ten."),
    ("1/0", "in", "The number under the fraction bar is zero."),
    ("2-1/0", "in", "The number under the fraction bar is zero."),
    ("5 m", "mm", "Metres are not used here; write mm or cm."),
    ("5 metres", "mm", "Metres are not used here"),
    ("5 mil", "mm", 'write "thou" or "mm"'),
    ("5 mils", "mm", "A mil means a thousandth of an inch to some and a millimetre to others"),
    ("5 ft", "mm", "Feet are not used here; write inches."),
    ("5'", "mm", "Feet are not used here; write inches."),
    ("5′", "mm", "Feet are not used here; write inches."),
    ("5 um", "mm", "Write microns as thousandths of a millimetre, such as 0.005 mm."),
    ("5 µm", "mm", "Write microns"),
    ("5 micron", "mm", "Write microns"),
    ("5 furlong", "mm", 'The unit "furlong" is not known; the units are mm, cm, in, " and thou.'),
    ("5 mmm", "mm", 'The unit "mmm" is not known'),
    ("", "mm", EXAMPLES),
    ("abc", "mm", EXAMPLES),
    ("--5", "mm", EXAMPLES),
    ("1.2.3", "mm", EXAMPLES),
    ("1/2/3", "mm", EXAMPLES),
    ("0.5/2", "mm", EXAMPLES),
    ("nan", "mm", EXAMPLES),
    ("inf", "mm", EXAMPLES),
    ("five", "mm", EXAMPLES),
    ("5 mm 3", "mm", EXAMPLES),
    ("1,234.5", "mm", EXAMPLES),
    ("9" * (MOST_DIGITS + 1), "mm", f"A number has more than {MOST_DIGITS} digits."),
    ("0." + "1" * (MOST_DIGITS + 1), "mm", f"A number has more than {MOST_DIGITS} digits."),
    ("1" * (LONGEST_TEXT + 1), "mm", f"The text is longer than {LONGEST_TEXT} characters."),
]


@pytest.mark.parametrize(("text", "unit", "hint"), REFUSED)
def test_every_refusal_says_what_to_write(text: str, unit: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_length(text, unit=unit, key="holes.pitch")  # type: ignore[arg-type]
    message = str(caught.value)
    assert message.startswith(f'holes.pitch = "{text[:LONGEST_TEXT]}')
    assert f"expected {EXAMPLES}" in message
    assert hint in message
    assert caught.value.key == "holes.pitch"
    assert caught.value.expected == EXAMPLES


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_numbers_that_are_not_finite_are_refused(number: float) -> None:
    with pytest.raises(InputError, match=r"expected a length such as .* Give a finite number\."):
        parse_length(number, unit="mm")


@pytest.mark.parametrize("truth", [True, False])
def test_a_truth_value_is_no_length(truth: bool) -> None:
    with pytest.raises(InputError, match=r"Give a number with its unit in quotes\."):
        parse_length(truth, unit="mm")


def test_a_bare_number_without_a_stated_unit_is_refused() -> None:
    with pytest.raises(InputError, match=r'A bare number has no unit here; write "3/16 mm" or "3/16 in"\.'):
        parse_length("3/16", unit=None)
    with pytest.raises(InputError, match=r'write "4\.5 mm" or "4\.5 in"'):
        parse_length(4.5, unit=None)


@given(st.text(max_size=30))
def test_any_text_gives_a_length_or_a_clear_refusal(text: str) -> None:
    try:
        found: Fraction | str = parse_length(text, unit="mm")
    except InputError as error:
        found = str(error)
    assert isinstance(found, Fraction) or EXAMPLES in found
