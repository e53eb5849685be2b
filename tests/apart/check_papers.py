"""Papers: does every one of them say the figures of the plan, as the readout shows them, of the right hand?

The plan itself is held against the job: every hole, on the part and on the table, within 2e-6 and 3e-6 mm, of the part
and of its mirror image. Then each figure of ``sheet.txt``, ``sheet.pdf`` (read by pdftotext of poppler), ``sheet.html``
and ``coordinates.csv`` is written again and has to be the same to the last digit: positions, moves, dials, the whole
turns that pass, ends of passes, heights, how far a position is passed by and from which side; step of the readout,
zero, turn of the part, sizes of tools, depth stops, figures at stops, distances for the calliper. ``layout.dxf`` (read
by ezdxf) and ``template.pdf`` (read by pypdf) are held in :mod:`paper_drawings`.

Not covered: pictures; what the page's script makes of its facts (they are compared); tables of cuts and of places;
words of findings and cautions; the order of holes.
"""

from __future__ import annotations

import csv
import json
import math
import re
from fractions import Fraction
from typing import Any

import numpy as np
from account import Account
from layout_model import Points, placed
from paper_drawings import check_layout_drawing, check_template
from paper_figures import decimals_of, dialled, length, marks, move, reading, turns_passed
from paper_jobs import UNIT_MM, PaperJob
from paper_texts import PaperRow, Sheet, read_page, read_pdf_sheet, read_text_sheet
from planned_work import Plan, PlannedWork
from shapely.geometry import Point

IN_PART, ON_TABLE = 2e-6, 3e-6
"""How closely places in the plan are held, mm."""

LEAST_MOVE = 1e-3
"""Moves of an axis below this need no turn of its handle: the step of the finest readout, mm."""

GRID = 10**9
"""The page's script counts in steps of 1e-9 mm."""


def check_paper_job(job: PaperJob, work: PlannedWork, account: Account) -> None:
    """Hold the papers of a planned job, of the part and of its other hand."""
    account.hold(f"PLANS {len(work.plans)}", len(work.plans) == len(job.hands))
    papers = work.papers or {}
    for hand in range(len(work.plans)):
        own = {name.removeprefix("other-hand-"): data for name, data in papers.items()
               if name.startswith("other-hand-") == bool(hand)}  # fmt: skip
        _check_hand(job, hand, work, own, account)


def _check_hand(job: PaperJob, hand: int, work: PlannedWork, papers: dict[str, bytes], account: Account) -> None:
    plan = work.plans[hand]
    there = _check_places(job, hand, work, account)
    if there is None:
        return
    account.hold("PLAN plan.json differs", json.loads(papers["plan.json"]) == plan)
    page, facts = read_page(papers["sheet.html"].decode("utf-8"))
    sheets = {
        "sheet.txt": read_text_sheet(papers["sheet.txt"].decode("utf-8")),
        "sheet.pdf": read_pdf_sheet(papers["sheet.pdf"]),
        "sheet.html": page,
    }
    for name, sheet in sheets.items():
        _check_head(job, hand, name, sheet, plan, account)
        _check_words(job, name, sheet, plan, account)
        for operation in plan["operations"]:
            _check_rows(job, hand, name, sheet.rows.get(operation["number"], []), operation, account)
    _check_stops(job, hand, plan, there, account)
    _check_facts(job, hand, facts, plan, account)
    _check_table(job, papers["coordinates.csv"].decode("utf-8"), plan, account)
    check_layout_drawing(job, hand, papers["layout.dxf"].decode("utf-8"), plan, account)
    check_template(job, hand, papers["template.pdf"], plan, account)


def _on_table(job: PaperJob, hand: int, points: Points) -> Points:
    """Return what the readout shows: only the part as given was touched, its other hand lies square."""
    return points if hand else job.on_table(np.asarray(points, dtype=np.float64).reshape(-1, 2))


