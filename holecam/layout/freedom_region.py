"""The exact region of allowed shifts inside a window, as closed chains of lines and arcs.

Every border element, and the window's edge, is cut at its crossings with the others; a piece bounds the allowed region
when one side of it is allowed and the other is forbidden or outside the window, and so for the forbidden region.
Nothing is approximated: the chains consist of the very arcs and lines that the limits draw. A passage of no width
counts as closed.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.layout.freedom_cells import Cell, LocalLimits, all_limits
from holecam.layout.freedom_elements import Elements, crossings_of, join
from holecam.layout.freedom_field import Freedom
from holecam.layout.freedom_roomiest import Window
from holecam.shapes import Arc, Curve, Outline, Point, Segment
from holecam.shapes.curve_arrays import Floats, distinct

Chain = tuple[Curve, ...]

CELLS_ACROSS = 16
"""The window is looked at in this many cells each way to find the elements that the border can consist of."""

ON_ELEMENT = 1e-7
"""mm. A crossing this near to an element cuts it."""

BESIDE = 1e-8
"""mm. How far to both sides of a piece it is asked what is allowed: well above arithmetic noise, and below the width of
the slivers between curves that nearly touch."""

SHORTEST = 1e-6
"""mm. Pieces shorter than this are left out; the chain closes across them."""

SAME_MIDDLE = 1e-6
"""mm. Pieces whose middles are this near are one: holes in a row along a straight edge draw the same border."""

JOINS_WITHIN = 1e-5
"""mm. Ends of pieces that are this near are one corner of the region."""


class FreedomRegion(Struct, frozen=True):
    """The allowed and the forbidden shifts inside a window, mm, to be filled by the even-odd rule.

    ``allowed`` chains run with the allowed side on their left, ``forbidden`` ones with the forbidden side on their
    left: islands run clockwise. ``border`` holds the pieces of the border alone, without the window's edge.
    """

    window: Window
    allowed: tuple[Chain, ...]
    forbidden: tuple[Chain, ...]
    border: tuple[Curve, ...]

    @property
    def allowed_area(self) -> float:
        """Area of the allowed shifts in the window, mm2, exact for arcs."""
        return sum(_signed_area(chain) for chain in self.allowed)

    @property
    def forbidden_area(self) -> float:
        """Area of the forbidden shifts in the window, mm2, exact for arcs."""
        return sum(_signed_area(chain) for chain in self.forbidden)

    @property
    def corners(self) -> int:
        """How many corners the border has inside the window: ends of its pieces, each once."""
        ends = [end for curve in self.border for end in (curve.start, curve.end)]
        found: list[Point] = []
        for end in ends:
            if all(math.dist(end, other) > JOINS_WITHIN for other in found):
                found.append(end)
        return len(found)


def region(freedom: Freedom, window: Window) -> FreedomRegion:
    """Return the exact region of allowed shifts inside a window.

    Parameters
    ----------
    freedom : Freedom
    window : Window
        (x least, y least, x greatest, y greatest) of shifts, mm.
    """
    limits = all_limits(freedom)
    pieces = _pieces(_relevant(limits, window), window)
    left, right = _sides(limits, pieces, window)
    allowed = _bounding(pieces, left > 0, right > 0)
    forbidden = _bounding(pieces, left < 0, right < 0)
    parting = (left * right < 0).tolist()
    border = [p if a > 0 else p.reversed() for p, a, parts in zip(pieces, left, parting, strict=True) if parts]
    return FreedomRegion(window, _chains(allowed), _chains(forbidden), tuple(_each_once(border)))


def _bounding(pieces: list[Curve], left: NDArray[np.bool_], right: NDArray[np.bool_]) -> list[Curve]:
    """Return the pieces that have an area on one side only, each once, travelled with it on the left."""
    return _each_once([p if a else p.reversed() for p, a, b in zip(pieces, left, right, strict=True) if a != b])


def _relevant(limits: LocalLimits, window: Window) -> Elements:
    """Return the elements of the cells that the border can run through."""
    x0, y0, x1, y1 = window
    half = max(x1 - x0, y1 - y0) / 2
    todo = [Cell((x0 + x1) / 2, (y0 + y1) / 2, half, limits)]
    found = []
    while todo:
        cell = todo.pop()
        values = cell.limits.at(cell.center)
        if abs(values.least) > cell.radius:
            continue
        local = cell.limits.below(values, cell.radius)
        if cell.half * CELLS_ACROSS > half:
            todo += cell.quarters(local)
        else:
            found.append(local.elements(cell.center, cell.radius))
    return join(found).distinct()


def _pieces(elements: Elements, window: Window) -> list[Curve]:
    """Return the elements and the window's edge, cut wherever two of them meet."""
    x0, y0, x1, y1 = window
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    edges = np.array([(*corners[k], *corners[(k + 1) % 4]) for k in range(4)])
    straight = np.concatenate([elements.pieces, edges])
    cuts = crossings_of(Elements(elements.circles, straight))
    cuts = np.concatenate([cuts, straight[:, :2], straight[:, 2:]])
    pieces: list[Curve] = []
    for x, y, r in elements.circles.tolist():
        pieces += _cut_circle((x, y), r, cuts)
    for ax, ay, bx, by in straight.tolist():
        pieces += _cut_piece((ax, ay), (bx, by), cuts)
    slack = ON_ELEMENT
    return [
        p
        for p in pieces
        if p.length > SHORTEST
        and x0 - slack <= p.point_at(0.5)[0] <= x1 + slack
        and y0 - slack <= p.point_at(0.5)[1] <= y1 + slack
    ]


