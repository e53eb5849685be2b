"""Closed outlines made of segments and arcs: a part's edge, a pocket's wall, an island, a keep-out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes.curves import SAME_POINT, Arc, Circle, Curve, Point, Segment, curve_bounds, distance

JOIN_GAP = 1e-6
"""mm. Ends of neighbouring parts of an outline may be this far apart: noise of drawings that store few digits.
Larger gaps are refused, because closing them silently would move an edge."""


class Outline(Struct, frozen=True):
    """A closed chain of segments and arcs, each starting where the one before ended.

    Either sense of travel is accepted; :meth:`counterclockwise` settles it. Crossing itself is not checked here.
    """

    curves: tuple[Curve, ...]

    def __post_init__(self) -> None:
        if not self.curves:
            raise InputError("outline: expected at least one line or arc")
        for before, after in zip(self.curves, self.curves[1:] + self.curves[:1], strict=True):
            gap = distance(before.end, after.start)
            if gap > JOIN_GAP:
                raise InputError(f"outline: a gap of {gap:.6f} mm between {before.end} and {after.start}; close it")

    @property
    def signed_area(self) -> float:
        """Area, mm2; above zero when travelled anticlockwise. Exact for arcs (Green's theorem)."""
        total = 0.0
        for c in self.curves:
            total += 0.5 * (c.start[0] * c.end[1] - c.end[0] * c.start[1])
            if isinstance(c, Arc):  # circular segment between chord and arc
                total += 0.5 * c.radius**2 * (c.sweep - math.sin(c.sweep))
        return total

    @property
    def area(self) -> float:
        """Enclosed area, mm2."""
        return abs(self.signed_area)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(x least, y least, x greatest, y greatest), mm."""
        boxes = [curve_bounds(c) for c in self.curves]
        return (
            min(b[0] for b in boxes),
            min(b[1] for b in boxes),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        )

    def counterclockwise(self) -> Outline:
        """Return the outline travelled anticlockwise, inside on the left."""
        return self if self.signed_area > 0 else self.reversed()

    def reversed(self) -> Outline:
        """Return the outline travelled the other way."""
        return Outline(tuple(c.reversed() for c in reversed(self.curves)))

    def nearest(self, p: Point) -> Point:
        """Return the point of the edge that is nearest to ``p``."""
        return min((c.nearest(p) for c in self.curves), key=lambda q: distance(p, q))

    def distance_to(self, p: Point) -> float:
        """Return the distance from ``p`` to the edge, mm, 0 on it, positive on both sides."""
        return distance(p, self.nearest(p))

    def contains(self, p: Point) -> bool:
        """Return whether ``p`` lies inside (winding number); on the edge the answer may be either."""
        winding = 0.0
        for c in self.curves:
            winding += _angle_seen(p, c)
        return abs(winding) > math.pi

    def inside_by(self, p: Point) -> float:
        """Return how far inside the edge ``p`` lies, mm; negative outside."""
        away = self.distance_to(p)
        return away if self.contains(p) else -away


def _angle_seen(p: Point, c: Curve) -> float:
    """Return the angle, radians, through which the curve passes as seen from ``p``."""
    ax, ay = c.start[0] - p[0], c.start[1] - p[1]
    bx, by = c.end[0] - p[0], c.end[1] - p[1]
    chord = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if isinstance(c, Segment):
        return chord
    full = abs(c.sweep) >= math.tau - 1e-12
    if distance(p, c.center) >= c.radius:
        return 0.0 if full else chord
    # From inside the disc the arc passes through an angle of its own sense, up to a full turn, that differs from the
    # chord's by full turns. Points on the chord itself (a centre between two half arcs) are not on the edge.
    if full:
        return math.copysign(math.tau, c.sweep)
    return chord % math.tau if c.ccw else -(-chord % math.tau)


def outline_through(points: Sequence[Point]) -> Outline:
    """Return the closed polygon through the points, in their order."""
    if len(points) < 3:
        raise InputError(f"outline: expected at least 3 points, got {len(points)}")
    closed = [*points, points[0]]
    return Outline(tuple(Segment(a, b) for a, b in pairwise(closed)))


def rectangle(x0: float, y0: float, x1: float, y1: float, *, corner_radius: float = 0.0) -> Outline:
    """Return an upright rectangle, anticlockwise from its lower left, with rounded corners at wish.

    Raises
    ------
    InputError
        A side is not positive, or the corner radius is negative or above half the shorter side.
    """
    wide, high, r = x1 - x0, y1 - y0, corner_radius
    if not (wide > 0 and high > 0):
        raise InputError(f"rectangle {wide} by {high} mm: expected both sides above zero")
    if not 0 <= r <= min(wide, high) / 2:
        raise InputError(f"corner radius {r} mm: expected 0 to {min(wide, high) / 2} mm, half the shorter side")
    if r <= SAME_POINT:
        return outline_through([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    parts: list[Curve] = []
    corners = [
        ((x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r)),
        ((x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r)),
        ((x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r)),
        ((x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r)),
    ]
    here = (x0 + r, y0)
    for start, end, center in corners:
        if distance(here, start) > JOIN_GAP:
            parts.append(Segment(here, start))
        parts.append(Arc(start, end, center, ccw=True))
        here = end
    return Outline(tuple(parts))


def circle_outline(circle: Circle) -> Outline:
    """Return a circle as an outline of two half arcs, anticlockwise."""
    (x, y), r = circle.center, circle.radius
    right, left = (x + r, y), (x - r, y)
    return Outline((Arc(right, left, (x, y), ccw=True), Arc(left, right, (x, y), ccw=True)))


def total_bounds(outlines: Iterable[Outline]) -> tuple[float, float, float, float]:
    """Return the bounds of several outlines together, mm."""
    boxes = [o.bounds for o in outlines]
    if not boxes:
        raise InputError("bounds: expected at least one outline")
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )
