"""Clearing in small bites: a round opening that grows along the middle lines into every corner.

First a spiral opens the largest circle that fits. Then circles that touch the walls follow each other along the middle
lines; of each only the arc that takes material is cut, and the cutter returns through what is open. Each circle is
moved on as far as the tooth's engagement allows, never farther. At last the pass along the walls takes what the
circles left between them. Known as trochoidal milling; the engagement is worked out for every bite.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct, field

from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Direction
from holecam.cuts.distance_clip import complement, merged, near_points
from holecam.cuts.elements import Floats, elements_of
from holecam.cuts.engagement import LEAST_CHIP, straight_engagement_deg
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.level_layout import HelixEntry, LevelLayout, StraightEntry, StrokeKind, rotated
from holecam.cuts.medial_axis import Branch, MiddleLines, middle_lines
from holecam.cuts.offsets import Level
from holecam.cuts.rings import Cell, Progress, cells_of
from holecam.cuts.run_builder import RunBuilder
from holecam.cuts.walls import Walls
from holecam.shapes import Arc, Curve, Point, Segment, distance
from holecam.shapes.curve_arrays import CurveArray

SAMPLES = (48, 240)
"""Least and most places on a circle at which the engagement is looked at."""

SAMPLE_GAP = 0.12
"""Times the radius: wished distance of these places; the bite peaks where a circle meets the cusp of two others."""

MOST_CIRCLES = 32
"""Open circles that are looked at round a bite; leaving some out errs to the safe side."""

OVERLAP = 0.3
"""Times the room: how far the middle of a new circle may lie outside the open ones, so that they still overlap."""

SAFE_SHARE = 0.97
"""Times the engagement allowed: the bites are planned for this, since they are looked at in places only."""

OPEN_NOISE = 1e-7
"""mm. A straight way may leave the open circles by this: noise of its ends, which lie on them."""

SPIRAL_SHARE = 0.96
"""Times the engagement planned for: half circles of a spiral bite a little more than whole circles would."""

LEAST_ADVANCE = 0.02
"""Times the diameter: where even this bites too much, in places hardly wider than the cutter, it is taken anyway,
with the feed dropped."""

LEAST_GROWTH = 0.03
"""Times the radius: least growth of a spiral from one half circle to the next; from a plain hole even this bites more
than allowed for the first turns."""

CORNER_ROOM = 0.5
"""Times the radius: with a finishing allowance, corners are bitten out from where the room is this and twice the
allowance."""

LEAST_ROOM = 0.1
"""Times the diameter: rooms narrower than this for the cutter's centre are slots; there is nothing to nibble at."""

MIDDLE_SPACING = 0.04
"""Times the diameter: distance of places looked at along the middle lines."""


class _Opened(Struct):
    """Circles of the cutter's centre that are open: everything within them has been swept."""

    table: Floats = field(default_factory=lambda: np.zeros((256, 3)))
    parent: list[int] = field(default_factory=list)

    def add(self, center: Point, room: float, parent: int) -> int:
        number = len(self.parent)
        if number == len(self.table):
            self.table = np.concatenate([self.table, np.zeros_like(self.table)])
        self.table[number] = (*center, room)
        self.parent.append(parent)
        return number

    @property
    def columns(self) -> tuple[Floats, Floats, Floats]:
        """x, y and size of all circles."""
        rows = self.table[: len(self.parent)]
        return rows[:, 0], rows[:, 1], rows[:, 2]

    def center(self, k: int) -> Point:
        return (float(self.table[k, 0]), float(self.table[k, 1]))

    def near(self, center: Point, reach: float, most: int | None = None) -> tuple[Floats, Floats, Floats]:
        """Return the circles that come within reach of a place, at most so many, the deepest round it first."""
        x, y, room = self.columns
        apart = np.hypot(x - center[0], y - center[1]) - room
        close = np.flatnonzero(apart < reach)
        if most is not None and len(close) > most:
            close = close[np.argpartition(apart[close], most)[:most]]
        return x[close], y[close], room[close]

    def holding(self, p: Point) -> int:
        """Return the circle that a place lies in, the deepest."""
        x, y, room = self.columns
        return int((np.hypot(x - p[0], y - p[1]) - room).argmin())

    def covers(self, center: Point, room: float) -> bool:
        """Return whether one open circle holds another whole."""
        x, y, opened = self.columns
        return bool(len(x)) and bool((np.hypot(x - center[0], y - center[1]) + room <= opened + OPEN_NOISE).any())

    def joined(self, a: int, b: int) -> bool:
        """Return whether circles lead from one to another: both were opened from one place."""
        return self._up(a)[-1] == self._up(b)[-1]

    def way(self, a: int, b: int) -> list[int]:
        """Return the circles that lead from one to another, each overlapping the next, both ends included."""
        up_a, up_b = self._up(a), self._up(b)
        shared = set(up_a) & set(up_b)
        left = [k for k in up_a if k not in shared]
        right = [k for k in up_b if k not in shared]
        fork = next(k for k in up_a if k in shared)
        return [*left, fork, *reversed(right)]

    def _up(self, k: int) -> list[int]:
        chain = [k]
        while self.parent[chain[-1]] >= 0:
            chain.append(self.parent[chain[-1]])
        return chain


