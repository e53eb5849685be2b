"""A slot or pocket as a picture: from above, its levels from the side, corners and ends enlarged, and the key."""

from __future__ import annotations

from itertools import count

from holecam.output.cut_as_set_up import view_as_set_up
from holecam.output.cut_key import body_rows, left_rows, lettered, line_rows, spot_rows
from holecam.output.cut_levels import draw_levels
from holecam.output.cut_scene import Lettered, Numbered, Scene, draw_scene
from holecam.output.drawn_once import drawn_once
from holecam.output.label_places import Box
from holecam.output.picture_key import EDGE, KEY, WIDE, PictureKey
from holecam.output.picture_window import Window, window_on
from holecam.output.plain_words import ranges, short
from holecam.output.sizes import area_text, size_text
from holecam.output.svg_canvas import Canvas
from holecam.plan.cut_view import CutterPass, CutView, Gauge, SpotKind
from holecam.plan.milled import MilledCut
from holecam.plan.plan import Plan
from holecam.shapes import Point, total_bounds
from holecam.shapes.curves import curve_bounds

TOP = 62.0
TALLEST = 490.0
"""Picture units: the large window is at most this high."""

LEAST_TALL = 150.0
SIDE = 226.0
"""Picture units: side of an enlarged window, and height of the side view."""

GAP = 24.0
LEVELS = 330.0
"""Picture units: width of the side view with its words."""

LEAST_WIDE = 300.0

AROUND = 0.6
"""Times the cutter's diameter: what is seen round the cut."""

STRETCH = 0.5
"""Share by which the window may grow so that a distance to an edge or a kept curve is seen whole."""

LONG = 3.5
"""A cut longer than this times its width has its ends enlarged."""

ENLARGE = 1.8
"""An enlarged window that would be magnified by less than this is left out."""

CROWD = 16
"""More leftovers than this are numbered on the picture; their sizes stand in the key."""


@drawn_once
def cut_pictures(plan: Plan) -> tuple[tuple[MilledCut, CutterPass, Canvas], ...]:
    """Return a picture for each cutter of each slot and pocket."""
    numbers = count(1)
    return tuple((c, p, _picture(plan, c, p, next(numbers))) for c in plan.cuts for p in c.view.passes)


def picture_name(cut: MilledCut, work: CutterPass) -> str:
    """Return what a picture shows, in words."""
    second = ", second cutter" if work.number > 1 else ""
    return f'{cut.kind.capitalize()} "{cut.name}"{second}'


def _picture(plan: Plan, cut: MilledCut, work: CutterPass, picture: int) -> Canvas:
    view = view_as_set_up(plan, cut.view)
    work = view.passes[work.number - 1]
    bounds = _bounds(view, work)
    shape = (bounds[2] - bounds[0]) / max(bounds[3] - bounds[1], 1e-3)
    full = WIDE - 2 * EDGE
    beside = full - TALLEST * shape >= LEVELS + GAP
    wide = max(TALLEST * shape, LEAST_WIDE) if beside else full
    high = TALLEST if beside else min(TALLEST, max(LEAST_TALL, wide / shape))
    window = window_on(f"cut-window-{picture}", Box(EDGE, TOP, EDGE + wide, TOP + high), bounds)
    seen = {k.name for k in view.kept if any(window.shows(c.point_at(n / 8)) for c in k.curves for n in range(9))}
    spots = [(letter, s) for letter, s in lettered([s for s in work.spots if not s.to or s.to in seen])]
    scene = _scene(plan, view, work, window, [Lettered(letter, s.at) for letter, s in spots])
    told = spot_rows(plan, cut, spots) + left_rows(plan, work.left) + body_rows(plan, cut, view)
    key = PictureKey.of(line_rows(view, work, kept_seen=bool(seen)), told)
    # Levels and enlarged windows stand beside a narrow window and under a wide one
    left, below = (EDGE + wide + GAP, TOP + 14.0) if beside else (EDGE, TOP + high + 34)
    top = TOP + high + 30 if beside else below + SIDE + 40
    canvas = Canvas(WIDE, top + key.height, picture_name(cut, work), "cut")
    _head(canvas, cut, work)
    missing = draw_scene(canvas, window, scene)
    draw_levels(plan, canvas, Box(left, below, left + LEVELS, below + SIDE), cut, work)
    places = (left, TOP + high - SIDE) if beside else (left + LEVELS + GAP, below)
    _enlarged(canvas, window, scene, places, picture)
    if missing:
        key = key.with_row(
            f"No room for the number{'s' if len(missing) > 1 else ''} {ranges(missing)[:60]} on the picture."
        )
    key.draw(canvas, top)
    return canvas


def _head(canvas: Canvas, cut: MilledCut, work: CutterPass) -> None:
    second = ", second cutter" if work.number > 1 else ""
    title = f'{cut.kind.capitalize()} "{short(cut.name, 34)}" in {short(cut.body, 20)}{second}'
    canvas.text((EDGE, 26), title, 18, look="strong")
    levels = len(work.levels)
    alike = "at the one level" if levels == 1 else f"the same at each of the {levels} levels"
    words = f"{short(work.cutter, 30)}, seen from above, {alike}; X to the right, Y away from you"
    canvas.text((EDGE, 47), words, KEY, look="quiet")


