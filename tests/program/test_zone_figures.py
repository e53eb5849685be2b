"""Heaps and bends in figures: how deep a body enters, at which place, and which moves are looked at at all."""

from __future__ import annotations

import math

import numpy as np
import pytest
from moves_by_hand import Row, columns

from holecam.plan.limits import Bend
from holecam.program import zones
from holecam.program.body import Body
from holecam.program.moves import Kind
from holecam.program.zones import (
    Entry,
    Heap,
    Hollow,
    _box,
    _halves,
    _left_of,
    _not_cleared,
    _points,
    _settle,
    entries,
    plan_curve,
)
from holecam.shapes import Arc, Curve, Segment, rectangle

BOX = rectangle(10, -5, 30, 15)
FLAT, BALL, POINT = Body(3.0), Body(3.0, 3.0), Body(3.0, 0.0, 0.5)


def line(a: tuple[float, float, float], b: tuple[float, float, float]) -> Row:
    return (Kind.FEED, a, b, None)


def one(*values: float) -> np.ndarray:
    return np.array([values])


# Heaps


def test_which_moves_may_enter_a_heap() -> None:
    for low, high, near in [
        ((33.0, 0, 0), (33.0, 0, 0), False), ((32.999, 0, 0), (32.999, 0, 0), True), ((7.0, 0, 0),
        (7.0, 0, 0), False),
        ((7.001, 0, 0), (7.001, 0, 0), True), ((20, 18.0, 0), (20, 18.0, 0), False), ((20, 17.999, 0),
        (20, 17.999, 0), True),
        ((20, -8.0, 0), (20, -8.0, 0), False), ((20, -7.999, 0), (20, -7.999, 0), True),
        ((20, 5, 1.5), (20, 5, 9), False), ((20, 5, 1.4999), (20, 5, 9), True), ((20, 5, 1.4999995),
        (20, 5, 9), False),
        ((0, 5, 0), (50, 5, 0), True), ((20, -20, 0), (20, 40, 0), True),
    ]:  # fmt: skip
        assert Heap(BOX, 1.5).near(one(*low), one(*high), FLAT).tolist() == [near]
        any_height = near or low[2] > 1.4
        assert Heap(BOX, None).near(one(*low), one(*high), FLAT).tolist() == [any_height]


def test_how_deep_a_body_stands_in_a_heap() -> None:
    for body, at, z, side, top, amount in [
        (FLAT, (20, 5), -1.0, 0.0, 1.5, 2.5), (FLAT, (8, 5), -1.0, 0.0, 1.5, 2.5),
        (FLAT, (7, 5), -1.0, 0.0, 1.5, -math.inf),
        (FLAT, (8, 5), -1.0, 0.9, 1.5, 2.5), (FLAT, (8, 5), -1.0, 1.1, 1.5, -math.inf),
        # 1.8 mm beside the box a ball of 3 mm stands 3 - 2.4 = 0.6 higher, a point of 0.5 in 1 stands 0.9 higher
        (BALL, (8.2, 5), -1.0, 0.0, 1.5, 1.9), (POINT, (8.2, 5), -1.0, 0.0, 1.5, 1.6),
        (POINT, (8.4, 5), -1.0, 0.2, 1.5, 1.6),
        (BALL, (20, 16.8), -1.0, 0.0, 1.5, 1.9), (BALL, (20, 5), 2.0, 0.0, 1.5, -0.5),
        # Beside a corner by 3-4-5: 0.9 and 1.2 make 1.5
        (POINT, (30.9, 16.2), 0.0, 0.0, 1.5, 0.75),
        (FLAT, (20, 5), 99.0, 0.0, None, 3.0), (FLAT, (8, 5), 99.0, 0.0, None, 1.0),
        (FLAT, (8, 5), 99.0, 0.25, None, 0.75),
        (FLAT, (7, 5), 99.0, 0.0, None, -math.inf), (BALL, (9, 5), 0.0, 0.0, None, 2.0),
    ]:  # fmt: skip
        zone = Heap(BOX, top, side)
        exact, where = zone.exact_depth(None, at, z, body)
        assert (exact, where) == (pytest.approx(amount), at)
        assert zone.depth(one(*at), np.array([z]), np.zeros(1), body).tolist() == [pytest.approx(amount)]
        # A tip that may be anywhere within 0.2 mm enters no less than one that stands there
        assert zone.depth(one(*at), np.array([z]), np.array([0.2]), body)[0] >= amount - 1e-9


