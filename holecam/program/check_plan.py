"""Check a program against its plan: the same cuts, with the same tools, speeds and feeds, and the stops in between."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from holecam.program.check_context import CheckContext, Indexes
from holecam.program.check_holes import FEED_TOLERANCE, SPEED_TOLERANCE, WantedHole, tell_feed, tell_speed
from holecam.program.moves import EventKind, Floats, Moves, as_slice
from holecam.program.path_match import PathMatch, match_paths, same_paths
from holecam.program.path_pieces import Pieces, cutting_pieces
from holecam.program.planned_moves import PlannedMoves
from holecam.program.program_findings import MOST_OF_A_CODE, Place

RULE = "cuts of the plan"


class Done(Struct, frozen=True, eq=False):
    """When planned cuts and holes happened: indexes of planned moves, and first and last moves of the program."""

    planned_move: Indexes
    first: Indexes
    last: Indexes

    def __add__(self, more: Done) -> Done:
        """Return both together."""
        return Done(
            np.concatenate((self.planned_move, more.planned_move)),
            np.concatenate((self.first, more.first)),
            np.concatenate((self.last, more.last)),
        )


def _done(rows: list[tuple[int, int, int]]) -> Done:
    table = np.array(rows, dtype=np.intp).reshape(-1, 3)
    return Done(table[:, 0], table[:, 1], table[:, 2])


def check_cuts(context: CheckContext, plan: PlannedMoves, step: float) -> Done:
    """Add findings about milled paths; return when each planned piece was cut."""
    drills = {number for number, tool in context.tools.items() if tool.kind.makes_holes_only}

    def pieces(moves: Moves, top: float, *, clipped: bool = True) -> Pieces:
        return cutting_pieces(moves, top, context.tolerance, drills, step, clipped=clipped)

    top = context.stock_top
    planned, made = pieces(plan.moves, top, clipped=False), pieces(context.moves, top, clipped=False)
    if not len(planned) and not len(made):
        return _done([])
    if not same_paths(planned, made, context.tolerance):
        # Divided otherwise, or changed: then only what is cut counts, not the way through the air to it
        planned, made = pieces(plan.moves, top), pieces(context.moves, top)
    match = match_paths(planned, made, context.tolerance, _radii(context, planned))
    skin = top - SKIN_TOLERANCES * context.tolerance
    if match.given_up >= 0:  # so different that a hair's breadth of skin is not the question
        _tell_missing(context, planned, match)
        _tell_extra(context, made, match)
    elif match.missing:
        cut = pieces(plan.moves, skin)
        _tell_missing(context, cut, match_paths(cut, made, context.tolerance, _radii(context, cut)))
    if match.given_up < 0 and (match.extra or match.repeats):
        cut = pieces(context.moves, skin)
        _tell_extra(context, cut, match_paths(planned, cut, context.tolerance, _radii(context, planned)))
    _tell_order(context, planned, made, match)
    _compare_settings(context, planned, made, match)
    return _when(planned, made, match)


SKIN_TOLERANCES = 2.0
"""Tolerances under the top of the stock down to which a difference is no cut: where a shallow ramp or helix passes the
top, a rounded height moves the crossing sideways by many times the rounding."""


def _radii(context: CheckContext, planned: Pieces) -> Floats:
    return planned.moves.per_setup([context.body(s.tool).radius for s in planned.moves.setups])


def _at(pieces: Pieces, index: int) -> Place:
    x, y, z = pieces.start[index]
    return (float(x), float(y), float(z))


def _tell_missing(context: CheckContext, planned: Pieces, match: PathMatch) -> None:
    runs: list[list[tuple[int, float]]] = []
    for index, left in match.missing:
        if runs and runs[-1][-1][0] == index - 1:
            runs[-1].append((index, left))
        else:
            runs.append([(index, left)])
    for run in runs:
        index = run[0][0]
        total = sum(left for _, left in run)
        cuts = f"{len(run)} planned cuts" if len(run) > 1 else "a planned cut"
        context.found.add(
            "cut-missing",
            0,
            f"{cuts} of {context.length(total)} in all {'are' if len(run) > 1 else 'is'} not made, the first with tool "
            f"T{planned.moves.setups[planned.moves.setup[index]].tool}",
            place=_at(planned, index),
            measured=total,
            limit=context.tolerance,
            rule=RULE,
        )


def _tell_extra(context: CheckContext, made: Pieces, match: PathMatch) -> None:
    for index, off, place in match.extra:
        far = f"{context.length(off)} off every planned cut" if np.isfinite(off) else "where the plan cuts nothing"
        context.found.add(
            "cut-not-planned",
            int(made.moves.line[index]),
            f"a cut runs {far}",
            place=place,
            measured=off if np.isfinite(off) else None,
            limit=context.tolerance,
            rule=RULE,
        )
    if match.given_up >= 0:
        context.found.add(
            "cut-not-planned",
            int(made.moves.line[match.given_up]),
            "the program differs so much from its plan that it was not compared any further",
            rule=RULE,
        )
    if match.repeats:
        context.found.add("cut-repeated", 0, f"{match.repeats} cuts go over a planned path again", rule=RULE)


def _tell_order(context: CheckContext, planned: Pieces, made: Pieces, match: PathMatch) -> None:
    for index, j in match.out_of_order:
        context.found.add(
            "cut-out-of-order",
            int(made.moves.line[j]),
            "a cut comes before the planned one above it: it takes more depth at once than planned",
            place=_at(planned, index),
            rule="order of the plan",
        )
    if match.reordered:
        context.found.add(
            "order-changed", 0, f"{match.reordered} cuts come in another order than planned", rule="order of the plan"
        )
    for index, j in match.reversed_pairs:
        context.found.add(
            "cut-other-way",
            int(made.moves.line[j]),
            "a cut runs the other way than planned: climb for conventional",
            place=_at(planned, index),
            rule=RULE,
        )


def _compare_settings(context: CheckContext, planned: Pieces, made: Pieces, match: PathMatch) -> None:
    """Compare tool, speed and feed of the pieces that belong together."""
    a, b = match.planned, match.program
    ours, theirs = planned.moves.take(a), made.moves.take(b)
    moves_of = made.move[as_slice(b)]

    def lines(mask: np.ndarray) -> Indexes:
        """The first pair of each run."""
        index = np.flatnonzero(mask)
        return index[np.diff(index, prepend=-2) > 1]

    tool_a = ours.per_setup([float(s.tool) for s in ours.setups])
    tool_b = theirs.per_setup([float(s.tool) for s in theirs.setups])
    for k in lines(tool_a != tool_b).tolist():
        context.found.add(
            "tool-not-planned",
            context.line(int(moves_of[k])),
            f"a cut is made with T{tool_b[k]:.0f}; planned is T{tool_a[k]:.0f}",
            place=_at(made, int(b[k])),
            rule="tool of the plan",
        )
    rpm_a = ours.per_setup([s.rpm or 0.0 for s in ours.setups])
    rpm_b = theirs.per_setup([s.rpm or 0.0 for s in theirs.setups])
    for k in lines((np.abs(rpm_a - rpm_b) > SPEED_TOLERANCE) & (rpm_a > 0)).tolist():
        tell_speed(
            context,
            context.line(int(moves_of[k])),
            _at(made, int(b[k])),
            "a cut",
            float(rpm_b[k]),
            float(rpm_a[k]),
        )
    with np.errstate(invalid="ignore"):
        off = ~(np.abs(theirs.feed - ours.feed) <= FEED_TOLERANCE * ours.feed)
    off &= ~np.isnan(theirs.feed)  # a missing feed has its own finding
    wrong = lines(off)
    for k in wrong[:MOST_OF_A_CODE].tolist():
        feed = float(theirs.feed[k])
        line, place = context.line(int(moves_of[k])), _at(made, int(b[k]))
        tell_feed(context, line, place, "a cut", feed, feed, float(ours.feed[k]))
    context.found.count_more("feed-not-planned", len(wrong) - MOST_OF_A_CODE)


def _when(planned: Pieces, made: Pieces, match: PathMatch) -> Done:
    """Return first and last move of the program for every planned piece that was cut."""
    if not len(match.planned):
        return _done([])
    moves = made.move[match.program]
    first = np.full(len(planned), np.iinfo(np.intp).max, dtype=np.intp)
    last = np.full(len(planned), -1, dtype=np.intp)
    np.minimum.at(first, match.planned, moves)
    np.maximum.at(last, match.planned, moves)
    cut = np.flatnonzero(last >= 0)
    return Done(planned.move[cut], first[cut], last[cut])


def holes_done(wanted: list[WantedHole]) -> Done:
    """Return when the planned holes were made."""
    return _done(
        [
            (w.planned_move, min(v.first_move for v in w.made), min(v.last_move for v in w.made))
            for w in wanted
            if w.planned_move >= 0 and w.made
        ]
    )


def check_stops(context: CheckContext, plan: PlannedMoves, done: Done) -> None:
    """Check that every planned stop comes after the cuts before it and before the cuts after it."""
    own = {id(stop) for stop in context.length_stops().values()}  # stops to set a tool's height belong to its change
    stops = (EventKind.STOP, EventKind.OPTIONAL_STOP)
    events = [e for e in context.events if e.kind in stops and id(e) not in own]
    taken: set[int] = set()
    planned, first, last = done.planned_move, done.first, done.last
    for number, stop in enumerate(plan.stops, 1):
        before = planned < stop.before_move
        earliest = int(last[before].max(initial=-1))
        latest = int(first[~before].min(initial=len(context.moves) + 1))
        fits = [k for k, e in enumerate(events) if k not in taken and earliest < e.before_move <= latest]
        fits.sort(key=lambda k: (events[k].kind is EventKind.OPTIONAL_STOP, events[k].before_move))
        message = f'the planned stop {number}, "{stop.message}",'
        if not fits:
            context.found.add(
                "stop-missing",
                0,
                f"{message} does not stand between the cuts it belongs between",
                rule="stops of the plan",
                remedy="Write M0 there.",
            )
            continue
        taken.add(fits[0])
        event = events[fits[0]]
        if event.kind is EventKind.OPTIONAL_STOP and not stop.optional:
            context.found.add(
                "stop-optional",
                event.line,
                f"{message} is written as M1: it works only with the switch for optional stops on",
                rule="stops of the plan",
                remedy="Write M0.",
            )
    for k, event in enumerate(events):
        if k not in taken:
            context.found.add("stop-added", event.line, "a stop that is not planned")
