"""Damage a program in every way of the list, and hold the check's verdict against the small model's.

Run: python tests/program/damage_run.py prints the table of the page docs/damage-table.md.
"""

from __future__ import annotations

import math
import sys
from collections import Counter
from dataclasses import dataclass

from damage import damaged
from program_plans import ALL_PLANS
from small_model import SPACING, BrokenError, Limits, Mill, Trace, broken_limit, same_work

from holecam.plan.motions import Dialect, ProgramPlan
from holecam.program import check_program, write_program

DIALECTS = {
    "mm": Dialect(),
    "inch": Dialect(unit="in"),
    "long-hand, lines": Dialect(cycles="long-hand", arcs="lines", chord_tolerance=0.05),
}

EVERY = {"mm": 1, "inch": 3, "long-hand, lines": 11}
"""Every damage in millimetres; each third and eleventh in the other dialects, whose lines are of the same kinds."""


@dataclass(frozen=True)
class Verdict:
    """One damaged program: what was done to it, what the model and the check say."""

    kind: str
    line: int
    before: str
    after: str
    harm: str
    codes: tuple[str, ...]
    caught: bool

    @property
    def agreed(self) -> bool:
        """The check catches exactly what the model calls harmful."""
        return bool(self.harm) == self.caught


def limits_of(plan: ProgramPlan) -> Limits:
    """Return the plan's limits as the model knows them: boxes."""
    held = plan.limits
    axes = [a for a in "xyz" if getattr(held.travel, a)]
    spans = [a for a in "xyz" if getattr(held.travel, f"{a}_length")]
    slopes = {
        t.number: 0.0 if t.point_angle_deg is None else 1 / math.tan(math.radians(t.point_angle_deg / 2))
        for t in plan.tools
    }
    return Limits(
        {a: getattr(held.travel, a) for a in axes},
        {a: getattr(held.travel, f"{a}_length") for a in spans},
        [(f.outline.bounds if f.outline else None, f.z) for f in held.hard_floors],
        [(k.outline.bounds, k.top_z) for k in held.keep_outs if k.top_z is not None],
        {t.number: (t.diameter / 2, slopes[t.number]) for t in plan.tools},
        {t.number: t.flute_length for t in plan.tools if t.flute_length is not None},
        held.spindle_rpm or (0.0, 1e9),
    )


def run_damage(plan: ProgramPlan, dialect: Dialect, *, every: int = 1) -> list[Verdict]:
    """Return the verdicts on every (or each n-th) damaged form of a plan's program."""
    text = write_program(plan, dialect)
    drills = {t.number for t in plan.tools if t.kind.makes_holes_only}
    limits = limits_of(plan)

    # Leaving out one chord moves the path by four times the chord tolerance at most: the samples must be closer
    spacing = SPACING if dialect.arcs == "arcs" else dialect.chord_tolerance / 2

    def trace(program: str) -> Trace:
        return Mill(plan.safe_height, plan.limits.stock.top_z, drills, spacing).run(program)

    sound = trace(text)
    assert not same_work(sound, sound, spacing)
    assert not broken_limit(sound, limits)
    lines = text.split("\n")
    verdicts = []
    seen = {text}
    for number, (kind, line, bad) in enumerate(damaged(text)):
        if bad in seen or number % every:
            continue
        seen.add(bad)
        try:
            result = trace(bad)
            harm = same_work(sound, result, spacing) or broken_limit(result, limits)
        except BrokenError as broken:
            harm = str(broken)
        checked = check_program(bad, plan, dialect)
        codes = tuple(dict.fromkeys(f.code for f in checked.findings))
        after = bad.split("\n")[line - 1]
        verdicts.append(Verdict(kind, line, lines[line - 1], after, harm, codes, not checked.clean))
    return verdicts


def table(verdicts: list[Verdict]) -> str:
    """Return the damage table: for each kind how many were tried, harmful and caught, harmless and told as such."""
    kinds = dict.fromkeys(sorted(v.kind for v in verdicts))
    count = Counter((v.kind, bool(v.harm), v.caught) for v in verdicts)
    rows = [
        "| damage | tried | harmful, caught | harmful, missed | harmless, passed | harmless, stopped |",
        "|---|---:|---:|---:|---:|---:|",
    ]
    total = [0, 0, 0, 0]
    for kind in kinds:
        cells = [count[kind, True, True], count[kind, True, False], count[kind, False, False], count[kind, False, True]]
        total = [a + b for a, b in zip(total, cells, strict=True)]
        rows.append(f"| {kind} | {sum(cells)} | " + " | ".join(str(c) for c in cells) + " |")
    rows.append(f"| **all** | {sum(total)} | " + " | ".join(str(c) for c in total) + " |")
    return "\n".join(rows)


def all_verdicts() -> list[Verdict]:
    """Return the verdicts on all sample programs in all dialects that the table covers."""
    found = []
    for make in ALL_PLANS.values():
        for name, dialect in DIALECTS.items():
            found += run_damage(make(), dialect, every=EVERY[name])
    return found


if __name__ == "__main__":
    verdicts = all_verdicts()
    print(table(verdicts))
    for verdict in verdicts:
        if not verdict.agreed:
            print("disagreed:", verdict, file=sys.stderr)
