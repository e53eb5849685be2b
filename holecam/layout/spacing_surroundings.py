"""What a new hole has to respect: old holes and their plugs, the edge of the part, joints, bends, other keep-outs."""

from __future__ import annotations

import math
from enum import StrEnum

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.spacing_sites import EVERYWHERE, DrillSite, ZRange
from holecam.shapes import Circle, Curve, Outline, Point


class PlugFixing(StrEnum):
    """How a plug is kept from turning or falling out."""

    SCREWED = "screwed in"
    PRESSED = "pressed in"
    SOFT_SOLDERED = "soft soldered"
    BRAZED = "brazed"
    WELDED = "welded"
    EPOXY = "glued with epoxy"
    LOCKED = "locked with an anaerobic adhesive"
    PINNED = "pinned"
    UNKNOWN = "not said how"

    @property
    def holds_against_a_tap(self) -> bool:
        """Whether a hole may be tapped wholly inside the plug: the torque unscrews others (common practice)."""
        return self in (PlugFixing.BRAZED, PlugFixing.WELDED, PlugFixing.LOCKED, PlugFixing.PINNED)


class PlugHardness(StrEnum):
    """The plug's metal against the part's: a drill that cuts both runs to the softer side."""

    SOFTER = "softer than the part"
    SAME = "the same metal as the part"
    HARDER = "harder than the part"
    UNKNOWN = "of unknown hardness"


class Plug(Struct, frozen=True):
    """What fills an old hole; ``words`` as the job says it."""

    words: str
    fixing: PlugFixing = PlugFixing.UNKNOWN
    hardness: PlugHardness = PlugHardness.UNKNOWN

    @property
    def drills_like_solid(self) -> bool:
        """Whether a drill may break partly into it: the same metal, and held. Cast-iron stitching works that way."""
        return self.hardness is PlugHardness.SAME and self.fixing.holds_against_a_tap


class OldHole(Struct, frozen=True):
    """A hole that exists already. ``diameter`` is the largest that counts: the thread's major diameter if tapped.

    ``within``: its centre surely lies no farther than this from ``center``, mm. Seen from outside it takes up all the
    room that it may take up; seen from inside, the metal of its plug is only what is there in any case.
    """

    label: str
    center: Point
    diameter: float
    plug: Plug | None = None
    z: ZRange = EVERYWHERE
    within: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.center[0]) and math.isfinite(self.center[1])):
            raise InputError(f"{self.label}: expected a finite centre, got {self.center}")
        if not (math.isfinite(self.diameter) and self.diameter > 0.0):
            raise InputError(f"{self.label}: diameter {self.diameter} mm: expected a finite length above zero")
        if not (math.isfinite(self.within) and self.within >= 0.0):
            raise InputError(f"{self.label}: within {self.within} mm: expected a finite length, zero or more")

    @property
    def radius(self) -> float:
        """Radius of the room that it may take up, mm: half the diameter and the doubt of its place."""
        return self.diameter / 2 + self.within


class KeepOut(Struct, frozen=True):
    """A place where no hole may come: a joint, a bend, a pocket, a wall, the seat of a mating part.

    Parameters
    ----------
    name, kind : str
        The user's name, and one word: ``bend``, ``joint``, ``pocket``, ``wall``, ``seat``, ``keep-out``.
    shape : Outline, Circle or tuple of curves
        A closed area, or an open chain: the tangent line of a bend, the line of a joint.
    margin : float or None
        Metal to leave between the hole's edge and the shape, mm; below it stands a stop. ``None`` takes the limits of
        the table for a ``bend``, and 0 for everything else.
    caution_margin : float or None
        Below this, mm, stands a caution.
    head_margin : float
        Distance from the edge of a head or washer to the shape, mm.
    half_width : float
        Half the width, mm, of a joint or bend that is stated by its middle line: the hole's distance counts from its
        edge.
    depth_margin : float
        Added above and below ``z``, mm: how near a blind hole may come from above.
    z : ZRange
    source : str
        Where the margins come from.
    """

    name: str
    kind: str
    shape: Outline | Circle | tuple[Curve, ...]
    margin: float | None = None
    caution_margin: float | None = None
    head_margin: float = 0.0
    half_width: float = 0.0
    depth_margin: float = 0.0
    z: ZRange = EVERYWHERE
    source: str = "job file"

    def __post_init__(self) -> None:
        if isinstance(self.shape, tuple) and not self.shape:
            raise InputError(f'keep-out "{self.name}": expected at least one line or arc')
        margins = (self.margin, self.caution_margin, self.head_margin, self.half_width, self.depth_margin)
        if not all(m is None or (math.isfinite(m) and m >= 0.0) for m in margins):
            raise InputError(f'keep-out "{self.name}": expected margins that are finite, zero or more, got {margins}')

    @property
    def z_counted(self) -> ZRange:
        """The heights at which it counts, the depth margin included."""
        return self.z.widened(self.depth_margin) if self.depth_margin else self.z


class PartShape(Struct, frozen=True):
    """The part's outline and the openings in it, both ``None`` or empty when not stated; thickness in mm."""

    outline: Outline | None = None
    openings: tuple[Outline, ...] = ()
    thickness: float | None = None

    def __post_init__(self) -> None:
        if self.thickness is not None and not (math.isfinite(self.thickness) and self.thickness > 0.0):
            raise InputError(f"thickness {self.thickness} mm: expected a finite length above zero")


class Surroundings(Struct, frozen=True):
    """Everything that stays where it is while a pattern is placed.

    ``standing_sites`` are new holes of other patterns, already placed.
    """

    part: PartShape = PartShape()
    old_holes: tuple[OldHole, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    standing_sites: tuple[DrillSite, ...] = ()
