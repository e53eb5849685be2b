"""Write ``docs/checks.md`` from the marks on the tests and the tables: ``python tests/docs/make_checks_page.py``."""

from __future__ import annotations

import ast
import csv
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from check_subjects import FORMULAS, GAPS, OTHER, OUTSIDE, STANDINGS

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "checks.md"
TABLES = ROOT / "holecam" / "standards" / "tables"
FIELDS = ("subject", "source", "closeness", "standing")

HEAD = """# Checks against the outside

Made by `tests/docs/make_checks_page.py` from the marks on the tests. Do not edit it by hand.

A tool that is only tested against itself can be wrong twice in the same way. So what it computes is also held against
something that is not the project: a published standard or handbook, a worked example, a closed form of a textbook, or a
general-purpose library that goes its own way. This page lists those checks, and says where there is none. The tests of
the project have many more that compare it with brute force, simulation and hand arithmetic of its own; they are not
counted here.

How much a source is worth:

{standings}

*1e-9* and the like under *how closely* is the greatest difference that the test lets pass: of the value itself, or in
the unit that stands beside it.
"""


@dataclass(frozen=True, slots=True)
class Check:
    """One outside check of one test."""

    test: str
    file: str
    subjects: tuple[str, ...]
    source: str
    closeness: str
    standing: str


def checks_of(path: Path) -> list[Check]:
    """Return the outside checks that the tests of one file declare."""
    found = []
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if not isinstance(node, ast.FunctionDef):
            continue
        for mark in node.decorator_list:
            if not (isinstance(mark, ast.Call) and ast.unparse(mark.func) == "pytest.mark.outside_check"):
                continue
            where = f"{path.name}, {node.name}"
            given = {k.arg: ast.literal_eval(k.value) for k in mark.keywords}
            if tuple(given) != FIELDS or mark.args or not node.name.startswith("test_"):
                raise ValueError(f"{where}: an outside check on a test says {', '.join(FIELDS)}, in this order")
            subjects = given["subject"] if isinstance(given["subject"], tuple) else (given["subject"],)
            if unknown := set(subjects) - set(known_subjects()):
                raise ValueError(f"{where}: {unknown} stand neither in check_subjects.py nor among the tables")
            if given["standing"] not in STANDINGS or not given["source"] or not given["closeness"]:
                raise ValueError(f"{where}: standing is one of {', '.join(STANDINGS)}; source and closeness are needed")
            file = path.relative_to(ROOT).as_posix()
            found.append(Check(node.name, file, subjects, given["source"], given["closeness"], given["standing"]))
    return found


def all_checks() -> list[Check]:
    """Return every outside check, in the order of the files."""
    return [check for path in sorted((ROOT / "tests").rglob("test_*.py")) for check in checks_of(path)]


def table_names() -> list[str]:
    """Return the names of the tables."""
    return sorted(p.stem for p in TABLES.glob("*.csv"))


def known_subjects() -> list[str]:
    """Return every subject that a check may have."""
    return [*FORMULAS, *(one for group in OTHER.values() for one in group), *(f"table {n}" for n in table_names())]


def row_standing(source: str) -> str:
    """Return the standing of a table's row, by the words of its source."""
    if "from memory" in source:
        return "memory"
    return "common practice" if source.startswith("common practice") else "names a source"


