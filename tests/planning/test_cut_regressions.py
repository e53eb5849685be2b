"""Faults of cuts and their programs, found by following the written programs with an interpreter of its own."""

from __future__ import annotations

import copy
from typing import Any

import pytest
import shapely

from holecam.job.models import job_from_dict
from holecam.plan.dialect import Dialect
from holecam.plan.finding import Severity
from holecam.plan.motions import DrillCycle, Feed, Rapid, SpindleOn
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan
from holecam.program.writer import write_program

BASE: dict[str, Any] = {
    "title": "invented",
    "unit": "mm",
    "machine": {"kind": "cnc"},
    "tools": {"drills": ["metric"], "end_mills": [{"name": "cutter", "diameter": 6}]},
    "part": {"material": "brass", "thickness": 12, "outline": {"rectangle": [160, 80]}},
}
POCKET: dict[str, Any] = {"name": "pocket", "rectangle": [40, 25], "at": [40, 20], "depth": 2}
STEP_DOWN: dict[str, Any] = {
    "name": "end",
    "layers": [
        {"is": "brass bar", "thick": 3, "within": 0.02},
        {"is": "soft solder", "thick": 0.15, "within": 0.04},
        {"is": "copper sheet", "thick": 0.6, "keep": True},
    ],
    "touch": {"on": "bare sheet", "with": "lamp", "within": 0.01},
    "region": {"rectangle": [12, 20]},
    "open_sides": [1, 3, 4],
    "supported_by": "a former",
}


def plan(**more: Any) -> Plan:
    data = copy.deepcopy(BASE)
    for key, value in more.items():
        if isinstance(value, dict) and isinstance(data.get(key), dict):
            data[key].update(value)
        else:
            data[key] = value
    return make_plan(job_from_dict(data))


def stops(result: Plan) -> list[str]:
    return [f.code for f in result.findings if f.severity is Severity.STOP]


def test_a_hole_in_a_recess_leaves_its_bottom() -> None:
    """12 mm thick, the face 6 mm down, 2 mm to stay: the tip ends at -10, not at -16 on the far side."""
    hole = {"name": "hole", "points": [[20, 20]], "drill": "5 mm", "depth": {"leave_bottom": 2}}
    for more, tip in (({}, -10.0), ({"face_z": -6}, -10.0), ({"face_z": -6, "thickness": 5}, -9.0)):
        result = plan(pattern=[{**hole, **more}])
        cycles = [m for p in result.programs for m in p.motions if isinstance(m, DrillCycle)]
        assert min(c.bottom_z for c in cycles) == pytest.approx(tip)


def test_a_through_hole_in_a_recess_goes_no_farther_than_any_other() -> None:
    depths = []
    for more in ({}, {"face_z": -6}):
        result = plan(pattern=[{"name": "hole", "points": [[20, 20]], "drill": "5 mm", **more}])
        cycles = [m for p in result.programs for m in p.motions if isinstance(m, DrillCycle)]
        depths.append(min(c.bottom_z for c in cycles))
    assert depths[0] == pytest.approx(depths[1])


def test_a_face_under_the_far_face_is_refused() -> None:
    with pytest.raises(Exception, match="under the far face"):
        plan(pattern=[{"name": "hole", "points": [[20, 20]], "drill": "5 mm", "face_z": -13}])


@pytest.mark.parametrize("cut", [{"pocket": [POCKET]}, {"step_down": [STEP_DOWN]}], ids=["pocket", "step-down"])
def test_a_cutter_turns_at_a_speed_that_the_pulleys_give(cut: dict[str, Any]) -> None:
    steps = [62.5, 250, 500, 1000, 1500.5]
    spindle = {"slowest": 62.5, "fastest": 1500.5, "steps": steps}
    result = plan(machine={"kind": "cnc", "spindle": spindle}, **cut)
    assert stops(result) == []
    speeds = {m.rpm for p in result.programs for m in p.motions if isinstance(m, SpindleOn)}
    assert speeds
    assert all(min(abs(s - step) for step in steps) < 1.0 for s in speeds)


def test_a_feed_is_never_rounded_past_the_fastest() -> None:
    """500 mm/min are 19.68504 in/min: written with two decimals they were 19.69, and the program was withheld."""
    machine = {"kind": "cnc", "fastest_feed": 500, "program": {"unit": "in"}}
    result = plan(
        machine=machine, part={"material": "beech", "thickness": 12}, pocket=[{**POCKET, "cutting": {"feed": 900}}]
    )
    assert stops(result) == []
    words = [w for p in result.programs for w in write_program(p, Dialect("in")).split() if w.startswith("F")]
    assert "F19.68" in words


