"""Setting up another piece, or the same one again: the lines that stand before the first operation on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from holecam.lengths import Unit, length_text
from holecam.plan.facts import Setup
from holecam.plan.holes import PlannedHole
from holecam.plan.work import Operation, OperationKind

SET_UP_AGAIN = (
    "The part was found skewed in its first clamping: measure its turn again and plan anew before you cut, or do this "
    "work before the part is taken off the table."
)


def datum_words(body: str, datum: str) -> str:
    """Return what X 0 Y 0 is on a piece, with its article; ``body`` is empty for the part."""
    words = datum or (f'datum of "{body}"' if body else "datum of the job")
    return words if words.lower().startswith("the ") else f"the {words}"


def with_set_ups(
    operations: Sequence[Operation],
    datums: Mapping[str, str],
    holes: Sequence[PlannedHole],
    setup: Setup,
    unit: Unit,
) -> tuple[Operation, ...]:
    """Return the operations, the first one on each piece beginning with how to set it up and where its zero is.

    ``datums`` holds the datum in words by the name of the piece, the empty name being the part. A piece that comes back
    is proved on a hole that it has already, because a zero found twice is two zeros.
    """
    made: list[Operation] = []
    seen: set[str] = set()
    before: str | None = None
    for operation in operations:
        finds = operation.kind is OperationKind.FIND_DATUM  # it is the setting up itself
        if operation.kind is OperationKind.PLUG or not (finds or operation.rows or operation.program):
            made.append(operation)  # bench work, or nothing to do at the machine
            continue
        lines: list[str] = []
        if operation.body != before and not finds:
            lines = _lines(operation.body, datums, again=operation.body in seen)
            if operation.body in seen:
                lines += _proof(operation.body, holes, unit)
                lines += [SET_UP_AGAIN] if setup.skewed and not operation.body else []
        before = operation.body
        seen.add(operation.body)
        made.append(replace(operation, instructions=(*lines, *operation.instructions)))
    return tuple(made)


def _lines(body: str, datums: Mapping[str, str], *, again: bool) -> list[str]:
    piece = f'"{body}"' if body else "the part"
    words = datum_words(body, datums.get(body, ""))
    zero = (
        "Come to each edge from the approach side, take off the radius of the edge finder, and set the readout to zero."
    )
    return [f"Set up {piece}{' again' if again else ''}. Find X 0 Y 0: {words}. {zero}"]


def _proof(body: str, holes: Sequence[PlannedHole], unit: Unit) -> list[str]:
    made = [h for h in holes if h.body == body and not h.withheld]
    if not made:
        return []
    x, y = (length_text(v, unit, signed=True) for v in made[0].xy_machine)
    must = f"with a pointer in it the readout must show X {x}, Y {y}, as when it was made."
    return [f"Prove the zero on hole {made[0].number}: {must}"]
