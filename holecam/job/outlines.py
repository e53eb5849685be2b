"""Turn the regions and paths of a job into exact shapes.

Points are exact until here. An arc keeps its end points as they are written; a centre that is given with few digits
is moved onto the line on which it has to lie, by at most :data:`CENTRE_SLIP`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from holecam.cuts.region_checks import check_islands, check_outline
from holecam.errors import InputError
from holecam.job.drawings import read_drawing
from holecam.job.models_shape import Corner, PathModel, RegionModel
from holecam.job.quantities import XY, unit_of_bare_numbers
from holecam.lengths import length_text, number_in
from holecam.shapes import Arc, Circle, Curve, Outline, Placement, Point, Segment, circle_outline, distance, rectangle

CENTRE_SLIP = 0.02
"""mm. A centre written with few digits may be off by this before it is refused as a mistake: readings in thou of both
ends and of the centre are each off by half a thou at most."""

SAME = 1e-9
"""mm. Nearer points are one point: noise of arithmetic."""

LEAST_WIDTH = 1e-6
"""mm. An outline whose corners lie this near to one line is a line drawn there and back."""


class Shaped(Struct, frozen=True):
    """A region as shapes."""

    outline: Outline
    """Its edge, anticlockwise."""
    islands: tuple[Outline, ...] = ()
    """Closed outlines inside it that the same drawing has, anticlockwise."""


def shape_of(region: RegionModel, *, folder: str = "") -> Shaped:
    """Return a region as shapes, in the part frame.

    Raises
    ------
    InputError
        Its steps make no outline, or its drawing cannot be used.
    """
    if region.rectangle is not None:
        return Shaped(_rectangle(region))
    if region.circle is not None and region.centre is not None:
        return Shaped(circle_outline(Circle(_point(region.centre), float(region.circle) / 2)))
    if region.points is not None:
        outline = Outline(tuple(curves_through(region.points, closed=True)))
        if _flat(outline):
            raise InputError("outline: expected points that enclose an area, found that these lie on one line")
        check_outline(outline, "outline")  # before it is turned round: edges are numbered as they are listed
        return Shaped(outline.counterclockwise())
    if region.drawing is None:
        raise InputError("shape: expected rectangle, circle, points or drawing")
    drawn = read_drawing(region.drawing, folder=folder)
    outline, islands = drawn.outline_and_islands()
    check_outline(outline, f"outline in {drawn.file}")
    check_islands(outline, islands, f"outline in {drawn.file}")
    return Shaped(outline, islands)


def outline_of(region: RegionModel, *, folder: str = "") -> Outline:
    """Return the edge of a region, anticlockwise; a drawing with islands is refused here.

    Raises
    ------
    InputError
        As :func:`shape_of`, or the drawing has more than one closed outline.
    """
    shaped = shape_of(region, folder=folder)
    if shaped.islands:
        more = len(shaped.islands)
        raise InputError(
            f"outline: expected one closed outline, found {more} more inside it. Put the edge on a layer of its own, "
            "and name that with layer."
        )
    return shaped.outline


def sides_of(region: RegionModel, *, folder: str = "") -> tuple[Curve, ...]:
    """Return the sides of a region in the order in which the job lists them, each travelled anticlockwise.

    Raises
    ------
    InputError
        As :func:`outline_of`.
    """
    outline = outline_of(region, folder=folder)
    if region.points is None:
        return outline.curves
    listed = Outline(tuple(curves_through(region.points, closed=True)))
    return listed.curves if listed.signed_area > 0 else tuple(curve.reversed() for curve in listed.curves)


def path_of(path: PathModel, *, folder: str = "") -> tuple[Curve, ...]:
    """Return an open line as segments and arcs, each starting where the one before ended.

    Raises
    ------
    InputError
        Its steps make no line, or its drawing has not exactly one open line.
    """
    if path.points is not None:
        return tuple(curves_through(path.points, closed=False))
    if path.drawing is None:
        raise InputError("line: expected points or drawing")
    return read_drawing(path.drawing, folder=folder).path()


def _point(xy: XY) -> Point:
    return (float(xy[0]), float(xy[1]))


def _flat(outline: Outline) -> bool:
    """Return whether all corners lie on one line; an outline with an arc is not flat."""
    if any(isinstance(c, Arc) for c in outline.curves):
        return False
    start = outline.curves[0].start
    far = max((c.end for c in outline.curves), key=lambda p: distance(start, p))
    length = distance(start, far)
    dx, dy = (far[0] - start[0]) / length, (far[1] - start[1]) / length
    return all(abs((c.end[0] - start[0]) * dy - (c.end[1] - start[1]) * dx) <= LEAST_WIDTH for c in outline.curves)


def _rectangle(region: RegionModel) -> Outline:
    if region.rectangle is None:
        raise InputError("rectangle: expected a width and a height")
    wide, high = (float(side) for side in region.rectangle)
    radius = float(region.corner_radius or 0)
    if region.centre is not None:
        pivot = _point(region.centre)
        plain = rectangle(-wide / 2, -high / 2, wide / 2, high / 2, corner_radius=radius)
    else:
        pivot = _point(region.at) if region.at is not None else (0.0, 0.0)
        plain = rectangle(0.0, 0.0, wide, high, corner_radius=radius)
    return Placement(region.turn_deg, pivot).apply_outline(plain)


def curves_through(steps: Sequence[Corner], *, closed: bool) -> list[Curve]:
    """Return the segments and arcs of listed steps; a closed list is joined by a straight line where it is open.

    Raises
    ------
    InputError
        Two steps in a row are at one point, an arc is impossible, a rounding does not fit; the step is named.
    """
    curves: list[Curve] = []
    roundings: list[float] = []  # radius at the end of each curve
    here = _target(steps[0])
    start = here
    for number, step in enumerate(steps[1:], start=2):
        curves.append(_curve(here, step, number))
        roundings.append(float(step.rounded or 0))
        here = _target(step)
    first_rounding = float(steps[0].rounded or 0)
    if closed:
        if distance(here, start) > SAME:
            curves.append(Segment(here, start))
            roundings.append(first_rounding)
        else:
            roundings[-1] = roundings[-1] or first_rounding
    elif first_rounding or roundings[-1]:
        raise InputError("line: expected no rounding at its two ends")
    return _rounded(curves, roundings, closed=closed)


def _target(step: Corner) -> Point:
    spot = step.to if step.to is not None else step.arc_to
    if spot is None:
        raise InputError("step: expected to or arc_to")
    return _point(spot)


def _curve(here: Point, step: Corner, number: int) -> Curve:
    there = _target(step)
    same = distance(here, there) <= SAME
    if step.to is not None:
        if same:
            raise InputError(f"step {number}: expected another point than the one before, {_shown(there)}")
        return Segment(here, there)
    if step.through is not None:
        return _arc_through(here, _point(step.through), there, number)
    ccw = step.turn == "left"
    if step.centre is not None:
        return _arc_about(here, there, _point(step.centre), number, ccw=ccw)
    if same:
        raise InputError(f"step {number}: expected a centre for an arc that ends where it starts")
    return _arc_of_radius(here, there, float(step.radius or 0), number, ccw=ccw, long_way=step.long_way)


def _length(value: float) -> str:
    """Return a length for a message, in the job's unit."""
    return length_text(value, unit_of_bare_numbers() or "mm")


