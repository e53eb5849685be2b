"""The coordinates as CSV: units in every column head, and no text of the job that a spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from holecam.lengths import counts, reading_text
from holecam.output.readings import reading
from holecam.plan.holes import HoleStep, StepKind
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
    unit, resolution = plan.machine.readout.unit, plan.machine.readout.resolution
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
    before = [0, 0]
    drillings: dict[tuple[HoleStep, ...], tuple[str, str]] = {}
    for hole in plan.holes:
        part = [counts(v, resolution) for v in hole.xy_part]
        shown = [counts(v, resolution) for v in hole.xy_machine]
        moved = [now - then for now, then in zip(shown, before, strict=True)]
        before = shown
        if hole.steps not in drillings:
            drillings[hole.steps] = _drilling(plan, hole.steps)
        drill, depth = drillings[hole.steps]
        table.writerow(
            [
                hole.number,
                safe_cell(hole.pattern),
                hole.number_in_pattern,
                *(reading_text(count, resolution, unit, signed=False) for count in (*part, *shown, *moved)),
                safe_cell(hole.purpose),
                safe_cell(drill),
                depth,
                "withheld" if hole.withheld else "written",
            ]
        )
    return out.getvalue()


def _drilling(plan: Plan, steps: Sequence[HoleStep]) -> tuple[str, str]:
    """Return the name of the drill that makes a hole and the depth of its tip."""
    for step in reversed(steps):
        if step.kind in (StepKind.DRILL, StepKind.TAP_DRILL):
            return plan.tool(step.tool).name, reading(plan, step.tip_depth).text(signed=False)
    return "", ""
