"""Values that a Python program has at hand, turned into those that a job file holds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from holecam.errors import FileContentError, Problem

DEEPEST = 32
"""Tables and lists inside each other; the same as in a file."""


def plain_values(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values of a job as a TOML reader would give them.

    Arrays become lists, array numbers plain ones, tuples lists. A ``Fraction`` or ``Decimal`` is a number like any
    other, in the job's unit; keys that hold ``None`` are left out, as a file cannot have them.

    Raises
    ------
    FileContentError
        Values lie inside each other too deeply, or contain themselves.
    """
    return {str(key): _plain(value, DEEPEST) for key, value in data.items() if value is not None}


def _plain(value: Any, depth: int) -> Any:
    if depth == 0:
        expected = f"lists and tables at most {DEEPEST} deep inside each other, that do not contain themselves"
        raise FileContentError([Problem("job", 0, "", "", expected)])
    if isinstance(value, (str, bool, int, float, date)):
        return value.item() if hasattr(value, "item") else value
    if isinstance(value, Mapping):
        return {str(key): _plain(inner, depth - 1) for key, inner in value.items() if inner is not None}
    if isinstance(value, (list, tuple)):
        return [_plain(inner, depth - 1) for inner in value]
    if isinstance(value, (Fraction, Decimal)):
        return _written(value)
    if hasattr(value, "tolist"):  # an array, or a number of an array library
        return _plain(value.tolist(), depth - 1)
    return value


def _written(value: Fraction | Decimal) -> str | int:
    """Return an exact number as text; as a ``Fraction`` it would be taken for millimetres that were read already."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    return value.numerator if value.denominator == 1 else f"{value.numerator}/{value.denominator}"
