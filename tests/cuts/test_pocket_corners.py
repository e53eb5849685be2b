"""Inside corners: what stays, overcut relief, a second cutter, and which cutter to take."""

from __future__ import annotations

import math

import pytest
from clipper_measure import area, difference, least_distance, offset, opening, rings, swept, thick
from cut_chains import chains_at_depth
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from pocket_shapes import random_shape

from holecam.cuts.corner_relief import corners_of
from holecam.cuts.cut_choices import Direction, KeepAway, SneakWish
from holecam.cuts.cutter_choice import choose_cutter
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import PLAIN_STEP_OVER
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.path_values import MoveKind, joined
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest, ReliefShape, ReliefWish
from holecam.cuts.reach import HARDLY, corner_area, reach_of
from holecam.cuts.rest_cutting import OVERLAP
from holecam.errors import InputError
from holecam.shapes import Circle, Outline, Segment, circle_outline, distance, outline_through, rectangle

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
THREE = MillingCutter("3 mm end mill", 3.0, centre_cutting=True)
PATCH = PocketRequest("patch", rectangle(0, 0, 60, 40), 2.0, SIX, step_depth=9.0)


def wedge(angle_deg: float) -> Outline:
    """Return a triangle with this angle at the origin."""
    g = math.radians(angle_deg)
    return outline_through([(0, 0), (80, 0), (80 * math.cos(g), 80 * math.sin(g))])


@pytest.mark.outside_check(
    subject="corner that a cutter leaves",
    source="R^2 (cot(g/2) - (pi - g)/2)",
    closeness="1e-6",
    standing="mathematics",
)
@pytest.mark.parametrize("angle_deg", [30.0, 60.0, 90.0, 120.0, 150.0])
def test_corner_leftover_is_what_the_formula_says(angle_deg: float) -> None:
    # R^2 (cot(g/2) - (pi - g)/2), at 90 degrees 0.2146 R^2: the area between two tangents and the circle
    named, _ = walls_of_cut(wedge(angle_deg), (), ())
    reach = reach_of(named.walls, OffsetStack(named.walls).at(3.0))
    patch = min(reach.leftovers, key=lambda p: p.border.distance_to((0.0, 0.0)))
    assert patch.reason == "inside corner"
    assert patch.area == pytest.approx(corner_area(3.0, math.radians(angle_deg)), rel=1e-6)


@pytest.mark.outside_check(
    subject="corner that a cutter leaves",
    source="0.2146 R^2 at 90 degrees",
    closeness="1e-12",
    standing="mathematics",
)
def test_square_corner_leaves_the_handbook_share() -> None:
    assert corner_area(1.0, math.pi / 2) == pytest.approx(1 - math.pi / 4, rel=1e-12)
    assert corner_area(1.0, math.pi) == 0.0


@given(st.integers(0, 5000))
@settings(max_examples=20)
def test_reached_and_left_make_up_the_whole(seed: int) -> None:
    shape = random_shape(seed)
    named, _ = walls_of_cut(shape.outline, shape.islands, ())
    level = OffsetStack(named.walls).at(shape.diameter / 2)
    if not level.loops:
        return
    reach = reach_of(named.walls, level)
    whole = shape.outline.area - sum(i.area for i in shape.islands)
    reached = sum(o.signed_area for o in reach.reached)
    assert reached + reach.left_area == pytest.approx(whole, abs=1e-4)
    # A hair less than the radius: necks exactly as wide as the cutter count as open
    theirs = area(opening(rings(shape.outline, shape.islands), shape.diameter / 2 - 1e-4))
    assert reached == pytest.approx(theirs, abs=0.004 * sum(c.length for o in reach.reached for c in o.curves) + 0.01)


def test_a_lobe_behind_a_narrow_neck_is_told_apart_from_corners() -> None:
    bottle = outline_through(
        [
            (0, 0),
            (40, 0),
            (40, 13),
            (48, 13),
            (48, 5),
            (75, 5),
            (75, 25),
            (48, 25),
            (48, 17),
            (40, 17),
            (40, 30),
            (0, 30),
        ]
    )
    named, _ = walls_of_cut(bottle, (), ())
    level = OffsetStack(named.walls).at(3.0)
    reach = reach_of(named.walls, level)
    assert len(level.loops) == 2  # the cutter gets into both chambers, only not through the neck
    narrow = [p for p in reach.leftovers if p.reason == "narrow place"]
    assert len(narrow) == 1
    assert 8 * 4 < narrow[0].area + 15 < 8 * 4 + 40
    assert len([p for p in reach.leftovers if p.reason == "inside corner"]) == 8


