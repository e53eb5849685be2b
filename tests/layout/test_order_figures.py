"""Orders of holes from the inside: the curve to begin with, every exchange on a small tour, and orders as recorded."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from recorded_figures import same_as_recorded

from holecam.layout import few_reversals, short_tours
from holecam.layout.drilling_order import short_tour, tour_travel
from holecam.layout.few_reversals import (
    _better_place,
    _chained,
    _exact_order,
    _mended,
    _run_ends,
    _Weight,
    best_one_sided,
    fewest_runs,
    least_reversals,
    turns_back,
)
from holecam.layout.one_sided import _approach, _count, approaches, one_sided_order
from holecam.layout.short_tours import (
    _along_curve,
    _curve_order,
    _Distances,
    _nearest,
    _read_off,
    _Search,
    improved_order,
)
from holecam.shapes import Point

FILE = "orders"


def scattered(seed: int, count: int) -> list[Point]:
    dice = random.Random(seed)
    return [(round(dice.uniform(0, 90), 3), round(dice.uniform(0, 60), 3)) for _ in range(count)]


# The curve --------------------------------------------------------------------------------------------------------


def test_the_curve_goes_from_cell_to_neighbouring_cell_and_through_every_one() -> None:
    """Hilbert's curve: 0 to 1023 are the cells of a square of 32, each a step from the one before."""
    cells = {_along_curve(x, y): (x, y) for x in range(32) for y in range(32)}
    assert sorted(cells) == list(range(1024))
    for k in range(1023):
        (x, y), (u, v) = cells[k], cells[k + 1]
        assert abs(x - u) + abs(y - v) == 1
    assert cells[0] == (0, 0)
    # four quarters of the whole square one after the other: up, right, down
    far = 1 << 15
    assert [_along_curve(x, y) >> 30 for x, y in ((0, 0), (0, far), (far, far), (far, 0))] == [0, 1, 2, 3]
    assert _along_curve((1 << 16) - 1, 0) == (1 << 32) - 1


def test_points_in_the_order_of_the_curve() -> None:
    square = [(10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)]
    assert _curve_order(square) == [3, 2, 1, 0]
    assert _curve_order([(5.0, 5.0), (5.0, 5.0), (5.0, 5.0)]) == [0, 1, 2]
    # the square over the points goes by the longer side, and begins where they begin
    assert _curve_order([(1040.0, -3.0), (1000.0, -3.0), (1000.0, 7.0), (1040.0, 7.0)]) == [1, 2, 3, 0]
    assert _curve_order([(-3.0, 1040.0), (-3.0, 1000.0), (7.0, 1000.0), (7.0, 1040.0)]) == [1, 2, 0, 3]
    same_as_recorded("along the curve", _curve_order(scattered(3, 40)), file=FILE)


def test_the_nearest_others_of_each_point() -> None:
    """Eight of them, nearest first, ties by index; more points than are worked on in one go."""
    points = [*scattered(5, 270), (500.0, 500.0)]
    for k, near in enumerate(_nearest(points)):
        others = sorted(
            (j for j in range(len(points)) if j != k), key=lambda j, k=k: (math.dist(points[j], points[k]), j)
        )
        assert near == others[:8]
    grid = [(10.0 * x, 10.0 * y) for y in range(3) for x in range(3)]
    assert _nearest(grid)[0] == [1, 3, 4, 2, 6, 5, 7, 8]
    assert _nearest(grid)[4] == [1, 3, 5, 7, 0, 2, 6, 8]
    assert _nearest(grid[:3]) == [[1, 2], [0, 2], [1, 0]]


def test_distances_are_worked_out_once_when_asked() -> None:
    row = _Distances((1.0, 2.0), [(1.0, 2.0), (4.0, 6.0), (-4.0, -10.0)])
    assert (row[1], row[2], row[0]) == (5.0, 13.0, 0.0)
    assert dict(row) == {1: 5.0, 2: 13.0, 0: 0.0}


# The search -------------------------------------------------------------------------------------------------------


def search(cycle: list[int], points: list[Point]) -> _Search:
    return _Search(list(cycle), [_Distances(p, points) for p in points], _nearest(points))


