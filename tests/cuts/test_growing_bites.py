"""Opening a pocket in small bites, part by part: what is open, the way through it, each circle, the first spiral."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Direction, Entry, EntryHole
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.growing_bites import _Biter, _greatest_free, _Opened, _wall_cells, bites_layout
from holecam.cuts.level_layout import HelixEntry, RampEntry, StraightEntry, Stroke, StrokeKind
from holecam.cuts.medial_axis import Branch, MiddleLines
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.rings import Cell, cells_of
from holecam.cuts.run_builder import RunBuilder
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.shapes import Arc, Outline, Point, Segment, outline_through, rectangle

R = 3.0
WALLS = walls_of(chains_of_region(rectangle(-100, -100, 100, 100), ()))
SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
CLIMB, CONVENTIONAL = Direction.CLIMB, Direction.CONVENTIONAL


def biter(
    direction: Direction = CLIMB, limit: float = 95.0, *, wish: Entry | None = None, hole: EntryHole | None = None
) -> _Biter:
    return _Biter(RunBuilder(WALLS), R, limit, direction, EntryChooser(WALLS, SIX, direction, wish, None, hole))


def opened(*circles: tuple[float, float, float, int]) -> _Opened:
    made = _Opened()
    for number, (x, y, room, parent) in enumerate(circles):
        assert made.add((x, y), room, parent) == number
    return made


def same(stroke: Stroke, kind: StrokeKind, curve: Segment | Arc) -> None:
    """Check a stroke to a hundred-thousandth of a millimetre."""
    assert stroke.kind is kind
    assert type(stroke.curve) is type(curve)
    assert stroke.curve.start == pytest.approx(curve.start, abs=1e-5)
    assert stroke.curve.end == pytest.approx(curve.end, abs=1e-5)
    if isinstance(curve, Arc):
        assert isinstance(stroke.curve, Arc)
        assert stroke.curve.center == pytest.approx(curve.center, abs=1e-5)
        assert stroke.curve.ccw is curve.ccw


# What is open


TREE = opened(
    (0.0, 0.0, 2.0, -1),
    (3.0, 0.0, 2.0, 0),
    (3.0, 3.0, 2.0, 1),
    (-2.0, 0.0, 1.5, 0),
    (50.0, 0.0, 4.0, -1),
    (53.0, 0.0, 2.0, 4),
)


def test_circles_know_the_way_from_one_to_another() -> None:
    assert TREE.way(3, 2) == [3, 0, 1, 2]
    assert TREE.way(2, 3) == [2, 1, 0, 3]
    assert TREE.way(0, 2) == [0, 1, 2]
    assert TREE.way(2, 0) == [2, 1, 0]
    assert TREE.way(2, 2) == [2]
    assert TREE.joined(3, 2)
    assert TREE.joined(5, 4)
    assert not TREE.joined(5, 2)


def test_which_circle_holds_a_place_and_which_come_near() -> None:
    assert [TREE.holding(p) for p in ((0.5, 0.0), (2.6, 0.0), (3.0, 2.9), (-3.4, 0.0), (51.0, 1.0))] == [0, 1, 2, 3, 4]
    assert TREE.center(2) == (3.0, 3.0)
    assert TREE.center(5) == (53.0, 0.0)
    # Rims of the five others are 4 - 2, 1 - 2, 3.16 - 2, 6 - 1.5 and 46 - 4 mm from (4, 0)
    x, y, room = TREE.near((4.0, 0.0), 2.5)
    assert list(zip(x, y, room, strict=True)) == [(0.0, 0.0, 2.0), (3.0, 0.0, 2.0), (3.0, 3.0, 2.0)]
    assert len(TREE.near((4.0, 0.0), 2.0)[0]) == 2, "the rim of the first is 2 mm away, not nearer"
    x, y, room = TREE.near((4.0, 0.0), 100.0, 2)
    assert sorted(zip(x, y, room, strict=True)) == [(3.0, 0.0, 2.0), (3.0, 3.0, 2.0)], "the deepest two"
    assert len(TREE.near((4.0, 0.0), 100.0, 6)[0]) == len(TREE.near((4.0, 0.0), 100.0)[0]) == 6


def test_a_circle_within_another_is_covered() -> None:
    assert not _Opened().covers((0.0, 0.0), 0.0)
    assert TREE.covers((0.5, 0.0), 1.5)
    assert not TREE.covers((0.5, 0.0), 1.50001)
    assert not TREE.covers((1.5, 0.0), 1.0), "in two of them together, in neither whole"


def test_more_circles_than_a_table_of_the_first_size() -> None:
    many = opened(*((float(k), -float(k), 0.5 + k, k - 1) for k in range(600)))
    x, y, room = many.columns
    assert len(x) == len(y) == len(room) == 600
    assert (x == np.arange(600)).all()
    assert (y == -np.arange(600)).all()
    assert (room == 0.5 + np.arange(600)).all()
    assert many.way(598, 596) == [598, 597, 596]


def test_a_straight_way_is_open_when_circles_cover_all_of_it() -> None:
    one = biter()
    one.opened = opened((0.0, 0.0, 2.0, -1), (4.0, 0.0, 2.0, 0))
    assert one._open_between((-1.9, 0.0), (5.9, 0.0)), "circles that touch leave no gap"
    assert not one._open_between((0.0, 0.01), (4.0, 0.01)), "beside the touching place there is one"
    assert not one._open_between((-2.1, 0.0), (0.0, 0.0))
    assert not one._open_between((4.0, 0.0), (6.1, 0.0))
    assert one._open_between((-1.2, 1.2), (1.2, 1.2))


def test_the_cutter_goes_straight_where_it_can_and_by_the_middles_where_not() -> None:
    """From the left rim of the first circle of three round a corner to the top of the third: by the second's middle."""
    one = biter()
    one.opened = TREE
    one.at = 0
    one.builder.add([Segment((0.0, 1.0), (-1.5, 0.0))], StrokeKind.CUT)
    one._go((-1.5, 0.0))
    assert len(one.builder.strokes) == 1, "it is there"
    one._go((3.0, 4.5))
    ways = one.builder.strokes[1:]
    same(ways[0], StrokeKind.STEP, Segment((-1.5, 0.0), (3.0, 0.0)))
    same(ways[1], StrokeKind.STEP, Segment((3.0, 0.0), (3.0, 4.5)))
    one.at = 2
    one._go((4.0, 2.0))
    same(one.builder.strokes[-1], StrokeKind.STEP, Segment((3.0, 4.5), (4.0, 2.0)))
    assert len(one.builder.strokes) == 4
    one._go((50.0, 1.0))
    assert (len(one.builder.runs), one.builder.strokes, one.builder.here) == (1, [], (50.0, 1.0))
    near = biter()
    near.opened = TREE
    near.builder.add([Segment((0.0, 1.0), (-1.5, 0.0))], StrokeKind.CUT)
    near._go((-1.5, 0.3))
    same(near.builder.strokes[-1], StrokeKind.STEP, Segment((-1.5, 0.0), (-1.5, 0.3)))
    nowhere = biter()
    nowhere.opened = TREE
    nowhere._go((3.0, 3.0))
    assert nowhere.builder.strokes == []


