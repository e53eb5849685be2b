"""Random jobs of one pattern of holes, drilled, tapped, reamed or cleared, and where those holes have to be.

Patterns: line, grid (also staggered), circle, arc, points, along an edge. Places: one measured hole, a centre, two
measured holes, or as given; turned, mirrored, with holes left out; the part skewed on the table or turned over.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cnc_setups import CncSetup, draw_setup, head_text, part_text, tools_text
from shop_figures import INCH, XY, ShopFigures, turned

DRILLS = {"3/16": 4.7625, "#29": 0.136 * INCH, "5 mm": 5.0, "4.2 mm": 4.2}
"""Drills by name and their diameters, mm; No. 29 is 0.136 in (ASME B94.11M, from memory)."""

THREADS = {"5-40": (3.175, INCH / 40), "M4": (4.0, 0.7), "M5": (5.0, 0.8), "1/4-20": (6.35, INCH / 20)}
"""Major diameter and pitch, mm: numbers of an inch series have 0.060 in + 0.013 in a number (ASME B1.1)."""


@dataclass(frozen=True)
class HoleJob:
    """A job and its truth; lengths in mm, points in the part frame."""

    text: str
    setup: CncSetup
    thickness: float
    top: float
    """Height of the part's top."""
    face: float
    """Height of the face that the holes begin on."""
    drill_point_deg: float
    flip: str
    """The axis along which the other hand is mirrored, or nothing."""
    points: tuple[XY, ...]
    depth: tuple[str, float] | None
    """The key of the depth and its value; none for a hole through the part."""
    drill: float | None
    thread: tuple[float, float] | None
    counterbore: tuple[float, float] | None
    """Diameter and depth."""


def draw_hole_job(seed: int) -> HoleJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"holes {seed}")
    draw = figures.random
    setup = draw_setup(figures)
    thickness = figures.pick((3.0, 5.0, 6.35, 10.0, 12.0, 20.0))
    size = (figures.pick((160.0, 220.0)), figures.pick((90.0, 120.0)))
    point = draw.choice((None, 135, 90))
    top = figures.pick((3.0, -2.0)) if figures.chance(0.2) else 0.0
    flip = draw.choice(("x", "y")) if figures.chance(0.25) else ""
    local, shape = _draw_pattern(figures, size)
    points, place = _draw_place(figures, local, shape.split()[0], size)
    left_out = len(points) > 3 and figures.chance(0.25)
    work = _draw_work(figures, thickness, top)
    lines = [
        *head_text(figures, f"holes {seed}"),
        *(['hand = "left as fitted; notch"'] if flip else []),
        *setup.text,
        *tools_text(figures, ()),
        *([f"drill_point_deg = {point}"] if point else []),
        *part_text(
            figures,
            material=draw.choice(("brass", "copper", "aluminium", "mild steel", "beech", "cast iron")),
            thickness=thickness,
            size=size,
        ),
        *([f"top_z = {figures.text(top)}"] if top else []),
        *setup.skew_text,
        *(["[other_hand]", 'hand = "right as fitted; notch"', f'flip = "{flip}"'] if flip else []),
        "[[pattern]]",
        'name = "p1"',
        shape,
        *(["leave_out = [2]"] if left_out else []),
        *work.lines,
        *place,
    ]
    return HoleJob(
        text="\n".join(lines) + "\n",
        setup=setup,
        thickness=thickness,
        top=top,
        face=work.face,
        drill_point_deg=float(point or 118),
        flip=flip,
        points=tuple(p for i, p in enumerate(points, 1) if not (left_out and i == 2)),
        depth=work.depth,
        drill=work.drill,
        thread=work.thread,
        counterbore=work.counterbore,
    )


