"""What is done at every hole of a pattern: sizes, depths and steps, before tools have numbers."""

from __future__ import annotations

from fractions import Fraction

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_hole import HoleWork
from holecam.layout.spacing_sites import Bore, Head, HoleProfile, ZRange
from holecam.lengths import Unit, length_text
from holecam.plan.facts import Figure
from holecam.plan.holes import StepKind
from holecam.plan.motions import ToolKind
from holecam.planning.hole_depths import HoleDepth, deep_hole_findings, hole_depth
from holecam.planning.hole_drafts import DrilledBore, HoleRecipe, StepDraft, ToolDraft
from holecam.planning.hole_refusals import (
    owned_tap_findings,
    refuse_deep_sinks,
    refuse_thread_taken,
    room_findings,
    tap_findings,
)
from holecam.planning.job_limits import limits_for
from holecam.planning.recess_sizes import cone_size, counterbore_size, spanner_findings, thread_taken, tool_size
from holecam.planning.surroundings import BodyFacts
from holecam.standards.blind_holes import point_length
from holecam.standards.clearance_holes import clearance_hole
from holecam.standards.drill_names import parse_drill
from holecam.standards.drills import Drill, largest_at_most
from holecam.standards.materials import Material, material
from holecam.standards.screw_heads import SUNK_HEADS, head_kind, screw_head
from holecam.standards.tap_drills import choose_tap_drill, stated_drill_notes
from holecam.standards.thread_names import parse_thread
from holecam.standards.thread_percent import stated_target
from holecam.standards.threads import Thread, thread_percent

PILOT_FROM = 9.5
"""mm (3/8 in). From here a pilot spares the spindle of a small mill the chisel edge; common practice."""

PILOT_SHARE = 0.3
"""Pilot over drill diameter: a little more than the web of a twist drill; common practice."""

SPOT_SHARE = 0.8
"""Mouth of the spot over the diameter of the first drill: the drill's lips then meet the cone; common practice."""

REAM_ALLOWANCE = 0.1
"""mm. The least that a reamer needs to cut instead of rub; common practice 0.1 to 0.3 mm up to 13 mm."""

DEEP_HOLE_DIAMETERS = 3.0
"""Deeper than this many diameters the chips are cleared by pecking; common practice."""

PECK_DIAMETERS = 1.0
"""Depth of one peck in diameters; common practice."""


def _thickness(work: HoleWork, facts: BodyFacts, face_z: float, about: str, unit: Unit) -> float:
    """Return the thickness at the holes, mm: as stated, else from the face that is drilled to the far face.

    A face in a recess has less under it than the body is thick. A depth that is reckoned from the far face, such as a
    bottom that has to stay, would come out through it.
    """
    if work.thickness is not None:
        return float(work.thickness)
    far = facts.top_z - facts.thickness
    left = face_z - far
    if left <= 0:
        raise InputError(
            f"{about}: its face at Z {length_text(face_z, unit, signed=True)} lies under the far face, at Z "
            f"{length_text(far, unit, signed=True)}. Correct face_z, or give the thickness at these holes.",
            key="face_z",
        )
    return left


