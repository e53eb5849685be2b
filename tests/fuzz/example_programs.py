"""The programs of the examples and their plans, made once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from holecam.delivery.plan_folder import plan_file
from holecam.plan.dialect import Dialect
from holecam.plan.motions import ProgramPlan

EXAMPLES = Path(__file__).parents[2] / "examples"
LONGEST = 20_000
"""Characters. Longer programs are left out: damage is as well tried on short ones."""


@cache
def example_programs() -> tuple[tuple[ProgramPlan, Dialect, str], ...]:
    """Return (plan, dialect, text) of every short program of the lantern hood."""
    planned = plan_file(EXAMPLES / "lantern-hood" / "job.toml")
    return tuple(
        (program, plan.dialect, texts[program.name])
        for plan, texts in zip(planned.plans, planned.programs, strict=True)
        for program in plan.programs
        if len(texts[program.name]) <= LONGEST
    )
