"""Lines, grids, free points and drawn circles: exact places, stable numbers, clear refusals."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.grids import grid, numbering_named, triangle_row_pitch
from holecam.layout.patterns import (
    COINCIDENT_HOLES,
    MOST_HOLES,
    PatternPoints,
    free_points,
    given_circles,
    line,
    nearest_pair_within,
)
from holecam.lengths import counts, parse_length
from holecam.shapes import Circle, Point, distance

PITCHES = st.floats(0.1, 500)


@given(st.integers(1, 200), PITCHES)
def test_hole_i_is_i_times_the_pitch_and_not_a_sum(count: int, pitch: float) -> None:
    row = line(count, pitch=pitch)
    assert row.points == tuple((i * pitch, 0.0) for i in range(count))
    assert row.numbers == tuple(range(1, count + 1))


def test_no_error_grows_along_a_row() -> None:
    """A tenth of a millimetre has no exact float: adding it a thousand times is off, multiplying is not."""
    row = line(1001, pitch=0.1)
    assert row.at(1001) == (100.0, 0.0)
    added = 0.0
    for _ in range(1000):
        added += 0.1
    assert added != 100.0


@given(st.integers(2, 200), st.floats(0.5, 3000))
def test_with_a_length_the_last_hole_lies_at_it_exactly(count: int, length: float) -> None:
    row = line(count, length=length)
    assert row.at(1) == (0.0, 0.0)
    assert row.at(count) == (length, 0.0)
    steps = [b[0] - a[0] for a, b in zip(row.points, row.points[1:], strict=False)]
    assert max(steps) - min(steps) < 1e-11


def test_one_row_in_inches_and_in_millimetres_is_one_row() -> None:
    inch = line(6, pitch=float(parse_length("1-1/4", unit="in")))
    metric = line(6, pitch=float(parse_length("31.75 mm", unit="in")))
    assert inch == metric
    resolution = Fraction(5, 10_000) * Fraction(254, 10)
    assert [counts(x, resolution) for x, _ in inch.points] == [0, 2500, 5000, 7500, 10_000, 12_500]


@given(st.integers(1, 9), st.integers(1, 9), PITCHES, PITCHES, st.floats(-0.9, 0.9), st.booleans())
def test_every_cell_of_a_grid_is_there_once(
    columns: int, rows: int, across: float, up: float, share: float, short: bool
) -> None:
    short = short and columns > 1
    stagger = share * across
    by_row = grid(columns, rows, column_pitch=across, row_pitch=up, stagger=stagger, short_rows=short)
    expected = {
        (c * across + (stagger if r % 2 else 0.0), r * up)
        for r in range(rows)
        for c in range(columns - 1 if short and r % 2 else columns)
    }
    assert set(by_row.points) == expected
    assert len(by_row) == len(expected)
    assert by_row.at(1) == (0.0, 0.0)
    for numbering in ("by column", "there and back"):
        other = grid(
            columns,
            rows,
            column_pitch=across,
            row_pitch=up,
            stagger=stagger,
            short_rows=short,
            numbering=numbering_named(numbering),
        )
        assert set(other.points) == expected
        assert other.at(1) == (0.0, 0.0)


def test_how_the_numbers_of_a_grid_run() -> None:
    def places(numbering: str) -> list[str]:
        found = grid(3, 2, column_pitch=10, row_pitch=5, numbering=numbering_named(numbering))
        return [p.removeprefix("row ").replace(", column ", "") for p in found.places]

    assert places("by row") == ["11", "12", "13", "21", "22", "23"]
    assert places("by column") == ["11", "21", "12", "22", "13", "23"]
    assert places("There and back ") == ["11", "12", "13", "23", "22", "21"]


@given(PITCHES)
def test_in_a_triangle_grid_all_neighbours_are_one_pitch_away(pitch: float) -> None:
    tri = grid(4, 3, column_pitch=pitch, row_pitch=triangle_row_pitch(pitch), stagger=pitch / 2)
    inner = tri.points[5]
    near = sorted(distance(inner, p) for p in tri.points if p != inner)[:6]
    assert near == pytest.approx([pitch] * 6, rel=1e-12)


def test_off_centre_and_left_out_keep_the_numbers() -> None:
    row = line(4, pitch=10.0).off_centre((1.5, -2.0)).without([2])
    assert row.numbers == (1, 3, 4)
    assert row.at(3) == (21.5, -2.0)
    assert row.origin == "hole 1, before it was set off"
    with pytest.raises(InputError, match="hole 2: this line has holes 1, 3 to 4"):
        row.at(2)
    with pytest.raises(InputError, match="every hole was left out"):
        line(2, pitch=1.0).without([1, 2])


def test_pitches_between_holes_of_a_row_only() -> None:
    assert line(6, pitch=2.0).pitches_between(6, 2) == 4
    assert grid(3, 2, column_pitch=1, row_pitch=1).pitches_between(1, 6) is None
    with pytest.raises(InputError, match="hole 7: this line has holes 1 to 6"):
        line(6, pitch=2.0).pitches_between(1, 7)


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), max_size=60), st.floats(0.01, 3))
def test_the_first_near_pair_is_the_one_that_trying_all_finds(points: list[Point], reach: float) -> None:
    expected = None
    for k, p in enumerate(points):
        near = [i for i in range(k) if distance(points[i], p) < reach]
        if near:
            expected = (near[0], k)
            break
    assert nearest_pair_within(points, reach) == expected


def test_two_holes_in_one_place_are_refused_by_number() -> None:
    with pytest.raises(InputError, match=r"holes 2 and 4 lie in one place \(0\.0000 mm apart\)"):
        free_points([(0, 0), (5, 5), (9, 1), (5, 5)])
    near = COINCIDENT_HOLES * 0.9
    with pytest.raises(InputError, match=r"holes 1 and 2 lie in one place \(0\.0009 mm apart\)"):
        free_points([(0, 0), (near, 0)])
    assert len(free_points([(0, 0), (COINCIDENT_HOLES * 1.1, 0)])) == 2


@given(st.randoms(use_true_random=False))
def test_the_order_in_a_drawing_does_not_change_the_numbers(dice: random.Random) -> None:
    circles = [Circle((10.0 * c + 0.3 * r, 20.0 * r + 0.05 * c), 2.5) for r in range(3) for c in range(4)]
    other_sizes = [Circle((100.0, 100.0), 2.4), Circle((0.0, 0.0), 4.0)]
    shuffled = circles + other_sizes
    dice.shuffle(shuffled)
    found = given_circles(shuffled, diameter=5.0, within=0.05)
    assert found.points == tuple(c.center for c in circles)
    assert found.numbers == tuple(range(1, 13))


def test_circles_are_in_one_row_up_to_half_a_diameter_above_its_lowest() -> None:
    """Circles of 10: one 5.0 higher is still in the row and comes by its X; one 5.1 higher begins the next row."""
    for rise, order in ((5.0, [(0.0, 5.0), (20.0, 0.0)]), (5.1, [(20.0, 0.0), (0.0, 5.1)])):
        found = given_circles([Circle((0.0, rise), 5.0), Circle((20.0, 0.0), 5.0)], diameter=10.0, within=0.1)
        assert found.points == tuple(order)


def test_circles_of_another_diameter_are_named() -> None:
    circles = [Circle((0, 0), 2.5), Circle((9, 0), 2.5), Circle((0, 9), 1.6)]
    with pytest.raises(InputError, match=r"none of 3 has diameter 6 mm within 0\.1 mm; expected one of 3\.2, 5 mm"):
        given_circles(circles, diameter=6.0, within=0.1)
    with pytest.raises(InputError, match="there is no circle at all"):
        given_circles([], diameter=6.0, within=0.1)
    with pytest.raises(InputError, match="holes 1 and 2 lie in one place"):
        given_circles([circles[0], circles[0]], diameter=5.0, within=0.1)
    with pytest.raises(InputError, match="within 7 mm: expected 0 or more and less than the diameter"):
        given_circles(circles, diameter=6.0, within=7.0)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: line(0, pitch=1.0), "line: count 0: expected at least 1 hole"),
        (lambda: line(-3, pitch=1.0), "line: count -3: expected at least 1 hole"),
        (lambda: line(MOST_HOLES + 1, pitch=1.0), "100001 holes: expected at most 100000"),
        (lambda: line(3), "expected a pitch or a length, one of them"),
        (lambda: line(3, pitch=1.0, length=2.0), "expected a pitch or a length, one of them"),
        (lambda: line(3, pitch=0.0), "pitch 0 mm: expected above zero"),
        (lambda: line(3, pitch=-5.0), "pitch -5 mm: expected above zero"),
        (lambda: line(3, pitch=math.nan), "pitch nan mm: expected above zero"),
        (lambda: line(3, pitch=math.inf), "pitch inf mm: expected above zero and at most 100000 mm"),
        (lambda: line(3, length=-1.0), "length -1 mm: expected above zero"),
        (lambda: line(1, length=5.0), "a length needs at least 2 holes"),
        (lambda: line(3, pitch=90_000.0), r"hole 3 would lie at X 180000, Y 0 mm; expected at most 100000 mm"),
        (lambda: line(3, pitch=0.0004), "holes 1 and 2 lie in one place"),
        (lambda: grid(0, 3, column_pitch=1, row_pitch=1), "grid: columns: count 0"),
        (lambda: grid(3, 0, column_pitch=1, row_pitch=1), "grid: rows: count 0"),
        (lambda: grid(2000, 2000, column_pitch=1, row_pitch=1), "4000000 holes: expected at most"),
        (lambda: grid(2, 2, column_pitch=0, row_pitch=1), "column pitch 0 mm"),
        (lambda: grid(2, 2, column_pitch=1, row_pitch=-1), "row pitch -1 mm"),
        (lambda: grid(2, 2, column_pitch=1, row_pitch=1, stagger=1), "stagger 1 mm: expected less than the column"),
        (lambda: grid(2, 2, column_pitch=1, row_pitch=1, stagger=math.nan), "stagger nan mm"),
        (lambda: grid(1, 2, column_pitch=1, row_pitch=1, short_rows=True), "short rows need at least 2 columns"),
        (lambda: numbering_named("zigzag"), 'numbering "zigzag": expected one of by row, by column, there and back'),
        (lambda: free_points([]), "points: count 0: expected at least 1 hole"),
        (
            lambda: free_points([(-100_000.1, 0.0)]),
            r"hole 1 would lie at X -100000, Y 0 mm; expected at most 100000 mm",
        ),
        (lambda: free_points([(0.0, -100_000.1)]), r"hole 1 would lie at X 0, Y -100000 mm"),
        (lambda: free_points([(0.0, 100_000.1)]), r"hole 1 would lie at X 0, Y 100000 mm"),
        (lambda: free_points([(0.0, math.nan)]), r"hole 1 would lie at X 0, Y nan mm"),
        (lambda: free_points([(0.0, 0.0), (math.inf, 0.0)]), r"hole 2 would lie at X inf"),
        (lambda: PatternPoints(((0, 0), (1, 0)), (1,), "x", "", ""), "expected a number for each of 2 holes"),
        (lambda: PatternPoints(((0, 0), (1, 0)), (1, 1), "x", "", ""), "expected hole numbers from 1, each once"),
        (lambda: PatternPoints(((0, 0), (1, 0)), (0, 1), "x", "", ""), "expected hole numbers from 1, each once"),
        (lambda: PatternPoints(((0, 0),), (1,), "x", "", "", ("a", "b")), "expected a place in words for each of 1"),
    ],
)
def test_patterns_that_cannot_be_are_refused(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]


@pytest.mark.slow
def test_a_hundred_thousand_holes_are_checked_in_seconds() -> None:
    assert len(grid(400, 250, column_pitch=2, row_pitch=2)) == 100_000