# One circle


@pytest.mark.parametrize(("direction", "sense"), [(CLIMB, 1.0), (CONVENTIONAL, -1.0)])
def test_of_a_circle_only_the_arc_that_takes_material_is_cut(direction: Direction, sense: float) -> None:
    """Circles of 5 and 3 mm, 4 mm apart, cross at (4, 3) and (4, -3): 3, 4, 5."""
    one = biter(direction)
    one.opened = opened((0.0, 0.0, 5.0, -1))
    one.builder.add([Segment((1.0, 0.0), (0.0, 0.0))], StrokeKind.CUT)
    assert one._bite((4.0, 0.0), 3.0, 0) == 1
    assert one.at == 1
    step, arc = one.builder.strokes[1:]
    same(step, StrokeKind.STEP, Segment((0.0, 0.0), (4.0, -3.0 * sense)))
    same(arc, StrokeKind.CUT, Arc((4.0, -3.0 * sense), (4.0, 3.0 * sense), (4.0, 0.0), direction is CLIMB))
    assert one.opened.parent == [-1, 0]
    assert one.opened.table[1].tolist() == [4.0, 0.0, 3.0]
    assert one._bite((1.0, 0.0), 2.0, 0) == 2, "all of it is open: remembered, not cut"
    assert (one.at, len(one.builder.strokes)) == (1, 3)


