"""Turn what the spacing check measured into findings: figures, limit, source, and what to do about it."""

from __future__ import annotations

import math
from collections.abc import Callable

from holecam.layout.spacing import SpacingReport
from holecam.layout.spacing_boundaries import Demand
from holecam.layout.spacing_compare import HEAD_CODE, head_clearance
from holecam.layout.spacing_edges import EdgeRelation
from holecam.layout.spacing_relations import PRACTICE, HoleRelation, Relation
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import OldHole, PlugHardness
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity, worst_first
from holecam.shapes import Point

Text = Callable[[float], str]

REMEDIES = {
    "thin-web": "Move the pattern, or plug the old hole first, solid: a thin web bulges or tears when it is tapped.",
    "modest-web": "No need to act; keep the drill short and the tap straight.",
    "touches": "Move the pattern: nobody can say on which side of the joint the drill comes out.",
    "breaks-into-plug": (
        "Move the pattern clear of the plug. If it must stay: spot with a stub drill, then plunge a slot drill or "
        "bore; a twist drill runs to the softer side."
    ),
    "breaks-into-open-hole": (
        "Move the pattern, or plug the old hole with the same metal and dress it flush before drilling."
    ),
    "breaks-into-new-hole": "Move one of the two holes: both are to be drilled.",
    "centre-in-plug": (
        "Move the pattern: the point would start in the plug and the lips meet the part half-way, which makes the "
        "worst thread of all."
    ),
    "centre-in-open-hole": (
        "Move the pattern, or plug the old hole with the same metal; the drill needs metal under its point."
    ),
    "centre-in-new-hole": "Move one of the two holes: both are to be drilled.",
    "takes-in-plug": (
        "Bore or plunge with a slot drill, so that the plug cannot pull the cutter aside; look for left-over slivers."
    ),
    "takes-in-open-hole": "Bore or plunge with a slot drill: a twist drill follows the old hole, not the mark.",
    "takes-in-new-hole": "Leave out the smaller hole, or move one of the two.",
    "inside-plug": (
        "Only in a plug that cannot turn: brazed, welded, pinned or locked. The torque of the tap unscrews others."
    ),
    "inside-open-hole": "Plug the old hole first, or leave this hole out: there is no metal here.",
    "inside-new-hole": "Leave out the smaller hole, or move one of the two.",
    "thin-plug-wall": "Move the hole nearer to the plug's middle, take a smaller thread, or plug with a larger plug.",
    "concentric": "Open the old hole up with a bore or a slot drill if its place has to be corrected.",
    "same-place": "Leave one of the two out: two patterns ask for one hole.",
    "edge-distance": "Move the hole away from the edge, or take a smaller screw.",
    "modest-edge-distance": "No need to act.",
    "breaks-through-edge": "Move the hole: it would open into the edge.",
    "off-part": "Move the hole: its centre does not lie on the part. Check datum, sign and hand first.",
    "in-keep-out": "Move the hole, or make it shallower if it only has to stay above the place.",
    "near-keep-out": "Move the hole away, or state why a smaller margin will do.",
    "modest-keep-out-distance": "No need to act.",
    HEAD_CODE: "Take a smaller head or leave the washer out, or move the hole.",
}


RULES_OF_CODE = {
    "thin-web": ("web", "hole-spacing"),
    "modest-web": ("web", "hole-spacing"),
    "edge-distance": ("edge-distance", "edge-metal"),
    "modest-edge-distance": ("edge-distance", "edge-metal"),
    "near-keep-out": ("bend-distance",),
    "modest-keep-out-distance": ("bend-distance",),
}
"""Rules whose stop the job may have set itself: its reason is then printed with what is left of the finding."""


