"""The page: self-contained, inert, the same figures as the text sheet, small, and pictures whose labels keep apart."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from fractions import Fraction
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.lengths import counts, exact, reading_text
from holecam.lengths.dials import Dial, DialSetting, dial_setting
from holecam.output.chain_picture import chain_pictures
from holecam.output.freedom_picture import freedom_pictures
from holecam.output.label_places import Box, LabelRoom
from holecam.output.next_settings import grid_steps, moves_after, next_setting
from holecam.output.notebook import show_chains, show_freedom, show_plan
from holecam.output.plain_words import true_minus
from holecam.output.plan_picture import plan_picture, table_motion
from holecam.output.run_sheet import operation_facts, run_sheet
from holecam.output.sheet_facts import other_step
from holecam.output.sheet_pdf import sheet_pdf
from holecam.output.sheet_stamp import stamp_of
from holecam.output.svg_canvas import View, path_data, text_width
from holecam.output.turn_counts import MOST_COUNTS, turn_counts
from holecam.plan.facts import Readout
from holecam.plan.plan import Plan
from holecam.plan.work import NextSetting
from holecam.planning.plan_job import make_plan, make_plans
from holecam.shapes import Arc, Segment

EXAMPLES = Path(__file__).parents[2] / "examples"

HOSTILE = (
    "</script><script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "</title></svg><svg onload=alert(1)>",
    '" onmouseover="alert(1)',
    "{{ 7*7 }}{% raw %}",
    "<!--",
    "]]>&amp;",
    "\\22 } body{display:none} a{content:\\22",
)


def example(name: str) -> Plan:
    return make_plans(read_job(EXAMPLES / name / "job.toml"))[0]


def plan_named(name: str, **more: Any) -> Plan:
    data: dict[str, Any] = {
        "title": name,
        "unit": "mm",
        "hand": name,
        "revision": name,
        "notes": [name],
        "part": {"material": "brass", "thickness": 5, "datum": name, "outline": {"rectangle": [60, 40]}},
        "machine": {"kind": "cnc"},
        "old_holes": [
            {"name": f"old {name}", "points": [[40, 30]], "diameter": 4, "plug": "brass screw, soft soldered"}
        ],
        "pattern": [{"name": name, "points": [[10, 12], [30, 14]], "drill": "3 mm"}],
        "tools": {"drills": ["metric"]},
        **more,
    }
    return make_plan(job_from_dict(data))


class Elements(HTMLParser):
    """Every element and attribute of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))


@pytest.mark.parametrize("name", HOSTILE)
def test_text_of_the_job_adds_no_element_and_no_attribute(name: str) -> None:
    plain_page, page = Elements(run_sheet(plan_named("plain"))), Elements(run_sheet(plan_named(name)))
    assert [t for t, _ in page.seen] == [t for t, _ in plain_page.seen]
    assert [set(a) for _, a in page.seen] == [set(a) for _, a in plain_page.seen]
    assert not any(k.startswith("on") for _, a in page.seen for k in a)


@pytest.mark.parametrize("name", HOSTILE)
def test_text_of_the_job_ends_neither_style_nor_script_nor_data(name: str) -> None:
    page = run_sheet(plan_named(name))
    for tag in ("script", "style"):
        assert page.count(f"</{tag}>") == page.count(f"<{tag}"), tag
    data = re.search(r'<script type="application/json" id="facts">(.*?)</script>', page, re.S)
    assert data is not None
    assert json.loads(data[1])["hand"] == " ".join(name.split())


@pytest.mark.parametrize("name", ["lantern-hood", "pump-cover", "signal-pair"])
def test_the_page_fetches_nothing_and_its_policy_names_its_own_style_and_script(name: str) -> None:
    page = run_sheet(example(name))
    outside = [v for _, a in Elements(page).seen for k, v in a.items() if k in ("src", "href", "action", "srcset")]
    assert outside == []
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "")
    style = re.search(r"<style>(.*?)</style>", page, re.S)
    script = re.search(r"<script>(.*?)</script>", page, re.S)
    assert style is not None
    assert script is not None
    for text in (style[1], script[1]):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in page.replace("&#39;", "'")
    assert not re.search(r"<[^>]+ style=", page), "the policy would ignore a style attribute"


