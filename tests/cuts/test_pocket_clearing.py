"""Pockets cleared in loops and rows: nothing gouged, nothing left, by an account that knows no planner."""

from __future__ import annotations

import math

import numpy as np
import pytest
from clipper_measure import difference, least_distance, opening, rings, swept, thick
from cut_chains import chains_at_depth
from msgspec.structs import replace
from pocket_shapes import Shape, random_shape

from holecam.cuts.coverage import distance_to_path, uncut_patches
from holecam.cuts.cut_choices import Corners, Direction, Entry, EntryHole, KeepAway, Strategy
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.elements import Elements, concatenated, elements_of
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.path_values import CutPath, MoveKind, joined
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketPlan, PocketRequest
from holecam.cuts.proof import NamedWalls, gouges_of, prove, wall_pass_gaps
from holecam.cuts.proof_values import CutProof
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.shapes import (
    Arc,
    Circle,
    Curve,
    Outline,
    Placement,
    Point,
    Segment,
    circle_outline,
    outline_through,
    rectangle,
)
from holecam.shapes.distances import chain_approach

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
GOUGE = 0.001
LEFT = 0.0001

PATCH = PocketRequest("patch", rectangle(0, 0, 60, 40), 4.0, SIX, step_depth=2.0)


def request_of(shape: Shape, seed: int) -> PocketRequest:
    """Return a request that walks through strategies, directions and step-overs with the seed."""
    wide = shape.diameter * (0.55 + 0.38 * (seed % 7) / 6)
    return PocketRequest(
        f"pocket {seed}",
        shape.outline,
        1.0,
        MillingCutter("cutter", shape.diameter, centre_cutting=True),
        shape.islands,
        step_over=wide if seed % 4 == 0 else shape.step_over,
        step_depth=9.0,
        strategy=Strategy.TO_AND_FRO if seed % 3 == 2 else Strategy.ALONG_OUTLINE,
        row_angle_deg=(seed % 5) * 30.0,
        direction=Direction.CLIMB if seed % 2 else Direction.CONVENTIONAL,
    )


def account(path: CutPath, outline: Outline, islands: tuple[Outline, ...], diameter: float) -> tuple[float, float]:
    """Return (least distance of the cutter's edge from the walls, area left where the cutter reaches)."""
    chains = chains_at_depth(path)
    left = thick(difference(opening(rings(outline, islands), diameter / 2), swept(chains, diameter / 2)))
    return least_distance(chains, [outline, *islands]) - diameter / 2, left


def check(seed: int) -> None:
    shape = random_shape(seed)
    plan = plan_pocket(request_of(shape, seed))
    gap, left = account(plan.path, shape.outline, shape.islands, shape.diameter)
    assert gap > -GOUGE, f"seed {seed}: gouge of {-gap:.6f} mm"
    assert left < LEFT * shape.diameter**2, f"seed {seed}: {left:.6f} mm2 left"
    assert plan.proof.proved, f"seed {seed}: {plan.proof.gouges} {plan.proof.uncut}"
    assert joined(tuple(plan.path.moves())), f"seed {seed}: the path is broken"


@pytest.mark.parametrize("shift", [(-500.0, 0.0), (0.0, -500.0), (-300.0, 400.0)])
def test_rows_lie_alike_wherever_the_pocket_lies(shift: Point) -> None:
    """Far to the left of the zero the rows once could have begun at the pocket's least height instead."""
    here = plan_pocket(replace(PATCH, strategy=Strategy.TO_AND_FRO))
    away = Placement(0.0, shift)
    there = plan_pocket(replace(PATCH, strategy=Strategy.TO_AND_FRO, outline=away.apply_outline(PATCH.outline)))
    assert there.proof.proved
    assert len(list(there.path.moves())) == len(list(here.path.moves()))
    for a, b in zip(here.path.moves(), there.path.moves(), strict=True):
        assert b.at == pytest.approx(away.apply(a.at), abs=1e-6)


@pytest.mark.outside_check(
    subject="pocket: gouge and leftover",
    source="pyclipper (clipping library) and shapely",
    closeness="0.001 mm; 0.0001 D^2",
    standing="library",
)
@pytest.mark.parametrize("seed", range(20))
def test_random_pockets_have_no_gouge_and_nothing_left(seed: int) -> None:
    check(seed)


@pytest.mark.outside_check(
    subject="pocket: gouge and leftover",
    source="pyclipper and shapely, 2,000 random outlines (slow)",
    closeness="0.001 mm; 0.0001 D^2",
    standing="library",
)
@pytest.mark.slow
@pytest.mark.parametrize("hundred", range(20))
def test_two_thousand_random_pockets_have_no_gouge_and_nothing_left(hundred: int) -> None:
    for seed in range(1000 + 100 * hundred, 1100 + 100 * hundred):
        check(seed)