def test_how_deep_a_tip_known_to_two_tenths_may_stand() -> None:
    zone = Heap(BOX, 1.5)
    slack = np.array([0.2])
    assert zone.depth(one(8.0, 5.0), np.array([0.0]), slack, POINT).tolist() == [pytest.approx(1.5 - 0.9)]
    assert zone.depth(one(9.9, 5.0), np.array([0.0]), slack, POINT).tolist() == [1.5]


def test_the_deepest_place_of_a_path_beside_a_heap() -> None:
    """A point that rises by half: what counts is the nearest place of the path."""
    for curve, amount, where in [
        (Segment((0, 5), (8, 5)), 1.0 - 0.5 * 2, (8.0, 5.0)), (Segment((8.4, -20), (8.4, 40)), 1.0 - 0.8, None),
        (Segment((20, 5), (50, 5)), 1.0, (20.0, 5.0)), (Segment((50, 5), (20, 5)), 1.0, (20.0, 5.0)),
        (Segment((0, 0), (50, 0)), 1.0, None), (Arc((40, 5), (40, 15), (40, 10), ccw=False), 1.0 - 2.5, (35.0, 10.0)),
    ]:  # fmt: skip
        exact, at = Heap(BOX, 1.0).exact_depth(curve, (99.0, 99.0), 0.0, Body(9.0, 0.0, 0.5))
        assert exact == pytest.approx(amount)
        assert where is None or at == pytest.approx(where)


# Bends


WALL = Segment((2.0, 100.0), (2.0, -100.0))
BEND = Bend("bend", (WALL,), 4.0, 1.0, 21.0, 0.5)


def test_the_gap_inside_a_bend() -> None:
    for x, h, corner, gap in [
        # The flank x from the wall, the tip h over the sheet: the lesser, where the corner has passed the radius of 4
        (4.2, 3.0, 0.0, 3.0), (4.4, 9.0, 0.0, 4.4), (3.0, 5.0, 0.0, 3.0), (4.0, 2.0, 0.0, 2.0), (2.0, 4.0, 0.0, 2.0),
        # Within it: 4 less the distance of the corner from the middle of the radius, by 3-4-5
        (1.0, 4 - 2.25, 0.0, 4 - 3.75), (2.8, 4 - 1.6, 0.0, 4 - 2.0), (4 - 2.4, 4 - 1.8, 0.0, 1.0),
        # With a corner radius of 1 the middle of the corner goes round at 3
        (3 - 1.2, 3 - 1.6, 1.0, 3 - 2.0), (3.5, 1.0, 1.0, 1.0), (1.0, 3.5, 1.0, 1.0),
        (2.0, 1.5, 4.0, 1.5), (1.0, 2.0, 5.0, 1.0),
        # More than radius and gap from the wall the sheet is a floor of its own
        (4.5, 0.1, 0.0, 0.1), (4.51, 0.1, 0.0, math.inf),
    ]:  # fmt: skip
        body = Body(6.0, corner)
        zone = Hollow(BEND)
        assert zone._gap(np.array([x]), np.array([h]), body).tolist() == [pytest.approx(gap)]
        at = (2.0 + x + 6.0, 7.0)
        exact, where = zone.exact_depth(None, at, 1.0 + h, body)
        assert (exact, where) == (pytest.approx(0.5 - gap), at)
        assert zone.depth(one(*at), np.array([1.0 + h]), np.zeros(1), body).tolist() == [pytest.approx(0.5 - gap)]
        # With a side that need not count, the flank may be that much nearer
        wide = Hollow(BEND, 0.25)
        assert wide.exact_depth(None, (at[0] - 0.25, 7.0), 1.0 + h, body)[0] == pytest.approx(0.5 - gap)
        assert wide.depth(one(at[0], 7.0), np.array([1.0 + h]), np.array([0.25]), body).tolist() == [
            pytest.approx(0.5 - gap)
        ]


