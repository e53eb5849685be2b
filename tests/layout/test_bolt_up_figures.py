"""The bolt-up from the inside: the fit, the barrier, the polish, the proof and the trials, by hand, against other
libraries, and as recorded for small invented joints."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray
from recorded_figures import same_as_recorded
from scipy.optimize import minimize, minimize_scalar

from holecam.errors import InputError
from holecam.layout import assembly_trials
from holecam.layout.assembly_chance import JointDoubt, _Case, _Draws, _moved_as_one, chance_of_assembly
from holecam.layout.assembly_trials import _bounds, _by_bounds, _least_in_window, _Trials, trial_outcomes
from holecam.layout.bolt_up import (
    BoltUp,
    Joint,
    _offset,
    _shifted_start,
    bolt_up,
    must_exchange,
    prepare,
    prepare_arrays,
    solve,
)
from holecam.layout.bolt_up_arrays import JointArrays, least_squares_start, ratios, squares
from holecam.layout.bolt_up_certificate import (
    _least_over_turns,
    certify,
    lower_bound,
    nonnegative_solution,
    turn_window,
)
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import (
    CountersunkHole,
    JointHole,
    RoundHole,
    ScrewPlay,
    SlottedHole,
    TappedHole,
    screw_play,
)
from holecam.layout.bolt_up_solver import _barrier, _centre, _newton_step, _polish, _small_minimax, minimax
from holecam.layout.reference_doubt import ReferenceDoubt
from holecam.shapes import Placement, Point

Floats = NDArray[np.float64]
FILE = "bolt-up"
PLANE, ALONG, NOWHERE = np.eye(2), np.array([[0.8], [0.6]]), np.zeros((2, 0))


def spin(turn: float) -> Floats:
    c, s = math.cos(turn), math.sin(turn)
    return np.array([[c, s], [-s, c]])


def arrays(seed: int, *, n: int = 5, basis: Floats = PLANE, turns: bool = True, slots: str = "none") -> JointArrays:
    """Holes within 1 of the middle, off by hundredths; slots in the mate, in the part, or one in each."""
    rng = np.random.default_rng(seed)
    part = rng.uniform(-1.0, 1.0, (n, 2))
    mate = part @ spin(0.2 if turns else 0.0) + rng.normal(0.0, 0.01, (n, 2))
    half = np.zeros(n) if slots == "none" else np.where(np.arange(n) % 2 == 0, 0.02, 0.0)
    in_part = (half > 0) & (np.arange(n) < {"none": 0, "mate": 0, "part": n, "both": 1}[slots])
    angle = rng.uniform(-2.0, 2.0, n)
    axis = np.where((half > 0)[:, None], np.column_stack((np.cos(angle), np.sin(angle))), np.array([1.0, 0.0]))
    return JointArrays(part, mate, rng.uniform(0.005, 0.02, n), half, axis, in_part, turns, basis, bool(half.any()))


CASES = {
    "loose": arrays(1),
    "loose, slots in the mate": arrays(2, slots="mate"),
    "loose, slots in both": arrays(3, slots="both"),
    "guided": arrays(4, basis=ALONG, turns=False),
    "guided, slots": arrays(5, basis=ALONG, turns=False, slots="mate"),
    "parallel": arrays(6, turns=False),
    "parallel, slots": arrays(7, turns=False, slots="mate"),
    "about a pin": arrays(8, basis=NOWHERE),
    "about a pin, slots": arrays(9, basis=NOWHERE, slots="mate"),
    "turns and slides": arrays(10, basis=ALONG),
    "turns and slides, slots": arrays(11, basis=ALONG, slots="mate"),
    "held": arrays(12, basis=NOWHERE, turns=False),
    "held, slots": arrays(13, basis=NOWHERE, turns=False, slots="mate"),
    "many": arrays(14, n=14),
}


def at_random(a: JointArrays, seed: int = 1) -> tuple[float, Floats]:
    rng = np.random.default_rng(seed)
    return (0.2 + float(rng.normal(0.0, 0.02)) if a.turns else 0.0), rng.normal(0.0, 0.01, a.basis.shape[1])


def test_ratios_and_squares_by_definition() -> None:
    """Offset in the slot's frame: what is past the slot's end, and what is square to it; its derivatives by steps."""
    for a in CASES.values():
        turn, shift = at_random(a)
        d = a.part @ spin(turn) + shift @ a.basis.T - a.mate
        axis = np.array([e @ spin(turn) if own else e for e, own in zip(a.axis, a.in_part, strict=True)])
        along = (d * axis).sum(axis=1)
        past = np.sign(along) * np.maximum(np.abs(along) - a.half, 0.0)
        across = axis[:, 0] * d[:, 1] - axis[:, 1] * d[:, 0]
        found = squares(a, turn, shift)
        assert ratios(a, turn, shift) == pytest.approx(np.hypot(past, across) / a.play)
        assert found.value == pytest.approx(past**2 + across**2)
        if a.slotted:
            assert found.along == pytest.approx(past)
            assert found.across == pytest.approx(across)
        x = np.concatenate(([turn] if a.turns else [], shift))
        for k in range(len(x)):
            up, down = x.copy(), x.copy()
            up[k] += 1e-6
            down[k] -= 1e-6
            first = [squares(a, float(v[0]) if a.turns else 0.0, v[int(a.turns) :]) for v in (up, down)]
            assert found.first[:, k] == pytest.approx((first[0].value - first[1].value) / 2e-6, abs=1e-7)
            assert found.second[:, :, k] == pytest.approx((first[0].first - first[1].first) / 2e-6, abs=1e-6)


def test_the_fit_to_begin_with_is_the_least_of_the_weighted_squares() -> None:
    """Without slots scipy finds no less; with slots four rounds as recorded."""
    for name, a in CASES.items():
        weights = np.linspace(1.0, 2.0, len(a.part))
        turn, shift = least_squares_start(a, weights)
        same_as_recorded(f"fit to begin with: {name}", [turn, shift], file=FILE)

        def sum_of(x: Floats, a: JointArrays = a, weights: Floats = weights) -> float:
            d = a.part @ spin(float(x[0]) if a.turns else 0.0) + x[int(a.turns) :] @ a.basis.T - a.mate
            return float(weights @ (d * d).sum(axis=1))

        here = np.concatenate(([turn] if a.turns else [], shift))
        if not a.slotted and len(here) and not (a.turns and a.basis.shape[1] == 1):  # no joint turns and slides
            least = minimize(sum_of, here, method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-14}).fun
            assert sum_of(here) <= least + 1e-10


def test_a_start_at_a_stated_turn() -> None:
    """The middle of the turned part goes to the middle of the mate, each hole weighed by 1 / play^2."""
    a = CASES["loose, slots in the mate"]
    turn, shift = _shifted_start(a, 1.1)
    assert turn == 1.1
    weights = 1.0 / a.play**2
    assert shift == pytest.approx(weights @ (a.mate - a.part @ spin(1.1)) / weights.sum())


def test_answers_with_their_proofs() -> None:
    for name, a in CASES.items():
        start = least_squares_start(a, 1.0 / a.play**2)
        turn, shift = minimax(a, start)
        bounds = certify(a, turn, shift)
        assert bounds.upper == pytest.approx(ratios(a, turn, shift).max())
        if bounds.everywhere:
            assert bounds.upper - bounds.lower < 1e-7 * max(1.0, bounds.upper)
        same_as_recorded(f"answer: {name}", [turn, shift, bounds], file=FILE, within=1e-6)
        away = at_random(a, 3)
        same_as_recorded(f"proof elsewhere: {name}", certify(a, *away), file=FILE)
        same_as_recorded(f"few screws: {name}", _small_minimax(a, *start), file=FILE, within=1e-6)


def test_a_pattern_that_fits_exactly_needs_no_proof() -> None:
    a = CASES["loose"]
    exact = replace(a, mate=a.part @ spin(0.7) + np.array([0.1, 0.2]))
    found = certify(exact, 0.7, np.array([0.1, 0.2]))
    assert (found.weights.tolist(), found.lower, found.everywhere) == ([0.0] * 5, 0.0, True)
    assert found.upper < 1e-12
    answer = bolt_up([joint(1, (0.0, 0.0))])
    assert isinstance(answer, BoltUp)
    assert (answer.certificate.lower, answer.certificate.proved) == (0.0, True)


def test_the_barrier_step_by_step() -> None:
    for name, a in CASES.items():
        if not a.turns and not a.basis.shape[1]:
            continue
        start = least_squares_start(a, 1.0 / a.play**2)
        steps = list(_barrier(a, *start))
        assert [s[0] for s in steps] == [3e-2, 3e-4, 3e-6, 3e-8, 1e-9]
        for gap, turn, shift, multipliers in steps:
            assert multipliers.sum() == pytest.approx(1.0)
            best = solve_ratio(a)
            assert best - 1e-9 <= float(ratios(a, turn, shift).max()) <= best * (1.0 + gap) + 1e-9
        same_as_recorded(f"barrier: {name}", steps[:3], file=FILE, within=1e-5)
        x = np.concatenate(([start[0]] if a.turns else [], start[1]))
        s = float(ratios(a, *start).max()) * 1.3
        same_as_recorded(f"centre: {name}", _centre(a, x, s, 50.0), file=FILE, within=1e-6)
        polished = _polish(a, steps[1][1], steps[1][2], steps[1][3])
        assert float(ratios(a, *polished).max()) <= float(ratios(a, steps[1][1], steps[1][2]).max())
        same_as_recorded(f"polish: {name}", polished, file=FILE, within=1e-6)


def solve_ratio(a: JointArrays) -> float:
    return float(ratios(a, *minimax(a, least_squares_start(a, 1.0 / a.play**2))).max())


def test_a_newton_step_goes_down_also_where_the_surface_bends_the_wrong_way() -> None:
    """Convex: the exact step -H^-1 g. Bent down along one axis: that axis is turned round, |value|."""
    gradient = np.array([1.0, -2.0])
    convex = np.array([[4.0, 1.0], [1.0, 3.0]])
    assert _newton_step(convex, gradient) == pytest.approx(-np.linalg.solve(convex, gradient))
    saddle = np.diag([4.0, -5.0])
    assert _newton_step(saddle, gradient) == pytest.approx([-0.25, 0.4])
    assert _newton_step(np.diag([1e8, 1e-4]), gradient) == pytest.approx([-1e-8, 2e4])


def test_the_window_of_turns_by_hand() -> None:
    """Two holes 10 from a pin, the mate's turned by 30 degrees: sum of squares 2 (100 + 100) - 400 cos v."""
    part = np.array([[10.0, 0.0], [-10.0, 0.0]])
    mate = part @ spin(math.radians(30.0))
    a = JointArrays(
        part, mate, np.array([1.0, 1.0]), np.zeros(2), np.ones((2, 2)), np.zeros(2, bool), True, NOWHERE, False
    )
    middle, width = turn_window(a, 10.0)
    assert math.degrees(middle) == pytest.approx(30.0)
    assert width == pytest.approx(math.acos((400.0 - 200.0) / 400.0))  # 2 x 10^2 allowed: 60 degrees
    assert turn_window(a, 20.0) == (0.0, math.pi)
    assert turn_window(a, 1.0)[1] == pytest.approx(math.acos(398.0 / 400.0))
    assert turn_window(replace(a, mate=1.5 * mate), 1.0)[1] == 0.0  # none can
    slotted = replace(a, half=np.array([5.0, 5.0]))
    assert turn_window(slotted, 5.0)[1] == pytest.approx(width)
    # loose: the middles count for nothing
    off = replace(a, part=part + np.array([3.0, 4.0]), mate=mate + np.array([-7.0, 1.0]), basis=PLANE)
    assert turn_window(off, 10.0) == pytest.approx((middle, width))
    point = replace(a, part=np.zeros((2, 2)))
    assert turn_window(point, 10.0) == (0.0, math.pi)


