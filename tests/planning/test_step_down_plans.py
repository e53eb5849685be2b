"""Step-downs from the job file into the plan, the sheet and the programs.

The hard floor is worked out a second time here, from the sizes as written: sheet plus k times the root of the sum of
squares of half-widths over the root of three (GUM, JCGM 100:2008, 4.3.7 and 5.1.2).
"""

from __future__ import annotations

import json
import math
import re
from fractions import Fraction
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.delivery import plan_folder
from holecam.delivery.plan_folder import plan_job
from holecam.errors import FileContentError, InputError
from holecam.job.models import job_from_dict
from holecam.output.plan_json import plan_json
from holecam.output.step_down_table import step_down_table
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Finding, Severity
from holecam.plan.motions import ProgramPlan
from holecam.plan.plan import Plan
from holecam.plan.step_down import StepDownReport
from holecam.plan.work import Operation, OperationKind
from holecam.planning.plan_job import make_plan, make_plans
from holecam.program.checking import check_program
from holecam.program.writer import write_program
from holecam.shapes import Curve

INCH = Fraction(254, 10)
NAME = "rail end"

WALL = [[40, 0.5], [6, 0.5], {"arc_to": [-0.5, -6], "centre": [6, -6], "turn": "left"}, [-0.5, -20]]
"""A wall behind the bar and round its left end, the cut on its left."""

REGION = {
    "points": [[0, -11], [12, -11], [12, 0], [6, 0], {"arc_to": [0, -6], "centre": [6, -6], "turn": "left"}],
}
"""The left end of a bar that follows the wall; side 2 is the rest of the bar."""


def job_data(**more: Any) -> dict[str, Any]:
    step_down = {
        "name": NAME,
        "layers": [
            {"is": "brass rail", "thick": 1.2, "within": 0.02},
            {"is": "soft solder", "thick": 0.15, "within": 0.03},
            {"is": "copper hood", "thick": 0.6, "within": 0.02, "keep": True},
        ],
        "touch": {"on": "brass rail", "with": "lamp", "within": 0.01},
        "wedge": 0.005,
        "machine_within": 0.005,
        "region": REGION,
        "open_sides": [1],
        "cutter": "mill",
        "bend": {"inside_radius": 1.6, "margin": 0.5, "along": WALL},
    }
    step_down.update(more.pop("step_down", {}))
    for key in [k for k, v in step_down.items() if v is None]:
        del step_down[key]
    data: dict[str, Any] = {
        "title": "rail over a sheet",
        "unit": "mm",
        "machine": {"kind": "cnc", "readout": 0.005, "safe_height": 10},
        "tools": {"drills": ["metric"], "end_mills": [{"name": "mill", "diameter": 5}]},
        "part": {"material": "brass", "thickness": 1.2, "outline": {"rectangle": [60, 11], "at": [0, -11]}},
        "step_down": [step_down],
    }
    for key, value in more.items():
        data[key] = {**data[key], **value} if isinstance(data.get(key), dict) else value
    return data


def planned(**more: Any) -> Plan:
    return make_plan(job_from_dict(job_data(**more)))


def report_of(plan: Plan) -> StepDownReport:
    (report,) = plan.step_downs
    return report


def operation_of(plan: Plan) -> Operation:
    (operation,) = [o for o in plan.operations if o.kind is OperationKind.STEP_DOWN]
    return operation


def programs_of(plan: Plan) -> list[ProgramPlan]:
    return [p for p in plan.programs if "step-down" in p.name]


def stops_of(plan: Plan) -> dict[str, Finding]:
    return {f.code: f for f in plan.findings if f.severity is Severity.STOP}


def hard_floor_by_hand(sheet_z: float, half_widths: list[float], k: float = 3.0) -> float:
    return sheet_z + k * math.sqrt(sum(a * a for a in half_widths) / 3.0)


def written_heights(text: str, unit: str) -> list[Fraction]:
    blocks = [line for line in text.splitlines() if not line.startswith("(")]
    words = [w for line in blocks for w in re.findall(r"Z(-?[0-9.]+)", line)]
    return [Fraction(w) * (INCH if unit == "in" else 1) for w in words]


