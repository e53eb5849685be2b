"""The coordinates as CSV: units in every column head, and no text of the job that a spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io

from holecam.output.readings import reading
from holecam.plan.holes import PlannedHole, StepKind
from holecam.plan.plan import Plan

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "|", "%")
"""First characters that spreadsheets read as a formula or a command (list of the OWASP note on CSV injection, from
memory)."""


def safe_cell(text: str) -> str:
    """Return a text cell that no spreadsheet runs: an apostrophe in front keeps it text.

    >>> safe_cell("=1+1"), safe_cell("rail screws")
    ("'=1+1", 'rail screws')
    """
    return f"'{text}" if text.lstrip(" \u00a0\u200b\ufeff").startswith(FORMULA_STARTS) else text


def coordinates_csv(plan: Plan) -> str:
    """Return ``coordinates.csv``: one row a hole, positions as the readout shows them, steps from the row before."""
    unit = plan.machine.readout.unit
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(
        [
            "hole",
            "pattern",
            "number in pattern",
            f"part x {unit}",
            f"part y {unit}",
            f"readout x {unit}",
            f"readout y {unit}",
            f"step x {unit}",
            f"step y {unit}",
            "purpose",
            "drill",
            f"tip depth {unit}",
            "program",
        ]
    )
    before = (0, 0)
    for hole in plan.holes:
        part = [reading(plan, v) for v in hole.xy_part]
        shown = [reading(plan, v) for v in hole.xy_machine]
        step_x, step_y = (reading(plan, 0.0), reading(plan, 0.0))
        step_x = type(step_x)(shown[0].count - before[0], step_x.resolution, unit)
        step_y = type(step_y)(shown[1].count - before[1], step_y.resolution, unit)
        before = (shown[0].count, shown[1].count)
        drill, depth = _drilling(plan, hole)
        table.writerow(
            [
                hole.number,
                safe_cell(hole.pattern),
                hole.number_in_pattern,
                *(r.text(signed=False) for r in (*part, *shown, step_x, step_y)),
                safe_cell(hole.purpose),
                safe_cell(drill),
                depth,
                "withheld" if hole.withheld else "written",
            ]
        )
    return out.getvalue()


def _drilling(plan: Plan, hole: PlannedHole) -> tuple[str, str]:
    """Return the name of the drill that makes the hole and the depth of its tip."""
    for step in reversed(hole.steps):
        if step.kind in (StepKind.DRILL, StepKind.TAP_DRILL):
            return plan.tool(step.tool).name, reading(plan, step.tip_depth).text(signed=False)
    return "", ""
