"""Pairs of boxes that come near: a table of all pairs and a tree of boxes tell the same, in the same order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts import elements
from holecam.cuts.elements import near_pairs

sizes = st.floats(0, 4).map(lambda v: round(v, 1))
places = st.floats(-9, 9).map(lambda v: round(v, 1))
boxes = st.lists(st.tuples(places, places, sizes, sizes), max_size=12)


def columns(rows: list[tuple[float, float, float, float]]) -> tuple[np.ndarray, ...]:
    x, y, wide, high = np.array(rows, dtype=np.float64).reshape(-1, 4).T
    return x, y, x + wide, y + high


@given(boxes, boxes, st.sampled_from([0.0, 0.5, 3.0, np.inf]))
def test_the_tree_tells_what_the_table_tells(one: list, other: list, reach: float) -> None:
    first, second, reaches = columns(one), columns(other), np.full(len(other), reach)
    expected = [
        (i, j)
        for i, (x0, y0, x1, y1) in enumerate(zip(*first, strict=True))
        for j, (u0, v0, u1, v1) in enumerate(zip(*second, strict=True))
        if x0 < u1 + reach and x1 > u0 - reach and y0 < v1 + reach and y1 > v0 - reach
    ]
    for most in (10**9, -1):  # -1: not even an empty table
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(elements, "CELLS_AT_ONCE", most)
            i, j = near_pairs(first, second, reaches)
        assert list(zip(i.tolist(), j.tolist(), strict=True)) == expected


def test_boxes_that_only_touch_are_no_pair() -> None:
    unit = columns([(0.0, 0.0, 1.0, 1.0)])
    for at, found in (((1.5, 0.0, 1.0, 1.0), 0), ((1.4999, 0.0, 1.0, 1.0), 1), ((0.0, -1.5, 1.0, 1.0), 0)):
        assert len(near_pairs(unit, columns([at]), np.array([0.5]))[0]) == found
