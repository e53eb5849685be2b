"""Find room for labels on a picture: no label lies on another, on a mark that must stay readable, or off the sheet."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from msgspec import Struct

from holecam.shapes import Point

CELL = 24.0
"""Picture units. Boxes are looked up through squares of this size: about the height of two labels."""

GAP = 3.0
"""Picture units kept free around every label."""

AROUND = (45, 135, 315, 225, 90, 270, 0, 180, 67, 113, 293, 247, 22, 158, 338, 202)
"""Degrees, anticlockwise from the right, in the order in which a place beside a mark is tried."""

DIRECTIONS = tuple((math.cos(math.radians(angle)), -math.sin(math.radians(angle))) for angle in AROUND)
"""The same as unit vectors, y down."""

AWAY = (4.0, 14.0, 26.0, 40.0, 58.0, 80.0, 110.0)
"""Picture units between the mark and its label; from the second on a line leads to it."""

TRIES = ((4, False), (2, True), (len(AWAY), False), (len(AWAY), True))
"""How far places are looked for, and whether on lines of the picture."""

CROWDED_TRIES = ((1, True),)

STEP = 5.0
"""Picture units between the small boxes that stand for a line."""


class Box(Struct, frozen=True):
    """A rectangle in picture units, y down."""

    x0: float
    y0: float
    x1: float
    y1: float

    def grown(self, by: float) -> Box:
        """Return the box grown on all sides."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def meets(self, other: Box) -> bool:
        """Return whether the two overlap."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def holds(self, other: Box) -> bool:
        """Return whether the other lies inside."""
        return self.x0 <= other.x0 and other.x1 <= self.x1 and self.y0 <= other.y0 and other.y1 <= self.y1


class LabelPlace(Struct, frozen=True):
    """Where a label goes; ``lead`` is the line from the mark to it, when it stands apart."""

    box: Box
    lead: tuple[Point, Point] | None


class LabelRoom:
    """The boxes that are taken on one picture."""

    def __init__(self, sheet: Box) -> None:
        self.sheet = sheet
        self._cells: dict[tuple[int, int], list[Box]] = defaultdict(list)
        self._lines: dict[tuple[int, int], list[Box]] = defaultdict(list)

    def take(self, box: Box) -> None:
        """Keep other labels out of a box."""
        for cell in _cells(box):
            self._cells[cell].append(box)

    def take_line(self, a: Point, b: Point) -> None:
        """Keep labels off a line as long as there is other room for them."""
        for box in _along(a, b):
            for cell in _cells(box):
                self._lines[cell].append(box)

    def crosses_line(self, box: Box) -> bool:
        """Return whether a box lies on one of the lines."""
        return any(box.meets(other) for cell in _cells(box) for other in self._lines.get(cell, ()))

    def is_free(self, box: Box) -> bool:
        """Return whether a box lies on the sheet and on nothing that is taken."""
        if not self.sheet.holds(box):
            return False
        return not any(box.meets(other) for cell in _cells(box) for other in self._cells.get(cell, ()))

    def place(
        self, center: Point, radius: float, width: float, height: float, *, crowded: bool = False
    ) -> LabelPlace | None:
        """Return a free place beside a round mark and take it; ``None`` when there is none within reach.

        A place off all lines, near the mark, comes first; then one on a line near the mark; then any. On a
        ``crowded`` picture only places at the mark are looked at: long leaders would hide more than they tell.
        """
        for reach, on_lines in CROWDED_TRIES if crowded else TRIES:
            found = self._place(center, radius, width, height, AWAY[:reach], on_lines=on_lines)
            if found is not None:
                return found
        return None

    def _place(
        self, center: Point, radius: float, width: float, height: float, reach: tuple[float, ...], *, on_lines: bool
    ) -> LabelPlace | None:
        for away in reach:
            for ux, uy in DIRECTIONS:
                edge = (center[0] + ux * (radius + away), center[1] + uy * (radius + away))
                box = _beside(edge, ux, uy, width, height)
                if not self.is_free(box.grown(GAP)) or (not on_lines and self.crosses_line(box)):
                    continue
                lead = None
                if away > AWAY[0]:
                    start = (center[0] + ux * radius, center[1] + uy * radius)
                    bits = list(_along(start, edge))
                    # the first bits lie at the mark itself, which is taken
                    if not all(self.is_free(bit) for bit in bits[1:]):
                        continue
                    lead = (start, edge)
                    for bit in bits:
                        self.take(bit)
                self.take(box)
                return LabelPlace(box, lead)
        return None


def spaced(wished: Sequence[float], least: float) -> list[float]:
    """Return heights of lines of text in the order given, each as near to its wish as the ones above it allow.

    ``wished`` rise down the page; two lines lie at least ``least`` apart.
    """
    found: list[float] = []
    for height in wished:
        found.append(height if not found else max(height, found[-1] + least))
    return found


def _beside(edge: Point, ux: float, uy: float, width: float, height: float) -> Box:
    """Return a box whose nearest point to the mark is about ``edge``."""
    x0 = edge[0] - width / 2 + width / 2 * _side(ux)
    y0 = edge[1] - height / 2 + height / 2 * _side(uy)
    return Box(x0, y0, x0 + width, y0 + height)


def _side(share: float) -> float:
    return max(-1.0, min(1.0, share * 1.5))


def _along(a: Point, b: Point) -> Iterator[Box]:
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    steps = max(2, math.ceil(length / STEP))
    for i in range(steps + 1):
        x, y = a[0] + (b[0] - a[0]) * i / steps, a[1] + (b[1] - a[1]) * i / steps
        yield Box(x - 1.0, y - 1.0, x + 1.0, y + 1.0)


def _cells(box: Box) -> list[tuple[int, int]]:
    i0, i1 = math.floor(box.x0 / CELL), math.floor(box.x1 / CELL)
    j0, j1 = math.floor(box.y0 / CELL), math.floor(box.y1 / CELL)
    if i0 == i1 and j0 == j1:  # nearly all of the small ones
        return [(i0, j0)]
    return [(i, j) for i in range(i0, i1 + 1) for j in range(j0, j1 + 1)]
