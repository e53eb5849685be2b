"""What strokes leave at a height: the metal that stays beside bends and shoulders, sized and drawn.

For sizes and pictures, not for decisions: arcs are replaced by chords that lie within a micron of them. What the
cutter may do is decided by exact distances elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache

import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from holecam.cuts.inside_bend_wall import BendWall
from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Point, outline_through

CHORD_ERROR = 0.0005
"""mm. How far a chord may lie from its arc: half a micron, so that two of them stay within one."""

SLIVER = 0.002
"""mm. What is narrower than this is noise of the chords and no metal."""

GRID = 1e-6
"""mm. Areas are cut and joined on points of this grid: exact points can make the geometry library give up where edges
nearly meet. A thousandth of what is taken for noise."""

MOST_SEGMENTS = 400
"""Chords in a quarter circle at most: enough for half a micron on a radius of 65 mm."""


class KeptOff(Struct, frozen=True):
    """A line in plan that the cutter's axis stays ``away`` from, mm: a wall run on, or a shoulder that stays."""

    line: tuple[Curve, ...]
    away: float
    is_shoulder: bool = False


class Leftover(Struct, frozen=True, dict=True):
    """Metal of the region that stays at one height.

    ``area`` in mm2; ``width`` is the diameter of the greatest circle that fits into it, mm.
    """

    z: float
    area: float
    width: float
    pieces: tuple[BaseGeometry, ...]

    @cached_property
    def outlines(self) -> tuple[Outline, ...]:
        """Its outer edges as polygons within a micron of the true curves (holes do not occur beside a wall)."""
        return tuple(_outline(piece) for piece in self.pieces)


def wall_kept_off(wall: BendWall, away: float, *, reach: float) -> KeptOff:
    """Return a wall, run straight on by ``reach``, with the distance that the axis keeps, mm."""
    return KeptOff(wall.run_on(reach), away)


def leftover(region: Outline, ways: Iterable[Sequence[Curve]], *, cutting_radius: float, z: float) -> Leftover:
    """Return what stays of the region when the axis has gone these ways, each a joined chain.

    Parameters
    ----------
    ways : iterable of chains
        All that the cutter goes at the height; what could be reached by another way, and is not, stays too.
    cutting_radius : float
        Radius that is cleared, mm: the cutter's, less the corner radius for what is to be flat.
    z : float
        Height that the answer is for; only carried along.

    Raises
    ------
    InputError
        The region crosses itself.
    """
    rest = _without_slivers(metal_left(region_polygon(region), ways, cutting_radius=cutting_radius))
    pieces = tuple(p for p in shapely.get_parts(rest) if p.geom_type == "Polygon" and p.area > 0.0)
    width = max((_inner_width(p) for p in pieces), default=0.0)
    return Leftover(z, math.fsum(p.area for p in pieces), width, pieces)


def metal_left(area: BaseGeometry, ways: Iterable[Sequence[Curve]], *, cutting_radius: float) -> BaseGeometry:
    """Return what stays of an area of metal after these ways, noise of the chords included."""
    in_order = tuple(tuple(way) for way in ways)
    # the last way, beside the bend, is another at every height; those before it are shared by many
    rest = area
    for some in (in_order[:-1], in_order[-1:]):
        rest = _left_by(rest, some, cutting_radius) if some else rest
    return rest


def takes_some(rest: BaseGeometry, way: Sequence[Curve], *, cutting_radius: float) -> bool:
    """Return whether one more way takes any of what stays, noise of the chords left out."""
    gone = _swept_by_one(tuple(way), cutting_radius)
    return not shapely.is_empty(_narrowed(_areas(shapely.intersection(rest, gone, grid_size=GRID))))


# Many passes share strokes, and what they leave is asked for twice: while strokes are laid, and for the report


@lru_cache(maxsize=512)
def _swept_by_one(way: tuple[Curve, ...], cutting_radius: float) -> BaseGeometry:
    return _grown(shapely.LineString(points_along(way, CHORD_ERROR)), cutting_radius)


@lru_cache(maxsize=128)
def _left_by(area: BaseGeometry, ways: tuple[tuple[Curve, ...], ...], cutting_radius: float) -> BaseGeometry:
    gone = shapely.union_all([_swept_by_one(way, cutting_radius) for way in ways], grid_size=GRID)
    return _areas(shapely.difference(area, gone, grid_size=GRID))


def reached_area(region: Outline, kept_off: Sequence[KeptOff], *, cutting_radius: float) -> float:
    """Return how much of the region the cutter can clear, mm2."""
    area = region_polygon(region)
    return float(shapely.intersection(area, _reached(area, kept_off, cutting_radius), grid_size=GRID).area)


def region_polygon(region: Outline) -> BaseGeometry:
    """Return the region with arcs as chords.

    Raises
    ------
    InputError
        It crosses itself.
    """
    polygon = shapely.Polygon(points_along(region.curves, CHORD_ERROR)[1:])
    if not polygon.is_valid:
        raise InputError("region to clear: its edge crosses itself; draw it as one simple outline", key="region")
    return polygon


def points_along(curves: Sequence[Curve], chord_error: float) -> list[Point]:
    """Return the points of a chain with arcs as chords no farther from them than ``chord_error``, mm."""
    points: list[Point] = [curves[0].start]
    for curve in curves:
        pieces = 1
        if isinstance(curve, Arc):
            step = 2.0 * math.acos(max(1.0 - chord_error / curve.radius, 0.0))
            pieces = max(2, math.ceil(abs(curve.sweep) / step))
        points += [curve.point_at(n / pieces) for n in range(1, pieces)]
        points.append(curve.end)  # to the last bit: a ring that misses its start by a hair crosses itself
    return points


def _reached(area: BaseGeometry, kept_off: Sequence[KeptOff], cutting_radius: float) -> BaseGeometry:
    room = _grown(area, 2.0 * cutting_radius)
    for barrier in kept_off:
        line = shapely.LineString(points_along(barrier.line, CHORD_ERROR))
        room = _areas(shapely.difference(room, _grown(line, barrier.away), grid_size=GRID))
    return _grown(room, cutting_radius)


def _grown(shape: BaseGeometry, by: float) -> BaseGeometry:
    if by <= 0.0:
        return shape
    step = 2.0 * math.acos(max(1.0 - CHORD_ERROR / by, 0.0))
    return shapely.buffer(shape, by, quad_segs=min(MOST_SEGMENTS, max(8, math.ceil(0.5 * math.pi / step))))


def _without_slivers(shape: BaseGeometry) -> BaseGeometry:
    opened = shapely.buffer(_narrowed(shape), SLIVER / 2, join_style="mitre")
    return _areas(shapely.intersection(shape, opened, grid_size=GRID))


def _narrowed(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape less half a sliver's width all round: nothing of what is narrower than a sliver."""
    return shapely.buffer(shape, -SLIVER / 2, join_style="mitre")


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """Return the areas of what a cut of two shapes gives; points and lines where they only touch are no metal."""
    return shapely.MultiPolygon([p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"])


def _inner_width(polygon: BaseGeometry) -> float:
    tolerance = max(1e-3, 1e-4 * math.sqrt(polygon.area))
    return 2.0 * float(shapely.maximum_inscribed_circle(polygon, tolerance=tolerance).length)


def _outline(polygon: BaseGeometry) -> Outline:
    plain = shapely.simplify(polygon, CHORD_ERROR)
    ring = [(float(x), float(y)) for x, y in shapely.get_coordinates(shapely.get_exterior_ring(plain))]
    return outline_through(ring[:-1])
