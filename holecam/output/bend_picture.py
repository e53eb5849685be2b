"""The cutter beside an inside bend, in section, true to scale: sheet, limit, flank at telling passes, heights."""

from __future__ import annotations

import math
from itertools import pairwise
from xml.etree import ElementTree

from holecam.output.label_places import Box, LabelRoom, spaced
from holecam.output.sizes import fine_size, height_text
from holecam.output.svg_canvas import Canvas, View, number, text_width
from holecam.plan.plan import Plan
from holecam.plan.step_down import BendCutter, BendView
from holecam.shapes import Arc, Curve, Point

WIDE = 560.0
HIGH = 380.0
"""Picture units: the window in which the bend is drawn."""

LEFT = 16.0
ROW = 22.0
BEND_HIGH = 34.0 + HIGH + 5 * ROW + 34.0
"""Picture units that one bend takes, its table included."""

LABEL = 14.0
LINE = 19.0
COLUMNS = (16.0, 110.0, 250.0, 410.0, 600.0, 790.0)
HEADS = ("pass", "Z", "over the sheet", "flank from wall", "axis from wall", "nearest metal")

FURTHEST = math.radians(225.0)
"""Direction from the centre of the bend in which its radius is drawn."""


def draw_bend(plan: Plan, canvas: Canvas, bend: BendView, top: float, window: str) -> None:
    """Draw one bend below a height of the picture; ``window`` is the name of its window on the page."""
    canvas.text((LEFT, top + 8), f"Beside the {bend.bend}, square to it, true to scale", 16, look="strong")
    box = Box(LEFT, top + 24, LEFT + WIDE, top + 24 + HIGH)
    view = _view(bend, box)
    frame = {"x": number(box.x0), "y": number(box.y0), "width": number(WIDE), "height": number(HIGH)}
    clip = ElementTree.SubElement(canvas.root, "clipPath", {"id": window})
    ElementTree.SubElement(clip, "rect", frame)
    facts = {"clip-path": f"url(#{window})"}
    canvas.path([bend.sheet], view, "bar named", closed=True, attributes=facts)
    canvas.path([bend.limit], view, "margin", closed=False, attributes=facts)
    last = bend.cutters[-1] if bend.cutters else None
    for cutter in bend.cutters:
        canvas.path([cutter.outline], view, "wall-pass" if cutter is last else "pass", closed=False, attributes=facts)
    canvas.add("rect", "frame", frame)
    room = LabelRoom(box.grown(-3.0))
    _keep_clear(room, view, bend, box)
    _sizes(plan, canvas, room, view, bend)
    _cutters(canvas, room, view, bend, box)
    _heights(plan, canvas, view, bend, box)
    _table(plan, canvas, bend, box.y1 + 30)


def _view(bend: BendView, box: Box) -> View:
    """Return the mapping that shows wall, bend and cutters; the sheet is at the lower edge, the wall at the left."""
    thick = min(bend.thickness, 0.4 * bend.reach)
    scale = min((box.x1 - box.x0) / (bend.reach + thick), (box.y1 - box.y0) / (bend.top + thick))
    low = (box.y1 - box.y0) / scale - thick
    return View(scale, -thick, low, box.x0, box.y0)


def _keep_clear(room: LabelRoom, view: View, bend: BendView, box: Box) -> None:
    for curve in (*bend.sheet, *bend.limit, *(c for one in bend.cutters for c in one.outline)):
        points = [view.at(p) for p in _bits(curve)]
        for a, b in pairwise(points):
            if all(box.x0 <= p[0] <= box.x1 and box.y0 <= p[1] <= box.y1 for p in (a, b)):
                room.take_line(a, b)


def _bits(curve: Curve) -> list[Point]:
    count = 16 if isinstance(curve, Arc) else 8
    return [curve.point_at(n / count) for n in range(count + 1)]


def _cutters(canvas: Canvas, room: LabelRoom, view: View, bend: BendView, box: Box) -> None:
    """Draw the least distance of each cutter, and its pass beside its flank."""
    for n, cutter in enumerate(bend.cutters):
        tooth, foot = view.at(cutter.tooth), view.at(cutter.foot)
        if all(box.x0 < p[0] < box.x1 and box.y0 < p[1] < box.y1 for p in (tooth, foot)):
            canvas.line(tooth, foot, "size")
            canvas.circle(tooth, 2.6, "dot")
            canvas.circle(foot, 2.6, "dot")
        x, y = view.at((cutter.flank, cutter.outline[0].start[1]))
        y = max(min(max(y, box.y0) + 40 + 26 * n, view.at(cutter.outline[0].end)[1] - 8), box.y0 + 10)
        _label(canvas, room, (x, y), 3.0, f"pass {cutter.number}")


