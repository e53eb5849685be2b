"""How deep: through with a little more, or blind to a thread, a shoulder, a tip or a bottom that must stay."""

from __future__ import annotations

from msgspec import Struct

from holecam.errors import InputError
from holecam.job.models_hole import DepthModel, HoleWork
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import ARITHMETIC_NOISE
from holecam.lengths import Unit, length_text
from holecam.plan.facts import Figure
from holecam.plan.finding import Finding, Severity
from holecam.standards.blind_holes import below_thread, blind_hole, deepest_hole, has_male_centre, point_length
from holecam.standards.drills import Drill
from holecam.standards.tap_leads import tap_lead
from holecam.standards.threads import Thread

BREAKTHROUGH = 0.5
"""mm. How far a drill's full diameter goes past the far face, so that the hole is clean; common practice."""

TAP_THROUGH_PITCHES = 1.0
"""Pitches that the full thread of a tap goes past the far face; common practice."""


class HoleDepth(Struct, frozen=True):
    """Depths below the face, mm, positive downward.

    ``cylinder`` is where the full diameter ends, ``tip`` the drill's point; ``thread`` the full thread (``None`` for a
    plain hole), ``tap_tip`` how far the tap's end goes, ``tap_kind`` its lead in trade words.
    """

    through: bool
    cylinder: float
    tip: float
    thread: float | None
    tap_tip: float
    tap_kind: str
    bottom: float | None
    figures: tuple[Figure, ...] = ()
    findings: tuple[Finding, ...] = ()


ORDINARY_FLUTES = 10.0
"""Times its diameter: about as long as the flutes of a jobber drill are (common practice)."""


def hole_depth(
    work: HoleWork,
    *,
    about: str,
    drill: Drill,
    thread: Thread | None,
    thickness: float,
    point_deg: float,
    floor_depth: float | None,
    limits: SpacingLimits,
    unit: Unit,
) -> HoleDepth:
    """Return how deep the holes of a pattern go; see :func:`holecam.planning.hole_recipes.hole_recipe`.

    Raises
    ------
    InputError
        A depth that the stock does not have, or a through hole over a sheet that must not be touched.
    """
    wish = work.depth
    kind = work.tap.tap if work.tap is not None and work.tap.tap is not None else None
    if wish is None or wish.through:
        if floor_depth is not None:
            raise InputError(
                f"{about}: a through hole over a protected sheet would drill the sheet; "
                "give depth with full_thread, to_shoulder or leave_bottom"
            )
        return _through(about, drill, thread, thickness, point_deg, kind or "plug", unit)
    return _blind(wish, about, drill, thread, thickness, point_deg, kind or "bottoming", floor_depth, limits, unit)


def _through(
    about: str, drill: Drill, thread: Thread | None, thickness: float, point_deg: float, kind: str, unit: Unit
) -> HoleDepth:
    point = point_length(drill.diameter, point_deg=point_deg)
    cylinder = thickness + BREAKTHROUGH
    figure = Figure(
        about,
        "tip depth",
        length_text(cylinder + point, unit),
        f"thickness {length_text(thickness, unit)} + {length_text(BREAKTHROUGH, unit)} past the far face + point "
        f"{length_text(point, unit)} ({point_deg:g} degrees)",
        "drill point (d/2)/tan(point/2); overtravel common practice",
    )
    tap_tip = 0.0
    if thread is not None:
        lead = tap_lead(kind)
        # The tip that is touched off is that of the pointed male centre: the lead begins half a diameter above it
        centre = has_male_centre(thread, male_centre_d=lead.male_centre_d)
        tap_tip = thickness + below_thread(
            thread, lead_pitches=lead.most_pitches, clearance_pitches=TAP_THROUGH_PITCHES, male_centre=centre
        )
    return HoleDepth(
        through=True,
        cylinder=cylinder,
        tip=cylinder + point,
        thread=thickness if thread is not None else None,
        tap_tip=tap_tip,
        tap_kind=kind,
        bottom=None,
        figures=(figure,),
    )