def _draw_pattern(figures: ShopFigures, size: XY) -> tuple[list[XY], str]:
    """Return the holes in the frame of the pattern, and its line in the job."""
    draw = figures.random
    kind = draw.choice(("line", "grid", "circle", "arc", "points", "along"))
    if kind == "line":
        count, pitch = draw.randint(2, 6), figures.between(14.0, 20.0)
        text = f"line = {{ count = {count}, pitch = {figures.text(pitch)} }}"
        return [(i * pitch, 0.0) for i in range(count)], text
    if kind == "grid":
        columns, rows = draw.randint(2, 4), draw.randint(2, 3)
        px, py = figures.between(14.0, 20.0), figures.between(13.0, 18.0)
        staggered = figures.chance(0.4)
        more = ", staggered = true" if staggered else ""
        text = f"grid = {{ columns = {columns}, rows = {rows}, pitch = {figures.pair((px, py))}{more} }}"
        shift = px / 2 if staggered else 0.0
        return [(i * px + (shift if j % 2 else 0.0), j * py) for j in range(rows) for i in range(columns)], text
    if kind == "circle":
        count, diameter = draw.randint(3, 8), figures.between(40.0, 55.0)
        first, clockwise = draw.choice((0, 15, 30, 90, -20)), figures.chance(0.3)
        step = (-360.0 if clockwise else 360.0) / count
        more = ", clockwise = true" if clockwise else ""
        text = f"circle = {{ count = {count}, diameter = {figures.text(diameter)}, first_deg = {first}{more} }}"
        return [_polar(diameter / 2, first + i * step) for i in range(count)], text
    if kind == "arc":
        count, radius = draw.randint(3, 5), figures.between(28.0, 35.0)
        begin, end = draw.choice((0, 20, 170)), draw.choice((100, 150, 10))
        if abs(end - begin) < 60:
            end = begin + 90
        step = (end - begin) / (count - 1)
        text = f"arc = {{ count = {count}, radius = {figures.text(radius)}, from_deg = {begin}, to_deg = {end} }}"
        return [_polar(radius, begin + i * step) for i in range(count)], text
    if kind == "points":
        rough = [(20 + draw.uniform(0, 8), 20.0), (60.0, 25 + draw.uniform(0, 9)), (90.0, 60.0), (33.0, 58.0)]
        points = [figures.exact_point(p) for p in rough]
        return points, f"points = {figures.pairs(points)}"
    offset, start, end_room = figures.exact(15.0), figures.exact(20.0), figures.exact(30.0)
    text = (
        f"along = {{ edge = [1], offset = {figures.text(offset)}, count = 4, "
        f"start = {figures.text(start)}, end = {figures.text(end_room)} }}"
    )
    step = (size[0] - end_room - start) / 3
    return [(start + i * step, offset) for i in range(4)], text


def _polar(radius: float, degrees: float) -> XY:
    return (radius * math.cos(math.radians(degrees)), radius * math.sin(math.radians(degrees)))


def _draw_place(figures: ShopFigures, local: list[XY], kind: str, size: XY) -> tuple[list[XY], list[str]]:
    """Return where the holes come to lie in the part, and the line that says so."""
    if kind in ("points", "along"):
        return local, []
    draw = figures.random
    ways = ("at", "centre", "measured") if kind in ("circle", "arc") else ("at", "measured")
    way = draw.choice(ways)
    mirrored = way != "measured" and figures.chance(0.2)
    flat = [(x, -y if mirrored else y) for x, y in local]
    degrees = draw.choice((0.0, 0.0, 90.0, 180.0, 17.5, -33.0))
    angle = math.radians(degrees)
    round_about = [turned(p, angle) for p in flat]
    middle = (sum(x for x, _ in round_about) / len(flat), sum(y for _, y in round_about) / len(flat))
    shift = (size[0] / 2 - middle[0], size[1] / 2 - middle[1])
    if way == "centre":
        centre = figures.exact_point((size[0] / 2, size[1] / 2))
        points = [(centre[0] + x, centre[1] + y) for x, y in round_about]
        words = f"centre = {figures.pair(centre)}, along = {degrees}"
    elif way == "at":
        hole = draw.randint(1, len(local))
        there = round_about[hole - 1]
        at = figures.exact_point((there[0] + shift[0], there[1] + shift[1]))
        points = [(at[0] + x - there[0], at[1] + y - there[1]) for x, y in round_about]
        words = f"hole = {hole}, at = {figures.pair(at)}, along = {degrees}"
    else:
        return _two_measured(figures, flat, round_about, shift)
    return points, [f"place = {{ {words}{', mirror = true' if mirrored else ''} }}"]


