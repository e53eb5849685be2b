"""What a job says counts: no key is accepted and then ignored, and the less common ones do what they say."""

from __future__ import annotations

import inspect
import math
import re
from pathlib import Path
from typing import Any

import pytest
from test_planning_regressions import OLD, codes, plan
from test_step_down_plans import planned, report_of

import holecam
import holecam.job.models as job_models
from holecam.errors import FileContentError
from holecam.job.quantities import Model
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Severity

HOUSE = Path(holecam.__file__).parent


def all_models(start: type[Model]) -> set[type[Model]]:
    """Return every table of the job file, found from the job's own classes."""
    found: set[type[Model]] = set()
    open_ones = [start]
    while open_ones:
        for sub in open_ones.pop().__subclasses__():
            if sub not in found:
                found.add(sub)
                open_ones.append(sub)
    return found


def test_every_key_is_read_by_some_module_that_works_with_it() -> None:
    models = [m for m in all_models(Model) if m.__module__.startswith("holecam.job.models")]
    assert job_models.Job in models
    defined = {Path(inspect.getfile(m)) for m in models}
    code = "\n".join(p.read_text(encoding="utf-8") for p in HOUSE.rglob("*.py") if p not in defined)
    models_code = "\n".join(p.read_text(encoding="utf-8") for p in defined)
    unread = []
    for model in models:
        for name in model.model_fields:
            read = re.search(rf"\.{name}\b", code)
            # or the model itself turns it into something that is read
            kept = re.findall(rf"self\.{name}\b", models_code)
            if not read and not kept:
                unread.append(f"{model.__name__}.{name}")
    assert unread == []


def test_the_doubt_of_the_zero_joins_that_of_the_place() -> None:
    row = {"thread": "M5", "place": {"hole": 1, "at": [30, -30], "within": 0.03}}
    alone = plan(row).holes[0].doubt.together
    both = plan(row, setup={"zero_within": 0.04}).holes[0].doubt.together
    assert alone == pytest.approx(0.03 / math.sqrt(3))
    assert both == pytest.approx(0.05 / math.sqrt(3))  # 3, 4, 5
    sheet = " ".join(
        text_sheet(plan(row, setup={"zero_found_by": "edge finder", "z_zero": "the bed of the vice"})).split()
    )
    assert "X and Y zeroed surely within" in sheet
    assert "Z zeroed on: the bed of the vice." in sheet


def test_a_pattern_placed_from_found_holes_does_not_care_for_the_zero() -> None:
    found = {"measured": [{"hole": 1, "at": [30, -30]}, {"hole": 3, "at": [70, -30]}], "within": 0.03}
    row = {"thread": "M5", "place": found}
    assert plan(row).holes[0].doubt == plan(row, setup={"zero_within": 0.04}).holes[0].doubt


def bend_job(**bend: Any) -> Any:
    line = {"points": [[0, -20], [200, -20]]}
    keep_out = {"name": "flange", "kind": "bend", "line": line, **bend}
    part = {
        "material": "copper",
        "thickness": 1,
        "datum": "left rear corner",
        "outline": {"rectangle": [200, 100], "at": [0, -100]},
    }
    return plan({"drill": "3 mm"}, keep_out=[keep_out], part=part)


def test_the_radius_of_a_bend_moves_its_beginning_away_from_its_line() -> None:
    # the hole's edge lies 10 - 1.5 = 8.5 mm from the line; a radius of 8 mm leaves 0.5 mm to the bend's beginning
    assert "near-keep-out" not in codes(bend_job())
    (first, *_) = [f for f in bend_job(radius=8).findings if f.code == "near-keep-out"]
    assert first.measured == pytest.approx(0.5)
    assert [f for f in bend_job(radius=9).findings if f.code == "in-keep-out" and f.severity is Severity.STOP]


def test_a_radius_without_a_line_is_refused() -> None:
    with pytest.raises(FileContentError, match="radius only beside line"):
        plan(keep_out=[{"name": "f", "kind": "bend", "circle": 5, "centre": [50, -50], "radius": 2}])


