"""What keeps the cutter off: outlines, islands and kept curves as sources of distance, each with its own margin.

Travelled so that the free side lies on the left. The places at a distance from all of them are found on curves that
run beside each source: a line shifted, an arc grown or shrunk, an arc about each corner that points into the free
side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.elements import Elements, Flags, Floats, Indexes, concatenated, elements_of
from holecam.errors import InputError
from holecam.shapes import Curve, Outline

STRAIGHT_ON = 1e-7
"""Radians. A corner that turns by less is a smooth joint: its arc would be shorter than arithmetic can tell."""


class Walls(Struct, frozen=True, eq=False):
    """Sources of distance as columns.

    ``bodies`` are the lines and arcs; ``margin`` is what each keeps beside the distance asked for; ``both_sides``
    marks those that are kept away from on both sides (and then stand in the list once for each side). Corners are
    places with a margin; ``pointed`` marks the corners that own an arc, whose start angle and sweep are given.
    """

    bodies: Elements
    margin: Floats
    chain: Indexes
    corner_x: Floats
    corner_y: Floats
    corner_margin: Floats
    corner_chain: Indexes
    pointed: Flags
    corner_angle: Floats
    corner_sweep: Floats
    before: Indexes
    after: Indexes

    @property
    def sources(self) -> int:
        """Number of bodies and corners: bodies come first in every list of sources."""
        return len(self.bodies) + len(self.corner_x)


class WallChain(Struct, frozen=True):
    """A closed chain with its free side on the left, or an open one that is kept away from on both sides."""

    curves: tuple[Curve, ...]
    margin: float = 0.0
    closed: bool = True


def chains_of_region(outline: Outline, islands: Sequence[Outline]) -> list[WallChain]:
    """Return the chains of a pocket: outline anticlockwise, islands clockwise."""
    chains = [WallChain(outline.counterclockwise().curves)]
    chains += [WallChain(island.counterclockwise().reversed().curves) for island in islands]
    return chains


def walls_of(chains: Sequence[WallChain]) -> Walls:
    """Return chains as sources of distance.

    Raises
    ------
    InputError
        There is no chain, or a curve has no length.
    """
    if not chains:
        raise InputError("walls: expected at least one line or arc")
    parts: list[Elements] = []
    margins: list[Floats] = []
    names: list[Indexes] = []
    before: list[Indexes] = []
    after: list[Indexes] = []
    first = 0
    for number, chain in enumerate(chains):
        curves: tuple[Curve, ...] = tuple(c for c in chain.curves if c.length > 1e-9)
        if not curves:
            raise InputError("walls: a chain without length")
        if not chain.closed:  # there and back again: both sides are walked along, with a half turn at each end
            curves = curves + tuple(c.reversed() for c in reversed(curves))
        parts.append(elements_of(curves, closed=True))
        count = len(curves)
        own = np.arange(first, first + count, dtype=np.intp)
        margins.append(np.full(count, chain.margin))
        names.append(np.full(count, number, dtype=np.intp))
        before.append(own)
        after.append(np.roll(own, -1))
        first += count
    bodies = concatenated(parts)
    return _with_corners(
        bodies, np.concatenate(margins), np.concatenate(names), np.concatenate(before), np.concatenate(after)
    )


def _with_corners(bodies: Elements, margin: Floats, chain: Indexes, before: Indexes, after: Indexes) -> Walls:
    every = np.arange(len(bodies), dtype=np.intp)
    out_x, out_y = bodies.directions_at(every, np.ones(len(bodies)))
    in_x, in_y = bodies.directions_at(every, np.zeros(len(bodies)))
    ax, ay, bx, by = out_x[before], out_y[before], in_x[after], in_y[after]
    turn = np.arctan2(ax * by - ay * bx, ax * bx + ay * by)
    turn = _reversals_decided(bodies, turn, before, after, (ax, ay))
    return Walls(
        bodies,
        margin,
        chain,
        bodies.x0[after],
        bodies.y0[after],
        margin[after],
        chain[after],
        turn < -STRAIGHT_ON,
        np.arctan2(ax, -ay),
        turn,
        before,
        after,
    )


def _reversals_decided(
    bodies: Elements, turn: Floats, before: Indexes, after: Indexes, direction: tuple[Floats, Floats]
) -> Floats:
    """Return the turns with a sense for those of half a turn: to the right round the end of an open chain.

    Where a line and an arc meet in a cusp, the side on which the second one lies decides: on the left the walls close
    to a notch without an angle, on the right they are a spike.
    """
    rows = np.flatnonzero(np.abs(turn) > math.pi - STRAIGHT_ON).astype(np.intp)
    if not len(rows):
        return turn
    a, b = before[rows], after[rows]
    lengths = bodies.lengths
    step = 0.01 * np.minimum(lengths[a], lengths[b])
    ax, ay = bodies.points_at(a, 1.0 - step / lengths[a])
    bx, by = bodies.points_at(b, step / lengths[b])
    side = direction[0][rows] * (by - ay) - direction[1][rows] * (bx - ax)
    decided = turn.copy()
    decided[rows] = np.where(side > 1e-12, math.pi, -math.pi)
    return decided


def beside(walls: Walls, source: Indexes, low: Floats, high: Floats, distance: float) -> tuple[Elements, Flags]:
    """Return the curves at a distance on the free side of stretches of sources, and which of them exist.

    A source is a body by its row, or a corner by its row plus the number of bodies. An arc whose centre lies on the
    free side has no curve at its radius and beyond.
    """
    bodies, count = walls.bodies, len(walls.bodies)
    is_body = source < count
    body = np.where(is_body, source, 0)
    corner = np.where(is_body, 0, source - count)
    away = distance + np.where(is_body, walls.margin[body], walls.corner_margin[corner])
    straight = is_body & ~bodies.is_arc[body]
    x0, y0 = bodies.points_at(body, low)
    x1, y1 = bodies.points_at(body, high)
    dx, dy = bodies.x1[body] - bodies.x0[body], bodies.y1[body] - bodies.y0[body]
    size = np.hypot(dx, dy)
    size = np.where(straight & (size > 0.0), size, 1.0)
    nx, ny = -dy / size * away, dx / size * away
    angle = np.where(is_body, bodies.angle[body], walls.corner_angle[corner])
    sweep = np.where(is_body, bodies.sweep[body], walls.corner_sweep[corner])
    base = np.where(is_body, bodies.radius[body], 0.0)
    radius = np.where(straight, 0.0, base - np.sign(sweep) * away)
    cx = np.where(straight, 0.0, np.where(is_body, bodies.cx[body], walls.corner_x[corner]))
    cy = np.where(straight, 0.0, np.where(is_body, bodies.cy[body], walls.corner_y[corner]))
    a0, a1 = angle + low * sweep, angle + high * sweep
    made = Elements(
        ~straight,
        np.where(straight, x0 + nx, cx + radius * np.cos(a0)),
        np.where(straight, y0 + ny, cy + radius * np.sin(a0)),
        np.where(straight, x1 + nx, cx + radius * np.cos(a1)),
        np.where(straight, y1 + ny, cy + radius * np.sin(a1)),
        cx,
        cy,
        radius,
        np.where(straight, 0.0, a0),
        np.where(straight, 0.0, (high - low) * sweep),
    )
    return made, straight | (radius > 1e-9)
