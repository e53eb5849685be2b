"""The parts of the check alone, on moves made by hand: each decision at the last figure that passes and the next."""

from __future__ import annotations

import math

import numpy as np
import pytest
from moves_by_hand import Row, columns

from holecam.plan.finding import Severity
from holecam.plan.limits import ExpectedHole, HardFloor, KeepOut, ProgramLimits, Stock, Travel
from holecam.plan.motions import ToolKind, ToolUse
from holecam.program.check_context import CheckContext
from holecam.program.check_holes import WantedHole, _check_order, _compare, check_holes, tell_feed, wanted_holes
from holecam.program.check_machine import check_machine
from holecam.program.check_modes import check_modes
from holecam.program.check_plan import Done, check_stops, holes_done
from holecam.program.check_rapids import _keys, check_rapids, nearest_on_path
from holecam.program.check_zones import check_zones
from holecam.program.cycles import CycleWords, steps
from holecam.program.hole_visits import HoleVisit
from holecam.program.moves import Event, EventKind, Kind, Moves, Setup
from holecam.program.planned_moves import PlannedMoves, PlannedStop
from holecam.program.program_findings import FindingList, ProgramFinding
from holecam.shapes import rectangle

NAN = math.nan
MILL = ToolUse(1, "mill", ToolKind.END_MILL, 6.0)
DRILL = ToolUse(2, "drill", ToolKind.TWIST_DRILL, 3.0, point_angle_deg=118.0)
OTHER = ToolUse(4, "other drill", ToolKind.TWIST_DRILL, 3.0, point_angle_deg=118.0)
LARGE = ToolUse(5, "large drill", ToolKind.TWIST_DRILL, 5.0, point_angle_deg=118.0)
TOLERANCE = 0.002


def context(
    moves: Moves,
    *tools: ToolUse,
    limits: ProgramLimits | None = None,
    events: tuple[Event, ...] = (),
    safe: float = 10.0,
    top: float = 0.0,
) -> CheckContext:
    known = {t.number: t for t in tools}
    return CheckContext(moves, events, limits or ProgramLimits(), known, safe, top, TOLERANCE, "mm", FindingList())


def said(held: CheckContext) -> list[tuple[str, int]]:
    return [(f.code, f.line) for f in held.found.findings()]


def rapid(a: tuple[float, float, float], b: tuple[float, float, float]) -> Row:
    return (Kind.RAPID, a, b, None)


def feed(a: tuple[float, float, float], b: tuple[float, float, float]) -> Row:
    return (Kind.FEED, a, b, None)


def plunge(x: float, y: float, z: float, top: float = 2.0) -> Row:
    return feed((x, y, top), (x, y, z))


# What every check looks at


def test_which_moves_come_near_the_stock() -> None:
    """From 10 to 30 in X and from 20 to 40 in Y, and 2 mm round it."""
    for a, b, near in [
        ((8, 30), (8, 30), False), ((8.001, 30), (8.001, 30), True), ((32, 30), (32, 30), False),
        ((31.999, 30), (31.999, 30), True), ((20, 18), (20, 18), False), ((20, 18.001), (20, 18.001), True),
        ((20, 42), (20, 42), False), ((20, 41.999), (20, 41.999), True), ((0, 30), (50, 30), True),
        ((20, 0), (20, 50), True), ((0, 0), (7, 50), False), ((0, 0), (50, 17), False), ((20, 30), (20, 30), True),
    ]:  # fmt: skip
        limits = ProgramLimits(stock=Stock(rectangle(10, 20, 30, 40), 0.0, -5.0))
        for ends in ((a, b), (b, a)):
            held = context(columns(rapid((*ends[0], 5.0), (*ends[1], 5.0))), limits=limits)
            assert held.over_stock(2.0).tolist() == [near]
            assert held.over_stock(np.array([2.0])).tolist() == [near]
        assert context(columns(rapid((*a, 5.0), (*b, 5.0)))).over_stock(2.0).tolist() == [True], "no stock: everywhere"


def test_tools_in_the_order_of_the_program() -> None:
    moves = columns(*(plunge(k, 0, -1) for k in range(5)), tools=(5, 2, 5, 1, 2))
    held = context(moves, MILL, LARGE)
    assert held.tool_numbers.tolist() == [5, 2, 5, 1, 2]
    assert set(held.tools_used) == {1, 2, 5}
    assert held.radii().tolist() == [2.5, 1e-6, 2.5, 3.0, 1e-6]
    assert held.deeper_by(2, 2) == 0.0
    assert held.deeper_by(1, 5) == 0.0
    assert held.deeper_by(2, 5) == held.deeper_by(5, 1) == math.inf
    nothing = context(columns())
    assert (nothing.tool_numbers.tolist(), nothing.tools_used, nothing.radii().tolist()) == ([], (), [])


def test_where_the_height_of_a_further_tool_is_set() -> None:
    """None for the first tool, nor for a change that halts; an optional stop, or one after a move, sets nothing."""

    def change(move: int, tool: int, *, halts: bool = False) -> Event:
        return Event(EventKind.TOOL_CHANGE, 1, move, number=tool, halts=halts)

    stop, late, optional = (
        Event(EventKind.STOP, 2, 3),
        Event(EventKind.STOP, 3, 4),
        Event(EventKind.OPTIONAL_STOP, 2, 3),
    )
    for events, found in (
        ((change(0, 1), Event(EventKind.STOP, 2, 0)), {}),
        ((change(0, 1), change(3, 2), stop), {1: stop}),
        ((change(0, 1), change(3, 2), Event(EventKind.SPINDLE, 2, 3), optional, stop, late), {1: stop}),
        ((change(0, 1), change(3, 2), optional, late), {1: None}),
        ((change(0, 1), change(3, 2, halts=True), change(3, 4), late), {2: None}),
        ((Event(EventKind.STOP, 1, 0), change(0, 1), change(3, 2), change(4, 5), late), {2: None, 3: late}),
    ):
        assert context(columns(), events=events).length_stops() == found


