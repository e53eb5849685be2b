"""Weighted least-squares adjustment of a chain's readings: residuals, redundancy, global test, normalised residuals.

Observation equations ``l = f(x) + e`` with weights 1/u^2. In units of the doubts the residuals are ``(I - P) y`` with
P the projection on the columns of the design matrix; the diagonal of ``R = I - P`` holds the redundancy numbers (sum:
degrees of freedom), ``w = v / (u sqrt(r))`` the normalised residual, ``v / r`` the error that would explain it, and
``4.13 u / sqrt(r)`` the smallest error that is found with a chance of 80 percent (Baarda 1968).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.layout.reconciliation_chain import Across, Chain, Floats, Reading
from holecam.layout.reconciliation_statistics import chi_square_tail, findable_value

UNCHECKABLE = 1e-9
"""Redundancy number below which nothing else checks a reading: arithmetic noise."""

RANK = 1e-10
"""Singular values below this share of the greatest count as zero."""

SETTLED = 1e-12
"""Steps of the solution below this share of the sizes end the iteration for sloped sections."""


class ReadingResult(Struct, frozen=True):
    """What the adjustment says of one reading; lengths mm, slopes degrees.

    ``residual`` is measured less adjusted. ``redundancy`` runs from 0 (nothing checks it) to 1 (the others say it
    all). ``normalised`` is the residual in its own standard deviations, 0 where uncheckable; ``error`` what the
    reading would be wrong by if it alone were wrong; ``findable`` the smallest error that would be found. Both are
    ``None`` where uncheckable.
    """

    name: str
    of: tuple[str, ...]
    across: Across
    measured: float
    doubt: float
    adjusted: float
    residual: float
    redundancy: float
    normalised: float
    error: float | None
    findable: float | None

    @property
    def checkable(self) -> bool:
        """Whether any other reading speaks about it."""
        return self.redundancy > UNCHECKABLE


class Adjustment(Struct, frozen=True, eq=False):
    """The adjusted sizes and what the readings say of each other.

    ``sizes`` and ``covariance`` follow the unknowns of the chain; ``determined`` tells which of them the readings
    settle. ``statistic`` is the weighted sum of squared residuals, ``dof`` its degrees of freedom, ``chance`` the
    chance of one so large from good readings (``None`` without redundancy). ``alike`` (m, m) holds the correlations
    of the normalised residuals.
    """

    readings: tuple[ReadingResult, ...]
    sizes: Floats
    covariance: Floats
    determined: tuple[bool, ...]
    statistic: float
    dof: int
    chance: float | None
    alike: Floats
    loose: Floats


def adjust(chain: Chain, readings: Sequence[Reading], *, significance: float) -> Adjustment:
    """Return the weighted least-squares solution; slopes are iterated, undetermined sizes stay near the drawing."""
    doubts = np.array([r.doubt for r in readings])
    measured = np.array([r.value for r in readings])
    sizes = chain.drawn_sizes.copy()
    for _ in range(50):
        expected, design = chain.expected(sizes, readings)
        scaled = design / doubts[:, None]
        u, s, vt = np.linalg.svd(scaled, full_matrices=True)
        rank = int((s > RANK * max(float(s.max(initial=0.0)), 1e-300)).sum())
        step = vt[:rank].T @ ((u[:, :rank].T @ ((measured - expected) / doubts)) / s[:rank])
        sizes = sizes + step
        if float(np.abs(step).max(initial=0.0)) <= SETTLED * max(1.0, float(np.abs(sizes).max())):
            break
    expected, design = chain.expected(sizes, readings)
    scaled = design / doubts[:, None]
    u, s, vt = np.linalg.svd(scaled, full_matrices=True)
    rank = int((s > RANK * max(float(s.max(initial=0.0)), 1e-300)).sum())
    residual = measured - expected
    projector = np.eye(len(readings)) - u[:, :rank] @ u[:, :rank].T
    redundancy = np.clip(np.diag(projector), 0.0, 1.0)
    root = np.sqrt(np.maximum(redundancy, UNCHECKABLE))
    alike = projector / root[:, None] / root[None, :]
    normalised = np.where(redundancy > UNCHECKABLE, residual / doubts / root, 0.0)
    covariance = (vt[:rank].T / s[:rank] ** 2) @ vt[:rank]
    loose = np.abs(vt[rank:]).max(axis=0, initial=0.0) > 1e-9
    statistic = float(((residual / doubts) ** 2).sum())
    dof = len(readings) - rank
    factor = findable_value(significance)
    results = tuple(
        ReadingResult(
            name=r.name,
            of=r.of,
            across=r.across,
            measured=r.value,
            doubt=r.doubt,
            adjusted=float(expected[m]),
            residual=float(residual[m]),
            redundancy=float(redundancy[m]),
            normalised=float(normalised[m]),
            error=float(residual[m] / redundancy[m]) if redundancy[m] > UNCHECKABLE else None,
            findable=factor * r.doubt / math.sqrt(redundancy[m]) if redundancy[m] > UNCHECKABLE else None,
        )
        for m, r in enumerate(readings)
    )
    return Adjustment(
        results,
        sizes,
        covariance,
        tuple(bool(v) for v in ~loose),
        statistic,
        dof,
        chi_square_tail(statistic, dof) if dof > 0 else None,
        alike,
        vt[rank:],
    )
