"""Will it bolt up? Joins each hole of a pattern with its hole in the mating part and asks the solver."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_mate import Mate, MateHoles, MeasuredMateHole, Slotted
from holecam.layout.assembly_chance import AssemblyChance, JointDoubt, chance_of_assembly
from holecam.layout.bolt_up import BoltUp, Joint, NoPlay, bolt_up
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import CountersunkHole, JointHole, RoundHole, SlottedHole, TappedHole
from holecam.layout.fastener_tolerance import fixed_tolerance, floating_tolerance
from holecam.layout.opening_up import OpeningUp, open_up
from holecam.layout.placing import PlacedPattern
from holecam.layout.reference_doubt import standard_doubt
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.hole_words import hole_words
from holecam.plan.holes import PlannedHole
from holecam.plan.reports import ChanceReport, MateReport, OpeningAdvice, ScrewFit
from holecam.planning.bolt_up_findings import AS_IT_IS, TIGHT_RATIO, bolt_up_findings, opening_text
from holecam.planning.hole_drafts import HoleRecipe
from holecam.planning.placed_patterns import place_pattern
from holecam.planning.placed_sets import PlacedSets
from holecam.planning.points import Known, pattern_points
from holecam.planning.workpieces import Recipes
from holecam.shapes import Placement, Point
from holecam.standards.clearance_holes import clearance_hole
from holecam.standards.thread_names import parse_thread

SUNK = ("flat",)
"""Heads that centre themselves in their countersink and leave no play on their side."""

MOST_FOR_OPENING = 60
"""Screws up to which ways of opening holes are searched; larger patterns take a fixture, not a file."""

WAYS_TOLD = 2
"""How many ways of opening are told of each kind."""


class MateAnswer(Struct, frozen=True):
    """Everything worked out about one mating part; ``fit`` says which screws have no play at all when it is that."""

    mate: Mate
    joints: tuple[Joint, ...]
    fit: BoltUp | NoPlay
    opening: OpeningUp | None
    chance: AssemblyChance | None
    report: MateReport
    in_pattern: dict[int, int]


def answer_mate(
    job: Job,
    mate: Mate,
    sets: PlacedSets,
    holes: Sequence[PlannedHole],
    recipes: Recipes,
    own_doubt: float,
    *,
    with_chance: bool = True,
) -> MateAnswer:
    """Return whether a pattern goes together with its mate, what to open if not, and the chance after drilling.

    The chance is a simulation and takes most of the time; ``with_chance=False`` leaves it out.

    Raises
    ------
    InputError
        The mate's holes do not correspond to the pattern's by number, or their figures give no pattern.
    """
    made = [h for h in holes if h.pattern == mate.pattern]
    recipe = recipes.by_pattern[mate.pattern]
    joints = tuple(
        _joint(job, mate, h, recipes.of(mate.pattern, h.number_in_pattern), place)
        for h, place in _pairs(job, mate, sets, made)
    )
    motion = Motion(Freedom.HELD if mate.located == "fixed" else Freedom.FREE)
    fit = bolt_up(joints, motion=motion)
    opening = _opening(job, mate, joints, motion, fit, recipe)
    chance = None
    reference = sets.works[mate.pattern].doubt
    if isinstance(fit, BoltUp) and with_chance:
        u_mate = standard_doubt(float(mate.holes_within)) if mate.holes_within is not None else 0.0
        doubts = [JointDoubt(own_doubt, u_mate)] * len(joints)
        held = reference if mate.located == "fixed" else None
        chance = chance_of_assembly(joints, doubts, reference=held, motion=motion)
    own = {h.number: h.number_in_pattern for h in made}
    return MateAnswer(mate, joints, fit, opening, chance, _report(job, mate, joints, fit, opening, chance, own), own)


def report_for(answer: MateAnswer, hand: Placement, unit: Unit) -> MateReport:
    """Return the report for one hand of the part: on the twin, part and mate are both the mirror image."""
    report = answer.report
    if not hand.mirror or not isinstance(answer.fit, BoltUp):
        return report
    advice = _advice(answer.mate, answer.opening, answer.in_pattern, unit, hand)
    return replace(report, turn_deg=-report.turn_deg, shift=hand.apply(report.shift), advice=advice)


def mate_findings(answer: MateAnswer, unit: Unit, hand: Placement = AS_IT_IS) -> tuple[Finding, ...]:
    """Return what there is to say about a mate, on the part as given or, with its ``hand``, on the twin."""
    return bolt_up_findings(
        answer.mate.name,
        answer.mate.pattern,
        answer.joints,
        answer.fit,
        opening=answer.opening,
        chance=answer.chance,
        unit=unit,
        in_pattern=answer.in_pattern,
        hand=hand,
    )


def play_findings(job: Job, answer: MateAnswer) -> tuple[Finding, ...]:
    """Return what falls short of the play that the job asks for; none when the screws do not enter at all."""
    found = []
    for limit in job.limits:
        if limit.of != "play" or limit.least is None or limit.pattern not in (None, answer.mate.pattern):
            continue
        least, left = float(limit.least), answer.report.play_left
        if not answer.report.goes_together or left >= least:
            continue
        found.append(
            Finding(
                "little-play",
                Severity(limit.severity),
                f'pattern "{answer.mate.pattern}" on mate "{answer.mate.name}"',
                f"Every screw enters, but only {length_text(left, job.unit)} of play is left; the job asks for "
                f"{length_text(least, job.unit)}.",
                measured=left,
                limit=least,
                source=f"job file: {limit.reason}",
                remedy="Take a freer class of hole, or move the pattern.",
                holes=tuple(j.number for j in answer.joints),
            )
        )
    return tuple(found)


def _pairs(
    job: Job, mate: Mate, sets: PlacedSets, made: Sequence[PlannedHole]
) -> list[tuple[PlannedHole, tuple[int, Point]]]:
    """Return each planned hole with the number and place of its hole in the mate's frame, measured where it was."""
    points = pattern_points(job, mate.holes, Known(sets.points, {}))
    others: dict[str, PlacedPattern] = {n: w.pattern for n, w in {**sets.works, **sets.old}.items()}
    placed = place_pattern(mate.holes, mate.holes.place, points, others, {}, job.unit).pattern
    measured = {m.hole: m for m in mate.measured}
    pairs = []
    for hole in made:
        number = hole.number_in_pattern
        if number not in points.numbers:
            raise InputError(
                f'mate "{mate.name}": hole {number} of "{mate.pattern}" has no hole to meet; the mate has '
                f"{len(points)} holes"
            )
        pairs.append((hole, (number, _where(measured.get(number), placed.at(number)))))
    return pairs


