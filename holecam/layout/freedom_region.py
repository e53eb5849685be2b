"""The exact region of allowed shifts inside a window, as closed chains of lines and arcs.

Every border element is cut at its crossings with the others; a piece belongs to the border when its middle has no
margin, one side of it is allowed and the other is not. Pieces are joined to closed chains with the parts of the
window's edge between them. Nothing is approximated: the chains consist of the very arcs and lines that the limits draw.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holecam.layout.freedom_cells import Cell, LocalLimits, all_limits
from holecam.layout.freedom_elements import Elements, crossings_of, join
from holecam.layout.freedom_field import Freedom
from holecam.layout.freedom_roomiest import Window
from holecam.shapes import Arc, Curve, Outline, Point, Segment
from holecam.shapes.curve_arrays import Floats

Chain = tuple[Curve, ...]

CELLS_ACROSS = 16
"""The window is looked at in this many cells each way to find the elements that the border can consist of."""

ON_ELEMENT = 1e-7
"""mm. A crossing this near to an element cuts it; a middle with less margin than this lies on the border."""

BESIDE = 1e-5
"""mm. How far to both sides of a piece it is asked what is allowed; half the length of shorter pieces."""

SHORTEST = 1e-6
"""mm. Pieces shorter than this are left out; the chain closes across them."""

SAME_MIDDLE = 1e-6
"""mm. Pieces whose middles are this near are one: holes in a row along a straight edge draw the same border."""

JOINS_WITHIN = 1e-5
"""mm. Ends of pieces that are this near are one corner of the region."""


@dataclass(frozen=True, slots=True)
class FreedomRegion:
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
    elements = _relevant(limits, window)
    frame = _frame(window)
    cuts = _cuts(elements, frame)
    border = _border(limits, elements, cuts, window)
    allowed_edge, forbidden_edge = _window_edge(limits, frame, cuts)
    turned = [c.reversed() for c in border]
    return FreedomRegion(
        window,
        _chains([*border, *allowed_edge]),
        _chains([*turned, *forbidden_edge]),
        tuple(border),
    )


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


def _frame(window: Window) -> list[Segment]:
    x0, y0, x1, y1 = window
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return [Segment(corners[k], corners[(k + 1) % 4]) for k in range(4)]


def _cuts(elements: Elements, frame: list[Segment]) -> Floats:
    """Return every point at which an element, or the window's edge, is cut."""
    edges = np.array([(*s.start, *s.end) for s in frame])
    pieces = np.concatenate([elements.pieces, edges])
    ends = np.concatenate([pieces[:, :2], pieces[:, 2:]])
    return np.concatenate([crossings_of(Elements(elements.circles, pieces)), ends])


def _border(limits: LocalLimits, elements: Elements, cuts: Floats, window: Window) -> list[Curve]:
    """Return the pieces of elements that part allowed from forbidden, the allowed side on their left."""
    pieces: list[Curve] = []
    for x, y, r in elements.circles.tolist():
        pieces += _cut_circle((x, y), r, cuts)
    for x0, y0, x1, y1 in elements.pieces.tolist():
        pieces += _cut_piece((x0, y0), (x1, y1), cuts)
    pieces = [p for p in pieces if p.length > SHORTEST]
    if not pieces:
        return []
    middles = np.array([p.point_at(0.5) for p in pieces])
    ways = np.array([p.tangent_at(0.5) for p in pieces])
    beside = np.minimum(BESIDE, np.array([p.length for p in pieces]) / 2)[:, None]
    normals = np.stack([-ways[:, 1], ways[:, 0]], axis=1)
    on = np.abs(limits.margins(middles)) <= ON_ELEMENT
    x0, y0, x1, y1 = window
    on &= (middles[:, 0] >= x0) & (middles[:, 0] <= x1) & (middles[:, 1] >= y0) & (middles[:, 1] <= y1)
    left = limits.margins(middles + beside * normals) > 0.0
    right = limits.margins(middles - beside * normals) > 0.0
    kept: list[Curve] = []
    seen: set[tuple[int, int]] = set()
    for k in np.nonzero(on & (left != right))[0].tolist():
        x, y = middles[k].tolist()
        keys = {(round(x / SAME_MIDDLE + a), round(y / SAME_MIDDLE + b)) for a in (-0.25, 0.25) for b in (-0.25, 0.25)}
        if keys & seen:
            continue
        seen |= keys
        kept.append(pieces[k] if left[k] else pieces[k].reversed())
    return kept


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
    ways = np.unique(np.clip(along[on], 0.0, size))
    if len(ways):
        ways = ways[np.concatenate([[True], np.diff(ways) > ON_ELEMENT])]
    stations = [(start[0] + w * ux, start[1] + w * uy) for w in ways.tolist()]
    return [Segment(a, b) for a, b in pairwise(stations)]


def _window_edge(limits: LocalLimits, frame: list[Segment], cuts: Floats) -> tuple[list[Curve], list[Curve]]:
    """Return the parts of the window's edge, anticlockwise, that are allowed and those that are not."""
    pieces = [p for edge in frame for p in _cut_piece(edge.start, edge.end, cuts) if p.length > SHORTEST]
    open_ = limits.margins(np.array([p.point_at(0.5) for p in pieces])) >= 0.0
    return [p for p, o in zip(pieces, open_, strict=True) if o], [
        p for p, o in zip(pieces, open_, strict=True) if not o
    ]


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
