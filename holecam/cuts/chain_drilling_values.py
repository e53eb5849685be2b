"""Chain drilling as values: a row of holes inside the line, for shapes that two handwheels cannot follow."""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Point


class ChainDrilling(Struct, frozen=True):
    """Holes inside the line.

    ``drill`` is their diameter; ``least_web`` is the least metal left between two of them and ``least_allowance``
    the least between a hole and the line, both as planned, mm; ``wished_web`` and ``wished_allowance`` as asked for.
    ``greatest_web`` is the widest metal between a hole and the one next to it. ``skipped`` are places without a hole,
    because it would come nearer to another than the web asked for.
    """

    drill: float
    centres: tuple[Point, ...]
    wished_web: float
    wished_allowance: float
    least_web: float
    greatest_web: float
    least_allowance: float
    skipped: tuple[Point, ...] = ()
