"""Section and plan of a bend, strokes beside it and what they leave, by hand: places, lengths, notes, refusals."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from msgspec.structs import replace

from holecam.cuts.cut_choices import Direction
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.inside_bend import HEIGHT_NOISE, BendGap, InsideBend, bend_gap, flank_limit, gap_standard
from holecam.cuts.inside_bend_section import (
    bent_sheet,
    bent_surface,
    standing_cutter,
    telling_passes,
    tooth_limit,
)
from holecam.cuts.inside_bend_wall import BendWall, _sample, _side, check_region_side, least_distance, wall_through
from holecam.cuts.layer_estimates import Estimate
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.path_values import MoveKind
from holecam.cuts.step_down_clearance import LeastGap, WallFacts, least_gaps
from holecam.cuts.step_down_cut import (
    BendSide,
    CutRequest,
    SideLimit,
    StepDownCut,
    StepPass,
    _band_radius,
    level_path,
    limit_lines,
    plan_cut,
)
from holecam.cuts.step_down_direction import direction_notes
from holecam.cuts.step_down_heights import HeightsRequest, PassHeight, StepDownHeights, plan_heights
from holecam.cuts.step_down_passes import PassRule
from holecam.cuts.step_down_region import (
    CHORD_ERROR,
    MOST_SEGMENTS,
    SLIVER,
    KeptOff,
    Leftover,
    leftover,
    points_along,
    reached_area,
    region_polygon,
    wall_kept_off,
)
from holecam.cuts.step_down_strokes import (
    LEAST_LEAD,
    LEAST_SLOPE,
    Guide,
    Stroke,
    StrokePlanner,
    straight_guide,
)
from holecam.cuts.stroke_pieces import SHARP_TURN_DEG, part_of, split_at_corners
from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Point, Segment, outline_through, rectangle
from holecam.shapes.distances import point_to_chain

HALF, ROOT_5 = math.sqrt(0.5), math.sqrt(5.0)


def ends(curves: tuple[Curve, ...]) -> list[float]:
    """Return the coordinates of the joints of a chain one after the other."""
    return [v for p in (curves[0].start, *(c.end for c in curves)) for v in p]


# The section


def test_limit_of_the_flank_by_hand() -> None:
    """Radius 2, gap 0.1: at a height of 0.5 the corner lies on a circle of 1.9 about (2, 2), 1.5 under its middle."""
    bend = InsideBend(2.0, 0.1, 0.3)
    assert flank_limit(bend, height=0.5, corner_radius=0.0) == pytest.approx(2.0 - math.sqrt(1.9**2 - 1.5**2) + 0.3)
    # A corner of 0.5: the circle of 1.4 about (1.5, 1.5) for its own middle, 1 under it
    assert flank_limit(bend, height=0.5, corner_radius=0.5) == pytest.approx(1.5 - math.sqrt(1.4**2 - 1.0) + 0.3)
    assert flank_limit(bend, height=1.5, corner_radius=0.5) == pytest.approx(0.4)
    assert flank_limit(bend, height=1.4999, corner_radius=0.5) == pytest.approx(0.4, abs=1e-6)
    assert HEIGHT_NOISE == 1e-9
    assert flank_limit(bend, height=0.1 - 0.9e-9, corner_radius=0.0) == 2.3
    with pytest.raises(InputError, match=r"expected at least the gap of 0\.1 mm"):
        flank_limit(bend, height=0.1 - 1.1e-9, corner_radius=0.0)


@pytest.mark.parametrize(
    ("flank", "height", "corner", "found"),
    [
        # Corner at (1, 2) of a bend of 3 about (3, 3): sqrt 5 off its middle
        (1.0, 2.0, 0.0, BendGap(3 - ROOT_5, "bend", (-2 / ROOT_5, -1 / ROOT_5), (3 - 6 / ROOT_5, 3 - 3 / ROOT_5))),
        # Middle of a corner of 0.5 at (1.5, 1): 2.5 off, so nothing is left of the 3 but 0.5, less the corner
        (1.0, 0.5, 0.5, BendGap(0.0, "bend", (-0.6, -0.8), (1.2, 0.6))),
        (2.9, 0.2, 0.2, BendGap(0.2, "sheet", (0.0, -1.0), (3.1, 0.0))),
        (3.0, 0.2, 0.0, BendGap(0.2, "sheet", (0.0, -1.0), (3.0, 0.0))),
        (0.2, 3.0, 0.0, BendGap(0.2, "wall", (-1.0, 0.0), (0.0, 3.0))),
        (0.2, 5.0, 0.5, BendGap(0.2, "wall", (-1.0, 0.0), (0.0, 5.5))),
        (4.0, 4.0, 0.0, BendGap(4.0, "sheet", (0.0, -1.0), (4.0, 0.0))),
    ],
)  # fmt: skip
def test_gap_of_a_standing_cutter(flank: float, height: float, corner: float, found: BendGap) -> None:
    got = bend_gap(3.0, flank=flank, height=height, corner_radius=corner)
    assert (got.gap, got.surface) == (pytest.approx(found.gap, abs=1e-12), found.surface)
    assert got.toward == pytest.approx(found.toward)
    assert got.foot == pytest.approx(found.foot)
    assert gap_standard(got, sideways=0.3, vertical=0.4) == pytest.approx(
        math.hypot(0.3 * found.toward[0], 0.4 * found.toward[1])
    )


def test_the_face_of_the_sheet_in_the_section() -> None:
    down, round_, out = bent_surface(2.0, top=7.0, reach=9.0)
    assert (down, out) == (Segment((0.0, 7.0), (0.0, 2.0)), Segment((2.0, 0.0), (9.0, 0.0)))
    assert round_ == Arc((0.0, 2.0), (2.0, 0.0), (2.0, 2.0), ccw=True)
    # No higher or farther than the bend: only the bend; and without a radius only two lines
    assert bent_surface(2.0, top=1.0, reach=1.5) == (round_,)
    assert bent_surface(0.0, top=7.0, reach=9.0) == (
        Segment((0.0, 7.0), (0.0, 0.0)),
        Segment((0.0, 0.0), (9.0, 0.0)),
    )


def test_the_sheet_in_the_section_is_as_thick_as_it_is() -> None:
    """0.5 thick: 5 mm of wall, 7 mm of floor, and a quarter of a ring from 2 to 2.5."""
    sheet = bent_sheet(2.0, 0.5, top=7.0, reach=9.0)
    assert ends(sheet) == pytest.approx(
        [0.0, 7.0, 0.0, 2.0, 2.0, 0.0, 9.0, 0.0, 9.0, -0.5, 2.0, -0.5, -0.5, 2.0, -0.5, 7.0, 0.0, 7.0]
    )
    assert [c.radius for c in sheet if isinstance(c, Arc)] == pytest.approx([2.0, 2.5])
    twice = sum(
        c.start[0] * c.end[1] - c.end[0] * c.start[1] for c in sheet
    )  # the chords; the arcs add and take their segments
    segment = (math.pi / 4 - 0.5) * (2.5**2 - 2.0**2)
    assert abs(twice) / 2 + segment == pytest.approx(5 * 0.5 + 7 * 0.5 + math.pi / 4 * (2.5**2 - 2.0**2))


def test_the_line_that_no_tooth_may_cross() -> None:
    bend = InsideBend(2.0, 0.1, 0.3)
    down, round_, out = tooth_limit(bend, top=7.0, reach=9.0)
    assert ends((down,)) == pytest.approx([0.4, 7.0, 0.4, 2.0])
    assert ends((round_,)) == pytest.approx([0.4, 2.0, 2.3, 0.1])
    assert isinstance(round_, Arc)
    assert (round_.center, round_.radius, round_.ccw) == (pytest.approx((2.3, 2.0)), pytest.approx(1.9), True)
    assert ends((out,)) == pytest.approx([2.3, 0.1, 9.0, 0.1])
    near = tooth_limit(bend, top=0.0, reach=0.0)
    assert ends(near) == pytest.approx([0.4, 2.0, 2.3, 0.1])
    # A bend a little larger than the gap keeps its arc, of what is left: 0.5 - 0.1
    small = tooth_limit(InsideBend(0.5, 0.1, 0.3), top=7.0, reach=9.0)
    assert ends(small) == pytest.approx([0.4, 7.0, 0.4, 0.5, 0.8, 0.1, 9.0, 0.1])
    assert isinstance(small[1], Arc)
    assert small[1].radius == pytest.approx(0.4)
    # A gap as great as the bend: a plain corner
    sharp = tooth_limit(InsideBend(0.1, 0.1, 0.3), top=7.0, reach=9.0)
    assert ends(sharp) == pytest.approx([0.4, 7.0, 0.4, 0.1, 9.0, 0.1])
    assert ends(tooth_limit(InsideBend(0.0, 0.1, 0.3), top=0.0, reach=0.0)) == pytest.approx(
        [0.4, 0.2, 0.4, 0.1, 0.5, 0.1]
    )


def test_the_cutter_as_it_stands_in_the_section() -> None:
    """Axis at 4, flank at 1: 6 mm across, corners of 0.5, its tip at 0.5; drawn up to 7."""
    found = standing_cutter(3.0, flank=1.0, height=0.5, corner_radius=0.5, axis=4.0, top=7.0, reach=20.0)
    assert ends(found.outline) == pytest.approx([1.0, 7.0, 1.0, 1.0, 1.5, 0.5, 6.5, 0.5, 7.0, 1.0, 7.0, 7.0])
    assert [(c.center, c.ccw) for c in found.outline if isinstance(c, Arc)] == [((1.5, 1.0), True), ((6.5, 1.0), True)]
    assert found.gap == bend_gap(3.0, flank=1.0, height=0.5, corner_radius=0.5)
    assert found.tooth == pytest.approx((1.2, 0.6))
    sharp = standing_cutter(3.0, flank=1.0, height=2.0, corner_radius=0.0, axis=4.0, top=0.0, reach=20.0)
    assert ends(sharp.outline) == pytest.approx([1.0, 2.0, 7.0, 2.0])  # no higher than its own tip
    assert sharp.tooth == pytest.approx((1.0, 2.0))
    unknown = standing_cutter(3.0, flank=1.0, height=0.5, corner_radius=0.5, axis=None, top=7.0, reach=20.0)
    assert ends(unknown.outline) == pytest.approx([1.0, 7.0, 1.0, 1.0, 1.5, 0.5, 20.0, 0.5])
    short = standing_cutter(3.0, flank=1.0, height=0.5, corner_radius=0.5, axis=None, top=7.0, reach=0.0)
    assert ends(short.outline) == pytest.approx([1.0, 7.0, 1.0, 1.0, 1.5, 0.5])
    # An axis that is nearer than the corners are wide: they still have their room
    narrow = standing_cutter(3.0, flank=1.0, height=0.5, corner_radius=0.5, axis=1.2, top=7.0, reach=0.0)
    assert ends(narrow.outline)[-4:] == pytest.approx([2.0, 1.0, 2.0, 7.0])
    over_sheet = standing_cutter(3.0, flank=4.0, height=0.2, corner_radius=0.0, axis=7.0, top=7.0, reach=0.0)
    assert over_sheet.tooth == pytest.approx((4.0, 0.2))


@pytest.mark.parametrize(
    ("heights", "told"),
    [
        ([], []),
        ([5.0], [0]),
        ([5.0, 4.0], [1]),  # none beside the bend: the last
        ([5.0, 2.0], [1]),
        ([5.0, 2.9, 1.0], [1, 2]),
        ([5.0, 3.0, 2.9, 2.0, 1.0, 0.1], [2, 3, 5]),  # the one nearest to the middle of 2.9 and 0.1
        ([2.9, 2.8, 1.4, 0.1], [0, 2, 3]),
        ([2.9, 0.3, 0.2, 0.1], [0, 1, 3]),
    ],
)
def test_which_passes_are_drawn(heights: list[float], told: list[int]) -> None:
    assert telling_passes(heights, 3.0) == told


# The wall in plan


def test_a_wall_is_run_on_straight_at_both_ends() -> None:
    bent = BendWall((Arc((10.0, 0.0), (0.0, 10.0), (0.0, 0.0), ccw=True), Segment((0.0, 10.0), (-5.0, 10.0))))
    line = bent.run_on(3.0)
    assert ends((line[0],)) == pytest.approx([10.0, -3.0, 10.0, 0.0])
    assert line[1:3] == bent.line
    assert ends((line[3],)) == pytest.approx([-5.0, 10.0, -8.0, 10.0])
    kept = wall_kept_off(bent, 2.5, reach=3.0)
    assert (kept.line, kept.away, kept.is_shoulder) == (line, 2.5, False)


@pytest.mark.parametrize(
    ("p", "side"),
    [
        ((5.0, 2.0), 2.0),
        ((5.0, -2.0), -2.0),
        ((5.0, 1e-7), 0.0),
        # Beyond the corner at (10, 0), where the line turns up: on its right; inside the corner on its left
        ((13.0, -4.0), -5.0),
        ((9.0, 3.0), 1.0),
        ((8.0, 3.0), 2.0),
        ((12.0, 5.0), -2.0),
        # Near the corner the line that the point stands more square to tells
        ((11.0, -0.1), -math.hypot(1.0, 0.1)),
        ((10.1, -1.0), -math.hypot(1.0, 0.1)),
    ],
)
def test_side_of_a_line_with_a_corner(p: Point, side: float) -> None:
    line = (Segment((-50.0, 0.0), (10.0, 0.0)), Segment((10.0, 0.0), (10.0, 50.0)))
    assert _side(line, p) == pytest.approx(side)
    back = tuple(c.reversed() for c in reversed(line))
    assert _side(back, p) == pytest.approx(-side)


@pytest.mark.parametrize(("r", "side"), [(7.0, 3.0), (13.0, -3.0), (9.9, 0.1), (0.5, 9.5)])
@pytest.mark.parametrize("angle", [0.1, 45.0, 89.9, 120.0, 179.0])
def test_side_of_an_arc(r: float, side: float, angle: float) -> None:
    a = math.radians(angle)
    arc = (Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), ccw=True),)
    assert _side(arc, (r * math.cos(a), r * math.sin(a))) == pytest.approx(side)


def test_a_region_through_the_wall_says_how_far_and_where() -> None:
    wall = wall_through([(0.0, 0.0), (30.0, 0.0)])
    check_region_side(wall, rectangle(2.0, 0.0, 20.0, 8.0), length=50.0, name="front")
    check_region_side(wall, rectangle(2.0, -0.9e-6, 20.0, 8.0), length=50.0, name="front")
    with pytest.raises(
        InputError, match=r"reaches 0.250 mm through its wall .* at 2.000, -0.250: expected it on one side"
    ):
        check_region_side(wall, rectangle(2.0, -0.25, 20.0, 8.0), length=50.0, name="front")
    # Beyond its ends the wall runs straight on
    with pytest.raises(InputError, match=r"reaches 1.000 mm through its wall"):
        check_region_side(wall, rectangle(35.0, -1.0, 50.0, 8.0), length=50.0, name="front")
    for region in (rectangle(2.0, -8.0, 20.0, -1.0), rectangle(2.0, -8.0, 20.0, 0.0)):
        with pytest.raises(InputError, match="lies on the far side of its wall") as told:
            check_region_side(wall, region, length=50.0, name="front")
        assert told.value.key == "bend"


def test_places_looked_at_round_a_region() -> None:
    found = _sample(rectangle(0.0, 0.0, 8.0, 4.0))
    assert len(found) == 32
    assert [p[0] for p in found[:9]] == pytest.approx([0, 1, 2, 3, 4, 5, 6, 7, 8])
    rounded = _sample(rectangle(0.0, 0.0, 8.0, 4.0, corner_radius=1.0))
    assert len(rounded) == 4 * 8 + 4 * 16


def test_least_distance_between_path_and_wall() -> None:
    wall = wall_through([(0.0, 0.0), (30.0, 0.0)])
    away, on_path, on_wall = least_distance((Segment((-6.0, 9.0), (-4.0, 3.0)),), wall)
    assert away == 5.0
    assert (on_path, on_wall) == ((-4.0, 3.0), (0.0, 0.0))


# The least gap


def test_least_gaps_by_hand() -> None:
    """Axis 5 mm off the wall, radius 3, so the flank at 2: corner at (2, 1) of a bend of 3, sqrt 5 off its middle."""
    wall = BendWall((Segment((-60.0, 0.0), (60.0, 0.0)),))
    paths = [(Segment((-9.0, 8.0), (9.0, 8.0)),), (Segment((7.0, 9.0), (7.0, 5.0)), Segment((7.0, 5.0), (7.0, 30.0)))]
    sheet, bend = least_gaps(
        paths,
        [
            WallFacts("front", wall, 3.0, 0.2),
            WallFacts("far", BendWall((Segment((0.0, 90.0), (9.0, 90.0)),), "right"), 3.0, 0.0),
        ],
        cutter_radius=3.0,
        corner_radius=0.0,
        sheet_height=1.0,
        sheet_standard=0.1,
        z=-4.0,
    )
    assert sheet == LeastGap(1.0, "sheet", "", (-9.0, 8.0), -4.0, 0.1)
    root = math.sqrt(5.0)
    assert (bend.gap, bend.surface, bend.of, bend.z) == (pytest.approx(3.0 - root), "bend", "front", -4.0)
    assert bend.at == pytest.approx((7.0, 3.0 - 3.0 / root))  # the foot's distance from the wall, toward the path
    assert bend.standard == pytest.approx(math.hypot(0.2 / root, 0.1 * 2.0 / root))
    # The same beside an upright wall, a quarter turn round: neither axis of the place may be turned about
    upright = BendWall((Segment((0.0, 60.0), (0.0, -60.0)),))
    turned = [[Segment((c.start[1], -c.start[0]), (c.end[1], -c.end[0])) for c in path] for path in paths]
    (_, beside) = least_gaps(
        turned,
        [WallFacts("front", upright, 3.0, 0.2)],
        cutter_radius=3.0,
        corner_radius=0.0,
        sheet_height=1.0,
        sheet_standard=0.1,
        z=-4.0,
    )
    assert beside.at == pytest.approx((3.0 - 3.0 / root, -7.0))
    assert beside.gap == pytest.approx(bend.gap)
    (nowhere,) = least_gaps(
        [],
        [WallFacts("front", wall, 3.0, 0.0)],
        cutter_radius=3.0,
        corner_radius=0.0,
        sheet_height=1.0,
        sheet_standard=0.1,
        z=0.0,
    )
    assert nowhere.at == (0.0, 0.0)
    # On the wall itself the place is the wall's, and behind the cutter's reach no farther than the path
    touching = least_gaps(
        [(Segment((7.0, 0.0), (9.0, 0.0)),)],
        [WallFacts("front", wall, 3.0, 0.0)],
        cutter_radius=3.0,
        corner_radius=0.0,
        sheet_height=1.0,
        sheet_standard=0.1,
        z=0.0,
    )
    assert touching[1].at[1] == 0.0
    near = least_gaps(
        [(Segment((7.0, 0.5), (7.0, 9.0)),)],
        [WallFacts("front", wall, 3.0, 0.0)],
        cutter_radius=0.1,
        corner_radius=0.0,
        sheet_height=0.2,
        sheet_standard=0.1,
        z=0.0,
    )
    assert near[1].at == pytest.approx((7.0, 0.5))


# The strokes


STRAIGHT: tuple[Curve, ...] = (Segment((-60.0, 0.0), (60.0, 0.0)),)
REGION = rectangle(-10.0, 1.0, 10.0, 12.0)
GUIDE = Guide(STRAIGHT, 5.0, is_bend=True)
FAR = 12.0 + 0.5 * math.hypot(20.0, 11.0) / 40.0 + 3.0 - 2.0
"""The first stroke lies a step-over inside the far edge of what the cutter may reach; the grid's slack is added."""


