"""Arcs on the grid: both radii agree within the published limit, and the written arc stays on the true one."""

from __future__ import annotations

import cmath
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.program.arc_words import (
    RADIUS_MISMATCH,
    _middle,
    arc_sweep,
    center_on_grid,
    chord_count,
    part_count,
    points_along,
)

STEPS = {"mm": 0.001, "in": 0.0001 * 25.4}


Count = tuple[int, int]
Point = tuple[float, float]


def random_arc(unit: str, rng: random.Random) -> tuple[Count, Count, Point, bool, Point]:
    """Return rounded ends (steps), true centre (mm), sense, and the true offset from start to centre (mm)."""
    step = STEPS[unit]
    r = math.exp(rng.uniform(math.log(0.3), math.log(300)))
    c = (rng.uniform(-200, 200), rng.uniform(-200, 200))
    t0, turn = rng.uniform(0, math.tau), rng.uniform(0.02, math.pi)
    ccw = rng.random() < 0.5
    ends = [(c[0] + r * math.cos(t), c[1] + r * math.sin(t)) for t in (t0, t0 + (turn if ccw else -turn))]
    a, b = ((round(x / step), round(y / step)) for x, y in ends)
    return a, b, c, ccw, (c[0] - ends[0][0], c[1] - ends[0][1])


@pytest.mark.outside_check(
    subject="arcs in a program",
    source="NISTIR 6556: 0.002 mm or 0.0002 in",
    closeness="half of the limit kept",
    standing="memory",
)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_radii_of_random_arcs_agree(unit: str) -> None:
    """Limit: NISTIR 6556, centre format arcs, 0.002 mm or 0.0002 in (section 3.5.3.2 from memory)."""
    rng = random.Random(1)
    step, limit = STEPS[unit], {"mm": 0.002, "in": 0.0002 * 25.4}[unit]
    assert RADIUS_MISMATCH[unit] == limit
    worst, moved = 0.0, 0.0
    for _ in range(3000):
        a, b, c, ccw, _ = random_arc(unit, rng)
        if a == b:
            continue
        true_start = (a[0] * step, a[1] * step)
        sweep = arc_sweep(true_start, (b[0] * step, b[1] * step), c, ccw=ccw)
        center = center_on_grid(a, b, true_start, c, sweep, step, limit)
        assert center is not None
        worst = max(worst, abs(math.dist(a, center) - math.dist(b, center)) * step)
        moved = max(moved, math.dist(center, (c[0] / step, c[1] / step)))
    assert worst <= limit / 2
    assert moved < 8, "steps; a centre far off would be another arc"


def test_rounding_the_words_apart_breaks_the_limit() -> None:
    """Why the centre is chosen and not just rounded: X, Y, I and J rounded apart miss the limit now and then."""
    rng = random.Random(3)
    refused = 0
    for _ in range(60_000):
        a, b, _, _, (i, j) = random_arc("mm", rng)
        center = (a[0] + round(i / 0.001), a[1] + round(j / 0.001))
        refused += abs(math.dist(a, center) - math.dist(b, center)) * 0.001 > RADIUS_MISMATCH["mm"]
    assert refused > 0, "the reason for the search has gone"


@given(
    st.floats(3.0, 50_000.0),
    st.floats(0, math.tau),
    st.floats(0.05, math.pi),
    st.booleans(),
    st.sampled_from([("mm", 0.001), ("in", 0.00254), ("in", 0.0254), ("mm", 0.01)]),
)
@settings(max_examples=600)
def test_a_written_arc_lies_on_the_true_one(
    steps: float, t0: float, turn: float, ccw: bool, grid: tuple[str, float]
) -> None:
    """Also on a coarse grid, where a small arc once became a half circle 1.8 steps (0.045 mm) inside the wall."""
    unit, step = grid
    r = steps * step
    c = (12.3456789, -7.654321)
    t1 = t0 + (turn if ccw else -turn)
    ends = [(c[0] + r * math.cos(t), c[1] + r * math.sin(t)) for t in (t0, t1)]
    a, b = ((round(x / step), round(y / step)) for x, y in ends)
    if a == b:
        return
    center = center_on_grid(a, b, ends[0], c, turn if ccw else -turn, step, RADIUS_MISMATCH[unit])
    if center is None:
        return  # written as chords instead
    sweep = arc_sweep(a, b, center, ccw=ccw)
    radius = math.dist(a, center)
    first = math.atan2(a[1] - center[1], a[0] - center[0])
    for k in range(11):
        angle = first + sweep * k / 10
        p = ((center[0] + radius * math.cos(angle)) * step, (center[1] + radius * math.sin(angle)) * step)
        # the radius from the start: half the mismatch away from the mean of both
        assert abs(math.dist(p, c) - r) <= 1.25 * step + RADIUS_MISMATCH[unit] / 4 + 1e-9


