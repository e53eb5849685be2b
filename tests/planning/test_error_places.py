"""What only the planning finds wrong names file and line of the thing, as a mistake does that is seen while reading."""

from __future__ import annotations

from pathlib import Path

import pytest

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.planning.plan_job import make_plan

JOB = """title = "plate"
unit = "in"

[tools]
end_mills = ["1/4"]

[part]
material = "mild steel"
thickness = "1/4"
outline = { rectangle = ["4", "2"] }

[[slot]]
name = "other"
width = "3/8"
depth = "1/8"
from = ["1", "3/2"]
to = ["3", "3/2"]

[[slot]]
name = "key"
width = "3/16"
depth = "1/8"
from = ["1", "1/2"]
to = ["3", "1/2"]
"""

BLIND = """
[[pattern]]
name = "feet"
points = [["1", "1"]]
thread = "1/4-20"
depth = { leave_bottom = "0.040" }
"""


def test_a_cut_that_cannot_be_made_has_its_line(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    job = read_job(path)
    with pytest.raises(InputError) as told:
        make_plan(job)
    assert str(told.value).startswith(f'{path}:19: slot "key" is 0.1875 in wide')


def test_a_hole_too_shallow_for_a_thread_has_its_line_and_a_way_out(tmp_path: Path) -> None:
    """1/4 plate, 0.040 left: tip at 0.210, of which the point of a #7 takes 0.060 and the tap 3 pitches, 0.150."""
    path = tmp_path / "job.toml"
    text = JOB[: JOB.index("[[slot]]")] + BLIND
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as told:
        make_plan(read_job(path))
    line = text[: text.index("[[pattern]]")].count("\n") + 1
    assert str(told.value).startswith(f'{path}:{line}: pattern "feet"')
    assert "or go through" in str(told.value)


def test_a_file_that_changed_since_is_named_without_a_line(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    job = read_job(path)
    path.write_text("# a line more\n" + JOB, encoding="utf-8")
    with pytest.raises(InputError) as told:
        make_plan(job)
    assert str(told.value).startswith(f'{path}: slot "key"')
    path.unlink()
    with pytest.raises(InputError) as told:
        make_plan(job)
    assert str(told.value).startswith(f'{path}: slot "key"')


def test_a_job_without_a_file_is_told_as_before() -> None:
    data = {
        "title": "plate",
        "unit": "mm",
        "tools": {"end_mills": [6]},
        "part": {"material": "brass", "thickness": 5, "outline": {"rectangle": [90, 40]}},
        "slot": [{"name": "key", "width": 4, "depth": 1, "from": [20, 20], "to": [50, 20]}],
    }
    with pytest.raises(InputError, match=r'^slot "key" is 4\.000 mm wide'):
        make_plan(job_from_dict(data))


def test_a_pocket_whose_cutter_may_not_plunge_has_its_name_and_line(tmp_path: Path) -> None:
    """The floor that finds it knows the cutter and no job: the file alone stood in front, whatever the job held."""
    blunt = '{ name = "quarter", diameter = "1/4", centre_cutting = false }]'
    head = JOB[: JOB.index("[[slot]]")].replace('"1/4"]', blunt)
    pocket = '[[pocket]]\nname = "cut"\ndepth = "1/8"\nrectangle = ["2", "1"]\nat = ["1", "1/2"]\nentry = "plunge"\n'
    path = tmp_path / "job.toml"
    path.write_text(head + pocket, "utf-8")
    with pytest.raises(InputError) as told:
        make_plan(read_job(path))
    line = head.count("\n") + 1
    assert told.value.message.startswith(f'{path}:{line}: pocket "cut": cutter "quarter" may not plunge')