@pytest.mark.parametrize("share", [0.25, 0.4, 0.5])
def test_loops_up_to_half_the_cutter_need_no_completion(share: float) -> None:
    # Theorem: level sets a step s <= R apart leave nothing of what the cutter reaches (practice notes, C4)
    plan = plan_pocket(replace(PATCH, step_over=share * 6.0))
    assert plan.proof.proved
    assert plan.notes == ()


def test_wide_steps_are_completed_in_the_corners_of_the_loops() -> None:
    # A corner of 90 degrees is covered up to s = R (1 + sin 45) = 1.707 R (practice notes, C4)
    below = plan_pocket(replace(PATCH, outline=rectangle(0, 0, 60, 60.5), step_over=1.69 * 3.0))
    above = plan_pocket(replace(PATCH, outline=rectangle(0, 0, 60, 60.5), step_over=1.73 * 3.0))
    assert below.proof.proved
    assert above.proof.proved
    detours = [int(p.notes[0].split()[0]) if p.notes else 0 for p in (below, above)]
    assert detours[1] - detours[0] >= 4


def test_the_cover_is_refused_when_a_loop_is_dropped() -> None:
    plan = plan_pocket(PATCH)
    curves = [c for chain in chains_at_depth(plan.path) for c in chain]
    walls = walls_of(chains_of_region(PATCH.outline, ()))
    room = rectangle(3, 3, 57, 37)
    whole = elements_of(curves)
    assert uncut_patches(walls, [room], whole, 3.0) == []
    wider = [c for c in curves if not 5.0 < walls_distance(c.point_at(0.5)) < 9.0]
    assert sum(p.area for p in uncut_patches(walls, [room], elements_of(wider), 3.0)) > 10.0


def walls_distance(p: tuple[float, float]) -> float:
    """Return the distance of a place from the walls of the plain pocket, mm."""
    return min(p[0], 60 - p[0], p[1], 40 - p[1])


def test_the_proof_finds_a_gouge_and_its_depth_and_place() -> None:
    walls = NamedWalls(
        walls_of(chains_of_region(rectangle(0, 0, 60, 40), [circle_outline(Circle((30, 20), 5))])), ("wall", "boss")
    )
    path = elements_of([Segment((10, 2.99), (50, 2.99)), Segment((22, 10), (22.4, 20))])
    nearest, gouges = gouges_of(path, walls, 3.0)
    assert nearest == pytest.approx(-0.4)
    assert [(g.into, round(g.depth, 6)) for g in gouges] == [("wall", 0.01), ("boss", 0.4)]
    assert gouges[1].at == pytest.approx((22.4, 20))
    clean = gouges_of(elements_of([Segment((10, 3), (50, 3))]), walls, 3.0)
    assert clean == (0.0, ())


def test_the_proof_misses_no_part_of_the_pass_along_the_walls() -> None:
    room = rectangle(3, 3, 57, 37)
    assert wall_pass_gaps(elements_of(room.curves), [room]) == 0.0
    short = [*room.curves[:-1], Segment(room.curves[-1].start, room.curves[-1].point_at(0.9))]
    assert wall_pass_gaps(elements_of(short), [room]) == pytest.approx(3.4, abs=1e-3)


@pytest.mark.parametrize(
    ("outline", "islands"),
    [
        (rectangle(0, 0, 60, 40), ()),
        (rectangle(0, 0, 60, 40, corner_radius=8), ()),
        (circle_outline(Circle((0, 0), 25)), ()),
        (outline_through([(0, 0), (60, 0), (60, 25), (28, 25), (28, 55), (0, 55)]), ()),
        (rectangle(0, 0, 60, 50), (circle_outline(Circle((30, 25), 7)),)),
    ],
)
@pytest.mark.parametrize("strategy", list(Strategy))
@pytest.mark.parametrize("share", [0.25, 0.4])
def test_path_is_at_most_a_tenth_longer_than_area_over_step_over(
    outline: Outline, islands: tuple[Outline, ...], strategy: Strategy, share: float
) -> None:
    request = replace(PATCH, outline=outline, islands=islands, step_over=share * 6.0, strategy=strategy, step_depth=9.0)
    plan = plan_pocket(request)
    finishing = sum(m.length for m in plan.path.moves() if m.kind is MoveKind.FINISH)
    at_depth = sum(c.length for chain in chains_at_depth(plan.path) for c in chain)
    assert at_depth - finishing <= 1.10 * plan.proof.reachable_area / request.step_over
    # No path is shorter than this: every place must come within a radius of it (practice notes, C4)
    assert at_depth >= (plan.proof.reachable_area - math.pi * 9) / 6.0


