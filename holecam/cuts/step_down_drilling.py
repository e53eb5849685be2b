"""Holes through the bar above the sheet: the drill's point counts, and takes the same hard floor."""

from __future__ import annotations

import math
from fractions import Fraction

from msgspec import Struct

from holecam.cuts.step_down_passes import floor_count
from holecam.errors import InputError
from holecam.standards.blind_holes import point_length


class DrillLimit(Struct, frozen=True):
    """How deep a drill may go over the sheet, mm on the readout.

    ``tip_count`` and ``tip_z`` are the lowest place of its very tip, a whole number of readout steps. ``point_length``
    is the height of its cone, ``cylinder_z`` where the full diameter ends, ``cylinder_depth`` how deep that is under
    the face drilled into; 0 or less means that even the point alone would be too deep.
    """

    tip_count: int
    tip_z: float
    point_length: float
    cylinder_z: float
    cylinder_depth: float

    @property
    def possible(self) -> bool:
        """Whether any of the full diameter fits above the floor."""
        return self.cylinder_depth > 0


def drill_limit(
    *,
    face_z: float,
    hard_floor: float,
    diameter: float,
    point_angle_deg: float,
    resolution: Fraction,
    margin: float | None = None,
) -> DrillLimit:
    """Return how deep a hole may be drilled into the bar above the sheet.

    Parameters
    ----------
    face_z : float
        Height of the face that is drilled into, on the readout, mm.
    hard_floor : float
        Hard floor of the step-down (:class:`StepDownHeights`), mm: the drill's tip stays above it.
    diameter, point_angle_deg : float
        180 degrees for a flat end (slot drill).
    resolution : Fraction
        One step of the readout, exact mm.
    margin : float or None
        How far the tip stays above the hard floor, mm; ``None`` takes one step of the readout. A drill that breaks
        through a bonding layer is pulled down: leave more where nothing stops the quill.
    """
    step = float(resolution) if margin is None else margin
    if not (math.isfinite(step) and step >= 0):
        raise InputError(f"margin {step} mm: expected a length of 0 or more", key="margin")
    cone = point_length(diameter, point_deg=point_angle_deg)
    count = floor_count(hard_floor, wanted=hard_floor + step, resolution=resolution)
    tip = float(count * resolution)
    return DrillLimit(count, tip, cone, tip + cone, face_z - (tip + cone))


def tip_below_hard_floor(tip_z: float, hard_floor: float) -> float:
    """Return how far a drill's tip would go below the hard floor, mm; 0 when it stays above. ``nan`` is refused."""
    if not (math.isfinite(tip_z) and math.isfinite(hard_floor)):
        raise InputError(f"tip {tip_z} mm and hard floor {hard_floor} mm: expected finite heights")
    return max(0.0, hard_floor - tip_z)
