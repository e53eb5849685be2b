"""A planned step-down as values for papers and pictures."""

from __future__ import annotations

from holecam.cuts.inside_bend import InsideBend
from holecam.cuts.inside_bend_section import bent_sheet, bent_surface, standing_cutter, telling_passes, tooth_limit
from holecam.cuts.inside_bend_wall import BendWall
from holecam.cuts.layer_estimates import DoubtRule
from holecam.cuts.step_down_chance import LayerWindow
from holecam.cuts.step_down_clearance import LeastGap
from holecam.cuts.step_down_cut import SideLimit, StepDownCut, StepPass, limit_lines
from holecam.cuts.step_down_heights import PassHeight, StepDownHeights
from holecam.cuts.step_down_looks import LookOutcome, LookRow
from holecam.cuts.step_down_practice import CHECK_LIST, REMOVAL_METHODS, colour_of, look_words
from holecam.cuts.step_down_region import Leftover
from holecam.lengths import Unit, length_text
from holecam.plan.step_down import (
    BendCutter,
    BendLine,
    BendView,
    CheckLine,
    DoubtLine,
    GapLine,
    LayerLine,
    LeftLine,
    LookLine,
    SideLine,
    StepDownPass,
    StepDownPlanView,
    StepDownReport,
    StopWords,
    StrokeView,
    TouchLine,
)
from holecam.planning.step_down_cuts import StepDownSides, bend_gap_of, bend_name
from holecam.shapes import Placement

SEEN = 1.35
"""Times what has to be seen beside a bend: how far out and how high its section reaches."""


LEAST_TOP = 0.6
"""Times how far out: how high a section reaches at least, so that a small bend is not seen as a line."""

RUN_ON = 4.0
"""Times that reach: how far out the shapes run, so that a broad picture does not show their ends."""


def step_down_report(
    sides: StepDownSides, machine_from_part: Placement, *, unit: Unit, withheld: str
) -> StepDownReport:
    """Return the report of one step-down; ``withheld`` says why nothing is to be milled, empty when it is."""
    answer, heights, cut = sides.answer, sides.answer.heights, sides.cut
    wish, request = answer.wish, heights.request
    touched, faces = request.touched, heights.faces
    stack, touch = touched.stack, touched.touch
    contact = heights.belief.contact(heights.floor) if heights.passes else 0.0
    words = look_words(stack)
    flat = cut.left_flat if cut is not None else None
    return StepDownReport(
        name=wish.name,
        sheet=stack.substrate.name,
        layers=tuple(
            LayerLine(
                layer.name,
                layer.thickness.value,
                layer.thickness.half_width,
                layer.thickness.standard,
                face.value,
                layer.keep,
                colour_of(layer.name, layer.looks),
                face.doubt(request.rule, request.sureness),
            )
            for layer, face in zip(stack.layers, touched.faces, strict=True)
        ),
        touch=TouchLine(
            stack.layers[touched.touched_index].name,
            touch.method,
            touch.offset,
            touch.half_width,
            float(touched.set_count * touched.resolution),
            touched.wedge.source,
        ),
        rule=(
            "all doubts at their limits"
            if request.rule is DoubtRule.WORST_CASE
            else f"{request.sureness:g} times its standard doubt"
        ),
        sheet_z=faces.substrate.value,
        sheet_standard=faces.substrate.standard,
        sheet_doubt=faces.doubt(),
        doubts=tuple(
            DoubtLine(term.name, abs(share) * term.half_width, abs(share) * term.standard)
            for term, share in faces.substrate.parts
        ),
        hard_floor=heights.hard_floor,
        start=heights.start,
        floor=heights.floor,
        contact_at_floor=contact,
        in_layer_at_floor=_in_layer(heights, contact),
        passes=_passes(sides, machine_from_part),
        words=StopWords(words.look_for, words.still_bar, words.layer_shows, words.sheet_shows),
        checks=tuple(CheckLine(c.text, c.source) for c in CHECK_LIST),
        drill_tip_depth=answer.drill_tip_depth,
        answers=tuple(f"{a.layer} at Z {length_text(a.z, unit, signed=True)}" for a in request.answers),
        cutter=sides.cutter.name if sides.cutter is not None else "",
        cutter_diameter=None if sides.cutter is None else sides.cutter.diameter,
        corner_radius=None if sides.cutter is None else sides.cutter.corner_radius,
        section=tuple(
            BendLine(
                bend_name(wish, n),
                float(max(bend.inside_radius)),
                bend_gap_of(answer, bend),
                float(bend.margin),
                None if bend.wall_height is None else float(bend.wall_height),
            )
            for n, bend in enumerate(wish.bends, start=1)
        ),
        bend_views=_bend_views(sides),
        least=None if cut is None or cut.least is None else _gap(cut.least, machine_from_part),
        left_volume=0.0 if cut is None else cut.left_volume,
        left_flat=None if flat is None else _left(flat),
        removal=tuple(CheckLine(f"{m.name}: {m.how}", m.source, m.cautions) for m in REMOVAL_METHODS),
        direction=() if cut is None else tuple(note.words for note in cut.direction_notes),
        plan_view=None if cut is None or not cut.passes else _plan_view(sides, cut),
        supported_by=wish.supported_by,
        held=wish.held,
        notes=wish.notes,
        withheld=withheld,
        believed_sheet_z=heights.belief.likeliest(),
    )