def test_gaps_of_many_places_at_once() -> None:
    x, h = np.array([4.2, 1.0, 9.0, 2.8]), np.array([3.0, 1.75, 0.1, 2.4])
    assert Hollow(BEND)._gap(x, h, Body(6.0)).tolist() == pytest.approx([3.0, 0.25, math.inf, 2.0])


def test_on_the_wrong_side_of_a_wall() -> None:
    """The farthest such place counts: 3 mm behind the wall the flank is 9 mm in it."""
    zone = Hollow(BEND)
    exact, where = zone.exact_depth(None, (-1.0, 7.0), 9.0, Body(6.0))
    assert (exact, where) == (pytest.approx(0.5 + 9.0), (-1.0, 7.0))
    assert zone.depth(one(-1.0, 7.0), np.array([9.0]), np.zeros(1), Body(6.0)).tolist() == [pytest.approx(9.5)]
    through, where = zone.exact_depth(Segment((20.0, 0.0), (-4.0, 3.0)), (0.0, 0.0), 9.0, Body(6.0))
    assert (through, where) == (pytest.approx(0.5 + 6 + 6), (-4.0, 3.0))
    through, where = zone.exact_depth(Segment((-5.0, 3.0), (20.0, 0.0)), (0.0, 0.0), 9.0, Body(6.0))
    assert (through, where) == (pytest.approx(0.5 + 7 + 6), (-5.0, 3.0))
    along, where = zone.exact_depth(Segment((20.0, 0.0), (8.2, 3.0)), (0.0, 0.0), 9.0, Body(6.0))
    assert (along, where) == (pytest.approx(0.5 - 0.2), (pytest.approx(8.2), pytest.approx(3.0)))


def test_which_moves_may_come_near_a_bend() -> None:
    """Radius of the cutter 6, of the bend 4, gap 0.5: 10.5 mm round the wall from 2 to 2 and from -100 to 100."""
    for at, near in [
        ((12.5, 0, 5), False), ((12.499, 0, 5), True), ((-8.5, 0, 5), False), ((-8.499, 0, 5), True),
        ((5, 110.5, 5), False),
        ((5, 110.499, 5), True), ((5, -110.5, 5), False), ((5, -110.499, 5), True), ((5, 0, 21.5), False),
        ((5, 0, 21.499), True),
    ]:  # fmt: skip
        assert Hollow(BEND).near(one(*at), one(*at), Body(6.0)).tolist() == [near]
        endless = Hollow(Bend("bend", (WALL,), 4.0, 1.0, None, 0.5))
        assert endless.near(one(*at), one(*at), Body(6.0)).tolist() == [near or at[2] > 21]
        bent = Hollow(Bend("bend", (WALL, Segment((2.0, -100.0), (40.0, -100.0))), 4.0, 1.0, 21.0, 0.5))
        assert bent.near(one(50.499, 0, 5), one(50.499, 0, 5), Body(6.0)).tolist() == [True]
        assert bent.near(one(50.5, 0, 5), one(50.5, 0, 5), Body(6.0)).tolist() == [False]


def test_boxes_of_walls() -> None:
    assert _box(Segment((3, 4), (1, 9))) == (3, 4, 1, 9)
    assert _box(Arc((12, 5), (2, 5), (7, 5), ccw=True)) == (2, 0, 12, 10)


def test_the_left_of_a_wall() -> None:
    """Up along x = 5, then right along y = 9: the left is x below 5, and y above 9. On it counts as left."""
    wall: tuple[Curve, ...] = (Segment((5, 0), (5, 9)), Segment((5, 9), (15, 9)))
    points = np.array([(4.0, 3.0), (6.0, 3.0), (5.0, 3.0), (9.0, 10.0), (9.0, 8.0), (9.0, 9.0), (6.0, 2.0)])
    nearest = np.array([0, 0, 0, 1, 1, 1, 0])
    assert _left_of(points, wall, nearest).tolist() == [True, False, True, True, False, True, False]
    for ccw, left in ((True, [True, True, False]), (False, [False, False, True])):
        ring = (Arc((12, 5), (2, 5), (7, 5), ccw=ccw),)
        inside = np.array([(7.0, 6.0), (12.0, 5.0), (12.5, 5.0)])
        assert _left_of(inside, ring, np.zeros(3, np.intp)).tolist() == left
    assert _left_of(points, (wall[0],), np.zeros(7, np.intp)).tolist()[:3] == [True, False, True]


