"""Give tools their numbers and every step its speed and feed: starting points, inside what the machine can turn."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.job.models import Job
from holecam.lengths import Unit
from holecam.plan.facts import Figure
from holecam.plan.finding import Finding, Severity
from holecam.plan.holes import HoleStep, StepKind
from holecam.plan.motions import ToolUse
from holecam.planning.hole_drafts import HoleRecipe, StepDraft, ToolDraft
from holecam.planning.spindle_findings import rubbing_findings
from holecam.planning.spindle_speeds import speed_and_feed, speed_figure, speed_range, speed_that_turns, whole_speed
from holecam.standards.cutting_data import CuttingStart, cutting_start
from holecam.standards.materials import Material

SPOT_DRILL_SIZES: dict[str, tuple[float, ...]] = {
    "in": (3.175, 4.7625, 6.35, 9.525, 12.7, 15.875, 19.05, 25.4),
    "mm": (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0),
}
"""mm. Spot drills that tool makers list (common practice); the smallest that makes every spot is taken."""

SPOT_DRILL_NAMES = {
    3.175: "1/8",
    4.7625: "3/16",
    6.35: "1/4",
    9.525: "3/8",
    12.7: "1/2",
    15.875: "5/8",
    19.05: "3/4",
    25.4: "1",
}

OPERATION_WORDS = {
    StepKind.SPOT: "spot",
    StepKind.PILOT: "drill",
    StepKind.DRILL: "drill",
    StepKind.TAP_DRILL: "drill",
    StepKind.REAM: "ream",
    StepKind.COUNTERBORE: "counterbore",
    StepKind.COUNTERSINK: "countersink",
    StepKind.TAP: "tap",
}

KIND_ORDER = tuple(StepKind)


class ToolList(Struct, frozen=True):
    """Tools with their numbers, and for each recipe its steps as the plan holds them."""

    tools: tuple[ToolUse, ...]
    steps: tuple[tuple[HoleStep, ...], ...]
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]


def tool_list(job: Job, recipes: Sequence[HoleRecipe], names: Sequence[str]) -> ToolList:
    """Return the tools of all recipes, numbered in the order of their use, and the finished steps.

    Parameters
    ----------
    job : Job
    recipes : sequence of HoleRecipe
    names : sequence of str
        Name of the pattern of each recipe, for the trace.
    """
    resolved = [_with_spot_drill(recipes, recipe, job.unit) for recipe in recipes]
    drafts = [(step, step.tool) for steps in resolved for step in steps if step.tool is not None]
    ordered = sorted(drafts, key=lambda pair: (_rank(pair[0].kind), pair[1].diameter, pair[1].name))
    numbers: dict[ToolDraft, int] = {}
    for _, tool in ordered:
        numbers.setdefault(tool, len(numbers) + 1)
    tools = tuple(
        ToolUse(number, tool.name, tool.kind, tool.diameter, point_angle_deg=tool.point_angle_deg)
        for tool, number in numbers.items()
    )
    figures: list[Figure] = []
    findings: list[Finding] = []
    finished = []
    for recipe, steps, name in zip(recipes, resolved, names, strict=True):
        done = []
        for step in steps:
            number = numbers[step.tool] if step.tool is not None else 0
            start = _start(job, step, recipe.material)
            done.append(_finish(step, number, start))
            if start is not None and step.tool is not None:
                figures.append(speed_figure(f'"{name}", {step.tool.name}', start, job.unit))
                findings.extend(_speed_findings(name, step.tool.name, start))
                findings += rubbing_findings(
                    f'"{name}"',
                    step.tool.name,
                    job.unit,
                    usual=start.feed_per_turn,
                    rpm=start.rpm,
                    feed=start.feed,
                )
        finished.append(tuple(done))
    return ToolList(tools, tuple(finished), tuple(dict.fromkeys(figures)), tuple(dict.fromkeys(findings)))


def _rank(kind: StepKind) -> int:
    return KIND_ORDER.index(StepKind.DRILL if kind is StepKind.TAP_DRILL else kind)


def _with_spot_drill(recipes: Sequence[HoleRecipe], recipe: HoleRecipe, unit: Unit) -> list[StepDraft]:
    """Return the steps of a recipe with the one spot drill put in that makes the widest spot of all recipes."""
    widest = max((s.diameter for r in recipes for s in r.steps if s.kind is StepKind.SPOT), default=0.0)
    sizes = SPOT_DRILL_SIZES[unit]
    size = next((s for s in sizes if s >= widest), sizes[-1])
    steps = []
    for step in recipe.steps:
        if step.kind is StepKind.SPOT and step.tool is not None:
            name = f"{SPOT_DRILL_NAMES[size]} in" if unit == "in" else f"{size:g} mm"
            tool = replace(step.tool, name=f"{name} spot drill", diameter=size)
            step = replace(step, tool=tool)
            if step.diameter > size:  # wider than any spot drill: as wide as the tool makes it
                scale = size / step.diameter
                step = replace(step, diameter=size, tip_depth=step.tip_depth * scale)
        steps.append(step)
    return steps


def _start(job: Job, step: StepDraft, stuff: Material) -> CuttingStart | None:
    if step.by_hand or step.tool is None:
        return None
    spindle = job.machine.spindle
    slowest, fastest = speed_range(spindle)
    start = cutting_start(
        stuff,
        OPERATION_WORDS[step.kind],
        diameter=step.tool.diameter if step.kind is not StepKind.SPOT else step.diameter,
        pitch=step.tool.pitch,
        slowest_rpm=slowest,
        fastest_rpm=fastest,
    )
    most = float(job.machine.fastest_feed) if job.machine.fastest_feed is not None else math.inf
    if step.kind is StepKind.TAP:  # a tap's feed is its pitch: what the feed cannot follow, the spindle must not turn
        rpm = min(start.rpm, int(most / start.feed_per_turn)) if math.isfinite(most) else start.rpm
        rpm = whole_speed(speed_that_turns(rpm, spindle))
        return start._replace(rpm=rpm, feed=start.feed_per_turn * rpm)
    rpm = whole_speed(speed_and_feed(start.rpm, start.feed_per_turn, job.machine)[0])
    return start._replace(rpm=rpm, feed=min(start.feed_per_turn * rpm, most))


def _finish(step: StepDraft, number: int, start: CuttingStart | None) -> HoleStep:
    return HoleStep(
        kind=step.kind,
        tool=number,
        diameter=step.diameter,
        full_depth=step.full_depth,
        tip_depth=step.tip_depth,
        through=step.through,
        spindle_rpm=None if start is None else float(start.rpm),
        feed=None if start is None else start.feed,
        peck=step.peck,
        by_hand=step.by_hand,
        note=step.note,
    )


def _speed_findings(name: str, tool: str, start: CuttingStart) -> list[Finding]:
    if start.bound != "slowest":
        return []
    return [
        Finding(
            "spindle-too-fast",
            Severity.CAUTION,
            f'"{name}"',
            f"The machine's slowest speed, {start.rpm} turns a minute, is above the {start.wanted_rpm:.0f} that the "
            f"{tool} wants.",
            measured=float(start.rpm),
            limit=start.wanted_rpm,
            quantity_unit="rpm",
            source=start.source,
            remedy="Turn it by hand, use another machine, or a smaller tool first.",
        )
    ]
