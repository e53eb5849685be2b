"""From slots and pockets of the job to what the planner of cuts asks for."""

from __future__ import annotations

from msgspec import Struct

from holecam.cuts.clearance import ClearanceSum, Cleared
from holecam.cuts.cut_choices import (
    ChainDrillWish,
    Corners,
    Direction,
    Entry,
    EntryHole,
    KeepAway,
    SneakWish,
    Strategy,
    default_direction,
)
from holecam.cuts.cutter_choice import CutterChoice, choose_cutter
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import QUICK_FEED, CuttingSteps, cutting_steps
from holecam.cuts.pocket_values import PocketRequest, ReliefShape, ReliefWish
from holecam.cuts.slot_values import Bar, BlindEnd, OpenEnd, SlotEnd, SlotRequest, StopShort
from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_cut import Cut, Cutting, EndModel, Pocket, Slot
from holecam.job.models_machine import EndMillModel
from holecam.job.models_part import KeepOut as JobKeepOut
from holecam.job.outlines import outline_of, path_of, shape_of
from holecam.planning.spindle_speeds import speed_and_feed, speed_range, speed_that_turns
from holecam.planning.surroundings import BodyFacts
from holecam.shapes import Circle, Curve, Outline, Point, Segment, circle_outline
from holecam.shapes.offset import offset_line
from holecam.standards.drill_names import parse_drill
from holecam.standards.materials import Material

SET_UP = {"light": "weak", "ordinary": "light", "stiff": "rigid"}
"""The job's words for what machine and set-up bear, and those of the table of depths."""


class CutSetting(Struct, frozen=True):
    """Cutter and figures that slots and pockets share: ``steps`` are starting points, the job's own words go first."""

    cutter: MillingCutter
    model: EndMillModel
    steps: CuttingSteps
    rpm: float
    feed: float
    rapid: float = QUICK_FEED


def milling_cutter(model: EndMillModel) -> MillingCutter:
    """Return an end mill of the job as the planner of cuts sees it."""
    diameter = float(model.diameter)
    corner = diameter / 2 if model.kind == "ball" else float(model.corner_radius or 0)
    return MillingCutter(
        name=model.name,
        diameter=diameter,
        teeth=model.flutes,
        flute_length=None if model.flute_length is None else float(model.flute_length),
        overhang=None if model.overhang is None else float(model.overhang),
        corner_radius=corner,
        centre_cutting=model.centre_cutting,
        carbide=model.material == "carbide",
    )


def cut_setting(
    job: Job, cut: Cut, model: EndMillModel, stuff: Material, *, buried: bool, second: bool = False
) -> CutSetting:
    """Return cutter, steps, speed and feed of a cut; what the job states of speed and feed is for its first cutter."""
    cutter = milling_cutter(model)
    spindle = job.machine.spindle
    slowest, fastest = speed_range(spindle)
    steps = cutting_steps(
        stuff,
        cutter,
        set_up=SET_UP[job.machine.rigidity],
        buried=buried,
        slowest_rpm=slowest,
        fastest_rpm=fastest,
    )
    wish = Cutting() if second else cut.cutting
    chip = float(wish.chip) if wish.chip is not None else steps.chip
    rpm, feed = speed_and_feed(float(steps.rpm), chip * cutter.teeth, job.machine)
    if wish.speed_rpm is not None or wish.feed is not None:  # what is stated is not traded for the other
        rpm = speed_that_turns(wish.speed_rpm if wish.speed_rpm is not None else float(steps.rpm), spindle)
        feed = float(wish.feed) if wish.feed is not None else chip * cutter.teeth * rpm
        feed = feed if job.machine.fastest_feed is None else min(feed, float(job.machine.fastest_feed))
    rapid = QUICK_FEED if job.machine.rapid is None else float(job.machine.rapid)
    return CutSetting(cutter, model, steps, rpm, feed, rapid)


