"""Where holes come to lie, by the words of the documents alone: patterns, placements, rounding, fine polygons.

Patterns are points in a frame of their own; a placement is a rigid motion, perhaps mirrored. Several measured holes
are met by the weighted least-squares motion: with points p, q about their weighted means, ``turn = atan2(sum w p x
q, sum w p . q)`` (two-dimensional case of the orthogonal Procrustes problem). Two measured holes give the turn of
the line between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shop_figures import INCH, XY

Points = NDArray[np.float64]
"""Shape ``(n, 2)``, mm."""

Shape = Any
"""A shapely geometry (the library carries no types)."""

THREADS: dict[str, tuple[float, float]] = {
    **{f"{n}-{t}": ((0.060 + 0.013 * n) * INCH, INCH / t) for n, t in ((4, 40), (5, 40), (6, 32), (8, 32), (10, 24))},
    "1/4-20": (6.35, INCH / 20),
    **{f"M{d}": (float(d), p) for d, p in ((3, 0.5), (4, 0.7), (5, 0.8), (6, 1.0), (8, 1.25))},
}
"""Major diameter and pitch, mm (ASME B1.1: number n is 0.060 in + n 0.013 in; ISO 261)."""


def turned(points: Sequence[XY] | Points, degrees: float) -> Points:
    """Return points turned about the origin."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return np.column_stack([c * p[:, 0] - s * p[:, 1], s * p[:, 0] + c * p[:, 1]]).astype(np.float64)


def arc(centre: XY, radius: float, begin: float, end: float) -> Points:
    """Return points of an arc between two angles in radians; its chords leave it by at most a nanometre or two."""
    step = 2.0 * math.acos(1.0 - 1e-6 / max(radius, 1e-3))
    turns = np.linspace(begin, end, min(max(8, int(abs(end - begin) / step) + 2), 20001))
    return np.column_stack([centre[0] + radius * np.cos(turns), centre[1] + radius * np.sin(turns)]).astype(np.float64)


def line_pattern(count: int, pitch: float) -> Points:
    """Return ``count`` points along X."""
    return np.column_stack([np.arange(count) * pitch, np.zeros(count)]).astype(np.float64)


def grid_pattern(columns: int, rows: int, pitch: XY, *, staggered: bool, short_rows: bool) -> Points:
    """Return the points of a grid, row by row; every second row shifted by half a pitch, and one shorter if told so."""
    points = []
    for row in range(rows):
        odd = staggered and row % 2 == 1
        count = columns - (1 if odd and short_rows else 0)
        points += [(i * pitch[0] + (pitch[0] / 2 if odd else 0.0), row * pitch[1]) for i in range(count)]
    return np.array(points)


def circle_pattern(count: int, diameter: float, first_deg: float, span_deg: float, *, clockwise: bool) -> Points:
    """Return points of a hole circle; a span below a full turn has a hole at both of its ends."""
    step = span_deg / count if span_deg == 360 else span_deg / (count - 1)
    turns = np.radians(first_deg + np.arange(count) * step * (-1.0 if clockwise else 1.0))
    return diameter / 2 * np.column_stack([np.cos(turns), np.sin(turns)]).astype(np.float64)


def arc_pattern(count: int, radius: float, from_deg: float, to_deg: float) -> Points:
    """Return points of an arc, one at each end."""
    turns = np.radians(np.linspace(from_deg, to_deg, count))
    return radius * np.column_stack([np.cos(turns), np.sin(turns)]).astype(np.float64)


