"""Sentences that every paper says the same way, and text of the job made fit for plain paper."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from holecam.lengths import Unit, reading_text
from holecam.plan.plan import Plan


def axis_words(plan: Plan) -> tuple[str, str]:
    """Return which way the axes run, and how to see it on this machine before anything else."""
    other = (
        "If a dial counts the opposite, mark on it which way counts before anything else."
        if plan.machine.kind == "dials"
        else "If the readout does the opposite, change its direction before anything else."
    )
    return (
        "SIGNS: +X to the right, +Y away from you, +Z up, as you stand at the machine.",
        f"HANDWHEEL TEST: table to the LEFT makes X rise; table TOWARDS you makes Y rise. {other}",
    )


def unit_words(unit: Unit) -> str:
    """Return the unit spelt out."""
    return "inches" if unit == "in" else "millimetres"


def resolution_words(plan: Plan) -> str:
    """Return a sentence on the step of the readout and the rounding."""
    readout = plan.machine.readout
    step = reading_text(1, readout.resolution, readout.unit, signed=False)
    whose = "readout" if plan.machine.kind != "dials" else "sheet"
    return f"Positions are rounded once, to the {whose}'s step of {step} {readout.unit}; steps are their differences."


def setup_words(plan: Plan) -> str:
    """Return how part and table lie to each other."""
    setup = plan.setup
    held = f" Held: {setup.held}." if setup.held else ""
    held += f" {setup.zeros}" if setup.zeros else ""
    if not setup.skewed:
        return f"SET-UP: the part lies square to the table; positions on this sheet are part positions.{held}"
    whose = "the dials show" if plan.machine.kind == "dials" else "the readout shows"
    return (
        f"SET-UP: the part is NOT square to the table; every position is given as {whose} it. "
        f"Turn of the part {setup.turn_deg:+.4f} degrees, anticlockwise positive ({setup.words}).{held}"
    )


def true_minus(text: str) -> str:
    """Return text in which the sign of an axis is a minus: a line never breaks after it, as it does after a hyphen.

    >>> true_minus("toward -X, half-Y")
    'toward −X, half-Y'
    """
    return re.sub(r"(?<!\w)-(?=[XYZ]\b)", "\N{MINUS SIGN}", text)


def short(name: str, most: int) -> str:
    """Return a name of the job as one plain line of at most so many letters."""
    name = plain(name)
    return name if len(name) <= most else f"{name[: most - 1]}…"


def ranges(numbers: Sequence[int]) -> str:
    """Return numbers as words, runs of them shortened.

    >>> ranges((1, 2, 3, 4, 7, 8))
    '1 to 4, 7, 8'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    words = [str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a} to {b}" for a, b in runs]
    return ", ".join(words)


def plain(text: str) -> str:
    """Return text of the job without control, format and bidirectional characters: one printable line.

    >>> plain("rail\\nscrews\\x07")
    'rail screws'
    """
    if text.isascii() and text.isprintable():  # the rule: nothing to take out, and most of a paper is made of this
        return " ".join(text.split())
    kept = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in text)
    return " ".join("".join(c for c in kept if unicodedata.category(c) not in ("Cf", "Cs", "Co", "Cn")).split())
