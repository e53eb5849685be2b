"""One window of a picture: the part of the work that is seen in it, its clipping, labels and arrows that fit in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from xml.etree import ElementTree

from msgspec import Struct

from holecam.output.label_places import Box, LabelRoom
from holecam.output.svg_canvas import Canvas, View, number, text_width
from holecam.shapes import Arc, Curve, Point

LABEL = 15.0
LINE_BITS = 12
"""Straight bits of a curve, only to keep labels off it."""

ARROW_ROOM = 34.0
"""Picture units that a curve needs for an arrow in the sense of the travel."""


class Window(Struct, frozen=True):
    """A rectangle of the picture and the part of the work that is seen in it: ``name`` is unique on a page."""

    name: str
    box: Box
    view: View

    def shows(self, p: Point) -> bool:
        """Return whether a place of the work lies in the window."""
        x, y = self.view.at(p)
        return self.box.x0 < x < self.box.x1 and self.box.y0 < y < self.box.y1


def window_on(name: str, box: Box, bounds: tuple[float, float, float, float]) -> Window:
    """Return the window that shows bounds of the work, mm, as large as the box allows and in its middle."""
    x0, y0, x1, y1 = bounds
    wide, high = max(x1 - x0, 1e-3), max(y1 - y0, 1e-3)
    scale = min((box.x1 - box.x0) / wide, (box.y1 - box.y0) / high)
    left = (x0 + x1) / 2 - (box.x1 - box.x0) / 2 / scale
    top = (y0 + y1) / 2 + (box.y1 - box.y0) / 2 / scale
    return Window(name, box, View(scale, left, top, box.x0, box.y0))


def clip_to(canvas: Canvas, window: Window) -> dict[str, str]:
    """Add the window's clipping to a picture; return what an element needs to be drawn inside it only."""
    clip = ElementTree.SubElement(canvas.root, "clipPath", {"id": window.name})
    ElementTree.SubElement(clip, "rect", frame_of(window))
    return {"clip-path": f"url(#{window.name})"}


def frame_of(window: Window) -> dict[str, str]:
    """Return place and size of the window's frame."""
    box = window.box
    sides = {"x": box.x0, "y": box.y0, "width": box.x1 - box.x0, "height": box.y1 - box.y0}
    return {name: number(value) for name, value in sides.items()}


def keep_off(room: LabelRoom, window: Window, curves: Iterable[Curve]) -> None:
    """Note the lines that labels stay off where they can."""
    for curve in curves:
        bits = LINE_BITS if isinstance(curve, Arc) else 1
        points = [window.view.at(curve.point_at(n / bits)) for n in range(bits + 1)]
        for a, b in pairwise(points):
            inside = _clipped(a, b, window.box)
            if inside is not None:
                room.take_line(*inside)


def arrow_along(canvas: Canvas, window: Window, curves: Sequence[Curve]) -> None:
    """Draw the sense of the travel on the longest curve of a chain, where it is long enough and seen."""
    curve = max(curves, key=lambda c: c.length)
    at = curve.point_at(0.5)
    if curve.length * window.view.scale < ARROW_ROOM or not window.shows(at):
        return
    tx, ty = curve.tangent_at(0.5)
    x, y = window.view.at(at)
    canvas.arrow((x + 5 * tx, y - 5 * ty), (tx, -ty), 11.0)


def joined(curves: Sequence[Curve]) -> list[list[Curve]]:
    """Return curves as chains in which each begins where the one before it ends."""
    chains: list[list[Curve]] = []
    for curve in curves:
        if chains and chains[-1][-1].end == curve.start:
            chains[-1].append(curve)
        else:
            chains.append([curve])
    return chains


def put_label(canvas: Canvas, room: LabelRoom, at: Point, radius: float, words: str, size: float, *, look: str) -> bool:
    """Write a label beside a mark of this radius, where there is room; return whether there was."""
    place = room.place(at, radius, text_width(words, size), size)
    if place is None:
        return False
    if place.lead is not None:
        canvas.line(place.lead[0], place.lead[1], "lead")
    box, base = place.box, place.box.y1 - 0.16 * size
    # Written from the side of the mark: boxes are on the wide side, and a gap would part the words from their mark
    x, anchor = (box.x0, "start") if box.x0 >= at[0] else (box.x1, "end")
    if box.x0 < at[0] < box.x1:
        x, anchor = (box.x0 + box.x1) / 2, "middle"
    canvas.text((x, base), words, size, look=f"label {look}".strip(), anchor=anchor)
    return True


def _clipped(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """Return the part of a line that lies in a box, ``None`` when none does."""
    low, high = 0.0, 1.0
    for start, end, least, most in ((a[0], b[0], box.x0, box.x1), (a[1], b[1], box.y0, box.y1)):
        step = end - start
        if abs(step) < 1e-12:
            if not least <= start <= most:
                return None
            continue
        first, last = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, first), min(high, last)
    if low >= high:
        return None
    dx, dy = b[0] - a[0], b[1] - a[1]
    return (a[0] + low * dx, a[1] + low * dy), (a[0] + high * dx, a[1] + high * dy)
