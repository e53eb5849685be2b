"""Chains of drawn and measured sizes: from the job to the adjustment and to what the papers show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean, stdev

from msgspec import Struct

from holecam.errors import InputError
from holecam.job.models_error import Chain as JobChain
from holecam.job.models_error import Reading as JobReading
from holecam.job.models_error import Section as JobSection
from holecam.layout.reconciliation import Reconciliation, reconcile
from holecam.layout.reconciliation_chain import Across, Chain, Reading, Section
from holecam.layout.reference_doubt import standard_doubt
from holecam.lengths import Unit
from holecam.plan.chain import ChainReading, ChainReport, ChainSection
from holecam.plan.finding import Finding
from holecam.planning.error_findings import error_findings, pattern_shift
from holecam.planning.placed_patterns import direction_deg_of
from holecam.shapes import Point
from holecam.shapes.angles import cos_sin_deg
from holecam.standards.instruments import instrument

USUAL_SLOPE_WITHIN_DEG = 0.5
"""Degrees. A protractor head by eye (practice table of instruments), where the job states no doubt of an angle."""


class ChainAnswer(Struct, frozen=True):
    """One chain worked out: the adjustment, what the papers show, and the findings."""

    found: Reconciliation
    report: ChainReport
    findings: tuple[Finding, ...]


def answer_chain(chain: JobChain, unit: Unit) -> ChainAnswer:
    """Return where the error of a chain is, as far as the readings tell.

    Raises
    ------
    InputError
        The readings do not fit the sections.
    """
    try:
        found = reconcile(_chain(chain), significance=_significance(chain))
    except InputError as error:
        raise InputError(f'chain "{chain.name}": {error.message}') from error
    findings = error_findings(chain.name, found, unit=unit, moves=chain.moves)
    return ChainAnswer(found, _report(chain, found, findings), findings)


def chain_shifts(answers: Sequence[ChainAnswer]) -> dict[str, Point]:
    """Return the shift that each chain calls for, by its name; chains that cannot be trusted are left out."""
    return {a.report.name: a.report.shift for a in answers if a.report.shift is not None}


def _significance(chain: JobChain) -> float:
    return chain.significance_percent / 100.0 if chain.significance_percent is not None else 0.001


def _chain(chain: JobChain) -> Chain:
    sections = tuple(
        Section(
            s.name,
            float(s.drawn),
            s.slope_deg,
            standard_doubt(float(s.process if s.process is not None else chain.process or 0)),
        )
        for s in chain.sections
    )
    readings: list[Reading] = []
    for section in chain.sections:
        readings += _own_readings(section)
    for number, reading in enumerate(chain.readings, start=1):
        readings.append(_reading(chain, reading, number))
    return Chain(sections, tuple(readings))


def _own_readings(section: JobSection) -> list[Reading]:
    out = []
    if section.measured is not None:
        value, doubt = _mean(section.measured, section.instrument, section.within)
        out.append(Reading(section.name, (section.name,), value, doubt, Across.STRAIGHT))
    if section.measured_slope_deg is not None:
        within = section.slope_within_deg if section.slope_within_deg is not None else USUAL_SLOPE_WITHIN_DEG
        out.append(
            Reading(
                f"slope of {section.name}",
                (section.name,),
                section.measured_slope_deg,
                standard_doubt(within),
                Across.SLOPE,
            )
        )
    return out


def _reading(chain: JobChain, reading: JobReading, number: int) -> Reading:
    value, doubt = _mean(reading.is_, reading.instrument, reading.within)
    of = reading.of or tuple(s.name for s in chain.sections)
    name = reading.name or (f"overall {number}" if not reading.of else " + ".join(of))
    taken = {s.name for s in chain.sections if s.measured is not None}
    taken.update(r.name for k, r in enumerate(chain.readings, start=1) if r.name and k != number)
    return Reading(
        name if name not in taken else f"{name} (reading {number})", of, value, doubt, Across(reading.across)
    )


def _mean(values: Sequence[object], tool: str | None, within: object | None) -> tuple[float, float]:
    """Return the mean of repeated readings, mm, and its standard doubt.

    The instrument's own doubt does not shrink with repeats; the scatter of the readings does.
    """
    lengths = [float(v) for v in values]  # type: ignore[arg-type]
    mean = fmean(lengths)
    if within is not None:
        own = standard_doubt(float(within))  # type: ignore[arg-type]
    else:
        own = instrument(tool or "").standard_uncertainty(abs(mean))
    scatter = stdev(lengths) / math.sqrt(len(lengths)) if len(lengths) > 1 else 0.0
    return mean, math.hypot(own, scatter)


def _report(chain: JobChain, found: Reconciliation, findings: Sequence[Finding]) -> ChainReport:
    named = {c.name for c in found.carriers}
    accused = {s.name for s in (*found.removed, *found.suspects)}
    moved = pattern_shift(found, chain.moves)
    shift = None
    if moved is not None:
        c, s = cos_sin_deg(direction_deg_of(chain.along))
        square = moved.square or 0.0
        shift = (c * moved.along - s * square, s * moved.along + c * square)
    return ChainReport(
        name=chain.name,
        readings_verdict=found.readings_verdict.value,
        sections_verdict=found.sections_verdict.value,
        statistic=found.statistic,
        dof=found.dof,
        chance=found.chance,
        sections=tuple(
            ChainSection(s.name, s.drawn, s.actual, s.doubt, s.correction, s.z, s.name in named) for s in found.sections
        ),
        readings=tuple(
            ChainReading(
                r.name,
                r.of,
                r.across is Across.SLOPE,
                r.measured,
                r.doubt,
                r.adjusted,
                r.normalised,
                r.findable,
                r.checkable,
                r.name in accused,
            )
            for r in found.readings
        ),
        moves=tuple(chain.moves) if chain.moves is not None else tuple(s.name for s in chain.sections),
        shift=shift,
        shift_doubt=None if moved is None else moved.along_doubt,
        words=tuple(f.message for f in findings),
    )
