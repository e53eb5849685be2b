"""Rigid motions: distances survive, mirrors turn senses round, and a pivot comes out to the last bit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Outline, Placement, Point, Segment, distance, rectangle

SHOP = st.floats(-1000, 1000)
POINTS = st.tuples(SHOP, SHOP)
PLACEMENTS = st.builds(Placement, st.floats(-720, 720), POINTS, st.booleans(), POINTS)
NOISE = 1e-9  # mm: arithmetic noise of shop-sized coordinates


def matrix(placement: Placement) -> np.ndarray:
    """Return the motion as a 3 by 3 matrix, written out from its parts with the library's cosines."""
    t = math.radians(placement.turn_deg)
    side = -1.0 if placement.mirror else 1.0
    turn = np.array([[math.cos(t), -math.sin(t), 0], [math.sin(t), math.cos(t), 0], [0, 0, 1]])
    mirror = np.diag([side, 1.0, 1.0])
    to = np.array([[1, 0, placement.shift[0]], [0, 1, placement.shift[1]], [0, 0, 1.0]])
    away = np.array([[1, 0, -placement.pivot[0]], [0, 1, -placement.pivot[1]], [0, 0, 1.0]])
    return np.asarray(to @ turn @ mirror @ away)


@given(PLACEMENTS, POINTS)
def test_a_second_way_by_matrices(placement: Placement, p: Point) -> None:
    expected = matrix(placement) @ np.array([*p, 1.0])
    assert placement.apply(p) == pytest.approx(tuple(expected[:2]), abs=NOISE)


@given(PLACEMENTS, POINTS, POINTS)
def test_distances_survive(placement: Placement, a: Point, b: Point) -> None:
    assert distance(placement.apply(a), placement.apply(b)) == pytest.approx(distance(a, b), abs=NOISE)


@given(PLACEMENTS, POINTS, POINTS, POINTS)
def test_the_hand_survives_unless_mirrored(placement: Placement, a: Point, b: Point, c: Point) -> None:
    def area(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    moved = area(*placement.apply_all((a, b, c)))
    assert moved == pytest.approx(-area(a, b, c) if placement.mirror else area(a, b, c), abs=1e-5)


@given(PLACEMENTS)
def test_the_pivot_comes_out_at_the_shift_to_the_last_bit(placement: Placement) -> None:
    assert placement.apply(placement.pivot) == placement.shift
    assert placement.apply_all([placement.pivot]) == (placement.shift,)
    assert placement.inverse().apply(placement.shift) == placement.pivot


@given(PLACEMENTS, POINTS)
def test_there_and_back(placement: Placement, p: Point) -> None:
    assert placement.inverse().apply(placement.apply(p)) == pytest.approx(p, abs=NOISE)
    assert (placement.inverse() @ placement).apply(p) == pytest.approx(p, abs=NOISE)
    assert (placement @ placement.inverse()).apply(p) == pytest.approx(p, abs=NOISE)


@given(PLACEMENTS, PLACEMENTS, POINTS)
def test_a_chain_does_the_right_one_first(a: Placement, b: Placement, p: Point) -> None:
    assert (a @ b).apply(p) == pytest.approx(a.apply(b.apply(p)), abs=NOISE)
    # The pivot of the first motion keeps its exact way through the chain
    assert (a @ b).apply(b.pivot) == a.apply(b.shift)


@given(PLACEMENTS, POINTS)
def test_the_same_motion_about_the_origin(placement: Placement, p: Point) -> None:
    plain = placement.about_origin()
    assert plain.pivot == (0.0, 0.0)
    assert plain.shift == placement.apply((0.0, 0.0))
    assert plain.difference_at(placement, [p]) < NOISE


@given(PLACEMENTS, st.lists(POINTS, max_size=6))
def test_many_points_at_once_are_the_same_points(placement: Placement, points: list[Point]) -> None:
    assert placement.apply_all(points) == tuple(placement.apply(p) for p in points)


@given(PLACEMENTS, st.floats(0, 1))
def test_a_moved_arc_is_the_arc_of_moved_points(placement: Placement, share: float) -> None:
    arc = Arc((10.0, 0.0), (0.0, 10.0), (0.0, 0.0), ccw=True)
    moved = placement.apply_curve(arc)
    assert isinstance(moved, Arc)
    assert moved.point_at(share) == pytest.approx(placement.apply(arc.point_at(share)), abs=1e-7)
    assert moved.ccw is not placement.mirror


@given(PLACEMENTS)
def test_area_keeps_its_size_and_a_mirror_turns_its_sign(placement: Placement) -> None:
    outline = rectangle(-3, -2, 40, 17, corner_radius=4)
    moved = placement.apply_outline(outline)
    assert moved.signed_area == pytest.approx(outline.signed_area * (-1 if placement.mirror else 1), rel=1e-9)
    assert isinstance(moved, Outline)


def test_what_a_quarter_turn_does() -> None:
    turned = Placement(90.0, (5.0, 0.0))
    assert turned.apply((2.0, 1.0)) == (4.0, 2.0)
    assert Placement(mirror=True).apply((2.0, 1.0)) == (-2.0, 1.0)
    assert Placement(90.0, mirror=True).apply((2.0, 1.0)) == (-1.0, -2.0)  # mirror first, then turn
    assert turned.apply_circle(Circle((2.0, 1.0), 3.0)) == Circle((4.0, 2.0), 3.0)
    assert turned.apply_curve(Segment((2.0, 1.0), (0.0, 0.0))) == Segment((4.0, 2.0), (5.0, 0.0))
    assert turned.apply_vector((2.0, 1.0)) == (-1.0, 2.0)


def test_no_points_differ_by_nothing() -> None:
    assert Placement(10.0).difference_at(Placement(20.0), []) == 0.0
    assert Placement(10.0).difference_at(Placement(10.0, (3.0, 4.0)), [(1.0, 1.0)]) == pytest.approx(5.0)


@pytest.mark.parametrize(
    "figures",
    [{"turn_deg": math.nan}, {"shift": (math.inf, 0.0)}, {"pivot": (0.0, math.nan)}],
)
def test_figures_have_to_be_finite(figures: dict[str, float]) -> None:
    with pytest.raises(InputError, match="placement: expected a finite turn, shift and pivot"):
        Placement(**figures)  # type: ignore[arg-type]
