"""The job that was worked out by hand: its sums hold, and the tool gives the same."""

from __future__ import annotations

import csv
import json
import re
import sys
from pathlib import Path

import pytest

from holecam.delivery.plan_folder import plan_file, write_folder

sys.path.insert(0, str(Path(__file__).parent))

import pages
from sums import Figure, read_sums, worked_out

PAGE = pages.DOCS / "worked-example.md"
INCH = 25.4


def figures() -> dict[str, Figure]:
    """Return every figure of the page; its sums are worked out again on the way."""
    return read_sums(line for b in pages.blocks(PAGE) if b.language == "sums" for line in b.lines)


def comparisons() -> list[tuple[str, str, str]]:
    """Return (figure, file, place) of each row of the page's tables of comparison."""
    rows = re.findall(r"^\| (\w+) \| `([\w./]+)` \| (.+) \|$", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert rows
    return rows


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Plan the page's job; return the folder of its papers."""
    folder = tmp_path_factory.mktemp("worked")
    (job,) = (b for b in pages.blocks(PAGE) if pages.is_job(b))
    file = folder / pages.job_name(job)
    file.write_text(job.text, encoding="utf-8")
    write_folder(plan_file(file), folder / "out")
    return folder / "out"


def plain_json(file: Path, pointer: str) -> object:
    """Return what stands at a JSON pointer (RFC 6901) of a file."""
    found = json.loads(file.read_text(encoding="utf-8"))
    for key in pointer.removeprefix("/").split("/"):
        found = found[int(key)] if isinstance(found, list) else found[key]
    return found


def told(papers: Path, file: str, place: str) -> tuple[float, float]:
    """Return what the tool says at a place, in the page's unit, and the worth of its last digit (0: not rounded)."""
    if file.endswith(".csv"):
        hole, column = re.fullmatch(r"hole (\d+), (.+)", place).groups()  # type: ignore[union-attr]
        with (papers / file).open(encoding="utf-8", newline="") as lines:
            text = next(row[column] for row in csv.DictReader(lines) if row["hole"] == hole)
        return float(text), 10.0 ** -len(text.partition(".")[2])
    pointer = re.match(r"`(/[\w/]+)`", place)
    value = plain_json(papers / file, pointer[1]) if pointer else (papers / file).read_text(encoding="utf-8")
    if isinstance(value, int | float):
        return (value / INCH if pointer and pointer[1].endswith("_mm") else value), 0.0
    before, after = re.search(r'"(.*)\{\}(.*)"', place).groups()  # type: ignore[union-attr]
    figure = re.search(re.escape(before) + r"([-+]?\d+(?:\.(\d+))?)" + re.escape(after), " ".join(str(value).split()))
    assert figure, f"{place}: not in {file}"
    return float(figure[1]), 10.0 ** -len(figure[2] or "")


@pytest.mark.outside_check(
    subject="whole job",
    source="docs/worked-example.md: trigonometry, thread, depths, speeds, slot and step-down by school arithmetic",
    closeness="one and a half of the last digit printed on the page",
    standing="mathematics",
)
def test_the_tool_gives_what_was_worked_out_by_hand(papers: Path) -> None:
    by_hand = figures()
    rows = comparisons()
    assert len(rows) >= 45
    for name, file, place in rows:
        value, last = told(papers, file.removeprefix("out/"), place)
        mine = by_hand[name]
        # Rounding on either side, and what rounded figures carry into a sum
        assert abs(value - mine.value) <= (last + 2.01 * mine.last_digit) / 2 + mine.last_digit / 2, (
            name,
            place,
            value,
        )


def test_every_end_result_of_the_page_is_compared_or_used() -> None:
    text = " ".join(f.expression for f in figures().values())
    used = set(re.findall(r"[A-Za-z_]\w*", text)) | {name for name, _, _ in comparisons()}
    alone = {name for name in figures() if name not in used}
    # What is only there for the reader to look at: neighbours of a choice, checks of the page itself
    assert alone <= {"drawn13", "twice", "pct35", "pct33", "bottom", "r3y"}, alone


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (["a = 1 + 1 = 3"], r"gives 2\.00"),
        (["a = 0.1 / 3 = 0.034"], r"gives 0\.03333"),
        (["a = 2", "a = 3"], "each name once"),
        (["a = 2 = 2 = 2"], "expected name"),
        (["a = two"], "no figure"),
        (["a = __import__('os') = 1"], "no sum"),
    ],
)
def test_a_wrong_sum_is_found(lines: list[str], message: str) -> None:
    with pytest.raises((ValueError, KeyError), match=message):
        read_sums(lines)


def test_sums_are_worked_out_from_the_figures_as_printed() -> None:
    assert read_sums(["a = 1 / 3 = 0.33", "b = 3 * a = 0.99"])["b"].value == 0.99
    assert worked_out("2 * cos(60) + up(1.2) - down(1.8) + nearest(2.5) ^ 2", {}) == pytest.approx(1 + 2 - 1 + 9)
    assert read_sums(["a = 0 - 0.0005 / 2 = -0.0003 in"])["a"].decimals == 4
