"""Every ratio of the project in one table, in one run: ``python tests/benchmarks/all.py [--quick]``.

Each script of this folder runs by itself, so that the memory of one does not slow the next; its last ratio is read from
what it prints. A ratio compares two works of the same run, so that the machine's speed falls out. Exits 1 when one is
above its goal. The tables of growth follow at the end (``growth.py``).
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent

RATIOS: list[tuple[str, str, list[str], str, float]] = [
    (
        "look-ups / importing the command-line library",
        "startup.py",
        ["--rounds", "9"],
        r"^\S.*?(\d+\.\d\d) +\d+\.\d\d  ",
        1.25,
    ),
    ("spacing / bare index query", "spacing.py", [], r"worst ratio (\d+\.\d+)", 3.0),
    ("pocket with proof / bare offsets", "pocket.py", [], r"bare offsets from the walls (\d+\.\d+)", 3.0),
    ("verify / splitting lines into words", "verify.py", [], r"verify / plain reader: (\d+\.\d+)", 3.0),
    ("check against the plan / splitting", "", [], r"check against plan / plain reader: (\d+\.\d+)", 0.0),
    ("sheets / joining strings", "sheets.py", [], r"worst ratio (\d+\.\d+)", 10.0),
    ("whole lantern-hood plan / importing its libraries", "whole_plan.py", [], r"worst ratio (\d+\.\d+)", 2.0),
]
"""Words, script (empty: the one before), arguments, where the ratio stands, goal (0: none)."""


def main() -> int:
    """Run everything and print the table."""
    quick = "--quick" in sys.argv
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(HERE.parents[1]), os.environ.get("PYTHONPATH", "")]),
    }
    rows, said, bad = [], "", False
    for words, script, arguments, pattern, goal in RATIOS:
        if script:
            more = (
                ["100000"] if quick and script == "verify.py" else ["2"] if quick and script == "whole_plan.py" else []
            )
            command = [sys.executable, str(HERE / script), *arguments, *more]
            said = subprocess.run(command, env=environment, capture_output=True, text=True, check=False).stdout
        found = [float(m) for m in re.findall(pattern, said, re.MULTILINE)]
        ratio = max(found) if found else float("nan")
        missed = not found or (goal > 0 and ratio > goal)
        bad = bad or missed
        rows.append(f"| {words} | {ratio:.2f} | {goal or '':} | {'**above**' if missed else 'kept' if goal else ''} |")
        print(rows[-1], file=sys.stderr, flush=True)
    print("| what against what | ratio | goal | |\n|---|---:|---:|---|\n" + "\n".join(rows) + "\n", flush=True)
    grown = subprocess.run(
        [sys.executable, str(HERE / "growth.py"), *(["--quick"] if quick else [])], env=environment, check=False
    )
    return 1 if bad or grown.returncode else 0


if __name__ == "__main__":
    sys.exit(main())
