"""What a picture of a cut points at: the widest place, how far a leftover sticks out, lines beside kept curves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.elements import elements_of
from holecam.cuts.kept_curves import connected, is_closed, walls_of_cut
from holecam.cuts.medial_axis import room_of
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.path_values import LevelPath
from holecam.cuts.proof_values import Leftover
from holecam.cuts.walls import WallChain, walls_of
from holecam.shapes import Arc, Curve, Outline, Point, distance

SAMPLE_GAP = 0.25
"""Times the cutter's radius: greatest distance between the places looked at along the path."""

CENTRED = 1e-6
"""mm. An arc about a point this near to its centre is everywhere as far from it."""

MOST_SAMPLES = 20000
"""Places looked at in all: bounds the time of a long path; they then lie farther apart."""


def widest_place(
    level: LevelPath, radius: float, outline: Outline, islands: Sequence[Outline], keep_away: Sequence[KeepAway]
) -> tuple[Point, float] | None:
    """Return where on the path the cutter's centre stands farthest from wall, islands and margins, and how far, mm.

    ``None`` without a path.
    """
    curves = [m.curve for m in level.moves if m.curve is not None and m.kind.takes_material and m.curve.length > 0]
    if not curves:
        return None
    named, _ = walls_of_cut(outline, islands, keep_away)
    path = elements_of(curves)
    gap = max(SAMPLE_GAP * radius, float(path.lengths.sum()) / MOST_SAMPLES)
    count = np.maximum(1, np.ceil(path.lengths / gap)).astype(np.intp)
    row = np.repeat(np.arange(len(path), dtype=np.intp), count)
    first = np.repeat(np.cumsum(count) - count, count)
    x, y = path.points_at(row, (np.arange(len(row)) - first + 1) / np.repeat(count, count))
    room = room_of(named.walls, np.column_stack([x, y]), 0.0)
    best = int(room.argmax())
    return (float(x[best]), float(y[best])), float(room[best])


def sticks_out(patch: Leftover, radius: float) -> float | None:
    """Return how far a leftover stands out of the cutter's rim into its corner, mm; ``None`` where it is no corner.

    At a square corner between straight walls ``(sqrt(2) - 1) R``.
    """
    if patch.reason != "inside corner":
        return None
    return max(_farthest(patch.at, c) for c in patch.border.curves) - radius


def _farthest(p: Point, curve: Curve) -> float:
    """Return the greatest distance from a point to a curve, mm."""
    ends = max(distance(p, curve.start), distance(p, curve.end))
    if not isinstance(curve, Arc):
        return ends
    away = distance(p, curve.center)
    if away <= CENTRED:  # the cutter's own rim
        return max(ends, curve.radius)
    share = curve.radius / away
    x, y = curve.center
    opposite = (x + (x - p[0]) * share, y + (y - p[1]) * share)
    return max(ends, away + curve.radius) if curve.covers(opposite) else ends


def margin_lines(keep: KeepAway) -> tuple[tuple[Curve, ...], ...]:
    """Return the closed lines at the margin beside a kept curve, outside where it is closed; none without a margin."""
    if keep.margin <= 0.0:
        return ()
    found: list[tuple[Curve, ...]] = []
    for part in connected(keep.curves):
        if is_closed(part):
            chain = WallChain(Outline(part).counterclockwise().reversed().curves)
        else:
            chain = WallChain(part, closed=False)
        found += [loop.curves for loop in OffsetStack(walls_of([chain])).at(keep.margin).loops]
    return tuple(found)
