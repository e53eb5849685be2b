"""Another place for a pattern: the nearest or the roomiest, along a free direction, readable, turned where it may."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.job.models_place import Place
from holecam.layout.freedom_along_room import roomiest_along
from holecam.layout.freedom_field import Freedom
from holecam.layout.freedom_lines import free_along
from holecam.layout.freedom_readable import readable_shift
from holecam.layout.freedom_roomiest import RoomiestShift, roomiest_within
from holecam.layout.freedom_shift_and_turn import nearest_with_turn
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.lengths import rounded
from holecam.plan.facts import Readout
from holecam.planning.placed_patterns import direction_deg_of
from holecam.shapes import Point
from holecam.shapes.angles import cos_sin_deg

FARTHEST_LOOK = 1000.0
"""mm. How far out the nearest allowed place is looked for, to tell it, where none lies within reach."""

USUAL_REACH = 25.4
"""mm. How far from the wanted place another one is looked for where the job does not say."""

MOST_CELLS = 4000
"""Parts of the window that are looked at for the place with the most room: a second at most. A long passage that is
equally roomy all along would take ten times that; the gap that is then left is told."""

LARGEST_SEARCH = 4000
"""Limits up to which the place with the most room is looked for: some tenths of a second."""

TURN_STEP_DEG = 0.05
"""Degrees. Step of the certified search over small turns."""

ROUNDING_SHARE = math.sqrt(0.5)
"""A hole moves by at most this many steps when both its coordinates are rounded."""

STEPS_TO_TRY = 400
"""Readout steps beyond the exact limit that are tried along a free direction before it is given up."""


class FoundPlace(Struct, frozen=True):
    """Another place, as a shift from the wanted one, mm, with how far that is, and a turn about the reference hole."""

    shift: Point
    distance: float
    turn_deg: float = 0.0


def reach_of(place: Place) -> float:
    """Return how far from the wanted place another one is looked for, mm."""
    return float(place.furthest) if place.furthest is not None else USUAL_REACH


def other_place(place: Place | None, freedom: Freedom, wanted: Point, readout: Readout) -> FoundPlace | None:
    """Return another place: nearest or roomiest, in the free direction, readable and still allowed when rounded."""
    if place is None:
        return None
    reach = reach_of(place)
    direction = free_direction(place)
    room = place.when_blocked == "roomiest"
    if direction is not None:
        found = _along(freedom, direction, wanted, readout, reach, room=room)
    elif room:
        step = float(readout.resolution)
        best = roomiest_within(freedom, max(reach - step, reach / 2.0))
        start = best.shift if best.allowed else (0.0, 0.0)
        left = reach - math.hypot(*start)  # the step to the readout's grid may not lead farther than allowed
        near = readable_shift(freedom, start, resolution=readout.resolution, reach=left, anchor=wanted)
        found = None if near is None else FoundPlace(near.shift, math.hypot(*near.shift))
    else:
        near = readable_shift(freedom, (0.0, 0.0), resolution=readout.resolution, reach=reach, anchor=wanted)
        found = None if near is None else FoundPlace(near.shift, near.distance)
    if found is None and place.turn_free_deg > 0 and direction is None:
        return _turned(place, freedom, wanted, readout, reach)
    return found


def _turned(place: Place, freedom: Freedom, wanted: Point, readout: Readout, reach: float) -> FoundPlace | None:
    safe = freedom.grown(ROUNDING_SHARE * float(readout.resolution))
    result = nearest_with_turn(
        safe,
        (0.0, 0.0),
        pivot=wanted,
        low_deg=-place.turn_free_deg,
        high_deg=place.turn_free_deg,
        step_deg=TURN_STEP_DEG,
        reach=reach,
    )
    if result.best is None or result.best.shift is None:
        return None
    return FoundPlace(result.best.shift, result.best.distance, result.best.turn_deg)


def free_direction(place: Place) -> Point | None:
    """Return the one direction in which the pattern may be moved; ``None`` where it may be moved in all."""
    if place.free_along is not None:
        return cos_sin_deg(direction_deg_of(place.free_along))
    return {"x": (1.0, 0.0), "y": (0.0, 1.0)}.get(place.free)


def _along(
    freedom: Freedom, direction: Point, wanted: Point, readout: Readout, reach: float, *, room: bool
) -> FoundPlace | None:
    """Return an allowed shift along a line at which the reference lies on a step of the readout, where it can."""
    safe = freedom.grown(ROUNDING_SHARE * float(readout.resolution))
    line = free_along(safe, direction)
    if room:
        best = roomiest_along(safe, direction, reach)
        way = None if best is None else best.way
    else:
        way = line.nearest(0.0)
    if way is None or abs(way) > reach:
        return None
    step = float(readout.resolution)
    for k in range(STEPS_TO_TRY):
        for sign in (1.0, -1.0):
            raw = way + sign * k * step
            shift = _on_grid(line.shift(raw), direction, wanted, readout)
            if safe.allowed(shift) and math.hypot(*shift) <= reach + ARITHMETIC_NOISE:
                return FoundPlace(shift, math.hypot(*shift))
            if k == 0:
                break
    return None


def _on_grid(shift: Point, direction: Point, wanted: Point, readout: Readout) -> Point:
    """Return the shift changed so that the reference lies on the readout's grid; only along an axis that is free."""
    if direction[1] == 0.0:
        return (float(rounded(wanted[0] + shift[0], readout.resolution)) - wanted[0], 0.0)
    if direction[0] == 0.0:
        return (0.0, float(rounded(wanted[1] + shift[1], readout.resolution)) - wanted[1])
    return shift


def roomiest_place(freedom: Freedom, place: Place | None) -> RoomiestShift | None:
    """Return the place with the most room within reach; ``None`` where nothing limits it or it would take long."""
    limits = len(freedom.discs.site) + sum(len(a.site) for a in freedom.areas)
    if place is None or not limits or limits > LARGEST_SEARCH or free_direction(place) is not None:
        return None
    found = roomiest_within(freedom, reach_of(place), most_cells=MOST_CELLS)
    return found if found.allowed else None
