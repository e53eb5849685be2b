"""Lines, arcs and helices as columns: closed forms, and points taken along them one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from moves_by_hand import Place, Row, columns

from holecam.program.check_rapids import nearest_on_path
from holecam.program.moves import Kind, Moves
from holecam.program.path_pieces import cutting_pieces, locate, part_of, pieces_of
from holecam.program.paths import bounds, lengths, points_at, radii, sweeps


def on_circle(center: tuple[float, float], radius: float, degrees: float, z: float) -> Place:
    a = math.radians(degrees)
    return (center[0] + radius * math.cos(a), center[1] + radius * math.sin(a), z)


def arc(center: tuple[float, float], radius: float, first: float, turn: float, z0: float, z1: float) -> Moves:
    """One arc from a direction through a turn, degrees, anticlockwise above 0."""
    kind = Kind.ARC_CCW if turn > 0 else Kind.ARC_CW
    return columns((kind, on_circle(center, radius, first, z0), on_circle(center, radius, first + turn, z1), center))


arcs = st.builds(
    arc,
    st.tuples(st.floats(-30, 30), st.floats(-30, 30)),
    st.floats(0.5, 20),
    st.floats(-180, 180),
    st.one_of(st.floats(5, 355), st.floats(-355, -5)),
    st.floats(-5, 5),
    st.floats(-5, 5),
)
lines = st.builds(
    lambda a, b: columns((Kind.FEED, a, b, None)),
    st.tuples(st.floats(-30, 30), st.floats(-30, 30), st.floats(-5, 5)),
    st.tuples(st.floats(-30, 30), st.floats(-30, 30), st.floats(-5, 5)),
)
moves = st.one_of(arcs, lines)


def walked(one: Moves, count: int = 721) -> np.ndarray:
    """Points along a move, worked out from its definition."""
    shares = np.linspace(0.0, 1.0, count)
    (x0, y0, z0), (x1, y1, z1) = one.start[0], one.end[0]
    z = z0 + shares * (z1 - z0)
    if one.kind[0] == Kind.FEED:
        return np.column_stack((x0 + shares * (x1 - x0), y0 + shares * (y1 - y0), z))
    cx, cy = one.center[0]
    first, last = math.atan2(y0 - cy, x0 - cx), math.atan2(y1 - cy, x1 - cx)
    turn = (last - first) % math.tau if one.kind[0] == Kind.ARC_CCW else -((first - last) % math.tau)
    r = math.hypot(x0 - cx, y0 - cy)
    return np.column_stack((cx + r * np.cos(first + shares * turn), cy + r * np.sin(first + shares * turn), z))


def test_sweeps_radii_and_lengths_by_hand() -> None:
    """Quarter of a 5 mm circle each way, a full circle, a helix of half a turn that sinks 12: hypot(5 pi, 12)."""
    quarter = arc((1.0, 2.0), 5.0, 0.0, 90.0, 0.0, 0.0)
    back = arc((1.0, 2.0), 5.0, 0.0, -90.0, 0.0, 0.0)
    full = columns((Kind.ARC_CW, (6.0, 2.0, 0.0), (6.0, 2.0, 0.0), (1.0, 2.0)))
    helix = arc((1.0, 2.0), 5.0, 0.0, -180.0, 0.0, -12.0)
    line = columns((Kind.RAPID, (0.0, 0.0, 0.0), (2.0, 3.0, 6.0), None))
    for one, turn, radius, length in (
        (quarter, math.pi / 2, 5.0, 2.5 * math.pi),
        (back, -math.pi / 2, 5.0, 2.5 * math.pi),
        (full, -math.tau, 5.0, 10 * math.pi),
        (helix, -math.pi, 5.0, math.hypot(5 * math.pi, 12.0)),
        (line, 0.0, 0.0, 7.0),
    ):
        assert sweeps(one)[0] == pytest.approx(turn, abs=1e-9)
        assert radii(one)[0] == pytest.approx(radius)
        assert lengths(one)[0] == pytest.approx(length)
    unknown = columns((Kind.RAPID, (math.nan, math.nan, 5.0), (math.nan, math.nan, 25.0), None))
    assert lengths(unknown)[0] == 20.0


@given(moves, st.floats(0.0, 1.0))
def test_points_lie_where_walking_comes_by(one: Moves, share: float) -> None:
    index = round(share * 720)
    assert points_at(one, index / 720)[0] == pytest.approx(walked(one)[index], abs=1e-9)


@given(moves)
def test_bounds_hold_every_point_and_are_reached(one: Moves) -> None:
    low, high = bounds(one)
    points = walked(one)
    assert (points >= low[0] - 1e-9).all()
    assert (points <= high[0] + 1e-9).all()
    sag = radii(one)[0] * (1 - math.cos(math.pi / 720)) + 1e-9  # what a step of half a degree can miss
    assert points.min(axis=0) == pytest.approx(low[0], abs=sag)
    assert points.max(axis=0) == pytest.approx(high[0], abs=sag)


def test_bounds_of_arcs_reach_as_far_as_the_quarters_they_pass() -> None:
    """About (2, 3) with radius 10, walked degree by degree: where 0, 90, 180 or 270 degrees lie on the way.

    Between the arcs stand lines, whose bounds are their ends.
    """
    rows: list[Row] = []
    boxes = []
    for first in range(15, 360, 30):
        for turn in (20, 50, 110, 200, 290, 340, 360, -20, -50, -110, -200, -290, -340, -360):
            step = 1 if turn > 0 else -1
            passed = {(first + step * k) % 360 for k in range(abs(turn) + 1)} & {0, 90, 180, 270}
            a, b = (on_circle((2.0, 3.0), 10.0, d, z) for d, z in ((first, -1.0), (first + turn, -4.0)))
            b = (a[0], a[1], b[2]) if abs(turn) == 360 else b
            rows += [
                (Kind.ARC_CCW if turn > 0 else Kind.ARC_CW, a, b, (2.0, 3.0)),
                (Kind.FEED, (float(first), 1.0, 2.0), (3.0, float(turn), 1.0), None),
            ]
            boxes += [
                (
                    -8.0 if 180 in passed else min(a[0], b[0]), -7.0 if 270 in passed else min(a[1], b[1]), -4.0,
                    12.0 if 0 in passed else max(a[0], b[0]), 13.0 if 90 in passed else max(a[1], b[1]), -1.0,
                ),
                (3.0, min(1.0, turn), 1.0, first, max(1.0, turn), 2.0),
            ]  # fmt: skip
    low, high = bounds(columns(*rows))
    assert np.hstack((low, high)) == pytest.approx(np.array(boxes), abs=1e-9)


def test_what_is_known_of_a_move_bounds_it() -> None:
    low, high = bounds(columns((Kind.RAPID, (math.nan, 2.0, 5.0), (4.0, math.nan, 1.0), None)))
    assert (low.tolist(), high.tolist()) == ([[4.0, 2.0, 1.0]], [[4.0, 2.0, 5.0]])


def test_turns_points_and_lengths_of_many_moves_at_once() -> None:
    """Lines among arcs, each by hand: a quarter, a full circle, half a turn back that sinks, an axis not known."""
    rows: list[Row] = [
        (Kind.FEED, (0.0, 0.0, 0.0), (2.0, 3.0, 6.0), None),
        (Kind.ARC_CCW, (7.0, 3.0, 1.0), (2.0, 8.0, 1.0), (2.0, 3.0)),
        (Kind.RAPID, (math.nan, math.nan, 4.0), (math.nan, math.nan, 1.0), None),
        (Kind.ARC_CW, (-3.0, 3.0, 1.0), (-3.0, 3.0, 1.0), (2.0, 3.0)),
        (Kind.ARC_CW, (2.0, -2.0, 0.0), (2.0, 8.0, -12.0), (2.0, 3.0)),
        (Kind.FEED, (1.0, 1.0, math.nan), (4.0, 5.0, math.nan), None),
        (Kind.ARC_CCW, (2.0, -2.0, 0.0), (-3.0, 3.0, 0.0), (2.0, 3.0)),
    ]
    some = columns(*rows)
    assert sweeps(some).tolist() == pytest.approx([0, math.pi / 2, 0, -math.tau, -math.pi, 0, 1.5 * math.pi])
    assert radii(some).tolist() == [0, 5, 0, 5, 5, 0, 5]
    assert lengths(some).tolist() == pytest.approx(
        [7, 2.5 * math.pi, 3, 10 * math.pi, math.hypot(5 * math.pi, 12), 5, 7.5 * math.pi]
    )
    diagonal = 5 / math.sqrt(2)
    third = points_at(some, 1 / 3)
    assert third[0].tolist() == pytest.approx([2 / 3, 1.0, 2.0])
    assert third[1].tolist() == pytest.approx([2 + 5 * math.cos(math.pi / 6), 5.5, 1.0])
    assert third[3].tolist() == pytest.approx([4.5, 3 + 5 * math.sin(math.pi / 3), 1.0])
    assert third[4].tolist() == pytest.approx([2 - 5 * math.sin(math.pi / 3), 3 - 2.5, -4.0])
    assert points_at(some, 0.25)[1].tolist() == pytest.approx(
        [2 + 5 * math.cos(math.pi / 8), 3 + 5 * math.sin(math.pi / 8), 1.0]
    )
    assert points_at(some, 0.5)[6].tolist() == pytest.approx([2 + diagonal, 3 + diagonal, 0.0])
    straight = columns(rows[0])
    assert (sweeps(straight).tolist(), radii(straight).tolist()) == ([0.0], [0.0])


@given(moves, st.floats(-40, 40), st.floats(-40, 40))
def test_nearest_on_a_path_seen_from_above(one: Moves, x: float, y: float) -> None:
    away, height = nearest_on_path(one, x, y)
    points = walked(one)
    distances = np.hypot(points[:, 0] - x, points[:, 1] - y)
    step = lengths(one)[0] / 720
    assert distances.min() - step <= away[0] <= distances.min() + 1e-9
    # The height belongs to that place
    plan = math.dist(one.start[0, :2], one.end[0, :2])
    if away[0] < 1e9 and (one.kind[0] != Kind.FEED or plan > 0.1):
        at = points[np.abs(points[:, 2] - height[0]).argmin()]
        drop = abs(float(one.end[0, 2] - one.start[0, 2]))
        if drop > 1e-3:
            assert math.hypot(at[0] - x, at[1] - y) == pytest.approx(away[0], abs=2 * step + 1e-6)


@pytest.mark.parametrize(
    ("x", "y", "away", "height"),
    [(17, 12, math.hypot(3, 2), -2.0), (32, -3, math.hypot(2, 3), -1.0), (20, 0, 10.0, None), (26, 8, 0.0, None)],
)
def test_beyond_an_arc_its_nearer_end_counts(x: float, y: float, away: float, height: float | None) -> None:
    """A quarter of a circle of radius 10 about (20, 0), from (30, 0) to (20, 10), 1 mm down; and as it is mirrored."""
    for sx, sy in ((1, 1), (-1, 1), (1, -1), (-1, -1)):
        kind = Kind.ARC_CCW if sx * sy > 0 else Kind.ARC_CW
        one = columns((kind, (30.0 * sx, 0.0, -1.0), (20.0 * sx, 10.0 * sy, -2.0), (20.0 * sx, 0.0)))
        found, z = nearest_on_path(one, x * sx, y * sy)
        assert found[0] == pytest.approx(away, abs=1e-9)
        assert height is None or z[0] == pytest.approx(height)


def test_nearest_on_an_upright_move_is_its_lower_end() -> None:
    for z0, z1 in ((5.0, -2.0), (-2.0, 5.0)):
        away, height = nearest_on_path(columns((Kind.FEED, (3.0, 4.0, z0), (3.0, 4.0, z1), None)), 0.0, 0.0)
        assert (away[0], height[0]) == (5.0, -2.0)


@given(moves, st.floats(-40, 40), st.floats(-40, 40), st.floats(-8, 8))
def test_locating_a_point_in_space_on_a_piece(one: Moves, x: float, y: float, z: float) -> None:
    """On level pieces no walked point is nearer; on sloped ones the share and the distance belong together."""
    pieces = pieces_of(one, np.array([0]))
    away, share = locate(pieces, (x, y, z))
    assert 0.0 <= share[0] <= 1.0
    at = points_at(one, float(share[0]))[0]
    assert away[0] == pytest.approx(math.dist(at, (x, y, z)), abs=1e-9)
    if one.start[0, 2] == one.end[0, 2] or one.kind[0] == Kind.FEED:
        assert away[0] <= np.sqrt(((walked(one) - (x, y, z)) ** 2).sum(axis=1)).min() + 1e-9


@given(moves, st.floats(0.0, 0.45), st.floats(0.55, 1.0))
def test_a_part_of_a_piece_runs_from_share_to_share(one: Moves, first: float, last: float) -> None:
    part = part_of(pieces_of(one, np.array([0])), 0, first, last).moves
    assert part.start[0] == pytest.approx(points_at(one, first)[0], abs=1e-9)
    assert part.end[0] == pytest.approx(points_at(one, last)[0], abs=1e-9)
    assert sweeps(part)[0] == pytest.approx(sweeps(one)[0] * (last - first), abs=1e-6)


@given(arcs, st.floats(-4.5, 4.5))
def test_a_helix_is_clipped_where_it_passes_the_top(one: Moves, top: float) -> None:
    """What is left lies below the top and begins or ends on it, at the same place of the helix."""
    z0, z1 = float(one.start[0, 2]), float(one.end[0, 2])
    made = cutting_pieces(one, top, 1e-6, set(), 1e-9)
    if min(z0, z1) < top - 1e-3 < top + 1e-3 < max(z0, z1):
        ends = np.concatenate((made.start, made.end))
        assert ends[:, 2].max() == pytest.approx(top, abs=1e-9)
        share = (top - z0) / (z1 - z0)
        crossing = points_at(one, share)[0]
        assert min(math.dist(crossing, p) for p in ends) < 1e-6
        assert np.abs(made.sweep).sum() == pytest.approx(
            abs(sweeps(one)[0]) * (1 - share if z1 < z0 else share), abs=1e-6
        )
    assert (np.abs(made.sweep) <= math.pi + 1e-9).all()
    if min(z0, z1) > top + 1e-3:
        assert len(made) == 0
