"""The ladder of passes: even roughing, a tapering tail, the last steps as told, and the floor met exactly.

Everything is counted in whole steps of the readout, so sums are exact and no height can drift below the floor.
"""

from __future__ import annotations

import math
from fractions import Fraction

from msgspec import Struct

from holecam.errors import InputError
from holecam.lengths import MM_PER_INCH, exact, round_half_away

LAST_STEPS = (float(MM_PER_INCH / 1000), float(MM_PER_INCH / 2000))
"""mm. Last passes over a thin sheet: 0.001 in, then 0.0005 in (common practice)."""

TAPER_SHARE = 0.5
"""Ratio. A pass of the tail takes at most this share of what still lies above the floor (0.4 to 0.5, common
practice)."""

LEAST_CHIP = 0.005
"""mm. Below it even a sharp edge rubs instead of cutting: 0.1 to 0.4 of an edge radius of 5 to 10 microns, rounded up
to what a readout can show (common practice; the share from Wojciechowski, Materials 2022 15:59)."""

MOST_PASSES = 2000
"""More passes than this are a mistake in the sizes."""

WRITTEN_STEPS = (Fraction(1, 1000), MM_PER_INCH / 10_000)
"""mm. Heights are written with three decimals of a millimetre or four of an inch; both must stay above the floor."""


class PassRule(Struct, frozen=True):
    """How the steps are chosen, all in mm.

    Parameters
    ----------
    rough_step : float
        Greatest depth that the set-up bears.
    last_steps : tuple of float
        The last passes in the order in which they are cut, none larger than the one before.
    taper_share : float
        Greatest share of the metal above the floor that a pass of the tail takes.
    least_chip : float
        No pass is planned thinner than this, unless ``last_steps`` say so.
    """

    rough_step: float
    last_steps: tuple[float, ...] = LAST_STEPS
    taper_share: float = TAPER_SHARE
    least_chip: float = LEAST_CHIP

    def __post_init__(self) -> None:
        if not self.last_steps:
            raise InputError("last passes: expected at least one, such as 0.0005 in", key="last_steps")
        for what, size in (("roughing step", self.rough_step), *(("last pass", s) for s in self.last_steps)):
            if not (math.isfinite(size) and size > 0):
                raise InputError(f"{what} {size} mm: expected a length above zero", key=what)
        if any(b > a for a, b in zip(self.last_steps, self.last_steps[1:], strict=False)):
            raise InputError(
                f"last passes {', '.join(f'{s:g}' for s in self.last_steps)} mm: expected none larger than the one "
                "before it",
                key="last_steps",
            )
        if not 0 < self.taper_share < 1:
            raise InputError(f"taper share {self.taper_share}: expected between 0 and 1", key="taper_share")
        if not (math.isfinite(self.least_chip) and self.least_chip >= 0):
            raise InputError(f"least chip {self.least_chip} mm: expected a length of 0 or more", key="least_chip")

    def last_counts(self, resolution: Fraction) -> tuple[int, ...]:
        """Return the last steps in steps of the readout, never larger than told, at least 1."""
        return tuple(max(1, steps_within(s, resolution)) for s in self.last_steps)


def steps_within(length: float, resolution: Fraction) -> int:
    """Return how many whole steps of the readout fit into a length.

    >>> steps_within(0.0254, MM_PER_INCH / 2000)
    2
    """
    return math.floor(exact(length) / resolution)


def count_at_or_above(z: float, resolution: Fraction) -> int:
    """Return the lowest reading, in steps, that is not below ``z``: rounded up, away from the sheet.

    >>> count_at_or_above(-4.76, MM_PER_INCH / 2000) * 5       # ten-thousandths of an inch: -0.1870, not -0.1875
    -1870
    """
    return math.ceil(exact(z) / resolution)


def reading_z(count: int, resolution: Fraction) -> float:
    """Return the height of a reading, mm: the float nearest to ``count * resolution``."""
    return count * resolution.numerator / resolution.denominator


def lowest_written(count: int, resolution: Fraction) -> Fraction:
    """Return the lowest height, exact mm, at which a reading can end up: as shown, or written in inch or mm."""
    z = count * resolution
    return min(z, *(round_half_away(z / step) * step for step in WRITTEN_STEPS))


