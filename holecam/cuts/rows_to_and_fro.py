"""Clearing in straight rows to and fro, the natural way by hand, with a pass along the walls at the end.

Between two rows no place is farther than half a step from one of them, and what lies within a radius of the walls'
pass is swept by that: rows up to a diameter apart leave nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.cut_choices import Direction
from holecam.cuts.distance_clip import combined, complement, merged, near_bodies, near_points
from holecam.cuts.elements import elements_of
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.level_layout import LevelLayout, StrokeKind, rotated, share_of, split_curve
from holecam.cuts.offsets import Level
from holecam.cuts.rings import MOST_LEVELS, cells_of
from holecam.cuts.run_builder import STEP_NOISE, RunBuilder
from holecam.cuts.walls import Walls
from holecam.errors import InputError
from holecam.shapes import Curve, Placement, Point, Segment, distance
from holecam.shapes.curve_arrays import ClosedArea

WALL_DETOUR = 6.0
"""Times the step: longest way along the wall from the end of one row to the start of the next; beyond it lifting is
quicker (common practice)."""

SHORTEST_ROW = 1e-3
"""mm. Shorter rows are touched in passing."""


class Row(Struct, frozen=True):
    """One straight stretch: number of its line, and its ends in the frame of the rows."""

    line: int
    low: float
    high: float
    y: float


def rows_layout(
    walls: Walls,
    rows_level: Level,
    wall_level: Level,
    step_over: float,
    angle_deg: float,
    direction: Direction,
    chooser: EntryChooser,
) -> LevelLayout:
    """Return rows over the rooms of ``rows_level`` and then the pass along the walls, ``wall_level``."""
    turn = Placement(angle_deg)
    rows = _rows(walls, rows_level, step_over, Placement(-angle_deg))
    builder = RunBuilder(walls)
    cut: list[tuple[Curve, ...]] = []
    loops = [loop.curves for loop in rows_level.loops]
    for chain in _chains(rows):
        _cut_chain(builder, chain, turn, rows_level, loops, step_over, chooser, cut)
    for cell in cells_of([wall_level])[0]:
        for loop in (cell.outer, *cell.inner):
            curves = loop.curves
            if direction is Direction.CONVENTIONAL:
                curves = tuple(c.reversed() for c in reversed(curves))
            _cut_wall(builder, curves, wall_level.distance, cut, chooser)
            cut.append(curves)
    return builder.layout()


def _rows(walls: Walls, level: Level, step_over: float, back: Placement) -> list[Row]:
    """Return the rows inside the rooms, line by line; none where the walls' pass covers everything anyway."""
    outlines = [back.apply_outline(loop.outline()) for loop in level.loops if not loop.is_flat]
    if not outlines:
        return []
    boxes = [o.bounds for o in outlines]
    left, right = min(b[0] for b in boxes) - 1.0, max(b[2] for b in boxes) + 1.0
    low, high = min(b[1] for b in boxes), max(b[3] for b in boxes)
    count = math.ceil((high - low) / step_over - 1e-9)
    if count < 2:
        return []
    if count > 2 * MOST_LEVELS:
        raise InputError(
            f"step-over {step_over:g} mm: {count} rows, expected at most {2 * MOST_LEVELS}; use a larger one or a "
            "larger cutter",
            key="step_over",
        )
    heights = [low + (high - low) * k / count for k in range(1, count)]
    forward = back.inverse()
    lines = elements_of([forward.apply_curve(Segment((left, y), (right, y))) for y in heights])
    taken = combined(
        [
            near_bodies(lines, walls.bodies, level.distance + walls.margin),
            near_points(lines, walls.corner_x, walls.corner_y, level.distance + walls.corner_margin),
        ]
    )
    free = complement(merged(taken, lines.lengths), lines.lengths)
    x, y = lines.points_at(free.row, free.middle)
    inside = np.zeros(len(free), dtype=np.bool_)
    for loop in level.loops:
        if not loop.is_flat:
            inside ^= ClosedArea(loop.outline()).inside(np.column_stack([x, y]))
    free = free.chosen(inside)
    size = right - left
    found = [
        Row(k, left + a * size, left + b * size, heights[k])
        for k, a, b in zip(free.row.tolist(), free.low.tolist(), free.high.tolist(), strict=True)
    ]
    return [r for r in found if r.high - r.low > SHORTEST_ROW]


