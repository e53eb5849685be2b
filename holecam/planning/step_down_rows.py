"""The passes of a step-down as rows to tick: one a pass for a program, one a straight move for hands on the wheels.

Hands cannot follow an arc. A curved stroke is gone along in short straight moves that never come nearer to a wall than
the stroke itself: chords where the wall curves round the cut, lines outside the arc where it bulges into it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from holecam.cuts.step_down_cut import StepDownCut
from holecam.cuts.stroke_values import Stroke
from holecam.plan.finding import Finding, Severity
from holecam.plan.work import Row
from holecam.planning.cut_finding_parts import TWO_HANDWHEELS
from holecam.planning.skewed_by_hand import OFF_AXIS, off_axis
from holecam.shapes import Arc, Curve, Outline, Placement, Point, Segment
from holecam.shapes.distances import chain_approach

HAND_CHORD = 0.1
"""mm (0.004 in). How far a straight move by hand may lie from the arc that it stands for: the last skin beside a bend
comes off by hand anyway (common practice)."""

WIDEST_CHORD_DEG = 30.0
"""Degrees of an arc that one straight move spans at most."""

SAME = 1e-6
"""mm. Distances that agree to this are one: arithmetic noise."""

BOTH_HANDWHEELS = "turn both handwheels together, straight from here to there"
"""Note of a move along neither axis of the table."""

Rows = tuple[tuple[Row, ...], dict[int, int]]


def pass_rows(cut: StepDownCut, machine_from_part: Placement) -> Rows:
    """Return one row for each pass, where its first stroke begins; and the last row of each pass, by its number."""
    rows, last = [], {}
    for n, step_pass in enumerate(cut.passes, start=1):
        number = step_pass.height.number
        at = step_pass.strokes[0].curves[0].start
        rows.append(Row(n, None, f"pass {number}", at, machine_from_part.apply(at), z=step_pass.z))
        last[number] = n
    return tuple(rows), last


def stroke_rows(cut: StepDownCut, machine_from_part: Placement) -> Rows:
    """Return one row for each straight move of every stroke; and the last row of each pass, by its number.

    A pass, or a stroke, that goes where an earlier one went is one row with its height that names the earlier one.
    """
    rows: list[Row] = []
    last: dict[int, int] = {}
    walls = [side.wall.line for side in cut.request.bends]
    region, radius = cut.request.region, cut.request.cutter.radius
    passes: dict[tuple[Stroke, ...], str] = {}
    known: dict[Stroke, str] = {}

    def add(label: str, z: float, a: Point, b: Point | None, note: str) -> None:
        at, to_machine = machine_from_part.apply(a), None if b is None else machine_from_part.apply(b)
        if to_machine is not None and off_axis(at, to_machine) > OFF_AXIS:
            note = f"{BOTH_HANDWHEELS}; {note}" if note else BOTH_HANDWHEELS
        rows.append(Row(len(rows) + 1, None, label, a, at, b, to_machine, z, note=note))

    for step_pass in cut.passes:
        name, z = f"p{step_pass.height.number}", step_pass.z
        if step_pass.strokes in passes:
            add(name, z, step_pass.strokes[0].curves[0].start, None, f"all strokes as {passes[step_pass.strokes]}")
        else:
            passes[step_pass.strokes] = name
            for k, stroke in enumerate(step_pass.strokes, start=1):
                label = f"{name} s{k}"
                if stroke in known:
                    add(label, z, stroke.curves[0].start, None, f"as {known[stroke]}")
                    continue
                known[stroke] = label
                pieces = list(pairwise(hand_points(stroke.curves, walls)))
                for n, (a, b) in enumerate(pieces):
                    down = _down(stroke, beside=_beside(a, region, radius))
                    notes = [*([down] if n == 0 else []), *(["then lift straight up"] if n == len(pieces) - 1 else [])]
                    add(label, z, a, b, "; ".join(notes))
        last[step_pass.height.number] = len(rows)
    return tuple(rows), last


def slanting_by_hand(cut: StepDownCut, machine_from_part: Placement, name: str) -> Finding | None:
    """Return a caution where moves of the strokes go along both axes of the table at once, else nothing."""
    rows, _ = stroke_rows(cut, machine_from_part)
    moves = [r for r in rows if r.to_machine is not None]
    slanting = [r for r in moves if r.note.startswith(BOTH_HANDWHEELS)]
    if not slanting:
        return None
    count = f"{len(slanting)} of the {len(moves)} straight moves that its rows tell"
    if len(slanting) == len(moves):
        count = "every straight move that its rows tell" if len(moves) > 1 else "the one move that its rows tell"
    return Finding(
        TWO_HANDWHEELS,
        Severity.CAUTION,
        f'step-down "{name}"',
        f"Both handwheels have to turn together on {count}: ways in and out, and strokes along slanting or round "
        "sides. Those rows say so.",
        source="geometry",
        remedy="Try each one with the cutter up. Go in small steps, and turn first the handwheel that leads away from "
        "what stays. Or cut by program.",
        operation=name,
    )


def _down(stroke: Stroke, *, beside: bool) -> str:
    """Return how the cutter comes down for a stroke, in words; ``beside`` tells that it stands clear of the region."""
    if stroke.plunges:
        return "come down on metal, slowly"
    cut = stroke.starts_in_metal and not beside
    return "come down where it is cut already" if cut else "come down beside the metal"


def _beside(place: Point, region: Outline, radius: float) -> bool:
    """Return whether a cutter there touches nothing of the region."""
    return not region.contains(place) and region.distance_to(place) >= radius - SAME


def hand_points(curves: Sequence[Curve], walls: Sequence[Sequence[Curve]]) -> tuple[Point, ...]:
    """Return the corners of straight moves along a stroke that come no nearer to a wall than the stroke does."""
    points: list[Point] = [curves[0].start]
    for curve in curves:
        if isinstance(curve, Arc):
            points += _arc_points(curve, walls)
        points.append(curve.end)
    return tuple(_without_straight(points))


def _without_straight(points: Sequence[Point]) -> list[Point]:
    """Return the corners without those at which the way goes straight on."""
    kept = [points[0]]
    for here, there in pairwise(points[1:]):
        (ax, ay), (bx, by) = (here[0] - kept[-1][0], here[1] - kept[-1][1]), (there[0] - here[0], there[1] - here[1])
        if abs(ax * by - ay * bx) > SAME * math.hypot(ax, ay) * math.hypot(bx, by) or ax * bx + ay * by < 0:
            kept.append(here)
    return [*kept, points[-1]]


def _arc_points(arc: Arc, walls: Sequence[Sequence[Curve]]) -> list[Point]:
    """Return the corners between start and end of an arc: on it where that keeps off the walls, else outside it."""
    sweep = abs(arc.sweep)
    widest = min(math.radians(WIDEST_CHORD_DEG), 2.0 * math.acos(max(1.0 - HAND_CHORD / arc.radius, -1.0)))
    count = max(1, math.ceil(sweep / widest))
    on_it = [arc.point_at(n / count) for n in range(1, count)]
    chords = (arc.start, *on_it, arc.end)
    if all(_least(chords, wall) >= chain_approach((arc,), wall).distance - SAME for wall in walls):
        return on_it
    # corners of the polygon about the arc: where the tangents of neighbouring parts meet
    grown = 1.0 / math.cos(sweep / count / 2.0)
    cx, cy = arc.center
    middles = [arc.point_at((n + 0.5) / count) for n in range(count)]
    return [(cx + grown * (x - cx), cy + grown * (y - cy)) for x, y in middles]


def _least(points: Sequence[Point], wall: Sequence[Curve]) -> float:
    return chain_approach(tuple(Segment(a, b) for a, b in pairwise(points)), wall).distance
