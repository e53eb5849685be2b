"""What is done to plug old holes, one action each, in the order of the work."""

from __future__ import annotations

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_hole import OldHoles
from holecam.lengths import length_text
from holecam.planning.surroundings import BodyFacts, plug_thread
from holecam.standards.tap_drills import choose_tap_drill
from holecam.standards.thread_names import parse_thread

FILE_OFF = 0.8
"""mm (1/32 in). A plug stands proud by this at each end until it is dressed flush; common practice."""

LOCK_WORDS = {
    "threaded": "screw it in tight against its last thread",
    "soldered": "flux, sweat it in with soft solder, let it cool",
    "brazed": "flux, braze it in, let it cool",
    "epoxy": "degrease, set it in epoxy, let it cure",
    "anaerobic": "degrease, lock it with an anaerobic retainer, let it cure",
    "pinned": "cross-pin it, or peen it over",
}


def plug_actions(job: Job, holes: OldHoles, facts: BodyFacts, count: int) -> tuple[str, ...]:
    """Return the actions that plug one set of old holes; empty when it is not to be plugged in this job.

    Raises
    ------
    InputError
        No thread of the table fits over the hole, or no drill owned suits it.
    """
    plan = holes.to_plug
    if plan is None:
        return ()
    metal = plan.metal or facts.material.name
    stay = "the same metal as the part" if plan.metal is None else metal
    length = float(plan.length) if plan.length is not None else facts.thickness + 2 * FILE_OFF
    size = length_text(length, job.unit)
    owned = job.owned_drills
    if plan.diameter is not None:
        old = parse_thread(holes.thread).major if holes.thread is not None else float(holes.diameter or 0)
        if float(plan.diameter) < old:
            raise InputError(
                f'old holes "{holes.name}": to_plug.diameter {length_text(plan.diameter, job.unit)}: expected at least '
                f"the hole, {length_text(old, job.unit)}"
            )
        opening = f'Open the {count} holes of "{holes.name}" to {length_text(plan.diameter, job.unit)}'
        made = f"turn {count} plain plugs of {metal} to fit, {size} long"
    else:
        thread = plug_thread(holes, job.unit)
        drill = choose_tap_drill(thread, drills=owned, material=facts.material, engagement=facts.thickness)
        opening = (
            f'Open the {count} holes of "{holes.name}" with a {drill.recommended.drill.label} drill and tap them '
            f"{thread.name}"
        )
        made = f"make {count} screwed plugs {thread.name} of {metal}, {size} long"
    return (
        f"{opening}.",
        f"{made[0].upper()}{made[1:]} ({stay}: a drill runs to the softer side).",
        f"For each plug: {LOCK_WORDS[plan.locked]}.",
        "File and scrape every plug flush on both faces; check that none turns.",
    )
