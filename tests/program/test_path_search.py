"""What the search for planned cuts decides, step by step, on lines and arcs whose figures are plain."""

from __future__ import annotations

import math

import numpy as np
import pytest
from moves_by_hand import Row, columns

from holecam.program.moves import Kind
from holecam.program.path_match import PathMatch, _boxes, _Search, _tools
from holecam.program.path_pieces import Pieces, cutting_pieces, locate, part_of, pieces_of

TOLERANCE = 0.002
NAN = math.nan

Place = tuple[float, float, float]


def line(a: Place, b: Place) -> Row:
    return (Kind.FEED, a, b, None)


def pieces(*rows: Row, tools: tuple[int, ...] | None = None) -> Pieces:
    return pieces_of(columns(*rows, tools=tools), np.arange(len(rows)))


def search(plan: Pieces, program: Pieces, head: int = 0, tail: int = 0) -> _Search:
    return _Search(plan, program, TOLERANCE, head, tail)


ROAD = line((0.0, 3.0, -1.0), (20.0, 3.0, -1.0))
FAR = line((0.0, 90.0, -1.0), (20.0, 90.0, -1.0))
QUARTER = (Kind.ARC_CCW, (15.0, 3.0, -1.0), (5.0, 13.0, -1.0), (5.0, 3.0))
SINKING = (Kind.ARC_CW, (15.0, 3.0, -1.0), (-5.0, 3.0, -3.0), (5.0, 3.0))


def bowed(sag: float) -> Row:
    """An arc from (5, 3) to (15, 3) that leaves its chord by so much."""
    radius = 25.0 / (2 * sag) + sag / 2
    return (Kind.ARC_CW, (5.0, 3.0, -1.0), (15.0, 3.0, -1.0), (10.0, 3.0 - radius + sag))


def test_which_planned_line_a_piece_lies_on() -> None:
    for row, shares in [
        (line((5, 3, -1), (15, 3, -1)), (0.25, 0.75)), (line((15, 3, -1), (5, 3, -1)), (0.75, 0.25)),
        (ROAD, (0.0, 1.0)), (line((5, 3.0019, -1), (15, 3.0019, -1)), (0.25, 0.75)),
        (line((5, 3.0021, -1), (15, 3, -1)), None), (line((5, 3, -1), (15, 3.0021, -1)), None),
        (line((5, 3, -1.0021), (15, 3, -1)), None), (line((-0.0019, 3, -1), (15, 3, -1)), (0.0, 0.75)),
        (line((-0.0021, 3, -1), (15, 3, -1)), None), (line((15, 3, -1), (20.0021, 3, -1)), None),
        (bowed(0.0019), (0.25, 0.75)), (bowed(0.0021), None), (line((5, 4, -1), (15, 4, -1)), None),
    ]:  # fmt: skip
        found = search(pieces(FAR, ROAD, FAR), pieces(row))._on(pieces(row), slice(0, 3))
        assert found == ([] if shares is None else [(1, pytest.approx(shares[0]), pytest.approx(shares[1]))])
        assert search(pieces(ROAD, FAR), pieces(row))._on(pieces(row), slice(1, 2)) == []


def on_arc(degrees: float, z: float = -1.0, radius: float = 10.0) -> Place:
    a = math.radians(degrees)
    return (5.0 + radius * math.cos(a), 3.0 + radius * math.sin(a), z)


def test_which_planned_arc_a_piece_lies_on() -> None:
    for planned, row, shares in [
        (QUARTER, (Kind.ARC_CCW, on_arc(18), on_arc(72), (5.0, 3.0)), (0.2, 0.8)),
        (QUARTER, (Kind.ARC_CW, on_arc(72), on_arc(18), (5.0, 3.0)), (0.8, 0.2)),
        (QUARTER, (Kind.ARC_CW, on_arc(0), on_arc(90), (5.0, 3.0)), None),
        (QUARTER, line(on_arc(18), on_arc(72)), None),
        (QUARTER, (Kind.ARC_CCW, on_arc(18), on_arc(99), (5.0, 3.0)), None),
        (SINKING, (Kind.ARC_CW, on_arc(0, -1.0), on_arc(-90, -2.0), (5.0, 3.0)), (0.0, 0.5)),
        (SINKING, (Kind.ARC_CW, on_arc(0, -1.0), on_arc(-90, -2.0021), (5.0, 3.0)), None),
        (SINKING, (Kind.ARC_CCW, on_arc(180, -3.0), on_arc(-90, -2.0), (5.0, 3.0)), (1.0, 0.5)),
    ]:  # fmt: skip
        found = search(pieces(FAR, planned), pieces(row))._on(pieces(row), slice(0, 2))
        assert found == ([] if shares is None else [(1, pytest.approx(shares[0]), pytest.approx(shares[1]))])