def _sizes(plan: Plan, canvas: Canvas, room: LabelRoom, view: View, bend: BendView) -> None:
    """Draw the inside radius and what is kept from the wall."""
    r = bend.inside_radius
    if r > 0.0:
        centre = view.at((r, r))
        on_bend = view.at((r + r * math.cos(FURTHEST), r + r * math.sin(FURTHEST)))
        canvas.line(centre, on_bend, "between")
        canvas.line((centre[0] - 5, centre[1]), (centre[0] + 5, centre[1]), "axis")
        canvas.line((centre[0], centre[1] - 5), (centre[0], centre[1] + 5), "axis")
        room.take(Box(centre[0] - 6, centre[1] - 6, centre[0] + 6, centre[1] + 6))
        _label(canvas, room, centre, 6.0, f"inside radius {fine_size(plan, r)}")
    kept = bend.gap + bend.margin
    if kept > 0.0:
        y = view.at((0.0, bend.top))[1] + 16
        a, b = (view.at((0.0, 0.0))[0], y), (view.at((kept, 0.0))[0], y)
        canvas.line(a, b, "size")
        room.take(Box(a[0], y - 5, b[0], y + 5))
        if b[0] - a[0] > 22:
            canvas.arrow(a, (-1.0, 0.0))
            canvas.arrow(b, (1.0, 0.0))
        _label(canvas, room, ((a[0] + b[0]) / 2, y), 5.0, f"gap and margin {fine_size(plan, kept)}")


def _heights(plan: Plan, canvas: Canvas, view: View, bend: BendView, box: Box) -> None:
    """Draw floor and hard floor over the sheet, and write the heights and what is kept beside the window."""
    right = box.x1
    rows = [
        (view.at((0.0, bend.floor))[1], f"floor, {fine_size(plan, bend.floor)} over the sheet", ""),
        (view.at((0.0, bend.hard_floor))[1], f"HARD FLOOR, {fine_size(plan, bend.hard_floor)} over it", "strong"),
        (view.at((0.0, 0.0))[1], "sheet", ""),
    ]
    left = view.at((bend.inside_radius, 0.0))[0]
    canvas.line((left, rows[0][0]), (right, rows[0][0]), "size")
    canvas.line((left, rows[1][0]), (right, rows[1][0]), "axis")
    rows.sort(key=lambda row: row[0])
    places = spaced([y for y, _, _ in rows], LINE)
    shift = max(0.0, places[-1] - (box.y1 - 6))
    for (y, words, look), place in zip(rows, places, strict=True):
        canvas.line((right, y), (right + 12, y), "lead")
        canvas.line((right + 12, y), (right + 22, place - shift), "lead")
        canvas.text((right + 26, place - shift + 5), words, LABEL, look=look)
    notes = [
        "dashed: no tooth crosses this line",
        f"gap kept {fine_size(plan, bend.gap)}, square to the face",
        f"margin kept {fine_size(plan, bend.margin)}, sideways",
        "heavy: the last pass",
        "dots: tooth and sheet where they are nearest",
    ]
    if bend.wall_height is not None:
        notes.append(f"the wall is {fine_size(plan, bend.wall_height)} high")
    for n, words in enumerate(notes):
        canvas.text((right + 26, box.y0 + 16 + n * LINE), words, 13)


def _table(plan: Plan, canvas: Canvas, bend: BendView, top: float) -> None:
    for x, words in zip(COLUMNS, HEADS, strict=True):
        canvas.text((x, top), words, 13, look="quiet")
    for n, cutter in enumerate(bend.cutters, start=1):
        for x, words in zip(COLUMNS, _cells(plan, cutter), strict=True):
            canvas.text((x, top + n * ROW), words, LABEL)


def _cells(plan: Plan, cutter: BendCutter) -> tuple[str, ...]:
    return (
        str(cutter.number),
        height_text(plan, cutter.z),
        fine_size(plan, cutter.height),
        fine_size(plan, cutter.flank),
        "no cutter named" if cutter.axis is None else fine_size(plan, cutter.axis),
        fine_size(plan, cutter.gap),
    )


def _label(canvas: Canvas, room: LabelRoom, at: Point, radius: float, words: str) -> None:
    place = room.place(at, radius, text_width(words, LABEL), LABEL)
    if place is None:
        return
    if place.lead is not None:
        canvas.line(place.lead[0], place.lead[1], "lead")
    x, anchor = (place.box.x0, "start") if place.box.x0 >= at[0] else (place.box.x1, "end")
    if place.box.x0 < at[0] < place.box.x1:
        x, anchor = (place.box.x0 + place.box.x1) / 2, "middle"
    canvas.text((x, place.box.y1 - 0.16 * LABEL), words, LABEL, look="label", anchor=anchor)
