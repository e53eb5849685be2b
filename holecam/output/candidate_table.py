"""Several places of one pattern as a table, and as JSON."""

from __future__ import annotations

from typing import Any

from holecam.lengths import Unit, number_in
from holecam.output.plain_words import plain
from holecam.output.terminal_table import columns
from holecam.plan.candidates import CandidateReport, Comparison


def candidate_table(comparison: Comparison, unit: Unit) -> str:
    """Return the table of one comparison, the rule and the best under it."""
    heads = [
        "place",
        f"X {unit}",
        f"Y {unit}",
        "stops",
        "cautions",
        f"margin {unit}",
        f"web {unit}",
        f"play {unit}",
        "plugs",
    ]
    rows = [_row(c, unit) for c in comparison.candidates]
    lines = [
        f"{plain(comparison.pattern)}: where {plain(comparison.reference_words)} comes to lie",
        "",
        *columns(heads, rows, right=[False, *[True] * 7, False]),
        "",
        f"Best: {plain(comparison.best)}, by this rule: {comparison.rule}.",
    ]
    return "\n".join(lines) + "\n"


def _row(report: CandidateReport, unit: Unit) -> list[str]:
    together = {None: "no mate", True: "", False: " short"}[report.goes_together]
    play = together if report.play_left is None else f"{number_in(report.play_left, unit, signed=True)}{together}"
    return [
        plain(report.name),
        number_in(report.reference_at[0], unit, signed=True),
        number_in(report.reference_at[1], unit, signed=True),
        str(report.stops),
        str(report.cautions),
        "none" if report.margin is None else number_in(report.margin, unit, signed=True),
        "none" if report.least_web is None else number_in(report.least_web, unit, signed=True),
        play,
        ", ".join(plain(p) for p in report.plugs_met) or "none",
    ]


def candidate_facts(comparison: Comparison) -> dict[str, Any]:
    """Return one comparison as plain values, lengths in mm."""
    return {
        "pattern": comparison.pattern,
        "reference_hole": comparison.reference_hole,
        "best": comparison.best,
        "rule": comparison.rule,
        "candidates": [
            {
                "name": c.name,
                "x_mm": c.reference_at[0],
                "y_mm": c.reference_at[1],
                "turn_deg": c.turn_deg,
                "stops": c.stops,
                "cautions": c.cautions,
                "margin_mm": c.margin,
                "least_web_mm": c.least_web,
                "goes_together": c.goes_together,
                "play_left_mm": c.play_left,
                "plugs_met": list(c.plugs_met),
            }
            for c in comparison.candidates
        ],
    }
