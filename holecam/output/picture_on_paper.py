"""Draw a picture of :mod:`holecam.output.svg_canvas` on a page of a PDF: the same shapes, in one colour."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree import ElementTree

from holecam.output.paper_font import REGULAR, STRONG, paper_text
from holecam.output.paper_template import bezier_bits
from holecam.output.svg_canvas import Canvas
from holecam.shapes import Arc, Point

WIDTHS = {
    "edge": 2.2,
    "axis": 2.4,
    "new": 2.6,
    "halt": 2.0,
    "cross": 1.0,
    "lead": 1.0,
    "size": 1.0,
    "frame": 1.0,
    "hollow": 1.6,
    "left": 0.8,
    "cutter": 1.1,
    "pass": 1.0,
    "wall-pass": 3.0,
    "clean-up": 4.0,
    "way-in": 3.0,
    "between": 1.3,
    "above": 1.2,
    "kept": 4.4,
    "margin": 1.2,
    "shoulder": 5.0,
    "drilled": 2.2,
    "bar-line": 2.0,
    "barred": 1.2,
}
FILLS = {
    "edge": 0.95,
    "bar": 0.95,
    "barred": 0.85,
    "arrow": 0.0,
    "new": 1.0,
    "hollow": 1.0,
    "left": 0.0,
    "spread": 0.75,
    "dot": 0.0,
}
NO_STROKE = ("spread", "dot")
DASHES = {
    "near": (9, 4),
    "halt": (3, 3),
    "gone": (6, 4),
    "clean-up": (10, 3),
    "way-in": (2, 3),
    "between": (9, 3, 2, 3),
    "above": (1, 5),
    "kept": (16, 5),
    "margin": (5, 4),
}
WORD = re.compile(r"([MLAZ])([^MLAZ]*)")


def draw_picture(paper: Any, picture: Canvas, left: float, low: float, width: float) -> float:
    """Draw a picture with its lower left corner at a place, points; return its height."""
    scale = width / picture.width
    paper.saveState()
    paper.translate(left, low)
    paper.scale(scale, scale)
    windows = _windows(picture)
    for element in picture.root.iter():
        window = windows.get(element.get("clip-path", ""))
        if window is not None:
            paper.saveState()
            _clip(paper, window, picture.height)
        _draw(paper, element, picture.height)
        if window is not None:
            paper.restoreState()
    paper.restoreState()
    return picture.height * scale


def _draw(paper: Any, element: ElementTree.Element, high: float) -> None:
    look = (element.get("class") or "").split()
    kind = look[0] if look else ""

    def number(name: str) -> float:
        return float(element.get(name, "0"))

    if kind == "sheet":
        return
    paper.setLineWidth(WIDTHS.get(kind, 1.4))
    paper.setDash(list(DASHES.get(kind, ())))
    filled, stroked = kind in FILLS, int(kind not in NO_STROKE)
    paper.setFillGray(FILLS.get(kind, 0.0))
    if element.tag == "line":
        paper.line(number("x1"), high - number("y1"), number("x2"), high - number("y2"))
    elif element.tag == "circle":
        paper.circle(number("cx"), high - number("cy"), number("r"), stroke=stroked, fill=int(filled))
    elif element.tag == "rect" and kind:
        tall = number("height")
        paper.rect(number("x"), high - number("y") - tall, number("width"), tall, stroke=stroked, fill=int(filled))
    elif element.tag in ("path", "polygon"):
        _shape(paper, element, high, filled=filled)
    elif element.tag == "text":
        _words(paper, element, high)


def _words(paper: Any, element: ElementTree.Element, high: float) -> None:
    """Write a line of text; a label in white first, broader, so that no line of the picture runs through it."""
    look = (element.get("class") or "").split()
    face, size = STRONG if "strong" in look else REGULAR, float(element.get("font-size", "0"))
    words = paper_text(element.text or "")
    share = {"middle": 0.5, "end": 1.0}.get(element.get("text-anchor", ""), 0.0)
    x = float(element.get("x", "0")) - share * float(paper.stringWidth(words, face, size))
    y = high - float(element.get("y", "0"))
    if "label" in look:
        paper.setStrokeGray(1.0)
        paper.setLineWidth(3.0)
        paper.setDash()
        line = paper.beginText(x, y)
        line.setFont(face, size)
        line.setTextRenderMode(1)
        line.textLine(words)
        line.setTextRenderMode(0)
        paper.drawText(line)
        paper.setStrokeGray(0.0)
    paper.setFillGray(0.0)
    paper.setFont(face, size)
    paper.drawString(x, y, words)


def _windows(picture: Canvas) -> dict[str, ElementTree.Element]:
    """Return the rectangles inside which shapes are seen, by the words with which shapes name them."""
    found = {}
    for clip in picture.root.iter("clipPath"):
        rect = clip.find("rect")
        if rect is not None:
            found[f"url(#{clip.get('id')})"] = rect
    return found


def _clip(paper: Any, rect: ElementTree.Element, high: float) -> None:
    """Keep what is drawn next inside a rectangle."""
    x, y, wide, tall = (float(rect.get(name, "0")) for name in ("x", "y", "width", "height"))
    window = paper.beginPath()
    window.rect(x, high - y - tall, wide, tall)
    paper.clipPath(window, stroke=0, fill=0)


def _shape(paper: Any, element: ElementTree.Element, high: float, *, filled: bool) -> None:
    path = paper.beginPath()
    if element.tag == "polygon":
        points = [tuple(float(v) for v in pair.split(",")) for pair in element.get("points", "").split()]
        path.moveTo(points[0][0], high - points[0][1])
        for x, y in points[1:]:
            path.lineTo(x, high - y)
        path.close()
    else:
        _path(path, element.get("d", ""), high)
    paper.drawPath(path, stroke=1, fill=int(filled), fillMode=0)


def _path(path: Any, data: str, high: float) -> None:
    here: Point = (0.0, 0.0)
    for letter, rest in WORD.findall(data):
        values = [float(v) for v in rest.split()]
        if letter == "Z":
            path.close()
            continue
        end = (values[-2], high - values[-1])
        if letter == "M":
            path.moveTo(*end)
        elif letter == "L":
            path.lineTo(*end)
        else:
            for one, two, to in _arc_bits(here, end, values[0], ccw=values[4] == 0):
                path.curveTo(*one, *two, *to)
        here = end


def _arc_bits(start: Point, end: Point, radius: float, *, ccw: bool) -> list[tuple[Point, Point, Point]]:
    """Return the curves of an arc of at most half a turn, as the pictures write them."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    if chord < 1e-6:
        return []
    rise = math.sqrt(max(0.0, radius * radius - chord * chord / 4)) * (1 if ccw else -1)
    center = ((start[0] + end[0]) / 2 - dy / chord * rise, (start[1] + end[1]) / 2 + dx / chord * rise)
    true = math.hypot(start[0] - center[0], start[1] - center[1])
    angle = math.atan2(end[1] - center[1], end[0] - center[0])
    end_on = (center[0] + true * math.cos(angle), center[1] + true * math.sin(angle))
    return bezier_bits(Arc(start, end_on, center, ccw))
