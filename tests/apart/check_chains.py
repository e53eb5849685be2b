"""Chains: weighted least squares by the pseudo-inverse, chi-square, normalised residuals, the shift and its doubt.

With readings l of standard doubts u and rows a of the sections x: x = drawn + pinv(A / u) ((l - A drawn) / u). The
weighted sum of squares is held to 1e-6 of itself, its chance (scipy) to 1e-8, normalised residuals v / (u sqrt(r))
to 1e-5 of themselves, with r the diagonal of I - B pinv(B), B = A / u. Readings contradict each other below a
chance of 1 % or with a normalised residual above 3.2905 (chance 0.1 %, both sides; Baarda's data snooping). A
blunder shows from 4.1318 u / sqrt(r) on (power of 80 % at that level). Shift and doubt are held to 1e-6 mm where
the readings agree.

Not covered: which reading is named, beyond these rules: none with one closure, none when two are equally suspect; which
section is named.
"""

from __future__ import annotations

import math

import numpy as np
from account import Account
from chain_jobs import ChainJob, Floats
from planned_work import PlannedWork
from scipy.stats import chi2

LEAST_CHANCE = 0.01
SUSPECT = 3.2905
SHOWS = 4.1318
NO_REDUNDANCY = 1e-9
"""A share of redundancy below this is none: the reading is checked by no other."""


def check_chain_job(job: ChainJob, work: PlannedWork, account: Account) -> None:
    """Hold a planned chain against an adjustment of its own."""
    told = work.plan["chains"][0]
    rows = job.coefficients / job.doubts[:, None]
    inverse = np.linalg.pinv(rows)
    sections = job.drawn + inverse @ ((job.readings - job.coefficients @ job.drawn) / job.doubts)
    residuals = job.readings - job.coefficients @ sections
    squares = float(((residuals / job.doubts) ** 2).sum())
    freedom = len(job.readings) - int(np.linalg.matrix_rank(rows))
    share = np.diag(np.eye(len(job.readings)) - rows @ inverse)
    checkable = share > NO_REDUNDANCY
    normalised = np.where(checkable, residuals / job.doubts / np.sqrt(np.where(checkable, share, 1.0)), 0.0)
    account.near("SUM OF SQUARES", told["weighted_sum_of_squares"], squares, within=1e-6 * max(1.0, squares))
    account.near("REDUNDANCY", told["redundancy"], freedom, within=0)
    chance = float(chi2.sf(squares, freedom)) if freedom else 1.0
    if freedom:
        account.near("CHANCE", told["chance"], chance, within=1e-8)
    account.hold(f"READINGS {len(told['readings'])}", len(told["readings"]) == len(job.readings))
    for i, reading in enumerate(told["readings"]):
        name, doubt = reading["name"], float(job.doubts[i])
        size = max(1.0, abs(float(normalised[i])))
        account.near(f"RESIDUAL of {name}", reading["normalised_residual"], float(normalised[i]), within=1e-5 * size)
        account.near(f"DOUBT of {name}", reading["doubt_mm"], doubt, within=1e-8)
        account.hold(f"CHECKABLE {name}: {reading['checkable']}", reading["checkable"] == bool(checkable[i]))
        if checkable[i]:
            shows = SHOWS * doubt / math.sqrt(float(share[i]))
            account.near(f"SHOWS of {name}", reading["shows_from_mm"], shows, within=1e-3 * shows)
    contradict = freedom > 0 and (chance < LEAST_CHANCE or float(np.abs(normalised).max()) > SUSPECT)
    _check_verdict(told["readings_verdict"], freedom, normalised, account, contradict=contradict)
    if told["readings_verdict"] in ("cannot tell", "inseparable"):
        account.hold("SHIFT told of readings that contradict each other", told.get("shift_mm") is None)
    elif told["readings_verdict"] in ("agree", "unchecked") and told.get("shift_mm") is not None:
        before = np.arange(len(job.drawn)) < (job.moves or len(job.drawn))
        along = np.where(before, job.cosines, 0.0)
        account.near("SHIFT", told["shift_mm"][0], float(along @ (sections - job.drawn)), within=1e-6)
        doubt = math.sqrt(float(along @ np.linalg.pinv(rows.T @ rows) @ along))
        account.near("DOUBT of the shift", told["shift_doubt_mm"], doubt, within=1e-6)


def _check_verdict(verdict: str, freedom: int, normalised: Floats, account: Account, *, contradict: bool) -> None:
    if freedom == 0:
        account.hold(f"VERDICT {verdict} without redundancy", verdict == "unchecked")
        return
    account.hold(f"VERDICT {verdict}, contradiction {contradict}", (verdict == "agree") != contradict)
    if freedom == 1:
        account.hold(f"VERDICT {verdict} with one closure", verdict not in ("named", "inseparable"))
    if verdict == "named":
        largest = np.sort(np.abs(normalised))[::-1]
        account.hold("VERDICT named, though two are equally suspect", largest[0] - largest[1] >= 1e-9)
