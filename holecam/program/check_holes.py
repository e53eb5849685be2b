"""Check that the holes of a program are the planned ones: place, depth, diameter, tool, speed, feed, bite."""

from __future__ import annotations

import math

from msgspec import Struct, field

from holecam.plan.finding import Severity
from holecam.program.check_context import CheckContext
from holecam.program.hole_visits import HoleVisit, hole_visits
from holecam.program.places_near import PlacesNear
from holecam.program.planned_moves import PlannedMoves
from holecam.program.program_findings import Place

FEED_TOLERANCE = 0.01
"""Share. A written feed differs from the planned one by rounding, at most 0.2 percent; 1 percent changes no cut."""

SPEED_TOLERANCE = 0.51
"""rpm. A written speed is rounded to a whole number."""

NEIGHBOR = 25.4
"""mm. A hole that is farther from every planned one than this is told without a neighbour."""

ONE_HOLE = 4.0
"""Tolerances. Planned places of two tools that are no farther apart are one hole, where the order of tools counts."""

RULE = "holes of the plan"


class WantedHole(Struct):
    """A hole that one tool is to make. ``planned_move`` is -1 where the plan's limits name it but no cycle makes it."""

    number: int
    x: float
    y: float
    bottom: float
    tool: int
    rpm: float | None = None
    feed: float | None = None
    bite: float | None = None
    planned_move: int = -1
    made: list[HoleVisit] = field(default_factory=list)
    """What the program did there."""


def wanted_holes(context: CheckContext, plan: PlannedMoves | None) -> list[WantedHole]:
    """Return the holes that the limits expect and those that the plan's cycles make, each once."""
    wanted = [WantedHole(h.number, h.x, h.y, h.tip_z, h.tool) for h in context.limits.holes]
    if plan is None:
        return wanted
    only_holes = _tools_for_holes(context)
    known = PlacesNear(((w.x, w.y) for w in wanted), context.tolerance)
    for visit in hole_visits(plan.moves, context.stock_top, context.tolerance, _diameters(context)):
        if visit.tool not in only_holes and visit.cycle < 0:
            continue  # a cutter that plunges: compared as a path
        number = plan.holes[visit.cycle] if visit.cycle >= 0 else 0
        peck = plan.pecks[visit.cycle] if visit.cycle >= 0 else None
        here = (wanted[i] for i in known.near(visit.x, visit.y))
        mine = next((w for w in here if w.tool == visit.tool), None)
        if mine is None:
            mine = WantedHole(number, visit.x, visit.y, visit.bottom, visit.tool)
            known.add(visit.x, visit.y)
            wanted.append(mine)
        if mine.planned_move < 0:
            mine.planned_move = visit.first_move
        mine.rpm, mine.feed = visit.rpm or None, visit.fastest
        mine.bite = max(mine.bite or 0.0, visit.bite if peck is not None else 0.0) or None
    return wanted


def _tools_for_holes(context: CheckContext) -> set[int]:
    return {number for number, tool in context.tools.items() if tool.kind.makes_holes_only}


def _diameters(context: CheckContext) -> dict[int, float]:
    return {number: tool.diameter for number, tool in context.tools.items()}


def check_holes(context: CheckContext, wanted: list[WantedHole]) -> None:
    """Add findings about holes; ``made`` of every wanted hole is filled in."""
    visits = hole_visits(context.moves, context.stock_top, context.tolerance, _diameters(context))
    only_holes = _tools_for_holes(context)
    known = PlacesNear(((w.x, w.y) for w in wanted), context.tolerance)
    for visit in visits:
        here = [wanted[i] for i in known.near(visit.x, visit.y)]
        mine = [w for w in here if w.tool == visit.tool]
        for hole in mine:
            hole.made.append(visit)
        if mine:
            continue
        if here:
            _tell_other_tool(context, visit, here[0])
        elif visit.tool in only_holes:
            _tell_not_planned(context, visit, wanted)
    for hole in wanted:
        if hole.made:
            _compare(context, hole, hole.made)
        else:
            context.found.add(
                "hole-missing",
                0,
                f"{_name(hole)} with tool T{hole.tool} is not made",
                place=(hole.x, hole.y, hole.bottom),
                rule=RULE,
            )
    _check_order(context, wanted)


def _name(hole: WantedHole) -> str:
    return f"hole {hole.number}" if hole.number else "a planned hole"


def _place(visit: HoleVisit) -> Place:
    return (visit.x, visit.y, visit.bottom)


def _tell_not_planned(context: CheckContext, visit: HoleVisit, wanted: list[WantedHole]) -> None:
    if context.found.lists_no_more("hole-not-planned"):  # a neighbour that nobody reads is not looked for
        context.found.count_more("hole-not-planned", 1)
        return
    here = (visit.x, visit.y)
    near = min(wanted, key=lambda w: math.dist((w.x, w.y), here), default=None)
    distance = None if near is None else math.dist((near.x, near.y), here)
    beside = ""
    if near is not None and distance is not None and distance <= NEIGHBOR:
        beside = f"; {_name(near)} is {context.length(distance)} away"
    context.found.add(
        "hole-not-planned",
        visit.line,
        f"tool T{visit.tool} makes a hole where none is planned{beside}",
        place=_place(visit),
        measured=distance,
        limit=context.tolerance,
        rule=RULE,
    )


