"""Places found by cells are those that measuring every one of them finds."""

from __future__ import annotations

import math

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