def hole_recipe(job: Job, work: HoleWork, name: str, facts: BodyFacts, *, floor_depth: float | None) -> HoleRecipe:
    """Return what is done at every hole of a pattern.

    Parameters
    ----------
    job : Job
    work : HoleWork
        The pattern's work.
    name : str
        Name of the pattern, for messages.
    facts : BodyFacts
        The body that is drilled.
    floor_depth : float or None
        Depth, mm below the face, that no drill point may pass: the hard floor of a protected sheet.

    Raises
    ------
    InputError
        A size that cannot be made with the drills owned, or a depth that does not go together.
    """
    stuff = material(work.material) if work.material is not None else facts.material
    face_z = float(work.face_z) if work.face_z is not None else facts.top_z
    about = f'"{name}"'
    try:
        thickness = _thickness(work, facts, face_z, about, job.unit)
        owned = job.owned_drills
        bore = _bore(job, work, about, stuff, thickness, owned)

        def deep(drill: Drill) -> HoleDepth:
            return hole_depth(
                work,
                about=about,
                drill=drill,
                thread=bore.thread,
                thickness=thickness,
                point_deg=job.tools.drill_point_deg,
                floor_depth=floor_depth,
                limits=limits_for(job, name, facts),
                unit=job.unit,
            )

        depth = deep(bore.drill)
        if bore.thread is not None and not depth.through and depth.thread is not None and depth.thread < thickness:
            # What holds the screw is the thread that is left in the hole, not the stock beside it
            bore = _bore(job, work, about, stuff, depth.thread, owned)
            depth = deep(bore.drill)
        steps = [*_opening_steps(job, work, bore, depth, owned), *_finishing_steps(job, work, bore, depth)]
        refuse_deep_sinks(steps, bore, depth, thickness, job.unit)
        refuse_thread_taken(work, bore, depth, job.unit)
    except InputError as error:
        raise InputError(f"pattern {about}: {error.message}", key=error.key, value=error.value) from error
    return HoleRecipe(
        purpose=bore.purpose,
        thread=bore.thread,
        screw=bore.screw,
        finished_diameter=bore.finished,
        face_z=face_z,
        thickness=thickness,
        material=stuff,
        steps=tuple(steps),
        profile=_profile(work, bore, depth, steps, face_z),
        depth=depth,
        figures=(*bore.figures, *depth.figures),
        findings=depth.findings
        + tap_findings(bore, about)
        + owned_tap_findings(job, work, bore, depth, about)
        + room_findings(job, depth, thickness, about)
        + spanner_findings(work, bore.screw, _recess(steps), about, job.unit)
        + deep_hole_findings(about, bore.drill, depth.tip, job.unit),
    )


def _bore(
    job: Job, work: HoleWork, about: str, stuff: Material, thickness: float, owned: tuple[Drill, ...]
) -> DrilledBore:
    if work.thread is not None:
        return _tapped(job, work, about, stuff, thickness, owned)
    if work.clearance_for is not None:
        screw = parse_thread(work.clearance_for)
        hole = clearance_hole(screw, work.fit or "normal", drills=owned)
        figure = Figure(
            about,
            "clearance hole",
            _drill_text(hole.drill, job.unit),
            f"{hole.fit} for {screw.name}: {length_text(hole.wanted, job.unit)} or the next larger drill owned",
            hole.source,
        )
        purpose = f"clearance for {screw.name}, {hole.fit}"
        return DrilledBore(hole.drill, purpose, None, screw, hole.diameter, StepKind.DRILL, None, (figure,))
    if work.ream is not None:
        size = float(work.ream)
        drill = largest_at_most(work.ream - _exact(REAM_ALLOWANCE), owned)
        if drill is None:
            raise InputError(f"ream to {length_text(size, job.unit)}: no drill owned is small enough")
        figure = Figure(
            about,
            "drill before reaming",
            _drill_text(drill, job.unit),
            f"largest owned at least {length_text(REAM_ALLOWANCE, job.unit)} under {length_text(size, job.unit)}",
            "common practice",
        )
        purpose = f"reamed {length_text(size, job.unit)}"
        return DrilledBore(drill, purpose, None, None, size, StepKind.DRILL, None, (figure,))
    assert work.drill is not None
    drill = parse_drill(work.drill, unit=job.unit)
    figure = Figure(about, "drill", _drill_text(drill, job.unit), "as the job says", "job file")
    return DrilledBore(drill, f"drilled {drill.label}", None, None, drill.diameter, StepKind.DRILL, None, (figure,))


def _exact(value: float) -> Fraction:
    return Fraction(repr(value))


