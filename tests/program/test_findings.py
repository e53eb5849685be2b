"""Programs edited by hand: each finding, with its line, place, amount and rule."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from expecting import only
from msgspec.structs import replace
from program_plans import BLOCK, MILL, drilling_plan, pocket_plan

from holecam.plan.finding import Severity
from holecam.plan.motions import (
    Dialect,
    DrillCycle,
    ExpectedHole,
    Feed,
    ProgramLimits,
    ProgramPlan,
    Rapid,
    SpindleOn,
    Stop,
    ToolChange,
    ToolKind,
    ToolUse,
    Travel,
)
from holecam.program import CODES, CheckResult, check_program, verify_text, write_program

DRILLING, POCKET = drilling_plan(), pocket_plan()
DRILLING_TEXT, POCKET_TEXT = write_program(DRILLING), write_program(POCKET)


def edited(text: str, old: str, new: str, count: int = 1) -> str:
    assert old in text, f"{old!r} is not in the program"
    return text.replace(old, new, count)


def line_of(text: str, part: str) -> int:
    return next(i for i, line in enumerate(text.split("\n"), 1) if part in line)


def drilling(old: str, new: str, count: int = 1) -> CheckResult:
    return check_program(edited(DRILLING_TEXT, old, new, count), DRILLING)


def pocket(old: str, new: str, count: int = 1) -> CheckResult:
    return check_program(edited(POCKET_TEXT, old, new, count), POCKET)


def test_the_unedited_programs_are_clean() -> None:
    assert check_program(DRILLING_TEXT, DRILLING).findings == ()
    assert check_program(POCKET_TEXT, POCKET).findings == ()


# Language and modes


def test_a_line_that_is_not_read() -> None:
    finding = only(drilling("G80\nM5\n(STOP", "G28 Z0\nM5\n(STOP"), "not-read")
    assert finding.line == line_of(DRILLING_TEXT, "G80\n".strip()) + 7 or finding.line > 0
    assert '"G28 Z0": G28 is refused' in finding.message
    assert finding.rule == "NISTIR 6556, 3.5 G codes"
    assert finding.severity is Severity.STOP


def test_units_and_distance_mode() -> None:
    assert only(drilling("G17 G21 G40", "G17 G40"), "units-not-stated").line == line_of(DRILLING_TEXT, "G0 Z12.7")
    assert only(drilling("G80 G90 G94", "G80 G94"), "distance-mode-not-stated").severity is Severity.STOP


def test_no_end_and_text_after_the_end() -> None:
    assert only(drilling("M30\n", ""), "no-program-end").line == 0
    after = only(drilling("M30\n", "M30\nG0 Z5\n"), "text-after-end")
    assert after.line == DRILLING_TEXT.count("\n") + 1
    assert after.severity is Severity.CAUTION


def test_a_place_that_no_line_stated() -> None:
    finding = only(pocket("G0 Z12.000\nS2400 M3\nG0 X15.000", "S2400 M3\nG0 X15.000"), "place-unknown")
    assert finding.line == line_of(POCKET_TEXT, "S2400 M3")
    assert "no line before it has stated" in finding.message
    result = verify_text("G21 G90\nT1 M6\nG0 Z10\nS500 M3\nF50\nG1 Z-1\nM30\n", safe_height=10)
    assert only(result, "place-unknown").line == 6


def test_spindle_and_feed() -> None:
    stopped = only(pocket("S2400 M3\n", "", 1), "spindle-stopped")
    assert stopped.line == line_of(POCKET_TEXT, "G1 Z-1.000 F60") - 1
    assert "moves after it" in stopped.message
    assert only(pocket("S2400 M3", "S2400 M4"), "spindle-backward").rule.startswith("the spindle turns clockwise")
    assert only(pocket("S2400 M3", "M3"), "spindle-speed-missing").line > 0
    assert only(pocket("G1 Z-1.000 F60", "G1 Z-1.000"), "feed-missing").line == line_of(POCKET_TEXT, "G1 Z-1.000")
    units = verify_text("G21 G90\nT1 M6\nG0 Z9\nG0 X0 Y0\nS9 M3\nF50\nG1 Z-1\nG20\nX1\nM30\n", safe_height=9)
    assert "none since the units changed" in only(units, "feed-missing").message


def test_length_offset_of_another_tool() -> None:
    result = drilling("G0 Z12.700\nS1500", "G43 H2 G0 Z12.700\nS1500")
    assert "offset H2 is in effect with tool T1" in only(result, "length-offset").message


def test_a_further_tool_whose_length_nothing_sets() -> None:
    length = "(LENGTH - set the height of T2 from the same zero, then start)\nM0\n"
    finding = only(drilling(length, ""), "length-not-set")
    assert finding.line == line_of(DRILLING_TEXT, "T2 M6")
    assert "after the change to T2 nothing sets its length" in finding.message
    assert "length-not-set" not in {f.code for f in drilling(length + "G0 Z12.700", "G43 H2 G0 Z12.700").findings}
    only(drilling(length + "G0 Z12.700", "G0 Z12.700\nM0"), "length-not-set")
    by_hand = Dialect(tool_change="stop")
    assert check_program(write_program(DRILLING, by_hand), DRILLING, by_hand).findings == ()


# Rapids


def test_a_sideways_rapid_below_the_safe_height() -> None:
    text = edited(POCKET_TEXT, "G0 Z12.000\nM5", "G0 Z3.000\nG0 X30.000\nG0 Z12.000\nM5")
    finding = only(check_program(text, POCKET), "sideways-rapid-low")
    assert finding.line == line_of(text, "G0 X30.000")
    assert finding.measured == 3.0
    assert finding.limit == 12.0
    assert finding.place == (30.0, 15.0, 3.0)


@pytest.mark.parametrize(("rest", "words"), [("M5\n(STOP", "the machine stops at"), ("M5\nM30", "the program ends at")])
def test_a_tool_that_stays_in_the_work_at_a_stop_or_at_the_end(rest: str, words: str) -> None:
    """The retract before it is lost: no move after it goes sideways, so nothing else would tell."""
    text = edited(POCKET_TEXT, f"G0 Z12.000\n{rest}", rest)
    finding = only(check_program(text, POCKET), "halts-low")
    assert finding.measured is not None
    assert finding.measured < 0.0
    assert finding.limit == 0.0
    assert finding.message.startswith(words)
    low = edited(POCKET_TEXT, f"G0 Z12.000\n{rest}", f"G0 Z0.100\n{rest}")
    assert "halts-low" not in {f.code for f in check_program(low, POCKET).findings}, "low, but out of the work"


def test_a_rapid_into_stock() -> None:
    finding = only(pocket("G1 Z-1.000 F60", "G0 Z-1.000 F60"), "rapid-into-stock")
    assert finding.line == line_of(POCKET_TEXT, "G1 Z-1.000 F60")
    assert finding.measured == pytest.approx(1.0)
    assert "1.000 mm under the top of the stock" in finding.message


def test_a_rapid_into_what_was_cut_before_is_fine() -> None:
    assert pocket("G0 X15.000 Y15.000\nG0 Z1.000\nG1 Z-1.9", "G0 X15.000 Y15.000\nG0 Z-0.900\nG1 Z-1.9").clean
    below = pocket("G0 X15.000 Y15.000\nG0 Z1.000\nG1 Z-1.9", "G0 X15.000 Y15.000\nG0 Z-1.100\nG1 Z-1.9")
    only(below, "rapid-into-stock")
    # The side of the pocket was cut as well: any place on an earlier path counts
    aside = "G0 X30.000 Y15.000\nG0 Z-0.900\nG0 Z1.000\nG0 Z12.000\nG0 X15.000 Y15.000\nG0 Z1.000\nG1 Z-1.9"
    assert pocket("G0 X15.000 Y15.000\nG0 Z1.000\nG1 Z-1.9", aside).clean
    beside = aside.replace("X30.000 Y15.000", "X30.000 Y15.010")
    only(pocket("G0 X15.000 Y15.000\nG0 Z1.000\nG1 Z-1.9", beside), "rapid-into-stock")


def test_a_pilot_hole_makes_no_room_for_a_greater_drill() -> None:
    pilot = ToolUse(1, "2 mm drill", ToolKind.TWIST_DRILL, 2.0, point_angle_deg=118)
    drill = ToolUse(2, "5 mm drill", ToolKind.TWIST_DRILL, 5.0, point_angle_deg=118)

    def plan(*order: ToolUse) -> ProgramPlan:
        motions = []
        for tool in order:
            motions += [ToolChange(tool.number), SpindleOn(900), DrillCycle(1, 5, 5, 2, -8, 50)]
        return ProgramPlan("p", order, tuple(motions), 10.0, ProgramLimits(stock=BLOCK))

    for order, fine in ((plan(pilot, drill), False), (plan(drill, pilot), True)):
        text = write_program(order, Dialect(cycles="long-hand"))
        second = text.index("M6", text.index("M6") + 2)
        fast = text[:second] + text[second:].replace("G1 Z-8.000 F50", "G0 Z-8.000").replace("G1 Z-8.000", "G0 Z-8.000")
        result = check_program(fast, order, Dialect(cycles="long-hand"))
        assert ("rapid-into-stock" not in {f.code for f in result.findings}) is fine


def test_pecks_are_needed_after_a_pilot_hole_but_not_after_a_greater_one() -> None:
    """A pilot leaves a ring of metal, whose chips have to come out; a spot of greater diameter leaves none."""
    small = ToolUse(1, "2 mm drill", ToolKind.TWIST_DRILL, 2.0, point_angle_deg=118)
    great = ToolUse(1, "8 mm drill", ToolKind.TWIST_DRILL, 8.0, point_angle_deg=118)
    drill = ToolUse(2, "5 mm drill", ToolKind.TWIST_DRILL, 5.0, point_angle_deg=118)
    for first, needed in ((small, True), (great, False)):
        motions = (
            ToolChange(1), SpindleOn(900), DrillCycle(1, 5, 5, 2, -7, 50),
            ToolChange(2), SpindleOn(900), DrillCycle(1, 5, 5, 2, -8, 50, peck=3.0),
        )  # fmt: skip
        plan = ProgramPlan("p", (first, drill), motions, 10.0, ProgramLimits(stock=BLOCK))
        text = write_program(plan)
        assert check_program(text, plan).clean
        without = edited(text, "G83 X5.000 Y5.000 Z-8.000 R2.000 Q3.000", "G81 X5.000 Y5.000 Z-8.000 R2.000")
        assert ("peck-too-deep" in {f.code for f in check_program(without, plan).findings}) is needed


# Places where the body must not be


def test_under_a_hard_floor() -> None:
    finding = only(pocket("G1 Z-1.900", "G1 Z-2.000"), "below-hard-floor")
    assert finding.measured == pytest.approx(0.05)
    assert finding.line == line_of(POCKET_TEXT, "G1 Z-1.900 F60")
    assert 'over "copper hood" at Z -1.950 mm' in finding.message
    assert finding.rule == "sheet, less its doubt"
    deep = only(drilling("Z-6.200", "Z-9.200"), "below-hard-floor")
    assert deep.place is not None
    assert deep.place[2] == pytest.approx(-9.2)


def test_into_a_keep_out_with_the_whole_body() -> None:
    """The clamp begins at X 52 and is 8 mm high; the cutter's radius is 3 mm."""
    finding = only(
        pocket("G0 X15.000 Y15.000\nG0 Z1.000", "G0 X15.000 Y15.000\nG0 Z5\nX49.5\nX15\nG0 Z1.000"), "in-keep-out"
    )
    assert finding.measured == pytest.approx(3.0)
    assert finding.place == pytest.approx((49.5, 15.0, 5.0))
    assert 'keep-out "clamp" by 3.000 mm' in finding.message
    high = pocket("G0 X15.000 Y15.000\nG0 Z1.000", "G0 X15.000 Y15.000\nG0 Z13\nX49.5\nX15\nG0 Z1.000")
    assert high.clean