def consistent(s: _Search) -> bool:
    return all(s.cycle[s.at[k]] == k for k in range(len(s.cycle)))


def edges(cycle: list[int]) -> set[frozenset[int]]:
    return {frozenset((a, b)) for a, b in zip(cycle, [*cycle[1:], cycle[0]], strict=True)}


def length(cycle: list[int], points: list[Point]) -> float:
    return sum(math.dist(points[a], points[b]) for a, b in zip(cycle, [*cycle[1:], cycle[0]], strict=True))


@pytest.mark.parametrize(
    ("first", "last", "becomes"),
    [
        (2, 4, [0, 1, 4, 3, 2, 5, 6, 7, 8]),
        (0, 0, [0, 1, 2, 3, 4, 5, 6, 7, 8]),
        (0, 3, [3, 2, 1, 0, 4, 5, 6, 7, 8]),
        (7, 1, [8, 7, 2, 3, 4, 5, 6, 1, 0]),  # 7 8 0 1 turned round: 1 0 8 7
        (1, 6, [7, 1, 2, 3, 4, 5, 6, 0, 8]),  # six of nine: the other three 7 8 0 are turned round instead
        (2, 8, [1, 0, 2, 3, 4, 5, 6, 7, 8]),
    ],
)
def test_a_path_turned_round_or_the_rest_of_the_tour(first: int, last: int, becomes: list[int]) -> None:
    s = search(list(range(9)), scattered(1, 9))
    s._reverse(first, last)
    assert s.cycle == becomes
    assert consistent(s)


def test_every_exchange_of_two_edges() -> None:
    """a-b and c-d become a-c and b-d, in either direction, wherever they lie in the tour."""
    points = scattered(2, 7)
    for i, j in itertools.combinations(range(7), 2):
        if j - i in (1, 6):
            continue
        for way in (1, -1):
            s = search([3, 1, 4, 0, 6, 2, 5], points)
            a, b = s.cycle[i], s.cycle[(i + way) % 7]
            c, d = s.cycle[j], s.cycle[(j + way) % 7]
            if b == c or d == a:
                continue
            before = edges(s.cycle)
            s._exchange(a, b, c, d)
            new = {frozenset((a, c)), frozenset((b, d))}
            assert edges(s.cycle) == before - {frozenset((a, b)), frozenset((c, d))} | new
            assert consistent(s)
            assert len(s.reversed_paths) == 1
            s._reverse(*s.reversed_paths[0])
            assert edges(s.cycle) == before


@pytest.mark.parametrize("way", [1, -1])
def test_a_run_is_put_elsewhere_either_way_round(way: int) -> None:
    """The run 2 3 taken from between 1 and 4, with 2 beside 6 and 3 beside 7, or 2 beside 7 and 3 beside 6."""
    for c, d in ((6, 7), (7, 6)):
        s = search(list(range(9))[::way], scattered(4, 9))
        before = edges(s.cycle)
        s._insert(1, 2, 3, 4, c, d, forward=(c, d) == (6, 7))
        gone = {frozenset((1, 2)), frozenset((3, 4)), frozenset((6, 7))}
        assert edges(s.cycle) == before - gone | {frozenset((1, 4)), frozenset((2, c)), frozenset((3, d))}
        assert consistent(s)


def test_two_runs_change_places() -> None:
    s = search(list(range(9)), scattered(4, 9))
    s._swap_runs(2, 3, 2)
    assert s.cycle == [0, 1, 5, 6, 2, 3, 4, 7, 8]
    assert consistent(s)
    s._swap_runs(2, 2, 3)
    assert s.cycle == list(range(9))


def test_crossing_edges_are_uncrossed() -> None:
    """A square visited 0 2 1 3: its two diagonals of 10 sqrt 2 become two sides of 10."""
    points = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    s = search([0, 2, 1, 3], points)
    gain, touched = s._better_partner(0)
    assert gain == pytest.approx(20.0 * math.sqrt(2.0) - 20.0)
    assert touched == (0, 2, 1, 3)
    assert length(s.cycle, points) == pytest.approx(40.0)
    assert s._better_partner(0) == (0.0, ())
    back = search([3, 1, 2, 0], points)
    assert back._better_partner(0)[0] == pytest.approx(20.0 * math.sqrt(2.0) - 20.0)


