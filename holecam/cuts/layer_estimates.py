"""Lengths that are known only so well: a best value and the named doubts in it, so that a shared doubt counts once.

A thickness measured as "bar, layer and sheet together, less the bar" carries the bar's doubt with a minus sign. When
the bar is added back on top of it, the two cancel, because both go by the same name. Doubts of different names are
taken as independent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from enum import StrEnum
from functools import cached_property

from msgspec import Struct
from msgspec.structs import force_setattr

from holecam.errors import InputError
from holecam.standards.rectangular_doubt import standard_doubt_within

WORST_CASE_SPREADS = 3.0
"""Ratio. A doubt that is known only by its standard spread has no limit; its worst case is taken as three spreads."""


class DoubtRule(StrEnum):
    """How doubts are put together."""

    ROOT_OF_SQUARES = "root of squares"
    """``k`` standard doubts, each the root of the sum of squares (GUM, JCGM 100:2008, 5.1.2)."""
    WORST_CASE = "worst case"
    """Every doubt at its limit at once, all to the bad side."""


class Term(Struct, frozen=True):
    """One source of doubt.

    Parameters
    ----------
    name : str
        What it is: ``thickness of brass rail``. The same name anywhere means the same error.
    standard : float
        Standard doubt, mm (one standard deviation).
    half_width : float
        Limit on either side, mm, for the worst case.
    """

    name: str
    standard: float
    half_width: float

    def __post_init__(self) -> None:
        for what, size in (("standard doubt", self.standard), ("half-width", self.half_width)):
            if not (math.isfinite(size) and size >= 0):
                raise InputError(f"{self.name}: {what} {size} mm: expected a finite length of 0 or more", key=self.name)

    @classmethod
    def within(cls, name: str, half_width: float) -> Term:
        """Return a doubt stated as "surely within plus or minus": rectangular, ``a / sqrt(3)`` (GUM 4.3.7).

        >>> round(Term.within("thickness of solder", 0.03).standard, 6)
        0.017321
        """
        return cls(name, standard_doubt_within(half_width), half_width)

    @classmethod
    def spread(cls, name: str, standard: float) -> Term:
        """Return a doubt stated as a standard deviation; its worst case is three of them."""
        return cls(name, standard, WORST_CASE_SPREADS * standard)


class Estimate(Struct, frozen=True, dict=True):
    """A length with its doubts: ``value + sum of share * error``, mm. Add and subtract them like numbers.

    ``parts`` holds each :class:`Term` once with its share, which may be negative.
    """

    value: float
    parts: tuple[tuple[Term, float], ...] = ()

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise InputError(f"length {self.value} mm: expected a finite number")
        if any(not math.isfinite(share) for _, share in self.parts):
            raise InputError(f"length {self.value} mm: expected finite shares of its doubts")
        force_setattr(self, "parts", _merged(self.parts))

    @cached_property
    def standard(self) -> float:
        """Standard doubt, mm: root of the sum of squares over the terms."""
        return math.hypot(*(share * term.standard for term, share in self.parts))

    @cached_property
    def half_width(self) -> float:
        """Worst case, mm: sum of the limits over the terms."""
        return math.fsum(abs(share) * term.half_width for term, share in self.parts)

    @classmethod
    def of(cls, value: float, term: Term) -> Estimate:
        """Return a length with one doubt."""
        return cls(value, ((term, 1.0),))

    def __add__(self, other: Estimate) -> Estimate:
        """Return the sum; shares of one term add up."""
        return Estimate(self.value + other.value, self.parts + other.parts)

    def __sub__(self, other: Estimate) -> Estimate:
        """Return the difference; shares of one term cancel."""
        return self + other.scaled(-1.0)

    def scaled(self, factor: float) -> Estimate:
        """Return the length and its doubts times a factor."""
        return Estimate(self.value * factor, tuple((term, share * factor) for term, share in self.parts))

    def doubt(self, rule: DoubtRule, sureness: float) -> float:
        """Return how far the true length may lie off, mm: ``sureness`` standard doubts, or the worst case."""
        return self.half_width if rule is DoubtRule.WORST_CASE else sureness * self.standard


def covariance(a: Estimate, b: Estimate) -> float:
    """Return the covariance of two lengths, mm2, from the terms that they share."""
    others = {term.name: share for term, share in b.parts}
    return sum(share * others.get(term.name, 0.0) * term.standard**2 for term, share in a.parts)


def _merged(parts: Iterable[tuple[Term, float]]) -> tuple[tuple[Term, float], ...]:
    """Return the parts with each term once, in the order of first appearance; shares of exactly 0 are left out."""
    terms: dict[str, Term] = {}
    shares: dict[str, float] = {}
    for term, share in parts:
        known = terms.setdefault(term.name, term)
        if known != term:
            raise InputError(
                f'doubt "{term.name}" is stated twice with different sizes '
                f"({known.standard} and {term.standard} mm): give the two different names",
                key=term.name,
            )
        shares[term.name] = shares.get(term.name, 0.0) + share
    return tuple((terms[name], share) for name, share in shares.items() if share != 0.0)


NOTHING = Estimate(0.0)
"""A length of exactly 0, without doubt."""
