"""Limits of the internal minor diameter: what a tapped hole may measure inside, class 2B, 6H, or of the older series.

Sources: unified ASME B1.1 (formulas of class 2B); metric ISO 965-1 (tolerance TD1 by pitch, grade 6; the finest
pitches have only grade 5 or 4); Whitworth form BS 84 and BA BS 93, both formulas from memory. ``None`` where nothing
published is known.
"""

import math
from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.table import rows
from holecam.standards.threads import Thread


class MinorLimits(NamedTuple):
    """Smallest and largest minor diameter of an internal thread, mm, with the class and its source."""

    smallest: float
    largest: float
    class_name: str
    source: str

    def holds(self, diameter: float) -> bool:
        """Return whether a diameter in mm lies inside, ends included."""
        return self.smallest - ARITHMETIC_NOISE <= diameter <= self.largest + ARITHMETIC_NOISE


ARITHMETIC_NOISE = 1e-9
"""mm. A drill on the limit is inside; float arithmetic is some 1e-15 mm off."""


def minor_limits(thread: Thread) -> MinorLimits | None:
    """Return the limits of a thread, ``None`` when no published ones are known.

    Examples
    --------
    ASME B1.1 tabulates 0.104 to 0.114 in for 6-32 UNC-2B, ISO 965-2 3.242 to 3.422 mm for M4-6H.

    >>> from holecam.standards.thread_names import parse_thread
    >>> limits = minor_limits(parse_thread("6-32"))
    >>> round(limits.smallest / 25.4, 4), round(limits.largest / 25.4, 4)
    (0.104, 0.114)
    >>> limits = minor_limits(parse_thread("M4"))
    >>> round(limits.smallest, 3), round(limits.largest, 3)
    (3.242, 3.422)
    """
    if thread.form.name == "unified":
        return _unified(thread)
    if thread.form.name == "metric":
        return _metric(thread)
    if thread.form.name == "whitworth":
        return _whitworth(thread)
    return _ba(thread)


def _unified(thread: Thread) -> MinorLimits:
    """Class 2B by the formulas of ASME B1.1, rounded as its tables are: 4 decimals below 0.138 in, else 3."""
    D, P = thread.major / 25.4, thread.pitch / 25.4
    smallest = D - 1.08253175 * P
    decimals = 4 if D < 0.138 - ARITHMETIC_NOISE else 3
    largest = smallest + unified_minor_tolerance_in(major_in=D, pitch_in=P)
    return MinorLimits(
        _rounded(smallest, decimals) * 25.4, _rounded(largest, decimals) * 25.4, "2B", "ASME B1.1, formulas of class 2B"
    )


def unified_minor_tolerance_in(*, major_in: float, pitch_in: float) -> float:
    """Return the tolerance of the internal minor diameter of classes 1B and 2B, in inches, not rounded.

    Below 1/4 in: ``0.05 P^(2/3) + 0.03 P/D - 0.002``, at least ``0.25 P - 0.4 P^2``, at most ``0.394 P``. From 1/4 in:
    ``0.25 P - 0.4 P^2`` for 4 threads an inch and finer, ``0.15 P`` for coarser. ASME B1.1, internal threads, 5.8.2.
    """
    P = pitch_in
    ordinary = 0.25 * P - 0.4 * P**2
    if major_in >= 0.25 - ARITHMETIC_NOISE:
        return ordinary if P <= 0.25 + ARITHMETIC_NOISE else 0.15 * P
    return float(min(0.394 * P, max(ordinary, 0.05 * P ** (2 / 3) + 0.03 * P / major_in - 0.002)))


def _rounded(value: float, decimals: int) -> float:
    """Return the value rounded half up, as the tables of the standard are."""
    return math.floor(value * 10.0**decimals + 0.5 + 1e-9) / 10.0**decimals


@cache
def _metric_tolerances() -> dict[float, tuple[float, str, str]]:
    """Return pitch in mm -> tolerance TD1 in mm, class and source."""
    return {
        float(row["pitch_mm"]): (float(row["tolerance_um"]) / 1000, row["class"], row["source"])
        for row in rows("metric_minor_tolerance")
    }


def _metric(thread: Thread) -> MinorLimits | None:
    """Position H: the smallest is the basic minor diameter, ISO 724, tabulated to 0.001 mm."""
    for pitch, (tolerance, class_name, source) in _metric_tolerances().items():
        if abs(pitch - thread.pitch) < ARITHMETIC_NOISE:
            smallest = _rounded(thread.major - 1.0825318 * thread.pitch, 3)
            return MinorLimits(smallest, smallest + tolerance, class_name, source)
    return None


def _whitworth(thread: Thread) -> MinorLimits:
    """BS 84, medium class: 0.2 P + 0.004 in for 26 threads an inch and finer, + 0.005 for 22 and 24, + 0.007 below."""
    n = thread.tpi
    constant = 0.004 if n > 25 else 0.005 if n > 21 else 0.007
    smallest = thread.basic_minor
    largest = smallest + (0.2 / n + constant) * 25.4
    source = "BS 84 medium class, formula from memory"
    if thread.series not in ("BSW", "BSF"):
        source += "; carried over to this series"
    return MinorLimits(smallest, largest, "medium", source)


def _ba(thread: Thread) -> MinorLimits | None:
    """BS 93: 0.375 P above the basic minor diameter, for the series itself."""
    if thread.series != "BA":
        return None
    smallest = thread.basic_minor
    return MinorLimits(smallest, smallest + 0.375 * thread.pitch, "BS 93", "BS 93, formula from memory")


def no_limits_reason(thread: Thread) -> str:
    """Return in words why :func:`minor_limits` has none for a thread.

    Raises
    ------
    InputError
        The thread has limits.
    """
    if minor_limits(thread) is not None:
        raise InputError(f"{thread.name} has published limits", key="thread")
    return f"no published limits of the minor diameter are known for {thread.name}"
