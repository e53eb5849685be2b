"""The middle lines of rooms: where they are known to run, their places, and triangles that give up."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts import medial_axis
from holecam.cuts.chaining import Loop
from holecam.cuts.medial_axis import (
    MiddleLines,
    _circumcenters,
    _closer,
    _dense,
    _edges,
    _into_corner,
    _samples,
    _triangles,
    middle_lines,
    room_of,
)
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.walls import WallChain, chains_of_region, walls_of
from holecam.shapes import Circle, Outline, Segment, circle_outline, outline_through, rectangle


def lines_of(outline: Outline, islands: tuple[Outline, ...] = (), away: float = 3.0) -> MiddleLines:
    walls = walls_of(chains_of_region(outline, islands))
    return middle_lines(walls, OffsetStack(walls).at(away).loops, away, 0.24)


def test_room_is_what_lies_between_a_place_and_the_nearest_wall_or_margin(monkeypatch: pytest.MonkeyPatch) -> None:
    chains = chains_of_region(rectangle(0, 0, 30, 20), ())
    walls = walls_of([*chains, WallChain((Segment((12.0, 0.0), (12.0, 8.0)),), 1.5, closed=False)])
    places = np.array([(15.0, 10.0), (4.0, 10.0), (14.5, 4.0), (12.0, 10.5), (29.0, 1.0)])
    wanted = [math.hypot(3.0, 2.0) - 1.5 - 0.5, 3.5, 1.0 - 0.5, 1.0 - 0.5, 0.5]
    assert room_of(walls, places, 0.5) == pytest.approx(wanted)
    monkeypatch.setattr(medial_axis, "CELLS_AT_ONCE", 2 * len(walls.bodies))
    assert room_of(walls, places, 0.5) == pytest.approx(wanted)
    monkeypatch.setattr(medial_axis, "CELLS_AT_ONCE", 1)
    assert room_of(walls, places, 0.5) == pytest.approx(wanted)


@pytest.mark.parametrize("shift", [0.0, -40.0])
def test_of_a_slanted_triangle_they_meet_where_the_inscribed_circle_has_its_middle(shift: float) -> None:
    """Sides a, b, c opposite to A, B, C, sum p, area S: the middle is (a A + b B + c C) / p, its radius 2 S / p."""
    corners = [(0.0 + shift, 0.0), (26.0 + shift, 0.0), (8.0 + shift, 19.0)]
    sides = [math.dist(corners[(k + 1) % 3], corners[(k + 2) % 3]) for k in range(3)]
    middle = tuple(sum(s * c[axis] for s, c in zip(sides, corners, strict=True)) / sum(sides) for axis in (0, 1))
    inradius = 26.0 * 19.0 / sum(sides)
    found = lines_of(outline_through(corners))
    widest = int(found.nodes_room.argmax())
    assert found.nodes_xy[widest] == pytest.approx(middle, abs=0.15)
    assert found.nodes_room[widest] == pytest.approx(inradius - 3.0, abs=0.1)
    # Three branches lead into the three corners of the room for the centre, down to thinner than a chip
    ends = [b.xy[-1] if b.first == widest else b.xy[0] for b in found.branches if widest in (b.first, b.last)]
    room_corners = [
        (c[0] + (middle[0] - c[0]) * 3.0 / inradius, c[1] + (middle[1] - c[1]) * 3.0 / inradius) for c in corners
    ]
    for corner in room_corners:
        assert min(math.dist(corner, end) for end in ends) < 0.004
    walls = walls_of(chains_of_region(outline_through(corners), ()))
    for branch in found.branches:
        assert branch.room == pytest.approx(room_of(walls, branch.xy, 3.0))
        gaps = np.hypot(*np.diff(branch.xy, axis=0).T)
        assert gaps.max() <= 0.24 + 1e-9
        assert (gaps <= 0.5 * np.maximum(np.minimum(branch.room[1:], branch.room[:-1]), 0.004) + 1e-6).mean() > 0.95
        assert branch.xy[0] == pytest.approx(found.nodes_xy[branch.first], abs=0.7)


def test_a_round_room_has_one_middle_and_a_round_channel_a_ring() -> None:
    disc = lines_of(circle_outline(Circle((5.0, -2.0), 11.0)))
    for xy, room in ((disc.nodes_xy, disc.nodes_room), *((b.xy, b.room) for b in disc.branches)):
        assert np.abs(xy - [5.0, -2.0]).max() < 1e-6
        assert room == pytest.approx(8.0, abs=1e-6)
    # Between 8 and 20 mm: at 14 mm all round, with 3 mm of room for the centre
    channel = lines_of(circle_outline(Circle((5.0, -2.0), 20.0)), (circle_outline(Circle((5.0, -2.0), 8.0)),))
    (ring,) = channel.branches
    assert ring.first == ring.last == 0
    assert np.hypot(ring.xy[:, 0] - 5.0, ring.xy[:, 1] + 2.0) == pytest.approx(14.0, abs=0.02)
    assert ring.room == pytest.approx(3.0, abs=0.02)
    assert ring.xy[0] == pytest.approx(ring.xy[-1])
    turn = np.unwrap(np.arctan2(ring.xy[:, 1] + 2.0, ring.xy[:, 0] - 5.0))
    assert abs(turn[-1] - turn[0]) == pytest.approx(math.tau)
    assert len(channel.nodes_xy) == 1


def test_a_cross_has_a_line_into_each_of_its_corners_and_forks_where_they_meet() -> None:
    """A rectangle 40 by 20: a middle line from (10, 10) to (30, 10), and four at 45 degrees into the corners."""
    found = lines_of(rectangle(0, 0, 40, 20))
    ends = {(round(float(x), 1), round(float(y), 1)) for x, y in found.nodes_xy}
    assert len(found.branches) == len(found.nodes_xy) - 1, "they hang together without a ring"
    on_lines = np.concatenate([b.xy for b in found.branches])
    x, y = on_lines.T
    away = np.minimum(np.minimum(x, 40 - x), np.minimum(y, 20 - y))
    beside = np.abs(np.minimum(x, 40 - x) - np.minimum(y, 20 - y))
    assert (np.where(away < 9.5, beside, np.abs(y - 10.0)) < 0.6).all()
    assert (np.where(away < 9.5, beside, np.abs(y - 10.0)) < 0.1).mean() > 0.9
    for corner in ((3, 3), (37, 3), (37, 17), (3, 17)):
        assert np.hypot(x - corner[0], y - corner[1]).min() < 0.004
    assert len(ends) >= 5


def test_triangles_that_give_up_are_tried_again_with_samples_moved_a_little(monkeypatch: pytest.MonkeyPatch) -> None:
    samples = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.5)])
    plain, corners = _triangles(samples)
    assert plain is samples
    areas = [abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2 for a, b, c in corners]
    assert len(areas) == 2
    assert sum(areas) == pytest.approx(13.0)
    made, tried = shapely.delaunay_triangles, []

    def refusing(times: int):  # type: ignore[no-untyped-def]
        def triangles(points: shapely.MultiPoint) -> shapely.GeometryCollection:
            tried.append(shapely.get_coordinates(points))
            if len(tried) <= times:
                raise shapely.errors.GEOSException("samples on one circle")
            return made(points)

        return triangles

    monkeypatch.setattr(shapely, "delaunay_triangles", refusing(3))
    moved, found = _triangles(samples)
    assert len(tried) == 4
    assert (tried[0] == samples).all()
    for attempt in (1, 2, 3):
        off = np.abs(tried[attempt] - samples).max()
        assert 0.2 * 1e-6 * 4 ** (attempt - 1) < off <= 1e-6 * 4 ** (attempt - 1)
    assert (moved == tried[3]).all()
    assert found.shape == (2, 3, 2)
    tried.clear()
    monkeypatch.setattr(shapely, "delaunay_triangles", refusing(99))
    moved, found = _triangles(samples)
    assert (len(tried), found.shape, len(moved)) == (6, (0, 3, 2), 4)
    nothing = lines_of(rectangle(0, 0, 40, 20))
    assert (nothing.branches, nothing.nodes_xy.shape, nothing.nodes_room.shape) == ((), (0, 2), (0,))


def test_the_middle_of_the_circle_through_three_places() -> None:
    """3, 4, 5: half way along the long side. On a line there is none."""
    corners = np.array([
        [(1.0, 1.0), (4.0, 1.0), (1.0, 5.0)],
        [(1.0, 5.0), (1.0, 1.0), (4.0, 1.0)],
        [(0.0, 0.0), (1.0, 2.0), (2.0, 4.0)],
        [(-5.0, 0.0), (3.0, 4.0), (0.0, -5.0)],
        [(0.0, 0.0), (1e-6, 0.0), (0.0, 1e-6)],
        [(0.0, 0.0), (1e-7, 0.0), (0.0, 1e-7)],
    ])  # fmt: skip
    centers, sound = _circumcenters(corners)
    assert sound.tolist() == [True, True, False, True, True, False]
    assert centers[[0, 1, 3]] == pytest.approx(np.array([(2.5, 3.0), (2.5, 3.0), (0.0, 0.0)]))


def test_two_triangles_share_an_edge_of_the_middle_where_it_spans_two_walls() -> None:
    """Samples 0, 1, 2 on one loop, 10, 11 on another, triangles over them; nodes at the middles of the circles."""
    samples = np.array([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (0.0, 4.0), (2.0, 4.0)])
    loop_of, order = np.array([0, 0, 0, 1, 1]), np.array([0, 1, 2, 0, 9])
    which = np.array([(0, 1, 3), (1, 4, 3), (1, 2, 4)])
    centers = np.array([(0.5, 2.0), (1.0, 2.1), (1.5, 2.0)])
    assert _edges(which, centers, samples, loop_of, order) == [(0, 1), (1, 2)]
    # One loop: samples that follow each other span no middle, others do
    one = np.zeros(5, dtype=np.intp)
    assert _edges(which, centers, samples, one, np.array([0, 1, 2, 2, 9])) == [(1, 2)]
    assert _edges(which, centers, samples, one, np.array([0, 1, 2, 3, 2])) == [(0, 1)]
    assert _edges(which, centers, samples, loop_of, np.zeros(5, dtype=np.intp)) == [(0, 1), (1, 2)]
    # Seen under less than 10 degrees from both nodes a wall is as good as straight
    flat = np.array([(0.5, 40.0), (1.0, 2.1), (1.5, 2.0)])
    assert _edges(which, flat, samples, loop_of, order) == [(1, 2)]
    assert _edges(which[:1], centers, samples, loop_of, order) == []


def test_samples_lie_a_spacing_apart_and_no_two_in_one_place() -> None:
    def loop(outline: Outline) -> Loop:
        length = sum(c.length for c in outline.curves)
        return Loop(outline.curves, tuple(range(len(outline.curves))), outline.signed_area, length)

    xy, loop_of, order = _samples([loop(rectangle(0, 0, 3, 2)), loop(rectangle(0, 0, 1, 1))], 0.6)
    # 5 + 4 + 5 + 4 on the first; 2 a side on the second, left out where it lies on a sample of the first
    first = [(0.6 * k, 0.0) for k in range(5)] + [(3.0, 0.5 * k) for k in range(4)]
    first += [(3.0 - 0.6 * k, 2.0) for k in range(5)] + [(0.0, 2.0 - 0.5 * k) for k in range(4)]
    assert xy[:18] == pytest.approx(np.array(first))
    assert loop_of.tolist() == [0] * 18 + [1] * (len(xy) - 18)
    assert order[:18].tolist() == list(range(18))
    second = [((0.5, 0.0), 1), ((1.0, 0.0), 2), ((1.0, 0.5), 3), ((1.0, 1.0), 4), ((0.5, 1.0), 5)]
    assert xy[18:] == pytest.approx(np.array([p for p, _ in second]))
    assert order[18:].tolist() == [n for _, n in second]
    most = _samples([loop(rectangle(0, 0, 300, 300))], 0.01)[0]
    assert len(most) == pytest.approx(3000, abs=4), "not more, however close they are wished"


def test_a_line_that_ends_near_a_corner_is_led_on_into_it() -> None:
    tips = np.array([(9.0, 9.0), (0.5, 0.0)])
    line = np.array([(0.0, 2.0), (0.0, 0.0)])
    led = _into_corner(line, tips, 0.24)
    # From 0.5 mm in steps of 0.9 to 0.004: ln(0.008) / ln 0.9 = 45.8, so 46 places
    assert len(led) == 2 + 46
    assert (led[:2] == line).all()
    assert led[2:, 0] == pytest.approx(0.5 - 0.5 * 0.9 ** np.arange(1, 47))
    assert (led[:, 1] == 0.0).sum() == 47
    assert (_into_corner(line, np.zeros((0, 2)), 0.24) is line) is True
    assert len(_into_corner(line, np.array([(0.97, 0.0)]), 0.24)) == 2, "0.97 mm is farther than four spacings, 0.96"
    assert len(_into_corner(line, np.array([(0.95, 0.0)]), 0.24)) == 2 + 52
    assert len(_into_corner(line, np.array([(0.0039, 0.0)]), 0.24)) == 2
    assert len(_into_corner(line, np.array([(0.0041, 0.0)]), 0.24)) == 3


def test_places_lie_closer_where_there_is_little_room() -> None:
    """Half the smaller room of two neighbours apart, at most; 4 microns count as room, and 60 places as the most."""
    line = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 3.0), (2.0, 3.0), (3.0, 3.0)])
    found = _closer(line, np.array([4.0, 2.0, 1.0, 0.0, 0.0]))
    sections = [line[0:1] + share * (line[1:2] - line[0:1]) for share in (0.0,)]
    sections += [line[1] + np.arange(6)[:, None] / 6 * (line[2] - line[1])]
    sections += [line[2] + np.arange(60)[:, None] / 60 * (line[3] - line[2])]
    sections += [line[3] + np.arange(60)[:, None] / 60 * (line[4] - line[3]), line[4:5]]
    assert found == pytest.approx(np.concatenate(sections))
    tight = _closer(np.array([(0.0, 0.0), (0.02, 0.0)]), np.array([1e-9, 1.0]))
    assert tight[:, 0] == pytest.approx(np.linspace(0.0, 0.02, 11))


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=2, max_size=6), st.floats(0.1, 2.0))
def test_a_line_is_divided_evenly_along_its_way(places: list[tuple[float, float]], spacing: float) -> None:
    xy = np.array(places)
    way = float(np.hypot(*np.diff(xy, axis=0).T).sum())
    if way < 0.2:
        return
    found = _dense(xy, spacing)
    assert len(found) == max(1, math.ceil(way / spacing)) + 1
    assert found[0] == pytest.approx(xy[0])
    assert found[-1] == pytest.approx(xy[-1])
    bent = shapely.LineString(xy)
    for k, p in enumerate(found):
        at = shapely.line_interpolate_point(bent, k * way / (len(found) - 1))
        assert (at.x, at.y) == pytest.approx(tuple(p), abs=1e-6)


@pytest.mark.parametrize("lean", [20.0, 110.0, 200.0, 290.0])
@pytest.mark.parametrize(("angle", "counts"), [(9.9, False), (10.1, True), (-9.9, False), (-10.1, True), (170.0, True)])
def test_walls_seen_under_ten_degrees_are_as_good_as_straight(lean: float, angle: float, counts: bool) -> None:
    """Two samples 5 and 7 mm from the middle of two nodes."""
    ways = [(5.0, math.radians(lean)), (7.0, math.radians(lean + angle))]
    seen = [(1.0 + r * math.cos(a), 2.0 + r * math.sin(a)) for r, a in ways]
    samples = np.array([*seen, (40.0, 0.0), (-40.0, 0.0)])
    which, centers = np.array([(0, 1, 2), (1, 0, 3)]), np.array([(0.5, 2.2), (1.5, 1.8)])
    found = _edges(which, centers, samples, np.array([0, 1, 0, 0]), np.arange(4))
    assert found == ([(0, 1)] if counts else [])
