"""Stretches of lines and arcs that come too near to points, lines and arcs: every place asked one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_curves import arc, curves, lines, places

from holecam.cuts.distance_clip import (
    Stretches,
    combined,
    complement,
    merged,
    near_bodies,
    near_curves,
    near_points,
    no_stretches,
)
from holecam.cuts.elements import elements_of
from holecam.shapes import Curve, Segment, distance
from holecam.shapes.distances import point_to_curve

SHARES = (np.arange(150) + 0.5) / 150


def holds(found: Stretches, share: float) -> bool:
    return bool(((found.low <= share) & (share <= found.high)).any())


def beside(body: Curve, p: tuple[float, float]) -> bool:
    """Whether the nearest place of a curve is none of its ends."""
    near = body.nearest(p)
    return distance(near, body.start) > 1e-6 and distance(near, body.end) > 1e-6


@given(curves, curves, st.floats(0.1, 6.0))
@settings(max_examples=100)
def test_what_is_nearer_than_the_radius_is_found_and_nothing_else(query: Curve, body: Curve, radius: float) -> None:
    found = near_curves(elements_of([query]), elements_of([body]), np.array([radius]))
    assert ((found.low >= 0.0) & (found.high <= 1.0) & (found.low < found.high)).all()
    for share in SHARES.tolist():
        away = point_to_curve(query.point_at(share), body)
        if abs(away - radius) > 1e-6:
            assert holds(found, share) == (away < radius), (share, away)


@given(curves, lines, st.floats(0.1, 6.0))
@settings(max_examples=60)
def test_square_beside_a_line_alone(query: Curve, body: Segment, radius: float) -> None:
    """The discs round its ends are left to the search among points."""
    found = near_bodies(elements_of([query]), elements_of([body]), np.array([radius]))
    for share in SHARES[::4].tolist():
        p = query.point_at(share)
        if beside(body, p) and abs(point_to_curve(p, body) - radius) > 1e-6:
            assert holds(found, share) == (point_to_curve(p, body) < radius)
        elif not beside(body, p) and point_to_curve(p, body) > radius + 1e-6:
            assert not holds(found, share)


@given(curves, places, st.floats(0.1, 6.0))
@settings(max_examples=60)
def test_nearer_to_a_point(query: Curve, p: tuple[float, float], radius: float) -> None:
    found = near_points(elements_of([query]), np.array([p[0]]), np.array([p[1]]), np.array([radius]))
    for share in SHARES.tolist():
        away = distance(query.point_at(share), p)
        if abs(away - radius) > 1e-6:
            assert holds(found, share) == (away < radius)


def test_by_hand() -> None:
    """A line from 0 to 10, a point 3 mm beside its 4: within 5 mm from 0 to 8; a parallel line 2 mm off: within 3."""
    line = elements_of([Segment((0.0, 0.0), (10.0, 0.0))])
    found = near_points(line, np.array([4.0]), np.array([3.0]), np.array([5.0]))
    assert (found.low[0], found.high[0]) == pytest.approx((0.0, 0.8), abs=1e-9)
    body = elements_of([Segment((2.0, 2.0), (6.0, 2.0))])
    beside_it = near_bodies(line, body, np.array([3.0]))
    assert (beside_it.low[0], beside_it.high[0]) == pytest.approx((0.2, 0.6), abs=1e-9)
    whole = merged(near_curves(line, body, np.array([3.0])), np.array([10.0]))
    # sqrt(5) mm beyond its ends: from before 0 to 8.236
    assert (whole.low[0], whole.high[0]) == pytest.approx((0.0, 0.8236068), abs=1e-7)
    # Touching is not nearer
    assert len(near_curves(line, body, np.array([2.0]))) == 0
    assert len(near_points(line, np.array([4.0]), np.array([3.0]), np.array([3.0]))) == 0
    # Half a circle of 5 mm round the point itself is all nearer than 6, nowhere nearer than 5
    ring = elements_of([arc((4.0, 3.0), 5.0, 0.0, 180.0)])
    inside = near_points(ring, np.array([4.0]), np.array([3.0]), np.array([6.0]))
    assert (inside.low.min(), inside.high.max()) == (0.0, 1.0)
    assert len(near_points(ring, np.array([4.0]), np.array([3.0]), np.array([5.0]))) == 0


@given(
    st.lists(curves, min_size=1, max_size=3), st.lists(st.tuples(curves, st.floats(0.1, 5.0)), min_size=1, max_size=3)
)
@settings(max_examples=25)
def test_each_of_several_is_held_against_each_with_its_own_radius(
    queries: list[Curve], bodies: list[tuple[Curve, float]]
) -> None:
    radius = np.array([r for _, r in bodies])
    found = near_curves(elements_of(queries), elements_of([b for b, _ in bodies]), radius)
    for row, query in enumerate(queries):
        mine = found.chosen(found.row == row)
        for share in SHARES[::5].tolist():
            gaps = [point_to_curve(query.point_at(share), b) - r for b, r in bodies]
            if min(abs(gap) for gap in gaps) > 1e-6:
                assert holds(mine, share) == (min(gaps) < 0.0), (row, share)


def told(found: Stretches) -> list[tuple[float, float]]:
    return sorted(zip(found.low.tolist(), found.high.tolist(), strict=True))


def test_lines_square_and_parallel_to_a_line() -> None:
    """A body from 2 to 8 along X. What runs across it or along it is taken between its ends alone."""
    body, near = elements_of([Segment((2.0, 0.0), (8.0, 0.0))]), np.array([1.0])
    cases = [
        (Segment((5.0, -4.0), (5.0, 4.0)), [(0.375, 0.625)]),
        (Segment((5.0, 4.0), (5.0, -4.0)), [(0.375, 0.625)]),
        (Segment((1.9, -4.0), (1.9, 4.0)), []),
        (Segment((8.1, -4.0), (8.1, 4.0)), []),
        (Segment((0.0, 0.5), (10.0, 0.5)), [(0.2, 0.8)]),
        (Segment((10.0, -0.5), (0.0, -0.5)), [(0.2, 0.8)]),
        (Segment((0.0, 1.5), (10.0, 1.5)), []),
        (Segment((0.0, -1.5), (10.0, -1.5)), []),
        (Segment((3.0, 0.0), (7.0, 0.0)), [(0.0, 1.0)]),
        (Segment((9.0, 0.0), (12.0, 0.0)), []),
        (Segment((-3.0, 0.2), (1.0, 0.2)), []),
    ]
    for query, wanted in cases:
        found = told(near_bodies(elements_of([query]), body, near))
        assert found == [pytest.approx(w, abs=1e-9) for w in wanted], query


def test_lines_and_arcs_beside_an_arc_by_hand() -> None:
    """A quarter ring of 5 mm, from 4 to 6 mm, between the angles 0 and 90 degrees; the ends' discs left out."""
    body, near = elements_of([arc((0.0, 0.0), 5.0, 0.0, 90.0)]), np.array([1.0])
    half = math.sqrt(0.5)
    cases: list[tuple[Curve, list[tuple[float, float]]]] = [
        (Segment((0.0, 0.0), (10.0 * half, 10.0 * half)), [(0.4, 0.6)]),
        (Segment((0.0, 0.0), (-10.0 * half, -10.0 * half)), []),
        # Across both sides of the ring, 3 mm up: from sqrt(7) to sqrt(27), and on the left, beyond 90 degrees, nothing
        (Segment((-10.0, 3.0), (10.0, 3.0)), [((10 + 7**0.5) / 20, (10 + 27**0.5) / 20)]),
        (Segment((10.0, 3.0), (-10.0, 3.0)), [((10 - 27**0.5) / 20, (10 - 7**0.5) / 20)]),
        # 5 mm up it enters at the Y axis and leaves at sqrt(11)
        (Segment((-10.0, 5.0), (10.0, 5.0)), [(0.5, (10 + 11**0.5) / 20)]),
        # About the same centre: the quarter of a whole turn, or nothing
        (arc((0.0, 0.0), 5.5, -90.0, 270.0), [(1 / 3, 2 / 3)]),
        (arc((0.0, 0.0), 5.5, 180.0, -270.0), [(1 / 3, 2 / 3)]),
        (arc((0.0, 0.0), 6.5, -90.0, 270.0), []),
        (arc((0.0, 0.0), 3.5, -90.0, 270.0), []),
    ]
    for query, wanted in cases:
        whole = merged(near_bodies(elements_of([query]), body, near), np.array([query.length]))
        assert told(whole) == [pytest.approx(w, abs=1e-9) for w in wanted], query


