"""The order of the work: from a job to a plan. The same job always gives the same plan."""

from __future__ import annotations

from msgspec.structs import replace

from holecam.job.models import Job
from holecam.plan.facts import Figure, PartFacts, Surrounding
from holecam.plan.finding import Finding, Severity
from holecam.plan.holes import HoleStep, PlannedHole
from holecam.plan.limits import Stock
from holecam.plan.plan import Plan
from holecam.plan.reports import PlaceReport
from holecam.planning.backlash_of_passes import with_backlash_told
from holecam.planning.calliper_checks import calliper_checks
from holecam.planning.changes_of_work import datum_words, program_zero, with_set_ups
from holecam.planning.contradictions import contradictions
from holecam.planning.cut_operations import cut_work
from holecam.planning.decisions import AS_GIVEN, MIRRORED, Decisions, decide
from holecam.planning.error_places import errors_placed
from holecam.planning.hole_programs import ProgramFrame, hole_programs
from holecam.planning.machine_facts import dialect_of, machine_facts, readout_findings, travel_of
from holecam.planning.mates import report_for
from holecam.planning.milled_cuts import planned_cuts
from holecam.planning.numbered_holes import coordinate_figures, numbered_holes, standing_holes
from holecam.planning.operations import hole_operations
from holecam.planning.placed_patterns import PlacedWork
from holecam.planning.placed_sets import PlacedSets, place_all
from holecam.planning.plugging import plug_actions
from holecam.planning.settled_places import Settled
from holecam.planning.setup_findings import setup_findings
from holecam.planning.setups import TableFrame, table_frame
from holecam.planning.spindle_findings import spindle_findings
from holecam.planning.spot_findings import spot_findings
from holecam.planning.step_down_work import step_down_work
from holecam.planning.step_downs import drilling_floors
from holecam.planning.surroundings import BodyFacts, keep_outs_of
from holecam.planning.tool_list import tool_list
from holecam.planning.words_in_unit import errors_in
from holecam.planning.work_cautions import (
    DEFERRED,
    hole_tags,
    piece_tags,
    program_cautions,
    service_findings,
    service_tags,
    work_cautions,
    work_tags,
)
from holecam.planning.workpieces import (
    RecipeKey,
    Recipes,
    bodies_of,
    old_holes_by_set,
    recipes_by_body,
    recipes_of,
)
from holecam.shapes import Circle, Outline, Placement, circle_outline


def make_plans(job: Job) -> tuple[Plan, ...]:
    """Return the plan of the part as given and, where the job asks for it, that of its mirrored twin.

    Raises
    ------
    InputError
        The job cannot be planned as it is written; the message says where and what to change.
    """
    with errors_placed(job.source), errors_in(job.unit):
        decisions = decide(job)
        plans = [_plan(job, AS_GIVEN, decisions)]
        if job.other_hand is not None:
            plans.append(_plan(job, MIRRORED[job.other_hand.flip], decisions))
    return tuple(plans)


def make_plan(job: Job) -> Plan:
    """Return the plan of the part as given."""
    return make_plans(job)[0]


