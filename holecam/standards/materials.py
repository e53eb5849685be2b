"""Materials by the words that people write, with what every floor asks of them: family, softness, limits that apply."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from holecam.standards.names import find_by_name, plain_words
from holecam.standards.table import optional, rows, words

SHEET_THICKNESS = 2.0
"""mm. Copper and brass of this thickness or less count as sheet for the web limits (common practice)."""


class Material(NamedTuple):
    """A work material.

    ``family`` is the key of the cutting and tapping tables (``copper``, ``brass``, ``bronze``, ``aluminium``,
    ``zinc``, ``steel``, ``stainless``, ``iron``, ``wood``, ``plastic``); ``soft`` says that it smears, grabs or
    strips easily; ``thermal_expansion_per_k`` is ``None`` where it is not tabulated.
    """

    name: str
    aliases: tuple[str, ...]
    family: str
    spacing_class: str
    soft: bool
    thermal_expansion_per_k: float | None
    note: str
    source: str

    @property
    def is_metal(self) -> bool:
        """Whether it is cut as a metal."""
        return self.family not in ("wood", "plastic")

    def in_temper(self, temper: str | None) -> Material:
        """Return the same metal in a stated condition: ``soft``, or ``half hard`` and ``hard``, which are not soft.

        Without one the table's own stands: the softer condition where a metal is sold in several. Wood and plastics
        have no temper.
        """
        return self if temper is None or not self.is_metal else self._replace(soft=temper == "soft")


@cache
def all_materials() -> tuple[Material, ...]:
    """Return the table in its order."""
    return tuple(
        Material(
            name=row["name"],
            aliases=words(row["aliases"]),
            family=row["family"],
            spacing_class=row["spacing_class"],
            soft=row["soft"] == "yes",
            thermal_expansion_per_k=optional(row["thermal_expansion_per_k"]),
            note=row["note"],
            source=row["source"],
        )
        for row in rows("materials")
    )


def material(text: str) -> Material:
    """Return the material that the text names; words in any order, a grade with or without its metal.

    Raises
    ------
    InputError
        Unknown (with the nearest names), or a word such as ``steel`` that can mean several.

    Examples
    --------
    >>> material("copper, annealed").name, material("aluminum").name, material("304 stainless").name
    ('copper', 'aluminium', 'stainless steel')
    """
    return _by_grade(text) or find_by_name(text, all_materials(), what="material")


def _by_grade(text: str) -> Material | None:
    """Return the material of a grade that stands beside words for its metal; ``None`` where the two do not agree.

    1018 steel is mild steel by its grade, though steel alone can mean several; C110 brass is nothing.
    """
    wanted = plain_words(text)
    found = []
    for entry in all_materials():
        grades = [plain_words(n) for n in entry.aliases if any(c.isdigit() for c in n)]
        metal = frozenset().union(*(plain_words(n) for n in (entry.name, *entry.aliases)))
        if any(grade < wanted and wanted - grade <= metal for grade in grades):
            found.append(entry)
    return found[0] if len(found) == 1 else None
