"""Screw heads and washers (how much room they take), counterbores and countersinks to sink them."""

import math
from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_UNIT
from holecam.standards.names import find_by_name
from holecam.standards.screw_systems import exact_size, screw_system
from holecam.standards.table import COMMON_PRACTICE, optional, raw_rows, rows, words
from holecam.standards.threads import Thread

HEADS = ("socket", "button", "socket-flat", "flat", "pan", "cheese", "hex", "washer")
SUNK_HEADS = ("socket-flat", "flat")
"""Heads that sit in a countersink; they centre themselves, so they leave no play (common practice)."""

UNIFIED_COUNTERSINK_DEG, OTHER_COUNTERSINK_DEG = 82.0, 90.0
"""ASME B18.3 and B18.6.3; ISO 10642, ISO 2009, and British countersunk screws."""

COUNTERBORE_ROOM = 0.5
"""mm. Added to the head's diameter where no table has a counterbore; common practice."""


class HeadKind(NamedTuple):
    """A kind of head: the key, the words, and ratios for sizes that no table lists."""

    name: str
    aliases: tuple[str, ...]
    words: str
    diameter_d: float
    height_d: float | None
    source: str


class ScrewHead(NamedTuple):
    """Room that a head or washer takes: largest diameter (across corners for a hexagon) and height, mm.

    ``height`` is ``None`` where no figure is known. ``angle_deg`` is set for countersunk heads, whose diameter is that
    of the sharp edge in theory, the largest that it can be.
    """

    kind: str
    diameter: float
    height: float | None
    angle_deg: float | None
    source: str


class Counterbore(NamedTuple):
    """Flat-bottomed recess for a socket head: diameter and depth in mm; the depth sinks the head level."""

    diameter: float
    depth: float
    source: str


class Countersink(NamedTuple):
    """Conical recess: diameter at the surface, included angle, depth of the cone in mm from surface to the hole."""

    diameter: float
    angle_deg: float
    depth: float
    source: str


@cache
def head_kinds() -> tuple[HeadKind, ...]:
    """Return the kinds of head."""
    return tuple(
        HeadKind(
            name=row["head"],
            aliases=(*words(row["aliases"]), row["words"]),
            words=row["words"],
            diameter_d=float(row["diameter_d"]),
            height_d=optional(row["height_d"]),
            source=row["source"],
        )
        for row in rows("screw_head_rules")
    )


def head_kind(text: str) -> HeadKind:
    """Return the kind of head that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    >>> head_kind("countersunk").name
    'flat'
    """
    return find_by_name(text, head_kinds(), what="screw head")


def countersink_angle(thread: Thread) -> float:
    """Return the included angle, degrees, under the flat heads of a screw: 82 unified, 90 metric, BA and Whitworth.

    >>> from holecam.standards.thread_names import parse_thread
    >>> [countersink_angle(parse_thread(name)) for name in ("1/4-20", "M6", "1/4 BSW")]
    [82.0, 90.0, 90.0]
    """
    return UNIFIED_COUNTERSINK_DEG if screw_system(thread) == "unified" else OTHER_COUNTERSINK_DEG


def screw_head(thread: Thread, kind: str) -> ScrewHead:
    """Return the room that a head takes; by rule, marked common practice, where no table lists the size.

    Raises
    ------
    InputError
        The kind of head is not known.

    Examples
    --------
    >>> from holecam.standards.thread_names import parse_thread
    >>> round(screw_head(parse_thread("6-32"), "pan").diameter / 25.4, 3)
    0.27
    """
    wanted = head_kind(kind)
    system = screw_system(thread)
    angle = None
    if wanted.name in SUNK_HEADS:
        angle = countersink_angle(thread)
    listed = _listed_heads().get((system, thread.nominal, wanted.name))
    if listed is not None:
        unit_name, across_what, size, height_text, source = listed
        unit = MM_PER_UNIT[unit_name]
        across = float(exact_size(size) * unit)
        height = float(exact_size(height_text) * unit) if height_text else None
        diameter = across * ACROSS_CORNERS if across_what == "flats" else across
        return ScrewHead(wanted.name, diameter, height, angle, source)
    across = wanted.diameter_d * thread.major
    diameter = across * ACROSS_CORNERS if wanted.name == "hex" else across
    height = None if wanted.height_d is None else wanted.height_d * thread.major
    return ScrewHead(wanted.name, diameter, height, angle, _by_rule(wanted))


@cache
def _listed_heads() -> dict[tuple[str, ...], tuple[str, ...]]:
    """Return (system, nominal, head) -> unit, across what, size, height and source, as the table has them."""
    return {cells[:3]: cells[3:] for cells in raw_rows("screw_heads")[1]}


ACROSS_CORNERS = 2 / math.sqrt(3)
"""A hexagon's corners over its flats, sharp corners."""


def _by_rule(kind: HeadKind) -> str:
    return kind.source if kind.source.startswith(COMMON_PRACTICE) else f"{COMMON_PRACTICE}: {kind.source}"


def counterbore(thread: Thread) -> Counterbore:
    """Return the counterbore that sinks a socket head level with the surface.

    Examples
    --------
    >>> from holecam.standards.thread_names import parse_thread
    >>> counterbore(parse_thread("M6")).diameter
    11.0
    """
    head = screw_head(thread, "socket")
    height = thread.major if head.height is None else head.height
    for row in rows("counterbores"):
        if (row["system"], row["nominal"]) == (screw_system(thread), thread.nominal):
            return Counterbore(float(exact_size(row["counterbore"]) * MM_PER_UNIT[row["unit"]]), height, row["source"])
    return Counterbore(head.diameter + COUNTERBORE_ROOM, height, f"{COMMON_PRACTICE}: head and {COUNTERBORE_ROOM} mm")


def countersink(thread: Thread, *, hole: float, kind: str = "flat") -> Countersink:
    """Return the countersink for a flat head over a clearance hole of a diameter in mm.

    The surface diameter is the head's sharp edge in theory, so that the head comes to rest level or a little below.

    Raises
    ------
    InputError
        The head is not a countersunk one, or the hole is not positive and below the head.
    """
    head = screw_head(thread, kind)
    if head.angle_deg is None:
        raise InputError(
            f"a {head.kind} head has no countersink; the heads that have are {' and '.join(SUNK_HEADS)}",
            key="head",
            value=kind,
        )
    if not 0 < hole < head.diameter:
        raise InputError(
            f"hole {hole:g} mm: expected a hole below the head of {thread.name}, {head.diameter:.3g} mm",
            key="hole",
            value=f"{hole:g}",
        )
    depth = (head.diameter - hole) / 2 / math.tan(math.radians(head.angle_deg / 2))
    return Countersink(head.diameter, head.angle_deg, depth, head.source)
