"""How far a screw's two holes may lie off one another before the screw no longer enters: the play of one joint."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from holecam.errors import InputError

SEAT_TOLERANCE = 0.05
"""mm. How far off centre a countersunk head is still taken to pull itself home when nothing else gives. Common
practice: about the ordinary difference between a countersink and its head; state your own where it matters."""

Member = Literal["part", "mate"]
"""The piece that carries the new pattern, or the piece that it is screwed to."""


def _positive(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise InputError(f"{what} {value} mm: expected a finite size above zero", value=str(value))


class RoundHole(Struct, frozen=True):
    """A clearance hole of a diameter, mm."""

    diameter: float

    def __post_init__(self) -> None:
        _positive(self.diameter, "hole diameter")


class SlottedHole(Struct, frozen=True):
    """A clearance slot with round ends.

    ``width`` and ``length`` (over both ends) in mm; ``direction_deg`` is the way it runs, anticlockwise from +X in the
    frame of the member that it is cut in. Its place is the middle.
    """

    width: float
    length: float
    direction_deg: float = 0.0

    def __post_init__(self) -> None:
        _positive(self.width, "slot width")
        _positive(self.length, "slot length")
        if self.length < self.width:
            raise InputError(f"slot {self.length} mm long and {self.width} mm wide: length is measured over both ends")
        if not math.isfinite(self.direction_deg):
            raise InputError(f"slot direction {self.direction_deg} deg: expected a finite angle")


class TappedHole(Struct, frozen=True):
    """A threaded hole: it holds the screw and gives it no play. A hand tap often leans by 1 or 2 degrees."""

    lean_deg: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.lean_deg < 45.0:
            raise InputError(f"lean {self.lean_deg} deg: expected 0 to 45, how far the thread leans off square")


class CountersunkHole(Struct, frozen=True):
    """A countersunk hole: the head centres itself, so a seated screw has no play on this side.

    ``seat_tolerance`` (mm) stands in for play only when the other hole has none either.
    """

    seat_tolerance: float = SEAT_TOLERANCE

    def __post_init__(self) -> None:
        _positive(self.seat_tolerance, "seat tolerance")


JointHole = RoundHole | SlottedHole | TappedHole | CountersunkHole


class PlayTerm(Struct, frozen=True):
    """One line of the sum that makes up the play: what it is and how much, mm, below zero where it takes play away."""

    name: str
    amount: float


class ScrewPlay(Struct, frozen=True):
    """Where the screw's two hole centres may lie relative to one another.

    Parameters
    ----------
    play : float
        Radius of the disc that the offset may fill, mm; zero or less means that the screw does not enter at all.
    slot_half_length : float
        Half the length of the line along which that disc may slide, mm; 0 for round holes.
    slot_direction_deg : float
        Direction of that line in the frame of ``slot_member``.
    slot_member : "part", "mate" or None
    terms : tuple of PlayTerm
        The sum behind ``play``, in words.
    """

    play: float
    slot_half_length: float = 0.0
    slot_direction_deg: float = 0.0
    slot_member: Member | None = None
    terms: tuple[PlayTerm, ...] = ()

    def __post_init__(self) -> None:
        values = (self.play, self.slot_half_length, self.slot_direction_deg)
        if not all(math.isfinite(v) for v in values) or self.slot_half_length < 0.0:
            raise InputError(f"play of a screw: expected finite figures and a slot length not below zero, got {values}")
        if self.slot_half_length > 0.0 and self.slot_member is None:
            raise InputError("play of a screw: a slot needs the member that it is cut in, part or mate")


def _clearance(hole: JointHole, member: Member, screw: float) -> PlayTerm:
    """Return what one hole gives, mm, as one line of the sum."""
    if isinstance(hole, RoundHole):
        return PlayTerm(f"clearance hole in the {member}", (hole.diameter - screw) / 2.0)
    if isinstance(hole, SlottedHole):
        return PlayTerm(f"slot width in the {member}", (hole.width - screw) / 2.0)
    if isinstance(hole, TappedHole):
        return PlayTerm(f"thread in the {member}", 0.0)
    return PlayTerm(f"countersunk head in the {member}", 0.0)


def screw_play(*, part: JointHole, mate: JointHole, screw: float, plate_thickness: float = 0.0) -> ScrewPlay:
    """Return the play of one screw between its hole in the part and its hole in the mate.

    A clearance hole H for a screw F gives ``(H - F) / 2``; a thread gives nothing; a countersunk head gives nothing
    once it is seated (common practice). Clearance on both sides adds up. A thread that leans takes
    ``plate_thickness * tan(lean)`` away, because the screw crosses the plate at a slant.

    Parameters
    ----------
    part, mate : JointHole
    screw : float
        Largest diameter of the screw where it passes, mm.
    plate_thickness : float
        Thickness of the plate that the screw crosses above the thread, mm; only a leaning thread needs it.

    Raises
    ------
    InputError
        Both holes are threaded (the screw would hold the pieces apart), both are countersunk, or both are slots
        (two slots in one joint are not covered).

    Examples
    --------
    An M4 screw in a medium hole of ISO 273 (4.5 mm) over a square thread; then over one that leans 2 degrees, 3 mm
    plate.

    >>> screw_play(part=RoundHole(4.5), mate=TappedHole(), screw=4.0).play
    0.25
    >>> round(screw_play(part=RoundHole(4.5), mate=TappedHole(2.0), screw=4.0, plate_thickness=3.0).play, 3)
    0.145
    """
    _positive(screw, "screw diameter")
    if not (math.isfinite(plate_thickness) and plate_thickness >= 0.0):
        raise InputError(f"plate thickness {plate_thickness} mm: expected zero or more")
    for kind, why in (
        (TappedHole, "both holes are threaded: the screw would hold the pieces apart. Open one to clearance"),
        (CountersunkHole, "both holes are countersunk: a screw has one head. Say what the other hole is"),
        (SlottedHole, "slots in both members of one screw are not covered: give the wider one as a round hole"),
    ):
        if isinstance(part, kind) and isinstance(mate, kind):
            raise InputError(f"joint of one screw: {why}")
    terms = [_clearance(part, "part", screw), _clearance(mate, "mate", screw)]
    pairs: tuple[tuple[JointHole, Member], ...] = ((part, "part"), (mate, "mate"))
    clear = any(isinstance(hole, (RoundHole, SlottedHole)) for hole, _ in pairs)
    for hole, member in pairs:
        if isinstance(hole, CountersunkHole) and not clear:
            terms.append(PlayTerm(f"seat tolerance of the head in the {member}", hole.seat_tolerance))
        if isinstance(hole, TappedHole) and hole.lean_deg > 0.0:
            taken = plate_thickness * math.tan(math.radians(hole.lean_deg))
            terms.append(PlayTerm(f"thread in the {member} leans {hole.lean_deg:g} deg", -taken))
    # A screw that is thicker than one of its holes does not enter it, however wide the other one is
    play = min(
        math.fsum(term.amount for term in terms), *(term.amount for term in terms[:2] if term.amount < 0.0), math.inf
    )
    for hole, member in pairs:
        if isinstance(hole, SlottedHole):
            half = (hole.length - hole.width) / 2.0
            return ScrewPlay(play, half, hole.direction_deg, member if half > 0.0 else None, tuple(terms))
    return ScrewPlay(play, terms=tuple(terms))
