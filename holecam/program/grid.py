"""The grid that a program is written on: each coordinate rounded once, from its exact absolute value, to whole steps.

A step is the last written decimal. Positions are kept as counts of steps, so that what is written and what the writer
believes can never drift apart.
"""

from __future__ import annotations

import math
from fractions import Fraction

from holecam.lengths import MM_PER_UNIT, counts, exact
from holecam.plan.dialect import Dialect

NEAR_A_TIE = 1e-5
"""Steps. Nearer to a half than this the exact rule decides; float64 arithmetic of a shop-sized count errs by 1e-9."""


class Grid:
    """Rounds lengths in mm to counts of the dialect's step, and writes counts as numbers.

    Parameters
    ----------
    dialect : Dialect
    guarded : tuple of float
        Heights (mm) that rounding must not pass downwards: a Z at or above one of them is never written below it.
    """

    def __init__(self, dialect: Dialect, guarded: tuple[float, ...] = ()) -> None:
        self.places = dialect.places
        self.step_exact: Fraction = MM_PER_UNIT[dialect.unit] / 10**self.places
        self.step = float(self.step_exact)
        self._scale = 10**self.places
        self._guarded = tuple(sorted(exact(g) for g in guarded))
        self._z_known: dict[float, int] = {}

    def count(self, value: float) -> int:
        """Return the nearest count of a length in mm; half away from zero, as ``holecam.lengths`` rounds."""
        size = abs(value) / self.step
        whole = math.floor(size)
        rest = size - whole
        if abs(rest - 0.5) < NEAR_A_TIE or size > 1e9:
            return counts(value, self.step_exact)
        near = whole + 1 if rest > 0.5 else whole
        return -near if value < 0 else near

    def z_count(self, value: float) -> int:
        """Return the count of a height: the nearest one, but rounded up where the nearest passes a guarded height."""
        known = self._z_known.get(value)
        if known is None:
            known = self.count(value)
            here = exact(value)
            for guard in self._guarded:
                if known * self.step_exact < guard <= here:
                    known = math.ceil(here / self.step_exact)
                    break
            self._z_known[value] = known
        return known

    def mm(self, count: int) -> float:
        """Return a count in mm."""
        return float(count * self.step_exact)

    def text(self, count: int) -> str:
        """Return a count as a number with all decimals: ``-0.0625``; never a minus zero."""
        whole, rest = divmod(abs(count), self._scale)
        return f"{'-' if count < 0 else ''}{whole}.{rest:0{self.places}d}"