@pytest.mark.outside_check(
    subject=("step-down doubt", "hard floor"),
    source="law of propagation (GUM, JCGM 100:2008, 5.1.2): root of the sum of squares, written out by hand",
    closeness="1e-9 mm",
    standing="mathematics",
)
def test_the_hard_floor_is_the_sheet_plus_three_spreads() -> None:
    report = report_of(planned())
    by_hand = hard_floor_by_hand(-1.35, [0.02, 0.03, 0.01, 0.005, 0.005])
    assert report.hard_floor == pytest.approx(by_hand, abs=1e-9)
    assert report.sheet_z == pytest.approx(-1.35, abs=1e-12)
    assert report.passes[-1].z == report.floor
    assert report.hard_floor <= report.floor <= report.hard_floor + 0.011


@given(
    bar=st.floats(0.3, 3.0),
    bar_within=st.floats(0.0, 0.05),
    solder=st.floats(0.05, 0.4),
    solder_within=st.floats(0.0, 0.1),
    touch_within=st.floats(0.0, 0.03),
    on=st.sampled_from(["brass rail", "soft solder", "bare sheet"]),
    method=st.sampled_from(["usual", "worst"]),
    readout=st.sampled_from([0.005, 0.01, "0.0005 in", "0.001 in"]),
    unit=st.sampled_from(["mm", "in"]),
    decimals=st.sampled_from([None, 3, 4]),
)
@settings(max_examples=30, deadline=None)
def test_no_planned_or_written_height_passes_the_hard_floor(
    bar: float,
    bar_within: float,
    solder: float,
    solder_within: float,
    touch_within: float,
    on: str,
    method: str,
    readout: Any,
    unit: str,
    decimals: int | None,
) -> None:
    program: dict[str, Any] = {"unit": unit} if decimals is None else {"unit": unit, "decimals": decimals}
    plan = planned(
        step_down={
            "layers": [
                {"is": "brass rail", "thick": bar, "within": bar_within},
                {"is": "soft solder", "thick": solder, "within": solder_within},
                {"is": "copper hood", "thick": 0.6, "keep": True},
            ],
            "touch": {"on": on, "with": "lamp", "within": touch_within},
            "method": method,
            "region": {"rectangle": [6, 4]},
            "open_sides": [1, 2, 3, 4],
            "bend": None,
        },
        machine={"readout": readout, "program": program},
    )
    report = report_of(plan)
    half_widths = [touch_within, 0.005, 0.005]
    depth = 0.0
    if on == "brass rail":
        half_widths += [bar_within, solder_within]
        depth = bar + solder
    elif on == "soft solder":
        half_widths += [solder_within]
        depth = solder
    hard = sum(half_widths) - depth if method == "worst" else hard_floor_by_hand(-depth, half_widths)
    assert report.hard_floor == pytest.approx(hard, abs=1e-9)
    if report.withheld:
        assert not programs_of(plan)
        return
    least = Fraction(report.hard_floor)
    assert all(Fraction(p.z) >= least for p in report.passes)
    (made,) = programs_of(plan)
    text = write_program(made, plan.dialect)
    heights = written_heights(text, unit)
    assert min(heights) >= least
    assert min(heights) >= Fraction(report.floor) - Fraction(1, 10**9)  # rounded up, where the grids do not meet
    assert min(heights) <= Fraction(report.floor) + INCH / 1000  # and the floor is reached
    assert check_program(text, made, plan.dialect).passed


def test_a_wrong_stack_is_refused_while_the_job_is_read() -> None:
    layers = job_data()["step_down"][0]["layers"]
    with pytest.raises(InputError, match="above zero"):
        planned(step_down={"layers": [{**layers[0], "thick": -1.2}, *layers[1:]]})
    with pytest.raises(InputError, match="a layer of the stack to touch on"):
        planned(step_down={"touch": {"on": "steel table", "with": "lamp"}})
    with pytest.raises(InputError, match="keep = true"):
        planned(step_down={"layers": [{**layer, "keep": False} for layer in layers]})


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bend": {"inside_radius": 1.6, "margin": 0.5}}, "bend: expected along"),
        (
            {"bend": {"inside_radius": 1.6, "margin": 0.5, "gap": 0.5, "along": WALL}},
            "a gap of 0.5000 mm is to be kept",
        ),
        ({"bend": {"inside_radius": 1.6, "margin": 0.5, "along": [[40, -5], [-10, -5]]}}, "through its wall"),
        ({"open_sides": [9]}, "there is no side 9; the region has 5 sides"),
        ({"touch_far": {"on": "brass rail", "with": "lamp"}, "wedge": None}, "expected at in both touches"),
        ({"touch_far": {"on": "bare sheet", "with": "lamp"}, "wedge": None}, "the face of the first touch"),
        ({"look": [{"at_z": -1.3, "seen": "bar"}, {"at_z": -1.2, "seen": "layer"}]}, "contradict"),
        ({"contact_percent": 100}, "expected between 0 and 1"),
        ({"layers": [{"is": "brass rail", "thick": 1.2}, {"is": "wax", "keep": True}]}, 'layer "wax": expected thick'),
    ],
)
def test_what_cannot_be_is_refused_with_the_name_of_the_step_down(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=f'step-down "{NAME}": .*{re.escape(words)}'):
        planned(step_down=change)


