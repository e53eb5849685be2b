"""The way into a place that was left: to its middle where it is small, along it where it is long, there and back."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from holecam.cuts.coverage import Patch
from holecam.cuts.coverage_completion import _detour
from holecam.shapes import Point, Segment

RADIUS = 3.0


class Open:
    """A pocket whose walls are nowhere near, or are where told."""

    def __init__(self, wall_x: float = 1e9) -> None:
        self.wall_x = wall_x

    def clear(self, way: Segment, radius: float) -> bool:
        return max(way.start[0], way.end[0]) + radius <= self.wall_x


def stops(patch: Patch, start: Point, walls: Open | None = None) -> list[Point]:
    strokes = _detour(walls or Open(), start, patch, patch.middle(), RADIUS)  # type: ignore[arg-type]
    for a, b in pairwise(strokes):
        assert a.curve.end == b.curve.start
    if strokes:
        assert strokes[0].curve.start == strokes[-1].curve.end == start
    return [s.curve.end for s in strokes[: len(strokes) // 2]]


def row(length: float, count: int = 11) -> Patch:
    x = np.linspace(0.0, length, count)
    return Patch(np.column_stack((x, np.zeros(count))), length * 0.1)


@pytest.mark.parametrize("length", [0.5, 2.0, 4.0])
def test_into_a_small_patch_the_cutter_goes_to_its_middle(length: float) -> None:
    """From the middle every place of it is nearer than 0.7 of the radius, 2.1 mm: the disc covers it with room."""
    assert stops(row(length), (length / 2, 9.0)) == [pytest.approx((length / 2, 0.0))]


def test_along_a_long_patch_it_goes_from_the_nearer_end() -> None:
    assert stops(row(12.0), (-1.0, 1.0)) == [(0.0, 0.0), (12.0, 0.0)]
    assert stops(row(12.0), (13.0, 1.0)) == [(12.0, 0.0), (0.0, 0.0)]


def test_round_a_bent_patch_it_winds_from_place_to_place() -> None:
    bent = Patch(np.array([(0.0, 0.0), (4.0, 0.0), (8.0, 0.0), (8.0, 4.0), (8.0, 8.0)]), 2.0)
    assert stops(bent, (-1.0, 0.0)) == [(0.0, 0.0), (4.0, 0.0), (8.0, 0.0), (8.0, 4.0), (8.0, 8.0)]


def test_a_wall_ends_the_way_and_no_way_is_none() -> None:
    assert stops(row(12.0), (-1.0, 1.0), Open(wall_x=9.0)) == [(0.0, 0.0)]
    assert stops(row(2.0), (1.0, 9.0), Open(wall_x=0.0)) == []
