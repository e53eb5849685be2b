"""Read what a job needs from a DXF drawing: outlines, open lines, circles, in millimetres on the part.

Arcs and bulges stay arcs. Splines and ellipses become short straight lines within a stated distance. The unit is read
from the drawing, never guessed; a drawing without one is refused until the job says what its numbers mean.
"""

from __future__ import annotations

import math
import os
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct

from holecam.errors import InputError
from holecam.job.chaining import chained
from holecam.job.files import read_bytes
from holecam.job.models_shape import DrawingFile
from holecam.shapes import Circle, Curve, Outline, Placement, distance

if TYPE_CHECKING:
    from holecam.job.models_pattern import DrawnCircles

LARGEST_DRAWING = 6_000_000
"""Bytes. Outlines of parts take kilobytes, 20 000 lines a megabyte or two; a larger drawing holds far more than an
outline, and each 6 MB take some seconds and 150 MB of memory to read."""

USUAL_GAP = 0.01
"""mm. Loose ends nearer than this are one end: what drawing programs leave after trimming, far below any readout."""

USUAL_TOLERANCE = 0.005
"""mm. How far the lines that replace a spline may lie from it: one count of a metric readout."""

CIRCLE_WITHIN = 0.01
"""mm. Circles are of the wanted diameter when they differ by less."""

SAME_CENTRE = 0.001
"""mm. Circles of one diameter nearer than this were drawn twice."""

MOST_REMEMBERED = 8
"""Drawings whose last reading is kept by their bytes: a job asks for each of them several times."""

GREATEST = 10_000.0
"""mm. Coordinates beyond it are a slip of unit."""


class Drawn(Struct, frozen=True):
    """What a drawing holds on the chosen layer, in the part frame, mm."""

    file: str
    outlines: tuple[Outline, ...]
    """Closed outlines, anticlockwise, largest first; a circle is one too."""
    paths: tuple[tuple[Curve, ...], ...]
    """Open lines."""
    circles: tuple[Circle, ...]
    """Full circles, in the order in which they are drawn."""
    layers: tuple[str, ...]
    """Layers of the drawing that hold something."""
    notes: tuple[str, ...]
    """What was done to read it, for the person who drew it."""
    damage: tuple[str, ...]
    """What could not be read and was left out, because the file is damaged."""
    off_by: float
    """How far a straight line may lie from the spline or ellipse that it replaces, mm, on the hollow side of the curve;
    0 when there are none."""

    def outline_and_islands(self) -> tuple[Outline, tuple[Outline, ...]]:
        """Return the one outermost outline and the outlines inside it.

        Raises
        ------
        InputError
            There is no closed outline, more than one outermost, or an open line beside it.
        """
        if self.paths and not self.outlines:
            ends = self.paths[0][0].start, self.paths[0][-1].end
            raise InputError(
                f"{self.file}: expected a closed outline, found an open line from {_shown(ends[0])} to "
                f"{_shown(ends[1])} ({distance(*ends):.4f} mm apart). Close it, or raise gap."
            )
        if not self.outlines:
            raise InputError(
                f"{self.file}: expected a closed outline, found nothing to make one of. {self._layer_hint()}"
            )
        if self.paths:
            raise InputError(
                f"{self.file}: expected closed outlines only, found an open line too, from "
                f"{_shown(self.paths[0][0].start)}. Put the outline on a layer of its own and name that layer."
            )
        outer, rest = self.outlines[0], self.outlines[1:]
        for other in rest:
            if not outer.contains(other.curves[0].point_at(0.5)):
                raise InputError(
                    f"{self.file}: expected one outermost outline, found two, near {_shown(outer.curves[0].start)} and "
                    f"{_shown(other.curves[0].start)}. Name the layer that has the right one."
                )
        return outer, rest

    def path(self) -> tuple[Curve, ...]:
        """Return the one open line.

        Raises
        ------
        InputError
            There is none, or more than one.
        """
        if len(self.paths) != 1:
            found = f"{len(self.paths)} open lines" if self.paths else "none"
            raise InputError(f"{self.file}: expected one open line, found {found}. {self._layer_hint()}")
        return self.paths[0]

    def _layer_hint(self) -> str:
        names = ", ".join(f'"{n}"' for n in self.layers[:12])
        return f"Layers that hold something: {names}." if names else "The drawing is empty."


def _shown(p: tuple[float, float]) -> str:
    return f"{p[0]:.4f}, {p[1]:.4f} mm"


def read_drawing(drawing: DrawingFile, *, folder: str = "") -> Drawn:
    """Return what the drawing holds, moved onto the part.

    Parameters
    ----------
    drawing : DrawingFile
        File, layer, unit and move, as the job states them.
    folder : str
        Folder of the job, from which the file name counts.

    Raises
    ------
    InputError
        No such file or layer, a drawing that cannot be read, a missing or contradicting unit, sizes beyond 10 m, or
        lines that branch.
    """
    file = os.path.join(folder, drawing.file)
    raw = read_bytes(file, what="drawing", most=LARGEST_DRAWING, hint="Save the layer that is needed by itself.")
    return _taken_from(raw, drawing)


