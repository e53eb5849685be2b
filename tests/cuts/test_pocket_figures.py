"""The page of pocket figures says what the planner does today, and the aims hold in it."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).resolve().parents[2]


def script() -> ModuleType:
    """Return the script that makes the page."""
    spec = importlib.util.spec_from_file_location("pocket_figures", ROOT / "tests" / "benchmarks" / "pocket_figures.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def numbers(line: str) -> list[float]:
    """Return the numbers of a row, its name left out."""
    return [float(cell) for cell in line.split("|")[2:] if re.fullmatch(r" *-?\d+(\.\d+)? *", cell)]


def test_the_page_is_what_the_planner_does_and_keeps_the_aims() -> None:
    page = (ROOT / "docs" / "pocket-figures.md").read_text(encoding="utf-8")
    made = script().page()
    assert (
        made.splitlines()[: made.splitlines().index("## Path length")]
        == page.splitlines()[: page.splitlines().index("## Path length")]
    )
    told, found = ([line for line in text.splitlines() if line.startswith("| ")] for text in (page, made))
    assert [line.split("|")[1] for line in told] == [line.split("|")[1] for line in found]
    for a, b in zip(told, found, strict=True):
        for x, y in zip(numbers(a), numbers(b), strict=True):
            assert abs(x - y) <= 0.02 * abs(x) + 0.02, (a, b)
    lengths, bites, blocks = (section.splitlines() for section in made.split("\n## ")[2:5])
    assert max(numbers(line)[4] for line in lengths if line.startswith("| ") and numbers(line)) <= 1.10
    assert max(numbers(line)[4] for line in bites if line.startswith("| ") and numbers(line)) <= 1.25
    assert max(numbers(line)[2] for line in blocks if line.startswith("| ") and numbers(line)) <= 0.1
