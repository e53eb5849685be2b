"""Drilling order for short travel: against every order of few holes and a general-purpose solver for many."""

from __future__ import annotations

import itertools
import math
import random
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse.csgraph import connected_components
from scipy.spatial import Delaunay

from holecam.errors import InputError
from holecam.layout.drilling_order import short_tour, tour_travel
from holecam.layout.short_tours import improved_order
from holecam.shapes import Point

ALLOWED_RATIO = 1.10  # no worse than this against the best tour that the solver finds

cells = st.tuples(st.integers(-12, 12), st.integers(-12, 12)).map(lambda p: (p[0] * 2.5, p[1] * 2.5))
few = st.lists(cells, min_size=1, max_size=7, unique=True)


@given(few, st.sampled_from([None, (3.0, -40.0)]), st.sampled_from(["anywhere", "back at the start"]))
def test_for_few_holes_no_order_is_shorter(points: list[Point], start: Point | None, end: str) -> None:
    tour = short_tour(points, start=start, end=end)  # type: ignore[arg-type]
    every = itertools.permutations(range(len(points)))
    best = min(tour_travel(points, order, start=start, end=end) for order in every)  # type: ignore[arg-type]
    assert tour.travel == pytest.approx(best, abs=1e-9)


@given(
    st.lists(st.tuples(st.floats(-200, 200), st.floats(-200, 200)), max_size=60),
    st.sampled_from([None, (0.0, 0.0)]),
    st.sampled_from(["anywhere", "back at the start"]),
)
def test_every_hole_once_and_the_travel_is_what_it_says(points: list[Point], start: Point | None, end: str) -> None:
    tour = short_tour(points, start=start, end=end)  # type: ignore[arg-type]
    assert sorted(tour.order) == list(range(len(points)))
    way = ([start] if start else []) + [points[k] for k in tour.order]
    if end == "back at the start" and way:
        way.append(way[0])
    assert tour.travel == pytest.approx(sum(math.dist(a, b) for a, b in itertools.pairwise(way)))
    assert short_tour(points, start=start, end=end) == tour  # type: ignore[arg-type]


def scattered(seed: int) -> list[Point]:
    dice = random.Random(seed)
    return [(dice.uniform(0, 300), dice.uniform(0, 200)) for _ in range(100)]


