"""Proof that no other turn and shift makes the worst screw easier: multipliers and a lower bound in closed form.

For any weights ``l_i >= 0`` that sum to 1, ``max_i (D_i / rho_i^2) >= sum_i l_i D_i / rho_i^2 =: Q``. For round holes
Q is a weighted least-squares objective, and its least value over all turns and shifts at once has a closed form. The
multipliers of the binding screws are the weights for which this bound meets the answer. So the proof holds over every
turn, not only near the one found: it fails only where the weighted patterns disagree so much that the fit of Q would
turn them further.

For a slot of the mate, ``D >= (n . d)^2 + max(0, |e . d| - half)^2`` with the second square replaced by its tangent:
Q stays a quadratic in (cos, sin, shift), with second harmonics in the turn, and its least value is found among the
roots of a quartic, among the turns that a bound on the sum of squares leaves possible. A slot that turns with the
part while another belongs to the mate is taken at the direction found: the proof is then local and says so.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.layout.bolt_up_arrays import EXACT_FIT, Floats, JointArrays, ratios, squares

PROOF_GAP = 1e-7
"""Greatest difference of the two bounds, as a share of the greater of 1 and the ratio, at which the answer counts as
proved: 0.1 micron for a play of 1 mm."""

BINDING = 1e-7
"""A screw whose ratio comes this near to the worst (as a share of the greater of 1 and the worst) is a binding one."""

NEARLY_BINDING = 1e-6
"""Share by which a screw may stay below the worst ratio and still carry a weight in the proof: any weights give a true
bound, the best are sought."""


class Bounds(Struct, frozen=True, eq=False):
    """Weights (n,) of the proof, lower and upper bound of the ratio, and whether the lower one holds for every turn."""

    weights: Floats
    lower: float
    upper: float
    everywhere: bool


def nonnegative_solution(matrix: Floats, right: Floats) -> Floats:
    """Return x >= 0 that makes ``|matrix x - right|`` least (Lawson and Hanson 1974, active set)."""
    rows, columns = matrix.shape
    passive = np.zeros(columns, dtype=bool)
    x = np.zeros(columns)
    tolerance = 1e-14 * max(1.0, float(np.abs(matrix).max(initial=0.0))) * max(rows, columns)
    for _ in range(5 * columns + 5):
        slope = matrix.T @ (right - matrix @ x)
        slope[passive] = -np.inf
        pick = int(np.argmax(slope))
        if slope[pick] <= tolerance:
            break
        passive[pick] = True
        while True:
            trial = np.zeros(columns)
            trial[passive] = np.linalg.lstsq(matrix[:, passive], right, rcond=None)[0]
            if trial[passive].min(initial=1.0) > 0.0:
                x = trial
                break
            blocked = passive & (trial <= 0.0)
            share = float(np.min(x[blocked] / np.maximum(x[blocked] - trial[blocked], 1e-300)))
            x = x + share * (trial - x)
            passive &= ~(blocked & (x <= 1e-15))
            x[~passive] = 0.0
            if not passive.any():
                return x
    return x


def turn_window(a: JointArrays, ratio: float) -> tuple[float, float]:
    """Return the middle and half width (radians) of the turns at which a ratio no worse than ``ratio`` can be had at
    all.

    There every offset is at most ``ratio * rho + half``, so the sum of squares is bounded, and over the turns that
    sum is one cosine about the least-squares turn. Half width pi: every turn can.
    """
    p, c = a.part, a.mate
    if a.basis.shape[1] == 2:
        p, c = p - p.mean(axis=0), c - c.mean(axis=0)
    dot, cross = float((p * c).sum()), float((p[:, 0] * c[:, 1] - p[:, 1] * c[:, 0]).sum())
    swing = 2.0 * math.hypot(dot, cross)
    allowed = float(((ratio * a.play + a.half) ** 2).sum())
    excess = float((p * p).sum() + (c * c).sum()) - allowed
    if excess <= -swing or swing == 0.0:
        return 0.0, math.pi
    return math.atan2(cross, dot), math.acos(min(1.0, max(-1.0, excess / swing)))


def _least_over_turns(g2: Floats, g1: Floats, window: tuple[float, float]) -> float:
    """Return the least of ``z.g2.z + g1.z`` over ``z = (cos v - 1, sin v)``, v in the window; at most 0 (v = 0)."""

    def value(v: float) -> float:
        z = np.array([-2.0 * math.sin(v / 2.0) ** 2, math.sin(v)])
        return float(z @ g2 @ z + g1 @ z)

    # With c = cos v, s = sin v the derivative is P sin 2v + Q cos 2v + A sin v + B cos v
    a11, a12, a22 = float(g2[0, 0]), float(g2[0, 1]), float(g2[1, 1])
    p, q = a22 - a11, 2.0 * a12
    big_a, big_b = 2.0 * a11 - float(g1[0]), float(g1[1]) - 2.0 * a12
    candidates = [0.0]
    harmonic = max(abs(p), abs(q))
    if harmonic <= 1e-13 * max(abs(big_a), abs(big_b), 1e-300):
        candidates += [math.atan2(-big_b, big_a), math.atan2(big_b, -big_a)]
    else:
        # u = exp(iv): quartic in u
        roots = np.roots([q - 1j * p, big_b - 1j * big_a, 0.0, big_b + 1j * big_a, q + 1j * p])
        candidates += [float(np.angle(u)) for u in roots if abs(u) > 0.0]
    middle, width = window
    best = 0.0
    if width < math.pi:
        best = min(value(middle - width), value(middle + width), 0.0)
    for v in candidates:
        for _ in range(4):  # Newton steps: the bound must not suffer from the roots' own error
            first = p * math.sin(2 * v) + q * math.cos(2 * v) + big_a * math.sin(v) + big_b * math.cos(v)
            second = 2 * p * math.cos(2 * v) - 2 * q * math.sin(2 * v) + big_a * math.cos(v) - big_b * math.sin(v)
            if second <= 0.0 or not math.isfinite(first / second):
                break
            v -= first / second
        if abs(math.remainder(v - middle, math.tau)) <= width:
            best = min(best, value(v))
    return best


def lower_bound(
    a: JointArrays, turn: float, shift: Floats, weights: Floats, window: tuple[float, float] | None = None
) -> float:
    """Return a ratio that no turn (within the window, if one is given) and shift can beat, from weights (n,), sum 1.

    Rigorous up to rounding when no slot turns with the part against a slot of the mate.
    """
    use = np.flatnonzero(weights > 0.0)
    sub, lam = a.subset(use), weights[use]
    sq = squares(sub, turn, shift)
    c, s = math.cos(turn), math.sin(turn)
    spin = np.array([[c, s], [-s, c]])
    q = sub.part @ spin
    e = np.where(sub.in_part[:, None], sub.axis @ spin, sub.axis)
    n = np.column_stack((-e[:, 1], e[:, 0]))
    k = sub.basis.shape[1]
    size = 2 + k
    jq = np.column_stack((-q[:, 1], q[:, 0]))
    h, g, const = np.zeros((size, size)), np.zeros(size), 0.0
    scale = lam / sub.play**2
    round_hole = sub.half == 0.0
    for direction, amount, whole in ((e, sq.along, round_hole), (n, sq.across, np.ones(len(use), dtype=bool))):
        row = np.column_stack((np.sum(direction * q, axis=1), np.sum(direction * jq, axis=1), direction @ sub.basis))
        # amount + row . z, squared; for the end of a slot only the tangent of the square is safe
        h += (row * (scale * whole)[:, None]).T @ row
        g += 2.0 * (scale * amount) @ row
        const += float(scale @ amount**2)
    if k:
        values, vectors = np.linalg.eigh(h[2:, 2:])
        firm = values > 1e-12 * max(float(values.max(initial=0.0)), 1e-300)
        inverse = (vectors[:, firm] / values[firm]) @ vectors[:, firm].T
        loose = vectors[:, ~firm]
        reach = 4.0 * float(np.abs(a.mate).max() + np.abs(a.part).max() + a.half.max() + a.play.max())
        const -= float(np.abs(loose.T @ g[2:]).sum()) * reach
        h2 = h[:2, :2] - h[:2, 2:] @ inverse @ h[2:, :2]
        g1 = g[:2] - h[:2, 2:] @ inverse @ g[2:]
        const -= float(g[2:] @ inverse @ g[2:]) / 4.0
    else:
        h2, g1 = h[:2, :2], g[:2]
    if a.turns:
        middle, width = (0.0, math.pi) if window is None else window
        const += _least_over_turns(h2, g1, (middle - turn, width))
    return math.sqrt(max(0.0, const))


def certify(a: JointArrays, turn: float, shift: Floats) -> Bounds:
    """Return the multipliers of the binding joints and the bounds that they prove."""
    values = ratios(a, turn, shift)
    upper = float(values.max())
    weights = np.zeros(len(values))
    everywhere = not (bool(a.in_part.any()) and a.turns)
    if upper <= EXACT_FIT:
        return Bounds(weights, 0.0, upper, True)
    act = np.flatnonzero(values >= upper * (1.0 - NEARLY_BINDING))
    if not a.turns and not a.basis.shape[1]:
        weights[int(np.argmax(values))] = 1.0
        return Bounds(weights, upper, upper, True)
    sq = squares(a.subset(act), turn, shift)
    gradient = sq.first / (2.0 * np.sqrt(sq.value) * a.play[act])[:, None]
    matrix = np.vstack((gradient.T * float(a.play[act].min()), np.ones(len(act))))
    right = np.zeros(len(matrix))
    right[-1] = 1.0
    found = nonnegative_solution(matrix, right)
    total = float(found.sum())
    if not total > 0.0:
        weights[int(np.argmax(values))] = 1.0
    else:
        weights[act] = found / total
    # Slots are bounded as endless ones, which may fit at some far turn where the pattern itself never could
    window = turn_window(a, upper) if a.slotted and a.turns else None
    return Bounds(weights, min(upper, lower_bound(a, turn, shift, weights, window)), upper, everywhere)