def _plan(job: Job, hand: Placement, decisions: Decisions) -> Plan:
    table = _table(job, hand)
    machine = machine_facts(job)
    sets = place_all(job, decisions.shifts, hand=hand, moved=decisions.settled.moved)
    bodies = bodies_of(job, hand)
    recipes = recipes_of(job, sets, bodies, decisions.floors).with_single(decisions.single)
    keyed = list(recipes.items())
    tools = tool_list(job, [r for _, r in keyed], [name for (name, _), _ in keyed])
    steps: dict[RecipeKey, tuple[HoleStep, ...]] = dict(zip((k for k, _ in keyed), tools.steps, strict=True))
    holes = numbered_holes(job, sets, recipes, steps, table.machine_from_part)
    old = old_holes_by_set(job, sets, bodies)
    service = service_findings(job, [h.number for h in holes])
    findings = [
        *(decisions.twin_found if hand.mirror else decisions.found),
        *(f for (name, _), recipe in keyed for f in _for_holes(recipe.findings, name, holes)),
        *tools.findings,
        *service,
        *readout_findings(job),
        *contradictions(job, sets, old, bodies),
        *setup_findings(job, table, [h.number for h in holes if not h.body]),
    ]
    holes = withheld(holes, findings)
    plugged = frozenset(
        hole.label for holes_set in job.old_holes if holes_set.to_plug is not None for hole in old[holes_set.name]
    )
    standing = standing_holes([o for group in old.values() for o in group], plugged, table.machine_from_part)
    actions = [
        line
        for holes_set in job.old_holes
        if job.part.service not in DEFERRED
        for line in plug_actions(job, holes_set, bodies[holes_set.body], len(old[holes_set.name]))
    ]
    part = _part_facts(job, bodies[None], hand)
    datums = {"": part.datum, **{b.name: b.datum for b in job.bodies}}
    operations = hole_operations(
        holes,
        standing,
        tools.tools,
        machine,
        datum=part.datum,
        plug_words=actions,
        unit=job.unit,
        setup=table.setup,
        body_datums=datums,
    )
    cautions = work_cautions(work_tags(job, [r for _, r in keyed], has_programs=machine.kind == "cnc"))
    frame = ProgramFrame(
        title=_title_lines(job, part),
        zero=program_zero(table.setup, machine.readout, datum_words("", part.datum)),
        cautions=program_cautions(service_tags(job) | piece_tags(job.part)),
        stock=_stock(bodies[None], table.machine_from_part),
        travel=travel_of(job.machine),
        fastest_feed=float(job.machine.fastest_feed) if job.machine.fastest_feed is not None else None,
        extension=job.machine.program.extension,
        layout=job.machine.program.programs,
    )
    floors = drilling_floors(job, decisions.step_downs, _faces_over(job, sets, recipes), table.machine_from_part @ hand)
    body_frames = {
        b.name: replace(
            frame,
            zero=f"X0 Y0 is {datum_words(b.name, b.datum)}",
            cautions=program_cautions(service_tags(job) | piece_tags(b)),
            stock=_stock(bodies[b.name], Placement()),
        )
        for b in job.bodies
    }
    part_frame = replace(frame, hard_floors=floors)
    hole_cautions = {
        body: program_cautions(service_tags(job) | hole_tags(own))
        for body, own in recipes_by_body(job, sets, recipes).items()
    }
    named = hole_programs(
        operations,
        holes,
        tools.tools,
        machine,
        replace(part_frame, cautions=hole_cautions[""]),
        {name: replace(own, cautions=hole_cautions[name]) for name, own in body_frames.items()},
    )
    spindle = None if job.machine.spindle is None else (job.machine.spindle.slowest, job.machine.spindle.fastest)
    cuts = cut_work(
        job,
        planned_cuts(job, bodies, hand, machine.safe_height),
        first_operation=len(named.operations) + 1,
        first_tool=len(tools.tools) + 1,
        frame=frame,
        part_frame=table.machine_from_part,
        by_program=machine.kind == "cnc" and job.part.service not in DEFERRED,
        spindle=spindle,
        body_frames=body_frames,
        hole_tools=tools.tools,
    )
    findings += cuts.findings
    step_downs = step_down_work(
        job,
        decisions.step_downs,
        hand,
        table.machine_from_part,
        machine,
        frame,
        tools=(*tools.tools, *cuts.tools),
        operations=len(named.operations) + len(cuts.operations),
        service=service,
    )
    work = (
        *named.operations,
        *with_backlash_told((*cuts.operations, *step_downs.operations), job, machine),
    )
    findings += spindle_findings(job, work, step_downs.tools) + spot_findings(job, work)
    return Plan(
        title=job.title,
        unit=job.unit,
        fingerprint=job.source.fingerprint,
        part=part,
        machine=machine,
        setup=table.setup,
        holes=holes,
        standing_holes=standing,
        tools=step_downs.tools,
        operations=with_set_ups(work, datums, holes, table.setup, machine.readout),
        programs=(*named.programs, *cuts.programs, *step_downs.programs),
        cuts=cuts.reports,
        dialect=dialect_of(job),
        findings=tuple(dict.fromkeys((*findings, *step_downs.findings))),
        cautions=cautions,
        checks=tuple(
            check
            for name, facts in bodies.items()
            for check in calliper_checks([h for h in holes if h.body == (name or "")], facts.outline)
        ),
        figures=(*_figures(job, sets, recipes, holes, tools.figures), *step_downs.figures),
        places=tuple(_place_report(name, work, decisions.settled, hand) for name, work in sets.works.items()),
        markings=tuple(answer.report_for(hand) for answer in decisions.markings),
        step_downs=step_downs.reports,
        chains=tuple(answer.report for answer in decisions.chains),
        mates=tuple(report_for(answer, hand, job.unit) for answer in decisions.mates),
        revision=job.revision or "",
        date=job.date or "",
        notes=job.notes,
    )


