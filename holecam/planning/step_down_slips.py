"""What in a step-down does not go together with the rest of the job: region, bar, answers, too few doubts."""

from __future__ import annotations

from collections.abc import Iterator

from holecam.cuts.step_down_heights import StepDownHeights
from holecam.job.models import Job
from holecam.job.models_step_down import StepDown
from holecam.job.outlines import outline_of
from holecam.lengths import length_text
from holecam.plan.finding import Finding, Severity
from holecam.shapes.distances import outline_gap

OTHER_THICKNESS = 0.1
"""Ratio. A bar as measured and a part as drawn differ by less; beyond it two different things are meant."""

FEW_DOUBTS = 2.0
"""Standard doubts. Below this a tooth meets the sheet more often than once in forty times (normal distribution)."""

PRACTICE = "common practice"


def slip_findings(job: Job, wish: StepDown, heights: StepDownHeights) -> list[Finding]:
    """Return what cannot all be meant, though each figure by itself could be."""
    return [*_off_the_part(job, wish), *_other_bar(job, wish), *_above(job, wish, heights), *_unsure(wish)]


def _off_the_part(job: Job, wish: StepDown) -> Iterator[Finding]:
    if wish.region is None or job.part.outline is None:
        return
    folder = job.source.folder
    region, part = outline_of(wish.region, folder=folder), outline_of(job.part.outline, folder=folder)
    apart = outline_gap(region, part)
    if apart > 0:
        yield Finding(
            "region-off-part",
            Severity.STOP,
            f'step-down "{wish.name}"',
            f"Its region lies {length_text(apart, job.unit)} beyond the edge of the part: nothing of the bar is in it.",
            apart,
            0.0,
            source="outline of the part",
            remedy="Check the region's X and Y, sign and unit.",
            operation=wish.name,
        )


def _other_bar(job: Job, wish: StepDown) -> Iterator[Finding]:
    """Where the part is neither one of the layers nor the whole stack, one of the two thicknesses is wrong."""
    thick = [float(layer.thick) for layer in wish.layers if layer.thick is not None]
    first, part = wish.layers[0].thick, float(job.part.thickness)
    if first is None or wish.layers[0].measured_over != "this layer":
        return
    if all(abs(part - size) > OTHER_THICKNESS * size for size in (*thick, sum(thick))):
        bar = length_text(first, job.unit)
        yield Finding(
            "bar-thickness",
            Severity.CAUTION,
            f'step-down "{wish.name}"',
            f'"{wish.layers[0].name}" is {bar} thick in the stack, and the part {length_text(part, job.unit)} under '
            "[part]: one of the two is wrong. Touched off on the bar, the sheet's height is wrong by as much.",
            float(first),
            part,
            source="job file",
            remedy="Measure the bar again, and correct the one that is wrong.",
            operation=wish.name,
        )


def _above(job: Job, wish: StepDown, heights: StepDownHeights) -> Iterator[Finding]:
    for look in wish.looks:
        if look.at_z is not None and float(look.at_z) > heights.start:
            yield Finding(
                "look-above-bar",
                Severity.CAUTION,
                f'step-down "{wish.name}"',
                f"A look is said to be at Z {length_text(look.at_z, job.unit)}; the top of the stack lies at "
                f"Z {length_text(heights.start, job.unit)}. It says nothing of the sheet.",
                float(look.at_z),
                heights.start,
                source="job file",
                remedy="Write Z as the readout showed it; look at the sign and the point.",
                operation=wish.name,
            )


def _unsure(wish: StepDown) -> Iterator[Finding]:
    if wish.k is not None and wish.k < FEW_DOUBTS:
        yield Finding(
            "few-doubts",
            Severity.CAUTION,
            f'step-down "{wish.name}"',
            f"The job puts the hard floor only {wish.k:g} standard doubts above the sheet: a tooth may well meet it.",
            wish.k,
            FEW_DOUBTS,
            "1",
            PRACTICE,
            "Leave k out: three standard doubts are usual.",
            operation=wish.name,
        )