def _shown(p: Point) -> str:
    unit = unit_of_bare_numbers() or "mm"
    return f"{number_in(p[0], unit)}, {length_text(p[1], unit)}"


def _arc_about(here: Point, there: Point, centre: Point, number: int, *, ccw: bool) -> Arc:
    if distance(here, there) <= SAME:
        return Arc(here, here, centre, ccw)
    r0, r1 = distance(centre, here), distance(centre, there)
    # The centre of an arc lies on the line that halves its chord at right angles: move it there
    chord = (there[0] - here[0], there[1] - here[1])
    square = chord[0] ** 2 + chord[1] ** 2
    middle = ((here[0] + there[0]) / 2, (here[1] + there[1]) / 2)
    off = ((centre[0] - middle[0]) * chord[0] + (centre[1] - middle[1]) * chord[1]) / square
    slip = abs(off) * math.sqrt(square)
    if slip > CENTRE_SLIP and abs(r0 - r1) > CENTRE_SLIP:
        raise InputError(
            f"step {number}: expected a centre as far from the start as from the end of the arc, "
            f"found it {_length(r0)} and {_length(r1)} from them"
        )
    return Arc(here, there, (centre[0] - off * chord[0], centre[1] - off * chord[1]), ccw)


def _arc_of_radius(here: Point, there: Point, radius: float, number: int, *, ccw: bool, long_way: bool) -> Arc:
    chord = distance(here, there)
    if chord > 2 * radius * (1 + 1e-9):
        raise InputError(
            f"step {number}: expected a radius of at least {_length(chord / 2)} (half the distance of the arc's ends), "
            f"found {_length(radius)}"
        )
    rise = math.sqrt(max(0.0, radius * radius - chord * chord / 4))
    side = 1.0 if ccw is not long_way else -1.0
    left = (-(there[1] - here[1]) / chord, (there[0] - here[0]) / chord)
    middle = ((here[0] + there[0]) / 2, (here[1] + there[1]) / 2)
    return Arc(here, there, (middle[0] + side * rise * left[0], middle[1] + side * rise * left[1]), ccw)