def test_holder_and_flutes() -> None:
    plan = ProgramPlan(
        "deep", (replace(MILL, flute_length=4.0, overhang=6.0),),
        (ToolChange(3), SpindleOn(900), Rapid(20, 20), Rapid(z=1), Feed(50, z=-5), Feed(50, z=-7)), 10.0,
        ProgramLimits(stock=BLOCK),
    )  # fmt: skip
    result = check_program(write_program(plan), plan)
    assert "the cut is 5.000 mm deep; the flutes are 4.000 mm" in only(result, "deeper-than-flutes").message
    assert (
        "the tip is 7.000 mm under the top of the stock; the tool stands out 6.000 mm"
        in only(result, "holder-in-stock").message
    )


# Machine


def test_travel_speed_and_feed_of_the_machine() -> None:
    far = only(drilling("X88.392", "X251.000"), "out-of-travel")
    assert "X leaves the travel from -50.000 mm to +250.000 mm" in far.message
    wide = only(pocket("G0 Z12.000\nM5", "G0 Z12.000\nG0 X300\nG0 X0\nM5"), "out-of-travel")
    assert (wide.measured, wide.limit) == (300.0, 200)
    fast = only(drilling("S1500 M3", "S3000 M3"), "spindle-out-of-range")
    assert (fast.measured, fast.limit, fast.quantity_unit) == (3000.0, 2800, "rpm")
    slow = only(drilling("S1500 M3", "S100 M3"), "spindle-out-of-range")
    assert "it has 120 to 2800 rpm" in slow.message
    feed = only(drilling("F60", "F900"), "feed-out-of-range")
    assert "a feed of 900 mm/min; the machine has 800 mm/min" in feed.message


