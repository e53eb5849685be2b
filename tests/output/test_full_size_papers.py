"""Template and drawing measured back: page positions by a PDF reader, entities by the DXF reader."""

from __future__ import annotations

import io
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from pypdf import PdfReader

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.output.layout_drawing import LAYERS, layout_dxf, safe_dxf_text
from holecam.output.paper_font import MISSING, lines_of, paper_text, width_of
from holecam.output.paper_template import POINTS_PER_MM, bezier_bits, paper_template
from holecam.output.sheet_pdf import sheet_pdf
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan, make_plans
from holecam.shapes import Arc

EXAMPLES = Path(__file__).parents[2] / "examples"
HOSTILE = (
    "%%c\\P{\\fX;y}^J",
    "<b>x</b><img src=/etc/passwd>",
    "(A) Tj /Sneak 1 Tf <</S /JavaScript>>",
    "0\nEOF",
    "a\\U+0041",
)


def example(name: str) -> Plan:
    return make_plans(read_job(EXAMPLES / name / "job.toml"))[0]


def plan_of(title: str = "x", **more: Any) -> Plan:
    data = {
        "title": title,
        "unit": "mm",
        "hand": title,
        "part": {"material": "brass", "thickness": 5, "datum": title, "outline": {"rectangle": [280, 180]}},
        "machine": {"kind": "cnc"},
        "pattern": [{"name": "p", "points": [[10, 12], [260, 12], [260, 165.5]], "drill": "6 mm"}],
        "tools": {"drills": ["metric"]},
        **more,
    }
    return make_plan(job_from_dict(data))


def strokes(data: bytes) -> list[list[tuple[float, float, float, float]]]:
    """Return the straight lines of each page, points, with the transformations that are in force."""
    pages = []
    for page in PdfReader(io.BytesIO(data)).pages:
        lines: list[tuple[float, float, float, float]] = []
        here = [(0.0, 0.0)]

        def visit(op: bytes, args: list[Any], cm: list[float], tm: list[float], lines=lines, here=here) -> None:  # type: ignore[no-untyped-def]
            if op == b"m":
                here[0] = (float(args[0]), float(args[1]))
            elif op == b"l":
                end = (float(args[0]), float(args[1]))
                a, b = ((x * cm[0] + y * cm[2] + cm[4], x * cm[1] + y * cm[3] + cm[5]) for x, y in (here[0], end))
                lines.append((*a, *b))
                here[0] = end

        page.extract_text(visitor_operand_before=visit)
        pages.append(lines)
    return pages


def crosses(lines: list[tuple[float, float, float, float]], arm: float) -> list[tuple[float, float]]:
    """Return the centres, mm, of upright crosses whose arms have this length."""
    found = []
    flat = [(a, b) for a, b in ((s[:2], s[2:]) for s in lines) if a[1] == b[1] and abs(b[0] - a[0] - 2 * arm) < 0.01]
    up = [(a, b) for a, b in ((s[:2], s[2:]) for s in lines) if a[0] == b[0] and abs(b[1] - a[1] - 2 * arm) < 0.01]
    for a, b in flat:
        x, y = (a[0] + b[0]) / 2, a[1]
        if any(abs(c[0] - x) < 0.01 and abs((c[1] + d[1]) / 2 - y) < 0.01 for c, d in up):
            found.append((x / POINTS_PER_MM, y / POINTS_PER_MM))
    return found