def _blind(
    wish: DepthModel,
    about: str,
    drill: Drill,
    thread: Thread | None,
    thickness: float,
    point_deg: float,
    kind: str,
    floor_depth: float | None,
    limits: SpacingLimits,
    unit: Unit,
) -> HoleDepth:
    point = point_length(drill.diameter, point_deg=point_deg)
    below = 0.0
    if thread is not None:
        lead = tap_lead(kind)
        centre = has_male_centre(thread, male_centre_d=lead.male_centre_d)
        below = below_thread(thread, lead_pitches=lead.most_pitches, male_centre=centre)
    limit = thickness if floor_depth is None else min(thickness, floor_depth)
    if wish.full_thread is not None:
        assert thread is not None
        hole = blind_hole(
            thread, full_thread=float(wish.full_thread), drill=drill.diameter, below=below, point_deg=point_deg
        )
        cylinder, how = hole.cylinder, f"full thread {length_text(hole.full_thread, unit)} + {length_text(below, unit)}"
        how += f" for the {kind} tap's end + point {length_text(point, unit)}"
    elif wish.to_shoulder is not None:
        cylinder = float(wish.to_shoulder)
        how = f"shoulder {length_text(cylinder, unit)} + point {length_text(point, unit)}"
    elif wish.to_tip is not None:
        cylinder = float(wish.to_tip) - point
        how = f"as the job says; the point takes {length_text(point, unit)} of it"
    else:
        assert wish.leave_bottom is not None
        keep = float(wish.leave_bottom)
        cylinder = limit - keep - point
        how = f"{length_text(limit, unit)} less the bottom of {length_text(keep, unit)}"
        if thread is not None:
            deepest = deepest_hole(
                thread, thickness=limit, bottom=keep, drill=drill.diameter, below=below, point_deg=point_deg
            )
            cylinder = deepest.cylinder
            if deepest.why_none:
                raise InputError(
                    f"{about}: no thread is left in a hole that leaves that bottom: {deepest.why_none}. Leave less, "
                    "take a finer thread or a bottoming tap, or go through."
                )
    if not cylinder > 0:
        raise InputError(
            f"{about}: the point of the drill alone is {length_text(point, unit)} long; nothing of the full diameter "
            "is left at that depth. Drill deeper, or use a drill with a flatter point."
        )
    tip = cylinder + point
    full_thread = max(0.0, cylinder - below) if thread is not None else None
    if full_thread is not None and not full_thread > 0:
        raise InputError(
            f"{about}: no full thread is left: the hole is {length_text(cylinder, unit)} deep to its shoulder and the "
            f"{kind} tap's end takes {length_text(below, unit)}. Drill deeper, or take a bottoming tap."
        )
    figure = Figure(about, "tip depth", length_text(tip, unit), how, "drill point (d/2)/tan(point/2)")
    return HoleDepth(
        through=False,
        cylinder=cylinder,
        tip=tip,
        thread=full_thread,
        tap_tip=cylinder - (thread.pitch if thread is not None else 0.0),
        tap_kind=kind,
        bottom=limit - tip,
        figures=(figure,),
        findings=_bottom_findings(about, wish, drill.diameter, limit - tip, floor_depth, limits, unit),
    )


def _bottom_findings(
    about: str,
    wish: DepthModel,
    diameter: float,
    bottom: float,
    floor_depth: float | None,
    limits: SpacingLimits,
    unit: Unit,
) -> tuple[Finding, ...]:
    floor = "the hard floor over the protected sheet" if floor_depth is not None else "the far face"
    text = length_text(bottom, unit)
    if not bottom >= -ARITHMETIC_NOISE:
        return (
            Finding(
                "breaks-through",
                Severity.STOP,
                about,
                f"The drill's point of {about} would pass {floor} by {length_text(-bottom, unit)}.",
                measured=bottom,
                limit=0.0,
                source="thickness and depth of the job",
                remedy="Ask for less full thread, a bottoming tap, or a drill with a flatter point.",
            ),
        )
    if wish.leave_bottom is not None and not bottom >= float(wish.leave_bottom) - ARITHMETIC_NOISE:
        least = float(wish.leave_bottom)
        return (
            Finding(
                "thin-bottom",
                Severity.STOP,
                about,
                f"{text} stay under the drill's point of {about}; the job asks for {length_text(least, unit)}.",
                measured=bottom,
                limit=least,
                source="job file",
                remedy="Ask for less full thread, a bottoming tap, or a drill with a flatter point.",
            ),
        )
    if wish.leave_bottom is not None:
        return ()
    for severity in (Severity.STOP, Severity.CAUTION):
        usual = limits.binding("blind-floor", severity, diameter=diameter)
        if usual is not None and not bottom >= usual.value - ARITHMETIC_NOISE:
            return (
                Finding(
                    "thin-bottom",
                    severity,
                    about,
                    f"Only {text} stay under the drill's point of {about}.",
                    measured=bottom,
                    limit=usual.value,
                    source=usual.term.cited,
                    remedy="Drill less deep, or say leave_bottom in the job to show that it is meant.",
                ),
            )
    return ()


def deep_hole_findings(about: str, drill: Drill, tip: float, unit: Unit) -> tuple[Finding, ...]:
    """Return a caution for holes deeper than the flutes of an ordinary drill: chips pack, the drill wanders or breaks.

    It also shows a slip of the unit: 6.35 inches of brass where 6.35 mm were meant.
    """
    limit = ORDINARY_FLUTES * drill.diameter
    if tip <= limit:
        return ()
    return (
        Finding(
            "deep-hole",
            Severity.CAUTION,
            about,
            f"The holes of {about} are {length_text(tip, unit)} deep, {tip / drill.diameter:.0f} times the diameter of "
            f"the {drill.label} drill; the flutes of an ordinary drill are about {ORDINARY_FLUTES:.0f} times as long.",
            tip,
            limit,
            source="common practice",
            remedy="Is the thickness in the right unit? Else take a long drill, clear the chips often, and expect it "
            "to wander; or drill from both sides.",
        ),
    )
