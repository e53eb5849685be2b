"""Step-downs as work: one operation each with its passes, its looks and its programs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.step_down_looks import bar_above
from holecam.job.models import Job
from holecam.lengths import MM_PER_UNIT, Unit, exact, length_text
from holecam.plan.facts import Figure, MachineFacts
from holecam.plan.finding import Finding, Severity
from holecam.plan.motions import ProgramPlan, ToolKind, ToolUse
from holecam.plan.step_down import LookLine, StepDownPass, StepDownReport
from holecam.plan.work import Operation, OperationKind, Row, Stop
from holecam.planning.hole_programs import ProgramFrame
from holecam.planning.layer_materials import layer_material
from holecam.planning.machine_facts import dialect_of
from holecam.planning.skewed_by_hand import skewed_by_hand
from holecam.planning.spindle_findings import rubbing_findings
from holecam.planning.spindle_speeds import speed_and_feed, speed_figure, speed_range, whole_speed
from holecam.planning.step_down_cuts import StepDownSides, step_down_sides
from holecam.planning.step_down_programs import MillingStart, StepDownRun, coarse_heights, step_down_programs
from holecam.planning.step_down_reports import step_down_report
from holecam.planning.step_down_rows import pass_rows, slanting_by_hand, stroke_rows
from holecam.planning.step_downs import StepDownAnswer
from holecam.planning.work_cautions import program_cautions, service_tags, step_down_tags
from holecam.shapes import Placement
from holecam.standards.cutting_data import CuttingStart, cutting_start
from holecam.standards.materials import Material, material

SAME_HEIGHT = 1e-6
"""mm. Heights that agree to this are one reading: arithmetic noise."""


class StepDownWork(Struct, frozen=True):
    """What step-downs add to a plan, in the order of the job."""

    tools: tuple[ToolUse, ...]
    operations: tuple[Operation, ...]
    programs: tuple[ProgramPlan, ...]
    reports: tuple[StepDownReport, ...]
    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]


def step_down_work(
    job: Job,
    answers: Sequence[StepDownAnswer],
    hand: Placement,
    machine_from_part: Placement,
    machine: MachineFacts,
    frame: ProgramFrame,
    *,
    tools: Sequence[ToolUse],
    operations: int,
    service: Sequence[Finding] = (),
) -> StepDownWork:
    """Return the operations, programs and reports of all step-downs.

    Parameters
    ----------
    hand, machine_from_part : Placement
        From the part as given to this hand of it, and on to what the readout shows.
    tools : sequence of ToolUse
        Those that the plan has already; a cutter that is not among them gets the next number.
    operations : int
        Number of operations before the first step-down.
    service : sequence of Finding
        Findings about the part's service: a stop among them withholds every step-down.
    """
    numbered = list(tools)
    made_operations: list[Operation] = []
    programs: list[ProgramPlan] = []
    reports: list[StepDownReport] = []
    findings: list[Finding] = []
    figures: list[Figure] = []
    for count, answer in enumerate(answers, start=1):
        sides = step_down_sides(job, answer, hand)
        found = (*answer.findings, *sides.findings)
        if machine.kind != "cnc" and sides.cut is not None and not any(f.severity is Severity.STOP for f in found):
            moves = [(r.xy_part, r.to_part) for r in stroke_rows(sides.cut, Placement())[0] if r.to_part is not None]
            name = answer.wish.name
            skewed = skewed_by_hand(moves, machine_from_part, f'step-down "{name}"', name)
            slants = slanting_by_hand(sides.cut, machine_from_part, name) if skewed is None else skewed
            found = found if slants is None else (*found, slants)
        findings += found
        stops = [f for f in (*found, *service) if f.severity is Severity.STOP]
        withheld = stops[0].message if stops else ""
        report = step_down_report(sides, machine_from_part, unit=job.unit, withheld=withheld)
        if any(f in service for f in stops):  # not even heights, where this tool does not decide
            report = replace(report, passes=(), plan_view=None, bend_views=())
        reports.append(report)
        number = operations + count
        tool = None if sides.cutter is None else _tool(sides.cutter, numbered)
        start = None if sides.cutter is None else _start(job, answer, sides.cutter)
        if start is not None and sides.cutter is not None:
            about = f'step-down "{answer.wish.name}", {sides.cutter.name}'
            figures.append(speed_figure(about, start, job.unit))
            findings += rubbing_findings(
                f'step-down "{answer.wish.name}"',
                sides.cutter.name,
                job.unit,
                usual=start.feed_per_turn,
                rpm=start.rpm,
                feed=start.feed,
                teeth=sides.cutter.teeth,
            )
        operation = _operation(job, number, report, tool, start, withheld)
        if withheld:
            made_operations.append(operation)
            continue
        operation, own, coarse = _with_passes(
            job, operation, report, sides, tool, start, machine_from_part, machine, frame, count=count
        )
        made_operations.append(operation)
        programs += own
        findings += coarse
    return StepDownWork(
        tuple(numbered),
        tuple(made_operations),
        tuple(programs),
        tuple(reports),
        tuple(findings),
        tuple(figures),
    )


def _tool(cutter: MillingCutter, tools: list[ToolUse]) -> ToolUse:
    """Return the cutter's entry in the list of tools, added where it is not there yet."""
    for tool in tools:
        if tool.kind is ToolKind.END_MILL and (tool.name, tool.diameter) == (cutter.name, cutter.diameter):
            return tool
    tools.append(
        ToolUse(
            number=max((t.number for t in tools), default=0) + 1,
            name=cutter.name,
            kind=ToolKind.END_MILL,
            diameter=cutter.diameter,
            corner_radius=cutter.corner_radius,
            flute_length=cutter.flute_length,
            overhang=cutter.overhang,
        )
    )
    return tools[-1]


