"""Plan random jobs and hold every result against programs that share no code with the package.

How to run it
-------------
``python tests/apart/run.py [--jobs 240] [--first-seed 0] [--kind holes ...] [--workers 2]``
with ``PYTHONPATH`` at the top of the project or the package installed. One table comes out: kind, jobs, those that were
refused, programs, figures compared, faults. It exits 1 on a fault and names its kind, its seed and what is wrong;
``--kind KIND --seed N`` repeats that job alone and ``--show`` prints its text.

What is compared, how closely, and what is not covered stands in the docstring of each ``check_*.py``.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from kinds_of_jobs import KINDS, try_seed

JOBS_OF_A_WORKER = 100
"""A worker is replaced after this many jobs, so that a long run keeps no memory of its early ones."""

Row = tuple[str, int, bool, str, int, int, list[str], float]


def row(task: tuple[str, int]) -> Row:
    """Return the figures of one trial."""
    kind, seed = task
    begin = time.process_time()
    trial = try_seed(kind, seed)
    refused = trial.work.refused if trial.work else ""
    account = trial.account
    seconds = time.process_time() - begin
    return kind, seed, account.planned, refused, account.programs, account.figures, account.faults, seconds


def main() -> int:
    """Run the trials and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=240, help="jobs of each kind")
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--seed", type=int, help="this one job alone")
    parser.add_argument("--kind", action="append", choices=list(KINDS), help="may be told several times; all without")
    parser.add_argument("--workers", type=int, default=1, help="processes side by side")
    parser.add_argument("--show", action="store_true", help="print the text of each job with a fault, or refused")
    options = parser.parse_args()
    seeds = range(options.first_seed, options.first_seed + options.jobs)
    if options.seed is not None:
        seeds = range(options.seed, options.seed + 1)
    kinds = options.kind or list(KINDS)
    totals = {kind: [0.0] * 6 for kind in kinds}
    tasks = [(kind, seed) for kind in kinds for seed in seeds]
    with multiprocessing.get_context("spawn").Pool(options.workers, maxtasksperchild=JOBS_OF_A_WORKER) as pool:
        for kind, seed, planned, refused, programs, figures, faults, seconds in pool.imap(row, tasks):
            for place, number in enumerate((1, not planned, programs, figures, len(faults), seconds)):
                totals[kind][place] += number
            for fault in faults:
                print(f"{kind} --seed {seed}: {fault}", flush=True)
            if options.show and (faults or refused):
                print(refused, KINDS[kind].draw(seed).text, sep="\n", flush=True)
    print(f"\n| {'kind':10} | jobs | refused | programs | figures compared | faults | s of processor |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    for kind, total in totals.items():
        counts = " | ".join(f"{number:,.0f}" for number in total)
        print(f"| {kind:10} | {counts} |")
    return 1 if any(total[4] for total in totals.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
