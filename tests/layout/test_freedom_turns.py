"""One hole held, the pattern turning about it: blocked angles in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spacing_scenes import HELD, Scene, scenes

from holecam.errors import InputError
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_turns import TurnFreedom, free_turns, turned
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import KeepOut, OldHole, PartShape, Surroundings
from holecam.shapes import Arc, Segment, rectangle

LIMITS = table_limits()
HELD_AT = (5.0, 3.0)


def arm(length: float, direction_deg: float, surroundings: Surroundings, *, inside: bool = False) -> Freedom:
    """A held hole and one 4 mm hole at the end of an arm; it keeps 6 mm from 4 mm old holes."""
    a = math.radians(direction_deg)
    end = (HELD_AT[0] + length * math.cos(a), HELD_AT[1] + length * math.sin(a))
    sites = [DrillSite(1, "row", HELD_AT, plain_profile(4.0)), DrillSite(2, "row", end, plain_profile(4.0))]
    return freedom_of(sites, surroundings, LIMITS, inside_held_plugs=inside)


def ends(turns: TurnFreedom) -> list[float]:
    return [v for i in turns.free for v in (i.low_deg, i.high_deg)]


def around(distance: float, direction_deg: float) -> tuple[float, float]:
    a = math.radians(direction_deg)
    return (HELD_AT[0] + distance * math.cos(a), HELD_AT[1] + distance * math.sin(a))


@pytest.mark.outside_check(
    subject="freedom",
    source="cosine rule: blocked within acos((L^2 + d^2 - s^2) / (2 L d))",
    closeness="1e-6",
    standing="mathematics",
)
@pytest.mark.parametrize("distance", [26.0, 30.0, 32.0, 35.0])
def test_one_old_hole_by_the_cosine_rule(distance: float) -> None:
    old = OldHole("old 1", around(distance, 70.0), 4.0)
    turns = free_turns(arm(30.0, 20.0, Surroundings(old_holes=(old,))), HELD_AT)
    half = math.degrees(math.acos((30.0**2 + distance**2 - 6.0**2) / (2 * 30.0 * distance)))
    assert ends(turns) == pytest.approx([-180.0, 50.0 - half, 50.0 + half, 180.0])
    before, after = turns.free
    assert before.high_binding is not None
    assert before.high_binding.site.number == 2
    assert before.high_binding.distance == pytest.approx(6.0)
    assert after.high_binding is None
    assert turns.nearest(50.0 - half / 2) == pytest.approx(50.0 - half)


def test_out_of_reach_and_always_in_the_way() -> None:
    far = OldHole("far", around(36.0, 70.0), 4.0)
    assert ends(free_turns(arm(30.0, 0.0, Surroundings(old_holes=(far,))), HELD_AT)) == [-180.0, 180.0]
    # An old hole so near to the held one that it forbids every turn
    near = OldHole("near", around(3.0, 70.0), 4.0)
    blocked = free_turns(arm(30.0, 0.0, Surroundings(old_holes=(near,))), HELD_AT)
    assert blocked.free == ()
    assert blocked.nearest() is None


def test_a_block_across_the_half_turn() -> None:
    old = OldHole("old 1", around(30.0, 175.0), 4.0)
    turns = free_turns(arm(30.0, 0.0, Surroundings(old_holes=(old,))), HELD_AT)
    half = math.degrees(2 * math.asin(6.0 / 60.0))
    assert ends(turns) == pytest.approx([175.0 + half - 360.0, 175.0 - half])


def test_grazing_an_old_hole_loses_no_digits() -> None:
    """Blocked over a hair's breadth: the plain cosine rule gives 0.0 or noise here."""
    by = 1e-6
    old = OldHole("old 1", around(36.0 - by, 0.0), 4.0)
    turns = free_turns(arm(30.0, 90.0, Surroundings(old_holes=(old,))), HELD_AT)
    # chord geometry: 2 L d (1 - cos a) = s^2 - (d - L)^2, and 1 - cos a = a^2 / 2
    half = math.degrees(math.sqrt((36.0 - (6.0 - by) ** 2) / (30.0 * (36.0 - by))))
    assert ends(turns) == pytest.approx([-180.0, -90.0 - half, -90.0 + half, 180.0], abs=1e-4)


