"""A step-down as text for the sheet and as plain values: stack, heights, looks, sides, leftovers, check list."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import Any

from holecam.lengths import MM_PER_UNIT, Unit, area_number, area_text, exact, number_in, volume_text
from holecam.lengths.chances import chance_text
from holecam.output.plain_words import plain
from holecam.output.terminal_table import columns
from holecam.plan.step_down import GapLine, LeftLine, LookLine, SideLine, StepDownPass, StepDownReport
from holecam.shapes import Arc, Curve, Outline

WIDTH = 80
"""Columns of the sheet."""


def step_down_table(report: StepDownReport, unit: Unit) -> str:
    """Return everything about one step-down that is needed at the machine, 80 columns wide."""
    lines = [*_wrap(f"STEP DOWN: {report.name}"), ""]
    if report.withheld:
        return "\n".join([*lines, *_wrap(f"NOTHING TO MILL: {report.withheld}", hang="  ")]) + "\n"
    lines += [
        f"All heights in {'inches' if unit == 'in' else 'millimetres'}; Z 0 is the face that was touched, up is +."
    ]
    lines += ["", *_stack(report, unit), "", *_floors(report, unit), "", *_heights(report, unit)]
    lines += ["", *_looking(report), *_looks(report, unit)]
    lines += _sides(report, unit)
    lines += _left(report, unit)
    lines += ["", *_wrap(f"DRILLING above {report.sheet}: {_drilling(report, unit)}", hang="  ")]
    lines += ["", "BEFORE THE FIRST PASS (common practice)"]
    lines += [line for check in report.checks for line in _wrap(f"[ ] {check.text}", hang="    ")]
    if report.supported_by:
        lines += _wrap(f"[ ] Supported by: {report.supported_by}", hang="    ")
    if report.held:
        lines += _wrap(f"[ ] Held: {report.held}", hang="    ")
    if report.notes:
        lines += _wrap(f"NOTE: {report.notes}", hang="  ")
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _wrap(text: str, *, indent: str = "", hang: str = "") -> list[str]:
    return textwrap.wrap(plain(text), WIDTH, initial_indent=indent, subsequent_indent=indent + hang) or [""]


def _z(value: float, unit: Unit) -> str:
    return number_in(value, unit, signed=True)


def z_up_text(value: float, unit: Unit) -> str:
    """Return a height that must not be passed, rounded up: the printed figure never lies below the true one."""
    step = MM_PER_UNIT[unit] / 10 ** (4 if unit == "in" else 3)
    return number_in(math.ceil(exact(value) / step) * step, unit, signed=True)


def _stack(report: StepDownReport, unit: Unit) -> list[str]:
    rows = [
        [
            plain(layer.name)[:26] + ("  KEEP" if layer.keep else ""),
            number_in(layer.thickness, unit),
            number_in(layer.within, unit),
            _z(layer.top_z, unit),
            plain(layer.colour)[:20],
        ]
        for layer in report.layers
    ]
    heads = ["stack, top down", f"thick {unit}", "within", "top Z", "looks"]
    lines = columns(heads, rows, right=[False, True, True, True, False])
    touch = report.touch
    lines += _wrap(
        f"Touch with {touch.method} on {touch.on}: while it just drags, set Z to {_z(touch.set_z, unit)} "
        f"(within {number_in(touch.within, unit)}). Wedge: {touch.wedge}.",
        hang="  ",
    )
    return lines


def _floors(report: StepDownReport, unit: Unit) -> list[str]:
    doubts = "; ".join(f"{d.name} {number_in(d.within, unit)}" for d in report.doubts)
    lines = _wrap(
        f"{report.sheet} at Z {_z(report.sheet_z, unit)}, doubt {number_in(report.sheet_doubt, unit)} ({report.rule}); "
        f"limits: {doubts}.",
        hang="  ",
    )
    lines += _wrap("Seen so far: " + "; ".join(report.answers) + ".", hang="  ") if report.answers else []
    lines += [f"HARD FLOOR Z {z_up_text(report.hard_floor, unit)}: no tooth may ever go below it."]
    if report.passes:
        text = f"Planned floor Z {_z(report.floor, unit)}: chance of touching the sheet "
        text += chance_text(report.contact_at_floor)
        if report.in_layer_at_floor is not None:
            text += f", of lying inside the bonding layer {chance_text(report.in_layer_at_floor)}"
        lines += _wrap(f"{text}.", hang="  ")
    return lines


def _heights(report: StepDownReport, unit: Unit) -> list[str]:
    if not report.passes:
        return ["No pass is left to mill."]
    one_bend = len(report.passes[0].sides) == 1
    heads = ["pass", f"Z {unit}", "step", "touches", "shows", *(["flank", "axis"] if one_bend else []), "done"]
    rows = []
    for step in report.passes:
        cells = [
            str(step.number),
            _z(step.z, unit),
            number_in(step.step, unit),
            chance_text(step.contact),
            chance_text(step.showing),
        ]
        if one_bend:
            cells += _side_cells(step.sides[0], unit)
        rows.append([*cells, "[ ] STOP, look" if step.stop else "[ ]"])
    lines = columns(heads, rows, right=[True] * (len(heads) - 1) + [False])
    lines += _wrap(
        "touches: chance that a tooth at this height reaches the sheet; shows: that the layer shows.", hang="  "
    )
    if one_bend:
        lines += _wrap(LIMIT_WORDS, hang="  ")
    elif report.passes[0].sides:
        lines += ["", *_several_bends(report, unit)]
    return lines


LIMIT_WORDS = (
    "flank, axis: how near the cutter's side and its axis may come to the face of the bend's wall, at that height."
)


def _side_cells(side: SideLine, unit: Unit) -> list[str]:
    return ["free" if v is None else number_in(v, unit) for v in (side.flank, side.axis)]


def _several_bends(report: StepDownReport, unit: Unit) -> list[str]:
    rows = [
        [str(step.number), _z(step.z, unit), side.bend, *_side_cells(side, unit)]
        for step in report.passes
        for side in step.sides
    ]
    heads = ["pass", f"Z {unit}", "beside", "flank", "axis"]
    return [*columns(heads, rows, right=[True, True, False, True, True]), *_wrap(LIMIT_WORDS, hang="  ")]


def _looking(report: StepDownReport) -> list[str]:
    words = report.words
    if not report.stops:
        return []
    lines = _wrap(f"AT EVERY STOP: {words.look_for}", hang="  ")
    for text in (words.still_bar, words.layer_shows, words.sheet_shows):
        lines += _wrap(f"- {text}", indent="  ", hang="  ")
    return lines


def _looks(report: StepDownReport, unit: Unit) -> list[str]:
    rows = [
        [str(step.number), _z(step.z, unit), _outcome(step.still_bar, unit), _outcome(step.layer_shows, unit), "______"]
        for step in report.stops
    ]
    if not rows:
        return []
    heads = ["after", f"Z {unit}", "only bar: floor", "layer shows: floor", "seen"]
    table = columns(heads, rows, right=[True, True, True, True, False])
    return ["", "WHAT EACH LOOK ALLOWS", *table, *_wrap(LOOK_WORDS, hang="  ")]


LOOK_WORDS = (
    "floor: how low a new plan may go after that answer; in brackets the chance of the answer, given that only bar "
    "showed at the stops before."
)


def _outcome(look: LookLine | None, unit: Unit) -> str:
    if look is None:
        return "not to be expected"
    chance = chance_text(look.chance)
    return f"no lower ({chance})" if look.ends_here else f"{_z(look.next_floor, unit)} ({chance})"


def _sides(report: StepDownReport, unit: Unit) -> list[str]:
    lines: list[str] = []
    if report.cutter and report.cutter_diameter is not None:
        corner = number_in(report.corner_radius or 0.0, unit)
        lines += _wrap(
            f"SIDEWAYS with {report.cutter}, {number_in(report.cutter_diameter, unit)} across, corner radius {corner}.",
            hang="  ",
        )
    for bend in report.section:
        lines += _wrap(
            f"{bend.name}: inside radius {number_in(bend.inside_radius, unit)}, gap to keep "
            f"{number_in(bend.gap, unit)}, margin {number_in(bend.margin, unit)}.",
            indent="  ",
            hang="  ",
        )
    if report.least is not None:
        lines += _wrap(f"Least distance of any tooth: {_gap_words(report.least, unit)}.", indent="  ", hang="  ")
    near = [p for p in report.passes if p.least is not None and p.least.surface != "sheet"]
    if near:
        closest = min(near, key=lambda p: p.least.gap if p.least is not None else math.inf)
        assert closest.least is not None
        lines += _wrap(f"Nearest to a bend: {_gap_words(closest.least, unit)}.", indent="  ", hang="  ")
    for words in report.direction:
        lines += _wrap(f"- {words}", indent="  ", hang="  ")
    return ["", *lines] if lines else []


def _gap_words(gap: GapLine, unit: Unit) -> str:
    to = {"sheet": "the sheet", "bend": f"the radius of {gap.of}", "wall": f"the wall of {gap.of}"}[gap.surface]
    x, y = (number_in(v, unit, signed=True) for v in gap.xy_machine)
    spread = f", standard doubt {number_in(gap.standard, unit)}" if gap.standard > 0 else ""
    return f"{number_in(gap.gap, unit)} to {to} at X {x}, Y {y}, Z {_z(gap.z, unit)}{spread}"


def _left(report: StepDownReport, unit: Unit) -> list[str]:
    last = report.passes[-1].left if report.passes else None
    if last is None or last.area <= 0.0:
        return []
    lines = ["", *_wrap(f"WHAT THE CUTTER CANNOT REACH: {_left_words(last, report.left_volume, unit)}", hang="  ")]
    rows = [
        [str(p.number), _z(p.z, unit), area_number(p.left.area, unit), number_in(p.left.width, unit)]
        for p in report.passes
        if p.left is not None and p.left.area > 0.0
    ]
    lines += columns(["pass", f"Z {unit}", f"stays sq {unit}", "widest"], rows, right=[True] * 4)
    lines += ["Ways to take it off, common practice:"]
    for way in report.removal:
        lines += _wrap(f"- {way.text} CAUTION: {' '.join(way.cautions)}", indent="  ", hang="  ")
    return lines


def _left_words(left: LeftLine, volume: float, unit: Unit) -> str:
    return (
        f"{area_text(left.area, unit)} of the region at the last pass, {number_in(left.width, unit)} at its "
        f"widest; {volume_text(volume, unit)} above the floor in all. Take it off by hand."
    )


def _drilling(report: StepDownReport, unit: Unit) -> str:
    if report.drill_tip_depth <= 0:
        return "not even the tip of a drill has room above the hard floor."
    return f"the tip of a drill, its point included, no deeper than {number_in(report.drill_tip_depth, unit)}."


def step_down_facts(report: StepDownReport) -> dict[str, Any]:
    """Return one step-down as plain values: lengths in mm under keys that end in ``_mm``, chances from 0 to 1."""
    touch = report.touch
    return {
        "name": report.name,
        "sheet": report.sheet,
        "withheld": report.withheld,
        "layers": [
            {
                "name": layer.name,
                "thickness_mm": layer.thickness,
                "within_mm": layer.within,
                "standard_mm": layer.standard,
                "top_z_mm": layer.top_z,
                "keep": layer.keep,
                "looks": layer.colour,
            }
            for layer in report.layers
        ],
        "touch": {
            "on": touch.on,
            "with": touch.method,
            "offset_mm": touch.offset,
            "within_mm": touch.within,
            "set_readout_mm": touch.set_z,
            "wedge": touch.wedge,
        },
        "rule": report.rule,
        "sheet_z_mm": report.sheet_z,
        "sheet_standard_mm": report.sheet_standard,
        "sheet_doubt_mm": report.sheet_doubt,
        "doubts": [{"name": d.name, "within_mm": d.within, "standard_mm": d.standard} for d in report.doubts],
        "answers": list(report.answers),
        "hard_floor_z_mm": report.hard_floor,
        "start_z_mm": report.start,
        "floor_z_mm": report.floor,
        "contact_chance_at_floor": report.contact_at_floor,
        "in_layer_chance_at_floor": report.in_layer_at_floor,
        "drill_tip_depth_mm": report.drill_tip_depth,
        "passes": [_pass_facts(p) for p in report.passes],
        "look_for": report.words.look_for,
        "cutter": report.cutter,
        "cutter_diameter_mm": report.cutter_diameter,
        "corner_radius_mm": report.corner_radius,
        "bends": [
            {
                "name": b.name,
                "inside_radius_mm": b.inside_radius,
                "gap_mm": b.gap,
                "margin_mm": b.margin,
                "wall_height_mm": b.wall_height,
            }
            for b in report.section
        ],
        "least": None if report.least is None else _gap_facts(report.least),
        "left_volume_mm3": report.left_volume,
        "left_flat": None if report.left_flat is None else _left_facts(report.left_flat),
        "direction": list(report.direction),
        "plan_view": _view_facts(report),
        "checks": [{"text": c.text, "source": c.source} for c in report.checks],
        "other_ways": [{"text": c.text, "source": c.source, "cautions": list(c.cautions)} for c in report.removal],
    }


def _pass_facts(step: StepDownPass) -> dict[str, Any]:
    return {
        "number": step.number,
        "z_mm": step.z,
        "step_mm": step.step,
        "contact_chance": step.contact,
        "layer_showing_chance": step.showing,
        "in_layer_chance": step.in_layer,
        "stop": step.stop,
        "limits": [{"bend": s.bend, "flank_mm": s.flank, "flat_mm": s.flat, "axis_mm": s.axis} for s in step.sides],
        "still_bar": _look_facts(step.still_bar),
        "layer_showing": _look_facts(step.layer_shows),
        "strokes": step.strokes,
        "least": None if step.least is None else _gap_facts(step.least),
        "left": None if step.left is None else _left_facts(step.left),
    }


def _look_facts(look: LookLine | None) -> dict[str, Any] | None:
    if look is None:
        return None
    return {
        "seen": look.seen,
        "chance": look.chance,
        "hard_floor_z_mm": look.hard_floor,
        "next_floor_z_mm": look.next_floor,
        "ends_here": look.ends_here,
    }


def _gap_facts(gap: GapLine) -> dict[str, Any]:
    return {
        "gap_mm": gap.gap,
        "standard_mm": gap.standard,
        "surface": gap.surface,
        "of": gap.of,
        "at_mm": list(gap.xy_part),
        "reads_mm": list(gap.xy_machine),
        "z_mm": gap.z,
    }


def _left_facts(left: LeftLine) -> dict[str, Any]:
    return {"z_mm": left.z, "area_mm2": left.area, "width_mm": left.width}


def _view_facts(report: StepDownReport) -> dict[str, Any] | None:
    view = report.plan_view
    if view is None:
        return None
    return {
        "region": _chain_facts(view.region.curves),
        "walls": [_chain_facts(w) for w in view.walls],
        "shoulders": _chain_facts(view.shoulders),
        "limits_of_the_edge": [_chain_facts(line) for line in view.flank_lines],
        "strokes": [_chain_facts(s.curves) for s in view.strokes],
        "left": [_outline_points(o) for o in view.left],
    }


def _chain_facts(curves: Sequence[Curve]) -> list[dict[str, Any]]:
    out = []
    for curve in curves:
        facts: dict[str, Any] = {"start_mm": list(curve.start), "end_mm": list(curve.end)}
        if isinstance(curve, Arc):
            facts |= {"centre_mm": list(curve.center), "anticlockwise": curve.ccw}
        out.append(facts)
    return out


def _outline_points(outline: Outline) -> list[list[float]]:
    return [list(curve.start) for curve in outline.curves]
