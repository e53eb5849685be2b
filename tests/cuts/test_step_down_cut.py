"""Strokes, leftovers and direction of a planned cut, looked at point by point with a polygon library."""

from __future__ import annotations

import itertools
import math
import random
from fractions import Fraction

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from holecam.cuts.cut_choices import Direction
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.inside_bend_wall import BendWall, wall_through
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.path_values import MoveKind, joined
from holecam.cuts.step_down_cut import BendSide, CutRequest, StepDownCut, level_path, limit_lines, plan_cut
from holecam.cuts.step_down_heights import HeightsRequest, StepDownHeights, plan_heights
from holecam.cuts.step_down_passes import PassRule
from holecam.cuts.step_down_region import leftover
from holecam.cuts.step_down_strokes import StrokePlanner, straight_guide
from holecam.cuts.stroke_pieces import SHARP_TURN_DEG
from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Outline, Point, Segment, outline_through, rectangle
from holecam.shapes.distances import point_to_chain

R_CORNER = 8.0
CORNER = (
    Segment((0.0, 40.0), (0.0, R_CORNER)),
    Arc((0.0, R_CORNER), (R_CORNER, 0.0), (R_CORNER, R_CORNER), ccw=True),
    Segment((R_CORNER, 0.0), (60.0, 0.0)),
)
"""A wall round a curved inside corner; the cut is on its left."""


