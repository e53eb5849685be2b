"""How long the look-ups take to start, as a ratio to importing the command-line library alone.

Run ``python tests/benchmarks/startup.py [--rounds N]``. Both are timed in the same run, turn by turn, so that a busy
machine slows both. Compared is the least processor time of each: what other programs add by waiting and by crowding the
caches is not our cost, and they only ever add. The ratio of least wall-clock times is printed beside it. The package is
copied and byte-compiled first, which is what a plain install holds: an editable install recompiles its sources where
byte code is not written.
"""

from __future__ import annotations

import argparse
import compileall
import os
import shutil
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


def seconds(code: str, environment: dict[str, str]) -> tuple[float, float]:
    """Return the processor time (the kernel's share included) and the wall-clock time of one fresh interpreter."""
    quiet = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    start = time.perf_counter()
    child = os.posix_spawn(sys.executable, [sys.executable, "-P", "-c", code], environment, file_actions=quiet)
    _, status, usage = os.wait4(child, 0)
    took = time.perf_counter() - start
    if status:
        raise SystemExit(f"failed: {code}")
    return usage.ru_utime + usage.ru_stime, took


def measured(rounds: int) -> tuple[float, dict[str, tuple[float, float]]]:
    """Return the library alone in ms of processor time, and the two ratios of each command: processor, wall clock."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain_copy(folder)
        environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
        codes = {"": "import typer"} | {title: RUN.format(arguments=args) for title, args in COMMANDS.items()}
        times: dict[str, list[tuple[float, float]]] = {title: [] for title in codes}
        for _ in range(rounds + 1):  # the first round warms the disk cache and is dropped
            for title, code in codes.items():
                times[title].append(seconds(code, environment))
    least = {title: (min(t[0] for t in taken[1:]), min(t[1] for t in taken[1:])) for title, taken in times.items()}
    floor = least.pop("")
    return floor[0] * 1000, {title: (took[0] / floor[0], took[1] / floor[1]) for title, took in least.items()}


def main() -> None:
    """Print the table and say whether every command keeps the bound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=40)
    floor, ratios = measured(parser.parse_args().rounds)
    print(f"import typer alone: {floor:.1f} ms of processor time (1.00)")
    print(f"{'':22} {'processor':>9} {'wall':>6}")
    for title, (processor, wall) in ratios.items():
        print(f"{title:22} {processor:9.2f} {wall:6.2f}  {'ok' if processor <= MOST else f'over {MOST}'}")
    if max(processor for processor, _ in ratios.values()) > MOST:
        sys.exit(1)


if __name__ == "__main__":
    main()
