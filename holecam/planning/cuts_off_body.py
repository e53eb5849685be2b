"""Slots and pockets that lie beside the body in which they are to be cut: nothing of it would be in their way."""

from __future__ import annotations

from holecam.job.models import Job
from holecam.job.models_cut import Pocket, Slot
from holecam.job.outlines import outline_of, path_of, shape_of
from holecam.lengths import length_text
from holecam.plan.finding import Finding, Severity
from holecam.shapes import Curve, Outline, Segment
from holecam.shapes.distances import chain_approach, outline_gap


def off_body_findings(job: Job, cut: Slot | Pocket) -> tuple[Finding, ...]:
    """Return a stop for a cut that lies wholly beyond the edge of its body; without an edge nothing is said."""
    body = job.body(cut.body)
    if body.outline is None:
        return ()
    edge = outline_of(body.outline, folder=job.source.folder)
    gap = _slot_gap(job, cut, edge) if isinstance(cut, Slot) else outline_gap(_pocket(job, cut), edge)
    if gap <= 0:
        return ()
    where = cut.body or "the part"
    what = "slot" if isinstance(cut, Slot) else "pocket"
    return (
        Finding(
            "cut-off-part",
            Severity.STOP,
            f'{what} "{cut.name}"',
            f"It lies {length_text(gap, job.unit)} beyond the edge of {where}: nothing is there to cut.",
            gap,
            0.0,
            source="outline of the part",
            remedy="Check its X and Y, sign and unit, and in which body it is.",
            operation=cut.name,
        ),
    )


def _slot_gap(job: Job, slot: Slot, edge: Outline) -> float:
    width = slot.width if slot.width is not None else slot.clears.width if slot.clears is not None else 0
    curves: tuple[Curve, ...]
    if slot.path is not None:
        curves = path_of(slot.path, folder=job.source.folder)
    else:
        assert slot.start is not None
        assert slot.end is not None
        ends = [(float(x), float(y)) for x, y in (slot.start, slot.end)]
        curves = (Segment(ends[0], ends[1]),)
    if edge.contains(curves[0].start):
        return 0.0
    return chain_approach(curves, edge.curves).distance - float(width) / 2


def _pocket(job: Job, pocket: Pocket) -> Outline:
    folder = job.source.folder
    if pocket.clears is not None:
        return outline_of(pocket.clears, folder=folder)
    assert pocket.region is not None
    return shape_of(pocket.region, folder=folder).outline
