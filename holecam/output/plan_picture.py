"""The part as the operator sees it on the table: edge, datum, axes, old holes, new holes with their numbers."""

from __future__ import annotations

from itertools import pairwise

from msgspec import Struct

from holecam.output.drawn_once import drawn_once
from holecam.output.label_places import Box, LabelRoom
from holecam.output.plain_words import plain
from holecam.output.readings import reading
from holecam.output.svg_canvas import Canvas, View, text_width
from holecam.plan.finding import Severity
from holecam.plan.holes import PlannedHole, StandingHole, hole_name
from holecam.plan.plan import Plan
from holecam.shapes import Circle, Curve, Placement, Point, circle_outline, total_bounds
from holecam.shapes.curves import curve_bounds

WIDEST = 1000.0
"""Picture units across; the page scales them."""

TALLEST = 760.0
MARGIN = 96.0
"""Units around the part for labels, dimensions and the words at the edges."""

LEAST_RADIUS = 3.5
"""Units: a smaller hole could not be seen; its cross still marks the true centre."""

SIZES = (22.0, 17.0, 13.0, 10.0)
"""Font sizes of the numbers, units, tried from the largest."""

LINE_BITS = 24
"""Straight bits of a curve, only to keep labels off it."""

MOST_DIMENSIONS = 3
CROWD = 150
"""More holes than this make a crowded picture."""

FAR_ZERO = 0.5
"""A zero of the readout farther from the part than this share of the part's size is told in words, not drawn."""


class PlanPicture(Struct, frozen=True):
    """The picture, how it maps the readout's millimetres, and the holes that found no room for a number."""

    canvas: Canvas
    view: View
    unnumbered: tuple[int, ...]


def table_motion(plan: Plan) -> Placement:
    """Return the motion that carries the part frame into the readout's, as the set-up states it."""
    return Placement(plan.setup.turn_deg, plan.setup.shift)


@drawn_once
def plan_picture(plan: Plan) -> PlanPicture:
    """Return the plan view, in the frame of the readout: +X to the right, the operator at the lower edge."""
    canvas, view = _canvas(plan)
    unnumbered = _draw(plan, canvas, view)
    return PlanPicture(canvas, view, unnumbered)


def _bounds(plan: Plan) -> tuple[float, float, float, float]:
    motion = table_motion(plan)
    boxes = []
    if plan.part.outline is not None:
        boxes.append(motion.apply_outline(plan.part.outline).bounds)
    spots = [(h.xy_machine, h.finished_diameter) for h in plan.holes]
    spots += [(h.xy_machine, h.diameter) for h in plan.standing_holes]
    for (x, y), diameter in spots:
        r = max(diameter, 1e-3) / 2
        boxes.append(total_bounds((circle_outline(Circle((x, y), r)),)))
    for row in (r for o in plan.operations for r in o.rows):
        for at in (row.xy_machine, row.to_machine):
            if at is not None:
                boxes.append((at[0], at[1], at[0], at[1]))
    boxes += [curve_bounds(motion.apply_curve(c)) for s in plan.part.surroundings for c in s.curves]
    datum = motion.apply((0.0, 0.0))
    boxes.append((*datum, *datum))
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    return x0, y0, x1, y1


def _canvas(plan: Plan) -> tuple[Canvas, View]:
    x0, y0, x1, y1 = _bounds(plan)
    wide, high = max(x1 - x0, 1.0), max(y1 - y0, 1.0)
    scale = min((WIDEST - 2 * MARGIN) / wide, (TALLEST - 2 * MARGIN) / high)
    across = max(wide * scale + 2 * MARGIN, 460.0)
    down = high * scale + 2 * MARGIN + 20.0
    words = f"Plan view of {plan.title}: {len(plan.holes)} new holes, {len(plan.standing_holes)} old ones"
    canvas = Canvas(across, down, words, "plan-view")
    return canvas, View(scale, x0, y1, (across - wide * scale) / 2, MARGIN)


def _draw(plan: Plan, canvas: Canvas, view: View) -> tuple[int, ...]:
    room = LabelRoom(canvas.sheet.grown(-4.0))
    motion = table_motion(plan)
    _part(plan, canvas, view, room)
    front = "front of the table: you stand here"
    canvas.text((canvas.width / 2, canvas.height - 10), front, 15, look="quiet", anchor="middle")
    half = text_width(front, 15) / 2
    room.take(Box(canvas.width / 2 - half, canvas.height - 26, canvas.width / 2 + half, canvas.height))
    for hole in plan.standing_holes:
        _block(room, view.at(hole.xy_machine), _radius(hole.diameter, view))
    for new in plan.holes:
        _block(room, view.at(new.xy_machine), _radius(new.finished_diameter, view))
    if not plan.setup.skewed:
        _dimensions(plan, canvas, view, room)
    _axes(plan, canvas, view, room, view.at(motion.apply((0.0, 0.0))))
    for hole in plan.standing_holes:
        _old_hole(hole, canvas, view)
    flagged = {n for f in plan.findings if f.severity is not Severity.NOTE for n in f.holes}
    for new in plan.holes:
        _new_hole(new, canvas, view)
    left_out = _numbers(plan, canvas, view, room, flagged)
    _names(plan, canvas, view, room)
    return left_out