@pytest.mark.parametrize("seed", range(8))
def test_the_least_over_turns_against_a_fine_scan(seed: int) -> None:
    """z.G.z + g.z with z = (cos v - 1, sin v): all turns, and those of a window, against 20,000 places."""
    rng = np.random.default_rng(seed)
    for scale in (0.0, 0.05, 1.0):
        root = rng.normal(0.0, 1.0, (2, 2))
        g2, g1 = scale * (root @ root.T), rng.normal(0.0, 1.0, 2)
        for middle, width in ((0.0, math.pi), (float(rng.uniform(-3, 3)), 0.4), (0.1, 0.3)):
            v = middle + np.linspace(-width, width, 20_001)
            x, y = np.cos(v) - 1.0, np.sin(v)
            scan = g2[0, 0] * x * x + 2 * g2[0, 1] * x * y + g2[1, 1] * y * y + g1[0] * x + g1[1] * y
            assert _least_over_turns(g2, g1, (middle, width)) == pytest.approx(min(0.0, scan.min()), abs=1e-6)


@pytest.mark.parametrize("name", [n for n, a in CASES.items() if not a.in_part.any()])
def test_the_lower_bound_is_the_least_of_its_quadratic(name: str) -> None:
    """Slots count with the square across and the tangent of what is past the end: written out, searched by scipy."""
    a = CASES[name]
    turn, shift = at_random(a)
    weights = np.linspace(1.0, 3.0, len(a.part))
    weights /= weights.sum()
    d0 = a.part @ spin(turn) + shift @ a.basis.T - a.mate
    along0 = (d0 * a.axis).sum(axis=1)
    past0 = along0 - np.clip(along0, -a.half, a.half)
    normal = np.column_stack((-a.axis[:, 1], a.axis[:, 0]))

    def quadratic(x: Floats) -> float:
        d = a.part @ spin(float(x[0]) if a.turns else turn) + (x[int(a.turns) :] @ a.basis.T) - a.mate
        step = ((d - d0) * a.axis).sum(axis=1)
        ends = np.where(a.half == 0.0, (past0 + step) ** 2, past0**2 + 2.0 * past0 * step)
        return float((weights / a.play**2) @ (((d * normal).sum(axis=1)) ** 2 + ends))

    size = int(a.turns) + a.basis.shape[1]
    start = np.concatenate(([turn] if a.turns else [], shift))
    least = quadratic(start)
    for k in range(3 if size else 0):
        begin = start + (0.0 if k == 0 else np.random.default_rng(k).normal(0.0, 0.02, size))
        found = minimize(quadratic, begin, method="BFGS", options={"gtol": 1e-9})
        again = minimize(
            quadratic, found.x, method="Nelder-Mead", options={"xatol": 1e-12, "fatol": 1e-13, "maxiter": 2000}
        )
        least = min(least, float(again.fun))
    assert lower_bound(a, turn, shift, weights) == pytest.approx(math.sqrt(max(0.0, least)), abs=2e-5)
    same_as_recorded(f"lower bound: {name}", lower_bound(a, turn, shift, weights), file=FILE)
    if a.turns:
        same_as_recorded(
            f"within a window: {name}", lower_bound(a, turn, shift, weights, (turn + 0.1, 0.05)), file=FILE
        )