def aways(strokes: tuple[Stroke, ...]) -> list[float]:
    return [s.away for s in strokes]


@pytest.mark.parametrize("direction", [Direction.CONVENTIONAL, Direction.CLIMB])
def test_strokes_beside_a_straight_wall_by_hand(direction: Direction) -> None:
    """Step-over 2 less a fiftieth; the ends 1 mm off the metal beyond the radius, the leads slanting by 45 degrees."""
    planner = StrokePlanner(REGION, 3.0, 2.0, direction)
    strokes = planner.strokes(GUIDE, [KeptOff(STRAIGHT, 5.0)])
    assert aways(strokes) == pytest.approx([FAR - 1.96 * n for n in range(5)] + [5.0])
    sense = -1.0 if direction is Direction.CONVENTIONAL else 1.0
    for n, stroke in enumerate(strokes):
        (cut,), (first,), (last,) = stroke.cut, stroke.lead_in, stroke.lead_out
        x = 14.0 if stroke.away <= 12.0 else 10.0 + math.sqrt(16.0 - (stroke.away - 12.0) ** 2)
        assert ends((cut,)) == pytest.approx([-sense * x, stroke.away, sense * x, stroke.away], abs=1e-6)
        assert first.end == cut.start
        assert last.start == cut.end
        assert first.start == pytest.approx((cut.start[0] - sense * HALF, stroke.away + HALF))
        assert last.end == pytest.approx((cut.end[0] + sense * HALF, stroke.away + HALF))
        assert (stroke.starts_in_metal, stroke.ends_in_metal) == (False, False)
        assert stroke.along_bend is (n == 5)
        assert stroke.curves == (first, cut, last)
    assert LEAST_LEAD == 1.0


