"""What the reading of a drawing did to it reaches the sheet: unit, joined ends, curves replaced, what was left out."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing

from holecam.job.reader import read_job
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Finding, Severity
from holecam.planning.drawing_findings import drawings_of
from holecam.planning.plan_job import make_plans

JOB = """
title = "invented cover"
unit = "{unit}"
[machine]
kind = "cnc"
safe_height = "10 mm"
[tools]
drills = ["metric"]
end_mills = [{{ name = "6 mm end mill", diameter = "6 mm", flute_length = "16 mm" }}]
[part]
material = "brass"
thickness = "6 mm"
outline = {{ drawing = {{ file = "cover.dxf", layer = "edge"{more} }} }}
[[pattern]]
name = "screws"
drawing = {{ file = "cover.dxf", layer = "holes"{more} }}
clearance_for = "M3"
[[pocket]]
name = "relief"
drawing = {{ file = "cover.dxf", layer = "relief"{more} }}
depth = "2 mm"
cutter = "6 mm end mill"
"""


def cover(units: int = 4) -> Drawing:
    """Return a plate of 80 x 50 with two holes and an elliptic relief about 40, 25; lengths in mm."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = units
    space = document.modelspace()
    corners = [(0, 0), (80, 0), (80, 50), (0, 50)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "edge"})
    for x in (10, 70):
        space.add_circle((x, 25), 1.7, dxfattribs={"layer": "holes"})
    space.add_ellipse((40, 25), (15, 0), 0.6, dxfattribs={"layer": "relief"})
    space.add_text("trim here", dxfattribs={"layer": "edge"})
    return document


def findings(folder: Path, *, unit: str = "mm", more: str = "") -> list[Finding]:
    """Return what is told of the drawing that lies in the folder; all of it stands on the sheet."""
    (folder / "job.toml").write_text(JOB.format(unit=unit, more=more), "utf-8")
    plan = make_plans(read_job(folder / "job.toml"))[0]
    told = [f for f in plan.findings if f.code.startswith("drawing-")]
    sheet = " ".join(text_sheet(plan).split())
    assert all(f.message in sheet for f in told)
    return told


def test_every_reading_of_a_drawing_is_told_once_on_the_sheet(tmp_path: Path) -> None:
    cover().saveas(tmp_path / "cover.dxf")
    told = [(f.about, f.message) for f in findings(tmp_path)]
    unit = "The drawing says that its numbers are mm."
    assert told == [
        ('drawing "cover.dxf", layer "edge"', unit),
        ('drawing "cover.dxf", layer "edge"', "Left out: 1 TEXT."),
        ('drawing "cover.dxf", layer "holes"', unit),
        ('drawing "cover.dxf", layer "relief"', unit),
        (
            'drawing "cover.dxf", layer "relief"',
            "1 ellipse replaced by straight lines that lie at most 0.005 mm off, on the hollow side of the curve.",
        ),
    ]


@pytest.mark.parametrize(("tolerance", "said"), [("0.01 mm", "0.0004 in"), ("0.001 mm", "0.000039 in")])
def test_a_job_in_inches_reads_inches(tmp_path: Path, tolerance: str, said: str) -> None:
    """0.01 mm is 0.00039 in, 0.001 mm is 0.0000394 in: small, and no nought."""
    cover().saveas(tmp_path / "cover.dxf")
    told = findings(tmp_path, unit="in", more=f', tolerance = "{tolerance}"')
    assert any(f"at most {said} off" in f.message for f in told)


def test_a_unit_that_is_overruled_is_told(tmp_path: Path) -> None:
    cover(units=1).saveas(tmp_path / "cover.dxf")
    told = findings(tmp_path, more=', drawing_unit = "mm", overrule_unit = true')
    assert {f.message for f in told if "overrules" in f.message} == {
        "The drawing says in; the job overrules it with mm."
    }


def test_damage_is_a_caution(tmp_path: Path) -> None:
    cover().saveas(tmp_path / "cover.dxf")
    broken = (tmp_path / "cover.dxf").read_text("utf-8").replace("ENDBLK", "XNDBLK")
    (tmp_path / "cover.dxf").write_text(broken, "utf-8")
    damage = [f for f in findings(tmp_path) if f.code == "drawing-damaged"]
    assert [f.severity for f in damage] == [Severity.CAUTION] * 3
    assert {f.about for f in damage} == {f'drawing "cover.dxf", layer "{x}"' for x in ("edge", "holes", "relief")}
    assert "Missing required ENDBLK" in damage[0].message


def test_drawings_are_found_in_every_table(tmp_path: Path) -> None:
    cover().saveas(tmp_path / "cover.dxf")
    (tmp_path / "job.toml").write_text(JOB.format(unit="mm", more=""), "utf-8")
    assert [d.layer for d in drawings_of(read_job(tmp_path / "job.toml"))] == ["edge", "holes", "relief"]
