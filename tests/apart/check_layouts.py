"""Layouts: where every hole lies, what is said of it, what the coordinate table shows, where a pattern was moved to.

Places in the part are held to 2e-6 mm, on the table to 3e-6 mm (``plan.json`` has nine decimals). Every finding
about edges, webs, keep-outs and old holes is computed again: none may be missed and none be too many. Each cell of
the table is rounded again, half away from nought, and its steps have to sum up. Doubts of single places follow
their formula to 1e-6 mm; those of several measured holes are held to a trial of 400 random readings, from 0.9 to
1.45 of its greatest standard deviation.

Not covered: patterns along an edge, candidates, marking out, order of holes; findings where a hole lies within
2e-5 mm of a limit (0.006 mm beside a spline) when nothing else differs.
"""

from __future__ import annotations

import csv
import math
from collections import Counter
from fractions import Fraction

import numpy as np
from account import Account
from layout_freedom import check_freedom
from layout_jobs import LayoutJob, NewPattern
from layout_limits import CODES, Site, said_of
from layout_model import Points, placed, shown
from planned_work import Plan, PlannedWork

IN_PART, ON_TABLE = 2e-6, 3e-6
"""How closely places are held, mm."""

TRIALS = 400
"""Random readings for the doubt of measured holes."""


def check_layout_job(job: LayoutJob, work: PlannedWork, account: Account) -> None:
    """Hold a planned layout against its truth."""
    plan = work.plan
    sites: list[Site] = []
    wanted: list[Points] = []
    for pattern in job.patterns:
        where = placed(pattern.points, pattern.place)
        wanted.append(where)
        found = _check_pattern(job, pattern, where, plan, account)
        if found is None:
            return
        sites += found
    _check_table(job, plan, work.coordinates[0], account)
    _check_findings(job, sites, plan, account)
    if len(job.patterns) == 1 and job.patterns[0].place.way != "given" and job.part.kind != "spline":
        check_freedom(job, plan, wanted[0], sites[0], account)


def _check_pattern(
    job: LayoutJob, pattern: NewPattern, wanted: Points, plan: Plan, account: Account
) -> list[Site] | None:
    """Hold one pattern; return its holes, or nothing where it makes no sense to go on."""
    told = next(place for place in plan["places"] if place["pattern"] == pattern.name)
    reference = wanted[pattern.place.reference - 1]
    for axis in (0, 1):
        account.near(f"WANTED PLACE of {pattern.name}", told["wanted_mm"][axis], reference[axis], within=IN_PART)
    shift = np.array(told["chosen_mm"]) - np.array(told["wanted_mm"])
    if pattern.when_blocked == "stop":
        account.hold(f"MOVED {shift}, though it has to stop", np.abs(shift).max() <= 1e-9)
    far = float(np.hypot(*shift))
    account.hold(f"MOVED by {far:.6f}, furthest {pattern.furthest}", far <= pattern.furthest + 1e-6)
    if pattern.free:
        account.hold(f"MOVED {shift}, free along {pattern.free}", abs(shift["yx".index(pattern.free)]) <= 1e-9)
    holes = [hole for hole in plan["holes"] if hole["pattern"] == pattern.name]
    if not account.hold(f"COUNT of {pattern.name}: {len(holes)}", len(holes) == len(wanted)):
        return None
    there = wanted + shift
    on_table = job.on_table(there)
    sites = []
    for hole, xy, reads in zip(holes, there, on_table, strict=True):
        number = hole["number"]
        off = max(abs(hole["x_mm"] - xy[0]), abs(hole["y_mm"] - xy[1]))
        account.hold(f"HOLE OFF: {number} in the part by {off:.7f} mm", off <= IN_PART)
        off = max(abs(hole["readout_x_mm"] - reads[0]), abs(hole["readout_y_mm"] - reads[1]))
        account.hold(f"HOLE OFF: {number} on the table by {off:.7f} mm", off <= ON_TABLE)
        diameter, pitch = hole["finished_diameter_mm"], None
        if pattern.thread:
            account.near(f"DIAMETER of {number}", diameter, pattern.thread[0], within=1e-6)
            diameter, pitch = pattern.thread
        sites.append(Site(number, pattern.name, (hole["x_mm"], hole["y_mm"]), diameter, pitch))
    _check_doubt(job, pattern, wanted, holes, account)
    return sites


