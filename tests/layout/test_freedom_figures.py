"""Where a pattern may lie, step by step on small invented parts: every inner figure, by hand or as recorded."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from recorded_figures import same_as_recorded
from spacing_scenes import HELD, LOOSE, SOLID, Scene, grid_scene_of, scene_of

from holecam.errors import InputError
from holecam.layout import freedom_field
from holecam.layout.freedom_cells import Cell, all_limits
from holecam.layout.freedom_elements import (
    Elements,
    area_elements,
    circle_crossings,
    crossings_of,
    disc_elements,
    feet,
    join,
    piece_circle_crossings,
    piece_crossings,
)
from holecam.layout.freedom_field import AreaLimits, DiscLimits, Freedom, area_margins, disc_margins, freedom_of
from holecam.layout.freedom_half_pitch import _old_row, _phase, _row, half_pitch_advice
from holecam.layout.freedom_lines import _area_blocks, _disc_blocks, extents, free_along, free_between
from holecam.layout.freedom_nearest import _distinct, nearest_allowed
from holecam.layout.freedom_readable import readable_shift
from holecam.layout.freedom_region import (
    _chains,
    _cut_circle,
    _cut_piece,
    _each_once,
    _left_turn,
    _relevant,
    region,
)
from holecam.layout.freedom_roomiest import (
    _climb,
    _Field,
    _least_move,
    _slopes,
    _upper,
    rises_straight,
    roomiest,
    window_around,
)
from holecam.layout.freedom_shift_and_turn import _steps, nearest_with_turn, roomiest_with_turn
from holecam.layout.freedom_turns import _half_angle, _unrolled, free_turns, turned
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import Bore, DrillSite, Head, HoleProfile, ZRange, plain_profile
from holecam.layout.spacing_surroundings import KeepOut, OldHole, PartShape, Surroundings
from holecam.plan.finding import Severity
from holecam.shapes import Arc, Circle, Segment, circle_outline, rectangle

LIMITS = table_limits()
FILE = "freedom"


def rail() -> Freedom:
    """A row of 3 holes of 4 mm, 20 mm apart, in a bar with round ends; old holes open, plugged and solid, a rib."""
    sites = [DrillSite(i + 1, "rail", (20.0 * i, 0.5), plain_profile(4.0)) for i in range(3)]
    old = (
        OldHole("open", (9.0, 8.0), 4.0),
        OldHole("held", (41.0, 1.0), 11.0, HELD),
        OldHole("loose", (52.0, 10.0), 5.0, LOOSE),
        OldHole("solid", (-8.0, -9.0), 6.0, SOLID),
    )
    rib = KeepOut("rib", "joint", (Segment((62.0, -3.0), (62.0, 6.0)),), margin=1.0)
    bar = rectangle(-25.0, -14.0, 75.0, 16.0, corner_radius=8.0)
    part = PartShape(bar, (circle_outline(Circle((28.0, 12.0), 2.0)),), 6.0)
    other = (DrillSite(7, "other", (26.0, -11.0), plain_profile(3.0)),)
    return freedom_of(sites, Surroundings(part, old, (rib,), other), LIMITS, inside_held_plugs=True)


SCENES: dict[str, Scene] = {
    "bend and seat": scene_of(8),
    "plugs": scene_of(5),
    "opening": scene_of(19),
    "bend, pocket and seat": scene_of(15),
    "tight grid": grid_scene_of(4),
    "open grid": grid_scene_of(15),
    "grid with a pocket": grid_scene_of(13),
}


def freedoms() -> dict[str, Freedom]:
    return {"rail": rail()} | {name: freedom_of(*s, LIMITS, inside_held_plugs=True) for name, s in SCENES.items()}


SHIFTS = np.array([[0.0, 0.0], [1.5, -2.0], [-4.0, 3.0], [12.0, 7.0], [-0.3, 0.2]])


def test_limits_of_small_parts() -> None:
    """Every limit with what it asks for, what binds, and the margins at some shifts."""
    found = {
        name: {
            "discs": f.discs,
            "areas": f.areas,
            "margins": f.margins(SHIFTS),
            "binding": [f.binding((x, y)) for x, y in SHIFTS.tolist()],
            "bindings": f.bindings((1.5, -2.0), within=3.0),
            "grown": f.grown(0.25).margins(SHIFTS),
            "kept": all_limits(f).discs.site,
        }
        for name, f in freedoms().items()
    }
    same_as_recorded("limits", found, file=FILE)


@pytest.mark.parametrize("level", [Severity.STOP, Severity.CAUTION, Severity.NOTE], ids=lambda s: s.name)
def test_limits_at_each_level(level: Severity) -> None:
    found = {}
    for name, scene in SCENES.items():
        f = freedom_of(*scene, LIMITS, level=level)
        found[name] = [f.discs.outer, f.discs.inner, f.areas, f.bindings((0.5, 0.5), within=1.0)]
    same_as_recorded(f"limits that hold: {level.name}", found, file=FILE)


def test_margins_are_asked_as_many_at_once_as_the_memory_is_meant_to_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table of shifts by limits: of 100 shifts so many that the table stays within the bound."""
    f = rail()
    width = len(f.discs) + sum(len(a.site) * len(a.boundary.curves) for a in f.areas)
    asked: list[int] = []
    kept = freedom_field.disc_margins

    def counted(freedom: Freedom, discs: DiscLimits, shifts: np.ndarray) -> np.ndarray:
        asked.append(len(shifts))
        return kept(freedom, discs, shifts)

    monkeypatch.setattr(freedom_field, "disc_margins", counted)
    shifts = np.random.default_rng(1).uniform(-5.0, 5.0, (100, 2))
    whole = f.margins(shifts)
    assert asked == [100]
    for cells, step in ((7 * width, 7), (7 * width + width - 1, 7), (1, 1)):
        asked.clear()
        monkeypatch.setattr(freedom_field, "CELLS_AT_ONCE", cells)
        assert f.margins(shifts) == pytest.approx(whole)
        assert asked[0] == step
        assert sum(asked) == 100


