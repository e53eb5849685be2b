"""The cutter's whole body against floors, keep-outs and bends: exact, against brute force and closed forms."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from expecting import only
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from holecam.errors import InputError
from holecam.plan.limits import Bend, HardFloor, KeepOut, ProgramLimits, Stock, Travel
from holecam.plan.motions import Feed, ProgramPlan, Rapid, SpindleOn, ToolChange, ToolKind, ToolUse
from holecam.program import check_program, verify_text, write_program
from holecam.program.body import Body, body_of, deeper_by
from holecam.program.paths import bounds
from holecam.program.reader import read_program
from holecam.program.zones import Heap, Hollow, entries
from holecam.shapes import Arc, Circle, Segment, circle_outline, outline_through, rectangle

BODIES = {
    "flat": Body(3.0),
    "bull nose": Body(3.0, 0.8),
    "ball": Body(3.0, 3.0),
    "drill": Body(3.0, cone=1 / math.tan(math.radians(59))),
}
HEADER = "G21 G90\nT1 M6\nG0 Z50\nG0 X{} Y{}\nS500 M3\nF100\n"


def moves_of(*lines: str, start: tuple[float, float] = (0, 0)):  # type: ignore[no-untyped-def]
    reading = read_program(HEADER.format(*start) + "\n".join(lines) + "\nM30\n")
    assert reading.refused == ()
    return reading.moves


def greatest_entry(moves, zone, body: Body) -> float:  # type: ignore[no-untyped-def]
    low, high = bounds(moves)
    known = ~np.isnan(moves.start).any(axis=1) & ~np.isnan(moves.end).any(axis=1)
    found = entries(moves, np.flatnonzero(zone.near(low, high, body) & known), zone, body, 1000)
    return max((e.amount for e in found), default=0.0)


def sampled_entry(moves, outline, top: float, body: Body, n: int = 160) -> float:  # type: ignore[no-untyped-def]
    """Brute force: dense points of each move against the region, one by one."""
    worst = 0.0
    for i in range(len(moves)):
        a, b = moves.start[i], moves.end[i]
        if np.isnan(a).any() or np.isnan(b).any():
            continue
        for s in np.linspace(0, 1, n):
            x, y, z = a + s * (b - a)
            if moves.kind[i] >= 2:
                c = moves.center[i]
                t0 = math.atan2(a[1] - c[1], a[0] - c[0])
                turn = (math.atan2(b[1] - c[1], b[0] - c[0]) - t0) % math.tau or math.tau
                if moves.kind[i] == 2:
                    turn -= math.tau
                r = math.hypot(a[0] - c[0], a[1] - c[1])
                x, y = c[0] + r * math.cos(t0 + s * turn), c[1] + r * math.sin(t0 + s * turn)
            away = max(0.0, -outline.inside_by((x, y)))
            worst = max(worst, top - z - body.rise_at(away))
    return worst


REGIONS = {
    "box": rectangle(10, -5, 30, 15),
    "rounded": rectangle(10, -5, 30, 15, corner_radius=4),
    "disc": circle_outline(Circle((20, 5), 8)),
    "arrow": outline_through([(10, 0), (30, -5), (18, 5), (30, 15)]),
}

COORDINATE = st.integers(-100, 400).map(lambda k: k / 10)
HEIGHT = st.integers(-30, 40).map(lambda k: k / 10)


@given(
    st.sampled_from(sorted(REGIONS)),
    st.sampled_from(sorted(BODIES)),
    st.lists(st.tuples(COORDINATE, COORDINATE, HEIGHT), min_size=1, max_size=4),
)
@settings(max_examples=40)
def test_entries_agree_with_dense_sampling(region: str, name: str, path: list[tuple[float, float, float]]) -> None:
    outline, body, top = REGIONS[region], BODIES[name], 1.0
    moves = moves_of(*(f"G1 X{x} Y{y} Z{z}" for x, y, z in path), start=(-20, -20))
    exact = greatest_entry(moves, Heap(outline, top), body)
    sampled = sampled_entry(moves, outline, top, body)
    assert exact >= sampled - 2e-6, "an entry is never missed or told too small"
    spacing = 80 / 160
    steep = 1.2 if name in ("flat", "drill") else 8.0
    assert exact <= sampled + spacing * steep + 4.5 * (exact > 0 and sampled == 0)


@given(st.sampled_from(sorted(BODIES)), st.floats(1, 30), st.floats(0, 360), st.floats(20, 340), st.booleans(), HEIGHT)
@settings(max_examples=25)
def test_entries_of_arcs_agree_with_dense_sampling(
    name: str, radius: float, first: float, turn: float, ccw: bool, z: float
) -> None:
    outline, body, top = REGIONS["rounded"], BODIES[name], 1.0
    a0, a1 = math.radians(first), math.radians(first + (turn if ccw else -turn))
    c = (8.0, 6.0)
    start = (c[0] + radius * math.cos(a0), c[1] + radius * math.sin(a0))
    end = (c[0] + radius * math.cos(a1), c[1] + radius * math.sin(a1))
    word = f"G{3 if ccw else 2} X{end[0]:.9f} Y{end[1]:.9f} I{c[0] - start[0]:.9f} J{c[1] - start[1]:.9f}"
    moves = moves_of(f"G0 Z{z}", word, start=(round(start[0], 9), round(start[1], 9))).take(slice(-1, None))
    exact = greatest_entry(moves, Heap(outline, top), body)
    sampled = sampled_entry(moves, outline, top, body, 700)
    assert exact == pytest.approx(sampled, abs=0.4)
    assert exact >= sampled - 2e-6


@pytest.mark.parametrize("word", ["G2", "G3"])
@pytest.mark.parametrize("quarter", [0, 1, 2, 3])
def test_a_sinking_circle_is_followed_all_the_way_round(word: str, quarter: int) -> None:
    """From 4 down to -4 mm on a circle of 20 mm; a post of 2 mm, 3 mm high, stands on it at one quarter.

    A flat cutter of 3 mm meets it lowest at (1 + 3) / 20 of a radian, or 11.5 degrees, after the middle of the post; at
    the very start and end of the turn it is met before and after.
    """
    x, y = [(20.0, 0.0), (0.0, 20.0), (-20.0, 0.0), (0.0, -20.0)][quarter]
    post = circle_outline(Circle((x, y), 1.0))
    moves = moves_of("G0 Z4", f"{word} X20 Y0 Z-4 I-20 J0", start=(20, 0)).take(slice(-1, None))
    gone = {0: 1.0, 1: 0.25, 2: 0.5, 3: 0.75}[quarter]
    if word == "G2" and quarter in (1, 3):
        gone = 1.0 - gone
    past = 2.0 * math.asin(4.0 / 2.0 / 20.0) / math.tau  # chord of 4 mm on a radius of 20
    height = 4.0 - 8.0 * min(1.0, gone + past)
    assert greatest_entry(moves, Heap(post, 3.0), Body(3.0)) == pytest.approx(max(0.0, 3.0 - height), abs=0.01)


@pytest.mark.parametrize(
    ("name", "away", "rise"),
    [
        ("flat", 2.99, 0.0),
        ("bull nose", 2.2, 0.0),
        ("bull nose", 2.9, 0.8 - math.sqrt(0.8**2 - 0.7**2)),
        ("ball", 1.8, 3 - 2.4),  # 3-4-5 triangle: sqrt(9 - 3.24) = 2.4
        ("drill", 3.0 - 1e-9, 3 * 0.6009),  # drill point 118 degrees: 0.3004 d high (design page, section 5)
    ],
)
def test_bodies(name: str, away: float, rise: float) -> None:
    body = BODIES[name]
    assert body.rise_at(away) == pytest.approx(rise, abs=2e-4)
    assert body.rise(np.array([away]))[0] == pytest.approx(rise, abs=2e-4)
    assert body.rise_at(3.0) == math.inf


def test_bodies_of_tools() -> None:
    assert body_of(ToolUse(1, "d", ToolKind.TWIST_DRILL, 10, point_angle_deg=118)).cone * 5 == pytest.approx(
        3.004, abs=5e-4
    )
    assert body_of(ToolUse(1, "t", ToolKind.TAP, 4)) == Body(2.0)
    assert body_of(ToolUse(1, "s", ToolKind.COUNTERSINK, 10, point_angle_deg=90)).cone == pytest.approx(1.0)
    assert body_of(ToolUse(1, "c", ToolKind.COUNTERSINK, 10, point_angle_deg=180)).cone == 0.0


def test_a_ball_needs_more_depth_before_a_flat_end_may_follow() -> None:
    assert deeper_by(Body(3, 3), Body(3)) == pytest.approx(3.0, abs=0.3)
    assert deeper_by(Body(3, 3), Body(1)) == pytest.approx(3 - math.sqrt(8), abs=0.02)
    assert deeper_by(Body(3, 3), Body(3, 3)) == 0.0
    assert deeper_by(Body(5, cone=0.6), Body(1, cone=0.6)) == 0.0


@pytest.mark.outside_check(
    subject="body of the cutter",
    source="height of a ball above its lowest point, r - sqrt(r^2 - x^2)",
    closeness="1e-6",
    standing="mathematics",
)
def test_a_flat_end_may_pass_beside_a_floor_that_a_point_may_touch() -> None:
    """The corner of a flat mill reaches 3 mm to the side; the flank of a ball stands higher there."""
    zone = Heap(rectangle(10, -50, 30, 50), 0.0)
    moves = moves_of("G1 Z-0.5", "G1 Y20", start=(7.5, 0))
    assert greatest_entry(moves, zone, BODIES["flat"]) == pytest.approx(0.5)
    rise = 3 - math.sqrt(9 - 2.5**2)
    assert rise > 0.5
    assert greatest_entry(moves, zone, BODIES["ball"]) == 0.0
    assert greatest_entry(moves_of("G1 Z-2", "G1 Y20", start=(7.5, 0)), zone, BODIES["ball"]) == pytest.approx(2 - rise)


def test_touching_is_not_entering() -> None:
    zone = Heap(rectangle(10, -50, 30, 50), 5.0)
    assert greatest_entry(moves_of("G1 Z-1", "G1 Y20", start=(7.0, 0)), zone, Body(3.0)) == 0.0
    assert greatest_entry(moves_of("G1 Z-1", "G1 Y20", start=(7.001, 0)), zone, Body(3.0)) == pytest.approx(6.0)
    assert greatest_entry(moves_of("G1 Z5", "G1 X20", start=(0, 0)), zone, Body(3.0)) == 0.0
    allowed = Heap(rectangle(10, -50, 30, 50), 5.0, side=0.002)
    assert greatest_entry(moves_of("G1 Z-1", "G1 Y20", start=(7.001, 0)), allowed, Body(3.0)) == 0.0


def test_a_keep_out_without_height_stops_rapids_too() -> None:
    zone = Heap(rectangle(10, -5, 30, 15), None)
    assert greatest_entry(moves_of("G0 X20"), zone, Body(3.0)) == pytest.approx(3.0)
    assert greatest_entry(moves_of("G0 X8"), zone, Body(3.0)) == pytest.approx(1.0)
    assert greatest_entry(moves_of("G0 X7"), zone, Body(3.0)) == 0.0


def test_a_sloping_move_enters_where_it_is_low_and_near() -> None:
    """From (0, 0, 4) to (20, 0, 0) over a box from x = 10, 1.5 high: over its far end the tip is 1.5 too low."""
    zone = Heap(rectangle(10, -5, 20, 5), 1.5)
    moves = moves_of("G1 Z4", "G1 X20 Z0")
    assert greatest_entry(moves, zone, Body(2.0)) == pytest.approx(1.5, abs=2e-4)
    entered = list(entries(moves, np.array([3]), zone, Body(2.0), 5))
    assert entered[0].place == pytest.approx((20, 0, 0), abs=1e-3)


# The inside of a bend


def bend_gap(x: float, h: float, bend_radius: float, corner: float) -> float:
    """Brute force: the corner circle (or sharp corner) of the cutter against wall, fillet and sheet, point by point."""
    angles = np.radians(np.linspace(180, 270, 721))
    body = np.column_stack((x + corner + corner * np.cos(angles), h + corner + corner * np.sin(angles)))
    body = np.vstack((body, [(x, h + 50.0)], [(x + 100.0, h)]))
    t = np.radians(np.linspace(180, 270, 2881))
    surface = [np.column_stack((bend_radius + bend_radius * np.cos(t), bend_radius + bend_radius * np.sin(t)))]
    surface.append(np.column_stack((np.zeros(3000), np.linspace(bend_radius, bend_radius + 60, 3000))))
    surface.append(np.column_stack((np.linspace(bend_radius, bend_radius + 110, 6000), np.zeros(6000))))
    points = np.vstack(surface)
    return float(cKDTree(points).query(body)[0].min())


@pytest.mark.outside_check(
    subject="inside bend",
    source="scipy: k-d tree over sampled surfaces",
    closeness="0.015 mm",
    standing="library",
)
@given(st.floats(0.5, 6), st.floats(0, 4), st.floats(0.02, 3), st.floats(0.02, 3))
@settings(max_examples=60)
def test_the_gap_in_a_bend_is_that_of_the_surfaces(radius: float, corner: float, x: float, h: float) -> None:
    """Corner circle in the fillet: Rb - rc - distance of the centres (design page, section 5)."""
    reach = radius - corner
    if x < reach and h < reach and math.hypot(reach - x, reach - h) >= reach - 0.01:
        return  # the cutter is in the metal
    cutter = 5.0
    wall = Segment((0, 100), (0, -100))  # travelled downwards: the cutter's side, x > 0, is on the left
    bend = Bend("corner", (wall,), radius, 0.0, gap=10.0)
    zone = Hollow(bend)
    amount, _ = zone.exact_depth(None, (x + cutter, 3.0), h, Body(cutter, corner))
    if x < radius + 10.0:
        assert 10.0 - amount == pytest.approx(bend_gap(x, h, radius, corner), abs=0.015)
    table = zone.depth(np.array([[x + cutter, 3.0]]), np.array([h]), np.zeros(1), Body(cutter, corner))
    assert float(table[0]) == pytest.approx(amount)


def step_down_limits(gap: float = 0.05) -> ProgramLimits:
    wall = Segment((0, 100), (0, -100))
    return ProgramLimits(
        stock=Stock(rectangle(-5, -40, 60, 40), 5.0, -2.0),
        hard_floors=(HardFloor("hood", 0.0),),
        bends=(Bend("inside bend", (wall,), 2.4, 0.0, 20.0, gap, "measured radius 2.4"),),
    )


def step_down_plan(x: float, h: float, corner: float = 0.0) -> ProgramPlan:
    tool = ToolUse(1, "6 mm", ToolKind.END_MILL, 6.0, corner_radius=corner)
    motions = (
        ToolChange(1), SpindleOn(2000), Rapid(30, -20), Rapid(z=6),
        Feed(60, z=h), Feed(120, x=x + 3.0), Feed(120, y=20), Rapid(z=15),
    )  # fmt: skip
    return ProgramPlan("step", (tool,), motions, 15.0, step_down_limits())


@pytest.mark.parametrize(("corner", "h"), [(0.0, 0.1), (0.0, 1.0), (0.5, 0.06), (0.5, 1.5), (2.4, 0.2), (3.0, 0.3)])
def test_the_flank_may_come_as_near_as_the_formula_says(corner: float, h: float) -> None:
    """x >= Rb - rc - sqrt((Rb - rc - g)^2 - (Rb - rc - h)^2); from Rb - rc up only the wall binds: x >= g."""
    reach, gap = 2.4 - corner, 0.05
    nearest = reach - math.sqrt((reach - gap) ** 2 - (reach - h) ** 2) if h < reach else gap
    good, bad = step_down_plan(nearest + 0.003, h, corner), step_down_plan(nearest - 0.01, h, corner)
    assert check_program(write_program(good), good).findings == ()
    finding = only(check_program(write_program(bad), bad), "in-bend")
    assert finding.rule == "measured radius 2.4"
    assert 'inside the bend "inside bend"' in finding.message
    assert 0 < (finding.measured or 0) <= 0.0105


def test_the_wrong_side_of_a_wall_and_above_it() -> None:
    behind = step_down_plan(-20.0, 2.0)
    assert (only(check_program(write_program(behind), behind), "in-bend").measured or 0) > 10
    text = "G21 G90\nT1 M6\nG0 Z25\nG0 X30 Y0\nS500 M3\nF100\nG0 X-30\nM30\n"
    over = verify_text(text, limits=step_down_limits(), tools=behind.tools, safe_height=21)
    assert over.clean


def test_a_curved_wall() -> None:
    """Inside a ring of radius 40, travelled anticlockwise: the cutter is on the left, inside."""
    ring = (Arc((40, 0), (-40, 0), (0, 0), ccw=True), Arc((-40, 0), (40, 0), (0, 0), ccw=True))
    zone = Hollow(Bend("ring", ring, 2.0, 0.0, gap=0.1))
    level, _ = zone.exact_depth(None, (40 - 3 - 2.0, 0), 0.5, Body(3.0))
    assert level < 0
    near, _ = zone.exact_depth(None, (40 - 3 - 0.05, 0), 5.0, Body(3.0))
    assert near == pytest.approx(0.05)
    outside, _ = zone.exact_depth(None, (45.0, 0), 5.0, Body(3.0))
    assert outside == pytest.approx(0.1 + 5 + 3)


def test_a_curved_wall_round_a_boss() -> None:
    """A round wall of radius 10 with the cutter outside: travelled clockwise, the outside is on the left."""
    ring = (Arc((10, 0), (-10, 0), (0, 0), ccw=False), Arc((-10, 0), (10, 0), (0, 0), ccw=False))
    zone = Hollow(Bend("boss", ring, 2.0, 0.0, gap=0.1))
    for xy, inside in (((16.0, 0.0), False), ((0.0, 13.05), True), ((5.0, 0.0), True)):
        amount, _ = zone.exact_depth(None, xy, 5.0, Body(3.0))
        assert (amount > 0) is inside
        assert float(zone.depth(np.array([xy]), np.array([5.0]), np.zeros(1), Body(3.0))[0]) == pytest.approx(amount)


@pytest.mark.parametrize("shift", [(0.0, 0.0, 0.0), (100.0, -40.0, 7.5), (-100.0, 40.0, -7.5), (0.5, 300.0, 25.0)])
def test_a_zone_and_a_program_that_are_shifted_together_meet_as_before(shift: tuple[float, float, float]) -> None:
    """Wherever the work's zero is set, and at whatever height: the same entries, wherever they are found."""
    dx, dy, dz = shift
    wall = Segment((dx, dy + 100), (dx, dy - 100))
    hollow = Hollow(Bend("corner", (wall,), 2.4, dz, dz + 20.0, gap=0.05))
    heap = Heap(rectangle(10 + dx, -5 + dy, 30 + dx, 15 + dy), 1.5 + dz)
    keep_out = Heap(rectangle(10 + dx, -5 + dy, 30 + dx, 15 + dy), None)

    def path(*places: tuple[float, float, float]):  # type: ignore[no-untyped-def]
        lines = [f"G1 X{x + dx:.4f} Y{y + dy:.4f} Z{z + dz:.4f}" for x, y, z in places]
        return moves_of(f"G0 Z{80 + dz}", *lines, start=(places[0][0] + dx, places[0][1] + dy))

    level = path((4.0, -20, 0.3), (4.0, 20, 0.3))  # flank 1 mm from the wall, tip 0.3 over the sheet
    assert greatest_entry(level, hollow, Body(3.0)) == pytest.approx(0.05 - (2.4 - math.hypot(1.4, 2.1)), abs=1e-6)
    assert greatest_entry(path((4.7, -20, 0.3), (4.7, 20, 0.3)), hollow, Body(3.0)) == 0.0
    assert greatest_entry(path((4.0, -20, 2.3), (4.0, 20, 2.3)), hollow, Body(3.0)) == 0.0
    assert greatest_entry(path((3.02, -20, 9.0), (3.02, 20, 9.0)), hollow, Body(3.0)) == pytest.approx(0.03)
    assert greatest_entry(path((3.02, -20, 20.1), (3.02, 20, 20.1)), hollow, Body(3.0)) == 0.0
    sloping = path((0, 0, 4), (20, 0, 0))
    assert greatest_entry(sloping, heap, Body(2.0)) == pytest.approx(1.5, abs=2e-4)
    assert greatest_entry(path((0, 0, 4), (8.5, 0, 4), (8.5, 0, 0.25)), heap, Body(2.0)) == pytest.approx(1.25)
    assert greatest_entry(path((0, 0, 4), (8.5, 0, 4), (8.5, 0, 0.25)), keep_out, Body(2.0)) == pytest.approx(0.5)