def _check_places(job: PaperJob, hand: int, work: PlannedWork, account: Account) -> Points | None:
    """Hold the holes of the plan against the job; return them in the part.

    A pattern may have been moved on the part as given; the other hand is the mirror image of what came of that.
    """
    plan = work.plans[hand]
    places = {place["pattern"]: place for place in work.plan["places"]}
    wanted = []
    for pattern in job.patterns:
        where = placed(pattern.points, pattern.place)
        moved = np.array(places[pattern.name]["chosen_mm"]) - np.array(places[pattern.name]["wanted_mm"])
        account.hold(
            f"MOVED {pattern.name} by {moved}", pattern.when_blocked != "stop" or float(np.abs(moved).max()) < 1e-9
        )
        wanted.append(job.of_hand(where + moved, hand))
    there = np.vstack(wanted)
    holes = plan["holes"]
    if not account.hold(f"COUNT {len(holes)} holes", len(holes) == len(there)):
        return None
    for hole, xy, reads in zip(holes, there, _on_table(job, hand, there), strict=True):
        off = max(abs(hole["x_mm"] - xy[0]), abs(hole["y_mm"] - xy[1]))
        account.hold(f"HOLE OFF: {hole['number']} in the part by {off:.7f} mm", off <= IN_PART)
        off = max(abs(hole["readout_x_mm"] - reads[0]), abs(hole["readout_y_mm"] - reads[1]))
        account.hold(f"HOLE OFF: {hole['number']} on the table by {off:.7f} mm", off <= ON_TABLE)
    return there


def _check_head(job: PaperJob, hand: int, name: str, sheet: Sheet, plan: Plan, account: Account) -> None:
    """Hold unit, step, zero, lie, approach, sizes."""
    unit = job.unit
    step = reading(float(job.step), job.step, unit, signed=False)
    origin, along = _on_table(job, hand, np.array([(0.0, 0.0), (1.0, 0.0)]))
    datum = job.datums[hand]
    reads = [reading(v, job.step, unit) for v in origin]
    turn = math.degrees(math.atan2(along[1] - origin[1], along[0] - origin[0]))
    skewed = bool(np.abs(np.concatenate([origin, [turn]])).max() > 1e-12)
    zero = f"X 0 Y 0 is the {datum}."
    if skewed and any(Fraction(text) for text in reads):
        zero = f"Over the {datum} stands X {reads[0]} {unit}, Y {reads[1]} {unit}."
    senses = ["-+"[sense > 0] for sense in job.approach]
    backlash = f"; backlash {length(job.backlash, unit)}" if job.backlash else "."
    hand_words = f"HAND: {job.hands[hand]}" if name != "sheet.html" else f"HAND {job.hands[hand]}"
    told = [
        f"All lengths in {'INCHES' if unit == 'in' else 'MILLIMETRES'}.",
        f"step of {step} {unit}; steps are",
        zero,
        f"Turn of the part {turn:+.4f} degrees" if skewed else "the part lies square to the table",
        f"going {senses[0]}X and {senses[1]}Y{backlash}",
        f"{length(job.part.thickness, unit)} thick",
        hand_words,
        *(f"T{tool['number']} {tool['name']}, {length(tool['diameter_mm'], unit)};" for tool in plan["tools"]),
    ]
    for words in told:
        account.hold(f"HEAD {name} does not say: {words}", sheet.says(words))
    safe = length(job.safe_height, unit)
    account.hold(f"HEAD {name}: safe height {safe}", sheet.says(f"Safe height: {safe}") or sheet.says(f"height {safe}"))
    for other in set(job.hands) - {job.hands[hand]}:
        account.hold(f"HAND {name} speaks of the other one", not sheet.says(other))


def _check_words(job: PaperJob, name: str, sheet: Sheet, plan: Plan, account: Account) -> None:
    """Hold what to do, the figures at stops and those for the calliper, with speeds and feeds."""
    unit = job.unit
    for operation in plan["operations"]:
        for words in operation["instructions"]:
            account.hold(f"INSTRUCTION {name} does not say: {words}", sheet.says(words))
        speed = f"{operation['spindle_rpm']:.0f} turns a minute" if operation["spindle_rpm"] else ""
        feed = ""
        if operation["feed_mm_per_minute"]:
            decimals = 1 if unit == "in" or name == "sheet.txt" else 0
            step = UNIT_MM[unit] / 10**decimals
            feed = f"feed {reading(operation['feed_mm_per_minute'], step, unit, signed=False)} {unit} a minute"
        tool = next((tool for tool in plan["tools"] if tool["number"] == operation["tool"]), None)
        if tool and (speed or feed):
            words = ", ".join(text for text in (f"T{tool['number']} {tool['name']}", speed, feed) if text)
            account.hold(f"SPEED {name} does not say: {words}", sheet.says(words))
        for stop in operation["stops"]:
            if stop["expected_mm"] is not None:
                figure = _stop_figure(job, stop)
                within = f" within {length(stop['tolerance_mm'], unit)}" if stop["tolerance_mm"] is not None else ""
                account.hold(f"STOP {name} {figure}", sheet.says(f"Figure: {figure}{within}"))
            for words in (stop["title"], stop["look_for"], stop["expect"]):
                account.hold(f"STOP {name} does not say: {words}", sheet.says(words))
    for check in plan["checks"]:
        figure = reading(check["expected_mm"], job.step, unit, signed=False)
        words = f"{check['words']}: {figure} {unit}"
        account.hold(f"CALLIPER {name} does not say: {words}", sheet.says(words))


