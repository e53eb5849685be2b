"""Edges and keep-outs in one form: a shape, the side of it on which holes may lie, how far off they have to stay."""

from __future__ import annotations

from enum import Enum

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.layout.spacing_compare import LEVELS, head_clearance
from holecam.layout.spacing_rules import LimitTerm, SpacingLimits
from holecam.layout.spacing_sites import ARITHMETIC_NOISE, HoleProfile
from holecam.layout.spacing_surroundings import KeepOut, PartShape, Surroundings
from holecam.plan.finding import Severity
from holecam.shapes import Circle, Curve, Outline
from holecam.shapes.curve_arrays import ClosedArea, CurveArray, Floats
from holecam.shapes.distances import curves_of

OUTLINE_NAME = "the edge of the part"

PRACTICE = "common practice"

MODEST = {"edge-distance": "modest-edge-distance", "near-keep-out": "modest-keep-out-distance"}
"""Codes of distances that keep the limits but not the comfortable one."""


class Side(Enum):
    """Where a hole may lie."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    EITHER = "either side"


class Demand(Struct, frozen=True):
    """A distance that a hole has to keep from a boundary.

    ``limit`` counts from ``radius`` off the hole's centre (0 for rules that count from the centre; the half width of a
    joint included), so the centre has to stay ``need = radius + limit`` away, mm. ``what`` says what is measured.
    """

    code: str
    severity: Severity
    radius: float
    limit: float
    term: LimitTerm
    what: str

    @property
    def need(self) -> float:
        """Least distance from the hole's centre to the boundary, mm."""
        return self.radius + self.limit

    def broken_at(self, distance: float) -> bool:
        """Return whether a centre at this signed distance breaks it."""
        return distance < self.need - ARITHMETIC_NOISE


class Boundary(Struct, frozen=True, eq=False):
    """A shape that holes keep off: the part's edge, an opening, a keep-out.

    ``keep_out`` is ``None`` for edges. ``area`` is ``None`` for an open chain.
    """

    name: str
    kind: str
    side: Side
    curves: tuple[Curve, ...]
    area: ClosedArea | None
    chain: CurveArray
    keep_out: KeepOut | None

    def clear_by(self, points: Floats) -> Floats:
        """Return how far each point lies on the allowed side, mm; negative on the other. 1-Lipschitz."""
        if self.area is None:
            return self.chain.distance(points)
        inside_by = self.area.inside_by(points)
        return inside_by if self.side is Side.INSIDE else np.negative(inside_by)

    def breaks(self, points: Floats, need: float) -> NDArray[np.bool_]:
        """Return which points lie nearer than ``need``, mm, or on the other side."""
        if self.area is None:
            clear = self.chain.distance(points, within=need)
        else:
            inside_by = self.area.inside_by(points, within=need)
            clear = inside_by if self.side is Side.INSIDE else np.negative(inside_by)
        return np.asarray(clear < need - ARITHMETIC_NOISE)

    def demands(self, profile: HoleProfile, limits: SpacingLimits, thickness: float | None) -> tuple[Demand, ...]:
        """Return every distance that a hole of this profile has to keep from it."""
        if self.keep_out is None:
            return edge_demands(profile, limits, thickness)
        return keep_out_demands(profile, self.keep_out, limits, thickness)


def boundaries_of(surroundings: Surroundings) -> tuple[Boundary, ...]:
    """Return the edges and keep-outs of the surroundings: outline, openings, keep-outs, in this order."""
    return (*_edges(surroundings.part), *(_keep_out(k) for k in surroundings.keep_outs))


def _edges(part: PartShape) -> list[Boundary]:
    edges = []
    if part.outline is not None:
        edges.append(_closed(OUTLINE_NAME, "edge", Side.INSIDE, part.outline, None))
    for i, opening in enumerate(part.openings, start=1):
        edges.append(_closed(f"opening {i}", "opening", Side.OUTSIDE, opening, None))
    return edges


def _keep_out(keep_out: KeepOut) -> Boundary:
    if isinstance(keep_out.shape, (Outline, Circle)):
        return _closed(keep_out.name, keep_out.kind, Side.OUTSIDE, keep_out.shape, keep_out)
    chain = CurveArray(keep_out.shape)
    return Boundary(keep_out.name, keep_out.kind, Side.EITHER, keep_out.shape, None, chain, keep_out)


