"""Best fit to measured holes against scipy, its degenerate cases, and the naming of a wrong hole."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.linalg import orthogonal_procrustes
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from holecam.errors import InputError
from holecam.layout.best_fit import BestFit, MeasuredHole, NoFit, RigidFit, best_fit, rigid_fit
from holecam.layout.hole_circles import hole_circle
from holecam.layout.patterns import PatternPoints, free_points, line
from holecam.shapes import Placement, Point, distance, half_turn_range

SHOP = st.floats(-300, 300)
POINTS = st.tuples(SHOP, SHOP)


@st.composite
def measurements(draw: st.DrawFn) -> tuple[list[Point], list[Point], list[float], bool]:
    """Return pattern points, where they were found, weights, and whether the part is the other hand."""
    n = draw(st.integers(3, 9))
    seed = draw(st.integers(0, 10**6))
    dice = np.random.default_rng(seed)
    pattern = dice.uniform(-60, 60, (n, 2))
    mirror = draw(st.booleans())
    truth = Placement(draw(st.floats(-180, 180)), draw(POINTS), mirror)
    noise = draw(st.sampled_from([0.0, 0.02, 0.5]))
    p = [(float(x), float(y)) for x, y in pattern]
    c = [(x + float(dice.normal(0, noise)), y + float(dice.normal(0, noise))) for x, y in truth.apply_all(p)]
    return p, c, [float(w) for w in dice.uniform(0.2, 5, n)], mirror


@pytest.mark.outside_check(
    subject="rigid fit",
    source="scipy: Rotation.align_vectors",
    closeness="1e-6 degree",
    standing="library",
)
@given(measurements())
def test_the_turn_is_the_one_of_scipy_s_rotation_fit(case: tuple[list[Point], list[Point], list[float], bool]) -> None:
    p, c, w, mirror = case
    fit = rigid_fit(p, c, w, mirror=mirror)
    assert isinstance(fit, RigidFit)
    weights = np.array(w)
    pa, ca = np.array(p), np.array(c)
    if mirror:
        pa = pa * [-1, 1]
    pa = pa - np.average(pa, axis=0, weights=weights)
    ca = ca - np.average(ca, axis=0, weights=weights)
    # A third axis of its own keeps their rotation in the plane
    up = np.array([[0.0, 0.0, 1.0]])
    rotation, _ = Rotation.align_vectors(
        np.vstack([np.c_[ca, np.zeros(len(c))], up]),
        np.vstack([np.c_[pa, np.zeros(len(p))], up]),
        weights=np.r_[weights, np.inf],
    )
    theirs = math.degrees(rotation.as_rotvec()[2])
    assert half_turn_range(fit.motion.turn_deg - theirs) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.outside_check(
    subject="rigid fit",
    source="scipy: least_squares from several starts",
    closeness="1e-6 of the remainder, nothing better",
    standing="library",
)
@given(measurements())
def test_no_other_motion_leaves_less(case: tuple[list[Point], list[Point], list[float], bool]) -> None:
    """A general least-squares solver, started from the answer and from elsewhere, finds nothing better."""
    p, c, w, mirror = case
    fit = rigid_fit(p, c, w, mirror=mirror)
    assert isinstance(fit, RigidFit)
    pa, ca, root = np.array(p), np.array(c), np.sqrt(np.array(w))
    side = np.array([-1.0 if mirror else 1.0, 1.0])

    def left(v: np.ndarray) -> np.ndarray:
        cos, sin = np.cos(v[0]), np.sin(v[0])
        moved = (pa * side) @ np.array([[cos, sin], [-sin, cos]]) + v[1:]
        return ((moved - ca) * root[:, None]).ravel()

    start = fit.motion.about_origin()
    for turn in (math.radians(start.turn_deg), math.radians(start.turn_deg) + 0.4):
        theirs = least_squares(left, [turn, *start.shift], xtol=1e-15, ftol=1e-15, gtol=1e-15)
        assert fit.square_sum <= 2 * theirs.cost * (1 + 1e-9) + 1e-12
    assert fit.square_sum == pytest.approx(2 * theirs.cost, rel=1e-6, abs=1e-9)
    assert fit.rms == pytest.approx(math.sqrt(fit.square_sum / sum(w)))


@pytest.mark.outside_check(
    subject="rigid fit",
    source="scipy: orthogonal_procrustes",
    closeness="1e-6 of the remainder",
    standing="library",
)
@given(measurements())
def test_the_free_choice_of_hand_is_scipy_s_orthogonal_fit(
    case: tuple[list[Point], list[Point], list[float], bool],
) -> None:
    """Procrustes may reflect; the better of our two hands leaves as little as it does."""
    p, c, _, _ = case
    pa, ca = np.array(p) - np.mean(p, axis=0), np.array(c) - np.mean(c, axis=0)
    rotation, _ = orthogonal_procrustes(pa, ca)
    theirs = float(np.sum((pa @ rotation - ca) ** 2))
    ours = [rigid_fit(p, c, mirror=hand) for hand in (False, True)]
    sums = [f.square_sum for f in ours if isinstance(f, RigidFit)]
    assert min(sums) == pytest.approx(theirs, rel=1e-6, abs=1e-9)


@given(measurements())
def test_distances_survive_a_fit(case: tuple[list[Point], list[Point], list[float], bool]) -> None:
    p, c, w, mirror = case
    fit = rigid_fit(p, c, w, mirror=mirror)
    assert isinstance(fit, RigidFit)
    moved = fit.motion.apply_all(p)
    for i in range(len(p)):
        assert distance(moved[i], moved[0]) == pytest.approx(distance(p[i], p[0]), abs=1e-9)


PUMP_COVER = hole_circle(6, diameter=92.0, start_deg=30.0)


def found(pattern: PatternPoints, truth: Placement, errors: dict[int, Point]) -> list[MeasuredHole]:
    holes = []
    for number, p in pattern.holes():
        if number in errors:
            x, y = truth.apply(p)
            holes.append(MeasuredHole(number, (x + errors[number][0], y + errors[number][1])))
    return holes


def test_residuals_of_a_worked_case() -> None:
    """Four holes of a square of 20 mm; one found 0.4 mm out along X. By hand: the shift takes 0.1, the turn
    0.4 / 80 = 0.005 rad (tangential part 10 of lever square 800, linearised), what is left follows."""
    square = free_points([(10, 10), (-10, 10), (-10, -10), (10, -10)])
    measured = [MeasuredHole(k, p) for k, p in square.holes()]
    measured[0] = MeasuredHole(1, (10.4, 10.0))
    fit = best_fit(square, measured)
    assert isinstance(fit, BestFit)
    assert fit.fit.motion.shift == pytest.approx((0.1, 0.0))
    assert math.radians(fit.fit.motion.turn_deg) == pytest.approx(-0.4 * 10 / 800, rel=0.02)
    first = fit.residuals[0]
    assert (first.dx, first.dy) == pytest.approx((0.1 + 0.05 - 0.4, -0.05), abs=2e-3)
    assert fit.worst is first
    square_sum = sum(r.size**2 for r in fit.residuals)
    assert fit.rms == pytest.approx(math.sqrt(square_sum / 4))
    assert fit.scatter == pytest.approx(math.sqrt(square_sum / 5))  # 2 * 4 - 3 figures left over


def test_only_some_holes_of_the_circle_are_measured() -> None:
    truth = Placement(1.7, (40.0, 25.0))
    fit = best_fit(PUMP_COVER, found(PUMP_COVER, truth, {1: (0, 0), 3: (0, 0), 4: (0, 0)}))
    assert isinstance(fit, BestFit)
    assert fit.placed.part_from_pattern.difference_at(truth, PUMP_COVER.points) < 1e-9
    assert len(fit.placed.points) == 6
    assert fit.words == ("Three holes show that something is off, not which hole: measure a fourth to tell.",)


def test_a_better_known_hole_pulls_harder() -> None:
    row = line(3, pitch=50.0)
    at = [(0.0, 0.0), (50.0, 0.6), (100.0, 0.0)]
    alike = best_fit(row, [MeasuredHole(k + 1, p, 0.1) for k, p in enumerate(at)])
    sure = best_fit(row, [MeasuredHole(k + 1, p, 0.01 if k == 1 else 0.1) for k, p in enumerate(at)])
    assert isinstance(alike, BestFit)
    assert isinstance(sure, BestFit)
    assert alike.placed.at(2)[1] == pytest.approx(0.2)
    assert sure.placed.at(2)[1] == pytest.approx(0.6 * 1e4 / (1e4 + 2e2))  # weights 1 / u^2
    assert sure.scatter is None
    assert sure.doubt_ratio is not None
    assert sure.doubt_ratio > 2


def test_one_wrong_hole_is_named_and_a_clean_set_names_none() -> None:
    truth = Placement(-8.0, (12.0, 7.0))
    small = {1: (0.02, 0.01), 2: (-0.01, 0.02), 3: (0.01, -0.02), 4: (0.0, 0.02), 5: (-0.02, 0.0), 6: (0.01, 0.01)}
    clean = best_fit(PUMP_COVER, found(PUMP_COVER, truth, small))
    wrong = best_fit(PUMP_COVER, found(PUMP_COVER, truth, small | {4: (0.6, -0.3)}))
    assert isinstance(clean, BestFit)
    assert isinstance(wrong, BestFit)
    assert clean.suspects == ()
    assert wrong.suspects == (4,)
    assert wrong.words == ("Hole 4 does not agree with the others: measure it again.",)


def test_few_honest_sets_are_accused() -> None:
    """The chance that a clean set gets a hole named is at most the stated one in twenty (Bonferroni)."""
    dice = np.random.default_rng(5)
    accused = 0
    for _ in range(300):
        errors = {k: tuple(dice.normal(0, 0.05, 2)) for k in range(1, 7)}
        fit = best_fit(PUMP_COVER, found(PUMP_COVER, Placement(10.0, (3.0, 2.0)), errors))
        assert isinstance(fit, BestFit)
        accused += bool(fit.suspects)
    assert accused <= 300 * 0.05 + 3 * math.sqrt(300 * 0.05 * 0.95)


def test_three_holes_never_accuse_one() -> None:
    fit = best_fit(PUMP_COVER, found(PUMP_COVER, Placement(), {1: (0, 0), 3: (0, 0), 5: (3.0, 0)}))
    assert isinstance(fit, BestFit)
    assert fit.suspects == ()


def test_the_other_hand_is_mentioned_and_never_taken_unasked() -> None:
    pattern = free_points([(0.0, 0.0), (31.7, 4.2), (12.9, 55.1), (-8.3, 20.6)])
    truth = Placement(20.0, (5.0, 5.0), mirror=True)
    fit = best_fit(pattern, found(pattern, truth, dict.fromkeys(range(1, 5), (0.0, 0.0))))
    assert isinstance(fit, BestFit)
    assert not fit.fit.motion.mirror
    assert fit.mirror_fits_better
    assert "is this the other hand?" in fit.words[0]
    asked = best_fit(pattern, found(pattern, truth, dict.fromkeys(range(1, 5), (0.0, 0.0))), mirror=True)
    assert isinstance(asked, BestFit)
    assert asked.rms < 1e-9
    assert not asked.mirror_fits_better


@pytest.mark.parametrize(
    ("factor", "text"), [(25.4, "read in millimetres and the pattern in inches"), (1 / 25.4, "read in inches, not mm")]
)
def test_inches_against_millimetres_are_noticed(factor: float, text: str) -> None:
    measured = [MeasuredHole(k, (x * factor, y * factor)) for k, (x, y) in PUMP_COVER.holes()]
    fit = best_fit(PUMP_COVER, measured)
    assert isinstance(fit, BestFit)
    assert any(text in words for words in fit.words)


@given(st.floats(-180, 180), POINTS)
def test_a_square_and_its_mirror_image_leave_the_turn_open(turn: float, at: Point) -> None:
    square = free_points([(10, 10), (-10, 10), (-10, -10), (10, -10)])
    fit = best_fit(square, found(square, Placement(turn, at, mirror=True), dict.fromkeys(range(1, 5), (0.0, 0.0))))
    assert isinstance(fit, NoFit)
    assert fit.reason == "turn not determined"
    assert "mirror image" in fit.words


def test_all_found_in_one_place() -> None:
    fit = best_fit(PUMP_COVER, [MeasuredHole(1, (3.0, 3.0)), MeasuredHole(2, (3.0, 3.0)), MeasuredHole(3, (3.0, 3.0))])
    assert isinstance(fit, NoFit)
    assert fit.reason == "found in one place"


@given(st.floats(-0.5, 0.5), POINTS, st.floats(-180, 180))
def test_two_holes_share_the_misfit_evenly(misfit: float, at: Point, turn: float) -> None:
    assume(abs(misfit) > 1e-6)
    row = line(2, pitch=40.0)
    far = Placement(turn, at).apply((40.0 + misfit, 0.0))
    fit = best_fit(row, [MeasuredHole(1, at), MeasuredHole(2, far)])
    assert isinstance(fit, BestFit)
    assert [r.size for r in fit.residuals] == pytest.approx([abs(misfit) / 2] * 2, abs=1e-9)
    assert fit.words[0].startswith("Two holes fix the motion")


@pytest.mark.parametrize(
    ("measured", "message"),
    [
        ([MeasuredHole(1, (0, 0))], "expected at least 2 measured holes, got 1"),
        ([], "expected at least 2 measured holes, got 0"),
        ([MeasuredHole(1, (0, 0)), MeasuredHole(9, (1, 0))], "hole 9: this hole circle has holes 1 to 6"),
        ([MeasuredHole(1, (0, 0)), MeasuredHole(1, (1, 0))], "hole 1 was measured twice"),
        ([MeasuredHole(1, (0, math.nan)), MeasuredHole(2, (1, 0))], "hole 1 was found at .* expected finite"),
        ([MeasuredHole(1, (0, 0), 0.0), MeasuredHole(2, (1, 0), 0.1)], r"hole 1: doubt 0\.0 mm: expected above zero"),
        ([MeasuredHole(1, (0, 0), 0.1), MeasuredHole(2, (1, 0))], "no doubt is given for hole 2"),
    ],
)
def test_measurements_that_cannot_be_fitted(measured: list[MeasuredHole], message: str) -> None:
    with pytest.raises(InputError, match=message):
        best_fit(PUMP_COVER, measured)


@pytest.mark.parametrize(
    ("weights", "message"),
    [
        ([1.0, 0.0], r"weight 0\.0: expected above zero"),
        ([1.0, math.inf], "weight inf"),
        ([1.0, math.nan], "weight nan"),
        ([1.0], "expected 2 weights, got 1"),
    ],
)
def test_weights_that_cannot_be(weights: list[float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        rigid_fit([(0, 0), (1, 0)], [(0, 0), (1, 0)], weights)
    with pytest.raises(InputError, match="2 pattern points against 1 measured"):
        rigid_fit([(0, 0), (1, 0)], [(0, 0)])