def test_a_shift_that_no_slot_settles_gives_no_bound_beyond_reach() -> None:
    """Two slots along X alone: a shift along X costs nothing while both stand within their slots."""
    part = np.array([[-1.0, 0.0], [1.0, 0.0]])
    mate = np.array([[-1.0, 0.01], [1.0, -0.01]])
    a = JointArrays(
        part, mate, np.full(2, 0.02), np.full(2, 0.5), np.array([[1.0, 0.0]] * 2), np.zeros(2, bool), False, PLANE, True
    )
    assert lower_bound(a, 0.0, np.zeros(2), np.array([0.5, 0.5])) == pytest.approx(0.5)
    # past their ends by 0.1 each the tangent falls for ever: no bound above zero is left
    beyond = replace(a, mate=mate + np.array([0.6, 0.0]))
    assert lower_bound(beyond, 0.0, np.zeros(2), np.array([0.5, 0.5])) == 0.0


def test_the_active_set_step_by_step() -> None:
    """By hand: a column that points away gets nothing; equal columns share; a zero right side needs nothing."""
    assert nonnegative_solution(np.array([[1.0, -1.0]]), np.array([2.0])).tolist() == [2.0, 0.0]
    assert nonnegative_solution(np.eye(3), np.array([1.0, -2.0, 3.0])).tolist() == [1.0, 0.0, 3.0]
    assert nonnegative_solution(np.eye(2), np.zeros(2)).tolist() == [0.0, 0.0]
    assert nonnegative_solution(-np.eye(2), np.array([1.0, 1.0])).tolist() == [0.0, 0.0]
    small = nonnegative_solution(1e-4 * np.eye(2), np.array([3e-4, 1e-4]))
    assert small == pytest.approx([3.0, 1.0])


# Trials -----------------------------------------------------------------------------------------------------------


def trials_of(seed: int, basis: Floats, *, turns: bool, slots: bool, count: int = 12) -> _Trials:
    rng = np.random.default_rng(seed)
    n = 4
    part = rng.uniform(-30.0, 30.0, (n, 2)) + np.zeros((count, 1, 1))
    mate = part @ spin(0.003 if turns else 0.0) + rng.normal(0.0, 0.1, part.shape)
    half = np.array([0.3, 0.0, 0.2, 0.0]) * float(slots)
    angle = rng.uniform(-2.0, 2.0, n)
    axis = np.column_stack((np.cos(angle), np.sin(angle)))
    return _Trials(part, mate, np.array([0.2, 0.3, 0.25, 0.35]), half, axis, turns, basis)


