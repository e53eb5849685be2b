"""Random outlines of segments and arcs, without crossings, and their fine polygons for a general-purpose library."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import shapely
from hypothesis import strategies as st

from holecam.shapes import Arc, Curve, Outline, Point, Segment

CHORDS_PER_ARC = 400


def bulged(a: Point, b: Point, bulge: float) -> Curve:
    """Return the curve from a to b whose middle lies ``bulge`` half chords to the right of the straight way."""
    if bulge == 0.0:
        return Segment(a, b)
    half = math.dist(a, b) / 2
    sagitta = bulge * half
    # Height of the centre over the chord, to the left of a -> b when the curve bulges to the right
    up = (half * half - sagitta * sagitta) / (2 * sagitta)
    ux, uy = (b[0] - a[0]) / (2 * half), (b[1] - a[1]) / (2 * half)
    center = ((a[0] + b[0]) / 2 - uy * up, (a[1] + b[1]) / 2 + ux * up)
    return Arc(a, b, center, ccw=bulge > 0)


@st.composite
def outlines(draw: st.DrawFn) -> Outline:
    """Return a star-shaped outline about a point, each side straight or bent a little, in either sense of travel."""
    n = draw(st.integers(3, 9))
    seed = random.Random(draw(st.integers(0, 10**6)))
    size = draw(st.sampled_from([3.0, 40.0, 300.0]))
    x, y = draw(st.tuples(st.floats(-200, 200), st.floats(-200, 200)))
    corners = []
    for k in range(n):
        angle = math.tau * (k + 0.3 * seed.uniform(-1, 1)) / n
        r = size * seed.uniform(0.6, 1.0)
        corners.append((x + r * math.cos(angle), y + r * math.sin(angle)))
    bulges = [seed.choice([0.0, 0.0, 0.12, 0.2, -0.1]) for _ in range(n)]
    curves = [bulged(a, b, f) for (a, b), f in zip(pairwise([*corners, corners[0]]), bulges, strict=True)]
    outline = Outline(tuple(curves))
    return outline.reversed() if draw(st.booleans()) else outline


def fine_points(outline: Outline) -> list[Point]:
    """Return points along the outline, close together on arcs."""
    points: list[Point] = []
    for curve in outline.curves:
        steps = CHORDS_PER_ARC if isinstance(curve, Arc) else 1
        points += [curve.point_at(k / steps) for k in range(steps)]
    return points


def fine_polygon(outline: Outline) -> shapely.Polygon:
    """Return the outline as a polygon of many chords."""
    return shapely.Polygon(fine_points(outline))


def chord_error(outline: Outline) -> float:
    """Return how far the chords lie from their arcs at most, mm."""
    return max(
        (c.radius * (1 - math.cos(abs(c.sweep) / CHORDS_PER_ARC / 2)) for c in outline.curves if isinstance(c, Arc)),
        default=0.0,
    )
