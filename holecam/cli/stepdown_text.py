"""Print a step-down as a table for the bench, or as JSON with lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from holecam.cuts.inside_bend import InsideBend, flank_limit
from holecam.cuts.layer_estimates import DoubtRule
from holecam.cuts.step_down_drilling import DrillLimit
from holecam.cuts.step_down_heights import StepDownHeights
from holecam.cuts.step_down_looks import LookOutcome
from holecam.cuts.step_down_practice import CHECK_LIST, look_words
from holecam.lengths import MM_PER_INCH, Unit, exact, number_in, reading_text
from holecam.lengths.chances import chance_text
from holecam.plan.finding import Finding
from holecam.standards.cautions import Caution

UNIT_WORDS: dict[Unit, str] = {"in": "inches", "mm": "millimetres"}

CUTTER_NOTE = "Flank: the cutter's side, from the face of the wall. Axis: the spindle."


class BendOptions(Struct, frozen=True):
    """Bend and cutter of the quick form, mm."""

    bend: InsideBend
    cutter_diameter: float
    corner_radius: float


class StepDownSheet(Struct, frozen=True):
    """Everything that is printed."""

    heights: StepDownHeights
    unit: Unit
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    bend: BendOptions | None = None
    drill: DrillLimit | None = None

    def flank(self, z: float) -> float | None:
        """Return the least distance of the cutter's flank from the wall at a height, mm; ``None`` without a bend."""
        if self.bend is None:
            return None
        above = z - self.heights.belief.likeliest()
        return flank_limit(self.bend.bend, height=above, corner_radius=self.bend.corner_radius)


def sheet_lines(sheet: StepDownSheet) -> list[str]:
    """Return the lines of the table."""
    lines = [*_head(sheet), "", *_passes(sheet)]
    if sheet.heights.looks:
        lines += ["", *_looks(sheet)]
    if sheet.drill is not None:
        lines += ["", *_drill(sheet.drill, sheet)]
    if sheet.findings:
        lines += ["", *_finding_lines(sheet.findings)]
    lines += ["", "Before the first pass (common practice):"]
    lines += [f"  [ ] {item.text}" for item in CHECK_LIST]
    lines += ["", "Cautions:"]
    lines += [f"  {caution.text}" for caution in sheet.cautions]
    return lines


def _head(sheet: StepDownSheet) -> list[str]:
    heights, unit = sheet.heights, sheet.unit
    touched = heights.request.touched
    stack = touched.stack
    lines = [f'Step-down over "{stack.substrate.name}", all heights in {UNIT_WORDS[unit]}']
    lines.append("Stack, top down:")
    width = max(len(layer.name) for layer in stack.layers)
    for layer in stack.layers:
        within = number_in(layer.thickness.half_width, unit)
        kept = "  keep" if layer.keep else ""
        lines.append(f"  {layer.name:{width}}  {number_in(layer.thickness.value, unit)}  within {within}{kept}")
    setting = reading_text(touched.set_count, touched.resolution, unit)
    lines.append(
        f'Touch with {touched.touch.method} on "{stack.layers[touched.touched_index].name}": at the touch set the '
        "readout "
        f"to Z {setting}. Z 0 is that face, up is +."
    )
    sheet_z, doubt = heights.faces.substrate, heights.faces.doubt()
    rule = (
        "worst case"
        if heights.request.rule is DoubtRule.WORST_CASE
        else f"{heights.request.sureness:g} x {number_in(sheet_z.standard, unit)}"
    )
    lines.append(f"Sheet at Z {_z(sheet_z.value, unit)}, doubt {number_in(doubt, unit)} ({rule}), from:")
    for term, share in sheet_z.parts:
        limit = number_in(abs(share) * term.half_width, unit)
        lines.append(f"    {term.name}: within {limit}, standard {number_in(abs(share) * term.standard, unit)}")
    lines.append(f"Wedge: {touched.wedge.source}.")
    if heights.request.answers:
        seen = "; ".join(f"{a.layer} at Z {_z(a.z, unit)}" for a in heights.request.answers)
        lines.append(f"Seen so far: {seen}.")
    lines.append(f"Hard floor Z {_z_up(heights.hard_floor, unit)}: no pass may go below it.")
    contact = heights.belief.contact(heights.floor)
    floor = reading_text(heights.floor_count, heights.resolution, unit)
    line = f"Planned floor Z {floor}: chance of touching the sheet {chance_text(contact)}"
    if stack.bond is not None:
        inside = max(0.0, heights.belief.showing(heights.floor) - contact)
        line += f', of lying inside "{stack.bond.name}" {chance_text(inside)}'
    lines.append(line + ".")
    return lines