def spacing_findings(report: SpacingReport, *, unit: Unit = "mm") -> tuple[Finding, ...]:
    """Return the findings of a spacing check, the worst first; ``unit`` is what the messages speak.

    The figures in ``measured`` and ``limit`` are mm whatever the unit, so that they can be compared.
    """

    def text(length: float) -> str:
        return length_text(length, unit)

    found: list[Finding] = []
    for relation in report.hole_relations:
        if relation.severity is not None:
            found.append(_hole_finding(relation, report.limits, text))
        if relation.heads_meet:
            found.append(_heads_finding(relation, report.limits, text))
    for edge in report.edge_relations:
        found += [_edge_finding(edge, demand, report.limits, text) for demand in edge.broken]
    return worst_first(tuple(found))


def direction_words(towards: Point) -> str:
    """Return a direction in words and degrees: ``+X -Y (-30 degrees)``; an axis below a tenth of it is left out."""
    parts = [f"{'+' if v > 0 else '-'}{axis}" for axis, v in zip("XY", towards, strict=True) if abs(v) > 0.1]
    turn = math.degrees(math.atan2(towards[1], towards[0]))
    return f"{' '.join(parts)} ({round(turn) + 0} degrees)"


def _hole_finding(r: HoleRelation, limits: SpacingLimits, text: Text) -> Finding:
    assert r.severity is not None
    reason = limits.reason_for(r.code)
    measured, limit, source = _compared(r, limits)
    if reason:
        source = f"{source}; severity by the job file: {reason}"
    return Finding(
        code=r.code,
        severity=r.severity,
        about=r.site.name,
        message=_hole_message(r, text) + _limit_words(limit, source, text) + _own_stop(r.code, r.severity, limits),
        measured=measured,
        limit=limit,
        source=source,
        remedy=REMEDIES[r.code],
        holes=_holes(r),
    )


def _holes(r: HoleRelation) -> tuple[int, ...]:
    return (r.site.number, r.other.number) if isinstance(r.other, DrillSite) else (r.site.number,)


def _compared(r: HoleRelation, limits: SpacingLimits) -> tuple[float, float | None, str]:
    """Return the figure measured, its limit and the limit's source."""
    if r.relation is Relation.CONCENTRIC:
        return r.distance, limits.concentric_within, PRACTICE
    if r.relation in (Relation.INSIDE, Relation.INSIDE_THIN_WALL):
        return r.wall, r.limit, r.term.cited if r.term else PRACTICE
    return r.web, r.limit, r.term.cited if r.term else PRACTICE


def _hole_message(r: HoleRelation, text: Text) -> str:
    other = _other_words(r)
    apart = f"centres {text(r.distance)} apart"
    if r.relation in (Relation.CLEAR, Relation.THIN_WEB):
        return f"{r.site.name} leaves a web of {text(r.web)} to {other} ({apart})."
    if r.relation is Relation.TOUCHES:
        return f"{r.site.name} touches {other}: web {text(r.web)} ({apart})."
    if r.relation in (Relation.BREAKS_INTO, Relation.CENTRE_INSIDE):
        inside = ", its centre inside it" if r.relation is Relation.CENTRE_INSIDE else ""
        share = f"{100 * r.bite.share:.0f} % of the drill's circumference runs in it"
        return f"{r.site.name} breaks into {other} by {text(r.bite.depth)}{inside} ({apart}); {share}{_wander(r)}."
    if r.relation is Relation.SWALLOWS:
        return f"{r.site.name} takes in {other} whole, off its centre ({apart})."
    if r.relation is Relation.CONCENTRIC:
        return f"{r.site.name} is concentric with {other} ({apart}); diameters {_diameters(r, text)}."
    doubtful = isinstance(r.other, OldHole) and r.other.within > 0.0
    if doubtful and r.wall < 0.0:
        return f"{r.site.name} lies inside {other}, but may reach {text(-r.wall)} out of it ({apart})."
    return f"{r.site.name} lies wholly inside {other}, with a wall of {'at least ' * doubtful}{text(r.wall)} ({apart})."


def _diameters(r: HoleRelation, text: Text) -> str:
    return f"{text(2 * r.radius)} and {text(2 * r.other_radius)}"


