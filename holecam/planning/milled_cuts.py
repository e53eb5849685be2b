"""Slots and pockets of a job: planned, proved, and put into operations and programs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.chain_drilling_values import ChainDrilling
from holecam.cuts.clearance import ClearanceSum
from holecam.cuts.corner_relief import mirrored_wish
from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.cutting_steps import path_minutes
from holecam.cuts.hand_values import HandWork
from holecam.cuts.path_values import CutPath
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketPlan, PocketRequest
from holecam.cuts.proof_values import CutProof, WallReport
from holecam.cuts.slot import plan_slot
from holecam.cuts.slot_values import EndReport, SlotEnd, SlotPlan, SlotRequest, StopShort
from holecam.cuts.sneaking_values import SneakPass
from holecam.job.models import Job
from holecam.job.models_cut import Cut
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.milled import CutStage, MilledCut, SizeSum, SumTerm
from holecam.plan.work import OperationKind
from holecam.planning.cut_finding_parts import TWO_HANDWHEELS
from holecam.planning.cut_findings import pocket_findings, slot_findings
from holecam.planning.cut_requests import CutSetting, pocket_request, slot_request
from holecam.planning.cut_views import left_patches, pocket_view, slot_view
from holecam.planning.cuts_off_body import off_body_findings
from holecam.planning.error_places import errors_named
from holecam.planning.surroundings import BodyFacts
from holecam.shapes import Outline, Placement


class PlannedCut(Struct, frozen=True):
    """One slot or pocket: what the papers show, the paths of its stages, the findings."""

    job_cut: Cut
    kind: OperationKind
    report: MilledCut
    stages: tuple[tuple[SneakPass | None, CutPath, HandWork], ...]
    second: CutPath | None
    setting: CutSetting
    facts: BodyFacts
    islands: tuple[Outline, ...]
    findings: tuple[Finding, ...]
    island_labels: tuple[str, ...] = ()
    second_by_hand: HandWork | None = None

    @property
    def stopped(self) -> Finding | None:
        """The finding that withholds its programs, if there is one."""
        return next((f for f in self.findings if f.severity is Severity.STOP), None)


def planned_cuts(
    job: Job, bodies: Mapping[str | None, BodyFacts], hand: Placement, clearance_z: float
) -> tuple[PlannedCut, ...]:
    """Return every slot and pocket of a job, planned and proved.

    Raises
    ------
    InputError
        A cut that cannot be made as it is asked for; the message names it and the remedy.
    """
    cuts = []
    for slot in job.slots:
        facts = bodies[slot.body]
        # The body is in its hand already; only what is read from the job has to be mirrored
        request, setting = slot_request(job, slot, facts, clearance_z)
        with errors_named(f'slot "{slot.name}"'):
            planned = plan_slot(_slot_in_hand(request, hand))
        findings = _for_machine(job, slot, slot_findings(planned, job.unit)) + off_body_findings(job, slot)
        report = _slot_report(planned, setting, job.unit, facts, on_part=slot.body is None)
        stages = _stages(planned.sneak, planned.path, planned.by_hand)
        cuts.append(PlannedCut(slot, OperationKind.SLOT, report, stages, None, setting, facts, (), findings))
    for pocket in job.pockets:
        facts = bodies[pocket.body]
        wanted, setting, choice = pocket_request(job, pocket, facts, clearance_z)
        with errors_named(f'pocket "{pocket.name}"'):
            made = plan_pocket(_pocket_in_hand(wanted, hand))
        findings = _for_machine(job, pocket, pocket_findings(made, job.unit, choice)) + off_body_findings(job, pocket)
        report = _pocket_report(made, setting, facts, on_part=pocket.body is None)
        stages = _stages(made.sneak, made.path, made.by_hand)
        cuts.append(
            PlannedCut(
                pocket,
                OperationKind.POCKET,
                report,
                stages,
                made.rest_path,
                setting,
                facts,
                made.request.islands,
                findings,
                made.request.island_labels,
                made.rest_by_hand,
            )
        )
    return tuple(cuts)


def _for_machine(job: Job, cut: Cut, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings: what two handwheels cannot follow is a caution where they have to, elsewhere left out."""
    if job.machine.kind == "cnc" and not cut.cutting.by_hand:
        return tuple(f for f in findings if f.code != TWO_HANDWHEELS)
    return tuple(replace(f, severity=Severity.CAUTION) if f.code == TWO_HANDWHEELS else f for f in findings)


