"""Facts about part, machine and readout that every paper repeats, and the trace of each figure."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from msgspec import Struct

from holecam.lengths import Unit, counts
from holecam.lengths.dials import Dial
from holecam.shapes import Curve, Outline, Point


class Readout(Struct, frozen=True):
    """What a position is read on: ``resolution`` is one step, exact mm; ``unit`` the unit it shows."""

    resolution: Fraction
    unit: Unit


class MachineFacts(Struct, frozen=True):
    """The machine as the job states it. ``approach`` holds the senses (+1 or -1) in which X and Y positions are met.

    ``dial`` is the handwheel of X; ``dial_y`` that of Y where it is another one.
    """

    kind: Literal["dials", "readout", "cnc"]
    readout: Readout
    approach: tuple[int, int]
    safe_height: float
    backlash: float = 0.0
    dial: Dial | None = None
    slowest_rpm: float | None = None
    fastest_rpm: float | None = None
    rigid_tapping: bool = False
    dial_y: Dial | None = None


class Surrounding(Struct, frozen=True):
    """Something of the part that a hole or a cut must respect: a bend, a joint, a pocket, a keep-out.

    ``curves`` is its edge when it is closed, or the line itself (a bend line, the line of a joint).
    """

    name: str
    kind: str
    curves: tuple[Curve, ...]


class PartFacts(Struct, frozen=True):
    """The part as the job states it.

    ``thickness`` in mm where the job gives one; ``hand`` in words with a tell-tale; ``face_up`` which face is up.
    """

    material: str
    thickness: float | None
    datum: str
    hand: str
    face_up: str = ""
    outline: Outline | None = None
    openings: tuple[Outline, ...] = ()
    surroundings: tuple[Surrounding, ...] = ()


class Setup(Struct, frozen=True):
    """How the part sits on the table.

    ``turn_deg`` and ``shift`` carry part coordinates into what the readout shows; ``words`` says how it was found.
    ``turn_doubt_deg`` is the standard doubt of the turn; ``zeros`` says how X, Y and Z were zeroed.
    """

    skewed: bool
    turn_deg: float
    shift: Point
    words: str
    turn_doubt_deg: float = 0.0
    held: str = ""
    zeros: str = ""

    def datum_reads(self, readout: Readout) -> Point | None:
        """Return the reading over the datum, mm, or None where the datum reads zero to half a step."""
        shift = self.shift
        return shift if self.skewed and any(counts(v, readout.resolution) for v in shift) else None


class CheckDistance(Struct, frozen=True):
    """A distance to measure with a calliper when the holes are made: independent of the readout.

    ``expected`` is centre to centre, or hole centre to edge, mm; ``words`` says from where to where.
    """

    words: str
    expected: float
    holes: tuple[int, ...]


class Caution(Struct, frozen=True):
    """A line about safety, with its code and where it comes from."""

    code: str
    text: str
    source: str


class Figure(Struct, frozen=True):
    """One figure of the plan and how it came about, so that a reader can trace it.

    ``about`` names what it belongs to (``hole 3``, ``tap drill of "rail screws"``), ``value`` is printed text with a
    unit, ``how`` the sum or rule with its numbers, ``source`` the standard, table, job key or ``common practice``.
    """

    about: str
    name: str
    value: str
    how: str
    source: str
