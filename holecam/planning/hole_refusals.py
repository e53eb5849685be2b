"""What a recipe for a hole cannot be, and what there is to say of it: recesses, taps, the room under the part."""

from __future__ import annotations

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_hole import HoleWork
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.holes import StepKind
from holecam.planning.hole_depths import HoleDepth
from holecam.planning.hole_drafts import DrilledBore, StepDraft
from holecam.planning.recess_sizes import thread_taken
from holecam.standards.thread_names import parse_thread


def refuse_deep_sinks(
    steps: list[StepDraft], bore: DrilledBore, depth: HoleDepth, thickness: float, unit: Unit
) -> None:
    """Refuse a counterbore or countersink that no metal is left under, or that is no wider than its hole."""
    for step in steps:
        if step.kind not in (StepKind.COUNTERBORE, StepKind.COUNTERSINK):
            continue
        most, what = (thickness, "the thickness") if depth.through else (depth.tip, "the depth of the hole")
        if not step.full_depth < most:
            raise InputError(
                f"{step.kind.value} {length_text(step.full_depth, unit)} deep: expected less than {what}, "
                f"{length_text(most, unit)}; the head would fall through"
            )
        if not step.diameter > bore.finished:
            raise InputError(
                f"{step.kind.value} {length_text(step.diameter, unit)}: expected more than the hole, "
                f"{length_text(bore.finished, unit)}"
            )


def refuse_thread_taken(work: HoleWork, bore: DrilledBore, depth: HoleDepth, unit: Unit) -> None:
    """Refuse a recess in a tapped hole that no thread is left under: depths count from the face, not from it."""
    if bore.thread is None or depth.thread is None:
        return
    taken = thread_taken(work, bore.thread)
    if taken > 0 and not taken < depth.thread:
        what = "counterbore" if work.counterbore is not None else "countersink"
        raise InputError(
            f"{what}: it takes the thread away down to {length_text(taken, unit)}, and full thread reaches to "
            f"{length_text(depth.thread, unit)} below the face: nothing is left for the screw. Depths count from the "
            "face that is drilled: add the depth of the recess, or make it shallower."
        )


def room_findings(job: Job, depth: HoleDepth, thickness: float, about: str) -> tuple[Finding, ...]:
    """Return a stop when a drill or tap that comes through meets what is stated to lie under the part."""
    setup = job.setup
    if not depth.through or (setup.clearance_under is None and setup.spoil_board is None):
        return ()
    room = float(setup.clearance_under or 0) + float(setup.spoil_board or 0)
    past = max(depth.tip, depth.tap_tip) - thickness
    if past <= room:
        return ()
    return (
        Finding(
            "meets-table",
            Severity.STOP,
            about,
            f"The tools of {about} come {length_text(past, job.unit)} through the part; under it are "
            f"{length_text(room, job.unit)} of air and board.",
            measured=room,
            limit=past,
            source="job file: setup.clearance_under and setup.spoil_board",
            remedy="Raise the part on parallels, or put a thicker board under it.",
        ),
    )


def owned_tap_findings(
    job: Job, work: HoleWork, bore: DrilledBore, depth: HoleDepth, about: str
) -> tuple[Finding, ...]:
    """Return a caution when the job lists the taps at hand and the one that is needed is not among them."""
    if bore.thread is None or not job.tools.taps:
        return ()
    forming = work.tap is not None and work.tap.method == "form"
    fitting = [t for t in job.tools.taps if parse_thread(t.thread).name == bore.thread.name and t.forming == forming]
    if any(t.kind == depth.tap_kind for t in fitting):
        return ()
    kinds = " and ".join(dict.fromkeys(t.kind for t in fitting))
    there = f"only {kinds} taps of this thread" if fitting else "no tap of this thread"
    wanted = f"{bore.thread.name} {'forming ' if forming else ''}{depth.tap_kind} tap"
    return (
        Finding(
            "tap-not-owned",
            Severity.CAUTION,
            about,
            f"{about} needs a {wanted}; the list of taps has {there}.",
            source="job file",
            remedy="Get the tap before the holes are drilled, or name one that is there under tap.",
        ),
    )


def tap_findings(bore: DrilledBore, about: str) -> tuple[Finding, ...]:
    """Return what the choice of the tap drill has to say, as cautions."""
    return tuple(
        Finding("tap-drill", Severity.CAUTION, about, f"{about}: {note}.", source="see the tap drill's own figures")
        for note in bore.notes
    )