@given(st.floats(0.1, 500), st.floats(-math.tau, math.tau).filter(lambda s: abs(s) > 1e-3), st.floats(0.0005, 0.1))
def test_chords_stay_within_the_tolerance(r: float, sweep: float, tolerance: float) -> None:
    n = chord_count(sweep, r, tolerance)
    if r > tolerance:
        assert r * (1 - math.cos(abs(sweep) / n / 2)) <= tolerance * (1 + 1e-6)
        if n > 1:
            assert r * (1 - math.cos(abs(sweep) / (n - 1) / 2)) > tolerance * (1 - 1e-6), "no more than needed"


def test_more_than_half_a_circle_is_split() -> None:
    for degrees, parts in [(1, 1), (180, 1), (181, 2), (360, 2), (-360, 2), (-90, 1)]:
        assert part_count(math.radians(degrees)) == parts


def test_points_along_end_where_they_are_told() -> None:
    points = points_along((10, 0), (0, 10.0001), (0, 0), math.pi / 2, 3)
    assert points[-1] == (0, 10.0001)
    assert points[0] == pytest.approx((10 * math.cos(math.pi / 6), 5))
    assert arc_sweep((1, 0), (1, 0), (0, 0), ccw=False) == -math.tau


def middle_of(start: Point, end: Point, center: Point, ccw: bool) -> Point:
    """Half-way along an arc as complex numbers: the mean direction of both ends, turned to the arc's side."""
    a, b, c = complex(*start), complex(*end), complex(*center)
    turn = (cmath.phase((b - c) / (a - c)) % math.tau) if ccw else -(cmath.phase((a - c) / (b - c)) % math.tau)
    if abs(a - b) < 1e-9:
        turn = math.tau if ccw else -math.tau
    at = c + (a - c) / abs(a - c) * cmath.exp(0.5j * turn) * (abs(a - c) + abs(b - c)) / 2
    return (at.real, at.imag)


def test_half_way_along_an_arc() -> None:
    for end, center, ccw, middle in [
        ((20.0, 0.0), (10.0, 0.0), True, (10.0, -10.0)),
        ((20.0, 0.0), (10.0, 0.0), False, (10.0, 10.0)),
        ((10.0, 10.0), (10.0, 0.0), False, (10 - 50**0.5, 50**0.5)),
        ((0.0, 0.0), (10.0, 0.0), True, (20.0, 0.0)),
        ((22.0, 0.0), (10.0, 0.0), True, (10.0, -11.0)),  # radii 10 and 12: their mean
    ]:
        assert _middle((0, 0), end, center, ccw=ccw) == pytest.approx(middle)
        assert middle_of((0, 0), end, center, ccw) == pytest.approx(middle)


