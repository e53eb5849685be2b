"""How far a reading may be off, by instrument: half-width a; the standard uncertainty is a over the root of three."""

from __future__ import annotations

import math
from functools import cache

from msgspec import Struct

from holecam.errors import InputError
from holecam.standards.names import find_by_name
from holecam.standards.rectangular_doubt import standard_doubt_within
from holecam.standards.table import optional, rows, words


class Instrument(Struct, frozen=True):
    """A measuring tool. Length tools have ``half_width`` (mm), angle tools ``half_width_deg``; the other is ``None``.

    ``half_width_per_m`` is added for each metre, rounded up, and ``end_face`` when the length starts at the tool's end.
    """

    name: str
    aliases: tuple[str, ...]
    half_width: float | None
    half_width_per_m: float
    end_face: float
    half_width_deg: float | None
    note: str
    source: str

    @property
    def measures_angles(self) -> bool:
        """Whether it reads degrees."""
        return self.half_width_deg is not None

    def half_width_at(self, length: float = 0.0, *, from_end: bool = False) -> float:
        """Return the half-width for a length, both in mm.

        Raises
        ------
        InputError
            The tool measures angles, or the length is not finite or negative.
        """
        if self.half_width is None:
            raise InputError(f"{self.name} measures angles, not lengths", key="instrument", value=self.name)
        if not (math.isfinite(length) and length >= 0):
            raise InputError(f"length {length} mm: expected a finite length, zero or more", key="length")
        per_length = self.half_width_per_m * math.ceil(length / 1000)
        return self.half_width + per_length + (self.end_face if from_end else 0.0)

    def standard_uncertainty(self, length: float = 0.0, *, from_end: bool = False) -> float:
        """Return the standard uncertainty of a length in mm (rectangular distribution, GUM 4.3.7)."""
        return standard_doubt_within(self.half_width_at(length, from_end=from_end))

    def standard_uncertainty_deg(self) -> float:
        """Return the standard uncertainty of an angle in degrees.

        Raises
        ------
        InputError
            The tool measures lengths.
        """
        if self.half_width_deg is None:
            raise InputError(f"{self.name} measures lengths, not angles", key="instrument", value=self.name)
        return standard_doubt_within(self.half_width_deg)


@cache
def all_instruments() -> tuple[Instrument, ...]:
    """Return the table in its order."""
    return tuple(
        Instrument(
            name=row["name"],
            aliases=words(row["aliases"]),
            half_width=optional(row["half_width_mm"]),
            half_width_per_m=float(row["half_width_mm_per_m"]),
            end_face=float(row["end_face_mm"]),
            half_width_deg=optional(row["half_width_deg"]),
            note=row["note"],
            source=row["source"],
        )
        for row in rows("instruments")
    )


def instrument(text: str) -> Instrument:
    """Return the instrument that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    A class II steel rule over 300 mm: 0.3 + 0.2 (one metre or part of it).

    >>> instrument("steel rule class II").half_width_at(300.0)
    0.5
    """
    return find_by_name(text, all_instruments(), what="instrument")


def resolution_uncertainty(resolution: float) -> float:
    """Return the standard uncertainty that a display step adds: step over the root of twelve (GUM F.2.2.1), mm."""
    return resolution / math.sqrt(12)
