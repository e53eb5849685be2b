"""``holecam plan``: a job file in, a folder of papers and programs out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.delivered_text import delivered_text
from holecam.cli.options import AsJson, InUnit, show_json

app = app_for_command()


@app.command()
def plan(
    job: Annotated[Path, typer.Argument(help="The job file.", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Folder for the papers and programs; without it a folder named after the job."),
    ] = None,
    printer_scale: Annotated[
        str,
        typer.Option(
            "--printer-scale",
            metavar="X,Y",
            help="What your printer makes of the template's scale checks: measured over printed length, across and up.",
            show_default=False,
        ),
    ] = "1,1",
    watch: Annotated[
        bool,
        typer.Option("--watch", help="Plan again whenever the job or a drawing changes; the open run sheet follows."),
    ] = False,
    unit: InUnit = None,
    as_json: AsJson = False,
) -> None:
    """Plan a job: coordinates, programs and papers in a folder.

    Exit code 0: done. 1: a finding withholds something. 2: the job is wrong. With --watch it is that of the last plan.
    """
    from holecam.errors import InputError

    scale = _scale_of(printer_scale)
    folder = out if out is not None else job.parent / f"{job.stem}-out"
    if watch:
        from holecam.cli.plan_watch import watch_job

        if as_json:
            raise InputError(
                "--watch beside --json: expected one of them. plan.json in the folder follows each change."
            )
        raise typer.Exit(watch_job(job, folder, unit=unit.value if unit else None, printer_scale=scale))
    from holecam.delivery.plan_folder import plan_file, write_folder
    from holecam.output.plan_json import plan_facts
    from holecam.output.terminal_table import findings_text, plan_table

    planned = plan_file(job, unit=unit.value if unit else None)
    delivered = write_folder(planned, folder, printer_scale=scale)
    if as_json:
        show_json(
            {
                "folder": str(folder),
                "files": [*delivered.written, *delivered.unchanged],
                "kept": [{"file": a, "kept_as": b} for a, b in delivered.kept],
                "plans": [plan_facts(p) for p in planned.plans],
            }
        )
    else:
        for one in planned.plans:
            typer.echo(plan_table(one))
        typer.echo(findings_text(planned.findings), nl=False)
        typer.echo(f"\n{delivered_text(delivered)}")
    raise typer.Exit(1 if planned.withholds else 0)


def _scale_of(text: str) -> tuple[float, float]:
    """Return the two factors of ``0.998,1.002``; one number stands for both."""
    from holecam.errors import InputError

    parts = text.split(",")
    try:
        values = [float(p) for p in parts]
    except ValueError:
        values = []
    if len(values) not in (1, 2):
        raise InputError(f'--printer-scale "{text}": expected two numbers such as 0.998,1.002 (across, up)')
    return (values[0], values[-1])
