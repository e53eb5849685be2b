"""What has to come off an outline, and what is missing, as a picture: drawn line, outline as made, strips between."""

from __future__ import annotations

from holecam.lengths import length_text
from holecam.output.drawn_once import drawn_once
from holecam.output.svg_canvas import Canvas, View, number
from holecam.plan.marking import MarkingReport
from holecam.plan.plan import Plan
from holecam.shapes import total_bounds

WIDE = 760.0
"""Picture units: width of the outlines."""

TALLEST = 620.0
MARGIN = 40.0
FOOT = 96.0


@drawn_once
def marking_pictures(plan: Plan) -> tuple[tuple[MarkingReport, Canvas], ...]:
    """Return the picture of each correction."""
    return tuple((m, _picture(plan, m)) for m in plan.markings)


def _picture(plan: Plan, report: MarkingReport) -> Canvas:
    x0, y0, x1, y1 = total_bounds([report.drawn, report.made])
    scale = min(WIDE / (x1 - x0), TALLEST / (y1 - y0))
    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    canvas = Canvas(max(wide, 420.0) + 2 * MARGIN, high + MARGIN + FOOT, f"Marking out {report.name}", "marking")
    view = View(scale, x0, y1, MARGIN, MARGIN)
    even = {"fill-rule": "evenodd"}
    canvas.path([report.drawn.curves], view, "edge", closed=True, attributes=even)
    for region in report.remove:
        canvas.path([o.curves for o in region], view, "barred", closed=True, attributes=even)
    canvas.path([report.made.curves], view, "gone", closed=True, attributes={})
    for region in report.missing:
        canvas.path([o.curves for o in region], view, "halt", closed=True, attributes=even)
    for name, (a, b) in (("A", report.datum_a), ("B", report.datum_b)):
        start, end = view.at(a), view.at(b)
        canvas.line(start, end, "axis")
        canvas.text(((start[0] + end[0]) / 2, (start[1] + end[1]) / 2 - 6), name, 16, look="strong")
    top = MARGIN + high + 30
    canvas.add("rect", "barred", {"x": number(MARGIN), "y": number(top - 11), "width": "20", "height": "13"})
    most = length_text(report.most_off, plan.unit)
    canvas.text((MARGIN + 30, top), f"comes off, at most {most} square to the line", 13)
    canvas.line((MARGIN, top + 19), (MARGIN + 20, top + 19), "gone")
    canvas.text((MARGIN + 30, top + 23), "outline as made; full line: as drawn", 13)
    canvas.add("rect", "halt", {"x": number(MARGIN), "y": number(top + 35), "width": "20", "height": "13"})
    canvas.text((MARGIN + 30, top + 46), "missing; A and B are the edges that heights stand on", 13)
    return canvas
