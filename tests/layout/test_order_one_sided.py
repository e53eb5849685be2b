"""One-sided approach: no hole is met against the stated sense, and reversals are as few as can be proved."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.few_reversals import fewest_runs, least_reversals, turns_back
from holecam.layout.one_sided import (
    DEFAULT_BACK_OFF,
    SAME_READING,
    approaches,
    back_off_distance,
    one_sided_order,
)
from holecam.shapes import Point

cells = st.tuples(st.integers(0, 8), st.integers(0, 8)).map(lambda p: (10.0 * p[0], 7.5 * p[1]))
SENSES = st.sampled_from([(1, 1), (1, -1), (-1, 1), (-1, -1)])
many = st.lists(cells, min_size=1, max_size=25, unique=True)


@given(many, SENSES, st.floats(0.1, 5), st.sampled_from([None, (35.0, 20.0)]))
def test_every_axis_arrives_in_its_sense(
    points: list[Point], senses: tuple[int, int], back_off: float, start: Point | None
) -> None:
    """Follow the table through every move and note in which sense each axis moved last."""
    result = one_sided_order(points, senses=senses, back_off=back_off, start=start)
    assert sorted(result.order) == list(range(len(points)))
    here = start
    for step in (*result.steps, result.closing):
        for target in (step.turn_at, step.at):
            if here is not None:
                for axis in (0, 1):
                    move = target[axis] - here[axis]
                    if target == step.at and abs(move) > SAME_READING:
                        assert move * senses[axis] > 0, f"hole {step.index} met against the sense"
            here = target
        assert step.at == points[step.index]
        for axis, by in enumerate((step.overshoot.x, step.overshoot.y)):
            assert step.turn_at[axis] == step.at[axis] + by
            assert by in (0.0, -senses[axis] * back_off)
    assert result.closing.index == result.order[0]


@given(st.lists(cells, min_size=1, max_size=6, unique=True), SENSES)
def test_for_few_holes_no_order_turns_back_less_often(points: list[Point], senses: tuple[int, int]) -> None:
    result = one_sided_order(points, senses=senses)
    counted = [(senses[0] * round(x / SAME_READING), senses[1] * round(y / SAME_READING)) for x, y in points]
    best = min(
        sum(turns_back(counted[a], counted[b]) for a, b in itertools.pairwise(order))
        for order in itertools.permutations(range(len(points)))
    )
    assert result.reversals == best
    assert result.least_reversals <= best


@given(many, SENSES)
def test_never_more_reversals_than_plain_rows_or_columns(points: list[Point], senses: tuple[int, int]) -> None:
    result = one_sided_order(points, senses=senses)
    for key in ((1, 0), (0, 1)):
        order = sorted(range(len(points)), key=lambda k, key=key: [senses[a] * points[k][a] for a in key])  # type: ignore[misc]
        plain = approaches(points, order, senses=senses, back_off=1.0)
        assert result.reversals <= sum((s.overshoot.x != 0) + (s.overshoot.y != 0) for s in plain[1:])
    assert result.least_reversals <= result.reversals


@given(many)
def test_the_fewest_runs_climb_and_their_number_is_the_largest_clash(points: list[Point]) -> None:
    """Dilworth: as many runs as the largest set in which no point can follow another, found here by trying all."""
    counted = [(round(x), round(10 * y)) for x, y in points[:12]]
    runs = fewest_runs(counted)
    assert sorted(k for run in runs for k in run) == list(range(len(counted)))
    for run in runs:
        assert all(turns_back(counted[a], counted[b]) == 0 for a, b in itertools.pairwise(run))

    def clash(group: tuple[int, ...]) -> bool:
        return all(
            turns_back(counted[a], counted[b]) and turns_back(counted[b], counted[a])
            for a, b in itertools.combinations(group, 2)
        )

    largest = max(
        size
        for size in range(1, len(counted) + 1)
        if any(clash(group) for group in itertools.combinations(range(len(counted)), size))
    )
    assert len(runs) == largest
    assert least_reversals(counted) == largest - 1


def test_rows_are_run_from_one_end_and_never_back_and_forth() -> None:
    """Three rows of four: the way there and back would turn X at every hole of the second row."""
    points = [(10.0 * c, 20.0 * r) for r in range(3) for c in range(4)]
    result = one_sided_order(points)
    assert result.order == tuple(range(12))
    assert (result.reversals, result.least_reversals) == (2, 2)
    serpentine = [0, 1, 2, 3, 7, 6, 5, 4, 8, 9, 10, 11]
    there_and_back = approaches(points, serpentine, senses=(1, 1), back_off=1.0)
    assert sum(s.overshoot.x != 0 for s in there_and_back[1:]) == 3
    assert result.steps[4].overshoot.x == -DEFAULT_BACK_OFF
    assert result.steps[4].overshoot.y == 0.0


def test_columns_when_they_turn_back_less() -> None:
    points = [(10.0 * c, 20.0 * r) for r in range(5) for c in range(2)]
    result = one_sided_order(points)
    assert result.order == (0, 2, 4, 6, 8, 1, 3, 5, 7, 9)
    assert result.reversals == 1


def test_the_other_senses_begin_at_the_other_corner() -> None:
    points = [(10.0 * c, 20.0 * r) for r in range(2) for c in range(3)]
    assert one_sided_order(points, senses=(-1, -1)).order == (5, 4, 3, 2, 1, 0)
    assert one_sided_order(points, senses=(-1, 1)).order == (2, 1, 0, 5, 4, 3)


def test_a_falling_row_turns_one_axis_at_every_hole_and_says_so() -> None:
    points = [(10.0 * k, -2.0 * k) for k in range(5)]
    result = one_sided_order(points)
    assert result.reversals == result.least_reversals == 4


def test_noise_below_the_readout_turns_no_handle() -> None:
    points = [(10.0 * k, -1e-12 * k) for k in range(5)]
    assert one_sided_order(points).reversals == 0


def test_the_first_hole_is_passed_on_both_axes_unless_it_is_known_where_the_table_stands() -> None:
    points = [(10.0, 10.0), (20.0, 10.0)]
    unknown = one_sided_order(points, back_off=0.5)
    assert unknown.steps[0].turn_at == (9.5, 9.5)
    assert unknown.steps[0].overshoot.words == (
        "X: go 0.500 mm past it toward -X, come back in +X; Y: go 0.500 mm past it toward -Y, come back in +Y"
    )
    known = one_sided_order(points, back_off=0.5, start=(0.0, 50.0))
    assert known.steps[0].turn_at == (10.0, 9.5)
    assert known.steps[1].turn_at == (20.0, 10.0)
    assert known.steps[1].overshoot.words == ""
    travel = math.dist((0, 50), (10, 9.5)) + 0.5 + 10
    assert known.travel == pytest.approx(travel)


def test_the_closing_move_comes_back_in_the_same_senses() -> None:
    result = one_sided_order([(0.0, 0.0), (10.0, 0.0), (20.0, 5.0)], back_off=0.5)
    assert result.closing.index == 0
    assert result.closing.turn_at == (-0.5, -0.5)


def test_words_in_inches_and_for_a_negative_sense() -> None:
    way = approaches([(0.0, 0.0), (5.0, 0.0)], [0, 1], senses=(-1, 1), back_off=1.27, unit="in")
    assert way[1].overshoot.words == "X: go 0.0500 in past it toward +X, come back in -X"
    assert way[1].turn_at == (6.27, 0.0)


@pytest.mark.outside_check(
    subject="backlash",
    source="college page on backlash: at least a quarter turn",
    closeness="exact",
    standing="common practice",
)
@pytest.mark.parametrize(
    ("lead", "backlash", "expected"),
    [
        (5.08, 0.1, 1.27),  # a quarter turn of 0.2 in
        (2.0, 0.4, 0.8),  # twice the backlash is more
        (2.0, 0.25, 0.5),
        (None, 0.0, DEFAULT_BACK_OFF),
        (None, 1.0, 2.0),
    ],
)
def test_how_far_to_back_off(lead: float | None, backlash: float, expected: float) -> None:
    """The larger of a quarter turn and twice the backlash: common practice, after a college page on backlash."""
    assert back_off_distance(lead=lead, backlash=backlash) == pytest.approx(expected)


def test_many_scattered_holes_keep_near_the_bound() -> None:
    dice = random.Random(2)
    points = [(dice.uniform(0, 100), dice.uniform(0, 100)) for _ in range(50)]
    result = one_sided_order(points)
    assert result.reversals <= 1.5 * result.least_reversals


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        ({"points": []}, "expected at least one hole"),
        ({"points": [(0.0, math.nan)]}, "expected finite coordinates"),
        ({"senses": (0, 1)}, r"approach senses \(0, 1\): expected \+1 or -1"),
        ({"back_off": 0.0}, r"back-off 0\.0 mm: expected above zero"),
        ({"back_off": math.nan}, "back-off nan mm"),
    ],
)
def test_orders_that_cannot_be(figures: dict[str, object], message: str) -> None:
    with pytest.raises(InputError, match=message):
        one_sided_order(**({"points": [(0.0, 0.0)]} | figures))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("lead", "backlash", "message"),
    [
        (0.0, 0.0, r"lead 0\.0 mm: expected above zero"),
        (math.nan, 0.0, "lead nan mm"),
        (5.0, -0.1, r"backlash -0\.1 mm: expected 0 or more"),
        (None, math.inf, "backlash inf mm"),
    ],
)
def test_screws_that_cannot_be(lead: float | None, backlash: float, message: str) -> None:
    with pytest.raises(InputError, match=message):
        back_off_distance(lead=lead, backlash=backlash)
