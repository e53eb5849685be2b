"""Where labels stand on one page of the paper template: inside the drawing's window, beside their marks, apart."""

from __future__ import annotations

from msgspec import Struct

from holecam.output.label_places import Box, LabelRoom
from holecam.output.paper_font import width_of
from holecam.shapes import Point

HEIGHT = 0.85
"""Height of capitals and digits with the room around them, as a share of the size of the type."""

FOOT = 0.08
"""Share of the size by which the line of the type stands above the lower edge of its box."""


class PlacedLabel(Struct, frozen=True):
    """Start of the line of type, points, y up; ``lead`` leads to the mark when the label stands apart from it."""

    at: Point
    lead: tuple[Point, Point] | None = None


class WindowLabels:
    """The labels of one window; all lengths in points, y up as on the page."""

    def __init__(self, left: float, low: float, width: float, height: float) -> None:
        self._window = Box(left, -(low + height), left + width, -low)
        self._room = LabelRoom(self._window)

    def shows(self, at: Point) -> bool:
        """Return whether a point lies in the window: a label stands only where its mark can be seen."""
        return self._window.holds(Box(at[0], -at[1], at[0], -at[1]))

    def keep_off(self, at: Point, radius: float) -> None:
        """Keep labels off a round mark."""
        self._room.take(Box(at[0] - radius, -at[1] - radius, at[0] + radius, -at[1] + radius))

    def keep_off_line(self, a: Point, b: Point) -> None:
        """Keep labels off the part of a line that lies in the window, where there is other room for them."""
        cut = _inside((a[0], -a[1]), (b[0], -b[1]), self._window)
        if cut is not None:
            self._room.take_line(*cut)

    def beside(self, at: Point, radius: float, words: str, size: float) -> PlacedLabel:
        """Return the place of a label at a mark; where all is taken it stands at the mark, but inside the window."""
        width, height = width_of(words, size, strong=True), size * HEIGHT
        found = self._room.place((at[0], -at[1]), radius, width, height)
        if found is not None:
            lead = None
            if found.lead is not None:
                (ax, ay), (bx, by) = found.lead
                lead = ((ax, -ay), (bx, -by))
            return PlacedLabel((found.box.x0, -found.box.y1 + size * FOOT), lead)
        window = self._window
        x = max(window.x0 + 1.0, min(at[0] + radius, window.x1 - width - 1.0))
        return PlacedLabel((x, max(-window.y1 + 2.0, min(at[1] + radius, -window.y0 - height))))


def _inside(a: Point, b: Point, window: Box) -> tuple[Point, Point] | None:
    """Return the part of a straight line inside a box; ``None`` when there is none. By the rule of Liang and Barsky."""
    first, last = 0.0, 1.0
    for start, step, low, high in (
        (a[0], b[0] - a[0], window.x0, window.x1),
        (a[1], b[1] - a[1], window.y0, window.y1),
    ):
        if step == 0.0:
            if not low <= start <= high:
                return None
            continue
        enter, leave = sorted(((low - start) / step, (high - start) / step))
        first, last = max(first, enter), min(last, leave)
    if first > last:
        return None
    return tuple((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in (first, last))  # type: ignore[return-value]
