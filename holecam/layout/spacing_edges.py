"""Every new hole against every edge and keep-out: exact distance, multiples of its diameter, broken demands."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from holecam.layout.spacing_boundaries import Boundary, Demand
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import ARITHMETIC_NOISE, DrillSite, HoleProfile
from holecam.plan.finding import Severity
from holecam.shapes import Point
from holecam.shapes.curve_arrays import Floats, points_array

_SAYS_IT_ALL = (
    ("off-part", ("edge-distance", "modest-edge-distance")),
    ("breaks-through-edge", ("edge-distance", "modest-edge-distance")),
    ("edge-distance", ("modest-edge-distance",)),
    ("in-keep-out", ("near-keep-out", "modest-keep-out-distance")),
    ("near-keep-out", ("modest-keep-out-distance",)),
)
"""Where the first code is earned, the others of the same boundary have nothing left to say."""


class EdgeRelation(Struct, frozen=True):
    """How a new hole lies to an edge or a keep-out.

    Parameters
    ----------
    site : DrillSite
    boundary : Boundary
    distance : float
        From the hole's centre to the boundary, mm, exact; negative on the forbidden side of it.
    nearest : Point
        The point of the boundary that is nearest to the centre.
    diameters : float
        The distance as a multiple of the hole's nominal diameter.
    metal : float
        From the wall of the widest bore to the boundary (to the edge of a joint that has a width), mm; negative when
        the hole cuts into it.
    broken : tuple of Demand
        The worst broken demand of each code, the worst first; empty when every demand is kept.
    """

    site: DrillSite
    boundary: Boundary
    distance: float
    nearest: Point
    diameters: float
    metal: float
    broken: tuple[Demand, ...]

    @property
    def severity(self) -> Severity | None:
        """The worst severity among the broken demands."""
        return max((d.severity for d in self.broken), key=lambda s: s.rank, default=None)


class EdgeTable(Struct, frozen=True, eq=False):
    """Distances of all sites (rows) to all boundaries (columns), mm, and the relations that they make."""

    sites: tuple[DrillSite, ...]
    boundaries: tuple[Boundary, ...]
    distance: Floats
    limits: SpacingLimits
    thickness: float | None

    def relation(self, site: int, boundary: int) -> EdgeRelation:
        """Return how a site lies to a boundary (both by index)."""
        here, edge = self.sites[site], self.boundaries[boundary]
        demands = edge.demands(here.profile, self.limits, self.thickness)
        return self._relation(site, boundary, demands)

    def notable(self) -> list[EdgeRelation]:
        """Return the relations that break a demand, in the order of the sites."""
        found: list[tuple[int, int, tuple[Demand, ...]]] = []
        for profile, rows in _by_profile(self.sites):
            for j, boundary in enumerate(self.boundaries):
                demands = boundary.demands(profile, self.limits, self.thickness)
                most = max((d.need for d in demands), default=-np.inf)
                close = rows[self.distance[rows, j] < most - ARITHMETIC_NOISE]
                found += [(int(i), j, demands) for i in close]
        found.sort(key=lambda entry: entry[:2])
        return [self._relation(i, j, demands) for i, j, demands in found]

    def least_of(self, site: int) -> EdgeRelation | None:
        """Return the boundary nearest to a site; ``None`` when there is none."""
        if not self.boundaries:
            return None
        return self.relation(site, int(self.distance[site].argmin()))

    def _relation(self, site: int, boundary: int, demands: tuple[Demand, ...]) -> EdgeRelation:
        here, edge, distance = self.sites[site], self.boundaries[boundary], float(self.distance[site, boundary])
        _, index = edge.chain.nearest(points_array([here.center]))
        broken: dict[str, Demand] = {}
        for demand in demands:
            if not demand.broken_at(distance):
                continue
            named = _named(demand, distance)
            rival = broken.get(named.code)
            if rival is None or _weight(named) > _weight(rival):
                broken[named.code] = named
        for graver, lighter in _SAYS_IT_ALL:
            if graver in broken:
                for code in lighter:
                    broken.pop(code, None)
        return EdgeRelation(
            site=here,
            boundary=edge,
            distance=distance,
            nearest=edge.curves[int(index[0])].nearest(here.center),
            diameters=distance / here.profile.nominal,
            metal=distance - here.profile.largest_radius - (edge.keep_out.half_width if edge.keep_out else 0.0),
            broken=tuple(sorted(broken.values(), key=lambda d: (-d.severity.rank, d.code))),
        )


def edge_table(
    sites: Sequence[DrillSite],
    boundaries: Sequence[Boundary],
    limits: SpacingLimits,
    *,
    thickness: float | None = None,
) -> EdgeTable:
    """Return the distance of every site to every boundary."""
    xy = points_array([s.center for s in sites])
    columns = [b.clear_by(xy) for b in boundaries]
    distance = np.stack(columns, axis=1) if columns else np.empty((len(sites), 0))
    return EdgeTable(tuple(sites), tuple(boundaries), distance, limits, thickness)


def _by_profile(sites: Sequence[DrillSite]) -> list[tuple[HoleProfile, np.ndarray]]:
    """Return the different profiles with the rows of the sites that have them."""
    rows: dict[int, list[int]] = {}
    for i, site in enumerate(sites):
        rows.setdefault(id(site.profile), []).append(i)
    return [(sites[r[0]].profile, np.array(r, dtype=np.intp)) for r in rows.values()]


def _named(demand: Demand, distance: float) -> Demand:
    """Return the demand under the name that the distance earns: a centre beyond the edge is off the part."""
    if demand.code == "breaks-through-edge" and distance < -ARITHMETIC_NOISE:
        return replace(demand, code="off-part")
    return demand


def _weight(demand: Demand) -> tuple[int, float]:
    return (demand.severity.rank, demand.need)
