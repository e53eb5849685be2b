"""What is told of cuts that differ from their plan, from pairs of pieces made by hand."""

from __future__ import annotations

import math

import numpy as np
from moves_by_hand import Row, columns

from holecam.plan.finding import Severity
from holecam.plan.limits import ProgramLimits
from holecam.plan.motions import ToolKind, ToolUse
from holecam.program.check_context import CheckContext
from holecam.program.check_plan import _compare_settings, _radii, _tell_extra, _tell_missing, _tell_order, _when
from holecam.program.moves import Kind, Moves, Setup
from holecam.program.path_match import PathMatch
from holecam.program.path_pieces import Pieces, pieces_of
from holecam.program.program_findings import FindingList

MILL = ToolUse(3, "mill", ToolKind.END_MILL, 6.0)


def level(k: int) -> Row:
    return (Kind.FEED, (float(k), 0.0, -1.0), (k + 1.0, 0.0, -1.0), None)


def pieces(
    count: int, *, setups: tuple[Setup, ...] = (), feeds: tuple[float, ...] | None = None, moves: tuple[int, ...] = ()
) -> Pieces:
    """A row of cuts of 1 mm along X, each with a set-up of its own."""
    plain = columns(*(level(k) for k in range(count)), feeds=feeds)
    used = setups or (Setup(3, 1, 500.0),) * count
    made = Moves(
        plain.line + 100, plain.kind, plain.start, plain.end, plain.center, plain.feed,
        np.arange(count, dtype=np.int32), plain.cycle, used,
    )  # fmt: skip
    return pieces_of(made, np.array(moves or range(count)))


def context(count: int = 12) -> CheckContext:
    moves = columns(*(level(k) for k in range(count)))
    return CheckContext(moves, (), ProgramLimits(), {3: MILL}, 10.0, 0.0, 0.002, "mm", FindingList())


def match(*pairs: tuple[int, int], **rest: object) -> PathMatch:
    table = np.array(pairs, dtype=np.intp).reshape(-1, 2)
    return PathMatch(table[:, 0], table[:, 1], **rest)  # type: ignore[arg-type]


def test_missing_pieces_in_a_row_are_one_finding() -> None:
    held = context()
    plan = pieces(9, setups=tuple(Setup(3 + k, 1, 500.0) for k in range(9)))
    _tell_missing(held, plan, match(missing=[(1, 1.0), (2, 2.0), (3, 3.5), (5, 1.5), (7, 0.25), (8, 0.5)]))
    found = held.found.findings()
    assert [(f.message, f.place, f.measured) for f in found] == [
        ("3 planned cuts of 6.500 mm in all are not made, the first with tool T4", (1.0, 0.0, -1.0), 6.5),
        ("a planned cut of 1.500 mm in all is not made, the first with tool T8", (5.0, 0.0, -1.0), 1.5),
        ("2 planned cuts of 0.750 mm in all are not made, the first with tool T10", (7.0, 0.0, -1.0), 0.75),
    ]
    assert {(f.code, f.line, f.limit, f.rule) for f in found} == {("cut-missing", 0, 0.002, "cuts of the plan")}
    _tell_missing(held, plan, match())
    assert len(held.found.findings()) == 3


def test_cuts_off_the_plan() -> None:
    held = context()
    extra = [(2, 0.75, (1.0, 2.0, -3.0)), (4, math.inf, (4.0, 5.0, -6.0))]
    _tell_extra(held, pieces(9), match(extra=extra, repeats=2, given_up=6))
    found = held.found.findings()
    assert [(f.code, f.line, f.message, f.place, f.measured, f.limit) for f in found] == [
        ("cut-not-planned", 103, "a cut runs 0.750 mm off every planned cut", (1.0, 2.0, -3.0), 0.75, 0.002),
        ("cut-not-planned", 105, "a cut runs where the plan cuts nothing", (4.0, 5.0, -6.0), None, 0.002),
        ("cut-not-planned", 107, "the program differs so much from its plan that it was not compared any further",
         None, None, None),
        ("cut-repeated", 0, "2 cuts go over a planned path again", None, None, None),
    ]  # fmt: skip
    nothing = context()
    _tell_extra(nothing, pieces(9), match())
    assert nothing.found.findings() == ()
    first = context()
    _tell_extra(first, pieces(9), match(given_up=0))
    assert [f.line for f in first.found.findings()] == [101]


