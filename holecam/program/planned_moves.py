"""The moves that a plan asks for, unrounded: what a program's text is compared with.

This is not how the writer works: it writes words straight from the motions. Both follow the description of the motions
in ``holecam.plan.motions``, so that a slip in one of them shows.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.plan.dialect import Dialect
from holecam.plan.motions import (
    ArcFeed,
    DrillCycle,
    Feed,
    ProgramPlan,
    Rapid,
    SpindleOff,
    SpindleOn,
    Stop,
    TapCycle,
    ToolChange,
)
from holecam.program.arc_words import arc_sweep, chord_count, part_count, points_along
from holecam.program.cycles import CycleWords, steps
from holecam.program.moves import Kind, MoveColumns, Moves, Setup
from holecam.program.plain_lines import carried

NAN = float("nan")
NO_CENTER = (NAN, NAN)


class PlannedStop(Struct, frozen=True):
    """A stop before the move with index ``before_move``."""

    before_move: int
    message: str
    optional: bool


class PlannedMoves(Struct, frozen=True):
    """The moves, the stops between them, and for each cycle (by ``moves.cycle``) the number of its hole and its peck.

    ``moves.line`` counts the motions of the plan from 1.
    """

    moves: Moves
    stops: tuple[PlannedStop, ...]
    holes: tuple[int, ...]
    pecks: tuple[float | None, ...]


def planned_moves(plan: ProgramPlan, dialect: Dialect) -> PlannedMoves:
    """Return what the plan asks for, arcs split as the dialect splits them."""
    walk = _Walk(plan, dialect)
    cuts: list[Feed] = []  # straight cuts in a row, taken together
    for number, motion in enumerate(plan.motions, 1):
        if type(motion) is Feed:
            cuts.append(motion)
            continue
        walk.straight(cuts, number)
        cuts.clear()
        walk.number = number
        walk.step(motion)
    walk.straight(cuts, len(plan.motions) + 1)
    return PlannedMoves(walk.columns.moves(), tuple(walk.stops), tuple(walk.holes), tuple(walk.pecks))


class _Walk:
    def __init__(self, plan: ProgramPlan, dialect: Dialect) -> None:
        self.plan = plan
        self.dialect = dialect
        self.columns = MoveColumns()
        self.stops: list[PlannedStop] = []
        self.holes: list[int] = []
        self.pecks: list[float | None] = []
        self.place = (NAN, NAN, NAN)
        self.tool = 0
        self.rpm: float | None = None
        self.turning = False
        self.number = 0
        self.setup = 0
        self._set()

    def _set(self) -> None:
        self.setup = self.columns.setup_index(
            Setup(self.tool, 1 if self.turning else 0, self.rpm, units_stated=True, distance_stated=True)
        )

    def _go(
        self,
        kind: Kind,
        x: float | None,
        y: float | None,
        z: float | None,
        feed: float = NAN,
        center: tuple[float, float] = NO_CENTER,
        cycle: int = -1,
    ) -> None:
        here = self.place
        there = (here[0] if x is None else x, here[1] if y is None else y, here[2] if z is None else z)
        self.columns.add(self.number, kind, here, there, center, feed, self.setup, cycle)
        self.place = there

    def straight(self, cuts: list[Feed], number: int) -> None:
        """Take straight cuts in a row, which come before the motion of this number."""
        count = len(cuts)
        if count == 0:
            return
        place = np.empty((count + 1, 3))
        place[0] = self.place
        for axis, values in enumerate(([c.x for c in cuts], [c.y for c in cuts], [c.z for c in cuts])):
            place[1:, axis] = carried(np.array(values, dtype=np.float64), self.place[axis])  # None becomes nan
        self.columns.add_arrays(
            np.arange(number - count, number, dtype=np.int32),
            np.full(count, Kind.FEED, np.uint8),
            place[:-1].copy(),
            place[1:].copy(),
            np.full((count, 2), np.nan),
            np.array([c.feed_mm_min for c in cuts]),
            self.setup,
        )
        x, y, z = place[-1].tolist()
        self.place = (x, y, z)

    def step(self, motion: object) -> None:
        """Take any other motion."""
        match motion:
            case ArcFeed():
                self._arc(motion)
            case Rapid():
                self._go(Kind.RAPID, motion.x, motion.y, motion.z)
            case DrillCycle():
                words = CycleWords(810 if motion.peck is None else 830, motion.bottom_z, motion.retract_z, motion.peck)
                self._hole(motion, words, motion.peck)
            case TapCycle():
                self.rpm, self.turning = motion.rpm, True
                self._set()
                self._hole(motion, CycleWords(840, motion.bottom_z, motion.retract_z), None)
            case ToolChange():
                if motion.tool != self.tool:
                    self.tool, self.turning = motion.tool, False
                    self.place = (NAN, NAN, self.plan.safe_height)
                    self._set()
            case SpindleOn():
                self.rpm, self.turning = motion.rpm, True
                self._set()
            case SpindleOff():
                self.turning = False
                self._set()
            case Stop():
                self.place = (*self.place[:2], max(self.place[2], self.plan.safe_height))
                self.stops.append(PlannedStop(len(self.columns), motion.message, motion.optional))
            case _:
                pass  # remarks move nothing

    def _hole(self, hole: DrillCycle | TapCycle, words: CycleWords, peck: float | None) -> None:
        cycle = len(self.holes)
        self.holes.append(hole.hole)
        self.pecks.append(peck)
        back = max(self.place[2], hole.retract_z)
        self._go(Kind.RAPID, hole.x, hole.y, None, cycle=cycle)
        self._go(Kind.RAPID, None, None, hole.retract_z, cycle=cycle)
        for kind, z in steps(words, back):
            self._go(kind, None, None, z, hole.feed_mm_min, cycle=cycle)

    def _arc(self, arc: ArcFeed) -> None:
        start, end = (self.place[0], self.place[1]), (arc.x, arc.y)
        z0, z1 = self.place[2], self.place[2] if arc.z is None else arc.z
        sweep = arc_sweep(start, end, arc.center, ccw=arc.ccw)
        lines = self.dialect.arcs == "lines"
        if lines:
            count = chord_count(sweep, math.dist(start, arc.center), self.dialect.chord_tolerance)
        else:
            count = part_count(sweep)
        kind = Kind.FEED if lines else Kind.ARC_CCW if arc.ccw else Kind.ARC_CW
        center = NO_CENTER if lines else arc.center
        for k, (x, y) in enumerate(points_along(start, end, arc.center, sweep, count), 1):
            z = z1 if k == count else z0 + (z1 - z0) * k / count
            self._go(kind, x, y, z, arc.feed_mm_min, center)