def test_a_region_without_a_cutter_at_hand_is_refused() -> None:
    with pytest.raises(InputError, match="expected a cutter for its region"):
        planned(step_down={"cutter": None}, tools={"end_mills": []})


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"touch": {"on": "brass rail", "with": "lamp", "within": 2.0}}, "spread-exceeds-stack"),
        ({"floor_margin": 1.3}, "nothing-to-cut"),
        ({"look": [{"at_z": -1.3, "seen": "sheet"}]}, "sheet-reached"),
        ({"look": [{"at_z": -1.6, "seen": "bar"}]}, "answers-unlikely"),
        ({"bend": {"inside_radius": 1.6, "margin": 20, "along": WALL}}, "nothing-to-cut"),
        ({"region": {"rectangle": [6, 4], "at": [20, -8]}, "open_sides": [], "bend": None}, "cutter-too-large"),
    ],
)
@pytest.mark.parametrize("kind", ["cnc", "manual"])
def test_a_stop_withholds_program_rows_and_looks(change: dict[str, Any], code: str, kind: str) -> None:
    plan = planned(step_down=change, machine={"kind": kind})
    stop = stops_of(plan)[code]
    assert stop.operation == NAME
    operation = operation_of(plan)
    assert operation.withheld == report_of(plan).withheld != ""
    assert not operation.rows
    assert not operation.stops
    assert not operation.program
    assert not programs_of(plan)
    assert "NOTHING TO MILL" in text_sheet(plan)


def test_work_that_a_code_decides_on_gets_neither_heights_nor_programs() -> None:
    plan = planned(part={"service": "pressure"})
    assert "licensed-work" in stops_of(plan)
    assert report_of(plan).passes == ()
    assert not programs_of(plan)
    assert not operation_of(plan).rows


def test_the_program_passes_its_check_and_stops_at_every_look() -> None:
    planned_job = plan_job(job_from_dict(job_data()))
    plan = planned_job.plans[0]
    report, operation = report_of(plan), operation_of(plan)
    text = planned_job.programs[0][operation.program]
    assert len(report.stops) >= 3
    # one halt for the change of the cutter, one for each look
    assert len(re.findall(r"^M0$", text, re.M)) == 1 + len(report.stops)
    assert not any(f.severity is Severity.STOP for f in plan.findings)
    assert [s.title for s in operation.stops] == [f"look after pass {p.number}, Z {p.z:+.3f} mm" for p in report.stops]
    by_number = {row.number: row for row in operation.rows}
    assert [by_number[s.after_row].z for s in operation.stops] == [p.z for p in report.stops]


def test_one_height_a_step_deeper_fails_the_check() -> None:
    plan = planned()
    (program,) = programs_of(plan)
    text = write_program(program, plan.dialect)
    heights = [p.z for p in report_of(plan).passes]
    for z in (heights[0], heights[-2], heights[-1]):
        deeper = text.replace(f"Z{z:.3f}\n", f"Z{z - 0.005:.3f}\n", 1)
        assert deeper != text
        result = check_program(deeper, program, plan.dialect)
        assert not result.passed, z


def test_a_pass_under_the_hard_floor_is_named_as_such() -> None:
    plan = planned()
    (program,) = programs_of(plan)
    floor = report_of(plan).floor
    text = write_program(program, plan.dialect).replace(f"Z{floor:.3f}\n", f"Z{floor - 0.03:.3f}\n")
    codes = {f.code for f in check_program(text, program, plan.dialect).findings}
    assert "below-hard-floor" in codes


