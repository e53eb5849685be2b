"""Listed outlines and paths as exact shapes, and loose curves chained; areas by hand or by shapely."""

from __future__ import annotations

import math
import random
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from holecam.errors import InputError
from holecam.job.chaining import chained
from holecam.job.models_shape import Corner, PathModel, Region
from holecam.job.outlines import curves_through, outline_of, path_of
from holecam.shapes import Arc, Curve, Outline, Placement, Segment, distance


def _exact(value: Any) -> Any:
    """Return numbers of a test as exact mm."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    if isinstance(value, (int, float)):
        return Fraction(str(value))
    if isinstance(value, dict):
        return {k: v if k.endswith("_deg") else _exact(v) for k, v in value.items()}
    return [_exact(v) for v in value]


def _region(**keys: Any) -> Region:
    return Region.model_validate(_exact(keys))


def test_a_turned_rectangle_with_round_corners() -> None:
    outline = outline_of(_region(rectangle=[40, 20], at=[5, 7], corner_radius=3, turn_deg=30.0))
    assert outline.area == pytest.approx(800 - (4 - math.pi) * 9)
    corner = Placement(30.0, (5.0, 7.0)).apply((40.0, 10.0))
    assert outline.distance_to(corner) == pytest.approx(0, abs=1e-9)
    middle = outline_of(_region(rectangle=[40, 20], centre=[5, 7], turn_deg=30.0))
    assert middle.contains((5.0, 7.0))
    assert middle.inside_by((5.0, 7.0)) == pytest.approx(10)


def test_a_circle_by_its_diameter() -> None:
    outline = outline_of(_region(circle=10, centre=[1, 2]))
    assert outline.bounds == pytest.approx((-4, -3, 6, 7))


@pytest.mark.parametrize(
    ("step", "middle"),
    [
        ({"arc_to": [10, 0], "centre": [5, 0], "turn": "left"}, (5, -5)),
        ({"arc_to": [10, 0], "centre": [5, 0], "turn": "right"}, (5, 5)),
        ({"arc_to": [10, 0], "through": [5, -5]}, (5, -5)),
        ({"arc_to": [10, 0], "through": [5, 5]}, (5, 5)),
        ({"arc_to": [10, 0], "radius": 13, "turn": "left"}, (5, -1)),
        ({"arc_to": [10, 0], "radius": 13, "turn": "right"}, (5, 1)),
        ({"arc_to": [10, 0], "radius": 13, "turn": "left", "long_way": True}, (5, -25)),
        ({"arc_to": [10, 0], "radius": 13, "turn": "right", "long_way": True}, (5, 25)),
    ],
)
def test_the_ways_to_state_an_arc(step: dict[str, Any], middle: tuple[float, float]) -> None:
    """From (0, 0) to (10, 0); 5, 12, 13 is the right triangle behind the radius of 13."""
    path = PathModel.model_validate({"points": [_exact([0, 0]), _exact(step)]})
    (arc,) = path_of(path)
    assert isinstance(arc, Arc)
    assert (arc.start, arc.end) == ((0, 0), (10, 0))
    assert arc.point_at(0.5) == pytest.approx(middle, abs=1e-9)


def test_a_centre_with_few_digits_is_moved_and_a_wrong_one_refused() -> None:
    """A quarter circle in thou: both ends true, the centre rounded to a thou."""
    step = {"arc_to": [25.4, 30.48], "centre": [30.483, 30.478], "turn": "right"}
    (arc,) = path_of(PathModel.model_validate({"points": [_exact([30.48, 25.4]), _exact(step)]}))
    assert isinstance(arc, Arc)
    assert distance(arc.center, (30.483, 30.478)) < 0.004
    assert distance(arc.center, arc.start) == pytest.approx(distance(arc.center, arc.end), abs=1e-9)
    wrong = {"arc_to": [25.4, 30.48], "centre": [31, 30.478], "turn": "right"}
    with pytest.raises(ValueError, match=r"as far from the start as from the end of the arc"):
        PathModel.model_validate({"points": [_exact([30.48, 25.4]), _exact(wrong)]})


def test_rounded_corners_of_a_listed_outline() -> None:
    points = [{"to": [0, 0], "rounded": 2}, [20, 0], {"to": [20, 10], "rounded": 3}, [0, 10]]
    outline = outline_of(_region(points=points))
    lost = (1 - math.pi / 4) * (4 + 9)
    assert outline.area == pytest.approx(200 - lost)
    assert sorted(round(c.radius, 9) for c in outline.curves if isinstance(c, Arc)) == [2, 3]


def test_an_outline_in_either_sense_is_turned_anticlockwise() -> None:
    there = outline_of(_region(points=[[0, 0], [10, 0], [10, 5]]))
    back = outline_of(_region(points=[[10, 5], [10, 0], [0, 0]]))
    assert there.signed_area == pytest.approx(25)
    assert back.signed_area == pytest.approx(25)


CORNERS = st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=4, max_size=9, unique=True)


@settings(max_examples=60)
@given(CORNERS, st.integers(1, 30))
def test_rounding_takes_what_the_formula_says(corners: list[tuple[int, int]], tenths: int) -> None:
    """A rounded corner loses r2 (cot(g/2) - (pi - g)/2), the same law as a cutter's corner."""
    centre = (sum(c[0] for c in corners) / len(corners), sum(c[1] for c in corners) / len(corners))
    ring = sorted(set(corners), key=lambda c: math.atan2(c[1] - centre[1], c[0] - centre[0]))
    plain = Polygon(ring)
    if len(ring) < 4 or not plain.is_valid or plain.area < 10:
        return
    radius = tenths / 10
    steps = [
        Corner.model_validate(_exact({"to": c, "rounded": radius if n == 0 else None})) for n, c in enumerate(ring)
    ]
    a, b, c = ring[-1], ring[0], ring[1]
    u, v = (a[0] - b[0], a[1] - b[1]), (c[0] - b[0], c[1] - b[1])
    inner = abs(math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]))
    if inner < 0.05 or inner > math.pi - 0.05:
        return
    if radius / math.tan(inner / 2) > min(math.hypot(*u), math.hypot(*v)) - 0.01:
        return
    outline = Outline(tuple(curves_through(steps, closed=True)))
    lost = radius**2 * (1 / math.tan(inner / 2) - (math.pi - inner) / 2)
    convex = (u[0] * v[1] - u[1] * v[0]) < 0
    assert outline.area == pytest.approx(plain.area - (lost if convex else -lost), abs=1e-6)


