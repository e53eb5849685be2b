"""Milling cutters as the planner of slots and pockets needs them."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError


class MillingCutter(Struct, frozen=True):
    """An end mill that runs with a flat or rounded end; lengths in mm.

    Parameters
    ----------
    name : str
        As the user calls it.
    diameter : float
        As measured: slot drills are ground under size.
    teeth : int
    flute_length, overhang : float or None
        Length that cuts, and length out of the holder; ``None`` where unknown, then no depth is refused for it.
    corner_radius : float
        Radius at the corner of the end; half the diameter for a ball.
    centre_cutting : bool
        Whether it may plunge into solid material.
    carbide : bool
    """

    name: str
    diameter: float
    teeth: int = 2
    flute_length: float | None = None
    overhang: float | None = None
    corner_radius: float = 0.0
    centre_cutting: bool = False
    carbide: bool = False

    def __post_init__(self) -> None:
        what = f'cutter "{self.name}"'
        for text, value in (
            ("diameter", self.diameter),
            ("flute length", self.flute_length),
            ("overhang", self.overhang),
        ):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise InputError(f"{what}: {text} {value} mm: expected a length above zero")
        if not 0 <= self.corner_radius <= self.diameter / 2:
            raise InputError(f"{what}: corner radius {self.corner_radius} mm: expected 0 to half the diameter")
        if self.teeth < 1:
            raise InputError(f"{what}: {self.teeth} teeth: expected at least one")

    @property
    def radius(self) -> float:
        """Half the diameter, mm."""
        return self.diameter / 2

    def reaches(self, depth: float) -> bool:
        """Return whether flutes and overhang are long enough for the depth, mm; unknown lengths are."""
        short = (length for length in (self.flute_length, self.overhang) if length is not None)
        return all(depth <= length for length in short)
