"""The drawing, read by ezdxf, and the full-size template, read by pypdf: places, sizes, numbers, outline, hand.

Places in the drawing are held to 1e-5 mm in the unit of the job, on paper to 0.01 mm; outlines to what their polygons
are worth, and the length of all they are drawn with has to be their circumference.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import ezdxf
import numpy as np
from account import Account
from layout_model import Points, Shape
from paper_jobs import UNIT_MM, PaperJob
from planned_work import Plan
from pypdf import PdfReader
from shapely.geometry import Point, box

IN_DRAWING, ON_PAPER = 1e-5, 0.01
"""How closely places are held, mm."""

CIRCUMFERENCE = 0.02
"""The same for the length of an outline; for one with a spline five times as much."""

LETTER = 2.45
"""Width and height of a figure of the numbers, mm."""

BESIDE, FURTHEST = 2.0, 4.0
"""A long number may stand above two holes, which makes no difference up to this; how far it stands from its own, mm."""

CROWDED = 8.0
"""Nearer than this to each other holes are not drilled, and their numbers may lie over each other, mm."""

POINT = 25.4 / 72.0
"""mm."""

INSUNITS = {"in": 1, "mm": 4}
"""Codes of $INSUNITS (DXF reference)."""


def check_layout_drawing(job: PaperJob, hand: int, text: str, plan: Plan, account: Account) -> None:
    """Hold ``layout.dxf``: in the part frame and the unit of the job."""
    document = ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]
    account.hold("DRAWING unit", document.header["$INSUNITS"] == INSUNITS[job.unit])
    mm = float(UNIT_MM[job.unit])
    things: dict[tuple[str, str], list[Any]] = {}
    for thing in document.modelspace():
        things.setdefault((thing.dxf.layer, thing.dxftype()), []).append(thing)
    for withheld, layer in ((False, "NEW_HOLES"), (True, "NEW_HOLES_WITHHELD")):
        wanted = [hole for hole in plan["holes"] if hole["withheld"] == withheld]
        circles = _circles(things.get((layer, "CIRCLE"), []), mm)
        right = [((h["x_mm"], h["y_mm"]), h["finished_diameter_mm"]) for h in wanted]
        _check_circles(f"DRAWING {layer}", circles, right, IN_DRAWING, account)
    centres = [((p.dxf.location.x * mm, p.dxf.location.y * mm), 0.0) for p in things.get(("CENTRES", "POINT"), [])]
    right = [((h["x_mm"], h["y_mm"]), 0.0) for h in plan["holes"]]
    _check_circles("DRAWING centres", centres, right, IN_DRAWING, account)
    for filled, layer in ((False, "OLD_HOLES_OPEN"), (True, "OLD_HOLES_FILLED")):
        circles = _circles(things.get((layer, "CIRCLE"), []), mm)
        _check_circles(f"DRAWING {layer}", circles, _old_holes(job, hand, filled=filled), IN_DRAWING, account)
    numbers = {t.dxf.text: (t.dxf.insert.x * mm, t.dxf.insert.y * mm) for t in things.get(("NUMBERS", "TEXT"), [])}
    account.hold(f"DRAWING numbers {len(numbers)}", len(numbers) == len(plan["holes"]))
    for hole in plan["holes"]:
        at = numbers.get(f"{hole['number']}{' WITHHELD' if hole['withheld'] else ''}", (math.inf, math.inf))
        away, radius = math.dist(at, (hole["x_mm"], hole["y_mm"])), hole["finished_diameter_mm"] / 2
        account.hold(f"DRAWING number {hole['number']} stands {away:.2f} mm off", radius < away < radius * 1.5 + 2.0)
    words = [t.dxf.text for t in things.get(("NOTES", "TEXT"), [])]
    account.hold(f"DRAWING hand {words}", f"HAND: {job.hands[hand]}" in words)
    account.hold(f"DRAWING datum {words}", f"X 0 Y 0: {job.datums[hand]}" in words)
    for layer, shapes in (("OUTLINE", [job.part.outline]), ("OPENINGS", job.part.openings)):
        drawn = [sampled for (own, _), group in things.items() if own == layer for sampled in _sampled(group, mm)]
        _check_edges(f"DRAWING {layer}", drawn, [job.shape_of_hand(s, hand) for s in shapes], job, account)


def _circles(things: list[Any], mm: float) -> list[tuple[tuple[float, float], float]]:
    return [((c.dxf.center.x * mm, c.dxf.center.y * mm), 2 * c.dxf.radius * mm) for c in things]


def _old_holes(job: PaperJob, hand: int, *, filled: bool) -> list[tuple[tuple[float, float], float]]:
    old = [hole for hole in job.part.old_holes if (hole.filling != "open") == filled]
    there = job.of_hand([hole.xy for hole in old], hand)
    return [((float(p[0]), float(p[1])), 2 * (hole.radius - hole.shy)) for p, hole in zip(there, old, strict=True)]


def _check_circles(what: str, drawn: list[Any], right: list[Any], within: float, account: Account) -> None:
    """Hold circles in their order."""
    if not account.hold(f"{what}: {len(drawn)} for {len(right)}", len(drawn) == len(right)):
        return
    for (at, diameter), (place, size) in zip(drawn, right, strict=True):
        account.hold(f"{what}: {math.dist(at, place):.6f} mm off at {place}", math.dist(at, place) <= within)
        account.near(f"{what}: diameter at {place}", diameter, size, within=within)


def _sampled(group: list[Any], mm: float) -> list[Points]:
    """Return points of lines, arcs and circles; a DXF arc runs anticlockwise."""
    lines = []
    for thing in group:
        if thing.dxftype() == "LINE":
            ends = np.array([(thing.dxf.start.x, thing.dxf.start.y), (thing.dxf.end.x, thing.dxf.end.y)])
            lines.append(ends[0] + np.linspace(0.0, 1.0, 50)[:, None] * (ends[1] - ends[0]))
            continue
        begin, end = (thing.dxf.start_angle, thing.dxf.end_angle) if thing.dxftype() == "ARC" else (0.0, 360.0)
        turns = np.radians(np.linspace(begin, end + 360.0 * (end <= begin), 2000))
        away = thing.dxf.radius * np.column_stack([np.cos(turns), np.sin(turns)])
        lines.append(np.array([(thing.dxf.center.x, thing.dxf.center.y)]) + away)
    return [line * mm for line in lines]


def _check_edges(what: str, drawn: list[Points], shapes: list[Shape], job: PaperJob, account: Account) -> None:
    """Hold that what is drawn lies on the edges and is as long as they are."""
    spline = job.part.kind == "spline"
    doubt = job.part.shape_doubt + 1e-4
    off = max((min(s.boundary.distance(Point(p)) for s in shapes) for line in drawn for p in line[::25]), default=0.0)
    account.hold(f"{what} lies {off:.5f} mm off", off <= doubt)
    long = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in drawn)
    right = sum(s.length for s in shapes)
    account.near(f"{what} length", long, right, within=CIRCUMFERENCE * (5.0 if spline else 1.0))


@dataclass
class _Page:
    """One page of the template: strokes with their width, rings, words; mm from the mark X 0 Y 0."""

    strokes: list[tuple[float, Points]] = field(default_factory=list)
    curved: list[tuple[float, Points]] = field(default_factory=list)
    """Paths with curves: the points on them, not their handles."""
    words: list[tuple[str, tuple[float, float]]] = field(default_factory=list)
    window: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)


def _read_page(page: Any) -> _Page:
    read = _Page()
    path: list[tuple[float, float]] = []
    state = {"curves": 0, "width": 0.0}

    def visit(operator: bytes, operands: list[Any], cm: list[float], tm: list[float]) -> None:
        def at(x: Any, y: Any) -> tuple[float, float]:
            x, y = float(x), float(y)
            return ((x * cm[0] + y * cm[2] + cm[4]) * POINT, (x * cm[1] + y * cm[3] + cm[5]) * POINT)

        if operator == b"w":
            state["width"] = float(operands[0])
        elif operator == b"re":
            x, y, wide, high = (float(v) for v in operands)
            read.window = (*at(x, y), *at(x + wide, y + high))
        elif operator in (b"m", b"l"):
            path.append(at(*operands))
        elif operator == b"c":
            path.append(at(*operands[4:6]))
            state["curves"] += 1
        elif operator in (b"S", b"s", b"n", b"f", b"B"):
            if operator != b"n" and len(path) > 1:
                (read.curved if state["curves"] else read.strokes).append((state["width"], np.array(path)))
            path.clear()
            state["curves"] = 0

    def text(words: str, cm: list[float], tm: list[float], _font: Any, _size: float) -> None:
        if words.strip():
            x, y = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            read.words.append((words.strip(), (x * POINT, y * POINT)))

    page.extract_text(visitor_operand_before=visit, visitor_text=text)
    return read


def _origin(page: _Page) -> tuple[float, float] | None:
    """Return the middle of the heavy cross of two strokes of 14 mm."""
    heavy = [p for width, p in page.strokes if width == 1.2 and len(p) == 2 and abs(math.dist(*p) - 14.0) < 0.01]
    middles = [p.mean(axis=0) for p in heavy]
    if len(middles) != 2 or math.dist(*middles) > 0.01:
        return None
    return (float(middles[0][0]), float(middles[0][1]))


def check_template(job: PaperJob, hand: int, data: bytes, plan: Plan, account: Account) -> None:
    """Hold ``template.pdf``: true to size, each hole on a page that shows the whole of it, with its own number."""
    shown: set[int] = set()
    joins: dict[str, float] = {}
    reader = PdfReader(io.BytesIO(data))
    old = _old_holes(job, hand, filled=False) + _old_holes(job, hand, filled=True)
    for number, pdf_page in enumerate(reader.pages, start=1):
        page = _read_page(pdf_page)
        origin = _origin(page)
        words = " ".join(text for text, _ in page.words)
        account.hold(f"TEMPLATE hand on page {number}", f"HAND: {job.hands[hand]}" in words)
        account.hold(f"TEMPLATE datum on page {number}", job.datums[hand] in words)
        account.hold(f"TEMPLATE page {number} of", f"page {number} of {len(reader.pages)}" in words)
        if not account.hold(f"TEMPLATE page {number} has no mark X 0 Y 0", origin is not None) or origin is None:
            return
        bar = 101.6 if job.unit == "in" else 100.0
        bars = [p for width, p in page.strokes if width == 0.5 and abs(math.dist(p[0], p[-1]) - bar) < 0.001]
        upright = [abs(p[1][0] - p[0][0]) < 1e-3 for p in bars]
        account.hold(f"TEMPLATE bars {upright}", sorted(upright)[:1] == [False] and any(upright))
        window = box(*(v - origin[i % 2] for i, v in enumerate(page.window)))
        rings = [(width, p - np.array(origin)) for width, p in page.curved]
        circles = [(width, *_circle(p)) for width, p in rings if math.dist(p[0], p[-1]) < 1e-3]
        for hole in plan["holes"]:
            at, size = (hole["x_mm"], hole["y_mm"]), hole["finished_diameter_mm"]
            if not window.contains(Point(at).buffer(size / 2)):
                continue
            shown.add(hole["number"])
            _check_ring(f"TEMPLATE hole {hole['number']}", at, size, [c for c in circles if c[0] == 0.7], account)
            label = f"{hole['number']}{' WITHHELD' if hole['withheld'] else ''}"
            _check_label(label, hole, plan, page, origin, account)
        for at, size in old:
            if window.contains(Point(at).buffer(size / 2)):
                _check_ring(f"TEMPLATE old hole at {at}", at, size, [c for c in circles if c[0] == 0.4], account)
        _check_outline(job, hand, page, origin, window, account)
        for width, stroke in page.strokes:
            along = [axis for axis in (0, 1) if abs(stroke[0][axis] - stroke[-1][axis]) < 1e-6]
            if width == 0.4 and len(along) == 1 and math.dist(stroke[0], stroke[-1]) > 100.0:
                joins.setdefault(f"{along[0]} {round(stroke[0][along[0]] - origin[along[0]], 1)}", 0.0)
    wanted = {hole["number"] for hole in plan["holes"]}
    account.hold(f"TEMPLATE lacks holes {wanted - shown}", shown == wanted)
    pages = 1 + len(joins)
    account.hold(f"TEMPLATE {len(reader.pages)} pages with joins {sorted(joins)}", len(reader.pages) >= min(2, pages))


def _circle(points: Points) -> tuple[tuple[float, float], float]:
    """Return centre and diameter of a ring from even points on it."""
    centre = points[:-1].mean(axis=0)
    return (float(centre[0]), float(centre[1])), 2 * float(np.hypot(*(points[:-1] - centre).T).mean())


def _check_ring(what: str, at: tuple[float, float], size: float, circles: list[Any], account: Account) -> None:
    off = min((max(math.dist(at, c[1]), abs(size - c[2])) for c in circles), default=math.inf)
    account.hold(f"{what}: {off:.4f} mm off at ({at[0]:.3f}, {at[1]:.3f})", off <= ON_PAPER)


def _check_label(
    label: str, hole: Plan, plan: Plan, page: _Page, origin: tuple[float, float], account: Account
) -> None:
    """Hold that the number stands at its own hole, or that its lead goes there."""
    places = [(x - origin[0], y - origin[1]) for words, (x, y) in page.words if words == label]
    if not account.hold(f"TEMPLATE number {label} stands nowhere", bool(places)):
        return
    at = (hole["x_mm"], hole["y_mm"])
    if any(h is not hole and math.dist(at, (h["x_mm"], h["y_mm"])) < CROWDED for h in plan["holes"]):
        return  # numbers stand where there is room
    centres = [(h["x_mm"], h["y_mm"]) for h in plan["holes"]]
    thin = [p - np.array(origin) for width, p in page.strokes if width == 0.25 and len(p) == 2]
    leads = [line for line in thin if min(math.dist(line.mean(axis=0), c) for c in centres) > 0.01]
    for place in places:
        block = box(place[0], place[1], place[0] + LETTER * len(label), place[1] + LETTER)
        ends = [max(lead, key=_away_from(block)) for lead in leads if min(map(_away_from(block), lead)) < 0.5]
        targets = [*(Point(end) for end in ends), block]
        gaps = [(_gap(hole, target), min(_gap(other, target) for other in plan["holes"])) for target in targets]
        right = any(own < least + BESIDE and own < FURTHEST for own, least in gaps)
        account.hold(f"TEMPLATE number {label} stands {min(gaps)[0]:.1f} mm off, others nearer", right)


def _away_from(block: Shape) -> Callable[[Any], float]:
    """Return how far a point lies from a block of letters, as a function of the point."""
    return lambda point: float(block.distance(Point(point)))


def _gap(hole: Plan, shape: Shape) -> float:
    """Return how far a shape lies from the edge of a hole."""
    away: float = abs(shape.distance(Point(hole["x_mm"], hole["y_mm"])) - hole["finished_diameter_mm"] / 2)
    return away


def _check_outline(
    job: PaperJob, hand: int, page: _Page, origin: tuple[float, float], window: Shape, account: Account
) -> None:
    """Hold that the heavy line of the part lies on its edge, within the window of the page."""
    edges = [job.shape_of_hand(s, hand).boundary for s in (job.part.outline, *job.part.openings)]
    drawn = [p - np.array(origin) for width, p in (*page.strokes, *page.curved) if width == 0.8]
    points = [p for line in drawn for p in line if window.buffer(-1.0).contains(Point(p))]
    off = max((min(edge.distance(Point(p)) for edge in edges) for p in points), default=0.0)
    account.hold(f"TEMPLATE outline lies {off:.4f} mm off", off <= ON_PAPER + job.part.shape_doubt)
    shown = sum(edge.intersection(window).length for edge in edges)
    account.hold(f"TEMPLATE outline is not drawn on a page with {shown:.1f} mm of it", bool(drawn) or shown < 1.0)
