"""One free direction: intervals in closed form, against hand arithmetic and against walking along the line."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spacing_scenes import HELD, Scene, grid_scenes, scenes

from holecam.errors import InputError
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_lines import LineFreedom, extents, free_along
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import KeepOut, OldHole, PartShape, Surroundings
from holecam.shapes import Arc, Circle, Segment, rectangle

LIMITS = table_limits()
INF = math.inf


def one_hole(*old: tuple[float, float], keep_outs: tuple[KeepOut, ...] = (), part: PartShape | None = None) -> Freedom:
    """One 4 mm hole at the origin among 4 mm old holes: it keeps 6 mm from their centres."""
    holes = tuple(OldHole(f"old {i + 1}", p, 4.0) for i, p in enumerate(old))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    return freedom_of(sites, Surroundings(part or PartShape(), holes, keep_outs), LIMITS)


def ends(line: LineFreedom) -> list[float]:
    return [v for i in line.free for v in (i.low, i.high)]


def test_past_one_old_hole() -> None:
    # 6 mm needed, 3.6 mm beside the path: blocked over 2 x 4.8 (3-4-5 times 1.2)
    line = free_along(one_hole((20.0, 3.6)), (1.0, 0.0))
    assert ends(line) == pytest.approx([-INF, 15.2, 24.8, INF])
    first, second = line.free
    assert first.high_binding is not None
    assert first.high_binding.obstacle_name == "old 1"
    assert first.high_binding.distance == pytest.approx(6.0)
    assert first.low_binding is None
    assert second.high_binding is None
    assert line.nearest(19.0) == pytest.approx(15.2)
    assert line.nearest(21.0) == pytest.approx(24.8)
    assert line.nearest(3.0) == 3.0


def test_any_direction_and_start() -> None:
    line = free_along(one_hole((20.0, 0.0)), (3.0, 4.0), start=(11.0, -7.0))
    # The point (20, 0) lies 9 * 0.6 + 7 * 0.8 = 11 along and 9 * 0.8 - 7 * 0.6 = 3 beside
    half = math.sqrt(36.0 - 9.0)
    assert ends(line) == pytest.approx([-INF, 11.0 - half, 11.0 + half, INF])
    assert line.direction == pytest.approx((0.6, 0.8))
    assert line.shift(5.0) == pytest.approx((14.0, -3.0))


def test_grazing_keeps_the_limit() -> None:
    assert ends(free_along(one_hole((20.0, 6.0)), (1.0, 0.0))) == [-INF, INF]
    narrow = free_along(one_hole((20.0, 6.0 - 1e-6)), (1.0, 0.0))
    half = math.sqrt(36.0 - (6.0 - 1e-6) ** 2)
    assert ends(narrow) == pytest.approx([-INF, 20.0 - half, 20.0 + half, INF], abs=1e-7)


def test_neighbours_join_into_one_block() -> None:
    line = free_along(one_hole((20.0, 0.0), (30.0, 0.0), (60.0, 0.0)), (1.0, 0.0))
    assert ends(line) == pytest.approx([-INF, 14.0, 36.0, 54.0, 66.0, INF])
    # Exactly 12 mm apart there is one place between them, of no width: it counts as closed
    assert ends(free_along(one_hole((20.0, 0.0), (32.0, 0.0)), (1.0, 0.0))) == pytest.approx([-INF, 14.0, 38.0, INF])


def test_along_a_bar_up_to_its_ends() -> None:
    bar = PartShape(rectangle(-30.0, -8.0, 50.0, 8.0))
    line = free_along(one_hole((10.0, 0.0), part=bar), (1.0, 0.0))
    # 1.5 D = 6 mm from the ends
    assert ends(line) == pytest.approx([-24.0, 4.0, 16.0, 44.0])
    assert line.free[0].low_binding is not None
    assert line.free[0].low_binding.obstacle_name == "the edge of the part"
    assert line.allowed(4.0)
    assert not line.allowed(4.1)
    # The bar itself is too narrow for it anywhere
    assert free_along(one_hole(part=PartShape(rectangle(-30.0, -5.0, 50.0, 5.0))), (1.0, 0.0)).free == ()


def test_exactly_at_the_edge_limit_all_along() -> None:
    """A bar just wide enough: the row moves along both limits at once, margin 0 all the way."""
    width = 25.4 * 0.4375
    profile_d = width / 3  # 1.5 D to each side
    sites = [DrillSite(1, "row", (0.0, width / 2), plain_profile(profile_d))]
    bar = PartShape(rectangle(-30.0, 0.0, 50.0, width))
    line = free_along(freedom_of(sites, Surroundings(bar), LIMITS), (1.0, 0.0))
    assert ends(line) == pytest.approx([-30.0 + width / 2, 50.0 - width / 2])


def test_past_round_ends_and_lines() -> None:
    # Round-ended bar: 2 mm off its middle line, 6 mm from the half circle of 10 mm, so 4 mm from its centre
    bar = PartShape(rectangle(-50.0, -10.0, 50.0, 10.0, corner_radius=10.0))
    line = free_along(one_hole(part=bar), (1.0, 0.0), start=(0.0, 2.0))
    assert ends(line) == pytest.approx([-40.0 - math.sqrt(12.0), 40.0 + math.sqrt(12.0)])
    # 3 mm from a rib that starts 2 mm beside the path and runs away from it: only its end and one flank matter
    rib = KeepOut("rib", "joint", (Segment((20.0, 2.0), (20.0, 30.0)),), margin=1.0)
    line = free_along(one_hole(keep_outs=(rib,)), (1.0, 0.0))
    assert ends(line) == pytest.approx([-INF, 20.0 - math.sqrt(5.0), 20.0 + math.sqrt(5.0), INF])
    arc = KeepOut("bead", "joint", (Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), ccw=True),), margin=1.0)
    line = free_along(one_hole(keep_outs=(arc,)), (1.0, 0.0), start=(0.0, 4.0))
    inner, outer = math.sqrt(49.0 - 16.0), math.sqrt(169.0 - 16.0)
    assert ends(line) == pytest.approx([-INF, -outer, -inner, inner, outer, INF])


def test_through_the_middle_of_a_plug_that_is_held() -> None:
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    surroundings = Surroundings(old_holes=(OldHole("old 1", (20.0, 0.0), 10.0, HELD),))
    freedom = freedom_of(sites, surroundings, LIMITS, inside_held_plugs=True)
    # Outside 5 + 2 + 5 = 12 mm; inside 5 - 2 - 0.5 = 2.5 mm
    assert ends(free_along(freedom, (1.0, 0.0))) == pytest.approx([-INF, 8.0, 17.5, 22.5, 32.0, INF])
    beside = free_along(freedom, (1.0, 0.0), start=(0.0, 1.5))
    assert ends(beside)[2:4] == pytest.approx([18.0, 22.0])


def test_how_far_each_way() -> None:
    bar = PartShape(rectangle(-30.0, -8.0, 50.0, 9.0))
    right, left, up, down = extents(one_hole((10.0, 0.0), part=bar), (0.0, 0.5))
    assert right.way == pytest.approx(10.0 - math.sqrt(36.0 - 0.25))
    assert (left.way, up.way, down.way) == (pytest.approx(24.0), pytest.approx(2.5), pytest.approx(2.5))
    assert right.binding is not None
    assert right.binding.obstacle_name == "old 1"
    assert left.binding is not None
    assert left.binding.obstacle_name == "the edge of the part"
    blocked = extents(one_hole((10.0, 0.0)), (9.0, 0.0))
    assert [e.way for e in blocked] == [0.0] * 4
    assert all(e.binding is not None for e in blocked)
    assert [e.way for e in extents(one_hole(), (0.0, 0.0))] == [INF] * 4


@given(
    st.one_of(scenes, grid_scenes),
    st.one_of(st.floats(0.0, math.tau), st.sampled_from([0.0, math.pi / 2, math.pi])),
    st.one_of(st.tuples(st.floats(-6, 6), st.floats(-6, 6)), st.just((0.0, 0.0))),
    st.booleans(),
)
@settings(max_examples=50)
def test_intervals_agree_with_walking_along(
    scene: Scene, turn: float, start: tuple[float, float], inside: bool
) -> None:
    freedom = freedom_of(*scene, LIMITS, inside_held_plugs=inside)
    line = free_along(freedom, (math.cos(turn), math.sin(turn)), start=start)
    ways = np.random.default_rng(1).uniform(-40.0, 40.0, 600)
    margins = freedom.margins(np.array([line.shift(w) for w in ways]))
    for way, margin in zip(ways.tolist(), margins.tolist(), strict=True):
        if abs(margin) > 1e-7:
            assert line.allowed(way) is (margin > 0)
    for interval in line.free:
        for way, binding in ((interval.low, interval.low_binding), (interval.high, interval.high_binding)):
            if math.isfinite(way):
                assert freedom.margin(line.shift(way)) == pytest.approx(0.0, abs=1e-7)
                assert binding is not None
                assert binding.margin == pytest.approx(0.0, abs=1e-7)


def test_a_keep_out_circle_is_exact() -> None:
    seat = KeepOut("boss", "seat", Circle((20.0, 0.0), 5.0), margin=1.0)
    assert ends(free_along(one_hole(keep_outs=(seat,)), (1.0, 0.0))) == pytest.approx([-INF, 12.0, 28.0, INF])


def test_no_direction_is_refused() -> None:
    with pytest.raises(InputError, match="not both zero"):
        free_along(one_hole(), (0.0, 0.0))
