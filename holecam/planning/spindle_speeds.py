"""The speed that a spindle really turns at: pulleys and gears give a few, and none between two of them."""

from __future__ import annotations

import math

from holecam.job.models_machine import Spindle


def speed_that_turns(rpm: float, spindle: Spindle | None) -> float:
    """Return the speed to set, turns a minute: the next one below ``rpm`` that the spindle has, else its slowest.

    A spindle without steps turns at any speed.

    >>> speed_that_turns(900.0, Spindle(slowest=250, fastest=2000, steps=(250, 500, 1000, 2000)))
    500.0
    """
    if spindle is None or not spindle.steps:
        return rpm
    below = [s for s in spindle.steps if s <= rpm * (1.0 + 1e-9)]
    return float(max(below) if below else min(spindle.steps))


def speed_range(spindle: Spindle | None) -> tuple[float | None, float | None]:
    """Return the slowest and fastest speed that the spindle really has; ``None`` where the job does not say."""
    if spindle is None:
        return None, None
    if spindle.steps:
        return min(spindle.steps), max(spindle.steps)
    return spindle.slowest, spindle.fastest


def whole_speed(rpm: float) -> int:
    """Return a speed as tables and sheets give it: whole turns a minute, never more."""
    return math.floor(rpm + 1e-9)
