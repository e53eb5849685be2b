"""What a cutter reaches and leaves, its rims and feet, and what a second cutter runs of the loops beside it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from holecam.cuts import rest_cutting
from holecam.cuts.coverage import Patch
from holecam.cuts.cut_choices import Direction
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.level_layout import StrokeKind
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest
from holecam.cuts.proof_values import Leftover
from holecam.cuts.reach import _feet, corner_area, reach_of
from holecam.cuts.rest_cutting import _touching, rest_layout
from holecam.cuts.rings import ring_levels
from holecam.cuts.walls import WallChain, beside, chains_of_region, walls_of
from holecam.shapes import Arc, Circle, Outline, Segment, circle_outline, outline_through, rectangle

SHARE = 1 - math.pi / 4


def reached(outline: Outline, radius: float, *islands: Outline):  # type: ignore[no-untyped-def]
    walls = walls_of(chains_of_region(outline, islands))
    return reach_of(walls, OffsetStack(walls).at(radius))


def test_the_area_of_a_corner_between_straight_walls() -> None:
    """R^2 (cot(g/2) - (pi - g)/2): at 60 degrees sqrt(3) - pi/3; none at no angle and at half a turn."""
    assert corner_area(2.0, math.pi / 3) == pytest.approx(4 * (math.sqrt(3) - math.pi / 3))
    assert corner_area(1.0, 2 * math.pi / 3) == pytest.approx(1 / math.sqrt(3) - math.pi / 6)
    assert corner_area(1.0, 0.0) == corner_area(1.0, math.pi) == corner_area(1.0, 4.0) == corner_area(1.0, -1.0) == 0.0


def test_a_box_is_reached_but_for_its_corners() -> None:
    found = reached(rectangle(0, 0, 30, 20), 3.0)
    (edge,) = found.reached
    assert edge.signed_area == pytest.approx(600 - 4 * SHARE * 9)
    assert found.left_area == pytest.approx(4 * SHARE * 9)
    places = {(round(p.at[0], 6), round(p.at[1], 6)) for p in found.leftovers}
    assert places == {(3, 3), (3, 17), (27, 3), (27, 17)}
    for patch in found.leftovers:
        assert patch.area == pytest.approx(SHARE * 9)
        assert patch.border.signed_area == pytest.approx(SHARE * 9)
        assert (patch.reason, patch.holes) == ("inside corner", ())


def test_round_an_island_the_edge_of_what_is_reached_is_a_hole() -> None:
    post = circle_outline(Circle((15.0, 10.0), 2.0))
    found = reached(rectangle(0, 0, 30, 20), 3.0, post)
    assert sorted(o.signed_area for o in found.reached) == [
        pytest.approx(-4 * math.pi), pytest.approx(600 - 4 * SHARE * 9),
    ]  # fmt: skip
    # An island as near to the wall as 5 mm: between them the cutter does not get
    tight = reached(rectangle(0, 0, 40, 30), 3.0, rectangle(10, 5, 30, 20))
    (narrow,) = (p for p in tight.leftovers if p.reason == "narrow place")
    assert 20 * 5 - 9 < narrow.area < 20 * 5
    assert tight.left_area == pytest.approx(narrow.area + 4 * SHARE * 9)


def test_an_island_in_what_is_not_reached_is_a_hole_of_it_and_takes_its_area_off() -> None:
    """A chamber behind a neck of 4 mm, 20 mm long: an island of 2 by 2 mm stands in it."""
    lower = [(0, 0), (20, 0), (20, 8), (40, 8), (40, 5.5), (45, 5.5)]
    flask = outline_through([*lower, *((x, 20 - y) for x, y in reversed(lower))])
    plain, with_island = reached(flask, 3.0), reached(flask, 3.0, rectangle(42, 9, 44, 11))
    (before,) = (p for p in plain.leftovers if p.reason == "narrow place")
    (after,) = (p for p in with_island.leftovers if p.reason == "narrow place")
    assert after.area == pytest.approx(before.area - 4.0)
    assert [h.area for h in after.holes] == [pytest.approx(4.0)]
    assert before.holes == ()
    # The rim at the mouth bulges in by its segment of a chord of 4 mm
    half = math.asin(2.0 / 3.0)
    assert before.area == pytest.approx(20 * 4 + 5 * 9 - (9 * half - 2 * math.sqrt(5)))


def test_a_corner_cut_short_is_a_narrow_place_from_a_twentieth_more_on() -> None:
    """An angle of 90 degrees whose side of 2.5 mm ends before the cutter's rim does."""
    stepped = outline_through([(0, 0), (30, 0), (30, 20), (2.9, 20), (2.9, 22.9), (0, 22.9)])
    reasons = {p.reason for p in reached(stepped, 3.0).leftovers}
    assert reasons == {"inside corner", "narrow place"}


def test_feet_are_where_walls_are_touched_and_corners_with_a_margin_are_touched_at_it() -> None:
    kept = WallChain((Segment((20.0, -5.0), (20.0, 12.0)),), 1.5, closed=False)
    elbow = outline_through([(0, 0), (40, 0), (40, 12), (9, 12), (9, 30), (0, 30)])
    walls = walls_of([*chains_of_region(elbow, ()), kept])
    count = len(walls.bodies)
    every = np.arange(walls.sources, dtype=np.intp)
    line, _ = beside(walls, every, np.zeros(len(every)), np.ones(len(every)), 0.0)
    corners = list(zip(walls.corner_x.tolist(), walls.corner_y.tolist(), strict=True))
    plain, end = count + corners.index((9.0, 12.0)), count + corners.index((20.0, 12.0))
    x, y = _feet(walls, line, np.array([0, plain, end]), np.array([0.25, 0.5, 0.5]))
    assert (x[0], y[0]) == (10.0, 0.0)
    assert (x[1], y[1]) == (9.0, 12.0)
    assert (x[2], y[2]) == (pytest.approx(20.0), pytest.approx(13.5)), "straight above the end of the line"


