"""``holecam verify``: read any program back, and say what it does and what is wrong with it."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.options import AsJson, InUnit, show_json

if TYPE_CHECKING:
    from holecam.plan.motions import Dialect, ProgramLimits
    from holecam.program import CheckResult

app = app_for_command()

LARGEST_FILE = 500_000_000
"""Bytes. A program of a mill that is longer than this is another file by mistake."""


class Centers(StrEnum):
    """What I and J count from."""

    INCREMENTAL = "incremental"
    ABSOLUTE = "absolute"


class Remarks(StrEnum):
    """How remarks are marked."""

    PARENTHESES = "parentheses"
    SEMICOLON = "semicolon"


class ToolChanges(StrEnum):
    """What a change of tool is: T and M6, or T and a stop."""

    CHANGE = "change"
    STOP = "stop"


@app.command()
def verify(
    program: Annotated[Path, typer.Argument(help="The program, written by holecam or by hand.", show_default=False)],
    job: Annotated[
        Path | None, typer.Option("--job", help="The job file: its tools, limits and dialect are taken.")
    ] = None,
    against_plan: Annotated[
        bool, typer.Option("--against-plan", help="Also compare holes, cuts, speeds and stops with the job's plan.")
    ] = False,
    meant_as: Annotated[
        str | None, typer.Option("--as", help="Which program of the job it is meant to be, if its name differs.")
    ] = None,
    safe_height: Annotated[
        str | None, typer.Option("--safe-height", help="Height for sideways rapids, such as 12 mm. Without a job.")
    ] = None,
    floor: Annotated[
        str | None, typer.Option("--floor", help="Height that nothing may go under, such as -1.5 mm. Without a job.")
    ] = None,
    centers: Annotated[
        Centers, typer.Option("--centers", help="What I and J of arcs count from. Without a job.")
    ] = Centers.INCREMENTAL,
    remarks: Annotated[
        Remarks, typer.Option("--remarks", help="How remarks are marked. Without a job.")
    ] = Remarks.PARENTHESES,
    tool_change: Annotated[
        ToolChanges, typer.Option("--tool-change", help="T with M6, or T with a stop. Without a job.")
    ] = ToolChanges.CHANGE,
    unit: InUnit = None,
    as_json: AsJson = False,
) -> None:
    """Read a program back and check it: language, rapids, spindle, feed, limits, and what a job plans.

    Exit code 0: nothing is wrong that withholds it. 1: a finding withholds it. 2: a file or an option is wrong.
    """
    from holecam.cli.verify_text import result_facts, result_lines
    from holecam.plan.motions import Dialect

    text = read_text(program)
    if job is not None:
        _refuse_with_job(safe_height, floor, centers, remarks, tool_change)
        result = check_with_job(text, job, meant_as or program.name, against_plan=against_plan)
    else:
        _refuse_without_job(against_plan=against_plan, meant_as=meant_as)
        spoken = Dialect(arc_centers=centers.value, comments=remarks.value, tool_change=tool_change.value)
        result = check_alone(text, spoken, safe_height, floor)
    if as_json:
        show_json(result_facts(program.name, result))
    else:
        shown = unit.value if unit else result.account.units or "mm"
        typer.echo("\n".join(result_lines(program.name, result, "in" if shown == "in" else "mm")))
    raise typer.Exit(0 if result.passed else 1)


def read_text(path: Path) -> str:
    """Return the text of a program; bytes that are not UTF-8 are read as Latin-1, they matter in remarks only."""
    from holecam.errors import InputError

    try:
        if path.stat().st_size > LARGEST_FILE:
            raise InputError(f"{path}: expected a program of at most {LARGEST_FILE // 1_000_000} MB", key="program")
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror}); expected a program file", key="program"
        ) from error
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def check_alone(text: str, dialect: Dialect, safe_height: str | None, floor: str | None) -> CheckResult:
    """Return the result without a job, with the two limits of the command line, if given."""
    from holecam.lengths import parse_length
    from holecam.plan.motions import HardFloor, ProgramLimits
    from holecam.program import verify_text

    def height(text: str | None, key: str) -> float | None:
        return None if text is None else float(parse_length(text, unit=None, key=key))

    lowest = height(floor, "floor")
    floors = () if lowest is None else (HardFloor("", lowest, source="--floor"),)
    limits: ProgramLimits = ProgramLimits(hard_floors=floors)
    return verify_text(text, dialect=dialect, limits=limits, safe_height=height(safe_height, "safe-height"))


def check_with_job(text: str, job: Path, name: str, *, against_plan: bool) -> CheckResult:
    """Return the result with the tools, limits and dialect of a job's program, and at wish against its plan.

    Without the plan the expected holes are left out: only what must never happen is checked.
    """
    from dataclasses import replace

    from holecam.delivery.planned_program import planned_program
    from holecam.program import CheckResult, check_program, job_mark_finding, verify_text

    found = planned_program(job, name)
    plan, dialect = found.program, found.plan.dialect
    if against_plan:
        result = check_program(text, plan, dialect)
    else:
        limits = replace(plan.limits, holes=())
        result = verify_text(text, dialect=dialect, limits=limits, tools=plan.tools, safe_height=plan.safe_height)
    mark = job_mark_finding(text, found.plan.fingerprint)
    return result if mark is None else CheckResult((mark, *result.findings), result.account)


def _refuse_with_job(
    safe_height: str | None, floor: str | None, centers: Centers, remarks: Remarks, tool_change: ToolChanges
) -> None:
    from holecam.errors import InputError

    given = {
        "--safe-height": safe_height is not None,
        "--floor": floor is not None,
        "--centers": centers is not Centers.INCREMENTAL,
        "--remarks": remarks is not Remarks.PARENTHESES,
        "--tool-change": tool_change is not ToolChanges.CHANGE,
    }
    for option, is_given in given.items():
        if is_given:
            raise InputError(f"{option}: with --job this comes from the job; leave one of them out", key=option)


def _refuse_without_job(*, against_plan: bool, meant_as: str | None) -> None:
    from holecam.errors import InputError

    if against_plan or meant_as is not None:
        option = "--against-plan" if against_plan else "--as"
        raise InputError(f"{option} needs the job: give it with --job", key=option)
