"""The documents hold: commands run, shown output is what comes out, whole jobs plan, links lead somewhere."""

from __future__ import annotations

import csv
import importlib
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from holecam.job.models import Job, job_from_dict
from holecam.job.reader import read_chains, read_job
from holecam.planning.plan_job import make_plans

sys.path.insert(0, str(Path(__file__).parent))

import make_checks_page
import make_job_reference
import pages
from check_subjects import FORMULAS, GAPS
from pages import DOCS, PAGES, Block

ROOT = DOCS.parent

JOBS = [
    pytest.param(page, block, id=f"{page.stem}-{pages.job_name(block)}")
    for page in PAGES
    for block in pages.blocks(page)
    if pages.is_job(block)
]
COMMAND_PAGES = [
    pytest.param(page, id=page.stem) for page in PAGES if any(pages.is_commands(b) for b in pages.blocks(page))
]


def run(words: list[str], folder: Path) -> tuple[int, str]:
    """Run the tool in a folder; return its exit code and all that it printed."""
    done = subprocess.run(
        [sys.executable, "-m", "holecam", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        env={"PATH": "/usr/bin:/bin", "COLUMNS": "80", "PYTHONPATH": str(ROOT)},
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def shown_file(block: Block) -> str | None:
    """Return the file that the line above a block announces: From `out/sheet.txt`:"""
    match = re.search(r"From `([^`]+)`:$", block.above)
    return match[1] if match else None


@pytest.mark.parametrize("page", COMMAND_PAGES)
def test_commands_run_and_print_what_the_page_shows(page: Path, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    output, ran = "", 0
    for block in pages.blocks(page):
        if pages.is_job(block):
            (tmp_path / pages.job_name(block)).write_text(block.text, encoding="utf-8")
        elif name := pages.program_name(block):
            (tmp_path / name).write_text(block.text, encoding="utf-8")
        elif pages.is_commands(block):
            output = ""
            for words, promised in pages.commands(block):
                code, printed = run(words, tmp_path)
                assert code == promised, f"{page.name}:{block.line}: {' '.join(words)}\n{printed}"
                output += printed
                ran += 1
        elif block.language == "text":
            file = shown_file(block)
            real = (tmp_path / file).read_text(encoding="utf-8") if file else output
            missing = pages.missing_line(block.lines, real)
            assert missing is None, f"{page.name}:{block.line}: not in the output: {missing!r}\n{real}"
    assert ran > 0


@pytest.mark.parametrize(("page", "block"), JOBS)
def test_whole_jobs_are_read_and_planned(page: Path, block: Block, tmp_path: Path) -> None:
    file = tmp_path / pages.job_name(block)
    file.write_text(block.text, encoding="utf-8")
    if "[part]" not in block.lines:
        # A file of chains alone
        assert read_chains(file).chains
        return
    plans = make_plans(read_job(file))
    assert all(plan.holes or plan.cuts or plan.step_downs or plan.markings for plan in plans)


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.stem)
def test_links_lead_somewhere(page: Path) -> None:
    for link in pages.links(page):
        if "://" in link:
            continue
        file, _, anchor = link.partition("#")
        target = (page.parent / file).resolve() if file else page
        assert target.exists(), f"{page.name}: {link}"
        if anchor:
            assert anchor in pages.anchors(target), f"{page.name}: {link}"


def test_the_first_page_leads_to_every_other() -> None:
    linked = {link.partition("#")[0] for link in pages.links(DOCS / "index.md")}
    assert {p.name for p in PAGES} - {"index.md"} <= linked


def test_the_job_reference_is_up_to_date() -> None:
    written = make_job_reference.PAGE.read_text(encoding="utf-8")
    assert written == make_job_reference.page_text(), "run: python tests/docs/make_job_reference.py"


def test_the_page_of_outside_checks_is_up_to_date() -> None:
    written = make_checks_page.PAGE.read_text(encoding="utf-8")
    assert written == make_checks_page.page_text(), "run: python tests/docs/make_checks_page.py"


def test_every_formula_and_table_has_an_outside_source_or_a_gap_in_words() -> None:
    checks = make_checks_page.all_checks()
    assert len(checks) > 150
    missing = set(make_checks_page.uncovered(checks))
    assert missing <= set(GAPS), "no outside source, and nothing said about it in check_subjects.py"
    assert set(GAPS) <= {*FORMULAS, *(f"table {name}" for name in make_checks_page.table_names())}


def test_a_mark_of_an_outside_check_is_refused_when_it_says_too_little(tmp_path: Path) -> None:
    good = 'subject="feed", source="a", closeness="b", standing="library"'
    for wrong in ('subject="feeds"', 'standing="sure"', 'closeness=""'):
        file = tmp_path / "test_x.py"
        key = wrong.partition("=")[0]
        marks = ", ".join(wrong if part.startswith(key) else part for part in good.split(", "))
        file.write_text(f"@pytest.mark.outside_check({marks})\ndef test_a(): ...\n", encoding="utf-8")
        with pytest.raises(ValueError, match="test_a"):
            make_checks_page.checks_of(file)


def test_the_job_reference_has_every_key_that_the_reader_takes() -> None:
    # Straight from the models, not from the schema that the page is made of
    text = make_job_reference.PAGE.read_text(encoding="utf-8")
    whole = text.partition("## The whole file")[2].partition("\n## ")[0]
    keys = {field.alias or name for name, field in Job.model_fields.items()}
    assert keys == set(re.findall(r"^\| `(\w+)` \|", whole, flags=re.MULTILINE))


def test_every_key_of_the_job_reference_has_an_example_and_words() -> None:
    text = make_job_reference.PAGE.read_text(encoding="utf-8")
    rows = re.findall(r"^\| `\w+` \| .* \|$", text, flags=re.MULTILINE)
    assert len(rows) > 500
    for row in rows:
        *_, example, words = row.replace("\\|", "/").strip("| ").split(" | ")
        assert re.fullmatch(r"`[^`]+`", example), row
        assert re.fullmatch(r"[\w\"].{3,}[.?]", words), row


def test_a_whole_job_from_python_plans_as_the_page_says() -> None:
    job = job_from_dict(
        {
            "title": "Two holes",
            "part": {"material": "brass", "thickness": 3, "outline": {"rectangle": [60, 20]}},
            "pattern": [{"name": "pair", "points": [[10, 10], [50, 10]], "drill": "3 mm"}],
        },
        unit="mm",
    )
    assert [h.xy_part for h in make_plans(job)[0].holes] == [(10.0, 10.0), (50.0, 10.0)]


def test_the_safety_page_has_every_caution_word_for_word() -> None:
    page = " ".join((DOCS / "safety.md").read_text(encoding="utf-8").split())
    with (ROOT / "holecam/standards/tables/cautions.csv").open(encoding="utf-8", newline="") as file:
        texts = [" ".join(row["text"].split()) for row in csv.DictReader(file)]
    assert len(texts) > 20
    for text in texts:
        assert text in page


def test_the_formulas_name_code_that_is_there() -> None:
    names = re.findall(r"`(holecam\.[\w.]+)`", (DOCS / "formulas.md").read_text(encoding="utf-8"))
    assert len(set(names)) > 15
    for name in sorted(set(names)):
        module, _, last = name.rpartition(".")
        try:
            found: object = importlib.import_module(name)
        except ModuleNotFoundError:
            found = getattr(importlib.import_module(module), last, None)
        assert found is not None, name


@pytest.mark.parametrize(
    ("shown", "missing"),
    [
        (("a", "b"), None),
        (("...", "b", "...", "d"), None),
        (("a", "c"), "c"),
        (("d", "...", "a"), "a"),
        (("e",), "e"),
    ],
)
def test_shown_output_is_compared_line_by_line(shown: tuple[str, ...], missing: str | None) -> None:
    assert pages.missing_line(shown, "a\nb  \nc\nd\n") == missing
