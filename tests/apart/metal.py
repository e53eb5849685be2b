"""What is left of the metal after a cutter went over it: a height for each cell, and distances to its path.

Two ways beside each other. Where the cutter must not go and what it must have reached is worked out from distances
of its path (a polyline, chords within half a micrometre) to the shape: nothing is rounded to a grid there. How deep a
stroke bites, and whether the cutter comes down on metal, is read from a grid of heights (dexels); its cells are a
fourteenth of the cutter's radius and more, never more than :data:`MOST_CELLS` of them.

Not covered: the flutes as they turn, deflection, anything under an overhang.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from rs274 import Line, Move
from shapely import STRtree
from shapely.geometry import LineString, Point

Shape = Any
"""A shapely geometry (the library carries no types)."""

CHORD = 0.0005
"""How far the chords of an arc may leave it where a gouge is looked for, mm."""

MOST_CELLS = 400_000
"""Cells of one grid: some megabytes, whatever the size of the job."""

MOST_SAMPLES = 30_000
"""Points at which a floor is asked whether the cutter came by."""

LEAST_SAMPLES_UNCUT = 3
"""One or two samples may lie on the very border of what can be reached; three are a strip."""

SHAVING = 0.05
"""Metal beside a cutter that is no thicker than this is no bite, mm: the program's rounding leaves such skins."""

SHALLOW = 0.02
"""Bites below this are noise of rounding, mm."""


def lines_below(moves: Iterable[Move], z: float) -> list[Line]:
    """Return the parts of moves at or below a height as polylines."""
    found: list[Line] = []
    for move in moves:
        if not move.known or move.lowest > z:
            continue
        part: Line = []
        points = move.points(CHORD)
        for a, b in itertools.pairwise(points):
            if a[2] > z and b[2] > z:
                continue
            begin = _where(a, b, z) if a[2] > z else a
            end = _where(a, b, z) if b[2] > z else b
            if not part or part[-1] != begin:
                part.append(begin)
            part.append(end)
        if part:
            found.append(part)
    return found


def _where(a: tuple[float, float, float], b: tuple[float, float, float], z: float) -> tuple[float, float, float]:
    share = (a[2] - z) / (a[2] - b[2])
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, z)


def flat(line: Line) -> Shape:
    """Return a polyline seen from above: a line, or a point where it goes straight down."""
    places = [p[:2] for p in line]
    return LineString(places) if len(set(places)) > 1 else Point(places[0])


@dataclass(frozen=True)
class Gouge:
    """How far a cutter goes past what it may cut, and where its centre is then."""

    depth: float
    at: tuple[float, float]


def worst_gouge(lines: Sequence[Line], allowed: Shape, radius: float, *, beside: Shape | None = None) -> Gouge:
    """Return the worst gouge of a path; a depth of nought or less is room that is left.

    The centre has to stay inside ``allowed`` and a radius away from its border. Path inside ``beside`` is left out.
    """
    paths = [flat(line) for line in lines]
    if beside is not None:
        paths = [path.difference(beside) for path in paths]
    paths = [path for path in paths if not path.is_empty]
    if not paths:
        return Gouge(-math.inf, (0.0, 0.0))
    border = allowed.boundary
    shapely.prepare(border)
    array = np.array(paths, dtype=object)
    depth = radius - shapely.distance(array, border)
    within = shapely.covers(allowed, array)
    if not within.all():
        for i in np.nonzero(~within)[0]:
            outside = paths[i].difference(allowed)
            depth[i] = radius + max(
                (border.distance(Point(p)) for p in shapely.get_coordinates(outside)), default=-radius
            )
    worst = int(np.argmax(depth))
    near = shapely.get_coordinates(shapely.shortest_line(paths[worst], border))[0]
    return Gouge(float(depth[worst]), (float(near[0]), float(near[1])))


@dataclass(frozen=True)
class Uncut:
    """What a cutter did not reach."""

    area: float
    bounds: tuple[float, float, float, float]

    def __str__(self) -> str:
        return f"{self.area:.3f} mm2 within ({', '.join(f'{v:.3f}' for v in self.bounds)})"


def uncut(wanted: Shape, lines: Sequence[Line], radius: float) -> Uncut | None:
    """Return what of a floor lies further than a radius from the path, or nothing where all of it was reached."""
    if wanted.is_empty:
        return None
    points, on_grid, cell = _samples(wanted)
    pieces: list[Shape] = []
    for line in lines:
        for i in range(0, max(len(line) - 1, 1), 12):
            pieces.append(flat(line[i : i + 13]))
    if pieces:
        asked = shapely.points(points)
        found, distance = STRtree(pieces).query_nearest(asked, return_distance=True, all_matches=False)
        far = np.full(len(points), np.inf)
        far[found[0]] = distance
        missed = ~(far <= radius)
        points, on_grid = points[missed], on_grid[missed]
    if len(points) < LEAST_SAMPLES_UNCUT:
        return None
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    # the grid counts an area without bias; of what is thinner than a cell the border's points know more than it
    cells = max(float(on_grid.sum()), 0.5 * float((~on_grid).sum()))
    return Uncut(cells * cell * cell, (float(x0), float(y0), float(x1), float(y1)))


def _samples(shape: Shape) -> tuple[NDArray[np.float64], NDArray[np.bool_], float]:
    """Return points of a grid inside a shape and along its border, ``(n, 2)``, which are of the grid, and the cell."""
    x0, y0, x1, y1 = shape.bounds
    cell = max(0.1, math.sqrt((x1 - x0) * (y1 - y0) / MOST_SAMPLES))
    xs, ys = np.meshgrid(np.arange(x0, x1, cell), np.arange(y0, y1, cell))
    inside = shapely.contains_xy(shape, xs.ravel(), ys.ravel())
    grid = np.c_[xs.ravel(), ys.ravel()][inside]
    border = shapely.get_coordinates(shapely.segmentize(shape.boundary, cell))
    return np.vstack([grid, border]), np.arange(len(grid) + len(border)) < len(grid), cell