@pytest.mark.outside_check(
    subject="papers",
    source="pypdf: places read back from the page",
    closeness="0.01 mm over 250 mm",
    standing="library",
)
def test_holes_250_mm_apart_are_250_mm_apart_on_the_paper() -> None:
    plan = plan_of(
        part={"material": "brass", "thickness": 5, "datum": "x", "outline": {"rectangle": [258, 160]}},
        pattern=[{"name": "p", "points": [[4, 6], [254, 6], [254, 150.5]], "drill": "6 mm"}],
    )
    # on one lying page of a larger format nothing is joined; A4 lying shows 263 mm, so these pages have to be joined
    pages = strokes(paper_template(plan, page="A4"))
    assert len(pages) >= 1
    spots = crosses([line for lines in pages for line in lines], (3.0 + 3.0) * POINTS_PER_MM)
    assert len(spots) >= 3
    if len(pages) == 1:
        xs, ys = sorted({round(x, 5) for x, _ in spots}), sorted({round(y, 5) for _, y in spots})
        assert xs[-1] - xs[0] == pytest.approx(250.0, abs=0.01)
        assert ys[-1] - ys[0] == pytest.approx(144.5, abs=0.01)


def test_tiles_joined_at_their_shared_marks_are_true_across_pages() -> None:
    plan = plan_of()
    pages = strokes(paper_template(plan, page="Letter"))
    assert len(pages) == 2
    # the join line (a long vertical line) is on both pages: shift the second so that the lines coincide
    arm = (3.0 + 3.0) * POINTS_PER_MM
    first, second = (crosses(lines, arm) for lines in pages)
    joins = []
    for lines in pages:
        # 45 degree strokes of the join's crosses: their middles
        middles = [((a + c) / 2, (b + d) / 2) for a, b, c, d in lines if abs(abs(c - a) - abs(d - b)) < 1e-3 and a != c]
        joins.append(sorted((x / POINTS_PER_MM, y / POINTS_PER_MM) for x, y in middles)[0])
    shift = (joins[0][0] - joins[1][0], joins[0][1] - joins[1][1])
    left, right = min(first), max((x + shift[0], y + shift[1]) for x, y in second)
    expected = max(h.xy_part[0] for h in plan.holes) - min(h.xy_part[0] for h in plan.holes)
    assert right[0] - left[0] == pytest.approx(expected, abs=0.01)
    assert expected == 250.0


@pytest.mark.parametrize(("unit", "length"), [("mm", 100.0), ("in", 101.6)])
def test_the_scale_checks_have_the_length_that_stands_beside_them(unit: str, length: float) -> None:
    points = [[str(v / (25.4 if unit == "in" else 1)) for v in p] for p in ((10, 12), (30, 14))]
    size = ["60", "40"] if unit == "mm" else ["2.5", "2"]
    part = {"material": "brass", "thickness": "5 mm", "datum": "x", "outline": {"rectangle": size}}
    plan = plan_of(unit=unit, pattern=[{"name": "p", "points": points, "drill": "6 mm"}], part=part)
    lines = strokes(paper_template(plan))[0]
    assert any(b == d and (c - a) / POINTS_PER_MM == pytest.approx(length, abs=1e-4) for a, b, c, d in lines)
    assert any(a == c and (d - b) / POINTS_PER_MM == pytest.approx(length, abs=1e-4) for a, b, c, d in lines)


def test_a_printer_that_prints_small_is_made_up_for_in_each_axis() -> None:
    plan = plan_of(pattern=[{"name": "p", "points": [[10, 12], [110, 92]], "drill": "6 mm"}])
    whole = strokes(paper_template(plan, printer_scale=(0.995, 1.004)))[0]
    scale = (POINTS_PER_MM / 0.995, POINTS_PER_MM / 1.004)
    wide = [(a, b, c) for a, b, c, d in whole if b == d and abs(c - a - 12.0 * scale[0]) < 0.005]
    centres = sorted({((a + c) / 2 / POINTS_PER_MM, b / POINTS_PER_MM) for a, b, c in wide})
    spread = [centres[-1][i] - centres[0][i] for i in (0, 1)]
    # printed by that printer the distances come out as planned
    assert spread[0] * 0.995 == pytest.approx(100.0, abs=0.01)
    assert spread[1] * 1.004 == pytest.approx(80.0, abs=0.01)


def test_an_unlikely_printer_scale_is_refused() -> None:
    with pytest.raises(InputError, match="switch it off"):
        paper_template(plan_of(), printer_scale=(0.5, 1.0))
    with pytest.raises(InputError, match="switch it off"):
        paper_template(plan_of(), printer_scale=(1.0, float("nan")))


