"""Cuts as two handwheels do them: straight passes along one axis, row by row. Lengths in mm, not rounded."""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Point


class HandRow(Struct, frozen=True):
    """One pass with one handwheel while the other stands still.

    Parameters
    ----------
    number : int
        From 1.
    z : float
        Height of the tip.
    axis : {"X", "Y"}
        The handwheel that moves.
    fixed : float
        Reading of the other axis.
    start, end : float
        Readings of the moving axis.
    side_offset : float
        From the straight centre line of a slot, to the left of its travel; 0 in pockets and on bent lines.
    direction : str
        ``"climb"``, ``"conventional"``, ``"full width"`` or ``"both walls"``.
    cuts : bool
        False for a row that only brings the cutter to the next one, in cut material.
    note : str
    """

    number: int
    z: float
    axis: str
    fixed: float
    start: float
    end: float
    side_offset: float
    direction: str
    cuts: bool = True
    note: str = ""

    @property
    def begin(self) -> Point:
        """Where the pass starts."""
        return (self.start, self.fixed) if self.axis == "X" else (self.fixed, self.start)

    @property
    def finish(self) -> Point:
        """Where it ends."""
        return (self.end, self.fixed) if self.axis == "X" else (self.fixed, self.end)


class HandWork(Struct, frozen=True):
    """Rows for two handwheels; ``followable`` is False when some move goes along both axes at once, and ``why`` says
    which. ``turn_work_deg`` is the angle by which the work, or its vice, can be turned (anticlockwise) so that a
    straight slot lies along X; 0 where it does already or turning does not help."""

    followable: bool
    rows: tuple[HandRow, ...]
    why: str = ""
    turn_work_deg: float = 0.0