def clusters(seed: int) -> list[Point]:
    dice = random.Random(seed)
    return [(60.0 * (k % 4) + dice.gauss(0, 4), 45.0 * (k // 4 % 3) + dice.gauss(0, 4)) for k in range(100)]


HUNDREDS = {
    "scattered": scattered(1),
    "scattered again": scattered(2),
    "clusters": clusters(3),
    "hole circles": [
        (r * math.cos(k * math.tau / 25), r * math.sin(k * math.tau / 25)) for r in (12, 25, 40, 70) for k in range(25)
    ],
}


def best_travel(points: list[Point], *, closed: bool) -> float:
    """Return the travel of the best tour, mm, proved by a general-purpose integer solver (scipy's HiGHS).

    Every hole gets two edges of a triangulation and of the five nearest neighbours; loops that leave holes out are
    forbidden one after the other until one loop is left. An open tour is closed through a stand-in at no distance.
    The real best tour may use an edge outside this set and be a hair shorter, which only makes the test milder.
    """
    count = len(points)
    nodes = count if closed else count + 1
    edges: set[tuple[int, int]] = set()
    for corners in Delaunay(points, qhull_options="QJ").simplices.tolist():
        edges |= {(min(a, b), max(a, b)) for a, b in itertools.combinations(corners, 2)}
    for i in range(count):
        near = sorted(range(count), key=lambda j, i=i: math.dist(points[i], points[j]))[1:6]  # type: ignore[misc]
        edges |= {(min(i, j), max(i, j)) for j in near}
        if not closed:
            edges.add((i, count))
    listed = sorted(edges)
    cost = np.array([0.0 if j == count else math.dist(points[i], points[j]) for i, j in listed])
    ends = np.zeros((nodes, len(listed)))
    for k, (i, j) in enumerate(listed):
        ends[i, k] = ends[j, k] = 1.0
    limits = [LinearConstraint(ends, 2, 2)]
    while True:
        found = milp(cost, constraints=limits, integrality=np.ones(len(listed)), bounds=Bounds(0, 1))
        assert found.success, found.message
        graph = np.zeros((nodes, nodes))
        for k in np.flatnonzero(found.x > 0.5):
            graph[listed[k]] = 1.0
        loops, of_loop = connected_components(graph, directed=False)
        if loops == 1:
            return float(found.fun)
        for loop in range(loops):
            inside = of_loop == loop
            row = np.array([[float(inside[i] and inside[j]) for i, j in listed]])
            limits.append(LinearConstraint(row, -np.inf, inside.sum() - 1))


@pytest.mark.outside_check(
    subject="drilling order",
    source="scipy: milp (HiGHS), the proved best tour",
    closeness="at most 1.10 times the proved best",
    standing="library",
)
@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("name", ["clusters", "hole circles"])
def test_a_hundred_holes_are_no_worse_than_a_solver_s_tour(name: str, closed: bool) -> None:
    tour = short_tour(HUNDREDS[name], end="back at the start" if closed else "anywhere")
    assert tour.travel <= ALLOWED_RATIO * best_travel(HUNDREDS[name], closed=closed)


@pytest.mark.slow
@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("name", ["scattered", "scattered again"])
def test_a_hundred_scattered_holes_are_no_worse_than_a_solver_s_tour(name: str, closed: bool) -> None:
    """Measured: within 0.2 percent of the proved best."""
    tour = short_tour(HUNDREDS[name], end="back at the start" if closed else "anywhere")
    assert tour.travel <= ALLOWED_RATIO * best_travel(HUNDREDS[name], closed=closed)


def test_the_best_tour_of_a_grid_is_known() -> None:
    """Ten by ten, pitches 12 and 9: 99 steps, of which at least 9 have to be long ones."""
    points = [(12.0 * c, 9.0 * r) for r in range(10) for c in range(10)]
    assert short_tour(points).travel == pytest.approx(90 * 9 + 9 * 12)


def test_the_best_way_along_two_rows_is_known() -> None:
    """Out along one row and back along the other: 98 pitches of 6 and one step across."""
    points = [(3.0 * k, 0.0 if k % 2 else 18.0) for k in range(100)]
    assert short_tour(points).travel == pytest.approx(98 * 6 + math.hypot(3, 18))


def test_a_row_is_drilled_from_end_to_end_beginning_with_hole_one() -> None:
    dice = random.Random(4)
    points = [(7.5 * k, 2.0 * k) for k in range(40)]
    assert short_tour(points).order == tuple(range(40))
    shuffled = points.copy()
    dice.shuffle(shuffled)
    assert short_tour(shuffled).travel == pytest.approx(39 * math.hypot(7.5, 2.0))


def test_the_start_point_decides_the_end_to_begin_with() -> None:
    points = [(10.0 * k, 0.0) for k in range(20)]
    assert short_tour(points, start=(200.0, 5.0)).order == tuple(range(19, -1, -1))
    assert short_tour(points, start=(-10.0, 0.0)).order == tuple(range(20))


def test_no_holes_and_one_hole() -> None:
    assert short_tour([]).order == ()
    assert short_tour([], start=(1.0, 1.0), end="back at the start").travel == 0.0
    assert short_tour([(3.0, 4.0)], start=(0.0, 0.0), end="back at the start") == short_tour(
        [(3.0, 4.0)], start=(0.0, 0.0), end="back at the start"
    )
    assert short_tour([(3.0, 4.0)], start=(0.0, 0.0), end="back at the start").travel == 10.0


def test_a_hundred_holes_take_a_fraction_of_a_second() -> None:
    """Aim: 0.2 s. The limit leaves room for a machine that does other things; processor time, best of three."""
    times = []
    for seed in (5, 6, 7):
        began = time.process_time()
        short_tour(scattered(seed))
        times.append(time.process_time() - began)
    assert min(times) < 0.4


@pytest.mark.outside_check(
    subject="drilling order",
    source="Johnson and McGeoch 1996: best tour about 0.7124 sqrt(n A)",
    closeness="at most 1.10 times it",
    standing="memory",
)
@pytest.mark.slow
def test_ten_thousand_holes_take_seconds_and_stay_short() -> None:
    """Uniform random points in an area A: the best tour is about 0.7124 sqrt(n A).

    The constant is from memory (Johnson and McGeoch 1996); the tours above are held against proved ones.
    """
    dice = random.Random(8)
    points = [(dice.uniform(0, 1000), dice.uniform(0, 1000)) for _ in range(10_000)]
    began = time.process_time()
    tour = short_tour(points)
    assert time.process_time() - began < 20
    assert tour.travel < 1.10 * 0.7124 * math.sqrt(10_000) * 1000


def test_very_many_holes_are_still_ordered_along_the_curve() -> None:
    dice = random.Random(9)
    points = [(dice.uniform(0, 1000), dice.uniform(0, 1000)) for _ in range(20_001)]
    tour = short_tour(points)
    assert len(set(tour.order)) == 20_001
    assert tour.travel < 1.5 * 0.7124 * math.sqrt(20_001) * 1000


@pytest.mark.parametrize(
    ("points", "start", "message"),
    [
        ([(0.0, math.nan)], None, r"point 1 is \(0\.0, nan\); expected finite coordinates"),
        ([(0.0, 0.0), (math.inf, 0.0)], None, "point 2 is"),
        ([(0.0, 0.0)], (math.nan, 0.0), "the start is"),
    ],
)
def test_places_that_are_none(points: list[Point], start: Point | None, message: str) -> None:
    with pytest.raises(InputError, match=message):
        short_tour(points, start=start)


@pytest.mark.parametrize("count", [4, 7, 12])
def test_a_closed_tour_without_a_start_begins_at_the_first_hole_and_goes_on_to_the_lower_number(count: int) -> None:
    """Equal tours read alike, whichever the search happened to end with: here the ring itself is the shortest."""
    ring = [(30.0 * math.cos(math.tau * k / count), 30.0 * math.sin(math.tau * k / count)) for k in range(count)]
    assert improved_order(ring, start=None, closed=True) == list(range(count))
    turned_back = [ring[0], *ring[:0:-1]]
    assert improved_order(turned_back, start=None, closed=True) == list(range(count))
