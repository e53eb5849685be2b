"""Come to every hole from the same side on both axes, so that a worn screw gives the same place every time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.few_reversals import best_one_sided, least_reversals
from holecam.lengths import Unit, length_text
from holecam.plan.work import Overshoot
from holecam.shapes import Point, distance

DEFAULT_BACK_OFF = 1.27
"""mm. A quarter turn of a screw of 5 mm or 0.2 in a turn, for a machine whose lead is not stated; common practice."""

SAME_READING = 0.001
"""mm. Where two positions of an axis differ by less, its handle is not turned: the step of the finest readout."""


class Approach(Struct, frozen=True):
    """How to come to one hole.

    Parameters
    ----------
    index : int
        Of the point, from 0.
    at : Point
        Where the hole is, mm.
    turn_at : Point
        Where to go first: the hole itself, or past it on each axis that has to come back.
    overshoot : Overshoot
        Signed distances past the hole, mm, 0 where none is needed, and the words for the operator.
    """

    index: int
    at: Point
    turn_at: Point
    overshoot: Overshoot


class OneSidedOrder(Struct, frozen=True):
    """An order for a hand-driven table, every approach, and the way back to the first hole.

    ``reversals`` counts the axes that have to come back from an overshoot after the first hole, the closing move not
    included. ``least_reversals`` is proved: no order of these points needs fewer. ``travel`` is the whole way in mm,
    overshoots included.
    """

    steps: tuple[Approach, ...]
    closing: Approach
    reversals: int
    least_reversals: int
    travel: float

    @property
    def order(self) -> tuple[int, ...]:
        """The indices of the points, from 0, in their order."""
        return tuple(step.index for step in self.steps)


def back_off_distance(*, lead: float | None, backlash: float = 0.0) -> float:
    """Return how far to pass a position before coming back: a quarter turn, or twice the backlash if that is more, mm.

    Parameters
    ----------
    lead : float or None
        Travel of one turn of the handle, mm; without it :data:`DEFAULT_BACK_OFF` stands for the quarter turn.
    backlash : float
        Of the worse axis, mm.

    Examples
    --------
    >>> back_off_distance(lead=5.08, backlash=0.1), back_off_distance(lead=2.0, backlash=0.4)
    (1.27, 0.8)
    """
    if lead is not None and not (lead > 0.0 and math.isfinite(lead)):
        raise InputError(f"lead {lead} mm: expected above zero and finite")
    if not (backlash >= 0.0 and math.isfinite(backlash)):
        raise InputError(f"backlash {backlash} mm: expected 0 or more and finite")
    return max(DEFAULT_BACK_OFF if lead is None else lead / 4.0, 2.0 * backlash)


def approaches(
    points: Sequence[Point],
    order: Sequence[int],
    *,
    senses: tuple[int, int],
    back_off: float,
    start: Point | None = None,
    unit: Unit = "mm",
) -> tuple[Approach, ...]:
    """Return how to come to each hole of a given order.

    Without a start point nobody knows which way the screws were last turned, so the first hole is passed on both axes.

    Parameters
    ----------
    points : sequence of Point
        Hole centres in the frame of the readout, mm.
    order : sequence of int
        Indices from 0.
    senses : (int, int)
        +1 or -1 for X and Y: the sense in which every position is met.
    back_off : float
        See :func:`back_off_distance`, mm.
    start : Point, optional
        A position that was met in the right sense.
    unit : {"in", "mm"}
        For the words.
    """
    _check(points, senses, back_off)
    steps = []
    before = start
    for index in order:
        steps.append(_approach(index, points[index], before, senses, back_off, unit))
        before = points[index]
    return tuple(steps)


def one_sided_order(
    points: Sequence[Point],
    *,
    senses: tuple[int, int] = (1, 1),
    back_off: float = DEFAULT_BACK_OFF,
    start: Point | None = None,
    unit: Unit = "mm",
) -> OneSidedOrder:
    """Return an order that meets every hole in the same senses with few reversals of the handles, then little travel.

    Rows are run from one end only: running back along the next row would save travel and reverse the screw at every
    hole. Where plain rows or plain columns need no more reversals than any other order found, they are taken, because
    an operator can follow them. Up to ``MOST_EXACT`` holes no order has fewer reversals; beyond that the order is a
    good one, and ``least_reversals`` tells how good.

    Raises
    ------
    InputError
        No point, coordinates that are not finite, a sense other than +1 or -1, a back-off not above zero.
    """
    if not points:
        raise InputError("drilling order: expected at least one hole")
    _check(points, senses, back_off)
    order = best_one_sided(_counted(points, senses), points)
    steps = approaches(points, order, senses=senses, back_off=back_off, start=start, unit=unit)
    closing = _approach(order[0], points[order[0]], points[order[-1]], senses, back_off, unit)
    way = [start] if start is not None else []
    for step in steps:
        way += [step.turn_at, step.at]
    return OneSidedOrder(
        steps=steps,
        closing=closing,
        reversals=sum((s.overshoot.x != 0.0) + (s.overshoot.y != 0.0) for s in steps[1:]),
        least_reversals=least_reversals(_counted(points, senses)),
        travel=math.fsum(distance(a, b) for a, b in pairwise(way)),
    )


def _check(points: Sequence[Point], senses: tuple[int, int], back_off: float) -> None:
    if not all(math.isfinite(v) for p in points for v in p):
        raise InputError("drilling order: expected finite coordinates")
    if any(s not in (1, -1) for s in senses):
        raise InputError(f"approach senses {senses}: expected +1 or -1 for each axis")
    if not (back_off > 0.0 and math.isfinite(back_off)):
        raise InputError(f"back-off {back_off} mm: expected above zero and finite")


def _counted(points: Sequence[Point], senses: tuple[int, int]) -> list[tuple[int, int]]:
    """Return the positions in steps of the finest readout, both axes counted in the sense of approach."""
    return [(_count(x, senses[0]), _count(y, senses[1])) for x, y in points]


def _count(value: float, sense: int) -> int:
    return sense * round(value / SAME_READING)


def _approach(
    index: int, at: Point, before: Point | None, senses: tuple[int, int], back_off: float, unit: Unit
) -> Approach:
    past = [0.0, 0.0]
    words = []
    for axis, name in enumerate("XY"):
        if before is not None and _count(at[axis], senses[axis]) >= _count(before[axis], senses[axis]):
            continue
        past[axis] = -senses[axis] * back_off
        far, near = ("-", "+") if senses[axis] > 0 else ("+", "-")
        words.append(f"{name}: go {length_text(back_off, unit)} past it toward {far}{name}, come back in {near}{name}")
    overshoot = Overshoot(past[0], past[1], "; ".join(words))
    return Approach(index, at, (at[0] + past[0], at[1] + past[1]), overshoot)