def test_disc_limits_by_hand() -> None:
    """4 mm against 4 mm: 2 + 2 + the web of the caution level; inside a held plug of 12: 6 - 2 less the wall."""
    sites = [DrillSite(1, "a", (0.0, 0.0), plain_profile(4.0)), DrillSite(2, "a", (30.0, 1.0), plain_profile(4.0))]
    old = (OldHole("open", (10.0, 0.0), 4.0), OldHole("held", (20.0, 5.0), 12.0, HELD))
    f = freedom_of(sites, Surroundings(old_holes=old), LIMITS, inside_held_plugs=True)
    web = LIMITS.binding("web", Severity.CAUTION, diameter=4.0)
    wide = LIMITS.binding("web", Severity.CAUTION, diameter=12.0)
    wall = LIMITS.binding("plug-wall", Severity.STOP, diameter=4.0)
    assert web is not None
    assert wide is not None
    assert wall is not None
    assert f.discs.site.tolist() == [0, 0, 1, 1]
    assert f.discs.obstacle.tolist() == [0, 1, 0, 1]
    assert f.discs.x.tolist() == [10.0, 20.0, 10.0, 20.0]
    assert f.discs.y.tolist() == [0.0, 5.0, 0.0, 5.0]
    assert f.discs.outer == pytest.approx([4.0 + web.value, 8.0 + wide.value] * 2)
    assert f.discs.inner.tolist() == [-math.inf, pytest.approx(4.0 - wall.value)] * 2
    # hole 2 at (30, 1) and the first old hole at (10, 0): a shift of (-20, -1) puts one on the other
    margins = disc_margins(f, f.discs, np.array([[-20.0, -1.0], [-17.0, 3.0]]))
    assert margins[0, 2] == pytest.approx(-(4.0 + web.value))
    assert margins[1, 2] == pytest.approx(5.0 - 4.0 - web.value)  # 3-4-5
    # at 1 mm from the middle of the plug: room inside less 1
    at_plug = disc_margins(f, f.discs, np.array([[-10.0, 5.0]]))
    assert at_plug[0, 3] == pytest.approx(4.0 - wall.value - 1.0)
    more = f.grown(np.array([0.5, 1.0]))
    assert more.discs.outer - f.discs.outer == pytest.approx([0.5, 0.5, 1.0, 1.0])
    assert f.discs.inner[1::2] - more.discs.inner[1::2] == pytest.approx([0.5, 1.0])


def test_heads_at_one_height_keep_their_reach() -> None:
    """Washers of 12 and 10 mm at one height: 11 mm and the clearance; at other heights only the bores count."""

    def profile(head: float, z: ZRange) -> HoleProfile:
        return HoleProfile(4.0, (Bore(4.0),), (Head(head, z),))

    level, above = ZRange(1.0, 0.0), ZRange(3.0, 2.0)
    site = [DrillSite(1, "a", (0.0, 0.0), profile(12.0, level))]
    near = (DrillSite(2, "b", (20.0, 0.0), profile(10.0, level)), DrillSite(3, "b", (0.0, 20.0), profile(10.0, above)))
    f = freedom_of(site, Surroundings(standing_sites=near), LIMITS)
    clearance = LIMITS.binding("head-clearance", Severity.STOP)
    web = LIMITS.binding("web", Severity.CAUTION, diameter=4.0)
    assert web is not None
    assert f.discs.outer == pytest.approx([11.0 + (clearance.value if clearance else 0.0), 4.0 + web.value])


def test_cells_quarters_and_distances() -> None:
    limits = all_limits(rail())
    cell = Cell(1.0, 2.0, 4.0, limits)
    assert cell.radius == pytest.approx(4.0 * math.sqrt(2.0), abs=2e-9)
    assert cell.radius > 4.0 * math.sqrt(2.0)
    assert [(c.x, c.y, c.half) for c in cell.quarters(limits)] == [
        (-1.0, 0.0, 2.0), (-1.0, 4.0, 2.0), (3.0, 0.0, 2.0), (3.0, 4.0, 2.0),
    ]  # fmt: skip
    assert cell.nearest_to((9.0, -7.0)) == (5.0, -2.0)
    assert cell.nearest_to((-9.0, 17.0)) == (-3.0, 6.0)
    assert cell.distance_to((8.0, 10.0)) == 5.0  # 3-4-5 from the corner (5, 6)
    assert cell.distance_to((0.0, 3.0)) == 0.0
    asked = np.array([[5.0, 6.0], [-3.0, -2.0], [5.1, 0.0], [0.0, -2.1], [-3.1, 0.0], [0.0, 6.1]])
    assert cell.holds(asked).tolist() == [True, True, False, False, False, False]


def test_limits_that_matter_in_a_cell() -> None:
    """Kept are those whose margin is at most the bound; their margins are those of the whole set."""
    found = {}
    for name, f in freedoms().items():
        limits = all_limits(f)
        values = limits.at((0.5, -0.5))
        local = limits.below(values, 6.0)
        kept = values.below(6.0)
        assert local.count == len(kept.discs) + sum(len(a) for a in kept.areas)
        assert local.at((0.5, -0.5)).discs == pytest.approx(kept.discs)
        assert values.least == pytest.approx(f.margin((0.5, -0.5)))
        assert limits.margins(SHIFTS) == pytest.approx(f.margins(SHIFTS))
        found[name] = [limits.count, local.count, kept, local.elements((0.5, -0.5), 5.0)]
    same_as_recorded("limits in a cell", found, file=FILE)


def test_border_elements_by_hand() -> None:
    """A hole at (1, 2) that keeps 3 mm from a line of 10 mm: two lines, and circles about its ends; an arc the same."""
    line, bow = Segment((0.0, 0.0), (10.0, 0.0)), Arc((25.0, 0.0), (15.0, 0.0), (20.0, 0.0), ccw=True)
    rib = KeepOut("rib", "joint", (line,), margin=1.0)
    bead = KeepOut("bead", "joint", (bow,), margin=1.0)
    sites = [DrillSite(1, "row", (1.0, 2.0), plain_profile(4.0))]
    f = freedom_of(sites, Surroundings(keep_outs=(rib, bead)), LIMITS)
    straight, round_ = (area_elements(f, a) for a in f.areas)
    assert straight.circles.tolist() == [[-1.0, -2.0, 3.0], [9.0, -2.0, 3.0]]
    assert sorted(straight.pieces.tolist()) == [[-1.0, -5.0, 9.0, -5.0], [-1.0, 1.0, 9.0, 1.0]]
    assert round_.circles.tolist() == [[24.0, -2.0, 3.0], [14.0, -2.0, 3.0], [19.0, -2.0, 8.0], [19.0, -2.0, 2.0]]
    assert round_.pieces.shape == (0, 4)
    # only what lies within reach: at the shift (19, -2) the hole stands in the middle of the bow, 5 from it
    assert len(area_elements(f, f.areas[1], near=(19.0, -2.0), reach=2.0)) == 4
    assert len(area_elements(f, f.areas[1], near=(19.0, -2.0), reach=1.9)) == 0
    assert len(join([straight, round_])) == 8
    assert len(join([])) == 0


