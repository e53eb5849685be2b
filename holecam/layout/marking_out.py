"""Mark out a correction: a table to scribe the drawn outline on the piece as made, and what comes off at each station.

Heights are square distances from two datum edges, as a height gauge reads them when the piece stands on that edge.
Turned over on the same edge every height stays; left and right change places, so the table for the back is written
out and not left to the reader. Out of the drawn outline counts as plus: there metal or wood comes off; minus means
that it is missing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum
from functools import cached_property
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.layout.marking_out_alignment import HeldEdge, HeldTogether, edge_of, hold_together
from holecam.layout.marking_out_regions import ON_EDGE, Strip, beyond, share_of, total_area
from holecam.shapes import Arc, Curve, Outline, Point, Segment, distance
from holecam.shapes.distances import crossings

SMOOTH_DEG = 0.1
"""Degrees. Curves that meet at less than this run into each other: the point is a tangent point, not a corner."""

PARALLEL_DEG = 1.0
"""Degrees. Two datum edges nearer to parallel than this cannot place a point."""

GRAZING = 0.2
"""Cosine between the edge's normal and the direction of the station line below which the edge runs along that line."""

BESIDE_CORNER = 1e-3
"""mm. How far beside a corner the distance square to an edge is taken."""

MOST_STATIONS = 1000
"""More stations than this are refused: the spacing is in the wrong unit."""


LOOKS_AN_EDGE = 64
"""Places between the ends of each drawn edge at which the most that comes off is looked for, besides those square to
which a corner of the piece as made lies: along an arc of half a turn one every 3 degrees, so that the figure is right
to 0.1 percent of itself."""

HIGHER_THAN_SEEN = 4.0
"""A corner of the piece as made is no peak where it lies more than so many times further off than all that was seen."""


class MarkKind(StrEnum):
    """What a marked point is."""

    CORNER = "corner"
    TANGENT_POINT = "tangent point"
    ARC_CENTRE = "arc centre"


class MarkPoint(Struct, frozen=True):
    """One point to scribe or to set a compass in.

    ``edge`` is the number of the drawn edge that starts there (or whose centre it is). ``view`` is where the point
    lies in the view of this side, mm; ``from_a`` and ``from_b`` the heights. ``radius`` belongs to a centre;
    ``angle_deg`` is the direction of the edge that leaves the point, from datum edge A, ``turn_deg`` how much the
    outline turns there. ``off_before`` and ``off_after`` are what comes off square to the edge that ends there and to
    the one that leaves, ``None`` for a centre.
    """

    edge: int
    kind: MarkKind
    view: Point
    from_a: float
    from_b: float
    radius: float | None = None
    angle_deg: float | None = None
    turn_deg: float | None = None
    off_before: float | None = None
    off_after: float | None = None


class MarkEdge(Struct, frozen=True):
    """One edge of the drawn outline: length, and for a line its angle from datum edge A (0 to 180), for an arc its
    radius.

    ``hollow``: an arc that bends into the piece.
    """

    edge: int
    length: float
    angle_deg: float | None
    radius: float | None
    hollow: bool = False


class Station(Struct, frozen=True):
    """The drawn outline where a station line crosses it.

    ``position`` counts from the least end of the drawn outline along the stations' direction. ``off_square`` is what
    comes off square to the edge, ``off_along`` along the station line; below zero it is missing, ``None`` where the
    line meets nothing or runs along the edge.
    """

    position: float
    view: Point
    from_a: float
    from_b: float
    off_square: float | None
    off_along: float | None


class MarkingTable(Struct, frozen=True):
    """The table for one side of the piece."""

    side: Literal["face", "back"]
    points: tuple[MarkPoint, ...]
    edges: tuple[MarkEdge, ...]
    stations: tuple[Station, ...]


