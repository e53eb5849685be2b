"""Operations and programs of slots and pockets: one a stage, so that one stops when it fits."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.cutting_steps import path_minutes
from holecam.cuts.hand_values import HandRow, HandWork
from holecam.cuts.path_values import CutPath
from holecam.cuts.sneaking_values import SneakPass
from holecam.job.models import Job
from holecam.job.models_cut import Pocket
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding
from holecam.plan.limits import HardFloor, KeepOut, ProgramLimits, Stock
from holecam.plan.milled import MilledCut
from holecam.plan.motions import Motion, ProgramPlan, Remark, SpindleOn, ToolChange, ToolKind, ToolUse
from holecam.plan.work import NextSetting, Operation, OperationKind, Row, Stop
from holecam.planning.chain_drill_work import chain_drill, with_chain
from holecam.planning.cut_motions import level_motions
from holecam.planning.cut_requests import CutSetting, cut_setting
from holecam.planning.hole_programs import ProgramFrame
from holecam.planning.milled_cuts import PlannedCut
from holecam.planning.skewed_by_hand import skewed_by_hand
from holecam.planning.spindle_findings import rubbing_findings
from holecam.planning.words_in_unit import in_unit
from holecam.shapes import Placement, Point

FLOOR_SLACK = 1e-6
"""mm. The floor of a cut is a height that its program may reach but not pass; arithmetic noise is not passing."""

MEASURE_WITHIN = 0.05
"""mm. How near to its size a stage of sneaking up is expected: what a calliper in a slot can tell; common practice."""


class CutWork(Struct, frozen=True):
    """What the cuts of a job add to a plan."""

    reports: tuple[MilledCut, ...]
    tools: tuple[ToolUse, ...]
    operations: tuple[Operation, ...]
    programs: tuple[ProgramPlan, ...]
    findings: tuple[Finding, ...]


def cut_work(
    job: Job,
    cuts: Sequence[PlannedCut],
    *,
    first_operation: int,
    first_tool: int,
    frame: ProgramFrame,
    part_frame: Placement,
    by_program: bool,
    spindle: tuple[float, float] | None,
    body_frames: Mapping[str, ProgramFrame],
    hole_tools: Sequence[ToolUse] = (),
) -> CutWork:
    """Return tools, operations and programs of the cuts, numbered on from what a plan has already.

    Parameters
    ----------
    part_frame : Placement
        Carries part coordinates into readings; other bodies are set up on their own datum.
    by_program : bool
        Whether the machine runs programs.
    spindle : (slowest, fastest) or None
    body_frames : mapping
        What the programs on the other bodies say of their zero.
    hole_tools : sequence of ToolUse
        Those that the plan has already: a drill among them keeps its number.
    """
    tools: dict[str, ToolUse] = {}
    operations: list[Operation] = []
    programs: list[ProgramPlan] = []
    found = [f for c in cuts for f in c.findings]
    for cut in cuts:
        place = part_frame if cut.job_cut.body is None else Placement()
        cut_frame = frame if cut.job_cut.body is None else body_frames[cut.job_cut.body]
        programmed = by_program and not cut.job_cut.cutting.by_hand
        chain = None
        if cut.report.drilled and not programmed and not _followed(cut):
            chain = chain_drill(job, cut, [*hole_tools, *tools.values()], first_tool + len(tools))
        tool = _tool(tools, cut.setting, first_tool) if chain is None else chain.tool
        if chain is not None and tool not in hole_tools:
            tools[tool.name] = tool
        stopped = cut.stopped
        if chain is None and stopped is None:
            found += _rubbing(cut, cut.setting, job.unit)
        if stopped is None and not programmed:
            about = f'{cut.report.kind} "{cut.report.name}"'
            stopped = skewed_by_hand(_moves_by_hand(cut), place, about, cut.report.name)
            found += [stopped] if stopped is not None else []
        stages = cut.stages if programmed else _stages_by_hand(cut)
        for stage, path, hand_work in stages:
            number = first_operation + len(operations)
            operation = _operation(number, cut, stage, path, hand_work, tool, place, job.unit, programmed=programmed)
            if chain is not None:
                operation = with_chain(operation, cut, chain, place, job.unit)
            if programmed and stopped is None:
                name = f"{number:02d}-{_slug(operation.title)}.{frame.extension}"
                programs.append(_program(name, cut, path, tool, place, cut_frame, spindle, operation.title))
                operation = replace(operation, program=name)
            elif stopped is not None:
                operation = replace(operation, withheld=stopped.message, rows=())
            operations.append(operation)
        if cut.second is not None and stopped is None:
            number = first_operation + len(operations)
            setting = _second_setting(job, cut)
            found += _rubbing(cut, setting, job.unit)
            extra, program = _rest_operation(
                number, cut, setting, tools, first_tool, place, cut_frame, spindle, job, programmed
            )
            operations.append(extra)
            programs += program
    return CutWork(
        reports=tuple(_as_done(c, by_program=by_program) for c in cuts),
        tools=tuple(tools.values()),
        operations=tuple(operations),
        programs=tuple(programs),
        findings=tuple(found),
    )


def _second_setting(job: Job, cut: PlannedCut) -> CutSetting:
    assert isinstance(cut.job_cut, Pocket)
    wanted = (cut.job_cut.second_cutter or "").lower()
    model = next(m for m in job.tools.end_mills if m.name.lower() == wanted)
    return cut_setting(job, cut.job_cut, model, cut.facts.material, buried=False, second=True)


def _rubbing(cut: PlannedCut, setting: CutSetting, unit: Unit) -> list[Finding]:
    return rubbing_findings(
        f'{cut.report.kind} "{cut.report.name}"',
        setting.cutter.name,
        unit,
        usual=setting.steps.chip * setting.cutter.teeth,
        rpm=setting.rpm,
        feed=setting.feed,
        teeth=setting.cutter.teeth,
    )


def _followed(cut: PlannedCut) -> bool:
    """Return whether two handwheels can follow a cut, or the first stage of sneaking up to its size."""
    return cut.stages[0][2].followable


def _stages_by_hand(cut: PlannedCut) -> tuple[tuple[SneakPass | None, CutPath, HandWork], ...]:
    """Return the stages that hands can do: where the first cannot be followed there is nothing to measure after it."""
    if _followed(cut):
        return cut.stages
    _, path, hand = cut.stages[0]
    return ((None, path, hand),)


def _as_done(cut: PlannedCut, *, by_program: bool) -> MilledCut:
    """Return the report of a cut, without stages of sneaking up that nobody can do."""
    if (by_program and not cut.job_cut.cutting.by_hand) or _followed(cut):
        return cut.report
    return replace(cut.report, stages=())


def _tool(tools: dict[str, ToolUse], setting: CutSetting, first: int) -> ToolUse:
    cutter = setting.cutter
    if cutter.name not in tools:
        tools[cutter.name] = ToolUse(
            first + len(tools),
            cutter.name,
            ToolKind.END_MILL,
            cutter.diameter,
            corner_radius=cutter.corner_radius,
            flute_length=cutter.flute_length,
            overhang=cutter.overhang,
        )
    return tools[cutter.name]


def _slug(words: str) -> str:
    """Return a file name's stem: trade words and numbers only; the user's own name stays on the sheet."""
    kind = "pocket" if words.startswith("Pocket") else "slot"
    stage = re.search(r"clean-up (\d+)|stage (\d+)|second cutter", words)
    if stage is None:
        return kind
    number = stage.group(1) or stage.group(2)
    return f"{kind}-{number}" if number else f"{kind}-second-cutter"


def _operation(
    number: int,
    cut: PlannedCut,
    stage: SneakPass | None,
    path: CutPath,
    hand: HandWork,
    tool: ToolUse,
    place: Placement,
    unit: Unit,
    *,
    programmed: bool,
) -> Operation:
    report = cut.report
    kind = "Slot" if cut.kind is OperationKind.SLOT else "Pocket"
    name = f'{kind} "{report.name}"'
    if stage is not None:
        name += ", undersize cut, stage 0" if stage.number == 0 else f", clean-up {stage.number}"
    body = f'"{cut.job_cut.body}"' if cut.job_cut.body else "the part"
    lines = [f"Depth {length_text(report.depth, unit)} below the face of {body}."]
    minutes = path_minutes(path, cut.setting.feed, rapid=cut.setting.rapid)
    if programmed:
        lines.append(f"Cutting takes {max(1, round(minutes))} min or so, looking and measuring left out.")
    lines += report.words
    rows: tuple[Row, ...] = ()
    if not programmed:
        rows, more = _hand_rows(hand, place, unit)
        lines += more
        if len(cut.stages) > 1 and not _followed(cut):
            lines.append("Sneaking up is left out: its passes need a program.")
    stops: tuple[Stop, ...] = ()
    if stage is not None:
        stops = (_stage_stop(number, stage, report, len(rows), unit),)
    return Operation(
        number=number,
        kind=cut.kind,
        title=name,
        instructions=tuple(lines),
        tool=tool.number,
        spindle_rpm=cut.setting.rpm,
        feed=cut.setting.feed,
        rows=rows,
        stops=stops,
        pauses_here=True,
        z_zero=f"the face of {body} that is cut, touched with this cutter",
        body=cut.job_cut.body or "",
        cut=cut.report.name,
    )


def _hand_rows(hand: HandWork, place: Placement, unit: Unit) -> tuple[tuple[Row, ...], list[str]]:
    """Return the rows for two handwheels, or none and a line that says why two handwheels cannot follow the cut."""
    if not hand.followable:
        return (), [f"Two handwheels cannot follow it: {in_unit(hand.why, unit)}."]
    return tuple(_row(r, place, unit) for r in hand.rows), []


def _moves_by_hand(cut: PlannedCut) -> list[tuple[Point, Point]]:
    rows = [r for _, _, hand in cut.stages for r in hand.rows]
    rows += cut.second_by_hand.rows if cut.second_by_hand is not None else ()
    return [(r.begin, r.finish) for r in rows]


def _row(row: HandRow, place: Placement, unit: Unit) -> Row:
    note = row.direction if row.cuts else "through cut material, to the next pass"
    if row.note:
        note += f"; {in_unit(row.note, unit)}"
    return Row(
        number=row.number,
        hole=None,
        label=f"along {row.axis}",
        xy_part=row.begin,
        xy_machine=place.apply(row.begin),
        to_part=row.finish,
        to_machine=place.apply(row.finish),
        z=row.z,
        note=note,
    )


def _stage_stop(number: int, stage: SneakPass, report: MilledCut, after: int, unit: Unit) -> Stop:
    final = report.width if report.width is not None else stage.size + 2 * stage.side_allowance
    return Stop(
        key=f"size-{number}",
        title=f'"{report.name}" after stage {stage.number}',
        look_for=f"the width of the {report.kind} at both ends and in the middle; then try the part in it",
        expect=f"{length_text(stage.size, unit)} after this stage; stop here when the part fits",
        if_not="an offset below zero: it is wide enough already",
        after_row=after,
        expected=stage.size,
        tolerance=MEASURE_WITHIN,
        settings=(
            NextSetting(
                "side offset",
                final,
                0.5,
                0.0,
                f"half of ({length_text(final, unit)} - found) is still to come off each side, in all",
            ),
        ),
    )


def _rest_operation(
    number: int,
    cut: PlannedCut,
    setting: CutSetting,
    tools: dict[str, ToolUse],
    first_tool: int,
    place: Placement,
    frame: ProgramFrame,
    spindle: tuple[float, float] | None,
    job: Job,
    by_program: bool,
) -> tuple[Operation, list[ProgramPlan]]:
    assert cut.second is not None
    assert cut.second_by_hand is not None
    assert isinstance(cut.job_cut, Pocket)
    tool = _tool(tools, setting, first_tool)
    title = f'Pocket "{cut.report.name}", second cutter'
    lines = [f"Depth {length_text(cut.report.depth, job.unit)} below the same face."]
    lines.append("Cuts only what the first cutter left in the corners.")
    rows: tuple[Row, ...] = ()
    if not by_program and not _followed(cut):
        lines.append("No rows: two handwheels cannot follow the first cutter's way, so nothing is open for this one.")
    elif not by_program:
        rows, more = _hand_rows(cut.second_by_hand, place, job.unit)
        lines += more
    operation = Operation(
        number=number,
        kind=OperationKind.POCKET,
        title=title,
        instructions=tuple(lines),
        rows=rows,
        tool=tool.number,
        spindle_rpm=setting.rpm,
        feed=setting.feed,
        pauses_here=True,
        z_zero="the same face, touched anew with this cutter",
        body=cut.job_cut.body or "",
        cut=cut.report.name,
    )
    if not by_program:
        return operation, []
    file = f"{number:02d}-{_slug(title)}.{frame.extension}"
    program = _program(file, replace(cut, setting=setting), cut.second, tool, place, frame, spindle, title)
    return replace(operation, program=file), [program]


def _program(
    name: str,
    cut: PlannedCut,
    path: CutPath,
    tool: ToolUse,
    place: Placement,
    frame: ProgramFrame,
    spindle: tuple[float, float] | None,
    title: str,
) -> ProgramPlan:
    facts, feed = cut.facts, cut.setting.feed
    motions: list[Motion] = [ToolChange(tool.number), SpindleOn(cut.setting.rpm), Remark(title)]
    motions += level_motions(path.levels, feed=feed, clearance_z=path.clearance_z, frame=place, face_z=facts.top_z)
    floor = facts.top_z - cut.report.depth - FLOOR_SLACK
    own = cut.job_cut.body is None
    stock = None
    if facts.outline is not None:
        stock = Stock(place.apply_outline(facts.outline), facts.top_z, facts.top_z - facts.thickness)
    limits = ProgramLimits(
        hard_floors=(HardFloor(f"floor of {cut.report.name}", floor, source="planned depth"),),
        keep_outs=tuple(
            KeepOut(label, place.apply_outline(o), facts.top_z)
            for label, o in zip(cut.island_labels, cut.islands, strict=True)
        ),
        stock=stock,
        travel=frame.travel if own else ProgramLimits().travel,
        spindle_rpm=spindle,
        fastest_feed_mm_min=frame.fastest_feed,
    )
    return ProgramPlan(
        name=name,
        tools=(tool,),
        motions=tuple(motions),
        safe_height=facts.top_z + path.clearance_z,
        limits=limits,
        title=(*frame.title, title),
        zero=f"{frame.zero}; Z0 is its face that is cut",
        cautions=frame.cautions,
    )