@lru_cache(maxsize=MOST_REMEMBERED)
def _taken_from(raw: bytes, drawing: DrawingFile) -> Drawn:
    from holecam.job.drawing_entities import read_entities  # imports ezdxf, which takes a quarter of a second

    tolerance = float(drawing.tolerance) if drawing.tolerance is not None else USUAL_TOLERANCE
    found = read_entities(
        raw, file=drawing.file, layer=drawing.layer, unit=drawing.drawing_unit, tolerance=tolerance,
        overrule_unit=drawing.overrule_unit,
    )  # fmt: skip
    move = Placement(
        drawing.turn_deg,
        (0.0, 0.0) if drawing.shift is None else (float(drawing.shift[0]), float(drawing.shift[1])),
        drawing.mirror,
    )
    curves = [move.apply_curve(c) for c in found.curves]
    circles = tuple(move.apply_circle(c) for c in found.circles)
    _refuse_far(curves, circles, drawing.file)
    gap = float(drawing.gap) if drawing.gap is not None else USUAL_GAP
    try:
        chains = chained(curves, gap=gap)
    except InputError as error:
        raise InputError(f"{drawing.file}: {error.message.removeprefix('drawing: ')}") from None
    notes = list(found.notes)
    if chains.bridged > 1e-6:
        notes.append(f"{drawing.file}: loose ends up to {chains.bridged:.4f} mm apart were joined.")
    if chains.doubled:
        notes.append(f"{drawing.file}: {chains.doubled} lines that were drawn twice count once.")
    from holecam.shapes import circle_outline

    round_ones = [circle_outline(c) for c in _once(circles)]
    outlines = sorted((o.counterclockwise() for o in (*chains.outlines, *round_ones)), key=lambda o: -o.area)
    return Drawn(
        drawing.file, tuple(outlines), chains.paths, circles, found.layers, tuple(notes), found.damage, found.off_by
    )


def _refuse_far(curves: Iterable[Curve], circles: Iterable[Circle], file: str) -> None:
    spots = [p for c in curves for p in (c.start, c.end)] + [
        (abs(c.center[0]) + c.radius, c.center[1]) for c in circles
    ]
    for spot in spots:
        if not max(abs(spot[0]), abs(spot[1])) <= GREATEST:
            raise InputError(
                f"{file}: expected sizes of at most 10 m, found a point at {_shown(spot)}. Look at its unit."
            )


def _once(circles: Iterable[Circle]) -> list[Circle]:
    """Return the circles without those that were drawn twice; the order is kept."""
    kept: dict[tuple[int, int, int], Circle] = {}
    cells: dict[tuple[int, int], list[Circle]] = {}
    for circle in circles:
        x, y = (math.floor(v / SAME_CENTRE) for v in circle.center)
        near = [c for i in (-1, 0, 1) for j in (-1, 0, 1) for c in cells.get((x + i, y + j), ())]
        if any(
            distance(c.center, circle.center) <= SAME_CENTRE and abs(c.radius - circle.radius) <= SAME_CENTRE / 2
            for c in near
        ):
            continue
        cells.setdefault((x, y), []).append(circle)
        kept[(x, y, len(kept))] = circle
    return list(kept.values())


def holes_in(drawing: DrawnCircles, *, folder: str = "") -> tuple[Circle, ...]:
    """Return the circles of a drawing that a pattern asks for, in the order of their numbers.

    Raises
    ------
    InputError
        As :func:`read_drawing`, or no circle has the wanted diameter; the message lists the diameters that there are.
    """
    drawn = read_drawing(drawing, folder=folder)
    circles = _once(drawn.circles)
    if drawing.diameter is not None:
        wanted = float(drawing.diameter)
        within = float(drawing.diameter_within) if drawing.diameter_within is not None else CIRCLE_WITHIN
        chosen = [c for c in circles if abs(2 * c.radius - wanted) <= within + 1e-9]
        if not chosen and circles:
            sizes = Counter(f"{2 * c.radius:.4f}" for c in circles)
            there = ", ".join(f"{n} of {size} mm" for size, n in sorted(sizes.items())[:12])
            raise InputError(
                f"{drawing.file}: expected circles of {wanted:.4f} mm within {within:g} mm, found {there}.",
                key="diameter",
            )
        circles = chosen
    if not circles:
        raise InputError(f"{drawing.file}: expected circles, found none. {drawn._layer_hint()}", key="layer")
    if drawing.order == "left to right":
        circles.sort(key=lambda c: (round(c.center[0], 3), round(c.center[1], 3)))
    elif drawing.order == "bottom to top":
        circles.sort(key=lambda c: (round(c.center[1], 3), round(c.center[0], 3)))
    return tuple(circles)
