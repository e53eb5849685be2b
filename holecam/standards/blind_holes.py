"""Blind tapped holes: how deep to drill for a depth of thread, and how deep one may drill over what must stay whole.

Depths are positive downward from the surface, in mm. The cylinder depth is where the drill's full diameter ends, the
tip depth where its point ends; over a thin bottom the tip counts.
"""

import math
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.threads import Thread

USUAL_POINT_DEG = 118.0
"""Included angle of a general-purpose twist drill."""

CLEARANCE_PITCHES = 1.0
"""Room under the tap's end, in pitches; at least one, tap supplier's technical note."""

MALE_CENTRE_LARGEST = 9.525
"""mm (3/8 in). Plug and taper taps up to this size have a pointed male centre, D/2 long; tap supplier's note."""


def point_length(diameter: float, *, point_deg: float = USUAL_POINT_DEG) -> float:
    """Return the length of a drill's point in mm: (d/2) / tan(point/2).

    Raises
    ------
    InputError
        The diameter is not positive and finite, or the angle not between 30 and 180 degrees.

    Examples
    --------
    118 degrees: 0.3004 d; 135 degrees: 0.2071 d.

    >>> round(point_length(10.0), 3), round(point_length(10.0, point_deg=135.0), 3)
    (3.004, 2.071)
    """
    if not (math.isfinite(diameter) and diameter > 0):
        raise InputError(f"drill {diameter:g} mm: expected a positive diameter", key="drill", value=f"{diameter:g}")
    if not 30 <= point_deg <= 180:
        raise InputError(
            f"drill point {point_deg:g} deg: expected an included angle of 30 to 180 degrees", key="point_deg"
        )
    if point_deg == 180:
        return 0.0
    return diameter / 2 / math.tan(math.radians(point_deg / 2))


def below_thread(
    thread: Thread,
    *,
    lead_pitches: float,
    clearance_pitches: float = CLEARANCE_PITCHES,
    male_centre: bool = False,
    chips_stay: bool = False,
) -> float:
    """Return the cylinder needed under the last full thread, mm: lead, clearance, male centre, room for chips.

    Parameters
    ----------
    lead_pitches : float
        Tapered lead of the tap, see :mod:`tap_leads`.
    male_centre : bool
        The tap ends in a pointed male centre: D/2 more.
    chips_stay : bool
        A straight-fluted hand tap in a deep hole drops its chips ahead: 1 D more, the most that the source gives.

    Raises
    ------
    InputError
        A number is negative or not finite.
    """
    for name, value in (("lead_pitches", lead_pitches), ("clearance_pitches", clearance_pitches)):
        if not (math.isfinite(value) and value >= 0):
            raise InputError(f"{name} {value:g}: expected a number of pitches, zero or more", key=name)
    length = (lead_pitches + clearance_pitches) * thread.pitch
    if male_centre:
        length += thread.major / 2
    if chips_stay:
        length += thread.major
    return length


def has_male_centre(thread: Thread, *, male_centre_d: float) -> bool:
    """Return whether a tap of a kind with such a centre has one at this size."""
    return male_centre_d > 0 and thread.major <= MALE_CENTRE_LARGEST + 1e-9


class BlindHole(NamedTuple):
    """A blind tapped hole, all depths in mm from the surface.

    ``full_thread`` usable depth, ``cylinder`` depth of the drill's full diameter, ``tip`` depth of its point,
    ``threads`` full threads in the usable depth, ``bottom`` metal under the tip (``None``: thickness not stated).
    """

    full_thread: float
    threads: float
    cylinder: float
    tip: float
    bottom: float | None


def blind_hole(
    thread: Thread,
    *,
    full_thread: float,
    drill: float,
    below: float,
    point_deg: float = USUAL_POINT_DEG,
    thickness: float | None = None,
) -> BlindHole:
    """Return how deep to drill for a depth of full thread.

    Parameters
    ----------
    full_thread : float
        Depth of full thread wanted, mm.
    drill : float
        Tap drill diameter, mm.
    below : float
        Cylinder under the last full thread, from :func:`below_thread`, mm.
    thickness : float or None
        Thickness of the stock, to give the bottom that is left; it is negative when the drill comes through.

    Raises
    ------
    InputError
        A length is not positive (``below`` may be zero).

    Examples
    --------
    1/4-20, 3/8 in of thread, a lead of 2 threads and 1 of clearance: 0.525 in (tap supplier's technical note).

    >>> from holecam.standards.thread_names import parse_thread
    >>> thread = parse_thread("1/4-20")
    >>> below = below_thread(thread, lead_pitches=2)
    >>> hole = blind_hole(thread, full_thread=0.375 * 25.4, drill=0.201 * 25.4, below=below)
    >>> round(hole.cylinder / 25.4, 3)
    0.525
    """
    _positive("full thread", full_thread)
    _not_negative("length below the thread", below)
    cylinder = full_thread + below
    tip = cylinder + point_length(drill, point_deg=point_deg)
    bottom = None if thickness is None else _positive("thickness", thickness) - tip
    return BlindHole(full_thread, full_thread / thread.pitch, cylinder, tip, bottom)


class DeepestHole(NamedTuple):
    """The deepest blind hole that leaves a stated bottom under the drill's point; depths in mm from the surface.

    ``cylinder`` is 0 when the point alone takes all the depth there is. ``full_thread`` and ``threads`` are what stays
    usable, 0 when nothing does; ``why_none`` then says in words what is missing.
    """

    tip: float
    cylinder: float
    full_thread: float
    threads: float
    why_none: str


def deepest_hole(
    thread: Thread,
    *,
    thickness: float,
    bottom: float,
    drill: float,
    below: float,
    point_deg: float = USUAL_POINT_DEG,
) -> DeepestHole:
    """Return the deepest drilling that leaves a bottom, and the full threads that remain above it.

    This keeps a drill from coming through into a thin sheet under a soldered bar: ``thickness`` is then that of the bar
    alone, and ``bottom`` what must stay over the bond.

    Parameters
    ----------
    thickness : float
        Stock that may be drilled into, mm.
    bottom : float
        Metal that must stay under the point, mm; zero is allowed and leaves none.
    drill, below, point_deg
        As for :func:`blind_hole`.

    Raises
    ------
    InputError
        A length is negative or not finite, or the bottom is as thick as the stock.
    """
    _positive("thickness", thickness)
    _not_negative("bottom", bottom)
    _not_negative("length below the thread", below)
    if bottom >= thickness:
        raise InputError(
            f"bottom {bottom:.3g} mm: expected less than the thickness, {thickness:.3g} mm; there is nothing to drill",
            key="bottom",
            value=f"{bottom:g}",
        )
    tip = thickness - bottom
    point = point_length(drill, point_deg=point_deg)
    cylinder = max(0.0, tip - point)  # what the point leaves; zero is said in why_none
    full_thread = max(0.0, cylinder - below)
    why_none = ""
    if cylinder == 0:
        why_none = f"the point of the drill alone is {point:.3g} mm long, {tip:.3g} mm may be drilled"
    elif full_thread == 0:
        why_none = f"the cylinder is {cylinder:.3g} mm deep, the tap takes {below:.3g} mm below its last full thread"
    return DeepestHole(tip, cylinder, full_thread, full_thread / thread.pitch, why_none)


def _positive(name: str, value: float) -> float:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} {value:g} mm: expected a positive length", key=name, value=f"{value:g}")
    return value


def _not_negative(name: str, value: float) -> float:
    if not (math.isfinite(value) and value >= 0):
        raise InputError(f"{name} {value:g} mm: expected zero or a positive length", key=name, value=f"{value:g}")
    return value
