"""One free direction: the exact intervals of the way along it in which every limit holds, in closed form.

Along a line each disc limit blocks one interval (two roots of a quadratic), or two when its inside is allowed. A limit
against an edge changes only where the line meets a border element of that edge; between two such places one sample
decides. Blocked intervals are open: at their ends the limit is just kept.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.freedom_elements import Elements, area_elements
from holecam.layout.freedom_field import AreaLimits, Binding, DiscLimits, Freedom
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.shapes import Arc, Point
from holecam.shapes.curve_arrays import Floats, Indexes, distinct

NARROWEST = 1e-9
"""mm. An allowed interval narrower than this is noise between two blocked ones and is dropped: the safe side."""


class FreeInterval(Struct, frozen=True):
    """A stretch along the free direction where every limit holds, mm from the start; ends may be infinite.

    ``low_binding`` and ``high_binding`` say what the pattern comes up against at each end.
    """

    low: float
    high: float
    low_binding: Binding | None
    high_binding: Binding | None

    @property
    def width(self) -> float:
        """Its length, mm."""
        return self.high - self.low

    def holds(self, way: float) -> bool:
        """Return whether a way lies in it."""
        return self.low <= way <= self.high

    def nearest_to(self, way: float) -> float:
        """Return the way in it that is nearest to a wished one."""
        return min(max(way, self.low), self.high)


class LineFreedom(Struct, frozen=True):
    """What is free along one line of shifts ``start + way * direction``; ``direction`` is a unit vector."""

    start: Point
    direction: Point
    free: tuple[FreeInterval, ...]

    def shift(self, way: float) -> Point:
        """Return the shift at a way along the line, mm."""
        return (self.start[0] + way * self.direction[0], self.start[1] + way * self.direction[1])

    def allowed(self, way: float) -> bool:
        """Return whether every limit holds there."""
        return any(i.holds(way) for i in self.free)

    def nearest(self, wish: float = 0.0) -> float | None:
        """Return the allowed way nearest to a wished one; ``None`` when the whole line is blocked."""
        ways = [i.nearest_to(wish) for i in self.free]
        return min(ways, key=lambda way: (abs(way - wish), -way), default=None)


class Extent(Struct, frozen=True):
    """How far the pattern goes from a shift in one direction: ``way`` mm, then ``binding`` stops it."""

    direction: Point
    way: float
    binding: Binding | None


PARALLEL = 1e-12
"""Ratio. Lines that run together to this never meet within a shop's lengths."""


def free_between(
    lows: Floats, highs: Floats, owners: Indexes, *, low: float, high: float
) -> list[tuple[float, float, int, int]]:
    """Return what blocked open intervals leave free between two ends: (low, high, owner at low, owner at high).

    Where an end of the whole stretch is free its owner is -1.
    """
    free: list[tuple[float, float, int, int]] = []
    edge, edge_owner = low, -1
    order = np.argsort(lows, kind="stable")
    for start, end, owner in zip(lows[order].tolist(), highs[order].tolist(), owners[order].tolist(), strict=True):
        if min(start, high) > edge + NARROWEST:
            free.append((edge, min(start, high), edge_owner, owner if start < high else -1))
        if end > edge:
            edge, edge_owner = end, owner
    if edge < high:
        free.append((edge, high, edge_owner, -1))
    return free


def free_along(freedom: Freedom, direction: Point, *, start: Point = (0.0, 0.0)) -> LineFreedom:
    """Return the exact intervals of the way along a direction in which every limit holds.

    Raises
    ------
    InputError
        The direction has no length or is not finite.

    Examples
    --------
    One hole that keeps 5 mm from a point 3 mm beside its path is blocked over 2 x 4 mm: 3-4-5.
    """
    size = math.hypot(*direction)
    if not (math.isfinite(size) and size > 0.0):
        raise InputError(f"direction {direction}: expected finite numbers, not both zero")
    u = (direction[0] / size, direction[1] / size)
    lows, highs, owners = _blocked(freedom, start, u)
    free = free_between(lows, highs, owners, low=-math.inf, high=math.inf)
    line = LineFreedom(start, u, ())
    intervals = tuple(
        FreeInterval(
            low,
            high,
            binding_of(freedom, low_owner, line.shift(low)) if low_owner >= 0 else None,
            binding_of(freedom, high_owner, line.shift(high)) if high_owner >= 0 else None,
        )
        for low, high, low_owner, high_owner in free
    )
    return LineFreedom(start, u, intervals)


def extents(freedom: Freedom, shift: Point) -> tuple[Extent, Extent, Extent, Extent]:
    """Return how far the pattern goes from an allowed shift along +X, -X, +Y and -Y until something binds.

    The way is 0 in every direction when the shift itself is not allowed.
    """
    out = []
    for direction in ((1.0, 0.0), (0.0, 1.0)):
        line = free_along(freedom, direction, start=shift)
        here = min(line.free, key=lambda i: abs(i.nearest_to(0.0)), default=None)
        back = (-direction[0], -direction[1])
        if here is None or abs(here.nearest_to(0.0)) > NARROWEST:
            binding = freedom.binding(shift)
            out += [Extent(direction, 0.0, binding), Extent(back, 0.0, binding)]
        else:
            out += [
                Extent(direction, max(0.0, here.high), here.high_binding),
                Extent(back, max(0.0, -here.low), here.low_binding),
            ]
    return (out[0], out[1], out[2], out[3])


