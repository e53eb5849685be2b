"""A row moved along itself onto its own old holes: what half a pitch would give.

The old row forbids a disc of radius s about every whole pitch, so the best shift along the row is half a pitch off,
with a web of pitch / 2 - rn - ro. If the pitch is below 2 s, no shift along the row alone passes: the row then has to
move aside until ``sqrt(s^2 - (pitch / 2)^2)`` lies between the lines.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.layout.freedom_field import Binding, Freedom
from holecam.layout.spacing_surroundings import OldHole
from holecam.shapes import Point

ROW_STRAIGHT = 0.05
"""mm. Holes of a planned row may miss its line and pitch by this much: a row that was rounded or found by readout."""

OLD_ROW_WITHIN = 0.5
"""mm. Old holes that lie this near to a row of the same pitch belong to it: the error of hand marking (1/64 in each
way, common practice)."""


class HalfPitchAdvice(Struct, frozen=True):
    """What half a pitch gives between the old holes of the same row.

    Parameters
    ----------
    pitch : float
        Of both rows, mm.
    along : Point
        Unit vector along the new row.
    old_holes : tuple of OldHole
        The old row.
    web : float
        Metal between the nearest new and old hole half a pitch along and on the old line, mm; negative: they meet.
    needed : float
        Distance of the centres that the limits ask for, mm (s in the formulas).
    passes_on_the_line : bool
        Whether a shift along the row alone can keep the limits against the old row.
    aside : float
        How far the two lines have to lie apart at half a pitch, mm; 0 when it passes on the line.
    shift : Point
        The shift to half a pitch (and as far aside as needed) nearest to the wish.
    margin : float
        Margin there over all limits, mm; negative when something else forbids it.
    binding : Binding or None
        What sets that margin.
    """

    pitch: float
    along: Point
    old_holes: tuple[OldHole, ...]
    web: float
    needed: float
    passes_on_the_line: bool
    aside: float
    shift: Point
    margin: float
    binding: Binding | None

    @property
    def allowed(self) -> bool:
        """Whether every limit holds at that shift."""
        return self.margin >= 0.0


def half_pitch_advice(freedom: Freedom, wish: Point) -> HalfPitchAdvice | None:
    """Return what half a pitch gives; ``None`` unless pattern and old holes are rows of one direction and pitch.

    At least two old holes have to lie in the row, and it has to come near enough for a limit between them.
    """
    row = _row(freedom)
    if row is None or not len(freedom.discs):
        return None
    pitch, along = row
    aside_axis = (-along[1], along[0])
    first = freedom.xy[0]
    d = freedom.discs
    reached = sorted({int(o) for o in d.obstacle if isinstance(freedom.obstacles[int(o)], OldHole)})
    old = [h for o in reached if isinstance(h := freedom.obstacles[o], OldHole)]
    placed = [
        (
            (h.center[0] - first[0]) * along[0] + (h.center[1] - first[1]) * along[1],
            (h.center[0] - first[0]) * aside_axis[0] + (h.center[1] - first[1]) * aside_axis[1],
        )
        for h in old
    ]
    members = _old_row(placed, pitch)
    if len(members) < 2:
        return None
    phase = _phase([placed[m][0] for m in members], pitch)
    line = float(np.mean([placed[m][1] for m in members]))
    holes = tuple(old[m] for m in members)
    labels = {id(h) for h in holes}
    rows = [k for k in range(len(d)) if id(freedom.obstacles[int(d.obstacle[k])]) in labels]
    needed = float(d.outer[rows].max())
    web = pitch / 2 - max(s.profile.largest_radius for s in freedom.sites) - max(h.radius for h in holes)
    wish_along = wish[0] * along[0] + wish[1] * along[1]
    wish_aside = wish[0] * aside_axis[0] + wish[1] * aside_axis[1]
    way = phase + pitch / 2 + pitch * round((wish_along - phase - pitch / 2) / pitch)
    if abs(wish_aside - line) >= needed:  # the lines lie so far apart that the old row does not matter
        return None
    aside = math.sqrt(max(0.0, needed**2 - (pitch / 2) ** 2))
    off_line = wish_aside - line
    if abs(off_line) < aside:
        off_line = math.copysign(aside, off_line)
    sideways = line + off_line
    shift = (way * along[0] + sideways * aside_axis[0], way * along[1] + sideways * aside_axis[1])
    return HalfPitchAdvice(
        pitch=pitch,
        along=along,
        old_holes=holes,
        web=web,
        needed=needed,
        passes_on_the_line=aside == 0.0,
        aside=aside,
        shift=shift,
        margin=freedom.margin(shift),
        binding=freedom.binding(shift),
    )


def _row(freedom: Freedom) -> tuple[float, Point] | None:
    """Return pitch and direction of the pattern if it is a straight row of even pitch."""
    xy = freedom.xy
    if len(xy) < 2:
        return None
    step = (xy[-1] - xy[0]) / (len(xy) - 1)
    pitch = float(np.hypot(*step))
    if pitch <= ROW_STRAIGHT:
        return None
    ideal = xy[0] + np.arange(len(xy))[:, None] * step
    if float(np.abs(xy - ideal).max()) > ROW_STRAIGHT:
        return None
    return pitch, (float(step[0]) / pitch, float(step[1]) / pitch)


def _phase(ways: list[float], pitch: float) -> float:
    """Return the mean place of old holes within one pitch, taken round the circle."""
    turns = np.exp(2j * np.pi * np.array(ways) / pitch)
    return float(np.angle(turns.mean()) / (2.0 * np.pi) * pitch)


def _old_row(placed: list[tuple[float, float]], pitch: float) -> list[int]:
    """Return the largest set of old holes that lie on one line along the row, whole pitches apart."""
    best: list[int] = []
    for way, aside in placed:
        members = [
            i
            for i, (w, a) in enumerate(placed)
            if abs(a - aside) <= OLD_ROW_WITHIN and abs((w - way + pitch / 2) % pitch - pitch / 2) <= OLD_ROW_WITHIN
        ]
        if len(members) > len(best):
            best = members
    return best
