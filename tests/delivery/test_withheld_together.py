"""A program that rests on another one is not handed out when that one is withheld."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

import holecam
from holecam.plan.finding import Severity
from holecam.program import checking
from holecam.program.program_findings import ProgramFinding

HEAD = """\
title = "Invented: a pocket in two steps"
unit = "mm"
[machine]
kind = "cnc"
spindle = { slowest = 100, fastest = 5000 }
[tools]
end_mills = [{ name = "large", diameter = 10, flutes = 3 }, { name = "small", diameter = 3, flutes = 2 }]
[part]
material = "brass"
thickness = 12
outline = { rectangle = [100, 60] }
[[pocket]]
name = "pk"
cutter = "large"
rectangle = [40, 30]
at = [20, 15]
depth = 2
"""


@pytest.mark.parametrize("more", ['second_cutter = "small"\n', "sneak = { undersize = 0.4, steps = 2 }\n"])
def test_what_rests_on_a_withheld_program_is_withheld_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: str
) -> None:
    """A second cutter, or one that only cleans the walls, would meet the whole metal."""
    job = tmp_path / "job.toml"
    job.write_text(HEAD + more, encoding="utf-8")
    whole = holecam.plan_job(holecam.read_job(job))
    names = list(whole.program_texts)
    assert len(names) >= 2
    check = checking.check_program

    def check_and_refuse_the_first(text: str, program: Any, dialect: Any) -> Any:
        result = check(text, program, dialect)
        if program.name != names[0]:
            return result
        stop = ProgramFinding(code="in-keep-out", severity=Severity.STOP, line=1, message="put there by the test")
        return replace(result, findings=(*result.findings, stop))

    monkeypatch.setattr(checking, "check_program", check_and_refuse_the_first)
    planned = holecam.plan_job(holecam.read_job(job))
    assert planned.program_texts == {}
    operations = [operation for operation in planned.plan.operations if operation.cut]
    assert all(operation.withheld for operation in operations)
    assert operations[-1].withheld == f"it rests on {names[0]}, which is withheld"
