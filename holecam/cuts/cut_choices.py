"""Choices that slots and pockets share: direction, strategy, corners, entry, and what to keep away from."""

from __future__ import annotations

import math
from enum import StrEnum

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes import Curve, Point

ENGAGEMENT_RATIO = 1.25
"""How much more than in a straight cut at the same step-over a tooth may bite before something is done about it:
common practice; the job may say otherwise."""

RAMP_DEG = 3.0
"""Angle of a ramp or helix: common practice for small end mills (2 to 5 degrees)."""

CLIMB_BACKLASH = 0.01
"""mm. Lost motion above which climb milling is not the default: a plain screw lets the cutter pull the table by all of
it (practice of a technical-college page on backlash)."""


class Direction(StrEnum):
    """Which side of the travel the material lies on, spindle clockwise seen from above.

    Climb: on the right. Conventional: on the left.
    """

    CLIMB = "climb"
    CONVENTIONAL = "conventional"


class Strategy(StrEnum):
    """How a pocket is cleared: loops parallel to its outline, or straight rows to and fro."""

    ALONG_OUTLINE = "along the outline"
    TO_AND_FRO = "to and fro"


class Corners(StrEnum):
    """What happens where a tooth bites more than in a straight cut.

    ``SLOW`` drops the feed, ``NIBBLE`` opens the pocket in small bites that keep the engagement, ``AS_THEY_COME``
    leaves it and only reports it.
    """

    SLOW = "slow"
    NIBBLE = "nibble"
    AS_THEY_COME = "as they come"


class Entry(StrEnum):
    """How the cutter gets down to the depth of a pass."""

    HELIX = "helix"
    RAMP = "ramp"
    DRILLED_HOLE = "drilled hole"
    PLUNGE = "plunge"


class KeepAway(Struct, frozen=True):
    """A curve or the edge of a keep-out from which the cutter's edge, not its centre, keeps a margin, mm."""

    name: str
    curves: tuple[Curve, ...]
    margin: float

    def __post_init__(self) -> None:
        if not self.curves:
            raise InputError(f'"{self.name}": expected at least one line or arc to keep away from')
        if not (math.isfinite(self.margin) and self.margin >= 0):
            raise InputError(f'margin before "{self.name}", {self.margin} mm: expected a length of 0 or more')


class EntryHole(Struct, frozen=True):
    """A hole that is drilled before, through which the cutter gets down."""

    at: Point
    diameter: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.diameter) and self.diameter > 0):
            raise InputError(f"entry hole at {self.at}: diameter {self.diameter} mm: expected a length above zero")


class ChainDrillWish(Struct, frozen=True):
    """Chain drilling where two handwheels cannot follow: drill, web between holes, allowance off the line, mm."""

    drill: float
    web: float
    allowance: float


class SneakWish(Struct, frozen=True):
    """Start undersize by this over the whole width, mm, and open up in this many clean-up passes."""

    undersize: float
    steps: int = 3

    def __post_init__(self) -> None:
        if not (math.isfinite(self.undersize) and self.undersize > 0):
            raise InputError(f"sneaking up: undersize {self.undersize} mm: expected a length above zero")
        if self.steps < 1:
            raise InputError(f"sneaking up: {self.steps} steps: expected at least one")


def default_direction(*, by_hand: bool, backlash: float | None) -> Direction:
    """Return conventional by hand or where the screws have lost motion, else climb; unknown backlash counts as some."""
    if by_hand or backlash is None or not backlash <= CLIMB_BACKLASH:
        return Direction.CONVENTIONAL
    return Direction.CLIMB