def _is_reading(stop: Plan) -> bool:
    return any(setting["kind"].startswith("move") for setting in stop["settings"])


def _stop_figure(job: PaperJob, stop: Plan) -> str:
    if _is_reading(stop):
        return f"{reading(stop['expected_mm'], job.step, job.unit)} {job.unit}"
    return length(stop["expected_mm"], job.unit)


def _check_rows(job: PaperJob, hand: int, name: str, rows: list[PaperRow], operation: Plan, account: Account) -> None:
    """Write each row of the plan again and hold what a paper says of it."""
    wanted, where = operation["rows"], f"{name} operation {operation['number']}"
    if not account.hold(f"ROWS {where}: {len(rows)} for {len(wanted)}", len(rows) == len(wanted)):
        return
    before: tuple[float, float] | None = None
    for row, plan_row in zip(rows, wanted, strict=True):
        place = f"{where} row {plan_row['number']}"
        at = (plan_row["readout_x_mm"], plan_row["readout_y_mm"])
        wanted_name = str(plan_row["hole"]) if plan_row["hole"] is not None else plan_row["label"]
        if plan_row["closing"]:
            wanted_name = f"back to {plan_row['hole']}"
        account.hold(f"ROW {place}: number {row.number}", row.number == plan_row["number"])
        names = (wanted_name, wanted_name[:9])
        account.hold(f"ROW {place}: {row.name}, not {wanted_name}", row.name in names or not plan_row["hole"])
        last = before or (0.0, 0.0)
        computed = [reading(v, job.step, job.unit) for v in at]
        computed += [move(a, b, job.step, job.unit) for a, b in zip(last, at, strict=True)]
        z = "" if plan_row["z_mm"] is None else reading(plan_row["z_mm"], job.step, job.unit)
        for said, right in zip((row.x, row.y, row.step_x, row.step_y, row.z), (*computed, z), strict=True):
            account.hold(f"FIGURE {place}: {said}, computed {right}", said == right)
        end = None
        if plan_row["to_mm"] is not None:
            end = tuple(float(v) for v in _on_table(job, hand, np.array([plan_row["to_mm"]]))[0])
            right_end = tuple(reading(v, job.step, job.unit) for v in end)
            account.hold(f"FIGURE {place}: to {row.to}, computed {right_end}", row.to == right_end)
        if job.dials:
            _check_dials(job, name, place, row, (before, at, end), account)
        if plan_row["hole"] is not None:
            _check_approach(job, place, row, before, at, operation, account)
        before = (end[0], end[1]) if end else at


def _check_dials(
    job: PaperJob, name: str, place: str, row: PaperRow, ways: tuple[Any, Any, Any], account: Account
) -> None:
    assert job.dials is not None
    before, at, end = ways
    wanted = [(False, before, at)] + ([(True, at, end)] if end else [])
    if not account.hold(f"DIALS {place}: {len(row.dials)}", len(row.dials) == 2 * len(wanted)):
        return
    said = {(dial.end, dial.axis): dial for dial in row.dials}
    for is_end, start, goal in wanted:
        for axis, dial in zip((0, 1), job.dials, strict=True):
            told = said[(is_end, "XY"[axis])]
            from_marks = marks(start[axis], dial) if start else 0
            to_marks = marks(goal[axis], dial)
            right = dialled(to_marks, dial)
            got = (told.sign, told.turns, told.marks, told.shows)
            account.hold(f"DIAL {place} {told.axis}: {got}, computed {right}", got == right)
            if name != "sheet.txt":
                passed = turns_passed(from_marks, to_marks, dial)
                account.hold(f"TURNS {place} {told.axis}: {told.counts}, computed {passed}", told.counts == passed)


