"""Distances between shapes against closed forms, and against shapely with polygons fine enough to bracket them."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, distance, outline_through, rectangle
from holecam.shapes.curve_arrays import ClosedArea, CurveArray, points_array
from holecam.shapes.distances import (
    chain_approach,
    circle_circle,
    circle_gap,
    circle_to_curve,
    circle_to_outline,
    crossings,
    curves_of,
    line_circle,
    nearest_approach,
    outline_gap,
    point_to_chain,
    point_to_circle,
    point_to_curve,
)

CHORDS = 1500
"""Chords for an arc in the shapely copy; an arc of radius r then errs by at most r (1 - cos(pi / CHORDS)): 6e-5 mm
at the largest radius drawn here."""

SHAPELY_BOUND = 1e-4

coordinate = st.floats(-30.0, 30.0, allow_nan=False).map(lambda v: round(v, 3))
points = st.tuples(coordinate, coordinate)


@st.composite
def segments(draw: st.DrawFn) -> Segment:
    return Segment(draw(points), draw(points))


@st.composite
def arcs(draw: st.DrawFn) -> Arc:
    center, r = draw(points), draw(st.floats(0.2, 25.0))
    start = draw(st.floats(0.0, math.tau))
    sweep = draw(st.floats(0.05, math.tau - 0.05))
    ccw = draw(st.booleans())
    end = start + sweep if ccw else start - sweep

    def at(angle: float) -> tuple[float, float]:
        return (center[0] + r * math.cos(angle), center[1] + r * math.sin(angle))

    return Arc(at(start), at(end), center, ccw)


curves = st.one_of(segments(), arcs())


@st.composite
def outlines(draw: st.DrawFn) -> Outline:
    """A star-shaped outline about its middle, some of its sides bulged into arcs, of either sense."""
    count = draw(st.integers(3, 8))
    middle = draw(points)
    turns = sorted(draw(st.lists(st.floats(0.0, 0.999), min_size=count, max_size=count, unique=True)))
    corners = []
    for turn in turns:
        r = draw(st.floats(5.0, 20.0))
        corners.append((middle[0] + r * math.cos(math.tau * turn), middle[1] + r * math.sin(math.tau * turn)))
    sides: list[Curve] = []
    for a, b in pairwise([*corners, corners[0]]):
        bulge = draw(st.sampled_from([0.0, 0.0, 0.2, -0.2, 0.4]))
        sides.append(_side(a, b, bulge))
    outline = Outline(tuple(sides))
    return outline.reversed() if draw(st.booleans()) else outline


def _side(a: tuple[float, float], b: tuple[float, float], bulge: float) -> Curve:
    """A side with the bulge of drawings: tan of a quarter of its angle; 0 is straight."""
    if bulge == 0.0 or distance(a, b) < 0.1:
        return Segment(a, b)
    half = distance(a, b) / 2
    up = half * (1 - bulge**2) / (2 * bulge)
    mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    ux, uy = (b[0] - a[0]) / (2 * half), (b[1] - a[1]) / (2 * half)
    return Arc(a, b, (mx - uy * up, my + ux * up), ccw=bulge > 0)


def fine(curve: Curve) -> shapely.LineString:
    if isinstance(curve, Segment):
        return shapely.LineString([curve.start, curve.end])
    turns = curve.start_angle + np.linspace(0.0, curve.sweep, CHORDS + 1)
    (cx, cy), r = curve.center, curve.radius
    return shapely.LineString(np.stack([cx + r * np.cos(turns), cy + r * np.sin(turns)], axis=1))


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (Segment((0, 0), (10, 0)), Segment((0, 3), (10, 3)), 3.0),  # parallel lines
        (Segment((0, 0), (10, 0)), Segment((13, 4), (20, 4)), 5.0),  # end to end: 3-4-5
        (Segment((0, 0), (10, 0)), Segment((5, -1), (5, 1)), 0.0),  # they cross
        (Segment((0, 0), (10, 0)), Segment((10, 0), (10, 5)), 0.0),  # they share an end
        (Segment((-5, 0), (5, 0)), Arc((3, 4), (-3, 4), (0, 4), ccw=False), 1.0),  # foot of the centre, lower half
        (Segment((-5, 0), (5, 0)), Arc((3, 4), (-3, 4), (0, 4), ccw=True), 4.0),  # the upper half: its ends
        (Segment((-1, 0), (1, 0)), Arc((5, 0), (-5, 0), (0, 0), ccw=True), 4.0),  # inside the arc, through its centre
        (Arc((2, 0), (-2, 0), (0, 0), ccw=True), Arc((5, 0), (0, 5), (0, 0), ccw=True), 3.0),  # concentric
        (Arc((2, 0), (2, 0), (0, 0), ccw=True), Arc((13, 0), (13, 0), (10, 0), ccw=True), 5.0),  # circles apart
        (Arc((9, 0), (9, 0), (0, 0), ccw=True), Arc((3, 0), (3, 0), (1, 0), ccw=False), 6.0),  # circle in circle
        (Arc((2, 0), (-2, 0), (0, 0), ccw=True), Arc((2, -7), (-2, -7), (0, -7), ccw=False), math.sqrt(49)),
    ],
)
def test_distances_with_a_closed_form(first: Curve, second: Curve, expected: float) -> None:
    assert nearest_approach(first, second).distance == pytest.approx(expected, abs=1e-12)
    assert nearest_approach(second, first).distance == pytest.approx(expected, abs=1e-12)


@pytest.mark.outside_check(
    subject="distances",
    source="shapely: fine polygons",
    closeness="1e-4 mm",
    standing="library",
)
@given(curves, curves)
@settings(max_examples=150, deadline=None)
def test_distance_between_curves_agrees_with_fine_polygons(first: Curve, second: Curve) -> None:
    ours = nearest_approach(first, second)
    assert ours.distance == pytest.approx(fine(first).distance(fine(second)), abs=SHAPELY_BOUND)
    # The evidence holds: both points lie on their curves, that far apart
    assert point_to_curve(ours.on_first, first) <= 1e-8
    assert point_to_curve(ours.on_second, second) <= 1e-8
    assert distance(ours.on_first, ours.on_second) == pytest.approx(ours.distance, abs=1e-8)
    back = nearest_approach(second, first).swapped()
    assert back.distance == pytest.approx(ours.distance, abs=1e-9)


@given(curves, curves)
@settings(max_examples=150, deadline=None)
def test_crossings_lie_on_both_curves_and_none_is_missed(first: Curve, second: Curve) -> None:
    found = crossings(first, second)
    for p in found:
        assert point_to_curve(p, first) <= 1e-9
        assert point_to_curve(p, second) <= 1e-9
    met = fine(first).intersection(fine(second))
    for q in shapely.get_coordinates(met):
        # Chords may cross where arcs pass each other by a hair; then the curves come that near
        near = [p for p in found if distance(p, (q[0], q[1])) < 0.2]
        assert near or nearest_approach(first, second).distance < SHAPELY_BOUND


def test_touching_line_and_circle_give_the_one_point() -> None:
    assert line_circle((-5, 3), (5, 3), (0, 0), 3.0) == ((0.0, 3.0),)
    assert line_circle((-5, 3.1), (5, 3.1), (0, 0), 3.0) == ()
    (touch,) = circle_circle((0, 0), 2.0, (5, 0), 3.0)
    assert touch == (2.0, 0.0)
    (inner,) = circle_circle((0, 0), 5.0, (2, 0), 3.0)
    assert inner == (5.0, 0.0)
    assert circle_circle((0, 0), 5.0, (0, 0), 3.0) == ()
    # 3-4-5: circles of 3 and 4 about points 5 apart meet at a right angle
    low, high = sorted(circle_circle((0, 0), 3.0, (5, 0), 4.0), key=lambda p: p[1])
    assert low == pytest.approx((1.8, -2.4))
    assert high == pytest.approx((1.8, 2.4))


def test_gaps_of_circles_are_signed() -> None:
    assert circle_gap(Circle((0, 0), 2.0), Circle((5, 0), 2.5)) == 0.5
    assert circle_gap(Circle((0, 0), 2.0), Circle((3, 0), 2.5)) == -1.5
    assert point_to_circle((0, 0), Circle((0, 0), 2.5)) == -2.5
    assert circle_to_curve(Circle((0, 1), 2.0), Segment((-5, 0), (5, 0))) == -1.0
    plate = rectangle(0, 0, 40, 20)
    assert circle_to_outline(Circle((5, 10), 3.0), plate) == 2.0
    assert circle_to_outline(Circle((-5, 10), 3.0), plate) == -8.0


def test_areas_that_hold_each_other_are_not_apart() -> None:
    plate, island = rectangle(0, 0, 40, 20), circle_outline(Circle((20, 10), 2.0))
    assert outline_gap(plate, island) == 0.0
    assert outline_gap(island, plate) == 0.0
    assert outline_gap(rectangle(0, 0, 40, 20), rectangle(43, 24, 50, 30)) == 5.0
    assert chain_approach(plate.curves, island.curves).distance == 8.0
    assert point_to_chain((20, 10), island.curves) == 2.0
    assert len(curves_of(Circle((0, 0), 1.0))) == 2
    assert curves_of(plate) == plate.curves
    assert curves_of([Segment((0, 0), (1, 0))]) == (Segment((0, 0), (1, 0)),)


def test_the_distance_to_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="chain of no curves"):
        point_to_chain((0, 0), ())
    with pytest.raises(InputError, match="at least one line or arc"):
        CurveArray(())
    with pytest.raises(InputError, match=r"finite numbers of shape \(n, 2\)"):
        points_array([(math.nan, 0.0)])


@given(st.lists(curves, min_size=1, max_size=6), st.lists(points, min_size=1, max_size=8))
@settings(max_examples=100, deadline=None)
def test_tables_say_the_same_as_single_distances(chain: list[Curve], asked: list[tuple[float, float]]) -> None:
    table = CurveArray(tuple(chain)).table(points_array(asked))
    expected = [[point_to_curve(p, c) for c in chain] for p in asked]
    assert table == pytest.approx(np.array(expected), abs=1e-9)
    away, which = CurveArray(tuple(chain)).nearest(points_array(asked))
    for i, p in enumerate(asked):
        assert away[i] == pytest.approx(point_to_chain(p, chain), abs=1e-9)
        assert point_to_curve(p, chain[int(which[i])]) == pytest.approx(away[i], abs=1e-9)


@pytest.mark.outside_check(
    subject="distances",
    source="shapely: contains",
    closeness="every point not on the line",
    standing="library",
)
@given(outlines(), st.lists(points, min_size=1, max_size=30))
@settings(max_examples=100, deadline=None)
def test_inside_agrees_with_fine_polygons_and_with_the_winding_number(
    outline: Outline, asked: list[tuple[float, float]]
) -> None:
    ring = np.concatenate([shapely.get_coordinates(fine(c))[:-1] for c in outline.curves])
    polygon = shapely.Polygon(ring)
    corners = [c.start for c in outline.curves]
    # Level with a corner, and level with the top of an arc: where counting edges goes wrong if it can
    asked = [*asked, *((x, corners[i % len(corners)][1]) for i, (x, _) in enumerate(asked))]
    asked += [(asked[0][0], c.center[1] + s * c.radius) for c in outline.curves if isinstance(c, Arc) for s in (1, -1)]
    area = ClosedArea(outline)
    inside = area.inside(points_array(asked))
    inside_by = area.inside_by(points_array(asked))
    for p, answer, by in zip(asked, inside, inside_by, strict=True):
        to_edge = outline.distance_to(p)
        assert abs(by) == pytest.approx(to_edge, abs=1e-9)
        if to_edge < SHAPELY_BOUND or not polygon.is_valid:
            continue
        assert answer == shapely.contains_xy(polygon, *p)
        assert answer == outline.contains(p)


def test_points_on_the_line_of_two_half_arcs_are_inside() -> None:
    for middle in ((0.0, 0.0), (3.3, 1.7)):
        hole = circle_outline(Circle(middle, 5.0))
        for outline in (hole, hole.reversed()):
            for dx in (-4.9, -1.0, 0.0, 1.0, 4.9):
                p = (middle[0] + dx, middle[1])
                assert outline.contains(p)
                assert ClosedArea(outline).inside(points_array([p]))[0]
            assert not outline.contains((middle[0] + 5.1, middle[1]))


def test_a_gap_of_the_drawing_lets_no_point_slip_through() -> None:
    gap = 5e-7
    sides = (
        Segment((0, 0), (10, 0)),
        Segment((10, 0), (10, 5)),
        Segment((10, 5 + gap), (0, 5 + gap)),
        Segment((0, 5 + gap), (0, 0)),
    )
    area = ClosedArea(Outline(sides))
    level = np.array([(-50.0, 5 + gap / 2), (50.0, 5 + gap / 2)])
    assert not area.inside(level).any()


def test_a_circle_as_an_area() -> None:
    area = ClosedArea(Circle((1, 2), 3.0))
    assert area.inside_by(points_array([(1, 2), (5, 2)])) == pytest.approx([3.0, -1.0])
    assert area.inside(points_array([(1, 2), (5, 2)])).tolist() == [True, False]
    square = ClosedArea(outline_through([(0, 0), (4, 0), (4, 4), (0, 4)]))
    assert square.inside_by(points_array([(1, 2), (5, 2)])) == pytest.approx([1.0, -1.0])


@given(st.randoms(use_true_random=False))
def test_chains_are_as_near_as_their_nearest_pair(dice: random.Random) -> None:
    """Boxes spare most pairs; the answer is that of all pairs, and the first of equals."""

    def chain() -> list[Curve]:
        x, y = dice.uniform(-30, 30), dice.uniform(-30, 30)
        bits: list[Curve] = []
        for _ in range(dice.randrange(1, 6)):
            u, v = x + dice.choice((-8.0, 3.0, 6.0)), y + dice.choice((-5.0, 0.5, 7.0))
            if dice.random() < 0.5:
                bits.append(Segment((x, y), (u, v)))
            else:
                bits.append(Arc((x, y), (u, v), ((x + u) / 2, (y + v) / 2), dice.random() < 0.5))
            x, y = u, v
        return bits

    first, second = chain(), chain()
    pairs = [nearest_approach(a, b) for a in first for b in second]
    assert chain_approach(first, second) == min(pairs, key=lambda p: p.distance)
