"""Where the room of a stroke ends: found to a hundred-millionth of a millimetre, from the side with room."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.cuts.stroke_pieces import END_ACCURACY, turnings
from holecam.shapes.curve_arrays import Floats


def found(low: float, high: float, room: object) -> float:
    ends = np.array([[low, high]])
    (way,) = turnings(ends, room(ends), room)  # type: ignore[operator]
    return way


@given(
    st.floats(0.001, 0.999),
    st.floats(1e-3, 50.0),
    st.lists(st.tuples(st.floats(-3.0, 3.0), st.floats(0.05, 3.0)), max_size=3),
    st.floats(0.05, 5.0),
    st.booleans(),
)
@settings(max_examples=200)
def test_an_end_where_room_bends_and_kinks(
    share: float, size: float, kinks: list[tuple[float, float]], slope: float, backwards: bool
) -> None:
    """Room falls to nought at one place only; on the way it may be as steep, as flat and as kinked as it likes."""
    end = share * size

    def room(ways: Floats) -> Floats:
        off = ways - end
        bent = np.sign(off) * (slope * np.abs(off) + 0.3 * off * off)
        for at, steep in kinks:
            bent = np.minimum(bent, np.where(off > 0.0, steep * np.maximum(off - at, 0.0) + 0.01 * off, bent))
        return np.asarray(-bent if backwards else bent)

    low, high = (size, 0.0) if backwards else (0.0, size)
    way = found(low, high, room)
    assert abs(way - end) <= END_ACCURACY + 1e-12
    assert room(np.array([way]))[0] >= 0.0


def test_many_ends_at_once_are_as_each_alone() -> None:
    def room(ways: Floats) -> Floats:
        return np.asarray(np.sin(ways))

    # from without room to with room: upward at 2 pi and 4 pi, downward at pi and 3 pi
    brackets = np.array([[5.5, 7.0], [4.0, 2.5], [12.0, 13.0], [10.0, 9.0]])
    assert turnings(brackets, room(brackets), room) == pytest.approx(
        [math.tau, math.pi, 2 * math.tau, 3 * math.pi], abs=2 * END_ACCURACY
    )
    assert turnings(np.empty((0, 2)), np.empty((0, 2)), room) == []


def test_of_several_ends_in_one_stretch_the_one_beside_the_room_is_taken() -> None:
    """No room up to 1, room to 1.6, none to 1.9, room from there on: what lies behind a gap is not joined to it."""

    def room(ways: Floats) -> Floats:
        free = ((ways >= 1.0) & (ways < 1.6)) | (ways >= 1.9)
        return np.where(free, 0.1, -0.1)

    assert found(0.0, 4.0, room) == pytest.approx(1.9, abs=2 * END_ACCURACY)


def test_room_with_a_step_is_found_too() -> None:
    def room(ways: Floats) -> Floats:
        return np.where(ways < 0.7312345, -5.0, 1e-9)

    assert found(0.0, 1.0, room) == pytest.approx(0.7312345, abs=2 * END_ACCURACY)
