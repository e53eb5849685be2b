"""Random jobs with rows of holes along an edge of the part or along a line, and where those holes have to be.

Lines of points, with rounded corners and arcs told in every way, or of a drawing; one side of the part, some sides that
follow each other, or the whole outline, whose corners are listed either way round. Holes by pitch, by count or by both,
with room left at both ends, beside the line or on it; where the line lies, or placed elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from ezdxf.filemanagement import new as new_drawing
from layout_model import Place, Points, placed
from shop_figures import XY, ShopFigures, turned
from walked_lines import (
    Piece,
    arc_about,
    arc_of_radius,
    arc_through,
    length_of,
    point_along,
    rounded,
    straight,
    walk_beside,
)


@dataclass(frozen=True)
class AlongJob:
    """A job and its truth; lengths in mm, holes in the part frame."""

    text: str
    points: Points
    numbers: tuple[int, ...]
    old: bool
    """The row is one of old holes."""
    drawings: dict[str, Callable[[Path], None]]


@dataclass
class _Line:
    words: str
    """What stands in ``along`` for the line."""
    pieces: list[Piece]
    closed: bool = False


def draw_along_job(seed: int) -> AlongJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"along {seed}")
    draw = figures.random
    drawings: dict[str, Callable[[Path], None]] = {}
    outline, sides = _draw_outline(figures)
    line = _draw_edge(figures, sides) if figures.chance(0.55) else _draw_path(figures, drawings)
    shortest = min(piece.length for piece in line.pieces)
    radius = min((piece.radius for piece in line.pieces if piece.radius), default=50.0)
    offset = draw.choice((0.0, 1.0, 1.0, -1.0)) * figures.exact(draw.uniform(1.0, min(shortest / 4, radius * 0.8, 9.0)))
    walked = walk_beside(line.pieces, offset, closed=line.closed)
    ways, words = _draw_steps(figures, length_of(walked), closed=line.closed)
    points = np.array([point_along(walked, way) for way in ways])
    if offset:
        words = f"offset = {figures.text(offset)}, {words}"
    place, place_words = Place(), ""
    if figures.chance(0.3):
        hole, turn, mirrored = draw.randint(1, len(points)), draw.choice((0, 90, -20.5)), figures.chance(0.4)
        at = figures.exact_point((draw.uniform(20.0, 60.0), draw.uniform(20.0, 40.0)))
        place = Place("at", at, turn, hole, mirrored)
        told = f"at = {figures.pair(at)}, hole = {hole}, along = {turn}{', mirror = true' if mirrored else ''}"
        place_words = f"place = {{ {told} }}"
    old = figures.chance(0.2)
    numbers = list(range(1, len(points) + 1))
    leave_out = []
    if len(points) > 3 and figures.chance(0.25):
        leave_out = [f"leave_out = [{(out := draw.choice(numbers[1:]))}]"]
        if place.hole != out:
            numbers.remove(out)
        else:
            leave_out = []
    text = [
        f'title = "Invented: along {seed}"',
        f'unit = "{figures.unit}"',
        "[part]",
        'material = "brass"',
        f"thickness = {figures.text(5.0)}",
        f"outline = {{ {outline} }}",
        "[[old_holes]]" if old else "[[pattern]]",
        'name = "row"',
        f"diameter = {figures.text(2.0)}" if old else f'drill = "{"3/32" if figures.unit == "in" else "2.4 mm"}"',
        f"along = {{ {line.words}, {words} }}",
        *leave_out,
        *([place_words] if place_words else []),
    ]
    if old:
        text += ["[[pattern]]", 'name = "other"', 'drill = "1/8"', f"points = [{figures.pair((150.0, 100.0))}]"]
    there = placed(points, place)[[n - 1 for n in numbers]]
    return AlongJob("\n".join(text) + "\n", there, tuple(numbers), old, drawings)


def _draw_outline(figures: ShopFigures) -> tuple[str, list[Piece]]:
    """Return the words of the part's outline and its sides in the order of the list, each travelled anticlockwise."""
    draw = figures.random
    wide, high = figures.between(120.0, 180.0), figures.between(70.0, 110.0)
    if figures.chance(0.35):
        at = figures.exact_point((draw.uniform(-10.0, 10.0), draw.uniform(-10.0, 10.0)))
        turn = draw.choice((0, 0, 15, -7.5))
        corners = [turned(p, math.radians(turn)) for p in ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))]
        corners = [(x + at[0], y + at[1]) for x, y in corners]
        words = f"rectangle = {figures.pair((wide, high))}, at = {figures.pair(at)}"
        words += f", turn_deg = {turn}" if turn else ""
        return words, [straight(p, q) for p, q in zip(corners, [*corners[1:], corners[0]], strict=True)]
    corners = [(0.0, 0.0), (wide * 0.6, draw.uniform(-8.0, 8.0)), (wide, 0.0), (wide + draw.uniform(-15, 15), high),
               (wide * 0.5, high * draw.uniform(0.65, 1.2)), (draw.uniform(-15, 15), high)]  # fmt: skip
    corners = [figures.exact_point(p) for p in corners]
    first = draw.randrange(len(corners))
    corners = corners[first:] + corners[:first]
    clockwise = figures.chance(0.5)
    if clockwise:
        corners.reverse()
    pieces, steps = [], [figures.pair(corners[0])]
    for p, q in zip(corners, [*corners[1:], corners[0]], strict=True):
        arc = q != corners[0] and figures.chance(0.25)
        piece = straight(p, q)
        step = figures.pair(q)
        if arc:
            piece, step = _draw_arc(figures, p, q)
        pieces.append(piece)
        steps.append(step)
    sides = [piece.turned_round() for piece in pieces] if clockwise else pieces
    return f"points = [{', '.join(steps[:-1])}]", sides


