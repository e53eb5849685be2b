"""Read pictures back: outlines as polygons, words with the room they take. Nothing here knows how pictures are made."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np
from shapely.geometry import LineString, Polygon

from holecam.output.label_places import Box
from holecam.output.paper_font import REGULAR, STRONG, register_faces

SVG = "{http://www.w3.org/2000/svg}"
WORD = re.compile(r"([MLAZ])([^MLAZ]*)")
ASCENT, DESCENT = 0.74, 0.20
"""Times the font size, for letters and figures of the face that is shipped: measured on its outlines."""


def root_of(text: str) -> ElementTree.Element:
    """Return the root of a picture."""
    return ElementTree.fromstring(text)


def of_class(root: ElementTree.Element, look: str) -> list[ElementTree.Element]:
    """Return the elements whose first class is this."""
    return [e for e in root.iter() if (e.get("class") or "").split()[:1] == [look]]


def lines_of_path(data: str) -> list[list[tuple[float, float]]]:
    """Return the chains of a path as points; arcs in steps so fine that their sagitta is below 0.001 units."""
    chains: list[list[tuple[float, float]]] = []
    for letter, rest in WORD.findall(data):
        values = [float(v) for v in rest.split()]
        if letter == "M":
            chains.append([(values[0], values[1])])
        elif letter == "L":
            chains[-1].append((values[0], values[1]))
        elif letter == "A":
            chains[-1] += _arc(chains[-1][-1], (values[5], values[6]), values[0], clockwise=values[4] == 1)
        else:
            chains[-1].append(chains[-1][0])
    return chains


def _arc(
    start: tuple[float, float], end: tuple[float, float], radius: float, *, clockwise: bool
) -> Iterator[tuple[float, float]]:
    """Yield points of the shorter arc; on the screen, y down, sweep 1 is clockwise."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    if chord < 1e-9:
        yield end
        return
    rise = math.sqrt(max(radius * radius - chord * chord / 4, 0.0))
    sign = 1.0 if clockwise else -1.0
    cx, cy = (start[0] + end[0]) / 2 - sign * dy / chord * rise, (start[1] + end[1]) / 2 + sign * dx / chord * rise
    a0 = math.atan2(start[1] - cy, start[0] - cx)
    sweep = (math.atan2(end[1] - cy, end[0] - cx) - a0) % math.tau
    if not clockwise:
        sweep -= math.tau
    true = math.hypot(start[0] - cx, start[1] - cy)
    for angle in np.linspace(a0, a0 + sweep, 65)[1:]:
        yield (cx + true * math.cos(angle), cy + true * math.sin(angle))


def polygons(root: ElementTree.Element, look: str, clip: str) -> list[Polygon]:
    """Return the areas of a class seen in one window: each path's first chain, its others as holes."""
    found = []
    for element in of_class(root, look):
        if element.get("clip-path") == f"url(#{clip})":
            first, *holes = lines_of_path(element.attrib["d"])
            found.append(Polygon(first, holes))
    return found


def strings(root: ElementTree.Element, look: str, clip: str) -> list[LineString]:
    """Return the lines of a class seen in one window."""
    return [
        LineString(chain)
        for element in of_class(root, look)
        if element.get("clip-path") == f"url(#{clip})"
        for chain in lines_of_path(element.attrib["d"])
        if len(chain) > 1
    ]


def windows(root: ElementTree.Element) -> list[str]:
    """Return the names of the windows."""
    return [e.attrib["id"] for e in root.iter() if e.tag.endswith("clipPath")]


def words(root: ElementTree.Element) -> list[tuple[str, Box]]:
    """Return every line of text with the room that it takes in the face that is shipped."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register_faces()
    found = []
    for element in root.iter(f"{SVG}text"):
        size = float(element.attrib["font-size"])
        text = element.text or ""
        wide = stringWidth(text, STRONG if "strong" in (element.get("class") or "") else REGULAR, size)
        x, y = float(element.attrib["x"]), float(element.attrib["y"])
        x -= {"middle": wide / 2, "end": wide}.get(element.get("text-anchor", ""), 0.0)
        found.append((text, Box(x, y - ASCENT * size, x + wide, y + DESCENT * size)))
    return found


def assert_words_apart(text: str) -> None:
    """Hold that no line of text leaves the picture and none lies on another."""
    root = root_of(text)
    wide, high = (float(v) for v in root.attrib["viewBox"].split()[2:])
    boxes = words(root)
    for n, (line, box) in enumerate(boxes):
        assert Box(0, 0, wide, high).holds(box), f"{line!r} leaves the picture"
        for other, room in boxes[:n]:
            assert not box.meets(room), f"{line!r} lies on {other!r}"