def test_a_hole_left_aside_is_moved_into_its_row() -> None:
    """A row 0 to 5 and back, hole 2 visited on the way back between 7 and 8 far off: moving it saves its detour."""
    points = [(0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (30.0, 0.0), (40.0, 0.0), (40.0, 50.0), (20.0, 50.0), (0.0, 50.0)]
    s = search([0, 1, 3, 4, 5, 6, 2, 7], points)
    before = length(s.cycle, points)
    gain, touched = s._move_run(2)
    assert gain == pytest.approx(before - length(s.cycle, points))
    # freed: 6-2 and 2-7 less 6-7; spent: 1-2 and 2-3 less 1-3, which is nothing
    assert gain == pytest.approx(50.0 + math.hypot(20.0, 50.0) - 20.0)
    assert touched[:4] == (6, 2, 2, 7)
    assert edges(s.cycle) == edges([0, 1, 2, 3, 4, 5, 6, 7])
    assert s._move_run(2) == (0.0, ())
    assert consistent(s)


def test_improving_tells_what_it_gained() -> None:
    for seed in range(4):
        points = scattered(seed, 25)
        s = search(list(range(25)), points)
        before = length(s.cycle, points)
        gain = s._improve(list(range(25)))
        assert gain == pytest.approx(before - length(s.cycle, points))
        assert consistent(s)
        for k in range(25):
            assert s._better_partner(k) == s._move_run(k) == (0.0, ())


def test_a_kick_that_does_not_pay_leaves_the_tour_as_it_was() -> None:
    points = scattered(6, 20)
    s = search(list(range(20)), points)
    s._improve(list(range(20)))
    for place, one, two in ((1, 2, 3), (4, 5, 5), (0, 9, 9), (10, 4, 5)):
        before, edges_before = length(s.cycle, points), edges(s.cycle)
        s._kick_and_mend(place, one, two)
        after = length(s.cycle, points)
        assert after < before - 1e-7 or edges(s.cycle) == edges_before
        assert consistent(s)


def test_a_cycle_is_read_off_as_an_order() -> None:
    """From the start, from the stand-in, from hole 0 toward the lower number, or as it is, the lower end first."""
    cycle = [2, 0, 3, 1]
    assert _read_off(cycle, 4, None, closed=True, standin=None) == [0, 2, 1, 3]
    assert _read_off([0, 1, 3, 2], 4, None, closed=True, standin=None) == [0, 1, 3, 2]
    assert _read_off(cycle, 4, None, closed=False, standin=None) == [1, 3, 0, 2]
    assert _read_off([1, 0, 3, 2], 4, None, closed=False, standin=None) == [1, 0, 3, 2]
    # 4 is the stand-in of an open tour
    assert _read_off([2, 0, 4, 3, 1], 4, None, closed=False, standin=4) == [0, 2, 1, 3]
    assert _read_off([2, 3, 4, 0, 1], 4, None, closed=False, standin=4) == [0, 1, 2, 3]
    # 4 is the start, 5 the stand-in that follows or precedes it
    assert _read_off([2, 0, 5, 4, 3, 1], 4, 4, closed=False, standin=5) == [3, 1, 2, 0]
    assert _read_off([2, 0, 4, 5, 3, 1], 4, 4, closed=False, standin=5) == [0, 2, 1, 3]
    assert _read_off([2, 0, 4, 3, 1], 4, 4, closed=True, standin=None) == [3, 1, 2, 0]


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 7, 9, 14, 30])
def test_short_orders_as_recorded(count: int) -> None:
    """No order tried at random is shorter; for few holes none at all is (told by the other tests)."""
    points, start = scattered(count, count), (-5.0, 30.0)
    found = {
        "open": improved_order(points, start=None, closed=False),
        "closed": improved_order(points, start=None, closed=True),
        "open from a start": improved_order(points, start=start, closed=False),
        "closed from a start": improved_order(points, start=start, closed=True),
    }
    for order in found.values():
        assert sorted(order) == list(range(count))
    same_as_recorded(f"{count} holes", found, file=FILE)