class Bites(Struct, frozen=True):
    """The runs, the cells that are too narrow to be bitten, and whether the last pass along the walls is in it."""

    layout: LevelLayout
    narrow: tuple[Cell, ...]
    finished: bool


def bites_layout(
    walls: Walls,
    room_level: Level,
    wall_level: Level,
    radius: float,
    step_over: float,
    ratio: float,
    direction: Direction,
    chooser: EntryChooser,
    progress: Progress | None = None,
) -> Bites:
    """Return the runs that open all rooms in small bites, and the cells too narrow for it, left for plain loops.

    ``room_level`` is where the bites stay (a finishing allowance off the walls), ``wall_level`` the last pass; where
    the rooms of the two do not belong together one to one, the last pass is left out. ``finished`` tells.
    """
    limit = SAFE_SHARE * ratio * straight_engagement_deg(step_over, radius)
    builder = RunBuilder(walls)
    narrow: list[Cell] = []
    rooms = cells_of([room_level])[0]
    last = _wall_cells(rooms, wall_level) if wall_level is not room_level else [None] * len(rooms)
    for number, (cell, wall_cell) in enumerate(zip(rooms, last, strict=True)):
        lines = middle_lines(walls, [cell.outer, *cell.inner], room_level.distance, MIDDLE_SPACING * 2 * radius)
        if not len(lines.nodes_room) or float(lines.nodes_room.max()) < LEAST_ROOM * 2 * radius:
            narrow.append(cell)
            continue
        biter = _Biter(builder, radius, limit, direction, chooser)
        biter.open_room(cell, lines, StrokeKind.FINISH if wall_cell is None else StrokeKind.CUT)
        if wall_cell is not None:
            spacing = MIDDLE_SPACING * 2 * radius
            ends = middle_lines(walls, [wall_cell.outer, *wall_cell.inner], wall_level.distance, spacing)
            allowance = room_level.distance - wall_level.distance
            biter.finish_room(wall_cell, ends, allowance)
        if progress is not None:
            progress("opening in small bites", (number + 1) / len(rooms))
    return Bites(builder.layout(), tuple(narrow), last[0] is not None or wall_level is room_level)


