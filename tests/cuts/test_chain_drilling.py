"""Chain drilling: holes inside the line, webs and allowances as told."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pocket_shapes import random_shape

from holecam.cuts.chain_drilling import chain_drilled, chain_drilled_slot
from holecam.cuts.offsets import neighbourhood
from holecam.cuts.walls import WallChain
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, distance, rectangle


def test_holes_round_a_circle_are_evenly_spaced() -> None:
    table = chain_drilled(circle_outline(Circle((5, 7), 30)), drill=6.0, web=0.8, allowance=0.5)
    reach = 30 - 3.5
    count = math.floor(math.pi / math.asin(6.8 / 2 / reach))
    assert len(table.centres) == count
    assert all(distance(c, (5, 7)) == pytest.approx(reach) for c in table.centres)
    assert table.least_web == pytest.approx(2 * reach * math.sin(math.pi / count) - 6.0)
    assert table.least_allowance == pytest.approx(0.5)


def test_corners_get_a_hole_each() -> None:
    table = chain_drilled(rectangle(0, 0, 60, 40), drill=5.0, web=0.5, allowance=1.0)
    for corner in ((3.5, 3.5), (56.5, 3.5), (56.5, 36.5), (3.5, 36.5)):
        assert min(distance(c, corner) for c in table.centres) < 1e-6
    assert table.least_web >= 0.5 - 1e-9
    assert table.greatest_web < 1.1


@given(st.integers(0, 3000), st.floats(0.3, 0.9), st.floats(0.1, 1.0), st.floats(0.0, 0.8))
@settings(max_examples=40)
def test_holes_keep_web_and_allowance_on_any_shape(seed: int, share: float, web: float, allowance: float) -> None:
    shape = random_shape(seed)
    drill = share * shape.diameter
    try:
        table = chain_drilled(shape.outline, drill=drill, web=web, allowance=allowance, islands=shape.islands)
    except InputError as error:
        assert "does not fit" in str(error)  # noqa: PT017
        return
    assert table.least_web >= web - 1e-9 or len(table.centres) < 2
    assert table.least_allowance == pytest.approx(allowance, abs=1e-5)
    for centre in table.centres:
        assert shape.outline.inside_by(centre) - drill / 2 >= allowance - 1e-5
        for island in shape.islands:
            assert -island.inside_by(centre) - drill / 2 >= allowance - 1e-5
    apart = [distance(a, b) for k, a in enumerate(table.centres) for b in table.centres[:k]]
    assert min(apart, default=math.inf) >= drill + web - 1e-9


def round_slot(line: list[Curve], width: float) -> tuple[Outline, ...]:
    return neighbourhood([WallChain(tuple(line), closed=False)], width / 2)


def test_a_bent_slot_gets_one_row_when_the_drill_nearly_fills_it() -> None:
    line: list[Curve] = [Segment((0, 0), (40, 0)), Arc((40, 0), (60, 20), (40, 20), ccw=True)]
    table = chain_drilled_slot(line, round_slot(line, 7.0), 7.0, drill=5.5, web=0.6, allowance=0.5)
    on_line = [min(distance(c, curve.nearest(c)) for curve in line) for c in table.centres]
    assert max(on_line) < 1e-9
    assert table.least_web >= 0.6 - 1e-9
    assert table.least_allowance == pytest.approx(3.5 - 2.75)
    wide = chain_drilled_slot(line, round_slot(line, 20.0), 20.0, drill=5.5, web=0.6, allowance=0.5)
    assert wide.least_allowance == pytest.approx(0.5, abs=1e-6)


def test_a_drill_that_does_not_fit_or_a_wrong_length_is_refused() -> None:
    with pytest.raises(InputError, match=r"a drill of 12\.000 mm with 1\.000 mm of allowance does not fit inside"):
        chain_drilled(rectangle(0, 0, 40, 13), drill=12.0, web=1.0, allowance=1.0)
    straight: list[Curve] = [Segment((0, 0), (40, 0))]
    with pytest.raises(InputError, match=r"take one of at most 6\.000 mm"):
        chain_drilled_slot(straight, round_slot(straight, 7.0), 7.0, drill=6.5, web=0.6, allowance=0.5)
    with pytest.raises(InputError, match=r"web -0\.5 mm"):
        chain_drilled(rectangle(0, 0, 40, 13), drill=3.0, web=-0.5, allowance=1.0)


def test_a_single_hole_has_no_webs() -> None:
    table = chain_drilled(rectangle(0, 0, 13, 13), drill=12.0, web=1.0, allowance=0.4)
    assert len(table.centres) == 1
    assert (table.least_web, table.greatest_web) == (0.0, 0.0)
    assert table.least_allowance == pytest.approx(0.4)
