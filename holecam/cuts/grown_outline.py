"""The shape that a pocket must have to clear a thing: its outline grown all round by the clearance of a side."""

from __future__ import annotations

import math

from holecam.cuts.offsets import offset_outward
from holecam.cuts.region_checks import check_outline
from holecam.errors import InputError
from holecam.shapes import Outline


def clearing_outline(thing: Outline, clearance: float, what: str = "outline") -> tuple[Outline, tuple[Outline, ...]]:
    """Return the wall of the pocket that clears a thing, and the islands that stay where the thing goes round them.

    Every place of the wall is the clearance away from the thing, corners become arcs; lines and arcs stay what they
    are. A clearance of 0 gives the thing itself.

    Raises
    ------
    InputError
        The outline crosses itself, or the clearance is negative.
    """
    if not (math.isfinite(clearance) and clearance >= 0):
        raise InputError(f"{what}: clearance {clearance} mm: expected a length of 0 or more")
    check_outline(thing, what)
    if clearance == 0:
        return thing.counterclockwise(), ()
    edges = offset_outward(thing, clearance)
    wall = max(edges, key=lambda o: o.area)
    return wall, tuple(o.counterclockwise() for o in edges if o is not wall)