def test_a_circle_that_sticks_out_by_a_hair_is_cut_from_a_micron_of_arc_on() -> None:
    """Sticking out by ``e``, an arc of ``2 * 3 * sqrt(5 e / 3)`` mm is free: 0.77 micron and 2.4 microns."""
    for out, strokes in ((1e-8, 0), (1e-7, 1)):
        one = biter()
        one.opened = opened((0.0, 0.0, 5.0, -1))
        one._bite((2.0 + out, 0.0), 3.0, 0)
        assert len(one.builder.strokes) == strokes


def rim_free(theta: float, center: Point, room: float, circles: np.ndarray, sense: float) -> float:
    """Return the free part of the leading half rim at a place of a circle, degrees: 2000 places of the rim asked."""
    px, py = center[0] + room * math.cos(theta), center[1] + room * math.sin(theta)
    heading = theta + sense * math.pi / 2
    rim = heading - math.pi / 2 + (np.arange(2000) + 0.5) * math.pi / 2000
    x, y = px + R * np.cos(rim), py + R * np.sin(rim)
    swept = np.hypot(x[:, None] - circles[:, 0], y[:, None] - circles[:, 1]) < circles[:, 2] + 0.005 + R
    return 180.0 * float((~swept.any(axis=1)).mean())


@given(
    st.lists(st.tuples(st.floats(-2, 2), st.floats(-2, 2), st.floats(2.5, 4.0)), min_size=1, max_size=4),
    st.floats(0.0, 6.28),
    st.sampled_from([CLIMB, CONVENTIONAL]),
)
@settings(max_examples=30)
def test_the_bite_of_a_circle_is_the_greatest_free_rim_on_it(
    circles: list[tuple[float, float, float]], lean: float, direction: Direction
) -> None:
    one = biter(direction)
    one.opened = opened(*((x, y, room, -1) for x, y, room in circles))
    table = np.array(circles)
    center, room = (3.0 * math.cos(lean), 3.0 * math.sin(lean)), 2.0
    apart = np.hypot(table[:, 0] - center[0], table[:, 1] - center[1]) - table[:, 2]
    if abs(apart.min() - 0.3 * room) < 1e-6:
        return
    found = one._engagement(np.array(center), room)
    if apart.min() > 0.3 * room:
        assert found == 180.0, "it hardly overlaps what is open: no way leads there"
        return
    sense = 1.0 if direction is CLIMB else -1.0
    theta = np.arange(48) * math.tau / 48  # 2 mm round at 0.12 R apart would be 35 places: 48 are the least
    x, y = center[0] + room * np.cos(theta), center[1] + room * np.sin(theta)
    cutting = (np.hypot(x[:, None] - table[:, 0], y[:, None] - table[:, 1]) > table[:, 2] + 1e-6).all(axis=1)
    looked_at = [rim_free(t, center, room, table, sense) for t in theta[cutting].tolist()]
    assert found == pytest.approx(max(looked_at, default=0.0), abs=0.35)


@pytest.mark.parametrize("direction", [CLIMB, CONVENTIONAL])
def test_a_circle_round_an_open_one_bites_by_the_law_of_cosines(direction: Direction) -> None:
    """Open to 4 mm for the centre, a circle of 4.5 round the same middle: cos = (7.005^2 - 4.5^2 - 9) / (2 4.5 3)."""
    one = biter(direction)
    one.opened = opened((7.0, -2.0, 4.0, -1))
    by_hand = math.degrees(math.acos(((7.0 + 0.005) ** 2 - 4.5**2 - 9.0) / 27.0))
    assert one._engagement(np.array([7.0, -2.0]), 4.5) == pytest.approx(by_hand, abs=1e-6)
    assert one._engagement(np.array([7.0, -2.0]), 3.9) == 0.0
    assert one._engagement(np.array([7.0, 2.0]), 0.0) == 0.0
    assert biter(direction)._engagement(np.array([7.0, -2.0]), 4.5) == 180.0, "nothing is open"


