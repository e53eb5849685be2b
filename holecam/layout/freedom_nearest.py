"""The allowed shift nearest to the wish: exact, by feet and crossings of the border, cell by cell.

The nearest allowed shift is the wish itself, the foot of the wish on one border element, or a crossing of two. Cells
are visited in the order of their distance from the wish; a cell that is broken all over is dropped, and in a cell
with few elements every candidate is tried by the exact margin. When the next cell lies farther than the best
candidate, nothing nearer can exist.
"""

from __future__ import annotations

import heapq
import math
from itertools import count

import numpy as np
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.freedom_cells import Cell, LocalLimits, all_limits
from holecam.layout.freedom_elements import crossings_of, feet
from holecam.layout.freedom_field import Binding, Freedom
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.shapes import Point
from holecam.shapes.curve_arrays import Floats, points_array

SAFE_BY = 1e-6
"""mm. The nearest shift keeps every limit by this much more than asked, so that the noise of its own coordinates
cannot put it on the wrong side. A gap that is open by less than twice this counts as closed."""

ELEMENTS_TO_TRY = 24
"""Elements in a cell up to which all their crossings are tried; above it the cell is quartered."""

SMALLEST_HALF = 1e-4
"""mm. A cell this small is not quartered any more, however many elements run through it."""

TIE = 1e-9
"""mm. Shifts whose distances from the wish differ by less are equally near."""


class NearestShift(Struct, frozen=True):
    """The allowed shift nearest to a wish.

    Parameters
    ----------
    wish : Point
        The wanted shift.
    wish_margin : float
        Its margin, mm; 0 or more when it is allowed.
    wish_binding : Binding or None
        What sets that margin.
    shift : Point or None
        The nearest allowed shift; ``None`` when there is none within ``reach`` of the wish.
    distance : float
        From the wish, mm; ``inf`` when there is none.
    margin : float
        Margin at the shift, mm: not below 0, and about ``SAFE_BY`` when the wish was forbidden.
    binding : Binding or None
        What sets it: what the shift lies against.
    also : tuple of Point
        Other allowed shifts that are as near.
    reach : float
        How far from the wish was searched, mm.
    """

    wish: Point
    wish_margin: float
    wish_binding: Binding | None
    shift: Point | None
    distance: float
    margin: float
    binding: Binding | None
    also: tuple[Point, ...]
    reach: float

    @property
    def wish_allowed(self) -> bool:
        """Whether the wish itself keeps every limit."""
        return self.wish_margin >= -ARITHMETIC_NOISE


def nearest_allowed(freedom: Freedom, wish: Point, *, reach: float) -> NearestShift:
    """Return the allowed shift nearest to the wish, searched up to ``reach`` mm from it.

    Exact: the distance is that of the true nearest shift for limits that are :data:`SAFE_BY` larger.

    Raises
    ------
    InputError
        The reach is not positive and finite.
    """
    _check(wish, reach)
    wish_margin, wish_binding = freedom.margin(wish), freedom.binding(wish)
    if wish_margin >= -ARITHMETIC_NOISE:
        return NearestShift(wish, wish_margin, wish_binding, wish, 0.0, wish_margin, wish_binding, (), reach)
    found = _search(all_limits(freedom.grown(SAFE_BY)), wish, reach)
    if not found:
        return NearestShift(wish, wish_margin, wish_binding, None, math.inf, -math.inf, None, (), reach)
    shift, also = found[0], tuple(found[1:])
    distance = math.dist(shift, wish)
    return NearestShift(
        wish, wish_margin, wish_binding, shift, distance, freedom.margin(shift), freedom.binding(shift), also, reach
    )


def _check(wish: Point, reach: float) -> None:
    if not (math.isfinite(wish[0]) and math.isfinite(wish[1])):
        raise InputError(f"wished shift {wish}: expected finite lengths")
    if not (math.isfinite(reach) and reach > 0.0):
        raise InputError(f"reach {reach} mm: expected a finite length above zero")


def _search(limits: LocalLimits, wish: Point, reach: float) -> list[Point]:
    """Return the nearest allowed shifts, the ones as near as the first included."""
    ticket = count()
    heap = [(0.0, next(ticket), Cell(wish[0], wish[1], reach, limits))]
    best, found = reach, np.empty((0, 2))
    while heap:
        lower, _, cell = heapq.heappop(heap)
        if lower > best + TIE:
            break
        values = cell.limits.at(cell.center)
        if values.least < -cell.radius:
            continue
        local = cell.limits.below(values, cell.radius)
        if local.count == 0:
            candidates = points_array([cell.nearest_to(wish)])
        else:
            elements = local.elements(cell.center, cell.radius)
            if len(elements) > ELEMENTS_TO_TRY and cell.half > SMALLEST_HALF:
                for quarter in cell.quarters(local):
                    heapq.heappush(heap, (quarter.distance_to(wish), next(ticket), quarter))
                continue
            tried = np.concatenate([points_array([wish]), feet(elements, wish), crossings_of(elements)])
            tried = tried[cell.holds(tried)]
            candidates = tried[local.margins(tried) >= -ARITHMETIC_NOISE]
        if len(candidates):
            found = np.concatenate([found, candidates])
            distances = np.hypot(found[:, 0] - wish[0], found[:, 1] - wish[1])
            best = min(best, float(distances.min()))
            found = found[distances <= best + TIE]
    return _distinct(found)


def _distinct(shifts: Floats) -> list[Point]:
    """Return the shifts once each, the rightmost first, and of those the uppermost: an order that is the same anew."""
    out: list[Point] = []
    for x, y in sorted(shifts.tolist(), key=lambda p: (-p[0], -p[1])):
        if all(math.hypot(x - a, y - b) > 1e3 * TIE for a, b in out):
            out.append((x, y))
    return out
