"""Where a whole pattern may be shifted: every limit of every hole as a distance in the plane of shifts.

A shift t is allowed when every hole i keeps ``distance(p_i + t, obstacle) >= need``. Each of these distances grows or
shrinks by at most the length of a move, so the least surplus over all of them, the margin, does too (it is
1-Lipschitz). The searches in the neighbouring modules rest on that and on exact distances; circles stay circles.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import groupby

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from holecam.errors import InputError
from holecam.layout.spacing_boundaries import Boundary, Demand, boundaries_of
from holecam.layout.spacing_columns import HoleColumns, old_columns, site_columns
from holecam.layout.spacing_compare import LEVELS, combinations, head_clearance, web_needed
from holecam.layout.spacing_relations import Filling
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import ARITHMETIC_NOISE, DrillSite
from holecam.layout.spacing_surroundings import OldHole, Surroundings
from holecam.plan.finding import Severity
from holecam.shapes import Point
from holecam.shapes.curve_arrays import Floats, Indexes, points_array

NO_INNER = -math.inf
"""Inner radius of a disc inside which nothing is allowed: the usual case."""

CELLS_AT_ONCE = 4_000_000
"""Entries of a shifts-by-limits table worked on at a time, to bound the memory."""


class DiscLimits(Struct, frozen=True, eq=False):
    """Limits against round obstacles: hole ``site`` keeps ``outer`` mm from (x, y), or stays within ``inner``.

    ``obstacle`` is an index into :attr:`Freedom.obstacles`. ``inner`` is for holes drilled wholly inside a plug.
    """

    site: Indexes
    x: Floats
    y: Floats
    outer: Floats
    inner: Floats
    obstacle: Indexes

    def __len__(self) -> int:
        return len(self.site)

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> DiscLimits:
        """Return some of the rows."""
        return DiscLimits(
            self.site[rows], self.x[rows], self.y[rows], self.outer[rows], self.inner[rows], self.obstacle[rows]
        )


class AreaLimits(Struct, frozen=True, eq=False):
    """Limits against one boundary: hole ``site`` keeps ``need`` mm from it, on its allowed side."""

    boundary: Boundary
    site: Indexes
    need: Floats

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> AreaLimits:
        """Return some of the rows."""
        return AreaLimits(self.boundary, self.site[rows], self.need[rows])


class Binding(Struct, frozen=True):
    """What sets the margin: the hole, what it comes near to, the distance between them and the distance it needs, mm.

    ``obstacle`` is an old hole, a hole of another pattern, or a boundary, of which ``demand`` asks most.
    """

    site: DrillSite
    obstacle: OldHole | DrillSite | Boundary
    distance: float
    need: float
    demand: Demand | None = None

    @property
    def margin(self) -> float:
        """Distance left over, mm; negative when the limit is broken."""
        return self.distance - self.need

    @property
    def obstacle_name(self) -> str:
        """Name of what binds."""
        return self.obstacle.label if isinstance(self.obstacle, OldHole) else self.obstacle.name


class Freedom(Struct, frozen=True, eq=False):
    """All limits of a pattern at its place before the shift. Lengths in mm; built by :func:`freedom_of`.

    Parameters
    ----------
    sites : tuple of DrillSite
    xy : array (n, 2)
        Their centres before the shift; ``turned`` and ``moved_to`` replace them.
    discs : DiscLimits
    areas : tuple of AreaLimits
    obstacles : tuple of OldHole or DrillSite
    limits : SpacingLimits
    level : Severity
        The limits that hold: ``STOP`` keeps only the stops away, ``CAUTION`` the cautions too, ``NOTE`` the notes too.
    thickness : float or None
    """

    sites: tuple[DrillSite, ...]
    xy: Floats
    discs: DiscLimits
    areas: tuple[AreaLimits, ...]
    obstacles: tuple[OldHole | DrillSite, ...]
    limits: SpacingLimits
    level: Severity
    thickness: float | None

    def allowed(self, shift: Point) -> bool:
        """Return whether every limit holds when the pattern is shifted by (dx, dy)."""
        return bool(self.margins(points_array([shift]))[0] >= -ARITHMETIC_NOISE)

    def margin(self, shift: Point) -> float:
        """Return the least surplus over the limits at a shift, mm; negative when one is broken, inf without limits.

        No shift nearer than that to this one is forbidden (or, when negative, allowed).
        """
        return float(self.margins(points_array([shift]))[0])

    def margins(self, shifts: Floats) -> Floats:
        """Return the margin at many shifts, shape (m, 2) in, (m,) out, mm."""
        out = np.full(len(shifts), np.inf)
        width = len(self.discs) + sum(len(a.site) * len(a.boundary.curves) for a in self.areas)
        step = max(1, CELLS_AT_ONCE // max(width, 1))
        for start in range(0, len(shifts), step):
            part = shifts[start : start + step]
            least = disc_margins(self, self.discs, part).min(axis=1, initial=np.inf)
            for area in self.areas:
                least = np.minimum(least, area_margins(self, area, part).min(axis=1, initial=np.inf))
            out[start : start + step] = least
        return out

    def binding(self, shift: Point) -> Binding | None:
        """Return what sets the margin at a shift; ``None`` when there is no limit at all."""
        at = points_array([shift])
        best: Binding | None = None
        if len(self.discs):
            margins = disc_margins(self, self.discs, at)[0]
            best = self.disc_binding(int(margins.argmin()), shift)
        for area in self.areas:
            if not len(area.site):
                continue
            margins = area_margins(self, area, at)[0]
            row = int(margins.argmin())
            if best is None or margins[row] < best.margin:
                best = self.area_binding(area, row, shift)
        return best

    def bindings(self, shift: Point, *, within: float) -> tuple[Binding, ...]:
        """Return every limit whose margin is within so many mm of the least one, the tightest first."""
        at = points_array([shift])
        found: list[Binding] = []
        reach = self.margin(shift) + within
        if len(self.discs):
            near = np.nonzero(disc_margins(self, self.discs, at)[0] <= reach)[0]
            found += [self.disc_binding(int(row), shift) for row in near]
        for area in self.areas:
            near = np.nonzero(area_margins(self, area, at)[0] <= reach)[0]
            found += [self.area_binding(area, int(row), shift) for row in near]
        return tuple(sorted(found, key=lambda b: b.margin))

    def disc_binding(self, row: int, shift: Point) -> Binding:
        """Return the binding of one disc limit at a shift."""
        d = self.discs
        site = int(d.site[row])
        x, y = float(self.xy[site, 0]) + shift[0], float(self.xy[site, 1]) + shift[1]
        distance, outer, inner = math.hypot(d.x[row] - x, d.y[row] - y), float(d.outer[row]), float(d.inner[row])
        if inner - distance > distance - outer:  # nearer to its place inside the plug: the wall binds
            return Binding(self.sites[site], self.obstacles[d.obstacle[row]], inner, distance)
        return Binding(self.sites[site], self.obstacles[d.obstacle[row]], distance, outer)

    def area_binding(self, area: AreaLimits, row: int, shift: Point) -> Binding:
        """Return the binding of one row of an area at a shift."""
        site = int(area.site[row])
        at = points_array([(float(self.xy[site, 0]) + shift[0], float(self.xy[site, 1]) + shift[1])])
        distance = float(area.boundary.clear_by(at)[0])
        demands = area.boundary.demands(self.sites[site].profile, self.limits, self.thickness)
        counted = [x for x in demands if x.severity.rank >= self.level.rank]
        return Binding(
            self.sites[site],
            area.boundary,
            distance,
            float(area.need[row]),
            max(counted, key=lambda x: x.need, default=None),
        )

    def moved_to(self, xy: Floats) -> Freedom:
        """Return the same limits for the pattern lying elsewhere, shape (n, 2)."""
        return replace(self, xy=points_array(xy))

    def grown(self, by: Floats | float) -> Freedom:
        """Return the freedom with every need larger by ``by`` mm: one length, or one for each site."""
        extra = np.broadcast_to(np.asarray(by, dtype=np.float64), (len(self.sites),))
        d = self.discs
        discs = replace(d, outer=d.outer + extra[d.site], inner=d.inner - extra[d.site])
        areas = tuple(replace(a, need=a.need + extra[a.site]) for a in self.areas)
        return replace(self, discs=discs, areas=areas)


def together(first: Freedom, *others: Freedom) -> Freedom:
    """Return the limits of several patterns that are shifted by the same way, as those of one.

    Sites stand one after the other; limits, level and thickness in words are those of the first.
    """
    sites, xy = list(first.sites), [first.xy]
    discs, areas, obstacles = [first.discs], list(first.areas), list(first.obstacles)
    for other in others:
        d = other.discs
        discs.append(replace(d, site=d.site + len(sites), obstacle=d.obstacle + len(obstacles)))
        areas += [replace(a, site=a.site + len(sites)) for a in other.areas]
        sites += other.sites
        obstacles += other.obstacles
        xy.append(other.xy)
    both = DiscLimits(*(np.concatenate([getattr(d, n) for d in discs]) for n in DiscLimits.__struct_fields__))
    return replace(
        first, sites=tuple(sites), xy=np.concatenate(xy), discs=both, areas=tuple(areas), obstacles=tuple(obstacles)
    )


def disc_margins(freedom: Freedom, discs: DiscLimits, shifts: Floats) -> Floats:
    """Return the margin of disc limits at shifts, shape (shifts, limits), mm."""
    dx = shifts[:, 0, None] - (discs.x - freedom.xy[discs.site, 0])
    dy = shifts[:, 1, None] - (discs.y - freedom.xy[discs.site, 1])
    away = np.hypot(dx, dy)
    return np.asarray(np.maximum(away - discs.outer, discs.inner - away), dtype=np.float64)


def area_margins(freedom: Freedom, area: AreaLimits, shifts: Floats) -> Floats:
    """Return the margin of the limits of one boundary at shifts, shape (shifts, limits), mm."""
    at = (freedom.xy[area.site][None, :, :] + shifts[:, None, :]).reshape(-1, 2)
    return np.asarray(area.boundary.clear_by(at).reshape(len(shifts), len(area.site)) - area.need, dtype=np.float64)


def freedom_of(
    sites: Sequence[DrillSite],
    surroundings: Surroundings,
    limits: SpacingLimits,
    *,
    level: Severity = Severity.CAUTION,
    inside_held_plugs: bool = False,
    between: Mapping[str, SpacingLimits] | None = None,
) -> Freedom:
    """Return the freedom of a pattern: every limit that a shift of all its holes together has to keep.

    A hole that breaks into, touches or takes in another one counts as forbidden, also where the spacing check gives
    it less than ``level``; webs between the pattern's own holes do not change with the shift and are left out.

    Parameters
    ----------
    sites : sequence of DrillSite
        The pattern in its place before the shift.
    surroundings : Surroundings
        What stays: edges, keep-outs, old holes, holes of other patterns.
    limits : SpacingLimits
    level : Severity
        See :class:`Freedom`.
    inside_held_plugs : bool
        Whether a hole may also lie wholly inside a plug that is brazed, welded, pinned or locked, with its wall.
    between : mapping, optional
        Limits that hold against the holes of some other patterns, by the name of the pattern.

    Raises
    ------
    InputError
        There is no hole to shift.
    """
    if not sites:
        raise InputError("freedom: expected at least one hole to shift")
    thickness = surroundings.part.thickness
    columns = site_columns(sites)
    obstacles: tuple[OldHole | DrillSite, ...] = (*surroundings.old_holes, *surroundings.standing_sites)
    old = old_columns(surroundings.old_holes)
    parts = [_disc_limits(columns, old, 0, limits, thickness, level, inside_held_plugs=inside_held_plugs)]
    first = len(old)
    for special, group in groupby(surroundings.standing_sites, lambda site: (between or {}).get(site.pattern)):
        standing = site_columns(tuple(group))
        parts.append(
            _disc_limits(columns, standing, first, special or limits, thickness, level, inside_held_plugs=False)
        )
        first += len(standing)
    discs = DiscLimits(
        *(
            np.concatenate([getattr(p, name) for p in parts])
            for name in ("site", "x", "y", "outer", "inner", "obstacle")
        )
    )
    areas = []
    for boundary in boundaries_of(surroundings):
        need_by_profile: dict[int, float] = {}
        needs = np.empty(len(sites))
        for i, site in enumerate(sites):
            key = id(site.profile)
            if key not in need_by_profile:
                demands = boundary.demands(site.profile, limits, thickness)
                counted = [d.need for d in demands if d.severity.rank >= level.rank]
                need_by_profile[key] = max(counted, default=-np.inf)
            needs[i] = need_by_profile[key]
        asked = np.nonzero(np.isfinite(needs))[0]
        if len(asked):
            areas.append(AreaLimits(boundary, asked, needs[asked]))
    xy = np.array(columns.xy)
    xy.setflags(write=False)
    return Freedom(tuple(sites), xy, discs, tuple(areas), obstacles, limits, level, thickness)


def _disc_limits(
    a: HoleColumns,
    b: HoleColumns,
    first_obstacle: int,
    limits: SpacingLimits,
    thickness: float | None,
    level: Severity,
    *,
    inside_held_plugs: bool,
) -> DiscLimits:
    """Return the limits of every hole of ``a`` against every hole of ``b`` that shares a height with it."""
    site, other = np.divmod(np.arange(len(a) * len(b), dtype=np.intp), max(len(b), 1))
    radius, other_radius, together = combinations(a.bores.take(site), b.bores.take(other))
    rn, ro = np.where(together, radius, 0.0), np.where(together, other_radius, 0.0)
    web = np.full(rn.shape, limits.touching + 2 * ARITHMETIC_NOISE)
    for own_level, need in zip(LEVELS, web_needed(rn, ro, limits, thickness=thickness), strict=True):
        counted = own_level if own_level is Severity.NOTE else limits.severity_of("thin-web", own_level)
        if counted.rank >= level.rank:
            web = np.maximum(web, need)
    outer = np.where(together, rn + ro + web, -np.inf).max(axis=1, initial=-np.inf)
    if a.heads.radius.shape[1] and b.heads.radius.shape[1]:
        head, other_head, level_heads = combinations(a.heads.take(site), b.heads.take(other))
        reach = np.where(level_heads, head + other_head, -np.inf).max(axis=1, initial=-np.inf)
        outer = np.maximum(outer, reach + head_clearance(limits))
    inner = np.full(len(site), NO_INNER)
    if inside_held_plugs:
        pitch = np.broadcast_to(a.pitch[site][:, None], rn.shape)
        wall = limits.lengths("plug-wall", Severity.STOP, diameter=2.0 * rn, pitch=pitch)
        room = np.where(together, ro - b.shy[other][:, None] - rn - wall, np.inf).min(axis=1, initial=np.inf)
        held = (b.filling[other] == Filling.SOLID_PLUG) | (b.filling[other] == Filling.HELD_PLUG)
        inner = np.where(held & (room >= 0.0), room, NO_INNER)
    rows = np.isfinite(outer)
    q = b.xy[other]
    return DiscLimits(site, q[:, 0], q[:, 1], outer, inner, other + first_obstacle).take(rows)
