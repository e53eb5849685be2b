"""Distance of places to the moves of a path, each asked one by one; middle and spine of what is left."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_curves import arc, arcs, lines, places

from holecam.cuts import coverage
from holecam.cuts.coverage import (
    Patch,
    _clustered,
    _may_be_deep,
    _touches,
    distance_to_path,
    pair_distances,
    uncut_patches,
)
from holecam.cuts.elements import elements_of
from holecam.cuts.walls import WallChain, chains_of_region, walls_of
from holecam.shapes import Circle, Curve, Segment, circle_outline, rectangle
from holecam.shapes.curve_arrays import ClosedArea
from holecam.shapes.distances import point_to_curve


@given(st.lists(st.one_of(lines, arcs), min_size=1, max_size=4), st.lists(places, min_size=1, max_size=6))
@settings(max_examples=100)
def test_distance_to_lines_and_arcs_is_that_of_each_alone(moves: list[Curve], at: list[tuple[float, float]]) -> None:
    table = elements_of(moves)
    rows = np.repeat(np.arange(len(moves)), len(at))
    x, y = np.array(at * len(moves)).T
    alone = [point_to_curve(p, c) for c in moves for p in at]
    assert pair_distances(table, rows, x, y) == pytest.approx(alone, abs=1e-9)
    for reach in (0.7, 5.0, 60.0):
        found = distance_to_path(table, x[: len(at)], y[: len(at)], reach)
        for p, away in zip(at, found.tolist(), strict=True):
            nearest = min(point_to_curve(p, c) for c in moves)
            if abs(nearest - reach) > 1e-9:
                assert away == (pytest.approx(nearest, abs=1e-9) if nearest < reach else math.inf)


def test_beyond_the_ends_of_an_arc_by_hand() -> None:
    """A quarter circle of 5 mm from (5, 0) to (0, 5): its ends are nearest to what lies beyond them."""
    quarter = elements_of([arc((0.0, 0.0), 5.0, 0.0, 90.0)])
    x, y = np.array([8.0, -4.0, 6.0, 0.0, -5.0]), np.array([-4.0, 8.0, 8.0, 0.0, -5.0])
    assert pair_distances(quarter, np.zeros(5, dtype=np.intp), x, y) == pytest.approx(
        [5.0, 5.0, 5.0, 5.0, math.hypot(5.0, 10.0)]
    )
    assert len(distance_to_path(elements_of([]), x, y, 3.0)) == 5
    assert np.isinf(distance_to_path(elements_of([]), x, y, 3.0)).all()


def test_spine_of_a_patch_runs_along_it() -> None:
    along = np.linspace(0.0, 10.0, 41)
    turn = math.radians(35.0)
    for wide in (0.0, 0.5):
        box = np.array([(t, s) for t in along for s in (-wide, wide)])
        xy = np.column_stack(
            [
                box[:, 0] * math.cos(turn) - box[:, 1] * math.sin(turn),
                box[:, 0] * math.sin(turn) + box[:, 1] * math.cos(turn),
            ]
        )
        spine = Patch(xy + np.array([3.0, -2.0]), 1.0).spine()
        assert spine is not None
        assert spine.length == pytest.approx(10.0, abs=0.06)
        (dx, dy) = spine.tangent_at(0.0)
        assert abs(dx * math.cos(turn) + dy * math.sin(turn)) == pytest.approx(1.0, abs=0.006)
    assert Patch(np.array([[3.0, 4.0]]), 0.1).spine() is None
    corner = Patch(np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 5.0], [1.2, 1.5]]), 0.1)
    assert corner.middle() == (1.2, 1.5)


@pytest.mark.parametrize("shift", [0.0, -71.3, 250.0])
@pytest.mark.parametrize("wide", [13.0, 16.0, 22.0])
def test_area_that_is_left_by_hand(shift: float, wide: float) -> None:
    """A box of 60 by ``wide``, cutter 6 mm, run along the walls alone: 48 by ``wide - 12`` stays, and nothing else."""
    walls = walls_of(chains_of_region(rectangle(shift, shift, shift + 60, shift + wide), ()))
    room = rectangle(shift + 3, shift + 3, shift + 57, shift + wide - 3)
    (patch,) = uncut_patches(walls, [room], elements_of(room.curves), 3.0)
    high = wide - 12.0
    # Whole boxes of at most 0.18 mm: too large by up to one all round, never too small by more
    assert 48.0 * high - 0.18 * 2 * (48.0 + high) < patch.area < (48.0 + 0.36) * (high + 0.36)
    x, y = patch.centers.T
    assert (x.min() - shift, x.max() - shift) == pytest.approx((6.0, 54.0), abs=0.2)
    assert (y.min() - shift, y.max() - shift) == pytest.approx((6.0, 6.0 + high), abs=0.2)
    assert patch.middle() == pytest.approx((shift + 30.0, shift + wide / 2), abs=0.3)
    row = Segment((shift + 3, shift + wide / 2), (shift + 57, shift + wide / 2))
    left = uncut_patches(walls, [room], elements_of([*room.curves, row]), 3.0)
    rest = max(0.0, high - 6.0) * 48.0
    assert sum(p.area for p in left) == pytest.approx(rest, abs=0.36 * 2 * (48.0 + high) if rest else 0.0)
    assert len(left) == (2 if rest else 0)


def test_the_boxes_of_a_patch_are_as_fine_as_told_and_coarse_where_there_are_many() -> None:
    """Cutter 6 mm: first boxes of 1.5 mm, halved down to at most 0.03 mm, or 0.18 mm where more than 300 are uncut."""
    walls = walls_of(chains_of_region(rectangle(0, 0, 60, 40), ()))
    room = rectangle(3, 3, 57, 37)
    # Rows 5.5 and 6 mm apart cover all. Without 4 mm of the middle one two slivers stay, 0.264 mm high, 2.5 less
    # sqrt(5); without 20 mm of it a piece of 14 by 5 mm and more
    for gap, side, least, most in ((4.0, 1.5 / 64, 1, 300), (20.0, 1.5 / 16, 301, 9999)):
        rows = [Segment((3, y), (57, y)) for y in (9.0, 15.0, 26.0, 32.0)]
        rows += [Segment((3, 20.5), (30 - gap / 2, 20.5)), Segment((30 + gap / 2, 20.5), (57, 20.5))]
        found = uncut_patches(walls, [room], elements_of([*room.curves, *rows]), 3.0)
        assert found
        count = sum(len(p.centers) for p in found)
        assert least <= count <= most
        for patch in found:
            assert patch.area == pytest.approx(len(patch.centers) * side * side)
            grid = (patch.centers - 3.0) / side - 0.5
            assert np.abs(grid - np.round(grid)).max() < 1e-6
            # Each middle is farther than the cutter's radius from the path
            x, y = patch.centers.T
            assert (distance_to_path(elements_of([*room.curves, *rows]), x, y, 60.0) > 3.0).all()


def test_places_are_asked_in_parts_and_answered_as_in_one(monkeypatch: pytest.MonkeyPatch) -> None:
    path = elements_of([Segment((0.0, 0.0), (9.0, 0.0)), arc((4.0, 4.0), 3.0, 20.0, 300.0)])
    x, y = np.linspace(-3.0, 12.0, 31), np.linspace(-4.0, 9.0, 31)
    walls = walls_of(chains_of_region(rectangle(-3, -4, 12, 9), (rectangle(2, 2, 4, 4),)))
    areas = [ClosedArea(rectangle(-2, -3, 11, 8))]
    whole = distance_to_path(path, x, y, 5.0)
    deep = _may_be_deep(walls, areas, x, y, 0.1, 1.5)
    assert np.isfinite(whole).sum() > 10
    assert 3 < deep.sum() < 28
    monkeypatch.setattr(coverage, "PLACES_AT_ONCE", 4)
    assert (distance_to_path(path, x, y, 5.0) == whole).all()
    assert (_may_be_deep(walls, areas, x, y, 0.1, 1.5) == deep).all()


def test_a_box_is_deep_where_it_may_reach_two_radii_from_all_walls_inside_a_room() -> None:
    """Radius 2, a box of half diagonal 0.5: its middle must lie 3.5 mm from the walls, or that and a margin."""
    outline = chains_of_region(rectangle(0, 0, 40, 40), ())
    kept = WallChain((Segment((20.0, -9.0), (20.0, 9.0)),), 1.0, closed=False)
    walls = walls_of([*outline, kept])
    areas = [ClosedArea(rectangle(2, 2, 38, 38)), ClosedArea(rectangle(28, 28, 34, 34))]
    places = [
        (3.49, 20.0), (3.51, 20.0), (20.0, 36.49), (20.0, 36.51), (15.49, 5.0), (15.51, 5.0), (24.49, 5.0),
        (24.51, 5.0), (20.0, 13.49), (20.0, 13.51), (30.0, 30.0), (1.0, 20.0),
    ]  # fmt: skip
    x, y = np.array(places).T
    found = _may_be_deep(walls, areas, x, y, 0.5, 2.0)
    wanted = [False, True, True, False, True, False, False, True, False, True, False, False]
    assert found.tolist() == wanted
    assert len(_may_be_deep(walls, areas, np.zeros(0), np.zeros(0), 0.5, 2.0)) == 0


def test_a_box_touches_an_area_that_comes_within_its_half_diagonal() -> None:
    disc = circle_outline(Circle((10.0, 5.0), 2.0))
    areas = [(ClosedArea(o), o.bounds) for o in (disc, rectangle(20, 0, 22, 9))]
    places = [
        (7.51, 5.0), (7.49, 5.0), (12.49, 5.0), (12.51, 5.0), (10.0, 2.51), (10.0, 2.49), (10.0, 7.49), (10.0, 7.51),
        (11.7, 6.7), (11.8, 6.8), (10.0, 5.0), (21.0, 4.0), (19.49, 4.0), (22.51, 4.0), (22.49, 4.0), (21.0, 9.49),
    ]  # fmt: skip
    x, y = np.array(places).T
    wanted = [True, False, True, False, True, False, True, False, True, False, True, True, False, False, True, True]
    assert _touches(areas, x, y, 0.5).tolist() == wanted


def test_boxes_that_touch_are_one_patch() -> None:
    """Boxes of 0.5 mm: two side by side and one corner to corner with them; one 1 mm away; a row of three upright."""
    boxes = [(0, 0), (1, 0), (2, 1), (4, 1), (8, 3), (8, 4), (8, 5), (-1, -1)]
    x, y = (np.array([b[k] for b in boxes]) * 0.5 + 0.25 + shift for k, shift in ((0, 7.0), (1, -3.0)))
    found = _clustered(x, y, 0.5, (7.0, -3.0))
    told = [sorted((round((px - 7.25) * 2), round((py + 2.75) * 2)) for px, py in p.centers) for p in found]
    assert told == [[(-1, -1), (0, 0), (1, 0), (2, 1)], [(4, 1)], [(8, 3), (8, 4), (8, 5)]]
    assert [p.area for p in found] == [1.0, 0.25, 0.75]


def test_only_the_places_asked_for_are_looked_at() -> None:
    walls = walls_of(chains_of_region(rectangle(0, 0, 30, 20), ()))
    room = rectangle(3, 3, 27, 17)
    path = elements_of(room.curves)
    (whole,) = uncut_patches(walls, [room], path, 3.0)
    assert whole.area == pytest.approx(18 * 8, rel=0.04)
    parts = uncut_patches(walls, [room], path, 3.0, only=[rectangle(10, 8, 12, 11), rectangle(15, 8, 20, 10)])
    assert [p.area for p in parts] == pytest.approx([6.0, 10.0], rel=0.2)
    assert uncut_patches(walls, [room], path, 3.0, only=[rectangle(0, 0, 5, 5)]) == []
    assert uncut_patches(walls, [], path, 3.0) == []


def test_middle_and_spine_of_two_boxes() -> None:
    two = Patch(np.array([[0.0, 0.0], [0.3, 0.4]]), 0.1)
    spine = two.spine()
    assert spine is not None
    assert sorted((spine.start, spine.end)) == [(0.0, 0.0), (0.3, 0.4)]
    assert Patch(np.array([[2.0, 2.0], [2.0, 2.0]]), 0.1).spine() is None
