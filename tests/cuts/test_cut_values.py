"""Cutters, wishes, sums, strokes and moves as values: what each refuses, on both sides, and what it works out."""

from __future__ import annotations

import math
from typing import Any

import pytest

from holecam.cuts.clearance import ClearanceSum, Cleared, Term
from holecam.cuts.cut_choices import (
    Direction,
    EntryHole,
    KeepAway,
    SneakWish,
    default_direction,
)
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.hand_values import HandRow
from holecam.cuts.level_layout import (
    HelixEntry,
    LevelLayout,
    Run,
    Stroke,
    StrokeKind,
    rotated,
    share_of,
    split_curve,
)
from holecam.cuts.path_values import CutMove, CutPath, LevelPath, MoveKind, along, joined, upright
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Segment, rectangle

BAD = [0.0, -1.0, math.nan, math.inf]


def told(call: Any, *values: object, **named: object) -> str:
    """Return the words of the refusal."""
    with pytest.raises(InputError) as refused:
        call(*values, **named)
    return str(refused.value)


# Cutters


@pytest.mark.parametrize("value", BAD)
def test_a_cutter_has_lengths_above_zero(value: float) -> None:
    for name, words in (("diameter", "diameter"), ("flute_length", "flute length"), ("overhang", "overhang")):
        given: dict[str, float] = {"diameter": 6.0} | {name: value}
        assert (
            told(MillingCutter, "mill", **given) == f'cutter "mill": {words} {value} mm: expected a length above zero'
        )


def test_a_cutter_rounded_up_to_a_ball_and_with_a_tooth() -> None:
    assert MillingCutter("ball", 6.0, corner_radius=3.0).radius == 3.0
    assert MillingCutter("flat", 5.0, teeth=1).radius == 2.5
    words = "corner radius 3.01 mm: expected 0 to half the diameter"
    assert told(MillingCutter, "mill", 6.0, corner_radius=3.01) == f'cutter "mill": {words}'
    assert "corner radius -0.1 mm" in told(MillingCutter, "mill", 6.0, corner_radius=-0.1)
    assert told(MillingCutter, "mill", 6.0, teeth=0) == 'cutter "mill": 0 teeth: expected at least one'
    plain = MillingCutter("mill", 6.0)
    assert (plain.teeth, plain.corner_radius, plain.centre_cutting, plain.carbide) == (2, 0.0, False, False)


def test_a_cutter_reaches_as_deep_as_its_shorter_known_length() -> None:
    cutter = MillingCutter("mill", 6.0, flute_length=12.0, overhang=10.0)
    assert cutter.reaches(10.0)
    assert not cutter.reaches(10.001)
    assert MillingCutter("mill", 6.0, flute_length=12.0).reaches(12.0)
    assert not MillingCutter("mill", 6.0, flute_length=12.0, overhang=30.0).reaches(12.001)
    assert MillingCutter("mill", 6.0).reaches(500.0)


# Wishes


def test_wishes_refuse_what_is_no_length() -> None:
    line = (Segment((0.0, 0.0), (5.0, 0.0)),)
    assert KeepAway("rib", line, 0.0).margin == 0.0
    for value in (-0.1, math.nan, math.inf):
        wanted = f'margin before "rib", {value} mm: expected a length of 0 or more'
        assert told(KeepAway, "rib", line, value) == wanted
    assert told(KeepAway, "rib", (), 1.0) == '"rib": expected at least one line or arc to keep away from'
    for value in BAD:
        wanted = f"entry hole at (1.0, 2.0): diameter {value} mm: expected a length above zero"
        assert told(EntryHole, (1.0, 2.0), value) == wanted
        assert told(SneakWish, value) == f"sneaking up: undersize {value} mm: expected a length above zero"
    assert told(SneakWish, 0.5, 0) == "sneaking up: 0 steps: expected at least one"
    assert (SneakWish(0.5, 1).steps, SneakWish(0.5).steps) == (1, 3)