def test_the_page_has_what_a_sheet_must_carry() -> None:
    page = run_sheet(example("pump-cover"))
    for words in (
        "tab with the arrow to the right",
        "table to the LEFT makes X rise",
        "Zero set by",
        "Datum in machine coordinates",
        "It is safe to stop for the day here.",
        "Measure with a calliper",
        "dial shows",
        "back to 4",
        "come back in +X",
        "All lengths in MILLIMETRES",
    ):
        assert words in page, words
    assert page.count("Measure with a calliper") == 1
    assert len(example("pump-cover").checks) == 3


def test_the_same_plan_gives_the_same_page() -> None:
    assert run_sheet(example("lantern-hood")) == run_sheet(example("lantern-hood"))


def test_the_other_hand_has_ticks_of_its_own() -> None:
    pages = [run_sheet(p) for p in make_plans(read_job(EXAMPLES / "signal-pair" / "job.toml"))]
    assert len({stamp_of(page) for page in pages} - {""}) == 2
    # a tick holds only for the title, hand, datum and upper face for which it was made
    bases = {re.search(r'"basis":(\[.*?\])', page)[1] for page in pages}  # type: ignore[index]
    assert len(bases) == 2


def test_a_sheet_of_a_thousand_holes_stays_below_two_megabytes() -> None:
    grid = {"name": "g", "grid": {"columns": 40, "rows": 25, "pitch": ["8", "12"]}, "drill": "3 mm"}
    part = {"material": "brass", "thickness": 5, "datum": "corner", "outline": {"rectangle": [400, 400]}}
    place = {"hole": 1, "at": ["5", "5"]}
    machine = {"kind": "manual", "dials": {"lead": 2.5, "divisions": 125}, "backlash": 0.1}
    plan = plan_named("big", part=part, machine=machine, pattern=[{**grid, "place": place}])
    assert len(plan.holes) == 1000
    assert len(run_sheet(plan).encode()) < 2_000_000


@pytest.mark.parametrize(
    ("readout", "expected"),
    [
        (Readout(Fraction(127, 10000), "in"), ("mm", Fraction(1, 100))),  # 0.0005 in
        (Readout(Fraction(254, 100000), "in"), ("mm", Fraction(2, 1000))),  # 0.0001 in
        (Readout(Fraction(5, 1000), "mm"), ("in", Fraction(254, 100000))),  # 0.005 mm: 0.0001 in
        (Readout(Fraction(1, 100), "mm"), ("in", Fraction(508, 100000))),  # 0.01 mm: 0.0002 in
    ],
)
def test_the_other_unit_is_shown_no_coarser_than_the_readout(readout: Readout, expected: tuple[str, Fraction]) -> None:
    assert other_step(readout) == expected


@given(st.integers(-(10**13), 10**13), st.sampled_from([Fraction(127, 10000), Fraction(1, 200), Fraction(1, 1000)]))
def test_rounding_in_whole_grid_steps_is_the_rounding_of_lengths(grid: int, resolution: Fraction) -> None:
    step = int(resolution * 10**9)
    count = (2 * abs(grid) + step) // (2 * step) * (-1 if grid < 0 else 1)
    assert count == counts(Fraction(grid, 10**9), resolution)


@given(st.floats(-1e4, 1e4))
def test_grid_steps_are_the_exact_length(value: float) -> None:
    assert Fraction(grid_steps(value), 10**9) == exact(value)


def test_a_found_reference_moves_only_what_follows() -> None:
    plan = example("lantern-hood")
    moves = moves_after(plan, {"refound-x-1": Fraction(0)})
    assert set(moves.values()) == {(Fraction(0), Fraction(0))}, "an unknown key moves nothing"
    stop = next(s for o in plan.operations for s in o.stops if s.settings and s.settings[0].kind == "move x")
    assert stop.expected is not None
    found = exact(stop.expected) + Fraction(508, 10000)
    moves = moves_after(plan, {stop.key: found})
    at = next(o.number for o in plan.operations if stop in o.stops)
    assert {m for (o, _), m in moves.items() if o < at} == {(Fraction(0), Fraction(0))}
    assert {m for (o, _), m in moves.items() if o > at} == {(Fraction(508, 10000), Fraction(0))}