def test_a_piece_is_divided_where_the_first_planned_one_ends_on_it() -> None:
    plan = pieces(line((5, 3, -1), (12, 3, -1)), line((12, 3, -1), (12, 9, -1)), line((16, 3, -1), (30, 3, -1)))
    one = pieces(ROAD)
    held = search(plan, one)
    assert held._divide(one, near=True) == held._divide(one, near=False) == pytest.approx(0.25)
    assert held._divide(part_of(one, 0, 0.25, 1.0), near=True) == pytest.approx((12 - 5) / 15)
    assert held._divide(part_of(one, 0, 0.6, 1.0), near=True) == pytest.approx((16 - 12) / 8)
    assert held._divide(part_of(one, 0, 0.8, 1.0), near=True) is None
    # Within two tolerances of its own ends it is not divided
    for away, share in ((0.0041, 0.0041 / 20), (0.0039, None)):
        at = pieces(line((away, 3, -1), (away, 9, -1)))
        assert search(at, one)._divide(one, near=True) == (None if share is None else pytest.approx(share))
        at = pieces(line((20 - away, 3, -1), (20 - away, 9, -1)))
        assert search(at, one)._divide(one, near=True) == (None if share is None else pytest.approx(1 - share))
    beside = pieces(line((10, 3.0021, -1), (10, 9, -1)), line((11, 3.0019, -1), (11, 9, -1)))
    assert search(beside, one)._divide(one, near=True) == pytest.approx(11 / 20)
    arc = pieces(SINKING)
    for z, share in ((-2.0019, 0.5), (-2.0021, None)):
        node = pieces(line(on_arc(-90, z), (5, -30, -2)))
        assert search(node, arc)._divide(arc, near=True) == (None if share is None else pytest.approx(share, abs=1e-4))


def test_only_near_ends_are_tried() -> None:
    """Those within the tolerance of the box round a piece, an arc by its full radius about its middle."""
    slope = pieces(line((2, 10, -3), (12, 4, -1)))
    inside = [(1.9981, 5, -2), (12.0019, 5, -2), (5, 3.9981, -2), (5, 10.0019, -2), (5, 5, -3.0019), (5, 5, -0.9981)]
    outside = [(1.9979, 5, -2), (12.0021, 5, -2), (5, 3.9979, -2), (5, 10.0021, -2), (5, 5, -3.0021), (5, 5, -0.9979)]
    plan = pieces(*(line(a, b) for a, b in zip(inside, outside, strict=True)))
    assert search(plan, slope)._nodes(slope, slice(0, 6)) == [tuple(map(float, p)) for p in inside]
    back = pieces(*(line(b, a) for a, b in zip(inside, outside, strict=True)))
    assert search(back, slope)._nodes(slope, slice(1, 4)) == [tuple(map(float, p)) for p in inside[1:4]]
    arc = pieces(SINKING)  # middle (5, -7, -2), radius 10
    near = pieces(line((5, -17.0019, -2), (5, -17.0021, -2)), line((15.0019, 3, -2), (15.0021, 3, -2)),
                  line((5, 3.0019, 7.9), (5, 3.0021, 8.1)), line((-5.0019, 0, -12.0), (-5.0021, 0, -2)))  # fmt: skip
    assert search(near, arc)._nodes(arc, slice(0, 4)) == [
        (5.0, -17.0019, -2.0), (15.0019, 3.0, -2.0), (5.0, 3.0019, 7.9), (-5.0019, 0.0, -12.0),
    ]  # fmt: skip


def test_the_neighbourhood_of_the_expected_piece() -> None:
    plan = pieces(*(line((k, 0, -1), (k + 1, 0, -1)) for k in range(200)))
    held = search(plan, plan)
    for cursor, near in ((0, slice(0, 64)), (64, slice(0, 128)), (65, slice(1, 129)), (150, slice(86, 200))):
        held.cursor = cursor
        assert held._neighborhood() == near


