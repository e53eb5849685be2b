"""Standard doubt of a figure known only to lie between two bounds."""

from __future__ import annotations

import math


def standard_doubt_within(half_width: float) -> float:
    """Return the standard doubt of a value surely within plus or minus ``half_width``, in the unit of that.

    Rectangular distribution, ``a / sqrt(3)``: JCGM 100:2008 (GUM), 4.3.7.

    >>> round(standard_doubt_within(0.4), 4)
    0.2309
    """
    return half_width / math.sqrt(3.0)
