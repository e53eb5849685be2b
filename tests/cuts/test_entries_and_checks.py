"""Entries, chains of holes, heights, sums and shapes that are refused: by hand, and on both sides of each limit."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from holecam.cuts.chain_drilling import (
    ONE_ROW,
    SHARP,
    _between_corners,
    _evenly,
    _turn,
    chain_drilled,
    chain_drilled_slot,
)
from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Direction, Entry, EntryHole, SneakWish
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import (
    BREAK_THROUGH,
    MOST_STEPS_DOWN,
    MOST_STROKES,
    QUICK_FEED,
    checked_length,
    checked_step_over,
    cutting_steps,
    heights_down,
    path_minutes,
)
from holecam.cuts.entry_choice import EntryChooser, _longest, _within, helix_end
from holecam.cuts.level_layout import HelixEntry, RampEntry, StraightEntry
from holecam.cuts.offsets import OffsetStack, neighbourhood
from holecam.cuts.path_values import CutPath, LevelPath, MoveKind, along, upright
from holecam.cuts.region_checks import TOUCHING, check_chain, check_islands, check_outline, island_label
from holecam.cuts.sneaking_up import Stage, check_undersize, measure_words, rule_words, stages
from holecam.cuts.walls import WallChain, Walls, chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Outline, Point, Segment, circle_outline, outline_through, rectangle
from holecam.standards.materials import material
from holecam.standards.milling_depths import milling_depths

SIX = MillingCutter("six", 6.0, centre_cutting=True)
BLUNT = replace(SIX, centre_cutting=False)

# Entries


def room(width: float, height: float = 20.0) -> tuple[Walls, Loop]:
    """Return the walls of a rectangle from 0, and the loop of a cutter of 6 mm in it."""
    walls = walls_of(chains_of_region(rectangle(0.0, 0.0, width, height), ()))
    (loop,) = OffsetStack(walls).at(3.0).loops
    return walls, loop


def chooser(walls: Walls, wish: Entry | None = None, **more: object) -> EntryChooser:
    return EntryChooser(walls, more.pop("cutter", SIX), more.pop("direction", Direction.CLIMB), wish, **more)  # type: ignore[arg-type]


def middle_of(entry: object) -> tuple[float, float, float, bool]:
    assert isinstance(entry, HelixEntry)
    return (round(entry.center[0], 6), round(entry.center[1], 6), round(entry.radius, 6), entry.ccw)


def test_a_helix_where_the_room_is_widest() -> None:
    """20 by 20: in the middle 7 mm of room for the centre; 0.45 of the diameter is enough. 8 by 8: 1 mm."""
    walls, loop = room(20.0)
    for direction, ccw in ((Direction.CLIMB, True), (Direction.CONVENTIONAL, False)):
        entry, start = chooser(walls, direction=direction).choose(loop.curves, 3.0, loop)
        assert middle_of(entry) == (10.0, 10.0, 2.7, ccw)
        assert start == pytest.approx((10.0, 10.0))
    walls, loop = room(8.0, 8.0)
    assert middle_of(chooser(walls).choose(loop.curves, 3.0, loop)[0]) == (4.0, 4.0, 1.0, True)


@pytest.mark.parametrize(("height", "helix"), [(7.22, True), (7.18, False)])
def test_a_helix_has_a_tenth_of_the_diameter_at_least(height: float, helix: bool) -> None:
    walls, loop = room(40.0, height)
    entry, start = chooser(walls).choose(loop.curves, 3.0, loop)
    if helix:
        assert isinstance(entry, HelixEntry)
        assert entry.radius == pytest.approx(0.61)
        chooser(walls, Entry.HELIX).choose(loop.curves, 3.0, loop)
    else:
        assert entry == RampEntry(12.0)
        assert start in {c.start for c in loop.curves if c.length > 30.0}
        with pytest.raises(
            InputError, match=r"entry by helix: only 0\.590 mm of room round .* Y 3.590 mm, and a helix needs 0\.600"
        ):
            chooser(walls, Entry.HELIX).choose(loop.curves, 3.0, loop)


def test_a_helix_at_a_wished_place_or_none() -> None:
    walls, loop = room(20.0)
    entry, start = chooser(walls, at=(8.0, 5.0)).choose(loop.curves, 3.0, loop)
    assert (entry, start) == (HelixEntry((8.0, 5.0), pytest.approx(2.0), True), (8.0, 5.0))  # type: ignore[arg-type]
    # A place outside the room does not count; a wall with a margin of its own is that much nearer
    assert chooser(walls, at=(2.0, 5.0)).choose(loop.curves, 3.0, loop)[1] == pytest.approx((10.0, 10.0))
    _, loop = room(40.0)
    kept = walls_of(
        [
            *chains_of_region(rectangle(0.0, 0.0, 40.0, 20.0), ()),
            WallChain((Segment((50.0, 0.0), (50.0, 20.0)),), 30.0, closed=False),
        ]
    )
    assert chooser(kept, at=(24.5, 10.0)).choose(loop.curves, 3.0, loop)[0] == RampEntry(12.0)  # 25.5 - 30 - 3
    near = chooser(kept, at=(16.0, 10.0)).choose(loop.curves, 3.0, loop)[0]
    assert isinstance(near, HelixEntry)
    assert near.radius == pytest.approx(1.0)
    # Of the places looked at, that which has most room beside all of them
    deepest = chooser(kept)._deepest(loop, 3.0)
    grid = [(3.0 + 34.0 * i / 8, 3.0 + 14.0 * j / 8) for i in range(1, 8) for j in range(1, 8)]

    def free(p: Point) -> float:
        return min(p[0], p[1], 20.0 - p[1], 50.0 - p[0] - 30.0)

    assert deepest[1] == pytest.approx(max(free(p) for p in grid))
    assert free(deepest[0]) == pytest.approx(deepest[1])


def test_wished_entries() -> None:
    walls, loop = room(20.0)
    first = loop.curves[0].start
    assert chooser(walls, Entry.RAMP).choose(loop.curves, 3.0, loop)[0] == RampEntry(12.0)
    assert chooser(walls, Entry.PLUNGE).choose(loop.curves, 3.0, loop) == (StraightEntry(first), first)
    assert chooser(walls, Entry.PLUNGE, at=(9.0, 9.0)).choose(loop.curves, 3.0, loop)[0] == StraightEntry((9.0, 9.0))
    assert chooser(walls, Entry.PLUNGE, at=(1.0, 9.0)).choose(loop.curves, 3.0, loop)[0] == StraightEntry(first)
    drilled, start = chooser(walls, Entry.DRILLED_HOLE).choose(loop.curves, 3.0, loop)
    assert drilled == StraightEntry(start, 6.0, free=True)
    assert start == pytest.approx((10.0, 10.0))
    with pytest.raises(InputError, match='cutter "six" may not plunge') as told:
        chooser(walls, Entry.PLUNGE, cutter=BLUNT).choose(loop.curves, 3.0, loop)
    assert told.value.key == "entry"
    for call in (lambda c: c.choose_at((20.0, 10.0), 5.0), lambda c: c.choose_on(Segment((9.0, 9.0), (19.0, 9.0)))):
        with pytest.raises(InputError, match="may not plunge"):
            call(chooser(walls, Entry.PLUNGE, cutter=BLUNT))


@pytest.mark.parametrize(("diameter", "free"), [(5.0, False), (6.0, True), (8.0, True)])
def test_a_hole_that_is_there_is_used(diameter: float, free: bool) -> None:
    walls, loop = room(40.0)
    hole = EntryHole((9.0, 9.0), diameter)
    entry = StraightEntry((9.0, 9.0), diameter, free)
    there = chooser(walls, hole=hole)
    assert there.choose(loop.curves, 3.0, loop) == (entry, (9.0, 9.0))
    assert there.choose_at((10.0, 9.0), 1.0) == (entry, (10.0, 9.0))
    assert isinstance(there.choose_at((10.0, 9.0), 0.99)[0], HelixEntry)
    assert there.choose_on(Segment((9.0, 9.0), (19.0, 9.0))) == entry
    on_edge = chooser(walls, hole=EntryHole((3.0, 9.0), diameter)).choose(loop.curves, 3.0, loop)
    assert on_edge[1] == (3.0, 9.0)
    outside = chooser(walls, hole=EntryHole((2.9, 9.0), diameter)).choose(loop.curves, 3.0, loop)
    assert isinstance(outside[0], HelixEntry)
    if not free:
        blunt = chooser(walls, hole=hole, cutter=BLUNT)
        for call in (
            lambda: blunt.choose(loop.curves, 3.0, loop),
            lambda: blunt.choose_at((9.0, 9.0), 1.0),
            lambda: blunt.choose_on(Segment((9.0, 9.0), (19.0, 9.0))),
        ):
            with pytest.raises(InputError, match=r"entry hole of 5.0 mm: narrower than the cutter, 6.0 mm") as told:
                call()
            assert told.value.key == "entry"
    else:
        assert chooser(walls, hole=hole, cutter=BLUNT).choose(loop.curves, 3.0, loop)[0] == entry


@pytest.mark.parametrize(
    ("wish", "size", "entry"),
    [
        (None, 5.0, HelixEntry((9.0, 9.0), 2.7, True)),
        (None, 2.0, HelixEntry((9.0, 9.0), 2.0, True)),
        (None, 0.61, HelixEntry((9.0, 9.0), 0.61, True)),
        (None, 0.59, RampEntry(0.59)),
        (Entry.RAMP, 5.0, RampEntry(5.0)),
        (Entry.RAMP, 15.0, RampEntry(12.0)),
        (Entry.PLUNGE, 5.0, StraightEntry((9.0, 9.0))),
        (Entry.DRILLED_HOLE, 5.0, StraightEntry((9.0, 9.0), 6.0, free=True)),
    ],
)
def test_entry_in_a_round_opening(wish: Entry | None, size: float, entry: object) -> None:
    walls, _ = room(40.0)
    found, start = chooser(walls, wish).choose_at((9.0, 9.0), size)
    assert start == (9.0, 9.0)
    if isinstance(entry, HelixEntry):
        assert isinstance(found, HelixEntry)
        assert (found.center, found.radius, found.ccw) == (entry.center, pytest.approx(entry.radius), entry.ccw)
        turned = chooser(walls, wish, direction=Direction.CONVENTIONAL).choose_at((9.0, 9.0), size)[0]
        assert isinstance(turned, HelixEntry)
        assert not turned.ccw
    else:
        assert found == entry


def test_entry_on_a_row() -> None:
    walls, _ = room(40.0)
    row = Segment((4.0, 5.0), (12.0, 5.0))
    assert chooser(walls).choose_on(row) == RampEntry(8.0)
    assert chooser(walls).choose_on(Segment((4.0, 5.0), (30.0, 5.0))) == RampEntry(12.0)
    assert chooser(walls, Entry.PLUNGE).choose_on(row) == StraightEntry((4.0, 5.0))
    assert chooser(walls, Entry.DRILLED_HOLE).choose_on(row) == StraightEntry((8.0, 5.0), 6.0, free=True)
    helix = chooser(walls, Entry.HELIX).choose_on(row)
    assert isinstance(helix, HelixEntry)
    assert (helix.center, helix.radius, helix.ccw) == ((8.0, 5.0), pytest.approx(2.0), True)
    back = chooser(walls, Entry.HELIX, direction=Direction.CONVENTIONAL).choose_on(Segment((4.0, 7.0), (16.0, 7.0)))
    assert isinstance(back, HelixEntry)
    assert (back.radius, back.ccw) == (pytest.approx(2.7), False)
    assert chooser(walls, Entry.HELIX).choose_on(Segment((4.0, 3.59), (16.0, 3.59))) == RampEntry(12.0)
    least = chooser(walls, Entry.HELIX).choose_on(Segment((4.0, 3.61), (16.0, 3.61)))
    assert isinstance(least, HelixEntry)


def test_entry_where_no_step_leads() -> None:
    walls, _ = room(40.0)
    row = (Segment((4.0, 5.0), (9.0, 5.0)), Segment((9.0, 5.0), (9.0, 8.0)))
    assert chooser(walls).last_resort(row) == RampEntry(8.0)
    assert chooser(walls, Entry.PLUNGE).last_resort(row) == StraightEntry((4.0, 5.0))
    assert chooser(walls, Entry.DRILLED_HOLE).last_resort(row) == StraightEntry((4.0, 5.0), 6.0, free=True)


def test_lead_from_an_entry_to_its_loop() -> None:
    walls, _ = room(40.0)
    helix = HelixEntry((5.0, 5.0), 2.0, True)
    assert helix_end(helix, (5.0, 9.0)) == pytest.approx((5.0, 7.0))
    assert helix_end(helix, (8.0, 1.0)) == pytest.approx((6.2, 3.4))
    assert helix_end(helix, (5.0, 5.0)) == (7.0, 5.0)
    assert helix_end(helix, (5.0, 5.0 + 1e-8)) == pytest.approx((5.0, 7.0))
    any_ = chooser(walls)
    lead = any_.lead(helix, (5.0, 9.0))
    assert lead is not None
    assert (lead.start, lead.end) == (pytest.approx((5.0, 7.0)), (5.0, 9.0))
    assert any_.lead(helix, (5.0, 7.0)) is None
    assert any_.lead(StraightEntry((1.0, 2.0)), (4.0, 2.0)) == Segment((1.0, 2.0), (4.0, 2.0))
    assert any_.lead(StraightEntry((1.0, 2.0)), (1.0, 2.0)) is None
    assert any_.lead(RampEntry(5.0), (1.0, 2.0)) is None
    assert (
        _longest((Segment((0.0, 0.0), (1.0, 0.0)), Segment((0.0, 0.0), (5.0, 0.0)), Segment((0.0, 0.0), (3.0, 0.0))))
        == 1
    )


def test_boxes_within_a_reach() -> None:
    """Unit squares at -3, -2, ... 4 along x and along y, round the box 0 to 1, within 1.5 of it."""
    at = np.arange(-3.0, 5.0)
    zero = np.zeros(8)
    assert _within((at, zero, at + 1.0, zero + 1.0), (0.0, 0.0, 1.0, 1.0), 1.5).tolist() == [1, 2, 3, 4, 5]
    assert _within((zero, at, zero + 1.0, at + 1.0), (0.0, 0.0, 1.0, 1.0), 1.5).tolist() == [1, 2, 3, 4, 5]


# Chains of holes


def test_holes_inside_a_rectangle_by_hand() -> None:
    """Drill 5, web 0.5, allowance 1 in 60 by 40: 53 by 33 for the centres; 9 steps of 5.889 and 6 of 5.5."""
    assert (ONE_ROW, SHARP) == (0.6, 0.2)
    table = chain_drilled(rectangle(0.0, 0.0, 60.0, 40.0), drill=5.0, web=0.5, allowance=1.0)
    expected = {(round(3.5 + 53.0 * k / 9, 6), y) for k in range(10) for y in (3.5, 36.5)}
    expected |= {(x, round(3.5 + 5.5 * k, 6)) for k in range(7) for x in (3.5, 56.5)}
    assert {(round(x, 6), round(y, 6)) for x, y in table.centres} == expected
    assert len(table.centres) == 30
    assert (table.drill, table.wished_web, table.wished_allowance) == (5.0, 0.5, 1.0)
    assert (table.least_web, table.greatest_web) == (pytest.approx(0.5), pytest.approx(53.0 / 9 - 5.0))
    assert table.least_allowance == pytest.approx(1.0)
    assert table.skipped == ()


def test_holes_that_come_too_near_are_skipped() -> None:
    """12 high: two rows 5 mm apart, less than 5.5: of 20 places those go that come too near to one before them."""
    table = chain_drilled(rectangle(0.0, 0.0, 60.0, 12.0), drill=5.0, web=0.5, allowance=1.0)
    assert len(table.centres) + len(table.skipped) == 2 * (9 + 1)
    for k, p in enumerate(table.centres):
        assert all(math.dist(p, q) >= 5.5 - 1e-9 for q in table.centres[:k])
    assert table.skipped
    assert all(min(math.dist(p, q) for q in table.centres) < 5.5 - 1e-9 for p in table.skipped)
    round_island = chain_drilled(
        rectangle(0.0, 0.0, 60.0, 60.0),
        drill=5.0,
        web=0.5,
        allowance=1.0,
        islands=[circle_outline(Circle((30.0, 30.0), 8.0))],
    )
    ring = [p for p in round_island.centres if abs(math.dist(p, (30.0, 30.0)) - 11.5) < 1e-6]
    # Chords of 5.5 on a radius of 11.5: twelve of 30 degrees are 5.953, thirteen of 27.69 only 5.504
    assert len(ring) == 13
    assert round_island.least_allowance == pytest.approx(1.0)


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf])
def test_lengths_of_a_chain_of_holes(bad: float) -> None:
    sizes = {"drill": 5.0, "web": 0.5, "allowance": 1.0}
    for what in sizes:
        with pytest.raises(
            InputError, match=f"chain drilling of line: {what} {bad} mm: expected a length of 0 or more"
        ):
            chain_drilled(rectangle(0.0, 0.0, 60.0, 40.0), **(sizes | {what: bad}))
    with pytest.raises(InputError, match=r"drill 0\.0 mm"):
        chain_drilled(rectangle(0.0, 0.0, 60.0, 40.0), drill=0.0, web=0.5, allowance=1.0)
    bare = chain_drilled(rectangle(0.0, 0.0, 60.0, 40.0), drill=5.0, web=0.0, allowance=0.0)
    assert (bare.least_allowance, bare.least_web) == (pytest.approx(0.0, abs=1e-9), pytest.approx(0.0, abs=1e-9))


def xs(points: tuple[Point, ...]) -> list[float]:
    return [x for x, _ in points]


def test_holes_along_the_axis_of_a_slot_by_hand() -> None:
    line: tuple[Curve, ...] = (Segment((0.0, 0.0), (40.0, 0.0)),)
    edge = neighbourhood([WallChain(line, closed=False)], 3.5)
    # Round ends: the whole line, 40 / 6.1: 6 steps
    table = chain_drilled_slot(line, edge, 7.0, drill=5.5, web=0.6, allowance=0.5)
    assert xs(table.centres) == pytest.approx([40.0 * k / 6 for k in range(7)])
    assert all(y == pytest.approx(0.0) for _, y in table.centres)
    assert (table.least_web, table.greatest_web) == (pytest.approx(40 / 6 - 5.5), pytest.approx(40 / 6 - 5.5))
    assert table.least_allowance == pytest.approx(0.75)
    # Flat ends: 3.25 from them, 33.5 / 6.1: 5 steps
    flat = [rectangle(0.0, -3.5, 40.0, 3.5)]
    table = chain_drilled_slot(line, flat, 7.0, drill=5.5, web=0.6, allowance=0.5)
    assert xs(table.centres) == pytest.approx([3.25 + 6.7 * k for k in range(6)])
    assert table.least_allowance == pytest.approx(0.5)
    # Room 6: from 3.6 on one row, below it a row along each side; at most 6
    one = chain_drilled_slot(line, flat, 7.0, drill=3.61, web=0.6, allowance=0.5)
    assert {round(y, 9) for _, y in one.centres} == {0.0}
    two = chain_drilled_slot(line, flat, 7.0, drill=3.59, web=0.6, allowance=0.5)
    assert max(abs(y) for _, y in two.centres) == pytest.approx(3.5 - 0.5 - 1.795)
    assert chain_drilled_slot(line, edge, 7.0, drill=6.0, web=0.6, allowance=0.5).least_allowance == pytest.approx(0.5)
    with pytest.raises(
        InputError, match=r"drill of 6\.010 mm with 0\.500 mm .* into 7\.000 mm; take one of at most 6\.000"
    ):
        chain_drilled_slot(line, edge, 7.0, drill=6.01, web=0.6, allowance=0.5)
    with pytest.raises(InputError, match=r"chain drilling of slot: it is too short for a drill of 5\.500 mm"):
        chain_drilled_slot(
            (Segment((0.0, 0.0), (6.0, 0.0)),), [rectangle(0.0, -3.5, 6.0, 3.5)], 7.0, drill=5.5, web=0.6, allowance=0.5
        )
    # Round an island the outer edge is the greater one
    ring = [circle_outline(Circle((0.0, 0.0), 30.0)), circle_outline(Circle((0.0, 0.0), 10.0))]
    table = chain_drilled_slot(line, ring[::-1], 20.0, drill=5.0, web=0.5, allowance=1.0)
    radii = {round(math.dist(p, (0.0, 0.0)), 6) for p in table.centres}
    assert radii == {26.5, 13.5}


def test_a_bent_line_has_a_hole_in_its_corner() -> None:
    line: tuple[Curve, ...] = (Segment((0.0, 0.0), (20.0, 0.0)), Segment((20.0, 0.0), (20.0, 13.0)))
    edge = neighbourhood([WallChain(line, closed=False)], 3.5)
    table = chain_drilled_slot(line, edge, 7.0, drill=5.5, web=0.6, allowance=0.5)
    assert table.centres == tuple(
        pytest.approx(p) for p in ((0.0, 0.0), (20.0 / 3, 0.0), (40.0 / 3, 0.0), (20.0, 0.0), (20.0, 6.5), (20.0, 13.0))
    )
    assert table.skipped == ()


def test_stretches_between_corners() -> None:
    square = rectangle(0.0, 0.0, 8.0, 4.0).curves
    assert _between_corners(square, closed=True) == [[square[(k + 1) % 4]] for k in range(4)]
    assert _between_corners(square, closed=False) == [[c] for c in square]
    smooth = rectangle(0.0, 0.0, 8.0, 4.0, corner_radius=1.0).curves
    assert _between_corners(smooth, closed=True) == [list(smooth)]
    assert _between_corners(smooth, closed=False) == [list(smooth)]
    # A drop has one corner: the whole ring from there round
    drop = (
        Segment((-3.0, 3.0), (0.0, 0.0)),
        Segment((0.0, 0.0), (3.0, 3.0)),
        Arc((3.0, 3.0), (-3.0, 3.0), (0.0, 6.0), ccw=True),
    )
    assert _between_corners(drop, closed=True) == [[drop[1], drop[2], drop[0]]]
    # Two rounded and two sharp corners
    tray = (*square[:2], *smooth[4:6])
    assert len(_between_corners(tray, closed=False)) == 3
    for turn, sharp in ((0.21, True), (-0.21, True), (0.19, False), (-0.19, False)):
        bent = (Segment((0.0, 0.0), (5.0, 0.0)), Segment((5.0, 0.0), (5.0 + math.cos(turn), math.sin(turn))))
        assert _turn(*bent) == pytest.approx(abs(turn))
        assert len(_between_corners(bent, closed=False)) == (2 if sharp else 1)


def test_places_evenly_along_a_stretch() -> None:
    stretch = (Segment((0.0, 0.0), (4.0, 0.0)), Segment((4.0, 0.0), (4.0, 5.0)))
    assert [v for p in _evenly(stretch, 9.0, 3) for v in p] == pytest.approx([0.0, 0.0, 3.0, 0.0, 4.0, 2.0, 4.0, 5.0])
    assert [v for p in _evenly(stretch, 9.0, 1) for v in p] == pytest.approx([0.0, 0.0, 4.0, 5.0])
    joint = (Segment((0.0, 0.0), (4.0, 0.0)), Segment((4.0, 0.0), (8.0, 0.0)))
    assert _evenly(joint, 8.0, 2)[1] == (4.0, 0.0)


# Heights and steps


@pytest.mark.parametrize(
    ("depth", "step", "count"), [(6.0, 2.0, 3), (6.0, 1.9999, 4), (6.0, 6.0, 1), (6.0, 9.0, 1), (6.0, 2.0 - 1e-10, 3)]
)
def test_heights_down_by_hand(depth: float, step: float, count: int) -> None:
    found = heights_down("cut", depth, step, stock_thickness=None, through=False)
    assert found == pytest.approx(tuple(-depth * k / count for k in range(1, count + 1)))


def test_heights_through_and_not_through() -> None:
    assert (BREAK_THROUGH, MOST_STEPS_DOWN, MOST_STROKES, QUICK_FEED) == (0.5, 10_000, 50_000, 1500.0)
    assert heights_down("cut", 9.0, 3.0, stock_thickness=5.5, through=True) == pytest.approx((-3.0, -6.0))
    assert heights_down("cut", 4.999, 5.0, stock_thickness=5.0, through=False) == (-4.999,)
    for depth in (5.0, 5.0 - 0.9e-9, 6.0):
        with pytest.raises(InputError, match=r"goes through the stock, 5\.000 mm") as told:
            heights_down("cut", depth, 5.0, stock_thickness=5.0, through=False)
        assert told.value.key == "depth"
    with pytest.raises(InputError, match="the thickness of the stock is needed") as told:
        heights_down("cut", 3.0, 3.0, stock_thickness=None, through=True)
    assert told.value.key == "through"
    assert len(heights_down("cut", 10.0, 0.001, stock_thickness=None, through=False)) == 10_000
    with pytest.raises(InputError, match=r"10\.001 mm would take 10001 passes, expected at most 10000") as told:
        heights_down("cut", 10.001, 0.001, stock_thickness=None, through=False)
    assert told.value.key == "step_depth"


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_depth_and_step_are_lengths(bad: float) -> None:
    with pytest.raises(InputError, match=f"cut: depth {bad} mm: expected a length above zero") as told:
        heights_down("cut", bad, 1.0, stock_thickness=None, through=False)
    assert told.value.key == "depth"
    with pytest.raises(InputError, match=f"cut: step-down {bad} mm: expected a length above zero"):
        heights_down("cut", 1.0, bad, stock_thickness=None, through=False)
    assert heights_down("cut", 0.5, 0.6, stock_thickness=None, through=False) == (-0.5,)
    with pytest.raises(InputError, match=f"step-over {bad} mm: .* such as 2.400 mm") as told:
        checked_step_over("cut", bad, 6.0)
    assert told.value.key == "step_over"


def test_step_over_between_a_twentieth_and_nearly_the_whole() -> None:
    for good in (0.3, 0.3 - 0.9e-9, 2.0, 5.7, 5.7 + 0.9e-9):
        assert checked_step_over("cut", good, 6.0) == good
    with pytest.raises(
        InputError, match=r"it would rub rather than cut. Give at least a twentieth .* 0.300 mm"
    ) as told:
        checked_step_over("cut", 0.3 - 1.1e-9, 6.0)
    assert told.value.key == "step_over"
    with pytest.raises(InputError, match=r"ridges would stay. Give at most 5.700 mm") as told:
        checked_step_over("cut", 5.7 + 1.1e-9, 6.0)
    assert told.value.key == "step_over"


def test_a_cut_of_fifty_thousand_lines_and_no_more() -> None:
    checked_length("cut", 5000, 10)
    with pytest.raises(InputError, match="5001 lines and arcs at each of 10 heights, expected at most 50000") as told:
        checked_length("cut", 5001, 10)
    assert told.value.key == "step_depth"


def test_minutes_of_a_path() -> None:
    moves = (
        upright(MoveKind.DESCEND, (0.0, 0.0), 5.0, -1.0),
        along(MoveKind.CUT, Segment((0.0, 0.0), (100.0, 0.0)), -1.0, feed_factor=0.5),
        upright(MoveKind.RETRACT, (100.0, 0.0), -1.0, 5.0),
        along(MoveKind.TRAVEL, Segment((100.0, 0.0), (100.0, 75.0)), 5.0),
    )
    path = CutPath("x", 6.0, (LevelPath(-1.0, 0.0, moves),), 5.0)
    assert path_minutes(path, 60.0) == pytest.approx(6 / 60 + 100 / 30 + 81 / 1500)
    assert path_minutes(path, 0.5, rapid=0.5) == pytest.approx(6 / 0.5 + 100 / 0.25 + 81 / 0.5)
    for feed, rapid in ((0.0, 1.0), (-1.0, 1.0), (1.0, 0.0), (1.0, -1.0), (math.nan, 1.0)):
        with pytest.raises(InputError, match=f"feeds {feed} and {rapid} mm/min: expected both above zero"):
            path_minutes(path, feed, rapid=rapid)


def test_where_to_begin_in_wood_and_metal() -> None:
    for name in ("brass", "beech"):
        stuff = material(name)
        depths = milling_depths(stuff, diameter=6.0, set_up="light")
        buried, beside = cutting_steps(stuff, SIX), cutting_steps(stuff, SIX, buried=False)
        assert (buried.step_depth, beside.step_depth) == (depths.slot, depths.side)
        assert (buried.step_over, buried.finish) == (depths.stepover, depths.finish)
        assert buried.source.startswith(f"depths: {depths.source}; ")
        assert buried.feed == pytest.approx(buried.rpm * buried.chip * 2)
        hard = cutting_steps(stuff, replace(SIX, carbide=True))
        assert hard.rpm > buried.rpm
        four = cutting_steps(stuff, replace(SIX, teeth=4))
        assert any("4 teeth" in note for note in four.notes) is (name == "beech")
        assert not any("teeth: take" in note for note in buried.notes)
        rigid = cutting_steps(stuff, SIX, set_up="rigid")
        assert rigid.step_depth == milling_depths(stuff, diameter=6.0, set_up="rigid").slot
        # Flutes as long as the step-down are long enough
        equal = cutting_steps(stuff, replace(SIX, flute_length=buried.step_depth))
        assert (equal.step_depth, equal.notes) == (buried.step_depth, buried.notes)
        short = cutting_steps(stuff, replace(SIX, flute_length=buried.step_depth - 0.01))
        assert short.step_depth == buried.step_depth - 0.01
        assert short.notes[-1].startswith("step-down held to the flutes")
    wood = material("beech")
    assert cutting_steps(wood, SIX, slowest_rpm=900.0, fastest_rpm=1200.0).rpm == 1200
    deep, shallow = cutting_steps(wood, SIX, set_up="rigid"), cutting_steps(wood, SIX, set_up="weak")
    assert deep.chip <= shallow.chip


# Sneaking up


def test_stages_by_hand() -> None:
    found = stages(SneakWish(0.6, 3))
    assert [(s.number, s.last) for s in found] == [(0, False), (1, False), (2, False), (3, True)]
    assert [s.side_allowance for s in found] == pytest.approx([0.3, 0.2, 0.1, 0.0])
    assert stages(SneakWish(0.5, 1)) == (Stage(0, 0.25, False), Stage(1, 0.0, True))
    assert len(stages(SneakWish(0.5))) == 4
    check_undersize("slot", 4.0, 10.0, 6.0)
    check_undersize("slot", 4.0 + 0.9e-9, 10.0, 6.0)
    for undersize, most in ((4.0 + 1.1e-9, "4.000"), (5.0, "4.000")):
        with pytest.raises(InputError, match=f"Start at most {most} mm undersize") as told:
            check_undersize("slot", undersize, 10.0, 6.0)
        assert told.value.key == "undersize"
    with pytest.raises(InputError, match=r"leaves 4.000 mm, the cutter has 6.000 mm. Start at most 0.000 mm undersize"):
        check_undersize("slot", 1.0, 5.0, 6.0)
    assert measure_words("the slot", 9.8, 0.1, '"rail"') == (
        "Measure the width of the slot at both ends and in the middle with a calliper: 9.800 mm is meant; then try "
        '"rail" in it. Stop here when it fits.'
    )
    assert measure_words("the slot", 10.0, 0.0, "") == (
        "Measure the width of the slot at both ends and in the middle: 10.000 mm is wanted."
    )
    assert rule_words(10.0).startswith("next side offset = (10.000 - measured) / 2 on each side")


# Shapes that are refused


def shifted(outline: Outline, dx: float, dy: float) -> Outline:
    return outline_through([(c.start[0] + dx, c.start[1] + dy) for c in outline.curves])


def test_outlines_that_cross_touch_or_enclose_nothing() -> None:
    check_outline(rectangle(0.0, 0.0, 9.0, 9.0), "x")
    check_outline(circle_outline(Circle((0.0, 0.0), 5.0)), "x")
    with pytest.raises(InputError, match=r"x crosses itself at X 4\.500 Y 4\.500 mm, where its edges 1 and 3 meet"):
        check_outline(outline_through([(0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0)]), "x")
    # A tongue whose tip comes up to the first edge: a micron off it is free, half of it not
    for gap, free in ((1.1e-6, True), (0.9e-6, False)):
        tongue = outline_through(
            [(0.0, 0.0), (20.0, 0.0), (20.0, 9.0), (12.0, 9.0), (10.0, gap), (8.0, 9.0), (0.0, 9.0)]
        )
        if free:
            check_outline(tongue, "x")
        else:
            with pytest.raises(InputError, match=r"x crosses itself at X 10\.000 Y 0\.000 mm, where its edges 1 and"):
                check_outline(tongue, "x")
    with pytest.raises(InputError, match=r"x crosses itself|x: it encloses no area"):
        check_outline(outline_through([(0.0, 0.0), (9.0, 0.0), (4.0, 0.0)]), "x")
    assert TOUCHING == 1e-6


def test_arcs_that_meet_where_they_should_not() -> None:
    # A half circle under a line that cuts through it again
    bow = Outline(
        (
            Segment((0.0, 0.0), (20.0, 0.0)),
            Segment((20.0, 0.0), (20.0, 6.0)),
            Arc((20.0, 6.0), (0.0, 6.0), (10.0, 6.0), ccw=False),
            Segment((0.0, 6.0), (0.0, 0.0)),
        )
    )
    with pytest.raises(InputError, match=r"x crosses itself at X \d+\.\d+ Y 0\.000 mm, where its edges 1 and 3 meet"):
        check_outline(bow, "x")
    high = Outline(
        (
            Segment((0.0, -6.0), (20.0, -6.0)),
            Segment((20.0, -6.0), (20.0, 6.0)),
            Arc((20.0, 6.0), (0.0, 6.0), (10.0, 6.0), ccw=False),
            Segment((0.0, 6.0), (0.0, -6.0)),
        )
    )
    check_outline(high, "x")


WALL = rectangle(0.0, 0.0, 40.0, 30.0)
BOX = rectangle(0.0, 0.0, 6.0, 6.0)


@pytest.mark.parametrize(
    ("dx", "dy", "message"),
    [
        (10.0, 10.0, None),
        (1.5e-6, 10.0, None),
        (0.5e-6, 10.0, r'island "post" of bed touches its wall at X 0\.000 Y'),
        (34.0, 10.0, r'island "post" of bed touches its wall at X 40\.000 Y'),
        (10.0, 24.0 - 0.5e-6, r"touches its wall at X .* Y 30\.000 mm"),
        (-3.0, 10.0, r"touches its wall"),
        (50.0, 10.0, r'island "post" of bed lies outside it, at X 50\.000 Y 10\.000 mm; move it inside'),
        (17.0, 20.0, r'island 1 and island "post" of bed overlap or touch at X'),
        (15.0 + 1.5e-6, 20.0 - 10.0, None),
        (20.0 - 6.0 - 0.5e-6, 21.0, r"overlap or touch at X 20\.000 Y"),
    ],
)
def test_islands_that_touch(dx: float, dy: float, message: str | None) -> None:
    first = rectangle(20.0, 20.0, 28.0, 28.0)
    second = shifted(BOX, dx, dy)
    if message is None:
        check_islands(WALL, (first, second), "bed", ("", "post"))
    else:
        with pytest.raises(InputError, match=message):
            check_islands(WALL, (first, second), "bed", ("", "post"))


def test_an_island_within_another_is_refused_either_way() -> None:
    outer, inner = rectangle(10.0, 10.0, 30.0, 25.0), rectangle(15.0, 15.0, 20.0, 20.0)
    for islands in ((outer, inner), (inner, outer)):
        with pytest.raises(
            InputError, match=r"island 1 and island 2 of bed overlap or touch at X .* give them as one island"
        ):
            check_islands(WALL, islands, "bed")
    crossing = outline_through([(5.0, 5.0), (9.0, 9.0), (9.0, 5.0), (5.0, 9.0)])
    with pytest.raises(InputError, match=r"island 1 of bed crosses itself at X 7\.000 Y 7\.000"):
        check_islands(WALL, (crossing,), "bed")
    assert [island_label(("", "b"), k) for k in range(3)] == ["island 1", 'island "b"', "island 3"]


def test_chains_with_gaps_or_crossings() -> None:
    first = Segment((0.0, 0.0), (10.0, 0.0))
    for gap, free in ((0.9e-6, True), (1.1e-6, False)):
        chain = (first, Segment((10.0, gap), (10.0, 9.0)))
        if free:
            check_chain(chain, "line")
        else:
            with pytest.raises(InputError, match=r"line: a gap between \(10.0, 0.0\) and .*, pieces 1 and 2; close it"):
                check_chain(chain, "line")
    with pytest.raises(InputError, match="pieces 2 and 3; close it"):
        check_chain((first, Segment((10.0, 0.0), (10.0, 9.0)), Segment((11.0, 9.0), (20.0, 9.0))), "line")
    with pytest.raises(InputError, match="line: a piece without length"):
        check_chain((first, Segment((10.0, 0.0), (10.0 + 0.9e-6, 0.0))), "line")
    check_chain((first, Segment((10.0, 0.0), (10.0 + 3e-6, 0.0))), "line")
    with pytest.raises(InputError, match="line: expected at least one line or arc"):
        check_chain((), "line")
    loop = (first, Segment((10.0, 0.0), (10.0, 9.0)), Segment((10.0, 9.0), (4.0, -5.0)))
    with pytest.raises(InputError, match=r"line crosses itself at X 6\.143 Y 0\.000 mm, where its pieces 1 and 3 meet"):
        check_chain(loop, "line")
    # An arc and a line that meet beside their joint as well
    with pytest.raises(
        InputError, match=r"line crosses itself at X -?0\.000 Y 5\.000 mm, where its pieces 1 and 2 meet"
    ):
        check_chain((Arc((0.0, 5.0), (0.0, -5.0), (0.0, 0.0), ccw=False), Segment((0.0, -5.0), (0.0, 8.0))), "line")
    check_chain((Arc((0.0, 5.0), (0.0, -5.0), (0.0, 0.0), ccw=False), Segment((0.0, -5.0), (0.0, 4.9))), "line")
    # Many pieces, none of which meet, at any angle
    for angle in (0.0, 0.3, 1.2, 2.5):
        c, s = math.cos(angle), math.sin(angle)
        points = [(x * c - y * s, x * s + y * c) for x, y in ((0, 0), (9, 0), (9, 7), (2, 7), (2, 2), (7, 2), (7, 5))]
        check_chain(tuple(Segment(a, b) for a, b in pairwise(points)), "line")
        points.append((points[-1][0] + 3.0 * c, points[-1][1] + 3.0 * s))
        with pytest.raises(InputError, match=r"line crosses itself at .* where its pieces 2 and 7 meet"):
            check_chain(tuple(Segment(a, b) for a, b in pairwise(points)), "line")
