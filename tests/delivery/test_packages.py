"""Wheel and source archive hold all they need: installed in a clean environment, they work without a network."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import textwrap
import tomllib
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TRIED_PYTHONS = ("3.12", "3.13")
"""Other Pythons that the slow test looks for; the quick tests run on the one that runs them."""


def done_well(words: list[str], **more: object) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(words, capture_output=True, text=True, timeout=600, check=False, **more)  # type: ignore[call-overload]
    assert done.returncode == 0, f"{words}\n{done.stdout}\n{done.stderr}"
    return done  # type: ignore[no-any-return]


def build(source: Path, kind: str, folder: Path) -> Path:
    done_well([sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(folder)], cwd=source)
    (archive,) = folder.glob("*.whl" if kind == "wheel" else "*.tar.gz")
    return archive


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(ROOT, "wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(ROOT, "sdist", tmp_path_factory.mktemp("sdist"))


def contents(wheel: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(wheel) as file:
        return {name: file.read(name) for name in file.namelist()}


def test_every_data_file_is_in_the_wheel(wheel: Path) -> None:
    wanted = {
        str(p.relative_to(ROOT))
        for p in (ROOT / "holecam").rglob("*")
        if p.is_file() and p.suffix not in (".py", ".pyc")
    }
    suffixes = {Path(name).suffix for name in wanted}
    assert suffixes >= {".csv", ".toml", ".html", ".ttf", ".css", ".js", ".typed", ".txt"}
    assert wanted - contents(wheel).keys() == set()
    assert "holecam/py.typed" in wanted


def test_the_wheel_holds_the_package_and_nothing_else(wheel: Path) -> None:
    tops = {name.split("/")[0] for name in contents(wheel)}
    assert {t for t in tops if not t.endswith(".dist-info")} == {"holecam"}
    assert not [n for n in contents(wheel) if n.endswith((".pyc", ".edited-1.txt")) or "/." in n]


def test_a_wheel_made_from_the_source_archive_is_the_same(wheel: Path, archive: Path, tmp_path: Path) -> None:
    with tarfile.open(archive) as file:
        file.extractall(tmp_path, filter="data")
    (source,) = tmp_path.iterdir()
    for name in ("README.md", "LICENSE", "examples/lantern-hood/job.toml", "docs/index.md", "tests/conftest.py"):
        assert (source / name).is_file(), name
    assert contents(build(source, "wheel", tmp_path / "made")) == contents(wheel)


def test_the_classifiers_name_only_pythons_that_were_tried() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = {c.rpartition(" ")[2] for c in project["classifiers"] if "Python :: 3." in c}
    assert named == {"3.11", *TRIED_PYTHONS}


# Installed in a clean environment


NO_NETWORK = """
import socket

def refuse(*_args, **_kept):
    raise OSError("this environment has no network")