def test_up_to_a_straight_edge() -> None:
    # Arm of 30 mm, the edge 24 mm above the held hole, 6 mm kept: blocked where 30 sin a > 18
    plate = PartShape(rectangle(-100.0, -100.0, 100.0, HELD_AT[1] + 24.0))
    turns = free_turns(arm(30.0, 0.0, Surroundings(plate)), HELD_AT)
    first = math.degrees(math.asin(0.6))
    assert ends(turns) == pytest.approx([-180.0, first, 180.0 - first, 180.0])
    assert turns.free[0].high_binding is not None
    assert turns.free[0].high_binding.obstacle_name == "the edge of the part"


def test_past_a_rib_and_along_an_arc() -> None:
    rib = KeepOut("rib", "joint", (Segment(around(25.0, 40.0), around(60.0, 40.0)),), margin=1.0)
    turns = free_turns(arm(30.0, 0.0, Surroundings(keep_outs=(rib,))), HELD_AT)
    half = math.degrees(math.asin(3.0 / 30.0))  # the flanks, 2 + 1 mm off, met well beyond the rib's end
    assert ends(turns) == pytest.approx([-180.0, 40.0 - half, 40.0 + half, 180.0])
    bead = KeepOut("bead", "joint", (Arc(around(32.0, 30.0), around(32.0, 80.0), HELD_AT, ccw=True),), margin=1.0)
    turns = free_turns(arm(30.0, 0.0, Surroundings(keep_outs=(bead,))), HELD_AT)
    half = math.degrees(math.acos((30.0**2 + 32.0**2 - 9.0) / (2 * 30.0 * 32.0)))  # about the ends of the bead
    assert ends(turns) == pytest.approx([-180.0, 30.0 - half, 80.0 + half, 180.0])


@pytest.mark.parametrize("plug", [10.0, 6.0, 5.2])
def test_through_the_middle_of_a_plug_that_is_held(plug: float) -> None:
    """A 4 mm hole keeps half the plug's diameter from it, or lies inside it with a wall of 0.5 mm."""
    old = OldHole("old 1", around(30.0, 60.0), plug, HELD)
    turns = free_turns(arm(30.0, 0.0, Surroundings(old_holes=(old,)), inside=True), HELD_AT)
    outer, inner = (math.degrees(2 * math.asin(s / 60.0)) for s in (2.0 + plug, plug / 2 - 2.0 - 0.5))
    assert ends(turns) == pytest.approx([-180.0, 60 - outer, 60 - inner, 60 + inner, 60 + outer, 180.0])


@given(scenes, st.integers(0, 3), st.booleans())
@settings(max_examples=30)
def test_turns_agree_with_turning_step_by_step(scene: Scene, which: int, inside: bool) -> None:
    freedom = freedom_of(*scene, LIMITS, inside_held_plugs=inside)
    pivot = scene[0][which % len(scene[0])].center
    turns = free_turns(freedom, pivot)
    for turn in np.random.default_rng(2).uniform(-180.0, 180.0, 60).tolist():
        margin = turned(freedom, turn, pivot).margin((0.0, 0.0))
        if abs(margin) > 1e-6:
            assert turns.allowed(turn) is (margin > 0)
    for free in turns.free:
        for end, binding in ((free.low_deg, free.low_binding), (free.high_deg, free.high_binding)):
            if binding is not None:
                assert binding.margin == pytest.approx(0.0, abs=1e-6)
                assert turned(freedom, end, pivot).margin((0.0, 0.0)) == pytest.approx(0.0, abs=1e-6)


def test_an_impossible_pivot_is_refused() -> None:
    with pytest.raises(InputError, match="pivot"):
        free_turns(arm(30.0, 0.0, Surroundings()), (math.nan, 0.0))