def _tapped(
    job: Job, work: HoleWork, about: str, stuff: Material, thickness: float, owned: tuple[Drill, ...]
) -> DrilledBore:
    thread = parse_thread(work.thread or "")
    tap = work.tap
    engagement = thickness
    if work.depth is not None and work.depth.full_thread is not None:
        engagement = float(work.depth.full_thread)
    left = engagement - thread_taken(work, thread)
    engagement = left if left > 0 else engagement  # none left is refused once the depths are known
    formed = tap is not None and tap.method == "form"
    purpose = f"tapped {thread.name}"
    if tap is not None and tap.drill is not None:
        drill = parse_drill(tap.drill, unit=job.unit)
        percent = thread_percent(thread, drill.diameter, formed=formed)
        figure = Figure(
            about, "tap drill", _drill_text(drill, job.unit), f"as the job says: {percent:.0f} % of thread", "job file"
        )
        notes = stated_drill_notes(thread, drill.diameter, material=stuff, engagement=engagement, formed=formed)
        return DrilledBore(drill, purpose, thread, thread, thread.major, StepKind.TAP_DRILL, None, (figure,), notes)
    target = stated_target(tap.percent) if tap is not None and tap.percent is not None else None
    advice = choose_tap_drill(thread, drills=owned, target=target, material=stuff, engagement=engagement, formed=formed)
    best = advice.recommended
    figure = Figure(
        about,
        "tap drill",
        _drill_text(best.drill, job.unit),
        f"{best.percent:.0f} % of {thread.name}; wanted {advice.target.percent:.0f} % ({advice.target.why}); "
        f"{advice.reason}",
        advice.target.source,
    )
    return DrilledBore(
        best.drill, purpose, thread, thread, thread.major, StepKind.TAP_DRILL, advice, (figure,), advice.notes
    )


def _drill_text(drill: Drill, unit: Unit) -> str:
    return f"{drill.label}, {length_text(drill.exact_diameter, unit)}"


def twist_drill(drill: Drill, point_deg: float) -> ToolDraft:
    """Return a twist drill as a tool of the plan."""
    return ToolDraft(f"{drill.label} drill", ToolKind.TWIST_DRILL, drill.diameter, point_deg)


def _opening_steps(
    job: Job, work: HoleWork, bore: DrilledBore, depth: HoleDepth, owned: tuple[Drill, ...]
) -> list[StepDraft]:
    """Return spot, pilot and drill."""
    steps: list[StepDraft] = []
    point = job.tools.drill_point_deg
    pilot = _pilot(job, work, bore, owned)
    first = pilot if pilot is not None else bore.drill
    if work.spot:
        mouth = SPOT_SHARE * first.diameter
        tip = point_length(mouth, point_deg=job.tools.spot_deg)
        spot = ToolDraft("spot drill", ToolKind.SPOT_DRILL, 0.0, job.tools.spot_deg)
        steps.append(StepDraft(StepKind.SPOT, spot, mouth, 0.0, tip, through=False))
    if pilot is not None:
        tip = depth.cylinder + point_length(pilot.diameter, point_deg=point)
        tip = min(tip, depth.tip) if not depth.through else tip
        steps.append(
            StepDraft(
                StepKind.PILOT,
                twist_drill(pilot, point),
                pilot.diameter,
                tip - point_length(pilot.diameter, point_deg=point),
                tip,
                depth.through,
                _peck(pilot.diameter, tip),
            )
        )
    steps.append(
        StepDraft(
            bore.kind,
            twist_drill(bore.drill, point),
            bore.drill.diameter,
            depth.cylinder,
            depth.tip,
            depth.through,
            _peck(bore.drill.diameter, depth.tip),
        )
    )
    return steps


def _peck(diameter: float, tip_depth: float) -> float | None:
    return PECK_DIAMETERS * diameter if tip_depth > DEEP_HOLE_DIAMETERS * diameter else None


def _pilot(job: Job, work: HoleWork, bore: DrilledBore, owned: tuple[Drill, ...]) -> Drill | None:
    if work.pilot is not None:
        if work.pilot.strip().lower() == "none":
            return None
        stated = parse_drill(work.pilot, unit=job.unit)
        if not stated.diameter < bore.drill.diameter:
            raise InputError(
                f"pilot {_drill_text(stated, job.unit)}: expected a drill smaller than the hole's, "
                f"{_drill_text(bore.drill, job.unit)}"
            )
        return stated
    if bore.drill.diameter < PILOT_FROM:
        return None
    return largest_at_most(bore.drill.exact_diameter * _exact(PILOT_SHARE), owned)


def _finishing_steps(job: Job, work: HoleWork, bore: DrilledBore, depth: HoleDepth) -> list[StepDraft]:
    """Return ream, counterbore, countersink, tap and deburr."""
    steps: list[StepDraft] = []
    unit = job.unit
    if work.ream is not None:
        size = bore.finished
        tool = ToolDraft(f"{length_text(size, unit)} reamer", ToolKind.REAMER, size)
        steps.append(StepDraft(StepKind.REAM, tool, size, depth.cylinder, depth.cylinder, depth.through))
    if work.counterbore is not None:
        steps.append(_counterbore_step(work, bore, unit))
    if work.countersink is not None:
        steps.append(_countersink_step(work, bore, unit))
    if bore.thread is not None:
        steps.append(_tap_step(job, work, bore.thread, depth))
    if work.deburr:
        sides = "both sides" if depth.through else "the mouth"
        steps.append(
            StepDraft(
                StepKind.DEBURR, None, bore.finished, 0.0, 0.0, False, by_hand=True, note=f"break the edge, {sides}"
            )
        )
    return steps