def listed_cutters(job: Job, cut: Cut) -> tuple[EndMillModel, ...]:
    """Return the end mills that a cut may use: those it names, else all of the job.

    Raises
    ------
    InputError
        The job lists no end mill.
    """
    by_name = {m.name.lower(): m for m in job.tools.end_mills}
    if cut.cutters:
        return tuple(by_name[name.lower()] for name in cut.cutters)
    if not job.tools.end_mills:
        raise InputError(f'"{cut.name}": no end mill is listed; add end_mills under [tools]', key="cutter")
    return job.tools.end_mills


def _by_hand(job: Job, cut: Cut) -> bool:
    return cut.cutting.by_hand if cut.cutting.by_hand is not None else job.machine.kind == "manual"


def _direction(job: Job, cut: Cut) -> Direction:
    if cut.cutting.direction is not None:
        return Direction(cut.cutting.direction)
    backlash = float(max(job.machine.backlash)) if job.machine.backlash is not None else None
    return default_direction(by_hand=_by_hand(job, cut), backlash=backlash)


def _curves(job: Job, keep_out: JobKeepOut) -> tuple[Curve, ...]:
    folder = job.source.folder
    if keep_out.line is not None:
        return path_of(keep_out.line, folder=folder)
    if keep_out.circle is not None and keep_out.centre is not None:
        centre = (float(keep_out.centre[0]), float(keep_out.centre[1]))
        return circle_outline(Circle(centre, float(keep_out.circle) / 2)).curves
    assert keep_out.region is not None
    return outline_of(keep_out.region, folder=folder).curves


def keep_aways(job: Job, cut: Cut, *, without: frozenset[str] = frozenset()) -> tuple[KeepAway, ...]:
    """Return what a cut keeps away from: the keep-outs it names, else all of its body, with their margins."""
    found = []
    for keep_out in job.keep_outs:
        wanted = keep_out.name in cut.keep_from if cut.keep_from else keep_out.body == cut.body
        if wanted and keep_out.name not in without:
            margin = float(keep_out.margin or 0) + float(keep_out.width or 0) / 2
            found.append(KeepAway(keep_out.name, _curves(job, keep_out), margin))
    return tuple(found)


def _sneak(cut: Cut) -> SneakWish | None:
    return None if cut.sneak is None else SneakWish(float(cut.sneak.undersize), cut.sneak.steps)


def slot_request(job: Job, slot: Slot, facts: BodyFacts, clearance_z: float) -> tuple[SlotRequest, CutSetting]:
    """Return a slot to plan, and its setting.

    Raises
    ------
    InputError
        No cutter of the job fits, or the slot's figures do not go together.
    """
    sums: tuple[ClearanceSum, ...] = ()
    bar = None
    if slot.clears is not None:
        thing = slot.clears
        cleared = Cleared(
            name=slot.name,
            height=float(thing.height),
            width=float(thing.width),
            position_doubt=float(thing.within),
            height_doubt=float(thing.height_within if thing.height_within is not None else thing.within),
            float_sides=float(thing.float_),
            float_below=float(thing.float_below if thing.float_below is not None else thing.float_),
        )
        sums = (cleared.width_sum, cleared.depth_sum)
        width, depth = cleared.width_sum.total, cleared.depth_sum.total
        bar = Bar(slot.name, float(thing.width), cleared.side_sum.total, square_ends=slot.bar_ends == "square")
    else:
        width = float(slot.width or 0)
        depth = facts.thickness if slot.through else float(slot.depth or 0)
    model = _slot_cutter(job, slot, width)
    setting = cut_setting(job, slot, model, facts.material, buried=True)
    line = path_of(slot.path, folder=job.source.folder) if slot.path is not None else (_segment(slot),)
    ends = (_end(job, slot.ends[0]), _end(job, slot.ends[1]))
    stopped = frozenset(e.stop_short for e in slot.ends if e.stop_short is not None)
    wish = slot.cutting
    request = SlotRequest(
        name=slot.name,
        centre_line=tuple(line),
        width=width,
        depth=depth,
        cutter=setting.cutter,
        ends=ends,
        body=facts.outline,
        body_name=slot.body or "part",
        stock_thickness=facts.thickness,
        through=slot.through,
        bar=bar,
        keep_away=keep_aways(job, slot, without=stopped),
        step_depth=float(wish.step_depth) if wish.step_depth is not None else setting.steps.step_depth,
        step_over=float(wish.step_over) if wish.step_over is not None else setting.steps.step_over,
        finish=float(wish.finish) if wish.finish is not None else setting.steps.finish,
        direction=_direction(job, slot),
        sneak=_sneak(slot),
        clearance_z=clearance_z,
        least_wall=None if slot.least_wall is None else float(slot.least_wall),
        least_bottom=None if slot.least_bottom is None else float(slot.least_bottom),
        spoil_board=slot.spoil_board,
        chain=_chain(job, slot),
        sums=sums,
    )
    return request, setting