def _check_approach(
    job: PaperJob, place: str, row: PaperRow, before: Any, at: Any, operation: Plan, account: Account
) -> None:
    """Hold that an axis is passed by where its last turn would otherwise be in the wrong sense, and only there."""
    by_hand = operation["kind"] in ("tap", "deburr") or "cnc" in job.text
    for axis, name in enumerate("XY"):
        sense = job.approach[axis]
        moved = (at[axis] - before[axis]) * sense if before else -math.inf
        needed = moved < -LEAST_MOVE and not by_hand
        unsure = abs(moved) <= 2 * LEAST_MOVE
        account.hold(f"APPROACH {place} {name}: {row.past.get(name)}", unsure or (name in row.past) == needed)
        if name in row.past:
            far, unit, toward, back = row.past[name]
            senses = ("-+"[sense < 0], "-+"[sense > 0])
            account.hold(f"APPROACH {place} {name}: {toward}, {back}", (toward, back) == senses)
            enough = Fraction(far) * UNIT_MM[unit] >= job.backlash - 0.001
            account.hold(f"APPROACH {place} {name}: {far} {unit} past it", enough and unit == job.unit)


def _check_stops(job: PaperJob, hand: int, plan: Plan, there: Points, account: Account) -> None:
    """Hold the figures that the plan asks to measure against the places computed apart."""
    reads = _on_table(job, hand, there)
    for operation in plan["operations"]:
        for stop in operation["stops"]:
            if pair := re.fullmatch(r"spots (\d+) and (\d+)", stop["title"]):
                one, two = (there[int(n) - 1] for n in pair.groups())
                account.near(f"STOP {stop['title']}", stop["expected_mm"], math.dist(one, two), within=2 * IN_PART)
            elif single := re.fullmatch(r"spot (\d+) along ([XY])", stop["title"]):
                right = reads[int(single[1]) - 1]["XY".index(single[2])]
                account.near(f"STOP {stop['title']}", stop["expected_mm"], right, within=ON_TABLE)
        for words in operation["instructions"]:
            if found := re.search(r"Go to hole (\d+).* \(X (\S+) (in|mm), Y (\S+) (in|mm)\)", words):
                exact = plan["holes"][int(found[1]) - 1]
                right_words = [reading(exact[key], job.step, job.unit) for key in ("readout_x_mm", "readout_y_mm")]
                said = [found[2], found[4]]
                account.hold(f"GO TO {said}, computed {right_words}", said == right_words and found[3] == job.unit)
            elif found := re.search(r"tip (\S+) (in|mm) below the face for every hole", words):
                tips = _tips(operation, plan)
                right_tips = {reading(tip, job.step, job.unit, signed=False) for tip in tips}
                account.hold(f"DEPTH STOP {found[1]}, computed {right_tips}", {found[1]} == right_tips)
        rows = [row for row in operation["rows"] if row["hole"] is not None and row["z_mm"] is not None]
        if rows:
            depths = {-row["z_mm"] for row in rows}
            account.hold(f"DEPTH of rows {depths}, computed {_tips(operation, plan)}", depths == _tips(operation, plan))
    doubt = 2 * IN_PART + job.part.shape_doubt
    for check in plan["checks"]:
        ends = [there[n - 1] for n in check["holes"]]
        edge = job.shape_of_hand(job.part.outline, hand).boundary
        right = math.dist(*ends) if len(ends) == 2 else edge.distance(Point(ends[0]))
        account.near(f"CALLIPER {check['words']}", check["expected_mm"], right, within=doubt)


def _tips(operation: Plan, plan: Plan) -> set[float]:
    """Return how deep the tool of an operation goes at the holes of its rows."""
    visited = {row["hole"] for row in operation["rows"]}
    holes = [hole for hole in plan["holes"] if hole["number"] in visited]
    kinds = (operation["kind"], "tap drill" if operation["kind"] == "drill" else "", "pilot")
    return {
        s["tip_depth_mm"] for h in holes for s in h["steps"] if s["tool"] == operation["tool"] and s["kind"] in kinds
    }


