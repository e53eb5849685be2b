"""``import holecam``: its names are there, typed, light; their examples run; a job in Python is the job in a file."""

from __future__ import annotations

import doctest
import importlib
import subprocess
import sys
import textwrap
import tomllib
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import holecam
from holecam.errors import FileContentError, HolecamError, InputError, OutputError

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
EXAMPLE_JOBS = ["lantern-hood", "pump-cover", "signal-pair"]


# The names


def test_every_name_is_where_it_is_said_to_be() -> None:
    assert holecam.__all__ == sorted(holecam.__all__) == sorted(holecam._HOMES)
    for name in holecam.__all__:
        assert getattr(holecam, name) is getattr(importlib.import_module(f"holecam.{holecam._HOMES[name]}"), name)
    assert set(holecam.__all__) <= set(dir(holecam))


def test_an_unknown_name_is_refused_as_python_does() -> None:
    with pytest.raises(AttributeError, match="module 'holecam' has no attribute 'drils'"):
        holecam.drils  # type: ignore[attr-defined]  # noqa: B018


def test_no_name_hides_a_part_of_the_package() -> None:
    parts = {p.stem for p in (ROOT / "holecam").iterdir()}
    assert not set(holecam.__all__) & parts


def loaded_after(program: str) -> set[str]:
    words = [sys.executable, "-c", f"{program}\nimport sys; print(' '.join(sys.modules))"]
    done = subprocess.run(words, capture_output=True, text=True, check=True, env={"PYTHONPATH": str(ROOT)})
    return set(done.stdout.split())


@pytest.mark.parametrize(
    "program",
    [
        "import holecam",
        "import holecam; holecam.tap('6-32', material='brass'); holecam.clearance('M4'); holecam.drill('#29')",
        "import holecam; holecam.thread_percent('M4', '3.3 mm'); holecam.mm('3/16 in'); holecam.InputError",
    ],
)
def test_look_ups_load_nothing_heavy(program: str) -> None:
    heavy = {"numpy", "shapely", "ezdxf", "pydantic", "jinja2", "reportlab", "typer", "rich", "msgspec"}
    assert not loaded_after(program) & heavy


def test_importing_the_package_loads_no_other_module_of_it() -> None:
    assert {m for m in loaded_after("import holecam") if m.startswith("holecam")} == {"holecam"}


def test_the_type_checker_sees_every_name(tmp_path: Path) -> None:
    pytest.importorskip("mypy")
    script = tmp_path / "script.py"
    script.write_text(
        textwrap.dedent("""
            import holecam
            from holecam import InputError, Job, PlannedJob
            from numpy import float64
            from numpy.typing import NDArray

            job: Job = holecam.make_job(title="x", unit="mm")
            planned: PlannedJob = holecam.plan_job(job)
            places: NDArray[float64] = planned.xy_part
            size: float = holecam.tap("M4").recommended.drill.diameter
            percent: float = holecam.thread_percent("M4", "3.3 mm")
            passed: bool = holecam.verify_program("a.nc", job=planned).passed
            heights: NDArray[float64] = holecam.step_down(["a:1:0.1"], "b:1", unit="mm").z
            row: NDArray[float64] = holecam.line(3, pitch=5, unit="mm")
            wrong: int = holecam.mm("3 mm")
            holecam.nothing
        """)
    )
    words = [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path / "cache"), str(script)]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=ROOT)
    lines = [line.partition(": error: ")[2] for line in done.stdout.splitlines() if "script.py" in line]
    assert [line.rpartition("[")[2] for line in lines] == ["assignment]", "attr-defined]"], done.stdout + done.stderr


DOCUMENTED = [
    "holecam",
    "holecam.notebook.jobs",
    "holecam.notebook.look_ups",
    "holecam.notebook.patterns",
    "holecam.notebook.step_downs",
]


@pytest.mark.parametrize("name", DOCUMENTED)
def test_examples_in_docstrings_run(name: str) -> None:
    failed, ran = doctest.testmod(importlib.import_module(name))
    assert ran > 0
    assert failed == 0


# Jobs


@pytest.mark.parametrize("name", EXAMPLE_JOBS)
def test_a_job_in_python_gives_the_papers_of_the_file_to_the_last_byte(name: str) -> None:
    folder = EXAMPLES / name
    tables = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    keys = {key: tables.pop(key) for key in list(tables)[:3]}
    from_python = holecam.plan_job(holecam.make_job(tables, folder=folder, **keys))
    from_file = holecam.plan_job(folder / "job.toml")
    papers = from_file.papers()
    assert len(papers) >= 8
    assert from_python.papers() == papers
    assert from_python.job.model_dump() == from_file.job.model_dump()


PLATE: dict[str, Any] = {
    "title": "Plate",
    "unit": "in",
    "part": {"material": "brass", "thickness": 0.1875, "outline": {"rectangle": [3, 1]}},
    "pattern": [{"name": "pair", "points": [[0.5, 0.5], [2.5, 0.5]], "drill": "#29"}],
}