def _chain(job: Job, cut: Slot | Pocket) -> ChainDrillWish | None:
    if cut.chain_drill is None:
        return None
    drill = parse_drill(cut.chain_drill.drill, unit=job.unit).diameter
    return ChainDrillWish(drill, float(cut.chain_drill.web), float(cut.chain_drill.allowance))


def _segment(slot: Slot) -> Segment:
    assert slot.start is not None
    assert slot.end is not None
    return Segment(_point(slot.start), _point(slot.end))


def _point(pair: tuple[object, object]) -> Point:
    return (float(pair[0]), float(pair[1]))  # type: ignore[arg-type]


def _slot_cutter(job: Job, slot: Slot, width: float) -> EndMillModel:
    """Return the cutter for a slot: the first one named, else the widest that leaves both walls a pass of their own."""
    cutters = listed_cutters(job, slot)
    if slot.cutters:
        return cutters[0]
    fitting = [m for m in cutters if float(m.diameter) <= width]
    if not fitting:
        least = min(cutters, key=lambda m: m.diameter)
        raise InputError(
            f'slot "{slot.name}" is {width:.3f} mm wide; the narrowest end mill listed, "{least.name}", is '
            f"{float(least.diameter):.3f} mm. List a narrower one, or make the slot wider.",
            key="cutter",
        )
    undersize = [m for m in fitting if float(m.diameter) < width]
    return max(undersize or fitting, key=lambda m: m.diameter)


def _end(job: Job, end: EndModel) -> SlotEnd:
    if end.open:
        return OpenEnd(None if end.run_out is None else float(end.run_out))
    if end.stop_short is not None:
        keep_out = next(k for k in job.keep_outs if k.name == end.stop_short)
        return StopShort(KeepAway(keep_out.name, _curves(job, keep_out), float(end.by or 0)))
    return BlindEnd("axis" if end.axis_at_point else "bar")


