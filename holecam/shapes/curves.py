"""Straight segments, circular arcs and circles as exact values, in millimetres.

An arc is held the way a mill runs it: end points, centre and sense. Nothing here is ever replaced by chords, because a
polygon drawn for a circle lies inside it and hides metal.
"""

from __future__ import annotations

import math
from functools import cached_property

from msgspec import Struct

from holecam.errors import InputError

Point = tuple[float, float]
"""(x, y), mm."""

ARC_RADIUS_MISMATCH = 1e-6
"""mm. The two radii of an arc (centre to start, centre to end) may differ by this much: arithmetic noise of a shape
that was rotated or read from a drawing, far below the 0.002 mm that the published interpreter refuses."""

SAME_POINT = 1e-9
"""mm. Two points nearer than this are one point: arithmetic noise."""


def distance(a: Point, b: Point) -> float:
    """Return the distance between two points, mm."""
    return math.dist(a, b)


def _finite(points: tuple[Point, ...], what: str) -> None:
    # A sum is finite only when all its parts are; one of huge numbers that is not is looked at again
    if not math.isfinite(sum(map(sum, points))) and not all(math.isfinite(c) for p in points for c in p):
        raise InputError(f"{what}: expected finite coordinates, got {points}")


class Segment(Struct, frozen=True):
    """A straight line from ``start`` to ``end``."""

    start: Point
    end: Point

    def __post_init__(self) -> None:
        _finite((self.start, self.end), "segment")

    @property
    def length(self) -> float:
        """Length, mm."""
        return distance(self.start, self.end)

    def nearest(self, p: Point) -> Point:
        """Return the point of the segment that is nearest to ``p``."""
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        square = dx * dx + dy * dy
        if square == 0.0:
            return self.start
        along = ((p[0] - self.start[0]) * dx + (p[1] - self.start[1]) * dy) / square
        along = min(1.0, max(0.0, along))
        return (self.start[0] + along * dx, self.start[1] + along * dy)

    def point_at(self, share: float) -> Point:
        """Return the point at a share (0 to 1) of the length."""
        return (
            self.start[0] + share * (self.end[0] - self.start[0]),
            self.start[1] + share * (self.end[1] - self.start[1]),
        )

    def tangent_at(self, share: float) -> Point:
        """Return the unit direction of travel (the same everywhere)."""
        size = self.length
        if size == 0.0:
            raise InputError("segment of no length has no direction")
        return ((self.end[0] - self.start[0]) / size, (self.end[1] - self.start[1]) / size)

    def reversed(self) -> Segment:
        """Return the same line travelled the other way."""
        return Segment(self.end, self.start)


class Arc(Struct, frozen=True, dict=True):
    """A circular arc from ``start`` to ``end`` about ``center``; equal ends mean the full circle.

    ``ccw`` is True when it is travelled anticlockwise seen from +Z (G3).
    """

    start: Point
    end: Point
    center: Point
    ccw: bool

    def __post_init__(self) -> None:
        _finite((self.start, self.end, self.center), "arc")
        r0, r1 = distance(self.center, self.start), distance(self.center, self.end)
        if r0 <= SAME_POINT:
            raise InputError(f"arc about {self.center}: expected a radius above zero")
        if abs(r0 - r1) > ARC_RADIUS_MISMATCH * max(1.0, r0):
            raise InputError(f"arc about {self.center}: its ends lie {r0:.6f} and {r1:.6f} mm from the centre")

    @cached_property
    def radius(self) -> float:
        """Radius, mm."""
        return distance(self.center, self.start)

    @cached_property
    def start_angle(self) -> float:
        """Angle of the start, radians, -pi to pi, anticlockwise from +X."""
        return math.atan2(self.start[1] - self.center[1], self.start[0] - self.center[0])

    @cached_property
    def sweep(self) -> float:
        """Signed angle travelled, radians: above 0 anticlockwise, never 0, at most a full turn."""
        if distance(self.start, self.end) <= SAME_POINT:
            return math.tau if self.ccw else -math.tau
        end = math.atan2(self.end[1] - self.center[1], self.end[0] - self.center[0])
        turn = (end - self.start_angle) % math.tau
        return turn if self.ccw else turn - math.tau

    @property
    def length(self) -> float:
        """Length along the arc, mm."""
        return abs(self.sweep) * self.radius

    def covers(self, p: Point) -> bool:
        """Return whether the ray from the centre through ``p`` meets the arc (its end points included)."""
        angle = math.atan2(p[1] - self.center[1], p[0] - self.center[0])
        turn = (angle - self.start_angle) % math.tau
        sweep = self.sweep
        return turn <= sweep if sweep > 0 else (math.tau - turn) % math.tau <= -sweep

    def nearest(self, p: Point) -> Point:
        """Return the point of the arc that is nearest to ``p`` (the start when ``p`` is the centre)."""
        away = distance(self.center, p)
        if away > SAME_POINT and self.covers(p):
            scale = self.radius / away
            return (
                self.center[0] + (p[0] - self.center[0]) * scale,
                self.center[1] + (p[1] - self.center[1]) * scale,
            )
        return self.start if distance(p, self.start) <= distance(p, self.end) else self.end

    def point_at(self, share: float) -> Point:
        """Return the point at a share (0 to 1) of the arc."""
        if share == 0.0:
            return self.start
        if share == 1.0:
            return self.end
        angle, r = self.start_angle + share * self.sweep, self.radius
        return (self.center[0] + r * math.cos(angle), self.center[1] + r * math.sin(angle))

    def tangent_at(self, share: float) -> Point:
        """Return the unit direction of travel at a share (0 to 1) of the arc."""
        angle = self.start_angle + share * self.sweep
        side = 1.0 if self.ccw else -1.0
        return (-side * math.sin(angle), side * math.cos(angle))

    def reversed(self) -> Arc:
        """Return the same arc travelled the other way."""
        return Arc(self.end, self.start, self.center, not self.ccw)


Curve = Segment | Arc


class Circle(Struct, frozen=True):
    """A full circle: a hole, a plug, a round keep-out."""

    center: Point
    radius: float

    def __post_init__(self) -> None:
        _finite((self.center, (self.radius, 0.0)), "circle")
        if self.radius <= 0.0:
            raise InputError(f"circle at {self.center}: expected a radius above zero, got {self.radius}")


def curve_bounds(curve: Curve) -> tuple[float, float, float, float]:
    """Return (x least, y least, x greatest, y greatest) of a segment or arc, mm; exact for arcs."""
    xs, ys = [curve.start[0], curve.end[0]], [curve.start[1], curve.end[1]]
    if isinstance(curve, Arc):
        (cx, cy), r = curve.center, curve.radius
        for extreme in ((cx + r, cy), (cx - r, cy), (cx, cy + r), (cx, cy - r)):
            if curve.covers(extreme):
                xs.append(extreme[0])
                ys.append(extreme[1])
    return (min(xs), min(ys), max(xs), max(ys))