TRIALS = {
    f"{where}{', slots' if slots else ''}": trials_of(k, basis, turns=turns, slots=slots)
    for slots in (False, True)
    for k, (where, basis, turns) in enumerate(
        (("loose", PLANE, True), ("parallel", PLANE, False), ("guided", ALONG, False), ("pin", NOWHERE, True),
         ("held", NOWHERE, False))
    )
}  # fmt: skip


@pytest.mark.parametrize("name", TRIALS)
def test_quick_bounds_trial_by_trial(name: str) -> None:
    """The fit of each trial by itself: its ratios; its bound is the least weighted square over the allowed motions."""
    t = TRIALS[name]
    weights = np.random.default_rng(5).dirichlet(np.ones(4), len(t.part))
    upper, lower, found, goal = _bounds(t, weights, t.mate)
    same_as_recorded(f"quick bounds: {name}", [upper, lower, found, goal], file=FILE)
    for k in range(4):
        axis = t.axis if t.half.any() else np.array([[1.0, 0.0]] * 4)
        a = JointArrays(
            t.part[k], t.mate[k], t.play, t.half, axis, np.zeros(4, bool), t.turns, t.basis, bool(t.half.any())
        )
        # one round of the fit, the slots taken at their middles
        turn, shift = least_squares_start(replace(a, slotted=False), weights[k] / t.play**2)
        assert found[k] == pytest.approx(ratios(a, turn, shift), abs=1e-9)
        assert upper[k] == pytest.approx(found[k].max())
        d = a.part @ spin(turn) + shift @ a.basis.T - a.mate
        on_slot = np.clip((d * t.axis).sum(axis=1), -t.half, t.half)
        assert goal[k] == pytest.approx(a.mate + on_slot[:, None] * t.axis)
        if not a.slotted and (a.turns or a.basis.shape[1]):
            assert lower[k] == pytest.approx(math.sqrt(float(weights[k] @ found[k] ** 2)))
            assert lower[k] == pytest.approx(lower_bound(a, turn, shift, weights[k]), abs=1e-7)
        elif not a.slotted:
            assert lower[k] == upper[k]


@pytest.mark.parametrize("name", [n for n in TRIALS if n.endswith("slots") and not n.startswith("held")])
def test_bounds_with_slots_are_those_of_the_exact_proof(name: str) -> None:
    """Where the quick bound is sure of itself it equals that of the proof, over the turns that a ratio of 1 allows."""
    t = TRIALS[name]
    weights = np.random.default_rng(6).dirichlet(np.ones(4) * 4.0, len(t.part))
    _, lower, _, _ = _bounds(t, weights, t.mate)
    sure = 0
    for k in range(len(t.part)):
        a = JointArrays(t.part[k], t.mate[k], t.play, t.half, t.axis, np.zeros(4, bool), t.turns, t.basis, True)
        turn, shift = least_squares_start(replace(a, slotted=False), weights[k] / t.play**2)
        if lower[k] == math.inf:
            continue
        window = turn_window(a, 1.0) if a.turns else None
        exact = lower_bound(a, turn, shift, weights[k], window)
        assert lower[k] == 0.0 or lower[k] == pytest.approx(exact, abs=1e-6)
        sure += lower[k] > 0.0
    assert sure >= 8


def test_no_bound_where_slots_leave_a_shift_open() -> None:
    """Both slots run along X, and the part may slide: the block of the shifts is singular, so nothing is claimed."""
    t = replace(TRIALS["parallel, slots"], half=np.full(4, 0.3), axis=np.array([[1.0, 0.0]] * 4))
    _, lower, _, _ = _bounds(t, np.full((len(t.part), 4), 0.25), t.mate)
    assert lower.tolist() == [0.0] * len(t.part)
    across = replace(t, axis=np.array([[1.0, 0.0], [0.0, 1.0]] * 2))
    assert (_bounds(across, np.full((len(t.part), 4), 0.25), t.mate)[1] > 0.0).any()


def test_a_turn_told_a_whole_turn_too_far_is_the_same() -> None:
    t = TRIALS["pin, slots"]
    h = np.zeros((len(t.part), 2, 2)) + np.diag([1.0, 900.0])
    g = np.full((len(t.part), 2), 3.0)
    turn = np.full(len(t.part), 0.003)
    drop, sure = _least_in_window(t, turn, h, g)
    assert (drop < 0.0).all()
    for whole in (math.tau, -math.tau):
        again, still = _least_in_window(t, turn + whole, h, g)
        assert again == pytest.approx(drop)
        assert still.tolist() == sure.tolist()


def test_trials_that_no_turn_allows_are_told_apart() -> None:
    """Patterns of different size about a pin: no turn brings all screws within their plays; the bound is infinite."""
    t = TRIALS["pin, slots"]
    far = replace(t, mate=t.mate * 1.2)
    h = np.zeros((len(t.part), 2, 2)) + np.eye(2)
    g = np.zeros((len(t.part), 2))
    drop, sure = _least_in_window(far, np.zeros(len(t.part)), h, g)
    assert np.isinf(drop).all()
    assert sure.all()
    assert np.isinf(_bounds(far, np.full((len(t.part), 4), 0.25), far.mate)[1]).all()


def test_the_least_is_sure_where_the_curve_bends_up_all_over_the_window() -> None:
    """The bend at the middle has to exceed half the window times the most that a bend can change by.

    With h = diag(1, 10) and g = (4, 20) the derivative is 9 sin 2v - 2 sin v + 20 cos v: at 0 it bends by 18 - 2 = 16,
    which changes by 4 x 9 + 2 + 20 = 58 a radian at most: sure up to 16 / 58. With h12 = 3: 9 sin 2v + 6 cos 2v -
    2 sin v + 14 cos v, at most 4 (9 + 6) + 2 + 14 = 76. Two holes 10 from a pin allow 200 (1 - cos w) = play^2.
    """
    for h12, most in ((0.0, 58.0), (3.0, 76.0)):
        for share, sure in ((0.99, True), (1.01, False)):
            play = math.sqrt(200.0 * (1.0 - math.cos(share * 16.0 / most)))
            holes = np.array([[[10.0, 0.0], [-10.0, 0.0]]])
            t = _Trials(holes, holes, np.full(2, play), np.zeros(2), np.array([[1.0, 0.0]] * 2), True, NOWHERE)
            found = _least_in_window(t, np.zeros(1), np.array([[[1.0, h12], [h12, 10.0]]]), np.array([[4.0, 20.0]]))[1]
            assert found.tolist() == [sure]


