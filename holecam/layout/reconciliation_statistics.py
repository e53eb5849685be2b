"""Chances behind the tests of measurements: the chi-square tail, the normal tail, and the critical values used."""

from __future__ import annotations

import math
from statistics import NormalDist

from holecam.errors import InputError

SIGNIFICANCE = 0.001
"""Chance, both sides, of accusing a good reading: 3.29 standard deviations (Baarda 1968)."""

POWER = 0.80
"""Chance of finding an error of the smallest findable size (Baarda 1968): 3.29 + 0.84 = 4.13 standard deviations."""

GLOBAL_SIGNIFICANCE = 0.01
"""Chance of calling readings contradictory that are not (common practice: 1 to 5 percent)."""


def chi_square_tail(value: float, dof: int) -> float:
    """Return the chance that chi-square with ``dof`` degrees of freedom exceeds ``value``.

    The upper regularised gamma function Q(dof/2, value/2) by its recurrence ``Q(a+1, x) = Q(a, x) + x^a e^-x /
    Gamma(a+1)`` from ``Q(1, x) = e^-x`` or ``Q(1/2, x) = erfc(sqrt(x))`` (Abramowitz and Stegun 6.5.21, 26.4): every
    term is positive.

    >>> round(chi_square_tail(3.841, 1), 4), round(chi_square_tail(18.307, 10), 4)
    (0.05, 0.05)
    """
    if dof < 1 or not value >= 0.0:
        raise InputError(f"chi-square {value} with {dof} degrees of freedom: expected zero or more, and at least one")
    if math.isinf(value):
        return 0.0
    x = value / 2.0
    a, total = (1.0, math.exp(-x)) if dof % 2 == 0 else (0.5, math.erfc(math.sqrt(x)))
    while a < dof / 2.0 - 0.25:
        if x > 0.0:
            total += math.exp(a * math.log(x) - x - math.lgamma(a + 1.0))
        a += 1.0
    return min(1.0, total)


def normal_two_sided(deviations: float) -> float:
    """Return the chance that a normal value lies farther out than so many standard deviations, on either side.

    >>> round(normal_two_sided(1.96), 4)
    0.05
    """
    return math.erfc(abs(deviations) / math.sqrt(2.0))


def critical_value(significance: float = SIGNIFICANCE) -> float:
    """Return the standard deviations beyond which a reading is suspected.

    >>> round(critical_value(), 2)
    3.29
    """
    if not 0.0 < significance < 1.0:
        raise InputError(f"significance {significance}: expected between 0 and 1, a chance of false alarm")
    return NormalDist().inv_cdf(1.0 - significance / 2.0)


def findable_value(significance: float = SIGNIFICANCE, power: float = POWER) -> float:
    """Return the standard deviations at which an error is found with the chance ``power``.

    >>> round(findable_value(), 2)
    4.13
    """
    if not 0.0 < power < 1.0:
        raise InputError(f"power {power}: expected between 0 and 1")
    return critical_value(significance) + NormalDist().inv_cdf(power)
