"""Chain drilling as values: a row of holes inside the line, for shapes that two handwheels cannot follow."""

from __future__ import annotations

from dataclasses import dataclass

from holecam.shapes import Point


@dataclass(frozen=True, slots=True)
class ChainDrilling:
    """Holes inside the line.

    ``drill`` is their diameter; ``least_web`` is the least metal left between two of them and ``least_allowance``
    the least between a hole and the line, both as planned, mm; ``wished_web`` and ``wished_allowance`` as asked for.
    ``cut_webs`` counts the webs to be cut through. ``skipped`` tells where the line was too narrow for the drill.
    """

    drill: float
    centres: tuple[Point, ...]
    wished_web: float
    wished_allowance: float
    least_web: float
    greatest_web: float
    least_allowance: float
    skipped: tuple[Point, ...] = ()
