"""Paths as the chains that the cutter follows at depth."""

from __future__ import annotations

from holecam.cuts.path_values import CutPath, MoveKind
from holecam.shapes import Curve

AT_DEPTH = (MoveKind.CUT, MoveKind.FINISH, MoveKind.LINK)


def chains_at_depth(path: CutPath, *, level: int = -1) -> list[list[Curve]]:
    """Return what the cutter follows at one level without lifting; entries are left out."""
    chains: list[list[Curve]] = [[]]
    for move in path.levels[level].moves:
        if move.kind in AT_DEPTH and move.curve is not None:
            chains[-1].append(move.curve)
        elif chains[-1]:
            chains.append([])
    return [c for c in chains if c]