def test_a_slot_is_widened_by_half_of_what_is_missing() -> None:
    # 12.70 mm wanted, 12.50 found: each side 0.10 more, on top of the 3.00 it stands at
    setting = NextSetting("side offset", 12.7, 0.5, 3.0, "")
    assert next_setting(setting, Fraction(125, 10)) == Fraction(31, 10)


SCREW = Dial(Fraction(5, 2), 125)


def _turned(marks: int) -> DialSetting:
    return dial_setting(marks * SCREW.mark, SCREW)


def test_turns_are_counted_one_by_one_and_long_ways_by_fives() -> None:
    assert turn_counts(None, _turned(-3 * 125)) == ("−1", "−2", "−3")
    assert turn_counts(None, _turned(52 * 125 + 3))[-2:] == ("50", "52")


@given(st.integers(-4000, 4000), st.integers(-4000, 4000))
def test_each_time_the_dials_zero_goes_by_there_is_one_turn_to_tick(before: int, after: int) -> None:
    # found by going mark for mark: through the axis' zero one was wanting, from a whole turn back one was too many
    step = 1 if after > before else -1
    passed = [m // 125 for m in range(before + step, after + step, step) if m % 125 == 0]
    if len(passed) <= MOST_COUNTS:
        assert [int(c.replace("−", "-")) for c in turn_counts(_turned(before), _turned(after))] == passed


@pytest.fixture(scope="module")
def rows_to_come_back_to() -> Plan:
    """Twelve holes by hand on a falling line: whichever way it is followed, one axis has to come back at each of them.

    The ends, one of which is the first and the last to go to, are holes 11 and 12.
    """
    places = [*range(1, 11), 0, 11]
    return plan_named(
        "dials",
        part={"material": "brass", "thickness": 4, "outline": {"rectangle": [120, 80]}},
        machine={"dials": {"lead": 2.5, "divisions": 125}},
        pattern=[{"name": "p", "points": [[20 + 7 * n, 65 - 5 * n] for n in places], "drill": "2 mm"}],
        tools={"drills": ["metric"]},
    )


def test_every_row_that_is_to_be_passed_by_says_so(rows_to_come_back_to: Plan) -> None:
    plan = rows_to_come_back_to
    alike = 0
    for operation in plan.operations:
        pieces = operation_facts(plan, operation)["pieces"]
        approaches = {row["number"]: row["approach"] for kind, rows in pieces for row in rows if kind == "rows"}
        assert approaches == {row.number: true_minus(row.overshoot.words) for row in operation.rows}
        alike += sum(a == b != "" for a, b in pairwise(approaches.values()))
    assert alike >= 10


def test_the_row_that_goes_back_names_its_hole_on_the_pdf(rows_to_come_back_to: Plan) -> None:
    closing = [r for o in rows_to_come_back_to.operations for r in o.rows if r.closing]
    assert any((r.hole or 0) >= 10 for r in closing)
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(sheet_pdf(rows_to_come_back_to))).pages)
    for row in closing:
        assert f"back to {row.hole}" in " ".join(words.split())


# ---- pictures


@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(0, 300), st.integers(1, 5)), min_size=1, max_size=60),
)
def test_no_label_lies_on_another_nor_off_the_sheet(marks: list[tuple[int, int, int]]) -> None:
    sheet = Box(0, 0, 400, 300)
    room = LabelRoom(sheet)
    for x, y, _ in marks:
        room.take(Box(x - 4, y - 4, x + 4, y + 4))
    boxes = []
    for x, y, letters in marks:
        place = room.place((x, y), 4, text_width("8" * letters, 12), 12)
        if place is not None:
            boxes.append(place.box)
    for i, box in enumerate(boxes):
        assert sheet.holds(box)
        assert not any(box.meets(other) for other in boxes[:i])
        assert not any(box.meets(Box(x - 4, y - 4, x + 4, y + 4)) for x, y, _ in marks)
    if len(marks) < 5:
        assert len(boxes) == len(marks)


