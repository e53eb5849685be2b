"""The wall of a bend seen from above: a line of segments and arcs with the cut on one side, and lines beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Point, Segment, distance
from holecam.shapes.distances import chain_approach, point_to_chain
from holecam.shapes.offset import JOINED, offset_line

CLEAR_SIDE = 1e-6
"""mm. A cut must reach this far onto its own side of the wall to lie there: arithmetic noise."""


class BendWall(Struct, frozen=True, dict=True):
    """Inner face of the upright wall in plan, an open chain.

    Beyond its ends the wall is taken to run straight on: a cutter is kept off there too, which is the safe side.

    Parameters
    ----------
    curves : tuple of Segment or Arc
        Each starts where the one before ended.
    cut_side : {"left", "right"}
        Side of the travel on which the cut lies.
    """

    curves: tuple[Curve, ...]
    cut_side: Literal["left", "right"] = "left"

    def __post_init__(self) -> None:
        chain = self._with_length
        if not chain:
            raise InputError("wall of a bend: expected at least one line or arc that has a length", key="bend")
        for before, after in pairwise(chain):
            gap = distance(before.end, after.start)
            if gap > JOINED:
                raise InputError(
                    f"wall of a bend: a gap of {gap:.4f} mm between {before.end} and {after.start}; close it",
                    key="bend",
                )
        # A circle drawn as one arc closes too; only a line that is itself shorter than the noise of a joint does not
        if distance(chain[0].start, chain[-1].end) <= JOINED < math.fsum(c.length for c in chain):
            raise InputError(
                "wall of a bend: its line closes on itself; expected an open line, so that the cutter can leave "
                "away from it. Cut a tray as a pocket with the wall as its outline",
                key="bend",
            )
        if self.cut_side not in ("left", "right"):
            raise InputError(f'cut side "{self.cut_side}": expected left or right', key="cut_side")

    @cached_property
    def _with_length(self) -> tuple[Curve, ...]:
        return tuple(c for c in self.curves if c.length > 0.0)

    @cached_property
    def line(self) -> tuple[Curve, ...]:
        """The same chain, travelled so that the cut lies on the left."""
        chain = self._with_length
        return chain if self.cut_side == "left" else tuple(c.reversed() for c in reversed(chain))

    def run_on(self, length: float) -> tuple[Curve, ...]:
        """Return the line with a straight piece of this length, mm, added at both ends along its direction."""
        return run_straight_on(self.line, length)

    def distance_to(self, p: Point) -> float:
        """Return the distance of a point from the drawn line, mm."""
        return point_to_chain(p, self.line)


def run_straight_on(line: Sequence[Curve], length: float) -> tuple[Curve, ...]:
    """Return a line with a straight piece of this length, mm, added at both ends along its direction."""
    first, last = line[0], line[-1]
    (sx, sy), (ex, ey) = first.tangent_at(0.0), last.tangent_at(1.0)
    before = Segment((first.start[0] - length * sx, first.start[1] - length * sy), first.start)
    after = Segment(last.end, (last.end[0] + length * ex, last.end[1] + length * ey))
    return (before, *line, after)


def line_beside(line: Sequence[Curve], away: float) -> tuple[tuple[Curve, ...], ...]:
    """Return the line at a constant distance on the cut's side, exact: one chain, or several where it falls apart.

    ``line`` has the cut on its left. With ``away`` the limit of the cutter's axis at a height (flank limit plus
    radius), it is the curve that the axis may not cross there.
    """
    return offset_line(line, away, closed=False)


def wall_through(points: Sequence[Point], *, cut_side: Literal["left", "right"] = "left") -> BendWall:
    """Return a wall of straight pieces through points."""
    if len(points) < 2:
        raise InputError(f"wall of a bend: expected at least two points, got {len(points)}", key="bend")
    return BendWall(tuple(Segment(a, b) for a, b in pairwise(points)), cut_side)


def check_region_side(wall: BendWall, region: Outline, *, length: float, name: str) -> None:
    """Refuse a region that lies on the wrong side of the wall, or across it.

    Raises
    ------
    InputError
        The region reaches through the wall, or lies beyond it. ``length`` is how far the wall is run on, mm.
    """
    line = wall.run_on(length)
    inside = _sample(region)
    sides = [_side(line, p) for p in inside]
    if max(sides) <= CLEAR_SIDE:
        raise InputError(
            f'bend "{name}": the region to clear lies on the far side of its wall. Give the other side as the side of '
            "the cut, or draw the wall's line the other way round",
            key="bend",
        )
    if min(sides) < -CLEAR_SIDE:
        worst = min(zip(sides, inside, strict=True))
        raise InputError(
            f'bend "{name}": the region to clear reaches {-worst[0]:.3f} mm through its wall (run straight on beyond '
            f"its ends) at {worst[1][0]:.3f}, {worst[1][1]:.3f}: expected it on one side",
            key="bend",
        )


def _sample(region: Outline) -> list[Point]:
    points: list[Point] = []
    for curve in region.curves:
        pieces = 16 if isinstance(curve, Arc) else 8
        points += [curve.point_at(n / pieces) for n in range(pieces)]
    return points


def _side(line: Sequence[Curve], p: Point) -> float:
    """Return the distance from the line, above zero on its left, below on its right."""
    curve = min(line, key=lambda c: distance(p, c.nearest(p)))
    foot = curve.nearest(p)
    away = distance(p, foot)
    if away <= CLEAR_SIDE:
        return 0.0
    # at a corner the two curves tell the side together: the one that the point stands more square to decides
    best, sign = -1.0, 1.0
    for c in line:
        q = c.nearest(p)
        if distance(q, foot) > CLEAR_SIDE:
            continue
        tx, ty = c.tangent_at(_share(c, q) if isinstance(c, Arc) else 0.0)
        cross = (tx * (p[1] - q[1]) - ty * (p[0] - q[0])) / away
        if abs(cross) > best:
            best, sign = abs(cross), math.copysign(1.0, cross)
    return sign * away


def _share(arc: Arc, q: Point) -> float:
    turn = (math.atan2(q[1] - arc.center[1], q[0] - arc.center[0]) - arc.start_angle) % math.tau
    sweep = arc.sweep
    gone = turn if sweep > 0 else (math.tau - turn) % math.tau
    share = gone / abs(sweep)
    return share if share <= 1.0 else (0.0 if math.tau - gone < gone - abs(sweep) else 1.0)


def least_distance(curves: Sequence[Curve], wall: BendWall) -> tuple[float, Point, Point]:
    """Return the least distance in plan between a path and the drawn wall, mm, and the two places."""
    met = chain_approach(curves, wall.line)
    return met.distance, met.on_first, met.on_second