def heights(rough: float = 0.4) -> StepDownHeights:
    stack = LayerStack(
        (
            Layer.of("rail", 1.6, within=0.03),
            Layer.of("solder", 0.1, within=0.04),
            Layer.of("hood", 0.6, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("bare sheet", "lamp", 0.0, 0.005), Fraction(1, 200))
    return plan_heights(HeightsRequest(touched, PassRule(rough)), with_looks=False)


HEIGHTS = heights()


def cut(
    region: Outline | None = None,
    *,
    wall: tuple[Curve, ...] = CORNER,
    diameter: float = 6.0,
    corner: float = 0.0,
    margin: float = 0.3,
    radius: float = 2.4,
    **more: object,
) -> StepDownCut:
    request = CutRequest(
        rectangle(2.7, 2.7, 28.0, 13.5) if region is None else region,
        MillingCutter("end mill", diameter, corner_radius=corner),
        (BendSide("front", BendWall(wall), radius, margin),),
        **more,  # type: ignore[arg-type]
    )
    return plan_cut(request, HEIGHTS)


def polyline(curves: tuple[Curve, ...]) -> shapely.LineString:
    points: list[Point] = []
    for curve in curves:
        pieces = 1 if isinstance(curve, Segment) else max(8, math.ceil(curve.length / 0.02))
        points += [curve.point_at(n / pieces) for n in range(pieces)]
    return shapely.LineString([*points, curves[-1].end])


def polygon(outline: Outline) -> shapely.Polygon:
    return shapely.Polygon(
        [p for c in outline.curves for p in (c.point_at(0), c.point_at(0.25), c.point_at(0.5), c.point_at(0.75))]
    )


def raster(region: Outline, step: float = 0.25) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    x0, y0, x1, y1 = region.bounds
    xs, ys = np.meshgrid(np.arange(x0 + step / 3, x1, step), np.arange(y0 + step / 3, y1, step))
    points = np.column_stack([xs.ravel(), ys.ravel()])
    return points[shapely.contains_xy(polygon(region), points[:, 0], points[:, 1])]


def check_coverage(planned: StepDownCut, which: int = -1) -> None:
    """What no stroke sweeps is the leftover, and the leftover is what no stroke sweeps."""
    step = planned.passes[which]
    region = planned.request.region
    points = raster(region)
    swept = shapely.union_all([polyline(s.curves) for s in step.strokes])
    away = shapely.distance(shapely.points(points), swept)
    left = shapely.union_all([polygon(o) for o in step.left.outlines]) if step.left.outlines else shapely.Polygon()
    to_left = shapely.distance(shapely.points(points), left) if step.left.outlines else np.full(len(points), np.inf)
    inside_left = shapely.contains_xy(left, points[:, 0], points[:, 1])
    radius = planned.request.cutter.radius
    assert (away[to_left > 0.01] <= radius + 1e-3).all()
    depth = shapely.distance(shapely.points(points), left.boundary) if step.left.outlines else np.zeros(len(points))
    assert (away[inside_left & (depth > 0.01)] >= radius - 1e-3).all()
    assert step.left.area <= out_of_reach(planned, which).area + 0.02, "strokes leave what the cutter could take"


def out_of_reach(planned: StepDownCut, which: int = -1) -> shapely.Geometry:
    """Return what no place of the axis reaches that keeps off walls and shoulders, whatever the strokes."""
    request, limits = planned.request, planned.passes[which].limits
    radius = request.cutter.radius
    region = polygon(request.region)
    room = region.buffer(2.0 * radius)
    far = 3.0 * max(room.bounds[2] - room.bounds[0], room.bounds[3] - room.bounds[1])
    for side, limit in zip(request.bends, limits, strict=True):
        if limit.axis is not None:
            room = room.difference(polyline(side.wall.run_on(far)).buffer(limit.axis, quad_segs=128))
    for shoulder in request.shoulder:
        room = room.difference(polyline(shoulder).buffer(radius + request.shoulder_margin - 1e-6, quad_segs=128))
    return region.difference(room.buffer(radius, quad_segs=128))


def check_kept_off(planned: StepDownCut) -> None:
    for step in planned.passes:
        for side, limit in zip(planned.request.bends, step.limits, strict=True):
            if limit.axis is None:
                continue
            for stroke in step.strokes:
                for curve in stroke.curves:
                    for n in range(17):
                        away = point_to_chain(curve.point_at(n / 16), side.wall.line)
                        assert away >= limit.axis - 1e-6
    keep = planned.request.cutter.radius + planned.request.shoulder_margin
    ways = [polyline(s.curves) for p in planned.passes for s in p.strokes]
    rooms = [way.distance(polyline(side)) - keep for way in ways for side in planned.request.shoulder]
    assert all(room > -1e-4 for room in rooms)  # chords of arcs
    if rooms:
        assert planned.shoulder_room == pytest.approx(min(rooms), abs=1e-4)


@pytest.mark.outside_check(
    subject="sweep of a step-down",
    source="shapely: distances of a raster of points to the strokes",
    closeness="0.001 mm",
    standing="library",
)
def test_every_reachable_place_is_swept_and_nothing_else_is_promised() -> None:
    planned = cut()
    check_coverage(planned)
    check_coverage(planned, 0)
    check_kept_off(planned)


def check_random_corner(rng: random.Random) -> None:
    # a wall that turns in or out by some angle, a region that follows it loosely
    diameter, corner, step = rng.uniform(2.0, 8.0), max(0.0, rng.uniform(-0.6, 0.6)), rng.uniform(0.2, 1.0)
    r, turn, margin, climb = rng.uniform(3.0, 12.0), rng.uniform(-60.0, 60.0), rng.uniform(0.0, 0.8), rng.random() < 0.3
    t = math.radians(turn)
    ahead = (math.cos(t), math.sin(t))
    if abs(t) > 0.05:
        side = math.copysign(1.0, t)
        centre = (0.0, side * r)
        end = (centre[0] + side * r * math.sin(t), centre[1] - side * r * math.cos(t))
        wall: tuple[Curve, ...] = (
            Segment((-30.0, 0.0), (0.0, 0.0)),
            Arc((0.0, 0.0), end, centre, ccw=t > 0),
            Segment(end, (end[0] + 30 * ahead[0], end[1] + 30 * ahead[1])),
        )
    else:
        wall = (Segment((-30.0, 0.0), (30.0, 0.0)),)
    low = 1.0 + 14.0 * max(0.0, math.sin(t))
    region = outline_through([(-12.0, 1.0), (10.0, low), (10.0, low + 8.0), (-12.0, 11.0)])
    corner *= diameter / 2
    planned = cut(
        region,
        wall=wall,
        diameter=diameter,
        corner=corner,
        margin=margin,
        step_over=step * (diameter / 2 - corner),
        direction=Direction.CLIMB if climb else Direction.CONVENTIONAL,
    )
    check_kept_off(planned)
    if not planned.reaches_nothing and corner == 0.0:
        check_coverage(planned)


@pytest.mark.parametrize("seed", range(5))
def test_coverage_on_random_corners(seed: int) -> None:
    check_random_corner(random.Random(seed))


@pytest.mark.slow
def test_coverage_on_many_random_corners() -> None:
    rng = random.Random(99)
    for _ in range(20):
        check_random_corner(rng)


def test_conventional_strokes_keep_the_wall_on_the_left_and_climb_on_the_right() -> None:
    for direction, sign in ((Direction.CONVENTIONAL, 1.0), (Direction.CLIMB, -1.0)):
        planned = cut(direction=direction)
        for stroke in planned.passes[-1].strokes:
            for curve in stroke.cut:
                for share in (0.2, 0.5, 0.8):
                    (x, y), (tx, ty) = curve.point_at(share), curve.tangent_at(share)
                    foot = min((c.nearest((x, y)) for c in CORNER), key=lambda q: math.dist((x, y), q))
                    assert sign * (tx * (foot[1] - y) - ty * (foot[0] - x)) > 0
        codes = {note.code: note.good for note in planned.direction_notes}
        assert codes == ({"pushes-off-bend": True} if sign > 0 else {"pushes-toward-bend": False})


def test_strokes_walk_toward_the_bend_and_the_last_runs_along_the_limit() -> None:
    planned = cut()
    for step in planned.passes:
        ways = [stroke.away for stroke in step.strokes]
        assert ways == sorted(ways, reverse=True)
        assert all(a - b <= planned.request.step_over_used + 1e-9 for a, b in itertools.pairwise(ways))
        assert step.strokes[-1].along_bend
        assert step.strokes[-1].away == step.limits[0].axis
    last = planned.passes[-1].strokes[-1]
    assert [c.radius for c in last.cut if isinstance(c, Arc)] == pytest.approx(
        [R_CORNER - last.away]
    )  # an arc stays one
    # the lower the pass, the farther out
    axes = [step.limits[0].axis for step in planned.passes]
    assert all(b >= a for a, b in itertools.pairwise(axes) if a is not None and b is not None)


def test_leads_lie_off_the_metal_and_away_from_the_wall() -> None:
    planned = cut()
    for stroke in planned.passes[-1].strokes:
        assert not stroke.starts_in_metal
        assert not stroke.ends_in_metal
        (inward,), (outward,) = stroke.lead_in, stroke.lead_out
        assert inward.end == stroke.cut[0].start
        assert outward.start == stroke.cut[-1].end
        for off in (inward.start, outward.end):
            assert planned.request.region.inside_by(off) < -planned.request.cutter.radius
        assert point_to_chain(inward.start, CORNER) > point_to_chain(inward.end, CORNER)
        assert point_to_chain(outward.end, CORNER) > point_to_chain(outward.start, CORNER)


@pytest.mark.parametrize(("lead", "off"), [(None, 1.0), (2.5, 2.5)])
@pytest.mark.parametrize("feed_deg", [0.0, 90.0, 180.0, 30.0])
def test_strokes_start_and_end_a_millimetre_off_the_metal(feed_deg: float, lead: float | None, off: float) -> None:
    """The rim of the cutter, 3 mm from its axis, comes up to 1.0 mm to the metal before the cut, not more."""
    region = rectangle(0.0, 0.0, 40.0, 16.0)
    planner = StrokePlanner(region, 3.0, 2.0) if lead is None else StrokePlanner(region, 3.0, 2.0, lead=lead)
    guide = straight_guide(region, feed_deg, cutter_radius=3.0, direction=Direction.CONVENTIONAL)
    strokes = planner.strokes(guide, ())
    assert len(strokes) > 4
    for stroke in strokes:
        for end in (stroke.cut[0].start, stroke.cut[-1].end):
            assert region.inside_by(end) == pytest.approx(-(3.0 + off), abs=1e-6)


def test_beside_the_wall_no_stroke_turns_sharply() -> None:
    # a corner tighter than the limit leaves a sharp turn: the stroke is cut in two there and lifted
    tight = wall_through([(0.0, 40.0), (0.0, 0.0), (60.0, 0.0)]).line
    planned = cut(wall=tight)
    last = planned.passes[-1].strokes
    along = [s for s in last if s.along_bend]
    assert len(along) == 2
    for stroke in along:
        for before, after in zip(stroke.cut, stroke.cut[1:], strict=False):
            (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
            assert math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))) <= SHARP_TURN_DEG
    assert along[0].ends_in_metal
    assert along[0].lead_out == ()
    assert "strokes-end-in-corner" in {note.code for note in planned.direction_notes}
    check_coverage(planned)


