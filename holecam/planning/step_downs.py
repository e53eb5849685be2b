"""What is worked out once for every step-down of a job: heights, findings, how deep a drill may go above the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.layer_stack import HeightTouch
from holecam.cuts.step_down_heights import StepDownHeights, plan_heights
from holecam.cuts.step_down_passes import floor_count, reading_z
from holecam.job.models import Job
from holecam.job.models_step_down import StepDown
from holecam.job.outlines import outline_of
from holecam.plan.finding import Finding
from holecam.plan.limits import HardFloor
from holecam.planning.machine_facts import machine_facts
from holecam.planning.step_down_findings import height_findings
from holecam.planning.step_down_slips import slip_findings
from holecam.planning.step_down_stacks import heights_request, in_step_down, touch_presses
from holecam.shapes import Placement


class StepDownAnswer(Struct, frozen=True):
    """The heights of one step-down, with what is to be said about them.

    ``drill_tip_depth`` is how deep below the top of the stack the very tip of a drill may go, mm.
    """

    wish: StepDown
    heights: StepDownHeights
    drill_tip_depth: float
    findings: tuple[Finding, ...]

    @property
    def sheet(self) -> str:
        """Name of the sheet that may never be touched."""
        return self.heights.request.touched.stack.substrate.name


def answer_step_downs(job: Job) -> tuple[StepDownAnswer, ...]:
    """Return the heights of every step-down of a job, in its order.

    Raises
    ------
    InputError
        A stack, a touch-off or answers that cannot be; the message names the step-down.
    """
    readout = machine_facts(job).readout
    out = []
    for wish in job.step_downs:
        request = heights_request(job, wish, readout)
        with in_step_down(wish.name):
            heights = plan_heights(request)
            tip_depth = drill_tip_depth(heights)
        findings = height_findings(heights, name=wish.name, unit=job.unit, touch_presses=touch_presses(wish))
        findings += slip_findings(job, wish, heights)
        out.append(StepDownAnswer(wish, heights, tip_depth, tuple(findings)))
    return tuple(out)


def step_down_floors(answers: Iterable[StepDownAnswer]) -> dict[str, float]:
    """Return, by the step-down's name, the depth below the drilled face that no drill point may pass, mm."""
    return {answer.wish.name: answer.drill_tip_depth for answer in answers}


def drill_tip_depth(heights: StepDownHeights) -> float:
    """Return how deep the tip of a drill may go below the top of the stack, mm, a whole number of readout steps.

    A hole's height is touched off anew, on the face that is drilled: what was seen under the cutter does not make that
    touch surer, so answers never lower this depth. Where the step-down was touched off on another face, the sheet's
    doubt as seen from the drilled face counts, and the stricter of the two floors holds. One step of the readout stays
    above the hard floor, however the depth is written.
    """
    request, touched = heights.request, heights.request.touched
    drilled = touched
    if touched.touched_index != 0:
        first = touched.stack.layers[0].name
        drilled = replace(touched, touch=HeightTouch(first, touched.touch.method, 0.0, touched.touch.half_width))
    from_face = replace(request, touched=drilled, answers=()).faces.hard_floor() - drilled.faces[0].value
    top = max(heights.hard_floor - touched.faces[0].value, from_face)
    step = float(touched.resolution)
    # 0.0 - ...: a depth, positive down
    return 0.0 - reading_z(floor_count(top, wanted=top + step, resolution=touched.resolution), touched.resolution)


def drilling_floors(
    job: Job, answers: Iterable[StepDownAnswer], faces: Mapping[str, float], machine_from_given: Placement
) -> tuple[HardFloor, ...]:
    """Return the hard floors of the hole programs: over the region of every step-down that holes are drilled above.

    Parameters
    ----------
    faces : mapping of str to float
        By the step-down's name, the height of the face that is drilled, mm; without holes above it a name is missing.
    machine_from_given : Placement
        From the part as given to what the readout shows.
    """
    floors = []
    for answer in answers:
        wish = answer.wish
        if wish.name in faces and wish.region is not None:
            outline = machine_from_given.apply_outline(outline_of(wish.region, folder=job.source.folder))
            z = faces[wish.name] - answer.drill_tip_depth
            floors.append(HardFloor(answer.sheet, z, outline.counterclockwise(), "hard floor of the step-down"))
    return tuple(floors)
