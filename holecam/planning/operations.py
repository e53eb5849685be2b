"""The operations on holes in their order: plug, find the datum, spot all, measure the spots, only then drill.

Steps that share a tool are done together, so that tools are changed as seldom as possible. On a machine that is driven
by hand every hole is approached from the same side on both axes; a program takes the shortest way it can find.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

from msgspec import Struct

from holecam.layout.drilling_order import short_tour
from holecam.layout.one_sided import back_off_distance, one_sided_order
from holecam.lengths import Unit, counts, length_text, reading_text
from holecam.plan.facts import MachineFacts, Readout, Setup
from holecam.plan.holes import HoleStep, PlannedHole, StandingHole, StepKind, hole_name
from holecam.plan.motions import ToolUse
from holecam.plan.work import NextSetting, Operation, OperationKind, Overshoot, Row, Stop
from holecam.planning.changes_of_work import datum_words, kept_zero_words, position_text
from holecam.shapes import Point

OPERATION_OF_STEP = {
    StepKind.SPOT: OperationKind.SPOT,
    StepKind.PILOT: OperationKind.DRILL,
    StepKind.DRILL: OperationKind.DRILL,
    StepKind.TAP_DRILL: OperationKind.DRILL,
    StepKind.REAM: OperationKind.REAM,
    StepKind.COUNTERBORE: OperationKind.COUNTERBORE,
    StepKind.COUNTERSINK: OperationKind.COUNTERSINK,
    StepKind.TAP: OperationKind.TAP,
    StepKind.DEBURR: OperationKind.DEBURR,
}

STEP_ORDER = tuple(StepKind)
"""Pilots before drills, sinks before taps: the order of the members."""

SPOT_TOLERANCE = 0.1
"""mm. A spot farther than this from its place is put right while it is still a spot; common practice."""


class StepGroup(Struct, frozen=True):
    """Holes that get the same step with the same tool, in the order in which they are visited."""

    kind: StepKind
    tool: int
    holes: tuple[PlannedHole, ...]
    steps: tuple[HoleStep, ...]


def grouped_steps(holes: Sequence[PlannedHole]) -> tuple[StepGroup, ...]:
    """Return the steps of all holes that are not withheld, grouped by kind and tool, in the order of the work.

    Drills of one kind follow each other from the smallest upward.
    """
    groups: dict[tuple[int, float, int], list[tuple[PlannedHole, HoleStep]]] = {}
    for hole in holes:
        if hole.withheld:
            continue
        for step in hole.steps:
            diameter = step.diameter if step.kind in (StepKind.PILOT, StepKind.DRILL, StepKind.TAP_DRILL) else 0.0
            kind = StepKind.DRILL if step.kind is StepKind.TAP_DRILL else step.kind
            groups.setdefault((STEP_ORDER.index(kind), diameter, step.tool), []).append((hole, step))
    return tuple(
        StepGroup(members[0][1].kind, key[2], tuple(h for h, _ in members), tuple(s for _, s in members))
        for key, members in sorted(groups.items(), key=lambda item: item[0])
    )


class VisitOrder(Struct, frozen=True):
    """The order in which holes are visited and how each is met, by hole number."""

    numbers: tuple[int, ...]
    overshoots: dict[int, Overshoot]
    closing: Overshoot


def visit_order(holes: Sequence[PlannedHole], machine: MachineFacts) -> VisitOrder:
    """Return the order for these holes on this machine, in the frame of its readout."""
    points = [h.xy_machine for h in holes]
    numbers = [h.number for h in holes]
    if machine.kind == "cnc":
        return VisitOrder(tuple(numbers[k] for k in _tour(tuple(points))), {}, Overshoot())
    dials = [d for d in (machine.dial, machine.dial_y) if d is not None]
    lead = float(max(d.lead for d in dials)) if dials else None
    one_sided = one_sided_order(
        points,
        senses=machine.approach,
        back_off=back_off_distance(lead=lead, backlash=machine.backlash),
        unit=machine.readout.unit,
    )
    return VisitOrder(
        tuple(numbers[k] for k in one_sided.order),
        {numbers[step.index]: step.overshoot for step in one_sided.steps},
        one_sided.closing.overshoot,
    )


@lru_cache(maxsize=8)
def _tour(points: tuple[Point, ...]) -> tuple[int, ...]:
    """Return the short tour through points; spot, drill and tap visit the same ones, and the search is slow."""
    return tuple(short_tour(points, start=(0.0, 0.0)).order)


def hole_operations(
    holes: Sequence[PlannedHole],
    standing: Sequence[StandingHole],
    tools: Sequence[ToolUse],
    machine: MachineFacts,
    *,
    datum: str,
    plug_words: Sequence[str],
    unit: Unit,
    setup: Setup,
    body_datums: Mapping[str, str] | None = None,
) -> tuple[Operation, ...]:
    """Return every operation on holes, numbered from 1; programs are named later.

    Parameters
    ----------
    holes, standing : from the plan
    tools : sequence of ToolUse
    machine : MachineFacts
    datum : str
        What X 0 Y 0 is, in words.
    plug_words : sequence of str
        What is done to plug the old holes, one action each; empty when none is to be plugged.
    unit : {"in", "mm"}
        For the words.
    setup : Setup
        How the part sits on the table; other bodies lie square.
    body_datums : mapping, optional
        What X 0 Y 0 is on each other body, by its name.
    """
    by_number = {t.number: t for t in tools}
    operations: list[Operation] = []

    def add(make: Callable[[int], Operation]) -> None:
        operations.append(make(len(operations) + 1))

    if plug_words:
        add(lambda n: _plugging(n, standing, plug_words))
    for body in dict.fromkeys(h.body for h in holes):  # one piece of work after the other: each has its own zero
        own = [h for h in holes if h.body == body and not h.withheld]
        groups = grouped_steps(own)
        if not groups:
            continue
        zero = datum_words(body, (body_datums or {}).get(body, "") if body else datum)
        kept = "" if body else kept_zero_words(setup, machine.readout, zero)
        add(lambda n, o=own, z=zero, k=kept: _find_datum(n, o, z, machine.readout, kept=k))  # type: ignore[misc]
        for k, group in enumerate(groups):
            add(lambda n, g=group: _step_operation(n, g, by_number.get(g.tool), machine, unit))  # type: ignore[misc]
            last_spots = k + 1 == len(groups) or groups[k + 1].kind is not StepKind.SPOT
            if group.kind is StepKind.SPOT and last_spots:
                add(lambda n, g=group: _measure_spots(n, g, machine.readout, unit))  # type: ignore[misc]
    return tuple(operations)


def _plugging(number: int, standing: Sequence[StandingHole], plug_words: Sequence[str]) -> Operation:
    rows = tuple(
        Row(k, None, hole.label, hole.xy_part, hole.xy_machine)
        for k, hole in enumerate((h for h in standing if h.to_plug), start=1)
    )
    return Operation(
        number=number,
        kind=OperationKind.PLUG,
        title="Plug all old holes and dress them flush",
        instructions=tuple(plug_words),
        rows=rows,
        pauses_here=True,
    )


def _find_datum(
    number: int, holes: Sequence[PlannedHole], datum: str, readout: Readout, *, kept: str = ""
) -> Operation:
    first = next(h for h in holes if not h.withheld)
    what = "Prove the zero of X and Y" if kept else "Find the datum and set X and Y to zero"
    find = kept or f"Find X 0 Y 0: {datum}. Come to each edge from the approach side of the rows."
    return Operation(
        number=number,
        kind=OperationKind.FIND_DATUM,
        title=what + (f', on "{first.body}"' if first.body else ""),
        instructions=(
            find,
            "Take off the radius of the edge finder; write the readings in the record lines.",
            (
                f"Go to {hole_name(first)} ({position_text(first.xy_machine, readout)}) with a pointer and look: is "
                "it the right place on the part, and on the right hand?"
            ),
        ),
        pauses_here=False,
        body=first.body,
    )


_TITLES = {
    StepKind.SPOT: "Spot all holes",
    StepKind.PILOT: "Drill pilots",
    StepKind.DRILL: "Drill",
    StepKind.TAP_DRILL: "Drill",
    StepKind.REAM: "Ream",
    StepKind.COUNTERBORE: "Counterbore",
    StepKind.COUNTERSINK: "Countersink",
    StepKind.TAP: "Tap",
    StepKind.DEBURR: "Deburr",
}


def _step_operation(
    number: int, group: StepGroup, tool: ToolUse | None, machine: MachineFacts, unit: Unit
) -> Operation:
    order = visit_order(group.holes, machine)
    by_number = {h.number: (h, s) for h, s in zip(group.holes, group.steps, strict=True)}
    by_hand = all(s.by_hand for s in group.steps)
    rows = []
    for k, hole_number in enumerate(order.numbers, start=1):
        hole, step = by_number[hole_number]
        rows.append(
            Row(
                number=k,
                hole=hole_number,
                label=f"{hole.pattern} {hole.number_in_pattern}",
                xy_part=hole.xy_part,
                xy_machine=hole.xy_machine,
                z=None if by_hand else hole.face_z - step.tip_depth,
                overshoot=order.overshoots.get(hole_number, Overshoot()) if not by_hand else Overshoot(),
                note=step.note,
            )
        )
    if len({r.note for r in rows}) == 1:  # said once above the rows instead of at each of them
        shared = rows[0].note
        rows = [_without_note(r) for r in rows]
    else:
        shared = ""
    if len(rows) > 1 and not by_hand:
        first = by_number[order.numbers[0]][0]
        rows.append(
            Row(
                number=len(rows) + 1,
                hole=first.number,
                label="closing",
                xy_part=first.xy_part,
                xy_machine=first.xy_machine,
                overshoot=order.closing,
                closing=True,
                note="this must show again within two steps; if not, stop: zero or part has moved",
            )
        )
    name = f" with {tool.name}" if tool is not None else ""
    speeds = [s.spindle_rpm for s in group.steps if s.spindle_rpm is not None]
    feeds = [s.feed for s in group.steps if s.feed is not None]
    return Operation(
        number=number,
        kind=OPERATION_OF_STEP[group.kind],
        title=f"{_TITLES[group.kind]}{name}" + (f', on "{group.holes[0].body}"' if group.holes[0].body else ""),
        instructions=_instructions(group, machine.readout, shared),
        tool=group.tool,
        spindle_rpm=min(speeds) if speeds else None,
        feed=min(feeds) if feeds else None,
        rows=tuple(rows),
        pauses_here=group.kind in (StepKind.TAP, StepKind.DEBURR, StepKind.DRILL, StepKind.TAP_DRILL),
        z_zero="" if by_hand else _z_zero(group.holes, unit),
        body=group.holes[0].body,
    )


def _z_zero(holes: Sequence[PlannedHole], unit: Unit) -> str:
    """Return what Z 0 is for rows whose Z counts from the zero of the job, not from a face that lies elsewhere."""
    faces = sorted({h.face_z for h in holes})
    if faces == [0.0]:
        return "the face that is drilled, touched with this tool"
    heights = " and ".join(length_text(z, unit, signed=True) for z in faces)
    return f"the height zero of the job: the face that is drilled, touched with this tool, reads {heights}"


def _without_note(row: Row) -> Row:
    return Row(
        row.number,
        row.hole,
        row.label,
        row.xy_part,
        row.xy_machine,
        row.to_part,
        row.to_machine,
        row.z,
        row.overshoot,
        row.closing,
    )


def _instructions(group: StepGroup, readout: Readout, shared: str) -> tuple[str, ...]:
    lines: list[str] = []
    unit = readout.unit
    depths = sorted({counts(s.tip_depth, readout.resolution) for s in group.steps})
    if group.kind in (StepKind.SPOT, StepKind.PILOT, StepKind.DRILL, StepKind.TAP_DRILL):
        stop = f"{reading_text(depths[0], readout.resolution, unit, signed=False)} {unit}"
        one_depth = f"{stop} below the face for every hole" if len(depths) == 1 else "as in the rows"
        lines.append(f"Set the depth stop: tip {one_depth}.")
    pecks = {s.peck for s in group.steps}
    if pecks != {None}:
        peck = min(p for p in pecks if p is not None)
        lines.append(f"Clear the chips every {length_text(peck, unit)}.")
    if shared:
        lines.append(shared[0].upper() + shared[1:] + ("" if shared.endswith(".") else "."))
    if group.kind is StepKind.COUNTERSINK:
        mouths = " or ".join(length_text(d, unit) for d in sorted({s.diameter for s in group.steps}))
        lines.append(
            f"The cone measures {mouths} across at the face. Tip Z is that of a sharp point: a blunt one stops"
        )
        lines[-1] += " higher. Try it on scrap or on one hole, and measure."
    if group.kind is StepKind.SPOT:
        lines.append("Spot every hole before any is drilled.")
    if group.kind is StepKind.TAP and all(s.by_hand for s in group.steps):
        lines.append("Start the tap square: guide it from the spindle or a block; back off to break the chip.")
    return tuple(lines)


def _measure_spots(number: int, group: StepGroup, readout: Readout, unit: Unit) -> Operation:
    first, last = group.holes[0], group.holes[-1]
    stops = []
    if first.number != last.number:
        dx = abs(last.xy_part[0] - first.xy_part[0])
        dy = abs(last.xy_part[1] - first.xy_part[1])
        expected = (dx * dx + dy * dy) ** 0.5
        stops.append(
            Stop(
                key=f"spots-{number}",
                title=f"spots {first.number} and {last.number}",
                look_for=f"the distance from spot {first.number} to spot {last.number}, with a calliper on the points",
                expect=length_text(expected, unit),
                if_not="do not drill: find out which reading was taken wrongly, and spot again beside the wrong one",
                expected=expected,
                tolerance=SPOT_TOLERANCE,
            )
        )
    x, y = (  # what the readout shows: the figures beside the words are readings too
        f"{reading_text(counts(v, readout.resolution), readout.resolution, readout.unit)} {readout.unit}"
        for v in first.xy_machine
    )
    stops.append(
        Stop(
            key=f"refound-x-{number}",
            title=f"spot {first.number} along X",
            look_for=f"the X of spot {first.number}, found again with a pointer in the spot",
            expect=x,
            if_not="move every following X by the difference, or find the datum again",
            expected=first.xy_machine[0],
            tolerance=SPOT_TOLERANCE,
            settings=(
                NextSetting("move x", first.xy_machine[0], -1.0, 0.0, "add (found - expected) to every following X"),
            ),
        )
    )
    stops.append(
        Stop(
            key=f"refound-y-{number}",
            title=f"spot {first.number} along Y",
            look_for=f"the Y of spot {first.number}, found again with a pointer in the spot",
            expect=y,
            if_not="move every following Y by the difference, or find the datum again",
            expected=first.xy_machine[1],
            tolerance=SPOT_TOLERANCE,
            settings=(
                NextSetting("move y", first.xy_machine[1], -1.0, 0.0, "add (found - expected) to every following Y"),
            ),
        )
    )
    return Operation(
        number=number,
        kind=OperationKind.MEASURE,
        title="Measure the spots before anything is drilled",
        instructions=("Do not drill while a spot is wrong: a spot can still be moved, a hole cannot.",),
        stops=tuple(stops),
        pauses_here=True,
    )
