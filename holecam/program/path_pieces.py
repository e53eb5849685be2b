"""The pieces of path on which a cutter is in the material: what is compared between plan and program."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.program.hole_visits import upright
from holecam.program.moves import Floats, Kind, Mask, Moves, as_slice
from holecam.program.paths import lengths, points_at, radii, sweeps

Indexes = NDArray[np.intp]

HALF_TURN = np.pi * (1 + 1e-9)
"""Radians. Longer arcs are compared in halves, so that three points tell an arc without doubt."""


class Pieces(Struct, frozen=True, eq=False):
    """Straight pieces and arcs of at most half a turn.

    ``move`` is the index of the move that a piece comes from. ``start``, ``middle``, ``end`` are (n, 3), mm.
    """

    moves: Moves
    move: Indexes
    middle: Floats
    sweep: Floats
    radius: Floats
    length: Floats

    def __len__(self) -> int:
        return len(self.moves)

    @property
    def start(self) -> Floats:
        """Where pieces begin."""
        return self.moves.start

    @property
    def end(self) -> Floats:
        """Where pieces end."""
        return self.moves.end

    def take(self, index: Indexes | Mask | slice) -> Pieces:
        """Return some of the pieces."""
        index = as_slice(index)
        return Pieces(
            self.moves.take(index),
            self.move[index],
            self.middle[index],
            self.sweep[index],
            self.radius[index],
            self.length[index],
        )


def pieces_of(moves: Moves, move: Indexes) -> Pieces:
    """Return moves as pieces; ``move`` says which moves they come from."""
    return Pieces(moves, move, points_at(moves, 0.5), sweeps(moves), radii(moves), lengths(moves))


def cutting_pieces(
    moves: Moves, top: float, tolerance: float, along_axis_only: set[int], step: float, *, clipped: bool = True
) -> Pieces:
    """Return what is cut at feed below ``top``, drilling left out, without the pieces that rounding makes vanish.

    Parameters
    ----------
    moves : Moves
    top : float
        Top of the stock, mm. Straight pieces are clipped there: what lies above is air.
    tolerance : float
        mm.
    along_axis_only : set of int
        Tools that make holes; their upright feeds are compared as holes.
    step : float
        Last written decimal, mm.
    clipped : bool
        False leaves the air part of pieces that pass the top.
    """
    with np.errstate(invalid="ignore"):
        low = np.minimum(moves.start[:, 2], moves.end[:, 2])
        cut = (moves.kind != Kind.RAPID) & (low < top - tolerance)
    cut &= ~np.isnan(moves.start).any(axis=1) & ~np.isnan(moves.end).any(axis=1)
    if along_axis_only:
        drills = moves.per_setup([float(s.tool in along_axis_only) for s in moves.setups]) > 0
        cut &= ~(drills & upright(moves))
    short = cut & (moves.kind == Kind.FEED) & (np.abs(moves.end - moves.start) <= step).all(axis=1)
    maybe = np.flatnonzero(short)
    if len(maybe):
        gone = np.round(moves.start[maybe] / step) == np.round(moves.end[maybe] / step)
        cut[maybe[gone.all(axis=1)]] = False
    index = np.flatnonzero(cut)
    some = moves.take(index)
    if clipped:
        some = _clipped(some, top)
    return _halved(pieces_of(some, index))


def _clipped(moves: Moves, top: float) -> Moves:
    """Return the moves with their air part cut off: of straight pieces, and of helices."""
    z0, z1 = moves.start[:, 2], moves.end[:, 2]
    feed = moves.kind != Kind.RAPID
    down, up = feed & (z0 > top) & (z1 < top), feed & (z1 > top) & (z0 < top)
    if not (down.any() or up.any()):
        return moves
    start, end = moves.start.copy(), moves.end.copy()
    for mask, target in ((down, start), (up, end)):
        if mask.any():
            target[mask] = _at_height(moves, mask, top)
    return Moves(moves.line, moves.kind, start, end, moves.center, moves.feed, moves.setup, moves.cycle, moves.setups)


def _at_height(moves: Moves, mask: Mask, top: float) -> Floats:
    """Return where these moves pass a height, shape (n, 3)."""
    a, b = moves.start[mask], moves.end[mask]
    share = (top - a[:, 2]) / (b[:, 2] - a[:, 2])
    at = a + share[:, None] * (b - a)
    arc = moves.kind[mask] != Kind.FEED
    if arc.any():
        center = moves.center[mask][arc]
        from_center = a[arc, :2] - center[:, :2]
        angle = np.arctan2(from_center[:, 1], from_center[:, 0]) + share[arc] * sweeps(moves)[mask][arc]
        size = np.hypot(from_center[:, 0], from_center[:, 1])
        at[arc, 0] = center[:, 0] + size * np.cos(angle)
        at[arc, 1] = center[:, 1] + size * np.sin(angle)
    return np.asarray(at, dtype=np.float64)


def _halved(pieces: Pieces) -> Pieces:
    """Return the pieces with every arc of more than half a turn as two."""
    long = np.abs(pieces.sweep) > HALF_TURN
    if not long.any():
        return pieces
    moves = pieces.moves
    order = np.repeat(np.arange(len(moves)), np.where(long, 2, 1))
    first = np.concatenate(([True], order[1:] != order[:-1]))
    second = ~first
    doubled = moves.take(order)
    start, end = doubled.start.copy(), doubled.end.copy()
    middle = pieces.middle[order]
    end[first & long[order]] = middle[first & long[order]]
    start[second] = middle[second]
    split = Moves(
        doubled.line, doubled.kind, start, end, doubled.center, doubled.feed, doubled.setup, doubled.cycle, moves.setups
    )
    return _halved(pieces_of(split, pieces.move[order]))


def locate(pieces: Pieces, point: tuple[float, float, float]) -> tuple[Floats, Floats]:
    """Return for every piece its distance from a point in space, mm, and the share of the piece nearest to it."""
    a, d = pieces.start, pieces.end - pieces.start
    p = np.asarray(point)
    square = (d * d).sum(axis=1)
    share = np.clip(((p - a) * d).sum(axis=1) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    near = a + share[:, None] * d
    arc = np.flatnonzero(pieces.moves.kind >= Kind.ARC_CW)
    if len(arc):
        some = pieces.take(arc)
        c, sweep = some.moves.center, some.sweep
        first = np.arctan2(some.start[:, 1] - c[:, 1], some.start[:, 0] - c[:, 0])
        turn = (np.arctan2(p[1] - c[:, 1], p[0] - c[:, 0]) - first) * np.sign(sweep) % (2 * np.pi)
        reach = np.abs(sweep)
        # Outside the sweep: the nearer end
        part = np.where(turn <= reach, turn / reach, np.where(turn - reach < 2 * np.pi - turn, 1.0, 0.0))
        angle = first + part * sweep
        near[arc, 0] = c[:, 0] + some.radius * np.cos(angle)
        near[arc, 1] = c[:, 1] + some.radius * np.sin(angle)
        near[arc, 2] = some.start[:, 2] + part * (some.end[:, 2] - some.start[:, 2])
        share[arc] = part
    return np.sqrt(((near - p) ** 2).sum(axis=1)), share


def part_of(pieces: Pieces, index: int, first: float, last: float) -> Pieces:
    """Return one piece from one share of it to another."""
    one = pieces.take(slice(index, index + 1))
    moves = one.moves
    start = points_at(moves, first) if first > 0 else moves.start
    end = points_at(moves, last) if last < 1 else moves.end
    cut = Moves(moves.line, moves.kind, start, end, moves.center, moves.feed, moves.setup, moves.cycle, moves.setups)
    return pieces_of(cut, one.move)