def test_cuts_are_feeds_below_the_safe_height() -> None:
    rows = [
        plunge(0, 0, 9.998, 12), plunge(0, 0, 9.997, 12), rapid((0, 0, 5), (1, 0, 5)), feed((0, 0, 5), (1, 0, 20)),
        feed((0, 0, NAN), (0, 0, NAN)),
    ]  # fmt: skip
    assert context(columns(*rows)).cuts().tolist() == [False, True, False, True, True]


def test_a_run_of_neighbours_is_one_finding() -> None:
    held = context(columns(*(plunge(k, 2 * k, -k) for k in range(8))))
    mask = np.array([1, 1, 0, 1, 0, 0, 1, 1], bool)
    held.report(
        mask,
        "rapid-into-stock",
        lambda i: f"move {i}",
        rule="a rule",
        remedy="Do.",
        measured=float,
        limit=3.0,
        unit="x",
    )
    found = held.found.findings()
    assert [(f.line, f.message, f.place, f.measured) for f in found] == [
        (1, "move 0 (and the 1 moves after it)", (0.0, 0.0, 0.0), 0.0),
        (4, "move 3", (3.0, 6.0, -3.0), 3.0),
        (7, "move 6 (and the 1 moves after it)", (6.0, 12.0, -6.0), 6.0),
    ]
    assert {(f.code, f.severity, f.limit, f.quantity_unit, f.rule, f.remedy) for f in found} == {
        ("rapid-into-stock", Severity.STOP, 3.0, "x", "a rule", "Do.")
    }
    held.report(np.zeros(8, bool), "in-bend", lambda i: "never")
    assert len(held.found.findings()) == 3


# Findings


def test_findings_beyond_the_twentieth_are_counted_and_the_worst_grade_kept() -> None:
    found = FindingList()
    for k in range(19):
        found.add("feed-not-planned", 30 - k, f"number {k}", severity=Severity.CAUTION)
    assert not found.lists_no_more("feed-not-planned")
    found.add("feed-not-planned", 0, "of the whole", severity=Severity.CAUTION)
    assert found.lists_no_more("feed-not-planned")
    assert [f.line for f in found.findings()] == [*range(12, 31), 0], "in the order of the lines, the whole last"
    found.add("feed-not-planned", 1, "not listed any more")
    found.count_more("feed-not-planned", 2)
    found.count_more("feed-not-planned", 0)
    found.count_more("feed-not-planned", -3)
    last = found.findings()[-1]
    assert len(found.findings()) == 21
    assert (last.line, last.message, last.severity) == (0, "3 or more of these are not listed", Severity.STOP)
    found.count_more("in-bend", 21)
    assert (found.findings()[-1].message, found.findings()[-1].severity) == (
        "1 or more of these are not listed",
        Severity.STOP,
    )
    assert not found.lists_no_more("cut-missing")


# Holes


def visit(tool: int, first: int, x: float = 0.0, y: float = 0.0, **other: float) -> HoleVisit:
    figures = {"bottom": -6.0, "bite": 6.0, "rpm": 900.0, "slowest": 50.0, "fastest": 50.0} | other
    return HoleVisit(x, y, figures["bottom"], figures["bite"], tool, figures["rpm"], figures["slowest"],
                     figures["fastest"], 10 * first, 10 * first + 1, first, first + 1, -1)  # fmt: skip


def made(number: int, tool: int, planned: int, *firsts: int, x: float = 0.0) -> WantedHole:
    return WantedHole(
        number, x, 0.0, -6.0, tool, planned_move=planned, made=[visit(tool, first, x) for first in firsts]
    )


EARLY = ": tool T5 comes before a tool that is planned before it"


def test_tools_in_one_hole_keep_their_order() -> None:
    for holes, told in [
        ([made(1, 2, 3, 5), made(1, 5, 8, 9)], []),
        ([made(1, 2, 3, 9), made(1, 5, 8, 5)], [(50, f"hole 1{EARLY}")]),
        ([made(1, 5, 8, 5), made(1, 2, 3, 9)], [(50, f"hole 1{EARLY}")]),
        # The first time counts; what was not made, or is in no plan, has no order
        ([made(1, 2, 3, 4, 20), made(1, 5, 8, 9)], []),
        ([made(1, 2, 3, 4), made(1, 5, 8, 9, 2)], [(90, f"hole 1{EARLY}")]),
        ([made(1, 2, 3), made(1, 5, 8, 5)], []),
        ([made(1, 2, -1, 9), made(1, 5, 8, 5)], []),
        ([made(1, 2, 8, 5), made(1, 5, -1, 9)], []),
        ([made(1, 2, 0, 9), made(1, 5, 8, 0)], [(0, f"hole 1{EARLY}")]),
        # Three in a row, the last two changed; and a hole beside them that does not count
        (
            [made(3, 2, 1, 1), made(3, 4, 2, 9), made(3, 5, 3, 7), made(0, 2, 9, 0, x=0.5)],
            [(70, f"hole 3{EARLY}")],
        ),
        ([made(0, 2, 3, 9), made(0, 5, 8, 5)], [(50, f"a planned hole{EARLY}")]),
        # Four tolerances apart is one hole, a hair more is two
        ([made(1, 2, 3, 9), made(1, 5, 8, 5, x=0.0079)], [(50, f"hole 1{EARLY}")]),
        ([made(1, 2, 3, 9), made(1, 5, 8, 5, x=0.0081)], []),
        ([made(1, 2, 3, 9, x=5.0), made(2, 2, 4, 7, x=9.0), made(2, 5, 8, 5, x=9.0)],
         [(50, f"hole 2{EARLY}")]),
    ]:  # fmt: skip
        held = context(columns())
        _check_order(held, holes)
        found = held.found.findings()
        assert [(f.line, f.message) for f in found] == told
        assert all((f.code, f.rule) == ("cut-out-of-order", "order of the plan") for f in found)
        assert all(f.place is not None and f.place[2] == -6.0 for f in found)


