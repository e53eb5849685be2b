"""What a slot or pocket has to say: gouges, leftovers, engagement, walls, bottoms, ends, and how it can be done."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from holecam.cuts.cut_choices import Corners, EntryHole
from holecam.cuts.cutter_choice import CutterChoice
from holecam.cuts.hand_values import HandWork
from holecam.cuts.pocket_values import PocketPlan
from holecam.cuts.proof_values import GOUGE_LIMIT, LEFTOVER_SHARE, CutProof, Leftover, WallReport
from holecam.cuts.slot_values import OpenEnd, SlotPlan, StopShort
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity

LEAST_WALL = 6.0
"""mm. Wall of a wooden former beside a slot: common practice."""

LEAST_BOTTOM = 3.0
"""mm. Bottom of a wooden former under a cut: common practice, half of the least wall."""

COMMON = "common practice"
BY_SIMULATION = "simulation of the cut"

Text = Callable[[float], str]


def slot_findings(plan: SlotPlan, unit: Unit) -> list[Finding]:
    """Return the findings of a planned slot."""
    name = plan.request.name
    about = f'slot "{name}"'
    text = _lengths(unit)
    corners = plan.request.corners if plan.request.corners is not Corners.NIBBLE else Corners.SLOW  # no room to nibble
    out = _proof(plan.proof, about, name, text, corners, plan.request.engagement_ratio, slot=True)
    out += _walls(
        plan.walls, about, name, text, plan.request.body_name, plan.request.least_wall, plan.request.least_bottom
    )
    for report, end in zip(plan.ends, plan.request.ends, strict=True):
        where = "start" if report.at_start else "end"
        if isinstance(end, OpenEnd):
            if report.spoil_board is None:
                out.append(
                    Finding(
                        "no-spoil-board",
                        Severity.CAUTION,
                        about,
                        f"It runs out past the edge at its {where} without a spoil board: the exit splinters.",
                        source=COMMON,
                        remedy="Clamp a board hard against the edge, or cut in from there.",
                        operation=name,
                    )
                )
            else:
                out.append(
                    Finding(
                        "spoil-board",
                        Severity.NOTE,
                        about,
                        f"At its {where} the cutter reaches {text(report.spoil_board)} past the edge.",
                        report.spoil_board,
                        None,
                        source=BY_SIMULATION,
                        remedy=f"Clamp a spoil board of at least {text(report.spoil_board)} hard against the edge.",
                        operation=name,
                    )
                )
        if report.bar_too_long_by is not None and report.bar_too_long_by > 0 and plan.request.bar is not None:
            remedy = f"Take {text(report.bar_too_long_by)} off the bar"
            if report.round_corners_to is not None:
                remedy += f", or round its corners to a radius of {text(report.round_corners_to)}"
            why = "stop" if isinstance(end, StopShort) else "round end"
            out.append(
                Finding(
                    "bar-too-long",
                    Severity.CAUTION,
                    about,
                    f'"{plan.request.bar.name}" does not clear the {why} at its {where}: it is '
                    f"{text(report.bar_too_long_by)} too long there.",
                    report.bar_too_long_by,
                    0.0,
                    source=BY_SIMULATION,
                    remedy=remedy + ".",
                    operation=name,
                )
            )
    out += _by_hand(plan.by_hand, about, name)
    out += _entry_holes(plan.entry_holes, about, name, text)
    out += _notes(plan.notes, about, name)
    return out


def pocket_findings(plan: PocketPlan, unit: Unit, choice: CutterChoice | None = None) -> list[Finding]:
    """Return the findings of a planned pocket; ``choice`` says why its cutter was taken."""
    name = plan.request.name
    about = f'pocket "{name}"'
    text = _lengths(unit)
    out = _proof(plan.proof, about, name, text, plan.request.corners, plan.request.engagement_ratio, slot=False)
    if plan.rest_proof is not None:
        second = plan.request.second_cutter
        label = f'{about}, second cutter "{second.name}"' if second else about
        out += _faults(plan.rest_proof, label, name, text)
        out += _leftovers(plan.rest_proof.leftovers, label, name, text, second.diameter if second else 0.0)
    else:
        out += _leftovers(plan.proof.leftovers, about, name, text, plan.request.cutter.diameter)
    out += _walls(
        plan.walls, about, name, text, plan.request.body_name, plan.request.least_wall, plan.request.least_bottom
    )
    for relief in plan.reliefs:
        out.append(
            Finding(
                "corner-overcut",
                Severity.NOTE,
                about,
                f"The corner at X {text(relief.corner[0])} Y {text(relief.corner[1])} is overcut by "
                f"{text(relief.bite)}.",
                relief.bite,
                None,
                source="job file",
                remedy="As asked for.",
                operation=name,
            )
        )
    out += _by_hand(plan.by_hand, about, name)
    out += _entry_holes(plan.entry_holes, about, name, text)
    out += _notes(plan.notes, about, name)
    if choice is not None:
        words = "; ".join(v.reason for v in choice.verdicts)
        out.append(
            Finding("cutter-choice", Severity.NOTE, about, f"Cutters: {words}.", operation=name, source="geometry")
        )
    return out


def _lengths(unit: Unit) -> Text:
    def text(value: float) -> str:
        return length_text(value, unit)

    return text


def _proof(
    proof: CutProof, about: str, name: str, text: Text, corners: Corners, ratio: float, *, slot: bool
) -> list[Finding]:
    out = _faults(proof, about, name, text)
    peak = proof.peak
    if peak is None:
        return out
    nibbled = corners is Corners.NIBBLE
    over = peak.ratio > ratio + 1e-9
    full = " (its whole width)" if peak.engagement_deg > 179.0 else ""
    at = f"X {text(peak.at[0])} Y {text(peak.at[1])}"
    message = (
        f"A tooth cuts over at most {peak.engagement_deg:.0f} degrees{full}, at {at}; on a straight pass over "
        f"{peak.straight_deg:.0f} degrees."
    )
    if over and nibbled:
        severity, remedy = Severity.CAUTION, "The feed drops there. Watch it, or take a smaller cutter."
        if peak.width_there is not None:
            message += f" The pocket is {text(peak.width_there)} wide there; small bites need room beside the cutter."
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
            about,
            message,
            peak.engagement_deg,
            ratio * peak.straight_deg,
            "deg",
            BY_SIMULATION,
            remedy,
            operation=name,
        )
    )
    return out


def _faults(proof: CutProof, about: str, name: str, text: Text) -> list[Finding]:
    """Return the stops: what must never happen."""
    out: list[Finding] = []
    for gouge in proof.gouges:
        out.append(
            Finding(
                "gouge",
                Severity.STOP,
                about,
                f"The cutter would enter {gouge.into} by {text(gouge.depth)} at X {text(gouge.at[0])} "
                f"Y {text(gouge.at[1])}.",
                gouge.depth,
                GOUGE_LIMIT,
                source=BY_SIMULATION,
                remedy="Do not cut. Take a smaller cutter, or leave the overcut of that corner out.",
                operation=name,
            )
        )
    for patch in proof.uncut:
        out.append(
            Finding(
                "leftover",
                Severity.STOP,
                about,
                f"{patch.area:.4f} mm2 at X {text(patch.at[0])} Y {text(patch.at[1])} would stay uncut although the "
                "cutter gets there.",
                patch.area,
                0.0,
                "mm2",
                BY_SIMULATION,
                "Do not cut. Take a smaller step-over, and report this: the plan should have covered it.",
                operation=name,
            )
        )
    return out


def _leftovers(patches: Sequence[Leftover], about: str, name: str, text: Text, diameter: float) -> list[Finding]:
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
                about,
                f"In {len(corners)} inside corner(s) {total:.2f} mm2 stay, rounded to a radius of "
                f"{text(diameter / 2)}; most, {worst.area:.2f} mm2, at X {text(worst.at[0])} Y {text(worst.at[1])}.",
                total,
                None,
                "mm2",
                BY_SIMULATION,
                "Round the part, overcut the corners, take a second smaller cutter, or a file or chisel.",
                operation=name,
            )
        )
    for patch in counted:
        if patch.reason != "inside corner":
            out.append(
                Finding(
                    "narrow-leftover",
                    Severity.CAUTION,
                    about,
                    f"{patch.area:.2f} mm2 near X {text(patch.at[0])} Y {text(patch.at[1])} stay: too narrow for the "
                    f"cutter of {text(diameter)}.",
                    patch.area,
                    0.0,
                    "mm2",
                    BY_SIMULATION,
                    "Take a smaller cutter, or a second one for what is left.",
                    operation=name,
                )
            )
    return out


def _walls(
    walls: WallReport,
    about: str,
    name: str,
    text: Text,
    body: str,
    least_wall: float | None,
    least_bottom: float | None,
) -> list[Finding]:
    out: list[Finding] = []
    limit = LEAST_WALL if least_wall is None else least_wall
    source = COMMON if least_wall is None else "job file"
    if walls.thinnest_wall is not None and walls.wall_at is not None and not walls.thinnest_wall >= limit:
        broken = not walls.thinnest_wall > 0
        x, y = walls.wall_at
        what = "breaks through the side of" if broken else f"leaves a wall of only {text(walls.thinnest_wall)} of"
        out.append(
            Finding(
                "thin-wall",
                Severity.STOP if broken else Severity.CAUTION,
                about,
                f"It {what} {body} at X {text(x)} Y {text(y)}.",
                walls.thinnest_wall,
                limit,
                source=source,
                remedy="Move it, make it narrower, or back the wall with a clamped block while it is cut.",
                operation=name,
            )
        )
    limit = LEAST_BOTTOM if least_bottom is None else least_bottom
    source = COMMON if least_bottom is None else "job file"
    if walls.bottom is not None and walls.bottom > 0 and not walls.bottom >= limit:
        out.append(
            Finding(
                "thin-bottom",
                Severity.CAUTION,
                about,
                f"Only {text(walls.bottom)} of {body} is left under it.",
                walls.bottom,
                limit,
                source=source,
                remedy="Make it shallower, or lay the work on a flat board over its whole area.",
                operation=name,
            )
        )
    for kept, away, place in walls.to_kept:
        if not away > 0:
            out.append(
                Finding(
                    "reaches-curve",
                    Severity.STOP,
                    about,
                    f'It reaches into "{kept}" by {text(-away)} at X {text(place[0])} Y {text(place[1])}.',
                    away,
                    0.0,
                    source=BY_SIMULATION,
                    remedy="Stop it shorter, or state a margin.",
                    operation=name,
                )
            )
        else:
            out.append(
                Finding(
                    "distance-to-curve",
                    Severity.NOTE,
                    about,
                    f'Its nearest place to "{kept}" is {text(away)} away, at X {text(place[0])} Y {text(place[1])}.',
                    away,
                    None,
                    source=BY_SIMULATION,
                    remedy="No need to act.",
                    operation=name,
                )
            )
    return out


def _by_hand(work: HandWork, about: str, name: str) -> list[Finding]:
    if work.followable:
        return []
    remedy = "By program; by hand drill a chain of holes inside the line and file to it."
    if work.turn_work_deg:
        remedy = f"Turn the work by {work.turn_work_deg:.3f} degrees so that it lies along X, or cut it by program."
    return [
        Finding(
            "two-handwheels",
            Severity.NOTE,
            about,
            f"Two handwheels cannot follow it: {work.why}.",
            source="geometry",
            remedy=remedy,
            operation=name,
        )
    ]


def _entry_holes(holes: Sequence[EntryHole], about: str, name: str, text: Text) -> list[Finding]:
    return [
        Finding(
            "entry-hole",
            Severity.NOTE,
            about,
            f"The cutter gets down through a hole of {text(hole.diameter)} at X {text(hole.at[0])} "
            f"Y {text(hole.at[1])}.",
            hole.diameter,
            None,
            source="plan",
            remedy="Drill it first, to the full depth.",
            operation=name,
        )
        for hole in holes
    ]


def _notes(notes: Sequence[str], about: str, name: str) -> list[Finding]:
    return [
        Finding("cut-note", Severity.NOTE, about, f"{note[0].upper()}{note[1:]}.", source="plan", operation=name)
        for note in notes
    ]
