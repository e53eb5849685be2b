"""Loops at growing distances: which lies in which, in what order they are cut, and how the cutter gets to each."""

from __future__ import annotations

import math

import pytest

from holecam.cuts import rings
from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Direction, Entry
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.entry_choice import EntryChooser
from holecam.cuts.level_layout import HelixEntry, RampEntry, StraightEntry, Stroke, StrokeKind
from holecam.cuts.offsets import Level, OffsetStack
from holecam.cuts.rings import (
    Cell,
    _nearest_places,
    _next_loop,
    _smallest_around,
    cells_of,
    cut_loop,
    inside_out,
    loops_layout,
    ring_layout,
    ring_levels,
)
from holecam.cuts.run_builder import RunBuilder
from holecam.cuts.walls import WallChain, Walls, chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point, Segment, outline_through, rectangle
from holecam.shapes.curve_arrays import ClosedArea

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
BOX = rectangle(0, 0, 24, 18)


def walls_round(outline: Outline, *islands: Outline) -> Walls:
    return walls_of(chains_of_region(outline, islands))


def loop_of(outline: Outline) -> Loop:
    length = math.fsum(c.length for c in outline.curves)
    return Loop(outline.curves, tuple(range(len(outline.curves))), outline.signed_area, length)


def chooser(walls: Walls, wish: Entry | None = None) -> EntryChooser:
    return EntryChooser(walls, SIX, Direction.CLIMB, wish)


# Levels


@pytest.mark.parametrize(("finish", "wanted"), [(0.0, [3.0, 5.4, 7.8]), (0.5, [3.0, 3.5, 5.9, 8.3]), (3.7, [3.0, 6.7])])
def test_levels_lie_a_step_apart_the_last_pass_by_its_allowance(finish: float, wanted: list[float]) -> None:
    """A box 18 mm high: the centre gets 9 mm from the walls at most."""
    told: list[tuple[str, float]] = []
    levels = ring_levels(walls_round(BOX), 3.0, 2.4, finish, lambda what, share: told.append((what, share)))
    assert [level.distance for level in levels] == pytest.approx(wanted)
    assert {what for what, _ in told} == {"loops parallel to the outline"}
    assert [share for _, share in told] == pytest.approx([1 / 2, 2 / 3, 3 / 4, 4 / 5][: len(wanted)])


def test_a_cutter_that_enters_nowhere_has_no_levels_and_a_tiny_step_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    assert ring_levels(walls_round(BOX), 9.5, 2.4, 0.0) == []
    monkeypatch.setattr(rings, "MOST_LEVELS", 3)
    assert len(ring_levels(walls_round(BOX), 3.0, 2.4, 0.0)) == 3
    with pytest.raises(InputError, match=r"step-over 1\.9 mm: more than 3 loops inside each other; use a larger one"):
        ring_levels(walls_round(BOX), 3.0, 1.9, 0.0)


# Which lies in which


DUMBBELL = outline_through(
    [(0, 0), (14, 0), (14, 4), (20, 4), (20, 0), (40, 0), (40, 16), (20, 16), (20, 11), (14, 11), (14, 16), (0, 16)]
)


def test_each_place_lies_in_one_of_the_level_before() -> None:
    """A neck 7 mm wide between chambers 16 mm high: one place at 3 mm, two at 3.6, and an island in the larger."""
    walls = walls_round(DUMBBELL, rectangle(29, 7.5, 31, 8.5))
    stack = OffsetStack(walls)
    cells = cells_of([stack.at(d) for d in (1.5, 3.0, 3.6, 3.7)])
    assert [(c.level, c.parent, len(c.inner)) for c in cells[0]] == [(0, -1, 1)]
    assert [(c.level, len(c.inner)) for c in sorted(cells[2], key=lambda c: c.outer.length)] == [(2, 0), (2, 1)]
    assert [len(level) for level in cells] == [1, 1, 2, 2]
    assert [c.parent for c in cells[1]] == [0]
    assert [c.parent for c in cells[2]] == [0, 0]
    for cell in cells[3]:
        left = cell.outer.outline().bounds[0]
        around = cells[2][cell.parent].outer.outline().bounds
        assert around[0] < left < around[2]
    order = inside_out(cells)
    assert order[-2:] == [(1, 0), (0, 0)]
    # Each chamber is done before the next is begun
    assert [number for number, _ in order] == [3, 2, 3, 2, 1, 0]
    for inner, outer in ((order[0], order[1]), (order[2], order[3])):
        assert cells[3][inner[1]].parent == outer[1]
    assert inside_out([]) == []


