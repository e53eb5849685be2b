"""Planning a slot: a pass along the middle, then both walls; ends, proof, rows by hand, sneaking up."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.chain_drilling import chain_drilled_slot
from holecam.cuts.chaining import Loop
from holecam.cuts.coverage_completion import completed
from holecam.cuts.cut_choices import Corners, Direction, Entry, KeepAway
from holecam.cuts.cutting_steps import (
    PLAIN_STEP_DEPTH,
    PLAIN_STEP_OVER,
    checked_length,
    checked_step_over,
    heights_down,
)
from holecam.cuts.distance_clip import complement, merged, near_curves
from holecam.cuts.elements import concatenated, elements_of
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.hand_rows import SideOffset, hand_work
from holecam.cuts.hand_values import HandWork
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.level_layout import LevelEntry, LevelLayout, RampEntry, StraightEntry, Stroke, StrokeKind
from holecam.cuts.level_moves import cut_path, entry_circles, entry_holes_of, swept_in_order, with_engagement
from holecam.cuts.offsets import Level, OffsetStack, neighbourhood
from holecam.cuts.path_values import CutPath
from holecam.cuts.proof import NamedWalls, prove
from holecam.cuts.reach import reach_of
from holecam.cuts.region_checks import check_chain
from holecam.cuts.rings import Cell, cells_of, cut_loop, inside_out, ring_levels
from holecam.cuts.run_builder import RunBuilder
from holecam.cuts.slot_ends import end_report
from holecam.cuts.slot_geometry import EXACT_WIDTH, SlotShape, slot_shape
from holecam.cuts.slot_values import KeptOut, OpenEnd, SlotPlan, SlotRequest, StopShort
from holecam.cuts.sneaking_up import check_undersize, measure_words, rule_words, stages
from holecam.cuts.sneaking_values import SneakPass
from holecam.cuts.wall_report import wall_report
from holecam.cuts.walls import WallChain
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point, Segment, distance
from holecam.shapes.curve_arrays import CurveArray

BINDING = 1e-3
"""mm. A cut that comes this near to the margin before a keep-out is held off by it: the step of the finest readout."""


class _Stage(Struct, frozen=True):
    """One width of the slot in plan."""

    layout: LevelLayout
    named: NamedWalls
    levels: tuple[Level, ...]
    middle: tuple[Curve, ...]
    room: tuple[Curve, ...]
    notes: tuple[str, ...]


def plan_slot(request: SlotRequest) -> SlotPlan:
    """Return the planned slot with its proof.

    Raises
    ------
    InputError
        A centre line with gaps, a slot narrower than its cutter, an open end without an edge, a stop or margin that
        leaves nothing, a step-over or depth that cannot be cut, an undersize that leaves no room.
    """
    what = f'slot "{request.name}"'
    cutter, radius = request.cutter, request.cutter.radius
    check_chain(request.centre_line, f"centre line of {what}")
    if distance(request.centre_line[0].start, request.centre_line[-1].end) <= 1e-6:
        raise InputError(f"{what}: its line ends where it starts. Make a pocket with an island of it.", key="path")
    step_over = request.step_over if request.step_over is not None else PLAIN_STEP_OVER * cutter.diameter
    checked_step_over(what, step_over, cutter.diameter)
    wished = request.step_depth if request.step_depth is not None else PLAIN_STEP_DEPTH * cutter.diameter
    heights = heights_down(
        what, request.depth, wished, stock_thickness=request.stock_thickness, through=request.through
    )
    depth = -heights[-1]
    if not cutter.reaches(depth):
        raise InputError(
            f'{what}: cutter "{cutter.name}" is too short for a depth of {depth:.3f} mm; take a longer one',
            key="cutter",
        )
    if request.sneak is not None:
        check_undersize(what, request.sneak.undersize, request.width, cutter.diameter)
    shape = slot_shape(request)
    kept = _kept(request)
    full = _stage(request, shape, kept, 0.0, step_over, what)
    checked_length(what, sum(len(run.strokes) for run in full.layout.runs), len(heights))
    first = full
    if request.sneak is not None:
        first = _stage(request, shape, kept, request.sneak.undersize / 2, step_over, what)
    layout, peak = with_engagement(first.layout, radius, step_over, request.corners, request.engagement_ratio)
    name = "whole slot" if request.sneak is None else f"first cut, {request.sneak.undersize:.3f} mm undersize"
    path = _path(request, name, layout, heights)
    hand = hand_work(layout, heights, side_offset=_side_offset(request))
    sneak, layouts = _sneaked(request, shape, kept, heights, first, path, hand, what)
    strokes = LevelLayout(tuple(run for one in (layout, *layouts) for run in one.runs))
    rooms = [loop.outline() for loop in full.levels[0].loops] if full.levels else []
    swept = _swept(full, radius)
    proof = prove(
        swept_in_order(strokes)[0],
        full.named,
        rooms,
        radius,
        levels=heights,
        wanted_area=math.fsum(o.signed_area for o in swept),
        leftovers=(),
        peak=peak,
        also=entry_circles(strokes),
    )
    walls = wall_report(
        full.room,
        radius,
        body=request.body,
        opened=[c for end in shape.ends for c in end.opened],
        depth=depth,
        stock_thickness=request.stock_thickness,
        through=request.through,
        kept=kept,
    )
    ends = (
        end_report(request, shape, full.room, at_start=True),
        end_report(request, shape, full.room, at_start=False),
    )
    drilled = None
    if request.chain is not None and not hand.followable:
        wish = request.chain
        drilled = chain_drilled_slot(
            full.middle, swept, request.width, drill=wish.drill, web=wish.web, allowance=wish.allowance, what=what
        )
    return SlotPlan(
        request,
        step_over,
        depth / len(heights),
        full.middle,
        swept,
        ends,
        walls,
        path,
        proof,
        hand,
        sneak,
        first.notes,
        drilled,
        entry_holes_of([layout, *layouts]),
        _kept_out(request, shape, full, walls.to_kept, step_over, what),
    )


def _stops(request: SlotRequest) -> tuple[KeepAway, ...]:
    return tuple(end.before for end in request.ends if isinstance(end, StopShort))


def _kept(request: SlotRequest) -> tuple[KeepAway, ...]:
    stops = _stops(request)
    return (*stops, *(k for k in request.keep_away if k not in stops))


def _kept_out(
    request: SlotRequest,
    shape: SlotShape,
    full: _Stage,
    to_kept: Sequence[tuple[str, float, Point]],
    step_over: float,
    what: str,
) -> KeptOut | None:
    """Return what keep-outs that no end names take from the slot; the slot is laid out once more without them.

    Only one that the cut comes as near to as it may can take something: a slot beside others costs nothing.
    """
    stops = _stops(request)
    others = [k for k in request.keep_away if k not in stops]
    margins = {k.name: k.margin for k in others}
    binding = [name for name, away, _ in to_kept if name in margins and away <= margins[name] + BINDING]
    if not binding:
        return None
    radius = request.cutter.radius
    free = _stage(request, shape, stops, 0.0, step_over, what)
    area = math.fsum(o.signed_area for o in _swept(free, radius)) - math.fsum(
        o.signed_area for o in _swept(full, radius)
    )
    length = math.fsum(c.length for c in free.middle) - math.fsum(c.length for c in full.middle)
    if area <= BINDING * request.width:
        return None
    across = len(_free_parts(free.middle, others, radius)) > 1
    return KeptOut(tuple(dict.fromkeys(binding)), area, max(length, 0.0), across)


def _stage(
    request: SlotRequest,
    shape: SlotShape,
    kept: Sequence[KeepAway],
    allowance: float,
    step_over: float,
    what: str,
) -> _Stage:
    """Return the strokes that cut the slot with an allowance left on both walls."""
    radius = request.cutter.radius
    named, allowed = walls_of_cut(shape.walls, (), kept, allowance=allowance)
    middle = _clear_part(shape.line, kept, radius, what)
    narrow = shape.half_room - allowance <= EXACT_WIDTH
    levels: list[Level] = []
    notes: list[str] = []
    if not narrow:
        found = ring_levels(
            named.walls, radius, _even_step(shape, allowance, request, step_over), request.finish, None, allowed
        )
        levels = _on_this_side(found, middle) if kept else _broad(found)
    chooser = EntryChooser(named.walls, request.cutter, request.direction, request.entry, None, request.entry_hole)
    builder = RunBuilder(named.walls)
    forward = _begins_at_start(request)
    track = middle if forward else tuple(c.reversed() for c in reversed(middle))
    builder.entry = _entry(request, chooser, track, open_=_open(request, at_start=forward))
    builder.add(track, StrokeKind.CUT if levels else StrokeKind.FINISH)
    cut: list[tuple[Curve, ...]] = [track]
    if levels:
        cells = cells_of(levels)
        for number, row in inside_out(cells):
            for loop in _outer_and_inner(cells[number][row]):
                curves = loop.curves
                if request.direction is Direction.CONVENTIONAL:
                    curves = tuple(c.reversed() for c in reversed(curves))
                kind = StrokeKind.FINISH if number == 0 else StrokeKind.CUT
                away = levels[number].distance
                cut.append(cut_loop(builder, curves, kind, away, cut, chooser, cells[number][row]))
    layout = builder.layout()
    if levels:
        rooms = [loop.outline() for loop in levels[0].loops if not loop.is_flat]
        whole = completed(layout, named.walls, rooms, radius)
        layout = whole.layout
        if whole.detours:
            notes.append(f"{whole.detours} detour(s) added where the step-over leaves material between the passes")
    room = tuple(c for loop in levels[0].loops for c in loop.curves) if levels else _there_and_back(middle)
    return _Stage(layout, named, tuple(levels), middle, room, tuple(notes))


def _even_step(shape: SlotShape, allowance: float, request: SlotRequest, step_over: float) -> float:
    """Return the step that divides the way from the middle pass to the walls evenly, none above the step-over."""
    way = shape.half_room - allowance - request.finish
    return way / math.ceil(way / step_over - 1e-9) if way > EXACT_WIDTH else step_over


def _broad(levels: Sequence[Level]) -> list[Level]:
    """Return the levels without loops that run there and back on the middle: that pass is cut first anyway."""
    kept = []
    for level in levels:
        loops = tuple(loop for loop in level.loops if not loop.is_flat)
        if not loops:
            break
        kept.append(replace(level, loops=loops))
    return kept


def _outer_and_inner(cell: Cell) -> tuple[Loop, ...]:
    return (cell.outer, *cell.inner)


def _there_and_back(line: tuple[Curve, ...]) -> tuple[Curve, ...]:
    return (*line, *(c.reversed() for c in reversed(line)))


def _clear_part(line: tuple[Curve, ...], kept: Sequence[KeepAway], radius: float, what: str) -> tuple[Curve, ...]:
    """Return the centre line up to where the cutter's edge has to stop before a curve.

    Raises
    ------
    InputError
        Nothing is left of it.
    """
    if not kept:
        return line
    parts = _free_parts(line, kept, radius)
    if not parts:
        names = ", ".join(f'"{k.name}"' for k in kept)
        raise InputError(
            f"{what}: the margins before {names} leave nothing of it. Make them smaller, or the cutter.", key="ends"
        )
    # The part that holds the stated line is cut; what lies beyond a stop is not
    best = max(parts, key=lambda part: sum(c.length for c in part))
    first = parts[0] if distance(parts[0][0].start, line[0].start) <= 1e-6 else best
    return tuple(first)


def _free_parts(line: tuple[Curve, ...], kept: Sequence[KeepAway], radius: float) -> list[list[Curve]]:
    """Return the parts of a line on which the cutter's edge keeps its margins."""
    table = elements_of(line)
    bodies = elements_of([c for k in kept for c in k.curves])
    margin = np.concatenate([np.full(len(k.curves), radius + k.margin) for k in kept])
    taken = merged(near_curves(table, bodies, margin), table.lengths)
    free = complement(taken, table.lengths)
    parts: list[list[Curve]] = []
    pieces = table.part(free.row, free.low, free.high).curves()
    for piece in pieces:
        if parts and distance(parts[-1][-1].end, piece.start) <= 1e-6:
            parts[-1].append(piece)
        else:
            parts.append([piece])
    return parts


