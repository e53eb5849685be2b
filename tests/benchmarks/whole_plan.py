"""The whole plan of the lantern hood, from its file to the checked programs and papers, against its libraries' imports.

Run ``python tests/benchmarks/whole_plan.py [rounds]``. Each is a fresh interpreter, in turns, processor time, least of
the rounds: importing every module that is not the project's own and that a plan has loaded when it ends (no more and
no less: a list kept by hand had forgotten some and named others), and ``holecam plan``. The goal is at most 2.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from pathlib import Path

from startup import plain_copy, seconds

ALLOWED_RATIO = 2.0
EXAMPLE = Path(__file__).parents[2] / "examples" / "lantern-hood" / "job.toml"
RUN = "import sys; sys.argv = ['holecam', 'plan', {job!r}, '--out', {out!r}]; from holecam.cli.main import main; main()"
LOADED = """
import json, sys
try:
    exec({run!r})
except SystemExit:
    pass
names = [name for name, module in sys.modules.items() if getattr(module, "__spec__", None) and name != "__main__"]
with open({out!r}, "w") as file:
    json.dump([name for name in names if name.partition(".")[0] != "holecam"], file)
"""
IMPORTS = """
from importlib import import_module
for name in {names!r}:
    import_module(name)
"""


def libraries(environment: dict[str, str], folder: Path) -> str:
    """Return a program that imports what a plan has loaded beside the project's own modules, in the same order."""
    names = folder / "loaded.json"
    run = RUN.format(job=str(EXAMPLE), out=str(folder / "out-loaded"))
    seconds(LOADED.format(run=run, out=str(names)), environment)
    return IMPORTS.format(names=json.loads(names.read_text()))


def main() -> int:
    """Print the ratio and return the exit code."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain_copy(folder)
        environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
        floor_code = libraries(environment, folder)
        imports, plans = [], []
        for turn in range(rounds + 1):  # the first round warms the disk cache and is dropped
            imports.append(seconds(floor_code, environment)[0])
            plans.append(seconds(RUN.format(job=str(EXAMPLE), out=str(folder / f"out-{turn}")), environment)[0])
    floor, ours = min(imports[1:]), min(plans[1:])
    print(f"importing the libraries {1e3 * floor:.0f} ms, the whole plan {1e3 * ours:.0f} ms of processor time")
    print(f"worst ratio {ours / floor:.2f}, allowed {ALLOWED_RATIO:.0f}")
    return 0 if ours / floor <= ALLOWED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