def test_a_tool_that_nobody_described() -> None:
    result = verify_text(DRILLING_TEXT, safe_height=12.7)
    assert "T1 is not described" in only(result, "tool-unknown").message
    assert result.passed
    assert not result.clean


# Holes


@pytest.mark.parametrize(
    ("old", "new", "code", "message"),
    [
        ("X31.242 Y4.953 Z-1", "X31.742 Y4.953 Z-1", "hole-not-planned", "hole 2 is 0.500 mm away"),
        ("G98 G81 X31.242 Y4.953 Z-1.100 R2.000\n", "", "hole-missing", "hole 2 with tool T1 is not made"),
        ("X31.242 Y4.953 Z-1.100", "X31.242 Y4.953 Z-1.11", "hole-depth", "hole 2 ends at Z -1.110 mm, 0.010 mm below"),
        ("X31.242 Y4.953 Z-6.200", "X31.242 Y4.953 Z-5.200", "hole-depth", "1.000 mm above the planned -6.200 mm"),
        ("Q2.500", "Q3.500", "peck-too-deep", "without coming out; planned are steps of"),
        ("G83 X31.242 Y4.953 Z-6.200 R2.000 Q2.500", "G81 X31.242 Y4.953 Z-6.200 R2.000", "peck-too-deep", "hole 2"),
        ("G83 X12.192", "G73 X12.192", "peck-too-deep", "hole 1"),
        ("S2200 M3", "S1100 M3", "speed-not-planned", "hole 1 runs at 1100 rpm; planned are 2200 rpm"),
        ("F50", "F70", "feed-not-planned", "hole 1 is fed at 70.0 mm/min; planned are 50.0 mm/min"),
    ],
)  # fmt: skip
def test_holes_that_are_not_as_planned(old: str, new: str, code: str, message: str) -> None:
    finding = only(drilling(old, new), code)
    assert message in finding.message
    assert finding.severity is Severity.STOP