def test_a_cut_nearer_to_the_lip_is_found_by_the_limits_alone() -> None:
    # without the planned path: only hard floor, bend and stock are asked
    from holecam.program.checking import verify_text

    plan = planned(step_down={"bend": {"inside_radius": 1.6, "margin": 0.0, "along": WALL}})
    (program,) = programs_of(plan)
    text = write_program(program, plan.dialect)

    def codes(words: str) -> set[str]:
        found = verify_text(
            words, dialect=plan.dialect, limits=program.limits, tools=program.tools, safe_height=program.safe_height
        )
        return {f.code for f in found.findings if f.severity is Severity.STOP}

    assert codes(text) == set()
    shifted = re.sub(r"X(-?[0-9.]+)", lambda m: f"X{float(m[1]) - 0.05:.3f}", text)
    assert any("bend" in code for code in codes(shifted))


def test_one_file_for_each_pass() -> None:
    job = job_from_dict(job_data(machine={"program": {"step_down_programs": "one per pass"}}))
    planned_job = plan_job(job)
    plan = planned_job.plans[0]
    report, operation = report_of(plan), operation_of(plan)
    names = [operation.program, *operation.more_programs]
    assert len(names) == len(report.passes)
    for step, name in zip(report.passes, names, strict=True):
        text = planned_job.programs[0][name]
        assert name.endswith(f"-pass-{step.number:02d}.nc")
        assert float(min(written_heights(text, "mm"))) == pytest.approx(step.z, abs=1e-9)
        assert len(re.findall(r"^M0$", text, re.M)) == 1
        assert ("look." in text.replace("\n(... ", " ")) == step.stop


def test_one_refused_pass_withholds_all_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    from msgspec.structs import replace

    job = job_from_dict(job_data(machine={"program": {"step_down_programs": "one per pass"}}))
    plan = make_plan(job)
    last = programs_of(plan)[-1]
    (floor,) = last.limits.hard_floors
    raised = replace(last, limits=replace(last.limits, hard_floors=(replace(floor, z=floor.z + 0.05),)))
    broken = replace(plan, programs=(*plan.programs[:-1], raised))
    monkeypatch.setattr(plan_folder, "make_plans", lambda _: (broken,))
    result = plan_job(job)
    assert result.programs == ({},)
    assert result.plans[0].programs == ()
    assert "below-hard-floor" in operation_of(result.plans[0]).withheld
    assert not operation_of(result.plans[0]).more_programs


def test_still_bar_lowers_the_floor_and_the_layer_raises_or_keeps_it() -> None:
    before = report_of(planned())
    look = before.stops[0]
    assert look.still_bar is not None
    after = report_of(planned(step_down={"look": [{"at_depth": -look.z, "seen": "bar"}]}))
    assert after.floor < before.floor
    assert after.floor == pytest.approx(look.still_bar.next_floor, abs=1e-9)
    assert after.hard_floor < before.hard_floor
    assert after.start == pytest.approx(look.z, abs=1e-9)
    assert after.passes[0].z < look.z
    assert after.answers == (f"brass rail at Z {look.z:.3f} mm",)
    assert look.layer_shows is not None
    seen = report_of(planned(step_down={"look": [{"at_z": look.z, "seen": "layer"}]}))
    assert seen.hard_floor > after.hard_floor
    assert seen.floor == pytest.approx(look.layer_shows.next_floor, abs=1e-9)


def test_a_program_after_an_answer_passes_its_check() -> None:
    look = report_of(planned()).stops[0]
    plan = planned(step_down={"look": [{"at_z": look.z, "seen": "bar"}]})
    (program,) = programs_of(plan)
    assert check_program(write_program(program, plan.dialect), program, plan.dialect).passed
    # metal still stands to the top beside the cut: no rapid under it
    assert program.limits.stock is not None
    assert program.limits.stock.top_z == pytest.approx(0.0, abs=1e-9)


def test_a_stop_says_how_far_each_answer_goes() -> None:
    plan = planned()
    report, operation = report_of(plan), operation_of(plan)
    for stop, step in zip(operation.stops, report.stops, strict=True):
        assert step.layer_shows is not None
        assert step.still_bar is not None or step is report.stops[-1]
        floor = step.layer_shows.next_floor
        if step.layer_shows.ends_here:
            assert "soft solder shows: end here" in stop.expect
        elif floor > report.floor + 1e-6:
            assert f"soft solder shows: no pass below Z {floor:.3f} mm, end there" in stop.expect
        else:
            assert "soft solder shows: go on" in stop.expect
        if step.still_bar is not None:
            assert f"still only bar: go on, and a new plan may go down to Z {step.still_bar.next_floor:.3f} mm" in (
                stop.expect
            )


