"""New holes as the spacing check sees them: where each lies, how wide it is at each height, and what sits on it."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError
from holecam.plan.hole_words import hole_words
from holecam.shapes import Point

ARITHMETIC_NOISE = 1e-9
"""mm. A distance that misses a limit by no more than this keeps it: a hole placed exactly at a limit lands some
1e-14 mm to either side of it, and mirrored or turned copies land on different sides."""


class ZRange(Struct, frozen=True):
    """The heights that something takes up, signed, up positive, mm. Unbounded unless told: it counts everywhere.

    A through hole has ``bottom = -inf``. Two ranges that only touch share no height.
    """

    top: float = math.inf
    bottom: float = -math.inf

    def __post_init__(self) -> None:
        if math.isnan(self.top) or math.isnan(self.bottom) or not self.top > self.bottom:
            raise InputError(f"heights {self.top} to {self.bottom} mm: expected a top above the bottom")

    def shares_height_with(self, other: ZRange) -> bool:
        """Return whether both take up some common height (more than arithmetic noise)."""
        return min(self.top, other.top) - max(self.bottom, other.bottom) > ARITHMETIC_NOISE

    def widened(self, by: float) -> ZRange:
        """Return the range with ``by`` mm more at both ends."""
        return ZRange(self.top + by, self.bottom - by)


EVERYWHERE = ZRange()
"""At every height."""


class Bore(Struct, frozen=True):
    """What is cut at a hole over one range of heights. For a thread give the major diameter, mm."""

    diameter: float
    z: ZRange = EVERYWHERE
    what: str = "hole"

    def __post_init__(self) -> None:
        _positive(self.diameter, f"diameter of the {self.what}")

    @property
    def radius(self) -> float:
        """Half the diameter, mm."""
        return self.diameter / 2


class Head(Struct, frozen=True):
    """A screw head or washer that sits on the hole: needs room, cuts no metal."""

    diameter: float
    z: ZRange = EVERYWHERE
    what: str = "screw head"

    def __post_init__(self) -> None:
        _positive(self.diameter, f"diameter of the {self.what}")

    @property
    def radius(self) -> float:
        """Half the diameter, mm."""
        return self.diameter / 2


class HoleProfile(Struct, frozen=True):
    """How wide a hole is at each height; holes made alike share one profile.

    Parameters
    ----------
    nominal : float
        The D of the edge rules, mm: major diameter of a thread, diameter of a plain or clearance hole.
    bores : tuple of Bore
        Everything that is cut; where several overlap in height the widest counts.
    heads : tuple of Head
    pitch : float or None
        Pitch of the thread, mm; ``None`` for a plain hole.
    """

    nominal: float
    bores: tuple[Bore, ...]
    heads: tuple[Head, ...] = ()
    pitch: float | None = None

    def __post_init__(self) -> None:
        _positive(self.nominal, "nominal diameter")
        if not self.bores:
            raise InputError("hole profile: expected at least one bore; a hole that cuts nothing is no hole")
        if self.pitch is not None:
            _positive(self.pitch, "pitch")

    @property
    def tapped(self) -> bool:
        """Whether the hole carries a thread."""
        return self.pitch is not None

    @property
    def largest_radius(self) -> float:
        """Radius of the widest bore, mm."""
        return max(b.radius for b in self.bores)


def plain_profile(
    diameter: float, *, pitch: float | None = None, z: ZRange = EVERYWHERE, head: float | None = None
) -> HoleProfile:
    """Return the profile of a hole of one diameter: of a thread its major diameter and pitch; with a head at wish.

    All in mm. The head counts at every height; give a :class:`HoleProfile` of your own where it does not.
    """
    what = "hole" if pitch is None else "thread"
    heads = () if head is None else (Head(head),)
    return HoleProfile(diameter, (Bore(diameter, z, what),), heads, pitch)


class DrillSite(Struct, frozen=True):
    """A hole to be drilled: its number, the name of its pattern, its centre in the part frame, its profile.

    ``number`` counts over the whole sheet; ``number_in_pattern`` is 0 where nobody counts otherwise.
    """

    number: int
    pattern: str
    center: Point
    profile: HoleProfile
    number_in_pattern: int = 0

    def __post_init__(self) -> None:
        x, y = self.center
        if not (math.isfinite(x) and math.isfinite(y)):
            raise InputError(f"{self.name}: expected a finite centre, got {self.center}")

    @property
    def name(self) -> str:
        """The hole in words: ``hole 3 of "rail screws"``, or ``hole 9 (3 of "rail screws")``."""
        return hole_words(self.number, self.pattern, self.number_in_pattern)


def _positive(size: float, what: str) -> None:
    if not (math.isfinite(size) and size > 0.0):
        raise InputError(f"{what} {size} mm: expected a finite length above zero")
