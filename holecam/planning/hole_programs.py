"""Programs for the operations on holes, with the limits that their check holds them against."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from holecam.plan.facts import MachineFacts
from holecam.plan.holes import HoleStep, PlannedHole, StepKind
from holecam.plan.motions import (
    DrillCycle,
    ExpectedHole,
    HardFloor,
    KeepOut,
    Motion,
    ProgramLimits,
    ProgramPlan,
    Remark,
    SpindleOn,
    Stock,
    TapCycle,
    ToolChange,
    ToolUse,
    Travel,
)
from holecam.plan.work import Operation, OperationKind

RETRACT_ABOVE_FACE = 2.0
"""mm (0.08 in) above the face: where feed begins in a hole; common practice."""

STEP_OF_OPERATION: dict[OperationKind, tuple[StepKind, ...]] = {
    OperationKind.SPOT: (StepKind.SPOT,),
    OperationKind.DRILL: (StepKind.PILOT, StepKind.DRILL, StepKind.TAP_DRILL),
    OperationKind.REAM: (StepKind.REAM,),
    OperationKind.COUNTERBORE: (StepKind.COUNTERBORE,),
    OperationKind.COUNTERSINK: (StepKind.COUNTERSINK,),
    OperationKind.TAP: (StepKind.TAP,),
}


class ProgramFrame(Struct, frozen=True):
    """What all hole programs of a plan share: names, title lines, stock, floors, machine limits."""

    title: tuple[str, ...]
    zero: str
    cautions: tuple[str, ...]
    stock: Stock | None
    hard_floors: tuple[HardFloor, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    travel: Travel = field(default_factory=Travel)
    fastest_feed: float | None = None
    extension: str = "nc"
    layout: Literal["one per tool", "one with all"] = "one per tool"


class NamedPrograms(Struct, frozen=True):
    """Operations that know their programs, and the programs."""

    operations: tuple[Operation, ...]
    programs: tuple[ProgramPlan, ...]


def hole_programs(
    operations: Sequence[Operation],
    holes: Sequence[PlannedHole],
    tools: Sequence[ToolUse],
    machine: MachineFacts,
    frame: ProgramFrame,
    body_frames: Mapping[str, ProgramFrame] | None = None,
) -> NamedPrograms:
    """Return one program for each operation that a machine can do, or a single one with tool changes.

    Operations at the bench (tapping by hand, deburring) and whole plans for a hand-driven machine get none. The names
    are numbers and trade words only; nothing of the job's text reaches a file name. ``body_frames`` holds the frames of
    other bodies, by name: no program drills two pieces of work.
    """
    if machine.kind != "cnc":
        return NamedPrograms(tuple(operations), ())
    by_number = {h.number: h for h in holes}
    tool_of = {t.number: t for t in tools}
    parts: list[tuple[Operation, list[Motion], tuple[ExpectedHole, ...], ToolUse]] = []

    def frame_of(operation: Operation) -> ProgramFrame:
        number = next((r.hole for r in operation.rows if r.hole is not None), None)
        body = by_number[number].body if number is not None else ""
        return (body_frames or {}).get(body, frame)

    for operation in operations:
        stock = frame_of(operation).stock
        stock_top = -math.inf if stock is None else stock.top_z
        made = _motions(operation, by_number, tool_of, stock_top)
        if made is not None:
            parts.append((operation, made[0], made[1], tool_of[operation.tool]))
    if not parts:
        return NamedPrograms(tuple(operations), ())
    if frame.layout == "one with all":
        names: dict[int, str] = {}
        made_programs: list[ProgramPlan] = []
        frames = {id(frame_of(op)): frame_of(op) for op, _, _, _ in parts}
        for count, (key, own) in enumerate(frames.items(), start=1):
            name = f"holes.{frame.extension}" if count == 1 else f"holes-{count}.{frame.extension}"
            mine = [p for p in parts if id(frame_of(p[0])) == key]
            motions = [m for _, ms, _, _ in mine for m in ms]
            expected = tuple(e for _, _, es, _ in mine for e in es)
            used = {t.number: t for _, _, _, t in mine}
            made_programs.append(_program(name, tuple(used.values()), motions, expected, machine, own))
            names.update({op.number: name for op, _, _, _ in mine})
        programs: tuple[ProgramPlan, ...] = tuple(made_programs)
    else:
        names = {op.number: f"{op.number:02d}-{_slug(op.kind.value)}.{frame.extension}" for op, _, _, _ in parts}
        programs = tuple(
            _program(names[op.number], (tool,), motions, expected, machine, frame_of(op))
            for op, motions, expected, tool in parts
        )
    named = tuple(replace(op, program=names.get(op.number, op.program)) for op in operations)
    return NamedPrograms(named, programs)


def _slug(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def _program(
    name: str,
    tools: tuple[ToolUse, ...],
    motions: Sequence[Motion],
    expected: tuple[ExpectedHole, ...],
    machine: MachineFacts,
    frame: ProgramFrame,
) -> ProgramPlan:
    spindle = None
    if machine.slowest_rpm is not None and machine.fastest_rpm is not None:
        spindle = (machine.slowest_rpm, machine.fastest_rpm)
    limits = ProgramLimits(
        hard_floors=frame.hard_floors,
        keep_outs=frame.keep_outs,
        stock=frame.stock,
        travel=frame.travel,
        spindle_rpm=spindle,
        fastest_feed_mm_min=frame.fastest_feed,
        holes=expected,
    )
    return ProgramPlan(
        name=name,
        tools=tools,
        motions=tuple(motions),
        safe_height=machine.safe_height,
        limits=limits,
        title=frame.title,
        zero=frame.zero,
        cautions=frame.cautions,
    )


def _motions(
    operation: Operation, holes: dict[int, PlannedHole], tools: dict[int, ToolUse], stock_top: float
) -> tuple[list[Motion], tuple[ExpectedHole, ...]] | None:
    kinds = STEP_OF_OPERATION.get(operation.kind)
    if kinds is None or operation.tool not in tools:
        return None
    rows = [r for r in operation.rows if r.hole is not None and not r.closing]
    if not rows:
        return None
    motions: list[Motion] = [ToolChange(operation.tool)]
    expected: list[ExpectedHole] = []
    speed = None
    for row in rows:
        assert row.hole is not None
        hole = holes[row.hole]
        step = next(s for s in hole.steps if s.kind in kinds and s.tool == operation.tool)
        if step.by_hand or step.spindle_rpm is None:
            return None
        if step.spindle_rpm != speed:
            motions.append(SpindleOn(step.spindle_rpm))
            speed = step.spindle_rpm
        if speed is not None and len(motions) == 2:
            motions.append(Remark(operation.title))
        motions.append(_cycle(hole, step, max(hole.face_z, stock_top)))
        x, y = hole.xy_machine
        expected.append(
            ExpectedHole(hole.number, x, y, hole.face_z - step.tip_depth, operation.tool, top_z=hole.face_z)
        )
    return motions, tuple(expected)


def _cycle(hole: PlannedHole, step: HoleStep, top: float) -> Motion:
    """Return the cycle of a hole; feed begins above ``top``, so that no rapid goes down beside higher metal."""
    x, y = hole.xy_machine
    retract = top + RETRACT_ABOVE_FACE
    bottom = hole.face_z - step.tip_depth
    if step.kind is StepKind.TAP:
        assert step.spindle_rpm is not None
        assert step.feed is not None
        return TapCycle(hole.number, x, y, retract, bottom, pitch=step.feed / step.spindle_rpm, rpm=step.spindle_rpm)
    assert step.feed is not None
    return DrillCycle(hole.number, x, y, retract, bottom, step.feed, step.peck)


def zero_words(datum: str, *, unit: str) -> str:
    """Return where X0 Y0 Z0 is, for the head of a program."""
    return f"X0 Y0 {datum or 'datum of the job'}; Z0 the face that is drilled; {unit}"