def rows_of(table: str) -> Counter[str]:
    """Return how many rows of a table have which standing."""
    with (TABLES / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return Counter(row_standing(row["source"]) for row in csv.DictReader(file))


def by_standing(checks: list[Check], subject: str) -> dict[str, list[Check]]:
    """Return the checks of a subject under their standings, the strongest first."""
    of = [c for c in checks if subject in c.subjects]
    return {s: found for s in STANDINGS if (found := [c for c in of if c.standing == s])}


def uncovered(checks: list[Check]) -> list[str]:
    """Return the formulas and tables that no outside source speaks of."""
    return [
        subject
        for subject in (*FORMULAS, *(f"table {name}" for name in table_names()))
        if not any(s in OUTSIDE for s in by_standing(checks, subject))
    ]


def sources_cell(found: dict[str, list[Check]]) -> str:
    """Return the sources of a subject, the outside ones first, each with its standing."""
    lines = [f"{c.source} ({s})" for s, checks in found.items() for c in checks]
    return "<br>".join(dict.fromkeys(lines)) or "none"


def cell(text: str) -> str:
    """Return a text that fits in one cell of a table."""
    return " ".join(text.split()).replace("|", "\\|")


def plain_test(check: Check) -> str:
    """Return what a test does, in the words of its name."""
    return check.test.removeprefix("test_").replace("_", " ").replace(" s ", "'s ")


def anchor(heading: str) -> str:
    """Return the anchor of a heading."""
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def formula_lines(checks: list[Check]) -> list[str]:
    """Return the table of formulas."""
    lines = ["## Formulas", "", "| formula | in short | who else says so | open |", "|---|---|---|---|"]
    for subject, short in FORMULAS.items():
        found = by_standing(checks, subject)
        lines.append(f"| {subject} | {cell(short)} | {cell(sources_cell(found))} | {cell(GAPS.get(subject, '-'))} |")
    return [*lines, ""]


def table_lines(checks: list[Check]) -> list[str]:
    """Return the list of tables."""
    lines = [
        "## Tables",
        "",
        "Every row of a table names its source. *Named*, *from memory* and *custom* (common practice) count the rows",
        "by what that source says. A named source was not always read in the original.",
        "",
        "| table | rows | named | from memory | custom | held against | open |",
        "|---|---:|---:|---:|---:|---|---|",
    ]
    for name in table_names():
        rows, found = rows_of(name), by_standing(checks, f"table {name}")
        counts = " | ".join(str(rows[s]) for s in ("names a source", "memory", "common practice"))
        gap = GAPS.get(f"table {name}", "-")
        lines.append(f"| {name} | {rows.total()} | {counts} | {cell(sources_cell(found))} | {cell(gap)} |")
    total = sum((rows_of(n) for n in table_names()), Counter())
    counts = " | ".join(str(total[s]) for s in ("names a source", "memory", "common practice"))
    return [*lines, f"| all {len(table_names())} | {total.total()} | {counts} | | |", ""]


def check_lines(checks: list[Check]) -> list[str]:
    """Return the list of all checks."""
    lines = ["## All checks", ""]
    groups = {"Formulas of the design": tuple(FORMULAS)} | OTHER
    groups["Tables alone"] = tuple(f"table {n}" for n in table_names())
    shown: set[Check] = set()
    for heading, subjects in groups.items():
        rows = []
        for subject in subjects:
            for c in (c for c in checks if subject in c.subjects and c not in shown):
                shown.add(c)
                what = f"{plain_test(c)} (`{c.file.removeprefix('tests/')}`)"
                cells = (subject, what, c.source, c.closeness, c.standing)
                rows.append("| " + " | ".join(map(cell, cells)) + " |")
        if rows:
            lines += [f"### {heading}", "", "| of what | test | against | how closely | standing |"]
            lines += ["|---|---|---|---|---|", *rows, ""]
    return lines


def page_text() -> str:
    """Return the whole page."""
    checks = all_checks()
    standings = "\n".join(f"- **{name}**: {words}." for name, words in STANDINGS.items())
    counts = Counter(c.standing for c in checks)
    missing = uncovered(checks)
    covered = len(FORMULAS) + len(table_names()) - len(missing)
    lines = [
        HEAD.format(standings=standings),
        f"There are {len(checks)} such checks: " + ", ".join(f"{counts[s]} {s}" for s in STANDINGS) + ".",
        "",
        f"Of the {len(FORMULAS)} formulas of the design and the {len(table_names())} tables, {covered} have at least",
        "one source of the first three kinds. These have none: " + ("; ".join(missing) or "nothing") + ".",
        "",
        *formula_lines(checks),
        *table_lines(checks),
        *check_lines(checks),
    ]
    return "\n".join(lines).rstrip() + "\n"


if __name__ == "__main__":
    PAGE.write_text(page_text(), encoding="utf-8")
    print(f"{PAGE.name} written")
