"""Many points against many curves: which curves are worth measuring to, and which edges a height crosses.

A traced outline has thousands of edges, and a table of all points by all of them grows with the product. Here a tree of
boxes and a list by height leave few pairs; what is measured is measured by the same formulas, so the answers are the
same to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from holecam.shapes.curves import Arc, Curve

Floats = NDArray[np.float64]
Indexes = NDArray[np.intp]

PAIRS_FROM = 20_000
"""Points times curves from which an index pays; below it the whole table is quicker."""

SAG = 0.02
"""mm. How far a chord that stands for a bit of arc in the tree may lie from it; more candidates, not another answer."""

MOST_CHORDS = 64
"""Chords of one arc at most."""

NOISE = 1e-9
"""Share of the size by which the tree's distances may be off: arithmetic noise."""

MOST_IN_SLABS = 4_000_000
"""Edges listed by height at most, each as often as heights pass it; an outline of long spikes has too many."""


class CurveTree:
    """The curves of a chain in a tree of boxes."""

    def __init__(self, curves: Sequence[Curve]) -> None:
        rows: list[tuple[float, float]] = []
        owners: list[int] = []
        self.sag = 0.0
        for n, curve in enumerate(curves):
            pieces = 1
            if isinstance(curve, Arc):
                step = 2.0 * math.acos(max(1.0 - SAG / curve.radius, 0.0))
                pieces = min(MOST_CHORDS, max(2, math.ceil(abs(curve.sweep) / step)))
                self.sag = max(self.sag, curve.radius * (1.0 - math.cos(0.5 * curve.sweep / pieces)))
            rows += [curve.point_at(k / pieces) for k in range(pieces + 1)]
            owners += [n] * (pieces + 1)
        xy = np.array(rows)
        self.noise = NOISE * max(1.0, float(np.abs(xy).max()))
        self.tree = shapely.STRtree(shapely.linestrings(xy, indices=owners))

    def candidates(self, points: Floats, within: float) -> tuple[Indexes, Indexes]:
        """Return pairs of a point's and a curve's index: for every point all curves that may be its nearest.

        Points farther than ``within``, mm, from every curve need not be among them.
        """
        asked = shapely.points(points)
        reach: float | Floats = within + self.sag + self.noise
        if not math.isfinite(within):
            pairs, away = self.tree.query_nearest(asked, return_distance=True, all_matches=False)
            reach = np.empty(len(points))
            reach[pairs[0]] = away + 2.0 * self.sag + self.noise
        of_point, of_curve = self.tree.query(asked, predicate="dwithin", distance=reach)
        return of_point, of_curve


class Slabs(Struct, frozen=True, eq=False):
    """Which pieces of an edge stand at each height: ``listed[starts[k]:starts[k + 1]]`` from height k to the next."""

    heights: Floats
    starts: Indexes
    listed: Indexes

    @classmethod
    def of(cls, low: Floats, high: Floats) -> Slabs | None:
        """Return the list for pieces from ``low`` up to below ``high``; ``None`` where it would grow too long."""
        heights = np.sort(np.concatenate((low, high)))
        heights = heights[np.concatenate(([True], np.diff(heights) > 0.0))]
        first, last = np.searchsorted(heights, low), np.searchsorted(heights, high)
        counts = last - first
        total = int(counts.sum())
        if total > MOST_IN_SLABS:
            return None
        piece = np.repeat(np.arange(len(low)), counts)
        slab = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(first, counts)
        order = np.argsort(slab, kind="stable")
        starts = np.searchsorted(slab[order], np.arange(len(heights) + 1))
        return cls(heights, starts, piece[order])

    def pairs(self, y: Floats) -> tuple[Indexes, Indexes]:
        """Return pairs of a point's and a piece's index: for every height the pieces that stand at it."""
        slab = np.searchsorted(self.heights, y, side="right") - 1
        known = slab >= 0
        begins = np.where(known, self.starts[slab], 0)
        counts = np.where(known, self.starts[slab + 1] - begins, 0)
        point = np.repeat(np.arange(len(y)), counts)
        place = np.arange(len(point)) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(begins, counts)
        return point, self.listed[place]
