"""Rigid motions in the plane: turn, shift and mirror, and nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from holecam.errors import InputError
from holecam.shapes.curves import Arc, Circle, Curve, Point, Segment
from holecam.shapes.outline import Outline

_QUARTER_COSINES = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}


@dataclass(frozen=True, slots=True)
class Placement:
    """Mirror about the Y axis (x to -x) if asked, then turn anticlockwise, then shift.

    It carries points of one frame into another and cannot hold a scale or a shear. ``a @ b`` applies ``b`` first, so
    ``machine_from_part @ part_from_pattern`` reads as a chain.
    """

    turn_deg: float = 0.0
    shift: Point = (0.0, 0.0)
    mirror: bool = False

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (self.turn_deg, *self.shift)):
            raise InputError(f"placement: expected finite turn and shift, got {self.turn_deg} and {self.shift}")

    @property
    def cos_sin(self) -> tuple[float, float]:
        """Cosine and sine of the turn; exact at quarter turns (the library cosine of 90 degrees is 6e-17)."""
        turn = self.turn_deg % 360.0
        if turn in _QUARTER_COSINES:
            return _QUARTER_COSINES[int(turn)]
        return (math.cos(math.radians(turn)), math.sin(math.radians(turn)))

    def apply(self, p: Point) -> Point:
        """Return where a point comes to lie."""
        x, y = self.apply_vector(p)
        return (x + self.shift[0], y + self.shift[1])

    def apply_vector(self, v: Point) -> Point:
        """Return where a direction comes to point: mirror and turn without the shift."""
        c, s = self.cos_sin
        x = -v[0] if self.mirror else v[0]
        return (c * x - s * v[1], s * x + c * v[1])

    def apply_all(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Return where several points come to lie."""
        return tuple(self.apply(p) for p in points)

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
        bare = Placement(turn, (0.0, 0.0), self.mirror)
        x, y = bare.apply(self.shift)
        return Placement(turn, (-x, -y), self.mirror)

    def __matmul__(self, first: Placement) -> Placement:
        """Return the motion that does ``first`` and then this one."""
        turn = self.turn_deg + (-first.turn_deg if self.mirror else first.turn_deg)
        return Placement(turn, self.apply(first.shift), self.mirror is not first.mirror)