def _faces_over(job: Job, sets: PlacedSets, recipes: Recipes) -> dict[str, float]:
    """Return, by step-down, the height of the highest face that is drilled over it."""
    faces: dict[str, float] = {}
    for (name, _), recipe in recipes.items():
        over = job.pattern(sets.pattern_of[name]).over
        if over is not None:
            faces[over] = max(recipe.face_z, faces.get(over, recipe.face_z))
    return faces


def _table(job: Job, hand: Placement) -> TableFrame:
    table = table_frame(job)
    if hand.mirror and table.setup.skewed:
        # The picks were made on the part as given; its twin has to be set up anew
        square = replace(table.setup, skewed=False, turn_deg=0.0, shift=(0.0, 0.0), words="square to the table")
        return TableFrame(Placement(), square)
    return table


def _for_holes(findings: tuple[Finding, ...], name: str, holes: tuple[PlannedHole, ...]) -> list[Finding]:
    numbers = tuple(h.number for h in holes if h.pattern == name)
    return [replace(f, holes=numbers) for f in findings]


def withheld(holes: tuple[PlannedHole, ...], findings: list[Finding]) -> tuple[PlannedHole, ...]:
    """Return the holes, those marked whose pattern has a stop: half a pattern in a wrong place helps nobody."""
    stopped = {n for f in findings if f.severity is Severity.STOP for n in f.holes}
    patterns = {h.pattern for h in holes if h.number in stopped}
    return tuple(replace(h, withheld=h.pattern in patterns) for h in holes)


def _part_facts(job: Job, facts: BodyFacts, hand: Placement) -> PartFacts:
    part = job.part
    surroundings = []
    for keep_out in keep_outs_of(job, None):
        shape = keep_out.shape
        if isinstance(shape, Circle):
            shape = circle_outline(shape)
        if isinstance(shape, Outline):
            surroundings.append(Surrounding(keep_out.name, keep_out.kind, hand.apply_outline(shape).curves))
        else:
            surroundings.append(Surrounding(keep_out.name, keep_out.kind, tuple(hand.apply_curve(c) for c in shape)))
    other = job.other_hand if hand.mirror else None
    return PartFacts(
        material=part.material,
        thickness=float(part.thickness),
        datum=(other.datum or f"mirror image of: {part.datum}") if other is not None else part.datum,
        hand=other.hand if other is not None else job.hand,
        face_up=part.face_up if other is None else f"mirror image of: {part.face_up}" if part.face_up else "",
        outline=facts.outline,
        openings=facts.openings,
        surroundings=tuple(surroundings),
    )


def _title_lines(job: Job, part: PartFacts) -> tuple[str, ...]:
    lines = [job.title]
    if job.revision or job.date:
        lines.append(" ".join(t for t in (f"revision {job.revision}" if job.revision else "", job.date or "") if t))
    if part.hand:
        lines.append(f"hand: {part.hand}")
    if job.source.fingerprint:
        lines.append(f"job {job.source.fingerprint[:16]}")
    return tuple(lines)


def _stock(facts: BodyFacts, table: Placement) -> Stock | None:
    if facts.outline is None:
        return None
    outline = table.apply_outline(facts.outline)
    return Stock(outline, facts.top_z, facts.top_z - facts.thickness)


def _figures(
    job: Job,
    sets: PlacedSets,
    recipes: Recipes,
    holes: tuple[PlannedHole, ...],
    tool_figures: tuple[Figure, ...],
) -> tuple[Figure, ...]:
    figures: list[Figure] = []
    for name, work in sets.works.items():
        figures.extend(coordinate_figures(name, work, [h for h in holes if h.pattern == name], job.unit))
    for _, recipe in recipes.items():
        figures.extend(recipe.figures)
    return (*figures, *tool_figures)


def _place_report(name: str, work: PlacedWork, settled: Settled, hand: Placement) -> PlaceReport:
    if name in settled.reports and not hand.mirror:
        return settled.reports[name]
    at = work.pattern.at(work.reference_hole)
    motion = work.pattern.part_from_pattern
    return PlaceReport(
        pattern=name,
        method=work.method,
        reference_hole=work.reference_hole,
        wanted=at,
        chosen=at,
        turn_deg=motion.turn_deg,
        mirrored=motion.mirror,
        words=work.words,
        misfit=work.misfit,
        residuals=work.residuals,
    )
