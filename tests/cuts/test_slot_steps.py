"""Step-down, step-over, speed, feed and time of slots and pockets."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import checked_step_over, cutting_steps, heights_down, path_minutes
from holecam.cuts.path_values import CutPath, LevelPath, MoveKind, along, upright
from holecam.errors import InputError
from holecam.shapes import Segment
from holecam.standards.materials import material

SIX = MillingCutter("6 mm end mill", 6.0, teeth=2)


def test_steel_takes_light_cuts_and_a_weak_set_up_half_of_them() -> None:
    # First depth in mild steel on a light mill 0.1 to 0.2 D in a slot, step-over 0.3 D (practice notes, A8)
    steel = cutting_steps(material("mild steel"), SIX)
    assert steel.step_depth == pytest.approx(0.6)
    assert steel.step_over == pytest.approx(1.8)
    weak = cutting_steps(material("mild steel"), SIX, set_up="weak")
    assert weak.step_depth == pytest.approx(0.3)
    assert weak.chip == steel.chip  # the depth is halved first, not the chip
    # n = 1000 v / (pi D)
    assert steel.rpm <= 1000 * 37 / (math.pi * 6)
    assert steel.feed == pytest.approx(steel.rpm * 2 * steel.chip, rel=1e-6)


def test_wood_takes_the_highest_speed_and_few_teeth() -> None:
    wood = cutting_steps(material("beech"), SIX, fastest_rpm=2800)
    assert wood.rpm == 2800
    many = cutting_steps(material("beech"), MillingCutter("x", 6.0, teeth=4), fastest_rpm=2800)
    assert any("one or two for wood" in note for note in many.notes)


def test_small_bites_may_go_deeper_than_a_buried_cutter() -> None:
    buried = cutting_steps(material("brass"), SIX)
    free = cutting_steps(material("brass"), SIX, buried=False)
    assert free.step_depth >= buried.step_depth


def test_flutes_limit_the_depth() -> None:
    short = cutting_steps(material("beech"), MillingCutter("x", 6.0, flute_length=4.0), fastest_rpm=2800)
    assert short.step_depth == 4.0
    assert any("held to the flutes" in note for note in short.notes)


@given(st.floats(0.05, 60), st.floats(0.01, 20))
def test_heights_are_equal_steps_none_above_the_wish_down_to_the_depth(depth: float, step: float) -> None:
    heights = heights_down("cut", depth, step, stock_thickness=None, through=False)
    assert heights[-1] == pytest.approx(-depth)
    falls = [a - b for a, b in zip((0.0, *heights), heights, strict=False)]
    assert max(falls) <= step * (1 + 1e-6)
    assert max(falls) - min(falls) < 1e-9


def test_a_cut_through_goes_into_the_board_below() -> None:
    assert heights_down("cut", 1.0, 3.0, stock_thickness=5.0, through=True)[-1] == pytest.approx(-5.5)


def test_step_over_is_checked() -> None:
    assert checked_step_over("x", 2.0, 6.0) == 2.0
    for wrong in (0.0, -1.0, math.nan):
        with pytest.raises(InputError, match="never get anywhere"):
            checked_step_over("x", wrong, 6.0)


def test_time_counts_every_move_at_its_feed() -> None:
    moves = (
        upright(MoveKind.DESCEND, (0, 0), 5.0, 0.0),
        along(MoveKind.CUT, Segment((0, 0), (100, 0)), 0.0),
        along(MoveKind.CUT, Segment((100, 0), (200, 0)), 0.0, feed_factor=0.5),
        upright(MoveKind.RETRACT, (200, 0), 0.0, 5.0),
        along(MoveKind.TRAVEL, Segment((200, 0), (0, 0)), 5.0),
    )
    path = CutPath("x", 6.0, (LevelPath(0.0, 1.0, moves),), 5.0)
    assert path_minutes(path, 100.0, rapid=1000.0) == pytest.approx(5 / 100 + 1 + 2 + 5 / 1000 + 200 / 1000)
    with pytest.raises(InputError, match="expected both above zero"):
        path_minutes(path, 0.0)
