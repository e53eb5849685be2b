"""No block of the documents slips through: each is run, compared with what it is an excerpt of, or read by a test."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import pages
from make_checks_page import FIELDS, STANDINGS
from pages import DOCS, PAGES, Block

ROOT = DOCS.parent
READMES = [ROOT / "README.md", *sorted((ROOT / "examples").glob("*/README.md"))]
DEVELOPERS = ROOT / "DEVELOPERS.md"
SLOW_READMES = {"lantern-hood"}
"""Examples whose plan takes long; the first page plans the same one in the quick run."""


def kind_of(page: Path, block: Block) -> str:
    """Return how a block is tested, or "" for one that slips through."""
    if pages.is_commands(block):
        return "run"
    if block.language == "toml":
        return "planned" if pages.is_job(block) else "excerpt"
    if block.language == "text":
        return "compared with the output above it"
    if block.language == "gcode" and pages.program_name(block):
        return "written to a file and read"
    if block.language == "sums":
        return "worked out again"
    if block.language == "" and block.lines[0].startswith("holecam "):
        return "options looked up"
    if block.language == "sh" and page in (ROOT / "README.md", DEVELOPERS):
        return "run on a bare machine by .ci/run"
    if block.language in ("python", "pycon") and page in (DOCS / "python.md", DEVELOPERS):
        return "run as Python"
    return ""


@pytest.mark.parametrize("page", [*PAGES, *READMES, DEVELOPERS], ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_every_block_has_a_test(page: Path) -> None:
    for block in pages.blocks(page):
        assert kind_of(page, block), f"{page.name}:{block.line}: no test runs this block"


def test_excerpts_of_jobs_stand_in_the_example() -> None:
    job = (ROOT / "examples" / "lantern-hood" / "job.toml").read_text(encoding="utf-8")
    excerpts = [b for p in PAGES for b in pages.blocks(p) if b.language == "toml" and not pages.is_job(b)]
    assert len(excerpts) >= 3
    for block in excerpts:
        assert block.text in job, f"line {block.line}: not in the lantern hood's job as it stands"


def test_options_of_commands_that_cannot_be_run_here_are_there() -> None:
    blocks = [b for p in PAGES for b in pages.blocks(p) if kind_of(p, b) == "options looked up"]
    for block in blocks:
        for line in block.lines:
            command = line.split()[1]
            shown = subprocess.run(
                [sys.executable, "-m", "holecam", command, "--help"],
                capture_output=True, text=True, check=True, cwd=ROOT,
            ).stdout  # fmt: skip
            for option in re.findall(r"--[\w-]+", line):
                assert option in shown, f"line {block.line}: holecam {command} has no {option}"


@pytest.mark.parametrize(
    "page",
    [
        pytest.param(p, id=p.parent.name, marks=[pytest.mark.slow] if p.parent.name in SLOW_READMES else [])
        for p in READMES
    ],
)
def test_commands_of_the_readmes_run(page: Path, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    found = [c for b in pages.blocks(page) if pages.is_commands(b) for c in pages.commands(b)]
    if page == ROOT / "README.md":  # its very first command, without the setting up
        found.insert(0, (["plan", "examples/lantern-hood/job.toml", "--out", "out"], 0))
    assert found
    for words, promised in found:
        done = subprocess.run(
            [sys.executable, "-m", "holecam", *words], cwd=tmp_path, capture_output=True, text=True, timeout=240,
            env={"PATH": "/usr/bin:/bin", "COLUMNS": "80", "PYTHONPATH": str(ROOT)}, check=False,
        )  # fmt: skip
        assert done.returncode == promised, f"{page}: {' '.join(words)}\n{done.stdout}{done.stderr}"


def test_the_bare_machine_runs_the_first_two_commands_of_the_readme() -> None:
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    first, second = (b for b in pages.blocks(ROOT / "README.md") if kind_of(ROOT / "README.md", b).startswith("run on"))
    assert [b.text for b in pages.blocks(ROOT / "README.md")][:2] == [first.text, second.text]
    assert 'readme_command 1)"' in ci
    assert 'readme_command 2)"' in ci
    for tool in ("ruff check", "ruff format", "mypy", "lint-imports"):
        assert f".venv/bin/{tool}" in ci
        assert tool in DEVELOPERS.read_text(encoding="utf-8")


def test_what_the_developers_page_names_is_there() -> None:
    text = DEVELOPERS.read_text(encoding="utf-8")
    sources = [*(ROOT / "holecam").rglob("*"), *(ROOT / "tests").rglob("*"), *DOCS.glob("*")]
    names = {p.relative_to(ROOT).as_posix() for p in sources}
    code = "\n".join(p.read_text(encoding="utf-8") for p in sources if p.suffix == ".py")
    files = set(re.findall(r"`((?:\w+/)*\w+\.(?:py|csv|md))`", text))
    assert len(files) > 20
    for file in files:
        assert any(name == file or name.endswith(f"/{file}") for name in names), file
    for word in re.findall(r"`(_?[A-Za-z]+(?:_\w+)+|[A-Z]{4,})`", text):
        if word not in ("size_SERIES",):
            assert re.search(rf"\b{word}\b", code), word


def test_the_mark_on_the_developers_page_is_a_good_one() -> None:
    (block,) = (b for b in pages.blocks(DEVELOPERS) if b.language == "python")
    mark = ast.parse(block.text.replace("@", "", 1), mode="eval").body
    assert isinstance(mark, ast.Call)
    given = {k.arg: ast.literal_eval(k.value) for k in mark.keywords}
    assert tuple(given) == FIELDS
    assert given["standing"] in STANDINGS


@pytest.mark.parametrize("page", [*READMES, DEVELOPERS], ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_links_outside_the_documents_lead_somewhere(page: Path) -> None:
    for link in pages.links(page):
        assert "://" in link or (page.parent / link.partition("#")[0]).exists(), link
