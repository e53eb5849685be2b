"""Outlines against a general-purpose geometry library that sees them as polygons of many chords."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from outline_strategies import chord_error, fine_polygon, outlines

from holecam.errors import InputError
from holecam.shapes import (
    Arc,
    Circle,
    Outline,
    Segment,
    circle_outline,
    outline_through,
    rectangle,
    total_bounds,
)

SHARES = st.tuples(st.floats(-0.2, 1.2), st.floats(-0.2, 1.2))


@pytest.mark.outside_check(
    subject="distances",
    source="shapely: area and sense",
    closeness="error of the chords",
    standing="library",
)
@given(outlines())
def test_area_and_its_sign(outline: Outline) -> None:
    polygon = fine_polygon(outline)
    assume(polygon.is_valid)
    slack = chord_error(outline) * polygon.length + 1e-9
    assert outline.area == pytest.approx(polygon.area, abs=slack)
    assert (outline.signed_area > 0) is bool(shapely.is_ccw(polygon.exterior))
    assert outline.reversed().signed_area == pytest.approx(-outline.signed_area, rel=1e-12)
    assert outline.counterclockwise().signed_area > 0


@given(outlines())
def test_bounds(outline: Outline) -> None:
    polygon = fine_polygon(outline)
    assert outline.bounds == pytest.approx(polygon.bounds, abs=chord_error(outline) + 1e-9)


@given(outlines(), SHARES)
def test_inside_distance_and_how_far_inside(outline: Outline, share: tuple[float, float]) -> None:
    polygon = fine_polygon(outline)
    assume(polygon.is_valid)
    left, low, right, high = outline.bounds
    p = (left + share[0] * (right - left), low + share[1] * (high - low))
    dot = shapely.Point(p)
    away = polygon.exterior.distance(dot)
    error = chord_error(outline) + 1e-9
    assert outline.distance_to(p) == pytest.approx(away, abs=error)
    assume(away > 2 * error)  # on the edge itself either answer is allowed
    assert outline.contains(p) is bool(polygon.contains(dot))
    assert outline.inside_by(p) == pytest.approx(away if polygon.contains(dot) else -away, abs=error)


@given(outlines(), st.floats(0.001, 0.3))
def test_points_just_beside_an_arc_are_told_apart(outline: Outline, step: float) -> None:
    """Between the chord and its arc, where a polygon of few chords would be wrong."""
    polygon = fine_polygon(outline)
    assume(polygon.is_valid)
    for curve in outline.counterclockwise().curves:
        if isinstance(curve, Arc):
            sagitta = curve.radius * (1 - math.cos(abs(curve.sweep) / 2))
            by = min(step, 0.5) * sagitta
            x, y = curve.point_at(0.5)
            tx, ty = curve.tangent_at(0.5)
            assert outline.contains((x - ty * by, y + tx * by))  # inside is on the left
            assert not outline.contains((x + ty * by, y - tx * by))


@pytest.mark.outside_check(
    subject="distances",
    source="a b - (4 - pi) r^2",
    closeness="1e-7",
    standing="mathematics",
)
@given(
    st.floats(-100, 100),
    st.floats(-100, 100),
    st.floats(0.5, 300),
    st.floats(0.5, 300),
    st.floats(0, 1),
)
def test_rounded_rectangles_have_the_textbook_area(x: float, y: float, wide: float, high: float, share: float) -> None:
    r = share * min(wide, high) / 2
    outline = rectangle(x, y, x + wide, y + high, corner_radius=r)
    assert outline.signed_area == pytest.approx(wide * high - (4 - math.pi) * r * r, rel=1e-7)
    assert outline.bounds == pytest.approx((x, y, x + wide, y + high), abs=1e-9)


def test_a_slot_outline_has_rounded_ends_only() -> None:
    """Corner radius of half the height: two segments and four quarter arcs."""
    slot = rectangle(0, 0, 50, 10, corner_radius=5)
    assert [type(c).__name__ for c in slot.curves] == ["Segment", "Arc", "Arc", "Segment", "Arc", "Arc"]


def test_a_circle_as_an_outline() -> None:
    circle = circle_outline(Circle((3.0, 4.0), 2.5))
    assert circle.signed_area == pytest.approx(math.pi * 6.25)
    assert circle.contains((3.0, 4.0))
    assert circle.inside_by((3.0, 5.0)) == pytest.approx(1.5)
    assert not circle.contains((6.0, 6.0))


@pytest.mark.parametrize("ccw", [True, False])
def test_one_full_circle_arc_contains_its_middle(ccw: bool) -> None:
    outline = Outline((Arc((5.0, 0.0), (5.0, 0.0), (0.0, 0.0), ccw=ccw),))
    assert outline.contains((1.0, 2.0))
    assert not outline.contains((5.0, 5.0))
    assert outline.signed_area == pytest.approx(25 * math.pi * (1 if ccw else -1))


def test_bounds_of_several() -> None:
    assert total_bounds([rectangle(0, 0, 1, 1), rectangle(5, -2, 6, 0.5)]) == (0, -2, 6, 1)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Outline(()), "outline: expected at least one line or arc"),
        (lambda: Outline((Segment((0, 0), (1, 0)), Segment((1, 0.1), (0, 0)))), r"a gap of 0\.100000 mm between"),
        (lambda: outline_through([(0, 0), (1, 1)]), "expected at least 3 points, got 2"),
        (lambda: rectangle(0, 0, 0, 5), "expected both sides above zero"),
        (lambda: rectangle(0, 0, math.nan, 5), "expected both sides above zero"),
        (lambda: rectangle(0, 0, 10, 5, corner_radius=3), r"expected 0 to 2\.5 mm, half the shorter side"),
        (lambda: rectangle(0, 0, 10, 5, corner_radius=math.nan), r"corner radius nan mm"),
        (lambda: total_bounds([]), "bounds: expected at least one outline"),
    ],
)
def test_outlines_that_cannot_be_are_refused(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]
