"""Can it be drilled there? Every new hole against old holes, new holes, edges and keep-outs."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from holecam.layout.spacing_boundaries import boundaries_of
from holecam.layout.spacing_edges import EdgeRelation, EdgeTable, edge_table
from holecam.layout.spacing_holes import HolePairs, between_pairs, new_hole_pairs, old_hole_pairs
from holecam.layout.spacing_relations import HoleRelation
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import Surroundings
from holecam.plan.finding import Severity


class SpacingReport(Struct, frozen=True):
    """What the spacing check found. The tables hold every distance; the tuples what earns a finding."""

    limits: SpacingLimits
    old_holes: HolePairs
    new_holes: HolePairs
    standing: HolePairs
    edges: EdgeTable
    hole_relations: tuple[HoleRelation, ...]
    edge_relations: tuple[EdgeRelation, ...]

    @property
    def worst(self) -> Severity | None:
        """The worst severity, ``None`` when every limit is kept."""
        found = [r.severity for r in self.hole_relations if r.severity]
        found += [Severity.STOP for r in self.hole_relations if r.heads_meet]
        found += [r.severity for r in self.edge_relations if r.severity]
        return max(found, key=lambda s: s.rank, default=None)

    @property
    def least_web(self) -> HoleRelation | None:
        """The pair of holes with the least metal between them, old and new; ``None`` when there is none in reach."""
        least = [r for pairs in (self.old_holes, self.new_holes, self.standing) if (r := pairs.least_web())]
        return min(least, key=lambda r: r.web, default=None)

    @property
    def plugs_met(self) -> tuple[str, ...]:
        """Labels of the plugs that a new hole breaks into, touches or takes in, each once."""
        met = [r.other_name for r in self.hole_relations if r.filling.is_plug and r.web <= self.limits.touching]
        return tuple(dict.fromkeys(met))


def check_spacing(sites: Sequence[DrillSite], surroundings: Surroundings, limits: SpacingLimits) -> SpacingReport:
    """Return every new hole against everything around it.

    Parameters
    ----------
    sites : sequence of DrillSite
        The new holes in their places, part frame, mm.
    surroundings : Surroundings
        Old holes, part, keep-outs, and new holes of other patterns (against which these are checked once).
    limits : SpacingLimits
        From :func:`holecam.layout.spacing_rules.table_limits`, with the job's overrides.
    """
    thickness = surroundings.part.thickness
    old = old_hole_pairs(sites, surroundings.old_holes, limits, thickness=thickness)
    new = new_hole_pairs(sites, limits, thickness=thickness)
    standing = between_pairs(sites, surroundings.standing_sites, limits, thickness=thickness)
    edges = edge_table(sites, boundaries_of(surroundings), limits, thickness=thickness)
    relations = (*old.notable(), *new.notable(), *standing.notable())
    return SpacingReport(limits, old, new, standing, edges, relations, tuple(edges.notable()))
