"""Programs of holes: is each hole where it has to be, as deep as it has to be, and fed as a drill or tap can take it.

Places are held to half a step of the readout in each axis and half a step of the program. Depths are held to half a
step of the program: ``tip = shoulder + (d/2) / tan(point/2)``. Not covered: the depth of countersinks, which drill is
chosen for a clearance, the order of the holes.
"""

from __future__ import annotations

import math

from account import Account
from hole_jobs import HoleJob
from planned_work import Plan, PlannedWork
from program_rules import read_program
from rs274 import Move, Reading
from shop_figures import XY, Turned

LEAST_PAST, MOST_PAST = 0.05, 1.5
"""How far the full diameter of a drill goes past the far side of a hole through the part, mm."""

LEAST_PER_TURN, MOST_PER_TURN = 0.004, 0.5
"""Feed of a drill, mm a turn (common practice)."""

MOST_DRILL_SPEED = 420.0
"""Surface speed of a drill, m/min: wood is drilled fastest (common practice)."""

THREAD_PERCENT = (45.0, 90.0)
"""Share of a full thread, 100 (D - d) / (1.299038 P), between which a tap drill is a sane choice."""

LEAD_THREADS = 6.5
"""Threads that a tap may need below the full thread: lead of a taper tap and room for chips (common practice)."""


def check_hole_job(job: HoleJob, work: PlannedWork, account: Account) -> None:
    """Hold the programs of a planned job against its truth, for the part and for its other hand."""
    account.hold(f"PLANS {len(work.plans)}", len(work.plans) == (2 if job.flip else 1))
    for hand, plan in enumerate(work.plans):
        points = job.points
        frame = job.setup.skew
        if hand:  # the other hand is its own part, square on the table: only the part as given was touched
            points = tuple((-x if job.flip == "x" else x, -y if job.flip == "y" else y) for x, y in points)
            frame = Turned()
        wanted = [frame.point(p) for p in points]
        programs = work.programs_of(hand)
        account.hold("PROGRAMS none", bool(programs) or _withheld(plan))
        drilled = None
        for name, text in programs.items():
            reading = read_program(name, text, job.setup, plan, account)
            drilled = _check_program(name, job, reading, wanted, plan, account) or drilled
        _check_drill(job, drilled, account)


def _withheld(plan: Plan) -> bool:
    return any(finding["severity"] == "stop" for finding in plan["findings"])


class _Hole:
    """All strokes of one tool at one place."""

    def __init__(self, xy: XY) -> None:
        self.xy = xy
        self.strokes: list[Move] = []

    @property
    def bottom(self) -> float:
        return min(move.end[2] for move in self.strokes)


def _holes_of_tools(name: str, job: HoleJob, reading: Reading, account: Account) -> dict[int, list[_Hole]]:
    """Return the holes that each tool makes; a stroke that begins or goes down in metal by rapid is a fault."""
    tools: dict[int, dict[tuple[float, float], _Hole]] = {}
    for move in reading.moves:
        place = (round(move.end[0], 4), round(move.end[1], 4))
        made = tools.setdefault(move.tool, {})
        if move.kind in ("feed", "tap"):
            account.hold(f"SIDEWAYS {name}: {move}", math.dist(move.start[:2], move.end[:2]) <= 1e-6)
            hole = made.setdefault(place, _Hole(move.end[:2]))
            hole.strokes.append(move)
        elif move.kind == "rapid" and move.lowest == move.end[2] < job.face + 0.2 and move.start[2] > move.end[2]:
            open_to = made[place].bottom if place in made else math.inf
            account.hold(f"RAPID {name}: down into metal, {move}", open_to <= move.end[2] + 0.001)
    return {tool: list(made.values()) for tool, made in tools.items() if made}