def _on_this_side(levels: Sequence[Level], middle: tuple[Curve, ...]) -> list[Level]:
    """Return the levels with those loops only that lie round or beside the centre line that is cut."""
    array = CurveArray(middle)
    kept: list[Level] = []
    around: list[Outline] = []
    for number, level in enumerate(levels):
        loops = []
        for loop in level.loops:
            if loop.is_flat:
                continue
            p = loop.curves[0].start
            if number == 0:
                area = loop.outline()
                inside = not loop.is_flat and area.contains(middle[0].point_at(0.5))
                near = float(array.distance(np.array([p])).min()) if not inside else 0.0
                if inside or near <= level.distance + 1e-6 or area.distance_to(middle[0].point_at(0.5)) <= 1e-6:
                    loops.append(loop)
            elif any(o.contains(p) or o.distance_to(p) <= 1e-6 for o in around):
                loops.append(loop)
        if not loops:
            break
        if number == 0:
            around = [loop.outline() for loop in loops if not loop.is_flat]
        kept.append(replace(level, loops=tuple(loops)))
    return kept


def _open(request: SlotRequest, *, at_start: bool) -> bool:
    return isinstance(request.ends[0 if at_start else 1], OpenEnd)


def _begins_at_start(request: SlotRequest) -> bool:
    """Return whether the cut begins at the start of the line: at an open end, if there is one."""
    return _open(request, at_start=True) or not _open(request, at_start=False)