def test_arcs_beside_a_line_by_hand() -> None:
    """A circle of 2 mm about (4, 0), from its right side: nearer than 1 mm to the X axis within 30 degrees of it."""
    ring = arc((4.0, 0.0), 2.0, 0.0, 359.0)
    turn = 359.0
    both = [(0.0, 30 / turn), (150 / turn, 210 / turn), (330 / turn, 1.0)]
    for body, wanted in (
        (Segment((-9.0, 0.0), (9.0, 0.0)), both),
        (Segment((9.0, 0.0), (-9.0, 0.0)), both),
        (Segment((4.0, 0.0), (9.0, 0.0)), [both[0], both[2]]),
        (Segment((-9.0, 0.0), (4.0, 0.0)), [both[1]]),
        # Up to 5: from where cos = 1/2 on it lies beyond the end, but that is farther off than 1 mm anyhow
        (Segment((-9.0, 0.0), (5.8, 0.0)), [(math.degrees(math.acos(0.9)) / turn, 30 / turn), both[1],
                                            (330 / turn, (360 - math.degrees(math.acos(0.9))) / turn)]),
        (Segment((-9.0, 3.1), (9.0, 3.1)), []),
        (Segment((7.1, 0.0), (9.0, 0.0)), []),
    ):  # fmt: skip
        whole = merged(near_bodies(elements_of([ring]), elements_of([body]), np.array([1.0])), np.array([12.5]))
        assert told(whole) == [pytest.approx(w, abs=1e-9) for w in wanted], body


