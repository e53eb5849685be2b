"""A machine that cannot feed as fast as the cutter wants: the spindle turns slower, and what still rubs is told."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from holecam.job.models import job_from_dict
from holecam.job.models_machine import Machine
from holecam.plan.finding import Finding, Severity
from holecam.plan.motions import Feed, SpindleOn
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan
from holecam.planning.spindle_speeds import speed_and_feed

JOB: dict[str, Any] = {
    "title": "invented",
    "unit": "mm",
    "machine": {"kind": "cnc"},
    "tools": {
        "drills": ["metric"],
        "end_mills": [
            {"name": "cutter", "diameter": 6, "flutes": 4},
            {"name": "small", "diameter": 3, "flutes": 2},
        ],
    },
    "part": {"material": "brass", "thickness": 12, "outline": {"rectangle": [160, 80]}},
    "pocket": [
        {"name": "recess", "rectangle": [40, 25], "at": [40, 20], "depth": 2, "cutter": "cutter",
         "second_cutter": "small"}
    ],
    "pattern": [{"name": "holes", "points": [[20, 20]], "drill": "5 mm"}],
}  # fmt: skip


def plan(*, cutting: dict[str, Any] | None = None, **machine: Any) -> Plan:
    job = copy.deepcopy(JOB)
    job["machine"].update(machine)
    if cutting is not None:
        job["pocket"][0]["cutting"] = cutting
    return make_plan(job_from_dict(job))


def rubbing(made: Plan) -> list[Finding]:
    return [f for f in made.findings if f.code == "teeth-rub"]


def chips(made: Plan) -> dict[str, float]:
    """Feed a turn of each operation, mm."""
    return {o.title: o.feed / o.spindle_rpm for o in made.operations if o.feed and o.spindle_rpm}


def test_the_chip_stays_and_the_spindle_slows_down() -> None:
    free, slow = plan(), plan(fastest_feed=100)
    assert chips(slow) == pytest.approx(chips(free), rel=0.01)
    speeds = [o.spindle_rpm for o in slow.operations if o.spindle_rpm]
    assert max(speeds) < max(o.spindle_rpm for o in free.operations if o.spindle_rpm)
    assert rubbing(slow) == rubbing(free) == []


def test_programs_turn_and_feed_as_the_sheet_says() -> None:
    made = plan(fastest_feed=100)
    for operation in made.operations:
        program = next((p for p in made.programs if p.name == operation.program), None)
        if program is None or operation.feed is None:
            continue
        feeds = [m.feed_mm_min for m in program.motions if isinstance(m, Feed)]
        assert max(feeds, default=0.0) <= 100.0
        assert {m.rpm for m in program.motions if isinstance(m, SpindleOn)} == {operation.spindle_rpm}


def test_where_the_spindle_turns_no_slower_the_rubbing_is_told() -> None:
    made = plan(fastest_feed=20, spindle={"slowest": 2000, "fastest": 20_000})
    by_tool = {f.about: f for f in rubbing(made)}
    assert set(by_tool) == {'pocket "recess"', '"holes"'}
    found = by_tool['pocket "recess"']
    assert found.severity is Severity.CAUTION
    assert found.measured is not None
    assert "a tooth instead of" in found.message
    assert by_tool['"holes"'].measured == pytest.approx(20 / 2000)
    assert sum(f.about == 'pocket "recess"' for f in rubbing(made)) == 2, "the second cutter as well"


def test_stated_speeds_and_feeds_are_kept_and_told() -> None:
    made = plan(cutting={"speed_rpm": 3000}, fastest_feed=60)
    pocket = next(o for o in made.operations if o.title == 'Pocket "recess"')
    assert (pocket.spindle_rpm, pocket.feed) == (3000, 60)
    (found,) = rubbing(made)
    assert found.measured == pytest.approx(60 / 3000 / 4)
    assert "0.0050 mm a tooth" in found.message
    slow = plan(cutting={"feed": 30})
    assert next(o.feed for o in slow.operations if o.title == 'Pocket "recess"') == 30
    assert len(rubbing(slow)) == 1


@pytest.mark.parametrize(
    ("machine", "rpm", "feed"),
    [
        ({}, 5000.0, 1000.0),
        ({"fastest_feed": 2000}, 5000.0, 1000.0),
        ({"fastest_feed": 100}, 500.0, 100.0),
        ({"fastest_feed": 100, "spindle": {"slowest": 800, "fastest": 6000}}, 800.0, 100.0),
        ({"fastest_feed": 100, "spindle": {"slowest": 250, "fastest": 4000, "steps": [250, 450, 4000]}}, 450.0, 90.0),
        ({"fastest_feed": 100, "spindle": {"slowest": 700, "fastest": 4000, "steps": [700, 4000]}}, 700.0, 100.0),
        ({"fastest_feed": 1}, 60.0, 1.0),
    ],
)
def test_by_hand(machine: dict[str, Any], rpm: float, feed: float) -> None:
    """0.2 mm a turn, at most 5000 turns a minute: 100 mm a minute are 500 turns."""
    job = job_from_dict({**copy.deepcopy(JOB), "machine": {"kind": "cnc", **machine}})
    assert isinstance(job.machine, Machine)
    assert speed_and_feed(5000.0, 0.2, job.machine) == pytest.approx((rpm, feed))
