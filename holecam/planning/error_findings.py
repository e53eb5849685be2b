"""Turn a reconciled chain into findings: what the readings say of each other, which section differs, what decides."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.errors import InputError
from holecam.layout.reconciliation import Reconciliation, Shift
from holecam.layout.reconciliation_adjustment import ReadingResult
from holecam.layout.reconciliation_blunders import ReadingsVerdict, Suspect
from holecam.layout.reconciliation_chain import Across
from holecam.layout.reconciliation_deciding import DecidingReading
from holecam.layout.reconciliation_sections import Carrier, SectionsVerdict
from holecam.layout.reconciliation_statistics import GLOBAL_SIGNIFICANCE, critical_value, normal_two_sided
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity, worst_first

ADJUSTMENT = "least-squares adjustment, data snooping (Baarda 1968)"
EXPLANATIONS_TOLD = 4
"""Rival explanations told with their expected values before the rest is only counted."""


def error_findings(
    name: str, found: Reconciliation, *, unit: Unit = "mm", moves: Sequence[str] | None = None
) -> tuple[Finding, ...]:
    """Return the findings about one chain, the worst first; messages speak ``unit``, figures are mm (or degrees).

    ``moves`` are the sections between datum and pattern (all, without them) for the shift that follows.

    Codes: ``readings-agree``, ``readings-unchecked``, ``misread``, ``readings-disagree``, ``readings-strained``,
    ``uncheckable-reading``, ``as-drawn``, ``error-section``, ``error-section-unchecked``, ``cannot-tell``,
    ``pattern-shift``.
    """
    about = f'chain "{name}"'
    result: list[Finding] = [*_readings(about, found, unit), *_sections(about, found, unit)]
    loose = [r for r in found.readings if not r.checkable]
    if loose and found.dof > 0:
        result.append(_uncheckable(about, loose))
    shift = pattern_shift(found, moves)
    if shift is not None and found.sections_verdict is not SectionsVerdict.AS_DRAWN:
        result.append(_shift(about, shift, unit))
    return worst_first(tuple(result))


def pattern_shift(found: Reconciliation, moves: Sequence[str] | None = None) -> Shift | None:
    """Return the shift behind the sections, or ``None`` where it cannot be trusted or is not settled."""
    if not found.trustworthy:
        return None
    try:
        return found.shift(moves)
    except InputError:  # not settled: the finding on the sections says what to measure
        return None


def quoted(names: Sequence[str]) -> str:
    """Return names in quotes as a reader says them: ``"heel", "waist" and "toe"``."""
    words = [f'"{n}"' for n in names]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def size_text(value: float, across: Across, unit: Unit, *, signed: bool = False) -> str:
    """Return a size with its unit; a slope in degrees."""
    if across is Across.SLOPE:
        return f"{value:+.2f} deg" if signed else f"{value:.2f} deg"
    return length_text(value, unit, signed=signed)


def deciding_text(deciding: DecidingReading | None, unit: Unit) -> str:
    """Return in words which measurement would decide, and what it would read in each case."""
    if deciding is None:
        return "No single further reading with the instruments at hand would decide: take a finer instrument."
    how = {
        Across.ALONG: "along the chain over",
        Across.SQUARE: "square to the chain over",
        Across.STRAIGHT: "straight over",
        Across.SLOPE: "the slope of",
    }[deciding.across]
    what = f"{quoted(deciding.of)} once more" if deciding.repeats else f"{how} {quoted(deciding.of)}"
    ordered = sorted(deciding.expected, key=lambda pair: pair[1])
    cases = [f'{size_text(v, deciding.across, unit)} if it is "{n}"' for n, v in ordered[:EXPLANATIONS_TOLD]]
    more = len(ordered) - len(cases)
    rest = f", and so on for {more} more" if more > 0 else ""
    return f"Measure {what}. Expect {'; '.join(cases)}{rest}."


def _surely(deviations: float) -> str:
    """Return how unlikely chance alone is, in words."""
    chance = normal_two_sided(deviations)
    if chance < 1e-6:
        return "chance alone: less than one in a million"
    return f"chance alone: one in {round(1.0 / chance):,}"


def _readings(about: str, found: Reconciliation, unit: Unit) -> list[Finding]:
    across = {r.name: r.across for r in found.readings}
    limit = critical_value()
    result = []
    for suspect in found.removed:
        result.append(
            Finding(
                code="misread",
                severity=Severity.CAUTION,
                about=f'{about}, reading "{suspect.name}"',
                message=_misread_text(suspect, across[suspect.name], unit),
                measured=abs(suspect.normalised),
                limit=limit,
                quantity_unit="1",
                source=ADJUSTMENT,
                remedy=f'Measure "{suspect.name}" once more and enter the new value. It is left out of what follows.',
            )
        )
    if found.readings_verdict in (ReadingsVerdict.CANNOT_TELL, ReadingsVerdict.INSEPARABLE):
        result.append(_disagree(about, found, across, unit))
    elif found.readings_verdict is ReadingsVerdict.STRAINED:
        result.append(
            Finding(
                code="readings-strained",
                severity=Severity.CAUTION,
                about=about,
                message=(
                    "The readings disagree more than their doubts allow, but no single one stands out. All doubts were "
                    f"widened {found.doubt_scale:.2f} times."
                ),
                measured=found.chance,
                limit=GLOBAL_SIGNIFICANCE,
                quantity_unit="1",
                source=ADJUSTMENT,
                remedy="Check how surely each instrument reads here: bent sheet, rounded edges and burrs count.",
            )
        )
    elif found.readings_verdict is ReadingsVerdict.UNCHECKED:
        result.append(
            Finding(
                code="readings-unchecked",
                severity=Severity.CAUTION,
                about=about,
                message="No reading checks another: a misread number would not be noticed.",
                source=ADJUSTMENT,
                remedy="Measure the overall size, and one sub-total, as well.",
            )
        )
    elif found.readings_verdict is ReadingsVerdict.AGREE:
        result.append(
            Finding(
                code="readings-agree",
                severity=Severity.NOTE,
                about=about,
                message=f"The readings agree with each other within their doubts ({found.dof} of them beyond need).",
                measured=found.chance,
                limit=GLOBAL_SIGNIFICANCE,
                quantity_unit="1",
                source=ADJUSTMENT,
            )
        )
    return result


def _misread_text(suspect: Suspect, across: Across, unit: Unit) -> str:
    size = size_text(abs(suspect.error), across, unit)
    doubt = size_text(2.0 * suspect.error_doubt, across, unit)
    way = "too large" if suspect.error > 0.0 else "too small"
    return (
        f'"{suspect.name}" does not agree with the other readings: it is {size} {way}, give or take {doubt} '
        f"({_surely(suspect.normalised)})."
    )


def _disagree(about: str, found: Reconciliation, across: dict[str, Across], unit: Unit) -> Finding:
    names = [s.name for s in found.suspects]
    first = found.suspects[0]
    size = size_text(abs(first.error), across[first.name], unit)
    if found.readings_verdict is ReadingsVerdict.INSEPARABLE:
        words = f"One of {quoted(names)} is wrong by about {size}, and nothing tells which."
    elif found.dof - len(found.removed) == 1:
        words = (
            f"The sizes do not close by {size}. With one closure only, every reading in it is as suspect as any other: "
            f"{quoted(names)}. {_named_in_spite(found)}"
        )
    else:
        words = (
            f"The readings contradict each other, and {len(names)} of them explain it about equally well: "
            f"{quoted(names)}."
        )
    return Finding(
        code="readings-disagree",
        severity=Severity.STOP,
        about=about,
        message=words,
        measured=abs(first.normalised),
        limit=critical_value(),
        quantity_unit="1",
        source=ADJUSTMENT,
        remedy=deciding_text(found.deciding, unit),
    )


def _named_in_spite(found: Reconciliation) -> str:
    """Return which sections are named though the readings contradict each other."""
    if not found.carriers:
        return "No section is named."
    return f"Only {quoted([c.name for c in found.carriers])} can be named: the same whichever of them is wrong."


def _uncheckable(about: str, loose: Sequence[ReadingResult]) -> Finding:
    return Finding(
        code="uncheckable-reading",
        severity=Severity.NOTE,
        about=about,
        message=f"Nothing checks {quoted([r.name for r in loose])}: a misread number there would not be noticed.",
        source=ADJUSTMENT,
        remedy="Measure again, or over several sections.",
    )


def _carrier_text(carrier: Carrier, unit: Unit) -> str:
    way = "longer" if carrier.error > 0.0 else "shorter"
    return (
        f'"{carrier.name}" is {length_text(abs(carrier.error), unit)} {way} than drawn, give or take '
        f"{length_text(2.0 * carrier.error_doubt, unit)} ({_surely(carrier.normalised)})"
    )


def _sections(about: str, found: Reconciliation, unit: Unit) -> list[Finding]:
    limit = critical_value()
    result = []
    for carrier in found.carriers:
        section = found.section(carrier.name)
        comes = "take off" if carrier.error > 0.0 else "add"
        checked = section.checked
        result.append(
            Finding(
                code="error-section" if checked else "error-section-unchecked",
                severity=Severity.CAUTION,
                about=f'{about}, section "{carrier.name}"',
                message=_carrier_text(carrier, unit)
                + ("." if checked else ", if the reading is right: nothing checks it."),
                measured=carrier.error,
                limit=limit * carrier.error_doubt,
                source=ADJUSTMENT,
                remedy=(
                    f"To make it as drawn {comes} {length_text(abs(carrier.error), unit)}, or move the pattern."
                    if checked
                    else "Measure it once more, and over two sections, before anything is cut."
                ),
            )
        )
    if found.sections_verdict in (SectionsVerdict.CANNOT_TELL, SectionsVerdict.INSEPARABLE):
        other = " other" if found.carriers else ""
        names = [c.name for c in found.carrier_suspects]
        words = (
            f"The part differs from the drawing by about {length_text(abs(found.carrier_suspects[0].error), unit)}, "
            f"and any of {quoted(names)} may carry it."
            if names
            else f"Which{other} section differs from the drawing, and by how much, cannot be told while the readings "
            "contradict each other."
        )
        result.append(
            Finding(
                code="cannot-tell",
                severity=Severity.STOP if not names else Severity.CAUTION,
                about=about,
                message=words,
                source=ADJUSTMENT,
                remedy=deciding_text(found.deciding, unit),
            )
        )
    elif found.sections_verdict is SectionsVerdict.AS_DRAWN:
        settled = [s for s in found.sections if s.z is not None]
        worst = max((abs(s.z or 0.0) for s in settled), default=0.0)
        result.append(
            Finding(
                code="as-drawn",
                severity=Severity.NOTE,
                about=about,
                message="No section differs from the drawing by more than doubt and process explain.",
                measured=worst,
                limit=limit,
                quantity_unit="1",
                source=ADJUSTMENT,
            )
        )
    return result


def _shift(about: str, shift: Shift, unit: Unit) -> Finding:
    words = (
        f"Behind {quoted(shift.sections)} everything has moved {length_text(shift.along, unit, signed=True)} along the "
        f"chain, give or take {length_text(2.0 * shift.along_doubt, unit)}"
    )
    if shift.square is not None and shift.square_doubt is not None and abs(shift.square) > 2.0 * shift.square_doubt:
        words += f", and {length_text(shift.square, unit, signed=True)} square to it"
    return Finding(
        code="pattern-shift",
        severity=Severity.NOTE,
        about=about,
        message=f"{words}.",
        measured=shift.along,
        limit=2.0 * shift.along_doubt,
        source=ADJUSTMENT,
        remedy=(
            "A pattern that has to keep its place against that end is moved by as much; "
            "the placement can take it by name."
        ),
    )
