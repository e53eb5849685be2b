"""How wide and deep the recess for a screw's head is, and what it takes of the thread below it."""

from __future__ import annotations

from holecam.errors import InputError
from holecam.job.models_hole import HoleWork
from holecam.standards.blind_holes import point_length
from holecam.standards.screw_heads import (
    COUNTERBORE_ROOM,
    OTHER_COUNTERSINK_DEG,
    counterbore,
    countersink_angle,
    screw_head,
)
from holecam.standards.threads import Thread


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