def test_a_stroke_hardly_nearer_than_the_last_is_left_out() -> None:
    """A fiftieth of the step-over: 0.04 mm."""
    planner = StrokePlanner(REGION, 3.0, 2.0)
    second = FAR - 1.96

    def count(nearest: float) -> int:
        return len(planner.strokes(Guide(STRAIGHT, nearest, is_bend=True), [KeptOff(STRAIGHT, nearest)]))

    assert count(second - 0.041) == 3
    assert count(second - 0.039) == 2
    assert count(second + 0.001) == 2
    # Beyond everything: the last stroke alone, and where it reaches nothing none
    assert count(14.9) == 1
    assert count(15.1) == 0


def test_the_guide_of_another_kind_gives_no_stroke_along_a_bend() -> None:
    planner = StrokePlanner(REGION, 3.0, 2.0)
    plain = planner.strokes(replace(GUIDE, is_bend=False), [])
    assert not any(s.along_bend for s in plain)
    # Asked again for another height, the planner does not mix them up
    fresh = StrokePlanner(REGION, 3.0, 2.0)
    for guide in (GUIDE, replace(GUIDE, nearest=4.0), GUIDE, replace(GUIDE, is_bend=False)):
        assert planner.strokes(guide, [KeptOff(STRAIGHT, guide.nearest)]) == StrokePlanner(REGION, 3.0, 2.0).strokes(
            guide, [KeptOff(STRAIGHT, guide.nearest)]
        )
    assert fresh.strokes(GUIDE, []) == planner.strokes(GUIDE, [])


