"""All programs of the examples pass, in every choice of dialect; damage to them is caught."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from damage_run import run_damage
from test_writer import DIALECTS

from holecam.job.reader import read_job
from holecam.plan.motions import Dialect, ProgramPlan
from holecam.planning.plan_job import make_plans
from holecam.program import check_program, write_program

JOBS = sorted((Path(__file__).parents[2] / "examples").glob("*/job.toml"))


@cache
def programs(job: Path) -> tuple[ProgramPlan, ...]:
    return tuple(program for plan in make_plans(read_job(job)) for program in plan.programs)


def test_the_examples_have_programs() -> None:
    assert len(JOBS) >= 3
    assert sum(len(programs(job)) for job in JOBS) >= 2


@pytest.mark.parametrize("name", DIALECTS)
@pytest.mark.parametrize("job", JOBS, ids=lambda p: p.parent.name)
def test_every_program_of_the_examples_in_every_dialect(job: Path, name: str) -> None:
    for program in programs(job):
        result = check_program(write_program(program, DIALECTS[name]), program, DIALECTS[name])
        assert [f"{program.name}: {f.text()}" for f in result.findings] == []


NOT_AS_PLANNED = {
    "cut-missing", "cut-not-planned", "cut-other-way", "cut-repeated", "order-changed", "feed-not-planned",
    "stop-missing", "stop-added",
}  # fmt: skip
"""Findings on moves that the small model may call harmless: it looks at metal, and leads and ramps begin in air."""


@pytest.mark.slow
@pytest.mark.parametrize("job", JOBS, ids=lambda p: p.parent.name)
def test_damage_to_the_programs_of_the_examples(job: Path) -> None:
    """A share of the damage to each program: nothing harmful is missed, and little that is harmless is stopped."""
    tried, stopped = 0, 0
    for program in programs(job):
        size = len(write_program(program).split("\n"))
        for verdict in run_damage(program, Dialect(), every=max(1, size // 25)):
            tried += 1
            # up at the feed through what has been cut: slow, but no other work
            slow_retract = verdict.kind == "G1 for G0" and verdict.codes == ("cut-repeated",)
            assert verdict.caught or not verdict.harm or slow_retract, f"{program.name}: {verdict}"
            if verdict.caught and not verdict.harm:
                stopped += 1
                assert set(verdict.codes) <= NOT_AS_PLANNED, f"{program.name}: {verdict}"
    assert stopped <= 0.05 * tried
