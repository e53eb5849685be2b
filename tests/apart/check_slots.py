"""Programs of slots: does the cutter stay inside the slot, reach all of it, and bite no deeper than it is said to.

A gouge shows from one and a half steps of the program and 1.1 micrometres on (and 2.5 more where arcs are written as
lines). What has to be reached is the band of the slot's width along its line, with flat ends one radius past the point
where the axis stops, less the corners that a round cutter leaves. Bites show from 0.03 mm on, ramps from 0.15 degrees.

Not covered: the outer corner of a sharp bend between the round that the cutter makes and the mitre; spoil boards; the
direction of the cut.
"""

from __future__ import annotations

import math
import re

import numpy as np
import shapely
from account import Account
from metal import Bites, Metal, Shape, cut_through, lines_below, uncut, worst_gouge
from planned_work import Plan, PlannedWork
from program_rules import check_chips, read_program
from rs274 import Line, Reading
from shapely import affinity
from shapely.geometry import LineString, Point, box
from shapely.ops import substring
from shop_figures import Turned
from slot_jobs import SlotJob

FAR = 60.0
"""How far an open end is continued past the part, mm."""

RAMP_DEG = 3.0
"""The steepest ramp into metal, degrees, where a job says nothing else."""

STAGE = re.compile(r"-(?:slot|pocket)-(\d+)\.")
"""The number of a sneaking stage in the name of a program."""

TOP = 0.0
"""Height of the part's top."""


def on_the_table(frame: Turned, shape: Shape) -> Shape:
    """Return a shape of the part as it lies on the table."""
    c, s = math.cos(frame.angle), math.sin(frame.angle)
    return affinity.affine_transform(shape, [c, -s, s, c, *frame.shift])


def tolerance(grid: float, *, as_lines: bool) -> float:
    """Return how far a written path may leave the exact one, mm: rounding of its words, chords of its arcs.

    The writer allows itself 0.71 steps at an end and 1.25 at any place of an arc (``arc_words``).
    """
    return 1.5 * grid + 0.0011 + (0.0025 if as_lines else 0.0)


def check_bites(name: str, bites: Bites, account: Account, *, plunges: bool, ramp_deg: float, step: float) -> None:
    """Hold what a program did to the metal against what was said: no rapid, no plunge, no deeper step."""
    account.hold(f"RAPID {name}: down into metal, {bites.rapid_into_metal}", bites.rapid_into_metal is None)
    account.hold(f"PLUNGE {name}: {bites.plunge}", plunges or bites.plunge is None)
    steep = bites.ramp_deg <= ramp_deg + 0.15
    account.hold(f"STEEP {name}: {bites.ramp_deg:.2f} degrees, {bites.ramp_move}", steep)
    deep = bites.deepest <= step + 0.03
    account.hold(f"DEEP BITE {name}: {bites.deepest:.3f} mm, said {step:.3f}, {bites.deepest_move}", deep)


def check_floor(name: str, reading: Reading, floor: float, grid: float, account: Account) -> list[Line]:
    """Hold the lowest cut against the floor; return what was cut on the floor."""
    lowest = min((move.lowest for move in reading.moves if move.cuts), default=math.inf)
    account.hold(f"BELOW FLOOR {name}: Z {lowest:.4f}, floor {floor:.4f}", lowest >= floor - 0.51 * grid - 1e-9)
    on_floor = lines_below((m for m in reading.moves if m.cuts), floor + max(grid, 0.002))
    account.hold(f"FLOOR NOT REACHED {name}: Z {lowest:.4f}, floor {floor:.4f}", bool(on_floor))
    return on_floor


def withheld(plan: Plan) -> bool:
    """Whether some finding withholds programs."""
    return any(finding["severity"] == "stop" for finding in plan["findings"])