def _chains(rows: Sequence[Row]) -> list[list[Row]]:
    """Return rows that follow each other side by side, each with exactly one neighbour on the next line."""
    by_line: dict[int, list[Row]] = {}
    for row in rows:
        by_line.setdefault(row.line, []).append(row)
    ends: dict[Row, list[Row]] = {}
    chains: list[list[Row]] = []
    for line in sorted(by_line):
        here, before = by_line[line], by_line.get(line - 1, [])
        for row in here:
            below = [b for b in before if _overlap(b, row)]
            single = len(below) == 1 and sum(1 for r in here if _overlap(below[0], r)) == 1
            if single and below[0] in ends:
                chain = ends.pop(below[0])
                chain.append(row)
            else:
                chain = [row]
                chains.append(chain)
            ends[row] = chain
    return chains


def _overlap(a: Row, b: Row) -> bool:
    return min(a.high, b.high) - max(a.low, b.low) > SHORTEST_ROW


def _cut_chain(
    builder: RunBuilder,
    chain: list[Row],
    turn: Placement,
    level: Level,
    loops: list[tuple[Curve, ...]],
    step_over: float,
    chooser: EntryChooser,
    cut: list[tuple[Curve, ...]],
) -> None:
    forward = True
    builder.lift()
    done: list[Curve] = []
    for row in chain:
        ends = ((row.low, row.y), (row.high, row.y)) if forward else ((row.high, row.y), (row.low, row.y))
        segment = Segment(turn.apply(ends[0]), turn.apply(ends[1]))
        forward = not forward
        if builder.here is not None and not _reach(builder, segment.start, level, loops, step_over):
            builder.lift()
        if builder.here is None:
            builder.entry = chooser.choose_on(segment)
            lead = chooser.lead(builder.entry, segment.start)
            if lead is not None:
                if builder.clear(lead, level.distance):
                    builder.add([lead], StrokeKind.STEP)
                else:
                    builder.entry = chooser.last_resort([segment])
        builder.add([segment], StrokeKind.CUT)
        done.append(segment)
    cut.append(tuple(done))


def _reach(builder: RunBuilder, start: Point, level: Level, loops: list[tuple[Curve, ...]], step_over: float) -> bool:
    """Bring the cutter to the start of the next row: straight, or along the wall."""
    here = builder.here
    assert here is not None
    if distance(here, start) <= WALL_DETOUR * step_over and builder.step_to(start, level.distance):
        return True
    way = _along_wall(loops, here, start)
    if way is None or math.fsum(c.length for c in way) > WALL_DETOUR * step_over:
        return False
    builder.add(way, StrokeKind.STEP)
    return True


def _along_wall(loops: list[tuple[Curve, ...]], here: Point, there: Point) -> list[Curve] | None:
    """Return the shorter way along one loop between two places on it, ``None`` when they lie on different ones."""
    for curves in loops:
        on = [min(distance(p, c.nearest(p)) for c in curves) <= STEP_NOISE for p in (here, there)]
        if not all(on):
            continue
        ways = []
        for chain in (curves, tuple(c.reversed() for c in reversed(curves))):
            ring = rotated(chain, here)
            if distance(ring[0].start, here) > 1e-4:
                continue
            way: list[Curve] = []
            for curve in ring:
                if distance(there, curve.nearest(there)) <= STEP_NOISE:
                    share = share_of(curve, there)
                    if share * curve.length > 1e-4:
                        way.append(curve if (1 - share) * curve.length <= 1e-4 else split_curve(curve, share)[0])
                    break
                way.append(curve)
            ways.append(way)
        ways = [w for w in ways if w]
        return min(ways, key=lambda w: math.fsum(c.length for c in w)) if ways else None
    return None


def _cut_wall(
    builder: RunBuilder,
    curves: tuple[Curve, ...],
    away: float,
    cut: list[tuple[Curve, ...]],
    chooser: EntryChooser,
) -> None:
    here = builder.here
    if here is not None:
        turned = rotated(curves, here)
        if builder.step_to(turned[0].start, away):
            builder.add(turned, StrokeKind.FINISH)
            return
    builder.lift()
    ends = [p for chain in cut for c in chain for p in (c.start, c.end)]
    if ends:
        nearest = min(ends, key=lambda p: min(distance(p, c.nearest(p)) for c in curves))
        turned = rotated(curves, nearest)
        step = Segment(nearest, turned[0].start)
        if step.length <= STEP_NOISE or builder.clear(step, away):
            if step.length > STEP_NOISE:
                builder.add([step], StrokeKind.STEP)
            builder.add(turned, StrokeKind.FINISH)
            return
    builder.entry = chooser.last_resort(curves)
    builder.add(curves, StrokeKind.FINISH)