class MarkingOut(Struct, frozen=True, dict=True):
    """The correction of one outline, everything in the frame of the drawing.

    ``made`` is the outline as made, laid on the drawn one. ``datum_a`` and ``datum_b`` are the lines that heights
    count from (B stands square on A where no second edge was good). ``remove`` and ``missing`` are closed regions,
    largest first.
    """

    drawn: Outline
    made: Outline
    held: HeldTogether
    datum_a: Segment
    datum_b: Segment
    face: MarkingTable
    back: MarkingTable
    remove: tuple[Strip, ...]
    missing: tuple[Strip, ...]
    within: float

    @property
    def remove_area(self) -> float:
        """Area that comes off, mm2."""
        return total_area(self.remove)

    @property
    def missing_area(self) -> float:
        """Area that is missing, mm2."""
        return total_area(self.missing)

    @property
    def most_off(self) -> float:
        """The most that comes off square to the drawn edge, looked at closely all round, mm; 0 where nothing does."""
        seen = [0.0, *self._offs]
        peaks = self._peaks(HIGHER_THAN_SEEN * max(map(abs, seen)))
        return max(seen + [v for v in peaks if v is not None])

    @property
    def most_missing(self) -> float:
        """How far the drawn edge lies from the piece at most, mm; 0 where nothing is missing.

        Not square to the edge: near a corner that way may run along the whole of a narrow strip that is missing.
        """

        def short(curve: Curve, share: float) -> float:
            p = curve.point_at(share)
            return 0.0 if self.made.contains(p) else self.made.distance_to(p)

        looks = [(curve, k / LOOKS_AN_EDGE) for curve in self.drawn.curves for k in range(LOOKS_AN_EDGE)]
        curve, at = max(looks, key=lambda look: short(*look))
        step = 1.0 / LOOKS_AN_EDGE
        while step * curve.length > BESIDE_CORNER:  # closer and closer about the best of them
            near = (at, max(0.0, at - step), min(1.0, at + step))
            at = max(near, key=lambda share: short(curve, share))
            step *= 0.6
        return short(curve, at)

    @cached_property
    def _offs(self) -> list[float]:
        offs = [s.off_square for s in self.face.stations]
        offs += [v for p in self.face.points for v in (p.off_before, p.off_after)]
        # The worst place may lie between the stations: at the tip of a nose, where two stations are far apart
        for curve in self.drawn.curves:
            shares = [k / LOOKS_AN_EDGE for k in range(1, LOOKS_AN_EDGE)]
            offs += [comes_off(curve.point_at(s), _outward(curve, s), self.made) for s in shares]
        return [v for v in offs if v is not None]

    def _peaks(self, furthest: float) -> list[float | None]:
        """Return what comes off where it may be most between the looks, right beside each such place.

        It grows up to where a corner of the piece as made lies square to the edge, no further off than told, and
        shrinks beyond it; and it leaps where the two outlines cross.
        """
        offs = []
        for curve in self.drawn.curves:
            corners = (c.start for c in self.made.curves)
            places = [p for p in corners if distance(p, curve.nearest(p)) <= furthest]
            places += [p for c in self.made.curves for p in crossings(curve, c)]
            hair = min(0.5, BESIDE_CORNER / curve.length)
            for at in (share_of(curve, p) for p in places):
                # straight through a corner a ray may pass both of its edges
                for share in (at - hair, at + hair):
                    if 0.0 < share < 1.0:
                        offs.append(comes_off(curve.point_at(share), _outward(curve, share), self.made))
        return offs


def height(line: Segment, p: Point) -> float:
    """Return the square distance of a point from a line, mm, plus on its left."""
    ux, uy = line.tangent_at(0.0)
    return ux * (p[1] - line.start[1]) - uy * (p[0] - line.start[0])


def _direction(v: Point) -> float:
    return math.degrees(math.atan2(v[1], v[0]))


def _from(line: Segment, v: Point) -> float:
    """Return the angle of a direction from a line, degrees, -180 to 180."""
    return math.remainder(_direction(v) - _direction(line.tangent_at(0.0)), 360.0)


def datum_edges(drawn: Outline, numbers: Sequence[int]) -> tuple[Segment, Segment]:
    """Return two datum lines from edges of the drawn outline: the first straight one, and the next not parallel to it.

    Where there is no second, B stands square on A at its start.

    Raises
    ------
    InputError
        None of the edges is straight.
    """
    lines = [c for c in (edge_of(drawn, n, "drawn") for n in numbers) if isinstance(c, Segment)]
    if not lines:
        raise InputError("marking out: heights need a straight good edge to stand on; none of the held edges is a line")
    first = lines[0]
    for other in lines[1:]:
        angle = abs(_from(first, other.tangent_at(0.0)))
        if PARALLEL_DEG < angle < 180.0 - PARALLEL_DEG:
            return first, other
    (x, y), (ux, uy) = first.start, first.tangent_at(0.0)
    size = first.length
    # Runs down to A's start, so that the piece lies on its left
    return first, Segment((x - uy * size, y + ux * size), (x, y))


