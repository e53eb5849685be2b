"""Marking-out tables as text and as plain values."""

from __future__ import annotations

from typing import Any

from holecam.lengths import Unit, decimal_text, exact, number_in
from holecam.output.plain_words import plain
from holecam.output.terminal_table import columns
from holecam.plan.marking import MarkingReport, MarkSide


def marking_table(report: MarkingReport, unit: Unit) -> str:
    """Return the tables of one correction, face and back, for a height gauge."""
    lines = [
        f"MARKING OUT: {plain(report.name)}",
        "Heights stand on datum edge A, then on datum edge B.",
        "What comes off is square to the edge; minus: it is missing there.",
    ]
    for side in report.sides:
        lines += ["", *_side(side, unit)]
    return "\n".join(lines) + "\n"


def _side(side: MarkSide, unit: Unit) -> list[str]:
    def text(value: float | None, *, signed: bool = False) -> str:
        return "" if value is None else number_in(value, unit, signed=signed)

    title = "Seen from the face" if side.side == "face" else "Seen from the back (mirrored)"
    marks = [
        [
            str(m.edge),
            m.kind,
            text(m.from_a),
            text(m.from_b),
            text(m.radius),
            "" if m.angle_deg is None else decimal_text(exact(m.angle_deg), 2),
            text(m.comes_off, signed=True),
            "[ ]",
        ]
        for m in side.marks
    ]
    stations = [
        [
            text(s.position),
            text(s.from_a),
            text(s.from_b),
            text(s.off_square, signed=True),
            text(s.off_along, signed=True),
        ]
        for s in side.stations
    ]
    heads = ["edge", "point", f"from A {unit}", f"from B {unit}", "radius", "angle", "comes off", ""]
    lines = [f"{title}:", ""]
    lines += columns(heads, marks, right=[True, False, True, True, True, True, True, False])
    if stations:
        heads = [f"station {unit}", f"from A {unit}", f"from B {unit}", "off square", "off along"]
        lines += ["", *columns(heads, stations, right=[True] * 5)]
    return lines


def marking_facts(report: MarkingReport) -> dict[str, Any]:
    """Return one correction as plain values; lengths in mm, areas in mm2."""
    return {
        "name": report.name,
        "remove_area_mm2": report.remove_area,
        "missing_area_mm2": report.missing_area,
        "most_off_mm": report.most_off,
        "sides": [
            {
                "side": side.side,
                "points": [
                    {
                        "edge": m.edge,
                        "kind": m.kind,
                        "from_a_mm": m.from_a,
                        "from_b_mm": m.from_b,
                        "radius_mm": m.radius,
                        "angle_deg": m.angle_deg,
                        "comes_off_mm": m.comes_off,
                    }
                    for m in side.marks
                ],
                "stations": [
                    {
                        "position_mm": s.position,
                        "from_a_mm": s.from_a,
                        "from_b_mm": s.from_b,
                        "off_square_mm": s.off_square,
                        "off_along_mm": s.off_along,
                    }
                    for s in side.stations
                ],
            }
            for side in report.sides
        ],
    }
