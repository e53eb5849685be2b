"""What the rows of a machine driven by hand ask of two handwheels, and what dials alone can show.

Expected figures follow from the sizes in the jobs by plane geometry; how backlash acts is common practice.
"""

from __future__ import annotations

import copy
import math
from typing import Any

import pytest
import shapely

from holecam.job.models import job_from_dict
from holecam.output.run_sheet import run_sheet
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Finding, Severity
from holecam.plan.motions import ToolKind
from holecam.plan.plan import Plan
from holecam.plan.work import Operation
from holecam.planning.plan_job import make_plan

BASE: dict[str, Any] = {
    "title": "invented",
    "unit": "mm",
    "machine": {"kind": "manual"},
    "tools": {
        "drills": ["metric"],
        "end_mills": [{"name": "six", "diameter": 6}, {"name": "three", "diameter": 3}],
    },
    "part": {"material": "brass", "thickness": 12, "outline": {"rectangle": [160, 110]}},
}
DIALS: dict[str, Any] = {"dials": {"lead": 2.5, "divisions": 125}, "approach": ["-x", "+y"], "backlash": [0.2, 0.1]}
STEP_DOWN: dict[str, Any] = {
    "name": "end",
    "layers": [
        {"is": "brass bar", "thick": 3, "within": 0.02},
        {"is": "soft solder", "thick": 0.15, "within": 0.04},
        {"is": "copper sheet", "thick": 0.6, "keep": True},
    ],
    "touch": {"on": "bare sheet", "with": "lamp", "within": 0.01},
    "region": {"points": [[0, 0], [20, 0], [20, 12], [0, 12]]},
    "open_sides": [1, 4],
    "cutter": "six",
    "supported_by": "a former",
}
SLANTING: dict[str, Any] = {"name": "slot", "from": [30, 20], "to": [90, 50], "width": 8, "depth": 2, "cutter": "six"}
CHAIN: dict[str, Any] = {"drill": "5 mm", "web": 0.5, "allowance": 0.3}


def plan(**more: Any) -> Plan:
    data = copy.deepcopy(BASE)
    for key, value in more.items():
        if isinstance(value, dict) and isinstance(data.get(key), dict):
            data[key].update(value)
        else:
            data[key] = value
    return make_plan(job_from_dict(data))


def told(result: Plan, code: str) -> list[Finding]:
    return [f for f in result.findings if f.code == code]


def off_axis(operation: Operation) -> list[bool]:
    """Whether each row that is a move goes along both axes of the table."""
    moves = [(r.xy_machine, r.to_machine) for r in operation.rows if r.to_machine is not None]
    return [min(abs(b[0] - a[0]), abs(b[1] - a[1])) > 0.005 for a, b in moves]


def test_a_move_of_a_step_down_along_both_axes_is_told() -> None:
    """The lead-in slants; the row said "come down beside the metal" and nothing of the second handwheel."""
    result = plan(step_down=[STEP_DOWN])
    (operation,) = result.operations
    slanting = off_axis(operation)
    assert any(slanting)
    assert not all(slanting)
    notes = [r.note for r in operation.rows if r.to_machine is not None]
    assert ["both handwheels" in note for note in notes] == slanting
    (finding,) = told(result, "two-handwheels")
    assert finding.severity is Severity.CAUTION
    assert f"on {sum(slanting)} of the {len(slanting)} straight moves" in finding.message


@pytest.mark.parametrize("machine", [{"kind": "cnc"}, {"kind": "manual"}], ids=["cnc", "manual"])
def test_it_is_told_only_where_two_handwheels_do_it(machine: dict[str, Any]) -> None:
    result = plan(step_down=[STEP_DOWN], machine=machine)
    assert len(told(result, "two-handwheels")) == (machine["kind"] == "manual")


def test_the_first_stroke_comes_down_beside_the_metal_and_not_where_nothing_is_cut_yet() -> None:
    region = {"rectangle": [25, 10], "at": [0, 33], "corner_radius": 3}
    result = plan(step_down=[{**STEP_DOWN, "region": region, "open_sides": [1, 2, 3], "cutter": "three"}])
    stock = shapely.box(0, 33, 25, 43).buffer(-3, join_style="mitre").buffer(3, quad_segs=64)
    rows = [r for r in result.operations[0].rows if "come down" in r.note]
    assert rows[0].label == "p1 s1"
    for row in rows:
        clear = stock.distance(shapely.Point(row.xy_part)) >= 1.5
        assert ("come down beside the metal" in row.note) == clear


