"""What a plan says in the terminal: the coordinates, the tools, the findings. Plain columns, no markup."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.lengths import length_text
from holecam.output.finding_groups import alike, told
from holecam.output.plain_words import plain
from holecam.output.readings import Reading, reading
from holecam.plan.finding import Finding
from holecam.plan.plan import Plan

MOST_ROWS = 60
"""Rows of holes printed; the files hold all of them."""


def columns(heads: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[bool]) -> list[str]:
    """Return lines of aligned columns under their heads, a rule between them."""
    widths = [max(len(head), *(len(row[k]) for row in rows)) if rows else len(head) for k, head in enumerate(heads)]

    def line(cells: Sequence[str]) -> str:
        placed = (c.rjust(w) if r else c.ljust(w) for c, w, r in zip(cells, widths, right, strict=True))
        return "  ".join(placed).rstrip()

    return [line(heads), line(["-" * w for w in widths]), *(line(row) for row in rows)]


def plan_table(plan: Plan) -> str:
    """Return the holes and tools of a plan as text for the terminal."""
    unit = plan.machine.readout.unit
    rows = []
    before: tuple[Reading, Reading] | None = None
    for hole in plan.holes[:MOST_ROWS]:
        x, y = (reading(plan, v) for v in hole.xy_machine)
        step = ("", "")
        if before is not None:
            moves = (x.count - before[0].count, y.count - before[1].count)
            step = (Reading(moves[0], x.resolution, unit).text(), Reading(moves[1], y.resolution, unit).text())
        before = (x, y)
        mark = "withheld" if hole.withheld else plain(hole.purpose)
        rows.append(
            [str(hole.number), f"{plain(hole.pattern)} {hole.number_in_pattern}", x.text(), y.text(), *step, mark]
        )
    heads = ["hole", "pattern", f"X {unit}", f"Y {unit}", "step X", "step Y", "what"]
    lines = [plain(plan.title), ""]
    if plan.setup.skewed:
        lines += ["Positions are readings: the part is not square to the table.", ""]
    if rows:
        lines += columns(heads, rows, right=[True, False, True, True, True, True, False])
    if len(plan.holes) > MOST_ROWS:
        lines.append(f"... and {len(plan.holes) - MOST_ROWS} more; see coordinates.csv")
    if plan.tools:
        lines += ["", "Tools: " + "; ".join(f"T{t.number} {plain(t.name)}" for t in plan.tools)]
    for place in plan.places:
        lines += ["", *(f"{plain(place.pattern)}: {plain(w)}" for w in place.words)]
    for mate in plan.mates:
        verdict = "goes together" if mate.goes_together else "DOES NOT GO TOGETHER"
        left = length_text(mate.play_left, plan.unit)
        lines += ["", f"Bolt-up of {plain(mate.pattern)}: {verdict}; play left {left}"]
        lines += [f"  {plain(a.words)}" for a in mate.advice]
    return "\n".join(lines) + "\n"


def findings_text(findings: Sequence[Finding]) -> str:
    """Return the findings, the worst first, each with its limit and remedy; those that say the same are told once."""
    lines = [f"{group[0].severity} {group[0].code}: {told(group)}" for group in alike(findings)]
    return "\n".join(lines) + ("\n" if lines else "")
