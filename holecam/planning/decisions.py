"""What is worked out once for a job: places, opened holes, answers about mates, findings about spacing."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from holecam.job.models import Job
from holecam.layout.reference_doubt import ReferenceDoubt
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.hole_words import HoleText
from holecam.planning.chains import ChainAnswer, answer_chain, chain_shifts
from holecam.planning.drawing_findings import drawing_findings
from holecam.planning.hole_drafts import HoleRecipe
from holecam.planning.machine_facts import machine_facts
from holecam.planning.markings import MarkingAnswer, answer_marking
from holecam.planning.mates import MateAnswer, answer_mate, mate_findings, play_findings
from holecam.planning.moved_along import taken_back
from holecam.planning.numbered_holes import bare_holes, own_doubt
from holecam.planning.opened_findings import opened_findings
from holecam.planning.opened_holes import opened_holes
from holecam.planning.pattern_spacing import pattern_spacing
from holecam.planning.placed_sets import PlacedSets, place_all
from holecam.planning.settled_places import Settled, all_sites, settle_all, surroundings_for
from holecam.planning.step_downs import StepDownAnswer, answer_step_downs, step_down_floors
from holecam.planning.surroundings import BodyFacts
from holecam.planning.workpieces import RecipeKey, Recipes, bodies_of, old_holes_by_set, recipes_of
from holecam.shapes import Placement, Point

AS_GIVEN = Placement()
MIRRORED = {"x": Placement(mirror=True), "y": Placement(180.0, mirror=True)}
"""The other hand of a pair: the sign of x changes, or that of y."""


class Decisions(Struct, frozen=True):
    """What is worked out once, on the part as given, and holds for its twin as well.

    ``found`` is told of the part as given, ``twin_found`` of its twin: the same, with directions as they are there.
    """

    shifts: Mapping[str, Point]
    floors: Mapping[str, float]
    settled: Settled
    single: Mapping[RecipeKey, HoleRecipe]
    mates: tuple[MateAnswer, ...]
    chains: tuple[ChainAnswer, ...]
    markings: tuple[MarkingAnswer, ...]
    step_downs: tuple[StepDownAnswer, ...]
    found: tuple[Finding, ...]
    twin_found: tuple[Finding, ...] = ()


def decide(job: Job) -> Decisions:
    """Return places, opened holes and answers about mates."""
    chains = tuple(answer_chain(chain, job.unit) for chain in job.chains)
    markings = tuple(answer_marking(job, wish, job.unit) for wish in job.marking_out)
    shifts = chain_shifts(chains)
    step_downs = answer_step_downs(job)
    floors = step_down_floors(step_downs)
    settled = settle_all(job, shifts, floors, machine_facts(job).readout)
    bodies = bodies_of(job, Placement())
    sets = place_all(job, shifts, hand=Placement(), moved=settled.moved)
    recipes = recipes_of(job, sets, bodies, floors)
    first: tuple[MateAnswer, ...] = ()
    single: dict[RecipeKey, HoleRecipe] = {}
    if any(mate.when_tight == "open" for mate in job.mates):
        first = _answers(job, sets, recipes, with_chance=False)
        single = opened_holes(job, first, bare_holes(job, sets, recipes), recipes)
        recipes = recipes.with_single(single)
    answers = _answers(job, sets, recipes, with_chance=True)

    def found(hand: Placement) -> tuple[Finding, ...]:
        return (
            *drawing_findings(job),
            *(f for answer in chains for f in answer.findings),
            *(f for marking in markings for f in marking.findings),
            *_placing(sets, recipes, job.unit),
            *_spacing(job, sets, recipes, bodies, hand),
            *(f for a in answers for f in (*mate_findings(a, job.unit, hand), *play_findings(job, a))),
            *(f for a, b in zip(first, answers, strict=False) for f in opened_findings(a, b, job.unit, hand)),
        )

    twin = () if job.other_hand is None else found(MIRRORED[job.other_hand.flip])
    return Decisions(
        shifts, floors, settled, single, answers, chains, markings, step_downs, found(AS_GIVEN), twin_found=twin
    )


def _answers(job: Job, sets: PlacedSets, recipes: Recipes, *, with_chance: bool) -> tuple[MateAnswer, ...]:
    holes = bare_holes(job, sets, recipes)
    return tuple(
        answer_mate(
            job,
            mate,
            sets,
            holes,
            recipes,
            own_doubt(job, job.pattern(sets.pattern_of[mate.pattern])),
            with_chance=with_chance,
        )
        for mate in job.mates
    )


def _doubt_note(name: str, doubt: ReferenceDoubt, numbers: tuple[int, ...], hole_text: HoleText, unit: Unit) -> Finding:
    """Return both effects of a doubtful place, apart: what moves the pattern as one, and what turns it."""
    together = max(doubt.together_along, doubt.together_across)
    far = doubt.farthest
    return Finding(
        code="place-doubt",
        severity=Severity.NOTE,
        about=f'pattern "{name}"',
        message=(
            f'"{name}" may sit off by {length_text(together, unit)} as one, spacing exact; its doubtful direction adds '
            f"{length_text(far.turning, unit)} at {hole_text(far.number)}, the farthest (standard doubts)."
        ),
        measured=together,
        source="GUM (JCGM 100:2008), doubts of the references as stated",
        remedy="Find the references better, and far apart.",
        holes=numbers,
    )


def _placing(sets: PlacedSets, recipes: Recipes, unit: Unit) -> list[Finding]:
    """Return what measured places say, about the pattern by name and with the numbers of its holes."""
    sites = all_sites(sets, recipes)
    found = []
    for name, work in sets.works.items():
        numbers = tuple(s.number for s in sites[name])
        found += [replace(f, about=f'pattern "{name}"', holes=numbers) for f in work.findings]
        if work.doubt is not None and work.doubt.turn_deg > 0:
            found.append(_doubt_note(name, work.doubt, numbers, sets.hole_text(name), unit))
    return found


def _spacing(
    job: Job, sets: PlacedSets, recipes: Recipes, bodies: Mapping[str | None, BodyFacts], hand: Placement
) -> list[Finding]:
    sites = all_sites(sets, recipes)
    old = old_holes_by_set(job, sets, bodies)
    found: dict[Finding, None] = {}
    done: list[str] = []
    for name in sets.works:
        pattern = job.pattern(sets.pattern_of[name])
        around = surroundings_for(job, name, sets, sites, old, bodies)
        # Each pair of patterns is looked at once: from the one that comes later
        around = replace(around, standing_sites=tuple(s for s in around.standing_sites if s.pattern in done))
        own = sites[name]
        if hand.mirror:  # measured anew, because some words tell a direction
            around, own = taken_back(around, hand), tuple(replace(s, center=hand.apply(s.center)) for s in own)
        spacing = pattern_spacing(job, pattern.name, own, around, bodies[pattern.body], sets.pattern_of)
        found.update(dict.fromkeys(spacing.findings(job.unit)))
        done.append(name)
    return list(found)
