"""What the three look-ups share: units and drills as the user states them, aligned text in both units, JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import typer

from holecam.errors import InputError
from holecam.lengths.parsing import Unit, parse_length, unit_named
from holecam.lengths.printing import length_text, number_in
from holecam.standards.drills import Drill, owned_drills

if TYPE_CHECKING:
    from fractions import Fraction

    from holecam.standards.cautions import Caution

JSON_DECIMALS = 6
"""Decimals of a number in JSON: a nanometre, or a millionth of a percent; float noise ends before."""


def stated_unit(text: str | None) -> Unit | None:
    """Return the unit of ``--unit``, ``None`` when it was not given.

    Raises
    ------
    InputError
        It is neither ``in`` nor ``mm``.
    """
    if text is None:
        return None
    unit = unit_named(text)
    if unit is None:
        raise InputError(f'--unit "{text}": expected in or mm', key="--unit", value=text, expected="in or mm")
    return unit


def stated_length(text: str | None, unit: Unit | None, key: str) -> float | None:
    """Return a positive length in mm, ``None`` when it was not given.

    Raises
    ------
    InputError
        Not a length, not positive, or a bare number without ``--unit``.
    """
    if text is None:
        return None
    value = parse_length(text, unit=unit, key=key)
    if value <= 0:
        raise InputError(f'{key} = "{text}": expected a length above zero', key=key, value=text)
    return float(value)


def stated_drills(text: str | None, unit: Unit | None) -> tuple[Drill, ...] | None:
    """Return the drills of ``--drills``, ``None`` when it was not given.

    Raises
    ------
    InputError
        An entry is neither a set nor a drill, or there is none.
    """
    if text is None:
        return None
    return owned_drills([entry for entry in text.split(",") if entry.strip()], unit=unit)


def other_unit(unit: Unit) -> Unit:
    """Return the unit that stands second."""
    return "mm" if unit == "in" else "in"


def both(value: float, first: Unit) -> str:
    """Return a length in mm in both units, such as ``0.1065 in (2.705 mm)``."""
    return f"{length_text(value, first)} ({length_text(value, other_unit(first))})"


FEED_DECIMALS: dict[Unit, int] = {"in": 1, "mm": 0}
"""Decimals of a feed a minute: a starting point is not surer than that."""


def both_feeds(feed: float, first: Unit) -> str:
    """Return a feed in mm a minute in both units, such as ``6.0 in/min (153 mm/min)``."""
    texts = {unit: f"{number_in(feed, unit, decimals=decimals)} {unit}/min" for unit, decimals in FEED_DECIMALS.items()}
    return f"{texts[first]} ({texts[other_unit(first)]})"


def columns_of(value: float | Fraction, first: Unit) -> tuple[str, str]:
    """Return a length in mm as bare numbers for two columns, the unit ``first`` before the other."""
    return number_in(value, first), number_in(value, other_unit(first))


def heads_of(first: Unit) -> tuple[str, str]:
    """Return the heads of the two columns."""
    return ("in", "mm") if first == "in" else ("mm", "in")


def aligned(header: Sequence[str], body: Iterable[Sequence[str]], *, left: Sequence[int] = (0,)) -> list[str]:
    """Return lines of a table: columns as wide as their widest cell, those in ``left`` to the left, others right."""
    lines = [list(header), *(list(row) for row in body)]
    widths = [max(len(row[i]) for row in lines) for i in range(len(header))]
    return [
        "  ".join(row[i].ljust(w) if i in left else row[i].rjust(w) for i, w in enumerate(widths)).rstrip()
        for row in lines
    ]


LINE_WIDTH = 100
"""Characters of a line of running text on the terminal."""


def wrapped(lines: Iterable[str]) -> list[str]:
    """Return running text broken at ``LINE_WIDTH`` between words, what follows set in by two blanks.

    (The standard library's wrapping takes as long to load as half a look-up.)
    """
    out: list[str] = []
    for line in lines:
        rest = line.rstrip()
        while len(rest) > LINE_WIDTH:
            at = rest.rfind(" ", 3, LINE_WIDTH + 1)
            at = at if at > 0 else LINE_WIDTH
            out.append(rest[:at].rstrip())
            rest = "  " + rest[at:].lstrip()
        out.append(rest)
    return out


def caution_lines(cautions: Iterable[Caution]) -> list[str]:
    """Return cautions as lines that start with an exclamation mark."""
    return wrapped(f"! {caution.text}" for caution in cautions)


def number(value: float | None) -> float | None:
    """Return a number for JSON, without the noise of float arithmetic."""
    return None if value is None else round(value, JSON_DECIMALS)


def print_json(data: dict[str, object]) -> None:
    """Print one JSON object."""
    import json

    typer.echo(json.dumps(data, indent=2, ensure_ascii=False))


def print_lines(lines: Iterable[str]) -> None:
    """Print the text of a look-up."""
    typer.echo("\n".join(lines))


def missing(what: str, examples: str) -> InputError:
    """Return the error for an argument that is not there, which a bare # in a shell brings about."""
    return InputError(
        f"{what}: expected {examples}. A shell takes an unquoted # for a comment: quote it, or write no. instead.",
        key=what,
        expected=examples,
    )
