"""Drawings out and in, held against the DXF driver of a general-purpose GIS library (GDAL, by pyogrio), to a micron.

That driver writes every arc and circle as a chain of points that lie on it, and every spline as points of the curve; it
leaves the numbers in the drawing's own unit.
"""

from __future__ import annotations

import io
import math
from collections import defaultdict
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from pyogrio import raw

from holecam.errors import InputError
from holecam.job.drawings import USUAL_TOLERANCE, read_drawing
from holecam.job.models import job_from_dict
from holecam.job.models_shape import DrawingFile
from holecam.job.reader import read_job
from holecam.output.layout_drawing import layout_dxf
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan, make_plans
from holecam.shapes import Arc, Curve, Segment

EXAMPLES = Path(__file__).parents[2] / "examples"
MICRON = 0.001
"""mm."""

SPLINE_SAMPLING = 0.5
"""Units by which the other reader's chain of a spline may cut across the curve between its 40 points."""

Points = NDArray[np.float64]


def entities(file: Path) -> dict[str, list[Any]]:
    """Return the geometries of a drawing by layer, as the other reader gives them."""
    meta, _, geometries, fields = raw.read(file)
    layers = fields[list(meta["fields"]).index("Layer")]
    found: dict[str, list[Any]] = defaultdict(list)
    for layer, geometry in zip(layers, geometries, strict=True):
        found[str(layer)].append(shapely.from_wkb(geometry))
    return found


def points_of(geometry: Any) -> Points:
    return np.asarray(shapely.get_coordinates(geometry), dtype=np.float64)


def circle_of(geometry: Any) -> tuple[float, float, float]:
    """Return centre and radius of a chain that stands for a full circle; all its points have to lie on it."""
    points = points_of(geometry)
    assert len(points) > 40
    assert np.allclose(points[0], points[-1], atol=1e-9)
    # points are spread evenly: their mean is the centre
    centre = points[:-1].mean(axis=0)
    radii = np.hypot(*(points - centre).T)
    assert float(np.ptp(radii)) < 1e-9
    return float(centre[0]), float(centre[1]), float(radii.mean())


def agree(seen: Any, wanted: Any) -> None:
    """Each row of figures has its one partner to a micron, in whatever order."""
    rows = [np.asarray(r, dtype=np.float64) for r in seen]
    assert len(rows) == len(wanted)
    for row in wanted:
        nearest = min(range(len(rows)), key=lambda i: float(np.abs(rows[i] - row).max()))
        assert rows.pop(nearest) == pytest.approx(np.asarray(row), abs=MICRON)


def off_curve(curve: Curve, points: Points) -> Points:
    """Return how far points lie from a segment or an arc, its ends included."""
    if isinstance(curve, Segment):
        line = shapely.LineString([curve.start, curve.end])
        return np.asarray(shapely.distance(line, shapely.points(points)))
    centre = np.array(curve.center)
    angles = np.arctan2(*(points - centre).T[::-1])
    along = (angles - curve.start_angle) * (1 if curve.sweep > 0 else -1)
    along = np.mod(along + 1e-6, 2 * math.pi) - 1e-6
    on = along <= abs(curve.sweep) + 1e-6
    ends = np.minimum(np.hypot(*(points - curve.start).T), np.hypot(*(points - curve.end).T))
    return np.where(on, np.abs(np.hypot(*(points - centre).T) - curve.radius), ends)


def plan_with_arcs(unit: str) -> Plan:
    """A bracket with rounded corners, a round opening, old holes and holes at odd places, in either unit."""
    per = 25.4 if unit == "in" else 1.0

    def length(mm: float) -> str:
        return f"{mm / per:.7f}"

    def place(x: float, y: float) -> list[str]:
        return [length(x), length(y)]

    steps = [
        place(0, 0),
        {"to": place(90.123, 0), "rounded": length(7.77)},
        place(90.123, 55),
        {"arc_to": place(20, 55), "through": place(55, 63.5)},
        place(0, 40),
    ]
    return make_plan(
        job_from_dict(
            {
                "title": "bracket (invented)",
                "unit": unit,
                "part": {"material": "brass", "thickness": length(5), "datum": "corner", "outline": {"points": steps}},
                "machine": {"kind": "cnc"},
                "tools": {"drills": ["metric"]},
                "old_holes": [
                    {"points": [place(70.25, 40.5)], "diameter": length(4), "plug": "brass screw, soft soldered"},
                    {"name": "open", "points": [place(20.75, 12.125)], "diameter": length(3.175)},
                ],
                "pattern": [
                    {
                        "name": "ring",
                        "circle": {"count": 7, "diameter": length(22.2)},
                        "place": {"centre": place(45.678, 27.891)},
                        "drill": "3 mm",
                    }
                ],
            }
        )
    )