@pytest.mark.parametrize(
    ("by_hand", "backlash", "climbs"),
    [
        (True, 0.0, False), (True, None, False), (False, None, False), (False, 0.0, True),
        (False, 0.01, True), (False, 0.01 + 1e-4, False), (False, math.nan, False),
    ],
)  # fmt: skip
def test_climb_milling_wants_a_screw_without_lost_motion(by_hand: bool, backlash: float | None, climbs: bool) -> None:
    """A hundredth of a millimetre at most; by hand never."""
    wanted = Direction.CLIMB if climbs else Direction.CONVENTIONAL
    assert default_direction(by_hand=by_hand, backlash=backlash) is wanted


# What a cut has to clear


RAIL = Cleared(
    "foot rail", 4.0, 12.0, position_doubt=0.2, height_doubt=0.1, float_sides=0.5, float_below=1.0, fillet=0.3
)


def test_sums_of_a_bar_by_hand() -> None:
    """A side: 0.2 + 0.3 + 0.5 = 1. Width: 12 and twice each of these = 14. Depth: 4 + 0.1 + 1 = 5.1."""
    side, width, depth = RAIL.side_sum, RAIL.width_sum, RAIL.depth_sum
    assert (side.total, width.total, depth.total) == (pytest.approx(1.0), pytest.approx(14.0), pytest.approx(5.1))
    assert side.words == 'clearance on each side of "foot rail"'
    assert [(t.words, t.length, t.times) for t in side.terms] == [
        ("doubt of its place, each side", 0.2, 1),
        ("solder fillet, each side", 0.3, 1),
        ("float, each side", 0.5, 1),
    ]
    assert width.words == 'width to clear "foot rail"'
    assert [(t.words, t.length, t.times, t.total) for t in width.terms] == [
        ('width of "foot rail"', 12.0, 1, 12.0),
        ("doubt of its place, each side", 0.2, 2, 0.4),
        ("solder fillet, each side", 0.3, 2, 0.6),
        ("float, each side", 0.5, 2, 1.0),
    ]
    assert depth.words == 'depth to clear "foot rail"'
    assert [(t.words, t.length) for t in depth.terms] == [
        ('height of "foot rail"', 4.0), ("doubt of its height", 0.1), ("float below", 1.0),
    ]  # fmt: skip
    bare = Cleared("pin", 2.0, 3.0)
    assert [len(s.terms) for s in (bare.side_sum, bare.width_sum, bare.depth_sum)] == [3, 1, 1]
    assert (bare.side_sum.total, bare.width_sum.total, bare.depth_sum.total) == (0.0, 3.0, 2.0)
    assert ClearanceSum("x", (Term("a", 0.1, 3), Term("b", 0.2))).total == pytest.approx(0.5)


def test_sums_refuse_what_is_no_length_and_an_outline_has_no_width() -> None:
    for value in BAD:
        assert told(Cleared, "pin", value) == f'height of "pin", {value} mm: expected a length above zero'
        assert told(Cleared, "pin", 1.0, value) == f'width of "pin", {value} mm: expected a length above zero'
    for name, words in (
        ("position_doubt", "doubt of its place, each side"), ("fillet", "solder fillet, each side"),
        ("float_sides", "float, each side"),
    ):  # fmt: skip
        wanted = f"{words}: -0.1 mm: expected a length of 0 or more"
        assert told(Cleared, "pin", 1.0, **{name: -0.1}) == wanted
    assert told(Term, "float", math.nan) == "float: nan mm: expected a length of 0 or more"
    with pytest.raises(InputError, match=r'"pin" has no width: a slot clears a bar, a pocket clears an outline'):
        _ = Cleared("pin", 1.0).width_sum


# Strokes, runs and moves


@pytest.mark.parametrize(
    ("bite", "left", "side"),
    [
        (None, 0.0, ""), (0.5, 0.5, "none"), (0.51, 0.51, "left"), (60.0, 0.0, "right"), (60.0, 60.0, "left"),
        (100.0, 25.0, "right"), (100.0, 25.1, "both"), (100.0, 74.9, "both"), (100.0, 75.0, "left"),
        (0.6, 0.3, "both"),
    ],
)  # fmt: skip
def test_the_side_of_a_stroke_on_which_the_material_lies(bite: float | None, left: float, side: str) -> None:
    assert Stroke(Segment((0, 0), (1, 0)), engagement_deg=bite, left_deg=left).side == side