def test_holes_that_nobody_planned_are_counted_beyond_the_twentieth() -> None:
    moves = columns(*(plunge(3.0 * k, 1.0, -2) for k in range(22)), tools=(2,) * 22)
    held = context(moves, DRILL)
    check_holes(held, [])
    found = held.found.findings()
    assert [f.line for f in found] == [*range(1, 21), 0]
    assert found[-1].message == "2 or more of these are not listed"
    assert (found[4].message, found[4].measured, found[4].limit) == (
        "tool T2 makes a hole where none is planned", None, TOLERANCE,
    )  # fmt: skip
    assert found[4].place == (12.0, 1.0, -2.0)


def test_a_hole_made_by_another_tool() -> None:
    """Nothing is said about diameters that nobody stated."""
    for known, code, message in [
        ((DRILL, OTHER), "tool-not-planned", "hole 7 is made with T2; planned is T4"),
        ((DRILL,), "tool-not-planned", "hole 7 is made with T2; planned is T4"),
        ((OTHER,), "tool-not-planned", "hole 7 is made with T2; planned is T4"),
        ((), "tool-not-planned", "hole 7 is made with T2; planned is T4"),
        ((DRILL, ToolUse(4, "x", ToolKind.REAMER, 3.5)), "hole-diameter",
         "hole 7 is made with T2, 3.000 mm; planned is T4, 3.500 mm"),
    ]:  # fmt: skip
        held = context(columns(plunge(5, 6, -4), tools=(2,)), *known)
        check_holes(held, [WantedHole(7, 5.0, 6.0, -4.0, 4)])
        first, missing = held.found.findings()
        assert (first.code, first.line, first.message, first.place) == (code, 1, message, (5.0, 6.0, -4.0))
        assert (missing.code, missing.line, missing.message) == ("hole-missing", 0, "hole 7 with tool T4 is not made")


def test_a_mill_that_plunges_where_nothing_is_planned_is_no_hole() -> None:
    for tool, count in ((1, 0), (2, 1)):
        held = context(columns(plunge(5, 6, -4), tools=(tool,)), MILL, DRILL)
        check_holes(held, [])
        assert len(held.found.findings()) == count


def test_what_a_hole_is_held_against() -> None:
    """Depth, bite, speed and feeds of a hole, each within its tolerance and beyond; of visits the deepest."""

    def told(*visits: HoleVisit, bite: float | None = 3.0) -> list[tuple[str, int, float | None]]:
        held = context(columns())
        hole = WantedHole(1, 0.0, 0.0, -6.0, 2, rpm=900.0, feed=50.0, bite=bite)
        moves = columns(*(plunge(v.x, v.y, v.bottom) for v in visits))
        assert len(moves) == len(visits)
        _compare(held, hole, list(visits))
        return [(f.code, f.line, f.measured) for f in held.found.findings()]

    good = visit(2, 4, bite=3.0)
    assert told(good) == []
    assert told(visit(2, 4, bite=3.0, bottom=-6.002)) == []
    assert told(visit(2, 4, bite=3.0, bottom=-5.998)) == []
    assert told(visit(2, 4, bite=3.0, bottom=-6.003)) == [("hole-depth", 41, -6.003)]
    assert told(visit(2, 4, bite=3.0, bottom=-5.997)) == [("hole-depth", 41, -5.997)]
    assert told(visit(2, 4, bite=3.0, bottom=-2.0), good) == [], "the deepest counts"
    assert told(good, visit(2, 7, bite=2.0, bottom=-7.0)) == [("hole-depth", 71, -7.0)]
    assert told(visit(2, 4, bite=3.002)) == []
    assert told(visit(2, 4, bite=3.003)) == [("peck-too-deep", 40, 3.003)]
    assert told(visit(2, 4, bite=6.0), bite=None) == []
    assert told(visit(2, 4, bite=3.0, rpm=900.51)) == []
    assert told(visit(2, 4, bite=3.0, rpm=900.52)) == [("speed-not-planned", 40, 900.52)]
    assert told(visit(2, 4, bite=3.0, rpm=899.49)) == []
    assert told(visit(2, 4, bite=3.0, rpm=899.48)) == [("speed-not-planned", 40, 899.48)]
    assert told(good, visit(2, 9, bite=3.0, slowest=49.4)) == [("feed-not-planned", 90, 49.4)]
    assert told(visit(2, 4, bite=3.0, slowest=49.4, fastest=50.6)) == [("feed-not-planned", 40, 50.6)]


def test_a_feed_may_differ_by_a_hundredth() -> None:
    for fastest, slowest, told in [
        (101.0, 99.0, None), (101.1, 99.0, (101.1, Severity.STOP)), (100.0, 98.9, (98.9, Severity.CAUTION)),
        (101.1, 50.0, (101.1, Severity.STOP)),
    ]:  # fmt: skip
        held = context(columns())
        tell_feed(held, 5, (1.0, 2.0, 3.0), "it", fastest, slowest, 100.0)
        found = held.found.findings()
        assert [(f.measured, f.severity) for f in found] == ([told] if told else [])
        for f in found:
            assert f.message == f"it is fed at {f.measured:.1f} mm/min; planned are 100.0 mm/min"
            assert (f.line, f.place, f.limit, f.quantity_unit, f.rule) == (
                5, (1.0, 2.0, 3.0), 100.0, "mm/min", "feed of the plan",
            )  # fmt: skip


def test_which_holes_are_wanted() -> None:
    """Two of the limits, one of which a cycle makes twice; one by a cycle alone; one that a drill makes without any."""
    moves = columns(
        plunge(5, 5, -4), rapid((5, 5, 20), (6, 5, 20)), plunge(5, 5, -6), plunge(8, 5, -3), plunge(20, 5, -1),
        plunge(30, 5, -2), plunge(40, 5, -9),
        tools=(2, 2, 2, 1, 2, 1, 5), cycles=(0, 1, 1, -1, -1, 2, 3), feeds=(50.0, 1.0, 60.0, 70.0, 80.0, 90.0, 95.0),
    )  # fmt: skip
    plan = PlannedMoves(moves, (), (11, 11, 13, 14), (2.5, 4.0, None, None))
    limits = ProgramLimits(holes=(ExpectedHole(1, 5.0, 5.0, -6.0, 2), ExpectedHole(2, 5.0, 5.0, -9.0, 4)))
    found = wanted_holes(context(moves, MILL, DRILL, OTHER, LARGE, limits=limits), plan)
    assert [(h.number, h.x, h.y, h.bottom, h.tool, h.rpm, h.feed, h.bite, h.planned_move) for h in found] == [
        (1, 5.0, 5.0, -6.0, 2, 2000.0, 60.0, 4.0, 0),
        (2, 5.0, 5.0, -9.0, 4, None, None, None, -1),
        (0, 20.0, 5.0, -1.0, 2, 2000.0, 80.0, None, 4),
        (13, 30.0, 5.0, -2.0, 1, 1000.0, 90.0, None, 5),
        (14, 40.0, 5.0, -9.0, 5, 5000.0, 95.0, None, 6),
    ]
    assert [h.number for h in wanted_holes(context(moves, limits=limits), None)] == [1, 2]
    bored = PlannedMoves(columns(plunge(5, 5, -4), cycles=(0,)), (), (7,), (1.5,))
    (one,) = wanted_holes(context(bored.moves, MILL), bored)
    assert (one.number, one.bite, one.planned_move) == (7, 4.0, 0)


