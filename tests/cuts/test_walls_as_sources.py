"""Walls as sources of distance: their corners, which of them own an arc, and the curves beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.kept_curves import connected, is_closed, walls_of_cut
from holecam.cuts.walls import WallChain, beside, chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, outline_through, rectangle

ELL = outline_through([(0, 0), (30, 0), (30, 12), (12, 12), (12, 30), (0, 30)])


def test_a_corner_that_points_in_owns_an_arc_between_its_two_normals() -> None:
    """Of an L only the inner elbow: from the normal of the wall before it, down, to that of the next, to the left."""
    walls = walls_of(chains_of_region(ELL, ()))
    assert walls.sources == 12
    assert walls.pointed.tolist() == [False, False, True, False, False, False]
    places = list(zip(walls.corner_x.tolist(), walls.corner_y.tolist(), strict=True))
    assert places == [(30, 0), (30, 12), (12, 12), (12, 30), (0, 30), (0, 0)]
    assert walls.corner_sweep == pytest.approx([math.pi / 2] * 2 + [-math.pi / 2] + [math.pi / 2] * 3)
    # Walking to the left along the wall before, its free side is below
    assert walls.corner_angle[2] == pytest.approx(-math.pi / 2)
    assert (walls.before.tolist(), walls.after.tolist()) == ([0, 1, 2, 3, 4, 5], [1, 2, 3, 4, 5, 0])
    clockwise = walls_of(chains_of_region(ELL.reversed(), ()))
    assert clockwise.pointed.sum() == 1
    island = walls_of(chains_of_region(rectangle(0, 0, 60, 60), (rectangle(20, 20, 30, 30),)))
    assert island.pointed.tolist() == [False] * 4 + [True] * 4
    assert island.chain.tolist() == island.corner_chain.tolist() == [0] * 4 + [1] * 4


def test_an_open_chain_is_walked_there_and_back_with_half_turns_at_its_ends() -> None:
    chain = WallChain((Segment((0, 0), (10, 0)), Segment((10, 0), (10, 5))), 1.5, closed=False)
    walls = walls_of([*chains_of_region(rectangle(-9, -9, 29, 29), ()), chain])
    own = walls.bodies.take(np.array([4, 5, 6, 7])).curves()
    assert own == (
        Segment((0, 0), (10, 0)), Segment((10, 0), (10, 5)), Segment((10, 5), (10, 0)), Segment((10, 0), (0, 0)),
    )  # fmt: skip
    assert walls.margin.tolist() == walls.corner_margin.tolist() == [0.0] * 4 + [1.5] * 4
    turns = walls.corner_sweep[4:].tolist()
    assert turns == pytest.approx([math.pi / 2, -math.pi, -math.pi / 2, -math.pi])
    assert walls.pointed[4:].tolist() == [False, True, True, True]


def test_a_joint_that_turns_by_less_than_the_noise_is_smooth() -> None:
    for turn, pointed in ((0.9 * 1e-7, False), (1.1 * 1e-7, True)):
        bent = outline_through([(0, 0), (10, 10 * turn), (20, 10 * turn), (20, 9), (0, 9)])
        assert walls_of(chains_of_region(bent, ())).pointed.sum() == int(pointed)


@pytest.mark.parametrize("lean", [0.0, 140.0])
def test_in_a_cusp_the_side_of_the_second_curve_decides(lean: float) -> None:
    """A line ends where an arc goes back beside it: on its left a notch without an angle, on its right a spike."""
    a = math.radians(lean)

    def at(x: float, y: float) -> tuple[float, float]:
        return (x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a))

    for side, turn in ((1.0, math.pi), (-1.0, -math.pi)):
        line = Segment(at(-10.0, 0.0), at(0.0, 0.0))
        back = Arc(at(0.0, 0.0), at(-8.0, 8.0 * side), at(0.0, 8.0 * side), ccw=side < 0)
        close = Segment(at(-8.0, 8.0 * side), at(-10.0, 0.0))
        walls = walls_of([WallChain((line, back, close))])
        assert walls.corner_sweep[0] == pytest.approx(turn)
        assert bool(walls.pointed[0]) is (side < 0)


def curve_beside(
    chain: tuple[Curve, ...], row: int, distance: float, low: float = 0.0, high: float = 1.0
) -> Curve | None:
    walls = walls_of([WallChain(chain, 0.5)])
    made, exists = beside(walls, np.array([row]), np.array([low]), np.array([high]), distance)
    return made.curves()[0] if bool(exists[0]) else None


def test_the_curve_beside_each_kind_of_source_by_hand() -> None:
    """Margin 0.5 and distance 1.5: a line goes 2 mm to the left, an arc shrinks or grows, a corner owns an arc."""
    box = rectangle(0, 0, 10, 6).curves
    assert curve_beside(box, 0, 1.5) == Segment((0.0, 2.0), (10.0, 2.0))
    assert curve_beside(box, 1, 1.5, 0.5, 1.0) == Segment((8.0, 3.0), (8.0, 6.0))
    hole = (Arc((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0), True), Arc((-5.0, 0.0), (5.0, 0.0), (0.0, 0.0), True))
    inner = curve_beside(hole, 0, 1.5)
    assert isinstance(inner, Arc)
    assert (inner.start, inner.end) == (pytest.approx((3.0, 0.0)), pytest.approx((-3.0, 0.0)))
    assert (inner.center, inner.ccw) == ((0.0, 0.0), True)
    assert curve_beside(hole, 0, 4.5) is None, "at its radius nothing is left"
    assert curve_beside(hole, 0, 4.4999) is not None
    post = tuple(c.reversed() for c in reversed(hole))
    outer = curve_beside(post, 0, 1.5, 0.5, 1.0)
    assert isinstance(outer, Arc)
    assert (outer.radius, outer.ccw) == (pytest.approx(7.0), False)
    assert outer.length == pytest.approx(7.0 * math.pi / 2)
    island = rectangle(0, 0, 10, 6).reversed().curves
    count = len(island)
    corner = curve_beside(island, count, 1.5)
    assert isinstance(corner, Arc)
    place = island[1].start
    assert corner.center == place
    assert (corner.radius, corner.ccw) == (pytest.approx(2.0), False)
    assert abs(corner.sweep) == pytest.approx(math.pi / 2)
    before = curve_beside(island, 0, 1.5)
    assert before is not None
    assert corner.start == pytest.approx(before.end)
    after = curve_beside(island, 1, 1.5)
    assert after is not None
    assert corner.end == pytest.approx(after.start)


def test_walls_need_a_chain_with_a_length() -> None:
    with pytest.raises(InputError, match="walls: expected at least one line or arc"):
        walls_of([])
    with pytest.raises(InputError, match="walls: a chain without length"):
        walls_of([WallChain((Segment((1.0, 0.0), (1.0, 1e-9)),))])
    crumbs = (Segment((0, 0), (9, 0)), Segment((9, 0), (9.0, 0.9e-9)), Segment((9, 0), (9, 9)), Segment((9, 9), (0, 0)))
    assert len(walls_of([WallChain(crumbs)]).bodies) == 3


# Kept curves among the walls


def test_names_and_margins_of_all_that_is_kept() -> None:
    """The allowance is left on the walls and islands, not before kept curves; a closed one keeps its inside too."""
    rib = KeepAway("rib", (Segment((5, 5), (9, 5)), Segment((9, 5), (9, 9)), Segment((20, 5), (24, 5))), 1.0)
    pad = KeepAway("pad", rectangle(30, 10, 34, 14).curves, 2.0)
    post = circle_outline(Circle((20.0, 20.0), 3.0))
    named, allowed = walls_of_cut(
        rectangle(0, 0, 40, 30), (rectangle(10, 18, 14, 22), post), (rib, pad), allowance=0.3, island_names=("boss",)
    )
    assert named.names == ("wall", "boss", "island 2", "rib", "rib", "pad")
    margins = {int(c): float(m) for c, m in zip(named.walls.chain, named.walls.margin, strict=True)}
    assert margins == {0: 0.3, 1: 0.3, 2: 0.3, 3: 1.0, 4: 1.0, 5: 2.0}
    assert [int((named.walls.chain == k).sum()) for k in (0, 1, 3, 4, 5)] == [4, 4, 4, 2, 4]
    assert allowed is not None
    places = np.array([(1.0, 1.0), (12.0, 20.0), (20.0, 21.0), (32.0, 12.0), (41.0, 1.0), (6.0, 5.1)])
    assert allowed(places).tolist() == [True, False, False, False, False, True]
    assert walls_of_cut(rectangle(0, 0, 40, 30), (), ())[1] is None
    # Whichever way the closed one is drawn
    turned = KeepAway("pad", rectangle(30, 10, 34, 14).reversed().curves, 2.0)
    again, free = walls_of_cut(rectangle(0, 0, 40, 30), (), (turned,))
    assert free is not None
    assert free(places).tolist() == [True, True, True, False, False, True]
    assert Outline(again.walls.bodies.curves()[4:]).signed_area == pytest.approx(-16.0)


def test_curves_are_chained_over_gaps_of_a_millionth() -> None:
    a, b = Segment((0, 0), (5, 0)), Segment((5.0 + 0.9e-6, 0), (5, 5))
    c = Segment((5, 5.0 + 1.1e-6), (0, 5))
    assert connected([a, b, c]) == [(a, b), (c,)]
    assert connected([c, a]) == [(c,), (a,)]
    assert connected([]) == []
    assert not is_closed([a])
    assert is_closed([Segment((0, 0), (5, 0)), Segment((5, 0), (0.9e-6, 0))])
    assert not is_closed([Segment((0, 0), (5, 0)), Segment((5, 0), (1.1e-6, 0))])
    assert is_closed([Arc((5, 0), (5, 0), (0, 0), True)])
    assert not is_closed([Segment((0, 0), (0.9e-6, 0))])
