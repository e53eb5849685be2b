"""Holes that are opened so that the pattern goes together: one hole, one larger drill, least metal."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from holecam.job.models import Job
from holecam.layout.opening_up import DrilledOpen
from holecam.lengths import length_text
from holecam.plan.facts import Figure
from holecam.plan.holes import PlannedHole, StepKind
from holecam.planning.hole_drafts import HoleRecipe
from holecam.planning.hole_recipes import twist_drill
from holecam.planning.mates import MateAnswer
from holecam.planning.workpieces import RecipeKey, Recipes
from holecam.standards.blind_holes import point_length


def opened_holes(
    job: Job, answers: Sequence[MateAnswer], holes: Sequence[PlannedHole], recipes: Recipes
) -> dict[RecipeKey, HoleRecipe]:
    """Return recipes for single holes of the part that are drilled larger because the job says ``when_tight = "open"``.

    Holes of the mate that have to be opened are told on the sheet; this plan does not drill them.
    """
    by_number = {h.number: h for h in holes}
    drills = {d.label: d for d in job.owned_drills}
    single: dict[RecipeKey, HoleRecipe] = {}
    for answer in answers:
        if answer.mate.when_tight != "open" or answer.opening is None or answer.opening.best is None:
            continue
        for step in answer.opening.best.steps:
            if not isinstance(step, DrilledOpen) or step.member != "part":
                continue
            hole = by_number[step.number]
            recipe = recipes.of(hole.pattern, hole.number_in_pattern)
            drill = drills[step.drill]
            tool = twist_drill(drill, job.tools.drill_point_deg)
            point = point_length(drill.diameter, point_deg=job.tools.drill_point_deg)
            steps = tuple(
                replace(s, tool=tool, diameter=drill.diameter, tip_depth=s.full_depth + point)
                if s.kind is StepKind.DRILL
                else s
                for s in recipe.steps
            )
            figure = Figure(
                f"hole {hole.number}",
                "opened to",
                f"{drill.label}, {length_text(drill.diameter, job.unit)}",
                f'so that every screw enters "{answer.mate.name}": least metal that leaves the worst screw some play, '
                "proved by solving again",
                "bolt-up, least over rigid motions of the worst offset over play",
            )
            bore = replace(recipe.profile.bores[0], diameter=drill.diameter)
            single[(hole.pattern, hole.number_in_pattern)] = replace(
                recipe,
                purpose=f"{recipe.purpose}, opened to {drill.label}",
                finished_diameter=drill.diameter,
                steps=steps,
                profile=replace(recipe.profile, nominal=drill.diameter, bores=(bore, *recipe.profile.bores[1:])),
                figures=(figure,),
                findings=(),
            )
    return single
