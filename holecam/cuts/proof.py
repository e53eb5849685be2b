"""The proof of a level: run the strokes, hold them against walls and keep-outs, and look for what stays.

Gouges are found by exact distances between lines and arcs, uncut places by certified boxes; neither trusts the
strategy that made the path, nor its offsets.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.coverage import ON_WALL_PASS, Patch, pair_distances, uncut_patches
from holecam.cuts.distance_clip import complement, merged, near_bodies, near_curves, near_points
from holecam.cuts.elements import Elements, concatenated, elements_of, near_pairs
from holecam.cuts.proof_values import GOUGE_LIMIT, LEFTOVER_SHARE, CutProof, EngagementPeak, Gouge, Leftover
from holecam.cuts.walls import Walls
from holecam.shapes import Outline, Point, rectangle
from holecam.shapes.curve_arrays import distinct
from holecam.shapes.distances import nearest_approach

WALL_NOISE = 1e-6
"""mm. The pass along a wall touches it; nearer than the cutter's radius by more than this is worth a number."""


class NamedWalls(Struct, frozen=True):
    """Walls with the user's name for each of their chains."""

    walls: Walls
    names: tuple[str, ...]


def gouges_of(path: Elements, named: NamedWalls, radius: float) -> tuple[float, tuple[Gouge, ...]]:
    """Return the least distance of the cutter's edge from all walls and their margins, mm, and the gouges.

    A path that keeps the walls to :data:`WALL_NOISE` counts as touching them at most.
    """
    walls = named.walls
    limit = radius + walls.margin - WALL_NOISE
    bodies = near_bodies(path, walls.bodies, limit)
    points = near_points(path, walls.corner_x, walls.corner_y, radius + walls.corner_margin - WALL_NOISE)
    rows = distinct(np.concatenate([bodies.row, points.row]))
    if not len(rows):
        return _clearance(path, walls, radius), ()
    worst = 0.0
    found: list[Gouge] = []
    curves = path.take(rows).curves()
    sources = walls.bodies.curves()
    left, low, right, high = walls.bodies.boxes()
    for curve in curves:
        one = elements_of([curve]).boxes()
        reach = radius + walls.margin
        near = (left < one[2] + reach) & (right > one[0] - reach) & (low < one[3] + reach) & (high > one[1] - reach)
        deepest, place, into = 0.0, curve.start, 0
        for k in np.flatnonzero(near).tolist():
            approach = nearest_approach(curve, sources[k])
            depth = radius + float(walls.margin[k]) - approach.distance
            if depth > deepest:
                deepest, place, into = depth, approach.on_first, k
        worst = max(worst, deepest)
        if deepest > GOUGE_LIMIT:
            found.append(Gouge(deepest, place, named.names[int(walls.chain[into])]))
    return -worst, tuple(found)


def _clearance(path: Elements, walls: Walls, radius: float) -> float:
    """Return the distance of the cutter's edge from the walls at the ends and middles of the moves, mm.

    At most a radius: what is farther away needs no figure. 0 where the cutter touches a wall to the noise.
    """
    every = np.arange(len(path), dtype=np.intp)
    best = 2.0 * radius
    boxes = walls.bodies.boxes()
    for share in (0.5, 1.0):
        x, y = path.points_at(every, np.full(len(path), share))
        i, j = near_pairs((x, y, x, y), boxes, best + walls.margin)
        if len(i):
            best = min(best, float((pair_distances(walls.bodies, j, x[i], y[i]) - walls.margin[j]).min()))
    return 0.0 if abs(best - radius) <= WALL_NOISE else best - radius


def wall_pass_gaps(path: Elements, rooms: Sequence[Outline]) -> float:
    """Return the length of the pass along the walls that the path leaves out, mm."""
    curves = [c for room in rooms for c in room.curves]
    if not curves:
        return 0.0
    wanted = elements_of(curves)
    run = merged(near_curves(wanted, path, np.full(len(path), ON_WALL_PASS)), wanted.lengths)
    missing = complement(run, wanted.lengths)
    gaps = (missing.high - missing.low) * wanted.lengths[missing.row]
    return float(gaps[gaps > 10 * ON_WALL_PASS].sum())


def prove(
    path: Elements,
    named: NamedWalls,
    rooms: Sequence[Outline],
    radius: float,
    *,
    levels: tuple[float, ...],
    wanted_area: float,
    leftovers: tuple[Leftover, ...],
    peak: EngagementPeak | None,
    patches: Sequence[Patch] | None = None,
    also: Elements | None = None,
) -> CutProof:
    """Return the proof of one level, or of several that are alike.

    ``rooms`` are the edges of the places where the cutter's centre may be, lines there and back among them.
    ``patches`` may bring what :func:`holecam.cuts.coverage.uncut_patches` has found for this very path already.
    ``also`` is run at depth without being counted on: the circles of helices.
    """
    nearest, gouges = gouges_of(path if also is None else concatenated([path, also]), named, radius)
    if patches is None:
        broad = [room for room in rooms if room.area > 1e-6 * sum(c.length for c in room.curves)]
        patches = uncut_patches(named.walls, broad, path, radius)
    uncut = [patch_as_leftover(p) for p in patches]
    missing = wall_pass_gaps(path, rooms)
    if missing > 0.0:
        start = rooms[0].curves[0].start
        uncut.append(_box_leftover(start, missing * GOUGE_LIMIT, missing))
    least = LEFTOVER_SHARE * (2.0 * radius) ** 2
    counted = tuple(u for u in uncut if u.area > least)
    if missing > 0.0 and not counted:
        counted = (uncut[-1],)
    stays = math.fsum(p.area for p in leftovers)
    return CutProof(levels, nearest, gouges, leftovers, counted, wanted_area, wanted_area - stays, peak)


def patch_as_leftover(patch: Patch) -> Leftover:
    """Return a patch as a leftover, with the box round it as its border."""
    (x0, y0), (x1, y1) = patch.centers.min(axis=0), patch.centers.max(axis=0)
    side = math.sqrt(patch.area / len(patch.centers)) / 2
    border = rectangle(float(x0) - side, float(y0) - side, float(x1) + side, float(y1) + side)
    return Leftover(border, (), patch.area, patch.middle(), "not cut")


def _box_leftover(at: Point, area: float, size: float) -> Leftover:
    half = max(size, 1e-3) / 2
    border = rectangle(at[0] - half, at[1] - half, at[0] + half, at[1] + half)
    return Leftover(border, (), area, at, "not cut")
