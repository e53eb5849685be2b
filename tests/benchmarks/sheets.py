"""Writing the sheets of a job of two thousand holes, against formatting and joining as many strings.

Run ``python tests/benchmarks/sheets.py``. The floor formats the same figures with one format string a row and joins
them. A sheet rounds each figure by the exact rule and lists every hole once an operation, so that some times the floor
is fair; 10 is allowed a sheet. All data are invented.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable

from holecam.job.reader import check_data
from holecam.output.spreadsheet import coordinates_csv
from holecam.output.text_sheet import text_sheet
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plans

ALLOWED_RATIO = 10.0
ROUNDS = 5


def grid_job(columns: int, rows: int) -> dict[str, object]:
    """Return a plate with a grid of clearance holes."""
    return {
        "title": "benchmark plate",
        "unit": "mm",
        "machine": {"readout": 0.005, "safe_height": 10},
        "tools": {"drills": ["metric"]},
        "part": {
            "material": "brass",
            "thickness": 4,
            "outline": {"rectangle": [12 * columns + 20, 12 * rows + 20]},
        },
        "pattern": [
            {
                "name": "rows",
                "grid": {"columns": columns, "rows": rows, "pitch": 12},
                "clearance_for": "M3",
                "place": {"at": [16, 16]},
            }
        ],
    }


def plan_of(columns: int, rows: int) -> Plan:
    """Return its plan."""
    return make_plans(check_data(grid_job(columns, rows)))[0]


def least_time(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the least processor time of several rounds, seconds."""
    best = float("inf")
    for _ in range(rounds):
        gc.collect()
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def main() -> int:
    """Print the ratios and return the exit code."""
    plan = plan_of(50, 40)
    figures = [(h.number, *h.xy_part) for h in plan.holes]
    worst = 0.0
    for name, sheet in (("sheet.txt", text_sheet), ("coordinates.csv", coordinates_csv)):
        text = sheet(plan)
        lines = text.count("\n")

        def joined(lines: int = lines) -> str:
            size = len(figures)
            return "\n".join(
                "[ ] {:>5} {:>12.4f} {:>12.4f} {:>12.4f} {:>12.4f}".format(*figures[k % size], *figures[k % size][1:])
                for k in range(lines)
            )

        floor, ours = least_time(joined), least_time(lambda sheet=sheet: sheet(plan))
        worst = max(worst, ours / floor)
        print(f"{name}: {lines} lines; joining {1e3 * floor:.1f} ms, sheet {1e3 * ours:.1f} ms, {ours / floor:.2f}")
    print(f"worst ratio {worst:.2f}, allowed {ALLOWED_RATIO:.0f}")
    return 0 if worst <= ALLOWED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