def _closed(name: str, kind: str, side: Side, shape: Outline | Circle, keep_out: KeepOut | None) -> Boundary:
    curves = curves_of(shape)
    area = ClosedArea(shape)
    return Boundary(name, kind, side, curves, area, area.edge or CurveArray(curves), keep_out)


def edge_demands(profile: HoleProfile, limits: SpacingLimits, thickness: float | None) -> tuple[Demand, ...]:
    """Return the distances that a hole keeps from an edge.

    Multiples of D count from the centre and use the nominal diameter. A counterbore or another bore wider than that
    keeps the web of a hole of its own width (its terms in mm and diameters) between its wall and the edge. Heads and
    washers may not reach the edge. No bore may open into it, whatever the job overrides.
    """
    d, pitch = profile.nominal, profile.pitch
    demands = [
        Demand("breaks-through-edge", Severity.STOP, b.radius, 0.0, LimitTerm(0.0, "mm", PRACTICE), f"{b.what} wall")
        for b in profile.bores
    ]
    for level in LEVELS:
        centre = limits.binding("edge-distance", level, diameter=d, pitch=pitch, thickness=thickness)
        if centre:
            demands.append(_demand("edge-distance", level, 0.0, centre.value, centre.term, "hole centre", limits))
        metal = limits.binding("edge-metal", level, diameter=d, pitch=pitch) if profile.tapped else None
        if metal:
            demands.append(_demand("edge-distance", level, d / 2, metal.value, metal.term, "major diameter", limits))
        for bore in profile.bores:
            web = limits.binding("web", level, diameter=bore.diameter)
            if web and bore.radius > d / 2 + ARITHMETIC_NOISE:
                what = f"{bore.what} wall"
                demands.append(_demand("edge-distance", level, bore.radius, web.value, web.term, what, limits))
    for head in profile.heads:
        demands.append(_head_demand(head.radius, head_clearance(limits), f"{head.what} rim", limits))
    return tuple(demands)


def keep_out_demands(
    profile: HoleProfile, keep_out: KeepOut, limits: SpacingLimits, thickness: float | None
) -> tuple[Demand, ...]:
    """Return the distances that a hole keeps from a keep-out, of the bores and heads that share a height with it."""
    demands = []
    z, half_width = keep_out.z_counted, keep_out.half_width
    for bore in profile.bores:
        if not bore.z.shares_height_with(z):
            continue
        what, radius = f"{bore.what} wall", bore.radius + half_width
        at_all = LimitTerm(0.0, "mm", keep_out.source)
        demands.append(_demand("in-keep-out", Severity.STOP, radius, 0.0, at_all, what, limits))
        for level, term in _margins(keep_out, limits):
            value = term.factor * (1.0 if term.per == "mm" else thickness or 0.0)
            demands.append(_demand("near-keep-out", level, radius, value, term, what, limits))
    for head in profile.heads:
        if head.z.shares_height_with(z):
            margin = max(keep_out.head_margin, head_clearance(limits))
            demands.append(_head_demand(head.radius + half_width, margin, f"{head.what} rim", limits))
    return tuple(demands)


def _margins(keep_out: KeepOut, limits: SpacingLimits) -> list[tuple[Severity, LimitTerm]]:
    """Return the margins of a keep-out: its own, or those of the table for a bend."""
    own = ((Severity.STOP, keep_out.margin), (Severity.CAUTION, keep_out.caution_margin))
    stated = [(level, LimitTerm(margin, "mm", keep_out.source)) for level, margin in own if margin is not None]
    if stated or keep_out.kind != "bend":
        return stated
    return [(level, term) for level in LEVELS for term in limits.terms("bend-distance", level) if term.factor > 0.0]


def _demand(
    code: str, level: Severity, radius: float, limit: float, term: LimitTerm, what: str, limits: SpacingLimits
) -> Demand:
    if level is Severity.NOTE:
        code = MODEST[code]
    return Demand(code, limits.severity_of(code, level), radius, limit, term, what)


def _head_demand(radius: float, clearance: float, what: str, limits: SpacingLimits) -> Demand:
    terms = limits.terms("head-clearance", Severity.STOP)
    term = terms[0] if terms else LimitTerm(0.0, "mm", PRACTICE)
    return _demand("head-overhang", Severity.STOP, radius, clearance, term, what, limits)