def _each_once(pieces: list[Curve]) -> list[Curve]:
    """Return the pieces without those that lie on an earlier one."""
    kept: list[Curve] = []
    seen: set[tuple[int, int]] = set()
    for piece in pieces:
        x, y = piece.point_at(0.5)
        keys = {(round(x / SAME_MIDDLE + a), round(y / SAME_MIDDLE + b)) for a in (-0.25, 0.25) for b in (-0.25, 0.25)}
        if not keys & seen:
            seen |= keys
            kept.append(piece)
    return kept


def _sides(limits: LocalLimits, pieces: list[Curve], window: Window) -> tuple[Floats, Floats]:
    """Return what lies to the left and to the right of every piece: 1 allowed, -1 forbidden, 0 outside the window."""
    middles = np.array([p.point_at(0.5) for p in pieces])
    ways = np.array([p.tangent_at(0.5) for p in pieces])
    normals = BESIDE * np.stack([-ways[:, 1], ways[:, 0]], axis=1)
    low, high = np.array(window[:2]), np.array(window[2:])
    sides = []
    for points in (middles + normals, middles - normals):
        inside = ((points > low) & (points < high)).all(axis=1)
        sides.append(np.where(inside, np.where(limits.margins(points) > 0.0, 1.0, -1.0), 0.0))
    return sides[0], sides[1]


def _cut_circle(center: Point, radius: float, cuts: Floats) -> list[Curve]:
    dx, dy = cuts[:, 0] - center[0], cuts[:, 1] - center[1]
    on = np.abs(np.hypot(dx, dy) - radius) <= ON_ELEMENT
    angles = np.sort(np.arctan2(dy[on], dx[on]))
    if len(angles):
        angles = angles[np.concatenate([[True], np.diff(angles) * radius > ON_ELEMENT])]
        if len(angles) > 1 and (angles[0] + math.tau - angles[-1]) * radius <= ON_ELEMENT:
            angles = angles[:-1]
    if not len(angles):
        start = (center[0] + radius, center[1])
        return [Arc(start, start, center, ccw=True)]

    def at(angle: float) -> Point:
        return (center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle))

    ends = [at(a) for a in angles.tolist()]
    return [Arc(ends[k], ends[(k + 1) % len(ends)], center, ccw=True) for k in range(len(ends))]


def _cut_piece(start: Point, end: Point, cuts: Floats) -> list[Curve]:
    size = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
    dx, dy = cuts[:, 0] - start[0], cuts[:, 1] - start[1]
    along, off = dx * ux + dy * uy, dx * uy - dy * ux
    on = (np.abs(off) <= ON_ELEMENT) & (along >= -ON_ELEMENT) & (along <= size + ON_ELEMENT)
    ways = distinct(np.clip(along[on], 0.0, size))
    if len(ways):
        ways = ways[np.concatenate([[True], np.diff(ways) > ON_ELEMENT])]
    stations = [(start[0] + w * ux, start[1] + w * uy) for w in ways.tolist()]
    return [Segment(a, b) for a, b in pairwise(stations)]


def _chains(pieces: list[Curve]) -> tuple[Chain, ...]:
    """Return the pieces joined end to start into closed chains; of several ways on, the sharpest left turn."""
    left = list(pieces)
    chains: list[Chain] = []
    while left:
        chain = [left.pop()]
        while math.dist(chain[-1].end, chain[0].start) > JOINS_WITHIN:
            here = chain[-1]
            options = [k for k, c in enumerate(left) if math.dist(c.start, here.end) <= JOINS_WITHIN]
            if not options:
                break
            came = here.tangent_at(1.0)
            chain.append(left.pop(max(options, key=lambda k: _left_turn(came, left[k].tangent_at(0.0)))))
        chains.append(tuple(chain))
    return tuple(chains)


def _left_turn(came: Point, goes: Point) -> float:
    return math.atan2(came[0] * goes[1] - came[1] * goes[0], came[0] * goes[0] + came[1] * goes[1])


def _signed_area(chain: Chain) -> float:
    """Return the area of a closed chain; small gaps where pieces join count as straight."""
    joined: list[Curve] = []
    for here, after in zip(chain, (*chain[1:], chain[0]), strict=True):
        joined.append(here)
        if here.end != after.start:
            joined.append(Segment(here.end, after.start))
    return Outline(tuple(joined)).signed_area