def test_circles_within_a_cutter_of_a_bite_have_swept_its_rim() -> None:
    """A circle of 2.5 mm about (11, 0) ends 4 mm from the middle of the bite at (4.5, 0): it sweeps 5.5 mm round it."""
    theta = np.arange(48) * math.tau / 48
    x, y = 4.5 + 2.0 * np.cos(theta), 2.0 * np.sin(theta)
    found = []
    for circles in ([(0.0, 0.0, 4.0)], [(0.0, 0.0, 4.0), (11.0, 0.0, 2.5)]):
        one = biter()
        one.opened = opened(*((*c, -1) for c in circles))
        table = np.array(circles)
        cutting = (np.hypot(x[:, None] - table[:, 0], y[:, None] - table[:, 1]) > table[:, 2] + 1e-6).all(axis=1)
        greatest = max(rim_free(t, (4.5, 0.0), 2.0, table, 1.0) for t in theta[cutting].tolist())
        found.append(one._engagement(np.array([4.5, 0.0]), 2.0))
        assert found[-1] == pytest.approx(greatest, abs=0.35)
    assert found[1] < found[0] - 5.0


def test_a_large_circle_is_looked_at_closely_and_a_huge_one_in_240_places() -> None:
    """The bite of a circle that just leaves an open one of its size peaks at the far side, 0.12 R apart: 18 degrees."""
    for room in (1.0, 12.0, 200.0):
        one = biter()
        one.opened = opened((0.0, 0.0, room, -1))
        count = min(240, max(48, math.ceil(math.tau * room / 0.36)))
        places = [2 * math.pi * k / count for k in range(count)]
        table = np.array([(0.0, 0.0, room)])
        outside = [t for t in places if math.hypot(0.5 + room * math.cos(t), room * math.sin(t)) > room + 1e-6]
        looked_at = max(rim_free(t, (0.5, 0.0), room, table, 1.0) for t in outside)
        assert one._engagement(np.array([0.5, 0.0]), room) == pytest.approx(looked_at, abs=0.2)


rims = st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9), st.floats(0.1, 5.0)), min_size=1, max_size=5)


@given(rims, st.lists(st.floats(-3.1, 3.1), min_size=1, max_size=3))
@settings(max_examples=30)
def test_the_free_part_of_half_rims_is_what_no_disc_holds(
    discs: list[tuple[float, float, float]], begins: list[float]
) -> None:
    """Rims about the origin that begin at some angles; discs wider by R. Asked at 4000 places of each half rim."""
    table = np.array(discs)
    rows = len(begins)
    dx, dy = np.tile(table[:, 0], (rows, 1)), np.tile(table[:, 1], (rows, 1))
    found = _greatest_free(np.array(begins), dx, dy, np.hypot(dx, dy), table[:, 2], R)
    greatest = 0.0
    for begin in begins:
        theta = begin + (np.arange(4000) + 0.5) * math.pi / 4000
        x, y = R * np.cos(theta), R * np.sin(theta)
        held = (np.hypot(x[:, None] - table[:, 0], y[:, None] - table[:, 1]) < table[:, 2] + R).any(axis=1)
        greatest = max(greatest, 180.0 * float((~held).mean()))
    assert found == pytest.approx(greatest, abs=0.3)


def test_free_rims_by_hand() -> None:
    """A disc of 3 + 1 mm about (4, 0) meets the rim of 3 mm where cos = (16 + 9 - 16) / 24: to both sides."""
    half = math.degrees(math.acos(9.0 / 24.0))
    one = np.array([[4.0]]), np.array([[0.0]]), np.array([[4.0]]), np.array([1.0])
    assert _greatest_free(np.array([0.0]), *one, R) == pytest.approx(180.0 - half)
    assert _greatest_free(np.array([-math.pi / 2]), *one, R) == pytest.approx(180.0 - 2 * half)
    assert _greatest_free(np.array([math.pi / 2]), *one, R) == pytest.approx(180.0 - (half - 90.0) * (half > 90.0))
    assert _greatest_free(np.array([0.0, math.pi]), *(np.vstack([a, a]) for a in one[:3]), one[3], R) == pytest.approx(
        180.0 - half
    )
    about = np.array([[0.0]]), np.array([[0.0]]), np.array([[0.0]]), np.array([1.0])
    assert _greatest_free(np.array([0.3]), *about, R) == pytest.approx(0.0, abs=1e-9), "inside a disc about itself"


# The first spiral


def spiral(room: float, center: Point = (2.0, 1.0), **more: object) -> _Biter:
    one = biter(**more)  # type: ignore[arg-type]
    one._spiral(center, room)
    return one


