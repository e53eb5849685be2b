"""Drawings in: outlines, open lines and circles out of DXF files that ezdxf writes, and files that nobody wrote well.

Sizes are computed by hand beside each drawing; ezdxf (a general-purpose DXF library) serves as the pen.
"""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.document import Drawing
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.job.drawings import Drawn, holes_in, read_drawing
from holecam.job.models_pattern import DrawnCircles
from holecam.job.models_shape import DrawingFile, Region
from holecam.job.outlines import outline_of, shape_of
from holecam.shapes import Arc, Segment

MM = 4
INCH = 1


def _new(units: int = MM) -> Drawing:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = units
    return document


def _saved(document: Drawing, folder: Path, name: str = "part.dxf") -> Path:
    path = folder / name
    document.saveas(path)
    return path


def _read(document: Drawing, folder: Path, **keys: Any) -> Drawn:
    _saved(document, folder)
    return read_drawing(DrawingFile.model_validate({"file": "part.dxf", **keys}), folder=str(folder))


def test_what_the_library_says_of_a_damaged_drawing_is_kept_and_no_line_on_the_terminal(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """The end of a block is misspelled: the library leaves content out. The outline of 50 x 30 is still whole."""
    document = _new()
    document.modelspace().add_lwpolyline([(0, 0), (50, 0), (50, 30), (0, 30)], close=True)
    path = _saved(document, tmp_path)
    whole = path.read_text("utf-8")
    path.write_text(whole.replace("ENDBLK", "XNDBLK"), "utf-8")
    drawn = read_drawing(DrawingFile.model_validate({"file": "part.dxf"}), folder=str(tmp_path))
    assert drawn.outlines[0].area == pytest.approx(1500)
    assert drawn.damage == (
        "part.dxf: a part of it is damaged and was left out (Missing required ENDBLK, ignoring content).",
    )
    assert not caplog.records  # nothing went on to the terminal
    path.write_text(whole, "utf-8")
    again = read_drawing(DrawingFile.model_validate({"file": "part.dxf"}), folder=str(tmp_path))
    assert again.damage == ()


def test_a_polyline_with_bulges_stays_arcs(tmp_path: Path) -> None:
    """A slot of length 30 between centres and 10 wide: 30 x 10 + pi 5^2."""
    document = _new()
    points = [(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)]
    document.modelspace().add_lwpolyline(points, format="xyb", close=True)
    drawn = _read(document, tmp_path)
    (outline,) = drawn.outlines
    assert sorted(type(c).__name__ for c in outline.curves) == ["Arc", "Arc", "Segment", "Segment"]
    assert outline.area == pytest.approx(300 + math.pi * 25, abs=1e-9)
    assert outline.signed_area > 0
    assert drawn.off_by == 0.0


@pytest.mark.outside_check(
    subject="drawings in",
    source="DXF reference: bulge = tan(angle / 4); ezdxf writes the file",
    closeness="1e-9",
    standing="library",
)
@pytest.mark.parametrize(
    ("bulge", "sweep_deg"), [(0.2, 45.24), (1.0, 180.0), (2.5, 272.79), (-0.4142135623730951, -90.0)]
)
def test_bulge_is_the_tangent_of_a_quarter_of_the_angle(tmp_path: Path, bulge: float, sweep_deg: float) -> None:
    document = _new()
    document.modelspace().add_lwpolyline([(0, 0, bulge), (10, 4, 0)], format="xyb")
    (path,) = _read(document, tmp_path).paths
    (arc,) = path
    assert isinstance(arc, Arc)
    assert math.degrees(arc.sweep) == pytest.approx(sweep_deg, abs=0.01)
    assert (arc.start, arc.end) == ((0.0, 0.0), (10.0, 4.0))
    assert math.tan(abs(arc.sweep) / 4) == pytest.approx(abs(bulge), rel=1e-9)


def test_loose_lines_and_arcs_are_chained(tmp_path: Path) -> None:
    """A half-round plate 10 wide, 5 high below the round: 50 + pi 5^2 / 2; drawn in no order and both ways."""
    document = _new()
    space = document.modelspace()
    space.add_arc((5, 5), 5, 0, 180)
    space.add_line((10, 0), (0, 0))
    space.add_line((0, 5), (0, 0.004))
    space.add_line((10, 0), (10, 5))
    drawn = _read(document, tmp_path)
    (outline,) = drawn.outlines
    assert outline.area == pytest.approx(50 + math.pi * 12.5, abs=0.03)
    (arc,) = [c for c in outline.curves if isinstance(c, Arc)]
    assert arc.radius == pytest.approx(5, abs=1e-12)
    assert any("up to 0.0040 mm apart were joined" in note for note in drawn.notes)
    with pytest.raises(InputError, match=r"found an open line from .* \(0\.0040 mm apart\)\. Close it, or raise gap"):
        _read(document, tmp_path, gap=Fraction(1, 1000)).outline_and_islands()


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (4, 1.0), (5, 10.0), (9, 0.0254), (13, 0.001), (14, 100.0)])
def test_units_of_the_header(tmp_path: Path, code: int, mm: float) -> None:
    document = _new(code)
    document.modelspace().add_circle((1, 2), 3)
    (circle,) = _read(document, tmp_path).circles
    assert circle.center == pytest.approx((mm, 2 * mm))
    assert circle.radius == pytest.approx(3 * mm)


