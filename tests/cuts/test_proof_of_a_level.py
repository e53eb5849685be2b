"""The proof of a level: gouges with depth, place and name, gaps of the pass along the walls, and what is uncut."""

from __future__ import annotations

import numpy as np
import pytest

from holecam.cuts.coverage import Patch
from holecam.cuts.elements import elements_of
from holecam.cuts.proof import (
    NamedWalls,
    _box_leftover,
    gouges_of,
    patch_as_leftover,
    prove,
    wall_pass_gaps,
)
from holecam.cuts.proof_values import CutProof, EngagementPeak, Gouge, Leftover
from holecam.cuts.walls import WallChain, chains_of_region, walls_of
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, outline_through, rectangle

BOX, POST = rectangle(0, 0, 40, 30), circle_outline(Circle((20.0, 15.0), 4.0))
KEPT = Segment((50.0, 0.0), (50.0, 30.0))
WALLS = walls_of([*chains_of_region(BOX, (POST,)), WallChain((KEPT,), 2.0, closed=False)])
NAMED = NamedWalls(WALLS, ("wall", "post", "scribed line"))


def gouged(*curves: Curve, radius: float = 3.0) -> tuple[float, tuple[Gouge, ...]]:
    return gouges_of(elements_of(list(curves)), NAMED, radius)


def test_a_path_in_a_wall_is_told_with_depth_place_and_name() -> None:
    """Centre 2.4 mm from the left wall: 0.6 mm deep; 6.5 mm from the post's middle: 0.5; 4.7 from the line: 0.3."""
    along_wall = Segment((2.4, 10.0), (2.4, 20.0))
    under_post = Segment((10.0, 8.5), (30.0, 8.5))
    at_line = Segment((45.3, 10.0), (45.3, 12.0))
    nearest, found = gouged(along_wall)
    assert nearest == pytest.approx(-0.6)
    (hit,) = found
    assert (hit.depth, hit.into) == (pytest.approx(0.6), "wall")
    assert hit.at[0] == 2.4
    nearest, found = gouged(along_wall, under_post, Segment((10.0, 5.0), (12.0, 5.0)), at_line)
    assert nearest == pytest.approx(-0.6), "the deepest of all"
    assert [(g.depth, g.into) for g in found] == [
        (pytest.approx(0.6), "wall"), (pytest.approx(0.5), "post"), (pytest.approx(0.3), "scribed line"),
    ]  # fmt: skip
    assert found[1].at == pytest.approx((20.0, 8.5))
    # Into two things at once the deeper counts
    both = Segment((2.4, 15.0), (13.5, 15.0))
    assert [(g.depth, g.into) for g in gouged(both)[1]] == [(pytest.approx(0.6), "wall")]
    assert [(g.depth, g.into) for g in gouged(Segment((2.6, 15.0), (13.5, 15.0)))[1]] == [(pytest.approx(0.5), "post")]


def test_a_micron_in_the_wall_is_told_less_is_measured_and_a_nanometre_is_touching() -> None:
    for depth, told, hits in ((1.1e-3, -1.1e-3, 1), (0.9e-3, -0.9e-3, 0), (0.9 * 1e-6, 0.0, 0)):
        nearest, found = gouged(Segment((3.0 - depth, 10.0), (3.0 - depth, 20.0)))
        assert nearest == pytest.approx(told, abs=1e-9)
        assert len(found) == hits
    # The end of the kept line, round which 2 mm are kept: 4.9 of the 5 mm
    end = (50.0 + 3.0, 30.0 + 4.0)
    assert gouged(Segment((60.0, 40.0), end)) == (pytest.approx(0.0, abs=1e-9), ())
    nearest, found = gouged(Segment((50.0 + 2.94, 30.0 + 3.92), (60.0, 40.0)))
    assert nearest == pytest.approx(-0.1)
    assert [g.into for g in found] == ["scribed line"]


@pytest.mark.parametrize(
    ("curve", "clear"),
    [
        (Segment((8.0, 4.0), (12.0, 4.0)), 1.0),
        (Segment((5.0, 10.0), (5.0, 14.0)), 2.0),
        (Segment((12.0, 15.0), (9.0, 15.0)), 2.5),  # its middle is 9.5 - 4 mm from the post
        (Segment((10.0, 7.0), (10.0, 23.0)), 3.0),
        (Segment((44.0, 10.0), (44.2, 10.0)), 0.8),  # its end is 50 - 44.2 - 2 mm from what is kept
        (Segment((3.0, 10.0), (3.0, 20.0)), 0.0),
        (Segment((3.0 + 0.9 * 1e-6, 10.0), (3.0 + 0.9 * 1e-6, 20.0)), 0.0),
        (Segment((3.0 + 1.5 * 1e-6, 10.0), (3.0 + 1.5 * 1e-6, 20.0)), 1.5 * 1e-6),
    ],
)
def test_a_path_that_keeps_off_tells_how_far_to_at_most_a_radius(curve: Curve, clear: float) -> None:
    """At the middle and the end of each move."""
    nearest, found = gouged(curve)
    assert nearest == pytest.approx(clear, abs=1e-9)
    assert found == ()


