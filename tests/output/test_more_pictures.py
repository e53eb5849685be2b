"""Sections through step-downs and strips to remove: true figures, lines where they belong, inert text."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from picture_reading import assert_words_apart, of_class, polygons, root_of, strings, windows, words
from shapely.geometry import LineString, Polygon

from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.output.marking_picture import marking_pictures
from holecam.output.run_sheet import run_sheet
from holecam.output.section_picture import section_pictures
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan
from holecam.shapes import Curve

JOB = Path(__file__).parents[2] / "examples" / "lantern-hood" / "job.toml"
SVG = "{http://www.w3.org/2000/svg}"


@cache
def hood() -> Plan:
    return make_plan(read_job(JOB))


def test_the_section_draws_every_pass_above_the_hard_floor_and_that_above_the_sheet() -> None:
    ((report, canvas),) = section_pictures(hood())
    root = ElementTree.fromstring(canvas.standalone())
    (sheet,) = [e for e in root.iter(f"{SVG}rect") if e.attrib.get("class") == "bar named"]
    left, right = float(sheet.attrib["x"]), float(sheet.attrib["x"]) + float(sheet.attrib["width"])
    lines = [e.attrib for e in root.iter(f"{SVG}line") if e.attrib["y1"] == e.attrib["y2"]]
    passes = [
        float(e["y1"])
        for e in lines
        if e["class"] in ("pass", "gone") and (float(e["x1"]), float(e["x2"])) == (left, right)
    ]
    (hard,) = [float(e["y1"]) for e in lines if e["class"] == "axis" and float(e["x1"]) < left]
    assert len(passes) == len(report.passes)
    assert passes == sorted(passes), "deeper passes lie lower on the page"
    assert max(passes) < hard < float(sheet.attrib["y"])
    stops = [e for e in lines if e["class"] == "gone" and float(e["x1"]) == left]
    assert len(stops) == len(report.stops)


def test_the_spread_of_a_border_is_drawn_about_it() -> None:
    ((report, canvas),) = section_pictures(hood())
    root = ElementTree.fromstring(canvas.standalone())
    bands = [e.attrib for e in root.iter(f"{SVG}rect") if e.attrib.get("class") == "spread"]
    assert len(bands) == 2 * len(report.layers)
    sheet = next(e.attrib for e in root.iter(f"{SVG}rect") if e.attrib.get("class") == "bar named")
    top, bottom = float(bands[-1]["y"]), float(bands[-1]["y"]) + float(bands[-1]["height"])
    assert top < float(sheet["y"]) < bottom
    (hard,) = [
        float(e.attrib["y1"])
        for e in root.iter(f"{SVG}line")
        if e.attrib["class"] == "axis" and float(e.attrib["x1"]) < float(sheet["x"])
    ]
    assert hard == pytest.approx(top, abs=0.02), "the hard floor is the upper end of where the sheet may be"
    bars = [e.attrib for e in root.iter(f"{SVG}line") if e.attrib["class"] == "bar-line"]
    upright = [(float(e["y1"]), float(e["y2"])) for e in bars if e["x1"] == e["x2"]]
    assert len(upright) == 2
    lowest = max(y for pair in upright for y in pair)
    assert lowest == pytest.approx(float(sheet["y"]), abs=0.02), "the hard floor just reaches the sheet"


def test_no_words_of_a_section_lie_on_others() -> None:
    for plan in (hood(), bent()):
        ((_, canvas),) = section_pictures(plan)
        assert_words_apart(canvas.standalone())


BULL = {"name": "bull nose", "diameter": "6", "corner_radius": "0.5", "flute_length": "20"}


@cache
def bent(seen: str = "", at_z: str = "") -> Plan:
    """A bar on a sheet that turns up on two sides, with a small bend and a large one; what was seen at a look."""
    looks = [{"at_z": at_z, "seen": seen}] if seen else []
    name = "a step-down with a name that is far too long for the head of any picture, really"
    data: dict[str, Any] = {
        "title": "bends",
        "unit": "mm",
        "hand": "as drawn",
        "machine": {"kind": "manual", "readout": "0.005"},
        "tools": {"end_mills": [BULL]},
        "part": {
            "material": "brass",
            "thickness": 5,
            "datum": "corner",
            "outline": {"rectangle": [60, 30]},
        },
        "step_down": [
            {
                "name": name,
                "layers": [
                    {"is": "brass bar with a long description", "thick": 4, "within": "0.005"},
                    {"is": "soft solder", "thick": "0.2", "within": "0.01"},
                    {
                        "is": "copper sheet",
                        "thick": "0.6",
                        "within": "0.005",
                        "keep": True,
                    },
                ],
                "touch": {"on": "brass bar with a long description", "with": "lamp"},
                "bend": [
                    {"inside_radius": 3, "margin": "0.3"},
                    {"inside_radius": "0.05", "margin": "0.3", "wall_height": "1.5"},
                ],
                "cutter": "bull nose",
                "look": looks,
            }
        ],
    }
    return make_plan(job_from_dict(data))


def line_of(curves: Sequence[Curve]) -> LineString:
    return LineString([c.point_at(n / 400) for c in curves for n in range(401)])


@pytest.mark.parametrize("plan", [hood, bent])
def test_the_cutter_beside_a_bend_stands_where_the_formula_puts_it(plan: Callable[[], Plan]) -> None:
    """Design page, section 5: ``Rb - rc - sqrt((Rb - rc - g)^2 - (Rb - rc - h)^2) + m``; above ``Rb - rc``, ``g + m``.

    The drawn shapes are measured again by another geometry.
    """
    (report,) = plan().step_downs
    corner = report.corner_radius or 0.0
    limits = {(p.number, s.bend): s.flank for p in report.passes for s in p.sides}
    seen = 0
    for view in report.bend_views:
        g, m, inner = view.gap, view.margin, view.inside_radius - corner
        surface = line_of(view.surface)
        for cutter in view.cutters:
            h = cutter.height
            want = g + m if h >= inner else inner - math.sqrt((inner - g) ** 2 - (inner - h) ** 2) + m
            assert cutter.flank == pytest.approx(want, abs=1e-9)
            assert cutter.flank == limits[(cutter.number, view.bend)]
            outline = line_of(cutter.outline)
            assert outline.distance(surface) == pytest.approx(cutter.gap, abs=1e-5), "measured on the drawn shapes"
            assert math.dist(cutter.tooth, cutter.foot) == pytest.approx(cutter.gap, abs=1e-9)
            assert cutter.gap >= g - 1e-9
            # The line that no tooth crosses is touched, from the inner side
            limit = line_of(view.limit)
            assert outline.distance(limit) < 1e-3
            x, z = limit.coords[-1][0], limit.coords[0][1]
            inner_side = Polygon(
                [*limit.coords, (x + 99, limit.coords[-1][1]), (x + 99, z + 99), (limit.coords[0][0], z + 99)]
            )
            assert outline.difference(inner_side.buffer(1e-3)).length < 1e-6
            seen += 1
    assert seen >= 3


def test_the_drawn_bend_is_the_bend() -> None:
    ((report, canvas),) = section_pictures(hood())
    (view,) = report.bend_views
    root = root_of(canvas.standalone())
    (window,) = windows(root)
    (sheet,) = polygons(root, "bar", window)
    scale = None
    for element in of_class(root, "bar"):
        if element.get("clip-path"):
            radii = [float(r) for r in re.findall(r"A([\d.]+)", element.attrib["d"])]
            scale = min(radii) / view.inside_radius
            assert max(radii) / scale == pytest.approx(view.inside_radius + view.thickness, rel=1e-3)
    assert scale is not None
    for line, cutter in zip(
        strings(root, "pass", window) + strings(root, "wall-pass", window), view.cutters, strict=True
    ):
        assert line.distance(sheet) / scale == pytest.approx(cutter.gap, abs=0.03 / scale)


def test_after_a_look_the_band_of_the_sheet_is_what_is_believed_then() -> None:
    before, after = bent().step_downs[0], bent("bar", "-4.005").step_downs[0]
    assert after.passes
    assert after.believed_sheet_z < before.believed_sheet_z
    ((_, canvas),) = section_pictures(bent("bar", "-4.005"))
    text = [t for t, _ in words(root_of(canvas.standalone())) if t.startswith("sheet Z")]
    shown = (-after.believed_sheet_z, after.hard_floor - after.believed_sheet_z)
    assert text == ["sheet Z \N{MINUS SIGN}{:.3f} within {:.3f} mm".format(*shown)]
    assert_words_apart(canvas.standalone())


def test_a_hard_floor_is_not_rounded_to_the_step_of_the_readout() -> None:
    ((report, canvas),) = section_pictures(hood())
    told = next(text for text, _ in words(root_of(canvas.standalone())) if text.startswith("HARD FLOOR Z"))
    assert told == f"HARD FLOOR Z {report.hard_floor / 25.4:+.4f}"
    assert float(told.split()[-1]) * 25.4 == pytest.approx(report.hard_floor, abs=0.00005 * 25.4 + 1e-9)


def test_a_step_down_that_is_withheld_shows_no_floor_and_no_cutter() -> None:
    plan = bent("sheet", "-4.2")
    (report,) = plan.step_downs
    ((_, canvas),) = section_pictures(plan)
    assert not report.passes
    words_of_picture = [text for text, _ in words(root_of(canvas.standalone()))]
    assert not any("floor Z" in text or "FLOOR" in text for text in words_of_picture)
    assert not windows(root_of(canvas.standalone()))


def test_the_strip_to_remove_is_drawn_with_its_greatest_width() -> None:
    plan = hood()
    ((report, canvas),) = marking_pictures(plan)
    text = canvas.standalone()
    assert "at most 0.0600 in square to the line" in text
    assert text.count('class="barred"') == len(report.remove) + 1  # the strips, and the sample in the key


def test_the_page_holds_tables_and_pictures_of_all_of_them() -> None:
    page = run_sheet(hood())
    for told in (
        "HARD FLOOR",
        "MARKING OUT: nose of the former",
        "Section through left end of the rail",
        "SLOT &#34;",
    ):
        assert told in page
