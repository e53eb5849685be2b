"""Print what the check of a program found, and a short account of what the program does."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

from holecam.lengths import Unit, number_in
from holecam.plan.finding import Severity
from holecam.program import CheckResult, ProgramAccount, ProgramFinding
from holecam.program.program_findings import place_text


def result_lines(name: str, result: CheckResult, unit: Unit) -> list[str]:
    """Return verdict, account and findings, one line each."""
    lines = [verdict(name, result), "", *account_lines(result.account, unit)]
    if result.findings:
        lines += ["", *(finding.text(unit) for finding in result.findings)]
    return [*lines, "", "The first run is made above the work, at reduced feed, with a hand on the stop."]


def verdict(name: str, result: CheckResult) -> str:
    """Return one line: passed or not, and how many findings of each kind."""
    count = Counter(f.severity for f in result.findings)
    told = ", ".join(
        f"{count[s]} {s.value}{'s' if count[s] != 1 else ''}" for s in (Severity.STOP, Severity.CAUTION, Severity.NOTE)
    )
    return f"{name}: {'passed' if result.passed else 'NOT passed'} ({told})"


def account_lines(account: ProgramAccount, unit: Unit) -> list[str]:
    """Return the account, a fact a line, lengths in the unit."""

    def length(value: float, *, signed: bool = True) -> str:
        return number_in(value, unit, signed=signed) if math.isfinite(value) else "?"

    units = {"in": "inches", "mm": "millimetres", None: "units not stated"}[account.units]
    rows = [("read", f"{account.line_count} lines, {account.move_count} moves, {units}")]
    if account.least is not None and account.greatest is not None:
        ranges = (
            f"{axis} {length(low)} to {length(high)}"
            for axis, low, high in zip("XYZ", account.least, account.greatest, strict=True)
        )
        rows.append(("box", f"{', '.join(ranges)} {unit}"))
    if account.deepest is not None:
        rows.append(("deepest", f"{place_text(account.deepest, unit)}, line {account.deepest_line}"))
    rows.append(("at feed", f"{length(account.cutting, signed=False)} {unit}, {minutes(account.cutting_minutes)}"))
    dwell = f"; dwells {account.dwell_seconds:g} s" if account.dwell_seconds else ""
    rows.append(("by rapid", f"{length(account.rapid, signed=False)} {unit}, time not counted{dwell}"))
    for number, tool in enumerate(account.tools):
        speed = f"{tool.slowest_rpm:.0f}" + (
            f" to {tool.fastest_rpm:.0f}" if tool.fastest_rpm != tool.slowest_rpm else ""
        )
        deepest = f", deepest Z {length(tool.deepest)}" if tool.deepest is not None else ""
        name = f"T{tool.number} {tool.name}".rstrip() if tool.number else "no tool taken"
        text = f"{name}: {length(tool.cutting, signed=False)} {unit} at feed, {minutes(tool.minutes)}"
        rows.append(("tools" if number == 0 else "", f"{text}, {speed} rpm{deepest}"))
    for number, stop in enumerate(account.stops):
        kind = "optional stop" if stop.optional else "stop"
        rows.append(
            ("stops" if number == 0 else "", f"line {stop.line}: {kind}{f', {stop.text}' if stop.text else ''}")
        )
    return [f"{label:<10}{text}" for label, text in rows]


def minutes(value: float) -> str:
    """Return a time as minutes and seconds.

    >>> minutes(1.508)
    '1 min 30 s'
    """
    seconds = round(value * 60)
    return f"{seconds // 60} min {seconds % 60} s" if seconds >= 60 else f"{seconds} s"


def result_facts(name: str, result: CheckResult) -> dict[str, Any]:
    """Return everything for JSON, lengths in mm under keys that end in ``_mm``; unknown coordinates are null."""
    account = result.account
    return {
        "program": name,
        "passed": result.passed,
        "account": {
            "units": account.units,
            "lines": account.line_count,
            "moves": account.move_count,
            "least_mm": _place(account.least),
            "greatest_mm": _place(account.greatest),
            "deepest_mm": _place(account.deepest),
            "deepest_line": account.deepest_line or None,
            "cutting_mm": _rounded(account.cutting),
            "rapid_mm": _rounded(account.rapid),
            "cutting_minutes": account.cutting_minutes,
            "dwell_seconds": account.dwell_seconds,
            "tools": [
                {
                    "number": t.number,
                    "name": t.name,
                    "cutting_mm": _rounded(t.cutting),
                    "minutes": t.minutes,
                    "slowest_rpm": t.slowest_rpm,
                    "fastest_rpm": t.fastest_rpm,
                    "deepest_z_mm": _rounded(t.deepest),
                }
                for t in account.tools
            ],
            "stops": [{"line": s.line, "text": s.text, "optional": s.optional} for s in account.stops],
        },
        "findings": [_finding(f) for f in result.findings],
    }


def _place(place: tuple[float, float, float] | None) -> list[float | None] | None:
    return None if place is None else [_rounded(v) for v in place]


def _rounded(value: float | None) -> float | None:
    """Return a number without the noise of its arithmetic: a millionth of a millimetre is enough for anybody."""
    return None if value is None or not math.isfinite(value) else round(value, 6)


def _finding(finding: ProgramFinding) -> dict[str, Any]:
    unit = "" if finding.quantity_unit == "1" else "_" + finding.quantity_unit.replace("/", "_per_")
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "line": finding.line or None,
        "place_mm": _place(finding.place),
        "message": finding.message,
        f"measured{unit}": _rounded(finding.measured),
        f"limit{unit}": _rounded(finding.limit),
        "rule": finding.rule,
        "remedy": finding.remedy,
    }
