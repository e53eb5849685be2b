"""What remains of a body round a cut: the thinnest wall, the bottom, and the distance to curves that must stay."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.proof_values import WallReport
from holecam.shapes import Curve, Outline, Point, distance
from holecam.shapes.distances import chain_approach, nearest_approach


def wall_report(
    sides: Sequence[Curve],
    radius: float,
    *,
    body: Outline | None,
    opened: Sequence[Curve] = (),
    depth: float,
    stock_thickness: float | None,
    through: bool,
    kept: Sequence[KeepAway] = (),
) -> WallReport:
    """Return what remains beside a swept path.

    Parameters
    ----------
    sides : curves
        Path of the cutter's centre inside the body.
    radius : float
        Of the cutter: walls are measured from its edge.
    opened : curves
        Pieces of the body's outline through which the cut runs out; no wall stands there.
    """
    wall: float | None = None
    at: Point | None = None
    wall_from: Point | None = None
    if body is not None:
        edges = [c for c in body.curves if c not in opened]
        if edges and sides:
            approach = chain_approach(sides, edges)
            wall, at = approach.distance - radius, approach.on_second
            wall_from = _rim(approach.on_first, approach.on_second, radius)
    bottom = None if stock_thickness is None else (0.0 if through else stock_thickness - depth)
    to_kept, kept_from = [], []
    for keep in kept:
        if sides:
            near = min((nearest_approach(a, b) for a in sides for b in keep.curves), key=lambda n: n.distance)
            to_kept.append((keep.name, near.distance - radius, near.on_second))
            kept_from.append(_rim(near.on_first, near.on_second, radius))
    return WallReport(wall, at, bottom, tuple(to_kept), wall_from, tuple(kept_from))


def _rim(center: Point, toward: Point, radius: float) -> Point:
    """Return the place of the cutter's rim that lies toward another place; the centre itself where they coincide."""
    away = distance(center, toward)
    if away == 0.0:
        return center
    share = radius / away
    return (center[0] + (toward[0] - center[0]) * share, center[1] + (toward[1] - center[1]) * share)
