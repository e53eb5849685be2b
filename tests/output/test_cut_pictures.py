"""Pictures of slots and pockets: read back and held against the plan, other geometry, and hostile text."""

from __future__ import annotations

import json
import math
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from cut_jobs import ARC, OPEN, RELIEVED, RIB, TRAY, cut_plan
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from picture_reading import assert_words_apart, of_class, polygons, root_of, strings, windows, words
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from holecam.cuts.proof_values import Leftover
from holecam.cuts.telling_places import sticks_out
from holecam.delivery.plan_folder import plan_job, write_folder
from holecam.job.models import Job, job_from_dict
from holecam.job.reader import read_job
from holecam.output.cut_picture import cut_pictures
from holecam.output.cut_scene import LOOKS, MOST_CURVES
from holecam.output.notebook import show_cuts
from holecam.output.picture_files import picture_files
from holecam.output.picture_on_paper import DASHES, WIDTHS
from holecam.output.plan_json import plan_json
from holecam.output.run_sheet import run_sheet
from holecam.output.sheet_pdf import sheet_pdf
from holecam.plan.cut_view import LineKind, SpotKind
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan
from holecam.shapes import Arc, Outline, Segment

JOB = Path(__file__).parents[2] / "examples" / "lantern-hood" / "job.toml"
UNIT = 0.02
"""Picture units. Coordinates are written with two decimals."""

HOSTILE = (
    "</svg><script>alert(1)</script>",
    '" onload="alert(1)',
    "url(#x) ]]> <!-- & &amp; {{ 7*7 }}",
    "../../../etc/passwd",
    "WWWWWWWWWWWWWWWWWWW name that is wide and longer than any drawing has room",
)


@cache
def plate() -> Plan:
    return cut_plan(pocket=[TRAY, RELIEVED], slot=[ARC, OPEN], keep_out=[RIB])


@cache
def hood() -> Plan:
    return make_plan(read_job(JOB))


def roots(plan: Plan) -> list[ElementTree.Element]:
    return [root_of(canvas.standalone()) for _, _, canvas in cut_pictures(plan)]


@pytest.mark.parametrize("plan", [plate, hood])
def test_no_words_lie_on_others_or_leave_the_picture(plan: object) -> None:
    assert callable(plan)
    pictures = cut_pictures(plan())
    assert pictures
    for _, _, canvas in pictures:
        assert_words_apart(canvas.standalone())


@pytest.mark.parametrize("plan", [plate, hood])
def test_windows_lie_apart_and_inside_the_picture(plan: object) -> None:
    assert callable(plan)
    for root in roots(plan()):
        frames = []
        for clip in (e for e in root.iter() if e.tag.endswith("clipPath")):
            x, y, wide, high = (float(clip[0].attrib[k]) for k in ("x", "y", "width", "height"))
            frames.append(Polygon([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]))
        across, down = (float(v) for v in root.attrib["viewBox"].split()[2:])
        for n, frame in enumerate(frames):
            assert Polygon([(0, 0), (across, 0), (across, down), (0, down)]).contains(frame)
            assert not any(frame.intersects(other) for other in frames[:n])


@pytest.mark.parametrize("plan", [plate, hood])
def test_what_stays_is_drawn_with_the_areas_of_plan_json(plan: object) -> None:
    assert callable(plan)
    made = plan()
    facts = {c["name"]: c for c in json.loads(plan_json(made))["cuts"]}
    some = 0
    for (cut, work, _), root in zip(cut_pictures(made), roots(made), strict=True):
        clip = windows(root)[0]
        (wall,) = polygons(root, "hollow", clip)
        scale = math.sqrt(wall.area / sum(o.area for o in cut.view.wanted))
        listed = facts[cut.name]["left" if work.number == 1 else "left_by_second_cutter"]
        drawn = polygons(root, "left", clip)
        assert len(drawn) == len(listed)
        for area, patch in zip(drawn, listed, strict=True):
            assert area.area / scale**2 == pytest.approx(patch["area_mm2"], abs=area.length * UNIT / scale**2)
            some += 1
        gone = polygons(root, "barred", clip)
        assert len(gone) == (0 if work.number == 1 else len(facts[cut.name]["left"]))
    assert some >= 8