def _two_measured(figures: ShopFigures, flat: list[XY], there: list[XY], shift: XY) -> tuple[list[XY], list[str]]:
    """Two measured holes: the turn is that of the line between them, and their middles fall together.

    That is the least-squares fit of a rigid motion to two points of equal weight.
    """
    last = len(flat) - 1
    if math.dist(flat[0], flat[last]) < 1.0:
        last = 1
    slip = figures.random.uniform(-0.05, 0.05)
    one = figures.exact_point((there[0][0] + shift[0], there[0][1] + shift[1]))
    two = figures.exact_point((there[last][0] + shift[0] + slip, there[last][1] + shift[1] + slip / 2))
    angle = math.atan2(two[1] - one[1], two[0] - one[0]) - math.atan2(
        flat[last][1] - flat[0][1], flat[last][0] - flat[0][0]
    )
    middle = turned(((flat[0][0] + flat[last][0]) / 2, (flat[0][1] + flat[last][1]) / 2), angle)
    centre = ((one[0] + two[0]) / 2 - middle[0], (one[1] + two[1]) / 2 - middle[1])
    points = [(x + centre[0], y + centre[1]) for x, y in (turned(p, angle) for p in flat)]
    words = f"{{ hole = 1, at = {figures.pair(one)} }}, {{ hole = {last + 1}, at = {figures.pair(two)} }}"
    return points, [f"place = {{ measured = [{words}] }}"]


@dataclass
class _Work:
    lines: list[str]
    face: float
    depth: tuple[str, float] | None = None
    drill: float | None = None
    thread: tuple[float, float] | None = None
    counterbore: tuple[float, float] | None = None


def _draw_work(figures: ShopFigures, thickness: float, top: float) -> _Work:
    draw = figures.random
    kind = draw.choice(("drill", "thread", "thread", "clear", "ream"))
    work = _Work([], top)
    if kind == "drill":
        name = draw.choice(list(DRILLS))
        work.drill = DRILLS[name]
        work.lines.append(f'drill = "{name}"')
    elif kind == "thread":
        name = draw.choice(list(THREADS))
        work.thread = THREADS[name]
        work.lines.append(f'thread = "{name}"')
    elif kind == "clear":
        work.lines.append(f'clearance_for = "{draw.choice(("M4", "M5", "5-40"))}"')
    else:
        work.lines.append(f"ream = {figures.text(figures.pick((6.0, 5.0)))}")
    if thickness >= 10.0 and figures.chance(0.6):
        keys = ["to_shoulder", "to_tip", "leave_bottom", *(["full_thread"] * 2 if kind == "thread" else [])]
        key = draw.choice(keys)
        share = {"to_shoulder": 0.5, "to_tip": 0.55, "leave_bottom": 0.35, "full_thread": 0.3}[key]
        value = figures.exact(min(thickness * share, 5.0) if key == "full_thread" else thickness * share)
        work.depth = (key, value)
        work.lines.append(f"depth = {{ {key} = {figures.text(value)} }}")
    if figures.chance(0.25):
        work.lines.append("spot = false")
    if kind == "clear" and thickness >= 6.0 and figures.chance(0.6):
        if figures.chance(0.5):
            work.counterbore = (figures.exact(9.0), figures.exact(2.5))
            words = f"diameter = {figures.text(9.0)}, depth = {figures.text(2.5)}"
            work.lines.append(f"counterbore = {{ {words} }}")
        else:
            work.lines.append(f"countersink = {{ diameter = {figures.text(9.0)}, angle_deg = 90 }}")
    if not top and figures.chance(0.15):
        work.face = figures.exact(-1.5)
        work.lines.append(f"face_z = {figures.text(work.face)}")
    return work
