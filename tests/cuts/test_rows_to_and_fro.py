"""From one row to the next along a wall: the shorter way, without lifting, and only along one wall."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.cut_choices import Direction, Entry
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.level_layout import HelixEntry, LevelLayout, RampEntry, StraightEntry, StrokeKind
from holecam.cuts.offsets import Level, OffsetStack
from holecam.cuts.rows_to_and_fro import Row, _along_wall, _chains, _cut_wall, _reach, _rows, rows_layout
from holecam.cuts.run_builder import RunBuilder
from holecam.cuts.walls import Walls, chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Placement, Point, Segment, rectangle

WALL = rectangle(0, 0, 10, 6)
ISLAND = rectangle(3, 2, 7, 4)
ROUND = rectangle(20, 0, 40, 12, corner_radius=4)


def place(outline: Outline, way: float) -> Point:
    """Return the place this far along an outline, mm."""
    for curve in outline.curves:
        if way <= curve.length:
            return curve.point_at(way / curve.length)
        way -= curve.length
    return outline.curves[-1].end


def length(curves: list[Curve]) -> float:
    return math.fsum(c.length for c in curves)


def test_round_the_corner_by_hand() -> None:
    """2 mm from one end of a wall of 10 mm to 3 mm up the other: 8 + 3 mm, not the other way round, 2 + 6 + 10 + 3."""
    loops = [WALL.curves, ISLAND.curves]
    there = _along_wall(loops, (2.0, 0.0), (10.0, 3.0))
    assert there is not None
    assert [c.length for c in there] == pytest.approx([8.0, 3.0])
    back = _along_wall(loops, (10.0, 3.0), (2.0, 0.0))
    assert back is not None
    assert [c.length for c in back] == pytest.approx([3.0, 8.0])
    from_a_corner = _along_wall(loops, (0.0, 0.0), (0.0, 5.0))
    assert from_a_corner is not None
    assert length(from_a_corner) == pytest.approx(5.0)
    assert _along_wall(loops, (2.0, 0.0), (3.0, 3.0)) is None, "from the wall to the island there is no wall to follow"
    assert _along_wall(loops, (2.0, 0.0), (9.0, 3.0)) is None


@given(st.sampled_from([WALL, ISLAND, ROUND]), st.floats(0.0, 0.999), st.floats(0.0, 0.999))
def test_the_way_begins_and_ends_where_it_should_and_is_the_shorter_one(
    outline: Outline, first: float, second: float
) -> None:
    whole = math.fsum(c.length for c in outline.curves)
    apart = abs(first - second) * whole
    here, there = place(outline, first * whole), place(outline, second * whole)
    if min(apart, whole - apart) < 0.01:
        return
    way = _along_wall([WALL.curves, ISLAND.curves, ROUND.curves], here, there)
    assert way is not None
    assert way[0].start == pytest.approx(here, abs=2e-4)
    assert way[-1].end == pytest.approx(there, abs=2e-4)
    for before, after in itertools.pairwise(way):
        assert before.end == pytest.approx(after.start, abs=1e-9)
    assert length(way) == pytest.approx(min(apart, whole - apart), abs=5e-4)


def test_a_stub_at_the_end_of_the_way_is_left_out_below_a_ten_thousandth() -> None:
    """To a place a little past a corner, and to one a little before it: the corner itself, or a piece more."""
    for past, pieces in ((0.9e-4, 1), (1.1e-4, 2), (5e-3, 2)):
        way = _along_wall([WALL.curves], (2.0, 0.0), (10.0, past))
        assert way is not None
        assert len(way) == pieces
    for before, end in ((0.9e-4, 10.0), (1.1e-4, 10.0 - 1.1e-4), (5e-3, 10.0 - 5e-3)):
        way = _along_wall([WALL.curves], (2.0, 0.0), (10.0 - before, 0.0))
        assert way is not None
        assert way[-1].end[0] == pytest.approx(end, abs=1e-9)


# Rows


def rows_in(outline: Outline, step: float, lean: float = 0.0, islands: tuple[Outline, ...] = ()) -> list[Row]:
    walls = walls_of(chains_of_region(outline, islands))
    return _rows(walls, OffsetStack(walls).at(3.0), step, Placement(-lean))


def told(rows: list[Row]) -> list[tuple[int, float, float, float]]:
    return [(r.line, *(round(v, 6) + 0.0 for v in (r.low, r.high, r.y))) for r in rows]


def test_rows_divide_the_height_of_the_room_evenly() -> None:
    """The centre's room is 34 by 20 mm: steps of at most 6 mm are four of 5 mm, with three rows between the walls."""
    box = rectangle(0, 0, 40, 26)
    assert told(rows_in(box, 6.0)) == [(0, 3.0, 37.0, 8.0), (1, 3.0, 37.0, 13.0), (2, 3.0, 37.0, 18.0)]
    assert told(rows_in(box, 10.0)) == [(0, 3.0, 37.0, 13.0)], "two steps of 10 mm just fit"
    assert len(rows_in(box, 9.9999)) == 2
    assert rows_in(box, 20.0) == [], "the pass along the walls covers all"
    assert rows_in(rectangle(0, 0, 5, 5), 2.0) == []
    # Turned by a quarter they run along Y; the frame of the rows is turned with them
    upright = told(rows_in(box, 12.0, 90.0))
    assert upright == [(0, 3.0, 23.0, -25.666667), (1, 3.0, 23.0, -14.333333)]
    with pytest.raises(
        InputError, match=r"step-over 0\.0051 mm: 3922 rows, expected at most 2000; use a larger one"
    ) as e:
        rows_in(box, 0.0051)
    assert e.value.key == "step_over"
    assert len(rows_in(rectangle(0, 0, 9, 26), 0.010001)) == 1999