def test_a_drawing_that_does_not_say_its_unit(tmp_path: Path) -> None:
    for document in (_new(0), ezdxf.new("R12")):
        document.modelspace().add_circle((1, 2), 3)
        with pytest.raises(InputError, match=r'says its unit; it does not. Add drawing_unit = "in", "mm" or "cm"'):
            _read(document, tmp_path)
        assert _read(document, tmp_path, drawing_unit="in").circles[0].radius == pytest.approx(76.2)


def test_a_unit_that_contradicts_the_drawing(tmp_path: Path) -> None:
    document = _new(MM)
    document.modelspace().add_circle((1, 2), 3)
    with pytest.raises(InputError, match=r"agree with the drawing, which says mm.*overrule_unit = true"):
        _read(document, tmp_path, drawing_unit="in")
    drawn = _read(document, tmp_path, drawing_unit="in", overrule_unit=True)
    assert drawn.circles[0].radius == pytest.approx(76.2)
    assert "the job overrules it with in" in drawn.notes[0]


def test_shift_turn_and_mirror_of_a_drawing(tmp_path: Path) -> None:
    document = _new(INCH)
    document.modelspace().add_circle((1, 2), 0.5)
    moved = _read(document, tmp_path, mirror=True, turn_deg=90.0, shift=[Fraction(10), Fraction(20)])
    # (25.4, 50.8) mirrored to (-25.4, 50.8), turned to (-50.8, -25.4), shifted by (10, 20)
    assert moved.circles[0].center == pytest.approx((-40.8, -5.4), abs=1e-9)


def test_blocks_are_opened_up_with_scale_turn_and_layer(tmp_path: Path) -> None:
    document = _new()
    document.layers.add("HOLES")
    inner = document.blocks.new("HOLE")
    inner.add_circle((0, 0), 1, dxfattribs={"layer": "0"})
    outer = document.blocks.new("PAIR")
    outer.add_blockref("HOLE", (10, 0), dxfattribs={"layer": "0", "xscale": 2, "yscale": 2})
    outer.add_blockref("HOLE", (-10, 0), dxfattribs={"layer": "0"})
    document.modelspace().add_blockref("PAIR", (100, 50), dxfattribs={"layer": "HOLES", "rotation": 90})
    drawn = _read(document, tmp_path, layer="holes")
    found = sorted((round(c.center[0], 9), round(c.center[1], 9), round(c.radius, 9)) for c in drawn.circles)
    assert found == [(100.0, 40.0, 1.0), (100.0, 60.0, 2.0)]
    assert drawn.layers == ("HOLES",)


