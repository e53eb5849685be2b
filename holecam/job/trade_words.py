"""Names that the tables of the trade have to know: materials, threads, drills, instruments, ways to find a place.

The job keeps the name as the user wrote it, because he reads it again on the sheet; it is looked up once here so that
a slip has its line in the file.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any

from pydantic_core import PydanticCustomError

from holecam.errors import InputError
from holecam.job.quantities import LONGEST_NAME, Checked, plain_name, refusal, unit_of_bare_numbers
from holecam.standards.bonding_layers import all_bonding_layers, bonding_layer
from holecam.standards.drill_names import parse_drill
from holecam.standards.drills import owned_drills
from holecam.standards.instruments import all_instruments, instrument
from holecam.standards.materials import all_materials, material
from holecam.standards.names import nearest_names
from holecam.standards.position_methods import all_position_methods, position_method
from holecam.standards.spacing_limits import all_rules
from holecam.standards.thread_names import parse_thread
from holecam.standards.touch_off import all_touch_offs, touch_off

LIMITS = (*all_rules(), "play")
"""What [[limit]] may speak of: the rules of the spacing table, and the play left at bolt-up."""


def refusal_from(error: InputError, expected: str, *, at: tuple[str | int, ...] = ()) -> PydanticCustomError:
    """Return a table's refusal as one of the job file: its hint is kept, its own key is not."""
    message = error.message
    for mark in (" is not known. ", " can mean more than one thing. "):
        _, found, hint = message.partition(mark)
        if found:
            return refusal(expected, hint, at=at)
    _, found, hint = message.partition(f"expected {error.expected}")
    if found and error.expected:
        return refusal(error.expected, hint.lstrip(". "), at=at)
    return refusal(expected, message if message.endswith((".", "?")) else f"{message}.", at=at)


def _known(table: Callable[[str], object], expected: str, description: str, examples: list[str]) -> Checked:
    """Mark a name that a table has to know."""

    def validate(value: Any) -> str:
        name = plain_name(value)
        try:
            table(name)
        except InputError as error:
            raise refusal_from(error, expected) from None
        return name

    text = {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME}
    return Checked(validate, {**text, "description": description, "examples": examples})


_DECIMAL = re.compile(r"\d+\.\d*|\.\d+")


def _drill_text(value: Any) -> str:
    """Return a drill's name; a decimal size gets the job's unit, so that the name says all by itself."""
    unit = unit_of_bare_numbers()
    if isinstance(value, float):
        value = repr(value)
    elif isinstance(value, int) and not isinstance(value, bool):
        raise refusal(
            "a drill by name", f'Write "#{value}" for a number drill, "{value} mm" or "{value} in" for a size.'
        )
    name = plain_name(value)
    return f"{name} {unit}" if unit is not None and _DECIMAL.fullmatch(name) else name


def _drill(value: Any) -> str:
    name = _drill_text(value)
    try:
        parse_drill(name)
    except InputError as error:
        raise refusal_from(error, "a drill") from None
    return name


def _pilot(value: Any) -> str:
    return "none" if isinstance(value, str) and value.strip().lower() == "none" else _drill(value)


def _owned(value: Any) -> str:
    name = _drill_text(value)
    try:
        owned_drills([name])
    except InputError as error:
        raise refusal_from(error, 'a set of drills ("number", "letter", "fraction", "metric") or one size') from None
    return name


def _limit(value: Any) -> str:
    name = plain_name(value).lower()
    if name not in LIMITS:
        near = nearest_names(name, LIMITS)
        raise refusal("a known limit", f'Did you mean "{near[0]}"?' if near else f"Known: {', '.join(LIMITS)}.")
    return name


_DRILL_SCHEMA = {
    "type": ["string", "number"],
    "description": 'A drill: "#29", "F", "3/16", "4.2 mm"; a bare decimal is in the unit.',
}

MaterialName = Annotated[str, _known(material, "a known material", "A material.", [m.name for m in all_materials()])]
ThreadName = Annotated[
    str,
    _known(parse_thread, "a thread", "A thread.", ["5-40", "1/4-20 UNC", "M4", "M8x1", "2 BA", "3/16 x 40 ME"]),
]
DrillName = Annotated[str, Checked(_drill, _DRILL_SCHEMA)]
PilotName = Annotated[str, Checked(_pilot, _DRILL_SCHEMA)]
OwnedDrills = Annotated[str, Checked(_owned, _DRILL_SCHEMA)]
MethodName = Annotated[
    str,
    _known(
        position_method,
        "a known way to find a place",
        "How a place is found or a drill is located.",
        [m.name for m in all_position_methods()],
    ),
]
InstrumentName = Annotated[
    str, _known(instrument, "a known instrument", "An instrument.", [m.name for m in all_instruments()])
]
TouchName = Annotated[
    str, _known(touch_off, "a known way to touch off", "A way to touch off.", [t.name for t in all_touch_offs()])
]
BondName = Annotated[
    str,
    _known(bonding_layer, "a known bonding layer", "A bonding layer.", [b.name for b in all_bonding_layers()]),
]
LimitName = Annotated[str, Checked(_limit, {"enum": list(LIMITS)})]
