"""What a slot or a pocket has to say: its ends, its corners, what keeps it out, and all that both have alike."""

from __future__ import annotations

import math

from msgspec.structs import replace

from holecam.cuts.cut_choices import Corners
from holecam.cuts.cutter_choice import CutterChoice
from holecam.cuts.pocket_values import PocketPlan
from holecam.cuts.slot_values import KeptOut, OpenEnd, SlotPlan, StopShort
from holecam.lengths import Unit
from holecam.plan.finding import Finding, Severity
from holecam.planning.cut_finding_parts import (
    BY_SIMULATION,
    COMMON,
    NamedCut,
    chain_findings,
    entry_hole_findings,
    fault_findings,
    hand_findings,
    leftover_findings,
    note_findings,
    proof_findings,
    wall_findings,
)
from holecam.planning.words_in_unit import in_unit

AT_EDGE = 0.5
"""mm. An open end stated as near to the edge as this lies at the edge: hand-drawn sizes differ by as much (common
practice)."""


def slot_findings(plan: SlotPlan, unit: Unit) -> list[Finding]:
    """Return the findings of a planned slot."""
    name = plan.request.name
    about = f'slot "{name}"'
    cut = NamedCut(about, name, unit)
    text = cut.text
    corners = plan.request.corners if plan.request.corners is not Corners.NIBBLE else Corners.SLOW  # no room to nibble
    out = proof_findings(plan.proof, cut, corners, plan.request.engagement_ratio, slot=True)
    out += wall_findings(plan.walls, cut, plan.request.body_name, plan.request.least_wall, plan.request.least_bottom)
    for report, end in zip(plan.ends, plan.request.ends, strict=True):
        where = "start" if report.at_start else "end"
        if isinstance(end, OpenEnd) and report.led_on > AT_EDGE:
            out.append(
                Finding(
                    "open-end-led-on",
                    Severity.CAUTION,
                    about,
                    f"Its {where} as stated lies {text(report.led_on)} inside the edge. An open end is led straight on "
                    "to the edge: the slot becomes that much longer than stated.",
                    report.led_on,
                    AT_EDGE,
                    source=BY_SIMULATION,
                    remedy="State the end at the edge if that is meant; a slot that is to end inside has a blind end.",
                    operation=name,
                )
            )
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
            known = math.isfinite(report.bar_too_long_by)
            remedy = f"Take {text(report.bar_too_long_by)} off the bar" if known else "Make the slot wider, or longer"
            if report.round_corners_to is not None:
                remedy += f", or round its corners to a radius of {text(report.round_corners_to)}"
            why = "stop" if isinstance(end, StopShort) else "round end"
            out.append(
                Finding(
                    "bar-too-long",
                    Severity.CAUTION,
                    about,
                    f'"{plan.request.bar.name}" does not clear the {why} at its {where}: '
                    + (f"it is {text(report.bar_too_long_by)} too long there." if known else "it fits nowhere there."),
                    report.bar_too_long_by if known else None,
                    0.0,
                    source=BY_SIMULATION,
                    remedy=remedy + ".",
                    operation=name,
                )
            )
    if plan.kept_out is not None:
        out.append(_kept_out(plan.kept_out, cut))
    out += hand_findings((plan.by_hand, *(s.by_hand for s in plan.sneak)), cut)
    out += chain_findings(plan.chain_drilling, cut)
    out += entry_hole_findings(plan.entry_holes, cut)
    out += note_findings(plan.notes, cut)
    return out


def _kept_out(taken: KeptOut, cut: NamedCut) -> Finding:
    """Return what is told of a slot that keep-outs make smaller than stated: a stop where it would end before them."""
    names = ", ".join(f'"{n}"' for n in taken.names)
    lie = "lies" if len(taken.names) == 1 else "lie"
    message = f"{names} {lie} in its way, margin included: {cut.area(taken.area)} of it stay uncut"
    if taken.length > 0:
        message += f", and its middle is {cut.text(taken.length)} shorter than stated"
    message += ". What lies behind is not cut at all." if taken.across else "."
    return Finding(
        "keep-out-in-slot",
        Severity.STOP if taken.across else Severity.CAUTION,
        cut.about,
        message,
        taken.area,
        0.0,
        "mm2",
        "geometry",
        "End the slot before it (stop_short), name in keep_from only what matters here, or give it a smaller margin.",
        operation=cut.name,
    )


def pocket_findings(plan: PocketPlan, unit: Unit, choice: CutterChoice | None = None) -> list[Finding]:
    """Return the findings of a planned pocket; ``choice`` says why its cutter was taken."""
    name = plan.request.name
    about = f'pocket "{name}"'
    cut = NamedCut(about, name, unit)
    text = cut.text
    out = proof_findings(plan.proof, cut, plan.request.corners, plan.request.engagement_ratio, slot=False)
    if plan.rest_proof is not None:
        second = plan.request.second_cutter
        rest = replace(cut, about=f'{about}, second cutter "{second.name}"') if second else cut
        out += fault_findings(plan.rest_proof, rest)
        out += leftover_findings(plan.rest_proof.leftovers, rest, second.diameter if second else 0.0)
    else:
        out += leftover_findings(plan.proof.leftovers, cut, plan.request.cutter.diameter)
    out += wall_findings(plan.walls, cut, plan.request.body_name, plan.request.least_wall, plan.request.least_bottom)
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
    out += hand_findings((plan.by_hand, *(s.by_hand for s in plan.sneak)), cut)
    out += chain_findings(plan.chain_drilling, cut)
    out += entry_hole_findings(plan.entry_holes, cut)
    out += note_findings(plan.notes, cut)
    if choice is not None:
        words = in_unit("; ".join(v.reason for v in choice.verdicts), unit)
        out.append(
            Finding("cutter-choice", Severity.NOTE, about, f"Cutters: {words}.", operation=name, source="geometry")
        )
    return out