def test_orders_of_grids_and_circles_as_recorded() -> None:
    """Many equal ways: which of them is taken stays the same from run to run."""
    grid = [(12.5 * x, 12.5 * y) for y in range(4) for x in range(5)]
    ring = [(30.0 * math.cos(k * math.tau / 11), 30.0 * math.sin(k * math.tau / 11)) for k in range(11)]
    for name, points, best in (("grid", grid, 19 * 12.5), ("ring", ring, 10 * 60.0 * math.sin(math.pi / 11))):
        tour = short_tour(points)
        assert tour.travel == pytest.approx(best)
        same_as_recorded(name, [tour, short_tour(points, start=(1.0, 2.0), end="back at the start")], file=FILE)


def test_how_much_is_kicked_is_counted() -> None:
    """Twice a point, at least 100 and at most 2000 times; none where five holes or fewer leave nothing to swap."""
    for count, kicks in ((4, 0), (5, 0), (6, 100), (50, 100), (51, 102), (70, 140)):
        s = search(list(range(count)), scattered(1, count))
        asked: list[tuple[int, int, int]] = []
        s._kick_and_mend = lambda *runs, to=asked: to.append(runs)  # type: ignore[method-assign,assignment]
        s.run()
        assert len(asked) == kicks
        for place, one, two in asked:
            assert place >= 0
            assert min(one, two) >= 1
            assert place + one + two < count
            assert max(one, two) <= min(30, (count - 2) // 2)
        same_as_recorded(f"kicks of {count}", asked[:12], file=FILE)


def test_so_many_holes_are_kicked_at_most_2000_times(monkeypatch: pytest.MonkeyPatch) -> None:
    s = search(list(range(1001)), scattered(1, 1001))
    asked: list[object] = []
    s._kick_and_mend = lambda *runs: asked.append(runs)  # type: ignore[method-assign,assignment]
    s._improve = lambda waiting: float(len(waiting))  # type: ignore[method-assign]
    s.run()
    assert len(asked) == 2000
    monkeypatch.setattr(short_tours, "MOST_IMPROVED", 10)
    points = scattered(3, 11)
    curve = _curve_order(points)
    assert improved_order(points, start=None, closed=False) == (curve if curve[0] < curve[-1] else curve[::-1])
    assert improved_order(points[:10], start=None, closed=True) != sorted(
        range(10), key=_curve_order(points[:10]).index
    )


def test_travel_by_hand() -> None:
    points = [(0.0, 0.0), (3.0, 4.0), (3.0, 16.0)]
    assert tour_travel(points, [0, 1, 2]) == 17.0
    assert tour_travel(points, [1, 2, 0]) == pytest.approx(12.0 + math.hypot(3.0, 16.0))
    assert tour_travel(points, [1, 2], start=(0.0, 0.0)) == 17.0
    assert tour_travel(points, [1, 2], start=(0.0, 0.0), end="back at the start") == pytest.approx(
        17.0 + math.hypot(3, 16)
    )
    assert tour_travel(points, [1, 2], end="back at the start") == 24.0
    assert tour_travel([], [], end="back at the start") == 0.0


# Few reversals ----------------------------------------------------------------------------------------------------


def weight_of(cells: list[tuple[int, int]]) -> _Weight:
    return _Weight(cells, [(float(x), float(y)) for x, y in cells])


def test_steps_that_turn_an_axis_back() -> None:
    assert turns_back((0, 0), (1, 1)) == 0
    assert turns_back((0, 0), (0, 0)) == 0
    assert turns_back((1, 0), (0, 0)) == 1
    assert turns_back((0, 1), (0, 0)) == 1
    assert turns_back((1, 1), (0, 0)) == 2


def test_the_weight_of_steps_and_orders() -> None:
    w = weight_of([(0, 0), (3, 4), (3, 0), (0, 4)])
    assert w.of_step(1, 0) == (2, 5.0)
    assert w.of_order([0, 1, 2, 3]) == (2, 5.0 + 4.0 + 5.0)
    assert w.of_order([0]) == (0, 0.0)
    assert w.of_steps([(0, 1), (None, 2), (2, None), (1, 2)]) == (1, 9.0)
    assert w.of_steps([]) == (0, 0.0)


def test_the_fewest_runs_by_hand() -> None:
    """From the left: (0, 5) begins a run, (1, 3) and (2, 1) each a new one; (3, 4) goes on the highest not above it."""
    cells = [(0, 5), (1, 3), (2, 1), (3, 4), (4, 6), (4, 2), (5, 4)]
    assert fewest_runs(cells) == [[0, 4], [1, 3, 6], [2, 5]]
    assert least_reversals(cells) == 2
    assert least_reversals([]) == 0
    assert fewest_runs([(1, 1), (1, 1), (0, 1)]) == [[2, 0, 1]]


def test_the_runs_one_after_the_other_in_three_orders() -> None:
    cells = [(0, 5), (1, 3), (2, 1), (3, 4), (4, 6), (4, 2), (5, 4)]
    # upward by their beginnings; from the left; the one that ends farthest right first, of two the lower one
    assert _chained(cells) == [[2, 5, 1, 3, 6, 0, 4], [0, 4, 1, 3, 6, 2, 5], [1, 3, 6, 2, 5, 0, 4]]
    # two runs that begin equally low: the one farther left first
    assert _chained([(0, 0), (1, 5), (3, 7), (5, 3), (6, 0)])[0] == [0, 1, 2, 4, 3]
    for seed in range(6):
        scatter = [(round(x / 6), round(y / 6)) for x, y in scattered(seed, 20)]
        runs = fewest_runs(scatter)
        for before, after in itertools.pairwise(runs):
            assert scatter[before[0]][0] < scatter[after[0]][0]
            assert scatter[before[-1]][1] > scatter[after[-1]][1]


def test_where_a_run_may_end() -> None:
    """One hole, two or three, or everything up to the next turn."""
    w = weight_of([(0, 0), (1, 1), (2, 2), (3, 3), (4, 4), (0, 5), (1, 6)])
    assert _run_ends(range(7), 0, w) == [0, 1, 2, 4]
    assert _run_ends(range(7), 2, w) == [2, 3, 4]
    assert _run_ends(range(7), 3, w) == [3, 4, 5]
    assert _run_ends(range(7), 5, w) == [5, 6]
    assert _run_ends(range(7), 6, w) == [6]


def test_the_better_place_of_a_run() -> None:
    """Climbing holes 0 to 4 with the third one told last: between its neighbours it saves two turns."""
    w = weight_of([(0, 0), (1, 1), (3, 3), (4, 4), (2, 2)])
    assert _better_place([0, 1, 2, 3, 4], 4, 4, w) == 2
    assert _better_place([0, 1, 4, 2, 3], 2, 2, w) is None
    assert _better_place([4, 0, 1, 2, 3], 0, 0, w) == 2
    assert _better_place([2, 3, 0, 1, 4], 0, 1, w) == 3
    assert _better_place([0], 0, 0, w) is None
    # travel alone: hole 2 at (2, 0) told before hole 1 at (1, 0) on a level row that is run backward
    level = weight_of([(0, 0), (0, 5), (0, 9)])
    assert _better_place([0, 2, 1], 1, 1, level) == 2
    assert _mended([1, 2, 0], level) == [0, 1, 2]


def test_mended_orders_weigh_less_and_are_as_recorded() -> None:
    for seed in range(6):
        cells = [(round(x), round(y)) for x, y in scattered(seed, 14)]
        w = weight_of(cells)
        order = list(range(14))
        mended = _mended(order, w)
        assert sorted(mended) == order
        assert w.of_order(mended) < w.of_order(order)
        same_as_recorded(f"mended {seed}", [mended, _chained(cells)], file=FILE)


def test_the_best_of_all_orders_by_trying_them() -> None:
    for seed in range(8):
        cells = [(round(x / 12), round(y / 12)) for x, y in scattered(seed, 6)]
        w = weight_of(cells)
        best = min(w.of_order(p) for p in itertools.permutations(range(6)))
        found = w.of_order(_exact_order(w))
        assert found[0] == best[0]
        assert found[1] == pytest.approx(best[1])


def test_of_equal_orders_always_the_same_one() -> None:
    """Squares and crosses: many orders weigh the same."""
    square, cross = [(0, 0), (5, 0), (0, 5), (5, 5)], [(5, 0), (0, 5), (5, 5), (10, 5), (5, 10)]
    falling = [(0, 9), (3, 6), (6, 3), (9, 0)]
    same_as_recorded("equal orders", [_exact_order(weight_of(c)) for c in (square, cross, falling)], file=FILE)


def test_one_sided_orders_as_recorded() -> None:
    """Up to nine holes all orders are weighed, up to sixty runs are moved about, beyond that the plain orders stand."""
    for count in (1, 2, 5, 8, 10, 20, 61):
        cells = [(round(x), round(y)) for x, y in scattered(count, count)]
        points = [(float(x), float(y)) for x, y in cells]
        order = best_one_sided(cells, points)
        w = _Weight(cells, points)
        rows = sorted(range(count), key=lambda k, c=cells: (c[k][1], c[k][0], k))
        assert w.of_order(order)[0] <= w.of_order(rows)[0]
        same_as_recorded(f"one-sided, {count} holes", order, file=FILE)


def test_the_limits_of_the_ways_to_order(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def plain(told: object) -> list[int]:
        return list(range(len(told.counts))) if isinstance(told, _Weight) else list(told)  # type: ignore[call-overload]

    for name in ("_exact_order", "_mended"):
        monkeypatch.setattr(few_reversals, name, lambda first, *rest, n=name: (asked.append(n), plain(first))[1])
    for count, ways in ((9, {"_exact_order"}), (10, {"_mended"}), (60, {"_mended"}), (61, set())):
        asked.clear()
        cells = [(k % 7, (3 * k) % 11) for k in range(count)]
        best_one_sided(cells, [(float(x), float(y)) for x, y in cells])
        assert set(asked) == ways


def test_one_sided_tables_in_full() -> None:
    points = [(0.0, 0.0), (25.0, 10.0), (10.0, 30.0), (40.0, 5.0), (12.0, 12.0)]
    for name, senses, start, unit in (
        ("plus plus", (1, 1), None, "mm"), ("minus plus", (-1, 1), (5.0, 5.0), "in"),
        ("minus minus", (-1, -1), None, "mm"),
    ):  # fmt: skip
        found = one_sided_order(points, senses=senses, back_off=0.8, start=start, unit=unit)  # type: ignore[arg-type]
        same_as_recorded(f"one-sided table: {name}", found, file=FILE)
        again = approaches(points, [4, 2, 0], senses=senses, back_off=0.8, start=start, unit=unit)  # type: ignore[arg-type]
        same_as_recorded(f"approaches: {name}", again, file=FILE)


def test_steps_of_the_readout_decide_whether_an_axis_comes_back() -> None:
    assert _count(0.0014, 1) == 1
    assert _count(0.0014, -1) == -1
    assert _count(-0.0016, 1) == -2
    near = _approach(0, (10.0, 10.0), (10.0004, 9.9996), (1, 1), 0.5, "mm")
    assert near.turn_at == (10.0, 10.0)
    assert near.overshoot.words == ""
    past = _approach(3, (10.0, 10.0), (10.001, 9.999), (1, 1), 0.5, "mm")
    assert past.turn_at == (9.5, 10.0)
    assert past.index == 3
    assert past.at == (10.0, 10.0)
    assert (past.overshoot.x, past.overshoot.y) == (-0.5, 0.0)
    other = _approach(0, (10.0, 10.0), (10.001, 9.999), (-1, -1), 0.5, "mm")
    assert other.turn_at == (10.0, 10.5)
    assert other.overshoot.words == "Y: go 0.500 mm past it toward +Y, come back in -Y"
