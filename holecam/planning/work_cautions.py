"""Which cautions belong to a job, and the work on which this tool does not decide."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from holecam.job.models import Job
from holecam.plan.facts import Caution
from holecam.plan.finding import Finding, Severity
from holecam.standards.cautions import all_tags, cautions_for, material_tags
from holecam.standards.materials import material

DEFERRED = ("pressure", "steam", "gas", "lifting", "brakes", "aircraft")
"""Service for which drilling, plugging or thinning is a repair that a code or licensed practice decides on."""


def work_tags(job: Job, *, has_programs: bool, blind: bool) -> frozenset[str]:
    """Return the tags of the work in a job."""
    tags = {"cutting-data", "clamping"}
    for body in (job.part, *job.bodies):
        tags.update(material_tags(material(body.material).in_temper(body.temper), thickness=float(body.thickness)))
    if has_programs:
        tags.update({"program", "first-run"})
    if job.machine.kind == "manual":
        tags.add("manual")
    if blind:
        tags.add("thin-bottom")
    for holes in job.old_holes:
        tags.add("plug")
        if holes.to_plug is not None:
            tags.update(_lock_tags(holes.to_plug.locked, holes.to_plug.metal or ""))
        if holes.plug is not None and holes.plug.locked is not None:
            tags.update(_lock_tags(holes.plug.locked, holes.plug.metal))
    for step in job.step_downs:
        tags.update({"step-down", "bend", "thin-sheet"})
        for layer in step.layers:
            tags.update(_lock_tags(layer.bond or layer.name, layer.material or ""))
    if job.part.service != "none":
        tags.add(job.part.service)
    return frozenset(tags & all_tags())


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
