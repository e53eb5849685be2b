"""Square cells of the plane of shifts with the few limits that matter in each: what every search is built on.

The margin of each limit changes by at most the length of a move. So a limit whose surplus at the middle of a cell
exceeds the half diagonal cannot be broken anywhere in it, and one that is short by more is broken all over it.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.layout.freedom_elements import Elements, area_elements, disc_elements, join
from holecam.layout.freedom_field import AreaLimits, DiscLimits, Freedom, area_margins, disc_margins
from holecam.shapes import Point
from holecam.shapes.curve_arrays import Floats

CELL_SLACK = 1e-9
"""mm. Added to a cell's half diagonal: arithmetic noise never drops a limit that matters."""


class LocalLimits(Struct, frozen=True, eq=False):
    """Some of the limits of a freedom: those that matter in one cell."""

    freedom: Freedom
    discs: DiscLimits
    areas: tuple[AreaLimits, ...]

    @property
    def count(self) -> int:
        """How many limits these are."""
        return len(self.discs) + sum(len(a.site) for a in self.areas)

    def at(self, shift: Point) -> LocalMargins:
        """Return the margin of each limit at a shift."""
        point = np.array([shift])
        return LocalMargins(
            disc_margins(self.freedom, self.discs, point)[0],
            tuple(area_margins(self.freedom, a, point)[0] for a in self.areas),
        )

    def margins(self, shifts: Floats) -> Floats:
        """Return the least margin over these limits at many shifts, inf where there are none."""
        least = disc_margins(self.freedom, self.discs, shifts).min(axis=1, initial=np.inf)
        for area in self.areas:
            least = np.minimum(least, area_margins(self.freedom, area, shifts).min(axis=1, initial=np.inf))
        return np.asarray(least, dtype=np.float64)

    def below(self, values: LocalMargins, bound: float) -> LocalLimits:
        """Return those limits whose margin is at most ``bound``."""
        areas = (a.take(v <= bound) for a, v in zip(self.areas, values.areas, strict=True))
        return LocalLimits(self.freedom, self.discs.take(values.discs <= bound), tuple(a for a in areas if len(a.site)))

    def elements(self, center: Point, reach: float) -> Elements:
        """Return the border elements of these limits that come within ``reach`` of a shift, each once."""
        parts = [disc_elements(self.freedom, self.discs)]
        parts += [area_elements(self.freedom, a, near=center, reach=reach) for a in self.areas]
        return join(parts).near(center, reach).distinct()


class LocalMargins(Struct, frozen=True, eq=False):
    """The margins of local limits at one shift, mm."""

    discs: Floats
    areas: tuple[Floats, ...]

    @property
    def least(self) -> float:
        """The least of them, inf when there are none."""
        return float(min([self.discs.min(initial=np.inf), *(a.min(initial=np.inf) for a in self.areas)]))

    def below(self, bound: float) -> LocalMargins:
        """Return those at most ``bound``: the margins of the limits that :meth:`LocalLimits.below` keeps."""
        kept = (v[v <= bound] for v in self.areas)
        return LocalMargins(self.discs[self.discs <= bound], tuple(v for v in kept if len(v)))


class Cell(Struct, frozen=True, eq=False):
    """A square of shifts about (x, y), ``half`` mm to each side, and the limits that matter in it."""

    x: float
    y: float
    half: float
    limits: LocalLimits

    @property
    def center(self) -> Point:
        """Its middle."""
        return (self.x, self.y)

    @property
    def radius(self) -> float:
        """From the middle to a corner, mm, rounded up."""
        return self.half * math.sqrt(2.0) + CELL_SLACK

    def quarters(self, limits: LocalLimits) -> list[Cell]:
        """Return its four quarters, with the limits given."""
        h = self.half / 2
        return [Cell(self.x + sx * h, self.y + sy * h, h, limits) for sx in (-1.0, 1.0) for sy in (-1.0, 1.0)]

    def nearest_to(self, p: Point) -> Point:
        """Return the point of the cell nearest to ``p``."""
        return (
            min(max(p[0], self.x - self.half), self.x + self.half),
            min(max(p[1], self.y - self.half), self.y + self.half),
        )

    def distance_to(self, p: Point) -> float:
        """Return the distance from ``p`` to the cell, mm, 0 inside."""
        q = self.nearest_to(p)
        return math.hypot(q[0] - p[0], q[1] - p[1])

    def holds(self, points: Floats) -> Floats:
        """Return for many points whether they lie in the cell, its edge and noise included."""
        reach = self.half + CELL_SLACK
        return np.asarray((np.abs(points[:, 0] - self.x) <= reach) & (np.abs(points[:, 1] - self.y) <= reach))


def all_limits(freedom: Freedom) -> LocalLimits:
    """Return every limit of a freedom; of disc limits about one shift only the largest."""
    return LocalLimits(freedom, _largest_discs(freedom), freedom.areas)


def _largest_discs(freedom: Freedom) -> DiscLimits:
    """Return the disc limits without those that lie under a larger one about the same shift.

    A row moved onto its own old holes has n^2 limits about 2 n - 1 shifts. Limits with an inner radius are all kept.
    """
    d = freedom.discs
    if len(d) < 2:
        return d
    x, y = d.x - freedom.xy[d.site, 0], d.y - freedom.xy[d.site, 1]
    plain = d.inner <= -np.inf
    key = np.stack([np.round(x / 1e-9), np.round(y / 1e-9), plain, np.where(plain, 0.0, np.arange(len(d)))], axis=1)
    order = np.lexsort((-d.outer,))
    _, first = np.unique(key[order], axis=0, return_index=True)
    return d.take(np.sort(order[first]))
