"""Rows along an edge or a line: every hole where the line beside it says, their count and their numbers.

Places are held to 2e-6 mm (``plan.json`` has nine decimals), beside an arc whose centre is worked out from points that
were rounded to 1e-5 mm. Not covered: lines that fall apart or lose a piece beside a narrow place; splines.
"""

from __future__ import annotations

import math

from account import Account
from along_jobs import AlongJob
from planned_work import PlannedWork

WITHIN = 2e-6
"""How closely places are held, mm."""


def check_along_job(job: AlongJob, work: PlannedWork, account: Account) -> None:
    """Hold the row of a planned job."""
    plan = work.plan
    holes = plan["old_holes"] if job.old else plan["holes"]
    if not account.hold(f"COUNT {len(holes)} holes for {len(job.points)}", len(holes) == len(job.points)):
        return
    for hole, number, right in zip(holes, job.numbers, job.points, strict=True):
        off = math.dist((hole["x_mm"], hole["y_mm"]), right)
        account.hold(f"HOLE OFF: {number} by {off:.7f} mm at ({right[0]:.4f}, {right[1]:.4f})", off <= WITHIN)
        if not job.old:
            account.hold(f"NUMBER {hole['number_in_pattern']}, not {number}", hole["number_in_pattern"] == number)
