"""The order in which holes are drilled: short travel for a CNC, one-sided approach for a hand-driven table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.short_tours import improved_order
from holecam.shapes import Point, distance

End = Literal["anywhere", "back at the start"]


class Tour(Struct, frozen=True):
    """An order of points, by their indices from 0, and the straight travel it takes, mm.

    The travel counts from the start point when there is one, and back to the beginning when the tour ends there.
    """

    order: tuple[int, ...]
    travel: float


def short_tour(points: Sequence[Point], *, start: Point | None = None, end: End = "anywhere") -> Tour:
    """Return a short order in which to visit the points; the same points always give the same order.

    Parameters
    ----------
    points : sequence of Point
        Hole centres, mm.
    start : Point, optional
        Where the tool stands before the first hole; without it the tour may begin at any hole.
    end : {"anywhere", "back at the start"}
        Whether the way home counts.

    Raises
    ------
    InputError
        Coordinates that are not finite.
    """
    for k, p in enumerate(points):
        if not (math.isfinite(p[0]) and math.isfinite(p[1])):
            raise InputError(f"drilling order: point {k + 1} is {p}; expected finite coordinates")
    if start is not None and not (math.isfinite(start[0]) and math.isfinite(start[1])):
        raise InputError(f"drilling order: the start is {start}; expected finite coordinates")
    order = improved_order(points, start=start, closed=end == "back at the start")
    return Tour(tuple(order), tour_travel(points, order, start=start, end=end))


def tour_travel(
    points: Sequence[Point], order: Sequence[int], *, start: Point | None = None, end: End = "anywhere"
) -> float:
    """Return the straight travel of an order, mm."""
    way = [points[k] for k in order]
    if start is not None:
        way.insert(0, start)
    if end == "back at the start" and way:
        way.append(way[0])
    return math.fsum(distance(a, b) for a, b in pairwise(way))
