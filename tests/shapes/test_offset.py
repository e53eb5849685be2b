"""The line beside a chain: every point keeps its distance, and a general-purpose library finds the same line."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from outline_strategies import chord_error, fine_polygon, outlines

from holecam.errors import InputError
from holecam.shapes import Arc, Outline, Placement, Segment, outline_through, rectangle
from holecam.shapes.curve_arrays import CurveArray
from holecam.shapes.distances import point_to_chain
from holecam.shapes.offset import chain_length, offset_line, point_along, sub_curve


@pytest.mark.outside_check(
    subject="offsets",
    source="shapely: distances of random points to fine polygons",
    closeness="every point that is not nearer to the line than the chords err",
    standing="library",
)
@given(outlines(), st.floats(-0.6, 0.3).filter(lambda v: abs(v) > 0.01))
def test_closed_lines_keep_their_distance_and_match_the_library(outline: Outline, share: float) -> None:
    ring = outline.counterclockwise()
    polygon = fine_polygon(ring)
    assume(polygon.is_valid)
    size = math.sqrt(ring.area)
    offset = share * size
    lines = offset_line(ring.curves, offset, closed=True)
    for line in lines:
        for curve in line:
            for k in range(9):
                away = point_to_chain(curve.point_at(k / 8), ring.curves)
                assert away == pytest.approx(abs(offset), abs=1e-5)
    # Their buffer simplifies its input by up to a hundredth of the distance, so their distances are the judge instead
    areas = shapely.union_all([fine_polygon(Outline(line)) for line in lines])
    left, low, right, high = (v + s for v, s in zip(ring.bounds, (-size, -size, size, size), strict=True))
    dice = random.Random(7)
    for _ in range(60):
        dot = shapely.Point(dice.uniform(left, right), dice.uniform(low, high))
        within = polygon.exterior.distance(dot) * (1 if polygon.contains(dot) else -1)
        if abs(within - offset) > 4 * chord_error(ring) + 1e-6 * size:
            assert bool(areas.contains(dot)) is (within > offset)


@given(st.floats(-180, 180), st.floats(1, 30), st.sampled_from([-1, 1]))
def test_an_open_corner_is_rounded_outside_and_cut_inside(turn: float, offset: float, side: int) -> None:
    """Two legs of 100 mm at right angles: outside they gain a quarter circle, inside they lose the offset each."""
    legs = [Segment((0.0, 0.0), (100.0, 0.0)), Segment((100.0, 0.0), (100.0, 100.0))]
    moved = [Placement(turn, (7.0, -3.0)).apply_curve(c) for c in legs]
    (line,) = offset_line(moved, side * offset, closed=False)
    if side < 0:
        assert chain_length(line) == pytest.approx(200 + math.pi / 2 * offset)
    else:
        assert chain_length(line) == pytest.approx(200 - 2 * offset)
    for curve in line:
        assert point_to_chain(curve.point_at(0.5), moved) == pytest.approx(offset, abs=1e-6)


def test_corner_arcs_that_are_too_tight_vanish() -> None:
    inside = offset_line(rectangle(0, 0, 100, 60, corner_radius=3).curves, 5.0, closed=True)
    assert len(inside) == 1
    assert chain_length(inside[0]) == pytest.approx(2 * 90 + 2 * 50)
    assert all(isinstance(c, Segment) for c in inside[0])


def test_a_neck_falls_apart_and_too_much_leaves_nothing() -> None:
    corners = [(0, 0), (40, 0), (40, 18), (60, 18), (60, 0), (100, 0), (100, 40), (60, 40), (60, 22), (40, 22)]
    dumb_bell = outline_through([*corners, (40, 40), (0, 40)]).counterclockwise()
    assert len(offset_line(dumb_bell.curves, 1.9, closed=True)) == 1
    assert len(offset_line(dumb_bell.curves, 2.1, closed=True)) == 2
    assert offset_line(dumb_bell.curves, 20.5, closed=True) == ()


def test_no_offset_is_the_chain_itself() -> None:
    curves = rectangle(0, 0, 10, 5).curves
    assert offset_line(curves, 0.0, closed=True) == (curves,)


def test_smooth_joints_get_no_arc() -> None:
    chain = [Segment((0.0, 0.0), (10.0, 0.0)), Arc((10.0, 0.0), (15.0, 5.0), (10.0, 5.0), ccw=True)]
    (line,) = offset_line(chain, -2.0, closed=False)
    assert [type(c).__name__ for c in line] == ["Segment", "Arc"]
    (inner,) = offset_line(chain, 2.0, closed=False)
    assert chain_length(inner) == pytest.approx(10 + math.pi / 2 * 3)


@given(st.floats(0, 1))
def test_points_along_a_chain(share: float) -> None:
    curves = rectangle(0, 0, 100, 60, corner_radius=10).curves
    whole = chain_length(curves)
    assert whole == pytest.approx(2 * 80 + 2 * 40 + math.tau * 10)
    p = point_along(curves, share * whole)
    assert point_to_chain(p, curves) < 1e-9
    before = [c for c in curves if chain_length(curves[: curves.index(c) + 1]) < share * whole]
    assert share * whole - chain_length(before) <= curves[len(before)].length + 1e-9


@given(st.lists(st.floats(0, 1), min_size=1, max_size=5))
def test_many_points_along_a_chain_are_those_asked_for_one_by_one(shares: list[float]) -> None:
    curves = rectangle(-3, 2, 100, 60, corner_radius=10).curves
    whole = chain_length(curves)
    ways = [0.0, *(share * whole for share in shares), whole]
    for chain in (curves, tuple(c.reversed() for c in reversed(curves)), curves[:1], curves[1:2]):
        size = chain_length(chain)
        inside = [min(way, size) for way in ways]
        found = CurveArray(chain).points_along(np.array(inside))
        assert found == pytest.approx(np.array([point_along(chain, way) for way in inside]), abs=1e-9)


def test_points_along_a_corner_piece_by_hand() -> None:
    # 10 mm east, a quarter turn left of radius 5 (5 pi / 2 long), then 4 mm north; ways outside give the ends
    chain = (
        Segment((0.0, 0.0), (10.0, 0.0)),
        Arc((10.0, 0.0), (15.0, 5.0), (10.0, 5.0), ccw=True),
        Segment((15.0, 5.0), (15.0, 9.0)),
    )
    turn = 5.0 * math.pi / 2
    ways = np.array([-1.0, 2.5, 10.0, 10.0 + turn / 2, 10.0 + turn, 11.0 + turn, 99.0])
    half = 5.0 * math.sqrt(0.5)
    expected = [(0, 0), (2.5, 0), (10, 0), (10 + half, 5 - half), (15, 5), (15, 6), (15, 9)]
    assert CurveArray(chain).points_along(ways) == pytest.approx(np.array(expected, dtype=float), abs=1e-12)


def test_a_way_past_the_end_is_refused() -> None:
    curves = [Segment((0.0, 0.0), (10.0, 0.0))]
    assert point_along(curves, 10.0 + 1e-9) == (10.0, 0.0)
    with pytest.raises(InputError, match=r"way 10\.5 mm: expected 0 to 10 mm"):
        point_along(curves, 10.5)


def test_part_of_a_curve() -> None:
    arc = Arc((10.0, 0.0), (0.0, 10.0), (0.0, 0.0), ccw=True)
    part = sub_curve(arc, 1 / 3, 2 / 3)
    assert part.length == pytest.approx(arc.length / 3)
    assert part.start == pytest.approx((10 * math.cos(math.pi / 6), 5.0))
    assert sub_curve(Segment((0.0, 0.0), (10.0, 0.0)), 0.2, 0.5) == Segment((2.0, 0.0), (5.0, 0.0))


@pytest.mark.parametrize(
    ("curves", "offset", "message"),
    [
        ([], 1.0, "expected at least one line or arc"),
        ([Segment((0, 0), (0, 0))], 1.0, "expected at least one line or arc"),
        ([Segment((0, 0), (1, 0))], math.nan, "offset nan: expected a finite length"),
        ([Segment((0, 0), (1, 0)), Segment((1, 1), (2, 1))], 1.0, r"a gap of 1\.000000 mm"),
    ],
)
def test_lines_that_cannot_be_are_refused(curves: list[Segment], offset: float, message: str) -> None:
    with pytest.raises(InputError, match=message):
        offset_line(curves, offset, closed=False)
