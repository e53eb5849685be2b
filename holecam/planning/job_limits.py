"""The limits of the spacing check for one pattern: the table's, changed where the job says so with a reason."""

from __future__ import annotations

from holecam.job.models import Job
from holecam.job.models_part import Limit
from holecam.layout.spacing_rules import LimitTerm, SpacingLimits
from holecam.plan.finding import Severity
from holecam.planning.surroundings import BodyFacts, base_limits

NOT_OF_SPACING = ("play",)
"""Limits that other checks read."""


def limits_for(job: Job, pattern: str, facts: BodyFacts) -> SpacingLimits:
    """Return the limits that hold for a pattern on a body.

    An accepted limit no longer stops: what it said stays as a caution, with the job's reason.
    """
    limits = base_limits(facts)
    for limit in job.limits:
        if limit.pattern not in (None, pattern) or limit.of in NOT_OF_SPACING:
            continue
        limits = _changed(limits, limit)
    return limits


def limits_between(job: Job, one: str, other: str, facts: BodyFacts) -> SpacingLimits:
    """Return the limits that hold between the holes of two patterns of a body, whichever of them comes first.

    What the job sets for one of the two holds for the metal between them; where it sets a limit for both, the greater.
    """
    first, second = limits_for(job, one, facts), limits_for(job, other, facts)
    if first == second:
        return first
    base = base_limits(facts)
    rules = []
    for rule, level, usual in base.rules:
        a, b = first.terms(rule, level), second.terms(rule, level)
        rules.append((rule, level, b if a == usual else a if b in (usual, a) else (*a, *b)))
    return SpacingLimits(tuple(rules))


def _changed(limits: SpacingLimits, limit: Limit) -> SpacingLimits:
    if limit.accept:
        return limits.overridden(limit.of, Severity.STOP, LimitTerm(0.0, "mm", "job file", limit.reason))
    if limit.least is not None:
        term = LimitTerm(float(limit.least), "mm", "job file", limit.reason)
    else:
        term = LimitTerm(float(limit.least_diameters or 0.0), "diameter", "job file", limit.reason)
    if limit.severity == "stop":
        return limits.overridden(limit.of, Severity.STOP, term)
    return limits.overridden(limit.of, Severity.CAUTION, term).overridden(
        limit.of, Severity.STOP, LimitTerm(0.0, "mm", "job file", limit.reason)
    )
