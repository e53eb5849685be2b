"""Stretches of lines and arcs that come too near to points, lines and arcs: every place asked one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.cuts.distance_clip import (
    SHORTEST,
    Stretches,
    combined,
    complement,
    merged,
    near_bodies,
    near_curves,
    near_points,
    no_stretches,
)
from holecam.cuts.elements import elements_of
from holecam.shapes import Arc, Curve, Segment, distance
from holecam.shapes.distances import point_to_curve

places = st.tuples(st.floats(-12, 12), st.floats(-12, 12))


def arc(center: tuple[float, float], radius: float, first: float, turn: float) -> Arc:
    a, b = math.radians(first), math.radians(first + turn)
    start = (center[0] + radius * math.cos(a), center[1] + radius * math.sin(a))
    end = (center[0] + radius * math.cos(b), center[1] + radius * math.sin(b))
    return Arc(start, end, center, ccw=turn > 0)


lines = st.builds(Segment, places, places).filter(lambda s: s.length > 0.2)
arcs = st.builds(
    arc, places, st.floats(0.5, 9), st.floats(-180, 180), st.one_of(st.floats(8, 350), st.floats(-350, -8))
)
curves = st.one_of(lines, arcs)
SHARES = (np.arange(150) + 0.5) / 150


def holds(found: Stretches, share: float) -> bool:
    return bool(((found.low <= share) & (share <= found.high)).any())


def beside(body: Curve, p: tuple[float, float]) -> bool:
    """Whether the nearest place of a curve is none of its ends."""
    near = body.nearest(p)
    return distance(near, body.start) > 1e-6 and distance(near, body.end) > 1e-6


@given(curves, curves, st.floats(0.1, 6.0))
@settings(max_examples=100)
def test_what_is_nearer_than_the_radius_is_found_and_nothing_else(query: Curve, body: Curve, radius: float) -> None:
    found = near_curves(elements_of([query]), elements_of([body]), np.array([radius]))
    assert ((found.low >= 0.0) & (found.high <= 1.0) & (found.low < found.high)).all()
    for share in SHARES.tolist():
        away = point_to_curve(query.point_at(share), body)
        if abs(away - radius) > 1e-6:
            assert holds(found, share) == (away < radius), (share, away)


@given(curves, lines, st.floats(0.1, 6.0))
@settings(max_examples=60)
def test_square_beside_a_line_alone(query: Curve, body: Segment, radius: float) -> None:
    """The discs round its ends are left to the search among points."""
    found = near_bodies(elements_of([query]), elements_of([body]), np.array([radius]))
    for share in SHARES[::4].tolist():
        p = query.point_at(share)
        if beside(body, p) and abs(point_to_curve(p, body) - radius) > 1e-6:
            assert holds(found, share) == (point_to_curve(p, body) < radius)
        elif not beside(body, p) and point_to_curve(p, body) > radius + 1e-6:
            assert not holds(found, share)


@given(curves, places, st.floats(0.1, 6.0))
@settings(max_examples=60)
def test_nearer_to_a_point(query: Curve, p: tuple[float, float], radius: float) -> None:
    found = near_points(elements_of([query]), np.array([p[0]]), np.array([p[1]]), np.array([radius]))
    for share in SHARES.tolist():
        away = distance(query.point_at(share), p)
        if abs(away - radius) > 1e-6:
            assert holds(found, share) == (away < radius)


def test_by_hand() -> None:
    """A line from 0 to 10, a point 3 mm beside its 4: within 5 mm from 0 to 8; a parallel line 2 mm off: within 3."""
    line = elements_of([Segment((0.0, 0.0), (10.0, 0.0))])
    found = near_points(line, np.array([4.0]), np.array([3.0]), np.array([5.0]))
    assert (found.low[0], found.high[0]) == pytest.approx((0.0, 0.8), abs=1e-9)
    body = elements_of([Segment((2.0, 2.0), (6.0, 2.0))])
    beside_it = near_bodies(line, body, np.array([3.0]))
    assert (beside_it.low[0], beside_it.high[0]) == pytest.approx((0.2, 0.6), abs=1e-9)
    whole = merged(near_curves(line, body, np.array([3.0])), np.array([10.0]))
    # sqrt(5) mm beyond its ends: from before 0 to 8.236
    assert (whole.low[0], whole.high[0]) == pytest.approx((0.0, 0.8236068), abs=1e-7)
    # Touching is not nearer
    assert len(near_curves(line, body, np.array([2.0]))) == 0
    assert len(near_points(line, np.array([4.0]), np.array([3.0]), np.array([3.0]))) == 0
    # Half a circle of 5 mm round the point itself is all nearer than 6, nowhere nearer than 5
    ring = elements_of([arc((4.0, 3.0), 5.0, 0.0, 180.0)])
    inside = near_points(ring, np.array([4.0]), np.array([3.0]), np.array([6.0]))
    assert (inside.low.min(), inside.high.max()) == (0.0, 1.0)
    assert len(near_points(ring, np.array([4.0]), np.array([3.0]), np.array([5.0]))) == 0


rows = st.lists(st.tuples(st.integers(0, 3), st.floats(-0.2, 1.2), st.floats(-0.2, 1.2)), max_size=12)


@given(rows)
def test_merging_and_what_is_left(given_rows: list[tuple[int, float, float]]) -> None:
    """Four elements of 10 mm: a share belongs to the merged stretches or to what is left, never to both."""
    taken = [(r, min(a, b), max(a, b)) for r, a, b in given_rows]
    parts = Stretches(
        np.array([t[0] for t in taken], dtype=np.intp), np.array([t[1] for t in taken]), np.array([t[2] for t in taken])
    )
    lengths = np.full(4, 10.0)
    whole = merged(parts, lengths)
    left = complement(whole, lengths)
    assert list(zip(whole.row, whole.low, strict=True)) == sorted(zip(whole.row, whole.low, strict=True))
    assert list(zip(left.row, left.low, strict=True)) == sorted(zip(left.row, left.low, strict=True))
    for row in range(4):
        mine, rest = whole.chosen(whole.row == row), left.chosen(left.row == row)
        assert (mine.low[1:] > mine.high[:-1]).all()
        total = float((mine.high - mine.low).sum() + (rest.high - rest.low).sum())
        assert total == pytest.approx(1.0, abs=5 * SHORTEST / 10)
        for share in (np.arange(97) + 0.5) / 97:
            inside = any(r == row and a < share < b for r, a, b in taken)
            if all(abs(share - edge) > 1e-6 for r, a, b in taken if r == row for edge in (a, b)):
                assert holds(mine, share) == inside
                assert holds(rest, share) != inside


def test_gaps_and_pieces_too_short_to_be_real() -> None:
    lengths = np.array([10.0])
    tiny = SHORTEST / 10 / 2
    near = Stretches(np.array([0, 0]), np.array([0.1, 0.4 + tiny]), np.array([0.4, 0.7]))
    assert len(merged(near, lengths)) == 1
    apart = Stretches(np.array([0, 0]), np.array([0.1, 0.4 + 4 * tiny]), np.array([0.4, 0.7]))
    assert len(merged(apart, lengths)) == 2
    ends = complement(Stretches(np.array([0]), np.array([tiny]), np.array([0.5])), lengths)
    assert (ends.low.tolist(), ends.high.tolist()) == ([0.5], [1.0])
    assert complement(no_stretches(), lengths).high.tolist() == [1.0]
    assert len(combined([])) == len(merged(no_stretches(), lengths)) == 0
    within = Stretches(np.array([0, 0]), np.array([0.1, 0.2]), np.array([0.9, 0.3]))
    assert merged(within, lengths).high.tolist() == [0.9]