def test_a_pass_by_dials_that_ends_against_the_approach_side_says_so() -> None:
    """A slot wall that is met against the approach side stays 0.1 mm short by the dial: the nut has that play."""
    slot = {"name": "slot", "from": [0, 30], "to": [60, 30], "width": 9, "depth": 2, "ends": ["open", "blind"]}
    for machine, dials_alone in ((DIALS, True), ({**DIALS, "readout": 0.01}, False), ({"readout": 0.01}, False)):
        result = plan(slot=[slot], machine=machine)
        (operation,) = result.operations
        for row in operation.rows:
            assert row.to_machine is not None
            (x, y), (to_x, to_y) = row.xy_machine, row.to_machine
            against = [a for a, wrong in (("X", to_x > x + 1e-3), ("Y", to_y < y - 1e-3)) if wrong]
            wanted = f"turn on {' and '.join(against)}" if against and dials_alone else ""
            assert ("turn on" in row.note) == bool(wanted)
            assert row.note.endswith(wanted)
        told_once = [line for line in operation.instructions if "the backlash (X 0.200 mm, Y 0.100 mm)" in line]
        assert len(told_once) == dials_alone


def test_an_axis_without_backlash_is_not_turned_on_and_an_unknown_one_is() -> None:
    slot = {"name": "slot", "from": [0, 30], "to": [60, 30], "width": 9, "depth": 2, "ends": ["open", "blind"]}
    none = plan(slot=[slot], machine={**DIALS, "backlash": [0, 0.1]})
    assert not [r for r in none.operations[0].rows if "turn on X" in r.note]
    unknown = plan(slot=[slot], machine={"dials": DIALS["dials"]})
    assert [r for r in unknown.operations[0].rows if "turn on X" in r.note]
    assert "by the backlash, else" in unknown.operations[0].instructions[-1]


def test_the_head_asks_nobody_to_run_past_the_end_of_a_pass() -> None:
    """ "End every move going -X" led a pass past its end into the wall and back."""
    slot = {"name": "slot", "from": [0, 30], "to": [60, 30], "width": 9, "depth": 2, "ends": ["open", "blind"]}
    sheet = text_sheet(plan(slot=[slot], machine=DIALS))
    assert "APPROACH: With the cutter up, end every move going −X and +Y; backlash 0.200" in sheet
    holes = text_sheet(plan(pattern=[{"name": "row", "points": [[20, 20]], "drill": "5 mm"}], machine=DIALS))
    assert "APPROACH: End every move going −X and +Y; backlash 0.200 mm." in holes


def test_a_skewed_part_on_a_machine_with_dials_asks_for_no_readout() -> None:
    skew = {"edge": {"first": [0, 1], "second": [100, 1.5], "along": "+x", "origin_reads": [0, 0]}}
    holes = [{"name": "row", "points": [[20, 20], [60, 20]], "drill": "5 mm"}]
    result = plan(pattern=holes, machine=DIALS, setup={"skew": skew})
    assert "readout" not in text_sheet(result)
    page = run_sheet(result)
    assert '<option value="machine">dials</option>' in page
    assert "readout 0 0" not in page
    assert "every position is given as the readout shows it" in " ".join(
        text_sheet(plan(pattern=holes, setup={"skew": skew})).split()
    )


def test_a_chain_of_holes_is_drilled_once_with_its_drill() -> None:
    """Each stage of sneaking up told the same holes again, with the end mill, and a width to measure between them."""
    slot = {**SLANTING, "chain_drill": CHAIN, "sneak": {"undersize": 0.5, "steps": 2}}
    result = plan(slot=[slot])
    (operation,) = result.operations
    assert operation.stops == ()
    tool = result.tool(operation.tool)
    assert (tool.kind, tool.diameter, tool.name) == (ToolKind.TWIST_DRILL, 5.0, "5.0 mm drill")
    assert [t.name for t in result.tools] == ["5.0 mm drill"]
    holes = [r.xy_part for r in operation.rows]
    apart = [math.dist(a, b) for n, a in enumerate(holes) for b in holes[:n]]
    assert min(apart) >= 5.5 - 1e-6
    assert operation.row_word == "hole"
    assert {r.z for r in operation.rows} == {-2.0}
    assert any("Sneaking up is left out" in line for line in operation.instructions)
    assert "Undersize" not in text_sheet(result)
    assert len(plan(slot=[slot], machine={"kind": "cnc"}).operations) == 3


def test_a_chain_through_the_part_lets_the_whole_point_out() -> None:
    slot = {**SLANTING, "depth": None, "through": True, "chain_drill": CHAIN}
    del slot["depth"]
    (operation,) = plan(slot=[slot]).operations
    assert operation.rows[0].z == pytest.approx(-12 - 2.5 / math.tan(math.radians(59)))


def test_a_drill_that_the_holes_use_keeps_its_number() -> None:
    result = plan(
        slot=[{**SLANTING, "chain_drill": CHAIN}], pattern=[{"name": "a", "points": [[9, 9]], "drill": "5 mm"}]
    )
    assert [t.name for t in result.tools].count("5.0 mm drill") == 1
    chain = next(o for o in result.operations if o.title == 'Slot "slot"')
    assert result.tool(chain.tool).name == "5.0 mm drill"


