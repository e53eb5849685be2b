"""Splines and ellipses as straight lines: no point of the true curve is farther off than promised.

The true curve is evaluated by scipy (non-rational) and by ezdxf (rational and fitted): two independent libraries.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from ezdxf.math import BSpline, closed_uniform_bspline, fit_points_to_cad_cv
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline as ScipySpline

from holecam.errors import InputError
from holecam.job.splines import bezier_pieces, ellipse_points, spline_points

COORDINATE = st.floats(-100, 100).map(lambda v: round(v, 3))
POINT = st.tuples(COORDINATE, COORDINATE)


def _greatest_distance(curve: np.ndarray, chords: list[tuple[float, float]]) -> float:
    """Return the greatest distance of the curve's points from the chain of chords."""
    ends = np.array(chords)
    a, d = ends[:-1], np.diff(ends, axis=0)
    square = np.maximum((d * d).sum(axis=1), 1e-300)
    worst = 0.0
    for p in curve:
        along = np.clip(((p - a) * d).sum(axis=1) / square, 0, 1)
        worst = max(worst, float(np.hypot(*(p - a - along[:, None] * d).T).min()))
    return worst


def _clamped(count: int, degree: int) -> list[float]:
    inner = list(range(1, count - degree))
    return [0.0] * (degree + 1) + [float(k) for k in inner] + [float(count - degree)] * (degree + 1)


@pytest.mark.outside_check(
    subject="drawings in",
    source="scipy: BSpline",
    closeness="the stated tolerance",
    standing="library",
)
@settings(max_examples=40)
@given(st.lists(POINT, min_size=4, max_size=9), st.integers(1, 4), st.sampled_from([0.5, 0.05, 0.005]))
def test_chords_keep_to_the_spline(control: list[tuple[float, float]], degree: int, tolerance: float) -> None:
    degree = min(degree, len(control) - 1)
    knots = _clamped(len(control), degree)
    points = spline_points(degree=degree, control=control, knots=knots, weights=[], tolerance=tolerance)
    assert points[0] == pytest.approx(control[0], abs=1e-9)
    assert points[-1] == pytest.approx(control[-1], abs=1e-9)
    true = ScipySpline(np.array(knots), np.array(control), degree)(np.linspace(0, knots[-1], 300))
    assert _greatest_distance(true, points) <= tolerance + 1e-9


@pytest.mark.outside_check(
    subject="drawings in",
    source="ezdxf: rational splines",
    closeness="the stated tolerance",
    standing="library",
)
@settings(max_examples=30)
@given(st.lists(st.tuples(POINT, st.floats(0.2, 5)), min_size=4, max_size=7))
def test_chords_keep_to_a_spline_with_weights(rows: list[tuple[tuple[float, float], float]]) -> None:
    control, weights = [r[0] for r in rows], [r[1] for r in rows]
    knots = _clamped(len(control), 3)
    points = spline_points(degree=3, control=control, knots=knots, weights=weights, tolerance=0.01)
    curve = BSpline([(*p, 0) for p in control], order=4, knots=knots, weights=weights)
    true = np.array([(p.x, p.y) for p in curve.points(np.linspace(0, knots[-1], 250))])
    assert _greatest_distance(true, points) <= 0.01 + 1e-9


def test_a_spline_with_uneven_and_repeated_knots() -> None:
    control = [(0.0, 0.0), (2.0, 5.0), (5.0, -3.0), (7.0, 4.0), (9.0, 0.0), (12.0, 2.0)]
    knots = [0, 0, 0, 0, 0.3, 0.3, 1, 1, 1, 1]
    points = spline_points(degree=3, control=control, knots=knots, weights=[], tolerance=0.002)
    true = ScipySpline(np.array(knots), np.array(control), 3)(np.linspace(0, 1, 500))
    assert _greatest_distance(true, points) <= 0.002 + 1e-9


def test_a_closed_spline_without_clamped_ends() -> None:
    curve = closed_uniform_bspline([(0, 0), (10, 0), (12, 8), (5, 12), (-3, 6)])
    control = [(p.x, p.y) for p in curve.control_points]
    knots = list(curve.knots())
    points = spline_points(degree=3, control=control, knots=knots, weights=[], tolerance=0.001)
    assert points[0] == pytest.approx(points[-1], abs=1e-9)
    low, high = knots[3], knots[len(control)]
    true = ScipySpline(np.array(knots), np.array(control), 3)(np.linspace(low, high, 400, endpoint=False))
    assert _greatest_distance(true, points) <= 0.001 + 1e-9