@pytest.mark.parametrize(
    "thickness",
    [
        "3/16",
        0.1875,
        Fraction(3, 16),
        Decimal("0.1875"),
        np.float64(0.1875),
        np.array(0.1875),
        "4.7625 mm",
        "187.5 thou",
    ],
    ids=lambda v: type(v).__name__,
)
def test_a_length_may_be_any_kind_of_number_in_the_unit_of_the_job(thickness: Any) -> None:
    job = holecam.make_job(PLATE, part={**PLATE["part"], "thickness": thickness})
    assert job.part.thickness == Fraction("4.7625")  # 3/16 in; a bare fraction must never be taken for millimetres
    assert job.source.fingerprint == holecam.make_job(PLATE).source.fingerprint


def test_points_may_be_an_array() -> None:
    points = holecam.line(2, pitch="2 in", first=("1/2 in", "1/2 in")) / 25.4
    job = holecam.make_job(PLATE, pattern=[{"name": "pair", "points": points, "drill": "#29"}])
    assert job.model_dump() == holecam.make_job(PLATE).model_dump()


def test_what_is_given_is_not_changed() -> None:
    before = repr(PLATE)
    holecam.make_job(PLATE, title="Another")
    assert repr(PLATE) == before


@pytest.mark.parametrize("value", [float("nan"), float("inf"), True, None, object(), np.array([1.0, 2.0]), b"3"])
def test_what_is_not_a_length_is_refused_with_place_and_way_out(value: Any) -> None:
    with pytest.raises(FileContentError) as caught:
        holecam.make_job(PLATE, part={**PLATE["part"], "thickness": value})
    (problem,) = caught.value.problems
    assert problem.key == "part.thickness"
    assert problem.expected


def test_errors_are_of_one_root_and_carry_their_facts() -> None:
    assert issubclass(InputError, HolecamError)
    assert issubclass(InputError, ValueError)
    assert issubclass(OutputError, HolecamError)
    with pytest.raises(holecam.InputError) as caught:
        holecam.mm("4,5 mm")
    assert (caught.value.key, caught.value.value) == ("length", "4,5 mm")
    assert 'Write "4.5 mm"' in str(caught.value)


def test_a_planned_job_gives_arrays_with_their_frame(tmp_path: Path) -> None:
    planned = holecam.plan_job(EXAMPLES / "lantern-hood" / "job.toml")
    assert planned.xy_part.shape == planned.xy_machine.shape == (len(planned.holes), 2)
    assert [tuple(p) for p in planned.xy_machine] == [h.xy_machine for h in planned.holes]
    step = 0.0005 * 25.4
    assert np.abs(planned.xy_readout - planned.xy_machine).max() <= step / 2 + 1e-9
    assert np.allclose(planned.xy_readout / step, np.round(planned.xy_readout / step), atol=1e-6)
    assert "<img alt=" in planned._repr_html_()
    assert "Lantern hood" in repr(planned)
    for shown in (planned.freedom(), planned.chains(), planned.cuts()):
        assert "<img alt=" in shown._repr_html_()
    done = planned.write(tmp_path / "out")
    assert set(done.written) == set(planned.papers())
    program = next(name for name in planned.program_texts if "drill" in name)
    assert holecam.verify_program(tmp_path / "out" / program, job=planned).passed
    assert holecam.verify_program(tmp_path / "out" / program, job=EXAMPLES / "lantern-hood" / "job.toml").passed
    text = (tmp_path / "out" / program).read_text()
    (tmp_path / "out" / program).write_text(text.replace("M3", "M4", 1))
    assert not holecam.verify_program(tmp_path / "out" / program, job=planned.job).passed


def test_a_job_without_holes_gives_empty_arrays() -> None:
    planned = holecam.plan_job(holecam.make_job({k: v for k, v in PLATE.items() if k != "pattern"}))
    assert planned.xy_part.shape == planned.xy_machine.shape == planned.xy_readout.shape == (0, 2)


def test_verifying_without_a_job_takes_limits(tmp_path: Path) -> None:
    program = tmp_path / "a.nc"
    program.write_text("G21 G90 G94 G17 G40\nT1 M6\nG0 Z10\nS1000 M3\nG0 X0 Y0\nG1 Z-3 F50\nG0 Z10\nM5\nM30\n")
    assert not holecam.verify_program(program, floor="-1 mm").passed
    assert holecam.verify_program(program, floor=-5, safe_height=5, unit="mm").passed
    with pytest.raises(InputError, match="no unit here"):
        holecam.verify_program(program, floor=-5)
    with pytest.raises(InputError, match="expected the job as well"):
        holecam.verify_program(program, meant_as="b.nc")
    with pytest.raises(InputError, match="floor: with a job"):
        holecam.verify_program(program, job=holecam.make_job(PLATE), floor=-5, unit="mm")
    with pytest.raises(InputError, match='the job "Plate"'):
        holecam.verify_program(program, job=holecam.make_job(PLATE))