def pocket_request(
    job: Job, pocket: Pocket, facts: BodyFacts, clearance_z: float
) -> tuple[PocketRequest, CutSetting, CutterChoice | None]:
    """Return a pocket to plan, its setting, and why its cutter was taken.

    Raises
    ------
    InputError
        No cutter of the job enters, or the pocket's figures do not go together.
    """
    outline, islands, depth, sums = _pocket_shape(job, pocket, facts)
    models = listed_cutters(job, pocket)
    away = keep_aways(job, pocket)
    choice = None
    if pocket.cutters:
        model = models[0]
    else:
        choice = choose_cutter(
            outline,
            [milling_cutter(m) for m in models],
            what=f'pocket "{pocket.name}"',
            depth=depth,
            islands=islands,
            keep_away=away,
        )
        model = next(m for m in models if m.name == choice.best.name)
    setting = cut_setting(job, pocket, model, facts.material, buried=True)
    wish = pocket.cutting
    strategy = pocket.strategy or ("to and fro" if _by_hand(job, pocket) else "along the outline")
    second = None
    if pocket.second_cutter is not None:
        second = milling_cutter(next(m for m in job.tools.end_mills if m.name.lower() == pocket.second_cutter.lower()))
    entry = Entry(pocket.entry) if pocket.entry is not None else None
    at = _point(pocket.entry_at) if pocket.entry_at is not None else None
    hole = EntryHole(at, setting.cutter.diameter) if entry is Entry.DRILLED_HOLE and at is not None else None
    request = PocketRequest(
        name=pocket.name,
        outline=outline,
        depth=depth,
        cutter=setting.cutter,
        islands=islands,
        island_names=tuple(i.name or "" for i in pocket.islands),
        keep_away=away,
        body=facts.outline,
        body_name=pocket.body or "part",
        stock_thickness=facts.thickness,
        through=pocket.through,
        step_depth=float(wish.step_depth) if wish.step_depth is not None else setting.steps.step_depth,
        step_over=float(wish.step_over) if wish.step_over is not None else setting.steps.step_over,
        finish=float(wish.finish) if wish.finish is not None else setting.steps.finish,
        strategy=Strategy(strategy),
        row_angle_deg=pocket.row_angle_deg,
        direction=_direction(job, pocket),
        corners=Corners(pocket.corners),
        engagement_ratio=pocket.engagement_ratio if pocket.engagement_ratio is not None else 1.25,
        entry=entry,
        entry_at=at,
        entry_hole=hole,
        ramp_deg=pocket.ramp_deg if pocket.ramp_deg is not None else 3.0,
        relief=_relief(pocket),
        second_cutter=second,
        sneak=_sneak(pocket),
        clearance_z=clearance_z,
        least_wall=None if pocket.least_wall is None else float(pocket.least_wall),
        least_bottom=None if pocket.least_bottom is None else float(pocket.least_bottom),
        chain=_chain(job, pocket),
        sums=sums,
    )
    return request, setting, choice


def _relief(pocket: Pocket) -> ReliefWish | None:
    if pocket.relief is None:
        return None
    return ReliefWish(ReliefShape(pocket.relief.shape), pocket.relief.corners or None)


def _pocket_shape(
    job: Job, pocket: Pocket, facts: BodyFacts
) -> tuple[Outline, tuple[Outline, ...], float, tuple[ClearanceSum, ...]]:
    folder = job.source.folder
    islands = [outline_of(i, folder=folder) for i in pocket.islands]
    if pocket.clears is None:
        assert pocket.region is not None
        shaped = shape_of(pocket.region, folder=folder)
        if pocket.drawing_islands:
            islands += shaped.islands
        depth = facts.thickness if pocket.through else float(pocket.depth or 0)
        return shaped.outline, tuple(islands), depth, ()
    thing = pocket.clears
    cleared = Cleared(
        name=pocket.name,
        height=float(thing.height),
        position_doubt=float(thing.within),
        height_doubt=float(thing.height_within if thing.height_within is not None else thing.within),
        float_sides=float(thing.float_),
        float_below=float(thing.float_below if thing.float_below is not None else thing.float_),
    )
    grown = _grown(outline_of(thing, folder=folder), cleared.side_sum.total, pocket.name)
    return grown, tuple(islands), cleared.depth_sum.total, (cleared.side_sum, cleared.depth_sum)


def _grown(outline: Outline, by: float, name: str) -> Outline:
    """Return an outline grown by a clearance: lines and arcs beside it, exact."""
    if by == 0:
        return outline
    pieces = offset_line(outline.counterclockwise().curves, -by, closed=True)
    if len(pieces) != 1:
        raise InputError(f'pocket "{name}": the outline that it clears cannot be grown by {by:.3f} mm in one piece')
    return Outline(tuple(pieces[0]))