def _check_facts(job: PaperJob, hand: int, facts: dict[str, Any], plan: Plan, account: Account) -> None:
    """Hold what the page's script computes with: every position in steps of 1e-9 mm, units, steps, screws."""
    account.hold("FACTS unit", facts["unit"] == job.unit and facts["hand"] == job.hands[hand])
    for unit, told in facts["units"].items():
        step = Fraction(told["step"], GRID)
        account.hold(f"FACTS one {unit}", Fraction(told["one"], GRID) == UNIT_MM[unit])
        account.hold(f"FACTS decimals {unit}", told["decimals"] == decimals_of(step / UNIT_MM[unit]))
        fine = step == job.step if unit == job.unit else job.step / Fraction(5, 2) <= step <= job.step
        account.hold(f"FACTS step of {float(step)} mm in {unit}", fine)
    dials = facts["dial"]
    account.hold("FACTS dials", (dials is None) == (job.dials is None))
    if dials and job.dials:
        for told, dial in zip((dials["x"], dials["y"]), job.dials, strict=True):
            lead = Fraction(int(told["top"]), int(told["bottom"])) / GRID
            account.hold(f"FACTS dial {told}", lead == dial.lead and told["marks"] == dial.marks)
    for told, operation in zip(facts["operations"], plan["operations"], strict=True):
        for row, plan_row in zip(told["rows"], operation["rows"], strict=True):
            keys = ("readout_x_mm", "readout_y_mm", "x_mm", "y_mm")
            right: list[Any] = [plan_row["number"], plan_row["hole"] or 0]
            right += [round(Fraction(plan_row[key]) * GRID) for key in keys]
            z = plan_row["z_mm"]
            right += [None if z is None else round(Fraction(z) * GRID), int(plan_row["closing"])]
            said = [*row[:2], *row[3:8], row[10]]
            account.hold(f"FACTS row {said}, computed {right}", said == right)
            if plan_row["to_mm"]:
                ends = [*_on_table(job, hand, np.array([plan_row["to_mm"]]))[0], *plan_row["to_mm"]]
                off = max(abs(a / GRID - b) for a, b in zip(row[11:15], ends, strict=True))
                account.hold(f"FACTS end of a pass off by {off}", off <= ON_TABLE)
        for stop, plan_stop in zip(told["stops"], operation["stops"], strict=True):
            expected = plan_stop["expected_mm"]
            right_stop = None if expected is None else round(Fraction(expected) * GRID)
            account.hold(f"FACTS stop {stop['expected']}, computed {right_stop}", stop["expected"] == right_stop)
            account.hold("FACTS stop is a reading", stop["reading"] == _is_reading(plan_stop))


def _check_table(job: PaperJob, text: str, plan: Plan, account: Account) -> None:
    """Write each cell of ``coordinates.csv`` again."""
    rows = list(csv.DictReader(text.splitlines()))
    account.hold(f"TABLE has {len(rows)} rows", len(rows) == len(plan["holes"]))
    unit, before = job.unit, (0.0, 0.0)
    names = {tool["number"]: tool["name"] for tool in plan["tools"]}
    for row, hole in zip(rows, plan["holes"], strict=False):
        at = (hole["readout_x_mm"], hole["readout_y_mm"])
        drills = [step for step in hole["steps"] if step["kind"] in ("drill", "tap drill")]
        right = {
            "hole": str(hole["number"]),
            "pattern": hole["pattern"],
            "number in pattern": str(hole["number_in_pattern"]),
            f"part x {unit}": reading(hole["x_mm"], job.step, unit),
            f"part y {unit}": reading(hole["y_mm"], job.step, unit),
            f"readout x {unit}": reading(at[0], job.step, unit),
            f"readout y {unit}": reading(at[1], job.step, unit),
            f"step x {unit}": move(before[0], at[0], job.step, unit),
            f"step y {unit}": move(before[1], at[1], job.step, unit),
            "purpose": hole["purpose"],
            "drill": names[drills[-1]["tool"]] if drills else "",
            f"tip depth {unit}": reading(drills[-1]["tip_depth_mm"], job.step, unit, signed=False) if drills else "",
            "program": "withheld" if hole["withheld"] else "written",
        }
        before = at
        for key, value in right.items():
            said = row.get(key)
            account.hold(f"TABLE {hole['number']} {key}: {said}, computed {value}", said == value.lstrip("+"))
