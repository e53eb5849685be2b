"""Which system of screw sizes a thread belongs to: heads, washers and counterbores are listed by system and nominal."""

from __future__ import annotations

from fractions import Fraction

from holecam.standards.threads import METRIC_SERIES, UNIFIED_SERIES, Thread


def screw_system(thread: Thread) -> str:
    """Return ``unified``, ``metric``, ``ba``, ``whitworth``, or ``free`` for a thread stated by its sizes."""
    if thread.series in UNIFIED_SERIES:
        return "unified"
    if thread.series in METRIC_SERIES:
        return "metric"
    if thread.series == "BA":
        return "ba"
    return "whitworth" if thread.series in ("BSW", "BSF") else "free"


def exact_size(text: str) -> Fraction:
    """Return a table's size, such as ``1-3/16``, ``7/16`` or ``0.312``, exactly."""
    return sum((Fraction(piece) for piece in text.split("-")), Fraction(0))