def written(plan: Plan, folder: Path) -> Path:
    file = folder / "layout.dxf"
    file.write_text(layout_dxf(plan), encoding="utf-8")
    return file


def plans() -> list[tuple[str, Any]]:
    return [
        *((name, lambda n=name: make_plans(read_job(EXAMPLES / n / "job.toml"))[0]) for name in EXAMPLE_NAMES),
        *((f"bracket in {unit}", lambda u=unit: plan_with_arcs(u)) for unit in ("mm", "in")),
    ]


EXAMPLE_NAMES = ("lantern-hood", "pump-cover", "signal-pair")


@pytest.mark.outside_check(
    subject="drawings out",
    source="GDAL's DXF driver, by pyogrio",
    closeness="0.001 mm",
    standing="library",
)
@pytest.mark.parametrize(("name", "make"), plans())
def test_holes_of_the_drawing_are_where_another_reader_finds_them(name: str, make: Any, tmp_path: Path) -> None:
    plan = make()
    per = 25.4 if plan.unit == "in" else 1.0
    found = entities(written(plan, tmp_path))
    circles = [circle_of(g) for layer in ("NEW_HOLES", "NEW_HOLES_WITHHELD") for g in found[layer]]
    wanted = [(*h.xy_part, h.finished_diameter / 2) for h in plan.holes]
    assert len(circles) == len(wanted) > 0
    agree(np.array(circles) * per, wanted)
    agree([points_of(g)[0] * per for g in found["CENTRES"]], [h.xy_part for h in plan.holes])
    for layer, plugged in (("OLD_HOLES_FILLED", True), ("OLD_HOLES_OPEN", False)):
        old = [(*h.xy_part, h.diameter / 2) for h in plan.standing_holes if bool(h.plug) == plugged]
        agree([np.array(circle_of(g)) * per for g in found[layer]], old)


@pytest.mark.outside_check(
    subject="drawings out",
    source="GDAL's DXF driver, by pyogrio: lines and arcs",
    closeness="0.001 mm",
    standing="library",
)
@pytest.mark.parametrize(("name", "make"), plans())
def test_lines_and_arcs_of_the_outline_are_where_another_reader_finds_them(
    name: str, make: Any, tmp_path: Path
) -> None:
    plan = make()
    per = 25.4 if plan.unit == "in" else 1.0
    assert plan.part.outline is not None
    curves = plan.part.outline.curves
    chains = [points_of(g) * per for g in entities(written(plan, tmp_path))["OUTLINE"]]
    assert len(chains) == len(curves)
    left = list(curves)
    for chain in chains:
        # each chain is one curve of the outline: all its points on it, from its one end to its other
        (mine,) = [c for c in left if float(off_curve(c, chain).max()) < MICRON and _same_ends(c, chain)]
        left.remove(mine)
    assert not left


def _same_ends(curve: Curve, chain: Points) -> bool:
    if isinstance(curve, Arc) and abs(curve.sweep) > 2 * math.pi - 1e-9:
        return math.dist(chain[0], chain[-1]) < MICRON  # a whole circle has no ends of its own
    straight = math.dist(curve.start, chain[0]) + math.dist(curve.end, chain[-1])
    turned = math.dist(curve.start, chain[-1]) + math.dist(curve.end, chain[0])
    return min(straight, turned) < MICRON


@pytest.mark.parametrize(("name", "make"), plans())
def test_no_curve_of_the_outline_is_left_out(name: str, make: Any, tmp_path: Path) -> None:
    plan = make()
    per = 25.4 if plan.unit == "in" else 1.0
    assert plan.part.outline is not None
    drawn = sum(float(shapely.length(g)) * per for g in entities(written(plan, tmp_path))["OUTLINE"])
    # chords of 4 degrees are shorter than their arc by 2e-4
    length = sum(c.length for c in plan.part.outline.curves)
    assert length * (1 - 3e-4) < drawn <= length + MICRON


