"""Circles and straight pieces of the border: every crossing lies on both, and none is missed."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from holecam.layout.freedom_elements import (
    Elements,
    circle_crossings,
    crossings_of,
    distinct_rows,
    feet,
    piece_circle_crossings,
    piece_crossings,
)

places = st.floats(-20.0, 20.0)
sizes = st.floats(0.5, 15.0)
circles = st.tuples(places, places, sizes)
pieces = st.tuples(places, places, places, places).filter(lambda s: math.dist(s[:2], s[2:]) > 0.1)
ONE = np.array([0])


@given(circles, circles)
def test_circles_cross_twice_once_or_not(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    found = circle_crossings(np.array([a]), np.array([b]), ONE, ONE)
    for x, y in found.tolist():
        assert math.dist((x, y), a[:2]) == pytest.approx(a[2], abs=2e-3)  # touching ones are looked at where nearest
        assert math.dist((x, y), b[:2]) == pytest.approx(b[2], abs=2e-3)
    apart = math.dist(a[:2], b[:2])
    if abs(a[2] - b[2]) + 1e-3 < apart < a[2] + b[2] - 1e-3:
        assert len(found) == 2
        # The chord stands square to the line of centres and is cut in half by it
        chord = found[1] - found[0]
        assert abs(chord @ (np.array(b[:2]) - np.array(a[:2]))) < 1e-6 * max(1.0, apart)
        for x, y in found.tolist():
            assert math.dist((x, y), a[:2]) == pytest.approx(a[2], abs=1e-9)
    elif apart > a[2] + b[2] + 1e-3 or apart < abs(a[2] - b[2]) - 1e-3:
        assert len(found) == 0


def test_circles_that_touch_are_not_missed() -> None:
    """Radii 3 and 2, outside at 5 mm and inside at 1 mm; a nanometre apart either way is still looked at."""
    for away, x in ((5.0, 3.0), (1.0, 3.0)):
        for miss in (-1e-9, 0.0, 1e-9):
            touch = circle_crossings(np.array([[0, 0, 3.0]]), np.array([[away + miss, 0, 2.0]]), ONE, ONE)
            assert len(touch) > 0
            assert touch[0] == pytest.approx((x, 0.0), abs=1e-3)
    assert len(circle_crossings(np.array([[0, 0, 3.0]]), np.array([[0, 0, 3.0]]), ONE, ONE)) == 0


@given(pieces, circles)
def test_a_piece_crosses_a_circle_where_another_library_says(s: tuple[float, ...], c: tuple[float, ...]) -> None:
    found = piece_circle_crossings(np.array([s]), np.array([c]), ONE, ONE)
    line = shapely.LineString([s[:2], s[2:]])
    center = shapely.Point(c[:2])
    for x, y in found.tolist():
        assert math.dist((x, y), c[:2]) == pytest.approx(c[2], abs=2e-3)
        assert line.distance(shapely.Point(x, y)) < 1e-6
    # A sign change of (distance - radius) along the piece is a crossing that has to be among them
    steps = np.linspace(0.0, 1.0, 201)
    walk = np.array(s[:2]) + steps[:, None] * (np.array(s[2:]) - np.array(s[:2]))
    inside = np.hypot(walk[:, 0] - c[0], walk[:, 1] - c[1]) < c[2]
    for k in np.flatnonzero(inside[1:] != inside[:-1]):
        part = shapely.LineString([walk[k], walk[k + 1]])
        assert min(part.distance(shapely.Point(p)) for p in found.tolist()) < 1e-6
    if line.distance(center) > c[2] + 1e-3:
        assert len(found) == 0


@given(pieces, pieces)
def test_pieces_cross_where_another_library_says(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    found = piece_crossings(np.array([a]), np.array([b]), ONE, ONE)
    first, second = shapely.LineString([a[:2], a[2:]]), shapely.LineString([b[:2], b[2:]])
    for point in found.tolist():
        assert first.distance(shapely.Point(point)) < 1e-6
        assert second.distance(shapely.Point(point)) < 1e-6
    crossing = first.intersection(second)
    if crossing.geom_type == "Point" and not crossing.is_empty:
        slant = abs(np.cross(np.append(np.subtract(a[2:], a[:2]), 0), np.append(np.subtract(b[2:], b[:2]), 0))[2])
        if slant > 1e-9:
            assert len(found) == 1
            assert math.dist(found[0], (crossing.x, crossing.y)) < 1e-5
    if first.distance(second) > 1e-3:
        assert len(found) == 0


@pytest.mark.parametrize("end", [(0.0, 0.0), (4.0, 0.0), (0.0, 3.0), (4.0, 3.0)])
def test_pieces_that_meet_at_their_ends_cross_there(end: tuple[float, float]) -> None:
    """The corners of a rectangle, whichever way its sides are drawn."""
    x, y = end
    for flat in ([0.0, y, 4.0, y], [4.0, y, 0.0, y]):
        for up in ([x, 0.0, x, 3.0], [x, 3.0, x, 0.0]):
            found = piece_crossings(np.array([flat]), np.array([up]), ONE, ONE)
            assert found.tolist() == [pytest.approx(end, abs=1e-12)]
    on_circle = piece_circle_crossings(np.array([[0.0, 0.0, x or 1.0, y]]), np.array([[9.0, 0.0, 9.0]]), ONE, ONE)
    assert (0.0, 0.0) in [(round(px, 9) + 0.0, round(py, 9) + 0.0) for px, py in on_circle.tolist()]


def test_all_crossings_of_a_mixed_set() -> None:
    """Two circles of 5 mm, 6 mm apart (3, +-4); the line y = 4 through both (0, 3, 6 +- 3) and one that crosses it."""
    elements = Elements(
        np.array([[0.0, 0.0, 5.0], [6.0, 0.0, 5.0]]), np.array([[-9.0, 4.0, 12.0, 4.0], [8.0, 0.0, 8.0, 8.0]])
    )
    found = {(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in crossings_of(elements).tolist()}
    root = round(math.sqrt(25.0 - 4.0), 6)
    assert found == {(3.0, 4.0), (3.0, -4.0), (-3.0, 4.0), (9.0, 4.0), (8.0, 4.0), (8.0, root)}
    assert crossings_of(Elements(np.empty((0, 3)), np.empty((0, 4)))).shape == (0, 2)


@given(circles, pieces, places, places)
def test_the_foot_is_the_nearest_point(c: tuple[float, ...], s: tuple[float, ...], x: float, y: float) -> None:
    on_circle, on_piece = feet(Elements(np.array([c]), np.array([s])), (x, y))
    assert math.dist(on_circle, c[:2]) == pytest.approx(c[2], abs=1e-9)
    assert math.dist(on_circle, (x, y)) == pytest.approx(abs(math.dist((x, y), c[:2]) - c[2]), abs=1e-8)
    line = shapely.LineString([s[:2], s[2:]])
    assert math.dist(on_piece, (x, y)) == pytest.approx(line.distance(shapely.Point(x, y)), abs=1e-9)


def test_near_and_distinct_keep_what_they_should() -> None:
    elements = Elements(
        np.array([[0.0, 0.0, 5.0], [0.0, 0.0, 5.0 + 1e-11], [20.0, 0.0, 5.0]]), np.array([[7.0, -1.0, 7.0, 1.0]])
    )
    assert len(elements.near((6.0, 0.0), 1.0)) == 3  # 1 mm from the two circles and from the piece, ends included
    assert len(elements.near((6.0, 0.0), 0.9)) == 0
    assert len(elements.distinct()) == 3
    assert distinct_rows(elements.circles)[:, 0].tolist() == [0.0, 20.0]
    apart = np.array([[0.0, 0.0, 5.0], [0.0, 0.0, 5.0 + 1e-6]])
    assert len(distinct_rows(apart)) == 2
