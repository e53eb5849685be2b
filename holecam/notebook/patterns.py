"""Patterns of holes as arrays: rows, grids, hole circles, in a frame of their own or put where hole 1 is to lie."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from holecam.layout.patterns import PatternPoints
from holecam.layout.placing import direction_from_words, place_from_one
from holecam.lengths import Unit
from holecam.notebook.look_ups import Length, mm

Numbering = Literal["by row", "by column", "there and back"]
XY = tuple[Length, Length]


def line(
    count: int,
    *,
    pitch: Length | None = None,
    length: Length | None = None,
    first: XY = ("0 mm", "0 mm"),
    along: str | float = 0.0,
    unit: Unit | None = None,
) -> NDArray[np.float64]:
    """Return the centres of a row of holes, mm, shape ``(count, 2)``.

    Parameters
    ----------
    count : int
    pitch, length : length
        Distance of neighbours, or from the first hole to the last: one of them.
    first : pair of lengths
        Where hole 1 lies.
    along : str or float
        Direction of the row: degrees anticlockwise from +X, or ``"+x"``, ``"-x"``, ``"+y"``, ``"-y"``.
    unit : {"in", "mm"}, optional
        Unit of bare numbers.

    Raises
    ------
    InputError
        Both or none of pitch and length, a count or distance that cannot be, a bare number without a unit.

    Examples
    --------
    >>> line(3, pitch="1/2 in", first=(10, 5), along="+y", unit="mm").tolist()
    [[10.0, 5.0], [10.0, 17.7], [10.0, 30.4]]
    """
    from holecam.layout.patterns import line as line_pattern

    pattern = line_pattern(count, pitch=_maybe(pitch, unit), length=_maybe(length, unit))
    return _placed(pattern, first, along, unit)


def grid(
    columns: int,
    rows: int,
    *,
    pitch: Length,
    row_pitch: Length | None = None,
    staggered: bool = False,
    numbering: Numbering = "by row",
    first: XY = ("0 mm", "0 mm"),
    along: str | float = 0.0,
    unit: Unit | None = None,
) -> NDArray[np.float64]:
    """Return the centres of a grid of holes in the order of their numbers, mm, shape ``(n, 2)``.

    ``staggered`` shifts every second row by half a pitch; ``along`` is the direction of the rows; the other arguments
    are those of :func:`line`.

    >>> grid(2, 2, pitch=10, row_pitch=5, unit="mm").tolist()
    [[0.0, 0.0], [10.0, 0.0], [0.0, 5.0], [10.0, 5.0]]
    """
    from holecam.layout.grids import grid as grid_pattern
    from holecam.layout.grids import numbering_named

    across = mm(pitch, unit)
    pattern = grid_pattern(
        columns,
        rows,
        column_pitch=across,
        row_pitch=across if row_pitch is None else mm(row_pitch, unit),
        numbering=numbering_named(numbering),
        stagger=across / 2.0 if staggered else 0.0,
    )
    return _placed(pattern, first, along, unit)


def circle(
    count: int,
    *,
    diameter: Length,
    centre: XY = ("0 mm", "0 mm"),
    start: str | float = 0.0,
    included_deg: float = 360.0,
    step_deg: float | None = None,
    clockwise: bool = False,
    unit: Unit | None = None,
) -> NDArray[np.float64]:
    """Return the centres of a hole circle, full or partial, mm, shape ``(count, 2)``.

    Parameters
    ----------
    count : int
    diameter : length
        Of the circle through the hole centres.
    centre : pair of lengths
    start : str or float
        Angle of hole 1: degrees anticlockwise from +X, or ``"+x"``, ``"-x"``, ``"+y"``, ``"-y"``.
    included_deg : float
        From the first hole to the last; 360 is the full circle.
    step_deg : float, optional
        From hole to hole, instead of the included angle.
    clockwise : bool
        Number the holes clockwise.
    unit : {"in", "mm"}, optional
        Unit of bare numbers.

    Examples
    --------
    >>> circle(4, diameter="10 mm", centre=("20 mm", "0 mm")).tolist()
    [[25.0, 0.0], [20.0, 5.0], [15.0, 0.0], [20.0, -5.0]]
    """
    from holecam.layout.hole_circles import hole_circle

    pattern = hole_circle(
        count,
        diameter=mm(diameter, unit),
        start_deg=direction_from_words(start, key="start"),
        included_deg=included_deg,
        step_deg=step_deg,
        clockwise=clockwise,
    )
    x, y = _point(centre, unit)
    return np.array([(px + x, py + y) for px, py in pattern.points], dtype=np.float64)


def _placed(pattern: PatternPoints, first: XY, along: str | float, unit: Unit | None) -> NDArray[np.float64]:
    direction = direction_from_words(along, key="along")
    placed = place_from_one(pattern, hole=1, at=_point(first, unit), along_deg=direction)
    return np.array(placed.points, dtype=np.float64)


def _point(at: XY, unit: Unit | None) -> tuple[float, float]:
    x, y = at
    return mm(x, unit), mm(y, unit)


def _maybe(length: Length | None, unit: Unit | None) -> float | None:
    return None if length is None else mm(length, unit)
