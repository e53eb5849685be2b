"""Hole circles, full and partial."""

from __future__ import annotations

import math

from holecam.errors import InputError
from holecam.layout.patterns import PatternPoints, check_count, check_pitch
from holecam.shapes import Point, cos_sin_deg

FULL_CIRCLE_DEG = 360.0


def hole_circle(
    count: int,
    *,
    diameter: float,
    start_deg: float = 0.0,
    included_deg: float = FULL_CIRCLE_DEG,
    step_deg: float | None = None,
    clockwise: bool = False,
) -> PatternPoints:
    """Return holes on a circle; the origin is its centre, hole 1 lies at the start angle.

    Parameters
    ----------
    count : int
    diameter : float
        Of the circle through the hole centres, mm.
    start_deg : float
        Angle of hole 1, degrees, anticlockwise from +X.
    included_deg : float
        Angle from the first hole to the last. The full 360 degrees share the circle among all holes, so that the last
        one stands one step before the first; less than that puts a hole at both ends.
    step_deg : float, optional
        Angle from hole to hole, instead of the included angle.
    clockwise : bool
        Number the holes clockwise.

    Raises
    ------
    InputError
        A count below 1, a diameter not above zero, an angle not within 0 to 360 degrees.

    Examples
    --------
    >>> hole_circle(4, diameter=10.0).points
    ((5.0, 0.0), (0.0, 5.0), (-5.0, 0.0), (0.0, -5.0))
    """
    what = "hole circle"
    check_count(count, what)
    radius = check_pitch(diameter, what, key="diameter") / 2.0
    if not math.isfinite(start_deg):
        raise InputError(f"{what}: start angle {start_deg}: expected a finite number of degrees")
    turns = _turns(count, included_deg, step_deg, what)
    side = -1.0 if clockwise else 1.0
    return PatternPoints(
        points=tuple(_on_circle(radius, start_deg + side * turn) for turn in turns),
        numbers=tuple(range(1, count + 1)),
        kind=what,
        origin="centre of the circle",
        numbering=f"{'clockwise' if clockwise else 'anticlockwise'} from hole 1 at {start_deg:g} degrees",
    )


def _turns(count: int, included_deg: float, step_deg: float | None, what: str) -> list[float]:
    """Return the angle of each hole from hole 1, degrees."""
    if step_deg is not None:
        if included_deg != FULL_CIRCLE_DEG:
            raise InputError(f"{what}: expected an included angle or a step, one of them")
        if not step_deg > 0.0 or not step_deg * (count - 1) < FULL_CIRCLE_DEG:
            raise InputError(
                f"{what}: {count} holes {step_deg:g} degrees apart: expected a step above zero that stays within "
                f"one turn, less than {FULL_CIRCLE_DEG / max(count - 1, 1):g} degrees"
            )
        return [i * step_deg for i in range(count)]
    if not 0.0 < included_deg <= FULL_CIRCLE_DEG:
        raise InputError(f"{what}: included angle {included_deg:g} degrees: expected above 0 and at most 360")
    steps = count if included_deg == FULL_CIRCLE_DEG else max(count - 1, 1)
    return [i * included_deg / steps for i in range(count)]


def _on_circle(radius: float, angle_deg: float) -> Point:
    cos, sin = cos_sin_deg(angle_deg)
    return (radius * cos, radius * sin)


def chord(*, diameter: float, step_deg: float) -> float:
    """Return the straight distance of neighbouring holes, mm: diameter times the sine of half the step."""
    return diameter * cos_sin_deg(step_deg / 2.0)[1]
