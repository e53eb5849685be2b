"""Faults that were found by using the plan as its reader would: each test names what had gone wrong."""

from __future__ import annotations

from typing import Any

import pytest

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.output.readings import row_readings
from holecam.output.run_sheet import operation_facts
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Severity
from holecam.plan.motions import DrillCycle
from holecam.plan.plan import Plan
from holecam.plan.work import OperationKind
from holecam.planning.plan_job import make_plan

ROW: dict[str, Any] = {
    "name": "row",
    "line": {"count": 3, "pitch": 20},
    "place": {"hole": 1, "at": [30, -30]},
}
OLD: dict[str, Any] = {
    "name": "old",
    "line": {"count": 3, "pitch": 20},
    "place": {"hole": 1, "at": [40, -60]},
    "diameter": 5,
}


def plan(row: dict[str, Any] | None = None, **more: Any) -> Plan:
    """Return the plan of a plate 200 x 100 mm; ``row`` adds to its one pattern, ``more`` to the job."""
    data: dict[str, Any] = {
        "title": "plate",
        "unit": "mm",
        "machine": {"kind": "cnc"},
        "tools": {"drills": ["metric"]},
        "part": {
            "material": "aluminium",
            "thickness": 8,
            "datum": "left rear corner",
            "outline": {"rectangle": [200, 100], "at": [0, -100]},
        },
        "pattern": [{k: v for k, v in {**ROW, **({"thread": "M5"} if row is None else row)}.items() if v is not None}],
    }
    data.update(more)
    return make_plan(job_from_dict(data))


def codes(result: Plan, severity: Severity | None = None) -> list[str]:
    return [f.code for f in result.findings if severity is None or f.severity is severity]


def test_the_y_dial_is_counted_with_its_own_screw() -> None:
    dials = {"lead": 2.5, "divisions": 125, "lead_y": 2, "divisions_y": 100}
    result = plan(machine={"kind": "manual", "dials": dials})
    spots = next(o for o in result.operations if o.kind is OperationKind.SPOT)
    first = next(r for r in row_readings(result, spots.rows) if r.row.hole == 1)
    assert first.dial_x is not None
    assert first.dial_y is not None
    assert (first.dial_x.turns, first.dial_x.marks) == (12, 0)  # 30 mm at 2.5 mm a turn
    assert (first.dial_y.negative, first.dial_y.turns, first.dial_y.marks) == (True, 15, 0)  # 30 mm at 2 mm a turn


def test_a_skewed_part_is_found_again_by_readings_and_not_by_part_coordinates() -> None:
    skew = {"edge": {"first": [10, 5], "second": [110, 7], "origin_reads": [10, 5]}}
    result = plan(setup={"skew": skew})
    stops = [s for o in result.operations for s in o.stops if s.key.startswith("refound")]
    for stop in stops:
        assert stop.expected is not None
        assert float(stop.expect.removesuffix(" mm")) == pytest.approx(stop.expected, abs=0.0025)  # a step is 0.005 mm
    assert len(stops) == 2


def test_no_paper_asks_for_a_zero_that_would_carry_a_skewed_part_off() -> None:
    """Picked with the datum at X 10, Y 5: who sets zero on the datum then drills every hole 10 and 5 mm off."""
    skew = {"edge": {"first": [10, 5], "second": [110, 7], "origin_reads": [10, 5]}}
    result = plan(setup={"skew": skew})
    sheet = " ".join(text_sheet(result).split())
    assert "set x and y to zero" not in sheet.lower()
    assert "X 0 Y 0 is the left rear corner" not in sheet
    assert "Over the left rear corner stands X +10.000 mm, Y +5.000 mm" in sheet
    assert all("X0 Y0 is the left rear corner" not in p.zero for p in result.programs)
    assert result.programs
    # The turn by hand: 2 mm over 100 mm is atan 0.02; hole 1 at 30, -30 from the datum lies at 10 + 30 c + 30 s.
    c, s = 100 / 10004**0.5, 2 / 10004**0.5
    assert f'Go to hole 1 of "row" (X {10 + 30 * c + 30 * s:+.2f}' in sheet