def test_the_smallest_loop_round_a_place_is_its_own() -> None:
    outlines = [rectangle(0, 0, 20, 20), rectangle(2, 2, 9, 9), rectangle(30, 0, 40, 9)]
    areas, loops = [ClosedArea(o) for o in outlines], [loop_of(o) for o in outlines]
    places = [(1.0, 1.0), (3.0, 3.0), (31.0, 1.0), (43.0, 4.0), (-1.0, 4.0), (10.0, 3.0)]
    assert _smallest_around(areas, loops, places) == [0, 1, 2, 2, 0, 0]
    assert _smallest_around(areas[::-1], loops[::-1], places) == [2, 1, 0, 0, 2, 2]
    assert _smallest_around(areas[:1], loops[:1], [(99.0, 0.0)]) == [0], "one loop needs no question"
    assert _smallest_around(areas, loops, []) == []


def test_the_next_loop_is_the_one_that_begins_nearest() -> None:
    near, far = loop_of(rectangle(0, 0, 4, 4)), loop_of(rectangle(20, 0, 24, 4))
    assert _next_loop([far, near], None) is far
    assert _next_loop([far, near], (6.0, 2.0)) is near
    assert _next_loop([near, far], (18.0, 2.0)) is far
    assert _next_loop([far], (0.0, 0.0)) is far


# Getting to a loop


def cut(
    builder: RunBuilder, outline: Outline, before: list[tuple[Curve, ...]], wish: Entry | None = None
) -> tuple[Curve, ...]:
    cell = Cell(0, loop_of(outline), (), -1)
    return cut_loop(builder, outline.curves, StrokeKind.CUT, 4.0, before, chooser(builder.walls, wish), cell)


def told(strokes: tuple[Stroke, ...] | list[Stroke]) -> list[tuple[str, Point, Point]]:
    return [(s.kind.value, s.curve.start, s.curve.end) for s in strokes]


WIDE = walls_round(rectangle(-50, -50, 50, 50), rectangle(18, -40, 20, 40))


def test_where_nothing_is_open_the_cutter_gets_down_first() -> None:
    builder = RunBuilder(WIDE)
    builder.add([Segment((0.0, 0.0), (1.0, 0.0))], StrokeKind.CUT)
    curves = cut(builder, rectangle(0, 0, 8, 8), [])
    builder.lift()
    first, second = builder.runs
    assert told(first.strokes) == [("cut", (0, 0), (1, 0))]
    assert isinstance(second.entry, HelixEntry)
    steps = told(second.strokes)
    assert steps[0][0] == "step"
    assert [kind for kind, _, _ in steps[1:]] == ["cut"] * len(curves)
    assert steps[0][2] == curves[0].start == curves[-1].end
    ramp = RunBuilder(WIDE)
    cut(ramp, rectangle(0, 0, 8, 9), [], Entry.RAMP)
    assert ramp.entry == RampEntry(12.0)
    assert told(ramp.strokes)[0] == ("cut", (8, 0), (8, 9)), "along the longest side first, no step to it"


def test_from_the_loop_before_it_steps_straight_where_no_wall_is_in_the_way() -> None:
    inner = rectangle(2, 2, 6, 6)
    builder = RunBuilder(WIDE)
    builder.add(inner.curves, StrokeKind.CUT)
    cut(builder, rectangle(0, 0, 8, 8), [inner.curves])
    assert told(builder.strokes[4:6]) == [("step", (2, 2), (2, 0)), ("cut", (2, 0), (8, 0))]
    assert len(builder.runs) == 0
    assert len(builder.strokes) == 4 + 1 + 5