def test_beziers_stay_on_the_circle() -> None:
    arc = Arc((50.0, 0.0), (0.0, -50.0), (0.0, 0.0), ccw=True)
    start = arc.start
    for one, two, end in bezier_bits(arc):
        for t in (0.25, 0.5, 0.75):
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            x, y = (sum(w * p[i] for w, p in zip(weights, (start, one, two, end), strict=True)) for i in (0, 1))
            assert (x * x + y * y) ** 0.5 == pytest.approx(50.0, abs=1e-4)
        start = end
    assert start == (0.0, -50.0)


def test_printing_is_asked_not_to_scale_and_bytes_repeat() -> None:
    data = paper_template(example("pump-cover"))
    root = PdfReader(io.BytesIO(data)).trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    assert data == paper_template(example("pump-cover"))
    text = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert "tab with the arrow to the right" in text
    for number in range(1, 7):
        assert re.search(rf"\b{number}\b", text)


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_is_inert_in_pdf_and_dxf(name: str) -> None:
    plan = plan_of(" ".join(name.split()))
    reader = PdfReader(io.BytesIO(paper_template(plan)))
    assert "/OpenAction" not in reader.trailer["/Root"]  # type: ignore[operator]
    assert len(reader.pages) == len(PdfReader(io.BytesIO(paper_template(plan_of()))).pages)
    document = ezdxf.read(io.StringIO(layout_dxf(plan)))
    plain_one = ezdxf.read(io.StringIO(layout_dxf(plan_of())))
    assert len(document.modelspace()) == len(plain_one.modelspace())
    assert not document.audit().errors
    assert {la.dxf.name for la in document.layers} == {la.dxf.name for la in plain_one.layers}


def test_text_without_a_glyph_is_seen() -> None:
    assert paper_text("⅜ Ø → 漢") == f"⅜ Ø → {MISSING}"
    assert all(width_of(line, 10) <= 60 for line in lines_of("a long text with averyverylongwordindeed in it", 10, 60))


def test_codes_of_dxf_texts_are_taken_out() -> None:
    assert safe_dxf_text("%%%%c {\\P} ^J") == "% % % %c (/P) 'J"
    assert "%%" not in safe_dxf_text("%" * 9)
    assert len(safe_dxf_text("x" * 1000)) == 200


@pytest.mark.outside_check(
    subject="papers",
    source="ezdxf: circles read back",
    closeness="1e-6 mm",
    standing="library",
)
@pytest.mark.parametrize("name", ["lantern-hood", "pump-cover", "signal-pair"])
def test_the_drawing_reads_back_with_the_same_positions(name: str) -> None:
    plan = example(name)
    document = ezdxf.read(io.StringIO(layout_dxf(plan)))
    assert document.header["$INSUNITS"] == (1 if plan.unit == "in" else 4)
    per = 25.4 if plan.unit == "in" else 1.0
    circles = sorted(
        (c.dxf.center.x * per, c.dxf.center.y * per, c.dxf.radius * per)
        for c in document.modelspace().query('CIRCLE[layer=="NEW_HOLES"]')
    )
    wanted = sorted((*h.xy_part, h.finished_diameter / 2) for h in plan.holes)
    assert len(circles) == len(wanted)
    for found, planned in zip(circles, wanted, strict=True):
        assert found == pytest.approx(planned, abs=1e-6)
    assert {e.dxf.layer for e in document.modelspace()} <= set(LAYERS)
    assert layout_dxf(plan) == layout_dxf(plan)