def test_a_place_in_words_is_what_the_readout_can_show() -> None:
    result = plan({"thread": "M5", "place": {"hole": 1, "at": ["1.18109 in", -30]}}, machine={"readout": 0.01})
    find = next(o for o in result.operations if o.kind is OperationKind.FIND_DATUM)
    assert 'hole 1 of "row" (X +30.00 mm, Y -30.00 mm)' in find.instructions[-1]  # 29.9997 mm shows as 30.00


def test_the_plain_sheet_has_every_line_of_the_head() -> None:
    """Which face is up, and from where to come: without them the plain sheet makes the other hand, or backlash."""
    part = {"material": "brass", "thickness": 8, "face_up": "scribed side up", "outline": {"rectangle": [200, 100]}}
    place = {"hole": 1, "at": [30, 30]}
    machine = {"approach": ["-x", "+y"], "backlash": 0.2}
    setup = {"held": "two clamps", "parallel": "rear edge to X"}
    sheet = text_sheet(plan({"thread": "M5", "place": place}, part=part, machine=machine, setup=setup))
    assert "FACE: scribed side up" in sheet
    assert "APPROACH: End every move going −X and +Y; backlash 0.200 mm." in sheet
    assert "SAFE HEIGHT: 12.000 mm" in sheet
    assert "Held: two clamps; rear edge to X." in " ".join(sheet.split())


def test_a_sheet_says_of_which_pattern_it_tells_a_place() -> None:
    second = {"name": "pair", "points": [[150, -80], [170, -80]], "drill": "3 mm"}
    sheet = text_sheet(plan(pattern=[{**ROW, "thread": "M5"}, second]))
    told = sheet[sheet.index("HOW THE PLACES") : sheet.index("1. FIND")]
    assert 'row: Placed from hole 1 of "row"' in told
    assert "pair: numbered 1, 2 within the pattern, 4, 5 on this sheet." in told
    assert "pair: Given on the part." in told


def test_half_the_width_of_a_line_counts_beside_its_margin_and_not_instead_of_it() -> None:
    def gap(**more: Any) -> float | None:
        bend = {"name": "bend", "kind": "bend", "line": [[0, -34], [200, -34]], **more}
        outline = {"rectangle": [200, 100], "at": [0, -100]}
        part = {"material": "copper", "thickness": 1, "outline": outline}
        result = plan({"drill": "5 mm"}, part=part, keep_out=[bend])
        return next((f.measured for f in result.findings if f.code == "near-keep-out"), None)

    assert gap() == pytest.approx(1.5)  # 4 mm to the line less the hole's radius
    assert gap(width=2) == pytest.approx(0.5)
    assert gap(width=2, margin=3) == pytest.approx(0.5)


def test_a_part_that_holds_pressure_gets_no_instructions_for_plugging() -> None:
    part = {"material": "aluminium", "thickness": 8, "service": "pressure"}
    result = plan(part=part, old_holes=[{**OLD, "to_plug": {}}])
    assert "licensed-work" in codes(result)
    assert [o for o in result.operations if o.kind is OperationKind.PLUG] == []
    assert result.programs == ()


def test_a_face_below_the_top_is_drilled_from_above_the_top() -> None:
    result = plan({"thread": "M5", "face_z": -3, "thickness": 5})
    cycles = [m for p in result.programs for m in p.motions if isinstance(m, DrillCycle)]
    assert cycles
    assert all(c.retract_z == 2.0 for c in cycles)
    drilled = next(o for o in result.operations if o.kind is OperationKind.DRILL)
    assert "reads -3.000 mm" in drilled.z_zero