def _where(measured: MeasuredMateHole | None, drawn: Point) -> Point:
    if measured is None:
        return drawn
    if measured.at is not None:
        return (float(measured.at[0]), float(measured.at[1]))
    if measured.off is not None:
        return (drawn[0] + float(measured.off[0]), drawn[1] + float(measured.off[1]))
    return drawn


def _joint(job: Job, mate: Mate, hole: PlannedHole, recipe: HoleRecipe, place: tuple[int, Point]) -> Joint:
    number, at = place
    measured = next((m for m in mate.measured if m.hole == number), None)
    head = mate.head or job.pattern(_base(job, mate.pattern)).head
    sunk_in_part = recipe.thread is None and (
        head in SUNK or job.pattern(_base(job, mate.pattern)).countersink is not None
    )
    part: JointHole
    if recipe.thread is not None:
        part = TappedHole(mate.lean_deg)
    elif sunk_in_part:
        part = CountersunkHole()
    else:
        part = RoundHole(hole.finished_diameter)
    other = _mate_hole(job, mate.holes, measured, mate.lean_deg, sunk=recipe.thread is not None and head in SUNK)
    return Joint(
        number=hole.number,
        part_xy=hole.xy_part,
        mate_xy=at,
        part_hole=part,
        mate_hole=other,
        screw=_screw_diameter(mate, recipe),
        plate_thickness=_plate(mate, recipe),
    )


def _base(job: Job, name: str) -> str:
    """Return the pattern of the job that a work (a mirrored copy, perhaps) came from."""
    for pattern in job.patterns:
        copy = pattern.mirror_copy
        if pattern.name == name or (copy is not None and name == (copy.name or f"{pattern.name} mirrored")):
            return pattern.name
    raise InputError(f'mate: no pattern "{name}"')


def _mate_hole(
    job: Job, holes: MateHoles, measured: MeasuredMateHole | None, lean_deg: float, *, sunk: bool
) -> JointHole:
    if holes.thread is not None:
        return TappedHole(lean_deg)
    if sunk:
        return CountersunkHole()
    slotted: Slotted | None = holes.slotted
    if measured is not None and measured.slotted is not None:
        slotted = measured.slotted
    if measured is not None and measured.diameter is not None:
        diameter = float(measured.diameter)
    elif holes.diameter is not None:
        diameter = float(holes.diameter)
    else:
        screw = parse_thread(holes.clearance_for or "")
        diameter = clearance_hole(screw, holes.fit or "normal").diameter
    if slotted is not None:
        return SlottedHole(diameter, float(slotted.length), slotted.along)
    return RoundHole(diameter)


