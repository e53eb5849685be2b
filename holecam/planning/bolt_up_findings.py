"""Turn the bolt-up into findings: whether every screw enters, what holds it back, what to open, how likely it is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from holecam.layout.assembly_chance import AssemblyChance, Estimate
from holecam.layout.bolt_up import BoltUp, Joint, NoPlay
from holecam.layout.bolt_up_motion import Freedom
from holecam.layout.bolt_up_play import CountersunkHole, RoundHole, SlottedHole, TappedHole
from holecam.layout.opening_up import DrilledOpen, Opening, OpeningUp, SlottedOpen
from holecam.lengths import Unit, length_text
from holecam.lengths.chances import at_least_text, chance_text
from holecam.plan.finding import Finding, Severity, worst_first
from holecam.plan.hole_words import hole_words, screws_words
from holecam.shapes import Placement
from holecam.shapes.angles import cos_sin_deg

AS_IT_IS = Placement()
"""The part as given, not its twin."""

Numbers = dict[int, int]
"""Numbers in the pattern by those on the sheet."""

TIGHT_RATIO = 0.8
"""Share of the play from which a bolt-up counts as tight: a fifth is left for burrs and dirt (common practice)."""

WANTED_CHANCE = 0.95
"""Chance of assembly below which a caution is given (common practice)."""

SOLVED = "bolt-up, least over rigid motions of the worst offset over play"
PRACTICE = "common practice"

_HELD = {
    Freedom.FREE: "lying loose",
    Freedom.SHIFT: "kept parallel",
    Freedom.ALONG: "sliding along its guide",
    Freedom.ABOUT: "turning about its pin",
    Freedom.HELD: "held where it is",
}


def bolt_up_findings(
    mate: str,
    pattern: str,
    joints: Sequence[Joint],
    fit: BoltUp | NoPlay,
    *,
    opening: OpeningUp | None = None,
    chance: AssemblyChance | None = None,
    unit: Unit = "mm",
    in_pattern: Mapping[int, int] | None = None,
    hand: Placement = AS_IT_IS,
    tight_ratio: float = TIGHT_RATIO,
    wanted_chance: float = WANTED_CHANCE,
) -> tuple[Finding, ...]:
    """Return the findings about one pattern and its mate, the worst first; messages speak ``unit``, figures are mm.

    ``in_pattern`` gives the number of a screw in the pattern by that on the sheet, where the two differ; ``hand``
    carries directions to the twin of the part.

    Codes: ``no-play``, ``does-not-bolt-up``, ``looks-mirrored``, ``tight-bolt-up``, ``bolts-up``, ``not-proved``,
    ``no-play-countersunk``, ``leaning-thread``, ``lean-not-counted``, ``chance-of-assembly``.
    """
    about = f'pattern "{pattern}" on mate "{mate}"'
    everyone = tuple(j.number for j in joints)
    own = {n: n for n in everyone} if in_pattern is None else dict(in_pattern)
    found: list[Finding] = []
    if isinstance(fit, NoPlay):
        found.append(_no_play(about, fit, own, unit))
    else:
        found.append(_outcome(about, own, fit, opening, unit, tight_ratio, hand))
        if fit.looks_mirrored:
            found.append(_mirrored(about, everyone))
        if not fit.certificate.proved:
            found.append(_not_proved(about, fit))
    found.extend(_countersunk(about, joints, own, unit))
    found.extend(_leaning(about, joints, own, unit))
    found.extend(_lean_not_counted(about, joints, own))
    if chance is not None:
        found.append(_chance(about, chance, own, wanted_chance))
    return worst_first(tuple(found))


def opening_text(
    opening: Opening, pattern: str, mate: str, own: Numbers, unit: Unit, hand: Placement = AS_IT_IS
) -> str:
    """Return what to open in words, with sizes; holes of the mate are counted as its pattern is.

    ``hand`` carries directions to the twin of the part.
    """
    parts = []
    for step in opening.steps:
        number = own.get(step.number, step.number)
        what = f"{hole_words(step.number, pattern, number)} in the part" if step.member == "part" else ""
        what = what or (hole_words(number, mate) + ("" if number == step.number else f" (under screw {step.number})"))
        if isinstance(step, DrilledOpen):
            before, after = length_text(step.before, unit), length_text(step.diameter, unit)
            parts.append(f"open {what} from {before} to {step.drill} ({after})")
        elif isinstance(step, SlottedOpen):
            longer = length_text(step.longer_by, unit)
            x, y = hand.apply_vector(cos_sin_deg(step.direction_deg))
            parts.append(f"draw {what} out by {longer} toward {_whole_degrees(x, y)} degrees")
    return "; ".join(parts)


def _whole_degrees(x: float, y: float) -> int:
    return round(math.degrees(math.atan2(y, x))) % 360


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _no_play(about: str, fit: NoPlay, own: Numbers, unit: Unit) -> Finding:
    short = ", ".join(
        f"{n} by {length_text(-p, unit)}" for n, p in zip(fit.numbers, fit.plays, strict=True)
    )  # fmt: skip
    return Finding(
        code="no-play",
        severity=Severity.STOP,
        about=about,
        message=(
            f"{_capital(screws_words(fit.numbers, own))} cannot enter at all, wherever the part lies; radius missing: "
            f"{short}."
        ),
        measured=min(fit.plays),
        limit=0.0,
        source=SOLVED,
        remedy="Drill these clearance holes above the screw's diameter, or set a leaning thread straight.",
        holes=fit.numbers,
    )


def _outcome(
    about: str,
    own: Numbers,
    fit: BoltUp,
    opening: OpeningUp | None,
    unit: Unit,
    tight_ratio: float,
    hand: Placement,
) -> Finding:
    worst = screws_words(fit.binding, own) if fit.binding else "no screw"
    how = _HELD[fit.motion.freedom]
    if not fit.goes_together:
        best = opening.best if opening is not None else None
        slot = opening.slotted[0] if opening is not None and opening.slotted else None
        pattern, mate = about.split('"')[1], about.rsplit('"', 2)[-2]
        ways = [opening_text(o, pattern, mate, own, unit, hand) for o in (best, slot) if o is not None]
        remedy = (
            "Or: ".join(f"{w[0].upper()}{w[1:]}. " for w in dict.fromkeys(ways)).strip()
            if ways
            else "Move the pattern, measure the mate's holes again, or open several holes together."
        )
        return Finding(
            code="does-not-bolt-up",
            severity=Severity.STOP,
            about=about,
            message=(
                f"The screws do not all enter: {how}, in the best position the worst one needs {fit.ratio:.2f} times "
                f"its play and {length_text(-fit.play_left, unit)} are missing. "
                f"Held by {screws_words(fit.certificate.numbers, own)}."
            ),
            measured=fit.ratio,
            limit=1.0,
            quantity_unit="1",
            source=SOLVED,
            remedy=remedy,
            holes=tuple(own),
        )
    tight = fit.ratio > tight_ratio
    return Finding(
        code="tight-bolt-up" if tight else "bolts-up",
        severity=Severity.CAUTION if tight else Severity.NOTE,
        about=about,
        message=(
            f"Every screw enters, {how}: the worst uses {100.0 * fit.ratio:.0f} percent of its play, "
            f"{length_text(fit.play_left, unit)} are left; tightest: {worst}."
        ),
        measured=fit.ratio,
        limit=tight_ratio,
        quantity_unit="1",
        source=f"{SOLVED}; limit {PRACTICE}",
        remedy=(
            "Start all screws before tightening any; ream or open the tightest hole if one still binds."
            if tight
            else "Start all screws before tightening any."
        ),
        holes=fit.binding,
    )


def _mirrored(about: str, everyone: tuple[int, ...]) -> Finding:
    return Finding(
        code="looks-mirrored",
        severity=Severity.STOP,
        about=about,
        message=(
            "As given the screws do not enter, but the pattern turned over would go together: one hand may be wrong."
        ),
        source=SOLVED,
        remedy=(
            "Check the hand of the part, the face that was measured, and the sign of X. "
            "Ask for the mirror if it is meant."
        ),
        holes=everyone,
    )


def _not_proved(about: str, fit: BoltUp) -> Finding:
    return Finding(
        code="not-proved",
        severity=Severity.NOTE if fit.goes_together else Severity.CAUTION,
        about=about,
        message=(
            "The position found goes together, but that no better one exists is not proved."
            if fit.goes_together
            else "No position was found that goes together; that none exists is not proved."
        ),
        measured=fit.certificate.upper,
        limit=fit.certificate.lower,
        quantity_unit="1",
        source=SOLVED,
        remedy="Slots in both members, or holes that disagree by far more than their play: check the numbering.",
    )


def _countersunk(about: str, joints: Sequence[Joint], own: Numbers, unit: Unit) -> list[Finding]:
    stuck = []
    for joint in joints:
        pair = (joint.part_hole, joint.mate_hole)
        if any(isinstance(h, CountersunkHole) for h in pair) and not any(
            isinstance(h, (RoundHole, SlottedHole)) for h in pair
        ):
            stuck.append(joint)
    if not stuck:
        return []
    least = min(j.play.play for j in stuck)
    return [
        Finding(
            code="no-play-countersunk",
            severity=Severity.CAUTION,
            about=about,
            message=(
                f"{_capital(screws_words([j.number for j in stuck], own))}: a countersunk head centres itself and has "
                f"no play over a thread. The fit was asked for within {length_text(least, unit)}."
            ),
            measured=0.0,
            limit=least,
            source=PRACTICE,
            remedy="Transfer the holes from the mate, or use cheese or pan heads with clearance holes.",
            holes=tuple(j.number for j in stuck),
        )
    ]


def _leaning(about: str, joints: Sequence[Joint], own: Numbers, unit: Unit) -> list[Finding]:
    taken = {
        j.number: -sum(t.amount for t in j.play.terms if t.amount < 0.0)
        for j in joints
        if any(isinstance(h, TappedHole) and h.lean_deg > 0.0 for h in (j.part_hole, j.mate_hole))
        and j.plate_thickness > 0.0
    }
    if not taken:
        return []
    most = max(taken.values())
    return [
        Finding(
            code="leaning-thread",
            severity=Severity.NOTE,
            about=about,
            message=(
                f"A leaning thread takes up to {length_text(most, unit)} of play at {screws_words(tuple(taken), own)}: "
                "plate thickness times the tangent of the lean."
            ),
            measured=most,
            source="geometry; lean of 1 to 2 degrees by hand: common practice",
            remedy="Start the tap in the machine or through a guide block.",
            holes=tuple(taken),
        )
    ]


def _lean_not_counted(about: str, joints: Sequence[Joint], own: Numbers) -> list[Finding]:
    """Return that a lean was stated, but not the plate over the thread: its cost is then in none of the figures."""
    unknown = [
        j.number
        for j in joints
        if j.plate_thickness == 0.0
        and any(isinstance(h, TappedHole) and h.lean_deg > 0.0 for h in (j.part_hole, j.mate_hole))
    ]
    if not unknown:
        return []
    return [
        Finding(
            code="lean-not-counted",
            severity=Severity.CAUTION,
            about=about,
            message=(
                f"What a leaning thread costs at {screws_words(unknown, own)} is not counted: how thick the plate over "
                "it is, was not said."
            ),
            source="geometry: plate thickness times the tangent of the lean",
            remedy="State the thickness of the mate.",
            holes=tuple(unknown),
        )
    ]


def _likely(estimate: Estimate) -> str:
    if estimate.chance >= 1.0:
        return f"at least {at_least_text(estimate.low)}"
    return f"{chance_text(estimate.chance)} ({at_least_text(estimate.low)} to {chance_text(estimate.high)})"


def _chance(about: str, chance: AssemblyChance, own: Numbers, wanted: float) -> Finding:
    words = [f"Every screw enters with a chance of {_likely(chance.total)}"]
    if chance.drilling_alone is not None and chance.reference_alone is not None:
        words.append(
            f"with the doubt of each hole alone {_likely(chance.drilling_alone)}, with the doubt of the reference "
            f"alone {_likely(chance.reference_alone)}"
        )
    if chance.blame and chance.total.chance < 1.0:
        words.append(f"held back mostly by {screws_words([n for n, _ in chance.blame[:2]], own)}")
    low = chance.total.chance < wanted
    return Finding(
        code="chance-of-assembly",
        severity=Severity.CAUTION if low else Severity.NOTE,
        about=about,
        message=f"{'; '.join(words)}. {chance.total.trials} trials, seed {chance.seed}.",
        measured=chance.total.chance,
        limit=wanted,
        quantity_unit="1",
        source=f"simulation, {100.0 * chance.confidence:g} percent interval (Wilson 1927); limit {PRACTICE}",
        remedy=(
            "Locate the holes better (spot by readout, transfer from the mate), or take the next larger clearance."
            if low
            else ""
        ),
        holes=tuple(n for n, _ in chance.blame[:2]) if low else (),
    )
