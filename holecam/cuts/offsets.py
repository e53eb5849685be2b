"""Exact offsets: the closed chains of lines and arcs along which the distance from all walls has a given value.

Every piece is what :mod:`holecam.cuts.distance_clip` leaves of a curve beside a source, so no piece is nearer to any
wall than asked, to 1e-8 mm, whatever the shape. Levels that follow each other are worked out from the one before: a
source that owns no piece at one distance owns none farther away, because the places nearest to a line, arc or corner
are seen from it along straight lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct, field

from holecam.cuts.chaining import Loop, chained_loops
from holecam.cuts.distance_clip import Stretches, combined, complement, merged, near_bodies, near_points
from holecam.cuts.elements import Flags, Floats, Indexes
from holecam.cuts.walls import WallChain, Walls, beside, chains_of_region, walls_of
from holecam.errors import InputError
from holecam.shapes import Outline

SHIFT_IF_DEGENERATE = (0.0, 2e-7, 7e-7, 2e-6, 7e-6)
"""mm. Added to a distance at which chains do not close because more than two walls meet in one place to the last
digit; on the safe side, and far below the micron that counts."""


Allowed = Callable[[Floats], Flags]
"""Takes places, shape (n, 2), and tells which of them lie on the free side of everything."""


class Level(Struct, frozen=True, eq=False):
    """The chains at one distance.

    ``pieces`` are the stretches of sources that own a piece, ``alive`` tells it for each source.
    """

    distance: float
    loops: tuple[Loop, ...]
    pieces: Stretches
    alive: Flags


class OffsetStack(Struct):
    """Offsets of the same walls at growing distances, each worked out from the one before.

    ``allowed`` tells which places may be used at all; it is needed when some walls lie outside others or cross them.
    """

    walls: Walls
    allowed: Allowed | None = None
    levels: list[Level] = field(default_factory=list)

    def at(self, distance: float) -> Level:
        """Return the chains at a distance, mm, not below the last one asked for.

        Raises
        ------
        InputError
            The distance is not positive and finite, or falls; or a drawing so broken that no chain closes.
        """
        if not (math.isfinite(distance) and distance + float(self.walls.margin.min()) > 0):
            raise InputError(f"offset by {distance} mm: expected a distance above zero")
        if self.levels and distance < self.levels[-1].distance:
            raise InputError(f"offset by {distance} mm after {self.levels[-1].distance} mm: expected growing distances")
        for shift in SHIFT_IF_DEGENERATE:
            pieces, alive = self._pieces(distance + shift)
            elements, exists = beside(self.walls, pieces.row, pieces.low, pieces.high, distance + shift)
            assert bool(exists.all())
            loops, open_ends = chained_loops(elements)
            if not open_ends:
                break
        else:
            x, y = float(elements.x1[0]), float(elements.y1[0])
            raise InputError(
                f"offset by {distance:.4f} mm: edges near X {x:.3f} Y {y:.3f} mm meet so nearly that the offset cannot "
                "be closed. Clean the drawing: remove doubled edges and slivers."
            )
        level = Level(distance, loops, pieces, alive)
        self.levels.append(level)
        return level

    def _pieces(self, distance: float) -> tuple[Stretches, Flags]:
        walls = self.walls
        count = len(walls.bodies)
        before = self.levels[-1] if self.levels else None
        if before is None:
            source = np.concatenate(
                [np.arange(count, dtype=np.intp), count + np.flatnonzero(walls.pointed).astype(np.intp)]
            )
            parts = Stretches(source, np.zeros(len(source)), np.ones(len(source)))
        else:
            parts = before.pieces
        curves, exists = beside(walls, parts.row, parts.low, parts.high, distance)
        if not exists.all():
            parts, curves = parts.chosen(exists), curves.take(exists)
        bodies, corners = self._blockers(distance)
        radius = distance + walls.margin
        taken = combined(
            [
                near_bodies(curves, walls.bodies.take(bodies), radius[bodies]),
                near_points(
                    curves,
                    walls.corner_x[corners],
                    walls.corner_y[corners],
                    distance + walls.corner_margin[corners],
                ),
            ]
        )
        lengths = curves.lengths
        left = complement(merged(taken, lengths), lengths)
        span = parts.high[left.row] - parts.low[left.row]
        pieces = Stretches(
            parts.row[left.row],
            parts.low[left.row] + left.low * span,
            parts.low[left.row] + left.high * span,
        )
        if self.allowed is not None and before is None and len(pieces):
            x, y = curves.points_at(left.row, left.middle)
            pieces = pieces.chosen(self.allowed(np.column_stack([x, y])))
        alive = np.zeros(walls.sources, dtype=np.bool_)
        alive[pieces.row] = True
        return pieces, alive

    def _blockers(self, distance: float) -> tuple[Indexes, Indexes]:
        """Return the rows of bodies and corners that can come nearer than ``distance`` to a place of this level.

        Such a place lies ``distance - last`` from a place of the last level, so whatever is nearest to it owns a piece
        at the level ``2 last - distance``, and at every one before. Corners that do not point into the free side are
        nearest only to places beyond a wall, and no step shorter than the last distance leads there.
        """
        walls = self.walls
        count = len(walls.bodies)
        every = np.arange(count, dtype=np.intp)
        if not self.levels:
            return every, np.arange(len(walls.corner_x), dtype=np.intp)
        last = self.levels[-1].distance
        reach = 2.0 * last - distance
        known = [level for level in self.levels if level.distance <= reach]
        least = last + float(walls.margin.min())
        near_enough = distance - last < least
        if not near_enough:
            return every, np.arange(len(walls.corner_x), dtype=np.intp)
        if not known:
            return every, np.flatnonzero(walls.pointed).astype(np.intp)
        alive = known[-1].alive
        return (
            np.flatnonzero(alive[:count]).astype(np.intp),
            np.flatnonzero(alive[count:]).astype(np.intp),
        )


def offset_inward(outline: Outline, distance: float, *, islands: Sequence[Outline] = ()) -> tuple[Outline, ...]:
    """Return the edges of all places inside an outline and at least ``distance`` from it and from its islands.

    Outer edges run anticlockwise, edges round islands clockwise; lines and arcs stay lines and arcs. Empty when there
    is no such place.

    Examples
    --------
    >>> from holecam.shapes import rectangle
    >>> [round(o.area, 6) for o in offset_inward(rectangle(0, 0, 10, 6), 2)]
    [12.0]
    """
    stack = OffsetStack(walls_of(chains_of_region(outline, islands)))
    return tuple(loop.outline() for loop in stack.at(distance).loops if not loop.is_flat)


def offset_outward(outline: Outline, distance: float) -> tuple[Outline, ...]:
    """Return the edge of all places outside an outline and at most ``distance`` from it, anticlockwise, and its holes.

    A hole appears, clockwise, where the outline nearly closes on itself. Corners become arcs.
    """
    chain = WallChain(outline.counterclockwise().reversed().curves)
    loops = OffsetStack(walls_of([chain])).at(distance).loops
    return tuple(loop.outline().reversed() for loop in loops if not loop.is_flat)


def neighbourhood(chains: Sequence[WallChain], distance: float) -> tuple[Outline, ...]:
    """Return the edge of all places at most ``distance`` from open chains: a slot with round ends; anticlockwise."""
    loops = OffsetStack(walls_of(chains)).at(distance).loops
    return tuple(loop.outline().reversed() for loop in loops if not loop.is_flat)