def test_cuts_out_of_order_and_the_other_way() -> None:
    held = context()
    _tell_order(held, pieces(9), pieces(9), match(out_of_order=[(4, 1)], reordered=3, reversed_pairs=[(5, 2), (6, 0)]))
    assert [(f.code, f.line, f.place, f.message.split(":")[0]) for f in held.found.findings()] == [
        ("cut-other-way", 101, (6.0, 0.0, -1.0), "a cut runs the other way than planned"),
        ("cut-out-of-order", 102, (4.0, 0.0, -1.0), "a cut comes before the planned one above it"),
        ("cut-other-way", 103, (5.0, 0.0, -1.0), "a cut runs the other way than planned"),
        ("order-changed", 0, None, "3 cuts come in another order than planned"),
    ]


def told(plan: Pieces, made: Pieces, *pairs: tuple[int, int]) -> list[tuple[str, int, float | None, Severity]]:
    held = context()
    _compare_settings(held, plan, made, match(*(pairs or tuple((k, k) for k in range(len(plan))))))
    return [(f.code, f.line, f.measured, f.severity) for f in held.found.findings()]


def test_tools_of_pairs() -> None:
    plan = pieces(6)
    other = tuple(Setup(t, 1, 500.0) for t in (3, 4, 4, 3, 5, 6))
    assert told(plan, pieces(6, setups=other)) == [
        ("tool-not-planned", 2, None, Severity.STOP), ("tool-not-planned", 5, None, Severity.STOP),
    ]  # fmt: skip
    held = context()
    _compare_settings(held, plan, pieces(6, setups=other), match((3, 1), (2, 4)))
    (one,) = held.found.findings()
    assert (one.message, one.place, one.line) == ("a cut is made with T4; planned is T3", (1.0, 0.0, -1.0), 2)
    # The line is that of the move that a piece comes from
    assert told(plan, pieces(6, setups=other, moves=(0, 7, 8, 9, 10, 11)))[0][1] == 8


def test_speeds_of_pairs() -> None:
    """Half a turn and a hundredth is rounding; a plan that states no speed asks for none."""
    for planned, made, found in (
        (500.0, 500.51, []), (500.0, 500.52, [500.52]), (500.0, 499.49, []), (500.0, 499.48, [499.48]),
        (None, 800.0, []), (0.4, None, []), (1.0, None, [0.0]), (500.0, None, [0.0]), (0.0, 700.0, []),
    ):  # fmt: skip
        result = told(pieces(1, setups=(Setup(3, 1, planned),)), pieces(1, setups=(Setup(3, 1, made),)))
        assert result == [("speed-not-planned", 1, speed, Severity.STOP) for speed in found]
    speeds = tuple(Setup(3, 1, rpm) for rpm in (600.0, 700.0, 500.0, 600.0))
    assert [line for _, line, _, _ in told(pieces(4), pieces(4, setups=speeds))] == [1, 4], "one finding for each run"


def test_feeds_of_pairs() -> None:
    """A hundredth more or less is rounding; more is a stop, less a caution; a feed that is missing has its own."""
    for planned, made, found in (
        (200.0, 202.0, []), (200.0, 202.1, [(202.1, Severity.STOP)]), (200.0, 198.0, []),
        (200.0, 197.9, [(197.9, Severity.CAUTION)]), (200.0, math.nan, []), (20.0, 20.3, [(20.3, Severity.STOP)]),
        (20.0, 20.2, []),
    ):  # fmt: skip
        result = told(pieces(1, feeds=(planned,)), pieces(1, feeds=(made,)))
        assert result == [("feed-not-planned", 1, feed, grade) for feed, grade in found]
    many = context(60)
    feeds = tuple(100.0 if k % 2 else 150.0 for k in range(50))
    _compare_settings(many, pieces(50), pieces(50, feeds=feeds), match(*((k, k) for k in range(50))))
    listed = many.found.findings()
    assert [f.line for f in listed] == [*range(1, 41, 2), 0]
    assert listed[-1].message == "5 or more of these are not listed"


def test_when_planned_pieces_were_cut() -> None:
    """Piece 1 by the pieces 0, 4 and 2 of the program, piece 3 by one; the others not at all."""
    done = _when(
        pieces(5, moves=(10, 11, 12, 13, 14)),
        pieces(6, moves=(20, 21, 22, 23, 24, 25)),
        match((1, 4), (1, 0), (3, 3), (1, 2)),
    )
    assert done.planned_move.tolist() == [11, 13]
    assert done.first.tolist() == [20, 23]
    assert done.last.tolist() == [24, 23]
    assert [len(c) for c in (lambda d: (d.planned_move, d.first, d.last))(_when(pieces(2), pieces(2), match()))] == [
        0,
        0,
        0,
    ]


def test_the_radius_of_each_planned_piece() -> None:
    assert _radii(context(), pieces(2, setups=(Setup(3), Setup(8)))).tolist() == [3.0, 1e-6]
