"""Pieces whose ends lie only nearly together: the loops close exactly, keep their area, and arcs stay arcs."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.chaining import (
    Loop,
    _arc_through,
    _candidates,
    _fitted,
    _joints,
    _moved_start,
    _partners,
    chained_loops,
)
from holecam.cuts.elements import elements_of
from holecam.shapes import Arc, Curve, Point, Segment, distance, rectangle


def closed(loop: Loop) -> bool:
    """Whether every curve begins exactly where the one before ends."""
    return all(a.end == b.start for a, b in zip(loop.curves[-1:] + loop.curves[:-1], loop.curves, strict=True))


def honest(curve: Curve) -> bool:
    """Whether an arc's ends are equally far from its centre."""
    return (
        isinstance(curve, Segment)
        or abs(distance(curve.center, curve.start) - distance(curve.center, curve.end)) < 1e-6
    )


def sides(corners: list[Point], off: float, rng: np.random.Generator) -> list[Curve]:
    """Straight pieces round the corners, each end moved by up to ``off``."""

    def near(p: Point) -> Point:
        dx, dy = rng.uniform(-off, off, 2) / 2
        return (p[0] + dx, p[1] + dy)

    return [Segment(near(a), near(b)) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


@given(st.integers(0, 1000), st.sampled_from([0.0, 1e-9, 2e-6 / 2, 2e-3 / 2]), st.permutations(range(8)))
def test_two_squares_in_any_order(seed: int, off: float, order: list[int]) -> None:
    rng = np.random.default_rng(seed)
    far = [(x + 30.0, y) for x, y in SQUARE[::-1]]  # the other way round: an island
    pieces = sides(SQUARE, off, rng) + sides(far, off, rng)
    loops, lonely = chained_loops(elements_of([pieces[k] for k in order]))
    assert lonely == 0
    assert sorted(loop.signed_area for loop in loops) == pytest.approx([-100.0, 100.0], abs=30 * off + 1e-9)
    for loop in loops:
        assert closed(loop)
        assert loop.length == pytest.approx(40.0, abs=8 * off + 1e-9)
        for name, curve in zip(loop.pieces, loop.curves, strict=True):
            assert distance(pieces[order[name]].start, curve.start) <= 2 * off + 1e-12


@pytest.mark.parametrize("at", range(5))
@pytest.mark.parametrize("size", [1e-12, 4e-10, 3e-7, 1e-5])
def test_a_piece_that_hardly_is_one_does_not_open_the_loop(at: int, size: float) -> None:
    """A crumb between two sides of a square, wherever the list begins: it goes or stays, and all is closed."""
    pieces: list[Curve] = [Segment(a, b) for a, b in zip(SQUARE, SQUARE[1:] + SQUARE[:1], strict=True)]
    crumb = Segment((0.0, 0.0), (size, 0.0))
    pieces = [Segment((size, 0.0), (10.0, 0.0)), *pieces[1:], crumb]
    pieces = pieces[at:] + pieces[:at]
    (loop,), lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    assert closed(loop)
    assert loop.signed_area == pytest.approx(100.0, abs=1e-4)


def test_an_end_without_a_partner_is_told_and_a_trace_is_not() -> None:
    pieces = [Segment(a, b) for a, b in zip(SQUARE, SQUARE[1:] + SQUARE[:1], strict=True)]
    loops, lonely = chained_loops(elements_of([*pieces, Segment((20.0, 0.0), (25.0, 0.0))]))
    assert (len(loops), lonely) == (1, 1)
    loops, lonely = chained_loops(elements_of([*pieces, Segment((20.0, 0.0), (20.0 + 2e-3 / 2, 0.0))]))
    assert (len(loops), lonely) == (1, 0)
    opened = [Segment((0.0, 0.0), (9.9, 0.0)), *pieces[1:]]
    assert chained_loops(elements_of(opened)) == ((), 1)
    assert chained_loops(elements_of([])) == ((), 0)


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("off", [0.0, 1e-7, 2e-6, 5e-4, 1e-3, -1e-3])
def test_a_lens_whose_arcs_meet_only_nearly(off: float, turn: int) -> None:
    """Arcs of 5 and 8 mm over one chord of 6 mm; the second one's ends lie off the first one's, along the chord.

    Areas of circular segments: r^2 acos(d / r) - d sqrt(r^2 - d^2) with d the centre's distance from the chord.
    """
    d5, d8 = math.sqrt(25 - 9), math.sqrt(64 - 9)
    lower = Arc((-3.0, 0.0), (3.0, 0.0), (0.0, d5), ccw=True)
    upper = Arc((3.0 + off, 0.0), (-3.0 + off, 0.0), (off, -d8), ccw=True)
    pieces = [lower, upper] if turn > 0 else [upper.reversed(), lower.reversed()]
    (loop,), lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    area = 25 * math.acos(d5 / 5) - 3 * d5 + 64 * math.acos(d8 / 8) - 3 * d8
    assert loop.signed_area == pytest.approx(turn * area, abs=4 * abs(off) + 1e-9)
    assert closed(loop)
    assert len(loop.curves) == 2
    for curve in loop.curves:
        assert isinstance(curve, Arc)
        assert honest(curve)
        assert curve.ccw is (turn > 0)
        assert min(abs(curve.radius - 5.0), abs(curve.radius - 8.0)) < 0.02


def test_a_whole_circle_follows_itself_and_a_slot_of_no_width_is_flat() -> None:
    circle = Arc((5.0, 0.0), (5.0, 0.0), (0.0, 0.0), ccw=True)
    (loop,), lonely = chained_loops(elements_of([circle]))
    assert lonely == 0
    assert loop.signed_area == pytest.approx(25 * math.pi)
    assert not loop.is_flat
    assert len(loop.outline().curves) == len(loop.curves)
    there_and_back = [Segment((0.0, 0.0), (10.0, 0.0)), Segment((10.0, 0.0), (0.0, 0.0))]
    (flat,), _ = chained_loops(elements_of(there_and_back))
    assert flat.is_flat
    assert flat.length == 20.0


def test_loops_that_touch_in_a_point_stay_apart() -> None:
    """Two squares corner to corner: of the two ways on, the one most to the left keeps each by itself."""
    other = [(10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0)]
    pieces = [Segment(a, b) for ring in (SQUARE, other) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    loops, lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    assert [loop.signed_area for loop in loops] == pytest.approx([100.0, 100.0])


def test_curves_keep_the_names_of_their_pieces_when_crumbs_go() -> None:
    """A crumb of 1.2 nm before the square and one of 0.6 nm after it: the first falls when the loop is closed."""
    corners = [(1.2e-9, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.6e-9, 0.0)]
    pieces = [
        Segment((0.0, 0.0), (1.2e-9, 0.0)),
        *(Segment(a, b) for a, b in pairwise(corners)),
        Segment((0.6e-9, 0.0), (0.0, 0.0)),
    ]
    loops, _ = chained_loops(elements_of(pieces))
    (square,) = (loop for loop in loops if not loop.is_flat)
    assert square.signed_area == pytest.approx(100.0)
    assert closed(square)
    for name, curve in zip(square.pieces, square.curves, strict=True):
        assert distance(pieces[name].start, curve.start) < 2e-9
        assert distance(pieces[name].end, curve.end) < 2e-9


@given(st.floats(-170, 170), st.floats(20, 300), st.floats(-0.02, 0.02), st.booleans(), st.floats(-180, 180))
def test_an_arc_between_joints_off_its_circle_gets_a_centre_equally_far_from_both(
    first: float, turn: float, off: float, left: bool, lean: float
) -> None:
    """A circle of 4 mm, one joint off it by up to 0.02 mm: the centre moves along the chord alone, and by no more."""
    a, b = math.radians(first), math.radians(first + (turn if left else -turn))
    center = (7.0 * math.cos(math.radians(lean)), 7.0 * math.sin(math.radians(lean)))
    start = (center[0] + 4.0 * math.cos(a), center[1] + 4.0 * math.sin(a))
    end = (center[0] + (4.0 + off) * math.cos(b), center[1] + (4.0 + off) * math.sin(b))
    arc = _arc_through(start, end, center, b - a)
    assert isinstance(arc, Arc)
    assert (arc.start, arc.end, arc.ccw) == (start, end, left)
    if abs(off) > 5e-7:
        assert distance(arc.center, start) == pytest.approx(distance(arc.center, end), abs=1e-9)
        # The middle of the chord and the old centre, both seen along the chord, are this far apart
        chord = distance(start, end)
        assert distance(arc.center, center) == pytest.approx(abs((4.0 + off) ** 2 - 16.0) / (2.0 * chord), abs=1e-9)
    else:
        assert arc.center == center


def test_between_joints_hardly_farther_apart_than_they_are_off_a_line_does() -> None:
    assert _arc_through((4.0, 0.0), (4.01, 0.02), (0.0, 0.0), 0.005) == Segment((4.0, 0.0), (4.01, 0.02))
    assert _arc_through((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), -math.pi / 2) is None, "it would run the long way round"


def test_pieces_meet_midway_and_on_the_tighter_arc() -> None:
    """Ends 0.2 mm apart, as no drawing has them, so that the midway shows."""
    line = Segment((0.0, 0.0), (10.0, 0.0))
    wide = Arc((10.2, 0.2), (18.2, 8.2), (10.2, 8.2), ccw=True)
    tight = Arc((18.2, 8.0), (15.2, 11.0), (15.2, 8.0), ccw=True)
    back = Segment((15.0, 11.0), (0.0, 0.2))
    joints = _joints(elements_of([line, wide, tight, back]), [0, 1, 2, 3])

    def on(center: Point, radius: float, p: Point) -> Point:
        away = distance(center, p)
        return (center[0] + (p[0] - center[0]) * radius / away, center[1] + (p[1] - center[1]) * radius / away)

    assert joints[0] == pytest.approx(on((10.2, 8.2), 8.0, (10.1, 0.1)), abs=1e-12)
    assert joints[1] == pytest.approx(on((15.2, 8.0), 3.0, (18.2, 8.1)), abs=1e-12)
    assert joints[2] == pytest.approx(on((15.2, 8.0), 3.0, (15.1, 11.0)), abs=1e-12)
    assert joints[3] == pytest.approx((0.0, 0.1), abs=1e-12)
    assert _joints(elements_of([line, back]), [1, 0]) == [pytest.approx((0.0, 0.1)), pytest.approx((12.5, 5.5))]


def test_a_piece_is_fitted_between_its_joints_or_vanishes() -> None:
    table = elements_of(
        [
            Segment((0.0, 0.0), (6.0, 8.0)),
            Arc((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), ccw=True),
            Arc((4.0, 0.0), (4.0, 0.0), (0.0, 0.0), ccw=False),
            Arc((0.0, 4.0), (4.0, 0.0), (0.0, 0.0), ccw=False),
        ]
    )
    assert _fitted(table, 0, (0.1, 0.0), (5.0, 7.0)) == Segment((0.1, 0.0), (5.0, 7.0))
    assert _fitted(table, 0, (5.0, 7.0), (0.1, 0.0)) is None, "turned round"
    assert _fitted(table, 0, (0.0, 0.0), (4.0, -3.0)) is None, "square to itself"
    assert _fitted(table, 0, (0.0, 0.0), (0.0, 1.1e-9)) == Segment((0.0, 0.0), (0.0, 1.1e-9))
    assert _fitted(table, 0, (0.0, 0.0), (0.0, 1e-9)) is None
    assert _fitted(table, 1, (4.0, 0.0), (0.0, 4.0)) == Arc((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), ccw=True)
    assert _fitted(table, 3, (0.0, 4.0), (4.0, 0.0)) == Arc((0.0, 4.0), (4.0, 0.0), (0.0, 0.0), ccw=False)
    assert _fitted(table, 1, (4.0, 0.0), (4.0, 1e-10)) is None
    assert _fitted(table, 1, (4.0, 0.0), (4.0, -0.1)) is None, "it would run the long way round"
    # A short one stays an arc, down to a nanometre
    for size in (0.5, 1e-4, 1.1e-9):
        end = (4.0 * math.cos(size / 4.0), 4.0 * math.sin(size / 4.0))
        short = elements_of([Arc((4.0, 0.0), end, (0.0, 0.0), ccw=True)])
        kept = _fitted(short, 0, (4.0, 0.0), end)
        assert isinstance(kept, Arc)
        assert kept.end == end
        assert _moved_start(kept, (4.0, 0.0)) is not None
    assert _moved_start(Arc((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), True), (0.0, 4.0 - 0.9e-9)) is None
    whole = _fitted(table, 2, (4.0, 0.0), (4.0, 1e-10))
    assert isinstance(whole, Arc)
    assert (whole.center, whole.ccw, whole.sweep) == ((0.0, 0.0), False, pytest.approx(-math.tau))


def test_both_sides_of_what_an_arc_between_joints_may_be() -> None:
    """Joints 4 and 4.01 mm from the centre: a line up to ten times the difference, 0.1 mm, an arc from there on."""
    for apart, kind in ((0.0999, Segment), (0.1002, Arc)):
        turn = 2 * math.asin(math.sqrt((apart**2 - 0.01**2) / (4 * 4.0 * 4.01)))
        end = (4.01 * math.cos(turn), 4.01 * math.sin(turn))
        assert distance((4.0, 0.0), end) == pytest.approx(apart)
        assert type(_arc_through((4.0, 0.0), end, (0.0, 0.0), turn)) is kind
    # An arc may turn by one radian less or more than told, no farther: then it has been turned round
    for told, found in ((0.58, True), (0.56, False), (2.56, True), (2.58, False)):
        arc = _arc_through((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), told)
        assert (arc is not None) is found


def test_a_curve_with_its_start_moved() -> None:
    line, bow = Segment((0.0, 0.0), (6.0, 0.0)), Arc((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), ccw=True)
    assert _moved_start(line, (0.0, 1.0)) == Segment((0.0, 1.0), (6.0, 0.0))
    assert _moved_start(line, (6.0, 1e-9)) is None
    assert _moved_start(line, (6.0, 1.1e-9)) == Segment((6.0, 1.1e-9), (6.0, 0.0))
    assert _moved_start(bow, (4.0, 1e-8)) == Arc((4.0, 1e-8), (0.0, 4.0), (0.0, 0.0), ccw=True)


def test_a_loop_is_flat_up_to_a_millionth_of_its_length() -> None:
    curves = rectangle(0, 0, 10, 1).curves
    for area, flat in ((1.999e-5, True), (-1.999e-5, True), (2.001e-5, False), (-2.001e-5, False)):
        loop = Loop(curves, (0, 1, 2, 3), area, 20.0)
        assert loop.is_flat is flat
        assert loop.outline().curves == curves


def test_of_two_starts_as_near_the_one_most_to_the_left_follows() -> None:
    """Three ways on from the end of a line, another 0.5 microns off: the nearest first, then the leftmost."""
    ends = [Segment((0.0, 0.0), (10.0, 0.0))]
    starts = [
        Segment((10.0, 0.0), (20.0, -9.0)),
        Segment((10.0, 0.0), (20.0, 0.0)),
        Segment((10.0, 0.0), (20.0, 9.0)),
        Segment((10.0, 5e-4), (10.0, 20.0)),
        Segment((10.0, 2.1e-3), (10.0, 30.0)),
    ]
    table = elements_of([*ends, *starts])
    every = np.arange(6, dtype=np.intp)
    directions = [*table.directions_at(every, np.ones(6)), *table.directions_at(every, np.zeros(6))]
    found = _candidates(table, [0], [1, 2, 3, 4, 5], 2e-3, *directions)
    assert [(rank, i, j) for rank, _, i, j in found] == [(0, 0, 3), (0, 0, 2), (0, 0, 1), (5, 0, 4)]
    lean = math.atan2(9, 10)
    assert [turn for _, turn, _, _ in found] == pytest.approx([-lean, 0.0, lean, -math.pi / 2])
    assert _partners(table) == [3, -1, -1, -1, -1, -1]


@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(0, math.tau), st.floats(0.05, 0.95))
def test_a_start_within_the_reach_is_found_wherever_it_lies(x: float, y: float, lean: float, share: float) -> None:
    """Whichever cell of the search it falls into; and none beyond the reach."""
    for times, hit in ((share, True), (1.0 + share, False)):
        off = (2e-3 * times * math.cos(lean), 2e-3 * times * math.sin(lean))
        pieces = [Segment((x - 5.0, y), (x, y)), Segment((x + off[0], y + off[1]), (x, y + 5.0))]
        assert (_partners(elements_of(pieces))[0] == 1) is hit


def test_a_bridge_where_a_piece_between_two_joints_vanishes() -> None:
    """A piece 2 microns long, and ends that lie a micron off each other: all is closed, nothing turns back."""
    pieces = [
        Segment((0.0, 0.0), (10.0, 0.0)),
        Segment((10.0, 0.0), (10.0, 10.0)),
        Segment((10.0, 10.0), (1e-6, 10.0)),
        Segment((1.0e-6, 10.0), (-1e-6, 10.0)),
        Segment((0.0, 10.0), (0.0, 0.0)),
    ]
    (loop,), lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    assert closed(loop)
    assert loop.signed_area == pytest.approx(100.0, abs=1e-4)
    assert loop.length == pytest.approx(math.fsum(c.length for c in loop.curves))
    assert math.fsum(c.length for c in loop.curves) == pytest.approx(40.0, abs=1e-5)
