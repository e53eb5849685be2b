"""A part skewed on the table: set-ups found again from their touches, and their doubts against simulated errors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.skewed_setup import (
    Edge,
    EdgeTouch,
    FoundHole,
    SkewedSetup,
    setup_from_edge_and_hole,
    setup_from_two_edges,
    setup_from_two_holes,
)
from holecam.shapes import Placement, Point, half_turn_range

SHOP = st.floats(-500, 500)
POINTS = st.tuples(SHOP, SHOP)
SMALL_TURNS = st.floats(-80, 80)
PROBES = [(0.0, 0.0), (180.0, 12.0), (90.0, -40.0)]

# Front edge and left end of an invented rail, travelled anticlockwise: metal on the left, outside on the right
FRONT = Edge((0.0, 0.0), (180.0, 0.0))
LEFT = Edge((0.0, 11.0), (0.0, 0.0))
SLANTED = Edge((180.0, 0.0), (200.0, 30.0))


def touch(
    truth: Placement, edge: Edge, share: float, radius: float = 0.0, error: float = 0.0, u: float = 0.0
) -> EdgeTouch:
    """Return what the readout shows when a finder of this radius touches the edge of a part that lies as ``truth``."""
    (ax, ay), (bx, by) = edge.start, edge.end
    size = math.dist(edge.start, edge.end)
    out = ((by - ay) / size, -(bx - ax) / size)
    if edge.outside == "left":
        out = (-out[0], -out[1])
    away = radius + error
    p = (ax + share * (bx - ax) + away * out[0], ay + share * (by - ay) + away * out[1])
    return EdgeTouch(truth.apply(p), radius, u)


def agrees(setup: SkewedSetup, truth: Placement) -> bool:
    return setup.machine_from_part.difference_at(truth, PROBES) < 1e-7


@given(SMALL_TURNS, POINTS, POINTS, POINTS)
def test_two_holes_give_the_set_up_back(turn: float, shift: Point, a: Point, b: Point) -> None:
    if math.dist(a, b) < 5.0:
        return
    truth = Placement(turn, shift)
    setup = setup_from_two_holes(FoundHole(a, truth.apply(a)), FoundHole(b, truth.apply(b)))
    assert agrees(setup, truth)
    assert setup.turn_deg == pytest.approx(turn, abs=1e-7)
    assert setup.misfit == pytest.approx(0.0, abs=1e-9)
    assert setup.reading_of(a) == truth.apply(a)  # the held hole to the last bit
    assert setup.reading_of((12.0, 3.0)) == pytest.approx(truth.apply((12.0, 3.0)), abs=1e-7)


def test_two_holes_tell_their_misfit_and_share_it_when_asked() -> None:
    a, b = FoundHole((0, 0), (100.0, 50.0), 0.02), FoundHole((150, 0), (250.3, 50.0), 0.02)
    held = setup_from_two_holes(a, b)
    split = setup_from_two_holes(a, b, hold="split")
    assert held.misfit == pytest.approx(0.3)
    assert held.reading_of((150.0, 0.0)) == pytest.approx((250.0, 50.0))
    assert split.reading_of((0.0, 0.0)) == pytest.approx((100.15, 50.0))
    assert held.turn_doubt_deg == pytest.approx(math.degrees(0.02 * math.sqrt(2) / 150.3))
    assert held.baseline == pytest.approx(150.3)


@given(SMALL_TURNS, POINTS, st.floats(0, 10), st.sampled_from(["left", "right"]), st.booleans())
def test_an_edge_and_a_hole_give_the_set_up_back(
    turn: float, shift: Point, radius: float, outside: str, swapped: bool
) -> None:
    truth = Placement(turn, shift)
    edge = Edge(FRONT.start, FRONT.end, outside)  # type: ignore[arg-type]
    picks = (touch(truth, edge, 0.1, radius), touch(truth, edge, 0.9, radius))
    if swapped:
        picks = (picks[1], picks[0])
    hole = FoundHole((12.2, 4.9), truth.apply((12.2, 4.9)))
    setup = setup_from_edge_and_hole(edge, picks, hole)
    assert agrees(setup, truth)
    assert setup.turn_deg == pytest.approx(turn, abs=1e-7)
    assert setup.misfit == pytest.approx(0.0, abs=1e-7)
    assert setup.reading_of(hole.part) == hole.machine


def test_a_part_put_on_the_other_way_round_has_to_be_told() -> None:
    truth = Placement(178.0, (300.0, 20.0))
    picks = (touch(truth, FRONT, 0.1), touch(truth, FRONT, 0.9))
    hole = FoundHole((12.2, 4.9), truth.apply((12.2, 4.9)))
    assert setup_from_edge_and_hole(FRONT, picks, hole, nearly_deg=180.0).turn_deg == pytest.approx(178.0)
    assert setup_from_edge_and_hole(FRONT, picks, hole).turn_deg == pytest.approx(-2.0)


def test_a_forgotten_finder_radius_shows_as_the_misfit_of_the_edge() -> None:
    truth = Placement(3.0, (40.0, 60.0))
    real = (touch(truth, FRONT, 0.1, 5.0), touch(truth, FRONT, 0.9, 5.0))
    forgotten = (EdgeTouch(real[0].machine), EdgeTouch(real[1].machine))
    hole = FoundHole((12.2, 4.9), truth.apply((12.2, 4.9)))
    setup = setup_from_edge_and_hole(FRONT, forgotten, hole)
    assert setup.misfit == pytest.approx(5.0)  # the edge seems to lie one radius outside
    assert agrees(setup, truth)  # the hole gives the place, so nothing is spoilt yet
    both = setup_from_two_edges(FRONT, forgotten, LEFT, EdgeTouch(touch(truth, LEFT, 0.5, 5.0).machine))
    assert math.dist(both.reading_of((0, 0)), truth.apply((0, 0))) == pytest.approx(5.0 * math.sqrt(2))


@given(SMALL_TURNS, POINTS, st.floats(0, 10), st.sampled_from([LEFT, SLANTED]))
def test_two_edges_give_the_set_up_back(turn: float, shift: Point, radius: float, other: Edge) -> None:
    truth = Placement(turn, shift)
    picks = (touch(truth, FRONT, 0.05, radius), touch(truth, FRONT, 0.95, radius))
    setup = setup_from_two_edges(FRONT, picks, other, touch(truth, other, 0.4, radius))
    assert agrees(setup, truth)
    assert half_turn_range(setup.turn_deg - turn) == pytest.approx(0.0, abs=1e-7)
    assert setup.misfit is None


U = 0.02
SIMULATIONS = 4000


def simulated(make: object, truth: Placement) -> tuple[np.ndarray, np.ndarray]:
    """Return turn errors (degrees) and the errors of the probes (n, probes, 2) for random touch errors."""
    dice = np.random.default_rng(11)
    turns, errors = [], []
    for _ in range(SIMULATIONS):
        setup = make(dice)  # type: ignore[operator]
        turns.append(half_turn_range(setup.turn_deg - truth.turn_deg))
        errors.append([np.subtract(setup.reading_of(p), truth.apply(p)) for p in PROBES])
    return np.array(turns), np.array(errors)


def worst_axis(errors: np.ndarray) -> float:
    """Return the standard deviation along the direction in which it is largest."""
    return float(np.sqrt(np.linalg.eigvalsh(np.cov(errors.T))[-1]))


@pytest.mark.parametrize("way", ["two holes", "edge and hole", "two edges", "slanted edges"])
def test_doubts_are_those_of_simulated_touches(way: str) -> None:
    """Four thousand set-ups with normal errors: the scatter is the stated doubt, never more than the stated bound."""
    truth = Placement(4.0, (100.0, 40.0))

    def make(dice: np.random.Generator | None) -> SkewedSetup:
        e = (lambda: 0.0) if dice is None else (lambda: float(dice.normal(0, U)))

        def hole(p: Point) -> FoundHole:
            x, y = truth.apply(p)
            return FoundHole(p, (x + e(), y + e()), U)

        picks = tuple(touch(truth, FRONT, s, 3.0, e(), U) for s in (0.1, 0.8))
        if way == "two holes":
            return setup_from_two_holes(hole((5.0, 4.0)), hole((165.0, 8.0)))
        if way == "edge and hole":
            return setup_from_edge_and_hole(FRONT, picks, hole((12.0, 5.0)))
        other = LEFT if way == "two edges" else SLANTED
        return setup_from_two_edges(FRONT, picks, other, touch(truth, other, 0.5, 3.0, e(), U))

    stated = make(None)
    turns, errors = simulated(make, truth)
    sampling = 3 / math.sqrt(2 * SIMULATIONS)  # three standard errors of a standard deviation
    assert np.std(turns) == pytest.approx(stated.turn_doubt_deg, rel=sampling)
    at_steady = []
    dice = np.random.default_rng(12)
    for _ in range(SIMULATIONS):
        at_steady.append(np.subtract(make(dice).reading_of(stated.steady_point), truth.apply(stated.steady_point)))
    assert worst_axis(np.array(at_steady)) == pytest.approx(stated.shift_doubt, rel=1.5 * sampling)
    for k, p in enumerate(PROBES):
        assert worst_axis(errors[:, k]) <= stated.doubt_at(p) * (1 + 1.5 * sampling)
        assert worst_axis(errors[:, k]) >= 0.7 * stated.doubt_at(p)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: setup_from_two_holes(FoundHole((1, 1), (0, 0)), FoundHole((1, 1), (9, 0))),
            r"both holes lie at \(1, 1\) in the part",
        ),
        (
            lambda: setup_from_two_holes(FoundHole((1, 1), (0, 0)), FoundHole((9, 1), (0, 0))),
            r"both holes lie at \(0, 0\) on the table",
        ),
        (
            lambda: setup_from_edge_and_hole(FRONT, (EdgeTouch((1, 1)), EdgeTouch((1, 1))), FoundHole((0, 0), (0, 0))),
            r"both picks lie at \(1, 1\)",
        ),
        (
            lambda: setup_from_edge_and_hole(
                FRONT, (EdgeTouch((1, 1), 3.0), EdgeTouch((9, 1), 5.0)), FoundHole((0, 0), (0, 0))
            ),
            "expected one finder",
        ),
        (
            lambda: setup_from_edge_and_hole(
                FRONT, (EdgeTouch((1, 1), -3.0), EdgeTouch((9, 1), -3.0)), FoundHole((0, 0), (0, 0))
            ),
            "its radius 0 or more",
        ),
        (
            lambda: setup_from_two_edges(
                FRONT, (EdgeTouch((1, 1)), EdgeTouch((9, 1))), Edge((0, 20), (180, 30)), EdgeTouch((0, 20))
            ),
            "cross at less than 10 degrees",
        ),
        (
            lambda: setup_from_edge_and_hole(
                Edge((1, 1), (1, 1)), (EdgeTouch((1, 1)), EdgeTouch((9, 1))), FoundHole((0, 0), (0, 0))
            ),
            "expected two different points on the edge",
        ),
    ],
)
def test_set_ups_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]
