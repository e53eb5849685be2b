"""Where the round overcut of a corner lies, how far it bites, and which corners get one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import pytest
import shapely

from holecam.cuts.corner_relief import (
    corners_of,
    left_beside_reliefs,
    mirrored_wish,
    relief_gouges,
    reliefs,
    with_reliefs,
)
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.level_layout import LevelLayout, Run, Stroke, StrokeKind
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest, Relief, ReliefShape, ReliefWish
from holecam.cuts.proof_values import Leftover
from holecam.errors import InputError
from holecam.shapes import (
    Arc,
    Circle,
    Curve,
    Outline,
    Placement,
    Point,
    Segment,
    circle_outline,
    distance,
    outline_through,
    rectangle,
)

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


def standing(made: Sequence[Relief]) -> dict[Point, Curve]:
    """Ways so short that the overcut itself is all that counts."""
    return {r.center: Segment((r.center[0] - 1e-6, r.center[1]), r.center) for r in made}


def test_the_way_into_a_sharp_corner_counts_as_well_as_its_end() -> None:
    """A corner of 20 degrees: the pass turns 3 / sin 10 = 17.28 mm from it, the overcut ends 3 mm from it.

    A post on the bisector at 10 mm stands clear of both places, and the cutter would run over it.
    """
    far = (60.0, 60.0 * math.tan(math.radians(20)))
    sharp = outline_through([(0, 0), (60, 0), far])
    (relief,) = reliefs(sharp, R, ReliefWish(corners=(1,)), "sharp")
    along = (math.cos(math.radians(10)), math.sin(math.radians(10)))
    assert relief.center == pytest.approx((3 * along[0], 3 * along[1]))
    start = (R / math.sin(math.radians(10)) * along[0], R / math.sin(math.radians(10)) * along[1])
    ways = {relief.center: Segment(start, relief.center)}
    post = circle_outline(Circle((10 * along[0], 10 * along[1]), 0.2))
    others = [("post", c, 0.0) for c in post.curves]
    assert min(distance(start, c.nearest(start)) for c in post.curves) > R
    assert min(distance(relief.center, c.nearest(relief.center)) for c in post.curves) > R
    assert relief_gouges([relief], sharp, others, standing([relief])) == []
    hits = relief_gouges([relief], sharp, others, ways)
    assert hits
    assert {h.into for h in hits} == {"post, by the overcut of a corner"}
    assert max(h.depth for h in hits) == pytest.approx(R), "the middle of the cutter crosses the post"


def test_a_pocket_with_a_post_in_a_sharp_corner_is_not_proved() -> None:
    """The same as a whole pocket: a post of 0.4 mm in front of a corner of 20 degrees that is to be overcut."""
    far = (60.0, 60.0 * math.tan(math.radians(20)))
    post = circle_outline(Circle((10 * math.cos(math.radians(10)), 10 * math.sin(math.radians(10))), 0.2))
    cutter = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
    request = PocketRequest(
        "sharp", outline_through([(0, 0), (60, 0), far]), 2.0, cutter, islands=(post,), relief=ReliefWish(corners=(1,))
    )
    plan = plan_pocket(request)
    assert [r.corner for r in plan.reliefs] == [(0, 0)], "the case is about an overcut that is made"
    assert any(g.into.endswith("by the overcut of a corner") for g in plan.proof.gouges)
    assert not plan.proof.proved


def test_an_overcut_that_reaches_another_wall_or_a_margin_is_a_gouge() -> None:
    """A post 5 mm from the centre of a 3 mm overcut stands 2 mm clear of it: a margin of 2.5 mm is short by 0.5."""
    box = rectangle(0, 0, 60, 40)
    wanted = reliefs(box, R, ReliefWish(), "box")
    assert relief_gouges(wanted, box, [], standing(wanted)) == []
    center = next(r.center for r in wanted if r.corner == (0, 0))
    post = Segment((center[0] + 5.0, center[1] - 1.0), (center[0] + 5.0, center[1] + 1.0))
    assert relief_gouges(wanted, box, [("post", post, 1.9)], standing(wanted)) == []
    (hit,) = relief_gouges(wanted, box, [("post", post, 2.5)], standing(wanted))
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


def pass_along(outline: Outline, *, kind: StrokeKind = StrokeKind.FINISH) -> Run:
    return Run(tuple(Stroke(c, kind) for c in outline.curves))


def test_an_overcut_goes_out_and_back_from_the_corner_of_the_pass_along_the_walls() -> None:
    """A box of 60 by 40, the pass 3 mm inside: from (3, 3) to 3 sqrt(1/2) on both axes and back."""
    box = rectangle(0, 0, 60, 40)
    inner = pass_along(rectangle(8, 8, 52, 32), kind=StrokeKind.CUT)
    layout = LevelLayout((inner, pass_along(rectangle(3, 3, 57, 37))))
    wanted = [r for r in reliefs(box, R, ReliefWish(), "box") if r.corner in ((0, 0), (60, 40))]
    made, lost = with_reliefs(layout, wanted, box)
    assert lost == ()
    assert made.runs[0] == inner
    out, back = R * math.sqrt(0.5), 60 - R * math.sqrt(0.5)
    ends = [(57, 3), (57, 37), (back, back - 20), (57, 37), (3, 37), (3, 3), (out, out), (3, 3)]
    kinds = ["finish", "finish", "relief", "relief", "finish", "finish", "relief", "relief"]
    assert [(s.kind.value, s.curve.end) for s in made.runs[1].strokes] == [
        (kind, pytest.approx(end)) for kind, end in zip(kinds, ends, strict=True)
    ]
    for before, after in pairwise(made.runs[1].strokes):
        assert before.curve.end == after.curve.start


def test_a_corner_that_the_pass_does_not_come_to_is_not_overcut() -> None:
    """The centre goes from the pass toward the corner, never farther than the corner is."""
    box = rectangle(0, 0, 60, 40)
    (corner,) = (r for r in reliefs(box, R, ReliefWish(), "box") if r.corner == (0, 0))
    without = LevelLayout((pass_along(rectangle(3, 3, 57, 37), kind=StrokeKind.CUT),))
    assert with_reliefs(without, [corner], box) == (without, (corner,)), "rough strokes are no pass along the walls"
    assert with_reliefs(LevelLayout(()), [corner], box) == (LevelLayout(()), (corner,))
    # Beyond the corner; touching both walls; touching one of them; away from both
    for place, found in (((-1.0, -1.0), False), ((3.0, 3.0), True), ((3.0, 3.1), False), ((9.0, 9.0), False)):
        run = Run((Stroke(Segment((30.0, 30.0), place), StrokeKind.FINISH),))
        assert (with_reliefs(LevelLayout((run,)), [corner], box)[1] == ()) is found, place


@pytest.mark.parametrize("wide", [4.0, 5.9, 5.9999])
def test_through_a_niche_narrower_than_the_cutter_no_overcut_is_made(wide: float) -> None:
    """The mouth of the niche is the nearest place of the pass to its corners, and no way leads from there to them."""
    niche = outline_through([(0, 0), (30, 0), (30, 20), (13 + wide, 20), (13 + wide, 32), (13, 32), (13, 20), (0, 20)])
    six = MillingCutter("6 mm end mill", 6.0)
    plan = plan_pocket(PocketRequest("niche", niche, 2.0, six, step_depth=9.0, relief=ReliefWish()))
    assert {r.corner for r in plan.reliefs} == {(0, 0), (30, 0), (30, 20), (0, 20)}
    assert plan.proof.proved
    assert len(plan.notes) == 2
    assert f"the corner at X {13 + wide:.3f} Y 32.000 mm is not relieved: the cutter does not get into it" in plan.notes
    lines = shapely.MultiLineString([[m.curve.start, m.curve.end] for m in plan.path.moves() if m.curve is not None])
    walls = shapely.LinearRing([c.start for c in niche.curves[3:6]] + [(50, 50)])
    assert lines.distance(walls) > 2.0


def test_of_equally_near_places_of_the_pass_the_first_is_taken() -> None:
    (corner,) = (r for r in reliefs(rectangle(0, 0, 60, 40), R, ReliefWish(), "box") if r.corner == (0, 0))
    run = pass_along(rectangle(3, 3, 57, 37))
    made, _ = with_reliefs(LevelLayout((run, run)), [corner], rectangle(0, 0, 60, 40))
    assert [len(r.strokes) for r in made.runs] == [6, 4]


def test_square_is_up_to_91_degrees_and_straight_on_no_corner() -> None:
    def kite(angle: float) -> Outline:
        a = math.radians(angle)
        return outline_through([(0, 0), (40, 0), (60, 50), (40 * math.cos(a), 40 * math.sin(a))])

    for angle, taken in ((90.9, True), (91.1, False)):
        assert ((0, 0) in {r.corner for r in reliefs(kite(angle), R, ReliefWish(), "kite")}) is taken
    for bend, corners in ((0.9e-6, 4), (1.1e-6, 5)):
        bent = outline_through([(0, 0), (20, 0), (40, 20 * bend), (40, 30), (0, 30)])
        assert len(corners_of(bent)) == corners


def test_a_corner_just_pointing_in_is_refused_and_one_that_does_not_is_made() -> None:
    for dent, refused in ((0.01, True), (-0.01, False)):
        outline = outline_through([(0, 0), (20, dent), (40, 0), (40, 30), (0, 30)])
        wish = ReliefWish(corners=(2,))
        assert corners_of(outline)[1].at == (20, dent)
        if refused:
            with pytest.raises(InputError, match="corner 2 points into the pocket and needs no relief; leave it out"):
                reliefs(outline, R, wish, "dent")
        else:
            assert len(reliefs(outline, R, wish, "dent")) == 1


def test_along_the_longer_wall_and_along_the_first_of_two_as_long() -> None:
    """At (60, 0) the wall before is 60 mm long, the one after 40, and the other way round at (60, 40)."""
    found = {r.corner: r for r in reliefs(rectangle(0, 0, 60, 40), R, ReliefWish(ReliefShape.ALONG_LONGER), "box")}
    assert found[(60, 0)].center == pytest.approx((60.0, 3.0))
    assert found[(60, 40)].center == pytest.approx((60.0, 37.0))
    first = {r.corner: r for r in reliefs(rectangle(0, 0, 60, 40), R, ReliefWish(ReliefShape.ALONG_FIRST), "box")}
    assert first[(60, 0)].center == pytest.approx((60.0, 3.0))
    assert first[(60, 40)].center == pytest.approx((57.0, 40.0))
    square = {r.corner: r for r in reliefs(rectangle(0, 0, 40, 40), R, ReliefWish(ReliefShape.ALONG_LONGER), "sq")}
    assert square[(40, 40)].center == pytest.approx((37.0, 40.0))


def test_a_gouge_of_an_overcut_counts_from_a_micron_and_not_at_its_own_corner() -> None:
    box = rectangle(0, 0, 60, 40)
    (made,) = (r for r in reliefs(box, R, ReliefWish(), "box") if r.corner == (0, 0))
    x = made.center[0] + 5.0
    post = Segment((x, made.center[1] - 1.0), (x, made.center[1] + 1.0))
    assert relief_gouges([made], box, [("post", post, 2.0009)], standing([made])) == []
    assert len(relief_gouges([made], box, [("post", post, 2.0011)], standing([made]))) == 1
    # What touches the rim in the corner itself is bitten at no other place
    spur = Segment((0.0, 0.0), (-5.0, -5.0))
    assert relief_gouges([made], box, [("spur", spur, 0.5)], standing([made])) == []
    narrow = rectangle(0, 0, 4.0, 40)
    (beside,) = (r for r in reliefs(narrow, R, ReliefWish(), "slot") if r.corner == (0, 0))
    (hit,) = relief_gouges([beside], narrow, [], standing([beside]))
    assert hit.into == "wall, by the overcut of a corner"
    assert hit.depth == pytest.approx(R - (4.0 - R * math.sqrt(0.5)))
    assert hit.at == pytest.approx((4.0, R * math.sqrt(0.5)))


def test_beside_a_curved_wall_the_direction_at_the_corner_counts() -> None:
    """A quarter disc: two lines from the origin and an arc about it; at both ends of the arc the corner is square."""
    disc = Outline(
        (
            Segment((0.0, 0.0), (10.0, 0.0)),
            Arc((10.0, 0.0), (0.0, 10.0), (0.0, 0.0), True),
            Segment((0.0, 10.0), (0.0, 0.0)),
        )
    )
    assert [c.angle for c in corners_of(disc)] == pytest.approx([math.pi / 2] * 3)
    found = {r.corner: r.center for r in reliefs(disc, R, ReliefWish(), "disc")}
    out = R * math.sqrt(0.5)
    assert found == {
        (10.0, 0.0): pytest.approx((10.0 - out, out)),
        (0.0, 10.0): pytest.approx((out, 10.0 - out)),
        (0.0, 0.0): pytest.approx((out, out)),
    }


def test_corners_are_counted_from_the_first_point_that_is_listed() -> None:
    assert [c.at for c in corners_of(rectangle(10, 20, 50, 40))] == [(10, 20), (50, 20), (50, 40), (10, 40)]
    backwards = outline_through([(0, 0), (0, 30), (40, 30), (40, 0)])
    assert [c.at for c in corners_of(backwards)] == [(0, 0), (40, 0), (40, 30), (0, 30)], "anticlockwise all the same"
    assert [c.number for c in corners_of(backwards)] == [1, 2, 3, 4]


@pytest.mark.parametrize("shape", list(ReliefShape))
@pytest.mark.parametrize("outline", [rectangle(0, 0, 60, 40), rectangle(0, 0, 30, 30), LEANING, HEXAGON])
def test_overcuts_of_a_mirrored_pocket_are_the_mirror_image(shape: ReliefShape, outline: Outline) -> None:
    hand = Placement(25.0, (7.0, -3.0), mirror=True)
    mirrored = hand.apply_outline(outline).counterclockwise()
    for corners in (None, (1,), (2,), (4, 3)):
        wish = ReliefWish(shape, corners)
        there = reliefs(mirrored, R, mirrored_wish(wish, outline, mirrored, hand), "mirrored")
        expected = [(hand.apply(r.corner), hand.apply(r.center), r.bite) for r in reliefs(outline, R, wish, "given")]
        found = [(r.corner, r.center, r.bite) for r in there]
        if corners is None:
            expected, found = sorted(expected), sorted(found)
        assert len(found) == len(expected)
        for (corner, center, bite), (corner_2, center_2, bite_2) in zip(expected, found, strict=True):
            assert corner_2 == pytest.approx(corner, abs=1e-9)
            assert center_2 == pytest.approx(center, abs=1e-9)
            assert bite_2 == pytest.approx(bite, abs=1e-9)


def test_a_wish_seen_twice_in_a_mirror_is_the_wish() -> None:
    hand = Placement(0.0, (0.0, 0.0), mirror=True)
    mirrored = hand.apply_outline(LEANING).counterclockwise()
    wish = ReliefWish(ReliefShape.ALONG_FIRST, (1, 3, 99))
    once = mirrored_wish(wish, LEANING, mirrored, hand)
    assert once.mirrored
    assert once.corners is not None
    assert once.corners[2] == 99, "a number that no corner has is refused where it is used"
    assert mirrored_wish(once, mirrored, LEANING, hand) == wish