def test_the_place_between_a_wall_and_a_near_island_is_narrow() -> None:
    island = circle_outline(Circle((6, 20), 4))
    named, _ = walls_of_cut(rectangle(0, 0, 60, 40), (island,), ())
    reach = reach_of(named.walls, OffsetStack(named.walls).at(3.0))
    narrow = [p for p in reach.leftovers if p.reason == "narrow place"]
    assert len(narrow) == 1
    assert narrow[0].border.contains((1.0, 20.0))


def test_an_island_in_an_unreached_lobe_is_a_hole_of_what_stays() -> None:
    bottle = outline_through([(0, 0), (40, 0), (40, 13), (60, 13), (60, 18), (40, 18), (40, 30), (0, 30)])
    pin = circle_outline(Circle((50, 15.5), 1))
    named, _ = walls_of_cut(bottle, (pin,), ())
    reach = reach_of(named.walls, OffsetStack(named.walls).at(3.0))
    (narrow,) = [p for p in reach.leftovers if p.reason == "narrow place"]
    assert len(narrow.holes) == 1
    assert narrow.area == pytest.approx(narrow.border.area - math.pi, rel=1e-6)


def test_kept_curves_bound_what_is_wanted() -> None:
    keep = KeepAway("nose", (Segment((40, -10), (40, 50)),), 2.0)
    named, allowed = walls_of_cut(rectangle(0, 0, 60, 40), (), (keep,))
    reach = reach_of(
        named.walls, OffsetStack(named.walls, allowed).at(3.0), OffsetStack(named.walls, allowed).at(HARDLY)
    )
    assert sum(o.signed_area for o in reach.reached) + reach.left_area == pytest.approx(38 * 40 + 18 * 40, abs=0.01)
    assert len(reach.leftovers) == 8


def test_corners_are_counted_in_the_order_of_the_outline() -> None:
    corners = corners_of(rectangle(0, 0, 60, 40))
    assert [c.at for c in corners] == [(0, 0), (60, 0), (60, 40), (0, 40)]
    assert corners_of(rectangle(0, 0, 60, 40, corner_radius=5)) == ()


@pytest.mark.parametrize(
    ("shape", "bite"),
    [
        (ReliefShape.DIAGONAL, 3 * (1 - math.sin(math.pi / 4))),
        (ReliefShape.ALONG_FIRST, 3.0),
        (ReliefShape.ALONG_LONGER, 3.0),
    ],
)
def test_an_overcut_reaches_the_corner_and_bites_as_far_as_told(shape: ReliefShape, bite: float) -> None:
    plan = plan_pocket(replace(PATCH, relief=ReliefWish(shape)))
    assert plan.proof.proved
    assert len(plan.reliefs) == 4
    cut = swept(chains_at_depth(plan.path), 3.0)
    # A square plate of the full size goes in: nothing of the pocket is left now
    assert thick(difference(rings(PATCH.outline, ()), cut)) < 1e-6
    for relief in plan.reliefs:
        assert distance(relief.center, relief.corner) == pytest.approx(3.0)
        assert relief.bite == pytest.approx(bite)
        x, y = relief.center
        past = max(3 - x, x + 3 - 60, 3 - y, y + 3 - 40)
        assert past == pytest.approx(bite)
    if shape is ReliefShape.ALONG_LONGER:  # the long walls run along X: the bite goes into the short ones
        assert all(min(r.center[0], 60 - r.center[0]) == pytest.approx(0.0, abs=1e-9) for r in plan.reliefs)


def test_chosen_corners_only_and_wrong_numbers_refused() -> None:
    plan = plan_pocket(replace(PATCH, relief=ReliefWish(corners=(1, 3))))
    assert [r.corner for r in plan.reliefs] == [(0, 0), (60, 40)]
    with pytest.raises(InputError, match="corner 5 to be relieved: it has corners 1 to 4"):
        plan_pocket(replace(PATCH, relief=ReliefWish(corners=(5,))))
    ell = outline_through([(0, 0), (60, 0), (60, 25), (28, 25), (28, 55), (0, 55)])
    with pytest.raises(InputError, match="points into the pocket and needs no relief"):
        plan_pocket(replace(PATCH, outline=ell, relief=ReliefWish(corners=(4,))))


