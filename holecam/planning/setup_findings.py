"""What the picks of a skewed part say of themselves: a turn that nobody makes by accident, holes that do not agree."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from holecam.job.models import Job
from holecam.job.models_machine import PickedHole
from holecam.layout.placing_findings import COVERAGE, PRACTICE, TWICE_THE_DOUBT, WRONG_HOLE_SHARE
from holecam.layout.reference_doubt import standard_doubt
from holecam.lengths import length_text
from holecam.plan.finding import Finding, Severity
from holecam.planning.placed_patterns import half_width_of
from holecam.planning.setups import TableFrame
from holecam.shapes import Point, distance

LARGEST_SKEW_DEG = 20.0
"""Degrees. A part that was laid on by eye lies truer than this; a larger turn was meant, or X and Y were exchanged."""

ABOUT = "setup"


def setup_findings(job: Job, table: TableFrame, numbers: Sequence[int]) -> list[Finding]:
    """Return what is wrong, or looks so, with how the part is said to lie; ``numbers`` are those of all holes of it."""
    return [*_turn(job, table), *_holes(job, numbers)]


def _turn(job: Job, table: TableFrame) -> Iterator[Finding]:
    turn = table.setup.turn_deg
    if job.setup.skew is not None and abs(turn) > LARGEST_SKEW_DEG:
        yield Finding(
            "large-skew",
            Severity.CAUTION,
            ABOUT,
            f"By the picks the part lies turned by {turn:.2f} degrees on the table.",
            abs(turn),
            LARGEST_SKEW_DEG,
            "deg",
            "common practice",
            "Check that X stands first in every reading, and along; and try hole 1 with a pointer.",
        )


def _holes(job: Job, numbers: Sequence[int]) -> Iterator[Finding]:
    skew = job.setup.skew
    picks = skew.holes if skew is not None and skew.holes is not None else ()
    if skew is None or len(picks) < 2:
        return
    half_width, _ = half_width_of(skew.found_by, skew.within)
    first, second, found, drawn = _worst_pair(picks)
    misfit = found - drawn
    wrong = abs(misfit) > WRONG_HOLE_SHARE * drawn
    limit = None if half_width is None else COVERAGE * math.sqrt(2.0) * standard_doubt(half_width)
    if not wrong and (limit is None or abs(misfit) <= limit):
        return
    yield Finding(
        "skew-misfit",
        Severity.STOP if wrong else Severity.CAUTION,
        ABOUT,
        f"Picks {first} and {second} read {length_text(found, job.unit)} apart, and their holes lie "
        f"{length_text(drawn, job.unit)} apart on the part: {length_text(misfit, job.unit, signed=True)}.",
        abs(misfit),
        WRONG_HOLE_SHARE * drawn if wrong else limit,
        source=PRACTICE if wrong else TWICE_THE_DOUBT,
        remedy="Pick them again, and check that each reading stands with its own hole, X first, in the right unit.",
        holes=tuple(numbers) if wrong else (),
    )


def _worst_pair(picks: Sequence[PickedHole]) -> tuple[int, int, float, float]:
    """Return the numbers of the two picks that disagree most, and their distances by the readout and on the part."""
    places = [(_point(p.reads), _point(p.part)) for p in picks]
    pairs = [
        (a + 1, b + 1, distance(places[a][0], places[b][0]), distance(places[a][1], places[b][1]))
        for a in range(len(places))
        for b in range(a + 1, len(places))
    ]
    return max(pairs, key=lambda pair: abs(pair[2] - pair[3]))


def _point(pair: tuple[object, object]) -> Point:
    return (float(pair[0]), float(pair[1]))  # type: ignore[arg-type]
