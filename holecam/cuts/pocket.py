"""Planning a pocket: walls, loops or rows, entries, feed, proof, and all that belongs to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.chain_drilling import chain_drilled
from holecam.cuts.chain_drilling_values import ChainDrilling
from holecam.cuts.corner_relief import left_beside_reliefs, relief_gouges, reliefs, ways_into, with_reliefs
from holecam.cuts.coverage import Patch
from holecam.cuts.coverage_completion import completed
from holecam.cuts.cut_choices import Corners, Direction, Strategy
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import (
    PLAIN_STEP_DEPTH,
    PLAIN_STEP_OVER,
    checked_length,
    checked_step_over,
    heights_down,
)
from holecam.cuts.elements import concatenated
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.growing_bites import bites_layout
from holecam.cuts.hand_rows import hand_work
from holecam.cuts.hand_values import HandWork
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.level_layout import LevelLayout, StrokeKind
from holecam.cuts.level_moves import cut_path, entry_circles, entry_holes_of, swept_in_order, with_engagement
from holecam.cuts.medial_axis import room_of
from holecam.cuts.offsets import Allowed, Level, OffsetStack
from holecam.cuts.path_values import CutPath
from holecam.cuts.pocket_values import PocketPlan, PocketRequest, Relief
from holecam.cuts.proof import NamedWalls, prove
from holecam.cuts.proof_values import EngagementPeak
from holecam.cuts.reach import HARDLY, Reach, reach_of
from holecam.cuts.region_checks import check_islands, check_outline
from holecam.cuts.rest_cutting import rest_of
from holecam.cuts.rings import Progress, cells_of, loops_layout, ring_layout, ring_levels
from holecam.cuts.rows_to_and_fro import rows_layout
from holecam.cuts.sneaking_up import Stage, check_undersize, measure_words, rule_words, stages
from holecam.cuts.sneaking_values import SneakPass
from holecam.cuts.wall_report import wall_report
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point

ENTRY_STEPS = 40
"""Halvings in the search for the widest cutter that enters: more than a drawing's digits."""


class _Cleared(Struct, frozen=True):
    """What one cutter does in plan, with its proof's parts."""

    named: NamedWalls
    layout: LevelLayout
    levels: tuple[Level, ...]
    peak: EngagementPeak
    patches: tuple[Patch, ...]
    notes: tuple[str, ...]

    @property
    def wall_level(self) -> Level:
        return self.levels[0]


