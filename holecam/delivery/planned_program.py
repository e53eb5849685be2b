"""The planned program that a program file belongs to, found by its name."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from holecam.delivery.planned_job import OTHER_HAND
from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.reader import read_job
from holecam.plan.motions import ProgramPlan
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plans


class PlannedProgram(Struct, frozen=True):
    """A program of a job, with the plan that it is part of."""

    plan: Plan
    program: ProgramPlan


def planned_program(job: Path | Job, name: str) -> PlannedProgram:
    """Return the program of a job that a file of this name is meant to be.

    The name counts, not the folder; the files of the mirrored part have theirs with ``other-hand-`` before it. A
    program that is withheld from the disk is found as well.

    Raises
    ------
    InputError
        The job cannot be planned, or has no program of this name; the message lists those that it has.
    """
    read = job if isinstance(job, Job) else read_job(job)
    where = read.source.file or f'the job "{read.title}"'
    known: dict[str, PlannedProgram] = {}
    for number, plan in enumerate(make_plans(read)):
        before = "" if number == 0 else OTHER_HAND
        for program in plan.programs:
            known[f"{before}{program.name}"] = PlannedProgram(plan, program)
    if name in known:
        return known[name]
    if not known:
        raise InputError(f'{where}: the job plans no program to check "{name}" against', key="job", value=where)
    raise InputError(
        f'"{name}" is not among the programs of {where}: {", ".join(sorted(known))}. '
        "Say which of them it is meant to be with --as.",
        key="as",
        value=name,
        expected=", ".join(sorted(known)),
    )
