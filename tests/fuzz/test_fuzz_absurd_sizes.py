"""Input of absurd size is served or refused in clear words, soon, and in little memory."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from guard import broken_rule
from targets import run_command

HEAD = """\
title = "absurd"
unit = "mm"
machine = { kind = "cnc", readout = 0.005, safe_height = 10, spindle = { slowest = 100, fastest = 6000 } }
tools = { drills = ["metric"], end_mills = [6] }
part = { material = "brass", thickness = 10, outline = { rectangle = [400, 300] } }
"""
POCKET = """\
[[pocket]]
name = "k"
rectangle = [300, 200]
at = [50, 50]
depth = 5
cutter = "6 end mill"
cutting = { STEP }
STRATEGY
"""
STEP_DOWN = """\
[[step_down]]
name = "s"
layers = [
  { is = "brass bar", thick = 5, within = 0.02 },
  { is = "soft solder", thick = 0.1, within = 0.05 },
  { is = "brass sheet", thick = 0.6, keep = true },
]
touch = { on = "brass bar", with = "paper" }
MORE
"""
HOLES = '[[pattern]]\nname = "p"\nMANY\ndrill = "3 mm"\nplace = { at = [5, 5] }\n'


def _pocket(step: str, strategy: str = "") -> str:
    return HEAD + POCKET.replace("STEP", step).replace("STRATEGY", strategy)


def _step_down(more: str) -> str:
    return HEAD + STEP_DOWN.replace("MORE", more)


JOBS = {
    "a million holes": (HEAD + HOLES.replace("MANY", "line = { count = 1000000, pitch = 0.3 }"), "at most 10000"),
    "a grid of 10^9": (HEAD + HOLES.replace("MANY", "grid = { columns = 1000000, rows = 1000, pitch = 1 }"), "at most"),
    "10^8 loops": (_pocket("step_over = 0.0001"), "rub rather than cut"),
    "10^8 rows": (_pocket("step_over = 0.0001", 'strategy = "to and fro"'), "rub rather than cut"),
    "a million step-downs": (_pocket("step_depth = 0.00001"), "would take 500000 passes"),
    "many heights of many loops": (_pocket("step_depth = 0.005"), "lines and arcs at each of 1000 heights"),
    "10^8 strokes": (
        _step_down('step_over = 0.0001\nregion = { rectangle = [100, 50] }\ncutter = "6 end mill"'),
        "rub rather than cut",
    ),
    "a million passes": (_step_down("rough_step = 0.00001"), "expected at least the first of the last passes"),
    "a tail of thousands": (_step_down(f"tail = [{', '.join(['0.001'] * 5000)}]"), "at most 50 values"),
}


@pytest.mark.parametrize("words", sorted(JOBS))
def test_absurd_jobs_are_refused_soon(words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, expected = JOBS[words]
    (tmp_path / "job.toml").write_text(text)
    assert _refused(["check", str(tmp_path / "job.toml")]) == ""
    with pytest.raises(ValueError, match=expected):
        _plan(tmp_path / "job.toml")


def _plan(path: Path) -> None:
    from holecam.delivery.plan_folder import plan_file

    plan_file(path)


def _refused(words: list[str]) -> str:
    def case(_data: bytes) -> None:
        assert run_command(words) == 2

    return broken_rule(case, b"")


@pytest.mark.parametrize(
    "words",
    [
        ["line", "--count", "1000000", "--pitch", "0.01", "--json"],
        ["grid", "--columns", "100000", "--rows", "100000", "--pitch", "1", "--json"],
        ["circle", "--count", "1000000000", "--diameter", "50", "--json"],
    ],
)
def test_absurd_sheets_are_refused_soon(words: list[str]) -> None:
    assert _refused(words) == ""


def _sparse(size: int) -> Callable[[Path], None]:
    def make(path: Path) -> None:
        with path.open("wb") as file:
            file.truncate(size)

    return make


def test_a_drawing_of_500_megabytes_is_refused_with_a_way_out(tmp_path: Path) -> None:
    _sparse(500_000_000)(tmp_path / "d.dxf")
    (tmp_path / "job.toml").write_text(HEAD + HOLES.replace("MANY", 'drawing = { file = "d.dxf" }'))
    with pytest.raises(ValueError, match=r"at most 6 MB.*Save the layer that is needed by itself"):
        _plan(tmp_path / "job.toml")


@pytest.mark.parametrize("begin", ["G1 X", "(", "G1 ", "N"])
def test_a_line_of_100_megabytes_is_refused_soon(begin: str, tmp_path: Path) -> None:
    from holecam.program import verify_text

    def case(_data: bytes) -> None:
        result = verify_text(begin + "1 " * 50_000_000)
        assert [f.code for f in result.findings if f.code == "not-read"]
        assert all(len(f.text()) < 2000 for f in result.findings)

    assert broken_rule(case, b"") == ""
