"""From the neutral path of a cutter to the motions of a program."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from holecam.cuts.path_values import CutMove, LevelPath, MoveKind
from holecam.plan.motions import ArcFeed, Feed, Motion, Rapid
from holecam.shapes import Arc, Placement, Point, distance

ENTRY_SHARE = 0.5
"""Feed while the cutter goes down through solid material, over the cutting feed; common practice."""

RAPID_GAP = 2.0
"""mm (0.08 in) above the stock: how far a descent goes by rapid; common practice."""

SAME_PLACE = 1e-6
"""mm. A move that starts this near to where the cutter is needs no travel first."""


IN_PLACE = Placement()
"""The path's own frame."""


def level_motions(
    levels: Iterable[LevelPath], *, feed: float, clearance_z: float, frame: Placement = IN_PLACE, face_z: float = 0.0
) -> list[Motion]:
    """Return the motions of a path, each level from the clearance height and back to it.

    Parameters
    ----------
    levels : iterable of LevelPath
    feed : float
        Cutting feed, mm/min; moves that bite more, and entries, are slower.
    clearance_z : float
        Height for sideways rapids, in the path's own heights.
    frame : Placement
        Carries the path into the frame of the program.
    face_z : float
        Height of the face that is cut, mm: the path counts from it.
    """
    motions: list[Motion] = []
    here: Point | None = None
    for level in levels:
        for planned in level.moves:
            move = _moved(planned, frame, face_z)
            if here is None or distance(here, move.start) > SAME_PLACE:
                motions.append(Rapid(z=clearance_z + face_z))
                motions.append(Rapid(x=move.start[0], y=move.start[1]))
            motions += _motions(move, feed, face_z)
            here = move.at
    return motions


def _moved(move: CutMove, frame: Placement, face_z: float) -> CutMove:
    """Return a move in the frame of the program; an arc must stay one, so a frame never scales."""
    return replace(
        move,
        curve=None if move.curve is None else frame.apply_curve(move.curve),
        at=frame.apply(move.at),
        z_start=move.z_start + face_z,
        z_end=move.z_end + face_z,
    )


def _motions(move: CutMove, feed: float, top_z: float) -> list[Motion]:
    speed = feed * move.feed_factor * (ENTRY_SHARE if move.kind is MoveKind.ENTRY else 1.0)
    if move.kind is MoveKind.RETRACT:
        return [Rapid(z=move.z_end)]
    if move.kind is MoveKind.TRAVEL:
        return [Rapid(x=move.at[0], y=move.at[1])]
    if move.curve is None:
        return _straight_down(move, speed, top_z)
    z = None if move.z_end == move.z_start else move.z_end
    if isinstance(move.curve, Arc):
        arc = move.curve
        return [ArcFeed(speed, arc.end[0], arc.end[1], arc.center, arc.ccw, z)]
    return [Feed(speed, move.at[0], move.at[1], z)]


def _straight_down(move: CutMove, speed: float, top_z: float) -> list[Motion]:
    near = top_z + RAPID_GAP
    if move.z_start > near > move.z_end:
        return [Rapid(z=near), Feed(speed, z=move.z_end)]
    return [Feed(speed, z=move.z_end)]
