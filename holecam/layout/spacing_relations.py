"""The names of how a new hole lies to another hole, and how much each of them matters."""

from __future__ import annotations

import math
from enum import IntEnum

from msgspec import Struct

from holecam.layout.spacing_rules import LimitTerm
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import OldHole
from holecam.plan.finding import Severity
from holecam.shapes import Point


class Relation(IntEnum):
    """How a new hole (radius rn) lies to another hole (radius ro), c apart. A later one is the more telling."""

    OTHER_DEPTH = 0
    CLEAR = 1
    THIN_WEB = 2
    TOUCHES = 3
    BREAKS_INTO = 4
    CENTRE_INSIDE = 5
    SWALLOWS = 6
    INSIDE = 7
    INSIDE_THIN_WALL = 8
    CONCENTRIC = 9

    @property
    def words(self) -> str:
        """The relation in words."""
        return _WORDS[self]


_WORDS = {
    Relation.OTHER_DEPTH: "passes at another depth",
    Relation.CLEAR: "clear",
    Relation.THIN_WEB: "thin web",
    Relation.TOUCHES: "touches",
    Relation.BREAKS_INTO: "breaks into",
    Relation.CENTRE_INSIDE: "breaks into, with its centre inside",
    Relation.SWALLOWS: "takes in whole",
    Relation.INSIDE: "wholly inside",
    Relation.INSIDE_THIN_WALL: "inside, with too thin a wall",
    Relation.CONCENTRIC: "concentric",
}


class Filling(IntEnum):
    """What the drill meets in the other hole."""

    NEW_HOLE = 0
    OPEN = 1
    SOLID_PLUG = 2
    HELD_PLUG = 3
    LOOSE_PLUG = 4

    @property
    def is_plug(self) -> bool:
        """Whether it is one of the plugs."""
        return self >= Filling.SOLID_PLUG


def filling_of(hole: OldHole | DrillSite) -> Filling:
    """Return what a drill meets in a hole. ``SOLID_PLUG``: the same metal, and held; ``HELD_PLUG``: only held."""
    if isinstance(hole, DrillSite):
        return Filling.NEW_HOLE
    if hole.plug is None:
        return Filling.OPEN
    if hole.plug.drills_like_solid:
        return Filling.SOLID_PLUG
    return Filling.HELD_PLUG if hole.plug.fixing.holds_against_a_tap else Filling.LOOSE_PLUG


_STOP, _CAUTION, _NOTE = Severity.STOP, Severity.CAUTION, Severity.NOTE

SEVERITIES: dict[Relation, tuple[Severity, Severity, Severity, Severity, Severity]] = {
    # in the order of Filling: new hole, open, solid plug, held plug, loose plug
    Relation.TOUCHES: (_STOP, _STOP, _CAUTION, _STOP, _STOP),
    Relation.BREAKS_INTO: (_STOP, _STOP, _CAUTION, _STOP, _STOP),
    Relation.CENTRE_INSIDE: (_STOP, _STOP, _CAUTION, _STOP, _STOP),
    Relation.SWALLOWS: (_STOP, _CAUTION, _CAUTION, _CAUTION, _CAUTION),
    Relation.INSIDE: (_STOP, _STOP, _NOTE, _NOTE, _STOP),
    Relation.INSIDE_THIN_WALL: (_STOP, _STOP, _CAUTION, _STOP, _STOP),
    # a concentric hole that is no smaller than the old one; a smaller one goes by the rows for a hole inside
    Relation.CONCENTRIC: (_STOP, _NOTE, _NOTE, _NOTE, _NOTE),
}
"""Common practice: keep the drill's axis in solid metal; a plug of the same metal that cannot turn is nearly solid
(cast-iron stitching drills one plug into the next); a plug that only screws in follows the tap out."""

PRACTICE = "common practice"