def _check_program(
    name: str, job: HoleJob, reading: Reading, wanted: list[XY], plan: Plan, account: Account
) -> float | None:
    """Hold one program; return the diameter of its drill, where it has one."""
    tools = {tool["number"]: tool for tool in plan["tools"]}
    grid, drilled = job.setup.dialect.grid, None
    # Rounded once to the readout or once to the program's own step, whichever is coarser; a corner of that square
    reach = (max(job.setup.readout, grid) / 2.0 + grid / 2.0) * math.sqrt(2.0) + 1e-3
    for number, holes in _holes_of_tools(name, job, reading, account).items():
        tool = tools[number]
        account.hold(f"COUNT {name}: {len(holes)} holes by {tool['name']}", len(holes) == len(wanted))
        for xy in wanted:
            off = min(math.dist(xy, hole.xy) for hole in holes)
            where = f"({xy[0]:.4f}, {xy[1]:.4f})"
            if not account.hold(f"HOLE OFF {name}: {off:.4f} mm at {where}, allowed {reach:.4f}", off <= reach):
                break
        bottoms = [hole.bottom for hole in holes]
        account.near(f"DEPTHS DIFFER {name}: {tool['name']}", max(bottoms), min(bottoms), within=1e-4)
        if "drill" in tool["name"].lower() and "spot" not in tool["name"].lower():
            drilled = float(tool["diameter_mm"])
        _check_depth(name, job, tool, min(bottoms), account)
        _check_feed(name, job, tool, holes[0].strokes[0], account)
    return drilled


def _check_depth(name: str, job: HoleJob, tool: Plan, bottom: float, account: Account) -> None:
    word, diameter = tool["name"].lower(), float(tool["diameter_mm"])
    deep = job.face - bottom
    half_grid = job.setup.dialect.grid * 0.51 + 1e-6
    if "spot" in word:
        account.hold(f"DEPTH {name}: the spot is {deep:.3f} mm deep", 0.2 <= deep <= 4.0)
    elif job.counterbore and ("counterbore" in word or abs(diameter - job.counterbore[0]) < 0.01):
        account.near(f"DEPTH {name}: counterbore", deep, job.counterbore[1], within=half_grid)
    elif "drill" in word:
        tip = diameter / 2.0 / math.tan(math.radians(job.drill_point_deg / 2.0))
        room = job.face - (job.top - job.thickness)
        if job.depth is None:
            past = deep - tip - room
            account.hold(f"DEPTH {name}: {past:.3f} mm past the far side", LEAST_PAST <= past <= MOST_PAST)
            return
        key, value = job.depth
        if key == "full_thread" and job.thread:
            major, pitch = job.thread
            most = value + pitch * LEAD_THREADS + major * 0.5 + 0.1
            shoulder = deep - tip
            account.hold(f"DEPTH {name}: {shoulder:.3f} for {value}", value + pitch <= shoulder <= most)
            account.hold(f"DEPTH {name}: a blind hole comes through", deep <= room - 0.05)
            return
        computed = {"to_tip": value, "to_shoulder": value + tip, "leave_bottom": room - value}[key]
        account.near(f"DEPTH {name}: {key} {value:.4f}, tip", deep, computed, within=half_grid)


def _check_feed(name: str, job: HoleJob, tool: Plan, stroke: Move, account: Account) -> None:
    if not stroke.speed:
        return  # told by the general rules
    per_turn = stroke.feed / stroke.speed
    if stroke.kind == "tap" and job.thread:
        pitch = job.thread[1]
        account.near(f"FEED {name}: tap, mm a turn", per_turn, pitch, within=0.002 * pitch)
    elif stroke.kind == "feed":
        account.hold(
            f"FEED {name}: {per_turn:.4f} mm a turn by {tool['name']}", LEAST_PER_TURN <= per_turn <= MOST_PER_TURN
        )
    surface = math.pi * float(tool["diameter_mm"]) * stroke.speed / 1000.0
    account.hold(f"SPEED {name}: {surface:.0f} m/min by {tool['name']}", surface <= MOST_DRILL_SPEED)


def _check_drill(job: HoleJob, drilled: float | None, account: Account) -> None:
    """Hold the drill that was taken against the one that was asked for, or against the share of thread it leaves."""
    if drilled is None:
        return
    if job.drill:
        account.near("DRILL", drilled, job.drill, within=1e-3)
    if job.thread:
        major, pitch = job.thread
        percent = 100.0 * (major - drilled) / (1.299038 * pitch)
        account.hold(f"DRILL {drilled} leaves {percent:.1f} %", THREAD_PERCENT[0] <= percent <= THREAD_PERCENT[1])
