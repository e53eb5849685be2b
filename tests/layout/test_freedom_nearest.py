"""The nearest allowed shift: closed forms, brute force, and the guard that keeps it on the safe side."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spacing_scenes import HELD, Scene, moved, scenes

from holecam.errors import InputError
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_nearest import SAFE_BY, nearest_allowed
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import KeepOut, OldHole, PartShape, Surroundings
from holecam.shapes import Arc, Placement, Segment, rectangle

LIMITS = table_limits()
REACH = 25.0
shifts = st.tuples(st.floats(-8.0, 8.0), st.floats(-8.0, 8.0))


def one_hole(*old: tuple[float, float], keep_outs: tuple[KeepOut, ...] = (), part: PartShape | None = None) -> Freedom:
    """One 4 mm hole at the origin among 4 mm old holes: it keeps 6 mm from their centres."""
    holes = tuple(OldHole(f"old {i + 1}", p, 4.0) for i, p in enumerate(old))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    return freedom_of(sites, Surroundings(part or PartShape(), holes, keep_outs), LIMITS)


def test_an_allowed_wish_stays_where_it_is() -> None:
    found = nearest_allowed(one_hole((10.0, 0.0)), (1.0, 2.0), reach=REACH)
    assert found.wish_allowed
    assert (found.shift, found.distance, found.also) == ((1.0, 2.0), 0.0, ())


def test_off_one_old_hole_the_foot_is_nearest() -> None:
    found = nearest_allowed(one_hole((3.0, 4.0)), (0.0, 0.0), reach=REACH)
    # 5 mm from the centre, 6 needed: 1 mm straight away from it
    assert found.shift == pytest.approx((-0.6, -0.8), abs=2 * SAFE_BY)
    assert found.distance == pytest.approx(1.0, abs=2 * SAFE_BY)
    assert found.wish_margin == pytest.approx(-1.0)
    assert found.wish_binding is not None
    assert found.wish_binding.obstacle_name == "old 1"
    assert 0.0 <= found.margin <= 2 * SAFE_BY


@pytest.mark.outside_check(
    subject="freedom",
    source="crossing of two circles",
    closeness="3e-6 mm (the guard that keeps the answer on the safe side)",
    standing="mathematics",
)
def test_between_two_old_holes_the_crossing_is_nearest() -> None:
    # Centres 6 mm apart: the circles of 6 mm cross at (3, +-sqrt(27))
    found = nearest_allowed(one_hole((0.0, 0.0), (6.0, 0.0)), (3.0, 0.5), reach=REACH)
    assert found.shift == pytest.approx((3.0, math.sqrt(27.0)), abs=3 * SAFE_BY)
    both = nearest_allowed(one_hole((0.0, 0.0), (6.0, 0.0)), (3.0, 0.0), reach=REACH)
    assert both.shift == pytest.approx((3.0, math.sqrt(27.0)), abs=3 * SAFE_BY)
    assert len(both.also) == 1
    assert both.also[0] == pytest.approx((3.0, -math.sqrt(27.0)), abs=3 * SAFE_BY)


def test_against_edges_and_an_old_hole() -> None:
    # 1.5 D = 6 mm from the edges of a narrow bar, y between 6 and 7; old hole at (10, 6.5)
    bar = PartShape(rectangle(-50.0, 0.0, 50.0, 13.0))
    found = nearest_allowed(one_hole((10.0, 6.5), part=bar), (10.2, 6.9), reach=REACH)
    assert found.shift == pytest.approx((10.0 + math.sqrt(36.0 - 0.25), 7.0), abs=3 * SAFE_BY)


def test_round_a_bend_line_and_its_end() -> None:
    rib = KeepOut("rib", "joint", (Segment((0.0, 0.0), (10.0, 0.0)),), margin=1.0)
    # 2 + 1 mm from the line; nearest from (4, 1) is straight up, from (11, 0.5) about the end
    up = nearest_allowed(one_hole(keep_outs=(rib,)), (4.0, 1.0), reach=REACH)
    assert up.shift == pytest.approx((4.0, 3.0), abs=2 * SAFE_BY)
    end = nearest_allowed(one_hole(keep_outs=(rib,)), (11.0, 0.5), reach=REACH)
    size = math.hypot(1.0, 0.5)
    assert end.shift == pytest.approx((10.0 + 3.0 / size, 1.5 / size), abs=2 * SAFE_BY)


def test_inside_and_outside_a_round_keep_out_line() -> None:
    ring = KeepOut("bead", "joint", (Arc((20.0, 0.0), (20.0, 0.0), (0.0, 0.0), ccw=True),), margin=1.0)
    inner = nearest_allowed(one_hole(keep_outs=(ring,)), (18.0, 0.0), reach=REACH)
    outer = nearest_allowed(one_hole(keep_outs=(ring,)), (0.0, 21.0), reach=REACH)
    assert inner.shift == pytest.approx((17.0, 0.0), abs=2 * SAFE_BY)
    assert outer.shift == pytest.approx((0.0, 23.0), abs=2 * SAFE_BY)


def test_the_middle_of_a_plug_that_is_held() -> None:
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    surroundings = Surroundings(old_holes=(OldHole("old 1", (0.0, 0.0), 10.0, HELD),))
    freedom = freedom_of(sites, surroundings, LIMITS, inside_held_plugs=True)
    found = nearest_allowed(freedom, (3.0, 0.0), reach=REACH)  # 5 - 2 - 0.5 mm of wall
    assert found.shift == pytest.approx((2.5, 0.0), abs=2 * SAFE_BY)


def test_no_place_within_reach() -> None:
    crowded = one_hole(*((4.0 * i, 4.0 * j) for i in range(-6, 7) for j in range(-6, 7)))
    found = nearest_allowed(crowded, (0.5, 0.5), reach=10.0)
    assert (found.shift, found.distance, found.binding) == (None, math.inf, None)
    assert not found.wish_allowed
    # Farther out there is room: where the circles about (24, 0) and (24, 4) cross
    corner = (24.0 + math.sqrt(36.0 - 4.0), 2.0)
    assert nearest_allowed(crowded, (0.5, 0.4), reach=40.0).shift == pytest.approx(corner, abs=1e-5)
    # The reach is a circle
    away = math.dist(corner, (0.5, 0.4))
    assert nearest_allowed(crowded, (0.5, 0.4), reach=away - 1e-3).shift is None


@given(scenes, shifts)
@settings(max_examples=40)
def test_nothing_nearer_is_allowed(scene: Scene, wish: tuple[float, float]) -> None:
    """Brute force: a fine grid, and points scattered along the border of what was found."""
    freedom = freedom_of(*scene, LIMITS)
    found = nearest_allowed(freedom, wish, reach=REACH)
    random = np.random.default_rng(11)
    far = min(found.distance, REACH)
    # Directions all round at many distances, densest just inside the one found
    turns, shares = random.uniform(0, math.tau, 4000), 1.0 - random.uniform(0, 1, 4000) ** 3
    asked = np.array(wish) + (far * shares)[:, None] * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    margins = freedom.margins(asked)
    nearer = np.hypot(*(asked - np.array(wish)).T) < far - 1e-9
    assert not (margins[nearer] >= 2 * SAFE_BY).any()
    if found.shift is not None:
        assert freedom.allowed(found.shift)
        assert found.margin >= 0.0
        assert math.dist(found.shift, wish) == pytest.approx(found.distance)


@given(scenes, shifts, st.floats(-180.0, 180.0), st.booleans())
@settings(max_examples=25)
def test_a_moved_job_moves_the_answer(scene: Scene, wish: tuple[float, float], turn_deg: float, mirror: bool) -> None:
    motion = Placement(turn_deg, (33.0, -7.0), mirror)
    here = nearest_allowed(freedom_of(*scene, LIMITS), wish, reach=REACH)
    there = nearest_allowed(freedom_of(*moved(scene, motion), LIMITS), motion.apply_vector(wish), reach=REACH)
    assert there.distance == pytest.approx(here.distance, abs=1e-6)
    assert there.wish_margin == pytest.approx(here.wish_margin, abs=1e-8)


def test_many_scattered_holes() -> None:
    random = np.random.default_rng(1)
    profile = plain_profile(3.2)
    sites = [
        DrillSite(i + 1, "field", (float(x), float(y)), profile)
        for i, (x, y) in enumerate(random.uniform(0, 500, (80, 2)))
    ]
    old = tuple(
        OldHole(f"old {i}", (float(x), float(y)), 3.2) for i, (x, y) in enumerate(random.uniform(0, 500, (80, 2)))
    )
    freedom = freedom_of(sites, Surroundings(old_holes=old), LIMITS)
    found = nearest_allowed(freedom, (0.0, 0.0), reach=10.0)
    assert found.shift is not None
    assert freedom.allowed(found.shift)
    grid = np.stack(np.meshgrid(*[np.linspace(-5, 5, 71)] * 2), axis=-1).reshape(-1, 2)
    allowed = grid[freedom.margins(grid) >= 2 * SAFE_BY]
    assert found.distance <= np.hypot(*allowed.T).min() + 1e-9


def test_impossible_questions_are_refused() -> None:
    with pytest.raises(InputError, match="reach 0"):
        nearest_allowed(one_hole(), (0.0, 0.0), reach=0.0)
    with pytest.raises(InputError, match="wished shift"):
        nearest_allowed(one_hole(), (math.nan, 0.0), reach=1.0)
