"""Laws that hold for every job: units, mirrors, numbers, withholding, increments."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.job.models import Job, job_from_dict
from holecam.output.plan_json import plan_facts
from holecam.output.readings import row_readings
from holecam.plan.finding import Severity
from holecam.plan.plan import Plan
from holecam.plan.work import OperationKind
from holecam.planning.plan_job import make_plan, make_plans

THOU = st.integers(-3000, 3000)
"""Coordinates in thousandths of an inch: shop-sized, exact in both units."""


def job(unit: str = "in", **more: Any) -> Job:
    data: dict[str, Any] = {
        "title": "test plate",
        "unit": unit,
        "part": {"material": "mild steel", "thickness": "1/4 in", "datum": "lower left corner"},
        "machine": {"readout": "0.0005 in", "kind": "cnc", "safe_height": "1/2 in"},
        "tools": {"drills": ["number", "letter", "fraction", "metric"]},
    }
    data.update(more)
    return job_from_dict(data)


def row(x: int, y: int, *, mm: bool, count: int = 4, pitch: int = 750, along: float = 30.0) -> list[dict[str, Any]]:
    def length(thou: int) -> str:
        return f"{float(Fraction(thou * 254, 10000)):.4f} mm" if mm else f"{thou / 1000:.3f} in"

    return [
        {
            "name": "row",
            "line": {"count": count, "pitch": length(pitch)},
            "thread": "10-32",
            "place": {"hole": 2, "at": [length(x), length(y)], "along": along, "found_by": "edge finder"},
        }
    ]


def coordinates(plan: Plan) -> list[tuple[float, float]]:
    return [h.xy_part for h in plan.holes]


@given(x=THOU, y=THOU, along=st.floats(-180, 180))
@settings(max_examples=25)
def test_inch_and_mm_jobs_of_one_part_give_one_plan(x: int, y: int, along: float) -> None:
    inch = make_plan(job(pattern=row(x, y, mm=False, along=along)))
    metric = make_plan(job(pattern=row(x, y, mm=True, along=along)))
    assert plan_facts(inch) == plan_facts(metric)


def test_the_unit_of_the_papers_does_not_move_a_hole() -> None:
    inch = make_plan(job("in", pattern=row(1234, -567, mm=False)))
    metric = make_plan(job("mm", pattern=row(1234, -567, mm=False)))
    assert coordinates(inch) == coordinates(metric)
    assert [h.steps for h in inch.holes] != []
    drills = [[(s.kind, s.diameter, s.tip_depth) for s in h.steps if s.kind.value == "tap drill"] for h in inch.holes]
    assert drills == [
        [(s.kind, s.diameter, s.tip_depth) for s in h.steps if s.kind.value == "tap drill"] for h in metric.holes
    ]


@given(x=THOU, y=THOU, along=st.floats(-180, 180))
@settings(max_examples=25)
def test_the_reference_hole_lies_exactly_where_it_was_asked(x: int, y: int, along: float) -> None:
    plan = make_plan(job(pattern=row(x, y, mm=False, along=along)))
    assert plan.holes[1].xy_part == (float(Fraction(x * 254, 10000)), float(Fraction(y * 254, 10000)))


@given(x=THOU, y=THOU)
@settings(max_examples=20)
def test_steps_add_up_to_the_last_absolute_reading(x: int, y: int) -> None:
    plan = make_plan(job(pattern=row(x, y, mm=False)))
    for operation in plan.operations:
        shown = list(row_readings(plan, operation.rows))
        if shown:
            assert sum(r.step_x.count for r in shown) == shown[-1].x.count
            assert sum(r.step_y.count for r in shown) == shown[-1].y.count


@pytest.mark.parametrize("flip", ["x", "y"])
def test_the_other_hand_changes_one_sign_and_no_finding_figure(flip: str) -> None:
    given_job = job(
        pattern=row(1000, 400, mm=False),
        other_hand={"hand": "right", "flip": flip},
        old_holes=[{"points": [["1.0 in", "0.55 in"]], "diameter": "1/8 in", "plug": "brass screw, soft soldered"}],
    )
    one, other = make_plans(given_job)
    sign = (-1, 1) if flip == "x" else (1, -1)
    assert coordinates(other) == [(sign[0] * x, sign[1] * y) for x, y in coordinates(one)]
    assert [(f.code, f.measured, f.limit) for f in one.findings] == [
        (f.code, f.measured, f.limit) for f in other.findings
    ]


def test_a_stop_withholds_the_whole_pattern_and_its_programs_but_no_other() -> None:
    patterns = [
        *row(1000, 1000, mm=False, along=0.0),
        {"name": "safe", "points": [["3 in", "0 in"], ["4 in", "0 in"]], "drill": "1/4 in"},
    ]
    old = [{"points": [["1.05 in", "1.0 in"]], "diameter": "1/4 in"}]
    plan = make_plan(job(pattern=patterns, old_holes=old))
    stops = [f for f in plan.findings if f.severity is Severity.STOP]
    assert {n for f in stops for n in f.holes} == {2}
    assert [h.withheld for h in plan.holes] == [True] * 4 + [False] * 2
    drilled = {e.number for p in plan.programs for e in p.limits.holes}
    assert drilled == {5, 6}
    assert all(r.hole in (5, 6, None) for o in plan.operations for r in o.rows)


def test_the_work_comes_in_its_order() -> None:
    plan = make_plan(
        job(
            pattern=row(1000, 1000, mm=False),
            old_holes=[{"points": [["0 in", "0 in"]], "diameter": "1/8 in", "to_plug": {"locked": "soldered"}}],
        )
    )
    kinds = [o.kind for o in plan.operations]
    assert kinds[:4] == [OperationKind.PLUG, OperationKind.FIND_DATUM, OperationKind.SPOT, OperationKind.MEASURE]
    assert kinds.index(OperationKind.DRILL) < kinds.index(OperationKind.TAP) < kinds.index(OperationKind.DEBURR)


def test_pressure_parts_get_no_program_and_no_advice() -> None:
    plan = make_plan(
        job(
            pattern=row(0, 0, mm=False),
            part={"material": "copper", "thickness": "1/8 in", "service": "pressure"},
        )
    )
    assert plan.programs == ()
    assert all(h.withheld for h in plan.holes)
    assert any(f.code == "licensed-work" and f.severity is Severity.STOP for f in plan.findings)


def test_a_pattern_moved_from_another_follows_it() -> None:
    patterns = [
        *row(1000, 500, mm=False, along=0.0),
        {
            "name": "second row",
            "like": "row",
            "drill": "1/8 in",
            "place": {"moved": {"from": "row", "shift": ["0 in", "-1 in"]}},
        },
    ]
    plan = make_plan(job(pattern=patterns))
    first, second = coordinates(plan)[:4], coordinates(plan)[4:]
    for (x, y), (moved_x, moved_y) in zip(first, second, strict=True):
        assert (moved_x, moved_y) == pytest.approx((x, y - 25.4), abs=1e-12)


def test_a_circle_of_places_is_refused() -> None:
    patterns = [
        {"name": "a", "like": "b", "drill": "1/8 in", "place": {"moved": {"from": "b", "shift": ["1 in", "0 in"]}}},
        {"name": "b", "like": "a", "drill": "1/8 in", "place": {"moved": {"from": "a", "shift": ["1 in", "0 in"]}}},
    ]
    with pytest.raises(InputError, match=r"itself|round|circle"):
        make_plan(job(pattern=patterns))


def test_a_skewed_part_gets_readings_and_keeps_part_coordinates() -> None:
    skew = {"edge": {"first": ["0 in", "0 in"], "second": ["5 in", "0.1 in"], "origin_reads": ["2 in", "1 in"]}}
    plan = make_plan(job(pattern=row(1000, 0, mm=False, along=0.0), setup={"skew": skew}))
    size = (5.0**2 + 0.1**2) ** 0.5
    hole = plan.holes[1]
    assert hole.xy_part == (25.4, 0.0)
    assert hole.xy_machine == pytest.approx((50.8 + 25.4 * 5 / size, 25.4 + 25.4 * 0.1 / size), abs=1e-9)
    assert plan.setup.skewed
    assert plan.setup.turn_deg == pytest.approx(1.1457628, abs=1e-6)  # atan(0.1 / 5), pocket calculator
