"""Small faults put into what a plan says, to see that the checks find them.

Each function takes a trial and returns its outcome with one fault, or nothing where that job gives no room for it.
"""

from __future__ import annotations

import copy
import dataclasses
import re
from collections.abc import Callable
from typing import Any

from kinds_of_jobs import Trial
from layout_limits import CODES
from paper_faults import PAPER_DAMAGES
from planned_work import PlannedWork
from shop_figures import INCH

Damage = Callable[[Trial], PlannedWork | None]

GOUGE = 0.05
"""How far a path is led into the wall, mm."""

HOLE_OFF = 0.1
"""How far a hole is moved, mm."""

ROW_HOLE_OFF = 0.01
"""The same for a hole of a row along a line, and for a height of a marking out, mm."""

_Y = re.compile(r"\bY(-?[\d.]+)")
_Z = re.compile(r"\bZ(-?[\d.]+)")


def _programs(trial: Trial) -> dict[str, str]:
    """The programs of the part, those with arcs left out: moving their ends would break the arc first of all."""
    assert trial.work is not None
    programs = trial.work.programs_of(0)
    return {name: text for name, text in programs.items() if not re.search(r"\bG[23]\b", text)}


def _mm(trial: Trial) -> float:
    return INCH if trial.job.setup.dialect.unit == "in" else 1.0


def _with_program(trial: Trial, name: str, text: str) -> PlannedWork:
    assert trial.work is not None
    return dataclasses.replace(trial.work, programs={**(trial.work.programs or {}), name: text})


def _with_plan(trial: Trial, change: Callable[[Any], None]) -> PlannedWork:
    assert trial.work is not None
    plan = copy.deepcopy(trial.work.plan)
    change(plan)
    return dataclasses.replace(trial.work, plans=(plan, *trial.work.plans[1:]))


def _blocks(text: str) -> str:
    """Return a program without its comments."""
    return re.sub(r"\([^)]*\)|;[^\n]*", "", text)


def _replaced(text: str, word: re.Pattern[str], letter: str, old: float, new: float) -> str:
    """Put one value of a word for another wherever it stands, comments aside."""

    def one(match: re.Match[str]) -> str:
        return f"{letter}{new:.5f}" if float(match[1]) == old else match[0]

    return "\n".join(word.sub(one, line) if line[:1] not in "(;" else line for line in text.split("\n"))


def gouge(trial: Trial) -> PlannedWork | None:
    """Lead the cutter a twentieth of a millimetre further where it goes furthest to the rear."""
    for name, text in _programs(trial).items():
        lines = [line for line in _blocks(text).split("\n") if re.search(r"\bG1\b", line)]
        values = [float(value) for line in lines for value in _Y.findall(line)]
        if values:
            return _with_program(trial, name, _replaced(text, _Y, "Y", max(values), max(values) + GOUGE / _mm(trial)))
    return None


def shallow_floor(trial: Trial) -> PlannedWork | None:
    """Let the last pass end a twentieth of a millimetre above the floor."""
    return _moved_floor(trial, GOUGE)


def deep_floor(trial: Trial) -> PlannedWork | None:
    """Let the last pass go a twentieth of a millimetre below the floor."""
    return _moved_floor(trial, -GOUGE)


def _moved_floor(trial: Trial, by: float) -> PlannedWork | None:
    for name, text in sorted(_programs(trial).items(), reverse=True):
        values = [float(value) for value in _Z.findall(_blocks(text))]
        if values and min(values) < 0.0:
            return _with_program(trial, name, _replaced(text, _Z, "Z", min(values), min(values) + by / _mm(trial)))
    return None


def below_hard_floor(trial: Trial) -> PlannedWork | None:
    """Lower the last pass of a step-down by as much as it lies above the hard floor, and a hundredth more."""
    assert trial.work is not None
    plan = trial.work.plan["step_downs"][0]
    room = plan["floor_z_mm"] - plan["hard_floor_z_mm"] + 0.01 + trial.job.setup.dialect.grid
    programs = trial.work.programs_of(0)
    lowest = {name: min((float(v) for v in _Z.findall(_blocks(text))), default=0.0) for name, text in programs.items()}
    if not lowest:
        return None
    name = min(lowest, key=lambda key: lowest[key])
    text = _replaced(programs[name], _Z, "Z", lowest[name], lowest[name] - room / _mm(trial))
    return _with_program(trial, name, text)


