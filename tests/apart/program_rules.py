"""What every program has to keep, whatever it cuts: its dialect, safe rapids, a turning spindle, speeds and feeds."""

from __future__ import annotations

import math

from account import Account
from cnc_setups import CncSetup, EndMill
from planned_work import Plan
from rs274 import Move, Reading, interpret

LEAST_CHIP, MOST_CHIP = 0.0008, 0.5
"""Metal that a tooth takes, mm; outside of this a feed is a slip of the pen in any material (common practice)."""

MOST_SURFACE_SPEED = 1500.0
"""m/min; wood cut by carbide goes to about a thousand (common practice)."""


def read_program(name: str, text: str, setup: CncSetup, plan: Plan, account: Account, *, lift: float = 0.0) -> Reading:
    """Return what a program says, after its general rules were checked.

    ``lift`` is how far the highest metal lies above zero, from which the safe height is counted, mm.
    """
    dialect = setup.dialect
    reading = interpret(text, arc_centres=dialect.arc_centres, comments=dialect.comments)
    account.programs += 1
    for complaint in reading.complaints[:3]:
        account.fault(f"WORDS {name}: {complaint}")
    account.hold(f"UNIT {name}: G{reading.unit}", reading.unit == (20 if dialect.unit == "in" else 21))
    account.hold(f"SPINDLE {name}: it turns at the end", not reading.turning_at_end)
    _check_dialect(name, text, setup, reading, account)
    _check_halts(name, setup, reading, account, setup.safe_height + lift)
    numbers = {tool["number"] for tool in plan["tools"]}
    for move in reading.moves:
        if not _check_move(name, move, setup, numbers, account, setup.safe_height + lift):
            break
    return reading


def _check_dialect(name: str, text: str, setup: CncSetup, reading: Reading, account: Account) -> None:
    dialect = setup.dialect
    ends = [halt.word for halt in reading.halts if halt.word in ("M2", "M30")]
    account.hold(f"ENDING {name}: {ends}", ends == [dialect.ending.split()[0]])
    lines = text.strip().split("\n")
    framed = lines[0].strip() == "%" == lines[-1].strip()
    account.hold(f"ENDING {name}: percent signs", framed == ("percent" in dialect.ending))
    if dialect.line_numbers:
        account.hold(f"WORDS {name}: no line numbers", any(line.startswith("N") for line in lines))
    if dialect.arcs == "lines":
        account.hold(f"WORDS {name}: an arc", not any(move.kind == "arc" for move in reading.moves))
    if dialect.cycles == "long-hand":
        account.hold(f"WORDS {name}: a drilling cycle", all(cycle.word == "G84" for cycle in reading.cycles))


def _check_halts(name: str, setup: CncSetup, reading: Reading, account: Account, safe: float) -> None:
    for halt in reading.halts:
        if halt.word in ("M0", "M1"):
            account.hold(f"SPINDLE {name}: it turns at the stop in line {halt.line}", not halt.turning)
            low = not math.isnan(halt.z) and halt.z < safe - setup.dialect.grid
            account.hold(f"LOW {name}: the stop in line {halt.line} is at Z {halt.z:.4f}", not low)


def _check_move(name: str, move: Move, setup: CncSetup, tools: set[int], account: Account, safe: float) -> bool:
    """Hold one move against the rules; ``False`` after the first breach, so that one mistake is told once."""
    if move.kind == "rapid":
        sideways = move.start[:2] != move.end[:2]
        high = not sideways or move.lowest >= safe - 0.51 * setup.dialect.grid
        return account.hold(f"LOW {name}: sideways rapid below the safe height, {move}", high)
    if move.kind == "tap-up":
        return True
    kept = account.hold(f"UNKNOWN PLACE {name}: {move}", move.known)
    kept &= account.hold(f"SPINDLE {name}: it stands still, {move}", move.turning and move.speed > 0)
    kept &= account.hold(f"FEED {name}: none told, {move}", move.feed > 0)
    kept &= account.hold(f"TOOL {name}: no tool {move.tool}, {move}", move.tool in tools)
    if setup.speeds is not None:
        slowest, fastest = setup.speeds
        kept &= account.hold(f"SPEED {name}: {move.speed:g}, {move}", slowest - 0.51 <= move.speed <= fastest + 0.51)
    if setup.steps:
        nearest = min(abs(move.speed - step) for step in setup.steps)
        kept &= account.hold(f"SPEED {name}: {move.speed:g} is no step of the machine, {move}", nearest <= 0.51)
    if setup.fastest_feed is not None:
        kept &= account.hold(f"FEED {name}: {move.feed:g}, {move}", move.feed <= setup.fastest_feed * 1.0001)
    return kept


def check_chips(
    name: str, reading: Reading, mill: EndMill, plan: Plan, account: Account, *, told: float | None = None
) -> None:
    """Hold feeds and speeds of a milling program against what any tooth can take, and against a chip that was told.

    Chip: feed / (turns x teeth). Surface speed: pi D n / 1000. Teeth that rub have to be told.
    """
    least = 0.0 if any(finding["code"] == "teeth-rub" for finding in plan["findings"]) else LEAST_CHIP
    for move in reading.moves:
        if move.cuts and move.speed and move.feed and move.end[2] < -0.01:
            chip = move.feed / (move.speed * mill.flutes)
            kept = account.hold(f"FEED {name}: chip {chip:.5f} mm, {move}", least <= chip <= MOST_CHIP)
            surface = math.pi * mill.diameter * move.speed / 1000.0
            kept &= account.hold(f"SPEED {name}: {surface:.0f} m/min, {move}", surface <= MOST_SURFACE_SPEED)
            if told is not None:
                kept &= account.hold(f"FEED {name}: chip {chip:.4f} mm, told {told}", chip <= told * 1.01 + 1e-4)
            if not kept:
                return