def test_where_nothing_is_left_to_mill_the_plan_says_so_and_has_no_program() -> None:
    lowest = report_of(planned()).stops[-1]
    plan = planned(step_down={"look": [{"at_z": lowest.z, "seen": "layer"}], "floor": "above the layer"})
    assert report_of(plan).passes == ()
    assert report_of(plan).withheld == ""
    assert "floor-reached" in {f.code for f in plan.findings}
    assert operation_of(plan).instructions == ("Nothing is left to mill: take the rest off by hand.",)
    assert not programs_of(plan)
    assert "No pass is left to mill." in text_sheet(plan)


def over_pattern(**more: Any) -> dict[str, Any]:
    return {"name": "pins", "points": [[20, -5], [30, -5]], "drill": "1 mm", "thickness": 1.5, "over": NAME, **more}


def test_holes_above_the_sheet_keep_the_hard_floor_with_their_point() -> None:
    data = job_data(pattern=[over_pattern(depth={"leave_bottom": 0})])
    data["step_down"][0]["region"] = {"rectangle": [60, 11], "at": [0, -11]}
    data["step_down"][0].update(open_sides=[1, 2, 3, 4], bend=None)
    del data["step_down"][0]["bend"]
    planned_job = plan_job(job_from_dict(data))
    plan = planned_job.plans[0]
    hard = hard_floor_by_hand(-1.35, [0.02, 0.03, 0.01, 0.005, 0.005])
    report = report_of(plan)
    assert report.drill_tip_depth == pytest.approx(-report.floor, abs=0.006)
    deepest = max(s.tip_depth for h in plan.holes for s in h.steps)
    assert deepest == pytest.approx(report.drill_tip_depth, abs=1e-9)
    drilled = [text for name, text in planned_job.programs[0].items() if "drill" in name]
    assert drilled
    for text in drilled:
        assert min(written_heights(text, "mm")) >= Fraction(hard)


def test_touched_on_the_sheet_the_drill_still_counts_from_the_bar() -> None:
    # the sheet is known to 0.01 on the readout, but a drill is touched off on the bar: its thickness counts as well
    report = report_of(planned(step_down={"touch": {"on": "bare sheet", "with": "lamp", "within": 0.01}}))
    from_bar = hard_floor_by_hand(-1.35, [0.02, 0.03, 0.01, 0.005, 0.005])
    assert report.hard_floor == pytest.approx(hard_floor_by_hand(0.0, [0.01, 0.005, 0.005]), abs=1e-9)
    assert report.drill_tip_depth <= -from_bar - 0.005
    assert report.drill_tip_depth >= -from_bar - 0.011


def test_a_hole_too_deep_above_the_sheet_is_withheld() -> None:
    plan = planned(pattern=[over_pattern(depth={"to_tip": 1.32})])
    assert "breaks-through" in stops_of(plan)
    assert all(h.withheld for h in plan.holes)
    with pytest.raises(InputError, match="a through hole over a protected sheet"):
        planned(pattern=[over_pattern()])


def test_a_through_hole_that_forgot_what_lies_under_it_fails_its_check() -> None:
    patterns = [
        over_pattern(points=[[9, -5]], depth={"to_tip": 0.8}),
        {"name": "forgotten", "points": [[9, -9]], "drill": "1 mm"},
    ]
    result = plan_job(job_from_dict(job_data(pattern=patterns)))
    assert any(f.code == "below-hard-floor" and f.severity is Severity.STOP for f in result.findings)
    assert not any("drill" in name for name in result.programs[0])


def lines_of(curves: tuple[Curve, ...]) -> shapely.LineString:
    points = [c.point_at(n / 200) for c in curves for n in range(200)]
    return shapely.LineString([*points, curves[-1].end])