def plan_pocket(request: PocketRequest, *, progress: Progress | None = None) -> PocketPlan:
    """Return the planned pocket with its proof.

    Raises
    ------
    InputError
        An outline that crosses itself, an island that touches the wall, a cutter that does not enter, a step-over or
        depth that cannot be cut, an undersize that leaves no room, a margin that leaves nothing.
    """
    what = f'pocket "{request.name}"'
    cutter = request.cutter
    check_outline(request.outline, f"outline of {what}")
    check_islands(request.outline, request.islands, what, request.island_names)
    step_over = request.step_over if request.step_over is not None else PLAIN_STEP_OVER * cutter.diameter
    checked_step_over(what, step_over, cutter.diameter)
    wished = request.step_depth if request.step_depth is not None else PLAIN_STEP_DEPTH * cutter.diameter
    heights = heights_down(
        what, request.depth, wished, stock_thickness=request.stock_thickness, through=request.through
    )
    depth = -heights[-1]
    _long_enough(what, cutter, depth)
    if not (math.isfinite(request.finish) and request.finish >= 0):
        raise InputError(
            f"{what}: finishing allowance {request.finish} mm: expected a length of 0 or more", key="finish"
        )

    first = request.sneak.undersize / 2 if request.sneak else 0.0
    named, allowed = _walls(request)
    full_level, reach = _reach(named, allowed, request, what)
    if request.sneak:
        _room_to_sneak(what, request, named, allowed)
    cleared = _clear(request, first, step_over, progress)
    checked_length(what, sum(len(run.strokes) for run in cleared.layout.runs), len(heights))
    wanted = tuple(reliefs(request.outline, cutter.radius, request.relief, what)) if request.relief else ()
    layout, made, notes = _with_reliefs(request, cleared.layout, wanted if not request.sneak else (), cleared.notes)
    layout, peak = with_engagement(layout, cutter.radius, step_over, request.corners, request.engagement_ratio)
    if request.corners is Corners.NIBBLE:
        peak = replace(peak, width_there=_width_near(cleared.named, peak.at, cutter.radius))
    path = cut_path(
        "rough and finish" if not request.sneak else f"first cut, {request.sneak.undersize:.3f} mm undersize",
        cutter.diameter,
        layout,
        heights,
        top_z=0.0,
        clearance_z=request.clearance_z,
        ramp_deg=request.ramp_deg,
    )
    hand = hand_work(layout, heights)
    if progress is not None:
        progress("proof", 0.9)
    sneak, layouts = _sneaked(request, heights, path, hand, full_level, wanted, cleared)
    if request.sneak:
        made, notes = _reliefs_of(layouts[-1], wanted), notes
    reach = replace(reach, leftovers=left_beside_reliefs(reach.leftovers, made))
    strokes = _without_reliefs([layout, *layouts])
    rooms = [loop.outline() for loop in full_level.loops if not loop.is_flat]
    wanted_area = _wanted_area(named, allowed, request)
    proof = prove(
        swept_in_order(strokes)[0],
        named,
        rooms,
        cutter.radius,
        levels=heights,
        wanted_area=wanted_area,
        leftovers=reach.leftovers,
        peak=peak,
        patches=None if request.sneak else cleared.patches,
        also=entry_circles(strokes),
    )
    others = [
        (label, c, 0.0)
        for label, island in zip(request.island_labels, request.islands, strict=True)
        for c in island.curves
    ]
    others += [(keep.name, c, keep.margin) for keep in request.keep_away for c in keep.curves]
    bitten = tuple(relief_gouges(made, request.outline, others, ways_into([layout, *layouts])))
    proof = replace(proof, gouges=proof.gouges + bitten)
    rest = rest_of(request, named, allowed, reach, made, layout, heights) if request.second_cutter else None
    sides: list[Curve] = [c for room in rooms for c in room.curves]
    sides += [s.curve for s in layout.strokes() if s.kind is StrokeKind.RELIEF]
    walls = wall_report(
        sides,
        cutter.radius,
        body=request.body,
        depth=depth,
        stock_thickness=request.stock_thickness,
        through=request.through,
        kept=request.keep_away,
    )
    return PocketPlan(
        request,
        step_over,
        depth / len(heights),
        path,
        proof,
        reach.reached,
        walls,
        hand,
        made,
        rest.path if rest else None,
        rest.proof if rest else None,
        sneak,
        _chain_drilled(request, hand, what),
        tuple(notes),
        entry_holes_of([layout, *layouts]),
        rest.by_hand if rest else None,
    )


def _width_near(named: NamedWalls, p: Point, radius: float) -> float:
    """Return how wide the pocket is round a place: twice the greatest depth within a radius of it, mm."""
    step = np.linspace(-radius, radius, 9)
    x, y = np.meshgrid(step, step)
    near = np.hypot(x, y) <= radius + 1e-9
    around = np.column_stack([p[0] + x[near], p[1] + y[near]])
    return 2.0 * float(room_of(named.walls, around, 0.0).max())


def _chain_drilled(request: PocketRequest, hand: HandWork, what: str) -> ChainDrilling | None:
    if request.chain is None or hand.followable:
        return None
    wish = request.chain
    return chain_drilled(
        request.outline, drill=wish.drill, web=wish.web, allowance=wish.allowance, islands=request.islands, what=what
    )


def _long_enough(what: str, cutter: MillingCutter, depth: float) -> None:
    if not cutter.reaches(depth):
        lengths = [v for v in (cutter.flute_length, cutter.overhang) if v is not None]
        raise InputError(
            f'{what}: cutter "{cutter.name}" reaches {min(lengths):.3f} mm, the cut is {depth:.3f} mm deep. Take a '
            "longer one, or make the cut shallower.",
            key="cutter",
        )


def _reach(named: NamedWalls, allowed: Allowed | None, request: PocketRequest, what: str) -> tuple[Level, Reach]:
    radius = request.cutter.radius
    level = OffsetStack(named.walls, allowed).at(radius)
    if not level.loops:
        widest = widest_cutter(named, allowed)
        kept = " with the margins that it has to keep" if request.keep_away else ""
        raise InputError(
            f'{what}: cutter "{request.cutter.name}" of {request.cutter.diameter:.3f} mm enters nowhere{kept}. '
            f"The widest that enters has {widest:.3f} mm.",
            key="cutter",
        )
    border = OffsetStack(named.walls, allowed).at(HARDLY) if request.keep_away else None
    return level, reach_of(named.walls, level, border)


