"""A step-down from above, at its last pass: strokes, walls and the limit beside them, what stays for the hand."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count

from msgspec.structs import replace

from holecam.output.drawn_once import drawn_once
from holecam.output.label_places import Box, LabelRoom
from holecam.output.picture_key import EDGE, KEY, WIDE, PictureKey
from holecam.output.picture_window import (
    LABEL,
    Window,
    arrow_along,
    clip_to,
    frame_of,
    keep_off,
    put_label,
    window_on,
)
from holecam.output.plain_words import short
from holecam.output.plan_picture import table_motion
from holecam.output.sizes import area_text, height_text, place_text, size_text
from holecam.output.svg_canvas import Canvas
from holecam.plan.plan import Plan
from holecam.plan.step_down import StepDownPlanView, StepDownReport, StrokeView
from holecam.shapes import Circle, Curve, Outline, Placement, circle_outline
from holecam.shapes.curves import curve_bounds

TOP = 62.0
TALLEST = 520.0
LEAST_TALL = 200.0
"""Picture units: the window is at most and at least this high."""

AROUND = 0.25
"""Times the cutter's diameter: what is seen round the strokes."""

MOST_CURVES = 1500
"""Lines and arcs of strokes beyond which a picture leaves them out and says so: they would be a black area."""


@drawn_once
def step_down_pictures(plan: Plan) -> tuple[tuple[StepDownReport, Canvas], ...]:
    """Return a picture for each step-down that has a region and something left to mill."""
    numbers = count(1)
    return tuple(
        (report, _picture(plan, report, report.plan_view, next(numbers)))
        for report in plan.step_downs
        if report.plan_view is not None
    )


def step_down_picture_name(report: StepDownReport) -> str:
    """Return what a picture shows, in words."""
    return f'Step-down "{report.name}"'


def _picture(plan: Plan, report: StepDownReport, given: StepDownPlanView, picture: int) -> Canvas:
    view = _as_set_up(given, table_motion(plan))
    bounds = _bounds(view, report.cutter_diameter or 0.0)
    full = WIDE - 2 * EDGE
    high = min(TALLEST, max(LEAST_TALL, full * (bounds[3] - bounds[1]) / max(bounds[2] - bounds[0], 1e-3)))
    window = window_on(f"step-down-window-{picture}", Box(EDGE, TOP, EDGE + full, TOP + high), bounds)
    crowded = sum(len(s.curves) for s in view.strokes) > MOST_CURVES
    key = PictureKey.of(_samples(view, crowded=crowded), _told(plan, report, view, crowded=crowded))
    top = TOP + high + 30
    canvas = Canvas(WIDE, top + key.height, step_down_picture_name(report), "cut")
    _head(plan, canvas, report)
    _draw(plan, canvas, window, report, view, crowded=crowded)
    key.draw(canvas, top)
    return canvas


def _head(plan: Plan, canvas: Canvas, report: StepDownReport) -> None:
    canvas.text((EDGE, 26), f'Step-down "{short(report.name, 34)}"', 18, look="strong")
    last = f"the last pass, Z {height_text(plan, report.passes[-1].z)}, with {short(report.cutter, 18)}"
    canvas.text((EDGE, 47), f"{last}, seen from above; X to the right, Y away from you", KEY, look="quiet")


