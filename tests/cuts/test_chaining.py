"""Pieces whose ends lie only nearly together: the loops close exactly, keep their area, and arcs stay arcs."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.chaining import BRIDGED, JOIN_FAR, JOIN_NEAR, Loop, _arc_through, chained_loops
from holecam.cuts.elements import elements_of
from holecam.shapes import Arc, Curve, Point, Segment, distance


def closed(loop: Loop) -> bool:
    """Whether every curve begins exactly where the one before ends."""
    return all(a.end == b.start for a, b in zip(loop.curves[-1:] + loop.curves[:-1], loop.curves, strict=True))


def honest(curve: Curve) -> bool:
    """Whether an arc's ends are equally far from its centre."""
    return (
        isinstance(curve, Segment)
        or abs(distance(curve.center, curve.start) - distance(curve.center, curve.end)) < 1e-6
    )


def sides(corners: list[Point], off: float, rng: np.random.Generator) -> list[Curve]:
    """Straight pieces round the corners, each end moved by up to ``off``."""

    def near(p: Point) -> Point:
        dx, dy = rng.uniform(-off, off, 2) / 2
        return (p[0] + dx, p[1] + dy)

    return [Segment(near(a), near(b)) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


@given(st.integers(0, 1000), st.sampled_from([0.0, 1e-9, JOIN_NEAR / 2, JOIN_FAR / 2]), st.permutations(range(8)))
def test_two_squares_in_any_order(seed: int, off: float, order: list[int]) -> None:
    rng = np.random.default_rng(seed)
    far = [(x + 30.0, y) for x, y in SQUARE[::-1]]  # the other way round: an island
    pieces = sides(SQUARE, off, rng) + sides(far, off, rng)
    loops, lonely = chained_loops(elements_of([pieces[k] for k in order]))
    assert lonely == 0
    assert sorted(loop.signed_area for loop in loops) == pytest.approx([-100.0, 100.0], abs=30 * off + 1e-9)
    for loop in loops:
        assert closed(loop)
        assert loop.length == pytest.approx(40.0, abs=8 * off + 1e-9)
        for name, curve in zip(loop.pieces, loop.curves, strict=True):
            assert distance(pieces[order[name]].start, curve.start) <= 2 * off + 1e-12


@pytest.mark.parametrize("at", range(5))
@pytest.mark.parametrize("size", [1e-12, 4e-10, 3e-7, 1e-5])
def test_a_piece_that_hardly_is_one_does_not_open_the_loop(at: int, size: float) -> None:
    """A crumb between two sides of a square, wherever the list begins: it goes or stays, and all is closed."""
    pieces: list[Curve] = [Segment(a, b) for a, b in zip(SQUARE, SQUARE[1:] + SQUARE[:1], strict=True)]
    crumb = Segment((0.0, 0.0), (size, 0.0))
    pieces = [Segment((size, 0.0), (10.0, 0.0)), *pieces[1:], crumb]
    pieces = pieces[at:] + pieces[:at]
    (loop,), lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    assert closed(loop)
    assert loop.signed_area == pytest.approx(100.0, abs=1e-4)


def test_an_end_without_a_partner_is_told_and_a_trace_is_not() -> None:
    pieces = [Segment(a, b) for a, b in zip(SQUARE, SQUARE[1:] + SQUARE[:1], strict=True)]
    loops, lonely = chained_loops(elements_of([*pieces, Segment((20.0, 0.0), (25.0, 0.0))]))
    assert (len(loops), lonely) == (1, 1)
    loops, lonely = chained_loops(elements_of([*pieces, Segment((20.0, 0.0), (20.0 + JOIN_FAR / 2, 0.0))]))
    assert (len(loops), lonely) == (1, 0)
    opened = [Segment((0.0, 0.0), (9.9, 0.0)), *pieces[1:]]
    assert chained_loops(elements_of(opened)) == ((), 1)
    assert chained_loops(elements_of([])) == ((), 0)


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("off", [0.0, 1e-7, 2e-6, 5e-4, 1e-3, -1e-3])
def test_a_lens_whose_arcs_meet_only_nearly(off: float, turn: int) -> None:
    """Arcs of 5 and 8 mm over one chord of 6 mm; the second one's ends lie off the first one's, along the chord.

    Areas of circular segments: r^2 acos(d / r) - d sqrt(r^2 - d^2) with d the centre's distance from the chord.
    """
    d5, d8 = math.sqrt(25 - 9), math.sqrt(64 - 9)
    lower = Arc((-3.0, 0.0), (3.0, 0.0), (0.0, d5), ccw=True)
    upper = Arc((3.0 + off, 0.0), (-3.0 + off, 0.0), (off, -d8), ccw=True)
    pieces = [lower, upper] if turn > 0 else [upper.reversed(), lower.reversed()]
    (loop,), lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    area = 25 * math.acos(d5 / 5) - 3 * d5 + 64 * math.acos(d8 / 8) - 3 * d8
    assert loop.signed_area == pytest.approx(turn * area, abs=4 * abs(off) + 1e-9)
    assert closed(loop)
    assert len(loop.curves) == 2
    for curve in loop.curves:
        assert isinstance(curve, Arc)
        assert honest(curve)
        assert curve.ccw is (turn > 0)
        assert min(abs(curve.radius - 5.0), abs(curve.radius - 8.0)) < 0.02


def test_a_whole_circle_follows_itself_and_a_slot_of_no_width_is_flat() -> None:
    circle = Arc((5.0, 0.0), (5.0, 0.0), (0.0, 0.0), ccw=True)
    (loop,), lonely = chained_loops(elements_of([circle]))
    assert lonely == 0
    assert loop.signed_area == pytest.approx(25 * math.pi)
    assert not loop.is_flat
    assert len(loop.outline().curves) == len(loop.curves)
    there_and_back = [Segment((0.0, 0.0), (10.0, 0.0)), Segment((10.0, 0.0), (0.0, 0.0))]
    (flat,), _ = chained_loops(elements_of(there_and_back))
    assert flat.is_flat
    assert flat.length == 20.0


def test_loops_that_touch_in_a_point_stay_apart() -> None:
    """Two squares corner to corner: of the two ways on, the one most to the left keeps each by itself."""
    other = [(10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0)]
    pieces = [Segment(a, b) for ring in (SQUARE, other) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    loops, lonely = chained_loops(elements_of(pieces))
    assert lonely == 0
    assert [loop.signed_area for loop in loops] == pytest.approx([100.0, 100.0])


def test_curves_keep_the_names_of_their_pieces_when_crumbs_go() -> None:
    """A crumb of 1.2 nm before the square and one of 0.6 nm after it: the first falls when the loop is closed."""
    corners = [(1.2e-9, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.6e-9, 0.0)]
    pieces = [
        Segment((0.0, 0.0), (1.2e-9, 0.0)),
        *(Segment(a, b) for a, b in pairwise(corners)),
        Segment((0.6e-9, 0.0), (0.0, 0.0)),
    ]
    loops, _ = chained_loops(elements_of(pieces))
    (square,) = (loop for loop in loops if not loop.is_flat)
    assert square.signed_area == pytest.approx(100.0)
    assert closed(square)
    for name, curve in zip(square.pieces, square.curves, strict=True):
        assert distance(pieces[name].start, curve.start) < 2e-9
        assert distance(pieces[name].end, curve.end) < 2e-9


@given(st.floats(-170, 170), st.floats(20, 300), st.floats(-0.02, 0.02), st.booleans(), st.floats(-180, 180))
def test_an_arc_between_joints_off_its_circle_gets_a_centre_equally_far_from_both(
    first: float, turn: float, off: float, left: bool, lean: float
) -> None:
    """A circle of 4 mm, one joint off it by up to 0.02 mm: the centre moves along the chord alone, and by no more."""
    a, b = math.radians(first), math.radians(first + (turn if left else -turn))
    center = (7.0 * math.cos(math.radians(lean)), 7.0 * math.sin(math.radians(lean)))
    start = (center[0] + 4.0 * math.cos(a), center[1] + 4.0 * math.sin(a))
    end = (center[0] + (4.0 + off) * math.cos(b), center[1] + (4.0 + off) * math.sin(b))
    arc = _arc_through(start, end, center, b - a)
    assert isinstance(arc, Arc)
    assert (arc.start, arc.end, arc.ccw) == (start, end, left)
    if abs(off) > BRIDGED:
        assert distance(arc.center, start) == pytest.approx(distance(arc.center, end), abs=1e-9)
        # The middle of the chord and the old centre, both seen along the chord, are this far apart
        chord = distance(start, end)
        assert distance(arc.center, center) == pytest.approx(abs((4.0 + off) ** 2 - 16.0) / (2.0 * chord), abs=1e-9)
    else:
        assert arc.center == center


def test_between_joints_hardly_farther_apart_than_they_are_off_a_line_does() -> None:
    assert _arc_through((4.0, 0.0), (4.01, 0.02), (0.0, 0.0), 0.005) == Segment((4.0, 0.0), (4.01, 0.02))
    assert _arc_through((4.0, 0.0), (0.0, 4.0), (0.0, 0.0), -math.pi / 2) is None, "it would run the long way round"
