"""The plan as JSON: lengths in mm under keys that end in ``_mm``, nothing rounded beyond the noise of arithmetic."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from holecam.lengths import exact
from holecam.output.chain_table import chain_facts
from holecam.output.marking_table import marking_facts
from holecam.output.milled_table import milled_facts
from holecam.output.step_down_table import step_down_facts
from holecam.plan.finding import Finding
from holecam.plan.holes import HoleStep, PlannedHole, StandingHole
from holecam.plan.motions import ToolUse
from holecam.plan.plan import Plan
from holecam.plan.reports import MateReport, PlaceReport
from holecam.plan.work import NextSetting, Operation, Row, Stop
from holecam.shapes import Point

FORMAT = 1
"""Raised when a key changes its meaning or goes away."""


def plan_json(plan: Plan) -> str:
    """Return ``plan.json``, indented, ending in a newline; the same plan gives the same text."""
    # indented apart: the writer of the standard library is several times as slow when it indents as well
    return msgspec.json.format(json.dumps(plan_facts(plan), ensure_ascii=False), indent=2) + "\n"


def plan_facts(plan: Plan) -> dict[str, Any]:
    """Return the plan as plain values for JSON."""
    readout = plan.machine.readout
    return {
        "format": FORMAT,
        "title": plan.title,
        "revision": plan.revision,
        "date": plan.date,
        "unit": plan.unit,
        "fingerprint": plan.fingerprint,
        "hand": plan.part.hand,
        "part": {
            "material": plan.part.material,
            "thickness_mm": _mm(plan.part.thickness),
            "datum": plan.part.datum,
        },
        "readout": {"unit": readout.unit, "resolution_mm": float(readout.resolution)},
        "setup": {
            "skewed": plan.setup.skewed,
            "turn_deg": plan.setup.turn_deg,
            "turn_doubt_deg": plan.setup.turn_doubt_deg,
            "shift_mm": _point(plan.setup.shift),
            "words": plan.setup.words,
        },
        "holes": [_hole(h) for h in plan.holes],
        "old_holes": [_standing(h) for h in plan.standing_holes],
        "tools": [_tool(t) for t in plan.tools],
        "operations": [_operation(o) for o in plan.operations],
        "programs": [p.name for p in plan.programs],
        "places": [_place(p) for p in plan.places],
        "mates": [mate_facts(m) for m in plan.mates],
        "cuts": [milled_facts(c) for c in plan.cuts],
        "step_downs": [step_down_facts(s) for s in plan.step_downs],
        "marking_out": [marking_facts(m) for m in plan.markings],
        "chains": [chain_facts(c) for c in plan.chains],
        "findings": [finding_facts(f) for f in plan.findings],
        "cautions": [{"code": c.code, "text": c.text, "source": c.source} for c in plan.cautions],
        "checks": [{"words": c.words, "expected_mm": _mm(c.expected), "holes": list(c.holes)} for c in plan.checks],
        "figures": [
            {"about": f.about, "name": f.name, "value": f.value, "how": f.how, "source": f.source} for f in plan.figures
        ],
        "notes": list(plan.notes),
    }


def finding_facts(finding: Finding) -> dict[str, Any]:
    """Return one finding as plain values; a measured length stands under ``measured_mm``."""
    suffix = "_mm" if finding.quantity_unit == "mm" else ""
    facts: dict[str, Any] = {
        "code": finding.code,
        "severity": finding.severity.value,
        "about": finding.about,
        "message": finding.message,
        f"measured{suffix}": _mm(finding.measured),
        f"limit{suffix}": _mm(finding.limit),
        "source": finding.source,
        "remedy": finding.remedy,
        "holes": list(finding.holes),
        "operation": finding.operation,
    }
    if not suffix:
        facts["quantity_unit"] = finding.quantity_unit
    return facts


def mate_facts(mate: MateReport) -> dict[str, Any]:
    """Return a bolt-up as plain values."""
    return {
        "mate": mate.mate,
        "pattern": mate.pattern,
        "goes_together": mate.goes_together,
        "worst_share_of_play": mate.ratio,
        "proved_lower_bound": mate.bound,
        "play_left_mm": _mm(mate.play_left),
        "turn_deg": mate.turn_deg,
        "shift_mm": _point(mate.shift),
        "screws": [
            {"hole": s.hole, "play_mm": _mm(s.play), "used_mm": _mm(s.used), "binds": s.binds} for s in mate.screws
        ],
        "certificate": list(mate.certificate),
        "advice": [{"holes": list(a.holes), "words": a.words, "ratio_after": a.ratio_after} for a in mate.advice],
        "tolerance_per_hole_mm": _mm(mate.tolerance_per_hole),
        "chance": None
        if mate.chance is None
        else {
            "chance": mate.chance.chance,
            "low": mate.chance.low,
            "high": mate.chance.high,
            "trials": mate.chance.trials,
            "seed": mate.chance.seed,
            "words": mate.chance.words,
        },
    }


def _mm(value: float | None) -> float | None:
    return None if value is None else float(exact(value)) + 0.0


def _point(p: Point) -> list[float | None]:
    return [_mm(p[0]), _mm(p[1])]


def _hole(hole: PlannedHole) -> dict[str, Any]:
    return {
        "number": hole.number,
        "pattern": hole.pattern,
        "number_in_pattern": hole.number_in_pattern,
        "x_mm": _mm(hole.xy_part[0]),
        "y_mm": _mm(hole.xy_part[1]),
        "readout_x_mm": _mm(hole.xy_machine[0]),
        "readout_y_mm": _mm(hole.xy_machine[1]),
        "purpose": hole.purpose,
        "thread": hole.thread,
        "finished_diameter_mm": _mm(hole.finished_diameter),
        "doubt_together_mm": _mm(hole.doubt.together),
        "doubt_turning_mm": _mm(hole.doubt.turning),
        "doubt_own_mm": _mm(hole.doubt.own),
        "withheld": hole.withheld,
        "steps": [_step(s) for s in hole.steps],
    }


def _step(step: HoleStep) -> dict[str, Any]:
    return {
        "kind": step.kind.value,
        "tool": step.tool,
        "diameter_mm": _mm(step.diameter),
        "full_depth_mm": _mm(step.full_depth),
        "tip_depth_mm": _mm(step.tip_depth),
        "through": step.through,
        "spindle_rpm": step.spindle_rpm,
        "feed_mm_per_minute": step.feed,
        "peck_mm": _mm(step.peck),
        "by_hand": step.by_hand,
        "note": step.note,
    }


def _standing(hole: StandingHole) -> dict[str, Any]:
    return {
        "label": hole.label,
        "x_mm": _mm(hole.xy_part[0]),
        "y_mm": _mm(hole.xy_part[1]),
        "diameter_mm": _mm(hole.diameter),
        "plug": hole.plug,
        "to_plug": hole.to_plug,
    }


def _tool(tool: ToolUse) -> dict[str, Any]:
    return {"number": tool.number, "name": tool.name, "diameter_mm": _mm(tool.diameter)}


def _operation(operation: Operation) -> dict[str, Any]:
    return {
        "number": operation.number,
        "kind": operation.kind.value,
        "title": operation.title,
        "instructions": list(operation.instructions),
        "tool": operation.tool,
        "spindle_rpm": operation.spindle_rpm,
        "feed_mm_per_minute": operation.feed,
        "rows": [_row(r) for r in operation.rows],
        "stops": [_stop(s) for s in operation.stops],
        "program": operation.program,
        "more_programs": list(operation.more_programs),
        "withheld": operation.withheld,
        "pauses_here": operation.pauses_here,
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "number": row.number,
        "hole": row.hole,
        "label": row.label,
        "x_mm": _mm(row.xy_part[0]),
        "y_mm": _mm(row.xy_part[1]),
        "readout_x_mm": _mm(row.xy_machine[0]),
        "readout_y_mm": _mm(row.xy_machine[1]),
        "to_mm": None if row.to_part is None else _point(row.to_part),
        "z_mm": _mm(row.z),
        "overshoot_mm": [row.overshoot.x, row.overshoot.y],
        "closing": row.closing,
        "note": row.note,
    }


def _stop(stop: Stop) -> dict[str, Any]:
    return {
        "key": stop.key,
        "title": stop.title,
        "look_for": stop.look_for,
        "expect": stop.expect,
        "if_not": stop.if_not,
        "after_row": stop.after_row,
        "expected_mm": _mm(stop.expected),
        "tolerance_mm": _mm(stop.tolerance),
        "settings": [
            {
                "kind": s.kind,
                "target_mm": _mm(s.target),
                "factor": s.factor,
                "offset_mm": _mm(s.offset),
                "words": s.words,
            }
            for s in stop.settings
        ],
    }


def _setting(setting: NextSetting) -> dict[str, Any]:
    return {
        "kind": setting.kind,
        "target_mm": _mm(setting.target),
        "factor": setting.factor,
        "offset_mm": _mm(setting.offset),
        "words": setting.words,
    }


def _place(place: PlaceReport) -> dict[str, Any]:
    return {
        "pattern": place.pattern,
        "method": place.method,
        "reference_hole": place.reference_hole,
        "wanted_mm": _point(place.wanted),
        "chosen_mm": _point(place.chosen),
        "wanted_allowed": place.wanted_allowed,
        "turn_deg": place.turn_deg,
        "mirrored": place.mirrored,
        "margin_mm": _mm(place.margin),
        "binding": place.binding,
        "misfit_mm": _mm(place.misfit),
        "residuals": [
            {"hole": r.hole, "dx_mm": _mm(r.dx), "dy_mm": _mm(r.dy), "size_mm": _mm(r.size)} for r in place.residuals
        ],
        "words": list(place.words),
    }
