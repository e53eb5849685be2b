"""Canned cycles written out as the plain moves that they stand for (NISTIR 6556, 3.5.16; numbers from memory)."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from holecam.program.blocks import RefusedLineError
from holecam.program.language import RULE_CYCLES, code_text
from holecam.program.moves import Kind

BACKOFF = 0.254
"""mm (0.010 in). How far above the last bottom the published G83 ends its rapid return; also the lift of G73, which the
report does not have (common practice)."""

MOST_PECKS = 10_000
"""Pecks of one hole; more is a slipped decimal point."""

Step = tuple[Kind, float]
"""(rapid or feed, Z at its end): the moves of a cycle at one place are all along Z."""


class CycleWords(Struct):
    """What a canned cycle was told, in mm; it stays until other words come (all but L and the place are sticky)."""

    code: int
    bottom: float
    retract: float
    peck: float | None = None
    dwell: float | None = None

    def check(self) -> None:
        """Refuse a cycle that the published language refuses."""
        name = code_text("G", self.code)
        if self.retract < self.bottom:
            raise RefusedLineError(f"{name}: R lies below Z", RULE_CYCLES)
        if self.code in (730, 830):
            if self.peck is None or not self.peck > 0:
                raise RefusedLineError(f"{name} needs a step Q above zero", RULE_CYCLES)
            if (self.retract - self.bottom) / self.peck > MOST_PECKS:
                raise RefusedLineError(f"{name}: Q asks for more than {MOST_PECKS} steps", RULE_CYCLES)
        if self.code in (820, 890) and (self.dwell is None or self.dwell < 0):
            raise RefusedLineError(f"{name} needs a dwell P of 0 or more", RULE_CYCLES)


def steps(cycle: CycleWords, clear: float) -> Iterator[Step]:
    """Yield the moves along Z from the retract height R on; the last one ends at ``clear``."""
    top, bottom = cycle.retract, cycle.bottom
    if cycle.peck is not None:
        count = 1
        depth = top - cycle.peck
        while depth > bottom + 1e-9:
            yield Kind.FEED, depth
            if cycle.code == 830:
                yield Kind.RAPID, top
                if depth + BACKOFF < top:
                    yield Kind.RAPID, depth + BACKOFF
            else:
                yield Kind.RAPID, min(depth + BACKOFF, top)
            count += 1
            depth = top - count * cycle.peck
    yield Kind.FEED, bottom
    if cycle.code in (840, 850, 890):  # tapping comes back at feed; boring and reaming too
        yield Kind.FEED, clear if cycle.code == 840 else top
        if clear > top and cycle.code != 840:
            yield Kind.RAPID, clear
        return
    yield Kind.RAPID, clear
