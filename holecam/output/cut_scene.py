"""What is drawn of a slot or pocket in one window: body, edge, path, cutter, leftovers, distances; no two labels meet.

The same scene is drawn in the large window and in the enlarged ones. Kinds of lines differ by their strokes, kinds of
areas by their filling, never by colour alone.
"""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.output.label_places import Box, LabelRoom
from holecam.output.picture_window import (
    LABEL,
    Window,
    arrow_along,
    clip_to,
    frame_of,
    joined,
    keep_off,
    put_label,
)
from holecam.output.svg_canvas import Canvas
from holecam.plan.cut_view import CutterPass, CutView, Gauge, LineKind
from holecam.shapes import Circle, Outline, Point, circle_outline, distance

LOOKS = {
    LineKind.ENTRY: "way-in",
    LineKind.CUT: "pass",
    LineKind.FINISH: "wall-pass",
    LineKind.CLEAN_UP: "clean-up",
    LineKind.LINK: "between",
    LineKind.TRAVEL: "above",
}

MOST_CURVES = 1500
"""Lines and arcs of one kind beyond which a picture leaves them out and says so: they would be a black area."""

APART = 0.2
"""Times the cutter's diameter: circles nearer to one that is drawn are left out, their centres are marked all the
same."""

GAUGE_ROOM = 26.0
"""Picture units between the ends of a distance that its two arrows need inside."""


class Lettered(Struct, frozen=True):
    """A place of the cutter with the letter that the key explains."""

    letter: str
    at: Point


class Numbered(Struct, frozen=True):
    """A leftover with its number and its size in words."""

    number: int
    is_corner: bool
    border: Outline
    holes: tuple[Outline, ...]
    words: str


class Scene(Struct, frozen=True):
    """Everything that windows show, in the frame of the readout.

    ``gone_before`` are leftovers of an earlier cutter that this one takes; ``gauges`` are distances with their words;
    ``names`` labels with their places.
    """

    view: CutView
    cutter_pass: CutterPass
    left: tuple[Numbered, ...]
    gone_before: tuple[Numbered, ...]
    spots: tuple[Lettered, ...]
    gauges: tuple[tuple[Gauge, str], ...]
    names: tuple[tuple[str, Point], ...]
    crowded: bool


def draw_scene(canvas: Canvas, window: Window, scene: Scene, *, named: bool = True) -> tuple[int, ...]:
    """Draw a scene in a window; return the numbers of leftovers in it that found no room for a label.

    An enlarged window is not ``named``: boards and curves have their names in the large one.
    """
    view, box = window.view, window.box
    frame, facts = frame_of(window), clip_to(canvas, window)
    even = {**facts, "fill-rule": "evenodd"}
    cut, work = scene.view, scene.cutter_pass
    if cut.body is None:
        canvas.add("rect", "bar", frame)
    else:
        canvas.path([o.curves for o in (cut.body, *cut.openings)], view, "edge", closed=True, attributes=even)
    canvas.path([o.curves for o in cut.wanted], view, "hollow", closed=True, attributes=even)
    for island in cut.islands:
        canvas.path([island.curves], view, "edge", closed=True, attributes=even)
    for board in cut.boards:
        canvas.path([board.outline.curves], view, "halt", closed=True, attributes=facts)
    for patch in scene.gone_before:
        canvas.path([o.curves for o in (patch.border, *patch.holes)], view, "barred", closed=True, attributes=even)
    for patch in scene.left:
        canvas.path([o.curves for o in (patch.border, *patch.holes)], view, "left", closed=True, attributes=even)
    for overcut in cut.overcuts:
        rim = circle_outline(Circle(overcut.center, overcut.radius))
        canvas.path([rim.curves], view, "cutter", closed=True, attributes=facts)
    holes = [circle_outline(Circle(h.at, h.diameter / 2)).curves for h in cut.holes]
    canvas.path(holes, view, "drilled", closed=True, attributes=facts)
    for kept in cut.kept:
        for line in kept.margin_lines:
            canvas.path([line], view, "margin", closed=True, attributes=facts)
        for chain in joined(kept.curves):
            canvas.path([chain], view, "kept", closed=False, attributes=facts)
    for kind in LineKind:
        chains = [one.curves for one in work.lines if one.kind is kind]
        if too_many(work, kind):
            continue
        canvas.path(chains, view, LOOKS[kind], closed=False, attributes=facts)
    _arrows(canvas, window, work)
    canvas.add("rect", "frame", frame)
    room = LabelRoom(box.grown(-3.0))
    _keep_clear(room, window, scene)
    _circles(canvas, window, room, scene, facts)
    for gauge, words in scene.gauges:
        _gauge(canvas, window, room, gauge, words)
    for spot in scene.spots:
        if window.shows(spot.at):
            put_label(canvas, room, view.at(spot.at), 5.0, spot.letter, LABEL, look="strong")
    missing = tuple(p.number for p in scene.left if not _left_label(canvas, window, room, p, crowded=scene.crowded))
    for words, at in scene.names if named else ():
        if window.shows(at):
            put_label(canvas, room, view.at(at), 3.0, words, 13.0, look="")
    return missing


