"""The schema for editors, and the starter job."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any, Literal

import jsonschema
import pytest
from typer.testing import CliRunner
from whole_job import WHOLE_JOB

from holecam.cli import new, schema
from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.reader import parse_job, read_job
from holecam.job.schema import job_schema
from holecam.job.starter import starter_job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.toml"))


def _errors(text: str) -> list[str]:
    validator = jsonschema.Draft202012Validator(job_schema())
    return [f"{list(e.absolute_path)}: {e.message}" for e in validator.iter_errors(_json(tomllib.loads(text)))]


def _json(node: Any) -> Any:
    return json.loads(json.dumps(node, default=str))


def test_it_is_a_schema_of_2020_12() -> None:
    jsonschema.Draft202012Validator.check_schema(job_schema())
    assert job_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.outside_check(
    subject="job file",
    source="jsonschema: validator of JSON Schema 2020-12",
    closeness="jobs that the reader takes pass",
    standing="library",
)
@pytest.mark.parametrize("text", [WHOLE_JOB, starter_job("in"), starter_job("mm")], ids=["whole", "inch", "mm"])
def test_good_jobs_pass(text: str) -> None:
    assert _errors(text) == []


@pytest.mark.parametrize("path", EXAMPLES, ids=[f"{p.parent.name}/{p.name}" for p in EXAMPLES])
def test_the_examples_pass(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert _errors(text) == []


@pytest.mark.parametrize(
    ("old", "new_text", "said"),
    [
        ('thickness = "3/16"', 'thicknes = "3/16"', "thicknes"),
        ("count = 5", 'count = "5"', "circle"),
        ("count = 5", "count = 0", "circle"),
        ('unit = "in"', 'unit = "inch"', "unit"),
        ('title = "Lantern hood, left half"', "", "title"),
        ('of = "edge-distance"', 'of = "edges"', "limit"),
        ("keep = true", 'keep = "yes"', "step_down"),
        ('approach = ["+x", "+y"]', 'approach = ["+x", "+z"]', "approach"),
        ("thickness = 2", "thickness = true", "thickness"),
    ],
)
def test_bad_jobs_are_underlined(old: str, new_text: str, said: str) -> None:
    errors = _errors(WHOLE_JOB.replace(old, new_text, 1))
    assert any(said in e for e in errors), errors


def test_every_key_of_every_table_is_described_in_plain_words() -> None:
    found = job_schema()
    tables = {"job": found, **found["$defs"]}
    bare = [
        f"{name}.{key}" for name, table in tables.items() for key, value in table["properties"].items()
        if not (value.get("description", "").strip() or "$ref" in value)  # a $ref is described where it leads
    ]  # fmt: skip
    assert bare == []
    text = json.dumps(found)
    for word in ("Model", "pydantic", "null", "tuple", "Literal", 'float_"', 'is_"'):
        assert f'"{word}' not in text, word
    assert len(tables) > 50


def test_every_key_the_models_know_is_in_the_schema() -> None:
    keys = set(job_schema()["properties"])
    assert keys == {f.alias or n for n, f in Job.model_fields.items()}


# Commands


def test_schema_command_prints_the_schema() -> None:
    result = CliRunner().invoke(schema.app, [])
    assert result.exit_code == 0
    assert json.loads(result.stdout) == job_schema()


@pytest.mark.parametrize(("args", "unit"), [([], "mm"), (["--unit", "in"], "in"), (["--unit", "mm"], "mm")])
def test_new_writes_a_job_that_reads(tmp_path: Path, args: list[str], unit: Literal["in", "mm"]) -> None:
    folder = tmp_path / "a" / "b"
    result = CliRunner().invoke(new.app, [str(folder), *args])
    assert result.exit_code == 0, result.output
    assert "holecam plan" in result.stdout
    job = read_job(folder / "job.toml")
    assert job.unit == unit
    assert (folder / "job.toml").read_text(encoding="utf-8") == starter_job(unit)


def test_new_overwrites_nothing(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine")
    result = CliRunner().invoke(new.app, [str(tmp_path)])
    assert isinstance(result.exception, InputError)
    assert "is there already" in str(result.exception)
    assert (tmp_path / "job.toml").read_text() == "mine"


def test_new_refuses_an_unknown_unit(tmp_path: Path) -> None:
    result = CliRunner().invoke(new.app, [str(tmp_path), "--unit", "cm"])
    assert isinstance(result.exception, InputError)
    assert list(tmp_path.iterdir()) == []


def test_new_and_schema_from_the_command_line(tmp_path: Path) -> None:
    run = [sys.executable, "-m", "holecam"]
    made = subprocess.run([*run, "new", str(tmp_path / "x"), "--json"], capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stderr
    assert json.loads(made.stdout)["written"] == [str(tmp_path / "x" / "job.toml")]
    again = subprocess.run([*run, "new", str(tmp_path / "x")], capture_output=True, text=True, check=False)
    assert again.returncode == 2
    assert "is there already" in again.stderr
    assert "Traceback" not in again.stderr


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_the_starter_explains_itself(unit: Literal["in", "mm"]) -> None:
    text = starter_job(unit)
    rows = text.split("\n")
    assert max(len(row) for row in rows) <= 130
    assert sum(row.lstrip().startswith("#") or "  #" in row for row in rows) > 15
    job = parse_job(text)
    assert job.patterns
    assert job.mates
    assert job.old_holes
