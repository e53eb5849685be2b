"""Chain loose lines and arcs of a drawing into closed outlines and open lines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Point, Segment, distance

JOIN = 1e-7
"""mm. Ends nearer than this need no bridge: noise of arithmetic, below what :class:`~holecam.shapes.Outline` allows."""


class Chains(Struct, frozen=True):
    """What loose curves make together."""

    outlines: tuple[Outline, ...]
    """Closed ones, as they were drawn; largest first."""
    paths: tuple[tuple[Curve, ...], ...]
    """Open ones."""
    bridged: float
    """Greatest gap that was bridged, mm."""
    doubled: int
    """Curves that were drawn twice; one of each was dropped."""
    dropped: int
    """Curves shorter than noise that were dropped."""


def chained(curves: Iterable[Curve], *, gap: float) -> Chains:
    """Return the chains that curves make when ends within ``gap`` are taken as one.

    A gap is closed by moving the end of a straight line, or between two arcs by a short straight bridge: an arc is
    never bent.

    Raises
    ------
    InputError
        More than two ends meet at one place, so that it is open where the line goes on.
    """
    everything = list(curves)
    whole = [c for c in everything if c.length > JOIN]
    kept, doubled = _once(whole)
    closed = [c for c in kept if isinstance(c, Arc) and distance(c.start, c.end) <= JOIN]
    loose = [c for c in kept if not (isinstance(c, Arc) and distance(c.start, c.end) <= JOIN)]
    partner = _partners(loose, gap)
    outlines: list[Outline] = [Outline((c,)) for c in closed]
    paths: list[tuple[Curve, ...]] = []
    bridged = 0.0
    for chain, is_closed in _walks(loose, partner):
        joined, gap_found = _bridged(chain, closed=is_closed)
        bridged = max(bridged, gap_found)
        if is_closed:
            outlines.append(Outline(tuple(joined)))
        else:
            paths.append(tuple(joined))
    outlines.sort(key=lambda o: -o.area)
    return Chains(tuple(outlines), tuple(paths), bridged, doubled, len(everything) - len(whole))


def _rounded_key(p: Point) -> tuple[int, int]:
    return (round(p[0] / 1e-6), round(p[1] / 1e-6))


def _once(curves: list[Curve]) -> tuple[list[Curve], int]:
    """Return the curves without those that lie on an equal one, drawn the same or the other way."""
    seen: set[tuple[object, ...]] = set()
    kept: list[Curve] = []
    for curve in curves:
        a, b = _rounded_key(curve.start), _rounded_key(curve.end)
        ways: tuple[tuple[object, ...], tuple[object, ...]]
        if isinstance(curve, Segment):
            ways = ((a, b), (b, a))
        elif a == b:
            full = (_rounded_key(curve.center), round(curve.radius / 1e-6))
            ways = (full, full)
        else:
            centre = _rounded_key(curve.center)
            ways = ((a, b, centre, curve.ccw), (b, a, centre, not curve.ccw))
        if ways[0] in seen or ways[1] in seen:
            continue
        seen.add(ways[0])
        kept.append(curve)
    return kept, len(curves) - len(kept)


End = tuple[int, int]
"""(number of a curve, 0 for its start or 1 for its end)."""


def _at(curves: Sequence[Curve], end: End) -> Point:
    return curves[end[0]].end if end[1] else curves[end[0]].start


def _partners(curves: Sequence[Curve], gap: float) -> dict[End, End]:
    """Return which end goes on with which."""
    cell = max(gap, JOIN)
    cells: dict[tuple[int, int], list[End]] = {}
    ends: list[End] = [(n, side) for n in range(len(curves)) for side in (0, 1)]
    for end in ends:
        x, y = _at(curves, end)
        cells.setdefault((math.floor(x / cell), math.floor(y / cell)), []).append(end)
    partner: dict[End, End] = {}
    for end in ends:
        here = _at(curves, end)
        column, row = math.floor(here[0] / cell), math.floor(here[1] / cell)
        near = [
            other
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
            for other in cells.get((column + i, row + j), ())
            if other != end and distance(here, _at(curves, other)) <= cell
        ]
        if len(near) > 1:
            raise InputError(
                f"drawing: expected at most two ends at one place, found {len(near) + 1} at "
                f"{here[0]:.4f}, {here[1]:.4f} mm. Put the outline on a layer of its own and name that layer."
            )
        if near:
            partner[end] = near[0]
    return partner


def _walks(curves: Sequence[Curve], partner: dict[End, End]) -> list[tuple[list[Curve], bool]]:
    """Return the chains in the order of travel, each with whether it is closed."""
    used = [False] * len(curves)
    walks: list[tuple[list[Curve], bool]] = []

    def walk(first: int, *, backwards: bool) -> tuple[list[Curve], bool]:
        chain: list[Curve] = []
        number, side = first, 1 if backwards else 0  # the side that is entered
        while True:
            used[number] = True
            chain.append(curves[number].reversed() if side else curves[number])
            onward = partner.get((number, 1 - side))
            if onward is None:
                return chain, False
            number, side = onward
            if used[number]:
                return chain, number == first

    for n in range(len(curves)):  # open chains first, from the ends that have no partner
        for side in (0, 1):
            if not used[n] and (n, side) not in partner:
                walks.append(walk(n, backwards=side == 1))
    for n in range(len(curves)):
        if not used[n]:
            walks.append(walk(n, backwards=False))
    return walks


def _bridged(chain: list[Curve], *, closed: bool) -> tuple[list[Curve], float]:
    """Return the chain without gaps, and the greatest gap that it had."""
    curves = list(chain)
    greatest = 0.0
    joints = range(len(curves)) if closed else range(len(curves) - 1)
    bridges: dict[int, Segment] = {}
    for i in joints:
        j = (i + 1) % len(curves)
        before, after = curves[i], curves[j]
        gap = distance(before.end, after.start)
        greatest = max(greatest, gap)
        if gap == 0.0:
            continue
        if isinstance(after, Segment) and distance(before.end, after.end) > JOIN:
            curves[j] = Segment(before.end, after.end)
        elif isinstance(before, Segment) and distance(before.start, after.start) > JOIN:
            curves[i] = Segment(before.start, after.start)
        elif gap > JOIN:
            bridges[i] = Segment(before.end, after.start)
    out: list[Curve] = []
    for i, curve in enumerate(curves):
        out.append(curve)
        if i in bridges:
            out.append(bridges[i])
    return out, greatest
