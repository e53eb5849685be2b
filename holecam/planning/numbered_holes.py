"""Planned holes with their numbers, from placed patterns, recipes and the table's frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.layout.spacing_surroundings import OldHole
from holecam.lengths import Unit, length_text
from holecam.plan.facts import Figure
from holecam.plan.holes import HoleStep, PlaceDoubt, PlannedHole, StandingHole
from holecam.planning.placed_patterns import PlacedWork
from holecam.planning.placed_sets import PlacedSets
from holecam.planning.workpieces import RecipeKey, Recipes
from holecam.shapes import Placement
from holecam.standards.position_methods import position_method


def own_doubt(job: Job, pattern: Pattern) -> float:
    """Return the standard doubt, mm, with which one hole is drilled: by the stated method, or as usual."""
    if pattern.drilled_by is not None:
        return position_method(pattern.drilled_by).standard_uncertainty
    usual = "spot and drill by readout" if job.machine.dials is None else "spot and drill by dials"
    return position_method(usual).standard_uncertainty


def numbered_holes(
    job: Job,
    sets: PlacedSets,
    recipes: Recipes,
    steps: Mapping[RecipeKey, tuple[HoleStep, ...]],
    table: Placement,
) -> tuple[PlannedHole, ...]:
    """Return the holes of all patterns, numbered from 1 in the order of the job and of each pattern.

    Parameters
    ----------
    recipes, steps
        What is done at every hole, in words and as numbered steps.
    table : Placement
        Carries the part frame into readings.
    """
    holes: list[PlannedHole] = []
    for name, work in sets.works.items():
        pattern = job.pattern(sets.pattern_of[name])
        own = own_doubt(job, pattern)
        place = table if pattern.body is None else Placement()  # how the part lies says nothing of another body
        for number, xy in work.pattern.holes():
            recipe = recipes.of(name, number)
            doubt = work.doubt.place_doubt(number, own=own) if work.doubt is not None else PlaceDoubt(own=own)
            holes.append(
                PlannedHole(
                    number=len(holes) + 1,
                    pattern=name,
                    number_in_pattern=number,
                    xy_part=xy,
                    xy_machine=place.apply(xy),
                    purpose=recipe.purpose,
                    thread=recipe.thread.name if recipe.thread is not None else "",
                    finished_diameter=recipe.finished_diameter,
                    steps=steps[recipes.key(name, number)],
                    doubt=doubt,
                    face_z=recipe.face_z,
                    body=pattern.body or "",
                )
            )
    return tuple(holes)


def bare_holes(job: Job, sets: PlacedSets, recipes: Recipes) -> tuple[PlannedHole, ...]:
    """Return the holes without steps: all that places and mates need."""
    return numbered_holes(job, sets, recipes, dict.fromkeys((k for k, _ in recipes.items()), ()), Placement())


def standing_holes(old: Sequence[OldHole], to_plug: frozenset[str], table: Placement) -> tuple[StandingHole, ...]:
    """Return old holes as the papers show them; ``to_plug`` holds the labels of those that are plugged first."""
    return tuple(
        StandingHole(
            label=hole.label,
            xy_part=hole.center,
            xy_machine=table.apply(hole.center),
            diameter=hole.diameter,
            plug=hole.plug.words if hole.plug is not None else "",
            to_plug=hole.label in to_plug,
        )
        for hole in old
    )


def coordinate_figures(name: str, work: PlacedWork, holes: Sequence[PlannedHole], unit: Unit) -> tuple[Figure, ...]:
    """Return how each coordinate came about: pattern point, turn, shift."""
    motion = work.pattern.part_from_pattern
    own = dict(work.pattern.pattern.holes())
    figures = []
    for hole in holes:
        x, y = own[hole.number_in_pattern]
        figures.append(
            Figure(
                f"hole {hole.number}",
                "X, Y",
                f"{length_text(hole.xy_part[0], unit, signed=True)}, {length_text(hole.xy_part[1], unit, signed=True)}",
                f'"{name}" {hole.number_in_pattern} at {length_text(x, unit)}, {length_text(y, unit)} in its pattern'
                f"{', mirrored' if motion.mirror else ''}, turned {motion.turn_deg:g} degrees about "
                f"{length_text(motion.pivot[0], unit)}, {length_text(motion.pivot[1], unit)}, which lies at "
                f"{length_text(motion.shift[0], unit)}, {length_text(motion.shift[1], unit)}; placed by {work.method}",
                "job file",
            )
        )
    return tuple(figures)