def test_behind_a_wall_it_lifts_and_goes_down_at_the_nearest_place_that_is_open() -> None:
    """The cutter stands left of the island, the loop lies right of it: down where it is cut, 2 mm from the loop."""
    inner = rectangle(26, 2, 28, 6)
    builder = RunBuilder(WIDE)
    builder.add([Segment((0.0, 0.0), (10.0, 0.0))], StrokeKind.CUT)
    cut(builder, rectangle(24, 0, 30, 8), [(Segment((0.0, 0.0), (10.0, 0.0)),), inner.curves])
    assert len(builder.runs) == 1
    assert builder.entry is None
    assert told(builder.strokes[:2]) == [("step", (26, 2), (26, 0)), ("cut", (26, 0), (30, 0))]
    # A loop that begins on what is cut needs no step
    builder = RunBuilder(WIDE)
    builder.add([Segment((0.0, 0.0), (10.0, 0.0))], StrokeKind.CUT)
    cut(builder, rectangle(24, 0, 30, 8), [(Segment((24.0, 0.0), (27.0, 3.0)),)])
    assert told(builder.strokes[:1]) == [("cut", (24, 0), (30, 0))]


@pytest.mark.parametrize(
    ("wish", "entry"),
    [(None, RampEntry(12.0)), (Entry.PLUNGE, StraightEntry((24.0, 0.0))),
     (Entry.DRILLED_HOLE, StraightEntry((24.0, 0.0), 6.0, True))],
)  # fmt: skip
def test_where_no_step_leads_to_a_loop_it_gets_down_on_it(wish: Entry | None, entry: object) -> None:
    builder = RunBuilder(WIDE)
    builder.add([Segment((0.0, 0.0), (10.0, 0.0))], StrokeKind.CUT)
    outline = rectangle(24, 0, 30, 8)
    assert cut(builder, outline, [(Segment((0.0, 0.0), (10.0, 0.0)),)], wish) == outline.curves
    assert builder.entry == entry
    assert told(builder.strokes) == [("cut", c.start, c.end) for c in outline.curves]


def test_the_three_nearest_places_that_are_cut_already() -> None:
    curves = rectangle(0, 0, 10, 10).curves
    done: list[tuple[Curve, ...]] = [
        (Segment((-3.0, 0.0), (-3.0, -9.0)), Segment((-3.0, -9.0), (-9.0, -9.0))),
        (Segment((12.0, 10.0), (14.0, 10.0)),),
        (Segment((10.0, -1.0), (30.0, -1.0)),),
        (Segment((0.0, 15.0), (0.0, 25.0)),),
    ]
    assert _nearest_places(curves, done) == [(10.0, -1.0), (12.0, 10.0), (-3.0, 0.0)]
    assert _nearest_places(curves, done[3:]) == [(0.0, 15.0)], "one place is told once"


# Whole layouts


@pytest.mark.parametrize(("direction", "area"), [(Direction.CLIMB, 1.0), (Direction.CONVENTIONAL, -1.0)])
def test_loops_run_with_the_free_side_on_the_left_in_climb_milling(direction: Direction, area: float) -> None:
    walls = walls_round(BOX)
    levels = ring_levels(walls, 3.0, 2.4, 0.0)
    layout = ring_layout(walls, levels, direction, chooser(walls))
    finish = [s.curve for s in layout.strokes() if s.kind is StrokeKind.FINISH]
    assert Outline(tuple(finish)).signed_area == pytest.approx(area * 18 * 12)
    alone = loops_layout(walls, cells_of(levels[:1])[0], 3.0, direction, chooser(walls))
    assert {s.kind for s in alone.strokes() if s.kind is not StrokeKind.STEP} == {StrokeKind.FINISH}
    around = [s.curve for s in alone.strokes() if s.kind is StrokeKind.FINISH]
    assert Outline(tuple(around)).signed_area == pytest.approx(area * 18 * 12)
    assert isinstance(alone.runs[0].entry, HelixEntry)
    inside = [loop.curves for loop in levels[1].loops]
    opened = loops_layout(walls, cells_of(levels[:1])[0], 3.0, direction, chooser(walls), cut_before=inside)
    assert [run.entry for run in opened.runs] == [None]
    first = next(opened.strokes())
    assert first.kind is StrokeKind.STEP
    assert first.curve.length == pytest.approx(2.4)


