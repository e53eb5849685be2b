"""Sides that stay: strokes beside them, what they leave, where the cutter comes down; against a polygon library."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from test_step_down_cut import HEIGHTS, check_coverage, check_kept_off, out_of_reach, polygon, polyline

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.inside_bend_wall import wall_through
from holecam.cuts.step_down_cut import BendSide, CutRequest, StepDownCut, plan_cut
from holecam.cuts.stroke_entries import CUT_BEFORE
from holecam.lengths import Unit
from holecam.plan.finding import Severity
from holecam.planning.step_down_side_findings import cut_findings
from holecam.shapes import Outline, Point, outline_through

DIAMETERS = (3.0, 4.0, 6.0)
UNIT: Unit = "mm"


def planned(
    corners: list[Point], opened: set[int], *, diameter: float = 6.0, feed_deg: float = 90.0, **more: Any
) -> StepDownCut:
    """Return the cut of a region whose sides, counted from 1 in the order of the corners, stay unless they are open."""
    region = outline_through(corners)
    sides = tuple((c,) for n, c in enumerate(region.curves, start=1) if n not in opened)
    return plan_cut(
        CutRequest(region, MillingCutter("mill", diameter), (), shoulder=sides, feed_deg=feed_deg, **more), HEIGHTS
    )


def turned(corners: list[Point], by_deg: float) -> list[Point]:
    turn = math.radians(by_deg)
    c, s = math.cos(turn), math.sin(turn)
    return [(40.0 + x * c - y * s, 30.0 + x * s + y * c) for x, y in corners]


def box(wide: float, high: float) -> list[Point]:
    return [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]


def test_a_side_that_runs_as_the_strokes_do_gets_a_stroke_of_its_own() -> None:
    """16 mm open at the right: strokes 2.35 mm apart from there end somewhere; 3 mm from the left side is the last."""
    cut = planned(box(16.0, 30.0), {2})
    last = cut.passes[-1].strokes[-1]
    assert [p[0] for c in last.cut for p in (c.start, c.end)] == pytest.approx([3.0, 3.0])
    assert cut.passes[-1].left.area == pytest.approx(2.0 * 9.0 * (1.0 - math.pi / 4.0), abs=0.01)  # two corners
    check_coverage(cut)
    check_kept_off(cut)


@pytest.mark.outside_check(
    subject="sweep of a step-down",
    source="shapely: the region less every place that the cutter may reach between sides that stay",
    closeness="0.02 mm2",
    standing="library",
)
@settings(max_examples=60, deadline=None)
@given(
    wide=st.floats(7.0, 30.0),
    high=st.floats(7.0, 30.0),
    lean=st.floats(-0.3, 0.3),
    turn_deg=st.one_of(st.sampled_from([0.0, 90.0, 180.0, 270.0]), st.floats(0.0, 360.0)),
    feed_deg=st.one_of(st.sampled_from([0.0, 90.0, 180.0, 270.0]), st.floats(0.0, 360.0)),
    opened=st.sets(st.integers(1, 4)),
    diameter=st.sampled_from(DIAMETERS),
    margin=st.sampled_from([0.0, 0.4]),
)
def test_strokes_leave_only_what_the_cutter_cannot_reach(
    wide: float,
    high: float,
    lean: float,
    turn_deg: float,
    feed_deg: float,
    opened: set[int],
    diameter: float,
    margin: float,
) -> None:
    corners = [(0.0, 0.0), (wide, 0.0), (wide + lean * high, high), (lean * high, high)]
    cut = planned(turned(corners, turn_deg), opened, diameter=diameter, feed_deg=feed_deg, shoulder_margin=margin)
    step = cut.passes[-1]
    assume(step.strokes)
    check_kept_off(cut)
    region = polygon(cut.request.region)
    swept = shapely.union_all([polyline(s.curves).buffer(diameter / 2, quad_segs=64) for s in step.strokes])
    left = region.difference(swept)
    assert step.left.area == pytest.approx(left.area, abs=0.01 * region.length)
    more = left.difference(out_of_reach(cut).buffer(0.02)).buffer(-0.01).buffer(0.01)
    assert more.area < 0.02


@settings(max_examples=40, deadline=None)
@given(
    turn_deg=st.floats(0.0, 360.0),
    opened=st.sets(st.integers(1, 4)),
    feed_deg=st.floats(0.0, 360.0),
    diameter=st.sampled_from(DIAMETERS),
)
def test_a_way_in_that_begins_on_metal_begins_where_the_cutter_has_been(
    turn_deg: float, opened: set[int], feed_deg: float, diameter: float
) -> None:
    cut = planned(turned(box(20.0, 13.0), turn_deg), opened, diameter=diameter, feed_deg=feed_deg)
    strokes = cut.passes[-1].strokes
    near = CUT_BEFORE * cut.request.step_over_used
    for n, stroke in enumerate(strokes):
        if stroke.starts_in_metal:
            place = shapely.Point(stroke.curves[0].start)
            away = min((polyline(s.curves).distance(place) for s in strokes[:n]), default=math.inf)
            beside = polygon(cut.request.region).distance(place) >= diameter / 2 - 1e-6
            assert stroke.plunges == (away > near + 1e-6 and not beside) or abs(away - near) < 1e-5
            assert not (stroke.lead_in and stroke.plunges)
    plunging = [n for n, s in enumerate(strokes) if s.plunges]
    assert plunging or opened, "without an open side the first stroke has to come down into metal"
    assert not (plunging and len(opened) == 4)


STEM: list[Point] = [
    (0.0, 0.0), (16.944, 0.0), (16.944, 3.317), (11.112, 3.317),
    (11.112, 10.204), (5.832, 10.204), (5.832, 3.317), (0.0, 3.317),
]  # fmt: skip
"""A foot with a stem that is narrower than the cutter: the way from one stroke to the next led through a side of it."""


def test_the_way_between_two_strokes_does_not_cross_a_side_that_stays() -> None:
    cut = planned(STEM, {3, 4, 5, 7}, feed_deg=0.0)
    check_kept_off(cut)
    assert cut.shoulder_room is not None
    assert cut.shoulder_room > -1e-6
    assert not [f for f in cut_findings(cut, name="foot", unit=UNIT) if f.severity is Severity.STOP]


def test_the_end_of_a_side_is_not_grazed_between_two_looks() -> None:
    stem = [(x * 0.81, y * 0.81) for x, y in STEM]
    for feed in range(100, 120, 2):
        check_kept_off(planned(stem, {1, 3, 5, 6, 7}, feed_deg=float(feed)))


def test_a_stroke_into_a_side_is_a_stop() -> None:
    cut = replace(planned(box(16.0, 30.0), {2}), shoulder_room=-0.012)
    (finding,) = [f for f in cut_findings(cut, name="end", unit=UNIT) if f.code == "cuts-into-shoulder"]
    assert finding.severity is Severity.STOP
    assert "0.012 mm" in finding.message


@pytest.mark.parametrize(("opened", "stops"), [(set(), True), ({1}, False)])
def test_a_cutter_that_cannot_come_down_on_metal_needs_an_open_side(opened: set[int], stops: bool) -> None:
    cut = planned(box(16.0, 30.0), opened, feed_deg=90.0)
    assert cut.request.cutter.centre_cutting is False
    codes = {f.code for f in cut_findings(cut, name="end", unit=UNIT)}
    assert ("comes-down-on-metal" in codes) is stops
    able = replace(cut, request=replace(cut.request, cutter=replace(cut.request.cutter, centre_cutting=True)))
    assert "comes-down-on-metal" not in {f.code for f in cut_findings(able, name="end", unit=UNIT)}


def test_a_side_beside_a_bend_is_cleaned_too() -> None:
    wall = wall_through([(-50.0, 0.0), (70.0, 0.0)])
    region: Outline = outline_through([(0.0, 1.0), (24.0, 1.0), (24.0, 17.3), (0.0, 17.3)])
    far_side = (region.curves[2],)
    request = CutRequest(region, MillingCutter("mill", 6.0), (BendSide("front", wall, 2.0, 0.3),), shoulder=(far_side,))
    cut = plan_cut(request, HEIGHTS)
    check_coverage(cut)
    check_kept_off(cut)
    assert min(abs(c.start[1] - 14.3) for s in cut.passes[-1].strokes for c in s.cut) < 1e-6


@pytest.mark.parametrize("by", [37.0, 199.0, 301.5])
def test_areas_whose_edges_nearly_meet_are_still_cut_and_joined(by: float) -> None:
    """At odd angles the polygon library used to give up on what stays."""
    for feed in range(0, 360, 30):
        check_coverage(planned(turned(STEM, by), {2, 5, 8}, diameter=3.0, feed_deg=by + feed))
