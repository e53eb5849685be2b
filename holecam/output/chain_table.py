"""A measured chain of sizes as text for the terminal and the sheet, and as JSON."""

from __future__ import annotations

from typing import Any

from holecam.lengths import Unit, decimal_text, exact, length_text, number_in
from holecam.lengths.chances import chance_text
from holecam.output.plain_words import plain
from holecam.output.terminal_table import columns
from holecam.plan.chain import ChainReading, ChainReport


def chain_table(report: ChainReport, unit: Unit) -> str:
    """Return sections and readings of a chain, the two verdicts, and the shift that follows."""
    sections = [
        [
            plain(s.name),
            number_in(s.drawn, unit),
            "?" if s.found is None else number_in(s.found, unit),
            "?" if s.doubt is None else number_in(s.doubt, unit),
            "?" if s.correction is None else number_in(s.correction, unit, signed=True),
            "carries the error" if s.named else "",
        ]
        for s in report.sections
    ]
    readings = [_reading(r, unit) for r in report.readings]
    chance = "" if report.chance is None else f", by chance {chance_text(report.chance)}"
    lines = [
        plain(report.name),
        f"readings: {report.readings_verdict}; part against drawing: {report.sections_verdict}",
        f"closure: sum of squares {report.statistic:.2f}, readings to spare {report.dof}{chance}",
        "",
        *columns(
            ["section", f"drawn {unit}", f"found {unit}", "doubt", "correct by", ""],
            sections,
            right=[False, True, True, True, True, False],
        ),
        "",
        *columns(
            ["reading", "measured", "doubt", "adjusted", "misfit", "shows", ""],
            readings,
            right=[False, True, True, True, True, True, False],
        ),
    ]
    if any(r.findable is not None for r in report.readings):
        lines += ["", "Shows: a reading wrong by this much would most likely be found; less may hide."]
    if report.shift is not None:
        x, y = (length_text(v, unit, signed=True) for v in report.shift)
        doubt = "" if report.shift_doubt is None else f", standard doubt {length_text(report.shift_doubt, unit)}"
        over = ", ".join(plain(m) for m in report.moves)
        lines += ["", f"Holes behind {over} move by X {x}, Y {y}{doubt}."]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _reading(reading: ChainReading, unit: Unit) -> list[str]:
    def text(value: float) -> str:
        return f"{decimal_text(exact(value), 2)} deg" if reading.is_angle else number_in(value, unit)

    note = "suspect" if reading.suspect else "" if reading.checkable else "nothing checks it"
    return [
        plain(reading.name),
        text(reading.measured),
        text(reading.doubt),
        text(reading.adjusted),
        f"{round(reading.normalised, 2) + 0.0:+.2f} u" if reading.checkable else "",
        "" if reading.findable is None else text(reading.findable),
        note,
    ]


def chain_facts(report: ChainReport) -> dict[str, Any]:
    """Return a chain as plain values; lengths in mm, slopes in degrees."""
    return {
        "name": report.name,
        "readings_verdict": report.readings_verdict,
        "sections_verdict": report.sections_verdict,
        "weighted_sum_of_squares": report.statistic,
        "redundancy": report.dof,
        "chance": report.chance,
        "sections": [
            {
                "name": s.name,
                "drawn_mm": s.drawn,
                "found_mm": s.found,
                "doubt_mm": s.doubt,
                "correction_mm": s.correction,
                "deviation_over_doubt": s.z,
                "carries_the_error": s.named,
            }
            for s in report.sections
        ],
        "readings": [
            {
                "name": r.name,
                "of": list(r.of),
                f"measured_{'deg' if r.is_angle else 'mm'}": r.measured,
                f"doubt_{'deg' if r.is_angle else 'mm'}": r.doubt,
                f"adjusted_{'deg' if r.is_angle else 'mm'}": r.adjusted,
                "normalised_residual": r.normalised,
                f"shows_from_{'deg' if r.is_angle else 'mm'}": r.findable,
                "checkable": r.checkable,
                "suspect": r.suspect,
            }
            for r in report.readings
        ],
        "moves": list(report.moves),
        "shift_mm": None if report.shift is None else list(report.shift),
        "shift_doubt_mm": report.shift_doubt,
    }
