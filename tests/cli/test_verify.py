"""``holecam verify`` as its user meets it: alone, with a job, against the plan; text, JSON, exit codes."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from holecam.cli.main import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "lantern-hood"

SOUND = "G21 G90\nT1 M6\nG0 Z12\nG0 X5 Y5\nS900 M3\nG98 G81 X5 Y5 Z-3 R1 F60\nG80\nM5\nM30\n"


@dataclass(frozen=True)
class Done:
    """What a call left: exit code, standard output, standard error."""

    returncode: int
    stdout: str
    stderr: str


def holecam(*arguments: object) -> Done:
    """Call the command line within this process: the same way in, without starting Python each time."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    before = sys.argv
    sys.argv = ["holecam", *(str(a) for a in arguments)]
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    finally:
        sys.argv = before
    return Done(code, out.getvalue(), err.getvalue())


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the lantern hood's programs."""
    folder = tmp_path_factory.mktemp("hood")
    shutil.copytree(EXAMPLE, folder / "job")
    done = holecam("plan", folder / "job" / "job.toml", "--out", folder / "out")
    assert done.returncode == 0, done.stderr
    return folder


def first_drill(folder: Path) -> Path:
    return next(p for p in sorted((folder / "out").glob("*.nc")) if "drill" in p.name)


def test_a_program_alone(tmp_path: Path) -> None:
    path = tmp_path / "hand.nc"
    path.write_text(SOUND)
    done = holecam("verify", path, "--safe-height", "10 mm")
    assert done.returncode == 0, done.stdout
    assert "hand.nc: passed (0 stops, 1 caution, 0 notes)" in done.stdout
    assert "box       X +5.000 to +5.000, Y +5.000 to +5.000, Z -3.000 to +12.000 mm" in done.stdout
    assert "deepest   X+5.000 Y+5.000 Z-3.000 mm, line 6" in done.stdout
    assert "at feed   4.000 mm, 4 s" in done.stdout
    assert "caution tool-unknown, line 2: tool T1 is not described" in done.stdout
    assert "hand on the stop" in done.stdout


def test_limits_on_the_command_line(tmp_path: Path) -> None:
    path = tmp_path / "hand.nc"
    path.write_text(SOUND)
    done = holecam("verify", path, "--floor", "-2.5 mm", "--safe-height", "1/2 in")
    assert done.returncode == 1
    assert "stop below-hard-floor, line 6" in done.stdout
    assert "Rule: as stated." in done.stdout
    assert "stop sideways-rapid-low, line 4" in done.stdout
    inch = holecam("verify", path, "--unit", "in", "--safe-height", "10 mm")
    assert "deepest   X+0.1969 Y+0.1969 Z-0.1181 in, line 6" in inch.stdout


def test_json_has_lengths_in_mm(tmp_path: Path) -> None:
    path = tmp_path / "hand.nc"
    path.write_text(SOUND.replace("G98 G81", "G28\nG98 G81"))
    done = holecam("verify", path, "--json")
    assert done.returncode == 1
    facts = json.loads(done.stdout)
    assert facts["passed"] is False
    assert facts["account"]["greatest_mm"] == [5.0, 5.0, 12.0]
    finding = next(f for f in facts["findings"] if f["code"] == "not-read")
    assert finding["line"] == 6
    assert "G28 is refused" in finding["message"]


def test_the_dialect_on_the_command_line(tmp_path: Path) -> None:
    path = tmp_path / "hand.nc"
    path.write_text(SOUND.replace("T1 M6\n", "T1 ; the spot drill\nM0\n"))
    assert "a semicolon: some controls" in holecam("verify", path, "--safe-height", "10 mm").stdout
    done = holecam("verify", path, "--safe-height", "10 mm", "--remarks", "semicolon", "--tool-change", "stop")
    assert done.returncode == 0, done.stdout
    assert "T1: 4.000 mm at feed" in done.stdout


def test_with_a_job_and_against_its_plan(planned: Path) -> None:
    program, job = first_drill(planned), planned / "job" / "job.toml"
    for options in ((), ("--against-plan",)):
        done = holecam("verify", program, "--job", job, *options)
        assert done.returncode == 0, done.stdout
        assert "passed (0 stops, 0 cautions, 0 notes)" in done.stdout
    text = program.read_text()
    row = next(line for line in text.split("\n") if line.startswith(("G98 G81", "G98 G83", "G0 X")))
    edited = planned / "edited.nc"
    edited.write_text(text.replace(row, row.replace("Y-", "Y-1"), 1))
    plain = holecam("verify", edited, "--job", job, "--as", program.name)
    assert plain.returncode == 0, "inside every limit"
    against = holecam("verify", edited, "--job", job, "--as", program.name, "--against-plan")
    assert against.returncode == 1
    assert "hole-" in against.stdout


def test_a_job_that_changed_is_told(planned: Path) -> None:
    program = first_drill(planned)
    job = planned / "job" / "changed.toml"
    text = (planned / "job" / "job.toml").read_text()
    job.write_text(text + "\n# a later thought\n")
    assert "other-job" not in holecam("verify", program, "--job", job, "--against-plan").stdout, "a remark alone"
    assert 'revision = "B"' in text
    job.write_text(text.replace('revision = "B"', 'revision = "C"'))
    done = holecam("verify", program, "--job", job, "--against-plan")
    assert done.returncode == 0
    assert "caution other-job" in done.stdout


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--against-plan",), "--against-plan needs the job: give it with --job"),
        (("--as", "x.nc"), "--as needs the job"),
        (("--safe-height", "12"), 'A bare number has no unit here; write "12 mm" or "12 in".'),
        (("--floor", "deep"), "expected a length such as"),
    ],
)
def test_wrong_options(tmp_path: Path, options: tuple[str, ...], message: str) -> None:
    path = tmp_path / "hand.nc"
    path.write_text(SOUND)
    done = holecam("verify", path, *options)
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr


def test_wrong_files(planned: Path) -> None:
    missing = holecam("verify", planned / "none.nc")
    assert missing.returncode == 2
    assert "expected a program file, found no such file" in missing.stderr
    job = planned / "job" / "job.toml"
    renamed = planned / "mine.nc"
    renamed.write_text(SOUND)
    unknown = holecam("verify", renamed, "--job", job)
    assert unknown.returncode == 2
    assert '"mine.nc" is not among the programs of' in unknown.stderr
    assert "--as" in unknown.stderr
    both = holecam("verify", first_drill(planned), "--job", job, "--floor", "-1 mm")
    assert "--floor: with --job this comes from the job" in both.stderr
    folder = holecam("verify", planned)
    assert folder.returncode == 2
    binary = planned / "binary.nc"
    binary.write_bytes(bytes(range(256)))
    done = holecam("verify", binary)
    assert done.returncode == 1
    assert "not-read" in done.stdout
    assert "Traceback" not in done.stderr