# The machine


def test_the_ends_of_the_travel() -> None:
    for axis in [0, 1, 2]:
        name = "xyz"[axis]

        def at(value: float, axis: int = axis) -> tuple[float, float, float]:
            x, y, z = (value if k == axis else 5.0 for k in range(3))
            return (x, y, z)

        for low, high, outside in (
            (-10.002, 40.002, []), (-10.003, 40.0, [1, 2]), (-10.0, 40.003, [1]), (-10.0, 40.0, []), (NAN, 41.0, [1]),
            (NAN, 40.0, []),
        ):  # fmt: skip
            travel = Travel(**{name: (-10.0, 40.0)})  # type: ignore[arg-type]
            held = context(
                columns(feed(at(low), at(high)), feed(at(low), at(low))), MILL, limits=ProgramLimits(travel=travel)
            )
            check_machine(held)
            found = held.found.findings()
            assert [f.line for f in found] == outside[:1]
            for f in found:
                assert (f.code, f.place, f.rule) == ("out-of-travel", at(high), "travel of the machine as stated")
                more = " (and the 1 moves after it)" if len(outside) > 1 else ""
                assert f.message == f"{name.upper()} leaves the travel from -10.000 mm to +40.000 mm{more}"
        for high, told in ((20.002, False), (20.003, True)):
            travel = Travel(**{f"{name}_length": 30.0})  # type: ignore[arg-type]
            moves = columns(feed(at(NAN), at(0.0)), feed(at(0.0), at(high)), feed(at(high), at(-10.0)))
            held = context(moves, MILL, limits=ProgramLimits(travel=travel))
            check_machine(held)
            assert [(f.code, f.line, f.place, f.measured, f.limit) for f in held.found.findings()] == (
                [("out-of-travel", 2, at(high), pytest.approx(30.003), 30.0)] if told else []
            )
        unknown = context(columns(feed(at(NAN), at(NAN))), MILL, limits=ProgramLimits(travel=travel))
        check_machine(unknown)
        assert unknown.found.findings() == ()


def turning(*setups: Setup, feeds: tuple[float, ...] | None = None) -> Moves:
    """One plunge for each setup."""
    n = len(setups)
    moves = columns(*(plunge(k, 0, -1) for k in range(n)), feeds=feeds)
    return Moves(
        moves.line, moves.kind, moves.start, moves.end, moves.center, moves.feed, np.arange(n, dtype=np.int32),
        moves.cycle, setups,
    )  # fmt: skip


def ready(tool: int = 1, spindle: int = 1, rpm: float | None = 500.0, offset: int | None = None) -> Setup:
    return Setup(tool, spindle, rpm, units_stated=True, distance_stated=True, length_offset=offset)


def test_speeds_and_feeds_of_the_machine() -> None:
    """A spindle that stands may have any speed stated; one that turns without a speed has a finding elsewhere."""
    setups = [ready(rpm=r) for r in (100.0, 99.9, 2000.0, 2000.1)]
    setups += [ready(rpm=5000.0, spindle=0), ready(rpm=None), ready(rpm=5000.0, spindle=-1)]
    held = context(turning(*setups), MILL, limits=ProgramLimits(spindle_rpm=(100.0, 2000.0)))
    check_machine(held)
    assert [(f.code, f.line, f.measured, f.limit, f.quantity_unit) for f in held.found.findings()] == [
        ("spindle-out-of-range", 2, 99.9, 2000.0, "rpm"),
        ("spindle-out-of-range", 4, 2000.1, 2000.0, "rpm"),
        ("spindle-out-of-range", 7, 5000.0, 2000.0, "rpm"),
    ]
    assert held.found.findings()[0].message == "the spindle is to turn at 100 rpm; it has 100 to 2000 rpm"
    moves = turning(*[ready()] * 4, feeds=(800.0, 800.1, NAN, 900.0))
    quick = context(moves, MILL, limits=ProgramLimits(fastest_feed_mm_min=800.0))
    check_machine(quick)
    assert [(f.code, f.line, f.measured, f.limit, f.quantity_unit) for f in quick.found.findings()] == [
        ("feed-out-of-range", 2, 800.1, 800.0, "mm/min"),
        ("feed-out-of-range", 4, 900.0, 800.0, "mm/min"),
    ]


def test_tools_that_nobody_described_are_named_once() -> None:
    changes = tuple(Event(EventKind.TOOL_CHANGE, 10 + k, 0, number=t) for k, t in enumerate((1, 7, 1, 7, 8)))
    held = context(turning(ready(tool=0), ready(tool=1)), MILL, events=changes)
    check_machine(held)
    found = held.found.findings()
    assert [(f.code, f.line) for f in found] == [("tool-unknown", 1), ("tool-unknown", 11), ("tool-unknown", 14)]
    assert found[0].message == "a cut before any tool was taken (T and M6): only the line of its tip is checked"
    assert found[1].message == "tool T7 is not described: only the line of its tip is checked, not its body"


