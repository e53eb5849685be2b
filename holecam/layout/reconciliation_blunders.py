"""Do the measurements contradict each other, and which one is the suspect? Data snooping, one reading at a time.

A reading is accused only if its normalised residual passes the critical value and no other explains the facts nearly as
well: two explanations by one wrong reading each differ in likelihood by ``exp((w_i^2 - w_j^2) / 2)``. With a single
closure every w is equal, so nobody can be named, whatever the size of the contradiction.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from holecam.layout.reconciliation_adjustment import Adjustment, ReadingResult, adjust
from holecam.layout.reconciliation_chain import Chain, Reading
from holecam.layout.reconciliation_statistics import GLOBAL_SIGNIFICANCE, critical_value

LIKELIHOOD_RATIO = 20.0
"""A reading is named when every other explanation is at least so many times less likely (common practice: 20 to 1)."""

NAMED_TOGETHER = 2
"""Up to so many readings that cannot be told apart are named together; more say only that something is wrong."""


class ReadingsVerdict(StrEnum):
    """What the readings say of each other."""

    AGREE = "agree"
    """They agree within their doubts."""

    UNCHECKED = "unchecked"
    """Nothing is measured twice in any way: they cannot contradict each other."""

    NAMED = "named"
    """They contradict each other, and one reading (or several, one after another) explains it."""

    INSEPARABLE = "inseparable"
    """They contradict each other; one of two named readings is wrong, and they cannot be told apart."""

    CANNOT_TELL = "cannot tell"
    """They contradict each other, and the measurements cannot say where."""

    STRAINED = "strained"
    """They disagree more than their doubts allow, but no single reading stands out: the doubts may be set too small."""


class Suspect(Struct, frozen=True):
    """A reading that may be wrong.

    ``error`` is by how much (measured less true, mm or degrees), ``error_doubt`` its standard doubt, ``normalised``
    the test figure, ``share`` its part of the likelihood if exactly one reading is wrong.
    """

    name: str
    error: float
    error_doubt: float
    normalised: float
    share: float


class Snooping(Struct, frozen=True, eq=False):
    """Outcome of the search: who was removed, who remains suspect, the adjustments with all and without the removed."""

    verdict: ReadingsVerdict
    removed: tuple[Suspect, ...]
    suspects: tuple[Suspect, ...]
    first: Adjustment
    last: Adjustment
    kept: tuple[Reading, ...]


def contradictory(adjustment: Adjustment, critical: float) -> bool:
    """Return whether the global test or any single reading says that something is wrong."""
    if adjustment.chance is None:
        return False
    worst = max((abs(r.normalised) for r in adjustment.readings), default=0.0)
    return adjustment.chance < GLOBAL_SIGNIFICANCE or worst > critical


def _shares(readings: Sequence[ReadingResult]) -> dict[str, float]:
    checkable = [r for r in readings if r.checkable]
    top = max((r.normalised**2 for r in checkable), default=0.0)
    weight = {r.name: math.exp((r.normalised**2 - top) / 2.0) for r in checkable}
    total = math.fsum(weight.values())
    return {name: w / total for name, w in weight.items()}


def suspects_of(adjustment: Adjustment) -> tuple[Suspect, ...]:
    """Return the readings that explain the contradiction about equally well, the likeliest first."""
    shares = _shares(adjustment.readings)
    if not shares:
        return ()
    best = max(shares.values())
    chosen = [r for r in adjustment.readings if shares.get(r.name, 0.0) * LIKELIHOOD_RATIO > best]
    # Equally likely ones stay in the order of the job, whatever the last bit of the arithmetic
    chosen.sort(key=lambda r: -round(shares[r.name], 9))
    return tuple(
        Suspect(
            r.name, r.error or 0.0, r.doubt / math.sqrt(r.redundancy), r.normalised, shares[r.name]
        )
        for r in chosen
    )  # fmt: skip


def snoop(chain: Chain, *, significance: float) -> Snooping:
    """Return which readings are wrong, as far as the readings themselves can say."""
    critical = critical_value(significance)
    kept = list(chain.readings)
    first = last = adjust(chain, kept, significance=significance)
    removed: list[Suspect] = []
    if first.chance is None:
        return Snooping(ReadingsVerdict.UNCHECKED, (), (), first, last, tuple(kept))
    while contradictory(last, critical):
        suspects = suspects_of(last)
        worst = max((abs(s.normalised) for s in suspects), default=0.0)
        if worst <= critical:
            return Snooping(ReadingsVerdict.STRAINED, tuple(removed), suspects, first, last, tuple(kept))
        if len(suspects) > 1 or last.dof == 1:
            few = len(suspects) <= NAMED_TOGETHER and last.dof > 1
            verdict = ReadingsVerdict.INSEPARABLE if few else ReadingsVerdict.CANNOT_TELL
            return Snooping(verdict, tuple(removed), suspects, first, last, tuple(kept))
        wrong = next(r for r in kept if r.name == suspects[0].name)
        kept = [r for r in kept if r is not wrong]
        last = adjust(chain, kept, significance=significance)
        # v / r holds for small errors of slopes; what the others say without it holds for large ones too
        error = wrong.value - float(chain.expected(last.sizes, [wrong])[0][0])
        removed.append(replace(suspects[0], error=error))
    verdict = ReadingsVerdict.NAMED if removed else ReadingsVerdict.AGREE
    return Snooping(verdict, tuple(removed), (), first, last, tuple(kept))
