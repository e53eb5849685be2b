"""Jobs: read or built in Python, planned, and programs checked against them."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from holecam.delivery.plan_folder import plan_file, read_in_unit
from holecam.delivery.plan_folder import plan_job as plan_read_job
from holecam.delivery.planned_job import PlannedJob
from holecam.errors import InputError
from holecam.job.models import Job, job_from_dict
from holecam.lengths import Unit
from holecam.notebook.look_ups import Length, mm
from holecam.program import CheckResult


def read_job(path: str | os.PathLike[str], *, unit: Unit | None = None) -> Job:
    """Return the job in a file, checked; ``unit`` is what its papers are to speak, where not its own.

    Raises
    ------
    FileContentError
        The file has problems: ``problems`` lists each with line, key, value, what was expected and a hint.
    InputError
        There is no such file, or it cannot be read.
    """
    return read_in_unit(Path(path), unit)


def make_job(tables: Mapping[str, Any] | None = None, /, *, folder: str | os.PathLike[str] = "", **keys: Any) -> Job:
    """Return a job built in Python; the keys are those of a job file, and so is all that is checked.

    Parameters
    ----------
    tables : mapping, optional
        A whole job as plain values, to start from.
    folder : path
        Where drawings are looked up; the current folder without it.
    **keys
        Keys of the job; they replace those of ``tables``. Lengths are text or numbers, points may be arrays.

    Raises
    ------
    FileContentError
        Something is wrong: ``problems`` lists all of it.

    Examples
    --------
    >>> job = make_job(
    ...     title="Two holes",
    ...     unit="mm",
    ...     part={"material": "brass", "thickness": 3, "outline": {"rectangle": [60, 20]}},
    ...     pattern=[{"name": "pair", "points": [[10, 10], ["50 mm", "10 mm"]], "drill": "3 mm"}],
    ... )
    >>> job.part.thickness
    Fraction(3, 1)
    >>> make_job(title="Two holes", unit="mm", part={"material": "brass", "thickness": "4,5 mm"})
    Traceback (most recent call last):
    ...
    holecam.errors.FileContentError: job: part.thickness = "4,5 mm": expected a length such as 4.5 mm, 3/16, 1-7/32, \
0.187 in or 12 thou. Write "4.5 mm".
    """
    return job_from_dict({**(tables or {}), **keys}, folder=os.fspath(folder))


def plan_job(job: Job | str | os.PathLike[str], *, unit: Unit | None = None) -> PlannedJob:
    """Return the plans of a job, or of a job file, with its checked programs; nothing is written.

    Examples
    --------
    >>> planned = plan_job(make_job(
    ...     title="Two holes",
    ...     unit="mm",
    ...     part={"material": "brass", "thickness": 3, "outline": {"rectangle": [60, 20]}},
    ...     pattern=[{"name": "pair", "points": [[10, 10], [50, 10]], "drill": "3 mm"}],
    ... ))
    >>> planned.xy_part.tolist()
    [[10.0, 10.0], [50.0, 10.0]]
    >>> planned.withholds
    False
    """
    if not isinstance(job, Job):
        return plan_file(Path(job), unit=unit)
    if unit is not None:
        raise InputError("unit: a job that was read has its unit already; give it to read_job", key="unit", value=unit)
    return plan_read_job(job)


def verify_program(
    program: str | os.PathLike[str],
    *,
    job: PlannedJob | Job | str | os.PathLike[str] | None = None,
    against_plan: bool = True,
    meant_as: str | None = None,
    safe_height: Length | None = None,
    floor: Length | None = None,
    unit: Unit | None = None,
) -> CheckResult:
    """Return what a program file does and what is wrong with it; ``passed`` says whether it may be run.

    Parameters
    ----------
    program : path
        Written by holecam or by hand.
    job : planned job, job or path, optional
        The job that it belongs to: its tools, limits and dialect are taken.
    against_plan : bool
        With a job: also compare holes, cuts, speeds and stops with its plan.
    meant_as : str, optional
        Which program of the job it is meant to be, if its name differs.
    safe_height, floor : length, optional
        Without a job: height for sideways rapids, and height that nothing may go under.
    unit : {"in", "mm"}, optional
        Unit of bare numbers.

    Raises
    ------
    InputError
        The file cannot be read, or the job has no program of that name.
    """
    from holecam.delivery.program_check import check_alone, check_with_job, read_program_text
    from holecam.plan.motions import Dialect

    text = read_program_text(program)
    if job is None:
        if meant_as is not None:
            raise InputError("meant_as: expected the job as well", key="meant_as", value=meant_as)
        return check_alone(
            text,
            Dialect(),
            safe_height=None if safe_height is None else mm(safe_height, unit),
            floor=None if floor is None else mm(floor, unit),
        )
    if safe_height is not None or floor is not None:
        key = "floor" if safe_height is None else "safe_height"
        raise InputError(f"{key}: with a job this comes from the job; leave one of them out", key=key)
    owner = job.job if isinstance(job, PlannedJob) else job if isinstance(job, Job) else Path(job)
    return check_with_job(text, owner, meant_as or Path(program).name, against_plan=against_plan)
