"""Where the round overcut of a corner lies, how far it bites, and which corners get one."""

from __future__ import annotations

import math

import pytest

from holecam.cuts.corner_relief import corners_of, left_beside_reliefs, relief_gouges, reliefs
from holecam.cuts.pocket_values import ReliefShape, ReliefWish
from holecam.cuts.proof_values import Leftover
from holecam.errors import InputError
from holecam.shapes import Arc, Outline, Segment, distance, outline_through, rectangle

R = 3.0
HEXAGON = outline_through([(40 * math.cos(k * math.pi / 3), 40 * math.sin(k * math.pi / 3)) for k in range(6)])
# 60 and 120 degrees in turn
LEANING = outline_through([(0, 0), (60, 0), (60 + 20, 20 * math.sqrt(3)), (20, 20 * math.sqrt(3))])
# An L: five square corners, and one (number 4) that points into the pocket
ELL = outline_through([(0, 0), (60, 0), (60, 20), (30, 20), (30, 50), (0, 50)])


def test_corners_are_numbered_anticlockwise_whichever_way_it_is_drawn() -> None:
    for outline in (ELL, ELL.reversed()):
        corners = corners_of(outline)
        assert [c.number for c in corners] == [1, 2, 3, 4, 5, 6]
        inward = [c for c in corners if c.angle > math.pi]
        assert [c.at for c in inward] == [(30, 20)]
        assert inward[0].angle == pytest.approx(1.5 * math.pi)
        assert sum(c.angle for c in corners) == pytest.approx(4 * math.pi)
    round_end = Outline(
        (
            Segment((0, 0), (40, 0)),
            Arc((40, 0), (40, 20), (40, 10), True),
            Segment((40, 20), (0, 20)),
            Segment((0, 20), (0, 0)),
        )
    )
    assert {c.at for c in corners_of(round_end)} == {(0, 0), (0, 20)}, "smooth joints are no corners"


def test_square_and_sharper_corners_are_relieved_without_being_named() -> None:
    assert reliefs(HEXAGON, R, ReliefWish(), "hexagon") == ()
    sharp = {r.corner for r in reliefs(LEANING, R, ReliefWish(), "leaning")}
    assert sharp == {c.at for c in corners_of(LEANING) if c.angle < math.pi / 2}
    assert len(sharp) == 2
    assert len(reliefs(rectangle(0, 0, 60, 40), R, ReliefWish(), "box")) == 4
    assert {r.corner for r in reliefs(ELL, R, ReliefWish(), "ell")} == {(0, 0), (60, 0), (60, 20), (30, 50), (0, 50)}


def test_named_corners_alone_and_the_ones_that_cannot_be() -> None:
    named = reliefs(HEXAGON, R, ReliefWish(corners=(2, 5)), "hexagon")
    assert [r.corner for r in named] == [corners_of(HEXAGON)[1].at, corners_of(HEXAGON)[4].at]
    last = reliefs(HEXAGON, R, ReliefWish(corners=(6, 1)), "hexagon")
    assert [r.corner for r in last] == [corners_of(HEXAGON)[5].at, corners_of(HEXAGON)[0].at]
    for number in (0, 7, -1):
        with pytest.raises(InputError, match=f"hexagon: corner {number} to be relieved: it has corners 1 to 6"):
            reliefs(HEXAGON, R, ReliefWish(corners=(number,)), "hexagon")
    inward = next(c.number for c in corners_of(ELL) if c.angle > math.pi)
    with pytest.raises(InputError, match=f"ell: corner {inward} points into the pocket"):
        reliefs(ELL, R, ReliefWish(corners=(inward,)), "ell")


@pytest.mark.parametrize("outline", [LEANING, rectangle(0, 0, 60, 40), ELL])
def test_a_diagonal_relief_passes_through_the_corner_on_its_bisector(outline: Outline) -> None:
    """Bite into each wall R (1 - sin(g/2)): 0.2929 R at a square corner, half of R at 60 degrees."""
    corners = {c.at: c for c in corners_of(outline)}
    for relief in reliefs(outline, R, ReliefWish(), "cut"):
        corner = corners[relief.corner]
        assert distance(relief.center, relief.corner) == pytest.approx(R)
        to_walls = [distance(relief.center, c.nearest(relief.center)) for c in (corner.before, corner.after)]
        assert to_walls == pytest.approx([R * math.sin(corner.angle / 2)] * 2)
        assert relief.bite == pytest.approx(R - to_walls[0])
        assert outline.contains(relief.center)


