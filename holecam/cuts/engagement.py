"""The angle over which a tooth cuts, at places along a path, from what the path has cut before; exact.

Of the leading half of the cutter's rim, the part that no earlier move has swept is in the material. The swept places
are those nearer than the radius to the path before, so the free part of the rim is what
:mod:`holecam.cuts.distance_clip` leaves of it. A straight cut of width ``a`` beside a cut one engages
``acos(1 - a / R)``; slowing the feed by engagement follows Kramer 1991 (NIST).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from holecam.cuts.distance_clip import (
    combined,
    merged,
    near_bodies_of_pairs,
    near_curves,
    near_points,
    near_points_of_pairs,
)
from holecam.cuts.elements import Elements, Floats, Indexes, near_pairs
from holecam.errors import InputError
from holecam.shapes import Circle

SAMPLE_SHARE = 0.5
"""Times the cutter's radius: greatest distance between the places looked at along a move."""

CLOSE_SHARE = 0.12
"""The same where small bites promise to keep the engagement: it peaks where a bite meets the cusp of two others."""

SAMPLES_AT_ONCE = 4000
"""Places that are looked at together: bounds the memory of a long path."""

LEAST_CHIP = 0.005
"""mm. Where the layer that is removed is thinner than this a tooth rubs and does not cut (the least chip is published
as a tenth to four tenths of the edge's radius, 1 to 10 microns): it does not count as engaged."""

LEAST_FEED_FACTOR = 0.3
"""A feed that drops below this share rubs instead of cutting: common practice."""


def straight_engagement_deg(step_over: float, radius: float) -> float:
    """Return the angle over which a tooth cuts on a straight pass of this width, degrees.

    ``acos(1 - a / R)``, 180 at full width.

    >>> round(straight_engagement_deg(1.5, 3.0), 6)
    60.0
    """
    if not 0 < step_over <= 2 * radius:
        raise InputError(f"step-over {step_over} mm: expected above 0 to the cutter's diameter, {2 * radius} mm")
    return math.degrees(math.acos(1.0 - step_over / radius))


def feed_factor(engagement_deg: float, straight_deg: float, ratio: float) -> float:
    """Return the share of the feed at which an engaged tooth cuts no more than ``ratio`` times a straight cut."""
    allowed = ratio * straight_deg
    if engagement_deg <= allowed:
        return 1.0
    return max(LEAST_FEED_FACTOR, straight_deg / engagement_deg)


class Samples(Struct, frozen=True, eq=False):
    """Places along a path: row of the move, share along it, the engagement there and the part of it to the left of the
    travel, degrees."""

    row: Indexes
    share: Floats
    engagement_deg: Floats
    left_deg: Floats


def sample_places(
    path: Elements, radius: float, *, rows: Indexes | None = None, gap: float = SAMPLE_SHARE
) -> tuple[Indexes, Floats]:
    """Return places along the moves, at most ``gap`` radii apart, the end of every move among them."""
    every = np.arange(len(path), dtype=np.intp) if rows is None else rows
    count = np.maximum(1, np.ceil(path.lengths[every] / (gap * radius))).astype(np.intp)
    row = np.repeat(every, count)
    first = np.concatenate([[0], np.cumsum(count)[:-1]]).astype(np.intp)
    step = np.arange(len(row)) - np.repeat(first, count) + 1
    return row, step / np.repeat(count, count)


def engagement_along(
    path: Elements,
    radius: float,
    row: Indexes,
    share: Floats,
    *,
    fresh: Sequence[bool] | None = None,
    open_before: Sequence[Circle] = (),
    cut_before: tuple[Elements, float] | None = None,
    least_chip: float = LEAST_CHIP,
) -> Samples:
    """Return the engagement at places along a path that is cut in the order of its moves.

    Parameters
    ----------
    path : Elements
        Every move at this height that sweeps material, in order.
    row, share : arrays
        Where to look.
    fresh : sequence of bool
        Whether a move does not start where the one before ended.
    open_before : circles
        Places that are open before: a drilled hole, the bore of a helix.
    cut_before : (Elements, float) or None
        Path of another cutter that went before at this height, and its radius, mm.
    least_chip : float
        Layers thinner than this are not counted, mm.
    """
    found = [
        _engagement(path, radius, row[part], share[part], fresh, open_before, cut_before, least_chip)
        for part in (slice(first, first + SAMPLES_AT_ONCE) for first in range(0, max(1, len(row)), SAMPLES_AT_ONCE))
    ]
    return Samples(row, share, np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found]))


def _engagement(
    path: Elements,
    radius: float,
    row: Indexes,
    share: Floats,
    fresh: Sequence[bool] | None,
    open_before: Sequence[Circle],
    cut_before: tuple[Elements, float] | None,
    least_chip: float,
) -> tuple[Floats, Floats]:
    """Return the engagement at some places and its left part, degrees."""
    count = len(row)
    x, y = path.points_at(row, share)
    dx, dy = path.directions_at(row, share)
    start = np.arctan2(dy, dx) - math.pi / 2
    # Told by centre and angles alone: nothing below asks for the ends of a half circle
    rim = Elements(
        np.ones(count, dtype=np.bool_),
        x,
        y,
        x,
        y,
        x,
        y,
        np.full(count, radius),
        start,
        np.full(count, math.pi),
    )
    parts = []
    left, low, right, high = path.boxes()
    # Only what comes within two radii of the cutter's centre can have swept its rim
    i, j = near_pairs((x, y, x, y), (left, low, right, high), np.full(len(path), 2.0 * radius + least_chip))
    earlier = j < row[i]
    i, j = i[earlier], j[earlier]
    reach = np.full(len(path), radius + least_chip)
    parts.append(near_bodies_of_pairs(rim, path, reach, i, j))
    parts.append(near_points_of_pairs(rim, path.x0, path.y0, reach, i, j))
    broken = np.ones(len(path), dtype=np.bool_)
    broken[:-1] = np.ones(len(path) - 1, dtype=np.bool_) if fresh is None else np.asarray(fresh, dtype=np.bool_)[1:]
    loose = broken[j]
    parts.append(near_points_of_pairs(rim, path.x1, path.y1, reach, i[loose], j[loose]))
    own = np.arange(count, dtype=np.intp)
    trail = path.part(row, np.zeros(count), share)
    bent = own[trail.is_arc]
    # Its own trail touches the rim at both sides: no layer is left out there
    parts.append(near_bodies_of_pairs(rim, trail, np.full(count, radius), bent, bent))
    parts.append(near_points_of_pairs(rim, path.x0[row], path.y0[row], np.full(count, radius), own, own))
    if open_before:
        parts.append(
            near_points(
                rim,
                np.array([c.center[0] for c in open_before]),
                np.array([c.center[1] for c in open_before]),
                np.array([c.radius + least_chip for c in open_before]),
            )
        )
    if cut_before is not None and len(cut_before[0]):
        other, wide = cut_before
        parts.append(near_curves(rim, other, np.full(len(other), wide + least_chip)))
    taken = merged(combined(parts), rim.lengths)
    cut, cut_left = np.zeros(count), np.zeros(count)
    np.add.at(cut, taken.row, taken.high - taken.low)
    # The rim is walked from the right of the travel round to the left
    np.add.at(cut_left, taken.row, np.maximum(taken.high, 0.5) - np.maximum(taken.low, 0.5))
    return 180.0 * np.clip(1.0 - cut, 0.0, 1.0), 180.0 * np.clip(0.5 - cut_left, 0.0, 0.5)
