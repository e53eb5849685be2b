"""Engagement of the tooth along a path, against closed forms and against a count of sampled rims."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pocket_shapes import random_shape

from holecam.cuts.elements import elements_of
from holecam.cuts.engagement import (
    LEAST_FEED_FACTOR,
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
    assert feed_factor(180.0, 20.0, 1.25) == LEAST_FEED_FACTOR


@pytest.mark.parametrize("step", [0.0, -1.0, 7.0])
def test_step_over_outside_the_cutter_is_refused(step: float) -> None:
    with pytest.raises(InputError, match="expected above 0 to the cutter's diameter"):
        straight_engagement_deg(step, R)
