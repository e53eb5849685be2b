"""Spindle speeds and feeds to start from: handbook figures and customs, capped to what the machine can turn.

Starting points, never more: the machine, its condition, the tool's edge and the clamping decide.
"""

import math
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.materials import Material
from holecam.standards.names import find_by_name
from holecam.standards.table import rows, words

STARTING_POINT = "a starting point from handbooks and custom; listen, look at the chip, and change it"

CARBIDE_FACTOR = 2.0
"""Surface speed of carbide over high-speed steel; common practice."""

TOO_FAST = 1.25
"""A machine whose slowest speed is this much above the wanted one gets a warning; common practice."""


class Operation(NamedTuple):
    """How an operation's speed and feed derive from those of drilling or milling."""

    name: str
    aliases: tuple[str, ...]
    speed_of: str
    speed_factor: float
    feed: str
    feed_factor: float
    source: str


class CuttingStart(NamedTuple):
    """Speed and feed to start with.

    ``surface_speed`` (m/min) and ``wanted_rpm`` are what the tables ask for, ``rpm`` what the machine's range leaves of
    it, rounded down; ``bound`` is ``fastest``, ``slowest`` or empty. ``feed`` is in mm/min, ``feed_per_turn`` in mm.
    ``chip`` is mm a tooth for milling, else 0. ``notes`` always starts with the words that mark a starting point.
    """

    operation: str
    tool_material: str
    surface_speed: float
    wanted_rpm: float
    rpm: int
    bound: str
    feed: float
    feed_per_turn: float
    chip: float
    source: str
    notes: tuple[str, ...]


def all_operations() -> tuple[Operation, ...]:
    """Return drill, spot, ream, countersink, counterbore, tap and mill."""
    return tuple(
        Operation(
            name=row["operation"],
            aliases=words(row["aliases"]),
            speed_of=row["speed_of"],
            speed_factor=float(row["speed_factor"]),
            feed=row["feed"],
            feed_factor=float(row["feed_factor"]),
            source=row["source"],
        )
        for row in rows("operation_factors")
    )


def spindle_rpm(*, surface_speed: float, diameter: float) -> float:
    """Return turns a minute for a surface speed in m/min and a diameter in mm: 1000 v / (pi D).

    Raises
    ------
    InputError
        Either is not positive and finite.

    Examples
    --------
    >>> round(spindle_rpm(surface_speed=40.0, diameter=6.0))
    2122
    """
    _positive("surface speed", surface_speed, "m/min")
    _positive("diameter", diameter, "mm")
    return 1000.0 * surface_speed / (math.pi * diameter)


def cutting_start(
    material: Material,
    operation: str,
    *,
    diameter: float,
    tool_material: str = "HSS",
    teeth: int = 2,
    pitch: float | None = None,
    slowest_rpm: float | None = None,
    fastest_rpm: float | None = None,
) -> CuttingStart:
    """Return speed and feed to start from.

    Parameters
    ----------
    operation : str
        ``drill``, ``spot``, ``ream``, ``countersink``, ``counterbore``, ``tap`` or ``mill``.
    diameter : float
        Of the tool, mm; for a countersink at its widest.
    tool_material : str
        ``HSS`` or ``carbide``.
    teeth : int
        Of an end mill.
    pitch : float or None
        Of the thread, mm; needed for a tap.
    slowest_rpm, fastest_rpm : float or None
        The machine's spindle range; ``None`` leaves it open.

    Raises
    ------
    InputError
        An unknown operation or tool material, a size that is not positive, no pitch for a tap, or a range that is none.
    """
    kind = find_by_name(operation, all_operations(), what="operation")
    factor = _tool_factor(tool_material)
    low, high, source = surface_speeds(material, kind.speed_of)
    milled_wood = material.family == "wood" and kind.name == "mill"
    surface = (high if milled_wood else low) * kind.speed_factor * factor
    wanted = spindle_rpm(surface_speed=surface, diameter=diameter)
    as_fast_as_possible = milled_wood and fastest_rpm is not None
    if milled_wood and fastest_rpm is not None:
        wanted = max(wanted, fastest_rpm)  # wood takes the highest speed that the machine has
    rpm, bound = _capped(wanted, slowest_rpm, fastest_rpm)
    chip, feed_per_turn, feed_source = _feed_per_turn(kind, material, diameter, teeth, pitch)
    return CuttingStart(
        operation=kind.name,
        tool_material=tool_material,
        surface_speed=surface,
        wanted_rpm=wanted,
        rpm=rpm,
        bound=bound,
        feed=feed_per_turn * rpm,
        feed_per_turn=feed_per_turn,
        chip=chip,
        source=f"speed: {source}; feed: {feed_source}",
        notes=tuple(_notes(wanted, rpm, bound, as_fast=as_fast_as_possible)),
    )