def _bend_views(sides: StepDownSides) -> tuple[BendView, ...]:
    """Return the section beside each bend, with the cutter at the telling passes."""
    answer, cutter, passes = sides.answer, sides.cutter, sides.answer.heights.passes
    if not passes or len(sides.limits) != len(passes):
        return ()
    sheet = answer.heights.belief.likeliest()
    corner = 0.0 if cutter is None else cutter.corner_radius
    thickness = answer.heights.request.touched.stack.substrate.thickness.value
    views = []
    for n, bend in enumerate(answer.wish.bends):
        shape = InsideBend(float(max(bend.inside_radius)), bend_gap_of(answer, bend), float(bend.margin))
        limited = [k for k, limits in enumerate(sides.limits) if limits[n].flank is not None]
        if not limited:
            continue
        shown = [limited[k] for k in telling_passes([passes[k].z - sheet for k in limited], shape.radius)]
        flanks = [sides.limits[k][n].flank or 0.0 for k in shown]
        reach = SEEN * (max(shape.radius, shape.gap, *flanks) + corner)
        top = max(SEEN * max(shape.radius, *(passes[k].z - sheet + corner for k in shown)), LEAST_TOP * reach)
        far = RUN_ON * reach
        drawn = []
        for k, flank in zip(shown, flanks, strict=True):
            height, axis = passes[k].z - sheet, sides.limits[k][n].axis
            stands = standing_cutter(
                shape.radius, flank=flank, height=height, corner_radius=corner, axis=axis, top=top, reach=far
            )
            drawn.append(
                BendCutter(
                    passes[k].number,
                    passes[k].z,
                    height,
                    flank,
                    axis,
                    stands.outline,
                    stands.gap.gap,
                    stands.tooth,
                    stands.gap.foot,
                )
            )
        high = None if bend.wall_height is None else float(bend.wall_height)
        wall_top = top if high is None else min(top, high)
        views.append(
            BendView(
                bend_name(answer.wish, n + 1),
                shape.radius,
                shape.gap,
                shape.sideways,
                high,
                thickness,
                reach,
                top,
                bent_surface(shape.radius, top=wall_top, reach=far),
                bent_sheet(shape.radius, thickness, top=wall_top, reach=far),
                tooth_limit(shape, top=top, reach=far),
                tuple(drawn),
                answer.heights.floor - sheet,
                answer.heights.hard_floor - sheet,
            )
        )
    return tuple(views)


def _in_layer(heights: StepDownHeights, contact: float) -> float | None:
    window: LayerWindow | None = heights.window
    if window is None or not heights.passes:
        return None
    return max(0.0, heights.belief.showing(heights.floor) - contact)


def _passes(sides: StepDownSides, machine_from_part: Placement) -> tuple[StepDownPass, ...]:
    heights, cut = sides.answer.heights, sides.cut
    looks = {row.number: row for row in heights.looks}
    out = []
    for n, height in enumerate(heights.passes):
        limits = sides.limits[n] if n < len(sides.limits) else ()
        step = None if cut is None else cut.passes[n]
        out.append(_pass(height, limits, looks.get(height.number), step, machine_from_part))
    return tuple(out)


def _pass(
    height: PassHeight,
    limits: tuple[SideLimit, ...],
    row: LookRow | None,
    cut: StepPass | None,
    machine_from_part: Placement,
) -> StepDownPass:
    return StepDownPass(
        number=height.number,
        z=height.z,
        step=height.step,
        contact=height.contact,
        showing=height.showing,
        in_layer=height.in_layer,
        stop=height.stop,
        sides=tuple(SideLine(s.bend, s.flank, s.flat, s.axis) for s in limits),
        still_bar=None if row is None else _look(row.still_bar),
        layer_shows=None if row is None else _look(row.layer_showing),
        strokes=0 if cut is None else len(cut.strokes),
        least=None if cut is None else _gap(cut.least, machine_from_part),
        left=None if cut is None else _left(cut.left),
    )


def _look(outcome: LookOutcome | None) -> LookLine | None:
    if outcome is None:
        return None
    return LookLine(outcome.answer.layer, outcome.chance, outcome.hard_floor, outcome.next_floor, outcome.ends_here)


def _gap(gap: LeastGap, machine_from_part: Placement) -> GapLine:
    return GapLine(gap.gap, gap.standard, gap.surface, gap.of, gap.at, machine_from_part.apply(gap.at), gap.z)


def _left(left: Leftover) -> LeftLine:
    return LeftLine(left.z, left.area, left.width)


def _plan_view(sides: StepDownSides, cut: StepDownCut) -> StepDownPlanView:
    last = cut.passes[-1]
    walls: tuple[BendWall, ...] = tuple(side.wall for side in cut.request.bends)
    return StepDownPlanView(
        region=cut.request.region,
        shoulders=sides.shoulders,
        walls=tuple(w.line for w in walls),
        flank_lines=tuple(chain for line in limit_lines(cut, last) for chain in line.flank),
        strokes=tuple(StrokeView(s.lead_in, s.cut, s.lead_out) for s in last.strokes),
        left=last.left.outlines,
    )