def check_slot_job(job: SlotJob, work: PlannedWork, account: Account) -> None:
    """Hold the programs of a planned slot against its truth."""
    programs = work.programs_of(0)
    if not account.hold("PROGRAMS none, and nothing says why", bool(programs) or withheld(work.plan)) or not programs:
        return
    cut = work.plan["cuts"][0]
    if job.cutting.step_depth is not None:
        account.near("STEP DEPTH", cut["step_depth_mm"], job.cutting.step_depth, within=1e-6)
    stages = job.stages + 1 if job.stages else 1
    account.hold(f"STAGES {list(programs)}", len(programs) == stages or withheld(work.plan))
    slot = _Slot(job)
    part = on_the_table(job.setup.skew, box(0.0, 0.0, *job.size))
    dialect = job.setup.dialect
    for name, text in programs.items():
        reading = read_program(name, text, job.setup, work.plan, account)
        number = STAGE.search(name)
        stage = int(number[1]) if number and job.stages else None
        held_back = job.undersize / 2 * (job.stages - stage) / job.stages if stage is not None else 0.0
        off = tolerance(dialect.grid, as_lines=dialect.arcs == "lines")
        on_floor = check_floor(name, reading, -job.depth, dialect.grid, account)
        low = lines_below((m for m in reading.moves if m.cuts), TOP - 0.01)
        gouge = worst_gouge(low, slot.allowed(held_back), job.mill.radius)
        account.hold(f"GOUGE {name}: {gouge.depth:.4f} mm, centre at {gouge.at}", gouge.depth <= off)
        wanted = slot.wanted(held_back).intersection(part)
        if stage:  # later stages clean the walls only
            before = job.width / 2 - held_back - job.undersize / 2 / job.stages + 0.01
            wanted = wanted.difference(slot.band(before))
        left = uncut(wanted.buffer(-0.01), on_floor, job.mill.radius + off + 0.003)
        account.hold(f"UNCUT {name}: {left}", left is None)
        check_chips(name, reading, job.mill, work.plan, account, told=job.cutting.chip)
        if not stage:
            metal = Metal(slot.allowed(0.0).intersection(part.buffer(15.0)), part, top=TOP, radius=job.mill.radius)
            bites = cut_through(metal, reading.moves, job.mill.radius, dialect.grid)
            check_bites(
                name, bites, account, plunges=job.mill.centre_cutting, ramp_deg=RAMP_DEG, step=cut["step_depth_mm"]
            )