def _check_doubt(job: LayoutJob, pattern: NewPattern, wanted: Points, holes: list[Plan], account: Account) -> None:
    place = pattern.place
    if place.way in ("at", "centre", "moved"):
        computed = math.hypot(pattern.within, job.zero_within) / math.sqrt(3.0)
        account.near(f"DOUBT of {pattern.name}", holes[0]["doubt_together_mm"], computed, within=1e-6)
    elif place.way == "measured" and place.half_widths:
        halves = np.array(place.half_widths)[:, None]
        readings = np.array([at for _, at in place.measured])
        chance = np.random.default_rng(1)
        tried = [readings + chance.uniform(-1.0, 1.0, readings.shape) * halves for _ in range(TRIALS)]
        spread = np.array([placed(pattern.points, place.with_readings(q)) - wanted for q in tried])
        factor = 1.0
        if len(halves) > 2:  # readings that agree worse than their doubts say widen it: root of chi-square over freedom
            misfit = wanted[[hole - 1 for hole, _ in place.measured]] - readings
            squares = float((misfit**2 / (halves**2 / 3.0)).sum())
            factor = max(1.0, math.sqrt(squares / (2 * len(halves) - 3)))
        for i, hole in enumerate(holes):
            greatest = factor * math.sqrt(float(np.linalg.eigvalsh(np.cov(spread[:, i].T))[1]))
            said = math.hypot(hole["doubt_together_mm"], hole["doubt_turning_mm"])
            account.hold(
                f"DOUBT of hole {hole['number']}: {said:.5f}, tried {greatest:.5f}",
                0.9 * greatest <= said <= 1.45 * greatest,
            )


def _check_table(job: LayoutJob, plan: Plan, text: str, account: Account) -> None:
    """Round each coordinate again, and add up the steps."""
    head, *rows = list(csv.reader(text.splitlines()))
    scale = Fraction(254, 10) if job.unit == "in" else Fraction(1)
    step = job.readout / scale
    holes = {hole["number"]: hole for hole in plan["holes"]}
    account.hold(f"TABLE has {len(rows)} rows", len(rows) == len(holes))
    at = [Fraction(0), Fraction(0)]
    for row in rows:
        hole = holes[int(row[0])]
        for axis, column, key in ((0, 3, "x_mm"), (1, 4, "y_mm"), (0, 5, "readout_x_mm"), (1, 6, "readout_y_mm")):
            account.hold(f"TABLE head {head[column]}", head[column].startswith("readout" if column > 4 else "part"))
            computed = shown(hole[key], job.readout) / scale
            said = Fraction(row[column])
            halves = abs((Fraction(hole[key]) / job.readout) % 1 - Fraction(1, 2))
            tie = halves < Fraction(1, 10**5) and abs(said - computed) == step
            account.hold(f"ROUNDING {row[0]} {head[column]}: {said}, computed {computed}", said == computed or tie)
            decimals = len(row[column].split(".")[1])
            account.hold(f"DECIMALS {row[column]}", decimals == job.readout_decimals)
            if column > 4:
                at[axis] += Fraction(row[column + 2])
                account.hold(f"STEPS of {row[0]} sum to {float(at[axis])}, not {row[column]}", at[axis] == said)


def _check_findings(job: LayoutJob, sites: list[Site], plan: Plan, account: Account) -> None:
    computed, unsure = said_of(sites, job.part)
    said = Counter(
        (tuple(finding["holes"]), finding["code"], finding["severity"])
        for finding in plan["findings"]
        if finding["code"] in CODES
    )
    account.figures += sum(computed.values())
    missed, extra = computed - said, said - computed
    if sum(missed.values()) + sum(extra.values()) <= 2 * unsure:
        return
    for kind, what in (("MISSED FINDING", missed), ("EXTRA FINDING", extra)):
        for finding in what:
            account.fault(f"{kind} {finding}")
