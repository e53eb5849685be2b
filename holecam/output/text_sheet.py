"""The sheet for any printer: plain text, 80 columns, everything that is needed at the machine and nothing else."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from holecam.lengths import length_text, number_in
from holecam.output.chain_table import chain_table
from holecam.output.finding_groups import alike, told
from holecam.output.head_words import head_words, place_words
from holecam.output.marking_table import marking_table
from holecam.output.milled_table import milled_lines
from holecam.output.plain_words import plain
from holecam.output.readings import reading, row_readings, stop_figure
from holecam.output.step_down_table import step_down_table
from holecam.plan.plan import Plan
from holecam.plan.work import Operation, Stop

WIDTH = 80
"""Columns: ten characters an inch on Letter or A4 with margins."""

GROUP = 5
"""A blank line after this many rows keeps the eye in its row."""


def text_sheet(plan: Plan) -> str:
    """Return ``sheet.txt``, ending in a newline, without any control character but line ends."""
    lines: list[str] = []
    lines += _head(plan)
    lines += _findings(plan)
    lines += _section("CAUTIONS", (f"- {c.text}" for c in plan.cautions))
    lines += _tools(plan)
    lines += _places(plan)
    for operation in plan.operations:
        lines += _operation(plan, operation)
    lines += _checks(plan)
    for report in plan.step_downs:
        lines += ["", "", *step_down_table(report, plan.unit).splitlines()]
    for cut in plan.cuts:
        lines += ["", "", *(line for text in milled_lines(cut, plan.unit) for line in _wrap(text, hang="  "))]
    for chain in plan.chains:
        lines += ["", "", *chain_table(chain, plan.unit).splitlines()]
    for marking in plan.markings:
        lines += ["", "", *marking_table(marking, plan.unit).splitlines()]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _wrap(text: str, *, indent: str = "", hang: str = "") -> list[str]:
    return textwrap.wrap(plain(text), WIDTH, initial_indent=indent, subsequent_indent=indent + hang) or [""]


def _section(title: str, items: Iterable[str]) -> list[str]:
    body = [line for item in items for line in _wrap(item, hang="  ")]
    return ["", title, "-" * len(title), *body] if body else []


def _head(plan: Plan) -> list[str]:
    part = plan.part
    lines = ["=" * WIDTH, *_wrap(plan.title.upper())]
    if plan.revision or plan.date:
        lines += _wrap("  ".join(t for t in (f"revision {plan.revision}" if plan.revision else "", plan.date) if t))
    lines.append("=" * WIDTH)
    if part.hand:
        lines += _wrap(f"HAND: {part.hand}")
    lines += [line for key, words in head_words(plan) for line in _wrap(f"{key.upper()}: {words}", hang="  ")]
    lines += [
        "",
        "Zero set by ______________ at ______",
        "Datum in machine coordinates: X ______________ Y ______________",
        "Temperature ______   checked by ______________",
        f"Job {plan.fingerprint}",
    ]
    return lines


def _findings(plan: Plan) -> list[str]:
    texts = [f"{group[0].severity.upper()} {group[0].code}: {told(group)}" for group in alike(plan.findings)]
    return _section("WHAT THE CHECKS SAY", texts)


def _tools(plan: Plan) -> list[str]:
    rows = []
    for tool in plan.tools:
        size = length_text(tool.diameter, plan.unit)
        rows.append(f"T{tool.number:<3} {plain(tool.name)}, {size}; measured ________ stick-out ______")
    return _section("TOOLS, IN THE ORDER OF THEIR USE", rows)


def _places(plan: Plan) -> list[str]:
    return _section("HOW THE PLACES WERE FOUND", place_words(plan))


def _operation(plan: Plan, operation: Operation) -> list[str]:
    title = f"{operation.number}. {operation.title}"
    lines = ["", "", *_wrap(title.upper()), "-" * WIDTH]
    if operation.tool:
        tool = plan.tool(operation.tool)
        speed = f", {operation.spindle_rpm:.0f} turns a minute" if operation.spindle_rpm else ""
        feed = ""
        if operation.feed:
            feed = f", feed {number_in(operation.feed, plan.unit, decimals=1)} {plan.unit} a minute"
        start = " (starting points)" if speed else ""
        lines += _wrap(f"Tool T{tool.number} {tool.name}{speed}{feed}{start}", hang="  ")
    if operation.z_zero:
        lines += _wrap(f"Z 0: {operation.z_zero}")
    if operation.program:
        lines += _wrap(f"Program: {operation.program}")
    if operation.withheld:
        lines += _wrap(f"NO PROGRAM: {operation.withheld}", hang="  ")
    lines += [line for text in operation.instructions for line in _wrap(f"[ ] {text}", hang="    ")]
    lines += _rows(plan, operation)
    if operation.pauses_here:
        lines += ["", "It is safe to stop for the day here."]
    return lines


def _rows(plan: Plan, operation: Operation) -> list[str]:
    lines: list[str] = []
    by_row: dict[int, list[Stop]] = {}
    for stop in operation.stops:
        by_row.setdefault(stop.after_row, []).append(stop)
    for stop in by_row.get(0, ()):
        lines += _stop(plan, stop)
    heights = any(row.z is not None for row in operation.rows)
    if operation.rows:
        unit = plan.machine.readout.unit
        heads = f"{'X ' + unit:>11} {'Y ' + unit:>11}   {'step X':>10} {'step Y':>10}"
        lines += ["", f"    {operation.row_word:<6} {heads}{' tip Z'.rjust(10) if heights else ''}  done"]
    for shown in row_readings(plan, operation.rows):
        row = shown.row
        name = "back to" if row.closing else ""
        who = f"{name} {row.hole}".strip() if row.hole is not None else plain(row.label)[:9]
        z = f" {shown.z.text() if shown.z else '':>9}" if heights else ""
        lines.append(
            f"{row.number:>3} {who:<9} {shown.x.text():>9} {shown.y.text():>11}   {shown.step_x.text():>10} "
            f"{shown.step_y.text():>10}{z}  [ ]"
        )
        if shown.dial_x is not None and shown.dial_y is not None:
            lines.append(f"        X {shown.dial_x.text()};  Y {shown.dial_y.text()}")
        if shown.to_x is not None and shown.to_y is not None:
            lines.append(f"    {'to':<9} {shown.to_x.text():>9} {shown.to_y.text():>11}")
        if shown.to_dial_x is not None and shown.to_dial_y is not None:
            lines.append(f"        X {shown.to_dial_x.text()};  Y {shown.to_dial_y.text()}")
        if row.overshoot.words:
            lines += _wrap(row.overshoot.words, indent="        ")
        if row.note:
            lines += _wrap(row.note, indent="        ")
        for stop in by_row.get(row.number, ()):
            lines += _stop(plan, stop)
        if row.number % GROUP == 0:
            lines.append("")
    return lines


def _stop(plan: Plan, stop: Stop) -> list[str]:
    lines = ["", *_wrap(f"STOP: {stop.title}", hang="  ")]
    lines += _wrap(f"look or measure: {stop.look_for}", indent="  ", hang="  ")
    lines += _wrap(f"expect: {stop.expect}", indent="  ", hang="  ")
    if stop.expected is not None:
        lines += _wrap(f"figure: {stop_figure(plan, stop)}   found ____________", indent="  ")
    else:
        lines.append("  found ____________________________________________")
    lines += _wrap(f"if not: {stop.if_not}", indent="  ", hang="  ") if stop.if_not else []
    lines += [line for s in stop.settings for line in _wrap(f"next: {s.words}  ____________", indent="  ", hang="  ")]
    return [*lines, ""]


def _checks(plan: Plan) -> list[str]:
    rows = []
    for check in plan.checks:
        figure = reading(plan, check.expected).text(signed=False)
        rows.append(f"[ ] {check.words}: {figure} {plan.machine.readout.unit}   measured ____________")
    return _section("MEASURE WITH A CALLIPER, NOT BY THE MACHINE", rows)
