"""What slots and pockets say: stops for gouges and leftovers, walls, bottoms, ends, engagement, two handwheels."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from holecam.cuts.cut_choices import ChainDrillWish, Corners, KeepAway
from holecam.cuts.cutter_choice import choose_cutter
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest, ReliefShape, ReliefWish
from holecam.cuts.proof_values import Leftover
from holecam.cuts.slot import plan_slot
from holecam.cuts.slot_values import Bar, BlindEnd, OpenEnd, SlotRequest, StopShort
from holecam.plan.finding import Finding, Severity
from holecam.planning.cut_findings import pocket_findings, slot_findings
from holecam.shapes import Circle, Segment, circle_outline, outline_through, rectangle

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
THREE = MillingCutter("3 mm end mill", 3.0, centre_cutting=True)
PATCH = PocketRequest(
    "patch",
    rectangle(10, 10, 70, 50),
    4.0,
    SIX,
    body=rectangle(0, 0, 100, 60),
    body_name="former",
    stock_thickness=20.0,
)
LINE = KeepAway("nose curve", (Segment((90, -50), (90, 50)),), 1.0)
RAIL = SlotRequest(
    "rail",
    (Segment((0, 0), (80, 0)),),
    11.0,
    4.0,
    SIX,
    (OpenEnd(), StopShort(LINE)),
    body=rectangle(0, -30, 150, 30),
    body_name="former",
    stock_thickness=20.0,
)


def by_code(findings: list[Finding], code: str) -> list[Finding]:
    return [f for f in findings if f.code == code]


def test_a_sound_pocket_has_notes_only() -> None:
    findings = pocket_findings(plan_pocket(PATCH), "mm")
    assert {f.severity for f in findings} == {Severity.NOTE}
    (corners,) = by_code(findings, "corner-leftover")
    assert corners.measured == pytest.approx(4 * 0.2146 * 9, rel=1e-3)
    assert corners.quantity_unit == "mm2"
    (engagement,) = by_code(findings, "engagement")
    assert engagement.measured == pytest.approx(180.0)
    assert "its whole width" in engagement.message
    assert all(f.operation == "patch" and f.about.startswith('pocket "patch"') for f in findings)
    assert all(f.message and f.source for f in findings)


def test_gouge_and_leftover_stop_the_program() -> None:
    pin = circle_outline(Circle((11.0, 15.4), 0.1))
    plan = plan_pocket(replace(PATCH, islands=(pin,), relief=ReliefWish(ReliefShape.ALONG_LONGER)))
    stops = by_code(pocket_findings(plan, "mm"), "gouge")
    assert stops
    assert all(f.severity is Severity.STOP for f in stops)
    assert "island 1" in stops[0].message
    fine = plan_pocket(PATCH)
    patch = Leftover(rectangle(20, 20, 20.1, 20.2), (), 0.02, (20.05, 20.1), "not cut")
    faulty = replace(fine, proof=replace(fine.proof, uncut=(patch,)))
    (stop,) = by_code(pocket_findings(faulty, "in"), "leftover")
    assert stop.severity is Severity.STOP
    assert "0.000031 sq in at X 0.7894 in Y 0.7913 in" in stop.message


def test_thin_walls_and_bottoms_are_told_with_their_limits() -> None:
    near = replace(PATCH, outline=rectangle(4, 10, 70, 50), depth=18.5, step_depth=10.0)
    findings = pocket_findings(plan_pocket(near), "mm")
    (wall,) = by_code(findings, "thin-wall")
    assert wall.severity is Severity.CAUTION
    assert wall.measured == pytest.approx(4.0, abs=1e-6)
    assert wall.limit == 6.0
    assert wall.source == "common practice"
    (bottom,) = by_code(findings, "thin-bottom")
    assert bottom.measured == pytest.approx(1.5)
    allowed = pocket_findings(plan_pocket(replace(near, least_wall=3.0, least_bottom=1.0)), "mm")
    assert not by_code(allowed, "thin-wall")
    assert not by_code(allowed, "thin-bottom")
    broken = pocket_findings(plan_pocket(replace(PATCH, outline=rectangle(-2, 10, 70, 50))), "mm")
    assert by_code(broken, "thin-wall")[0].severity is Severity.STOP


def test_narrow_places_second_cutter_and_choice() -> None:
    bottle = outline_through([(10, 10), (50, 10), (50, 23), (80, 23), (80, 27), (50, 27), (50, 40), (10, 40)])
    plan = plan_pocket(replace(PATCH, outline=bottle))
    (narrow,) = by_code(pocket_findings(plan, "mm"), "narrow-leftover")
    assert narrow.severity is Severity.CAUTION
    choice = choose_cutter(bottle, [SIX, THREE], what="x", depth=4.0)
    rest = plan_pocket(replace(PATCH, outline=bottle, second_cutter=THREE))
    findings = pocket_findings(rest, "mm", choice)
    assert not by_code(findings, "narrow-leftover")
    assert "does not get everywhere" in by_code(findings, "cutter-choice")[0].message


def test_a_cutter_that_does_not_fit_is_not_called_smaller_than_needed() -> None:
    """A stub of 4 mm with 3 mm of flutes in a pocket 6 mm deep beside the 6 mm cutter that is taken."""
    stub = replace(THREE, name="stub", diameter=4.0, flute_length=3.0, overhang=3.0)
    open_pocket = rectangle(10, 10, 60, 50, corner_radius=5.0)
    choice = choose_cutter(open_pocket, [SIX, THREE, stub], what="x", depth=6.0)
    words = {v.cutter.name: v.reason for v in choice.verdicts}
    assert "smaller than needed" in words[THREE.name]
    assert "smaller than needed" not in words["stub"]


def test_nibbled_pockets_keep_quiet_about_engagement_and_tight_ones_do_not() -> None:
    (quiet,) = by_code(pocket_findings(plan_pocket(replace(PATCH, corners=Corners.NIBBLE)), "mm"), "engagement")
    assert quiet.severity is Severity.NOTE
    assert quiet.measured is not None
    assert quiet.limit is not None
    assert quiet.measured <= quiet.limit
    tight = replace(PATCH, outline=rectangle(10, 10, 60, 16.4), corners=Corners.NIBBLE)
    (loud,) = by_code(pocket_findings(plan_pocket(tight), "mm"), "engagement")
    assert loud.severity is Severity.CAUTION
    free = plan_pocket(replace(PATCH, corners=Corners.AS_THEY_COME))
    (told,) = by_code(pocket_findings(free, "mm"), "engagement")
    assert told.severity is Severity.CAUTION


def test_overcuts_are_noted() -> None:
    findings = pocket_findings(plan_pocket(replace(PATCH, relief=ReliefWish())), "in")
    notes = by_code(findings, "corner-overcut")
    assert len(notes) == 4
    assert notes[0].measured == pytest.approx(3 * (1 - 0.5**0.5))


def test_slot_tells_spoil_board_distance_to_the_curve_and_the_bar() -> None:
    bar = Bar("foot rail", 10.0, 0.5)
    findings = slot_findings(plan_slot(replace(RAIL, bar=bar)), "mm")
    (board,) = by_code(findings, "spoil-board")
    assert board.measured == pytest.approx(6.0)
    assert "6.000 mm hard against the edge" in board.remedy
    (curve,) = by_code(findings, "distance-to-curve")
    assert curve.measured == pytest.approx(1.0, abs=1e-6)
    assert not by_code(findings, "bar-too-long")
    tight = KeepAway("nose curve", (Segment((83.0, -50), (83.0, 50)),), 1.0)
    short = slot_findings(plan_slot(replace(RAIL, bar=bar, ends=(OpenEnd(), StopShort(tight)))), "mm")
    (long,) = by_code(short, "bar-too-long")
    assert long.severity is Severity.CAUTION
    assert long.measured == pytest.approx(1.0, abs=1e-4)
    assert "round its corners to a radius of 2.500 mm" in long.remedy


def test_slot_without_a_board_and_off_the_axes() -> None:
    findings = slot_findings(plan_slot(replace(RAIL, spoil_board=False)), "mm")
    assert by_code(findings, "no-spoil-board")[0].severity is Severity.CAUTION
    turned = replace(RAIL, centre_line=(Segment((10, -10), (80, 5)),), ends=(BlindEnd(), BlindEnd()))
    (hand,) = by_code(slot_findings(plan_slot(turned), "mm"), "two-handwheels")
    assert "Turn the work by -12.095 degrees" in hand.remedy


def test_a_slot_that_reaches_a_kept_curve_is_stopped() -> None:
    plan = plan_slot(RAIL)
    walls = replace(plan.walls, to_kept=(("nose curve", -0.3, (80.0, 0.0)),))
    (stop,) = by_code(slot_findings(replace(plan, walls=walls), "mm"), "reaches-curve")
    assert stop.severity is Severity.STOP
    assert "by 0.300 mm" in stop.message


def test_codes_never_change() -> None:
    pin = circle_outline(Circle((11.0, 15.4), 0.1))
    plan = plan_pocket(replace(PATCH, islands=(pin,), relief=ReliefWish(ReliefShape.ALONG_LONGER), step_over=5.6))
    codes = {f.code for f in pocket_findings(plan, "mm")} | {f.code for f in slot_findings(plan_slot(RAIL), "mm")}
    assert codes <= {
        "gouge",
        "leftover",
        "engagement",
        "corner-leftover",
        "narrow-leftover",
        "thin-wall",
        "thin-bottom",
        "reaches-curve",
        "distance-to-curve",
        "corner-overcut",
        "two-handwheels",
        "cut-note",
        "cutter-choice",
        "spoil-board",
        "no-spoil-board",
        "bar-too-long",
    }


def test_a_chain_of_holes_tells_its_webs_and_what_it_leaves_out() -> None:
    """Drill 4, web 0.5, allowance 0.3. Two webs of one drilled row: (distance of neighbours) - 4."""
    wish = ChainDrillWish(4.0, 0.5, 0.3)
    wide = outline_through([(0, 0), (40, 0), (52, 15), (40, 30), (0, 30)])
    plan = plan_pocket(replace(PATCH, outline=wide, body=rectangle(-20, -20, 80, 60), chain=wish))
    chain = plan.chain_drilling
    assert chain is not None
    assert not chain.skipped
    (told,) = by_code(pocket_findings(plan, "mm"), "chain-drilling")
    assert told.message == (
        f"{len(chain.centres)} holes of 4.000 mm, webs of {chain.least_web:.3f} mm to {chain.greatest_web:.3f} mm "
        "between them, at least 0.300 mm off the line."
    )
    assert (told.measured, told.limit) == (chain.least_web, 0.5)
    assert told.measured >= told.limit
    assert not by_code(pocket_findings(plan, "mm"), "chain-left-out")

    pointed = outline_through([(0, 0), (60, 10), (0, 20)])
    plan = plan_pocket(replace(PATCH, outline=pointed, body=rectangle(-20, -20, 80, 60), chain=wish))
    chain = plan.chain_drilling
    assert chain is not None
    assert len(chain.skipped) == 2
    (left,) = by_code(pocket_findings(plan, "mm"), "chain-left-out")
    assert left.message.startswith("2 holes of the chain are left out, they would run into others: X ")
    for x, y in chain.skipped:
        assert f"X {x:.3f} mm Y {y:.3f} mm" in left.message
        assert min(((x - u) ** 2 + (y - v) ** 2) ** 0.5 for u, v in chain.centres) < 4.5


def test_a_pocket_that_is_not_chain_drilled_tells_no_chain() -> None:
    assert not [f for f in pocket_findings(plan_pocket(PATCH), "mm") if f.code.startswith("chain")]


@pytest.mark.parametrize(("start", "told"), [(0.0, None), (0.5, None), (0.6, 0.6), (25.0, 25.0), (-4.0, None)])
def test_an_open_end_stated_inside_the_edge_tells_how_much_longer_the_slot_becomes(
    start: float, told: float | None
) -> None:
    rail = replace(RAIL, centre_line=(Segment((start, 0), (80, 0)),))
    found = by_code(slot_findings(plan_slot(rail), "mm"), "open-end-led-on")
    assert [f.measured for f in found] == ([] if told is None else [pytest.approx(told)])
    for finding in found:
        assert finding.severity is Severity.CAUTION
        assert f"lies {told:.3f} mm inside the edge" in finding.message
        assert "start" in finding.message
