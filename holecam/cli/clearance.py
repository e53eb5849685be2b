"""``holecam clearance``: clearance holes for a screw, the room its head takes, counterbore and countersink."""

# Annotations stay values here: typer would have to evaluate each from its text, a third of a look-up's start-up
from typing import TYPE_CHECKING, Annotated

import typer

from holecam.cli.command_frame import app_for_command

if TYPE_CHECKING:
    from holecam.lengths import Unit
    from holecam.standards.clearance_holes import ClearanceHoles
    from holecam.standards.threads import Thread

app = app_for_command()


@app.command()
def clearance(
    thread: Annotated[
        str | None, typer.Argument(metavar="THREAD", help='A screw: "6-32", M4, "2 BA", "1/4 BSW"...')
    ] = None,
    drills: Annotated[
        str | None,
        typer.Option(
            help="Drills owned: number, letter, fraction, metric, inch, all, or single ones, with commas. "
            "The next larger is taken."
        ),
    ] = None,
    head: Annotated[
        str | None, typer.Option(help="Only this head: socket, button, socket-flat, flat, pan, cheese, hex, washer.")
    ] = None,
    unit: Annotated[str | None, typer.Option(help="in or mm: of bare numbers, and first in the text.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, lengths in mm.")] = False,
) -> None:
    """Look up clearance holes close, normal and loose, and what the head takes."""
    from holecam.cli.look_up import missing, print_json, print_lines, stated_drills, stated_unit
    from holecam.standards.clearance_holes import clearance_holes
    from holecam.standards.screw_heads import HEADS, head_kind
    from holecam.standards.thread_names import EXAMPLES, parse_thread

    if thread is None:
        raise missing("thread", EXAMPLES)
    shown_first = stated_unit(unit)
    screw = parse_thread(thread)
    holes = clearance_holes(screw, drills=stated_drills(drills, shown_first))
    heads = HEADS if head is None else (head_kind(head).name,)
    if as_json:
        print_json(_as_json(holes, heads))
    else:
        print_lines(_as_text(holes, heads, shown_first or screw.unit))


def _as_json(holes: "ClearanceHoles", heads: tuple[str, ...]) -> dict[str, object]:
    from holecam.cli.look_up import number
    from holecam.standards.clearance_holes import FITS
    from holecam.standards.screw_heads import SUNK_HEADS, counterbore, countersink, screw_head

    thread = holes.thread
    answer: dict[str, object] = {"thread": _thread_json(thread)}
    for fit in FITS:
        hole = getattr(holes, fit)
        answer[fit] = {
            "drill": hole.drill.name,
            "diameter_mm": number(hole.diameter),
            "wanted_mm": number(float(hole.wanted)),
            "radial_play_mm": number((hole.diameter - thread.major) / 2),
            "source": hole.source,
        }
    listed: dict[str, object] = {}
    for name in heads:
        head = screw_head(thread, name)
        entry: dict[str, object] = {
            "diameter_mm": number(head.diameter),
            "height_mm": number(head.height),
            "source": head.source,
        }
        if name in SUNK_HEADS:
            sink = countersink(thread, hole=holes.normal.diameter, kind=name)
            entry["countersink"] = {
                "diameter_mm": number(sink.diameter),
                "angle_deg": sink.angle_deg,
                "depth_mm": number(sink.depth),
            }
        if name == "socket":
            bore = counterbore(thread)
            entry["counterbore"] = {
                "diameter_mm": number(bore.diameter),
                "depth_mm": number(bore.depth),
                "source": bore.source,
            }
        listed[name] = entry
    answer["heads"] = listed
    return answer


def _thread_json(thread: "Thread") -> dict[str, object]:
    from holecam.cli.look_up import number

    return {
        "name": thread.name,
        "major_mm": number(thread.major),
        "pitch_mm": number(thread.pitch),
        "form": thread.form.words,
    }


def _as_text(holes: "ClearanceHoles", heads: tuple[str, ...], unit: "Unit") -> list[str]:
    from holecam.cli.look_up import aligned, both, columns_of, heads_of, wrapped
    from holecam.lengths.printing import number_in
    from holecam.standards.clearance_holes import FITS
    from holecam.standards.screw_heads import SUNK_HEADS, counterbore, countersink, head_kind, screw_head

    thread = holes.thread
    body, sources = [], []
    for fit in FITS:
        hole = getattr(holes, fit)
        play = number_in((hole.diameter - thread.major) / 2, unit)
        over = float(hole.drill.exact_diameter - hole.wanted)
        made = "" if not over else f"wanted {number_in(float(hole.wanted), unit)}"
        body.append((fit, hole.drill.label, *columns_of(hole.drill.exact_diameter, unit), play, made))
        sources.append(hole.source)
    lines = [f"{thread.name}: screw {both(thread.major, unit)}, {thread.pitch_text}, {thread.form.words}", ""]
    lines += aligned(("hole", "drill", *heads_of(unit), f"play {unit}", ""), body, left=(0, 1, 5))
    lines += wrapped([f"Source: {'; '.join(dict.fromkeys(sources))}. Play: all round, screw in the middle."])
    head_body = []
    for name in heads:
        head = screw_head(thread, name)
        sunk = ""
        if name in SUNK_HEADS:
            sink = countersink(thread, hole=holes.normal.diameter, kind=name)
            sunk = f"countersink {sink.angle_deg:g} deg to {number_in(sink.diameter, unit)}, no play once seated"
        elif name == "socket":
            bore = counterbore(thread)
            sunk = f"counterbore {number_in(bore.diameter, unit)} x {number_in(bore.depth, unit)} deep"
        height = "" if head.height is None else number_in(head.height, unit)
        head_body.append((head_kind(name).words, number_in(head.diameter, unit), height, sunk, head.source))
    lines += ["", *aligned(("head", f"across {unit}", f"high {unit}", "", "source"), head_body, left=(0, 3, 4))]
    return lines