def _recess(steps: list[StepDraft]) -> float | None:
    return next((step.diameter for step in steps if step.kind is StepKind.COUNTERBORE), None)


def _counterbore_step(work: HoleWork, bore: DrilledBore, unit: Unit) -> StepDraft:
    diameter, deep = counterbore_size(work, bore.screw)
    assert work.counterbore is not None
    if work.counterbore.diameter is None and work.counterbore.head != "socket":  # no table: a tool that there is
        diameter = tool_size(diameter, unit)
    tool = ToolDraft(f"{length_text(diameter, unit)} counterbore", ToolKind.COUNTERBORE, diameter)
    return StepDraft(StepKind.COUNTERBORE, tool, diameter, deep, deep, through=False)


def _countersink_step(work: HoleWork, bore: DrilledBore, unit: Unit) -> StepDraft:
    diameter, angle = cone_size(work, bore.screw)
    if not diameter > bore.drill.diameter:
        raise InputError(
            f"countersink {length_text(diameter, unit)}: expected more than the hole, "
            f"{length_text(bore.drill.diameter, unit)}"
        )
    cone_depth = point_length(diameter, point_deg=angle) - point_length(bore.drill.diameter, point_deg=angle)
    tool = ToolDraft(f"{angle:g} degree countersink", ToolKind.COUNTERSINK, diameter, angle)
    return StepDraft(
        StepKind.COUNTERSINK, tool, diameter, cone_depth, point_length(diameter, point_deg=angle), through=False
    )


def _tap_step(job: Job, work: HoleWork, thread: Thread, depth: HoleDepth) -> StepDraft:
    assert depth.thread is not None
    wanted = work.tap.by if work.tap is not None else None
    by_hand = wanted == "hand" or not job.machine.rigid_tapping
    forming = "forming " if work.tap is not None and work.tap.method == "form" else ""
    tool = ToolDraft(f"{thread.name} {forming}{depth.tap_kind} tap", ToolKind.TAP, thread.major, pitch=thread.pitch)
    note = f"full thread {length_text(depth.thread, job.unit)} deep" if not depth.through else "right through"
    return StepDraft(
        StepKind.TAP, tool, thread.major, depth.thread, depth.tap_tip, depth.through, by_hand=by_hand, note=note
    )


def _profile(work: HoleWork, bore: DrilledBore, depth: HoleDepth, steps: list[StepDraft], face_z: float) -> HoleProfile:
    heights = ZRange(bottom=face_z - depth.tip) if not depth.through else ZRange()
    what = "thread" if bore.thread is not None else "hole"
    bores = [Bore(bore.finished, heights, what)]
    heads: list[Head] = []
    sunk = 0.0
    for step in steps:
        if step.kind in (StepKind.COUNTERBORE, StepKind.COUNTERSINK):
            bores.append(Bore(step.diameter, ZRange(bottom=face_z - step.full_depth), step.kind.value))
            sunk = step.full_depth
    above = ZRange(bottom=face_z - sunk)
    diameter = float(work.head_diameter) if work.head_diameter is not None else None
    if diameter is None and work.head is not None and work.head != "none" and bore.screw is not None:
        kind = head_kind(work.head)
        # A sunk head fills its countersink, whose mouth counts as a bore; one in a tapped hole sits in the other part
        sunk_in = kind.name in SUNK_HEADS and (work.countersink is not None or bore.thread is not None)
        diameter = None if sunk_in else screw_head(bore.screw, kind.name).diameter
    if diameter is not None:
        heads.append(Head(diameter, above))
    if work.washer_diameter is not None:
        heads.append(Head(float(work.washer_diameter), above, "washer"))
    pitch = bore.thread.pitch if bore.thread is not None else None
    return HoleProfile(bore.finished, tuple(bores), tuple(heads), pitch)
