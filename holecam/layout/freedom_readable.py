"""A shift that the readout can show: on its grid, allowed before and after every coordinate is rounded."""

from __future__ import annotations

import heapq
import math
from fractions import Fraction
from itertools import count

import numpy as np
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.freedom_cells import Cell, all_limits
from holecam.layout.freedom_field import Binding, Freedom
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.lengths import rounded
from holecam.shapes import Point
from holecam.shapes.curve_arrays import Floats, points_array

GRID_POINTS_TO_TRY = 6
"""Grid steps across a cell up to which its grid points are tried one by one; above it the cell is quartered."""


class ReadableShift(Struct, frozen=True):
    """The allowed shift nearest to the wish at which the anchor lies on the grid.

    Parameters
    ----------
    shift : Point
        The shift, mm.
    anchor_at : (Fraction, Fraction)
        Where the anchor comes to lie: exact multiples of the grid, mm.
    distance : float
        From the wish, mm.
    margin : float
        Margin of the exact pattern at the shift, mm, 0 or more (arithmetic noise apart).
    rounded_margin : float
        The same when every hole lies where the readout can put it.
    binding : Binding or None
        What sets the margin of the exact pattern.
    """

    shift: Point
    anchor_at: tuple[Fraction, Fraction]
    distance: float
    margin: float
    rounded_margin: float
    binding: Binding | None


def readable_shift(
    freedom: Freedom,
    wish: Point,
    *,
    resolution: Fraction,
    reach: float,
    anchor: Point = (0.0, 0.0),
    grid: Fraction | None = None,
) -> ReadableShift | None:
    """Return the nearest readable allowed shift; ``None`` when there is none within ``reach`` mm of the wish.

    Both the exact pattern and the one with every coordinate rounded keep all limits there.

    Parameters
    ----------
    freedom : Freedom
    wish : Point
        The wanted shift, mm.
    resolution : Fraction
        One step of the readout, mm: each coordinate of each hole is rounded to it.
    reach : float
        How far from the wish to search, mm.
    anchor : Point
        The point (before the shift) that shall lie on the grid: the reference hole. With (0, 0) the shift itself does.
    grid : Fraction or None
        Coarser grid for the anchor, such as 0.1 mm; a multiple of the resolution, which is the default.

    Raises
    ------
    InputError
        Resolution or reach is not positive, or the grid is no multiple of the resolution.
    """
    step = resolution if grid is None else grid
    if resolution <= 0 or step <= 0 or (step / resolution).denominator != 1:
        raise InputError(
            f"grid {float(step)} mm: expected a positive multiple of the readout's step, {float(resolution)} mm"
        )
    if not (math.isfinite(reach) and reach > 0.0):
        raise InputError(f"reach {reach} mm: expected a finite length above zero")
    size, (ax, ay) = float(step), anchor
    offsets = freedom.xy - np.array(anchor)
    # With the anchor on the grid every hole is rounded by its offset alone
    shown = freedom.moved_to(_rounded(offsets, resolution) + np.array(anchor))
    ticket = count()
    heap = [(0.0, next(ticket), Cell(wish[0], wish[1], reach + size, all_limits(shown)))]
    best, found = reach, None
    while heap and heap[0][0] <= best:
        _, _, cell = heapq.heappop(heap)
        values = cell.limits.at(cell.center)
        if values.least < -cell.radius:
            continue
        local = cell.limits.below(values, cell.radius)
        if 2.0 * cell.half / size > GRID_POINTS_TO_TRY:
            for quarter in cell.quarters(local):
                heapq.heappush(heap, (quarter.distance_to(wish), next(ticket), quarter))
            continue
        columns = range(math.ceil((cell.x - cell.half + ax) / size), math.floor((cell.x + cell.half + ax) / size) + 1)
        lines = range(math.ceil((cell.y - cell.half + ay) / size), math.floor((cell.y + cell.half + ay) / size) + 1)
        points = [(float(i * step) - ax, float(j * step) - ay, i, j) for i in columns for j in lines]
        if points:
            open_ = local.margins(np.array([p[:2] for p in points])) >= -ARITHMETIC_NOISE
            points = [p for p, o in zip(points, open_, strict=True) if o]
        points.sort(key=lambda p: (math.dist(p[:2], wish), -p[0], -p[1]))
        for x, y, i, j in points:
            away = math.dist((x, y), wish)
            if away > best or (found is not None and away == best and (x, y) <= found.shift):
                continue
            candidate = _checked(freedom, (x, y), (i * step, j * step), wish, resolution)
            if candidate is not None:
                best, found = away, candidate
    return found


def _checked(
    freedom: Freedom, shift: Point, anchor_at: tuple[Fraction, Fraction], wish: Point, resolution: Fraction
) -> ReadableShift | None:
    """Return the shift with its evidence, or ``None`` when a limit is broken before or after rounding."""
    margin = freedom.margin(shift)
    if not margin >= -ARITHMETIC_NOISE:
        return None
    moved = _rounded(freedom.xy + np.array(shift), resolution)
    rounded_margin = freedom.moved_to(moved).margin((0.0, 0.0))
    if not rounded_margin >= -ARITHMETIC_NOISE:
        return None
    return ReadableShift(shift, anchor_at, math.dist(shift, wish), margin, rounded_margin, freedom.binding(shift))


def _rounded(xy: Floats, resolution: Fraction) -> Floats:
    return points_array([(float(rounded(x, resolution)), float(rounded(y, resolution))) for x, y in xy.tolist()])
