"""The heights of a step-down: hard floor, planned floor, every pass with its risk, where to stop and look."""

from __future__ import annotations

import math
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.layer_estimates import DoubtRule
from holecam.cuts.layer_stack import TouchedStack
from holecam.cuts.step_down_answers import Answer, sheet_seen
from holecam.cuts.step_down_belief import SeenFaces
from holecam.cuts.step_down_chance import Belief, Faces, LayerWindow, layer_window
from holecam.cuts.step_down_floor import FloorAim, FloorRule
from holecam.cuts.step_down_looks import LEAST_CHANCE, LookRow, look_table
from holecam.cuts.step_down_passes import PassRule, count_at_or_above, lowest_written, reading_z, step_counts
from holecam.errors import InputError
from holecam.lengths import exact

SURENESS = 3.0
"""``k``: standard doubts between sheet and hard floor. Three leave a chance of 0.13 percent (practice, C5)."""

STOP_CHANCE = 0.001
"""Chance of contact from which every pass ends in a look: 0.1 percent."""

SHOWING_CHANCE = 0.1
"""Chance that the layer shows from which every pass ends in a look as well: one in ten."""


class HeightsRequest(Struct, frozen=True):
    """Everything that the heights follow from.

    Parameters
    ----------
    touched : TouchedStack
    passes : PassRule
    rule, sureness : DoubtRule, float
        What "sure" means: ``k`` standard doubts by root of squares, or the worst case.
    floor_margin, skin, aim : see :class:`FloorRule`
    stop_chance : float
        Chance of contact, 0 to 1, from which every pass is a stop.
    asked_floor : float or None
        A floor that the user wants instead, mm on the readout. Never clamped: below the hard floor it stops the plan.
    answers : tuple of Answer
        What was seen so far.
    """

    touched: TouchedStack
    passes: PassRule
    rule: DoubtRule = DoubtRule.ROOT_OF_SQUARES
    sureness: float = SURENESS
    floor_margin: float | None = None
    skin: float = 0.0
    aim: FloorAim = FloorAim.INTO_LAYER
    stop_chance: float = STOP_CHANCE
    asked_floor: float | None = None
    answers: tuple[Answer, ...] = ()

    def __post_init__(self) -> None:
        if not 0 < self.stop_chance < 1:
            raise InputError(f"chance for a stop {self.stop_chance}: expected between 0 and 1", key="stop_chance")
        if self.asked_floor is not None and not math.isfinite(self.asked_floor):
            raise InputError(f"floor {self.asked_floor} mm: expected a finite height", key="floor")

    @property
    def faces(self) -> Faces:
        """The faces that matter, before looking."""
        return Faces(self.touched.substrate_z, self.touched.layer_top_z, self.rule, self.sureness)

    @property
    def floor_rule(self) -> FloorRule:
        """How the floor is planned."""
        return FloorRule(self.touched.resolution, self.floor_margin, self.skin, self.aim)


class PassHeight(Struct, frozen=True):
    """One pass.

    ``count`` is the reading in steps of the readout and ``z`` the same in mm; ``step`` the metal taken below the pass
    before. The chances hold at this height, given the answers so far: of contact with the sheet, that the layer shows
    (or more), and that the height lies inside the layer. ``stop`` says that one looks after it.
    """

    number: int
    count: int
    z: float
    step_count: int
    step: float
    contact: float
    showing: float
    in_layer: float
    stop: bool


