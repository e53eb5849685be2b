"""A second, smaller cutter that cuts only what the first one left."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.corner_relief import left_beside_reliefs
from holecam.cuts.coverage import uncut_patches
from holecam.cuts.cut_choices import Corners, Direction
from holecam.cuts.cutting_steps import PLAIN_STEP_DEPTH, PLAIN_STEP_OVER, checked_step_over, heights_down
from holecam.cuts.distance_clip import Stretches, combined, complement, merged, near_curves
from holecam.cuts.elements import Elements, elements_of
from holecam.cuts.hand_rows import hand_work
from holecam.cuts.hand_values import HandWork
from holecam.cuts.level_layout import LevelLayout, StrokeKind
from holecam.cuts.level_moves import cut_path, swept_in_order, with_engagement
from holecam.cuts.offsets import Allowed, Level, OffsetStack
from holecam.cuts.path_values import CutPath
from holecam.cuts.pocket_values import PocketRequest, Relief
from holecam.cuts.proof import NamedWalls, gouges_of, patch_as_leftover
from holecam.cuts.proof_values import LEFTOVER_SHARE, CutProof, Leftover
from holecam.cuts.reach import HARDLY, Reach, reach_of
from holecam.cuts.rings import ring_levels
from holecam.cuts.run_builder import RunBuilder
from holecam.errors import InputError
from holecam.shapes import Curve
from holecam.shapes.curve_arrays import ClosedArea

OVERLAP = 0.25
"""Times the radius: how far a stroke begins before the material and ends behind it (common practice)."""


class Rest(Struct, frozen=True):
    """What the second cutter does."""

    path: CutPath
    proof: CutProof
    by_hand: HandWork


def rest_of(
    request: PocketRequest,
    named: NamedWalls,
    allowed: Allowed | None,
    first: Reach,
    overcut: Sequence[Relief],
    first_layout: LevelLayout,
    first_heights: Sequence[float],
) -> Rest | None:
    """Return the path of the second cutter and its proof, ``None`` when the first left nothing that it reaches.

    ``first`` tells what the first one leaves when the corners in ``overcut`` are overcut: of these nothing stays.

    Raises
    ------
    InputError
        The second cutter is not smaller than the first, is too short, or enters nowhere.
    """
    cutter = request.second_cutter
    assert cutter is not None
    what = f'pocket "{request.name}"'
    if not cutter.diameter < request.cutter.diameter:
        raise InputError(
            f'{what}: second cutter "{cutter.name}" of {cutter.diameter:.3f} mm is not smaller than the first, '
            f"{request.cutter.diameter:.3f} mm",
            key="second_cutter",
        )
    depth = -first_heights[-1]
    if not cutter.reaches(depth):
        raise InputError(f'{what}: second cutter "{cutter.name}" is too short for {depth:.3f} mm', key="second_cutter")
    step = checked_step_over(what, PLAIN_STEP_OVER * cutter.diameter, cutter.diameter)
    heights = heights_down(what, depth, PLAIN_STEP_DEPTH * cutter.diameter, stock_thickness=None, through=False)
    levels = ring_levels(named.walls, cutter.radius, step, 0.0, None, allowed)
    patches = [p for p in first.leftovers if p.area > LEFTOVER_SHARE * cutter.diameter**2]
    if not levels or not patches:
        return None
    layout = rest_layout(named, levels, patches, cutter.radius, request.direction)
    if not layout.runs:
        return None
    before = swept_in_order(first_layout)[0]
    layout, peak = with_engagement(
        layout,
        cutter.radius,
        step,
        request.corners if request.corners is not Corners.NIBBLE else Corners.SLOW,
        request.engagement_ratio,
        cut_before=(before, request.cutter.radius),
    )
    path = cut_path(
        "rest",
        cutter.diameter,
        layout,
        heights,
        top_z=0.0,
        clearance_z=request.clearance_z,
        ramp_deg=request.ramp_deg,
    )
    strokes = swept_in_order(layout)[0]
    nearest, gouges = gouges_of(strokes, named, cutter.radius)
    border = OffsetStack(named.walls, allowed).at(HARDLY) if request.keep_away else None
    stays = reach_of(named.walls, levels[0], border)
    rooms = [loop.outline() for loop in levels[0].loops if not loop.is_flat]
    only = [p.border for p in patches]
    uncut = [patch_as_leftover(p) for p in uncut_patches(named.walls, rooms, strokes, cutter.radius, only=only)]
    least = LEFTOVER_SHARE * cutter.diameter**2
    counted = tuple(u for u in uncut if u.area > least)
    wanted = first.left_area
    kept = left_beside_reliefs(stays.leftovers, overcut)
    reachable = wanted - math.fsum(patch.area for patch in kept)
    proof = CutProof(heights, nearest, gouges, kept, counted, wanted, reachable, peak)
    return Rest(path, proof, hand_work(layout, heights))


def rest_layout(
    named: NamedWalls, levels: Sequence[Level], patches: Sequence[Leftover], radius: float, direction: Direction
) -> LevelLayout:
    """Return the strokes beside the walls that touch the patches, patch by patch, those away from the walls first."""
    builder = RunBuilder(named.walls)
    for patch in patches:
        for level in reversed(levels):
            for loop in level.loops:
                for chain in _touching(loop.curves, patch, radius):
                    curves = chain
                    if direction is Direction.CONVENTIONAL:
                        curves = tuple(c.reversed() for c in reversed(chain))
                    if not builder.step_to(curves[0].start, level.distance):
                        builder.lift()
                    kind = StrokeKind.FINISH if level is levels[0] else StrokeKind.CUT
                    builder.add(curves, kind)
        builder.lift()
    return builder.layout()


def _touching(curves: tuple[Curve, ...], patch: Leftover, radius: float) -> list[tuple[Curve, ...]]:
    """Return the stretches of a loop from which the cutter touches a patch, begun and ended clear of it."""
    table = elements_of(curves, closed=True)
    border = elements_of([*patch.border.curves, *(c for h in patch.holes for c in h.curves)])
    touched = merged(near_curves(table, border, np.full(len(border), radius)), table.lengths)
    apart = complement(touched, table.lengths)
    x, y = table.points_at(apart.row, apart.middle)
    inside = ClosedArea(patch.border).inside(np.column_stack([x, y]))
    touched = merged(combined([touched, apart.chosen(inside)]), table.lengths)
    if not len(touched):
        return []
    return _chains(table, _grown(table, touched, OVERLAP * radius))


def _grown(table: Elements, parts: Stretches, by: float) -> Stretches:
    """Return stretches of a closed chain longer by a length at both ends, round its joints."""
    ends = np.cumsum(table.lengths)
    begins = ends - table.lengths
    total = float(ends[-1])
    low = begins[parts.row] + parts.low * table.lengths[parts.row] - by
    high = begins[parts.row] + parts.high * table.lengths[parts.row] + by
    rows, a, b = [], [], []
    for start, end in zip(low.tolist(), high.tolist(), strict=True):
        for turn in (-total, 0.0, total):
            lo, hi = np.maximum(begins, start + turn), np.minimum(ends, end + turn)
            for k in np.flatnonzero(hi > lo).tolist():
                rows.append(k)
                a.append((lo[k] - begins[k]) / table.lengths[k])
                b.append((hi[k] - begins[k]) / table.lengths[k])
    return merged(Stretches(np.array(rows, dtype=np.intp), np.array(a), np.array(b)), table.lengths)


def _chains(table: Elements, parts: Stretches) -> list[tuple[Curve, ...]]:
    """Return stretches that follow each other over joints as chains, round the seam of the loop too."""
    pieces = table.part(parts.row, parts.low, parts.high).curves()
    groups: list[list[Curve]] = []
    for k, curve in enumerate(pieces):
        follows = parts.low[k] <= 1e-9 and parts.high[k - 1] >= 1 - 1e-9 and parts.row[k] == parts.row[k - 1] + 1
        if follows:
            groups[-1].append(curve)
        else:
            groups.append([curve])
    seam = parts.row[0] == 0 and parts.low[0] <= 1e-9
    seam = seam and parts.row[-1] == len(table) - 1 and parts.high[-1] >= 1 - 1e-9
    if seam and len(groups) > 1:
        groups[0] = groups.pop() + groups[0]
    return [tuple(g) for g in groups]