def _entry(request: SlotRequest, chooser: EntryChooser, track: tuple[Curve, ...], *, open_: bool) -> LevelEntry | None:
    """Return how the cutter gets down: outside the work without a board, else as wished or by a ramp."""
    if open_ and not request.spoil_board and request.entry is None:
        return None
    if request.entry_hole is None and request.entry is Entry.DRILLED_HOLE:
        return chooser.last_resort(track)
    first = track[0]
    if request.entry is Entry.PLUNGE or request.entry_hole is not None:
        entry = chooser.choose_on(first if isinstance(first, Segment) else Segment(first.start, first.end))
        if isinstance(entry, StraightEntry) and distance(entry.at, track[0].start) > 1e-6:
            place = track[0].start
            raise InputError(
                f'slot "{request.name}": its entry hole at X {entry.at[0]:.3f} Y {entry.at[1]:.3f} mm does not lie '
                f"where the cut begins, X {place[0]:.3f} Y {place[1]:.3f} mm. Drill it there.",
                key="entry",
            )
        return entry
    return RampEntry(chooser.ramp(track).stretch)


def _side_offset(request: SlotRequest) -> SideOffset:
    """Return how far a stroke lies to the left of the centre line, mm; 0 unless the line is straight."""
    line = request.centre_line

    def offset(stroke: Stroke) -> float:
        if len(line) != 1 or not isinstance(line[0], Segment):
            return 0.0
        (x, y), (tx, ty) = line[0].start, line[0].tangent_at(0.0)
        p = stroke.curve.point_at(0.5)
        value = (p[1] - y) * tx - (p[0] - x) * ty
        return 0.0 if abs(value) < 1e-9 else value

    return offset


