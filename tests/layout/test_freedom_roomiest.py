"""The roomiest shift and its bound: closed forms, brute force, certificates; and the same over small turns."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize
from spacing_scenes import HELD, Scene, scenes

from holecam.errors import InputError
from holecam.layout.freedom_cells import all_limits
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.layout.freedom_roomiest import (
    GAP,
    LIMITS_TO_CLIMB,
    _best_step,
    _Slopes,
    rises_straight,
    roomiest,
    window_around,
)
from holecam.layout.freedom_shift_and_turn import nearest_with_turn, roomiest_with_turn
from holecam.layout.freedom_turns import turned
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, PartShape, Surroundings
from holecam.shapes import Arc, Curve, Outline, Segment, outline_through, rectangle
from holecam.shapes.distances import point_to_curve

LIMITS = table_limits()


def one_hole(*old: tuple[float, float], part: PartShape | None = None) -> Freedom:
    """One 4 mm hole at the origin among 4 mm old holes: 6 mm from their centres and from edges."""
    holes = tuple(OldHole(f"old {i + 1}", p, 4.0) for i, p in enumerate(old))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    return freedom_of(sites, Surroundings(part or PartShape(), holes), LIMITS)


@pytest.mark.outside_check(
    subject="roomiest place",
    source="circumcentre of a triangle",
    closeness="1e-4 mm of place, 1e-6 mm of margin",
    standing="mathematics",
)
def test_between_three_old_holes_the_circumcentre() -> None:
    # 3-4-5 triangle times 10: circumcentre in the middle of the hypotenuse, radius 25
    freedom = one_hole((0.0, 0.0), (30.0, 0.0), (0.0, 40.0), (30.0, 40.0))
    found = roomiest(freedom, (5.0, 5.0, 25.0, 35.0))
    assert found.shift == pytest.approx((15.0, 20.0), abs=1e-4)
    assert found.margin == pytest.approx(25.0 - 6.0, abs=1e-6)
    assert found.bound <= found.margin + GAP
    assert len(found.bindings) == 4


@pytest.mark.outside_check(
    subject="roomiest place",
    source="incentre of a triangle",
    closeness="1e-4 mm of place, 1e-6 mm of margin",
    standing="mathematics",
)
def test_in_a_triangle_the_incentre() -> None:
    # Right triangle 30-40-50: inradius (30 + 40 - 50) / 2 = 10
    part = PartShape(outline_through([(0.0, 0.0), (30.0, 0.0), (0.0, 40.0)]))
    found = roomiest(one_hole(part=part), (0.0, 0.0, 30.0, 40.0))
    assert found.shift == pytest.approx((10.0, 10.0), abs=1e-4)
    assert found.margin == pytest.approx(4.0, abs=1e-6)


@pytest.mark.outside_check(
    subject="roomiest place",
    source="circle of Apollonius",
    closeness="1e-4 mm of place, 1e-6 mm of margin",
    standing="mathematics",
)
def test_three_circles_of_different_size_by_apollonius() -> None:
    # Distances to the centres less the radii balance; solved here by bisection along the axis of symmetry
    holes = (OldHole("a", (-20.0, 0.0), 4.0), OldHole("b", (20.0, 0.0), 4.0), OldHole("c", (0.0, 30.0), 8.0))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    freedom = freedom_of(sites, Surroundings(old_holes=holes), LIMITS)
    low, high = 0.0, 30.0
    for _ in range(100):
        y = (low + high) / 2  # keeps 6 from a and b, 2 + 4 + 4 = 10 from c
        low, high = (y, high) if math.hypot(20.0, y) - 6.0 < 30.0 - y - 10.0 else (low, y)
    found = roomiest(freedom, (-10.0, 0.0, 10.0, 25.0))
    assert found.shift == pytest.approx((0.0, low), abs=1e-4)
    assert found.margin == pytest.approx(math.hypot(20.0, low) - 6.0, abs=1e-6)


def test_in_a_long_passage_the_place_nearest_to_the_middle() -> None:
    bar = PartShape(rectangle(-100.0, 0.0, 100.0, 20.0))
    found = roomiest(one_hole(part=bar), (-7.0, 0.0, 21.0, 20.0))
    assert found.margin == pytest.approx(4.0, abs=GAP)
    assert found.shift == pytest.approx((7.0, 10.0), abs=0.05)
    assert found.gap <= GAP


def test_at_the_edge_of_the_window() -> None:
    found = roomiest(one_hole((0.0, 0.0)), (1.0, 2.0, 5.0, 9.0))
    assert found.shift == pytest.approx((5.0, 9.0))
    assert found.margin == pytest.approx(math.hypot(5.0, 9.0) - 6.0)


def test_the_middle_of_a_plug_that_is_held() -> None:
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    surroundings = Surroundings(old_holes=(OldHole("old 1", (3.0, 1.0), 10.0, HELD),))
    freedom = freedom_of(sites, surroundings, LIMITS, inside_held_plugs=True)
    found = roomiest(freedom, (-1.0, -3.0, 7.0, 5.0))
    assert found.shift == pytest.approx((3.0, 1.0), abs=GAP)
    assert found.margin == pytest.approx(2.5, abs=GAP)


def test_where_nothing_is_allowed_the_least_bad_place() -> None:
    found = roomiest(one_hole((0.0, 0.0), (8.0, 0.0)), (3.0, -1.0, 5.0, 1.0))
    assert not found.allowed
    assert found.margin == pytest.approx(math.hypot(4.0, 1.0) - 6.0)
    assert roomiest(one_hole(), window_around((1.0, 2.0), 3.0)).margin == math.inf


@given(scenes, st.tuples(st.floats(-6, 6), st.floats(-6, 6)), st.floats(2.0, 10.0))
@settings(max_examples=25)
def test_no_shift_of_the_window_exceeds_the_bound(scene: Scene, middle: tuple[float, float], reach: float) -> None:
    freedom = freedom_of(*scene, LIMITS)
    window = window_around(middle, reach)
    found = roomiest(freedom, window)
    assert found.gap <= GAP + 1e-9
    assert freedom.margin(found.shift) == pytest.approx(found.margin)
    assert window[0] <= found.shift[0] <= window[2]
    assert window[1] <= found.shift[1] <= window[3]
    random = np.random.default_rng(4)
    asked = random.uniform(window[:2], window[2:], (1500, 2))
    assert freedom.margins(asked).max() <= found.bound + 1e-9
    # Round the best place the margin falls off, or stays within the gap
    beside = np.clip(np.array(found.shift) + random.normal(0.0, 0.05, (300, 2)), window[:2], window[2:])
    assert freedom.margins(beside).max() <= found.bound + 1e-9


@st.composite
def curves(draw: st.DrawFn) -> Curve:
    start = draw(st.tuples(st.floats(-5, 5), st.floats(-5, 5)))
    turn, size = draw(st.floats(0, math.tau)), draw(st.floats(1.0, 20.0))
    if draw(st.booleans()):
        return Segment(start, (start[0] + size * math.cos(turn), start[1] + size * math.sin(turn)))
    sweep, ccw = draw(st.floats(0.3, 6.0)), draw(st.booleans())
    end = turn + (sweep if ccw else -sweep)
    first, last = ((start[0] + size * math.cos(a), start[1] + size * math.sin(a)) for a in (turn, end))
    return Arc(first, last, start, ccw)


@given(curves(), st.tuples(st.floats(-12, 12), st.floats(-12, 12)), st.floats(0.01, 3.0))
@settings(max_examples=300)
def test_where_a_distance_is_said_to_rise_straight_it_never_rises_faster(
    curve: Curve, p: tuple[float, float], reach: float
) -> None:
    distance, foot = point_to_curve(p, curve), curve.nearest(p)
    if distance <= reach or not rises_straight(curve, p, reach):
        return
    gx, gy = (p[0] - foot[0]) / distance, (p[1] - foot[1]) / distance
    for turn in np.linspace(0.0, math.tau, 24).tolist():
        dx, dy = reach * math.cos(turn), reach * math.sin(turn)
        assert point_to_curve((p[0] + dx, p[1] + dy), curve) <= distance + gx * dx + gy * dy + 1e-9


def test_beside_lines_and_in_the_hollow_of_arcs_distances_rise_straight() -> None:
    line = Segment((0.0, 0.0), (10.0, 0.0))
    assert rises_straight(line, (5.0, 3.0), 4.9)
    assert not rises_straight(line, (5.0, 3.0), 5.1)
    half = Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), ccw=True)
    assert rises_straight(half, (0.0, 5.0), 4.0)
    assert not rises_straight(half, (0.0, 5.0), 5.1)
    assert not rises_straight(half, (0.0, 12.0), 1.0)
    assert not rises_straight(half, (5.0, 0.5), 1.0)


def test_impossible_windows_are_refused() -> None:
    with pytest.raises(InputError, match="least below greatest"):
        roomiest(one_hole(), (0.0, 0.0, 0.0, 1.0))
    with pytest.raises(InputError, match="gap"):
        roomiest(one_hole(), (0.0, 0.0, 1.0, 1.0), gap=0.0)


def skewed_row() -> Freedom:
    """A row of 5 in a bar that lies 2 degrees askew to it: without a turn its ends come too near to the edges."""
    sites = [DrillSite(i + 1, "row", (20.0 * i, 0.0), plain_profile(4.0)) for i in range(5)]
    c, s = math.cos(math.radians(2.0)), math.sin(math.radians(2.0))
    corners = [(-30.0, -7.0), (110.0, -7.0), (110.0, 7.0), (-30.0, 7.0)]
    bar: Outline = outline_through([(c * x - s * y, s * x + c * y) for x, y in corners])
    return freedom_of(sites, Surroundings(PartShape(bar)), LIMITS)


def test_a_small_turn_finds_room_where_no_shift_does() -> None:
    freedom = skewed_row()
    assert nearest_allowed(freedom, (0.0, 0.0), reach=20.0).shift is None
    found = nearest_with_turn(
        freedom, (0.0, 0.0), pivot=(0.0, 0.0), low_deg=-4.0, high_deg=4.0, step_deg=0.25, reach=20.0
    )
    assert found.best is not None
    assert found.best.shift is not None
    # 1 mm of room to each side over 80 mm: between 2 - 0.72 and 2 + 0.72 degrees with the held hole in the middle
    assert 1.2 < found.best.turn_deg < 2.8
    assert found.at_least <= found.best.distance
    widest = roomiest_with_turn(
        freedom, window_around((0.0, 0.0), 3.0), pivot=(40.0, 0.0), low_deg=-4.0, high_deg=4.0, step_deg=1.0
    )
    assert widest.at.allowed
    assert widest.bound >= widest.at.margin


@given(scenes, st.tuples(st.floats(-3, 3), st.floats(-3, 3)))
@settings(max_examples=8)
def test_the_certified_shift_holds_over_its_whole_step(scene: Scene, wish: tuple[float, float]) -> None:
    freedom, pivot = freedom_of(*scene, LIMITS), scene[0][0].center
    found = nearest_with_turn(freedom, wish, pivot=pivot, low_deg=-2.0, high_deg=2.0, step_deg=1.0, reach=15.0)
    assert [s.turn_deg for s in found.steps] == pytest.approx([-1.5, -0.5, 0.5, 1.5])
    random = np.random.default_rng(8)
    for step in found.steps:
        for turn in random.uniform(step.turn_deg - step.half_step_deg, step.turn_deg + step.half_step_deg, 4).tolist():
            here = turned(freedom, turn, pivot)
            if step.shift is not None:
                assert here.margin(step.shift) >= -1e-9
            nearest = nearest_allowed(here, wish, reach=15.0).distance
            assert nearest >= step.at_least - 1e-5
            assert nearest >= found.at_least - 1e-5
    if found.best is not None:
        assert found.best.distance == min(s.distance for s in found.steps)


def test_impossible_turns_are_refused() -> None:
    freedom = skewed_row()
    for low, high, step in ((1.0, -1.0, 0.1), (-1.0, 1.0, 0.0), (-1.0, math.nan, 0.1)):
        with pytest.raises(InputError, match="expected a range and a step above zero"):
            nearest_with_turn(freedom, (0, 0), pivot=(0, 0), low_deg=low, high_deg=high, step_deg=step, reach=5.0)
    with pytest.raises(InputError, match="20000 steps, at most 2000"):
        roomiest_with_turn(freedom, (0.0, 0.0, 1.0, 1.0), pivot=(0, 0), low_deg=-1.0, high_deg=1.0, step_deg=0.0001)
    assert isinstance(freedom.areas[0].boundary.curves[0], Segment)


def test_of_turns_with_equal_room_the_smallest_is_taken() -> None:
    """Nothing anywhere near: every turn is as good as any other."""
    for low, high, step, turn in (
        (-4.0, 2.0, 2.0, 1.0),
        (-2.0, 4.0, 2.0, 1.0),
        (-5.0, 1.0, 2.0, 0.0),
        (1.0, 7.0, 2.0, 2.0),
    ):
        found = roomiest_with_turn(
            one_hole(), (-1.0, -1.0, 1.0, 1.0), pivot=(0.0, 0.0), low_deg=low, high_deg=high, step_deg=step
        )
        assert abs(found.turn_deg) == pytest.approx(turn)


def test_old_holes_less_than_a_millimetre_apart_all_count() -> None:
    """Of limits about one shift the largest stands for all; about shifts a hair apart each is a limit of its own."""
    for off in ((0.3, 0.0), (0.0, 0.3), (2e-9, 0.0), (0.0, 2e-9)):
        assert len(all_limits(one_hole((10.1, 5.1), (10.1 + off[0], 5.1 + off[1]))).discs) == 2
    twice = (OldHole("small", (10.1, 5.1), 4.0), OldHole("large", (10.1, 5.1), 6.0))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    kept = all_limits(freedom_of(sites, Surroundings(old_holes=twice), LIMITS)).discs
    assert kept.outer.tolist() == [pytest.approx(2.0 + 3.0 + 3.0)]


@pytest.mark.outside_check(
    subject="roomiest place",
    source="scipy.optimize.linprog: the best step within a square",
    closeness="1e-9 mm",
    standing="library",
)
@given(st.integers(0, 100_000), st.integers(1, LIMITS_TO_CLIMB), st.floats(0.01, 5.0))
@settings(max_examples=60)
def test_a_step_of_the_climb_is_that_of_a_linear_program(seed: int, count: int, radius: float) -> None:
    rng = np.random.default_rng(seed)
    angle = rng.uniform(-math.pi, math.pi, count)
    g = np.column_stack([np.cos(angle), np.sin(angle)])
    v = rng.uniform(-2.0, 4.0, count)
    here = (3.0, -1.0)
    window = (2.5, -30.0, 40.0, -0.8)
    step = _best_step(_Slopes(v, g, np.zeros(count), np.ones(count, dtype=bool)), here, radius, window)
    sides = [
        (max(-radius, window[0] - here[0]), min(radius, window[2] - here[0])),
        (max(-radius, window[1] - here[1]), min(radius, window[3] - here[1])),
    ]
    for size, (low, high) in zip(step, sides, strict=True):
        assert low - 1e-9 <= size <= high + 1e-9
    rows = np.column_stack([-g, np.ones(count)])
    best = optimize.linprog([0.0, 0.0, -1.0], A_ub=rows, b_ub=v, bounds=[*sides, (None, None)])
    assert best.success
    assert float((v + g @ np.array(step)).min()) == pytest.approx(-best.fun, abs=1e-8)