def test_leftovers_are_what_another_geometry_finds_beside_the_swept_path() -> None:
    """The drawn path, grown by the cutter's radius, and the drawn leftovers fill the pocket and nothing else."""
    cut, work, _ = cut_pictures(plate())[2]
    assert cut.name == "tray"
    assert work.number == 1
    root = roots(plate())[2]
    clip = windows(root)[0]
    (wall,) = polygons(root, "hollow", clip)
    islands = [p for p in polygons(root, "edge", clip) if wall.contains(p)]
    scale = math.sqrt(wall.area / cut.view.wanted[0].area)
    centre = [line for look in ("pass", "wall-pass") for line in strings(root, look, clip)]
    swept = unary_union([line.buffer(work.diameter / 2 * scale, quad_segs=64) for line in centre])
    wanted = wall.difference(unary_union(islands))
    left = unary_union(polygons(root, "left", clip))
    assert len(islands) == 2
    assert swept.difference(wanted).area < wanted.length * 0.05
    assert wanted.difference(swept).symmetric_difference(left).area < wanted.length * 0.05


@pytest.mark.parametrize("plan", [plate, hood])
def test_the_pass_along_the_walls_stands_a_radius_off(plan: object) -> None:
    assert callable(plan)
    made = plan()
    seen = 0
    for (cut, work, _), root in zip(cut_pictures(made), roots(made), strict=True):
        clip = windows(root)[0]
        (wall,) = polygons(root, "hollow", clip)
        scale = math.sqrt(wall.area / sum(o.area for o in cut.view.wanted))
        for line in strings(root, "clean-up" if cut.view.passes[0].stage else "wall-pass", clip):
            if cut.view.overcuts and not line.is_ring:
                continue  # into a corner that is overcut
            islands = [p.exterior for p in polygons(root, "edge", clip) if wall.contains(p)]
            away = min(line.distance(edge) for edge in (wall.exterior, *islands))
            assert away == pytest.approx(work.diameter / 2 * scale, abs=3 * UNIT)
            seen += 1
        for circle in polygons(root, "cutter", clip):
            assert circle.area == pytest.approx(math.pi * (work.diameter / 2 * scale) ** 2, rel=2e-3)
    assert seen >= 4


def test_every_kind_of_line_has_a_stroke_of_its_own() -> None:
    strokes = [(WIDTHS[look], DASHES.get(look, ())) for look in (*LOOKS.values(), "kept", "margin", "edge", "cutter")]
    assert len(set(strokes)) == len(strokes)
    assert set(LOOKS) == set(LineKind)


def test_places_with_letters_stand_in_the_key_as_the_readout_shows_them() -> None:
    for (cut, work, canvas), root in zip(cut_pictures(hood()), roots(hood()), strict=True):
        lines = [text for text, _ in words(root)]
        first = next(s for s in work.spots if s.kind is SpotKind.START)
        x, y = (f"{v / 25.4:+.4f}".replace("-", "\N{MINUS SIGN}") for v in first.at)
        started = [line for line in lines if line.endswith("begins to cut")]
        assert started
        letter = started[0][0]
        assert lines.count(letter) >= 1
        for words_of_axis, value in (("X", x), ("Y", y)):
            told = started[0].split(f"{words_of_axis} ")[1].split(",")[0].split(":")[0]
            as_number = float(told.replace("\N{MINUS SIGN}", "-"))
            assert abs(as_number - float(value.replace("\N{MINUS SIGN}", "-"))) <= 0.00025 + 1e-9
        assert canvas.width == 1000.0
        assert cut.name


def test_walls_and_margins_are_those_of_the_plan() -> None:
    slot = next(c for c in hood().cuts if c.kind == "slot")
    view = slot.view
    assert view.wall is not None
    assert view.wall.length == pytest.approx(math.dist(view.wall.start, view.wall.end), abs=1e-9)
    assert view.wall.length == slot.thinnest_wall
    (kept,) = view.kept
    assert kept.kept is not None
    assert kept.kept.length == pytest.approx(math.dist(kept.kept.start, kept.kept.end), abs=1e-9)
    assert dict(slot.kept)["nose curve"] == kept.kept.length
    (margin,) = kept.margin_lines
    for curve in margin:
        for share in (0.0, 0.3, 0.7):
            p = curve.point_at(share)
            away = min(math.dist(p, c.nearest(p)) for c in kept.curves)
            assert away == pytest.approx(kept.margin, abs=1e-6)


