"""Holes as columns of numbers, so that ten thousand of them are compared at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.layout.spacing_relations import Filling, filling_of
from holecam.layout.spacing_sites import Bore, DrillSite, Head, HoleProfile
from holecam.layout.spacing_surroundings import OldHole, Plug

Floats = NDArray[np.float64]
Indexes = NDArray[np.intp]

ABSENT = -np.inf
"""Radius in a column where a hole has no bore or head: it never comes near anything."""


class Stack(Struct, frozen=True, eq=False):
    """Bores (or heads) of many holes: ``radius``, ``top`` and ``bottom`` of shape (n, k), mm; absent radii -inf."""

    radius: Floats
    top: Floats
    bottom: Floats

    @property
    def largest(self) -> Floats:
        """Largest radius of each hole, -inf where it has none."""
        return np.asarray(self.radius.max(axis=1, initial=ABSENT), dtype=np.float64)

    def take(self, index: Indexes) -> Stack:
        """Return the rows of some holes."""
        return Stack(self.radius[index], self.top[index], self.bottom[index])


class HoleColumns(Struct, frozen=True, eq=False):
    """Many holes: centres (n, 2), bores, heads, pitch (0 for plain holes) and filling, in the order given.

    ``shy`` is how much smaller than its radius here a hole may be to that side, mm: twice the doubt of its place, by
    which its radius was grown.
    """

    xy: Floats
    bores: Stack
    heads: Stack
    pitch: Floats
    filling: NDArray[np.int8]
    shy: Floats

    def __len__(self) -> int:
        return len(self.xy)


def site_columns(sites: Sequence[DrillSite]) -> HoleColumns:
    """Return new holes as columns; holes that share a profile object cost no more than its number."""
    number_of: dict[int, int] = {}
    profiles: list[HoleProfile] = []
    which = np.empty(len(sites), dtype=np.intp)
    for i, site in enumerate(sites):
        key = id(site.profile)
        number = number_of.get(key)
        if number is None:
            number = number_of[key] = len(profiles)
            profiles.append(site.profile)
        which[i] = number
    return HoleColumns(
        _centers([s.center for s in sites]),
        _stack([p.bores for p in profiles], least_width=1).take(which),
        _stack([p.heads for p in profiles]).take(which),
        np.array([p.pitch or 0.0 for p in profiles], dtype=np.float64)[which],
        np.full(len(sites), Filling.NEW_HOLE, dtype=np.int8),
        np.zeros(len(sites)),
    )


def old_columns(holes: Sequence[OldHole]) -> HoleColumns:
    """Return old holes as columns."""
    filling_by_plug: dict[Plug | None, Filling] = {}
    filling = np.empty(len(holes), dtype=np.int8)
    last_plug, last_filling = None, Filling.OPEN
    for i, hole in enumerate(holes):
        if hole.plug is not last_plug:
            last_plug = hole.plug
            last_filling = filling_by_plug.setdefault(hole.plug, filling_of(hole))
        filling[i] = last_filling
    column = (len(holes), 1)
    bores = Stack(
        np.array([h.radius for h in holes], dtype=np.float64).reshape(column),
        np.array([h.z.top for h in holes], dtype=np.float64).reshape(column),
        np.array([h.z.bottom for h in holes], dtype=np.float64).reshape(column),
    )
    none = np.empty((len(holes), 0))
    return HoleColumns(
        xy=_centers([h.center for h in holes]),
        bores=bores,
        heads=Stack(none, none, none),
        pitch=np.zeros(len(holes)),
        filling=filling,
        shy=2.0 * np.array([h.within for h in holes], dtype=np.float64),
    )


def _centers(centers: list[tuple[float, float]]) -> Floats:
    return np.array(centers, dtype=np.float64).reshape(-1, 2)


def _stack(rows: Sequence[Sequence[Bore | Head]], *, least_width: int = 0) -> Stack:
    width = max((len(row) for row in rows), default=least_width)
    radius = np.full((len(rows), width), ABSENT)
    top, bottom = np.zeros((len(rows), width)), np.zeros((len(rows), width))
    for i, row in enumerate(rows):
        for k, layer in enumerate(row):
            radius[i, k], top[i, k], bottom[i, k] = layer.diameter / 2, layer.z.top, layer.z.bottom
    return Stack(radius, top, bottom)
