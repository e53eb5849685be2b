"""Rounding for programs: once, half away from zero, never below a guarded height."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from holecam.lengths import counts
from holecam.plan.motions import Dialect
from holecam.program.grid import Grid

MM, INCH = Dialect(), Dialect(unit="in")
LENGTHS = st.floats(-2000, 2000, allow_nan=False)


@given(LENGTHS, st.sampled_from([MM, INCH, Dialect(decimals=2), Dialect(unit="in", decimals=6)]))
def test_the_quick_rounding_is_the_exact_one(value: float, dialect: Dialect) -> None:
    grid = Grid(dialect)
    assert grid.count(value) == counts(value, grid.step_exact)


def test_ties_go_away_from_zero_in_inches() -> None:
    """Odd 32nds fall half-way between two readings of 0.0001 in (0.03125): a printf of the float rounds some down."""
    for sixteenths in range(1, 32, 2):
        exact = Fraction(sixteenths, 32) * Fraction(254, 10)
        grid = Grid(INCH)
        away = -(-(sixteenths * 10_000) // 32) if (sixteenths * 10_000) % 32 else sixteenths * 10_000 // 32
        assert grid.count(float(exact)) == away
        assert grid.count(-float(exact)) == -away


@given(st.floats(-50, 50, allow_nan=False), st.lists(st.floats(-50, 50, allow_nan=False), max_size=4))
def test_a_height_is_never_rounded_below_a_guarded_one(z: float, guarded: list[float]) -> None:
    for dialect in (MM, INCH):
        grid = Grid(dialect, tuple(guarded))
        written = grid.z_count(z) * grid.step_exact
        for guard in guarded:
            if z >= guard:
                assert written >= Fraction(guard).limit_denominator(10**9) - Fraction(1, 10**8)
        assert abs(float(written) - z) <= grid.step * (1 + 1e-6), "rounded by one step at most"


def test_a_floor_between_two_steps_is_kept() -> None:
    """Floor -1.55045 mm: the nearest thousandth, -1.550, lies above it; -1.5504 would be written -1.550 in any case."""
    grid = Grid(Dialect(decimals=2), (-1.5549,))
    assert grid.text(grid.z_count(-1.5549)) == "-1.55"
    assert grid.text(Grid(Dialect(decimals=2)).z_count(-1.5551)) == "-1.56"
    assert grid.text(Grid(Dialect(decimals=2), (-1.5559,)).z_count(-1.5555)) == "-1.55"


def test_numbers_have_all_decimals_and_no_minus_zero() -> None:
    for value, text in [(-0.0004, "0.000"), (-0.0005, "-0.001"), (12.7, "12.700"), (-3.0, "-3.000")]:
        grid = Grid(MM)
        assert grid.text(grid.count(value)) == text


def test_a_height_is_raised_only_where_rounding_would_pass_the_guard() -> None:
    for guard, z, count in [
        (-1.55, -1.5497, -1550), (-1.55, -1.55, -1550), (-1.5502, -1.5501, -1550), (-1.5508, -1.5507, -1550),
        (-1.5508, -1.5509, -1551), (-1.5508, -1.5508, -1550), (-1.5512, -1.5507, -1551), (1.5508, 1.551, 1551),
        (1.5514, 1.5514, 1552), (1.5514, 1.5513, 1551), (-1.551, -1.5507, -1551),
    ]:  # fmt: skip
        assert Grid(MM, (guard,)).z_count(z) == count
        assert Grid(MM, (-9.0, guard, 7.0)).z_count(z) == count
        assert Grid(MM).z_count(z) == round(z * 1000)


def test_counts_of_lengths_by_hand() -> None:
    grid = Grid(MM)
    assert [grid.count(v) for v in (0.0, 0.0004, 0.0006, -0.0004, -0.0006, 12.3456, -12.3454)] == [
        0, 0, 1, 0, -1, 12346, -12345,
    ]  # fmt: skip
    assert [Grid(INCH).count(v) for v in (25.4, -12.7, 0.00254, 0.0012)] == [10000, -5000, 1, 0]
    assert (grid.mm(-1500), Grid(INCH).mm(5000)) == (-1.5, 12.7)
    assert grid.count(2.5e6) == 2_500_000_000, "far beyond any machine the exact rule counts"
    assert [Grid(INCH).text(c) for c in (625, -625, -10000, 3)] == ["0.0625", "-0.0625", "-1.0000", "0.0003"]