def test_an_overcut_into_an_island_is_a_gouge() -> None:
    pin = circle_outline(Circle((1.0, 5.4), 0.1))  # the pass along the walls gets into the corner, the overcut not
    plan = plan_pocket(replace(PATCH, islands=(pin,), relief=ReliefWish(ReliefShape.ALONG_LONGER)))
    assert any(r.corner == (0, 0) for r in plan.reliefs)
    assert not plan.proof.proved
    assert all("island 1" in gouge.into for gouge in plan.proof.gouges)
    # On its way from 3, 3 to 0, 3 the cutter comes nearest to the pin at 1, 3: 2.4 to its middle, 2.3 to its rim
    worst = max(gouge.depth for gouge in plan.proof.gouges)
    assert worst == pytest.approx(3.0 - (2.4 - 0.1), abs=1e-6)
    near = circle_outline(Circle((3.0, 9.0), 1.0))
    blocked = plan_pocket(replace(PATCH, islands=(near,), relief=ReliefWish(ReliefShape.ALONG_LONGER)))
    assert blocked.proof.proved


@pytest.mark.parametrize("direction", list(Direction))
def test_second_cutter_cuts_only_what_the_first_left(direction: Direction) -> None:
    boss = circle_outline(Circle((30, 20), 6))
    plan = plan_pocket(replace(PATCH, islands=(boss,), second_cutter=THREE, direction=direction))
    assert plan.rest_path is not None
    assert plan.rest_proof is not None
    assert plan.rest_proof.proved
    assert joined(tuple(plan.rest_path.moves()))
    rest = chains_at_depth(plan.rest_path)
    pocket = rings(PATCH.outline, (boss,))
    both = [*swept(chains_at_depth(plan.path), 3.0), *swept(rest, 1.5)]
    assert thick(difference(opening(pocket, 1.5), both)) < 0.0001 * 9
    assert least_distance(rest, [PATCH.outline, boss]) > 1.5 - 0.001
    # It stays in the four corners and does not run round the walls again
    length = sum(c.length for chain in rest for c in chain)
    assert length < 4 * 20
    assert plan.rest_proof.wanted_area == pytest.approx(4 * corner_area(3.0, math.pi / 2), rel=1e-6)
    assert plan.rest_proof.reachable_area == pytest.approx(
        4 * (corner_area(3, math.pi / 2) - corner_area(1.5, math.pi / 2))
    )
    # It gets down where the first has been
    for move in plan.rest_path.moves():
        assert move.kind is not MoveKind.ENTRY


def test_second_cutter_goes_through_the_neck_that_stopped_the_first() -> None:
    bottle = outline_through([(0, 0), (40, 0), (40, 13), (70, 13), (70, 17.5), (40, 17.5), (40, 30), (0, 30)])
    plan = plan_pocket(replace(PATCH, outline=bottle, second_cutter=THREE))
    assert plan.rest_proof is not None
    assert plan.rest_proof.proved
    assert plan.rest_path is not None
    both = [*swept(chains_at_depth(plan.path), 3.0), *swept(chains_at_depth(plan.rest_path), 1.5)]
    assert thick(difference(opening(rings(bottle, ()), 1.5), both)) < 0.0001 * 9


@given(st.integers(0, 2000))
@settings(max_examples=5)
def test_second_cutter_leaves_nothing_on_random_pockets(seed: int) -> None:
    shape = random_shape(seed)
    first = MillingCutter("first", shape.diameter, centre_cutting=True)
    second = MillingCutter("second", shape.diameter / 2, centre_cutting=True)
    plan = plan_pocket(replace(PATCH, outline=shape.outline, islands=shape.islands, cutter=first, second_cutter=second))
    if plan.rest_path is None or plan.rest_proof is None:
        return
    assert plan.rest_proof.proved
    radius = shape.diameter / 4
    both = [*swept(chains_at_depth(plan.path), 2 * radius), *swept(chains_at_depth(plan.rest_path), radius)]
    reached = offset(offset(rings(shape.outline, shape.islands), -radius), radius)
    # Patches below the limit of the first cutter are not worth a second one
    counted = [p for p in plan.proof.leftovers if p.area > 0.0001 * second.diameter**2]
    limit = 0.0001 * second.diameter**2 * (1 + len(plan.proof.leftovers) - len(counted))
    assert thick(difference(reached, both)) < limit


def test_cutters_are_judged_with_reasons() -> None:
    long = [
        MillingCutter("1/2", 12.7),
        MillingCutter("1/4", 6.35),
        MillingCutter("1/8", 3.175),
        MillingCutter("1/4 stub", 6.35, flute_length=4.0),
    ]
    bottle = outline_through([(0, 0), (40, 0), (40, 11), (70, 11), (70, 19), (40, 19), (40, 30), (0, 30)])
    choice = choose_cutter(bottle, long, what='pocket "x"', depth=6.0)
    assert choice.best.name == "1/4"
    assert choice.second is not None
    assert choice.second.name == "1/8"
    words = [v.reason for v in choice.verdicts]
    assert "does not get everywhere" in words[0]
    assert "taken, the largest that gets everywhere" in words[1]
    assert "for what the first one leaves" in words[2]
    assert "too short for a depth of 6.000 mm" in words[3]
    tight = choose_cutter(rectangle(0, 0, 60, 40), long, what="x", depth=2.0, corner_radius=2.0)
    assert tight.best.name == "1/8"