def test_what_must_be_set_before_a_cut() -> None:
    setups = [
        ready(), ready(spindle=0), ready(spindle=-1), ready(rpm=None), ready(rpm=0.0), ready(offset=1), ready(offset=0),
        ready(offset=2), Setup(1, 1, 500.0, False, True), Setup(1, 1, 500.0, True, False), ready(spindle=0, rpm=None),
        ready(), ready(),
    ]  # fmt: skip
    held = context(turning(*setups, feeds=(100.0,) * 11 + (0.0, NAN)), MILL)
    check_modes(held)
    assert sorted((line, code) for code, line in said(held)) == [
        (2, "spindle-stopped"), (3, "spindle-backward"), (4, "spindle-speed-missing"), (8, "length-offset"),
        (9, "units-not-stated"), (10, "distance-mode-not-stated"), (11, "spindle-stopped"), (12, "feed-missing"),
    ]  # fmt: skip
    messages = {f.line: f.message for f in held.found.findings()}
    assert messages[4] == "no spindle speed is stated in a cut (and the 1 moves after it)"
    assert messages[8] == "the length offset H2 is in effect with tool T1"
    assert messages[12] == "no feed is stated, or none since the units changed (and the 1 moves after it)"


def test_only_a_high_rapid_may_do_without_a_place() -> None:
    for row, fine in [
        (rapid((NAN, NAN, NAN), (NAN, NAN, 9.998)), True), (rapid((NAN, NAN, NAN), (NAN, NAN, 9.997)), False),
        (rapid((NAN, NAN, 9.998), (5, 6, 9.998)), True), (rapid((NAN, NAN, 9.997), (5, 6, 9.998)), False),
        (rapid((NAN, NAN, 9.998), (5, 6, 9.997)), False), (rapid((1, 6, NAN), (5, 6, 20)), False),
        (rapid((5, 6, NAN), (5, 6, 20)), True), (rapid((5, 1, NAN), (5, 6, 20)), False),
        (rapid((NAN, NAN, NAN), (5, NAN, 20)), False), (feed((NAN, NAN, NAN), (NAN, NAN, 20)), False),
        (rapid((1, 2, 3), (4, 5, 6)), True), (rapid((NAN, 6, 20), (5, 6, 30)), True),
        (feed((1, 2, 3), (4, 5, 6)), True),
    ]:  # fmt: skip
        held = context(columns(row), MILL)
        check_modes(held)
        assert ("place-unknown" not in {code for code, _ in said(held)}) is fine


def test_a_further_tool_has_its_length_set_before_it_cuts() -> None:
    change, again = (Event(EventKind.TOOL_CHANGE, 20 + k, 2 * k, number=k + 1) for k in (0, 1))
    last = Event(EventKind.TOOL_CHANGE, 25, 4, number=5)
    third = Event(EventKind.TOOL_CHANGE, 24, 3, number=5)
    rows = (plunge(0, 0, -1), plunge(1, 0, -1), rapid((0, 0, 20), (5, 5, 20)), plunge(2, 0, -1), plunge(3, 0, -1))
    for tools, offsets, events, told in (
        ((1, 1, 2, 2, 5), (None,) * 5, (change, again), [21]),
        ((1, 1, 2, 2, 5), (None, None, None, 2, None), (change, again), []),
        ((1, 1, 2, 2, 5), (None, None, 2, 0, None), (change, again), [21]),
        ((1, 1, 2, 2, 5), (None, None, None, 2, 5), (change, again, last), []),
        ((1, 1, 2, 2, 5), (None, None, None, 2, None), (change, again, last), [25]),
        ((1, 1, 2, 2, 5), (None,) * 5, (change, again, last), [21, 25]),
        ((1, 1, 2, 2, 5), (None,) * 5, (change, again, Event(EventKind.STOP, 22, 2), last), [25]),
        ((1, 1, 1, 1, 1), (None,) * 5, (change,), []),
        ((1, 1, 2, 5, 4), (None,) * 5, (change, again, third, last), [24, 25]),
    ):
        setups = tuple(ready(t, offset=h) for t, h in zip(tools, offsets, strict=True))
        plain = turning(*setups)
        moves = Moves(
            plain.line, columns(*rows).kind, columns(*rows).start, columns(*rows).end, plain.center, plain.feed,
            plain.setup, plain.cycle, setups,
        )  # fmt: skip
        held = context(moves, MILL, events=events)
        check_modes(held)
        assert [f.line for f in held.found.findings() if f.code == "length-not-set"] == told


# Rapids


def test_sideways_only_at_the_safe_height() -> None:
    for move, told in [
        (rapid((5, 5, 9.998), (6, 5, 9.998)), None), (rapid((5, 5, 9.997), (6, 5, 9.997)), 9.997),
        (rapid((5, 5, 20), (6, 5, 9)), 9.0), (rapid((5, 5, 9), (5, 6, 20)), 9.0), (rapid((5, 5, 9), (5, 5, 1)), None),
        (rapid((5, 5, 9), (5.0001, 5, 9)), None), (rapid((5, 5, 9), (5.0002, 5, 9)), 9.0),
        (rapid((5, 5, 9), (5, 4.9998, 9)), 9.0), (rapid((NAN, NAN, 9), (NAN, NAN, 1)), None),
        (rapid((NAN, 5, 9), (NAN, 6, 9)), 9.0), (feed((5, 5, 9), (6, 5, 9)), None),
        (rapid((NAN, NAN, 9), (5, NAN, 9)), 9.0),
    ]:  # fmt: skip
        held = context(columns(move), MILL)
        check_rapids(held)
        found = held.found.findings()
        assert [(f.code, f.measured, f.limit) for f in found] == ([("sideways-rapid-low", told, 10.0)] if told else [])


