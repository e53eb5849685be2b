"""Angles in degrees, with the exact values that a rotation library rounds away."""

from __future__ import annotations

import math

from holecam.errors import InputError


def cos_sin_deg(angle_deg: float) -> tuple[float, float]:
    """Return cosine and sine of an angle in degrees, anticlockwise from +X.

    The angle is brought into the first half quadrant before the library is asked, so that holes that lie opposite or
    mirrored to each other get coordinates that are opposite or mirrored to the last bit. Exact at every multiple of
    90 degrees (the library cosine of 90 degrees is 6e-17), and one half at 30 and 60.

    Raises
    ------
    InputError
        The angle is not finite.

    Examples
    --------
    >>> cos_sin_deg(90), cos_sin_deg(-180)
    ((0.0, 1.0), (-1.0, 0.0))
    >>> cos_sin_deg(60)[0], cos_sin_deg(150)[1]
    (0.5, 0.5)
    """
    if not math.isfinite(angle_deg):
        raise InputError(f"angle {angle_deg} degrees: expected a finite number")
    quarter, rest = divmod(angle_deg % 360.0, 90.0)
    cos, sin = _first_quadrant(rest)
    match int(quarter) % 4:
        case 0:
            return (cos, sin)
        case 1:
            return (0.0 - sin, cos)
        case 2:
            return (0.0 - cos, 0.0 - sin)
        case _:
            return (sin, 0.0 - cos)


def _first_quadrant(angle_deg: float) -> tuple[float, float]:
    """Return cosine and sine for 0 to 90 degrees; both halves of the quadrant use the same two library values."""
    if angle_deg > 45.0:
        sin, cos = _first_quadrant(90.0 - angle_deg)
        return (cos, sin)
    if angle_deg == 45.0:
        return (math.sqrt(0.5), math.sqrt(0.5))
    if angle_deg == 30.0:
        return (math.cos(math.radians(30.0)), 0.5)
    return (math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))


def direction_deg(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return the direction from one point to another in degrees, -180 to 180, anticlockwise from +X.

    Raises
    ------
    InputError
        Both points are one, so that there is no direction.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    if dx == 0.0 and dy == 0.0:
        raise InputError(f"direction from {start} to itself: expected two different points")
    return math.degrees(math.atan2(dy, dx))


def half_turn_range(angle_deg: float) -> float:
    """Return the same direction as an angle above -180 and up to 180 degrees.

    >>> half_turn_range(270.0), half_turn_range(-180.0)
    (-90.0, 180.0)
    """
    turn = angle_deg % 360.0
    return turn - 360.0 if turn > 180.0 else turn
