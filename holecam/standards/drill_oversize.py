"""How much larger than itself a twist drill usually cuts: the mean of a handbook table and the published tolerance."""

from functools import cache
from typing import NamedTuple

from holecam.standards.table import rows


class Oversize(NamedTuple):
    """Amounts on the diameter in mm: what a drill cuts on average, at most and at least over its size."""

    usual: float
    most: float
    least: float
    source: str


def drill_oversize(diameter: float) -> Oversize:
    """Return the oversize for a drill diameter, both in mm; above 1 in the row for 1 in stands.

    >>> round(drill_oversize(6.35).usual / 25.4, 4)
    0.004
    """
    usual, source = _amount("usual", diameter)
    most, tolerance_source = _amount("most", diameter)
    least, _ = _amount("least", diameter)
    return Oversize(usual, most, least, f"{source}; {tolerance_source}")


def _amount(which: str, diameter: float) -> tuple[float, str]:
    table = _amounts()[which]
    row = next((r for r in table if diameter <= r[0] + _ON_THE_ROW), table[-1])
    return row[1], row[2]


@cache
def _amounts() -> dict[str, list[tuple[float, float, str]]]:
    """Return usual, most and least -> rows of drill diameter up to, amount (both mm) and source."""
    table: dict[str, list[tuple[float, float, str]]] = {}
    for row in rows("drill_oversize"):
        sizes = float(row["drill_to_in"]) * 25.4, float(row["oversize_in"]) * 25.4
        table.setdefault(row["amount"], []).append((*sizes, row["source"]))
    return table


_ON_THE_ROW = 1e-9
"""mm. A drill of exactly the row's size belongs to that row."""
