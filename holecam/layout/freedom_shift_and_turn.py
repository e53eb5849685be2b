"""Shift and small turn together: exact in the shift, stepped and certified in the turn.

Within a step of ``d`` to both sides of a turn, a hole L mm from the pivot strays by at most L d (d in radians). So a
shift that keeps every limit grown by L d holds for every turn of the step, and where the limits reduced by L d leave
no shift, none exists at any turn of the step.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.freedom_field import Freedom
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.layout.freedom_roomiest import GAP, RoomiestShift, Window, roomiest
from holecam.layout.freedom_turns import turned
from holecam.shapes import Point
from holecam.shapes.curve_arrays import Floats

MOST_STEPS = 2000
"""Steps of turn that one question may ask for."""


class TurnStep(Struct, frozen=True):
    """The nearest shift for a step of turns.

    Parameters
    ----------
    turn_deg, half_step_deg : float
        The step is ``turn_deg`` plus or minus ``half_step_deg``.
    shift : Point or None
        A shift that keeps every limit at every turn of the step; ``None`` when there is none, or none that could be
        nearer than the best one found before.
    distance : float
        Its distance from the wish, mm; ``inf`` without one.
    at_least : float
        No shift at any turn of the step is allowed nearer to the wish than this, mm.
    """

    turn_deg: float
    half_step_deg: float
    shift: Point | None
    distance: float
    at_least: float


class ShiftAndTurn(Struct, frozen=True):
    """The nearest allowed shift when the pattern may also turn about a pivot a little.

    ``best`` is certified; no turn in the range does with less than ``at_least`` mm. Both differ by what the step costs.
    """

    wish: Point
    pivot: Point
    steps: tuple[TurnStep, ...]
    best: TurnStep | None
    at_least: float


class RoomiestTurn(Struct, frozen=True):
    """The roomiest shift over a range of turns. No shift and turn in the range has more margin than ``bound``, mm."""

    turn_deg: float
    at: RoomiestShift
    bound: float


def nearest_with_turn(
    freedom: Freedom,
    wish: Point,
    *,
    pivot: Point,
    low_deg: float,
    high_deg: float,
    step_deg: float,
    reach: float,
) -> ShiftAndTurn:
    """Return the nearest allowed shift over a range of turns about a pivot (part frame, moves with the shift).

    The pivot's shift is what is measured; of equally near ones the smaller turn is taken.

    Raises
    ------
    InputError
        The range or the step is not positive and finite, or asks for more than :data:`MOST_STEPS` steps.
    """
    turns, half_deg = _steps(low_deg, high_deg, step_deg)
    stray = _arms(freedom, pivot) * math.radians(half_deg)
    steps: list[TurnStep] = []
    best: TurnStep | None = None
    for turn in sorted(turns, key=lambda t: (abs(t), -t)):
        here = turned(freedom, turn, pivot)
        at_least = nearest_allowed(here.grown(-stray), wish, reach=reach).distance
        shift, distance = None, math.inf
        if at_least < (math.inf if best is None else best.distance):
            found = nearest_allowed(here.grown(stray), wish, reach=reach)
            shift, distance = found.shift, found.distance
        step = TurnStep(turn, half_deg, shift, distance, at_least)
        steps.append(step)
        if shift is not None and (best is None or distance < best.distance):
            best = step
    steps.sort(key=lambda s: s.turn_deg)
    return ShiftAndTurn(wish, pivot, tuple(steps), best, min(s.at_least for s in steps))


def roomiest_with_turn(
    freedom: Freedom,
    window: Window,
    *,
    pivot: Point,
    low_deg: float,
    high_deg: float,
    step_deg: float,
    gap: float = GAP,
) -> RoomiestTurn:
    """Return the roomiest shift over the middles of the steps of a range of turns, and a bound for all turns in it.

    Raises
    ------
    InputError
        As :func:`nearest_with_turn`.
    """
    turns, half_deg = _steps(low_deg, high_deg, step_deg)
    stray = float(_arms(freedom, pivot).max()) * math.radians(half_deg)
    found = [(turn, roomiest(turned(freedom, turn, pivot), window, gap=gap)) for turn in turns]
    turn, at = max(found, key=lambda pair: (pair[1].margin, -abs(pair[0])))
    return RoomiestTurn(turn, at, max(r.bound for _, r in found) + stray)


def _arms(freedom: Freedom, pivot: Point) -> Floats:
    return np.asarray(np.hypot(freedom.xy[:, 0] - pivot[0], freedom.xy[:, 1] - pivot[1]), dtype=np.float64)


def _steps(low_deg: float, high_deg: float, step_deg: float) -> tuple[list[float], float]:
    """Return the middles of equal steps, none longer than asked, that cover the range, and half a step."""
    finite = all(math.isfinite(v) for v in (low_deg, high_deg, step_deg))
    if not (finite and low_deg < high_deg and step_deg > 0.0):
        raise InputError(f"turns {low_deg} to {high_deg} by {step_deg} degrees: expected a range and a step above zero")
    number = math.ceil((high_deg - low_deg) / step_deg - 1e-9)
    if number > MOST_STEPS:
        raise InputError(f"turns {low_deg} to {high_deg} by {step_deg} degrees: {number} steps, at most {MOST_STEPS}")
    step = (high_deg - low_deg) / number
    return [low_deg + (k + 0.5) * step for k in range(number)], step / 2
