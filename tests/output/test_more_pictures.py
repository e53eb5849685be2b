"""The section through a step-down and the strip to remove: true figures, lines where they belong, inert text."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

from holecam.job.reader import read_job
from holecam.output.marking_picture import marking_pictures
from holecam.output.run_sheet import run_sheet
from holecam.output.section_picture import section_pictures
from holecam.planning.plan_job import make_plan

JOB = Path(__file__).parents[2] / "examples" / "lantern-hood" / "job.toml"
SVG = "{http://www.w3.org/2000/svg}"


def test_the_section_draws_every_pass_above_the_hard_floor_and_that_above_the_sheet() -> None:
    plan = make_plan(read_job(JOB))
    ((report, canvas),) = section_pictures(plan)
    root = ElementTree.fromstring(canvas.standalone())
    lines = [e for e in root.iter() if e.tag.endswith("line")]
    passes = [float(e.attrib["y1"]) for e in lines if e.attrib["class"] in ("lead", "gone")]
    (hard,) = [float(e.attrib["y1"]) for e in lines if e.attrib["class"] == "axis"]
    assert len(passes) == len(report.passes)
    assert passes == sorted(passes), "deeper passes lie lower on the page"
    assert max(passes) < hard
    sheet = [e for e in root.iter() if e.attrib.get("class") == "bar named"]
    assert len(sheet) == 1
    assert hard < float(sheet[0].attrib["y"]) + 5


def test_the_strip_to_remove_is_drawn_with_its_greatest_width() -> None:
    plan = make_plan(read_job(JOB))
    ((report, canvas),) = marking_pictures(plan)
    text = canvas.standalone()
    assert "at most 0.0600 in square to the line" in text
    assert text.count('class="barred"') == len(report.remove) + 1  # the strips, and the sample in the key


def test_the_page_holds_tables_and_pictures_of_all_of_them() -> None:
    page = run_sheet(make_plan(read_job(JOB)))
    for words in (
        "HARD FLOOR",
        "MARKING OUT: nose of the former",
        "Section through left end of the rail",
        "SLOT &#34;",
    ):
        assert words in page
