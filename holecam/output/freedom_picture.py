"""The shifts at which a pattern can be drilled, as a picture around the wish."""

from __future__ import annotations

from itertools import count
from xml.etree import ElementTree

from holecam.lengths import length_text
from holecam.output.drawn_once import drawn_once
from holecam.output.label_places import Box, LabelRoom
from holecam.output.svg_canvas import Canvas, View, number, text_width
from holecam.plan.plan import Plan
from holecam.plan.reports import PlaceReport
from holecam.shapes import Point

SIDE = 440.0
"""Picture units: the side of the square in which the shifts are drawn."""

MARGIN = 60.0
FOOT = 132.0
"""Units below the square for the key."""

SIZE = 15.0


@drawn_once
def freedom_pictures(plan: Plan) -> tuple[tuple[PlaceReport, Canvas], ...]:
    """Return the picture of each pattern whose freedom was worked out."""
    numbers = count(1)
    return tuple((p, _picture(plan, p, next(numbers))) for p in plan.places if p.picture is not None)


def _picture(plan: Plan, place: PlaceReport, number_of_picture: int) -> Canvas:
    shown = place.picture
    assert shown is not None
    x0, y0, x1, y1 = shown.window
    scale = SIDE / max(x1 - x0, y1 - y0)
    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    canvas = Canvas(wide + 2 * MARGIN, high + MARGIN + FOOT, f"Freedom of {place.pattern}", "freedom")
    view = View(scale, x0, y1, MARGIN, MARGIN)
    frame = {"x": number(MARGIN), "y": number(MARGIN), "width": number(wide), "height": number(high)}
    name = f"freedom-window-{number_of_picture}"
    clip = ElementTree.SubElement(canvas.root, "clipPath", {"id": name})
    ElementTree.SubElement(clip, "rect", frame)
    facts = {"fill-rule": "evenodd", "clip-path": f"url(#{name})"}
    canvas.path(shown.forbidden, view, "barred", closed=True, attributes=facts)
    canvas.add("rect", "open", frame)
    room = LabelRoom(canvas.sheet.grown(-4))
    _scale(plan, canvas, view, room, (x0, y0, x1, y1))
    marks = [("wish", "wanted", shown.wish), ("chosen", "chosen", shown.chosen)]
    if shown.roomiest is not None:
        marks.append(("roomiest", "roomiest", shown.roomiest))
    for kind, _, at in marks:
        _mark(canvas, view.at(at), kind)
        x, y = view.at(at)
        room.take(Box(x - 9, y - 9, x + 9, y + 9))
    for _, words, at in marks:
        found = room.place(view.at(at), 9.0, text_width(words, SIZE), SIZE)
        if found is not None:
            if found.lead is not None:
                canvas.line(*found.lead, "lead")
            middle = ((found.box.x0 + found.box.x1) / 2, found.box.y1 - 2.5)
            canvas.text(middle, words, SIZE, look="label strong", anchor="middle")
    _key(plan, canvas, MARGIN + high + 44, marks)
    return canvas


def _mark(canvas: Canvas, at: Point, kind: str) -> None:
    """Wish: a ring; chosen: a cross in a square; roomiest: a rhomb. Told apart by their shape."""
    x, y = at
    if kind == "wish":
        canvas.circle(at, 8, "axis")
    elif kind == "chosen":
        canvas.add("rect", "axis", {"x": number(x - 7), "y": number(y - 7), "width": "14", "height": "14"})
        canvas.line((x - 11, y), (x + 11, y), "cross")
        canvas.line((x, y - 11), (x, y + 11), "cross")
    else:
        points = ((x, y - 9), (x + 9, y), (x, y + 9), (x - 9, y))
        canvas.add("polygon", "axis", {"points": " ".join(f"{number(a)},{number(b)}" for a, b in points)})


def _scale(plan: Plan, canvas: Canvas, view: View, room: LabelRoom, window: tuple[float, float, float, float]) -> None:
    """Write the shifts at the edges of the window."""
    x0, y0, x1, y1 = window
    left, right, top, low = MARGIN, view.at((x1, y0))[0], MARGIN, view.at((x0, y0))[1]
    words = [f"{length_text(v, plan.unit, signed=True)}" for v in (x0, x1, y0, y1)]
    canvas.text((left, low + 18), f"X {words[0]}", 13, look="quiet")
    canvas.text((right, low + 18), f"X {words[1]}", 13, look="quiet", anchor="end")
    canvas.text((left, top - 26), f"Y {words[3]} at the upper edge", 13, look="quiet")
    canvas.text((left, top - 10), f"Y {words[2]} at the lower edge", 13, look="quiet")
    room.take(Box(0, low + 2, canvas.width, canvas.height))
    room.take(Box(0, 0, canvas.width, top - 2))


def _key(plan: Plan, canvas: Canvas, top: float, marks: list[tuple[str, str, Point]]) -> None:
    y = top
    canvas.add("rect", "barred", {"x": number(MARGIN), "y": number(y - 11), "width": "20", "height": "13"})
    canvas.text((MARGIN + 30, y), "a limit would be broken here", 13)
    for kind, words, at in marks:
        y += 23
        _mark(canvas, (MARGIN + 10, y - 5), kind)
        x_text, y_text = (length_text(v, plan.unit, signed=True) for v in at)
        canvas.text((MARGIN + 30, y), f"{words}: X {x_text}, Y {y_text}", 13)