def shoulder(*points: Point, away: float = 3.0, is_shoulder: bool = True) -> KeptOff:
    return KeptOff((Segment(points[0], points[1]),), away, is_shoulder)


def test_strokes_from_a_shoulder_come_down_where_the_one_before_has_cleared() -> None:
    """The axis keeps 3 mm from x = 12: it starts on metal at x = 9, from 2 mm farther out, a step-over."""
    stop = shoulder((12.0, -50.0), (12.0, 60.0))
    strokes = StrokePlanner(REGION, 3.0, 2.0).strokes(GUIDE, [KeptOff(STRAIGHT, 5.0), stop])
    assert len(strokes) == 6
    for n, stroke in enumerate(strokes):
        assert (stroke.starts_in_metal, stroke.ends_in_metal) == (True, False)
        assert stroke.cut[0].start == pytest.approx((9.0, stroke.away), abs=1e-6)
        assert len(stroke.lead_out) == 1
        if n == 0:  # nothing is cleared yet: from beside the metal
            assert REGION.inside_by(stroke.lead_in[0].start) <= -3.0
        else:
            assert ends(stroke.lead_in) == pytest.approx([9.0, stroke.away + 2.0, 9.0, stroke.away], abs=1e-6)
    climb = StrokePlanner(REGION, 3.0, 2.0, Direction.CLIMB).strokes(GUIDE, [KeptOff(STRAIGHT, 5.0), stop])
    for n, stroke in enumerate(climb):
        assert (stroke.starts_in_metal, stroke.ends_in_metal) == (False, True)
        if n == 0:
            assert stroke.lead_out == ()
        else:
            assert ends(stroke.lead_out) == pytest.approx([9.0, stroke.away, 9.0, stroke.away + 2.0], abs=1e-6)
    # What is no shoulder is not cleaned: straight out from the guide to come down, and nothing to go out
    other = replace(stop, is_shoulder=False)
    plain = StrokePlanner(REGION, 3.0, 2.0).strokes(GUIDE, [KeptOff(STRAIGHT, 5.0), other])
    assert ends(plain[1].lead_in) == pytest.approx([9.0, plain[1].away + 2.0, 9.0, plain[1].away], abs=1e-6)
    up = StrokePlanner(REGION, 3.0, 2.0, Direction.CLIMB).strokes(GUIDE, [KeptOff(STRAIGHT, 5.0), other])
    assert [s.lead_out for s in up] == [()] * 6


