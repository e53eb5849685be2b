"""Refusing shapes that cannot be cut: outlines that cross themselves, islands that touch the wall or each other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from holecam.cuts.coverage import pair_distances
from holecam.cuts.elements import Elements, Flags, Indexes, elements_of, near_pairs
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point, Segment, distance
from holecam.shapes.distances import crossings, nearest_approach

TOUCHING = 1e-6
"""mm. Edges nearer than this touch: the gap that drawings leave between neighbours that are meant to meet."""


def check_outline(outline: Outline, what: str) -> None:
    """Refuse an outline that crosses or touches itself, or doubles back on itself.

    Raises
    ------
    InputError
        With the place, and the numbers of the two edges, counted from 1 in the order of the outline.
    """
    curves = outline.curves
    table = elements_of(curves, closed=True)
    met = _meetings(curves, table, curves, table, one_chain=True)
    if met is not None:
        i, j, p = met
        raise InputError(
            f"{what} crosses itself at X {p[0]:.3f} Y {p[1]:.3f} mm, where its edges {i + 1} and {j + 1} meet. "
            "List the corners in order, going round, or split it into two shapes."
        )
    if outline.area <= TOUCHING**2:
        raise InputError(f"{what}: it encloses no area; list its corners in order, going round")


def check_islands(outline: Outline, islands: Sequence[Outline], what: str, names: Sequence[str] = ()) -> None:
    """Refuse islands that touch the wall, lie outside it, or touch each other.

    Raises
    ------
    InputError
        With the place and the name of the island.
    """
    tables = [elements_of(o.curves, closed=True) for o in islands]
    wall = elements_of(outline.curves, closed=True)
    for k, island in enumerate(islands):
        name = island_label(names, k)
        check_outline(island, f"{name} of {what}")
        met = _meetings(outline.curves, wall, island.curves, tables[k], one_chain=False)
        if met is not None:
            p = met[2]
            raise InputError(
                f"{name} of {what} touches its wall at X {p[0]:.3f} Y {p[1]:.3f} mm. Draw the wall round it, or move "
                "the island off the wall."
            )
        if not outline.contains(island.curves[0].start):
            p = island.curves[0].start
            raise InputError(f"{name} of {what} lies outside it, at X {p[0]:.3f} Y {p[1]:.3f} mm; move it inside")
        for other in range(k):
            met = _meetings(islands[other].curves, tables[other], island.curves, tables[k], one_chain=False)
            inside = islands[other].contains(island.curves[0].start) or island.contains(islands[other].curves[0].start)
            if met is not None or inside:
                p = met[2] if met is not None else island.curves[0].start
                raise InputError(
                    f"{island_label(names, other)} and {name} of {what} overlap or touch at "
                    f"X {p[0]:.3f} Y {p[1]:.3f} mm; give them as one island"
                )


def check_chain(curves: Sequence[Curve], what: str) -> None:
    """Refuse a centre line that has gaps, crosses itself or doubles back.

    Raises
    ------
    InputError
        With the place.
    """
    if not curves:
        raise InputError(f"{what}: expected at least one line or arc")
    for k, (a, b) in enumerate(pairwise(curves)):
        if distance(a.end, b.start) > TOUCHING:
            raise InputError(f"{what}: a gap between {a.end} and {b.start}, pieces {k + 1} and {k + 2}; close it")
    if any(c.length <= TOUCHING for c in curves):
        raise InputError(f"{what}: a piece without length")
    table = elements_of(curves)
    met = _meetings(curves, table, curves, table, one_chain=True, closed=False)
    if met is not None:
        i, j, p = met
        raise InputError(
            f"{what} crosses itself at X {p[0]:.3f} Y {p[1]:.3f} mm, where its pieces {i + 1} and {j + 1} meet; "
            "make two slots of it"
        )


def island_label(names: Sequence[str], k: int) -> str:
    """Return what messages call island ``k``, counted from 0: its name in quotes, else its number."""
    return f'island "{names[k]}"' if k < len(names) and names[k] else f"island {k + 1}"


def _meetings(
    first: Sequence[Curve],
    first_table: Elements,
    second: Sequence[Curve],
    second_table: Elements,
    *,
    one_chain: bool,
    closed: bool = True,
) -> tuple[int, int, Point] | None:
    """Return rows and place of the first pair of curves that meet where they should not."""
    reach = np.full(len(second), TOUCHING)
    i, j = near_pairs(first_table.boxes(), second_table.boxes(), reach)
    count = len(first)
    if one_chain:
        i, j = i[i < j], j[i < j]
        gap = j - i
        neighbours = (gap == 1) | ((gap == count - 1) & closed)
        for a, b in zip(i[neighbours].tolist(), j[neighbours].tolist(), strict=True):
            p = _beyond_joint(first[a], first[b])
            if p is not None:
                return a, b, p
        i, j = i[~neighbours], j[~neighbours]
    suspect = _may_touch(first_table, second_table, i, j)
    for a, b in zip(i[suspect].tolist(), j[suspect].tolist(), strict=True):
        approach = nearest_approach(first[a], second[b])
        if approach.distance <= TOUCHING:
            return a, b, approach.on_first
    return None


def _may_touch(a: Elements, b: Elements, i: Indexes, j: Indexes) -> Flags:
    """Return which pairs have to be looked at one by one: those with an arc, and lines that cross or nearly touch."""
    bent = a.is_arc[i] | b.is_arc[j]
    near = np.zeros(len(i), dtype=np.bool_)
    for x, y in ((a.x0[i], a.y0[i]), (a.x1[i], a.y1[i])):
        near |= pair_distances(b, j, x, y) <= 2 * TOUCHING
    for x, y in ((b.x0[j], b.y0[j]), (b.x1[j], b.y1[j])):
        near |= pair_distances(a, i, x, y) <= 2 * TOUCHING
    ax, ay, bx, by = a.x1[i] - a.x0[i], a.y1[i] - a.y0[i], b.x1[j] - b.x0[j], b.y1[j] - b.y0[j]
    wx, wy = b.x0[j] - a.x0[i], b.y0[j] - a.y0[i]
    s0, s1 = ax * wy - ay * wx, ax * (wy + by) - ay * (wx + bx)
    t0, t1 = bx * -wy - by * -wx, bx * (ay - wy) - by * (ax - wx)
    crossing = (s0 * s1 <= 0.0) & (t0 * t1 <= 0.0)
    return np.asarray(bent | near | crossing)


def _beyond_joint(a: Curve, b: Curve) -> Point | None:
    """Return where two neighbours meet beside the joint that they share, or where they double back."""
    shared = [p for p, q in ((a.end, b.start), (b.end, a.start)) if distance(p, q) <= TOUCHING]
    for p in crossings(a, b):
        if all(distance(p, q) > 10 * TOUCHING for q in shared):
            return p
    if isinstance(a, Segment) and isinstance(b, Segment):
        joint_first = distance(a.end, b.start) <= TOUCHING
        before, after = (a, b) if joint_first else (b, a)
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        if ax * bx + ay * by < 0.0 and abs(ax * by - ay * bx) * min(a.length, b.length) <= TOUCHING:
            return before.end
    return None
