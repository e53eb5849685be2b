"""Strokes collected into runs, with walls asked before each straight step."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from holecam.cuts.distance_clip import near_bodies, near_points
from holecam.cuts.elements import elements_of
from holecam.cuts.level_layout import LevelEntry, LevelLayout, Run, Stroke, StrokeKind
from holecam.cuts.walls import Walls
from holecam.shapes import Curve, Point, Segment, distance

STEP_NOISE = 1e-6
"""mm. A straight step from loop to loop may come nearer to a wall than the loop by this: noise of its end points."""

BRIDGE = 1e-9
"""mm. Gaps longer than this between strokes are bridged by a line: a loop may be begun a ten-thousandth of a
millimetre from where the cutter is, where splitting it would leave a stub."""


class RunBuilder(Struct):
    """Collects strokes into runs; asks the walls before each straight step."""

    walls: Walls
    runs: list[Run] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    entry: LevelEntry | None = None
    landing: Point | None = None

    @property
    def here(self) -> Point | None:
        """Where the cutter is at depth, ``None`` when it is up."""
        return self.strokes[-1].curve.end if self.strokes else self.landing

    def start_open(self, p: Point) -> None:
        """Begin the next run at a place that is cut already."""
        self.landing = p

    def clear(self, segment: Segment, away: float) -> bool:
        """Return whether a straight step keeps its distance from all walls, their margins included."""
        one = elements_of([segment])
        limit = away - STEP_NOISE
        if len(near_bodies(one, self.walls.bodies, limit + self.walls.margin)):
            return False
        corners = limit + self.walls.corner_margin
        return not len(near_points(one, self.walls.corner_x, self.walls.corner_y, corners))

    def add(self, curves: Sequence[Curve], kind: StrokeKind) -> None:
        """Append strokes that start where the cutter is, or within the length below which curves are not split."""
        here = self.here
        if here is not None and curves and distance(here, curves[0].start) > BRIDGE:
            self.strokes.append(Stroke(Segment(here, curves[0].start), StrokeKind.STEP))
        self.strokes += [Stroke(c, kind) for c in curves]

    def step_to(self, p: Point, away: float) -> bool:
        """Step straight to a place if that keeps off the walls; ``False`` when it does not."""
        here = self.here
        if here is None:
            return False
        if distance(here, p) <= STEP_NOISE:
            return True
        step = Segment(here, p)
        if not self.clear(step, away):
            return False
        self.strokes.append(Stroke(step, StrokeKind.STEP))
        return True

    def lift(self) -> None:
        """End the run."""
        if self.strokes:
            self.runs.append(Run(tuple(self.strokes), self.entry))
        self.strokes, self.entry, self.landing = [], None, None

    def layout(self) -> LevelLayout:
        """End the last run and return all of them."""
        self.lift()
        return LevelLayout(tuple(self.runs))
