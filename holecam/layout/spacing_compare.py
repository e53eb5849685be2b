"""Compare many pairs of holes at once: web, relation, severity, at the heights where both take up room."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.layout.spacing_columns import Floats, HoleColumns, Indexes, Stack
from holecam.layout.spacing_relations import SEVERITIES, Filling, Relation, code_of
from holecam.layout.spacing_rules import LEVEL_NAMES, SpacingLimits
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.plan.finding import Severity

NO_SEVERITY = -1
"""Rank of a pair that keeps every limit, beside 0 for a note, 1 for a caution, 2 for a stop."""

LEVELS = tuple(LEVEL_NAMES)
"""Note, caution, stop."""

HEAD_CODE = "head-overhang"


class PairColumns(Struct, frozen=True, eq=False):
    """Pairs of holes, one a row; all of shape (m,), lengths in mm.

    ``limit`` is the web (or wall) that the severity compares with, 0 where there is none, and ``limit_level`` the rank
    of its level, -1 where there is none; ``head_gap`` is inf where no heads face each other.
    """

    first: Indexes
    second: Indexes
    distance: Floats
    radius: Floats
    other_radius: Floats
    relation: NDArray[np.int8]
    severity: NDArray[np.int8]
    limit: Floats
    limit_level: NDArray[np.int8]
    head_gap: Floats
    heads_meet: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.first)

    @property
    def web(self) -> Floats:
        """Metal between the two holes, mm; negative when one cuts into the other."""
        return self.distance - self.radius - self.other_radius


def web_needed(
    radius: Floats, other_radius: Floats, limits: SpacingLimits, *, thickness: float | None
) -> tuple[Floats, Floats, Floats]:
    """Return the web that two bores ask for so that they earn no note, no caution, no stop; mm.

    The larger diameter counts. A rule for centres (structural steel) is turned into the web that it leaves.
    """
    larger = 2.0 * np.maximum(radius, other_radius)
    both = radius + other_radius
    needed = []
    for level in LEVELS:
        web = limits.lengths("web", level, diameter=larger, thickness=thickness)
        if limits.terms("hole-spacing", level):
            web = np.maximum(web, limits.lengths("hole-spacing", level, diameter=larger, thickness=thickness) - both)
        needed.append(web)
    return needed[0], needed[1], needed[2]


def combinations(first: Stack, second: Stack) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return radius, other radius and "at one height" of every bore against every bore, each of shape (m, k)."""
    shape = (len(first.radius), first.radius.shape[1] * second.radius.shape[1])
    top = np.minimum(first.top[:, :, None], second.top[:, None, :])
    bottom = np.maximum(first.bottom[:, :, None], second.bottom[:, None, :])
    together = np.broadcast_to(top - bottom > ARITHMETIC_NOISE, top.shape).reshape(shape)
    radius = np.broadcast_to(first.radius[:, :, None], top.shape).reshape(shape)
    other = np.broadcast_to(second.radius[:, None, :], top.shape).reshape(shape)
    return radius, other, together & np.isfinite(radius) & np.isfinite(other)


def compare_pairs(
    first: HoleColumns,
    first_index: Indexes,
    second: HoleColumns,
    second_index: Indexes,
    limits: SpacingLimits,
    *,
    thickness: float | None,
) -> PairColumns:
    """Return how every pair lies; of several bores at one hole the pair that matters most counts."""
    apart = first.xy[first_index] - second.xy[second_index]
    distance = np.hypot(apart[:, 0], apart[:, 1])
    bores, other_bores = first.bores.take(first_index), second.bores.take(second_index)
    radius, other, together = combinations(bores, other_bores)
    c = distance[:, None]
    pitch = np.broadcast_to(first.pitch[first_index][:, None], radius.shape)
    filling = np.broadcast_to(second.filling[second_index][:, None], radius.shape)
    shy = np.broadcast_to(second.shy[second_index][:, None], radius.shape)
    relation, severity, limit, level = _classify(c, radius, other, together, pitch, filling, shy, limits, thickness)
    # The worst severity counts, then the more telling relation, then the nearest approach
    score = severity.astype(np.int32) * 16 + relation
    near = np.where(score == score.max(axis=1, keepdims=True), radius + other, -np.inf)
    near[~np.isfinite(near)] = -np.inf
    row, best = np.arange(len(distance)), near.argmax(axis=1)
    gap, meet = _heads(first.heads.take(first_index), second.heads.take(second_index), distance, limits)
    return PairColumns(
        first=first_index,
        second=second_index,
        distance=distance,
        radius=radius[row, best],
        other_radius=other[row, best],
        relation=relation[row, best],
        severity=severity[row, best],
        limit=limit[row, best],
        limit_level=level[row, best],
        head_gap=gap,
        heads_meet=meet,
    )