def test_arcs_of_an_outline_come_back_with_their_ends() -> None:
    plan = example("signal-pair")
    assert plan.part.outline is not None
    arcs = [c for c in plan.part.outline.curves if isinstance(c, Arc)]
    found = ezdxf.read(io.StringIO(layout_dxf(plan))).modelspace().query('ARC[layer=="OUTLINE"]')
    assert len(found) == len(arcs) == 1
    ends = {(round(p.x, 6) + 0.0, round(p.y, 6) + 0.0) for p in (found[0].start_point, found[0].end_point)}
    assert ends == {(round(p[0], 6) + 0.0, round(p[1], 6) + 0.0) for p in (arcs[0].start, arcs[0].end)}


@pytest.mark.parametrize("page", ["Letter", "A4"])
def test_the_printed_sheet_has_every_row_hand_and_page_number(page: str) -> None:
    plan = example("pump-cover")
    data = sheet_pdf(plan, page=page)
    pages = [p.extract_text() for p in PdfReader(io.BytesIO(data)).pages]
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in text
        assert "HAND: tab with the arrow to the right" in text
    whole = "\n".join(pages)
    closings = sum(r.closing for o in plan.operations for r in o.rows)
    assert whole.count("back to 4") == closings
    for words in (
        "It is safe to stop for the day here.",
        "Zero set by",
        "with a calliper",
        "dial shows",
        "STOP: spots",
    ):
        assert words in whole, words
    assert whole.count("\N{MINUS SIGN}18.56") >= 2
    assert data == sheet_pdf(plan, page=page)


def test_a_table_has_its_head_once_on_a_page_whatever_stands_above_it() -> None:
    """Notes push the tables down line by line, so that one of the sheets breaks where a table begins."""
    pages = 0
    for lines in range(0, 44, 2):
        data = sheet_pdf(plan_of(notes=["invented"] * lines))
        heads = [(n, y) for n, words, _, (_, y), _ in texts_of(data) if words == "move X"]
        for (page, y), (next_page, next_y) in pairwise(heads):
            assert page != next_page or y - next_y > 40, f"two heads on page {page + 1} with {lines} notes"
        pages += heads[-1][0]
    assert pages > 22  # the tables did move over page ends


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_is_inert_in_the_printed_sheet(name: str) -> None:
    title = " ".join(name.split())
    reader = PdfReader(io.BytesIO(sheet_pdf(plan_of(title))))
    root = reader.trailer["/Root"]
    assert not {"/OpenAction", "/AA", "/Names", "/AcroForm"} & set(root)  # type: ignore[call-overload]
    assert reader.metadata is not None
    assert reader.metadata.title == f"{title}: run sheet"  # text, to the last letter


def texts_of(data: bytes) -> list[tuple[int, str, float, tuple[float, float], tuple[float, float]]]:
    """Return page, words, size, start and direction (unit) of every text of a PDF, points."""
    found = []
    for number, page in enumerate(PdfReader(io.BytesIO(data)).pages):

        def visit(text: str, cm: list[float], tm: list[float], font: Any, size: float, number: int = number) -> None:
            if text.strip():
                a, b = tm[0] * cm[0] + tm[1] * cm[2], tm[0] * cm[1] + tm[1] * cm[3]
                at = (tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5])
                found.append((number, text.strip(), size, at, (a, b)))

        page.extract_text(visitor_text=visit)
    return found


LABEL = re.compile(r"X 0 Y 0|\d+( WITHHELD)?|join \w+")


def window_of(data: bytes, number: int) -> tuple[float, float, float, float]:
    """Return the window of the drawing on a page, points: the one rectangle to which it is clipped."""
    content = PdfReader(io.BytesIO(data)).pages[number].get_contents()
    assert content is not None
    found = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) re W\*? n", content.get_data())
    assert len(found) == 1
    x, y, w, h = (float(v) for v in found[0])
    return x, y, x + w, y + h


def crowded_plan(title: str = "crowded plate") -> Plan:
    """Holes at the datum, at every edge of the pages, and beside plugs; some are withheld."""
    grid = {"columns": 9, "rows": 6, "pitch": ["38", "40"]}
    return plan_of(
        title,
        part={"material": "brass", "thickness": 5, "datum": "left end", "outline": {"rectangle": [330, 230]}},
        pattern=[{"name": "p", "grid": grid, "place": {"hole": 1, "at": ["6", "6"]}, "drill": "6 mm"}],
        old_holes=[{"points": [[12, 9], [162, 100], [316, 206], [84.5, 46]], "diameter": 5}],
    )