def test_slower_than_planned_is_a_caution() -> None:
    result = drilling("F50", "F40")
    assert only(result, "feed-not-planned").severity is Severity.CAUTION
    assert result.passed


def test_a_hole_with_another_tool() -> None:
    swapped = edited(edited(edited(DRILLING_TEXT, "T1 M6", "T9 M6"), "T2 M6", "T1 M6"), "T9 M6", "T2 M6")
    result = check_program(swapped, DRILLING)
    only(result, "hole-depth")
    one = drilling("T2 M6", "T3 M6")
    only(one, "hole-missing")
    text = edited(DRILLING_TEXT, "G80\nM5\nM30", "G98 G81 X31.242 Y14.000 Z-1.1 R2 F60\nG80\nM5\nM30")
    assert "with" not in only(check_program(text, DRILLING), "hole-not-planned").message.split(";")[0]


def test_the_diameter_of_a_hole() -> None:
    """Only the greater drill goes to hole 1, where the plan has the smaller one."""
    small = ToolUse(1, "No. 38 drill", ToolKind.TWIST_DRILL, 2.5781, point_angle_deg=118)
    great = ToolUse(2, "No. 30 drill", ToolKind.TWIST_DRILL, 3.2639, point_angle_deg=118)
    limits = ProgramLimits(stock=BLOCK, holes=(ExpectedHole(1, 5, 5, -4, 1), ExpectedHole(2, 15, 5, -4, 2)))
    plan = ProgramPlan(
        "d", (small, great),
        (ToolChange(1), SpindleOn(900), DrillCycle(1, 5, 5, 2, -4, 50),
         ToolChange(2), SpindleOn(900), DrillCycle(2, 15, 5, 2, -4, 50)),
        10.0, limits,
    )  # fmt: skip
    text = write_program(plan)
    assert check_program(text, plan).clean
    bad = edited(text, "G98 G81 X15.000", "G98 G81 X5.000 Y5.000 Z-4.000 R2.000\nG98 G81 X15.000")
    finding = only(check_program(bad, plan), "hole-diameter")
    assert "hole 1 is made with T2, 3.264 mm; planned is T1, 2.578 mm" in finding.message