@pytest.mark.outside_check(
    subject="sweep of a step-down",
    source="(1 - pi/4) R^2 in a square corner",
    closeness="0.002 mm2",
    standing="mathematics",
)
def test_left_in_a_square_corner_against_the_closed_form() -> None:
    # practice C4: a sharp 90 degree corner leaves R^2 (1 - pi/4)
    region = rectangle(0.0, 0.0, 30.0, 30.0)
    rows = [(Segment((4.0, y), (40.0, y)),) for y in (4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 28.0, 32.0)]
    left = leftover(region, [*rows, (Segment((4.0, 4.0), (4.0, 40.0)),)], cutting_radius=4.0, z=0.0)
    assert left.area == pytest.approx(16.0 * (1 - math.pi / 4), abs=2e-3)
    assert len(left.outlines) == 1
    strip = leftover(
        region,
        [(Segment((-9.0, y), (40.0, y)),) for y in (5.5, 9.5, 13.5, 17.5, 21.5, 25.5, 29.5)],
        cutting_radius=4.0,
        z=0.0,
    )
    assert strip.area == pytest.approx(30.0 * 1.5, rel=1e-3)
    assert strip.width == pytest.approx(1.5, abs=2e-3)


def test_left_beside_a_straight_bend_is_the_strip_under_the_limit() -> None:
    wall = (Segment((-60.0, 0.0), (60.0, 0.0)),)
    planned = cut(rectangle(-10.0, 1.0, 10.0, 12.0), wall=wall)
    volume = 0.0
    for step in planned.passes:
        flank = step.limits[0].flank
        assert flank is not None
        expected = 20.0 * max(0.0, flank - 1.0)
        assert step.left.area == pytest.approx(expected, abs=0.03)
        assert step.left.width == pytest.approx(max(0.0, flank - 1.0), abs=5e-3)
        volume += expected * step.height.step
    assert planned.left_volume == pytest.approx(volume, rel=5e-3)
    assert planned.left_flat is not None
    assert planned.left_flat.area == pytest.approx(planned.passes[-1].left.area)