@pytest.mark.parametrize("bulge", [False, True])
def test_rows_by_hand_never_come_nearer_to_the_wall_than_the_limit(*, bulge: bool) -> None:
    step_down: dict[str, Any] = {}
    if bulge:  # the wall bulges into the cut
        wall = [[40, 2], [16, 2], {"arc_to": [4, 2], "centre": [10, 2], "turn": "right"}, [-20, 2]]
        step_down = {
            "bend": {"inside_radius": 1.0, "margin": 0.3, "along": wall},
            "region": {"points": [[0, -14], [20, -14], [20, -5], [0, -5]]},
            "open_sides": [1, 2, 4],
        }
    plan = planned(step_down=step_down, machine={"kind": "manual"})
    report, operation = report_of(plan), operation_of(plan)
    assert not programs_of(plan)
    assert report.plan_view is not None
    wall_line = lines_of(report.plan_view.walls[0])
    limits = {p.z: p.sides[0].axis for p in report.passes}
    assert {row.z for row in operation.rows} == set(limits)
    moves: dict[str, list[Any]] = {}
    slanted = 0
    for row in operation.rows:
        assert row.z is not None
        if row.to_part is None:  # a stroke or a whole pass that goes where an earlier one went
            (earlier,) = re.findall(r"as (p\d+(?: s\d+)?)$", row.note)
            lines = [m for label, ms in moves.items() if f"{label} ".startswith(f"{earlier} ") for m in ms]
            assert lines
        else:
            lines = [shapely.LineString([row.xy_part, row.to_part])]
            slanted += row.xy_part[0] != row.to_part[0] and row.xy_part[1] != row.to_part[1]
        moves.setdefault(row.label, []).extend(lines)
        limit = limits[row.z]
        assert limit is not None
        assert min(line.distance(wall_line) for line in lines) >= limit - 0.001
    assert slanted > 4  # the curved corner is gone round
    assert {row.label.split()[0] for row in operation.rows} == {f"p{p.number}" for p in report.passes}


def test_the_twin_is_planned_anew_with_the_metal_on_the_same_side() -> None:
    data = job_data(other_hand={"hand": "right", "flip": "x"}, hand="left")
    left, right = make_plans(job_from_dict(data))
    a, b = report_of(left), report_of(right)
    assert [p.z for p in a.passes] == [p.z for p in b.passes]
    assert [p.sides for p in a.passes] == [p.sides for p in b.passes]
    assert b.passes[-1].left is not None
    assert a.passes[-1].left is not None
    assert b.passes[-1].left.area == pytest.approx(a.passes[-1].left.area, rel=1e-3)
    for plan in (left, right):
        (program,) = programs_of(plan)
        assert check_program(write_program(program, plan.dialect), program, plan.dialect).passed
        view = report_of(plan).plan_view
        assert view is not None
        wall = lines_of(view.walls[0])
        limit, along = a.passes[-1].sides[0].axis, 0.0
        assert limit is not None
        # conventional: metal and wall lie on the left of the travel; the last stroke runs along the limit
        for curve in view.strokes[-1].curves:
            (x, y), (tx, ty) = curve.point_at(0.5), curve.tangent_at(0.5)
            if shapely.Point(x, y).distance(wall) < limit + 1e-3:
                on_left = shapely.Point(x - ty, y + tx).distance(wall)
                on_right = shapely.Point(x + ty, y - tx).distance(wall)
                assert on_left < on_right
                along += curve.length
        assert along > 10.0


def test_a_skewed_part_is_cut_where_it_lies() -> None:
    straight = planned()
    turned = planned(setup={"skew": {"edge": {"first": [1, 2], "second": [1, 52]}, "found_by": "edge finder"}})
    (program,) = programs_of(turned)
    assert check_program(write_program(program, turned.dialect), program, turned.dialect).passed
    # a quarter turn: X of the readout is minus Y of the part, Y is X of the part
    first, other = operation_of(straight).rows[0], operation_of(turned).rows[0]
    assert other.xy_part == first.xy_part
    assert other.xy_machine == pytest.approx((-first.xy_part[1], first.xy_part[0]), abs=1e-9)


def test_thickness_from_solder_and_from_readings() -> None:
    layers = [
        {"is": "brass rail", "thick": 1.2, "within": 0.02},
        {"is": "soft solder", "solder": {"wire_length": 100, "wire_diameter": 1.0, "joint": [60, 11]}, "within": 0.03},
        {"is": "copper hood", "thick": 0.6, "within": 0.02, "keep": True},
    ]
    report = report_of(planned(step_down={"layers": layers}))
    assert report.layers[1].thickness == pytest.approx(100 * math.pi / 4 / 660, abs=1e-9)  # volume over area
    layers[1] = {"is": "soft solder", "measured": [0.75], "measured_over": "this and all below"}
    report = report_of(planned(step_down={"layers": layers}))
    assert report.layers[1].thickness == pytest.approx(0.15, abs=1e-9)
    # the sheet's own doubt is in the solder's figure: 0.02, with the micrometer's 0.005
    by_hand = hard_floor_by_hand(-1.35, [0.02, 0.02, 0.005, 0.01, 0.005, 0.005])
    assert report.hard_floor == pytest.approx(by_hand, abs=1e-9)
    layers[1] = {"is": "soft solder"}
    assert report_of(planned(step_down={"layers": layers})).layers[1].thickness == pytest.approx(0.1)


