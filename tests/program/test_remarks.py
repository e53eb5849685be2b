"""Text from a job cannot change a program: whatever it holds, only remarks differ."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec.structs import replace
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
    tool = replace(SPOT, name=text)
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
    assert remark_lines("NOTE", "") == ("NOTE",)


def test_a_text_is_kept_to_twelve_hundred_characters() -> None:
    for length in (1199, 1200, 1201, 3000):
        assert plain_text("x" * length) == "x" * min(length, 1200)
    assert plain_text(" x" * 700) == ("x " * 600)[:1200]


def test_what_would_break_a_line_is_a_blank() -> None:
    assert plain_text("a\x00b\x0bc\x1bd\u2028e\u2029f\x85g\xa0h\ti\r\nj") == "a b c d e f g h i j"
    assert plain_text("~!\x7f\u00ff\u4e00") == "~! y?"
    assert plain_text("a\u00bd 2\u00bd \u00bd 10\u00bc") == "a1/2 2 1/2 1/2 10 1/4"


def test_lines_of_a_remark_are_as_long_as_the_display_shows() -> None:
    """72 characters with the label; the lines after it begin with three points. Words of one letter fill them."""
    text = "x " * 200
    for label, first in (("JOB", 72), ("PROGRAM", 72), ("NO", 71)):
        lines = remark_lines(label, text)
        assert max(len(line) for line in lines) <= 72
        assert len(lines[0]) in (first, first - 1)
        assert lines[0].startswith(f"{label} - x x")
        assert all(line.startswith("... x") for line in lines[1:])
        assert "".join(lines).count("x") == 200
    assert remark_lines("JOB", "") == ("JOB",)
    assert remark_lines("JOB", "a - ") == ("JOB - a",)
    width = 72 - 7 - 3
    assert remark_lines("PROGRAM", "y" * width) == ("PROGRAM - " + "y" * width,)
    assert remark_lines("PROGRAM", "y" * (width + 1)) == ("PROGRAM - " + "y" * width, "... y")
    assert remark_lines("NO", "y" * 67) == ("NO - " + "y" * 66, "... y")


@given(st.text(alphabet=st.characters(min_codepoint=1, max_codepoint=126), max_size=60))
def test_plain_ascii_is_treated_as_any_text_is(text: str) -> None:
    """One character outside ASCII takes the longer way; what it becomes stands at the end."""
    alone, beside = plain_text(text), plain_text(f"{text} \N{DEGREE SIGN}")
    assert beside == f"{alone} deg".strip()
