"""Which tests run which lines, and how long each takes: measured once, so that a mutant meets tests that reach it.

A plugin for pytest. Every test starts with empty caches, so that a table read by the first test is not taken for a line
that no later test needs.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

MAP_VARIABLE = "HOLECAM_TEST_MAP"
"""Names the file that the map is written to."""


def empty_the_caches() -> None:
    """Forget every result that a function of the project has remembered."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "holecam":
            for value in list(vars(module).values()):
                clear = getattr(value, "cache_clear", None)
                if clear is not None:
                    clear()


class WhichTests:
    """Notes lines and seconds for each test; writes them when the run ends."""

    def __init__(self, target: Path) -> None:
        self.target = target
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.measure = coverage.Coverage(data_file=None, source=["holecam"], branch=False, config_file=False)
        self.measure.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        empty_the_caches()
        self.measure.switch_context(item.nodeid)
        begin = time.perf_counter()
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.perf_counter() - begin
            self.measure.switch_context("")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        self.measure.stop()
        data = self.measure.get_data()
        lines: dict[str, dict[str, list[str]]] = {}
        for path in data.measured_files():
            reached = data.contexts_by_lineno(path)
            short = path[path.rindex("holecam" + os.sep) :]
            lines[short] = {str(line): sorted(filter(None, tests)) for line, tests in reached.items() if any(tests)}
        tests = sorted(set(self.seconds) - self.failed)
        number = {test: index for index, test in enumerate(tests)}
        told = {
            "tests": tests,
            "seconds": [round(self.seconds[test], 4) for test in tests],
            "lines": {
                path: {line: [number[test] for test in by if test in number] for line, by in rows.items()}
                for path, rows in lines.items()
            },
        }
        self.target.write_text(json.dumps(told), encoding="utf-8")


def pytest_configure(config: pytest.Config) -> None:
    config.pluginmanager.register(WhichTests(Path(os.environ[MAP_VARIABLE])))
