"""Best rigid fit of a pattern to measured holes: weighted least squares, never a reflection unless asked.

Closed form in the plane: centroids first, then turn = atan2(sum w (p x c), sum w (p . c)) of the centred points.
Umeyama 1991 (IEEE TPAMI 13:376-380) treats the general case and the trap of the reflection.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.patterns import COINCIDENT_HOLES, PatternPoints
from holecam.layout.placing import PlacedPattern, placed
from holecam.layout.two_holes import residual
from holecam.plan.reports import HoleResidual
from holecam.shapes import Placement, Point, distance, half_turn_range

NO_TURN_BELOW = 1e-9
"""Ratio. Below this share of the largest possible sum the centred points say nothing about the turn: it is noise."""

SUSPECT_CHANCE = 0.05
"""A measured hole is named as suspect when chance alone would make some hole look as bad in fewer than one fit of
twenty. A choice, not a law of nature: low enough that the shop is not sent to measure again for nothing."""

FEWEST_FOR_SUSPECT = 4
"""With three holes a wrong one bends the fit so far that all three look alike; naming one would be a guess."""

MOST_FOR_SUSPECT = 400
"""Every hole is left out once, so the work grows with the square; more holes than this are not searched."""

MIRROR_BETTER_BY = 0.5
"""Ratio. The mirror image is mentioned when its residuals are less than half as large: not by a lucky digit."""


class MeasuredHole(Struct, frozen=True):
    """A hole of the pattern and where it was found, part frame, mm; ``doubt`` is its standard doubt, mm, per axis."""

    number: int
    at: Point
    doubt: float | None = None


class RigidFit(Struct, frozen=True):
    """A least-squares motion with its evidence.

    Parameters
    ----------
    motion : Placement
        Its pivot is the weighted middle of the pattern's points, its shift the middle of the measured ones.
    rms : float
        Root of the weighted mean square of the distances left over, mm.
    square_sum : float
        Weighted sum of the squared distances left over.
    leverage : float
        Weighted sum of squared distances from the middle: how firmly the points hold the turn.
    spread_ratio : float
        Spread of the measured points over that of the pattern: 1 when the sizes agree, 25.4 when inches meet mm.
    """

    motion: Placement
    rms: float
    square_sum: float
    leverage: float
    spread_ratio: float


class NoFit(Struct, frozen=True):
    """Why no fit could be made, in one word for programs and in a sentence for people."""

    reason: Literal["found in one place", "turn not determined"]
    words: str


class BestFit(Struct, frozen=True):
    """A pattern fitted to measured holes, with what is left over.

    Parameters
    ----------
    placed : PlacedPattern
    fit : RigidFit
    residuals : tuple of HoleResidual
        For each measured hole: where the placed pattern has it, less where it was found.
    worst : HoleResidual
    rms : float
        Root of the (weighted) mean square of the distances, mm.
    scatter : float or None
        Standard deviation of one coordinate judged from what is left over, mm: root of the sum of squares by
        (2 n - 3), three figures being used up by the motion. ``None`` with stated doubts, see ``doubt_ratio``.
    doubt_ratio : float or None
        What is left over against the stated doubts: 1 when they were honest, above when something else is wrong.
    suspects : tuple of int
        Holes that do not agree with the others (see :data:`SUSPECT_CHANCE`); empty when none stands out or when there
        are too few holes to tell.
    mirror_fits_better : bool
        The mirror image would leave less than half as much: the part may be the other hand.
    words : tuple of str
        What a reader should know, in sentences.
    """

    placed: PlacedPattern
    fit: RigidFit
    measured: tuple[MeasuredHole, ...]
    residuals: tuple[HoleResidual, ...]
    worst: HoleResidual
    rms: float
    scatter: float | None
    doubt_ratio: float | None
    suspects: tuple[int, ...]
    mirror_fits_better: bool
    words: tuple[str, ...] = ()


def rigid_fit(
    pattern: Sequence[Point], found: Sequence[Point], weights: Sequence[float] | None = None, *, mirror: bool = False
) -> RigidFit | NoFit:
    """Return the motion that carries ``pattern`` nearest to ``found``, point by point, in weighted least squares.

    Raises
    ------
    InputError
        Fewer than two points, lists of different length, a weight that is not positive and finite.
    """
    w = _weights(len(pattern), len(found), weights)
    total = math.fsum(w)
    side = -1.0 if mirror else 1.0
    p_mid, c_mid = _middle(pattern, w, total), _middle(found, w, total)
    dot = cross = p_square = c_square = 0.0
    for (px, py), (cx, cy), k in zip(pattern, found, w, strict=True):
        ax, ay = side * (px - p_mid[0]), py - p_mid[1]
        bx, by = cx - c_mid[0], cy - c_mid[1]
        dot += k * (ax * bx + ay * by)
        cross += k * (ax * by - ay * bx)
        p_square += k * (ax * ax + ay * ay)
        c_square += k * (bx * bx + by * by)
    if math.sqrt(c_square / total) <= COINCIDENT_HOLES:
        return NoFit("found in one place", "all measured holes lie in one place, so they give no direction")
    if not math.hypot(dot, cross) > NO_TURN_BELOW * math.sqrt(p_square * c_square):
        return NoFit(
            "turn not determined",
            "every turn fits the measured holes equally badly; they look like a mirror image of the pattern, or the "
            "numbers of the holes are mixed up",
        )
    turn = half_turn_range(math.degrees(math.atan2(cross, dot)))
    motion = Placement(turn, c_mid, mirror, p_mid)
    square_sum = math.fsum(k * distance(q, c) ** 2 for q, c, k in zip(motion.apply_all(pattern), found, w, strict=True))
    return RigidFit(
        motion=motion,
        rms=math.sqrt(square_sum / total),
        square_sum=square_sum,
        leverage=p_square,
        spread_ratio=math.sqrt(c_square / p_square),
    )


def best_fit(pattern: PatternPoints, measured: Sequence[MeasuredHole], *, mirror: bool = False) -> BestFit | NoFit:
    """Return the pattern fitted to measured holes, each weighted by its stated doubt, or all alike without doubts.

    Raises
    ------
    InputError
        Fewer than two measured holes, a hole measured twice or not in the pattern, doubts given for some holes only.
    """
    doubts = _checked_doubts(pattern, measured)
    points = [pattern.at(m.number) for m in measured]
    found = [m.at for m in measured]
    weights = [1.0 / u**2 for u in doubts] if doubts else [1.0] * len(found)
    fit = rigid_fit(points, found, weights, mirror=mirror)
    if isinstance(fit, NoFit):
        return fit
    result = placed(pattern, fit.motion)
    left = tuple(residual(m.number, result.at(m.number), m.at) for m in measured)
    other_hand = rigid_fit(points, found, weights, mirror=not mirror)
    better = isinstance(other_hand, RigidFit) and _mirror_better(fit, other_hand)
    freedom = 2 * len(found) - 3
    spread = math.sqrt(fit.square_sum / freedom)
    suspects = _suspects(points, found, weights, [m.number for m in measured], fit, mirror=mirror)
    return BestFit(
        placed=result,
        fit=fit,
        measured=tuple(measured),
        residuals=left,
        worst=max(left, key=lambda r: r.size),
        rms=fit.rms,
        scatter=None if doubts else spread,
        doubt_ratio=spread if doubts else None,
        suspects=suspects,
        mirror_fits_better=better,
        words=tuple(_words(fit, suspects, len(found), better=better)),
    )


def _weights(count: int, found: int, weights: Sequence[float] | None) -> list[float]:
    if count != found:
        raise InputError(f"best fit: {count} pattern points against {found} measured ones; expected as many")
    if count < 2:
        raise InputError(f"best fit: expected at least 2 measured holes, got {count}")
    w = [1.0] * count if weights is None else list(weights)
    if len(w) != count:
        raise InputError(f"best fit: expected {count} weights, got {len(w)}")
    for k in w:
        if not (k > 0.0 and math.isfinite(k)):
            raise InputError(f"best fit: weight {k}: expected above zero and finite")
    return w


def _checked_doubts(pattern: PatternPoints, measured: Sequence[MeasuredHole]) -> list[float]:
    numbers = [m.number for m in measured]
    for number in numbers:
        pattern.index(number)
        if numbers.count(number) > 1:
            raise InputError(f"best fit: hole {number} was measured twice; expected each hole once")
    for m in measured:
        if not all(math.isfinite(v) for v in m.at):
            raise InputError(f"best fit: hole {m.number} was found at {m.at}; expected finite coordinates")
        if m.doubt is not None and not (m.doubt > 0.0 and math.isfinite(m.doubt)):
            raise InputError(f"best fit: hole {m.number}: doubt {m.doubt} mm: expected above zero and finite")
    doubts = [m.doubt for m in measured if m.doubt is not None]
    if doubts and len(doubts) != len(measured):
        without = [m.number for m in measured if m.doubt is None]
        raise InputError(f"best fit: no doubt is given for hole {without[0]}; expected one for every hole or for none")
    return doubts


def _middle(points: Sequence[Point], w: Sequence[float], total: float) -> Point:
    return (
        math.fsum(k * x for (x, _), k in zip(points, w, strict=True)) / total,
        math.fsum(k * y for (_, y), k in zip(points, w, strict=True)) / total,
    )


def _mirror_better(fit: RigidFit, other: RigidFit) -> bool:
    """Tell whether the other hand fits clearly better; noise of the arithmetic does not count as better."""
    return fit.rms > COINCIDENT_HOLES and other.rms < MIRROR_BETTER_BY * fit.rms


def _suspects(
    points: Sequence[Point],
    found: Sequence[Point],
    weights: Sequence[float],
    numbers: Sequence[int],
    fit: RigidFit,
    *,
    mirror: bool,
) -> tuple[int, ...]:
    """Return the holes that the others contradict.

    Leaving hole i out lowers the square sum from S to S_i. With normal errors (S - S_i) / 2 over S_i / m,
    m = 2 n - 5, follows F(2, m), whose tail has the closed form (S_i / S) ** (m / 2); times n for the many looks.
    """
    n = len(points)
    if not FEWEST_FOR_SUSPECT <= n <= MOST_FOR_SUSPECT or fit.rms <= COINCIDENT_HOLES:
        return ()
    named = []
    for i in range(n):
        rest = [k for k in range(n) if k != i]
        without = rigid_fit(
            [points[k] for k in rest], [found[k] for k in rest], [weights[k] for k in rest], mirror=mirror
        )
        if isinstance(without, RigidFit):
            chance = n * (without.square_sum / fit.square_sum) ** ((2 * n - 5) / 2)
            if chance < SUSPECT_CHANCE:
                named.append(numbers[i])
    return tuple(named)


def _words(fit: RigidFit, suspects: tuple[int, ...], count: int, *, better: bool) -> list[str]:
    words = []
    if better:
        words.append("The mirror image would fit less than half as far off: is this the other hand?")
    for factor, text in (
        (25.4, "in millimetres and the pattern in inches"),
        (1 / 25.4, "in inches, not mm"),
    ):
        if abs(fit.spread_ratio / factor - 1.0) < 0.1:
            words.append(f"The measured holes look as if they were read {text}.")
    for number in suspects:
        words.append(f"Hole {number} does not agree with the others: measure it again.")
    if count == 2:
        words.append("Two holes fix the motion and leave one figure over; a third would prove it.")
    elif count < FEWEST_FOR_SUSPECT:
        words.append("Three holes show that something is off, not which hole: measure a fourth to tell.")
    return words
