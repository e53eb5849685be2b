"""``holecam drill``: a drill size, its neighbours, and a speed to start with."""

# Annotations stay values here: typer would have to evaluate each from its text, a third of a look-up's start-up
from typing import TYPE_CHECKING, Annotated

import typer

from holecam.cli.command_frame import app_for_command

if TYPE_CHECKING:
    from fractions import Fraction

    from holecam.lengths import Unit
    from holecam.standards.cautions import Caution
    from holecam.standards.cutting_data import CuttingStart
    from holecam.standards.drills import Drill

app = app_for_command()


@app.command()
def drill(
    size: Annotated[
        str | None, typer.Argument(metavar="SIZE", help='A drill or a length: "#29", F, 7/32, "5.5 mm", "0.14 in".')
    ] = None,
    drills: Annotated[
        str | None,
        typer.Option(help="Drills owned: number, letter, fraction, metric, inch, all, or single ones, with commas."),
    ] = None,
    material: Annotated[str | None, typer.Option(help="Material to drill: adds speed and feed.")] = None,
    tool: Annotated[str, typer.Option(help="Material of the drill: HSS or carbide.")] = "HSS",
    slowest: Annotated[float | None, typer.Option(help="Slowest speed of the machine, rpm.")] = None,
    fastest: Annotated[float | None, typer.Option(help="Fastest speed of the machine, rpm.")] = None,
    unit: Annotated[str | None, typer.Option(help="in or mm: of bare numbers, and first in the text.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, lengths in mm.")] = False,
) -> None:
    """Look up a drill size: the drill itself, the nearest, the next smaller and the next larger."""
    from holecam.cli.look_up import missing, print_json, print_lines, stated_drills, stated_unit
    from holecam.standards.drill_names import EXAMPLES, parse_size
    from holecam.standards.drills import SETS, drills_by_size

    if size is None:
        raise missing("drill", EXAMPLES)
    shown_first = stated_unit(unit)
    asked = parse_size(size, unit=shown_first)
    owned = stated_drills(drills, shown_first) or drills_by_size(SETS)
    start = _start(material, float(asked), tool, slowest, fastest)
    if as_json:
        print_json(_as_json(asked, owned, material, start))
    else:
        print_lines(_as_text(size, asked, owned, start, material, shown_first))


def _start(
    material: str | None, diameter: float, tool: str, slowest: float | None, fastest: float | None
) -> "CuttingStart | None":
    if material is None:
        return None
    from holecam.standards.cutting_data import cutting_start
    from holecam.standards.materials import material as find_material

    return cutting_start(
        find_material(material),
        "drill",
        diameter=diameter,
        tool_material=tool,
        slowest_rpm=slowest,
        fastest_rpm=fastest,
    )


def _found(asked: "Fraction", owned: "tuple[Drill, ...]") -> "list[tuple[str, Drill | None]]":
    """Return the answers by name: the same size, nearest, next smaller, next larger."""
    from holecam.standards.drills import largest_at_most, nearest, next_larger, next_smaller

    same = largest_at_most(asked, owned)
    return [
        ("same", same if same is not None and same.exact_diameter == asked else None),
        ("nearest", nearest(asked, owned)),
        ("smaller", next_smaller(asked, owned)),
        ("larger", next_larger(asked, owned)),
    ]


def _as_json(
    asked: "Fraction", owned: "tuple[Drill, ...]", material: str | None, start: "CuttingStart | None"
) -> dict[str, object]:
    from holecam.cli.look_up import number

    answer: dict[str, object] = {"asked_mm": number(float(asked))}
    for name, found in _found(asked, owned):
        answer[name] = found and {
            "drill": found.name,
            "set": found.set_name,
            "diameter_mm": number(found.diameter),
            "difference_mm": number(float(found.exact_diameter - asked)),
            "source": found.source,
        }
    if start is not None:
        answer["start"] = {
            "material": material,
            "rpm": start.rpm,
            "bound": start.bound,
            "feed_mm_min": number(start.feed),
            "feed_per_turn_mm": number(start.feed_per_turn),
            "surface_speed_m_min": number(start.surface_speed),
            "source": start.source,
            "notes": list(start.notes),
            "cautions": [c.text for c in _cautions(material)],
        }
    return answer


def _as_text(
    size: str,
    asked: "Fraction",
    owned: "tuple[Drill, ...]",
    start: "CuttingStart | None",
    material: str | None,
    shown_first: "Unit | None",
) -> list[str]:
    from holecam.cli.look_up import aligned, both, both_feeds, caution_lines, columns_of, heads_of, wrapped
    from holecam.lengths.printing import fraction_text, number_in

    found = dict(_found(asked, owned))
    near = found["nearest"]
    unit: Unit = shown_first or (near.unit if near is not None else "mm")
    lines = [f"{size.strip()}: {both(float(asked), unit)}, {fraction_text(asked)}", ""]
    words = {"same": "the size itself", "nearest": "nearest", "smaller": "next smaller", "larger": "next larger"}
    body = []
    for name, text in words.items():
        one = found[name]
        if one is None:
            body.append((text, "none" + (" owned" if name != "same" else ""), "", "", ""))
        else:
            difference = number_in(one.exact_diameter - asked, unit, signed=True)
            body.append((text, one.label, *columns_of(one.exact_diameter, unit), difference))
    lines += aligned(("", "drill", *heads_of(unit), f"off by {unit}"), body, left=(0, 1))
    if start is not None:
        feed = both(start.feed_per_turn, unit)
        lines += ["", f"Speed in {material}: {start.rpm} rpm, feed {both_feeds(start.feed, unit)}, {feed} a turn"]
        lines += wrapped(f"  {note}" for note in (*start.notes, start.source))
        lines += ["", *caution_lines(_cautions(material))]
    return lines


def _cautions(material: str | None) -> "tuple[Caution, ...]":
    from holecam.standards.cautions import cautions_for, material_tags
    from holecam.standards.materials import material as find_material

    return cautions_for(material_tags(find_material(material))) if material else ()
