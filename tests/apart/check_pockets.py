"""Programs of pockets: does the cutter stay inside, clear all that it can reach, and come down as it is able to.

What a cutter of radius R can reach of a shape is its opening: the shape shrunk by R and grown again by R. Gouges show
from one and a half steps of the program and 1.1 micrometres on. Bites show from 0.03 mm on, ramps from 0.15 degrees.
Overcut corners have to be touched to 0.01 mm and rounding.

Not covered: how far an overcut goes past its corner (the path within two and a half radii of one is left out of the
gouges); what a second cutter leaves of each step; that leftovers are told.
"""

from __future__ import annotations

import math

import shapely
from account import Account
from check_slots import (
    STAGE,
    TOP,
    check_bites,
    check_floor,
    on_the_table,
    tolerance,
    withheld,
)
from cnc_setups import EndMill
from metal import Metal, Shape, cut_through, flat, lines_below, uncut, worst_gouge
from planned_work import PlannedWork
from pocket_jobs import PocketJob
from program_rules import check_chips, read_program
from rs274 import Line, Reading
from shapely.geometry import MultiPoint, Point, box

NEAR_CORNER = 2.5
"""Radii around a corner that is overcut, within which the path may leave the outline."""

SECOND_BITE = 2.05
"""Most that a second cutter bites, in radii of it: it clears corners, one diameter deep at a time."""


def check_pocket_job(job: PocketJob, work: PlannedWork, account: Account) -> None:
    """Hold the programs of a planned pocket against its truth."""
    programs = work.programs_of(0)
    if not account.hold("PROGRAMS none, and nothing says why", bool(programs) or withheld(work.plan)) or not programs:
        return
    _Pocket(job, work, account).check(programs)


