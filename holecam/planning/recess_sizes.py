"""How wide and deep the recess for a screw's head is, and what it takes of the thread below it."""

from __future__ import annotations

import math

from holecam.errors import InputError
from holecam.job.models_hole import HoleWork
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.standards.blind_holes import point_length
from holecam.standards.screw_heads import (
    COUNTERBORE_ROOM,
    OTHER_COUNTERSINK_DEG,
    counterbore,
    countersink_angle,
    screw_head,
)
from holecam.standards.threads import Thread

COUNTERBORE_STEP: dict[Unit, float] = {"mm": 0.5, "in": 25.4 / 32}
"""mm. Steps in which such tools are sold (common practice)."""

SPANNER_ROOM = 2.7
"""Times the screw's diameter: a narrower recess lets no socket spanner in. DIN 974-2 has 2.75 (M12) to 3.7 times (M3),
M6 18 mm (from memory)."""

Findings = tuple[Finding, ...]


def counterbore_size(work: HoleWork, screw: Thread | None) -> tuple[float, float]:
    """Return diameter and depth of the counterbore that a pattern asks for, mm.

    Raises
    ------
    InputError
        A head without a screw, or one whose height is not known.
    """
    wish = work.counterbore
    assert wish is not None
    if wish.diameter is not None and wish.depth is not None:
        return float(wish.diameter), float(wish.depth)
    if wish.head == "flat":
        raise InputError(
            'counterbore for a flat head: its cone would stand on the edge of the hole; write countersink = "flat", or '
            "give diameter and depth"
        )
    screw = _screw(screw, "counterbore")
    if wish.head is None or wish.head == "socket":
        table = counterbore(screw)
        diameter, deep = table.diameter, table.depth
    else:
        head = screw_head(screw, wish.head)
        if head.height is None:
            raise InputError(f"counterbore for a {head.kind} head: its height is not known; give diameter and depth")
        diameter, deep = head.diameter + COUNTERBORE_ROOM, head.height
    return (
        float(wish.diameter) if wish.diameter is not None else diameter,
        float(wish.depth) if wish.depth is not None else deep,
    )


def tool_size(diameter: float, unit: Unit) -> float:
    """Return the next larger size that counterbores and end mills are made in, mm: half a millimetre, 1/32 in."""
    step = COUNTERBORE_STEP[unit]
    return math.ceil(diameter / step - 1e-9) * step


def spanner_findings(work: HoleWork, screw: Thread | None, diameter: float | None, about: str, unit: Unit) -> Findings:
    """Return a caution when a recess of this diameter, mm, takes a hexagon but no spanner to turn it with."""
    if work.counterbore is None or work.counterbore.head != "hex" or screw is None or diameter is None:
        return ()
    room = SPANNER_ROOM * screw.major
    if diameter >= room - 1e-9:
        return ()
    return (
        Finding(
            "no-room-for-spanner",
            Severity.CAUTION,
            about,
            f"The recess of {about}, {length_text(diameter, unit)}, takes the hexagon of {screw.name} but no socket "
            f"spanner.",
            measured=diameter,
            limit=room,
            source="DIN 974-2, about 3 times the screw (from memory)",
            remedy=f"Give counterbore a diameter of some {length_text(3.0 * screw.major, unit)}, or take a socket "
            "head; as it is, the screw can only be held there and turned from the other end.",
        ),
    )


def cone_size(work: HoleWork, screw: Thread | None) -> tuple[float, float]:
    """Return diameter at the face, mm, and included angle, degrees, of the countersink that a pattern asks for.

    Raises
    ------
    InputError
        A head without a screw.
    """
    wish = work.countersink
    assert wish is not None
    if wish.diameter is not None:
        diameter, angle = float(wish.diameter), OTHER_COUNTERSINK_DEG if screw is None else countersink_angle(screw)
    else:
        head = screw_head(_screw(screw, "countersink"), wish.head or "flat")
        assert head.angle_deg is not None
        diameter, angle = head.diameter, head.angle_deg
    return diameter, wish.angle_deg if wish.angle_deg is not None else angle


def thread_taken(work: HoleWork, thread: Thread) -> float:
    """Return how far below the face a recess takes the thread away, mm: what is left under it holds the screw.

    A cone takes it as far down as it is wider than the thread.
    """
    if work.counterbore is not None:
        return counterbore_size(work, thread)[1]
    if work.countersink is not None:
        diameter, angle = cone_size(work, thread)
        return point_length(max(diameter, thread.major), point_deg=angle) - point_length(thread.major, point_deg=angle)
    return 0.0


def _screw(screw: Thread | None, what: str) -> Thread:
    if screw is None:
        raise InputError(f"{what}: a head has no size without a screw; give thread or clearance_for, or a diameter")
    return screw