def _stages(
    sneak: tuple[SneakPass, ...], path: CutPath, by_hand: HandWork
) -> tuple[tuple[SneakPass | None, CutPath, HandWork], ...]:
    if not sneak:
        return ((None, path, by_hand),)
    return tuple((s, s.path, s.by_hand) for s in sneak)


def _slot_in_hand(request: SlotRequest, hand: Placement) -> SlotRequest:
    if not hand.mirror:
        return request
    ends = (_end_in_hand(request.ends[0], hand), _end_in_hand(request.ends[1], hand))
    return replace(
        request,
        centre_line=tuple(hand.apply_curve(c) for c in request.centre_line),
        ends=ends,
        keep_away=tuple(_away_in_hand(k, hand) for k in request.keep_away),
    )


def _end_in_hand(end: SlotEnd, hand: Placement) -> SlotEnd:
    return StopShort(_away_in_hand(end.before, hand)) if isinstance(end, StopShort) else end


def _away_in_hand(away: KeepAway, hand: Placement) -> KeepAway:
    return replace(away, curves=tuple(hand.apply_curve(c) for c in away.curves))


def _pocket_in_hand(request: PocketRequest, hand: Placement) -> PocketRequest:
    if not hand.mirror:
        return request
    hole, wish = request.entry_hole, request.relief
    outline = hand.apply_outline(request.outline).counterclockwise()
    return replace(
        request,
        outline=outline,
        relief=None if wish is None else mirrored_wish(wish, request.outline, outline, hand),
        islands=tuple(hand.apply_outline(o).counterclockwise() for o in request.islands),
        keep_away=tuple(_away_in_hand(k, hand) for k in request.keep_away),
        entry_at=None if request.entry_at is None else hand.apply(request.entry_at),
        entry_hole=None if hole is None else replace(hole, at=hand.apply(hole.at)),
    )


def _sums(sums: Sequence[ClearanceSum]) -> tuple[SizeSum, ...]:
    return tuple(SizeSum(s.words, s.total, tuple(SumTerm(t.words, t.length, t.times) for t in s.terms)) for s in sums)


def _cut_stages(sneak: Sequence[SneakPass], path: CutPath, setting: CutSetting) -> tuple[CutStage, ...]:
    if not sneak:
        return (CutStage("at once", None, "", "", path_minutes(path, setting.feed, rapid=setting.rapid)),)
    return tuple(
        CutStage(
            "undersize" if s.number == 0 else f"clean-up {s.number}",
            s.size,
            s.measure,
            s.next_rule,
            path_minutes(s.path, setting.feed, rapid=setting.rapid),
        )
        for s in sneak
    )


def _share(proof: CutProof) -> float:
    return proof.reachable_area / proof.wanted_area if proof.wanted_area > 0 else 1.0


def _walls(walls: WallReport) -> tuple[float | None, float | None, tuple[tuple[str, float], ...]]:
    return walls.thinnest_wall, walls.bottom, tuple((name, away) for name, away, _ in walls.to_kept)


def _box(edges: Sequence[Outline]) -> tuple[float, float, float, float] | None:
    """Return how far a cut reaches: least x and y, greatest x and y, mm."""
    if not edges:
        return None
    low_x, low_y, high_x, high_y = zip(*(edge.bounds for edge in edges), strict=True)
    return (min(low_x), min(low_y), max(high_x), max(high_y))


