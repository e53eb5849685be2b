"""Tensile strengths of stock and of screws, MPa: typical figures to compare a thread with its screw, not for design."""

from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.materials import Material
from holecam.standards.names import find_by_name
from holecam.standards.table import rows, words


class Strength(NamedTuple):
    """Tensile strength of a material in a state that is usual for it."""

    tensile_mpa: float
    state: str
    source: str


class ScrewStrength(NamedTuple):
    """Tensile strength of a kind of screw."""

    name: str
    aliases: tuple[str, ...]
    tensile_mpa: float
    source: str


def material_strength(material: Material) -> Strength:
    """Return the tensile strength of a material.

    Raises
    ------
    InputError
        None is tabulated (wood has no single one).
    """
    for row in rows("material_strengths"):
        if row["material"] == material.name:
            return Strength(float(row["tensile_mpa"]), row["state"], row["source"])
    raise InputError(f"no tensile strength is known for {material.name}", key="material", value=material.name)


@cache
def all_screw_strengths() -> tuple[ScrewStrength, ...]:
    """Return the table of screws."""
    return tuple(
        ScrewStrength(row["name"], words(row["aliases"]), float(row["tensile_mpa"]), row["source"])
        for row in rows("screw_strengths")
    )


def screw_strength(text: str) -> ScrewStrength:
    """Return the screw strength that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    >>> screw_strength("8.8").tensile_mpa
    800.0
    """
    return find_by_name(text, all_screw_strengths(), what="screw strength")
