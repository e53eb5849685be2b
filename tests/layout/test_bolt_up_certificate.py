"""The parts of the proof one by one: the active set against another library's, the bounds against a scan of motions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import nnls

from holecam.layout.bolt_up_arrays import JointArrays, ratios
from holecam.layout.bolt_up_certificate import lower_bound, nonnegative_solution, turn_window

Floats = NDArray[np.float64]
PLANE = np.eye(2)
ALONG_X = np.array([[1.0], [0.0]])
NOWHERE = np.zeros((2, 0))


def arrays(
    rng: np.random.Generator,
    n: int,
    *,
    basis: Floats = PLANE,
    turns: bool = True,
    slots: bool = False,
    off: float = 0.2,
) -> JointArrays:
    """A pattern of random holes turned by 0.4 rad on its mate, off by tenths of a millimetre; slots in the mate."""
    part = rng.uniform(-30.0, 30.0, (n, 2))
    turn = 0.4 if turns else 0.0
    c, s = math.cos(turn), math.sin(turn)
    mate = part @ np.array([[c, s], [-s, c]]) + rng.normal(0.0, off, (n, 2))
    angle = rng.uniform(0.0, math.tau, n)
    half = np.where(rng.random(n) < 0.5, rng.uniform(0.1, 1.0, n), 0.0) if slots else np.zeros(n)
    # A round hole has the axis (1, 0)
    axis = np.where((half > 0)[:, None], np.column_stack((np.cos(angle), np.sin(angle))), np.array([1.0, 0.0]))
    return JointArrays(
        part, mate, rng.uniform(0.1, 0.5, n), half, axis, np.zeros(n, dtype=bool), turns, basis, bool(half.any())
    )


@pytest.mark.parametrize(("rows", "columns"), [(2, 2), (3, 5), (4, 8), (4, 20), (6, 3)])
def test_the_active_set_agrees_with_another_library(rows: int, columns: int) -> None:
    """Lawson and Hanson's problem: scipy's solver of the same name gives the same least distance."""
    rng = np.random.default_rng(rows * 100 + columns)
    for scale in (1e-3, 1.0, 1e3):
        for _ in range(40):
            matrix, right = rng.normal(0, scale, (rows, columns)), rng.normal(0, scale, rows)
            found = nonnegative_solution(matrix, right)
            best, least = nnls(matrix, right)
            assert (found >= 0.0).all()
            assert np.linalg.norm(matrix @ found - right) == pytest.approx(least, abs=1e-9 * scale)
            if columns <= rows:  # then the answer is the only one
                assert found == pytest.approx(best, abs=1e-7)


def test_an_active_set_that_has_to_let_a_column_go() -> None:
    """The column that is steepest at first has no part in the answer: (1, 1.2) goes once (1, 0) and (0, 1) are in."""
    matrix = np.array([[1.2, 1.0, 0.0], [1.2, 0.0, 1.0], [1.0, 0.0, 0.0]])
    right = np.array([1.0, 1.0, -0.5])
    assert nonnegative_solution(matrix, right) == pytest.approx([0.0, 1.0, 1.0], abs=1e-12)
    assert nonnegative_solution(matrix, -right) == pytest.approx(nnls(matrix, -right)[0], abs=1e-12)


@pytest.mark.parametrize("basis", [PLANE, ALONG_X, NOWHERE], ids=["free", "along x", "about a point"])
@pytest.mark.parametrize("slots", [False, True])
def test_outside_the_window_of_turns_no_shift_reaches_the_ratio(basis: Floats, slots: bool) -> None:
    """Scan of all turns; for each the best shift of a least-squares fit is a bound from below on what is possible."""
    rng = np.random.default_rng(7)
    narrow = 0
    for _ in range(12):
        a = arrays(rng, int(rng.integers(2, 7)), basis=basis, slots=slots)
        ratio = float(rng.uniform(0.5, 20.0))
        middle, width = turn_window(a, ratio)
        narrow += width < 1.0
        for turn in np.linspace(-math.pi, math.pi, 181):
            c, s = math.cos(turn), math.sin(turn)
            away = a.part @ np.array([[c, s], [-s, c]]) - a.mate
            if basis.shape[1] == 2:
                away = away - away.mean(axis=0)
                squares = float((away**2).sum())
                possible = squares <= float(((ratio * a.play + a.half) ** 2).sum())
                inside = abs(math.remainder(turn - middle, math.tau)) <= width
                assert possible == inside or abs(abs(math.remainder(turn - middle, math.tau)) - width) < 1e-9
            elif abs(math.remainder(turn - middle, math.tau)) > width + 1e-9 and basis.shape[1] == 0:
                assert ratios(a, float(turn), np.zeros(0)).max() > ratio
    assert narrow >= 6


@pytest.mark.parametrize("basis", [PLANE, ALONG_X, NOWHERE], ids=["free", "along x", "about a point"])
@pytest.mark.parametrize("slots", [False, True])
@pytest.mark.parametrize("turns", [True, False])
def test_no_motion_beats_the_lower_bound(basis: Floats, slots: bool, turns: bool) -> None:
    """Any weights give a true bound: thousands of motions near and far are all at or above it."""
    rng = np.random.default_rng(11)
    raised = 0
    for _ in range(10):
        a = arrays(rng, int(rng.integers(2, 6)), basis=basis, slots=slots, turns=turns)
        at = 0.4 + rng.normal(0.0, 0.01) if turns else 0.0
        shift = rng.normal(0.0, 0.2, basis.shape[1])
        weights = rng.dirichlet(np.ones(len(a.part)))
        upper = float(ratios(a, at, shift).max())
        window = turn_window(a, upper) if turns else None
        bound = lower_bound(a, at, shift, weights, window)
        raised += bound > 0.05 * upper
        for spread in (1e-3, 1e-2, 0.1, 1.0):
            for _ in range(60):
                turn = at + rng.normal(0.0, spread) if turns else 0.0
                other = shift + rng.normal(0.0, 10 * spread, basis.shape[1])
                assert float(ratios(a, turn, other).max()) >= bound - 1e-9
    assert raised >= 2


def test_the_bound_of_round_holes_is_the_weighted_fit_itself() -> None:
    """Closed form: over all turns and shifts the least of sum(w d^2 / play^2) is what the weighted rigid fit leaves.

    With weights s = w / play^2 and centred patterns p, q: sum s (p.p + q.q) - 2 hypot(sum s p.q, sum s p x q).
    """
    rng = np.random.default_rng(3)
    for _ in range(30):
        a = arrays(rng, int(rng.integers(2, 8)), off=1.0)
        weights = rng.dirichlet(np.ones(len(a.part)))
        s = weights / a.play**2
        p, q = a.part - s @ a.part / s.sum(), a.mate - s @ a.mate / s.sum()
        dot, cross = s @ (p * q).sum(axis=1), s @ (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])
        least = s @ ((p**2).sum(axis=1) + (q**2).sum(axis=1)) - 2.0 * math.hypot(dot, cross)
        turn = float(rng.uniform(-math.pi, math.pi))
        found = lower_bound(a, turn, rng.normal(0.0, 5.0, 2), weights)
        assert found == pytest.approx(math.sqrt(max(0.0, least)), rel=1e-6, abs=1e-6)
