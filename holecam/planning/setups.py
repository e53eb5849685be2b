"""How the part lies on the table: from the job's picks to the motion that gives what the readout shows."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_machine import EdgePicks, Skew
from holecam.layout.best_fit import MeasuredHole, NoFit, best_fit
from holecam.layout.patterns import free_points
from holecam.layout.reference_doubt import direction_doubt_deg, standard_doubt
from holecam.layout.skewed_setup import FoundHole, setup_from_two_holes
from holecam.lengths import Unit, length_text
from holecam.plan.facts import Setup
from holecam.planning.placed_patterns import direction_deg_of, half_width_of, zero_doubt_of
from holecam.shapes import Placement, Point, direction_deg, distance, half_turn_range

SQUARE_WITHIN_DEG = 1e-9
"""Degrees. A turn below this is arithmetic noise: the part counts as square to the table."""


class TableFrame(Struct, frozen=True):
    """The motion from the part frame to readings, and how the papers describe it."""

    machine_from_part: Placement
    setup: Setup


def table_frame(job: Job) -> TableFrame:
    """Return how the part lies on the table; without a skew, part coordinates are readings."""
    skew = job.setup.skew
    held = "; ".join(t.strip().rstrip(".;,") for t in (job.setup.held, job.setup.parallel) if t)
    if skew is None:
        square = Setup(False, 0.0, (0.0, 0.0), "square to the table", held=held, zeros=_zeros(job))
        return TableFrame(Placement(), square)
    if skew.edge is not None:
        motion, words, doubt = _from_edge(skew, skew.edge, job.unit)
    else:
        motion, words, doubt = _from_holes(skew, job.unit)
    setup = Setup(
        skewed=True,
        turn_deg=half_turn_range(motion.turn_deg),
        shift=motion.apply((0.0, 0.0)),
        words=words,
        turn_doubt_deg=doubt,
        held=held,
        zeros=_zeros(job),
    )
    return TableFrame(motion, setup)


def _zeros(job: Job) -> str:
    """Return in words how the readout was zeroed, as far as the job says."""
    zero = zero_doubt_of(job)
    lines = []
    if zero is not None:
        lines.append(f"X and Y zeroed surely within {length_text(zero.half_width, job.unit)} ({zero.source}).")
    if job.setup.z_zero:
        lines.append(f"Z zeroed on: {job.setup.z_zero}.")
    return " ".join(lines)


def _pair(value: tuple[object, object]) -> Point:
    return (float(value[0]), float(value[1]))  # type: ignore[arg-type]


def _from_edge(skew: Skew, edge: EdgePicks, unit: Unit) -> tuple[Placement, str, float]:
    first, second = _pair(edge.first), _pair(edge.second)
    turn = half_turn_range(direction_deg(first, second) - direction_deg_of(edge.along))
    if abs(turn) < SQUARE_WITHIN_DEG:
        turn = 0.0
    origin = _pair(edge.origin_reads) if edge.origin_reads is not None else (0.0, 0.0)
    baseline = distance(first, second)
    half_width, _ = half_width_of(skew.found_by, skew.within)
    each = 0.0 if half_width is None else standard_doubt(half_width)
    doubt = direction_doubt_deg(each, each, baseline)
    words = f"turn from two points picked {length_text(baseline, unit)} apart along an edge"
    return Placement(turn, origin), words + _sure(doubt), doubt


def _from_holes(skew: Skew, unit: Unit) -> tuple[Placement, str, float]:
    holes = skew.holes or ()
    half_width, _ = half_width_of(skew.found_by, skew.within)
    doubt = 0.0 if half_width is None else standard_doubt(half_width)
    found = [FoundHole(_pair(h.part), _pair(h.reads), doubt) for h in holes]
    if len(found) == 2:
        setup = setup_from_two_holes(found[0], found[1], hold="split")
        misfit = length_text(setup.misfit or 0.0, unit, signed=True)
        words = f"{setup.words}; their distance misses by {misfit}{_sure(setup.turn_doubt_deg)}"
        return setup.machine_from_part, words, setup.turn_doubt_deg
    fit = best_fit(
        free_points([f.part for f in found]), [MeasuredHole(n, f.machine) for n, f in enumerate(found, start=1)]
    )
    if isinstance(fit, NoFit):
        raise InputError(f"setup.skew.holes: {fit.words}")
    words = f"best fit to {len(found)} holes of the part, the worst missed by {length_text(fit.worst.size, unit)}"
    # Where nothing is stated, what the holes have left over tells how surely they were found
    each = doubt if half_width is not None else fit.scatter or 0.0
    turn_doubt = math.degrees(each / math.sqrt(fit.fit.leverage))
    return fit.fit.motion, words + _sure(turn_doubt), turn_doubt


def _sure(turn_doubt_deg: float) -> str:
    """Return how surely a turn is known, in words; nothing where it is not known how surely the places were."""
    return f"; the turn is sure to about {turn_doubt_deg:.4f} degrees (standard doubt)" if turn_doubt_deg > 0 else ""
