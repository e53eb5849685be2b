"""``holecam line``: coordinates of a row of holes."""

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
def line(
    count: Annotated[int, typer.Option(help="How many holes.")],
    pitch: Annotated[str | None, typer.Option(help="From hole to hole.")] = None,
    length: Annotated[str | None, typer.Option(help="From the first hole to the last, instead of --pitch.")] = None,
    first: Annotated[str, typer.Option(help="Where hole 1 lies, or the hole of --hole: X,Y.")] = "0,0",
    hole: Annotated[int, typer.Option(help="Number of the hole that --first gives.")] = 1,
    along: Annotated[str, typer.Option(help="Direction: degrees anticlockwise from +X, or +x, -x, +y, -y.")] = "0",
    mirror: MirrorLine = None,
    unit: BareUnit = None,
    readout: ReadoutStep = None,
    dial_lead: DialLead = None,
    dial_divisions: DialDivisions = None,
    approach: Approach = "+x,+y",
    as_json: AsJson = False,
) -> None:
    """Print the coordinates of a row of holes."""
    from holecam.cli.quick_sheet import Lengths, mirrored, print_sheet, sheet_options
    from holecam.layout.patterns import line as row
    from holecam.layout.placing import direction_from_words, place_from_one
    from holecam.lengths import length_text

    lengths = Lengths(unit)
    options = sheet_options(
        lengths, readout=readout, dial_lead=dial_lead, dial_divisions=dial_divisions, approach=approach
    )
    pattern = row(
        count,
        pitch=None if pitch is None else lengths.positive(pitch, "--pitch"),
        length=None if length is None else lengths.positive(length, "--length"),
    )
    at = lengths.point(first, "--first")
    direction = direction_from_words(along, key="--along")
    result, hand = mirrored(place_from_one(pattern, hole=hole, at=at, along_deg=direction), lengths, mirror)
    spacing = f", pitch {length_text(pattern.points[1][0], options.unit)}" if count > 1 else ""
    title = (
        f"{count} hole{'s' if count != 1 else ''} in a row{spacing}, along {direction:g} degrees; hole {hole} at "
        f"X {length_text(at[0], options.unit, signed=True)}, Y {length_text(at[1], options.unit, signed=True)}"
    )
    print_sheet(title, [hand] if hand else [], result, options, as_json=as_json)
