"""What holds an attached piece to the sheet: how thick such a layer usually is, and how it looks when it shows."""

from __future__ import annotations

import math
from functools import cache

from msgspec import Struct

from holecam.errors import InputError
from holecam.standards.names import find_by_name
from holecam.standards.rectangular_doubt import standard_doubt_within
from holecam.standards.table import optional, rows, words


class BondingLayer(Struct, frozen=True):
    """A kind of bond: thinnest, usual and thickest layer in mm, half-width of doubt when nobody measured it.

    ``looks`` is the colour that shows under the cutter; ``caution_tags`` go to :func:`cautions.cautions_for`.
    """

    name: str
    aliases: tuple[str, ...]
    thin: float
    usual: float
    thick: float
    half_width: float
    density_g_cm3: float | None
    melting_c: float | None
    looks: str
    caution_tags: tuple[str, ...]
    note: str
    source: str

    @property
    def standard_uncertainty(self) -> float:
        """Half-width over the root of three (GUM 4.3.7), mm."""
        return standard_doubt_within(self.half_width)


@cache
def all_bonding_layers() -> tuple[BondingLayer, ...]:
    """Return the table in its order."""
    return tuple(
        BondingLayer(
            name=row["name"],
            aliases=words(row["aliases"]),
            thin=float(row["thin_mm"]),
            usual=float(row["usual_mm"]),
            thick=float(row["thick_mm"]),
            half_width=float(row["half_width_mm"]),
            density_g_cm3=optional(row["density_g_cm3"]),
            melting_c=optional(row["melting_c"]),
            looks=row["looks"],
            caution_tags=words(row["caution_tags"]),
            note=row["note"],
            source=row["source"],
        )
        for row in rows("bonding_layers")
    )


def bonding_layer(text: str) -> BondingLayer:
    """Return the layer that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    >>> bonding_layer("hard solder").usual
    0.04
    """
    return find_by_name(text, all_bonding_layers(), what="bonding layer")


def mean_gap_from_wire(*, wire_length: float, wire_diameter: float, joint_area: float) -> float:
    """Return the mean thickness in mm of a layer made from a length of solder wire: volume over area.

    Lengths in mm, area in mm2; solder that ran out of the joint is not in it. The copper tube soldering data sheet
    computes its consumption table so.

    Raises
    ------
    InputError
        A size is not positive and finite.
    """
    sizes = {"wire length": wire_length, "wire diameter": wire_diameter, "joint area": joint_area}
    for name, size in sizes.items():
        if not (math.isfinite(size) and size > 0):
            raise InputError(f"{name} {size}: expected a positive size", key=name, value=str(size))
    return wire_length * math.pi / 4 * wire_diameter**2 / joint_area


def mean_gap_from_mass(*, mass_g: float, density_g_cm3: float, joint_area: float) -> float:
    """Return the mean thickness in mm of a layer from the mass of solder used; area in mm2.

    Raises
    ------
    InputError
        A size is not positive and finite.
    """
    for name, size in (("mass", mass_g), ("density", density_g_cm3), ("joint area", joint_area)):
        if not (math.isfinite(size) and size > 0):
            raise InputError(f"{name} {size}: expected a positive size", key=name, value=str(size))
    return mass_g / density_g_cm3 * 1000 / joint_area