def test_a_plug_of_no_stated_size_counts_with_the_thread_it_will_have() -> None:
    result = plan(old_holes=[{**OLD, "to_plug": {}}])
    assert {h.diameter for h in result.standing_holes} == {6.0}
    words = next(o for o in result.operations if o.kind is OperationKind.PLUG).instructions[0]
    assert "M6" in words


@pytest.mark.parametrize("wish", [{"diameter": 4}, {"thread": "M3"}, {"thread": "M5"}])
def test_a_plug_smaller_than_its_hole_is_refused(wish: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="to_plug"):
        plan(old_holes=[{**OLD, "to_plug": wish}])


def test_feeds_stay_within_what_the_machine_can_do() -> None:
    result = plan(machine={"kind": "cnc", "fastest_feed": 50, "rigid_tapping": True})
    steps = [s for h in result.holes for s in h.steps if s.feed is not None]
    assert steps
    assert all(s.feed is not None and s.feed <= 50 + 1e-9 for s in steps)
    tap = next(s for s in steps if s.kind.value == "tap")
    assert tap.feed is not None
    assert tap.spindle_rpm is not None
    assert tap.feed / tap.spindle_rpm == pytest.approx(0.8)


def test_a_spindle_with_pulleys_turns_at_one_of_its_speeds() -> None:
    spindle = {"slowest": 300, "fastest": 3000, "steps": [300, 700, 1600, 3000]}
    result = plan(machine={"kind": "cnc", "spindle": spindle}, part={"material": "mild steel", "thickness": 8})
    speeds = {s.spindle_rpm for h in result.holes for s in h.steps if s.spindle_rpm is not None}
    assert speeds
    assert speeds <= {300, 700, 1600, 3000}


@pytest.mark.parametrize(
    ("work", "match"),
    [
        ({"clearance_for": "M5", "pilot": "8 mm"}, "pilot"),
        ({"clearance_for": "M6", "counterbore": "socket", "thickness": 6}, "fall through"),
        ({"drill": "5 mm", "counterbore": {"diameter": 9, "depth": 7}, "depth": {"to_tip": 6}}, "depth of the hole"),
        ({"drill": "5 mm", "counterbore": {"diameter": 4, "depth": 3}}, "more than the hole"),
        ({"thread": "M5", "depth": {"to_tip": 2.5}}, "no full thread"),
    ],
)
def test_work_that_cannot_be_done_is_refused(work: dict[str, Any], match: str) -> None:
    with pytest.raises(InputError, match=match):
        plan(work)


def test_a_tap_that_is_not_in_the_list_of_taps_is_told() -> None:
    tools = {"drills": ["metric"], "taps": [{"thread": "M4"}, {"thread": "M5", "kind": "taper"}]}
    assert "tap-not-owned" in codes(plan(tools=tools))
    assert "tap-not-owned" not in codes(plan(tools={**tools, "taps": [{"thread": "M5"}]}))


def test_a_screw_thicker_than_one_of_its_holes_does_not_enter() -> None:
    holes = {"line": {"count": 3, "pitch": 20}, "diameter": 4.8}
    result = plan({"clearance_for": "M5"}, mate=[{"pattern": "row", "holes": holes}])
    assert "no-play" in codes(result, Severity.STOP)
    assert not result.mates[0].goes_together


def test_the_sheet_speaks_of_the_reading_that_it_prints() -> None:
    sheet = text_sheet(plan(setup={"skew": {"edge": {"first": [0, 0], "second": [100, 2]}}}))
    assert "NOT square" in sheet


