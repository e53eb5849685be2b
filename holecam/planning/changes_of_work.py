"""Setting up another piece, or the same one again: the lines that stand before the first operation on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from holecam.lengths import counts, reading_text
from holecam.plan.facts import Readout, Setup
from holecam.plan.holes import PlannedHole, hole_name
from holecam.plan.work import Operation, OperationKind
from holecam.shapes import Point

SET_UP_AGAIN = (
    "The part was found skewed in its first clamping: measure its turn again and plan anew before you cut, or do this "
    "work before the part is taken off the table."
)


def datum_words(body: str, datum: str) -> str:
    """Return what X 0 Y 0 is on a piece, with its article; ``body`` is empty for the part."""
    words = datum or (f'datum of "{body}"' if body else "datum of the job")
    return words if words.lower().startswith("the ") else f"the {words}"


def position_text(place: Point, readout: Readout) -> str:
    """Return a place, mm, as the readout shows it: what no readout can show is on no paper."""
    x, y = (reading_text(counts(v, readout.resolution), readout.resolution, readout.unit) for v in place)
    return f"X {x} {readout.unit}, Y {y} {readout.unit}"


def kept_zero_words(setup: Setup, readout: Readout, datum: str) -> str:
    """Return what to do with the readout's zero when the datum of a skewed part does not lie on it, else nothing.

    The readings of the rows belong to the zero with which the part was picked. A zero that is set anew on the datum
    would carry every hole off by what the datum reads.
    """
    reads = setup.datum_reads(readout)
    if reads is None:
        return ""
    return (
        "Keep the zero with which the turn of the part was picked and set no new one: every position belongs to it. "
        f"Over {datum} stands {position_text(reads, readout)}; where it does not, pick the turn again "
        "and plan anew."
    )


def program_zero(setup: Setup, readout: Readout, datum: str) -> str:
    """Return what a program on the part says of its X0 Y0."""
    reads = setup.datum_reads(readout)
    if reads is None:
        return f"X0 Y0 is {datum}"
    return f"X0 Y0 is the zero with which the turn was picked; {datum} is at {position_text(reads, readout)}"


def with_set_ups(
    operations: Sequence[Operation],
    datums: Mapping[str, str],
    holes: Sequence[PlannedHole],
    setup: Setup,
    readout: Readout,
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
            lines = _lines(operation.body, datums, setup, readout, again=operation.body in seen)
            if operation.body in seen:
                lines += _proof(operation.body, holes, readout)
                lines += [SET_UP_AGAIN] if setup.skewed and not operation.body else []
        before = operation.body
        seen.add(operation.body)
        made.append(replace(operation, instructions=(*lines, *operation.instructions)))
    return tuple(made)


def _lines(body: str, datums: Mapping[str, str], setup: Setup, readout: Readout, *, again: bool) -> list[str]:
    piece = f'"{body}"' if body else "the part"
    words = datum_words(body, datums.get(body, ""))
    kept = "" if body else kept_zero_words(setup, readout, words)
    if kept:
        return [f"Set up {piece}{' again' if again else ''}. {kept}"]
    zero = "Come to each edge from the approach side, take off the radius of the edge finder, and set X and Y to zero."
    return [f"Set up {piece}{' again' if again else ''}. Find X 0 Y 0: {words}. {zero}"]


def _proof(body: str, holes: Sequence[PlannedHole], readout: Readout) -> list[str]:
    made = [h for h in holes if h.body == body and not h.withheld]
    if not made:
        return []
    must = f"with a pointer in it X and Y must show {position_text(made[0].xy_machine, readout)}, as when it was made."
    return [f"Prove the zero on {hole_name(made[0])}: {must}"]
