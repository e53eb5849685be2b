"""From one row to the next along a wall: the shorter way, without lifting, and only along one wall."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.rows_to_and_fro import _along_wall
from holecam.shapes import Curve, Outline, Point, rectangle

WALL = rectangle(0, 0, 10, 6)
ISLAND = rectangle(3, 2, 7, 4)
ROUND = rectangle(20, 0, 40, 12, corner_radius=4)


def place(outline: Outline, way: float) -> Point:
    """Return the place this far along an outline, mm."""
    for curve in outline.curves:
        if way <= curve.length:
            return curve.point_at(way / curve.length)
        way -= curve.length
    return outline.curves[-1].end


def length(curves: list[Curve]) -> float:
    return math.fsum(c.length for c in curves)


def test_round_the_corner_by_hand() -> None:
    """2 mm from one end of a wall of 10 mm to 3 mm up the other: 8 + 3 mm, not the other way round, 2 + 6 + 10 + 3."""
    loops = [WALL.curves, ISLAND.curves]
    there = _along_wall(loops, (2.0, 0.0), (10.0, 3.0))
    assert there is not None
    assert [c.length for c in there] == pytest.approx([8.0, 3.0])
    back = _along_wall(loops, (10.0, 3.0), (2.0, 0.0))
    assert back is not None
    assert [c.length for c in back] == pytest.approx([3.0, 8.0])
    from_a_corner = _along_wall(loops, (0.0, 0.0), (0.0, 5.0))
    assert from_a_corner is not None
    assert length(from_a_corner) == pytest.approx(5.0)
    assert _along_wall(loops, (2.0, 0.0), (3.0, 3.0)) is None, "from the wall to the island there is no wall to follow"
    assert _along_wall(loops, (2.0, 0.0), (9.0, 3.0)) is None


@given(st.sampled_from([WALL, ISLAND, ROUND]), st.floats(0.0, 0.999), st.floats(0.0, 0.999))
def test_the_way_begins_and_ends_where_it_should_and_is_the_shorter_one(
    outline: Outline, first: float, second: float
) -> None:
    whole = math.fsum(c.length for c in outline.curves)
    apart = abs(first - second) * whole
    here, there = place(outline, first * whole), place(outline, second * whole)
    if min(apart, whole - apart) < 0.01:
        return
    way = _along_wall([WALL.curves, ISLAND.curves, ROUND.curves], here, there)
    assert way is not None
    assert way[0].start == pytest.approx(here, abs=2e-4)
    assert way[-1].end == pytest.approx(there, abs=2e-4)
    for before, after in itertools.pairwise(way):
        assert before.end == pytest.approx(after.start, abs=1e-9)
    assert length(way) == pytest.approx(min(apart, whole - apart), abs=5e-4)
