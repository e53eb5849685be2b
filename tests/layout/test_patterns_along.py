"""Rows along edges and lines: pitch along the line of the holes, distance from the edge kept everywhere."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.rows_along import row_along
from holecam.shapes import Arc, Placement, Segment, distance, outline_through, rectangle
from holecam.shapes.distances import point_to_chain

CORNER = (Segment((0.0, 0.0), (100.0, 0.0)), Segment((100.0, 0.0), (100.0, 60.0)))
HALF_ROUND = (Arc((50.0, 0.0), (-50.0, 0.0), (0.0, 0.0), ccw=True),)


def test_a_straight_edge_is_a_row_set_in() -> None:
    row = row_along([Segment((0.0, 0.0), (50.0, 0.0))], offset=5.0, pitch=10.0, start=5.0)
    assert row.points == ((5.0, 5.0), (15.0, 5.0), (25.0, 5.0), (35.0, 5.0), (45.0, 5.0))
    assert row.numbers == (1, 2, 3, 4, 5)


def test_to_the_right_for_a_negative_offset() -> None:
    row = row_along([Segment((0.0, 0.0), (0.0, 50.0))], offset=-5.0, count=2)
    assert row.points == ((5.0, 0.0), (5.0, 50.0))


@given(st.floats(-180, 180), st.integers(2, 12), st.floats(-30, 30), st.floats(0, 15), st.floats(0, 15))
def test_holes_keep_their_distance_from_a_bent_line(
    turn: float, count: int, offset: float, start: float, end: float
) -> None:
    curves = [Placement(turn, (3.0, 4.0)).apply_curve(c) for c in CORNER]
    row = row_along(curves, offset=offset, count=count, start=start, end=end)
    for p in row.points:
        assert point_to_chain(p, curves) == pytest.approx(abs(offset), abs=1e-6)


@given(st.integers(2, 20), st.floats(-20, 20))
def test_round_a_half_circle_the_holes_are_evenly_apart(count: int, offset: float) -> None:
    """On a half circle of radius r the chord is 2 r sin(90 / (n - 1)); inside (left) the radius is smaller."""
    row = row_along(HALF_ROUND, offset=offset, count=count)
    r = 50.0 - offset
    chord = 2 * r * math.sin(math.pi / 2 / (count - 1))
    for a, b in zip(row.points, row.points[1:], strict=False):
        assert distance(a, b) == pytest.approx(chord, rel=1e-9)
    assert row.points[0] == pytest.approx((r, 0.0))


def test_the_pitch_runs_along_the_line_round_an_outer_corner() -> None:
    row = row_along(CORNER, offset=-10.0, pitch=20.0, start=90.0)
    quarter = math.pi / 2 * 10
    angle = math.radians(-90 + 10 / quarter * 90)  # hole 2 lies 10 mm into the quarter circle
    assert row.at(1) == pytest.approx((90.0, -10.0))
    assert row.at(2) == pytest.approx((100 + 10 * math.cos(angle), 10 * math.sin(angle)))
    assert row.at(3) == pytest.approx((110.0, 30 - quarter))


@given(st.integers(1, 30), st.floats(0, 190), st.floats(-15, 15))
def test_a_closed_outline_shares_its_whole_way(count: int, start: float, offset: float) -> None:
    outline = rectangle(0, 0, 100, 60, corner_radius=20)
    row = row_along(outline.curves, offset=offset, count=count, start=start, closed=True)
    assert len(row) == count
    for p in row.points:
        assert point_to_chain(p, outline.curves) == pytest.approx(abs(offset), abs=1e-6)
        assert outline.contains(p) is (offset > 0) or abs(offset) < 1e-6


def test_as_many_as_fit() -> None:
    edge = [Segment((0.0, 0.0), (50.0, 0.0))]
    assert len(row_along(edge, pitch=10.0)) == 6
    assert len(row_along(edge, pitch=10.0, start=0.1)) == 5
    assert len(row_along(edge, pitch=10.0, end=10.0)) == 5
    assert len(row_along(edge, pitch=60.0)) == 1
    ring = rectangle(0, 0, 50, 25).curves
    assert len(row_along(ring, pitch=10.0, closed=True)) == 15  # 150 mm round: the last is one pitch before the first
    assert len(row_along(ring, pitch=10.0, end=5.0, closed=True)) == 15
    assert len(row_along(ring, pitch=11.0, closed=True)) == 13


def test_a_count_and_a_pitch_together() -> None:
    edge = [Segment((0.0, 0.0), (50.0, 0.0))]
    assert row_along(edge, pitch=10.0, count=3, start=5.0).points == ((5.0, 0.0), (15.0, 0.0), (25.0, 0.0))
    with pytest.raises(InputError, match=r"7 holes at a pitch of 10 mm need 60\.000 mm; the line has 50\.000 mm"):
        row_along(edge, pitch=10.0, count=7)


def test_a_single_hole_lies_at_the_start() -> None:
    assert row_along([Segment((0.0, 0.0), (50.0, 0.0))], count=1, start=12.0).points == ((12.0, 0.0),)


NECK = outline_through(
    [(0, 0), (40, 0), (40, 18), (60, 18), (60, 0), (100, 0), (100, 40), (60, 40), (60, 22), (40, 22), (40, 40), (0, 40)]
).counterclockwise()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: row_along(CORNER), "expected a pitch or a count, or both"),
        (lambda: row_along(CORNER, pitch=0.0), "pitch 0 mm: expected above zero"),
        (lambda: row_along(CORNER, count=0), "count 0: expected at least 1 hole"),
        (lambda: row_along(CORNER, count=3, start=-1.0), "start -1 mm: expected 0 or more"),
        (lambda: row_along(CORNER, count=3, end=math.nan), "end nan mm: expected 0 or more"),
        (lambda: row_along(CORNER, count=3, start=100.0, end=70.0), r"expected less than the line, 160\.000 mm"),
        (lambda: row_along(NECK.curves, count=5, offset=3.0, closed=True), "falls apart into 2 pieces"),
        (lambda: row_along(NECK.curves, count=5, offset=25.0, closed=True), "no room for a line 25 mm beside it"),
        (lambda: row_along(CORNER, pitch=0.0001), "1600001 holes: expected at most 100000"),
        (lambda: row_along([CORNER[1], CORNER[0]], count=3), "a gap of"),
    ],
)
def test_rows_that_cannot_be_are_refused(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]
