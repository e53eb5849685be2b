"""What the run sheet's page computes with: whole steps of 1e-9 mm, steps of the readout, each text once."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from holecam.lengths import MM_PER_UNIT, Unit, decimals_of
from holecam.lengths.dials import Dial
from holecam.lengths.rounding import SNAP
from holecam.output.next_settings import grid_steps
from holecam.output.plain_words import plain, true_minus
from holecam.output.svg_canvas import View
from holecam.plan.facts import Readout
from holecam.plan.plan import Plan
from holecam.plan.work import Operation, Row, Stop

ROUND_STEPS = (1, 2, 5)


def other_step(readout: Readout) -> tuple[Unit, Fraction]:
    """Return the other unit and the step in which the page shows it, exact mm.

    The largest step of 1, 2 or 5 times a power of ten, in the other unit, that is not coarser than the readout's own.

    >>> other_step(Readout(Fraction(127, 10000), "in"))
    ('mm', Fraction(1, 100))
    """
    unit: Unit = "mm" if readout.unit == "in" else "in"
    wanted = readout.resolution / MM_PER_UNIT[unit]
    for places in range(7):
        for digit in reversed(ROUND_STEPS):
            step = Fraction(digit, 10**places)
            if step <= wanted:
                return unit, step * MM_PER_UNIT[unit]
    return unit, Fraction(1, 10**6) * MM_PER_UNIT[unit]


def unit_steps(plan: Plan) -> dict[Unit, Fraction]:
    """Return the step in which each unit is shown, exact mm: the readout's own first."""
    readout = plan.machine.readout
    other, step = other_step(readout)
    return {readout.unit: readout.resolution, other: step}


class Words:
    """Each text once, by number."""

    def __init__(self) -> None:
        self.texts: list[str] = [""]
        self._known: dict[str, int] = {"": 0}

    def number(self, text: str) -> int:
        """Return the number of a text."""
        text = plain(text)
        if text not in self._known:
            self._known[text] = len(self.texts)
            self.texts.append(text)
        return self._known[text]


def sheet_facts(plan: Plan, view: View) -> dict[str, Any]:
    """Return the facts of a page as plain values for JSON."""
    words = Words()
    units = {
        unit: {
            "step": int(step / SNAP),
            "decimals": decimals_of(step / MM_PER_UNIT[unit]),
            "one": int(MM_PER_UNIT[unit] / SNAP),
        }
        for unit, step in unit_steps(plan).items()
    }
    dial_x = plan.machine.dial
    dial_y = plan.machine.dial_y or dial_x
    facts: dict[str, Any] = {
        "unit": plan.machine.readout.unit,
        "units": units,
        "dial": None if dial_x is None or dial_y is None else {"x": _dial(dial_x), "y": _dial(dial_y)},
        "view": [view.scale, view.left, view.top, view.x0, view.y0],
        "skewed": plan.setup.skewed,
        "hand": plain(plan.part.hand),
        # With another of these a ticked row is not the row that was done
        "basis": [plain(t) for t in (plan.title, plan.part.hand, plan.part.datum, plan.part.face_up)],
        "operations": [_operation(plan, o, words) for o in plan.operations],
    }
    facts["words"] = words.texts
    return facts


def _dial(dial: Dial) -> dict[str, Any]:
    """Return a dial for the page: its lead as a fraction of the arithmetic grid, and its marks."""
    lead = dial.lead / SNAP
    return {"top": str(lead.numerator), "bottom": str(lead.denominator), "marks": dial.divisions}


def _operation(plan: Plan, operation: Operation, words: Words) -> dict[str, Any]:
    tool = plan.tool(operation.tool).name if operation.tool else ""
    return {
        "number": operation.number,
        "title": plain(operation.title),
        "tool": plain(f"T{operation.tool} {tool}") if tool else "",
        "speed": round(operation.spindle_rpm) if operation.spindle_rpm else 0,
        "feed": grid_steps(operation.feed) if operation.feed else 0,
        "zero": plain(operation.z_zero),
        "todo": [plain(t) for t in operation.instructions],
        "withheld": plain(operation.withheld),
        "pause": operation.pauses_here,
        "rows": [_row(r, words) for r in operation.rows],
        "stops": [_stop(s) for s in operation.stops],
    }


def _row(row: Row, words: Words) -> list[Any]:
    ends = [row.to_machine, row.to_part]
    return [
        row.number,
        row.hole or 0,
        words.number(row.label),
        *(grid_steps(v) for v in (*row.xy_machine, *row.xy_part)),
        None if row.z is None else grid_steps(row.z),
        words.number(true_minus(row.overshoot.words)),
        words.number(row.note),
        int(row.closing),
        *(grid_steps(v) for end in ends if end is not None for v in end),
    ]


def _stop(stop: Stop) -> dict[str, Any]:
    return {
        "key": stop.key,
        "after": stop.after_row,
        "title": plain(stop.title),
        "look": plain(stop.look_for),
        "expect": plain(stop.expect),
        "otherwise": plain(stop.if_not),
        "expected": None if stop.expected is None else grid_steps(stop.expected),
        "reading": stop.is_reading,
        "within": None if stop.tolerance is None else grid_steps(stop.tolerance),
        "settings": [
            {
                "kind": s.kind,
                "target": grid_steps(s.target),
                "factor": grid_steps(s.factor),
                "offset": grid_steps(s.offset),
                "words": plain(s.words),
            }
            for s in stop.settings
        ],
    }