class Metal:
    """Heights of the metal over a grid of cells; outside of the part there is none."""

    def __init__(self, shape: Shape, part: Shape, *, top: float, radius: float) -> None:
        """Fill the box around ``shape`` with metal up to ``top``, where the ``part`` lies; all in mm."""
        x0, y0, x1, y1 = shape.bounds
        area = (x1 - x0 + 2.0) * (y1 - y0 + 2.0)
        self.cell = max(0.12, radius / 14.0, math.sqrt(area / MOST_CELLS))
        self.xs = np.arange(x0 - 1.0, x1 + 1.0 + self.cell, self.cell)
        self.ys = np.arange(y0 - 1.0, y1 + 1.0 + self.cell, self.cell)
        xx, yy = np.meshgrid(self.xs, self.ys, indexing="ij")
        self.heights = np.where(shapely.contains_xy(part, xx, yy), top, -np.inf)

    def _window(self, a: Sequence[float], b: Sequence[float], radius: float) -> tuple[Any, Any]:
        """Return the heights of the box around a stroke, and the squared distance of each from the stroke."""
        i0, i1 = np.searchsorted(self.xs, [min(a[0], b[0]) - radius, max(a[0], b[0]) + radius])
        j0, j1 = np.searchsorted(self.ys, [min(a[1], b[1]) - radius, max(a[1], b[1]) + radius])
        x, y = self.xs[i0:i1, None] - a[0], self.ys[None, j0:j1] - a[1]
        dx, dy = b[0] - a[0], b[1] - a[1]
        long = dx * dx + dy * dy
        share = np.clip((x * dx + y * dy) / long, 0.0, 1.0) if long > 0.0 else 0.0
        return self.heights[i0:i1, j0:j1], (x - share * dx) ** 2 + (y - share * dy) ** 2

    def highest(self, at: Sequence[float], radius: float) -> float:
        """Return the highest metal under a round tool, minus infinity where there is none."""
        heights, away = self._window(at, at, radius)
        under = away <= radius * radius
        return float(heights[under].max()) if under.any() else -math.inf

    def cut(self, a: Sequence[float], b: Sequence[float], radius: float, z: float) -> float:
        """Take away what a stroke of a flat cutter meets above ``z``; return the deepest bite, shavings aside."""
        heights, away = self._window(a, b, radius)
        met = (away <= radius * radius) & (heights > z)
        if not met.any():
            return 0.0
        thick = met & (away <= (radius - SHAVING) ** 2)
        bite = float(heights[thick].max()) - z if thick.any() else 0.0
        heights[met] = z
        return bite


@dataclass
class Bites:
    """What a program did to the metal: the worst of each kind, and the move that did it."""

    deepest: float = 0.0
    deepest_move: Move | None = None
    rapid_into_metal: Move | None = None
    plunge: Move | None = None
    """A stroke straight down on metal."""
    ramp_deg: float = 0.0
    """The steepest way down into metal, less what rounding to the program's grid can add."""
    ramp_move: Move | None = None


def cut_through(metal: Metal, moves: Iterable[Move], radius: float, grid: float) -> Bites:
    """Run the moves of a flat cutter through the metal, which is changed."""
    bites = Bites()
    for move in moves:
        if not move.known:
            continue
        down = move.end[2] < move.start[2] - 1e-9
        if move.kind == "rapid":
            if down and bites.rapid_into_metal is None and metal.highest(move.end, radius) > move.end[2] + 1e-6:
                bites.rapid_into_metal = move
            continue
        points = move.points(0.01)
        across = sum(math.dist(a[:2], b[:2]) for a, b in itertools.pairwise(points))
        if down and across < 1e-9:
            # The outermost cells belong to walls that were cut beside this place
            if metal.highest(move.end, radius - 1.5 * metal.cell) > move.end[2] + SHALLOW and bites.plunge is None:
                bites.plunge = move
        elif down:
            _ramp(metal, move, points, across, radius, grid, bites)
        for a, b in itertools.pairwise(points):
            for begin, end in _pieces(a, b, metal.cell):
                bite = metal.cut(begin, end, radius, min(begin[2], end[2]))
                if bite > bites.deepest:
                    bites.deepest, bites.deepest_move = bite, move
    return bites


def _ramp(metal: Metal, move: Move, points: Line, across: float, radius: float, grid: float, bites: Bites) -> None:
    fall = move.start[2] - move.end[2]
    angle = math.degrees(math.atan2(fall, across)) - math.degrees(math.atan(1.05 * grid / across))
    if angle > bites.ramp_deg and any(metal.highest(p, radius) > move.end[2] + SHALLOW for p in points):
        bites.ramp_deg, bites.ramp_move = angle, move


def _pieces(a: Sequence[float], b: Sequence[float], cell: float) -> list[tuple[list[float], list[float]]]:
    """Cut a stroke into pieces that fall by no more than a bite that is noise; long ones, to keep the box small."""
    length, fall = math.dist(a[:2], b[:2]), abs(a[2] - b[2])
    count = max(1, math.ceil(length / (60.0 * cell)))
    if fall:
        count = max(count, min(math.ceil(length / cell), math.ceil(fall / SHALLOW)))
    steps = [[a[k] + (b[k] - a[k]) * i / count for k in range(3)] for i in range(count + 1)]
    return list(itertools.pairwise(steps))