@pytest.mark.parametrize("page", ["Letter", "A4"])
@pytest.mark.parametrize("name", ["lantern-hood", "pump-cover", "signal-pair", "crowded"])
def test_no_word_of_the_template_leaves_its_page_or_is_clipped(name: str, page: str) -> None:
    plan = crowded_plan(("a title " * 10).strip()) if name == "crowded" else example(name)
    data = paper_template(plan, page=page)
    pages = PdfReader(io.BytesIO(data)).pages
    edge = 10.0 * POINTS_PER_MM - 0.01
    labels = 0
    for number, words, size, (x, y), (a, b) in texts_of(data):
        width, height = float(pages[number].mediabox.width), float(pages[number].mediabox.height)
        label = LABEL.fullmatch(words) is not None
        long = width_of(words, size, strong=label or size >= 10)
        ends = [(x, y), (x + a * long, y + b * long), (x - b * size * 0.75, y + a * size * 0.75)]
        for p in ends:
            assert edge <= p[0] <= width - edge, words
            assert edge <= p[1] <= height - edge, words
        if label:
            labels += 1
            window = window_of(data, number)
            for p in ends:
                assert window[0] <= p[0] <= window[2], words
                assert window[1] <= p[1] <= window[3], words
    assert labels > len(plan.holes)


@pytest.mark.parametrize("name", ["lantern-hood", "pump-cover", "signal-pair", "crowded"])
def test_labels_of_the_template_keep_apart_and_each_hole_has_its_number(name: str) -> None:
    plan = crowded_plan() if name == "crowded" else example(name)
    data = paper_template(plan)
    boxes: dict[int, list[tuple[str, float, float, float, float]]] = {}
    for number, words, size, (x, y), _ in texts_of(data):
        if LABEL.fullmatch(words):
            wide = width_of(words, size, strong=True)
            boxes.setdefault(number, []).append((words, x, y, x + wide, y + size * 0.73))
    for here in boxes.values():
        for i, one in enumerate(here):
            for other in here[:i]:
                apart = one[1] >= other[3] or other[1] >= one[3] or one[2] >= other[4] or other[2] >= one[4]
                assert apart, (one, other)
    told = {words.split()[0] for here in boxes.values() for words, *_ in here}
    assert {str(h.number) for h in plan.holes} <= told
    withheld = {str(h.number) for h in plan.holes if h.withheld}
    assert withheld == {w.split()[0] for here in boxes.values() for w, *_ in here if "WITHHELD" in w}
    assert not (name == "crowded" and not withheld), "some hole of the crowded plate has to be withheld"


@pytest.mark.parametrize("scale", [(1.0, 1.0), (0.995, 1.004), (1.013, 0.987)])
@pytest.mark.parametrize("page", ["Letter", "A4"])
def test_250_mm_in_both_axes_are_true_to_a_hundredth_as_that_printer_prints(
    scale: tuple[float, float], page: str
) -> None:
    """Every page measured back by its crosses, joined at the crosses of the joins, over 250 mm across and up."""
    arm = 3.0 + 3.0
    points = [[4, 4], [254, 4], [254, 254], [4, 254], [129, 129]]
    plan = plan_of(
        part={"material": "brass", "thickness": 5, "datum": "x", "outline": {"rectangle": [258, 258]}},
        pattern=[{"name": "p", "points": points, "drill": "6 mm"}],
    )
    data = paper_template(plan, page=page, printer_scale=scale)
    spots = joined_spots(data, scale, arm)
    assert len({(round(x, 1), round(y, 1)) for x, y in spots}) == len(points)
    for axis, wanted in ((0, 250.0), (1, 250.0)):
        places = sorted(p[axis] for p in spots)
        assert places[-1] - places[0] == pytest.approx(wanted, abs=0.01)
    corner = (min(x for x, _ in spots), min(y for _, y in spots))
    for x, y in spots:
        assert min(math.dist((x - corner[0] + 4, y - corner[1] + 4), p) for p in points) < 0.01