def test_limits_alone_can_ask_for_holes() -> None:
    limits = ProgramLimits(stock=BLOCK, holes=(ExpectedHole(1, 12.192, 4.953, -6.2, 2), ExpectedHole(9, 50, 30, -6, 2)))
    result = verify_text(DRILLING_TEXT, limits=limits, tools=DRILLING.tools, safe_height=12.7)
    assert [f.message for f in result.findings if f.code == "hole-missing"] == ["hole 9 with tool T2 is not made"]


def test_the_order_of_tools_in_one_hole() -> None:
    begin, rest = DRILLING_TEXT.split("(TOOL - T1 spot drill 6 mm, diameter 6.000 mm)\nT1 M6\n")
    spot, drill = rest.split("M5\n(STOP - measure the spots: 12.19 from the left end to hole 1)\nM0\n")
    body, end = drill.split("M5\nM30\n")
    turned = f"{begin}{body}M5\nM0\nT1 M6\n{spot}M5\nM30\n{end}"
    finding = only(check_program(turned, DRILLING), "cut-out-of-order")
    assert "comes before a tool that is planned before it" in finding.message


def test_holes_in_another_order_are_harmless() -> None:
    a, b = "G98 G81 X31.242 Y4.953 Z-1.100 R2.000\n", "G98 G81 X50.292 Y4.953 Z-1.100 R2.000\n"
    assert drilling(a + b, b + a).findings == ()


# Cuts


def test_a_cut_that_is_left_out() -> None:
    finding = only(
        pocket("G3 X48.000 Y18.000 I0.000 J3.000\nG1 Y25.000", "G0 Z12\nG0 X48 Y18\nG0 Z1\nG1 Z-1\nG1 Y25"),
        "cut-missing",
    )
    assert "of 4.712 mm in all is not made" in finding.message  # a quarter of 2 pi 3
    assert finding.place == pytest.approx((45.0, 15.0, -1.0))


