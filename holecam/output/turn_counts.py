"""The whole turns that pass while a handwheel is turned, to be ticked one by one."""

from __future__ import annotations

MOST_COUNTS = 40
"""More turns than this are counted by fives: nobody ticks a hundred boxes."""


def turn_counts(before: int, after: int) -> tuple[str, ...]:
    """Return the counts passed on the way, the last of them ``after``; empty when no whole turn passes.

    >>> turn_counts(2, 5), turn_counts(1, -2), turn_counts(3, 3)
    (('3', '4', '5'), ('0', '−1', '−2'), ())
    """
    step = 1 if after > before else -1
    counts = list(range(before + step, after + step, step)) if after != before else []
    if len(counts) > MOST_COUNTS:
        counts = [c for c in counts if c % 5 == 0 or c == after]
    return tuple(str(c).replace("-", "\N{MINUS SIGN}") for c in counts)
