"""Exact distances between points, segments, arcs, circles, chains and outlines, and where two curves cross.

The least distance between two curves that do not cross is reached at an end of one of them, or where one line is
square to both: through the arc's centre across a segment, through both centres for two arcs. Every such place is
looked at; no curve is replaced by chords.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes.curves import SAME_POINT, Arc, Circle, Curve, Point, Segment, curve_bounds, distance
from holecam.shapes.outline import Outline, circle_outline

ON_CURVE = 1e-9
"""mm. A computed crossing may miss the ends of a curve by this much and still count: arithmetic noise."""

PARALLEL = 1e-14
"""Ratio. Sine of the angle below which two straight lines count as parallel: noise of float64 products."""

Chain = Sequence[Curve]
"""Curves that belong together, joined or not: a bend line, a joint, the edge of an outline."""


class Approach(Struct, frozen=True):
    """The least distance between two shapes, mm, and the two points where it is reached."""

    distance: float
    on_first: Point
    on_second: Point

    def swapped(self) -> Approach:
        """Return the same approach seen from the second shape."""
        return Approach(self.distance, self.on_second, self.on_first)


def _approach(a: Point, b: Point) -> Approach:
    return Approach(distance(a, b), a, b)


def _least(options: Iterable[Approach]) -> Approach:
    return min(options, key=lambda option: option.distance)


def point_to_curve(p: Point, curve: Curve) -> float:
    """Return the distance from a point to a segment or arc, mm."""
    return distance(p, curve.nearest(p))


def point_to_circle(p: Point, circle: Circle) -> float:
    """Return how far a point lies outside a circle, mm; negative inside it, minus the radius at the centre."""
    return distance(p, circle.center) - circle.radius


def point_to_chain(p: Point, chain: Chain) -> float:
    """Return the distance from a point to the nearest of several curves, mm.

    Raises
    ------
    InputError
        There is no curve: the distance to nothing is not known, and is never zero.
    """
    _some(chain)
    return min(point_to_curve(p, c) for c in chain)


def circle_gap(a: Circle, b: Circle) -> float:
    """Return the metal between two circles, mm; negative by the depth of the bite when they overlap."""
    return distance(a.center, b.center) - a.radius - b.radius


def circle_to_curve(circle: Circle, curve: Curve) -> float:
    """Return the metal between a round hole and a curve, mm; negative when the curve enters the hole."""
    return point_to_curve(circle.center, curve) - circle.radius


def circle_to_outline(circle: Circle, outline: Outline) -> float:
    """Return the metal between a hole and the edge of the part that it lies in, mm.

    Negative when the hole breaks through the edge, and still more negative with its centre outside.
    """
    return outline.inside_by(circle.center) - circle.radius


def nearest_approach(a: Curve, b: Curve) -> Approach:
    """Return the least distance between two curves and where it is reached; 0 where they cross or touch.

    >>> nearest_approach(Segment((-5, 0), (5, 0)), Arc((3, 4), (-3, 4), (0, 4), ccw=False)).distance
    1.0
    """
    met = crossings(a, b)
    if met:
        return Approach(0.0, met[0], met[0])
    options = [_approach(p, b.nearest(p)) for p in _ends(a)]
    options += [_approach(a.nearest(p), p) for p in _ends(b)]
    options += [_approach(p, q) for p, q in _square_pairs(a, b)]
    return _least(options)


def chain_approach(first: Chain, second: Chain) -> Approach:
    """Return the least distance between two chains of curves and where it is reached.

    Raises
    ------
    InputError
        One of the chains is empty.
    """
    _some(first)
    _some(second)
    boxes = [curve_bounds(b) for b in second]
    best = nearest_approach(first[0], second[0])
    bound = best.distance
    for a in first:
        box = curve_bounds(a)
        apart = [_apart(box, other) for other in boxes]
        likely = min(range(len(apart)), key=apart.__getitem__)
        if apart[likely] >= bound + SAME_POINT:
            continue
        # the pair with the nearest boxes first: what it finds spares most of the others
        at_likely = nearest_approach(a, second[likely])
        bound = min(bound, at_likely.distance)
        for n, b in enumerate(second):
            if apart[n] < bound + SAME_POINT:
                found = at_likely if n == likely else nearest_approach(a, b)
                best, bound = _least((best, found)), min(bound, found.distance)
    return best


def _apart(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> float:
    """Return the distance between two boxes, mm: two curves are no nearer to each other than the boxes round them."""
    (x0, y0, x1, y1), (u0, v0, u1, v1) = a, b
    return math.hypot(max(u0 - x1, x0 - u1, 0.0), max(v0 - y1, y0 - v1, 0.0))


def outline_gap(a: Outline, b: Outline) -> float:
    """Return the free distance between two areas, mm: 0 when they overlap, touch, or one lies inside the other."""
    if a.contains(b.curves[0].start) or b.contains(a.curves[0].start):
        return 0.0
    return chain_approach(a.curves, b.curves).distance


def curves_of(shape: Outline | Circle | Chain) -> tuple[Curve, ...]:
    """Return the curves that a shape's edge consists of."""
    if isinstance(shape, Circle):
        return circle_outline(shape).curves
    return tuple(shape.curves) if isinstance(shape, Outline) else tuple(shape)


