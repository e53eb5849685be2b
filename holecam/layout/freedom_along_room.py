"""The place with the most room along one free direction: exact, by halving the margin that is asked for.

The shifts of a line that keep every limit by ``m`` are known in closed form (:func:`free_along` with every need larger
by ``m``), and they grow fewer as ``m`` grows. So the greatest margin is found by halving, whatever the line runs past.
"""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.freedom_field import Binding, Freedom
from holecam.layout.freedom_lines import free_along
from holecam.layout.freedom_roomiest import BINDS_WITHIN, GAP
from holecam.shapes import Point


class RoomiestAlong(Struct, frozen=True):
    """The shift of greatest margin along a line, ``way`` mm from its start; no shift of it has more than ``bound``."""

    way: float
    shift: Point
    margin: float
    bound: float
    bindings: tuple[Binding, ...]


def roomiest_along(freedom: Freedom, direction: Point, reach: float, *, gap: float = GAP) -> RoomiestAlong | None:
    """Return the shift of greatest margin along a direction, not longer than ``reach`` mm either way.

    Of shifts whose margins differ by less than ``gap`` mm the nearest counts. ``None`` when nothing is allowed there.

    Raises
    ------
    InputError
        The direction has no length, or the reach or the gap is not positive and finite.
    """
    if not (math.isfinite(reach) and reach > 0.0 and math.isfinite(gap) and gap > 0.0):
        raise InputError(f"reach {reach} mm, gap {gap} mm: expected finite lengths above zero")

    def way_with(margin: float) -> float | None:
        way = free_along(freedom.grown(margin), direction).nearest(0.0)
        return way if way is not None and abs(way) <= reach else None

    best = way_with(0.0)
    if best is None:
        return None
    here = freedom.margin((0.0, 0.0))
    if math.isinf(here):
        return RoomiestAlong(0.0, (0.0, 0.0), here, here, ())
    low, high = 0.0, here + reach + gap  # a margin changes by no more than the way that is gone
    while high - low > gap / 2.0:
        middle = (low + high) / 2.0
        way = way_with(middle)
        if way is None:
            high = middle
        else:
            low, best = middle, way
    shift = free_along(freedom, direction).shift(best)
    return RoomiestAlong(best, shift, freedom.margin(shift), high, freedom.bindings(shift, within=gap + BINDS_WITHIN))
