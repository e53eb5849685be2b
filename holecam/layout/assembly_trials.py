"""Many trial assemblies at once: which of them go together, decided by certified bounds, and exactly where these are
silent.

Each trial is first fitted by weighted least squares. If every screw then enters, it goes together: that needs no
further proof. The weighted sum of squares is a lower bound for the worst screw, so if its least value over all
allowed motions is above 1 the trial cannot go together. The weights move toward the screws that are worst (Lawson's
iteration) and the two bounds close in on each other. What is still open after that is solved exactly, one by one.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from holecam.layout.bolt_up import JUST_ENTERS, must_exchange, prepare_arrays, solve
from holecam.layout.bolt_up_arrays import Bools, Floats
from holecam.layout.bolt_up_motion import Freedom, Motion

ROUNDS = 120
"""Weight changes before a trial is handed to the exact solver: most trials need fewer than five."""

LEAST_SHARE = 0.05
"""A weight shrinks at most to this share in one round, so that a screw that happens to sit well is not lost for
good."""

BLAMED = 30
"""Failed trials that are solved exactly to learn which screws hold the others back."""

CHUNK = 30_000
"""Screws handled in one go: the arrays then stay in the processor's cache."""


class TrialOutcome(Struct, frozen=True, eq=False):
    """What the trials gave: ``entered`` (b,), and how many trials the bounds left open to be ``solved`` exactly.

    ``blame`` (n,): mean multipliers of the first failed trials, solved exactly; zeros where none failed.
    """

    entered: Bools
    solved: int
    blame: Floats


class _Trials(Struct, frozen=True, eq=False):
    """Trials as arrays in mm: ``part`` and ``mate`` (b, n, 2), the rest (n,) or (n, 2) and alike for all."""

    part: Floats
    mate: Floats
    play: Floats
    half: Floats
    axis: Floats
    turns: bool
    basis: Floats

    def subset(self, keep: Bools) -> _Trials:
        return _Trials(self.part[keep], self.mate[keep], self.play, self.half, self.axis, self.turns, self.basis)