class _Biter(Struct):
    builder: RunBuilder
    radius: float
    limit: float
    direction: Direction
    chooser: EntryChooser
    opened: _Opened = field(default_factory=_Opened)
    at: int = 0

    def open_room(self, cell: Cell, lines: MiddleLines, kind: StrokeKind) -> None:
        """Open one room from its widest place along all its middle lines, then run along its walls.

        Where the lines fall apart, in necks hardly wider than the cutter, every part is opened from its own widest
        place: none is left to the pass along the walls.
        """
        self.opened = _Opened()
        by_node: dict[int, list[int]] = {}
        for k, branch in enumerate(lines.branches):
            by_node.setdefault(branch.first, []).append(k)
            by_node.setdefault(branch.last, []).append(k)
        done: set[int] = set()
        reached: set[int] = set()
        for root in np.argsort(-lines.nodes_room, kind="stable").tolist():
            room = float(lines.nodes_room[root])
            if root in reached or (reached and room < LEAST_ROOM * 2 * self.radius):
                continue
            center = (float(lines.nodes_xy[root, 0]), float(lines.nodes_xy[root, 1]))
            if self.opened.covers(center, room):
                continue
            if reached and self._engagement(np.array(center), room) <= self.limit:
                self._bite(center, room, self.opened.holding(center))  # joined to what is open: no entry is needed
                self.at = self.opened.holding(center)
            else:
                self._spiral(center, room)
                self.at = self.opened.add(center, room, -1)
            self._walk(lines, by_node, done, reached, root)
        self._walls(cell, kind)

    def _walk(
        self, lines: MiddleLines, by_node: dict[int, list[int]], done: set[int], reached: set[int], root: int
    ) -> None:
        """Cut along all middle lines that hang together with a node whose circle is open."""
        waiting = [(root, self.at)]
        while waiting:
            node, circle = waiting.pop()
            reached.add(node)
            # Dead ends first: what is left then leads on
            here = by_node.get(node, [])
            ahead: list[tuple[int, int]] = []
            for k in sorted(here, key=lambda k: len(by_node[self._other(lines.branches[k], node)]) > 1):
                if k not in done:
                    done.add(k)
                    last = self._follow(lines.branches[k], node, circle)
                    ahead.append((self._other(lines.branches[k], node), last))
            waiting += ahead

    def finish_room(self, cell: Cell, lines: MiddleLines, allowance: float) -> None:
        """Take the finishing allowance off the walls: out of the corners in bites first, then along the walls."""
        count: dict[int, int] = {}
        for branch in lines.branches:
            for node in (branch.first, branch.last):
                count[node] = count.get(node, 0) + 1
        for branch in lines.branches:
            for end in (branch.last, branch.first):
                if count[end] != 1:
                    continue
                inward = branch if end == branch.last else _turned(branch)
                tight = np.flatnonzero(inward.room <= CORNER_ROOM * self.radius + 2.0 * allowance)
                if len(tight) > 1:
                    part = Branch(inward.first, inward.last, inward.xy[tight[0] :], inward.room[tight[0] :])
                    center = (float(part.xy[0, 0]), float(part.xy[0, 1]))
                    self._follow(part, part.first, self.opened.holding(center))
        self._walls(cell, StrokeKind.FINISH)

    @staticmethod
    def _other(branch: Branch, node: int) -> int:
        return branch.last if branch.first == node else branch.first

    def _spiral(self, center: Point, room: float) -> None:
        """Get down in the middle and open the circle of this room in half circles, each wider than the one before."""
        builder = self.builder
        builder.lift()
        entry, _ = self.chooser.choose_at(center, room)
        builder.entry = entry
        ccw = self.direction is Direction.CLIMB
        start = 0.0
        lead: list[Point] = []
        if isinstance(entry, HelixEntry):
            start = entry.radius
        elif isinstance(entry, StraightEntry):
            lead = [entry.at, center]
            if distance(entry.at, center) <= 1e-9:
                start = max(0.0, min(entry.hole / 2 - self.radius, room))
        else:
            lead = [center, (center[0] + min(room, entry.stretch), center[1]), center]
        radii = _spiral_radii(start, room, self.radius, SPIRAL_SHARE * self.limit)
        # Half circles from one side to the other, their centres on one line; tangent to each other
        here: Point = (center[0] + start, center[1])
        for p, q in pairwise([*lead, here]):
            if distance(p, q) > 1e-9:
                builder.add([Segment(p, q)], StrokeKind.CUT)
        side = 1.0
        curves: list[Curve] = []
        for r in radii:
            side = -side
            there = (center[0] + side * r, center[1])
            curves.append(Arc(here, there, ((here[0] + there[0]) / 2, center[1]), ccw))
            here = there
        opposite = (2 * center[0] - here[0], center[1])
        curves += [Arc(here, opposite, center, ccw), Arc(opposite, here, center, ccw)]
        builder.add(curves, StrokeKind.CUT)

    def _follow(self, branch: Branch, node: int, circle: int) -> int:
        """Cut circles along a branch from one of its ends; return the last circle."""
        forward = branch.first == node
        xy = branch.xy if forward else branch.xy[::-1]
        room = branch.room if forward else branch.room[::-1]
        keep = room > 1e-6
        xy, room = xy[keep], room[keep]
        if not len(xy):
            return circle
        least = max(1, round(LEAST_ADVANCE / MIDDLE_SPACING + 0.49))
        here, last = -1, circle
        while here < len(xy) - 1:
            here = self._farthest(xy, room, here, least)
            center = (float(xy[here, 0]), float(xy[here, 1]))
            last = self._bite(center, float(room[here]), last)
        return last

    def _farthest(self, xy: Floats, room: Floats, here: int, least: int) -> int:
        """Return the farthest place along a branch whose circle still bites no more than allowed."""
        low, high = min(here + least, len(xy) - 1), len(xy) - 1
        step = 2 * least
        best = low
        while low < high:  # stride out, then halve
            probe = min(low + step, high)
            if self._engagement(xy[probe], float(room[probe])) <= self.limit:
                best = low = probe
                step *= 2
            else:
                high = probe - 1
                step = max(1, step // 4)
        return best

    def _engagement(self, center: Floats, room: float) -> float:
        """Return the greatest engagement on a circle of the cutter's centre, from the circles that are open."""
        c = (float(center[0]), float(center[1]))
        x, y, opened = self.opened.near(c, room + 2 * self.radius, MOST_CIRCLES)
        if not len(x) or float((np.hypot(x - c[0], y - c[1]) - opened).min()) > OVERLAP * room:
            return 180.0  # not joined to what is open: no way leads there
        sign = 1.0 if self.direction is Direction.CLIMB else -1.0
        count = min(SAMPLES[1], max(SAMPLES[0], math.ceil(math.tau * room / (SAMPLE_GAP * self.radius))))
        theta = np.arange(count) * (math.tau / count)
        px, py = c[0] + room * np.cos(theta), c[1] + room * np.sin(theta)
        dx, dy = x[None, :] - px[:, None], y[None, :] - py[:, None]
        apart = np.hypot(dx, dy)
        cutting = (apart - opened[None, :]).min(axis=1) > 1e-6
        if not cutting.any():
            return 0.0
        start = theta[cutting] + sign * math.pi / 2 - math.pi / 2
        return _greatest_free(start, dx[cutting], dy[cutting], apart[cutting], opened + LEAST_CHIP, self.radius)

    def _bite(self, center: Point, room: float, before: int) -> int:
        """Cut the arcs of a circle that take material, from where the cutter is, and remember the circle."""
        x, y, opened = self.opened.near(center, room)
        behind = self.opened.center(before)
        back = math.atan2(behind[1] - center[1], behind[0] - center[0])
        start = (center[0] + room * math.cos(back), center[1] + room * math.sin(back))
        whole = elements_of([Arc(start, start, center, self.direction is Direction.CLIMB)])
        free = complement(merged(near_points(whole, x, y, opened), whole.lengths), whole.lengths)
        free = free.chosen((free.high - free.low) * room * math.tau > 1e-3)
        number = self.opened.add(center, room, before)
        for arc in whole.part(free.row, free.low, free.high).curves():
            self._go(arc.start)
            self.builder.add([arc], StrokeKind.CUT)
            self.at = number
        return number

    def _go(self, p: Point) -> None:
        """Bring the cutter through open circles to a place on or in one of them."""
        here = self.builder.here
        if here is None or distance(here, p) <= 1e-9:
            return
        track = [here, p]
        if not self._open_between(here, p):
            if not self.opened.joined(self.at, self.opened.holding(p)):
                self.builder.lift()  # another part of the room: over the work, and down where it is open
                self.builder.start_open(p)
                return
            stops = [self.opened.center(k) for k in self.opened.way(self.at, self.opened.holding(p))]
            track = [here, *self._shortened(here, stops, p)]
        for a, b in pairwise(track):
            if distance(a, b) > 1e-9:
                self.builder.add([Segment(a, b)], StrokeKind.STEP)

    def _shortened(self, here: Point, stops: list[Point], there: Point) -> list[Point]:
        """Return the stops and the end without those stops that a straight way through open circles leaves out."""
        kept: list[Point] = []
        start, rest = here, [*stops, there]
        while rest:
            k = len(rest) - 1
            while k > 0 and not self._open_between(start, rest[k]):
                k //= 2
            start = rest[k]
            kept.append(start)
            rest = rest[k + 1 :]
        return kept

    def _open_between(self, a: Point, b: Point) -> bool:
        """Return whether a straight way lies in open circles all along; exact."""
        size = distance(a, b)
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        x, y, room = self.opened.near(middle, size / 2 + 1e-6)
        way = elements_of([Segment(a, b)])
        open_ = merged(near_points(way, x, y, room + OPEN_NOISE), way.lengths)
        return not len(complement(open_, way.lengths))

    def _walls(self, cell: Cell, kind: StrokeKind) -> None:
        """Run along the walls of the room, begun where a circle touches them."""
        x, y, room = self.opened.columns
        for loop in _by_length([cell.outer, *cell.inner]):
            curves = loop.curves
            if self.direction is Direction.CONVENTIONAL:
                curves = tuple(c.reversed() for c in reversed(curves))
            gaps = CurveArray(loop.curves).distance(np.column_stack([x, y])) - room
            touching = int(np.argmin(np.abs(gaps) - 1e-6 * room))
            center = self.opened.center(touching)
            turned = rotated(curves, center)
            self._go(center)
            self.builder.add([Segment(center, turned[0].start)], StrokeKind.STEP)
            self.builder.add(turned, kind)
            self.builder.add([Segment(turned[-1].end, center)], StrokeKind.STEP)
            self.at = touching


def _turned(branch: Branch) -> Branch:
    return Branch(branch.last, branch.first, branch.xy[::-1], branch.room[::-1])


def _wall_cells(rooms: Sequence[Cell], wall_level: Level) -> list[Cell | None]:
    """Return for each room the cell of the wall pass round it, when each has one of its own; else none for all."""
    cells = cells_of([wall_level])[0]
    found: list[Cell | None] = []
    for room in rooms:
        p = room.outer.curves[0].start
        around = [c for c in cells if not c.outer.is_flat and c.outer.outline().contains(p)]
        found.append(around[0] if len(around) == 1 else None)
    single = all(f is not None for f in found) and len({id(f) for f in found}) == len(found) == len(cells)
    return found if single else [None] * len(rooms)


def _by_length(loops: Sequence[Loop]) -> list[Loop]:
    return sorted(loops, key=lambda loop: -loop.length)


def _greatest_free(start: Floats, dx: Floats, dy: Floats, apart: Floats, opened: Floats, radius: float) -> float:
    """Return the greatest part of leading half rims that no circle has swept, degrees.

    ``start`` is where each half rim begins, its right side; the others are tables of rims by circles: the way from the
    place of the rim to the circle's centre. A circle of the cutter's centre sweeps a disc wider by the radius.
    """
    wide = opened[None, :] + radius
    base = 2.0 * radius * np.maximum(apart, 1e-30)
    level = ((radius - apart) ** 2 - wide * wide) / base + 1.0
    half = np.arccos(np.clip(level, -1.0, 1.0))
    middle = (np.arctan2(dy, dx) - start[:, None]) % math.tau
    low = np.concatenate([middle - half, middle - half - math.tau], axis=1)
    high = np.concatenate([middle + half, middle + half - math.tau], axis=1)
    low, high = np.clip(low, 0.0, math.pi), np.clip(high, 0.0, math.pi)
    order = np.argsort(low, axis=1)
    low, high = np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
    reached = np.maximum.accumulate(np.maximum(high, 0.0), axis=1)
    free = low[:, 0] + np.maximum(low[:, 1:] - reached[:, :-1], 0.0).sum(axis=1) + math.pi - reached[:, -1]
    return math.degrees(float(free.max()))


def _spiral_radii(start: float, end: float, radius: float, limit: float) -> list[float]:
    """Return the radii of the half circles of a spiral, growing so that each bites no more than allowed, degrees.

    Law of cosines: on a circle ``r`` of the cutter's centre the rim is free beyond the angle at which it leaves the
    opening ``o = before + R``, ``cos = (o^2 - r^2 - R^2) / (2 r R)``; solved for ``r``.
    """
    angle = math.radians(min(limit, 180.0))
    radii = [start, start]
    while radii[-1] < end - 1e-9:
        opening = radii[-2] + radius
        allowed = math.sqrt(opening**2 - (radius * math.sin(angle)) ** 2) - radius * math.cos(angle)
        radii.append(min(end, max(allowed, radii[-1] + LEAST_GROWTH * radius)))
    return radii[2:]