@pytest.mark.parametrize("outline", [rectangle(0, 0, 60, 40), LEANING])
@pytest.mark.parametrize("shape", [ReliefShape.ALONG_FIRST, ReliefShape.ALONG_LONGER])
def test_a_relief_along_a_wall_touches_it_and_bites_the_other(outline: Outline, shape: ReliefShape) -> None:
    """The bite is R (1 + cos g): R at a square corner, 1.5 R at 60 degrees; along the longer wall where asked."""
    corners = {c.at: c for c in corners_of(outline)}
    found = reliefs(outline, R, ReliefWish(shape=shape), "cut")
    assert len(found) >= 2
    for relief in found:
        corner = corners[relief.corner]
        along, other = corner.before, corner.after
        if shape is ReliefShape.ALONG_LONGER and corner.after.length > corner.before.length:
            along, other = other, along

        def square_off(line: Segment, p: tuple[float, float]) -> float:
            (ux, uy), (x, y) = line.tangent_at(0.0), line.start
            return ux * (p[1] - y) - uy * (p[0] - x)  # above 0 inside

        assert distance(relief.center, relief.corner) == pytest.approx(R)
        assert square_off(along, relief.center) == pytest.approx(R)
        assert R - square_off(other, relief.center) == pytest.approx(relief.bite)
        assert relief.bite == pytest.approx(R * (1 + math.cos(corner.angle)))


def test_an_overcut_that_reaches_another_wall_or_a_margin_is_a_gouge() -> None:
    """A post 5 mm from the centre of a 3 mm overcut stands 2 mm clear of it: a margin of 2.5 mm is short by 0.5."""
    box = rectangle(0, 0, 60, 40)
    wanted = reliefs(box, R, ReliefWish(), "box")
    assert relief_gouges(wanted, box, []) == []
    center = next(r.center for r in wanted if r.corner == (0, 0))
    post = Segment((center[0] + 5.0, center[1] - 1.0), (center[0] + 5.0, center[1] + 1.0))
    assert relief_gouges(wanted, box, [("post", post, 1.9)]) == []
    (hit,) = relief_gouges(wanted, box, [("post", post, 2.5)])
    assert hit.depth == pytest.approx(0.5)
    assert hit.at == pytest.approx((center[0] + 5.0, center[1]))
    assert hit.into == "post, by the overcut of a corner"


def test_an_overcut_takes_its_corner_and_what_has_a_curved_wall_counts_as_if_it_stayed() -> None:
    """The corner at the origin of a box, cutter of 3 mm radius: between two straight walls it goes wholly."""
    made = reliefs(rectangle(0, 0, 60, 40), R, ReliefWish(), "box")
    rim = Arc((3.0, 0.0), (0.0, 3.0), (3.0, 3.0), ccw=False)
    left_wall = Segment((0.0, 3.0), (0.0, 0.0))

    def patch(*low_wall: Segment | Arc, rim: Arc = rim, holes: tuple[Outline, ...] = ()) -> Leftover:
        return Leftover(Outline((left_wall, *low_wall, rim)), holes, 1.9, (3.0, 3.0), "inside corner")

    plain = patch(Segment((0.0, 0.0), (3.0, 0.0)))
    assert left_beside_reliefs([plain], made) == ()
    assert left_beside_reliefs([plain], [r for r in made if r.corner != (0, 0)]) == (plain,), "another corner's"
    bulged = patch(Segment((0.0, 0.0), (1.0, 0.0)), Arc((1.0, 0.0), (3.0, 0.0), (2.0, 1.0), ccw=True))
    with_island = patch(Segment((0.0, 0.0), (3.0, 0.0)), holes=(rectangle(0.2, 0.2, 0.4, 0.4),))
    up, down = Segment((0.0, 3.0), (0.0, 9.0)), Segment((0.0, 9.0), (0.0, 0.0))
    border = Outline((down, Segment((0.0, 0.0), (3.0, 0.0)), rim, up))
    far_wall = Leftover(border, (), 1.9, (3.0, 3.0), "inside corner")
    for stays in (bulged, with_island, far_wall):
        assert left_beside_reliefs([plain, stays], made) == (stays,)