def test_where_a_rapid_may_go_down() -> None:
    """Over the block only where something has cut as deep; up and out again, anywhere else, and above it always."""
    limits = ProgramLimits(stock=Stock(rectangle(0, 0, 40, 40), 0.0, -20.0))
    cut = [plunge(5, 6, -4), feed((5, 6, -4), (25, 6, -4)), rapid((25, 6, -4), (25, 6, 20))]

    def told(*rows: Row, tools: tuple[int, ...] | None = None, before: bool = True) -> list[tuple[str, int, float]]:
        moves = columns(*(cut if before else []), *rows, tools=tools)
        held = context(moves, MILL, DRILL, LARGE, limits=limits)
        check_rapids(held)
        found = [f for f in held.found.findings() if f.code == "rapid-into-stock"]
        return [(f.message.split(",")[0], f.line, f.measured or 0.0) for f in found]

    def down(x: float, y: float, z: float, begin: float = 20.0) -> Row:
        return rapid((x, y, begin), (x, y, z))

    assert told(down(5, 6, -4.002)) == []
    assert told(down(5, 6, -4.003)) == [("a rapid goes to Z -4.003 mm", 4, 4.003)]
    assert told(down(15, 6, -4.0)) == told(down(25, 6, -4.0)) == [], "along the cut and at its end"
    assert told(down(15, 6.0009, -4.0)) == []
    assert told(down(15, 6.0011, -4.0)) == [("a rapid goes to Z -4.000 mm", 4, 4.0)]
    assert told(down(26.0, 6, -1.0)) == [("a rapid goes to Z -1.000 mm", 4, 1.0)]
    assert told(down(4.0, 6, -1.0)) == [("a rapid goes to Z -1.000 mm", 4, 1.0)]
    assert told(down(5, 6, -4.0), before=False) == [("a rapid goes to Z -4.000 mm", 1, 4.0)]
    assert told(down(5, 6, -0.002), before=False) == []
    assert told(down(5, 6, -0.003), before=False) == [("a rapid goes to Z -0.003 mm", 1, 0.003)]
    assert told(down(43.0, 6, -4.0)) == told(down(-3.0, 6, -4.0)) == [], "a radius beside the block"
    assert told(down(42.9, 6, -4.0)) == [("a rapid goes to Z -4.000 mm", 4, 4.0)]
    assert told(rapid((30, 30, -5), (30, 30, 20)), before=False) == [], "up"
    assert told(rapid((5, 6, -4), (25, 6, -4))) == [("a rapid goes to Z -4.000 mm", 4, 4.0)], "sideways never"
    # A drill of 3 mm with a point fits into the cut of the mill; one after it, the mill does not
    assert told(down(5, 6, -4.0), tools=(1, 1, 1, 2)) == []
    assert told(down(5, 6, -4.0), tools=(2, 2, 2, 1)) == [("a rapid goes to Z -4.000 mm", 4, 4.0)]
    assert told(down(15, 6, -4.0), tools=(2, 2, 2, 1)) == [("a rapid goes to Z -4.000 mm", 4, 4.0)]
    # The larger drill stands 1.5 / tan 59 = 0.901 mm higher at the rim of a flat cutter of 3 mm
    flat = ToolUse(2, "flat", ToolKind.END_MILL, 3.0)
    for z, fine in ((-3.098, True), (-3.102, False)):
        moves = columns(*cut, down(5, 6, z), down(15, 6, z), tools=(5, 5, 5, 2, 2))
        held = context(moves, flat, LARGE, limits=limits)
        check_rapids(held)
        assert (held.found.findings() == ()) is fine
    # What is cut after it does not help
    assert told(down(5, 6, -4.0), plunge(5, 6, -4), down(5, 6, -4), before=False) == [
        ("a rapid goes to Z -4.000 mm", 1, 4.0)
    ]


def test_the_nearest_point_of_a_line_seen_from_above() -> None:
    """From (2, 5) to (10, 11), 10 mm long, sinking from 1 to -4: feet of perpendiculars by 3-4-5 triangles."""
    one = columns(feed((2.0, 5.0, 1.0), (10.0, 11.0, -4.0)))
    for x, y, away, height in (
        (6.0, 8.0, 0.0, -1.5), (6 - 3, 8 + 4, 5.0, -1.5), (6 + 6, 8 - 8, 10.0, -1.5), (2 - 4, 5 - 3, 5.0, 1.0),
        (10 + 4, 11 + 3, 5.0, -4.0), (4.0, 6.5, 0.0, -0.25),
    ):  # fmt: skip
        found, z = nearest_on_path(one, x, y)
        assert (found[0], z[0]) == pytest.approx((away, height), abs=1e-12)


def test_the_nearest_point_of_an_arc_seen_from_above() -> None:
    """Three quarters round (20, 7) from (30, 7), sinking from 0 to -3, each way; and several moves at once."""
    ccw = (Kind.ARC_CCW, (30.0, 7.0, 0.0), (20.0, -3.0, -3.0), (20.0, 7.0))
    cw = (Kind.ARC_CW, (30.0, 7.0, 0.0), (20.0, 17.0, -3.0), (20.0, 7.0))
    moves = columns(ccw, feed((0.0, 0.0, -1.0), (0.0, 5.0, -1.0)), cw)
    found, z = nearest_on_path(moves, 14.0, 15.0)  # in the second quarter, on the circle
    assert found.tolist() == pytest.approx([0.0, math.hypot(14, 10), 0.0], abs=1e-12)
    assert z[0] == pytest.approx(-3 * (math.pi - math.atan2(8, 6)) / (1.5 * math.pi))
    assert (z[1], z[2]) == pytest.approx((-1.0, -3 * (math.pi + math.atan2(8, 6)) / (1.5 * math.pi)))
    found, z = nearest_on_path(moves, 28.0, 13.0)  # in the first
    assert found[0] == pytest.approx(0.0, abs=1e-12)
    assert z[0] == pytest.approx(-3 * math.atan2(6, 8) / (1.5 * math.pi))
    assert found[2] == pytest.approx(10 * math.sqrt(2 - 2 * 0.8))
    assert z[2] == pytest.approx(0.0, abs=1e-9), "nearer to the start"
    found, z = nearest_on_path(moves, 26.0, 15.0)
    assert found[2] == pytest.approx(10 * math.sqrt(2 - 2 * 0.8))
    assert z[2] == pytest.approx(-3.0), "nearer to the end"
    found, z = nearest_on_path(moves, 4.0, 7.0)  # level with the centre, 6 mm outside
    assert (found[0], found[2]) == pytest.approx((6.0, 6.0))
    assert (z[0], z[2]) == pytest.approx((-2.0, -2.0))


