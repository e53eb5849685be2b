"""Random pockets for tests: outlines with lines and arcs, islands, and necks about as wide as the cutter. Invented."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from itertools import pairwise

from holecam.cuts.region_checks import check_islands, check_outline
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, outline_through, rectangle


@dataclass(frozen=True)
class Shape:
    """A pocket, and the cutter and step-over that it is to be cut with."""

    outline: Outline
    islands: tuple[Outline, ...]
    diameter: float
    step_over: float


def bulged(points: list[tuple[float, float]], bulges: list[float]) -> Outline:
    """Return the outline through points, each edge bent by its bulge (tangent of a quarter of its angle)."""
    curves: list[Curve] = []
    for (a, b), bulge in zip(pairwise([*points, points[0]]), bulges, strict=True):
        if bulge == 0:
            curves.append(Segment(a, b))
            continue
        size = math.dist(a, b)
        ux, uy = (b[0] - a[0]) / size, (b[1] - a[1]) / size
        off = size / 2 * (1 - bulge * bulge) / (2 * bulge)
        center = ((a[0] + b[0]) / 2 - uy * off, (a[1] + b[1]) / 2 + ux * off)
        curves.append(Arc(a, b, center, ccw=bulge > 0))
    return Outline(tuple(curves))


def random_shape(seed: int) -> Shape:
    """Return a pocket that can be cut; the same for the same seed."""
    draw = random.Random(seed)
    while True:
        try:
            shape = _draw(draw)
            check_outline(shape.outline, "outline")
            check_islands(shape.outline, shape.islands, "pocket")
        except InputError:
            continue
        if shape.outline.area > 20 * shape.diameter**2:
            return shape


def _draw(draw: random.Random) -> Shape:
    diameter = draw.choice([2.0, 3.0, 6.0, 6.35, 8.0])
    step_over = diameter * draw.choice([0.25, 0.4, 0.5, 0.5, draw.uniform(0.2, 0.5)])
    kind = draw.random()
    outline = _necked(draw, diameter) if kind < 0.35 else _star(draw, on_grid=kind > 0.7)
    return Shape(outline, _islands(draw, outline, diameter), diameter, step_over)


def _star(draw: random.Random, *, on_grid: bool) -> Outline:
    count, size = draw.randint(5, 36), draw.uniform(15, 55)
    points: list[tuple[float, float]] = []
    for k in range(count):
        angle = math.tau * (k + draw.uniform(-0.3, 0.3)) / count
        reach = size * draw.uniform(0.3, 1)
        p = (reach * math.cos(angle), reach * math.sin(angle))
        if on_grid:
            p = (float(round(p[0])), float(round(p[1])))
        if not points or math.dist(p, points[-1]) > 0.5:
            points.append(p)
    if math.dist(points[0], points[-1]) < 0.5:
        points.pop()
    if len(points) < 3:
        raise InputError("too few points")
    choices = [-1.0, -0.5, 0.5, 1.0, math.sqrt(2) - 1] if on_grid else [draw.uniform(-0.8, 0.8) or 0.1]
    bulges = [draw.choice(choices) if draw.random() < 0.3 else 0.0 for _ in points]
    return bulged(points, bulges)


def _necked(draw: random.Random, diameter: float) -> Outline:
    """Return chambers in a row, joined by necks a little narrower or wider than the cutter, or exactly as wide."""
    chambers = draw.randint(2, 4)
    x = 0.0
    upper: list[tuple[float, float]] = []
    lower: list[tuple[float, float]] = []
    for k in range(chambers):
        half, wide = draw.uniform(1.2, 4) * diameter, draw.uniform(2, 6) * diameter
        upper += [(x, half), (x + wide, half * draw.uniform(0.8, 1.0))]
        lower += [(x, -half), (x + wide, -half)]
        x += wide
        if k + 1 < chambers:
            neck = diameter * draw.choice([1.0, 0.9, 1.1, 1.02, draw.uniform(0.6, 1.8)]) / 2
            length = draw.uniform(0.2, 3) * diameter
            shift = draw.uniform(-0.3, 0.3) * diameter
            upper += [(x, shift + neck), (x + length, shift + neck)]
            lower += [(x, shift - neck), (x + length, shift - neck)]
            x += length
    outline = outline_through([*lower, *reversed(upper)])
    turn = draw.choice([0.0, 0.0, draw.uniform(0, math.tau)])
    c, s = math.cos(turn), math.sin(turn)
    moved = [(c * p.start[0] - s * p.start[1], s * p.start[0] + c * p.start[1]) for p in outline.curves]
    return outline_through(moved) if turn else outline


def _islands(draw: random.Random, outline: Outline, diameter: float) -> tuple[Outline, ...]:
    left, low, right, high = outline.bounds
    found: list[Outline] = []
    for _ in range(draw.randint(0, 4)):
        x, y = draw.uniform(left, right), draw.uniform(low, high)
        size = draw.uniform(0.2, 1.5) * diameter
        island = (
            circle_outline(Circle((x, y), size))
            if draw.random() < 0.5
            else rectangle(x - size, y - size, x + size, y + 1.4 * size, corner_radius=draw.choice([0.0, size / 3]))
        )
        try:
            check_islands(outline, [*found, island], "pocket")
        except InputError:
            continue
        found.append(island)
    return tuple(found)