def test_border_elements_of_discs_and_plugs() -> None:
    discs = DiscLimits(
        np.array([0, 0, 0]), np.array([5.0, 6.0, 7.0]), np.array([1.0, 2.0, 3.0]), np.array([4.0, 3.0, -1.0]),
        np.array([-math.inf, 1.5, -math.inf]), np.array([0, 1, 2]),
    )  # fmt: skip
    found = disc_elements(rail(), discs)  # hole 1 lies at (0, 0.5)
    assert found.circles.tolist() == [[5.0, 0.5, 4.0], [6.0, 1.5, 3.0], [6.0, 1.5, 1.5]]
    assert found.pieces.shape == (0, 4)


def test_elements_near_a_shift_and_their_crossings() -> None:
    found = {}
    every = freedoms()
    for name in ("rail", "plugs", "bend, pocket and seat", "tight grid"):
        f = every[name]
        elements = join([disc_elements(f, f.discs), *(area_elements(f, a) for a in f.areas)])
        near = elements.near((1.0, 1.0), 4.0).distinct()
        crossings = crossings_of(near)
        found[name] = [len(elements), near, feet(near, (1.0, 1.0)), crossings[np.lexsort(crossings.T)]]
    same_as_recorded("elements", found, file=FILE)


def test_crossings_a_hair_beyond_the_end_of_a_piece_are_looked_at() -> None:
    """A tenth of a micron by 1e-7 mm, whatever the length of the piece: 5e-8 beyond is taken, 5e-6 is not."""
    one = np.array([0])
    for length in (0.5, 100.0):
        flat = np.array([[0.0, 0.0, length, 0.0]])
        for x, found in ((-5e-8, 1), (-5e-6, 0), (length + 5e-8, 1), (length + 5e-6, 0), (length / 2, 1)):
            for upright in ([x, -1.0, x, 1.0], [x, 1.0, x, -1.0], [x, 0.0, x, 50.0], [x, 50.0, x, 0.0]):
                assert len(piece_crossings(flat, np.array([upright]), one, one)) == found
                assert len(piece_crossings(np.array([upright]), flat, one, one)) == found
            ring = np.array([[x, 3.0, 3.0]])  # touches the line at x
            assert (len(piece_circle_crossings(flat, ring, one, one)) > 0) is (found == 1)
    for gap, found in ((5e-8, 1), (5e-6, 0)):
        short = np.array([[4.0, gap, 4.0, 9.0]])
        assert len(piece_crossings(np.array([[0.0, 0.0, 10.0, 0.0]]), short, one, one)) == found
    # circles and lines that miss each other by less than a micron are looked at where they are nearest
    for miss, found in ((5e-7, True), (5e-6, False)):
        apart = np.array([[0.0, 0.0, 3.0], [5.0 + miss, 0.0, 2.0]])
        assert (len(circle_crossings(apart, apart, one, np.array([1]))) > 0) is found
        within = np.array([[0.0, 0.0, 3.0], [1.0 - miss, 0.0, 2.0]])
        assert (len(circle_crossings(within, within, one, np.array([1]))) > 0) is found
        beside = np.array([[5.0, 3.0 + miss, 3.0]])
        assert (len(piece_circle_crossings(np.array([[0.0, 0.0, 10.0, 0.0]]), beside, one, one)) > 0) is found
    same = np.array([[0.0, 0.0, 3.0], [5e-10, 0.0, 3.0]])
    assert len(circle_crossings(same, same, one, np.array([1]))) == 0


def test_feet_about_a_centre_and_on_pieces() -> None:
    elements = Elements(np.array([[3.0, 4.0, 2.0], [13.0, 4.0, 5.0]]), np.array([[0.0, 0.0, 8.0, 0.0]]))
    assert feet(elements, (3.0, 4.0)).tolist() == [[5.0, 4.0], [8.0, 4.0], [3.0, 0.0]]
    assert feet(elements, (-6.0, -8.0)).tolist()[2] == [0.0, 0.0]
    assert feet(elements, (12.0, 3.0)).tolist()[2] == [8.0, 0.0]


def test_what_blocked_stretches_leave_free() -> None:
    """Blocked 2 to 5 by 7, 4 to 9 by 8, 12 to 13 by 9, of 0 to 20."""
    lows, highs, owners = np.array([4.0, 12.0, 2.0]), np.array([9.0, 13.0, 5.0]), np.array([8, 9, 7])
    free = free_between(lows, highs, owners, low=0.0, high=20.0)
    assert free == [(0.0, 2.0, -1, 7), (9.0, 12.0, 8, 9), (13.0, 20.0, 9, -1)]
    assert free_between(lows, highs, owners, low=4.5, high=12.5) == [(9.0, 12.0, 8, 9)]
    assert free_between(lows, highs, owners, low=9.0, high=11.0) == [(9.0, 11.0, -1, -1)]
    # a stretch within another one changes nothing; one that begins where the last ended leaves nothing between
    inner = free_between(np.array([0.0, 1.0, 6.0]), np.array([6.0, 2.0, 7.0]), np.array([1, 2, 3]), low=-1.0, high=9.0)
    assert inner == [(-1.0, 0.0, -1, 1), (7.0, 9.0, 3, -1)]
    # less than a nanometre between two is no place
    hair = free_between(np.array([0.0, 5.0 + 5e-10]), np.array([5.0, 8.0]), np.array([1, 2]), low=0.0, high=9.0)
    assert hair == [(8.0, 9.0, 2, -1)]
    wider = free_between(np.array([0.0, 5.0 + 5e-9]), np.array([5.0, 8.0]), np.array([1, 2]), low=0.0, high=9.0)
    assert wider[0] == (5.0, 5.0 + 5e-9, 1, 2)
    assert free_between(np.array([0.0]), np.array([9.0]), np.array([1]), low=0.0, high=9.0) == []