@pytest.mark.parametrize("plan", [plate, hood])
def test_the_spoil_board_is_as_thick_as_the_cutter_reaches_past_the_edge(plan: object) -> None:
    assert callable(plan)
    (cut,) = (c for c in plan().cuts if c.view.boards)
    view = cut.view
    (board,) = view.boards
    assert view.body is not None
    work = view.passes[0]
    places = [c.point_at(n / 20) for line in work.lines for c in line.curves for n in range(21)]
    beyond = max(work.diameter / 2 - x for x, _ in places)  # both bodies begin at X 0
    assert board.thickness == pytest.approx(beyond, abs=1e-6)
    x0, y0, x1, y1 = board.outline.bounds
    assert (x0, x1) == (pytest.approx(-board.thickness), pytest.approx(0.0, abs=1e-9))
    across = [y for x, y in places if x < 0.0]
    assert y0 < min(across) - work.diameter / 2
    assert y1 > max(across) + work.diameter / 2


def test_an_overcut_takes_what_stayed_in_its_corner() -> None:
    cut = next(c for c in plate().cuts if c.name == "square")
    assert len(cut.view.overcuts) == 4
    assert cut.left == ()
    assert cut.reachable_share == pytest.approx(1.0, abs=1e-12)
    plain = {k: v for k, v in RELIEVED.items() if k != "relief"}
    before = cut_plan(pocket=[plain]).cuts[0].left
    assert len(before) == 4
    for patch in before:
        (overcut,) = (o for o in cut.view.overcuts if math.dist(o.corner, patch.at) < 2 * o.radius)
        corner = Polygon([p for c in patch.border.curves for p in (c.point_at(n / 30) for n in range(30))])
        way = LineString([patch.at, overcut.center])
        assert corner.difference(way.buffer(overcut.radius + 1e-4, quad_segs=256)).area < 1e-3 * corner.area


@given(st.floats(20.0, 160.0), st.floats(0.5, 20.0))
def test_a_corner_sticks_out_of_the_rim_by_its_angle(angle_deg: float, radius: float) -> None:
    """``R (1 / sin(g / 2) - 1)``: the distance of the corner from the rim's centre, less the radius."""
    half = math.radians(angle_deg) / 2
    center = (radius / math.sin(half), 0.0)
    foot = radius / math.tan(half)
    low = (foot * math.cos(half), -foot * math.sin(half))
    high = (low[0], -low[1])
    border = Outline((Segment((0.0, 0.0), low), Arc(low, high, center, ccw=False), Segment(high, (0.0, 0.0))))
    patch = Leftover(border, (), border.area, center, "inside corner")
    assert sticks_out(patch, radius) == pytest.approx(radius * (1 / math.sin(half) - 1), rel=1e-9)


def test_a_narrow_place_has_an_area_and_no_corner() -> None:
    neck = {
        "name": "neck",
        "points": [
            *([10, 10], [50, 10], [50, 28], [70, 28], [70, 10], [110, 10]),
            *([110, 50], [70, 50], [70, 32], [50, 32], [50, 50], [10, 50]),
        ],
        "depth": 3,
        "cutter": "6 end mill",
    }
    plan = cut_plan(pocket=[neck])
    (cut,) = plan.cuts
    narrow = [p for p in cut.left if p.reason == "narrow place"]
    assert len(narrow) == 1
    assert narrow[0].sticks_out is None
    ((_, _, canvas),) = cut_pictures(plan)
    assert_words_apart(canvas.standalone())
    assert any("stays in a narrow place" in text for text, _ in words(root_of(canvas.standalone())))


