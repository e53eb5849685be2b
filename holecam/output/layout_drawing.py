"""The part and its holes as a DXF drawing: named layers, real units, true circles and arcs."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from holecam.lengths import MM_PER_UNIT
from holecam.output.plain_words import plain
from holecam.plan.plan import Plan
from holecam.shapes import Curve, Point, Segment
from holecam.shapes.angles import direction_deg

LAYERS = {
    "OUTLINE": 7,
    "OPENINGS": 7,
    "SURROUNDINGS": 8,
    "OLD_HOLES_OPEN": 8,
    "OLD_HOLES_FILLED": 8,
    "NEW_HOLES": 7,
    "NEW_HOLES_WITHHELD": 1,
    "CENTRES": 7,
    "NUMBERS": 7,
    "DATUM": 7,
    "NOTES": 8,
}
"""Names of the layers and their colour numbers (7 is black or white, whichever shows)."""

UNIT_CODES = {"in": 1, "mm": 4}
"""$INSUNITS of the DXF reference: 1 inches, 4 millimetres."""

LONGEST_TEXT = 200


def layout_dxf(plan: Plan) -> str:
    """Return ``layout.dxf``, in the part frame and in the unit of the papers."""
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # the same plan, the same bytes: no date, no chance number
    try:
        document = new("R2010", units=UNIT_CODES[plan.unit])
        document.header["$MEASUREMENT"] = 0 if plan.unit == "in" else 1
        for name, color in LAYERS.items():
            document.layers.add(name, color=color)
        _Drawing(document.modelspace(), float(MM_PER_UNIT[plan.unit])).plan(plan)
        text = io.StringIO()
        document.write(text)
        return text.getvalue()
    finally:
        options.write_fixed_meta_data_for_testing = fixed


class _Drawing:
    def __init__(self, space: Any, per_unit: float) -> None:
        self.space, self.per_unit = space, per_unit

    def plan(self, plan: Plan) -> None:
        part = plan.part
        if part.outline is not None:
            self.curves(part.outline.curves, "OUTLINE")
        for opening in part.openings:
            self.curves(opening.curves, "OPENINGS")
        for thing in part.surroundings:
            self.curves(thing.curves, "SURROUNDINGS")
        for old in plan.standing_holes:
            layer = "OLD_HOLES_FILLED" if old.plug else "OLD_HOLES_OPEN"
            self.circle(old.xy_part, old.diameter, layer)
        size = 2.5
        for hole in plan.holes:
            layer = "NEW_HOLES_WITHHELD" if hole.withheld else "NEW_HOLES"
            self.circle(hole.xy_part, hole.finished_diameter, layer)
            self.space.add_point(self.at(hole.xy_part), dxfattribs={"layer": "CENTRES"})
            corner = hole.finished_diameter / 2 + 0.6
            at = (hole.xy_part[0] + corner, hole.xy_part[1] + corner)
            self.text(f"{hole.number}{' WITHHELD' if hole.withheld else ''}", at, size, "NUMBERS")
        for a, b in (((-5.0, 0.0), (5.0, 0.0)), ((0.0, -5.0), (0.0, 5.0))):
            self.curves((Segment(a, b),), "DATUM")
        low = min((part.outline.bounds[1] if part.outline is not None else 0.0), 0.0)
        notes = (plan.title, f"HAND: {plan.part.hand}", f"X 0 Y 0: {part.datum}", f"job {plan.fingerprint[:16]}")
        for line, words in enumerate(notes, start=1):
            self.text(words, (0.0, low - 6.0 - 4.0 * line), size, "NOTES")

    def at(self, p: Point) -> Point:
        return (p[0] / self.per_unit, p[1] / self.per_unit)

    def circle(self, at: Point, diameter: float, layer: str) -> None:
        self.space.add_circle(self.at(at), diameter / 2 / self.per_unit, dxfattribs={"layer": layer})

    def text(self, words: str, at: Point, size: float, layer: str) -> None:
        text = self.space.add_text(safe_dxf_text(words), height=size / self.per_unit, dxfattribs={"layer": layer})
        text.set_placement(self.at(at))

    def curves(self, curves: Sequence[Curve], layer: str) -> None:
        look = {"layer": layer}
        for curve in curves:
            if isinstance(curve, Segment):
                self.space.add_line(self.at(curve.start), self.at(curve.end), dxfattribs=look)
                continue
            center, radius = self.at(curve.center), curve.radius / self.per_unit
            if abs(curve.sweep) >= 6.283185307:
                self.space.add_circle(center, radius, dxfattribs=look)
                continue
            # a DXF arc always runs anticlockwise
            start, end = (curve.start, curve.end) if curve.ccw else (curve.end, curve.start)
            angles = (direction_deg(curve.center, start), direction_deg(curve.center, end))
            self.space.add_arc(center, radius, *angles, dxfattribs=look)


def safe_dxf_text(words: str) -> str:
    """Return text that stays text: no codes (``%%``, backslash, caret, braces), no control characters, not too long."""
    kept = plain(words).replace("%%", "% %").replace("\\", "/").replace("^", "'")
    return kept.replace("{", "(").replace("}", ")").replace("%%", "% %")[:LONGEST_TEXT] or "-"