def test_an_arc_is_drawn_as_a_true_arc_with_the_sense_of_the_screen() -> None:
    view = View(2.0, 0.0, 10.0, 0.0, 0.0)
    quarter = Arc((5.0, 0.0), (0.0, 5.0), (0.0, 0.0), ccw=True)
    data = path_data((Segment((0.0, 0.0), (5.0, 0.0)), quarter), view, closed=True)
    assert data == "M0 20L10 20A10 10 0 0 0 7.07 12.93A10 10 0 0 0 0 10Z"


@pytest.mark.parametrize("name", ["lantern-hood", "pump-cover", "signal-pair"])
def test_pictures_are_well_formed_and_number_every_hole(name: str) -> None:
    plan = example(name)
    picture = plan_picture(plan)
    assert picture.unnumbered == ()
    for canvas in (picture.canvas, *(c for _, c in freedom_pictures(plan)), *(c for _, c in chain_pictures(plan))):
        root = ElementTree.fromstring(canvas.standalone())
        assert root.tag.endswith("svg")
    root = ElementTree.fromstring(picture.canvas.inline())
    texts = {t.text for t in root.iter("{http://www.w3.org/2000/svg}text")}
    for hole in plan.holes:
        assert {f"{hole.number}", f"{hole.number}!"} & texts, hole.number


def test_filled_and_open_old_holes_differ_in_shape() -> None:
    old = [
        {"name": "a", "points": [[40, 30]], "diameter": 4, "plug": "brass screw, soft soldered"},
        {"name": "b", "points": [[50, 20]], "diameter": 4},
    ]
    root = ElementTree.fromstring(plan_picture(plan_named("x", old_holes=old)).canvas.inline())
    strokes = [len(g.findall("{http://www.w3.org/2000/svg}line")) for g in root.iter() if g.get("class") == "old"]
    assert sorted(strokes) == [0, 2]


def test_a_withheld_hole_says_so_on_picture_and_paper() -> None:
    plan = plan_named("x", pattern=[{"name": "p", "points": [[40.5, 30], [10, 10]], "drill": "3 mm"}])
    stopped = [h for h in plan.holes if h.withheld]
    if not stopped:
        pytest.fail("expected a stop for a hole drilled half into a plug")
    text = plan_picture(plan).canvas.inline()
    assert text.count("WITHHELD") == len(stopped)
    assert 'class="halt"' in text


def test_the_picture_stands_in_the_frame_of_the_readout() -> None:
    skew = {"edge": {"first": [0, 0], "second": [100, 3], "along": "+x"}, "found_by": "edge finder"}
    plan = plan_named("x", setup={"skew": skew})
    assert plan.setup.skewed
    motion = table_motion(plan)
    for hole in plan.holes:
        assert motion.apply(hole.xy_part) == pytest.approx(hole.xy_machine, abs=1e-9)


def test_a_notebook_gets_pictures_and_a_terminal_words() -> None:
    plan = example("lantern-hood")
    shown = show_plan(plan)
    assert "data:image/svg+xml;base64," in shown._repr_html_()
    assert "+0.8705" in shown._repr_html_()
    assert "+0.8705" in repr(shown)
    assert "rail" in repr(show_freedom(plan))
    assert "heel" in repr(show_chains(plan))
    hostile = show_plan(plan_named("<script>alert(1)</script>"))._repr_html_()
    assert "<script" not in hostile


def test_coordinates_on_the_page_are_those_of_the_readout() -> None:
    plan = example("lantern-hood")
    page, readout = run_sheet(plan), plan.machine.readout
    for hole in plan.holes:
        x, y = (reading_text(counts(v, readout.resolution), readout.resolution, readout.unit) for v in hole.xy_machine)
        assert f"<td class=n>{x}<td class=n>{y}".replace("-", "\N{MINUS SIGN}") in page
