"""Cosine and sine in degrees: exact where the shop expects it, the library's values elsewhere."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.shapes import cos_sin_deg, direction_deg, half_turn_range


@pytest.mark.parametrize("turns", [-3, -1, 0, 1, 2])
@pytest.mark.parametrize(
    ("angle", "cos", "sin"), [(0, 1.0, 0.0), (90, 0.0, 1.0), (180, -1.0, 0.0), (270, 0.0, -1.0), (-90, 0.0, -1.0)]
)
def test_quarter_turns_are_exact(angle: int, cos: float, sin: float, turns: int) -> None:
    got = cos_sin_deg(angle + 360.0 * turns)
    assert got == (cos, sin)
    assert all(math.copysign(1.0, v) == 1.0 for v in got if v == 0.0)  # no minus zero


@pytest.mark.parametrize(("angle", "half"), [(30, "sin"), (60, "cos"), (150, "sin"), (300, "cos")])
def test_one_half_is_one_half(angle: int, half: str) -> None:
    cos, sin = cos_sin_deg(angle)
    assert (cos if half == "cos" else sin) == 0.5


@given(st.floats(-100_000, 100_000))
def test_the_library_agrees(angle: float) -> None:
    cos, sin = cos_sin_deg(angle)
    assert cos == pytest.approx(math.cos(math.radians(math.fmod(angle, 360.0))), abs=1e-14)
    assert sin == pytest.approx(math.sin(math.radians(math.fmod(angle, 360.0))), abs=1e-14)
    assert math.hypot(cos, sin) == pytest.approx(1.0, abs=4e-16)


@given(st.integers(0, 360 * 8))
def test_mirrored_angles_have_mirrored_values_to_the_last_bit(eighths: int) -> None:
    """Angles with exact binary values: opposite holes of a circle get opposite coordinates."""
    angle = eighths / 8.0
    cos, sin = cos_sin_deg(angle)
    assert cos_sin_deg(-angle) == (cos, -sin)
    assert cos_sin_deg(180.0 - angle) == (-cos, sin)
    assert cos_sin_deg(180.0 + angle) == (-cos, -sin)
    assert cos_sin_deg(90.0 - angle) == (sin, cos)


@pytest.mark.parametrize("angle", [math.nan, math.inf, -math.inf])
def test_an_angle_has_to_be_finite(angle: float) -> None:
    with pytest.raises(InputError, match="expected a finite number"):
        cos_sin_deg(angle)


@pytest.mark.parametrize(
    ("end", "angle"), [((1, 0), 0.0), ((0, 2), 90.0), ((-3, 0), 180.0), ((0, -1), -90.0), ((-1, -1), -135.0)]
)
def test_directions(end: tuple[float, float], angle: float) -> None:
    assert direction_deg((0.0, 0.0), end) == angle


def test_one_point_has_no_direction() -> None:
    with pytest.raises(InputError, match="expected two different points"):
        direction_deg((1.0, 2.0), (1.0, 2.0))


@given(st.floats(-10_000, 10_000))
def test_the_half_turn_range_is_the_same_direction(angle: float) -> None:
    short = half_turn_range(angle)
    assert -180.0 < short <= 180.0
    assert cos_sin_deg(short) == pytest.approx(cos_sin_deg(angle), abs=1e-12)
