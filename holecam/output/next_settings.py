"""What follows from a measurement at a stop, in whole steps of 1e-9 mm, as the page computes it."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from holecam.lengths import exact, round_half_away
from holecam.lengths.rounding import SNAP, STEPS_OF_GRID
from holecam.plan.plan import Plan
from holecam.plan.work import NextSetting


def grid_steps(value: float | Fraction) -> int:
    """Return a length, mm, in steps of 1e-9 mm.

    >>> grid_steps(2.38125)
    2381250000
    """
    return round_half_away(exact(value) * STEPS_OF_GRID)


def next_setting(setting: NextSetting, measured: Fraction) -> Fraction:
    """Return ``offset + factor * (target - measured)``, mm, snapped to the grid.

    >>> from holecam.plan.work import NextSetting
    >>> float(next_setting(NextSetting("side offset", 10.0, 0.5, 0.0, ""), Fraction(98, 10)))
    0.1
    """
    value = exact(setting.offset) + exact(setting.factor) * (exact(setting.target) - grid_steps(measured) * SNAP)
    return round_half_away(value / SNAP) * SNAP


def moves_after(plan: Plan, found: Mapping[str, Fraction]) -> dict[tuple[int, int], tuple[Fraction, Fraction]]:
    """Return by how much X and Y of each row move, mm, when these figures were found at the stops.

    The key is (number of the operation, number of the row). A stop moves the rows after it, in its own operation and
    in all later ones. A later stop on the same axis replaces the earlier: it is measured against the plan, not against
    what was moved.
    """
    moves: dict[tuple[int, int], tuple[Fraction, Fraction]] = {}
    dx = dy = Fraction(0)
    for operation in plan.operations:
        rows = [0, *(r.number for r in operation.rows)]
        for number in rows:
            if number:
                moves[(operation.number, number)] = (dx, dy)
            for stop in operation.stops:
                if stop.after_row != number or stop.key not in found:
                    continue
                for setting in stop.settings:
                    value = next_setting(setting, found[stop.key])
                    dx = value if setting.kind == "move x" else dx
                    dy = value if setting.kind == "move y" else dy
    return moves
