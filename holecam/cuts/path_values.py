"""The path of a cutter as neutral values: moves in the plane with their heights, before any program is written."""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import StrEnum
from itertools import pairwise

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes import Curve, Point, distance


class MoveKind(StrEnum):
    """What a move does. Cut, finish and entry take material; the others must not."""

    CUT = "cut"
    FINISH = "finish"
    ENTRY = "entry"
    LINK = "link"
    RETRACT = "retract"
    TRAVEL = "travel"
    DESCEND = "descend"

    @property
    def takes_material(self) -> bool:
        """Whether the cutter is meant to take material on this move."""
        return self in (MoveKind.CUT, MoveKind.FINISH, MoveKind.ENTRY)

    @property
    def is_rapid(self) -> bool:
        """Whether the move may be made by rapid: above the work, or straight up out of it."""
        return self in (MoveKind.RETRACT, MoveKind.TRAVEL)


class CutMove(Struct, frozen=True):
    """One move of the cutter's centre.

    Parameters
    ----------
    kind : MoveKind
        ``LINK`` goes sideways at depth through material that is already cut, by feed. ``RETRACT`` goes straight up,
        ``TRAVEL`` sideways at the clearance height, ``DESCEND`` straight down into a place that is already cut.
    curve : Segment, Arc or None
        Where it goes in plan; ``None`` for a move straight up or down. An arc with a change of height is a helix.
    at : Point
        Where it ends in plan.
    z_start, z_end : float
        Heights of the cutter's tip, mm, up is positive.
    feed_factor : float
        Share of the cutting feed, above 0 to 1: lower where the tooth's bite grows.
    engagement_deg : float or None
        Greatest angle over which a tooth cuts on this move, degrees; ``None`` where it was not worked out.
    """

    kind: MoveKind
    curve: Curve | None
    at: Point
    z_start: float
    z_end: float
    feed_factor: float = 1.0
    engagement_deg: float | None = None

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (*self.at, self.z_start, self.z_end, self.feed_factor)):
            raise InputError("move of a cutter: expected finite numbers")
        if not 0 < self.feed_factor <= 1:
            raise InputError(f"move of a cutter: feed factor {self.feed_factor}: expected above 0 to 1")

    @property
    def start(self) -> Point:
        """Where it starts in plan."""
        return self.at if self.curve is None else self.curve.start

    @property
    def length(self) -> float:
        """Length along the move, heights included, mm."""
        flat = 0.0 if self.curve is None else self.curve.length
        return math.hypot(flat, self.z_end - self.z_start)


def along(
    kind: MoveKind,
    curve: Curve,
    z: float,
    *,
    z_end: float | None = None,
    feed_factor: float = 1.0,
    engagement_deg: float | None = None,
) -> CutMove:
    """Return the move along a curve at height ``z``, or down to ``z_end``."""
    return CutMove(kind, curve, curve.end, z, z if z_end is None else z_end, feed_factor, engagement_deg)


def upright(kind: MoveKind, at: Point, z_start: float, z_end: float) -> CutMove:
    """Return the move straight up or down at a place."""
    return CutMove(kind, None, at, z_start, z_end)


class LevelPath(Struct, frozen=True):
    """All moves at one height ``z``, from the descent or entry to the retract; ``z_above`` is what lay there before."""

    z: float
    z_above: float
    moves: tuple[CutMove, ...]


class CutPath(Struct, frozen=True):
    """The whole path of one cutter, level by level from the top.

    Parameters
    ----------
    name : str
        Short: ``"rough and finish"``, ``"rest"``, ``"clean-up 2"``.
    cutter_diameter : float
    levels : tuple of LevelPath
        Every level starts at ``clearance_z`` above its first point and ends at ``clearance_z``.
    clearance_z : float
        Height for sideways travel, mm.
    """

    name: str
    cutter_diameter: float
    levels: tuple[LevelPath, ...]
    clearance_z: float

    def moves(self) -> Iterator[CutMove]:
        """Return all moves in their order."""
        for level in self.levels:
            yield from level.moves

    @property
    def cutting_length(self) -> float:
        """Length of all moves that take material, mm."""
        return sum(m.length for m in self.moves() if m.kind.takes_material)

    @property
    def length(self) -> float:
        """Length of all moves, mm."""
        return sum(m.length for m in self.moves())

    @property
    def deepest_z(self) -> float:
        """Lowest height of the tip, mm."""
        return min((m.z_end for m in self.moves()), default=self.clearance_z)


def joined(moves: tuple[CutMove, ...], *, tolerance: float = 1e-6) -> bool:
    """Return whether each move starts where the one before ended, within the tolerance, mm."""
    for before, after in pairwise(moves):
        if distance(before.at, after.start) > tolerance or abs(before.z_end - after.z_start) > tolerance:
            return False
    return True
