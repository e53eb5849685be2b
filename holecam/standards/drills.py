"""Drill sizes in the unit of their standard: number, letter, fraction and metric, and the neighbours among those owned.

Sets: ``number`` #1 to #97, ``letter`` A to Z, ``fraction`` 1/64 to 1 in by 64ths, ``metric`` 0.3 to 3 mm by 0.05, to
13 mm by 0.1 with the quarters, to 28 mm by 0.5.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_UNIT, Unit
from holecam.standards.table import raw_rows

SETS = ("number", "letter", "fraction", "metric")
INCH_SETS = ("number", "letter", "fraction")
USUAL_SETS: dict[Unit, tuple[str, ...]] = {"in": INCH_SETS, "mm": ("metric",)}
"""The sets that a shop has that works in this unit (common practice)."""

SET_WORDS: dict[str, tuple[str, ...]] = {
    **{name: (name,) for name in SETS},
    **{f"{name}s": (name,) for name in ("number", "letter", "fraction")},
    "inch": INCH_SETS,
    "mm": ("metric",),
    "all": SETS,
}
"""What a user may write for a set of drills."""

OTHER = "other"
"""Set of a drill that a user lists by its size and that no standard set has."""

NANOMETRES: dict[str, int] = {"in": 25_400_000, "mm": 1_000_000}
"""Sizes are sorted as whole nanometres: every standard size is a whole number of them, and integers are quick."""


class Drill(NamedTuple):
    """One drill: its name as people say it, its size exact in the unit that defines it.

    ``name`` is ``#29``, ``F``, ``7/32 in`` or ``5.5 mm``; ``numerator / denominator`` is the size in ``unit``.
    """

    set_name: str
    name: str
    numerator: int
    denominator: int
    unit: Unit
    source: str

    @property
    def size(self) -> Fraction:
        """Exact diameter in ``unit``."""
        return Fraction(self.numerator, self.denominator)

    @property
    def exact_diameter(self) -> Fraction:
        """Exact diameter in mm."""
        return self.size * MM_PER_UNIT[self.unit]

    @property
    def diameter(self) -> float:
        """Diameter in mm: one division of whole numbers, so it is the nearest float to the exact size."""
        return self.numerator * NANOMETRES[self.unit] / (self.denominator * NANOMETRES["mm"])

    @property
    def nanometres(self) -> int:
        """Diameter in whole nanometres: exact for standard sizes, rounded down for others."""
        return self.numerator * NANOMETRES[self.unit] // self.denominator

    @property
    def label(self) -> str:
        """Return the name as a sheet prints it: a letter is told from a word."""
        return f"letter {self.name}" if self.set_name == "letter" else self.name


@cache
def all_drills() -> tuple[Drill, ...]:
    """Return every standard drill, by set in the order of ``SETS`` and as its table runs."""
    return tuple(_from_cells(cells) for cells in raw_rows("drills")[1])


def _from_cells(cells: tuple[str, ...]) -> Drill:
    set_name, name, diameter, unit, source = cells
    return Drill(set_name, name, *_ratio(diameter), "in" if unit == "in" else "mm", source)


@cache
def drill_named(name: str) -> Drill | None:
    """Return the standard drill of exactly this name, without making all the others; ``None`` when there is none."""
    return next((_from_cells(cells) for cells in raw_rows("drills")[1] if cells[1] == name), None)


def _ratio(text: str) -> tuple[int, int]:
    """Return a table's size as integers; far quicker for four hundred rows than parsing each as a fraction."""
    if "/" in text:
        top, bottom = text.split("/")
        return int(top), int(bottom)
    whole, _, decimals = text.partition(".")
    return int(whole + decimals), 10 ** len(decimals)


