"""What stands at the head of every sheet, the same on the page, the PDF and the plain text."""

from __future__ import annotations

from holecam.lengths import length_text
from holecam.output.plain_words import axis_words, plain, ranges, resolution_words, setup_words, unit_words
from holecam.output.readings import reading
from holecam.plan.plan import Plan


def head_words(plan: Plan) -> list[tuple[str, str]]:
    """Return what stands at the head of the sheet: pairs of name and sentence."""
    part = plan.part
    lines = [
        ("Units", f"All lengths in {unit_words(plan.unit).upper()}. {resolution_words(plan)}"),
        ("Zero", _zero_words(plan)),
        ("Face", part.face_up),
    ]
    lines += [(key.capitalize(), words) for key, words in (line.split(": ", 1) for line in axis_words(plan))]
    lines.append(("Set-up", setup_words(plan).removeprefix("SET-UP: ")))
    senses = [f"{'+' if s > 0 else chr(0x2212)}{axis}" for s, axis in zip(plan.machine.approach, "XY", strict=True)]
    backlash = f"; backlash {length_text(plan.machine.backlash, plan.unit)}" if plan.machine.backlash else ""
    passes = any(row.to_machine is not None for o in plan.operations for row in o.rows)
    every = "With the cutter up, end every move" if passes else "End every move"  # a pass ends where its row says
    lines.append(("Approach", f"{every} going {senses[0]} and {senses[1]}{backlash}."))
    stuff = part.material
    if part.thickness is not None:
        stuff += f"{', ' if stuff else ''}{length_text(part.thickness, plan.unit)} thick"
    lines.append(("Material", stuff))
    lines.append(("Safe height", length_text(plan.machine.safe_height, plan.unit)))
    lines += [("Note", note) for note in plan.notes]
    return [(key, plain(words)) for key, words in lines if words]


def _zero_words(plan: Plan) -> str:
    """Return where the zero of the readout is: on the datum, or where the part was picked."""
    datum = plan.part.datum
    reads = plan.setup.datum_reads(plan.machine.readout)
    if reads is None:
        return f"X 0 Y 0 is the {datum}." if datum else "The datum of the job."
    x, y = (reading(plan, v).text() for v in reads)
    unit = plan.machine.readout.unit
    return (
        "X and Y keep the zero with which the turn of the part was picked. "
        f"Over the {datum or 'datum of the job'} stands X {x} {unit}, Y {y} {unit}."
    )


def place_words(plan: Plan) -> list[str]:
    """Return how every pattern came to lie where it lies, each sentence with the name of its pattern in front.

    The sentences count holes within the pattern, the rows of the sheet count them all: where the two differ, both are
    told first.
    """
    lines = []
    for place in plan.places:
        holes = [h for h in plan.holes if h.pattern == place.pattern]
        own, of_sheet = ranges([h.number_in_pattern for h in holes]), ranges([h.number for h in holes])
        name = plain(place.pattern)
        if own != of_sheet:
            lines.append(f"{name}: numbered {own} within the pattern, {of_sheet} on this sheet.")
        lines += [f"{name}: {plain(words)}" for words in place.words]
    return lines
