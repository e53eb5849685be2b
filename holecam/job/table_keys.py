"""The tables of a job file as its models know them: keys, headings, and the key that a wrong word was meant for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel

_SAME_IDEA: dict[str, tuple[str, ...]] = {
    "dia": ("diameter",),
    "diam": ("diameter",),
    "size": ("diameter",),
    "pcd": ("diameter",),
    "bcd": ("diameter",),
    "spacing": ("pitch",),
    "centres": ("pitch",),
    "centers": ("pitch",),
    "step": ("pitch",),
    "holes": ("count",),
    "number": ("count",),
    "quantity": ("count",),
    "qty": ("count",),
    "no": ("count",),
    "num": ("count",),
    "matl": ("material",),
    "metal": ("material",),
    "thk": ("thickness", "thick"),
    "thickness": ("thick",),
    "depth": ("height",),
    "angle": ("first_deg", "turn_deg", "angle_deg"),
    "start_angle": ("first_deg",),
    "position": ("at",),
    "pos": ("at",),
    "location": ("at",),
    "tolerance": ("within",),
    "tol": ("within",),
    "comment": ("notes",),
    "rpm": ("speed_rpm",),
    "unit": ("drawing_unit",),
    "units": ("unit", "drawing_unit"),
    "type": ("kind",),
    "safe_z": ("safe_height",),
}
"""Words of the trade for a key, where the key itself is written otherwise; the first that the table has is meant."""

MOST_TABLES = 3
"""Tables in which a key may stand that a hint names; of more than that the ones that a job has once are named."""

OF_MOST_TABLES = ("name", "notes", "in")
"""Keys of so many tables that none can be named."""


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the word most like the given one, or nothing."""
    plain = {w.lower().replace("-", "_").replace(" ", "_"): w for w in words}
    found = get_close_matches(word.lower().replace("-", "_").replace(" ", "_")[:80], plain, n=1, cutoff=0.6)
    return plain[found[0]] if found else ""


def meant_key(word: str, keys: Sequence[str]) -> str:
    """Return the key that a wrong word was most likely meant for, or nothing."""
    plain = _plain(word)
    same = [key for key in keys if _plain(key) == plain]
    idea = [key for key in _SAME_IDEA.get(plain, ()) if key in keys]
    if plain == "radius":  # a radius for a diameter is never the radius of something else
        return next((key for key in ("diameter", "circle", "inside_radius") if key in keys), "")
    return [*same, *idea, nearest(word, keys)][0]


def _plain(word: str) -> str:
    return word.strip().lower().replace("-", "_").replace(" ", "_")


def model_at(loc: Sequence[str | int], model: type[BaseModel]) -> type[BaseModel] | None:
    """Return the table that a location leads into, or None for a plain value."""
    here: type[BaseModel] | None = model
    for step in loc:
        if isinstance(step, int):
            continue
        if here is None:
            return None
        field = next((f for n, f in here.model_fields.items() if (f.alias or n) == step), None)
        if field is None:
            return None
        here = model_in(field.annotation)
    return here


def keys_of(model: type[BaseModel]) -> list[str]:
    """Return the keys of a table as the file writes them."""
    return [f.alias or n for n, f in model.model_fields.items()]


def model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (Union, UnionType, tuple) or get_args(annotation):
        for part in get_args(annotation):
            found = model_in(part)
            if found is not None:
                return found
    return None


def table_words(loc: Sequence[str | int], model: type[BaseModel]) -> str:
    names = [s for s in loc if isinstance(s, str)]
    if not names:
        return "the top of the file"
    if len(names) == 1:
        many = len(loc) > 1 and isinstance(loc[1], int)
        return f"[[{names[0]}]]" if many else f"[{names[0]}]"
    return ".".join(names)


def annotation_at(loc: Sequence[str | int], model: type[BaseModel]) -> Any:
    """Return what the file may hold at a location, as the models say it; None where they do not know the location."""
    here: Any = model
    for step in loc:
        if isinstance(step, int):
            here = _item_of(here)
            continue
        table = model_in(here)
        field = None
        if table is not None:
            field = next((f for n, f in table.model_fields.items() if (f.alias or n) == step), None)
        if field is None:
            return None
        here = field.annotation
    return here


def _item_of(annotation: Any) -> Any:
    """Return what one item of a list may be; the annotation itself where it is no list."""
    listing = list_in(annotation)
    return annotation if listing is None else get_args(listing)[0]


def list_in(annotation: Any) -> Any:
    """Return the list in an annotation, such as the pair in "a pair or nothing"; None when there is none."""
    if get_origin(annotation) is tuple:
        return annotation
    if get_origin(annotation) in (Union, UnionType) or hasattr(annotation, "__metadata__"):
        for part in get_args(annotation):
            found = list_in(part)
            if found is not None:
                return found
    return None


def is_pair(annotation: Any) -> bool:
    """Return whether a place of the file holds two values, a point or a size along X and Y."""
    listing = list_in(annotation)
    return listing is not None and len(get_args(listing)) == 2 and Ellipsis not in get_args(listing)


def belongs_elsewhere(word: str, loc: Sequence[str | int], model: type[BaseModel]) -> str:
    """Return a hint when the key is known in another table: often a line that stands below the wrong header."""
    inner = [n for n, step in enumerate(loc[:-1]) if isinstance(step, str)]
    for n in reversed(inner[1:]):  # the tables round the one in which the word stands
        around = model_at(loc[:n], model)
        if around is not None and word in keys_of(around):
            return f'"{word}" belongs beside {loc[n]}, not inside it.'
    if len(loc) > 1 and word in keys_of(model):
        return f'"{word}" belongs at the top of the file, above the first [table].'
    if len(inner) > 1:
        return ""
    found = []
    for name, field in model.model_fields.items():
        table = model_in(field.annotation)
        outer = field.alias or name
        if table is not None and word in keys_of(table) and outer != loc[0]:
            found.append(f"[[{outer}]]" if get_origin(field.annotation) is tuple else f"[{outer}]")
    if len(found) > MOST_TABLES:
        found = [heading for heading in found if not heading.startswith("[[")]
    if not found or word in OF_MOST_TABLES:
        return ""
    return f'"{word}" belongs under {" or ".join(found)}.'
