"""Where each finding about cuts and stops says that it is, how large, and how many are told of a run."""

from __future__ import annotations

import math

import pytest
from expecting import only
from msgspec.structs import replace
from program_plans import MILL, drilling_plan, pocket_plan

from holecam.plan.motions import (
    Dialect,
    ExpectedHole,
    Feed,
    Motion,
    ProgramLimits,
    ProgramPlan,
    Rapid,
    SpindleOn,
    Stock,
    Stop,
    ToolChange,
)
from holecam.program import CheckResult, ProgramFinding, check_program, verify_text, write_program
from holecam.shapes import rectangle

POCKET = pocket_plan()
TEXT = write_program(POCKET)
LINES = TEXT.split("\n")


def with_lines(changes: dict[int, str], plan: ProgramPlan = POCKET) -> CheckResult:
    """Check the program with some of its lines (by number from 1) replaced."""
    return check_program("\n".join(changes.get(n, line) for n, line in enumerate(LINES, 1)), plan)


def all_of(result: CheckResult, code: str) -> list[ProgramFinding]:
    return [f for f in result.findings if f.code == code]


def test_runs_of_wrong_feeds_are_told_one_by_one() -> None:
    """F stays from line 14 to 18 and again from 22 to 23: two runs, told where each begins."""
    found = all_of(with_lines({14: "G1 X45.000 F200", 22: "G2 X15.000 Y28.000 I0.000 J6.500 F200"}), "feed-not-planned")
    assert [(f.line, f.measured, f.limit, f.place) for f in found] == [
        (14, 200.0, 180.0, (15.0, 15.0, -1.0)),
        (22, 200.0, 180.0, (15.0, 15.0, -1.0)),
    ]
    assert found[0].quantity_unit == "mm/min"


def test_a_wrong_speed_is_told_once_for_each_run() -> None:
    found = all_of(with_lines({10: "S2300 M3"}), "speed-not-planned")
    assert [(f.line, f.measured, f.limit, f.quantity_unit) for f in found] == [(13, 2300.0, 2400.0, "rpm")]
    both = all_of(with_lines({10: "S2300 M3", 28: "S2500 M3"}), "speed-not-planned")
    assert len(both) == 1, "one run of cuts, although the speed changes in it"
    second = all_of(with_lines({28: "S2500 M3"}), "speed-not-planned")
    assert [(f.line, f.measured) for f in second] == [(32, 2500.0)]


def test_a_wrong_tool_is_told_where_its_cuts_begin() -> None:
    plan = replace(POCKET, tools=(MILL, replace(MILL, number=4, name="another")))
    found = all_of(with_lines({8: "T4 M6"}, plan), "tool-not-planned")
    assert [(f.line, f.message) for f in found] == [(13, "a cut is made with T4; planned is T3")]
    assert found[0].place == pytest.approx((15.0, 15.0, 0.0), abs=1.0)


def test_missing_cuts_next_to_each_other_are_one_finding() -> None:
    """Lines 14 and 15 by rapid over the work: 30 mm and a quarter of a circle of radius 3; then line 18 alone."""
    over = "G0 Z12\nX{} Y{}\nZ0.5\nG1 Z-1 F60\nF180"
    first = {14: over.format(48, 18), 15: ""}
    (one,) = all_of(with_lines(first), "cut-missing")
    assert one.message.startswith("2 planned cuts of 34.712 mm in all are not made, the first with tool T3")
    assert one.measured == pytest.approx(30 + 3 * math.pi / 2)
    assert one.place == (15.0, 15.0, -1.0)
    assert one.line == 0
    two = all_of(with_lines(first | {18: over.format(15, 28)}), "cut-missing")
    assert [f.measured for f in two] == [pytest.approx(30 + 3 * math.pi / 2), pytest.approx(30.0)]
    assert "a planned cut of 30.000 mm in all is not made" in two[1].message
    assert two[1].place == (45.0, 28.0, -1.0)


def test_where_a_cut_is_not_planned() -> None:
    found = only(with_lines({16: "G1 X50 Y20\nX48 Y25"}), "cut-not-planned")
    assert found.line == 16
    assert found.place == (50.0, 20.0, -1.0)
    assert found.measured == pytest.approx(2.0)
    assert found.limit == pytest.approx(0.002, abs=1e-5)
    deep = only(with_lines({16: "G1 Y25.000 Z-1.01\nZ-1"}), "cut-not-planned")
    assert deep.line == 16
    assert deep.measured == pytest.approx(0.01)