def _other_words(r: HoleRelation) -> str:
    if not isinstance(r.other, OldHole):
        return r.other.name
    if r.other.plug is None:
        return f"{r.other.label}, open"
    plug = r.other.plug
    details = [plug.words or "plugged", plug.fixing.value, plug.hardness.value]
    return f"{r.other.label} ({', '.join(details)})"


def _wander(r: HoleRelation) -> str:
    """Return where the drill will run; nothing is said of a plug of the same metal."""
    if r.bite.towards is None:
        return ""
    towards = r.bite.towards
    if isinstance(r.other, OldHole) and r.other.plug is not None:
        if r.other.plug.hardness is PlugHardness.SAME:
            return ", which cuts like the part itself if it cannot move"
        if r.other.plug.hardness is PlugHardness.HARDER:
            return f"; it will be pushed off towards {direction_words((-towards[0], -towards[1]))}"
        if r.other.plug.hardness is PlugHardness.UNKNOWN:
            return f"; it will run along {direction_words(towards)} or back, to whichever side is softer"
    return f"; it will run towards {direction_words(towards)}"


def _limit_words(limit: float | None, source: str, text: Text) -> str:
    return "" if limit is None else f" Limit {text(limit)}: {source}."


def _own_stop(code: str, severity: Severity, limits: SpacingLimits) -> str:
    """Return the job's own stop limit and its reason, where it let a finding pass as less than a stop."""
    if severity is Severity.STOP:
        return ""
    own = [t for rule in RULES_OF_CODE.get(code, ()) for t in limits.terms(rule, Severity.STOP) if t.reason]
    return "".join(f" The job stops it only below {t.words}: {t.reason}." for t in own)


def _heads_finding(r: HoleRelation, limits: SpacingLimits, text: Text) -> Finding:
    assert r.head_gap is not None
    binding = limits.binding("head-clearance", Severity.STOP)
    source = binding.term.cited if binding else PRACTICE
    limit = head_clearance(limits)
    words = f"overlap by {text(-r.head_gap)}" if r.head_gap < 0 else f"are {text(r.head_gap)} apart"
    return Finding(
        code=HEAD_CODE,
        severity=limits.severity_of(HEAD_CODE, Severity.STOP),
        about=r.site.name,
        message=f"Heads of {r.site.name} and {r.other_name} {words}.{_limit_words(limit, source, text)}",
        measured=r.head_gap,
        limit=limit,
        source=source,
        remedy=REMEDIES[HEAD_CODE],
        holes=_holes(r),
    )


def _edge_finding(r: EdgeRelation, demand: Demand, limits: SpacingLimits, text: Text) -> Finding:
    measured, reason = r.distance - demand.radius, limits.reason_for(demand.code)
    source = f"{demand.term.cited}; severity by the job file: {reason}" if reason else demand.term.cited
    words = "" if demand.term.per == "mm" else f"{demand.term.words}, "
    message = f"{_edge_message(r, demand, measured, text)} Limit {text(demand.limit)}: {words}{source}."
    message += _own_stop(demand.code, demand.severity, limits)
    return Finding(
        code=demand.code,
        severity=demand.severity,
        about=r.site.name,
        message=message,
        measured=measured,
        limit=demand.limit,
        source=source,
        remedy=REMEDIES[demand.code],
        holes=(r.site.number,),
    )


def _edge_message(r: EdgeRelation, demand: Demand, measured: float, text: Text) -> str:
    place = r.boundary.name if r.boundary.keep_out is None else f'{r.boundary.kind} "{r.boundary.name}"'
    if demand.code == "off-part":
        return f"{r.site.name} has its centre {text(-r.distance)} beyond {place}."
    if demand.code in ("breaks-through-edge", "in-keep-out"):
        return f"{r.site.name}: its {demand.what} reaches {text(-measured)} into {place}."
    if demand.code == HEAD_CODE and measured < 0:
        return f"{r.site.name}: its {demand.what} hangs {text(-measured)} over {place}."
    multiples = f" ({r.diameters:.2f} x its diameter)" if demand.radius == 0.0 else ""
    return f"{r.site.name}: its {demand.what} is {text(measured)} from {place}{multiples}."
