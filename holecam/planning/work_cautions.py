"""Which cautions belong to a job, and the work on which this tool does not decide."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from holecam.job.models import Job
from holecam.job.models_part import BodyModel, Part
from holecam.job.models_step_down import StepDown
from holecam.plan.facts import Caution
from holecam.plan.finding import Finding, Severity
from holecam.planning.hole_drafts import HoleRecipe
from holecam.planning.layer_materials import STEP_DOWN_TAGS, layer_tags
from holecam.planning.step_down_words import bond_of
from holecam.standards.cautions import all_tags, cautions_for, material_tags
from holecam.standards.materials import material

DEFERRED = ("pressure", "steam", "gas", "lifting", "brakes", "aircraft")
"""Service for which drilling, plugging or thinning is a repair that a code or licensed practice decides on."""


BENCH_CAUTIONS = ("hot-work", "zinc-fume", "braze-flux", "plug-first")
"""Cautions that belong to plugging and soldering at the bench: on the sheet, not in the head of a program."""

_PROGRAM_TAGS = ("cutting-data", "clamping", "program", "first-run")


def work_tags(job: Job, recipes: Iterable[HoleRecipe], *, has_programs: bool) -> frozenset[str]:
    """Return the tags of all the work in a job, at the machine and at the bench, for its sheet."""
    tags = {"cutting-data", "clamping"}.union(hole_tags(recipes))
    for body in (job.part, *job.bodies):
        tags |= piece_tags(body)
    if has_programs:
        tags.update(_PROGRAM_TAGS)
    if job.machine.kind == "manual":
        tags.add("manual")
    for holes in job.old_holes:
        tags.add("plug")
        if holes.to_plug is not None:
            tags |= _lock_tags(holes.to_plug.locked, holes.to_plug.metal or "")
        if holes.plug is not None and holes.plug.locked is not None:
            tags |= _lock_tags(holes.plug.locked, holes.plug.metal)
    for step in job.step_downs:
        tags |= step_down_tags(step)
    return frozenset(tags | service_tags(job))


def service_tags(job: Job) -> set[str]:
    """Return the tag of what the part serves for, where a caution belongs to it."""
    return set(all_tags().intersection([job.part.service]))


def piece_tags(piece: Part | BodyModel) -> set[str]:
    """Return the tags of what a piece of work is made of, and of its being thin."""
    stuff = material(piece.material).in_temper(piece.temper)
    return set(material_tags(stuff, thickness=float(piece.thickness)))


def hole_tags(recipes: Iterable[HoleRecipe]) -> set[str]:
    """Return the tags of drilling these holes: the metal at each, thin sheet, little metal left under a blind hole."""
    tags: set[str] = set()
    for recipe in recipes:
        tags.update(material_tags(recipe.material, thickness=recipe.thickness))
        if not recipe.depth.through:
            tags.add("thin-bottom")
    return tags


def step_down_tags(step: StepDown) -> set[str]:
    """Return the tags of milling down to a sheet: its bar, its bonding layer, the sheet itself."""
    tags = {"bend", *STEP_DOWN_TAGS}
    for layer in step.layers:
        bond = None if layer.keep else bond_of(layer.bond or layer.name)
        tags |= layer_tags(layer.name, bond, layer.material)
        if bond is not None and bond.melting_c is not None:
            tags.add("hot-work")
    return tags


def _lock_tags(words: str, metal: str) -> set[str]:
    text = f"{words} {metal}".lower()
    tags: set[str] = set()
    if "braz" in text or "silver" in text:
        tags.update({"braze", "cadmium-braze", "hot-work"})
    elif "solder" in text or "sweat" in text:
        tags.update({"solder", "lead", "hot-work"})
    if any(word in text for word in ("epoxy", "adhesive", "anaerobic")):
        tags.add("adhesive")
    return tags


def work_cautions(tags: Iterable[str]) -> tuple[Caution, ...]:
    """Return the cautions for these tags as the plan holds them, the most general first."""
    return tuple(Caution(c.code, c.text, c.source) for c in cautions_for(tags))


def program_cautions(tags: Iterable[str]) -> tuple[str, ...]:
    """Return the texts for the head of one program: those of its own work, and of every program.

    A head that tells of wood dust where brass is drilled is soon not read at all.
    """
    own = cautions_for({*_PROGRAM_TAGS, *tags})
    return tuple(c.text for c in own if c.code not in BENCH_CAUTIONS)


def service_findings(job: Job, hole_numbers: Sequence[int]) -> tuple[Finding, ...]:
    """Return a stop for work that a code or licensed practice decides on, a note for food, oxygen and vacuum."""
    service = job.part.service
    if service == "none":
        return ()
    if service in DEFERRED:
        return (
            Finding(
                "licensed-work",
                Severity.STOP,
                "the part",
                f'The part is for "{service}": drilling, plugging or thinning it is a repair or alteration. This tool '
                "does not decide there and gives no depths or programs.",
                source="National Board NB-23 and national rules: the inspector agrees before work starts",
                remedy="Ask the inspector, the club's tester or the licensed shop first.",
                holes=tuple(hole_numbers),
            ),
        )
    return (
        Finding(
            "trapped-liquid",
            Severity.CAUTION,
            "the part",
            f'The part is for "{service}": plugs trap liquid, and a thread is a leak path.',
            source="common practice",
            remedy="Braze the plugs, or make a new part.",
        ),
    )
