"""What a step-down has to say: each finding once, with its figures, and its words in inch and mm."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.inside_bend_wall import BendWall, wall_through
from holecam.cuts.layer_estimates import DoubtRule
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack, Wedge
from holecam.cuts.step_down_answers import Answer
from holecam.cuts.step_down_cut import BendSide, CutRequest, plan_cut
from holecam.cuts.step_down_drilling import drill_limit
from holecam.cuts.step_down_heights import HeightsRequest, StepDownHeights, plan_heights
from holecam.cuts.step_down_passes import PassRule
from holecam.lengths.chances import chance_text
from holecam.plan.finding import Finding, Severity
from holecam.planning.step_down_findings import height_findings
from holecam.planning.step_down_side_findings import cut_findings, drill_findings
from holecam.shapes import Segment, rectangle

INCH = 25.4
HALF_THOU = Fraction(254, 20_000)
KNOWN = Wedge.stated(0.005)


def touched(
    *,
    solder: float = 0.1,
    within: float = 0.02,
    rail_within: float = 0.02,
    face: str = "rail",
    touch_within: float = 0.01,
    wedge: Wedge = KNOWN,
    step: Fraction = HALF_THOU,
) -> TouchedStack:
    stack = LayerStack(
        (
            Layer.of("rail", 3.0, within=rail_within),
            Layer.of("solder", solder, within=within),
            Layer.of("hood", 0.6, within=0.0, keep=True),
        )
    )
    return TouchedStack(stack, HeightTouch(face, "paper", 0.0, touch_within), step, wedge=wedge)


def codes(heights: StepDownHeights, **more: bool) -> dict[str, Finding]:
    return by_code(height_findings(heights, name="rail end", unit="mm", **more))


def by_code(findings: Sequence[Finding]) -> dict[str, Finding]:
    found = {f.code: f for f in findings}
    assert len(found) == len(findings)
    for finding in findings:
        assert finding.source
        assert "step-down" in finding.about or finding.about.startswith("drill")
        assert finding.operation == "rail end"
    return found


def plan(stack: TouchedStack, **more: object) -> StepDownHeights:
    return plan_heights(HeightsRequest(stack, PassRule(0.3), **more), with_looks=False)  # type: ignore[arg-type]


def test_a_well_known_stack_has_nothing_to_say() -> None:
    stack = touched(solder=0.3, within=0.01, rail_within=0.005, touch_within=0.005, step=Fraction(1, 200))
    assert codes(plan(stack)) == {}


def test_asked_floor_below_the_hard_floor_says_by_how_much() -> None:
    heights = plan(touched(), asked_floor=-3.2)
    finding = codes(heights)["below-hard-floor"]
    assert finding.severity is Severity.STOP
    assert finding.limit == heights.hard_floor
    assert finding.measured == pytest.approx(heights.floor, abs=1e-3)
    assert "A pass would reach Z -3.188 mm; the hard floor is Z" in finding.message
    assert "sheet at Z -3.100 mm, plus 3 x" in finding.message
    assert "Raise the floor by 0.146 mm" in finding.remedy
    assert heights.hard_floor - finding.measured <= 0.146
    in_inch = height_findings(heights, name="rail end", unit="in")[0]
    assert "A pass would reach Z -0.1255 in" in in_inch.message


def test_asked_floor_below_the_sheet_is_a_stop_too() -> None:
    assert codes(plan(touched(), asked_floor=-3.5))["below-hard-floor"].severity is Severity.STOP


def test_spread_above_the_layer_says_so_and_names_the_bare_sheet() -> None:
    finding = codes(plan(touched(solder=0.05, within=0.04)))["spread-exceeds-layer"]
    assert finding.severity is Severity.CAUTION
    assert finding.limit == pytest.approx(0.05)
    assert finding.measured is not None
    assert finding.measured > 0.05
    assert "bare sheet" in finding.remedy
    on_sheet = codes(plan(touched(solder=0.02, within=0.01, face="bare sheet")))["spread-exceeds-layer"]
    assert "bare sheet" not in on_sheet.remedy


def test_no_height_surely_inside_the_layer() -> None:
    heights = plan(touched())
    finding = codes(heights)["floor-not-in-layer"]
    assert finding.quantity_unit == "1"
    assert heights.window is not None
    assert not heights.window.exists
    assert f"with {chance_text(heights.window.best_chance)}" in finding.message
    assert "spread-exceeds-layer" not in codes(heights) or heights.faces.doubt() > 0.1


def test_spread_above_the_whole_stack_stops() -> None:
    heights = plan(touched(rail_within=4.0))
    found = codes(heights)
    assert found["spread-exceeds-stack"].severity is Severity.STOP
    assert found["nothing-to-cut"].severity is Severity.STOP
    assert heights.passes == ()


def test_answers_that_leave_nothing_lower_are_no_stop() -> None:
    heights = plan(touched(), answers=(Answer("rail", -2.98), Answer("solder", -2.99)))
    found = codes(heights)
    if heights.passes:
        assert "floor-reached" not in found
    else:
        assert found["floor-reached"].severity is Severity.NOTE
    assert "nothing-to-cut" not in found
    done = plan(touched(), answers=(Answer("solder", -3.01), Answer("solder", -3.04)))
    assert codes(done)["floor-reached"].severity is Severity.NOTE


def test_sheet_seen_and_impossible_answers_stop() -> None:
    assert codes(plan(touched(), answers=(Answer("hood", -3.0),)))["sheet-reached"].severity is Severity.STOP
    odd = codes(plan(touched(), answers=(Answer("solder", -2.5),)))["answers-unlikely"]
    assert odd.severity is Severity.STOP
    assert "Measure the stack again" in odd.remedy


def test_touch_and_wedge() -> None:
    found = codes(plan(touched(face="bare sheet", wedge=Wedge())), touch_presses=True)
    assert found["touch-on-sheet"].severity is Severity.CAUTION
    assert found["wedge-unknown"].severity is Severity.CAUTION
    assert "touch-on-sheet" not in codes(plan(touched()), touch_presses=True)


def test_worst_case_that_lies_nearer_is_mentioned() -> None:
    found = codes(plan(touched(within=0.09, rail_within=0.0, touch_within=0.0)))
    assert found["worst-case-nearer"].severity is Severity.NOTE
    assert "worst-case-nearer" not in codes(plan(touched(within=0.09), rule=DoubtRule.WORST_CASE))


def test_bar_without_a_layer_under_it() -> None:
    stack = LayerStack((Layer.of("rail", 3.0, within=0.01), Layer.of("hood", 0.6, within=0.0, keep=True)))
    found = codes(plan(TouchedStack(stack, HeightTouch("rail"), HALF_THOU, wedge=KNOWN)))
    assert found["no-layer"].severity is Severity.NOTE


def test_passes_too_thin_or_not_to_be_set() -> None:
    thin = plan_heights(HeightsRequest(touched(), PassRule(0.3, last_steps=(0.0254, 0.0127), least_chip=0.02)))
    assert codes(thin)["below-least-chip"].limit == 0.02
    coarse = plan(touched(step=Fraction(254, 10_000)))
    assert codes(coarse)["readout-too-coarse"].measured == pytest.approx(0.0254)


def test_first_pass_may_bite_deeper_when_only_the_sheet_was_touched() -> None:
    heights = plan(touched(face="bare sheet", rail_within=0.2))
    assert codes(heights)["first-pass-deeper"].severity is Severity.CAUTION
    assert "first-pass-deeper" not in codes(plan(touched(rail_within=0.2)))


WALL = BendWall((Segment((-60.0, 0.0), (60.0, 0.0)),))


def cut_codes(**more: object) -> dict[str, Finding]:
    stack = touched(face="bare sheet", touch_within=0.005)
    bend = {"name": "front", "wall": WALL, "radius": 2.0, "sideways": 0.3, **more}
    request = CutRequest(
        rectangle(-8.0, 1.5, 8.0, 10.0),
        MillingCutter("6 mm end mill", 6.0),
        (BendSide(**bend),),  # type: ignore[arg-type]
    )
    return by_code(cut_findings(plan_cut(request, plan(stack)), name="rail end", unit="mm"))


def test_metal_left_is_sized_and_methods_are_named() -> None:
    found = cut_codes()
    left = found["metal-left"]
    assert left.severity is Severity.NOTE
    assert left.measured == pytest.approx(16.0 * (2.3 - 1.5), abs=0.05)
    assert "scraper" in left.remedy
    assert "near-bend" not in found
    assert found["pushes-off-bend"].severity is Severity.NOTE


def test_wall_that_is_not_known_well_enough_is_told_with_the_place() -> None:
    finding = cut_codes(wall_standard=0.5)["near-bend"]
    assert finding.severity is Severity.CAUTION
    assert finding.measured is not None
    assert finding.limit is not None
    assert finding.measured < finding.limit
    assert '"front"' in finding.message


def test_cutter_too_large_and_margin_that_leaves_nothing_stop() -> None:
    channel = wall_through([(30.0, 7.0), (0.0, 7.0), (0.0, 0.0), (30.0, 0.0)])
    stack = touched(face="bare sheet", touch_within=0.005)
    for diameter, margin, code in ((6.0, 0.0, "cutter-too-large"), (1.0, 4.5, "nothing-to-cut")):
        request = CutRequest(
            rectangle(1.5, 2.5, 20.0, 4.5),
            MillingCutter("end mill", diameter),
            (BendSide("tray", BendWall(tuple(c.reversed() for c in reversed(channel.curves)), "right"), 1.0, margin),),
        )
        found = by_code(cut_findings(plan_cut(request, plan(stack)), name="rail end", unit="mm"))
        assert list(found) == [code]
        assert found[code].severity is Severity.STOP


def test_drills_over_the_sheet() -> None:
    limit = drill_limit(face_z=0.0, hard_floor=-3.0, diameter=3.0, point_angle_deg=118.0, resolution=Fraction(1, 200))
    assert drill_findings(limit, hole="drill 3 mm", tip_z=limit.tip_z, unit="mm", name="rail end") == []
    (low,) = drill_findings(limit, hole="drill 3 mm", tip_z=-3.2, unit="mm", name="rail end")
    assert low.code == "below-hard-floor"
    assert "its point of 0.901 mm included" in low.message
    thick = drill_limit(face_z=0.0, hard_floor=-0.5, diameter=3.0, point_angle_deg=118.0, resolution=Fraction(1, 200))
    (reaches,) = drill_findings(thick, hole="drill 3 mm", tip_z=None, unit="mm", name="rail end")
    assert reaches.code == "drill-reaches-sheet"
    assert reaches.severity is Severity.STOP
