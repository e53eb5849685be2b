"""Passes for two handwheels on a part that lies skewed: each would turn both at once, so none is told."""

from __future__ import annotations

from collections.abc import Iterable

from holecam.plan.finding import Finding, Severity
from holecam.shapes import Placement, Point, half_turn_range

OFF_AXIS = 0.005
"""mm. A pass by hand may leave its axis by this much: a usual readout's step, less than a calliper in a slot tells."""

ON_AXIS = 1e-6
"""mm. A pass that leaves its axis by less on the part is meant to run along it: arithmetic noise."""


def skewed_by_hand(
    moves: Iterable[tuple[Point, Point]], machine_from_part: Placement, about: str, operation: str
) -> Finding | None:
    """Return the stop for passes along one axis of the part that are along none of the table, else nothing.

    ``moves`` are ends of passes in the part frame, mm; ``about`` and ``operation`` name the cut as its findings do.
    """
    for begin, end in moves:
        if off_axis(begin, end) > ON_AXIS:
            continue
        if off_axis(machine_from_part.apply(begin), machine_from_part.apply(end)) > OFF_AXIS:
            turn = half_turn_range(machine_from_part.turn_deg)
            return Finding(
                "skewed-by-hand",
                Severity.STOP,
                about,
                f"The part lies skewed by {turn:+.4f} degrees: on every pass both handwheels would have to turn.",
                source="geometry",
                remedy="Turn the part square to the table, take [setup.skew] out of the job and plan anew; or cut by "
                "program.",
                operation=operation,
            )
    return None


def off_axis(begin: Point, end: Point) -> float:
    """Return how far a move leaves the axis that it is nearest to, mm."""
    return min(abs(end[0] - begin[0]), abs(end[1] - begin[1]))
