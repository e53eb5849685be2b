"""Adding what a strategy leaves: detours into patches that the loops or rows of a wide step-over do not cover.

With a step-over up to the cutter's radius loops leave nothing; beyond it they leave the corners of the loops and the
middles of the regions. Each patch gets a detour from the nearest stroke, and the whole is looked at again.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from msgspec import Struct

from holecam.cuts.coverage import Patch, pair_distances, uncut_patches
from holecam.cuts.elements import Floats, Indexes, elements_of
from holecam.cuts.level_layout import LevelLayout, Stroke, StrokeKind
from holecam.cuts.level_moves import swept_in_order
from holecam.cuts.run_builder import RunBuilder
from holecam.cuts.walls import Walls
from holecam.shapes import Outline, Point, Segment, distance

ROUNDS = 6
"""Times that the cover is looked at and completed; a detour that covers its patch needs one."""

NEAR_MIDDLE = 0.7
"""Times the radius: a patch within this of a place or line is covered from there with room to spare."""

NEIGHBOURS = 24
"""Ends of strokes that are tried as the beginning of a detour, the nearest first."""


class Completed(Struct, frozen=True, eq=False):
    """The layout with detours, and what they could not cover (nothing, unless something is wrong)."""

    layout: LevelLayout
    uncut: tuple[Patch, ...]
    detours: int


def completed(layout: LevelLayout, walls: Walls, rooms: list[Outline], radius: float) -> Completed:
    """Return the layout with a detour into every patch that it leaves uncut."""
    detours = 0
    for _ in range(ROUNDS):
        path, _ = swept_in_order(layout)
        patches = uncut_patches(walls, rooms, path, radius)
        if not patches:
            return Completed(layout, (), detours)
        added = _with_detours(layout, walls, patches, radius)
        if added is None:
            return Completed(layout, tuple(patches), detours)
        layout = added
        detours += len(patches)
    path, _ = swept_in_order(layout)
    return Completed(layout, tuple(uncut_patches(walls, rooms, path, radius)), detours)


def _with_detours(layout: LevelLayout, walls: Walls, patches: list[Patch], radius: float) -> LevelLayout | None:
    ends: list[Point] = []
    places: list[tuple[int, int]] = []
    for r, run in enumerate(layout.runs):
        for s, stroke in enumerate(run.strokes):
            if stroke.kind is not StrokeKind.STEP:
                ends.append(stroke.curve.end)
                places.append((r, s))
    xy = np.array(ends)
    builder = RunBuilder(walls)
    inserts: dict[tuple[int, int], list[Stroke]] = {}
    for patch in patches:
        middle = patch.middle()
        away = np.hypot(xy[:, 0] - middle[0], xy[:, 1] - middle[1])
        # Of equally near ones the last: when it is cut, the material round the patch is gone already
        order = np.lexsort((-np.arange(len(xy)), np.round(away, 6)))[:NEIGHBOURS]
        for k in order.tolist():
            detour = _detour(builder, ends[k], patch, middle, radius)
            if detour:
                inserts.setdefault(places[k], []).extend(detour)
                break
    if not inserts:
        return None
    runs = []
    for r, run in enumerate(layout.runs):
        new: list[Stroke] = []
        for s, stroke in enumerate(run.strokes):
            new.append(stroke)
            new += inserts.get((r, s), [])
        runs.append(new)
    return layout.with_strokes(runs)


def _detour(builder: RunBuilder, start: Point, patch: Patch, middle: Point, radius: float) -> list[Stroke]:
    """Return strokes from a place through the patch and back, or nothing when a wall is in the way."""
    spine = patch.spine()
    reach = float(np.hypot(patch.centers[:, 0] - middle[0], patch.centers[:, 1] - middle[1]).max())
    tracks: list[list[Point]] = []
    if spine is None or reach < NEAR_MIDDLE * radius:
        tracks.append([middle])
    elif float(pair_distances(elements_of([spine]), *_all(patch)).max()) < NEAR_MIDDLE * radius:
        ends = [spine.start, spine.end]
        tracks.append(ends if distance(start, ends[0]) <= distance(start, ends[1]) else ends[::-1])
    tracks.append(_winding(start, patch, radius))
    for stops in tracks:
        strokes = _there_and_back(builder, start, stops, radius)
        if strokes:
            return strokes
    return []


def _all(patch: Patch) -> tuple[Indexes, Floats, Floats]:
    return np.zeros(len(patch.centers), dtype=np.intp), patch.centers[:, 0], patch.centers[:, 1]


def _winding(start: Point, patch: Patch, radius: float) -> list[Point]:
    """Return stops within the patch, half a radius apart, each the nearest to the one before: for bent patches."""
    rest = patch.centers
    stops: list[Point] = []
    here = start
    while len(rest):
        away = np.hypot(rest[:, 0] - here[0], rest[:, 1] - here[1])
        k = int(away.argmin())
        here = (float(rest[k, 0]), float(rest[k, 1]))
        stops.append(here)
        rest = rest[np.hypot(rest[:, 0] - here[0], rest[:, 1] - here[1]) > radius / 2]
    return stops


def _there_and_back(builder: RunBuilder, start: Point, stops: list[Point], radius: float) -> list[Stroke]:
    """Return strokes along the stops as far as the walls allow, and back the same way."""
    track = [start]
    for stop in stops:
        if distance(track[-1], stop) > 1e-6:
            if not builder.clear(Segment(track[-1], stop), radius):
                break
            track.append(stop)
    track += track[-2::-1]
    return [Stroke(Segment(a, b), StrokeKind.CUT) for a, b in pairwise(track)]
