"""Pockets opened in small bites: the engagement stays within the ratio, and nothing is left."""

from __future__ import annotations

import math

import numpy as np
import pytest
from clipper_measure import difference, least_distance, opening, rings, swept_piece_by_piece, thick
from cut_chains import chains_at_depth
from msgspec.structs import replace
from pocket_shapes import random_shape

from holecam.cuts.chaining import Loop
from holecam.cuts.cut_choices import Corners, Direction, Entry
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.elements import elements_of
from holecam.cuts.engagement import engagement_along, straight_engagement_deg
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.medial_axis import _tips, middle_lines
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.path_values import MoveKind, joined
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketPlan, PocketRequest
from holecam.shapes import Arc, Circle, Outline, Placement, circle_outline, outline_through, rectangle
from holecam.shapes.curve_arrays import ClosedArea, CurveArray

COARSE = 0.003
"""mm. Accuracy of the sweeps: thousands of arcs lie across each other here."""

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
PATCH = PocketRequest("patch", rectangle(0, 0, 60, 40), 2.0, SIX, step_depth=9.0, corners=Corners.NIBBLE)
COMPACT = [
    (rectangle(0, 0, 60, 40), ()),
    (rectangle(0, 0, 60, 40, corner_radius=8), ()),
    (circle_outline(Circle((0, 0), 25)), ()),
    (outline_through([(0, 0), (60, 0), (60, 25), (28, 25), (28, 55), (0, 55)]), ()),
    (outline_through([(0, 0), (70, 0), (20, 45)]), ()),
    (rectangle(0, 0, 60, 50), (circle_outline(Circle((30, 25), 7)),)),
]


@pytest.mark.parametrize(("outline", "islands"), COMPACT)
@pytest.mark.parametrize(("share", "finish"), [(0.2, 0.0), (0.4, 0.3)])
def test_engagement_stays_within_the_ratio(
    outline: Outline, islands: tuple[Outline, ...], share: float, finish: float
) -> None:
    plan = plan_pocket(replace(PATCH, outline=outline, islands=islands, step_over=share * 6.0, finish=finish))
    assert plan.proof.proved
    assert plan.proof.peak is not None
    assert plan.proof.peak.ratio <= 1.25
    assert all(m.feed_factor == 1.0 for m in plan.path.moves() if m.kind in (MoveKind.CUT, MoveKind.FINISH))
    assert joined(tuple(plan.path.moves()))
    assert left_over(plan, outline, islands) < 0.0001 * 36
    assert least_distance(chains_at_depth(plan.path), [outline, *islands]) > 3.0 - 0.001


def left_over(plan: PocketPlan, outline: Outline, islands: tuple[Outline, ...]) -> float:
    """Return the area, mm2, that the cutting moves leave of what the cutter reaches; links do not count as cutting.

    The flat circle at the bottom of a helix clears the middle of the spiral.
    """
    radius = plan.request.cutter.radius
    cutting = (MoveKind.CUT, MoveKind.FINISH)
    curves = [
        m.curve
        for m in plan.path.levels[-1].moves
        if m.curve is not None and (m.kind in cutting or (m.kind is MoveKind.ENTRY and m.z_start == m.z_end))
    ]
    cut = swept_piece_by_piece(curves, radius, COARSE)
    return thick(difference(opening(rings(outline, islands), radius), cut), 2.5 * COARSE)


def test_the_engagement_told_is_that_of_a_closer_look() -> None:
    plan = plan_pocket(replace(PATCH, step_over=2.4))
    moves = [m for m in plan.path.moves() if m.kind in (MoveKind.CUT, MoveKind.FINISH, MoveKind.LINK)]
    curves = [m.curve for m in moves if m.curve is not None]
    path = elements_of(curves)
    entry = next(m.curve for m in plan.path.moves() if m.kind is MoveKind.ENTRY)
    assert isinstance(entry, Arc)
    row = np.repeat(np.arange(len(curves)), 25)
    share = np.tile((np.arange(25) + 1) / 25, len(curves))
    bore = Circle(entry.center, entry.radius + 3.0)
    closer = engagement_along(path, 3.0, row, share, fresh=[True] + [False] * (len(curves) - 1), open_before=[bore])
    assert closer.engagement_deg.max() <= 1.25 * straight_engagement_deg(2.4, 3.0)


@pytest.mark.parametrize("seed", [0, 1, 2, 39703, 39724])
def test_random_pockets_are_covered_and_keep_the_walls(seed: int) -> None:
    shape = random_shape(300 + seed)
    cutter = MillingCutter("cutter", shape.diameter, centre_cutting=True)
    direction = Direction.CLIMB if seed % 2 else Direction.CONVENTIONAL
    request = replace(
        PATCH,
        outline=shape.outline,
        islands=shape.islands,
        cutter=cutter,
        step_over=shape.step_over,
        direction=direction,
    )
    plan = plan_pocket(request)
    assert plan.proof.proved
    assert joined(tuple(plan.path.moves()))
    radius = shape.diameter / 2
    assert left_over(plan, shape.outline, shape.islands) < 0.0001 * shape.diameter**2
    assert least_distance(chains_at_depth(plan.path), [shape.outline, *shape.islands]) > radius - 0.001
    assert_bites_grow_in_tight_places_only(plan)