def test_rows_stop_before_an_island_and_its_corners() -> None:
    """Island from 15 to 22 and 9 to 15, kept by 3 mm; 2 mm above its upper corners that is sqrt(9 - 4) beside them."""
    found = told(rows_in(rectangle(0, 0, 40, 26), 7.0, islands=(rectangle(15, 9, 22, 15),)))
    beside = round(math.sqrt(5.0), 6)
    high, low = round(3.0 + 20.0 * 2 / 3, 6), round(3.0 + 20.0 / 3, 6)
    assert found == [
        (0, 3.0, 12.0, low), (0, 25.0, 37.0, low), (1, 3.0, round(15.0 - math.sqrt(9 - (high - 15) ** 2), 6), high),
        (1, round(22.0 + math.sqrt(9 - (high - 15) ** 2), 6), 37.0, high),
    ]  # fmt: skip
    exact = told(rows_in(rectangle(0, 0, 40, 31), 12.5, islands=(rectangle(15, 9, 22, 13.5),)))
    assert exact == [(0, 3.0, round(15.0 - beside, 6), 15.5), (0, round(22.0 + beside, 6), 37.0, 15.5)]


def test_rows_side_by_side_are_a_chain_until_one_has_two_neighbours() -> None:
    rows = [
        Row(0, 0.0, 30.0, 1.0), Row(1, 0.0, 30.0, 2.0),
        Row(2, 0.0, 10.0, 3.0), Row(2, 20.0, 30.0, 3.0),
        Row(3, 0.0, 10.0, 4.0), Row(3, 20.0, 30.0, 4.0),
        Row(4, 0.0, 30.0, 5.0), Row(6, 0.0, 30.0, 7.0),
    ]  # fmt: skip
    chains = _chains(rows)
    assert chains == [[rows[0], rows[1]], [rows[2], rows[4]], [rows[3], rows[5]], [rows[6]], [rows[7]]]
    touching = [Row(0, 0.0, 10.0, 1.0), Row(1, 10.0 - 0.9e-3, 20.0, 2.0)]
    assert len(_chains(touching)) == 2
    assert len(_chains([touching[0], Row(1, 10.0 - 1.1e-3, 20.0, 2.0)])) == 1
    assert len(_chains([Row(0, 10.0, 20.0, 1.0), Row(1, 0.0, 10.5, 2.0)])) == 1
    assert _chains([]) == []


