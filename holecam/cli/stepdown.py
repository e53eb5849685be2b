"""``holecam stepdown``: heights and stops to mill a stack down to a thin sheet, without a job file."""

from __future__ import annotations

from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command

app = app_for_command()


@app.command()
def stepdown(
    layer: Annotated[
        list[str] | None,
        typer.Option(
            help="A layer to take off, top down: NAME:THICK:WITHIN. THICK may be readings at several places, "
            '"0.0035,0.0042,0.0038", or "wire LENGTH x DIAMETER over LENGTH x WIDTH". A bond has usual figures.'
        ),
    ] = None,
    keep: Annotated[list[str] | None, typer.Option(help="The sheet that is never touched: NAME:THICK.")] = None,
    touch: Annotated[str, typer.Option(help='With what, and on which face: "paper", "continuity on sheet".')] = "paper",
    touch_offset: Annotated[str | None, typer.Option(help="Height of the cutter over the face at the touch.")] = None,
    touch_within: Annotated[str | None, typer.Option(help="The touch is sure to plus or minus this.")] = None,
    second: Annotated[
        str | None, typer.Option(help="A second touch-off: DISTANCE:DIFFERENCE, lower is negative.")
    ] = None,
    length: Annotated[str | None, typer.Option(help="Length of the cut from the touch: reckons with a tilt.")] = None,
    high_spot: Annotated[str, typer.Option(help="How far the sheet's highest place stands above its mean.")] = "0",
    machine_within: Annotated[str | None, typer.Option(help="Heights of the machine are sure to this.")] = None,
    readout: Annotated[str | None, typer.Option(help="Step of the readout; 0.0005 in or 0.005 mm without it.")] = None,
    unit: Annotated[
        str | None, typer.Option(help="in or mm: of bare numbers, and of the table. Without it mm.")
    ] = None,
    sureness: Annotated[float, typer.Option(help="Standard doubts between sheet and hard floor.")] = 3.0,
    worst_case: Annotated[bool, typer.Option("--worst-case", help="All doubts at their limits instead.")] = False,
    margin_over_floor: Annotated[
        str | None, typer.Option(help="Planned floor above the hard floor; one readout step without it.")
    ] = None,
    skin: Annotated[str, typer.Option(help="Bonding layer to leave on the sheet.")] = "0",
    above_layer: Annotated[bool, typer.Option("--above-layer", help="Stop above the bonding layer.")] = False,
    floor: Annotated[str | None, typer.Option(help="Floor that you want, as the readout shows it.")] = None,
    stop_percent: Annotated[float, typer.Option(help="Chance of contact from which every pass is a stop.")] = 0.1,
    hold: Annotated[str, typer.Option(help='How the bar is held: firm, light, or "by the sheet".')] = "light",
    rough: Annotated[str | None, typer.Option(help="Greatest roughing step.")] = None,
    last: Annotated[
        str | None, typer.Option(help="Last passes, commas between; 0.001 in and 0.0005 in without it.")
    ] = None,
    least_chip: Annotated[str, typer.Option(help="No pass thinner than this, unless --last says so.")] = "0.005 mm",
    answer: Annotated[list[str] | None, typer.Option(help='What you saw: "still bar at -0.180".')] = None,
    bend_radius: Annotated[str | None, typer.Option(help="Inside radius of a bend beside the cut.")] = None,
    bend_margin: Annotated[str, typer.Option(help="Sideways margin: wall, runout, spring, backlash.")] = "0.5 mm",
    bend_gap: Annotated[str | None, typer.Option(help="Gap to the bend; that under the floor without it.")] = None,
    cutter: Annotated[str | None, typer.Option(help="Diameter of the cutter, beside a bend.")] = None,
    corner_radius: Annotated[str, typer.Option(help="Corner radius of the cutter.")] = "0",
    drill: Annotated[str | None, typer.Option(help="Also: how deep a drill of this diameter may go.")] = None,
    drill_point: Annotated[float, typer.Option(help="Included angle of its point, degrees.")] = 118.0,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, lengths in mm.")] = False,
) -> None:
    """Print every pass down to a thin sheet, where to stop, what to look for, and what each look allows."""
    import json

    from holecam.cli.quick_sheet import USUAL_READOUT, Lengths
    from holecam.cli.stepdown_text import BendOptions, StepDownSheet, sheet_json, sheet_lines
    from holecam.cuts.inside_bend import InsideBend
    from holecam.cuts.layer_estimates import DoubtRule, Estimate
    from holecam.cuts.layer_stack import TouchedStack
    from holecam.cuts.step_down_drilling import drill_limit
    from holecam.cuts.step_down_floor import FloorAim
    from holecam.cuts.step_down_heights import HeightsRequest, plan_heights
    from holecam.cuts.step_down_passes import LAST_STEPS, PassRule
    from holecam.cuts.step_down_practice import ROUGH_STEP, Hold
    from holecam.errors import InputError
    from holecam.lengths import reading_text
    from holecam.plan.finding import Severity, worst_first
    from holecam.planning.step_down_findings import height_findings
    from holecam.planning.step_down_side_findings import drill_findings
    from holecam.planning.step_down_words import caution_tags, read_answer, read_stack, read_touch, read_wedge
    from holecam.standards.cautions import cautions_for

    lengths = Lengths(unit)

    def size(text: str, key: str) -> float:
        return float(lengths.length(text, key))

    def maybe(text: str | None, key: str) -> float | None:
        return None if text is None else size(text, key)

    resolution = USUAL_READOUT[lengths.unit] if readout is None else lengths.length(readout, "--readout")
    if resolution <= 0:
        raise InputError(f'--readout "{readout}": expected the step of the readout, above zero', key="--readout")
    reading_text(0, resolution, lengths.unit)  # a step that no decimals can show is refused now
    if hold not in {h.value for h in Hold}:
        expected = ", ".join(h.value for h in Hold)
        raise InputError(f'--hold "{hold}": expected one of {expected}', key="--hold", value=hold, expected=expected)

    stack = read_stack(layer or [], keep or [], lengths=lengths, sureness=sureness)
    touched_with, presses = read_touch(
        touch, stack, offset=maybe(touch_offset, "--touch-offset"), within=maybe(touch_within, "--touch-within")
    )
    touched = TouchedStack(
        stack,
        touched_with,
        resolution,
        maybe(machine_within, "--machine-within"),
        read_wedge(second, maybe(length, "--length"), lengths=lengths, touch=touched_with),
        Estimate(size(high_spot, "--high-spot")),
    )
    last_steps = LAST_STEPS if last is None else tuple(size(t.strip(), "--last") for t in last.split(","))
    request = HeightsRequest(
        touched,
        PassRule(
            ROUGH_STEP[Hold(hold)] if rough is None else size(rough, "--rough"),
            last_steps,
            least_chip=size(least_chip, "--least-chip"),
        ),
        rule=DoubtRule.WORST_CASE if worst_case else DoubtRule.ROOT_OF_SQUARES,
        sureness=sureness,
        floor_margin=maybe(margin_over_floor, "--margin-over-floor"),
        skin=size(skin, "--skin"),
        aim=FloorAim.ABOVE_LAYER if above_layer else FloorAim.INTO_LAYER,
        stop_chance=stop_percent / 100.0,
        asked_floor=maybe(floor, "--floor"),
        answers=tuple(read_answer(text, stack, lengths=lengths) for text in answer or []),
    )
    heights = plan_heights(request)
    name = stack.substrate.name
    findings = height_findings(heights, name=name, unit=lengths.unit, touch_presses=presses)

    bend = None
    if bend_radius is not None:
        if cutter is None:
            raise InputError("--bend-radius: expected --cutter as well, the diameter", key="--cutter")
        gap = maybe(bend_gap, "--bend-gap")
        planned = max(heights.sheet_gap, 0.0)
        if gap is not None and gap > planned and heights.passes:
            raise InputError(
                f'--bend-gap "{bend_gap}": the floor lies only {planned:.4f} mm over the sheet; expected no more than '
                "that",
                key="--bend-gap",
            )
        bend = BendOptions(
            InsideBend(
                lengths.positive(bend_radius, "--bend-radius"),
                planned if gap is None else gap,
                size(bend_margin, "--bend-margin"),
            ),
            lengths.positive(cutter, "--cutter"),
            size(corner_radius, "--corner-radius"),
        )
    limit = None
    if drill is not None:
        limit = drill_limit(
            face_z=touched.faces[0].value,
            hard_floor=heights.hard_floor,
            diameter=lengths.positive(drill, "--drill"),
            point_angle_deg=drill_point,
            resolution=resolution,
        )
        findings += drill_findings(limit, hole=f"drill {drill}", tip_z=None, unit=lengths.unit, name=name)

    cautions = cautions_for(caution_tags(stack))
    sheet = StepDownSheet(heights, lengths.unit, worst_first(tuple(findings)), cautions, bend, limit)
    if as_json:
        typer.echo(json.dumps(sheet_json(sheet), indent=2, ensure_ascii=False))
    else:
        typer.echo("\n".join(sheet_lines(sheet)))
    if any(finding.severity is Severity.STOP for finding in findings):
        raise typer.Exit(1)
