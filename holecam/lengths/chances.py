"""Chances in percent, as papers and messages print them."""

from __future__ import annotations

import math
from fractions import Fraction

from holecam.lengths.printing import decimal_text
from holecam.lengths.rounding import exact

LEAST_PERCENT = 0.001
"""Percent. What is rarer is printed as less than this: below it the model of the doubt is not to be believed."""

MOST_PERCENT = 99.9
"""Percent. What is likelier is printed as more than this."""


def chance_text(chance: float) -> str:
    """Return a chance (0 to 1) in percent: never a bare nought for the unlikely, never 100 for the likely.

    >>> [chance_text(c) for c in (0.0, 0.0013, 0.42, 0.996, 0.9996, 1.0)]
    ['<0.001 %', '0.13 %', '42 %', '99.6 %', '>99.9 %', '>99.9 %']
    """
    percent = 100.0 * chance
    if percent < LEAST_PERCENT:
        return f"<{LEAST_PERCENT} %"
    if percent > MOST_PERCENT:
        return f">{MOST_PERCENT} %"
    decimals = 3 if percent < 0.1 else 2 if percent < 1 else 1 if percent < 10 or percent > 99 else 0
    return f"{decimal_text(exact(percent), decimals)} %"


def at_least_text(chance: float) -> str:
    """Return a lower bound of a chance in percent, rounded down, with the decimals that tell it from 100.

    >>> at_least_text(0.9998079), at_least_text(0.87654)
    ('99.98 %', '87.6 %')
    """
    decimals = 2 if chance > 0.99 else 1
    return f"{decimal_text(Fraction(math.floor(exact(100.0 * chance) * 10**decimals), 10**decimals), decimals)} %"