def too_many(work: CutterPass, kind: LineKind) -> bool:
    """Return whether lines of a kind are left out of the picture; the way along the walls never is."""
    if kind not in (LineKind.CUT, LineKind.LINK, LineKind.TRAVEL):
        return False
    return sum(len(line.curves) for line in work.lines if line.kind is kind) > MOST_CURVES


def _keep_clear(room: LabelRoom, window: Window, scene: Scene) -> None:
    """Take what no label may hide, and note the lines that labels stay off where they can."""
    cut, view = scene.view, window.view
    outlines = [*cut.wanted, *cut.islands, *(() if cut.body is None else (cut.body,)), *(b.outline for b in cut.boards)]
    curves = [c for o in outlines for c in o.curves]
    curves += [c for k in cut.kept for c in (*k.curves, *(m for line in k.margin_lines for m in line))]
    work = scene.cutter_pass
    curves += [c for one in work.lines if not too_many(work, one.kind) for c in one.curves]
    keep_off(room, window, curves)
    for spot in scene.spots:
        x, y = view.at(spot.at)
        room.take(Box(x - 4, y - 4, x + 4, y + 4))
    for gauge, _ in scene.gauges:
        if window.shows(gauge.start) and window.shows(gauge.end):
            for x, y in (view.at(gauge.start), view.at(gauge.end)):
                room.take(Box(x - 6, y - 6, x + 6, y + 6))
    for patch in scene.left:
        x, y = view.at(_middle(patch.border))
        room.take(Box(x - 4, y - 4, x + 4, y + 4))


def _arrows(canvas: Canvas, window: Window, work: CutterPass) -> None:
    """Draw the sense of the travel on the longest curve of each chain that takes material."""
    for line in work.lines:
        if line.kind not in (LineKind.CUT, LineKind.FINISH) or too_many(work, line.kind):
            continue
        arrow_along(canvas, window, line.curves)


def _circles(canvas: Canvas, window: Window, room: LabelRoom, scene: Scene, facts: dict[str, str]) -> None:
    """Draw the cutter at the telling places, and a cross at each centre."""
    radius = scene.cutter_pass.diameter / 2
    drawn: list[Point] = []
    for spot in scene.spots:
        if not window.shows(spot.at):
            continue
        if all(distance(spot.at, other) >= APART * scene.cutter_pass.diameter for other in drawn):
            rim = circle_outline(Circle(spot.at, radius))
            canvas.path([rim.curves], window.view, "cutter", closed=True, attributes=facts)
            drawn.append(spot.at)
        x, y = window.view.at(spot.at)
        canvas.line((x - 5, y), (x + 5, y), "axis")
        canvas.line((x, y - 5), (x, y + 5), "axis")


def _gauge(canvas: Canvas, window: Window, room: LabelRoom, gauge: Gauge, words: str) -> None:
    """Draw a distance between two arrows, or with arrows from outside where it is short, and its words beside it."""
    if not (window.shows(gauge.start) and window.shows(gauge.end)):
        return
    a, b = window.view.at(gauge.start), window.view.at(gauge.end)
    size = math.hypot(b[0] - a[0], b[1] - a[1])
    if size < 1e-6:
        return
    ux, uy = (b[0] - a[0]) / size, (b[1] - a[1]) / size
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    if size >= GAUGE_ROOM:
        canvas.line(a, b, "size")
        canvas.arrow(a, (-ux, -uy))
        canvas.arrow(b, (ux, uy))
        room.take_line(a, b)
    else:
        for tip, sign in ((a, 1.0), (b, -1.0)):
            canvas.line((tip[0] - sign * ux * 18, tip[1] - sign * uy * 18), tip, "size")
            canvas.arrow(tip, (sign * ux, sign * uy))
    room.take(Box(middle[0] - 2, middle[1] - 2, middle[0] + 2, middle[1] + 2))
    put_label(canvas, room, middle, 6.0, words, LABEL, look="strong")


def _left_label(canvas: Canvas, window: Window, room: LabelRoom, patch: Numbered, *, crowded: bool) -> bool:
    """Write number and size of a leftover, or the number alone where the room is short; True where nothing is due."""
    middle = _middle(patch.border)
    if not window.shows(middle):
        return True
    at = window.view.at(middle)
    choices = [f"{patch.number}"] if crowded else [f"{patch.number}: {patch.words}", f"{patch.number}"]
    return any(put_label(canvas, room, at, 6.0, words, LABEL, look="strong") for words in choices)


def _middle(border: Outline) -> Point:
    x0, y0, x1, y1 = border.bounds
    return border.nearest(((x0 + x1) / 2, (y0 + y1) / 2))
