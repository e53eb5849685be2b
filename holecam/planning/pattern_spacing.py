"""The spacing of one pattern against all around it, each of its neighbours by the limits that hold between the two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.job.models import Job
from holecam.layout.spacing import SpacingReport, check_spacing
from holecam.layout.spacing_relations import HoleRelation
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import PartShape, Surroundings
from holecam.lengths import Unit
from holecam.plan.finding import Finding, worst_first
from holecam.planning.job_limits import limits_between, limits_for
from holecam.planning.spacing_findings import spacing_findings
from holecam.planning.surroundings import BodyFacts


class PatternSpacing(Struct, frozen=True):
    """The spacing reports of one pattern: by its own limits, and one for each neighbour with limits of its own."""

    reports: tuple[SpacingReport, ...]

    @property
    def least_web(self) -> HoleRelation | None:
        """The pair of holes with the least metal between them; ``None`` when there is none in reach."""
        return min((r for report in self.reports if (r := report.least_web)), key=lambda r: r.web, default=None)

    @property
    def plugs_met(self) -> tuple[str, ...]:
        """Labels of the plugs that a new hole breaks into, touches or takes in, each once."""
        return self.reports[0].plugs_met

    def findings(self, unit: Unit) -> tuple[Finding, ...]:
        """Return what there is to say, the worst first."""
        return worst_first(tuple(f for report in self.reports for f in spacing_findings(report, unit=unit)))


def special_limits(
    job: Job, name: str, around: Surroundings, facts: BodyFacts, pattern_of: Mapping[str, str]
) -> dict[str, SpacingLimits]:
    """Return the limits between a pattern and each neighbour (by the name of its work) that are not its own."""
    if not any(limit.pattern is not None for limit in job.limits):
        return {}
    own = limits_for(job, name, facts)
    neighbours = dict.fromkeys(site.pattern for site in around.standing_sites)
    between = {n: limits_between(job, name, pattern_of[n], facts) for n in neighbours}
    return {n: limits for n, limits in between.items() if limits != own}


def pattern_spacing(
    job: Job,
    name: str,
    sites: Sequence[DrillSite],
    around: Surroundings,
    facts: BodyFacts,
    pattern_of: Mapping[str, str],
) -> PatternSpacing:
    """Return the spacing of the holes of a pattern (``name`` as in the job) against all around them.

    Parameters
    ----------
    job : Job
    name : str
        The pattern of the job, whose limits hold.
    sites : sequence of DrillSite
    around : Surroundings
    facts : BodyFacts
        The body that is drilled.
    pattern_of : mapping
        The pattern of the job that each work came from, as in the placed sets.
    """
    special = special_limits(job, name, around, facts, pattern_of)
    usual = tuple(s for s in around.standing_sites if s.pattern not in special)
    reports = [check_spacing(sites, replace(around, standing_sites=usual), limits_for(job, name, facts))]
    for neighbour, limits in special.items():
        others = tuple(s for s in around.standing_sites if s.pattern == neighbour)
        alone = Surroundings(PartShape(thickness=around.part.thickness), standing_sites=others)
        report = check_spacing(sites, alone, limits)
        reports.append(replace(report, hole_relations=tuple(report.standing.notable())))
    return PatternSpacing(tuple(reports))