@pytest.mark.parametrize("layout", ["one per tool", "one with all"])
def test_no_program_drills_two_pieces_of_work(layout: str) -> None:
    body = {"name": "former", "material": "beech", "thickness": 40, "outline": {"rectangle": [200, 100]}}
    skew = {"edge": {"first": [0, 0], "second": [100, 2]}}
    row = {"name": "on the former", "in": "former", "line": {"count": 2, "pitch": 20}, "drill": "4.2 mm"}
    result = plan(
        machine={"kind": "cnc", "program": {"programs": layout}},
        body=[body],
        setup={"skew": skew},
        pattern=[{**ROW, "drill": "4.2 mm"}, {**row, "place": {"hole": 1, "at": [20, 20]}}],
    )
    bodies = {h.number: h.body for h in result.holes}
    assert set(bodies.values()) == {"", "former"}
    assert [h.xy_machine for h in result.holes if h.body] == [(20, 20), (40, 20)]  # the part's skew is not its own
    for program in result.programs:
        assert len({bodies[m.hole] for m in program.motions if isinstance(m, DrillCycle)}) == 1
    assert {p.limits.stock.bottom_z for p in result.programs if p.limits.stock is not None} == {-8, -40}
    zeros = [o.number for o in result.operations if o.kind is OperationKind.FIND_DATUM]
    assert len(zeros) == 2


def test_the_play_that_the_job_asks_for_is_held() -> None:
    holes = {"line": {"count": 3, "pitch": 20}, "clearance_for": "M5"}
    mate = [{"pattern": "row", "holes": holes}]

    def asked(least: float) -> Plan:
        limit = [{"of": "play", "least": least, "reason": "paint"}]
        return plan({"clearance_for": "M5"}, mate=mate, limit=limit)

    left = asked(0.01).mates[0].play_left
    assert "little-play" not in codes(asked(left - 0.01))
    tight = asked(left + 0.01)
    assert "little-play" in codes(tight, Severity.STOP)
    assert all(h.withheld for h in tight.holes)


def test_a_drill_that_would_meet_the_table_is_stopped() -> None:
    tip = next(s.tip_depth for s in plan({"drill": "5 mm"}).holes[0].steps if s.kind.value == "drill")
    past = tip - 8
    assert "meets-table" in codes(plan({"drill": "5 mm"}, setup={"clearance_under": past - 0.01}), Severity.STOP)
    assert "meets-table" not in codes(plan({"drill": "5 mm"}, setup={"clearance_under": past + 0.01}))


def test_a_best_fit_says_both_effects_of_its_doubt_apart() -> None:
    found = [
        {"hole": 1, "at": [30, -30], "within": 0.1},
        {"hole": 2, "at": [50, -30.02], "within": 0.1},
        {"hole": 3, "at": [70, -30], "within": 0.1},
    ]
    words = " ".join(plan({"drill": "5 mm", "place": {"measured": found}}).places[0].words)
    assert "The pattern as one:" in words
    assert "its turn adds" in words


def moved_row(row: dict[str, Any], **move: Any) -> Plan:
    """Return the plan of a pattern that is moved from the old row: 3 holes, 20 mm apart, the first at (40, -60)."""
    return plan({"drill": "5 mm", "line": None, "place": {"moved": {"from": "old", "shift": [0, 30], **move}}} | row,
                old_holes=[OLD])  # fmt: skip


def places(result: Plan) -> list[tuple[int, float, float]]:
    return [(h.number_in_pattern, round(h.xy_part[0], 9), round(h.xy_part[1], 9)) for h in result.holes]


def test_a_hole_that_is_left_out_of_a_moved_pattern_is_not_drilled() -> None:
    assert places(moved_row({"like": "old", "leave_out": [2]})) == [(1, 40, -30), (3, 80, -30)]
    assert places(moved_row({"line": {"count": 2, "pitch": 20}})) == [(1, 40, -30), (2, 60, -30)]


def test_a_moved_pattern_turns_about_hole_one_even_if_that_is_left_out() -> None:
    # Quarter turn about the old hole 1 at (40, -60), then 30 mm up
    assert places(moved_row({"like": "old", "leave_out": [1]}, turn_deg=90)) == [(2, 40, -10), (3, 40, 10)]