def trial_outcomes(
    part: Floats, mate: Floats, play: Floats, half: Floats, axis: Floats, in_part: Bools, motion: Motion
) -> TrialOutcome:
    """Return which trials go together.

    Parameters
    ----------
    part, mate : (b, n, 2)
        Hole centres, mm, ``part`` already moved by ``motion.start``.
    play, half : (n,)
        Play and half slot length, mm.
    axis : (n, 2)
        Unit vectors along the slots; those of the part already turned by ``motion.start``.
    in_part : (n,)
        Whether the slot turns with the part.
    motion : Motion
    """
    count, n = part.shape[:2]
    entered = np.zeros(count, dtype=bool)
    solved = 0
    step = max(1, CHUNK // n)
    for first in range(0, count, step):
        piece = slice(first, min(count, first + step))
        open_trials, settled = _by_bounds(part[piece], mate[piece], play, half, axis, in_part, motion)
        for k in np.flatnonzero(open_trials):
            prepared = prepare_arrays(part[piece][k], mate[piece][k], play, half, axis, in_part, motion)
            settled[k] = solve(prepared)[2].upper <= 1.0 + JUST_ENTERS
            solved += 1
        entered[piece] = settled
    failed = np.flatnonzero(~entered)[:BLAMED]
    blame = np.zeros(n)
    for k in failed:
        prepared = prepare_arrays(part[k], mate[k], play, half, axis, in_part, motion)
        blame += solve(prepared)[2].weights / len(failed)
    return TrialOutcome(entered, solved, blame)


def _by_bounds(
    part: Floats, mate: Floats, play: Floats, half: Floats, axis: Floats, in_part: Bools, motion: Motion
) -> tuple[Bools, Bools]:
    """Return which trials are still open, and which of the others go together."""
    count, n = part.shape[:2]
    moving = in_part if motion.turns else np.zeros_like(in_part)
    provable = True
    if must_exchange(half, moving):
        part, mate = mate, part
    elif moving.any():
        provable = False  # slots in both members: only the exact solver follows them
    centre = np.array(motion.pivot) if motion.freedom is Freedom.ABOUT else mate.mean(axis=(0, 1))
    directions = motion.shift_directions
    basis = np.array(directions).T if directions else np.zeros((2, 0))
    trials = _Trials(part - centre, mate - centre, play, half, axis, motion.turns, basis)
    entered, is_open = np.zeros(count, dtype=bool), np.ones(count, dtype=bool)
    if not provable:
        return is_open, entered
    where = np.arange(count)
    weights = np.full((count, n), 1.0 / n)
    goal = trials.mate
    for _ in range(ROUNDS):
        upper, lower, ratios, goal = _bounds(trials, weights, goal)
        yes, no = upper <= 1.0 + JUST_ENTERS, lower > 1.0 + JUST_ENTERS
        entered[where[yes]] = True
        is_open[where[yes | no]] = False
        keep = ~(yes | no)
        if not keep.any():
            break
        where, trials, goal, ratios = where[keep], trials.subset(keep), goal[keep], ratios[keep]
        weights = weights[keep] * np.maximum(ratios, LEAST_SHARE * ratios.max(axis=1, keepdims=True))
        weights /= weights.sum(axis=1, keepdims=True)
    return is_open, entered


def _bounds(trials: _Trials, weights: Floats, goal: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return upper and lower bound (b,), the ratios (b, n) at the fit, and where on its slot each screw would sit."""
    scale = weights / trials.play**2
    total = scale.sum(axis=1)
    p, g = trials.part, goal
    free = trials.turns and trials.basis.shape[1] == 2
    mean_p = np.einsum("bn,bnk->bk", scale, p) / total[:, None] if free else np.zeros((len(p), 2))
    mean_g = np.einsum("bn,bnk->bk", scale, g) / total[:, None] if free else np.zeros((len(p), 2))
    p = p - mean_p[:, None]
    if trials.turns:
        away = g - mean_g[:, None]
        dot = np.einsum("bn,bnk,bnk->b", scale, p, away)
        cross = np.einsum("bn,bn->b", scale, p[:, :, 0] * away[:, :, 1] - p[:, :, 1] * away[:, :, 0])
        turn = np.arctan2(cross, dot)
        q = turned(p, turn)
    else:
        turn = np.zeros(len(p))
        q = p
    if free:
        shift = mean_g
    else:
        wish = np.einsum("bn,bnk->bk", scale, g - q) / total[:, None]
        shift = wish @ trials.basis @ trials.basis.T
    d = q + shift[:, None] - trials.mate
    if not trials.half.any():
        # no place is so far or so near that its square leaves the range of numbers; numpy.hypot is eight times slower
        ratios = np.sqrt(np.einsum("bnk,bnk->bn", d, d)) / trials.play
        if not trials.turns and not trials.basis.shape[1]:
            return ratios.max(axis=1), ratios.max(axis=1), ratios, goal
        # The fit is the least of the weighted squares over every allowed motion: a bound without further work
        return ratios.max(axis=1), np.sqrt((weights * ratios**2).sum(axis=1)), ratios, goal
    e = trials.axis
    n = np.column_stack((-e[:, 1], e[:, 0]))
    alpha, across = (d * e).sum(axis=2), (d * n).sum(axis=2)
    on_slot = np.clip(alpha, -trials.half, trials.half)
    along = alpha - on_slot
    ratios = np.hypot(along, across) / trials.play
    if trials.turns or trials.basis.shape[1]:
        lower = _slot_bound(trials, scale, turn, q, along, across)
    else:
        lower = ratios.max(axis=1)
    return ratios.max(axis=1), lower, ratios, trials.mate + on_slot[:, :, None] * e


def turned(points: Floats, turn: Floats) -> Floats:
    """Return patterns, shape (b, n, 2), each turned about the origin by its own angle, (b,), radians."""
    c, s = np.cos(turn)[:, None], np.sin(turn)[:, None]
    out = np.empty_like(points)
    out[:, :, 0] = c * points[:, :, 0] - s * points[:, :, 1]
    out[:, :, 1] = s * points[:, :, 0] + c * points[:, :, 1]
    return out


def _slot_bound(trials: _Trials, scale: Floats, turn: Floats, q: Floats, along: Floats, across: Floats) -> Floats:
    """Return the lower bound (b,) where slots are among the holes; 0 where it could not be made sure of.

    The quadratic of :mod:`holecam.layout.bolt_up_certificate`, its least value taken over the turns at which a ratio
    of 1 is possible at all, and only where it is convex there.
    """
    e = trials.axis
    n = np.column_stack((-e[:, 1], e[:, 0]))
    jq = np.stack((-q[:, :, 1], q[:, :, 0]), axis=2)
    k = trials.basis.shape[1]
    b, count = scale.shape
    h, g, const = np.zeros((b, 2 + k, 2 + k)), np.zeros((b, 2 + k)), np.zeros(b)
    whole = (trials.half == 0.0).astype(np.float64)
    for direction, amount, counts in ((e, along, whole), (n, across, np.ones(count))):
        row = np.empty((b, count, 2 + k))
        row[:, :, 0], row[:, :, 1] = (q * direction).sum(axis=2), (jq * direction).sum(axis=2)
        row[:, :, 2:] = direction @ trials.basis
        h += np.einsum("bn,bni,bnj->bij", scale * counts, row, row)
        g += 2.0 * np.einsum("bn,bni->bi", scale * amount, row)
        const += (scale * amount**2).sum(axis=1)
    sure = np.ones(b, dtype=bool)
    if k:
        block = h[:, 2:, 2:]
        values = np.linalg.eigvalsh(block)
        sure &= values[:, 0] > 1e-9 * values[:, -1]
        inverse = np.zeros_like(block)
        inverse[sure] = np.linalg.inv(block[sure])
        mixed = np.einsum("bij,bjk->bik", h[:, :2, 2:], inverse)
        const -= 0.25 * np.einsum("bi,bij,bj->b", g[:, 2:], inverse, g[:, 2:])
        g2 = g[:, :2] - np.einsum("bij,bj->bi", mixed, g[:, 2:])
        h2 = h[:, :2, :2] - np.einsum("bij,bjk->bik", mixed, h[:, 2:, :2])
    else:
        g2, h2 = g, h
    if trials.turns:
        drop, convex = _least_in_window(trials, turn, h2, g2)
        const += drop
        sure &= convex
    return np.where(sure, np.sqrt(np.maximum(const, 0.0)), 0.0)


def _least_in_window(trials: _Trials, turn: Floats, h: Floats, g: Floats) -> tuple[Floats, Bools]:
    """Return the least of the quadratic in (cos v - 1, sin v) over the possible turns (b,), and whether that is
    sure."""
    p, c = trials.part, trials.mate
    if trials.basis.shape[1] == 2:
        p, c = p - p.mean(axis=1, keepdims=True), c - c.mean(axis=1, keepdims=True)
    dot = (p * c).sum(axis=(1, 2))
    cross = (p[:, :, 0] * c[:, :, 1] - p[:, :, 1] * c[:, :, 0]).sum(axis=1)
    swing = 2.0 * np.hypot(dot, cross)
    excess = (p**2).sum(axis=(1, 2)) + (c**2).sum(axis=(1, 2)) - float(((trials.play + trials.half) ** 2).sum())
    impossible = excess > swing * (1.0 + 1e-12)
    width = np.arccos(np.clip(excess / np.maximum(swing, 1e-300), -1.0, 1.0))
    middle = np.remainder(np.arctan2(cross, dot) - turn + np.pi, 2.0 * np.pi) - np.pi
    pp, qq = h[:, 1, 1] - h[:, 0, 0], 2.0 * h[:, 0, 1]
    aa, bb = 2.0 * h[:, 0, 0] - g[:, 0], g[:, 1] - 2.0 * h[:, 0, 1]

    def slope(v: Floats) -> Floats:
        return np.asarray(pp * np.sin(2 * v) + qq * np.cos(2 * v) + aa * np.sin(v) + bb * np.cos(v))

    def bend(v: Floats) -> Floats:
        return np.asarray(2 * pp * np.cos(2 * v) - 2 * qq * np.sin(2 * v) + aa * np.cos(v) - bb * np.sin(v))

    steepest = 4.0 * (np.abs(pp) + np.abs(qq)) + np.abs(aa) + np.abs(bb)
    convex = bend(middle) > width * steepest
    v = middle.copy()
    for _ in range(6):
        v = np.clip(v - slope(v) / np.where(convex, bend(v), 1.0), middle - width, middle + width)
    x, y = -2.0 * np.sin(v / 2.0) ** 2, np.sin(v)
    value = h[:, 0, 0] * x**2 + 2.0 * h[:, 0, 1] * x * y + h[:, 1, 1] * y**2 + g[:, 0] * x + g[:, 1] * y
    inside = (v > middle - width) & (v < middle + width)
    value -= np.where(inside, np.abs(slope(v)) * 2.0 * width, 0.0)
    return np.where(impossible, np.inf, value), convex | impossible