def test_where_a_cut_runs_the_other_way() -> None:
    """Line 18 the other way: over to its end, down, back; and on from there."""
    text = "G0 Z12\nX15\nZ0.5\nG1 Z-1 F60\nX45 F180\nG0 Z12\nX15\nZ-0.9\nG1 Z-1 F60"
    found = only(with_lines({18: text}), "cut-other-way")
    assert found.line == 22
    assert found.place == (45.0, 28.0, -1.0)


def test_where_passes_change_places() -> None:
    changed = with_lines({13: "G1 Z-1.900 F60", 32: "G1 Z-1.000 F60"})
    found = all_of(changed, "cut-out-of-order")
    assert (found[0].line, found[0].place) == (13, (15.0, 15.0, 0.0))
    assert all(f.line < 24 for f in found)
    assert found[-1].place is not None
    assert found[-1].place[2] == -1.9


# Stops


def three_cuts(*stops: Stop | None) -> ProgramPlan:
    motions: list[Motion] = [ToolChange(3), SpindleOn(900)]
    for k, stop in enumerate((*stops, None)):
        motions += [Rapid(10.0 + 12 * k, 10.0), Rapid(z=1.0), Feed(60, z=-1.0), Feed(90, y=20.0), Rapid(z=12.0)]
        motions += [stop] if stop is not None else []
    limits = ProgramLimits(stock=Stock(rectangle(0, 0, 60, 40), 0.0, -20.0))
    return ProgramPlan("three", (MILL,), tuple(motions), 12.0, limits)


def test_each_planned_stop_is_looked_for_between_its_own_cuts() -> None:
    plan = three_cuts(Stop("first look"), Stop("second look"))
    text = write_program(plan)
    assert check_program(text, plan).findings == ()
    at = [i for i in range(len(text)) if text.startswith("M0\n", i)]
    assert len(at) == 2
    for number, place in enumerate(at, 1):
        found = all_of(check_program(text[:place] + text[place + 3 :], plan), "stop-missing")
        assert len(found) == 1
        assert f"the planned stop {number}," in found[0].message
        assert found[0].line == 0
    # Two in one gap: one of them is too many, and the other gap has none
    both = text[: at[0]] + "M0\n" + text[at[0] : at[1]] + text[at[1] + 3 :]
    result = check_program(both, plan)
    assert "the planned stop 2," in only(result, "stop-missing").message
    line = both[: at[0]].count("\n") + 2
    assert only(result, "stop-added").line == line


def test_a_stop_for_good_is_taken_before_an_optional_one() -> None:
    plan = three_cuts(Stop("look"))
    text = write_program(plan)
    line = text[: text.index("M0\n")].count("\n") + 1
    before, after = (check_program(text.replace("M0\n", both), plan) for both in ("M1\nM0\n", "M0\nM1\n"))
    for result, added in ((before, line), (after, line + 1)):
        assert only(result, "stop-added").line == added
        assert not all_of(result, "stop-optional")
    optional = only(check_program(text.replace("M0\n", "M1\n"), plan), "stop-optional")
    assert optional.line == line
    assert 'the planned stop 1, "look", is written as M1' in optional.message


def test_two_stops_planned_in_a_row_need_two() -> None:
    plan = three_cuts(Stop("look"))
    motions = [*plan.motions]
    at = motions.index(Stop("look"))
    twice = replace(plan, motions=(*motions[:at], Stop("look"), Stop("feel"), *motions[at + 1 :]))
    text = write_program(twice)
    assert check_program(text, twice).findings == ()
    one = all_of(check_program(text.replace("M0\n", "", 1), twice), "stop-missing")
    assert [f.message[:19] for f in one] == ["the planned stop 2,"]


@pytest.mark.parametrize("restart", ["S2200 M3\n", "S2200\n"])
def test_a_tool_is_taken_by_hand_only_from_a_spindle_that_stands(restart: str) -> None:
    """M6 stops the spindle by itself (NISTIR 6556, from memory); at M0 it turns on, and hands are at the tool."""
    speech = Dialect(tool_change="stop")
    drilling = drilling_plan()
    plan = replace(drilling, motions=tuple(m for m in drilling.motions if not isinstance(m, Stop)))
    text = write_program(plan, speech)
    assert check_program(text, plan, speech).findings == ()
    assert text.count("M5\n") == 2
    turning = text.replace("M5\n", "", 1).replace("S2200 M3\n", restart)
    found = only(check_program(turning, plan, speech), "stop-spindle-turning")
    assert found.line == turning[: turning.index("T2\nM0\n")].count("\n") + 2
    assert found.message == "the spindle turns at a stop where somebody takes tool T2"
    assert "M5 before the stop" in found.remedy


# Runs of moves


