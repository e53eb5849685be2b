"""Draw mutants of one package by lot, hold each against the tests that reach it, and write down what became of it.

    python tests/mutation/run.py maps                       # once: which tests run which lines
    python tests/mutation/run.py layout --sample 150 --seed 8
    python tests/mutation/run.py cuts --modules 'step_down*' --sample 40 --seed 3
    python tests/mutation/run.py layout --again             # after new tests: the survivors once more
    python tests/mutation/run.py table

Nothing is changed where the script is started: faults go into a copy in a scratch folder.
"""

from __future__ import annotations

import argparse
import gc
import json
import math
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from fnmatch import fnmatch
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
for variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ[variable] = "1"

from choosing import Maps  # noqa: E402
from mutants import Mutant, changes_the_code, mutants_of  # noqa: E402

PROJECT = Path(__file__).resolve().parents[2]
PACKAGES = ("layout", "cuts", "program", "standards")
TEST_FOLDERS = ("standards", "program", "layout", "cuts", "planning", "cli", "output", "delivery")
COPIED = ("holecam", "tests", "examples", "docs", "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".ci")
SURE = 1.959964
"""Standard deviations on each side of a 95 % interval."""


def wilson(hits: int, trials: int) -> tuple[float, float]:
    """Return the 95 % interval of a share after Wilson (1927)."""
    if not trials:
        return 0.0, 1.0
    share, square = hits / trials, SURE**2
    middle = (share + square / (2 * trials)) / (1 + square / trials)
    half = SURE / (1 + square / trials) * math.sqrt(share * (1 - share) / trials + square / (4 * trials**2))
    return middle - half, middle + half


def drawn(root: Path, faults: list[Mutant], *, sample: int, seed: int) -> list[Mutant]:
    """Return one mutant drawn at random from each of ``sample`` equal stretches of the package's text."""
    lot = random.Random(seed)
    chosen: list[Mutant] = []
    for i in range(sample):
        stretch = faults[i * len(faults) // sample : (i + 1) * len(faults) // sample]
        lot.shuffle(stretch)
        for fault in stretch:
            if changes_the_code((root / fault.path).read_bytes(), fault):
                chosen.append(fault)
                break
    return chosen


def found_again(row: dict[str, object]) -> Mutant | None:
    """Return the same fault in the module as it stands now: of those that read alike the nearest to the old line."""
    path = str(row["path"])
    alike = [
        m for m in mutants_of(PROJECT, path) if (m.kind, m.was, m.becomes) == (row["kind"], row["was"], row["becomes"])
    ]
    return min(alike, key=lambda m: abs(m.start - int(str(row["start"]))), default=None)


def all_mutants(root: Path, package: str, names: Sequence[str] = ("*",)) -> list[Mutant]:
    """Return every fault of a package, module by module; with names only of the modules that match one of them."""
    modules = [m for m in sorted((root / "holecam" / package).glob("*.py")) if any(fnmatch(m.stem, n) for n in names)]
    return [fault for module in modules for fault in mutants_of(root, str(module.relative_to(root)))]


def fresh_copy(scratch: Path) -> None:
    """Copy the project, with new byte code, into the scratch folder."""
    shutil.rmtree(scratch, ignore_errors=True)
    scratch.mkdir(parents=True)
    for name in COPIED:
        source = PROJECT / name
        if source.is_dir():
            shutil.copytree(source, scratch / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy2(source, scratch / name)
    # Byte code of modules and of tests is made once here, not again for every mutant
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPATH"] = str(scratch)
    subprocess.run([sys.executable, "-m", "compileall", "-q", "holecam"], cwd=scratch, env=environment, check=True)
    collect = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "--collect-only", "-qq"]
    folders = [f"tests/{folder}" for folder in TEST_FOLDERS]
    subprocess.run([*collect, *folders], cwd=scratch, env=environment, check=True, stdout=subprocess.DEVNULL)


def make_maps(work: Path, folders: list[str]) -> None:
    """Run the quick tests of each folder once and note which lines each of them runs."""
    copy = work / "copy"
    fresh_copy(copy)
    (work / "maps").mkdir(exist_ok=True)
    for folder in folders:
        target = work / "maps" / f"{folder.replace('/', '_')}.json"
        environment = os.environ | {
            "HOLECAM_TEST_MAP": str(target),
            "PYTHONPATH": os.pathsep.join((str(copy), str(copy / "tests" / "mutation"))),
        }
        command = [sys.executable, "-m", "pytest", "-p", "which_tests", "-p", "no:cacheprovider", f"tests/{folder}"]
        subprocess.run(command, cwd=copy, env=environment, check=False)


def hold_against_tests(
    work: Path, faults: list[tuple[str, Mutant]], results: Path, *, budget: float, new: list[str]
) -> None:
    """Try the mutants, each under its name in the results, one after the other; each result is written down at once."""
    import ezdxf  # noqa: F401
    import jinja2  # noqa: F401
    import numpy.testing  # noqa: F401
    import pydantic  # noqa: F401
    import scipy.optimize
    import scipy.stats  # noqa: F401
    import shapely  # noqa: F401
    import typer  # noqa: F401
    from trial import Verdict, try_out

    gc.freeze()

    scratch = work / f"copy-{results.stem}"
    fresh_copy(scratch)
    maps = Maps(sorted((work / "maps").glob("*.json")), scratch, new=new)
    with results.open("a", encoding="utf-8") as out:
        for origin, fault in faults:
            tests = maps.tests_for(fault)
            target = scratch / fault.path
            saved = work / f"{results.stem}-saved.py"
            shutil.copy2(target, saved)
            target.write_bytes(fault.put_into(target.read_bytes()))
            os.utime(target)
            verdict = Verdict("not reached", "", 0, 0.0)
            # The package's own tests first: most faults fall there, and few files have to be loaded
            own = [test for test in tests if test.startswith(f"tests/{fault.path.split('/')[1]}/")]
            for part in (own, [test for test in tests if test not in set(own)]):
                if part and verdict.fate in ("survived", "not reached"):
                    note, log = work / f"{results.stem}-note.json", work / f"{results.stem}-log.txt"
                    after = try_out(scratch, part, maps.seconds, budget=budget, note=note, log=log)
                    verdict = replace(after, ran=verdict.ran + after.ran, seconds=verdict.seconds + after.seconds)
            shutil.copy2(saved, target)
            verdict = replace(verdict, seconds=round(verdict.seconds, 1))
            row = {"origin": origin} | asdict(fault) | asdict(verdict) | {"tests": len(tests)}
            out.write(json.dumps(row) + "\n")
            out.flush()
            print(f"{verdict.fate:11} {verdict.seconds:6.1f} s  {fault.path}:{fault.line}  {fault.was[:60]} -> "
                  f"{fault.becomes[:60]}  {verdict.by}", flush=True)  # fmt: skip


def origin_of(row: Mapping[str, object]) -> str:
    """Return the name under which a fault was first drawn: it stays when the module changes."""
    return f"{row['path']}:{row['start']}:{row['end']}:{row['becomes']}"


def rows_of(results: Path) -> list[dict[str, object]]:
    """Return the last result of each mutant."""
    last: dict[str, dict[str, object]] = {}
    for text in results.read_text(encoding="utf-8").splitlines():
        row = json.loads(text)
        last[row.get("origin") or origin_of(row)] = row
    return list(last.values())


def print_table(work: Path) -> None:
    """Print the shares by package."""
    for package in PACKAGES:
        results = work / f"{package}.jsonl"
        if not results.exists():
            continue
        fates = [str(row["fate"]) for row in rows_of(results)]
        gone = sum(fate in ("killed", "time-out") for fate in fates)
        low, high = wilson(gone, len(fates))
        print(
            f"{package:10} possible {len(all_mutants(PROJECT, package)):6}, tried {len(fates):4}, killed {gone:4} "
            f"(of these {fates.count('time-out')} by time-out), {100 * gone / max(1, len(fates)):.1f} % "
            f"(95 %: {100 * low:.1f} to {100 * high:.1f})"
        )


def main() -> None:
    """Parse the line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=(*PACKAGES, "maps", "table"))
    parser.add_argument("--work", type=Path, default=Path("/tmp/holecam-mutation"), help="scratch folder")
    parser.add_argument("--sample", type=int, default=150)
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument(
        "--budget", type=float, default=60.0, help="processor seconds for one mutant: package's own tests, then others"
    )
    parser.add_argument("--modules", nargs="*", default=["*"], help="draw from these modules alone, such as step_down*")
    parser.add_argument("--again", action="store_true", help="only those not killed so far")
    parser.add_argument("--folders", nargs="*", default=list(TEST_FOLDERS), help="with maps: test folders or files")
    parser.add_argument(
        "--new", nargs="*", default=[], help="tests (files, or file::function) that the maps do not know yet"
    )
    asked = parser.parse_args()
    asked.work.mkdir(parents=True, exist_ok=True)
    if asked.what == "maps":
        make_maps(asked.work, asked.folders)
    elif asked.what == "table":
        print_table(asked.work)
    else:
        results = asked.work / f"{asked.what}.jsonl"
        if asked.again:
            left = [row for row in rows_of(results) if row["fate"] in ("survived", "not reached")]
            found = [(str(row.get("origin") or origin_of(row)), found_again(row)) for row in left]
            faults = [(origin, fault) for origin, fault in found if fault is not None]
        else:
            results.unlink(missing_ok=True)
            lot = drawn(PROJECT, all_mutants(PROJECT, asked.what, asked.modules), sample=asked.sample, seed=asked.seed)
            faults = [(origin_of(asdict(fault)), fault) for fault in lot]
        hold_against_tests(asked.work, faults, results, budget=asked.budget, new=asked.new)


if __name__ == "__main__":
    main()
