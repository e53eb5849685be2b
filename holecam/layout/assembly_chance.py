"""The chance that all screws enter, when every hole sits a little off: seeded simulation with a confidence interval.

Drilling doubt moves each hole by itself. Reference doubt moves the whole pattern as one and, with a doubtful direction,
turns it; a part that lies loose can be moved back, so that this matters only where edges, pins or dowels hold it. The
two effects are reported apart. Errors are taken as normal, alike in x and y.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.assembly_trials import TrialOutcome, trial_outcomes, turned
from holecam.layout.bolt_up import Joint
from holecam.layout.bolt_up_arrays import Bools, Floats
from holecam.layout.bolt_up_motion import Motion
from holecam.layout.reference_doubt import ReferenceDoubt
from holecam.shapes import Placement

TRIALS = 20_000
"""Trials unless told: the 95 percent interval is then at most 1.4 percent wide."""

SEED = 20_240
"""Start of the random numbers unless told: one job gives one answer."""


class JointDoubt(Struct, frozen=True):
    """Standard doubt of the place of one screw's two holes, mm in x and in y: how they were drilled or measured."""

    part: float
    mate: float = 0.0

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) and v >= 0.0 for v in (self.part, self.mate)):
            raise InputError(f"doubt of a hole's place: expected zero or more, mm, got {self.part} and {self.mate}")


class Estimate(Struct, frozen=True):
    """A chance from trials: ``low`` to ``high`` is the confidence interval (Wilson)."""

    chance: float
    low: float
    high: float
    entered: int
    trials: int


class AssemblyChance(Struct, frozen=True):
    """The chance that every screw enters.

    ``total`` counts every doubt. ``drilling_alone`` leaves out the doubt of the reference, ``reference_alone`` that
    of the single holes; both are ``None`` where no reference doubt was given. ``blame`` holds (screw number, mean
    multiplier in failed trials), the greatest first: which screws hold the others back. ``solved`` trials needed the
    exact solver.
    """

    total: Estimate
    drilling_alone: Estimate | None
    reference_alone: Estimate | None
    blame: tuple[tuple[int, float], ...]
    confidence: float
    seed: int
    solved: int


def wilson_interval(entered: int, trials: int, *, confidence: float = 0.95) -> tuple[float, float]:
    """Return the interval of a share after ``entered`` successes (Wilson 1927), never outside 0 to 1.

    >>> [round(v, 4) for v in wilson_interval(8, 10)]
    [0.4902, 0.9433]
    """
    if not trials > 0 or not 0 <= entered <= trials:
        raise InputError(f"{entered} of {trials} trials: expected trials above zero and successes among them")
    if not 0.0 < confidence < 1.0:
        raise InputError(f"confidence {confidence}: expected between 0 and 1")
    z = NormalDist().inv_cdf(0.5 + confidence / 2.0)
    share, spread = entered / trials, z * z / trials
    middle = (share + spread / 2.0) / (1.0 + spread)
    reach = z / (1.0 + spread) * math.sqrt(share * (1.0 - share) / trials + spread / (4.0 * trials))
    low = 0.0 if entered == 0 else max(0.0, middle - reach)
    high = 1.0 if entered == trials else min(1.0, middle + reach)
    return low, high


class _Draws(Struct, frozen=True, eq=False):
    """Standard normal numbers: one set for every question, so that the answers differ by their causes alone."""

    part: Floats
    mate: Floats
    together: Floats
    turn: Floats


