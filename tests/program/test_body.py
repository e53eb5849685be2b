"""The end of a tool as a surface: closed forms of ball, bull-nose, point and flat; which cut makes room for which."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from program_plans import MILL

from holecam.plan.motions import ToolKind
from holecam.program.body import Body, body_of, deeper_by, grown

bodies = st.builds(
    lambda radius, corner, cone: Body(radius, corner * radius, 0.0) if corner else Body(radius, 0.0, cone),
    st.floats(0.5, 8.0),
    st.sampled_from([0.0, 0.0, 0.25, 0.5, 1.0]),
    st.sampled_from([0.0, 0.6, 1.0, 1.7]),
)


@pytest.mark.parametrize(
    ("body", "away", "height"),
    [
        (Body(3.0), 0.0, 0.0), (Body(3.0), 2.999, 0.0), (Body(3.0), 3.0, math.inf), (Body(3.0), 3.001, math.inf),
        # A ball of 10 mm: 5 - sqrt(25 - 9) = 1, 5 - sqrt(25 - 16) = 2
        (Body(5.0, 5.0), 3.0, 1.0), (Body(5.0, 5.0), 4.0, 2.0),
        # 12 mm with a corner of 2.5: flat to 3.5 mm, then 2.5 - sqrt(6.25 - 1.5^2) = 0.5
        (Body(6.0, 2.5), 3.5, 0.0), (Body(6.0, 2.5), 2.0, 0.0), (Body(6.0, 2.5), 5.0, 0.5),
        # A point of 90 degrees rises as it goes out
        (Body(4.0, 0.0, 1.0), 0.0, 0.0), (Body(4.0, 0.0, 1.0), 2.5, 2.5), (Body(4.0, 0.0, 1.0), 4.0, math.inf),
    ],
)  # fmt: skip
def test_how_far_the_end_rises(body: Body, away: float, height: float) -> None:
    assert body.rise_at(away) == pytest.approx(height, abs=1e-12)
    assert body.rise(np.array([away]))[0] == pytest.approx(height, abs=1e-12)


@given(bodies, st.floats(0.0, 10.0))
def test_one_distance_and_many_agree(body: Body, away: float) -> None:
    assert body.rise(np.array([away, 0.0])).tolist() == pytest.approx([body.rise_at(away), 0.0], abs=1e-12)


def test_the_body_of_a_described_tool() -> None:
    """Half the diameter; 118 degrees rise by 1/tan 59 = 0.600861 a millimetre; a flat or unknown end is flat."""
    assert body_of(MILL) == Body(MILL.diameter / 2)
    drill = replace(MILL, kind=ToolKind.TWIST_DRILL, diameter=5.0, point_angle_deg=118.0)
    assert body_of(drill).cone == pytest.approx(0.600861, abs=1e-6)
    assert body_of(drill).radius == 2.5
    assert body_of(replace(MILL, point_angle_deg=118.0)).cone == 0.0, "an end mill has no point"
    assert body_of(replace(MILL, corner_radius=0.5)) == Body(MILL.diameter / 2, 0.5)
    assert grown(Body(3.0, 0.5, 0.2), 0.25) == Body(3.25, 0.5, 0.2)
    assert grown(Body(3.0, 3.0), -1.0) == Body(2.0, 2.0)


@given(bodies, bodies)
def test_after_a_cut_deep_enough_the_next_tool_meets_only_air(cut: Body, following: Body) -> None:
    """The surface left by the cut lies nowhere above the surface of the tool that follows so much higher."""
    deeper = deeper_by(cut, following)
    away = np.linspace(0.0, min(cut.radius, following.radius) * (1 - 1e-9), 2001)
    gap = following.rise(away) + deeper - cut.rise(away)
    if cut.radius < following.radius - 1e-6:
        assert deeper == math.inf
    else:
        assert deeper >= 0.0
        assert gap.min() >= -1e-5
        step = min(cut.radius, following.radius) / 256
        unseen = math.sqrt(2 * cut.corner_radius * step) + cut.cone * step + 1e-6
        assert gap.min() <= unseen or deeper == 0.0, "no deeper than needed, but for what changes within a step"


def test_room_for_the_next_tool_by_hand() -> None:
    assert deeper_by(Body(3.0), Body(2.0)) == 0.0
    assert deeper_by(Body(2.0), Body(2.0)) == 0.0
    assert deeper_by(Body(1.999), Body(2.0)) == math.inf
    # A flat cutter after a drill of 90 degrees, 3 mm against 2.5: the drill stands 2.5 mm higher at the flat's rim
    assert deeper_by(Body(3.0, 0.0, 1.0), Body(2.5)) == pytest.approx(2.5)
    assert deeper_by(Body(3.0, 0.0, 1.0), Body(2.5, 0.0, 0.6)) == pytest.approx(1.0)
    assert deeper_by(Body(3.0), Body(2.5, 0.0, 1.0)) == 0.0
    # A ball of the same radius before a flat end: the whole radius, rounded up
    assert 3.0 - 1e-5 <= deeper_by(Body(3.0, 3.0), Body(3.0)) < 3.3
    assert deeper_by(Body(3.0, 3.0), Body(3.0, 3.0)) == 0.0