def crossings(a: Curve, b: Curve) -> tuple[Point, ...]:
    """Return the points that two curves share; none for curves that lie on each other along a stretch.

    Touching counts, to :data:`ON_CURVE`. Ends that meet within it are one crossing.
    """
    if isinstance(a, Segment) and isinstance(b, Segment):
        found = _line_line(a, b)
    elif isinstance(a, Segment) and isinstance(b, Arc):
        found = line_circle(a.start, a.end, b.center, b.radius)
    elif isinstance(a, Arc) and isinstance(b, Segment):
        found = line_circle(b.start, b.end, a.center, a.radius)
    else:
        assert isinstance(a, Arc)
        assert isinstance(b, Arc)
        found = circle_circle(a.center, a.radius, b.center, b.radius)
    kept: list[Point] = []
    for p in found:
        near_both = point_to_curve(p, a) <= ON_CURVE and point_to_curve(p, b) <= ON_CURVE
        if near_both and all(distance(p, q) > ON_CURVE for q in kept):
            kept.append(p)
    return tuple(kept)


def line_circle(start: Point, end: Point, center: Point, radius: float) -> tuple[Point, ...]:
    """Return where the endless line through two points meets a circle: none, the touching point, or two."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = math.hypot(dx, dy)
    if size == 0.0:
        return ()
    ux, uy = dx / size, dy / size
    along = (center[0] - start[0]) * ux + (center[1] - start[1]) * uy
    foot = (start[0] + along * ux, start[1] + along * uy)
    off = (center[0] - start[0]) * uy - (center[1] - start[1]) * ux
    half_square = (radius - off) * (radius + off)
    if half_square < 0.0:
        touch = (center[0] - off * uy, center[1] + off * ux)
        return (touch,) if abs(off) - radius <= ON_CURVE else ()
    half = math.sqrt(half_square)
    if half == 0.0:
        return (foot,)
    return ((foot[0] - half * ux, foot[1] - half * uy), (foot[0] + half * ux, foot[1] + half * uy))


def circle_circle(a: Point, a_radius: float, b: Point, b_radius: float) -> tuple[Point, ...]:
    """Return where two circles meet: none, the touching point, or two; none for one circle stated twice."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    apart = math.hypot(dx, dy)
    if apart == 0.0:
        return ()
    ux, uy = dx / apart, dy / apart
    # (apart^2 + ra^2 - rb^2) / (2 apart), written so that nearly equal radii lose no digits
    along = 0.5 * (apart + (a_radius - b_radius) * (a_radius + b_radius) / apart)
    half_square = (a_radius - along) * (a_radius + along)
    if half_square <= 0.0:
        along = math.copysign(a_radius, along)
        touch = (a[0] + along * ux, a[1] + along * uy)
        return (touch,) if abs(distance(touch, b) - b_radius) <= ON_CURVE else ()
    half = math.sqrt(half_square)
    x, y = a[0] + along * ux, a[1] + along * uy
    return ((x - half * uy, y + half * ux), (x + half * uy, y - half * ux))


def _line_line(a: Segment, b: Segment) -> tuple[Point, ...]:
    ax, ay = a.end[0] - a.start[0], a.end[1] - a.start[1]
    bx, by = b.end[0] - b.start[0], b.end[1] - b.start[1]
    cross = ax * by - ay * bx
    if abs(cross) <= PARALLEL * math.hypot(ax, ay) * math.hypot(bx, by):
        # On one line, or side by side: they can share an end, and otherwise no single point
        return tuple(p for p in (*_ends(a), *_ends(b)) if _shared_end(p, a, b))
    share = ((b.start[0] - a.start[0]) * by - (b.start[1] - a.start[1]) * bx) / cross
    p = (a.start[0] + share * ax, a.start[1] + share * ay)
    # An end that lies on the other line is that end, to the last bit
    return (next((q for q in (*_ends(a), *_ends(b)) if distance(p, q) <= ON_CURVE), p),)


def _shared_end(p: Point, a: Segment, b: Segment) -> bool:
    return point_to_curve(p, a) <= ON_CURVE and point_to_curve(p, b) <= ON_CURVE


def _ends(curve: Curve) -> tuple[Point, Point]:
    return (curve.start, curve.end)


def _square_pairs(a: Curve, b: Curve) -> list[tuple[Point, Point]]:
    """Return the pairs of points (on a, on b) whose joining line is square to both curves, away from their ends."""
    if isinstance(a, Segment) and isinstance(b, Segment):
        return []
    if isinstance(a, Arc) and isinstance(b, Segment):
        return [(p, q) for q, p in _square_pairs(b, a)]
    if isinstance(a, Segment):
        assert isinstance(b, Arc)
        foot = a.nearest(b.center)
        dx, dy = foot[0] - b.center[0], foot[1] - b.center[1]
        away = math.hypot(dx, dy)
        if away == 0.0:  # the line passes through the centre: its ends decide
            return []
        return [(foot, q) for q in _on_arc(b, dx / away, dy / away)]
    assert isinstance(b, Arc)
    dx, dy = b.center[0] - a.center[0], b.center[1] - a.center[1]
    apart = math.hypot(dx, dy)
    if apart == 0.0:  # concentric: an end of one faces the other, or ends are nearest
        return []
    return [(p, q) for p in _on_arc(a, dx / apart, dy / apart) for q in _on_arc(b, dx / apart, dy / apart)]


def _on_arc(arc: Arc, ux: float, uy: float) -> list[Point]:
    """Return the points of the arc in a direction from its centre and in the opposite one, where it has them."""
    (cx, cy), r = arc.center, arc.radius
    return [p for p in ((cx + r * ux, cy + r * uy), (cx - r * ux, cy - r * uy)) if arc.covers(p)]


def _some(chain: Chain) -> None:
    if not chain:
        raise InputError("distance to a chain of no curves: expected at least one line or arc")
