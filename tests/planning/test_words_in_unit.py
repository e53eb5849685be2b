"""What geometry says in millimetres reaches the user in his own unit, and his own words stay as he wrote them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holecam.errors import FileContentError, InputError
from holecam.job.reader import read_job
from holecam.output.text_sheet import text_sheet
from holecam.planning.plan_job import make_plan
from holecam.planning.words_in_unit import errors_in, in_unit

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize(
    ("said", "inches"),
    [
        ("the slot is 6.350 mm wide", "the slot is 0.2500 in wide"),
        (
            "an arc of radius 2.540 mm at X 25.400 Y -12.700 mm: both",
            "an arc of radius 0.1000 in at X 1.0000 in Y -0.5000 in: both",
        ),
        ("it leaves 64.516 mm2 in 4 inside corners", "it leaves 0.1000 sq in in 4 inside corners"),
        ("a margin of 2.54e-2 mm", "a margin of 0.0010 in"),
        ('"25.4 mm bar" is 25.4 mm wide', '"25.4 mm bar" is 1.0000 in wide'),
        ("25.4 mm a minute", "25.4 mm a minute"),
        ("a drill of 2.54 to 2.794 mm is wanted", "a drill of 0.1000 in to 0.1100 in is wanted"),
        ("a drill of 2.649 to 2.990 mm (0.1043 to 0.1177 in)", "a drill of 0.1043 to 0.1177 in"),
        ("1.5 mm (0.0591 in) of thread, 12.7 mm more", "0.0591 in of thread, 0.5000 in more"),
        ("expected 0 to 12.7 mm", "expected 0 to 0.5000 in"),
        ("M4, 5 of 6 strokes, 12 degrees", "M4, 5 of 6 strokes, 12 degrees"),
    ],
)
def test_lengths_places_and_areas_are_converted_and_quoted_names_are_not(said: str, inches: str) -> None:
    assert in_unit(said, "in") == inches
    assert in_unit(said, "mm") == said


def test_errors_are_said_in_the_unit_of_the_job_and_keep_their_key() -> None:
    with pytest.raises(InputError, match=r"^a cutter of 0\.2500 in$") as told, errors_in("in"):
        raise InputError("a cutter of 6.350 mm", key="cutter", value="1/4", expected="at most 3.175 mm")
    assert (told.value.key, told.value.value, told.value.expected) == ("cutter", "1/4", "at most 0.1250 in")
    with pytest.raises(FileContentError), errors_in("in"):  # its lines belong to the file, not to geometry
        raise FileContentError([])


def test_an_inch_sheet_speaks_no_millimetres() -> None:
    sheet = text_sheet(make_plan(read_job(EXAMPLES / "lantern-hood" / "job.toml")))
    both = sheet.replace("0.02 mm (0.001\n    in)", "")  # a line of common practice that gives both
    assert re.findall(r".*\bmm2?\b.*", both) == []


def test_a_slot_narrower_than_its_cutter_is_refused_in_inches(tmp_path: Path) -> None:
    text = (EXAMPLES / "lantern-hood" / "job.toml").read_text(encoding="utf-8")
    start = text.index('name   = "rail clearance"')
    narrow = text[:start] + text[start:].replace("7/16", "1/32", 1).replace("3/16", "1/64", 1)
    job = tmp_path / "job.toml"
    job.write_text(narrow, encoding="utf-8")
    for drawing in (EXAMPLES / "lantern-hood").glob("*.*"):
        if drawing.name != "job.toml":
            (tmp_path / drawing.name).write_bytes(drawing.read_bytes())
    with pytest.raises(InputError) as told:
        make_plan(read_job(job))
    assert "mm" not in str(told.value)
    assert " in" in str(told.value)