# Chaining


@settings(max_examples=60)
@given(
    st.integers(3, 12),
    st.integers(0, 10**6),
    st.sampled_from([0.0, 1e-9, 0.002, 0.009]),
)
def test_a_shuffled_outline_is_put_together_again(count: int, seed: int, gap: float) -> None:
    draw = random.Random(seed)
    radii = [draw.uniform(5, 20) for _ in range(count)]
    corners = [(r * math.cos(math.tau * n / count), r * math.sin(math.tau * n / count)) for n, r in enumerate(radii)]
    curves: list[Curve] = []
    for n, (a, b) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        if n % 3 == 0:
            middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            curves.append(Arc(a, b, middle, ccw=bool(n % 2)))
        else:
            curves.append(Segment(a, b))
    whole = Outline(tuple(curves))
    moved: list[Curve] = []
    for curve in curves:
        angle = draw.uniform(0, math.tau)
        slip = Placement(0.0, (gap / 2 * math.cos(angle), gap / 2 * math.sin(angle)))
        shifted = slip.apply_curve(curve)
        moved.append(shifted.reversed() if draw.random() < 0.5 else shifted)
    draw.shuffle(moved)
    chains = chained(moved, gap=0.01)
    assert not chains.paths
    (outline,) = chains.outlines
    assert chains.bridged <= gap + 1e-12
    assert outline.area == pytest.approx(whole.area, abs=0.02 * sum(c.length for c in curves))
    assert sum(isinstance(c, Arc) for c in outline.curves) == sum(isinstance(c, Arc) for c in curves)
    if gap == 0.0:
        assert outline.area == pytest.approx(whole.area, rel=1e-12)


def test_arcs_are_bridged_and_never_bent() -> None:
    first = Arc((5, 0), (-5, 0), (0, 0), ccw=True)
    second = Arc((-5, -0.004), (5, -0.004), (0, -0.004), ccw=True)
    (outline,) = chained([first, second], gap=0.01).outlines
    arcs = [c for c in outline.curves if isinstance(c, Arc)]
    assert {a.radius for a in arcs} == {5.0}
    assert [round(c.length, 9) for c in outline.curves if isinstance(c, Segment)] == [0.004, 0.004]


def test_open_lines_stay_open_and_keep_their_order() -> None:
    curves = [Segment((10, 0), (20, 5)), Segment((10, 0), (0, 0)), Segment((30, 0), (20, 5))]
    (path,) = chained(curves, gap=0.01).paths
    ends = [path[0].start, *(c.end for c in path)]
    assert ends in ([(0, 0), (10, 0), (20, 5), (30, 0)], [(30, 0), (20, 5), (10, 0), (0, 0)])


def test_crumbs_are_dropped_and_counted() -> None:
    chains = chained([Segment((0, 0), (1, 0)), Segment((1, 0), (1, 1e-9))], gap=0.01)
    assert chains.dropped == 1
    assert len(chains.paths) == 1


def test_an_impossible_step_is_named() -> None:
    steps = [Corner(to=(Fraction(0), Fraction(0))), Corner(to=(Fraction(0), Fraction(0)))]
    with pytest.raises(InputError, match="step 2: expected another point than the one before"):
        curves_through(steps, closed=False)
    rounded = Corner(to=(Fraction(10), Fraction(0)), rounded=Fraction(1))
    back = [steps[0], rounded, steps[0]]
    with pytest.raises(InputError, match="not a line back"):
        curves_through(back, closed=False)
    ends = [steps[0], rounded]
    with pytest.raises(InputError, match="no rounding at its two ends"):
        curves_through(ends, closed=False)
