"""Draw lines, true arcs, circles and text as SVG elements, from millimetres, Y up, to picture units, y down."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree

from msgspec import Struct

from holecam.output.label_places import Box
from holecam.output.plain_words import plain
from holecam.shapes import Arc, Curve, Point

LETTER = 0.66
"""Width of a letter over the font size, on the wide side for the sans faces of browsers."""

PICTURE_STYLE = """
svg.picture{color-scheme:light dark;font-family:"DejaVu Sans",Verdana,"Liberation Sans",Arial,sans-serif}
.picture{--ink:#111;--faint:#666;--metal:#f3efe6;--sheet:#fff;--old:#444;--out:#d9d9d9}
.picture .sheet{fill:var(--sheet);stroke:none}
.picture .edge{fill:var(--metal);stroke:var(--ink);stroke-width:2.2;fill-rule:evenodd}
.picture .near{fill:none;stroke:var(--ink);stroke-width:1.4;stroke-dasharray:9 4}
.picture .cross,.picture .lead,.picture .size{stroke:var(--ink);stroke-width:1;fill:none}
.picture .arrow{fill:var(--ink);stroke:none}
.picture .axis{stroke:var(--ink);stroke-width:2.4;fill:none}
.picture .new{fill:var(--sheet);stroke:var(--ink);stroke-width:2.6}
.picture .present .new{fill:var(--ink)}
.picture .present .cross{stroke:var(--sheet)}
.picture .open{fill:none;stroke:var(--old);stroke-width:1.6}
.picture .plug{fill:none;stroke:var(--old);stroke-width:1.6}
.picture .halt{fill:none;stroke:var(--ink);stroke-width:2;stroke-dasharray:3 3}
.picture .barred{fill:var(--out);stroke:var(--ink);stroke-width:1.2}
.picture .bar{fill:var(--metal);stroke:var(--ink);stroke-width:1.4}
.picture .bar.named{fill:var(--out);stroke-width:2.6}
.picture .gone{fill:none;stroke:var(--ink);stroke-width:1.4;stroke-dasharray:6 4}
.picture .frame{fill:none;stroke:var(--ink);stroke-width:1}
.picture .hollow{fill:var(--sheet);stroke:var(--ink);stroke-width:1.6;fill-rule:evenodd}
.picture .left{fill:var(--ink);stroke:var(--ink);stroke-width:.8;fill-rule:evenodd}
.picture .cutter{fill:none;stroke:var(--ink);stroke-width:1.1}
.picture .spread{fill:var(--faint);fill-opacity:.45;stroke:none}
.picture .bar-line{fill:none;stroke:var(--ink);stroke-width:2}
.picture .dot{fill:var(--ink);stroke:none}
.picture .drilled{fill:none;stroke:var(--ink);stroke-width:2.2}
.picture .pass{fill:none;stroke:var(--ink);stroke-width:1}
.picture .wall-pass{fill:none;stroke:var(--ink);stroke-width:3}
.picture .clean-up{fill:none;stroke:var(--ink);stroke-width:4;stroke-dasharray:10 3}
.picture .way-in{fill:none;stroke:var(--ink);stroke-width:3;stroke-dasharray:2 3}
.picture .between{fill:none;stroke:var(--ink);stroke-width:1.3;stroke-dasharray:9 3 2 3}
.picture .above{fill:none;stroke:var(--ink);stroke-width:1.2;stroke-dasharray:1 5}
.picture .kept{fill:none;stroke:var(--ink);stroke-width:4.4;stroke-dasharray:16 5}
.picture .shoulder{fill:none;stroke:var(--ink);stroke-width:5}
.picture .margin{fill:none;stroke:var(--ink);stroke-width:1.2;stroke-dasharray:5 4}
.picture text{fill:var(--ink);stroke:none}
.picture.cut .label,.picture.section .label{paint-order:stroke;stroke:var(--sheet);stroke-width:4;stroke-linejoin:round}
.picture text.strong{font-weight:bold}
.picture text.quiet{fill:var(--faint)}
@media screen and (prefers-color-scheme:dark){
.picture{--ink:#f4f4f4;--faint:#bbb;--metal:#2b2a26;--sheet:#131313;--old:#cfcfcf;--out:#555}
}
"""
"""How the pictures look, on light and on dark ground; in a page it stands in the page's own style sheet."""


class View(Struct, frozen=True):
    """The mapping of millimetres to picture units: ``left`` and ``top`` (mm) lie at ``x0`` and ``y0`` (units)."""

    scale: float
    left: float
    top: float
    x0: float
    y0: float

    def at(self, p: Point) -> Point:
        """Return a point in picture units."""
        return (self.x0 + (p[0] - self.left) * self.scale, self.y0 + (self.top - p[1]) * self.scale)


def number(value: float) -> str:
    """Return a coordinate with two decimals at most, without a minus zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class Canvas:
    """One picture in the making."""

    def __init__(self, width: float, height: float, title: str, kind: str) -> None:
        self.width, self.height = width, height
        self.root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "class": f"picture {kind}",
                "viewBox": f"0 0 {number(width)} {number(height)}",
                "role": "img",
                "aria-label": plain(title),
            },
        )
        ElementTree.SubElement(self.root, "title").text = plain(title)
        self.add("rect", "sheet", {"x": "0", "y": "0", "width": number(width), "height": number(height)})

    @property
    def sheet(self) -> Box:
        """The whole picture."""
        return Box(0.0, 0.0, self.width, self.height)

    def add(
        self, tag: str, look: str, attributes: dict[str, str], parent: ElementTree.Element | None = None
    ) -> ElementTree.Element:
        """Return a new element with a class."""
        return ElementTree.SubElement(self.root if parent is None else parent, tag, {"class": look, **attributes})

    def group(self, look: str, attributes: dict[str, str] | None = None, *, title: str = "") -> ElementTree.Element:
        """Return a new group, with a title that a pointer or a screen reader finds."""
        group = self.add("g", look, attributes or {})
        if title:
            ElementTree.SubElement(group, "title").text = plain(title)
        return group

    def line(self, a: Point, b: Point, look: str, parent: ElementTree.Element | None = None) -> None:
        """Draw a line between two points in picture units."""
        ends = {"x1": number(a[0]), "y1": number(a[1]), "x2": number(b[0]), "y2": number(b[1])}
        self.add("line", look, ends, parent)

    def circle(self, center: Point, radius: float, look: str, parent: ElementTree.Element | None = None) -> None:
        """Draw a circle in picture units."""
        facts = {"cx": number(center[0]), "cy": number(center[1]), "r": number(radius)}
        self.add("circle", look, facts, parent)

    def text(
        self,
        at: Point,
        words: str,
        size: float,
        *,
        look: str = "",
        anchor: str = "start",
        parent: ElementTree.Element | None = None,
    ) -> None:
        """Write one line of text; ``at`` is on its base line."""
        facts = {"x": number(at[0]), "y": number(at[1]), "font-size": number(size)}
        if anchor != "start":
            facts["text-anchor"] = anchor
        if look:
            facts["class"] = look
        ElementTree.SubElement(self.root if parent is None else parent, "text", facts).text = plain(words)

    def path(
        self, chains: Iterable[Sequence[Curve]], view: View, look: str, *, closed: bool, attributes: dict[str, str]
    ) -> None:
        """Draw chains of lines and true arcs as one path."""
        data = " ".join(path_data(chain, view, closed=closed) for chain in chains if chain)
        if data:
            self.add("path", look, {"d": data, **attributes})

    def arrow(self, tip: Point, toward: Point, size: float = 9.0) -> None:
        """Draw an arrow head at ``tip``; ``toward`` is the unit direction in which it points."""
        (x, y), (ux, uy) = tip, toward
        back = (x - ux * size, y - uy * size)
        side = (-uy * size * 0.4, ux * size * 0.4)
        corners = (tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1]))
        self.add("polygon", "arrow", {"points": " ".join(f"{number(a)},{number(b)}" for a, b in corners)})

    def inline(self) -> str:
        """Return the picture for a page that holds the style of pictures itself."""
        return ElementTree.tostring(self.root, encoding="unicode")

    def standalone(self) -> str:
        """Return the picture as a file of its own."""
        style = ElementTree.Element("style")
        style.text = PICTURE_STYLE
        self.root.insert(1, style)
        text = ElementTree.tostring(self.root, encoding="unicode")
        self.root.remove(style)
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def path_data(chain: Sequence[Curve], view: View, *, closed: bool) -> str:
    """Return the ``d`` of a path through a chain; a full circle becomes two half arcs."""
    x, y = view.at(chain[0].start)
    words = [f"M{number(x)} {number(y)}"]
    for curve in chain:
        if not isinstance(curve, Arc):
            x, y = view.at(curve.end)
            words.append(f"L{number(x)} {number(y)}")
            continue
        radius = number(curve.radius * view.scale)
        # y points down: an arc travelled anticlockwise has sweep 0. Halves need no large-arc flag and no care at 360.
        for share in (0.5, 1.0):
            x, y = view.at(curve.point_at(share))
            words.append(f"A{radius} {radius} 0 0 {0 if curve.ccw else 1} {number(x)} {number(y)}")
    return "".join(words) + ("Z" if closed else "")


def text_width(words: str, size: float) -> float:
    """Return the width that a text takes at most, picture units."""
    return LETTER * size * len(words)