def ring(strokes: list[Stroke], start: Point, center: Point, *, ccw: bool) -> None:
    """Check that strokes are a whole circle in two halves."""
    across = (2 * center[0] - start[0], start[1])
    assert len(strokes) == 2
    same(strokes[0], StrokeKind.CUT, Arc(start, across, center, ccw))
    same(strokes[1], StrokeKind.CUT, Arc(across, start, center, ccw))


@pytest.mark.parametrize(("direction", "ccw"), [(CLIMB, True), (CONVENTIONAL, False)])
def test_a_helix_as_wide_as_the_room_leaves_one_circle(direction: Direction, ccw: bool) -> None:
    one = spiral(2.0, direction=direction)
    assert one.builder.entry == HelixEntry((2.0, 1.0), 2.0, ccw)
    ring(one.builder.strokes, (4.0, 1.0), (2.0, 1.0), ccw=ccw)


@pytest.mark.parametrize(("direction", "ccw"), [(CLIMB, True), (CONVENTIONAL, False)])
def test_half_circles_from_side_to_side_each_as_wide_as_the_bite_allows(direction: Direction, ccw: bool) -> None:
    """From a helix of 0.45 D, 2.7 mm, to 4 mm. Allowed 0.96 of 100 degrees, 96, with cos = -0.104528.

    First half: opening 5.7 mm; r = 3 * 0.104528 + sqrt(5.7^2 - (3 sin 96)^2) = 0.313585 + 4.859209 > 4: at once at 4.
    With 0.96 of 60, 57.6 degrees: r = sqrt(5.7^2 - (3 * 0.844328)^2) - 3 * 0.535827 = 5.106270 - 1.607480 = 3.498790;
    next, opening still 5.7 (the half circle before the last): also 3.498790, so the least growth, 0.09: 3.588790; then
    opening 6.498790: r = sqrt(42.234272 - 6.416008) - 1.607480 = 4.377356 > 4.
    """
    wide = spiral(4.0, direction=direction, limit=100.0).builder.strokes
    same(wide[0], StrokeKind.CUT, Arc((4.7, 1.0), (-2.0, 1.0), (1.35, 1.0), ccw))
    ring(wide[1:], (-2.0, 1.0), (2.0, 1.0), ccw=ccw)
    narrow = spiral(4.0, direction=direction, limit=60.0).builder.strokes
    places = [(4.7, 1.0), (2.0 - 3.49879, 1.0), (2.0 + 3.58879, 1.0), (-2.0, 1.0)]
    for stroke, (a, b) in zip(narrow, pairwise(places), strict=False):
        same(stroke, StrokeKind.CUT, Arc(a, b, ((a[0] + b[0]) / 2, 1.0), ccw))
    ring(narrow[3:], (-2.0, 1.0), (2.0, 1.0), ccw=ccw)


def test_from_a_hole_in_the_middle_the_spiral_begins_at_its_rim() -> None:
    """A hole of 8 mm leaves 1 mm of room for the centre of 6 mm; one of 20 mm all of 2; one of 5 none."""
    one = spiral(1.02, hole=EntryHole((2.0, 1.0), 8.0))
    assert one.builder.entry == StraightEntry((2.0, 1.0), 8.0, True)
    same(one.builder.strokes[0], StrokeKind.CUT, Segment((2.0, 1.0), (3.0, 1.0)))
    same(one.builder.strokes[1], StrokeKind.CUT, Arc((3.0, 1.0), (0.98, 1.0), (1.99, 1.0), True))
    ring(one.builder.strokes[2:], (0.98, 1.0), (2.0, 1.0), ccw=True)
    wide = spiral(2.0, hole=EntryHole((2.0, 1.0), 20.0)).builder.strokes
    same(wide[0], StrokeKind.CUT, Segment((2.0, 1.0), (4.0, 1.0)))
    ring(wide[1:], (4.0, 1.0), (2.0, 1.0), ccw=True)
    narrow = spiral(0.05, hole=EntryHole((2.0, 1.0), 5.0))
    assert narrow.builder.entry == StraightEntry((2.0, 1.0), 5.0, False)
    same(narrow.builder.strokes[0], StrokeKind.CUT, Arc((2.0, 1.0), (1.95, 1.0), (1.975, 1.0), True))
    ring(narrow.builder.strokes[1:], (1.95, 1.0), (2.0, 1.0), ccw=True)