def _arc_through(here: Point, mid: Point, there: Point, number: int) -> Arc:
    ax, ay = mid[0] - here[0], mid[1] - here[1]
    bx, by = there[0] - here[0], there[1] - here[1]
    cross = ax * by - ay * bx
    size = max(math.hypot(ax, ay), math.hypot(bx, by))
    if size <= SAME or abs(cross) <= 1e-9 * size * size:
        raise InputError(f"step {number}: expected three points that are not on one line for an arc")
    a2, b2 = ax * ax + ay * ay, bx * bx + by * by
    centre = (here[0] + (by * a2 - ay * b2) / (2 * cross), here[1] + (ax * b2 - bx * a2) / (2 * cross))
    return Arc(here, there, centre, ccw=cross > 0)


def _rounded(curves: list[Curve], roundings: list[float], *, closed: bool) -> list[Curve]:
    """Return the chain with the asked corners replaced by arcs; ``roundings[i]`` is at the end of ``curves[i]``."""
    if not any(roundings):
        return curves
    count = len(curves)
    cut_start, cut_end = [0.0] * count, [0.0] * count
    for i, radius in enumerate(roundings):
        if not radius:
            continue
        before, after = curves[i], curves[(i + 1) % count]
        if isinstance(before, Arc) or isinstance(after, Arc):
            raise InputError(
                f"corner at {_shown(before.end)}: expected straight lines on both sides of a rounded corner"
            )
        cut_end[i] = cut_start[(i + 1) % count] = radius * abs(math.tan(_turn(before, after) / 2))
    out: list[Curve] = []
    for i, curve in enumerate(curves):
        if isinstance(curve, Arc):
            out.append(curve)
            continue
        length = curve.length
        if cut_start[i] + cut_end[i] > length + SAME:
            raise InputError(
                f"line from {_shown(curve.start)} to {_shown(curve.end)}: expected roundings that need at most its "
                f"length of {_length(length)}, found them to need {_length(cut_start[i] + cut_end[i])}"
            )
        start = curve.start if not cut_start[i] else curve.point_at(cut_start[i] / length)
        end = curve.end if not cut_end[i] else curve.point_at(1 - cut_end[i] / length)
        if distance(start, end) > SAME:
            out.append(Segment(start, end))
        if cut_end[i]:
            following = curves[(i + 1) % count]
            next_start = following.point_at(cut_end[i] / following.length)
            out.append(_fillet(curve, end, next_start, roundings[i], _turn(curve, following)))
    return _joined(out, closed=closed)


def _turn(before: Curve, after: Curve) -> float:
    """Return the angle by which the direction changes, radians, above zero to the left."""
    (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
    turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if abs(turn) > math.pi - 1e-6:
        raise InputError(f"corner at {_shown(before.end)}: expected a corner that can be rounded, not a line back")
    return turn


def _fillet(before: Segment, start: Point, end: Point, radius: float, turn: float) -> Curve:
    dx, dy = before.tangent_at(1.0)
    side = math.copysign(radius, turn)
    return Arc(start, end, (start[0] - side * dy, start[1] + side * dx), ccw=turn > 0)


def _joined(curves: list[Curve], *, closed: bool) -> list[Curve]:
    """Return the chain with the last bits of its joints made equal, so that no gap of arithmetic noise remains."""
    pairs = pairwise([*curves, curves[0]] if closed else curves)
    for before, after in pairs:
        if distance(before.end, after.start) > 1e-7:
            raise InputError(f"corner at {_shown(before.end)}: expected lines that meet")
    return curves