@pytest.mark.parametrize("lean_deg", [60.0, -60.0, 30.0])
def test_a_slanting_shoulder_is_cleaned_along_it(lean_deg: float) -> None:
    """From stroke to stroke a step-over across is that over the sine of the angle along."""
    a = math.radians(lean_deg) if lean_deg > 0 else math.pi + math.radians(lean_deg)
    along = (math.cos(a), math.sin(a))
    stop = shoulder((12.0 - 80 * along[0], 6.0 - 80 * along[1]), (12.0 + 80 * along[0], 6.0 + 80 * along[1]))
    strokes = StrokePlanner(REGION, 3.0, 2.0).strokes(GUIDE, [KeptOff(STRAIGHT, 5.0), stop])
    checked = 0
    for stroke in strokes[1:]:
        if not stroke.starts_in_metal or not stroke.lead_in:
            continue
        (lead,) = stroke.lead_in
        if lead.start[1] - lead.end[1] == pytest.approx(2.0, abs=1e-6):
            assert lead.start[0] - lead.end[0] == pytest.approx(2.0 / math.tan(a), abs=1e-6)
            checked += 1
        else:  # the stroke before did not come there: from the nearest place where one has been, or beside the metal
            before = strokes[: strokes.index(stroke)]
            been = min((point_to_chain(lead.start, s.curves) for s in before), default=math.inf)
            assert been < 1e-6 or REGION.inside_by(lead.start) <= -3.0
    assert checked >= 2


def test_a_shoulder_nearly_along_the_strokes_is_not_cleaned() -> None:
    """Less than 0.2 of a step-over up for each one along it: the strokes clean it themselves."""
    assert LEAST_SLOPE == 0.2
    for sine, cleaned in ((0.21, True), (0.19, False)):
        c = math.sqrt(1 - sine**2)
        stop = shoulder((12.0 - 80 * c, 8.0 - 80 * sine), (12.0 + 80 * c, 8.0 + 80 * sine))
        planner = StrokePlanner(REGION, 3.0, 2.0)
        at = (0.0, (8.0 - 12.0 * sine / c) + 3.0 / c)
        found = planner._along_shoulder(at, STRAIGHT, [stop])
        assert (found is not None) is cleaned
    planner = StrokePlanner(REGION, 3.0, 2.0)
    upright = shoulder((12.0, -50.0), (12.0, 60.0))
    assert planner._along_shoulder((9.0, 6.0), STRAIGHT, [upright]) == pytest.approx((9.0, 8.0))
    assert planner._along_shoulder((9.0 + 0.9e-5, 6.0), STRAIGHT, [upright]) is None  # there it would come too near
    assert planner._along_shoulder((9.0 - 0.9e-5, 6.0), STRAIGHT, [upright]) is not None
    assert planner._along_shoulder((9.0 - 1.1e-5, 6.0), STRAIGHT, [upright]) is None
    assert planner._along_shoulder((9.0, 6.0), STRAIGHT, [replace(upright, is_shoulder=False)]) is None
    # A second thing in the way at the end of the lead
    roof = shoulder((-50.0, 10.5), (50.0, 10.5))
    assert planner._along_shoulder((9.0, 6.0), STRAIGHT, [upright, roof]) is None
    assert planner._along_shoulder((9.0, 5.0), STRAIGHT, [roof, upright]) == pytest.approx((9.0, 7.0))


def test_a_lead_that_has_no_room_is_left_out() -> None:
    planner = StrokePlanner(REGION, 3.0, 2.0)
    at = (14.0, 6.0)
    (lead,) = planner._lead(at, (-1.0, 0.0), STRAIGHT, [], sense=-1.0)
    assert ends((lead,)) == pytest.approx([14.0 + HALF, 6.0 + HALF, 14.0, 6.0])
    (lead,) = planner._lead((-14.0, 6.0), (-1.0, 0.0), STRAIGHT, [], sense=1.0)
    assert ends((lead,)) == pytest.approx([-14.0, 6.0, -14.0 - HALF, 6.0 + HALF])
    assert planner._lead(at, (-1.0, 0.0), STRAIGHT, [shoulder((17.5, -50.0), (17.5, 60.0))], sense=-1.0) == ()
    assert planner._lead(at, (-1.0, 0.0), STRAIGHT, [shoulder((17.8, -50.0), (17.8, 60.0))], sense=-1.0) != ()
    assert planner._lead((0.0, 6.0), (-1.0, 0.0), STRAIGHT, [], sense=-1.0) == ()  # it would come down on metal
    assert planner._lead(at, (0.0, 1.0), STRAIGHT, [], sense=-1.0) == ()  # straight at the guide: nowhere to go


def test_a_second_wall_gets_a_stroke_of_its_own_after_the_others() -> None:
    """Wall at x = -12, its limit 5: the strokes stop 2 mm before that, and one runs along it."""
    side = KeptOff((Segment((-12.0, 80.0), (-12.0, -80.0)),), 5.0)
    strokes = StrokePlanner(REGION, 3.0, 2.0).strokes(GUIDE, [KeptOff(STRAIGHT, 5.0), side], [side])
    assert aways(strokes) == pytest.approx([FAR - 1.96 * n for n in range(5)] + [5.0, 5.0])
    for stroke in strokes[:-1]:
        assert stroke.cut[-1].end[0] == pytest.approx(-12.0 + 7.0, abs=1e-6)
        assert stroke.ends_in_metal
    own = strokes[-1]
    assert own.along_bend
    assert {round(v, 6) for v in (own.cut[0].start[0], own.cut[-1].end[0])} == {-7.0}
    # With the metal on its left it runs up, from the guide's limit
    assert own.cut[0].start[1] == pytest.approx(5.0, abs=1e-6)
    assert own.cut[-1].end[1] == pytest.approx(16.0, abs=1e-6)


@pytest.mark.parametrize(
    ("feed_deg", "direction", "start", "end"),
    [
        # Region 0..40 by 0..16, radius 3: 73.08 beyond it; the guide 6 mm beyond the side of the metal
        (0.0, Direction.CONVENTIONAL, (113.0813, 22.0), (-73.0813, 22.0)),
        (0.0, Direction.CLIMB, (-73.0813, -6.0), (113.0813, -6.0)),
        (90.0, Direction.CONVENTIONAL, (-6.0, 89.0813), (-6.0, -73.0813)),
        (180.0, Direction.CONVENTIONAL, (-73.0813, -6.0), (113.0813, -6.0)),
        (-90.0, Direction.CLIMB, (-6.0, 89.0813), (-6.0, -73.0813)),
    ],
)
def test_guide_of_straight_strokes_by_hand(feed_deg: float, direction: Direction, start: Point, end: Point) -> None:
    guide = straight_guide(rectangle(0.0, 0.0, 40.0, 16.0), feed_deg, cutter_radius=3.0, direction=direction)
    assert ends(guide.line) == pytest.approx([*start, *end], abs=1e-4)
    assert (guide.nearest, guide.is_bend) == (6.0, False)


