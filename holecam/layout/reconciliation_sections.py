"""Which section of the part really differs from the drawing: a question of its own, apart from misread numbers.

The drawing is taken as the honest expectation with the spread of the process, the readings with their doubts, so the
readings scatter about the drawn values with the covariance ``C = A S A' + U``. A section j that carries an error d
shifts them by ``A_j d``. As with readings, the test figure is ``w_j = A_j' C^-1 y / sqrt(A_j' C^-1 A_j)`` and the
error ``A_j' C^-1 y / (A_j' C^-1 A_j)``. It works also where the readings do not determine every section, and says
when two sections explain the facts equally well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct

from holecam.layout.reconciliation_adjustment import Adjustment
from holecam.layout.reconciliation_blunders import LIKELIHOOD_RATIO, NAMED_TOGETHER
from holecam.layout.reconciliation_chain import Chain, Floats, Reading
from holecam.layout.reconciliation_statistics import normal_two_sided


class SectionsVerdict(StrEnum):
    """Where the part differs from the drawing."""

    AS_DRAWN = "as drawn"
    """Every section agrees with the drawing within doubt and process."""

    NAMED = "named"
    """One section carries the error, or several, found one after another."""

    INSEPARABLE = "inseparable"
    """One of two named sections carries the error."""

    CANNOT_TELL = "cannot tell"
    """The part differs, or the readings contradict each other, and the measurements cannot say where."""


class SectionResult(Struct, frozen=True):
    """One section against the drawing, mm.

    ``actual`` is the adjusted length (``None`` where the readings do not settle it), ``doubt`` its standard doubt.
    ``deviation`` is actual less drawn, ``z`` that in units of doubt and process together, ``chance`` the chance of
    one so large from an honest piece. ``correction`` is what has to be added to make it as drawn: below zero, metal
    comes off. ``checked``: no reading of it is without a check, so that a misread number would have been noticed.
    """

    name: str
    drawn: float
    actual: float | None
    doubt: float | None
    deviation: float | None
    z: float | None
    chance: float | None
    correction: float | None
    checked: bool


class Carrier(Struct, frozen=True):
    """A section that carries the error: how much (actual less drawn, mm), its standard doubt, the test figure, its
    share.

    ``share`` is its part of the likelihood if exactly one more section differs.
    """

    name: str
    error: float
    error_doubt: float
    normalised: float
    share: float


class Carriers(Struct, frozen=True):
    """The verdict on the sections with the named ones, or those that cannot be told apart."""

    verdict: SectionsVerdict
    named: tuple[Carrier, ...]
    suspects: tuple[Carrier, ...]


def section_results(chain: Chain, adjustment: Adjustment, scale: float) -> tuple[SectionResult, ...]:
    """Return every section against the drawing; ``scale`` widens the doubts where readings are strained."""
    results = []
    for i, section in enumerate(chain.sections):
        speaking = [r for r in adjustment.readings if section.name in r.of]
        checked = bool(speaking) and all(r.checkable for r in speaking)
        if not adjustment.determined[i]:
            results.append(SectionResult(section.name, section.drawn, *(None,) * 6, checked=False))
            continue
        actual = float(adjustment.sizes[i])
        doubt = scale * math.sqrt(max(0.0, float(adjustment.covariance[i, i])))
        deviation = actual - section.drawn
        spread = math.hypot(doubt, section.process)
        z = deviation / spread if spread > 0.0 else math.copysign(math.inf, deviation) if deviation else 0.0
        results.append(
            SectionResult(
                section.name, section.drawn, actual, doubt, deviation, z, normal_two_sided(z), -deviation, checked
            )
        )
    return tuple(results)


def find_carriers(chain: Chain, readings: Sequence[Reading], *, critical: float, scale: float = 1.0) -> Carriers:
    """Return which sections carry an error, named one after another while the next one is plain."""
    if not readings:
        return Carriers(SectionsVerdict.CANNOT_TELL, (), ())
    expected, design = chain.expected(chain.drawn_sizes, readings)
    y = np.array([r.value for r in readings]) - expected
    count = len(chain.sections)
    noise = np.diag((scale * np.array([r.doubt for r in readings])) ** 2)
    covariance = (design * chain.process**2) @ design.T + noise
    named: list[Carrier] = []
    columns = design[:, :count]
    while True:
        found = _candidates(chain, columns, y, covariance, [c.name for c in named])
        worst = max((abs(c.normalised) for c in found), default=0.0)
        if worst <= critical:
            break
        best = max(c.share for c in found)
        close = tuple(sorted((c for c in found if c.share * LIKELIHOOD_RATIO > best), key=lambda c: -round(c.share, 9)))
        if len(close) > 1:
            few = len(close) <= NAMED_TOGETHER
            verdict = SectionsVerdict.INSEPARABLE if few else SectionsVerdict.CANNOT_TELL
            return Carriers(verdict, tuple(named), close)
        named.append(close[0])
    verdict = SectionsVerdict.NAMED if named else SectionsVerdict.AS_DRAWN
    return Carriers(verdict, _together(chain, columns, y, covariance, named), ())


def _candidates(chain: Chain, columns: Floats, y: Floats, covariance: Floats, taken: Sequence[str]) -> list[Carrier]:
    """Return what each other section would have to be wrong by, the sections already named being free."""
    inverse = np.linalg.inv(covariance)
    fixed = columns[:, [chain.names.index(n) for n in taken]]
    if taken:
        # Free sections are projected out: what they can explain counts for nobody else
        inner = fixed.T @ inverse @ fixed
        inverse = inverse - inverse @ fixed @ np.linalg.pinv(inner) @ fixed.T @ inverse
    found = []
    full = np.linalg.norm(columns, axis=0) ** 2
    for j, name in enumerate(chain.names):
        if name in taken:
            continue
        weight = float(columns[:, j] @ inverse @ columns[:, j])
        if weight <= 1e-12 * max(float(full[j]) / float(np.trace(covariance)), 1e-300):
            continue  # nothing was measured that speaks about it
        pull = float(columns[:, j] @ inverse @ y)
        found.append((name, pull / weight, 1.0 / math.sqrt(weight), pull / math.sqrt(weight)))
    top = max((w * w for *_, w in found), default=0.0)
    likely = [math.exp((w * w - top) / 2.0) for *_, w in found]
    total = math.fsum(likely)
    return [Carrier(n, e, u, w, k / total) for (n, e, u, w), k in zip(found, likely, strict=True)]


def _together(
    chain: Chain, columns: Floats, y: Floats, covariance: Floats, named: Sequence[Carrier]
) -> tuple[Carrier, ...]:
    """Return the named sections with their errors worked out together."""
    if len(named) < 2:
        return tuple(named)
    inverse = np.linalg.inv(covariance)
    free = columns[:, [chain.names.index(c.name) for c in named]]
    spread = np.linalg.pinv(free.T @ inverse @ free)
    errors = spread @ (free.T @ inverse @ y)
    return tuple(
        Carrier(c.name, float(e), math.sqrt(float(v)), float(e) / math.sqrt(float(v)), c.share)
        for c, e, v in zip(named, errors, np.diag(spread), strict=True)
    )
