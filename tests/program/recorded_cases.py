"""Small programs whose whole reading, writing or check is kept in ``tests/program/recorded``.

They were read when they were made, the longest tables of figures in part. They tell that something has changed; that it
is right is the business of the other tests.

After a wanted change run ``python tests/program/recorded_cases.py``, read every line of the difference, commit both.
Figures are kept to a millionth of a millimetre, so that arithmetic noise is no difference.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from msgspec.structs import replace
from program_plans import BLOCK, DRILL, MILL, drilling_plan, helix_plan, pocket_plan

from holecam.plan.limits import Bend, ExpectedHole, HardFloor, KeepOut, ProgramLimits, Stock, Travel
from holecam.plan.motions import (
    ArcFeed,
    Dialect,
    DrillCycle,
    Feed,
    Motion,
    ProgramPlan,
    Rapid,
    Remark,
    SpindleOff,
    SpindleOn,
    Stop,
    TapCycle,
    ToolChange,
    ToolKind,
    ToolUse,
)
from holecam.program import CheckResult, check_program, read_program, verify_text, write_program
from holecam.program.moves import Moves, Setup
from holecam.program.planned_moves import planned_moves
from holecam.shapes import Segment, rectangle

FOLDER = Path(__file__).parent / "recorded"


def figure(value: float | None) -> str:
    """A figure to a millionth, without noise and without a minus zero; ``-`` for none, ``?`` for one not known."""
    if value is None:
        return "-"
    if value != value:
        return "?"
    return f"{round(value, 6) + 0.0:.6f}".rstrip("0").rstrip(".")


def figures(*values: float) -> str:
    return " ".join(figure(v) for v in values)


# Read


HEAD = "G21 G90\nT1 M6\nG0 Z10\nG0 X0 Y0\nF100\nS500 M3\n"

READ: dict[str, tuple[str, Dialect]] = {
    "inches, increments and arcs": (
        (
            "%\nO0042\nN10 G17 G20 G40 G49 G54 G80 G90 G94 (head)\n\nT3 M6\nG0 Z1.5\nS1200.5 M3\nX1 Y-2\n"
            "G1 Z-.125 F4.5\n"
            "G91 X.25 Y.5\nZ-.01\nG90 G3 X2 Y-1.5 I.375 J0\nG2 X2 Y-1.5 J-.5\nG2 X2.5 Y-1 R.5\nG3 X2 Y-1.5 Z-.2 R-.5\n"
            "G90.1 G3 X2 Y-.5 I2 J-1\nG91.1 X2 Y-1.5 J-.5\nG21\nG1 X50 F80\nG2 X52 I1\nG0 Z40\nM5\nM2\n%\n"
        ),
        Dialect(),
    ),
    "centres from the zero, chosen by the machine": (
        HEAD + "G1 Z-1\nG3 X10 Y0 I5 J0\nG2 X0 Y0 I5 J0\nG91.1\nG3 X10 I5\nM30\n",
        Dialect(arc_centers="absolute"),
    ),
    "cycles": (
        HEAD + "G98 G81 X5 Y6 Z-3 R2\nX8\nG99 Y7\nG98 X9 Z-4\nG82 X10 Z-1 R2 P.5\nY8\nG83 X11 Z-4 R2 Q2.5\nX12 Q4\n"
        "G73 X13 Z-4 R2 Q2.5\nG84 X14 Z-5 R3\nG99 G84 X15 Z-5 R3\nG85 X16 Z-2 R3\nG98 G89 X17 Z-2 R3 P1\n"
        "G80\nG0 Z1\nG81 X18 Z-1 R4\nX19 R0.5\nG80\nM30\n",
        Dialect(),
    ),
    "speeds, feeds and modes from line to line": (
        HEAD + "G1 X1\nS600\nX2\nS700 M3\nX3\nM5\nX4\nM4\nX5\nG21 F50 X6\nF0.5 X7\nS0.5 X8\nG4 P0\nG4 P.25\nG91\nX1\n"
        "G90 X1\nG20\nX1\nF2 X2\nG21\nX3\nG43 H0 X4\nH0 G43 X5\nG49 X6\nG54 X7\nG17 X8\nG99 X9\nG94 X10 M9 M49\n"
        "T3 M6 G0 Z5\nM2\n",
        Dialect(),
    ),
    "cycles of which words are kept": (
        HEAD + "G83 X1 Z-1 R1 Q1\nG81 X2 Z-1 R2\nX3\nG0 X4\nG82 X5 Z-1 R1 P1\nX6 P2\nG20\nG21\nF100\nG82 X7 Z-2 R1 P0\n"
        "G91 X1 Z-2 R-4\nX1 R-4\nM30\n",
        Dialect(),
    ),
    "a kept depth by increments": (HEAD + "G91 G81 X1 Z-4 R-8\nX1 Z-4\nM30\n", Dialect()),
    "a cycle after other units": (HEAD + "G81 X1 Z-1 R1\nG20\nF1\nX1\nM30\n", Dialect()),
    "cycles from where nobody knows": (HEAD.replace("G0 X0 Y0\n", "G0 X0\n") + "G81 X1 Z-1 R1\nM30\n", Dialect()),
    "a cycle from a height that nobody knows": (HEAD.replace("G0 Z10\n", "") + "G81 X1 Y1 Z-1 R1\nM30\n", Dialect()),
    "an increment from nowhere": (HEAD.replace("G0 X0 Y0\n", "") + "G91 G1 X1\nM30\n", Dialect()),
    "cycles by increments": (
        HEAD + "G91 G81 X3 Y1 Z-4 R-8 L3\nG90\nX1 Z-1 R1 L2\nG80\nG99 G82 X2 Z-2 R1 P0\nX3\nM30\n",
        Dialect(),
    ),
    "arcs that stand upright": (
        HEAD + "G1 Z0\nG18 G3 X0.001 Z0.001 I0 K0.001\nG2 X0 Z0 R0.001\nG19 G2 Y0.001 Z0.001 J0.001\n"
        "G3 Y0 Z0 X0.004 R-0.001\nG17 G2 X0.002 Y0 R0.001\nM30\n",
        Dialect(),
    ),
    "tools, stops and offsets": (
        (
            "G21 G90\n(MSG - set)\n(... the vice)\nT1 M6\nG43 H1 G0 Z10\nX0 Y0\n(first)\nG4 P1.5\nM4\nS300\nG1 Z1 F50\n"
            "M3 M8\n(look)\n(... here)\nM0\nG1 X5\n(gone)\nX6\nM1\nM5\nT2\nG1 X7\n(change)\nM6\nG0 Z10\nG49 Z11\n"
            "X1 Y1\n"
            "G43 H2\nZ12\nM48\nM2\n"
        ),
        Dialect(),
    ),
    "tools changed at stops": (
        HEAD + "T2\nM0\nG0 Z9\nM0\nT2\nM0\nT3\nM1\nG0 Z8\nM0\nM30\n",
        Dialect(tool_change="stop"),
    ),
    "what some controls read otherwise": (
        HEAD + "/G1 X1 0\n( 50 \u00b0 )\nG1 X- 2\n;not a word\nM30\nG0 X9\nX10\n%\nX11\n",
        Dialect(comments="semicolon"),
    ),
    "nothing stated": ("X1\nG0 X1\nM30\n", Dialect()),
    "moves before units, tool and place": ("G0 Z5\nX1 Y2\nG1 Z-1\nM30\n", Dialect()),
    "many arcs about centres from the zero": (
        HEAD
        + "G1 Z-1\n"
        + "".join(f"G3 X{2 * k + 2} I{2 * k + 1} J0\nG1 Y0\n" for k in range(13))
        + "G3 X20 I23.0005 J0\nG3 X26 I23 J0.1\nX27\nM30\n",
        Dialect(arc_centers="absolute"),
    ),
    "remarks and words without a blank": (
        HEAD + "(a)G1(b)X5(c)Y6\nG1Z-1F50(d)\n(look)M0\nx7y8\n  N5  G0 Z10\t( e )\n\t\nT2M6\n/M1\nM30(f)\n"
        "(\xe9)(a)(\xe9)(\xe9)\n",
        Dialect(),
    ),
    "many plain lines": (
        HEAD
        + "G1 Z-1\n"
        + "".join(f"N{k} X{k}\nY{k}.5\nG2 X{k + 2} I1 F{90 + k}\nG3 X{k} J0 I-1\nG1 Z-.{k + 1}\n\n" for k in range(6))
        + "G0 Z10\nG20\n"
        + "".join(f"G1 X.{k} Y-.5 F{k}\nG2 X.{k} Y.5 J.5\n" for k in range(1, 10))
        + "".join(f"G0 X{k}\n" for k in range(12))
        + "M30\n",
        Dialect(),
    ),
}

REFUSED = [
    "G1", "X1", "G80 X1", "G2 Z5", "G2 X5", "G2 X10 I5 R5", "G18 G2 X1 R1", "G19 G2 Y1 J1 K1 R2", "G2 X1 Y1 K1",
    "G1 X1 I1", "G1 X1 P1", "G1 X1 L2", "G4", "G4 P-1", "G4 P1 X1", "G43", "G43 H1.5", "H2", "M6", "T1.5 M6", "T-1",
    "S-1", "F-1", "G20 F5", "G55", "G59.3 G54", "G1 G0 X1", "G17 G18", "G90 G91", "M3 M5", "M0 M30", "M7 M8 M9",
    "G10 L2", "G28", "G28.1", "G30", "G30.1", "G33 Z1", "G33.1", "G38.2 Z-1", "G41", "G42", "G43.1", "G53 X1",
    "G86 X1 Z-1 R1", "G87", "G88", "G92 X0", "G92.1", "G92.2", "G92.3", "G93", "G95", "G96", "M60", "M97", "M98 P1",
    "M99", "G5", "G1.05 X1", "M3.5", "G-1 X1", "G62", "M10", "A5", "B5", "C5", "D1", "E1", "O1 X1", "O", "U1", "V1",
    "W1", "X1 X2", "X", "XY1", "X1.2.3", "X=1", "X#1", "#1=2", "X[1+2]", "]", "X1%", "X1/", ":12", "1", "X1 N2",
    "N123456", "N1.5 X1", "N-1 X1", "X1234567890123456", "(a", "a)", "(a(b)", "G1 X1 ; rest", "G1 X1 \xe9",
    "G1 X1 \x07", "G81 X1 R1", "G81 X1 Z-1", "G81 X1 Z1 R0", "G83 X1 Z-1 R1", "G83 X1 Z-1 R1 Q-1", "G73 X1 Z-1 R1",
    "G83 X1 Z-9 R9 Q.001", "G82 X1 Z-1 R1", "G89 X1 Z-1 R1 P-1", "G81 X1 Z-1 R1 Q1", "G81 X1 Z-1 R1 P1",
    "G81 X1 Z-1 R1 L0", "G81 X1 Z-1 R1 L1.5", "G81 X1 Z-1 R1 L1001", "G18 G81 X1 Z-1 R1", "G91 G81 X1 Z-1",
    "G81 Z-1 R1 I1", "G2 X1 Y0 R0", "G2 X0 Y0 R1", "G2 X10 R4", "G2 X10 I4", "G2 X10 I0", "G90.1 G2 X10 I5", "%X1",
    "O123456789", "G0 X1 (b) (c", "M30 M30", "=1", "X1#", "X1]", "X1[", "G1 X1 \x7f", "(\x9f)", "(\x80)", "(\x1f)",
    "G1 X1 \xa0", "X1 Q?", "G1 X1 $", "XX", "X@", "N12345", "N0 X1", "G1 X" + "1" * 15, "G1 X1" + " " * 251,
    "G1 X1" + " " * 252, "/", "/ X1", "//X1", "%%", "(a)(b)", "G1(a)X1(b)Y1", "M2.", "M-0", "G0.0 X1", "G00 X1",
    "g1x1", "M03", "G1 X-.5", "G1 X+1.", "T 0 1", "G1.06 X1", "G1.04 X1", "G1 X1 ~\xe9", "(~)\tX1",
]  # fmt: skip


def setup_text(setup: Setup) -> str:
    stated = f"{'units' if setup.units_stated else 'no units'}, {'G90/91' if setup.distance_stated else 'no mode'}"
    return f"T{setup.tool} spindle {setup.spindle} {figure(setup.rpm)} rpm, {stated}, H{setup.length_offset}"


def move_rows(moves: Moves) -> list[str]:
    """The moves, a line each; what is set stands before those that it holds for."""
    rows = []
    before = -1
    for i in range(len(moves)):
        if moves.setup[i] != before:
            before = int(moves.setup[i])
            rows.append(f"  with {setup_text(moves.setups[before])}")
        center = "" if moves.kind[i] < 2 else f" about {figures(*moves.center[i])}"
        cycle = "" if moves.cycle[i] < 0 else f" cycle {moves.cycle[i]}"
        way = f"{figures(*moves.start[i])} to {figures(*moves.end[i])}"
        rows.append(f"{moves.line[i]} G{moves.kind[i]} {way}{center} F{figure(moves.feed[i])}{cycle}")
    return rows


def reading_text(text: str, dialect: Dialect, *, skip_deletable: bool = False) -> str:
    """Everything that was read, a line each."""
    reading = read_program(text, dialect, skip_deletable=skip_deletable)
    rows = move_rows(reading.moves)
    for e in reading.events:
        flags = f"{' spindle turns' if e.spindle_turning else ''}{' halts' if e.halts else ''}"
        rows.append(f"{e.line} {e.kind.value} before move {e.before_move}: {figure(e.number)} {e.text!r}{flags}")
    rows += [f"{r.line} refused {r.text!r}: {r.reason} [{r.rule}]" for r in reading.refused]
    rows += [f"{line} doubt {code}" for line, code in reading.doubts]
    rows.append(
        f"end {reading.ended_at}, words after it {reading.after_end}, {reading.line_count} lines, "
        f"deletable {reading.deletable}, units {reading.units}"
    )
    return "\n".join(rows)


def refusals(lines: Sequence[str]) -> str:
    """Why each line is not read, after a head that sets units, tool, place, feed and speed."""
    rows = []
    for line in lines:
        head = HEAD.replace("T1 M6\n", "") if line == "M6" else HEAD
        refused = read_program(f"{head}{line}\nM30\n").refused
        rows += [f"{r.line} {r.text!r}: {r.reason} [{r.rule}]" for r in refused] or [f"{line!r} is read"]
    return "\n".join(rows)


GROUPS = {f"refused lines from {k + 1}": REFUSED[k : k + 20] for k in range(0, len(REFUSED), 20)}


# Written


def milled(*motions: Motion, limits: ProgramLimits | None = None) -> ProgramPlan:
    begin = (ToolChange(3), SpindleOn(1000), Rapid(0, 0), Rapid(z=1))
    return ProgramPlan("cut", (MILL,), (*begin, *motions), 10.0, limits or ProgramLimits(stock=BLOCK))


TAP = ToolUse(4, "M4 tap", ToolKind.TAP, 4.0)


def tapping_plan() -> ProgramPlan:
    motions = (
        ToolChange(4), TapCycle(1, 5, 5, 4, -8, 0.7, 300), TapCycle(2, 15, 5, 4, -8, 0.7, 300), SpindleOn(200),
        TapCycle(3, 25, 5, 12, -8, 0.5, 250), TapCycle(4, 35, 5, 4, -8, 0.5, 250), SpindleOff(), Remark("blow out"),
        TapCycle(5, 35, 15, 4, -6, 0.5, 250), Rapid(z=6),
    )  # fmt: skip
    return ProgramPlan("tap", (TAP,), motions, 10.0, ProgramLimits(stock=BLOCK))


def stops_plan() -> ProgramPlan:
    other = replace(MILL, number=5, name="roughing", diameter=8.0)
    motions = (
        ToolChange(3), Rapid(10, 10), SpindleOn(900), Rapid(z=1), Feed(50, z=-1), Feed(90.5, x=20), Stop("look"),
        Rapid(z=1), Feed(50, z=-1.5), Stop("feel"), Rapid(x=12), Rapid(z=1), Feed(50, z=-2),
        Stop("away", optional=True),
        Rapid(30, 30), Rapid(z=1), Feed(50, z=-1), SpindleOff(), Stop("stopped already"), SpindleOn(800),
        Rapid(30, 20), Rapid(z=1), Feed(33.333, z=-1), ToolChange(3), Feed(33.333, x=31), Stop("last before a tool"),
        ToolChange(5), SpindleOn(700), Rapid(40, 10), Rapid(z=0.5), Feed(40, z=-1), Rapid(z=20), Stop("high"),
        DrillCycle(7, 45, 10, 2, -3, 25.4), DrillCycle(8, 45, 20, 2, -3, 25.4, peck=2.0), Stop("drilled"),
        DrillCycle(9, 45, 30, 2, -3, 25.4), Rapid(45, 30, 1), Feed(0.0123, z=0.5),
    )  # fmt: skip
    return ProgramPlan("stops", (MILL, other), motions, 10.0, ProgramLimits(stock=BLOCK))


def hands_plan() -> ProgramPlan:
    """Stops beside changes of tools, with the spindle never on, on before, and on again at another speed."""
    motions = (
        ToolChange(3), Stop("no spindle yet"), Rapid(1, 1), SpindleOn(500), Stop("one"), Stop("two"), Rapid(z=5),
        Stop("before a tool"), ToolChange(2), Stop("still no spindle"), Rapid(z=4), Rapid(x=3), SpindleOn(600.4),
        SpindleOn(600.4), Stop("look"), SpindleOn(700), SpindleOn(600), Rapid(z=3), ToolChange(2), SpindleOff(),
        SpindleOff(), Stop("off"), Rapid(x=9), Rapid(y=9),
    )  # fmt: skip
    return ProgramPlan("hands", (MILL, DRILL), motions, 10.0)


def arcs_plan() -> ProgramPlan:
    """Level and sinking arcs both ways, circles, and one of 340 degrees."""
    return milled(
        Feed(60, z=-0.5), ArcFeed(100, 10, 0, (5, 0), ccw=True), ArcFeed(100, 0, 0, (5, 0), ccw=False, z=-1.0),
        ArcFeed(100, 0, 0, (0, 4), ccw=True, z=-1.3), ArcFeed(80, 0, 0, (3, 0), ccw=False),
        ArcFeed(80, 0.004, 0.0, (0.002, 0.0), ccw=True), Feed(80, x=8, y=4),
        ArcFeed(70, 8 + 2 - 2 * 0.9396926, 4 + 2 * 0.3420201, (10, 4), ccw=True, z=-1.0),
    )  # fmt: skip


def odd_arcs_plan() -> ProgramPlan:
    """Arcs of a hair, and one that misses its end by more than a millimetre: no centre of the grid is good for it."""
    return milled(
        Feed(60, z=-1.3), ArcFeed(80, 0.004, 0.0, (0.002, 0.0), ccw=True),
        ArcFeed(80, 0.0042, 0.0001, (0.0041, 0.0), ccw=True, z=-1.4), ArcFeed(80, 3.2071, 1.3, (2.0, 8000.0), ccw=True),
        Feed(80, x=8, y=4), ArcFeed(80, 12, 4.5, (10, 4), ccw=False, z=-2.0),
    )  # fmt: skip


def guarded_plan() -> ProgramPlan:
    """Heights a hair above a guarded one that the nearest step would pass, and a hair below it."""
    limits = ProgramLimits(
        stock=BLOCK,
        hard_floors=(HardFloor("sheet", -1.5558), HardFloor("deeper", -3.0058, rectangle(0, 0, 5, 5))),
        keep_outs=(KeepOut("clamp", rectangle(50, 0, 60, 5), -0.7058), KeepOut("post", rectangle(52, 30, 60, 40))),
        bends=(Bend("bend", (Segment((0, 100), (0, -100)),), 2.0, -2.2, 20.0, 0.0942),),
    )
    heights = (-0.7057, -0.706, -1.5557, -1.556, -2.1057, -2.106, -3.0057, -3.006)
    return milled(*(Feed(50, z=z) for z in heights), limits=limits)


def deep_holes_plan() -> ProgramPlan:
    """Pecks that divide the depth and pecks that do not, one shorter than the back-off, and a retract above all."""
    motions = (
        ToolChange(2), SpindleOn(900), DrillCycle(1, 5, 6, 2, -4, 50, peck=2.0),
        DrillCycle(2, 8, 6, 2, -4, 50, peck=2.5),
        DrillCycle(3, 11, 6, 2, 1.3, 50, peck=0.2), DrillCycle(4, 11, 9, 14, -1, 50), DrillCycle(5, 11, 12, 1, -1, 60),
        Rapid(z=0.5), DrillCycle(6, 11, 12, 3, -1.0003, 60, peck=2.0), Rapid(20, 20), DrillCycle(7, 20, 20, 3, 2, 60),
    )  # fmt: skip
    return ProgramPlan("deep", (DRILL,), motions, 10.0, ProgramLimits(stock=BLOCK))


RIGID = Dialect(rigid_tapping=True)
WRITTEN: dict[str, tuple[Callable[[], ProgramPlan], Dialect]] = {
    "drilling": (drilling_plan, Dialect()),
    "drilling, every other choice": (
        lambda: drilling_plan(2),
        Dialect(
            unit="in", cycles="long-hand", arcs="lines", arc_centers="absolute", line_number_step=7, program_number=42,
            comments="semicolon", tool_change="stop", end="M2", percent_signs=True,
        ),
    ),
    "pocket": (pocket_plan, Dialect()),
    "pocket, coarse, centres from the zero": (pocket_plan, Dialect(decimals=2, arc_centers="absolute")),
    "helix": (helix_plan, Dialect()),
    "helix in inches": (helix_plan, Dialect(unit="in", comments="none")),
    "tapping": (tapping_plan, RIGID),
    "stops": (stops_plan, Dialect()),
    "stops beside changes of tools": (hands_plan, Dialect()),
    "stops, tools changed at a stop": (stops_plan, Dialect(tool_change="stop", cycles="long-hand")),
    "arcs": (arcs_plan, Dialect()),
    "arcs in inches": (arcs_plan, Dialect(unit="in")),
    "arcs as chords": (arcs_plan, Dialect(arcs="lines", chord_tolerance=0.1)),
    "odd arcs": (odd_arcs_plan, Dialect()),
    "odd arcs in inches": (odd_arcs_plan, Dialect(unit="in")),
    "guarded heights": (guarded_plan, Dialect()),
    "guarded heights, coarse": (guarded_plan, Dialect(decimals=2)),
    "deep holes": (deep_holes_plan, Dialect()),
    "deep holes by hand": (deep_holes_plan, Dialect(cycles="long-hand")),
}  # fmt: skip


# Planned


def moved_plan() -> ProgramPlan:
    """Straight cuts in runs with all axes and one, a stop from below the safe height, tools taken twice."""
    motions = (
        ToolChange(3), Feed(40, z=4), Rapid(1, 2), Rapid(z=1), SpindleOn(700), Feed(50, z=-1), Feed(60, x=5),
        Feed(61, y=6, z=-2),
        Stop("low"), Feed(62, x=7, y=8), ToolChange(3), Remark("x"), Feed(63, x=1, y=1, z=1), SpindleOff(), Rapid(z=30),
        Stop("high", True),
        ToolChange(2), TapCycle(4, 2, 3, 4, -5, 0.5, 600), DrillCycle(5, 3, 3, 40, -1, 70, peck=30.0),
        Rapid(z=0), DrillCycle(6, 3, 4, 1, -1, 80),
        Feed(90, x=9), Feed(91, y=9),
    )  # fmt: skip
    return ProgramPlan("moved", (MILL, DRILL), motions, 20.0)


def planned_text(plan: ProgramPlan, dialect: Dialect) -> str:
    """The moves that a plan asks for, its stops, and the number and peck of each cycle."""
    planned = planned_moves(plan, dialect)
    rows = [f"{s.before_move}: {s.message!r}{' optional' if s.optional else ''}" for s in planned.stops]
    cycles = " ".join(f"{h}/{figure(p)}" for h, p in zip(planned.holes, planned.pecks, strict=True))
    return "\n".join([*move_rows(planned.moves), f"cycles {cycles}", *rows])


PLANNED: dict[str, tuple[Callable[[], ProgramPlan], Dialect]] = {
    "drilling": (lambda: drilling_plan(2), Dialect()),
    "moved": (moved_plan, Dialect()),
    "deep holes": (deep_holes_plan, Dialect()),
    "arcs": (arcs_plan, Dialect()),
    "odd arcs": (odd_arcs_plan, Dialect()),
    "arcs as chords": (arcs_plan, Dialect(arcs="lines", chord_tolerance=0.1)),
}


# Checked


def result_text(result: CheckResult) -> str:
    """Every field of every finding, and the account."""
    rows = []
    for f in result.findings:
        place = "-" if f.place is None else figures(*f.place)
        rows.append(
            f"{f.severity.value} {f.code} line {f.line} at {place}: {f.message} | {figure(f.measured)} / "
            f"{figure(f.limit)} {f.quantity_unit} | {f.rule} | {f.remedy}"
        )
    a = result.account
    rows.append(
        f"{a.units}, {a.line_count} lines, {a.move_count} moves, from {figures(*(a.least or ()))} to "
        f"{figures(*(a.greatest or ()))}, deepest {figures(*(a.deepest or ()))} in line {a.deepest_line}"
    )
    rows.append(
        f"cutting {figure(a.cutting)}, rapid {figure(a.rapid)}, {figure(a.cutting_minutes)} min, dwell "
        f"{figure(a.dwell_seconds)}"
    )
    rows += [
        f"T{t.number} {t.name!r}: {figure(t.cutting)}, {figure(t.minutes)} min, {figures(t.slowest_rpm, t.fastest_rpm)}"
        f" rpm, deepest {figure(t.deepest)}"
        for t in a.tools
    ]
    rows += [f"stop in line {s.line} {s.text!r}{' if switched on' if s.optional else ''}" for s in a.stops]
    return "\n".join(rows)


def edited(make: Callable[[], ProgramPlan], *edits: tuple[str, str], dialect: Dialect | None = None) -> CheckResult:
    """Check what is written for a plan after edits: each old text is replaced once."""
    plan = make()
    text = write_program(plan, dialect)
    for old, new in edits:
        assert old in text, f"{old!r} is not in the program"
        text = text.replace(old, new, 1)
    return check_program(text, plan, dialect)


def one_hole_plan(*, turned: bool) -> ProgramPlan:
    """A pilot and a drill after it, or before it."""
    pilot = ToolUse(1, "2 mm drill", ToolKind.TWIST_DRILL, 2.0, point_angle_deg=118.0)
    drill = replace(pilot, number=2, name="5 mm drill", diameter=5.0)
    parts = [
        (ToolChange(tool.number), SpindleOn(900), DrillCycle(1, 5, 5, 2, -8 + tool.number, 50))
        for tool in (pilot, drill)
    ]
    motions = tuple(m for part in (parts[::-1] if turned else parts) for m in part)
    return ProgramPlan("one hole", (pilot, drill), motions, 10.0, ProgramLimits(stock=BLOCK))


def wall_limits() -> ProgramLimits:
    return ProgramLimits(
        stock=Stock(rectangle(-5, -40, 60, 40), 5.0, -2.0),
        hard_floors=(HardFloor("hood", 0.0), HardFloor("", 1.0, rectangle(40, -40, 60, 40))),
        keep_outs=(KeepOut("clamp", rectangle(20, 20, 30, 40), 8.0, "clamp as measured"),),
        bends=(Bend("inside bend", (Segment((0, 100), (0, -100)),), 2.4, 0.0, 20.0, 0.05, "measured radius 2.4"),),
        travel=Travel(x=(-10, 55), z_length=27.0),
        spindle_rpm=(100, 2000),
        fastest_feed_mm_min=150.0,
        holes=(ExpectedHole(1, 15, -10, 2.0, 2), ExpectedHole(2, 15, -20, 2.0, 2), ExpectedHole(3, 9, 9, 2.0, 1)),
    )


CUTTER = ToolUse(1, "6 mm, corner 0.5", ToolKind.END_MILL, 6.0, corner_radius=0.5, flute_length=4.0, overhang=4.6)
WALL_TOOLS = (CUTTER, DRILL)
BY_HAND = """G21 G90
T1 M6
G0 Z25
X30 Y-20
S2000 M3
G0 Z6
G1 Z0.5 F100
X10
G1 X4.1 F160
Y-10
G0 Z3
Y0
Z0.6
G1 Y5 Z-0.1 F100
G2 X24 Y25 I20 J0
G0 Z9
X25 Y30
G1 Z7 F50
G0 Z26
G0 X50 Y0
G1 Z0.95
G3 X50 Y0 Z0.3 I3
G0 Z26
M5
(measure)
M1
T2 M6
G0 Z26
X15 Y-10
S2100 M3
G1 Z2 F40
G0 Z26
X15.5 Y-20
G1 Z2.5
G0 Z26
G0 X9 Y9
G1 Z2
G0 Z27
M30
"""

CHECKED: dict[str, Callable[[], CheckResult]] = {
    "an empty text": lambda: verify_text(""),
    "nothing but an end": lambda: verify_text("G21 G90\nM30\n", tools=(MILL,)),
    "no speed known": lambda: verify_text("G21 G90\nT3 M6\nG0 Z20\nX5 Y6\nM3\nG1 Z-1 F50\nM30\n", tools=(MILL,)),
    "only what is not known": lambda: verify_text("G21 G90\nT3 M6\nG0 X5 Y6\nG4 P1\nM30\n", tools=(MILL,)),
    "drilling as written": lambda: edited(drilling_plan),
    "pocket as written": lambda: edited(pocket_plan),
    "helix as written": lambda: edited(helix_plan),
    "stops as written": lambda: edited(stops_plan),
    "tapping as written": lambda: edited(tapping_plan, dialect=RIGID),
    "deep holes as written": lambda: edited(deep_holes_plan),
    "arcs as written": lambda: edited(arcs_plan),
    "arcs in inches": lambda: edited(arcs_plan, dialect=Dialect(unit="in")),
    "holes aside, deeper, higher, one too many, too fast": lambda: edited(
        drilling_plan,
        ("X31.242 Y4.953 Z-1.100", "X31.300 Y4.953 Z-1.200"),
        ("X50.292 Y4.953 Z-1.100", "X50.292 Y4.953 Z-1.000 F70"),
        ("G98 G81 X88.392", "G98 G81 X100 Y4.953 Z-1.1 R2\nG98 G81 X88.392"),
        ("S2200 M3", "S2900 M3"),
        ("Q2.500", "Q3.1"),
        ("X88.392 Y4.953 Z-6.200", "X88.392 Y4.953 Z-8.1"),
    ),
    "one hole aside, a slow spindle, an optional stop": lambda: edited(
        drilling_plan,
        ("G98 G81 X50.292 Y4.953", "G98 G81 X50.292 Y6.953"),
        ("S1500 M3", "S1400 M3"),
        ("M0", "M1"),
    ),
    "passes changed, one cut aside, feeds, another speed": lambda: edited(
        pocket_plan,
        ("G1 X45.000 F180", "G1 X45.000 F200"),
        ("G1 Z-1.900 F60", "G1 Z-2.000 F60\nG1 Z-1.9"),
        ("S2400 M3", "S2300 M3"),
        ("G0 Z12.000\nM5\nM30", "G1 X20 Y20\nX20.5 Y20\nX20 Y15\nG0 Z3\nX30\nZ-1\nZ12\nM30"),
    ),
    "a pass left out": lambda: edited(pocket_plan, ("G1 Z-1.900 F60", "G1 Z-1.000 F60")),
    "passes the wrong way round": lambda: edited(
        pocket_plan, ("G1 Z-1.000 F60", "G1 Z-1.9 F60"), ("G1 Z-1.900 F60", "G1 Z-1 F60")
    ),
    "the last circle the other way, a side again": lambda: edited(
        pocket_plan,
        ("G2 X15.000 Y28.000 I0.000 J6.500", "G3 X15.000 Y28.000 I0.000 J6.500"),
        ("G2 X15.000 Y15.000 I0.000 J-6.500", "G3 X15.000 Y15.000 I0.000 J-6.500\nG1 X45\nX15"),
    ),
    "no spindle, no feed, modes and end missing": lambda: edited(
        pocket_plan,
        ("G17 G21 G40", "G17 G40"),
        ("G80 G90 G94", "G80 G94"),
        ("S2400 M3\n", ""),
        ("G1 Z-1.000 F60", "G1 Z-1.000"),
        ("S2400 M3", "S0 M4"),
        ("M30\n", "(end)\n"),
    ),
    "with block delete": lambda: edited(pocket_plan, ("G1 Y25.000", "/G1 Y25.000"), ("M30\n", "M30\nX1\n")),
    "refused in the middle": lambda: edited(pocket_plan, ("G1 Z-1.900 F60", "G1 Z-1.900 F60\nG28 Z0\nG92 X0")),
    "drilled with the spot drill again": lambda: edited(drilling_plan, ("T2 M6", "T1 M6")),
    "tools in the wrong order in one hole": lambda: check_program(
        write_program(one_hole_plan(turned=True)), one_hole_plan(turned=False)
    ),
    "stops left out, made optional, added, with the spindle on": lambda: edited(
        stops_plan,
        ("M0\n", ""),
        ("M0\n", "M1\n"),
        ("M5\n(STOP - away", "(STOP - away"),
        ("M1\nS900", "M0\nG4 P2\nM1\nS900"),
    ),
    "written by hand, beside a wall": lambda: verify_text(
        BY_HAND, limits=wall_limits(), tools=WALL_TOOLS, safe_height=25.0
    ),
    "written by hand, nothing known": lambda: verify_text(BY_HAND),
    "in inches, the holder and the flutes": lambda: verify_text(
        BY_HAND.replace("G21", "G20").replace("Z-0.1", "Z-0.2"),
        limits=ProgramLimits(stock=Stock(rectangle(-200, -1200, 1600, 1200), 130.0, 0.0)),
        tools=WALL_TOOLS,
    ),
    "another tool, no length, rapid into the block": lambda: edited(
        stops_plan,
        ("T5 M6", "T9 M6"),
        ("M0\nG0 Z10.000\nS700", "G43 H4 G0 Z10.000\nS700"),
        ("G1 Z-1.000 F40", "G0 Z-1.000\nG1 X41 F40"),
    ),
    "another tool without its length": lambda: edited(
        stops_plan, ("(LENGTH - set the height of T5 from the same zero, then start)\nM0\n", "")
    ),
}


def section(name: str, body: str) -> str:
    return f"== {name}\n{body}\n"


def everything() -> dict[str, dict[str, str]]:
    """What is kept, by file and section."""
    read = {name: reading_text(text, dialect) for name, (text, dialect) in READ.items()}
    odd, dialect = READ["what some controls read otherwise"]
    read["the same with the switch on"] = reading_text(odd, dialect, skip_deletable=True)
    return {
        "read": read | {name: refusals(lines) for name, lines in GROUPS.items()},
        "written": {name: write_program(make(), d).rstrip("\n") for name, (make, d) in WRITTEN.items()},
        "planned": {name: planned_text(make(), d) for name, (make, d) in PLANNED.items()},
        "checked": {name: result_text(make()) for name, make in CHECKED.items()},
    }


def kept(file: str) -> dict[str, str]:
    """The sections of a file."""
    text = (FOLDER / f"{file}.txt").read_text(encoding="utf-8")
    parts = (part.partition("\n") for part in text.split("== ")[1:])
    return {name: body.rstrip("\n") for name, _, body in parts}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for file, sections in everything().items():
        text = "".join(section(name, body) for name, body in sections.items())
        (FOLDER / f"{file}.txt").write_text(text, encoding="utf-8")