def test_a_circle_in_a_squeezed_block_is_an_ellipse(tmp_path: Path) -> None:
    document = _new()
    document.blocks.new("HOLE").add_circle((0, 0), 10)
    document.modelspace().add_blockref("HOLE", (0, 0), dxfattribs={"xscale": 1, "yscale": 0.5})
    drawn = _read(document, tmp_path, tolerance=Fraction(1, 1000))
    (outline,) = drawn.outlines
    assert not drawn.circles
    assert outline.bounds == pytest.approx((-10, -5, 10, 5), abs=0.001)
    assert math.pi * 50 - 0.05 < outline.area < math.pi * 50
    assert "1 ellipse replaced by straight lines that lie at most 0.001 mm off, on the hollow side" in drawn.notes[1]


def test_blocks_in_blocks_without_end_are_refused(tmp_path: Path) -> None:
    document = _new()
    document.blocks.new("B0").add_line((0, 0), (1, 0))
    for level in range(1, 12):
        block = document.blocks.new(f"B{level}")
        for n in range(10):
            block.add_blockref(f"B{level - 1}", (n, level))
    document.modelspace().add_blockref("B11", (0, 0))
    with pytest.raises(InputError, match="at most 20000 entities, found more"):
        _read(document, tmp_path)

    repeated = _new()
    repeated.blocks.new("B").add_line((0, 0), (1, 0))
    many = {"row_count": 30000, "column_count": 30000, "row_spacing": 1, "column_spacing": 1}
    repeated.modelspace().add_blockref("B", (0, 0), dxfattribs=many)
    with pytest.raises(InputError, match="a block repeated 900000000 times"):
        _read(repeated, tmp_path)


def test_a_block_that_holds_itself(tmp_path: Path) -> None:
    document = _new()
    block = document.blocks.new("LOOP")
    block.add_line((0, 0), (1, 0))
    block.add_blockref("LOOP", (1, 0))
    document.modelspace().add_blockref("LOOP", (0, 0))
    with pytest.raises(InputError, match="at most 16 deep"):
        _read(document, tmp_path)


def test_repeated_blocks_are_read(tmp_path: Path) -> None:
    document = _new()
    document.blocks.new("B").add_circle((0, 0), 1)
    attributes = {"row_count": 2, "column_count": 3, "row_spacing": 10, "column_spacing": 20}
    document.modelspace().add_blockref("B", (0, 0), dxfattribs=attributes)
    centres = sorted(tuple(round(v, 9) for v in c.center) for c in _read(document, tmp_path).circles)
    assert centres == [(0, 0), (0, 10), (20, 0), (20, 10), (40, 0), (40, 10)]


def test_entities_drawn_from_below_are_mirrored(tmp_path: Path) -> None:
    """Extrusion 0, 0, -1: the entity's own x points left (DXF reference, object coordinate systems)."""
    document = _new()
    space = document.modelspace()
    down = {"extrusion": (0, 0, -1)}
    space.add_circle((10, 5), 2, dxfattribs=down)
    space.add_arc((10, 20), 4, 0, 90, dxfattribs=down)
    space.add_lwpolyline([(10, 40, 1), (20, 40, 0)], format="xyb", dxfattribs=down)
    drawn = _read(document, tmp_path)
    assert drawn.circles[0].center == (-10, 5)
    curves = [c for path in drawn.paths for c in path]
    quarter = next(c for c in curves if isinstance(c, Arc) and abs(c.radius - 4) < 1e-9)
    ends = sorted([quarter.start, quarter.end])
    assert ends[0] == pytest.approx((-14, 20))
    assert ends[1] == pytest.approx((-10, 24))
    assert quarter.point_at(0.5) == pytest.approx((-10 - 4 / math.sqrt(2), 20 + 4 / math.sqrt(2)))
    half = next(c for c in curves if isinstance(c, Arc) and abs(c.radius - 5) < 1e-9)
    # Bulge 1 from (10, 40) to (20, 40) passes below at y 35; seen from the other side it still does
    assert half.point_at(0.5) == pytest.approx((-15, 35))


