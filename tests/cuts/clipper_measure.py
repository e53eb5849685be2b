"""An independent account of a cut: polygons of a general-purpose clipping library, distances of another.

Neither knows anything of the planner's offsets. Polygons stand in for arcs to half a micron; places thinner than
:data:`THIN` are not told apart from the chords of two polygons.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import pyclipper
import shapely

from holecam.shapes import Arc, Curve, Outline

SCALE = 1e6
"""Integers a millimetre: a nanometre each."""

CHORD = 5e-4
"""mm. Greatest distance of a chord from its arc."""

THIN = 0.005
"""mm. Patches thinner than twice this are lost: the arcs of the library's own offsets are good to a micron."""

ARC_STEP = 1e-3
"""mm. The library's arc tolerance."""


def points_of(curves: Iterable[Curve], chord: float = CHORD) -> list[tuple[float, float]]:
    """Return a chain as points, its end included."""
    points: list[tuple[float, float]] = []
    last = None
    for curve in curves:
        if isinstance(curve, Arc):
            step = 2 * math.acos(max(-1.0, 1 - min(chord / curve.radius, 1.0)))
            count = max(2, math.ceil(abs(curve.sweep) / max(step, 1e-4)))
            points += [curve.point_at(k / count) for k in range(count)]
        else:
            points.append(curve.start)
        last = curve.end
    if last is not None:
        points.append(last)
    return points


def integers(points: Sequence[tuple[float, float]]) -> list[tuple[int, int]]:
    """Return points in the library's integers."""
    return [(round(x * SCALE), round(y * SCALE)) for x, y in points]


def rings(outline: Outline, islands: Sequence[Outline]) -> list[list[tuple[int, int]]]:
    """Return a pocket as rings, outer anticlockwise, islands clockwise."""
    found = [integers(points_of(outline.counterclockwise().curves)[:-1])]
    found += [integers(points_of(i.counterclockwise().reversed().curves)[:-1]) for i in islands]
    return found


def offset(
    paths: list[list[tuple[int, int]]], by: float, *, closed: bool = True, arc_step: float = ARC_STEP
) -> list[list[tuple[int, int]]]:
    """Return polygons grown by a length, mm, or lines grown to polygons."""
    if not paths:
        return []
    tool = pyclipper.PyclipperOffset(2.0, arc_step * SCALE)
    kind = pyclipper.ET_CLOSEDPOLYGON if closed else pyclipper.ET_OPENROUND
    tool.AddPaths(paths, pyclipper.JT_ROUND, kind)
    return tool.Execute(by * SCALE)  # type: ignore[no-any-return]


def difference(a: list[list[tuple[int, int]]], b: list[list[tuple[int, int]]]) -> list[list[tuple[int, int]]]:
    """Return what of ``a`` lies outside ``b``."""
    if not a:
        return []
    tool = pyclipper.Pyclipper()
    tool.AddPaths(a, pyclipper.PT_SUBJECT, True)
    if b:
        tool.AddPaths(b, pyclipper.PT_CLIP, True)
    return tool.Execute(pyclipper.CT_DIFFERENCE, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)  # type: ignore[no-any-return]


def area(paths: list[list[tuple[int, int]]]) -> float:
    """Return the area of polygons with holes, mm2."""
    return float(sum(pyclipper.Area(p) for p in paths)) / SCALE**2


def thick(paths: list[list[tuple[int, int]]], thin: float = THIN) -> float:
    """Return the area of what is thicker than twice :data:`THIN`, mm2."""
    return area(offset(paths, -thin))


def unfolded(chain: Sequence[Curve]) -> list[list[Curve]]:
    """Return a chain cut where it turns back: the library's offset of a line that lies on itself has holes."""
    parts: list[list[Curve]] = [[]]
    for curve in chain:
        if parts[-1]:
            (ax, ay), (bx, by) = parts[-1][-1].tangent_at(1.0), curve.tangent_at(0.0)
            if ax * bx + ay * by < -0.5:
                parts.append([])
        parts[-1].append(curve)
    return [part for part in parts if part]


def swept(chains: Iterable[Sequence[Curve]], radius: float) -> list[list[tuple[int, int]]]:
    """Return what a cutter sweeps along chains."""
    lines = [integers(points_of(part)) for chain in chains for part in unfolded(chain)]
    lines = [[p for k, p in enumerate(line) if k == 0 or p != line[k - 1]] for line in lines]
    return offset([line for line in lines if len(line) > 1], radius, closed=False)


def swept_piece_by_piece(curves: Iterable[Curve], radius: float, coarse: float) -> list[list[tuple[int, int]]]:
    """Return what a cutter sweeps along many curves that lie across each other, good to ``coarse``, mm."""
    pieces: list[list[tuple[int, int]]] = []
    for curve in curves:
        line = integers(points_of([curve], coarse))
        if len(line) > 1 and line[0] != line[1]:
            pieces += offset([line], radius, closed=False, arc_step=coarse)
    tool = pyclipper.Pyclipper()
    tool.AddPaths(pieces, pyclipper.PT_SUBJECT, True)
    return tool.Execute(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)  # type: ignore[no-any-return]


def opening(pocket: list[list[tuple[int, int]]], radius: float) -> list[list[tuple[int, int]]]:
    """Return what a cutter of this radius can reach of a pocket: in by its radius, and out again."""
    return offset(offset(pocket, -radius), radius)


def least_distance(chains: Iterable[Sequence[Curve]], walls: Sequence[Outline]) -> float:
    """Return the least distance of chains from walls, mm, by the polygon library's distances."""
    lines = shapely.MultiLineString([np.array(points_of(chain, 1e-5)) for chain in chains])
    edges = shapely.MultiLineString([np.array(points_of(w.curves, 1e-5)) for w in walls])
    return float(shapely.distance(lines, edges))