socket.socket.connect = socket.socket.connect_ex = socket.getaddrinfo = refuse
"""


def clean_environment(folder: Path, wheel: Path) -> Path:
    """Return the scripts of a new environment that has the wheel, the libraries of this one, and no network.

    The wheel is installed without an index. The libraries are lent by a path file, which leaves out an editable install
    of the project itself.
    """
    done_well([sys.executable, "-m", "venv", "--without-pip", str(folder)])
    done_well(
        [sys.executable, "-m", "pip", "--python", str(folder / "bin" / "python"), "install", "--quiet", "--no-index",
         "--no-deps", "--disable-pip-version-check", str(wheel)]
    )  # fmt: skip
    (site,) = folder.glob("lib/python*/site-packages")
    (site / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n")
    (site / "sitecustomize.py").write_text(NO_NETWORK)
    return folder / "bin"


@pytest.fixture(scope="module")
def scripts(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return clean_environment(tmp_path_factory.mktemp("clean") / "env", wheel)


def alone() -> list[str]:
    """Return words that run a command in a network of its own with nothing in it, where the system lets us."""
    words = ["unshare", "--net"]
    if shutil.which("unshare") and subprocess.run([*words, "true"], capture_output=True, check=False).returncode == 0:
        return words
    return []


def run(
    scripts: Path, folder: Path, *words: str, more: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    environment = {"PATH": "/usr/bin:/bin", "HOME": str(folder), **(more or {})}
    return subprocess.run(
        [*alone(), str(scripts / words[0]), *words[1:]],
        cwd=folder, env=environment, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip


def test_the_installed_package_is_the_one_that_runs_and_has_no_network(scripts: Path, tmp_path: Path) -> None:
    program = """
        import pathlib, socket, sys
        import holecam.cli.main, numpy
        assert pathlib.Path(holecam.__file__).is_relative_to(sys.prefix), holecam.__file__
        try:
            socket.create_connection(("127.0.0.1", 9))
        except OSError as error:
            print(error)
    """
    done = run(scripts, tmp_path, "python", "-c", textwrap.dedent(program))
    assert done.returncode == 0, done.stderr
    assert done.stdout == "this environment has no network\n"


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_new_job_is_planned_and_its_programs_verified(scripts: Path, tmp_path: Path, unit: str) -> None:
    made = run(scripts, tmp_path, "holecam", "new", "job", "--unit", unit)
    assert made.returncode == 0, made.stderr
    home = tmp_path / "home"
    home.mkdir()
    planned = run(scripts, tmp_path, "holecam", "plan", "job/job.toml", "--out", "out", more={"HOME": str(home)})
    assert planned.returncode == 0, planned.stdout + planned.stderr
    assert list(home.iterdir()) == [], "nothing is written outside the output folder, no cache either"
    out = tmp_path / "out"
    assert {"sheet.html", "sheet.pdf", "template.pdf", "layout.dxf", "plan.json"} <= {p.name for p in out.iterdir()}
    programs = sorted(out.glob("*.nc"))
    if unit == "mm":
        assert programs or "manual" in (tmp_path / "job" / "job.toml").read_text()
    for program in programs[:1]:
        words = ("verify", f"out/{program.name}", "--job", "job/job.toml", "--against-plan")
        verified = run(scripts, tmp_path, "holecam", *words)
        assert verified.returncode == 0, verified.stdout + verified.stderr


def test_an_example_of_the_archive_is_planned_and_verified(scripts: Path, archive: Path, tmp_path: Path) -> None:
    with tarfile.open(archive) as file:
        file.extractall(tmp_path, filter="data")
    (job,) = tmp_path.glob("*/examples/lantern-hood/job.toml")
    planned = run(scripts, tmp_path, "holecam", "plan", str(job), "--out", "out")
    assert planned.returncode in (0, 1), planned.stderr
    program = next(p for p in sorted((tmp_path / "out").glob("*.nc")) if "drill" in p.name)
    verified = run(scripts, tmp_path, "holecam", "verify", str(program), "--job", str(job), "--against-plan")
    assert verified.returncode == 0, verified.stdout + verified.stderr


@pytest.mark.parametrize(
    ("words", "shown"),
    [(["tap", "6-32"], "#36"), (["drill", "#29"], "0.1360"), (["clearance", "M4"], "4.5 mm"), (["schema"], '"title"')],
)
def test_look_ups_find_their_tables(scripts: Path, tmp_path: Path, words: list[str], shown: str) -> None:
    done = run(scripts, tmp_path, "holecam", *words)
    assert done.returncode == 0, done.stderr
    assert shown in done.stdout


def test_the_module_runs_as_well_and_tells_its_version(scripts: Path, tmp_path: Path) -> None:
    done = run(scripts, tmp_path, "python", "-m", "holecam", "--version")
    assert done.stdout.startswith("holecam 0."), done.stderr


def test_the_names_of_the_package_are_there(scripts: Path, tmp_path: Path) -> None:
    program = "import holecam; print([name for name in holecam.__all__ if getattr(holecam, name) is None])"
    done = run(scripts, tmp_path, "python", "-c", program)
    assert done.stdout == "[]\n", done.stderr


def interpreter(version: str) -> str | None:
    """Return the path of another Python, on the path or among those that a version manager keeps."""
    found = shutil.which(f"python{version}", path=os.environ.get("PATH", ""))
    kept = sorted(Path.home().glob(f".pyenv/versions/{version}.*/bin/python"))
    return str(kept[-1]) if kept else found


@pytest.mark.slow
@pytest.mark.parametrize("version", TRIED_PYTHONS)
def test_other_pythons_install_it_and_plan(wheel: Path, tmp_path: Path, version: str) -> None:
    python = interpreter(version)
    if python is None:
        pytest.skip(f"no Python {version} on this machine")
    done_well([python, "-m", "venv", str(tmp_path / "env")])
    scripts = tmp_path / "env" / "bin"
    install = [str(scripts / "python"), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", str(wheel)]
    if subprocess.run(install, capture_output=True, check=False).returncode != 0:
        pytest.skip("its libraries cannot be had from here")
    for words in (["new", "job"], ["plan", "job/job.toml", "--out", "out"], ["tap", "M4"]):
        done = run(scripts, tmp_path, "holecam", *words, more={"PYTHONWARNINGS": "error"})
        assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "sheet.pdf").is_file()
