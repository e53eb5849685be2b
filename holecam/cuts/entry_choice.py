"""How the cutter gets down to the depth of a pass: helix, ramp, drilled hole, or a plunge with a cutter that may."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Direction, Entry, EntryHole
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.elements import Floats, Indexes
from holecam.cuts.level_layout import HelixEntry, LevelEntry, RampEntry, StraightEntry
from holecam.cuts.walls import Walls
from holecam.errors import InputError
from holecam.shapes import Curve, Point, Segment, distance
from holecam.shapes.curve_arrays import ClosedArea, CurveArray, points_array

LEAST_HELIX = 0.1
"""Times the cutter's diameter: a helix of a smaller radius is a plunge by another name (common practice)."""

GREATEST_HELIX = 0.45
"""Times the cutter's diameter: a helix of more than half leaves a core standing (common practice)."""

RAMP_STRETCH = 2.0
"""Times the cutter's diameter: length of the stretch on which a ramp goes to and fro (common practice)."""


class EntryChooser(Struct, frozen=True):
    """Chooses entries for one pocket; ``wish`` is ``None`` for the best that fits.

    ``hole`` is one that is there anyhow. Where drilled holes are wished for and it does not lie, others are planned.
    """

    walls: Walls
    cutter: MillingCutter
    direction: Direction
    wish: Entry | None = None
    at: Point | None = None
    hole: EntryHole | None = None

    def choose(self, curves: Sequence[Curve], away: float, region: Loop) -> tuple[LevelEntry, Point]:
        """Return the entry for a region in which nothing is cut yet, and where its loop is best begun.

        Raises
        ------
        InputError
            A hole that is narrower than a cutter that may not plunge, or a plunge with one that may not.
        """
        hole = self._hole_inside(region)
        if hole is not None:
            return StraightEntry(hole.at, hole.diameter, hole.diameter >= self.cutter.diameter), hole.at
        if self.wish is Entry.DRILLED_HOLE:
            center = self._deepest(region, away)[0]
            return self._drilled(center), center
        if self.wish is Entry.PLUNGE:
            self._may_plunge()
            start = self.at if self.at is not None and self._holds(region, self.at) else curves[0].start
            return StraightEntry(start), start
        if self.wish is not Entry.RAMP:
            helix = self._helix(region, away)
            if helix is not None:
                return helix, helix.center
        ramp = self.ramp(curves)
        return ramp, curves[_longest(curves)].start

    def choose_at(self, center: Point, room: float) -> tuple[LevelEntry, Point]:
        """Return the entry at the middle of a round opening with this room for the cutter's centre.

        Raises
        ------
        InputError
            As for :meth:`choose`.
        """
        if self.hole is not None and distance(self.hole.at, center) <= room:
            self._wide_enough(self.hole)
            return StraightEntry(self.hole.at, self.hole.diameter, self.hole.diameter >= self.cutter.diameter), center
        if self.wish is Entry.DRILLED_HOLE:
            return self._drilled(center), center
        if self.wish is Entry.PLUNGE:
            self._may_plunge()
            return StraightEntry(center), center
        size = min(GREATEST_HELIX * self.cutter.diameter, room)
        if self.wish is Entry.RAMP or size < LEAST_HELIX * self.cutter.diameter:
            return RampEntry(min(RAMP_STRETCH * self.cutter.diameter, room)), center
        return HelixEntry(center, size, self.direction is Direction.CLIMB), center

    def choose_on(self, segment: Segment) -> LevelEntry:
        """Return the entry for a straight row in uncut material: the given hole, or as wished on the row.

        Raises
        ------
        InputError
            As for :meth:`choose`.
        """
        if self.hole is not None:
            self._wide_enough(self.hole)
            return StraightEntry(self.hole.at, self.hole.diameter, self.hole.diameter >= self.cutter.diameter)
        if self.wish is Entry.DRILLED_HOLE:
            return self._drilled(segment.point_at(0.5))
        if self.wish is Entry.PLUNGE:
            self._may_plunge()
            return StraightEntry(segment.start)
        if self.wish is Entry.HELIX:
            array = CurveArray(self.walls.bodies.curves())
            center = segment.point_at(0.5)
            room = float((array.table(points_array([center])) - self.walls.margin).min()) - self.cutter.radius
            size = min(GREATEST_HELIX * self.cutter.diameter, room)
            if size >= LEAST_HELIX * self.cutter.diameter:
                return HelixEntry(center, size, self.direction is Direction.CLIMB)
        return self.ramp([segment])

    def last_resort(self, curves: Sequence[Curve]) -> LevelEntry:
        """Return the entry at the start of curves that no step leads to from what is open already."""
        if self.wish is Entry.DRILLED_HOLE:
            return self._drilled(curves[0].start)
        if self.wish is Entry.PLUNGE:
            return StraightEntry(curves[0].start)
        return self.ramp(curves)

    def _drilled(self, at: Point) -> StraightEntry:
        """Return the entry through a hole that is drilled for it, as wide as the cutter."""
        return StraightEntry(at, self.cutter.diameter, free=True)

    def ramp(self, curves: Sequence[Curve]) -> RampEntry:
        """Return the ramp along the beginning of the curves, over the whole of them when they are short."""
        return RampEntry(min(RAMP_STRETCH * self.cutter.diameter, math.fsum(c.length for c in curves)))

    def lead(self, entry: LevelEntry, start: Point) -> Segment | None:
        """Return the straight stroke from where the entry ends to the start of the loop; ``None`` for none."""
        if isinstance(entry, HelixEntry):
            place = helix_end(entry, start)
        elif isinstance(entry, StraightEntry):
            place = entry.at
        else:
            return None
        return Segment(place, start) if distance(place, start) > 1e-6 else None

    def _may_plunge(self) -> None:
        if not self.cutter.centre_cutting:
            raise InputError(
                f'cutter "{self.cutter.name}" may not plunge: it does not cut on its centre. Enter by helix, ramp or '
                "a drilled hole, or take a centre-cutting one.",
                key="entry",
            )

    def _hole_inside(self, region: Loop) -> EntryHole | None:
        if self.hole is None or not self._holds(region, self.hole.at):
            return None
        self._wide_enough(self.hole)
        return self.hole

    def _wide_enough(self, hole: EntryHole) -> None:
        if hole.diameter < self.cutter.diameter and not self.cutter.centre_cutting:
            raise InputError(
                f"entry hole of {hole.diameter} mm: narrower than the cutter, {self.cutter.diameter} mm, which "
                "does not cut on its centre. Drill it wider, or take a centre-cutting one.",
                key="entry",
            )

    def _holds(self, region: Loop, p: Point) -> bool:
        if region.is_flat:
            return region.outline().distance_to(p) <= 1e-6
        return region.outline().contains(p) or region.outline().distance_to(p) <= 1e-6

    def _deepest(self, region: Loop, away: float) -> tuple[Point, float]:
        """Return the place of the region that lies farthest from all walls, of those looked at, and its distance."""
        outline = region.outline()
        left, low, right, high = outline.bounds
        x, y = np.meshgrid(np.linspace(left, right, 9), np.linspace(low, high, 9))
        grid = np.column_stack([x.ravel(), y.ravel()])
        ends = points_array([c.start for c in region.curves])
        if not region.is_flat:
            ends = np.concatenate([ends, grid[ClosedArea(outline).inside(grid)]])
        bodies = self.walls.bodies
        near = _within(bodies.boxes(), (left, low, right, high), away + (right - left) + (high - low))
        array = CurveArray(bodies.take(near).curves())
        margins = self.walls.margin[near]
        table = array.table(ends) - margins
        room = table.min(axis=1)
        best = int(room.argmax())
        return (float(ends[best, 0]), float(ends[best, 1])), float(room[best])

    def _helix(self, region: Loop, away: float) -> HelixEntry | None:
        ccw = self.direction is Direction.CLIMB  # in a bore the material lies outside: anticlockwise keeps it right
        radius = self.cutter.radius
        if self.at is not None and self._holds(region, self.at):
            array = CurveArray(self.walls.bodies.curves())
            room = float((array.table(points_array([self.at])) - self.walls.margin).min()) - radius
            center = self.at
        else:
            center, depth = self._deepest(region, away)
            room = depth - radius
        size = min(GREATEST_HELIX * self.cutter.diameter, room)
        if size < LEAST_HELIX * self.cutter.diameter:
            if self.wish is Entry.HELIX:
                raise InputError(
                    f"entry by helix: only {max(room, 0.0):.3f} mm of room round X {center[0]:.3f} Y {center[1]:.3f} "
                    f"mm, and a helix needs {LEAST_HELIX * self.cutter.diameter:.3f} mm. Enter by ramp or a drilled "
                    "hole, or take a smaller cutter.",
                    key="entry",
                )
            return None
        return HelixEntry(center, size, ccw)


def helix_end(entry: HelixEntry, toward: Point) -> Point:
    """Return the place on the circle of a helix nearest to a point: whole turns start and end there."""
    away = distance(entry.center, toward)
    if away <= 1e-9:
        return (entry.center[0] + entry.radius, entry.center[1])
    scale = entry.radius / away
    return (
        entry.center[0] + (toward[0] - entry.center[0]) * scale,
        entry.center[1] + (toward[1] - entry.center[1]) * scale,
    )


def _longest(curves: Sequence[Curve]) -> int:
    return max(range(len(curves)), key=lambda k: curves[k].length)


def _within(boxes: tuple[Floats, ...], box: tuple[float, float, float, float], reach: float) -> Indexes:
    left, low, right, high = boxes
    near = (left < box[2] + reach) & (right > box[0] - reach) & (low < box[3] + reach) & (high > box[1] - reach)
    return np.flatnonzero(near).astype(np.intp)