def test_a_whole_pass_that_is_left_out() -> None:
    lines = POCKET_TEXT.split("\n")
    first = lines.index("G0 X15.000 Y15.000")
    last = next(i for i in range(first, len(lines)) if lines[i] == "G0 Z12.000")
    finding = only(check_program("\n".join(lines[:first] + lines[last:]), POCKET), "cut-missing")
    assert "11 planned cuts" in finding.message


def test_a_cut_where_none_is_planned() -> None:
    finding = only(pocket("G1 X45.000 F180", "G1 X30 F180\nG1 Y15.400\nG1 Y15\nG1 X45.000"), "cut-not-planned")
    assert finding.measured == pytest.approx(0.4)
    assert finding.place == pytest.approx((30.0, 15.4, -1.0))


def test_cuts_divided_joined_or_repeated_are_harmless() -> None:
    divided = pocket("G1 X45.000 F180", "G1 X20 F180\nG1 X33.33\nG1 X45.000")
    assert divided.findings == ()
    again = pocket("G1 X45.000 F180", "G1 X45.000 F180\nG1 X15\nG1 X45.000")
    only(again, "cut-repeated")
    assert again.clean or only(again, "cut-other-way").severity is Severity.CAUTION
    joined = pocket(
        "G2 X15.000 Y28.000 I0.000 J6.500 F180\nG2 X15.000 Y15.000 I0.000 J-6.500",
        "G2 X15.000 Y15.000 I0.000 J6.500 F180",
    )
    assert joined.findings == ()
    air = pocket("G1 Z-1.000 F60", "G1 Z0.2 F100\nG1 X20\nG1 X15\nG1 Z-1.000 F60")
    assert air.findings == ()


def test_a_deeper_pass_first() -> None:
    """Passes in the wrong order: the second one takes both at once."""
    turned = POCKET_TEXT.replace("Z-1.900", "Z-9.999").replace("Z-1.000", "Z-1.900").replace("Z-9.999", "Z-1.000")
    finding = only(check_program(turned, POCKET), "cut-out-of-order")
    assert "it takes more depth at once" in finding.message


def test_cuts_apart_may_change_places() -> None:
    cuts = [(10.0, 10.0), (40.0, 30.0)]
    motions = [ToolChange(3), SpindleOn(900)]
    for x, y in cuts:
        motions += [Rapid(x, y), Rapid(z=1), Feed(50, z=-1), Feed(50, x=x + 5), Rapid(z=12)]
    plan = ProgramPlan("two", (MILL,), tuple(motions), 12.0, ProgramLimits(stock=BLOCK))
    turned = replace(plan, motions=(*motions[:2], *motions[7:], *motions[2:7]))
    result = check_program(write_program(turned), plan)
    only(result, "order-changed")
    assert result.clean


def test_a_cut_the_other_way() -> None:
    text = edited(
        POCKET_TEXT,
        "G1 X45.000 F180\nG3 X48",
        "G0 Z12\nG0 X45\nG0 Z1\nG1 Z-1 F60\nG1 X15 F180\nG0 Z12\nG0 X45\nG0 Z-0.9\nG1 Z-1 F60\nG3 F180 X48",
    )
    result = check_program(text, POCKET)
    assert only(result, "cut-other-way").severity is Severity.CAUTION


def test_tool_speed_and_feed_of_a_cut() -> None:
    other = replace(MILL, number=4, name="another")
    plan = replace(POCKET, tools=(MILL, other))
    assert (
        "a cut is made with T4; planned is T3"
        in only(check_program(edited(POCKET_TEXT, "T3 M6", "T4 M6"), plan), "tool-not-planned").message
    )
    assert "a cut runs at 2300 rpm; planned are 2400 rpm" in only(pocket("S2400", "S2300"), "speed-not-planned").message
    fast = only(pocket("G1 X45.000 F180", "G1 X45.000 F190"), "feed-not-planned")
    assert fast.line == line_of(POCKET_TEXT, "G1 X45.000 F180")
    assert "fed at 190.0 mm/min; planned are 180.0 mm/min" in fast.message
    assert pocket("F180", "F181").clean