def assert_bites_grow_in_tight_places_only(plan: PocketPlan) -> None:
    """Wherever a tooth bites more than allowed, the pocket is hardly wider than the cutter."""
    assert plan.proof.peak is not None
    allowed = 1.25 * plan.proof.peak.straight_deg
    radius = plan.request.cutter.radius
    walls = CurveArray(tuple(c for o in (plan.request.outline, *plan.request.islands) for c in o.curves))
    ring = np.linspace(0, math.tau, 25)
    for move in plan.path.levels[-1].moves:
        if move.curve is None or move.engagement_deg is None or move.engagement_deg <= allowed:
            continue
        assert move.feed_factor < 1.0
        x, y = move.curve.point_at(0.5)
        around = np.array([(x + r * math.cos(a), y + r * math.sin(a)) for a in ring for r in (0.0, radius / 2)])
        inside = ClosedArea(plan.request.outline).inside(around)
        widest = 2 * walls.distance(around[inside]).max()
        assert widest < 1.3 * 2 * radius, f"{move.engagement_deg:.0f} degrees where it is {widest:.2f} mm wide"


def test_chambers_joined_by_a_hair_more_than_the_cutter_are_all_opened_in_bites() -> None:
    # Seed 40032: the sampled middle lines fall apart in its necks, and only one chamber used to be bitten
    shape = random_shape(40032)
    cutter = MillingCutter("cutter", shape.diameter, centre_cutting=True)
    plan = plan_pocket(
        replace(PATCH, outline=shape.outline, islands=shape.islands, cutter=cutter, step_over=shape.step_over)
    )
    assert plan.proof.proved
    assert_bites_grow_in_tight_places_only(plan)


@pytest.mark.slow
def test_bites_on_many_random_pockets() -> None:
    for seed in range(40000, 40040):
        shape = random_shape(seed)
        cutter = MillingCutter("cutter", shape.diameter, centre_cutting=True)
        request = replace(
            PATCH,
            outline=shape.outline,
            islands=shape.islands,
            cutter=cutter,
            step_over=shape.step_over,
            direction=list(Direction)[seed % 2],
        )
        plan = plan_pocket(request)
        assert plan.proof.proved, f"seed {seed}"
        assert joined(tuple(plan.path.moves())), f"seed {seed}"
        assert_bites_grow_in_tight_places_only(plan)


@pytest.mark.parametrize("entry", [Entry.HELIX, Entry.RAMP, Entry.PLUNGE])
def test_every_entry_opens_the_middle(entry: Entry) -> None:
    plan = plan_pocket(replace(PATCH, entry=entry, step_over=2.4))
    assert plan.proof.proved
    assert joined(tuple(plan.path.moves()))


def test_both_directions_cut_the_arcs_the_right_way_round() -> None:
    # In a bore the material lies outside: anticlockwise keeps it on the right, which is climb milling
    for direction, ccw in ((Direction.CLIMB, True), (Direction.CONVENTIONAL, False)):
        plan = plan_pocket(replace(PATCH, direction=direction, step_over=2.4))
        arcs = [m.curve for m in plan.path.moves() if m.kind is MoveKind.CUT and isinstance(m.curve, Arc)]
        assert {a.ccw for a in arcs} == {ccw}


def test_a_slot_hardly_wider_than_the_cutter_is_told_and_slowed() -> None:
    plan = plan_pocket(replace(PATCH, outline=rectangle(0, 0, 50, 6.4), step_over=2.4))
    assert plan.proof.proved
    assert any("hardly wider than the cutter" in note for note in plan.notes)
    assert plan.proof.peak is not None
    assert plan.proof.peak.ratio > 1.25
    assert min(m.feed_factor for m in plan.path.moves() if m.kind is MoveKind.FINISH) < 1.0


def test_middle_lines_of_a_rectangle_run_where_they_are_known_to() -> None:
    named, _ = walls_of_cut(rectangle(0, 0, 60, 40), (), ())
    level = OffsetStack(named.walls).at(3.0)
    lines = middle_lines(named.walls, level.loops, 3.0, 0.25)
    assert lines.nodes_room.max() == pytest.approx(17.0, abs=0.1)
    for branch in lines.branches:
        for (x, y), room in zip(branch.xy, branch.room, strict=True):
            assert room == pytest.approx(min(x, 60 - x, y, 40 - y) - 3.0, abs=1e-9)
    # Four lines lead into the corners of the room, each within a few microns
    tips = [b.xy[k] for b in lines.branches for k in (0, -1)]
    for corner in ((3, 3), (57, 3), (57, 37), (3, 37)):
        assert min(math.dist(corner, (float(t[0]), float(t[1]))) for t in tips) < 0.01


@pytest.mark.parametrize("lean_deg", [0.0, 30.0, 45.0, 60.0, 117.0, -80.0])
def test_middle_lines_run_into_corners_and_into_nothing_that_is_round(lean_deg: float) -> None:
    """Corners that point away from the room, wherever the piece is turned to; a smooth joint is none, nor an elbow."""
    place = Placement(lean_deg)

    def tips(outline: Outline) -> list[list[float]]:
        turned = place.apply_outline(outline)
        loop = Loop(turned.curves, tuple(range(len(turned.curves))), turned.signed_area, 1.0)
        return sorted(_tips([loop]).round(6).tolist())

    def placed(corners: list[tuple[float, float]]) -> list[list[float]]:
        return sorted(np.array([place.apply(p) for p in corners]).round(6).tolist())

    square = [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)]
    assert tips(rectangle(0, 0, 60, 40)) == placed(square)
    assert tips(rectangle(0, 0, 60, 40, corner_radius=8)) == []
    elbow = [(0.0, 0.0), (60.0, 0.0), (60.0, 25.0), (28.0, 25.0), (28.0, 55.0), (0.0, 55.0)]
    outward = [p for p in elbow if p != (28.0, 25.0)]
    assert tips(outline_through(elbow)) == placed(outward)
    # The bend of 5 degrees needs no small bites
    hardly = [(0.0, 0.0), (30.0, -30.0 * math.tan(math.radians(2.5))), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)]
    assert len(tips(outline_through(hardly))) == 4
