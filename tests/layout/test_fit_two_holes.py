"""Two found holes: the misfit of their distance is told, held on one side or split, and never hidden."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.grids import grid
from holecam.layout.patterns import free_points, line
from holecam.layout.two_holes import along_doubt, place_from_two, steady_between
from holecam.shapes import Placement, Point, direction_deg, distance, half_turn_range

SHOP = st.floats(-500, 500)
POINTS = st.tuples(SHOP, SHOP)
NOISE = 1e-9


@given(st.integers(2, 9), st.floats(2, 60), POINTS, st.floats(-180, 180), st.floats(-0.4, 0.4), st.booleans())
def test_the_misfit_goes_where_it_was_asked(
    count: int, pitch: float, at: Point, turn: float, misfit: float, mirror: bool
) -> None:
    row = line(count, pitch=pitch)
    drawn = (count - 1) * pitch
    far = Placement(turn, at).apply((drawn + misfit, 0.0))
    results = {
        hold: place_from_two(row, first=1, first_at=at, second=count, second_at=far, hold=hold, mirror=mirror)  # type: ignore[arg-type]
        for hold in ("first", "second", "split")
    }
    assert results["first"].placed.at(1) == at  # exactly
    assert results["second"].placed.at(count) == far
    for hold, fit in results.items():
        assert fit.drawn == pytest.approx(drawn)
        assert fit.measured == pytest.approx(drawn + misfit)
        assert fit.difference == pytest.approx(misfit, abs=NOISE)
        assert fit.per_pitch == pytest.approx(misfit / (count - 1), abs=NOISE)
        expected = {"first": (0.0, misfit), "second": (misfit, 0.0), "split": (misfit / 2, misfit / 2)}[hold]
        assert [r.size for r in fit.residuals] == pytest.approx([abs(v) for v in expected], abs=NOISE)
        assert [r.hole for r in fit.residuals] == [1, count]
        # Spacing stays as drawn whatever was found
        assert distance(fit.placed.at(1), fit.placed.at(count)) == pytest.approx(drawn)
        direction = direction_deg(fit.placed.at(1), fit.placed.at(count))
        assert half_turn_range(direction - turn) == pytest.approx(0.0, abs=1e-9)


def test_a_residual_is_where_the_hole_lies_less_where_it_was_found() -> None:
    fit = place_from_two(line(2, pitch=10.0), first=1, first_at=(0.0, 0.0), second=2, second_at=(10.3, 0.0))
    _, second = fit.residuals
    assert (second.dx, second.dy) == (pytest.approx(-0.3), 0.0)


@given(POINTS, st.floats(-180, 180), POINTS, st.booleans())
def test_a_true_placement_is_found_again(at: Point, turn: float, pivot: Point, mirror: bool) -> None:
    pattern = free_points([(0.0, 0.0), (31.7, 4.2), (12.9, 55.1), (-8.3, 20.6)])
    truth = Placement(turn, at, mirror, pivot)
    a, b = truth.apply(pattern.at(3)), truth.apply(pattern.at(4))
    fit = place_from_two(pattern, first=3, first_at=a, second=4, second_at=b, mirror=mirror)
    assert fit.placed.part_from_pattern.difference_at(truth, pattern.points) < 1e-9
    assert fit.difference == pytest.approx(0.0, abs=1e-9)
    other = place_from_two(pattern, first=3, first_at=a, second=4, second_at=b, mirror=not mirror)
    assert other.residuals[1].size < 1e-9  # two holes cannot tell the hands apart
    assert other.placed.part_from_pattern.difference_at(truth, pattern.points) > 1.0


def test_per_pitch_means_nothing_outside_a_row() -> None:
    fit = place_from_two(
        grid(3, 2, column_pitch=10, row_pitch=10), first=1, first_at=(0, 0), second=6, second_at=(20.0, 10.2)
    )
    assert fit.per_pitch is None


def test_the_row_that_was_formed_too_long() -> None:
    """Invented: five pitches of 1.250 in measured 6.270 in over all: 4 thou a pitch."""
    fit = place_from_two(
        line(6, pitch=31.75), first=1, first_at=(12.0, 5.0), second=6, second_at=(12.0 + 6.270 * 25.4, 5.0)
    )
    assert fit.difference / 25.4 == pytest.approx(0.020)
    assert fit.per_pitch is not None
    assert fit.per_pitch / 25.4 == pytest.approx(0.004)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"second": 1}, "holes 1 and 1: expected two different holes"),
        ({"second": 9}, "hole 9: this line has holes 1 to 3"),
        (
            {"second_at": (0.0, 0.0)},
            r"holes 1 and 3 were both found at \(0\.0, 0\.0\): expected two places, 20\.000 mm",
        ),
        ({"hold": "both"}, 'hold "both": expected first, second or split'),
    ],
)
def test_what_cannot_be_placed(changes: dict[str, object], message: str) -> None:
    given_figures: dict[str, object] = {"first": 1, "first_at": (0.0, 0.0), "second": 3, "second_at": (20.0, 0.0)}
    with pytest.raises(InputError, match=message):
        place_from_two(line(3, pitch=10.0), **(given_figures | changes))  # type: ignore[arg-type]


@given(st.floats(0.001, 1), st.floats(0.001, 1))
def test_the_steady_point_is_where_the_doubt_across_is_least(u: float, v: float) -> None:
    """Second way: the doubt across at a share s of the way is u^2 (1 - s)^2 + v^2 s^2, searched by small steps."""
    (x, y), least = steady_between((0.0, 0.0), (100.0, 0.0), u, v)
    doubts = [((u * (1 - k / 1000)) ** 2 + (v * k / 1000) ** 2) ** 0.5 for k in range(1001)]
    assert least <= min(doubts) * (1 + 1e-12)
    assert least == pytest.approx(min(doubts), rel=1e-2)
    assert x / 100 == pytest.approx(doubts.index(min(doubts)) / 1000, abs=2e-3)
    assert y == 0.0


def test_steady_without_doubts_and_along() -> None:
    assert steady_between((0.0, 0.0), (10.0, 4.0), 0.0, 0.0) == ((5.0, 2.0), 0.0)
    assert steady_between((0.0, 0.0), (10.0, 4.0), 0.0, 0.1) == ((0.0, 0.0), 0.0)
    assert along_doubt(0.03, 0.04, "first") == 0.03
    assert along_doubt(0.03, 0.04, "second") == 0.04
    assert along_doubt(0.03, 0.04, "split") == pytest.approx(0.025)