def _bar_material(job: Job, answer: StepDownAnswer) -> Material:
    """Return the metal of the bar: as stated, by a word of its layer's name, else that of the part."""
    stack = answer.heights.request.touched.stack
    name = bar_above(stack)
    layer = next(layer for layer in answer.wish.layers if layer.name == name)
    metal = layer_material(name, layer.material)
    return material(job.part.material).in_temper(job.part.temper) if metal is None else metal


def _start(job: Job, answer: StepDownAnswer, cutter: MillingCutter) -> CuttingStart:
    slowest, fastest = speed_range(job.machine.spindle)
    start = cutting_start(
        _bar_material(job, answer),
        "mill",
        diameter=cutter.diameter,
        teeth=cutter.teeth,
        tool_material="carbide" if cutter.carbide else "hss",
        slowest_rpm=slowest,
        fastest_rpm=fastest,
    )
    turns, feed = speed_and_feed(start.rpm, start.feed_per_turn, job.machine)
    rpm = whole_speed(turns)
    return start._replace(rpm=rpm, feed=min(feed, start.feed_per_turn * rpm))


def _operation(
    job: Job,
    number: int,
    report: StepDownReport,
    tool: ToolUse | None,
    start: CuttingStart | None,
    withheld: str,
) -> Operation:
    with_tool = f" with {tool.name}" if tool is not None else ""
    lines: tuple[str, ...] = ()
    if not withheld and not report.passes:
        lines = ("Nothing is left to mill: take the rest off by hand.",)
    elif not withheld:
        touch = report.touch
        set_to = length_text(touch.set_z, job.unit, signed=True)
        touching = f"Touch off with {touch.method} on {touch.on}: while it just drags, set Z to {set_to}."
        hard = f"Z {_z_up(report.hard_floor, job.unit)}"
        lines = (
            f"{touching} Z 0 is then that face.",
            f"Go through the check list of {report.name} before the first pass.",
            f"Take the passes in the order of the table; skip none, and never go below the hard floor, {hard}.",
        )
    return Operation(
        number=number,
        kind=OperationKind.STEP_DOWN,
        title=f"Step down: {report.name}{with_tool}",
        instructions=lines,
        tool=0 if tool is None else tool.number,
        spindle_rpm=None if start is None else float(start.rpm),
        feed=None if start is None else start.feed,
        withheld=withheld,
        z_zero=f"{report.touch.on}, touched off with {report.touch.method}",
    )