def chance_of_assembly(
    joints: Sequence[Joint],
    doubts: Sequence[JointDoubt],
    *,
    reference: ReferenceDoubt | None = None,
    motion: Motion | None = None,
    trials: int = TRIALS,
    seed: int = SEED,
    confidence: float = 0.95,
) -> AssemblyChance:
    """Return the chance that every screw enters, given how far each hole may be off.

    Parameters
    ----------
    joints : sequence of Joint
        With the places where the holes are meant to be, or were measured.
    doubts : sequence of JointDoubt
        One for each joint, in the same order.
    reference : ReferenceDoubt, optional
        Standard doubts of the whole pattern's place in the part, and of its direction.
    motion : Motion, optional
        What the part may still do at assembly; by default it lies loose.
    trials, seed, confidence
        20,000 trials, one fixed seed and 95 percent unless told.

    Raises
    ------
    InputError
        No joints, lists of different lengths, no trials, or a screw that does not enter its own holes.
    """
    motion = Motion() if motion is None else motion
    if not joints or len(joints) != len(doubts):
        raise InputError(
            f"chance of assembly: {len(joints)} screws and {len(doubts)} doubts; expected one doubt a screw"
        )
    if trials < 1:
        raise InputError(f"chance of assembly: expected at least one trial, got {trials}")
    plays = [j.play for j in joints]
    stuck = [j.number for j, p in zip(joints, plays, strict=True) if not p.play > 0.0]
    if stuck:
        raise InputError(f"screws {stuck} do not enter their own holes: the chance is nil whatever the drilling")
    random = np.random.default_rng(seed)
    n = len(joints)
    draws = _Draws(
        random.standard_normal((trials, n, 2)),
        random.standard_normal((trials, n, 2)),
        random.standard_normal((trials, 2)),
        random.standard_normal(trials),
    )
    case = _Case(tuple(joints), tuple(doubts), motion, draws, confidence)
    found = case.outcomes(reference, drilling=True)
    drilling = together = None
    if reference is not None:
        drilling = case.estimate(case.outcomes(None, drilling=True).entered)
        together = case.estimate(case.outcomes(reference, drilling=False).entered)
    order = np.argsort(-found.blame, kind="stable")
    blame = tuple((joints[i].number, float(found.blame[i])) for i in order if found.blame[i] > 0.0)
    return AssemblyChance(case.estimate(found.entered), drilling, together, blame, confidence, seed, found.solved)


class _Case(Struct, frozen=True, eq=False):
    """Joints, doubts and draws of one question."""

    joints: tuple[Joint, ...]
    doubts: tuple[JointDoubt, ...]
    motion: Motion
    draws: _Draws
    confidence: float

    def estimate(self, entered: Bools) -> Estimate:
        good, trials = int(entered.sum()), len(entered)
        low, high = wilson_interval(good, trials, confidence=self.confidence)
        return Estimate(good / trials, low, high, good, trials)

    def outcomes(self, reference: ReferenceDoubt | None, *, drilling: bool) -> TrialOutcome:
        """Return what the trials gave with some of the doubts at work."""
        part = np.array([j.part_xy for j in self.joints])
        mate = np.array([j.mate_xy for j in self.joints])
        u_part = np.array([d.part for d in self.doubts])[:, None] * float(drilling)
        u_mate = np.array([d.mate for d in self.doubts])[:, None] * float(drilling)
        trial_part = part + u_part * self.draws.part
        trial_mate = mate + u_mate * self.draws.mate
        if reference is not None:
            trial_part = _moved_as_one(trial_part, reference, self.draws)
        start = self.motion.start
        c, s = start.cos_sin
        matrix = np.array([[c, -s], [s, c]]) @ np.diag([-1.0 if start.mirror else 1.0, 1.0])
        trial_part = trial_part @ matrix.T + np.array(start.shift)
        plays = [j.play for j in self.joints]
        half = np.array([p.slot_half_length for p in plays])
        in_part = np.array([p.slot_member == "part" for p in plays])
        axis = np.array([Placement(p.slot_direction_deg).apply_vector((1.0, 0.0)) for p in plays])
        axis[in_part] = axis[in_part] @ matrix.T
        play = np.array([p.play for p in plays])
        return trial_outcomes(trial_part, trial_mate, play, half, axis, in_part, self.motion)


def _moved_as_one(part: Floats, reference: ReferenceDoubt, draws: _Draws) -> Floats:
    """Return the trials' patterns (b, n, 2) shifted as one and turned about the steady point."""
    angle = math.radians(reference.along_deg)
    along, across = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
    shift = draws.together[:, :1] * reference.together_along * np.array(along) + draws.together[
        :, 1:
    ] * reference.together_across * np.array(across)
    steady = np.array(reference.steady_point)
    return np.asarray(turned(part - steady, draws.turn * math.radians(reference.turn_deg)) + (steady + shift)[:, None])
