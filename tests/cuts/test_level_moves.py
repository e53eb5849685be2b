"""A stroke is cut in parts of one feed each: nothing is lost, and no part is faster than its fullest place allows."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.engagement import feed_factor
from holecam.cuts.level_layout import Stroke, StrokeKind
from holecam.cuts.level_moves import _split
from holecam.shapes import Segment

STRAIGHT = 66.4  # degrees, at a step-over of 0.3 of the diameter
RATIO = 1.5


def split(length: float, shares: list[float], angles: list[float]) -> list[Stroke]:
    stroke = Stroke(Segment((2.0, 1.0), (2.0 + length, 1.0)), StrokeKind.CUT)
    return _split(stroke, shares, angles, [a / 2 for a in angles], STRAIGHT, RATIO)


def test_full_width_between_two_easy_stretches() -> None:
    parts = split(10.0, [0.2, 0.5, 0.6, 1.0], [60.0, 180.0, 150.0, 70.0])
    assert [p.curve.start[0] for p in parts] == pytest.approx([2.0, 4.0, 8.0])
    assert [p.curve.end[0] for p in parts] == pytest.approx([4.0, 8.0, 12.0])
    assert [p.feed_factor for p in parts] == pytest.approx([1.0, STRAIGHT / 180.0, 1.0])
    assert [p.engagement_deg for p in parts] == [60.0, 180.0, 70.0]
    assert [p.left_deg for p in parts] == [30.0, 90.0, 35.0]


def test_a_crumb_of_full_width_slows_what_it_is_joined_to() -> None:
    """0.01 mm at full width is no stroke of its own: what follows goes as slowly and tells the fullest place."""
    easy_then_full = split(10.0, [0.5, 0.501, 1.0], [60.0, 180.0, 70.0])
    assert [p.feed_factor for p in easy_then_full] == pytest.approx([1.0, STRAIGHT / 180.0])
    assert [p.engagement_deg for p in easy_then_full] == [60.0, 180.0]
    begins_full = split(10.0, [0.001, 1.0], [180.0, 70.0])
    assert [(p.feed_factor, p.engagement_deg) for p in begins_full] == [(pytest.approx(STRAIGHT / 180.0), 180.0)]


@given(
    st.floats(0.005, 30.0),
    st.lists(st.tuples(st.floats(0.0001, 1.0), st.floats(0.0, 180.0)), min_size=1, max_size=8),
)
def test_no_place_is_cut_faster_than_it_may_be(length: float, stretches: list[tuple[float, float]]) -> None:
    whole = sum(size for size, _ in stretches)
    ends = [sum(size for size, _ in stretches[: k + 1]) / whole for k in range(len(stretches) - 1)] + [1.0]
    angles = [angle for _, angle in stretches]
    parts = split(length, ends, angles)
    assert parts[0].curve.start == (2.0, 1.0)
    assert parts[-1].curve.end == pytest.approx((2.0 + length, 1.0))
    for before, after in itertools.pairwise(parts):
        assert before.curve.end == after.curve.start
        assert min(before.curve.length, after.curve.length) > 0.02 * 0.5
    for end, share_before, angle in zip(ends, [0.0, *ends[:-1]], angles, strict=True):
        x = 2.0 + length * (end + share_before) / 2
        (part, *_) = [p for p in parts if p.curve.start[0] - 1e-9 <= x <= p.curve.end[0] + 1e-9]
        # A crumb at a joint may be counted to either side; the rest of it never
        if min(x - part.curve.start[0], part.curve.end[0] - x) > 0.02:
            assert part.feed_factor <= feed_factor(angle, STRAIGHT, RATIO) + 1e-12
            assert part.engagement_deg is not None
            assert part.engagement_deg >= angle
    assert max(p.engagement_deg or 0.0 for p in parts) == max(angles)
    assert min(p.feed_factor for p in parts) == min(feed_factor(a, STRAIGHT, RATIO) for a in angles)