@pytest.mark.parametrize(
    ("limit", "severity"),
    [
        ([], None),
        ([{"of": "blind-floor", "least": 4, "severity": "caution", "reason": "casting"}], Severity.CAUTION),
        ([{"of": "blind-floor", "least": 4, "reason": "casting"}], Severity.STOP),
    ],
)
def test_the_job_sets_how_much_stays_under_a_blind_hole(limit: list[Any], severity: Severity | None) -> None:
    row = {"drill": "4 mm", "depth": {"to_tip": 5}}  # 8 mm thick: 3 mm stay
    found = [f for f in plan(row, limit=limit).findings if f.code == "thin-bottom"]
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    if severity is not None:
        assert "casting" in found[0].source
        assert found[0].limit == 4


def test_play_takes_a_length_only() -> None:
    for wrong in ({"accept": True}, {"least_diameters": 1}):
        with pytest.raises(FileContentError, match="least, a length"):
            plan(limit=[{"of": "play", "reason": "because", **wrong}])


def test_temper_decides_which_limits_hold_for_sheet() -> None:
    def thin(temper: str | None) -> Any:
        part: dict[str, Any] = {"material": "brass", "thickness": 1.5, "outline": {"rectangle": [200, 100]}}
        if temper:
            part["temper"] = temper
        near = {**OLD, "place": {"hole": 1, "at": [30, 24]}, "diameter": 3}
        row = {"drill": "3 mm", "place": {"hole": 1, "at": [30, 29.2]}}
        return plan(row, part=part, old_holes=[near])

    hard = {(f.code, f.limit) for f in thin("hard").findings if "web" in f.code}
    soft = {(f.code, f.limit) for f in thin("soft").findings if "web" in f.code}
    assert hard != soft


def test_rapid_shortens_the_time_that_is_told() -> None:
    slot = {"name": "s", "width": 8, "depth": 2, "from": [20, -50], "to": [180, -50], "cutter": "mill"}
    tools = {"drills": ["metric"], "end_mills": [{"name": "mill", "diameter": 6}]}

    def minutes(**machine: Any) -> float:
        made = plan(slot=[slot], tools=tools, machine={"kind": "cnc", **machine})
        return sum(stage.minutes for cut in made.cuts for stage in cut.stages)

    assert minutes(rapid=100) > minutes() > minutes(rapid=10000)


def test_a_high_spot_of_the_sheet_lifts_the_hard_floor_by_its_height() -> None:
    assert report_of(planned(step_down={"high_spot": 0.05})).hard_floor == pytest.approx(
        report_of(planned()).hard_floor + 0.05
    )


def test_a_floor_asked_for_is_taken_above_the_hard_floor_and_stops_the_plan_below_it() -> None:
    usual = report_of(planned())
    higher = planned(step_down={"floor_z": round(usual.floor + 0.05, 3)})
    assert report_of(higher).floor == pytest.approx(round(usual.floor + 0.05, 3))
    deeper = planned(step_down={"floor_z": round(usual.hard_floor - 0.02, 3)})
    assert "below-hard-floor" in [f.code for f in deeper.findings if f.severity is Severity.STOP]
    assert not [p for p in deeper.programs if "step-down" in p.name]


def test_no_pass_is_thinner_than_the_least_chip() -> None:
    thick = report_of(planned(step_down={"least_chip": 0.04, "tail": [0.04]})).passes
    assert min(p.step for p in thick) >= 0.04 - 1e-9
    assert min(p.step for p in report_of(planned()).passes) < 0.04


def test_an_island_is_called_by_its_name() -> None:
    post = {"circle": 12, "centre": [100, -50], "name": "post"}
    pocket = {"name": "p", "rectangle": [60, 40], "centre": [100, -50], "depth": 2, "island": [post], "cutter": "mill"}
    tools = {"drills": ["metric"], "end_mills": [{"name": "mill", "diameter": 6}]}
    made = plan(pocket=[pocket], tools=tools)
    (program,) = [p for p in made.programs if "pocket" in p.name]
    assert [k.name for k in program.limits.keep_outs] == ['island "post"']
    edge = {**pocket, "island": [{**post, "centre": [72, -50]}]}
    with pytest.raises(FileContentError, match="touches its wall at X 70"):
        plan(pocket=[edge], tools=tools)