def floor_count(hard_floor: float, *, wanted: float, resolution: Fraction) -> int:
    """Return the lowest reading, in steps, at or above ``wanted`` that stays above the hard floor however written.

    Both in mm. The reading itself and the same height written with four decimals of an inch or three of a millimetre
    are all at or above ``hard_floor``.
    """
    count, hard = count_at_or_above(max(hard_floor, wanted), resolution), exact(hard_floor)
    while lowest_written(count, resolution) < hard:
        count += 1
    return count


def step_counts(*, start: int, floor: int, rule: PassRule, resolution: Fraction, fine_zone: int = 0) -> tuple[int, ...]:
    """Return the depth of each pass in steps of the readout, from the top down.

    Parameters
    ----------
    start, floor : int
        Readings, in steps, where the cutter starts and where the last pass ends.
    rule : PassRule
    resolution : Fraction
        One step of the readout, exact mm.
    fine_zone : int
        Steps above the floor from which every pass ends in a look: passes that end inside it are no deeper than the
        first of the last steps.

    Returns
    -------
    tuple of int
        None larger than the one before, all above zero, with the sum ``start - floor``; empty when ``start`` is the
        floor. The lowest ones are the last steps, unless less metal than that lies above the floor.

    Raises
    ------
    InputError
        ``floor`` above ``start``, a roughing step below the first of the last steps, or too many passes.
    """
    total = start - floor
    if total < 0:
        raise InputError(f"floor {floor} steps lies above the start {start}: expected it at or below")
    if total == 0:
        return ()
    last = rule.last_counts(resolution)
    rough = max(steps_within(rule.rough_step, resolution), 1)
    if rough < last[0]:
        raise InputError(
            f"roughing step {rule.rough_step:g} mm: expected at least the first of the last passes, "
            f"{rule.last_steps[0]:g} mm",
            key="rough_step",
        )
    caps = _steps_upward(total, last, rough, rule.taper_share, fine_zone)
    least = math.ceil(exact(rule.least_chip) / resolution)
    return _fitted(caps, total, least=min(least, last[-1]))


def _steps_upward(total: int, last: tuple[int, ...], rough: int, share: float, fine_zone: int) -> list[int]:
    """Return the greatest allowed steps from the floor upward until they reach the top, none smaller than the last."""
    growth = Fraction(share).limit_denominator(1000)
    growth = growth / (1 - growth)  # a step of share x (itself + what lies below it)
    top, bottom = growth.numerator, growth.denominator
    caps: list[int] = []
    below = 0
    while below < total:
        if len(caps) < len(last):
            step = last[-1 - len(caps)]
        elif below < fine_zone:
            step = last[0]
        else:
            step = max(caps[-1], min(rough, top * below // bottom))
        caps.append(step)
        below += step
        if len(caps) > MOST_PASSES:
            raise InputError(f"more than {MOST_PASSES} passes: check the sizes, the last passes and the readout")
    return caps


def _fitted(caps: list[int], total: int, *, least: int) -> tuple[int, ...]:
    """Return steps from the top down with exactly this sum: the largest caps are lowered to one level.

    Lowering the largest ones keeps the order and leaves the fine passes alone; what one step of the readout cannot
    divide goes to the uppermost passes.
    """
    level = _level(caps, total)
    if level < least:  # so little is left that slivers would rub: fewer passes, as far as the caps allow
        number = max(-(-total // max(caps)), min(len(caps), total // least))
        level, rest = divmod(total, number)
        return (level + 1,) * rest + (level,) * (number - rest)
    steps = [min(cap, level) for cap in caps]
    rest = total - sum(steps)
    for n in range(len(steps) - 1, -1, -1):  # from the top down
        if rest and caps[n] > level:
            steps[n] += 1
            rest -= 1
    return tuple(reversed(steps))


def _level(caps: list[int], total: int) -> int:
    """Return the greatest level w with ``sum(min(cap, w)) <= total``."""
    low, high = 0, max(caps)
    while low < high:
        middle = (low + high + 1) // 2
        if sum(min(cap, middle) for cap in caps) <= total:
            low = middle
        else:
            high = middle - 1
    return low
