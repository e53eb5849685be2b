"""The index of many curves gives the very figures that the whole table gives; the outlines of large parts are quick."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outline_strategies import bulged, fine_polygon, outlines

import holecam.shapes.curve_arrays as curve_arrays
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, outline_through, rectangle
from holecam.shapes.curve_arrays import ClosedArea, CurveArray
from holecam.shapes.curve_index import MOST_IN_SLABS, Slabs


def points_about(outline: Outline, seed: int, count: int = 60) -> np.ndarray:
    """Return points around an outline, on its corners, at their heights, and far away."""
    rng = random.Random(seed)
    x0, y0, x1, y1 = outline.bounds
    reach = max(x1 - x0, y1 - y0)
    at = [
        (rng.uniform(x0 - reach / 2, x1 + reach / 2), rng.uniform(y0 - reach / 2, y1 + reach / 2)) for _ in range(count)
    ]
    corners = [c.start for c in outline.curves]
    level = [(rng.uniform(x0 - 1, x1 + 1), y) for _, y in corners]
    middles = [c.center for c in outline.curves if isinstance(c, Arc)]
    return np.array([*at, *corners, *level, *middles, (x0 - 1e5, y0), (x1 + 1e5, y1)])


def both_ways(shape: Outline, points: np.ndarray) -> None:
    """Hold the index against the whole table, to the last bit."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(curve_arrays, "PAIRS_FROM", math.inf)
        away, which = CurveArray(shape.curves).nearest(points)
        inside, by = ClosedArea(shape).inside(points), ClosedArea(shape).inside_by(points)
        patch.setattr(curve_arrays, "PAIRS_FROM", 0)
        away_indexed, which_indexed = CurveArray(shape.curves).nearest(points)
        np.testing.assert_array_equal(away_indexed, away)
        np.testing.assert_array_equal(which_indexed, which)
        np.testing.assert_array_equal(ClosedArea(shape).inside(points), inside)
        np.testing.assert_array_equal(ClosedArea(shape).inside_by(points), by)
        for within in (-1.0, 0.0, float(np.median(away)), 1e6):
            near = ClosedArea(shape).inside_by(points, within=within)
            np.testing.assert_array_equal(near[away <= within], by[away <= within])
            far = near[away > within]
            assert ((far == by[away > within]) | np.isinf(far)).all()
            np.testing.assert_array_equal(np.sign(far), np.sign(by[away > within]))


@settings(max_examples=300)
@given(outlines(), st.integers(0, 10**6))
def test_the_index_gives_what_the_whole_table_gives(outline: Outline, seed: int) -> None:
    both_ways(outline, points_about(outline, seed))


@pytest.mark.parametrize(
    "outline",
    [
        circle_outline(Circle((3.0, 4.0), 2000.0)),
        rectangle(-5, -5, 5, 5),
        # steps of one height, teeth, and an arc so flat that its chord stands for it
        outline_through([(0, 0), (10, 0), (10, 1), (9, 1), (9, 2), (8, 2), (8, 1), (7, 1), (7, 3), (0, 3)]),
        outline_through([(0, 0), (40, 0), *((40 - n, 5 + n % 2) for n in range(41))]),
        Outline(
            (
                bulged((0.0, 0.0), (900.0, 0.0), 1e-4),
                Segment((900.0, 0.0), (450.0, 50.0)),
                Segment((450.0, 50.0), (0.0, 0.0)),
            )
        ),
    ],
)
def test_flat_edges_equal_heights_and_great_circles(outline: Outline) -> None:
    both_ways(outline, points_about(outline, 7, 400))


@pytest.mark.outside_check(
    subject="distances",
    source="shapely: distance and side of 2000 points to an outline of 3000 edges",
    closeness="1e-9 mm",
    standing="library",
)
def test_a_traced_outline_agrees_with_the_geometry_library() -> None:
    import shapely

    count = 3000
    corners = []
    for n in range(count):
        turn = math.tau * n / count
        r = 80.0 + 9.0 * math.sin(11 * turn) + 2.0 * math.cos(53 * turn)
        corners.append((r * math.cos(turn), 0.7 * r * math.sin(turn)))
    outline = outline_through(corners)
    rng = np.random.default_rng(3)
    points = rng.uniform(-100, 100, (2000, 2))
    polygon = fine_polygon(outline)
    asked = shapely.points(points)
    inside = shapely.contains(polygon, asked)
    away = shapely.distance(polygon.exterior, asked)
    found = ClosedArea(outline).inside_by(points)
    assert np.abs(found - np.where(inside, away, -away)).max() < 1e-9


def test_long_spikes_are_asked_without_a_list_by_height() -> None:
    """Spikes of many lengths pass many heights each: the list would grow with their square, and is not made."""
    count = 3000
    assert Slabs.of(np.arange(count) * 1.0, np.arange(count) + 2000.0) is None
    assert count * 2000 > MOST_IN_SLABS
    ends = [
        (count - n * 0.5, 1.0 + 100.0 * math.sin(n) ** 2) if n % 2 else (count - n * 0.5, 0.5) for n in range(2 * count)
    ]
    spikes = outline_through([(0.0, 0.0), (float(count), 0.0), *ends])
    area = ClosedArea(spikes)
    assert area._slabs is None
    points = np.column_stack((np.linspace(1.0, count - 1.0, 200), np.full(200, 0.25)))
    assert area.inside(points).all()


def test_a_chain_of_many_curves_tells_the_first_of_two_equally_near() -> None:
    curves: list[Curve] = [Segment((float(n), 0.0), (float(n + 1), 0.0)) for n in range(600)]
    points = np.array([[float(n), 1.0] for n in range(601)] * 2)
    away, which = CurveArray(tuple(curves)).nearest(points)
    assert (away == 1.0).all()
    assert which.tolist() == [max(n - 1, 0) for n in range(601)] * 2
