"""Where a step-down cuts in plan: region, walls, sides that stay, cutter; for the part as given or its twin."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from holecam.cuts.cut_choices import Direction
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.inside_bend import InsideBend, flank_limit, sideways_margin
from holecam.cuts.inside_bend_wall import BendWall
from holecam.cuts.layer_estimates import Estimate, Term
from holecam.cuts.step_down_cut import BendSide, CutRequest, SideLimit, StepDownCut, plan_cut
from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_machine import EndMillModel
from holecam.job.models_step_down import Bend, StepDown
from holecam.job.outlines import curves_through, outline_of, path_of
from holecam.lengths import length_text
from holecam.plan.finding import Finding, Severity
from holecam.planning.step_down_findings import COMMON
from holecam.planning.step_down_side_findings import cut_findings
from holecam.planning.step_down_stacks import in_step_down
from holecam.planning.step_downs import StepDownAnswer
from holecam.shapes import Curve, Outline, Placement

SIDE_SAMPLES = 16
"""Places along one side of the region at which it is asked whether it lies under a wall."""


class StepDownSides(Struct, frozen=True):
    """One step-down in plan, in the part frame of one hand.

    ``cut`` is ``None`` without a region or without a pass; ``limits`` then holds the side limits of each pass, where
    bends are known. ``cutter`` is ``None`` where the job names none. ``shoulders`` are the sides that stay.
    """

    answer: StepDownAnswer
    cutter: MillingCutter | None
    cut: StepDownCut | None
    limits: tuple[tuple[SideLimit, ...], ...]
    shoulders: tuple[Curve, ...]
    findings: tuple[Finding, ...]


def step_down_sides(job: Job, answer: StepDownAnswer, hand: Placement) -> StepDownSides:
    """Return the cut of a step-down with its findings; a twin is planned anew, so that its teeth push the same way.

    Raises
    ------
    InputError
        Region, walls or cutter do not go together; the message names the step-down.
    """
    wish = answer.wish
    with in_step_down(wish.name):
        cutters = _cutters(job, wish)
        margins = _margin_findings(job, answer)
        if wish.region is None:
            cutter = cutters[0] if len(cutters) == 1 else None
            return StepDownSides(answer, cutter, None, _limits_alone(answer, cutter), (), margins)
        if not answer.heights.passes:
            return StepDownSides(answer, cutters[0] if len(cutters) == 1 else None, None, (), (), margins)
        if not cutters:
            raise InputError(
                'expected a cutter for its region: list one, [tools] end_mills = ["1/4"], and name it with cutter',
                key="cutter",
            )
        given = outline_of(wish.region, folder=job.source.folder)
        sides = tuple(_bend_side(job, answer, bend, n, hand) for n, bend in enumerate(wish.bends, start=1))
        shoulders = tuple(hand.apply_curve(c) for c in _shoulders(job, wish, given))
        shoulders = tuple(c for c in shoulders if not _under_a_wall(c, sides))
        region = hand.apply_outline(given).counterclockwise()
        cuts = [_cut(answer, region, cutter, sides, shoulders, hand) for cutter in cutters]
    best = min(cuts, key=lambda c: (c.reaches_nothing, round(c.left_volume, 3), -c.request.cutter.diameter))
    found = [*margins, *cut_findings(best, name=wish.name, unit=job.unit), *_open_findings(wish, shoulders)]
    limits = tuple(p.limits for p in best.passes)
    return StepDownSides(answer, best.request.cutter, best, limits, shoulders, tuple(found))


def _cut(
    answer: StepDownAnswer,
    region: Outline,
    cutter: MillingCutter,
    sides: tuple[BendSide, ...],
    shoulders: tuple[Curve, ...],
    hand: Placement,
) -> StepDownCut:
    wish = answer.wish
    feed = wish.feed_deg
    if feed is None and not sides:  # along the longer way of the region
        x0, y0, x1, y1 = region.bounds
        feed = 0.0 if x1 - x0 >= y1 - y0 else 90.0
    elif feed is not None and hand.mirror:
        feed = hand.turn_deg + 180.0 - feed
    request = CutRequest(
        region=region,
        cutter=cutter,
        bends=sides,
        step_over=None if wish.step_over is None else float(wish.step_over),
        direction=Direction.CLIMB if wish.climb else Direction.CONVENTIONAL,
        shoulder=tuple((c,) for c in shoulders),
        feed_deg=feed,
    )
    return plan_cut(request, answer.heights)


def milling_cutter(model: EndMillModel) -> MillingCutter:
    """Return an end mill of the job as the planning of cuts needs it, mm."""
    diameter = float(model.diameter)
    corner = float(model.corner_radius or 0)
    return MillingCutter(
        name=model.name,
        diameter=diameter,
        teeth=model.flutes,
        flute_length=None if model.flute_length is None else float(model.flute_length),
        overhang=None if model.overhang is None else float(model.overhang),
        corner_radius=diameter / 2 if model.kind == "ball" else corner,
        centre_cutting=model.centre_cutting,
        carbide=model.material == "carbide",
    )


def _cutters(job: Job, wish: StepDown) -> tuple[MillingCutter, ...]:
    """Return the cutter that is named, or all at hand that leave a flat floor."""
    if wish.cutter is not None:
        wanted = wish.cutter.lower()
        named = [m for m in job.tools.end_mills if m.name.lower() == wanted]
        if not named:
            raise InputError(f'cutter "{wish.cutter}": expected the name of a cutter under [tools] end_mills')
        return (milling_cutter(named[0]),)
    flat = [milling_cutter(m) for m in job.tools.end_mills if m.kind != "ball"]
    return tuple(c for c in flat if c.corner_radius < c.radius)


def bend_name(wish: StepDown, number: int) -> str:
    """Return what to call a bend of a step-down: the job gives it no name of its own."""
    return "bend" if len(wish.bends) == 1 else f"bend {number}"


def bend_gap_of(answer: StepDownAnswer, bend: Bend) -> float:
    """Return the gap to keep from a bend, mm: as stated, or that planned between floor and sheet."""
    return max(answer.heights.sheet_gap, 0.0) if bend.gap is None else float(bend.gap)


def _bend_side(job: Job, answer: StepDownAnswer, bend: Bend, number: int, hand: Placement) -> BendSide:
    name = bend_name(answer.wish, number)
    if bend.along is None:
        raise InputError(
            f"{name}: expected along, where the face of its wall stands: without it nothing keeps the cutter away. Or "
            "leave the region out, then the limits are given as distances from the wall",
            key="along",
        )
    drawn = BendWall(path_of(bend.along, folder=job.source.folder), bend.cut_side)
    line = tuple(hand.apply_curve(c) for c in drawn.line)
    height = None
    if bend.wall_height is not None:  # over the top of a wall the same gap is kept
        height = float(bend.wall_height) + bend_gap_of(answer, bend)
    return BendSide(
        name=name,
        wall=BendWall(line, "right" if hand.mirror else "left"),
        radius=float(max(bend.inside_radius)),
        sideways=float(bend.margin),
        gap=None if bend.gap is None else float(bend.gap),
        wall_standard=Term.within(name, float(bend.wall_within or 0)).standard,
        wall_height=height,
    )


def _limits_alone(answer: StepDownAnswer, cutter: MillingCutter | None) -> tuple[tuple[SideLimit, ...], ...]:
    """Return the limits of every pass beside each bend, as distances from the wall."""
    heights, wish = answer.heights, answer.wish
    if not wish.bends:
        return ()
    corner = 0.0 if cutter is None else cutter.corner_radius
    sheet, out = heights.belief.likeliest(), []
    for height in heights.passes:
        row = []
        for number, bend in enumerate(wish.bends, start=1):
            gap = bend_gap_of(answer, bend)
            if gap > heights.sheet_gap + 1e-9:
                raise InputError(
                    f"{bend_name(wish, number)}: a gap of {gap:.4f} mm is to be kept, and the floor lies only "
                    f"{heights.sheet_gap:.4f} mm over the sheet. Ask for a smaller gap or leave more over the sheet",
                    key="gap",
                )
            shape = InsideBend(float(max(bend.inside_radius)), gap, float(bend.margin))
            flank = flank_limit(shape, height=height.z - sheet, corner_radius=corner)
            axis = None if cutter is None else flank + cutter.radius
            row.append(SideLimit(bend_name(wish, number), flank, flank + corner, axis))
        out.append(tuple(row))
    return tuple(out)


def _shoulders(job: Job, wish: StepDown, region: Outline) -> tuple[Curve, ...]:
    """Return the sides of the region, numbered as they are listed in the job, that are not open."""
    listed: Sequence[Curve] = region.curves
    if wish.region is not None and wish.region.points is not None:
        listed = curves_through(wish.region.points, closed=True)
    wrong = [n for n in wish.open_sides if n > len(listed)]
    if wrong:
        raise InputError(
            f"open_sides: there is no side {wrong[0]}; the region has {len(listed)} sides",
            key="open_sides",
            value=str(wrong[0]),
        )
    return tuple(c for n, c in enumerate(listed, start=1) if n not in wish.open_sides)


def _under_a_wall(curve: Curve, sides: Sequence[BendSide]) -> bool:
    """Return whether a side of the region lies under a wall's bend: there the wall's own limit holds."""
    points = [curve.point_at(n / SIDE_SAMPLES) for n in range(SIDE_SAMPLES + 1)]
    return any(all(side.wall.distance_to(p) <= side.radius + side.sideways for p in points) for side in sides)


def _open_findings(wish: StepDown, shoulders: tuple[Curve, ...]) -> list[Finding]:
    if wish.open_sides or not shoulders:
        return []
    return [
        Finding(
            "no-open-side",
            Severity.CAUTION,
            f'step-down "{wish.name}"',
            "No side of the region is named as open: the cutter stays inside it, comes down on metal, and leaves a "
            "corner radius everywhere.",
            source="job file",
            remedy="Name the sides where the cutter may run out: open_sides = [1], numbered as they are listed.",
            operation=wish.name,
        )
    ]


def _margin_findings(job: Job, answer: StepDownAnswer) -> tuple[Finding, ...]:
    """Return a caution for each bend whose margin is less than what moves the cutter toward the wall."""
    wish, request = answer.wish, answer.heights.request
    machine, out = job.machine, []
    for number, bend in enumerate(wish.bends, start=1):
        name = bend_name(wish, number)
        needed = sideways_margin(
            0.0,
            wall=Estimate.of(0.0, Term.within(name, float(bend.wall_within or 0))),
            runout=float(machine.runout or 0),
            backlash=0.0 if machine.backlash is None else float(max(machine.backlash)),
            rule=request.rule,
            sureness=request.sureness,
        )
        margin = float(bend.margin)
        if margin < needed:
            out.append(
                Finding(
                    "bend-margin-small",
                    Severity.CAUTION,
                    f'step-down "{wish.name}"',
                    f"The margin beside {name}, {length_text(margin, job.unit)}, is less than the wall's doubt, half "
                    f"the runout and the backlash together, {length_text(needed, job.unit)}.",
                    margin,
                    needed,
                    source=COMMON,
                    remedy="Give a larger margin, or find the wall's place more surely.",
                    operation=wish.name,
                )
            )
    return tuple(out)