@cache
def drills_by_size(sets: tuple[str, ...]) -> tuple[Drill, ...]:
    """Return the drills of the named sets from small to large; equal sizes stay in the order of ``SETS``.

    Raises
    ------
    InputError
        A name is not one of ``SETS``.
    """
    unknown = [name for name in sets if name not in SETS]
    if unknown:
        raise InputError(
            f'drill set "{unknown[0]}" is not known. Known: {", ".join(SETS)}.', key="drill set", value=unknown[0]
        )
    return sort_by_size(_from_cells(cells) for cells in raw_rows("drills")[1] if cells[0] in sets)


def sort_by_size(drills: Iterable[Drill]) -> tuple[Drill, ...]:
    """Return drills from small to large."""
    return tuple(sorted(drills, key=_nanometres))


def _nanometres(drill: Drill) -> int:
    return drill.nanometres


def owned_drills(owned: Iterable[str], *, unit: Unit | None = None) -> tuple[Drill, ...]:
    """Return the drills of a list that mixes set names and single drills, from small to large, each once.

    Parameters
    ----------
    owned : iterable of str
        ``number``, ``letter``, ``fraction``, ``metric``, ``inch`` (the first three), ``all``; or drills such as
        ``#29``, ``F``, ``7/32``, ``5.5 mm``.
    unit : {"in", "mm"} or None
        Unit of a bare decimal.

    Raises
    ------
    InputError
        An entry is neither a set nor a drill, or the list is empty.
    """
    from holecam.standards.drill_names import parse_drill

    found: dict[Drill, None] = {}
    for entry in owned:
        sets = SET_WORDS.get(entry.strip().lower())
        if sets is not None:
            found.update(dict.fromkeys(drills_by_size(sets)))
        else:
            found[parse_drill(entry, unit=unit)] = None
    if not found:
        raise InputError(
            f"drills owned: the list is empty. Name sets ({', '.join(SETS)}) or single drills.", key="drills owned"
        )
    return sort_by_size(found)


def nearest(size: Fraction, drills: Sequence[Drill]) -> Drill | None:
    """Return the drill nearest to a size in mm; of two as near the smaller, since metal cannot be put back.

    ``drills`` run from small to large, as :func:`drills_by_size` and :func:`owned_drills` give them; ``None`` when
    there are none.

    >>> from fractions import Fraction
    >>> nearest(Fraction("3.45"), drills_by_size(("number",))).name
    '#29'
    """
    below, above = largest_at_most(size, drills), smallest_at_least(size, drills)
    if below is None or above is None:
        return below or above
    return below if size - below.exact_diameter <= above.exact_diameter - size else above


def next_smaller(size: Fraction, drills: Sequence[Drill]) -> Drill | None:
    """Return the largest drill strictly below a size in mm, or ``None``; drills from small to large."""
    return _first_of_its_size(drills, bisect_left(drills, size, key=_exact_diameter) - 1)


def next_larger(size: Fraction, drills: Sequence[Drill]) -> Drill | None:
    """Return the smallest drill strictly above a size in mm, or ``None``; drills from small to large."""
    return _first_of_its_size(drills, bisect_right(drills, size, key=_exact_diameter))


def smallest_at_least(size: Fraction, drills: Sequence[Drill]) -> Drill | None:
    """Return the smallest drill that is not below a size in mm, or ``None``; drills from small to large."""
    return _first_of_its_size(drills, bisect_left(drills, size, key=_exact_diameter))


def largest_at_most(size: Fraction, drills: Sequence[Drill]) -> Drill | None:
    """Return the largest drill that is not above a size in mm, or ``None``; drills from small to large."""
    return _first_of_its_size(drills, bisect_right(drills, size, key=_exact_diameter) - 1)


def _exact_diameter(drill: Drill) -> Fraction:
    return drill.exact_diameter


def _first_of_its_size(drills: Sequence[Drill], index: int) -> Drill | None:
    """Return the drill at an index, or the first of those that have its size (letter E before 1/4)."""
    if not 0 <= index < len(drills):
        return None
    while index > 0 and drills[index - 1].exact_diameter == drills[index].exact_diameter:
        index -= 1
    return drills[index]