OPEN = walls_of(chains_of_region(rectangle(-60, -60, 90, 90), ()))
WALLED = walls_of(chains_of_region(rectangle(-60, -60, 90, 90), (rectangle(14, 1, 16, 5),)))
SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)


def level_at(walls: Walls, distance: float) -> Level:
    return OffsetStack(walls).at(distance)


def test_from_row_to_row_straight_where_it_is_near_and_along_the_wall_where_it_is_not() -> None:
    """Six steps are the farthest: with a step of 2 mm a way of 12 mm is gone, one of 12.1 mm is not."""
    level = level_at(OPEN, 3.0)
    square = [rectangle(0, 0, 10, 10).curves]

    def builder_at(p: Point, walls: Walls = OPEN) -> RunBuilder:
        made = RunBuilder(walls)
        made.add([Segment((p[0] - 5.0, p[1]), p)], StrokeKind.CUT)
        return made

    for far, there in ((12.0, True), (12.1, False)):
        builder = builder_at((50.0, 50.0))
        assert _reach(builder, (50.0, 50.0 + far), level, square, 2.0) is there
        steps = builder.strokes[1:]
        assert [s.curve for s in steps] == ([Segment((50.0, 50.0), (50.0, 62.0))] if there else [])
    # An island between two places of one wall: 3 + 4 + 5 mm round the corners, six steps of 2 mm
    ring = [rectangle(10, -2, 20, 2).curves]
    for step, there in ((2.0, True), (1.99, False)):
        builder = builder_at((13.0, -2.0), WALLED)
        assert _reach(builder, (15.0, 2.0), level_at(WALLED, 3.0), ring, step) is there
        assert [s.curve.length for s in builder.strokes[1:]] == pytest.approx([3.0, 4.0, 5.0] if there else [])
        assert {s.kind for s in builder.strokes[1:]} <= {StrokeKind.STEP}


def planned(lean: float = 0.0, wish: Entry | None = None, direction: Direction = Direction.CLIMB) -> LevelLayout:
    walls = walls_of(chains_of_region(rectangle(0, 0, 40, 26), ()))
    level = OffsetStack(walls).at(3.0)
    return rows_layout(walls, level, level, 6.0, lean, direction, EntryChooser(walls, SIX, direction, wish))


def test_a_box_in_rows_by_hand() -> None:
    """Rows at 8, 13 and 18 mm, to and fro, along the wall between them, then once round from the end of the last."""
    for direction, round_the_wall in (
        (Direction.CLIMB, [(37, 23), (3, 23), (3, 3), (37, 3), (37, 18)]),
        (Direction.CONVENTIONAL, [(37, 3), (3, 3), (3, 23), (37, 23), (37, 18)]),
    ):
        (run,) = planned(direction=direction).runs
        places = [(37, 8), (37, 13), (3, 13), (3, 18), (37, 18), *round_the_wall]
        kinds = ["cut", "step", "cut", "step", "cut", *["finish"] * 5]
        assert run.strokes[0].curve.start == pytest.approx((3.0, 8.0))
        assert [(s.kind.value, s.curve.end) for s in run.strokes] == [
            (kind, pytest.approx(p, abs=1e-6)) for kind, p in zip(kinds, places, strict=True)
        ]
        assert run.entry == RampEntry(12.0)


