"""Doubt of the reference: the two effects apart, the printed formulas, and the scatter of simulated finds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.best_fit import BestFit, MeasuredHole, best_fit
from holecam.layout.patterns import PatternPoints, free_points, line
from holecam.layout.placing import place_from_one
from holecam.layout.reference_doubt import (
    ReferenceDoubt,
    direction_doubt_deg,
    doubt_from_fit,
    doubt_from_one,
    doubt_from_two,
    standard_doubt,
)
from holecam.layout.two_holes import place_from_two
from holecam.shapes import Placement, Point

SIMULATIONS = 6000
SAMPLING = 3 / math.sqrt(2 * SIMULATIONS)  # three standard errors of a standard deviation


@pytest.mark.outside_check(
    subject="doubt of a reference",
    source="standard deviation of a rectangular distribution (GUM, JCGM 100:2008, 4.3.7)",
    closeness="0.5 percent",
    standing="mathematics",
)
def test_a_half_width_becomes_a_standard_doubt() -> None:
    """GUM (JCGM 100:2008) 4.3.7: a rectangular distribution of half-width a has the standard deviation a / sqrt(3)."""
    assert standard_doubt(0.4) == pytest.approx(0.4 / math.sqrt(3))
    dice = np.random.default_rng(1).uniform(-0.4, 0.4, 200_000)
    assert standard_doubt(0.4) == pytest.approx(float(np.std(dice)), rel=5e-3)


def test_one_reference_moves_the_pattern_as_one() -> None:
    placed = place_from_one(line(6, pitch=31.75), hole=1, at=(12.0, 5.0), along_deg=30.0)
    doubt = doubt_from_one(placed, reference_at=(12.0, 5.0), along=0.03, across=0.05, along_deg=30.0)
    assert {h.along for h in doubt.holes} == {0.03}
    assert {h.across for h in doubt.holes} == {0.05}
    assert {h.turning for h in doubt.holes} == {0.0}
    assert doubt.place_doubt(6).together == 0.05
    assert doubt.place_doubt(6, own=0.02).own == 0.02


@given(st.floats(-180, 180), st.floats(0.001, 0.5))
def test_a_doubtful_direction_grows_with_the_distance(along: float, turn_doubt: float) -> None:
    at = (12.0, 5.0)
    placed = place_from_one(line(6, pitch=31.75), hole=2, at=at, along_deg=along)
    doubt = doubt_from_one(placed, reference_at=at, along=0.03, across=0.04, turn_doubt_deg=turn_doubt, along_deg=along)
    for number in range(1, 7):
        hole = doubt.of(number)
        lever = abs(number - 2) * 31.75
        assert hole.turning_across == pytest.approx(math.radians(turn_doubt) * lever, abs=1e-12)
        assert hole.turning_along == pytest.approx(0.0, abs=1e-12)
        assert hole.across == pytest.approx(math.hypot(0.04, math.radians(turn_doubt) * lever))
        assert hole.along == pytest.approx(0.03)
    assert doubt.farthest.number == 6
    assert doubt.of(2).turning == 0.0
    assert doubt.turn_deg == pytest.approx(turn_doubt)


@pytest.mark.outside_check(
    subject="doubt of a reference",
    source="law of propagation of uncertainty (GUM 5.1.2) for two finds, written out",
    closeness="1e-9",
    standing="mathematics",
)
@given(st.floats(0.001, 0.5), st.floats(20, 300), st.floats(-300, 600), st.floats(-100, 100))
def test_two_references_follow_the_propagation_formula(u: float, baseline: float, x: float, y: float) -> None:
    """u_across^2 = u^2 ((1 - x/B)^2 + (x/B)^2) and u_along^2 = u^2 (1 + 2 (y/B)^2) for two finds of doubt u."""
    pattern = free_points([(0.0, 0.0), (baseline, 0.0), (x, y + 1000.0)])
    fit = place_from_two(pattern, first=1, first_at=(0.0, 0.0), second=2, second_at=(baseline, 0.0))
    doubt = doubt_from_two(fit.placed, first_at=(0.0, 0.0), second_at=(baseline, 0.0), first=u, second=u)
    third = doubt.of(3)
    assert third.across**2 == pytest.approx(u**2 * ((1 - x / baseline) ** 2 + (x / baseline) ** 2), rel=1e-9)
    assert third.along**2 == pytest.approx(u**2 * (1 + 2 * ((y + 1000.0) / baseline) ** 2), rel=1e-9)


def test_the_two_figures_that_everybody_should_know() -> None:
    """In the middle u / sqrt(2); twice as far out as the far hole, 2.24 u: find holes far apart, never extrapolate."""
    row = line(5, pitch=50.0)
    fit = place_from_two(row, first=1, first_at=(0.0, 0.0), second=3, second_at=(100.0, 0.0))
    doubt = doubt_from_two(fit.placed, first_at=(0.0, 0.0), second_at=(100.0, 0.0), first=0.1, second=0.1)
    assert doubt.of(2).across == pytest.approx(0.1 / math.sqrt(2))
    assert doubt.of(5).across == pytest.approx(0.2236, abs=5e-5)
    assert doubt.steady_point == (50.0, 0.0)
    assert doubt.together_across == pytest.approx(0.1 / math.sqrt(2))
    assert doubt.farthest.number == 5


RAIL = free_points([(0.0, 0.0), (31.7, 4.2), (120.0, 10.0), (60.0, -30.0), (200.0, 15.0)])


def scatter(
    pattern: PatternPoints, finds: dict[int, tuple[Point, float]], place: object, along_deg: float
) -> dict[int, tuple[float, float]]:
    """Return the standard deviations along and across of every hole, the finds having normal errors."""
    dice = np.random.default_rng(3)
    into = Placement(-along_deg)
    places: dict[int, list[Point]] = {n: [] for n in pattern.numbers}
    for _ in range(SIMULATIONS):
        noisy = {n: (x + float(dice.normal(0, u)), y + float(dice.normal(0, u))) for n, ((x, y), u) in finds.items()}
        for number, p in place(noisy).holes():  # type: ignore[operator]
            places[number].append(into.apply_vector(p))
    return {n: (float(np.std([p[0] for p in v])), float(np.std([p[1] for p in v]))) for n, v in places.items()}


def check_scatter(doubt: ReferenceDoubt, seen: dict[int, tuple[float, float]]) -> None:
    for number, (along, across) in seen.items():
        assert along == pytest.approx(doubt.of(number).along, rel=1.2 * SAMPLING)
        assert across == pytest.approx(doubt.of(number).across, rel=1.2 * SAMPLING)


@pytest.mark.parametrize("hold", ["first", "second", "split"])
def test_two_finds_of_different_doubt_scatter_as_stated(hold: str) -> None:
    truth = Placement(25.0, (10.0, 20.0))
    a, b = truth.apply(RAIL.at(1)), truth.apply(RAIL.at(3))

    def place(noisy: dict[int, Point]) -> object:
        return place_from_two(RAIL, first=1, first_at=noisy[1], second=3, second_at=noisy[3], hold=hold).placed  # type: ignore[arg-type]

    fit = place_from_two(RAIL, first=1, first_at=a, second=3, second_at=b, hold=hold)  # type: ignore[arg-type]
    doubt = doubt_from_two(fit.placed, first_at=a, second_at=b, first=0.02, second=0.05, hold=hold)  # type: ignore[arg-type]
    check_scatter(doubt, scatter(RAIL, {1: (a, 0.02), 3: (b, 0.05)}, place, doubt.along_deg))


def test_a_best_fit_scatters_as_stated() -> None:
    truth = Placement(-40.0, (10.0, 20.0))
    doubts = {1: 0.02, 2: 0.05, 3: 0.03, 4: 0.04}
    finds = {n: (truth.apply(RAIL.at(n)), u) for n, u in doubts.items()}

    def place(noisy: dict[int, Point]) -> object:
        fit = best_fit(RAIL, [MeasuredHole(n, p, doubts[n]) for n, p in noisy.items()])
        assert isinstance(fit, BestFit)
        return fit.placed

    fit = best_fit(RAIL, [MeasuredHole(n, p, doubts[n]) for n, (p, _) in finds.items()])
    assert isinstance(fit, BestFit)
    doubt = doubt_from_fit(fit)
    assert doubt.along_deg == pytest.approx(-40.0)
    check_scatter(doubt, scatter(RAIL, finds, place, doubt.along_deg))


def test_doubts_grow_when_more_is_left_over_than_they_explain_and_never_shrink() -> None:
    row = line(4, pitch=40.0)
    at = [(0.0, 0.3), (40.0, -0.3), (80.0, -0.3), (120.0, 0.3)]
    brave = best_fit(row, [MeasuredHole(k + 1, p, 0.01) for k, p in enumerate(at)])
    modest = best_fit(row, [MeasuredHole(k + 1, p, 5.0) for k, p in enumerate(at)])
    silent = best_fit(row, [MeasuredHole(k + 1, p) for k, p in enumerate(at)])
    assert isinstance(brave, BestFit)
    assert isinstance(modest, BestFit)
    assert isinstance(silent, BestFit)
    seen = math.sqrt(sum(r.size**2 for r in silent.residuals) / 5)  # 2 * 4 - 3
    assert doubt_from_fit(silent).together_across == pytest.approx(seen / 2)
    assert doubt_from_fit(brave).together_across == pytest.approx(seen / 2)  # the stated 0.01 was too brave
    assert doubt_from_fit(modest).together_across == pytest.approx(5.0 / 2)
    lever_square = 2 * (60.0**2 + 20.0**2)
    assert math.radians(doubt_from_fit(silent).turn_deg) == pytest.approx(seen / math.sqrt(lever_square))


def test_a_direction_from_two_points() -> None:
    assert math.radians(direction_doubt_deg(0.03, 0.04, 100.0)) == pytest.approx(0.05 / 100)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: standard_doubt(-0.1), r"half-width -0\.1: expected 0 or more and finite"),
        (lambda: standard_doubt(math.nan), "half-width nan"),
        (lambda: standard_doubt(math.inf), "half-width inf"),
        (lambda: direction_doubt_deg(0.1, 0.1, 0.0), "baseline 0 mm: expected two points apart"),
        (lambda: direction_doubt_deg(0.1, 0.1, math.nan), "baseline nan mm"),
        (lambda: direction_doubt_deg(-0.1, 0.1, 5.0), r"doubt -0\.1"),
    ],
)
def test_doubts_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]


def test_doubts_of_placed_patterns_that_cannot_be() -> None:
    placed = place_from_one(line(2, pitch=10.0), hole=1, at=(0.0, 0.0))
    with pytest.raises(InputError, match=r"doubt along -1\.0: expected 0 or more"):
        doubt_from_one(placed, reference_at=(0.0, 0.0), along=-1.0, across=0.1)
    with pytest.raises(InputError, match="doubt of the direction nan"):
        doubt_from_one(placed, reference_at=(0.0, 0.0), along=0.1, across=0.1, turn_doubt_deg=math.nan)
    with pytest.raises(InputError, match="both reference holes lie at"):
        doubt_from_two(placed, first_at=(1.0, 1.0), second_at=(1.0, 1.0), first=0.1, second=0.1)
    with pytest.raises(InputError, match="hole 3: expected a hole of the placed pattern"):
        doubt_from_one(placed, reference_at=(0.0, 0.0), along=0.1, across=0.1).of(3)
