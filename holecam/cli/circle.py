"""``holecam circle``: coordinates of a hole circle, full or partial."""

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
def circle(
    count: Annotated[int, typer.Option(help="How many holes.")],
    diameter: Annotated[str, typer.Option(help="Diameter of the circle through the hole centres.")],
    start: Annotated[
        str, typer.Option(help="Angle of hole 1: degrees anticlockwise from +X, or +x, -x, +y, -y.")
    ] = "0",
    included: Annotated[
        float, typer.Option(help="Degrees from the first hole to the last; 360 is the full circle.")
    ] = 360.0,
    step: Annotated[float | None, typer.Option(help="Degrees from hole to hole, instead of --included.")] = None,
    clockwise: Annotated[bool, typer.Option("--clockwise", help="Number the holes clockwise.")] = False,
    centre: Annotated[str, typer.Option("--centre", "--center", help="Centre of the circle: X,Y.")] = "0,0",
    mirror: MirrorLine = None,
    unit: BareUnit = None,
    readout: ReadoutStep = None,
    dial_lead: DialLead = None,
    dial_divisions: DialDivisions = None,
    approach: Approach = "+x,+y",
    as_json: AsJson = False,
) -> None:
    """Print the coordinates of a hole circle, full or partial."""
    from holecam.cli.quick_sheet import Lengths, mirrored, print_sheet, sheet_options
    from holecam.layout.hole_circles import hole_circle
    from holecam.layout.placing import direction_from_words, placed
    from holecam.lengths import length_text
    from holecam.shapes import Placement

    lengths = Lengths(unit)
    options = sheet_options(
        lengths, readout=readout, dial_lead=dial_lead, dial_divisions=dial_divisions, approach=approach
    )
    size = lengths.positive(diameter, "--diameter")
    middle = lengths.point(centre, "--centre")
    pattern = hole_circle(
        count,
        diameter=size,
        start_deg=direction_from_words(start, key="--start"),
        included_deg=included,
        step_deg=step,
        clockwise=clockwise,
    )
    result, hand = mirrored(placed(pattern, Placement(shift=middle)), lengths, mirror)
    title = (
        f"{count} hole{'s' if count != 1 else ''} on a circle of {length_text(size, options.unit)}, centre at "
        f"X {length_text(middle[0], options.unit, signed=True)}, Y {length_text(middle[1], options.unit, signed=True)}"
    )
    notes = [f"Numbered {pattern.numbering}.", *([hand] if hand else [])]
    print_sheet(title, notes, result, options, as_json=as_json)
