"""Which of many places lie near a given one, without looking at all of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence


class PlacesNear:
    """Places in plan, sorted into square cells.

    Parameters
    ----------
    places : iterable of (x, y)
        mm; they are numbered from 0 in this order.
    reach : float
        How far apart two places may be to count as near, mm.
    """

    def __init__(self, places: Iterable[Sequence[float]], reach: float) -> None:
        self._reach = reach
        self._side = 2.0 * reach
        self._places: list[tuple[float, float]] = []
        self._cells: dict[tuple[int, int], list[int]] = {}
        for x, y in places:
            self.add(x, y)

    def add(self, x: float, y: float) -> None:
        """Add a place; it gets the next number."""
        self._cells.setdefault(self._cell(x, y), []).append(len(self._places))
        self._places.append((x, y))

    def near(self, x: float, y: float) -> list[int]:
        """Return the numbers of the places within reach, in their order."""
        column, row = self._cell(x, y)
        found = [
            i
            for c in (column - 1, column, column + 1)
            for r in (row - 1, row, row + 1)
            for i in self._cells.get((c, r), ())
            if math.hypot(self._places[i][0] - x, self._places[i][1] - y) <= self._reach
        ]
        found.sort()
        return found

    def _cell(self, x: float, y: float) -> tuple[int, int]:
        return (math.floor(x / self._side), math.floor(y / self._side))
