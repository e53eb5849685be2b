"""Hold one mutant against its tests, in a process of its own that starts with the heavy libraries already loaded."""

from __future__ import annotations

import gc
import json
import os
import resource
import signal
import sys
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

import pytest
from hypothesis import Phase, settings

MEMORY = 6 * 2**30
"""Bytes a trial may use."""

PATIENCE = 12.0
"""A test may take this many times its usual time, and ``GRACE`` seconds more, before the mutant is said to hang.

Processor time, as is the budget: other work on the machine must not decide.
"""

GRACE = 8.0

NO_TESTS = int(pytest.ExitCode.NO_TESTS_COLLECTED)
OWN_FAULT = 70
"""Code of a trial that could not be carried out at all."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """``killed``, ``time-out`` or ``survived``; the test that decided, how many ran, and the seconds taken."""

    fate: str
    by: str
    ran: int
    seconds: float


class Chosen:
    """Runs the chosen tests alone, in their order, and stops at the first failure or when the time is spent."""

    def __init__(self, tests: list[str], seconds: dict[str, float], budget: float, note: Path) -> None:
        self.place = {test: index for index, test in enumerate(tests)}
        self.seconds = seconds
        self.note = note
        self.until = time.process_time() + budget
        self.ran = 0
        self.running = "collecting"

    def told(self, fate: str, by: str) -> None:
        self.note.write_text(json.dumps({"fate": fate, "by": by, "ran": self.ran}), encoding="utf-8")

    def hangs(self, signum: int, frame: FrameType | None) -> None:
        self.told("time-out", self.running)
        os._exit(3)

    def pytest_sessionstart(self) -> None:
        # A failure is enough; its smallest example is not wanted
        settings.register_profile("no-shrinking", parent=settings.default, phases=(Phase.explicit, Phase.generate))
        settings.load_profile("no-shrinking")

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        chosen = [(self.placed(item.nodeid), item) for item in items]
        items[:] = [item for _, item in sorted((c for c in chosen if c[0] >= 0), key=lambda c: c[0])]

    def placed(self, test: str) -> int:
        """Return the turn of a test, -1 for none; a file stands for all its tests, a function for all its cases."""
        turns = (self.place.get(name, -1) for name in (test.partition("::")[0], test.partition("[")[0], test))
        return next((turn for turn in turns if turn >= 0), -1)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item):  # type: ignore[no-untyped-def]
        self.running = item.nodeid
        signal.setitimer(signal.ITIMER_PROF, self.seconds.get(item.nodeid, 0.0) * PATIENCE + GRACE)
        try:
            return (yield)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            self.ran += 1
            if time.process_time() > self.until:
                item.session.shouldstop = "the time for this mutant is spent"

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.told("killed", report.nodeid)


def try_out(
    scratch: Path, tests: list[str], seconds: dict[str, float], *, budget: float, note: Path, log: Path
) -> Verdict:
    """Return what becomes of the mutant that lies in the scratch copy."""
    begin = time.monotonic()
    note.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        _in_the_child(scratch, tests, seconds, budget, note, log)
    limit = begin + 8 * budget + 120
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            break
        if time.monotonic() > limit:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return Verdict("time-out", "whole run", 0, time.monotonic() - begin)
        time.sleep(0.02)
    taken = time.monotonic() - begin
    if note.exists():
        told = json.loads(note.read_text(encoding="utf-8"))
        if told["fate"] != "survived":
            return Verdict(told["fate"], told["by"], told["ran"], taken)
    code = os.waitstatus_to_exitcode(status)
    if code == 0:
        return Verdict("survived", "", json.loads(note.read_text(encoding="utf-8"))["ran"], taken)
    if code == OWN_FAULT:
        raise RuntimeError(f"a trial could not be carried out: see {log}")
    return Verdict("killed", f"while the tests were being loaded (code {code})", 0, taken)


def _in_the_child(
    scratch: Path, tests: list[str], seconds: dict[str, float], budget: float, note: Path, log: Path
) -> None:
    """Run the tests and end the process."""
    code = OWN_FAULT
    try:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.chdir(scratch)
        sys.dont_write_bytecode = True
        gc.set_threshold(20_000, 50, 100)
        os.environ |= {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(scratch)}
        sys.path.insert(0, str(scratch))
        chosen = Chosen(tests, seconds, budget, note)
        signal.signal(signal.SIGPROF, chosen.hangs)
        files = sorted({test.partition("::")[0] for test in tests})
        # The libraries are loaded before pytest starts: it cannot rewrite the assertions in them, nor need it
        quiet = ["-q", "--tb=line", "--no-header", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
        code = int(pytest.main(["-x", "-p", "no:cacheprovider", *quiet, *files], [chosen]))
        stopped = code in (0, int(pytest.ExitCode.INTERRUPTED)) and chosen.ran
        if (code == NO_TESTS or stopped) and not note.exists():
            chosen.told("survived", "")
            code = 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
