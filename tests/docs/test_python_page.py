"""Every block of the page about Python runs, and prints what the page shows."""

from __future__ import annotations

import doctest
import re
import shutil
import sys
from pathlib import Path

import pytest

import holecam

sys.path.insert(0, str(Path(__file__).parent))

import pages
from pages import DOCS, PAGES

ROOT = DOCS.parent
PYTHON_PAGES = [page for page in PAGES if any(b.language == "python" for b in pages.blocks(page))]


def test_the_page_about_python_is_among_them() -> None:
    assert "python.md" in [page.name for page in PYTHON_PAGES]


@pytest.mark.parametrize("page", PYTHON_PAGES, ids=lambda p: p.stem)
def test_every_block_runs_and_prints_what_is_shown(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    runner = doctest.DocTestRunner(optionflags=doctest.FAIL_FAST)
    known: dict[str, object] = {}
    for block in pages.blocks(page):
        if block.language == "python":
            assert block.lines[0].startswith(">>> "), f"{page.name}:{block.line}: show what is typed, with its prompt"
            test = doctest.DocTestParser().get_doctest(block.text, known, page.stem, str(page), block.line)
            told: list[str] = []
            failed, ran = runner.run(test, out=told.append, clear_globs=False)
            known |= test.globs
            assert ran > 0
            assert failed == 0, "".join(told)


def test_the_page_names_all_that_the_package_gives() -> None:
    text = (DOCS / "python.md").read_text(encoding="utf-8")
    table = text.partition("| name |")[2].partition("\n\n")[0]
    named = re.findall(r"`(\w+)`", "\n".join(row.split("|")[1] for row in table.splitlines()[2:]))
    assert sorted(named) == holecam.__all__
