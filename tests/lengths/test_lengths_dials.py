"""Dial turns: every setting multiplied back, and what the dial shows when it is turned back past its zero."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.lengths import exact
from holecam.lengths.dials import Dial, dial_setting, dial_travel

INCH = Fraction(254, 10)

DIALS = st.sampled_from(
    [
        Dial(INCH / 10, 100),
        Dial(INCH / 5, 200),
        Dial(INCH / 20, 50),
        Dial(Fraction(5), 250),
        Dial(Fraction(2), 40),
        Dial(Fraction(1), 50),
        Dial(INCH / 8, 125),
    ]
)


@given(st.floats(-2000, 2000), DIALS)
def test_turns_and_marks_multiply_back_to_the_nearest_mark(value: float, dial: Dial) -> None:
    setting = dial_setting(value, dial)
    assert abs(dial_travel(setting, dial) - exact(value)) <= dial.mark / 2
    assert 0 <= setting.marks < dial.divisions
    assert setting.turns >= 0


@given(st.integers(-100_000, 100_000), DIALS)
def test_the_number_on_the_dial_is_where_the_screw_stands_within_its_turn(marks: int, dial: Dial) -> None:
    """A dial turned back three marks from zero shows three marks less than a full turn."""
    setting = dial_setting(marks * dial.mark, dial)
    assert setting.shows == marks % dial.divisions
    assert dial_travel(setting, dial) == marks * dial.mark


@pytest.mark.outside_check(
    subject="dial turns",
    source="25.4 turns of a screw of 1 mm make an inch",
    closeness="exact",
    standing="mathematics",
)
def test_one_inch_on_a_metric_screw() -> None:
    """A table that was published gave 20 turns and 8 marks for an inch on a screw of 1 mm; 25.4 mm are 25 turns."""
    setting = dial_setting(INCH, Dial(Fraction(1), 20))
    assert (setting.turns, setting.marks) == (25, 8)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(12) * 5 + Fraction(37, 50), "+12 turns + 37, dial shows 37"),
        (Fraction(0), "0 turns + 0, dial shows 0"),
        (Fraction(-1, 50), "\u22120 turns + 1, dial shows 249"),
        (Fraction(-5), "\u22121 turns + 0, dial shows 0"),
    ],
)
def test_the_printed_setting(value: Fraction, text: str) -> None:
    assert dial_setting(value, Dial(Fraction(5), 250)).text() == text


@pytest.mark.parametrize(
    ("lead", "divisions", "message"),
    [
        (Fraction(0), 100, r"dial lead 0\.0 mm: expected a length above zero"),
        (Fraction(-1), 100, r"dial lead -1\.0 mm: expected a length above zero"),
        (Fraction(1), 0, "dial divisions 0: expected 1 to 1000"),
        (Fraction(1), 1001, "dial divisions 1001: expected 1 to 1000"),
    ],
)
def test_impossible_dials_are_refused(lead: Fraction, divisions: int, message: str) -> None:
    with pytest.raises(InputError, match=message):
        Dial(lead, divisions)