class _Pocket:
    def __init__(self, job: PocketJob, work: PlannedWork, account: Account) -> None:
        self.job, self.plan, self.account = job, work.plan, account
        self.shape = on_the_table(job.setup.skew, job.shape)
        self.part = on_the_table(job.setup.skew, box(0.0, 0.0, *job.size))
        self.corners = [job.setup.skew.point(corner) for corner in job.corners]
        self.grid = job.setup.dialect.grid
        self.off = tolerance(self.grid, as_lines=job.setup.dialect.arcs == "lines")
        self.metal: Metal | None = None
        self.on_floor: list[tuple[float, list[Line]]] = []

    def check(self, programs: dict[str, str]) -> None:
        cut = self.plan["cuts"][0]
        told = self.job.cutting.step_depth
        if told is not None:  # the passes are equal ones, none deeper than was told
            equal = self.job.depth / math.ceil(self.job.depth / told - 1e-9)
            self.account.near("STEP DEPTH", cut["step_depth_mm"], equal, within=1e-6)
        whole = not withheld(self.plan)
        if whole:
            expected = self.job.stages + 1 if self.job.stages else 2 if self.job.second else 1
            self.account.hold(f"STAGES {list(programs)}", len(programs) == expected or self.job.second is not None)
        for name, text in programs.items():
            reading = read_program(name, text, self.job.setup, self.plan, self.account)
            second = "second" in name
            mill = self.job.second if second and self.job.second else self.job.mill
            self._one(name, reading, mill, second=second)
            chip = None if second else self.job.cutting.chip
            check_chips(name, reading, mill, self.plan, self.account, told=chip)
        if self.job.second and whole:
            self._both()

    def _stage(self, name: str) -> int | None:
        number = STAGE.search(name)
        return int(number[1]) if number and self.job.stages else None

    def _one(self, name: str, reading: Reading, mill: EndMill, *, second: bool) -> None:
        job, account = self.job, self.account
        stage = self._stage(name)
        held_back = job.undersize / 2 * (job.stages - stage) / job.stages if stage is not None else 0.0
        # Round, as a skin of one thickness is: a corner of an island keeps it all round
        target = self.shape.buffer(-held_back, quad_segs=128) if held_back else self.shape
        on_floor = check_floor(name, reading, TOP - job.depth, self.grid, account)
        self.on_floor.append((mill.radius, on_floor))
        low = lines_below((m for m in reading.moves if m.cuts), TOP - 0.01)
        beside = MultiPoint(self.corners).buffer(NEAR_CORNER * mill.radius) if self.corners else None
        gouge = worst_gouge(low, target, mill.radius, beside=beside)
        account.hold(f"GOUGE {name}: {gouge.depth:.4f} mm, centre at {gouge.at}", gouge.depth <= self.off)
        if not second:
            wanted = _reachable(target, mill.radius)
            if stage:  # later stages clean the walls only
                before = held_back + job.undersize / 2 / job.stages - 0.01
                wanted = wanted.difference(self.shape.buffer(-before, join_style="mitre"))
            left = uncut(wanted.buffer(-0.01), on_floor, mill.radius + self.off + 0.001)
            account.hold(f"UNCUT {name}: {left}", left is None)
        self._bites(name, reading, mill, stage, second=second)
        if stage in (None, job.stages):
            self._overcuts(name, low, mill)

    def _bites(self, name: str, reading: Reading, mill: EndMill, stage: int | None, *, second: bool) -> None:
        if self.metal is None:
            # One grid for all programs, fine enough for the smallest cutter
            smallest = min(mill.radius, self.job.second.radius if self.job.second else mill.radius)
            self.metal = Metal(self.shape, self.part, top=TOP, radius=smallest)
        bites = cut_through(self.metal, reading.moves, mill.radius, self.grid)
        step = float(self.plan["cuts"][0]["step_depth_mm"])
        if second:
            step = SECOND_BITE * mill.radius
        elif stage:
            step = self.job.depth
        check_bites(name, bites, self.account, plunges=mill.centre_cutting, ramp_deg=self.job.ramp_deg, step=step)

    def _overcuts(self, name: str, low: list[Line], mill: EndMill) -> None:
        """A corner said to be overcut is touched; one that is not is said to keep metal, and is no sharp one."""
        cut = self.plan["cuts"][0]
        paths = [flat(line) for line in low]
        for i, corner in enumerate(self.job.corners):
            if self._opening(i) > 180.0:
                continue  # it sticks into the pocket: nothing stays in it
            where = f"({corner[0]:.3f}, {corner[1]:.3f})"
            if any(math.dist(corner, overcut["corner_mm"]) < 0.01 for overcut in cut["overcuts"]):
                gap = min((path.distance(Point(self.corners[i])) for path in paths), default=9.0) - mill.radius
                kept = gap <= 0.01 + self.off
                self.account.hold(f"CORNER {name}: {where} is not overcut, {gap:.4f} mm stay", kept)
            else:
                stays = any(math.dist(corner, left["at_mm"]) < 2.0 * mill.radius for left in cut["left"])
                self.account.hold(f"CORNER {name}: nothing is said of {where}", stays and self._opening(i) > 95.0)

    def _opening(self, i: int) -> float:
        """The angle of a corner, degrees."""
        before, corner, after = (self.job.corners[(i + k) % len(self.job.corners)] for k in (-1, 0, 1))
        one, two = (math.atan2(p[1] - corner[1], p[0] - corner[0]) for p in (before, after))
        return math.degrees((one - two) % math.tau)

    def _both(self) -> None:
        """What the two cutters leave together: no more than the smaller one cannot reach."""
        radius = min(radius for radius, _ in self.on_floor)
        wanted = _reachable(self.shape, radius)
        # A wide path reaches as far as the small radius if it is taken as one that lies nearer: shrink what it did
        for wide, lines in self.on_floor:
            if wide > radius:
                done = [flat(line) for line in lines]
                wanted = wanted.difference(_swept(done, wide + 0.003))
        small = [line for wide, lines in self.on_floor if wide == radius for line in lines]
        left = uncut(wanted.buffer(-0.01), small, radius + self.off + 0.003)
        self.account.hold(f"UNCUT by both cutters: {left}", left is None)


def _reachable(shape: Shape, radius: float) -> Shape:
    """The opening of a shape; the first radius is a hair larger, to leave out niches of just the cutter's width."""
    return shape.buffer(-radius - 0.0015).buffer(radius, quad_segs=128)


def _swept(paths: list[Shape], radius: float) -> Shape:
    """What a round tool sweeps along its paths: small unions first, as one of all took all the memory there was."""
    parts = [shapely.simplify(path, 0.001) for path in paths]
    swept = [
        shapely.union_all(shapely.buffer(parts[i : i + 40], radius, quad_segs=32)) for i in range(0, len(parts), 40)
    ]
    return shapely.union_all(swept)
