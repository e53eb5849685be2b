"""The wheel holds every table, template and font: it runs without the source tree beside it."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    built = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert built.returncode == 0, built.stderr
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "site")
    return folder / "site"


def run(site: Path, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    # -S would hide the libraries as well; the unpacked wheel stands first on the path instead
    program = (
        "import sys, pathlib; import holecam; "
        f"assert pathlib.Path(holecam.__file__).is_relative_to({str(site)!r}), holecam.__file__; "
        f"sys.argv = ['holecam', *{list(words)!r}]; from holecam.cli.main import main; main()"
    )
    return subprocess.run(
        [sys.executable, "-c", program],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(site)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_every_data_file_is_in_the_wheel(unpacked: Path) -> None:
    wanted = {
        p.relative_to(ROOT)
        for p in (ROOT / "holecam").rglob("*")
        if p.is_file() and p.suffix in (".csv", ".toml", ".j2", ".html", ".ttf", ".txt", ".css", ".js", ".typed")
    }
    assert len(wanted) > 15
    assert {p for p in wanted if not (unpacked / p).is_file()} == set()


def test_a_new_job_is_planned_from_the_wheel(unpacked: Path, tmp_path: Path) -> None:
    made = run(unpacked, tmp_path, "new", "job")
    assert made.returncode == 0, made.stderr
    (job,) = (tmp_path / "job").glob("*.toml")
    planned = run(unpacked, tmp_path, "plan", str(job), "--out", str(tmp_path / "out"))
    assert planned.returncode == 0, planned.stdout + planned.stderr
    assert (tmp_path / "out" / "sheet.html").is_file()


@pytest.mark.parametrize("words", [["tap", "6-32"], ["drill", "29"], ["clearance", "M4"], ["schema"]])
def test_look_ups_find_their_tables(unpacked: Path, tmp_path: Path, words: list[str]) -> None:
    done = run(unpacked, tmp_path, *words)
    assert done.returncode in (0, 2), done.stderr
    assert "mistake of its own" not in done.stderr