# Stops


def test_a_stop_stands_between_the_cuts_it_belongs_between() -> None:
    """Cuts planned as moves 2 and 8 were made by moves 4 to 5 and 9 to 12; a stop before planned move 5."""

    def told(*events: Event, optional: bool = False, before: int = 5) -> list[tuple[str, int]]:
        rows = [plunge(k, 0, -1) for k in range(14)]
        held = context(columns(*rows), MILL, events=events)
        plan = PlannedMoves(columns(*rows), (PlannedStop(before, "look", optional),), (), ())
        done = Done(np.array([2, 8]), np.array([4, 9]), np.array([5, 12]))
        check_stops(held, plan, done)
        return said(held)

    def stop(move: int, line: int = 7) -> Event:
        return Event(EventKind.STOP, line, move)

    def switched(move: int, line: int = 8) -> Event:
        return Event(EventKind.OPTIONAL_STOP, line, move)

    assert told() == [("stop-missing", 0)]
    for move, fine in ((5, False), (6, True), (9, True), (10, False)):
        assert told(stop(move)) == ([] if fine else [("stop-added", 7), ("stop-missing", 0)])
    for move, fine in ((0, True), (4, True), (5, False)):
        assert told(stop(move), before=2) == ([] if fine else [("stop-added", 7), ("stop-missing", 0)])
    for move, fine in ((12, False), (13, True), (14, True), (15, True)):
        assert told(stop(move), before=9) == ([] if fine else [("stop-added", 7), ("stop-missing", 0)])
    assert told(switched(7)) == [("stop-optional", 8)]
    assert told(switched(7), optional=True) == told(stop(7), optional=True) == []
    assert told(switched(6), stop(8)) == [("stop-added", 8)]
    assert told(stop(6, 3), stop(7, 4)) == [("stop-added", 4)], "the first of two"
    assert told(stop(7, 3), stop(6, 4)) == [("stop-added", 3)]
    assert told(Event(EventKind.DWELL, 3, 7)) == [("stop-missing", 0)]
    change = (Event(EventKind.TOOL_CHANGE, 1, 0, number=1), Event(EventKind.TOOL_CHANGE, 3, 7, number=2))
    assert told(*change, stop(7)) == [("stop-missing", 0)], "that stop sets the height of the tool"
    assert told(*change, stop(7), stop(7, 9)) == []


def test_when_the_planned_holes_were_made() -> None:
    """The first time down begins it, and the end of the first time ends it."""
    done = holes_done([made(1, 2, 3, 9, 5), made(2, 2, 0, 7), made(3, 2, 6), made(4, 2, -1, 8)])
    assert done.planned_move.tolist() == [3, 0]
    assert done.first.tolist() == [5, 7]
    assert done.last.tolist() == [6, 8]
    both = done + holes_done([made(5, 2, 1, 2)])
    assert (both.planned_move.tolist(), both.first.tolist(), both.last.tolist()) == ([3, 0, 1], [5, 7, 2], [6, 8, 3])
    assert len(holes_done([]).first) == 0


def test_every_place_in_plan_has_a_number_of_its_own() -> None:
    """Places a ten-thousandth of a millimetre apart differ, to either side of zero; the same place has one number."""
    steps = (-250.0, -1.0, -0.0001, 0.0, 0.0001, 1.0, 250.0)
    numbers = _keys(np.array([(x, y, z) for x in steps for y in steps for z in (0.0, -5.0)]))
    assert len(set(numbers.tolist())) == len(steps) ** 2
    assert numbers[0] == numbers[1]
    assert _keys(np.array([(1.00001, 2.0, 0.0)])) == _keys(np.array([(1.0, 2.00004, 0.0)]))


# Places where the body must not be


def test_a_floor_that_is_everywhere_holds_for_tips() -> None:
    """At -2 mm: what lies a millionth under it is noise; the twentieth is the last one listed."""
    rows = [plunge(k, 0, z) for k, z in enumerate((-2.0, -2.0000005, -2.00001, -3.0, -1.0))]
    limits = ProgramLimits(hard_floors=(HardFloor("sheet", -2.0), HardFloor("", -2.5, None, "as measured")))
    held = context(
        columns(*rows, feed((NAN, NAN, NAN), (NAN, NAN, -4.0)), tools=(1, 2, 1, 2, 1, 1)), MILL, limits=limits
    )
    check_zones(held)
    found = held.found.findings()
    assert [(f.line, f.measured, f.limit, f.rule) for f in found] == [
        (3, -2.00001, -2.0, "hard floor of the plan"), (4, -3.0, -2.0, "hard floor of the plan"),
        (4, -3.0, -2.5, "as measured"), (6, -4.0, -2.0, "hard floor of the plan"), (6, -4.0, -2.5, "as measured"),
    ]  # fmt: skip
    assert found[1].message == 'the cutter reaches 1.000 mm under the hard floor over "sheet" at Z -2.000 mm'
    assert found[2].message == "the cutter reaches 0.500 mm under the hard floor at Z -2.500 mm"
    assert found[1].place == (3.0, 0.0, -3.0)
    for count, listed in ((20, 20), (21, 21), (25, 21)):
        many = context(
            columns(*(plunge(k, 0, -3) for k in range(count))), limits=ProgramLimits(hard_floors=(HardFloor("f", -2),))
        )
        check_zones(many)
        assert len(many.found.findings()) == listed
        assert count < 21 or many.found.findings()[-1].message == f"{count - 20} or more of these are not listed"