@pytest.mark.parametrize("at", [(6.9, 5), (33.1, 5), (20, -8.1), (20, 18.1)])
def test_each_side_of_a_region_is_watched(at: tuple[float, float]) -> None:
    """From 10 to 30 in X and from -5 to 15 in Y: a cutter of radius 3 clears it by a tenth, and then does not."""
    zone = Heap(rectangle(10, -5, 30, 15), 1.0)
    x, y = at
    nearer = (round(x + 0.2 * np.sign(20 - x), 1), round(y + 0.2 * np.sign(5 - y), 1))
    assert greatest_entry(moves_of("G1 Z-1", start=at), zone, Body(3.0)) == 0.0
    assert greatest_entry(moves_of("G1 Z-1", start=nearer), zone, Body(3.0)) == pytest.approx(2.0)


def test_no_more_entries_than_asked_for() -> None:
    zone = Heap(rectangle(10, -5, 30, 15), 1.0)
    moves = moves_of("G1 Z0", *(f"X{x}" for x in range(1, 30)), start=(0, 0))
    every = np.arange(len(moves))[2:]
    for most in (1, 2, 5):
        found = list(entries(moves, every, zone, Body(3.0), most))
        assert [e.move for e in found] == list(range(found[0].move, found[0].move + most))


def test_the_design_page_and_the_check_share_no_code() -> None:
    source = (Path(__file__).parents[2] / "holecam" / "program" / "zones.py").read_text(encoding="utf-8")
    assert "holecam.cuts" not in source


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: HardFloor("f", math.nan), 'hard floor "f": expected finite'),
        (lambda: KeepOut("k", rectangle(0, 0, 1, 1), math.inf), 'keep-out "k": expected finite'),
        (lambda: Bend("b", (), 1, 0), "expected at least one line or arc"),
        (lambda: Bend("b", (Segment((0, 0), (1, 0)),), -1, 0), "expected inside radius and gap of 0 or more"),
        (lambda: Stock(rectangle(0, 0, 1, 1), 0, 0), "expected its bottom 0 below its top 0 mm"),
        (lambda: Travel(x=(5, 1)), "travel of x: expected a range"),
        (lambda: ProgramLimits(spindle_rpm=(0, 100)), "spindle range"),
        (lambda: ProgramLimits(path_tolerance=0), "path tolerance 0 mm"),
    ],
)
def test_limits_that_make_no_sense_are_refused(make, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=message):
        make()
