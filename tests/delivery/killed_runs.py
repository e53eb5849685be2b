"""Deliver file sets again and again, break each run off at a random moment, and look at what is left.

``python killed_runs.py FOLDER SIGNAL ROUNDS SEED`` prints one line for each thing that must not be, then a summary. It
runs in an interpreter of its own, without threads, so that it may fork.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

from holecam.delivery.folder import BROKEN_OFF, deliver

NAMES = [f"{i:02d}.nc" for i in range(9)] + ["sheet.html", "plan.json"]
EDITED = "03.nc"


def files(generation: int) -> dict[str, bytes]:
    """Return a set of files; every third one lacks a program, so that an old one has to go."""
    text = f"{generation:06d}".encode() * 900
    return {name: text for name in NAMES if not (generation % 3 == 0 and name == "08.nc")}


def one_round(folder: Path, generation: int, number: int, longest: float) -> None:
    """Deliver in a child and send it a signal after a random time."""
    ready, tell = os.pipe()
    child = os.fork()
    if child == 0:
        code = 0
        try:
            os.write(tell, b"x")
            deliver(folder, files(generation), retire=("*.nc",))
        except KeyboardInterrupt:
            code = 130
        finally:
            os._exit(code)
    os.read(ready, 1)
    time.sleep(random.random() * longest)
    os.kill(child, number)
    os.waitpid(child, 0)
    os.close(ready)
    os.close(tell)


def wrongs(folder: Path, own: set[bytes], *, tidy: bool) -> list[str]:
    """Return what must not be: half files, sets that are mixed without saying so, lost work, litter."""
    found = []
    there = {p.name: p.read_bytes() for p in folder.iterdir()}
    shown = {n: c for n, c in there.items() if not n.startswith(".") and n != BROKEN_OFF}
    generations = set()
    for name, content in shown.items():
        if content in own:
            continue
        if name not in NAMES:
            found.append(f"stray file {name}")
        elif len(content) != 5400 or content != content[:6] * 900:
            found.append(f"half a file {name}")
        else:
            generations.add(content[:6])
    if len(generations) > 1 and BROKEN_OFF not in there:
        found.append(f"files of {sorted(generations)} mixed, and nothing says so")
    lost = own - set(shown.values())
    if lost:
        found.append(f"lost {len(lost)} edited files")
    litter = [n for n in there if n.endswith(".part")]
    if tidy and (litter or BROKEN_OFF in there):
        found.append(f"left behind {litter} {BROKEN_OFF if BROKEN_OFF in there else ''}")
    return found


def main() -> None:
    """Run the rounds."""
    folder, number, rounds = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    random.seed(int(sys.argv[4]))
    begun = time.perf_counter()
    deliver(folder, files(1))
    deliver(folder, files(2))
    longest = 0.8 * (time.perf_counter() - begun)
    own: set[bytes] = set()
    mixed = seen = 0
    for generation in range(3, rounds + 3):
        if generation % 7 == 0:
            mine = f"(by hand {generation})".encode()
            own.discard((folder / EDITED).read_bytes())  # what he writes over himself is his own affair
            (folder / EDITED).write_bytes(mine)
            own.add(mine)
        one_round(folder, generation, number, longest)
        # A run that was asked to stop tidies up; one that was killed cannot
        for line in wrongs(folder, own, tidy=number != signal.SIGKILL):
            print(f"round {generation}: {line}")
        mixed += (folder / BROKEN_OFF).exists()
        seen += (folder / "plan.json").read_bytes()[:6] != f"{generation:06d}".encode()
    deliver(folder, files(999_999), retire=("*.nc",))
    for line in wrongs(folder, own, tidy=True):
        print(f"at the end: {line}")
    print(f"{rounds} rounds, {seen} broken off before the end, {mixed} marked as broken off, {len(own)} edited files")


if __name__ == "__main__":
    main()
