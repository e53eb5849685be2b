"""Read a program file back and check it: on its own, or against the job that it belongs to."""

from __future__ import annotations

import os
from pathlib import Path

from msgspec.structs import replace

from holecam.delivery.planned_program import planned_program
from holecam.job.files import read_bytes
from holecam.job.models import Job
from holecam.plan.motions import Dialect, HardFloor, ProgramLimits
from holecam.program import CheckResult, check_program, job_mark_finding, verify_text

LARGEST_FILE = 500_000_000
"""Bytes. A program of a mill that is longer than this is another file by mistake."""


def read_program_text(path: str | os.PathLike[str]) -> str:
    """Return the text of a program; bytes that are not UTF-8 are read as Latin-1, they matter in remarks only.

    Raises
    ------
    InputError
        There is no such file, it is a folder or a device, it is too large, or it may not be read.
    """
    data = read_bytes(os.fspath(path), what="program file", most=LARGEST_FILE)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def check_alone(text: str, dialect: Dialect, *, safe_height: float | None, floor: float | None) -> CheckResult:
    """Return the result without a job, with the two limits that were stated, if any; mm."""
    floors = () if floor is None else (HardFloor("", floor, source="as stated"),)
    return verify_text(text, dialect=dialect, limits=ProgramLimits(hard_floors=floors), safe_height=safe_height)


def check_with_job(text: str, job: Path | Job, name: str, *, against_plan: bool) -> CheckResult:
    """Return the result with the tools, limits and dialect of a job's program, and at wish against its plan.

    Without the plan the expected holes are left out: only what must never happen is checked.
    """
    found = planned_program(job, name)
    plan, dialect = found.program, found.plan.dialect
    if against_plan:
        result = check_program(text, plan, dialect)
    else:
        limits = replace(plan.limits, holes=())
        result = verify_text(text, dialect=dialect, limits=limits, tools=plan.tools, safe_height=plan.safe_height)
    mark = job_mark_finding(text, found.plan.fingerprint)
    return result if mark is None else CheckResult((mark, *result.findings), result.account)
