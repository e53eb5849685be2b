"""Slots and pockets from above, as values for their pictures."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.path_values import CutPath, LevelPath, MoveKind
from holecam.cuts.pocket_values import PocketPlan
from holecam.cuts.proof_values import CutProof, EngagementPeak, Leftover, WallReport
from holecam.cuts.slot_values import SlotPlan, StopShort
from holecam.cuts.sneaking_values import SneakPass
from holecam.cuts.telling_places import margin_lines, sticks_out, widest_place
from holecam.plan.cut_view import (
    CutterLine,
    CutterPass,
    CutterSpot,
    CutView,
    Gauge,
    HoleForCut,
    KeptCurve,
    LeftPatch,
    LineKind,
    Overcut,
    SpoilBoard,
    SpotKind,
)
from holecam.planning.surroundings import BodyFacts
from holecam.shapes import Arc, Curve, Point, distance

KIND_OF_LINE = {
    MoveKind.ENTRY: LineKind.ENTRY,
    MoveKind.CUT: LineKind.CUT,
    MoveKind.FINISH: LineKind.FINISH,
    MoveKind.LINK: LineKind.LINK,
    MoveKind.TRAVEL: LineKind.TRAVEL,
}
"""Moves straight up or down are no lines in plan."""

JOINED = 1e-6
"""mm. Ends nearer than this are one place."""


def slot_view(plan: SlotPlan, facts: BodyFacts, *, on_part: bool) -> CutView:
    """Return a planned slot from above."""
    request = plan.request
    stops = [end.before for end in request.ends if isinstance(end, StopShort)]
    keeps = (*stops, *(k for k in request.keep_away if k not in stops))
    first = _first_pass(plan.path, plan.sneak, plan.proof, plan.walls, request.cutter.name, None)
    return CutView(
        on_part=on_part,
        wanted=plan.swept,
        islands=(),
        cleared=plan.swept,
        body=facts.outline,
        openings=facts.openings,
        thickness=facts.thickness,
        kept=_kept(keeps, plan.walls),
        passes=(first,),
        overcuts=(),
        boards=tuple(
            SpoilBoard(end.board, end.spoil_board, end.at_start)
            for end in plan.ends
            if end.board is not None and end.spoil_board is not None
        ),
        wall=_wall(plan.walls),
        holes=_holes(plan),
    )


def pocket_view(plan: PocketPlan, facts: BodyFacts, *, on_part: bool) -> CutView:
    """Return a planned pocket from above."""
    request = plan.request
    widest = None
    if plan.path.levels:
        level = plan.path.levels[-1]
        widest = widest_place(level, request.cutter.radius, request.outline, request.islands, request.keep_away)
    passes = [_first_pass(plan.path, plan.sneak, plan.proof, plan.walls, request.cutter.name, widest)]
    second = request.second_cutter
    if plan.rest_path is not None and plan.rest_proof is not None and second is not None:
        level = plan.rest_path.levels[-1]
        passes.append(
            CutterPass(
                number=2,
                cutter=second.name,
                diameter=second.diameter,
                levels=tuple(one.z for one in plan.rest_path.levels),
                lines=_lines(level),
                spots=_spots(level, plan.rest_proof.peak),
                left=left_patches(plan.rest_proof.leftovers, second.radius),
            )
        )
    return CutView(
        on_part=on_part,
        wanted=(request.outline,),
        islands=request.islands,
        cleared=plan.reached,
        body=facts.outline,
        openings=facts.openings,
        thickness=facts.thickness,
        kept=_kept(request.keep_away, plan.walls),
        passes=tuple(passes),
        overcuts=tuple(Overcut(r.corner, r.center, r.radius, r.bite) for r in plan.reliefs),
        boards=(),
        wall=_wall(plan.walls),
        holes=_holes(plan),
    )


def _holes(plan: SlotPlan | PocketPlan) -> tuple[HoleForCut, ...]:
    holes = [HoleForCut(h.at, h.diameter, is_entry=True) for h in plan.entry_holes]
    chain, wish = plan.chain_drilling, plan.request.chain
    if chain is not None and wish is not None:
        holes += [HoleForCut(at, wish.drill, is_entry=False) for at in chain.centres]
    return tuple(holes)


def left_patches(leftovers: Sequence[Leftover], radius: float) -> tuple[LeftPatch, ...]:
    """Return what a cutter of this radius leaves, with its sizes."""
    return tuple(LeftPatch(p.border, p.area, p.at, p.reason, p.holes, sticks_out(p, radius)) for p in leftovers)


def _first_pass(
    path: CutPath,
    sneak: Sequence[SneakPass],
    proof: CutProof,
    walls: WallReport,
    cutter: str,
    widest: tuple[Point, float] | None,
) -> CutterPass:
    radius = path.cutter_diameter / 2
    lines: tuple[CutterLine, ...] = ()
    spots: list[CutterSpot] = []
    if path.levels:
        lines = _lines(path.levels[-1])
        spots += _spots(path.levels[-1], proof.peak)
    last = sneak[-1] if sneak and sneak[-1].number > 0 else None
    if last is not None and last.path.levels:
        # Only its walls: how it gets from one to the next would hide the lines of the first cut
        last_level = last.path.levels[-1]
        finish = [one for one in _lines(last_level) if one.kind is LineKind.FINISH]
        lines += tuple(CutterLine(LineKind.CLEAN_UP, one.curves) for one in finish)
    if widest is not None:
        spots.append(CutterSpot(SpotKind.WIDEST, widest[0], widest[1]))
    for (name, away, place), edge in zip(walls.to_kept, walls.kept_from, strict=True):
        spots.append(CutterSpot(SpotKind.NEAREST, _center(edge, place, radius, away), away, name))
    return CutterPass(
        number=1,
        cutter=cutter,
        diameter=path.cutter_diameter,
        levels=tuple(one.z for one in path.levels),
        lines=lines,
        spots=tuple(spots),
        left=left_patches(proof.leftovers, radius),
        stage="undersize cut" if sneak else "",
        last_stage=f"clean-up {last.number}" if last is not None else "",
    )


def _center(edge: Point, place: Point, radius: float, away: float) -> Point:
    """Return the cutter's centre from the place of its rim that is nearest to something."""
    if away <= JOINED:
        return edge
    share = radius / away
    return (edge[0] - (place[0] - edge[0]) * share, edge[1] - (place[1] - edge[1]) * share)


