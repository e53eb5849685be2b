"""Options that commands on a job share, and how JSON is printed."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Any

import typer

from holecam.lengths.parsing import unit_named


class UnitWord(StrEnum):
    """The two units."""

    INCH = "in"
    MM = "mm"


AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, lengths in mm.")]


def _unit_word(word: str) -> UnitWord:
    unit = unit_named(word)
    if unit is None:
        raise typer.BadParameter(f"'{word}'; expected in or mm")
    return UnitWord(unit)


InUnit = Annotated[
    UnitWord | None,
    typer.Option(
        "--unit", parser=_unit_word, metavar="[in|mm]", help="Unit of papers and messages; without it the job's own."
    ),
]

BareUnit = Annotated[
    str | None, typer.Option("--unit", help="in or mm: of bare numbers, and of the sheet. Without it mm.")
]
MirrorLine = Annotated[str | None, typer.Option("--mirror", help="Mirror across a line: x=LENGTH or y=LENGTH.")]
ReadoutStep = Annotated[
    str | None, typer.Option("--readout", help="Step of the readout; 0.0005 in or 0.005 mm without it.")
]
DialLead = Annotated[
    str | None, typer.Option("--dial-lead", help="Travel of one turn of the handles: adds dial turns.")
]
DialDivisions = Annotated[int | None, typer.Option("--dial-divisions", help="Marks on the dials.")]
Approach = Annotated[str, typer.Option("--approach", help="Senses in which positions are met, with dials.")]


def show_json(facts: Mapping[str, Any]) -> None:
    """Print facts as JSON to standard output."""
    import json

    typer.echo(json.dumps(facts, indent=2, ensure_ascii=False))