def _part(plan: Plan, canvas: Canvas, view: View, room: LabelRoom) -> None:
    motion = table_motion(plan)
    if plan.part.outline is not None:
        chains = [motion.apply_outline(o).curves for o in (plan.part.outline, *plan.part.openings)]
        canvas.path(chains, view, "edge", closed=True, attributes={})
        for curve in (c for chain in chains for c in chain):
            points = [view.at(curve.point_at(i / LINE_BITS)) for i in range(LINE_BITS + 1)]
            for a, b in pairwise(points):
                room.take_line(a, b)
    for thing in plan.part.surroundings:
        for chain in _joined([motion.apply_curve(c) for c in thing.curves]):
            canvas.path([chain], view, "near", closed=False, attributes={})


def _joined(curves: list[Curve]) -> list[list[Curve]]:
    chains: list[list[Curve]] = []
    for curve in curves:
        if chains and chains[-1][-1].end == curve.start:
            chains[-1].append(curve)
        else:
            chains.append([curve])
    return chains


def _radius(diameter: float, view: View) -> float:
    return max(diameter / 2 * view.scale, LEAST_RADIUS)


def _block(room: LabelRoom, at: Point, radius: float) -> None:
    room.take(Box(at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius))


def _axes(plan: Plan, canvas: Canvas, view: View, room: LabelRoom, datum: Point) -> None:
    """Draw the mark of the datum and the arrows of the readout's axes at it."""
    x, y = datum
    reach = 62.0
    right = x + reach <= canvas.width - 30
    # the arrows leave the part where they can, so that they do not hide the first holes
    canvas.line((x - 9, y), (x + reach, y), "axis")
    canvas.line((x, y + 9), (x, y - reach), "axis")
    canvas.arrow((x + reach, y), (1.0, 0.0), 13)
    canvas.arrow((x, y - reach), (0.0, -1.0), 13)
    canvas.circle(datum, 6.5, "axis")
    room.take(Box(x - 9, y - 5, x + reach, y + 5))
    room.take(Box(x - 5, y - reach, x + 5, y + 9))
    ends = (("+X", (x + reach, y)), ("+Y", (x, y - reach)))
    for words, at in ends if right else ends[1:]:
        _label(canvas, room, at, 2.0, words, 17, look="strong")
    words = "datum" if plan.setup.skewed else "X 0 Y 0"
    _label(canvas, room, datum, 8.0, words, 16, look="strong")
    if not plan.setup.skewed:
        return
    zero = view.at((0.0, 0.0))
    far = FAR_ZERO * max(canvas.width, canvas.height)
    if canvas.sheet.grown(-20).meets(Box(zero[0], zero[1], zero[0] + 0.1, zero[1] + 0.1)) and abs(zero[0] - x) < far:
        canvas.line((zero[0] - 10, zero[1]), (zero[0] + 10, zero[1]), "axis")
        canvas.line((zero[0], zero[1] - 10), (zero[0], zero[1] + 10), "axis")
        _block(room, zero, 10)
        _label(canvas, room, zero, 10.0, "dials 0 0" if plan.machine.kind == "dials" else "readout 0 0", 14)


def _label(
    canvas: Canvas,
    room: LabelRoom,
    at: Point,
    radius: float,
    words: str,
    size: float,
    *,
    look: str = "",
    crowded: bool = False,
) -> bool:
    place = room.place(at, radius, text_width(words, size), size, crowded=crowded)
    if place is None:
        return False
    if place.lead is not None:
        canvas.line(place.lead[0], place.lead[1], "lead")
    middle = ((place.box.x0 + place.box.x1) / 2, place.box.y1 - 0.16 * size)
    canvas.text(middle, words, size, look=f"label {look}".strip(), anchor="middle")
    return True


def _dimensions(plan: Plan, canvas: Canvas, view: View, room: LabelRoom) -> None:
    """Draw the sizes from the datum to the reference hole of each pattern, as many as there is room for."""
    by_place = {(h.pattern, h.number_in_pattern): h for h in plan.holes}
    found = [by_place.get((p.pattern, p.reference_hole)) for p in plan.places]
    ox, oy = view.at((0.0, 0.0))
    for level, hole in enumerate([h for h in found if h is not None][:MOST_DIMENSIONS]):
        x, y = view.at(hole.xy_machine)
        r = _radius(hole.finished_diameter, view) + 6
        words = [_long_minus(reading(plan, v).text()) for v in hole.xy_machine]
        top, left = 22.0 + 22.0 * level, 16.0 + 24.0 * level
        if abs(x - ox) > 2:
            _dimension_x(canvas, room, ((ox, oy - 10), (x, y - r)), top, words[0])
        if abs(y - oy) > 2 and left < min(x, ox) - 20:
            _dimension_y(canvas, room, ((ox - 10, oy), (x - r, y)), left, words[1])


def _long_minus(words: str) -> str:
    return words.replace("-", "\N{MINUS SIGN}")