def widest_cutter(named: NamedWalls, allowed: Allowed | None) -> float:
    """Return the diameter of the widest cutter that enters, mm, to a micron; 0 when none does."""
    left, low, right, high = named.walls.bodies.boxes()
    least, most = 0.0, float(min(right.max() - left.min(), high.max() - low.min())) / 2 + 1e-3
    for _ in range(ENTRY_STEPS):
        if most - least < 5e-4:
            break
        middle = (least + most) / 2
        if OffsetStack(named.walls, allowed).at(middle).loops:
            least = middle
        else:
            most = middle
    return 2.0 * least


def _room_to_sneak(what: str, request: PocketRequest, named: NamedWalls, allowed: Allowed | None) -> None:
    assert request.sneak is not None
    radius = request.cutter.radius
    if not OffsetStack(named.walls, allowed).at(radius + request.sneak.undersize / 2).loops:
        check_undersize(what, request.sneak.undersize, widest_cutter(named, allowed), request.cutter.diameter)


def _wanted_area(named: NamedWalls, allowed: Allowed | None, request: PocketRequest) -> float:
    if request.keep_away:
        return math.fsum(loop.signed_area for loop in OffsetStack(named.walls, allowed).at(HARDLY).loops)
    return request.outline.area - math.fsum(i.area for i in request.islands)


def _clear(request: PocketRequest, allowance: float, step_over: float, progress: Progress | None) -> _Cleared:
    """Return what the first cutter does, its walls left thicker by an allowance."""
    cutter, radius = request.cutter, request.cutter.radius
    named, allowed = _walls(request, allowance)
    walls = named.walls
    chooser = EntryChooser(walls, cutter, request.direction, request.entry, request.entry_at, request.entry_hole)
    rows = request.strategy is Strategy.TO_AND_FRO
    nibble = request.corners is Corners.NIBBLE and not rows
    notes: list[str] = []
    if rows and request.corners is Corners.NIBBLE:
        notes.append("straight rows are not nibbled; where a tooth bites more, the feed drops")
    if rows or nibble:
        stack = OffsetStack(walls, allowed)
        levels = [stack.at(radius)]
        if request.finish > 0:
            levels.append(stack.at(radius + request.finish))
        inner = levels[-1] if levels[-1].loops else levels[0]
        levels = [level for level in levels if level.loops]
        if rows:
            layout = rows_layout(walls, inner, levels[0], step_over, request.row_angle_deg, request.direction, chooser)
        else:
            bites = bites_layout(
                walls,
                inner,
                levels[0],
                radius,
                step_over,
                request.engagement_ratio,
                request.direction,
                chooser,
                progress,
            )
            layout, narrow = bites.layout, bites.narrow
            if narrow:
                more = loops_layout(walls, narrow, inner.distance, request.direction, chooser)
                layout = LevelLayout(layout.runs + more.runs)
                notes.append(
                    f"{len(narrow)} place(s) hardly wider than the cutter are cut over its whole width, with less feed"
                )
            if not bites.finished or (narrow and inner is not levels[0]):
                inside = [loop.curves for loop in inner.loops]
                cells = cells_of([levels[0]])[0]
                last = loops_layout(walls, cells, radius, request.direction, chooser, cut_before=inside)
                layout = LevelLayout(layout.runs + last.runs)
    else:
        levels = ring_levels(walls, radius, step_over, request.finish, progress, allowed)
        layout = ring_layout(walls, levels, request.direction, chooser)
    rooms = [loop.outline() for loop in levels[0].loops if not loop.is_flat]
    whole = completed(layout, walls, rooms, radius)
    if whole.detours:
        notes.append(f"{whole.detours} detour(s) added where the step-over leaves material between the passes")
    peak = EngagementPeak(0.0, (0.0, 0.0), 1.0)
    return _Cleared(named, whole.layout, tuple(levels), peak, whole.uncut, tuple(notes))