def _tell_other_tool(context: CheckContext, visit: HoleVisit, hole: WantedHole) -> None:
    ours, theirs = context.tools.get(hole.tool), context.tools.get(visit.tool)
    if ours is not None and theirs is not None and ours.diameter != theirs.diameter:
        context.found.add(
            "hole-diameter",
            visit.line,
            f"{_name(hole)} is made with T{visit.tool}, {context.length(theirs.diameter)}; planned is T{hole.tool}, "
            f"{context.length(ours.diameter)}",
            place=_place(visit),
            measured=theirs.diameter,
            limit=ours.diameter,
            rule=RULE,
        )
        return
    context.found.add(
        "tool-not-planned",
        visit.line,
        f"{_name(hole)} is made with T{visit.tool}; planned is T{hole.tool}",
        place=_place(visit),
        rule=RULE,
    )


def _compare(context: CheckContext, hole: WantedHole, visits: list[HoleVisit]) -> None:
    deepest = min(visits, key=lambda v: v.bottom)
    off = deepest.bottom - hole.bottom
    if abs(off) > context.tolerance:
        context.found.add(
            "hole-depth",
            deepest.deepest_line,
            f"{_name(hole)} ends at Z {context.length(deepest.bottom, signed=True)}, "
            f"{context.length(abs(off))} {'above' if off > 0 else 'below'} the planned "
            f"{context.length(hole.bottom, signed=True)}",
            place=_place(deepest),
            measured=deepest.bottom,
            limit=hole.bottom,
            rule=RULE,
        )
    for visit in visits:
        if hole.bite is not None and visit.bite > hole.bite + context.tolerance:
            context.found.add(
                "peck-too-deep",
                visit.line,
                f"{_name(hole)} is fed {context.length(visit.bite)} without coming out; planned are steps of "
                f"{context.length(hole.bite)}",
                place=_place(visit),
                measured=visit.bite,
                limit=hole.bite,
                rule=RULE,
            )
        if hole.rpm is not None and abs(visit.rpm - hole.rpm) > SPEED_TOLERANCE:
            tell_speed(context, visit.line, _place(visit), _name(hole), visit.rpm, hole.rpm)
        if hole.feed is not None:
            tell_feed(context, visit.line, _place(visit), _name(hole), visit.fastest, visit.slowest, hole.feed)


def tell_speed(context: CheckContext, line: int, place: Place, what: str, rpm: float, planned: float) -> None:
    """Add a finding about a spindle speed."""
    context.found.add(
        "speed-not-planned",
        line,
        f"{what} runs at {rpm:.0f} rpm; planned are {planned:.0f} rpm",
        place=place,
        measured=rpm,
        limit=planned,
        unit="rpm",
        rule="spindle speed of the plan",
    )


def tell_feed(
    context: CheckContext, line: int, place: Place, what: str, fastest: float, slowest: float, planned: float
) -> None:
    """Add a finding about a feed that is too fast (a stop) or too slow (a caution)."""
    fast = fastest > planned * (1 + FEED_TOLERANCE)
    if not fast and slowest >= planned * (1 - FEED_TOLERANCE):
        return
    feed = fastest if fast else slowest
    context.found.add(
        "feed-not-planned",
        line,
        f"{what} is fed at {feed:.1f} mm/min; planned are {planned:.1f} mm/min",
        place=place,
        measured=feed,
        limit=planned,
        unit="mm/min",
        rule="feed of the plan",
        severity=Severity.STOP if fast else Severity.CAUTION,
    )


def _check_order(context: CheckContext, wanted: list[WantedHole]) -> None:
    """Tools that follow each other in one hole (spot, pilot, drill, tap) keep their order."""
    known = PlacesNear((), ONE_HOLE * context.tolerance)
    by_place: list[list[WantedHole]] = []  # the number of a known place is that of its list
    for hole in wanted:
        if hole.planned_move >= 0 and hole.made:
            here = known.near(hole.x, hole.y)
            if here:
                by_place[here[0]].append(hole)
            else:
                known.add(hole.x, hole.y)
                by_place.append([hole])
    for holes in by_place:
        holes.sort(key=lambda h: h.planned_move)
        latest = -1
        for hole in holes:
            first = min(v.first_move for v in hole.made)
            if first < latest:
                visit = hole.made[0]
                context.found.add(
                    "cut-out-of-order",
                    visit.line,
                    f"{_name(hole)}: tool T{hole.tool} comes before a tool that is planned before it",
                    place=_place(visit),
                    rule="order of the plan",
                )
            latest = max(latest, min(v.first_move for v in hole.made))
