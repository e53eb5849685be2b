"""Rows for two handwheels, from a layout whose strokes run along one axis at a time."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from holecam.cuts.hand_values import HandRow, HandWork
from holecam.cuts.level_layout import HelixEntry, LevelLayout, RampEntry, Run, StraightEntry, Stroke
from holecam.shapes import Arc, Curve, Segment

ALONG_AXIS = 1e-6
"""mm. A pass that leaves its axis by less than this is along it: far below any dial."""

DIRECTIONS = {"left": "conventional", "right": "climb", "both": "full width", "none": "clear", "": ""}

SideOffset = Callable[[Stroke], float]


def hand_work(layout: LevelLayout, heights: Sequence[float], *, side_offset: SideOffset | None = None) -> HandWork:
    """Return the rows that cut a layout by hand at each height, or why two handwheels cannot.

    ``side_offset`` tells each stroke's offset from the line that the sheet speaks of; without it 0.
    """
    fault = _first_fault(layout)
    if fault is not None:
        return HandWork(False, (), _why(fault), _turn_for(layout))
    rows: list[HandRow] = []
    for z in heights:
        for run in layout.runs:
            note = _entry_note(run)
            for stroke in _joined(run.strokes):
                assert isinstance(stroke.curve, Segment)
                rows.append(_row(len(rows) + 1, z, stroke, side_offset, note))
                note = ""
    return HandWork(True, tuple(rows))


def along_axes(curves: Sequence[Curve]) -> bool:
    """Return whether every curve is a straight line along X or along Y."""
    return all(_axis(c) is not None for c in curves)


def _axis(curve: Curve) -> str | None:
    if isinstance(curve, Arc):
        return None
    if abs(curve.end[1] - curve.start[1]) <= ALONG_AXIS:
        return "X"
    return "Y" if abs(curve.end[0] - curve.start[0]) <= ALONG_AXIS else None


def _first_fault(layout: LevelLayout) -> Curve | None:
    for run in layout.runs:
        if isinstance(run.entry, HelixEntry):
            (x, y), radius = run.entry.center, run.entry.radius
            begin = (x + radius, y)
            return Arc(begin, begin, (x, y), True)
    return next((s.curve for s in layout.strokes() if _axis(s.curve) is None), None)


def _why(curve: Curve) -> str:
    x, y = curve.start
    if isinstance(curve, Arc):
        return f"an arc of radius {curve.radius:.3f} mm at X {x:.3f} Y {y:.3f} mm: both handwheels would have to turn"
    angle = math.degrees(math.atan2(curve.end[1] - curve.start[1], curve.end[0] - curve.start[0]))
    return f"a line at {angle:.2f} degrees at X {x:.3f} Y {y:.3f} mm: both handwheels would have to turn"


def _turn_for(layout: LevelLayout) -> float:
    """Return the turn of the work, degrees, that brings all strokes along the axes; 0 when none does."""
    curves = [s.curve for s in layout.strokes()]
    if any(isinstance(c, Arc) for c in curves):
        return 0.0
    angles = [math.degrees(math.atan2(c.end[1] - c.start[1], c.end[0] - c.start[0])) for c in curves if c.length > 1e-3]
    if not angles:
        return 0.0
    lean = angles[0] % 90.0
    if any(abs((a - lean + 45.0) % 90.0 - 45.0) > 1e-3 for a in angles):
        return 0.0
    return -lean if lean <= 45.0 else 90.0 - lean


def _entry_note(run: Run) -> str:
    entry = run.entry
    if isinstance(entry, StraightEntry):
        way = "through the drilled hole" if entry.hole > 0 else "plunge"
        return f"get down {way}"
    if isinstance(entry, RampEntry):
        return f"get down along the first {entry.stretch:.2f} mm to and fro"
    return "get down where it is open"


def _joined(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return strokes with those put together that go on in one line: the feed by hand is felt, not set."""
    made: list[Stroke] = []
    for stroke in strokes:
        if made and _goes_on(made[-1].curve, stroke.curve) and made[-1].side == stroke.side:
            before = made.pop()
            worst = max(before, stroke, key=lambda s: s.engagement_deg or 0.0)
            made.append(
                Stroke(
                    Segment(before.curve.start, stroke.curve.end),
                    stroke.kind,
                    min(before.feed_factor, stroke.feed_factor),
                    worst.engagement_deg,
                    worst.left_deg,
                )
            )
        else:
            made.append(stroke)
    return made


def _goes_on(a: Curve, b: Curve) -> bool:
    if not (isinstance(a, Segment) and isinstance(b, Segment)) or _axis(a) != _axis(b):
        return False
    k = 0 if _axis(a) == "X" else 1
    return (a.end[k] - a.start[k]) * (b.end[k] - b.start[k]) > 0


def _row(number: int, z: float, stroke: Stroke, side_offset: SideOffset | None, note: str) -> HandRow:
    curve = stroke.curve
    axis = _axis(curve) or "X"
    k = 0 if axis == "X" else 1
    fixed: float = (curve.start[1 - k] + curve.end[1 - k]) / 2
    offset = 0.0 if side_offset is None else side_offset(stroke)
    direction = DIRECTIONS[stroke.side]
    return HandRow(number, z, axis, fixed, curve.start[k], curve.end[k], offset, direction, stroke.side != "none", note)