def test_runs_have_strokes_and_layouts_put_others_into_them() -> None:
    with pytest.raises(InputError, match="run of a cutter: expected at least one stroke"):
        Run(())
    first, second, third = (Stroke(Segment((k, 0), (k + 1, 0))) for k in (0, 1, 2))
    layout = LevelLayout((Run((first, second), HelixEntry((0, 0), 1.0, True)), Run((third,))))
    assert (layout.runs[0].start, layout.runs[0].end) == ((0, 0), (2, 0))
    assert list(layout.strokes()) == [first, second, third]
    made = layout.with_strokes([[third], [first, second]])
    assert [r.strokes for r in made.runs] == [(third,), (first, second)]
    assert [r.entry for r in made.runs] == [HelixEntry((0, 0), 1.0, True), None]
    assert HelixEntry((1.0, 2.0), 2.0, True).bore(3.0) == Circle((1.0, 2.0), 5.0)
    assert first.kind is StrokeKind.CUT


QUARTER = Arc((5.0, 0.0), (0.0, 5.0), (0.0, 0.0), True)
BACK = Arc((0.0, 5.0), (5.0, 0.0), (0.0, 0.0), False)


@pytest.mark.parametrize("curve", [Segment((1.0, 2.0), (9.0, 8.0)), QUARTER, BACK])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.75, 1.0])
def test_a_curve_is_split_at_a_share_and_the_share_is_found_again(curve: Curve, share: float) -> None:
    assert share_of(curve, curve.point_at(share)) == pytest.approx(share)
    if 0.0 < share < 1.0:
        before, after = split_curve(curve, share)
        assert type(before) is type(after) is type(curve)
        assert (before.start, after.end) == (curve.start, curve.end)
        assert before.end == after.start == curve.point_at(share)
        assert before.length == pytest.approx(share * curve.length)
        assert after.length == pytest.approx((1 - share) * curve.length)


def test_the_share_nearest_to_a_place_beside_a_curve() -> None:
    assert share_of(Segment((0, 0), (10, 0)), (4.0, 7.0)) == pytest.approx(0.4)
    assert share_of(Segment((0, 0), (10, 0)), (-4.0, 7.0)) == 0.0
    assert share_of(Segment((2, 2), (2, 2)), (4.0, 7.0)) == 0.0
    assert share_of(QUARTER, (1.0, 1.0)) == pytest.approx(0.5)
    assert share_of(QUARTER, (9.0, -9.0)) == 0.0
    assert share_of(QUARTER, (-9.0, 9.0)) == 1.0
    whole = Arc((5.0, 0.0), (5.0, 0.0), (0.0, 0.0), True)
    assert share_of(whole, (0.0, -2.0)) == pytest.approx(0.75)


def test_a_closed_chain_begins_at_the_place_nearest_to_a_point() -> None:
    box = rectangle(0, 0, 10, 6).curves
    assert rotated(box, (4.0, -3.0)) == (
        Segment((4.0, 0.0), (10, 0)), *box[1:], Segment((0, 0), (4.0, 0.0)),
    )  # fmt: skip
    assert rotated(box, (12.0, 2.0))[0] == Segment((10.0, 2.0), (10, 6))
    assert rotated(box, (12.0, 2.0))[-2:] == (box[0], Segment((10, 0), (10.0, 2.0)))
    # Within a ten-thousandth of a corner it begins there: a shorter stub is none
    assert rotated(box, (10.0, 0.9e-4)) == (*box[1:], box[0])
    assert rotated(box, (10.0, 6.0 - 0.9e-4)) == (*box[2:], *box[:2])
    assert len(rotated(box, (10.0, 1.1e-4))) == len(rotated(box, (10.0, 6.0 - 1.1e-4))) == 5
    assert rotated(box, (0.0, 0.5e-4)) == box or rotated(box, (0.0, 0.5e-4))[0].start == (0, 0)


