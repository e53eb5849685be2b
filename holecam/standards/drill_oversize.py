"""How much larger than itself a twist drill usually cuts: the mean of a handbook table and the published tolerance."""

from __future__ import annotations

from dataclasses import dataclass

from holecam.standards.table import rows


@dataclass(frozen=True, slots=True)
class Oversize:
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
    of_kind = [row for row in rows("drill_oversize") if row["amount"] == which]
    row = next((r for r in of_kind if diameter <= float(r["drill_to_in"]) * 25.4 + _ON_THE_ROW), of_kind[-1])
    return float(row["oversize_in"]) * 25.4, row["source"]


_ON_THE_ROW = 1e-9
"""mm. A drill of exactly the row's size belongs to that row."""