def _passes(sheet: StepDownSheet) -> list[str]:
    heights, unit = sheet.heights, sheet.unit
    if not heights.passes:
        return ["No pass."]
    rows = [["pass", "Z", "step", "touch", "layer shows", *(["flank", "axis"] if sheet.bend else []), "then"]]
    for p in heights.passes:
        cells = [
            str(p.number),
            reading_text(p.count, heights.resolution, unit),
            reading_text(p.step_count, heights.resolution, unit, signed=False),
            chance_text(p.contact),
            chance_text(p.showing),
        ]
        flank = sheet.flank(p.z)
        if flank is not None and sheet.bend is not None:
            cells += [number_in(flank, unit), number_in(flank + sheet.bend.cutter_diameter / 2, unit)]
        rows.append([*cells, "STOP, look" if p.stop else ""])
    lines = _columns(rows)
    words = look_words(heights.request.touched.stack)
    lines += ["", f"At every stop: {words.look_for}", f"  {words.still_bar}", f"  {words.layer_shows}"]
    lines.append(f"  {words.sheet_shows}")
    if sheet.bend is not None:
        lines.append(CUTTER_NOTE)
    return lines


def _looks(sheet: StepDownSheet) -> list[str]:
    unit = sheet.unit
    rows = [["after pass", "Z", "still bar: next floor", "layer showing: next floor"]]
    for row in sheet.heights.looks:
        z = reading_text(row.count, sheet.heights.resolution, unit)
        rows.append([str(row.number), z, _outcome(row.still_bar, sheet), _outcome(row.layer_showing, sheet)])
    return ["What each look allows:", *_columns(rows)]


def _outcome(outcome: LookOutcome | None, sheet: StepDownSheet) -> str:
    if outcome is None:
        return "not to be expected: measure again"
    chance = chance_text(outcome.chance)
    if outcome.ends_here:
        return f"no lower ({chance} likely)"
    floor = reading_text(outcome.next_floor_count, sheet.heights.resolution, sheet.unit)
    return f"{floor} ({chance} likely)"


def _drill(limit: DrillLimit, sheet: StepDownSheet) -> list[str]:
    unit = sheet.unit
    tip = reading_text(limit.tip_count, sheet.heights.resolution, unit)
    line = (
        f"Drilling above the sheet: tip no lower than Z {tip}; with a point of {number_in(limit.point_length, unit)} "
        f"the full diameter ends at Z {_z(limit.cylinder_z, unit)}, {number_in(limit.cylinder_depth, unit)} deep."
    )
    return [line]


def _finding_lines(findings: Sequence[Finding]) -> list[str]:
    lines = []
    for finding in findings:
        lines.append(f"{finding.severity.value} {finding.code}: {finding.message}")
        if finding.remedy:
            lines.append(f"  {finding.remedy}")
    return lines


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    last = len(widths) - 1
    lines = []
    for row in rows:
        cells = [cell if n == last else cell.rjust(widths[n]) for n, cell in enumerate(row)]
        lines.append("  ".join(cells).rstrip())
    return lines


def _z(value: float, unit: Unit) -> str:
    return number_in(value, unit, signed=True)


def _z_up(value: float, unit: Unit) -> str:
    """Return a height that must not be passed, rounded up: the printed figure never lies below the true one."""
    step = MM_PER_INCH / 10_000 if unit == "in" else Fraction(1, 1000)
    return number_in(math.ceil(exact(value) / step) * step, unit, signed=True)


