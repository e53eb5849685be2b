"""Splines and ellipses of a drawing as short straight lines, within a distance that is proved and not sampled.

A spline is cut into Bezier pieces by its polar form (L. Ramshaw, "Blossoms are polar forms", 1989); a piece lies inside
the hull of its control points, so the greatest distance of a control point from the chord bounds the distance of the
curve from it. Pieces are halved until that bound is small enough.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from holecam.errors import InputError
from holecam.shapes import Point, distance

MOST_PIECES = 50_000
"""Straight lines for one curve; more is a mistake of scale."""

MOST_HALVINGS = 30

_Homogeneous = tuple[float, float, float]


def ellipse_points(
    *, centre: Point, major: Point, ratio: float, start: float, end: float, mirrored: bool, tolerance: float
) -> list[Point]:
    """Return points on an elliptic arc whose chords lie within ``tolerance`` of it, on its inner side.

    ``start`` and ``end`` are the curve's parameters, radians, anticlockwise; ``major`` is the half axis. The ellipse is
    a circle of radius ``a`` pressed flat, and pressing shortens distances: a chord of step h is off by at most
    ``a (1 - cos(h / 2))``.
    """
    a = math.hypot(*major)
    if not (a > 0 and 0 < ratio <= 1 + 1e-9):
        raise InputError(f"ellipse at {centre}: expected axes above zero")
    sweep = (end - start) % math.tau or math.tau
    step = 2 * math.acos(max(0.0, 1 - tolerance / a)) if tolerance < a else math.pi / 2
    count = max(4, math.ceil(sweep / step))
    if count > MOST_PIECES:
        raise InputError(f"ellipse at {centre}: expected a size that {MOST_PIECES} lines can follow")
    side = -ratio if mirrored else ratio
    minor = (-major[1] * side, major[0] * side)
    points = []
    for i in range(count + 1):
        t = start + sweep * i / count
        c, s = math.cos(t), math.sin(t)
        points.append((centre[0] + major[0] * c + minor[0] * s, centre[1] + major[1] * c + minor[1] * s))
    if sweep >= math.tau - 1e-12:
        points[-1] = points[0]
    return points


def spline_points(
    *, degree: int, control: Sequence[Point], knots: Sequence[float], weights: Sequence[float], tolerance: float
) -> list[Point]:
    """Return points on a spline whose chords lie within ``tolerance`` of it.

    Raises
    ------
    InputError
        Knots and control points do not fit, or weights are not above zero.
    """
    count = len(control)
    if degree < 1 or degree > 25 or count <= degree or len(knots) != count + degree + 1:
        raise InputError(f"spline: expected {count + degree + 1} knots for {count} points of degree {degree}")
    if any(b < a for a, b in itertools.pairwise(knots)) or not knots[degree] < knots[count]:
        raise InputError("spline: expected knots that rise")
    given = list(weights) or [1.0] * count
    if len(given) != count or not all(w > 0 and math.isfinite(w) for w in given):
        raise InputError("spline: expected weights above zero")
    if not all(math.isfinite(v) for p in control for v in p):
        raise InputError("spline: expected finite points")
    points: list[Point] = []
    for piece in bezier_pieces(degree, [(x * w, y * w, w) for (x, y), w in zip(control, given, strict=True)], knots):
        flat = _flattened(piece, tolerance)
        points.extend(flat if not points else flat[1:])
        if len(points) > MOST_PIECES:
            raise InputError(f"spline: expected a size that {MOST_PIECES} lines can follow")
    return points


def bezier_pieces(degree: int, control: Sequence[_Homogeneous], knots: Sequence[float]) -> list[list[_Homogeneous]]:
    """Return the Bezier pieces of a spline between its first and last valid knot, with homogeneous control points.

    Control point i of the piece over [a, b] is the blossom at a (degree - i times) and b (i times).
    """
    pieces = []
    for span in range(degree, len(control)):
        a, b = knots[span], knots[span + 1]
        if b > a:
            pieces.append(
                [_blossom(degree, control, knots, span, [a] * (degree - i) + [b] * i) for i in range(degree + 1)]
            )
    return pieces


def _blossom(
    degree: int, control: Sequence[_Homogeneous], knots: Sequence[float], span: int, at: Sequence[float]
) -> _Homogeneous:
    """Return the polar form of one span: de Boor's scheme with another parameter at every level."""
    row = [control[span - degree + j] for j in range(degree + 1)]
    for level in range(1, degree + 1):
        for j in range(degree, level - 1, -1):
            left = knots[j + span - degree]
            share = (at[level - 1] - left) / (knots[j + 1 + span - level] - left)
            a, b = row[j - 1], row[j]
            row[j] = (
                (1 - share) * a[0] + share * b[0],
                (1 - share) * a[1] + share * b[1],
                (1 - share) * a[2] + share * b[2],
            )
    return row[degree]


def _plane(p: _Homogeneous) -> Point:
    return (p[0] / p[2], p[1] / p[2])


def _flattened(piece: Sequence[_Homogeneous], tolerance: float) -> list[Point]:
    """Return points of one Bezier piece, by halving until the hull of the control points is thin enough."""
    out = [_plane(piece[0])]
    todo: list[tuple[list[_Homogeneous], int]] = [(list(piece), 0)]
    while todo:
        part, depth = todo.pop()
        if depth >= MOST_HALVINGS or _hull_off(part) <= tolerance:
            out.append(_plane(part[-1]))
        else:
            left, right = _halved(part)
            todo.append((right, depth + 1))
            todo.append((left, depth + 1))
        if len(out) > MOST_PIECES:
            raise InputError(f"spline: expected a size that {MOST_PIECES} lines can follow")
    return out


def _hull_off(part: Sequence[_Homogeneous]) -> float:
    """Return the greatest distance of a control point from the chord (as a finite line, so that loops count)."""
    a, b = _plane(part[0]), _plane(part[-1])
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    worst = 0.0
    for control in part[1:-1]:
        p = _plane(control)
        along = 0.0 if square == 0.0 else ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square
        along = min(1.0, max(0.0, along))
        worst = max(worst, distance(p, (a[0] + along * dx, a[1] + along * dy)))
    return worst


def _halved(part: list[_Homogeneous]) -> tuple[list[_Homogeneous], list[_Homogeneous]]:
    """Return the two halves of a Bezier piece (de Casteljau)."""
    left, right = [part[0]], [part[-1]]
    row = part
    while len(row) > 1:
        row = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2) for a, b in itertools.pairwise(row)]
        left.append(row[0])
        right.append(row[-1])
    return left, right[::-1]
