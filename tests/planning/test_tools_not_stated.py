"""What is taken where a job says neither which drills are there nor how fast the spindle turns."""

from __future__ import annotations

from typing import Any

import pytest

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.plan.finding import Finding, Severity
from holecam.plan.motions import ToolKind
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan

CODE = "spindle-not-stated"


def plan(unit: str, *, thread: str = "M3", material: str = "brass", **more: Any) -> Plan:
    screws = {
        "name": "screws",
        "line": {"count": 2, "pitch": "20 mm"},
        "place": {"hole": 1, "at": ["10 mm", "10 mm"]},
        "thread": thread,
    }
    part = {"material": material, "thickness": "4 mm", "outline": {"rectangle": ["60 mm", "40 mm"]}}
    return make_plan(job_from_dict({"title": "plate", "unit": unit, "part": part, "pattern": [screws], **more}))


def drill_of(made: Plan) -> str:
    (name,) = [t.name for t in made.tools if t.kind is ToolKind.TWIST_DRILL]
    return name


def told(made: Plan) -> list[Finding]:
    return [f for f in made.findings if f.code == CODE]


@pytest.mark.parametrize(
    ("unit", "more", "drill"),
    [
        ("mm", {}, "2.5 mm drill"),
        ("in", {}, "#39 drill"),
        ("mm", {"tools": {"drills": ["number"]}}, "#39 drill"),
        ("in", {"tools": {"drills": "metric"}}, "2.5 mm drill"),
        ("mm", {"tools": {"spot_deg": 90}}, "2.5 mm drill"),
    ],
)
def test_the_drills_of_the_jobs_unit_are_taken_where_none_are_listed(
    unit: str, more: dict[str, Any], drill: str
) -> None:
    assert drill_of(plan(unit, **more)) == drill


def test_a_list_of_drills_without_a_drill_is_still_refused() -> None:
    with pytest.raises(InputError, match="at least one set or size of drills"):
        plan("mm", tools={"drills": []})


def test_a_program_for_an_unknown_spindle_says_that_its_feed_fits_one_speed_only() -> None:
    made = plan("mm", machine={"kind": "cnc"})
    (finding,) = told(made)
    asked = [o.spindle_rpm for o in made.operations if o.spindle_rpm]
    assert finding.severity is Severity.CAUTION
    assert finding.measured == max(asked) > 1500
    assert f"2 tools have a starting speed above 1500 turns a minute, {max(asked):.0f} with the" in finding.message
    assert "A program keeps its feed when the control cannot reach the speed" in finding.message
    assert "machine.spindle" in finding.remedy


def test_by_hand_it_is_a_note() -> None:
    (finding,) = told(plan("mm"))
    assert finding.severity is Severity.NOTE
    assert "program" not in finding.message


@pytest.mark.parametrize(
    "more",
    [
        pytest.param({"machine": {"spindle": {"slowest": 60, "fastest": 20_000}}}, id="stated"),
        pytest.param({"material": "mild steel", "thread": "M12"}, id="any mill turns as fast"),
    ],
)
def test_nothing_is_told_of_speeds_that_are_stated_or_that_any_mill_has(more: dict[str, Any]) -> None:
    assert told(plan("mm", **more)) == []


@pytest.mark.parametrize(
    ("tools", "told"),
    [({}, False), ({"spot_deg": 90}, True), ({"drill_point_deg": 135}, True), ({"spot_deg": 118}, False)],
)
def test_a_spot_steeper_than_the_drills_point_is_told(tools: dict[str, Any], told: bool) -> None:
    found = [f for f in plan("mm", tools=tools).findings if f.code == "steep-spot"]
    assert bool(found) is told
    assert all(f.severity is Severity.NOTE and (f.measured or 0.0) < (f.limit or 0.0) for f in found)