def test_from_a_hole_beside_the_middle_it_begins_in_the_middle() -> None:
    """From nothing a circle of -2 R cos(0.96 * 95) = 0.125655 mm bites as much as allowed."""
    one = spiral(0.8, hole=EntryHole((2.4, 1.3), 8.0))
    assert one.builder.entry == StraightEntry((2.4, 1.3), 8.0, True)
    same(one.builder.strokes[0], StrokeKind.CUT, Segment((2.4, 1.3), (2.0, 1.0)))
    same(
        one.builder.strokes[1], StrokeKind.CUT, Arc((2.0, 1.0), (2.0 - 0.125655, 1.0), (2.0 - 0.125655 / 2, 1.0), True)
    )
    far = spiral(0.4, hole=EntryHole((2.4, 1.3), 8.0))
    assert far.builder.entry == RampEntry(0.4), "0.5 mm away it lies outside the room"


def test_a_plunge_and_a_ramp_begin_in_the_middle() -> None:
    plunge = spiral(0.05, wish=Entry.PLUNGE)
    assert plunge.builder.entry == StraightEntry((2.0, 1.0), 0.0, False)
    same(plunge.builder.strokes[0], StrokeKind.CUT, Arc((2.0, 1.0), (1.95, 1.0), (1.975, 1.0), True))
    ring(plunge.builder.strokes[1:], (1.95, 1.0), (2.0, 1.0), ccw=True)
    for room, stretch in ((5.0, 5.0), (15.0, 12.0)):
        ramp = spiral(room, wish=Entry.RAMP)
        assert ramp.builder.entry == RampEntry(stretch)
        out, back = ramp.builder.strokes[:2]
        same(out, StrokeKind.CUT, Segment((2.0, 1.0), (2.0 + stretch, 1.0)))
        same(back, StrokeKind.CUT, Segment((2.0 + stretch, 1.0), (2.0, 1.0)))


def test_each_spiral_begins_a_new_run() -> None:
    one = spiral(2.0)
    one._spiral((30.0, 1.0), 2.0)
    assert [run.entry for run in one.builder.layout().runs] == [
        HelixEntry((2.0, 1.0), 2.0, True),
        HelixEntry((30.0, 1.0), 2.0, True),
    ]


# Along the middle lines


class Told(_Biter):
    """Bites as much at each place as is written there, and notes where it bit."""

    def _engagement(self, center: np.ndarray, room: float) -> float:
        return float(center[0])

    def _bite(self, center: Point, room: float, before: int) -> int:
        return self.opened.add(center, room, before)


def telling(limit: float) -> Told:
    return Told(RunBuilder(WALLS), R, limit, CLIMB, EntryChooser(WALLS, SIX, CLIMB))


@given(st.integers(2, 80), st.data(), st.floats(-1, 80), st.integers(1, 3))
def test_the_next_circle_is_the_farthest_that_bites_no_more_than_allowed(
    count: int, data: st.DataObject, limit: float, least: int
) -> None:
    """The bite grows along the line, at place k by k degrees: the farthest is the last below the limit."""
    here = data.draw(st.integers(-1, count - 2))
    xy = np.column_stack([np.arange(count, dtype=np.float64), np.zeros(count)])
    found = telling(limit)._farthest(xy, np.ones(count), here, least)
    assert found == max(min(here + least, count - 1), min(count - 1, math.floor(limit)))


def test_circles_follow_a_branch_from_either_end() -> None:
    xy = np.column_stack([np.arange(6, dtype=np.float64), np.full(6, 2.0)])
    branch = Branch(4, 9, xy, np.array([1.0, 1.1, 1.2, 1.3, 1.4, 0.0]))
    one = telling(-1.0)
    assert one._follow(branch, 4, 7) == 4
    assert one.opened.table[:5, 0].tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert one.opened.table[:5, 2].tolist() == [1.0, 1.1, 1.2, 1.3, 1.4], "a place without room is left out"
    assert one.opened.parent == [7, 0, 1, 2, 3]
    back = telling(99.0)
    assert back._follow(branch, 9, 3) == 0
    assert back.opened.table[0].tolist() == [0.0, 2.0, 1.0], "in one stride to the far end"
    assert back.opened.parent == [3]
    assert one._follow(Branch(0, 1, xy, np.zeros(6)), 0, 2) == 2, "no room at all: nothing is cut"