@pytest.mark.parametrize("seed", range(6))
def test_the_least_in_the_window_against_scipy(seed: int) -> None:
    """A convex quadratic in (cos v - 1, sin v) over the turns that are possible: the same as a bounded search."""
    t = TRIALS["loose, slots" if seed % 2 else "pin, slots"]
    rng = np.random.default_rng(seed)
    b = len(t.part)
    root = rng.normal(0.0, 20.0, (b, 2, 2))
    h = root @ np.swapaxes(root, 1, 2) + np.array([[1.0, 0.0], [0.0, 900.0]])
    g = rng.normal(0.0, 5.0, (b, 2))
    turn = rng.normal(0.003, 0.002, b)
    drop, sure = _least_in_window(t, turn, h, g)
    for k in range(b):
        a = JointArrays(t.part[k], t.mate[k], t.play, t.half, t.axis, np.zeros(4, bool), True, t.basis, True)
        middle, width = turn_window(a, 1.0)

        def value(v: float, h: Floats = h[k], g: Floats = g[k]) -> float:
            z = np.array([math.cos(v) - 1.0, math.sin(v)])
            return float(z @ h @ z + g @ z)

        low, high = middle - turn[k] - width, middle - turn[k] + width
        best = minimize_scalar(value, bounds=(low, high), method="bounded", options={"xatol": 1e-13}).fun
        if sure[k]:
            assert drop[k] == pytest.approx(min(best, value(low), value(high)), abs=1e-6)
    assert sure.sum() >= b // 2
    same_as_recorded(f"least in the window {seed}", [drop, sure], file=FILE, within=1e-6)


MOTIONS = {
    "loose": Motion(),
    "parallel": Motion(Freedom.SHIFT),
    "guided": Motion(Freedom.ALONG, direction_deg=20.0),
    "pin": Motion(Freedom.ABOUT, pivot=(5.0, 3.0)),
    "held": Motion(Freedom.HELD),
}


def outcomes(
    motion: Motion, slots: str, count: int = 40
) -> tuple[Floats, Floats, Floats, Floats, Floats, NDArray[np.bool_], Motion]:
    rng = np.random.default_rng(17)
    n = 5
    base = rng.uniform(-40, 40, (n, 2))
    part, mate = base + rng.normal(0, 0.1, (count, n, 2)), base + rng.normal(0, 0.1, (count, n, 2))
    half = np.zeros(n) if slots == "none" else np.array([0.0, 0.5, 0.0, 0.2, 0.1])
    in_part = (half > 0) & np.array(
        [slots in ("part", "both"), slots in ("part", "both"), False, slots == "part", slots == "part"]
    )
    angle = rng.uniform(-2, 2, n)
    axis = np.column_stack((np.cos(angle), np.sin(angle)))
    return part, mate, np.array([0.2, 0.25, 0.3, 0.25, 0.2]), half, axis, in_part, motion


@pytest.mark.parametrize("motion", MOTIONS)
def test_trials_as_recorded(motion: str) -> None:
    """Which go together, how many were left to the exact solver, and which screws hold the failed ones back."""
    for slots in ("none", "part", "mate"):
        found = trial_outcomes(*outcomes(MOTIONS[motion], slots))
        same_as_recorded(f"trials: {motion}, slots {slots}", found, file=FILE, within=1e-6)
        is_open, entered = _by_bounds(*outcomes(MOTIONS[motion], slots))
        same_as_recorded(f"by bounds: {motion}, slots {slots}", [is_open, entered], file=FILE)


def test_slots_in_both_members_are_left_to_the_exact_solver() -> None:
    case = outcomes(MOTIONS["loose"], "both", 1)
    is_open, entered = _by_bounds(*case)
    assert is_open.all()
    assert not entered.any()
    assert trial_outcomes(*case).solved == 1
    # a part that cannot turn carries no slot round: then the bounds speak
    assert not _by_bounds(*outcomes(MOTIONS["parallel"], "both", 4))[0].all()


def test_trials_in_pieces_are_those_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    case = outcomes(MOTIONS["parallel"], "mate")
    at_once = trial_outcomes(*case)
    for chunk in (1, 5, 12, 35):  # of 5 screws each: one trial at a time, one, two, seven
        monkeypatch.setattr(assembly_trials, "CHUNK", chunk)
        pieces = trial_outcomes(*case)
        assert pieces.entered.tolist() == at_once.entered.tolist()
        assert pieces.solved == at_once.solved
        assert pieces.blame == pytest.approx(at_once.blame)