def surface_speeds(material: Material, of: str) -> tuple[float, float, str]:
    """Return the low and high surface speed of high-speed steel in m/min, and the source; ``of`` is drill or mill.

    The material's own row goes before that of its family.

    Raises
    ------
    InputError
        The table has neither.
    """
    for key in (material.name, material.family):
        for row in rows("cutting_speeds"):
            if row["material"] == key and row["operation"] == of:
                return float(row["low_m_min"]), float(row["high_m_min"]), row["source"]
    raise InputError(f"no cutting speed is known for {material.name}", key="material", value=material.name)


def chip_load(material: Material, diameter: float) -> tuple[float, str]:
    """Return the chip for each tooth in mm and its source: linear between the rows, proportional below the first.

    Above the last row its figure stands.

    Raises
    ------
    InputError
        The diameter is not positive, or the family has no rows.
    """
    _positive("diameter", diameter, "mm")
    of_family = [row for row in rows("chip_loads") if row["family"] == material.family]
    if not of_family:
        raise InputError(f"no chip load is known for {material.name}", key="material", value=material.name)
    before_d, before_chip = 0.0, 0.0
    for row in of_family:
        here_d, here_chip = float(row["diameter_mm"]), float(row["chip_mm"])
        if diameter <= here_d:
            share = (diameter - before_d) / (here_d - before_d)
            return before_chip + share * (here_chip - before_chip), row["source"]
        before_d, before_chip = here_d, here_chip
    return before_chip, of_family[-1]["source"]


def drill_feed(diameter: float) -> tuple[float, float, str]:
    """Return the low and high feed of a drill, mm a turn, and the source; diameter in mm.

    Raises
    ------
    InputError
        The diameter is not positive.
    """
    _positive("diameter", diameter, "mm")
    table = rows("drill_feeds")
    row = next((r for r in table if diameter <= float(r["drill_to_mm"]) + 1e-9), table[-1])
    return float(row["low_mm_rev"]), float(row["high_mm_rev"]), row["source"]


def _feed_per_turn(
    kind: Operation, material: Material, diameter: float, teeth: int, pitch: float | None
) -> tuple[float, float, str]:
    """Return chip for each tooth (0 when there is none), feed for each turn in mm, and the source."""
    if kind.feed == "pitch":
        if pitch is None:
            raise InputError("tapping feeds by the pitch: state the thread", key="pitch")
        return 0.0, _positive("pitch", pitch, "mm"), "pitch of the thread"
    if kind.feed == "tooth":
        if teeth < 1:
            raise InputError(f"teeth {teeth}: expected 1 or more", key="teeth", value=str(teeth))
        chip, source = chip_load(material, diameter)
        return chip, chip * teeth, source
    low, _, source = drill_feed(diameter)
    return 0.0, low * kind.feed_factor, source


def _tool_factor(tool_material: str) -> float:
    plain = tool_material.strip().lower().replace("-", " ")
    if plain in ("hss", "high speed steel", "cobalt", "hss cobalt"):
        return 1.0
    if plain in ("carbide", "solid carbide", "tungsten carbide"):
        return CARBIDE_FACTOR
    raise InputError(
        f'tool material "{tool_material}" is not known. Write HSS or carbide.', key="tool material", value=tool_material
    )


def _capped(wanted: float, slowest: float | None, fastest: float | None) -> tuple[int, str]:
    """Return whole turns a minute inside the machine's range, and the end of it that bound, if one did."""
    for name, value in (("slowest", slowest), ("fastest", fastest)):
        if value is not None:
            _positive(f"{name} spindle speed", value, "rpm")
    if slowest is not None and fastest is not None and slowest > fastest:
        raise InputError(
            f"spindle: slowest {slowest:g} rpm is above fastest {fastest:g} rpm", key="spindle", value=f"{slowest:g}"
        )
    if fastest is not None and wanted >= fastest:
        return max(1, math.floor(fastest)), "fastest" if wanted > fastest else ""
    if slowest is not None and wanted < slowest:
        return math.ceil(slowest), "slowest"
    return max(1, math.floor(wanted)), ""


def _notes(wanted: float, rpm: int, bound: str, *, as_fast: bool) -> list[str]:
    notes = [STARTING_POINT]
    if as_fast:
        notes.append("wood: few teeth at the machine's highest speed")
    elif bound == "fastest":
        notes.append(f"the machine's fastest speed binds; {wanted:.0f} rpm would suit; the feed fits the lower speed")
    elif bound == "slowest":
        notes.append(f"the machine's slowest speed binds; {wanted:.0f} rpm would suit")
        if rpm > TOO_FAST * wanted:
            notes.append("too fast for this tool: turn it by hand, take a smaller step, or another machine")
    return notes


def _positive(name: str, value: float, unit: str) -> float:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} {value:g} {unit}: expected a positive number", key=name, value=f"{value:g}")
    return value
