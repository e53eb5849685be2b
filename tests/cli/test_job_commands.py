"""plan, check, compare and error as their user calls them: exit codes, messages, files, JSON."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"

PLATE = """\
title = "plate"
unit = "mm"
[machine]
kind = "cnc"
[part]
material = "mild steel"
thickness = 6
outline = { rectangle = [100, 50] }
[[pattern]]
name = "row"
points = [[20, 25], [40, 25], [60, 25]]
drill = "5 mm"
"""

BLOCKED = PLATE + "[[old_holes]]\npoints = [[42, 25]]\ndiameter = 5\n"


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "holecam", *words], capture_output=True, text=True, timeout=120, check=False
    )


def job_file(folder: Path, text: str) -> str:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_plan_writes_sheet_coordinates_plan_and_programs(tmp_path: Path) -> None:
    done = run("plan", job_file(tmp_path, PLATE), "--out", str(tmp_path / "out"))
    assert done.returncode == 0, done.stderr
    names = {p.name for p in (tmp_path / "out").iterdir() if not p.name.startswith(".")}
    assert {"sheet.txt", "coordinates.csv", "plan.json", "02-spot.nc", "04-drill.nc"} <= names
    assert "M30" in (tmp_path / "out" / "04-drill.nc").read_text()


def test_plan_without_out_writes_beside_the_job(tmp_path: Path) -> None:
    assert run("plan", job_file(tmp_path, PLATE)).returncode == 0
    assert (tmp_path / "job-out" / "sheet.txt").is_file()


def test_a_stop_exits_1_and_leaves_no_program_of_the_last_run(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run("plan", job_file(tmp_path, PLATE), "--out", str(out)).returncode == 0
    assert (out / "04-drill.nc").is_file()
    done = run("plan", job_file(tmp_path, BLOCKED), "--out", str(out))
    assert done.returncode == 1
    assert "stop" in done.stdout
    assert "withheld" in done.stdout
    assert not list(out.glob("*.nc"))
    assert (out / "coordinates.csv").read_text().count("withheld") == 3


def test_check_writes_nothing(tmp_path: Path) -> None:
    done = run("check", job_file(tmp_path, BLOCKED))
    assert done.returncode == 1
    assert "stop centre-in-open-hole: hole 2" in done.stdout
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_a_wrong_job_exits_2_with_place_and_way_out(tmp_path: Path) -> None:
    done = run("plan", job_file(tmp_path, PLATE.replace('"5 mm"', '"4,5 mm"')))
    assert done.returncode == 2
    assert "job.toml:12" in done.stderr
    assert "4.5 mm" in done.stderr
    assert "Traceback" not in done.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_a_missing_job_exits_2() -> None:
    done = run("plan", "no-such-job.toml")
    assert done.returncode == 2
    assert "no-such-job.toml" in done.stderr


def test_json_has_lengths_in_mm(tmp_path: Path) -> None:
    done = run("plan", job_file(tmp_path, PLATE), "--out", str(tmp_path / "out"), "--json")
    (plan,) = json.loads(done.stdout)["plans"]
    assert [(h["x_mm"], h["y_mm"]) for h in plan["holes"]] == [(20, 25), (40, 25), (60, 25)]
    assert json.loads((tmp_path / "out" / "plan.json").read_text()) == plan


def test_the_unit_of_the_papers_can_be_changed(tmp_path: Path) -> None:
    run("plan", job_file(tmp_path, PLATE), "--out", str(tmp_path / "out"), "--unit", "in")
    sheet = (tmp_path / "out" / "sheet.txt").read_text()
    assert "INCHES" in sheet
    assert "+0.7875" in sheet  # 20 mm is 0.7874 in; the readout steps by 0.0005
    assert "G21" in (tmp_path / "out" / "04-drill.nc").read_text(), "programs keep the unit of the job"


def test_an_edited_program_is_kept(tmp_path: Path) -> None:
    job, out = job_file(tmp_path, PLATE), tmp_path / "out"
    run("plan", job, "--out", str(out))
    (out / "04-drill.nc").write_text("by hand")
    done = run("plan", job, "--out", str(out))
    assert "04-drill.nc had been edited by hand; the edited one is kept as 04-drill.edited-1.nc" in done.stdout
    assert (out / "04-drill.edited-1.nc").read_text() == "by hand"


def test_compare_names_the_best_place_and_its_rule() -> None:
    done = run("compare", str(EXAMPLES / "lantern-hood" / "job.toml"), "--json")
    assert done.returncode == 0, done.stderr
    (comparison,) = json.loads(done.stdout)["comparisons"]
    names = [c["name"] for c in comparison["candidates"]]
    assert names[:2] == ["wanted", "planned"]
    assert comparison["best"] == "planned"
    by_name = {c["name"]: c for c in comparison["candidates"]}
    assert by_name["wanted"]["stops"] == 1
    assert by_name["planned"]["stops"] == 0


def test_compare_without_candidates_is_refused(tmp_path: Path) -> None:
    done = run("compare", job_file(tmp_path, PLATE))
    assert done.returncode == 2
    assert "candidate" in done.stderr


def test_error_names_the_section_that_carries_it() -> None:
    done = run("error", str(EXAMPLES / "lantern-hood" / "job.toml"), "--json")
    assert done.returncode == 0, done.stderr
    (chain,) = json.loads(done.stdout)["chains"]
    assert [s["name"] for s in chain["sections"] if s["carries_the_error"]] == ["heel"]
    assert chain["shift_mm"] == pytest.approx([5.334, 0.0], abs=1e-6)


def test_a_mistake_of_the_program_is_told_as_such(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from holecam.cli import main

    def broken(**options: bool) -> None:
        raise ZeroDivisionError("in the middle")

    monkeypatch.delenv("HOLECAM_TRACEBACK", raising=False)
    monkeypatch.setattr(main, "app", broken)
    with pytest.raises(SystemExit) as stopped:
        main.main()
    assert stopped.value.code == main.EXIT_MISTAKE
    assert "mistake of its own (ZeroDivisionError: in the middle)" in capsys.readouterr().err
