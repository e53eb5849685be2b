"""Find the turn and shift that make the worst screw easiest: a barrier, Newton steps and an exchange of screws.

We look for the least s with ``D_i <= s^2 rho_i^2`` for all i. Few screws bind, so the problem is solved on a small
set by a logarithmic barrier and Newton steps, the worst screws outside are added, and so on until nobody is worse.
The answer is polished by Newton's method on the equations of the binding screws as soon as their multipliers are
plain, and proved.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from holecam.layout.bolt_up_arrays import EXACT_FIT, Floats, JointArrays, ratios, squares
from holecam.layout.bolt_up_certificate import certify

VIOLATION = 1e-10
"""Ratio by which a screw outside the working set may exceed the set's own answer: arithmetic noise."""

BARRIER_GAPS = (3e-2, 3e-4, 3e-6, 3e-8, 1e-9)
"""Relative gaps to which the barrier is driven in turn. Most problems are polished and proved after the third or
fourth."""

SMALL_ENOUGH = 1e-3
"""Relative gap from which the multipliers are plain enough to try the polish."""

FARTHEST_STEP = 0.1
"""Share of the pattern's size (radians, for the turn) beyond which a step of the polish has lost its way."""

WORKING_SET = 7
"""Screws in the first working set: four bind at most when nothing is degenerate."""


def _newton_step(hess: Floats, grad: Floats) -> Floats:
    """Return a descent step: the matrix scaled by its diagonal, its directions of negative curvature turned round."""
    scale = 1.0 / np.sqrt(np.maximum(np.abs(np.diag(hess)), 1e-300))
    values, vectors = np.linalg.eigh(hess * scale[:, None] * scale[None, :])
    values = np.maximum(np.abs(values), 1e-12 * max(1e-300, float(np.abs(values).max())))
    return np.asarray(-scale * (vectors @ ((vectors.T @ (scale * grad)) / values)))


def _centre(a: JointArrays, x: Floats, s: float, sharpness: float) -> tuple[Floats, float]:
    """Return variables and ratio after Newton steps on the barrier at one sharpness."""
    first_var, v = int(a.turns), x.size
    rho2 = a.play**2
    for _ in range(40):
        sq = squares(a, float(x[0]) if first_var else 0.0, x[first_var:])
        slack = (s * s - ratios(a, float(x[0]) if first_var else 0.0, x[first_var:]) ** 2) * rho2
        inv = 1.0 / slack
        pull = 2.0 * s * rho2 * inv
        weighted = sq.first * inv[:, None]
        grad = np.empty(v + 1)
        grad[:v] = weighted.sum(axis=0)
        grad[v] = sharpness - float(pull.sum())
        hess = np.empty((v + 1, v + 1))
        hess[:v, :v] = np.tensordot(inv, sq.second, 1) + weighted.T @ weighted
        hess[:v, v] = hess[v, :v] = -(pull @ weighted)
        hess[v, v] = float(pull @ pull - 2.0 * (rho2 @ inv))
        step = _newton_step(hess, grad)
        decrement = -float(grad @ step)
        here = sharpness * s - float(np.log(slack).sum())
        length = 1.0
        while length > 1e-9:
            new_x, new_s = x + length * step[:v], s + length * float(step[v])
            if new_s > 0.0:
                turn = float(new_x[0]) if first_var else 0.0
                new_slack = (new_s * new_s - ratios(a, turn, new_x[first_var:]) ** 2) * rho2
                if (
                    new_slack.min() > 0.0
                    and sharpness * new_s - float(np.log(new_slack).sum()) <= here - 1e-4 * length * decrement
                ):
                    x, s = new_x, new_s
                    break
            length *= 0.5
        if decrement <= 1e-3 or length <= 1e-9:
            break
    return x, s


def _barrier(a: JointArrays, turn: float, shift: Floats) -> Iterator[tuple[float, float, Floats, Floats]]:
    """Yield the gap reached, turn, shifts and multipliers (n,) of a small set of joints as the barrier sharpens."""
    first_var = int(a.turns)
    rho2 = a.play**2
    s = float(ratios(a, turn, shift).max()) * 1.2 + EXACT_FIT
    x = np.concatenate((np.full(first_var, turn), shift))
    for gap in BARRIER_GAPS:
        x, s = _centre(a, x, s, 2.0 * len(rho2) / (gap * s))
        turn = float(x[0]) if first_var else 0.0
        slack = np.maximum((s * s - ratios(a, turn, x[first_var:]) ** 2) * rho2, 1e-300)
        multipliers = s * rho2 / slack
        yield gap, turn, x[first_var:], multipliers / multipliers.sum()
        if s <= EXACT_FIT:
            return