def test_the_centre_is_the_nearest_good_one_of_all_within_five_steps() -> None:
    """Every place of the grid is tried here, for ends that fit the centre well, badly and not at all.

    Good: both radii within half the limit, and half-way no farther than a step from the true arc.
    """
    rng = random.Random(7)
    fates = {"none": 0, "rounded": 0, "moved": 0}
    for k in range(500):
        r, first = rng.choice((3.0, 12.0, 60.0, 900.0)), rng.uniform(0, math.tau)
        turn = rng.uniform(0.02, math.pi)
        spoilt = rng.choice((0, 0, 1, 2, 4))
        c = (rng.uniform(-50, 50), rng.uniform(-50, 50))
        a = (round(c[0] + r * math.cos(first)), round(c[1] + r * math.sin(first)))
        b = (
            round(c[0] + r * math.cos(first + turn) + rng.uniform(-spoilt, spoilt)),
            round(c[1] + r * math.sin(first + turn) + rng.uniform(-spoilt, spoilt)),
        )
        if a == b:
            continue
        ccw, step, limit = k % 3 > 0, 0.001, rng.choice((0.0004, 0.001, 0.002))
        sweep = arc_sweep(a, b, c, ccw=ccw)
        out = complex(*a) - complex(*c)
        there = complex(*c) + out * cmath.exp(0.5j * sweep)
        true_middle = (there.real, there.imag)
        near = (round(c[0]), round(c[1]))
        good = []
        for i in range(near[0] - 5, near[0] + 6):
            for j in range(near[1] - 5, near[1] + 6):
                if (
                    (i, j) not in (a, b)
                    and abs(math.dist(a, (i, j)) - math.dist(b, (i, j))) * step <= limit / 2
                    and math.dist(middle_of(a, b, (i, j), ccw), true_middle) <= 1.0
                ):
                    good.append(math.dist((i, j), c))
        start, center = (a[0] * step, a[1] * step), (c[0] * step, c[1] * step)
        found = center_on_grid(a, b, start, center, sweep, step, limit)
        fates["none" if found is None else "rounded" if found == near else "moved"] += 1
        assert (found is None) is (not good)
        if found is not None:
            assert math.dist(found, c) == pytest.approx(min(good), abs=1e-12)
            assert abs(math.dist(a, found) - math.dist(b, found)) * step <= limit / 2
    assert min(fates.values()) > 40, fates


def test_sweeps_of_quarters_by_hand() -> None:
    """About (2, 3), where no coordinate of an end is that of the centre's zero."""
    ends = [(7.0, 3.0), (2.0, 8.0), (-3.0, 3.0), (2.0, -2.0)]
    for k in range(4):
        for quarters in (1, 2, 3):
            a, b = ends[k], ends[(k + quarters) % 4]
            assert arc_sweep(a, b, (2.0, 3.0), ccw=True) == pytest.approx(quarters * math.pi / 2)
            assert arc_sweep(a, b, (2.0, 3.0), ccw=False) == pytest.approx((quarters - 4) * math.pi / 2)
    assert arc_sweep((7.0, 3.0), (7.0, 3.0), (2.0, 3.0), ccw=True) == math.tau
    assert arc_sweep((7.0, 3.0), (7.0, 3.0 + 2e-9), (2.0, 3.0), ccw=True) == pytest.approx(4e-10, rel=1e-3)


def test_ends_of_equal_parts_by_hand() -> None:
    """From (7, 3) about (2, 3) a quarter back in three parts; one part has its end alone."""
    points = points_along((7.0, 3.0), (2.0, -2.0), (2.0, 3.0), -math.pi / 2, 3)
    half, most = 2.5, 5 * math.cos(math.pi / 6)
    assert points == [pytest.approx((2 + most, 3 - half)), pytest.approx((2 + half, 3 - most)), (2.0, -2.0)]
    assert points_along((7.0, 3.0), (2.0, -2.0), (2.0, 3.0), -math.pi / 2, 1) == [(2.0, -2.0)]


def test_how_many_chords() -> None:
    for sweep, radius, tolerance, count in [
        (math.pi, 0.5, 0.5, 2), (-math.pi, 0.5, 0.6, 2), (math.pi * 1.01, 0.4, 0.5, 3), (0.001, 0.4, 0.5, 1),
        # 1 - cos 30 degrees: a chord spans 60 degrees
        (math.pi, 1.0, 1 - math.cos(math.pi / 6), 3), (math.pi * 1.01, 1.0, 1 - math.cos(math.pi / 6), 4),
        (-math.tau, 7.0, 7 - 7 * math.cos(math.pi / 6), 6), (1e-6, 7.0, 0.5, 1),
    ]:  # fmt: skip
        assert chord_count(sweep, radius, tolerance) == count
