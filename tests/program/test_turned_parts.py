"""The same part turned or mirrored on the table: what the check says turns with it, to the last finding.

Turns by a right angle and mirrors only swap axes and signs, so that every written number stays as it was.
"""

from __future__ import annotations

import re

import pytest
from expecting import only
from msgspec.structs import replace

from holecam.plan.limits import Bend, ExpectedHole, HardFloor, KeepOut, ProgramLimits, Stock, Travel
from holecam.plan.motions import (
    ArcFeed,
    Dialect,
    DrillCycle,
    Feed,
    Motion,
    ProgramPlan,
    Rapid,
    SpindleOn,
    Stop,
    ToolChange,
    ToolKind,
    ToolUse,
)
from holecam.program import check_program, write_program
from holecam.shapes import Arc, Curve, Outline, Point, Segment, outline_through

Matrix = tuple[int, int, int, int]

WAYS: dict[str, Matrix] = {
    "a quarter turn": (0, -1, 1, 0),
    "a half turn": (-1, 0, 0, -1),
    "three quarters": (0, 1, -1, 0),
    "mirrored left to right": (-1, 0, 0, 1),
    "mirrored front to back": (1, 0, 0, -1),
    "mirrored on the diagonal": (0, 1, 1, 0),
}

MILL = ToolUse(1, "6 mm end mill", ToolKind.END_MILL, 6.0, flute_length=9.0, overhang=20.0)
DRILL = ToolUse(2, "3 mm drill", ToolKind.TWIST_DRILL, 3.0, point_angle_deg=118.0)
CORNERS = [(-20.0, -15.0), (50.0, -15.0), (50.0, 25.0), (30.0, 35.0), (-20.0, 35.0)]


def mirrored(way: Matrix) -> bool:
    return way[0] * way[3] - way[1] * way[2] < 0


def moved(way: Matrix, p: Point) -> Point:
    return (way[0] * p[0] + way[1] * p[1], way[2] * p[0] + way[3] * p[1])


def moved_curve(way: Matrix, curve: Curve) -> Curve:
    """The curve on the turned part; in a mirror it is travelled backwards, so that its left stays its left."""
    if isinstance(curve, Segment):
        here: Curve = Segment(moved(way, curve.start), moved(way, curve.end))
    else:
        ccw = curve.ccw is not mirrored(way)
        here = Arc(moved(way, curve.start), moved(way, curve.end), moved(way, curve.center), ccw=ccw)
    return here.reversed() if mirrored(way) else here


def region(way: Matrix, corners: list[Point]) -> Outline:
    places = [moved(way, p) for p in corners]
    return outline_through(places[::-1] if mirrored(way) else places)