def test_a_place_is_nearer_by_more_than_the_noise_of_its_digits() -> None:
    """Beside a line 2 mm off: a radius of 5e-11 mm more still touches, one of 5e-10 mm more does not."""
    line, body = elements_of([Segment((0.0, 0.0), (10.0, 0.0))]), elements_of([Segment((2.0, 2.0), (6.0, 2.0))])
    point = np.array([4.0]), np.array([2.0])
    for radius, touched in ((2.0 + 5e-11, 0), (2.0 + 5e-10, 1)):
        assert len(near_bodies(line, body, np.array([radius]))) == touched
        assert len(near_points(line, *point, np.array([radius]))) == touched
    ring = elements_of([arc((4.0, 2.0), 2.0, 0.0, 90.0)])
    for query in (line, ring):
        for radius in (0.0, -5.0):
            assert len(near_points(query, *point, np.array([radius]))) == 0
    nothing = elements_of([])
    assert len(near_points(line, np.zeros(0), np.zeros(0), np.zeros(0))) == 0
    assert len(near_points(nothing, *point, np.array([1.0]))) == len(near_bodies(nothing, body, np.array([1.0]))) == 0
    assert len(near_bodies(line, nothing, np.zeros(0))) == 0


def test_the_middle_of_a_stretch() -> None:
    assert Stretches(np.array([0]), np.array([0.2]), np.array([0.6])).middle.tolist() == [pytest.approx(0.4)]


rows = st.lists(st.tuples(st.integers(0, 3), st.floats(0.0, 1.0), st.floats(0.0, 1.0)), max_size=12)


@given(rows)
def test_merging_and_what_is_left(given_rows: list[tuple[int, float, float]]) -> None:
    """Four elements of 10 mm: a share belongs to the merged stretches or to what is left, never to both."""
    taken = [(r, min(a, b), max(a, b)) for r, a, b in given_rows]
    parts = Stretches(
        np.array([t[0] for t in taken], dtype=np.intp), np.array([t[1] for t in taken]), np.array([t[2] for t in taken])
    )
    lengths = np.full(4, 10.0)
    whole = merged(parts, lengths)
    left = complement(whole, lengths)
    assert list(zip(whole.row, whole.low, strict=True)) == sorted(zip(whole.row, whole.low, strict=True))
    assert list(zip(left.row, left.low, strict=True)) == sorted(zip(left.row, left.low, strict=True))
    for row in range(4):
        mine, rest = whole.chosen(whole.row == row), left.chosen(left.row == row)
        assert (mine.low[1:] > mine.high[:-1]).all()
        total = float((mine.high - mine.low).sum() + (rest.high - rest.low).sum())
        assert total == pytest.approx(1.0, abs=5 * 1e-7 / 10)
        for share in (np.arange(97) + 0.5) / 97:
            inside = any(r == row and a < share < b for r, a, b in taken)
            if all(abs(share - edge) > 1e-6 for r, a, b in taken if r == row for edge in (a, b)):
                assert holds(mine, share) == inside
                assert holds(rest, share) != inside


def test_gaps_and_pieces_too_short_to_be_real() -> None:
    lengths = np.array([10.0])
    tiny = 1e-7 / 10 / 2
    near = Stretches(np.array([0, 0]), np.array([0.1, 0.4 + tiny]), np.array([0.4, 0.7]))
    assert len(merged(near, lengths)) == 1
    apart = Stretches(np.array([0, 0]), np.array([0.1, 0.4 + 4 * tiny]), np.array([0.4, 0.7]))
    assert len(merged(apart, lengths)) == 2
    ends = complement(Stretches(np.array([0]), np.array([tiny]), np.array([0.5])), lengths)
    assert (ends.low.tolist(), ends.high.tolist()) == ([0.5], [1.0])
    assert complement(no_stretches(), lengths).high.tolist() == [1.0]
    assert len(combined([])) == len(merged(no_stretches(), lengths)) == 0
    within = Stretches(np.array([0, 0]), np.array([0.1, 0.2]), np.array([0.9, 0.3]))
    assert merged(within, lengths).high.tolist() == [0.9]