def test_bull_nose_clears_less_flat_than_wide() -> None:
    planned = cut(corner=1.0, step_over=1.5)
    assert planned.left_flat is not None
    assert planned.left_flat.area > planned.passes[-1].left.area
    limit = planned.passes[-1].limits[0]
    assert limit.flank is not None
    assert limit.flat == pytest.approx(limit.flank + 1.0)
    with pytest.raises(InputError, match=r"step-over 2.5 mm: expected above 0 and at most 2 mm"):
        cut(corner=1.0, step_over=2.5)


SHOULDER = ((Segment((28.0, -20.0), (28.0, 40.0)),),)


def test_shoulder_of_metal_that_stays_is_never_cut() -> None:
    planned = cut(shoulder=SHOULDER, shoulder_margin=0.2)
    for step in planned.passes:
        for stroke in step.strokes:
            for curve in stroke.curves:
                for n in range(9):
                    assert curve.point_at(n / 8)[0] <= 28.0 - 3.2 + 1e-6
    check_coverage(planned)
    starts = [s.starts_in_metal for s in planned.passes[-1].strokes]
    assert all(starts)  # conventional strokes run away from the rest of the bar here
    # the first comes down beside the metal, all others where the stroke before has cleared
    assert all(s.lead_in and s.where_cut and not s.plunges for s in planned.passes[-1].strokes)


