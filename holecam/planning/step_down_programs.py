"""Programs of step-downs: the strokes of every pass as motions, a stop to look, and the limits of their check."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from holecam.cuts.path_values import CutMove, MoveKind
from holecam.cuts.step_down_cut import BendSide, StepDownCut, StepPass, level_path
from holecam.lengths import MM_PER_UNIT, Unit, length_text
from holecam.plan.dialect import Dialect
from holecam.plan.facts import MachineFacts
from holecam.plan.finding import Finding, Severity
from holecam.plan.limits import Bend, HardFloor, ProgramLimits, Stock
from holecam.plan.motions import (
    ArcFeed,
    Feed,
    Motion,
    ProgramPlan,
    Rapid,
    Remark,
    SpindleOn,
    Stop,
    ToolChange,
    ToolUse,
)
from holecam.planning.hole_programs import ProgramFrame
from holecam.planning.step_down_cuts import StepDownSides
from holecam.shapes import Arc, Outline, Placement, Point, Segment

ABOVE_TOP = 2.0
"""mm (0.08 in) above the top of the stack: where feed begins, so that a bar that stands a little higher is not hit."""

ENTRY_SHARE = 0.5
"""Share of the feed at which the cutter comes down on metal (common practice)."""

SHOWN_HIGHER = 0.5
"""Steps of the readout. A pass that is written higher by no more shows at its height all the same."""

GAP_NOISE = 1e-9
"""mm. The gap of the floor comes out of sums of floats; it is checked to this much less."""


INCHES_OR_MM = {"in": "an inch", "mm": "a millimetre"}


class MillingStart(Struct, frozen=True):
    """Turns a minute and feed, mm a minute, to start with."""

    rpm: float
    feed: float


class StepDownRun(Struct, frozen=True):
    """What the programs of one step-down are made from.

    ``stop_texts`` holds the message after a pass, by its number; ``z_zero`` says what Z 0 is.
    """

    sides: StepDownSides
    cut: StepDownCut
    tool: ToolUse
    start: MillingStart
    machine_from_part: Placement
    stop_texts: dict[int, str]
    z_zero: str


def written_z(z: Fraction, dialect: Dialect) -> float:
    """Return the lowest height of the dialect's grid that is not below ``z``, mm: always rounded up.

    >>> written_z(Fraction("-4.7371"), Dialect("mm"))
    -4.737
    """
    step = MM_PER_UNIT[dialect.unit] / 10**dialect.places
    return float(math.ceil(z / step) * step)


def coarse_heights(run: StepDownRun, dialect: Dialect, unit: Unit) -> tuple[Finding, ...]:
    """Return the note that a program has too few decimals for the heights of its passes."""
    passes = [p.height for p in run.cut.passes]
    heights = [p.count * run.cut.heights.resolution for p in passes]
    written = [written_z(z, dialect) for z in heights]
    higher = [p.number for p, z, w in zip(passes, heights, written, strict=True) if w > float(z) + GAP_NOISE]
    if not higher:
        return ()
    tops = [run.cut.heights.start, *written]
    idle = [p.number for p, above, w in zip(passes, tops, written, strict=False) if w > above - GAP_NOISE]
    most = max(w - float(z) for z, w in zip(heights, written, strict=True))
    if not idle and most <= SHOWN_HIGHER * float(run.cut.heights.resolution):
        return ()
    nothing = f" {_passes(idle)} would cut nothing: the height is that of the pass before." if idle else ""
    name = run.sides.answer.wish.name
    return (
        Finding(
            code="coarse-heights",
            severity=Severity.CAUTION if idle else Severity.NOTE,
            about=f'step-down "{name}"',
            message=(
                f"The program writes lengths with {dialect.places} decimals of {INCHES_OR_MM[dialect.unit]}, too few "
                f"for the heights of the table: {_passes(higher).lower()} {'is' if len(higher) == 1 else 'are'} "
                f"written higher, by up to {length_text(most, unit)}, away from the sheet.{nothing}"
            ),
            measured=most,
            source="common practice",
            remedy="Give the program more decimals (machine.program.decimals), or state a coarser step of the readout.",
        ),
    )


def _passes(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"Pass {numbers[0]}"
    return f"Passes {', '.join(str(n) for n in numbers[:-1])} and {numbers[-1]}"


def stock_top(run: StepDownRun) -> float:
    """Return the height, mm, to which metal stands beside the cut: the top of the stack, whatever is milled already."""
    return max(run.cut.heights.start, run.cut.heights.request.touched.faces[0].value)


def clearance_z(run: StepDownRun, machine: MachineFacts) -> float:
    """Return the height for sideways moves, mm: the machine's, above the face that was touched and above the top."""
    return machine.safe_height + max(0.0, stock_top(run))