@dataclass(frozen=True)
class Place:
    """How a pattern is placed; which fields are used is told by ``way``: given, at, centre, measured, moved."""

    way: str = "given"
    at: XY = (0.0, 0.0)
    turn_deg: float = 0.0
    hole: int = 1
    mirrored: bool = False
    pivot: XY = (0.0, 0.0)
    measured: tuple[tuple[int, XY], ...] = ()
    half_widths: tuple[float, ...] = ()
    """Doubt of each measured hole, half the width of an even distribution, mm; none where nothing was told."""
    weighted: bool = False
    moved: Points | None = None
    """The old holes that a pattern is moved from."""
    flip: str = ""
    about: XY | None = None
    about_hole: int = 1

    @property
    def reference(self) -> int:
        """The hole, counted from 1, that the plan tells the place of."""
        if self.way == "measured":
            return self.measured[0][0]
        return self.about_hole if self.way == "moved" and self.about is None else self.hole

    def with_readings(self, readings: Points) -> Place:
        """Return the same place with other readings of its measured holes."""
        told = tuple((hole, (float(q[0]), float(q[1]))) for (hole, _), q in zip(self.measured, readings, strict=True))
        return Place(way="measured", mirrored=self.mirrored, measured=told, half_widths=self.half_widths,
                     weighted=self.weighted)  # fmt: skip


def placed(points: Points, place: Place) -> Points:
    """Return where the points of a pattern come to lie in the part."""
    p = np.array(points, dtype=np.float64)
    if place.way == "given":
        return p
    if place.way == "moved":
        assert place.moved is not None
        p = np.array(place.moved, dtype=np.float64)
        pivot = p[place.about_hole - 1].copy() if place.about is None else np.array(place.about)
        p -= pivot
        if place.flip:
            p[:, "xy".index(place.flip)] *= -1.0
        return _shifted(turned(p, place.turn_deg), pivot + np.array(place.at))
    if place.way == "centre":
        p -= np.array(place.pivot)
    if place.mirrored:
        p[:, 1] *= -1.0
    if place.way == "centre":
        return _shifted(turned(p, place.turn_deg), np.array(place.at))
    if place.way == "at":
        p = turned(p, place.turn_deg)
        return _shifted(p, np.array(place.at) - p[place.hole - 1])
    return _best_fit(p, place)


def _shifted(points: Points, shift: Any) -> Points:
    moved: Points = points + shift
    return moved


def _best_fit(p: Points, place: Place) -> Points:
    index = [hole - 1 for hole, _ in place.measured]
    q = np.array([at for _, at in place.measured], dtype=np.float64)
    weight = np.ones(len(index))
    if place.weighted and len(index) > 2:
        weight = 1.0 / np.array(place.half_widths) ** 2
    weight /= weight.sum()
    own = p[index]
    if len(index) == 2:
        weight = np.array([0.5, 0.5])
        (ox, oy), (qx, qy) = own[1] - own[0], q[1] - q[0]
        turn = math.atan2(qy, qx) - math.atan2(oy, ox)
    else:
        a, b = own - weight @ own, q - weight @ q
        crossed = float((weight * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])).sum())
        turn = math.atan2(crossed, float((weight * (a * b).sum(axis=1)).sum()))
    return _shifted(turned(p - weight @ own, math.degrees(turn)), weight @ q)


def shown(value: float, step: Fraction) -> Fraction:
    """Return a length rounded to a step, half away from nought; below a nanometre nothing is known."""
    counts = Fraction(round(Fraction(value) * 10**9), 10**9) / step
    whole = (2 * abs(counts.numerator) + counts.denominator) // (2 * counts.denominator)
    return (-whole if counts < 0 else whole) * step


@dataclass(frozen=True)
class OldHole:
    """A hole that is there already, in the part frame; ``shy`` is how much smaller its plug may be, mm."""

    xy: XY
    radius: float
    filling: str
    """open, solid, held or loose."""
    shy: float


@dataclass(frozen=True)
class KeepOut:
    """A place that holes keep away from: a closed shape, or the line of a bend with its radius as half width."""

    shape: Shape
    closed: bool
    half_width: float = 0.0
    margin: float | None = None


@dataclass
class Part:
    """A part and what is known of it; lengths in mm."""

    kind: str
    thickness: float
    metal_class: str
    family: str
    outline: Shape
    openings: list[Shape] = field(default_factory=list)
    keep_outs: list[KeepOut] = field(default_factory=list)
    old_holes: list[OldHole] = field(default_factory=list)

    @property
    def shape_doubt(self) -> float:
        """How far the polygon may lie from the drawn curve, mm: a spline is sampled, all else is arcs and lines."""
        return 0.006 if self.kind == "spline" else 2e-5
