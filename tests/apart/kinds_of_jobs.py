"""The kinds of jobs that are computed apart, and one trial of each: draw a job, plan it, hold what came against it."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from account import Account
from along_jobs import draw_along_job
from bolt_up_jobs import draw_bolt_up_job
from chain_jobs import draw_chain_job
from check_along import check_along_job
from check_bolt_ups import check_bolt_up_job
from check_chains import check_chain_job
from check_changed_programs import check_changed_programs, draw_job_to_change
from check_holes import check_hole_job
from check_layouts import check_layout_job
from check_marking import check_marking_job
from check_papers import check_paper_job
from check_pockets import check_pocket_job
from check_slots import check_slot_job
from check_step_downs import check_step_down_job
from hole_jobs import draw_hole_job
from layout_jobs import draw_layout_job
from marking_jobs import draw_marking_job
from paper_jobs import draw_paper_job
from planned_work import Drawings, PlannedWork, plan_text
from pocket_jobs import draw_pocket_job
from slot_jobs import draw_slot_job
from step_down_jobs import draw_step_down_job


@dataclass(frozen=True)
class Kind:
    """How jobs of one kind are drawn and checked."""

    draw: Callable[[int], Any]
    check: Callable[[Any, PlannedWork, Account], None]


KINDS: dict[str, Kind] = {
    "holes": Kind(draw_hole_job, check_hole_job),
    "pockets": Kind(draw_pocket_job, check_pocket_job),
    "slots": Kind(draw_slot_job, check_slot_job),
    "step-downs": Kind(draw_step_down_job, check_step_down_job),
    "changed-programs": Kind(draw_job_to_change, check_changed_programs),
    "layouts": Kind(draw_layout_job, check_layout_job),
    "bolt-ups": Kind(draw_bolt_up_job, check_bolt_up_job),
    "chains": Kind(draw_chain_job, check_chain_job),
    "along": Kind(draw_along_job, check_along_job),
    "marking": Kind(draw_marking_job, check_marking_job),
    "papers": Kind(draw_paper_job, check_paper_job),
}


@dataclass
class Trial:
    """One job of a seed, its outcome and its account."""

    kind: str
    seed: int
    job: Any = None
    work: PlannedWork | None = None
    account: Account = field(default_factory=Account)

    def check(self, work: PlannedWork) -> Account:
        """Return what a fresh check says of an outcome, perhaps a damaged one."""
        account = Account()
        KINDS[self.kind].check(self.job, work, account)
        return account


def try_seed(kind: str, seed: int) -> Trial:
    """Return the trial of one seed. A mistake of the check itself is told as a fault too: it would hide others."""
    trial = Trial(kind, seed)
    try:
        trial.job = KINDS[kind].draw(seed)
        drawings: Drawings = getattr(trial.job, "drawings", {})
        trial.work = plan_text(trial.job.text, drawings, papers=getattr(trial.job, "wants_papers", False))
        if trial.work.refused:
            trial.account.planned = False
            return trial
        trial.account = trial.check(trial.work)
    except Exception:
        trial.account.fault("THE CHECK ITSELF " + traceback.format_exc(limit=-3))
    return trial
