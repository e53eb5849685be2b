"""Joints as centred arrays: squared distances with their derivatives, ratios, and the least-squares start.

Each screw i has an offset ``d_i = R p_i + t - c_i`` and may use a disc of radius ``rho_i``, slid along a slot if it has
one. ``D_i`` is the squared distance of ``d_i`` from the slot's line, from the origin for a round hole.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

EXACT_FIT = 1e-8
"""Ratio below which the pattern fits as if drilled through: a hundredth of a nanometre for a play of 1 mm."""


class JointArrays(Struct, frozen=True, eq=False):
    """Joints as arrays, in a frame centred for the arithmetic.

    ``part`` and ``mate`` (n, 2), ``play`` and ``half`` (n,), ``axis`` (n, 2) unit vectors along the slots,
    ``in_part`` (n,) whether the slot turns with the part; ``turns`` and ``basis`` (2, k) say which motions are free;
    ``slotted`` whether any slot is among them at all.
    """

    part: Floats
    mate: Floats
    play: Floats
    half: Floats
    axis: Floats
    in_part: Bools
    turns: bool
    basis: Floats
    slotted: bool

    def subset(self, keep: NDArray[np.intp]) -> JointArrays:
        """Return the same problem with fewer joints."""
        return JointArrays(
            self.part[keep],
            self.mate[keep],
            self.play[keep],
            self.half[keep],
            self.axis[keep],
            self.in_part[keep],
            self.turns,
            self.basis,
            self.slotted,
        )


class Squares(Struct, frozen=True, eq=False):
    """Squared distances (n,), their first (n, v) and second (n, v, v) derivatives, and their two parts.

    Variables: the turn if it is free, then the shifts. ``along`` is the offset past the slot's end, ``across`` square
    to it.
    """

    value: Floats
    first: Floats
    second: Floats
    along: Floats
    across: Floats


def squares(a: JointArrays, turn: float, shift: Floats) -> Squares:
    """Return the squared distances at a turn (radians) and shifts (k,), with their derivatives."""
    c, s = math.cos(turn), math.sin(turn)
    q = a.part @ np.array([[c, s], [-s, c]])
    if not a.slotted:
        return _round_squares(a, q, q + (a.basis @ shift - a.mate))
    e = np.where(a.in_part[:, None], a.axis @ np.array([[c, s], [-s, c]]), a.axis)
    n = np.column_stack((-e[:, 1], e[:, 0]))
    w = a.basis @ shift - a.mate
    d = q + w
    first_var, k = int(a.turns), a.basis.shape[1]
    size = first_var + k
    grads = []
    hessians = []
    for axis, partner in ((e, n), (n, -e)):
        grad = np.zeros((len(q), size))
        hess = np.zeros((len(q), size, size))
        grad[:, first_var:] = axis @ a.basis
        if a.turns:
            turned = axis[:, 1] * q[:, 0] - axis[:, 0] * q[:, 1]  # axis . J q
            carried = np.sum(partner * w, axis=1)  # a slot that turns with the part
            grad[:, 0] = np.where(a.in_part, carried, turned)
            hess[:, 0, 0] = -np.where(a.in_part, np.sum(axis * w, axis=1), np.sum(axis * q, axis=1))
            cross = np.where(a.in_part[:, None], partner @ a.basis, 0.0)
            hess[:, 0, first_var:] = cross
            hess[:, first_var:, 0] = cross
        grads.append(grad)
        hessians.append(hess)
    alpha, beta = np.sum(e * d, axis=1), np.sum(n * d, axis=1)
    along = alpha - np.clip(alpha, -a.half, a.half)
    counts = (np.abs(alpha) >= a.half).astype(np.float64)  # within the slot the sideways part alone counts
    first = 2.0 * (along[:, None] * grads[0] + beta[:, None] * grads[1])
    second = 2.0 * (
        counts[:, None, None] * grads[0][:, :, None] * grads[0][:, None, :]
        + along[:, None, None] * hessians[0]
        + grads[1][:, :, None] * grads[1][:, None, :]
        + beta[:, None, None] * hessians[1]
    )
    return Squares(along**2 + beta**2, first, second, along, beta)


def _round_squares(a: JointArrays, q: Floats, d: Floats) -> Squares:
    """Return the same for round holes alone, where the square is that of the whole offset."""
    n, first_var = len(q), int(a.turns)
    size = first_var + a.basis.shape[1]
    first = np.empty((n, size))
    second = np.empty((n, size, size))
    first[:, first_var:] = d @ a.basis
    second[:, first_var:, first_var:] = a.basis.T @ a.basis
    if a.turns:
        first[:, 0] = d[:, 1] * q[:, 0] - d[:, 0] * q[:, 1]
        second[:, 0, 0] = (q * (q - d)).sum(axis=1)
        cross = np.column_stack((-q[:, 1], q[:, 0])) @ a.basis
        second[:, 0, first_var:] = cross
        second[:, first_var:, 0] = cross
    return Squares((d * d).sum(axis=1), 2.0 * first, 2.0 * second, d[:, 0], d[:, 1])


def ratios(a: JointArrays, turn: float, shift: Floats) -> Floats:
    """Return distance over play of every joint (n,)."""
    c, s = math.cos(turn), math.sin(turn)
    spin = np.array([[c, s], [-s, c]])
    d = a.part @ spin + a.basis @ shift - a.mate
    if not a.slotted:
        return np.asarray(np.hypot(d[:, 0], d[:, 1]) / a.play)
    e = np.where(a.in_part[:, None], a.axis @ spin, a.axis)
    alpha = np.sum(e * d, axis=1)
    along = alpha - np.clip(alpha, -a.half, a.half)
    across = e[:, 0] * d[:, 1] - e[:, 1] * d[:, 0]
    return np.asarray(np.hypot(along, across) / a.play)


def least_squares_start(a: JointArrays, weights: Floats, *, rounds: int = 4) -> tuple[float, Floats]:
    """Return the turn and shifts of the weighted least-squares fit; slots are followed for a few rounds."""
    turn, shift = 0.0, np.zeros(a.basis.shape[1])
    goal = a.mate
    for _ in range(rounds if a.slotted else 1):
        total = weights.sum()
        if a.turns:
            # Of a loose part the goals are centred; about which point the part is taken then makes no difference
            p, c = a.part, goal - weights @ goal / total if a.basis.shape[1] == 2 else goal
            dot = float(weights @ (p * c).sum(axis=1))
            cross = float(weights @ (p[:, 0] * c[:, 1] - p[:, 1] * c[:, 0]))
            turn = math.atan2(cross, dot) if dot or cross else 0.0
        co, si = math.cos(turn), math.sin(turn)
        spin = np.array([[co, si], [-si, co]])
        moved = a.part @ spin
        if a.basis.shape[1]:
            shift = a.basis.T @ (weights @ (goal - moved) / total)
        if a.slotted:
            d = moved + a.basis @ shift - a.mate
            e = np.where(a.in_part[:, None], a.axis @ spin, a.axis)
            goal = a.mate + np.clip(np.sum(e * d, axis=1), -a.half, a.half)[:, None] * e
    return turn, shift