def joined_spots(data: bytes, scale: tuple[float, float], arm: float) -> list[tuple[float, float]]:
    """Return the centres on all pages, mm as that printer prints them, laid together at the crosses of the joins."""
    per = [POINTS_PER_MM / s for s in scale]
    places = {}
    for page, lines in zip(PdfReader(io.BytesIO(data)).pages, strokes(data), strict=True):
        found = re.search(r"column (\d+) row (\d+)", page.extract_text())
        assert found is not None
        spots, joins = [], []
        for x0, y0, x1, y1 in lines:
            middle = ((x0 + x1) / 2 / per[0], (y0 + y1) / 2 / per[1])
            if y0 == y1 and abs(x1 - x0 - 2 * arm * per[0]) < 0.005:
                x = (x0 + x1) / 2
                if any(a == c and abs(a - x) < 0.01 and abs((b + d) / 2 - y0) < 0.01 for a, b, c, d in lines):
                    spots.append(middle)
            elif abs(abs(x1 - x0) / per[0] - 8.0) < 1e-3 and abs(abs(y1 - y0) / per[1] - 8.0) < 1e-3:
                joins.append(middle)
        places[int(found[1]), int(found[2])] = (spots, joins)
    assert len(places) >= 2
    # the outermost crosses of a page are those of the joins with its neighbours
    shifts = {(1, 1): (0.0, 0.0)}
    for column, row in sorted(places):
        if (column, row) == (1, 1):
            continue
        before, axis, side = ((column - 1, row), 0, max) if column > 1 else ((column, row - 1), 1, min)
        other = min if side is max else max
        there, here = (side(j[axis] for j in places[before][1]), other(j[axis] for j in places[column, row][1]))
        shift = list(shifts[before])
        shift[axis] += there - here
        shifts[column, row] = (shift[0], shift[1])
    return [(x + shifts[at][0], y + shifts[at][1]) for at, (spots, _) in places.items() for x, y in spots]


def test_a_page_of_a_large_part_writes_only_what_it_shows() -> None:
    """Each hole and each edge stands on the pages that show it: the file grows as the part does."""
    parts, sizes = {}, {}
    for wide in (400, 1600):
        grid = {"columns": wide // 10, "rows": 10, "pitch": "10 mm"}
        teeth = [[x, 100 + 2 * (n % 2)] for n, x in enumerate(range(wide, -1, -2))]
        plan = plan_of(
            part={
                "material": "brass",
                "thickness": 5,
                "datum": "x",
                "outline": {"points": [[0, 0], [wide, 0], *teeth]},
            },
            pattern=[{"name": "p", "grid": grid, "drill": "3 mm", "place": {"at": [5, 5]}}],
        )
        data = paper_template(plan, page="A4")
        lines = strokes(data)
        parts[wide] = sum(len(crosses(page, (1.5 + 3.0) * POINTS_PER_MM)) for page in lines)
        assert len(plan.holes) <= parts[wide] <= 1.3 * len(plan.holes)
        sizes[wide] = sum(len(page) for page in lines)
    assert sizes[1600] < 5 * sizes[400]


def test_a_bar_of_the_scale_check_is_measured_at_the_stated_length_by_that_printer() -> None:
    for scale in ((0.995, 1.004), (1.02, 0.98)):
        lines = strokes(paper_template(plan_of(), printer_scale=scale))[0]
        across = [(c - a) / POINTS_PER_MM * scale[0] for a, b, c, d in lines if b == d]
        up = [(d - b) / POINTS_PER_MM * scale[1] for a, b, c, d in lines if a == c]
        assert min(abs(v - 100.0) for v in across) < 0.001
        assert min(abs(v - 100.0) for v in up) < 0.001
