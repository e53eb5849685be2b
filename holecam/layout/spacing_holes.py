"""Every new hole against every old one and every other new one: all pairs of a few, indexed neighbours of many."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from holecam.layout.spacing_columns import Floats, HoleColumns, Indexes, old_columns, site_columns
from holecam.layout.spacing_compare import LEVELS, PairColumns, compare_pairs, head_clearance, web_needed
from holecam.layout.spacing_relations import HoleRelation, Relation, bite, code_of, filling_of
from holecam.layout.spacing_rules import LimitTerm, SpacingLimits
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import OldHole
from holecam.plan.finding import Severity

ALL_PAIRS_UP_TO = 300
"""Holes on the larger side up to which every pair is measured (measured: a spatial index is faster above that)."""

_SEVERITIES = tuple(Severity)

REACH_SLACK = 1e-6
"""mm. Added to the reach of the index, so that a pair exactly at its limit is found whatever way it is rounded."""


class HolePairs(Struct, frozen=True, eq=False):
    """Pairs of holes and how they lie. ``complete``: no pair is left out; otherwise those beyond reach are clear."""

    sites: tuple[DrillSite, ...]
    others: tuple[OldHole, ...] | tuple[DrillSite, ...]
    columns: PairColumns
    limits: SpacingLimits
    thickness: float | None
    complete: bool

    def __len__(self) -> int:
        return len(self.columns)

    def relation(self, row: int) -> HoleRelation:
        """Return one pair with its evidence."""
        return self.relations(np.array([row], dtype=np.intp))[0]

    def relations(self, rows: Indexes) -> list[HoleRelation]:
        """Return some pairs with their evidence."""
        p = self.columns
        out = []
        columns: list[NDArray[np.generic]] = [p.first, p.second, p.distance, p.radius, p.other_radius, p.relation]
        columns += [p.severity, p.limit, p.limit_level, p.head_gap, p.heads_meet]
        terms: dict[tuple[bool, int, float, float, float | None], LimitTerm | None] = {}
        for i, j, distance, radius, other_radius, name, rank, limit, level, gap, meet in zip(
            *(c[rows].tolist() for c in columns), strict=True
        ):
            site, other = self.sites[i], self.others[j]
            relation, filling = Relation(name), filling_of(other)
            shy = 0.0 if isinstance(other, DrillSite) else 2.0 * other.within
            pitch = site.profile.pitch
            key = (relation >= Relation.INSIDE, level, radius, other_radius, pitch)
            if key not in terms:
                terms[key] = self._term(*key)
            out.append(
                HoleRelation(
                    site=site,
                    other=other,
                    relation=relation,
                    filling=filling,
                    code=code_of(relation, filling),
                    severity=None if rank < 0 else _SEVERITIES[rank],
                    distance=distance,
                    radius=radius,
                    other_radius=other_radius,
                    web=distance - radius - other_radius,
                    wall=other_radius - shy - distance - radius,
                    limit=limit if limit > 0.0 else None,
                    term=terms[key] if limit > 0.0 else None,
                    bite=bite(radius, other_radius, site.center, other.center),
                    head_gap=gap if gap < np.inf else None,
                    heads_meet=meet,
                )
            )
        return out

    def notable(self) -> list[HoleRelation]:
        """Return the pairs that earn a finding, in the order of the new holes."""
        p = self.columns
        rows = np.nonzero((p.severity >= 0) | p.heads_meet)[0]
        return self.relations(rows[np.lexsort((p.second[rows], p.first[rows]))])

    def nearest(self, site: int) -> HoleRelation | None:
        """Return the pair of least web of one new hole (its index); ``None`` when nothing is in reach."""
        rows = np.nonzero(self.columns.first == site)[0]
        if not len(rows):
            return None
        return self.relation(int(rows[self.columns.web[rows].argmin()]))

    def least_web(self) -> HoleRelation | None:
        """Return the pair of least web of all; ``None`` when there is no pair in reach."""
        web = np.where(self.columns.relation == Relation.OTHER_DEPTH, np.inf, self.columns.web)
        if not len(web) or not np.isfinite(web.min()):
            return None
        return self.relation(int(web.argmin()))

    def _term(
        self, is_inside: bool, level: int, radius: float, other_radius: float, pitch: float | None
    ) -> LimitTerm | None:
        """Return the term that the limit of a pair comes from."""
        if level < 0:
            return None
        if is_inside:
            wall = self.limits.binding("plug-wall", Severity.STOP, diameter=2.0 * radius, pitch=pitch)
            return wall.term if wall else None
        larger = 2.0 * max(radius, other_radius)
        web = self.limits.binding("web", LEVELS[level], diameter=larger, thickness=self.thickness)
        spacing = self.limits.binding("hole-spacing", LEVELS[level], diameter=larger, thickness=self.thickness)
        if spacing and (web is None or spacing.value - radius - other_radius > web.value):
            return spacing.term
        return web.term if web else None


def old_hole_pairs(
    sites: Sequence[DrillSite], old: Sequence[OldHole], limits: SpacingLimits, *, thickness: float | None = None
) -> HolePairs:
    """Return every new hole against every old hole; above :data:`ALL_PAIRS_UP_TO` holes, those within reach."""
    a, b = site_columns(sites), old_columns(old)
    first, second, complete = _candidates(a, b, limits, thickness)
    columns = compare_pairs(a, first, b, second, limits, thickness=thickness)
    return HolePairs(tuple(sites), tuple(old), columns, limits, thickness, complete)


def new_hole_pairs(sites: Sequence[DrillSite], limits: SpacingLimits, *, thickness: float | None = None) -> HolePairs:
    """Return every new hole against every other new one, each pair once, the earlier hole first."""
    a = site_columns(sites)
    first, second, complete = _candidates(a, a, limits, thickness)
    once = first < second
    columns = compare_pairs(a, first[once], a, second[once], limits, thickness=thickness)
    return HolePairs(tuple(sites), tuple(sites), columns, limits, thickness, complete)


def between_pairs(
    sites: Sequence[DrillSite], others: Sequence[DrillSite], limits: SpacingLimits, *, thickness: float | None = None
) -> HolePairs:
    """Return every new hole of one pattern against every new hole of others."""
    a, b = site_columns(sites), site_columns(others)
    first, second, complete = _candidates(a, b, limits, thickness)
    columns = compare_pairs(a, first, b, second, limits, thickness=thickness)
    return HolePairs(tuple(sites), tuple(others), columns, limits, thickness, complete)


def _candidates(
    a: HoleColumns, b: HoleColumns, limits: SpacingLimits, thickness: float | None
) -> tuple[Indexes, Indexes, bool]:
    """Return the pairs to compare, and whether that is all of them."""
    if max(len(a), len(b)) <= ALL_PAIRS_UP_TO:
        first, second = np.divmod(np.arange(len(a) * len(b), dtype=np.intp), max(len(b), 1))
        return first, second, True
    if not len(a) or not len(b):
        none = np.empty(0, dtype=np.intp)
        return none, none, True
    tree = shapely.STRtree(shapely.points(b.xy))
    reach = _reach(a, b, limits, thickness)
    first, second = tree.query(shapely.points(a.xy), predicate="dwithin", distance=reach)
    return first.astype(np.intp, copy=False), second.astype(np.intp, copy=False), False


def _reach(a: HoleColumns, b: HoleColumns, limits: SpacingLimits, thickness: float | None) -> Floats:
    """Return for every hole of ``a`` the distance of centres beyond which no hole of ``b`` earns even a note."""
    radius = a.bores.largest
    widest = np.full(len(a), b.bores.largest.max())
    webs = web_needed(radius, widest, limits, thickness=thickness)
    reach = radius + widest + np.maximum.reduce(webs)
    heads = a.heads.largest + b.heads.largest.max(initial=-np.inf) + head_clearance(limits)
    return np.asarray(np.maximum(reach, heads) + REACH_SLACK, dtype=np.float64)