def loop_through(outline: Outline) -> Loop:
    return Loop(outline.curves, tuple(range(len(outline.curves))), outline.signed_area, 1.0)


SQUARE = Cell(0, loop_through(rectangle(-5, -5, 5, 5)), (), -1)


def nodes(*places: tuple[float, float, float], branches: tuple[Branch, ...] = ()) -> MiddleLines:
    table = np.array(places)
    return MiddleLines(branches, table[:, :2], table[:, 2])


def test_each_part_of_the_middle_lines_is_opened_from_its_widest_place() -> None:
    """Of places that no line joins: one within the first circle and one hardly wider than the cutter are left out."""
    one = biter(limit=95.0)
    lines = nodes((0.0, 0.0, 5.0), (3.0, 0.0, 1.0), (40.0, 0.0, 0.59), (60.0, 0.0, 0.61), (80.0, 0.0, 2.0))
    one.open_room(SQUARE, lines, StrokeKind.FINISH)
    runs = one.builder.layout().runs
    entries = [run.entry for run in runs]
    assert entries[:3] == [
        HelixEntry((0.0, 0.0), 2.7, True),
        HelixEntry((80.0, 0.0), 2.0, True),
        HelixEntry((60.0, 0.0), 0.61, True),
    ]
    assert one.opened.table[:3].tolist() == [[0.0, 0.0, 5.0], [80.0, 0.0, 2.0], [60.0, 0.0, 0.61]]
    assert one.opened.parent == [-1, -1, -1]
    # The pass along the walls: back to the first circle, over the work and down where it is open
    assert entries[3:] == [None]
    assert runs[3].start == (0.0, 0.0)
    kinds = [s.kind for s in runs[3].strokes]
    assert kinds[0] is kinds[-1] is StrokeKind.STEP
    assert set(kinds[1:-1]) == {StrokeKind.FINISH}


def test_a_place_beside_what_is_open_is_bitten_from_there() -> None:
    """0.2 mm outside a circle of 5 mm: circles of 1 mm room overlap it enough, one that bites too much is entered."""
    for limit, entries in ((179.0, 1), (5.0, 2)):
        one = biter(limit=limit)
        one.open_room(SQUARE, nodes((0.0, 0.0, 5.0), (5.2, 0.0, 1.0)), StrokeKind.CUT)
        assert one.opened.parent == [-1, 0 if entries == 1 else -1]
        assert sum(run.entry is not None for run in one.builder.layout().runs) == entries


def line(first: int, last: int, a: Point, b: Point, room: float) -> Branch:
    return Branch(first, last, np.array([a, b]), np.full(2, room))


def test_dead_ends_are_cut_before_the_line_that_leads_on() -> None:
    """A fork at 0 with dead ends at 1 and 2 and a line to the fork at 3, which has dead ends at 4 and 5 and a ring."""
    at = {0: (0.0, 0.0), 1: (-9.0, 5.0), 2: (-9.0, -5.0), 3: (20.0, 0.0), 4: (29.0, 5.0), 5: (29.0, -5.0)}
    pairs = [(0, 3), (1, 0), (0, 2), (4, 3), (3, 5), (3, 3)]
    branches = (*(line(a, b, at[a], at[b], 1.0) for a, b in pairs[:-1]), line(3, 3, at[3], (22.0, 0.0), 1.0))
    one = telling(-1e9)
    lines = nodes(*((*at[k], 5.0 if k == 0 else 1.0) for k in range(6)), branches=branches)
    one.open_room(SQUARE, lines, StrokeKind.CUT)
    table = one.opened.table[: len(one.opened.parent)]
    ends = [(float(x), float(y)) for x, y, _ in table]
    assert ends[0] == at[0]
    assert ends[1::2] == [at[0], at[0], at[0], at[3], at[3], at[3]]
    assert ends[2::2] == [at[1], at[2], at[3], at[4], at[5], (22.0, 0.0)]
    # Each branch goes on from the circle at its own node
    assert one.opened.parent == [-1, 0, 1, 0, 3, 0, 5, 6, 7, 6, 9, 6, 11]


# Rooms