def test_old_style_polylines_and_flat_3d_ones(tmp_path: Path) -> None:
    document = ezdxf.new("R12")
    space = document.modelspace()
    space.add_polyline2d([(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)], format="xyb", close=True)
    space.add_polyline3d([(100, 0, 0), (110, 0, 0), (110, 10, 0)], close=True)
    drawn = _read(document, tmp_path, drawing_unit="mm")
    assert [round(o.area, 6) for o in drawn.outlines] == [round(300 + math.pi * 25, 6), 50.0]


def test_a_circle_drawn_as_a_polyline_is_a_circle(tmp_path: Path) -> None:
    document = _new()
    document.modelspace().add_lwpolyline([(-5, 3, 1), (5, 3, 1)], format="xyb", close=True)
    drawn = _read(document, tmp_path)
    assert drawn.circles[0].center == pytest.approx((0, 3))
    assert drawn.circles[0].radius == pytest.approx(5)


def test_islands_and_too_many_outlines(tmp_path: Path) -> None:
    document = _new()
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 50), (0, 50)], close=True)
    space.add_circle((20, 20), 5)
    _saved(document, tmp_path)
    region = Region.model_validate({"drawing": "part.dxf"})
    shaped = shape_of(region, folder=str(tmp_path))
    assert shaped.outline.area == pytest.approx(5000)
    assert [round(i.area, 6) for i in shaped.islands] == [round(math.pi * 25, 6)]
    with pytest.raises(InputError, match="one closed outline, found 1 more inside it"):
        outline_of(region, folder=str(tmp_path))
    space.add_circle((200, 20), 5)
    with pytest.raises(InputError, match="one outermost outline, found two"):
        _read(document, tmp_path).outline_and_islands()


def test_branching_lines_are_refused_with_their_place(tmp_path: Path) -> None:
    document = _new()
    space = document.modelspace()
    for end in ((10, 0), (0, 10), (-10, 0)):
        space.add_line((5, 5), end)
    with pytest.raises(
        InputError, match=r"part\.dxf: expected at most two ends at one place, found 3 at 5\.0000, 5\.0000"
    ):
        _read(document, tmp_path)