def test_a_level_of_two_chambers_is_cut_chamber_by_chamber() -> None:
    walls = walls_round(DUMBBELL)
    levels: list[Level] = ring_levels(walls, 3.0, 2.4, 0.0)
    layout = ring_layout(walls, levels, Direction.CLIMB, chooser(walls))
    entries = [run.entry for run in layout.runs]
    assert sum(isinstance(e, HelixEntry) for e in entries) == 2
    kinds = [s.kind for s in layout.strokes()]
    first = kinds.index(StrokeKind.FINISH)
    assert StrokeKind.CUT not in kinds[first:], "the walls last"
    sides = [s.curve.start[0] > 17.0 for s in layout.strokes() if s.kind is StrokeKind.CUT]
    assert sides == sorted(sides) or sides == sorted(sides, reverse=True)


# Runs


def test_strokes_are_bridged_over_gaps_that_a_mill_would_jump() -> None:
    builder = RunBuilder(WIDE)
    builder.add([Segment((0.0, 0.0), (1.0, 0.0))], StrokeKind.CUT)
    builder.add([Segment((1.0, 0.9 * 1e-9), (2.0, 0.0))], StrokeKind.CUT)
    builder.add([Segment((2.0, 1.1 * 1e-9), (3.0, 0.0))], StrokeKind.FINISH)
    assert [s.kind.value for s in builder.strokes] == ["cut", "cut", "step", "finish"]
    assert builder.strokes[2].curve == Segment((2.0, 0.0), (2.0, 1.1 * 1e-9))
    builder.add([], StrokeKind.CUT)
    assert len(builder.strokes) == 4
    builder.start_open((9.0, 9.0))
    assert builder.here == (3.0, 0.0)
    builder.lift()
    assert builder.here is None
    builder.start_open((9.0, 9.0))
    assert builder.here == (9.0, 9.0)
    builder.add([Segment((9.5, 9.0), (12.0, 9.0))], StrokeKind.CUT)
    assert told(builder.strokes) == [("step", (9, 9), (9.5, 9)), ("cut", (9.5, 9), (12, 9))]
    layout = builder.layout()
    assert [len(run.strokes) for run in layout.runs] == [4, 2]
    assert builder.layout().runs == layout.runs, "a run without strokes is none"


def test_a_step_keeps_off_walls_corners_and_margins() -> None:
    """An island from x = 18 to 20; beside it 4 mm are kept to a millionth; a line kept by 1 mm more at y = 45."""
    walls = walls_of(
        [
            *chains_of_region(rectangle(-50, -50, 50, 50), (rectangle(18, -40, 20, 40),)),
            WallChain((Segment((-20.0, 30.0), (0.0, 30.0)),), 1.0, closed=False),
        ]
    )
    builder = RunBuilder(walls)

    def clear(a: Point, b: Point) -> bool:
        return builder.clear(Segment(a, b), 4.0)

    assert clear((14.0, 0.0), (14.0, 9.0))
    assert clear((14.0 + 0.9 * 1e-6, 0.0), (14.0, 9.0))
    assert not clear((14.0 + 1.1 * 1e-6, 0.0), (14.0, 9.0))
    assert not clear((10.0, 0.0), (26.0, 0.0))
    # Past the corner at (18, 40): 4 mm round it, square or not
    assert clear((10.0, 44.01), (17.9, 44.01))
    assert not clear((10.0, 43.99), (19.0, 43.99))
    assert clear((5.1, 30.0), (5.1, 31.0))
    assert not clear((4.9, 30.0), (4.9, 31.0))
    assert not clear((-10.0, 34.9), (-5.0, 34.9))
    assert clear((-10.0, 35.1), (-5.0, 35.1))


def test_a_step_to_where_the_cutter_is_needs_no_stroke() -> None:
    builder = RunBuilder(WIDE)
    assert not builder.step_to((0.0, 0.0), 3.0), "it is up"
    builder.add([Segment((0.0, 0.0), (1.0, 0.0))], StrokeKind.CUT)
    assert builder.step_to((1.0, 0.9 * 1e-6), 3.0)
    assert len(builder.strokes) == 1
    assert builder.step_to((1.0, 1.5 * 1e-6), 3.0)
    assert len(builder.strokes) == 2
    assert not builder.step_to((40.0, 0.0), 3.0)
    assert len(builder.strokes) == 2
