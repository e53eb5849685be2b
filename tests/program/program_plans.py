"""Plans that the tests of programs share: invented parts of a copper lantern hood with a brass foot rail."""

from __future__ import annotations

import math

from holecam.plan.motions import (
    ArcFeed,
    DrillCycle,
    ExpectedHole,
    Feed,
    HardFloor,
    KeepOut,
    Motion,
    ProgramLimits,
    ProgramPlan,
    Rapid,
    Remark,
    SpindleOn,
    Stock,
    Stop,
    ToolChange,
    ToolKind,
    ToolUse,
    Travel,
)
from holecam.shapes import rectangle

SPOT = ToolUse(1, "spot drill 6 mm", ToolKind.SPOT_DRILL, 6.0, point_angle_deg=120.0, flute_length=12.0, overhang=30.0)
DRILL = ToolUse(
    2, "No. 38 drill", ToolKind.TWIST_DRILL, 2.5781, point_angle_deg=118.0, flute_length=30.0, overhang=40.0
)
MILL = ToolUse(3, "6 mm end mill, 2 flutes", ToolKind.END_MILL, 6.0, flute_length=16.0, overhang=25.0)

RAIL = Stock(rectangle(0, 0, 120, 12), 0.0, -5.0)
BLOCK = Stock(rectangle(0, 0, 60, 40), 0.0, -20.0)


def drilling_plan(count: int = 5) -> ProgramPlan:
    """A row of rail screws: spot all, stop to measure, drill all with pecks."""
    pitch, first = 19.05, (12.192, 4.953)
    places = [(first[0] + k * pitch, first[1]) for k in range(count)]
    motions: list[Motion] = [ToolChange(1), SpindleOn(1500), Remark("spot all rail screws")]
    motions += [DrillCycle(k, x, y, 2.0, -1.1, 60.0) for k, (x, y) in enumerate(places, 1)]
    motions += [Stop("measure the spots: 12.19 from the left end to hole 1"), ToolChange(2), SpindleOn(2200)]
    motions += [DrillCycle(k, x, y, 2.0, -6.2, 50.0, peck=2.5) for k, (x, y) in enumerate(places, 1)]
    holes = tuple(
        ExpectedHole(k, x, y, tip, tool) for tool, tip in ((1, -1.1), (2, -6.2)) for k, (x, y) in enumerate(places, 1)
    )
    limits = ProgramLimits(
        hard_floors=(HardFloor("bench", -8.0),),
        keep_outs=(KeepOut("left clamp", rectangle(-20, -10, -2, 20), 15.0),),
        stock=RAIL,
        travel=Travel(x=(-50, 250), y=(-50, 150), z=(-60, 80)),
        spindle_rpm=(120, 2800),
        fastest_feed_mm_min=800.0,
        holes=holes,
    )
    return ProgramPlan(
        "rail screws",
        (SPOT, DRILL),
        tuple(motions),
        12.7,
        limits,
        title=("Lantern hood, left half (invented)",),
        zero="X0 left end, Y0 rear edge, Z0 top of the rail",
        cautions=("First run above the work, a hand on the stop.",),
    )


def pocket_plan() -> ProgramPlan:
    """A rounded pocket in two passes over a sheet that must not be touched, with a stop before the last pass."""
    motions: list[Motion] = [ToolChange(3), SpindleOn(2400), Rapid(x=15, y=15), Rapid(z=1.0)]
    for number, z in enumerate((-1.0, -1.9), 1):
        if number == 2:
            motions += [Stop("look for grey at the floor"), Rapid(x=15, y=15), Rapid(z=1.0)]
        motions.append(Feed(60.0, z=z))
        motions += [
            Feed(180.0, x=45),
            ArcFeed(180.0, 48, 18, (45, 18), ccw=True),
            Feed(180.0, y=25),
            ArcFeed(180.0, 45, 28, (45, 25), ccw=True),
            Feed(180.0, x=15),
            ArcFeed(120.0, 12, 25, (15, 25), ccw=True),
            Feed(180.0, y=18),
            ArcFeed(120.0, 15, 15, (15, 18), ccw=True),
            ArcFeed(180.0, 15, 15, (15, 21.5), ccw=False),
        ]
        motions.append(Rapid(z=12.0))
    limits = ProgramLimits(
        hard_floors=(HardFloor("copper hood", -1.95, rectangle(5, 5, 55, 35), "sheet, less its doubt"),),
        keep_outs=(KeepOut("clamp", rectangle(52, 0, 60, 40), 8.0),),
        stock=BLOCK,
        travel=Travel(x_length=200, y_length=100, z_length=100),
        spindle_rpm=(120, 2800),
    )
    return ProgramPlan("patch", (MILL,), tuple(motions), 12.0, limits, title=("Foot rail end",))


def helix_plan() -> ProgramPlan:
    """A round hole bored by a helix with an end mill, then its wall, at places that do not fall on any grid."""
    cx, cy, r = 30.0 + 1 / 3, 20.0 + 1 / 7, 4.0 + 1 / 9
    motions: list[Motion] = [ToolChange(3), SpindleOn(2000), Rapid(cx + r, cy), Rapid(z=0.5)]
    for turn in range(1, 5):
        motions.append(ArcFeed(100.0, cx + r, cy, (cx, cy), ccw=True, z=0.5 - 0.6 * turn))
    angle = math.radians(200)
    end = (cx + r * math.cos(angle), cy + r * math.sin(angle))
    motions += [
        ArcFeed(100.0, *end, (cx, cy), ccw=True),
        ArcFeed(100.0, cx + r, cy, (cx, cy), ccw=True),
        Feed(150.0, x=cx, y=cy),
        Rapid(z=12.0),
    ]
    limits = ProgramLimits(stock=BLOCK, hard_floors=(HardFloor("sheet", -1.9),))
    return ProgramPlan("round hole", (MILL,), tuple(motions), 12.0, limits)


ALL_PLANS = {"drilling": drilling_plan, "pocket": pocket_plan, "helix": helix_plan}

DRILLING_HEADER = "(JOB - Lantern hood, left half [invented])"
"""How the title of the drilling plan is written."""