def sheet_json(sheet: StepDownSheet) -> dict[str, object]:
    """Return the same for programs; every length in mm under a key that ends in ``_mm``."""
    heights = sheet.heights
    touched = heights.request.touched
    stack = touched.stack
    window = heights.window
    faces = heights.faces
    return {
        "unit": sheet.unit,
        "readout_mm": float(heights.resolution),
        "stack": [
            {
                "name": layer.name,
                "thickness_mm": layer.thickness.value,
                "within_mm": layer.thickness.half_width,
                "standard_mm": layer.thickness.standard,
                "top_z_mm": face.value,
                "keep": layer.keep,
            }
            for layer, face in zip(stack.layers, touched.faces, strict=True)
        ],
        "touch": {
            "on": stack.layers[touched.touched_index].name,
            "with": touched.touch.method,
            "offset_mm": touched.touch.offset,
            "within_mm": touched.touch.half_width,
            "set_readout_mm": float(touched.set_count * heights.resolution),
        },
        "substrate_depth_mm": stack.substrate_depth.value,
        "substrate_z_mm": faces.substrate.value,
        "standard_mm": faces.substrate.standard,
        "worst_case_mm": faces.substrate.half_width,
        "rule": heights.request.rule.value,
        "sureness": heights.request.sureness,
        "doubts": [
            {"name": t.name, "standard_mm": abs(s) * t.standard, "within_mm": abs(s) * t.half_width}
            for t, s in faces.substrate.parts
        ],
        "hard_floor_z_mm": heights.hard_floor,
        "floor_z_mm": heights.floor,
        "start_z_mm": heights.start,
        "contact_chance_at_floor": heights.belief.contact(heights.floor),
        "layer": None
        if window is None
        else {
            "sure_low_z_mm": window.low,
            "sure_high_z_mm": window.high,
            "exists": window.exists,
            "best_z_mm": window.best_z,
            "best_chance": window.best_chance,
        },
        "answers": [{"seen": a.layer, "z_mm": a.z} for a in heights.request.answers],
        "passes": [_pass_json(sheet, n) for n in range(len(heights.passes))],
        "looks": [
            {
                "after_pass": row.number,
                "z_mm": row.z,
                "still_bar": _outcome_json(row.still_bar),
                "layer_showing": _outcome_json(row.layer_showing),
            }
            for row in heights.looks
        ],
        "drill": None if sheet.drill is None else _drill_json(sheet.drill),
        "findings": [_finding_json(f) for f in sheet.findings],
        "cautions": [{"code": c.code, "text": c.text, "source": c.source} for c in sheet.cautions],
        "checks": [{"code": c.code, "text": c.text, "source": c.source} for c in CHECK_LIST],
    }


def _pass_json(sheet: StepDownSheet, index: int) -> dict[str, object]:
    p = sheet.heights.passes[index]
    out: dict[str, object] = {
        "number": p.number,
        "z_mm": p.z,
        "step_mm": p.step,
        "contact_chance": p.contact,
        "layer_showing_chance": p.showing,
        "in_layer_chance": p.in_layer,
        "stop": p.stop,
    }
    flank = sheet.flank(p.z)
    if flank is not None and sheet.bend is not None:
        out["flank_limit_mm"] = flank
        out["flat_limit_mm"] = flank + sheet.bend.corner_radius
        out["axis_limit_mm"] = flank + sheet.bend.cutter_diameter / 2
    return out


def _outcome_json(outcome: LookOutcome | None) -> dict[str, object] | None:
    if outcome is None:
        return None
    return {
        "chance": outcome.chance,
        "hard_floor_z_mm": outcome.hard_floor,
        "next_floor_z_mm": outcome.next_floor,
        "ends_here": outcome.ends_here,
    }


def _drill_json(limit: DrillLimit) -> dict[str, object]:
    return {
        "tip_z_mm": limit.tip_z,
        "point_length_mm": limit.point_length,
        "cylinder_z_mm": limit.cylinder_z,
        "cylinder_depth_mm": limit.cylinder_depth,
    }


def _finding_json(finding: Finding) -> dict[str, object]:
    ending = "_mm" if finding.quantity_unit == "mm" else ""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "about": finding.about,
        "message": finding.message,
        f"measured{ending}": finding.measured,
        f"limit{ending}": finding.limit,
        "quantity_unit": finding.quantity_unit,
        "source": finding.source,
        "remedy": finding.remedy,
    }