def test_a_run_of_moves_is_one_finding_with_its_count() -> None:
    low = "G0 X1\nX2\nX3\nG0 Z20\nX4\nZ1\nX5\nZ20\n"
    result = verify_text(f"G21 G90\nT1 M6\nG0 Z20\nG0 X0 Y0\nG0 Z1\n{low}M30\n", safe_height=10, tools=[])
    found = all_of(result, "sideways-rapid-low")
    assert [f.line for f in found] == [6, 12]
    assert found[0].message.endswith("(and the 2 moves after it)")
    assert "after it" not in found[1].message
    assert [f.place for f in found] == [(1.0, 0.0, 1.0), (5.0, 0.0, 1.0)]
    assert [f.measured for f in found] == [1.0, 1.0]


@pytest.mark.parametrize(("count", "more"), [(20, None), (21, 1), (25, 5)])
def test_the_twentieth_finding_of_a_kind_is_the_last_one_listed(count: int, more: int | None) -> None:
    body = "".join(f"G0 Z1\nX{k + 1}\nZ20\n" for k in range(count))
    result = verify_text(f"G21 G90\nT1 M6\nG0 Z20\nG0 X0 Y0\n{body}M30\n", safe_height=10)
    found = all_of(result, "sideways-rapid-low")
    assert len(found) == min(count, 20) + (more is not None)
    if more is not None:
        assert found[-1].message == f"{more} or more of these are not listed"
        assert found[-1].severity is found[0].severity


@pytest.mark.parametrize(("length", "shown"), [(60, "G28 " + "X" * 56), (61, "G28 " + "X" * 56 + "...")])
def test_a_refused_line_is_shown_to_its_sixtieth_character(length: int, shown: str) -> None:
    line = "G28 " + "X" * (length - 4)
    found = only(verify_text(f"G21 G90\n{line}\nM30\n"), "not-read")
    assert found.message.startswith(f'"{shown}": ')
    assert found.line == 2


def test_a_hair_of_skin_is_no_missing_cut() -> None:
    """Three tolerances of 0.002001 mm under the top: as deep a cut may be left out, or stand there, and no deeper."""
    for depth, told in ((0.0058, False), (0.007, True)):
        begin = (
            ToolChange(3),
            SpindleOn(900),
            Rapid(10, 10),
            Rapid(z=1),
            Feed(60, z=-1.0),
            Feed(90, y=20.0),
            Rapid(z=12.0),
        )
        skin = (Rapid(30, 10), Rapid(z=1), Feed(60, z=-depth), Feed(90, y=20.0), Rapid(z=12.0))
        limits = ProgramLimits(stock=Stock(rectangle(0, 0, 60, 40), 0.0, -20.0))
        without, with_it = (ProgramPlan("skin", (MILL,), m, 12.0, limits) for m in (begin, (*begin, *skin)))
        assert (all_of(check_program(write_program(without), with_it), "cut-missing") != []) is told
        assert (all_of(check_program(write_program(with_it), without), "cut-not-planned") != []) is told


def test_without_a_stock_the_top_is_that_of_the_holes_or_nought() -> None:
    text = "G21 G90\nT1 M6\nG0 Z20\nG0 X0 Y0\nG0 Z{}\nM30\n"
    hole = ExpectedHole(1, 5.0, 5.0, -4.0, 1, top_z=3.0)
    low = replace(hole, top_z=2.0)
    for holes, z, under in (
        ((), 0.5, None),
        ((), -0.5, 0.5),
        ((hole,), 2.5, 0.5),
        ((low, hole), 2.5, 0.5),
        ((low,), 2.5, None),
    ):
        result = verify_text(text.format(z), limits=ProgramLimits(holes=holes), safe_height=10.0)
        assert [f.measured for f in all_of(result, "rapid-into-stock")] == ([] if under is None else [under])


def test_without_a_safe_height_it_is_the_top_of_the_stock() -> None:
    text = "G21 G90\nT1 M6\nG0 Z{0}\nG0 X-50 Y0\nG0 X-60\nM30\n"
    stock = ProgramLimits(stock=Stock(rectangle(0, 0, 60, 40), 7.0, -20.0))
    for limits, z, fine in ((stock, 6.998, True), (stock, 6.997, False), (None, -0.002, True), (None, -0.003, False)):
        assert (all_of(verify_text(text.format(z), limits=limits), "sideways-rapid-low") == []) is fine
    inch = Dialect(unit="in")
    for z, fine in ((6.995, True), (6.994, False)):
        assert (all_of(verify_text(text.format(z), limits=stock, dialect=inch), "sideways-rapid-low") == []) is fine
