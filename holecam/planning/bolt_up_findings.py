"""Turn the bolt-up into findings: whether every screw enters, what holds it back, what to open, how likely it is."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.layout.assembly_chance import AssemblyChance, Estimate
from holecam.layout.bolt_up import BoltUp, Joint, NoPlay
from holecam.layout.bolt_up_motion import Freedom
from holecam.layout.bolt_up_play import CountersunkHole, RoundHole, SlottedHole, TappedHole
from holecam.layout.opening_up import DrilledOpen, Opening, OpeningUp, SlottedOpen
from holecam.lengths import Unit, length_text
from holecam.lengths.chances import at_least_text, chance_text
from holecam.plan.finding import Finding, Severity, worst_first

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
    tight_ratio: float = TIGHT_RATIO,
    wanted_chance: float = WANTED_CHANCE,
) -> tuple[Finding, ...]:
    """Return the findings about one pattern and its mate, the worst first; messages speak ``unit``, figures are mm.

    Codes: ``no-play``, ``does-not-bolt-up``, ``looks-mirrored``, ``tight-bolt-up``, ``bolts-up``, ``not-proved``,
    ``no-play-countersunk``, ``leaning-thread``, ``chance-of-assembly``.
    """
    about = f'pattern "{pattern}" on mate "{mate}"'
    everyone = tuple(j.number for j in joints)
    found: list[Finding] = []
    if isinstance(fit, NoPlay):
        found.append(_no_play(about, fit, unit))
    else:
        found.append(_outcome(about, everyone, fit, opening, unit, tight_ratio))
        if fit.looks_mirrored:
            found.append(_mirrored(about, everyone))
        if not fit.certificate.proved:
            found.append(_not_proved(about, fit))
    found.extend(_countersunk(about, joints, unit))
    found.extend(_leaning(about, joints, unit))
    if chance is not None:
        found.append(_chance(about, chance, wanted_chance))
    return worst_first(tuple(found))


def numbers_text(numbers: Sequence[int]) -> str:
    """Return hole numbers as a reader says them: ``3``, ``3 and 5``, ``1, 2 and 7``."""
    words = [str(n) for n in numbers]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def _screws(numbers: Sequence[int]) -> str:
    return f"screw {numbers_text(numbers)}" if len(numbers) == 1 else f"screws {numbers_text(numbers)}"


def opening_text(opening: Opening, mate: str, unit: Unit) -> str:
    """Return what to open in words, with sizes."""
    parts = []
    for step in opening.steps:
        where = f'of "{mate}"' if step.member == "mate" else "of the part"
        if isinstance(step, DrilledOpen):
            before, after = length_text(step.before, unit), length_text(step.diameter, unit)
            parts.append(f"open hole {step.number} {where} from {before} to {step.drill} ({after})")
        elif isinstance(step, SlottedOpen):
            parts.append(
                f"draw hole {step.number} {where} out by {length_text(step.longer_by, unit)} toward "
                f"{step.direction_deg % 360.0:.0f} degrees"
            )
    return "; ".join(parts)


def _no_play(about: str, fit: NoPlay, unit: Unit) -> Finding:
    short = ", ".join(
        f"{n} by {length_text(-p, unit)}" for n, p in zip(fit.numbers, fit.plays, strict=True)
    )  # fmt: skip
    return Finding(
        code="no-play",
        severity=Severity.STOP,
        about=about,
        message=(
            f"{_screws(fit.numbers).capitalize()} cannot enter at all, wherever the part lies; radius missing: {short}."
        ),
        measured=min(fit.plays),
        limit=0.0,
        source=SOLVED,
        remedy="Drill these clearance holes above the screw's diameter, or set a leaning thread straight.",
        holes=fit.numbers,
    )


def _outcome(
    about: str, everyone: tuple[int, ...], fit: BoltUp, opening: OpeningUp | None, unit: Unit, tight_ratio: float
) -> Finding:
    worst = _screws(fit.binding) if fit.binding else "no screw"
    how = _HELD[fit.motion.freedom]
    if not fit.goes_together:
        best = opening.best if opening is not None else None
        slot = opening.slotted[0] if opening is not None and opening.slotted else None
        ways = [opening_text(o, about.rsplit('"', 2)[-2], unit) for o in (best, slot) if o is not None]
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
                f"Held by {_screws(fit.certificate.numbers)}."
            ),
            measured=fit.ratio,
            limit=1.0,
            quantity_unit="1",
            source=SOLVED,
            remedy=remedy,
            holes=everyone,
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


def _countersunk(about: str, joints: Sequence[Joint], unit: Unit) -> list[Finding]:
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
                f"{_screws([j.number for j in stuck]).capitalize()}: a countersunk head centres itself and has no play "
                f"over a thread. The fit was asked for within {length_text(least, unit)}."
            ),
            measured=0.0,
            limit=least,
            source=PRACTICE,
            remedy="Transfer the holes from the mate, or use cheese or pan heads with clearance holes.",
            holes=tuple(j.number for j in stuck),
        )
    ]


def _leaning(about: str, joints: Sequence[Joint], unit: Unit) -> list[Finding]:
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
                f"A leaning thread takes up to {length_text(most, unit)} of play at {_screws(tuple(taken))}: "
                "plate thickness times the tangent of the lean."
            ),
            measured=most,
            source="geometry; lean of 1 to 2 degrees by hand: common practice",
            remedy="Start the tap in the machine or through a guide block.",
            holes=tuple(taken),
        )
    ]


def _likely(estimate: Estimate) -> str:
    if estimate.chance >= 1.0:
        return f"at least {at_least_text(estimate.low)}"
    return f"{chance_text(estimate.chance)} ({at_least_text(estimate.low)} to {chance_text(estimate.high)})"


def _chance(about: str, chance: AssemblyChance, wanted: float) -> Finding:
    words = [f"Every screw enters with a chance of {_likely(chance.total)}"]
    if chance.drilling_alone is not None and chance.reference_alone is not None:
        words.append(
            f"with the doubt of each hole alone {_likely(chance.drilling_alone)}, with the doubt of the reference "
            f"alone {_likely(chance.reference_alone)}"
        )
    if chance.blame and chance.total.chance < 1.0:
        words.append(f"held back mostly by {_screws([n for n, _ in chance.blame[:2]])}")
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
