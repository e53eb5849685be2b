"""A step-down to a thin sheet without a job file: heights, stops and what each look allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.cuts.layer_stack import TouchedStack
from holecam.cuts.step_down_heights import HeightsRequest, StepDownHeights, plan_heights
from holecam.cuts.step_down_passes import LAST_STEPS, PassRule
from holecam.cuts.step_down_practice import ROUGH_STEP, Hold
from holecam.errors import InputError
from holecam.lengths import MM_PER_UNIT, Unit, exact, parse_length, reading_text
from holecam.notebook.look_ups import Length, mm
from holecam.plan.finding import Finding, Severity, worst_first
from holecam.planning.step_down_findings import height_findings
from holecam.planning.step_down_words import caution_tags, read_answer, read_stack, read_touch, read_wedge
from holecam.standards.cautions import Caution, cautions_for

USUAL_READOUT: dict[Unit, Length] = {"in": "0.0005 in", "mm": "0.005 mm"}
LEAST_CHIP = 0.005
"""mm. A thinner pass rubs instead of cutting; the last passes may be thinner (common practice)."""


class StepDown(Struct, frozen=True):
    """The heights of a step-down, what the checks say of it, and the cautions that belong to it."""

    heights: StepDownHeights
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    unit: Unit

    @property
    def z(self) -> NDArray[np.float64]:
        """Height of each pass on the readout, mm, downward; empty when there is none."""
        return np.array([p.z for p in self.heights.passes], dtype=np.float64)

    @property
    def stops(self) -> tuple[int, ...]:
        """Numbers of the passes after which one stops and looks."""
        return tuple(p.number for p in self.heights.stops)

    @property
    def withholds(self) -> bool:
        """Whether a finding says that it must not be cut so."""
        return any(f.severity is Severity.STOP for f in self.findings)

    def __repr__(self) -> str:
        """Return the passes as a small table, with what withholds it."""
        heights = self.heights
        lines = [
            f"Z {reading_text(p.count, heights.resolution, self.unit)} {self.unit}  pass {p.number}"
            + ("  stop and look" if p.stop else "")
            for p in heights.passes
        ] or ["No pass."]
        floor = f"Hard floor Z {_rounded_up(heights.hard_floor, self.unit)} {self.unit}"
        worst = [f"{f.severity} {f.code}: {f.message}" for f in self.findings if f.severity is Severity.STOP]
        return "\n".join([f'Step-down over "{heights.request.touched.stack.substrate.name}"', *lines, floor, *worst])


class _Lengths(Struct, frozen=True):
    unit: Unit
    before_keys: str = ""

    def length(self, text: str, key: str) -> Fraction:
        return parse_length(text, unit=self.unit, key=key)


def step_down(
    layers: Sequence[Sequence[Length] | str],
    keep: Sequence[Length] | str,
    *,
    unit: Unit,
    touch: str = "paper",
    touch_within: Length | None = None,
    readout: Length | None = None,
    machine_within: Length | None = None,
    sureness: float = 3.0,
    floor: Length | None = None,
    skin: Length = 0,
    hold: str = "light",
    last: Sequence[Length] | None = None,
    answers: Sequence[str] = (),
) -> StepDown:
    """Return every pass down to a thin sheet, where to stop and look, and what must never be passed.

    Parameters
    ----------
    layers : list of (name, thick, within)
        What is taken off, top down; ``within`` is how surely the thickness is known, plus or minus. A bonding layer
        that is known by name ("soft solder") may be its name alone.
    keep : (name, thick)
        The sheet that is never touched.
    unit : {"in", "mm"}
        Unit of bare numbers, and of the text.
    touch : str
        With what, and on which face: ``"paper"``, ``"continuity on sheet"``.
    touch_within, machine_within : length, optional
        How surely the touch and the heights of the machine are known.
    readout : length, optional
        Step of the readout; 0.0005 in or 0.005 mm without it.
    sureness : float
        Standard doubts between the sheet and the hard floor.
    floor : length, optional
        A floor that is wanted instead, as the readout shows it. Never clamped: below the hard floor it is a stop.
    skin : length
        Bonding layer to leave on the sheet.
    hold : {"firm", "light", "by the sheet"}
        How the bar is held; it sets the first passes.
    last : list of lengths, optional
        Last passes; 0.001 in and 0.0005 in without it.
    answers : list of str
        What was seen so far: ``"still bar at -0.180"``.

    Raises
    ------
    InputError
        A length, layer, touch or answer that cannot be.

    Examples
    --------
    All figures invented.

    >>> down = step_down([("brass rail", "3/16", 0.001), ("soft solder", 0.004, 0.002)], ("copper hood", 0.025),
    ...                  unit="in")
    >>> down.withholds, bool(down.z[-1] >= down.heights.hard_floor), bool(down.heights.hard_floor > -0.1915 * 25.4)
    (False, True, True)
    >>> step_down(["brass rail:3/16:0.001"], "copper hood:0.025", unit="in", floor=-0.2).withholds
    True
    """
    if unit not in ("in", "mm"):
        raise InputError(f'unit "{unit}": expected in or mm', key="unit", value=str(unit), expected="in or mm")
    lengths = _Lengths(unit)
    resolution = lengths.length(str(USUAL_READOUT[unit] if readout is None else readout), "readout")
    if resolution <= 0:
        raise InputError(f'readout "{readout}": expected the step of the readout, above zero', key="readout")
    reading_text(0, resolution, unit)  # a step that no decimals can show is refused now
    if hold not in {h.value for h in Hold}:
        expected = ", ".join(h.value for h in Hold)
        raise InputError(f'hold "{hold}": expected one of {expected}', key="hold", value=hold, expected=expected)

    stack = read_stack([_words(layer) for layer in layers], [_words(keep)], lengths=lengths, sureness=sureness)
    touched_with, presses = read_touch(touch, stack, offset=None, within=_maybe(touch_within, unit))
    wedge = read_wedge(None, None, lengths=lengths, touch=touched_with)
    touched = TouchedStack(stack, touched_with, resolution, _maybe(machine_within, unit), wedge)
    steps = LAST_STEPS if last is None else tuple(mm(step, unit) for step in last)
    heights = plan_heights(
        HeightsRequest(
            touched,
            PassRule(ROUGH_STEP[Hold(hold)], steps, least_chip=LEAST_CHIP),
            sureness=sureness,
            skin=mm(skin, unit),
            asked_floor=_maybe(floor, unit),
            answers=tuple(read_answer(text, stack, lengths=lengths) for text in answers),
        )
    )
    findings = height_findings(heights, name=stack.substrate.name, unit=unit, touch_presses=presses)
    return StepDown(heights, worst_first(tuple(findings)), cautions_for(caution_tags(stack)), unit)


def _words(layer: Sequence[Length] | str) -> str:
    return layer if isinstance(layer, str) else ":".join(str(part) for part in layer)


def _maybe(length: Length | None, unit: Unit) -> float | None:
    return None if length is None else mm(length, unit)


def _rounded_up(z: float, unit: Unit) -> str:
    """Return a height that must not be passed, rounded to the safe side."""
    step = MM_PER_UNIT[unit] / (100_000 if unit == "in" else 10_000)
    return reading_text(math.ceil(exact(z) / step), step, unit)
