"""Bolt-up against independent solvers, closed forms, symmetry, and its own certificate."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.optimize import minimize

from holecam.errors import InputError
from holecam.layout.bolt_up import BoltUp, Joint, NoPlay, bolt_up, least_ratio, prepare
from holecam.layout.bolt_up_arrays import squares
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import CountersunkHole, JointHole, RoundHole, SlottedHole, TappedHole
from holecam.shapes import Placement

Floats = NDArray[np.float64]
TENTH_MICRON = 1e-4
SCREW = 4.0


def spin(angle: float) -> Floats:
    return np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])


def joints_of(part: Floats, mate: Floats, play: Sequence[float] | Floats) -> list[Joint]:
    return [
        Joint(i + 1, tuple(p), tuple(c), RoundHole(SCREW + 2 * r), TappedHole(), SCREW)
        for i, (p, c, r) in enumerate(zip(part, mate, play, strict=True))
    ]


def answer_of(joints: Sequence[Joint], motion: Motion | None = None) -> BoltUp:
    answer = bolt_up(joints, motion=motion)
    assert isinstance(answer, BoltUp)
    return answer


def random_case(rng: np.random.Generator, n: int, *, turn: float = math.pi) -> tuple[Floats, Floats, Floats]:
    part = rng.uniform(-60.0, 60.0, (n, 2))
    mate = part @ spin(rng.uniform(-turn, turn)).T + rng.uniform(-100, 100, 2) + rng.normal(0, 0.15, (n, 2))
    return part, mate, rng.uniform(0.05, 0.5, n)


def capsule(d: Floats, half: Floats, angle: Floats) -> Floats:
    """Distance of offsets from slot lines: written out once more, from the definition."""
    out = np.empty(len(d))
    for i, (dx, dy) in enumerate(d):
        ex, ey = math.cos(angle[i]), math.sin(angle[i])
        along = min(half[i], max(-half[i], dx * ex + dy * ey))
        out[i] = math.hypot(dx - along * ex, dy - along * ey)
    return out


def independent(
    part: Floats,
    mate: Floats,
    play: Floats,
    *,
    half: Floats | None = None,
    angle: Floats | None = None,
    slot_in_part: bool = False,
    tries: int = 4,
) -> float:
    """Least worst ratio by scipy's SLSQP in epigraph form, from several starts, then Nelder-Mead."""
    n = len(part)
    half = np.zeros(n) if half is None else half
    angle = np.zeros(n) if angle is None else angle
    p, c = part - part.mean(0), mate - mate.mean(0)
    size, unit = max(1.0, float(np.abs(p).max())), float(play.mean())
    base = math.atan2(float((p[:, 0] * c[:, 1] - p[:, 1] * c[:, 0]).sum()), float((p * c).sum()))

    def shares(x: Floats) -> Floats:
        turn = base + x[0] * unit / size
        d = p @ spin(turn).T + x[1:3] * unit - c
        return capsule(d, half, angle + turn if slot_in_part else angle) / play

    rng = np.random.default_rng(7)
    best = math.inf
    for k in range(tries):
        x0 = np.zeros(3) if k == 0 else rng.normal(0, 0.5, 3)
        start = np.append(x0, shares(x0).max())
        found = minimize(
            lambda y: y[3],
            start,
            constraints=[{"type": "ineq", "fun": lambda y: y[3] - shares(y[:3])}],
            method="SLSQP",
            options={"maxiter": 300, "ftol": 1e-14},
        )
        best = min(best, float(shares(found.x[:3]).max()))
        if k == 0 or best > float(shares(found.x[:3]).max()) - 1e-6:
            simplex = minimize(
                lambda x: float(shares(x).max()),
                found.x[:3],
                method="Nelder-Mead",
                options={"xatol": 1e-11, "fatol": 1e-12, "maxiter": 900},
            )
            best = min(best, float(simplex.fun))
    return best