def _screw_diameter(mate: Mate, recipe: HoleRecipe) -> float:
    if mate.screw_diameter is not None:
        return float(mate.screw_diameter)
    if recipe.screw is not None:
        return recipe.screw.major
    if mate.holes.thread is not None:
        return parse_thread(mate.holes.thread).major
    if mate.holes.clearance_for is not None:
        return parse_thread(mate.holes.clearance_for).major
    raise InputError(f'mate "{mate.name}": expected screw_diameter; neither side names the screw')


def _plate(mate: Mate, recipe: HoleRecipe) -> float:
    if mate.thickness is not None:
        return float(mate.thickness)
    return recipe.thickness if recipe.thread is None else 0.0


def _opening(
    job: Job, mate: Mate, joints: tuple[Joint, ...], motion: Motion, fit: BoltUp | NoPlay, recipe: HoleRecipe
) -> OpeningUp | None:
    goes = isinstance(fit, BoltUp) and fit.goes_together
    if goes or not mate.may_open or not isinstance(fit, BoltUp) or len(joints) > MOST_FOR_OPENING:
        return None
    drills = [(d.label, d.diameter) for d in job.owned_drills]
    return open_up(joints, drills=drills, motion=motion, part_thickness=recipe.thickness, sensible_ratio=TIGHT_RATIO)


def _report(
    job: Job,
    mate: Mate,
    joints: tuple[Joint, ...],
    fit: BoltUp | NoPlay,
    opening: OpeningUp | None,
    chance: AssemblyChance | None,
    own: dict[int, int],
) -> MateReport:
    if isinstance(fit, NoPlay):
        screws = tuple(ScrewFit(n, p, 0.0, binds=True) for n, p in zip(fit.numbers, fit.plays, strict=True))
        return MateReport(
            mate=mate.name,
            pattern=mate.pattern,
            goes_together=False,
            ratio=None,
            bound=None,
            play_left=min(fit.plays),
            turn_deg=0.0,
            shift=(0.0, 0.0),
            screws=screws,
            certificate=("these screws do not enter their own two holes wherever the part lies",),
        )
    placement = fit.placement
    weights = ", ".join(
        f"{hole_words(n, mate.pattern, own[n])}: {w:.4f}"
        for n, w in zip(fit.certificate.numbers, fit.certificate.weights, strict=True)
    )
    proved = "proved" if fit.certificate.proved else "the best found, not proved"
    return MateReport(
        mate=mate.name,
        pattern=mate.pattern,
        goes_together=fit.goes_together,
        ratio=fit.ratio,
        bound=fit.certificate.lower,
        play_left=fit.play_left,
        turn_deg=placement.turn_deg,
        shift=placement.apply((0.0, 0.0)),
        screws=tuple(ScrewFit(s.number, s.play, s.distance, binds=s.number in fit.binding) for s in fit.screws),
        certificate=(
            f"no motion of the part does better than {fit.certificate.lower:.6f} of the play ({proved})",
            f"the screws that hold it there, with their multipliers: {weights}",
        ),
        advice=_advice(mate, opening, own, job.unit),
        tolerance_per_hole=_tolerance(joints),
        chance=_chance_report(chance),
    )


def _tolerance(joints: tuple[Joint, ...]) -> float | None:
    """Return the position tolerance that each hole may use: T = H - F floating, (H - F) / 2 with one side tapped."""
    zones = []
    for joint in joints:
        hole = joint.part_hole if isinstance(joint.part_hole, RoundHole) else joint.mate_hole
        if not isinstance(hole, RoundHole) or hole.diameter <= joint.screw:
            continue
        tapped = isinstance(joint.part_hole, TappedHole) or isinstance(joint.mate_hole, TappedHole)
        formula = fixed_tolerance if tapped else floating_tolerance
        zones.append(formula(hole.diameter, joint.screw))
    return min(zones, default=None)


def _advice(
    mate: Mate, opening: OpeningUp | None, own: dict[int, int], unit: Unit, hand: Placement = AS_IT_IS
) -> tuple[OpeningAdvice, ...]:
    if opening is None:
        return ()
    ways = [*opening.drilled[:WAYS_TOLD], *opening.slotted[:WAYS_TOLD]]
    if opening.all_drilled is not None:
        ways.append(opening.all_drilled)
    return tuple(
        OpeningAdvice(
            holes=way.numbers,
            words=opening_text(way, mate.pattern, mate.name, own, unit, hand),
            ratio_after=way.proof.ratio,
        )
        for way in ways
    )


def _chance_report(chance: AssemblyChance | None) -> ChanceReport | None:
    if chance is None:
        return None
    total = chance.total
    words = "with the doubt of drilling each hole"
    if chance.reference_alone is not None:
        words += f"; the reference alone {chance.reference_alone.chance:.3f}"
    return ChanceReport(total.chance, total.low, total.high, total.trials, chance.seed, words)