def drawn_part(unit: int) -> Any:
    """Return a drawing by ezdxf: lines, arcs, bulges, a spline, circles, and a block that is scaled and turned."""
    document = ezdxf.new("R2010", units=unit)
    space = document.modelspace()
    space.add_lwpolyline(
        [(0, 0, 0), (80, 0, 0.25), (90, 30, -0.4), (80, 50, 0), (0, 50, 0.1)], format="xyb", close=True
    ).dxf.layer = "BULGES"
    space.add_arc((20, 20), 12.5, 30, 250, dxfattribs={"layer": "ARC"})
    space.add_open_spline([(0, 0), (30, 60), (60, -20), (80, 40), (90, 90)], dxfattribs={"layer": "SPLINE"})
    block = document.blocks.new("HOLES")
    for x in (0.0, 5.0, 12.5):
        block.add_circle((x, 1.5), 1.25)
    look = {"layer": "BLOCK", "rotation": 37.0, "xscale": 2.0, "yscale": 2.0, "zscale": 2.0}
    space.add_blockref("HOLES", (11.0, 7.0), dxfattribs=look)
    return document


@pytest.mark.outside_check(
    subject="drawings in",
    source="GDAL's DXF driver, by pyogrio: bulges, arcs, splines, blocks scaled and turned, in mm and inches",
    closeness="0.001 mm",
    standing="library",
)
@pytest.mark.parametrize(("unit", "per"), [(4, 1.0), (1, 25.4)])
def test_drawings_are_read_as_another_reader_reads_them(unit: int, per: float, tmp_path: Path) -> None:
    drawn_part(unit).saveas(tmp_path / "part.dxf")
    other = entities(tmp_path / "part.dxf")

    def read(layer: str) -> Any:
        return read_drawing(DrawingFile.model_validate({"file": "part.dxf", "layer": layer}), folder=str(tmp_path))

    for layer, arcs in (("BULGES", 3), ("ARC", 1)):
        ours = read(layer)
        curves = ours.outlines[0].curves if ours.outlines else ours.paths[0]
        assert sum(isinstance(c, Arc) for c in curves) == arcs
        points = np.concatenate([points_of(g) for g in other[layer]]) * per
        away = np.min([off_curve(c, points) for c in curves], axis=0)
        assert float(away.max()) < MICRON
    chain = read("SPLINE").paths[0]
    ours = shapely.LineString([chain[0].start, *(c.end for c in chain)])
    theirs = shapely.LineString(points_of(other["SPLINE"][0]) * per)
    # the points of the other reader lie on the curve; our chain keeps within 0.005 mm of it
    spots = shapely.points(shapely.get_coordinates(theirs))
    assert len(spots) >= 40
    assert float(shapely.distance(ours, spots).max()) < USUAL_TOLERANCE + MICRON
    for end, other_end in ((chain[0].start, theirs.coords[0]), (chain[-1].end, theirs.coords[-1])):
        assert end == pytest.approx(other_end[:2], abs=MICRON)
    # and where ours goes, theirs goes: no part of the curve is left out
    corners = shapely.points(shapely.get_coordinates(ours))
    assert float(shapely.distance(theirs, corners).max()) < SPLINE_SAMPLING * per
    seen = [(*c.center, c.radius) for c in read("BLOCK").circles]
    parts = [p for g in other["BLOCK"] for p in shapely.get_parts(g)]
    assert len(parts) == 3
    agree([np.array(circle_of(p)) * per for p in parts], seen)


def test_a_drawing_without_a_unit_is_refused_though_the_other_reader_takes_it(tmp_path: Path) -> None:
    drawn_part(0).saveas(tmp_path / "part.dxf")
    assert entities(tmp_path / "part.dxf")["ARC"]
    with pytest.raises(InputError, match="unit"):
        read_drawing(DrawingFile.model_validate({"file": "part.dxf", "layer": "ARC"}), folder=str(tmp_path))
    stated = {"file": "part.dxf", "layer": "ARC", "drawing_unit": "in"}
    (arc,) = read_drawing(DrawingFile.model_validate(stated), folder=str(tmp_path)).paths[0]
    assert isinstance(arc, Arc)
    assert arc.radius == pytest.approx(12.5 * 25.4, abs=1e-9)


def test_the_drawing_of_a_plan_is_read_back_by_the_job_reader_itself(tmp_path: Path) -> None:
    plan = plan_with_arcs("in")
    written(plan, tmp_path)
    drawing = DrawingFile.model_validate({"file": "layout.dxf", "layer": "OUTLINE"})
    outline, islands = read_drawing(drawing, folder=str(tmp_path)).outline_and_islands()
    assert islands == ()
    assert plan.part.outline is not None
    assert outline.area == pytest.approx(plan.part.outline.area, rel=1e-9)
    assert ezdxf.read(io.StringIO(layout_dxf(plan))).header["$INSUNITS"] == 1
