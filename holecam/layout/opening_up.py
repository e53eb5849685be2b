"""When the screws do not all enter: which hole to open, to what drill or into what slot, with the least metal
removed."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.bolt_up import JUST_ENTERS, BoltUp, Joint, NoPlay, bolt_up
from holecam.layout.bolt_up_motion import Motion
from holecam.layout.bolt_up_play import Member, RoundHole
from holecam.layout.opening_up_search import (
    DrilledOpen,
    DrillSize,
    Opening,
    Search,
    SlottedOpen,
    all_drilled_opening,
    drilled_by_growth,
    eased,
    growth_of,
    holding,
    pair_by_drills,
    pair_by_slots,
    promising_pairs,
    slotted_opening,
)

__all__ = ["SLOT_STEP", "DrillSize", "DrilledOpen", "Opening", "OpeningUp", "SlottedOpen", "open_up"]

SLOT_STEP = 0.1
"""mm. Slots are lengthened in steps of this, always up: what a file or a mill's readout can follow."""


class OpeningUp(Struct, frozen=True):
    """The ways out, each kind with the least metal first.

    ``before`` is the bolt-up as it stands. ``drilled`` and ``slotted`` hold single holes if any single one does it,
    else pairs. ``all_drilled`` opens every hole that may be opened by the same amount; ``None`` if no listed drill is
    large enough. ``single`` tells whether one hole is enough.
    """

    before: BoltUp
    wanted_ratio: float
    drilled: tuple[Opening, ...]
    slotted: tuple[Opening, ...]
    all_drilled: Opening | None
    single: bool

    @property
    def needed(self) -> bool:
        """Whether anything has to be opened at all."""
        return self.before.ratio > self.wanted_ratio * (1.0 + JUST_ENTERS)

    @property
    def best(self) -> Opening | None:
        """The drilled way with the least metal removed, or the slotted one where no drill serves."""
        if self.drilled:
            return self.drilled[0]
        return self.slotted[0] if self.slotted else self.all_drilled


def _openable(joint: Joint, members: Collection[Member]) -> Member | None:
    """Return the member whose hole may be opened: a round clearance hole, the part's first."""
    if "part" in members and isinstance(joint.part_hole, RoundHole):
        return "part"
    if "mate" in members and isinstance(joint.mate_hole, RoundHole):
        return "mate"
    return None


def open_up(
    joints: Sequence[Joint],
    *,
    drills: Sequence[DrillSize],
    motion: Motion | None = None,
    members: Collection[Member] = ("part", "mate"),
    wanted_ratio: float = 1.0,
    largest: float = math.inf,
    slot_step: float = SLOT_STEP,
    part_thickness: float = 1.0,
    mate_thickness: float = 1.0,
    sensible_ratio: float = 1.0,
) -> OpeningUp:
    """Return which hole, or which pair if no single one is enough, to open so that every screw enters.

    Round clearance holes may be opened; threads, countersinks and slots are left alone. The least metal removed comes
    first, by area times thickness of the member.

    Parameters
    ----------
    joints : sequence of Joint
    drills : sequence of (name, diameter in mm)
        The sizes at hand, in any order.
    motion : Motion, optional
    members : collection of "part", "mate"
        Which member's holes may be opened; where both may, the part's is.
    wanted_ratio : float
        The share of its play that the worst screw may use in the end, above 0 and at most 1.
    largest : float
        No hole becomes larger than this, mm: what the head or the washer still covers.
    slot_step : float
        Slots are lengthened by whole steps, mm.
    part_thickness, mate_thickness : float
        mm; leave both at 1 to compare areas.
    sensible_ratio : float
        The holes that have to be opened are drilled so much larger that the worst screw uses no more than this share
        of its play, where that can be had from them: a drill that just passes leaves nothing for how the hole comes
        out. Above 0 and at most 1; 1 takes the drill that just passes.

    Raises
    ------
    InputError
        A size is not positive, ``wanted_ratio`` is out of range, or a screw does not enter its own holes.
    """
    if not 0.0 < sensible_ratio <= 1.0:
        raise InputError(f"sensible ratio {sensible_ratio}: expected above 0 and at most 1, the share of the play used")
    if not 0.0 < wanted_ratio <= 1.0:
        raise InputError(f"wanted ratio {wanted_ratio}: expected above 0 and at most 1, the share of the play used")
    sizes = [s for _, s in drills] + [slot_step, part_thickness, mate_thickness]
    if not all(s > 0.0 for s in sizes) or not all(math.isfinite(s) for s in sizes):
        raise InputError("opening up: expected drill sizes, thicknesses and the slot step finite and above zero")
    motion = Motion() if motion is None else motion
    before = bolt_up(joints, motion=motion)
    if isinstance(before, NoPlay):
        raise InputError(
            f"screws {list(before.numbers)} do not enter their own holes: give these holes a size above the screw first"
        )
    work = Search(
        tuple(joints),
        tuple(j.play for j in joints),
        motion,
        wanted_ratio,
        tuple(sorted(drills, key=lambda d: d[1])),
        tuple(_openable(j, members) for j in joints),
        {"part": part_thickness, "mate": mate_thickness},
        largest,
        slot_step,
    )
    if before.ratio <= wanted_ratio * (1.0 + JUST_ENTERS):
        return OpeningUp(before, wanted_ratio, (), (), None, single=False)
    drilled, slotted = [], []
    single = False
    candidates = holding(before, joints, work.openable)
    for i in candidates:
        growth = growth_of(work, i)
        if growth is None:
            continue
        single = True
        drilled.append(drilled_by_growth(work, {i: growth}))
        if work.plays[i].slot_member is None:
            slotted.append(slotted_opening(work, {i: growth}))
    if not any(drilled):  # no single hole is enough, or no listed drill is
        for i, j in promising_pairs(work, candidates):
            drilled.append(pair_by_drills(work, i, j))
            if not single and work.plays[i].slot_member is None and work.plays[j].slot_member is None:
                slotted.append(pair_by_slots(work, i, j))
    easy = [eased(work, opening, sensible_ratio) for opening in drilled]
    everywhere = eased(work, all_drilled_opening(work), sensible_ratio)
    return OpeningUp(before, wanted_ratio, _least_metal(easy), _least_metal(slotted), everywhere, single)


def _least_metal(found: Sequence[Opening | None]) -> tuple[Opening, ...]:
    return tuple(sorted((o for o in found if o is not None), key=lambda o: (o.removed, o.numbers)))