@pytest.mark.outside_check(
    subject="bolt-up",
    source="scipy: SLSQP in epigraph form from several starts, then Nelder-Mead",
    closeness="within 0.1 micron of play, never better",
    standing="library",
)
@pytest.mark.parametrize("n", [2, 3, 4, 5, 8, 20])
def test_against_an_independent_solver(n: int) -> None:
    rng = np.random.default_rng(100 + n)
    for _ in range(4):
        part, mate, play = random_case(rng, n)
        answer = answer_of(joints_of(part, mate, play))
        other = independent(part, mate, play, tries=2)
        assert answer.certificate.proved
        assert answer.ratio <= other + 1e-9
        assert (other - answer.ratio) * play.max() < TENTH_MICRON


@pytest.mark.slow
@pytest.mark.parametrize("n", [2, 3, 4, 8, 20, 60, 200])
def test_against_an_independent_solver_at_length(n: int) -> None:
    rng = np.random.default_rng(900 + n)
    far_off = 0
    for _ in range(10 if n <= 20 else 3):
        part, mate, play = random_case(rng, n)
        answer = answer_of(joints_of(part, mate, play))
        other = independent(part, mate, play)
        assert answer.certificate.proved
        assert answer.ratio <= other + 1e-9
        far_off += (other - answer.ratio) * play.max() >= TENTH_MICRON
    assert far_off <= 1  # the other solver stalls now and then; the proof above does not depend on it


@pytest.mark.parametrize("n", [1, 2, 3, 4, 6, 12, 40, 120, 200])
def test_every_random_answer_is_proved_over_all_turns(n: int) -> None:
    rng = np.random.default_rng(n)
    for _ in range(8):
        answer = answer_of(joints_of(*random_case(rng, n)))
        assert answer.certificate.proved
        assert answer.certificate.upper - answer.certificate.lower < 1e-9
        assert len(answer.certificate.numbers) <= 4


@pytest.mark.parametrize("spread", [1e-6, 1e-4, 0.02, 3.0])
def test_proved_from_nearly_exact_to_hopeless(spread: float) -> None:
    rng = np.random.default_rng(9)
    for n in (3, 5, 8):
        part = rng.uniform(-60.0, 60.0, (n, 2))
        mate = part @ spin(2.0).T + rng.normal(0, spread, (n, 2)) + [900.0, -700.0]
        answer = answer_of(joints_of(part, mate, rng.uniform(0.05, 0.5, n)))
        assert answer.certificate.proved


def test_proved_with_plays_of_very_different_sizes() -> None:
    rng = np.random.default_rng(77)
    for n in (3, 5, 15, 40):
        part, mate, _ = random_case(rng, n)
        assert answer_of(joints_of(part, mate, 10 ** rng.uniform(-3, 1, n))).certificate.proved


