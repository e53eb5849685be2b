"""Every single-word damage that changes the work is caught, and what changes nothing is told as such.

The expected verdict comes from the small model beside this file, which shares no code with the package.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from damage_run import DIALECTS, Verdict, all_verdicts, run_damage, table
from program_plans import ALL_PLANS, drilling_plan

PAGE = Path(__file__).parents[2] / "docs" / "damage-table.md"


def told(verdicts: list[Verdict]) -> list[str]:
    return [
        f"{v.kind}: {v.before!r} -> {v.after!r}: model {v.harm!r}, check {v.codes}" for v in verdicts if not v.agreed
    ]


def test_every_damage_to_a_short_drilling_program() -> None:
    verdicts = run_damage(drilling_plan(2), DIALECTS["mm"])
    assert len(verdicts) > 200
    assert told(verdicts) == []
    assert sum(v.caught for v in verdicts) > 120, "the model must call most of them harmful"


@pytest.mark.parametrize("name", ["pocket", "helix"])
def test_some_damage_to_milling_programs(name: str) -> None:
    verdicts = run_damage(ALL_PLANS[name](), DIALECTS["mm"], every=9)
    assert len(verdicts) > 40
    assert told(verdicts) == []


def test_damage_to_an_inch_program() -> None:
    verdicts = run_damage(drilling_plan(2), DIALECTS["inch"], every=3)
    assert len(verdicts) > 60
    assert told(verdicts) == []


@pytest.mark.slow
def test_the_table_in_the_docs_is_what_the_damage_gives() -> None:
    verdicts = all_verdicts()
    assert told(verdicts) == []
    assert table(verdicts) in PAGE.read_text(encoding="utf-8")
