"""From the shape of a pattern in the job to numbered points in the pattern's own frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from holecam.errors import InputError
from holecam.job.drawings import read_drawing
from holecam.job.models import Job
from holecam.job.models_pattern import Along, DrawnCircles, PatternShape
from holecam.job.outlines import outline_of, path_of, sides_of
from holecam.layout.grids import grid
from holecam.layout.hole_circles import hole_circle
from holecam.layout.patterns import PatternPoints, free_points, given_circles, line
from holecam.layout.placing import PlacedPattern
from holecam.layout.rows_along import row_along
from holecam.shapes import Curve, distance
from holecam.shapes.offset import JOINED


class Known(Struct, frozen=True):
    """Patterns and old holes that were placed already, by name, for others that refer to them."""

    points: Mapping[str, PatternPoints]
    placed: Mapping[str, PlacedPattern]


def pattern_points(job: Job, shape: PatternShape, known: Known, *, body: str | None = None) -> PatternPoints:
    """Return the points of a pattern, its own frame, mm; numbers of holes left out are kept free.

    Raises
    ------
    InputError
        The pattern refers to one that is not there, or its figures give no pattern.
    """
    points = _bare_points(job, shape, known, body)
    if shape.off_centre is not None:
        points = points.off_centre((float(shape.off_centre[0]), float(shape.off_centre[1])))
    return points.without(shape.leave_out) if shape.leave_out else points


def _bare_points(job: Job, shape: PatternShape, known: Known, body: str | None) -> PatternPoints:
    if shape.line is not None:
        row = shape.line
        return line(
            row.count,
            pitch=None if row.pitch is None else float(row.pitch),
            length=None if row.length is None else float(row.length),
        )
    if shape.grid is not None:
        g = shape.grid
        return grid(
            g.columns,
            g.rows,
            column_pitch=float(g.pitch[0]),
            row_pitch=float(g.pitch[1]),
            stagger=float(g.pitch[0] / 2) if g.staggered else 0.0,
            short_rows=g.short_rows,
        )
    if shape.circle is not None:
        c = shape.circle
        return hole_circle(
            c.count,
            diameter=float(c.diameter),
            start_deg=c.first_deg,
            included_deg=c.span_deg,
            clockwise=c.clockwise,
        )
    if shape.arc is not None:
        a = shape.arc
        return hole_circle(
            a.count,
            diameter=2.0 * float(a.radius),
            start_deg=a.from_deg,
            included_deg=abs(a.to_deg - a.from_deg) or 360.0,
            clockwise=a.to_deg < a.from_deg,
        )
    if shape.points is not None:
        return free_points([(float(x), float(y)) for x, y in shape.points])
    if shape.along is not None:
        return _along(job, shape.along, body)
    if shape.drawing is not None:
        return _drawn(job, shape.drawing)
    if shape.like is not None and shape.like in known.points:
        return known.points[shape.like]
    raise InputError(f'like = "{shape.like}": expected the name of a pattern or of old holes that stand before it')


def _along(job: Job, along: Along, body: str | None) -> PatternPoints:
    curves: tuple[Curve, ...]
    closed = False
    if along.path is not None:
        curves = path_of(along.path, folder=job.source.folder)
    else:
        region = job.body(body).outline
        if region is None:
            raise InputError("along.edge: expected an outline of the part; give outline under [part]")
        curves = outline_of(region, folder=job.source.folder).curves
        closed = not along.edge
        if along.edge:
            curves = _chosen(sides_of(region, folder=job.source.folder), along.edge)
    return row_along(
        curves,
        offset=float(along.offset),
        pitch=None if along.pitch is None else float(along.pitch),
        count=along.count,
        start=float(along.start),
        end=float(along.end),
        closed=closed,
    )


def _chosen(sides: Sequence[Curve], numbers: Sequence[int]) -> tuple[Curve, ...]:
    """Return sides by their numbers, each going on where the one before ended.

    Of an outline whose corners are listed clockwise, sides 1 and 2 are travelled from the end of 2 to the start of 1.
    """
    if any(n > len(sides) for n in numbers):
        raise InputError(f"along.edge: expected side numbers from 1 to {len(sides)}")
    chosen = tuple(sides[n - 1] for n in numbers)
    backwards = chosen[::-1]
    return backwards if _joined(backwards) and not _joined(chosen) else chosen


def _joined(curves: Sequence[Curve]) -> bool:
    return all(distance(before.end, after.start) <= JOINED for before, after in pairwise(curves))


def _drawn(job: Job, drawing: DrawnCircles) -> PatternPoints:
    circles = read_drawing(drawing, folder=job.source.folder).circles
    if drawing.order == "left to right":
        circles = tuple(sorted(circles, key=lambda c: (c.center[0], c.center[1])))
    elif drawing.order == "bottom to top":
        circles = tuple(sorted(circles, key=lambda c: (c.center[1], c.center[0])))
    if drawing.diameter is None:
        return free_points([c.center for c in circles])
    within = float(drawing.diameter_within) if drawing.diameter_within is not None else 0.01
    if drawing.order == "drawn":
        chosen = [c for c in circles if abs(2.0 * c.radius - float(drawing.diameter)) <= within]
        if not chosen:
            sizes = ", ".join(sorted({f"{2.0 * c.radius:.3f}" for c in circles}))
            raise InputError(
                f"drawing {drawing.file}: no circle of {float(drawing.diameter):.3f} mm; its circles have {sizes} mm"
            )
        return free_points([c.center for c in chosen])
    return given_circles(circles, diameter=float(drawing.diameter), within=within)
