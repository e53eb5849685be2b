"""How far off a hole may sit, or be found, by method: half-width of what to expect, in mm on each axis."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from holecam.standards.names import find_by_name
from holecam.standards.rectangular_doubt import standard_doubt_within
from holecam.standards.table import rows, words


class PositionMethod(Struct, frozen=True):
    """A way to put a hole in its place (``use`` is ``drill``) or to find one that exists (``find``).

    ``half_width`` is what to expect on each axis, plus or minus; ``best_half_width`` what skilled work reaches.
    """

    name: str
    aliases: tuple[str, ...]
    use: str
    half_width: float
    best_half_width: float
    note: str
    source: str

    @property
    def standard_uncertainty(self) -> float:
        """Half-width over the root of three: a rectangular distribution (GUM, JCGM 100:2008, 4.3.7)."""
        return standard_doubt_within(self.half_width)


@cache
def all_position_methods() -> tuple[PositionMethod, ...]:
    """Return the table in its order."""
    return tuple(
        PositionMethod(
            name=row["name"],
            aliases=words(row["aliases"]),
            use=row["use"],
            half_width=float(row["half_width_mm"]),
            best_half_width=float(row["best_half_width_mm"]),
            note=row["note"],
            source=row["source"],
        )
        for row in rows("position_methods")
    )


def position_method(text: str) -> PositionMethod:
    """Return the method that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    >>> position_method("scribed line, by eye").half_width
    0.8
    """
    return find_by_name(text, all_position_methods(), what="position method")
