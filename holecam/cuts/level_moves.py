"""From what happens in plan to moves with heights: engagement along the strokes, feed, entries, lifts and levels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from holecam.cuts.cut_choices import Corners, EntryHole
from holecam.cuts.elements import Elements, elements_of
from holecam.cuts.engagement import (
    CLOSE_SHARE,
    SAMPLE_SHARE,
    engagement_along,
    feed_factor,
    sample_places,
    straight_engagement_deg,
)
from holecam.cuts.entry_choice import helix_end
from holecam.cuts.level_layout import (
    HelixEntry,
    LevelLayout,
    RampEntry,
    Run,
    StraightEntry,
    Stroke,
    StrokeKind,
    split_curve,
)
from holecam.cuts.path_values import CutMove, CutPath, LevelPath, MoveKind, along, upright
from holecam.cuts.proof_values import EngagementPeak
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Point, Segment, distance

AIR = 0.5
"""mm above the material at which a rapid or quick descent ends and the entry begins: common practice."""

ENTRY_FEED = 0.5
"""Share of the cutting feed for ramps and helices: common practice."""

PLUNGE_FEED = 0.3
"""Share of the cutting feed straight down: common practice."""

NO_ENGAGEMENT_DEG = 0.5
"""A straight step whose tooth cuts over less than this meets no material: it is a link."""

SHORTEST_SPLIT = 0.02
"""mm. A stroke is not split for its feed into parts shorter than this."""


def open_places(layout: LevelLayout, radius: float) -> list[Circle]:
    """Return what entries open at depth: bores of helices and drilled holes."""
    places = []
    for run in layout.runs:
        if isinstance(run.entry, HelixEntry):
            places.append(run.entry.bore(radius))
        elif isinstance(run.entry, StraightEntry):
            places.append(Circle(run.entry.at, max(radius, run.entry.hole / 2)))
    return places


def entry_circles(layout: LevelLayout) -> Elements | None:
    """Return the circles of helices, ``None`` when there are none: they are run at depth too."""
    circles: list[Curve] = []
    for run in layout.runs:
        if isinstance(run.entry, HelixEntry):
            begin = helix_end(run.entry, run.start)
            circles.append(Arc(begin, begin, run.entry.center, run.entry.ccw))
    return elements_of(circles) if circles else None


def entry_holes_of(layouts: Sequence[LevelLayout]) -> tuple[EntryHole, ...]:
    """Return the holes that have to be drilled before the cutter gets down, each once."""
    found: dict[EntryHole, None] = {}
    for layout in layouts:
        for run in layout.runs:
            if isinstance(run.entry, StraightEntry) and run.entry.hole > 0:
                found[EntryHole(run.entry.at, run.entry.hole)] = None
    return tuple(found)


def swept_in_order(layout: LevelLayout) -> tuple[Elements, list[bool]]:
    """Return all strokes in their order, and for each whether it does not start where the one before ended."""
    fresh = [k == 0 for run in layout.runs for k in range(len(run.strokes))]
    return elements_of([s.curve for s in layout.strokes()]), fresh


def with_engagement(
    layout: LevelLayout,
    radius: float,
    step_over: float,
    corners: Corners,
    ratio: float,
    *,
    cut_before: tuple[Elements, float] | None = None,
) -> tuple[LevelLayout, EngagementPeak]:
    """Return the layout with engagement and feed on every stroke, strokes split where the feed changes, and the peak.

    The peak leaves out entries and overcuts of corners; a first cut through solid material counts as what it is, 180
    degrees. ``cut_before`` is the path of another cutter that went before, and its radius.
    """
    path, fresh = swept_in_order(layout)
    row, share = sample_places(path, radius, gap=CLOSE_SHARE if corners is Corners.NIBBLE else SAMPLE_SHARE)
    samples = engagement_along(
        path, radius, row, share, fresh=fresh, open_before=open_places(layout, radius), cut_before=cut_before
    )
    straight = straight_engagement_deg(min(step_over, 2 * radius), radius)
    slow = corners is not Corners.AS_THEY_COME
    angles, shares, lefts = samples.engagement_deg.tolist(), share.tolist(), samples.left_deg.tolist()
    first = np.searchsorted(row, np.arange(len(path) + 1))
    runs: list[list[Stroke]] = []
    at = 0
    for run in layout.runs:
        new: list[Stroke] = []
        for stroke in run.strokes:
            low, high = int(first[at]), int(first[at + 1])
            part = slice(low, high)
            new += _split(stroke, shares[part], angles[part], lefts[part], straight, ratio if slow else math.inf)
            at += 1
        runs.append(new)
    relief = np.array([s.kind is StrokeKind.RELIEF for s in layout.strokes()])
    worst = int(np.where(relief[row], -1.0, samples.engagement_deg).argmax())
    x, y = path.points_at(row[worst : worst + 1], share[worst : worst + 1])
    peak = EngagementPeak(float(samples.engagement_deg[worst]), (float(x[0]), float(y[0])), straight)
    return layout.with_strokes(runs), peak


def _split(
    stroke: Stroke, shares: list[float], angles: list[float], lefts: list[float], straight: float, ratio: float
) -> list[Stroke]:
    """Return the stroke in parts of one feed each; ``shares`` are the ends of the parts looked at."""
    factors = [feed_factor(a, straight, ratio) if math.isfinite(ratio) else 1.0 for a in angles]
    slow = [f < 1.0 for f in factors]
    parts: list[tuple[float, float, tuple[float, float]]] = []  # share at its end, feed factor, engagement and left
    for k, end in enumerate(shares):
        if k and slow[k] == slow[k - 1]:
            before = parts.pop()
            parts.append((end, min(before[1], factors[k]), max(before[2], (angles[k], lefts[k]))))
        else:
            parts.append((end, factors[k], (angles[k], lefts[k])))
    made: list[Stroke] = []
    rest, done = stroke.curve, 0.0
    size = stroke.curve.length
    for k, (end, factor, angle) in enumerate(parts):
        if k + 1 < len(parts) and min(end - done, 1.0 - end) * size > SHORTEST_SPLIT:
            piece, rest = split_curve(rest, (end - done) / (1.0 - done))
            made.append(Stroke(piece, stroke.kind, factor, *angle))
            done = end
        elif k + 1 == len(parts):
            made.append(Stroke(rest, stroke.kind, factor, *angle))
        else:  # too short to stand alone: the next part takes its feed over
            end_next, factor_next, angle_next = parts[k + 1]
            parts[k + 1] = (end_next, min(factor, factor_next), max(angle, angle_next))
    return made


def level_path(
    layout: LevelLayout, *, z_above: float, z: float, clearance_z: float, ramp_deg: float, start: Point | None
) -> LevelPath:
    """Return the moves that cut a layout at height ``z``; ``start`` is where the cutter is, above the work."""
    moves: list[CutMove] = []
    here = start
    for run in layout.runs:
        begin = _entry_start(run)
        if here is not None and distance(here, begin) > 1e-9:
            moves.append(along(MoveKind.TRAVEL, Segment(here, begin), clearance_z))
        moves += _entry_moves(run, begin, z_above, z, clearance_z, ramp_deg)
        moves += [_stroke_move(s, z) for s in run.strokes]
        here = run.end
        moves.append(upright(MoveKind.RETRACT, here, z, clearance_z))
    return LevelPath(z, z_above, tuple(moves))


def cut_path(
    name: str,
    diameter: float,
    layout: LevelLayout,
    heights: Sequence[float],
    *,
    top_z: float,
    clearance_z: float,
    ramp_deg: float,
) -> CutPath:
    """Return the path that cuts the same layout at several heights, from the top down.

    Raises
    ------
    InputError
        The clearance height is not above the work, or the ramp is not between 0 and 90 degrees.
    """
    if not clearance_z > top_z + AIR:
        raise InputError(
            f"clearance height {clearance_z} mm: expected more than {AIR} mm above the work, which is Z {top_z} mm",
            key="clearance_z",
        )
    if not 0 < ramp_deg < 90:
        raise InputError(f"ramp of {ramp_deg} degrees: expected above 0 and below 90")
    levels: list[LevelPath] = []
    above, here = top_z, None
    for z in heights:
        level = level_path(layout, z_above=above, z=z, clearance_z=clearance_z, ramp_deg=ramp_deg, start=here)
        levels.append(level)
        above = z
        here = level.moves[-1].at
    return CutPath(name, diameter, tuple(levels), clearance_z)


def _stroke_move(stroke: Stroke, z: float) -> CutMove:
    kind = {StrokeKind.FINISH: MoveKind.FINISH}.get(stroke.kind, MoveKind.CUT)
    free = stroke.engagement_deg is not None and stroke.engagement_deg <= NO_ENGAGEMENT_DEG
    if stroke.kind is StrokeKind.STEP and free:
        kind = MoveKind.LINK
    return along(kind, stroke.curve, z, feed_factor=stroke.feed_factor, engagement_deg=stroke.engagement_deg)


def _entry_start(run: Run) -> Point:
    if isinstance(run.entry, HelixEntry):
        return helix_end(run.entry, run.start)
    if isinstance(run.entry, StraightEntry):
        return run.entry.at
    return run.start


def _entry_moves(
    run: Run, begin: Point, z_above: float, z: float, clearance_z: float, ramp_deg: float
) -> list[CutMove]:
    entry = run.entry
    if entry is None:
        return [upright(MoveKind.DESCEND, begin, clearance_z, z)]
    top = z_above + AIR
    slope = math.tan(math.radians(ramp_deg))
    if isinstance(entry, StraightEntry):
        if entry.free:
            return [upright(MoveKind.DESCEND, begin, clearance_z, z)]
        plunge = CutMove(MoveKind.ENTRY, None, begin, top, z, PLUNGE_FEED)
        return [upright(MoveKind.DESCEND, begin, clearance_z, top), plunge]
    moves = [upright(MoveKind.DESCEND, begin, clearance_z, top)]
    if isinstance(entry, HelixEntry):
        circle = Arc(begin, begin, entry.center, entry.ccw)
        turns = max(1, math.ceil((top - z) / (circle.length * slope) - 1e-9))
        heights = [top + (z - top) * k / turns for k in range(turns + 1)]
        for high, low in pairwise(heights):
            moves.append(along(MoveKind.ENTRY, circle, high, z_end=low, feed_factor=ENTRY_FEED))
        moves.append(along(MoveKind.ENTRY, circle, z, feed_factor=ENTRY_FEED))  # leaves the floor flat
        return moves
    return moves + _ramp_moves(run, entry, top, z, slope)


def _ramp_moves(run: Run, entry: RampEntry, top: float, z: float, slope: float) -> list[CutMove]:
    """Return moves to and fro along the first strokes, ending at their start, each descending by the same slope."""
    track: list[Curve] = []
    left = entry.stretch
    for stroke in run.strokes:
        if left <= 1e-6:
            break
        size = stroke.curve.length
        if size <= left + 1e-6:
            track.append(stroke.curve)
        else:
            track.append(split_curve(stroke.curve, left / size)[0])
        left -= size
    back = [c.reversed() for c in reversed(track)]
    size = math.fsum(c.length for c in track)
    pairs = max(1, math.ceil((top - z) / slope / (2.0 * size) - 1e-9))
    fall = (top - z) / (2.0 * size * pairs)
    moves: list[CutMove] = []
    done = 0.0
    for _ in range(pairs):
        for curve in (*track, *back):
            high = top - fall * done
            done += curve.length
            low = max(z, top - fall * done)
            moves.append(along(MoveKind.ENTRY, curve, high, z_end=low, feed_factor=ENTRY_FEED))
    last = moves.pop()
    moves.append(CutMove(last.kind, last.curve, last.at, last.z_start, z, last.feed_factor))
    return moves