def _draw_arc(figures: ShopFigures, p: XY, q: XY) -> tuple[Piece, str]:
    """Return a flat arc from one point to another and the words of its step."""
    draw = figures.random
    apart, left = math.dist(p, q), figures.chance(0.5)
    radius = figures.between(apart * 0.9, apart * 1.6)
    piece = arc_of_radius(p, q, radius, left=left, long_way=False)
    way = draw.choice(("radius", "through", "centre"))
    if way == "radius":
        words = f'radius = {figures.text(radius)}, turn = "{"left" if left else "right"}"'
    elif way == "through":
        middle = piece.point(piece.length * draw.uniform(0.3, 0.7))
        through = figures.exact_point((middle.real, middle.imag))
        piece = arc_through(p, through, q)
        words = f"through = {figures.pair(through)}"
    else:
        # a centre of few digits is moved onto the line on which all centres lie
        told = figures.exact_point((piece.centre.real, piece.centre.imag))
        chord = complex(*q) - complex(*p)
        up = 1j * chord / abs(chord)
        middle = (complex(*p) + complex(*q)) / 2
        centre = middle + up * ((complex(*told) - middle) * up.conjugate()).real
        piece = arc_about(p, q, (centre.real, centre.imag), left=left)
        words = f'centre = {figures.pair(told)}, turn = "{"left" if left else "right"}"'
    return piece, f"{{ arc_to = {figures.pair(q)}, {words} }}"


def _draw_edge(figures: ShopFigures, sides: list[Piece]) -> _Line:
    draw = figures.random
    way = draw.choice(("one", "one", "some", "outline"))
    follows = abs(sides[0].end - sides[1].start) < 1e-9
    if way == "outline":
        # an outline that is listed clockwise is travelled from its first point too
        return _Line('edge = "outline"', sides if follows else sides[::-1], closed=True)
    first = draw.randrange(len(sides))
    count = 1 if way == "one" else draw.randint(2, len(sides) - 2)
    chosen = [(first + i) % len(sides) for i in range(count)]
    words = f"edge = {[n + 1 for n in chosen]}"
    if count == 1 and figures.chance(0.3):
        words = f"edge = {chosen[0] + 1}"
    return _Line(words, [sides[n] for n in (chosen if follows else reversed(chosen))])