def test_strokes_that_end_at_a_shoulder_leave_no_ridges_on_it() -> None:
    planned = cut(shoulder=SHOULDER, direction=Direction.CLIMB)
    last = planned.passes[-1].strokes
    assert all(s.ends_in_metal for s in last)
    check_coverage(planned)
    for stroke in last[1:]:
        (out,) = stroke.lead_out
        assert point_to_chain(out.end, CORNER) > point_to_chain(out.start, CORNER)  # away from the bend
    level = level_path(planned.passes[-1], z_above=0.1, clearance_z=10.0)
    assert {m.kind for m in level.moves} == {
        MoveKind.DESCEND,
        MoveKind.LINK,
        MoveKind.CUT,
        MoveKind.RETRACT,
        MoveKind.TRAVEL,
    }


def test_narrow_region_is_cleared_from_outside_it() -> None:
    wall = (Segment((-60.0, 0.0), (60.0, 0.0)),)
    planned = cut(rectangle(-10.0, 2.0, 10.0, 4.0), wall=wall)
    assert planned.passes[-1].limits[0].axis == pytest.approx(5.7)
    assert planned.passes[-1].left.area == pytest.approx(20.0 * 0.7, abs=0.03)
    check_coverage(planned)


def test_region_whose_corners_miss_each_other_by_a_hair() -> None:
    hair = 5e-7  # what drawings leave, less than is refused
    region = Outline(
        (
            Segment((3.0, 3.0), (20.0, 3.0)),
            Segment((20.0, 3.0 + hair), (20.0, 12.0)),
            Segment((20.0, 12.0), (3.0, 12.0)),
            Segment((3.0, 12.0), (3.0 + hair, 3.0)),
        )
    )
    assert cut(region).passes[-1].strokes


def test_direction_against_the_clamped_end_is_said() -> None:
    away = {n.code for n in cut(clamped_toward_deg=0.0).direction_notes}
    toward = {n.code for n in cut(clamped_toward_deg=180.0).direction_notes}
    assert "runs-from-clamp" in away
    assert "runs-toward-clamp" in toward


def test_second_wall_gets_its_own_last_stroke() -> None:
    straight = (Segment((60.0, 0.0), (-60.0, 0.0)),)
    request = CutRequest(
        rectangle(3.0, 3.0, 25.0, 14.0),
        MillingCutter("end mill", 5.0),
        (
            BendSide("long", BendWall(straight, "right"), 2.0, 0.2),
            BendSide("short", wall_through([(0.0, 60.0), (0.0, -60.0)]), 2.0, 0.2),
        ),
    )
    planned = plan_cut(request, HEIGHTS)
    check_kept_off(planned)
    check_coverage(planned)
    assert sum(s.along_bend for s in planned.passes[-1].strokes) >= 2
    assert "strokes-end-at-bend" in {n.code for n in planned.direction_notes}


def test_straight_strokes_without_a_bend() -> None:
    request = CutRequest(rectangle(0.0, 0.0, 20.0, 9.0), MillingCutter("end mill", 5.0), feed_deg=30.0)
    planned = plan_cut(request, HEIGHTS)
    check_coverage(planned)
    for stroke in planned.passes[0].strokes:
        (tx, ty) = stroke.cut[0].tangent_at(0.0)
        assert (tx, ty) == pytest.approx((math.cos(math.radians(30)), math.sin(math.radians(30))))
    # the step-over goes to the left of the travel, where conventional milling has its metal
    offs = [
        -math.sin(math.radians(30)) * s.cut[0].start[0] + math.cos(math.radians(30)) * s.cut[0].start[1]
        for s in planned.passes[0].strokes
    ]
    assert offs == sorted(offs)
    assert planned.passes[-1].left.area == 0.0


