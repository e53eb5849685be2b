"""What slots and pockets have to say alike: gouges, leftovers, engagement, walls, bottoms, and how they can be done."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from holecam.cuts.chain_drilling_values import ChainDrilling
from holecam.cuts.cut_choices import Corners, EntryHole
from holecam.cuts.hand_values import HandWork
from holecam.cuts.proof_values import GOUGE_LIMIT, LEFTOVER_SHARE, CutProof, Leftover, WallReport
from holecam.lengths import Unit, area_text, length_text
from holecam.plan.finding import Finding, Severity
from holecam.planning.words_in_unit import in_unit
from holecam.shapes import Point

LEAST_WALL = 6.0
"""mm. Wall of a wooden former beside a slot: common practice."""

LEAST_BOTTOM = 3.0
"""mm. Bottom of a wooden former under a cut: common practice, half of the least wall."""

TWO_HANDWHEELS = "two-handwheels"
"""Code of what two handwheels cannot follow."""

COMMON = "common practice"
BY_SIMULATION = "simulation of the cut"


PLACES_TOLD = 4
"""Places that are listed one by one; more are counted."""


class NamedCut(Struct, frozen=True):
    """The cut that findings speak of: ``about`` as they name it, ``name`` in the job, and the job's unit."""

    about: str
    name: str
    unit: Unit

    def text(self, value: float) -> str:
        return length_text(value, self.unit)

    def area(self, value: float) -> str:
        return area_text(value, self.unit)

    def at(self, place: Point) -> str:
        return f"X {self.text(place[0])} Y {self.text(place[1])}"


def proof_findings(proof: CutProof, cut: NamedCut, corners: Corners, ratio: float, *, slot: bool) -> list[Finding]:
    """Return faults of a cut, and how far its teeth cut at most; ``ratio`` is what is allowed of a straight pass."""
    out = fault_findings(proof, cut)
    peak = proof.peak
    if peak is None:
        return out
    nibbled = corners is Corners.NIBBLE
    over = peak.ratio > ratio + 1e-9
    full = " (its whole width)" if peak.engagement_deg > 179.0 else ""
    at = f"{cut.at(peak.at)}"
    message = (
        f"A tooth cuts over at most {peak.engagement_deg:.0f} degrees{full}, at {at}; on a straight pass over "
        f"{peak.straight_deg:.0f} degrees."
    )
    if over and nibbled:
        severity, remedy = Severity.CAUTION, "The feed drops there. Watch it, or take a smaller cutter."
        if peak.width_there is not None:
            message += (
                f" The pocket is {cut.text(peak.width_there)} wide there; small bites need room beside the cutter."
            )
    elif over and corners is Corners.AS_THEY_COME:
        severity, remedy = Severity.CAUTION, "The feed is left as it is, as asked for: take a slow one throughout."
    else:
        severity, remedy = Severity.NOTE, "The feed drops where it is more than allowed." if over else "No need to act."
    if slot and severity is Severity.NOTE:
        remedy = "The first pass of a slot cuts on its whole width; the feed drops for it."
    out.append(
        Finding(
            "engagement",
            severity,
            cut.about,
            message,
            peak.engagement_deg,
            ratio * peak.straight_deg,
            "deg",
            BY_SIMULATION,
            remedy,
            operation=cut.name,
        )
    )
    return out


def fault_findings(proof: CutProof, cut: NamedCut) -> list[Finding]:
    """Return the stops: what must never happen."""
    out: list[Finding] = []
    for gouge in proof.gouges:
        out.append(
            Finding(
                "gouge",
                Severity.STOP,
                cut.about,
                f"The cutter would enter {gouge.into} by {cut.text(gouge.depth)} at {cut.at(gouge.at)}.",
                gouge.depth,
                GOUGE_LIMIT,
                source=BY_SIMULATION,
                remedy="Do not cut. Take a smaller cutter, or leave the overcut of that corner out.",
                operation=cut.name,
            )
        )
    for patch in proof.uncut:
        out.append(
            Finding(
                "leftover",
                Severity.STOP,
                cut.about,
                f"{cut.area(patch.area)} at {cut.at(patch.at)} would stay uncut although the cutter gets there.",
                patch.area,
                0.0,
                "mm2",
                BY_SIMULATION,
                "Do not cut. Take a smaller step-over, and report this: the plan should have covered it.",
                operation=cut.name,
            )
        )
    return out