def _draw_path(figures: ShopFigures, drawings: dict[str, Callable[[Path], None]]) -> _Line:
    draw = figures.random
    xs = [draw.uniform(5.0, 15.0), draw.uniform(45.0, 60.0), draw.uniform(85.0, 105.0), draw.uniform(130.0, 150.0)]
    points = [figures.exact_point((x, draw.uniform(15.0, 60.0))) for x in xs]
    if figures.chance(0.4):
        points.reverse()
    if figures.chance(0.25):
        return _drawn_path(figures, points, drawings)
    if figures.chance(0.3):
        radius = figures.between(4.0, 9.0)
        pieces = rounded([straight(points[0], points[1]), straight(points[1], points[2])], radius)
        step = f"{{ to = {figures.pair(points[1])}, rounded = {figures.text(radius)} }}"
        return _Line(f"path = [{figures.pair(points[0])}, {step}, {figures.pair(points[2])}]", pieces)
    pieces, steps = [], [figures.pair(points[0])]
    for p, q in pairwise(points):
        piece, step = straight(p, q), figures.pair(q)
        if figures.chance(0.35):
            piece, step = _draw_arc(figures, p, q)
        pieces.append(piece)
        steps.append(step)
    return _Line(f"path = [{', '.join(steps)}]", pieces)


def _drawn_path(figures: ShopFigures, points: list[XY], drawings: dict[str, Callable[[Path], None]]) -> _Line:
    """A polyline in millimetres; the bulge of a DXF is the tangent of a quarter of its angle."""
    bulges = [figures.random.choice((0.0, 0.0, 0.2, -0.3)) for _ in points[1:]]
    pieces = []
    for p, q, bulge in zip(points, points[1:], bulges, strict=False):
        if not bulge:
            pieces.append(straight(p, q))
            continue
        radius = math.dist(p, q) / 2 / math.sin(2 * math.atan(abs(bulge)))
        pieces.append(arc_of_radius(p, q, radius, left=bulge > 0, long_way=False))

    def write(path: Path) -> None:
        document = new_drawing()
        document.units = 4
        document.modelspace().add_lwpolyline(
            [(*p, b) for p, b in zip(points, [*bulges, 0.0], strict=True)], format="xyb"
        )
        document.saveas(path)

    drawings["line.dxf"] = write
    return _Line('path = "line.dxf"', pieces)


def _draw_steps(figures: ShopFigures, length: float, *, closed: bool) -> tuple[list[float], str]:
    """Return how far along the line each hole lies, and the words that say so."""
    draw = figures.random
    start = figures.exact(draw.uniform(2.0, 10.0)) if figures.chance(0.6) else 0.0
    end = figures.exact(draw.uniform(2.0, 10.0)) if figures.chance(0.5) else 0.0
    round_about = closed and not end
    room = length - start - end
    words = [*([f"start = {figures.text(start)}"] if start else []), *([f"end = {figures.text(end)}"] if end else [])]
    way = draw.choice(("count", "pitch", "both"))
    if way == "count":
        count = draw.randint(2, 9)
        step = length / count if round_about else room / (count - 1)
        words.append(f"count = {count}")
    else:
        step = figures.between(7.0, 16.0)
        words.append(f"pitch = {figures.text(step)}")
        count = int(length / step) if round_about else int(room / step) + 1
        if way == "both" and count > 1:
            count = draw.randint(1, count)
            words.append(f"count = {count}")
    ways = [start + i * step for i in range(count)]
    return [far % length for far in ways] if round_about else ways, ", ".join(words)
