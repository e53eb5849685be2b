"""What a program does at one place: depth, bites between clearings, feeds, and what an earlier tool left."""

from __future__ import annotations

import math

from moves_by_hand import Row, columns

from holecam.program.hole_visits import HoleVisit, hole_visits, upright
from holecam.program.moves import Kind, Moves, Setup

TOP, TOLERANCE = 0.0, 0.002
SIZES = {1: 3.0, 2: 5.0}


def feed(x: float, z0: float, z1: float) -> Row:
    return (Kind.FEED, (x, 4.0, z0), (x, 4.0, z1), None)


def rapid(x: float, z0: float, z1: float) -> Row:
    return (Kind.RAPID, (x, 4.0, z0), (x, 4.0, z1), None)


def over(x0: float, x1: float, z: float = 10.0) -> Row:
    return (Kind.RAPID, (x0, 4.0, z), (x1, 4.0, z), None)


def visits(*rows: Row, tools: tuple[int, ...] | None = None, feeds: tuple[float, ...] | None = None) -> list[HoleVisit]:
    return list(hole_visits(columns(*rows, tools=tools, feeds=feeds), TOP, TOLERANCE, SIZES))


def test_one_plunge() -> None:
    (one,) = visits(over(0, 5), rapid(5, 10, 2), feed(5, 2, -6), rapid(5, -6, 10))
    assert (one.x, one.y, one.bottom, one.bite) == (5.0, 4.0, -6.0, 6.0)
    assert (one.tool, one.rpm, one.slowest, one.fastest) == (1, 1000.0, 100.0, 100.0)
    assert (one.line, one.deepest_line, one.first_move, one.last_move, one.cycle) == (3, 3, 2, 2, -1)


def test_pecks_that_clear_and_pecks_that_do_not() -> None:
    """Down 3, out, down 6, out, down 8: bites 3, 3, 2. Not quite out of the hole the chips stay: 3, then 6."""
    clearing = visits(
        feed(5, 2, -3), rapid(5, -3, 2), rapid(5, 2, -2.5), feed(5, -2.5, -6), rapid(5, -6, 0), rapid(5, 0, -5.5),
        feed(5, -5.5, -8),
    )  # fmt: skip
    assert [(v.bottom, v.bite, v.line, v.deepest_line, v.last_move) for v in clearing] == [(-8.0, 3.0, 1, 7, 6)]
    staying = visits(feed(5, 2, -3), rapid(5, -3, -0.5), rapid(5, -0.5, -2.5), feed(5, -2.5, -6), rapid(5, -6, 2))
    assert [(v.bottom, v.bite) for v in staying] == [(-6.0, 6.0)]
    # What is fed a second time is no new bite
    again = visits(feed(5, 2, -3), rapid(5, -3, 2), feed(5, 2, -4))
    assert [(v.bottom, v.bite) for v in again] == [(-4.0, 3.0)]


def test_the_slowest_and_the_fastest_feed_in_metal() -> None:
    (one,) = visits(feed(5, 2, -1), feed(5, -1, -3), feed(5, -3, -5), feeds=(50.0, 20.0, 80.0))
    assert (one.slowest, one.fastest, one.bite) == (20.0, 80.0, 5.0)


def test_a_visit_ends_with_a_move_sideways_another_tool_or_another_place() -> None:
    sideways = (Kind.FEED, (5.0, 4.0, -3.0), (6.0, 4.0, -3.0), None)
    back = (Kind.FEED, (6.0, 4.0, -3.0), (5.0, 4.0, -3.0), None)
    assert [v.bottom for v in visits(feed(5, 2, -3), sideways, back, feed(5, -3, -4))] == [-3.0, -4.0]
    assert [v.tool for v in visits(feed(5, 2, -3), feed(5, 2, -6), tools=(1, 2))] == [1, 2]
    assert [v.x for v in visits(feed(5, 2, -3), feed(5.001, 2, -3))] == [5.0, 5.001]


def test_only_a_tool_at_least_as_large_leaves_a_shorter_bite() -> None:
    """A pilot of 3 mm 1.5 deep leaves a ring for the 5 mm drill; the other way round there is nothing left above."""
    for first, second, bite in [(1, 2, 6.0), (2, 1, 4.5), (1, 1, 4.5)]:
        found = visits(
            feed(5, 2, -1.5), rapid(5, -1.5, 10), over(5, 0), over(0, 5), feed(5, 2, -6), tools=(first,) * 4 + (second,)
        )
        assert [v.bite for v in found] == [1.5, bite]
        # Elsewhere nothing has been drilled
        aside = visits(feed(5, 2, -1.5), rapid(5, -1.5, 10), over(5, 6), feed(6, 2, -6), tools=(first,) * 3 + (second,))
        assert [v.bite for v in aside] == [1.5, 6.0]