def test_blocked_stretches_of_discs_by_hand() -> None:
    """A plug at 20 mm, 3 mm beside the path: outside it keeps 5 (4 each way), inside it may lie within... 3-4-5."""
    f = rail()
    discs = DiscLimits(
        np.array([0, 0, 0, 0]), np.array([20.0, 20.0, 20.0, 20.0]), np.array([3.5, 3.5, 3.5, 3.5]),
        np.array([5.0, 5.0 * math.sqrt(2), 3.0, -1.0]), np.array([-math.inf, 5.0, -math.inf, -math.inf]),
        np.array([0, 1, 2, 3]),
    )  # fmt: skip
    lows, highs, owners = _disc_blocks(f, discs, (1.0, 0.0), (1.0, 0.0))  # hole 1 starts at (1, 0.5)
    assert owners.tolist() == [0, 1, 1]
    assert lows == pytest.approx([15.0, 19.0 - math.sqrt(41.0), 23.0])
    assert highs == pytest.approx([23.0, 15.0, 19.0 + math.sqrt(41.0)])


def test_blocked_stretches_of_a_rib_by_hand() -> None:
    """The rib at X 62 from Y -3 to 6, 3 mm to keep: hole 3 starts at (40, 0.5) and is blocked from 19 to 25 mm."""
    f = rail()
    joint = next(a for a in f.areas if a.boundary.name == "rib")
    lows, highs, owners = _area_blocks(f, joint, (0.0, 0.0), (1.0, 0.0), 100)
    merged = free_between(lows, highs, owners, low=-100.0, high=100.0)
    assert [(round(a, 9), round(b, 9), c, d) for a, b, c, d in merged] == [
        (-100.0, 19.0, -1, 102), (25.0, 39.0, 102, 101), (45.0, 59.0, 101, 100), (65.0, 100.0, 100, -1),
    ]  # fmt: skip
    # backwards and from beside: along Y, hole 3 shifted onto the rib's end passes it at 3 mm
    lows, highs, _ = _area_blocks(f, joint, (22.0, 0.0), (0.0, 1.0), 0)
    assert (min(lows), max(highs)) == pytest.approx((-6.5, 8.5))


def test_ways_along_lines() -> None:
    found = {}
    for name, f in freedoms().items():
        lines = [
            free_along(f, way, start=start)
            for way, start in (((1.0, 0.0), (0.0, 0.0)), ((3.0, 4.0), (1.0, -2.0)), ((-1.0, 5.0), (0.5, 0.5)))
        ]
        found[name] = [
            [lines, [line.nearest(2.0) for line in lines]],
            extents(f, (1.5, -2.0)),
        ]
    same_as_recorded("lines", found, file=FILE)


def test_of_two_ways_equally_near_the_one_ahead() -> None:
    """6 mm to keep from a hole at 10: from 10 both ends of the block are 6 mm off, and 16 is taken, not 4."""
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    f = freedom_of(sites, Surroundings(old_holes=(OldHole("old", (10.0, 0.0), 4.0),)), LIMITS)
    line = free_along(f, (1.0, 0.0))
    assert line.nearest(10.0) == 16.0
    assert line.nearest(9.9) == 4.0
    assert line.free[0].width == math.inf
    assert [line.allowed(w) for w in (3.9, 4.0, 4.1, 15.9, 16.0, 16.1)] == [True, True, False, False, True, True]
    assert [i.holds(w) for i in line.free for w in (4.0, 16.0)] == [True, False, False, True]
    assert [i.nearest_to(10.0) for i in line.free] == [4.0, 16.0]


def test_turns_about_a_hole() -> None:
    found = {}
    for name, f in freedoms().items():
        about = (float(f.xy[0, 0]), float(f.xy[0, 1]))
        for pivot in (about, (3.0, -2.0)):
            turns = free_turns(f, pivot)
            found[f"{name}, {pivot}"] = [turns, turns.nearest(10.0), [turns.allowed(t) for t in range(-180, 180, 15)]]
    same_as_recorded("turns", found, file=FILE)


def test_the_angle_of_a_blocked_turn_by_hand() -> None:
    """Arm 5 and obstacle 5 from the pivot, 5 to keep: an equilateral triangle, 60 degrees; 3, 4 and 5: 90."""
    angles = _half_angle(
        np.array([5.0, 3.0, 3.0, 3.0, 10.0]), np.array([5.0, 4.0, 4.0, 4.0, 4.0]), np.array([5.0, 5.0, 7.0, 1.0, 5.0])
    )
    assert np.degrees(angles) == pytest.approx([60.0, 90.0, 180.0, 0.0, 0.0])


def test_blocked_turns_are_laid_into_one_turn() -> None:
    lows, highs = np.array([-0.5, 3.0, -4.0]), np.array([0.5, 3.5, -3.5])
    low, high, owner = _unrolled(lows, highs, np.array([1, 2, 3]))
    assert low == pytest.approx([-0.5, 3.0, math.tau - 4.0, -math.pi - 1.0])
    assert high == pytest.approx([0.5, 3.5, math.tau - 3.5, 3.5 - math.tau])
    assert owner.tolist() == [1, 2, 3, 2]


def test_a_pattern_turned_about_a_point() -> None:
    xy = turned(rail(), 90.0, (10.0, 0.5)).xy
    assert xy.tolist() == [[10.0, -9.5], [10.0, 10.5], [10.0, 30.5]]


def test_the_region_of_small_parts() -> None:
    found = {}
    for name, f in freedoms().items():
        r = region(f, (-5.0, -4.0, 7.0, 8.0))
        found[name] = [r, r.allowed_area, r.forbidden_area, r.corners]
        assert r.allowed_area + r.forbidden_area == pytest.approx(144.0, abs=1e-3)
    same_as_recorded("region", found, file=FILE)


def test_elements_that_the_border_can_run_through() -> None:
    limits = all_limits(rail())
    found = _relevant(limits, (-3.0, -3.0, 3.0, 3.0))
    same_as_recorded("elements of the region", [found.circles, found.pieces], file=FILE)


