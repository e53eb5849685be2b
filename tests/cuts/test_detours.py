"""The way into a place that was left: to its middle where it is small, along it where it is long, there and back."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from holecam.cuts.coverage import Patch
from holecam.cuts.coverage_completion import _detour, _winding, _with_detours, completed
from holecam.cuts.level_layout import LevelLayout, RampEntry, Run, Stroke, StrokeKind
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.shapes import Point, Segment, rectangle

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


def test_stops_of_a_bent_patch_lie_more_than_half_a_radius_apart() -> None:
    """Places 1 mm apart, from the nearest end on: what lies within 1.5 mm of a stop is passed over."""
    patch = row(8.0, 9)
    assert _winding((-5.0, 0.0), patch, RADIUS) == [(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (6.0, 0.0), (8.0, 0.0)]
    assert _winding((9.0, 0.0), patch, RADIUS)[:2] == [(8.0, 0.0), (6.0, 0.0)]
    assert _winding((3.2, 9.0), patch, RADIUS) == [(3.0, 0.0), (1.0, 0.0), (5.0, 0.0), (7.0, 0.0)]
    assert _winding((0.0, 0.0), Patch(np.array([(0.0, 0.0), (1.5, 0.0), (1.51, 0.0)]), 1.0), RADIUS) == [
        (0.0, 0.0), (1.51, 0.0),
    ]  # fmt: skip


@pytest.mark.parametrize(("length", "along"), [(4.1, False), (4.3, True)])
def test_a_patch_is_long_from_seven_tenths_of_a_radius_beside_its_middle_on(length: float, along: bool) -> None:
    found = stops(row(length, 3), (-1.0, 0.0))
    assert found == ([(0.0, 0.0), (length, 0.0)] if along else [(length / 2, 0.0)])


def test_a_wide_patch_is_wound_through() -> None:
    """2.2 mm beside its spine lie beyond 0.7 of the radius: there and back along it would not do."""
    for half, wound in ((2.0, False), (2.2, True)):
        x = np.array([0.0, 4.0, 8.0, 12.0])
        edge = np.concatenate([np.column_stack((x, np.full(4, s * half))) for s in (-1.0, 1.0)])
        ends = np.array([(-6.0, 0.0), (18.0, 0.0)])
        patch = Patch(np.concatenate([edge, ends]), 9.0)
        found = stops(patch, (-9.0, 0.0))
        assert (found == [(-6.0, 0.0), (18.0, 0.0)]) is not wound
        assert (len(found) > 5) is wound


OPEN_BOX = walls_of(chains_of_region(rectangle(-50, -50, 50, 50), ()))


def cut(a: Point, b: Point, kind: StrokeKind = StrokeKind.CUT) -> Stroke:
    return Stroke(Segment(a, b), kind)


def test_a_detour_leaves_from_the_nearest_end_and_of_equal_ones_from_the_last() -> None:
    first = Run((cut((0, 0), (10, 0)), cut((10, 0), (10, 5), StrokeKind.STEP), cut((10, 5), (20, 5))), RampEntry(3.0))
    second = Run((cut((30, 0), (10, 0)), cut((10, 0), (30, 9))))
    layout = LevelLayout((first, second))
    # (10, 0) is nearest and ends two strokes; a step that ended there would not count
    made = _with_detours(layout, OPEN_BOX, [Patch(np.array([(10.0, -2.0)]), 0.1)], RADIUS)
    assert made is not None
    assert made.runs[0] == first
    assert [s.curve.end for s in made.runs[1].strokes] == [(10, 0), (10, -2), (10, 0), (30, 9)]
    assert {s.kind for s in made.runs[1].strokes} == {StrokeKind.CUT}
    beside_step = _with_detours(layout, OPEN_BOX, [Patch(np.array([(10.0, 6.0)]), 0.1)], RADIUS)
    assert beside_step is not None
    assert beside_step.runs[0] == first
    two = [Patch(np.array([(20.0, 7.0)]), 0.1), Patch(np.array([(21.0, 4.0)]), 0.1)]
    both = _with_detours(layout, OPEN_BOX, two, RADIUS)
    assert both is not None
    assert [s.curve.end for s in both.runs[0].strokes[3:]] == [(20, 7), (20, 5), (21, 4), (20, 5)]
    assert both.runs[0].entry == RampEntry(3.0)


def test_behind_a_wall_another_end_is_tried_and_where_none_leads_nothing_is_added() -> None:
    walls = walls_of(chains_of_region(rectangle(-50, -50, 50, 50), (rectangle(14, -40, 16, 40),)))
    layout = LevelLayout((Run((cut((0, 0), (10, 0)),)), Run((cut((30, 30), (40, 0)),))))
    patch = Patch(np.array([(20.0, 0.0)]), 0.1)
    made = _with_detours(layout, walls, [patch], RADIUS)
    assert made is not None
    assert [len(run.strokes) for run in made.runs] == [1, 3]
    assert _with_detours(LevelLayout(layout.runs[:1]), walls, [patch], RADIUS) is None


def test_a_middle_that_is_left_is_cut_and_a_chamber_without_a_way_is_told() -> None:
    """60 by 16 mm run along the walls alone leaves 48 by 4 mm: one detour does, and the cover is whole."""
    walls = walls_of(chains_of_region(rectangle(0, 0, 60, 16), ()))
    room = rectangle(3, 3, 57, 13)
    layout = LevelLayout((Run(tuple(Stroke(c, StrokeKind.FINISH) for c in room.curves)),))
    whole = completed(layout, walls, [room], RADIUS)
    assert (whole.uncut, whole.detours) == ((), 1)
    assert len(whole.layout.runs[0].strokes) > 6
    again = completed(whole.layout, walls, [room], RADIUS)
    assert (again.layout, again.uncut, again.detours) == (whole.layout, (), 0)
    walled = walls_of(chains_of_region(rectangle(0, 0, 60, 16), (rectangle(29, 0.5, 31, 15.5),)))
    rooms = [rectangle(3, 3, 26, 13), rectangle(34, 3, 57, 13)]
    left = [Stroke(c, StrokeKind.FINISH) for c in rooms[0].curves] + [cut((3, 3), (3, 8)), cut((3, 8), (26, 8))]
    half = completed(LevelLayout((Run(tuple(left)),)), walled, rooms, RADIUS)
    assert half.detours == 0
    assert sum(p.area for p in half.uncut) == pytest.approx(17 * 4, rel=0.15)
    assert half.layout.runs[0].strokes == tuple(left)
