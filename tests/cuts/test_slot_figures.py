"""Ends and shape of a slot by hand: edges, stops, boards, bars, the lines led on and cut short, and what is refused."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from holecam.cuts.cut_choices import Direction, Entry, EntryHole, KeepAway, SneakWish
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.level_layout import Stroke, StrokeKind
from holecam.cuts.path_values import MoveKind
from holecam.cuts.slot import _broad, _clear_part, _even_step, _side_offset, plan_slot
from holecam.cuts.slot_ends import _area, _board, _farthest, _past, _rounding, bar_end, end_report
from holecam.cuts.slot_geometry import (
    AIR_START,
    EDGE_NOISE,
    EXACT_WIDTH,
    EndShape,
    _edge_crossings,
    _end_shape,
    _first_places,
    _led_on,
    _nearest_first,
    _open_end,
    _reaching,
    band,
    bar_reach,
    slot_shape,
)
from holecam.cuts.slot_values import Bar, BlindEnd, OpenEnd, SlotRequest, StopShort
from holecam.errors import InputError
from holecam.shapes import Arc, Curve, Point, Segment, outline_through, rectangle

SIX = MillingCutter("six", 6.0, centre_cutting=True)
LINE: tuple[Curve, ...] = (Segment((10.0, 20.0), (90.0, 20.0)),)
PLAIN = SlotRequest("groove", LINE, 10.0, 4.0, SIX, (BlindEnd("axis"), BlindEnd("axis")), step_depth=4.0)
"""Six millimetre cutter in a slot of ten: its centre has 2 mm to each side."""

BODY = rectangle(0.0, 0.0, 100.0, 40.0)


def wall_at(x: float, margin: float) -> StopShort:
    return StopShort(KeepAway("scribed line", (Segment((x, 0.0), (x, 40.0)),), margin))


def test_constants_of_a_slot() -> None:
    assert (EXACT_WIDTH, EDGE_NOISE, AIR_START) == (1e-4, 1e-6, 1.0)


@pytest.mark.parametrize(
    ("width", "room"), [(10.0, 2.0), (6.0, 0.0), (6.0 - 0.9e-4, 0.0), (6.0 + 1e-3, 5e-4), (6.5, 0.25)]
)
def test_room_beside_the_middle(width: float, room: float) -> None:
    assert slot_shape(replace(PLAIN, width=width)).half_room == pytest.approx(room, abs=1e-12)


def test_a_slot_narrower_than_its_cutter_is_refused() -> None:
    with pytest.raises(InputError, match=r'slot "groove" is 6.000 mm wide, its cutter "six" 6.000 mm') as told:
        slot_shape(replace(PLAIN, width=6.0 - 1.1e-4))
    assert told.value.key == "width"


def test_walls_stand_a_radius_beyond_the_centre() -> None:
    """Centre from 10 to 90 on y = 20: walls at 7, 93, 15 and 25, square at the ends."""
    shape = slot_shape(PLAIN)
    assert shape.line == LINE
    assert shape.walls.bounds == pytest.approx((7.0, 15.0, 93.0, 25.0))
    assert shape.walls.signed_area == pytest.approx(86.0 * 10.0)
    assert shape.ends == (EndShape(0.0), EndShape(0.0))
    arc = slot_shape(replace(PLAIN, ends=(BlindEnd("arc"), BlindEnd("axis"))))
    assert arc.line == (Segment((13.0, 20.0), (90.0, 20.0)),)
    assert arc.walls.bounds == pytest.approx((10.0, 15.0, 93.0, 25.0))
    assert [e.limit for e in arc.ends] == [-3.0, 0.0]


@pytest.mark.parametrize(
    ("bar", "reach"),
    [
        (None, 0.0),
        (Bar("b", 9.0, 0.5, square_ends=False), 2.5),  # round: the radius less the clearance
        (Bar("b", 9.0, 0.5), 0.0),  # corner 4.5 - 2 = 2.5 beside the room: no reach at all
        (Bar("b", 8.0, 0.5), 1.5),  # 2 beside it: sqrt(2.5^2 - 2^2)
        (Bar("b", 4.0, 0.5), 2.5),  # not wider than the room
        (Bar("b", 3.0, 0.5), 2.5),
        (Bar("b", 9.8, 0.5), 0.0),
    ],
)
def test_how_far_a_bar_reaches_beyond_the_centre(bar: Bar | None, reach: float) -> None:
    assert bar_reach(bar, 3.0, 2.0) == pytest.approx(reach)


def test_a_blind_end_to_the_bar_stops_the_centre_before_it() -> None:
    request = replace(PLAIN, bar=Bar("b", 8.0, 0.5), ends=(BlindEnd(), BlindEnd("axis")))
    assert _end_shape(request, LINE, BlindEnd(), 2.0, "x") == EndShape(pytest.approx(-1.5))  # type: ignore[arg-type]
    assert slot_shape(request).line[0].start == pytest.approx((11.5, 20.0))
    plan = plan_slot(request)
    assert plan.ends[0].bar_ends_at == pytest.approx((10.0, 20.0), abs=1e-6)
    assert plan.ends[0].bar_too_long_by == 0.0


@pytest.mark.parametrize(("x", "margin"), [(100.0, 1.0), (80.0, 1.0), (93.0, 0.0)])
def test_a_stop_is_kept_by_radius_and_margin(x: float, margin: float) -> None:
    shape = _end_shape(PLAIN, LINE, wall_at(x, margin), 2.0, "x")
    assert shape.limit == pytest.approx(x - margin - 3.0 - 90.0, abs=1e-8)
    assert shape.limit < x - margin - 93.0  # by the noise, never beyond


def test_a_stop_across_the_start_leaves_nothing() -> None:
    """The line begins at 10: with a radius of 3 a stop at 14 leaves a margin of 1, and no more."""
    assert _end_shape(PLAIN, LINE, wall_at(14.0, 1.0), 2.0, "x").limit == pytest.approx(-80.0, abs=1e-6)
    with pytest.raises(
        InputError, match=r'x: the margin of 1.010 mm before "scribed line" leaves nothing of it: its line begins 4.000'
    ) as told:
        _end_shape(PLAIN, LINE, wall_at(14.0, 1.01), 2.0, "x")
    assert told.value.key == "ends"


def test_a_slanting_stop_is_kept_on_the_whole_width() -> None:
    """Stop through (100, 20) at 45 degrees: the centre at 2 mm to the near side keeps 4 mm square to it."""
    stop = StopShort(KeepAway("k", (Segment((80.0, 0.0), (120.0, 40.0)),), 1.0))
    limit = _end_shape(PLAIN, LINE, stop, 2.0, "x").limit
    assert 90.0 + limit == pytest.approx(100.0 - 2.0 - 4.0 * math.sqrt(2.0), abs=1e-8)
    # Round stop of 10 mm about (120, 20): on the axis it comes first, 14 mm before its centre
    round_ = StopShort(KeepAway("k", (Arc((120.0, 30.0), (120.0, 10.0), (120.0, 20.0), ccw=True),), 1.0))
    assert 90.0 + _end_shape(PLAIN, LINE, round_, 2.0, "x").limit == pytest.approx(106.0, abs=1e-8)
    # A point beside the axis: the far side of the room is nearest to it
    beside = StopShort(KeepAway("k", (Segment((110.0, 23.0), (130.0, 60.0)),), 1.0))
    limit = _end_shape(PLAIN, LINE, beside, 2.0, "x").limit
    assert 90.0 + limit == pytest.approx(110.0 - math.sqrt(16.0 - 1.0), abs=1e-8)


def test_the_end_of_an_arc_has_no_straight_limit() -> None:
    """Beyond everything: the farthest of start, middle and end of the stop from the tip, and a millimetre."""
    chain = (Arc((60.0, -10.0), (90.0, 20.0), (60.0, 20.0), ccw=True),)
    limit = _end_shape(PLAIN, chain, wall_at(100.0, 1.0), 2.0, "x").limit
    assert limit == pytest.approx(math.hypot(10.0, 20.0) + 1.0)


def flat(points: list[Point]) -> list[float]:
    return [value for p in sorted((round(x, 9), round(y, 9)) for x, y in points) for value in p]


def test_places_that_lie_first_along_the_axis() -> None:
    found = _first_places(Segment((10.0, -9.0), (10.0, 9.0)), (0.0, 0.0), (1.0, 0.0), 2.0)
    assert flat(found) == pytest.approx([10.0, -2.0, 10.0, 2.0])
    short = _first_places(Segment((10.0, -1.0), (12.0, 1.5)), (0.0, 0.0), (1.0, 0.0), 2.0)
    assert sorted(short) == [(10.0, -1.0), (12.0, 1.5)]
    round_ = Arc((10.0, 5.0), (10.0, -5.0), (10.0, 0.0), ccw=True)
    found = _first_places(round_, (0.0, 0.0), (1.0, 0.0), 3.0)
    assert flat(found) == pytest.approx([5.0, 0.0, 6.0, -3.0, 6.0, 3.0])
    behind = _first_places(Arc((10.0, -5.0), (10.0, 5.0), (10.0, 0.0), ccw=True), (0.0, 0.0), (1.0, 0.0), 3.0)
    assert flat(behind) == pytest.approx([14.0, -3.0, 14.0, 3.0])
    # Turned by a quarter: the same
    up = _first_places(Segment((-9.0, 10.0), (9.0, 10.0)), (0.0, 0.0), (0.0, 1.0), 2.0)
    assert flat(up) == pytest.approx([-2.0, 10.0, 2.0, 10.0])


OPEN = replace(PLAIN, body=BODY, ends=(OpenEnd(), BlindEnd("axis")))
BACK: tuple[Curve, ...] = (Segment((90.0, 20.0), (10.0, 20.0)),)


@pytest.mark.parametrize(
    ("run_out", "board", "limit"),
    [
        (None, True, 13.0),
        (0.0, True, 10.0),
        (7.0, True, 17.0),
        (None, False, 14.0),
        (0.0, False, 14.0),
        (7.0, False, 17.0),
    ],
)
def test_an_open_end_runs_out_past_the_edge(run_out: float | None, board: bool, limit: float) -> None:
    """From x = 10 toward the edge at 0; without a board the cutter gets down a millimetre off the work."""
    end = OpenEnd(run_out)
    found = _open_end(replace(OPEN, spoil_board=board), BACK, end, 2.0, "x")
    assert (found.limit, found.crossing) == (pytest.approx(limit), pytest.approx(10.0))
    assert found.spoil_board == pytest.approx(limit - 10.0 + 3.0)
    assert found.opened == (BODY.curves[3],)
    assert found.edge_at == pytest.approx((0.0, 20.0))
    assert found.edge_along == pytest.approx((0.0, -1.0))


def test_an_open_end_without_a_body_lies_on_the_edge() -> None:
    found = _open_end(replace(OPEN, body=None), BACK, OpenEnd(2.0), 2.0, "x")
    assert found == EndShape(2.0, 0.0, 5.0, (), (10.0, 20.0), (0.0, -1.0))


def test_an_open_end_at_a_slanting_edge_by_hand() -> None:
    """Edge from (0, 0) to (40, 40) over a body to the right; slot along y = 20 toward -x; edge at x = 20, 45 degrees.

    The sides of the slot, 5 mm off, meet it at x = 15 and 25: 15 is the farther. With a run-out of 1 the centre goes
    to x = 14; square to the edge it is 6 sin 45 and its room 2 cos 45 more, and its radius.
    """
    body = outline_through([(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (40.0, 40.0)])
    found = _open_end(replace(OPEN, body=body), (Segment((90.0, 20.0), (50.0, 20.0)),), OpenEnd(1.0), 2.0, "x")
    assert found.limit == pytest.approx(36.0)
    assert found.crossing == pytest.approx(30.0)
    assert found.spoil_board == pytest.approx(6.0 * math.sqrt(0.5) + 2.0 * math.sqrt(0.5) + 3.0)
    assert found.edge_at == pytest.approx((20.0, 20.0))
    assert len(found.opened) == 1


def test_an_open_end_that_meets_no_edge_is_refused() -> None:
    away = (Segment((150.0, 20.0), (200.0, 20.0)),)
    with pytest.raises(InputError, match=r"x: its open end at X 200.000 Y 20.000 mm, led straight on, never") as told:
        _open_end(OPEN, away, OpenEnd(), 2.0, "x")
    assert told.value.key == "ends"


def test_crossings_of_the_edge_ahead_and_behind() -> None:
    found = _edge_crossings(BODY, LINE, (90.0, 20.0), (1.0, 0.0), 0.0)
    assert [(round(past, 9), edge) for past, edge, _ in found] == [(10.0, BODY.curves[1])]
    assert found[0][2] == pytest.approx((0.0, 1.0))
    long = (Segment((-20.0, 20.0), (120.0, 20.0)),)
    assert sorted(past for past, _, _ in _edge_crossings(BODY, long, (120.0, 20.0), (1.0, 0.0), 0.0)) == [-120.0, -20.0]
    # Shifted to the left of the travel by 25: above the body; by -15 the lower part of it
    assert _edge_crossings(BODY, LINE, (90.0, 20.0), (1.0, 0.0), 25.0) == []
    step = outline_through([(0.0, 0.0), (100.0, 0.0), (100.0, 20.0), (110.0, 20.0), (110.0, 40.0), (0.0, 40.0)])
    assert [f[0] for f in _edge_crossings(step, LINE, (90.0, 20.0), (1.0, 0.0), 5.0)] == pytest.approx([20.0])
    assert [f[0] for f in _edge_crossings(step, LINE, (90.0, 20.0), (1.0, 0.0), -5.0)] == pytest.approx([10.0])


def at(past: float) -> tuple[float, Curve, Point]:
    return (past, LINE[0], (0.0, 1.0))


@pytest.mark.parametrize(
    ("past", "inside", "chosen"),
    [
        ([5.0, 2.0, -3.0], True, 2.0),  # inside: the next edge ahead
        ([5.0, 2.0, -3.0, -1.0], False, -1.0),  # outside: the last edge behind
        ([5.0, 2.0], False, 2.0),
        ([0.0, 5.0], False, 0.0),
        ([0.0, 5.0], True, 0.0),
        ([-3.0], True, None),
        ([], False, None),
        ([-5e-7, 4.0], True, -5e-7),
        ([5e-7, -4.0], False, 5e-7),
        ([2e-6, -4.0], False, -4.0),
    ],
)
def test_where_the_slot_leaves_the_body(past: list[float], inside: bool, chosen: float | None) -> None:
    found = _nearest_first([at(p) for p in past], inside=inside)
    assert (None if found is None else found[0]) == chosen


def test_lines_led_on_and_cut_short() -> None:
    bent = (Segment((0.0, 0.0), (10.0, 0.0)), Segment((10.0, 0.0), (10.0, 5.0)))
    assert _led_on(bent, 2.0) == (bent[0], Segment((10.0, 0.0), (10.0, 7.0)))
    assert _led_on(bent, 0.0) == bent
    assert _led_on(bent, -2.0) == (bent[0], Segment((10.0, 0.0), (10.0, 3.0)))
    assert _led_on(bent, -5.0) == (bent[0],)
    (short,) = _led_on(bent, -9.0)
    assert (short.start, short.end) == ((0.0, 0.0), pytest.approx((6.0, 0.0)))
    arc = (Arc((0.0, 0.0), (10.0, 10.0), (0.0, 10.0), ccw=True),)
    round_part, straight = _led_on(arc, 3.0)
    assert (round_part, straight.start, straight.end) == (arc[0], (10.0, 10.0), pytest.approx((10.0, 13.0)))
    both = _reaching(bent, 1.0, -2.0, "x")
    assert [(c.start, c.end) for c in both] == [((-1.0, 0.0), (10.0, 0.0)), ((10.0, 0.0), (10.0, 3.0))]
    assert [(c.start, c.end) for c in _reaching(bent, -10.0, 1.0, "x")] == [((10.0, 0.0), (10.0, 6.0))]


@pytest.mark.parametrize(("before", "after"), [(-7.5, -7.5), (-15.0, 3.0), (3.0, -15.0), (-20.0, 9.0)])
def test_ends_that_leave_nothing(before: float, after: float) -> None:
    bent = (Segment((0.0, 0.0), (10.0, 0.0)), Segment((10.0, 0.0), (10.0, 5.0)))
    with pytest.raises(InputError, match=r"x: its ends leave nothing of its 15.000 mm") as told:
        _reaching(bent, before, after, "x")
    assert told.value.key == "ends"
    assert sum(c.length for c in _reaching(bent, -7.0, -7.9, "x")) == pytest.approx(0.1)


def test_band_beside_a_line() -> None:
    """10 long and 5 up, 1 to each side, flat ends, round outside: 15 * 2 - (1 - pi / 4)."""
    bent = (Segment((0.0, 0.0), (10.0, 0.0)), Segment((10.0, 0.0), (10.0, 5.0)))
    found = band(bent, 1.0, "x")
    assert found.signed_area == pytest.approx(30.0 - (1.0 - math.pi / 4.0))
    assert found.bounds == pytest.approx((0.0, -1.0, 11.0, 5.0))
    assert sum(isinstance(c, Arc) for c in found.curves) == 1
    hairpin = (
        Segment((0.0, 0.0), (30.0, 0.0)),
        Segment((30.0, 0.0), (30.0, 10.0)),
        Segment((30.0, 10.0), (0.0, 0.5)),
    )
    with pytest.raises(InputError, match=r"x: its line comes nearer to itself than its width, 2.000 mm") as told:
        band(hairpin, 1.0, "x")
    assert told.value.key == "path"


# Reports on the ends


ROOM = (
    Segment((10.0, 18.0), (90.0, 18.0)),
    Segment((90.0, 18.0), (90.0, 22.0)),
    Segment((90.0, 22.0), (10.0, 22.0)),
    Segment((10.0, 22.0), (10.0, 18.0)),
)
"""Where the centre of the cutter goes in the plain slot."""


def test_how_far_the_centre_goes_on_the_axis() -> None:
    assert _farthest(ROOM, (90.0, 20.0), (1.0, 0.0), 2.0) == 0.0
    assert _farthest(ROOM, (80.0, 20.0), (1.0, 0.0), 2.0) == 10.0
    assert _farthest(ROOM, (10.0, 20.0), (-1.0, 0.0), 2.0) == 0.0
    # Places beside the slot do not count
    far = (*ROOM, Segment((200.0, 30.0), (300.0, 30.0)))
    assert _farthest(far, (90.0, 20.0), (1.0, 0.0), 2.0) == 0.0
    assert _farthest((Segment((95.0, 23.0), (95.0, 19.0)),), (90.0, 20.0), (1.0, 0.0), 2.0) == 5.0
    up = tuple(Segment((-c.start[1], c.start[0]), (-c.end[1], c.end[0])) for c in ROOM)
    assert _farthest(up, (-20.0, 80.0), (0.0, 1.0), 2.0) == 10.0
    assert _past((1.0, 2.0), (0.6, 0.8), 5.0) == pytest.approx((4.0, 6.0))


@pytest.mark.parametrize(
    ("bar", "reach"),
    [
        (Bar("b", 8.0, 0.5), 1.5),
        (Bar("b", 4.0, 0.5), 2.5),
        (Bar("b", 8.8, 0.5), math.sqrt(2.5**2 - 2.4**2)),
        (Bar("b", 6.0, 0.0), math.sqrt(9.0 - 1.0)),
        # Round: the middle of its half circle of 4 mm stays 2.5 mm from the corners of the room, 2 mm off the axis,
        # or its tip 2.5 mm before the end
        (Bar("b", 8.0, 0.5, square_ends=False), 2.5),
    ],
)
@pytest.mark.parametrize(("tip", "stop"), [((90.0, 20.0), 0.0), ((80.0, 20.0), 10.0), ((95.0, 20.0), -5.0)])
def test_how_far_the_bar_may_reach(bar: Bar, reach: float, tip: Point, stop: float) -> None:
    found = bar_end(bar, ROOM, tip, (1.0, 0.0), 3.0, stop, 2.0)
    if not bar.square_ends:
        # by the place of its rim at an angle a: 4 cos a - 4 behind its tip, 4 sin a off the axis
        sides = [4.0 * k / 20.0 for k in range(21)]
        outside = [(4.0 - math.sqrt(16.0 - s * s), max(s - 2.0, 0.0)) for s in sides]
        reach = min(back + math.sqrt(6.25 - off * off) for back, off in outside)
    assert found == pytest.approx(stop + reach, abs=1e-6)


def test_a_bar_that_has_no_room_at_all() -> None:
    assert bar_end(Bar("b", 12.0, 0.5), ROOM, (90.0, 20.0), (1.0, 0.0), 3.0, 0.0, 2.0) == -math.inf
    assert bar_end(Bar("b", 4.0, 2.9), ROOM, (90.0, 20.0), (1.0, 0.0), 3.0, 0.0, 2.0) == pytest.approx(0.1)


def test_a_bar_with_more_clearance_than_the_radius_of_the_cutter() -> None:
    """Its end keeps the rest of its clearance from the edge of the places where the centre goes: 3, 3.5 less 3 mm."""
    for clearance, reach in ((3.0, 0.0), (3.5, -0.5)):
        found = bar_end(Bar("b", 2.0, clearance), ROOM, (90.0, 20.0), (1.0, 0.0), 3.0, 0.0, 2.0)
        assert found == pytest.approx(reach, abs=1e-9)


def test_a_room_there_and_back_has_no_area() -> None:
    assert _area((LINE[0], LINE[0].reversed())) is None
    assert _area(ROOM) is not None


@pytest.mark.parametrize(
    ("bar", "too_long", "reach", "corner"),
    [
        (Bar("b", 8.0, 0.5), 1.0, 1.5, 2.0),  # half width 4 less the room 2; it gains 2.5 - 1.5 = 1 mm at most
        (Bar("b", 8.0, 0.5), 1.01, 1.5, None),
        (Bar("b", 8.0, 0.5), 0.5, 1.5, 2.0),
        (Bar("b", 8.0, 0.5), 0.0, 1.5, None),
        (Bar("b", 8.0, 0.5, square_ends=False), 0.5, 1.5, None),
        (Bar("b", 8.0, 0.5), 0.5, 1.502, None),  # another thing is in the way
        (Bar("b", 8.0, 0.5), 0.5, 1.498, None),
        (Bar("b", 4.0, 0.5), 0.5, 2.5, None),  # as wide as the room: no corner stands out
        (Bar("b", 9.0, 0.5), 0.5, 0.0, 2.5),
        (Bar("b", 9.2, 0.5), 0.5, 0.0, None),
    ],
)
def test_to_what_the_corners_are_rounded(bar: Bar, too_long: float, reach: float, corner: float | None) -> None:
    found = _rounding(bar, 3.0, 2.0, too_long, reach + 7.0, 7.0)
    assert found == (None if corner is None else pytest.approx(corner))


def test_where_the_spoil_board_lies() -> None:
    """Edge along y at x = 0, the slot toward -x: 5 mm half width and 1.2 times the width more, 6 thick, outside."""
    square = EndShape(13.0, 10.0, 6.0, (), (0.0, 20.0), (0.0, -1.0))
    board = _board(square, (-1.0, 0.0), 5.0)
    assert board is not None
    assert board.bounds == pytest.approx((-6.0, 20.0 - 11.0, 0.0, 20.0 + 11.0))
    assert board.signed_area == pytest.approx(6.0 * 22.0)
    turned = _board(replace(square, edge_along=(0.0, 1.0)), (-1.0, 0.0), 5.0)
    assert turned is not None
    assert turned.bounds == pytest.approx(board.bounds)
    # At 60 degrees to the edge it is longer by the sine; flatter than 0.3 no more
    for angle, sine in ((60.0, math.sin(math.radians(60.0))), (5.0, 0.3)):
        a = math.radians(angle)
        slanting = _board(square, (-math.sin(a), math.cos(a)), 5.0)
        assert slanting is not None
        assert slanting.bounds == pytest.approx((-6.0, 20.0 - 11.0 / sine, 0.0, 20.0 + 11.0 / sine))
    for without in ("edge_at", "edge_along", "spoil_board"):
        assert _board(replace(square, **{without: None}), (-1.0, 0.0), 5.0) is None


def test_words_and_places_of_the_ends() -> None:
    request = replace(OPEN, ends=(OpenEnd(), wall_at(96.0, 1.0)), bar=Bar("rail", 8.0, 0.5))
    start, end = plan_slot(request).ends
    assert (start.at_start, end.at_start) == (True, False)
    assert start.words == "open: the cutter reaches 6.000 mm past the edge, so the spoil board is at least that thick"
    assert start.spoil_board == pytest.approx(6.0)
    assert start.board is not None
    assert start.board.bounds == pytest.approx((-6.0, 20.0 - 11.0, 0.0, 20.0 + 11.0))
    assert start.centre_stops_at == pytest.approx((-3.0, 20.0))
    # Stop at 96 less 1 and the radius: the centre to 92; the bar 1.5 past that
    assert end.centre_stops_at == pytest.approx((92.0, 20.0), abs=1e-6)
    assert end.kept_margin == pytest.approx(1.0, abs=1e-6)
    assert end.bar_ends_at == pytest.approx((93.5, 20.0), abs=1e-6)
    assert (end.bar_too_long_by, end.round_corners_to) == (0.0, None)
    assert end.words == (
        'stops short of "scribed line": the cutter\'s edge keeps 1.000 mm; "rail" may reach to 3.500 mm past the '
        "stated end"
    )
    # 3 mm nearer the stop takes off what the bar was meant to reach: to 90, and it may to 89.5
    nearer = plan_slot(replace(request, ends=(OpenEnd(), wall_at(92.0, 1.0)))).ends[1]
    assert nearer.bar_too_long_by == pytest.approx(0.5, abs=1e-6)
    assert nearer.round_corners_to == pytest.approx(2.0)
    assert nearer.words.endswith(
        '"rail" may reach to 0.500 mm short of the stated end: take 0.500 mm off it, or round its corners to 2.000 mm'
    )
    bare = plan_slot(replace(OPEN, spoil_board=False)).ends
    assert bare[0].words == "open, without a spoil board: the exit may splinter"
    assert (bare[0].spoil_board, bare[0].board) == (None, None)
    assert bare[1].words == "blind, the end rounded to the cutter's radius of 3.000 mm"
    assert bare[1].bar_ends_at is None


@pytest.mark.parametrize(("measured", "too_long"), [("axis", 0.0), ("arc", 1.5), ("bar", 0.0)])
def test_how_much_of_the_bar_comes_off_at_a_blind_end(measured: str, too_long: float) -> None:
    """To the arc the centre stops 3 mm short and the square bar reaches 1.5 past it: 1.5 too long for the line."""
    request = replace(PLAIN, bar=Bar("rail", 8.0, 0.5), ends=(BlindEnd(measured), BlindEnd(measured)))
    plan = plan_slot(request)
    for end in plan.ends:
        assert end.bar_too_long_by == pytest.approx(too_long, abs=1e-6)
    assert plan.ends[1].centre_stops_at[0] == pytest.approx({"axis": 90.0, "arc": 87.0, "bar": 88.5}[measured])


STEPPED = outline_through([(0.0, 0.0), (95.0, 0.0), (105.0, 18.0), (100.0, 40.0), (5.0, 40.0), (-8.0, 22.0)])
"""A body of which no edge lies square to the slot."""

ROUND_STOP = KeepAway("curve", (Arc((104.0, -5.0), (104.0, 41.0), (130.0, 18.0), ccw=False),), 0.7)
KINKED_STOP = KeepAway("kinked", (Segment((110.0, 0.0), (97.0, 18.5)), Segment((97.0, 18.5), (120.0, 40.0))), 0.4)


@pytest.mark.parametrize("square_ends", [False, True])
@pytest.mark.parametrize(
    ("angle_deg", "mirrored"), [(0.0, True), (37.0, False), (90.0, True), (180.0, False), (251.0, True)]
)
@pytest.mark.parametrize(
    "wanted",
    [
        (OpenEnd(), OpenEnd(0.5)),
        (OpenEnd(2.0), StopShort(ROUND_STOP)),
        (BlindEnd(), StopShort(KINKED_STOP)),
        (BlindEnd("arc"), BlindEnd("axis")),
    ],
)
def test_ends_of_a_turned_and_mirrored_slot(
    wanted: tuple[OpenEnd | BlindEnd | StopShort, ...], angle_deg: float, mirrored: bool, square_ends: bool
) -> None:
    """Every length stays, every place turns along: nothing hangs on how the part lies on the table."""
    turn = math.radians(angle_deg)
    c, s, flip = math.cos(turn), math.sin(turn), -1.0 if mirrored else 1.0

    def moved(p: Point) -> Point:
        x, y = p[0] + 3.0, flip * (p[1] - 7.0)
        return (x * c - y * s, x * s + y * c)

    def moved_curve(curve: Curve) -> Curve:
        a, b = moved(curve.start), moved(curve.end)
        return Segment(a, b) if isinstance(curve, Segment) else Arc(a, b, moved(curve.center), curve.ccw != mirrored)

    def moved_end(end: OpenEnd | BlindEnd | StopShort) -> OpenEnd | BlindEnd | StopShort:
        if not isinstance(end, StopShort):
            return end
        return StopShort(replace(end.before, curves=tuple(moved_curve(k) for k in end.before.curves)))

    plain = replace(PLAIN, body=STEPPED, ends=wanted, bar=Bar("rail", 8.4, 0.3, square_ends), depth=2.0)  # type: ignore[arg-type]
    other = replace(
        plain,
        centre_line=tuple(moved_curve(k) for k in LINE),
        body=outline_through([moved(k.start) for k in STEPPED.curves]),
        ends=(moved_end(wanted[0]), moved_end(wanted[1])),
    )
    a, b = slot_shape(plain), slot_shape(other)
    for one, two in zip(a.ends, b.ends, strict=True):
        assert two.limit == pytest.approx(one.limit, abs=1e-7)
        assert two.crossing == (None if one.crossing is None else pytest.approx(one.crossing, abs=1e-7))
        assert two.spoil_board == (None if one.spoil_board is None else pytest.approx(one.spoil_board, abs=1e-7))
        assert len(two.opened) == len(one.opened)
        if one.edge_at is not None:
            assert two.edge_at == pytest.approx(moved(one.edge_at), abs=1e-7)
    assert b.walls.area == pytest.approx(a.walls.area)
    for at_start in (True, False):
        one = end_report(plain, a, band(a.line, a.half_room, "room").curves, at_start=at_start)
        two = end_report(other, b, band(b.line, b.half_room, "room").curves, at_start=at_start)
        assert two.words == one.words
        assert two.centre_stops_at == pytest.approx(moved(one.centre_stops_at), abs=1e-6)
        for before, after in ((one.kept_margin, two.kept_margin), (one.bar_too_long_by, two.bar_too_long_by)):
            assert after == (None if before is None else pytest.approx(before, abs=1e-6))
        if one.bar_ends_at is not None:
            assert two.bar_ends_at == pytest.approx(moved(one.bar_ends_at), abs=1e-6)
        assert (one.board is None) is (two.board is None) is not isinstance(wanted[0 if at_start else 1], OpenEnd)
        if one.board is not None and two.board is not None:
            corners = sorted((round(p[0], 5), round(p[1], 5)) for p in (moved(k.start) for k in one.board.curves))
            assert [v for p in corners for v in p] == pytest.approx(
                [v for p in sorted((round(k.start[0], 5), round(k.start[1], 5)) for k in two.board.curves) for v in p],
                abs=1e-4,
            )


def test_slanting_ends_by_hand() -> None:
    """The slot leaves the body on the edge from (105, 18) to (100, 40): at y = 20 where x is 105 less 5 * 2 / 22."""
    shape = _end_shape(replace(PLAIN, body=STEPPED), LINE, OpenEnd(0.5), 2.0, "x")
    assert 90.0 + (shape.crossing or 0.0) == pytest.approx(105.0 - 5.0 * 2.0 / 22.0)
    # The sides of the slot leave the body at y = 15 on the first edge, at y = 25 on the second: 103.33 and 103.41
    assert 90.0 + shape.limit == pytest.approx(105.0 - 5.0 * 2.0 / 22.0 + 0.5)
    assert len(shape.opened) == 2
    ex, ey = shape.edge_along or (0.0, 0.0)
    assert (abs(ex), abs(ey)) == pytest.approx((5.0 / math.hypot(5.0, 22.0), 22.0 / math.hypot(5.0, 22.0)))
    assert shape.spoil_board == pytest.approx(0.5 * abs(ey) + 2.0 * abs(ex) + 3.0)


# The passes


def test_even_step_from_the_middle_to_the_walls() -> None:
    shape = slot_shape(replace(PLAIN, width=14.0))  # 4 mm to each side
    assert _even_step(shape, 0.0, PLAIN, 1.5) == pytest.approx(4.0 / 3.0)
    assert _even_step(shape, 0.0, PLAIN, 2.0) == pytest.approx(2.0)
    assert _even_step(shape, 0.0, PLAIN, 4.0) == pytest.approx(4.0)
    assert _even_step(shape, 0.0, PLAIN, 5.0) == pytest.approx(4.0)
    assert _even_step(shape, 1.0, PLAIN, 2.0) == pytest.approx(1.5)
    assert _even_step(shape, 1.0, replace(PLAIN, finish=0.5), 2.0) == pytest.approx(1.25)
    assert _even_step(shape, 4.0, PLAIN, 2.0) == 2.0
    assert _broad([]) == []


def test_the_line_up_to_a_stop() -> None:
    stop = wall_at(60.0, 1.0).before
    (short,) = _clear_part(LINE, (stop,), 3.0, "x")
    assert (short.start, short.end) == ((10.0, 20.0), pytest.approx((56.0, 20.0)))
    assert _clear_part(LINE, (), 3.0, "x") == LINE
    # Two stops: each with a margin of its own; the part at the start is cut although the other one is longer
    other = KeepAway("other", (Segment((30.0, 0.0), (30.0, 40.0)),), 2.0)
    (first,) = _clear_part(LINE, (stop, other), 3.0, "x")
    assert first.end == pytest.approx((25.0, 20.0))
    # Where the start itself is not clear: the longest part
    start = KeepAway("start", (Segment((9.0, 0.0), (9.0, 40.0)),), 1.0)
    (rest,) = _clear_part(LINE, (start, other), 3.0, "x")
    assert (rest.start, rest.end) == (pytest.approx((35.0, 20.0)), pytest.approx((90.0, 20.0)))
    with pytest.raises(InputError, match=r'x: the margins before "all" leave nothing of it') as told:
        _clear_part(LINE, (KeepAway("all", LINE, 1.0),), 3.0, "x")
    assert told.value.key == "ends"


def test_how_far_a_stroke_lies_beside_the_centre_line() -> None:
    def stroke(x0: float, y0: float, x1: float, y1: float) -> Stroke:
        return Stroke(Segment((x0, y0), (x1, y1)), StrokeKind.CUT)

    offset = _side_offset(PLAIN)
    assert offset(stroke(30.0, 22.0, 50.0, 22.0)) == pytest.approx(2.0)  # to the left of the travel
    assert offset(stroke(50.0, 18.5, 30.0, 18.5)) == pytest.approx(-1.5)
    assert offset(stroke(50.0, 20.0 + 1e-10, 30.0, 20.0)) == 0.0
    up = _side_offset(replace(PLAIN, centre_line=(Segment((5.0, 7.0), (5.0, 50.0)),)))
    assert up(stroke(3.0, 10.0, 3.0, 20.0)) == pytest.approx(2.0)
    slanting = _side_offset(replace(PLAIN, centre_line=(Segment((1.0, 2.0), (31.0, 42.0)),)))
    assert slanting(stroke(1.0 - 0.8, 2.0 + 0.6, 31.0 - 0.8, 42.0 + 0.6)) == pytest.approx(1.0)
    bent = _side_offset(replace(PLAIN, centre_line=(*LINE, Segment((90.0, 20.0), (90.0, 50.0)))))
    assert bent(stroke(30.0, 22.0, 50.0, 22.0)) == 0.0


def test_a_slot_is_as_deep_and_as_wide_as_it_says() -> None:
    plan = plan_slot(replace(PLAIN, depth=5.0, step_depth=2.0, step_over=3.0))
    assert plan.step_over == 3.0
    assert plan.step_depth == pytest.approx(5.0 / 3.0)
    assert [level.z for level in plan.path.levels] == pytest.approx([-5 / 3, -10 / 3, -5.0])
    assert plan.proof.levels == pytest.approx((-5 / 3, -10 / 3, -5.0))
    plain = plan_slot(replace(PLAIN, step_depth=None))
    assert (plain.step_over, plain.step_depth) == (pytest.approx(2.4), pytest.approx(2.0))  # 0.4 and 0.5 of 6 at most
    through = plan_slot(replace(PLAIN, body=BODY, stock_thickness=3.0, through=True, step_depth=9.0))
    assert through.path.deepest_z == pytest.approx(-3.5)
    # 80 long, 4 wide the centre's room; 10 wide the slot, its corners rounded to the radius
    (outline,) = plan.swept
    assert outline.area == pytest.approx(80.0 * 4.0 + 2 * (80.0 + 4.0) * 3.0 + math.pi * 9.0)
    assert plan.proof.wanted_area == pytest.approx(outline.area)
    assert plan.proof.nearest_wall == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("more", "message", "key"),
    [
        (
            {"cutter": MillingCutter("short", 6.0, flute_length=3.9, overhang=3.9)},
            "too short for a depth of 4.000",
            "cutter",
        ),
        (
            {"centre_line": (Arc((50.0, 20.0), (50.0, 20.0), (30.0, 20.0), ccw=True),)},
            "its line ends where it starts",
            "path",
        ),
        ({"step_over": 0.1}, "it would rub rather than cut", "step_over"),
        ({"sneak": SneakWish(4.1)}, "undersize 4.100 mm leaves 5.900 mm", "undersize"),
        ({"step_depth": 1e-5}, "passes, expected at most 10000", "step_depth"),
    ],
)
def test_slots_that_are_refused(more: dict[str, object], message: str, key: str) -> None:
    with pytest.raises(InputError, match=message) as told:
        plan_slot(replace(PLAIN, **more))  # type: ignore[arg-type]
    assert told.value.key == key
    assert plan_slot(replace(PLAIN, sneak=SneakWish(4.0, 1))).sneak[0].size == pytest.approx(6.0)


def test_where_the_cut_begins_and_how_it_gets_down() -> None:
    """At the open end if there is one, outside without a board; blind by a ramp of two diameters, or as wished."""

    def first(request: SlotRequest) -> tuple[str, tuple[float, float], float]:
        move = next(m for m in plan_slot(request).path.moves() if m.z_end < 0.0)
        return move.kind.value, (round(move.start[0], 6), round(move.start[1], 6)), round(move.z_end, 6)

    blind = plan_slot(PLAIN)
    moves = [m for m in blind.path.moves() if m.z_end < m.z_start and m.curve is not None]
    assert moves[0].curve is not None
    assert min(m.start[0] for m in moves) == 10.0
    assert max(m.at[0] for m in moves) == pytest.approx(22.0)  # 2 diameters
    assert first(replace(OPEN, spoil_board=False)) == ("descend", (-4.0, 20.0), -4.0)
    at_end = replace(OPEN, spoil_board=False, ends=(BlindEnd("axis"), OpenEnd()))
    assert first(at_end) == ("descend", (104.0, 20.0), -4.0)
    both = replace(OPEN, spoil_board=False, ends=(OpenEnd(), OpenEnd()))
    assert first(both) == ("descend", (-4.0, 20.0), -4.0)
    assert first(replace(PLAIN, entry=Entry.PLUNGE)) == ("entry", (10.0, 20.0), -4.0)
    drilled = plan_slot(replace(PLAIN, entry=Entry.DRILLED_HOLE))
    assert drilled.entry_holes == (EntryHole((10.0, 20.0), 6.0),)
    hole = plan_slot(replace(PLAIN, entry_hole=EntryHole((10.0, 20.0), 6.5)))
    assert first(replace(PLAIN, entry_hole=EntryHole((10.0, 20.0), 6.5)))[0] == "descend"
    assert hole.proof.proved
    with pytest.raises(
        InputError, match=r"its entry hole at X 12.000 Y 20.000 mm does not lie where the cut begins, X 10"
    ) as told:
        plan_slot(replace(PLAIN, entry_hole=EntryHole((12.0, 20.0), 6.5)))
    assert told.value.key == "entry"


@pytest.mark.parametrize("direction", list(Direction))
@pytest.mark.parametrize("angle_deg", [90.0, 210.0])
def test_a_turned_slot_is_cut_by_turned_moves(direction: Direction, angle_deg: float) -> None:
    turn = math.radians(angle_deg)
    c, s = math.cos(turn), math.sin(turn)

    def turned(p: Point) -> Point:
        return (p[0] * c - p[1] * s + 3.0, p[0] * s + p[1] * c - 8.0)

    request = replace(PLAIN, direction=direction, step_over=1.5, finish=0.2)
    other = replace(request, centre_line=(Segment(turned((10.0, 20.0)), turned((90.0, 20.0))),))
    a, b = tuple(plan_slot(request).path.moves()), tuple(plan_slot(other).path.moves())
    assert len(a) == len(b)
    for one, two in zip(a, b, strict=True):
        assert (two.kind, two.z_start, two.z_end) == (one.kind, one.z_start, one.z_end)
        assert two.at == pytest.approx(turned(one.at), abs=1e-6)
        assert two.feed_factor == pytest.approx(one.feed_factor, abs=1e-4)


def test_a_slot_in_inches_is_the_same_slot() -> None:
    """Everything 25.4 times as large: every cut is 25.4 times as long and lies 25.4 times as far out."""
    k = 25.4
    large = replace(
        PLAIN,
        centre_line=(Segment((10.0 * k, 20.0 * k), (90.0 * k, 20.0 * k)),),
        width=10.0 * k,
        depth=4.0 * k,
        step_depth=4.0 * k,
        cutter=MillingCutter("six", 6.0 * k, centre_cutting=True),
    )
    a, b = (
        [m for m in plan_slot(request).path.moves() if m.kind in (MoveKind.CUT, MoveKind.FINISH)]
        for request in (PLAIN, large)
    )
    assert len(a) > 4
    assert [v * k for m in a for v in (*m.at, m.z_end, m.length)] == pytest.approx(
        [v for m in b for v in (*m.at, m.z_end, m.length)], abs=1e-6
    )


def test_what_a_slot_keeps_when_nothing_is_said() -> None:
    plain = SlotRequest("s", LINE, 10.0, 4.0, SIX)
    assert plain.ends == (BlindEnd(), BlindEnd())
    assert (plain.through, plain.finish, plain.ramp_deg, plain.engagement_ratio) == (False, 0.0, 3.0, 1.25)
    assert (plain.clearance_z, plain.spoil_board, plain.direction) == (5.0, True, Direction.CONVENTIONAL)
    assert Bar("b", 1.0, 0.1).square_ends
    for bad in (-0.1, math.nan, math.inf):
        with pytest.raises(InputError, match=f"run-out {bad} mm: expected a length of 0 or more"):
            OpenEnd(bad)
    assert OpenEnd(0.0).run_out == 0.0
    with pytest.raises(InputError, match='blind end measured to "tip": expected "bar", "axis" or "arc"'):
        BlindEnd("tip")


def test_middle_and_inner_passes_rough_and_the_walls_finish() -> None:
    """14 wide: the centre has 4 mm to each side; passes in the middle, at 2 mm and along the walls."""
    moves = plan_slot(replace(PLAIN, width=14.0, step_over=2.0)).path.moves()
    beside: dict[str, set[float]] = {}
    for m in moves:
        if m.curve is not None and m.curve.length > 60.0 and m.z_end == m.z_start == -4.0:
            beside.setdefault(m.kind.value, set()).add(round(abs(m.at[1] - 20.0), 6))
    assert beside == {"cut": {0.0, 2.0}, "finish": {4.0}}


def test_detours_of_a_slot_that_bends_sharply_are_told() -> None:
    def notes(turn_deg: float) -> tuple[str, ...]:
        a = math.radians(turn_deg)
        end = (60.0 + 60.0 * math.cos(a), 60.0 * math.sin(a))
        line = (Segment((0.0, 0.0), (60.0, 0.0)), Segment((60.0, 0.0), end))
        plan = plan_slot(replace(PLAIN, centre_line=line, width=20.0, step_over=5.7))
        assert plan.proof.proved
        return plan.notes

    assert notes(120.0) == ("1 detour(s) added where the step-over leaves material between the passes",)
    assert notes(90.0) == ()


def test_each_clean_up_begins_beside_the_stage_before() -> None:
    """Down where the stage before has cut, and 0.1 mm over to its own loop: sides of 2 less 0.3, 0.2, 0.1, 0."""
    plan = plan_slot(replace(PLAIN, sneak=SneakWish(0.6, 3)))
    for stage, left in zip(plan.sneak[1:], (0.2, 0.1, 0.0), strict=True):
        moves = tuple(stage.path.moves())
        assert moves[0].kind is MoveKind.DESCEND
        assert [abs(v) for v in (moves[0].at[0] - 50.0, moves[0].at[1] - 20.0)] == pytest.approx(
            [39.9 - left, 1.9 - left]
        )
        assert moves[1].length == pytest.approx(0.1)
        loop = [m for m in moves if m.kind is MoveKind.FINISH]
        assert sum(m.length for m in loop) == pytest.approx(2 * (80.0 - 2 * left) + 2 * (4.0 - 2 * left))
        assert max(abs(m.at[1] - 20.0) for m in loop) == pytest.approx(2.0 - left)