def test_climb_keeps_the_material_on_the_right_and_conventional_on_the_left() -> None:
    # Practice notes, A9: inside a pocket an anticlockwise loop is climb milling, round a boss a clockwise one
    boss = circle_outline(Circle((30, 20), 6))
    for direction, sign in ((Direction.CLIMB, 1), (Direction.CONVENTIONAL, -1)):
        plan = plan_pocket(replace(PATCH, islands=(boss,), direction=direction, step_depth=9.0))
        finish = [m.curve for m in plan.path.moves() if m.kind is MoveKind.FINISH]
        boss_arcs = [c for c in finish if isinstance(c, Arc) and abs(c.radius - 9) < 1e-6]
        assert boss_arcs
        assert all(c.ccw is (sign < 0) for c in boss_arcs)
        low = [c for c in finish if abs(c.start[1] - 3) < 1e-6 and abs(c.end[1] - 3) < 1e-6]
        assert sum(c.end[0] - c.start[0] for c in low) * sign > 50


def test_deeper_levels_follow_the_same_lines_and_end_at_the_depth() -> None:
    plan = plan_pocket(replace(PATCH, depth=5.0, step_depth=2.0))
    assert [level.z for level in plan.path.levels] == pytest.approx([-5 / 3, -10 / 3, -5])
    assert [level.z_above for level in plan.path.levels] == pytest.approx([0, -5 / 3, -10 / 3])
    shapes = [chains_at_depth(plan.path, level=k) for k in range(3)]
    assert shapes[0] == shapes[1] == shapes[2]
    assert plan.path.deepest_z == pytest.approx(-5)


@pytest.mark.parametrize("entry", [None, Entry.HELIX, Entry.RAMP, Entry.PLUNGE, Entry.DRILLED_HOLE])
def test_every_entry_gets_down_no_steeper_than_it_may(entry: Entry | None) -> None:
    hole = EntryHole((30, 20), 6.5) if entry is Entry.DRILLED_HOLE else None
    plan = plan_pocket(replace(PATCH, entry=entry, entry_hole=hole, ramp_deg=3.0))
    moves = tuple(plan.path.moves())
    assert joined(moves)
    falls = [m for m in moves if m.z_end < m.z_start - 1e-12]
    for move in falls:
        if move.kind is MoveKind.ENTRY and move.curve is not None:
            assert (move.z_start - move.z_end) / move.curve.length <= math.tan(math.radians(3.0)) + 1e-9
        elif move.kind is MoveKind.ENTRY:
            assert entry is Entry.PLUNGE
        else:
            assert move.kind is MoveKind.DESCEND
    assert any(m.kind is MoveKind.ENTRY for m in moves) is (entry is not Entry.DRILLED_HOLE)


@pytest.mark.parametrize("strategy", list(Strategy))
@pytest.mark.parametrize("corners", [Corners.SLOW, Corners.NIBBLE])
def test_holes_are_planned_where_the_cutter_is_to_get_down_through_them(strategy: Strategy, corners: Corners) -> None:
    half = [(0, 0), (30, 0), (30, 12), (45, 12), (45, 0), (75, 0)]
    dumb_bell = outline_through([*half, (75, 30), (45, 30), (45, 17), (30, 17), (30, 30), (0, 30)])
    request = replace(
        PATCH, outline=dumb_bell, entry=Entry.DRILLED_HOLE, strategy=strategy, corners=corners, step_depth=9.0
    )
    plan = plan_pocket(replace(request, cutter=MillingCutter("no plunge", 6.0)))
    assert plan.proof.proved
    assert len(plan.entry_holes) >= 2  # one in each chamber at least: the neck is too narrow
    assert not any(m.kind is MoveKind.ENTRY for m in plan.path.moves())
    downs = {m.at for m in plan.path.moves() if m.kind is MoveKind.DESCEND}
    for hole in plan.entry_holes:
        assert hole.diameter >= 6.0
        assert hole.at in downs
        assert dumb_bell.inside_by(hole.at) >= 3.0 - 1e-6


def test_sideways_travel_is_above_the_work_and_rapids_never_pass_through_it() -> None:
    shape = random_shape(12)
    plan = plan_pocket(replace(request_of(shape, 12), clearance_z=8.0, depth=3.0, step_depth=1.0))
    for move in plan.path.moves():
        if move.kind is MoveKind.TRAVEL:
            assert move.z_start == move.z_end == 8.0
        if move.kind is MoveKind.RETRACT:
            assert move.curve is None
            assert move.z_end == 8.0


