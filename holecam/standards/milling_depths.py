"""How deep and how wide a first cut of an end mill may be, by material: starting points for a light mill."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError
from holecam.standards.materials import Material
from holecam.standards.table import optional, rows

RIGIDITY = {"weak": 0.5, "light": 1.0, "rigid": 2.0}
"""Depth for a weak set-up, a light mill (the table) and a heavy one: the depth is halved first, not the chip.

Common practice.
"""


class MillingDepths(Struct, frozen=True):
    """Depths and widths to start with, mm.

    ``side`` axial depth when cutting along a wall, ``slot`` when the cutter is buried, ``stepover`` radial step when
    roughing, ``finish`` radial cut that is left for the last pass, ``ceiling`` depth that a handbook never exceeds
    (``None``: none given); it is already observed in ``side`` and ``slot``.
    """

    side: float
    slot: float
    stepover: float
    finish: float
    ceiling: float | None
    source: str


def milling_depths(material: Material, *, diameter: float, set_up: str = "light") -> MillingDepths:
    """Return the depths for a cutter diameter in mm and a set-up: ``weak``, ``light`` or ``rigid``.

    Raises
    ------
    InputError
        The diameter is not positive, the set-up or the material not known.

    Examples
    --------
    >>> from holecam.standards.materials import material
    >>> milling_depths(material("mild steel"), diameter=6.0).slot
    0.6000000000000001
    """
    if not (math.isfinite(diameter) and diameter > 0):
        raise InputError(f"cutter {diameter:g} mm: expected a positive diameter", key="diameter")
    if set_up not in RIGIDITY:
        raise InputError(f'set-up "{set_up}" is not known. Write {", ".join(RIGIDITY)}.', key="set_up", value=set_up)
    for row in rows("mill_depths"):
        if row["family"] == material.family:
            ceiling = optional(row["ceiling_mm"])
            depth = RIGIDITY[set_up] * diameter
            side, slot = float(row["side_depth_d"]) * depth, float(row["slot_depth_d"]) * depth
            return MillingDepths(
                side=side if ceiling is None else min(side, ceiling),
                slot=slot if ceiling is None else min(slot, ceiling),
                stepover=float(row["stepover_d"]) * diameter,
                finish=float(row["finish_mm"]),
                ceiling=ceiling,
                source=row["source"],
            )
    raise InputError(f"no milling depths are known for {material.name}", key="material", value=material.name)


def wood_chip_factor(*, depth: float, diameter: float) -> float:
    """Return what the chip in wood is multiplied by at an axial depth: 1 to 1 D, 0.75 to 2 D, 0.5 beyond.

    Router-bit chart: chip 25 percent less at 2 D, half at 3 D. Lengths in mm.

    Raises
    ------
    InputError
        A length is not positive.
    """
    for name, value in (("depth", depth), ("diameter", diameter)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} {value:g} mm: expected a positive length", key=name)
    ratio = depth / diameter
    return 1.0 if ratio <= 1 + 1e-9 else 0.75 if ratio <= 2 + 1e-9 else 0.5
