"""Segments and arcs: lengths, nearest points and bounds against many small steps."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Point, Segment, distance
from holecam.shapes.curves import curve_bounds

SHOP = st.floats(-500, 500)
POINTS = st.tuples(SHOP, SHOP)
STEPS = 1000


@st.composite
def arcs(draw: st.DrawFn) -> Arc:
    """Return an arc of any sweep, in either sense."""
    x, y = draw(POINTS)
    r = draw(st.floats(0.05, 300))
    a = draw(st.floats(-math.pi, math.pi))
    sweep = draw(st.floats(0.01, math.tau - 0.01)) * draw(st.sampled_from([-1, 1]))
    start = (x + r * math.cos(a), y + r * math.sin(a))
    end = (x + r * math.cos(a + sweep), y + r * math.sin(a + sweep))
    return Arc(start, end, (x, y), ccw=sweep > 0)


@st.composite
def segments(draw: st.DrawFn) -> Segment:
    a, b = draw(POINTS), draw(POINTS)
    assume(distance(a, b) > 0.01)
    return Segment(a, b)


CURVES = st.one_of(segments(), arcs())


@given(CURVES)
def test_the_length_is_that_of_many_chords(curve: Curve) -> None:
    points = [curve.point_at(k / STEPS) for k in range(STEPS + 1)]
    chords = math.fsum(distance(a, b) for a, b in pairwise(points))
    assert chords == pytest.approx(curve.length, rel=2e-6)  # a chord is short by (sweep / STEPS)^2 / 24
    assert chords <= curve.length * (1 + 1e-9)


@given(CURVES, POINTS)
def test_no_sample_is_nearer_than_the_nearest_point(curve: Curve, p: Point) -> None:
    near = curve.nearest(p)
    found = distance(p, near)
    samples = min(distance(p, curve.point_at(k / STEPS)) for k in range(STEPS + 1))
    assert found <= samples + 1e-9
    assert found >= samples - curve.length / STEPS  # and it lies on the curve
    assert curve.nearest(near) == pytest.approx(near, abs=1e-7)


@given(CURVES)
def test_bounds_hold_every_sample_and_are_touched(curve: Curve) -> None:
    left, low, right, high = curve_bounds(curve)
    points = [curve.point_at(k / STEPS) for k in range(STEPS + 1)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    step = curve.length / STEPS
    assert left - 1e-9 <= min(xs) <= left + step
    assert right - step <= max(xs) <= right + 1e-9
    assert low - 1e-9 <= min(ys) <= low + step
    assert high - step <= max(ys) <= high + 1e-9


@given(CURVES, st.floats(0.01, 0.99))
def test_the_tangent_is_the_way_of_a_small_step(curve: Curve, share: float) -> None:
    h = 1e-5
    a, b = curve.point_at(share - h), curve.point_at(share + h)
    size = distance(a, b)
    tangent = curve.tangent_at(share)
    assert ((b[0] - a[0]) / size, (b[1] - a[1]) / size) == pytest.approx(tangent, abs=1e-4)
    assert math.hypot(*tangent) == pytest.approx(1.0)


@given(CURVES, st.floats(0, 1))
def test_reversed_is_the_same_curve_the_other_way(curve: Curve, share: float) -> None:
    back = curve.reversed()
    assert back.length == pytest.approx(curve.length)
    assert back.point_at(share) == pytest.approx(curve.point_at(1 - share), abs=1e-7)
    assert back.reversed() == curve


@given(arcs())
def test_both_senses_together_go_all_the_way_round(arc: Arc) -> None:
    other = Arc(arc.start, arc.end, arc.center, not arc.ccw)
    assert abs(arc.sweep) + abs(other.sweep) == pytest.approx(math.tau)
    assert arc.sweep * other.sweep < 0


def test_equal_ends_mean_the_full_circle() -> None:
    full = Arc((5.0, 0.0), (5.0, 0.0), (0.0, 0.0), ccw=False)
    assert full.sweep == -math.tau
    assert full.length == pytest.approx(math.tau * 5)
    assert full.covers((-3.0, 4.0))
    assert full.nearest((-6.0, 8.0)) == pytest.approx((-3.0, 4.0))


def test_from_the_centre_every_point_is_as_near() -> None:
    arc = Arc((5.0, 0.0), (0.0, 5.0), (0.0, 0.0), ccw=True)
    assert arc.nearest((0.0, 0.0)) == (5.0, 0.0)


def test_a_segment_of_no_length() -> None:
    dot = Segment((1.0, 2.0), (1.0, 2.0))
    assert dot.nearest((4.0, 6.0)) == (1.0, 2.0)
    assert dot.length == 0.0
    with pytest.raises(InputError, match="segment of no length has no direction"):
        dot.tangent_at(0.5)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Segment((math.nan, 0.0), (1.0, 0.0)), "segment: expected finite coordinates"),
        (lambda: Arc((1.0, 0.0), (0.0, math.inf), (0.0, 0.0), True), "arc: expected finite coordinates"),
        (lambda: Arc((0.0, 0.0), (1.0, 0.0), (0.0, 0.0), True), "expected a radius above zero"),
        (lambda: Arc((1.0, 0.0), (0.0, 2.0), (0.0, 0.0), True), r"its ends lie 1\.000000 and 2\.000000 mm"),
        (lambda: Circle((0.0, 0.0), 0.0), r"expected a radius above zero, got 0\.0"),
        (lambda: Circle((0.0, 0.0), -1.0), r"expected a radius above zero, got -1\.0"),
        (lambda: Circle((0.0, 0.0), math.nan), "circle: expected finite coordinates"),
    ],
)
def test_shapes_that_cannot_be_are_refused(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]
