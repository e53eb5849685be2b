"""Chi-square and normal tails against printed tables and a reference library."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2, norm

from holecam.errors import InputError
from holecam.layout.reconciliation_statistics import (
    chi_square_tail,
    critical_value,
    findable_value,
    normal_two_sided,
)


@pytest.mark.outside_check(
    subject="error in a chain",
    source="Abramowitz and Stegun, table 26.8",
    closeness="2e-5 of the chance",
    standing="memory",
)
@pytest.mark.parametrize(
    ("value", "dof", "chance"),
    [  # Abramowitz and Stegun, table 26.8, percentage points of chi-square
        (3.84146, 1, 0.05),
        (6.63490, 1, 0.01),
        (5.99147, 2, 0.05),
        (11.3449, 3, 0.01),
        (18.3070, 10, 0.05),
        (29.5883, 10, 0.001),
        (43.7729, 30, 0.05),
        (124.342, 100, 0.05),
    ],
)
def test_chi_square_points_as_printed(value: float, dof: int, chance: float) -> None:
    assert chi_square_tail(value, dof) == pytest.approx(chance, rel=2e-5)


@pytest.mark.outside_check(
    subject="error in a chain",
    source="scipy: chi2",
    closeness="1e-10",
    standing="library",
)
@given(value=st.floats(0, 400), dof=st.integers(1, 300))
def test_chi_square_against_a_reference_library(value: float, dof: int) -> None:
    assert chi_square_tail(value, dof) == pytest.approx(float(chi2.sf(value, dof)), rel=1e-10, abs=1e-300)


def test_limits() -> None:
    assert chi_square_tail(0.0, 1) == 1.0
    assert chi_square_tail(0.0, 4) == 1.0
    assert chi_square_tail(math.inf, 3) == 0.0


@pytest.mark.outside_check(
    subject="error in a chain",
    source="Baarda 1968: 3.29 and 4.13; scipy: norm",
    closeness="0.005; 1e-6",
    standing="memory",
)
def test_critical_values_as_published() -> None:
    # Baarda 1968: 3.29 for 0.1 percent, 4.13 with a power of 80 percent
    assert critical_value() == pytest.approx(3.29, abs=0.005)
    assert findable_value() == pytest.approx(4.13, abs=0.005)
    assert critical_value(0.05) == pytest.approx(float(norm.isf(0.025)))
    assert normal_two_sided(-2.5) == pytest.approx(2 * float(norm.sf(2.5)))


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match="at least one"):
        chi_square_tail(1.0, 0)
    with pytest.raises(InputError, match="chi-square nan"):
        chi_square_tail(math.nan, 2)
    with pytest.raises(InputError, match="significance 1"):
        critical_value(1.0)
    with pytest.raises(InputError, match="power 0"):
        findable_value(0.001, 0.0)