def test_many_corners_are_numbered_and_summed_without_a_collision() -> None:
    teeth = [[10, 10]]
    for n in range(24):
        teeth += [[10 + 6 * n, 60 - 12 * (n % 2)], [16 + 6 * n, 60 - 12 * (n % 2)]]
    teeth.append([154, 10])
    plan = cut_plan(pocket=[{"name": "comb", "points": teeth, "depth": 3, "cutter": "3 end mill"}])
    ((cut, _, canvas),) = cut_pictures(plan)
    assert len(cut.left) > 16
    assert_words_apart(canvas.standalone())
    total = sum(p.area for p in cut.left)
    assert any(
        f"In all {len(cut.left)} places, {total:.2f} mm2." in text for text, _ in words(root_of(canvas.inline()))
    )


def test_lines_that_would_be_a_black_area_are_left_out_and_told() -> None:
    (cut,) = cut_plan(pocket=[{k: v for k, v in RELIEVED.items() if k != "relief"}]).cuts
    (work,) = cut.view.passes
    cutting = next(line for line in work.lines if line.kind is LineKind.CUT)
    dense = replace(work, lines=(*work.lines, *([cutting] * MOST_CURVES)))
    plan = cut_plan(pocket=[])
    crowded = replace(plan, cuts=(replace(cut, view=replace(cut.view, passes=(dense,))),))
    ((_, _, canvas),) = cut_pictures(crowded)
    root = root_of(canvas.inline())
    assert not strings(root, "pass", windows(root)[0])
    assert strings(root, "wall-pass", windows(root)[0])
    assert any("cutting: too many lines" in text for text, _ in words(root))


def test_a_part_that_lies_askew_is_drawn_as_it_lies() -> None:
    skew = {"skew": {"edge": {"first": [0, 0], "second": [100, 4], "along": "+x"}, "found_by": "edge finder"}}
    plan = cut_plan(slot=[ARC], setup={**skew, "zero_found_by": "edge finder"})
    ((cut, work, canvas),) = cut_pictures(plan)
    square = cut_plan(slot=[ARC])
    assert cut.view.passes[0].spots[0].at == square.cuts[0].view.passes[0].spots[0].at, "the plan keeps the part frame"
    shown = next(text for text, _ in words(root_of(canvas.inline())) if text.endswith("begins to cut"))
    start = next(s for s in work.spots if s.kind is SpotKind.START)
    turn = math.atan2(4, 100)
    x = start.at[0] * math.cos(turn) - start.at[1] * math.sin(turn)
    told = float(shown.split("X ")[1].split(",")[0].replace("\N{MINUS SIGN}", "-"))
    assert told == pytest.approx(x, abs=0.0026)


def test_holes_that_are_drilled_for_a_cut_are_drawn() -> None:
    by_hand = {**ARC, "cutting": {"by_hand": True}, "chain_drill": {"drill": "7 mm", "web": 0.5, "allowance": 0.4}}
    plan = cut_plan(slot=[by_hand])
    ((cut, work, canvas),) = cut_pictures(plan)
    assert len(cut.drilled) == len(cut.view.holes) > 3
    root = root_of(canvas.inline())
    (drawn,) = of_class(root, "drilled")[:1]
    assert drawn.attrib["d"].count("M") == len(cut.drilled)
    assert work.diameter == 6.0
    assert_words_apart(canvas.inline())


def test_a_cut_in_a_body_without_an_outline_is_drawn() -> None:
    part = {"material": "aluminium", "thickness": 12, "datum": "corner"}
    plan = cut_plan(part=part, pocket=[{**RELIEVED, "sneak": {"undersize": "0.2", "steps": 2}}])
    ((cut, work, canvas),) = cut_pictures(plan)
    assert cut.view.body is None
    assert cut.view.wall is None
    assert work.last_stage == "clean-up 2"
    assert_words_apart(canvas.standalone())


def hostile_job(name: str) -> Job:
    data = {
        "title": name,
        "unit": "in",
        "hand": name,
        "machine": {"kind": "manual"},
        "tools": {"end_mills": [{"name": name, "diameter": "1/4"}]},
        "part": {
            "material": "brass",
            "thickness": "1/2",
            "datum": name,
            "outline": {"rectangle": [4, 3]},
        },
        "keep_out": [{"name": name, "kind": "curve", "line": [[0, 2.5], [4, 2.5]], "margin": "1/16"}],
        "pocket": [{"name": name, "rectangle": [1, 1], "at": [0.5, 0.5], "depth": "1/8", "cutter": name}],
        "slot": [
            {
                "name": f"2 {name}",
                "from": [2, 1],
                "to": [3.5, 1],
                "width": "5/16",
                "depth": "1/8",
                "cutter": name,
                "ends": ["blind", "blind"],
            }
        ],
    }
    return job_from_dict(data)