def test_no_cutter_or_none_that_fits_is_refused() -> None:
    with pytest.raises(InputError, match=r'pocket "x": none of .* "1/2" of 12\.700 mm does not enter'):
        choose_cutter(rectangle(0, 0, 60, 10), [MillingCutter("1/2", 12.7)], what='pocket "x"', depth=2.0)
    with pytest.raises(InputError, match="no cutter is listed"):
        choose_cutter(rectangle(0, 0, 60, 10), [], what="x", depth=2.0)


def test_relief_waits_for_the_last_stage_of_sneaking_up() -> None:
    plan = plan_pocket(replace(PATCH, relief=ReliefWish(), sneak=SneakWish(0.4, 2)))
    assert plan.proof.proved
    assert len(plan.reliefs) == 4
    first, last = plan.sneak[0].path, plan.sneak[-1].path
    corner = plan.reliefs[0].center
    assert all(m.at != corner for m in first.moves())
    assert any(m.at == corner for m in last.moves())


@pytest.mark.parametrize(("feed", "rate"), [(None, 600.0), (150.0, 150.0)])
def test_minutes_of_a_cutter_are_its_way_over_its_feed(feed: float | None, rate: float) -> None:
    """60 x 40, 6 mm: the centre covers 54 x 34 in rows 0.4 D apart and goes once round: (1836 / 2.4 + 176) / feed."""
    choice = choose_cutter(
        PATCH.outline, [SIX, THREE], what="patch", depth=2.0, feed=None if feed is None else lambda cutter: feed
    )
    step = PLAIN_STEP_OVER
    assert choice.verdicts[0].minutes == pytest.approx((54 * 34 / (step * 6) + 176) / rate)
    rate_of_three = 300.0 if feed is None else feed
    assert choice.verdicts[1].minutes == pytest.approx((57 * 37 / (step * 3) + 188) / rate_of_three)
    # The two leave four inside corners of (1 - pi/4) R^2 each
    assert [v.left_area for v in choice.verdicts] == pytest.approx(
        [4 * (1 - math.pi / 4) * 9.0, 4 * (1 - math.pi / 4) * 2.25], rel=1e-3
    )


def test_the_way_of_a_second_cutter_is_as_long_as_it_need_be() -> None:
    """Into a square corner: it touches what a 6 mm cutter left up to 3 mm from it, and begins a quarter radius before.

    Its centre runs from 3 + 0.375 to 1.5 mm and out along the other wall: 2 x 1.875 mm a corner.
    """
    plan = plan_pocket(replace(PATCH, second_cutter=THREE))
    assert plan.rest_path is not None
    corners = [sum(c.length for c in chain) for chain in chains_at_depth(plan.rest_path)]
    assert OVERLAP == 0.25
    assert corners == pytest.approx([2 * (3.0 + 0.375 - 1.5)] * 4, abs=1e-3)
    # A neck of 4.5 mm: its walls are 1.5 mm apart for the centre, one way round is enough, rows 1.2 mm apart
    bottle = outline_through([(0, 0), (40, 0), (40, 13), (70, 13), (70, 17.5), (40, 17.5), (40, 30), (0, 30)])
    neck = plan_pocket(replace(PATCH, outline=bottle, second_cutter=THREE)).rest_path
    assert neck is not None
    length = sum(c.length for chain in chains_at_depth(neck) for c in chain)
    assert length < 3 * 30 + 15


def test_what_a_second_cutter_leaves_is_not_in_corners_that_are_overcut() -> None:
    """Three square corners left: 0.2146 R^2 each, of R = 3 mm before the second cutter and of 1.5 mm after it."""
    share = 1.0 - math.pi / 4
    plan = plan_pocket(replace(PATCH, second_cutter=THREE, relief=ReliefWish(corners=(1,))))
    assert plan.rest_proof is not None
    assert plan.rest_proof.wanted_area == pytest.approx(3 * share * 9.0)
    assert [p.area for p in plan.rest_proof.leftovers] == pytest.approx([share * 2.25] * 3)
    assert plan.rest_proof.reachable_area == pytest.approx(3 * share * (9.0 - 2.25))
    assert all(p.at != plan.reliefs[0].corner for p in plan.rest_proof.leftovers)
    whole = plan_pocket(replace(PATCH, second_cutter=THREE, relief=ReliefWish()))
    assert (whole.rest_path, whole.rest_proof) == (None, None)