def test_what_counts_as_cut_before() -> None:
    """Pieces outside the search are cut; within it those whose cut parts reach over this one, to two tolerances."""
    plan = pieces(FAR, line((0, 3, -1), (4, 3, -1)), FAR, FAR)  # 4 mm long: two tolerances are a thousandth of it
    held = search(plan, plan, head=1, tail=1)
    assert [held._is_covered(k, 0.0, 1.0) for k in range(4)] == [True, False, False, True]
    held.covered = {1: [(0.0, 0.25), (0.5, 0.9)]}
    for first, last, covered in (
        (0.5, 0.9, True), (0.9, 0.5, True), (0.4991, 0.9009, True), (0.4989, 0.9, False), (0.5, 0.9011, False),
        (0.0, 0.25, True), (0.2, 0.6, False), (0.0, 1.0, False), (0.6, 0.7, True),
    ):  # fmt: skip
        assert held._is_covered(1, first, last) is covered
    dot = pieces(line((0, 3, -1), (0, 3, -1)))
    assert search(dot, dot)._is_covered(0, 0.0, 1.0) is False


def test_what_is_noted_of_a_cut() -> None:
    plan = pieces(ROAD, ROAD, ROAD)
    held = search(plan, plan)
    held._note(1, 0.25, 0.75, 7)
    held._note(1, 0.7, 0.3, 8)
    held._note(2, 1.0, 0.0, 9)
    assert held.covered == {1: [(0.25, 0.75), (0.3, 0.7)], 2: [(0.0, 1.0)]}
    assert held.pairs == [(1, 7), (1, 8), (2, 9)]
    assert held.first_cut == {1: 7, 2: 9}
    assert (held.result.repeats, held.result.reversed_pairs, held.cursor) == (1, [(1, 8), (2, 9)], 2)


def test_what_is_left_of_a_piece() -> None:
    for covered, gaps in [
        ([], [(0.0, 1.0)]), ([(0.0, 1.0)], []), ([(0.25, 0.5)], [(0.0, 0.25), (0.5, 1.0)]),
        ([(0.5, 1.0), (0.0, 0.25)], [(0.25, 0.5)]), ([(0.0, 0.75), (0.25, 0.5)], [(0.75, 1.0)]),
        ([(0.1, 0.4), (0.3, 0.6), (0.8, 0.9)], [(0.0, 0.1), (0.6, 0.8), (0.9, 1.0)]),
    ]:  # fmt: skip
        held = search(pieces(ROAD), pieces(ROAD))
        held.covered = {0: covered}
        assert held._gaps(0) == gaps


def test_a_rest_of_four_tolerances_is_not_missed() -> None:
    """0.008 mm of 20 mm, in one place or two; nothing else was cut before."""
    for rest, told in ((0.0079, []), (0.0081, [(1, pytest.approx(0.0081, rel=1e-6))])):
        share = rest / 20
        for covered in ([(share, 1.0)], [(0.0, 1 - share)], [(share / 4, 0.5), (0.5 + 3 * share / 4, 1.0)]):
            held = search(pieces(FAR, ROAD, FAR), pieces(FAR, FAR), head=1, tail=1)
            held.covered = {1: covered}
            held.settle_missing()
            assert held.result.missing == told


def test_pieces_off_the_head_and_the_tail_alone_can_be_missing() -> None:
    plan = pieces(*(line((0, 5 * k, -1), (k + 1, 5 * k, -1)) for k in range(5)))
    elsewhere = pieces(*(line((0, 5 * k + 100, -1), (k + 1, 5 * k + 100, -1)) for k in range(5)))
    held = search(plan, elsewhere, head=1, tail=2)
    held.settle_missing()
    assert held.result.missing == [(1, 2.0), (2, 3.0)]


def test_a_cut_noted_for_another_planned_one_over_the_same_line_is_not_missing() -> None:
    """Two levels come down the same line, and the first cut of the program was noted for the second of them."""
    there, back = line((0, 0, -1), (20, 0, -1)), line((20, 0, -1), (0, 0, -1))
    for program, told in (((there, there), []), ((there, back), []), ((there, FAR), [(0, 20.0)])):
        held = search(pieces(there, there), pieces(*program))
        held._note(1, 0.0, 1.0, 0)
        held.settle_missing()
        assert held.result.missing == told


