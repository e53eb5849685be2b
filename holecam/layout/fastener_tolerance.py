"""Position tolerance left per hole by the floating and fixed fastener formulas (ASME Y14.5, Appendix B).

H is the least diameter of the clearance hole, F the greatest diameter of the fastener, T the diameter of the zone that
a hole's axis has to stay in: a hole may be off by T / 2 in any direction. The formulas take it for granted that both
pieces are located from the same datums and that nothing but position is used up; measured holes deserve the bolt-up.
"""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError

SOURCE = "ASME Y14.5, Appendix B"


class ToleranceLeft(Struct, frozen=True):
    """What one hole may still use of its zone.

    ``zone`` is the diameter allowed, ``used`` twice the distance that the hole is off, ``left`` the difference, all
    in mm.
    """

    number: int
    zone: float
    used: float
    left: float


def _size(value: float, what: str) -> float:
    if not (math.isfinite(value) and value > 0.0):
        raise InputError(f"{what} {value} mm: expected a finite size above zero")
    return value


def floating_tolerance(hole: float, fastener: float) -> float:
    """Return T = H - F, mm: both pieces have clearance holes. Below zero the fastener does not enter at all.

    >>> round(floating_tolerance(6.44, 6.0), 9)
    0.44
    """
    return _size(hole, "hole") - _size(fastener, "fastener")


def fixed_tolerance(hole: float, fastener: float) -> float:
    """Return T = (H - F) / 2, mm, for each piece: one clearance hole, one thread or stud; projected zone.

    >>> round(fixed_tolerance(6.44, 6.0), 9)
    0.22
    """
    return floating_tolerance(hole, fastener) / 2.0


def fixed_tolerance_other(hole: float, fastener: float, other: float) -> float:
    """Return what T1 + T2 = H - F leaves for one piece when the other takes ``other``, mm (projected zone)."""
    if not (math.isfinite(other) and other >= 0.0):
        raise InputError(f"tolerance of the other piece {other} mm: expected zero or more")
    return floating_tolerance(hole, fastener) - other


def fixed_tolerance_unprojected(
    hole: float,
    fastener: float,
    *,
    plate_thickness: float,
    thread_depth: float,
    clearance_tolerance: float | None = None,
) -> float:
    """Return the thread's T2, mm, when its zone is not projected, so that a leaning thread uses more of the clearance.

    ``H = F + T1 + T2 (1 + 2 P / D)`` with P the greatest thickness of the plate and D the least depth of the thread.
    Without ``clearance_tolerance`` (T1) both pieces get the same.

    >>> round(fixed_tolerance_unprojected(6.44, 6.0, plate_thickness=6.0, thread_depth=12.0), 9)
    0.146666667
    """
    spare = floating_tolerance(hole, fastener)
    lever = 1.0 + 2.0 * _size(plate_thickness, "plate thickness") / _size(thread_depth, "thread depth")
    if clearance_tolerance is None:
        return spare / (1.0 + lever)
    if not (math.isfinite(clearance_tolerance) and clearance_tolerance >= 0.0):
        raise InputError(f"tolerance of the clearance hole {clearance_tolerance} mm: expected zero or more")
    return (spare - clearance_tolerance) / lever


def least_hole(
    fastener: float,
    *,
    clearance_tolerance: float,
    thread_tolerance: float,
    plate_thickness: float = 0.0,
    thread_depth: float = 1.0,
) -> float:
    """Return the least clearance hole H, mm, for given zones: ``F + T1 + T2 (1 + 2 P / D)``; P = 0 for a projected
    zone."""
    if not (math.isfinite(plate_thickness) and plate_thickness >= 0.0):
        raise InputError(f"plate thickness {plate_thickness} mm: expected zero or more")
    lever = 1.0 + 2.0 * plate_thickness / _size(thread_depth, "thread depth")
    for value, what in ((clearance_tolerance, "clearance hole"), (thread_tolerance, "thread")):
        if not (math.isfinite(value) and value >= 0.0):
            raise InputError(f"tolerance of the {what} {value} mm: expected zero or more")
    return _size(fastener, "fastener") + clearance_tolerance + thread_tolerance * lever


def virtual_hole(least_diameter: float, tolerance: float) -> float:
    """Return the boundary that the hole always leaves free, mm: least diameter less its zone (ISO 2692)."""
    return _size(least_diameter, "hole") - tolerance


def virtual_screw(greatest_diameter: float, tolerance: float) -> float:
    """Return the boundary that the screw never passes, mm: greatest diameter plus its zone (ISO 2692).

    The two mate whatever else happens if the screw's boundary is not larger than the hole's.
    """
    return _size(greatest_diameter, "screw") + tolerance


def tolerance_left(number: int, zone: float, off: float) -> ToleranceLeft:
    """Return what a hole that is ``off`` by so many mm from its place leaves of a zone of that diameter."""
    if not (math.isfinite(zone) and math.isfinite(off) and off >= 0.0):
        raise InputError(f"hole {number}: expected a finite zone and a distance not below zero, got {zone} and {off}")
    return ToleranceLeft(number, zone, 2.0 * off, zone - 2.0 * off)
