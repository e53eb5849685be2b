"""The section through a step-down: layers with the spread of their borders, passes, floor, hard floor, bends."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count, pairwise

from holecam.output.bend_picture import BEND_HIGH, draw_bend
from holecam.output.drawn_once import drawn_once
from holecam.output.label_places import spaced
from holecam.output.plain_words import short
from holecam.output.sizes import fine_height, fine_size, height_text
from holecam.output.svg_canvas import Canvas, number
from holecam.plan.plan import Plan
from holecam.plan.step_down import StepDownReport

WIDE = 300.0
"""Picture units: width of the stack."""

HIGH = 420.0
"""Picture units: height of the stack, from the top of the first layer to the bottom of the sheet."""

ACROSS = 1000.0
LEFT, TOP, FOOT = 186.0, 56.0, 92.0

LEAST_LAYER = 40.0
"""Picture units: thin layers are drawn at least this thick, else nobody would see them; the picture says so."""

LINE = 19.0
SIZE = 14.0
NAME_LETTERS = 17

BARS = (14.0, 30.0)
"""Picture units right of the stack: the bars that show how far floor and hard floor may lie off against the sheet."""


@drawn_once
def section_pictures(plan: Plan) -> tuple[tuple[StepDownReport, Canvas], ...]:
    """Return the section of each step-down. Heights are stretched layer by layer; the figures are true."""
    numbers = count(1)
    return tuple((s, _picture(plan, s, next(numbers))) for s in plan.step_downs)


def _picture(plan: Plan, report: StepDownReport, picture: int) -> Canvas:
    bends = report.bend_views if report.passes else ()
    high = TOP + HIGH + FOOT + len(bends) * BEND_HIGH
    canvas = Canvas(ACROSS, high, f"Section through {report.name}", "section")
    canvas.text((16, 28), f"Section through {short(report.name, 50)}", 18, look="strong")
    at = _layers(canvas, report)
    _spread(canvas, report, at)
    for step in report.passes:
        canvas.line((LEFT, at(step.z)), (LEFT + WIDE, at(step.z)), "pass" if not step.stop else "gone")
    if report.passes:
        _floors(canvas, report, at)
    _figures(plan, canvas, report, at)
    words = ["Thin layers are drawn thicker than they are; the figures are true. Grey: how far a border may lie off."]
    if report.passes:
        stops = sum(1 for step in report.passes if step.stop)
        words.insert(0, f"{len(report.passes)} passes; dashed: stop after it and look ({stops} stops).")
        words.append("The bars right of the stack: where floor and hard floor may lie, seen from the sheet.")
    for n, line in enumerate(words):
        canvas.text((16, TOP + HIGH + 30 + n * LINE), line, 13)
    for n, bend in enumerate(bends):
        draw_bend(plan, canvas, bend, TOP + HIGH + FOOT + n * BEND_HIGH, f"bend-window-{picture}-{n + 1}")
    return canvas


def _layers(canvas: Canvas, report: StepDownReport) -> Callable[[float], float]:
    """Draw the stack; return the height in the picture of a z: straight between the faces of the layers."""
    y = TOP
    edges = [(report.layers[0].top_z, TOP)]
    for layer, high in zip(report.layers, _stretched(report), strict=True):
        look = "bar named" if layer.keep else "bar"
        facts = {"x": number(LEFT), "y": number(y), "width": number(WIDE), "height": number(high)}
        canvas.add("rect", look, facts)
        name = short(layer.name, NAME_LETTERS)
        canvas.text((LEFT - 10, y + high / 2 + 5), name, SIZE, look="strong" if layer.keep else "", anchor="end")
        y += high
        edges.append((layer.top_z - layer.thickness, y))

    def at(z: float) -> float:
        for (z0, y0), (z1, y1) in pairwise(edges):
            if z >= z1:
                return y0 + (z0 - min(z, z0)) / (z0 - z1) * (y1 - y0)
        return edges[-1][1]

    return at


def _stretched(report: StepDownReport) -> list[float]:
    """Return the drawn height of each layer: in proportion, but none too thin to see."""
    total = sum(layer.thickness for layer in report.layers)
    wished = [max(LEAST_LAYER, HIGH * layer.thickness / total) for layer in report.layers]
    return [w * HIGH / sum(wished) for w in wished]


def _sheet_band(report: StepDownReport) -> tuple[float, float]:
    """Return the highest and lowest z at which the sheet may stand, after what was seen so far."""
    doubt = max(report.hard_floor - report.believed_sheet_z, 0.0) if report.passes else report.sheet_doubt
    middle = report.believed_sheet_z if report.passes else report.sheet_z
    return middle + doubt, middle - doubt


def _spread(canvas: Canvas, report: StepDownReport, at: Callable[[float], float]) -> None:
    """Draw the band within which each border lies: outer parts of the stack, so that the passes stay readable."""
    for layer in report.layers:
        high, low = layer.top_z + layer.top_doubt, layer.top_z - layer.top_doubt
        if layer.keep:
            high, low = _sheet_band(report)
        top, bottom = at(high), at(low)
        for x, wide in ((LEFT, 56.0), (LEFT + WIDE - 56.0, 56.0)):
            facts = {"x": number(x), "y": number(top), "width": number(wide), "height": number(max(bottom - top, 1.0))}
            canvas.add("rect", "spread", facts)


def _floors(canvas: Canvas, report: StepDownReport, at: Callable[[float], float]) -> None:
    """Draw floor and hard floor, and how far each may lie off as seen from the sheet."""
    high, low = _sheet_band(report)
    doubt = (high - low) / 2
    for z, look, x in ((report.hard_floor, "axis", BARS[1]), (report.floor, "size", BARS[0])):
        canvas.line((LEFT - 6, at(z)), (LEFT + WIDE + x + 8, at(z)), look)
        top, bottom = at(z + doubt), at(z - doubt)
        for a, b in (
            ((LEFT + WIDE + x, top), (LEFT + WIDE + x, bottom)),
            ((LEFT + WIDE + x - 5, top), (LEFT + WIDE + x + 5, top)),
            ((LEFT + WIDE + x - 5, bottom), (LEFT + WIDE + x + 5, bottom)),
        ):
            canvas.line(a, b, "bar-line")


def _figures(plan: Plan, canvas: Canvas, report: StepDownReport, at: Callable[[float], float]) -> None:
    """Write the heights beside the stack, in their order, none on another."""
    rows = []
    for layer in report.layers:
        if layer.keep:
            high, low = _sheet_band(report)
            words = f"sheet Z {fine_height(plan, (high + low) / 2)} within {fine_size(plan, (high - low) / 2)}"
            rows.append((at((high + low) / 2), words, ""))
        else:
            words = f"Z {fine_height(plan, layer.top_z)} within {fine_size(plan, layer.top_doubt)}"
            rows.append((at(layer.top_z), f"top of {short(layer.name, NAME_LETTERS)} {words}", ""))
    if report.passes:
        left = fine_size(plan, report.floor - _middle(report))
        rows.append((at(report.floor), f"floor Z {height_text(plan, report.floor)}: {left} over the sheet", ""))
        rows.append((at(report.hard_floor), f"HARD FLOOR Z {fine_height(plan, report.hard_floor)}", "strong"))
    rows.sort(key=lambda row: row[0])
    places = spaced([y for y, _, _ in rows], LINE)
    # The lowest rows may need more room than the sheet is drawn thick
    shift = max(0.0, places[-1] - (TOP + HIGH + 4))
    x = LEFT + WIDE + 54
    for (y, words, look), place in zip(rows, places, strict=True):
        beside = max(place - shift, TOP) if place > TOP + HIGH / 2 else place
        canvas.line((LEFT + WIDE + 2, y), (x - 14, y), "lead")
        canvas.line((x - 14, y), (x - 4, beside), "lead")
        canvas.text((x, beside + 5), words, SIZE, look=look)


def _middle(report: StepDownReport) -> float:
    high, low = _sheet_band(report)
    return (high + low) / 2