def test_links_meet_no_material() -> None:
    plan = plan_pocket(replace(PATCH, islands=(circle_outline(Circle((20, 20), 4)),), step_depth=9.0))
    links = [m for m in plan.path.moves() if m.kind is MoveKind.LINK]
    assert links
    assert all(m.engagement_deg is not None and m.engagement_deg <= 0.5 for m in links)
    # A second look: all round the cutter the rim has been swept by the moves before it
    theta = np.linspace(0, math.tau, 73)
    before: list[Curve] = []
    for move in plan.path.moves():
        if move.curve is None or move.kind is MoveKind.TRAVEL:
            continue
        if move.kind is MoveKind.LINK:
            swept_before = elements_of(before)
            for share in (0.1, 0.5, 0.9):
                x, y = move.curve.point_at(share)
                away = distance_to_path(swept_before, x + 3 * np.cos(theta), y + 3 * np.sin(theta), 20.0)
                assert away.max() < 3.0 + 0.006
        before.append(move.curve)


def test_slow_corners_drop_the_feed_where_the_bite_grows_and_only_there() -> None:
    plan = plan_pocket(replace(PATCH, step_depth=9.0, corners=Corners.SLOW))
    moves = [m for m in plan.path.moves() if m.kind in (MoveKind.CUT, MoveKind.FINISH)]
    straight = plan.proof.peak.straight_deg if plan.proof.peak else 0.0
    for move in moves:
        assert move.engagement_deg is not None
        if move.engagement_deg > 1.25 * straight + 1e-9:
            assert move.feed_factor < 1.0
        else:
            assert move.feed_factor == 1.0
    as_they_come = plan_pocket(replace(PATCH, step_depth=9.0, corners=Corners.AS_THEY_COME))
    cutting = [m for m in as_they_come.path.moves() if m.kind in (MoveKind.CUT, MoveKind.FINISH)]
    assert {m.feed_factor for m in cutting} == {1.0}


def test_finishing_allowance_is_left_for_the_last_pass() -> None:
    plan = plan_pocket(replace(PATCH, finish=0.4, step_depth=9.0, step_over=2.4))
    long = [c for chain in chains_at_depth(plan.path) for c in chain if c.length > 10]
    depths = sorted({round(walls_distance(c.point_at(0.5)), 6) for c in long})
    assert depths[:3] == pytest.approx([3.0, 3.4, 5.8], abs=1e-5)
    assert plan.proof.proved


@pytest.mark.parametrize("strategy", list(Strategy))
def test_margins_before_kept_curves_belong_to_the_edge_of_the_cutter(strategy: Strategy) -> None:
    nose = KeepAway("nose curve", (Arc((48, -5), (48, 45), (20, 20), ccw=True),), 1.5)
    clamp = KeepAway("clamp", rectangle(-5, 12, 9, 25).curves, 1.0)
    plan = plan_pocket(replace(PATCH, keep_away=(nose, clamp), strategy=strategy, step_depth=9.0))
    assert plan.proof.proved
    chains = chains_at_depth(plan.path)
    for keep in (nose, clamp):
        near = min(chain_approach(chain, keep.curves).distance for chain in chains)
        assert near - 3.0 == pytest.approx(keep.margin, abs=1e-4)
    named = {name: away for name, away, _ in plan.walls.to_kept}
    assert named["nose curve"] == pytest.approx(1.5, abs=1e-6)


def test_plans_are_the_same_every_time() -> None:
    shape = random_shape(5)
    a, b = (plan_pocket(request_of(shape, 5)) for _ in range(2))
    assert a.path == b.path


def test_progress_is_told() -> None:
    told: list[tuple[str, float]] = []
    plan: PocketPlan = plan_pocket(PATCH, progress=lambda what, share: told.append((what, share)))
    assert plan.proof.proved
    assert told
    assert all(0.0 <= share <= 1.0 for _, share in told)


def test_a_pocket_of_which_only_the_walls_are_cut_is_not_proved() -> None:
    """60 x 40 with 6 mm, once round: the island of 48 x 28 mm in the middle stays, and the proof says how much."""
    named, _ = walls_of_cut(rectangle(0, 0, 60, 40), (), ())
    room = rectangle(3, 3, 57, 37)

    def proof(path: Elements) -> CutProof:
        return prove(path, named, [room], 3.0, levels=(-1.0,), wanted_area=2400.0, leftovers=(), peak=None)

    round_only = elements_of(room.curves)
    found = proof(round_only)
    assert not found.proved
    assert found.gouges == ()
    assert sum(u.area for u in found.uncut) == pytest.approx(48 * 28, rel=0.02)
    rows = [Segment((3.0, y), (57.0, y)) for y in (8.0, 13.0, 18.0, 23.0, 28.0, 32.0)]
    assert proof(concatenated([round_only, elements_of(rows)])).proved
    # All the rows and half of the wall pass: the walls are not finished
    half = proof(concatenated([elements_of(room.curves[:2]), elements_of(rows)]))
    assert not half.proved
    assert half.uncut
