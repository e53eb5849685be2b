"""Cautions that belong to the work at hand, by tags: printed on the sheet, in the program's header and by the look-ups.

Tags in use: ``always``, ``cutting-data``, ``program``, ``first-run``, ``copper``, ``brass``, ``iron``, ``wood``,
``fibreboard``, ``plastic``, ``thin-sheet``, ``step-down``, ``bend``, ``solder``, ``lead``, ``braze``,
``cadmium-braze``, ``adhesive``, ``hot-work``, ``climb``, ``manual``, ``plug``, ``thin-bottom``, ``clamping``,
``pressure``, ``steam``, ``boiler``, ``gas``, ``lifting``, ``aircraft``, ``brakes``, ``steering``, ``food``,
``oxygen``, ``vacuum``.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.materials import SHEET_THICKNESS, Material
from holecam.standards.table import rows, words

ALWAYS = "always"


class Caution(NamedTuple):
    """One caution. ``stops`` means that the tool gives no advice at all for such work."""

    code: str
    tags: tuple[str, ...]
    stops: bool
    text: str
    source: str


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Return the table in its order, the most general first."""
    return tuple(
        Caution(row["code"], words(row["tags"]), row["stops"] == "yes", row["text"], row["source"])
        for row in rows("cautions")
    )


def all_tags() -> frozenset[str]:
    """Return every tag that a caution has."""
    return frozenset(tag for caution in all_cautions() for tag in caution.tags)


def cautions_for(tags: Iterable[str]) -> tuple[Caution, ...]:
    """Return the cautions that have any of the tags, and those for all work, in the order of the table.

    Raises
    ------
    InputError
        A tag that no caution has: a caution must not get lost through a misspelling.
    """
    wanted = {ALWAYS, *tags}
    unknown = sorted(wanted - all_tags())
    if unknown:
        raise InputError(f'caution tag "{unknown[0]}" is not known', key="tag", value=unknown[0])
    return tuple(caution for caution in all_cautions() if wanted.intersection(caution.tags))


def material_tags(material: Material, *, thickness: float | None = None) -> tuple[str, ...]:
    """Return the tags of a material; metal of 2 mm or less is also ``thin-sheet``. Thickness in mm."""
    tags = [material.family] if material.family in all_tags() else []
    if material.name in all_tags() and material.name not in tags:
        tags.append(material.name)
    if material.is_metal and thickness is not None and thickness <= SHEET_THICKNESS:
        tags.append("thin-sheet")
    return tuple(tags)
