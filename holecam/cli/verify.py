"""``holecam verify``: read any program back, and say what it does and what is wrong with it."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.options import AsJson, InUnit, show_json

app = app_for_command()


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
    from holecam.delivery.program_check import check_alone, check_with_job, read_program_text
    from holecam.lengths import parse_length
    from holecam.plan.motions import Dialect

    text = read_program_text(program)
    if job is not None:
        _refuse_with_job(safe_height, floor, centers, remarks, tool_change)
        result = check_with_job(text, job, meant_as or program.name, against_plan=against_plan)
    else:
        _refuse_without_job(against_plan=against_plan, meant_as=meant_as)
        spoken = Dialect(arc_centers=centers.value, comments=remarks.value, tool_change=tool_change.value)
        result = check_alone(
            text,
            spoken,
            safe_height=None if safe_height is None else float(parse_length(safe_height, unit=None, key="safe-height")),
            floor=None if floor is None else float(parse_length(floor, unit=None, key="floor")),
        )
    if as_json:
        show_json(result_facts(program.name, result))
    else:
        shown = unit.value if unit else result.account.units or "mm"
        typer.echo("\n".join(result_lines(program.name, result, "in" if shown == "in" else "mm")))
    raise typer.Exit(0 if result.passed else 1)


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