def _polish(a: JointArrays, turn: float, shift: Floats, multipliers: Floats) -> tuple[float, Floats]:
    """Return turn and shifts after Newton steps on the equations of the binding joints; the start if they do not
    help."""
    first_var = int(a.turns)
    v = first_var + a.basis.shape[1]
    best = (turn, shift)
    best_ratio = float(ratios(a, turn, shift).max())
    for floor in (1e-2, 1e-3, 1e-6):
        act = np.flatnonzero(multipliers > floor)
        if not len(act):
            continue
        sub = a.subset(act)
        x = np.concatenate((np.full(first_var, turn), shift))
        lam = multipliers[act] / multipliers[act].sum()
        s = best_ratio
        for _ in range(8):
            sq = squares(sub, float(x[0]) if first_var else 0.0, x[first_var:])
            root = np.sqrt(sq.value)
            if root.min() <= 0.0:
                break
            gradient = sq.first / (2.0 * root * sub.play)[:, None]
            curvature = sq.second / (2.0 * root * sub.play)[:, None, None] - (
                sq.first[:, :, None] * sq.first[:, None, :] / (4.0 * root**3 * sub.play)[:, None, None]
            )
            m = len(act)
            matrix = np.zeros((v + m + 1, v + 1 + m))
            right = np.empty(v + m + 1)
            matrix[:v, :v] = np.einsum("n,nij->ij", lam, curvature)
            matrix[:v, v + 1 :] = gradient.T
            matrix[v : v + m, :v] = gradient
            matrix[v : v + m, v] = -1.0
            matrix[v + m, v + 1 :] = 1.0
            right[:v] = -(gradient.T @ lam)
            right[v : v + m] = s - root / sub.play
            right[v + m] = 1.0 - lam.sum()
            scale = 1.0 / np.maximum(np.abs(matrix).max(axis=0), 1e-300)
            step = np.linalg.lstsq(matrix * scale, right, rcond=1e-13)[0] * scale
            x, s, lam = x + step[:v], s + float(step[v]), lam + step[v + 1 :]
            if not (np.isfinite(lam).all() and float(np.abs(step[:v]).max(initial=0.0)) < FARTHEST_STEP):
                break
            value = float(ratios(a, float(x[0]) if first_var else 0.0, x[first_var:]).max())
            if value < best_ratio:
                best_ratio, best = value, (float(x[0]) if first_var else 0.0, x[first_var:].copy())
            if float(np.abs(step[:v]).max(initial=0.0)) < 1e-16:
                break
    return best


def _small_minimax(a: JointArrays, turn: float, shift: Floats) -> tuple[float, Floats]:
    """Return turn and shifts at the least worst ratio of a small set of joints."""
    best, best_ratio = (turn, shift), float(ratios(a, turn, shift).max())
    for gap, sharp_turn, sharp_shift, multipliers in _barrier(a, turn, shift):
        found = (sharp_turn, sharp_shift)
        ratio = float(ratios(a, *found).max())
        if gap <= SMALL_ENOUGH and ratio > EXACT_FIT:
            found = _polish(a, *found, multipliers)
            ratio = float(ratios(a, *found).max())
        if ratio < best_ratio:
            best, best_ratio = found, ratio
        if ratio <= EXACT_FIT:
            break
        if gap <= SMALL_ENOUGH:
            bounds = certify(a, *best)
            if bounds.upper - bounds.lower <= VIOLATION * max(1.0, bounds.upper):
                break
    return best


def minimax(a: JointArrays, start: tuple[float, Floats]) -> tuple[float, Floats]:
    """Return the turn (radians) and shifts (k,) at a least worst ratio, reached from a start by descent.

    The caller proves the answer (:mod:`holecam.layout.bolt_up_certificate`); nothing here depends on luck except the
    valley that the start lies in.
    """
    best = start
    here = ratios(a, *start)
    best_ratio = float(here.max())
    if (not a.turns and not a.basis.shape[1]) or best_ratio <= EXACT_FIT:
        return start
    working = np.argsort(-here, kind="stable")[:WORKING_SET]
    for _ in range(len(here) + 1):
        sub = a.subset(working)
        found = _small_minimax(sub, *best)
        bound = float(ratios(sub, *found).max())
        everywhere = ratios(a, *found)
        worst = float(everywhere.max())
        if worst < best_ratio:
            best, best_ratio = found, worst
        if worst <= bound + VIOLATION * max(1.0, bound):
            break
        outside = np.setdiff1d(np.argsort(-everywhere, kind="stable")[:3], working)
        outside = outside[everywhere[outside] > bound]
        if not len(outside):  # the violator is already inside: only noise is left
            break
        working = np.concatenate((working, outside))
    return best