HELICES: list[dict[str, Any]] = [
    {
        "unit": "in",
        "machine": {"kind": "cnc", "rigidity": "light", "program": {"unit": "mm"}},
        "tools": {"end_mills": [{"name": "cutter", "diameter": 0.25, "flutes": 4, "material": "carbide"}]},
        "part": {"material": "mild steel", "thickness": 0.7874, "outline": {"rectangle": [6.2992, 3.937]}},
        "pocket": [
            {
                "name": "pk",
                "points": [[1.5748, 0.9843], [3.9623, 0.9843], [3.4848, 2.3229], [2.0523, 2.3229]],
                "island": [{"circle": 0.1575, "centre": [2.64917677, 1.51974784]}],
                "depth": 0.0472,
            }
        ],
    },
    {
        "unit": "in",
        "machine": {"kind": "cnc", "program": {"decimals": 3}},
        "tools": {"end_mills": [{"name": "cutter", "diameter": 0.2362, "flutes": 3, "material": "carbide"}]},
        "part": {"material": "copper", "thickness": 0.7874, "outline": {"rectangle": [6.2992, 3.937]}},
        "pocket": [
            {
                "name": "pk",
                "rectangle": [2.2672, 1.4173],
                "centre": [3.1496, 1.9685],
                "turn_deg": 30,
                "depth": 0.1575,
                "relief": {"shape": "along one wall"},
                "sneak": {"undersize": 0.0197, "steps": 3},
                "cutting": {"direction": "climb", "chip": 0.0012},
            }
        ],
        "setup": {
            "skew": {
                "edge": {"first": [0.3937, 0.0394], "second": [3.9365, 0.1012], "origin_reads": [-0.0194, -0.0118]}
            }
        },
    },
]


@pytest.mark.parametrize("job", HELICES, ids=["a plunge in air", "chords for arcs"])
def test_two_levels_that_come_down_the_same_way_are_both_found(job: dict[str, Any]) -> None:
    """The check took the first way down for the second, and said of a right program that a cut is missing."""
    assert stops(make_plan(job_from_dict({"title": "invented", **job}))) == []


def swept(result: Plan, level: float, radius: float) -> shapely.Geometry:
    """What the cutter sweeps at its lowest level, followed move by move."""
    lines = []
    for program in result.programs:
        x = y = z = 0.0
        for motion in program.motions:
            if isinstance(motion, Feed | Rapid):
                nx = x if motion.x is None else motion.x
                ny = y if motion.y is None else motion.y
                nz = z if motion.z is None else motion.z
                if isinstance(motion, Feed) and max(z, nz) <= level + 1e-6 and (x, y) != (nx, ny):
                    lines.append(shapely.LineString([(x, y), (nx, ny)]))
                x, y, z = nx, ny, nz
    return shapely.union_all(lines).buffer(radius)


@pytest.mark.parametrize("open_sides", [[1, 3, 4], [1, 2, 3], [3, 4], [4]])
@pytest.mark.parametrize("feed_deg", [0, 90, 30])
def test_strokes_along_a_side_that_stays_leave_no_strip_on_it(open_sides: list[int], feed_deg: int) -> None:
    """Where the bar goes on the strokes ended up to a step-over before it; all that the cutter reaches comes off."""
    result = plan(step_down=[{**STEP_DOWN, "open_sides": open_sides, "feed_deg": feed_deg}])
    radius = 3.0
    level = min(p.z for p in result.step_downs[0].passes)
    x0, y0, x1, y1 = 0.0, 0.0, 12.0, 20.0
    sides = {1: [(x0, y0), (x1, y0)], 2: [(x1, y0), (x1, y1)], 3: [(x1, y1), (x0, y1)], 4: [(x0, y1), (x0, y0)]}
    stays = shapely.union_all([shapely.LineString(s) for n, s in sides.items() if n not in open_sides])
    room = shapely.box(-20, -20, 32, 40) - stays.buffer(radius + 0.005, quad_segs=64)
    reached = room.buffer(radius, quad_segs=64) & shapely.box(x0, y0, x1, y1)
    uncut = reached - swept(result, level, radius + 0.005)
    assert uncut.buffer(-0.01).area < 0.01
    centres = swept(result, level, 1e-9)
    assert centres.distance(stays) > radius - 1e-6


