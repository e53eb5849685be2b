"""Findings: what a check has to say, with the measured value, the limit and where the limit comes from."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct


class Severity(StrEnum):
    """How much a finding matters. ``STOP`` withholds the programs of what it speaks of."""

    NOTE = "note"
    CAUTION = "caution"
    STOP = "stop"

    @property
    def rank(self) -> int:
        """0 for a note, 1 for a caution, 2 for a stop: for sorting the worst first."""
        return ("note", "caution", "stop").index(self.value)


class Finding(Struct, frozen=True):
    """One thing that a check found.

    Parameters
    ----------
    code : str
        Never changes once published, lower case with hyphens: ``edge-distance``, ``thin-web``.
    severity : Severity
    about : str
        What it speaks of, in the user's own words: ``hole 3 of "rail screws"``.
    message : str
        One or two sentences with the figures, units and names.
    measured, limit : float or None
        The two figures compared, in ``quantity_unit``; ``None`` where nothing was measured.
    quantity_unit : str
        Unit of both figures: ``"mm"``, ``"1"`` for a ratio, ``"deg"``, ``"rpm"``...
    source : str
        Where the limit comes from: a standard and table, ``common practice``, or ``job file``.
    remedy : str
        What to do about it.
    holes : tuple of int
        Numbers of the holes whose programs a ``STOP`` withholds.
    operation : str
        Name of the cut or step-down whose programs a ``STOP`` withholds; empty for holes.
    """

    code: str
    severity: Severity
    about: str
    message: str
    measured: float | None = None
    limit: float | None = None
    quantity_unit: str = "mm"
    source: str = ""
    remedy: str = ""
    holes: tuple[int, ...] = ()
    operation: str = ""


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings with stops first, then cautions, then notes; the order within each is kept."""
    return tuple(sorted(findings, key=lambda f: -f.severity.rank))
