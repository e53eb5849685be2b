"""What there is to say when an opened hole made a pattern go together."""

from __future__ import annotations

from holecam.layout.bolt_up import BoltUp
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.planning.mates import MateAnswer, report_for
from holecam.shapes import Placement


def opened_findings(before: MateAnswer, after: MateAnswer, unit: Unit, hand: Placement) -> tuple[Finding, ...]:
    """Return the note that a hole is drilled larger than the others, with the play before and after."""
    if not isinstance(before.fit, BoltUp) or not isinstance(after.fit, BoltUp) or before.mate.when_tight != "open":
        return ()
    best = before.opening.best if before.opening is not None else None
    if best is None:
        return ()
    words = "; ".join(a.words for a in report_for(before, hand, unit).advice[:1])
    return (
        Finding(
            code="hole-opened",
            severity=Severity.CAUTION,
            about=f'mate "{after.mate.name}"',
            message=(
                f'As drawn "{before.mate.pattern}" does not go together with "{after.mate.name}" '
                f"({length_text(-before.fit.play_left, unit)} are missing). The plan does this: {words}; then "
                f"{length_text(after.fit.play_left, unit)} of play is left."
            ),
            measured=after.fit.ratio,
            limit=1.0,
            quantity_unit="1",
            source="bolt-up, least over rigid motions of the worst offset over play",
            remedy="Measure that hole of the mate again before the larger drill goes in.",
            holes=best.numbers,
        ),
    )
