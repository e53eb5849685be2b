"""Programs of step-downs: no move below the hard floor, none nearer to an inside bend than its formula lets it.

The hard floor is the sheet's height and k times its doubt (root of squares, or the sum in the worst case), and the
high spot: never lower than computed apart, and no more than 0.15 mm higher: what the machine adds is the tool's
own. The flank of the cutter at height h over the sheet, beside a bend of inside radius Rb, corner radius rc, gap g,
margin m:

    x >= Rb - rc - sqrt((Rb - rc - g)^2 - (Rb - rc - h)^2) + m     for h < Rb - rc
    x >= g + m                                                     above

Distances show from two steps of the program and 1 micrometre on. Each written level has to reach all that a
cutter can reach of the region without coming nearer to the bend or a closed side, less what the plan says will stay.

Not covered: the looks at the work between passes; the chance of contact; the rounded corner of a bull-nose cutter as it
cuts (it has to come by within its whole radius only); how steeply it comes down.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from account import Account
from check_slots import on_the_table, tolerance, withheld
from metal import Metal, Shape, cut_through, flat, uncut
from numpy.typing import NDArray
from planned_work import Plan, PlannedWork
from program_rules import check_chips, read_program
from rs274 import Line, Move, Reading
from shapely.geometry import LineString, box
from step_down_jobs import StepDownJob

MACHINE_DOUBT = 0.15
"""What the tool may add to the hard floor for the machine, the wedge and its own caution, mm."""

TOLD_AREA = 0.3
"""How much more metal may stay in a pass than the plan tells, mm2: samples a tenth of a millimetre apart."""

FAR = 200.0
"""How far the line of a bend is continued, mm."""


def check_step_down_job(job: StepDownJob, work: PlannedWork, account: Account) -> None:
    """Hold the programs of a planned step-down against its truth."""
    step_down = work.plan["step_downs"][0]
    _check_hard_floor(job, step_down, account)
    programs = work.programs_of(0)
    if not account.hold("PROGRAMS none, and nothing says why", bool(programs) or withheld(work.plan)) or not programs:
        return
    _StepDown(job, work.plan, account).check(programs)


def _check_hard_floor(job: StepDownJob, step_down: Plan, account: Account) -> None:
    hard = float(step_down["hard_floor_z_mm"])
    doubt = sum(job.doubts) if job.worst_case else job.k * job.standard_doubt
    computed = job.sheet + doubt + job.high_spot
    account.hold(f"HARD FLOOR {hard:.4f} is lower than {computed:.4f}", hard >= computed - 1e-6)
    account.hold(f"HARD FLOOR {hard:.4f} is far above {computed:.4f}", hard <= computed + MACHINE_DOUBT)
    account.hold(f"FLOOR {step_down['floor_z_mm']:.4f} below the hard floor", step_down["floor_z_mm"] >= hard - 1e-9)
    if not job.high_spot and not job.wedge:
        account.near("SHEET", step_down["sheet_z_mm"], job.sheet, within=1e-6)


class _StepDown:
    def __init__(self, job: StepDownJob, plan: Plan, account: Account) -> None:
        self.job, self.plan, self.account = job, plan, account
        self.step_down = plan["step_downs"][0]
        self.sheet = float(self.step_down["sheet_z_mm"])
        self.floor = float(self.step_down["floor_z_mm"])
        self.hard_floor = float(self.step_down["hard_floor_z_mm"])
        frame = job.setup.skew
        self.part = on_the_table(frame, box(0.0, 0.0, *job.size))
        self.region = on_the_table(frame, box(0.0, 0.0, *job.region))
        self.bend = None if job.bend is None else on_the_table(frame, _continued(job.bend.line))
        self.closed = [on_the_table(frame, side) for side in _closed_sides(job)]
        self.grid = job.setup.dialect.grid
        self.off = tolerance(self.grid, as_lines=job.setup.dialect.arcs == "lines")
        self.levels: dict[float, list[Line]] = {}

    def check(self, programs: dict[str, str]) -> None:
        job, account = self.job, self.account
        lift = max(0.0, job.top, float(self.step_down["start_z_mm"]))
        metal = Metal(self.region, self.part, top=job.top, radius=job.mill.radius)
        for name, text in programs.items():
            reading = read_program(name, text, job.setup, self.plan, account, lift=lift)
            check_chips(name, reading, job.mill, self.plan, account)
            self._distances(name, reading)
            bites = cut_through(metal, reading.moves, job.mill.radius, self.grid)
            account.hold(f"RAPID {name}: down into metal, {bites.rapid_into_metal}", bites.rapid_into_metal is None)
            account.hold(f"PLUNGE {name}: {bites.plunge}", job.mill.centre_cutting or bites.plunge is None)
            bite = f"{bites.deepest:.3f} mm, {bites.deepest_move}"
            account.hold(f"DEEP BITE {name}: {bite}", bites.deepest <= job.mill.diameter)
        self._heights()
        levels = sorted(self.levels)
        for level in sorted({levels[0], levels[len(levels) // 2], levels[-1]}) if levels else []:
            self._reached(level)

    def _distances(self, name: str, reading: Reading) -> None:
        """Hold each move below the top against the hard floor, the bend and the closed sides."""
        moves = [move for move in reading.moves if not math.isnan(move.lowest)]
        lowest = min(moves, key=lambda move: move.lowest)
        kept = lowest.lowest >= self.hard_floor - 1e-9
        self.account.hold(f"BELOW HARD FLOOR {name}: {lowest}, hard floor {self.hard_floor:.4f}", kept)
        below = [move for move in moves if move.known and move.lowest < self.job.top - 0.001]
        if not below:
            return
        paths = np.array([flat(move.points(0.0005)) for move in below], dtype=object)
        if self.bend is not None:
            away = shapely.distance(paths, self.bend) - self.job.mill.radius
            needed = np.array([self._flank(move.lowest - self.sheet) for move in below])
            self._worst(f"TOO NEAR THE BEND {name}", needed - away, below)
        for side in self.closed:
            self._worst(f"GOUGE {name} into a closed side", self.job.mill.radius - shapely.distance(paths, side), below)
        for move in below:
            if move.cuts:
                self.levels.setdefault(round(move.end[2], 4), []).append(move.points(0.0005))

    def _worst(self, what: str, missing: NDArray[np.float64], moves: list[Move]) -> None:
        worst = int(np.argmax(missing))
        kept = float(missing[worst]) <= self.off
        self.account.hold(f"{what}: {missing[worst]:.4f} mm, {moves[worst]}", kept)

    def _flank(self, height: float) -> float:
        """How far the flank has to stay from the wall with the tip at a height over the sheet; see the module."""
        bend = self.job.bend
        if bend is None:
            return -math.inf
        gap = self.floor - self.sheet if bend.gap is None else bend.gap
        if bend.wall_height is not None and height >= bend.wall_height + gap + 1e-9:
            return -math.inf
        inner = bend.radius - self.job.mill.corner_radius
        if height >= inner:
            return gap + bend.margin
        height = max(height, gap)
        return inner - math.sqrt(max((inner - gap) ** 2 - (inner - height) ** 2, 0.0)) + bend.margin

    def _heights(self) -> None:
        """Hold the levels that were cut against the floor, the steps that were told, and the passes of the plan."""
        levels = sorted(self.levels, reverse=True)
        if not self.account.hold("PASSES none", bool(levels)):
            return
        self.account.hold(
            f"FLOOR {levels[-1]:.4f}, planned {self.floor:.4f}",
            self.floor - 1e-9 <= levels[-1] <= self.floor + self.grid + 1e-4,
        )
        planned = sorted((float(each["z_mm"]) for each in self.step_down["passes"]), reverse=True)
        for z in planned:
            near = min(abs(z - level) for level in levels)
            self.account.hold(f"PASS {z:.4f} is not in the program", near <= self.grid + 1e-4)
        for level in levels:
            near = min(abs(z - level) for z in planned)
            self.account.hold(f"LEVEL {level:.4f} is no pass of the plan", near <= self.grid + 1e-4)
        if self.job.rough_step is not None and len(levels) > 1:
            widest = max(a - b for a, b in pairwise(levels))
            self.account.hold(f"ROUGH STEP {widest:.4f}", widest <= self.job.rough_step + self.grid)

    def _reached(self, level: float) -> None:
        """Hold a level against what a cutter can reach there: everywhere but near the bend and the closed sides."""
        radius = self.job.mill.radius
        forbidden = [side.buffer(radius + 0.01, quad_segs=64) for side in self.closed]
        # Near the gap the bend's flank is steep: a level that was rounded is asked for as it was planned
        planned = [float(each["z_mm"]) for each in self.step_down["passes"]]
        z = min([z for z in planned if abs(z - level) <= self.grid + 1e-4], default=level)
        flank = self._flank(min(z, level) - self.sheet)
        if self.bend is not None and flank > -math.inf:
            forbidden.append(self.bend.buffer(flank + radius + 0.01, quad_segs=64))
        around = self.region.buffer(3.0 * radius + 60.0, join_style="mitre")
        allowed = around.difference(shapely.union_all(forbidden)) if forbidden else around
        inside = [part for part in shapely.get_parts(allowed) if part.intersects(self.region)]
        flat_radius = radius - self.job.mill.corner_radius
        reach = shapely.union_all([part.buffer(flat_radius, quad_segs=32) for part in inside])
        left = uncut(reach.intersection(self.region).buffer(-0.015), self.levels[level], radius + self.off + 0.003)
        where = self.job.bend.where if self.job.bend else "none"
        same = [p for p in self.step_down["passes"] if abs(p["z_mm"] - level) <= self.grid + 1e-4]
        told = max((float(p["left"]["area_mm2"]) for p in same), default=0.0)
        few = left is None or left.area <= told + TOLD_AREA
        self.account.hold(f"UNCUT at Z {level} (bend {where}): {left}, told {told:.3f}", few)


def _continued(line: tuple[tuple[float, float], ...]) -> Shape:
    points = [np.array(p) for p in line]
    out, back = points[0] - points[1], points[-1] - points[-2]
    begin = points[0] + out / np.hypot(*out) * FAR
    end = points[-1] + back / np.hypot(*back) * FAR
    return LineString(np.vstack([begin, *points, end]))


def _closed_sides(job: StepDownJob) -> list[Shape]:
    """Sides of the region, counted from below anticlockwise, that are neither open nor along the bend."""
    wide, high = job.region
    corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
    along = {"left": (4,), "bottom": (1,), "corner": (1, 4)}[job.bend.where] if job.bend else ()
    return [
        LineString([corners[side - 1], corners[side % 4]])
        for side in (1, 2, 3, 4)
        if side not in job.open_sides and side not in along
    ]
