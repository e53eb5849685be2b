"""Rigid motions in the plane: turn, shift and mirror, and nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes.angles import cos_sin_deg
from holecam.shapes.curves import Arc, Circle, Curve, Point, Segment, distance
from holecam.shapes.outline import Outline


class Placement(Struct, frozen=True):
    """Take the pivot to the origin, mirror (x to -x) if asked, turn anticlockwise, then shift.

    It carries points of one frame into another and cannot hold a scale or a shear. ``a @ b`` applies ``b`` first, so
    ``machine_from_part @ part_from_pattern`` reads as a chain. The pivot comes out at ``shift`` to the last bit: with
    a reference hole as pivot, that hole lies exactly where it was asked, and the way back is as exact. One motion can
    be written with several pivots; :meth:`difference_at` compares motions, ``==`` compares the way they are written.
    """

    turn_deg: float = 0.0
    shift: Point = (0.0, 0.0)
    mirror: bool = False
    pivot: Point = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (self.turn_deg, *self.shift, *self.pivot)):
            raise InputError(
                f"placement: expected a finite turn, shift and pivot, got {self.turn_deg}, {self.shift}, {self.pivot}"
            )

    @property
    def cos_sin(self) -> tuple[float, float]:
        """Cosine and sine of the turn; exact at quarter turns (the library cosine of 90 degrees is 6e-17)."""
        return cos_sin_deg(self.turn_deg)

    def apply(self, p: Point) -> Point:
        """Return where a point comes to lie."""
        x, y = self.apply_vector((p[0] - self.pivot[0], p[1] - self.pivot[1]))
        return (x + self.shift[0], y + self.shift[1])

    def apply_vector(self, v: Point) -> Point:
        """Return where a direction comes to point: mirror and turn without the shift."""
        c, s = self.cos_sin
        x = -v[0] if self.mirror else v[0]
        return (c * x - s * v[1], s * x + c * v[1])

    def apply_all(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Return where several points come to lie."""
        (c, s), (px, py), (sx, sy) = self.cos_sin, self.pivot, self.shift
        side = -1.0 if self.mirror else 1.0
        return tuple(
            (c * (side * (x - px)) - s * (y - py) + sx, s * (side * (x - px)) + c * (y - py) + sy) for x, y in points
        )

    def apply_curve(self, curve: Curve) -> Curve:
        """Return a segment or arc moved; a mirror turns the sense of an arc round."""
        if isinstance(curve, Segment):
            return Segment(self.apply(curve.start), self.apply(curve.end))
        return Arc(
            self.apply(curve.start), self.apply(curve.end), self.apply(curve.center), curve.ccw is not self.mirror
        )

    def apply_outline(self, outline: Outline) -> Outline:
        """Return an outline moved."""
        return Outline(tuple(self.apply_curve(c) for c in outline.curves))

    def apply_circle(self, circle: Circle) -> Circle:
        """Return a circle moved."""
        return Circle(self.apply(circle.center), circle.radius)

    def inverse(self) -> Placement:
        """Return the motion back."""
        turn = self.turn_deg if self.mirror else -self.turn_deg
        return Placement(turn, self.pivot, self.mirror, self.shift)

    def __matmul__(self, first: Placement) -> Placement:
        """Return the motion that does ``first`` and then this one."""
        turn = self.turn_deg + (-first.turn_deg if self.mirror else first.turn_deg)
        return Placement(turn, self.apply(first.shift), self.mirror is not first.mirror, first.pivot)

    def about_origin(self) -> Placement:
        """Return the same motion with the origin as pivot: its shift is where the origin goes, for printing."""
        return Placement(self.turn_deg, self.apply((0.0, 0.0)), self.mirror)

    def difference_at(self, other: Placement, points: Iterable[Point]) -> float:
        """Return the largest distance, mm, by which two motions carry the same points apart; 0 for no points."""
        return max((distance(self.apply(p), other.apply(p)) for p in points), default=0.0)