def test_regions_are_held_against_the_body_of_each_tool() -> None:
    """2 mm beside the region a cutter of 6 mm is in it by 1 mm, one of 3 mm stays out; unknown places are left out."""
    region = rectangle(10, -50, 30, 50)
    small = ToolUse(2, "small", ToolKind.END_MILL, 3.0)
    rows = [
        plunge(8, 0, -4),
        plunge(8, 0, -4),
        plunge(8, 0, -3.5),
        rapid((NAN, NAN, 5), (8, 0, -9)),
        rapid((8, 0, -4), (8, 5, -4)),
    ]
    limits = ProgramLimits(
        hard_floors=(HardFloor("sheet", -3.0, region),),
        keep_outs=(KeepOut("post", region), KeepOut("step", region, -3.75, "drawing")),
    )
    held = context(columns(*rows, tools=(1, 2, 1, 1, 1)), MILL, small, limits=limits)
    check_zones(held)
    assert [(f.code, f.line, f.measured, f.limit, f.rule) for f in held.found.findings()] == [
        ("below-hard-floor", 1, 1.0, 0.0, "hard floor of the plan"),
        ("in-keep-out", 1, pytest.approx(0.998), 0.0, "keep-out of the plan"),
        ("in-keep-out", 1, 0.25, 0.0, "drawing"),
        ("below-hard-floor", 3, 0.5, 0.0, "hard floor of the plan"),
        ("in-keep-out", 3, pytest.approx(0.998), 0.0, "keep-out of the plan"),
        ("below-hard-floor", 5, 1.0, 0.0, "hard floor of the plan"),
        ("in-keep-out", 5, pytest.approx(0.998), 0.0, "keep-out of the plan"),
        ("in-keep-out", 5, 0.25, 0.0, "drawing"),
    ]
    assert held.found.findings()[1].message == 'the cutter enters the keep-out "post" by 0.998 mm'


def test_flutes_and_stick_out() -> None:
    """Flutes of 4 mm, 6 mm out of the holder, the stock from X 0: deeper is told to a tolerance, beside it nothing."""
    tool = ToolUse(1, "short", ToolKind.END_MILL, 6.0, flute_length=4.0, overhang=6.0)
    rows = [
        plunge(5, 5, -3.002), plunge(5, 5, -3.0021), plunge(5, 5, -5.002), plunge(5, 5, -5.0021), plunge(-3, 5, -9),
        plunge(-2.9, 5, -9), rapid((5, 5, -4.5), (5, 5, -5.5)), feed((5, 5, NAN), (5, 5, NAN)),
    ]  # fmt: skip
    limits = ProgramLimits(stock=Stock(rectangle(0, 0, 40, 40), 1.0, -20.0))
    held = context(columns(*rows), tool, limits=limits, top=1.0)
    check_zones(held)
    assert [(f.code, f.line, f.measured) for f in held.found.findings()] == [
        ("deeper-than-flutes", 2, pytest.approx(4.0021)), ("holder-in-stock", 4, pytest.approx(6.0021)),
        ("deeper-than-flutes", 6, 10.0), ("holder-in-stock", 6, 10.0),
    ]  # fmt: skip
    first, second, third, fourth = held.found.findings()
    assert first.message == "the cut is 4.002 mm deep; the flutes are 4.000 mm (and the 2 moves after it)"
    assert second.message == "the tip is 6.002 mm under the top of the stock; the tool stands out 6.000 mm"
    assert "after it" not in third.message
    assert fourth.message.endswith("(and the 1 moves after it)")
    silent = context(columns(*rows), MILL, limits=limits, top=1.0)
    check_zones(silent)
    assert silent.found.findings() == ()


def test_a_finding_as_a_line_of_text() -> None:
    finding = ProgramFinding(
        "in-bend", Severity.STOP, 12, "too near", (1.5, -2.0, NAN), 0.25, 0.1, "mm", "the gap", "Go up."
    )
    assert finding.text() == "stop in-bend, line 12 at X+1.500 Y-2.000 Z? mm: too near. Rule: the gap. Go up."
    assert finding.text("in") == "stop in-bend, line 12 at X+0.0591 Y-0.0787 Z? in: too near. Rule: the gap. Go up."
    bare = ProgramFinding("stop-added", Severity.NOTE, 0, "one more")
    assert bare.text() == "note stop-added, program: one more."
    for one, about in ((finding, 'program "rail", line 12'), (bare, 'program "rail"')):
        told = one.as_finding("rail", holes=(1, 2), operation="slot")
        assert (told.code, told.severity, told.about, told.message) == (
            one.code,
            one.severity,
            about,
            f"{one.message}.",
        )
        assert (told.measured, told.limit, told.quantity_unit) == (one.measured, one.limit, "mm")
        assert (told.source, told.remedy, told.holes, told.operation) == (one.rule, one.remedy, (1, 2), "slot")


def test_the_moves_of_cycles() -> None:
    """From 2 down to -4 by 2.5: the drill comes out to 2 and back to 0.254 above; a lift of 0.254 for G73."""
    rapid_to, feed_to = Kind.RAPID, Kind.FEED
    for code, peck, clear, told in (
        (810, None, 9.0, [(feed_to, -4), (rapid_to, 9)]),
        (830, 2.5, 9.0, [(feed_to, -0.5), (rapid_to, 2), (rapid_to, -0.246), (feed_to, -3), (rapid_to, 2),
                         (rapid_to, -2.746), (feed_to, -4), (rapid_to, 9)]),
        (730, 2.5, 9.0, [(feed_to, -0.5), (rapid_to, -0.246),
         (feed_to, -3), (rapid_to, -2.746), (feed_to, -4), (rapid_to, 9)]),
        (830, 6.0, 2.0, [(feed_to, -4), (rapid_to, 2)]), (830, 7.0, 2.0, [(feed_to, -4), (rapid_to, 2)]),
        (830, 3.0, 2.0, [(feed_to, -1), (rapid_to, 2), (rapid_to, -0.746), (feed_to, -4), (rapid_to, 2)]),
        (840, None, 9.0, [(feed_to, -4), (feed_to, 9)]), (850, None, 9.0, [(feed_to, -4), (feed_to, 2), (rapid_to, 9)]),
        (890, None, 2.0, [(feed_to, -4), (feed_to, 2)]), (820, None, 2.0, [(feed_to, -4), (rapid_to, 2)]),
    ):  # fmt: skip
        found = list(steps(CycleWords(code, -4.0, 2.0, peck, 0.5), clear))
        assert [k for k, _ in found] == [k for k, _ in told]
        assert [z for _, z in found] == pytest.approx([z for _, z in told])
    low = list(steps(CycleWords(730, -0.2, 2.0, 0.2), 2.0))
    assert low[1] == (rapid_to, 2.0), "never lifted above where it began"
