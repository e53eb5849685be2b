"""One stroke over a thin sheet, and whether ways keep off walls and shoulders: exact distances."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from holecam.cuts.step_down_region import KeptOff
from holecam.cuts.stroke_pieces import way_along
from holecam.shapes import Curve, Segment
from holecam.shapes.distances import nearest_approach, point_to_curve

KEPT_NOISE = 1e-7
"""mm. A path computed along a limit may miss it by this much: arithmetic noise of crossings, far below a micron."""


class Stroke(Struct, frozen=True):
    """One way of the cutter at one height.

    Parameters
    ----------
    lead_in, cut, lead_out : tuples of Segment or Arc
        Path of the cutter's axis in plan, joined end to end; the leads may be empty.
    away : float
        Distance of the axis from the guide along the cut, mm.
    starts_in_metal, ends_in_metal : bool
        The cutter comes down on metal, or is lifted out of a corner of metal that stays. A lead then takes metal too:
        the ridge along a shoulder.
    along_bend : bool
        It runs along a limit.
    where_cut : bool
        It starts on metal, and its first place, way in included, lies beside it or was cut by a stroke before.
    """

    lead_in: tuple[Curve, ...]
    cut: tuple[Curve, ...]
    lead_out: tuple[Curve, ...]
    away: float
    starts_in_metal: bool = False
    ends_in_metal: bool = False
    along_bend: bool = False
    where_cut: bool = False

    @property
    def plunges(self) -> bool:
        """Whether the cutter has to come straight down into metal."""
        return self.starts_in_metal and not self.where_cut

    @property
    def curves(self) -> tuple[Curve, ...]:
        """The whole path in plan, leads included."""
        return self.lead_in + self.cut + self.lead_out


def keeps_off(way: Segment, kept_off: Sequence[KeptOff]) -> bool:
    """Return whether a straight way keeps off everything on its whole length, not at its ends only: exact."""
    middle, half = way.point_at(0.5), way.length / 2.0
    return all(
        point_to_curve(middle, curve) - half > kept.away
        or nearest_approach(way, curve).distance > kept.away - KEPT_NOISE
        for kept in kept_off
        for curve in kept.line
    )


def nearest_ways(chain: Sequence[Curve], kept_off: Sequence[KeptOff]) -> list[float]:
    """Return the ways along a chain, mm, at which it comes too near to a curve that it has to keep off.

    Looking at even distances alone, the end of a shoulder could be passed too near between two looks.
    """
    found: list[float] = []
    before = 0.0
    for curve in chain:
        middle, half = curve.point_at(0.5), curve.length / 2.0
        for kept in kept_off:
            for other in kept.line:
                if point_to_curve(middle, other) - half > kept.away:
                    continue
                approach = nearest_approach(curve, other)
                if approach.distance < kept.away - KEPT_NOISE:
                    found.append(before + way_along(curve, approach.on_first))
        before += curve.length
    return found