def _path(request: SlotRequest, name: str, layout: LevelLayout, heights: tuple[float, ...]) -> CutPath:
    return cut_path(
        name,
        request.cutter.diameter,
        layout,
        heights,
        top_z=0.0,
        clearance_z=request.clearance_z,
        ramp_deg=request.ramp_deg,
    )


def _sneaked(
    request: SlotRequest,
    shape: SlotShape,
    kept: Sequence[KeepAway],
    heights: tuple[float, ...],
    first: _Stage,
    path: CutPath,
    hand: HandWork,
    what: str,
) -> tuple[tuple[SneakPass, ...], list[LevelLayout]]:
    """Return the stages of sneaking up, and the layouts of the clean-up passes."""
    if request.sneak is None:
        return (), []
    thing = f'"{request.bar.name}"' if request.bar is not None else ""
    found: list[SneakPass] = []
    layouts: list[LevelLayout] = []
    before: list[tuple[Curve, ...]] = [
        first.middle,
        *(loop.curves for level in first.levels[:1] for loop in level.loops),
    ]
    gone = [swept_in_order(first.layout)[0]]
    for stage in stages(request.sneak):
        now = request.width - 2 * stage.side_allowance
        if stage.number == 0:
            stage_path, stage_hand = path, hand
        else:
            layout, before = _clean_up(request, shape, kept, stage.side_allowance, before, first.middle)
            step = request.sneak.undersize / 2 / request.sneak.steps
            radius = request.cutter.radius
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
            stage_path = _path(request, f"clean-up {stage.number}", layout, heights)
            stage_hand = hand_work(layout, heights, side_offset=_side_offset(request))
        words = measure_words(what, now, stage.side_allowance, thing)
        rule = "" if stage.last else rule_words(request.width)
        found.append(SneakPass(stage.number, now, stage.side_allowance, words, rule, stage_path, stage_hand))
    return tuple(found), layouts


def _clean_up(
    request: SlotRequest,
    shape: SlotShape,
    kept: Sequence[KeepAway],
    allowance: float,
    before: list[tuple[Curve, ...]],
    middle: tuple[Curve, ...],
) -> tuple[LevelLayout, list[tuple[Curve, ...]]]:
    named, allowed = walls_of_cut(shape.walls, (), kept, allowance=allowance)
    levels = _on_this_side([OffsetStack(named.walls, allowed).at(request.cutter.radius)], middle)
    chooser = EntryChooser(named.walls, request.cutter, request.direction, request.entry, None, request.entry_hole)
    builder = RunBuilder(named.walls)
    cut = list(before)
    done: list[tuple[Curve, ...]] = []
    for cell in cells_of(levels)[0]:
        for loop in _outer_and_inner(cell):
            curves = loop.curves
            if request.direction is Direction.CONVENTIONAL:
                curves = tuple(c.reversed() for c in reversed(curves))
            done.append(cut_loop(builder, curves, StrokeKind.FINISH, levels[0].distance, cut + done, chooser, cell))
    return builder.layout(), [middle, *done]


def _swept(stage: _Stage, radius: float) -> tuple[Outline, ...]:
    """Return the edge of what the cutter sweeps."""
    if stage.levels:
        return reach_of(stage.named.walls, stage.levels[0]).reached
    return neighbourhood([WallChain(stage.middle, closed=False)], radius)
