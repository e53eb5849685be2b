"""Text from a job cannot change a program: whatever it holds, only remarks differ."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from program_plans import MILL, SPOT

from holecam.plan.motions import (
    Dialect,
    DrillCycle,
    Feed,
    ProgramPlan,
    Rapid,
    Remark,
    SpindleOn,
    Stop,
    ToolChange,
)
from holecam.program import read_program, write_program
from holecam.program.remarks import LONGEST_REMARK, plain_text, remark_lines

HOSTILE = st.one_of(
    st.text(max_size=200),
    st.text(alphabet="()%;/:\r\n\t\x00\x1a GMXYZ0123456789.,#[]\u2028\u037e", max_size=120),
)


def program_with(text: str, dialect: Dialect) -> str:
    tool = dataclasses.replace(SPOT, name=text)
    plan = ProgramPlan(
        text,
        (tool, MILL),
        (
            ToolChange(1),
            SpindleOn(900),
            Remark(text),
            DrillCycle(1, 5, 5, 2, -1, 60),
            Stop(text),
            ToolChange(3),
            SpindleOn(900),
            Rapid(1, 1),
            Rapid(z=1),
            Feed(50, z=-1),
        ),
        10.0,
        title=(text, text),
        zero=text,
        cautions=(text,),
    )
    return write_program(plan, dialect)


def commands(program: str) -> list[str]:
    return [line for line in program.split("\n") if not line.startswith(("(", ";"))]


DIALECTS = [Dialect(), Dialect(comments="semicolon", tool_change="stop"), Dialect(comments="none")]


@given(HOSTILE, st.sampled_from(DIALECTS))
@example("x) M3 S9000 (y", DIALECTS[0])
@example("x\nM3 S9000\n", DIALECTS[1])
@example("MSG, M3", DIALECTS[0])
@example("\"quoted\" 'single' \\ `tick`", DIALECTS[0])
def test_a_text_of_the_job_changes_only_remarks(text: str, dialect: Dialect) -> None:
    with_text, without = program_with(text, dialect), program_with("plain", dialect)
    assert commands(with_text) == commands(without)
    for line in with_text.split("\n"):
        assert line.isascii()
        assert line.isprintable() or line == ""
        if line.startswith("("):
            assert line.endswith(")")
            assert line.count("(") == line.count(")") == 1
            assert len(line) <= LONGEST_REMARK + 2
        assert not re.match(r"[(;]\s*(MSG|DEBUG|PRINT|LOG|PROBE|PY)", line, re.IGNORECASE), "words that controls act on"
    ours, theirs = read_program(with_text, dialect), read_program(without, dialect)
    assert ours.refused == ()
    assert np.array_equal(ours.moves.end, theirs.moves.end, equal_nan=True)
    assert ours.ended_at > 0


@given(HOSTILE)
def test_plain_text_is_plain(text: str) -> None:
    plain = plain_text(text)
    assert re.fullmatch(r"[ -~]*", plain)
    assert not set(plain) & set("();%")
    assert plain == plain_text(plain) or "pct" in plain


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("x) M3 S9000 (y", "x] M3 S9000 [y"),
        ("⌀ 4.5 ±0.1", "dia 4.5 +-0.1"),
        ("1½ in", "1 1/2 in"),
        ("Löcher bohren, 90°", "Locher bohren, 90 deg"),
        ("⑴ ％ ；", "[1] pct ,"),
        ("日本", "??"),
    ],
)
def test_signs_are_spelt_out(text: str, plain: str) -> None:
    assert plain_text(text) == plain


def test_long_texts_are_wrapped_under_a_label() -> None:
    lines = remark_lines("STOP", "measure " * 40)
    assert len(lines) > 3
    assert lines[0].startswith("STOP - measure")
    assert all(line.startswith("... ") for line in lines[1:])
    assert all(len(line) <= LONGEST_REMARK for line in lines)
    assert remark_lines("NOTE", "") == ["NOTE"]