def other_unit(trial: Trial) -> PlannedWork | None:
    """Exchange G20 and G21."""
    assert trial.work is not None
    for name, text in trial.work.programs_of(0).items():
        swapped = re.sub(r"\bG2([01])\b", lambda match: "G21" if match[1] == "0" else "G20", text)
        return _with_program(trial, name, swapped)
    return None


def spindle_left_still(trial: Trial) -> PlannedWork | None:
    """Leave out M3."""
    assert trial.work is not None
    for name, text in trial.work.programs_of(0).items():
        return _with_program(trial, name, re.sub(r" M3\b", "", text))
    return None


def low_rapid(trial: Trial) -> PlannedWork | None:
    """Rise only a millimetre above the top between two places."""
    assert trial.work is not None
    safe = trial.job.setup.safe_height / _mm(trial)
    for name, text in trial.work.programs_of(0).items():
        values = [float(value) for value in _Z.findall(_blocks(text))]
        if values and abs(max(values) - safe) < 0.01:
            return _with_program(trial, name, _replaced(text, _Z, "Z", max(values), 1.0 / _mm(trial)))
    return None


def hole_off_in_program(trial: Trial) -> PlannedWork | None:
    """Move all holes that are furthest to the rear."""
    assert trial.work is not None
    for name, text in trial.work.programs_of(0).items():
        values = [float(value) for value in _Y.findall(_blocks(text))]
        if values:
            return _with_program(
                trial, name, _replaced(text, _Y, "Y", max(values), max(values) + HOLE_OFF / _mm(trial))
            )
    return None


def hole_off_in_plan(trial: Trial) -> PlannedWork | None:
    """Move one hole in the plan."""

    def change(plan: Any) -> None:
        plan["holes"][-1]["x_mm"] += HOLE_OFF

    return _with_plan(trial, change)


def row_hole_off(trial: Trial) -> PlannedWork | None:
    """Move one hole of a row along a line by a hundredth of a millimetre."""
    key = "old_holes" if trial.job.old else "holes"

    def change(plan: Any) -> None:
        plan[key][-1]["y_mm"] += ROW_HOLE_OFF

    return _with_plan(trial, change)


def row_hole_lost(trial: Trial) -> PlannedWork | None:
    """Leave the last hole of a row out."""
    key = "old_holes" if trial.job.old else "holes"
    return _with_plan(trial, lambda plan: plan[key].pop())


def height_off(trial: Trial) -> PlannedWork | None:
    """Raise one height of a marking out by a hundredth of a millimetre."""

    def change(plan: Any) -> None:
        plan["marking_out"][0]["sides"][-1]["points"][0]["from_b_mm"] += ROW_HOLE_OFF

    return _with_plan(trial, change)


def other_sense(trial: Trial) -> PlannedWork | None:
    """Let be missing what comes off at one station."""
    assert trial.work is not None
    stations = trial.work.plan["marking_out"][0]["sides"][0]["stations"]
    thick = [i for i, station in enumerate(stations) if abs(station["off_square_mm"] or 0.0) > ROW_HOLE_OFF]

    def change(plan: Any) -> None:
        plan["marking_out"][0]["sides"][0]["stations"][thick[0]]["off_square_mm"] *= -1.0

    return _with_plan(trial, change) if thick else None


def lost_area(trial: Trial) -> PlannedWork | None:
    """Take a tenth of a square millimetre from what comes off."""

    def change(plan: Any) -> None:
        plan["marking_out"][0]["remove_area_mm2"] -= 0.1

    return _with_plan(trial, change)


def missed_finding(trial: Trial) -> PlannedWork | None:
    """Take away one finding about a place."""
    assert trial.work is not None
    found = [i for i, finding in enumerate(trial.work.plan["findings"]) if finding["code"] in CODES]
    return _with_plan(trial, lambda plan: plan["findings"].pop(found[0])) if found else None


