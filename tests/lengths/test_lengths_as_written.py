"""Lengths as people write them who have never read the rules: what is plain is taken, the rest gets its own advice."""

from __future__ import annotations

from fractions import Fraction

import pytest

from holecam.errors import InputError
from holecam.lengths import MM_PER_INCH, parse_length
from holecam.lengths.parsing import unit_named


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("4 millimetres", Fraction(4)),
        ("4.5 Millimeter", Fraction(9, 2)),
        ("\u00b3\u2044\u2081\u2086 in", Fraction(3, 16) * MM_PER_INCH),
        ("1\u00b3/\u2081\u2086 in", Fraction(19, 16) * MM_PER_INCH),
    ],
)
def test_what_is_plain_is_taken(text: str, mm: Fraction) -> None:
    assert parse_length(text, unit="mm") == mm


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("1,200", 'Write "1.200", or "1200" if the comma marks thousands.'),
        ("12,5", 'Write "12.5".'),
        ("0,187 in", 'Write "0.187 in".'),
        ("4 \u00b1 0.1", "how surely it is known stands under within"),
        ("4 +-0.1", "how surely it is known stands under within"),
        ("\u00d83", "Write the length without a sign in front"),
        ("R60", "Write the length without a sign in front"),
        ("3 dia", "Write the length alone"),
        ("16 swg", "write the thickness"),
        ("3 tenths", "such as 0.0003 in"),
        ("100 mm/min", "a feed is a length a minute"),
        ("1.1/4 in", 'Write "1-1/4 in".'),
        ("1/4-20", "reads like a thread"),
        ("M4", "reads like a thread"),
    ],
)
def test_the_advice_fits_the_mistake(text: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_length(text, unit="mm")
    assert hint in caught.value.message


@pytest.mark.parametrize(
    ("word", "unit"),
    [("in", "in"), ("Inch", "in"), ("inches", "in"), ("IN.", "in"), ("MM", "mm"), ("millimetre", "mm"), ("cm", None)],
)
def test_a_unit_by_any_of_its_names(word: str, unit: str | None) -> None:
    assert unit_named(word) == unit
