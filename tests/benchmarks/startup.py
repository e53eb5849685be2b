"""How long the look-ups take to start, as a ratio to importing the command-line library alone.

Run ``python tests/benchmarks/startup.py [--rounds N]``. Both are timed in the same run, turn by turn, so that a busy
machine slows both; the medians are compared. The package is copied and byte-compiled first, which is what a plain
install holds: an editable install recompiles its sources where byte code is not written.
"""

from __future__ import annotations

import argparse
import compileall
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

MOST = 1.25
"""The ratio that a look-up may take."""

RUN = "import sys; sys.argv = ['holecam', *{arguments!r}]; from holecam.cli.main import main; main()"

COMMANDS: dict[str, list[str]] = {
    "--help": ["--help"],
    "drill no29": ["drill", "no29"],
    "drill F --json": ["drill", "F", "--json"],
    "tap 6-32": ["tap", "6-32"],
    "tap 6-32 --json": ["tap", "6-32", "--json"],
    "tap M4": ["tap", "M4"],
    "clearance 6-32": ["clearance", "6-32"],
    "clearance M4 --json": ["clearance", "M4", "--json"],
}


def plain_copy(folder: Path) -> None:
    """Copy the package into a folder and compile it."""
    import holecam

    shutil.copytree(
        Path(holecam.__file__).parent, folder / "holecam", ignore=shutil.ignore_patterns("__pycache__", "*.pyc")
    )
    if not compileall.compile_dir(folder, quiet=1):
        raise SystemExit("the package does not compile")


def seconds(code: str, environment: dict[str, str]) -> float:
    """Return the wall-clock time of one fresh interpreter."""
    start = time.perf_counter()
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, check=False)
    took = time.perf_counter() - start
    if done.returncode:
        raise SystemExit(f"{code}\n{done.stderr.decode()}")
    return took


def measured(rounds: int) -> tuple[float, dict[str, float]]:
    """Return the median of the library alone in ms, and the ratio of each command to it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain_copy(folder)
        environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
        codes = {"": "import typer"} | {title: RUN.format(arguments=args) for title, args in COMMANDS.items()}
        times: dict[str, list[float]] = {title: [] for title in codes}
        for _ in range(rounds + 1):  # the first round warms the disk cache and is dropped
            for title, code in codes.items():
                times[title].append(seconds(code, environment))
    medians = {title: statistics.median(values[1:]) for title, values in times.items()}
    floor = medians.pop("")
    return floor * 1000, {title: value / floor for title, value in medians.items()}


def main() -> None:
    """Print the table and say whether every command keeps the bound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    floor, ratios = measured(parser.parse_args().rounds)
    print(f"import typer alone: {floor:.1f} ms (1.00)")
    for title, ratio in ratios.items():
        print(f"{title:22} {ratio:5.2f}  {'ok' if ratio <= MOST else f'over {MOST}'}")
    if max(ratios.values()) > MOST:
        sys.exit(1)


if __name__ == "__main__":
    main()
