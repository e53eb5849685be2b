"""Draw what several papers of one plan show only once."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from holecam.plan.plan import Plan

Drawn = TypeVar("Drawn")


def drawn_once(draw: Callable[[Plan], Drawn]) -> Callable[[Plan], Drawn]:
    """Keep the answer for the plan that was asked for last: the run sheet, the paper sheet and the files show the same.

    A plan is told by being the very same value, not an equal one: comparing two plans takes as long as drawing them.
    """
    last: tuple[Plan, Drawn] | None = None

    @wraps(draw)
    def drawn(plan: Plan) -> Drawn:
        nonlocal last
        kept = last
        if kept is None or kept[0] is not plan:
            kept = (plan, draw(plan))
            last = kept
        return kept[1]

    return drawn