def test_a_circle_and_a_piece_cut_at_crossings() -> None:
    cuts = np.array([[5.0, 0.0], [0.0, 5.0], [5.0, 5e-9], [3.0, 3.0], [-5.0, 0.0]])
    arcs = _cut_circle((0.0, 0.0), 5.0, cuts)
    assert [(round(a.start[0], 6), round(a.start[1], 6)) for a in arcs] == [(5.0, 0.0), (0.0, 5.0), (-5.0, 0.0)]
    assert [(round(a.end[0], 6), round(a.end[1], 6)) for a in arcs] == [(0.0, 5.0), (-5.0, 0.0), (5.0, 0.0)]
    assert all(isinstance(a, Arc) and a.ccw and a.center == (0.0, 0.0) for a in arcs)
    (whole,) = _cut_circle((1.0, 2.0), 3.0, cuts)
    assert whole == Arc((4.0, 2.0), (4.0, 2.0), (1.0, 2.0), ccw=True)
    # one crossing on the seam at half a turn, told from both sides by noise, cuts once
    (once,) = _cut_circle((0.0, 0.0), 5.0, np.array([[-5.0, 1e-9], [-5.0, -1e-9]]))
    assert once.length == pytest.approx(math.tau * 5.0)
    ways = np.array(
        [[2.0, 0.0], [6.0, 5e-8], [6.0 + 5e-8, 0.0], [4.0, 1.0], [-3.0, 0.0], [12.0, 0.0], [0.0, 0.0], [10.0, 0.0]]
    )
    pieces = _cut_piece((0.0, 0.0), (10.0, 0.0), ways)
    assert [(round(p.start[0], 6), round(p.end[0], 6)) for p in pieces] == [(0.0, 2.0), (2.0, 6.0), (6.0, 10.0)]


def test_pieces_that_lie_on_one_another_count_once_and_close() -> None:
    square = [
        Segment((0.0, 0.0), (4.0, 0.0)), Segment((4.0, 0.0), (4.0, 4.0)), Segment((4.0, 4.0), (0.0, 4.0)),
        Segment((0.0, 4.0), (0.0, 0.0)),
    ]  # fmt: skip
    again = [Segment((0.0, 1e-8), (4.0, 1e-8)), Segment((0.0, 1e-4), (4.0, 1e-4))]
    assert _each_once([*square, *again]) == [*square, again[1]]
    # two squares that share a corner: of the ways on the sharpest left turn is taken, so each closes by itself
    other = [
        Segment((4.0, 4.0), (8.0, 4.0)), Segment((8.0, 4.0), (8.0, 8.0)), Segment((8.0, 8.0), (4.0, 8.0)),
        Segment((4.0, 8.0), (4.0, 4.0)),
    ]  # fmt: skip
    chains = _chains([*square, *other])
    assert sorted(len(c) for c in chains) == [4, 4]
    # an open chain ends where nothing goes on
    assert sorted(len(c) for c in _chains(square[:3])) == [1, 1, 1]
    assert [len(c) for c in _chains([square[1], square[2], square[0]])] == [3]


def test_the_nearest_shift_of_small_parts() -> None:
    found = {}
    for name, f in freedoms().items():
        found[name] = [
            nearest_allowed(f, wish, reach=reach) for wish, reach in (((0.0, 0.0), 30.0), ((3.0, -2.5), 12.0))
        ]
    same_as_recorded("nearest", found, file=FILE)


def test_equally_near_shifts_are_told_the_rightmost_first() -> None:
    shifts = np.array([[1.0, 2.0], [3.0, 0.0], [3.0, 4.0], [1.0 + 1e-7, 2.0], [3.0, 4.0 + 2e-6]])
    assert _distinct(shifts) == [(3.0, 4.0 + 2e-6), (3.0, 4.0), (3.0, 0.0), (1.0 + 1e-7, 2.0)]
    # one old hole on the wish, 6 mm to keep: every direction is as near; beside two it is either way
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    old = (OldHole("a", (0.0, 5.0), 4.0), OldHole("b", (0.0, -5.0), 4.0))
    found = nearest_allowed(freedom_of(sites, Surroundings(old_holes=old), LIMITS), (0.0, 0.0), reach=9.0)
    assert found.shift == pytest.approx((math.sqrt(11.0), 0.0), abs=3e-6)
    assert len(found.also) == 1
    assert found.also[0] == pytest.approx((-math.sqrt(11.0), 0.0), abs=3e-6)
    assert found.distance == pytest.approx(math.sqrt(11.0), abs=3e-6)


def test_the_nearest_readable_shift_by_trying_all() -> None:
    """Every place of the grid within reach, exact and rounded: none that is allowed lies nearer."""
    every = freedoms()
    for name, wish in (("rail", (3.0, -2.0)), ("rail", (-3.0, 4.0)), ("open grid", (0.4, 0.2)), ("plugs", (2.0, -1.0))):
        f = every[name]
        found = readable_shift(f, wish, resolution=Fraction(1, 4), reach=5.0)
        steps = np.arange(-40, 41) / 4.0
        places = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
        away = np.hypot(places[:, 0] - wish[0], places[:, 1] - wish[1])
        margins = f.margins(places)
        order = [k for k in np.argsort(away) if away[k] <= 5.0 and margins[k] >= 0.0]
        shown = (f.moved_to(np.round((f.xy + places[k]) * 4.0) / 4.0).margin((0.0, 0.0)) for k in order)
        nearest = next((away[k] for k, margin in zip(order, shown, strict=True) if margin >= 0.0), math.inf)
        assert (found is None) is bool(nearest > 5.0)
        if found is not None:
            assert found.distance == pytest.approx(nearest)
            at = found.shift
            assert (float(found.anchor_at[0]), float(found.anchor_at[1])) == at
            assert found.margin == pytest.approx(f.margin(at))


def test_readable_shifts_of_small_parts() -> None:
    found = {}
    every = freedoms()
    for name in ("rail", "plugs", "open grid", "grid with a pocket"):
        f = every[name]
        anchor = (float(f.xy[0, 0]), float(f.xy[0, 1]))
        found[name] = [
            readable_shift(f, (0.0, 0.0), resolution=Fraction(1, 200), reach=4.0, anchor=anchor),
            readable_shift(f, (1.0, 2.0), resolution=Fraction(1, 100), grid=Fraction(1, 10), reach=8.0, anchor=anchor),
            readable_shift(f, (1.0, 2.0), resolution=Fraction(127, 1000), reach=4.0),
        ]
    same_as_recorded("readable", found, file=FILE)