_CODES: dict[Relation, tuple[str, str, str]] = {
    # new hole, open old hole, plug
    Relation.THIN_WEB: ("thin-web", "thin-web", "thin-web"),
    Relation.TOUCHES: ("touches", "touches", "touches"),
    Relation.BREAKS_INTO: ("breaks-into-new-hole", "breaks-into-open-hole", "breaks-into-plug"),
    Relation.CENTRE_INSIDE: ("centre-in-new-hole", "centre-in-open-hole", "centre-in-plug"),
    Relation.SWALLOWS: ("takes-in-new-hole", "takes-in-open-hole", "takes-in-plug"),
    Relation.INSIDE: ("inside-new-hole", "inside-open-hole", "inside-plug"),
    Relation.INSIDE_THIN_WALL: ("inside-new-hole", "inside-open-hole", "thin-plug-wall"),
    Relation.CONCENTRIC: ("same-place", "concentric", "concentric"),
}

MODEST_WEB = "modest-web"
"""Code of a web that keeps the limits but not the comfortable one: a note."""


def code_of(relation: Relation, filling: Filling) -> str:
    """Return the code of the finding for a relation; it never changes."""
    codes = _CODES.get(relation)
    return MODEST_WEB if codes is None else codes[min(filling, 2)]


class Bite(Struct, frozen=True):
    """How a drill cuts into another hole.

    ``depth`` is rn + ro - c, mm. ``share`` is the part of the drill's circumference that runs in the other hole,
    phi / pi with cos phi = (c^2 + rn^2 - ro^2) / (2 c rn). ``towards`` is the unit vector from the drill's centre to
    the other hole's: a softer plug or a void pulls the drill that way, a harder plug pushes it off; ``None`` when the
    centres coincide.
    """

    depth: float
    share: float
    towards: Point | None


def bite(radius: float, other_radius: float, center: Point, other: Point) -> Bite:
    """Return how a drill of ``radius`` mm at ``center`` cuts into a hole; share 0 when clear of it, 1 when inside.

    Two circles of equal radius whose centres are one radius apart: cos phi = 1/2, so a third of the circumference.

    >>> round(bite(3.0, 3.0, (0.0, 0.0), (3.0, 0.0)).share, 6)
    0.333333
    """
    dx, dy = other[0] - center[0], other[1] - center[1]
    apart = math.hypot(dx, dy)
    towards = (dx / apart, dy / apart) if apart > 0.0 else None
    depth = radius + other_radius - apart
    if depth <= 0.0 or apart + other_radius <= radius:  # clear, or its rim runs round the other hole
        return Bite(depth, 0.0, towards)
    if apart + radius <= other_radius:
        return Bite(depth, 1.0, towards)
    cosine = (apart * apart + (radius - other_radius) * (radius + other_radius)) / (2.0 * apart * radius)
    return Bite(depth, math.acos(min(1.0, max(-1.0, cosine))) / math.pi, towards)


class HoleRelation(Struct, frozen=True):
    """How a new hole lies to an old one or to another new one.

    Parameters
    ----------
    site : DrillSite
    other : OldHole or DrillSite
    relation : Relation
    filling : Filling
    code : str
        Code of the finding that it earns.
    severity : Severity or None
        ``None`` when every limit is kept.
    distance : float
        Between the centres, mm.
    radius, other_radius : float
        Those of the two bores that come nearest at one height, mm.
    web : float
        Metal between them, mm: distance less both radii; negative when one cuts into the other.
    wall : float
        Metal of the old hole's plug left round the new hole, mm: only meaningful inside it.
    limit : float or None
        The web (or wall) that should be kept, mm.
    term : LimitTerm or None
        Where the limit comes from.
    bite : Bite
    head_gap : float or None
        Free distance between the heads or washers on the two holes, mm; ``None`` when they have none at one height.
    heads_meet : bool
        Whether that gap is below its limit.
    """

    site: DrillSite
    other: OldHole | DrillSite
    relation: Relation
    filling: Filling
    code: str
    severity: Severity | None
    distance: float
    radius: float
    other_radius: float
    web: float
    wall: float
    limit: float | None
    term: LimitTerm | None
    bite: Bite
    head_gap: float | None = None
    heads_meet: bool = False

    @property
    def other_name(self) -> str:
        """Name of the other hole."""
        return self.other.name if isinstance(self.other, DrillSite) else self.other.label