@pytest.mark.parametrize("kind", ["row", "grid", "circle"])
def test_proved_for_regular_patterns_with_many_binding_screws(kind: str) -> None:
    rng = np.random.default_rng(13)
    for n in (4, 9, 16):
        k = np.arange(n)
        if kind == "row":
            part = np.column_stack((10.0 * k, 0.0 * k))
        elif kind == "grid":
            side = math.isqrt(n)
            part = np.column_stack((10.0 * (k % side), 10.0 * (k // side)))
        else:
            part = 30.0 * np.column_stack((np.cos(math.tau * k / n), np.sin(math.tau * k / n)))
        mate = part + np.round(rng.normal(0, 0.15, (n, 2)), 1)  # equal errors: more than four screws may bind
        assert answer_of(joints_of(part, mate, np.full(n, 0.25))).certificate.proved


def test_lower_bound_holds_for_random_motions() -> None:
    rng = np.random.default_rng(5)
    for _ in range(6):
        part, mate, play = random_case(rng, 6)
        answer = answer_of(joints_of(part, mate, play))
        turns = math.radians(answer.placement.turn_deg) + rng.normal(0, 0.01, 2000) * rng.choice([0.01, 1, 100], 2000)
        for turn in turns:
            moved = part @ spin(turn).T
            d = moved - mate
            shift = (d.min(0) + d.max(0)) / 2 + rng.normal(0, 0.02, 2)
            assert np.max(np.hypot(*(d - shift).T) / play) >= answer.certificate.lower - 1e-12


def test_lower_bound_with_slots_holds_for_random_motions() -> None:
    rng = np.random.default_rng(6)
    for member in ("part", "mate"):
        part, mate, play = random_case(rng, 5, turn=1.0)
        half = np.array([1.0, 2.0, 0.0, 3.0, 0.5])
        angle = rng.uniform(-2, 2, 5)
        answer = answer_of(slotted(part, mate, play, half, angle, member))
        assert answer.certificate.proved
        for turn in rng.uniform(-math.pi, math.pi, 800):
            d = part @ spin(turn).T - mate
            d = d - (d.min(0) + d.max(0)) / 2
            ratio = np.max(capsule(d, half, angle + turn if member == "part" else angle) / play)
            assert ratio >= answer.certificate.lower - 1e-12


def test_certificate_balances() -> None:
    # the multipliers are >= 0, sum to 1, and balance as forces and as moments: the condition of practice C1
    rng = np.random.default_rng(11)
    for n in (3, 5, 30):
        part, mate, play = random_case(rng, n)
        answer = answer_of(joints_of(part, mate, play))
        weight = np.array([s.weight for s in answer.screws])
        offset = np.array([s.offset for s in answer.screws])
        unit = offset / np.linalg.norm(offset, axis=1)[:, None]
        moved = np.array(answer.placement.apply_all(map(tuple, part)))
        arm = moved - moved.mean(0)
        assert weight.min() >= 0.0
        assert weight.sum() == pytest.approx(1.0)
        force = (weight / play) @ unit
        moment = float((weight / play) @ (arm[:, 0] * unit[:, 1] - arm[:, 1] * unit[:, 0]))
        assert np.abs(force).max() < 1e-8 / play.min()
        assert abs(moment) < 1e-6 / play.min()
        assert all(s.binding for s in answer.screws if s.weight > 0)


@pytest.mark.outside_check(
    subject="bolt-up",
    source="closed form for two screws",
    closeness="1e-9",
    standing="mathematics",
)
def test_two_screws_have_a_closed_form() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        part, mate, play = random_case(rng, 2)
        expected = abs(math.dist(*part) - math.dist(*mate)) / play.sum()
        assert answer_of(joints_of(part, mate, play)).ratio == pytest.approx(expected, abs=1e-9)


def test_hole_circle_of_another_diameter() -> None:
    # by symmetry nothing is won by moving: every screw takes the difference of the radii
    angles = np.arange(6) * math.tau / 6
    ring = np.column_stack((np.cos(angles), np.sin(angles)))
    answer = answer_of(joints_of(40.0 * ring, 40.2 * ring @ spin(0.7).T, np.full(6, 0.25)))
    assert answer.ratio == pytest.approx(0.8, abs=1e-9)
    assert answer.play_left == pytest.approx(0.05, abs=1e-9)
    assert answer.binding == (1, 2, 3, 4, 5, 6)
    assert answer.certificate.proved


def test_least_squares_may_say_no_where_minimax_says_yes() -> None:
    # four screws in a row, one hole off by 0.44 mm: the mean leaves 0.33, the best motion 0.22
    part = np.array([[0.0, 0.0], [20, 0], [40, 0], [60, 0]])
    mate = part + np.array([[0.0, 0], [0, 0], [0, 0.44], [0, 0]])
    shift_only = Motion(Freedom.SHIFT)
    answer = answer_of(joints_of(part, mate, np.full(4, 0.25)), shift_only)
    assert answer.ratio == pytest.approx(0.22 / 0.25)
    assert answer.goes_together
    assert 0.44 * 3 / 4 > 0.25


@pytest.mark.parametrize("n", [2, 3, 7])
def test_an_exact_pattern_uses_no_play(n: int) -> None:
    part, _, play = random_case(np.random.default_rng(n), n)
    mate = part @ spin(2.5).T + [300.0, -200.0]
    answer = answer_of(joints_of(part, mate, play))
    assert answer.ratio < 1e-7
    assert answer.binding == ()
    assert answer.certificate.proved
    assert answer.placement.turn_deg % 360 == pytest.approx(math.degrees(2.5), abs=1e-6)


def test_one_screw_always_enters() -> None:
    answer = answer_of(joints_of(np.array([[3.0, 4.0]]), np.array([[50.0, 60.0]]), [0.1]))
    assert answer.ratio < 1e-9
    assert answer.placement.apply((3.0, 4.0)) == pytest.approx((50.0, 60.0))


def test_coincident_holes() -> None:
    part = np.zeros((3, 2))
    mate = np.array([[0.0, 0.0], [0.3, 0.0], [0.0, 0.4]])
    answer = answer_of(joints_of(part, mate, [0.25, 0.25, 0.25]))
    assert answer.ratio == pytest.approx(1.0)  # half the longest side, 0.25, over 0.25: least enclosing circle
    same = answer_of(joints_of(part, np.zeros((3, 2)), [0.25, 0.25, 0.25]))
    assert same.ratio < 1e-9


def test_collinear_rows() -> None:
    rng = np.random.default_rng(8)
    for n in (3, 6, 25):
        part = np.column_stack((np.arange(n) * 12.7, np.zeros(n)))
        mate = part @ spin(1.1).T + rng.normal(0, 0.1, (n, 2))
        play = np.full(n, 0.25)
        answer = answer_of(joints_of(part, mate, play))
        assert answer.certificate.proved
        assert answer.ratio <= independent(part, mate, play, tries=1) + 1e-9


@pytest.mark.parametrize("turn_deg", [-179.9, -90, 0, 45, 90, 135, 180])
def test_large_turns_are_found(turn_deg: float) -> None:
    part, _, play = random_case(np.random.default_rng(21), 5)
    mate = part @ spin(math.radians(turn_deg)).T + np.random.default_rng(2).normal(0, 0.05, (5, 2))
    answer = answer_of(joints_of(part, mate, play))
    assert answer.certificate.proved
    assert (answer.placement.turn_deg - turn_deg + 180) % 360 - 180 == pytest.approx(0, abs=0.5)


def test_hopeless_patterns_are_still_answered() -> None:
    rng = np.random.default_rng(77)
    for n in (2, 3, 4, 9):
        part, mate = rng.uniform(-10, 10, (n, 2)), rng.uniform(-10, 10, (n, 2))
        play = np.full(n, 0.2)
        answer = answer_of(joints_of(part, mate, play))
        assert answer.certificate.lower <= answer.ratio + 1e-9
        assert answer.ratio <= independent(part, mate, play) * (1 + 1e-6)


def test_a_mirrored_pattern_is_named_not_used() -> None:
    part, _, play = random_case(np.random.default_rng(4), 5)
    mate = part * [-1, 1] @ spin(0.4).T
    answer = answer_of(joints_of(part, mate, play))
    assert not answer.goes_together
    assert answer.looks_mirrored
    assert answer.placement.mirror is False
    turned_over = answer_of(joints_of(part, mate, play), Motion(start=Placement(mirror=True)))
    assert turned_over.ratio < 1e-7
    assert turned_over.placement.mirror is True
    held = answer_of(joints_of(part, mate, play), Motion(freedom=Freedom.ABOUT))
    assert not held.goes_together
    assert not held.looks_mirrored, "a part that is held cannot be turned over"
    wrong = part + np.random.default_rng(5).normal(0, 5, part.shape)
    assert not answer_of(joints_of(part, wrong, play)).looks_mirrored


@given(
    seed=st.integers(0, 10**6),
    n=st.integers(2, 9),
    turn=st.floats(-180, 180),
    mirror=st.booleans(),
    scale=st.sampled_from([1.0, 25.4, 1 / 25.4]),
)
@settings(max_examples=25)
def test_turned_mirrored_and_unit_swapped_jobs_give_one_answer(
    seed: int, n: int, turn: float, mirror: bool, scale: float
) -> None:
    part, mate, play = random_case(np.random.default_rng(seed), n)
    answer = answer_of(joints_of(part, mate, play))
    move = Placement(turn, (30.0, -20.0), mirror)
    other = Placement(-turn / 3, (-5.0, 70.0), mirror)
    moved = [
        Joint(
            j.number,
            tuple(scale * v for v in move.apply(j.part_xy)),
            tuple(scale * v for v in other.apply(j.mate_xy)),
            RoundHole(j.part_hole.diameter * scale),  # type: ignore[union-attr]
            TappedHole(),
            j.screw * scale,
        )
        for j in joints_of(part, mate, play)
    ]
    again = answer_of(moved)
    assert again.ratio == pytest.approx(answer.ratio, abs=1e-8)
    assert again.play_left == pytest.approx(answer.play_left * scale, abs=1e-8)
    assert again.binding == answer.binding


def slotted(part: Floats, mate: Floats, play: Floats, half: Floats, angle: Floats, member: str) -> list[Joint]:
    out = []
    for i in range(len(part)):
        width = SCREW + 2 * play[i]
        slot: JointHole = (
            SlottedHole(width, width + 2 * half[i], math.degrees(angle[i])) if half[i] > 0 else RoundHole(width)
        )
        holes = (slot, TappedHole()) if member == "part" else (TappedHole(), slot)
        out.append(Joint(i + 1, tuple(part[i]), tuple(mate[i]), *holes, SCREW))
    return out


@pytest.mark.outside_check(
    subject="bolt-up",
    source="scipy: SLSQP with slots",
    closeness="within 0.1 micron of play, never better",
    standing="library",
)
@pytest.mark.parametrize("member", ["part", "mate"])
@pytest.mark.parametrize("n", [2, 3, 5, 9])
def test_slots_against_an_independent_solver(n: int, member: str) -> None:
    rng = np.random.default_rng(40 + n)
    for _ in range(2):
        part, mate, play = random_case(rng, n, turn=1.5)
        half = np.where(rng.random(n) < 0.5, rng.uniform(0.1, 3.0, n), 0.0)
        angle = rng.uniform(-2, 2, n)
        answer = answer_of(slotted(part, mate, play, half, angle, member))
        other = independent(part, mate, play, half=half, angle=angle, slot_in_part=member == "part", tries=2)
        assert answer.ratio <= other + 1e-8
        assert (other - answer.ratio) * play.max() < TENTH_MICRON
        assert answer.certificate.everywhere
        assert answer.certificate.proved


def test_slots_in_both_members_are_answered_and_marked_local() -> None:
    part = np.array([[0.0, 0.0], [50.0, 0.0], [25.0, 30.0]])
    mate = part @ spin(0.3).T + [[0.0, 0.5], [0.3, 0.0], [0.0, 0.0]]
    joints = [
        Joint(1, tuple(part[0]), tuple(mate[0]), SlottedHole(4.5, 6.5, 90.0), TappedHole(), SCREW),
        Joint(2, tuple(part[1]), tuple(mate[1]), TappedHole(), SlottedHole(4.5, 6.5, 10.0), SCREW),
        Joint(3, tuple(part[2]), tuple(mate[2]), RoundHole(4.5), TappedHole(), SCREW),
    ]
    answer = answer_of(joints)
    assert answer.goes_together
    rng = np.random.default_rng(0)
    found = math.inf
    for turn in math.radians(answer.placement.turn_deg) + rng.normal(0, 0.01, 4000):
        shift = np.array(answer.placement.shift) + rng.normal(0, 0.2, 2)
        d = part @ spin(turn).T + shift - mate
        away = [
            capsule(d[:1], np.array([1.0]), np.array([turn + math.pi / 2]))[0],
            capsule(d[1:2], np.array([1.0]), np.array([math.radians(10)]))[0],
            float(np.hypot(*d[2])),
        ]
        found = min(found, max(away) / 0.25)
    assert answer.ratio <= found + 1e-9
    assert not answer.certificate.everywhere or answer.ratio < 1e-7


def test_a_slot_no_longer_than_wide_is_a_round_hole() -> None:
    part, mate, play = random_case(np.random.default_rng(12), 5)
    slots = slotted(part, mate, play, np.zeros(5), np.zeros(5), "part")
    turned = [
        Joint(j.number, j.part_xy, j.mate_xy, SlottedHole(4 + 2 * r, 4 + 2 * r, 30.0 * j.number), TappedHole(), SCREW)
        for j, r in zip(slots, play, strict=True)
    ]
    one, two = answer_of(slots), answer_of(turned)
    assert two.ratio == pytest.approx(one.ratio, abs=1e-12)
    assert two.certificate.proved


def test_a_slot_along_the_row_takes_up_the_pitch_error() -> None:
    row = np.array([[0.0, 0.0], [60.0, 0.0]])
    long_row = np.array([[0.0, 0.0], [61.0, 0.0]])
    stiff = answer_of(joints_of(row, long_row, [0.25, 0.25]))
    assert stiff.ratio == pytest.approx(2.0)
    eased = answer_of(
        slotted(row, long_row, np.array([0.25, 0.25]), np.array([0.0, 0.75]), np.array([0.0, 0.0]), "part")
    )
    assert eased.ratio == pytest.approx((1.0 - 0.75) / 0.5)


MOTIONS = [
    Motion(Freedom.SHIFT),
    Motion(Freedom.ALONG, direction_deg=25.0),
    Motion(Freedom.ABOUT, pivot=(10.0, -5.0)),
    Motion(Freedom.HELD),
    Motion(Freedom.SHIFT, start=Placement(3.0, (1.0, 2.0), True)),
]


@pytest.mark.parametrize("motion", MOTIONS, ids=lambda m: f"{m.freedom}")
def test_restricted_motions_against_brute_force(motion: Motion) -> None:
    rng = np.random.default_rng(17)
    part = rng.uniform(-40, 40, (5, 2))
    start = np.array(motion.start.apply_all(map(tuple, part)))
    mate = start + rng.normal(0, 0.2, (5, 2))
    play = rng.uniform(0.2, 0.5, 5)
    answer = answer_of(joints_of(part, mate, play), motion)

    def share(x: Floats) -> float:
        if motion.freedom is Freedom.SHIFT:
            moved = start + x[:2]
        elif motion.freedom is Freedom.ALONG:
            moved = start + x[0] * np.array([math.cos(math.radians(25)), math.sin(math.radians(25))])
        elif motion.freedom is Freedom.ABOUT:
            moved = (start - motion.pivot) @ spin(x[0] / 40).T + motion.pivot
        else:
            moved = start
        return float(np.max(np.hypot(*(moved - mate).T) / play))

    size = 2 if motion.freedom is Freedom.SHIFT else 1
    best = min(
        float(
            minimize(
                share, rng.normal(0, 0.1, size), method="Nelder-Mead", options={"xatol": 1e-11, "fatol": 1e-11}
            ).fun
        )
        for _ in range(6)
    )
    assert answer.ratio == pytest.approx(best, abs=1e-7)
    assert answer.certificate.proved
    carried = np.array(answer.placement.apply_all(map(tuple, part)))
    assert np.max(np.hypot(*(carried - mate).T) / play) == pytest.approx(answer.ratio, abs=1e-9)
    assert answer.placement.mirror == motion.start.mirror


def test_freedom_only_helps() -> None:
    part, mate, play = random_case(np.random.default_rng(30), 6, turn=0.002)
    mate = mate - mate.mean(0) + part.mean(0)
    joints = joints_of(part, mate, play)
    held, along, shift, free = (
        answer_of(joints, Motion(f)).ratio for f in (Freedom.HELD, Freedom.ALONG, Freedom.SHIFT, Freedom.FREE)
    )
    assert held > along > shift > free


def test_screws_that_do_not_enter_their_own_holes_are_named() -> None:
    joints = [
        Joint(1, (0, 0), (0, 0), RoundHole(4.5), TappedHole(), SCREW),
        Joint(2, (20, 0), (20, 0), RoundHole(3.9), TappedHole(), SCREW),
        Joint(3, (40, 0), (40, 0), CountersunkHole(0.05), TappedHole(2.0), SCREW, 3.0),
    ]
    answer = bolt_up(joints)
    assert isinstance(answer, NoPlay)
    assert answer.numbers == (2, 3)
    assert answer.plays == (pytest.approx(-0.05), pytest.approx(0.05 - 3 * math.tan(math.radians(2))))


@pytest.mark.outside_check(
    subject="play of a screw",
    source="a countersunk head centres itself",
    closeness="words",
    standing="common practice",
)
def test_cheese_heads_go_where_flat_heads_do_not() -> None:
    # common practice: a countersunk head centres itself, so the same pattern may not go together with it
    part = np.array([[0.0, 0.0], [50.0, 0.0], [100.0, 0.0]])
    mate = part + np.array([[0.0, 0.1], [0.0, -0.2], [0.0, 0.1]])
    cheese = answer_of(joints_of(part, mate, [0.25] * 3))
    flat = answer_of(
        [
            Joint(i, tuple(p), tuple(c), CountersunkHole(), TappedHole(), SCREW)
            for i, (p, c) in enumerate(zip(part, mate, strict=True))
        ]
    )
    assert cheese.goes_together
    assert not flat.goes_together


def test_derivatives_against_differences() -> None:
    part, mate, play = random_case(np.random.default_rng(61), 4)
    for member in ("part", "mate"):
        joints = slotted(part, mate, play, np.array([2.0, 0.0, 1.0, 0.3]), np.array([0.3, 0, 1.0, 2.0]), member)
        joints += [Joint(9, (3.0, 4.0), (5.0, 8.0), TappedHole(), SlottedHole(4.2, 4.4, 12.0), SCREW)]
        a = prepare(joints, Motion()).arrays
        x = np.array([0.3, 0.01, -0.02])
        at = squares(a, x[0], x[1:])
        for k in range(3):
            step = np.zeros(3)
            step[k] = 1e-6
            up, down = squares(a, (x + step)[0], (x + step)[1:]), squares(a, (x - step)[0], (x - step)[1:])
            assert at.first[:, k] == pytest.approx((up.value - down.value) / 2e-6, abs=1e-8)
            assert at.second[:, k] == pytest.approx((up.first - down.first) / 2e-6, abs=1e-7)


def test_a_round_hole_beside_a_slot_is_round_also_where_its_screw_stands_in_the_middle() -> None:
    """Exactly centred, and exactly square or along its row: curved the same both ways, slot beside it or not."""
    part = np.array([[0.0, 0.0], [40.0, 0.0], [0.0, 30.0], [25.0, 35.0]])
    mate = part + np.array([[0.0, 0.0], [0.0, 0.2], [0.2, 0.0], [0.1, 0.0]])
    plain = joints_of(part, mate, [0.25] * 4)
    slot = Joint(5, (50.0, 9.0), (50.0, 9.0), SlottedHole(4.4, 12.0, 30.0), TappedHole(), SCREW)
    for motion in (Motion(), Motion(Freedom.SHIFT)):
        a = prepare([*plain, slot], motion).arrays
        assert a.slotted
        middle = -a.basis.T @ (a.part - a.mate)[0]  # the shift that takes the first screw onto its hole
        mixed = squares(a, 0.0, middle)
        alone = squares(replace(a.subset(np.arange(4)), slotted=False), 0.0, middle)
        assert mixed.value[0] == pytest.approx(0.0, abs=1e-20)
        assert mixed.value[:4] == pytest.approx(alone.value)
        assert mixed.first[:4] == pytest.approx(alone.first)
        assert mixed.second[:4] == pytest.approx(alone.second)


def test_bad_input_is_refused() -> None:
    hole, thread = RoundHole(4.5), TappedHole()
    with pytest.raises(InputError, match="at least one screw"):
        bolt_up([])
    with pytest.raises(InputError, match=r"screw numbers \[2\] are given twice"):
        bolt_up([Joint(2, (0, 0), (0, 0), hole, thread, 4.0), Joint(2, (9, 0), (9, 0), hole, thread, 4.0)])
    with pytest.raises(InputError, match="screw 1: expected finite coordinates"):
        Joint(1, (math.nan, 0), (0, 0), hole, thread, 4.0)
    with pytest.raises(InputError, match="motion: expected finite figures"):
        Motion(Freedom.ALONG, direction_deg=math.inf)


def test_least_ratio_is_the_ratio() -> None:
    part, mate, play = random_case(np.random.default_rng(9), 5)
    joints = joints_of(part, mate, play)
    assert least_ratio(joints) == pytest.approx(answer_of(joints).ratio, abs=1e-9)