def test_the_roomiest_shift_of_small_parts() -> None:
    found = {}
    for name, f in freedoms().items():
        best = roomiest(f, (-5.0, -4.0, 7.0, 8.0))
        found[name] = best
        assert best.gap <= 0.0005
    same_as_recorded("roomiest", found, file=FILE)


def test_the_bound_says_what_was_left_out_when_the_search_is_cut_short() -> None:
    """With few cells the bound stays true and is farther off: the gap is told, never hidden."""
    f = rail()
    whole = roomiest(f, (-5.0, -4.0, 7.0, 8.0))
    found = []
    for cells in (1, 4, 16, 64, 256):
        short = roomiest(f, (-5.0, -4.0, 7.0, 8.0), most_cells=cells)
        assert short.bound >= whole.margin
        assert short.margin <= whole.bound
        found.append(short)
    assert [s.gap for s in found] == sorted((s.gap for s in found), reverse=True)
    same_as_recorded("roomiest, cut short", found, file=FILE)


def test_slopes_bounds_and_climbs() -> None:
    found = {}
    for name, f in freedoms().items():
        limits = all_limits(f)
        for at, half in (((1.0, 2.0), 1.0), ((-3.0, 0.5), 0.25)):
            cell = Cell(*at, half, limits)
            values = limits.at(at)
            slopes = _slopes(limits, values, at, values.least + 4.0, cell.radius)
            upper = _upper(limits, values, at, cell, cell.radius)
            near = np.array(at) + np.random.default_rng(2).uniform(-half, half, (400, 2))
            assert f.margins(near).max() <= upper + 1e-9
            found[f"{name}, {at}"] = [
                slopes,
                upper,
                _climb(limits, at, 2.0, _Field((-9.0, -9.0, 9.0, 9.0), (0.0, 0.0), math.inf)),
            ]
    same_as_recorded("slopes", found, file=FILE)


def test_slopes_by_hand() -> None:
    """Hole 1 of a row at (0, 0.5), one old hole 3 right and 4 up of it: 5 away, pulled along (-0.6, -0.8)."""
    sites = [DrillSite(1, "row", (0.0, 0.5), plain_profile(4.0))]
    f = freedom_of(sites, Surroundings(old_holes=(OldHole("old", (3.0, 4.5), 4.0),)), LIMITS)
    limits = all_limits(f)
    slopes = _slopes(limits, limits.at((0.0, 0.0)), (0.0, 0.0), 9.0, 1.0)
    assert slopes.v == pytest.approx([-1.0])
    assert slopes.g == pytest.approx(np.array([[-0.6, -0.8]]))
    assert slopes.d == pytest.approx([5.0])
    assert slopes.straight.tolist() == [False]
    # its margin within 1 mm each way: |t - foot| <= d + g.t + r^2 / (2 (d - r)), most at the far corner (-1, -1)
    cell = Cell(0.0, 0.0, 1.0, limits)
    r = cell.radius
    upper = _upper(limits, limits.at((0.0, 0.0)), (0.0, 0.0), cell, r)
    assert upper == pytest.approx(min(-1.0 + r, -1.0 + r * r / (2.0 * (5.0 - r)) + 0.6 + 0.8))
    assert len(_slopes(limits, limits.at((0.0, 0.0)), (0.0, 0.0), -1.5, 1.0).v) == 0
    # beside the middle of a long edge the margin rises straight: no bend is added
    bar = freedom_of(sites, Surroundings(PartShape(rectangle(-50.0, -9.5, 50.0, 200.0))), LIMITS)
    edge = all_limits(bar)
    slopes = _slopes(edge, edge.at((0.0, 0.0)), (0.0, 0.0), 20.0, 1.5)
    assert (slopes.v.tolist(), slopes.d.tolist(), slopes.straight.tolist()) == ([4.0], [10.0], [True])
    assert slopes.g.tolist() == [[0.0, 1.0]]
    assert _upper(edge, edge.at((0.0, 0.0)), (0.0, 0.0), Cell(0.0, 0.0, 1.0, edge), 1.5) == pytest.approx(5.0)


def test_windows_cells_and_clamping() -> None:
    limits = all_limits(rail())
    field = _Field((0.0, 10.0, 4.0, 12.0), (2.0, 11.0), math.inf)
    inside = [
        field.meets(Cell(x, y, 1.0, limits))
        for x, y in (
            (-0.9, 11.0),
            (-1.0, 11.0),
            (4.9, 11.0),
            (5.0, 11.0),
            (2.0, 9.1),
            (2.0, 9.0),
            (2.0, 12.9),
            (2.0, 13.0),
        )
    ]
    assert inside == [True, False] * 4
    assert field.nearest_to((-3.0, 40.0)) == (0.0, 12.0)
    assert field.nearest_to((9.0, -4.0)) == (4.0, 10.0)
    assert field.nearest_to((1.0, 11.0)) == (1.0, 11.0)
    assert window_around((1.0, 2.0), 3.0) == (-2.0, -1.0, 4.0, 5.0)
    circle = _Field((-5.0, -5.0, 5.0, 5.0), (0.0, 0.0), 5.0)
    assert circle.nearest_to((9.0, 12.0)) == pytest.approx((math.sqrt(12.5), math.sqrt(12.5)))
    assert circle.meets(Cell(4.0, 4.0, 1.0, limits))
    assert not circle.meets(Cell(4.5, 4.5, 0.5, limits))


