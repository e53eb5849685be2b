"""Engagement of the tooth along a path, against closed forms and against a count of sampled rims."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pocket_shapes import random_shape

from holecam.cuts import engagement
from holecam.cuts.elements import elements_of
from holecam.cuts.engagement import (
    engagement_along,
    feed_factor,
    sample_places,
    straight_engagement_deg,
)
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Segment
from holecam.shapes.curve_arrays import CurveArray

R = 3.0


def greatest(curves: list[Curve], rows: list[int] | None = None, *, radius: float = R, **more: object) -> float:
    path = elements_of(curves)
    row, share = sample_places(path, radius, rows=None if rows is None else np.array(rows))
    return float(engagement_along(path, radius, row, share, least_chip=0.0, **more).engagement_deg.max())  # type: ignore[arg-type]


@pytest.mark.outside_check(
    subject="engagement of a tooth",
    source="acos(1 - a/R)",
    closeness="1e-6",
    standing="mathematics",
)
@pytest.mark.parametrize("step", [0.3, 1.5, 3.0, 5.0])
def test_straight_pass_beside_a_cut_one(step: float) -> None:
    # acos(1 - a/R): the usual geometry of milling with the side of a cutter
    curves: list[Curve] = [Segment((0, 0), (60, 0)), Segment((60, step), (0, step))]
    path = elements_of(curves)
    got = engagement_along(path, R, np.array([1]), np.array([0.5]), fresh=[True, True], least_chip=0.0)
    assert got.engagement_deg[0] == pytest.approx(math.degrees(math.acos(1 - step / R)), abs=1e-6)
    assert got.engagement_deg[0] == pytest.approx(straight_engagement_deg(step, R), abs=1e-6)
    # Coming back, the material lies on the right of the travel
    assert got.left_deg[0] == pytest.approx(max(0.0, got.engagement_deg[0] - 90), abs=1e-6)


def test_full_width_cuts_over_half_a_turn() -> None:
    assert greatest([Segment((0, 0), (50, 0))]) == pytest.approx(180)


@pytest.mark.parametrize("angle_deg", [60.0, 90.0, 120.0, 150.0])
def test_concave_corner_adds_its_turn(angle_deg: float) -> None:
    # At a concave corner of angle g the straight engagement grows by pi - g (practice notes, C4, derived there)
    step = 1.2
    g = math.radians(angle_deg)

    def corner(depth: float) -> list[Curve]:
        # The loop of a wedge along X and along the direction g, this far from both sides
        tip = (depth / math.tan(g / 2), depth)
        a = (tip[0] + 40, depth)
        b = (tip[0] + 40 * math.cos(g), tip[1] + 40 * math.sin(g))
        return [Segment(b, tip), Segment(tip, a)]

    curves = [*corner(R + step), *corner(R)]
    path = elements_of(curves)
    got = engagement_along(path, R, np.array([2]), np.array([1.0]), fresh=[True, False, True, False], least_chip=0.0)
    expected = math.degrees(math.acos(1 - step / R) + math.pi - g)
    assert got.engagement_deg[0] == pytest.approx(min(expected, 180.0), abs=1e-4)


@pytest.mark.outside_check(
    subject="engagement of a tooth",
    source="law of cosines",
    closeness="1e-6",
    standing="mathematics",
)
def test_circle_inside_a_round_opening_follows_the_law_of_cosines() -> None:
    opening, r = 8.0, 6.5  # a bore of radius 8, the cutter's centre now on a circle of 6.5
    start = (r, 0.0)
    curves: list[Curve] = [Arc(start, start, (0.0, 0.0), ccw=True)]
    path = elements_of(curves)
    got = engagement_along(
        path, R, np.array([0]), np.array([0.3]), open_before=[Circle((0, 0), opening)], least_chip=0.0
    )
    level = (opening**2 - r**2 - R**2) / (2 * r * R)
    assert got.engagement_deg[0] == pytest.approx(math.degrees(math.acos(level)), abs=1e-6)


def test_layers_thinner_than_a_chip_do_not_count() -> None:
    curves: list[Curve] = [Segment((0, 0), (60, 0)), Segment((60, 0.004), (0, 0.004))]
    path = elements_of(curves)
    row, share = np.array([1]), np.array([0.5])
    assert engagement_along(path, R, row, share, fresh=[True, True]).engagement_deg[0] == pytest.approx(0.0)
    assert engagement_along(path, R, row, share, fresh=[True, True], least_chip=0.0).engagement_deg[0] > 2.0


def test_material_lies_left_in_conventional_and_right_in_climb_milling() -> None:
    path = elements_of([Segment((0, 0), (60, 0)), Segment((0, 1), (60, 1)), Segment((60, -1), (0, -1))])
    got = engagement_along(path, R, np.array([1, 2]), np.array([0.5, 0.5]), fresh=[True] * 3, least_chip=0.0)
    # Spindle clockwise from above: material on the left of the travel is conventional milling (practice notes, A9)
    assert got.left_deg[0] == pytest.approx(got.engagement_deg[0])
    assert got.left_deg[1] == pytest.approx(got.engagement_deg[1])
    back = elements_of([Segment((0, 0), (60, 0)), Segment((60, 1), (0, 1))])
    right = engagement_along(back, R, np.array([1]), np.array([0.5]), fresh=[True] * 2, least_chip=0.0)
    assert right.left_deg[0] == pytest.approx(0.0, abs=1e-9)


@given(st.integers(0, 3000))
@settings(max_examples=20)
def test_agrees_with_a_count_of_sampled_rim_points(seed: int) -> None:
    shape = random_shape(seed)
    radius = shape.diameter / 2
    stack = OffsetStack(walls_of(chains_of_region(shape.outline, shape.islands)))
    levels = [stack.at(radius), stack.at(radius + shape.step_over)]
    curves = [c for level in reversed(levels) for loop in level.loops for c in loop.curves]
    if len(curves) < 4:
        return
    path = elements_of(curves)
    draw = np.random.default_rng(seed)
    row = np.sort(draw.integers(0, len(curves), 8))
    share = draw.uniform(0.05, 1.0, 8)
    got = engagement_along(path, radius, row, share, least_chip=0.0)
    theta = (np.arange(1200) + 0.5) / 1200 * math.pi
    for k in range(8):
        curve = curves[row[k]]
        x, y = curve.point_at(float(share[k]))
        dx, dy = curve.tangent_at(float(share[k]))
        angle = math.atan2(dy, dx) - math.pi / 2 + theta
        rim = np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)])
        trail: Curve = Segment(curve.start, (x, y))
        if isinstance(curve, Arc):
            trail = Arc(curve.start, (x, y), curve.center, curve.ccw)
        before = CurveArray((*curves[: row[k]], trail))
        free = before.distance(rim) > radius - 1e-9
        assert got.engagement_deg[k] == pytest.approx(180 * free.mean(), abs=0.35)


def test_feed_drops_with_the_engagement_but_not_below_rubbing() -> None:
    assert feed_factor(70.0, 60.0, 1.25) == 1.0
    assert feed_factor(120.0, 60.0, 1.25) == pytest.approx(0.5)
    assert feed_factor(180.0, 20.0, 1.25) == 0.3


@pytest.mark.parametrize("step", [0.0, -1.0, 7.0])
def test_step_over_outside_the_cutter_is_refused(step: float) -> None:
    with pytest.raises(InputError, match="expected above 0 to the cutter's diameter"):
        straight_engagement_deg(step, R)


@pytest.mark.parametrize("ccw", [True, False])
@pytest.mark.parametrize("small", [0.4, 2.0, 4.0])
@pytest.mark.parametrize("share", [0.05, 0.4, 0.97, 1.0])
def test_on_a_tight_circle_the_cutter_meets_what_it_has_swept_itself(ccw: bool, small: float, share: float) -> None:
    """A whole circle of the centre in solid material: the leading rim is asked in 2000 places, against 800 centres."""
    circle = Arc((small, 0.0), (small, 0.0), (0.0, 0.0), ccw)
    got = engagement_along(elements_of([circle]), R, np.array([0]), np.array([share]), least_chip=0.0)
    (x, y), (dx, dy) = circle.point_at(share), circle.tangent_at(share)
    angle = math.atan2(dy, dx) - math.pi / 2 + (np.arange(2000) + 0.5) / 2000 * math.pi
    rim_x, rim_y = x + R * np.cos(angle), y + R * np.sin(angle)
    been = np.array([circle.point_at(share * k / 800) for k in range(800)])
    free = (np.hypot(rim_x[:, None] - been[:, 0], rim_y[:, None] - been[:, 1]) > R).all(axis=1)
    assert got.engagement_deg[0] == pytest.approx(180.0 * free.mean(), abs=0.6)
    assert got.left_deg[0] == pytest.approx(90.0 * free[1000:].mean(), abs=0.6)


def test_places_lie_at_most_a_gap_apart_and_end_every_move() -> None:
    """Gap 0.5 R = 1.5 mm: 4 mm take three, 1.5 one, nothing one; 1.51 two."""
    lengths = [4.0, 1.5, 0.0, 1.51]
    path = elements_of([Segment((0.0, k), (size, k)) for k, size in enumerate(lengths)])
    row, share = sample_places(path, R)
    assert row.tolist() == [0, 0, 0, 1, 2, 3, 3]
    assert share.tolist() == pytest.approx([1 / 3, 2 / 3, 1.0, 1.0, 1.0, 0.5, 1.0])
    row, share = sample_places(path, R, rows=np.array([3, 1]), gap=0.25)
    assert row.tolist() == [3, 3, 3, 1, 1]
    assert share.tolist() == pytest.approx([1 / 3, 2 / 3, 1.0, 0.5, 1.0])


def test_many_places_are_looked_at_in_parts_and_answered_as_in_one(monkeypatch: pytest.MonkeyPatch) -> None:
    path = elements_of([Segment((0, 0), (20, 0)), Segment((20, 0), (20, 2)), Segment((20, 2), (0, 2))])
    row, share = sample_places(path, R)
    whole = engagement_along(path, R, row, share)
    monkeypatch.setattr(engagement, "SAMPLES_AT_ONCE", 5)
    parts = engagement_along(path, R, row, share)
    for name in ("row", "share", "engagement_deg", "left_deg"):
        assert (getattr(parts, name) == getattr(whole, name)).all()
    assert len(engagement_along(path, R, row[:0], share[:0]).row) == 0


def test_only_what_was_cut_before_counts_and_loose_ends_too() -> None:
    """A row, then one beside it 2.4 mm away, looked at beyond the end of the first: round that end lies open."""
    first, second = Segment((0.0, 0.0), (10.0, 0.0)), Segment((15.0, 2.4), (-5.0, 2.4))
    path = elements_of([first, second, Segment((-5.0, 2.4), (-5.0, 0.0))])
    row, share = np.array([0, 1, 1]), np.array([0.5, 0.1, 0.575])
    got = engagement_along(path, R, row, share, fresh=[True, True, False], least_chip=0.0)
    assert got.engagement_deg[0] == pytest.approx(180.0), "what comes later has cut nothing yet"

    def by_count(x: float, y: float) -> float:
        angle = math.pi / 2 + (np.arange(6000) + 0.5) / 6000 * math.pi  # going to the left
        rim_x, rim_y = x + R * np.cos(angle), y + R * np.sin(angle)
        beside = np.hypot(rim_x - np.clip(rim_x, 0.0, 10.0), rim_y) < R
        own = np.hypot(rim_x - np.maximum(rim_x, x), rim_y - y) < R - 1e-9
        return 180.0 * float((~(beside | own)).mean())

    assert got.engagement_deg[1] == pytest.approx(by_count(13.0, 2.4), abs=0.2)
    assert got.engagement_deg[2] == pytest.approx(by_count(3.5, 2.4), abs=0.2)
    assert got.engagement_deg[1] > got.engagement_deg[2] + 1.0


def test_a_wider_cutter_that_went_before_has_opened_more() -> None:
    """A row of a 10 mm cutter, then one of 6 mm 5 mm beside it: 3 of its 6 mm lie in what is open: 90 degrees."""
    before = elements_of([Segment((-20.0, 0.0), (40.0, 0.0))])
    path = elements_of([Segment((0.0, 5.0), (20.0, 5.0))])
    row, share = np.array([0]), np.array([0.5])
    for wide, bite in ((5.0, 90.0), (8.1, 0.0), (2.0, 180.0)):
        got = engagement_along(path, R, row, share, cut_before=(before, wide), least_chip=0.0)
        assert got.engagement_deg[0] == pytest.approx(bite, abs=1e-4)
        if bite == 90.0:
            assert got.left_deg[0] == pytest.approx(90.0, abs=1e-4), "above the travel to the right lies the solid"
    nothing = engagement_along(path, R, row, share, cut_before=(elements_of([]), 5.0))
    assert nothing.engagement_deg[0] == pytest.approx(180.0)


def test_both_sides_of_the_feed_that_drops_and_of_the_widths_that_are_cut() -> None:
    assert feed_factor(75.0, 60.0, 1.25) == 1.0
    assert feed_factor(75.1, 60.0, 1.25) == pytest.approx(60.0 / 75.1)
    assert straight_engagement_deg(6.0, R) == pytest.approx(180.0)
    with pytest.raises(InputError, match=r"step-over 6\.01 mm: expected above 0 to the cutter's diameter, 6\.0 mm"):
        straight_engagement_deg(6.01, R)
    assert straight_engagement_deg(1e-9, R) > 0.0