def test_boxes_round_pieces() -> None:
    """A line by its ends, an arc by its full circle with its own heights."""
    low, high = _boxes(pieces(line((9, 2, -1), (4, 6, -3)), SINKING, QUARTER))
    assert low.tolist() == [[4.0, 2.0, -3.0], [-5.0, -7.0, -3.0], [-5.0, -7.0, -1.0]]
    assert high.tolist() == [[9.0, 6.0, -1.0], [15.0, 13.0, -1.0], [15.0, 13.0, -1.0]]


def test_the_tool_of_each_piece() -> None:
    assert _tools(pieces(ROAD, ROAD, ROAD, tools=(5, 2, 5))).tolist() == [5, 2, 5]
    assert _tools(pieces()).tolist() == []


def out_of_order(*order: int, rows: tuple[Row, ...], radius: float = 3.0) -> PathMatch:
    """Planned pieces, and when each of them was cut; -1 for one that was not."""
    plan = pieces(*rows)
    held = search(plan, plan)
    held.first_cut = {k: when for k, when in enumerate(order) if when >= 0}
    held.settle_order(np.full(len(rows), radius))
    return held.result


def test_a_deeper_cut_may_not_come_before_the_one_above_it() -> None:
    def level(z: float, x: float = 0.0, y: float = 0.0) -> Row:
        return line((x, y, z), (x + 10, y, z))

    steps = (level(-1), level(-2), level(-3))
    for order, told, other in (
        ((5, 6, 7), [], 0), ((6, 5, 7), [(1, 5)], 0), ((7, 6, 5), [(1, 6), (2, 5)], 0), ((6, -1, 5), [(2, 5)], 0),
        ((5, 7, 6), [(2, 6)], 0), ((7, -1, -1), [], 0), ((5, 5, 5), [], 0),
    ):  # fmt: skip
        found = out_of_order(*order, rows=steps)
        assert (found.out_of_order, found.reordered) == (told, other)
    for second, told, other in (
        (level(-1), [], 1), (level(-0.5), [], 1), (level(-1.0019), [], 1), (level(-1.0021), [(1, 4)], 0),
        (level(-2, y=5.999), [(1, 4)], 0), (level(-2, y=6.001), [], 1), (level(-2, y=-5.999), [(1, 4)], 0),
        (level(-2, y=-6.001), [], 1), (level(-2, x=15.999), [(1, 4)], 0), (level(-2, x=16.001), [], 1),
        (level(-2, x=-15.999), [(1, 4)], 0), (level(-2, x=-16.001), [], 1),
    ):  # fmt: skip
        found = out_of_order(5, 4, rows=(level(-1), second))
        assert (found.out_of_order, found.reordered) == (told, other)
    # Both planned pieces were cut by one cut of the program, a third one elsewhere after it
    found = out_of_order(9, 5, 5, rows=(level(-1, y=50.0), level(-1), level(-2)))
    assert (found.out_of_order, found.reordered) == ([], 2)
    assert (out_of_order(-1, -1, -1, rows=steps).reordered, out_of_order(rows=()).reordered) == (0, 0)
    # It is the lowest point of each that counts
    found = out_of_order(5, 4, rows=(line((0, 0, -1), (10, 0, -2)), line((0, 0, -2), (10, 0, -1))))
    assert (found.out_of_order, found.reordered) == ([], 1)


# Pieces


def test_which_moves_are_pieces() -> None:
    """At feed, under the top, at known places, no drill along its axis, no step that rounding makes vanish."""
    drill = 7
    rows: list[tuple[Row, int, bool]] = [
        (line((0, 0, -1), (5, 0, -1)), 1, True), ((Kind.RAPID, (5, 0, -1), (9, 0, -1), None), 1, False),
        (line((0, 0, -0.002), (5, 0, -0.002)), 1, False), (line((0, 0, -0.0021), (5, 0, 4)), 1, True),
        (line((0, 0, 4), (5, 0, -0.0021)), 1, True), (line((NAN, 0, -1), (5, 0, -1)), 1, False),
        (line((0, 0, -1), (5, NAN, -1)), 1, False), (line((0, 0, -1), (0, 0, -5)), drill, False),
        (line((0, 0, -1), (1, 0, -5)), drill, True), (line((0, 0, -1), (0, 0, -5)), 1, True),
        (line((1.0, 2.0, -1.0), (1.0002, 2.0, -1.0)), 1, False),
        (line((1.0004, 2.0, -1.0), (1.0007, 2.0, -1.0)), 1, True),
        (line((1.0, 2.0004, -1.0), (1.0, 2.0007, -1.0)), 1, True),
        (line((1.0, 2.0, -1.0004), (1.0, 2.0, -1.0007)), 1, True),
        ((Kind.ARC_CW, (1.0, 2.0, -1.0), (1.0, 2.0, -1.0), (1.5, 2.0)), 1, True),
        ((Kind.ARC_CCW, (1.0, 2.0, -1.0), (1.0, 3.0, -1.0), (1.0, 2.5)), drill, True),
    ]  # fmt: skip
    moves = columns(*(row for row, _, _ in rows), tools=tuple(tool for _, tool, _ in rows))
    kept = [k for k, (_, _, keep) in enumerate(rows) if keep]
    made = cutting_pieces(moves, 0.0, TOLERANCE, {drill}, 0.001, clipped=False)
    assert sorted(set(made.move.tolist())) == kept
    assert made.move.tolist().count(14) == 2, "a full circle is two halves"
    assert len(made) == len(kept) + 1
    every = cutting_pieces(moves, 0.0, TOLERANCE, set(), 0.001, clipped=False)
    assert set(every.move.tolist()) == {*kept, 7}