def test_a_moved_pattern_is_shifted_off_its_centre_as_it_says() -> None:
    assert places(moved_row({"like": "old", "off_centre": [2, 1]})) == [(1, 42, -29), (2, 62, -29), (3, 82, -29)]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"line": {"count": 3, "pitch": 25}}, "hole 3 would lie 10.000 mm"),
        ({"line": {"count": 4, "pitch": 20}}, "there is no hole 4"),
    ],
)
def test_a_moved_pattern_with_another_spacing_is_refused(row: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        moved_row(row)


def test_the_wall_inside_a_plug_counts_from_where_the_plug_surely_is() -> None:
    # Plug of 12 mm, M6, half a millimetre off its middle: a wall of 2.5 mm, less the doubt; 1 mm (a pitch) is asked
    for within, code in ((1.4, "inside-plug"), (1.6, "thin-plug-wall")):
        hole = {"name": "old", "points": [[50, -50]], "diameter": 12, "plug": "steel pin, brazed", "within": within}
        result = plan({"thread": "M6", "line": None, "points": [[50.5, -50]], "place": None}, old_holes=[hole])
        found = next(f for f in result.findings if "plug" in f.code)
        assert (found.code, round(found.measured or 0.0, 9)) == (code, round(2.5 - within, 9))
        assert result.standing_holes[0].diameter == 12  # drawn and listed as large as it is


def test_a_pass_by_dials_says_where_it_ends_and_counts_on_from_there() -> None:
    """A 20 mm slot at 2 mm a turn and 100 marks begins at 10 turns and ends at 20; the next row goes on from 20."""
    slot = {"name": "key", "width": 6, "depth": 1, "from": [20, -30], "to": [40, -30], "cutter": "6 mill"}
    machine = {"kind": "manual", "dials": {"lead": 2, "divisions": 100}}
    mills = {"drills": ["metric"], "end_mills": [{"name": "6 mill", "diameter": 6}]}
    result = plan(slot=[{**slot, "ends": ["blind", "blind"]}], pattern=[], machine=machine, tools=mills)
    (work,) = [o for o in result.operations if o.kind is OperationKind.SLOT]
    first = next(iter(row_readings(result, work.rows)))
    assert first.to_dial_x is not None
    assert (first.dial_x.turns if first.dial_x else None, first.to_dial_x.turns, first.to_dial_x.marks) == (10, 20, 0)
    lines = text_sheet(result).splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("  1 along X"))
    assert "X +10 turns + 0, dial shows 0;  Y −15 turns + 0, dial shows 0" in lines[at + 1]
    assert lines[at + 2].split() == ["to", "+40.000", "-30.000"]
    assert "X +20 turns + 0, dial shows 0;  Y −15 turns + 0, dial shows 0" in lines[at + 3]
    printed = [row for kind, rows in operation_facts(result, work)["pieces"] if kind == "rows" for row in rows]
    assert [axis for axis, _, _ in printed[0]["dials"]] == ["X", "Y", "to X", "to Y"]
    assert printed[0]["dials"][2][2] == "11 12 13 14 15 16 17 18 19 20"
    for before, after, row in zip(work.rows, work.rows[1:], printed[1:], strict=False):
        if before.to_machine == after.xy_machine:  # it goes on where the last one ended: no turn passes
            assert row["dials"][0][2] == ""
            assert row["dials"][1][2] == ""


def test_a_hole_that_leaves_a_bottom_is_told_how_little_thread_it_has() -> None:
    """8 mm plate, 2.8 mm left, M5: tip at 5.2; point of a 4.2 drill 1.26; a bottoming tap takes 3 x 0.8 = 2.4 mm."""
    result = plan({"thread": "M5", "depth": {"leave_bottom": 2.8}, "tap": {"tap": "bottoming"}})
    told = [f.message for f in result.findings if f.code == "tap-drill"]
    assert any("threads in" in m and "do not hold" in m for m in told), told  # 1.5 mm of thread: under 2 threads
    assert not [f for f in plan({"thread": "M5"}).findings if "do not hold" in f.message]


