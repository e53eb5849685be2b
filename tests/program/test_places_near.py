"""Places found by cells are those that measuring every one of them finds."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.program.places_near import PlacesNear

REACH = 0.002
SPOT = st.tuples(st.integers(-6, 6), st.integers(-6, 6)).map(lambda p: (p[0] * 0.0007, 100 + p[1] * 0.0007))


@given(st.lists(SPOT, max_size=30), SPOT)
def test_near_places_are_those_within_reach_in_their_order(
    places: list[tuple[float, float]], at: tuple[float, float]
) -> None:
    known = PlacesNear(places[:10], REACH)
    for place in places[10:]:
        known.add(*place)
    assert known.near(*at) == [i for i, p in enumerate(places) if math.hypot(p[0] - at[0], p[1] - at[1]) <= REACH]


@pytest.mark.parametrize("reach", [0.001, 1.0, 7.0])
def test_near_places_are_found_in_every_direction_and_from_every_corner_of_a_cell(reach: float) -> None:
    """Sixteen places at 0.999 of the reach are near, those at 1.001 are not, wherever the middle lies."""
    turns = [k * math.pi / 8 for k in range(16)]
    for u, v in ((0.0, 0.0), (0.01, 1.99), (-0.01, -1.99), (1.0, -1.0), (-7.5, 12.3), (3.999, 4.001)):
        x, y = u * reach, v * reach
        around = [
            (x + r * reach * math.cos(t), y + r * reach * math.sin(t)) for r in (0.999, 1.001, 2.5) for t in turns
        ]
        assert PlacesNear(around, reach).near(x, y) == list(range(16))
    line = PlacesNear([(k / 4, 0.0) for k in range(12)], 1.0)
    assert line.near(1.0, 0.0) == [0, 1, 2, 3, 4, 5, 6, 7, 8], "those exactly within reach are near"
