"""The middle lines of the rooms of a cutter's centre: places that are equally far from two or more walls.

The rooms' edges are sampled and the samples triangulated; the centres of the triangles' circles are nodes. Where they
lie is only as good as the samples, so every node's distance from the walls is worked out afresh, exactly: a circle of
that size round it touches no wall whatever the samples were.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from holecam.cuts.chaining import Loop
from holecam.cuts.elements import CELLS_AT_ONCE, Floats, Indexes, elements_of
from holecam.cuts.walls import Walls
from holecam.shapes.curve_arrays import ClosedArea, CurveArray

LEAST_ANGLE = np.radians(10.0)
"""Smallest angle at a node between the directions to the two samples of an edge: below it the walls are as good as
straight there, and no corner needs small bites (a sixth of a usual engagement)."""

MOST_SAMPLES = 3000

LAST = 0.004
"""mm. Distance from a corner at which the line into it ends: what is left there is thinner than any chip."""

TIGHT_STEP = 0.5
"""Times the room: greatest distance of neighbouring places."""

MOST_ADDED = 60

CLOSER = 0.9
"""Ratio of the distances from the corner of places that follow each other near it."""

ATTEMPTS = 6
"""Times that samples are shaken before a room counts as having no middle lines: it is then cut in plain loops."""

SHAKE = 1e-6
"""mm."""

ROOM_NOISE = 1e-6
"""mm. Room beyond this counts."""


class Branch(Struct, frozen=True, eq=False):
    """A middle line from one node to the next fork or end: places, shape (n, 2), and the room round each, mm."""

    first: int
    last: int
    xy: Floats
    room: Floats


class MiddleLines(Struct, frozen=True, eq=False):
    """All branches; ``nodes_xy`` and ``nodes_room`` of the forks and ends that they join."""

    branches: tuple[Branch, ...]
    nodes_xy: Floats
    nodes_room: Floats


def room_of(walls: Walls, xy: Floats, away: float) -> Floats:
    """Return by how much each place lies deeper than ``away`` from all walls and their margins, mm."""
    array = CurveArray(walls.bodies.curves())
    room = np.empty(len(xy))
    step = max(1, CELLS_AT_ONCE // len(walls.bodies))
    for first in range(0, len(xy), step):
        part = slice(first, first + step)
        room[part] = (array.table(xy[part]) - walls.margin).min(axis=1)
    return room - away


def middle_lines(walls: Walls, loops: Sequence[Loop], away: float, spacing: float) -> MiddleLines:
    """Return the middle lines of the rooms whose edges are the loops, at distance ``away`` from the walls.

    ``spacing`` is the distance of samples and of the places on the branches, mm. Lines that lead into a corner of the
    edge end in the corner itself, their places ever closer together.
    """
    samples, loop_of, order = _samples(loops, spacing)
    samples, corners = _triangles(samples)
    tree = shapely.STRtree(shapely.points(samples))
    which = tree.query_nearest(shapely.points(corners.reshape(-1, 2)), all_matches=False)[1].reshape(-1, 3)
    centers, sound = _circumcenters(samples[which])
    inside = np.zeros(len(centers), dtype=np.bool_)
    for loop in loops:
        if not loop.is_flat:
            inside ^= ClosedArea(loop.outline()).inside(centers)
    keep = np.flatnonzero(inside & sound)
    centers, which = centers[keep], which[keep]
    room = room_of(walls, centers, away)
    edges = _edges(which, centers, samples, loop_of, order)
    edges = [e for e in edges if room[e[0]] > ROOM_NOISE and room[e[1]] > ROOM_NOISE]
    return _branches(walls, centers, room, edges, away, spacing, _tips(loops))


def _samples(loops: Sequence[Loop], spacing: float) -> tuple[Floats, Indexes, Indexes]:
    total = sum(loop.length for loop in loops)
    step = max(spacing, total / MOST_SAMPLES)
    points, numbers, orders = [], [], []
    for number, loop in enumerate(loops):
        table = elements_of(loop.curves, closed=True)
        count = np.maximum(1, np.ceil(table.lengths / step)).astype(np.intp)
        row = np.repeat(np.arange(len(table)), count)
        first = np.repeat(np.concatenate([[0], np.cumsum(count)[:-1]]), count)
        x, y = table.points_at(row, (np.arange(len(row)) - first) / np.repeat(count, count))
        points.append(np.column_stack([x, y]))
        numbers.append(np.full(len(row), number))
        orders.append(np.arange(len(row)))
    xy = np.concatenate(points)
    index = np.sort(np.unique(np.round(xy, 9), axis=0, return_index=True)[1])
    return xy[index], np.concatenate(numbers)[index], np.concatenate(orders)[index]


def _triangles(samples: Floats) -> tuple[Floats, Floats]:
    """Return the samples and the corners of their triangles, shape (n, 3, 2).

    The triangulation may give up on samples that lie on one line or circle to the last digits; then they are moved by
    some millionths of a millimetre, always the same ones, which shifts nodes and nothing else.
    """
    moved = samples
    for attempt in range(ATTEMPTS):
        try:
            made = shapely.delaunay_triangles(shapely.MultiPoint(moved))
            return moved, shapely.get_coordinates(shapely.get_parts(made)).reshape(-1, 4, 2)[:, :3]
        except shapely.errors.GEOSException:
            shake = np.random.default_rng(attempt).uniform(-1.0, 1.0, samples.shape)
            moved = samples + shake * SHAKE * 4.0**attempt
    return moved, np.zeros((0, 3, 2))


def _circumcenters(corners: Floats) -> tuple[Floats, np.ndarray]:
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    bx, by, cx, cy = b[:, 0] - a[:, 0], b[:, 1] - a[:, 1], c[:, 0] - a[:, 0], c[:, 1] - a[:, 1]
    d = 2.0 * (bx * cy - by * cx)
    sound = np.abs(d) > 1e-12
    safe = np.where(sound, d, 1.0)
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    x = a[:, 0] + (cy * b2 - by * c2) / safe
    y = a[:, 1] + (bx * c2 - cx * b2) / safe
    return np.column_stack([x, y]), sound


def _edges(which: Indexes, centers: Floats, samples: Floats, loop_of: Indexes, order: Indexes) -> list[tuple[int, int]]:
    """Return pairs of nodes whose triangles share an edge that spans walls facing each other or a corner."""
    owner: dict[tuple[int, int], int] = {}
    pairs: list[tuple[int, int, int, int]] = []
    for t, (a, b, c) in enumerate(which.tolist()):
        for u, v in ((a, b), (b, c), (c, a)):
            key = (min(u, v), max(u, v))
            other = owner.pop(key, None)
            if other is None:
                owner[key] = t
            else:
                pairs.append((other, t, *key))
    if not pairs:
        return []
    table = np.array(pairs, dtype=np.intp)
    middle = (centers[table[:, 0]] + centers[table[:, 1]]) / 2
    to_u, to_v = samples[table[:, 2]] - middle, samples[table[:, 3]] - middle
    angle = np.abs(np.arctan2(to_u[:, 0] * to_v[:, 1] - to_u[:, 1] * to_v[:, 0], (to_u * to_v).sum(axis=1)))
    neighbours = (loop_of[table[:, 2]] == loop_of[table[:, 3]]) & (np.abs(order[table[:, 2]] - order[table[:, 3]]) <= 1)
    good = (angle >= LEAST_ANGLE) & ~neighbours
    return [(int(a), int(b)) for a, b in table[good, :2]]


def _tips(loops: Sequence[Loop]) -> Floats:
    """Return the corners of the edges that point away from the rooms."""
    tips = []
    for loop in loops:
        for before, after in zip(loop.curves, loop.curves[1:] + loop.curves[:1], strict=True):
            (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
            if np.arctan2(ax * by - ay * bx, ax * bx + ay * by) > LEAST_ANGLE:
                tips.append(before.end)
    return np.array(tips, dtype=np.float64).reshape(-1, 2)


def _into_corner(line: Floats, tips: Floats, spacing: float) -> Floats:
    """Return a line that ends near a corner led on into it, with places in geometric steps down to :data:`LAST`."""
    if not len(tips):
        return line
    gap = np.hypot(tips[:, 0] - line[-1, 0], tips[:, 1] - line[-1, 1])
    k = int(gap.argmin())
    if gap[k] > 4.0 * spacing or gap[k] <= LAST:
        return line
    count = int(np.ceil(np.log(LAST / gap[k]) / np.log(CLOSER)))
    share = CLOSER ** np.arange(1, count + 1)
    return np.concatenate([line, tips[k] + share[:, None] * (line[-1] - tips[k])])


def _branches(
    walls: Walls,
    centers: Floats,
    room: Floats,
    edges: list[tuple[int, int]],
    away: float,
    spacing: float,
    tips: Floats,
) -> MiddleLines:
    near: dict[int, list[int]] = {}
    for a, b in edges:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    if not near:  # a round room has one middle only, one without triangles none
        widest = np.argsort(-room)[:1]
        return MiddleLines((), centers[widest], room[widest])
    joints = [n for n, others in near.items() if len(others) != 2]
    best = max(near, key=lambda n: float(room[n]))
    if best not in joints:
        joints.append(best)
    seen: set[tuple[int, int]] = set()
    chains: list[list[int]] = []
    for start in joints + [n for n in near if n not in joints]:
        for following in near[start]:
            if (start, following) in seen:
                continue
            chain = [start, following]
            seen |= {(start, following), (following, start)}
            while chain[-1] not in joints and chain[-1] != start:
                onward = [n for n in near[chain[-1]] if n != chain[-2] and (chain[-1], n) not in seen]
                if not onward:
                    break
                seen |= {(chain[-1], onward[0]), (onward[0], chain[-1])}
                chain.append(onward[0])
            chains.append(chain)
    ends = sorted({c[0] for c in chains} | {c[-1] for c in chains})
    number = {node: k for k, node in enumerate(ends)}
    lines = [_dense(centers[c], spacing) for c in chains]
    for k, chain in enumerate(chains):
        if len(near[chain[-1]]) == 1:
            lines[k] = _into_corner(lines[k], tips, spacing)
        if len(near[chain[0]]) == 1:
            lines[k] = _into_corner(lines[k][::-1], tips, spacing)[::-1]
    # Circles that follow each other have to overlap: where the room is tight, places lie closer
    rooms = room_of(walls, np.concatenate(lines), away)
    at = np.cumsum([0, *(len(line) for line in lines)])
    lines = [_closer(line, rooms[at[k] : at[k + 1]]) for k, line in enumerate(lines)]
    rooms = room_of(walls, np.concatenate(lines), away)
    at = np.cumsum([0, *(len(line) for line in lines)])
    branches = tuple(
        Branch(number[c[0]], number[c[-1]], line, rooms[at[k] : at[k + 1]])
        for k, (c, line) in enumerate(zip(chains, lines, strict=True))
    )
    return MiddleLines(branches, centers[ends], room[ends])


def _closer(line: Floats, room: Floats) -> Floats:
    """Return a line with places added where two neighbours lie farther apart than half their room."""
    gap = np.hypot(*np.diff(line, axis=0).T)
    tight = np.maximum(np.minimum(room[1:], room[:-1]), LAST)
    count = np.clip(np.ceil(gap / (TIGHT_STEP * tight)), 1, MOST_ADDED).astype(np.intp)
    row = np.repeat(np.arange(len(gap)), count)
    first = np.repeat(np.concatenate([[0], np.cumsum(count)[:-1]]), count)
    share = ((np.arange(len(row)) - first) / np.repeat(count, count))[:, None]
    return np.concatenate([line[row] + share * (line[row + 1] - line[row]), line[-1:]])


def _dense(xy: Floats, spacing: float) -> Floats:
    size = np.hypot(*np.diff(xy, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(size)])
    count = max(1, int(np.ceil(along[-1] / spacing)))
    at = np.linspace(0.0, along[-1], count + 1)
    return np.column_stack([np.interp(at, along, xy[:, 0]), np.interp(at, along, xy[:, 1])])
