"""Clearing parallel to the outline: loops at growing distances from all walls, cut from the inside out.

Loops a step-over apart, the outermost touching the walls. Inside each region that a loop encloses everything deeper
is cut first, so the material always lies on the outer side and moves across the inside meet none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Direction
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.level_layout import LevelLayout, StrokeKind, rotated
from holecam.cuts.offsets import Allowed, Level, OffsetStack
from holecam.cuts.run_builder import STEP_NOISE, RunBuilder
from holecam.cuts.walls import Walls
from holecam.errors import InputError
from holecam.shapes import Curve, Point, Segment, distance
from holecam.shapes.curve_arrays import ClosedArea, CurveArray, points_array

MOST_LEVELS = 1000
"""Loops inside each other: a pocket that needs more has a step-over that was mistyped."""

PLACES = 3
"""Places on what is cut already that are tried as the start of a step to a loop."""

Progress = Callable[[str, float], None]
"""Told what is being done, and the share of it that is done, 0 to 1."""


class Cell(Struct, frozen=True):
    """A connected place at one level: its outer loop and the loops round what stands in it; ``parent`` is the row of
    the cell of the level before that it lies in, -1 for none."""

    level: int
    outer: Loop
    inner: tuple[Loop, ...]
    parent: int


def ring_levels(
    walls: Walls,
    radius: float,
    step_over: float,
    finish: float,
    progress: Progress | None = None,
    allowed: Allowed | None = None,
) -> list[Level]:
    """Return the levels from the walls inward: at the radius, then a finishing allowance, then step by step.

    Empty when the cutter enters nowhere.

    Raises
    ------
    InputError
        The step-over is not positive, or so small that the loops would not end.
    """
    stack = OffsetStack(walls, allowed)
    levels: list[Level] = []
    away = radius
    while True:
        level = stack.at(away)
        if not level.loops:
            return levels
        levels.append(level)
        if len(levels) > MOST_LEVELS:
            raise InputError(
                f"step-over {step_over} mm: more than {MOST_LEVELS} loops inside each other; use a larger one"
            )
        away = radius + finish + step_over * (len(levels) - (1 if finish > 0 else 0))
        if progress is not None:
            progress("loops parallel to the outline", 1.0 - 1.0 / (1.0 + len(levels)))


def cells_of(levels: Sequence[Level]) -> list[list[Cell]]:
    """Return the connected places of each level, each with the one that it lies in."""
    told: list[list[Cell]] = []
    areas_before: list[ClosedArea] = []
    for number, level in enumerate(levels):
        outers = [loop for loop in level.loops if loop.signed_area > 0 or loop.is_flat]
        inners = [loop for loop in level.loops if not (loop.signed_area > 0 or loop.is_flat)]
        areas = [ClosedArea(loop.outline()) for loop in outers]
        owner = _smallest_around(areas, outers, [loop.curves[0].start for loop in inners])
        parents = (
            _smallest_around(areas_before, [c.outer for c in told[-1]], [loop.curves[0].start for loop in outers])
            if told
            else [-1] * len(outers)
        )
        told.append(
            [
                Cell(number, outer, tuple(i for i, o in zip(inners, owner, strict=True) if o == k), parent)
                for k, (outer, parent) in enumerate(zip(outers, parents, strict=True))
            ]
        )
        areas_before = areas
    return told


def _smallest_around(areas: list[ClosedArea], loops: list[Loop], points: list[Point]) -> list[int]:
    """Return for each point the smallest loop around it; the only loop there is needs no question."""
    if not points:
        return []
    if len(areas) == 1:
        return [0] * len(points)
    xy = np.array(points)
    best = np.full(len(points), -1, dtype=np.intp)
    size = np.full(len(points), np.inf)
    for k, area in enumerate(areas):
        here = loops[k].signed_area
        hit = area.inside(xy) & (here < size)
        best[hit] = k
        size[hit] = here
    # A flat loop has no inside: what lies on it belongs to the nearest
    for row in np.flatnonzero(best < 0):
        best[row] = min(range(len(areas)), key=lambda k: areas[k].shape.distance_to(points[row]))  # type: ignore[union-attr]
    return [int(b) for b in best]


def inside_out(cells: list[list[Cell]]) -> list[tuple[int, int]]:
    """Return (level, row) of all cells so that everything inside a cell comes before it, neighbours together."""
    children: list[list[list[int]]] = [[[] for _ in level] for level in cells]
    for number, level in enumerate(cells):
        for row, cell in enumerate(level):
            if number:
                children[number - 1][cell.parent].append(row)
    order: list[tuple[int, int]] = []
    waiting = [(0, row) for row in reversed(range(len(cells[0])))] if cells else []
    while waiting:  # parents first, read backwards: children first
        number, row = waiting.pop()
        order.append((number, row))
        if number + 1 < len(cells):
            waiting += [(number + 1, child) for child in children[number][row]]
    return order[::-1]


def ring_layout(
    walls: Walls,
    levels: Sequence[Level],
    direction: Direction,
    chooser: EntryChooser,
) -> LevelLayout:
    """Return the runs that cut all loops from the inside out."""
    cells = cells_of(levels)
    builder = RunBuilder(walls)
    done: dict[tuple[int, int], list[tuple[Curve, ...]]] = {}
    for number, row in inside_out(cells):
        cell = cells[number][row]
        away = levels[number].distance
        kind = StrokeKind.FINISH if number == 0 else StrokeKind.CUT
        before = [c for k, child in _children(cells, number, row) for c in done.pop((number + 1, k), [])]
        cut: list[tuple[Curve, ...]] = []
        rest = [cell.outer, *cell.inner]
        while rest:
            loop = _next_loop(rest, builder.here)
            rest.remove(loop)
            curves = loop.curves
            if direction is Direction.CONVENTIONAL:
                curves = tuple(c.reversed() for c in reversed(curves))
            cut.append(cut_loop(builder, curves, kind, away, before + cut, chooser, cell))
        done[(number, row)] = cut
    return builder.layout()


def loops_layout(
    walls: Walls,
    cells: Sequence[Cell],
    away: float,
    direction: Direction,
    chooser: EntryChooser,
    *,
    cut_before: Sequence[tuple[Curve, ...]] = (),
) -> LevelLayout:
    """Return the runs that cut the loops of some cells only, as the last pass; ``cut_before`` is open already."""
    builder = RunBuilder(walls)
    for cell in cells:
        cut: list[tuple[Curve, ...]] = []
        for loop in (cell.outer, *cell.inner):
            curves = loop.curves
            if direction is Direction.CONVENTIONAL:
                curves = tuple(c.reversed() for c in reversed(curves))
            before = [*cut_before, *cut]
            cut.append(cut_loop(builder, curves, StrokeKind.FINISH, away, before, chooser, cell))
    return builder.layout()


def _children(cells: list[list[Cell]], number: int, row: int) -> list[tuple[int, Cell]]:
    if number + 1 >= len(cells):
        return []
    return [(k, c) for k, c in enumerate(cells[number + 1]) if c.parent == row]


def _next_loop(loops: list[Loop], here: Point | None) -> Loop:
    if here is None or len(loops) == 1:
        return loops[0]
    return min(loops, key=lambda loop: min(distance(here, c.start) for c in loop.curves))


def cut_loop(
    builder: RunBuilder,
    curves: tuple[Curve, ...],
    kind: StrokeKind,
    away: float,
    cut_before: list[tuple[Curve, ...]],
    chooser: EntryChooser,
    cell: Cell,
) -> tuple[Curve, ...]:
    """Bring the cutter to a loop and cut it: by a straight step, from a place that is cut, or by an entry."""
    if not cut_before:  # nothing is open here: get down first
        builder.lift()
        entry, start = chooser.choose(curves, away, cell.outer)
        curves = rotated(curves, start)
        builder.entry = entry
        lead = chooser.lead(entry, curves[0].start)
        if lead is not None:
            builder.add([lead], StrokeKind.STEP)
        builder.add(curves, kind)
        return curves
    here = builder.here
    least = min(away, chooser.cutter.radius)  # between loops the cutter may come as near to a wall as it ever does
    if here is not None:
        turned = rotated(curves, here)
        if builder.step_to(turned[0].start, least):
            builder.add(turned, kind)
            return turned
    builder.lift()
    for place in _nearest_places(curves, cut_before):
        turned = rotated(curves, place)
        step = Segment(place, turned[0].start)
        if step.length <= STEP_NOISE:
            builder.add(turned, kind)
            return turned
        if builder.clear(step, least):
            builder.add([step], StrokeKind.STEP)
            builder.add(turned, kind)
            return turned
    builder.entry = chooser.last_resort(curves)
    builder.add(curves, kind)
    return curves


def _nearest_places(curves: tuple[Curve, ...], cut: list[tuple[Curve, ...]]) -> list[Point]:
    """Return up to three places on what is cut already, the nearest to the loop first."""
    done = [c for chain in cut for c in chain]
    own = [c.start for c in curves]
    table = CurveArray(tuple(done)).table(points_array(own))
    found: list[Point] = []
    for flat in np.argsort(table, axis=None, kind="stable")[: 8 * PLACES].tolist():
        i, k = divmod(flat, len(done))
        p = done[k].nearest(own[i])
        if all(distance(p, q) > STEP_NOISE for q in found):
            found.append(p)
        if len(found) == PLACES:
            break
    return found