def test_part_of_a_chain() -> None:
    chain = (
        Segment((0.0, 0.0), (10.0, 0.0)),
        Arc((10.0, 0.0), (10.0, 4.0), (10.0, 2.0), ccw=True),
        Segment((10.0, 4.0), (0.0, 4.0)),
    )
    bow = 2.0 * math.pi
    assert part_of(chain, 0.0, 20.0 + bow) == chain
    assert part_of(chain, 10.0, 10.0 + bow) == (chain[1],)
    assert ends(part_of(chain, 2.0, 7.0)) == pytest.approx([2.0, 0.0, 7.0, 0.0])
    middle = part_of(chain, 8.0, 10.0 + bow / 2)
    assert ends(middle) == pytest.approx([8.0, 0.0, 10.0, 0.0, 12.0, 2.0])
    assert middle[1].length == pytest.approx(bow / 2)
    last = part_of(chain, 10.0 + bow / 2, 14.0 + bow)
    assert ends(last) == pytest.approx([12.0, 2.0, 10.0, 4.0, 6.0, 4.0])


@pytest.mark.parametrize(("turn_deg", "pieces"), [(14.9, 1), (-14.9, 1), (15.1, 2), (-15.1, 2), (90.0, 2), (180.0, 2)])
def test_a_chain_is_cut_at_sharp_turns(turn_deg: float, pieces: int) -> None:
    assert SHARP_TURN_DEG == 15.0
    a = math.radians(turn_deg)
    first, second = Segment((0.0, 0.0), (5.0, 0.0)), Segment((5.0, 0.0), (5.0 + 5.0 * math.cos(a), 5.0 * math.sin(a)))
    third = Segment(second.end, (second.end[0] + math.cos(a), second.end[1] + math.sin(a)))
    found = split_at_corners((first, second, third))
    assert found == ([(first, second, third)] if pieces == 1 else [(first,), (second, third)])


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_sizes_of_strokes_are_lengths(bad: float) -> None:
    for sizes, what in (((3.0, bad, 1.0), "step-over"), ((3.0, 2.0, bad), "lead"), ((bad, 2.0, 1.0), "radius")):
        with pytest.raises(InputError, match=f"{what} {bad} mm: expected a length above zero") as told:
            StrokePlanner(REGION, sizes[0], sizes[1], lead=sizes[2])
        assert told.value.key == what


def test_step_over_at_most_the_radius_and_strokes_at_most_a_thousand() -> None:
    assert StrokePlanner(REGION, 3.0, 3.0).step_over == 3.0
    with pytest.raises(InputError, match=r"step-over 3.01 mm: expected at most the cutter's radius, 3 mm") as told:
        StrokePlanner(REGION, 3.0, 3.01)
    assert told.value.key == "step_over"
    with pytest.raises(
        InputError, match=r"step-over 0.005 mm: \d{4} strokes side by side, expected at most 1000"
    ) as told:
        StrokePlanner(REGION, 3.0, 0.005).strokes(GUIDE, [])
    assert told.value.key == "step_over"
    with pytest.raises(InputError, match="direction of the strokes nan degrees: expected a finite number"):
        straight_guide(REGION, math.nan, cutter_radius=3.0, direction=Direction.CLIMB)


# What stays


def rows(x: float, y: float, top: float = 24.0) -> list[tuple[Curve, ...]]:
    """Return ways of the axis a millimetre apart over a region 30 x 20: from x and y on, and along both."""
    heights = [y + n for n in range(int(top - y) + 1)] + [top]
    return [(Segment((x, h), (40.0, h)),) for h in heights] + [(Segment((x, y), (x, top)),)]


def test_what_stays_beside_two_walls_by_hand() -> None:
    """Limits 5.5 and 6.5 with a radius of 4: strips of 1.5 and 2.5 mm, and the corner that a round cutter leaves."""
    assert (CHORD_ERROR, SLIVER, MOST_SEGMENTS) == (0.0005, 0.002, 400)
    region = rectangle(0.0, 0.0, 30.0, 20.0)
    walls = [
        KeptOff((Segment((-90.0, 0.0), (90.0, 0.0)),), 5.5),
        KeptOff((Segment((0.0, 90.0), (0.0, -90.0)),), 6.5),
    ]
    found = leftover(region, rows(6.5, 5.5), cutting_radius=4.0, z=-3.0)
    corner = 16.0 * (1.0 - math.pi / 4.0)
    assert found.z == -3.0
    assert found.area == pytest.approx(30.0 * 1.5 + 20.0 * 2.5 - 1.5 * 2.5 + corner, abs=0.01)
    assert len(found.outlines) == 1
    assert found.outlines[0].area == pytest.approx(found.area, abs=0.02)
    assert found.outlines[0].bounds == pytest.approx((0.0, 0.0, 30.0, 20.0))
    # The widest circle fits into the corner: r sqrt 2 + r ... against the rim of 4 about (6.5, 5.5)
    assert 2.5 < found.width < 4.0
    assert reached_area(region, walls, cutting_radius=4.0) == pytest.approx(600.0 - found.area, abs=0.02)
    nothing = leftover(region, rows(0.0, 0.0), cutting_radius=4.0, z=0.0)
    assert nothing == Leftover(0.0, 0.0, 0.0, ())
    all_of_it = leftover(region, [], cutting_radius=4.0, z=0.0)
    assert (all_of_it.area, all_of_it.width) == (600.0, pytest.approx(20.0, abs=5e-3))
    # Two strips apart: the wider one counts
    apart = leftover(region, rows(0.0, 5.0, 14.0), cutting_radius=4.0, z=0.0)
    assert len(apart.outlines) == 2
    assert apart.width == pytest.approx(2.0, abs=5e-3)
    assert apart.area == pytest.approx(30.0 * 3.0, abs=0.01)
    thin = leftover(region, rows(0.0, 4.0015), cutting_radius=4.0, z=0.0)
    assert thin.outlines == ()
    less = leftover(region, rows(0.0, 4.01), cutting_radius=4.0, z=0.0)
    assert less.area == pytest.approx(0.3, abs=0.03)


def test_chords_lie_within_half_a_micron_of_their_arc() -> None:
    arc = Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), ccw=True)
    points = points_along((arc, Segment((-10.0, 0.0), (-20.0, 0.0))), 0.0005)
    assert (points[0], points[-1]) == ((10.0, 0.0), (-20.0, 0.0))
    # Sagitta r (1 - cos(a / 2)) of 157 equal chords: 0.0005; of one less it would be more
    chords = len(points) - 2
    assert 10.0 * (1 - math.cos(math.pi / chords / 2)) <= 0.0005
    assert 10.0 * (1 - math.cos(math.pi / (chords - 1) / 2)) > 0.0005
    assert all(math.hypot(*p) == pytest.approx(10.0) for p in points[:-1])
    tiny = points_along((Arc((1e-4, 0.0), (-1e-4, 0.0), (0.0, 0.0), ccw=True),), 0.0005)
    assert len(tiny) == 3
    with pytest.raises(InputError, match="region to clear: its edge crosses itself") as told:
        region_polygon(outline_through([(0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 8.0)]))
    assert told.value.key == "region"