def box(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def moved_motion(way: Matrix, motion: Motion) -> Motion:
    """Motions of the plan below, all of which state both X and Y or neither."""
    if isinstance(motion, DrillCycle | ArcFeed | Rapid | Feed) and motion.x is not None and motion.y is not None:
        x, y = moved(way, (motion.x, motion.y))
        if isinstance(motion, ArcFeed):
            ccw = motion.ccw is not mirrored(way)
            return replace(motion, x=x, y=y, center=moved(way, motion.center), ccw=ccw)
        return replace(motion, x=x, y=y)
    return motion


def plan_on_the_table(way: Matrix = (1, 0, 0, 1)) -> ProgramPlan:
    """A groove with a round end beside a boss, and two holes; nothing in it is symmetrical."""
    motions: list[Motion] = [
        ToolChange(1), SpindleOn(2000), Rapid(0.0, 5.0), Rapid(z=1.0), Feed(60, z=-1.0),
        Feed(120, 20.0, 5.0), ArcFeed(120, 23.0, 8.0, (20.0, 8.0), ccw=True), Feed(120, 23.0, 12.0),
        ArcFeed(120, 27.0, 12.0, (25.0, 12.0), ccw=False), Rapid(z=10.0),
        Stop("measure"), ToolChange(2), SpindleOn(900),
        DrillCycle(1, 5.0, 20.0, 2.0, -6.0, 50), DrillCycle(2, 12.0, 22.0, 2.0, -6.0, 50, peck=2.5),
    ]  # fmt: skip
    # Round the boss the cutter is outside: travelled clockwise, outside is on the left
    boss = (Arc((-4, -6), (-8, -6), (-6, -6), ccw=False), Arc((-8, -6), (-4, -6), (-6, -6), ccw=False))
    edge = (Segment((40, 30), (40, -14)),)
    limits = ProgramLimits(
        hard_floors=(HardFloor("sheet", -1.5, region(way, box(18, 0, 30, 15))),),
        keep_outs=(KeepOut("clamp", region(way, box(-20, 0, -10, 4)), 8.0),),
        bends=tuple(
            Bend(name, tuple(moved_curve(way, c) for c in (wall[::-1] if mirrored(way) else wall)), 2.0, -3.0, 6.0, 0.1)
            for name, wall in (("boss", boss), ("edge", edge))
        ),
        stock=Stock(region(way, CORNERS), 0.0, -10.0),
        travel=Travel(x_length=400, y_length=400),
        holes=tuple(
            ExpectedHole(n, *moved(way, xy), -6.0, 2) for n, xy in ((1, (5.0, 20.0)), (2, (12.0, 22.0)))
        ),
    )  # fmt: skip
    return ProgramPlan("groove", (MILL, DRILL), tuple(moved_motion(way, m) for m in motions), 10.0, limits)


AXES = {"X": "XY", "Y": "XY", "I": "IJ", "J": "IJ"}


def turned_text(way: Matrix, text: str) -> str:
    """The program with every word of X, Y, I and J turned, each where it stands; in a mirror G2 is G3."""

    def word(found: re.Match[str]) -> str:
        letter, value = found[1], float(found[2])
        first = letter in "XI"
        column = (way[0], way[2]) if first else (way[1], way[3])
        target = 0 if column[0] else 1
        return f"{AXES[letter][target]}{column[target] * value:.3f}"

    lines = [line if line.startswith("(") else re.sub(r"([XYIJ])(-?[\d.]+)", word, line) for line in text.split("\n")]
    turned = "\n".join(lines)
    if mirrored(way):
        turned = re.sub(r"\bG([23])\b", lambda m: "G3" if m[1] == "2" else "G2", turned)
    return turned


PLAN = plan_on_the_table()
TEXT = write_program(PLAN)

UP = "G0 Z10.000\nM5\n"
EDITS: dict[str, tuple[str, str, str | None]] = {
    "nothing": ("", "", None),
    "under the floor": ("G1 Z-1.000 F60", "G1 Z-1.600 F60", "below-hard-floor"),
    "into the clamp": (UP, f"G0 Z10\nG0 X-7.5 Y2\nZ5\nZ10\n{UP}", "in-keep-out"),
    "past the clamp": (UP, f"G0 Z10\nG0 X-6.5 Y2\nZ5\nZ10\n{UP}", None),
    "the boss from the left": (UP, f"G0 Z10\nG0 X-11.05 Y-6\nG1 Z2 F60\nG0 Z10\n{UP}", "in-bend"),
    "the boss from the right": (UP, f"G0 Z10\nG0 X-0.95 Y-6\nG1 Z2 F60\nG0 Z10\n{UP}", "in-bend"),
    "the boss from below": (UP, f"G0 Z10\nG0 X-6 Y-11.05\nG1 Z2 F60\nG0 Z10\n{UP}", "in-bend"),
    "the boss from above": (UP, f"G0 Z10\nG0 X-6 Y-0.95\nG1 Z2 F60\nG0 Z10\n{UP}", "in-bend"),
    "clear of the boss": (UP, f"G0 Z10\nG0 X-11.2 Y-6\nG1 Z2 F60\nG0 Z10\n{UP}", None),
    "the edge": (UP, f"G0 Z10\nG0 X43.05 Y10\nG1 Z2 F60\nG0 Z10\n{UP}", "in-bend"),
    "clear of the edge": (UP, f"G0 Z10\nG0 X43.2 Y10\nG1 Z2 F60\nG0 Z10\n{UP}", None),
    "a rapid into the block": (UP, f"G0 Z10\nG0 X40 Y-10\nG0 Z-0.5\nG0 Z10\n{UP}", "rapid-into-stock"),
    "a rapid that grazes the block": (UP, f"G0 Z10\nG0 X10 Y-17.9\nG0 Z-0.5\nG0 Z10\n{UP}", "rapid-into-stock"),
    "a rapid that grazes its far end": (UP, f"G0 Z10\nG0 X52.9 Y0\nG0 Z-0.5\nG0 Z10\n{UP}", "rapid-into-stock"),
    "a rapid beside its far end": (UP, f"G0 Z10\nG0 X53.1 Y34\nG0 Z-0.5\nG0 Z10\n{UP}", None),
    "a rapid beside the block": (UP, f"G0 Z10\nG0 X10 Y-18.1\nG0 Z-0.5\nG0 Z10\n{UP}", None),
    "a rapid along the round end": (UP, f"G0 Z10\nG0 X20 Y11\nG0 Z-0.5\nG0 Z10\n{UP}", "rapid-into-stock"),
    "a rapid into the arc that was cut": (UP, f"G0 Z10\nG0 X25 Y14\nG0 Z-0.9\nG0 Z10\n{UP}", None),
    "a cut aside": (UP, f"G1 X27.5 Y12 F120\n{UP}", "cut-not-planned"),
    "a hole aside": ("X12.000 Y22.000", "X12.400 Y22.300", "hole-not-planned"),
    "a hole too deep": ("X5.000 Y20.000 Z-6.000", "X5.000 Y20.000 Z-6.200", "hole-depth"),
    "the arc the other way": ("G2 X27.000 Y12.000 I2.000 J0.000", "G3 X27.000 Y12.000 I2.000 J0.000", "cut-missing"),
}  # fmt: skip


def told(way: Matrix, text: str, plan: ProgramPlan) -> list[tuple[object, ...]]:
    rows = []
    for f in check_program(text, plan).findings:
        measured = None if f.measured is None else round(f.measured, 6) + 0.0
        place = None if f.place is None else (*moved(way, f.place[:2]), f.place[2])
        rows.append((f.code, f.line, measured, place and tuple(round(v, 3) + 0.0 for v in place)))
    return rows


@pytest.mark.parametrize("edit", EDITS)
def test_what_is_told_turns_with_the_part(edit: str) -> None:
    old, new, code = EDITS[edit]
    assert old in TEXT, f"{old!r} is not in {TEXT}"
    text = TEXT.replace(old, new, 1) if old else TEXT
    here = told((1, 0, 0, 1), text, PLAN)
    zones = {"below-hard-floor", "in-keep-out", "in-bend", "rapid-into-stock", "hole-not-planned", "hole-depth"}
    codes = {row[0] for row in here}
    assert (code in codes) if code else not (codes & zones), here
    back = {"a quarter turn": "three quarters", "three quarters": "a quarter turn"}
    for name, way in WAYS.items():
        there = told(WAYS[back.get(name, name)], turned_text(way, text), plan_on_the_table(way))
        assert there == here, name


def test_the_writer_turns_as_the_words_do() -> None:
    for way in WAYS.values():
        words = [
            re.sub(r"-0\.000", "0.000", t) for t in (write_program(plan_on_the_table(way)), turned_text(way, TEXT))
        ]
        assert sorted(words[0].split()) == sorted(words[1].split())


SLIPS = [
    ("Z-6.000 R", "Z-6.100 R", "hole-depth"),
    ("G2 X27.000 Y12.000 I2.000 J0.000", "G2 X27.000 Y12.000 I2.000 J0.000\nG1 X27.300", "cut-not-planned"),
    ("S2000", "S2400", "speed-not-planned"),
    ("F120", "F150", "feed-not-planned"),
    ("Z-1.000 F60", "Z-1.600 F60", "below-hard-floor"),
]


def in_inches(text: str) -> str:
    """The program in inches to five decimals: every length and feed divided by 25.4."""
    words = re.sub(r"([XYZIJRQF])(-?[\d.]+)", lambda m: f"{m[1]}{float(m[2]) / 25.4:.5f}", text)
    return words.replace("G21", "G20")


@pytest.mark.parametrize(("old", "new", "code"), SLIPS)
def test_a_program_in_inches_is_told_the_same(old: str, new: str, code: str) -> None:
    """1 in = 25.4 mm exactly (international yard and pound agreement, 1959): the same slip has the same size."""
    speech = Dialect(unit="in", decimals=5)
    body = "\n".join(line for line in TEXT.split("\n") if not line.startswith("("))
    assert check_program(in_inches(body), PLAN, speech).clean
    assert old in body
    wrong = body.replace(old, new, 1)
    ours, theirs = only(check_program(wrong, PLAN), code), only(check_program(in_inches(wrong), PLAN, speech), code)
    assert ours.line == theirs.line
    assert theirs.measured == pytest.approx(ours.measured, rel=2e-3, abs=1e-3)
    assert theirs.place == pytest.approx(ours.place, abs=1e-3)