def test_wall_lower_than_the_bar_limits_only_below_its_top() -> None:
    request = CutRequest(
        rectangle(2.7, 2.7, 28.0, 13.5),
        MillingCutter("end mill", 6.0),
        (BendSide("lip", BendWall(CORNER), 1.0, 0.2, wall_height=1.0),),
    )
    planned = plan_cut(request, HEIGHTS)
    for step in planned.passes:
        assert (step.limits[0].axis is None) == (step.sheet_height > 1.0)
        assert step.strokes
    assert planned.passes[0].left.area == 0.0


def test_limit_lines_for_the_picture() -> None:
    planned = cut()
    step = planned.passes[-1]
    (lines,) = limit_lines(planned, step)
    near = [c.point_at(0.5) for c in lines.flank[0] if isinstance(c, Arc)]
    assert [point_to_chain(p, CORNER) for p in near] == pytest.approx([step.limits[0].flank])
    assert lines.bend == "front"


def test_moves_of_a_pass_join_and_are_lifted_straight_up() -> None:
    planned = cut()
    step = planned.passes[-1]
    level = level_path(step, z_above=planned.passes[-2].z, clearance_z=10.0)
    assert joined(level.moves)
    assert level.moves[0].z_start == 10.0
    assert level.moves[-1].kind is MoveKind.RETRACT
    assert level.moves[-1].z_end == 10.0
    assert min(m.z_end for m in level.moves) == step.z
    for move in level.moves:
        if move.kind is MoveKind.RETRACT:
            assert move.curve is None
        if move.kind is MoveKind.TRAVEL:
            assert move.z_start == move.z_end == 10.0


def test_nothing_is_reached_when_the_cutter_is_too_large_or_the_margin_leaves_nothing() -> None:
    channel = (
        Segment((30.0, 8.0), (0.0, 8.0)),
        Segment((0.0, 8.0), (0.0, 0.0)),
        Segment((0.0, 0.0), (30.0, 0.0)),
    )
    inner = rectangle(1.5, 3.0, 20.0, 5.0)
    large = cut(inner, wall=channel, diameter=6.4, margin=0.0, radius=1.0)
    assert large.reaches_nothing
    assert large.fits_without_cutter
    wide = cut(inner, wall=channel, diameter=1.0, margin=4.5, radius=1.0)
    assert wide.reaches_nothing
    assert not wide.fits_without_cutter


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"step_over": 3.5}, r"step-over 3.5 mm: expected above 0 and at most 3 mm"),
        ({"step_over": 0.0}, r"step-over 0 mm: expected above 0"),
        ({"feed_deg": 0.0}, r"beside a bend they run along it"),
        ({"corner": 3.0}, r"a ball nose leaves no flat floor"),
        ({"shoulder_margin": -1.0}, r"margin before the shoulder -1.0 mm"),
        (
            {"region": outline_through([(3.0, 3.0), (20.0, 12.0), (20.0, 3.0), (3.0, 12.0)])},
            r"its edge crosses itself",
        ),
    ],
)
def test_wrong_cuts_are_named(more: dict[str, object], message: str) -> None:
    with pytest.raises(InputError, match=message):
        cut(**more)  # type: ignore[arg-type]


def test_gap_larger_than_the_floor_leaves_is_refused() -> None:
    request = CutRequest(
        rectangle(2.7, 2.7, 28.0, 13.5),
        MillingCutter("end mill", 6.0),
        (BendSide("front", BendWall(CORNER), 2.4, 0.3, gap=0.5),),
    )
    with pytest.raises(InputError, match=r'bend "front": a gap of 0.5000 mm is to be kept, and the floor lies only'):
        plan_cut(request, HEIGHTS)
    with pytest.raises(InputError, match=r"expected a bend to run along, or the direction of the strokes"):
        CutRequest(rectangle(0, 0, 1, 1), MillingCutter("c", 1.0))


def test_where_no_pass_is_left_nothing_is_cut_and_nothing_is_said_to_stay() -> None:
    planned = plan_cut(cut().request, replace(HEIGHTS, passes=()))
    assert planned.passes == ()
    assert planned.left_volume == 0.0
    assert planned.least is None
    assert planned.left_flat is None
    assert not planned.reaches_nothing