def softer_finding(trial: Trial) -> PlannedWork | None:
    """Turn a stop into a caution."""
    assert trial.work is not None
    stops = [i for i, f in enumerate(trial.work.plan["findings"]) if f["code"] in CODES and f["severity"] == "stop"]

    def change(plan: Any) -> None:
        plan["findings"][stops[0]]["severity"] = "caution"

    return _with_plan(trial, change) if stops else None


def wrong_cell(trial: Trial) -> PlannedWork | None:
    """Change the last digit of a coordinate in the table."""
    assert trial.work is not None
    head, row, *rest = trial.work.coordinates[0].splitlines()
    cells = row.split(",")
    cells[3] = cells[3][:-1] + str((int(cells[3][-1]) + 5) % 10)
    return dataclasses.replace(trial.work, coordinates=("\n".join([head, ",".join(cells), *rest]),))


def bold_hard_floor(trial: Trial) -> PlannedWork | None:
    """Lower the hard floor of the plan by its whole doubt."""

    def change(plan: Any) -> None:
        step_down = plan["step_downs"][0]
        step_down["hard_floor_z_mm"] = step_down["sheet_z_mm"]

    return _with_plan(trial, change)


def kinder_share(trial: Trial) -> PlannedWork | None:
    """Say that the tightest screw uses a hundredth less of its play."""

    def change(plan: Any) -> None:
        plan["mates"][0]["worst_share_of_play"] *= 0.99

    return _with_plan(trial, change)


def bolder_bound(trial: Trial) -> PlannedWork | None:
    """Raise the proved bound above what can be reached."""

    def change(plan: Any) -> None:
        plan["mates"][0]["proved_lower_bound"] += 1e-3

    return _with_plan(trial, change)


def smoother_residual(trial: Trial) -> PlannedWork | None:
    """Make the largest residual of a chain a hundredth smaller."""
    assert trial.work is not None
    if trial.work.plan["chains"][0]["redundancy"] == 0:
        return None

    def change(plan: Any) -> None:
        worst = max(plan["chains"][0]["readings"], key=lambda reading: abs(reading["normalised_residual"]))
        worst["normalised_residual"] = worst["normalised_residual"] * 0.99 - 1e-4

    return _with_plan(trial, change)


DAMAGES: tuple[tuple[str, Damage, str], ...] = (
    ("holes", hole_off_in_program, "HOLE OFF"),
    ("holes", other_unit, "UNIT"),
    ("holes", spindle_left_still, "SPINDLE"),
    ("slots", gouge, "GOUGE"),
    ("slots", deep_floor, "BELOW FLOOR"),
    ("slots", shallow_floor, "FLOOR NOT REACHED"),
    ("slots", low_rapid, "LOW"),
    ("slots", other_unit, "UNIT"),
    ("pockets", gouge, "GOUGE"),
    ("pockets", deep_floor, "BELOW FLOOR"),
    ("pockets", shallow_floor, "FLOOR NOT REACHED"),
    ("step-downs", below_hard_floor, "BELOW HARD FLOOR"),
    ("step-downs", bold_hard_floor, "HARD FLOOR"),
    ("step-downs", other_unit, "UNIT"),
    ("layouts", hole_off_in_plan, "HOLE OFF"),
    ("layouts", missed_finding, "MISSED FINDING"),
    ("layouts", softer_finding, "MISSED FINDING"),
    ("layouts", wrong_cell, "ROUNDING"),
    ("bolt-ups", kinder_share, "SHARE NOT FOUND"),
    ("bolt-ups", bolder_bound, "BOUND"),
    ("chains", smoother_residual, "RESIDUAL"),
    ("marking", height_off, "HEIGHT"),
    ("marking", other_sense, "COMES OFF"),
    ("marking", lost_area, "AREA"),
    ("along", row_hole_off, "HOLE OFF"),
    ("along", row_hole_lost, "COUNT"),
    *PAPER_DAMAGES,
)
"""Kind of job, what is damaged, and how the fault that has to be told begins."""