class StepDownHeights(Struct, frozen=True):
    """The heights, with what they rest on. mm on the readout, up is positive.

    Parameters
    ----------
    request : HeightsRequest
    belief : Faces or SeenFaces
        What is believed now, after the answers.
    hard_floor : float
        Not rounded. No program may pass it.
    floor_count, floor : int, float
        Planned floor, in steps of the readout and mm.
    start_count, start : int, float
        Where the cutter starts: the top of the stack, or the height of the lowest answer.
    passes : tuple of PassHeight
        Empty when the floor is not below the start, or the asked floor lies below the hard floor.
    looks : tuple of LookRow
    sheet_answer : Answer or None
        The answer that says that the sheet is bare.
    answers_chance : float
        How likely all answers together were; 1 without any.
    """

    request: HeightsRequest
    belief: Faces | SeenFaces
    hard_floor: float
    floor_count: int
    floor: float
    start_count: int
    start: float
    passes: tuple[PassHeight, ...]
    looks: tuple[LookRow, ...] = ()
    sheet_answer: Answer | None = None
    answers_chance: float = 1.0

    @property
    def faces(self) -> Faces:
        """The faces before looking."""
        return self.request.faces

    @property
    def resolution(self) -> Fraction:
        """One step of the readout, exact mm."""
        return self.request.touched.resolution

    @property
    def window(self) -> LayerWindow | None:
        """Heights inside the bonding layer, before looking; ``None`` without such a layer."""
        return None if self.request.touched.stack.bond is None else layer_window(self.faces)

    @property
    def below_hard_floor(self) -> bool:
        """Whether the floor that was asked for lies below the hard floor."""
        return lowest_written(self.floor_count, self.resolution) < exact(self.hard_floor)

    @property
    def stops(self) -> tuple[PassHeight, ...]:
        """The passes after which one looks."""
        return tuple(p for p in self.passes if p.stop)

    @property
    def sheet_standard(self) -> float:
        """Standard doubt of the sheet's height as believed now, mm; after answers, from the hard floor they leave."""
        if isinstance(self.belief, Faces) or self.request.rule is DoubtRule.WORST_CASE:
            return self.faces.substrate.standard
        return max(0.0, self.hard_floor - self.belief.likeliest()) / self.request.sureness

    @property
    def sheet_gap(self) -> float:
        """Gap planned between floor and sheet, by the sheet's best value, mm."""
        return self.floor - self.belief.likeliest()


def plan_heights(request: HeightsRequest, *, with_looks: bool = True) -> StepDownHeights:
    """Return the heights of a step-down.

    ``with_looks`` False leaves the table of looks out (it costs most of the time).

    Raises
    ------
    InputError
        Sizes that make no stack, answers that contradict each other or cannot be.
    """
    faces, touched = request.faces, request.touched
    bare = sheet_seen(touched, request.answers)
    seen = SeenFaces.after(touched, faces, request.answers) if request.answers and bare is None else None
    belief: Faces | SeenFaces = faces if seen is None else seen
    answers_chance = 1.0 if seen is None else seen.chance_of_answers()
    hard, resolution = belief.hard_floor(), touched.resolution
    if request.asked_floor is None:
        floor = request.floor_rule.count(belief)
    else:
        floor = count_at_or_above(request.asked_floor, resolution)
    start = count_at_or_above(min([touched.faces[0].value, *(a.z for a in request.answers)]), resolution)
    plan = StepDownHeights(
        request=request,
        belief=belief,
        hard_floor=hard,
        floor_count=floor,
        floor=reading_z(floor, resolution),
        start_count=start,
        start=reading_z(start, resolution),
        passes=(),
        sheet_answer=bare,
        answers_chance=answers_chance,
    )
    if bare is not None or answers_chance < LEAST_CHANCE or floor >= start or plan.below_hard_floor:
        return plan
    passes = _passes(request, belief, start, floor)
    looks: tuple[LookRow, ...] = ()
    if with_looks:
        stops = [(p.number, p.count) for p in passes if p.stop]
        looks = look_table(touched, faces, request.floor_rule, stops, request.answers)
    return replace(plan, passes=passes, looks=looks)


def _passes(request: HeightsRequest, belief: Belief, start: int, floor: int) -> tuple[PassHeight, ...]:
    resolution = request.touched.resolution
    zone = _zone(belief, request.stop_chance, floor, start, resolution)
    steps = step_counts(start=start, floor=floor, rule=request.passes, resolution=resolution, fine_zone=zone)
    always = len(steps) - len(request.passes.last_steps)
    out: list[PassHeight] = []
    count, layered = start, request.touched.stack.bond is not None
    for number, step in enumerate(steps, 1):
        count -= step
        z = reading_z(count, resolution)
        contact, showing = belief.contact(z), belief.showing(z)
        stop = contact >= request.stop_chance or showing >= SHOWING_CHANCE or number > always
        out.append(
            PassHeight(
                number,
                count,
                z,
                step,
                reading_z(step, resolution),
                contact,
                showing,
                max(0.0, showing - contact) if layered else 0.0,
                stop,
            )
        )
    return tuple(out)


def _zone(belief: Belief, chance: float, floor: int, start: int, resolution: Fraction) -> int:
    """Return how many steps above the floor the chance of contact still reaches the limit: passes end there finely."""
    low, high = 0, start - floor
    while low < high:  # the chance falls with the height
        middle = (low + high) // 2
        if belief.contact(reading_z(floor + middle, resolution)) >= chance:
            low = middle + 1
        else:
            high = middle
    return low