def test_a_second_cutter_has_no_rows_where_the_first_cannot_be_followed() -> None:
    """Its rows said "get down where it is open" on a pocket of which nothing was cut."""
    tray = {"points": [[20, 20], [50, 20], [50, 30], [35, 30], [35, 40], [20, 40]], "depth": 3, "name": "tray"}
    wish = {**tray, "cutter": "six", "second_cutter": "three", "strategy": "along the outline"}
    result = plan(pocket=[wish])
    assert told(result, "two-handwheels")
    assert [o.rows for o in result.operations] == [(), ()]
    assert "nothing is open for this one" in result.operations[1].instructions[-1]


@pytest.mark.parametrize("kind", ["manual", "cnc"])
def test_a_keep_out_across_a_slot_stops_it(kind: str) -> None:
    """Of a slot of 110 mm 18 mm were cut, and the plan said that it is open at both ends."""
    rib = {"name": "rib", "kind": "curve", "line": [[0, 18.5], [160, 18.5]], "margin": 0.5}
    slot = {"name": "slot", "from": [110, 0], "to": [110, 110], "width": 12, "depth": 2, "ends": ["open", "open"]}
    result = plan(slot=[{**slot, "cutter": "six"}], keep_out=[rib], machine={"kind": kind})
    (finding,) = told(result, "keep-out-in-slot")
    assert finding.severity is Severity.STOP
    # its edge reaches 6 mm past both edges of the part; 18 mm and 6 mm before the first are cut
    whole, cut = 12 * 122, 12 * (18 + 6)
    assert finding.measured == pytest.approx(whole - cut, abs=1.0)
    assert "its middle is 98.000 mm shorter" in finding.message
    assert all(not o.rows and not o.program for o in result.operations)
    clamp = {"name": "clamp", "rectangle": [10, 10], "at": [20, 80]}
    chosen = {**slot, "cutter": "six", "keep_from": "clamp"}
    free = plan(slot=[chosen], keep_out=[rib, clamp], machine={"kind": kind})
    assert not told(free, "keep-out-in-slot")


def test_a_keep_out_that_shortens_or_narrows_a_slot_is_told_and_its_own_stop_is_not() -> None:
    rib = {"name": "rib", "kind": "curve", "line": [[0, 60], [160, 60]], "margin": 1}
    slot = {"name": "slot", "from": [110, 20], "to": [110, 62], "width": 12, "depth": 2, "cutter": "six"}
    (short,) = told(plan(slot=[slot], keep_out=[rib]), "keep-out-in-slot")
    assert short.severity is Severity.CAUTION
    # the axis may go to 62 without it, and with it to 60 less margin and radius
    assert "its middle is 6.000 mm shorter" in short.message
    own = {**slot, "ends": ["blind", {"stop_short": "rib", "by": 1}]}
    assert not told(plan(slot=[own], keep_out=[rib]), "keep-out-in-slot")
    beside = {"name": "pin", "circle": 4, "centre": [118, 40], "margin": 1}
    (narrow,) = told(plan(slot=[slot], keep_out=[beside]), "keep-out-in-slot")
    assert "shorter" not in narrow.message
    far = {**beside, "centre": [130, 40]}
    assert not told(plan(slot=[slot], keep_out=[far]), "keep-out-in-slot")


def test_a_last_stage_that_two_handwheels_cannot_follow_is_told() -> None:
    """The overcut of a corner slants; the cut before it does not, and nothing was told."""
    pocket = {"name": "tray", "rectangle": [30, 20], "at": [40, 20], "depth": 2, "cutter": "three"}
    result = plan(pocket=[{**pocket, "relief": {"shape": "diagonal"}, "sneak": {"undersize": 0.4, "steps": 2}}])
    assert [bool(o.rows) for o in result.operations] == [True, True, False]
    (finding,) = told(result, "two-handwheels")
    assert "45.00 degrees" in finding.message


@pytest.mark.parametrize("kind", ["manual", "cnc"])
def test_a_slot_that_wants_no_spoil_board_gets_none_and_the_cutter_comes_down_beside_the_part(kind: str) -> None:
    """The key was read and not used: the sheet asked for the board, and for a ramp where the cutter starts outside."""
    slot = {"name": "slot", "from": [0, 30], "to": [60, 30], "width": 9, "depth": 2, "ends": ["open", "blind"]}
    result = plan(slot=[{**slot, "spoil_board": False, "cutter": "six"}], machine={"kind": kind})
    assert told(result, "no-spoil-board")
    assert not told(result, "spoil-board")
    assert not [f for f in result.findings if f.severity is Severity.STOP]
    assert "clamp a spoil board" not in " ".join(text_sheet(result).split())
    if kind == "manual":
        first = result.operations[0].rows[0]
        assert first.xy_part[0] <= -3.0  # the radius of the cutter off the edge at least
        assert "get down where it is open" in first.note
