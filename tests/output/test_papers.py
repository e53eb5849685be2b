"""Sheet, CSV and JSON: figures as the readout shows them, and text of the job that stays text."""

from __future__ import annotations

import csv
import io
import json
import unicodedata
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.output.plain_words import plain
from holecam.output.plan_json import plan_json
from holecam.output.spreadsheet import FORMULA_STARTS, coordinates_csv, safe_cell
from holecam.output.text_sheet import WIDTH, text_sheet
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan
from holecam.program.writer import write_program

EXAMPLES = Path(__file__).parents[2] / "examples"
HERE = Path(__file__).parent

HOSTILE = (
    '=HYPERLINK("http://x")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    ") M3 S9000 (",
    "<script>alert(1)</script>",
    "../../etc/passwd",
    "%\u2215{}$(touch x)`",
)


def plan_named(name: str) -> Plan:
    data: dict[str, Any] = {
        "title": name,
        "unit": "mm",
        "hand": name,
        "notes": [name],
        "part": {"material": "brass", "thickness": 5, "datum": name},
        "machine": {"kind": "cnc"},
        "pattern": [{"name": name, "points": [[1, 2], [-30, 4]], "drill": "3 mm"}],
        "tools": {"drills": ["metric"]},
    }
    return make_plan(job_from_dict(data))


@pytest.mark.parametrize("name", HOSTILE)
def test_text_of_the_job_is_no_formula_in_the_csv(name: str) -> None:
    rows = list(csv.reader(io.StringIO(coordinates_csv(plan_named(name)))))
    assert len({len(r) for r in rows}) == 1
    for row in rows[1:]:
        for cell in row:
            if not cell.lstrip("-").replace(".", "").isdigit():
                assert not cell.startswith(FORMULA_STARTS), cell


@given(st.text(max_size=30))
def test_a_cell_never_starts_a_formula(text: str) -> None:
    assert not safe_cell(text).lstrip(" \u00a0\u200b\ufeff").startswith(FORMULA_STARTS)
    assert safe_cell(text) in (text, f"'{text}")


@pytest.mark.parametrize("name", HOSTILE)
def test_a_program_is_the_same_whatever_the_job_is_called(name: str) -> None:
    def blocks(plan: Plan) -> list[list[str]]:
        texts = [write_program(p, plan.dialect) for p in plan.programs]
        return [[line for line in t.splitlines() if not line.startswith("(")] for t in texts]

    assert blocks(plan_named(name)) == blocks(plan_named("plain"))


@given(st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=40))
@settings(max_examples=200)
def test_plain_text_is_one_printable_line(text: str) -> None:
    line = plain(text)
    assert "\n" not in line
    assert not any(unicodedata.category(c)[0] == "C" for c in line)
    assert plain(line) == line


@pytest.mark.parametrize("example", ["lantern-hood", "pump-cover", "signal-pair"])
def test_the_sheet_fits_its_columns_and_has_what_a_sheet_needs(example: str) -> None:
    plan = make_plan(read_job(EXAMPLES / example / "job.toml"))
    sheet = text_sheet(plan)
    assert max(len(line) for line in sheet.splitlines()) <= WIDTH
    for words in ("HAND:", "ZERO:", "HANDWHEEL TEST", "back to", "MEASURE WITH A CALLIPER", "CAUTIONS", "[ ]"):
        assert words in sheet
    assert "-0.000 " not in sheet
    for hole in plan.holes:
        assert any(
            line.split()[:2] == [line.split()[0], str(hole.number)] for line in sheet.splitlines() if line.strip()
        )


@pytest.mark.parametrize("example", ["lantern-hood", "pump-cover", "signal-pair"])
def test_plan_json_reads_back_and_repeats(example: str) -> None:
    job = read_job(EXAMPLES / example / "job.toml")
    text = plan_json(make_plan(job))
    facts = json.loads(text)
    assert text == plan_json(make_plan(job))
    assert [h["number"] for h in facts["holes"]] == list(range(1, len(facts["holes"]) + 1))
    assert all(f["source"] for f in facts["figures"])


def test_the_lantern_hood_sheet_is_as_it_was_read_and_approved() -> None:
    plan = make_plan(read_job(EXAMPLES / "lantern-hood" / "job.toml"))
    lines = [line for line in text_sheet(plan).splitlines() if not line.startswith("Job ")]
    golden = HERE / "golden" / "lantern-hood-sheet.txt"
    assert "\n".join(lines) + "\n" == golden.read_text(encoding="utf-8")
