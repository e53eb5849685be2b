"""Grids of holes, straight and staggered."""

from __future__ import annotations

import math
from typing import Literal

from holecam.errors import InputError
from holecam.layout.patterns import PatternPoints, check_count, check_pitch
from holecam.shapes import Point

Numbering = Literal["by row", "by column", "there and back"]
"""Along each row from its first column; along each column from its first row; rows in turn from left and from right."""

_NUMBERING_WORDS: dict[Numbering, str] = {
    "by row": "along each row from its first column, rows upward (+Y)",
    "by column": "along each column from its first row, columns to the right (+X)",
    "there and back": "along row 1 from its first column, back along row 2, and so on upward (+Y)",
}


def numbering_named(text: str) -> Numbering:
    """Return the numbering that a text names.

    Raises
    ------
    InputError
        It names none.
    """
    for numbering in _NUMBERING_WORDS:
        if numbering == text.strip().lower():
            return numbering
    expected = ", ".join(_NUMBERING_WORDS)
    raise InputError(f'numbering "{text}": expected one of {expected}', key="numbering", value=text, expected=expected)


def triangle_row_pitch(pitch: float) -> float:
    """Return the row pitch at which a staggered grid has every neighbour one pitch away: pitch times sqrt(3) / 2."""
    return check_pitch(pitch, "staggered grid") * math.sqrt(3.0) / 2.0


def grid(
    columns: int,
    rows: int,
    *,
    column_pitch: float,
    row_pitch: float,
    numbering: Numbering = "by row",
    stagger: float = 0.0,
    short_rows: bool = False,
) -> PatternPoints:
    """Return holes in columns along +X and rows along +Y; hole 1 (row 1, column 1) is the origin.

    Parameters
    ----------
    columns, rows : int
    column_pitch, row_pitch : float
        Distance of neighbouring columns and of neighbouring rows, mm.
    numbering : {"by row", "by column", "there and back"}
    stagger : float
        Shift along +X of every second row (row 2, 4, ...), mm; half the column pitch in the usual staggered grid.
    short_rows : bool
        Leave the last hole out of every second row, so that a staggered row stays within the others.

    Raises
    ------
    InputError
        A count below 1 or too large, a pitch not above zero, a stagger of one column pitch or more.
    """
    what = "staggered grid" if stagger else "grid"
    check_count(columns, f"{what}: columns")
    check_count(rows, f"{what}: rows")
    check_count(columns * rows, what)
    check_pitch(column_pitch, what, key="column pitch")
    check_pitch(row_pitch, what, key="row pitch")
    if not abs(stagger) < column_pitch:
        raise InputError(f"{what}: stagger {stagger:g} mm: expected less than the column pitch {column_pitch:g} mm")
    if short_rows and columns < 2:
        raise InputError(f"{what}: short rows need at least 2 columns")
    cells = [
        (row, column) for row in range(rows) for column in range(columns - 1 if short_rows and row % 2 else columns)
    ]
    if numbering == "by column":
        cells.sort(key=lambda cell: (cell[1], cell[0]))
    elif numbering == "there and back":
        cells.sort(key=lambda cell: (cell[0], -cell[1] if cell[0] % 2 else cell[1]))

    def center(row: int, column: int) -> Point:
        return (column * column_pitch + (stagger if row % 2 else 0.0), row * row_pitch)

    return PatternPoints(
        points=tuple(center(row, column) for row, column in cells),
        numbers=tuple(range(1, len(cells) + 1)),
        kind=what,
        origin="hole 1 (row 1, column 1)",
        numbering=_NUMBERING_WORDS[numbering],
        places=tuple(f"row {row + 1}, column {column + 1}" for row, column in cells),
    )