def step_down_programs(
    run: StepDownRun,
    machine: MachineFacts,
    dialect: Dialect,
    frame: ProgramFrame,
    *,
    name: str,
    one_per_pass: bool,
    cautions: tuple[str, ...],
) -> tuple[ProgramPlan, ...]:
    """Return one program that stops after every pass that is to be looked at, or one program for each pass.

    ``name`` is the file name without its ending.
    """
    heights = run.cut.heights
    limits = _limits(run, machine, frame)
    above = heights.start
    groups: list[tuple[str, list[Motion]]] = []
    motions = _begin(run)
    for step_pass in run.cut.passes:
        if one_per_pass:
            motions = _begin(run)
        motions += _pass_motions(run, step_pass, above, machine, dialect)
        above = step_pass.z
        text = run.stop_texts.get(step_pass.height.number)
        if text is not None:
            motions.append(Remark(text) if one_per_pass else Stop(text))
        if one_per_pass:
            groups.append((f"{name}-pass-{step_pass.height.number:02d}", motions))
    if not one_per_pass:
        groups.append((name, motions))
    return tuple(
        ProgramPlan(
            name=f"{file_name}.{frame.extension}",
            tools=(run.tool,),
            motions=tuple(made),
            safe_height=clearance_z(run, machine),
            limits=limits,
            title=(*frame.title, f"step-down: {run.sides.answer.wish.name}"),
            zero=f"{frame.zero}; Z0 is {run.z_zero}",
            cautions=cautions,
        )
        for file_name, made in groups
    )


def _begin(run: StepDownRun) -> list[Motion]:
    return [ToolChange(run.tool.number), SpindleOn(run.start.rpm)]


def _pass_motions(
    run: StepDownRun, step_pass: StepPass, above: float, machine: MachineFacts, dialect: Dialect
) -> list[Motion]:
    """Return the motions of a pass; its own height is rounded up to what the program can say."""
    top = clearance_z(run, machine)
    resolution = run.cut.heights.resolution
    z = written_z(step_pass.height.count * resolution, dialect)
    level = level_path(step_pass, z_above=above, clearance_z=top)
    begin_feed = stock_top(run) + ABOVE_TOP
    out: list[Motion] = [Remark(f"pass {step_pass.height.number}")]
    place: Point | None = None
    for move in level.moves:
        at = run.machine_from_part.apply(move.at)
        if move.kind in (MoveKind.DESCEND, MoveKind.ENTRY) and move.curve is None:
            if place is None or at != place:
                out.append(Rapid(at[0], at[1]))
            out.append(Rapid(z=begin_feed))
            share = ENTRY_SHARE if move.kind is MoveKind.ENTRY else 1.0
            out.append(Feed(run.start.feed * share, z=z))
        elif move.kind is MoveKind.RETRACT:
            out.append(Rapid(z=top))
        elif move.kind is MoveKind.TRAVEL:
            out.append(Rapid(at[0], at[1]))
        else:
            out.append(_along(run, move, at))
        place = at
    return out


def _along(run: StepDownRun, move: CutMove, at: Point) -> Motion:
    feed = run.start.feed * move.feed_factor * (ENTRY_SHARE if move.kind is MoveKind.ENTRY else 1.0)
    curve = move.curve
    if isinstance(curve, Arc):
        return ArcFeed(feed, at[0], at[1], run.machine_from_part.apply(curve.center), ccw=curve.ccw)
    assert isinstance(curve, Segment)
    return Feed(feed, x=at[0], y=at[1])


def _limits(run: StepDownRun, machine: MachineFacts, frame: ProgramFrame) -> ProgramLimits:
    """Return what the check holds every program of the step-down against, in the frame of its own Z 0."""
    heights = run.cut.heights
    spindle = None
    if machine.slowest_rpm is not None and machine.fastest_rpm is not None:
        spindle = (machine.slowest_rpm, machine.fastest_rpm)
    name = heights.request.touched.stack.substrate.name
    return ProgramLimits(
        hard_floors=(HardFloor(name, heights.hard_floor, source="hard floor of the step-down"),),
        keep_outs=frame.keep_outs,
        bends=tuple(_bend(run, side) for side in run.cut.request.bends),
        stock=Stock(_stock_outline(run, frame), stock_top(run), heights.belief.likeliest()),
        travel=frame.travel,
        spindle_rpm=spindle,
        fastest_feed_mm_min=frame.fastest_feed,
    )


def _stock_outline(run: StepDownRun, frame: ProgramFrame) -> Outline:
    """Return what stands up to the top of the stack: the part where its edge is known, else the region alone."""
    region = run.machine_from_part.apply_outline(run.cut.request.region)
    if frame.stock is None:
        return region
    corners: Sequence[Point] = [c.point_at(t) for c in region.curves for t in (0.0, 0.5)]
    inside = all(frame.stock.outline.inside_by(p) >= -1e-6 for p in corners)
    return frame.stock.outline if inside else region


def _bend(run: StepDownRun, side: BendSide) -> Bend:
    heights = run.cut.heights
    sheet = heights.belief.likeliest()
    gap = heights.sheet_gap if side.gap is None else side.gap
    top = None
    if side.wall_height is not None:  # the planner keeps the gap above the wall's top as well
        top = sheet + side.wall_height - gap
    return Bend(
        name=side.name,
        wall=tuple(run.machine_from_part.apply_curve(c) for c in side.wall.line),
        inside_radius=side.radius,
        sheet_z=sheet,
        wall_top_z=top,
        gap=max(0.0, gap - GAP_NOISE),
        source="gap to keep from the bend",
    )
