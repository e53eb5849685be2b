"""Several places for one pattern side by side, and the best of them by a rule that is stated."""

from __future__ import annotations

from collections.abc import Mapping

from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.layout.bolt_up import BoltUp
from holecam.plan.candidates import CandidateReport, Comparison
from holecam.plan.finding import Severity
from holecam.planning.decisions import Decisions, decide
from holecam.planning.error_places import errors_placed
from holecam.planning.mates import answer_mate
from holecam.planning.numbered_holes import bare_holes, own_doubt
from holecam.planning.placed_patterns import PlacedWork, place_pattern, zero_doubt_of
from holecam.planning.placed_sets import PlacedSets, place_all
from holecam.planning.settled_places import Around, all_sites
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
    # Other patterns lie where they are planned: a place that is taken from one of them follows it
    sets = _sets(job, decisions, {n: w for n, w in decisions.settled.moved.items() if n != pattern.name})
    wanted = sets.whole[pattern.name]
    places: list[tuple[str, PlacedWork]] = [("wanted", wanted)]
    if pattern.name in decisions.settled.moved:
        places.append(("planned", decisions.settled.moved[pattern.name]))
    for candidate in pattern.candidates:
        if candidate.place is not None:
            points = sets.points[pattern.name]
            others = {n: w.pattern for n, w in {**sets.works, **sets.old}.items()}
            work = place_pattern(
                pattern,
                candidate.place,
                points,
                others,
                decisions.shifts,
                job.unit,
                zero_doubt_of(job),
                hole_text=sets.hole_text(pattern.name),
            )
        else:
            shift = (0.0, 0.0) if candidate.shift is None else (float(candidate.shift[0]), float(candidate.shift[1]))
            work = wanted.shifted(shift, candidate.turn_deg)
        places.append((candidate.name, work))
    hole = sets.works[pattern.name].reference_hole
    reports = tuple(_report(job, pattern, name, work, hole, decisions) for name, work in places)
    best = min(reports, key=lambda r: r.rank)
    return Comparison(pattern.name, hole, reports, best.name, RULE, sets.hole_text(pattern.name)(hole))


def _sets(job: Job, decisions: Decisions, moved: Mapping[str, PlacedWork]) -> PlacedSets:
    return place_all(job, decisions.shifts, hand=Placement(), moved=moved)


def _report(
    job: Job, pattern: Pattern, name: str, work: PlacedWork, hole: int, decisions: Decisions
) -> CandidateReport:
    sets = _sets(job, decisions, {**decisions.settled.moved, pattern.name: work})
    bodies = bodies_of(job, Placement())
    recipes = recipes_of(job, sets, bodies, decisions.floors)
    sites = all_sites(sets, recipes)
    around = Around(job, sets, sites, old_holes_by_set(job, sets, bodies), bodies)
    own = [n for n in sets.works if sets.pattern_of[n] == pattern.name]  # the pattern and its mirrored copy
    spacings = [around.spacing(n) for n in own]
    findings = list(dict.fromkeys(f for spacing in spacings for f in spacing.findings(job.unit)))
    margin = min(around.freedom(n, without=()).margin((0.0, 0.0)) for n in own)
    holes = bare_holes(job, sets, recipes)
    answers = [
        answer_mate(job, mate, sets, holes, recipes, own_doubt(job, pattern), with_chance=False)
        for mate in job.mates
        if mate.pattern == pattern.name
    ]
    fits = [a.fit for a in answers]
    webs = [relation.web for spacing in spacings if (relation := spacing.least_web) is not None]
    return CandidateReport(
        name=name,
        reference_at=work.pattern.at(hole),
        turn_deg=work.pattern.part_from_pattern.turn_deg,
        stops=sum(f.severity is Severity.STOP for f in findings),
        cautions=sum(f.severity is Severity.CAUTION for f in findings),
        margin=margin if margin != float("inf") else None,
        least_web=min(webs, default=None),
        goes_together=all(isinstance(f, BoltUp) and f.goes_together for f in fits) if fits else None,
        play_left=min((a.report.play_left for a in answers), default=None),
        plugs_met=tuple(dict.fromkeys(plug for spacing in spacings for plug in spacing.plugs_met)),
    )
