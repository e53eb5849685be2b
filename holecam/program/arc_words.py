"""Arcs for a program: split where a control needs it, and a centre on the grid that makes both radii agree.

The published interpreter refuses an arc whose two radii (start to centre, end to centre) differ by more than 0.002 mm
or 0.0002 in (NISTIR 6556, centre format arcs; section 3.5.3.2 from memory). Rounding X, Y, I and J separately breaks
that now and then, so the ends are rounded first and the centre is then chosen among the grid points near the true one.
"""

from __future__ import annotations

import math

from holecam.shapes import Point

RADIUS_MISMATCH: dict[str, float] = {"mm": 0.002, "in": 0.0002 * 25.4}
"""mm, by the unit of the program: the published limit."""

SHARE_OF_LIMIT = 0.5
"""The writer keeps to half the limit, so that a control that computes in other digits agrees as well."""

LARGEST_SWEEP = math.pi
"""Larger arcs are split into equal parts: half a circle is the most that both arc formats describe without doubt."""

SEARCH = 5
"""Steps to each side of the true centre that are tried."""

FARTHEST_OFF = 1.0
"""Steps that a written arc may lie half-way from the true one; beyond, it is written as chords. With ends rounded by
up to 0.71 steps no place of it then lies farther off than 1.25 steps."""

CHORD_STEPS = 0.5
"""Steps that a chord written for want of a good centre may lie from the arc, before its ends are rounded."""

Count = tuple[int, int]

_TRIED: list[tuple[float, int, int]] = sorted(
    (math.hypot(i, j), i, j) for i in range(-SEARCH, SEARCH + 1) for j in range(-SEARCH, SEARCH + 1)
)
"""Offsets from the rounded centre, the nearest first."""


def arc_sweep(start: Point, end: Point, center: Point, *, ccw: bool) -> float:
    """Return the signed angle from start to end, radians; equal ends are a full circle."""
    if math.dist(start, end) <= 1e-9:
        return math.tau if ccw else -math.tau
    first = math.atan2(start[1] - center[1], start[0] - center[0])
    last = math.atan2(end[1] - center[1], end[0] - center[0])
    turn = (last - first) % math.tau
    return turn if ccw else turn - math.tau


def part_count(sweep: float) -> int:
    """Return into how many equal arcs an arc is split."""
    return max(1, math.ceil(abs(sweep) / LARGEST_SWEEP - 1e-9))


def chord_count(sweep: float, radius: float, tolerance: float) -> int:
    """Return how many equal chords stay within the tolerance of an arc: r (1 - cos(angle / 2)) <= tolerance."""
    if radius <= tolerance:
        return max(1, math.ceil(abs(sweep) / (math.pi / 2)))
    widest = 2 * math.acos(1 - tolerance / radius)
    return max(1, math.ceil(abs(sweep) / widest - 1e-9))


def points_along(start: Point, end: Point, center: Point, sweep: float, parts: int) -> list[Point]:
    """Return the ends of equal parts of an arc; the last one is ``end`` itself."""
    radius = math.dist(start, center)
    first = math.atan2(start[1] - center[1], start[0] - center[0])
    angles = (first + sweep * k / parts for k in range(1, parts))
    return [*((center[0] + radius * math.cos(a), center[1] + radius * math.sin(a)) for a in angles), end]


def center_on_grid(
    start: Count, end: Count, true_start: Point, center: Point, sweep: float, step: float, limit: float
) -> Count | None:
    """Return the centre, in counts, for an arc between two rounded ends; ``None`` if no grid point near is good.

    Parameters
    ----------
    start, end : (int, int)
        Rounded ends, in counts of ``step``.
    true_start, center : Point
        Start and centre of the true arc, mm.
    sweep : float
        Its angle, radians, positive counter-clockwise.
    step : float
        mm in a count.
    limit : float
        mm; the published limit of the mismatch.

    Notes
    -----
    Good means: both radii agree within half the limit, and the written arc passes within ``FARTHEST_OFF`` steps of the
    true one half-way. Among the good ones the one nearest to the true centre is taken.
    """
    cx, cy = center[0] / step, center[1] / step
    x0, y0 = round(cx), round(cy)
    ccw = sweep > 0
    true_middle = points_along((true_start[0] / step, true_start[1] / step), end, (cx, cy), sweep, 2)[0]
    best: Count | None = None
    best_off = math.inf
    for away, i, j in _TRIED:
        if away - math.sqrt(0.5) > best_off:  # the true centre lies at most half a step off in each direction
            break
        trial = (x0 + i, y0 + j)
        off = math.dist(trial, (cx, cy))
        if off >= best_off or trial in (start, end):
            continue
        mismatch = abs(math.dist(start, trial) - math.dist(end, trial)) * step
        if mismatch > limit * SHARE_OF_LIMIT:
            continue
        if math.dist(_middle(start, end, trial, ccw=ccw), true_middle) > FARTHEST_OFF:
            continue
        best, best_off = trial, off
    return best


def _middle(start: Count, end: Count, center: Point, *, ccw: bool) -> Point:
    """Return the point half-way along an arc, in counts; the radius is the mean of both."""
    sweep = arc_sweep(start, end, center, ccw=ccw)
    radius = (math.dist(start, center) + math.dist(end, center)) / 2
    angle = math.atan2(start[1] - center[1], start[0] - center[0]) + sweep / 2
    return (center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle))
