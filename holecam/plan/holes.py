"""Planned holes, the holes that stand already, and what is done to each."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from holecam.plan.hole_words import hole_words
from holecam.shapes import Point


class StepKind(StrEnum):
    """One thing done to a hole, in the order of the work."""

    SPOT = "spot"
    PILOT = "pilot"
    DRILL = "drill"
    TAP_DRILL = "tap drill"
    REAM = "ream"
    COUNTERBORE = "counterbore"
    COUNTERSINK = "countersink"
    TAP = "tap"
    DEBURR = "deburr"


class HoleStep(Struct, frozen=True):
    """One step at one hole.

    Parameters
    ----------
    kind : StepKind
    tool : int
        Number of the tool in ``Plan.tools``; 0 for a hand tool that needs no number.
    diameter : float
        Diameter of what is cut, mm: of the mouth for spots and countersinks.
    full_depth : float
        Depth of the full diameter (or the full thread) below the face, mm, positive downward.
    tip_depth : float
        Depth of the deepest point of the tool below the face, mm: what the depth stop is set to.
    through : bool
    spindle_rpm, feed : float or None
        Turns a minute and mm a minute, starting points; ``None`` by hand.
    peck : float or None
        Depth of each peck, mm; ``None`` in one go.
    by_hand : bool
        Done at the bench, not by a program.
    note : str
        What the operator has to know, one sentence.
    """

    kind: StepKind
    tool: int
    diameter: float
    full_depth: float
    tip_depth: float
    through: bool
    spindle_rpm: float | None = None
    feed: float | None = None
    peck: float | None = None
    by_hand: bool = False
    note: str = ""


class PlaceDoubt(Struct, frozen=True):
    """Standard doubts of a hole's place, mm, kept apart by what they do.

    ``together`` shifts the whole pattern as one (spacing stays exact); ``turning`` is what a doubtful direction adds at
    this hole, square to the line from the reference; ``own`` is the drilling of this hole alone.
    """

    together: float = 0.0
    turning: float = 0.0
    own: float = 0.0


class PlannedHole(Struct, frozen=True):
    """A hole to be made.

    Parameters
    ----------
    number : int
        Stable, from 1, unique in the plan: the number on every paper and picture.
    pattern : str
        Name of its pattern, as the job has it.
    number_in_pattern : int
    xy_part, xy_machine : Point
        Centre in the part frame, and in the frame that the readout shows; mm, not rounded.
    purpose : str
        What the hole is for, in words: ``tapped 5-40``, ``clearance for M4, medium``.
    thread : str
        Thread name; empty for a plain hole.
    finished_diameter : float
        Diameter of the finished hole, or of the thread's major diameter, mm.
    steps : tuple of HoleStep
    doubt : PlaceDoubt
    face_z : float
        Height of the face that is drilled, mm; depths of the steps count down from it.
    withheld : bool
        True when a ``stop`` finding speaks of it: no program drills it.
    body : str
        Name of the body that is drilled; empty for the part.
    """

    number: int
    pattern: str
    number_in_pattern: int
    xy_part: Point
    xy_machine: Point
    purpose: str
    thread: str
    finished_diameter: float
    steps: tuple[HoleStep, ...]
    doubt: PlaceDoubt = PlaceDoubt()
    face_z: float = 0.0
    withheld: bool = False
    body: str = ""


class StandingHole(Struct, frozen=True):
    """A hole that exists already, open or plugged, in the part frame.

    ``label`` is its name on the pictures (``old 3``); ``diameter`` the largest that counts, thread major diameter
    included; ``plug`` says in words what fills it, empty when it stays open; ``to_plug`` is True when the plan has
    it plugged first.
    """

    label: str
    xy_part: Point
    xy_machine: Point
    diameter: float
    plug: str = ""
    to_plug: bool = False


def hole_name(hole: PlannedHole) -> str:
    """Return a hole in words, by its number on the sheet and that in its pattern where the two differ."""
    return hole_words(hole.number, hole.pattern, hole.number_in_pattern)