@pytest.mark.outside_check(
    subject="drawings in",
    source="Piegl and Tiller, The NURBS Book, example 7.3: the nine-point circle",
    closeness="the stated tolerance",
    standing="memory",
)
def test_a_full_circle_as_a_rational_spline() -> None:
    """The nine-point quadratic circle of the NURBS textbooks (Piegl and Tiller, The NURBS Book, example 7.3)."""
    half = math.sqrt(0.5)
    control = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    weights = [1, half, 1, half, 1, half, 1, half, 1]
    knots = [0, 0, 0, 0.25, 0.25, 0.5, 0.5, 0.75, 0.75, 1, 1, 1]
    spots = [(10.0 * x, 10.0 * y) for x, y in control]
    points = spline_points(degree=2, control=spots, knots=knots, weights=weights, tolerance=0.001)
    radii = [math.hypot(*p) for p in points]
    assert max(abs(r - 10) for r in radii) < 1e-9
    middles = [math.hypot((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in itertools.pairwise(points)]
    assert 10 - 0.001 <= min(middles) < 10


def test_pieces_of_a_fitted_curve_meet() -> None:
    curve = fit_points_to_cad_cv([(0, 0), (3, 4), (8, 1), (9, 9)])
    control = [(p.x, p.y, 1.0) for p in curve.control_points]
    pieces = bezier_pieces(curve.degree, control, list(curve.knots()))
    for before, after in itertools.pairwise(pieces):
        assert before[-1] == pytest.approx(after[0], abs=1e-9)
    assert pieces[0][0][:2] == pytest.approx((0, 0), abs=1e-9)
    assert pieces[-1][-1][:2] == pytest.approx((9, 9), abs=1e-9)


@settings(max_examples=40)
@given(
    POINT,
    st.floats(0.5, 100),
    st.floats(0, 360),
    st.floats(0.05, 1),
    st.floats(0, 6.28),
    st.floats(0.1, 6.28),
    st.booleans(),
    st.sampled_from([0.1, 0.005]),
)
def test_chords_keep_inside_the_ellipse(
    centre: tuple[float, float],
    axis: float,
    turn_deg: float,
    ratio: float,
    start: float,
    sweep: float,
    mirrored: bool,
    tolerance: float,
) -> None:
    major = (axis * math.cos(math.radians(turn_deg)), axis * math.sin(math.radians(turn_deg)))
    points = ellipse_points(
        centre=centre, major=major, ratio=ratio, start=start, end=start + sweep, mirrored=mirrored, tolerance=tolerance
    )
    side = -1.0 if mirrored else 1.0
    t = np.linspace(start, start + sweep, 400)
    along, across = np.cos(t), np.sin(t) * ratio * side
    unit = np.array(major) / axis
    true = np.array(centre) + axis * (along[:, None] * unit + across[:, None] * np.array([-unit[1], unit[0]]))
    assert _greatest_distance(true, points) <= tolerance + 1e-9
    # Hollow side: every chord lies inside the ellipse
    for a, b in itertools.pairwise(points):
        x, y = (a[0] + b[0]) / 2 - centre[0], (a[1] + b[1]) / 2 - centre[1]
        u, v = (x * unit[0] + y * unit[1]) / axis, (-x * unit[1] + y * unit[0]) / (axis * ratio)
        assert u * u + v * v <= 1 + 1e-9


@pytest.mark.parametrize(
    ("degree", "count", "knots", "weights", "said"),
    [
        (3, 4, 7, [], "expected 8 knots for 4 points"),
        (0, 4, 5, [], "of degree 0"),
        (5, 4, 10, [], "of degree 5"),
        (3, 4, 8, [1, 1, 0, 1], "weights above zero"),
        (3, 4, 8, [1, 1], "weights above zero"),
    ],
)
def test_splines_that_do_not_fit_together(degree: int, count: int, knots: int, weights: list[float], said: str) -> None:
    control = [(float(n), 0.0) for n in range(count)]
    with pytest.raises(InputError, match=said):
        spline_points(degree=degree, control=control, knots=list(range(knots)), weights=weights, tolerance=0.01)


def test_knots_that_fall_and_points_without_end() -> None:
    control = [(0.0, 0.0), (1.0, 1.0), (2.0, 0.0), (3.0, 1.0)]
    with pytest.raises(InputError, match="knots that rise"):
        spline_points(degree=3, control=control, knots=[0, 0, 0, 1, 0, 1, 1, 1], weights=[], tolerance=0.01)
    with pytest.raises(InputError, match="finite points"):
        spline_points(degree=1, control=[(math.nan, 0.0), (1.0, 0.0)], knots=[0, 0, 1, 1], weights=[], tolerance=0.01)
    big = [(0.0, 0.0), (1e9, 1e9), (2e9, -1e9), (3e9, 0.0)]
    with pytest.raises(InputError, match="lines can follow"):
        spline_points(degree=3, control=big, knots=[0, 0, 0, 0, 1, 1, 1, 1], weights=[], tolerance=1e-6)
    with pytest.raises(InputError, match="axes above zero"):
        ellipse_points(centre=(0, 0), major=(0, 0), ratio=1, start=0, end=1, mirrored=False, tolerance=0.01)