def _bounds(view: CutView, work: CutterPass) -> tuple[float, float, float, float]:
    """Return what the large window has to show, with the distances to edges and kept curves where they are not far."""
    boxes = [total_bounds((*view.wanted, *(b.outline for b in view.boards)))]
    boxes += [curve_bounds(c) for line in work.lines for c in line.curves]
    boxes += [(o.center[0] - o.radius, o.center[1] - o.radius, *_sum(o.center, o.radius)) for o in view.overcuts]
    around = AROUND * work.diameter
    x0, y0 = min(b[0] for b in boxes) - around, min(b[1] for b in boxes) - around
    x1, y1 = max(b[2] for b in boxes) + around, max(b[3] for b in boxes) + around
    most = STRETCH * max(x1 - x0, y1 - y0)
    for gauge in (view.wall, *(k.kept for k in view.kept)):
        if gauge is None:
            continue
        x, y = gauge.end
        if x0 - most <= x <= x1 + most and y0 - most <= y <= y1 + most:
            x0, x1 = min(x0, x - around), max(x1, x + around)
            y0, y1 = min(y0, y - around), max(y1, y + around)
    return x0, y0, x1, y1


def _sum(p: Point, by: float) -> Point:
    return (p[0] + by, p[1] + by)


def _scene(plan: Plan, view: CutView, work: CutterPass, window: Window, spots: list[Lettered]) -> Scene:
    left = tuple(
        Numbered(n, p.sticks_out is not None, p.border, p.holes, area_text(plan, p.area))
        for n, p in enumerate(work.left, start=1)
    )
    before: tuple[Numbered, ...] = ()
    if work.number > 1:
        before = tuple(
            Numbered(n, p.sticks_out is not None, p.border, p.holes, "")
            for n, p in enumerate(view.passes[0].left, start=1)
        )
    gauges: list[tuple[Gauge, str]] = []
    if view.wall is not None:
        gauges.append((view.wall, f"wall {size_text(plan, view.wall.length)}"))
    for kept in view.kept:
        same = view.wall is not None and kept.kept is not None and kept.kept.end == view.wall.end
        if kept.kept is not None and not same:
            gauges.append((kept.kept, f"{short(kept.name, 16)} {size_text(plan, kept.kept.length)} off"))
    names = [
        (f"spoil board, {size_text(plan, b.thickness)} or thicker", b.outline.curves[2].point_at(0.5))
        for b in view.boards
    ]
    for kept in view.kept:
        at = next(
            (c.point_at(s) for c in kept.curves for s in (0.5, 0.25, 0.75, 0.4, 0.6) if window.shows(c.point_at(s))),
            None,
        )
        if at is not None:
            names.append((f"{short(kept.name, 24)}: stays", at))
    names += [("stays", i.curves[0].point_at(0.5)) for i in view.islands[:4]]
    return Scene(view, work, left, before, tuple(spots), tuple(gauges), tuple(names), len(left) > CROWD)


def _enlarged(canvas: Canvas, window: Window, scene: Scene, place: Point, picture: int) -> None:
    """Draw what is small in the large window again, larger: the ends of a long cut, and one corner with what stays."""
    wanted: list[tuple[str, tuple[float, float, float, float]]] = []
    x0, y0, x1, y1 = total_bounds(scene.view.wanted)
    work = scene.cutter_pass
    if max(x1 - x0, y1 - y0) > LONG * min(x1 - x0, y1 - y0) and work.number == 1:
        half = min(x1 - x0, y1 - y0) / 2 + 0.8 * work.diameter
        ends = [s.at for s in work.spots if s.kind is SpotKind.START]
        if ends:
            first = ends[0]
            far = max(
                (c.point_at(1.0) for line in work.lines for c in line.curves),
                key=lambda p: (p[0] - first[0]) ** 2 + (p[1] - first[1]) ** 2,
            )
            for words, at in (("where it begins", first), ("the other end", far)):
                wanted.append((words, (at[0] - half, at[1] - half, *_sum(at, half))))
    patches = scene.left or scene.gone_before
    if patches:
        patch = max(patches, key=lambda p: p.border.area)
        bx0, by0, bx1, by1 = patch.border.bounds
        middle, half = ((bx0 + bx1) / 2, (by0 + by1) / 2), 0.9 * max(bx1 - bx0, by1 - by0)
        half = max(half, 0.62 * work.diameter)
        wanted.append(
            (
                f"{'corner' if patch.is_corner else 'place'} {patch.number}",
                (middle[0] - half, middle[1] - half, *_sum(middle, half)),
            )
        )
    left, top = place
    for n, (words, bounds) in enumerate(wanted[: int((WIDE - EDGE - left) // (SIDE + 16))]):
        box = Box(left, top, left + SIDE, top + SIDE)
        close = window_on(f"cut-window-{picture}-{n + 1}", box, bounds)
        times = close.view.scale / window.view.scale
        if times < ENLARGE:
            continue
        draw_scene(canvas, close, scene, named=False)
        canvas.text((left, top - 7), f"{words}, {times:.1f} times", 13, look="quiet")
        left += SIDE + 16
