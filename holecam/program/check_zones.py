"""Checks of where the cutter's whole body comes: hard floors, keep-outs, bends, and the tool's own reach."""

from __future__ import annotations

import numpy as np

from holecam.program.check_context import CheckContext
from holecam.program.program_findings import MOST_OF_A_CODE
from holecam.program.zones import NOISE, Heap, Hollow, Zone, entries


def check_zones(context: CheckContext) -> None:
    """Add findings about moves, rapids as well as cuts, whose body enters a place where it must not be."""
    limits = context.limits
    for floor in limits.hard_floors:
        over = f' over "{floor.name}"' if floor.name else ""
        told = ("the cutter reaches ", f" under the hard floor{over} at Z {context.length(floor.z, signed=True)}")
        rule = floor.source or "hard floor of the plan"
        if floor.outline is None:
            _check_depth(context, floor.z, told, rule)
        else:
            _check_zone(context, Heap(floor.outline, floor.z, context.tolerance), "below-hard-floor", told, rule)
    for keep in limits.keep_outs:
        told = (f'the cutter enters the keep-out "{keep.name}" by ', "")
        # A chord around a round island lies nearer to it than the arc that was planned
        zone = Heap(keep.outline, keep.top_z, context.tolerance + context.chord)
        _check_zone(context, zone, "in-keep-out", told, keep.source or "keep-out of the plan")
    for bend in limits.bends:
        told = (f'inside the bend "{bend.name}", ', f" of the gap of {context.length(bend.gap)} is missing")
        hollow = Hollow(bend, context.tolerance)
        _check_zone(context, hollow, "in-bend", told, bend.source or "bend of the plan")
    _check_reach(context)


def _check_depth(context: CheckContext, floor: float, told: tuple[str, str], rule: str) -> None:
    """Add findings about tips under a floor that is everywhere."""
    low = context.low[:, 2]
    under = np.flatnonzero(low < floor - NOISE)
    for index in under[:MOST_OF_A_CODE].tolist():
        x, y, _ = context.place(index)
        z = float(low[index])
        context.found.add(
            "below-hard-floor",
            context.line(index),
            f"{told[0]}{context.length(floor - z)}{told[1]}",
            place=(x, y, z),
            measured=z,
            limit=floor,
            rule=rule,
        )
    context.found.count_more("below-hard-floor", len(under) - MOST_OF_A_CODE)


def _check_zone(context: CheckContext, zone: Zone, code: str, told: tuple[str, str], rule: str) -> None:
    moves = context.moves
    known = ~np.isnan(moves.start).any(axis=1) & ~np.isnan(moves.end).any(axis=1)
    for tool in context.tools_used:
        body = context.body(tool)
        with np.errstate(invalid="ignore"):
            near = zone.near(context.low, context.high, body)
        candidates = np.flatnonzero(near & known & (context.tool_numbers == tool))
        for entry in entries(moves, candidates, zone, body, MOST_OF_A_CODE + 1):
            context.found.add(
                code,
                context.line(entry.move),
                f"{told[0]}{context.length(entry.amount)}{told[1]}",
                place=entry.place,
                measured=entry.amount,
                limit=0.0,
                rule=rule,
            )


def _check_reach(context: CheckContext) -> None:
    """Compare the depth under the top of the stock with flutes and overhang."""
    moves = context.moves
    near = context.over_stock(context.radii()) & ~np.isnan(context.low[:, 2])
    depth = context.stock_top - np.where(near, context.low[:, 2], np.inf)
    setups = moves.setups
    flutes = moves.per_setup([_or_inf(context, s.tool, "flute_length") for s in setups])
    overhang = moves.per_setup([_or_inf(context, s.tool, "overhang") for s in setups])
    context.report(
        context.feeds & (depth > flutes + context.tolerance + NOISE),
        "deeper-than-flutes",
        lambda i: (
            f"the cut is {context.length(float(depth[i]))} deep; the flutes are {context.length(float(flutes[i]))}"
        ),
        measured=lambda i: float(depth[i]),
        rule="cutting length of the tool",
    )
    context.report(
        depth > overhang + context.tolerance + NOISE,
        "holder-in-stock",
        lambda i: (
            f"the tip is {context.length(float(depth[i]))} under the top of the stock; the tool stands out "
            f"{context.length(float(overhang[i]))}"
        ),
        measured=lambda i: float(depth[i]),
        rule="stick-out of the tool",
    )


def _or_inf(context: CheckContext, tool: int, what: str) -> float:
    value: float | None = getattr(context.tools.get(tool), what, None)
    return float("inf") if value is None else value
