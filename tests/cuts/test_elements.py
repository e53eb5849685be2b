"""Lines and arcs as columns: places, directions, parts, boxes, and arcs whose two radii differ by the digits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.cuts import elements
from holecam.cuts.elements import Elements, concatenated, elements_of, near_pairs
from holecam.shapes import Arc, Curve, Point, Segment
from holecam.shapes.curves import curve_bounds

places = st.tuples(st.floats(-12, 12), st.floats(-12, 12))


def arc(center: Point, radius: float, first: float, turn: float) -> Arc:
    a, b = math.radians(first), math.radians(first + turn)
    start = (center[0] + radius * math.cos(a), center[1] + radius * math.sin(a))
    end = (center[0] + radius * math.cos(b), center[1] + radius * math.sin(b))
    return Arc(start, end, center, ccw=turn > 0)


lines = st.builds(Segment, places, places).filter(lambda s: s.length > 0.2)
arcs = st.builds(
    arc, places, st.floats(0.5, 9), st.floats(-180, 180), st.one_of(st.floats(8, 350), st.floats(-350, -8))
)
curves = st.lists(st.one_of(lines, arcs), min_size=1, max_size=4)


def every(table: Elements) -> np.ndarray:
    return np.arange(len(table), dtype=np.intp)


@given(curves, st.floats(0.0, 1.0))
@settings(max_examples=25)
def test_places_directions_and_lengths_are_those_of_each_curve(chain: list[Curve], share: float) -> None:
    table = elements_of(chain)
    shares = np.full(len(chain), share)
    assert list(zip(*table.points_at(every(table), shares), strict=True)) == [
        pytest.approx(c.point_at(share), abs=1e-9) for c in chain
    ]
    assert list(zip(*table.directions_at(every(table), shares), strict=True)) == [
        pytest.approx(c.tangent_at(share), abs=1e-9) for c in chain
    ]
    assert table.lengths == pytest.approx([c.length for c in chain])
    assert table.curves() == tuple(chain) or all(
        type(a) is type(b) and a.start == b.start and a.end == b.end and a.length == pytest.approx(b.length)
        for a, b in zip(table.curves(), chain, strict=True)
    )


def test_a_point_has_no_direction_and_no_length() -> None:
    point = elements_of([Segment((2.0, 3.0), (2.0, 3.0))])
    assert [v.tolist() for v in point.directions_at(every(point), np.zeros(1))] == [[0.0], [0.0]]
    assert point.lengths.tolist() == [0.0]


@given(curves, st.floats(0.0, 0.5), st.floats(0.5, 1.0))
@settings(max_examples=25)
def test_a_part_runs_from_one_share_to_the_other(chain: list[Curve], low: float, high: float) -> None:
    table = elements_of(chain)
    part = table.part(every(table), np.full(len(chain), low), np.full(len(chain), high))
    assert part.lengths == pytest.approx((high - low) * table.lengths, abs=1e-9)
    for inner in (0.0, 0.3, 1.0):
        found = part.points_at(every(part), np.full(len(chain), inner))
        wanted = table.points_at(every(table), np.full(len(chain), low + inner * (high - low)))
        assert np.abs(np.array(found) - np.array(wanted)).max() < 1e-9


@given(curves)
@settings(max_examples=25)
def test_a_box_holds_its_curve_and_is_no_larger_than_told(chain: list[Curve]) -> None:
    """Of a line to the digit; of an arc past half a turn its whole circle; below, its ends and its rise all round."""
    boxes = list(zip(*elements_of(chain).boxes(), strict=True))
    for curve, box in zip(chain, boxes, strict=True):
        xs, ys = (curve.start[0], curve.end[0]), (curve.start[1], curve.end[1])
        grow = 0.0
        if isinstance(curve, Arc):
            if abs(curve.sweep) >= math.pi:
                (cx, cy), r = curve.center, curve.radius
                xs, ys = (cx - r, cx + r), (cy - r, cy + r)
            else:
                grow = curve.radius * (1.0 - math.cos(curve.sweep / 2))
        wanted = (min(xs) - grow, min(ys) - grow, max(xs) + grow, max(ys) + grow)
        assert box == pytest.approx(wanted, abs=1e-9)
        tight = curve_bounds(curve)
        assert box[0] <= tight[0] + 1e-9
        assert box[1] <= tight[1] + 1e-9
        assert box[2] >= tight[2] - 1e-9
        assert box[3] >= tight[3] - 1e-9


def test_of_a_list_some_rows_and_lists_put_together() -> None:
    bow = Arc((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), ccw=True)
    chain = [Segment((0.0, 0.0), (4.0, 0.0)), bow, Segment((0.0, 4.0), (0.0, 0.0))]
    table = elements_of(chain)
    assert table.take(np.array([2, 0])).curves() == (chain[2], chain[0])
    assert concatenated([table, table.take(np.array([1]))]).curves() == (*table.curves(), table.curves()[1])
    assert (table.sweep.tolist(), table.angle.tolist()) == (
        [0.0, pytest.approx(math.pi / 2), 0.0],
        [0.0, pytest.approx(0.0, abs=1e-12), 0.0],
    )
    assert table.radius.tolist() == [0.0, 4.0, 0.0]
    assert table.cx.tolist() == table.cy.tolist() == [0.0, 0.0, 0.0]
    assert len(elements_of([])) == 0


def test_in_a_closed_chain_each_curve_begins_where_the_one_before_ends() -> None:
    gap = 3e-7
    chain = [Segment((0.0, 0.0), (4.0, 0.0)), Segment((4.0, gap), (4.0, 4.0)), Segment((4.0 + gap, 4.0), (0.0, gap))]
    table = elements_of(chain, closed=True)
    assert [c.start for c in table.curves()] == [(0.0, gap), (4.0, 0.0), (4.0, 4.0)]
    assert [c.end for c in table.curves()] == [c.end for c in chain]
    assert [c.start for c in elements_of(chain).curves()] == [c.start for c in chain]


@pytest.mark.parametrize("ccw", [True, False])
def test_whole_circles_half_circles_and_turns_past_half(ccw: bool) -> None:
    sense = 1.0 if ccw else -1.0
    whole, half, most = (
        Arc((5.0, 2.0), end, (3.0, 2.0), ccw) for end in ((5.0, 2.0), (1.0, 2.0), (3.0, 2.0 - 2.0 * sense))
    )
    table = elements_of([whole, half, most])
    assert table.sweep == pytest.approx([sense * math.tau, sense * math.pi, sense * 1.5 * math.pi])
    assert table.angle.tolist() == [0.0, 0.0, 0.0]
    assert table.radius.tolist() == [2.0, 2.0, 2.0]


@pytest.mark.parametrize(("off", "moved"), [(0.9, True), (1.1, False)])
def test_a_centre_is_slid_along_the_chord_by_its_noise_and_no_farther(off: float, moved: bool) -> None:
    """Ends 6 mm apart on a circle about (3, 10), drawn ``off`` noises to the right; the same upright."""
    drawn = Arc((0.0, 0.0), (6.0, 0.0), (3.0 + off * 1e-5, 10.0), ccw=True)
    table = elements_of([drawn])
    assert table.cx[0] == pytest.approx(3.0 if moved else 3.0 + off * 1e-5, abs=1e-12)
    assert table.cy[0] == 10.0
    start = math.hypot(table.x0[0] - table.cx[0], table.y0[0] - table.cy[0])
    assert table.radius[0] == start
    assert table.angle[0] == pytest.approx(math.atan2(-10.0, -table.cx[0]))
    upright = elements_of([Arc((1.0, 0.0), (1.0, 6.0), (11.0, 3.0 - off * 1e-5), ccw=False)])
    assert upright.cy[0] == pytest.approx(3.0 if moved else 3.0 - off * 1e-5, abs=1e-12)
    assert upright.cx[0] == 11.0


boxes = st.lists(
    st.tuples(st.floats(-9, 9), st.floats(-9, 9), st.floats(0, 4), st.floats(0, 4)), min_size=0, max_size=6
)


@given(boxes, boxes, st.floats(0.0, 3.0), st.sampled_from([1, 4, 10_000]))
@settings(max_examples=25)
def test_pairs_whose_boxes_come_nearer_than_the_reach(
    first: list[tuple[float, float, float, float]],
    second: list[tuple[float, float, float, float]],
    reach: float,
    at_once: int,
) -> None:
    def columns(told: list[tuple[float, float, float, float]]) -> tuple[np.ndarray, ...]:
        rows = np.array([(x, y, x + w, y + h) for x, y, w, h in told]).reshape(-1, 4)
        return tuple(rows.T)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(elements, "CELLS_AT_ONCE", at_once)
        reaches = reach + 0.1 * np.arange(len(second))
        i, j = near_pairs(columns(first), columns(second), reaches)  # type: ignore[arg-type]
    wanted = []
    for a, (ax, ay, aw, ah) in enumerate(first):
        for b, (bx, by, bw, bh) in enumerate(second):
            across = max(bx - (ax + aw), ax - (bx + bw))
            up = max(by - (ay + ah), ay - (by + bh))
            if abs(max(across, up) - reaches[b]) < 1e-9:
                return
            if max(across, up) < reaches[b]:
                wanted.append((a, b))
    assert list(zip(i.tolist(), j.tolist(), strict=True)) == wanted


def test_boxes_that_only_touch_the_reach_are_no_pair() -> None:
    one = tuple(np.array([v]) for v in (0.0, 0.0, 1.0, 1.0))
    for box in ((3.0, 0.0, 4.0, 1.0), (-3.0, 0.0, -2.0, 1.0), (0.0, 3.0, 1.0, 4.0), (0.0, -3.0, 1.0, -2.0)):
        other = tuple(np.array([v]) for v in box)
        assert len(near_pairs(one, other, np.array([2.0]))[0]) == 0  # type: ignore[arg-type]
        assert len(near_pairs(one, other, np.array([2.0001]))[0]) == 1  # type: ignore[arg-type]