def test_a_program_with_nothing_in_common_with_its_plan() -> None:
    result = check_program(DRILLING_TEXT, POCKET)
    only(result, "cut-missing")
    assert not result.passed
    empty = check_program("G21 G90\nM30\n", POCKET)
    assert "planned cuts" in only(empty, "cut-missing").message
    only(empty, "stop-missing")


# Stops


def test_stops() -> None:
    finding = only(drilling("M0\n", ""), "stop-missing")
    assert 'stop 1, "measure the spots' in finding.message
    moved = drilling("G80\nM5\n(STOP - measure the spots: 12.19 from the left end to hole 1)\nM0\n", "G80\nM5\n")
    only(moved, "stop-missing")
    early = drilling("G98 G81 X31.242", "G80\nM5\nM0\nS1500 M3\nG98 G81 X31.242")
    assert only(early, "stop-added").severity is Severity.NOTE
    assert early.clean
    elsewhere = edited(edited(DRILLING_TEXT, "M0\n", ""), "G98 G81 X31.242", "G80\nM5\nM0\nS1500 M3\nG98 G81 X31.242")
    only(check_program(elsewhere, DRILLING), "stop-missing")
    assert only(drilling("M0\n", "M1\n"), "stop-optional").severity is Severity.CAUTION
    turning = drilling("M5\n(STOP", "(STOP")
    assert "the spindle turns at a stop" in only(turning, "stop-spindle-turning").message


def test_an_optional_stop_is_fulfilled_by_either() -> None:
    motions = tuple(replace(m, optional=True) if isinstance(m, Stop) else m for m in DRILLING.motions)
    plan = replace(DRILLING, motions=motions)
    text = write_program(plan)
    assert "\nM1\n" in text
    assert check_program(text, plan).findings == ()
    assert check_program(edited(text, "M1\n", "M0\n"), plan).findings == ()


# What controls read differently


def test_doubts() -> None:
    assert only(drilling("X31.242 Y4.953 Z-1", "X31. 242 Y4.953 Z-1"), "space-in-number").severity is Severity.CAUTION
    accent = drilling("(NOTE", "(é NOTE")
    only(accent, "remark-not-ascii")
    assert accent.clean
    only(drilling("G98 G81 X12", "G99 G81 X12"), "return-level-unclear")


def test_lines_with_a_slash_are_checked_both_ways() -> None:
    hole = "G98 G81 X31.242 Y4.953 Z-1.100 R2.000"
    result = drilling(hole, f"/ {hole}")
    only(result, "block-delete")
    only(result, "hole-missing")
    harmless = drilling("M5\n(STOP", "/ M9\nM5\n(STOP")
    assert harmless.clean


# The findings themselves


def test_a_finding_reads_in_one_line_and_as_a_finding_of_the_plan() -> None:
    finding = only(pocket("G1 Z-1.900", "G1 Z-2.000"), "below-hard-floor")
    text = finding.text("in")
    assert text.startswith(f"stop below-hard-floor, line {finding.line} at X+0.5906 Y+0.5906 Z-0.0787 in: ")
    assert text.endswith("Rule: sheet, less its doubt.")
    plan_finding = finding.as_finding("patch", operation="patch")
    assert plan_finding.about == f'program "patch", line {finding.line}'
    assert plan_finding.severity is Severity.STOP
    assert plan_finding.operation == "patch"


def test_many_findings_of_a_code_are_counted() -> None:
    body = "".join(f"G1 X{k}\nG0 Z5\nG0 X0\nG1 Z-1\n" for k in range(60))
    result = verify_text(f"G21 G90\nG0 Z10\nG0 X0 Y0\nF50\nS50 M3\n{body}M30\n", safe_height=8)
    low = [f for f in result.findings if f.code == "sideways-rapid-low"]
    assert len(low) == 21
    assert low[-1].message == "39 or more of these are not listed"


