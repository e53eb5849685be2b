"""Options that commands on a job share, and how JSON is printed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Any

import typer


class UnitWord(StrEnum):
    """The two units."""

    INCH = "in"
    MM = "mm"


AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, lengths in mm.")]
InUnit = Annotated[
    UnitWord | None, typer.Option("--unit", help="Unit of papers and messages; without it the job's own.")
]


def app_for_command() -> typer.Typer:
    """Return the frame of a command that stands alone in its module."""
    return typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)


def show_json(facts: Mapping[str, Any]) -> None:
    """Print facts as JSON to standard output."""
    typer.echo(json.dumps(facts, indent=2, ensure_ascii=False))