HAIR = outline_through(
    [(0, 0), (15, 0), (15, 4), (21, 4), (21, 0), (37, 0), (37, 13), (21, 13), (21, 10.2), (15, 10.2), (15, 14), (0, 14)]
)


def test_each_room_has_the_pass_along_its_own_walls_or_none_has() -> None:
    box = walls_of(chains_of_region(rectangle(0, 0, 30, 20), ()))
    stack = OffsetStack(box)
    wall_level = stack.at(3.0)
    rooms = cells_of([stack.at(3.4)])[0]
    (own,) = _wall_cells(rooms, wall_level)
    assert own is not None
    assert own.outer is wall_level.loops[0]
    neck = OffsetStack(walls_of(chains_of_region(HAIR, ())))
    whole = neck.at(3.0)
    two = cells_of([neck.at(3.3)])[0]
    assert (len(whole.loops), len(two)) == (1, 2)
    assert _wall_cells(two, whole) == [None, None]
    apart = cells_of([OffsetStack(walls_of(chains_of_region(HAIR, ()))).at(3.2)])[0]
    assert [c.outer.outline().bounds[2] > 20.0 for c in apart] == [False, True]
    stack = OffsetStack(walls_of(chains_of_region(HAIR, ())))
    level = stack.at(3.15)
    found = _wall_cells(apart, level)
    assert found[0] is not None
    assert found[1] is not None
    assert found[0].outer.outline().bounds[0] == pytest.approx(3.15)
    assert found[1].outer.outline().bounds[2] == pytest.approx(37 - 3.15)
    # A room that the finishing allowance closes: two passes along walls, one room
    assert _wall_cells(apart[:1], level) == [None]


@pytest.mark.parametrize(("wall", "room", "finished"), [(3.15, 3.25, True), (3.0, 3.25, False), (3.15, 3.15, True)])
def test_rooms_are_opened_one_after_the_other_and_it_is_told(wall: float, room: float, finished: bool) -> None:
    walls = walls_of(chains_of_region(HAIR, ()))
    stack = OffsetStack(walls)
    wall_level = stack.at(wall)
    room_level = stack.at(room) if room > wall else wall_level
    told: list[tuple[str, float]] = []
    made = bites_layout(
        walls,
        room_level,
        wall_level,
        R,
        2.4,
        1.25,
        CLIMB,
        EntryChooser(walls, SIX, CLIMB),
        lambda what, share: told.append((what, share)),
    )
    assert told == [("opening in small bites", 0.5), ("opening in small bites", 1.0)]
    assert made.narrow == ()
    assert made.finished is finished
    kinds = {s.kind for s in made.layout.strokes()}
    assert (StrokeKind.FINISH in kinds) is (finished or wall == 3.0)


def test_a_room_less_than_a_fifth_of_a_cutter_wide_is_narrow() -> None:
    """The centre's room is 0.1 D, 0.6 mm, deep in a pocket 7.2 mm wide."""
    for width, narrow in ((7.19, 1), (7.21, 0)):
        walls = walls_of(chains_of_region(rectangle(0, 0, 40, width), ()))
        level = OffsetStack(walls).at(3.0)
        made = bites_layout(walls, level, level, R, 2.4, 1.25, CLIMB, EntryChooser(walls, SIX, CLIMB))
        assert len(made.narrow) == narrow
        assert (len(made.layout.runs) == 0) is (narrow == 1)


def test_the_first_place_is_entered_whatever_may_be_bitten() -> None:
    one = biter(limit=200.0)
    one.open_room(SQUARE, nodes((0.0, 0.0, 2.0)), StrokeKind.CUT)
    assert one.builder.layout().runs[0].entry == HelixEntry((0.0, 0.0), 2.0, True)


def test_a_room_without_middle_lines_is_left_for_plain_loops(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(points: object) -> None:
        raise shapely.errors.GEOSException("samples on one circle")

    monkeypatch.setattr(shapely, "delaunay_triangles", refused)
    walls = walls_of(chains_of_region(rectangle(0, 0, 40, 20), ()))
    level = OffsetStack(walls).at(3.0)
    made = bites_layout(walls, level, level, R, 2.4, 1.25, CLIMB, EntryChooser(walls, SIX, CLIMB))
    assert (len(made.narrow), made.layout.runs) == (1, ())
