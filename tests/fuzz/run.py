"""Coverage-guided fuzzing of everything that reads what a user, a drawing program or another editor wrote.

How to run it
-------------
``python tests/fuzz/run.py [TARGET...] [--cases N] [--share 0.1] [--keep FOLDER]``
with ``pip install atheris`` (a coverage-guided
fuzzer for Python, for the long run only; nothing else needs it). Without names every target of ``targets.py`` runs, one
after the other, each in a process of its own. A table at the end gives cases, seconds, the slowest case and the
breaches; the inputs of breaches lie in ``FOLDER/breaches``, what reached new lines in ``FOLDER/corpus``.

What is kept
------------
``corpus/TARGET/`` holds small inputs: those that reached new lines and, above all, each one that broke a rule once.
``test_fuzz_corpus.py`` replays them all in the ordinary tests. The rules are in ``guard.py``, the inputs are built in
``hostile_jobs.py`` and ``hostile_texts.py`` from choices (``chooser.py``), which the fuzzer reads out of bytes.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import mmap
import os
import random
import struct
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
CORPUS = HERE / "corpus"
CASES = {
    "lengths": 60_000,
    "names": 20_000,
    "commands": 4_000,
    "job-texts": 15_000,
    "job-values": 20_000,
    "drawings": 25_000,
    "programs": 60_000,
    "checks": 1_500,
    "whole-jobs": 3_000,
}
"""Cases of one long run: many where a case is cheap, thousands where a whole job is planned and written."""

LONGEST = {"lengths": 100, "names": 80, "commands": 200, "job-texts": 400, "drawings": 3000, "programs": 2000}
"""Most bytes of a case; others 300."""

MODULES = {
    "commands": ("cli.main", "cli.quick_sheet", "layout.patterns"),
    "job-texts": ("job.reader",),
    "job-values": ("job.reader",),
    "drawings": ("job.drawings", "job.drawing_entities"),
    "programs": ("program",),
    "checks": ("program", "delivery.plan_folder"),
    "whole-jobs": ("delivery.plan_folder", "job.drawing_entities", "program"),
}
"""What is imported, and so watched for coverage, before the first case."""

COUNTS = struct.Struct("<QQddQ")
"""Cases, breaches, slowest case in seconds, seconds in all, whole jobs planned."""

LARGEST_CASE = 1 << 16
HARD_SECONDS = 60
"""Seconds of processor time after which a case that sits in a library call is broken off from outside."""

NOT_GUIDED = ("whole-jobs", "checks")
"""Targets that run without coverage guidance: watching every line of the planner makes each case several times slower,
and the choices of ``hostile_jobs.py`` reach more of it than single bytes would."""


def run_one(target: str, cases: int, keep: Path, board_file: str, seed: int) -> None:
    """Fuzz one target in this process; the figures are kept on a board in shared memory."""
    guided = target not in NOT_GUIDED
    if guided:
        import atheris

        watched = atheris.instrument_imports(include=["holecam"], enable_loader_override=False)
    with watched if guided else contextlib.nullcontext():
        from guard import broken_rule, kind_of, limit_memory
        from targets import TARGETS, TOLD, WORK, written_out

        for module in MODULES.get(target, ()):
            __import__(f"holecam.{module}")
    case = TARGETS[target]
    with Path(board_file).open("r+b") as file:
        board = mmap.mmap(file.fileno(), 0)
    breaches = keep / "breaches"
    breaches.mkdir(parents=True, exist_ok=True)
    WORK.mkdir(parents=True, exist_ok=True)
    seen: set[str] = set()
    counted = COUNTS.unpack_from(board)
    count, broken, slowest, total = counted[0], counted[1], counted[2], counted[3]
    for first in (b"", b"\x01" * 40):
        broken_rule(case, first, folder=str(WORK))  # imports that happen on the first case are not its cost

    def one(data: bytes) -> None:
        nonlocal count, broken, slowest, total
        COUNTS.pack_into(board, 0, count, broken, slowest, total, TOLD.get("planned", 0))
        struct.pack_into("<Q", board, COUNTS.size, len(data))
        board[COUNTS.size + 8 : COUNTS.size + 8 + len(data)] = data
        if count % 200 == 0:
            limit_memory()  # the fuzzer's own collection grows too, and is not the product's
        begin = time.process_time()
        told = broken_rule(case, data, folder=str(WORK))
        took = time.process_time() - begin
        count, total, slowest = count + 1, total + took, max(slowest, took)
        if told:
            broken += 1
            kind = "" if "took more than" in told else kind_of(told)  # where a slow case is stopped is chance
            if not kind or kind not in seen:
                seen.add(kind)
                name = f"{target}-{hashlib.sha256(data).hexdigest()[:10]}"
                (breaches / name).write_bytes(written_out(target, data))
                (breaches / f"{name}.txt").write_text(told + "\n", encoding="utf-8", errors="replace")
                print(f"BREACH {name}: {told}", file=sys.stderr, flush=True)
        COUNTS.pack_into(board, 0, count, broken, slowest, total, TOLD.get("planned", 0))

    if not guided:
        for number in range(count, cases):
            draw = random.Random(f"{target} {seed} {number}")
            one(draw.randbytes(draw.choice((6, 20, 60))))
        return
    found = keep / "corpus" / target
    found.mkdir(parents=True, exist_ok=True)
    known = CORPUS / target
    folders = [str(found), *([str(known)] if known.is_dir() else [])]
    atheris.Setup(
        ["fuzz", *folders, f"-runs={cases - count}", f"-max_len={LONGEST.get(target, 300)}", "-timeout=90",
         "-rss_limit_mb=4000", "-verbosity=0", "-len_control=20", f"-artifact_prefix={breaches}/crash-{target}-"],
        one,
    )  # fmt: skip
    atheris.Fuzz()


def run_target(target: str, cases: int, keep: Path, seed: int) -> tuple[int, int, float, float, int, float]:
    """Fuzz one target in a child, started again where a case takes it down; return the figures and wall seconds."""
    begin = time.monotonic()
    with tempfile.NamedTemporaryFile(prefix="holecam-fuzz-") as board:
        board.write(bytes(COUNTS.size + 8 + LARGEST_CASE))
        board.flush()
        extra = 0
        while True:
            child = subprocess.Popen(
                [sys.executable, str(Path(__file__)), "--child", target, "--cases", str(cases), "--keep", str(keep),
                 "--board", board.name, "--seed", str(seed)],
            )  # fmt: skip
            last, since = -1, 0.0
            while child.poll() is None:
                time.sleep(2)
                now = COUNTS.unpack_from(Path(board.name).read_bytes())[0]
                if now != last:
                    last, since = now, _processor_time(child.pid)
                elif now and _processor_time(child.pid) - since > HARD_SECONDS:
                    child.kill()
            raw = Path(board.name).read_bytes()
            figures = COUNTS.unpack_from(raw)
            if child.returncode == 0 or figures[0] >= cases or extra > 20:
                break
            extra += 1
            size = struct.unpack_from("<Q", raw, COUNTS.size)[0]
            data = raw[COUNTS.size + 8 : COUNTS.size + 8 + size]
            name = f"{target}-{hashlib.sha256(data).hexdigest()[:10]}"
            (keep / "breaches" / name).write_bytes(data)
            told = f"took the interpreter down or sat in a library call (code {child.returncode})"
            (keep / "breaches" / f"{name}.txt").write_text(told + "\n", encoding="utf-8")
            print(f"BREACH {name}: {told}", file=sys.stderr, flush=True)
            with Path(board.name).open("r+b") as file:
                file.write(COUNTS.pack(figures[0] + 1, figures[1] + 1, *figures[2:]))
    return (*figures, time.monotonic() - begin)


def _processor_time(process: int) -> float:
    """Return the seconds of processor time that a process has used, 0 when it is gone."""
    try:
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main() -> int:
    """Run the targets and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("targets", nargs="*", metavar="TARGET", help=f"of {', '.join(CASES)}; all without")
    parser.add_argument("--cases", type=int, help="cases of each target, instead of the usual ones")
    parser.add_argument("--share", type=float, default=1.0, help="share of the usual cases")
    parser.add_argument("--seed", type=int, default=0, help="another number, other cases where none are guided")
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "holecam-fuzz-found")
    parser.add_argument("--child", help=argparse.SUPPRESS)
    parser.add_argument("--board", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        run_one(options.child, options.cases, options.keep, options.board, options.seed)
        return 0
    unknown = [t for t in options.targets if t not in CASES]
    if unknown:
        parser.error(f"unknown targets {', '.join(unknown)}; there are {', '.join(CASES)}")
    rows = {}
    (options.keep / "breaches").mkdir(parents=True, exist_ok=True)
    for target in options.targets or CASES:
        cases = options.cases or max(1, round(CASES[target] * options.share))
        rows[target] = run_target(target, cases, options.keep, options.seed)
        print(json.dumps({target: rows[target]}), flush=True)
    print(f"\n{'target':12} {'cases':>8} {'breaches':>8} {'slowest':>8} {'processor':>9} {'wall':>6} {'planned':>8}")
    for target, (cases, broken, slowest, total, planned, wall) in rows.items():
        print(f"{target:12} {cases:8} {broken:8} {slowest:9.2f} {total:11.0f} {wall:8.0f} {planned or '':>8}")
    print(f"{'in all':12} {sum(r[0] for r in rows.values()):8} {sum(r[1] for r in rows.values()):8}")
    return 1 if any(r[1] for r in rows.values()) else 0


if __name__ == "__main__":
    os.environ.setdefault("PYTHONDONTWRITEBYTECODE", "1")
    sys.exit(main())
