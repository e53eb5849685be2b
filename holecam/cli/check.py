"""``holecam check``: what the checks say of a job; nothing is written."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.options import AsJson, InUnit, show_json

app = app_for_command()


@app.command()
def check(
    job: Annotated[Path, typer.Argument(help="The job file.", show_default=False)],
    unit: InUnit = None,
    as_json: AsJson = False,
) -> None:
    """Check a job and print its findings; writes nothing.

    Exit code 0: nothing is withheld. 1: a finding withholds something. 2: the job is wrong.
    """
    from holecam.delivery.plan_folder import plan_file
    from holecam.output.plan_json import finding_facts
    from holecam.output.terminal_table import findings_text

    planned = plan_file(job, unit=unit.value if unit else None)
    if as_json:
        show_json({"findings": [finding_facts(f) for f in planned.findings], "withholds": planned.withholds})
    else:
        text = findings_text(planned.findings)
        typer.echo(text or "No findings.\n", nl=False)
    raise typer.Exit(1 if planned.withholds else 0)
