"""Chain drilling: a row of holes inside a line, for shapes that two handwheels cannot follow.

The holes stay off the line by an allowance that is filed or pared away, and off each other by a web that keeps the
drill from running into the hole beside it (common practice: never less than the drill can bear, about a tenth of it).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from holecam.cuts.chain_drilling_values import ChainDrilling
from holecam.cuts.distance_clip import complement, merged, near_curves
from holecam.cuts.elements import elements_of
from holecam.cuts.kept_curves import connected
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point, distance
from holecam.shapes.curve_arrays import CurveArray, points_array

ONE_ROW = 0.6
"""Times the room between the allowances: a drill of this size and more needs one row only (common practice)."""

SHARP = 0.2
"""Radians. Where the line of the holes turns by more, a hole is put into the corner (common practice)."""


def chain_drilled(
    outline: Outline, *, drill: float, web: float, allowance: float, islands: Sequence[Outline] = (), what: str = "line"
) -> ChainDrilling:
    """Return holes along the inside of an outline, and round its islands.

    The centres lie half the drill plus the allowance inside the line, one in each corner, the others evenly between;
    webs are at least as wide as asked for. Holes that would come nearer to others are left out and counted.

    Raises
    ------
    InputError
        A length is wrong, or the drill does not fit inside the line.
    """
    for words, value, least in (("drill", drill, 1e-9), ("web", web, 0.0), ("allowance", allowance, 0.0)):
        if not (math.isfinite(value) and value >= least):
            raise InputError(f"chain drilling of {what}: {words} {value} mm: expected a length of 0 or more")
    walls = walls_of(chains_of_region(outline, islands))
    loops = OffsetStack(walls).at(drill / 2 + allowance).loops
    if not loops:
        raise InputError(
            f"chain drilling of {what}: a drill of {drill:.3f} mm with {allowance:.3f} mm of allowance does not fit "
            "inside; take a smaller drill"
        )
    return _placed([loop.curves for loop in loops], drill, web, allowance, [outline, *islands], closed=True)


def chain_drilled_slot(
    centre_path: Sequence[Curve],
    edge: Sequence[Outline],
    width: float,
    *,
    drill: float,
    web: float,
    allowance: float,
    what: str = "slot",
) -> ChainDrilling:
    """Return holes for a slot: along its axis where one row of holes is wide enough, else along its inside.

    Parameters
    ----------
    centre_path : curves
        Where the middle of the slot runs.
    edge : outlines
        Edge of the slot, with holes where it goes round something.
    width : float

    Raises
    ------
    InputError
        As for :func:`chain_drilled`.
    """
    room = width - 2.0 * allowance
    if drill > room + 1e-9:
        raise InputError(
            f"chain drilling of {what}: a drill of {drill:.3f} mm with {allowance:.3f} mm of allowance a side does not "
            f"fit into {width:.3f} mm; take one of at most {room:.3f} mm"
        )
    if drill < ONE_ROW * room:
        outer = max(edge, key=lambda o: o.area)
        rest = [o for o in edge if o is not outer]
        return chain_drilled(outer, drill=drill, web=web, allowance=allowance, islands=rest, what=what)
    # One row touches both sides; what stays between the holes is pared away
    line = elements_of(centre_path)
    border = elements_of([c for o in edge for c in o.curves])
    off = np.full(len(border), drill / 2 + allowance - 1e-9)
    free = complement(merged(near_curves(line, border, off), line.lengths), line.lengths)
    chains = connected(line.part(free.row, free.low, free.high).curves())
    if not chains:
        raise InputError(f"chain drilling of {what}: it is too short for a drill of {drill:.3f} mm")
    return _placed(chains, drill, web, allowance, edge, closed=False)


def _placed(
    chains: Sequence[Sequence[Curve]],
    drill: float,
    web: float,
    allowance: float,
    lines: Sequence[Outline],
    *,
    closed: bool,
) -> ChainDrilling:
    pitch = drill + web
    centres: list[Point] = []
    skipped: list[Point] = []
    for chain in chains:
        for p in _stations(chain, pitch, closed=closed):
            if all(distance(p, q) >= pitch - 1e-9 for q in centres):
                centres.append(p)
            else:
                skipped.append(p)
    gaps = [min((distance(p, q) for q in centres if q is not p), default=math.inf) - drill for p in centres]
    least = CurveArray(tuple(c for o in lines for c in o.curves)).distance(points_array(centres)).min() - drill / 2
    return ChainDrilling(
        drill,
        tuple(centres),
        web,
        allowance,
        min((g for g in gaps if math.isfinite(g)), default=0.0),
        max((g for g in gaps if math.isfinite(g)), default=0.0),
        float(least),
        tuple(skipped),
    )


def _stations(chain: Sequence[Curve], pitch: float, *, closed: bool) -> list[Point]:
    """Return places along a chain, straight-line distance at least ``pitch`` between neighbours, one in each corner."""
    places: list[Point] = []
    for stretch in _between_corners(chain, closed=closed):
        size = math.fsum(c.length for c in stretch)
        count = max(1, math.floor(size / pitch + 1e-9))
        made = _evenly(stretch, size, count)
        while count > 1 and min(distance(a, b) for a, b in pairwise(made)) < pitch - 1e-9:
            count -= 1
            made = _evenly(stretch, size, count)
        # The end of a stretch is the start of the next one
        places += made[:-1] if closed else made[1:] if places else made
    return places


def _evenly(stretch: Sequence[Curve], size: float, count: int) -> list[Point]:
    ends = np.cumsum([c.length for c in stretch])
    made = []
    for k in range(count + 1):
        at = size * k / count
        i = min(int(np.searchsorted(ends, at - 1e-9)), len(stretch) - 1)
        before = float(ends[i]) - stretch[i].length
        share = (at - before) / stretch[i].length if stretch[i].length > 0 else 0.0
        made.append(stretch[i].point_at(min(1.0, max(0.0, share))))
    return made


def _between_corners(chain: Sequence[Curve], *, closed: bool) -> list[list[Curve]]:
    """Return the stretches between sharp corners, the whole chain where there is none."""
    count = len(chain)
    sharp = [k for k in range(count) if (closed or k + 1 < count) and _turn(chain[k], chain[(k + 1) % count]) > SHARP]
    if not sharp:
        return [list(chain)]
    if not closed:
        return [list(chain[a:b]) for a, b in pairwise([0, *(k + 1 for k in sharp), count])]
    stretches = []
    for k, at in enumerate(sharp):
        following = sharp[(k + 1) % len(sharp)]
        stretches.append([chain[(at + 1 + i) % count] for i in range((following - at - 1) % count + 1)])
    return stretches


def _turn(a: Curve, b: Curve) -> float:
    (ax, ay), (bx, by) = a.tangent_at(1.0), b.tangent_at(0.0)
    return abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
