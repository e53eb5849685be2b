"""What the simulation of a cut found: gouges, leftovers with their reasons, engagement, walls. Lengths in mm."""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Outline, Point

GOUGE_LIMIT = 0.001
"""mm. A cutter deeper than this in a wall is a gouge; arithmetic noise of a path is a thousand times less."""

LEFTOVER_SHARE = 0.0001
"""Times the square of the cutter's diameter: smaller patches than this, mm2, are arithmetic noise of the measure."""


class Leftover(Struct, frozen=True):
    """A patch that the cutter leaves inside the wanted shape, with its exact border of lines and arcs.

    ``reason`` is ``"inside corner"``, ``"narrow place"`` (the cutter does not get in at all), ``"kept away"`` or
    ``"not cut"``; the last one is a fault of the path.
    """

    border: Outline
    holes: tuple[Outline, ...]
    area: float
    at: Point
    reason: str


class Gouge(Struct, frozen=True):
    """Where the cutter enters what must stay: how deep, where, and into what."""

    depth: float
    at: Point
    into: str


class EngagementPeak(Struct, frozen=True):
    """The greatest angle over which a tooth cuts, degrees, where it happens, and that of a straight cut.

    ``width_there`` is how wide the place is within a radius of it, mm, where it was measured: in pockets that are
    opened in small bites.
    """

    engagement_deg: float
    at: Point
    straight_deg: float
    width_there: float | None = None

    @property
    def ratio(self) -> float:
        """Times the straight cut."""
        return self.engagement_deg / self.straight_deg


class CutProof(Struct, frozen=True):
    """The account of one simulated level, or of several that are alike.

    Parameters
    ----------
    levels : tuple of float
        Heights it speaks of, mm.
    nearest_wall : float
        Least distance between the cutter's edge and wall, islands and keep-outs with their margins, mm; negative in
        them.
    gouges : tuple of Gouge
        Deeper than ``GOUGE_LIMIT``; must be empty.
    leftovers : tuple of Leftover
        What the wanted shape keeps, cutter out of reach: with reasons.
    uncut : tuple of Leftover
        What a cutter reaches and the path does not cut; must be empty.
    wanted_area, reachable_area : float
        mm2.
    peak : EngagementPeak or None
        ``None`` when the path was not asked for it.
    """

    levels: tuple[float, ...]
    nearest_wall: float
    gouges: tuple[Gouge, ...]
    leftovers: tuple[Leftover, ...]
    uncut: tuple[Leftover, ...]
    wanted_area: float
    reachable_area: float
    peak: EngagementPeak | None

    @property
    def proved(self) -> bool:
        """Whether there is no gouge and nothing uncut that the cutter reaches."""
        return not self.gouges and not self.uncut


class WallReport(Struct, frozen=True):
    """What remains of the former or part around the cut; ``None`` where it was not known.

    ``thinnest_wall`` is measured from the cut's side to the outline, open ends left out; ``bottom`` is what remains
    under it; ``to_kept`` pairs each curve that has to keep its shape with the cut's distance from it and the nearest
    place on it. ``wall_from`` and ``kept_from`` are the places on the cut's own side from which these are measured.
    """

    thinnest_wall: float | None
    wall_at: Point | None
    bottom: float | None
    to_kept: tuple[tuple[str, float, Point], ...] = ()
    wall_from: Point | None = None
    kept_from: tuple[Point, ...] = ()
