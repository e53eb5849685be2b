"""``holecam compare``: several places for a pattern side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.options import AsJson, InUnit, show_json

app = app_for_command()


@app.command()
def compare(
    job: Annotated[Path, typer.Argument(help="A job file with candidates.", show_default=False)],
    unit: InUnit = None,
    as_json: AsJson = False,
) -> None:
    """Put the places that a job names for a pattern side by side, and name the best by a stated rule.

    Exit code 0: done. 1: even the best place has a stop. 2: the job is wrong, or it names no candidates.
    """
    from holecam.delivery.plan_folder import read_in_unit
    from holecam.errors import InputError
    from holecam.output.candidate_table import candidate_facts, candidate_table
    from holecam.planning.candidates import compare as compare_places

    read = read_in_unit(job, unit.value if unit else None)
    comparisons = compare_places(read)
    if not comparisons:
        raise InputError(
            f"{job}: no pattern names candidates; add [[pattern.candidate]] with a name and a place or a shift"
        )
    if as_json:
        show_json({"comparisons": [candidate_facts(c) for c in comparisons]})
    else:
        typer.echo("\n".join(candidate_table(c, read.unit) for c in comparisons), nl=False)
    blocked = any(r.stops for c in comparisons for r in c.candidates if r.name == c.best)
    raise typer.Exit(1 if blocked else 0)
