"""``holecam tap``: the tap drill for a thread, its neighbours with their percentages, blind depth and strength."""

# Annotations stay values here: typer would have to evaluate each from its text, a third of a look-up's start-up
from typing import TYPE_CHECKING, Annotated

import typer

from holecam.cli.command_frame import app_for_command

if TYPE_CHECKING:
    from holecam.cli.tap_blind import BlindAnswer
    from holecam.standards.materials import Material
    from holecam.standards.tap_drills import TapAdvice
    from holecam.standards.thread_strength import LeastEngagement
    from holecam.standards.threads import Thread

app = app_for_command()


@app.command()
def tap(
    thread: Annotated[
        str | None, typer.Argument(metavar="THREAD", help='A thread: "6-32", M4, "2 BA", "3/16 x 40 ME"...')
    ] = None,
    percent: Annotated[float | None, typer.Option(help="Percent of thread wanted, instead of the table's.")] = None,
    material: Annotated[str | None, typer.Option(help="Material to tap: soft and thin wants more thread.")] = None,
    thickness: Annotated[str | None, typer.Option(help="Thickness of the stock.")] = None,
    formed: Annotated[bool, typer.Option("--formed", help="Forming (roll) tap instead of a cutting one.")] = False,
    drills: Annotated[
        str | None,
        typer.Option(help="Drills owned: number, letter, fraction, metric, inch, all, or single ones, with commas."),
    ] = None,
    blind: Annotated[str | None, typer.Option(help="Blind hole: depth of full thread wanted.")] = None,
    leave: Annotated[
        str | None, typer.Option(help="Blind hole: metal to leave under the drill's point; takes --thickness.")
    ] = None,
    lead: Annotated[str, typer.Option(help="Kind of tap for a blind hole: taper, plug or bottoming.")] = "plug",
    point: Annotated[float, typer.Option(help="Included angle of the drill's point, degrees.")] = 118.0,
    screw: Annotated[
        str | None, typer.Option(help="Kind of screw, such as 8.8 or brass screw: adds the least engagement.")
    ] = None,
    unit: Annotated[str | None, typer.Option(help="in or mm: of bare numbers, and first in the text.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, lengths in mm.")] = False,
) -> None:
    """Choose a tap drill: candidates with percent of thread, class limits, and what an oversize hole would do."""
    from holecam.cli.look_up import missing, print_json, print_lines, stated_drills, stated_length, stated_unit
    from holecam.errors import InputError
    from holecam.standards.tap_drills import choose_tap_drill
    from holecam.standards.thread_names import EXAMPLES, parse_thread
    from holecam.standards.thread_percent import stated_target

    if thread is None:
        raise missing("thread", EXAMPLES)
    bare = stated_unit(unit)
    wanted = parse_thread(thread)
    stock = _stock(material)
    thick, depth = stated_length(thickness, bare, "--thickness"), stated_length(blind, bare, "--blind")
    bottom = stated_length(leave, bare, "--leave")
    if bottom is not None and thick is None:
        raise InputError("--leave: expected --thickness as well, to know where the bottom lies", key="--leave")
    if screw is not None and stock is None:
        raise InputError("--screw: expected --material as well, to know what holds the screw", key="--screw")
    advice = choose_tap_drill(
        wanted,
        drills=stated_drills(drills, bare),
        target=None if percent is None else stated_target(percent),
        material=stock,
        engagement=depth if depth is not None else thick,
        formed=formed,
    )
    hole = advice.recommended.drill.diameter
    blind_facts = None
    if depth is not None or bottom is not None:
        from holecam.cli.tap_blind import blind_answer

        blind_facts = blind_answer(
            wanted, hole=hole, lead=lead, point_deg=point, depth=depth, thickness=thick, bottom=bottom
        )
    strength = None if screw is None or stock is None else _strength(wanted, screw, stock, None if formed else hole)
    if as_json:
        print_json(_as_json(advice, blind_facts, strength, stock, thick))
    else:
        from holecam.cli.tap_text import tap_lines

        print_lines(tap_lines(advice, blind_facts, strength, stock, thick, bare or wanted.unit))


def _stock(text: str | None) -> "Material | None":
    """Return the material, ``None`` when none was named."""
    if text is None:
        return None
    from holecam.standards.materials import material

    return material(text)


def _strength(thread: "Thread", screw: str, stock: "Material", hole: float | None) -> "LeastEngagement":
    from holecam.standards.material_strengths import material_strength, screw_strength
    from holecam.standards.thread_strength import least_engagement

    return least_engagement(
        thread,
        screw_mpa=screw_strength(screw).tensile_mpa,
        hole_mpa=material_strength(stock).tensile_mpa,
        minor=hole,
    )


def _as_json(
    advice: "TapAdvice",
    blind: "BlindAnswer | None",
    strength: "LeastEngagement | None",
    stock: "Material | None",
    thickness: float | None,
) -> dict[str, object]:
    from holecam.cli.look_up import number

    thread = advice.thread
    choices = [
        {
            "drill": c.drill.name,
            "diameter_mm": number(c.drill.diameter),
            "thread_percent": number(c.percent),
            "within_class": c.within_class,
            "usual_oversize_mm": number(c.oversize),
            "oversize_thread_percent": number(c.oversize_percent),
            "oversize_within_class": c.oversize_within_class,
        }
        for c in advice.choices
    ]
    recommended = dict(choices[advice.choices.index(advice.recommended)], reason=advice.reason)
    limits = advice.limits
    answer: dict[str, object] = {
        "thread": {
            "name": thread.name,
            "major_mm": number(thread.major),
            "pitch_mm": number(thread.pitch),
            "form": thread.form.words,
        },
        "target_percent": advice.target.percent,
        "target_reason": advice.target.why,
        "target_source": advice.target.source,
        "tap": "formed" if advice.formed else "cut",
        "choices": choices,
        "recommended": recommended,
        "limits": limits
        and {
            "class": limits.class_name,
            "smallest_mm": number(limits.smallest),
            "largest_mm": number(limits.largest),
            "source": limits.source,
        },
        "limits_note": advice.limits_note,
        "engaged_threads": number(advice.engaged_threads),
        "notes": list(advice.notes),
    }
    if blind is not None:
        from holecam.cli.tap_blind import blind_json

        answer["blind"] = blind_json(blind)
    if strength is not None:
        answer["least_engagement"] = {
            "length_mm": number(strength.length),
            "threads": number(strength.threads),
            "equal_materials_mm": number(strength.equal_materials),
            "hole_weaker_by": number(strength.weakness),
            "stress_area_mm2": number(strength.stress_area),
            "basis": strength.basis,
            "note": strength.note,
        }
    if stock is not None:
        from holecam.standards.cautions import cautions_for, material_tags

        answer["cautions"] = [c.text for c in cautions_for(material_tags(stock, thickness=thickness))]
    return answer
