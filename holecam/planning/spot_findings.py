"""Whether the spot drill suits the drills that follow it."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.job.models import Job
from holecam.plan.finding import Finding, Severity
from holecam.plan.work import Operation, OperationKind


def spot_findings(job: Job, operations: Sequence[Operation]) -> list[Finding]:
    """Return a note where the spot is steeper than the point of the drill: the lips then meet its rim first."""
    spot, point = job.tools.spot_deg, job.tools.drill_point_deg
    if spot >= point or not any(o.kind is OperationKind.SPOT for o in operations):
        return []
    return [
        Finding(
            "steep-spot",
            Severity.NOTE,
            "tools",
            f"The spot drill's {spot:g} degrees are less than the {point:g} of the drills' points: the lips meet the "
            "rim of the spot before the point is led, and the drill may chatter or wander.",
            spot,
            point,
            "deg",
            "common practice",
            "Spot with an angle at least as large as that of the drill's point, such as 120 or 140 degrees; a smaller "
            "one suits where the spot is to be the chamfer.",
        )
    ]
