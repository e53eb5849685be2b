"""The shift that the readout can show: on the grid, allowed before and after rounding, nearest to the wish."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spacing_scenes import Scene, scenes

from holecam.errors import InputError
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.layout.freedom_readable import readable_shift
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, Surroundings
from holecam.lengths import counts

LIMITS = table_limits()
HALF_THOU = Fraction(254, 10) / 2000
FIVE_MICRON = Fraction(5, 1000)


def rounded_margin(freedom: Freedom, shift: tuple[float, float], resolution: Fraction) -> float:
    """The margin when every hole is put where the readout shows it, worked out hole by hole."""
    moved = [
        tuple(float(counts(v + s, resolution) * resolution) for v, s in zip(p, shift, strict=True))
        for p in freedom.xy.tolist()
    ]
    return freedom.moved_to(np.array(moved)).margin((0.0, 0.0))


def one_hole(anchor: tuple[float, float] = (0.0, 0.0)) -> Freedom:
    """One 4 mm hole that keeps 6 mm from an old hole 10 mm to the right of it."""
    old = OldHole("old 1", (anchor[0] + 10.0, anchor[1]), 4.0)
    return freedom_of([DrillSite(1, "row", anchor, plain_profile(4.0))], Surroundings(old_holes=(old,)), LIMITS)


def test_the_wish_is_rounded_to_the_allowed_side() -> None:
    # Allowed up to 4 mm; the nearest multiple of 0.0127 mm to 4 is 315 x 0.0127 = 4.0005, beyond the limit
    found = readable_shift(one_hole(), (4.0, 0.0), resolution=HALF_THOU, reach=5.0)
    assert found is not None
    assert found.anchor_at == (314 * HALF_THOU, 0)
    assert found.margin == pytest.approx(4.0 - 314 * 0.0127)
    assert found.rounded_margin >= -1e-9


def test_the_anchor_lies_on_the_grid_not_the_shift() -> None:
    anchor = (1.0003, 2.0)
    found = readable_shift(one_hole(anchor), (0.5, 0.0), resolution=FIVE_MICRON, reach=5.0, anchor=anchor)
    assert found is not None
    assert found.anchor_at == (Fraction(1500, 1000), 2)
    assert anchor[0] + found.shift[0] == pytest.approx(1.5, abs=1e-12)


def test_a_coarse_grid() -> None:
    found = readable_shift(one_hole(), (3.97, 0.02), resolution=FIVE_MICRON, reach=5.0, grid=Fraction(1, 10))
    assert found is not None
    assert found.anchor_at == (4, 0)  # exactly at the limit, which keeps it
    with pytest.raises(InputError, match="multiple of the readout's step"):
        readable_shift(one_hole(), (0, 0), resolution=FIVE_MICRON, reach=5.0, grid=Fraction(7, 1000))
    with pytest.raises(InputError, match="reach"):
        readable_shift(one_hole(), (0, 0), resolution=FIVE_MICRON, reach=math.inf)


def test_no_readable_place_within_reach() -> None:
    assert readable_shift(one_hole(), (10.0, 0.0), resolution=FIVE_MICRON, reach=5.9) is None
    assert readable_shift(one_hole(), (10.0, 0.0), resolution=FIVE_MICRON, reach=6.1) is not None


@given(scenes, st.tuples(st.floats(-5, 5), st.floats(-5, 5)), st.sampled_from([HALF_THOU, FIVE_MICRON]), st.booleans())
@settings(max_examples=30)
def test_it_is_allowed_as_the_readout_shows_it(
    scene: Scene, wish: tuple[float, float], resolution: Fraction, at_hole: bool
) -> None:
    freedom = freedom_of(*scene, LIMITS)
    anchor = scene[0][0].center if at_hole else (0.0, 0.0)
    found = readable_shift(freedom, wish, resolution=resolution, reach=12.0, anchor=anchor)
    exact = nearest_allowed(freedom, wish, reach=12.0)
    if found is None:
        # Only where no allowed area holds a grid point: a square of one step round the best place would
        assert exact.shift is None or freedom.margin(exact.shift) < 2 * float(resolution)
        return
    assert exact.shift is not None
    assert freedom.margin(found.shift) >= -1e-9
    assert rounded_margin(freedom, found.shift, resolution) >= -1e-9
    assert found.distance >= exact.distance - 1e-5
    for at, a, s in zip(found.anchor_at, anchor, found.shift, strict=True):
        assert (at / resolution).denominator == 1
        assert float(at) == pytest.approx(a + s, abs=1e-9)
    # Nearer grid points all fail, before or after rounding
    size = float(resolution)
    nearest = [round((w + a) / size) for w, a in zip(wish, anchor, strict=True)]
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            shift = ((nearest[0] + i) * size - anchor[0], (nearest[1] + j) * size - anchor[1])
            if math.dist(shift, wish) < found.distance - 1e-9:
                assert min(freedom.margin(shift), rounded_margin(freedom, shift, resolution)) < 1e-9