@pytest.mark.parametrize("rounds", [1, 2, 3])
def test_how_soon_the_bounds_decide(rounds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """After few rounds some trials are still open; none that is decided is decided wrongly."""
    monkeypatch.setattr(assembly_trials, "ROUNDS", rounds)
    for motion in ("loose", "parallel", "pin"):
        case = outcomes(MOTIONS[motion], "mate")
        is_open, entered = _by_bounds(*case)
        same_as_recorded(f"after {rounds} rounds: {motion}", [is_open, entered], file=FILE)


def test_trials_are_taken_as_many_at_once_as_the_memory_is_meant_to_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 5 screws each, 12 screws in one go: two trials; 4 screws: one."""
    kept, sizes = assembly_trials._by_bounds, []

    def counted(part: Floats, *rest: object) -> object:
        sizes.append(len(part))
        return kept(part, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(assembly_trials, "_by_bounds", counted)
    for chunk, first, calls in ((12, 2, 20), (4, 1, 40), (200_000, 40, 1)):
        sizes.clear()
        monkeypatch.setattr(assembly_trials, "CHUNK", chunk)
        trial_outcomes(*outcomes(MOTIONS["parallel"], "none"))
        assert (sizes[0], len(sizes)) == (first, calls)


def test_the_blame_is_the_mean_of_the_first_failed_trials() -> None:
    case = outcomes(MOTIONS["held"], "none", 60)
    found = trial_outcomes(*case)
    failed = np.flatnonzero(~found.entered)
    assert len(failed) > 30
    part, mate, play = case[:3]
    worst = [int(np.argmax(np.hypot(*(part[k] - mate[k]).T) / play)) for k in failed[:30]]
    assert found.blame == pytest.approx(np.bincount(worst, minlength=5) / 30.0)


# Chance -----------------------------------------------------------------------------------------------------------


OFF = {1: (0.05, -0.02), 2: (-0.12, 0.08), 3: (0.02, 0.15), 4: (0.1, 0.03), 5: (-0.04, -0.1)}


def joint(number: int, at: Point, *, hole: JointHole | None = None, mate: JointHole | None = None) -> Joint:
    x, y = OFF[number]
    return Joint(number, at, (at[0] + x, at[1] + y), hole or RoundHole(4.5), mate or TappedHole(), 4.0)


ROW = [joint(1, (0.0, 0.0)), joint(2, (40.0, 0.0), hole=SlottedHole(4.4, 5.0, 25.0)), joint(3, (20.0, 30.0))]


def test_chances_as_recorded() -> None:
    doubts = [JointDoubt(0.15, 0.02), JointDoubt(0.12), JointDoubt(0.18, 0.05)]
    for name in ("loose", "pin"):
        motion = MOTIONS[name]
        reference = ReferenceDoubt(30.0, 0.1, 0.05, 0.05, (5.0, 5.0), ())
        found = chance_of_assembly(ROW, doubts, reference=reference, motion=motion, trials=60)
        same_as_recorded(f"chance: {name}", found, file=FILE, within=1e-6)
    start = Motion(Freedom.SHIFT, start=Placement(40.0, (3.0, 4.0), True))
    moved = [replace(j, mate_xy=start.start.apply(j.mate_xy)) for j in ROW]
    same_as_recorded(
        "chance: mirrored", chance_of_assembly(moved, doubts, motion=start, trials=60), file=FILE, within=1e-6
    )
    assert chance_of_assembly(ROW, doubts, trials=50, seed=3, confidence=0.8).seed == 3
    assert chance_of_assembly(ROW, doubts, trials=1).total.trials == 1


def test_the_whole_pattern_is_moved_along_across_and_about_its_steady_point() -> None:
    """Along 90 degrees: a draw of 2 moves by 2 x 0.3 up, one of -1 across by +0.1; 3 x 30 degrees are a right angle."""
    reference = ReferenceDoubt(90.0, 0.3, 0.1, 30.0, (10.0, 0.0), ())
    part = np.zeros((2, 2, 2)) + np.array([[10.0, 0.0], [15.0, 0.0]])
    draws = _Draws(np.zeros(0), np.zeros(0), np.array([[2.0, -1.0], [0.0, 1.0]]), np.array([3.0, 0.0]))
    moved = _moved_as_one(part, reference, draws)
    assert moved[0] == pytest.approx(np.array([[10.1, 0.6], [10.1, 5.6]]))
    assert moved[1] == pytest.approx(np.array([[9.9, 0.0], [14.9, 0.0]]))


def test_an_estimate_counts_its_trials() -> None:
    draws = _Draws(np.zeros((4, 1, 2)), np.zeros((4, 1, 2)), np.zeros((4, 2)), np.zeros(4))
    case = _Case((ROW[0],), (JointDoubt(0.1),), Motion(), draws, 0.95)
    found = case.estimate(np.array([True, False, True, True]))
    assert (found.chance, found.entered, found.trials) == (0.75, 3, 4)
    assert found.low < 0.75 < found.high


def test_doubts_move_each_hole_by_its_own_draw() -> None:
    """Held: the hole's draw times its doubt, part and mate apart, decides; nothing where drilling is left out."""
    part_draw, mate_draw = np.zeros((3, 1, 2)), np.zeros((3, 1, 2))
    part_draw[0, 0, 0], mate_draw[1, 0, 1] = 3.0, 3.0
    case = _Case(
        (Joint(1, (5.0, 5.0), (5.0, 5.0), RoundHole(4.5), TappedHole(), 4.0),), (JointDoubt(0.1, 0.05),),
        Motion(Freedom.HELD), _Draws(part_draw, mate_draw, np.zeros((3, 2)), np.zeros(3)), 0.95,
    )  # fmt: skip
    assert case.outcomes(None, drilling=True).entered.tolist() == [False, True, True]  # 0.3 against 0.25 of play, 0.15
    assert case.outcomes(None, drilling=False).entered.tolist() == [True, True, True]


@pytest.mark.parametrize("values", [(math.nan, 0.0), (0.0, math.inf), (0.1, -0.1)])
def test_doubts_that_are_none(values: tuple[float, float]) -> None:
    with pytest.raises(InputError, match="doubt of a hole's place: expected zero or more"):
        JointDoubt(*values)


# Bolt-up ----------------------------------------------------------------------------------------------------------


def test_bolt_ups_in_full() -> None:
    joints = [
        joint(1, (0.0, 0.0)), joint(2, (40.0, 1.0), hole=SlottedHole(4.4, 5.0, 25.0)), joint(3, (20.0, 30.0)),
        joint(4, (-15.0, 22.0), hole=TappedHole(1.0), mate=RoundHole(4.6)),
    ]  # fmt: skip
    both = [*joints, joint(5, (9.0, -20.0), hole=TappedHole(), mate=SlottedHole(4.5, 6.0, 80.0))]
    for name, motion in MOTIONS.items():
        same_as_recorded(f"bolt-up: {name}", bolt_up(joints, motion=motion), file=FILE, within=1e-6)
        same_as_recorded(f"bolt-up, slots in both: {name}", bolt_up(both, motion=motion), file=FILE, within=1e-6)
    flipped = [replace(j, mate_xy=(-j.mate_xy[0], j.mate_xy[1])) for j in joints]
    found = bolt_up(flipped)
    assert not hasattr(found, "plays")
    same_as_recorded("bolt-up: mirrored", found, file=FILE, within=1e-6)


def test_joints_as_centred_arrays() -> None:
    """Loose: each pattern about its own middle; about a pin both about the pin; else both about the mate's middle."""
    joints = [joint(1, (0.0, 0.0)), joint(2, (40.0, 0.0)), joint(3, (20.0, 30.0))]
    loose = prepare(joints, Motion())
    assert loose.part_centre == pytest.approx([20.0, 10.0])
    assert loose.mate_centre == pytest.approx([20.0 - 0.05 / 3, 10.07])
    assert loose.size == pytest.approx(20.08)  # the mate's third hole lies highest
    assert loose.arrays.part * loose.size == pytest.approx(np.array([[-20.0, -10.0], [20.0, -10.0], [0.0, 20.0]]))
    assert loose.arrays.play * loose.size == pytest.approx([0.25] * 3)
    pin = prepare(joints, Motion(Freedom.ABOUT, pivot=(1.0, 2.0)))
    assert pin.part_centre.tolist() == pin.mate_centre.tolist() == [1.0, 2.0]
    assert pin.arrays.basis.shape == (2, 0)
    held = prepare(joints, Motion(Freedom.HELD))
    assert held.part_centre == pytest.approx([20.0 - 0.05 / 3, 10.07])
    assert (held.arrays.turns, pin.arrays.turns, loose.arrays.turns) == (False, True, True)
    back = loose.placement(0.3, np.array([0.001, -0.002]))
    assert back.apply((20.0, 10.0)) == pytest.approx((20.0 - 0.05 / 3 + 0.001 * loose.size, 10.07 - 0.002 * loose.size))
    assert back.turn_deg == pytest.approx(math.degrees(0.3))
    same = prepare_arrays(
        np.zeros((2, 2)), np.zeros((2, 2)), np.full(2, 0.25), np.zeros(2), np.ones((2, 2)), np.zeros(2, bool), Motion()
    )
    assert not same.arrays.turns
    assert same.size == 0.25
    for name, motion in MOTIONS.items():
        prepared = prepare(ROW, motion)
        a = prepared.arrays
        same_as_recorded(
            f"prepared: {name}",
            [a.part, a.mate, a.play, a.half, a.axis, a.in_part, a.turns, a.basis, a.slotted, prepared.size,
             prepared.exchanged, prepared.placement(0.1, np.full(a.basis.shape[1], 0.01))],
            file=FILE,
        )  # fmt: skip


def test_seen_from_the_part_where_all_slots_are_its() -> None:
    assert must_exchange(np.array([1.0, 0.0]), np.array([True, False]))
    assert not must_exchange(np.array([1.0, 1.0]), np.array([True, False]))
    assert not must_exchange(np.array([1.0, 0.0]), np.array([False, False]))


def test_several_starts_where_the_first_is_not_proved() -> None:
    """Slots of part and mate, and patterns that do not match: the best of eight starts is kept, as recorded."""
    rng = np.random.default_rng(19)
    part = rng.uniform(-20, 20, (4, 2))
    mate = part @ spin(0.3) + rng.uniform(-12, 12, (4, 2))
    holes: list[tuple[JointHole, JointHole]] = [
        (SlottedHole(4.5, 20.0, 30.0), TappedHole()), (TappedHole(), SlottedHole(4.5, 28.0, -50.0)),
        (RoundHole(5.0), TappedHole()), (RoundHole(4.6), TappedHole()),
    ]  # fmt: skip
    joints = [
        Joint(i + 1, (float(p[0]), float(p[1])), (float(c[0]), float(c[1])), *h, 4.0)
        for i, (p, c, h) in enumerate(zip(part, mate, holes, strict=True))
    ]
    prepared = prepare(joints, Motion())
    turn, shift, bounds = solve(prepared)
    starts = [least_squares_start(prepared.arrays, 1.0 / prepared.arrays.play**2)]
    starts.append(_shifted_start(prepared.arrays, starts[0][0] + math.pi / 2.0))
    every = [float(ratios(prepared.arrays, *minimax(prepared.arrays, s)).max()) for s in starts]
    assert bounds.upper == pytest.approx(min(every))
    assert max(every) > min(every) + 0.1
    assert bounds.lower < bounds.upper
    same_as_recorded("several starts", [turn, shift, bounds], file=FILE, within=1e-6)


def test_offsets_by_hand() -> None:
    """The part's hole 3 right and 4 up of the mate's; a slot of half length 2 at 90 degrees takes 2 of the 4."""
    j = Joint(1, (3.0, 4.0), (0.0, 0.0), RoundHole(4.5), TappedHole(), 4.0)
    plain = ScrewPlay(0.25)
    assert _offset(j, plain, Placement()) == ((3.0, 4.0), 5.0)
    assert _offset(j, ScrewPlay(0.25, 2.0, 90.0, "mate"), Placement())[1] == pytest.approx(math.hypot(3.0, 2.0))
    assert _offset(j, ScrewPlay(0.25, 5.0, 90.0, "mate"), Placement())[1] == pytest.approx(3.0)
    turned = Placement(90.0)  # the part's hole comes to (-4, 3); its slot along X turns to Y
    assert _offset(j, ScrewPlay(0.25, 2.0, 0.0, "part"), turned)[1] == pytest.approx(math.hypot(1.0, 4.0))
    assert _offset(j, ScrewPlay(0.25, 2.0, 0.0, "mate"), turned)[1] == pytest.approx(math.hypot(2.0, 3.0))


# Play -------------------------------------------------------------------------------------------------------------


def told(play: ScrewPlay) -> tuple[object, ...]:
    """The figures of a play, rounded to a nanometre."""
    terms = tuple((t.name, round(t.amount, 6)) for t in play.terms)
    return round(play.play, 6), play.slot_half_length, play.slot_direction_deg, play.slot_member, terms


def test_plays_in_full() -> None:
    assert told(screw_play(part=RoundHole(5.0), mate=RoundHole(4.4), screw=4.0)) == (
        0.7, 0.0, 0.0, None, (("clearance hole in the part", 0.5), ("clearance hole in the mate", 0.2)),
    )  # fmt: skip
    slot = screw_play(part=SlottedHole(4.5, 7.5, 20.0), mate=TappedHole(2.0), screw=4.0, plate_thickness=3.0)
    lean = 3.0 * math.tan(math.radians(2.0))
    assert told(slot) == (
        round(0.25 - lean, 6), 1.5, 20.0, "part",
        (("slot width in the part", 0.25), ("thread in the mate", 0.0),
         ("thread in the mate leans 2 deg", round(-lean, 6))),
    )  # fmt: skip
    assert told(screw_play(part=CountersunkHole(0.04), mate=TappedHole(), screw=4.0)) == (
        0.04, 0.0, 0.0, None,
        (("countersunk head in the part", 0.0), ("thread in the mate", 0.0),
         ("seat tolerance of the head in the part", 0.04)),
    )  # fmt: skip
    # beside a clearance hole the head gives nothing, and needs not to
    assert screw_play(part=CountersunkHole(), mate=RoundHole(4.5), screw=4.0).play == 0.25
    assert screw_play(part=SlottedHole(4.5, 4.5, 20.0), mate=TappedHole(), screw=4.0).slot_member is None
    # a screw thicker than one of its holes does not enter, however wide the other is
    assert screw_play(part=RoundHole(9.0), mate=RoundHole(3.8), screw=4.0).play == pytest.approx(-0.1)
    mate_slot = screw_play(part=TappedHole(), mate=SlottedHole(5.0, 9.0, -30.0), screw=4.0)
    assert told(mate_slot)[:4] == (0.5, 2.0, -30.0, "mate")


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: RoundHole(0.0), r"hole diameter 0\.0 mm: expected a finite size above zero"),
        (lambda: RoundHole(math.inf), "hole diameter inf mm"),
        (lambda: SlottedHole(0.0, 5.0), r"slot width 0\.0 mm"),
        (lambda: SlottedHole(4.0, math.nan), "slot length nan mm"),
        (lambda: SlottedHole(math.nan, 4.0), "slot width nan mm"),
        (lambda: SlottedHole(-2.0, -1.0), r"slot width -2\.0 mm"),
        (lambda: SlottedHole(5.0, 4.9), r"slot 4\.9 mm long and 5\.0 mm wide: length is measured over both ends"),
        (lambda: SlottedHole(5.0, 6.0, math.inf), "slot direction inf deg: expected a finite angle"),
        (lambda: TappedHole(-0.1), r"lean -0\.1 deg: expected 0 to 45"),
        (lambda: TappedHole(45.0), r"lean 45\.0 deg"),
        (lambda: CountersunkHole(0.0), r"seat tolerance 0\.0 mm"),
        (lambda: ScrewPlay(math.nan), "expected finite figures and a slot length not below zero"),
        (lambda: ScrewPlay(0.1, -0.1), "expected finite figures and a slot length not below zero"),
        (lambda: ScrewPlay(0.1, 0.1, math.inf, "part"), "expected finite figures and a slot length not below zero"),
        (lambda: ScrewPlay(0.1, 0.1), "a slot needs the member that it is cut in, part or mate"),
        (lambda: screw_play(part=RoundHole(5.0), mate=TappedHole(), screw=0.0), r"screw diameter 0\.0 mm"),
        (
            lambda: screw_play(part=RoundHole(5.0), mate=TappedHole(), screw=4.0, plate_thickness=-1.0),
            r"plate thickness -1\.0 mm: expected zero or more",
        ),
        (
            lambda: screw_play(part=RoundHole(5.0), mate=TappedHole(), screw=4.0, plate_thickness=math.inf),
            "plate thickness inf mm",
        ),
        (lambda: screw_play(part=TappedHole(), mate=TappedHole(), screw=4.0), "both holes are threaded"),
        (lambda: screw_play(part=CountersunkHole(), mate=CountersunkHole(), screw=4.0), "both holes are countersunk"),
        (lambda: screw_play(part=SlottedHole(4.5, 5), mate=SlottedHole(4.5, 5), screw=4.0), "slots in both members"),
        (lambda: Motion(pivot=(0.0, math.nan)), "motion: expected finite figures"),
        (lambda: Joint(1, (0.0, 0.0), (0.0, math.inf), RoundHole(4.5), TappedHole(), 4.0), "screw 1: expected finite"),
    ],
)
def test_joints_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]


def test_sizes_at_their_limits_are_taken() -> None:
    assert SlottedHole(5.0, 5.0).length == 5.0
    assert TappedHole(0.0).lean_deg == 0.0
    assert TappedHole(44.9).lean_deg == 44.9
    assert ScrewPlay(-0.1).slot_half_length == 0.0
    assert screw_play(part=RoundHole(5.0), mate=TappedHole(), screw=4.0, plate_thickness=0.0).play == 0.5


def test_motions_say_what_may_move() -> None:
    assert [Motion(f).turns for f in Freedom] == [True, False, False, True, False]
    assert Motion().shift_directions == ((1.0, 0.0), (0.0, 1.0))
    assert Motion(Freedom.SHIFT).shift_directions == ((1.0, 0.0), (0.0, 1.0))
    (way,) = Motion(Freedom.ALONG, direction_deg=30.0).shift_directions
    assert way == pytest.approx((math.cos(math.radians(30.0)), 0.5))
    assert Motion(Freedom.ABOUT).shift_directions == Motion(Freedom.HELD).shift_directions == ()