def test_what_lies_in_the_air_is_cut_off() -> None:
    """Lines and helices that pass Z 2 down or up; what lies wholly below stays as it is."""
    rows = (
        line((0, 0, 6), (8, 4, -2)), line((0, 0, -2), (8, 4, 6)), line((0, 0, 2), (8, 4, -2)),
        line((0, 0, 1), (8, 4, -2)),
        (Kind.ARC_CCW, (15.0, 3.0, 4.0), (5.0, 13.0, 0.0), (5.0, 3.0)),
        (Kind.ARC_CW, (5.0, 13.0, 1.0), (15.0, 3.0, 4.0), (5.0, 3.0)),
    )  # fmt: skip
    made = cutting_pieces(columns(*rows), 2.0, TOLERANCE, set(), 0.001)
    half, third = on_arc(45, 2.0), on_arc(60, 2.0)
    assert made.start.tolist() == [
        [4.0, 2.0, 2.0], [0.0, 0.0, -2.0], [0.0, 0.0, 2.0], [0.0, 0.0, 1.0], pytest.approx(half), [5.0, 13.0, 1.0],
    ]  # fmt: skip
    assert made.end.tolist() == [
        [8.0, 4.0, -2.0], [4.0, 2.0, 2.0], [8.0, 4.0, -2.0], [8.0, 4.0, -2.0], [5.0, 13.0, 0.0], pytest.approx(third),
    ]  # fmt: skip
    assert made.sweep.tolist() == pytest.approx([0, 0, 0, 0, math.pi / 4, -math.pi / 6])
    assert made.radius.tolist() == pytest.approx([0, 0, 0, 0, 10, 10])
    assert made.length.tolist() == pytest.approx(
        [6.0, 6.0, 9.797959, 9.433981, math.hypot(10 * math.pi / 4, 2), math.hypot(10 * math.pi / 6, 1)]
    )
    assert made.middle[0].tolist() == [6.0, 3.0, 0.0]
    assert made.middle[4].tolist() == pytest.approx(on_arc(67.5, 1.0))
    assert made.move.tolist() == [0, 1, 2, 3, 4, 5]


def test_long_arcs_are_two_pieces() -> None:
    """Three quarters, half a turn, and a full turn that sinks; what stands between keeps its place."""
    rows = (
        ROAD,
        (Kind.ARC_CCW, on_arc(0), on_arc(270), (5.0, 3.0)),
        (Kind.ARC_CW, on_arc(0), on_arc(180), (5.0, 3.0)),
        ROAD,
        (Kind.ARC_CW, on_arc(90, -1.0), on_arc(90, -3.0), (5.0, 3.0)),
    )
    made = cutting_pieces(columns(*rows), 0.0, TOLERANCE, set(), 0.001)
    assert made.move.tolist() == [0, 1, 1, 2, 3, 4, 4]
    assert made.sweep.tolist() == pytest.approx([0, 0.75 * math.pi, 0.75 * math.pi, -math.pi, 0, -math.pi, -math.pi])
    assert made.end[1].tolist() == made.start[2].tolist() == pytest.approx(on_arc(135))
    assert made.end[2].tolist() == pytest.approx(on_arc(270))
    assert made.end[5].tolist() == made.start[6].tolist() == pytest.approx(on_arc(-90, -2.0))
    assert made.middle[6].tolist() == pytest.approx(on_arc(180, -2.5))
    assert made.start[5].tolist() == pytest.approx(on_arc(90, -1.0))
    assert made.end[6].tolist() == pytest.approx(on_arc(90, -3.0))
    assert [made.moves.line[k] for k in range(7)] == [1, 2, 2, 3, 4, 5, 5]


