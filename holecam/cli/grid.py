"""``holecam grid``: coordinates of a grid of holes, straight or staggered."""

from __future__ import annotations

from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.options import (
    Approach,
    AsJson,
    BareUnit,
    DialDivisions,
    DialLead,
    MirrorLine,
    ReadoutStep,
)

app = app_for_command()


@app.command()
def grid(
    columns: Annotated[int, typer.Option(help="Holes along the rows.")],
    rows: Annotated[int, typer.Option(help="Rows.")],
    pitch: Annotated[
        str | None, typer.Option(help="Distance of columns, and of rows unless --row-pitch is given.")
    ] = None,
    column_pitch: Annotated[str | None, typer.Option(help="Distance of columns, the same as --pitch.")] = None,
    row_pitch: Annotated[str | None, typer.Option(help="Distance of rows.")] = None,
    staggered: Annotated[
        bool, typer.Option("--staggered", help="Shift every second row by half a column pitch.")
    ] = False,
    short_rows: Annotated[
        bool, typer.Option("--short-rows", help="With --staggered: one hole fewer in every second row.")
    ] = False,
    first: Annotated[str, typer.Option(help="Where hole 1 lies, or the hole of --hole: X,Y.")] = "0,0",
    hole: Annotated[int, typer.Option(help="Number of the hole that --first gives.")] = 1,
    along: Annotated[str, typer.Option(help="Direction of the rows: degrees from +X, or +x, -x, +y, -y.")] = "0",
    numbering: Annotated[str, typer.Option(help='"by row", "by column" or "there and back".')] = "by row",
    mirror: MirrorLine = None,
    unit: BareUnit = None,
    readout: ReadoutStep = None,
    dial_lead: DialLead = None,
    dial_divisions: DialDivisions = None,
    approach: Approach = "+x,+y",
    as_json: AsJson = False,
) -> None:
    """Print the coordinates of a grid of holes."""
    from holecam.cli.quick_sheet import Lengths, mirrored, print_sheet, sheet_options
    from holecam.errors import InputError
    from holecam.layout.grids import grid as grid_pattern
    from holecam.layout.grids import numbering_named
    from holecam.layout.placing import direction_from_words, place_from_one
    from holecam.lengths import length_text

    lengths = Lengths(unit)
    options = sheet_options(
        lengths, readout=readout, dial_lead=dial_lead, dial_divisions=dial_divisions, approach=approach
    )
    if (pitch is None) == (column_pitch is None):
        raise InputError("grid: expected --pitch, or --column-pitch with --row-pitch")
    both = (pitch or "").split(",")
    if len(both) == 2 and all(part.strip() for part in both):
        hint = f"For two distances write --column-pitch {both[0].strip()} --row-pitch {both[1].strip()}"
        raise InputError(f'--pitch "{pitch}": expected one distance. {hint}; decimals have a point', key="--pitch")
    across = lengths.positive(pitch or column_pitch or "", "--pitch" if pitch else "--column-pitch")
    if row_pitch is None and pitch is None:
        raise InputError("grid: --column-pitch without --row-pitch; expected both, or --pitch for both")
    if short_rows and not staggered:
        raise InputError("grid: expected --short-rows only with --staggered")
    upward = lengths.positive(row_pitch, "--row-pitch") if row_pitch is not None else across
    pattern = grid_pattern(
        columns,
        rows,
        column_pitch=across,
        row_pitch=upward,
        numbering=numbering_named(numbering),
        stagger=across / 2.0 if staggered else 0.0,
        short_rows=short_rows,
    )
    at = lengths.point(first, "--first")
    direction = direction_from_words(along, key="--along")
    result, hand = mirrored(place_from_one(pattern, hole=hole, at=at, along_deg=direction), lengths, mirror)
    title = (
        f"{len(pattern)} holes in a {pattern.kind} of {columns} columns and {rows} rows, column pitch "
        f"{length_text(across, options.unit)}, row pitch {length_text(upward, options.unit)}, rows along {direction:g} "
        f"degrees; hole {hole} at X {length_text(at[0], options.unit, signed=True)}, "
        f"Y {length_text(at[1], options.unit, signed=True)}"
    )
    print_sheet(title, [f"Numbered {pattern.numbering}.", *([hand] if hand else [])], result, options, as_json=as_json)
