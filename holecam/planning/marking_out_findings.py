"""Turn a marking-out into findings: what comes off, what is missing, and whether the good edges were good."""

from __future__ import annotations

from holecam.layout.marking_out import MarkingOut
from holecam.lengths import Unit, area_text, length_text
from holecam.plan.finding import Finding, Severity, worst_first

EDGES_AGREE = 0.1
"""mm. Good edges that disagree by more than this are told: a scribed line is 0.1 mm wide (common practice)."""

GEOMETRY = "exact difference of the outlines"


def marking_out_findings(name: str, out: MarkingOut, *, unit: Unit = "mm") -> tuple[Finding, ...]:
    """Return the findings about one correction, the worst first; messages speak ``unit``, figures are mm.

    Codes: ``comes-off``, ``metal-missing``, ``nothing-comes-off``, ``held-edges-disagree``, ``edges-leave-open``.
    """
    about = f'marking out "{name}"'
    limit = out.within
    found: list[Finding] = []
    if out.remove and out.most_off > limit:
        found.append(
            Finding(
                code="comes-off",
                severity=Severity.NOTE,
                about=about,
                message=(
                    f"{area_text(out.remove_area, unit)} come off in {_places(len(out.remove))}, at most "
                    f"{length_text(out.most_off, unit)} square to the edge."
                ),
                measured=out.most_off,
                limit=limit,
                source=GEOMETRY,
                remedy="Scribe the face and the back, come to the line from both sides, and stop at the line.",
            )
        )
    if out.missing and out.most_missing > limit:
        found.append(
            Finding(
                code="metal-missing",
                severity=Severity.CAUTION,
                about=about,
                message=(
                    f"{area_text(out.missing_area, unit)} are missing in {_places(len(out.missing))}, at most "
                    f"{length_text(out.most_missing, unit)}: no cut makes the drawn outline there."
                ),
                measured=out.most_missing,
                limit=limit,
                source=GEOMETRY,
                remedy="Let in a piece or build it up, or shift the drawn outline until nothing is missing.",
            )
        )
    if not found:
        found.append(
            Finding(
                code="nothing-comes-off",
                severity=Severity.NOTE,
                about=about,
                message="The outline as made agrees with the drawn one within what is known of it.",
                measured=max(out.most_off, out.most_missing),
                limit=limit,
                source=GEOMETRY,
            )
        )
    worst = max(out.held.gaps)
    allowed = max(EDGES_AGREE, limit)
    if worst > allowed:
        place = out.held.gaps.index(worst) + 1
        found.append(
            Finding(
                code="held-edges-disagree",
                severity=Severity.CAUTION,
                about=about,
                message=(
                    f"The good edges do not fit each other: number {place} of them lies up to "
                    f"{length_text(worst, unit)} off when the others are held."
                ),
                measured=worst,
                limit=allowed,
                source="common practice",
                remedy="Measure these edges again, or hold fewer of them.",
            )
        )
    if not out.held.settled:
        found.append(
            Finding(
                code="edges-leave-open",
                severity=Severity.CAUTION,
                about=about,
                message=(
                    "The good edges leave a sliding or a turn open; it was settled by laying their middles together."
                ),
                source=GEOMETRY,
                remedy="Name a second good edge that is not parallel to the first.",
            )
        )
    return worst_first(tuple(found))


def _places(count: int) -> str:
    return "one place" if count == 1 else f"{count} places"
