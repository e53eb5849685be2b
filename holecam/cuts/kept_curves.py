"""Curves and keep-outs that a cut stays away from, as walls with a margin beside the walls of the cut itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.elements import Flags, Floats
from holecam.cuts.offsets import Allowed
from holecam.cuts.proof import NamedWalls
from holecam.cuts.walls import WallChain, chains_of_region, walls_of
from holecam.shapes import Curve, Outline, distance
from holecam.shapes.curve_arrays import ClosedArea


def walls_of_cut(
    outline: Outline,
    islands: Sequence[Outline],
    keep_away: Sequence[KeepAway],
    *,
    allowance: float = 0.0,
    island_names: Sequence[str] = (),
) -> tuple[NamedWalls, Allowed | None]:
    """Return the walls of a cut with all that it keeps away from, and which places may be used.

    ``allowance`` is left on the walls and islands, mm, but not before curves that are kept away from.
    """
    chains = [WallChain(c.curves, allowance, c.closed) for c in chains_of_region(outline, islands)]
    names = ["wall", *(island_names[k] if k < len(island_names) else f"island {k + 1}" for k in range(len(islands)))]
    closed: list[Outline] = []
    for keep in keep_away:
        parts = connected(keep.curves)
        for part in parts:
            if is_closed(part):
                edge = Outline(part).counterclockwise().reversed()
                closed.append(edge)
                chains.append(WallChain(edge.curves, keep.margin))
            else:
                chains.append(WallChain(part, keep.margin, closed=False))
            names.append(keep.name)
    allowed = _allowed(outline, islands, closed) if keep_away else None
    return NamedWalls(walls_of(chains), tuple(names)), allowed


def is_closed(curves: Sequence[Curve]) -> bool:
    """Return whether a chain ends where it starts."""
    return distance(curves[0].start, curves[-1].end) <= 1e-6 and (len(curves) > 1 or curves[0].length > 1e-6)


def connected(curves: Sequence[Curve]) -> list[tuple[Curve, ...]]:
    """Return the chains that curves form in their order; a gap begins a new one."""
    chains: list[list[Curve]] = []
    for curve in curves:
        if chains and distance(chains[-1][-1].end, curve.start) <= 1e-6:
            chains[-1].append(curve)
        else:
            chains.append([curve])
    return [tuple(chain) for chain in chains]


def _allowed(outline: Outline, islands: Sequence[Outline], closed: Sequence[Outline]) -> Allowed:
    inside = ClosedArea(outline)
    outside = [ClosedArea(o) for o in (*islands, *closed)]

    def allowed(xy: Floats) -> Flags:
        good = np.asarray(inside.inside(xy))
        for area in outside:
            good &= ~area.inside(xy)
        return good

    return allowed