# Moves


def test_a_move_seen_from_above() -> None:
    rows: list[Row] = [
        line((1, 2, 3), (4, 5, 6)), line((1, 2, 3), (1, 2, 9)),
        (Kind.ARC_CCW, (10.0, 0.0, 0.0), (0.0, 10.0, 0.0), (0.0, 0.0)),
        (Kind.ARC_CW, (10.0, 0.0, 0.0), (0.0, 10.0, 0.0), (0.5, 0.3)),
        (Kind.ARC_CW, (10.0, 0.0, 0.0), (10.0, 0.0, 0.0), (4.0, 1.0)),
        (Kind.ARC_CCW, (1.0, 7.0, 0.0), (9.0, 1.0, 0.0), (5.0 + 0.003 * 0.8, 4.0 - 0.003 * 0.6)),
    ]  # fmt: skip
    moves = columns(*rows)
    assert plan_curve(moves, 0) == Segment((1.0, 2.0), (4.0, 5.0))
    assert plan_curve(moves, 1) is None
    assert plan_curve(moves, 2) == Arc((10.0, 0.0), (0.0, 10.0), (0.0, 0.0), ccw=True)
    moved = plan_curve(moves, 3)
    assert isinstance(moved, Arc)
    assert (moved.center, moved.ccw) == (pytest.approx((0.4, 0.4)), False), "square to the chord, both ends as far"
    assert plan_curve(moves, 4) == Arc((10.0, 0.0), (10.0, 0.0), (4.0, 1.0), ccw=False)
    along = plan_curve(moves, 5)
    assert isinstance(along, Arc)
    assert along.center == pytest.approx((5.0, 4.0))


def test_halves_of_curves() -> None:
    assert _halves(Segment((0, 0), (4, 2))) == (Segment((0, 0), (2, 1)), Segment((2, 1), (4, 2)))
    first, second = _halves(Arc((10, 0), (-10, 0), (0, 0), ccw=False))
    assert (first.start, second.end) == ((10, 0), (-10, 0))
    assert first.end == second.start == pytest.approx((0.0, -10.0), abs=1e-12)
    assert isinstance(first, Arc)
    assert isinstance(second, Arc)
    assert (first.center, second.center, first.ccw, second.ccw) == ((0, 0), (0, 0), False, False)


def test_a_point_of_each_move_at_its_own_share() -> None:
    rows: list[Row] = [
        line((0, 0, 0), (8, 4, 2)), (Kind.ARC_CCW, (15.0, 3.0, 1.0), (5.0, 13.0, -1.0), (5.0, 3.0)),
        line((0, 0, 0), (8, 4, 2)), (Kind.ARC_CW, (5.0, 13.0, 0.0), (-5.0, 3.0, 6.0), (5.0, 3.0)),
    ]  # fmt: skip
    found = _points(columns(*rows), np.array([0.25, 1 / 3, 0.75, 1 / 3]))
    root = math.sqrt(3) / 2
    assert found == pytest.approx(np.array([(2, 1, 0.5), (5 + 10 * root, 8, 1 / 3), (6, 3, 1.5), (15.0, 3.0, 2.0)]))