def test_findings_without_a_figure_are_alike_only_in_the_same_words() -> None:
    few = {**ROW, "thread": "M5", "depth": {"leave_bottom": 2.8}, "tap": {"tap": "bottoming"}}
    more = {**ROW, "name": "pair", "place": {"at": [30, -70]}, "thread": "M5", "depth": {"full_thread": 4}}
    sheet = " ".join(text_sheet(plan(pattern=[few, more])).split())
    assert "do not hold" in sheet
    assert "4 mm (0.157 in) of thread is 0.8 D" in sheet  # the other pattern's own words, not "the same of holes"


def test_a_countersink_is_told_by_its_mouth_and_not_by_its_tip_alone() -> None:
    sheet = " ".join(text_sheet(plan({"drill": "3 mm", "countersink": {"diameter": 6, "angle_deg": 90}})).split())
    assert "The cone measures 6.000 mm across at the face. Tip Z is that of a sharp point" in sheet


@pytest.mark.parametrize(
    ("unit", "readout", "told"),
    [
        ("in", "0.01 mm", "The step of the readout, 0.01 mm, is no round number of inches"),
        ("mm", "1/64 in", None),
        ("in", "0.0005 in", None),
        ("in", "0.0127 mm", None),
        ("mm", "0.0005 in", None),
    ],
)
def test_a_readout_step_that_the_papers_cannot_use_is_told(unit: str, readout: str, told: str | None) -> None:
    result = plan(unit=unit, machine={"readout": readout}, pattern=[{"name": "a", "points": [[1, 1]], "drill": "3 mm"}])
    found = [f for f in result.findings if f.code == "readout-step"]
    assert [f.severity for f in found] == ([Severity.CAUTION] if told else [])
    if told is not None:
        assert found[0].message.startswith(told)
        assert "rounded to 0.0005 in instead" in found[0].message
        assert 'unit = "mm"' in found[0].remedy


def test_an_opened_hole_leaves_play_for_how_it_comes_out() -> None:
    # A hole of the base 0.9 mm off: play 0.25 mm, so 4.5 mm has to grow; the screws share the way between them
    row = {"name": "row", "clearance_for": "M4", "line": {"count": 3, "pitch": 20}, "place": {"at": [30, -30]}}
    off = [{"hole": 2, "off": [0, 1.2]}]
    mate = {"name": "base", "pattern": "row", "holes": {"like": "row", "thread": "M4"}, "when_tight": "open"}
    result = plan(pattern=[row], mate=[mate | {"measured": off}])
    report = result.mates[0]
    assert report.goes_together
    assert report.ratio is not None
    assert report.ratio <= 0.8 + 1e-9
    assert report.chance is not None
    assert report.chance.chance > 0.95
    (opened,) = [f for f in result.findings if f.code == "hole-opened"]
    diameter = next(h.finished_diameter for h in result.holes if h.number == 2)
    assert 4.5 < diameter < 4.5 + 2 * 1.2
    assert opened.holes == (2,)


def test_a_lean_over_which_no_plate_is_stated_is_told() -> None:
    row = {"name": "row", "thread": "M5", "line": {"count": 3, "pitch": 20}, "place": {"at": [30, -30]}}
    mate = {"name": "base", "pattern": "row", "holes": {"like": "row", "clearance_for": "M5"}, "lean_deg": 2}
    told = {f.code: f for f in plan(pattern=[row], mate=[mate]).findings}
    assert told["lean-not-counted"].severity is Severity.CAUTION
    assert "at screws 1, 2 and 3 is not counted" in told["lean-not-counted"].message
    counted = codes(plan(pattern=[row], mate=[mate | {"thickness": 4}]))
    assert "leaning-thread" in counted
    assert "lean-not-counted" not in counted
    assert "lean-not-counted" not in codes(plan(pattern=[row], mate=[mate | {"lean_deg": 0}]))
