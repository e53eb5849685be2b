"""What to write in place of a value of the wrong kind: a list, a point, a number, a table."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from holecam.errors import InputError
from holecam.job.table_keys import is_pair, list_in, model_in
from holecam.lengths import parse_length
from holecam.lengths.parsing import LONGEST_TEXT

_BETWEEN = re.compile(r"\s*(.+?)\s*(?:[xX\u00d7*]|\bby\b)\s*(.+?)\s*")
_MARKED = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*(?:\u00b0|deg\.?|degrees?|%|percent|rpm|r\.?p\.?m\.?)?", re.IGNORECASE)
_MINUTES = re.compile("([+-]?)(\\d+)\\s*\u00b0\\s*(\\d+(?:\\.\\d+)?)\\s*['\u2032]")

OTHER_WORDS = {
    "ccw": "left",
    "anticlockwise": "left",
    "counterclockwise": "left",
    "counter-clockwise": "left",
    "cw": "right",
    "clockwise": "right",
    "hand": "manual",
    "by hand": "manual",
    "milling machine": "manual",
    "up": "conventional",
    "up-cut": "conventional",
    "down": "climb",
    "down-cut": "climb",
    "csk": "flat",
    "countersunk": "flat",
    "cap": "socket",
    "cap head": "socket",
    "cheesehead": "cheese",
    "hexagon": "hex",
    "brass": "bar",
    "solder": "layer",
    "copper": "sheet",
}
"""What people of the trade call a thing for which the file has another word."""


def number_hint(value: Any) -> str:
    """Return the plain number in a text such as ``45°``, ``65%`` or ``22°30'``, as advice; nothing where there is none.

    >>> number_hint("12,5 deg")
    'Write 12.5.'
    """
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        return ""
    text = value.strip().translate({0x2212: "-", 0x2013: "-"})
    if text.lstrip("+-").replace(".", "", 1).isdigit():
        return "Take the quotes off."
    marked = _MARKED.fullmatch(text)
    if marked:
        return f"Write {marked[1].replace(',', '.')}."
    minutes = _MINUTES.fullmatch(text)
    if minutes:
        return f"Write {minutes[1]}{round(int(minutes[2]) + float(minutes[3]) / 60, 6):g}."
    return ""


def list_words(annotation: Any, value: Any, name: str, written: str) -> tuple[str, str]:
    """Return what a list should have been, and what to write in place of a value that is none.

    ``annotation`` is what the models have at that place, ``name`` the heading of its table, ``written`` the
    value as text.
    """
    if isinstance(value, Mapping) and model_in(list_in(annotation)) is not None and not is_pair(annotation):
        inner = [key for key, each in value.items() if isinstance(each, (list, Mapping))]
        needs = f"A [[{name}.{inner[0]}]] stands below the [[{name}]] that it belongs to." if inner else ""
        needs = needs if inner and "name" not in value else "It may stand several times."
        return f"[[{name}]] with two brackets, or a list of tables", needs
    if is_pair(annotation):
        return "a list in square brackets, of two values", _pair_hint(value)
    single = isinstance(value, (str, int, float)) and not isinstance(value, bool)
    if isinstance(value, Mapping):
        return "a list in square brackets", "Put it in [ ]."
    return "a list in square brackets", f"Write [{written}]." if single and 0 < len(
        written
    ) <= LONGEST_TEXT else "Put it in [ ]."


def _pair_hint(value: Any) -> str:
    if isinstance(value, Mapping) and {"x", "y"} <= {str(key).lower() for key in value}:
        return "X comes first, then Y: [x, y]."
    if isinstance(value, str) and len(value) > LONGEST_TEXT:
        return ""
    if isinstance(value, str):
        parts = re.split(r"\s*[,;]\s+|\s*;\s*|\s+", value.strip())
        if len(parts) == 2 and all(_is_length(part) for part in parts):
            return f'Write ["{parts[0]}", "{parts[1]}"].'
    halves = _BETWEEN.fullmatch(value) if isinstance(value, str) else None
    if halves and all(_is_length(half) for half in halves.groups()):
        return f'Write ["{halves[1]}", "{halves[2]}"].'
    return ""


def _is_length(text: str) -> bool:
    try:
        parse_length(text, unit="mm")
    except InputError:
        return False
    return True


def too_many_hint(value: Any, most: object) -> str:
    """Return advice on a point of more than two numbers: a comma meant as the decimal point makes two of one."""
    if most != 2 or not isinstance(value, Sequence) or isinstance(value, str) or len(value) < 3:
        return ""
    whole = all(type(v) is int for v in value[:2]) and any(value[:2])
    return f"If a comma was meant as the decimal point, write {value[0]}.{value[1]}." if whole else ""


def table_hint(keys: Sequence[str], value: Any, name: str) -> str:
    """Return how to write a table in place of a bare value: a drawing, a list of points, a heading."""
    if isinstance(value, str) and value.lower().endswith(".dxf") and "drawing" in keys:
        return f'Write {{ drawing = "{value}" }}.'
    points = isinstance(value, (list, tuple)) and value and all(isinstance(p, (list, tuple)) for p in value)
    if points and "points" in keys:
        return "Write { points = [...] }."
    if isinstance(value, (list, tuple)) and value and all(isinstance(t, Mapping) for t in value):
        return f"There is one of it: head it [{name}] with one bracket."
    return f"Known keys: {', '.join(keys)}." if keys else ""
