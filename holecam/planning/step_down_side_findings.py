"""What a step-down has to say about its sides, its strokes, and the holes drilled above the sheet."""

from __future__ import annotations

from collections.abc import Callable

from holecam.cuts.step_down_cut import StepDownCut
from holecam.cuts.step_down_drilling import DrillLimit
from holecam.cuts.step_down_practice import REMOVAL_METHODS
from holecam.lengths import Unit, area_text, length_text, volume_text
from holecam.plan.finding import Finding, Severity
from holecam.planning.step_down_findings import COMMON, SURE_FLOOR

Text = Callable[[float], str]

ARITHMETIC = 1e-6
"""mm. Limits, strokes and distances agree to this; a gap is too small only when it is smaller by more."""


def cut_findings(cut: StepDownCut, *, name: str, unit: Unit) -> list[Finding]:
    """Return the findings about sides, strokes and what stays."""
    about = f'step-down "{name}"'
    if not cut.passes:
        return []

    def text(value: float) -> str:
        return length_text(value, unit)

    if cut.reaches_nothing:
        return [_no_room(cut, about, name, text)]
    out = _near(cut, about, name, text) + _shoulders(cut, about, name, text) + _plunges(cut, about, name)
    for note in cut.direction_notes:
        severity = Severity.NOTE if note.good else Severity.CAUTION
        out.append(Finding(note.code, severity, about, note.words, source=COMMON, operation=name))
    left = cut.passes[-1].left
    if left.area > 0.0:
        methods = ", ".join(m.name for m in REMOVAL_METHODS)
        out.append(
            Finding(
                "metal-left",
                Severity.NOTE,
                about,
                f"{area_text(left.area, unit)} of the region, up to {text(left.width)} wide, stays beside the strokes "
                f"of the last pass; {volume_text(cut.left_volume, unit)} of metal stays above the floor.",
                left.area,
                0.0,
                "mm2",
                "geometry of cutter, bend and margins",
                f"Take it off by other means: {methods}.",
                operation=name,
            )
        )
    return out


def _shoulders(cut: StepDownCut, about: str, name: str, text: Text) -> list[Finding]:
    """Return a stop where a stroke comes nearer to a shoulder than asked: strokes are measured, not trusted."""
    if cut.shoulder_room is None or cut.shoulder_room >= -ARITHMETIC:
        return []
    return [
        Finding(
            "cuts-into-shoulder",
            Severity.STOP,
            about,
            f"A stroke would cut {text(-cut.shoulder_room)} into a side that stays.",
            -cut.shoulder_room,
            0.0,
            source="geometry of strokes and sides",
            remedy="Draw the region in simpler parts, a step-down each, and report this with the job file.",
            operation=name,
        )
    ]


def _plunges(cut: StepDownCut, about: str, name: str) -> list[Finding]:
    """Return a stop for a cutter without teeth in its middle that has to come down on metal."""
    plunging = [s for p in cut.passes for s in p.strokes if s.plunges]
    if cut.request.cutter.centre_cutting or not plunging:
        return []
    return [
        Finding(
            "comes-down-on-metal",
            Severity.STOP,
            about,
            f'"{cut.request.cutter.name}" does not cut at its centre, and strokes have to come down on metal.',
            float(len(plunging)),
            0.0,
            "1",
            COMMON,
            "Take a centre-cutting cutter, or leave a side open where it can come down beside the metal (open_sides), "
            "or let the strokes begin there (feed_deg).",
            operation=name,
        )
    ]


def _no_room(cut: StepDownCut, about: str, name: str, text: Text) -> Finding:
    empty = next(p for p in cut.passes if not p.strokes)
    diameter = cut.request.cutter.diameter
    if cut.fits_without_cutter:
        return Finding(
            "cutter-too-large",
            Severity.STOP,
            about,
            f'"{cut.request.cutter.name}", {text(diameter)}, reaches nothing of the region at Z {text(empty.z)}.',
            diameter,
            None,
            source="geometry of cutter, bend and margins",
            remedy="Take a smaller cutter, or take this metal off by hand.",
            operation=name,
        )
    return Finding(
        "nothing-to-cut",
        Severity.STOP,
        about,
        f"Bend, gap and margins leave nothing of the region at Z {text(empty.z)}, whatever the cutter.",
        0.0,
        None,
        "mm2",
        "geometry of bend and margins",
        "Check the margin and the wall's place; what lies under the bend comes off by hand.",
        operation=name,
    )


def _near(cut: StepDownCut, about: str, name: str, text: Text) -> list[Finding]:
    """Return one finding for each bend that a tooth comes too near to, at the worst pass."""
    sureness, planned = cut.heights.request.sureness, cut.heights.sheet_gap
    worst: dict[str, tuple[float, Finding]] = {}
    for step in cut.passes:
        for gap in step.gaps:
            if gap.surface == "sheet":
                continue
            side = next(s for s in cut.request.bends if s.name == gap.of)
            stated = planned if side.gap is None else side.gap
            limit = max(stated, sureness * gap.standard)
            if gap.gap >= limit - ARITHMETIC or (gap.of in worst and worst[gap.of][0] <= gap.gap - limit):
                continue
            place = f"{text(gap.at[0])}, {text(gap.at[1])}"
            finding = Finding(
                "near-bend",
                Severity.STOP if gap.gap <= 0 or gap.gap < stated - ARITHMETIC else Severity.CAUTION,
                about,
                f'At Z {text(gap.z)} a tooth comes within {text(gap.gap)} of the {gap.surface} of "{gap.of}" at '
                f"{place}; "
                f"{text(limit)} is needed ({sureness:g} times its doubt of {text(gap.standard)}, or the gap to keep, "
                f"{text(stated)}).",
                gap.gap,
                limit,
                source=SURE_FLOOR,
                remedy="Give a larger sideways margin, or find the wall's place more surely.",
                operation=name,
            )
            worst[gap.of] = (gap.gap - limit, finding)
    return [finding for _, finding in worst.values()]


def drill_findings(limit: DrillLimit, *, hole: str, tip_z: float | None, unit: Unit, name: str) -> list[Finding]:
    """Return the findings about a hole drilled into the bar above the sheet.

    ``tip_z`` is where the tip is planned to end, mm; ``None`` asks only whether a hole is possible at all.
    """
    if tip_z is not None and not tip_z >= limit.tip_z:
        return [
            Finding(
                "below-hard-floor",
                Severity.STOP,
                hole,
                f"The drill's tip would reach Z {length_text(tip_z, unit)}; the lowest for it is Z "
                f"{length_text(limit.tip_z, unit)}, its point of {length_text(limit.point_length, unit)} included.",
                tip_z,
                limit.tip_z,
                source=SURE_FLOOR,
                remedy=f"Drill {length_text(limit.tip_z - tip_z, unit)} less deep, or use a flat-ended drill.",
                operation=name,
            )
        ]
    if not limit.possible:
        return [
            Finding(
                "drill-reaches-sheet",
                Severity.STOP,
                hole,
                f"The drill's point, {length_text(limit.point_length, unit)}, is longer than the metal above the "
                "floor.",
                limit.cylinder_depth,
                0.0,
                source=SURE_FLOOR,
                remedy="Use a flat-ended drill or a smaller one, or drill through from the bar before it is joined.",
                operation=name,
            )
        ]
    return []
