"""Distance of places to the moves of a path, each asked one by one; middle and spine of what is left."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.cuts.coverage import Patch, distance_to_path, pair_distances, uncut_patches
from holecam.cuts.elements import elements_of
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.shapes import Arc, Curve, Segment, rectangle
from holecam.shapes.distances import point_to_curve

places = st.tuples(st.floats(-12, 12), st.floats(-12, 12))


def arc(center: tuple[float, float], radius: float, first: float, turn: float) -> Arc:
    a, b = math.radians(first), math.radians(first + turn)
    start = (center[0] + radius * math.cos(a), center[1] + radius * math.sin(a))
    end = (center[0] + radius * math.cos(b), center[1] + radius * math.sin(b))
    return Arc(start, end, center, ccw=turn > 0)


lines = st.builds(Segment, places, places).filter(lambda s: s.length > 0.1)
arcs = st.builds(
    arc, places, st.floats(0.5, 9), st.floats(-180, 180), st.one_of(st.floats(8, 350), st.floats(-350, -8))
)


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
@pytest.mark.parametrize("wide", [13.0, 16.0, 40.0])
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
