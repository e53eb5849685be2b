"""Circles of the cutter inside a round opening: the bite by walking the rim, and spirals that keep to it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from holecam.cuts.growing_bites import _spiral_radii


def circle_engagement(r: float, before: float, radius: float) -> float:
    """Return the engagement, degrees, on a circle of the cutter's centre inside a round opening of the last radius.

    Law of cosines: the rim is free beyond the angle at which it leaves the circle of ``before + R``.
    """
    if r <= 1e-9:
        return 180.0
    level = ((before + radius) ** 2 - r**2 - radius**2) / (2 * r * radius)
    return math.degrees(math.acos(min(1.0, max(-1.0, level))))


@pytest.mark.parametrize("radius", [1.5, 3.0])
@pytest.mark.parametrize("before", [0.0, 0.4, 2.0, 10.0])
@pytest.mark.parametrize("growth", [0.05, 0.3, 0.9, 1.5])
def test_the_bite_is_the_part_of_the_rim_outside_the_opening(radius: float, before: float, growth: float) -> None:
    """The cutter stands on a circle of its centre; its leading half rim is walked in steps of a twentieth degree."""
    r = before + growth * radius
    theta = (np.arange(3600) + 0.5) * math.pi / 3600
    x, y = r + radius * np.cos(theta), radius * np.sin(theta)
    outside = np.hypot(x, y) > before + radius
    assert circle_engagement(r, before, radius) == pytest.approx(180.0 * outside.mean(), abs=0.06)


def test_bites_by_hand() -> None:
    """On its own opening nothing is cut. Bore 3, opening 5, circle 4, cutter 3: a right angle, 90 degrees."""
    assert circle_engagement(2.0, 2.0, 3.0) == pytest.approx(math.degrees(math.acos((25 - 4 - 9) / 12.0)), abs=1e-9)
    assert circle_engagement(4.0, 2.0, 3.0) == pytest.approx(90.0)
    assert circle_engagement(0.0, 0.0, 3.0) == 180.0
    assert circle_engagement(10.0, 2.0, 3.0) == 180.0, "clear of the opening: full width"


@pytest.mark.parametrize("limit", [40.0, 60.0, 90.0])
@pytest.mark.parametrize(("start", "end"), [(1.0, 12.0), (2.5, 3.0), (5.0, 20.0)])
def test_a_spiral_grows_as_fast_as_the_bite_allows_and_ends_at_its_end(limit: float, start: float, end: float) -> None:
    radius = 3.0
    radii = [start, *_spiral_radii(start, end, radius, limit)]
    assert radii[-1] == pytest.approx(end)
    assert all(b > a for a, b in pairwise(radii))
    for k in range(1, len(radii)):
        before = radii[k - 2] if k > 1 else radii[0]
        if radii[k] - radii[k - 1] > 0.03 * radius + 1e-9:
            assert circle_engagement(radii[k], before, radius) <= limit + 1e-6
            if k < len(radii) - 1:
                assert circle_engagement(radii[k] + 1e-3, before, radius) > limit, "no more timid than asked"
