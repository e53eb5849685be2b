"""What rounding explains is no finding, and one step more is: the very ends of every tolerance of the check.

A program in mm has steps of 0.001 mm and may lie two of them from its plan, one in inches two of 0.0001 in.
"""

from __future__ import annotations

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
    Stock,
    ToolChange,
    ToolKind,
    ToolUse,
)
from holecam.program import CheckResult, check_program, verify_text, write_program
from holecam.shapes import rectangle

DRILLING, POCKET = drilling_plan(), pocket_plan()
TEXTS = {"drilling": write_program(DRILLING), "pocket": write_program(POCKET)}
PLANS = {"drilling": DRILLING, "pocket": POCKET}


def edited(which: str, old: str, new: str) -> CheckResult:
    assert old in TEXTS[which], f"{old!r} is not in the program"
    return check_program(TEXTS[which].replace(old, new, 1), PLANS[which])


def codes(result: CheckResult) -> set[str]:
    return {f.code for f in result.findings}


LAST = "G0 Z12.000\nM5\n"


@pytest.mark.parametrize(
    ("which", "old", "within", "beyond", "code"),
    [
        ("drilling", "X31.242 Y4.953 Z-1.100", "X31.242 Y4.953 Z-1.102", "X31.242 Y4.953 Z-1.103", "hole-depth"),
        ("drilling", "X31.242 Y4.953 Z-1.100", "X31.242 Y4.953 Z-1.098", "X31.242 Y4.953 Z-1.097", "hole-depth"),
        ("drilling", "X31.242 Y4.953 Z-1", "X31.244 Y4.953 Z-1", "X31.245 Y4.953 Z-1", "hole-not-planned"),
        ("drilling", "X31.242 Y4.953 Z-1", "X31.240 Y4.953 Z-1", "X31.239 Y4.953 Z-1", "hole-missing"),
        ("drilling", "X31.242 Y4.953 Z-1", "X31.242 Y4.951 Z-1", "X31.242 Y4.950 Z-1", "hole-not-planned"),
        ("drilling", "Q2.500", "Q2.502", "Q2.503", "peck-too-deep"),
        ("drilling", "S1500 M3", "S1500.5 M3", "S1500.6 M3", "speed-not-planned"),
        ("drilling", "S1500 M3", "S1499.5 M3", "S1499.4 M3", "speed-not-planned"),
        ("drilling", "S1500 M3", "S2800 M3", "S2801 M3", "spindle-out-of-range"),
        ("drilling", "S1500 M3", "S120 M3", "S119 M3", "spindle-out-of-range"),
        ("drilling", "F60", "F800", "F801", "feed-out-of-range"),
        ("drilling", "F60", "F60.6", "F60.7", "feed-not-planned"),
        ("drilling", "F60", "F59.4", "F59.3", "feed-not-planned"),
        ("drilling", "G80\nM5\nM30", "G80\nG0 X250.002\nM5\nM30", "G80\nG0 X250.003\nM5\nM30", "out-of-travel"),
        ("drilling", "G80\nM5\nM30", "G80\nG0 X-50.002\nM5\nM30", "G80\nG0 X-50.003\nM5\nM30", "out-of-travel"),
        ("drilling", "G80\nM5\nM30", "G80\nG0 Y150.002\nM5\nM30", "G80\nG0 Y150.003\nM5\nM30", "out-of-travel"),
        ("drilling", "G80\nM5\nM30", "G80\nG0 Z80.002\nM5\nM30", "G80\nG0 Z80.003\nM5\nM30", "out-of-travel"),
        ("pocket", LAST, f"G0 Z12\nG0 X-100\nX100.002\n{LAST}", f"G0 Z12\nG0 X-100\nX100.003\n{LAST}", "out-of-travel"),
        ("pocket", "G1 Z-1.900 F60", "G1 Z-1.950 F60", "G1 Z-1.951 F60", "below-hard-floor"),
        ("pocket", LAST, f"G0 Z11.998\nG0 X20\n{LAST}", f"G0 Z11.997\nG0 X20\n{LAST}", "sideways-rapid-low"),
        ("pocket", LAST, f"G0 Z12\nG0 X49.002\nZ5\nZ12\n{LAST}", f"G0 Z12\nG0 X49.003\nZ5\nZ12\n{LAST}", "in-keep-out"),
        ("pocket", LAST, f"G0 Z12\nX30 Y5\nZ-0.002\n{LAST}", f"G0 Z12\nX30 Y5\nZ-0.003\n{LAST}", "rapid-into-stock"),
        ("pocket", LAST, f"G0 Z12\nX45\nZ-1.002\n{LAST}", f"G0 Z12\nX45\nZ-1.003\n{LAST}", "rapid-into-stock"),
        ("pocket", LAST, f"G0 Z12\nX33 Y15.001\nZ-1.002\n{LAST}", f"G0 Z12\nX33 Y15.002\nZ-1\n{LAST}",
         "rapid-into-stock"),
        ("pocket", "G1 X15.000\n", "G1 X30 Y28.002\nX15 Y28\n", "G1 X30 Y28.003\nX15 Y28\n", "cut-not-planned"),
        ("pocket", "G1 X45.000 F180", "G1 X45.000 F181.8", "G1 X45.000 F181.9", "feed-not-planned"),
        ("pocket", "G1 X45.000 F180", "G1 X45.000 F178.2", "G1 X45.000 F178.1", "feed-not-planned"),
        ("pocket", "S2400 M3", "S2400.5 M3", "S2400.6 M3", "speed-not-planned"),
        ("pocket", "S2400 M3", "S2399.5 M3", "S2399.4 M3", "speed-not-planned"),
    ],
)  # fmt: skip
def test_the_last_step_within_and_the_first_beyond(which: str, old: str, within: str, beyond: str, code: str) -> None:
    assert code not in codes(edited(which, old, within))
    assert code in codes(edited(which, old, beyond))


