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
