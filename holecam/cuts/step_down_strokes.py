"""Strokes over a thin sheet: parallel to the bend, from far to near, the last one along the limit, all one way.

Conventional milling keeps the metal, and the wall behind it, on the left of the travel: the teeth then drive the sheet
along the travel and away from the bend. Every stroke starts and ends off the metal where that is possible, leaves away
from the flange, and the cutter is lifted straight up; nothing turns round beside the bend.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property, lru_cache

import numpy as np
import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from holecam.cuts.cut_choices import Direction
from holecam.cuts.inside_bend_wall import run_straight_on
from holecam.cuts.step_down_region import KeptOff, metal_left, region_polygon, takes_some
from holecam.cuts.stroke_entries import with_ways_in
from holecam.cuts.stroke_pieces import SPREAD, part_of, points_spread_over, split_at_corners, turnings
from holecam.cuts.stroke_values import KEPT_NOISE, Stroke, keeps_off, nearest_ways
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point, Segment, distance
from holecam.shapes.curve_arrays import ClosedArea, CurveArray, Floats
from holecam.shapes.distances import point_to_chain
from holecam.shapes.offset import chain_length, offset_line

LEAST_LEAD = 1.0
"""mm. A stroke starts and ends at least this far off the metal, beyond the cutter's radius (common practice)."""

MOST_STROKES = 1000
"""Strokes side by side in one pass; a region that needs more, or a step-over that makes it so, was mistyped."""

SAMPLES_A_RADIUS = 8
"""A stroke is looked at this often on the length of a cutter's radius to find where it meets the metal."""

SHORTEST_STROKE = 0.01
"""mm. Shorter pieces of a stroke are noise of a grazing line."""

LEAST_BITE = 0.01
"""mm. A stroke that reaches less than this into the region cuts nothing: a line along its edge,
or one behind a shoulder."""

AT_SHOULDER = 1e-5
"""mm. A stroke whose end keeps its distance from a shoulder to this much ends at that shoulder."""

ASIDE = 1e-3
"""mm. Aside of a shoulder by this much one sees on which side of it the region lies."""

LEAST_SLOPE = 0.2
"""Sine of the least angle between strokes and a shoulder at which the shoulder is cleaned from stroke to stroke."""

LADDER_MERGE = 0.02
"""Ratio of the step-over. A stroke nearer than this to the last one along the limit is left out; the ladder's own
step is smaller by as much, so that no step-over grows beyond the one asked for."""


class Guide(Struct, frozen=True):
    """What the strokes run along.

    ``line`` has the cut on its left and reaches beyond the region at both ends; ``nearest`` is the distance, mm, of
    the last stroke from it; ``is_bend`` says that it is a wall, else it is a straight line beyond the region.
    """

    line: tuple[Curve, ...]
    nearest: float
    is_bend: bool


