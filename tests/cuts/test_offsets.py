"""Exact offsets of lines and arcs: distances, areas, necks, arcs that stay arcs."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from clipper_measure import area, offset, rings
from hypothesis import given, settings
from hypothesis import strategies as st
from pocket_shapes import random_shape

from holecam.cuts import offsets
from holecam.cuts.chaining import Loop, chained_loops
from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.elements import Elements
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.offsets import OffsetStack, neighbourhood, offset_inward, offset_outward
from holecam.cuts.walls import WallChain, chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Outline, Segment, circle_outline, outline_through, rectangle
from holecam.shapes.curve_arrays import ClosedArea, CurveArray

SEEDS = st.integers(0, 10_000)


def test_rectangle_shrinks_to_a_rectangle_to_the_last_digit_that_counts() -> None:
    (inner,) = offset_inward(rectangle(0, 0, 10, 6), 2)
    assert len(inner.curves) == 4
    corners = sorted(c.start for c in inner.curves)
    assert np.abs(np.array(corners) - [(2, 2), (2, 4), (8, 2), (8, 4)]).max() < 1e-9


@pytest.mark.outside_check(
    subject="offsets",
    source="Steiner: A + U r + pi r^2",
    closeness="1e-12",
    standing="mathematics",
)
def test_growing_a_convex_shape_obeys_the_formula_of_steiner() -> None:
    # area + perimeter d + pi d^2 (Steiner 1840, for convex bodies)
    triangle = outline_through([(0, 0), (30, 5), (8, 22)])
    d = 3.7
    (grown,) = offset_outward(triangle, d)
    perimeter = sum(c.length for c in triangle.curves)
    assert grown.area == pytest.approx(triangle.area + perimeter * d + math.pi * d * d, rel=1e-12)
    assert sum(isinstance(c, Arc) for c in grown.curves) == 3


def test_shrinking_what_was_grown_gives_the_convex_shape_back() -> None:
    triangle = outline_through([(0, 0), (30, 5), (8, 22)])
    (grown,) = offset_outward(triangle, 4.0)
    (back,) = offset_inward(grown, 4.0)
    assert back.area == pytest.approx(triangle.area, rel=1e-9)
    assert len(back.curves) == 3


@pytest.mark.parametrize("d", [1.0, 4.999, 5.0])
def test_circle_shrinks_to_a_circle_and_vanishes_at_its_radius(d: float) -> None:
    loops = offset_inward(circle_outline(Circle((7, -3), 5)), d)
    if d == 5.0:
        assert loops == ()
    else:
        assert loops[0].area == pytest.approx(math.pi * (5 - d) ** 2, rel=1e-9)
        assert all(isinstance(c, Arc) for c in loops[0].curves)


def test_a_fillet_of_the_radius_of_the_offset_becomes_a_sharp_corner() -> None:
    (inner,) = offset_inward(rectangle(0, 0, 40, 30, corner_radius=3), 3)
    assert [type(c) for c in inner.curves] == [Segment] * 4
    assert inner.area == pytest.approx(34 * 24)


def test_neck_parts_when_the_offset_passes_half_its_width() -> None:
    chambers = outline_through(
        [(0, 0), (10, 0), (10, 4), (20, 4), (20, 0), (30, 0), (30, 10), (20, 10), (20, 6), (10, 6), (10, 10), (0, 10)]
    )
    assert len(offset_inward(chambers, 0.999)) == 1
    assert len(offset_inward(chambers, 1.001)) == 2
    # Exactly half: a cutter as wide as the neck goes through it, there and back on one line
    level = OffsetStack(walls_of(chains_of_region(chambers, []))).at(1.0)
    flat = [c for loop in level.loops for c in loop.curves if abs(c.start[1] - 5) < 1e-6 and abs(c.end[1] - 5) < 1e-6]
    assert sum(c.length for c in flat) == pytest.approx(2 * 10, abs=1e-3)


def test_slot_as_wide_as_the_cutter_leaves_its_middle_line() -> None:
    level = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 50, 6), []))).at(3.0)
    (loop,) = level.loops
    assert loop.is_flat
    assert loop.length == pytest.approx(2 * 44)


def test_places_beside_a_line_make_a_slot_with_round_ends() -> None:
    (slot,) = neighbourhood([WallChain((Segment((0, 0), (10, 0)),), closed=False)], 2.0)
    assert slot.area == pytest.approx(40 + math.pi * 4)
    assert slot.signed_area > 0


def test_a_margin_counts_for_its_own_chain_only() -> None:
    keep = KeepAway("scribed line", (Segment((15, -5), (15, 25)),), 2.0)
    named, allowed = walls_of_cut(rectangle(0, 0, 30, 20), (), (keep,))
    loops = OffsetStack(named.walls, allowed).at(3.0).loops
    boxes = sorted(loop.outline().bounds for loop in loops if loop.signed_area > 0)
    assert boxes[0] == pytest.approx((3, 3, 10, 17))
    assert boxes[1] == pytest.approx((20, 3, 27, 17))


@pytest.mark.parametrize("d", [0.0, -1.0, math.nan, math.inf])
def test_offset_by_nothing_is_refused(d: float) -> None:
    with pytest.raises(InputError, match="expected a distance above zero"):
        offset_inward(rectangle(0, 0, 10, 6), d)


def test_levels_must_grow() -> None:
    stack = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 10, 6), [])))
    stack.at(2.0)
    with pytest.raises(InputError, match="growing distances"):
        stack.at(1.0)


@given(SEEDS, st.floats(0.3, 6.0))
def test_every_place_of_an_offset_keeps_the_distance_and_none_is_farther(seed: int, d: float) -> None:
    shape = random_shape(seed)
    loops = OffsetStack(walls_of(chains_of_region(shape.outline, shape.islands))).at(d).loops
    if not loops:
        return
    walls = CurveArray(tuple(c for o in (shape.outline, *shape.islands) for c in o.curves))
    places = np.array([c.point_at(t) for loop in loops for c in loop.curves for t in (0.0, 0.29, 0.5, 0.83)])
    away = walls.distance(places)
    assert d - away.min() < 1e-6
    # Joints of curves that meet at a grazing angle are known along them only, and across them to less than this
    assert away.max() - d < 1e-6


@given(SEEDS, st.floats(0.3, 6.0))
def test_a_place_lies_in_the_offset_just_when_it_is_deep_enough(seed: int, d: float) -> None:
    shape = random_shape(seed)
    left, low, right, high = shape.outline.bounds
    points = np.random.default_rng(seed).uniform((left, low), (right, high), (1500, 2))
    area_ = ClosedArea(shape.outline)
    deep = area_.inside_by(points)
    for island in shape.islands:
        deep = np.minimum(deep, -ClosedArea(island).inside_by(points))
    inside = np.zeros(len(points), dtype=np.bool_)
    for loop in offset_inward(shape.outline, d, islands=shape.islands):
        inside ^= ClosedArea(loop).inside(points)
    wrong = (inside != (deep > d)) & (np.abs(deep - d) > 1e-6)
    assert not wrong.any()


@pytest.mark.outside_check(
    subject="offsets",
    source="pyclipper: offsets with round corners",
    closeness="0.003 mm along the border",
    standing="library",
)
@given(SEEDS)
def test_area_agrees_with_a_clipping_library(seed: int) -> None:
    shape = random_shape(seed)
    d = shape.diameter / 2
    loops = OffsetStack(walls_of(chains_of_region(shape.outline, shape.islands))).at(d).loops
    ours = sum(loop.signed_area for loop in loops)
    theirs = area(offset(rings(shape.outline, shape.islands), -d))
    border = sum(loop.length for loop in loops)
    assert ours == pytest.approx(theirs, abs=0.003 * border + 0.01)


@given(SEEDS, st.floats(0.1, 1.0))
@settings(max_examples=25)
def test_levels_worked_out_one_from_the_other_equal_those_from_the_walls(seed: int, share: float) -> None:
    shape = random_shape(seed)
    walls = walls_of(chains_of_region(shape.outline, shape.islands))
    stack = OffsetStack(walls)
    d = shape.diameter / 2
    for k in range(4):
        level = stack.at(d + k * share * shape.diameter)
        fresh = OffsetStack(walls).at(level.distance)
        assert sum(x.signed_area for x in level.loops) == pytest.approx(
            sum(x.signed_area for x in fresh.loops), abs=1e-5
        )


def test_a_drawing_with_gaps_of_a_nanometre_gives_the_same_offset() -> None:
    draw = random.Random(4)
    sharp = rectangle(0, 0, 40, 30, corner_radius=6)
    moved = tuple(
        Segment((c.start[0] + draw.uniform(-4e-7, 4e-7), c.start[1]), (c.end[0], c.end[1] + draw.uniform(-4e-7, 4e-7)))
        if isinstance(c, Segment)
        else c
        for c in sharp.curves
    )
    (a,) = offset_inward(Outline(moved), 2.5)
    (b,) = offset_inward(sharp, 2.5)
    assert a.area == pytest.approx(b.area, abs=1e-4)


def test_arcs_stay_arcs_with_a_tenth_of_the_blocks_of_a_polyline() -> None:
    rounded = rectangle(0, 0, 80, 50, corner_radius=12)
    boss = circle_outline(Circle((40, 25), 9))
    loops = offset_inward(rounded, 3.0, islands=[boss])
    curves = [c for loop in loops for c in loop.curves]
    # A polyline within 2 micron of an arc needs this many chords
    chords = sum(
        math.ceil(abs(c.sweep) / (2 * math.acos(1 - 0.002 / c.radius))) if isinstance(c, Arc) else 1 for c in curves
    )
    assert len(curves) <= chords / 10
    walls = CurveArray((*rounded.curves, *boss.curves))
    places = np.array([c.point_at(t) for c in curves for t in np.linspace(0, 1, 41)])
    assert np.abs(walls.distance(places) - 3.0).max() < 0.002


@pytest.mark.parametrize("distance", [0.0, -1e-9, -0.5, math.nan, math.inf])
def test_an_offset_goes_somewhere(distance: float) -> None:
    stack = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 10, 6), [])))
    with pytest.raises(InputError, match=f"offset by {distance} mm: expected a distance above zero"):
        stack.at(distance)
    assert stack.at(1e-3).loops[0].signed_area == pytest.approx(60.0 - 32e-3, abs=1e-5)


@pytest.mark.parametrize("fails", range(5))
def test_where_chains_do_not_close_a_hair_more_is_kept(monkeypatch: pytest.MonkeyPatch, fails: int) -> None:
    """Tried again 0.2, 0.7, 2 and 7 millionths of a millimetre farther in, then given up."""
    calls = 0

    def failing(pieces: Elements) -> tuple[tuple[Loop, ...], int]:
        nonlocal calls
        calls += 1
        return ((), 1) if calls <= fails else chained_loops(pieces)

    monkeypatch.setattr(offsets, "chained_loops", failing)
    level = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 10, 6), []))).at(2.0)
    shift = [0.0, 2e-7, 7e-7, 2e-6, 7e-6][fails]
    assert calls == fails + 1
    assert level.distance == 2.0
    assert level.loops[0].outline().bounds == pytest.approx((2 + shift, 2 + shift, 8 - shift, 4 - shift), abs=1e-9)


def test_a_drawing_that_never_closes_is_told_with_a_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(offsets, "chained_loops", lambda pieces: ((), 1))
    stack = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 10, 6), [])))
    with pytest.raises(InputError) as told:
        stack.at(2.0)
    assert str(told.value) == (
        "offset by 2.0000 mm: edges near X 8.000 Y 2.000 mm meet so nearly that the offset cannot be closed. "
        "Clean the drawing: remove doubled edges and slivers."
    )
    assert stack.levels == []


def test_what_can_come_near_is_what_owned_a_piece_far_enough_back() -> None:
    """A box with a niche 3 mm wide, whose three walls own nothing from 1.5 mm on.

    A level a step of 1 mm after the last one asks the level a step before that; a step as long as the last distance
    asks all of them.
    """
    notched = outline_through([(0, 0), (40, 0), (40, 20), (22, 20), (22, 28), (19, 28), (19, 20), (0, 20)])
    walls = walls_of(chains_of_region(notched, []))
    stack = OffsetStack(walls)
    assert [len(rows) for rows in stack._blockers(1.0)] == [8, 8]
    first = stack.at(1.0)
    assert [len(rows) for rows in stack._blockers(2.0)] == [8, 8], "as far again as the last: all"
    pointed = np.flatnonzero(walls.pointed).tolist()
    bodies, corners = stack._blockers(1.9)
    assert (len(bodies), corners.tolist()) == (8, pointed), "no level lies far enough back"
    second = stack.at(1.9)
    bodies, corners = stack._blockers(2.8)
    assert bodies.tolist() == np.flatnonzero(first.alive[:8]).tolist()
    assert corners.tolist() == np.flatnonzero(first.alive[8:]).tolist()
    assert (first.alive.sum(), second.alive.sum()) == (10, 7)
    assert len(stack._blockers(2.81)[0]) == 8, "2 x 1.9 - 2.81 lies before the first level"


def test_levels_remember_what_owns_their_pieces() -> None:
    level = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 10, 6), []))).at(2.0)
    assert level.alive.tolist() == [True] * 4 + [False] * 4
    assert level.pieces.row.tolist() == [0, 1, 2, 3]
    assert level.pieces.low == pytest.approx([0.2, 1 / 3, 0.2, 1 / 3])
    assert level.pieces.high == pytest.approx([0.8, 2 / 3, 0.8, 2 / 3])
    assert sorted(level.loops[0].pieces) == [0, 1, 2, 3]


def test_outward_and_beside_lines_run_anticlockwise() -> None:
    (grown,) = offset_outward(rectangle(0, 0, 10, 6), 1.0)
    assert grown.signed_area == pytest.approx(60 + 32 + math.pi)
    assert grown.bounds == pytest.approx((-1, -1, 11, 7))
    ring = outline_through([(0, 0), (20, 0), (20, 20), (9, 20), (9, 16), (16, 16), (16, 4), (4, 4), (4, 20), (0, 20)])
    outer, hole = sorted(offset_outward(ring, 2.6), key=lambda o: -o.area)
    assert outer.signed_area > 0.0 > hole.signed_area, "the mouth of 5 mm is closed, a hole stays inside"
    assert hole.bounds == pytest.approx((6.6, 6.6, 13.4, 15.0)), "16 - sqrt(2.6^2 - 2.4^2) in the mouth"


def test_a_kept_margin_may_be_all_that_keeps_off() -> None:
    walls = walls_of([WallChain(rectangle(0, 0, 10, 6).curves, 0.5)])
    assert OffsetStack(walls).at(0.0).loops[0].outline().bounds == pytest.approx((0.5, 0.5, 9.5, 5.5))
    with pytest.raises(InputError, match=r"offset by -0\.5 mm: expected a distance above zero"):
        OffsetStack(walls).at(-0.5)


def test_levels_never_fall_behind_the_last_one() -> None:
    stack = OffsetStack(walls_of(chains_of_region(rectangle(0, 0, 10, 6), [])))
    stack.at(1.0)
    stack.at(2.0)
    with pytest.raises(InputError, match=r"offset by 1\.5 mm after 2\.0 mm: expected growing distances"):
        stack.at(1.5)
    assert stack.at(2.0).loops[0].signed_area == pytest.approx(12.0), "the same once more is none"


def test_a_distance_below_zero_is_refused_where_any_wall_keeps_less() -> None:
    """One wall keeps 0.5 mm, the other nothing: 0.1 mm less than nothing is no distance from the other."""
    walls = walls_of(
        [WallChain(rectangle(0, 0, 40, 30).curves), WallChain(rectangle(9, 9, 12, 12).reversed().curves, 0.5)]
    )
    with pytest.raises(InputError, match=r"offset by -0\.1 mm: expected a distance above zero"):
        OffsetStack(walls).at(-0.1)
