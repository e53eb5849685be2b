"""Random layout jobs: one or two patterns of holes beside old ones, placed in every way, moved where they may be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from layout_model import (
    THREADS,
    OldHole,
    Part,
    Place,
    Points,
    arc_pattern,
    circle_pattern,
    grid_pattern,
    line_pattern,
    placed,
)
from layout_parts import Drawn, draw_part
from shop_figures import INCH, XY, ShopFigures

FURTHEST = 25.4
"""How far a pattern may be moved where the job does not say, mm."""


@dataclass(frozen=True)
class NewPattern:
    """A pattern of the job, in its own frame, and how it is placed."""

    name: str
    points: Points
    place: Place
    thread: tuple[float, float] | None
    """Major diameter and pitch, mm."""
    when_blocked: str
    """stop, nearest, roomiest; stop too where nothing is placed."""
    free: str
    furthest: float
    within: float


@dataclass(frozen=True)
class LayoutJob:
    """A job and its truth; lengths in mm."""

    text: str
    unit: str
    readout: Fraction
    readout_decimals: int
    part: Part
    zero_within: float
    on_table: Callable[[Points], Points]
    patterns: tuple[NewPattern, ...]
    drawings: dict[str, Callable[[Path], None]]


def draw_layout_job(seed: int) -> LayoutJob:
    """Return the random job of a seed; an outline that crosses itself is drawn again."""
    for again in range(20):
        figures = ShopFigures(f"layout {seed} {again}", decimals_in=3, decimals_mm=2)
        drawn = draw_part(figures)
        if drawn.part.outline.is_valid:
            return _draw_holes(figures, drawn, seed)
    raise AssertionError(f"no outline for seed {seed}")


def _draw_holes(figures: ShopFigures, drawn: Drawn, seed: int) -> LayoutJob:
    draw = figures.random
    readout = draw.choice(("0.0005", "0.001", "0.0002") if figures.unit == "in" else ("0.005", "0.01", "0.001"))
    sets = [draw_old_set(figures, drawn, number) for number in range(draw.choice((0, 1, 1, 2)))]
    patterns, lines = [], []
    for number in range(draw.choice((1, 1, 1, 2))):
        pattern, more = draw_pattern(figures, drawn.part, f"p{number}", sets)
        patterns.append(pattern)
        lines += more
    text = [
        f'title = "Invented: layout {seed}"',
        f'unit = "{figures.unit}"',
        "[machine]",
        f'readout = "{readout}"',
        f'kind = "{"cnc" if figures.chance(0.3) else "manual"}"',
        *drawn.lines,
        *lines,
    ]
    scale = Fraction(254, 10) if figures.unit == "in" else Fraction(1)
    return LayoutJob(
        "\n".join(text) + "\n", figures.unit, Fraction(readout) * scale, len(readout.split(".")[1]), drawn.part,
        drawn.zero_within, drawn.on_table, tuple(patterns), drawn.drawings,
    )  # fmt: skip


def draw_shape(figures: ShopFigures, part: Part, most: int) -> tuple[str, str, Points]:
    """Return the kind of a pattern, its line in the job and its points in its own frame."""
    draw = figures.random
    kind = draw.choice(("line", "line", "grid", "circle", "arc", "points"))
    x0, _, x1, _ = part.outline.bounds
    if kind == "line":
        count = draw.randint(2, most)
        pitch = figures.between(6.0, min(24.0, (x1 - x0) / count))
        if figures.chance(0.3):
            length = figures.exact(pitch * (count - 1))
            words = f"count = {count}, length = {figures.text(length)}"
            return kind, f"line = {{ {words} }}", line_pattern(count, length / (count - 1))
        return kind, f"line = {{ count = {count}, pitch = {figures.text(pitch)} }}", line_pattern(count, pitch)
    if kind == "grid":
        columns, rows = draw.randint(2, 4), draw.randint(2, 3)
        pitch_xy = (figures.between(7.0, 16.0), figures.between(7.0, 14.0))
        staggered = figures.chance(0.4)
        short = staggered and figures.chance(0.5)
        words = f"columns = {columns}, rows = {rows}, pitch = {figures.pair(pitch_xy)}"
        words += (", staggered = true" if staggered else "") + (", short_rows = true" if short else "")
        points = grid_pattern(columns, rows, pitch_xy, staggered=staggered, short_rows=short)
        return kind, f"grid = {{ {words} }}", points
    if kind == "circle":
        count, diameter = draw.randint(3, 8), figures.between(16.0, 40.0)
        first, span, clockwise = round(draw.uniform(0, 90), 2), draw.choice((360, 360, 120, 200.5)), figures.chance(0.3)
        words = f"count = {count}, diameter = {figures.text(diameter)}, first_deg = {first}, span_deg = {span}"
        words += ", clockwise = true" if clockwise else ""
        return kind, f"circle = {{ {words} }}", circle_pattern(count, diameter, first, span, clockwise=clockwise)
    if kind == "arc":
        count, radius = draw.randint(3, 6), figures.between(14.0, 40.0)
        begin = round(draw.uniform(0, 90), 1)
        end = round(begin + draw.choice((-1, 1)) * draw.uniform(60, 180), 1)
        words = f"count = {count}, radius = {figures.text(radius)}, from_deg = {begin}, to_deg = {end}"
        return kind, f"arc = {{ {words} }}", arc_pattern(count, radius, begin, end)
    chosen = [figures.exact_point((draw.uniform(0, 50), draw.uniform(0, 20))) for _ in range(draw.randint(2, 6))]
    return kind, f"points = {figures.pairs(chosen)}", np.array(chosen)


@dataclass(frozen=True)
class OldSet:
    """A set of old holes of the job."""

    name: str
    kind: str
    shape: str
    points: Points
    """In the part."""


def draw_old_set(figures: ShopFigures, drawn: Drawn, number: int) -> OldSet:
    """Add a random set of old holes to a part."""
    draw, part = figures.random, drawn.part
    kind, shape, points = draw_shape(figures, part, 6)
    x0, y0, x1, y1 = part.outline.bounds
    at = figures.exact_point((draw.uniform(x0 + 5, x0 + 0.5 * (x1 - x0)), draw.uniform(y0 + 5, max(y1 - 5, y0 + 6))))
    turn = draw.choice((0, 0, 0, 30, -12.5))
    diameter = figures.pick((3.0, 4.0, 5.0, 6.35, 9.5, 12.0))
    metal = "cast iron" if part.family == "iron" else part.family
    plug = draw.choice((None, f"{metal} screw, soft soldered", f"{metal} pin, brazed", "steel grub screw", "epoxy",
                        f"{metal} rod, pinned", "brass plug"))  # fmt: skip
    within = figures.exact(0.1) if figures.chance(0.2) else 0.0
    drawn.lines += [
        "[[old_holes]]",
        f'name = "old{number}"',
        shape,
        f"diameter = {figures.text(diameter)}",
        *([f'plug = "{plug}"'] if plug else []),
        *([f"within = {figures.text(within)}"] if within else []),
        f"place = {{ at = {figures.pair(at)}, along = {turn} }}",
    ]
    there = placed(points, Place(way="at", at=at, turn_deg=turn))
    filling = _filling(plug, metal)
    part.old_holes += [OldHole((float(x), float(y)), diameter / 2 + within, filling, within) for x, y in there]
    return OldSet(f"old{number}", kind, shape, there)


def _filling(plug: str | None, metal: str) -> str:
    """Return what a drill meets: only what is brazed or pinned is held, only the same metal cuts as the part does."""
    if plug is None:
        return "open"
    if not any(word in plug for word in ("brazed", "pinned")):
        return "loose"
    return "solid" if plug.startswith(metal) else "held"


def _draw_work(figures: ShopFigures) -> tuple[str, tuple[float, float] | None]:
    draw, inch = figures.random, figures.unit == "in"
    way = draw.random()
    if way < 0.45:
        name = draw.choice(
            ("4-40", "5-40", "6-32", "8-32", "10-24", "1/4-20") if inch else ("M3", "M4", "M5", "M6", "M8")
        )
        return f'thread = "{name}"', THREADS[name]
    if way < 0.8:
        name = draw.choice(("1/8", "3/16", "No. 29", "F", "1/4") if inch else ("3 mm", "4.2 mm", "5 mm", "6.5 mm"))
        return f'drill = "{name}"', None
    return f'clearance_for = "{draw.choice(("6-32", "10-24") if inch else ("M3", "M5"))}"', None


def draw_pattern(figures: ShopFigures, part: Part, name: str, sets: list[OldSet]) -> tuple[NewPattern, list[str]]:
    """Return a random pattern and its lines in the job."""
    draw = figures.random
    work, thread = _draw_work(figures)
    kind, shape, points = draw_shape(figures, part, 8)
    when_blocked, free = draw.choice(("stop", "nearest", "nearest", "roomiest")), draw.choice(("", "", "x", "y"))
    within = figures.exact(0.05) if figures.chance(0.5) else 0.0
    way = draw.random()
    x0, y0, x1, y1 = part.outline.bounds
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    if sets and way < 0.35:
        old = draw.choice(sets)
        kind, shape = old.kind, old.shape
        place, words = _moved(figures, part, old)
        points = old.points
    elif way < 0.55:
        hole, turn, mirrored = draw.randint(1, len(points)), draw.choice((0, 0, 90, 20.5, -33)), figures.chance(0.3)
        at = figures.exact_point(
            (draw.uniform(x0 + 6, x0 + 0.6 * (x1 - x0)), draw.uniform(y0 + 6, max(y1 - 6, y0 + 7)))
        )
        place = Place("at", at, turn, hole, mirrored)
        words = f"at = {figures.pair(at)}, hole = {hole}, along = {turn}"
    elif way < 0.7 and kind in ("circle", "arc", "grid"):
        at = figures.exact_point((middle[0] + draw.uniform(-8, 8), middle[1] + draw.uniform(-5, 5)))
        turn, mirrored = draw.choice((0, 45.5, 10)), figures.chance(0.3)
        low, high = points.min(axis=0), points.max(axis=0)
        pivot = (0.0, 0.0) if kind != "grid" else (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
        place = Place("centre", at, turn, 1, mirrored, pivot)
        words = f"centre = {figures.pair(at)}, along = {turn}"
    elif way < 0.9:
        place, words, within = _measured(figures, points, middle)
    else:
        chosen = [figures.exact_point((draw.uniform(x0, x1), draw.uniform(y0, y1))) for _ in range(draw.randint(2, 6))]
        lines = ["[[pattern]]", f'name = "{name}"', work, f"points = {figures.pairs(chosen)}"]
        return NewPattern(name, np.array(chosen), Place(), thread, "stop", "", FURTHEST, 0.0), lines
    words += ", mirror = true" if place.mirrored else ""
    words += f', when_blocked = "{when_blocked}"' + (f', free = "{free}"' if free else "")
    furthest = FURTHEST
    if figures.chance(0.7):
        furthest = figures.between(3.0, 15.0)
        words += f", furthest = {figures.text(furthest)}"
    words += f", within = {figures.text(within)}" if within else ""
    lines = ["[[pattern]]", f'name = "{name}"', work, shape, f"place = {{ {words} }}"]
    return NewPattern(name, points, place, thread, when_blocked, free, furthest, within), lines


def _moved(figures: ShopFigures, part: Part, old: OldSet) -> tuple[Place, str]:
    draw = figures.random
    shift = figures.exact_point((draw.choice((0.0, draw.uniform(-8, 8))), draw.choice((0.0, draw.uniform(-5, 5)))))
    turn, flip = draw.choice((0, 0, 4.5, -90)), draw.choice(("", "", "x", "y"))
    if shift == (0.0, 0.0) and not turn and not flip:
        shift = figures.exact_point((3.0, 0.0))
    about: XY | None = None
    hole, words = 1, ""
    if figures.chance(0.3):
        hole = draw.randint(1, 2)
        words = f", about_hole = {hole}"
    elif figures.chance(0.3):
        x0, y0, x1, y1 = part.outline.bounds
        about = figures.exact_point((draw.uniform(x0, x1), draw.uniform(y0, y1)))
        words = f", about = {figures.pair(about)}"
    words = f'from = "{old.name}", shift = {figures.pair(shift)}' + words
    words += (f", turn_deg = {turn}" if turn else "") + (f', mirror = "{flip}"' if flip else "")
    place = Place("moved", shift, turn, moved=old.points, flip=flip, about=about, about_hole=hole)
    return place, f"moved = {{ {words} }}"


def _measured(figures: ShopFigures, points: Points, middle: XY) -> tuple[Place, str, float]:
    """Measure two to four holes, each a little off; return the doubt of the whole place too."""
    draw = figures.random
    count = len(points)
    index = draw.sample(range(count), min(count, draw.choice((2, 2, 3, 4))))
    if len(index) == 2 and np.hypot(*(points[index[0]] - points[index[1]])) < 5.0:
        index = [0, count - 1]
    mirrored = figures.chance(0.2)
    rough = placed(points, Place("at", (0.0, 0.0), draw.uniform(-8, 8), 1, mirrored))
    rough = rough - rough.mean(axis=0) + np.array(middle)
    doubts = draw.choice(("none", "of the place", "of each"))
    told, words, halves = [], [], []
    for i in index:
        at = figures.exact_point((rough[i][0] + draw.gauss(0, 0.04), rough[i][1] + draw.gauss(0, 0.04)))
        more = ""
        if doubts == "of each":
            halves.append(figures.between(0.05, 0.2))
            more = f", within = {figures.text(halves[-1])}"
        told.append((i + 1, at))
        words.append(f"{{ hole = {i + 1}, at = {figures.pair(at)}{more} }}")
    within = figures.exact(INCH * 0.003) if doubts == "of the place" else 0.0
    if within:
        halves = [within] * len(index)
    place = Place("measured", mirrored=mirrored, measured=tuple(told), half_widths=tuple(halves),
                  weighted=doubts == "of each")  # fmt: skip
    return place, f"measured = [{', '.join(words)}]", within
