"""Bolt-ups: is the tightest screw as tight as said, is its lower bound one, and does the advice really help.

With the part turned by R and shifted by t, screw i uses ``|R p_i + t - c_i| / play_i`` of its play, a slotted hole
what is left of it across and past the slot's ends. The least over all motions of the largest share is sought again
by sequential quadratic programming (scipy) from twelve beginnings: it may not be better than said by more than
1e-5, and not worse by more than 1e-4. Play: (mate hole - screw) / 2, and for a clearance hole in the part that of
the part too.

Not covered: the chance of assembly; whether the advice is the least work; advice that opens a hole which is slotted.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from account import Account
from bolt_up_jobs import BoltUpJob
from layout_model import Points
from numpy.typing import NDArray
from planned_work import Plan, PlannedWork
from scipy.optimize import minimize
from shop_figures import INCH

Floats = NDArray[np.float64]
Slot = tuple[str, float, float] | None
"""In which member a slot is, "mate" or "part", and its vector."""

BEGINNINGS = 12
BETTER, WORSE = 1e-5, 1e-4
"""How much better or worse than said the sought share may be: the tool proves its own, the search just stops."""

OPENED = re.compile(r"open hole (\d+) of (.+?) from ([\d./]+ ?\w*) to (.+) \(([\d.]+) (in|mm)\)$")
DRAWN_OUT = re.compile(r"draw hole (\d+) of (.+?) out by ([\d.]+) (in|mm) toward (\d+) degrees")
TIGHT = 0.8
"""Share of the play from which a bolt-up is called tight."""


def shares(motion: Sequence[float], part: Points, mate: Points, play: Floats, slots: Sequence[Slot]) -> Floats:
    """Return which share of its play each screw uses; ``motion`` is turn in radians and shift."""
    turn, x, y = motion
    c, s = math.cos(turn), math.sin(turn)
    matrix = np.array([[c, -s], [s, c]])
    off = part @ matrix.T + np.array([x, y]) - mate
    used = np.hypot(off[:, 0], off[:, 1])
    for i, slot in enumerate(slots):
        if slot is not None:
            vector, from_end = np.array(slot[1:]), off[i]
            if slot[0] == "part":
                vector, from_end = matrix @ vector, -off[i]
            along = np.clip(from_end @ vector / (vector @ vector), 0.0, 1.0)
            used[i] = np.hypot(*(from_end - along * vector))
    result: Floats = used / play
    return result


def least_share(part: Points, mate: Points, play: Floats, slots: Sequence[Slot]) -> float:
    """Return the least of the largest share over all motions that the search finds."""
    chance = np.random.default_rng(7)
    own = part - part.mean(axis=0)  # turns about the middle, measured in mm at the outermost hole
    away = mate - mate.mean(axis=0)
    arm = max(1.0, float(np.hypot(*own.T).max()))
    turn = math.atan2(float((own[:, 0] * away[:, 1] - own[:, 1] * away[:, 0]).sum()), float((own * away).sum()))

    def used(y: Floats) -> Floats:
        return shares((y[0] / arm, y[1], y[2]), own, mate, play, slots)

    best = math.inf
    for number in range(BEGINNINGS):
        begin = np.array([turn * arm, *mate.mean(axis=0)]) + chance.normal(0.0, 0.3 * number * play.mean() + 1e-12, 3)
        bounded = {"type": "ineq", "fun": lambda z: z[3] - used(z[:3])}
        with contextlib.suppress(ValueError, ZeroDivisionError):
            found = minimize(
                lambda z: z[3],
                np.r_[begin, used(begin).max()],
                jac=lambda _: np.array([0.0, 0.0, 0.0, 1.0]),
                constraints=[bounded],
                method="SLSQP",
                options={"maxiter": 300, "ftol": 1e-13},
            )
            best = min(best, float(used(found.x[:3]).max()))
    return best


def check_bolt_up_job(job: BoltUpJob, work: PlannedWork, account: Account) -> None:
    """Hold a planned bolt-up against the search."""
    mate = work.plan["mates"][0]
    part_diameters = np.array([hole["finished_diameter_mm"] for hole in work.plan["holes"]])
    play = (job.mate_diameters - job.screw) / 2
    if not job.tapped:
        play = play + (part_diameters - job.screw) / 2
    for screw, computed in zip(mate["screws"], play, strict=True):
        account.near(f"PLAY of screw {screw.get('hole', '')}", screw["play_mm"], computed, within=1e-6)
    slots: list[Slot] = [("mate", *slot) if slot else None for slot in job.slots]
    best = _best(job, job.part_holes, job.mate_holes, play, slots)
    said = float(mate["worst_share_of_play"])
    account.hold(f"BETTER MOTION: {best:.7f}, said {said:.7f}", said <= best + BETTER)
    account.hold(f"SHARE NOT FOUND: {said:.7f}, the best is {best:.7f}", said >= best - WORSE)
    bound = float(mate["proved_lower_bound"])
    account.hold(f"BOUND {bound:.9f} lies above {best:.9f}", bound <= best + 1e-7)
    account.hold(f"VERDICT {mate['goes_together']} of {said}", mate["goes_together"] == (said <= 1.0))
    code = "does-not-bolt-up" if said > 1.0 else "tight-bolt-up" if said > TIGHT else "bolts-up"
    codes = {finding["code"] for finding in work.plan["findings"]}
    account.hold(f"MISSED FINDING {code} of {codes}", code in codes)
    for advice in mate["advice"]:
        _follow(job, advice, play, part_diameters, slots, account)


def _best(job: BoltUpJob, part: Points, mate: Points, play: Floats, slots: Sequence[Slot]) -> float:
    if job.fixed:
        return float(shares((0.0, 0.0, 0.0), part, mate, play, slots).max())
    return least_share(part, mate, play, slots)


def _drill_diameter(name: str, printed: float) -> float:
    """Return the exact diameter of a drill, mm, from its name, or from what was printed, which is rounded.

    Number and letter drills are whole ten-thousandths of an inch (ASME B94.11M, from memory).
    """
    size, _, unit = name.partition(" ")
    if unit == "mm":
        return float(size)
    return float(Fraction(size)) * INCH if "/" in size else round(printed / INCH, 4) * INCH


def _follow(
    job: BoltUpJob, advice: Plan, play: Floats, part_diameters: Floats, slots: Sequence[Slot], account: Account
) -> None:
    """Do what an advice says, hole by hole, and look whether it goes together then."""
    play, slots = play.copy(), list(slots)
    only_opened = True
    for words in advice["words"].split("; "):
        opened, drawn_out = OPENED.match(words), DRAWN_OUT.match(words)
        if opened:
            i = int(opened[1]) - 1
            new = _drill_diameter(opened[4], float(opened[5]) * (INCH if opened[6] == "in" else 1.0))
            play[i] += (new - (job.mate_diameters[i] if opened[2] == '"base"' else part_diameters[i])) / 2
        elif drawn_out:
            i, only_opened = int(drawn_out[1]) - 1, False
            length = float(drawn_out[3]) * (INCH if drawn_out[4] == "in" else 1.0)
            turn = math.radians(float(drawn_out[5]))
            if slots[i] is not None:
                return
            member = "mate" if drawn_out[2] == '"base"' else "part"
            slots[i] = (member, length * math.cos(turn), length * math.sin(turn))
        else:
            account.fault(f"ADVICE in other words: {words}")
            return
    best = _best(job, job.part_holes, job.mate_holes, play, slots)
    account.hold(f"ADVICE FAILS: {advice['words']}: {best:.6f}", best <= 1.0 + 1e-9)
    if only_opened:
        account.near(f"ADVICE {advice['words']}: share", float(advice["ratio_after"]), best, within=2e-3)