def _dimension_x(canvas: Canvas, room: LabelRoom, feet: tuple[Point, Point], top: float, words: str) -> None:
    low, high = sorted((feet[0][0], feet[1][0]))
    box = Box(high + 8, top - 9, high + 8 + text_width(words, 15), top + 7)
    if not room.is_free(box) or min(feet[0][1], feet[1][1]) < top:
        return
    room.take(box)
    room.take(Box(low, top - 4, high, top + 4))
    canvas.line((low, top), (high, top), "size")
    for x, y in feet:
        canvas.line((x, top - 4), (x, y), "size")
        room.take_line((x, top - 4), (x, y))
    canvas.arrow((low, top), (-1.0, 0.0))
    canvas.arrow((high, top), (1.0, 0.0))
    canvas.text((box.x0, top + 5), words, 15, look="label")


def _dimension_y(canvas: Canvas, room: LabelRoom, feet: tuple[Point, Point], left: float, words: str) -> None:
    low, high = sorted((feet[0][1], feet[1][1]))
    box = Box(left - 10, high + 8, left - 10 + text_width(words, 15), high + 24)
    if not room.is_free(box):
        return
    room.take(box)
    room.take(Box(left - 4, low, left + 4, high))
    canvas.line((left, low), (left, high), "size")
    for x, y in feet:
        canvas.line((left - 4, y), (x, y), "size")
        room.take_line((left - 4, y), (x, y))
    canvas.arrow((left, low), (0.0, -1.0))
    canvas.arrow((left, high), (0.0, 1.0))
    canvas.text((box.x0, box.y1 - 3), words, 15, look="label")


def _old_hole(hole: StandingHole, canvas: Canvas, view: View) -> None:
    """Draw an old hole: open is a bare ring, plugged a ring with a saltire, to be plugged a ring with one stroke."""
    at, r = view.at(hole.xy_machine), _radius(hole.diameter, view)
    state = f"filled: {hole.plug}" if hole.plug else "open"
    group = canvas.group("old", title=f"{hole.label}, {state}{', to be plugged first' if hole.to_plug else ''}")
    canvas.circle(at, r, "plug" if hole.plug else "open", group)
    k = r * 0.7071
    if hole.plug or hole.to_plug:
        canvas.line((at[0] - k, at[1] - k), (at[0] + k, at[1] + k), "plug", group)
    if hole.plug and not hole.to_plug:
        canvas.line((at[0] - k, at[1] + k), (at[0] + k, at[1] - k), "plug", group)


def _new_hole(hole: PlannedHole, canvas: Canvas, view: View) -> None:
    at, r = view.at(hole.xy_machine), _radius(hole.finished_diameter, view)
    title = f"{hole_name(hole)}, {hole.purpose}{', WITHHELD' if hole.withheld else ''}"
    group = canvas.group("hole", {"data-hole": str(hole.number)}, title=title)
    canvas.circle(at, r, "new", group)
    arm = r + 4
    canvas.line((at[0] - arm, at[1]), (at[0] + arm, at[1]), "cross", group)
    canvas.line((at[0], at[1] - arm), (at[0], at[1] + arm), "cross", group)
    if hole.withheld:
        side = r + 5
        box = {"x": f"{at[0] - side:.2f}", "y": f"{at[1] - side:.2f}", "width": f"{2 * side:.2f}"}
        canvas.add("rect", "halt", {**box, "height": f"{2 * side:.2f}"}, group)


def _numbers(plan: Plan, canvas: Canvas, view: View, room: LabelRoom, flagged: set[int]) -> tuple[int, ...]:
    """Write the number beside each hole, as large as all of them allow; return those that found no room."""
    size = SIZES[min(len(SIZES) - 1, len(plan.holes) // 60)]
    left_out = []
    for hole in plan.holes:
        words = f"{hole.number}{' withheld' if hole.withheld else '!' if hole.number in flagged else ''}"
        at, r = view.at(hole.xy_machine), _radius(hole.finished_diameter, view) + (5 if hole.withheld else 0)
        fits = (s for s in SIZES if s <= size)
        crowded = len(plan.holes) > CROWD
        if not any(_label(canvas, room, at, r, words, s, look="strong", crowded=crowded) for s in fits):
            left_out.append(hole.number)
    return tuple(left_out)


def _names(plan: Plan, canvas: Canvas, view: View, room: LabelRoom) -> None:
    """Write the names of old holes and surroundings, where there is room; titles carry them all the same."""
    motion = table_motion(plan)
    for hole in plan.standing_holes[:60]:
        at, r = view.at(hole.xy_machine), _radius(hole.diameter, view)
        _label(canvas, room, at, r, _short(hole.label), 13, look="quiet")
    for thing in plan.part.surroundings:
        if thing.curves:
            at = view.at(motion.apply(thing.curves[0].point_at(0.5)))
            _label(canvas, room, at, 3.0, _short(thing.name or thing.kind), 13, look="quiet")


def _short(name: str) -> str:
    name = plain(name)
    return name if len(name) <= 24 else f"{name[:23]}…"
