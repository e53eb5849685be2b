"""Regions between two outlines against a general-purpose geometry library and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from holecam.layout.marking_out_regions import _left_turn, beyond, mirrored_strip, share_of, total_area
from holecam.shapes import Arc, Circle, Outline, Placement, Segment, circle_outline, outline_through, rectangle


def polygon(outline: Outline, *, steps: int = 400) -> Polygon:
    points = []
    for c in outline.curves:
        points += [c.point_at(k / steps) for k in range(steps)] if isinstance(c, Arc) else [c.start]
    return Polygon(points)


def random_shape(rng: np.random.Generator) -> Outline:
    width, high = rng.uniform(20, 60, 2)
    radius = float(rng.choice([0.0, rng.uniform(1, 9)]))
    shape = rectangle(0, 0, width, high, corner_radius=radius)
    turn = float(rng.choice([0.0, 0.0, rng.uniform(-180, 180)]))
    shift = tuple(float(rng.choice([0.0, 0.0, rng.uniform(-10, 10)])) for _ in range(2))
    placed = Placement(turn, shift).apply_outline(shape)  # type: ignore[arg-type]
    k = int(rng.integers(0, len(placed.curves)))
    placed = Outline(placed.curves[k:] + placed.curves[:k])
    return placed.reversed() if rng.random() < 0.5 else placed


@pytest.mark.outside_check(
    subject="marking out",
    source="shapely: areas of differences",
    closeness="0.005 mm2",
    standing="library",
)
@given(seed=st.integers(0, 100_000))
@settings(max_examples=60)
def test_areas_against_another_geometry_library(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = random_shape(rng), random_shape(rng)
    pa, pb = polygon(a), polygon(b)
    for first, second, other in ((a, b, pa.difference(pb)), (b, a, pb.difference(pa))):
        found = beyond(first, second)
        # 400 chords of a 9 mm quarter fall short by 3e-4 mm2 an arc
        assert total_area(found) == pytest.approx(other.area, abs=5e-3)
        for strip in found:
            whole = Polygon(polygon(strip.outer).exterior, [polygon(i).exterior for i in strip.islands])
            assert whole.buffer(-1e-3).difference(other.buffer(2e-3)).area < 1e-4
    # what one has beyond the other, less the reverse, is the difference of the areas: exactly
    assert total_area(beyond(a, b)) - total_area(beyond(b, a)) == pytest.approx(a.area - b.area, abs=1e-6)


def test_shared_edges_leave_nothing() -> None:
    a = rectangle(0, 0, 40, 20, corner_radius=4)
    assert beyond(a, a.reversed()) == ()
    b = rectangle(0, 0, 42, 20, corner_radius=4)
    assert beyond(a, b) == ()
    (strip,) = beyond(b, a)
    # two rows of height 12 and width 2, and the arcs moved by 2: 20 * 2 in all
    assert strip.area == pytest.approx(40.0, abs=1e-9)


def test_arcs_stay_arcs() -> None:
    slab = rectangle(0, 0, 40, 20)
    rounded = rectangle(0, 0, 40, 20, corner_radius=5)
    corners = beyond(slab, rounded)
    assert len(corners) == 4
    assert all(c.area == pytest.approx(25 * (1 - math.pi / 4), abs=1e-9) for c in corners)
    assert all(sum(isinstance(x, Arc) for x in c.outer.curves) == 1 for c in corners)
    assert beyond(rounded, slab) == ()


def test_islands() -> None:
    plate, hole = rectangle(0, 0, 40, 20), circle_outline(Circle((20, 10), 5))
    (strip,) = beyond(plate, hole)
    assert len(strip.islands) == 1
    assert strip.area == pytest.approx(800 - math.pi * 25)
    assert beyond(hole, plate) == ()


@pytest.mark.outside_check(
    subject="marking out",
    source="area of crossing circles in closed form",
    closeness="1e-9",
    standing="mathematics",
)
def test_crossing_circles_in_closed_form() -> None:
    # lens of two circles of radius r at distance d: 2 r^2 acos(d / 2r) - d/2 sqrt(4 r^2 - d^2)
    r, d = 6.0, 7.0
    lens = 2 * r * r * math.acos(d / (2 * r)) - d / 2 * math.sqrt(4 * r * r - d * d)
    moon = beyond(circle_outline(Circle((0, 0), r)), circle_outline(Circle((d, 0), r)))
    assert total_area(moon) == pytest.approx(math.pi * r * r - lens, abs=1e-9)
    assert len(moon) == 1


def test_apart_and_touching_from_outside() -> None:
    a, b = rectangle(0, 0, 10, 10), rectangle(10, 0, 20, 10)
    (whole,) = beyond(a, b)
    assert whole.area == pytest.approx(100.0)
    (whole,) = beyond(a, rectangle(50, 0, 60, 10))
    assert whole.area == pytest.approx(100.0)


def test_several_regions_come_largest_first() -> None:
    wave = outline_through([(0, 0), (40, 0), (40, 11), (30, 9), (20, 14), (10, 9), (0, 11)])
    found = beyond(wave, rectangle(0, 0, 40, 10))
    assert len(found) == 3
    assert [s.area for s in found] == sorted((s.area for s in found), reverse=True)
    assert total_area(found) == pytest.approx(polygon(wave).difference(polygon(rectangle(0, 0, 40, 10))).area)


def test_mirrored_strip_keeps_area_and_sense() -> None:
    (strip,) = beyond(rectangle(0, 0, 40, 20), circle_outline(Circle((20, 10), 5)))
    seen = mirrored_strip(strip)
    assert seen.area == pytest.approx(strip.area)
    assert seen.outer.signed_area > 0 > seen.islands[0].signed_area
    assert seen.outer.bounds == (-40, 0, 0, 20)


def test_share_of_is_the_inverse_of_point_at() -> None:
    for curve in (Segment((1, 2), (5, -3)), Arc((5, 0), (0, 5), (0, 0), True), Arc((5, 0), (0, 5), (0, 0), False)):
        for share in (0.0, 0.2, 0.7, 1.0):
            assert share_of(curve, curve.point_at(share)) == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize("size", [1e-4, 0.01, 0.3, 0.999, 1.0, 1.5, 200.0])
@pytest.mark.parametrize("lean_deg", [0.0, 35.0, -120.0])
def test_share_of_a_line_however_short_it_is(size: float, lean_deg: float) -> None:
    a = math.radians(lean_deg)
    line = Segment((7.0, -3.0), (7.0 + size * math.cos(a), -3.0 + size * math.sin(a)))
    for share in (0.0, 0.1, 0.5, 0.75, 1.0):
        assert share_of(line, line.point_at(share)) == pytest.approx(share, abs=1e-9)
    assert share_of(line, (7.0 - math.cos(a), -3.0 - math.sin(a))) == 0.0
    assert share_of(line, (7.0 + 2 * size * math.cos(a), -3.0 + 2 * size * math.sin(a))) == 1.0
    assert share_of(Segment((7.0, -3.0), (7.0, -3.0)), (9.0, 1.0)) == 0.0


@pytest.mark.parametrize("size", [0.012, 0.05, 1.0, 60.0])
def test_the_turn_into_a_line_or_an_arc_is_that_of_its_beginning(size: float) -> None:
    """An arc of 20 mm radius that goes straight on turns by 0.01 / 40 at 0.01 mm ahead, however long it is."""
    before = Segment((-5.0, 0.0), (0.0, 0.0))
    for turn_deg in (0.0, 30.0, -30.0, 90.0, -90.0, 170.0, -170.0):
        a = math.radians(turn_deg)
        line = Segment((0.0, 0.0), (size * math.cos(a), size * math.sin(a)))
        assert _left_turn(before, line) == pytest.approx(a, abs=1e-9)
        for side in (1.0, -1.0):
            center = (-20.0 * side * math.sin(a), 20.0 * side * math.cos(a))
            b = a - side * math.pi / 2 + side * size / 20.0
            end = (center[0] + 20.0 * math.cos(b), center[1] + 20.0 * math.sin(b))
            arc = Arc((0.0, 0.0), end, center, ccw=side > 0)
            assert arc.length == pytest.approx(size)
            ahead = min(size / 2, 0.01)
            assert _left_turn(before, arc) == pytest.approx(a + side * ahead / 40.0, rel=1e-6, abs=1e-9)


def test_an_edge_that_leaves_another_by_a_hair_loses_no_area() -> None:
    # B's right edge lies 1.6e-6 mm off at its end, on A's by its middle: its end cuts A's edge all the same
    a = rectangle(0, 0, 10, 10)
    b = outline_through([(0, 0), (10, 0), (10 + 1.6e-6, 9), (0, 9)])
    assert total_area(beyond(a, b)) == pytest.approx(10.0, abs=1e-4)
    assert total_area(beyond(b, a)) == pytest.approx(0.0, abs=1e-4)


def test_a_small_gap_between_edges_that_are_nearly_one_loses_no_area() -> None:
    # good edges of a job in inches with four decimals, laid on each other: they cross where rounding puts it
    drawn = outline_through(
        [
            (58.25998, 55.7022),
            (28.4607, 51.18354),
            (5.03174, 55.7022),
            (3.48488, 0.14986),
            (31.623, -4.79044),
            (63.24854, 2.68224),
        ]
    )
    made = outline_through(
        [
            (29.20747486505343, 49.521409260614746),
            (5.834422668594845, 54.053689956337664),
            (5.9802543470114315, -0.7220530566564252),
            (31.624435222583415, -4.790100876649233),
            (63.24854116763096, 2.682240275895131),
            (58.25998613249616, 55.70212213609386),
        ]
    )
    assert total_area(beyond(drawn, made)) == pytest.approx(polygon(drawn).difference(polygon(made)).area, abs=1e-3)
    assert total_area(beyond(made, drawn)) == pytest.approx(polygon(made).difference(polygon(drawn)).area, abs=1e-3)