def test_a_cutter_that_may_not_plunge_is_not_sent_straight_down_on_metal() -> None:
    def asked(sides: list[int], *, centre: bool) -> list[str]:
        mill = {"name": "cutter", "diameter": 6, "centre_cutting": centre}
        return stops(plan(tools={"end_mills": [mill]}, step_down=[{**STEP_DOWN, "open_sides": sides, "feed_deg": 0}]))

    assert asked([4], centre=True) == []
    assert asked([2, 4], centre=False) == []
    assert asked([2], centre=False) == ["comes-down-on-metal"]


@pytest.mark.parametrize("bar_ends", ["square", "round"])
def test_the_end_of_a_bar_is_found_in_front_of_a_bend(bar_ends: str) -> None:
    """It was looked for from behind the bend, where a straight bar does not lie: "length inf"."""
    slot = {
        "name": "slot",
        "path": [[0, 42.5], [70, 42.5], [95, 52.5], [118, 52.5]],
        "clears": {"width": 10.4, "height": 6.5, "within": 0.2, "float": 0.3},
        "bar_ends": bar_ends,
        "ends": ["open", "blind"],
    }
    result = plan(slot=[slot])
    assert stops(result) == []
    assert "bar-too-long" not in [f.code for f in result.findings]


def test_a_slot_with_more_clearance_than_the_radius_of_its_cutter() -> None:
    slot = {
        "name": "slot",
        "from": [0, 30],
        "to": [120, 30],
        "clears": {"width": 10, "height": 4, "within": 0.7, "float": 1.0},
        "ends": ["open", "blind"],
    }
    result = plan(tools={"end_mills": [{"name": "cutter", "diameter": 3}]}, slot=[slot])
    farthest = max(m.x for p in result.programs for m in p.motions if isinstance(m, Feed) and m.x is not None)
    assert farthest + 1.5 == pytest.approx(120 + 1.7)  # the bar's end and its clearance


@pytest.mark.parametrize(
    ("machine", "severities"), [({"kind": "cnc"}, []), ({"kind": "manual"}, [Severity.CAUTION])], ids=["cnc", "manual"]
)
def test_what_two_handwheels_cannot_follow_is_told_where_two_handwheels_do_it(
    machine: dict[str, Any], severities: list[Severity]
) -> None:
    slanting = {"name": "slot", "from": [30, 20], "to": [90, 50], "width": 8, "depth": 2, "cutter": "cutter"}
    curved = {"name": "pocket", "circle": 30, "centre": [80, 40], "depth": 2, "cutter": "cutter"}
    result = plan(machine={"kind": None, **machine}, pocket=[curved], slot=[slanting])
    told = [f.severity for f in result.findings if f.code == "two-handwheels" and f.operation == "pocket"]
    assert told == severities


def test_a_second_cutter_turns_at_its_own_speed() -> None:
    mills = [{"name": "cutter", "diameter": 6}, {"name": "small", "diameter": 2}]
    speeds = []
    for stated in ({}, {"cutting": {"speed_rpm": 700, "feed": 90}}):
        pocket = {**POCKET, "cutter": "cutter", "second_cutter": "small", **stated}
        result = plan(tools={"end_mills": mills}, pocket=[pocket])
        first, second = (
            next(m for m in p.motions if isinstance(m, SpindleOn)).rpm for p in result.programs if "pocket" in p.name
        )
        speeds.append((first, second))
    assert speeds[1][0] == 700
    assert speeds[1][1] == speeds[0][1] > 2000


def deep(thickness: float, drill: str) -> list[float]:
    hole = {"name": "hole", "points": [[20, 20]], "drill": drill}
    part = {"material": "brass", "thickness": thickness, "outline": {"rectangle": [60, 40]}}
    return [f.measured or 0.0 for f in plan(part=part, pattern=[hole]).findings if f.code == "deep-hole"]


def test_a_hole_deeper_than_the_flutes_is_told() -> None:
    # A 118 degree point and a little more goes through as well
    assert deep(27.0, "3 mm") == []
    (tip,) = deep(30.0, "3 mm")
    assert 30.9 < tip < 33.0
    assert deep(161.0, "4.2 mm"), "inches for millimetres"