def test_the_length_of_the_pass_that_is_left_out() -> None:
    """54 + 34 + 54 + 34 mm round a room; a path that leaves out 5 mm of a side, or runs a second room not at all."""
    room, other = rectangle(3, 3, 57, 37), rectangle(63, 3, 73, 13)
    whole = elements_of(room.curves)
    assert wall_pass_gaps(whole, [room]) == 0.0
    assert wall_pass_gaps(whole, []) == 0.0
    assert wall_pass_gaps(whole, [room, other]) == pytest.approx(40.0)
    part = elements_of([*room.curves[:3], Segment((3.0, 37.0), (3.0, 20.0)), Segment((3.0, 15.0), (3.0, 3.0))])
    assert wall_pass_gaps(part, [room]) == pytest.approx(5.0, abs=1e-4)
    for gap, told in ((1.5e-5, False), (3e-5, True)):
        crack = [*room.curves[:3], Segment((3.0, 37.0), (3.0, 20.0)), Segment((3.0, 20.0 - gap), (3.0, 3.0))]
        assert (wall_pass_gaps(elements_of(crack), [room]) > 0.0) is told
    for off, told in ((1.9e-6, 0.0), (2.1e-6, 34.0)):
        beside = [*room.curves[:3], Segment((3.0 + off, 37.0), (3.0 + off, 3.0))]
        assert wall_pass_gaps(elements_of(beside), [room]) == pytest.approx(told, abs=1e-3)


NARROW = rectangle(0, 0, 30, 16)
NARROW_WALLS = NamedWalls(walls_of(chains_of_region(NARROW, ())), ("wall",))
ROOM = rectangle(3, 3, 27, 13)
CORNER = Leftover(rectangle(0, 0, 1, 1), (), 1.9, (3.0, 3.0), "inside corner")
PEAK = EngagementPeak(90.0, (1.0, 2.0), 60.0)


def proof_of(*curves: Curve, rooms: tuple[Outline, ...] = (ROOM,), **more: object) -> CutProof:
    wanted: dict[str, object] = {"levels": (-1.0,), "wanted_area": 480.0, "leftovers": (CORNER, CORNER), "peak": PEAK}
    return prove(elements_of(list(curves)), NARROW_WALLS, list(rooms), 3.0, **(wanted | more))  # type: ignore[arg-type]


ROW = Segment((3.0, 8.0), (27.0, 8.0))


def test_a_level_cut_whole_is_proved() -> None:
    proof = proof_of(*ROOM.curves, ROW)
    assert proof == CutProof((-1.0,), 0.0, (), (CORNER, CORNER), (), 480.0, pytest.approx(480.0 - 3.8), PEAK)
    assert proof.proved
    assert PEAK.ratio == 1.5
    flat = outline_through([(3, 3), (27, 3), (27, 3 + 1e-6)])
    assert proof_of(*ROOM.curves, *flat.curves, ROW, rooms=(ROOM, flat)).proved, "a room without width is no region"


def test_what_stays_uncut_is_told_and_a_crumb_is_not() -> None:
    """Once round leaves 18 by 4 mm in the middle."""
    proof = proof_of(*ROOM.curves)
    assert not proof.proved
    (uncut,) = proof.uncut
    assert uncut.area == pytest.approx(18 * 4, rel=0.1)
    assert (uncut.reason, uncut.holes) == ("not cut", ())
    assert uncut.at == pytest.approx((15.0, 8.0), abs=0.2)
    # Patches that were found before are believed; smaller than 0.0001 D^2, 0.0036 mm2, they are noise
    for areas, counted in (((0.0035,), 0), ((0.0037,), 1), ((0.002, 0.0019), 0), ((0.0037, 0.002), 1)):
        patches = [Patch(np.array([[15.0, 8.0]]), area) for area in areas]
        found = proof_of(*ROOM.curves, ROW, patches=patches)
        assert [u.area for u in found.uncut] == [a for a in areas if a > 0.0036]
        assert len(found.uncut) == counted
    assert proof_of(*ROOM.curves, patches=[]).proved


def test_a_gap_in_the_pass_along_the_walls_is_uncut_however_little_it_leaves() -> None:
    gap = [*ROOM.curves[:3], Segment((3.0, 13.0), (3.0, 9.0)), Segment((3.0, 7.0), (3.0, 3.0)), ROW]
    proof = proof_of(*gap, patches=[])
    (uncut,) = proof.uncut
    assert (uncut.area, uncut.at, uncut.reason) == (pytest.approx(2.0 * 0.001, rel=1e-3), (3, 3), "not cut")
    assert uncut.border.bounds == pytest.approx((2.0, 2.0, 4.0, 4.0), abs=1e-3)
    long = [*ROOM.curves[:3], ROW]
    assert [u.area for u in proof_of(*long, patches=[]).uncut] == [pytest.approx(0.01, rel=1e-3)]


def test_circles_of_helices_are_held_against_the_walls_and_not_counted_on() -> None:
    helix = elements_of([Arc((4.0, 8.0), (4.0, 8.0), (2.0, 8.0), ccw=True)])
    proof = proof_of(*ROOM.curves, ROW, also=helix)
    assert proof.nearest_wall == pytest.approx(-3.0)
    assert [g.into for g in proof.gouges] == ["wall"]
    assert not proof.proved
    rough = proof_of(*ROOM.curves, also=elements_of([Arc((13.0, 8.0), (13.0, 8.0), (15.0, 8.0), ccw=True)]))
    assert rough.uncut[0].area == pytest.approx(18 * 4, rel=0.1)


def test_a_patch_has_the_box_round_its_boxes() -> None:
    patch = Patch(np.array([[1.0, 1.0], [1.5, 1.0], [1.5, 1.5]]), 3 * 0.25)
    found = patch_as_leftover(patch)
    assert found.border.bounds == pytest.approx((0.75, 0.75, 1.75, 1.75))
    assert (found.area, found.at, found.reason) == (0.75, (1.5, 1.0), "not cut")
    small = _box_leftover((4.0, 5.0), 0.1, 1e-9)
    assert small.border.bounds == pytest.approx((4 - 5e-4, 5 - 5e-4, 4 + 5e-4, 5 + 5e-4))
