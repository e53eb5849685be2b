"""The speed that a spindle really turns at: pulleys and gears give a few, and none between two of them."""

from __future__ import annotations

import math

from holecam.job.models_machine import Machine, Spindle
from holecam.lengths import Unit, length_text
from holecam.plan.facts import Figure
from holecam.standards.cutting_data import CuttingStart

FEED_DECIMALS: dict[Unit, int] = {"in": 2, "mm": 1}
"""Decimals of a feed in the trace: a quarter of a millimetre a minute is finer than any feed is set."""

SLOWEST_RPM = 60.0
"""Turns a minute that any mill goes down to (common practice): where the job does not state the slowest speed, none is
asked for below it."""


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


def speed_and_feed(rpm: float, feed_per_turn: float, machine: Machine) -> tuple[float, float]:
    """Return speed, turns a minute, and feed, mm a minute, that the machine has.

    Where it cannot feed fast enough for the speed it turns slower, so that every tooth still takes its chip: a slower
    tooth cuts, one that takes next to nothing rubs. Only at its slowest speed does the chip become thinner.

    Parameters
    ----------
    rpm : float
        Greatest speed.
    feed_per_turn : float
        mm a turn.
    machine : Machine
        Its spindle's speeds and fastest feed, as far as the job states them.
    """
    most = math.inf if machine.fastest_feed is None else float(machine.fastest_feed)
    slowest = speed_range(machine.spindle)[0] or min(SLOWEST_RPM, rpm)
    turns = speed_that_turns(min(rpm, max(most / feed_per_turn, slowest)), machine.spindle)
    return turns, min(feed_per_turn * turns, most)


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


def speed_figure(about: str, start: CuttingStart, unit: Unit) -> Figure:
    """Return speed and feed for the trace: how they came about, and what the machine held them to."""
    held = f", held to the machine's {start.bound} speed" if start.bound else ""
    if start.rpm < math.floor(start.wanted_rpm) and start.bound != "fastest":
        held = ", held to a speed that the machine has and can feed fast enough for"
    share, each = (start.chip, "tooth") if start.chip else (start.feed_per_turn, "turn")
    return Figure(
        about,
        "speed and feed",
        f"{start.rpm} turns a minute, {length_text(start.feed, unit, decimals=FEED_DECIMALS[unit])} a minute",
        f"1000 x {start.surface_speed:.1f} m/min / (pi x D){held}; {length_text(share, unit)} a {each}; "
        "a starting point",
        start.source,
    )
