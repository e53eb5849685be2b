"""One hole held and the pattern turning about it: the angles at which every limit holds, in closed form.

A hole at the distance L from the pivot runs on a circle. Against an obstacle d from the pivot that it has to keep s
away from, it is blocked within ``acos((L^2 + d^2 - s^2) / (2 L d))`` to both sides of the obstacle's direction. Against
an edge its state changes only where that circle meets a border element of the edge.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.freedom_elements import Elements, area_elements
from holecam.layout.freedom_field import AreaLimits, Binding, DiscLimits, Freedom
from holecam.layout.freedom_lines import binding_of, free_between
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.shapes import Arc, Point, cos_sin_deg
from holecam.shapes.curve_arrays import Floats, Indexes, distinct
from holecam.shapes.distances import circle_circle, line_circle

AT_PIVOT = 1e-9
"""mm. A hole this near to the pivot does not move when the pattern turns."""


class FreeTurn(Struct, frozen=True):
    """A range of turns at which every limit holds, degrees, anticlockwise; what the pattern meets at each end."""

    low_deg: float
    high_deg: float
    low_binding: Binding | None
    high_binding: Binding | None

    def holds(self, turn_deg: float) -> bool:
        """Return whether a turn lies in it."""
        return self.low_deg <= turn_deg <= self.high_deg


class TurnFreedom(Struct, frozen=True):
    """What is free when the pattern turns about ``pivot`` (part frame), from -180 to 180 degrees.

    A range that runs on over 180 degrees appears as two, without a binding where it was cut.
    """

    pivot: Point
    free: tuple[FreeTurn, ...]

    def allowed(self, turn_deg: float) -> bool:
        """Return whether every limit holds at a turn between -180 and 180 degrees."""
        return any(i.holds(turn_deg) for i in self.free)

    def nearest(self, wish_deg: float = 0.0) -> float | None:
        """Return the allowed turn nearest to a wished one, degrees; ``None`` when every turn is blocked."""
        turns = [min(max(wish_deg, i.low_deg), i.high_deg) for i in self.free]
        return min(turns, key=lambda turn: (abs(turn - wish_deg), -turn), default=None)


def turned(freedom: Freedom, turn_deg: float, pivot: Point) -> Freedom:
    """Return the freedom of the pattern turned about a point, degrees anticlockwise; before any shift."""
    c, s = cos_sin_deg(turn_deg)
    dx, dy = freedom.xy[:, 0] - pivot[0], freedom.xy[:, 1] - pivot[1]
    return freedom.moved_to(np.stack([pivot[0] + c * dx - s * dy, pivot[1] + s * dx + c * dy], axis=1))


def free_turns(freedom: Freedom, pivot: Point) -> TurnFreedom:
    """Return the turns of the pattern about a fixed point at which every limit holds, exact.

    Parameters
    ----------
    freedom : Freedom
        The pattern in its place (use ``moved_to`` for another one).
    pivot : Point
        The held hole's centre, part frame, mm.

    Raises
    ------
    InputError
        The pivot is not finite.
    """
    if not (math.isfinite(pivot[0]) and math.isfinite(pivot[1])):
        raise InputError(f"pivot {pivot}: expected finite lengths")
    parts = [_disc_blocks(freedom, freedom.discs, pivot)]
    first = len(freedom.discs)
    for area in freedom.areas:
        parts.append(_area_blocks(freedom, area, pivot, first))
        first += len(area.site)
    lows, highs = np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])
    owners = np.concatenate([p[2] for p in parts]).astype(np.intp)
    free = free_between(*_unrolled(lows, highs, owners), low=-math.pi, high=math.pi)
    return TurnFreedom(
        pivot,
        tuple(
            FreeTurn(math.degrees(low), math.degrees(high), _at(freedom, a, low, pivot), _at(freedom, b, high, pivot))
            for low, high, a, b in free
        ),
    )


def _at(freedom: Freedom, owner: int, turn: float, pivot: Point) -> Binding | None:
    if owner < 0:
        return None
    return binding_of(turned(freedom, math.degrees(turn), pivot), owner, (0.0, 0.0))


def _unrolled(lows: Floats, highs: Floats, owners: Indexes) -> tuple[Floats, Floats, Indexes]:
    """Return blocked angles (radians, high above low by at most a full turn) as intervals within -pi to pi."""
    base = (lows + math.pi) % math.tau - math.pi
    top = base + (highs - lows)
    over = top > math.pi
    return (
        np.concatenate([base, np.full(int(over.sum()), -math.pi - 1.0)]),
        np.concatenate([top, top[over] - math.tau]),
        np.concatenate([owners, owners[over]]),
    )


def _arms(freedom: Freedom, site: Indexes, pivot: Point) -> tuple[Floats, Floats]:
    """Return the distance from the pivot, mm, and the direction, radians, of holes."""
    dx, dy = freedom.xy[site, 0] - pivot[0], freedom.xy[site, 1] - pivot[1]
    return np.hypot(dx, dy), np.arctan2(dy, dx)


def _half_angle(arm: Floats, away: Floats, keep: Floats) -> Floats:
    """Return the angle within which a hole comes nearer than ``keep``: 0 for never, pi for always.

    The cosine rule in half angles, which loses no digits at grazing contact:
    tan^2(angle / 2) = (keep^2 - (arm - away)^2) / ((arm + away)^2 - keep^2).
    """
    over = np.maximum((keep - (arm - away)) * (keep + (arm - away)), 0.0)
    under = np.maximum((arm + away - keep) * (arm + away + keep), 0.0)
    return np.asarray(2.0 * np.arctan2(np.sqrt(over), np.sqrt(under)), dtype=np.float64)


def _disc_blocks(freedom: Freedom, d: DiscLimits, pivot: Point) -> tuple[Floats, Floats, Indexes]:
    arm, direction = _arms(freedom, d.site, pivot)
    away = np.hypot(d.x - pivot[0], d.y - pivot[1])
    middle = np.arctan2(d.y - pivot[1], d.x - pivot[0]) - direction
    keep = np.maximum(d.outer - ARITHMETIC_NOISE, 0.0)
    still = (arm <= AT_PIVOT) | (away <= AT_PIVOT)
    gap = np.abs(arm - away)
    outer = np.where(still, np.where(gap < keep, math.pi, 0.0), _half_angle(arm, away, keep))
    inside = np.maximum(d.inner, 0.0)
    inner = np.where(still, np.where(gap <= d.inner, math.pi, 0.0), _half_angle(arm, away, inside))
    inner = np.where(d.inner > 0.0, inner, 0.0)
    owner = np.arange(len(d), dtype=np.intp)
    whole, split = (outer > 0.0) & (inner == 0.0), (inner > 0.0) & (outer > inner)
    lows = [(middle - outer)[whole], (middle - outer)[split], (middle + inner)[split]]
    highs = [(middle + outer)[whole], (middle - inner)[split], (middle + outer)[split]]
    return np.concatenate(lows), np.concatenate(highs), np.concatenate([owner[whole], owner[split], owner[split]])


def _area_blocks(freedom: Freedom, area: AreaLimits, pivot: Point, first: int) -> tuple[Floats, Floats, Indexes]:
    arms, directions = _arms(freedom, area.site, pivot)
    in_part_frame = freedom.moved_to(np.zeros_like(freedom.xy))
    lows: list[float] = []
    highs: list[float] = []
    owners: list[int] = []
    for row, (arm, direction) in enumerate(zip(arms.tolist(), directions.tolist(), strict=True)):
        stations = np.zeros(1)
        if arm > AT_PIVOT:
            border = area_elements(in_part_frame, area.take(np.array([row])))
            met = _meetings(border, area, pivot, arm)
            turns = [(math.atan2(y - pivot[1], x - pivot[0]) - direction) % math.tau for x, y in met]
            stations = distinct(np.array(turns)) if turns else stations
        ends = np.concatenate([stations, [stations[0] + math.tau]])
        samples = (ends[1:] + ends[:-1]) / 2 + direction
        points = np.stack([pivot[0] + arm * np.cos(samples), pivot[1] + arm * np.sin(samples)], axis=1)
        blocked = area.boundary.breaks(points, float(area.need[row]))
        lows += ends[:-1][blocked].tolist()
        highs += ends[1:][blocked].tolist()
        owners += [first + row] * int(blocked.sum())
    return np.array(lows), np.array(highs), np.array(owners, dtype=np.intp)


def _meetings(border: Elements, area: AreaLimits, pivot: Point, arm: float) -> list[Point]:
    """Return where the path of a hole meets the border elements of an edge, and the edge itself."""
    met: list[Point] = []
    for x, y, r in border.circles.tolist():
        met += circle_circle(pivot, arm, (x, y), r)
    for x0, y0, x1, y1 in border.pieces.tolist():
        met += line_circle((x0, y0), (x1, y1), pivot, arm)
    for curve in area.boundary.curves:
        if isinstance(curve, Arc):
            met += circle_circle(pivot, arm, curve.center, curve.radius)
        else:
            met += line_circle(curve.start, curve.end, pivot, arm)
    return met