# A second cutter


BOX = rectangle(0, 0, 30, 20)
SIX, THREE = MillingCutter("6 mm end mill", 6.0), MillingCutter("3 mm end mill", 3.0)


def corner_patch() -> Leftover:
    rim = Arc((3.0, 0.0), (0.0, 3.0), (3.0, 3.0), ccw=False)
    border = Outline((Segment((0.0, 3.0), (0.0, 0.0)), Segment((0.0, 0.0), (3.0, 0.0)), rim))
    return Leftover(border, (), SHARE * 9, (3.0, 3.0), "inside corner")


def test_from_which_stretches_of_a_loop_a_patch_is_touched() -> None:
    """Loops 1.5 and 2.7 mm inside; a cutter of 1.5 mm touches the first up to 3 mm from the corner."""
    ((down, across),) = _touching(rectangle(1.5, 1.5, 28.5, 18.5).curves, corner_patch(), 1.5)
    assert down.start == pytest.approx((1.5, 3.0 + 0.375), abs=1e-4)
    assert (down.end, across.start) == ((1.5, 1.5), (1.5, 1.5))
    assert across.end == pytest.approx((3.0 + 0.375, 1.5), abs=1e-4)
    # 2.7 mm inside it comes to 2.7 - 1.5 mm of the walls: nowhere near
    assert _touching(rectangle(2.7, 2.7, 27.3, 17.3).curves, corner_patch(), 1.5) == []
    assert _touching(rectangle(5, 5, 25, 15).curves, corner_patch(), 1.5) == []
    # A loop within a patch lies on it, whether or not its border is near
    large = Leftover(rectangle(0, 0, 30, 20), (), 600.0, (3.0, 3.0), "narrow place")
    (whole,) = _touching(rectangle(10, 8, 20, 12).curves, large, 1.5)
    assert math.fsum(c.length for c in whole) == pytest.approx(28.0)
    holed = Leftover(rectangle(0, 0, 60, 60), (rectangle(28, 28, 32, 32),), 3584.0, (3.0, 3.0), "narrow place")
    (near_hole,) = _touching(rectangle(26, 26, 34, 34).curves, holed, 3.0)
    assert math.fsum(c.length for c in near_hole) == pytest.approx(32.0)


@pytest.mark.parametrize("direction", [Direction.CLIMB, Direction.CONVENTIONAL])
def test_the_strokes_beside_the_wall_come_last_and_run_the_right_way(direction: Direction) -> None:
    named, _ = walls_of_cut(BOX, (), ())
    levels = ring_levels(named.walls, 1.5, 1.2, 0.0)
    layout = rest_layout(named, levels, [corner_patch()], 1.5, direction)
    kinds = [s.kind for s in layout.strokes() if s.kind is not StrokeKind.STEP]
    assert kinds == sorted(kinds, key=lambda kind: kind is StrokeKind.FINISH)
    assert kinds[-1] is StrokeKind.FINISH
    finish = [s.curve for s in layout.strokes() if s.kind is StrokeKind.FINISH]
    start, end = (1.5, 3.375), (3.375, 1.5)
    if direction is Direction.CONVENTIONAL:
        start, end = end, start
    assert (finish[0].start, finish[-1].end) == (pytest.approx(start, abs=1e-4), pytest.approx(end, abs=1e-4))
    both = rest_layout(named, levels, [corner_patch(), corner_patch()], 1.5, direction)
    assert len(both.runs) == 2 * len(layout.runs), "each patch has runs of its own"


def test_what_a_second_cutter_does_not_cut_is_told_from_a_crumb_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """0.0001 D^2 of 3 mm: 0.0009 mm2."""
    request = PocketRequest("patch", BOX, 2.0, SIX, step_depth=9.0, second_cutter=THREE)
    for area, told in ((0.00089, 0), (0.00091, 1)):
        left = [Patch(np.array([[1.0, 1.0]]), area)]
        monkeypatch.setattr(rest_cutting, "uncut_patches", lambda *_, only, left=left: left if only else [])
        proof = plan_pocket(request).rest_proof
        assert proof is not None
        assert [u.area for u in proof.uncut] == [area] * told
        assert proof.proved is (told == 0)


def test_the_levels_of_a_second_cutter_are_its_own() -> None:
    """0.4 D over and half a diameter down, by itself: 1.2 and 1.5 mm; 3.2 mm take three."""
    plan = plan_pocket(replace(PocketRequest("patch", BOX, 3.2, SIX, second_cutter=THREE), direction=Direction.CLIMB))
    assert plan.rest_path is not None
    assert plan.rest_proof is not None
    assert (plan.rest_path.name, plan.rest_path.cutter_diameter) == ("rest", 3.0)
    assert len(plan.rest_path.levels) == 3
    assert plan.rest_proof.levels == pytest.approx((-3.2 / 3, -6.4 / 3, -3.2))
    assert plan.rest_proof.peak is not None
    assert plan.rest_proof.peak.straight_deg == pytest.approx(math.degrees(math.acos(1 - 1.2 / 1.5)))
    assert plan.rest_proof.nearest_wall == 0.0
