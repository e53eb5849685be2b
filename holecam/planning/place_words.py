"""Sentences on a place: why it fails, what was found instead, how much room is left."""

from __future__ import annotations

import math

from holecam.job.models_place import Place
from holecam.layout.freedom_field import Binding, Freedom
from holecam.layout.freedom_half_pitch import half_pitch_advice
from holecam.layout.freedom_lines import extents, free_along
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.layout.freedom_roomiest import GAP, RoomiestShift
from holecam.layout.freedom_turns import free_turns
from holecam.lengths import Unit, length_text
from holecam.planning.moved_along import MovedAlong
from holecam.planning.place_search import FARTHEST_LOOK, FoundPlace, free_direction, reach_of
from holecam.shapes import Point


def named_holes(along: list[MovedAlong]) -> str:
    """Return the names of the sets of holes that move along."""
    return " and ".join(f'the holes of "{o.name}"' for o in along)


def why_not_words(freedom: Freedom, name: str, unit: Unit) -> str:
    """Return what fails at the wanted place, the first four limits with their figures."""
    tight = [b for b in freedom.bindings((0.0, 0.0), within=1e9) if b.margin < 0] if len(freedom.sites) < 500 else []
    one = freedom.binding((0.0, 0.0))
    if not tight and one is not None:
        tight = [one]
    texts = [binding_text(b, unit) for b in tight[:4]]
    more = f", and {len(tight) - 4} more" if len(tight) > 4 else ""
    return f'The wanted place of "{name}" fails: {"; ".join(texts)}{more}.'


def binding_text(binding: Binding | None, unit: Unit) -> str:
    """Return one limit with its figures; empty for none."""
    if binding is None:
        return ""
    return (
        f"{binding.site.name} is {length_text(binding.distance, unit)} from {binding.obstacle_name} and needs "
        f"{length_text(binding.need, unit)}"
    )


def other_place_words(
    place: Place | None, found: FoundPlace | None, freedom: Freedom, wanted: Point, unit: Unit
) -> list[str]:
    """Return what was found instead of the wanted place, and whether it was taken."""
    if place is None:
        return ["Give the pattern a place of its own, so that another one can be found."]
    if found is None:
        none = f"No place within {length_text(reach_of(place), unit)} of it is allowed"
        return [f"{none}{_farther_words(place, freedom, wanted, unit)}."]
    kind = "roomiest" if place.when_blocked == "roomiest" else "nearest"
    x, y = wanted[0] + found.shift[0], wanted[1] + found.shift[1]
    turned = f", turned {found.turn_deg:+.3f} degrees" if found.turn_deg else ""
    text = (
        f"The {kind} allowed place is {length_text(found.distance, unit)} away: the reference at "
        f"X {length_text(x, unit, signed=True)}, Y {length_text(y, unit, signed=True)}{turned}."
    )
    taken = "It was taken." if place.when_blocked != "stop" else 'Say when_blocked = "nearest" to take it.'
    return [f"{text} {taken}"]


def _farther_words(place: Place, freedom: Freedom, wanted: Point, unit: Unit) -> str:
    """Return how far the nearest allowed place is when none lies within reach, as the end of a sentence."""
    direction = free_direction(place)
    if direction is not None:
        line = free_along(freedom, direction)
        way = line.nearest(0.0)
        shift = None if way is None else line.shift(way)
    else:
        shift = nearest_allowed(freedom, (0.0, 0.0), reach=max(FARTHEST_LOOK, 2.0 * reach_of(place))).shift
    if shift is None or math.hypot(*shift) > max(FARTHEST_LOOK, 2.0 * reach_of(place)):
        return ", nor one farther out" if not place.turn_free_deg else ""
    x, y = (length_text(w + s, unit, signed=True) for w, s in zip(wanted, shift, strict=True))
    away = length_text(math.hypot(*shift), unit)
    return (
        f"; the nearest that is lies {away} away, the reference at about X {x}, Y {y}: furthest would have to be more"
    )


def half_pitch_words(freedom: Freedom, unit: Unit) -> list[str]:
    """Return what half a pitch between the old holes would give, where it is worth a thought."""
    advice = half_pitch_advice(freedom, (0.0, 0.0))
    if advice is None:
        return []
    where = f"X {length_text(advice.shift[0], unit, signed=True)}, Y {length_text(advice.shift[1], unit, signed=True)}"
    verdict = "is allowed" if advice.allowed else "is not allowed either"
    return [
        (
            f"Half a pitch between the old holes ({where} from the wanted place) leaves a web of "
            f"{length_text(advice.web, unit)} and {verdict}."
        )
    ]


def room_words(freedom: Freedom, shift: Point, unit: Unit) -> list[str]:
    """Return how far the pattern could still move each way, and what it would meet."""
    names = {(1.0, 0.0): "+X", (-1.0, 0.0): "-X", (0.0, 1.0): "+Y", (0.0, -1.0): "-Y"}
    parts = []
    for extent in extents(freedom, shift):
        name = names.get((extent.direction[0] + 0.0, extent.direction[1] + 0.0), "")
        if not math.isfinite(extent.way):
            parts.append(f"{name} free")
        else:
            what = f" ({extent.binding.obstacle_name})" if extent.binding is not None else ""
            parts.append(f"{name} {length_text(extent.way, unit)}{what}")
    return [f"From there it could still move: {', '.join(parts)}."]


def turn_words(freedom: Freedom, held: Point, held_at: str) -> list[str]:
    """Return how far the pattern may turn about its reference before something binds."""
    turns = free_turns(freedom, held)
    here = next((t for t in turns.free if t.holds(0.0)), None)
    if here is None:
        return []
    ways = []
    for angle, binding in ((here.high_deg, here.high_binding), (here.low_deg, here.low_binding)):
        what = f" ({binding.obstacle_name})" if binding is not None else ""
        ways.append("all the way round" if binding is None and abs(angle) >= 180.0 else f"{angle:+.2f} degrees{what}")
    return [f"Held at {held_at} it could turn {' and '.join(dict.fromkeys(ways))}."]


def most_room_words(found: RoomiestShift, wanted: Point, unit: Unit) -> str:
    """Return the place at which every limit is kept by most."""
    x, y = (length_text(w + s, unit, signed=True) for w, s in zip(wanted, found.shift, strict=True))
    tight = ", ".join(dict.fromkeys(b.obstacle_name for b in found.bindings[:3]))
    by = f" ({tight})" if tight else ""
    more = (
        f" No place within reach keeps them by more than {length_text(found.bound, unit)}." if found.gap > GAP else ""
    )
    return (
        f"Most room: the reference at X {x}, Y {y} keeps every limit that stops by "
        f"{length_text(found.margin, unit)}{by}.{more}"
    )
