"""Read the CSV tables that stand beside this module: one row a fact, each with its source."""

from __future__ import annotations

import os
from functools import cache

_FOLDER = os.path.join(os.path.dirname(__file__), "tables")

COMMON_PRACTICE = "common practice"
FROM_MEMORY = "from memory"


@cache
def raw_rows(name: str) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return the header and the rows of ``tables/NAME.csv`` as they stand, for tables of hundreds of rows.

    A table without a quoted cell is split at its commas: the tables of the look-ups are kept so, because the library
    for the general case takes longer to load than they to read.
    """
    with open(os.path.join(_FOLDER, f"{name}.csv"), encoding="utf-8", newline="") as file:
        text = file.read()
    if '"' in text:
        import csv

        header, *body = map(tuple, csv.reader(text.splitlines()))
    else:
        header, *body = (tuple(line.split(",")) for line in text.splitlines())
    return header, tuple(body)


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of ``tables/NAME.csv`` in file order, as texts by column name.

    The tables ship with the package; a test reads every one of them and holds each row to its header and its source.
    """
    header, body = raw_rows(name)
    return tuple(dict(zip(header, cells, strict=True)) for cells in body)


def optional(text: str) -> float | None:
    """Return a number, or ``None`` for an empty cell: not known, never zero."""
    return float(text) if text else None


def words(text: str) -> tuple[str, ...]:
    """Return the entries of a cell that holds several, separated by semicolons."""
    return tuple(word.strip() for word in text.split(";") if word.strip())
