"""The motions that the part may make while it is brought over its screws."""

from __future__ import annotations

import math
from enum import StrEnum

from msgspec import Struct, field

from holecam.errors import InputError
from holecam.shapes import Placement, Point


class Freedom(StrEnum):
    """What the part may still do when the screws are put in."""

    FREE = "free"
    """Turn and shift: it lies loose on the mate."""

    SHIFT = "shift"
    """Shift both ways without turning: kept parallel."""

    ALONG = "along"
    """Slide along one direction: an edge or a bar guides it."""

    ABOUT = "about"
    """Turn about one point: a pin or a dowel holds it."""

    HELD = "held"
    """Nothing: two dowels or two edges hold it."""


class Motion(Struct, frozen=True):
    """What the part may do, and where it starts from.

    Parameters
    ----------
    freedom : Freedom
    start : Placement
        Mate frame from part frame before any adjustment. It decides the answer unless ``freedom`` is ``FREE``; a mirror
        asked for here is kept, and none is ever made otherwise.
    direction_deg : float
        For ``ALONG``: the way it slides, anticlockwise from +X of the mate.
    pivot : Point
        For ``ABOUT``: the pin, in the mate's frame. The point of the part that ``start`` puts there stays there.
    """

    freedom: Freedom = Freedom.FREE
    start: Placement = field(default_factory=Placement)
    direction_deg: float = 0.0
    pivot: Point = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (self.direction_deg, *self.pivot)):
            raise InputError(f"motion: expected finite figures, got {self.direction_deg} deg and {self.pivot}")

    @property
    def turns(self) -> bool:
        """Whether the part may turn."""
        return self.freedom in (Freedom.FREE, Freedom.ABOUT)

    @property
    def shift_directions(self) -> tuple[Point, ...]:
        """The independent directions of shift, as unit vectors of the mate's frame."""
        if self.freedom in (Freedom.FREE, Freedom.SHIFT):
            return ((1.0, 0.0), (0.0, 1.0))
        if self.freedom is Freedom.ALONG:
            return (Placement(self.direction_deg).apply_vector((1.0, 0.0)),)
        return ()
