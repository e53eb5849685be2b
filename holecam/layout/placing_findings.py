"""What a placement from measured holes has to say: misfits, suspects, the other hand, inches against millimetres."""

from __future__ import annotations

from itertools import combinations

from holecam.layout.best_fit import BestFit
from holecam.layout.two_holes import TwoHoleFit
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.hole_words import HoleText, own_number
from holecam.shapes import distance

COVERAGE = 2.0
"""Expanded doubt over standard doubt: about 95 percent (GUM, JCGM 100:2008, 6.3.3). A misfit beyond it has a cause."""

MOST_DOUBT_RATIO = 2.0
"""What is left over against the stated doubts; beyond twice as much the doubts were not honest or something moved."""

WRONG_HOLE_SHARE = 0.1
"""Ratio. Two holes whose distance is off by more than this share of it are not the two that are meant, whatever the
doubts; nor are those of a row that are off by more than half a pitch (common practice)."""

PRACTICE, TWICE_THE_DOUBT = (
    "common practice",
    "twice the standard doubt of the distance (GUM, JCGM 100:2008, 6.3.3)",
)

INCH = 25.4
UNITS_WITHIN = 0.1
"""Ratio. Sizes that differ by 25.4 times, give or take a tenth, were read in two units."""


def units_mixed(ratio: float) -> bool:
    """Return whether a ratio of measured to drawn sizes looks like inches against millimetres."""
    return any(abs(ratio / factor - 1.0) < UNITS_WITHIN for factor in (INCH, 1.0 / INCH))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def two_hole_finding(
    fit: TwoHoleFit, *, about: str, doubt: float | None, unit: Unit, hole_text: HoleText = own_number
) -> Finding:
    """Return what the distance of two found holes says; there is always something to say, good news too.

    Parameters
    ----------
    fit : TwoHoleFit
    about : str
        The pattern in the user's words.
    doubt : float or None
        Standard doubt of the found distance, mm: root of the sum of squares of both finds. ``None`` when nothing was
        said about how they were found; then nothing can be judged.
    unit : {"in", "mm"}
        For the words.
    hole_text : function
        Gives a hole of the pattern in words.
    """
    first, second = _both(*(hole_text(r.hole) for r in fit.residuals))
    told = (
        f"{_capital(first)} and {second} were found {length_text(fit.measured, unit)} apart and are "
        f"{length_text(fit.drawn, unit)} apart as drawn: {length_text(fit.difference, unit, signed=True)}"
        + (f", {length_text(fit.per_pitch, unit, signed=True)} a pitch." if fit.per_pitch is not None else ".")
    )
    if units_mixed(fit.measured / fit.drawn):
        return Finding(
            "two-hole-units",
            Severity.STOP,
            about,
            f"{told} One of the two is in inches and the other in millimetres.",
            measured=fit.measured / fit.drawn,
            limit=1.0,
            quantity_unit="1",
            source="common practice",
            remedy="Write the unit behind each length, such as 2.5 in or 63.5 mm.",
        )
    limit = None if doubt is None else COVERAGE * doubt
    allowed = WRONG_HOLE_SHARE * fit.drawn
    if fit.per_pitch:
        allowed = min(allowed, abs(fit.drawn * fit.per_pitch / fit.difference) / 2)
    wrong = abs(fit.difference) > allowed
    beyond = wrong or (limit is not None and abs(fit.difference) > limit)
    held = {
        "first": f"{_capital(first)} is held, so {second} sits off by it.",
        "second": f"{_capital(second)} is held, so {first} sits off by it.",
        "split": "Both sit off by half of it.",
    }[fit.hold]
    return Finding(
        "two-hole-misfit",
        Severity.STOP if wrong else Severity.CAUTION if beyond else Severity.NOTE,
        about,
        f"{told} Spacing is kept as drawn. {held}",
        measured=abs(fit.difference),
        limit=allowed if wrong else limit,
        source=PRACTICE if wrong else "" if doubt is None else TWICE_THE_DOUBT,
        remedy=f"Find both holes once more, and check that they are {first} and {second}." if beyond else "",
    )


def best_fit_findings(fit: BestFit, *, about: str, unit: Unit, hole_text: HoleText = own_number) -> tuple[Finding, ...]:
    """Return what a best fit says: how far off it is at worst, and everything that looks wrong."""
    findings = [
        Finding(
            "best-fit-misfit",
            Severity.NOTE,
            about,
            f"The best fit leaves {hole_text(fit.worst.hole)} {length_text(fit.worst.size, unit)} from where it was "
            f"found, the worst of the {len(fit.residuals)} that were measured; root mean square "
            f"{length_text(fit.rms, unit)}.",
            measured=fit.worst.size,
        )
    ]
    spacing = min(distance(fit.placed.at(a.hole), fit.placed.at(b.hole)) for a, b in combinations(fit.residuals, 2))
    if fit.worst.size > WRONG_HOLE_SHARE * spacing and not units_mixed(fit.fit.spread_ratio):
        findings.append(
            Finding(
                "best-fit-wrong-hole",
                Severity.STOP,
                about,
                f"{_capital(hole_text(fit.worst.hole))} is left {length_text(fit.worst.size, unit)} from where it was "
                f"found, and the nearest of the measured holes lie {length_text(spacing, unit)} apart: a hole was "
                "measured wrongly, or a number stands with another hole.",
                measured=fit.worst.size,
                limit=WRONG_HOLE_SHARE * spacing,
                source="common practice",
                remedy="Find out which before anything is drilled; or place the pattern by one hole (at).",
            )
        )
    if units_mixed(fit.fit.spread_ratio):
        findings.append(
            Finding(
                "best-fit-units",
                Severity.STOP,
                about,
                f"The measured holes are spread {fit.fit.spread_ratio:.3g} times as wide as the pattern: one of the "
                "two is in inches and the other in millimetres.",
                measured=fit.fit.spread_ratio,
                limit=1.0,
                quantity_unit="1",
                source="common practice",
                remedy="Write the unit behind each length, such as 2.5 in or 63.5 mm.",
            )
        )
    if fit.mirror_fits_better:
        findings.append(
            Finding(
                "best-fit-other-hand",
                Severity.CAUTION,
                about,
                "The mirror image would fit the measured holes less than half as far off.",
                remedy="Check which hand the part is, and which face was up when the holes were measured.",
            )
        )
    findings += [
        Finding(
            "best-fit-suspect",
            Severity.CAUTION,
            f"hole {number} of {about}",
            f"{_capital(hole_text(number))} does not agree with the others.",
            measured=next(r.size for r in fit.residuals if r.hole == number),
            source="leaving it out, F test over all holes at 5 percent",
            remedy="Measure it again, and check its number.",
            holes=(number,),
        )
        for number in fit.suspects
    ]
    if fit.doubt_ratio is not None and fit.doubt_ratio > MOST_DOUBT_RATIO:
        findings.append(
            Finding(
                "best-fit-doubts",
                Severity.CAUTION,
                about,
                f"The holes miss {fit.doubt_ratio:.1f} times as far as the stated doubts explain.",
                measured=fit.doubt_ratio,
                limit=MOST_DOUBT_RATIO,
                quantity_unit="1",
                source="common practice",
                remedy="Something moved, or the doubts were stated too small: measure again before drilling.",
            )
        )
    return tuple(findings)


def _both(first: str, second: str) -> tuple[str, str]:
    """Return two holes without the name of their pattern after the first where it follows the second as well."""
    name = first[first.find(' of "') :] if ' of "' in first else ""
    plain = first.removesuffix(name)
    return (plain, second) if name and second.endswith(name) and "(" not in first + second else (first, second)
