"""Sneaking up on a size: an undersize first cut and clean-up passes, each with a stop. Lengths in mm."""

from __future__ import annotations

from msgspec import Struct

from holecam.cuts.hand_values import HandWork
from holecam.cuts.path_values import CutPath


class SneakPass(Struct, frozen=True):
    """One stage: pass 0 is the undersize cut, the last one reaches the wanted size.

    Parameters
    ----------
    number : int
    size : float
        Width that this stage is meant to have when it is cut.
    side_allowance : float
        What remains on each wall after it: half the difference to the wanted size.
    measure : str
        What to measure at the stop after it.
    next_rule : str
        How the next offset follows from what was measured, in words.
    path : CutPath
        Only what this stage cuts.
    by_hand : HandWork
    """

    number: int
    size: float
    side_allowance: float
    measure: str
    next_rule: str
    path: CutPath
    by_hand: HandWork


def next_side_offset(*, target: float, measured: float) -> float:
    """Return how much to take off each wall next, mm: half of what is missing; negative when it is too wide already.

    >>> round(next_side_offset(target=12.0, measured=11.4), 3)
    0.3
    """
    return (target - measured) / 2
