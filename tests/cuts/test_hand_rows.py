"""Rows for two handwheels: one axis a row, joined where they go on, and why a cut cannot be made by hand."""

from __future__ import annotations

import math

import pytest

from holecam.cuts.hand_rows import along_axes, hand_work
from holecam.cuts.level_layout import HelixEntry, LevelLayout, RampEntry, Run, StraightEntry, Stroke, StrokeKind
from holecam.shapes import Arc, Point, Segment


def stroke(a: Point, b: Point, *, engagement: float | None = 60.0, left: float = 0.0, factor: float = 1.0) -> Stroke:
    return Stroke(Segment(a, b), StrokeKind.CUT, factor, engagement, left)


def layout(*strokes: Stroke, entry: object = None) -> LevelLayout:
    return LevelLayout((Run(tuple(strokes), entry),))  # type: ignore[arg-type]


def test_a_rectangle_is_four_rows_at_each_height() -> None:
    ring = [stroke((0, 0), (10, 0)), stroke((10, 0), (10, 5)), stroke((10, 5), (0, 5)), stroke((0, 5), (0, 0))]
    work = hand_work(layout(*ring), [-1.0, -2.0])
    assert work.followable
    assert [(r.number, r.z, r.axis, r.fixed, r.start, r.end) for r in work.rows] == [
        (1, -1.0, "X", 0, 0, 10), (2, -1.0, "Y", 10, 0, 5), (3, -1.0, "X", 5, 10, 0), (4, -1.0, "Y", 0, 5, 0),
        (5, -2.0, "X", 0, 0, 10), (6, -2.0, "Y", 10, 0, 5), (7, -2.0, "X", 5, 10, 0), (8, -2.0, "Y", 0, 5, 0),
    ]  # fmt: skip


def test_strokes_that_go_on_in_one_line_are_one_row() -> None:
    on = [stroke((0, 0), (4, 0)), stroke((4, 0), (10, 0), factor=0.5)]
    assert [(r.start, r.end) for r in hand_work(layout(*on), [-1.0]).rows] == [(0, 10)]
    back = [stroke((0, 0), (4, 0)), stroke((4, 0), (1, 0))]
    assert [(r.start, r.end) for r in hand_work(layout(*back), [-1.0]).rows] == [(0, 4), (4, 1)]
    other_side = [stroke((0, 0), (4, 0)), stroke((4, 0), (10, 0), left=60.0)]
    assert [(r.start, r.end) for r in hand_work(layout(*other_side), [-1.0]).rows] == [(0, 4), (4, 10)]
    down = [stroke((3, 9), (3, 4)), stroke((3, 4), (3, -2))]
    assert [(r.axis, r.fixed, r.start, r.end) for r in hand_work(layout(*down), [-1.0]).rows] == [("Y", 3, 9, -2)]


def test_the_offset_from_the_line_of_the_sheet_is_told_for_each_row() -> None:
    rows = hand_work(
        layout(stroke((0, 2), (9, 2)), stroke((9, 2), (9, 5))), [-1.0], side_offset=lambda s: s.curve.start[1] - 1.5
    ).rows
    assert [r.side_offset for r in rows] == [0.5, 0.5]
    assert [r.side_offset for r in hand_work(layout(stroke((0, 2), (9, 2))), [-1.0]).rows] == [0.0]


@pytest.mark.parametrize(
    ("entry", "note"),
    [
        (StraightEntry((0, 0), 6.0, True), "get down through the drilled hole"),
        (StraightEntry((0, 0), 0.8, True), "get down through the drilled hole"),
        (StraightEntry((0, 0)), "get down plunge"),
        (RampEntry(12.0), "get down along the first 12.00 mm to and fro"),
        (None, "get down where it is open"),
    ],
)
def test_the_first_row_says_how_to_get_down(entry: object, note: str) -> None:
    rows = hand_work(layout(stroke((0, 0), (9, 0)), stroke((9, 0), (9, 5)), entry=entry), [-1.0, -2.0]).rows
    assert [r.note for r in rows] == [note, "", note, ""]


def test_an_arc_a_helix_and_a_slanting_line_take_both_handwheels() -> None:
    arc = LevelLayout((Run((Stroke(Arc((5, 0), (0, 5), (0, 0), True)),)),))
    assert not hand_work(arc, [-1.0]).followable
    assert (
        hand_work(arc, [-1.0]).why
        == "an arc of radius 5.000 mm at X 5.000 Y 0.000 mm: both handwheels would have to turn"
    )
    helix = hand_work(layout(stroke((0, 0), (9, 0)), entry=HelixEntry((1, 2), 2.5, True)), [-1.0])
    assert helix.why.startswith("an arc of radius 2.500 mm at X 3.500 Y 2.000 mm")
    assert not helix.rows


@pytest.mark.parametrize(
    ("lean", "turn"), [(30.0, -30.0), (-30.0, 30.0), (60.0, 30.0), (44.0, -44.0), (46.0, 44.0), (90.5, -0.5)]
)
def test_a_skewed_rectangle_is_put_right_by_turning_the_work(lean: float, turn: float) -> None:
    a = math.radians(lean)
    ux, uy = math.cos(a), math.sin(a)
    corners = [(0.0, 0.0), (10 * ux, 10 * uy), (10 * ux - 4 * uy, 10 * uy + 4 * ux), (-4 * uy, 4 * ux)]
    ring = [stroke(p, q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)]
    work = hand_work(layout(*ring), [-1.0])
    assert not work.followable
    assert work.turn_work_deg == pytest.approx(turn)
    assert f"a line at {lean:.2f} degrees" in work.why
    # Three directions: no turn serves
    assert hand_work(layout(*ring, stroke((0, 0), (5, 5.5))), [-1.0]).turn_work_deg == 0.0


def test_lines_along_the_axes() -> None:
    assert along_axes([Segment((0, 0), (5, 0)), Segment((5, 0), (5, -2))])
    assert along_axes([Segment((0, 0), (5, 1e-10))])
    assert not along_axes([Segment((0, 0), (5, 0)), Segment((5, 0), (4, 1))])
    assert not along_axes([Arc((5, 0), (0, 5), (0, 0), True)])