def ray(start: Point, way: Point, outline: Outline) -> float | None:
    """Return the distance from a point along a unit vector to the outline, mm, or ``None`` if it is never met."""
    x0, y0, x1, y1 = outline.bounds
    reach = math.hypot(x1 - x0, y1 - y0) + math.hypot(start[0] - (x0 + x1) / 2, start[1] - (y0 + y1) / 2) + 1.0
    line = Segment(start, (start[0] + reach * way[0], start[1] + reach * way[1]))
    hits = [distance(start, p) for c in outline.curves for p in crossings(line, c)]
    return min(hits, default=None)


def comes_off(p: Point, way: Point, made: Outline) -> float | None:
    """Return how far the piece as made reaches beyond a point of the drawn outline along its outward way, mm.

    Below zero it falls short. ``None`` when it is not met at all.
    """
    if made.distance_to(p) <= ON_EDGE:
        return 0.0
    if made.contains(p):
        return ray(p, way, made)
    short = ray(p, (-way[0], -way[1]), made)
    return None if short is None else -short


def _outward(curve: Curve, share: float) -> Point:
    ux, uy = curve.tangent_at(share)
    return (uy, -ux)


class _Work(Struct, frozen=True):
    drawn: Outline
    made: Outline
    a: Segment
    b: Segment
    numbers: tuple[int, ...]

    def points(self) -> list[MarkPoint]:
        """Return corners, tangent points and centres in the order of the outline."""
        marks: list[MarkPoint] = []
        curves = self.drawn.curves
        for k, before, curve in zip(self.numbers, (curves[-1], *curves[:-1]), curves, strict=True):
            turn = math.remainder(_direction(curve.tangent_at(0.0)) - _direction(before.tangent_at(1.0)), 360.0)
            smooth = abs(turn) <= SMOOTH_DEG
            p = curve.start
            marks.append(
                MarkPoint(
                    edge=k,
                    kind=MarkKind.TANGENT_POINT if smooth else MarkKind.CORNER,
                    view=p,
                    from_a=height(self.a, p),
                    from_b=height(self.b, p),
                    angle_deg=_from(self.a, curve.tangent_at(0.0)),
                    turn_deg=turn,
                    off_before=self._beside(before, at_end=True),
                    off_after=self._beside(curve, at_end=False),
                )
            )
            if isinstance(curve, Arc):
                c = curve.center
                marks.append(
                    MarkPoint(k, MarkKind.ARC_CENTRE, c, height(self.a, c), height(self.b, c), radius=curve.radius)
                )
        return marks

    def _beside(self, curve: Curve, *, at_end: bool) -> float | None:
        """Return what comes off square to an edge right beside one of its ends; at a corner it has no meaning."""
        step = min(0.5, BESIDE_CORNER / curve.length)
        share = 1.0 - step if at_end else step
        return comes_off(curve.point_at(share), _outward(curve, share), self.made)

    def edges(self) -> list[MarkEdge]:
        """Return lengths, angles and radii of the edges."""
        rows = []
        for k, curve in zip(self.numbers, self.drawn.curves, strict=True):
            if isinstance(curve, Arc):
                rows.append(MarkEdge(k, curve.length, None, curve.radius, hollow=not curve.ccw))
            else:
                angle = _from(self.a, curve.tangent_at(0.0)) % 180.0
                rows.append(MarkEdge(k, curve.length, 0.0 if angle > 180.0 - 1e-9 else angle, None))
        return rows

    def stations(self, spacing: float, along: Literal["x", "y"]) -> list[Station]:
        """Return every crossing of the station lines with the drawn outline, low to high."""
        x0, y0, x1, y1 = self.drawn.bounds
        low, high = (x0, x1) if along == "x" else (y0, y1)
        count = math.ceil((high - low) / spacing - 1e-9) - 1
        if count > MOST_STATIONS:
            raise InputError(f"stations every {spacing} mm make {count}: expected at most {MOST_STATIONS}")
        rows: list[Station] = []
        for k in range(1, count + 1):
            at = low + k * spacing
            line = Segment((at, y0 - 1.0), (at, y1 + 1.0)) if along == "x" else Segment((x0 - 1.0, at), (x1 + 1.0, at))
            met: list[tuple[Point, Curve]] = []
            for curve in self.drawn.curves:
                for p in crossings(line, curve):
                    if all(distance(p, q) > ON_EDGE for q, _ in met):
                        met.append((p, curve))
            met.sort(key=lambda item: item[0])
            rows.extend(self._station(k * spacing, p, curve, along) for p, curve in met)
        return rows

    def _station(self, position: float, p: Point, curve: Curve, along: Literal["x", "y"]) -> Station:
        way = _outward(curve, share_of(curve, p))
        part = way[1] if along == "x" else way[0]
        off_along = None
        if abs(part) > GRAZING:
            sign = math.copysign(1.0, part)
            off_along = comes_off(p, (0.0, sign) if along == "x" else (sign, 0.0), self.made)
        off = comes_off(p, way, self.made)
        return Station(position, p, height(self.a, p), height(self.b, p), off, off_along)