def test_the_greatest_entry_of_a_move_and_its_place() -> None:
    """Over a box 1.5 high: level, upright, sloping down into it, and over it and down on the other side."""
    zone = Heap(BOX, 1.5)
    rows: list[Row] = [
        line((0, 5, 0.5), (40, 5, 0.5)), line((20, 5, 9), (20, 5, -1)), line((0, 5, 4.0), (20, 5, 0.0)),
        line((20, 5, 1.0), (60, 5, -3.0)), line((0, 5, 9.0), (5, 5, -9.0)), line((0, 5, 3), (40, 5, 1.6)),
        (Kind.ARC_CW, (40.0, 5.0, 1.0), (20.0, 5.0, 0.5), (30.0, 5.0)), line((20, 5, -1), (20, 5, 9)),
    ]  # fmt: skip
    moves = columns(*rows)
    found = [_settle(moves, k, zone, Body(2.0)) for k in range(len(rows))]
    told = [(e.move, e.amount, e.place) if e else None for e in found]
    assert told[0] == (0, pytest.approx(1.0), (pytest.approx(20, abs=12), 5.0, 0.5))
    assert told[1] == (1, pytest.approx(2.5), (20.0, 5.0, -1.0))
    assert told[2] == (2, pytest.approx(1.5, abs=1e-4), pytest.approx((20.0, 5.0, 0.0), abs=1e-3))
    # On the far side the rim leaves the box at x = 32, where the tip is at -0.2
    assert told[3] == (3, pytest.approx(1.7, abs=1e-4), pytest.approx((32.0, 5.0, -0.2), abs=1e-3))
    assert told[4] is None
    assert told[5] is None
    assert told[6] == (6, pytest.approx(1.0, abs=1e-4), pytest.approx((20.0, 5.0, 0.5), abs=0.01))
    assert told[7] == (7, pytest.approx(2.5), (20.0, 5.0, -1.0))
    for entry in (found[2], found[3]):
        assert entry is not None
        assert entry.amount >= 1.5 - 1e-9, "never too small"


def test_which_moves_halving_does_not_clear() -> None:
    zone = Heap(BOX, 1.5)
    rows: list[Row] = [
        line((0, 40, 0), (40, 40, 0)), line((0, 5, 9), (40, 5, 9)), line((0, 5, 0), (40, 5, 0)),
        line((0, -50, 0), (0, 50, 0)),
        line((6.9, -50, 0), (6.9, 50, 0)), line((7.1, -50, 0), (7.1, 50, 0)), line((20, 5, 1.4), (20, 5, 90)),
        line((20, 5, 90), (20, 5, 1.4)), line((20, 5, 90), (20, 5, 1.6)), line((0, 5, 2), (20, 5, 1.6)),
        (Kind.ARC_CCW, (40.0, 30.0, 0.0), (40.0, 30.0, 0.0), (20.0, 30.0)),
        (Kind.ARC_CCW, (35.0, 25.0, 0.0), (15.0, 25.0, 0.0), (25.0, 25.0)), (Kind.ARC_CW,
        (35.0, 25.0, 0.0), (15.0, 25.0, 0.0), (25.0, 25.0)),
        (Kind.ARC_CW, (35.0, 25.0, 0.0), (15.0, 25.0, 0.0), (25.0, 30.0)), line((20, 30, 0), (20, 17.9, 0)),
        line((20, 30, 0), (20, 18.1, 0)),
        line((20, 17.9, 0), (20, 80, 0)), line((0, 5, 40), (20, 5, 1.4)), line((10, 5, 1.4), (30, 5, 40)),
    ]  # fmt: skip
    moves = columns(*rows)
    every = np.arange(len(rows))
    assert _not_cleared(moves, every, zone, FLAT).tolist() == [2, 5, 6, 7, 10, 12, 14, 16, 17, 18]
    assert _not_cleared(moves, np.array([0, 5, 9, 2]), zone, FLAT).tolist() == [5, 2]


def test_entries_in_their_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many are looked at at once, and no more than are asked for."""
    zone = Heap(BOX, 1.5)
    rows = [line((x, 5, z), (x, 5, z)) for x, z in ((0, 0), (12, 0), (14, 9), (16, -1), (18, 0.5), (50, 0), (20, 1))]
    moves = columns(*rows)
    every = np.arange(7)
    told = [Entry(1, 1.5, (12.0, 5.0, 0.0)), Entry(3, 2.5, (16.0, 5.0, -1.0)), Entry(4, 1.0, (18.0, 5.0, 0.5)),
            Entry(6, 0.5, (20.0, 5.0, 1.0))]  # fmt: skip
    for at_once in (1, 2, 3, 100):
        monkeypatch.setattr(zones, "AT_ONCE", at_once)
        for most in (1, 2, 3, 4, 9):
            assert list(entries(moves, every, zone, FLAT, most)) == told[:most]
        assert list(entries(moves, np.array([6, 2, 4]), zone, FLAT, 9)) == [told[3], told[2]]
    assert list(entries(moves, np.empty(0, np.intp), zone, FLAT, 9)) == []