def test_too_fast_is_a_stop_and_too_slow_a_caution_for_cuts_and_holes() -> None:
    for which, old in (("drilling", "F60"), ("pocket", "G1 X45.000 F180")):
        value = old.rpartition("F")[2]
        for share, grade in ((1.02, Severity.STOP), (0.98, Severity.CAUTION)):
            found = only(
                edited(which, old, old.replace(f"F{value}", f"F{float(value) * share:.1f}")), "feed-not-planned"
            )
            assert found.severity is grade
            assert found.measured == pytest.approx(float(value) * share)
            assert found.limit == float(value)


def test_two_steps_of_an_inch_program() -> None:
    """0.0002 in are 0.00508 mm: within; 0.0003 in are not."""
    speech = Dialect(unit="in")
    text = write_program(DRILLING, speech)
    assert "X1.2300 Y0.1950 Z-0.0433" in text  # -1.1 mm are -0.04331 in
    for z, fine in (("-0.0435", True), ("-0.0436", False), ("-0.0432", True), ("-0.0430", False)):
        wrong = text.replace("X1.2300 Y0.1950 Z-0.0433", f"X1.2300 Y0.1950 Z{z}", 1)
        assert ("hole-depth" not in codes(check_program(wrong, DRILLING, speech))) is fine


def test_expected_holes_alone_have_the_same_tolerance() -> None:
    text = "G21 G90\nT2 M6\nG0 Z12\nS900 M3\nF50\nG98 G81 X10 Y5 Z{} R2\nG80\nM5\nM30\n"
    limits = ProgramLimits(stock=BLOCK, holes=(ExpectedHole(1, 10, 5, -6.0, 2),))
    for z, fine in ((-6.002, True), (-6.003, False), (-5.998, True), (-5.997, False)):
        result = verify_text(text.format(z), limits=limits, tools=DRILLING.tools, safe_height=12.0)
        assert ("hole-depth" not in codes(result)) is fine
    wide = replace(limits, path_tolerance=0.05)
    for z, fine in ((-6.05, True), (-6.06, False)):
        result = verify_text(text.format(z), limits=wide, tools=DRILLING.tools, safe_height=12.0)
        assert ("hole-depth" not in codes(result)) is fine


@pytest.mark.parametrize(("depth", "code"), [(4.002, None), (4.003, "deeper-than-flutes")])
def test_flutes_and_overhang_to_the_step(depth: float, code: str | None) -> None:
    tool = replace(MILL, flute_length=4.0, overhang=6.0)
    motions = (ToolChange(3), SpindleOn(900), Rapid(20, 20), Rapid(z=1), Feed(50, z=-depth), Rapid(z=10))
    plan = ProgramPlan("deep", (tool,), motions, 10.0, ProgramLimits(stock=BLOCK))
    assert codes(check_program(write_program(plan), plan)) == ({code} if code else set())
    short = replace(plan, tools=(replace(tool, flute_length=20.0, overhang=4.0),))
    found = codes(check_program(write_program(short), short))
    assert found == ({"holder-in-stock"} if code else set())


