"""From strokes to moves with heights: entries, descents, lifts, feeds, levels and what entries open, move by move."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holecam.cuts.cut_choices import Corners, EntryHole
from holecam.cuts.elements import elements_of
from holecam.cuts.level_layout import HelixEntry, LevelLayout, RampEntry, Run, StraightEntry, Stroke, StrokeKind
from holecam.cuts.level_moves import (
    cut_path,
    entry_circles,
    entry_holes_of,
    level_path,
    open_places,
    swept_in_order,
    with_engagement,
)
from holecam.cuts.path_values import CutMove, MoveKind
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Point, Segment

SLOPE = math.degrees(math.atan(0.1))
"""A fall of 1 mm on 10."""


def stroke(a: Point, b: Point, kind: StrokeKind = StrokeKind.CUT, bite: float | None = 60.0) -> Stroke:
    return Stroke(Segment(a, b), kind, 0.5, bite)


def moves(run: Run, *, start: Point | None = None, z_above: float = 0.0, z: float = -1.0) -> list[CutMove]:
    path = level_path(LevelLayout((run,)), z_above=z_above, z=z, clearance_z=5.0, ramp_deg=SLOPE, start=start)
    assert (path.z, path.z_above) == (z, z_above)
    return list(path.moves)


def told(move: CutMove) -> tuple[str, Point, Point, float, float, float]:
    return (
        move.kind.value,
        move.start,
        move.at,
        pytest.approx(move.z_start, abs=1e-9),
        pytest.approx(move.z_end, abs=1e-9),
        pytest.approx(move.feed_factor),
    )


def test_a_run_in_the_open_goes_down_cuts_and_lifts() -> None:
    run = Run((stroke((1, 2), (4, 2)), stroke((4, 2), (4, 6), StrokeKind.FINISH)))
    assert [told(m) for m in moves(run, start=(9.0, 9.0))] == [
        ("travel", (9, 9), (1, 2), 5.0, 5.0, 1.0),
        ("descend", (1, 2), (1, 2), 5.0, -1.0, 1.0),
        ("cut", (1, 2), (4, 2), -1.0, -1.0, 0.5),
        ("finish", (4, 2), (4, 6), -1.0, -1.0, 0.5),
        ("retract", (4, 6), (4, 6), -1.0, 5.0, 1.0),
    ]
    assert [m.kind.value for m in moves(run)] == ["descend", "cut", "finish", "retract"]
    assert len(moves(run, start=(1.0, 2.0))) == 4, "it is there"
    assert len(moves(run, start=(1.0, 2.0 + 2e-9))) == 5


@pytest.mark.parametrize(
    ("kind", "bite", "made"),
    [
        (StrokeKind.STEP, 0.5, MoveKind.LINK),
        (StrokeKind.STEP, 0.51, MoveKind.CUT),
        (StrokeKind.STEP, None, MoveKind.CUT),
        (StrokeKind.CUT, 0.0, MoveKind.CUT),
        (StrokeKind.RELIEF, 0.0, MoveKind.CUT),
        (StrokeKind.FINISH, 0.0, MoveKind.FINISH),
    ],
)
def test_a_step_that_meets_no_material_is_a_link(kind: StrokeKind, bite: float | None, made: MoveKind) -> None:
    move = moves(Run((stroke((1, 2), (4, 2), kind, bite),)))[1]
    assert (move.kind, move.engagement_deg, move.feed_factor) == (made, bite, 0.5)


def test_straight_down_by_quick_descent_in_a_hole_and_by_feed_from_half_a_millimetre_above() -> None:
    strokes = (stroke((1, 2), (4, 2)),)
    free = moves(Run(strokes, StraightEntry((0.0, 2.0), 6.5, free=True)), start=(9.0, 9.0), z_above=-1.0, z=-2.0)
    assert [told(m) for m in free[:3]] == [
        ("travel", (9, 9), (0, 2), 5.0, 5.0, 1.0),
        ("descend", (0, 2), (0, 2), 5.0, -2.0, 1.0),
        ("cut", (1, 2), (4, 2), -2.0, -2.0, 0.5),
    ]
    plunge = moves(Run(strokes, StraightEntry((1.0, 2.0), 4.0)), z_above=-1.0, z=-2.0)
    assert [told(m) for m in plunge[:2]] == [
        ("descend", (1, 2), (1, 2), 5.0, -0.5, 1.0),
        ("entry", (1, 2), (1, 2), -0.5, -2.0, 0.3),
    ]


@pytest.mark.parametrize("ccw", [True, False])
def test_a_helix_goes_down_in_whole_turns_and_once_round_the_floor(ccw: bool) -> None:
    """Radius 1.2 mm: 7.54 mm round, 0.754 mm a turn at most; 1.5 mm from half a millimetre above take two turns."""
    found = moves(Run((stroke((3, 0), (8, 0)),), HelixEntry((0.0, 0.0), 1.2, ccw)))
    assert [told(m) for m in found[:4]] == [
        ("descend", (1.2, 0), (1.2, 0), 5.0, 0.5, 1.0),
        ("entry", (1.2, 0), (1.2, 0), 0.5, -0.25, 0.5),
        ("entry", (1.2, 0), (1.2, 0), -0.25, -1.0, 0.5),
        ("entry", (1.2, 0), (1.2, 0), -1.0, -1.0, 0.5),
    ]
    assert [m.curve for m in found[1:4]] == [Arc((1.2, 0.0), (1.2, 0.0), (0.0, 0.0), ccw)] * 3
    # A hair less than two turns, 1.508 mm, are two, a hair more three; a wide one goes down in one
    for depth, turns in ((-1.0079, 2), (-1.0081, 3)):
        assert len(moves(Run((stroke((3, 0), (8, 0)),), HelixEntry((0.0, 0.0), 1.2, ccw)), z=depth)) == turns + 4
    assert len(moves(Run((stroke((3, 0), (8, 0)),), HelixEntry((0.0, 0.0), 2.9, ccw)))) == 1 + 4


def test_a_ramp_goes_to_and_fro_over_its_stretch_and_ends_at_its_start() -> None:
    """4 mm along X and 2 of 5 mm along Y: 12 mm there and back fall 1.2 mm; 1.5 mm take two times, 0.0625 mm a mm."""
    strokes = (stroke((0, 0), (4, 0)), stroke((4, 0), (4, 5)))
    found = moves(Run(strokes, RampEntry(6.0)))
    places = [(0, 0), (4, 0), (4, 2), (4, 0), (0, 0), (4, 0), (4, 2), (4, 0), (0, 0)]
    falls = [0.0, 0.25, 0.375, 0.5, 0.75, 1.0, 1.125, 1.25, 1.5]
    assert [told(m) for m in found[:9]] == [
        ("descend", (0, 0), (0, 0), 5.0, 0.5, 1.0),
        *(
            ("entry", places[k], places[k + 1], 0.5 - falls[k], 0.5 - falls[k + 1], 0.5)
            for k in range(8)
        ),
    ]  # fmt: skip
    assert found[8].z_end == -1.0, "to the last digit"
    assert [m.kind.value for m in found[9:]] == ["cut", "cut", "retract"]
    # As long as the first stroke, or by less than a millionth longer: that stroke alone
    for stretch in (4.0, 4.0 + 5e-7, 4.0 - 5e-7):
        ramp = [m for m in moves(Run(strokes, RampEntry(stretch))) if m.kind is MoveKind.ENTRY]
        assert {m.curve for m in ramp} == {Segment((0, 0), (4, 0)), Segment((4, 0), (0, 0))}
    # 7.5 mm there and back once fall 1.5 mm exactly: one time; a hair shorter takes two
    for stretch, times in ((7.5, 1), (7.4999, 2)):
        ramp = [m for m in moves(Run(strokes, RampEntry(stretch))) if m.kind is MoveKind.ENTRY]
        assert len(ramp) == 4 * times


def test_a_ramp_along_an_arc_follows_it() -> None:
    bow: Curve = Arc((2.0, 0.0), (-2.0, 0.0), (0.0, 0.0), True)
    found = moves(Run((Stroke(bow),), RampEntry(math.pi)), z=-0.1)
    there, back = found[1].curve, found[2].curve
    assert isinstance(there, Arc)
    assert there.end == pytest.approx((0.0, 2.0), abs=1e-9)
    assert (there.start, there.center, there.ccw) == ((2.0, 0.0), (0.0, 0.0), True)
    assert back == there.reversed()
    assert [(m.kind.value, round(m.z_end, 9)) for m in found[1:3]] == [("entry", 0.2), ("entry", -0.1)]


def test_each_level_begins_where_the_one_before_ended() -> None:
    layout = LevelLayout((Run((stroke((0, 0), (4, 0)),)), Run((stroke((6, 0), (9, 0)),))))
    path = cut_path("rest", 3.0, layout, (-1.0, -2.5), top_z=0.25, clearance_z=4.0, ramp_deg=3.0)
    assert (path.name, path.cutter_diameter, path.clearance_z) == ("rest", 3.0, 4.0)
    assert [(level.z, level.z_above) for level in path.levels] == [(-1.0, 0.25), (-2.5, -1.0)]
    first, second = ([(m.kind.value, m.start, m.at) for m in level.moves] for level in path.levels)
    assert first == [
        ("descend", (0, 0), (0, 0)), ("cut", (0, 0), (4, 0)), ("retract", (4, 0), (4, 0)), ("travel", (4, 0), (6, 0)),
        ("descend", (6, 0), (6, 0)), ("cut", (6, 0), (9, 0)), ("retract", (9, 0), (9, 0)),
    ]  # fmt: skip
    assert second == [("travel", (9, 0), (0, 0)), *first]


def test_heights_and_ramps_that_cannot_be_are_refused() -> None:
    layout = LevelLayout((Run((stroke((0, 0), (4, 0)),)),))

    def path(clearance: float, ramp: float) -> None:
        cut_path("rest", 3.0, layout, (-1.0,), top_z=0.25, clearance_z=clearance, ramp_deg=ramp)

    with pytest.raises(InputError, match=r"clearance height 0\.75 mm: expected more than 0\.5 mm above .* Z 0\.25 mm"):
        path(0.75, 3.0)
    path(0.7501, 3.0)
    for ramp in (0.0, 90.0, -3.0, math.nan):
        with pytest.raises(InputError, match=f"ramp of {ramp} degrees: expected above 0 and below 90"):
            path(5.0, ramp)
    path(5.0, 0.5)
    path(5.0, 89.0)


MIXED = LevelLayout(
    (
        Run((stroke((3, 0), (8, 0)), stroke((8, 0), (8, 3))), HelixEntry((0.0, 0.0), 1.2, ccw=True)),
        Run((stroke((20, 0), (28, 0)),), StraightEntry((20.0, 0.0), 8.0, free=True)),
        Run((stroke((30, 0), (38, 0)),), StraightEntry((30.0, 0.0))),
        Run((stroke((40, 0), (48, 0)),), RampEntry(3.0)),
        Run((stroke((50, 0), (58, 0)),)),
        Run((stroke((20, 0), (20, 5)),), StraightEntry((20.0, 0.0), 8.0, free=True)),
        Run((stroke((60, 0), (61, 0)),), StraightEntry((60.0, 0.0), 0.5)),
    )
)


def test_what_entries_open_and_what_has_to_be_drilled() -> None:
    assert open_places(MIXED, 3.0) == [
        Circle((0.0, 0.0), 4.2), Circle((20.0, 0.0), 4.0), Circle((30.0, 0.0), 3.0), Circle((20.0, 0.0), 4.0),
        Circle((60.0, 0.0), 3.0),
    ]  # fmt: skip
    holes = entry_holes_of([MIXED, MIXED])
    assert holes == (EntryHole((20.0, 0.0), 8.0), EntryHole((60.0, 0.0), 0.5))
    circles = entry_circles(MIXED)
    assert circles is not None
    assert circles.curves() == (Arc((1.2, 0.0), (1.2, 0.0), (0.0, 0.0), ccw=True),)
    assert entry_circles(LevelLayout(MIXED.runs[1:])) is None
    path, fresh = swept_in_order(MIXED)
    assert path.x0.tolist() == [3, 8, 20, 30, 40, 50, 20, 60]
    assert fresh == [True, False, True, True, True, True, True, True]


def engaged(corners: Corners = Corners.SLOW, **more: object) -> tuple[LevelLayout, float, Point, float]:
    """Rows of a 6 mm cutter: 20 mm at full width, then 20 mm beside it by 2.4 mm, and an overcut into the solid."""
    first = Run((Stroke(Segment((-9, 0), (20, 0))), Stroke(Segment((20, 0), (20, 2.4)), StrokeKind.STEP)))
    second = (Stroke(Segment((20, 2.4), (0, 2.4))), Stroke(Segment((0, 2.4), (0, 9)), StrokeKind.RELIEF))
    layout = LevelLayout((Run((*first.strokes, *second), StraightEntry((-9.0, 0.0), 6.5, free=True)),))
    made, peak = with_engagement(layout, 3.0, 2.4, corners, 1.25, **more)  # type: ignore[arg-type]
    return made, peak.engagement_deg, peak.at, peak.straight_deg


def test_bites_and_feeds_of_strokes_by_hand() -> None:
    """Full width: 180 degrees, feed 78.463 / 180. Beside it: acos(1 - 2.4 / 3) = 78.463 degrees and the whole feed.

    From the hole of 6.5 mm the first samples are 1.43 mm along: all of it is full width. The overcut does not count for
    the peak.
    """
    straight = math.degrees(math.acos(0.2))
    made, peak, at, told_straight = engaged()
    assert told_straight == pytest.approx(straight)
    assert peak == pytest.approx(180.0, abs=0.1)
    assert at[1] == 0.0
    (run,) = made.runs
    assert run.entry == StraightEntry((-9.0, 0.0), 6.5, free=True)
    full, *_, last = run.strokes
    assert full.curve == Segment((-9.0, 0.0), (20.0, 0.0))
    assert full.engagement_deg == pytest.approx(180.0, abs=0.1)
    assert full.feed_factor == pytest.approx(straight / 180.0, rel=1e-3)
    row = next(s for s in run.strokes if s.curve.end == (0.0, 2.4))
    assert row.engagement_deg == pytest.approx(straight, abs=0.5)
    assert row.feed_factor == 1.0
    assert row.left_deg == pytest.approx(0.0, abs=0.5), "going back, the material lies on the right"
    assert last.kind is StrokeKind.RELIEF
    assert last.engagement_deg == pytest.approx(180.0, abs=0.1)
    as_they_come = engaged(Corners.AS_THEY_COME)[0].runs[0].strokes
    assert {s.feed_factor for s in as_they_come} == {1.0}
    assert len(as_they_come) == 4
    assert as_they_come[0].engagement_deg == pytest.approx(180.0, abs=0.1)


def test_what_another_cutter_has_cut_is_not_cut_again() -> None:
    """The step of 2.4 mm out of the row before bites most: what lies beyond 3 mm, 180 - 2 asin((3 - 2.4) / 3)."""
    gone = elements_of([Segment((-15.0, 0.0), (29.0, 0.0))])
    made, peak, at, _ = engaged(cut_before=(gone, 3.0))
    assert made.runs[0].strokes[0].engagement_deg == pytest.approx(0.0, abs=0.01)
    assert peak == pytest.approx(180.0 - 2 * math.degrees(math.asin(0.2)), abs=0.5)
    assert at == (20.0, 2.4)


def test_a_pocket_in_bites_is_looked_at_four_times_as_closely() -> None:
    """Places 0.5 radii apart, or 0.12: a peak of a short bite shows in the second alone."""
    bump = [Stroke(Segment((0.0, 0.0), (12.0, 0.0))), Stroke(Segment((12.0, 2.4), (0.0, 2.4)))]
    layout = LevelLayout((Run((bump[0],)), Run((bump[1],))))
    seen = {}
    for corners in (Corners.NIBBLE, Corners.SLOW):
        made, _ = with_engagement(layout, 3.0, 2.4, corners, 1.25)
        first = made.runs[1].strokes
        seen[corners] = [s.curve.length for s in first]
    assert math.fsum(seen[Corners.NIBBLE]) == pytest.approx(12.0)
    # The feed changes at a place that is looked at: every 12 / 8 mm, or every 12 / 34
    for corners, count in ((Corners.SLOW, 8), (Corners.NIBBLE, 34)):
        places = np.array(seen[corners]) * count / 12.0
        assert len(places) == 2
        assert np.abs(places - np.round(places)).max() < 1e-6
    assert abs(seen[Corners.SLOW][0] - seen[Corners.NIBBLE][0]) > 0.1