def test_solder_may_be_weighed_instead() -> None:
    """0.66 g of tin-lead solder, 8.4 g/cm3, are 78.571 mm3; a tenth ran out; over 60 x 11 mm that is 0.10714 mm."""

    def thickness(solder: dict[str, object], name: str = "soft solder") -> float:
        layers = [
            {"is": "brass rail", "thick": 1.2, "within": 0.02},
            {"is": name, "solder": {"joint": [60, 11], **solder}, "within": 0.03},
            {"is": "copper hood", "thick": 0.6, "within": 0.02, "keep": True},
        ]
        return report_of(planned(step_down={"layers": layers})).layers[1].thickness

    assert thickness({"mass_g": 0.66, "lost_percent": 10}) == pytest.approx(0.107143, abs=1e-6)
    # lead-free solder is lighter, so that as many grams make a thicker layer: 8.4 / 7.3
    assert thickness({"mass_g": 0.66}, "lead-free solder") == pytest.approx(0.66 / 7.3 * 1000 / 660, abs=1e-9)
    # the same solder measured as wire of 1 mm: 0.66 g are 100.04 mm of it
    wire = 0.66 / 8.4e-3 / (math.pi / 4)
    assert thickness({"wire_length": wire, "wire_diameter": 1.0}) == pytest.approx(
        thickness({"mass_g": 0.66}), abs=1e-6
    )
    for wrong, found in (
        ({"mass_g": 0.66, "wire_length": 100}, "It has wire_length and mass_g"),
        ({"wire_diameter": 1.0}, "It has wire_diameter alone"),
        ({}, "It has none of them"),
    ):
        with pytest.raises(FileContentError, match=found):
            thickness(wrong)
    with pytest.raises(InputError, match="its density is needed to make a thickness of a mass"):
        thickness({"mass_g": 0.66}, "riveted joint")


def test_the_wedge_comes_from_the_second_touch() -> None:
    # 0.04 higher at 40 mm: over a cut that reaches from 0 to 12 mm the sheet stands 0.012 higher at its far end
    report = report_of(
        planned(
            step_down={
                "wedge": None,
                "touch": {"on": "brass rail", "with": "lamp", "within": 0.0, "at": [0, -5]},
                "touch_far": {"on": "brass rail", "with": "lamp", "within": 0.0, "at": [40, -5], "reads": 0.04},
            }
        )
    )
    assert report.sheet_z == pytest.approx(-1.35 + 0.012, abs=1e-9)
    assert report.touch.wedge == "two touch-offs"


def test_without_a_region_the_heights_and_limits_stand_and_no_program() -> None:
    plan = planned(step_down={"region": None, "open_sides": None, "bend": {"inside_radius": [1.5, 1.6], "margin": 0.5}})
    report, operation = report_of(plan), operation_of(plan)
    assert not programs_of(plan)
    assert not operation.rows
    assert len(operation.stops) == len(report.stops) > 0
    last = report.passes[-1].sides[0]
    # at the floor, height = gap: the cutter's flank stands at the tangent line of the largest radius plus the margin
    assert last.flank == pytest.approx(1.6 + 0.5, abs=1e-6)
    assert last.axis == pytest.approx(1.6 + 0.5 + 2.5, abs=1e-6)


def test_the_cutter_that_leaves_least_is_taken_where_none_is_named() -> None:
    tools = {
        "end_mills": [
            {"name": "big", "diameter": 8},
            {"name": "small", "diameter": 3},
            {"name": "b", "diameter": 4, "kind": "ball"},
        ]
    }
    assert report_of(planned(step_down={"cutter": None}, tools=tools)).cutter == "small"


