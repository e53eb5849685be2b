"""The chance of assembly against closed forms, the exact solver trial by trial, and the interval's published values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import binomtest, ncx2, rice

from holecam.errors import InputError
from holecam.layout.assembly_chance import AssemblyChance, Estimate, JointDoubt, chance_of_assembly, wilson_interval
from holecam.layout.assembly_trials import _bounds, _Trials, trial_outcomes
from holecam.layout.bolt_up import JUST_ENTERS, Joint, prepare_arrays, solve
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import RoundHole, SlottedHole, TappedHole
from holecam.layout.reference_doubt import ReferenceDoubt
from holecam.shapes import Placement, Point

SCREW = 4.0
HELD = Motion(Freedom.HELD)


def joint(number: int, at: Point, *, play: float = 0.25, off: Point = (0.0, 0.0)) -> Joint:
    return Joint(
        number, at, (at[0] + off[0], at[1] + off[1]), RoundHole(SCREW + 2 * play), TappedHole(), SCREW
    )  # fmt: skip


def agrees(estimate: Estimate, expected: float, *, spreads: float = 4.0) -> bool:
    """Whether the estimate lies within so many standard deviations of the expected chance: 4 fail once in 16,000."""
    return abs(estimate.chance - expected) <= spreads * math.sqrt(expected * (1 - expected) / estimate.trials) + 1e-12


@pytest.mark.outside_check(
    subject="chance of assembly",
    source="Rayleigh distribution: 1 - exp(-r^2 / (2 s^2))",
    closeness="four spreads of the trials",
    standing="mathematics",
)
@pytest.mark.parametrize(("sigma", "play"), [(0.1, 0.25), (0.25, 0.25), (0.4, 0.3)])
def test_one_held_screw_is_rayleigh(sigma: float, play: float) -> None:
    # 1 - exp(-r^2 / (2 s^2)): two equal normal errors at right angles
    answer = chance_of_assembly([joint(1, (0, 0), play=play)], [JointDoubt(sigma)], motion=HELD)
    assert agrees(answer.total, 1 - math.exp(-(play**2) / (2 * sigma**2)))
    shared = chance_of_assembly([joint(1, (0, 0), play=play)], [JointDoubt(0.6 * sigma, 0.8 * sigma)], motion=HELD)
    assert agrees(shared.total, 1 - math.exp(-(play**2) / (2 * sigma**2)))


def test_one_loose_screw_always_enters() -> None:
    assert chance_of_assembly([joint(1, (0, 0))], [JointDoubt(5.0)], trials=500).total.chance == 1.0


def test_held_pattern_is_a_product() -> None:
    joints = [joint(k, (20.0 * k, 0), play=0.2 + 0.05 * k) for k in range(1, 5)]
    sigmas = [0.15, 0.2, 0.1, 0.25]
    expected = math.prod(
        1 - math.exp(-((0.2 + 0.05 * k) ** 2) / (2 * s**2)) for k, s in zip(range(1, 5), sigmas, strict=True)
    )
    answer = chance_of_assembly(joints, [JointDoubt(s) for s in sigmas], motion=HELD)
    assert agrees(answer.total, expected)
    assert answer.solved == 0


@pytest.mark.outside_check(
    subject="chance of assembly",
    source="scipy: noncentral chi-square",
    closeness="four spreads of the trials",
    standing="library",
)
def test_held_screw_off_its_place_is_noncentral_chi_square() -> None:
    answer = chance_of_assembly([joint(1, (0, 0), off=(0.1, 0.05))], [JointDoubt(0.15)], motion=HELD)
    assert agrees(answer.total, float(ncx2.cdf(0.25**2 / 0.15**2, 2, (0.1**2 + 0.05**2) / 0.15**2)))


def test_two_loose_screws_depend_on_their_distance_alone() -> None:
    # the distance of two scattered points is Rice distributed; both enter iff it fits within both plays
    sigma, length, play = 0.2, 30.0, 0.25
    spread = math.sqrt(2) * sigma
    expected = float(
        rice.cdf((length + 2 * play) / spread, length / spread)
        - rice.cdf((length - 2 * play) / spread, length / spread)
    )
    joints = [joint(1, (0, 0), play=play), joint(2, (length, 0), play=play)]
    answer = chance_of_assembly(joints, [JointDoubt(sigma)] * 2)
    assert agrees(answer.total, expected)


def test_two_screws_kept_parallel() -> None:
    sigma, play = 0.2, 0.25
    joints = [joint(1, (0, 0), play=play), joint(2, (30, 0), play=play)]
    answer = chance_of_assembly(joints, [JointDoubt(sigma)] * 2, motion=Motion(Freedom.SHIFT))
    assert agrees(answer.total, 1 - math.exp(-((2 * play) ** 2) / (2 * 2 * sigma**2)))


def reference(together: float, turn_deg: float = 0.0, steady: Point = (0.0, 0.0)) -> ReferenceDoubt:
    return ReferenceDoubt(30.0, together, together, turn_deg, steady, ())


def test_reference_doubt_moves_a_held_pattern_as_one() -> None:
    joints = [joint(k, (10.0 * k, 5.0)) for k in range(1, 4)]
    answer = chance_of_assembly(joints, [JointDoubt(0.0)] * 3, reference=reference(0.2), motion=HELD)
    expected = 1 - math.exp(-(0.25**2) / (2 * 0.2**2))  # one screw enters exactly when all do
    assert agrees(answer.total, expected)
    assert answer.reference_alone is not None
    assert answer.drilling_alone is not None
    assert answer.reference_alone.chance == answer.total.chance
    assert answer.drilling_alone.chance == 1.0


def test_a_doubtful_direction_turns_the_pattern() -> None:
    # one hole 100 mm from the steady point, direction doubt d: chord 2 L sin(a/2) within the play
    doubt = 0.15
    answer = chance_of_assembly(
        [joint(1, (100.0, 0.0))], [JointDoubt(0.0)], reference=reference(0.0, doubt), motion=HELD
    )
    limit = 2 * math.asin(0.25 / 200.0)
    assert agrees(answer.total, math.erf(limit / math.radians(doubt) / math.sqrt(2)))


def test_a_loose_part_forgives_the_reference() -> None:
    joints = [joint(k, (15.0 * k, (7.0 * k) % 11)) for k in range(1, 5)]
    answer = chance_of_assembly(joints, [JointDoubt(0.12)] * 4, reference=reference(2.0, 1.0), trials=4000)
    assert answer.reference_alone is not None
    assert answer.drilling_alone is not None
    assert answer.reference_alone.chance == 1.0
    assert abs(answer.total.chance - answer.drilling_alone.chance) < 0.01


MOTIONS = [
    Motion(),
    Motion(Freedom.SHIFT),
    Motion(Freedom.ALONG, direction_deg=20.0),
    Motion(Freedom.ABOUT, pivot=(5.0, 3.0)),
    HELD,
]


@pytest.mark.parametrize("motion", MOTIONS, ids=lambda m: f"{m.freedom}")
@pytest.mark.parametrize("slots", ["none", "part", "mate", "both"])
def test_every_trial_is_decided_as_the_exact_solver_does(motion: Motion, slots: str) -> None:
    rng = np.random.default_rng(5)
    n, count = 5, 30 if slots != "both" else 5
    base = rng.uniform(-40, 40, (n, 2))
    part = base + rng.normal(0, 0.12, (count, n, 2))
    mate = base + rng.normal(0, 0.12, (count, n, 2))
    play = np.array([0.2, 0.25, 0.3, 0.25, 0.2])
    half = np.zeros(n) if slots == "none" else np.array([0.0, 0.5, 0.0, 0.2, 0.1])
    in_part = np.array([False, slots in ("part", "both"), False, slots == "part", slots == "part"])
    angle = rng.uniform(-2, 2, n)
    axis = np.column_stack((np.cos(angle), np.sin(angle)))
    found = trial_outcomes(part, mate, play, half, axis, in_part, motion)
    for k in range(count):
        exact = solve(prepare_arrays(part[k], mate[k], play, half, axis, in_part, motion))[2].upper
        assert found.entered[k] == (exact <= 1.0 + JUST_ENTERS), exact
    if motion.freedom is Freedom.SHIFT and slots != "both":
        assert 0 < found.entered.sum() < count  # both outcomes are met
    if slots != "both":
        assert found.solved <= count // 4


def test_one_seed_one_answer() -> None:
    joints = [joint(k, (15.0 * k, 0.0)) for k in range(1, 4)]
    doubts = [JointDoubt(0.15)] * 3
    one, two = (chance_of_assembly(joints, doubts, trials=1000) for _ in range(2))
    assert one == two
    other = chance_of_assembly(joints, doubts, trials=1000, seed=1)
    assert isinstance(other, AssemblyChance)
    assert other.total.entered != one.total.entered


def test_the_blame_falls_on_the_screws_that_bind() -> None:
    # screws 1 and 2 with little play, the rest with plenty: only these two can hold the pattern back
    joints = [joint(k, (15.0 * k, 3.0 * k * k), play=0.1 if k <= 2 else 5.0) for k in range(1, 6)]
    answer = chance_of_assembly(joints, [JointDoubt(0.1)] * 5, trials=3000)
    assert answer.total.chance < 1.0
    assert {number for number, _ in answer.blame} == {1, 2}
    assert sum(share for _, share in answer.blame) == pytest.approx(1.0)
    assert chance_of_assembly(joints, [JointDoubt(0.001)] * 5, trials=100).blame == ()


@pytest.mark.parametrize("move", [Placement(70.0, (100, 50)), Placement(-20.0, (5, 6), True)])
def test_turned_and_mirrored_jobs_have_the_same_chance(move: Placement) -> None:
    joints = [
        joint(1, (0, 0)), joint(2, (40, 0)),
        Joint(3, (20, 30), (20, 30), SlottedHole(4.4, 5.0, 25.0), TappedHole(), SCREW),
    ]  # fmt: skip
    doubts = [JointDoubt(0.15)] * 3
    moved = [replace(j, mate_xy=move.apply(j.mate_xy)) for j in joints]
    one = chance_of_assembly(joints, doubts, trials=2000, motion=Motion(Freedom.SHIFT))
    two = chance_of_assembly(moved, doubts, trials=2000, motion=Motion(Freedom.SHIFT, start=move))
    assert abs(one.total.chance - two.total.chance) < 4 * math.sqrt(2 * 0.25 / 2000)
    inch = [
        Joint(j.number, (j.part_xy[0] / 25.4, j.part_xy[1] / 25.4), (j.mate_xy[0] / 25.4, j.mate_xy[1] / 25.4),
              RoundHole(4.5 / 25.4), TappedHole(), SCREW / 25.4) for j in joints[:2]
    ]  # fmt: skip
    mm = chance_of_assembly(joints[:2], doubts[:2], trials=3000)
    assert chance_of_assembly(inch, [JointDoubt(0.15 / 25.4)] * 2, trials=3000).total.entered == mm.total.entered


@pytest.mark.outside_check(
    subject="chance of assembly",
    source="scipy: binomtest, Wilson interval",
    closeness="1e-12",
    standing="library",
)
@pytest.mark.parametrize(("entered", "trials"), [(0, 10), (1, 10), (8, 10), (10, 10), (950, 1000), (20000, 20000)])
def test_wilson_interval_against_a_reference_library(entered: int, trials: int) -> None:
    other = binomtest(entered, trials).proportion_ci(confidence_level=0.95, method="wilson")
    assert wilson_interval(entered, trials) == pytest.approx((other.low, other.high), abs=1e-12)


@pytest.mark.outside_check(
    subject="chance of assembly",
    source="Newcombe, Statistics in Medicine 17 (1998) 857, method 3: 81 of 263",
    closeness="5e-5",
    standing="memory",
)
def test_wilson_interval_published() -> None:
    # Newcombe, Statistics in Medicine 17 (1998) 857, 81 of 263, method 3: 0.2553 to 0.3662 (from memory)
    assert wilson_interval(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match="1 screws and 0 doubts"):
        chance_of_assembly([joint(1, (0, 0))], [])
    with pytest.raises(InputError, match="at least one trial"):
        chance_of_assembly([joint(1, (0, 0))], [JointDoubt(0.1)], trials=0)
    with pytest.raises(InputError, match=r"screws \[1\] do not enter"):
        chance_of_assembly([joint(1, (0, 0), play=-0.1)], [JointDoubt(0.1)])
    with pytest.raises(InputError, match="doubt of a hole's place"):
        JointDoubt(-0.1)
    with pytest.raises(InputError, match="5 of 3 trials"):
        wilson_interval(5, 3)
    with pytest.raises(InputError, match="0 of 0 trials: expected trials above zero"):
        wilson_interval(0, 0)
    with pytest.raises(InputError, match="-1 of 3 trials"):
        wilson_interval(-1, 3)
    with pytest.raises(InputError, match="confidence 1"):
        wilson_interval(1, 3, confidence=1.0)


@pytest.mark.parametrize("freedom", [Freedom.FREE, Freedom.SHIFT, Freedom.ABOUT, Freedom.HELD], ids=lambda f: f.name)
@pytest.mark.parametrize("slots", [False, True])
def test_the_quick_bounds_enclose_the_exact_ratio(freedom: Freedom, slots: bool) -> None:
    """Upper bounds always, lower ones wherever the trial goes together: a wrong one would pass a pattern that binds."""
    rng = np.random.default_rng(5)
    count, n = 60, 4
    part = rng.uniform(-30.0, 30.0, (n, 2)) + np.zeros((count, 1, 1))
    mate = part + rng.normal(0.0, 0.12, part.shape)
    play, half = np.full(n, 0.35), np.where(np.arange(n) < 2, 0.4, 0.0) * float(slots)
    angle = rng.uniform(0.0, math.pi, n)
    axis = np.column_stack((np.cos(angle), np.sin(angle)))
    motion = Motion(freedom, pivot=(0.0, 0.0)) if freedom is Freedom.ABOUT else Motion(freedom)
    in_part = np.zeros(n, dtype=bool)
    solved = [
        solve(prepare_arrays(p, m, play, half, axis, in_part, motion))[2] for p, m in zip(part, mate, strict=True)
    ]
    exact = np.array([bounds.upper for bounds in solved])
    directions = motion.shift_directions
    basis = np.array(directions).T if directions else np.zeros((2, 0))
    centre = np.zeros(2) if freedom is Freedom.ABOUT else mate.mean(axis=(0, 1))
    trials = _Trials(part - centre, mate - centre, play, half, axis, motion.turns, basis)
    fits = exact <= 1.0
    assert fits.sum() >= 5
    raised = 0
    for weights in (np.full((count, n), 1.0 / n), rng.dirichlet(np.ones(n), count)):
        upper, lower, ratios, _ = _bounds(trials, weights, trials.mate)
        assert (upper >= exact - 1e-9).all()
        assert (lower[fits] <= exact[fits] + 1e-9).all()
        assert upper == pytest.approx(ratios.max(axis=1))
        raised += int((lower[fits] > 0.3 * exact[fits]).sum())
    assert raised > 10
    # The weights of the exact proof make the bound as high as it can be: there it must not pass the answer either
    best = np.array([bounds.weights for bounds in solved]) + 1e-9
    goal = trials.mate
    for _ in range(60):
        _, lower, _, goal = _bounds(trials, best / best.sum(axis=1, keepdims=True), goal)
        assert (lower[fits] <= exact[fits] + 1e-7).all()
    if not slots:
        assert lower[fits] == pytest.approx(exact[fits], abs=1e-3)
