"""Overcutting inside corners, so that a square corner goes in: where the round bite lies and how far it reaches."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.level_layout import LevelLayout, Stroke, StrokeKind
from holecam.cuts.pocket_values import Relief, ReliefShape, ReliefWish
from holecam.cuts.proof_values import GOUGE_LIMIT, Gouge, Leftover
from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Placement, Point, Segment, distance
from holecam.shapes.distances import nearest_approach

SMOOTH = 1e-6
"""Radians. A joint that turns by less is no corner."""

CORNER_NOISE = 1e-5
"""mm. Places nearer than this are one corner: beside kept curves the border of what stays is looked for a few
millionths off the walls."""

SQUARE = math.radians(91.0)
"""A corner is relieved without being named when its angle inside is at most this: square, or sharper."""


class Corner(Struct, frozen=True):
    """A corner of an outline travelled anticlockwise: its number, place, inside angle, and the walls that meet."""

    number: int
    at: Point
    angle: float
    before: Curve
    after: Curve


def corners_of(outline: Outline) -> tuple[Corner, ...]:
    """Return the corners, numbered from 1, anticlockwise from the first point on; smooth joints are none."""
    curves = outline.counterclockwise().curves
    found: list[Corner] = []
    for before, after in zip(curves[-1:] + curves[:-1], curves, strict=True):
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if abs(turn) > SMOOTH:
            found.append(Corner(len(found) + 1, after.start, math.pi - turn, before, after))
    return tuple(found)


def reliefs(outline: Outline, radius: float, wish: ReliefWish, what: str) -> tuple[Relief, ...]:
    """Return the overcuts that a cutter of this radius makes.

    The rim passes through the corner. On the bisector the bite into each wall is ``R (1 - sin(g/2))``; along a wall
    the rim touches that wall and bites the other one by ``R (1 + cos g)``, ``R`` at a square corner.

    Raises
    ------
    InputError
        A number that no corner has, or a corner that points into the pocket and needs no relief.
    """
    corners = corners_of(outline)
    if wish.corners is None:
        chosen = [c for c in corners if c.angle <= SQUARE]
    else:
        chosen = []
        for number in wish.corners:
            if not 1 <= number <= len(corners):
                raise InputError(f"{what}: corner {number} to be relieved: it has corners 1 to {len(corners)}")
            corner = corners[number - 1]
            if corner.angle >= math.pi:
                raise InputError(f"{what}: corner {number} points into the pocket and needs no relief; leave it out")
            chosen.append(corner)
    return tuple(_relief(c, radius, wish) for c in chosen)


def _relief(corner: Corner, radius: float, wish: ReliefWish) -> Relief:
    (ax, ay), (bx, by) = corner.before.tangent_at(1.0), corner.after.tangent_at(0.0)
    x, y = corner.at
    if wish.shape is ReliefShape.DIAGONAL:
        size = math.hypot(bx - ax, by - ay)
        center = (x + radius * (bx - ax) / size, y + radius * (by - ay) / size)
        bite = radius * (1.0 - math.sin(corner.angle / 2))
        return Relief(corner.at, center, radius, bite)
    first, other = (corner.after, corner.before) if wish.mirrored else (corner.before, corner.after)
    along_first = wish.shape is ReliefShape.ALONG_FIRST or first.length >= other.length - CORNER_NOISE
    along_before = along_first is not wish.mirrored
    # Touching the wall that it runs along: a radius inside of it, square from the corner
    (dx, dy) = (ax, ay) if along_before else (bx, by)
    center = (x - radius * dy, y + radius * dx)
    return Relief(corner.at, center, radius, radius * (1.0 + math.cos(corner.angle)))


def mirrored_wish(wish: ReliefWish, outline: Outline, mirrored: Outline, hand: Placement) -> ReliefWish:
    """Return the wish for the mirrored outline, so that every overcut is the mirror image of one in the first.

    Seen in a mirror the corners are counted the other way round, and the first wall of a corner is its second. A number
    that no corner has stays as it is.
    """
    if wish.corners is None:
        return replace(wish, mirrored=not wish.mirrored)
    there = corners_of(mirrored)
    numbers = {}
    for corner in corners_of(outline):
        at = hand.apply(corner.at)
        numbers[corner.number] = min(there, key=lambda c: distance(c.at, at)).number
    return replace(wish, corners=tuple(numbers.get(n, n) for n in wish.corners), mirrored=not wish.mirrored)


def with_reliefs(
    layout: LevelLayout, wanted: Sequence[Relief], outline: Outline
) -> tuple[LevelLayout, tuple[Relief, ...]]:
    """Return the layout with a stroke into each overcut and back, from the corner of the wall pass, and those that
    found no such corner: the cutter does not get there.

    In the corner of the pass the cutter touches both walls that meet in the corner of the outline. From any other
    place, such as the mouth of a niche narrower than the cutter, the way to the overcut would lead through a wall.
    """
    corners = {c.at: c for c in corners_of(outline)}
    lost: list[Relief] = []
    inserts: dict[tuple[int, int], list[Stroke]] = {}
    for relief in wanted:
        best: tuple[float, int, int, Point] | None = None
        for r, run in enumerate(layout.runs):
            for s, stroke in enumerate(run.strokes):
                if stroke.kind is StrokeKind.FINISH:
                    away = distance(stroke.curve.end, relief.corner)
                    if best is None or away < best[0]:
                        best = (away, r, s, stroke.curve.end)
        # From the corner of the wall pass the centre goes along the bisector, at most to the corner itself
        if (
            best is None
            or not _touches_both(corners[relief.corner], best[3], relief.radius)
            or distance(best[3], relief.center) > best[0] + 1e-9
        ):
            lost.append(relief)
            continue
        out = Segment(best[3], relief.center)
        strokes = [Stroke(out, StrokeKind.RELIEF), Stroke(out.reversed(), StrokeKind.RELIEF)]
        inserts.setdefault((best[1], best[2]), []).extend(strokes)
    runs = []
    for r, run in enumerate(layout.runs):
        new: list[Stroke] = []
        for s, stroke in enumerate(run.strokes):
            new.append(stroke)
            new += inserts.get((r, s), [])
        runs.append(new)
    return layout.with_strokes(runs), tuple(lost)


def _touches_both(corner: Corner, p: Point, radius: float) -> bool:
    return all(distance(p, wall.nearest(p)) <= radius + CORNER_NOISE for wall in (corner.before, corner.after))


def left_beside_reliefs(leftovers: Sequence[Leftover], made: Sequence[Relief]) -> tuple[Leftover, ...]:
    """Return what stays when the overcuts are made: a corner between straight walls goes wholly.

    The rim passes through the corner and through both places where the pass along the walls touches them; what the
    cutter sweeps on its way is convex, so all that lies between them is inside. A corner with a curved wall counts as
    if it stayed, which is the safe side.
    """
    return tuple(p for p in leftovers if not any(_takes(relief, p) for relief in made))


def _takes(relief: Relief, patch: Leftover) -> bool:
    walls = [c for c in patch.border.curves if isinstance(c, Segment)]
    rims = [c for c in patch.border.curves if not isinstance(c, Segment)]
    at_corner = any(distance(c.start, relief.corner) <= CORNER_NOISE for c in walls)
    own_rims = all(isinstance(c, Arc) and distance(c.center, patch.at) <= CORNER_NOISE for c in rims)
    if not (at_corner and own_rims) or patch.holes:
        return False
    way = Segment(patch.at, relief.center)
    return all(distance(p, way.nearest(p)) <= relief.radius + CORNER_NOISE for p in (c.start for c in walls))


def ways_into(layouts: Sequence[LevelLayout]) -> dict[Point, Curve]:
    """Return the ways on which the cutter goes into overcuts, by the place where each of them ends."""
    strokes = (stroke for layout in layouts for stroke in layout.strokes())
    return {s.curve.end: s.curve for s in strokes if s.kind is StrokeKind.RELIEF}


def relief_gouges(
    made: Sequence[Relief],
    outline: Outline,
    others: Sequence[tuple[str, Curve, float]],
    ways: Mapping[Point, Curve],
) -> list[Gouge]:
    """Return where an overcut, or the way into it, bites anything but the two walls of its corner.

    That is another wall, an island or a keep-out. ``others`` are the curves of islands and keep-outs with their names
    and margins, mm; ``ways`` are those of :func:`ways_into`. In a sharp corner the way is many radii long.
    """
    found: list[Gouge] = []
    corners = {c.at: c for c in corners_of(outline)}
    for relief in made:
        corner, way = corners[relief.corner], ways[relief.center]
        curves = [("wall", c, 0.0) for c in outline.counterclockwise().curves if c not in (corner.before, corner.after)]
        for name, curve, margin in [*curves, *others]:
            near = nearest_approach(way, curve)
            depth = relief.radius + margin - near.distance
            if depth > GOUGE_LIMIT and distance(near.on_second, relief.corner) > GOUGE_LIMIT:
                found.append(Gouge(depth, near.on_second, f"{name}, by the overcut of a corner"))
    return found