def test_lines_drawn_twice_count_once(tmp_path: Path) -> None:
    document = _new()
    space = document.modelspace()
    corners = [(0, 0), (10, 0), (10, 10), (0, 10)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        space.add_line(a, b)
        space.add_line(b, a)
    space.add_circle((5, 5), 1)
    space.add_circle((5, 5), 1)
    drawn = _read(document, tmp_path)
    assert [round(o.area, 6) for o in drawn.outlines] == [100.0, round(math.pi, 6)]
    assert any("4 lines that were drawn twice count once" in n for n in drawn.notes)


def test_hidden_layers_and_texts_are_left_out_and_told(tmp_path: Path) -> None:
    document = _new()
    document.layers.add("OFF").off()
    document.layers.add("FROZEN").freeze()
    space = document.modelspace()
    space.add_circle((0, 0), 1)
    space.add_circle((10, 0), 1, dxfattribs={"layer": "OFF"})
    space.add_circle((20, 0), 1, dxfattribs={"layer": "FROZEN"})
    space.add_text("hello")
    drawn = _read(document, tmp_path)
    assert [c.center[0] for c in drawn.circles] == [0]
    assert any("2 entities on hidden layers" in n for n in drawn.notes)
    assert any("left out: 1 TEXT" in n for n in drawn.notes)
    assert [c.center[0] for c in _read(document, tmp_path, layer="off").circles] == [10]


def test_layers_that_do_not_exist_or_hold_nothing(tmp_path: Path) -> None:
    document = _new()
    for name in ("EDGE", "NOTES"):
        document.layers.add(name)
    document.modelspace().add_circle((0, 0), 1, dxfattribs={"layer": "EDGE"})
    with pytest.raises(
        InputError, match=r'found no layer "EGDE". Did you mean "EDGE"\? Layers that hold something: "EDGE"'
    ):
        _read(document, tmp_path, layer="EGDE")
    with pytest.raises(InputError, match='found nothing on layer "NOTES"'):
        _read(document, tmp_path, layer="NOTES")


def test_entities_that_are_no_outline_are_named(tmp_path: Path) -> None:
    document = _new()
    document.modelspace().add_3dface([(0, 0, 0), (1, 0, 0), (1, 1, 0)])
    with pytest.raises(InputError, match=r"found 3DFACE\. Explode it"):
        _read(document, tmp_path)


def test_heights_and_tilted_planes_are_refused(tmp_path: Path) -> None:
    document = _new()
    document.modelspace().add_line((0, 0, 0), (10, 0, 5))
    with pytest.raises(InputError, match=r"a plane drawing, found heights from 0\.0000 to 5\.0000 mm"):
        _read(document, tmp_path)
    tilted = _new()
    tilted.modelspace().add_circle((0, 0), 3, dxfattribs={"extrusion": (0, 1, 1)})
    with pytest.raises(InputError, match="tilted plane"):
        _read(tilted, tmp_path)
    level = _new()
    level.modelspace().add_line((0, 0, 7), (10, 0, 7))
    assert _read(level, tmp_path).paths[0] == (Segment((0, 0), (10, 0)),)


def test_sizes_beyond_ten_metres_are_a_slip_of_unit(tmp_path: Path) -> None:
    document = _new(6)
    document.modelspace().add_line((0, 0), (50, 0))
    with pytest.raises(InputError, match="sizes of at most 10 m, found a point at 50000"):
        _read(document, tmp_path)


# Circles as holes


def _plate(folder: Path) -> None:
    document = _new()
    space = document.modelspace()
    for x, y, r in ((30, 0, 2.5), (10, 0, 2.5), (20, 5, 1.0), (10, 0, 2.5), (0, 9, 2.503)):
        space.add_circle((x, y), r)
    _saved(document, folder)


def _holes(folder: Path, **keys: Any) -> list[tuple[float, float]]:
    wanted = DrawnCircles.model_validate({"file": "part.dxf", **keys})
    return [c.center for c in holes_in(wanted, folder=str(folder))]


def test_circles_by_diameter_and_order(tmp_path: Path) -> None:
    _plate(tmp_path)
    assert _holes(tmp_path, diameter=Fraction(5)) == [(30, 0), (10, 0), (0, 9)]
    assert _holes(tmp_path, diameter=Fraction(5), diameter_within=Fraction(1, 1000)) == [(30, 0), (10, 0)]
    assert _holes(tmp_path, diameter=Fraction(5), order="left to right") == [(0, 9), (10, 0), (30, 0)]
    assert _holes(tmp_path, diameter=Fraction(5), order="bottom to top") == [(10, 0), (30, 0), (0, 9)]
    assert len(_holes(tmp_path)) == 4
    with pytest.raises(
        InputError, match=r"circles of 7\.0000 mm within 0\.01 mm, found 1 of 2\.0000 mm, 2 of 5\.0000 mm"
    ):
        _holes(tmp_path, diameter=Fraction(7))


def test_a_drawing_without_circles(tmp_path: Path) -> None:
    document = _new()
    document.modelspace().add_line((0, 0), (1, 0))
    _saved(document, tmp_path)
    with pytest.raises(InputError, match="expected circles, found none"):
        _holes(tmp_path)


# Files that nobody wrote well


def test_a_binary_drawing_reads_like_its_text(tmp_path: Path) -> None:
    document = _new()
    document.modelspace().add_lwpolyline([(0, 0, 0.3), (30, 0, 0), (30, 10, 0)], format="xyb", close=True)
    text = _read(document, tmp_path)
    document.saveas(tmp_path / "part.dxf", fmt="bin")
    binary = read_drawing(DrawingFile(file="part.dxf"), folder=str(tmp_path))
    assert binary.outlines == text.outlines


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "an empty file"),
        (b"AC1032\x00\x00", "a DWG file"),
        (b"PK\x03\x04", "another kind of file"),
        (b"hello\nworld\n", "cannot be read"),
        (b"  0\nSECTION\n", "cannot be read"),
        (b"\xff\xfe\x00", "cannot be read"),
        (b"0\n" * 100_000, "cannot be read"),
    ],
)
def test_files_that_are_no_drawing(tmp_path: Path, content: bytes, said: str) -> None:
    (tmp_path / "part.dxf").write_bytes(content)
    with pytest.raises(InputError, match=said):
        read_drawing(DrawingFile(file="part.dxf"), folder=str(tmp_path))


