"""Slots: sums, ends, walls, passes, proof and rows by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyclipper
import pytest
from clipper_measure import difference, integers, least_distance, offset, points_of, swept, thick
from cut_chains import chains_at_depth
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from holecam.cuts.chaining import Loop
from holecam.cuts.clearance import ClearanceSum, Cleared, Term
from holecam.cuts.cut_choices import ChainDrillWish, Direction, Entry, EntryHole, KeepAway, SneakWish, default_direction
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.distance_clip import no_stretches
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.level_layout import HelixEntry, StraightEntry
from holecam.cuts.offsets import Level
from holecam.cuts.path_values import MoveKind, joined
from holecam.cuts.slot import _on_this_side, plan_slot
from holecam.cuts.slot_geometry import _edge_crossings, bar_reach
from holecam.cuts.slot_values import Bar, BlindEnd, OpenEnd, SlotPlan, SlotRequest, StopShort
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Segment, circle_outline, distance, rectangle
from holecam.shapes.distances import chain_approach

QUARTER = MillingCutter("1/4 end mill", 6.35, centre_cutting=True)
FORMER = rectangle(0, 0, 200, 63.5)
NOSE = KeepAway("nose curve", (Arc((170, 0), (170, 63.5), (165, 31.75), ccw=True),), 1.524)
LINE: tuple[Curve, ...] = (Segment((0, 31.75), (185, 31.75)),)
RAIL = SlotRequest(
    "rail clearance",
    LINE,
    12.0,
    6.0,
    QUARTER,
    (OpenEnd(), StopShort(NOSE)),
    body=FORMER,
    body_name="beech former",
    stock_thickness=40.0,
    step_depth=3.0,
)


def curves_at_depth(plan: SlotPlan) -> list[Curve]:
    return [c for chain in chains_at_depth(plan.path) for c in chain]


def test_width_and_depth_are_sums_whose_terms_have_names() -> None:
    # Bar 7/16 x 3/16 in, place within 0.010 in, 0.015 in of float each side and below
    bar = Cleared(
        "foot rail", 4.7625, 11.1125, position_doubt=0.254, height_doubt=0.254, float_sides=0.381, float_below=0.381
    )
    assert bar.width_sum.total == pytest.approx(11.1125 + 2 * (0.254 + 0.381))
    assert bar.depth_sum.total == pytest.approx(4.7625 + 0.254 + 0.381)
    assert [(t.words, t.times) for t in bar.width_sum.terms] == [
        ('width of "foot rail"', 1),
        ("doubt of its place, each side", 2),
        ("float, each side", 2),
    ]
    assert bar.side_sum.total == pytest.approx(0.635)
    assert ClearanceSum("x", (Term("a", 1.0, 2), Term("b", 0.5))).total == 2.5


def test_a_thing_without_width_or_with_a_wrong_length_is_refused() -> None:
    with pytest.raises(InputError, match=r'"plate" has no width'):
        Cleared("plate", 3.0).width_sum  # noqa: B018
    with pytest.raises(InputError, match=r'height of "x", 0\.0 mm'):
        Cleared("x", 0.0, 5.0)
    with pytest.raises(InputError, match=r"float, each side: -0\.1 mm"):
        Cleared("x", 1.0, 5.0, float_sides=-0.1)


def test_the_slot_down_the_former_is_open_at_one_end_and_stops_short_at_the_other() -> None:
    plan = plan_slot(replace(RAIL, bar=Bar("foot rail", 11.1125, 0.44375)))
    assert plan.proof.proved
    assert joined(tuple(plan.path.moves()))
    start, end = plan.ends
    # Spoil board: run-out (the cutter's radius unless told) and radius
    assert start.spoil_board == pytest.approx(2 * 3.175)
    assert start.centre_stops_at == pytest.approx((-3.175, 31.75), abs=1e-6)
    # The edge of the cutter, not its centre, keeps the margin; on the whole width
    near = min(chain_approach([c], NOSE.curves).distance for c in curves_at_depth(plan))
    assert near - 3.175 == pytest.approx(1.524, abs=1e-6)
    assert end.kept_margin == pytest.approx(1.524, abs=1e-6)
    # Exact: the corner of the centre's room, 2.825 off the axis, touches the circle of radius R - 1.524 - 3.175
    radius = distance((170, 0), (165, 31.75)) - 1.524 - 3.175
    assert end.centre_stops_at[0] == pytest.approx(165 + math.sqrt(radius**2 - 2.825**2), abs=1e-6)
    assert [(n, round(a, 6)) for n, a, _ in plan.walls.to_kept] == [("nose curve", 1.524)]
    assert plan.walls.bottom == pytest.approx(34.0)
    assert plan.walls.thinnest_wall == pytest.approx(200 - end.centre_stops_at[0] - 3.175, abs=1e-6)


@pytest.mark.parametrize(("run_out", "spoil"), [(None, 6.35), (0.0, 3.175), (10.0, 13.175)])
def test_spoil_board_is_run_out_and_radius(run_out: float | None, spoil: float) -> None:
    plan = plan_slot(replace(RAIL, ends=(OpenEnd(run_out), BlindEnd())))
    assert plan.ends[0].spoil_board == pytest.approx(spoil)
    left = min(p[0] for c in curves_at_depth(plan) for p in (c.start, c.end))
    assert -left + 3.175 == pytest.approx(spoil, abs=1e-6)


def test_oblique_edge_is_cut_over_the_whole_width_of_the_slot() -> None:
    # A slot at 30 degrees to the edge: the far corner of the slot lies W/2 cot(30) farther along its axis
    angle = math.radians(30)
    start = (0.0, 30.0)
    line = (Segment(start, (60 * math.sin(angle), 30 - 60 * math.cos(angle) + 40)),)
    direction = line[0].tangent_at(0.0)
    lean = math.acos(abs(direction[1]))  # to the edge, which runs along Y
    plan = plan_slot(replace(RAIL, centre_line=line, ends=(OpenEnd(1.0), BlindEnd())))
    assert plan.proof.proved
    stop = plan.ends[0].centre_stops_at
    past = -((stop[0] - start[0]) * direction[0] + (stop[1] - start[1]) * direction[1])
    assert past == pytest.approx(6.0 / math.tan(lean) + 1.0, abs=1e-6)
    # All that belongs to the slot inside the former is cut
    wide = [(start[0] - 40 * direction[0], start[1] - 40 * direction[1]), line[0].end]
    nx, ny = -direction[1] * 6, direction[0] * 6
    ring = [(wide[0][0] + nx, wide[0][1] + ny), (wide[1][0] + nx, wide[1][1] + ny)]
    ring += [(wide[1][0] - nx, wide[1][1] - ny), (wide[0][0] - nx, wide[0][1] - ny)]
    outside = [(-100.0, -100.0), (0.0, -100.0), (0.0, 200.0), (-100.0, 200.0)]
    inside = difference([integers(ring)], [integers(outside)])
    assert thick(difference(inside, swept(chains_at_depth(plan.path), 3.175))) < 0.0001 * 6.35**2
    assert plan.ends[0].spoil_board is not None
    reach = max(-(c.point_at(t)[0]) for c in curves_at_depth(plan) for t in (0, 1)) + 3.175
    assert plan.ends[0].spoil_board == pytest.approx(reach, abs=1e-6)


def test_without_a_board_the_cutter_gets_down_in_the_air() -> None:
    plan = plan_slot(replace(RAIL, spoil_board=False))
    first = next(m for m in plan.path.moves() if m.kind is MoveKind.DESCEND)
    assert first.at[0] <= -3.175 - 1.0 + 1e-9
    assert first.z_end == pytest.approx(-3.0)
    assert plan.ends[0].spoil_board is None
    with_board = plan_slot(RAIL)
    assert any(m.kind is MoveKind.ENTRY for m in with_board.path.moves())


@pytest.mark.parametrize(("measured", "past"), [("axis", 0.0), ("arc", -3.175)])
def test_blind_ends_are_measured_as_told(measured: str, past: float) -> None:
    plan = plan_slot(replace(RAIL, ends=(BlindEnd(measured), BlindEnd(measured))))
    assert plan.ends[0].centre_stops_at[0] == pytest.approx(-past, abs=1e-6)
    assert plan.ends[1].centre_stops_at[0] == pytest.approx(185 + past, abs=1e-6)


def test_length_to_the_bar_leaves_room_for_its_square_corners() -> None:
    # Closed form: the corner of the bar keeps its clearance from the rim round the end
    bar = Bar("foot rail", 11.0, 0.3)
    plan = plan_slot(replace(RAIL, width=11.6, ends=(BlindEnd(), BlindEnd()), bar=bar))
    half_room = 11.6 / 2 - 3.175
    reach = math.sqrt((3.175 - 0.3) ** 2 - (5.5 - half_room) ** 2)
    assert bar_reach(bar, 3.175, half_room) == pytest.approx(reach)
    assert plan.ends[1].centre_stops_at[0] == pytest.approx(185 - reach, abs=1e-6)
    assert plan.ends[1].bar_ends_at is not None
    assert plan.ends[1].bar_ends_at[0] == pytest.approx(185, abs=1e-4)
    assert plan.ends[1].bar_too_long_by == 0.0
    # The grown bar lies in what is cut
    ring = [(0.0, 31.75 - 5.5), (185.0, 31.75 - 5.5), (185.0, 31.75 + 5.5), (0.0, 31.75 + 5.5)]
    grown = offset([integers(ring)], 0.3)
    assert thick(difference(grown, swept(chains_at_depth(plan.path), 3.175))) < 0.0001 * 6.35**2
    longer = offset([integers([(x + (1.0 if x > 0 else 0.0), y) for x, y in ring])], 0.3)
    assert thick(difference(longer, swept(chains_at_depth(plan.path), 3.175))) > 0.001


def test_round_end_says_what_comes_off_the_bar_or_how_to_round_it() -> None:
    bar = Bar("foot rail", 11.0, 0.3)
    plan = plan_slot(replace(RAIL, width=11.6, ends=(BlindEnd("arc"), BlindEnd("arc")), bar=bar))
    end = plan.ends[1]
    half_room = 11.6 / 2 - 3.175
    reach = math.sqrt((3.175 - 0.3) ** 2 - (5.5 - half_room) ** 2)
    assert end.bar_too_long_by == pytest.approx(3.175 - reach, abs=1e-4)
    assert end.round_corners_to is None  # even rounded it would touch the end: the clearance is missing there
    axis = plan_slot(replace(RAIL, width=11.6, ends=(BlindEnd("axis"), BlindEnd("axis")), bar=bar)).ends[1]
    assert axis.bar_too_long_by == 0.0
    short = replace(RAIL, width=11.6, centre_line=(Segment((0, 31.75), (100, 31.75)),), bar=bar)
    stop = KeepAway("scribed line", (Segment((104.0, 0), (104.0, 63.5)),), 0.5)
    stopped = plan_slot(replace(short, ends=(OpenEnd(), StopShort(stop)))).ends[1]
    centre = 104 - 0.5 - 3.175
    assert stopped.centre_stops_at[0] == pytest.approx(centre, abs=1e-6)
    assert stopped.bar_too_long_by == pytest.approx(max(0.0, 100 - centre - reach), abs=1e-4)
    tight = KeepAway("scribed line", (Segment((102.8, 0), (102.8, 63.5)),), 0.5)
    cut_off = plan_slot(replace(short, ends=(OpenEnd(), StopShort(tight)))).ends[1]
    assert cut_off.bar_too_long_by == pytest.approx(100 - (102.8 - 0.5 - 3.175) - reach, abs=1e-4)
    assert cut_off.round_corners_to == pytest.approx(5.5 - half_room)
    # Rounded to that radius it goes in: its corner then lies in the rim less the clearance
    corner = (100 - (5.5 - half_room), half_room)
    assert max(0.0, corner[0] - (102.8 - 3.675)) + (5.5 - half_room) <= 3.175 - 0.3 + 1e-6


@pytest.mark.parametrize(("stop_at", "rounded"), [(100.81, True), (100.71, True), (100.69, False), (100.4, False)])
def test_corners_are_rounded_only_where_that_is_enough(stop_at: float, rounded: bool) -> None:
    """Free for the bar: 3.175 - 0.2 = 2.975 mm round the last place of the centre, half its room across 2.625 mm.

    Corners of 5.5 - 2.625 = 2.875 mm gain the way from the square bar's reach, sqrt(2.975^2 - 2.875^2) = 0.765 mm, to
    the rim, 2.975 mm, and no more: 2.210 mm. What is longer has to be shortened.
    """
    bar = Bar("foot rail", 11.0, 0.2)
    stop = KeepAway("scribed line", (Segment((stop_at, 0), (stop_at, 63.5)),), 0.5)
    line = (Segment((0, 31.75), (100, 31.75)),)
    end = plan_slot(replace(RAIL, width=11.6, centre_line=line, ends=(OpenEnd(), StopShort(stop)), bar=bar)).ends[1]
    centre = stop_at - 0.5 - 3.175
    assert end.bar_too_long_by == pytest.approx(100 - centre - math.sqrt(2.975**2 - 2.875**2), abs=1e-4)
    assert end.round_corners_to == (pytest.approx(2.875) if rounded else None)
    # The tip of the bar, 0 to 2.625 mm off the axis where its corners begin, keeps its clearance when it is rounded
    assert (100 - centre <= 2.975) is rounded


@pytest.mark.parametrize("away", [3.2, 3.9, 4.1, 40.0])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_what_lies_beside_the_slot_but_not_on_its_line_is_not_cut(away: float, side: float) -> None:
    """Loops 3 mm from the walls: the one round the line stays, a second one a hair or far beyond it goes."""

    def loop(x0: float, y0: float, x1: float, y1: float) -> Loop:
        box = rectangle(x0, min(y0, y1), x1, max(y0, y1))
        at = 0 if side > 0 else 2  # begun at the corner that is nearest to the line
        curves = box.curves[at:] + box.curves[:at]
        return Loop(curves, (0, 1, 2, 3), box.signed_area, sum(c.length for c in curves))

    around, within = loop(-3, -3, 63, 3), loop(-2, -2, 62, 2)
    beyond = loop(0, away * side, 60, (away + 9) * side)
    farther = loop(1, (away + 1) * side, 59, (away + 8) * side)
    level = Level(3.0, (around, beyond), no_stretches(), np.ones(4, dtype=bool))
    next_level = replace(level, distance=4.0, loops=(within, farther))
    (first, second) = _on_this_side([level, next_level], (Segment((0, 0), (60, 0)),))
    assert first.loops == (around,)
    assert second.loops == (within,)


@pytest.mark.outside_check(
    subject="slot",
    source="pyclipper: what is wanted less what is swept",
    closeness="nothing thicker than 0.01 mm2 left",
    standing="library",
)
@given(
    st.floats(6.4, 24.0),
    st.floats(0.0, 2.0),
    st.floats(-0.6, 0.6),
    st.sampled_from(list(Direction)),
    st.floats(1.0, 6.0),
)
@settings(max_examples=25)
def test_slots_at_any_angle_keep_their_walls_and_margins(
    width: float, margin: float, lean: float, direction: Direction, step_over: float
) -> None:
    a = (20.0, 31.75)
    b = (20.0 + 120 * math.cos(lean), 31.75 + 120 * math.sin(lean))
    stop = KeepAway("nose", (Arc((160, -60), (160, 120), (60, 30), ccw=True),), margin)
    request = replace(
        RAIL,
        centre_line=(Segment(a, b),),
        width=width,
        ends=(BlindEnd("axis"), StopShort(stop)),
        direction=direction,
        step_over=step_over,
        body=None,
    )
    plan = plan_slot(request)
    assert plan.proof.proved
    assert joined(tuple(plan.path.moves()))
    curves = curves_at_depth(plan)
    half_room = width / 2 - 3.175
    for curve in curves:
        for share in (0.0, 0.5, 1.0):
            x, y = curve.point_at(share)
            off = -(x - a[0]) * math.sin(lean) + (y - a[1]) * math.cos(lean)
            assert abs(off) <= half_room + 1e-6
    near = min(chain_approach([c], stop.curves).distance for c in curves)
    assert near - 3.175 == pytest.approx(margin, abs=1e-6)
    # Everything between the sides is cut, up to the last place where the cutter gets on its whole width
    ends = plan.ends
    p, q = ends[0].centre_stops_at, ends[1].centre_stops_at
    nx, ny = -math.sin(lean) * width / 2, math.cos(lean) * width / 2
    ring = [(p[0] - nx, p[1] - ny), (q[0] - nx, q[1] - ny), (q[0] + nx, q[1] + ny), (p[0] + nx, p[1] + ny)]
    assert thick(difference([integers(ring)], swept(chains_at_depth(plan.path), 3.175))) < 0.0001 * 6.35**2


def test_slot_as_wide_as_its_cutter_takes_one_pass() -> None:
    plan = plan_slot(replace(RAIL, width=6.35))
    assert plan.proof.proved
    (run,) = chains_at_depth(plan.path)
    assert len([c for c in run if c.length > 1e-3]) == 1 or all(isinstance(c, Segment) for c in run)
    assert sum(c.length for c in run) == pytest.approx(distance(run[0].start, run[-1].end))
    (outline,) = plan.swept
    assert outline.area == pytest.approx(6.35 * sum(c.length for c in run) + math.pi * 3.175**2, rel=1e-6)


def test_middle_first_then_both_walls_each_by_itself() -> None:
    plan = plan_slot(replace(RAIL, spoil_board=False))
    first = chains_at_depth(plan.path)[0][0]
    assert abs(first.start[1] - 31.75) < 1e-9
    finish = [m for m in plan.path.levels[0].moves if m.kind is MoveKind.FINISH]
    sides = sorted({round(m.curve.start[1] - 31.75, 6) for m in finish if m.curve and m.curve.length > 100})
    assert sides == pytest.approx([-2.825, 2.825], abs=1e-5)
    # By hand conventional: the material is on the left of the travel on both walls
    assert RAIL.direction is Direction.CONVENTIONAL
    rows = [r for r in plan.by_hand.rows if r.z == -3.0 and abs(r.side_offset) > 2.8 and abs(r.end - r.start) > 100]
    assert {r.direction for r in rows} == {"conventional"}


def test_rows_by_hand_tell_start_end_height_offset_and_direction() -> None:
    plan = plan_slot(RAIL)
    work = plan.by_hand
    assert work.followable
    assert [r.number for r in work.rows] == list(range(1, len(work.rows) + 1))
    assert {r.z for r in work.rows} == {-3.0, -6.0}
    for before, after in zip(work.rows, work.rows[1:], strict=False):
        if before.z == after.z and not after.note:
            assert before.finish == pytest.approx(after.begin, abs=1e-6)
    first = work.rows[0]
    assert first.axis == "X"
    assert first.fixed == pytest.approx(31.75)
    assert (first.start, first.end) == pytest.approx((-3.175, plan.ends[1].centre_stops_at[0]), abs=1e-6)
    assert first.direction == "full width"
    assert "to and fro" in first.note
    total = sum(abs(r.end - r.start) for r in work.rows if r.z == -3.0)
    assert total == pytest.approx(sum(c.length for c in curves_at_depth(plan)), abs=1e-3)


def test_a_turned_slot_says_how_to_turn_the_work() -> None:
    plan = plan_slot(
        replace(
            RAIL,
            centre_line=(Segment((30, 20), (120, 20 + 90 * math.tan(math.radians(20)))),),
            ends=(BlindEnd(), BlindEnd()),
        )
    )
    assert not plan.by_hand.followable
    assert "a line at 20.00 degrees" in plan.by_hand.why
    assert plan.by_hand.turn_work_deg == pytest.approx(-20.0)


def test_arc_and_polyline_centre_lines() -> None:
    line: tuple[Curve, ...] = (
        Segment((0, 20), (60, 20)),
        Arc((60, 20), (80, 40), (60, 40), ccw=True),
        Segment((80, 40), (80, 50)),
        Segment((80, 50), (110, 56)),
    )
    wish = ChainDrillWish(6.0, 0.8, 0.5)
    plan = plan_slot(replace(RAIL, centre_line=line, ends=(OpenEnd(), BlindEnd("axis")), chain=wish))
    assert plan.proof.proved
    assert not plan.by_hand.followable
    curves = curves_at_depth(plan)
    assert any(isinstance(c, Arc) and abs(c.radius - 20 - 2.825) < 1e-6 for c in curves)
    assert any(isinstance(c, Arc) and abs(c.radius - 20 + 2.825) < 1e-6 for c in curves)
    assert plan.chain_drilling is not None
    assert all(plan.swept[0].inside_by(p) >= 3.0 + 0.5 - 1e-6 for p in plan.chain_drilling.centres)
    ring = points_of(line)
    cut = swept(chains_at_depth(plan.path), 3.175)
    wanted = offset([integers(ring)], 5.99, closed=False)
    # Up to the last place of the axis everything beside the line is open; the ends are another matter
    mask = [integers([(5.0, -100.0), (100.0, -100.0), (100.0, 200.0), (5.0, 200.0)])]
    tool = pyclipper.Pyclipper()
    tool.AddPaths(wanted, pyclipper.PT_SUBJECT, True)
    tool.AddPaths(mask, pyclipper.PT_CLIP, True)
    assert thick(difference(tool.Execute(pyclipper.CT_INTERSECTION), cut)) < 0.01


def test_walls_and_bottom_are_measured_from_the_edge_of_the_cutter() -> None:
    line = (Segment((20, 10.0), (120, 10.0)),)
    plan = plan_slot(replace(RAIL, centre_line=line, ends=(BlindEnd("axis"), BlindEnd("axis")), depth=38.5))
    assert plan.walls.thinnest_wall == pytest.approx(10.0 - 6.0)
    assert plan.walls.wall_at is not None
    assert plan.walls.wall_at[1] == pytest.approx(0.0)
    assert plan.walls.bottom == pytest.approx(1.5)
    through = plan_slot(replace(RAIL, through=True))
    assert through.walls.bottom == 0.0
    assert through.path.deepest_z == pytest.approx(-40.5)


def test_keep_outs_beside_the_slot_are_kept_too() -> None:
    pin = KeepAway("dowel", circle_outline(Circle((100, 31.75 + 8.0), 2.0)).curves, 1.0)
    plan = plan_slot(replace(RAIL, keep_away=(pin,), width=14.0))
    assert plan.proof.proved
    near = least_distance(chains_at_depth(plan.path), [circle_outline(Circle((100, 39.75), 2.0))])
    assert near - 3.175 == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(
    ("by_hand", "backlash", "expected"),
    [
        (True, 0.0, Direction.CONVENTIONAL),
        (False, 0.0, Direction.CLIMB),
        (False, 0.005, Direction.CLIMB),
        (False, 0.05, Direction.CONVENTIONAL),
        (False, None, Direction.CONVENTIONAL),
        (False, math.nan, Direction.CONVENTIONAL),
    ],
)
def test_default_direction_follows_the_machine(by_hand: bool, backlash: float | None, expected: Direction) -> None:
    assert default_direction(by_hand=by_hand, backlash=backlash) is expected


CASES: list[tuple[dict[str, Any], str]] = [
    ({"width": 6.0}, r'slot "rail clearance" is 6\.000 mm wide, its cutter "1/4 end mill" 6\.350 mm'),
    (
        {"ends": (OpenEnd(), StopShort(KeepAway("nose curve", NOSE.curves, 195.0)))},
        r'the margin of 195\.000 mm before "nose curve" leaves nothing of it',
    ),
    (
        {"ends": (BlindEnd("arc"), BlindEnd("arc")), "centre_line": (Segment((0, 31.75), (6.0, 31.75)),)},
        r"its ends leave nothing of its 6\.000 mm",
    ),
    ({"body": rectangle(0, 100, 200, 150)}, r"its open end at X 0\.000 Y 31\.750 mm, led straight on, never crosses"),
    ({"depth": 40.0}, r"depth 40\.000 mm goes through the stock, 40\.000 mm"),
    ({"step_over": 0.0}, "step-over 0.0 mm: the cutter would never get anywhere"),
    (
        {"centre_line": (Segment((0, 0), (50, 0)), Segment((51, 0), (90, 0)))},
        r"a gap between \(50, 0\) and \(51, 0\), pieces 1 and 2; close it",
    ),
    (
        {"centre_line": (Segment((0, 0), (50, 0)), Segment((50, 0), (50, 40)), Segment((50, 40), (20, -20)))},
        r"crosses itself at X 30\.000 Y 0\.000 mm, where its pieces 1 and 3 meet",
    ),
    (
        {
            "centre_line": (Arc((0, 0), (0, 0), (20, 0), ccw=True),),
            "ends": (BlindEnd(), BlindEnd()),
        },
        "its line ends where it starts. Make a pocket with an island of it",
    ),
    ({"sneak": SneakWish(6.0, 2)}, r"undersize 6\.000 mm leaves 6\.000 mm.*Start at most 5\.650 mm undersize"),
    ({"cutter": MillingCutter("stub", 6.35, flute_length=4.0)}, 'cutter "stub" is too short for a depth of 6.000 mm'),
    ({"entry": Entry.PLUNGE, "cutter": MillingCutter("x", 6.35)}, "may not plunge"),
    ({"entry_hole": EntryHole((50, 31.75), 7.0)}, "does not lie where the cut begins"),
]


@pytest.mark.parametrize(("change", "words"), CASES)
def test_bad_slots_are_refused_with_place_and_remedy(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        plan_slot(replace(RAIL, **change))


def test_wrong_ends_are_refused() -> None:
    with pytest.raises(InputError, match=r'blind end measured to "rim"'):
        BlindEnd("rim")
    with pytest.raises(InputError, match=r"run-out -1\.0 mm"):
        OpenEnd(-1.0)


def test_the_end_that_stops_is_where_a_brute_force_march_stops() -> None:
    draw = np.random.default_rng(7)
    for _ in range(20):
        centre = (float(draw.uniform(120, 160)), float(draw.uniform(0, 63)))
        radius = float(draw.uniform(15, 40))
        bow = KeepAway("bow", circle_outline(Circle(centre, radius)).curves, 1.0)
        plan = plan_slot(replace(RAIL, ends=(OpenEnd(), StopShort(bow))))
        stop = plan.ends[1].centre_stops_at[0]
        # March: the first X at which some place across the room is nearer than radius and margin
        across = 31.75 + np.linspace(-2.825, 2.825, 2001)
        x = np.arange(0.0, 185.0 + 60.0, 0.01)
        limit = radius + 1.0 + 3.175
        off = np.minimum(np.abs(across - centre[1]), np.inf)
        reach = np.where(off < limit, centre[0] - np.sqrt(np.maximum(limit**2 - off**2, 0.0)), np.inf)
        expected = reach.min()
        if math.isfinite(expected):
            assert stop == pytest.approx(min(expected, x[-1]), abs=2e-5)


@pytest.mark.parametrize("lean_deg", [0.0, 25.0, -40.0, 155.0])
@pytest.mark.parametrize("side", [0.0, 3.0, -3.0])
def test_where_the_axis_leaves_the_body_is_measured_along_it(lean_deg: float, side: float) -> None:
    """A slot from the middle of a round body of 50 mm, at (20, 70): an axis ``s`` aside leaves it after
    sqrt(50^2 - s^2), less the 10 mm that are drawn."""
    a = math.radians(lean_deg)
    tangent = (math.cos(a), math.sin(a))
    tip = (20.0 + 10.0 * tangent[0], 70.0 + 10.0 * tangent[1])
    found = _edge_crossings(
        circle_outline(Circle((20.0, 70.0), 50.0)), (Segment((20.0, 70.0), tip),), tip, tangent, side
    )
    ahead = math.sqrt(50.0**2 - side**2)
    # On the seam of the circle both of its halves are crossed, in one place
    assert len(found) == (2 if (lean_deg, side) == (0.0, 0.0) else 1)
    assert [past for past, _, _ in found] == pytest.approx([ahead - 10.0] * len(found), abs=1e-9)
    (_, edge, way) = found[-1]
    place = (
        tip[0] + (ahead - 10.0) * tangent[0] - side * tangent[1],
        tip[1] + (ahead - 10.0) * tangent[1] + side * tangent[0],
    )
    assert distance(edge.nearest(place), place) < 1e-9
    # Square to the radius there
    assert way[0] * (place[0] - 20.0) + way[1] * (place[1] - 70.0) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("lean_deg", [0.0, 30.0, -75.0])
def test_a_row_is_entered_through_a_hole_or_a_helix_in_its_middle(lean_deg: float) -> None:
    a = math.radians(lean_deg)
    row = Segment((100.0, 100.0), (100.0 + 60.0 * math.cos(a), 100.0 + 60.0 * math.sin(a)))
    middle = (100.0 + 30.0 * math.cos(a), 100.0 + 30.0 * math.sin(a))
    walls = walls_of(chains_of_region(rectangle(0, 0, 200, 200), ()))
    drilled = EntryChooser(walls, QUARTER, Direction.CLIMB, Entry.DRILLED_HOLE).choose_on(row)
    assert isinstance(drilled, StraightEntry)
    assert drilled.at == pytest.approx(middle)
    assert (drilled.hole, drilled.free) == (6.35, True)
    helix = EntryChooser(walls, QUARTER, Direction.CLIMB, Entry.HELIX).choose_on(row)
    assert isinstance(helix, HelixEntry)
    assert helix.center == pytest.approx(middle)
    assert helix.ccw
    plunge = EntryChooser(walls, QUARTER, Direction.CLIMB, Entry.PLUNGE).choose_on(row)
    assert isinstance(plunge, StraightEntry)
    assert plunge.at == row.start


def test_a_ring_that_is_open_by_less_than_a_millimetre_is_a_slot() -> None:
    """Ends 0.9 mm apart and a groove of 0.4 mm: 0.5 mm stay between the ends. Only a line that closes is a pocket."""
    turn = math.asin(0.45 / 10.0)
    start, end = ((10.0 * math.cos(t), 10.0 * math.sin(t)) for t in (turn, -turn))
    fine = MillingCutter("0.4 mm end mill", 0.4, centre_cutting=True)
    ring = SlotRequest(
        "ring", (Arc(start, end, (0.0, 0.0), ccw=True),), 0.4, 0.3, fine, (BlindEnd("axis"), BlindEnd("axis")),
        step_depth=0.2,
    )  # fmt: skip
    assert plan_slot(ring).proof.proved
    closed = Arc(start, start, (0.0, 0.0), ccw=True)
    with pytest.raises(InputError, match="ends where it starts"):
        plan_slot(replace(ring, centre_line=(closed,)))