def _with_reliefs(
    request: PocketRequest, layout: LevelLayout, wanted: Sequence[Relief], before: Sequence[str]
) -> tuple[LevelLayout, tuple[Relief, ...], list[str]]:
    notes = list(before)
    layout, lost = with_reliefs(layout, wanted, request.outline)
    for relief in lost:
        x, y = relief.corner
        notes.append(f"the corner at X {x:.3f} Y {y:.3f} mm is not relieved: the cutter does not get into it")
    return layout, tuple(r for r in wanted if r not in lost), notes


def _reliefs_of(layout: LevelLayout, wanted: Sequence[Relief]) -> tuple[Relief, ...]:
    ends = {s.curve.end for s in layout.strokes() if s.kind is StrokeKind.RELIEF}
    return tuple(r for r in wanted if r.center in ends)


def _without_reliefs(layouts: Sequence[LevelLayout]) -> LevelLayout:
    runs = []
    for layout in layouts:
        for run in layout.runs:
            kept = tuple(s for s in run.strokes if s.kind is not StrokeKind.RELIEF)
            if kept:
                runs.append(replace(run, strokes=kept))
    return LevelLayout(tuple(runs))


def _sneaked(
    request: PocketRequest,
    heights: tuple[float, ...],
    path: CutPath,
    hand: HandWork,
    full_level: Level,
    wanted: Sequence[Relief],
    cleared: _Cleared,
) -> tuple[tuple[SneakPass, ...], list[LevelLayout]]:
    """Return the stages of sneaking up and the layouts of the clean-up passes."""
    if request.sneak is None:
        return (), []
    size = widest_size(request.outline)
    thing = request.sums[0].words.split('"')[1] if request.sums and '"' in request.sums[0].words else ""
    found: list[SneakPass] = []
    layouts: list[LevelLayout] = []
    before = [loop.curves for loop in cleared.wall_level.loops]
    gone = [swept_in_order(cleared.layout)[0]]
    for stage in stages(request.sneak):
        if stage.number == 0:
            stage_path, stage_hand = path, hand
        else:
            layout, before = _clean_up(request, stage, before)
            if stage.last and wanted:
                layout, _ = with_reliefs(layout, wanted, request.outline)
            radius = request.cutter.radius
            step = request.sneak.undersize / 2 / request.sneak.steps
            layout, _ = with_engagement(
                layout,
                radius,
                step,
                Corners.AS_THEY_COME,
                request.engagement_ratio,
                cut_before=(concatenated(gone), radius),
            )
            gone.append(swept_in_order(layout)[0])
            layouts.append(layout)
            stage_path = cut_path(
                f"clean-up {stage.number}",
                request.cutter.diameter,
                layout,
                heights,
                top_z=0.0,
                clearance_z=request.clearance_z,
                ramp_deg=request.ramp_deg,
            )
            stage_hand = hand_work(layout, heights)
        now = size - 2 * stage.side_allowance
        words = measure_words(f'pocket "{request.name}"', now, stage.side_allowance, thing)
        rule = "" if stage.last else rule_words(size)
        found.append(SneakPass(stage.number, now, stage.side_allowance, words, rule, stage_path, stage_hand))
    return tuple(found), layouts


def widest_size(outline: Outline) -> float:
    """Return the smaller side of the box round an outline, mm: what a calliper measures across."""
    left, low, right, high = outline.bounds
    return min(right - left, high - low)


def _clean_up(
    request: PocketRequest, stage: Stage, before: list[tuple[Curve, ...]]
) -> tuple[LevelLayout, list[tuple[Curve, ...]]]:
    named, allowed = _walls(request, stage.side_allowance)
    level = OffsetStack(named.walls, allowed).at(request.cutter.radius)
    chooser = EntryChooser(named.walls, request.cutter, request.direction, request.entry, None, request.entry_hole)
    layout = loops_layout(
        named.walls, cells_of([level])[0], level.distance, request.direction, chooser, cut_before=before
    )
    return layout, [loop.curves for loop in level.loops]


def direction_words(direction: Direction) -> str:
    """Return what the direction means at the machine."""
    if direction is Direction.CLIMB:
        return "climb: the material on the right of the travel"
    return "conventional: the material on the left of the travel"


def _walls(request: PocketRequest, allowance: float = 0.0) -> tuple[NamedWalls, Allowed | None]:
    return walls_of_cut(
        request.outline,
        request.islands,
        request.keep_away,
        allowance=allowance,
        island_names=request.island_labels,
    )
