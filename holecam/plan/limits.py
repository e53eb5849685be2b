"""What a program must never do and what it is expected to make, as frozen values in the work frame, mm, Z up.

The check holds the text of a program against these, not against what the writer meant.
"""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes import Curve, Outline

Range = tuple[float, float]
"""(least, greatest), mm or rpm."""


def _finite(what: str, *values: float | None) -> None:
    for value in values:
        if value is not None and not math.isfinite(value):
            raise InputError(f"{what}: expected finite numbers, got {value}")


class HardFloor(Struct, frozen=True):
    """A height that no part of the cutter may ever pass, everywhere or over one region.

    Parameters
    ----------
    name : str
        In the user's words: ``copper hood``.
    z : float
        The height. Whatever lies under it inside the outline is never touched; the point of a drill counts.
    outline : Outline or None
        Region in plan; ``None`` means everywhere.
    source : str
        Where the height comes from, for the finding: ``sheet 1.588 mm down, less 2 x 0.019 mm of doubt``.
    """

    name: str
    z: float
    outline: Outline | None = None
    source: str = ""

    def __post_init__(self) -> None:
        _finite(f'hard floor "{self.name}"', self.z)


class KeepOut(Struct, frozen=True):
    """A body that the cutter must not enter: a clamp, a wall, a boss.

    ``top_z`` is its height; the cutter may pass above it. ``None``: never, at any height, not even by rapid.
    """

    name: str
    outline: Outline
    top_z: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        _finite(f'keep-out "{self.name}"', self.top_z)


class Bend(Struct, frozen=True):
    """The inside of a bend: a wall that runs into a sheet with a radius.

    Parameters
    ----------
    name : str
    wall : tuple of Segment or Arc
        Inner face of the wall in plan, a chain from end to end; **the cutter's side is on the left** of its travel.
    inside_radius : float
        mm; the largest that was measured.
    sheet_z : float
        Height of the sheet's upper face.
    wall_top_z : float or None
        Height of the wall; ``None``: higher than any move.
    gap : float
        mm, measured square to the surface: the least distance between the cutter's body and bend or wall.
    source : str
    """

    name: str
    wall: tuple[Curve, ...]
    inside_radius: float
    sheet_z: float
    wall_top_z: float | None = None
    gap: float = 0.0
    source: str = ""

    def __post_init__(self) -> None:
        _finite(f'bend "{self.name}"', self.inside_radius, self.sheet_z, self.wall_top_z, self.gap)
        if not self.wall:
            raise InputError(f'bend "{self.name}": expected at least one line or arc of its wall')
        if not (self.inside_radius >= 0 and self.gap >= 0):
            raise InputError(f'bend "{self.name}": expected inside radius and gap of 0 or more')


class Stock(Struct, frozen=True):
    """The material before this program: what a rapid must not pass through. Prismatic, from bottom to top."""

    outline: Outline
    top_z: float
    bottom_z: float

    def __post_init__(self) -> None:
        _finite("stock", self.top_z, self.bottom_z)
        if not self.bottom_z < self.top_z:
            raise InputError(f"stock: expected its bottom {self.bottom_z} below its top {self.top_z} mm")


class Travel(Struct, frozen=True):
    """How far the machine can go. Unknown ends are ``None``.

    Ranges are positions in the work frame; lengths are the whole travel of an axis, for machines whose zero in the
    work frame is not known: then only the extent of the program is compared.
    """

    x: Range | None = None
    y: Range | None = None
    z: Range | None = None
    x_length: float | None = None
    y_length: float | None = None
    z_length: float | None = None

    def __post_init__(self) -> None:
        for axis in "xyz":
            ends: Range | None = getattr(self, axis)
            length: float | None = getattr(self, f"{axis}_length")
            _finite(f"travel of {axis}", length, *(ends or ()))
            if (ends is not None and not ends[0] < ends[1]) or (length is not None and not length > 0):
                raise InputError(f"travel of {axis}: expected a range from least to greatest and a length above zero")


class ExpectedHole(Struct, frozen=True):
    """A hole that the program makes, or the share of it that one tool makes.

    ``tip_z`` is where the very tip of the tool ends, so the cone of a drill lies above it. ``tool`` is the number of
    the tool, whose diameter is the hole's. One real hole is listed once for each tool that goes there.
    """

    number: int
    x: float
    y: float
    tip_z: float
    tool: int
    top_z: float = 0.0

    def __post_init__(self) -> None:
        _finite(f"hole {self.number}", self.x, self.y, self.tip_z, self.top_z)


class ProgramLimits(Struct, frozen=True):
    """Everything that the check holds a program against, beside the plan's own motions.

    Parameters
    ----------
    hard_floors, keep_outs, bends : tuples
        Where the cutter's body must never be.
    stock : Stock or None
        Without it the highest ``top_z`` of the expected holes counts as its top, everywhere, and without holes Z0.
    travel : Travel
    spindle_rpm : (slowest, fastest) or None
    fastest_feed_mm_min : float or None
        What the machine can feed, mm/min.
    holes : tuple of ExpectedHole
        All holes that the program makes, in any order. Empty for milling.
    path_tolerance : float or None
        mm: how far a written move may lie from the planned one. ``None`` takes what the rounding of the dialect
        needs, and no more.
    """

    hard_floors: tuple[HardFloor, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    bends: tuple[Bend, ...] = ()
    stock: Stock | None = None
    travel: Travel = Travel()
    spindle_rpm: Range | None = None
    fastest_feed_mm_min: float | None = None
    holes: tuple[ExpectedHole, ...] = ()
    path_tolerance: float | None = None

    def __post_init__(self) -> None:
        _finite("limits", self.fastest_feed_mm_min, self.path_tolerance, *(self.spindle_rpm or ()))
        if self.spindle_rpm is not None and not 0 < self.spindle_rpm[0] <= self.spindle_rpm[1]:
            raise InputError(f"spindle range {self.spindle_rpm} rpm: expected slowest and fastest, both above zero")
        if self.path_tolerance is not None and not self.path_tolerance > 0:
            raise InputError(f"path tolerance {self.path_tolerance} mm: expected a length above zero")
