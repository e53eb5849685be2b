"""The table of looks: what each answer at each stop would allow next."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from holecam.cuts.layer_stack import LayerStack, TouchedStack
from holecam.cuts.step_down_answers import Answer
from holecam.cuts.step_down_belief import SeenFaces
from holecam.cuts.step_down_chance import Faces
from holecam.cuts.step_down_floor import FloorRule
from holecam.errors import InputError

LEAST_CHANCE = 1e-5
"""An answer less likely than this says that the stack is not as stated: it gets no next floor, and stops the work."""


class LookOutcome(Struct, frozen=True):
    """What one answer at a stop leads to.

    Parameters
    ----------
    answer : Answer
    chance : float
        How likely this answer is at this stop, 0 to 1, given the answers before it.
    hard_floor : float
        Height that may never be passed after it, mm.
    next_floor_count : int
        Planned floor after it, in steps of the readout; never above the height of the look.
    next_floor : float
        The same, mm.
    ends_here : bool
        No lower pass follows.
    """

    answer: Answer
    chance: float
    hard_floor: float
    next_floor_count: int
    next_floor: float
    ends_here: bool


class LookRow(Struct, frozen=True):
    """One stop: its height, and what follows from either answer; ``None`` for an answer that can hardly come.

    ``number`` is that of the pass after which one looks.
    """

    number: int
    count: int
    z: float
    still_bar: LookOutcome | None
    layer_showing: LookOutcome | None


def bar_above(stack: LayerStack) -> str:
    """Return the name of the layer that is still there as long as nothing of the bond or the sheet shows."""
    below = stack.substrate_index if stack.bond_index is None else stack.bond_index
    return stack.layers[below - 1].name


def look_table(
    touched: TouchedStack,
    prior: Faces,
    floor: FloorRule,
    stops: Sequence[tuple[int, int]],
    answers: Sequence[Answer] = (),
) -> tuple[LookRow, ...]:
    """Return a row for each stop.

    Parameters
    ----------
    stops : sequence of (pass number, height in steps of the readout)
        From the top down.
    answers : sequence of Answer
        Those given so far.

    To reach a stop, "still bar" was the answer at the one before, unless the layer had shown already; each row builds
    on that.
    """
    stack = touched.stack
    bar = bar_above(stack)
    bond = None if stack.bond is None else stack.bond.name
    shown = bond is not None and any(stack.index_of(a.layer) == stack.bond_index for a in answers)
    rows = []
    so_far = tuple(answers)
    for number, count in stops:
        z = float(count * floor.resolution)
        still = None if shown else Answer(bar, z)
        layer = None if bond is None else Answer(bond, z)
        rows.append(
            LookRow(
                number,
                count,
                z,
                _outcome(touched, prior, floor, so_far, still, count),
                _outcome(touched, prior, floor, so_far, layer, count),
            )
        )
        going_on = layer if shown else still
        if going_on is not None:
            so_far = (*answers, going_on)
    return tuple(rows)


def _outcome(
    touched: TouchedStack,
    prior: Faces,
    floor: FloorRule,
    before: tuple[Answer, ...],
    answer: Answer | None,
    count: int,
) -> LookOutcome | None:
    if answer is None:
        return None
    try:
        earlier = SeenFaces.after(touched, prior, before).chance_of_answers()
        belief = SeenFaces.after(touched, prior, (*before, answer))
        chance = belief.chance_of_answers() / earlier if earlier > 0 else 0.0
        if chance < LEAST_CHANCE:
            return None
        hard, lower = belief.hard_floor(), floor.count(belief)
    except InputError:  # an answer that contradicts those given cannot come
        return None
    following = min(lower, count)
    return LookOutcome(
        answer, min(chance, 1.0), hard, following, float(following * floor.resolution), following == count
    )
