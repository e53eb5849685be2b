"""Marking out a correction: from the job's two outlines to the tables that papers show."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_error import MarkingOut as JobMarkingOut
from holecam.job.models_shape import RegionModel
from holecam.job.outlines import curves_through, outline_of
from holecam.layout.marking_out import MarkingOut, MarkingTable, mark_out
from holecam.layout.marking_out_alignment import HeldEdge
from holecam.layout.marking_out_regions import Strip
from holecam.lengths import Unit
from holecam.plan.finding import Finding
from holecam.plan.marking import Mark, MarkingReport, MarkSide, MarkStation
from holecam.planning.marking_out_findings import marking_out_findings
from holecam.shapes import Outline, Placement, Point


class MarkingAnswer(Struct, frozen=True):
    """One correction as the papers show it, and its findings; ``seen_from_back`` is what the mirrored part shows up."""

    report: MarkingReport
    findings: tuple[Finding, ...]
    seen_from_back: MarkSide

    def report_for(self, hand: Placement) -> MarkingReport:
        """Return the correction of the part as given, or of its mirror image: what was the back is the face there."""
        given = self.report
        if not hand.mirror:
            return given
        sides = [replace(self.seen_from_back, side="face")]
        sides += [replace(given.sides[0], side="back")] if len(given.sides) > 1 else []

        def line(ends: tuple[Point, Point]) -> tuple[Point, Point]:
            return hand.apply(ends[0]), hand.apply(ends[1])

        def borders(regions: tuple[tuple[Outline, ...], ...]) -> tuple[tuple[Outline, ...], ...]:
            return tuple(tuple(hand.apply_outline(o) for o in region) for region in regions)

        return replace(
            given,
            drawn=hand.apply_outline(given.drawn),
            made=hand.apply_outline(given.made),
            datum_a=line(given.datum_a),
            datum_b=line(given.datum_b),
            sides=tuple(sides),
            remove=borders(given.remove),
            missing=borders(given.missing),
        )


def answer_marking(job: Job, wish: JobMarkingOut, unit: Unit) -> MarkingAnswer:
    """Return the tables that correct an outline as made.

    Raises
    ------
    InputError
        An outline cannot be used, or no good edge holds the two together.
    """
    try:
        out = mark_out(
            _as_numbered(job, wish.drawn),
            _as_numbered(job, wish.made),
            [HeldEdge(e.drawn, e.made) for e in wish.held_at],
            spacing=None if wish.stations is None else float(wish.stations),
            along=wish.along,
            within=0.0 if wish.within is None else float(wish.within),
        )
    except InputError as error:
        raise InputError(f'marking out "{wish.name}": {error.message}') from error
    return MarkingAnswer(_report(wish, out), marking_out_findings(wish.name, out, unit=unit), _side(out.back))


def _as_numbered(job: Job, region: RegionModel) -> Outline:
    """Return an outline with its edges in the order in which the job counts them."""
    if region.points is not None:
        return Outline(tuple(curves_through(region.points, closed=True)))
    return outline_of(region, folder=job.source.folder)


def _report(wish: JobMarkingOut, out: MarkingOut) -> MarkingReport:
    sides = [_side(out.face)]
    if wish.back_too:
        sides.append(_side(out.back))
    return MarkingReport(
        name=wish.name,
        drawn=out.drawn,
        made=out.made,
        datum_a=(out.datum_a.start, out.datum_a.end),
        datum_b=(out.datum_b.start, out.datum_b.end),
        sides=tuple(sides),
        remove=_borders(out.remove),
        missing=_borders(out.missing),
        remove_area=out.remove_area,
        missing_area=out.missing_area,
        most_off=out.most_off,
    )


def _borders(strips: Sequence[Strip]) -> tuple[tuple[Outline, ...], ...]:
    return tuple((s.outer, *s.islands) for s in strips)


def _side(table: MarkingTable) -> MarkSide:
    return MarkSide(
        side=table.side,
        marks=tuple(
            Mark(p.edge, p.kind.value, p.from_a, p.from_b, p.radius, p.angle_deg, p.off_after) for p in table.points
        ),
        stations=tuple(MarkStation(s.position, s.from_a, s.from_b, s.off_square, s.off_along) for s in table.stations),
    )
