"""``holecam new``: a commented starter job in a folder."""

from __future__ import annotations

from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command

app = app_for_command()


@app.command()
def new(
    folder: Annotated[str, typer.Argument(metavar="DIR", help="Folder to write into; made when it is not there.")],
    unit: Annotated[str | None, typer.Option(help="in or mm: unit of the job. Without it mm.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Write a commented starter job into a folder. It plans as it stands; nothing is ever overwritten."""
    import json
    from pathlib import Path

    from holecam.delivery.whole_files import write_new
    from holecam.errors import InputError
    from holecam.job.starter import STARTER_NAME, starter_job
    from holecam.lengths.parsing import unit_named

    named = None if unit is None else unit_named(unit)
    if unit is not None and named is None:
        raise InputError(f'--unit = "{unit}": expected in or mm.', key="--unit", value=unit, expected="in or mm")
    path = Path(folder) / STARTER_NAME
    write_new(path, starter_job(named or "mm").encode())
    if as_json:
        typer.echo(json.dumps({"written": [str(path)], "unit": named or "mm"}))
    else:
        typer.echo(f"Wrote {path}.\nChange it to fit, then run: holecam plan {path}")
