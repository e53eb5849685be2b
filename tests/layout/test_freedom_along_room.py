"""The place with the most room along one direction: hand figures, and brute force over fine steps."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holecam.errors import InputError
from holecam.layout.freedom_along_room import roomiest_along
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_roomiest import GAP
from holecam.layout.spacing_rules import SpacingLimits, table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, PartShape, Surroundings
from holecam.plan.finding import Severity
from holecam.shapes import Outline, Segment

LIMITS: SpacingLimits = table_limits("plate")


def bar(x0: float, y0: float, x1: float, y1: float) -> Outline:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Outline(tuple(Segment(corners[k], corners[(k + 1) % 4]) for k in range(4)))


def freedom(old: list[tuple[float, float]], outline: Outline | None = None) -> Freedom:
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    holes = tuple(OldHole(f"old {k}", p, 4.0) for k, p in enumerate(old, start=1))
    return freedom_of(sites, Surroundings(PartShape(outline), holes), LIMITS, level=Severity.STOP)


def test_between_two_holes_the_middle_whatever_the_reach() -> None:
    f = freedom([(10.0, 0.0), (40.0, 0.0), (-3.0, 0.0), (-25.0, 0.0)])
    for reach in (27.0, 29.0, 30.0):  # from 30 mm on the far side of the second hole would begin to count at 55
        found = roomiest_along(f, (1.0, 0.0), reach)
        assert found is not None
        assert found.shift == pytest.approx((25.0, 0.0), abs=2 * GAP)
        assert {b.obstacle_name for b in found.bindings} == {"old 1", "old 2"}
        assert found.bound - found.margin <= GAP


def test_of_equally_roomy_places_the_nearest() -> None:
    found = roomiest_along(freedom([], bar(-50, -10, 80, 10)), (1.0, 0.0), 30.0)
    assert found is not None
    assert found.way == 0.0  # along both edges all places are alike


def test_nothing_there_and_nothing_in_the_way() -> None:
    assert roomiest_along(freedom([(0.0, 0.0)]), (1.0, 0.0), 2.0) is None
    free = roomiest_along(freedom([]), (0.0, 1.0), 5.0)
    assert free is not None
    assert (free.shift, free.margin) == ((0.0, 0.0), math.inf)
    with pytest.raises(InputError, match="expected finite lengths above zero"):
        roomiest_along(freedom([]), (0.0, 1.0), math.inf)


@pytest.mark.parametrize("seed", range(12))
def test_no_step_of_a_fine_scale_has_more(seed: int) -> None:
    rng = np.random.default_rng(seed)
    f = freedom([tuple(p) for p in rng.uniform(-30, 30, (9, 2)).tolist()], bar(-25, -22, 31, 27))
    angle = float(rng.uniform(0, math.tau))
    u, reach = (math.cos(angle), math.sin(angle)), 18.0
    ways = np.linspace(-reach, reach, 7201)
    margins = f.margins(ways[:, None] * np.array(u))
    found = roomiest_along(f, u, reach)
    if margins.max() < 0.0:
        assert found is None or found.margin < 0.01  # a gap between two steps of the scale
        return
    assert found is not None
    assert abs(found.way) <= reach
    assert found.margin >= margins.max() - GAP
    assert found.margin == pytest.approx(f.margin(found.shift))