def binding_of(freedom: Freedom, owner: int, shift: Point) -> Binding:
    """Return the binding of a limit by its running number: discs first, then the rows of each area."""
    if owner < len(freedom.discs):
        return freedom.disc_binding(owner, shift)
    owner -= len(freedom.discs)
    for area in freedom.areas:
        if owner < len(area.site):
            return freedom.area_binding(area, owner, shift)
        owner -= len(area.site)
    raise IndexError(owner)


def _blocked(freedom: Freedom, start: Point, u: Point) -> tuple[Floats, Floats, Indexes]:
    """Return the blocked open intervals of every limit and the limit's running number."""
    parts = [_disc_blocks(freedom, freedom.discs, start, u)]
    first = len(freedom.discs)
    for area in freedom.areas:
        parts.append(_area_blocks(freedom, area, start, u, first))
        first += len(area.site)
    return (
        np.concatenate([p[0] for p in parts]),
        np.concatenate([p[1] for p in parts]),
        np.concatenate([p[2] for p in parts]).astype(np.intp),
    )


def _disc_blocks(freedom: Freedom, d: DiscLimits, start: Point, u: Point) -> tuple[Floats, Floats, Indexes]:
    """Return the blocked intervals of disc limits: where the line runs nearer to the middle than ``outer``."""
    dx = d.x - freedom.xy[d.site, 0] - start[0]
    dy = d.y - freedom.xy[d.site, 1] - start[1]
    along, off = dx * u[0] + dy * u[1], np.abs(dx * u[1] - dy * u[0])
    owner = np.arange(len(d), dtype=np.intp)
    half = np.sqrt(np.maximum((d.outer - off) * (d.outer + off), 0.0))
    hole = np.sqrt(np.maximum((d.inner - off) * (d.inner + off), 0.0))
    met = (off < d.outer - ARITHMETIC_NOISE) & (d.outer > 0.0)
    open_inside = met & (d.inner > 0.0) & (off <= d.inner)
    whole = met & ~open_inside
    lows = [along[whole] - half[whole], (along - half)[open_inside], (along + hole)[open_inside]]
    highs = [along[whole] + half[whole], (along - hole)[open_inside], (along + half)[open_inside]]
    owners = [owner[whole], owner[open_inside], owner[open_inside]]
    return np.concatenate(lows), np.concatenate(highs), np.concatenate(owners)


def _area_blocks(
    freedom: Freedom, area: AreaLimits, start: Point, u: Point, first: int
) -> tuple[Floats, Floats, Indexes]:
    """Return the blocked intervals of the limits against one boundary, hole by hole."""
    lows: list[float] = []
    highs: list[float] = []
    owners: list[int] = []
    for row in range(len(area.site)):
        one = area.take(np.array([row]))
        at = freedom.xy[area.site[row]] + np.array(start)
        ways = [_meetings(area_elements(freedom, one), start, u), _own_curves(area, at, u)]
        stations = distinct(np.concatenate(ways))
        if len(stations):
            gaps = np.concatenate([[stations[0] - 1.0], (stations[1:] + stations[:-1]) / 2, [stations[-1] + 1.0]])
        else:
            gaps = np.zeros(1)
        points = at + gaps[:, None] * np.array(u)
        blocked = area.boundary.breaks(points, float(area.need[row]))
        ends = np.concatenate([[-np.inf], stations, [np.inf]])
        lows += ends[:-1][blocked].tolist()
        highs += ends[1:][blocked].tolist()
        owners += [first + row] * int(blocked.sum())
    return np.array(lows), np.array(highs), np.array(owners, dtype=np.intp)


def _meetings(elements: Elements, start: Point, u: Point) -> Floats:
    """Return the ways at which the line of shifts meets the elements' circles and the lines of their pieces."""
    c, s = elements.circles, elements.pieces
    dx, dy = c[:, 0] - start[0], c[:, 1] - start[1]
    along, off = dx * u[0] + dy * u[1], dx * u[1] - dy * u[0]
    met = np.abs(off) <= c[:, 2]
    half = np.sqrt(np.maximum((c[:, 2] - off) * (c[:, 2] + off), 0.0))
    found = [(along - half)[met], (along + half)[met]]
    sx, sy = s[:, 2] - s[:, 0], s[:, 3] - s[:, 1]
    cross = u[0] * sy - u[1] * sx
    slanted = np.abs(cross) > PARALLEL * np.hypot(sx, sy)
    way = ((s[:, 0] - start[0]) * sy - (s[:, 1] - start[1]) * sx)[slanted] / cross[slanted]
    found.append(way)
    return np.concatenate(found)


def _own_curves(area: AreaLimits, at: Floats, u: Point) -> Floats:
    """Return the ways at which a hole's path meets the boundary's own curves, where it changes sides."""
    curves = area.boundary.curves
    circles = np.array([(*c.center, c.radius) for c in curves if isinstance(c, Arc)]).reshape(-1, 3)
    pieces = np.array([(*c.start, *c.end) for c in curves if not isinstance(c, Arc)]).reshape(-1, 4)
    return _meetings(Elements(circles, pieces), (float(at[0]), float(at[1])), u)
