"""The limits that a spacing check compares with: from the table, or the job's own with its reason."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from holecam.errors import InputError
from holecam.plan.finding import Severity
from holecam.standards.spacing_limits import GENERAL, all_rules, spacing_terms

Floats = NDArray[np.float64]

LEVEL_NAMES = {Severity.NOTE: "comfortable", Severity.CAUTION: "caution", Severity.STOP: "stop"}
"""What a distance below the limit earns, and the name of that limit in the table."""

SIZES = ("mm", "diameter", "pitch", "thickness")

TOUCHING = 0.01
"""mm. A web of less than this, or a bite of less, is a touch: position doubts of the best indicator are as large
(0.01 mm in a good hole, common practice), so that nobody can say on which side of it the drill comes out."""

CONCENTRIC_WITHIN = 0.05
"""mm. Centres nearer than this are one centre: what a spot and a stub drill by readout hold (common practice)."""


class LimitTerm(Struct, frozen=True):
    """A limit: ``factor`` times a diameter, pitch or thickness, or ``factor`` mm; ``reason`` where the job set it."""

    factor: float
    per: str
    source: str
    reason: str = ""

    def __post_init__(self) -> None:
        if self.per not in SIZES:
            raise InputError(f'limit per "{self.per}": expected one of {", ".join(SIZES)}')
        if not (math.isfinite(self.factor) and self.factor >= 0.0):
            raise InputError(f"limit {self.factor}: expected a finite number, zero or more")

    @property
    def words(self) -> str:
        """The limit in words: ``1.5 x diameter``."""
        return f"{self.factor:.4g} mm" if self.per == "mm" else f"{self.factor:.4g} x {self.per}"

    @property
    def cited(self) -> str:
        """The source, and the job's reason where it has one."""
        return f"{self.source}: {self.reason}" if self.reason else self.source


class RuleLimit(Struct, frozen=True):
    """The term of a rule that binds at a level, and what it comes to, mm."""

    value: float
    term: LimitTerm


class SeverityChange(Struct, frozen=True):
    """The job's word that findings of one code weigh less (or more), with the reason, which is printed."""

    code: str
    severity: Severity
    reason: str

    def __post_init__(self) -> None:
        if not self.reason.strip():
            raise InputError(f'severity of "{self.code}": expected a reason, which is printed beside the finding')


class SpacingLimits(Struct, frozen=True, dict=True):
    """Limits by rule and level. Read-only; :meth:`overridden` returns a changed copy.

    ``rules`` holds (rule, level, terms); the greatest term of a level binds.
    """

    rules: tuple[tuple[str, Severity, tuple[LimitTerm, ...]], ...]
    severities: tuple[SeverityChange, ...] = ()
    touching: float = TOUCHING
    concentric_within: float = CONCENTRIC_WITHIN

    @cached_property
    def _terms(self) -> dict[tuple[str, Severity], tuple[LimitTerm, ...]]:
        return {(rule, level): terms for rule, level, terms in self.rules}

    def terms(self, rule: str, level: Severity) -> tuple[LimitTerm, ...]:
        """Return the terms of a rule at a level; empty where the table has none."""
        return self._terms.get((rule, level), ())

    def binding(
        self,
        rule: str,
        level: Severity,
        *,
        diameter: float | None = None,
        pitch: float | None = None,
        thickness: float | None = None,
    ) -> RuleLimit | None:
        """Return the greatest limit of a rule at a level; ``None`` when no term can be worked out. Sizes in mm."""
        sizes = {"mm": 1.0, "diameter": diameter, "pitch": pitch, "thickness": thickness}
        known = [(t.factor * s, t) for t in self.terms(rule, level) if (s := sizes[t.per]) is not None]
        return RuleLimit(*max(known, key=lambda limit: limit[0])) if known else None

    def lengths(
        self,
        rule: str,
        level: Severity,
        *,
        diameter: Floats,
        pitch: Floats | None = None,
        thickness: float | None = None,
    ) -> Floats:
        """Return the greatest limit for each of many diameters, mm; 0 where no term can be worked out.

        A pitch of 0 stands for a plain hole: terms in pitches then come to nothing.
        """
        out = np.zeros_like(diameter)
        for term in self.terms(rule, level):
            if term.per == "mm":
                out = np.maximum(out, term.factor)
            elif term.per == "diameter":
                out = np.maximum(out, term.factor * diameter)
            elif term.per == "thickness" and thickness is not None:
                out = np.maximum(out, term.factor * thickness)
            elif term.per == "pitch" and pitch is not None:
                out = np.maximum(out, term.factor * pitch)
        return out

    def overridden(self, rule: str, level: Severity, term: LimitTerm) -> SpacingLimits:
        """Return the limits with one level of one rule set by the job.

        Raises
        ------
        InputError
            No such rule, or no reason given: an override without a reason is not printed, so it is not taken.
        """
        if rule not in all_rules():
            raise InputError(f'spacing rule "{rule}" is not known. Known: {", ".join(all_rules())}.')
        if not term.reason.strip():
            raise InputError(f'limit "{rule}": expected a reason for the job\'s own limit; it is printed on the sheet')
        kept = tuple(entry for entry in self.rules if not (entry[0] == rule and entry[1] is level))
        return replace(self, rules=(*kept, (rule, level, (term,))))

    def severity_of(self, code: str, severity: Severity) -> Severity:
        """Return the severity of a finding after the job's changes."""
        return next((c.severity for c in self.severities if c.code == code), severity)

    def reason_for(self, code: str) -> str:
        """Return the job's reason for changing the severity of a code; empty where it did not."""
        return next((c.reason for c in self.severities if c.code == code), "")


def table_limits(material_class: str = GENERAL) -> SpacingLimits:
    """Return the limits of the table for a material class: ``general``, ``sheet``, ``soft-sheet``, ``aluminium``..."""
    rules = []
    for rule in all_rules():
        for level, name in LEVEL_NAMES.items():
            terms = spacing_terms(rule, name, material_class=material_class)
            rules.append((rule, level, tuple(LimitTerm(t.factor, t.per, t.source) for t in terms)))
    return SpacingLimits(tuple(rules))