def test_each_entry_gets_down_on_the_first_row() -> None:
    """A helix in the middle of the row leads to its start; a hole too; a plunge is there."""
    helix = planned(wish=Entry.HELIX).runs[0]
    assert helix.entry == HelixEntry((pytest.approx(20.0), pytest.approx(8.0)), 2.7, True)
    lead = helix.strokes[0]
    assert lead.kind is StrokeKind.STEP
    assert (lead.curve.start, lead.curve.end) == (pytest.approx((17.3, 8.0)), pytest.approx((3.0, 8.0)))
    drilled = planned(wish=Entry.DRILLED_HOLE).runs[0]
    assert drilled.entry == StraightEntry((pytest.approx(20.0), pytest.approx(8.0)), 6.0, True)
    assert drilled.strokes[0].curve.start == pytest.approx((20.0, 8.0))
    plunge = planned(wish=Entry.PLUNGE).runs[0]
    assert isinstance(plunge.entry, StraightEntry)
    assert [s.kind for s in plunge.strokes[:2]] == [StrokeKind.CUT, StrokeKind.STEP]


def test_rows_turned_by_an_angle_are_rows_turned() -> None:
    slanted = planned(30.0)
    ux, uy = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    rows = [s.curve for s in slanted.strokes() if s.kind is StrokeKind.CUT]
    assert len(rows) >= 4
    for k, row in enumerate(rows):
        (dx, dy) = row.tangent_at(0.0)
        assert dx * ux + dy * uy == pytest.approx(1.0 if k % 2 == 0 else -1.0)
    # Across: the room is 34 sin 30 + 20 cos 30 = 34.32 mm high, six steps of 5.72 mm
    heights = sorted({round(-r.start[0] * uy + r.start[1] * ux, 4) for r in rows})
    assert [b - a for a, b in itertools.pairwise(heights)] == pytest.approx([(17 + 20 * ux) / 6] * 4, abs=1e-3)


def wall_cut(here: Point | None, cut: list[tuple[Curve, ...]], walls: Walls = WALLED) -> RunBuilder:
    builder = RunBuilder(walls)
    if here is not None:
        builder.add([Segment((here[0] - 1.0, here[1]), here)], StrokeKind.CUT)
    _cut_wall(builder, rectangle(20, 0, 30, 8).curves, 3.0, cut, EntryChooser(walls, SIX, Direction.CLIMB))
    return builder


def test_to_the_pass_along_the_walls_straight_or_over_the_work_or_by_an_entry() -> None:
    straight = wall_cut((25.0, 4.0), [])
    assert len(straight.runs) == 0
    assert [(s.kind.value, s.curve.end) for s in straight.strokes[1:3]] == [("step", (25, 0)), ("finish", (30, 0))]
    # Behind the island: down at the end of a row that lies on the pass, or 1 mm from it, or on it where none is near
    on_it = wall_cut((9.0, 3.0), [(Segment((5.0, 3.0), (9.0, 3.0)),), (Segment((22.0, 3.0), (30.0, 3.0)),)])
    assert (len(on_it.runs), on_it.entry) == (1, None)
    assert [(s.kind.value, s.curve.start) for s in on_it.strokes[:1]] == [("finish", (30.0, 3.0))]
    near = wall_cut((9.0, 3.0), [(Segment((5.0, 3.0), (9.0, 3.0)),), (Segment((23.0, 3.0), (29.0, 3.0)),)])
    assert [(s.kind.value, s.curve.start, s.curve.end) for s in near.strokes[:2]] == [
        ("step", (29.0, 3.0), (30.0, 3.0)),
        ("finish", (30.0, 3.0), (30.0, 8.0)),
    ]
    behind = wall_cut((9.0, 3.0), [(Segment((5.0, 3.0), (9.0, 3.0)),)])
    assert behind.entry == RampEntry(12.0)
    assert [s.curve for s in behind.strokes] == list(rectangle(20, 0, 30, 8).curves)
    assert {s.kind for s in behind.strokes} == {StrokeKind.FINISH}
    nothing = wall_cut(None, [])
    assert (nothing.entry, len(nothing.strokes)) == (RampEntry(12.0), 4)