def test_a_drawing_that_is_not_there(tmp_path: Path) -> None:
    _saved(_new(), tmp_path, "cover.dxf")
    with pytest.raises(InputError, match=r"expected a drawing, found no such file\. Did you mean .*cover\.dxf"):
        read_drawing(DrawingFile(file="covr.dxf"), folder=str(tmp_path))
    with pytest.raises(InputError, match="found a folder"):
        read_drawing(DrawingFile(file="."), folder=str(tmp_path))


def _sample() -> bytes:
    import io

    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = MM
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 0.3), (30, 0, 0), (30, 10, 0)], format="xyb", close=True)
    space.add_spline([(0, 0), (3, 4), (8, 1), (9, 9)])
    space.add_ellipse((5, 5), (3, 1), 0.4, 0.2, 3)
    space.add_circle((5, 5), 1)
    document.blocks.new("B").add_arc((0, 0), 2, 10, 80)
    space.add_blockref("B", (1, 1), dxfattribs={"rotation": 20})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


SAMPLE = _sample()


@settings(max_examples=40)
@given(st.data())
def test_damaged_drawings_give_a_message_and_nothing_else(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    folder = tmp_path_factory.mktemp("damaged")
    # Damage the entities and blocks rather than the long tables before them
    low = SAMPLE.index(b"BLOCKS")
    rows = SAMPLE[low:].split(b"\n")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(rows) - 1))
        change = data.draw(st.sampled_from(["drop", "double", "nan", "huge", "word", "cut", "negative"]))
        if change == "drop":
            del rows[at]
        elif change == "double":
            rows.insert(at, rows[at])
        elif change == "cut":
            rows = rows[: at + 1]
        else:
            values = {"nan": b"nan", "huge": b"1e308", "word": b"LINE", "negative": b"-1"}
            rows[at] = values[change]
    (folder / "part.dxf").write_bytes(SAMPLE[:low] + b"\n".join(rows))
    try:
        drawn = read_drawing(DrawingFile(file="part.dxf"), folder=str(folder))
    except InputError as error:
        assert str(error).startswith("part.dxf: expected")  # noqa: PT017  # both outcomes are right here
    else:
        assert all(math.isfinite(v) for o in drawn.outlines for v in o.bounds)


def test_a_message_spells_the_name_of_a_drawing_as_the_folder_does(tmp_path: Path) -> None:
    from holecam.errors import FileContentError
    from holecam.job.reader import read_job

    document = _new(0)
    document.modelspace().add_circle((30, 30), 2)
    _saved(document, tmp_path, "holes.dxf")
    text = 'title = "t"\nunit = "mm"\n[part]\nmaterial = "brass"\nthickness = 3\n'
    text += '[[pattern]]\nname = "p"\ndrawing = "holes.dxf"\ndrill = "4 mm"\n'
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    with pytest.raises(FileContentError, match=r"it does not\. holes\.dxf\. Add drawing_unit"):
        read_job(tmp_path / "job.toml")
