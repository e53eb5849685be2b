"""Rows for two handwheels: one axis a row, joined where they go on, and why a cut cannot be made by hand."""

from __future__ import annotations

import math

import pytest

from holecam.cuts.hand_rows import _joined, along_axes, hand_work
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


def test_a_row_made_of_two_strokes_tells_the_fuller_bite_and_the_slower_feed() -> None:
    first = Stroke(Segment((0, 0), (4, 0)), StrokeKind.FINISH, 0.9, 40.0, 40.0)
    second = Stroke(Segment((4, 0), (9, 0)), StrokeKind.CUT, 0.6, 70.0, 69.0)
    (row,) = _joined([first, second])
    assert row == Stroke(Segment((0, 0), (9, 0)), StrokeKind.CUT, 0.6, 70.0, 69.0)
    (row,) = _joined([second, Stroke(Segment((9, 0), (12, 0)), StrokeKind.FINISH, 0.9, 40.0, 40.0)])
    assert row == Stroke(Segment((4, 0), (12, 0)), StrokeKind.FINISH, 0.6, 70.0, 69.0)
    unknown = [Stroke(Segment((0, 0), (4, 0))), Stroke(Segment((4, 0), (9, 0)))]
    assert _joined(unknown) == [Stroke(Segment((0, 0), (9, 0)))]
    upright = [Stroke(Segment((3, 1), (3, 4))), Stroke(Segment((3, 4), (3, 9))), Stroke(Segment((3, 9), (7, 9)))]
    assert [s.curve for s in _joined(upright)] == [Segment((3, 1), (3, 9)), Segment((3, 9), (7, 9))]
    back = [Stroke(Segment((3, 1), (3, 4))), Stroke(Segment((3, 4), (3, -9)))]
    assert len(_joined(back)) == 2
    assert _joined([]) == []


@pytest.mark.parametrize(("off", "follows"), [(0.9e-6, True), (1.1e-6, False)])
def test_a_line_is_along_an_axis_to_a_millionth(off: float, follows: bool) -> None:
    for a, b, axis in (((2.0, 3.0), (9.0, 3.0 + off), "X"), ((2.0, 3.0), (2.0 - off, 9.0), "Y")):
        assert along_axes([Segment(a, b)]) is follows
        work = hand_work(layout(stroke(a, b)), [-1.0])
        assert work.followable is follows
        if follows:
            (row,) = work.rows
            assert (row.axis, row.start, row.end) == ((axis, 2.0, 9.0) if axis == "X" else (axis, 3.0, 9.0))
            assert row.fixed == pytest.approx(3.0 + off / 2 if axis == "X" else 2.0 - off / 2, abs=1e-12)


def test_on_which_side_the_material_lies_and_whether_a_row_cuts() -> None:
    sides = [(60.0, 60.0), (60.0, 0.0), (180.0, 90.0), (0.4, 0.0), (None, 0.0)]
    strokes = [
        stroke((0, k), (9, k) if k % 2 == 0 else (-9, k), engagement=bite, left=left)
        for k, (bite, left) in enumerate(sides)
    ]
    rows = hand_work(layout(*strokes), [-1.0]).rows
    assert [(r.direction, r.cuts) for r in rows] == [
        ("conventional", True), ("climb", True), ("full width", True), ("clear", False), ("", True),
    ]  # fmt: skip
    assert [(r.begin, r.finish) for r in rows[:2]] == [((0, 0), (9, 0)), ((0, 1), (-9, 1))]
    (down,) = hand_work(layout(stroke((3, 9), (3, 4))), [-1.0]).rows
    assert (down.begin, down.finish) == ((3, 9), (3, 4))


def test_the_turn_of_the_work_needs_all_lines_square_to_a_thousandth_of_a_degree() -> None:
    def leaning(*angles: float, length: float = 10.0) -> LevelLayout:
        ends = [(length * math.cos(math.radians(a)), length * math.sin(math.radians(a))) for a in angles]
        return layout(*(stroke((0.0, 0.0), end) for end in ends))

    def turn(made: LevelLayout) -> float:
        return hand_work(made, [-1.0]).turn_work_deg

    assert turn(leaning(30.0, 120.0, 210.0, -60.0)) == pytest.approx(-30.0)
    assert turn(leaning(30.0, 30.00095)) == pytest.approx(-30.0)
    assert turn(leaning(30.0, 29.99905)) == pytest.approx(-30.0)
    assert turn(leaning(30.0, 30.00105)) == turn(leaning(30.0, 29.99895)) == 0.0
    assert turn(leaning(45.0)) == pytest.approx(-45.0)
    assert turn(leaning(45.001)) == pytest.approx(44.999)
    crumb = Stroke(Segment((0.0, 0.0), (0.0, 0.95e-3)), StrokeKind.CUT)
    assert turn(LevelLayout((Run((crumb, *leaning(30.0).strokes())),))) == pytest.approx(-30.0)
    longer = Stroke(Segment((0.0, 0.0), (0.0, 1.05e-3)), StrokeKind.CUT)
    assert turn(LevelLayout((Run((longer, *leaning(30.0).strokes())),))) == 0.0
    assert turn(leaning(30.0, length=0.5e-3)) == 0.0
    bow = Stroke(Arc((5, 0), (0, 5), (0, 0), True))
    assert turn(LevelLayout((Run((*leaning(30.0).strokes(), bow)),))) == 0.0