def test_no_open_side_and_small_margins_are_said() -> None:
    plan = planned(step_down={"open_sides": []}, machine={"backlash": 0.6})
    codes = {f.code for f in plan.findings}
    assert {"no-open-side", "bend-margin-small"} <= codes
    assert "no-open-side" not in {f.code for f in planned().findings}


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_sheet_rounds_the_hard_floor_up_and_ticks_every_pass(unit: Any) -> None:
    report = report_of(planned())
    text = step_down_table(report, unit)
    assert max(len(line) for line in text.splitlines()) <= 80
    shown = re.search(r"HARD FLOOR Z (\S+):", text)
    assert shown is not None
    factor = INCH if unit == "in" else 1
    assert Fraction(shown[1]) * factor >= Fraction(report.hard_floor)
    assert Fraction(shown[1]) * factor < Fraction(report.hard_floor) + Fraction(3, 1000)
    rows = [line for line in text.splitlines() if re.match(r" *\d+ .*\[ \]", line)]
    assert len(rows) == len(report.passes)
    assert [("STOP" in row) for row in rows] == [p.stop for p in report.passes]
    for words in ("WHAT EACH LOOK ALLOWS", "WHAT THE CUTTER CANNOT REACH", "BEFORE THE FIRST PASS", "CAUTION"):
        assert words in text


def test_the_json_has_the_same_heights() -> None:
    plan = planned()
    facts = json.loads(plan_json(plan))["step_downs"][0]
    report = report_of(plan)
    assert [p["z_mm"] for p in facts["passes"]] == [p.z for p in report.passes]
    assert facts["hard_floor_z_mm"] == report.hard_floor
    assert facts["plan_view"]["region"]


def test_a_skewed_part_is_not_thinned_by_two_handwheels() -> None:
    """2 mm over 100 mm leads a pass of 12 mm off its axis by 0.24 mm, toward the bend."""
    skew = {"skew": {"edge": {"first": [0, 0], "second": [100, 2]}}}
    made = planned(machine={"kind": "manual"}, setup=skew)
    assert "skewed-by-hand" in stops_of(made)
    assert operation_of(made).rows == ()
    assert "skewed" in operation_of(made).withheld
    assert "skewed-by-hand" not in stops_of(planned(setup=skew))  # a program follows any line
    assert operation_of(planned(machine={"kind": "manual"})).rows


@pytest.mark.parametrize(("bond", "smears"), [("soft solder", True), ("silver braze", False)])
def test_only_solder_is_said_to_smear(bond: str, smears: bool) -> None:
    layers = job_data()["step_down"][0]["layers"]
    layers[1] = {"is": bond, "thick": 0.15, "within": 0.03}
    sheet = " ".join(text_sheet(planned(step_down={"layers": layers})).split())
    assert ("older smears" in sheet) == smears
    assert "hat looks bare may be covered" in sheet


def test_a_reading_of_the_only_touch_is_refused_for_it_would_not_be_used() -> None:
    touch = {"on": "brass rail", "with": "paper", "reads": 1.5}
    with pytest.raises(InputError, match="reads only beside a second touch"):
        planned(step_down={"touch": touch})


def test_programs_with_too_few_decimals_for_the_heights_are_told() -> None:
    def coarse(decimals: int) -> list[Finding]:
        result = make_plan(job_from_dict(job_data(machine={"program": {"decimals": decimals}})))
        return [f for f in result.findings if f.code == "coarse-heights"]

    (told,) = coarse(2)  # 0.005 mm shown, 0.01 mm written
    assert "too few for the heights of the table: pass" in told.message
    assert "written higher, by up to 0.005 mm, away from the sheet." in told.message
    assert "machine.program.decimals" in told.remedy
    assert coarse(3) == []
    # Written in inches with five decimals no height is met to the last bit; the readout, 0.005 mm, cannot show it
    inches = job_data(machine={"program": {"unit": "in", "decimals": 5}})
    assert [f for f in make_plan(job_from_dict(inches)).findings if f.code == "coarse-heights"] == []
    by_hand = make_plan(job_from_dict(job_data(machine={"kind": "manual"})))
    assert [f for f in by_hand.findings if f.code == "coarse-heights"] == []


def test_a_pass_that_would_cut_nothing_is_a_caution() -> None:
    fine = {"machine": {"readout": 0.001, "program": {"decimals": 2}}, "step_down": {"tail": [0.002, 0.002]}}
    result = make_plan(job_from_dict(job_data(**fine)))
    (told,) = [f for f in result.findings if f.code == "coarse-heights"]
    assert told.severity is Severity.CAUTION
    assert "would cut nothing: the height is that of the pass before." in told.message