def test_where_a_point_lies_along_lines_and_arcs() -> None:
    some = pieces(line((2.0, 5.0, 1.0), (10.0, 11.0, -4.0)), QUARTER, SINKING, line((1, 1, -1), (1, 1, -1)))
    off, share = locate(some, (6.0, 8.0, -1.5))
    assert (off[0], share[0]) == pytest.approx((0.0, 0.5), abs=1e-12)
    off, share = locate(some, (2 + 5.0, 5.0, 1 + 8.0))  # square to the line: 5 * 8 = 8 * 5
    assert (off[0], share[0]) == pytest.approx((math.hypot(5, 8), 0.0), abs=1e-12)
    off, share = locate(some, on_arc(30, -1.0, radius=12.0))
    assert (off[1], share[1]) == pytest.approx((2.0, 1 / 3))
    off, share = locate(some, on_arc(-60, -1.0, radius=9.0))  # a third along the helix it lies at -1.667
    assert (off[2], share[2]) == pytest.approx((math.hypot(1.0, 2 / 3), 1 / 3))
    off, share = locate(some, on_arc(-30, -1.0))
    assert (off[1], share[1]) == pytest.approx((20 * math.sin(math.radians(15)), 0.0))
    off, share = locate(some, on_arc(120, -1.0))
    assert (off[1], share[1]) == pytest.approx((20 * math.sin(math.radians(15)), 1.0))
    assert (off[2], share[2]) == pytest.approx((math.hypot(20 * math.sin(math.radians(30)), 2.0), 1.0))
    off, share = locate(some, (1.0, 4.0, -5.0))
    assert (off[3], share[3]) == (5.0, 0.0)


def test_part_of_one_piece_of_several() -> None:
    some = pieces(ROAD, SINKING, FAR, tools=(1, 2, 3))
    part = part_of(some, 1, 0.25, 0.75)
    assert part.start[0].tolist() == pytest.approx(on_arc(-45, -1.5))
    assert part.end[0].tolist() == pytest.approx(on_arc(-135, -2.5))
    assert part.middle[0].tolist() == pytest.approx(on_arc(-90, -2.0))
    assert (part.sweep[0], part.radius[0]) == pytest.approx((-math.pi / 2, 10.0))
    assert part.length[0] == pytest.approx(math.hypot(5 * math.pi, 1.0))
    assert (part.move[0], part.moves.line[0], part.moves.setups[part.moves.setup[0]].tool) == (1, 2, 2)
    whole = part_of(some, 0, 0.0, 1.0)
    assert (whole.start[0].tolist(), whole.end[0].tolist()) == ([0.0, 3.0, -1.0], [20.0, 3.0, -1.0])
    assert part_of(some, 2, 0.5, 1.0).start[0].tolist() == [10.0, 90.0, -1.0]
    assert part_of(some, 2, 0.0, 0.25).end[0].tolist() == [5.0, 90.0, -1.0]


def test_a_gap_that_was_cut_as_deep_before_may_stay() -> None:
    """From X 10 to 20 a cut at -2 came before; a gap of two tolerances, 0.004 mm, at X 4 is not asked for, more is."""
    plan, deep, high = (
        pieces(ROAD),
        line((10.0, 3.0, -2.0), (20.0, 3.0, -2.0)),
        line((10.0, 3.0, -0.99), (20.0, 3.0, -0.99)),
    )

    def was_cut(made: Row, *gaps: tuple[float, float], before: int = 1, tool: int = 1) -> bool:
        return search(plan, pieces(made, tools=(tool,)))._was_cut(0, list(gaps), before)

    assert was_cut(deep, (0.5, 1.0)) is True
    assert was_cut(deep, (0.2, 0.2 + 0.0039 / 20), (0.5, 1.0)) is True
    assert was_cut(deep, (0.2, 0.2 + 0.0041 / 20), (0.5, 1.0)) is False
    assert was_cut(deep, (0.4, 1.0)) is False
    assert was_cut(high, (0.5, 1.0)) is False
    assert was_cut(deep, (0.5, 1.0), before=0) is False, "it came after"
    assert was_cut(deep, (0.5, 1.0), tool=2) is False, "another tool"