def leftover_findings(patches: Sequence[Leftover], cut: NamedCut, diameter: float) -> list[Finding]:
    """Return what stays, with its reason: all inside corners in one, each narrow place for itself."""
    out: list[Finding] = []
    counted = [p for p in patches if p.area > LEFTOVER_SHARE * diameter**2]
    corners = [p for p in counted if p.reason == "inside corner"]
    if corners:
        total = sum(p.area for p in corners)
        worst = max(corners, key=lambda p: p.area)
        out.append(
            Finding(
                "corner-leftover",
                Severity.NOTE,
                cut.about,
                f"In {len(corners)} inside corner{'s' if len(corners) > 1 else ''} {cut.area(total)} stay, rounded "
                f"to a radius of {cut.text(diameter / 2)}; most, {cut.area(worst.area)}, at {cut.at(worst.at)}.",
                total,
                None,
                "mm2",
                BY_SIMULATION,
                "Round the part, overcut the corners, take a second smaller cutter, or a file or chisel.",
                operation=cut.name,
            )
        )
    for patch in counted:
        if patch.reason != "inside corner":
            out.append(
                Finding(
                    "narrow-leftover",
                    Severity.CAUTION,
                    cut.about,
                    f"{cut.area(patch.area)} near {cut.at(patch.at)} stay: too narrow for the "
                    f"cutter of {cut.text(diameter)}.",
                    patch.area,
                    0.0,
                    "mm2",
                    BY_SIMULATION,
                    "Take a smaller cutter, or a second one for what is left.",
                    operation=cut.name,
                )
            )
    return out


def wall_findings(
    walls: WallReport,
    cut: NamedCut,
    body: str,
    least_wall: float | None,
    least_bottom: float | None,
) -> list[Finding]:
    """Return walls and bottoms that are thinner than they should be; a cut that comes out of its body is a stop."""
    out: list[Finding] = []
    limit = LEAST_WALL if least_wall is None else least_wall
    source = COMMON if least_wall is None else "job file"
    if walls.thinnest_wall is not None and walls.wall_at is not None and not walls.thinnest_wall >= limit:
        broken = not walls.thinnest_wall > 0
        x, y = walls.wall_at
        what = "breaks through the side of" if broken else f"leaves a wall of only {cut.text(walls.thinnest_wall)} of"
        out.append(
            Finding(
                "thin-wall",
                Severity.STOP if broken else Severity.CAUTION,
                cut.about,
                f"It {what} {body} at X {cut.text(x)} Y {cut.text(y)}.",
                walls.thinnest_wall,
                limit,
                source=source,
                remedy="Move it, make it narrower, or back the wall with a clamped block while it is cut.",
                operation=cut.name,
            )
        )
    limit = LEAST_BOTTOM if least_bottom is None else least_bottom
    source = COMMON if least_bottom is None else "job file"
    if walls.bottom is not None and walls.bottom > 0 and not walls.bottom >= limit:
        out.append(
            Finding(
                "thin-bottom",
                Severity.CAUTION,
                cut.about,
                f"Only {cut.text(walls.bottom)} of {body} is left under it.",
                walls.bottom,
                limit,
                source=source,
                remedy="Make it shallower, or lay the work on a flat board over its whole area.",
                operation=cut.name,
            )
        )
    for kept, away, place in walls.to_kept:
        if not away > 0:
            out.append(
                Finding(
                    "reaches-curve",
                    Severity.STOP,
                    cut.about,
                    f'It reaches into "{kept}" by {cut.text(-away)} at {cut.at(place)}.',
                    away,
                    0.0,
                    source=BY_SIMULATION,
                    remedy="Stop it shorter, or state a margin.",
                    operation=cut.name,
                )
            )
        else:
            out.append(
                Finding(
                    "distance-to-curve",
                    Severity.NOTE,
                    cut.about,
                    f'Its nearest place to "{kept}" is {cut.text(away)} away, at {cut.at(place)}.',
                    away,
                    None,
                    source=BY_SIMULATION,
                    remedy="No need to act.",
                    operation=cut.name,
                )
            )
    return out