def _draw(
    plan: Plan,
    canvas: Canvas,
    window: Window,
    report: StepDownReport,
    view: StepDownPlanView,
    *,
    crowded: bool,
) -> None:
    facts, at = clip_to(canvas, window), window.view.at
    diameter = report.cutter_diameter or 0.0
    even = {**facts, "fill-rule": "evenodd"}
    canvas.path([view.region.curves], window.view, "bar", closed=True, attributes=facts)
    for outline in view.left:
        canvas.path([outline.curves], window.view, "left", closed=True, attributes=even)
    canvas.path([(c,) for c in view.shoulders], window.view, "shoulder", closed=False, attributes=facts)
    canvas.path(view.flank_lines, window.view, "margin", closed=False, attributes=facts)
    canvas.path(view.walls, window.view, "kept", closed=False, attributes=facts)
    strokes = () if crowded else view.strokes
    for stroke in strokes:
        canvas.path((stroke.before, stroke.after), window.view, "between", closed=False, attributes=facts)
        canvas.path([stroke.cut], window.view, "pass", closed=False, attributes=facts)
        arrow_along(canvas, window, stroke.cut)
    canvas.add("rect", "frame", frame_of(window))
    room = LabelRoom(window.box.grown(-3.0))
    lines = [view.region.curves, view.shoulders, *view.flank_lines, *view.walls, *(s.curves for s in strokes)]
    keep_off(room, window, (c for chain in lines for c in chain))
    if view.strokes:
        start = view.strokes[0].curves[0].start
        rim = circle_outline(Circle(start, diameter / 2))
        canvas.path([rim.curves], window.view, "cutter", closed=True, attributes=facts)
        x, y = at(start)
        canvas.line((x - 5, y), (x + 5, y), "axis")
        canvas.line((x, y - 5), (x, y + 5), "axis")
        room.take(Box(x - 6, y - 6, x + 6, y + 6))
        put_label(canvas, room, (x, y), 6.0, "A", LABEL, look="strong")
    for outline in view.left:
        x0, y0, x1, y1 = outline.bounds
        place = at(outline.nearest(((x0 + x1) / 2, (y0 + y1) / 2)))
        put_label(canvas, room, place, 6.0, "by hand", 13.0, look="")


def _samples(view: StepDownPlanView, *, crowded: bool) -> list[tuple[str, str, str]]:
    rows = [("area", "bar", "what is milled away")]
    if view.strokes and not crowded:
        rows.append(("line", "pass", "centre: cutting, in the sense of the arrow"))
    if not crowded and any(s.before or s.after for s in view.strokes):
        rows.append(("line", "between", "centre: on the way in and out"))
    if view.walls:
        rows.append(("line", "kept", "wall of the bend: never touched"))
    if view.flank_lines:
        rows.append(("line", "margin", "limit of the cutter's edge at this pass"))
    if view.shoulders:
        rows.append(("line", "shoulder", "shoulder: metal beside it stays"))
    if view.left:
        rows.append(("area", "left", "stays: taken off by hand"))
    if view.strokes:
        rows.append(("circle", "cutter", "cutter, where it comes down first"))
    return rows


def _told(plan: Plan, report: StepDownReport, view: StepDownPlanView, *, crowded: bool) -> list[str]:
    last = report.passes[-1]
    rows = []
    if view.strokes:
        rows.append(f"A at {place_text(plan, view.strokes[0].curves[0].start)}: comes down here first.")
    many = len(view.strokes)
    rows.append(f"{many} stroke{'' if many == 1 else 's'}; lifted straight up after each.")
    if crowded:
        rows.append("Too many strokes to be drawn.")
    if last.left is not None and view.left:
        rows.append(
            f"Stays for the hand: {area_text(plan, last.left.area)}, up to {size_text(plan, last.left.width)} wide."
        )
    elif view.strokes:
        rows.append("The cutter reaches all of it.")
    return rows


def _bounds(view: StepDownPlanView, diameter: float) -> tuple[float, float, float, float]:
    boxes = [view.region.bounds, *(curve_bounds(c) for s in view.strokes for c in s.curves)]
    around = (0.5 + AROUND) * diameter
    return (
        min(b[0] for b in boxes) - around,
        min(b[1] for b in boxes) - around,
        max(b[2] for b in boxes) + around,
        max(b[3] for b in boxes) + around,
    )


def _as_set_up(view: StepDownPlanView, motion: Placement) -> StepDownPlanView:
    """Return the view with every place as the readout shows it."""
    if motion == Placement():
        return view

    def moved(curves: Iterable[Curve]) -> tuple[Curve, ...]:
        return tuple(motion.apply_curve(c) for c in curves)

    def outlines(all_of_them: Iterable[Outline]) -> tuple[Outline, ...]:
        return tuple(motion.apply_outline(o) for o in all_of_them)

    return replace(
        view,
        region=motion.apply_outline(view.region),
        shoulders=moved(view.shoulders),
        walls=tuple(moved(w) for w in view.walls),
        flank_lines=tuple(moved(line) for line in view.flank_lines),
        strokes=tuple(StrokeView(moved(s.before), moved(s.cut), moved(s.after)) for s in view.strokes),
        left=outlines(view.left),
    )
