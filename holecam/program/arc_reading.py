"""Arcs as the published language reads them: centre from I, J, K or from R, the two radii, chords for the other planes.

NISTIR 6556, 3.5.3 (section numbers from memory). Within a plane the coordinates are (first, second): X Y for G17, Z X
for G18, Y Z for G19, so that anticlockwise is always from the first axis to the second.
"""

from __future__ import annotations

import math

from holecam.program.arc_words import arc_sweep, chord_count, points_along
from holecam.program.blocks import RefusedLineError
from holecam.program.language import RULE_ARCS
from holecam.shapes import Point

CHORD_TOLERANCE = 1e-4
"""mm. Arcs in the upright planes are simulated as chords this near to them, far below any readout."""

MOST_CHORDS = 20_000
"""Chords of one upright arc; a radius that needs more is no arc of a mill."""

PLANE_AXES: dict[int, tuple[int, int, int]] = {170: (0, 1, 2), 180: (2, 0, 1), 190: (1, 2, 0)}
"""First, second and third axis of each plane."""

LIMIT_NOISE = 1e-9
"""mm. The published limit itself is still accepted, whatever the last bit says."""


def center_from_offsets(
    start: Point, end: Point, offsets: tuple[float | None, float | None], *, absolute: bool, limit: float
) -> Point:
    """Return the centre of a centre format arc, mm.

    ``offsets`` are mm; ``None`` for a word that is not there, which counts as 0 when offsets are incremental.

    Raises
    ------
    RefusedLineError
        Both words missing, one missing with absolute centres, no radius, or radii that differ by more than ``limit``.
    """
    if offsets[0] is None and offsets[1] is None:
        raise RefusedLineError("the arc has neither a centre (I, J, K) nor a radius (R)", RULE_ARCS)
    if absolute:
        if offsets[0] is None or offsets[1] is None:
            raise RefusedLineError("with absolute centres both words of the centre are needed", RULE_ARCS)
        center = (offsets[0], offsets[1])
    else:
        center = (start[0] + (offsets[0] or 0.0), start[1] + (offsets[1] or 0.0))
    r0, r1 = math.dist(start, center), math.dist(end, center)
    if r0 <= LIMIT_NOISE:
        raise RefusedLineError("the arc has no radius: its centre is its start", RULE_ARCS)
    if not abs(r0 - r1) <= limit + LIMIT_NOISE:
        raise RefusedLineError(
            f"the ends of the arc lie {r0:.5f} and {r1:.5f} mm from its centre; they may differ by {limit:.5f} mm",
            RULE_ARCS,
        )
    return center


def center_from_radius(start: Point, end: Point, radius: float, *, ccw: bool, limit: float) -> Point:
    """Return the centre of a radius format arc, mm: above 0 at most half a circle, below 0 more than half.

    Raises
    ------
    RefusedLineError
        No radius, equal ends, or a radius too short to reach the end.
    """
    chord = math.dist(start, end)
    if chord <= LIMIT_NOISE:
        raise RefusedLineError("an arc by radius may not end where it starts: any circle would do", RULE_ARCS)
    if radius == 0.0:
        raise RefusedLineError("the arc has the radius 0", RULE_ARCS)
    short = chord / 2 - abs(radius)
    if short > limit + LIMIT_NOISE:
        raise RefusedLineError(
            f"the radius {abs(radius):.4f} mm is too short: the ends are {chord:.4f} mm apart", RULE_ARCS
        )
    height = math.sqrt(max(0.0, radius * radius - chord * chord / 4))
    if ccw is (radius < 0):
        height = -height
    ux, uy = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    return ((start[0] + end[0]) / 2 - uy * height, (start[1] + end[1]) / 2 + ux * height)


def upright_chords(
    start: tuple[float, float, float], end: tuple[float, float, float], center: Point, plane: int, *, ccw: bool
) -> list[tuple[float, float, float]]:
    """Return the ends of the chords that stand for an arc in the ZX or YZ plane, the last one being ``end``."""
    first, second, third = PLANE_AXES[plane]
    a, b = (start[first], start[second]), (end[first], end[second])
    sweep = arc_sweep(a, b, center, ccw=ccw)
    radius = math.dist(a, center)
    count = chord_count(sweep, radius, CHORD_TOLERANCE)
    if count > MOST_CHORDS:
        raise RefusedLineError(f"an upright arc of radius {radius:.1f} mm is not read", RULE_ARCS)
    points = []
    for k, (u, v) in enumerate(points_along(a, b, center, sweep, count), 1):
        at = {first: u, second: v, third: start[third] + (end[third] - start[third]) * k / count}
        points.append((at[0], at[1], at[2]))
    points[-1] = end
    return points
