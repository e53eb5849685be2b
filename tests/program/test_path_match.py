"""Planned cuts are found in a program however it divides, repeats or reorders them; differences have a size."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from moves_by_hand import columns

from holecam.program.moves import Kind, Moves
from holecam.program.path_match import SEARCH_BUDGET, PathMatch, _alike, _Search, match_paths
from holecam.program.path_pieces import Pieces, cutting_pieces, locate, part_of
from holecam.program.reader import read_program

TOLERANCE = 0.002
HEADER = "G21 G90\nT1 M6\nG0 Z50\nG0 X0 Y0\nS500 M3\nG1 F100 Z-1\n"


def moves_of(*lines: str) -> Moves:
    reading = read_program(HEADER + "\n".join(lines) + "\nM30\n")
    assert reading.refused == ()
    return reading.moves


def pieces(*lines: str) -> Pieces:
    return cutting_pieces(moves_of(*lines), 0.0, TOLERANCE, set(), 0.001)


def match(plan: Pieces, program: Pieces) -> PathMatch:
    return match_paths(plan, program, TOLERANCE, np.full(len(plan), 3.0))


def clean(found: PathMatch) -> bool:
    return not (found.missing or found.extra or found.out_of_order or found.reversed_pairs) and found.given_up < 0


SQUARE = ("G1 X20", "Y20", "X0", "Y0")


def test_the_same_path() -> None:
    found = match(pieces(*SQUARE), pieces(*SQUARE))
    assert clean(found)
    assert found.planned.tolist() == found.program.tolist() == [0, 1, 2, 3, 4]


@given(st.lists(st.floats(0.05, 0.95), max_size=6), st.integers(0, 3))
@settings(max_examples=40)
def test_a_divided_line_is_the_same_line(shares: list[float], side: int) -> None:
    ends = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0), (0.0, 0.0)]
    lines = []
    for k, (a, b) in enumerate(itertools.pairwise(ends)):
        if k == side:
            lines += [
                f"G1 X{a[0] + s * (b[0] - a[0]):.3f} Y{a[1] + s * (b[1] - a[1]):.3f}" for s in sorted(set(shares))
            ]
        lines.append(f"G1 X{b[0]} Y{b[1]}")
    assert clean(match(pieces(*SQUARE), pieces(*lines)))
    assert clean(match(pieces(*lines), pieces(*SQUARE)))


def test_arcs_divided_joined_and_as_circles() -> None:
    halves = ("G2 X10 Y0 I5 J0", "G2 X0 Y0 I-5 J0")
    quarters = ("G2 X5 Y5 I5 J0", "G2 X10 Y0 J-5", "G2 X5 Y-5 I-5 J0", "G2 X0 Y0 J5")
    circle = ("G2 X0 Y0 I5 J0",)
    for one in (halves, quarters, circle):
        for other in (halves, quarters, circle):
            assert clean(match(pieces(*one), pieces(*other)))
    turned = match(pieces(*halves), pieces("G3 X10 Y0 I5 J0", "G3 X0 Y0 I-5 J0"))
    assert len(turned.reversed_pairs) == 2, "the same circle the other way"
    whole = match(pieces("G2 X0 Y0 I5 J0"), pieces("G3 X0 Y0 I5 J0"))
    assert len(whole.reversed_pairs) == 2, "start, middle and end of a full circle do not tell its sense"


def test_helices_divided() -> None:
    once = ("G3 X10 Y0 Z-2 I5 J0",)
    twice = ("G3 X5 Y-5 Z-1.5 I5 J0", "G3 X10 Y0 Z-2 J5")
    assert clean(match(pieces(*once), pieces(*twice)))
    deep = match(pieces(*once), pieces("G3 X5 Y-5 Z-1.6 I5 J0", "G3 X10 Y0 Z-2 J5"))
    assert deep.extra
    assert deep.missing


def test_what_is_left_out_is_told_with_its_length() -> None:
    found = match(pieces(*SQUARE), pieces("G1 X20", "Y20", "X5", "G0 Z50", "X0 Y20", "Z-1", "G1 Y0"))
    assert found.missing == [(3, pytest.approx(5.0))]
    assert not found.extra


def test_what_is_too_much_is_told_with_its_distance() -> None:
    found = match(pieces(*SQUARE), pieces("G1 X20", "Y20", "X10", "X10 Y19.5", "X0 Y20", "Y0"))
    assert max(off for _, off, _ in found.extra) == pytest.approx(0.5)
    assert sum(left for _, left in found.missing) == pytest.approx(10.0)


def test_repeats_are_counted_and_harmless() -> None:
    again = match(pieces(*SQUARE), pieces(*SQUARE, *SQUARE))
    assert again.repeats == 4
    assert clean(again)
    above = match(pieces(*SQUARE), pieces(*SQUARE, "G1 Z-0.5", "G1 X20"))
    assert above.repeats >= 1
    assert not above.extra


def test_a_cut_above_a_planned_one_that_comes_before_it_is_not_a_repeat() -> None:
    """It would take metal that the plan takes otherwise."""
    found = match(pieces(*SQUARE), pieces("G1 Z-0.5", "X20", "X0", "Z-1", *SQUARE))
    assert found.extra


def test_order_of_passes() -> None:
    def passes(*heights: float) -> list[str]:
        lines = []
        for z in heights:
            lines += ["G0 Z50", "X0 Y0", f"Z{z + 0.4}", f"G1 Z{z}", "X20", "Y5"]
        return lines

    plan = pieces(*passes(-1.5, -2.0, -2.5))
    wrong = match(plan, pieces(*passes(-2.0, -1.5, -2.5)))
    assert wrong.out_of_order
    right = match(plan, pieces(*passes(-1.5, -2.0, -2.5)))
    assert clean(right)


def test_pieces_far_apart_may_change_places() -> None:
    def cut(x: float) -> list[str]:
        return ["G0 Z50", f"X{x} Y50", "Z0.5", "G1 Z-1", f"X{x + 5}"]

    found = match(pieces(*cut(0), *cut(40)), pieces(*cut(40), *cut(0)))
    assert clean(found)
    assert found.reordered > 0
    near = match(pieces(*cut(0), *cut(7)), pieces(*cut(7), *cut(0)))
    assert clean(near), "level with each other: neither takes more depth"


def test_air_is_not_compared() -> None:
    plan = pieces("G0 Z5", "X0 Y0", "G1 Z-2", "X20")
    assert clean(match(plan, pieces("G0 Z5", "X0 Y0", "G1 Z3", "Z0.5", "Z-2", "X20")))
    assert len(pieces("G0 Z5", "G1 X20 Z3", "G0 X0")) == 1, "only the plunge of the header is in the metal"


def test_a_slope_is_clipped_at_the_top() -> None:
    cut = pieces("G0 Z5", "X0 Y0", "G1 X10 Z-5")
    assert cut.start[-1].tolist() == pytest.approx([5.0, 0.0, 0.0])
    up = pieces("G1 X10 Z4")
    assert up.end[-1].tolist() == pytest.approx([2.0, 0.0, 0.0])


@given(
    st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=1, max_size=8, unique=True),
    st.randoms(use_true_random=False),
)
@settings(max_examples=15)
def test_locate_agrees_with_dense_points(path: list[tuple[int, int]], rng: random.Random) -> None:
    some = pieces(*(f"G1 X{x}.5 Y{y} Z{-1 - k % 3}" for k, (x, y) in enumerate(path)), "G2 X0 Y0 R200")
    point = (rng.uniform(-50, 50), rng.uniform(-50, 50), rng.uniform(-4, 0))
    off, share = locate(some, point)
    for i in range(len(some)):
        dense = [part_of(some, i, 0.0, s).end[0] if s else some.start[i] for s in np.linspace(0, 1, 60)]
        nearest = min(math.dist(p, point) for p in dense)
        plane = abs(float(some.start[i, 2]) - float(some.end[i, 2])) < 1e-9
        assert off[i] <= nearest + 1e-9 or not plane
        at = part_of(some, i, 0.0, float(share[i])).end[0] if share[i] > 0 else some.start[i]
        assert math.dist(at, point) == pytest.approx(off[i], abs=1e-6)


def test_a_program_of_another_part_is_given_up_within_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holecam.program.path_match.SEARCH_BUDGET", 5000)
    rng = random.Random(2)
    plan = pieces(*(f"G1 X{rng.uniform(0, 50):.3f} Y{rng.uniform(0, 50):.3f}" for _ in range(200)))
    other = pieces(*(f"G1 X{rng.uniform(0, 50):.3f} Y{rng.uniform(0, 50):.3f}" for _ in range(200)))
    found = match(plan, other)
    assert 0 < found.given_up < 60, "each piece costs some hundred of the 5000 distances"
    assert found.missing


def test_where_nothing_is_planned_every_cut_is_too_much() -> None:
    """A plan that mills nothing says nothing about a cut but that it should not be there."""
    nothing = pieces(*SQUARE).take(np.zeros(0, dtype=np.intp))
    found = match(nothing, pieces("G1 X20", "Y20"))
    assert [(j, off) for j, off, _ in found.extra] == [(0, math.inf), (1, math.inf), (2, math.inf)]
    assert found.repeats == 0
    assert [place for _, _, place in found.extra] == [(0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (20.0, 0.0, -1.0)]
    assert clean(match(nothing, nothing))


def test_a_move_that_rounding_makes_vanish_is_no_piece() -> None:
    """Both ends on one step of 0.001 mm: nothing would be written. Across a half step it is one step long."""
    for x0, x1, count in ((10.0, 10.0002, 0), (10.0002, 10.0, 0), (10.0004, 10.0006, 1), (-10.0, -10.0002, 0)):
        one = columns((Kind.FEED, (x0, 10.0, -1.0), (x1, 10.0, -1.0), None))
        assert len(cutting_pieces(one, 0.0, TOLERANCE, set(), 0.001)) == count
    across = columns((Kind.FEED, (-10.0, 0.0, -1.0), (10.0, 0.0, -1.0), None))
    assert len(cutting_pieces(across, 0.0, TOLERANCE, set(), 0.001)) == 1


def test_of_places_equally_far_off_the_first_is_told() -> None:
    """A cut beside a planned one, half a millimetre from end to end: it is told where it begins."""
    for first, last in ((4, 16), (16, 4)):
        found = match(pieces(*SQUARE), pieces(*SQUARE, "G0 Z50", f"X{first} Y0.5", "Z-1", f"G1 X{last}"))
        assert found.extra == [(5, 0.5, (float(first), 0.5, -1.0))]


def test_the_farthest_place_of_a_cut_is_told_wherever_it_lies() -> None:
    for first, last in ((0.25, 1.25), (1.25, 0.25)):
        found = match(pieces(*SQUARE), pieces(*SQUARE, "G0 Z50", f"X10 Y{first}", "Z-1", f"G1 Y{last}"))
        assert found.extra == [(5, 1.25, (10.0, 1.25, -1.0))]


def test_where_a_tool_has_been_before_nothing_is_removed() -> None:
    """The second time along the same wrong line is no second finding; by another way down it is one."""
    aside = ("G0 Z50", "X4 Y0.5", "Z-1", "G1 X16")
    again = match(pieces(*SQUARE), pieces(*SQUARE, *aside, *aside))
    assert [j for j, _, _ in again.extra] == [5]
    assert again.repeats == 1
    deeper = match(pieces(*SQUARE), pieces(*SQUARE, *aside, "G0 Z50", "X4 Y0.5", "Z-1.1", "G1 X16"))
    assert [(j, pytest.approx(off)) for j, off, _ in deeper.extra] == [(5, 0.5), (6, math.hypot(0.5, 0.1))]


def test_a_cut_that_is_nowhere_costs_what_was_looked_at() -> None:
    """200 planned cuts: the next 3 and 64 near ones, twice their ends, and all of them twice and their ends."""
    rng = random.Random(4)
    plan = pieces(*(f"G1 X{rng.uniform(0, 50):.3f} Y{rng.uniform(0, 50):.3f}" for _ in range(199)))
    assert len(plan) == 200
    lost = pieces("G0 Z50", "X90 Y90", "Z-1", "G1 X95").take(slice(1, 2))
    search = _Search(plan, lost, TOLERANCE, 0, 0)
    search.run()
    assert SEARCH_BUDGET - search.budget == (3 + 64) + 2 * 64 + 2 * 200 + 2 * 200
    assert [j for j, _ in search.lost] == [0]


def test_no_more_than_a_hundred_lost_cuts_are_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = pieces(*SQUARE)
    monkeypatch.setattr(_Search, "_off_plan", lambda self, piece, j: None if j == 3 else (float(j), (1.0, 2.0, 3.0)))
    for count, given_up in ((100, -1), (101, -1), (102, 101), (110, 101)):
        search = _Search(plan, plan, TOLERANCE, 0, 0)
        search.lost = [(j, plan) for j in range(count)]
        search.settle_extras()
        assert search.result.given_up == given_up
        assert search.result.repeats == 1
        assert search.result.extra == [(j, float(j), (1.0, 2.0, 3.0)) for j in range(min(count, 101)) if j != 3]
    search = _Search(plan, plan, TOLERANCE, 0, 0)
    search.lost, search.budget = [(4, plan), (7, plan)], 0
    search.settle_extras()
    assert (search.result.given_up, search.result.extra) == (4, [])
    for before, given_up in ((2, 2), (9, 4)):
        search.result.given_up = before
        search.settle_extras()
        assert search.result.given_up == given_up


def test_pieces_that_run_alike_are_taken_together() -> None:
    """From the expected piece on, at least four, none of them cut before; each costs one distance."""
    path = tuple(f"X{3 * k} Y{k * k % 7}" for k in range(1, 13))
    plan = pieces(*path)

    def taken(program: Pieces, cursor: int, j: int, covered: tuple[int, ...] = ()) -> tuple[int, int]:
        search = _Search(plan, program, TOLERANCE, 0, 0)
        search.cursor = cursor
        search.covered = {i: [(0.0, 1.0)] for i in covered}
        count = search._run_alike(j)
        if count:
            assert search.pairs == [(cursor + 1 + k, j + k) for k in range(count)]
            assert search.cursor == cursor + count
            assert search.first_cut == {cursor + 1 + k: j + k for k in range(count)}
        return count, SEARCH_BUDGET - search.budget

    assert taken(plan, 0, 1) == (12, 12)
    assert taken(plan, 4, 5) == (8, 8)
    assert taken(plan, 8, 9) == (4, 4)
    assert taken(plan, 9, 10) == (0, 0), "three are too few"
    assert taken(plan, 0, 2) == (0, 11), "not the expected one"
    assert taken(plan, 0, 1, covered=(3,)) == (0, 12)
    assert taken(plan, 0, 1, covered=(0,)) == (12, 12)
    for last, count in ((3, 0), (4, 4), (5, 5)):
        aside = pieces(*path[:last], "X90 Y90", *path[last + 1 :])
        assert taken(aside, 0, 1) == (count, 12)
    assert taken(plan.take(slice(0, 7)), 0, 1) == (6, 6)


class Points:
    """Three points of each piece, which is all that is compared."""

    def __init__(self, start: np.ndarray, middle: np.ndarray, end: np.ndarray) -> None:
        self.start, self.middle, self.end = start, middle, end

    def __len__(self) -> int:
        return len(self.start)


def test_alike_is_within_the_tolerance_at_three_points() -> None:
    """Two quarters of circles: one of the three points moved along one axis at a time."""
    for part in ["start", "middle", "end"]:
        for axis in [0, 1, 2]:
            whole = pieces("G2 X5 Y5 I5 J0", "X10 Y0 J-5")
            for off, alike in ((0.002, True), (-0.002, True), (0.0021, False), (-0.0021, False)):
                moved = np.array(getattr(whole, part))
                moved[1, axis] += off
                other = Points(whole.start, whole.middle, whole.end)
                setattr(other, part, moved)
                for a, b in ((whole, other), (other, whole)):
                    assert _alike(a, b, 0.0020000001).tolist() == [True, alike, True]
