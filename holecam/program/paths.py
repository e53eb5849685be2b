"""Length, bounds, middle and sweep of many moves at once, exact for arcs and helices."""

from __future__ import annotations

import numpy as np

from holecam.program.moves import Floats, Kind, Mask, Moves

SAME_PLACE = 1e-9
"""mm. Arithmetic noise: two ends nearer than this are one point."""


def is_feed(moves: Moves) -> Mask:
    """Return which moves are made at feed: lines and arcs."""
    return np.asarray(moves.kind != Kind.RAPID)


def is_arc(moves: Moves) -> Mask:
    """Return which moves are arcs."""
    return np.asarray(moves.kind >= Kind.ARC_CW)


def sweeps(moves: Moves) -> Floats:
    """Return the signed angle of every move, radians: above 0 anticlockwise, 0 for straight moves.

    Equal ends mean the full circle, as in the published language.
    """
    angle = np.zeros(len(moves))
    arc = np.flatnonzero(is_arc(moves))
    if not len(arc):
        return angle
    c, a, b = moves.center[arc], moves.start[arc, :2], moves.end[arc, :2]
    first = np.arctan2(a[:, 1] - c[:, 1], a[:, 0] - c[:, 0])
    last = np.arctan2(b[:, 1] - c[:, 1], b[:, 0] - c[:, 0])
    ccw = moves.kind[arc] == Kind.ARC_CCW
    turn = np.where(ccw, last - first, first - last) % (2 * np.pi)
    closed = np.hypot(*(b - a).T) <= SAME_PLACE
    turn[closed] = 2 * np.pi
    angle[arc] = np.where(ccw, turn, -turn)
    return angle


def radii(moves: Moves) -> Floats:
    """Return the radius of every arc, taken at its start; 0 for straight moves."""
    radius = np.zeros(len(moves))
    arc = np.flatnonzero(is_arc(moves))
    radius[arc] = np.hypot(*(moves.start[arc, :2] - moves.center[arc]).T)
    return radius


def lengths(moves: Moves) -> Floats:
    """Return the length of every move, mm; nan where a coordinate that changes is unknown."""
    delta = moves.end - moves.start
    delta[np.isnan(moves.end)] = 0.0  # still unknown: that axis did not move
    plane = np.hypot(delta[:, 0], delta[:, 1])
    arc = is_arc(moves)
    if arc.any():
        plane[arc] = (np.abs(sweeps(moves)) * radii(moves))[arc]
    return np.asarray(np.hypot(plane, delta[:, 2]))


def points_at(moves: Moves, share: float) -> Floats:
    """Return the point of every move at a share (0 to 1) of it, shape (n, 3)."""
    point = moves.start + share * (moves.end - moves.start)
    arc = np.flatnonzero(is_arc(moves))
    if len(arc):
        some = moves.take(arc)
        c, a = some.center, some.start[:, :2] - some.center
        angle = np.arctan2(a[:, 1], a[:, 0]) + share * sweeps(some)
        r = np.hypot(a[:, 0], a[:, 1])
        point[arc, 0] = c[:, 0] + r * np.cos(angle)
        point[arc, 1] = c[:, 1] + r * np.sin(angle)
    return np.asarray(point)


def bounds(moves: Moves) -> tuple[Floats, Floats]:
    """Return the least and the greatest corner of every move, two arrays (n, 3); arcs with their extremes."""
    low = np.fmin(moves.start, moves.end)
    high = np.fmax(moves.start, moves.end)
    arc = np.flatnonzero(is_arc(moves))
    if len(arc):
        some = moves.take(arc)
        c, r, sweep = some.center, radii(some), sweeps(some)
        first = np.arctan2(some.start[:, 1] - c[:, 1], some.start[:, 0] - c[:, 0])
        for quarter in range(4):
            turn = (quarter * np.pi / 2 - first) % (2 * np.pi)
            covered = np.where(sweep > 0, turn <= sweep, (2 * np.pi - turn) % (2 * np.pi) <= -sweep)
            x = c[:, 0] + r * (1, 0, -1, 0)[quarter]
            y = c[:, 1] + r * (0, 1, 0, -1)[quarter]
            hit = arc[covered]
            low[hit, 0] = np.minimum(low[hit, 0], x[covered])
            low[hit, 1] = np.minimum(low[hit, 1], y[covered])
            high[hit, 0] = np.maximum(high[hit, 0], x[covered])
            high[hit, 1] = np.maximum(high[hit, 1], y[covered])
    return low, high
