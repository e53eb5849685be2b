"""Holes above the sheet: the point of the drill counts, and so does every way of writing the height."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.step_down_drilling import drill_limit, tip_below_hard_floor
from holecam.cuts.step_down_passes import lowest_written
from holecam.errors import InputError

HALF_THOU = Fraction(254, 20_000)


@pytest.mark.outside_check(
    subject=("drill point", "hard floor"),
    source="by hand: point of 118 degrees, 0.3004 d",
    closeness="0.1 percent",
    standing="mathematics",
)
def test_by_hand() -> None:
    # 1/8 in drill of 118 degrees: point 0.3004 d = 0.0376 in (handbook factor); hard floor -0.1874 in, one step above
    # it -0.1869, rounded up -0.1865
    limit = drill_limit(
        face_z=0.0, hard_floor=-0.1874 * 25.4, diameter=3.175, point_angle_deg=118.0, resolution=HALF_THOU
    )
    assert limit.tip_count == -373
    assert limit.point_length == pytest.approx(0.3004 * 3.175, rel=1e-3)
    assert limit.cylinder_z == pytest.approx(-0.1865 * 25.4 + limit.point_length)
    assert limit.cylinder_depth == pytest.approx(0.1865 * 25.4 - limit.point_length)
    assert limit.possible


@given(
    st.floats(-10.0, 5.0),
    st.floats(0.2, 12.0),
    st.sampled_from([60.0, 90.0, 118.0, 135.0, 180.0]),
    st.sampled_from([HALF_THOU, Fraction(1, 200), Fraction(1, 1000)]),
    st.floats(0.0, 0.2),
)
def test_the_tip_stays_above_the_hard_floor(
    hard: float, diameter: float, angle: float, step: Fraction, margin: float
) -> None:
    limit = drill_limit(
        face_z=6.0, hard_floor=hard, diameter=diameter, point_angle_deg=angle, resolution=step, margin=margin
    )
    assert float(lowest_written(limit.tip_count, step)) >= hard - 1e-9
    assert limit.tip_z >= hard + margin - 1e-9
    cone = 0.0 if angle == 180.0 else 0.5 * diameter / math.tan(math.radians(angle / 2))
    assert limit.tip_z + cone + limit.cylinder_depth == pytest.approx(6.0)


def test_point_longer_than_the_metal_is_told() -> None:
    limit = drill_limit(face_z=0.0, hard_floor=-1.0, diameter=6.0, point_angle_deg=118.0, resolution=Fraction(1, 200))
    assert not limit.possible
    flat = drill_limit(face_z=0.0, hard_floor=-1.0, diameter=6.0, point_angle_deg=180.0, resolution=Fraction(1, 200))
    assert flat.possible


def test_how_far_a_tip_goes_below() -> None:
    assert tip_below_hard_floor(-2.0, -1.5) == pytest.approx(0.5)
    assert tip_below_hard_floor(-1.0, -1.5) == 0.0
    with pytest.raises(InputError, match=r"expected finite heights"):
        tip_below_hard_floor(math.nan, -1.5)


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"diameter": -1.0}, r"drill -1 mm: expected a positive diameter"),
        ({"point_angle_deg": 200.0}, r"included angle of 30 to 180"),
        ({"margin": -0.1}, r"margin -0.1 mm"),
    ],
)
def test_wrong_drills_are_named(more: dict[str, float], message: str) -> None:
    given_: dict[str, object] = {
        "face_z": 0.0,
        "hard_floor": -4.0,
        "diameter": 3.0,
        "point_angle_deg": 118.0,
        "resolution": HALF_THOU,
        **more,
    }
    with pytest.raises(InputError, match=message):
        drill_limit(**given_)  # type: ignore[arg-type]
