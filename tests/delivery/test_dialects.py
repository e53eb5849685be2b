"""Every program of the examples passes its check in every dialect that a job can choose."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from holecam.job.models_machine import Dialect
from holecam.job.reader import read_job
from holecam.planning.machine_facts import dialect_of
from holecam.planning.plan_job import make_plan
from holecam.program.checking import check_program
from holecam.program.writer import write_program

EXAMPLES = Path(__file__).parents[2] / "examples"

CHOICES: list[dict[str, Any]] = [
    {},
    {"cycles": "long-hand"},
    {"arcs": "lines"},
    {"arc_centres": "absolute"},
    {"decimals": 6},
    {"decimals": 3},
    {"line_numbers": 10},
    {"program_number": 1234},
    {"comments": "semicolon"},
    {"comments": "none"},
    {"tool_change": "change"},
    {"ending": "M2"},
    {"ending": "M30 and percent signs"},
    {"unit": "mm"},
    {"cycles": "long-hand", "arcs": "lines", "unit": "mm", "comments": "semicolon", "line_numbers": 5},
]


@pytest.fixture(scope="module")
def hood() -> Any:
    job = read_job(EXAMPLES / "lantern-hood" / "job.toml")
    return job, make_plan(job)


@pytest.mark.parametrize("choice", CHOICES, ids=lambda c: " ".join(f"{k}={v}" for k, v in c.items()) or "usual")
def test_every_program_passes_in_this_dialect(hood: Any, choice: dict[str, Any]) -> None:
    job, plan = hood
    machine = job.machine.model_copy(update={"program": Dialect.model_validate(choice)})
    dialect = dialect_of(job.model_copy(update={"machine": machine}))
    assert len(plan.programs) >= 9
    for program in plan.programs:
        result = check_program(write_program(program, dialect), program, dialect)
        assert result.passed, (program.name, [f.text() for f in result.findings][:3])


@pytest.mark.parametrize("layout", ["one per tool", "one with all"])
def test_one_program_or_several_drill_the_same_holes(layout: str) -> None:
    job = read_job(EXAMPLES / "lantern-hood" / "job.toml")
    machine = job.machine.model_copy(update={"program": Dialect.model_validate({"programs": layout})})
    plan = make_plan(job.model_copy(update={"machine": machine, "slots": (), "pockets": (), "step_downs": ()}))
    assert len(plan.programs) == (1 if layout == "one with all" else 2)
    drilled = sorted((h.number, h.tool, h.tip_z) for p in plan.programs for h in p.limits.holes)
    assert len(drilled) == 12
    for program in plan.programs:
        assert check_program(write_program(program, plan.dialect), program, plan.dialect).passed