def test_every_code_has_a_test_that_names_it() -> None:
    texts = [path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py")]
    asked = {code for text in texts for code in re.findall(r'only\((?:.|\n)*?"([a-z-]+)"\s*,?\s*\)', text)}
    asked |= {code for text in texts for code in re.findall(r'"([a-z]+-[a-z-]+)", "', text)}
    assert set(CODES) - asked == set()


def test_codes_are_plain_words() -> None:
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in CODES)


def test_limits_of_travel_without_moves() -> None:
    result = verify_text("G21 G90\nM30\n", limits=ProgramLimits(travel=Travel(x=(0, 1), x_length=5)))
    assert result.clean
    assert result.account.least is None


def test_a_sideways_rapid_in_the_stock_is_low_and_goes_through_metal() -> None:
    text = edited(POCKET_TEXT, "G0 Z12.000\nM5", "G0 X30.000\nG0 Z12.000\nM5")
    result = check_program(text, POCKET)
    for code in ("sideways-rapid-low", "rapid-into-stock"):
        assert only(result, code).line == line_of(text, "G0 X30.000")
    assert only(result, "rapid-into-stock").measured == pytest.approx(1.0)
    # Beside the block there is no metal: low it is all the same
    aside = edited(POCKET_TEXT, "G0 Z12.000\nM5", "G0 Z12.000\nG0 X90.000\nG0 Z-1.000\nG0 X80.000\nG0 Z12.000\nM5")
    codes = {f.code for f in check_program(aside, POCKET).findings}
    assert "sideways-rapid-low" in codes
    assert "rapid-into-stock" not in codes


@pytest.mark.parametrize(
    ("line", "codes"),
    [
        ("M4", {"spindle-backward", "spindle-speed-missing"}),
        ("M3", {"spindle-speed-missing"}),
        ("S0 M3", {"spindle-speed-missing"}),
        ("S2400 M4", {"spindle-backward"}),
        ("S2400", {"spindle-stopped"}),
        ("S0", {"spindle-stopped"}),
    ],
)
def test_each_fault_of_the_spindle_is_told_apart(line: str, codes: set[str]) -> None:
    found = {f.code for f in pocket("S2400 M3", line).findings}
    assert found & {"spindle-backward", "spindle-speed-missing", "spindle-stopped"} == codes


def test_moves_through_the_air_do_not_shift_the_stops_of_the_plan() -> None:
    """Ten hops over the work are no cuts: every hole still comes before or after the same stop."""
    begin = "G0 Z12.700\nS1500"
    hops = "G0 Z13.000\nG0 Z12.700\n" * 10
    assert drilling(begin, f"G0 Z12.700\n{hops}S1500").findings == ()


def test_a_hole_fed_by_hand_words_is_missed_as_a_planned_hole() -> None:
    drill = ToolUse(1, "3 mm drill", ToolKind.TWIST_DRILL, 3.0, point_angle_deg=118)
    motions = (
        ToolChange(1), SpindleOn(1000), DrillCycle(7, 5, 5, 2, -4, 50), Rapid(x=10.0, y=20.0), Rapid(z=1.0),
        Feed(60.0, z=-5.0), Rapid(z=12.0),
    )  # fmt: skip
    plan = ProgramPlan("by feed", (drill,), motions, 12.0, ProgramLimits(stock=BLOCK))
    text = write_program(plan)
    assert check_program(text, plan).findings == ()
    finding = only(check_program(edited(text, "G1 Z-5.000 F60\n", ""), plan), "hole-missing")
    assert finding.message.startswith("a planned hole with tool T1 is not made")
    assert finding.place == (10.0, 20.0, -5.0)
    cycle = only(check_program(edited(text, "G98 G81 X5.000 Y5.000 Z-4.000 R2.000 F50\n", ""), plan), "hole-missing")
    assert cycle.message.startswith("hole 7 with tool T1 is not made")