def hand_findings(works: Sequence[HandWork], cut: NamedCut) -> list[Finding]:
    """Return what is told of the first of these that two handwheels cannot follow: the cut, or a stage of it."""
    work = next((w for w in works if not w.followable), None)
    if work is None:
        return []
    remedy = "By program; by hand drill a chain of holes inside the line and file to it."
    if work.turn_work_deg:
        remedy = f"Turn the work by {work.turn_work_deg:.3f} degrees so that it lies along X, or cut it by program."
    return [
        Finding(
            TWO_HANDWHEELS,
            Severity.NOTE,
            cut.about,
            f"Two handwheels cannot follow it: {in_unit(work.why, cut.unit)}.",
            source="geometry",
            remedy=remedy,
            operation=cut.name,
        )
    ]


def chain_findings(chain: ChainDrilling | None, cut: NamedCut) -> list[Finding]:
    """Return what is told of a row of holes: the metal between them and to the line, and where none has room."""
    if chain is None:
        return []
    webs = cut.text(chain.least_web)
    if cut.text(chain.greatest_web) != webs:
        webs = f"{webs} to {cut.text(chain.greatest_web)}"
    told = f"{len(chain.centres)} holes of {cut.text(chain.drill)}"
    if len(chain.centres) > 1:
        told += f", webs of {webs} between them"
    out = [
        Finding(
            "chain-drilling",
            Severity.NOTE,
            cut.about,
            f"{told}, at least {cut.text(chain.least_allowance)} off the line.",
            chain.least_web,
            chain.wished_web,
            source="job file",
            remedy="Saw or pare the webs away, then file to the line.",
            operation=cut.name,
        )
    ]
    if chain.skipped:
        places = "; ".join(cut.at(p) for p in chain.skipped[:PLACES_TOLD])
        more = len(chain.skipped) - PLACES_TOLD
        out.append(
            Finding(
                "chain-left-out",
                Severity.NOTE,
                cut.about,
                f"{len(chain.skipped)} holes of the chain are left out, they would run into others: {places}"
                f"{f'; and {more} more' if more > 0 else ''}.",
                source="geometry",
                remedy="The metal there is pared away by hand, or take a smaller drill.",
                operation=cut.name,
            )
        )
    return out


def entry_hole_findings(holes: Sequence[EntryHole], cut: NamedCut) -> list[Finding]:
    """Return which holes the cutter gets down through."""
    return [
        Finding(
            "entry-hole",
            Severity.NOTE,
            cut.about,
            f"The cutter gets down through a hole of {cut.text(hole.diameter)} at {cut.at(hole.at)}.",
            hole.diameter,
            None,
            source="plan",
            remedy="Drill it first, to the full depth.",
            operation=cut.name,
        )
        for hole in holes
    ]


def note_findings(notes: Sequence[str], cut: NamedCut) -> list[Finding]:
    """Return what the planner of the cut noted, in the job's unit."""
    said = [in_unit(note, cut.unit) for note in notes]
    return [
        Finding("cut-note", Severity.NOTE, cut.about, f"{n[0].upper()}{n[1:]}.", source="plan", operation=cut.name)
        for n in said
    ]
