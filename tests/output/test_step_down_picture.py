"""The picture of a step-down from above: read back and held against the plan, its program and other geometry."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from picture_reading import assert_words_apart, lines_of_path, of_class, polygons, root_of, strings, windows, words
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.output.notebook import show_cuts
from holecam.output.picture_files import picture_files
from holecam.output.picture_on_paper import WIDTHS
from holecam.output.plan_json import plan_json
from holecam.output.plan_picture import table_motion
from holecam.output.run_sheet import run_sheet
from holecam.output.step_down_picture import step_down_pictures
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan
from holecam.program.writer import write_program

JOB = Path(__file__).parents[2] / "examples" / "lantern-hood" / "job.toml"
FILE = "picture-step-down-1.svg"
UNIT = 0.02
"""Picture units. Coordinates are written with two decimals."""

SKEW = {"edge": {"first": [10, 5], "second": [90, 25], "origin_reads": [3, 4]}}
REGION = {"points": [[100, 5], [116, 5], [116, 35], [100, 35]]}


@cache
def hood() -> Plan:
    return make_plan(read_job(JOB))


def end(**more: Any) -> Plan:
    """Return the plan of the end of an invented rail; ``more`` adds to its step-down, ``setup`` to the job."""
    setup, service = more.pop("setup", {"skew": SKEW}), more.pop("service", "none")
    step = {
        "name": "end",
        "layers": [
            {"is": "brass rail", "thick": 5, "within": 0.03},
            {"is": "soft solder", "thick": 0.15, "within": 0.05},
            {"is": "copper hood", "thick": 0.6, "keep": True},
        ],
        "touch": {"on": "brass rail", "with": "paper"},
        "region": REGION,
        "open_sides": [2],
        "cutter": "cutter",
        **more,
    }
    data: dict[str, Any] = {
        "title": "end of a rail",
        "unit": "mm",
        "machine": {"kind": "cnc", "spindle": {"slowest": 100, "fastest": 3000}},
        "tools": {"end_mills": [{"name": "cutter", "diameter": 6}]},
        "part": {"material": "brass", "thickness": 5, "outline": {"rectangle": [120, 40]}, "service": service},
        "setup": setup,
        "step_down": [{name: value for name, value in step.items() if value is not None}],
    }
    return make_plan(job_from_dict(data))


def root(plan: Plan) -> ElementTree.Element:
    ((_, canvas),) = step_down_pictures(plan)
    return root_of(canvas.standalone())


def region_drawn(drawn: ElementTree.Element, clip: str) -> Polygon:
    (area,) = polygons(drawn, "bar", clip)
    return area


@pytest.mark.parametrize("plan", [hood, end])
def test_words_lie_apart(plan: object) -> None:
    assert callable(plan)
    ((_, canvas),) = step_down_pictures(plan())
    assert_words_apart(canvas.standalone())


@pytest.mark.parametrize("plan", [hood, end])
def test_what_the_drawn_strokes_sweep_and_what_is_drawn_as_left_make_up_the_region(plan: object) -> None:
    """By another library: the strokes, grown by the cutter's radius, clear what is not black, and none of the black."""
    assert callable(plan)
    made = plan()
    drawn = root(made)
    (clip,) = windows(drawn)
    region = region_drawn(drawn, clip)
    ((report, _),) = step_down_pictures(made)
    facts = json.loads(plan_json(made))["step_downs"][0]
    assert report.plan_view is not None
    scale = (region.area / report.plan_view.region.area) ** 0.5
    radius = report.cutter_diameter / 2 * scale
    ways = [*strings(drawn, "pass", clip), *strings(drawn, "between", clip)]
    swept = unary_union([way.buffer(radius, quad_segs=64) for way in ways])
    left = unary_union(polygons(drawn, "left", clip))
    rim = region.length * 0.05
    assert region.difference(swept).symmetric_difference(left).area < rim
    assert left.area / scale**2 == pytest.approx(facts["passes"][-1]["left"]["area_mm2"], abs=rim / scale**2)
    shoulders = [
        LineString(c)
        for e in of_class(drawn, "shoulder")
        if e.tag.endswith("path")
        for c in lines_of_path(e.attrib["d"])
    ]
    assert shoulders
    for line in shoulders:
        assert min(way.distance(line) for way in ways) >= radius - 2 * UNIT, "the cutter cuts into a shoulder"


