"""A measured chain of sizes as the papers show it."""

from __future__ import annotations

from msgspec import Struct


class ChainSection(Struct, frozen=True):
    """One section: drawn and found length, mm, what to take off (below 0) or add, and whether it is named.

    ``found`` and ``correction`` are ``None`` where the readings do not settle them; ``doubt`` is standard; ``z`` is the
    deviation in standard doubts, process spread included.
    """

    name: str
    drawn: float
    found: float | None
    doubt: float | None
    correction: float | None
    z: float | None
    named: bool


class ChainReading(Struct, frozen=True):
    """One reading: measured and adjusted value (mm, or degrees for a slope), and its normalised residual.

    ``findable`` is the smallest error of this reading that the others would show, in the same unit; ``None`` where
    nothing checks it.
    """

    name: str
    of: tuple[str, ...]
    is_angle: bool
    measured: float
    doubt: float
    adjusted: float
    normalised: float
    findable: float | None
    checkable: bool
    suspect: bool


class ChainReport(Struct, frozen=True):
    """The error of a chain, as far as it can be known.

    ``readings_verdict`` and ``sections_verdict`` answer two questions apart: whether the readings contradict each
    other, and whether the part differs from the drawing. ``shift`` is what follows for holes behind the sections in
    ``moves``: (X, Y), mm, part frame; ``None`` where it cannot be trusted. ``shift_doubt`` is standard.
    """

    name: str
    readings_verdict: str
    sections_verdict: str
    statistic: float
    dof: int
    chance: float | None
    sections: tuple[ChainSection, ...]
    readings: tuple[ChainReading, ...]
    moves: tuple[str, ...]
    shift: tuple[float, float] | None
    shift_doubt: float | None
    words: tuple[str, ...]