def test_what_stays_above_the_top_is_no_visit() -> None:
    assert visits(feed(5, 10, 1)) == []
    assert visits(feed(5, 2, -TOLERANCE / 2)) == []
    assert [v.bottom for v in visits(feed(5, 2, -2 * TOLERANCE))] == [-2 * TOLERANCE]
    assert visits(rapid(5, 2, -3)) == []
    assert visits(feed(5, -3, 2)) == []


def test_upright_moves() -> None:
    rows: list[Row] = [
        feed(5, 2, -3),
        over(0, 5),
        (Kind.FEED, (0.0, 0.0, 0.0), (0.0, 1.0, -1.0), None),
        (Kind.RAPID, (math.nan, math.nan, 1.0), (math.nan, math.nan, 9.0), None),
        (Kind.ARC_CW, (5.0, 4.0, 0.0), (5.0, 4.0, -1.0), (6.0, 4.0)),
        rapid(5, 2, 10),
    ]
    assert upright(columns(*rows)).tolist() == [True, False, False, False, False, True]


def test_places_are_told_apart_to_either_side() -> None:
    """Upright moves that follow each other at two places: two visits; a hair apart, one."""
    for by in [0.5, -0.5, 0.0002, -0.0002]:

        def down(x: float, y: float, z: float) -> Row:
            return (Kind.FEED, (x, y, 2.0), (x, y, z), None)

        for x, y in ((by, 0.0), (0.0, by)):
            found = visits(down(5.0, 4.0, -3.0), down(5.0 + x, 4.0 + y, -4.0))
            assert [(v.x, v.y, v.bottom) for v in found] == [(5.0, 4.0, -3.0), (5.0 + x, 4.0 + y, -4.0)]
            near = visits(down(5.0, 4.0, -3.0), down(5.0 + x * 1e-5, 4.0 + y * 1e-5, -4.0))
            assert [v.bottom for v in near] == [-4.0]


def test_tools_that_nobody_described_count_as_one_size() -> None:
    """The second visit of an unknown tool begins where the first ended; a known tool after it begins at the top."""
    rows = (feed(5, 2, -2), rapid(5, -2, 10), over(5, 0), over(0, 5), feed(5, 2, -6))
    assert [v.bite for v in visits(*rows, tools=(8,) * 5)] == [2.0, 4.0]
    assert [v.bite for v in visits(*rows, tools=(8, 8, 8, 8, 1))] == [2.0, 6.0]
    assert [v.bite for v in visits(*rows, tools=(1, 1, 1, 1, 8))] == [2.0, 4.0]


def test_slow_feeds_and_speeds_that_were_not_stated() -> None:
    moves = columns(feed(5, 2, -2), feed(5, -2, -3), feeds=(0.5, 0.25), cycles=(3, 4))
    silent = Moves(
        moves.line, moves.kind, moves.start, moves.end, moves.center, moves.feed, moves.setup, moves.cycle, (Setup(9),)
    )
    (one,) = hole_visits(silent, TOP, TOLERANCE, SIZES)
    assert one == HoleVisit(5.0, 4.0, -3.0, 3.0, 9, 0.0, 0.25, 0.5, 1, 2, 0, 1, 3)


def test_what_is_cut_again_changes_neither_bite_nor_bottom() -> None:
    """Down to -4, up inside to -1 and down to -3 and to -4 again: one bite of 4; the bottom is where it first was."""
    (one,) = visits(feed(5, 2, -4), feed(5, -4, -1), feed(5, -1, -3), feed(5, -3, -4), feeds=(50.0, 1.0, 2.0, 3.0))
    assert (one.bite, one.bottom, one.slowest, one.fastest) == (4.0, -4.0, 50.0, 50.0)
    assert (one.line, one.deepest_line, one.first_move, one.last_move) == (1, 1, 0, 0)
    (two,) = visits(feed(5, 2, -4), feed(5, -4, 0.0), feed(5, 0, -7))
    assert (two.bite, two.bottom, two.deepest_line, two.last_move) == (4.0, -7.0, 3, 2)
    (near,) = visits(feed(5, 2, -4), feed(5, -4, -0.0002), feed(5, -0.0002, -7))
    assert near.bite == 7.0, "not quite out: the chips stay"