def test_no_drawn_stroke_brings_the_edge_over_the_limit_beside_the_wall() -> None:
    drawn = root(hood())
    (clip,) = windows(drawn)
    ((report, _),) = step_down_pictures(hood())
    assert report.plan_view is not None
    scale = (region_drawn(drawn, clip).area / report.plan_view.region.area) ** 0.5
    radius = report.cutter_diameter / 2 * scale
    (limit,) = strings(drawn, "margin", clip)
    (wall,) = strings(drawn, "kept", clip)
    ways = [*strings(drawn, "pass", clip), *strings(drawn, "between", clip)]
    nearest = min(way.distance(limit) for way in ways)
    assert radius - 2 * UNIT <= nearest <= radius + 5 * UNIT
    (side,) = report.passes[-1].sides
    assert side.flank is not None
    assert wall.distance(limit) / scale == pytest.approx(side.flank, abs=2 * UNIT / scale)


def test_it_lies_as_on_the_table_and_the_first_place_is_where_the_program_comes_down() -> None:
    made = end()
    ((report, _),) = step_down_pictures(made)
    (told,) = [text for text, _ in words(root(made)) if text.startswith("A at")]
    (program,) = made.programs
    lines = write_program(program, made.dialect).splitlines()
    first = next(line for line in lines if re.match(r"G0 X\S+ Y\S+", line))
    x, y = (float(v) for v in re.findall(r"[XY](\S+)", first))
    shown = [float(v.replace("\N{MINUS SIGN}", "-")) for v in re.findall(r"[XY] (\S+?)[,:]", told)]
    assert shown == pytest.approx([x, y], abs=0.0026)  # half of the readout's step
    square = end(setup={})
    assert report.plan_view == step_down_pictures(square)[0][0].plan_view, "the plan itself stays on the part"
    assert root(square).find(".//*[@class='bar']") is not None
    drawn, straight = (region_drawn(root(p), windows(root(p))[0]) for p in (made, square))
    assert straight.minimum_rotated_rectangle.area == pytest.approx(straight.envelope.area, rel=1e-6)
    assert drawn.envelope.area > 1.2 * drawn.area, "turned as it lies on the table"


def test_the_least_distance_is_told_where_the_readout_shows_it() -> None:
    made = end()
    least = made.step_downs[0].least
    assert least is not None
    assert table_motion(made).apply(least.xy_part) == pytest.approx(least.xy_machine)
    assert least.xy_part != pytest.approx(least.xy_machine)


def test_it_is_on_the_sheet_in_the_notebook_and_a_file_of_its_own() -> None:
    assert FILE in picture_files(hood())
    name = "Step-down &#34;left end of the rail&#34;"
    assert name in run_sheet(hood())
    assert show_cuts(hood())._repr_html_().count("<img") == 5


@pytest.mark.parametrize(
    "more",
    [
        pytest.param({"region": None, "open_sides": None}, id="no region"),
        pytest.param({"service": "pressure"}, id="withheld"),
    ],
)
def test_without_a_region_or_where_nothing_is_decided_there_is_no_picture(more: dict[str, Any]) -> None:
    assert FILE not in picture_files(end(**more))


def test_every_line_has_its_stroke_on_paper_too() -> None:
    looks = {(e.get("class") or "").split()[0] for e in root(hood()).iter() if e.tag.endswith(("path", "line"))}
    assert looks - {"left", "bar"} <= set(WIDTHS)


@pytest.mark.parametrize("name", ["</svg><script>alert(1)</script>", '" onload="alert(1)', "W" * 80, "../../x"])
def test_a_name_stays_a_name(name: str) -> None:
    ((_, canvas),) = step_down_pictures(end(name=name))
    text = canvas.standalone()
    assert_words_apart(text)
    tags = {e.tag.rpartition("}")[2] for e in root_of(text).iter()}
    assert tags <= {"svg", "title", "style", "rect", "clipPath", "path", "line", "circle", "polygon", "text", "g"}
    assert not any(key.startswith("on") for e in root_of(text).iter() for key in e.attrib)
