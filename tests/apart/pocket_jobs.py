"""Random jobs of one pocket in a rectangular part, and the shape that it has to be.

Rectangles (sharp, rounded, turned), points (also rounded), circles, drawings, room for a block; islands; overcut
corners; one cutter or two; at once or in sneaking stages; entries by helix, ramp or plunge.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from cnc_setups import CncSetup, Cutting, EndMill, draw_cutting, draw_setup, head_text, part_text, tools_text
from ezdxf.filemanagement import new as new_drawing
from metal import Shape
from shapely.geometry import Point, Polygon, box
from shop_figures import INCH, XY, ShopFigures, turned
from slot_jobs import MATERIALS

FINE = 256
"""Segments of a quarter circle: 8 micrometres in a metre."""


@dataclass(frozen=True)
class PocketJob:
    """A job and its truth; lengths in mm, shapes in the part frame."""

    text: str
    setup: CncSetup
    size: XY
    mill: EndMill
    second: EndMill | None
    cutting: Cutting
    shape: Shape
    """All of the pocket, less its islands."""
    depth: float
    corners: tuple[XY, ...]
    """Corners that are to be overcut."""
    ramp_deg: float
    undersize: float
    stages: int
    drawings: dict[str, Callable[[Path], None]] = field(default_factory=dict)


@dataclass
class _Outline:
    """An outline as it is drawn: its lines in the job and its shape."""

    lines: list[str]
    shape: Shape
    depth: float | None = None
    corners: tuple[XY, ...] = ()
    island_at: XY | None = None
    drawings: dict[str, Callable[[Path], None]] = field(default_factory=dict)


def draw_pocket_job(seed: int) -> PocketJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"pocket {seed}")
    draw = figures.random
    setup = draw_setup(figures)
    thickness, size = figures.pick((20.0, 30.0, 12.0)), figures.exact_point((160.0, 100.0))
    mill = EndMill(
        "cutA",
        figures.pick((4.0, 6.0, 6.35, 8.0, 10.0)),
        draw.choice((2, 3, 4)),
        figures.chance(0.65),
        draw.choice(("hss", "carbide")),
    )
    second = EndMill("small", figures.pick((2.0, 3.0)), 2, figures.chance(0.7)) if figures.chance(0.35) else None
    depth = figures.pick((1.2, 2.5, 4.0, 6.0))
    outline = _draw_outline(figures, depth)
    island, shape = _draw_island(figures, outline)
    corners: tuple[XY, ...] = ()
    relief: list[str] = []
    if outline.corners and second is None and figures.chance(0.3):
        corners = outline.corners
        relief = [f'relief = {{ shape = "{draw.choice(("diagonal", "along one wall", "longer wall"))}" }}']
    ways, ramp_deg = [], 3.0
    if figures.chance(0.3):
        ways.append(f'entry = "{draw.choice(("helix", "ramp", "plunge"))}"')
    if figures.chance(0.2):
        ramp_deg = draw.choice((2.0, 5.0))
        ways.append(f"ramp_deg = {ramp_deg}")
    if figures.chance(0.35):
        ways.append(f'strategy = "{draw.choice(("along the outline", "to and fro"))}"')
    if figures.chance(0.3):
        ways.append(f'corners = "{draw.choice(("nibble", "as they come"))}"')
    undersize, stages = 0.0, 0
    if second is None and figures.chance(0.25):
        undersize, stages = figures.pick((0.3, 0.5)), draw.randint(1, 3)
        ways.append(f"sneak = {{ undersize = {figures.text(undersize)}, steps = {stages} }}")
    cutting, cutting_text = draw_cutting(figures)
    lines = [
        *head_text(figures, f"pocket {seed}"),
        *setup.text,
        *tools_text(figures, (mill,) if second is None else (mill, second)),
        *part_text(figures, material=draw.choice(MATERIALS), thickness=thickness, size=size),
        *setup.skew_text,
        "[[pocket]]",
        'name = "pk"',
        'cutter = "cutA"',
        *(['second_cutter = "small"'] if second else []),
        *outline.lines,
        *island,
        *([f"depth = {figures.text(depth)}"] if outline.depth is None else []),
        *relief,
        *ways,
        *cutting_text,
    ]
    return PocketJob(
        "\n".join(lines) + "\n", setup, size, mill, second, cutting, shape,
        depth if outline.depth is None else outline.depth, corners, ramp_deg, undersize, stages, outline.drawings,
    )  # fmt: skip


def _draw_outline(figures: ShopFigures, depth: float) -> _Outline:
    draw = figures.random
    kind = draw.choice(("rectangle", "rounded", "points", "circle", "drawing", "block", "turned"))
    at = figures.exact_point((40.0, 25.0))
    wide, high = figures.between(35.0, 80.0), figures.between(22.0, 50.0)
    corners = ((at[0], at[1]), (at[0] + wide, at[1]), (at[0] + wide, at[1] + high), (at[0], at[1] + high))
    place = [f"rectangle = {figures.pair((wide, high))}", f"at = {figures.pair(at)}"]
    if kind == "rectangle":
        return _Outline(place, Polygon(corners), corners=corners, island_at=_island_at(figures, at, wide, high))
    if kind == "rounded":
        radius = figures.pick((2.0, 5.0, 8.0))
        lines = [*place, f"corner_radius = {figures.text(radius)}"]
        return _Outline(lines, rounded(corners, radius), island_at=_island_at(figures, at, wide, high))
    if kind == "turned":
        return _turned_rectangle(figures, min(wide, 60.0), min(high, 36.0))
    if kind == "block":
        within, floats = figures.exact(0.2), figures.exact(0.4)
        height = figures.exact(depth - 0.6)
        words = (
            f"clears = {{ rectangle = {figures.pair((wide, high))}, at = {figures.pair(at)}, "
            f"height = {figures.text(height)}, within = {figures.text(within)}, float = {figures.text(floats)} }}"
        )
        shape = Polygon(corners).buffer(within + floats, quad_segs=FINE)  # the same room all round: corners are round
        island_at = _island_at(figures, at, wide, high)
        return _Outline([words], shape, height + within + floats, island_at=island_at)
    if kind == "circle":
        diameter, centre = figures.between(20.0, 60.0), figures.exact_point((80.0, 50.0))
        lines = [f"circle = {figures.text(diameter)}", f"centre = {figures.pair(centre)}"]
        return _Outline(lines, disc(centre, diameter))
    wide, high = max(wide, figures.exact(55.0)), max(high, figures.exact(34.0))
    points = tuple(figures.exact_point((at[0] + x * wide, at[1] + y * high)) for x, y in draw.choice(_OUTLINES))
    if kind == "drawing":
        return _drawn(figures, points, (points[0][0] + wide * 0.45, points[0][1] + high * 0.4))
    island_at = _island_at(figures, at, wide, high)
    if figures.chance(0.4):
        radius = figures.pick((3.0, 5.0))
        words = ", ".join(f"{{ to = {figures.pair(p)}, rounded = {figures.text(radius)} }}" for p in points)
        return _Outline([f"points = [{words}]"], rounded(points, radius), island_at=island_at)
    return _Outline([f"points = {figures.pairs(points)}"], Polygon(points), corners=points, island_at=island_at)


_OUTLINES: tuple[tuple[XY, ...], ...] = (
    ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.55, 1.0), (0.55, 0.6), (0.0, 0.6)),
    ((0.0, 0.0), (1.0, 0.0), (0.8, 1.0), (0.2, 1.0)),
    ((0.0, 0.0), (0.5, 0.15), (1.0, 0.0), (0.9, 1.0), (0.1, 0.9)),
    ((0.0, 0.0), (1.0, 0.0), (1.0, 0.5), (0.65, 1.0), (0.0, 0.8)),
)
"""Shares of width and height: an L, a trapezium, a notched and an irregular outline."""


def _turned_rectangle(figures: ShopFigures, wide: float, high: float) -> _Outline:
    degrees = figures.random.choice((10, 30, -15))
    wide, high = figures.exact(wide), figures.exact(high)
    centre = figures.exact_point((80.0, 50.0))
    half = ((-wide / 2, -high / 2), (wide / 2, -high / 2), (wide / 2, high / 2), (-wide / 2, high / 2))
    around = (turned(p, math.radians(degrees)) for p in half)
    corners = tuple((centre[0] + x, centre[1] + y) for x, y in around)
    lines = [
        f"rectangle = {figures.pair((wide, high))}",
        f"centre = {figures.pair(centre)}",
        f"turn_deg = {degrees}",
    ]
    return _Outline(lines, Polygon(corners), corners=corners)


def _drawn(figures: ShopFigures, points: tuple[XY, ...], island: XY) -> _Outline:
    """An outline from a drawing, half of them with a circle inside, which stays as an island."""
    scale = INCH if figures.unit == "in" else 1.0
    hole = figures.exact(4.0) if figures.chance(0.5) else 0.0

    def write(path: Path) -> None:
        document = new_drawing()
        document.units = 1 if figures.unit == "in" else 4
        space = document.modelspace()
        space.add_lwpolyline([(x / scale, y / scale) for x, y in points], close=True)
        if hole:
            space.add_circle((island[0] / scale, island[1] / scale), hole / 2 / scale)
        document.saveas(path)

    shape = Polygon(points)
    if hole:
        shape = shape.difference(disc(island, hole))
    words = f'drawing = {{ file = "o.dxf", drawing_unit = "{figures.unit}" }}'
    return _Outline([words], shape, drawings={"o.dxf": write})


def _island_at(figures: ShopFigures, at: XY, wide: float, high: float) -> XY:
    return figures.exact_point((at[0] + wide * 0.42, at[1] + high * 0.35))


def _draw_island(figures: ShopFigures, outline: _Outline) -> tuple[list[str], Shape]:
    at = outline.island_at
    if at is None or not figures.chance(0.5):
        return [], outline.shape
    size = figures.pick((3.0, 5.0, 8.0))
    if figures.chance(0.5):
        words = f"island = [{{ circle = {figures.text(size)}, centre = {figures.pair(at)} }}]"
        return [words], outline.shape.difference(disc(at, size))
    sides = (size, figures.exact(size * 0.7))
    words = f"island = [{{ rectangle = {figures.pair(sides)}, at = {figures.pair(at)} }}]"
    return [words], outline.shape.difference(box(at[0], at[1], at[0] + sides[0], at[1] + sides[1]))


def disc(centre: XY, diameter: float) -> Shape:
    """Return a disc as a polygon of fine segments."""
    return Point(centre).buffer(diameter / 2, quad_segs=FINE)


def rounded(points: tuple[XY, ...], radius: float) -> Shape:
    """Return a polygon with each corner rounded: shrunk and grown for those that stick out, then grown and shrunk."""
    shape = Polygon(points)
    shape = shape.buffer(-radius, join_style="mitre", mitre_limit=50.0).buffer(radius, quad_segs=FINE)
    return shape.buffer(radius, join_style="mitre", mitre_limit=50.0).buffer(-radius, quad_segs=FINE)