def _classify(
    c: Floats,
    rn: Floats,
    ro: Floats,
    together: NDArray[np.bool_],
    pitch: Floats,
    filling: NDArray[np.int8],
    shy: Floats,
    limits: SpacingLimits,
    thickness: float | None,
) -> tuple[NDArray[np.int8], NDArray[np.int8], Floats, NDArray[np.int8]]:
    """Return relation, severity rank, limit and rank of the limit's level, of bores rn and ro, centres c apart."""
    rn, ro = np.where(together, rn, 0.0), np.where(together, ro, 0.0)
    note, caution, stop = web_needed(rn, ro, limits, thickness=thickness)
    web = c - (rn + ro)
    below = [web < need - ARITHMETIC_NOISE for need in (note, caution, stop)]
    relation = np.where(below[1] | below[2], Relation.THIN_WEB, Relation.CLEAR).astype(np.int8)
    severity = np.select(below[::-1], [2, 1, 0], NO_SEVERITY).astype(np.int8)
    level = severity.copy()
    limit = np.select(below[::-1], [stop, caution, note], 0.0)
    met = web <= limits.touching + ARITHMETIC_NOISE
    if met.any():  # rare, and the only part with many cases
        where = np.nonzero(met & together)
        relation[where], severity[where], wall = _met(
            np.broadcast_to(c, rn.shape)[where], rn[where], ro[where], pitch[where], filling[where], shy[where], limits
        )
        limit[where] = np.where(relation[where] >= Relation.INSIDE, wall, stop[where])
        level[where] = Severity.STOP.rank
    relation[~together], severity[~together], limit[~together] = Relation.OTHER_DEPTH, NO_SEVERITY, 0.0
    level[~together] = NO_SEVERITY
    _change_thin_webs(relation, severity, limits)
    return relation, severity, limit, level


def _met(
    c: Floats,
    rn: Floats,
    ro: Floats,
    pitch: Floats,
    filling: NDArray[np.int8],
    shy: Floats,
    limits: SpacingLimits,
) -> tuple[NDArray[np.int8], NDArray[np.int8], Floats]:
    """Return relation, severity rank and wanted wall of pairs that touch or overlap.

    A hole whose place is doubtful was grown by the doubt; its plug's wall counts from where it surely is, ``shy`` less.
    """
    noise = ARITHMETIC_NOISE
    wall_needed = limits.lengths("plug-wall", Severity.STOP, diameter=2.0 * rn, pitch=pitch)
    inside = (c + rn <= ro + noise) & (rn < ro)
    thin_wall = inside & (ro - shy - c - rn < wall_needed - noise)
    relation = np.select(
        [
            thin_wall,
            inside,
            c + ro <= rn + noise,
            c < ro - noise,
            rn + ro - c > limits.touching + noise,
        ],
        [
            Relation.INSIDE_THIN_WALL,
            Relation.INSIDE,
            Relation.SWALLOWS,
            Relation.CENTRE_INSIDE,
            Relation.BREAKS_INTO,
        ],
        Relation.TOUCHES,
    ).astype(np.int8)
    severity = _table(limits)[relation, filling]
    # A drill whose axis falls into an open hole that it takes in whole follows that hole
    lost = (relation == Relation.SWALLOWS) & (filling == Filling.OPEN) & (c < ro - noise)
    severity[lost & (severity == Severity.CAUTION.rank)] = Severity.STOP.rank
    one_centre = c <= limits.concentric_within + noise
    opened = one_centre & (rn >= ro - limits.concentric_within)
    severity[opened] = _table(limits)[Relation.CONCENTRIC, filling[opened]]
    relation[one_centre] = Relation.CONCENTRIC
    wall = np.where(inside & ~opened, wall_needed, 0.0)
    return relation, severity, wall


def _table(limits: SpacingLimits) -> NDArray[np.int8]:
    """Return severity ranks by relation and filling, the job's changes included."""
    table = np.full((len(Relation), len(Filling)), NO_SEVERITY, dtype=np.int8)
    for relation, row in SEVERITIES.items():
        for filling in Filling:
            code = code_of(relation, filling)
            table[relation, filling] = limits.severity_of(code, row[filling]).rank
    return table


def _change_thin_webs(relation: NDArray[np.int8], severity: NDArray[np.int8], limits: SpacingLimits) -> None:
    """Apply the job's change of severity to thin webs, in place."""
    thin = relation == Relation.THIN_WEB
    for level in (Severity.CAUTION, Severity.STOP):
        changed = limits.severity_of("thin-web", level)
        if changed is not level:
            severity[thin & (severity == level.rank)] = changed.rank


def _heads(first: Stack, second: Stack, distance: Floats, limits: SpacingLimits) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the free distance between heads at one height, inf where there are none, and whether it is too small."""
    if not first.radius.shape[1] or not second.radius.shape[1]:
        return np.full(len(distance), np.inf), np.zeros(len(distance), dtype=np.bool_)
    radius, other, together = combinations(first, second)
    reach = np.where(together, radius + other, -np.inf).max(axis=1, initial=-np.inf)
    gap = distance - reach
    clearance = head_clearance(limits)
    return gap, gap < clearance - ARITHMETIC_NOISE


def head_clearance(limits: SpacingLimits) -> float:
    """Return the free distance that a head or washer asks for, mm."""
    binding = limits.binding("head-clearance", Severity.STOP)
    return binding.value if binding else 0.0