def _lines(level: LevelPath) -> tuple[CutterLine, ...]:
    """Return the moves of a level as chains of one kind; a ramp to and fro along one line is told once."""
    found: list[tuple[LineKind, list[Curve]]] = []
    ramped: set[frozenset[tuple[Point, Point]]] = set()
    for move in level.moves:
        if move.curve is None or move.kind not in KIND_OF_LINE or move.curve.length <= JOINED:
            continue
        kind, curve = KIND_OF_LINE[move.kind], move.curve
        if kind is LineKind.ENTRY:
            same = frozenset({(curve.start, curve.end), (curve.end, curve.start)} | _middle(curve))
            if same in ramped:
                continue
            ramped.add(same)
        if found and found[-1][0] is kind and distance(found[-1][1][-1].end, curve.start) <= JOINED:
            found[-1][1].append(curve)
        else:
            found.append((kind, [curve]))
    return tuple(CutterLine(kind, tuple(curves)) for kind, curves in found)


def _middle(curve: Curve) -> set[tuple[Point, Point]]:
    """Return what tells an arc from others with its ends, its sense aside."""
    if not isinstance(curve, Arc):
        return set()
    x, y = curve.point_at(0.5)
    middle = (round(x, 6), round(y, 6))
    return {(middle, middle)}


def _spots(level: LevelPath, peak: EngagementPeak | None) -> tuple[CutterSpot, ...]:
    taking = [m for m in level.moves if m.kind.takes_material]
    if not taking:
        return ()
    spots = []
    if taking[0].kind is MoveKind.ENTRY:
        spots.append(CutterSpot(SpotKind.ENTRY, taking[0].start))
    after = next((m for m in taking if m.kind is not MoveKind.ENTRY), taking[0])
    spots.append(CutterSpot(SpotKind.START, after.start))
    spots.append(CutterSpot(SpotKind.END, taking[-1].at))
    if peak is not None and peak.engagement_deg > 0.0:
        spots.append(CutterSpot(SpotKind.GREATEST_BITE, peak.at, peak.engagement_deg))
    return tuple(spots)


def _kept(keeps: Sequence[KeepAway], walls: WallReport) -> tuple[KeptCurve, ...]:
    gauges = [
        Gauge(name, away, start, place)
        for (name, away, place), start in zip(walls.to_kept, walls.kept_from, strict=True)
    ]
    shown = gauges if len(gauges) == len(keeps) else [None] * len(keeps)
    return tuple(
        KeptCurve(keep.name, keep.curves, keep.margin, margin_lines(keep), gauge)
        for keep, gauge in zip(keeps, shown, strict=True)
    )


def _wall(walls: WallReport) -> Gauge | None:
    if walls.thinnest_wall is None or walls.wall_at is None or walls.wall_from is None:
        return None
    return Gauge("thinnest wall", walls.thinnest_wall, walls.wall_from, walls.wall_at)
