"""Passes by dials: a move that ends against the approach side stays short by the backlash, and its row says so."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from holecam.job.models import Job
from holecam.lengths import Unit, length_text
from holecam.plan.facts import MachineFacts
from holecam.plan.work import Operation, Row

SAME_READING = 0.001
"""mm. Where two positions of an axis differ by less, its handle is not turned: the step of the finest readout."""


def with_backlash_told(operations: Sequence[Operation], job: Job, machine: MachineFacts) -> tuple[Operation, ...]:
    """Return the operations; on a machine with dials only, rows of passes tell where the backlash is to be added.

    A readout shows where the table is, whichever way it was moved. Dials do so for moves that end in the senses in
    which they were zeroed; a pass cannot overshoot and come back, because there stands what has to stay.
    """
    if machine.kind != "dials":
        return tuple(operations)
    lost = None if job.machine.backlash is None else tuple(float(v) for v in job.machine.backlash)
    return tuple(_told(o, machine.approach, lost, job.unit) for o in operations)


def _told(operation: Operation, senses: tuple[int, int], lost: tuple[float, ...] | None, unit: Unit) -> Operation:
    counted = [k for k in (0, 1) if lost is None or lost[k] > 0.0]
    rows = tuple(_row(r, senses, counted) for r in operation.rows)
    if rows == operation.rows:
        return operation
    ways = " and ".join(f"{'+' if s > 0 else '-'}{axis}" for axis, s in zip("XY", senses, strict=True))
    much = "the backlash"
    if lost is not None:
        much += " (" + ", ".join(f"{'XY'[k]} {length_text(lost[k], unit)}" for k in counted) + ")"
    come = (
        f"The dials are right where a move ends going {ways}: with the cutter up, come to every place so, past it and "
        "back where it lies the other way."
    )
    on = (
        f'A row that says "turn on" ends the other way: turn that handwheel past the told figure by {much}, else the '
        "cutter stays short by it."
    )
    return replace(operation, instructions=(*operation.instructions, come, on), rows=rows)


def _row(row: Row, senses: tuple[int, int], counted: Sequence[int]) -> Row:
    if row.to_machine is None:
        return row
    moves = [row.to_machine[k] - row.xy_machine[k] for k in (0, 1)]
    against = ["XY"[k] for k in counted if abs(moves[k]) >= SAME_READING and moves[k] * senses[k] < 0.0]
    if not against:
        return row
    words = f"turn on {' and '.join(against)}"
    return replace(row, note=f"{row.note}; {words}" if row.note else words)
