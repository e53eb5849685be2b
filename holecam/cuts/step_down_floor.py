"""Where the planned floor lies above the hard floor."""

from __future__ import annotations

import math
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from holecam.cuts.step_down_chance import Belief
from holecam.cuts.step_down_passes import floor_count
from holecam.errors import InputError


class FloorAim(StrEnum):
    """How far down is aimed at."""

    INTO_LAYER = "into the layer"
    ABOVE_LAYER = "above the layer"


class FloorRule(Struct, frozen=True):
    """How the planned floor follows from what is believed.

    Parameters
    ----------
    resolution : Fraction
        One step of the readout, exact mm.
    margin : float or None
        How far the planned floor stays above the hard floor, mm; ``None`` takes one step of the readout.
    skin : float
        Layer to leave on the sheet by its best estimate, mm.
    aim : FloorAim
    """

    resolution: Fraction
    margin: float | None = None
    skin: float = 0.0
    aim: FloorAim = FloorAim.INTO_LAYER

    def __post_init__(self) -> None:
        for what, size in (("floor margin", self.margin_used), ("skin", self.skin)):
            if not (math.isfinite(size) and size >= 0):
                raise InputError(f"{what} {size} mm: expected a length of 0 or more", key=what)

    @property
    def margin_used(self) -> float:
        """The margin above the hard floor, mm."""
        return float(self.resolution) if self.margin is None else self.margin

    def count(self, belief: Belief) -> int:
        """Return the planned floor in steps of the readout, rounded up, above the hard floor however it is written."""
        hard = belief.hard_floor()
        wanted = max(hard + self.margin_used, belief.likeliest() + self.skin)
        if self.aim is FloorAim.ABOVE_LAYER:
            wanted = max(wanted, belief.above_layer())
        return floor_count(hard, wanted=wanted, resolution=self.resolution)
