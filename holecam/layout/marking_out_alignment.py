"""Lay the outline as made on the drawn one, held together at the edges that are good."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Placement, Point, Segment, distance

Floats = NDArray[np.float64]

OPEN = 1e-4
"""A motion that moves no point of a held edge off it by more than this share is left open by that edge."""

STILL = 1e-13
"""Steps of the fit below this (radians, share of the size) end it."""


class HeldEdge(Struct, frozen=True):
    """A pair of edges that are one: numbers of the curves in the drawn outline and in the one as made, from 1."""

    drawn: int
    made: int


class HeldTogether(Struct, frozen=True):
    """How the outline as made lies on the drawn one.

    ``drawn_from_made`` carries it there. ``gaps`` holds, for each held edge in order, the greatest distance (mm) of
    its ends and middle from the drawn edge: what the good edges themselves disagree by. ``settled`` is False where
    the held edges leave a sliding or a turn open, which was then settled by matching the middles.
    """

    drawn_from_made: Placement
    gaps: tuple[float, ...]
    settled: bool


def edge_of(outline: Outline, number: int, what: str) -> Curve:
    """Return a curve by its number from 1, travelled anticlockwise about the outline.

    Raises
    ------
    InputError
        The outline has no such edge.
    """
    if not 1 <= number <= len(outline.curves):
        raise InputError(f"edge {number} of the {what} outline: it has edges 1 to {len(outline.curves)}")
    curve = outline.curves[number - 1]
    return curve if outline.signed_area > 0 else curve.reversed()


def _samples(curve: Curve) -> list[Point]:
    return [curve.start, curve.point_at(0.5), curve.end]


def _gap(curve: Curve, p: Point) -> tuple[float, Point]:
    """Return the distance of a point from the endless line or full circle of a curve, and its direction of growth."""
    if isinstance(curve, Segment):
        ux, uy = curve.tangent_at(0.0)
        return (p[0] - curve.start[0]) * -uy + (p[1] - curve.start[1]) * ux, (-uy, ux)
    away = distance(curve.center, p)
    if away == 0.0:
        return -curve.radius, (1.0, 0.0)
    return away - curve.radius, ((p[0] - curve.center[0]) / away, (p[1] - curve.center[1]) / away)


def hold_together(
    drawn: Outline, made: Outline, edges: Sequence[HeldEdge], *, method: Literal["datum", "fit"] = "datum"
) -> HeldTogether:
    """Return how the outline as made lies on the drawn one when the given edges are held together.

    ``datum``: the first edge is laid on exactly, each next one settles only what those before it leave open, as in a
    fixture. ``fit``: all edges alike, least squares. Lines are endless here, because their ends are what may be
    wrong; arcs are laid centre on centre. A mirrored outline is never turned over.

    Raises
    ------
    InputError
        No edge is given, a number does not exist, or a line is to be held to an arc.
    """
    if not edges:
        raise InputError("marking out: expected at least one edge at which the outlines are held together")
    pairs: list[tuple[Curve, Curve]] = []
    for edge in edges:
        wanted, found = edge_of(drawn, edge.drawn, "drawn"), edge_of(made, edge.made, "made")
        if isinstance(wanted, Arc) != isinstance(found, Arc):
            raise InputError(f"edge {edge.drawn} drawn and edge {edge.made} made: one is a line and the other an arc")
        pairs.append((wanted, found))
    turn, shift = _start(pairs)
    settled = False
    size = max(1.0, *(abs(c) for _, m in pairs for p in _samples(m) for c in p))
    for _ in range(60):
        placement = Placement(math.degrees(turn), shift)
        rows, gaps, levels = [], [], []
        for k, (wanted, found) in enumerate(pairs):
            for q, gap, (nx, ny) in _gaps_of(wanted, found, placement):
                rows.append([((q[0] - shift[0]) * ny - (q[1] - shift[1]) * nx) / size, nx, ny])
                gaps.append(gap)
                levels.append(k if method == "datum" else 0)
        step, settled = _graded_step(np.array(rows), -np.array(gaps), np.array(levels))
        turn += float(step[0]) / size
        shift = (shift[0] + float(step[1]), shift[1] + float(step[2]))
        if float(np.abs(step).max()) <= STILL * size:
            break
    placement = Placement(math.degrees(turn), shift)
    worst = tuple(max(abs(_gap(w, placement.apply(p))[0]) for p in _samples(m)) for w, m in pairs)
    return HeldTogether(placement, worst, settled)


def _gaps_of(wanted: Curve, found: Curve, placement: Placement) -> list[tuple[Point, float, Point]]:
    """Return (point, gap, direction) of the conditions that hold one edge: points on the line, or centre on centre."""
    if isinstance(wanted, Arc) and isinstance(found, Arc):
        q = placement.apply(found.center)
        return [(q, q[0] - wanted.center[0], (1.0, 0.0)), (q, q[1] - wanted.center[1], (0.0, 1.0))]
    held = []
    for p in _samples(found):
        q = placement.apply(p)
        gap, way = _gap(wanted, q)
        held.append((q, gap, way))
    return held


def _graded_step(matrix: Floats, right: Floats, levels: NDArray[np.int_]) -> tuple[Floats, bool]:
    """Return the step that serves each edge in what those before it leave open, and whether nothing stays open."""
    step = np.zeros(3)
    still_open = np.eye(3)
    for level in sorted(set(levels.tolist())):
        use = levels == level
        block, rest = matrix[use] @ still_open, right[use] - matrix[use] @ step
        u, s, vt = np.linalg.svd(block, full_matrices=True)
        rank = int((s > OPEN).sum())
        step = step + still_open @ (vt[:rank].T @ ((u[:, :rank].T @ rest) / s[:rank]))
        still_open = still_open @ vt[rank:].T
        if still_open.shape[1] == 0:
            return step, True
    return step, False


def _start(pairs: Sequence[tuple[Curve, Curve]]) -> tuple[float, Point]:
    """Return turn and shift of the least-squares fit of the edges' ends and middles."""
    wanted = [p for w, _ in pairs for p in (_samples(w) if isinstance(w, Segment) else [*_samples(w), w.center])]
    found = [p for _, m in pairs for p in (_samples(m) if isinstance(m, Segment) else [*_samples(m), m.center])]
    n = len(wanted)
    cx, cy = sum(p[0] for p in wanted) / n, sum(p[1] for p in wanted) / n
    mx, my = sum(p[0] for p in found) / n, sum(p[1] for p in found) / n
    dot = math.fsum((f[0] - mx) * (w[0] - cx) + (f[1] - my) * (w[1] - cy) for w, f in zip(wanted, found, strict=True))
    cross = math.fsum((f[0] - mx) * (w[1] - cy) - (f[1] - my) * (w[0] - cx) for w, f in zip(wanted, found, strict=True))
    turn = math.atan2(cross, dot)
    c, s = math.cos(turn), math.sin(turn)
    return turn, (cx - (c * mx - s * my), cy - (s * mx + c * my))