def test_where_the_findings_about_holes_are() -> None:
    hole = "X31.242 Y4.953 Z-1.100"
    moved = edited("drilling", hole, "X31.742 Y4.953 Z-1.100")
    found = only(moved, "hole-not-planned")
    assert found.place == (31.742, 4.953, -1.1)
    assert found.measured == pytest.approx(0.5)
    assert only(moved, "hole-missing").place == (31.242, 4.953, -1.1)
    assert only(edited("drilling", hole, "X31.242 Y4.953 Z-1.2"), "hole-depth").place == (31.242, 4.953, -1.2)
    assert only(edited("drilling", "Q2.500", "Q3"), "peck-too-deep").place == (12.192, 4.953, -6.2)
    assert only(edited("drilling", "S2200", "S2000"), "speed-not-planned").place == (12.192, 4.953, -6.2)
    assert only(edited("drilling", "F50", "F40"), "feed-not-planned").place == (12.192, 4.953, -6.2)


def test_a_neighbour_is_named_within_an_inch() -> None:
    limits = ProgramLimits(stock=Stock(rectangle(-50, -50, 50, 50), 0, -20), holes=(ExpectedHole(4, 0, 0, -6, 2),))
    text = "G21 G90\nT2 M6\nG0 Z12\nS900 M3\nF50\nG98 G81 X0 Y0 Z-6 R2\nX{} Y{}\nG80\nM5\nM30\n"
    for x, y, named in ((25.4, 0, True), (-3, 4, True), (25.5, 0, False), (0, -25.5, False)):
        result = verify_text(text.format(x, y), limits=limits, tools=DRILLING.tools, safe_height=12.0)
        found = only(result, "hole-not-planned")
        assert ("hole 4 is" in found.message) is named
        assert found.measured == pytest.approx((x * x + y * y) ** 0.5)


def test_the_nearest_of_two_holes_is_the_neighbour() -> None:
    drill = ToolUse(2, "3 mm drill", ToolKind.TWIST_DRILL, 3.0, point_angle_deg=118)
    limits = ProgramLimits(stock=BLOCK, holes=(ExpectedHole(1, 5, 5, -4, 2), ExpectedHole(2, 15, 12, -4, 2)))
    text = "G21 G90\nT2 M6\nG0 Z12\nS900 M3\nF50\nG98 G81 X5 Y5 Z-4 R2\nX15 Y12\nX{} Y{}\nG80\nM5\nM30\n"
    for x, y, number in ((8, 9, 1), (18, 16, 2), (5, 10, 1), (15, 7, 2)):
        result = verify_text(text.format(x, y), limits=limits, tools=(drill,), safe_height=12.0)
        near = only(result, "hole-not-planned")
        assert f"hole {number} is 5.000 mm away" in near.message


@pytest.mark.parametrize("x", [5.0, 5.0039, 5.00399, 5.004, 4.9999, 0.0039, -0.0001])
def test_two_tools_a_hair_apart_are_in_one_hole_wherever_it_lies(x: float) -> None:
    """The pilot is planned first; a program that drills first is told, whatever the places round to."""
    pilot = ToolUse(1, "2 mm drill", ToolKind.TWIST_DRILL, 2.0, point_angle_deg=118)
    drill = ToolUse(2, "5 mm drill", ToolKind.TWIST_DRILL, 5.0, point_angle_deg=118)
    stock = ProgramLimits(stock=Stock(rectangle(-20, -20, 50, 50), 0.0, -20.0))
    for away, one in ((0.0, True), (0.0002, True), (0.5, False)):
        first = (ToolChange(1), SpindleOn(900), DrillCycle(1, x, 5, 2, -8, 50))
        second = (ToolChange(2), SpindleOn(800), DrillCycle(1, x + away, 5, 2, -7, 50))
        plan = ProgramPlan("p", (pilot, drill), (*first, *second), 10.0, stock)
        turned = replace(plan, motions=(*second, *first))
        assert "cut-out-of-order" not in codes(check_program(write_program(plan), plan))
        assert ("cut-out-of-order" in codes(check_program(write_program(turned), plan))) is one
