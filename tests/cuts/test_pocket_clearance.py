"""The pocket that clears a thing: its outline grown by the clearance, arcs kept as arcs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holecam.cuts.clearance import Cleared
from holecam.cuts.grown_outline import clearing_outline
from holecam.errors import InputError
from holecam.shapes import Arc, Outline, Segment, outline_through, rectangle
from holecam.shapes.curve_arrays import CurveArray


def test_a_plate_is_cleared_by_doubt_and_float_all_round() -> None:
    plate = Cleared("patch plate", 3.0, position_doubt=0.25, float_sides=0.5, fillet=0.3)
    wall, islands = clearing_outline(rectangle(0, 0, 40, 25), plate.side_sum.total)
    assert islands == ()
    assert plate.side_sum.total == pytest.approx(1.05)
    # Steiner: area + perimeter d + pi d^2
    assert wall.area == pytest.approx(1000 + 130 * 1.05 + math.pi * 1.05**2)
    assert sum(isinstance(c, Arc) for c in wall.curves) == 4


def test_a_thing_that_nearly_closes_leaves_an_island() -> None:
    ring = Outline(
        (
            Arc((20, -1), (20, 1), (0, 0), ccw=False),
            Segment((20, 1), (10, 1)),
            Arc((10, 1), (10, -1), (0, 0), ccw=True),
            Segment((10, -1), (20, -1)),
        )
    )
    wall, islands = clearing_outline(ring, 1.5)
    assert len(islands) == 1
    places = np.array([c.point_at(t) for o in (wall, *islands) for c in o.curves for t in (0.0, 0.4, 0.8)])
    assert np.abs(CurveArray(ring.curves).distance(places) - 1.5).max() < 1e-6
    assert islands[0].contains((0.0, 0.0))


def test_no_clearance_is_the_thing_itself_and_a_negative_one_refused() -> None:
    plate = rectangle(0, 0, 40, 25)
    assert clearing_outline(plate, 0.0)[0] == plate
    with pytest.raises(InputError, match=r"clearance -0\.1 mm"):
        clearing_outline(plate, -0.1)
    with pytest.raises(InputError, match="crosses itself"):
        clearing_outline(outline_through([(0, 0), (10, 10), (10, 0), (0, 8)]), 1.0)


def test_wall_and_islands_run_anticlockwise_whichever_way_the_thing_is_drawn() -> None:
    """A C of 20 by 20 mm with a mouth of 2 mm: cleared by 1.5 mm it is closed, and 20 - 2 (3 + 1.5) mm stay inside."""
    lower = [(0, 0), (20, 0), (20, 9), (17, 9), (17, 3), (3, 3)]
    thing = outline_through([*lower, *((x, 20 - y) for x, y in reversed(lower))])
    for drawn in (thing, thing.reversed()):
        wall, (island,) = clearing_outline(drawn, 1.5)
        assert wall.signed_area > 0.0
        assert wall.bounds == pytest.approx((-1.5, -1.5, 21.5, 21.5))
        assert island.signed_area > 0.0
        assert island.bounds[:2] == pytest.approx((4.5, 4.5))
        bare, none = clearing_outline(drawn, 0.0)
        assert (bare.signed_area, none) == (pytest.approx(thing.area), ())
    for clearance in (math.nan, math.inf, -1e-9):
        with pytest.raises(InputError, match=f"plate: clearance {clearance} mm: expected a length of 0 or more"):
            clearing_outline(thing, clearance, "plate")
    assert clearing_outline(rectangle(0, 0, 40, 25), 0.5)[1] == ()
