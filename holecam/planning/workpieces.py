"""Bodies, recipes and old holes of a whole job, by name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from holecam.job.models import Job
from holecam.layout.spacing_surroundings import OldHole
from holecam.planning.hole_drafts import HoleRecipe
from holecam.planning.hole_recipes import hole_recipe
from holecam.planning.placed_sets import PlacedSets
from holecam.planning.surroundings import BodyFacts, body_facts, old_holes_of
from holecam.shapes import Placement


def bodies_of(job: Job, hand: Placement) -> dict[str | None, BodyFacts]:
    """Return the part (``None``) and every other body as shapes; mirrored for the other hand of a pair."""
    names: list[str | None] = [None, *(b.name for b in job.bodies)]
    return {name: _in_hand(body_facts(job, job.body(name)), hand) for name in names}


def _in_hand(facts: BodyFacts, hand: Placement) -> BodyFacts:
    if not hand.mirror:
        return facts
    return replace(
        facts,
        outline=None if facts.outline is None else hand.apply_outline(facts.outline).counterclockwise(),
        openings=tuple(hand.apply_outline(o).counterclockwise() for o in facts.openings),
    )


RecipeKey = tuple[str, int]
"""Name of the work, and the hole's number in its pattern where it has a recipe of its own, else 0."""


class Recipes(Struct, frozen=True):
    """What is done at every hole: one recipe a pattern, and those of single holes that differ."""

    by_pattern: Mapping[str, HoleRecipe]
    single: Mapping[RecipeKey, HoleRecipe] = field(default_factory=dict)

    def key(self, name: str, number: int) -> RecipeKey:
        """Return under which key the recipe of a hole stands."""
        return (name, number) if (name, number) in self.single else (name, 0)

    def of(self, name: str, number: int) -> HoleRecipe:
        """Return the recipe of a hole, by the name of its work and its number in the pattern."""
        return self.single.get((name, number), self.by_pattern[name])

    def items(self) -> Iterator[tuple[RecipeKey, HoleRecipe]]:
        """Yield every recipe with its key."""
        yield from (((name, 0), recipe) for name, recipe in self.by_pattern.items())
        yield from self.single.items()

    def with_single(self, single: Mapping[RecipeKey, HoleRecipe]) -> Recipes:
        """Return the same with recipes for single holes."""
        return replace(self, single={**self.single, **single})


def recipes_of(
    job: Job, sets: PlacedSets, bodies: Mapping[str | None, BodyFacts], floors: Mapping[str, float]
) -> Recipes:
    """Return what is done at the holes of every pattern, by the pattern's name (mirrored copies have their own).

    ``floors`` holds, by step-down, the depth below the face that no drill point may pass, mm.
    """
    recipes = {}
    for name in sets.works:
        pattern = job.pattern(sets.pattern_of[name])
        floor = floors[pattern.over] if pattern.over is not None else None
        recipes[name] = hole_recipe(job, pattern, pattern.name, bodies[pattern.body], floor_depth=floor)
    return Recipes(recipes)


def recipes_by_body(job: Job, sets: PlacedSets, recipes: Recipes) -> dict[str, list[HoleRecipe]]:
    """Return what is drilled in each piece of work, by the body's name; empty for the part."""
    found: dict[str, list[HoleRecipe]] = {name: [] for name in ("", *(body.name for body in job.bodies))}
    for (name, _), recipe in recipes.items():
        found[job.pattern(sets.pattern_of[name]).body or ""].append(recipe)
    return found


def old_holes_by_set(
    job: Job, sets: PlacedSets, bodies: Mapping[str | None, BodyFacts]
) -> dict[str, tuple[OldHole, ...]]:
    """Return the old holes of every set as obstacles."""
    return {h.name: old_holes_of(h, sets.old[h.name].pattern, bodies[h.body], job.unit) for h in job.old_holes}