def _with_passes(
    job: Job,
    operation: Operation,
    report: StepDownReport,
    sides: StepDownSides,
    tool: ToolUse | None,
    start: CuttingStart | None,
    machine_from_part: Placement,
    machine: MachineFacts,
    frame: ProgramFrame,
    *,
    count: int,
) -> tuple[Operation, tuple[ProgramPlan, ...], tuple[Finding, ...]]:
    """Return the operation with rows, stops and the names of its programs, the programs, and what to say of them."""
    cut = sides.cut
    by_program = machine.kind == "cnc" and cut is not None and tool is not None and start is not None
    rows: tuple[Row, ...] = ()
    last_row_of: dict[int, int] = {}
    if cut is not None:
        rows, last_row_of = pass_rows(cut, machine_from_part) if by_program else stroke_rows(cut, machine_from_part)
    operation = replace(operation, rows=rows, stops=_stops(job, operation, report, last_row_of))
    if not by_program:
        return operation, (), ()
    assert cut is not None
    assert tool is not None
    assert start is not None
    run = StepDownRun(
        sides=sides,
        cut=cut,
        tool=tool,
        start=MillingStart(float(start.rpm), start.feed),
        machine_from_part=machine_from_part,
        stop_texts={p.number: stop_text(job, report, p) for p in report.stops},
        z_zero=operation.z_zero,
    )
    one_per_pass = job.machine.program.step_down_programs == "one per pass"
    made = step_down_programs(
        run,
        machine,
        dialect_of(job),
        frame,
        name=f"{operation.number:02d}-step-down-{count}",
        one_per_pass=one_per_pass,
        cautions=program_cautions(service_tags(job) | step_down_tags(sides.answer.wish)),
    )
    operation = replace(operation, program=made[0].name, more_programs=tuple(program.name for program in made[1:]))
    return operation, made, coarse_heights(run, dialect_of(job), job.unit)


def stop_text(job: Job, report: StepDownReport, step: StepDownPass) -> str:
    """Return the message of the stop after a pass: what to look for and how far each answer allows to go on."""
    seen = " ".join(f"{text[0].upper()}{text[1:]}." for text in _answers(job, report, step))
    return f"after pass {step.number}, Z {_z(job, step.z)}: look. {seen} {report.sheet} shows: mill no more."


def _answers(job: Job, report: StepDownReport, step: StepDownPass) -> list[str]:
    """Return what each answer at a stop means to do; after the layer has shown, only its own."""
    shown = step.still_bar is None and step.layer_shows is not None and bool(report.answers)
    lines = [] if shown else [f"still only bar: {_then(job, step.still_bar, report.floor)}"]
    if step.layer_shows is not None:
        lines.append(f"{step.layer_shows.seen} shows: {_then(job, step.layer_shows, report.floor)}")
    return lines


def _then(job: Job, line: LookLine | None, floor: float) -> str:
    """Return what to do after one answer, against the floor of this plan."""
    if line is None:
        return "hardly to be expected, end here and measure again"
    if line.ends_here:
        return "end here"
    if line.next_floor > floor + SAME_HEIGHT:
        return f"no pass below Z {_z(job, line.next_floor)}, end there"
    if line.next_floor < floor - SAME_HEIGHT:
        return f"go on, and a new plan may go down to Z {_z(job, line.next_floor)}"
    return "go on"


def _z_up(z: float, unit: Unit) -> str:
    """Return a height that must not be passed, rounded up: the printed figure never lies below the true one."""
    step = MM_PER_UNIT[unit] / 10 ** (4 if unit == "in" else 3)
    return length_text(math.ceil(exact(z) / step) * step, unit, signed=True)


def _z(job: Job, z: float) -> str:
    return length_text(z, job.unit, signed=True)


def _stops(job: Job, operation: Operation, report: StepDownReport, last_row_of: dict[int, int]) -> tuple[Stop, ...]:
    """Return a card for every stop; the first says what to look for, the others refer to it."""
    out = []
    for n, step in enumerate(report.stops):
        out.append(
            Stop(
                key=f"look-{operation.number}-{step.number}",
                title=f"look after pass {step.number}, Z {_z(job, step.z)}",
                look_for=report.words.look_for if n == 0 else "as at the first stop",
                expect="; ".join(_answers(job, report, step)),
                if_not=report.words.sheet_shows if n == 0 else f"{report.sheet} shows: stop, lift, mill no more",
                after_row=last_row_of.get(step.number, 0),
            )
        )
    return tuple(out)
