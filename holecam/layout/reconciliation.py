"""Find the error: compare drawn and measured sizes, say who is wrong and how surely, or say that nobody can tell.

Two questions are answered apart. Do the readings contradict each other (a misread number), and does the part really
differ from the drawing (a section that carries the error)? Where the instruments cannot tell, no name is given; the
measurement that would decide is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.layout.reconciliation_adjustment import Adjustment, ReadingResult, adjust
from holecam.layout.reconciliation_blunders import ReadingsVerdict, Snooping, Suspect, snoop
from holecam.layout.reconciliation_chain import Chain, Floats, Reading
from holecam.layout.reconciliation_deciding import DecidingReading, deciding_reading
from holecam.layout.reconciliation_sections import (
    Carrier,
    Carriers,
    SectionResult,
    SectionsVerdict,
    find_carriers,
    section_results,
)
from holecam.layout.reconciliation_statistics import SIGNIFICANCE, critical_value

AGREE_WITHIN = 2.0
"""Two figures of one section are one figure when they differ by no more than so many standard doubts: what is printed
as "give or take" (GUM, JCGM 100:2008, 6.3.3)."""


class Shift(Struct, frozen=True):
    """How far a place on the part has moved against the drawing, mm, seen from the datum, with standard doubts.

    ``along`` and ``square`` follow the chain's direction, ``None`` square to it where the readings do not settle
    that; ``sections`` are those between datum and place. A pattern that has to keep its place against the far side of
    these sections moves by this much in the part's drawn coordinates.
    """

    sections: tuple[str, ...]
    along: float
    square: float | None
    along_doubt: float
    square_doubt: float | None


class Reconciliation(Struct, frozen=True, eq=False):
    """The error of a chain, as far as it can be known.

    Parameters
    ----------
    readings_verdict, removed, suspects
        First question: what the readings say of each other; the readings found wrong one after another; those that
        cannot be told apart.
    readings : tuple of ReadingResult
        Every reading in the adjustment of all.
    statistic, dof, chance
        Global test of all readings: weighted sum of squares, degrees of freedom, chance of one so large from good
        readings.
    sections_verdict, carriers, carrier_suspects
        Second question: the sections that carry an error; those that cannot be told apart.
    sections : tuple of SectionResult
        Every section against the drawing, wrong readings left out; nothing of those that depend on which of several
        suspects is wrong.
    doubt_scale : float
        How much all doubts were widened because the readings are strained; 1 otherwise.
    deciding_readings : DecidingReading or None
        The measurement that would settle the first question, or the second where the first is settled.
    """

    chain: Chain
    readings_verdict: ReadingsVerdict
    removed: tuple[Suspect, ...]
    suspects: tuple[Suspect, ...]
    readings: tuple[ReadingResult, ...]
    statistic: float
    dof: int
    chance: float | None
    sections_verdict: SectionsVerdict
    carriers: tuple[Carrier, ...]
    carrier_suspects: tuple[Carrier, ...]
    sections: tuple[SectionResult, ...]
    doubt_scale: float
    deciding: DecidingReading | None
    adjustment: Adjustment

    @property
    def trustworthy(self) -> bool:
        """Whether the sizes may be used: the readings do not contradict each other in a way that nobody can place."""
        return self.readings_verdict not in (ReadingsVerdict.CANNOT_TELL, ReadingsVerdict.INSEPARABLE)

    def section(self, name: str) -> SectionResult:
        """Return one section's result.

        Raises
        ------
        InputError
            No section has this name.
        """
        for result in self.sections:
            if result.name == name:
                return result
        raise InputError(f'there is no section "{name}"; there are {list(self.chain.names)}')

    def shift(self, sections: Sequence[str] | None = None) -> Shift:
        """Return how far the place behind these sections (all, without a list) has moved against the drawing.

        Raises
        ------
        InputError
            The sections are not settled by the readings along the chain, or the readings contradict each other and
            nobody can say where.
        """
        names = tuple(self.chain.names if sections is None else sections)
        if not self.trustworthy:
            raise InputError("the readings contradict each other, so that no shift can be trusted; measure again first")
        now, rows = self.chain.vector(self.adjustment.sizes, names)
        drawn, _ = self.chain.vector(self.chain.drawn_sizes, names)
        if not _settled(self.adjustment, rows[0]):
            raise InputError(
                f"the readings do not settle {', '.join(names)} along the chain: measure them, or over them"
            )
        spread = self.doubt_scale**2 * (rows @ self.adjustment.covariance @ rows.T)
        across = _settled(self.adjustment, rows[1])
        return Shift(
            names,
            float(now[0] - drawn[0]),
            float(now[1] - drawn[1]) if across else None,
            math.sqrt(max(0.0, float(spread[0, 0]))),
            math.sqrt(max(0.0, float(spread[1, 1]))) if across else None,
        )


def _settled(adjustment: Adjustment, row: Floats) -> bool:
    """Return whether a combination of sizes is settled, even if its parts are not."""
    # The null space is what the covariance's range leaves out
    loose = adjustment.loose
    return bool(loose.shape[0] == 0 or float(abs(loose @ row).max()) <= 1e-9 * max(1.0, float(abs(row).max())))


def reconcile(chain: Chain, *, significance: float = SIGNIFICANCE, next_doubt: float | None = None) -> Reconciliation:
    """Return where the error of a chain is.

    Weighted least squares, global chi-square test, normalised residuals and data snooping (Baarda 1968; one reading
    is removed at a time). A reading or a section is named only where no other explanation is nearly as likely.

    Parameters
    ----------
    chain : Chain
    significance : float
        Chance of accusing a good reading, both sides; 0.001 makes the critical value 3.29.
    next_doubt : float, optional
        Standard doubt, mm, of the measurement that could be taken next; the finest of the chain unless told.

    Examples
    --------
    Three sections and their overall size, 1.5 mm longer than their sum: nobody can be named, but a sub-total would
    decide.

    >>> from holecam.layout.reconciliation_chain import Section, Reading
    >>> sections = tuple(Section(n, d) for n, d in [("heel", 20.0), ("waist", 50.0), ("toe", 30.0)])
    >>> readings = [Reading(s.name, (s.name,), s.drawn, 0.05) for s in sections]
    >>> overall = Reading("overall", ("heel", "waist", "toe"), 101.5, 0.05)
    >>> found = reconcile(Chain(sections, (*readings, overall)))
    >>> found.readings_verdict.value, found.sections_verdict.value, found.deciding.of
    ('cannot tell', 'cannot tell', ('heel', 'waist'))
    """
    critical = critical_value(significance)
    if not chain.readings:
        raise InputError("chain: expected at least one reading")
    found = snoop(chain, significance=significance)
    scale = 1.0
    if found.verdict is ReadingsVerdict.STRAINED:  # the statistic then is well above its degrees of freedom
        scale = math.sqrt(found.last.statistic / found.last.dof)
    lengths = [r.doubt for r in chain.readings if r.across != "slope"]
    doubt = next_doubt if next_doubt is not None else min(lengths, default=0.05)
    if not (math.isfinite(doubt) and doubt > 0.0):
        raise InputError(f"doubt of the next reading {doubt} mm: expected above zero")
    carriers = _carriers(chain, found, critical, scale, significance)
    return Reconciliation(
        chain=chain,
        readings_verdict=found.verdict,
        removed=found.removed,
        suspects=found.suspects,
        readings=found.first.readings,
        statistic=found.first.statistic,
        dof=found.first.dof,
        chance=found.first.chance,
        sections_verdict=carriers.verdict,
        carriers=carriers.named,
        carrier_suspects=carriers.suspects,
        sections=_sections(chain, found, scale, significance),
        doubt_scale=scale,
        deciding=_deciding(chain, found, carriers, doubt, significance),
        adjustment=found.last,
    )


def _sections(chain: Chain, found: Snooping, scale: float, significance: float) -> tuple[SectionResult, ...]:
    """Return every section against the drawing; with rival suspects only what holds whoever of them is wrong.

    The adjustment of all readings gives the sections of a contradiction a length between both, which is wrong in any
    case.
    """
    results = section_results(chain, found.last, scale)
    if found.verdict not in (ReadingsVerdict.CANNOT_TELL, ReadingsVerdict.INSEPARABLE):
        return results
    rivals = [
        section_results(chain, adjust(chain, [r for r in found.kept if r.name != s.name], significance=significance), 1)
        for s in found.suspects
    ]
    told = []
    for i, result in enumerate(results):
        sizes = [rival[i].actual for rival in rivals]
        doubts = [rival[i].doubt for rival in rivals]
        known = [size for size in sizes if size is not None]
        widest = max((d for d in doubts if d is not None), default=0.0)
        if len(known) < len(rivals) or max(known) - min(known) > AGREE_WITHIN * widest:
            told.append(SectionResult(result.name, result.drawn, *(None,) * 6, checked=result.checked))
        else:
            told.append(replace(rivals[doubts.index(widest)][i], checked=result.checked))
    return tuple(told)


def _carriers(chain: Chain, found: Snooping, critical: float, scale: float, significance: float) -> Carriers:
    """Return which sections carry the error; with rival suspects only what holds whoever of them is wrong."""
    if found.verdict not in (ReadingsVerdict.CANNOT_TELL, ReadingsVerdict.INSEPARABLE):
        return find_carriers(chain, found.kept, critical=critical, scale=scale)
    answers = [
        find_carriers(chain, [r for r in found.kept if r.name != s.name], critical=critical) for s in found.suspects
    ]
    settled = [SectionsVerdict.AS_DRAWN, SectionsVerdict.NAMED]
    same = {tuple(sorted(c.name for c in a.named)) for a in answers}
    if len(same) > 1 or not all(a.verdict in settled for a in answers):
        return Carriers(SectionsVerdict.CANNOT_TELL, (), ())
    named = tuple(c for c in answers[0].named if all(_agree(c, o) for a in answers for o in a.named))
    if len(named) < len(answers[0].named):
        return Carriers(SectionsVerdict.CANNOT_TELL, named, ())
    return answers[0]


def _agree(one: Carrier, other: Carrier) -> bool:
    """Return whether two answers do not give one section errors that differ by more than their doubts.

    A section may be named whoever is wrong, and by millimetres more with the one than with the other: a figure that
    holds for one of them only is no figure to cut by.
    """
    return one.name != other.name or abs(one.error - other.error) <= AGREE_WITHIN * max(
        one.error_doubt, other.error_doubt
    )


def _deciding(
    chain: Chain, found: Snooping, carriers: Carriers, doubt: float, significance: float
) -> DecidingReading | None:
    """Return the measurement that separates the rival readings, or else the rival sections."""
    explanations: dict[str, Floats] = {}
    if found.verdict in (ReadingsVerdict.CANNOT_TELL, ReadingsVerdict.INSEPARABLE):
        for suspect in found.suspects:
            kept: list[Reading] = [r for r in found.kept if r.name != suspect.name]
            explanations[suspect.name] = adjust(chain, kept, significance=significance).sizes
    elif carriers.suspects:
        for carrier in carriers.suspects:
            sizes = chain.drawn_sizes.copy()
            for other in (*carriers.named, carrier):
                sizes[chain.names.index(other.name)] += other.error
            explanations[carrier.name] = sizes
    return deciding_reading(chain, explanations, doubt=doubt)


def corrected(chain: Chain, name: str, value: float) -> Chain:
    """Return the chain with one reading replaced by a new value, for asking again after it was measured once more."""
    if name not in [r.name for r in chain.readings]:
        raise InputError(f'there is no reading "{name}"; there are {[r.name for r in chain.readings]}')
    return replace(chain, readings=tuple(replace(r, value=value) if r.name == name else r for r in chain.readings))