def test_in_a_passage_that_is_equally_roomy_the_way_is_kept_short() -> None:
    """A bar 20 mm wide: 4 mm of room all along its middle. Only a shift nearer by a good deal is worth a move."""
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    f = freedom_of(sites, Surroundings(PartShape(rectangle(-100.0, 0.0, 100.0, 20.0))), LIMITS)
    window = (-20.0, 0.0, 20.0, 20.0)
    shift, margin = _least_move(f, (15.0, 10.0), 4.0, _Field(window, (0.0, 10.0), math.inf), 0.01)
    assert shift == pytest.approx((0.0, 10.0))
    assert margin == pytest.approx(4.0, abs=0.01)
    # nearer than 100 gaps it stays; where half a gap less does not bring it nearer by as much, too
    assert _least_move(f, (0.9, 10.0), 4.0, _Field(window, (0.0, 10.0), math.inf), 0.01) == ((0.9, 10.0), 4.0)
    assert _least_move(f, (1.1, 10.0), 4.0, _Field(window, (0.0, 10.0), math.inf), 0.01)[0] == pytest.approx(
        (0.0, 10.0)
    )
    assert _least_move(f, (15.0, 10.0), 4.0, _Field(window, (14.2, 10.0), math.inf), 0.01) == ((15.0, 10.0), 4.0)
    assert _least_move(f, (15.0, 10.0), 4.0, _Field((14.0, 0.0, 20.0, 20.0), (0.0, 0.0), math.inf), 0.01) == (
        (15.0, 10.0),
        4.0,
    )


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda f: nearest_allowed(f, (math.nan, 0.0), reach=1.0), "wished shift"),
        (lambda f: nearest_allowed(f, (0.0, math.inf), reach=1.0), "wished shift"),
        (lambda f: nearest_allowed(f, (0.0, 0.0), reach=0.0), r"reach 0\.0 mm: expected a finite length above zero"),
        (lambda f: nearest_allowed(f, (0.0, 0.0), reach=math.inf), "reach inf mm"),
        (lambda f: readable_shift(f, (0, 0), resolution=Fraction(0), reach=1.0), r"grid 0\.0 mm"),
        (lambda f: readable_shift(f, (0, 0), resolution=Fraction(1), grid=Fraction(0), reach=1.0), r"grid 0\.0 mm"),
        (lambda f: readable_shift(f, (0, 0), resolution=Fraction(2), grid=Fraction(3), reach=1.0), r"grid 3\.0 mm"),
        (lambda f: readable_shift(f, (0, 0), resolution=Fraction(1), reach=0.0), r"reach 0\.0 mm"),
        (lambda f: readable_shift(f, (0, 0), resolution=Fraction(1), reach=math.nan), "reach nan mm"),
        (lambda f: free_along(f, (0.0, 0.0)), "not both zero"),
        (lambda f: free_along(f, (math.inf, 1.0)), "expected finite numbers"),
        (lambda f: free_turns(f, (math.nan, 0.0)), "expected finite lengths"),
        (lambda f: free_turns(f, (0.0, math.inf)), "expected finite lengths"),
        (lambda f: roomiest(f, (0.0, 0.0, 1.0, math.inf)), "expected finite lengths, least below greatest"),
        (lambda f: roomiest(f, (0.0, 1.0, 1.0, 1.0)), "least below greatest"),
        (lambda f: roomiest(f, (1.0, 0.0, 1.0, 1.0)), "least below greatest"),
        (lambda f: roomiest(f, (0.0, 0.0, 1.0, 1.0), gap=0.0), r"gap 0\.0 mm"),
        (lambda _: _steps(0.0, 0.0, 1.0), "expected a range and a step above zero"),
        (lambda _: _steps(0.0, 1.0, 0.0), "expected a range and a step above zero"),
        (lambda _: _steps(0.0, math.inf, 1.0), "expected a range and a step above zero"),
        (lambda _: _steps(0.0, 2001.0, 1.0), "2001 steps, at most 2000"),
        (lambda f: freedom_of((), Surroundings(), f.limits), "expected at least one hole to shift"),
    ],
)
def test_questions_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make(rail())  # type: ignore[operator]


@pytest.mark.parametrize(
    ("p", "reach", "straight"),
    [
        ((2.0, 3.0), 1.9, True), ((2.0, 3.0), 2.1, False), ((8.0, -3.0), 1.9, True), ((8.0, -3.0), 2.1, False),
        ((-1.0, 0.0), 0.1, False), ((11.0, 0.0), 0.1, False), ((2.0, 3.0), 2.0, True), ((8.0, 3.0), 2.0, True),
    ],
)  # fmt: skip
def test_beside_the_middle_of_a_line_the_distance_rises_straight(
    p: tuple[float, float], reach: float, straight: bool
) -> None:
    assert rises_straight(Segment((0.0, 0.0), (10.0, 0.0)), p, reach) is straight


@pytest.mark.parametrize("ccw", [True, False])
def test_in_the_hollow_of_an_arc_the_distance_rises_straight(ccw: bool) -> None:
    """A half circle of 10 mm above X, either way round; at 5 mm from its centre 1 mm of reach is 11.5 degrees."""
    ends = ((10.0, 0.0), (-10.0, 0.0))
    arc = Arc(*(ends if ccw else ends[::-1]), (0.0, 0.0), ccw=ccw)
    for deg, straight in ((11.0, False), (12.0, True), (90.0, True), (168.0, True), (169.0, False), (-90.0, False)):
        at = (5.0 * math.cos(math.radians(deg)), 5.0 * math.sin(math.radians(deg)))
        assert rises_straight(arc, at, 1.0) is straight
    assert not rises_straight(arc, (0.0, 0.9), 1.0)
    assert rises_straight(arc, (0.0, 1.1), 1.0)
    assert rises_straight(arc, (0.0, 8.9), 1.0)
    assert not rises_straight(arc, (0.0, 9.1), 1.0)


def test_shift_and_turn_of_small_parts() -> None:
    found = {}
    every = freedoms()
    for name in ("rail", "plugs", "tight grid"):
        f = every[name]
        pivot = (float(f.xy[0, 0]), float(f.xy[0, 1]))
        found[name] = [
            nearest_with_turn(f, (0.5, 0.5), pivot=pivot, low_deg=-1.0, high_deg=1.0, step_deg=0.5, reach=12.0),
            roomiest_with_turn(f, (-3.0, -3.0, 3.0, 3.0), pivot=pivot, low_deg=-1.0, high_deg=0.5, step_deg=0.75),
        ]
    same_as_recorded("shift and turn", found, file=FILE)


def test_steps_of_turn_cover_the_range_evenly() -> None:
    assert _steps(-1.0, 1.0, 0.5) == ([-0.75, -0.25, 0.25, 0.75], 0.25)
    turns, half = _steps(0.0, 1.0, 0.4)  # three steps, none longer than asked
    assert turns == pytest.approx([1 / 6, 0.5, 5 / 6])
    assert half == pytest.approx(1 / 6)
    assert len(_steps(0.0, 0.3, 0.1)[0]) == 3
    assert len(_steps(0.0, 2000.0, 1.0)[0]) == 2000