def _drilled(chain: ChainDrilling | None) -> tuple[tuple[float, float], ...]:
    return chain.centres if chain is not None else ()


def _slot_report(plan: SlotPlan, setting: CutSetting, unit: Unit, facts: BodyFacts, *, on_part: bool) -> MilledCut:
    request = plan.request
    wall, bottom, kept = _walls(plan.walls)
    words = [w for e in plan.ends for w in _end_words(e, unit)]
    return MilledCut(
        name=request.name,
        kind="slot",
        body=request.body_name,
        depth=request.depth,
        step_depth=request.step_depth or 0.0,
        step_over=request.step_over or 0.0,
        width=request.width,
        cutter=request.cutter.name,
        sums=_sums(request.sums),
        walls=plan.swept,
        islands=(),
        centre_line=request.centre_line,
        levels=tuple(level.z for level in plan.path.levels),
        left=left_patches(plan.proof.leftovers, request.cutter.radius),
        thinnest_wall=wall,
        bottom=bottom,
        kept=kept,
        nearest_wall=plan.proof.nearest_wall,
        reachable_share=_share(plan.proof),
        peak_deg=plan.proof.peak.engagement_deg if plan.proof.peak else None,
        straight_deg=plan.proof.peak.straight_deg if plan.proof.peak else None,
        words=(*words, *plan.notes),
        stages=_cut_stages(plan.sneak, plan.path, setting),
        view=slot_view(plan, facts, on_part=on_part),
        drilled=_drilled(plan.chain_drilling),
        box=_box(plan.swept),
    )


def _end_words(end: EndReport, unit: Unit) -> list[str]:
    """Return how one end of a slot came out, in the job's unit."""
    where = "At its beginning" if end.at_start else "At its end"
    words = []
    if end.spoil_board is not None:
        thick = length_text(end.spoil_board, unit)
        words.append(
            f"{where} it is open: the cutter reaches {thick} past the edge; clamp a spoil board of at least that "
            "thickness hard against it."
        )
    if end.kept_margin is not None:
        words.append(f"{where} the cutter's edge stops {length_text(end.kept_margin, unit)} short.")
    if end.bar_ends_at is not None:
        x, y = (length_text(v, unit, signed=True) for v in end.bar_ends_at)
        words.append(f"{where} what it clears may reach to X {x}, Y {y}, its clearance kept.")
    if end.bar_too_long_by and math.isfinite(end.bar_too_long_by):
        text = f"{length_text(end.bar_too_long_by, unit)} have to come off the end of what it clears"
        if end.round_corners_to is not None:
            text += f", or its corners are rounded to {length_text(end.round_corners_to, unit)}"
        words.append(f"{where} {text}.")
    return words


def _pocket_report(plan: PocketPlan, setting: CutSetting, facts: BodyFacts, *, on_part: bool) -> MilledCut:
    request = plan.request
    wall, bottom, kept = _walls(plan.walls)
    return MilledCut(
        name=request.name,
        kind="pocket",
        body=request.body_name,
        depth=request.depth,
        step_depth=plan.step_depth,
        step_over=plan.step_over,
        width=None,
        cutter=request.cutter.name,
        sums=_sums(request.sums),
        walls=plan.reached,
        islands=request.islands,
        centre_line=(),
        levels=tuple(level.z for level in plan.path.levels),
        left=left_patches(plan.proof.leftovers, request.cutter.radius),
        thinnest_wall=wall,
        bottom=bottom,
        kept=kept,
        nearest_wall=plan.proof.nearest_wall,
        reachable_share=_share(plan.proof),
        peak_deg=plan.proof.peak.engagement_deg if plan.proof.peak else None,
        straight_deg=plan.proof.peak.straight_deg if plan.proof.peak else None,
        words=plan.notes,
        stages=_cut_stages(plan.sneak, plan.path, setting),
        view=pocket_view(plan, facts, on_part=on_part),
        drilled=_drilled(plan.chain_drilling),
        box=_box(plan.reached),
    )