def test_moves_have_finite_places_and_a_share_of_the_feed() -> None:
    for at, z, feed in (((math.nan, 0.0), 0.0, 1.0), ((0.0, math.inf), 0.0, 1.0), ((0.0, 0.0), math.nan, 1.0)):
        assert told(CutMove, MoveKind.CUT, None, at, z, 0.0, feed) == "move of a cutter: expected finite numbers"
        assert told(CutMove, MoveKind.CUT, None, (0, 0), 0.0, math.inf) == "move of a cutter: expected finite numbers"
    for feed in (0.0, -0.1, 1.01):
        wanted = f"move of a cutter: feed factor {feed}: expected above 0 to 1"
        assert told(CutMove, MoveKind.CUT, None, (0.0, 0.0), 0.0, 0.0, feed) == wanted
    assert CutMove(MoveKind.CUT, None, (0.0, 0.0), 0.0, 0.0, 1.0).feed_factor == 1.0
    assert CutMove(MoveKind.CUT, None, (0.0, 0.0), 0.0, 0.0, 0.01).engagement_deg is None


def test_lengths_of_moves_levels_and_paths_by_hand() -> None:
    """A slanted entry over 3 mm down 4: 5 mm. Down 6, along 10 by cut, 2 by link, up 7, over 20."""
    moves = (
        upright(MoveKind.DESCEND, (0.0, 0.0), 5.0, -1.0),
        along(MoveKind.ENTRY, Segment((0, 0), (3, 0)), -1.0, z_end=-5.0, feed_factor=0.5),
        along(MoveKind.CUT, Segment((3, 0), (13, 0)), -5.0, engagement_deg=60.0),
        along(MoveKind.FINISH, Segment((13, 0), (13, 1)), -5.0),
        along(MoveKind.LINK, Segment((13, 1), (13, 3)), -5.0),
        upright(MoveKind.RETRACT, (13.0, 3.0), -5.0, 2.0),
        along(MoveKind.TRAVEL, Segment((13, 3), (33, 3)), 2.0),
    )
    assert [m.length for m in moves] == [6.0, 5.0, 10.0, 1.0, 2.0, 7.0, 20.0]
    assert (moves[0].start, moves[0].at, moves[2].start, moves[2].at) == ((0, 0), (0, 0), (3, 0), (13, 0))
    assert (moves[1].z_start, moves[1].z_end, moves[2].z_end, moves[1].feed_factor) == (-1.0, -5.0, -5.0, 0.5)
    path = CutPath("rest", 3.0, (LevelPath(-5.0, 0.0, moves), LevelPath(-6.0, -5.0, moves[2:3])), 2.0)
    assert (path.cutting_length, path.length, path.deepest_z) == (26.0, 61.0, -5.0)
    assert CutPath("rest", 3.0, (), 2.0).deepest_z == 2.0
    assert joined(moves)
    assert joined(())
    assert [m.kind.takes_material for m in moves] == [False, True, True, True, False, False, False]
    assert [m.kind.is_rapid for m in moves] == [False, False, False, False, False, True, True]
    for shift, fits in ((0.9e-6, True), (1.1e-6, False)):
        beside = along(MoveKind.CUT, Segment((13, shift), (20, 0)), -5.0)
        below = along(MoveKind.CUT, Segment((13, 0), (20, 0)), -5.0 - shift)
        assert joined((moves[2], beside)) is joined((moves[2], below)) is fits
    assert not joined((moves[2], moves[3], moves[2]))


def test_rows_for_a_handwheel_begin_and_end_in_both_readings() -> None:
    across = HandRow(1, -1.0, "X", 4.0, 2.0, 9.0, 0.0, "climb")
    assert (across.begin, across.finish, across.cuts, across.note) == ((2.0, 4.0), (9.0, 4.0), True, "")
    up = HandRow(2, -1.0, "Y", 4.0, 2.0, 9.0, 0.0, "climb")
    assert (up.begin, up.finish) == ((4.0, 2.0), (4.0, 9.0))
