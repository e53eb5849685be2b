"""Moves as columns, made by hand for tests."""

from __future__ import annotations

import math

import numpy as np

from holecam.program.moves import Kind, Moves, Setup

Place = tuple[float, float, float]
Row = tuple[Kind, Place, Place, tuple[float, float] | None]


def columns(
    *rows: Row,
    tools: tuple[int, ...] | None = None,
    feeds: tuple[float, ...] | None = None,
    cycles: tuple[int, ...] | None = None,
) -> Moves:
    """Moves from (kind, start, end, centre), with a tool, a feed and a cycle each; tool 1, 100 mm/min and none else."""
    n = len(rows)
    used = tools or (1,) * n
    known = sorted(set(used)) or [1]
    return Moves(
        np.arange(1, n + 1, dtype=np.int32),
        np.array([r[0] for r in rows], dtype=np.uint8),
        np.array([r[1] for r in rows], dtype=np.float64).reshape(-1, 3),
        np.array([r[2] for r in rows], dtype=np.float64).reshape(-1, 3),
        np.array([r[3] or (math.nan, math.nan) for r in rows], dtype=np.float64).reshape(-1, 2),
        np.array(feeds or (100.0,) * n, dtype=np.float64),
        np.array([known.index(t) for t in used], dtype=np.int32),
        np.array(cycles or (-1,) * n, dtype=np.int32),
        tuple(Setup(tool=t, spindle=1, rpm=1000.0 * t) for t in known),
    )
