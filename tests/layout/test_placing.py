"""Placing from one hole, moving an old pattern, mirrored pairs: exact where exactness was promised."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.grids import grid
from holecam.layout.hole_circles import hole_circle
from holecam.layout.patterns import PatternPoints, free_points, line
from holecam.layout.placing import (
    MirrorLine,
    PlacedPattern,
    direction_from_words,
    direction_of_edge,
    mirrored_pair,
    move_old_pattern,
    place_from_one,
    placed,
)
from holecam.shapes import Placement, Point, distance

SHOP = st.floats(-500, 500)
POINTS = st.tuples(SHOP, SHOP)
ANGLES = st.floats(-360, 360)
NOISE = 1e-9  # mm


@st.composite
def patterns(draw: st.DrawFn) -> PatternPoints:
    """Return a pattern without symmetry, so that a wrong sign shows."""
    kind = draw(st.sampled_from(["line", "grid", "circle", "points"]))
    if kind == "line":
        return line(draw(st.integers(2, 9)), pitch=draw(st.floats(1, 60)))
    if kind == "grid":
        across = draw(st.floats(5, 60))
        return grid(3, 2, column_pitch=across, row_pitch=draw(st.floats(5, 60)), stagger=across / 3)
    if kind == "circle":
        return hole_circle(5, diameter=draw(st.floats(20, 200)), start_deg=draw(ANGLES), included_deg=200)
    return free_points([(0.0, 0.0), (31.7, 4.2), (12.9, 55.1), (-8.3, 20.6)])


@given(patterns(), POINTS, ANGLES, st.booleans(), st.data())
def test_the_reference_hole_lies_exactly_where_it_was_asked(
    pattern: PatternPoints, at: Point, along: float, mirror: bool, data: st.DataObject
) -> None:
    hole = data.draw(st.sampled_from(pattern.numbers))
    result = place_from_one(pattern, hole=hole, at=at, along_deg=along, mirror=mirror)
    assert result.at(hole) == at  # to the last bit, not to some tolerance
    assert result.reference == hole
    assert dict(result.holes())[hole] == at


@given(patterns(), POINTS, ANGLES, st.booleans())
def test_spacing_is_exact_whatever_the_place(pattern: PatternPoints, at: Point, along: float, mirror: bool) -> None:
    result = place_from_one(pattern, hole=1, at=at, along_deg=along, mirror=mirror)
    for a, pa in enumerate(pattern.points):
        for b, pb in enumerate(pattern.points):
            assert distance(result.points[a], result.points[b]) == pytest.approx(distance(pa, pb), abs=NOISE)


@given(st.integers(2, 9), st.floats(1, 60), POINTS, ANGLES, st.booleans())
def test_a_row_runs_along_its_direction_mirrored_or_not(
    count: int, pitch: float, at: Point, along: float, mirror: bool
) -> None:
    result = place_from_one(line(count, pitch=pitch), hole=1, at=at, along_deg=along, mirror=mirror)
    reach = (count - 1) * pitch
    t = math.radians(along)
    assert result.at(count) == pytest.approx((at[0] + reach * math.cos(t), at[1] + reach * math.sin(t)), abs=NOISE)


def test_the_lantern_rail_of_the_design_page() -> None:
    """Invented job: six holes, pitch 1-1/4 in, hole 1 wanted at (0.480, 0.195) in along +X."""
    result = place_from_one(line(6, pitch=31.75), hole=1, at=(0.480 * 25.4, 0.195 * 25.4))
    assert [p[0] / 25.4 for p in result.points] == pytest.approx([0.48, 1.73, 2.98, 4.23, 5.48, 6.73], abs=1e-12)
    assert {p[1] for p in result.points} == {0.195 * 25.4}


def test_mirrored_means_y_turns_round() -> None:
    pattern = free_points([(0, 0), (10, 3)])
    assert place_from_one(pattern, hole=1, at=(100, 50), mirror=True).at(2) == (110, 47)
    assert place_from_one(pattern, hole=1, at=(100, 50), along_deg=90, mirror=True).at(2) == (103, 60)


@pytest.mark.parametrize(
    ("text", "angle"),
    [
        ("+x", 0.0),
        ("+X", 0.0),
        ("-x", 180.0),
        ("+y", 90.0),
        ("-y", -90.0),
        ("\u2212y", -90.0),
        (" +x ", 0.0),
        ("37.5", 37.5),
        ("-12", -12.0),
        ("\u22125", -5.0),
        ("30 deg", 30.0),
        ("30°", 30.0),
        (".5", 0.5),
        (45, 45.0),
        (0.25, 0.25),
    ],
)
def test_directions_in_words_and_degrees(text: str | float, angle: float) -> None:
    assert direction_from_words(text) == angle


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("x", r'along = "x": expected degrees .* Write "\+x" or "-x", so that the side is sure\.'),
        ("y", r'Write "\+y" or "-y"'),
        ("4,5", r'Write "4\.5"\.'),
        ("north", "expected degrees anticlockwise from \\+X, or one of"),
        ("", "expected degrees"),
        ("nan", "expected degrees"),
        ("1e3", "expected degrees"),
        (math.nan, "along = nan: expected degrees"),
        (math.inf, "along = inf: expected degrees"),
        (True, "along = True: expected degrees"),
    ],
)
def test_directions_that_are_none(text: str | float, message: str) -> None:
    with pytest.raises(InputError, match=message):
        direction_from_words(text)


def test_a_direction_from_an_edge() -> None:
    assert direction_of_edge((1.0, 1.0), (1.0, 9.0)) == 90.0
    assert direction_of_edge((0.0, 0.0), (-3.0, -3.0)) == -135.0
    with pytest.raises(InputError, match="expected two different points on the edge"):
        direction_of_edge((1.0, 1.0), (1.0, 1.0))


@given(patterns(), POINTS)
def test_an_old_pattern_shifted_is_one_addition_a_coordinate(pattern: PatternPoints, shift: Point) -> None:
    moved = move_old_pattern(pattern, shift=shift, about=2)
    assert moved.points == tuple((x + shift[0], y + shift[1]) for x, y in pattern.points)


@given(patterns(), POINTS, ANGLES, st.data())
def test_an_old_pattern_turned_about_a_hole(
    pattern: PatternPoints, shift: Point, turn: float, data: st.DataObject
) -> None:
    hole = data.draw(st.sampled_from(pattern.numbers))
    moved = move_old_pattern(pattern, shift=shift, turn_deg=turn, about=hole)
    px, py = pattern.at(hole)
    assert moved.at(hole) == (px + shift[0], py + shift[1])  # to the last bit
    t = math.radians(turn)
    for number, (x, y) in pattern.holes():
        expected = (
            px + (x - px) * math.cos(t) - (y - py) * math.sin(t) + shift[0],
            py + (x - px) * math.sin(t) + (y - py) * math.cos(t) + shift[1],
        )
        assert moved.at(number) == pytest.approx(expected, abs=NOISE)


@given(patterns(), POINTS, ANGLES, POINTS, ANGLES)
def test_mirror_comes_first_then_turn_then_shift(
    pattern: PatternPoints, through: Point, along: float, shift: Point, turn: float
) -> None:
    mirror = MirrorLine(through, along)
    step = move_old_pattern(pattern, mirror=mirror, about=1)
    again = PatternPoints(step.points, pattern.numbers, "points", "", "")
    two = move_old_pattern(again, turn_deg=turn, about=1, shift=shift)
    once = move_old_pattern(pattern, mirror=mirror, turn_deg=turn, about=1, shift=shift)
    for a, b in zip(once.points, two.points, strict=True):
        assert a == pytest.approx(b, abs=NOISE)


def test_a_turn_needs_its_hole() -> None:
    with pytest.raises(InputError, match="turn of 5 degrees: expected the hole to turn about"):
        move_old_pattern(line(3, pitch=10.0), turn_deg=5.0)
    with pytest.raises(InputError, match="hole 4: this line has holes 1 to 3"):
        move_old_pattern(line(3, pitch=10.0), turn_deg=5.0, about=4)
    with pytest.raises(InputError, match="hole 4: this line has holes 1 to 3"):
        move_old_pattern(line(3, pitch=10.0), about=4)


@given(POINTS, ANGLES, POINTS)
def test_mirroring_twice_is_the_identity(through: Point, along: float, p: Point) -> None:
    mirror = MirrorLine(through, along).placement()
    assert mirror.apply(mirror.apply(p)) == pytest.approx(p, abs=NOISE)
    assert not (mirror @ mirror).mirror


@given(POINTS)
def test_mirroring_twice_across_an_axis_is_the_identity_to_the_last_bit(p: Point) -> None:
    for mirror in (MirrorLine.at_x(0.0).placement(), MirrorLine.at_y(0.0).placement()):
        assert mirror.apply(mirror.apply(p)) == p


@given(POINTS, POINTS, POINTS)
def test_a_mirrored_point_lies_square_across_the_line(a: Point, b: Point, p: Point) -> None:
    if distance(a, b) < 1.0:
        return
    q = MirrorLine.through_points(a, b).placement().apply(p)
    middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    off = (b[0] - a[0]) * (middle[1] - a[1]) - (b[1] - a[1]) * (middle[0] - a[0])
    along = (b[0] - a[0]) * (q[0] - p[0]) + (b[1] - a[1]) * (q[1] - p[1])
    assert off / distance(a, b) == pytest.approx(0.0, abs=1e-8)
    assert along / distance(a, b) == pytest.approx(0.0, abs=1e-8)


@given(patterns(), SHOP)
def test_both_hands_carry_the_same_numbers(pattern: PatternPoints, x: float) -> None:
    pair = mirrored_pair(pattern.without([2]), MirrorLine.at_x(x))
    assert pair.mirrored.numbers == pair.as_given.numbers
    assert 2 not in pair.mirrored.numbers
    for number, (px, py) in pair.as_given.holes():
        mx, my = pair.mirrored.at(number)
        assert my == py
        assert mx == pytest.approx(2 * x - px, abs=NOISE)
    back = mirrored_pair(pair.mirrored, pair.line).mirrored
    for p, q in zip(pair.as_given.points, back.points, strict=True):
        assert q == pytest.approx(p, abs=NOISE)


def test_a_placed_pattern_is_checked_like_any_other() -> None:
    with pytest.raises(InputError, match=r"placed line: hole 2 would lie at X .* expected at most 100000 mm"):
        place_from_one(line(2, pitch=10.0), hole=1, at=(99_995.0, 0.0))
    with pytest.raises(InputError, match="holes 1 and 2 lie in one place"):
        PlacedPattern(line(2, pitch=10.0), Placement(), ((0.0, 0.0), (0.0, 0.0)))
    with pytest.raises(InputError, match="placement: expected a finite turn"):
        place_from_one(line(2, pitch=10.0), hole=1, at=(math.nan, 0.0))


def test_placed_by_any_motion() -> None:
    result = placed(line(2, pitch=10.0), Placement(90.0, (5.0, 5.0)))
    assert result.points == ((5.0, 5.0), (5.0, 15.0))
    assert result.reference is None
