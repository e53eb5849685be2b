"""``holecam schema``: the JSON Schema of the job file."""

from __future__ import annotations

from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command

app = app_for_command()


@app.command()
def schema(
    as_json: Annotated[bool, typer.Option("--json", help="The schema is JSON with or without it.")] = False,
    unit: Annotated[str | None, typer.Option(hidden=True, help="The same schema serves both units.")] = None,
) -> None:
    """Print the JSON Schema (2020-12) of the job file, for editors that complete and check while you type."""
    import json

    from holecam.job.schema import job_schema

    typer.echo(json.dumps(job_schema(), indent=2, ensure_ascii=False))
