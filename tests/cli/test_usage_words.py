"""A command line that cannot be understood: one message in plain words, with what to write."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from test_lookups import run


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Any:
    def ask(*words: str) -> str:
        code, out, err = run(capsys, monkeypatch, *words)
        assert (code, out) == (2, "")
        for inner in ("Traceback", "valid int", "valid float", "Possible options", "None"):
            assert inner not in err
        return err

    return ask


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("line --count six --pitch 5", "'six': expected a whole number."),
        ("line --count 4,0 --pitch 5", "'4,0': expected a whole number."),
        ("tap M4 --percent 65%", "'65%': expected a number. Write 65."),
        ("tap 6-32 UNC", 'Words that belong together stand in quotes: "6-32 UNC"'),
        ("drill 15/64 in", 'Words that belong together stand in quotes: "15/64 in"'),
        ("circle --count 6 --diameter 60 --centre 10 20", "A point is written with a comma and no blank: 10,20"),
        ("circle --count 6 --radius 30", "No such option: --radius. Give the diameter, twice the radius"),
        ("line --count 6 --spacing 30", "No such option: --spacing. The distance from hole to hole is --pitch."),
        ("plan job.toml --output x", "No such option: --output. The folder is named with --out."),
        ("check job.toml --units in", "Did you mean --unit?"),
        ("check job.toml -unit in", "Write --unit with two dashes."),
        ("clearance M4 --fit close", "No such option: --fit. There are --"),
        ("check job.toml --unit cm", "'cm'; expected in or mm"),
        ("chek job.toml", "No such command 'chek'. Did you mean \"check\"?"),
        ("job.toml", "To plan a job: holecam plan job.toml"),
        ("help", "Write holecam --help."),
        ("frobnicate", "There are plan, check, "),
        ("grid --columns 2 --rows 2 --pitch 25,20", "write --column-pitch 25 --row-pitch 20"),
        ("line --count 3 --pitch 10 --dial-lead 0.1", "from 0.250 mm to 50.000 mm; for inches write --unit in"),
        ("drill 1/4-20", "This reads like a thread; here a size is wanted."),
    ],
)
def test_it_says_what_to_write(refused: Any, words: str, message: str) -> None:
    assert message in refused(*words.split())


@pytest.mark.parametrize("unit", ["inch", "IN", "inches"])
def test_an_inch_is_an_inch(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, unit: str) -> None:
    def sheet(word: str) -> str:
        code, out, err = run(capsys, monkeypatch, "circle", "--count", "3", "--diameter", "3-1/2", "--unit", word)
        assert (code, err) == (0, "")
        return out

    assert sheet(unit) == sheet("in")


def test_the_unit_of_a_job_is_taken_by_its_names(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    job = str(Path(__file__).parents[2] / "examples" / "signal-pair" / "job.toml")
    shown = [run(capsys, monkeypatch, "check", job, "--unit", word) for word in ("in", "inch", "Inches")]
    assert shown[0] == shown[1] == shown[2]
    assert shown[0][0] == 0
    assert " in " in shown[0][1]


@pytest.mark.parametrize(
    ("layers", "message"),
    [
        (["soft solder:0.004", "brass:3/16"], 'layer "soft solder": expected the bar above what holds it'),
        (["brass:3/16", "soft solder:4"], "expected at most 5.000 mm"),
    ],
)
def test_a_stack_that_cannot_be(refused: Any, layers: list[str], message: str) -> None:
    words = [word for layer in layers for word in ("--layer", layer)]
    keep = ["--keep", "copper:0.025", "--touch", "paper", "--unit", "in"]
    assert message in refused("stepdown", *words, *keep)


def test_inches_without_their_unit_are_not_taken_for_foil(refused: Any) -> None:
    words = ["--layer", "brass:0.1875", "--keep", "copper:0.025", "--touch", "paper"]
    assert "expected a sheet of at least 0.050 mm (0.0020 in). Look at the unit" in refused("stepdown", *words)


def test_a_folder_that_is_a_file_is_named_as_such(refused: Any, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    assert "A file stands where a folder is needed" in refused("new", str(tmp_path / "taken"))