def row_on_old(shift: float = 0.0, *, pitch: float = 8.0, tilt_deg: float = 0.0, old: int = 4) -> Freedom:
    c, s = math.cos(math.radians(tilt_deg)), math.sin(math.radians(tilt_deg))
    sites = [DrillSite(i + 1, "row", (i * pitch * c, i * pitch * s), plain_profile(4.0)) for i in range(4)]
    holes = [((i * pitch + shift) * c - 0.2 * s, (i * pitch + shift) * s + 0.2 * c) for i in range(old)]
    stray = [OldHole("stray", (2.0, 30.0), 3.0)]
    return freedom_of(
        sites, Surroundings(old_holes=(*(OldHole(f"old {i + 1}", p, 5.0) for i, p in enumerate(holes)), *stray)), LIMITS
    )


def test_half_a_pitch_by_hand() -> None:
    """Pitch 30, holes of 4 on old ones of 5 that lie 1 mm along and 0.2 beside: best at 16 or -14, web 15 - 4.5."""
    advice = half_pitch_advice(row_on_old(1.0, pitch=30.0), (0.0, 0.0))
    assert advice is not None
    assert advice.pitch == 30.0
    assert advice.along == (1.0, 0.0)
    assert [h.label for h in advice.old_holes] == ["old 1", "old 2", "old 3", "old 4"]
    assert advice.web == pytest.approx(15.0 - 2.0 - 2.5)
    assert advice.passes_on_the_line
    assert advice.aside == 0.0
    assert advice.shift == pytest.approx((-14.0, 0.0))
    assert advice.allowed
    # a wish nearer to the other side
    other = half_pitch_advice(row_on_old(1.0, pitch=30.0), (2.0, 0.5))
    assert other is not None
    assert other.shift == pytest.approx((16.0, 0.5))
    # pitch 8: needed s > 4, so the lines have to lie sqrt(s^2 - 16) apart
    tight = half_pitch_advice(row_on_old(1.0), (0.0, 0.0))
    assert tight is not None
    assert not tight.passes_on_the_line
    assert tight.aside == pytest.approx(math.sqrt(tight.needed**2 - 16.0))
    assert tight.shift == pytest.approx((-3.0, 0.2 - tight.aside))
    assert tight.web == pytest.approx(4.0 - 4.5)
    up = half_pitch_advice(row_on_old(1.0), (0.0, 0.3))
    assert up is not None
    assert up.shift == pytest.approx((-3.0, 0.2 + tight.aside))


def test_half_a_pitch_on_skewed_rows() -> None:
    found = {
        f"{pitch}, {tilt}, {wish}": half_pitch_advice(row_on_old(2.5, pitch=pitch, tilt_deg=tilt), wish)
        for pitch in (8.0, 12.0)
        for tilt in (35.0, -120.0)
        for wish in ((0.0, 0.0), (5.0, 1.0))
    }
    same_as_recorded("half pitch", found, file=FILE)
    assert half_pitch_advice(row_on_old(old=1), (0.0, 0.0)) is None
    assert half_pitch_advice(row_on_old(), (0.0, 40.0)) is None


def test_what_counts_as_a_row() -> None:
    def freedom(*places: tuple[float, float]) -> Freedom:
        return rail().moved_to(np.array(places))

    assert _row(freedom((0.0, 0.0), (3.0, 4.0), (6.0, 8.0))) == (5.0, (0.6, 0.8))
    assert _row(freedom((0.0, 0.0), (3.0, 4.049), (6.0, 8.0))) is not None
    assert _row(freedom((0.0, 0.0), (3.0, 4.051), (6.0, 8.0))) is None
    assert _row(freedom((0.0, 0.0), (0.02, 0.0), (0.06, 0.0))) is None  # all in one place
    assert _row(freedom((1.0, 2.0))) is None
    assert _row(freedom((1.0, 2.0), (1.0, 12.0))) == (10.0, (0.0, 1.0))


def test_old_holes_that_lie_in_a_row() -> None:
    placed = [(0.0, 0.0), (10.4, 0.4), (19.6, -0.4), (30.0, 0.6), (35.0, 0.0), (40.0, 0.0), (3.0, 9.0), (13.0, 9.0)]
    assert _old_row(placed, 10.0) == [0, 1, 2, 5]
    assert _old_row([(0.0, 0.0), (5.0, 0.0)], 10.0) == [0]
    assert _phase([1.0, 11.2, 20.8], 10.0) == pytest.approx(1.0, abs=1e-3)
    assert _phase([9.8, 10.2, -0.3], 10.0) == pytest.approx(-0.1, abs=1e-3)
    assert _phase([4.0, 14.0], 10.0) == pytest.approx(4.0)


def test_an_area_limit_by_hand() -> None:
    """The edge of a bar 20 mm high: a hole at (1, 2) shifted by (3, 4) stands 6 mm above the lower edge."""
    sites = [DrillSite(1, "row", (1.0, 2.0), plain_profile(4.0))]
    f = freedom_of(sites, Surroundings(PartShape(rectangle(-50.0, 0.0, 50.0, 20.0))), LIMITS)
    (area,) = f.areas
    need = LIMITS.binding("edge-distance", Severity.CAUTION, diameter=4.0)
    assert need is not None
    assert area.need.tolist() == [need.value]
    assert area_margins(f, area, np.array([[3.0, 4.0], [0.0, -3.0]])) == pytest.approx(
        np.array([[6.0 - need.value], [-1.0 - need.value]])
    )
    binding = f.area_binding(area, 0, (3.0, 4.0))
    assert (binding.distance, binding.need, binding.margin) == pytest.approx((6.0, need.value, 6.0 - need.value))
    assert binding.obstacle_name == "the edge of the part"
    assert isinstance(area, AreaLimits)
    assert f.allowed((0.0, need.value - 2.0))
    assert not f.allowed((0.0, need.value - 2.001))


def test_a_turn_to_the_left_is_above_nought() -> None:
    for came_deg in (0.0, 30.0, 200.0, -75.0):
        for turn_deg in (-170.0, -90.0, -45.0, 0.0, 20.0, 90.0, 179.0):
            came, goes = math.radians(came_deg), math.radians(came_deg + turn_deg)
            turned = _left_turn((math.cos(came), math.sin(came)), (math.cos(goes), math.sin(goes)))
            assert math.degrees(turned) == pytest.approx(turn_deg, abs=1e-9)
