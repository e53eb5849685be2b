"""How long the check of a long program takes, beside a plain reader that splits words and keeps modal state.

Run: python tests/benchmarks/verify.py [lines]. Prints seconds, ratios (all measured in this run) and the memory peak.
The bound of the project: the check takes at most 3 times the plain reader, under 1 GiB.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable, Iterator
from typing import TypeVar

from holecam.plan.motions import (
    Bend,
    Feed,
    HardFloor,
    KeepOut,
    Motion,
    ProgramLimits,
    ProgramPlan,
    Rapid,
    SpindleOn,
    Stock,
    ToolChange,
    ToolKind,
    ToolUse,
    Travel,
)
from holecam.program import check_program, verify_text, write_program
from holecam.shapes import Segment, rectangle

T = TypeVar("T")

BOUND = 3.0
MEMORY_BOUND = 1 << 30


def plain_reader(text: str) -> tuple[int, float]:
    """Split lines into words and keep modal state: the yardstick. Returns lines that move and the last Z."""
    modal: dict[str, float] = {}
    place = {"X": 0.0, "Y": 0.0, "Z": 0.0}
    moved = 0
    for line in text.split("\n"):
        words = line.split()
        if not words or words[0][0] in "(%;":
            continue
        for word in words:
            letter, value = word[0], float(word[1:])
            if letter in place:
                place[letter] = value
            else:
                modal[letter] = value
        moved += 1
    return moved, place["Z"]


def zigzag(lines: int) -> Iterator[tuple[float, float, float]]:
    """Corners of a long zigzag in passes, over a sheet beside a bend: invented."""
    rows = 250
    columns = 100
    z = 0.0
    count = 0
    while count < lines:
        z -= 0.05
        for row in range(rows):
            y = 8.0 + 0.16 * row
            for column in range(columns):
                x = 10.0 + 0.7 * (column if row % 2 == 0 else columns - 1 - column)
                yield x, y, z + 0.0001 * (column % 7)
                count += 1
                if count >= lines:
                    return


def long_plan(lines: int) -> ProgramPlan:
    """A step-down of many short cuts."""
    motions: list[Motion] = [ToolChange(1), SpindleOn(3000), Rapid(10, 8), Rapid(z=1.0)]
    motions += [Feed(240.0, x=x, y=y, z=z) for x, y, z in zigzag(lines)]
    motions.append(Rapid(z=15.0))
    depth = 0.05 * (1 + lines // 25_000)
    limits = ProgramLimits(
        hard_floors=(
            HardFloor("table", -depth - 1.0),
            HardFloor("sheet", -depth - 0.01, rectangle(0, 0, 100, 60)),
        ),
        keep_outs=(KeepOut("clamp", rectangle(84, 0, 100, 60), 20.0), KeepOut("pin", rectangle(40, 52, 44, 56))),
        bends=(Bend("corner", (Segment((100, 0), (0, 0)),), 2.4, -depth - 0.05, 20.0, 0.01),),
        stock=Stock(rectangle(0, 0, 100, 60), 0.0, -depth - 5.0),
        travel=Travel(x=(-10, 200), y=(-10, 150), z=(-80, 80)),
        spindle_rpm=(100, 5000),
    )
    tool = ToolUse(1, "3 mm end mill", ToolKind.END_MILL, 3.0, flute_length=60.0)
    return ProgramPlan("long", (tool,), tuple(motions), 15.0, limits)


def timed(name: str, work: Callable[[], T]) -> tuple[T, float]:
    begin = time.perf_counter()
    result = work()
    seconds = time.perf_counter() - begin
    print(f"{name:<44}{seconds:8.2f} s")
    return result, seconds


def main() -> int:
    lines = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    plan = long_plan(lines)
    text, _ = timed("write", lambda: write_program(plan))
    print(f"{text.count(chr(10))} lines, {len(text) / 1e6:.1f} MB")
    _, plain_first = timed("plain reader", lambda: plain_reader(text))
    checked, verify = timed(
        "verify against limits", lambda: verify_text(text, limits=plan.limits, tools=plan.tools, safe_height=15.0)
    )
    against, check = timed("check against limits and plan", lambda: check_program(text, plan))
    _, plain_last = timed("plain reader again", lambda: plain_reader(text))
    plain = min(plain_first, plain_last)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    for finding in (*checked.findings[:3], *against.findings[:3]):
        print("unexpected:", finding.text())
    print(f"verify / plain reader: {verify / plain:.2f} (bound {BOUND})")
    print(f"check against plan / plain reader: {check / plain:.2f}")
    print(f"memory peak: {peak / 1e6:.0f} MB with the plan's own {lines} motions in memory")
    fine = checked.passed and against.passed and verify <= BOUND * plain and peak <= MEMORY_BOUND
    print("within the bounds" if fine else "OUTSIDE THE BOUNDS")
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
