"""The whole turns that pass while a handwheel is turned, to be ticked one by one."""

from __future__ import annotations

from holecam.lengths.dials import DialSetting

MOST_COUNTS = 40
"""More turns than this are counted by fives: nobody ticks a hundred boxes."""


def turn_counts(before: DialSetting | None, after: DialSetting) -> tuple[str, ...]:
    """Return the whole turns at which the dial's own zero goes by, in their order; empty when it does not.

    Each is told once and none is left out, so that one tick for each time the zero goes by ends at the right turn: also
    on the way back, and through the zero of the axis. A way that ends on a whole turn has that one last. ``before`` is
    ``None`` at the zero of the axis.

    >>> def at(negative, turns, marks): return DialSetting(negative, turns, marks, 0)
    >>> turn_counts(at(False, 2, 40), at(False, 5, 10)), turn_counts(at(False, 5, 10), at(False, 2, 40))
    (('3', '4', '5'), ('5', '4', '3'))
    >>> turn_counts(at(True, 2, 40), at(False, 1, 10)), turn_counts(None, at(False, 0, 99))
    (('−2', '−1', '0', '1'), ())
    """
    low, high = _whole_turns_about(before)
    low_after, high_after = _whole_turns_about(after)
    # One of the two ways is empty
    counts = [*range(low + 1, low_after + 1), *range(high - 1, high_after - 1, -1)]
    if len(counts) > MOST_COUNTS:
        counts = [c for c in counts if c % 5 == 0 or c == counts[-1]]
    return tuple(str(c).replace("-", "\N{MINUS SIGN}") for c in counts)


def _whole_turns_about(setting: DialSetting | None) -> tuple[int, int]:
    """Return the whole turn at or below a setting and the one at or above it."""
    if setting is None:
        return 0, 0
    far = setting.turns + (setting.marks > 0)
    return (-far, -setting.turns) if setting.negative else (setting.turns, far)