# The whole cut


def heights() -> StepDownHeights:
    """Bar of 1 mm, nothing in doubt, a sheet touched off at 0: passes of 0.2 down to an asked floor of 0.2."""
    stack = LayerStack((Layer("bar", Estimate(1.0)), Layer("sheet", Estimate(0.6), keep=True)))
    touched = TouchedStack(stack, HeightTouch("bare sheet"), Fraction(1, 100), 0.0)
    request = HeightsRequest(touched, PassRule(0.3, last_steps=(0.2,)), asked_floor=0.2)
    return plan_heights(request, with_looks=False)


HEIGHTS = heights()
END_MILL = MillingCutter("mill", 6.0)


def front(**more: object) -> BendSide:
    return BendSide("front", BendWall(STRAIGHT), 2.0, 0.3, **more)  # type: ignore[arg-type]


def planned(cutter: MillingCutter = END_MILL, side: BendSide | None = None, **more: object) -> StepDownCut:
    return plan_cut(CutRequest(REGION, cutter, (front() if side is None else side,), **more), HEIGHTS)  # type: ignore[arg-type]


def test_limits_of_each_pass_by_hand() -> None:
    """Gap 0.2 as planned; at a height h the flank keeps 2 - sqrt(1.8^2 - (2 - h)^2) + 0.3 from the wall."""
    assert [p.z for p in HEIGHTS.passes] == [0.8, 0.6, 0.4, 0.2]
    found = planned()
    for step in found.passes:
        flank = 2.0 - math.sqrt(1.8**2 - (2.0 - step.z) ** 2) + 0.3
        (limit,) = step.limits
        assert (limit.bend, limit.flank, limit.flat) == ("front", pytest.approx(flank), pytest.approx(flank))
        assert limit.axis == pytest.approx(flank + 3.0)
        assert step.sheet_height == pytest.approx(step.z)
        assert step.strokes[-1].away == limit.axis
        assert step.left.z == step.z
        assert step.left.area == pytest.approx(20.0 * max(0.0, flank - 1.0), abs=0.01)
        assert step.gaps[0].surface == "sheet"
        assert step.gaps[0].gap == pytest.approx(step.z)
        assert step.least is min(step.gaps, key=lambda g: g.gap)
    areas = [20.0 * max(0.0, 2.3 - math.sqrt(1.8**2 - (2.0 - h) ** 2) - 1.0) for h in (0.8, 0.6, 0.4, 0.2)]
    assert found.left_volume == pytest.approx(0.2 * sum(areas), abs=0.01)
    assert found.least is not None
    assert found.least.gap == pytest.approx(0.2)
    assert found.fits_without_cutter
    assert not found.reaches_nothing
    assert found.request.step_over_used == pytest.approx(2.4)
    assert found.request.flat_radius == 3.0


def test_a_smaller_gap_may_be_asked_for_and_no_greater_one() -> None:
    (limit,) = planned(side=front(gap=0.1)).passes[-1].limits
    assert limit.flank == pytest.approx(2.0 - math.sqrt(1.9**2 - 1.8**2) + 0.3)
    assert planned(side=front(gap=0.2 + 0.9e-9)).passes
    with pytest.raises(
        InputError, match=r"a gap of 0.2001 mm is to be kept, and the floor lies only 0.2000 mm"
    ) as told:
        planned(side=front(gap=0.2001))
    assert told.value.key == "gap"


def test_above_its_top_a_wall_limits_nothing() -> None:
    found = planned(side=front(wall_height=0.4))
    assert found.passes[0].limits == (SideLimit("front", None, None, None),)
    assert [p.limits[0].axis is None for p in found.passes] == [True, True, False, False]
    assert len(found.passes[0].gaps) == 1
    # Up there the strokes still run along it, up to the wall itself
    assert found.passes[0].strokes[-1].away == 3.0
    assert not any(s.along_bend for s in found.passes[0].strokes)
    lines = limit_lines(found, found.passes[0])
    assert lines == ()
    (line,) = limit_lines(found, found.passes[3])
    assert ends(line.flank[0])[1] == pytest.approx(2.3)
    # Run on by the size of the region and ten radii
    reach = math.hypot(20.0, 11.0) + 30.0
    assert sorted(ends(line.flank[0])[::2])[0] == pytest.approx(-60.0 - reach)


def test_a_bull_nose_and_its_flat() -> None:
    bull = MillingCutter("bull", 6.0, corner_radius=1.0)
    found = planned(bull)
    (limit,) = found.passes[-1].limits
    assert limit.flank == pytest.approx(2.0 - 1.0 + 0.3)
    assert (limit.flat, limit.axis) == (pytest.approx(2.3), pytest.approx(4.3))
    assert found.request.step_over_used == 2.0
    assert found.left_flat is not None
    assert found.left_flat.area == pytest.approx(20.0 * 1.3, abs=0.01)
    big = MillingCutter("big", 6.0, corner_radius=0.1)
    assert CutRequest(REGION, big, (front(),)).step_over_used == pytest.approx(2.4)


@pytest.mark.parametrize("step", [0.1, 0.5, 1.0, 1.5, 4.0])
def test_width_that_a_bull_nose_clears_on_average(step: float) -> None:
    """Two nodes of Gauss over the step: 0.2113 and 0.7887 of it; above the corner it has its full radius."""
    cutter = MillingCutter("bull", 6.0, corner_radius=1.0)
    widths = [2.0 + math.sqrt(1.0 - (1.0 - min(share * step, 1.0)) ** 2) for share in (0.2113248654, 0.7886751346)]
    assert _band_radius(cutter, step) == pytest.approx(sum(widths) / 2)
    assert _band_radius(END_MILL, step) == 3.0


@pytest.mark.parametrize(
    ("more", "message", "key"),
    [
        ({"step_over": 3.01}, r"step-over 3.01 mm: expected above 0 and at most 3 mm", "step_over"),
        ({"step_over": 0.0}, r"step-over 0 mm: expected above 0", "step_over"),
        ({"step_over": 0.299}, r"it would rub rather than cut. Give at least 0.300 mm", "step_over"),
        ({"feed_deg": 0.0}, "beside a bend they run along it", "feed_deg"),
        ({"shoulder_margin": math.nan}, "margin before the shoulder nan mm: expected 0 or more", ""),
        ({"shoulder_margin": math.inf}, "margin before the shoulder inf mm", ""),
    ],
)
def test_cuts_that_are_refused(more: dict[str, object], message: str, key: str) -> None:
    with pytest.raises(InputError, match=message) as told:
        CutRequest(REGION, END_MILL, (front(),), **more)  # type: ignore[arg-type]
    assert told.value.key == key