def handlers_in(page: str) -> list[str]:
    """Return the attributes of a page that would run something."""
    found: list[str] = []

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            found.extend(f"{tag} {key}" for key, _ in attrs if key.startswith("on"))

    Reader().feed(page)
    return found


@pytest.mark.parametrize("name", HOSTILE)
def test_text_of_the_job_stays_text(name: str) -> None:
    plan = make_plan(hostile_job(name))
    allowed = {"svg", "title", "style", "rect", "path", "line", "circle", "polygon", "text", "g", "clipPath"}
    for _, _, canvas in cut_pictures(plan):
        root = root_of(canvas.standalone())
        assert {e.tag.split("}")[-1] for e in root.iter()} <= allowed
        for element in root.iter():
            assert not any(key.lower().startswith("on") or "href" in key for key in element.attrib)
        assert_words_apart(canvas.standalone())
    page = run_sheet(plan)
    assert "<script>alert" not in page
    assert not handlers_in(page)
    assert sheet_pdf(plan).startswith(b"%PDF")
    for file in picture_files(plan):
        assert file.replace("picture-", "").replace(".svg", "").replace("-", "").isalnum()


def test_every_picture_is_a_file_and_goes_when_its_cut_goes(tmp_path: Path) -> None:
    job = read_job(JOB)
    planned = plan_job(job)
    write_folder(planned, tmp_path)
    names = sorted(p.name for p in tmp_path.glob("*.svg"))
    assert names == [
        "picture-chain-1.svg",
        "picture-freedom-1.svg",
        "picture-marking-out-1.svg",
        "picture-plan-view.svg",
        "picture-pocket-1-second-cutter.svg",
        "picture-pocket-1.svg",
        "picture-section-1.svg",
        "picture-slot-1.svg",
        "picture-step-down-1.svg",
    ]
    for name in names:
        root = ElementTree.fromstring((tmp_path / name).read_text("utf-8"))
        assert root.tag.endswith("svg")
    write_folder(plan_job(job.model_copy(update={"pockets": ()})), tmp_path)
    assert not list(tmp_path.glob("picture-pocket*"))
    assert (tmp_path / "picture-slot-1.svg").is_file()


def test_the_page_and_a_notebook_show_the_cuts() -> None:
    page = run_sheet(hood())
    for words_of_picture in ("Slot &#34;rail clearance&#34;", "second cutter", "Section through left end of the rail"):
        assert words_of_picture in page
    assert len(set(windows_of(page))) == len(windows_of(page)), "one name for two windows: one of them is drawn wrong"
    shown = show_cuts(hood())
    assert shown._repr_html_().count("<img ") == 5
    assert "SLOT" in repr(shown)
    assert "copper hood" in repr(shown)


def windows_of(page: str) -> list[str]:
    return [piece.split('"')[0] for piece in page.split('<clipPath id="')[1:]]


def test_points_of_the_picture_are_points_of_the_plan() -> None:
    """The centre of the circle at the start lies where the plan says, measured from the wall's own box."""
    cut, work, canvas = cut_pictures(plate())[0]
    root = root_of(canvas.inline())
    clip = windows(root)[0]
    (wall,) = polygons(root, "hollow", clip)
    x0, y0, x1, y1 = cut.view.wanted[0].bounds
    px0, py0, px1, py1 = wall.bounds
    scale = (px1 - px0) / (x1 - x0)
    assert scale == pytest.approx((py1 - py0) / (y1 - y0), rel=1e-4)
    for spot in work.spots[:3]:
        at = Point(px0 + (spot.at[0] - x0) * scale, py1 - (spot.at[1] - y0) * scale)
        assert min(at.distance(c.centroid) for c in polygons(root, "cutter", clip)) < 0.25 * work.diameter * scale
