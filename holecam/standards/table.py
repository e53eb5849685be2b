"""Read the CSV tables that stand beside this module: one row a fact, each with its source."""

from __future__ import annotations

import csv
import os
from functools import cache

_FOLDER = os.path.join(os.path.dirname(__file__), "tables")

COMMON_PRACTICE = "common practice"
FROM_MEMORY = "from memory"


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of ``tables/NAME.csv`` in file order, as texts by column name.

    The tables ship with the package; a test reads every one of them and holds each row to its header and its source.
    """
    with open(os.path.join(_FOLDER, f"{name}.csv"), encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        header = next(reader)
        return tuple(dict(zip(header, cells, strict=True)) for cells in reader)


def optional(text: str) -> float | None:
    """Return a number, or ``None`` for an empty cell: not known, never zero."""
    return float(text) if text else None


def words(text: str) -> tuple[str, ...]:
    """Return the entries of a cell that holds several, separated by semicolons."""
    return tuple(word.strip() for word in text.split(";") if word.strip())