def test_cuts_at_the_limits_of_what_is_allowed() -> None:
    for step in (3.0, 0.3):
        assert CutRequest(REGION, END_MILL, (front(),), step_over=step).step_over_used == step
    # Nearly a ball: its flat of 0.1 mm is less than a twentieth of the diameter
    nearly = MillingCutter("nearly", 6.0, corner_radius=2.9)
    assert CutRequest(REGION, nearly, (front(),), step_over=0.1).step_over_used == 0.1
    assert CutRequest(REGION, END_MILL, (front(),)).shoulder_margin == 0.0
    with pytest.raises(InputError, match='cutter "ball": a ball nose leaves no flat floor') as told:
        CutRequest(REGION, MillingCutter("ball", 6.0, corner_radius=3.0), (front(),))
    assert told.value.key == "cutter"
    with pytest.raises(InputError, match="expected a bend to run along, or the direction") as told:
        CutRequest(REGION, END_MILL)
    assert told.value.key == "feed_deg"


def test_a_shoulder_is_kept_by_radius_and_margin() -> None:
    found = planned(shoulder=((Segment((12.0, -50.0), (12.0, 60.0)),),), shoulder_margin=0.5)
    for step in found.passes:
        assert max(c.start[0] for s in step.strokes for c in s.cut) == pytest.approx(8.5, abs=1e-6)
    codes = [n.code for n in found.direction_notes]
    assert "strokes-end-in-corner" in codes


def a_pass(*strokes: Stroke) -> StepPass:
    height = PassHeight(1, 20, 0.2, 10, 0.1, 0.0, 0.0, 0.0, False)
    return StepPass(height, 0.2, (), strokes, Leftover(0.2, 0.0, 0.0, ()), ())


def test_moves_of_a_pass_by_hand() -> None:
    """Down, over, cut, out, up; across above the work; an entry where it comes down on metal."""
    way = [Segment((float(k), 0.0), (float(k + 1), 0.0)) for k in range(9)]
    free = Stroke((way[0],), (way[1],), (way[2],), 5.0)
    metal = Stroke((), (way[3], way[4]), (way[5],), 5.0, starts_in_metal=True, ends_in_metal=True)
    ridge = Stroke((way[6],), (way[7],), (), 5.0, starts_in_metal=True, where_cut=True)
    level = level_path(a_pass(free, metal, ridge), z_above=0.3, clearance_z=9.0)
    assert (level.z, level.z_above) == (0.2, 0.3)
    kinds = [(m.kind, m.start[0], m.at[0], m.z_start, m.z_end) for m in level.moves]
    k = MoveKind
    assert kinds == [
        (k.DESCEND, 0.0, 0.0, 9.0, 0.2),
        (k.LINK, 0.0, 1.0, 0.2, 0.2),
        (k.CUT, 1.0, 2.0, 0.2, 0.2),
        (k.LINK, 2.0, 3.0, 0.2, 0.2),
        (k.RETRACT, 3.0, 3.0, 0.2, 9.0),
        (k.ENTRY, 3.0, 3.0, 9.0, 0.2),
        (k.CUT, 3.0, 4.0, 0.2, 0.2),
        (k.CUT, 4.0, 5.0, 0.2, 0.2),
        (k.CUT, 5.0, 6.0, 0.2, 0.2),
        (k.RETRACT, 6.0, 6.0, 0.2, 9.0),
        (k.DESCEND, 6.0, 6.0, 9.0, 0.2),
        (k.ENTRY, 6.0, 7.0, 0.2, 0.2),
        (k.CUT, 7.0, 8.0, 0.2, 0.2),
        (k.RETRACT, 8.0, 8.0, 0.2, 9.0),
    ]
    apart = level_path(a_pass(free, ridge), z_above=0.3, clearance_z=9.0)
    travel = [m for m in apart.moves if m.kind is k.TRAVEL]
    assert [(m.start, m.at, m.z_start, m.z_end) for m in travel] == [((3.0, 0.0), (6.0, 0.0), 9.0, 9.0)]


def test_words_on_directions_name_bends_and_counts() -> None:
    along = (Segment((0.0, 0.0), (9.0, 0.0)),)
    strokes = [Stroke((), along, (), 1.0), Stroke((), along, (), 1.0, ends_in_metal=True)]
    notes = direction_notes(strokes, bends=("a", "b", "c"), direction=Direction.CONVENTIONAL, clamped_toward_deg=None)
    assert [(n.code, n.good) for n in notes] == [
        ("pushes-off-bend", True),
        ("strokes-end-at-bend", False),
        ("strokes-end-in-corner", False),
    ]
    assert notes[1].words.startswith('The strokes run along "a" and end a step-over before "b", "c"; each of those')
    assert notes[2].words.startswith("1 of 2 strokes of the last pass start or end against metal")
    # Square to the clamp is not away from it
    (square,) = direction_notes(strokes[:1], bends=(), direction=Direction.CLIMB, clamped_toward_deg=90.0)
    assert square.code == "runs-toward-clamp"


def test_a_turned_cut_is_the_same_cut() -> None:
    def turned(p: Point) -> Point:
        return (50.0 - p[1], p[0] - 20.0)

    stop = (Segment((12.0, -50.0), (12.0, 60.0)),)
    one = planned(shoulder=(stop,))
    request = CutRequest(
        outline_through([turned(c.start) for c in REGION.curves]),
        END_MILL,
        (replace(front(), wall=wall_through([turned((-60.0, 0.0)), turned((60.0, 0.0))])),),
        shoulder=((Segment(turned(stop[0].start), turned(stop[0].end)),),),
    )
    two = plan_cut(request, HEIGHTS)
    for a, b in zip(one.passes, two.passes, strict=True):
        assert len(a.strokes) == len(b.strokes)
        for s, t in zip(a.strokes, b.strokes, strict=True):
            assert (s.starts_in_metal, s.ends_in_metal) == (t.starts_in_metal, t.ends_in_metal)
            before = [v for c in s.curves for p in (c.start, c.end) for v in turned(p)]
            assert [v for c in t.curves for p in (c.start, c.end) for v in p] == pytest.approx(before, abs=1e-5)
        assert b.left.area == pytest.approx(a.left.area, abs=1e-3)
