"""The account of a program: figures that a person can work out on paper."""

from __future__ import annotations

import math

import pytest
from expecting import only
from program_plans import DRILLING_HEADER, MILL, drilling_plan

from holecam.plan.finding import Severity
from holecam.program import CheckResult, check_program, job_mark_finding, verify_text, write_program

PROGRAM = """G21 G90
(TOOL - T3 mill)
T3 M6
G0 Z10
S1000 M3
G0 X3 Y4
G1 Z-1 F110
G1 X33 Y44 F100
G3 X33 Y24 J-10
G4 P2.5
M5
(STOP - measure the slot:)
(... 6.00 wide)
M0
S1200 M3
G1 Z-1.5 F60
G0 Z10
M5
M1
M30
"""


def test_lengths_times_box_and_deepest_point() -> None:
    """Feed: 11 down, 50 along (3-4-5), half a circle of radius 10, 0.5 down; rapid: 5 sideways, 11.5 up."""
    account = verify_text(PROGRAM, tools=[MILL], safe_height=10).account
    half = math.pi * 10
    assert account.cutting == pytest.approx(11 + 50 + half + 0.5)
    assert account.rapid == pytest.approx(11.5), "where the first sideways rapid comes from is not known"
    assert account.cutting_minutes == pytest.approx(11 / 110 + (50 + half) / 100 + 0.5 / 60)
    assert account.least == pytest.approx((3.0, 4.0, -1.5))
    assert account.greatest == pytest.approx((33.0, 44.0, 10.0))
    assert account.deepest == pytest.approx((33.0, 24.0, -1.5))
    assert account.deepest_line == 16
    assert account.dwell_seconds == 2.5
    assert (account.units, account.line_count, account.move_count) == ("mm", 20, 7)


def test_the_box_of_an_arc_reaches_over_its_ends() -> None:
    """From (33, 44) about (33, 34) to (33, 24): G3 goes over the left, X 23, G2 over the right, X 43."""
    left = PROGRAM.replace("G1 X33 Y44", "G1 X24 Y44\nX33")
    assert verify_text(left, safe_height=10).account.greatest == pytest.approx((33.0, 44.0, 10.0))
    turned = verify_text(PROGRAM.replace("G3 X33", "G2 X33"), safe_height=10).account
    assert turned.greatest == pytest.approx((43.0, 44.0, 10.0))


def test_tools_and_stops() -> None:
    account = verify_text(PROGRAM, tools=[MILL], safe_height=10).account
    (tool,) = account.tools
    assert (tool.number, tool.name) == (3, "6 mm end mill, 2 flutes")
    assert (tool.slowest_rpm, tool.fastest_rpm, tool.deepest) == (1000, 1200, -1.5)
    assert [(s.line, s.text, s.optional) for s in account.stops] == [
        (14, "STOP - measure the slot: 6.00 wide", False),
        (19, "", True),
    ]


def test_a_cut_before_any_tool() -> None:
    result = verify_text(PROGRAM.replace("T3 M6\n", ""), safe_height=10)
    assert "a cut before any tool was taken" in only(result, "tool-unknown").message


def test_heights_count_while_the_place_in_plan_is_not_known() -> None:
    account = verify_text("G21 G90\nG0 Z10\nG0 Z25\nG0 X3 Y4\nG0 X6 Y8\nM30\n", safe_height=10).account
    assert account.rapid == pytest.approx(15 + 5)


def test_inch_programs_are_accounted_in_mm() -> None:
    inch = PROGRAM.replace("G21", "G20")
    account = verify_text(inch, safe_height=254).account
    assert account.units == "in"
    assert account.cutting == pytest.approx(25.4 * (61.5 + math.pi * 10))
    assert account.cutting_minutes == pytest.approx(11 / 110 + (50 + math.pi * 10) / 100 + 0.5 / 60)


def test_an_empty_program() -> None:
    result = verify_text("")
    assert result.account.move_count == 0
    assert result.account.deepest is None
    assert only(result, "no-program-end").severity is Severity.STOP


def test_the_mark_of_the_job() -> None:
    text = write_program(drilling_plan(1)).replace(DRILLING_HEADER, "(JOB - job 0123456789abcdef)", 1)
    assert job_mark_finding(text, "0123456789abcdef" + "0" * 48) is None
    assert job_mark_finding("G21\nM30\n", "f" * 64) is None
    finding = job_mark_finding(text, "f" * 64)
    assert finding is not None
    result = CheckResult((finding,), verify_text(text).account)
    assert only(result, "other-job").line == 2
    assert result.passed
    assert not result.clean


def test_speeds_count_only_while_the_spindle_turns() -> None:
    """S300 is stated while it stands: the account names 1000, and the cut with a dead spindle is a stop of its own."""
    text = PROGRAM.replace("S1200 M3\n", "S300\n")
    result = verify_text(text, tools=[MILL], safe_height=10)
    (tool,) = result.account.tools
    assert (tool.slowest_rpm, tool.fastest_rpm) == (1000, 1000)
    assert tool.deepest == -1.5
    assert not result.passed


def test_a_feed_of_nothing_takes_no_time_but_is_refused() -> None:
    result = verify_text(PROGRAM.replace("F60", "F0"), tools=[MILL], safe_height=10)
    assert result.account.cutting_minutes == pytest.approx(11 / 110 + (50 + math.pi * 10) / 100)
    assert not result.passed


def test_a_program_that_counts_from_another_zero_is_told() -> None:
    plan = drilling_plan()
    text = write_program(plan)
    assert " G54" in text
    result = check_program(text.replace(" G54", " G55"), plan)
    told = only(result, "other-zero")
    assert told.severity is Severity.CAUTION
    assert "G55" in told.text()
    for same in (text, text.replace(" G54", "")):
        assert "other-zero" not in [f.code for f in check_program(same, plan).findings]