def mark_out(
    drawn: Outline,
    made: Outline,
    edges: Sequence[HeldEdge],
    *,
    method: Literal["datum", "fit"] = "datum",
    spacing: float | None = None,
    along: Literal["x", "y"] = "x",
    within: float = 0.0,
) -> MarkingOut:
    """Return the table and the regions that turn the piece as made into the drawn one.

    Parameters
    ----------
    drawn, made : Outline
        They need not have the same number of edges; neither may cross itself.
    edges : sequence of HeldEdge
        The good edges, at which the two are held together; the first straight one is datum edge A.
    method : "datum" or "fit"
        Edges in order, as in a fixture, or all alike.
    spacing : float, optional
        Distance of the station lines, mm; a tenth of the drawn outline's length unless told.
    along : "x" or "y"
        Direction of the drawing in which the stations follow each other; their lines run square to it.
    within : float
        The outline as made is known within plus or minus this, mm; kept for the reader of the table.

    Raises
    ------
    InputError
        No good edge, none straight, a wrong number, a spacing that is not positive or makes too many stations.
    """
    if spacing is not None and not (math.isfinite(spacing) and spacing > 0.0):
        raise InputError(f"distance of the stations {spacing} mm: expected above zero")
    if not (math.isfinite(within) and within >= 0.0):
        raise InputError(f"doubt of the outline as made {within} mm: expected zero or more")
    held = hold_together(drawn, made, edges, method=method)
    a, b = datum_edges(drawn, [e.drawn for e in edges])
    wanted = drawn.counterclockwise()
    there = held.drawn_from_made.apply_outline(made).counterclockwise()
    x0, y0, x1, y1 = wanted.bounds
    length = (x1 - x0) if along == "x" else (y1 - y0)
    numbers = range(1, len(wanted.curves) + 1)  # as the user counts them, also where his outline runs clockwise
    work = _Work(wanted, there, a, b, tuple(numbers if drawn.signed_area > 0 else reversed(numbers)))
    stations = work.stations(length / 10.0 if spacing is None else spacing, along)
    face = MarkingTable("face", tuple(work.points()), tuple(work.edges()), tuple(stations))
    return MarkingOut(
        drawn=wanted,
        made=there,
        held=held,
        datum_a=a,
        datum_b=b,
        face=face,
        back=_from_the_back(face, x0 + x1),
        remove=beyond(there, wanted),
        missing=beyond(wanted, there),
        within=within,
    )


def _from_the_back(face: MarkingTable, sum_of_ends: float) -> MarkingTable:
    """Return the table as seen from the back: left and right change places, heights and what comes off stay."""

    def seen(p: Point) -> Point:
        return (sum_of_ends - p[0], p[1])

    def flipped(angle: float | None) -> float | None:
        return None if angle is None else math.remainder(180.0 - angle, 360.0)

    points = tuple(
        replace(
            p,
            view=seen(p.view),
            angle_deg=flipped(p.angle_deg),
            turn_deg=None if p.turn_deg is None else -p.turn_deg,
        )
        for p in face.points
    )
    edges = tuple(e if e.angle_deg is None else replace(e, angle_deg=(180.0 - e.angle_deg) % 180.0) for e in face.edges)
    stations = tuple(sorted((replace(s, view=seen(s.view)) for s in face.stations), key=lambda s: s.view))
    return MarkingTable("back", points, edges, stations)
