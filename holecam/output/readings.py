"""Positions as the readout and the dials show them: each rounded once, steps as differences of rounded positions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from holecam.lengths import Unit, counts, length_text, reading_text
from holecam.lengths.dials import DialSetting, dial_setting
from holecam.plan.plan import Plan
from holecam.plan.work import Row, Stop
from holecam.shapes import Point


class Reading(Struct, frozen=True):
    """One axis position: counts of the readout's step, and the step's size."""

    count: int
    resolution: Fraction
    unit: Unit

    def text(self, *, signed: bool = True) -> str:
        """Return what the readout shows."""
        return reading_text(self.count, self.resolution, self.unit, signed=signed)

    @property
    def mm(self) -> Fraction:
        """The rounded position, exact mm."""
        return self.count * self.resolution


class RowReading(Struct, frozen=True):
    """One row as it is read at the machine.

    ``x`` and ``y`` are absolute readings; ``step_x`` and ``step_y`` the moves from the row before (the first row: from
    the zero). Dial settings are present where the machine has dials. ``to_x`` and ``to_y`` end a pass,
    ``to_dial_x`` and ``to_dial_y`` are the dials there.
    """

    row: Row
    x: Reading
    y: Reading
    step_x: Reading
    step_y: Reading
    dial_x: DialSetting | None = None
    dial_y: DialSetting | None = None
    to_x: Reading | None = None
    to_y: Reading | None = None
    z: Reading | None = None
    to_dial_x: DialSetting | None = None
    to_dial_y: DialSetting | None = None


def reading(plan: Plan, value: float) -> Reading:
    """Return a length, mm, as the plan's readout shows it."""
    readout = plan.machine.readout
    return Reading(counts(value, readout.resolution), readout.resolution, readout.unit)


def stop_figure(plan: Plan, stop: Stop) -> str:
    """Return the figure that a stop expects, with its unit and tolerance; empty when it expects none.

    A position is what the readout shows, with its sign; a size is measured, and is not rounded to the readout's step.
    """
    if stop.expected is None:
        return ""
    if stop.is_reading:
        figure = f"{reading(plan, stop.expected).text()} {plan.machine.readout.unit}"
    else:
        figure = length_text(stop.expected, plan.unit)
    return figure if stop.tolerance is None else f"{figure} within {length_text(stop.tolerance, plan.unit)}"


def row_readings(plan: Plan, rows: Sequence[Row]) -> Iterator[RowReading]:
    """Yield the rows of an operation with their readings, in the frame of the readout.

    The steps add up to the last absolute reading exactly, because both are whole counts.
    """
    before_x, before_y = 0, 0
    dial, resolution, unit = plan.machine.dial, plan.machine.readout.resolution, plan.machine.readout.unit
    dial_y = plan.machine.dial_y or dial
    for row in rows:
        x, y = reading(plan, row.xy_machine[0]), reading(plan, row.xy_machine[1])
        end: Point | None = row.to_machine
        to_x, to_y = (reading(plan, end[0]), reading(plan, end[1])) if end is not None else (None, None)
        yield RowReading(
            row=row,
            x=x,
            y=y,
            step_x=Reading(x.count - before_x, resolution, unit),
            step_y=Reading(y.count - before_y, resolution, unit),
            dial_x=dial_setting(row.xy_machine[0], dial) if dial else None,
            dial_y=dial_setting(row.xy_machine[1], dial_y) if dial_y else None,
            to_x=to_x,
            to_y=to_y,
            z=reading(plan, row.z) if row.z is not None else None,
            to_dial_x=dial_setting(end[0], dial) if dial and end is not None else None,
            to_dial_y=dial_setting(end[1], dial_y) if dial_y and end is not None else None,
        )
        last_x, last_y = (to_x, to_y) if to_x is not None and to_y is not None else (x, y)
        before_x, before_y = last_x.count, last_y.count