class StrokePlanner(Struct, dict=True):
    """Lays strokes over one region for many heights; lines beside the guide that several heights share are kept.

    Parameters
    ----------
    region : Outline
        What is to be cleared.
    cutter_radius : float
    step_over : float
        Greatest distance between neighbouring strokes, at most the radius that cuts flat.
    direction : Direction
        Conventional unless the user insists.
    lead : float
        How far off the metal a stroke starts and ends, beyond the cutter's radius, mm.
    """

    region: Outline
    cutter_radius: float
    step_over: float
    direction: Direction = Direction.CONVENTIONAL
    lead: float = LEAST_LEAD

    def __post_init__(self) -> None:
        for what, size in (("step-over", self.step_over), ("lead", self.lead), ("radius", self.cutter_radius)):
            if not (math.isfinite(size) and size > 0):
                raise InputError(f"{what} {size} mm: expected a length above zero", key=what)
        if self.step_over > self.cutter_radius:
            raise InputError(
                f"step-over {self.step_over:g} mm: expected at most the cutter's radius, {self.cutter_radius:g} mm; "
                "more leaves metal between the strokes",
                key="step_over",
            )

    @cached_property
    def _area(self) -> ClosedArea:
        return ClosedArea(self.region)

    @cached_property
    def _metal(self) -> BaseGeometry:
        return region_polygon(self.region)

    @cached_property
    def _spread(self) -> Floats:
        return points_spread_over(self._area, self.region)

    @cached_property
    def _known(self) -> dict[tuple[object, ...], tuple[Stroke, ...]]:
        return {}

    @cached_property
    def _farthest_from(self) -> dict[tuple[Curve, ...], float]:
        return {}

    def strokes(self, guide: Guide, kept_off: Sequence[KeptOff], along: Sequence[KeptOff] = ()) -> tuple[Stroke, ...]:
        """Return the strokes at one height, in the order in which they are cut.

        Parameters
        ----------
        guide : Guide
        kept_off : sequence of KeptOff
            Everything that the axis stays away from at this height, the guide's own wall included.
        along : sequence of KeptOff
            Further walls that get a last stroke of their own, along their limit.

        Returns
        -------
        tuple of Stroke
            Empty when the cutter reaches nothing of the region.
        """
        # the parallel strokes leave a step-over in front of the other walls for the stroke along each of them
        before_walls = [KeptOff(k.line, k.away + self.step_over) if k in along else k for k in kept_off]
        out: list[Stroke] = []
        for away in self._ladder(guide):
            last = away == guide.nearest
            # a wall keeps off only what is nearer to it, so its limit does not change the strokes farther out
            out += self._along(
                guide.line,
                away,
                [k for k in before_walls if k.line != guide.line],
                nearest=guide.nearest,
                along_bend=last and guide.is_bend,
                previous=bool(out),
            )
        for wall in along:
            out += self._along(wall.line, wall.away, kept_off, nearest=wall.away, along_bend=True, previous=bool(out))
        # along the bends last of all: there the sheet is held best, and least metal is left to push it
        beside = self._beside_shoulders(tuple(out), kept_off)
        first = [stroke for stroke in out if not stroke.along_bend]
        return with_ways_in(
            (*first, *beside, *(stroke for stroke in out if stroke.along_bend)),
            kept_off,
            step_over=self.step_over,
            off=self.cutter_radius + self.lead,
            touches=self._touches,
        )

    def _beside_shoulders(self, before: tuple[Stroke, ...], kept_off: Sequence[KeptOff]) -> tuple[Stroke, ...]:
        """Return a stroke along each shoulder beside which the strokes so far leave metal that it takes.

        Parallel strokes come near a shoulder that runs as they do by chance only: up to a step-over stays beside it.
        """
        shoulders = [k for k in kept_off if k.is_shoulder]
        key = (before, tuple(kept_off))
        if not shoulders or not before:
            return ()
        if key not in self._known:
            found: list[Stroke] = []
            rest = metal_left(self._metal, [s.curves for s in before], cutting_radius=self.cutter_radius)
            for shoulder in shoulders:
                if shapely.is_empty(rest):
                    break
                line = self._with_the_cut_on_its_left(shoulder.line)
                for stroke in self._along(
                    line, shoulder.away, kept_off, nearest=shoulder.away, along_bend=False, previous=True
                ):
                    if takes_some(rest, stroke.curves, cutting_radius=self.cutter_radius):
                        found.append(stroke)
                        rest = metal_left(rest, [stroke.curves], cutting_radius=self.cutter_radius)
            self._known[key] = tuple(found)
        return self._known[key]

    def _with_the_cut_on_its_left(self, shoulder: tuple[Curve, ...]) -> tuple[Curve, ...]:
        """Return a side of the region run straight on beyond it, as a guide is."""
        side = shoulder[len(shoulder) // 2]
        (x, y), (tx, ty) = side.point_at(0.5), side.tangent_at(0.5)
        left, right = ((x - s * ASIDE * ty, y + s * ASIDE * tx) for s in (1.0, -1.0))
        turned = self.region.inside_by(left) < self.region.inside_by(right)
        line = tuple(c.reversed() for c in reversed(shoulder)) if turned else shoulder
        x0, y0, x1, y1 = self.region.bounds
        return run_straight_on(line, math.hypot(x1 - x0, y1 - y0) + 2.0 * (self.cutter_radius + self.lead))

    def _ladder(self, guide: Guide) -> list[float]:
        """Return the distances of the strokes from the guide, farthest first, the last one the limit itself."""
        far = self._farthest(guide.line) + self.cutter_radius - self.step_over
        step = self.step_over * (1.0 - LADDER_MERGE)
        number = max(0, math.ceil((far - guide.nearest) / step))
        if number > MOST_STROKES:
            raise InputError(
                f"step-over {self.step_over:g} mm: {number} strokes side by side, expected at most {MOST_STROKES}; "
                "look at the size of the region, or take a larger cutter",
                key="step_over",
            )
        # counted from the far side, so that strokes at different heights share their lines
        rungs = [far - n * step for n in range(number)]
        return [r for r in rungs if r - guide.nearest > LADDER_MERGE * self.step_over] + [guide.nearest]

    def _farthest(self, line: tuple[Curve, ...]) -> float:
        """Return a distance that no place of the region is farther from the line than, mm; a little too much."""
        if line not in self._farthest_from:
            x0, y0, x1, y1 = self.region.bounds
            slack = 0.5 * math.hypot(x1 - x0, y1 - y0) / SPREAD
            self._farthest_from[line] = float(CurveArray(line).distance(self._spread).max()) + slack
        return self._farthest_from[line]

    def _along(
        self,
        line: tuple[Curve, ...],
        away: float,
        kept_off: Sequence[KeptOff],
        *,
        nearest: float,
        along_bend: bool,
        previous: bool,
    ) -> tuple[Stroke, ...]:
        split = along_bend or away <= nearest + self.step_over
        key = (line, away, tuple(kept_off), split, along_bend, previous)
        if key not in self._known:
            found: list[Stroke] = []
            for chain in offset_line(line, away, closed=False):
                travelled = chain
                if self.direction is Direction.CONVENTIONAL:  # the guide runs with the cut on its left: turn round
                    travelled = tuple(c.reversed() for c in reversed(chain))
                pieces = self._pieces(travelled, kept_off)
                if split:
                    cut_up = [split_at_corners(piece) for piece in pieces]
                    pieces = [part for parts in cut_up for part in parts if len(parts) == 1 or self._cuts(part)]
                for piece in pieces:
                    stroke = self._with_leads(piece, line, away, kept_off, along_bend=along_bend, previous=previous)
                    found.append(stroke)
            self._known[key] = tuple(found)
        return self._known[key]

    def _pieces(self, chain: tuple[Curve, ...], kept_off: Sequence[KeptOff]) -> list[tuple[Curve, ...]]:
        """Return the parts of a chain that come near the region and keep off what they must."""
        total = chain_length(chain)
        reach = self.cutter_radius + self.lead
        others = [(_curve_array(k.line), k.away) for k in kept_off]
        path = CurveArray(chain)

        def free(ways: Floats) -> Floats:
            points = path.points_along(ways)
            room = self._area.inside_by(points) + reach
            for lines, keep in others:
                room = np.minimum(room, lines.distance(points) - keep + KEPT_NOISE)
            return room

        number = max(8, math.ceil(total / self.cutter_radius * SAMPLES_A_RADIUS))
        ways = sorted({*(total * n / number for n in range(number + 1)), *nearest_ways(chain, kept_off)})
        number = len(ways) - 1
        rooms = free(np.array(ways))
        inside = (rooms >= 0.0).tolist()
        turns = [(n, n + 1) if inside[n + 1] else (n + 1, n) for n in range(number) if inside[n] != inside[n + 1]]
        pairs = np.array(turns, dtype=np.intp).reshape(-1, 2)
        ends = turnings(np.array(ways)[pairs], rooms[pairs], free)
        ends = [0.0] * inside[0] + ends + [total] * inside[-1]
        spans = zip(ends[0::2], ends[1::2], strict=True)
        parts = [part_of(chain, low, high) for low, high in spans if high - low > SHORTEST_STROKE]
        return [part for part in parts if self._cuts(part)]

    def _cuts(self, part: Sequence[Curve]) -> bool:
        ends = np.cumsum([0.0, *(curve.length for curve in part)])
        ways = ends[:-1, None] + np.outer(np.diff(ends), np.linspace(0.0, 1.0, 33))
        points = CurveArray(tuple(part)).points_along(ways.ravel())
        return bool((self._area.inside_by(points) > LEAST_BITE - self.cutter_radius).any())

    def _with_leads(
        self,
        cut: tuple[Curve, ...],
        line: Sequence[Curve],
        away: float,
        kept_off: Sequence[KeptOff],
        *,
        along_bend: bool,
        previous: bool,
    ) -> Stroke:
        start, end = cut[0].start, cut[-1].end
        in_metal, out_metal = self._touches(start), self._touches(end)
        lead_in: tuple[Curve, ...] = ()
        lead_out: tuple[Curve, ...] = ()
        if not in_metal:
            lead_in = self._lead(start, cut[0].tangent_at(0.0), line, kept_off, sense=-1.0)
        elif previous:  # come down where the stroke before has cleared, and move over
            aside = self._along_shoulder(start, line, kept_off) or _beyond(start, line, self.step_over)
            if aside != start and keeps_off(Segment(aside, start), kept_off):
                lead_in = (Segment(aside, start),)
        if not out_metal:
            lead_out = self._lead(end, cut[-1].tangent_at(1.0), line, kept_off, sense=1.0)
        elif previous:  # clean the shoulder up to the stroke before, away from the bend
            aside_out = self._along_shoulder(end, line, kept_off)
            lead_out = () if aside_out is None else (Segment(end, aside_out),)
        return Stroke(lead_in, cut, lead_out, away, in_metal, out_metal, along_bend)

    def _touches(self, p: Point) -> bool:
        """Return whether the cutter standing here overlaps the region."""
        return self.region.inside_by(p) > -self.cutter_radius

    def _along_shoulder(self, p: Point, line: Sequence[Curve], kept_off: Sequence[KeptOff]) -> Point | None:
        """Return the place beside a shoulder to which the stroke before came, from a place at that shoulder.

        Parallel strokes that end at a shoulder leave ridges on it; going along it to the end of the stroke before takes
        them off. ``None`` away from a shoulder, or where it runs nearly along the strokes.
        """
        for shoulder in (k for k in kept_off if k.is_shoulder):
            if abs(point_to_chain(p, shoulder.line) - shoulder.away) > AT_SHOULDER:
                continue
            off, from_guide = _away_from(p, shoulder.line), _away_from(p, line)
            along = (-off[1], off[0])
            slope = along[0] * from_guide[0] + along[1] * from_guide[1]
            if abs(slope) < LEAST_SLOPE:
                continue
            size = self.step_over / slope
            aside = (p[0] + size * along[0], p[1] + size * along[1])
            if keeps_off(Segment(p, aside), kept_off):
                return aside
        return None

    def _lead(
        self, at: Point, along: Point, line: Sequence[Curve], kept_off: Sequence[KeptOff], *, sense: float
    ) -> tuple[Curve, ...]:
        """Return the lead at an end: slanting away from the guide, ahead of the end or behind the start."""
        ux, uy = _away_from(at, line)
        dx, dy = ux + sense * along[0], uy + sense * along[1]
        size = math.hypot(dx, dy)
        if size < 1e-6:
            return ()
        outer = (at[0] + self.lead * dx / size, at[1] + self.lead * dy / size)
        way = Segment(outer, at) if sense < 0 else Segment(at, outer)
        if self._touches(outer) or not keeps_off(way, kept_off):
            return ()
        return (way,)


def straight_guide(region: Outline, feed_deg: float, *, cutter_radius: float, direction: Direction) -> Guide:
    """Return a guide for straight strokes in a direction, for a region without a bend.

    The strokes run toward ``feed_deg``; the last one lies along the edge of the region on the side of the metal.
    """
    if not math.isfinite(feed_deg):
        raise InputError(f"direction of the strokes {feed_deg} degrees: expected a finite number", key="feed_deg")
    turn = math.radians(feed_deg)
    along = (math.cos(turn), math.sin(turn))
    # the line's own travel has the cut on its left; conventional strokes run against it
    travel = (-along[0], -along[1]) if direction is Direction.CONVENTIONAL else along
    left = (-travel[1], travel[0])
    x0, y0, x1, y1 = region.bounds
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    offs = [left[0] * x + left[1] * y for x, y in corners]
    ways = [travel[0] * x + travel[1] * y for x, y in corners]
    base, size = min(offs) - 2.0 * cutter_radius, math.hypot(x1 - x0, y1 - y0) + 10.0 * cutter_radius
    low, high = min(ways) - size, max(ways) + size

    def at(way: float) -> Point:
        return (travel[0] * way + left[0] * base, travel[1] * way + left[1] * base)

    return Guide((Segment(at(low), at(high)),), 2.0 * cutter_radius, is_bend=False)


@lru_cache(maxsize=256)
def _curve_array(line: tuple[Curve, ...]) -> CurveArray:
    return CurveArray(line)


def _away_from(p: Point, line: Sequence[Curve]) -> Point:
    foot = min((c.nearest(p) for c in line), key=lambda q: distance(p, q))
    size = distance(p, foot)
    return ((p[0] - foot[0]) / size, (p[1] - foot[1]) / size) if size > 0 else (0.0, 0.0)


def _beyond(p: Point, line: Sequence[Curve], by: float) -> Point:
    ux, uy = _away_from(p, line)
    return (p[0] + by * ux, p[1] + by * uy)
