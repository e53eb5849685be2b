"""The section through a step-down: layers, passes, planned floor, hard floor, and the cutter's limit at each pass."""

from __future__ import annotations

from itertools import pairwise

from holecam.lengths import length_text
from holecam.output.svg_canvas import Canvas, number
from holecam.plan.plan import Plan
from holecam.plan.step_down import StepDownReport

WIDE = 420.0
"""Picture units: width of the stack."""

HIGH = 420.0
"""Picture units: height of the stack, from the top of the first layer to the bottom of the sheet."""

LEFT, TOP, RIGHT, FOOT = 150.0, 30.0, 250.0, 74.0

LEAST_LAYER = 26.0
"""Picture units: thin layers are drawn at least this thick, else nobody would see them; the picture says so."""


def section_pictures(plan: Plan) -> tuple[tuple[StepDownReport, Canvas], ...]:
    """Return the section of each step-down. Heights are stretched layer by layer; the figures are true."""
    return tuple((s, _picture(plan, s)) for s in plan.step_downs)


def _picture(plan: Plan, report: StepDownReport) -> Canvas:
    canvas = Canvas(LEFT + WIDE + RIGHT, TOP + HIGH + FOOT, f"Section through {report.name}", "section")
    heights = _stretched(report)
    y = TOP
    edges = [(report.layers[0].top_z, TOP)]
    for layer, high in zip(report.layers, heights, strict=True):
        look = "bar named" if layer.keep else "bar"
        facts = {"x": number(LEFT), "y": number(y), "width": number(WIDE), "height": number(high)}
        canvas.add("rect", look, facts)
        canvas.text((LEFT - 10, y + high / 2 + 5), layer.name, 14, look="strong" if layer.keep else "", anchor="end")
        y += high
        edges.append((layer.top_z - layer.thickness, y))

    def at(z: float) -> float:
        """Return the height of a z in the picture: straight between the faces of the layers."""
        for (z0, y0), (z1, y1) in pairwise(edges):
            if z >= z1:
                return y0 + (z0 - z) / (z0 - z1) * (y1 - y0)
        return edges[-1][1]

    for step in report.passes:
        canvas.line((LEFT, at(step.z)), (LEFT + WIDE, at(step.z)), "lead" if not step.stop else "gone")
    hard, floor = at(report.hard_floor), at(report.floor)
    canvas.line((LEFT - 6, hard), (LEFT + WIDE + 6, hard), "axis")
    canvas.line((LEFT - 6, floor), (LEFT + WIDE + 6, floor), "size")
    x = LEFT + WIDE + 12
    floor_text = min(floor, hard - 18)
    hard_text = length_text(report.hard_floor, plan.unit, signed=True)
    canvas.text((x, hard + 5), f"HARD FLOOR Z {hard_text}", 14, look="strong")
    canvas.text((x, floor_text), f"floor Z {length_text(report.floor, plan.unit, signed=True)}", 14)
    sheet = length_text(report.sheet_z, plan.unit, signed=True)
    doubt = f"sheet Z {sheet} within {length_text(report.sheet_doubt, plan.unit)}"
    canvas.text((x, max(hard + 27, at(report.sheet_z) + 12)), doubt, 13, look="quiet")
    canvas.text((LEFT, TOP + HIGH + 26), f"{len(report.passes)} passes; dashed: stop after this pass and look.", 13)
    canvas.text((LEFT, TOP + HIGH + 46), "Thin layers are drawn thicker than they are; the figures are true.", 13)
    return canvas


def _stretched(report: StepDownReport) -> list[float]:
    """Return the drawn height of each layer: in proportion, but none too thin to see."""
    total = sum(layer.thickness for layer in report.layers)
    wished = [max(LEAST_LAYER, HIGH * layer.thickness / total) for layer in report.layers]
    return [w * HIGH / sum(wished) for w in wished]
