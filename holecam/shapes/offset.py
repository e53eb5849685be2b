"""The line at a constant distance beside a chain of segments and arcs, exact: segments and arcs again.

Every curve is moved to its side, outer corners are rounded about the corner, all pieces are cut where they cross, and
those pieces stay that lie no nearer to the chain than the distance. Nothing is replaced by chords.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from holecam.errors import InputError
from holecam.shapes.curves import SAME_POINT, Arc, Curve, Point, Segment, curve_bounds, distance
from holecam.shapes.distances import crossings, point_to_chain

NEARER_BY = 1e-6
"""mm. A piece counts as too near to the chain when it is nearer than the distance by more than this: noise of
crossings under a small angle, far below anything a machine can hold."""

JOINED = 1e-5
"""mm. Ends of kept pieces nearer than this belong together; they are computed from two sides of one crossing."""

SMOOTH = 1e-9
"""Sine of the angle below which two curves meet without a corner: noise of a computed tangent."""


def chain_length(curves: Iterable[Curve]) -> float:
    """Return the length along a chain, mm."""
    return math.fsum(c.length for c in curves)


def point_along(curves: Sequence[Curve], way: float) -> Point:
    """Return the point at a distance along a chain from its start, mm; the ends for ways a hair outside.

    Raises
    ------
    InputError
        The way is negative or longer than the chain by more than noise.
    """
    left = way
    for curve in curves:
        if left <= curve.length:
            return curve.point_at(max(left, 0.0) / curve.length) if curve.length > 0.0 else curve.start
        left -= curve.length
    if left > NEARER_BY or not curves:
        raise InputError(f"way {way:g} mm: expected 0 to {chain_length(curves):g} mm, the length of the line")
    return curves[-1].end


def offset_line(curves: Sequence[Curve], offset: float, *, closed: bool) -> tuple[tuple[Curve, ...], ...]:
    """Return the line beside a chain, to the left of its travel for an offset above zero, to the right below.

    Parameters
    ----------
    curves : sequence of Segment or Arc
        Each starts where the one before ended.
    offset : float
        mm; 0 returns the chain itself.
    closed : bool
        The chain ends where it began.

    Returns
    -------
    tuple of chains
        One as a rule; several where the line falls apart in a narrow place; none where there is no room.

    Raises
    ------
    InputError
        No curve, an offset that is not finite, or ends that do not meet.
    """
    chain = [c for c in curves if c.length > SAME_POINT]
    if not chain:
        raise InputError("line: expected at least one line or arc that has a length")
    if not math.isfinite(offset):
        raise InputError(f"offset {offset}: expected a finite length")
    for before, after in pairwise([*chain, chain[0]] if closed else chain):
        if distance(before.end, after.start) > JOINED:
            raise InputError(
                f"line: a gap of {distance(before.end, after.start):.6f} mm between {before.end} and {after.start}; "
                "expected each part to start where the one before ended"
            )
    if abs(offset) <= SAME_POINT:
        return (tuple(chain),)
    raw = _moved(chain, offset, closed=closed)
    kept = [p for c in _cut(raw) if (p := _far_enough(c, chain, abs(offset))) is not None]
    return tuple(_strung(kept))


def _moved(chain: Sequence[Curve], offset: float, *, closed: bool) -> list[Curve]:
    """Return each curve moved to its side, with an arc about every outer corner."""
    raw: list[Curve] = []
    for k, curve in enumerate(chain):
        moved = _beside(curve, offset)
        if moved is not None:
            raw.append(moved)
        if k + 1 == len(chain) and not closed:
            break
        corner = _about_corner(curve, chain[(k + 1) % len(chain)], offset)
        if corner is not None:
            raw.append(corner)
    return raw


def _beside(curve: Curve, offset: float) -> Curve | None:
    if isinstance(curve, Segment):
        tx, ty = curve.tangent_at(0.0)
        dx, dy = -ty * offset, tx * offset
        return Segment((curve.start[0] + dx, curve.start[1] + dy), (curve.end[0] + dx, curve.end[1] + dy))
    radius = curve.radius - offset if curve.ccw else curve.radius + offset
    if radius <= SAME_POINT:
        return None  # the arc shrinks away; its neighbours meet instead
    share = radius / curve.radius
    return Arc(_from(curve.center, curve.start, share), _from(curve.center, curve.end, share), curve.center, curve.ccw)


def _from(center: Point, p: Point, share: float) -> Point:
    return (center[0] + (p[0] - center[0]) * share, center[1] + (p[1] - center[1]) * share)


def _about_corner(before: Curve, after: Curve, offset: float) -> Arc | None:
    """Return the arc about a corner on its outer side, ``None`` at an inner or smooth one."""
    (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
    turn, ahead = ax * by - ay * bx, ax * bx + ay * by
    if abs(turn) <= SMOOTH and ahead > 0.0:
        return None
    if turn * offset > 0.0 and abs(turn) > SMOOTH:
        return None
    x, y = before.end
    start, end = (x - ay * offset, y + ax * offset), (x - by * offset, y + bx * offset)
    return Arc(start, end, (x, y), ccw=offset < 0.0)


def _cut(raw: Sequence[Curve]) -> list[Curve]:
    """Return all pieces cut where any two cross, in their order."""
    boxes = [curve_bounds(c) for c in raw]
    pieces: list[Curve] = []
    for i, curve in enumerate(raw):
        shares = {0.0, 1.0}
        for j, other in enumerate(raw):
            if i != j and _overlap(boxes[i], boxes[j]):
                shares.update(_share_of(curve, p) for p in crossings(curve, other))
        for first, last in pairwise(sorted(shares)):
            if (last - first) * curve.length > SAME_POINT:
                pieces.append(sub_curve(curve, first, last))
    return pieces


def _overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] <= b[2] + JOINED and b[0] <= a[2] + JOINED and a[1] <= b[3] + JOINED and b[1] <= a[3] + JOINED


def _share_of(curve: Curve, p: Point) -> float:
    """Return where on a curve a point of it lies, as a share from 0 to 1."""
    if isinstance(curve, Segment):
        (x, y), (u, v) = curve.start, curve.end
        share = ((p[0] - x) * (u - x) + (p[1] - y) * (v - y)) / curve.length**2
    else:
        angle = math.atan2(p[1] - curve.center[1], p[0] - curve.center[0])
        turn = (angle - curve.start_angle) % math.tau
        sweep = curve.sweep
        gone = turn if sweep > 0.0 else (math.tau - turn) % math.tau
        share = gone / abs(sweep)
        if share > 1.0:  # a hair before the start reads as nearly a full turn
            share = 0.0 if math.tau - gone < gone - abs(sweep) else 1.0
    return min(1.0, max(0.0, share))


def sub_curve(curve: Curve, first: float, last: float) -> Curve:
    """Return the part of a curve between two shares of its length."""
    start, end = curve.point_at(first), curve.point_at(last)
    return Segment(start, end) if isinstance(curve, Segment) else Arc(start, end, curve.center, curve.ccw)


def _far_enough(piece: Curve, chain: Sequence[Curve], reach: float) -> Curve | None:
    """Return the piece when its middle keeps its distance; between two crossings it keeps it everywhere or nowhere."""
    return piece if point_to_chain(piece.point_at(0.5), chain) >= reach - NEARER_BY else None


def _strung(pieces: Sequence[Curve]) -> list[tuple[Curve, ...]]:
    """Return the pieces as chains, each continued by the piece that starts where it ends."""
    left = list(pieces)
    chains: list[tuple[Curve, ...]] = []
    while left:
        chain = [left.pop(0)]
        while True:
            here = chain[-1].end
            nearest = min(left, key=lambda c: distance(here, c.start), default=None)
            if nearest is None or distance(here, nearest.start) > JOINED:
                break
            left.remove(nearest)
            chain.append(nearest)
        chains.append(tuple(chain))
    return chains
