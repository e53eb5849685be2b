"""The levels of a cut from the side: the face, every pass with its height, the floor, and what is left under it."""

from __future__ import annotations

from holecam.output.label_places import Box, spaced
from holecam.output.sizes import height_text, size_text
from holecam.output.svg_canvas import Canvas, number
from holecam.plan.cut_view import CutterPass
from holecam.plan.milled import MilledCut
from holecam.plan.plan import Plan

SIZE = 14.0
LINE = 18.0
"""Picture units between two lines of text."""

FLOOR_SHARE = 0.68
"""Share of the room in which the depth of the cut is drawn; below it the rest of the body, shortened."""


def draw_levels(plan: Plan, canvas: Canvas, box: Box, cut: MilledCut, work: CutterPass) -> None:
    """Draw the levels of one cutter in a box. Depths are in proportion down to the floor, nothing else is."""
    canvas.text((box.x0, box.y0 - 7), "from the side, not to scale", 13, look="quiet")
    right = box.x0 + 150.0
    face = box.y0 + 22.0
    depth = max(-min(work.levels, default=-cut.depth), 1e-6)
    tall = (box.y1 - face) * FLOOR_SHARE
    low = box.y1 - 4.0
    through = cut.bottom is not None and cut.bottom <= 0.0
    body = low if not through else face + tall

    def at(z: float) -> float:
        return face - z / depth * tall

    rect = {"x": number(box.x0), "y": number(face), "width": number(right - box.x0), "height": number(body - face)}
    canvas.add("rect", "bar", rect)
    x0, x1 = box.x0 + 34.0, right - 34.0
    hollow = {"x": number(x0), "y": number(face), "width": number(x1 - x0), "height": number(tall)}
    canvas.add("rect", "hollow", hollow)
    for z in work.levels:
        canvas.line((x0, at(z)), (x1, at(z)), "pass")
    shown = _shown(len(work.levels), int((at(-depth) - face) // LINE))
    rows = [(face, "Z 0, the face that is cut", False)]
    for n in shown:
        z = work.levels[n]
        last = n == len(work.levels) - 1
        rows.append((at(z), f"{n + 1}: Z {height_text(plan, z)}{' floor' if last else ''}", last))
    places = spaced([height for height, _, _ in rows], LINE)
    for (height, words, strong), y in zip(rows, places, strict=True):
        canvas.line((x1 if height > face else right, height), (right + 10, height), "lead")
        canvas.line((right + 10, height), (right + 22, y), "lead")
        canvas.text((right + 26, y + 5), words, SIZE, look="strong" if strong else "")
    if len(shown) < len(work.levels):
        words = f"{len(work.levels)} levels, evenly spaced"
        canvas.text((right + 26, min(places[-1] + LINE + 8, box.y1)), words, 13, look="quiet")
    if cut.bottom is not None and not through:
        middle = (x0 + x1) / 2
        canvas.line((middle, at(-depth)), (middle, low), "size")
        canvas.arrow((middle, at(-depth)), (0.0, -1.0))
        canvas.arrow((middle, low), (0.0, 1.0))
        canvas.text((right + 26, low - 4), f"{size_text(plan, cut.bottom)} left under it", SIZE)


def _shown(count: int, room: int) -> list[int]:
    """Return which levels get words: all where there is room, else the first ones and the last."""
    if count <= max(room, 2):
        return list(range(count))
    return [*range(max(room - 2, 1)), count - 1]
