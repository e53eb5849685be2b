"""Several places for one pattern side by side, and the best of them by a rule that is stated."""

from __future__ import annotations

from collections.abc import Mapping

from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.layout.bolt_up import BoltUp
from holecam.layout.freedom_field import freedom_of
from holecam.plan.candidates import CandidateReport, Comparison
from holecam.plan.finding import Severity
from holecam.planning.decisions import Decisions, decide
from holecam.planning.error_places import errors_placed
from holecam.planning.job_limits import limits_for
from holecam.planning.mates import answer_mate
from holecam.planning.numbered_holes import bare_holes, own_doubt
from holecam.planning.pattern_spacing import pattern_spacing, special_limits
from holecam.planning.placed_patterns import PlacedWork, place_pattern, zero_doubt_of
from holecam.planning.placed_sets import PlacedSets, place_all
from holecam.planning.settled_places import all_sites, surroundings_for
from holecam.planning.words_in_unit import errors_in
from holecam.planning.workpieces import bodies_of, old_holes_by_set, recipes_of
from holecam.shapes import Placement

RULE = (
    "fewest stops, then goes together with its mates, then fewest plugs met, then fewest cautions, then the greatest "
    "least margin; of equals the one named first"
)


def compare(job: Job) -> tuple[Comparison, ...]:
    """Return a comparison for every pattern that the job gives candidates for."""
    with errors_placed(job.source), errors_in(job.unit):
        decisions = decide(job)
        return tuple(_compare(job, pattern, decisions) for pattern in job.patterns if pattern.candidates)


def _compare(job: Job, pattern: Pattern, decisions: Decisions) -> Comparison:
    wanted = _sets(job, decisions, {}).works[pattern.name]
    places: list[tuple[str, PlacedWork]] = [("wanted", wanted)]
    if pattern.name in decisions.settled.moved:
        places.append(("planned", decisions.settled.moved[pattern.name]))
    for candidate in pattern.candidates:
        if candidate.place is not None:
            sets = _sets(job, decisions, {})
            points = sets.points[pattern.name]
            others = {n: w.pattern for n, w in {**sets.works, **sets.old}.items()}
            work = place_pattern(
                pattern, candidate.place, points, others, decisions.shifts, job.unit, zero_doubt_of(job)
            )
        else:
            shift = (0.0, 0.0) if candidate.shift is None else (float(candidate.shift[0]), float(candidate.shift[1]))
            work = wanted.shifted(shift, candidate.turn_deg)
        places.append((candidate.name, work))
    reports = tuple(_report(job, pattern, name, work, decisions) for name, work in places)
    best = min(reports, key=lambda r: r.rank)
    return Comparison(pattern.name, wanted.reference_hole, reports, best.name, RULE)


def _sets(job: Job, decisions: Decisions, moved: Mapping[str, PlacedWork]) -> PlacedSets:
    return place_all(job, decisions.shifts, hand=Placement(), moved=moved)


def _report(job: Job, pattern: Pattern, name: str, work: PlacedWork, decisions: Decisions) -> CandidateReport:
    sets = _sets(job, decisions, {**decisions.settled.moved, pattern.name: work})
    bodies = bodies_of(job, Placement())
    recipes = recipes_of(job, sets, bodies, decisions.floors)
    sites = all_sites(sets, recipes)
    around = surroundings_for(job, pattern.name, sets, sites, old_holes_by_set(job, sets, bodies), bodies)
    facts = bodies[pattern.body]
    spacing = pattern_spacing(job, pattern.name, sites[pattern.name], around, facts, sets.pattern_of)
    findings = spacing.findings(job.unit)
    freedom = freedom_of(
        sites[pattern.name],
        around,
        limits_for(job, pattern.name, facts),
        level=Severity.STOP,
        between=special_limits(job, pattern.name, around, facts, sets.pattern_of),
    )
    margin = freedom.margin((0.0, 0.0))
    holes = bare_holes(job, sets, recipes)
    answers = [
        answer_mate(job, mate, sets, holes, recipes, own_doubt(job, pattern), with_chance=False)
        for mate in job.mates
        if mate.pattern == pattern.name
    ]
    fits = [a.fit for a in answers]
    web = spacing.least_web
    return CandidateReport(
        name=name,
        reference_at=work.pattern.at(work.reference_hole),
        turn_deg=work.pattern.part_from_pattern.turn_deg,
        stops=sum(f.severity is Severity.STOP for f in findings),
        cautions=sum(f.severity is Severity.CAUTION for f in findings),
        margin=margin if margin != float("inf") else None,
        least_web=None if web is None else web.web,
        goes_together=all(isinstance(f, BoltUp) and f.goes_together for f in fits) if fits else None,
        play_left=min((a.report.play_left for a in answers), default=None),
        plugs_met=spacing.plugs_met,
    )
