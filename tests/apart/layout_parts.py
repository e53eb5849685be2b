"""Random parts for layout jobs: outlines of seven kinds, an opening, keep-outs and bends, the way the part lies."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from ezdxf.filemanagement import new as new_drawing
from layout_model import KeepOut, Part, Place, Points, Shape, arc, placed, turned
from shapely.geometry import LineString, Polygon
from shop_figures import XY, ShopFigures

METALS = {
    "brass": ("brass", False), "copper": ("copper", True), "mild steel": ("steel", False),
    "aluminium": ("aluminium", False), "cartridge brass": ("brass", True), "cast iron": ("iron", False),
}  # fmt: skip
"""Family of a metal, and whether its sheet is soft."""

SHEET = 2.0
"""Up to this thickness brass, copper, aluminium and steel are sheet, mm."""


def _square(points: Points) -> Points:
    return points


@dataclass
class Drawn:
    """A part under way: its lines in the job, its drawings, the part, and how it lies on the table."""

    part: Part
    lines: list[str]
    drawings: dict[str, Callable[[Path], None]] = field(default_factory=dict)
    zero_within: float = 0.0
    on_table: Callable[[Points], Points] = field(default=_square)


def draw_part(figures: ShopFigures) -> Drawn:
    """Return a random part; its outline may cross itself, which the caller has to look at."""
    draw = figures.random
    metal = draw.choice(list(METALS))
    family, soft = METALS[metal]
    thickness = figures.pick((0.8, 1.2, 1.6, 2.5, 4.0, 4.76, 6.0, 10.0))
    metal_class = "aluminium" if family == "aluminium" else "general"
    if thickness <= SHEET and family in ("brass", "copper", "aluminium", "steel"):
        metal_class = "soft-sheet" if soft else "sheet"
    kind = draw.choice(("rectangle", "rectangle", "rounded", "notched", "circle", "bulged", "arc", "spline"))
    drawings: dict[str, Callable[[Path], None]] = {}
    words, outline = _draw_outline(figures, kind, drawings)
    lines = [
        "[tools]",
        'drills = ["number", "letter", "fraction", "metric"]',
        "[part]",
        f'material = "{metal}"',
        f"thickness = {figures.text(thickness)}",
        f"outline = {{ {words} }}",
    ]
    drawn = Drawn(Part(kind, thickness, metal_class, family, outline), lines, drawings)
    x0, y0, x1, y1 = outline.bounds
    if figures.chance(0.35):
        diameter = figures.between(6.0, 14.0)
        centre = figures.exact_point((draw.uniform(x0 + 0.3 * (x1 - x0), x1), draw.uniform(y0, y1)))
        lines.append(f"openings = [{{ circle = {figures.text(diameter)}, centre = {figures.pair(centre)} }}]")
        drawn.part.openings.append(_disc(centre, diameter))
    if figures.chance(0.5):
        _draw_setup(figures, drawn)
    for number in range(draw.choice((0, 0, 1, 2))):
        lines += _draw_keep_out(figures, drawn.part, number)
    return drawn


def _disc(centre: XY, diameter: float) -> Shape:
    return Polygon(arc(centre, diameter / 2, 0.0, math.tau)[:-1])


def _draw_outline(figures: ShopFigures, kind: str, drawings: dict[str, Callable[[Path], None]]) -> tuple[str, Shape]:
    draw = figures.random
    wide, high = figures.between(60.0, 180.0), figures.between(20.0, 90.0)
    if kind in ("rectangle", "rounded"):
        at = figures.exact_point((draw.uniform(-10.0, 10.0), draw.uniform(-10.0, 10.0)))
        turn = draw.choice((0, 0, 0, 15, -7.5))
        radius = figures.between(2.0, 6.0) if kind == "rounded" else 0.0
        words = f"rectangle = {figures.pair((wide, high))}, at = {figures.pair(at)}"
        words += f", corner_radius = {figures.text(radius)}" if radius else ""
        words += f", turn_deg = {turn}" if turn else ""
        corners = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
        if radius:
            centres = (
                (wide - radius, radius),
                (wide - radius, high - radius),
                (radius, high - radius),
                (radius, radius),
            )
            quarter = math.pi / 2
            corners = np.vstack([arc(c, radius, (i - 1) * quarter, i * quarter) for i, c in enumerate(centres)])
        return words, Polygon(turned(corners, turn) + np.array(at))
    if kind == "notched":
        x, gap, deep = draw.uniform(0.3, 0.6) * wide, draw.uniform(5.0, 12.0), draw.uniform(0.2, 0.5) * high
        rough = ((0.0, 0.0), (wide, 0.0), (wide, high), (x + gap, high), (x + gap, high - deep), (x, high - deep),
                 (x, high), (0.0, high))  # fmt: skip
        points = [figures.exact_point(p) for p in rough]
        return f"points = {figures.pairs(points)}", Polygon(points)
    if kind == "circle":
        diameter = figures.between(50.0, 120.0)
        centre = figures.exact_point((draw.uniform(-5.0, 60.0), draw.uniform(-5.0, 40.0)))
        return f"circle = {figures.text(diameter)}, centre = {figures.pair(centre)}", _disc(centre, diameter)
    if kind == "arc":
        through = figures.exact_point((wide + high / 2, high / 2))
        words = (
            f"points = [[0, 0], {figures.pair((wide, 0.0))}, {{ arc_to = {figures.pair((wide, high))}, "
            f"through = {figures.pair(through)} }}, {figures.pair((0.0, high))}]"
        )
        return words, Polygon(np.vstack([[(0.0, 0.0)], _through((wide, 0.0), through, (wide, high)), [(0.0, high)]]))
    drawings["o.dxf"], side = _bulged(figures, wide, high) if kind == "bulged" else _splined(wide, high)
    return 'drawing = "o.dxf"', Polygon(np.vstack([[(0.0, 0.0)], side, [(0.0, high)]]))


def _through(a: XY, b: XY, c: XY) -> Points:
    """Return an anticlockwise arc through three points: its centre is equally far from all of them."""
    p, q, r = np.array(a), np.array(b), np.array(c)
    centre = np.linalg.solve(np.array([q - p, r - q]), np.array([(q @ q - p @ p) / 2, (r @ r - q @ q) / 2]))
    begin, end = (math.atan2(v[1], v[0]) for v in (p - centre, r - centre))
    return arc(
        (float(centre[0]), float(centre[1])), float(np.hypot(*(p - centre))), begin, end + math.tau * (end < begin)
    )


def _bulged(figures: ShopFigures, wide: float, high: float) -> tuple[Callable[[Path], None], Points]:
    """A polyline whose right side is an arc; the bulge of a DXF is the tangent of a quarter of its angle."""
    bulge = figures.random.choice((0.2, 0.4, -0.2))

    def write(path: Path) -> None:
        document = new_drawing()
        document.units = 4
        corners = [(0.0, 0.0, 0.0), (wide, 0.0, bulge), (wide, high, 0.0), (0.0, high, 0.0)]
        document.modelspace().add_lwpolyline(corners, format="xyb", close=True)
        document.saveas(path)

    angle = 4.0 * math.atan(abs(bulge))
    radius = high / 2 / math.sin(angle / 2)
    away = radius * math.cos(angle / 2)
    if bulge > 0:
        return write, arc((wide - away, high / 2), radius, -angle / 2, angle / 2)
    return write, arc((wide + away, high / 2), radius, math.pi + angle / 2, math.pi - angle / 2)


def _splined(wide: float, high: float) -> tuple[Callable[[Path], None], Points]:
    """Lines and a cubic spline of four points, which is a Bezier curve."""
    points = [(wide, 0.0), (wide * 1.1, high * 0.3), (wide * 1.05, high * 0.7), (wide * 0.95, high)]

    def write(path: Path) -> None:
        document = new_drawing()
        document.units = 4
        space = document.modelspace()
        space.add_open_spline([(x, y, 0.0) for x, y in points], degree=3)
        for begin, end in ((points[3], (0.0, high)), ((0.0, high), (0.0, 0.0)), ((0.0, 0.0), points[0])):
            space.add_line(begin, end)
        document.saveas(path)

    t = np.linspace(0.0, 1.0, 4000)[:, None]
    a, b, c, d = (np.array(p) for p in points)
    return write, (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d


def _draw_setup(figures: ShopFigures, drawn: Drawn) -> None:
    """Touch an edge, or measure holes of the part on the table."""
    draw = figures.random
    drawn.lines.append("[setup]")
    if figures.chance(0.5):
        drawn.zero_within = figures.pick((0.02, 0.05))
        drawn.lines.append(f"zero_within = {figures.text(drawn.zero_within)}")
    way = draw.random()
    if way < 0.4:
        first = figures.exact_point((draw.uniform(-5.0, 5.0), draw.uniform(-5.0, 5.0)))
        angle = math.radians(draw.uniform(-3.0, 3.0) + draw.choice((0, 0, 90, 180)))
        second = figures.exact_point((first[0] + 80.0 * math.cos(angle), first[1] + 80.0 * math.sin(angle)))
        along = draw.choice(("+x", "+y", "-x"))
        origin = figures.exact_point((draw.uniform(-20.0, 20.0), draw.uniform(-20.0, 20.0)))
        drawn.lines.append(
            f"skew = {{ edge = {{ first = {figures.pair(first)}, second = {figures.pair(second)}, "
            f'along = "{along}", origin_reads = {figures.pair(origin)} }}, within = {figures.text(0.02)} }}'
        )
        turn = (
            math.degrees(math.atan2(second[1] - first[1], second[0] - first[0])) - {"+x": 0, "+y": 90, "-x": 180}[along]
        )
        drawn.on_table = lambda points: turned(points, turn) + np.array(origin)
    elif way < 0.8:
        x0, y0, x1, y1 = drawn.part.outline.bounds
        turn, shift = draw.uniform(-20.0, 20.0), np.array((draw.uniform(-30.0, 30.0), draw.uniform(-30.0, 30.0)))
        own = [figures.exact_point((x0 + (i + 0.5) / 4 * (x1 - x0), draw.uniform(y0, y1)))
               for i in range(draw.choice((2, 3, 4)))]  # fmt: skip
        reads = [
            figures.exact_point((x + draw.gauss(0, 0.02), y + draw.gauss(0, 0.02)))
            for x, y in turned(own, turn) + shift
        ]
        words = [f"{{ part = {figures.pair(p)}, reads = {figures.pair(q)} }}" for p, q in zip(own, reads, strict=True)]
        drawn.lines.append(f"skew = {{ holes = [{', '.join(words)}] }}")
        place = Place(way="measured", measured=tuple((i + 1, q) for i, q in enumerate(reads)))
        drawn.on_table = lambda points: placed(np.vstack([np.array(own), points]), place)[len(own) :]


def _draw_keep_out(figures: ShopFigures, part: Part, number: int) -> list[str]:
    draw = figures.random
    x0, y0, x1, y1 = part.outline.bounds
    kind = draw.choice(("bend", "joint", "keep-out", "clamp"))
    lines = ["[[keep_out]]", f'name = "k{number}"', f'kind = "{kind}"']
    margin = None
    if kind == "bend":
        y, begin, end = figures.between(y0, y1), figures.exact(x0 - 5.0), figures.exact(x1 + 5.0)
        radius = figures.pick((0.0, 1.5, 2.5))
        lines.append(f"line = {figures.pairs([(begin, y), (end, y)])}")
        lines += [f"radius = {figures.text(radius)}"] if radius else []
        if figures.chance(0.3):
            margin = figures.between(1.0, 3.0)
        part.keep_outs.append(KeepOut(LineString([(begin, y), (end, y)]), False, radius, margin))
    else:
        at = figures.exact_point((draw.uniform(x0, x1), draw.uniform(y0, y1)))
        if kind == "clamp":
            diameter, margin = figures.between(4.0, 10.0), figures.between(0.5, 2.0)
            lines += [f"circle = {figures.text(diameter)}", f"centre = {figures.pair(at)}"]
            shape = _disc(at, diameter)
        else:
            wide, high, turn = figures.between(4.0, 15.0), figures.between(4.0, 15.0), draw.choice((0, 30))
            if figures.chance(0.6):
                margin = figures.between(0.5, 2.0)
            lines += [f"rectangle = {figures.pair((wide, high))}", f"at = {figures.pair(at)}", f"turn_deg = {turn}"]
            shape = Polygon(turned([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)], turn) + np.array(at))
        part.keep_outs.append(KeepOut(shape, True, 0.0, margin))
    return [*lines, *([f"margin = {figures.text(margin)}"] if margin is not None else [])]
