"""The pages of a full-size template: how a part is shared among them, and what of it each one shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from itertools import product
from typing import Generic, TypeVar

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.errors import InputError
from holecam.plan.holes import PlannedHole, StandingHole
from holecam.shapes import Curve, Point
from holecam.shapes.curves import curve_bounds

Floats = NDArray[np.float64]

EDGE = 10.0
"""mm left white around: what common printers cannot print on."""

HEAD, FOOT, SIDE = 14.0, 16.0, 12.0
"""mm kept for the words, and for the two scale checks at the foot and at the left."""

OVERLAP = 12.0
"""mm that neighbouring pages share."""

MOST_PAGES = 200

SEEN_BESIDE = 2.0
"""mm. What ends so near beside a page is drawn on it: its line has a width."""


class Tile(Struct, frozen=True):
    """One page: which part of the drawing it shows, mm in the part frame, and where that lies on the paper."""

    column: int
    row: int
    x0: float
    y0: float
    width: float
    height: float

    def meets(self, boxes: Floats) -> NDArray[np.bool_]:
        """Return which boxes, rows of least x, y and greatest x, y in mm, the page shows or nearly does."""
        x0, y0, x1, y1 = boxes.T
        across = (x0 <= self.x0 + self.width + SEEN_BESIDE) & (x1 >= self.x0 - SEEN_BESIDE)
        up = (y0 <= self.y0 + self.height + SEEN_BESIDE) & (y1 >= self.y0 - SEEN_BESIDE)
        return np.asarray(across & up)


class TileSheet(Struct, frozen=True):
    """All pages of one template."""

    page: tuple[float, float]
    tiles: tuple[Tile, ...]
    columns: int
    rows: int


def tiles_for(
    box: tuple[float, float, float, float], page: tuple[float, float], scale: tuple[float, float]
) -> TileSheet:
    """Return the fewest pages that show the box, upright or lying."""
    best: TileSheet | None = None
    for turned in (page, (page[1], page[0])):
        # what the drawing may take, in mm of the part: a corrected drawing takes 1 / scale of it
        wide = (turned[0] - 2 * EDGE - SIDE) * scale[0]
        high = (turned[1] - 2 * EDGE - HEAD - FOOT) * scale[1]
        columns, rows = (_count(box[i + 2] - box[i], room) for i, room in ((0, wide), (1, high)))
        if best is not None and columns * rows >= best.columns * best.rows:
            continue
        tiles = tuple(
            Tile(c, r, box[0] + c * (wide - OVERLAP), box[3] - high - r * (high - OVERLAP), wide, high)
            for r, c in product(range(rows), range(columns))
            if columns * rows <= MOST_PAGES
        )
        best = TileSheet(turned, tiles, columns, rows)
    assert best is not None
    if best.columns * best.rows > MOST_PAGES:
        raise InputError(
            f"template: the part would need {best.columns * best.rows} pages; expected {MOST_PAGES} at most"
        )
    return best


def _count(size: float, room: float) -> int:
    return max(1, math.ceil((size - OVERLAP) / (room - OVERLAP)))


Hole = TypeVar("Hole", PlannedHole, StandingHole)


class Marks(Struct, Generic[Hole], frozen=True, eq=False):
    """Holes with the boxes round their marks, asked page after page which ones the page shows."""

    holes: tuple[Hole, ...]
    boxes: Floats

    def on(self, tile: Tile) -> list[Hole]:
        """Return the holes whose marks come near the tile."""
        return [self.holes[n] for n in np.flatnonzero(tile.meets(self.boxes))]


def squares(marks: Sequence[tuple[Point, float]]) -> Floats:
    """Return the boxes round marks given by centre and reach, shape (marks, 4): least x, y, greatest x, y."""
    return np.array([(x - r, y - r, x + r, y + r) for (x, y), r in marks]).reshape(-1, 4)


class Chain(Struct, frozen=True, dict=True):
    """A chain of curves, asked page after page what of it the page shows."""

    curves: tuple[Curve, ...]

    @cached_property
    def _boxes(self) -> Floats:
        return np.array([curve_bounds(c) for c in self.curves])

    def on(self, tile: Tile) -> list[list[Curve]]:
        """Return the parts that come near the tile, each of curves that follow one another."""
        shown = np.flatnonzero(tile.meets(self._boxes))
        parts = np.split(shown, np.flatnonzero(np.diff(shown) > 1) + 1)
        return [[self.curves[n] for n in part] for part in parts if len(part)]
