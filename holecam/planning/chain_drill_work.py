"""Chain drilling as work: its own drill, speed and feed, and one row for each hole."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.job.models import Job
from holecam.job.models_cut import Pocket, Slot
from holecam.lengths import Unit, length_text
from holecam.plan.motions import ToolKind, ToolUse
from holecam.plan.work import Operation, Row
from holecam.planning.milled_cuts import PlannedCut
from holecam.planning.spindle_speeds import speed_and_feed, speed_range, whole_speed
from holecam.shapes import Placement
from holecam.standards.blind_holes import point_length
from holecam.standards.cutting_data import cutting_start
from holecam.standards.drill_names import parse_drill


class ChainDrill(Struct, frozen=True):
    """The drill of a chain: tool, speed and feed to start with (turns and mm a minute), how deep its tip goes, mm."""

    tool: ToolUse
    rpm: float
    feed: float
    tip_depth: float


def chain_drill(job: Job, cut: PlannedCut, known: Sequence[ToolUse], number: int) -> ChainDrill:
    """Return the drill of a cut's chain of holes: one of the ``known`` tools, else a new one with this number.

    The tip goes down to the floor of the cut; where the cut goes through, the whole point comes out below.
    """
    assert isinstance(cut.job_cut, Slot | Pocket)
    assert cut.job_cut.chain_drill is not None
    drill = parse_drill(cut.job_cut.chain_drill.drill, unit=job.unit)
    name, angle = f"{drill.label} drill", job.tools.drill_point_deg
    tool = next((t for t in known if t.kind is ToolKind.TWIST_DRILL and t.name == name), None)
    if tool is None:
        tool = ToolUse(number, name, ToolKind.TWIST_DRILL, drill.diameter, point_angle_deg=angle)
    slowest, fastest = speed_range(job.machine.spindle)
    start = cutting_start(
        cut.facts.material, "drill", diameter=drill.diameter, slowest_rpm=slowest, fastest_rpm=fastest
    )
    turns, feed = speed_and_feed(start.rpm, start.feed_per_turn, job.machine)
    rpm = float(whole_speed(turns))
    point = point_length(drill.diameter, point_deg=angle) if cut.job_cut.through else 0.0
    return ChainDrill(tool, rpm, min(feed, start.feed_per_turn * rpm), cut.report.depth + point)


def with_chain(operation: Operation, cut: PlannedCut, chain: ChainDrill, place: Placement, unit: Unit) -> Operation:
    """Return the operation of a cut with the holes of its chain instead of passes."""
    holes = cut.report.drilled
    size = length_text(chain.tool.diameter, unit)
    line = f"Drill the chain of {len(holes)} holes of {size}. Saw or pare the webs away, then file to the line."
    rows = tuple(Row(k, None, "drill", p, place.apply(p), z=-chain.tip_depth) for k, p in enumerate(holes, start=1))
    return replace(
        operation,
        instructions=(*operation.instructions, line),
        tool=chain.tool.number,
        spindle_rpm=chain.rpm,
        feed=chain.feed,
        rows=rows,
        z_zero=operation.z_zero.replace("this cutter", "this drill"),
    )