class _Slot:
    """What a slot may and must take away, on the table."""

    def __init__(self, job: SlotJob) -> None:
        self.job = job
        self.frame = job.setup.skew
        self.path = _middle_line(job)
        self.reach = [self._reach(end) for end in job.ends]
        shortened = substring(self.path, max(0.0, -self.reach[0]), self.path.length - max(0.0, -self.reach[1]))
        self.axis = _longer(shortened, max(0.0, self.reach[0]), max(0.0, self.reach[1]))
        """The line that the middle of the cutter follows."""
        self.blind = [reach != FAR for reach in self.reach]
        self.keep = self._keep_out()

    def _reach(self, end: str) -> float:
        """How far past the last point of the line the middle of the cutter comes, mm; below nought, short of it.

        The end of a bar stays clear by its float and doubt c. With a cutter of radius R, the round end of the slot
        passes a corner of a square bar (b beside the cutter's middle line) at sqrt((R - c)^2 - b^2) from its centre.
        """
        if "open" in end or end == "stopped":
            return FAR
        bar = self.job.bar
        if bar is None or end != "blind":
            return 0.0
        radius = self.job.mill.radius
        free = radius - bar.clear
        beside = bar.width / 2 - (self.job.width / 2 - radius)
        if bar.round_ends or beside <= 0.0:
            return -free
        return -math.sqrt(max(free * free - beside * beside, 0.0))

    def _keep_out(self) -> Shape | None:
        kept = self.job.kept
        if kept is None:
            return None
        high = self.job.size[1]
        if not kept.arc:
            return on_the_table(self.frame, LineString([(kept.x, 0.0), (kept.bow, high)]))
        rise = kept.bow - kept.x
        radius = ((high / 2) ** 2 + rise * rise) / (2 * rise)
        half = math.asin(high / 2 / radius)
        turns = np.linspace(-half, half, 2000)
        middle = kept.bow - radius
        return on_the_table(
            self.frame, LineString(np.c_[middle + radius * np.cos(turns), high / 2 + radius * np.sin(turns)])
        )

    def allowed(self, held_back: float) -> Shape:
        """What the cutter may take: the band with mitred bends and flat ends a radius past the axis, less a stage."""
        radius = self.job.mill.radius
        past = [radius + held_back if blind else 0.0 for blind in self.blind]
        shape = _longer(self.axis, *past).buffer(
            self.job.width / 2, cap_style="flat", join_style="mitre", mitre_limit=20.0
        )
        if held_back:  # round: a point of metal that sticks into the slot keeps its skin all round
            shape = shape.buffer(-held_back, quad_segs=128)
        shape = on_the_table(self.frame, shape)
        if self.keep is not None and self.job.kept is not None:
            shape = shape.difference(self.keep.buffer(self.job.kept.short_by, quad_segs=128))
        return shape

    def band(self, half_width: float) -> Shape:
        """The band along the whole line, both ends continued."""
        line = _longer(self._required_line(), FAR, FAR)
        return on_the_table(self.frame, line.buffer(half_width, cap_style="flat", join_style="round", quad_segs=128))

    def _required_line(self) -> Shape:
        return substring(self.path, max(0.0, -self.reach[0]), self.path.length - max(0.0, -self.reach[1]))

    def wanted(self, held_back: float) -> Shape:
        """What the cutter must reach: the band up to the point where the axis ends, bends as a round cutter makes them.

        Short of a kept curve it stops across its whole width at one place, so only what a centre that keeps away by
        radius and distance reaches from the beginning is asked for.
        """
        line = self._required_line()
        # A stage keeps its skin at a blind end too
        skin = [held_back if blind else 0.0 for blind in self.blind]
        line = substring(line, skin[0], line.length - skin[1])
        ends = [FAR if "open" in end else 0.0 for end in self.job.ends]
        half = self.job.width / 2 - held_back
        shape = on_the_table(
            self.frame, _longer(line, *ends).buffer(half, cap_style="flat", join_style="round", quad_segs=128)
        )
        if self.keep is None or self.job.kept is None:
            return shape
        radius = self.job.mill.radius
        centres = on_the_table(self.frame, _longer(line, ends[0], FAR))
        if half > radius:
            centres = centres.buffer(half - radius, cap_style="flat", join_style="round")
        centres = centres.difference(self.keep.buffer(radius + self.job.kept.short_by + 0.03, quad_segs=128))
        near = on_the_table(self.frame, Point(line.interpolate(2.0)))
        parts = shapely.get_parts(centres)
        first = min(parts, key=near.distance)
        return shape.intersection(first.buffer(radius, quad_segs=64))


def _middle_line(job: SlotJob) -> Shape:
    """Return the line of a slot in the part frame, its bends rounded by arcs that touch both legs."""
    if not job.rounded:
        return LineString(job.line)
    out: list[tuple[float, float]] = [job.line[0]]
    for before, corner, after in zip(job.line, job.line[1:], job.line[2:], strict=False):
        p = np.array(corner)
        u, v = (np.array(q) - p for q in (before, after))
        u, v = u / np.hypot(*u), v / np.hypot(*v)
        between = math.acos(float(np.clip(u @ v, -1.0, 1.0)))
        touch = job.rounded / math.tan(between / 2)
        centre = p + (u + v) / np.hypot(*(u + v)) * job.rounded / math.sin(between / 2)
        begin, end = p + u * touch - centre, p + v * touch - centre
        first = math.atan2(begin[1], begin[0])
        sweep = (math.atan2(end[1], end[0]) - first + math.pi) % math.tau - math.pi
        turns = first + sweep * np.linspace(0.0, 1.0, 201)
        out += [(centre[0] + job.rounded * math.cos(t), centre[1] + job.rounded * math.sin(t)) for t in turns]
    return LineString([*out, job.line[-1]])


def _longer(line: Shape, at_start: float, at_end: float) -> Shape:
    """Return a line continued straight at its two ends."""
    points = np.array(line.coords)
    out = points[0] - points[1]
    back = points[-1] - points[-2]
    begin = [points[0] + out / np.hypot(*out) * at_start] if at_start > 0 else []
    end = [points[-1] + back / np.hypot(*back) * at_end] if at_end > 0 else []
    return LineString(np.vstack([*begin, points, *end]))
