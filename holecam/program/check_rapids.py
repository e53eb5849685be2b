"""Checks of rapid moves: sideways only at the safe height, and never through material."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from holecam.program.check_context import CheckContext, Indexes
from holecam.program.moves import EventKind, Floats, Kind, Moves
from holecam.program.paths import radii, sweeps
from holecam.shapes.curve_arrays import distinct

SAME_HOLE = 1e-4
"""mm. Ends of moves nearer than this in plan are at one place: the same coordinate written twice."""

ON_PATH = 1e-3
"""mm. A place nearer than this to the path of an earlier cut lies on it."""

MOST_SEARCHES = 200
"""Rapids whose place is searched along all earlier cuts; further ones are reported without the search."""

RULE = "a rapid goes down only through air, or where a cut has been that deep"


def check_rapids(context: CheckContext) -> None:
    """Add findings about rapids that go sideways too low or into material."""
    moves = context.moves
    rapid = moves.kind == Kind.RAPID
    with np.errstate(invalid="ignore"):
        sideways = rapid & ~(
            (np.abs(moves.end[:, :2] - moves.start[:, :2]) <= SAME_HOLE) | np.isnan(moves.end[:, :2])
        ).all(axis=1)
        low = context.low[:, 2] < context.safe_height - context.tolerance
    context.report(
        sideways & low,
        "sideways-rapid-low",
        lambda i: (
            f"a rapid goes sideways at Z {context.length(float(context.low[i, 2]), signed=True)}, below the safe "
            f"height of {context.length(context.safe_height, signed=True)}"
        ),
        measured=lambda i: float(context.low[i, 2]),
        limit=context.safe_height,
        rule="safe height before any sideways rapid",
        remedy="Go up first.",
    )
    _check_material(context, rapid, sideways)


def check_halts(context: CheckContext) -> None:
    """Add findings where a program of a plan stops or ends with its tool in the work: no move is there to tell it."""
    moves = context.moves
    words = {EventKind.END: "the program ends", EventKind.TOOL_CHANGE: "another tool is taken"}
    for event in context.events:
        last = event.before_move - 1
        stands = event.kind in (EventKind.STOP, EventKind.OPTIONAL_STOP, EventKind.TOOL_CHANGE, EventKind.END)
        if not stands or last < 0 or not context.feeds[: last + 1].any():
            continue
        x, y, z = (float(value) for value in moves.end[last])
        if z < context.stock_top - context.tolerance:  # not so where it is not known
            context.found.add(
                "halts-low",
                event.line,
                f"{words.get(event.kind, 'the machine stops')} at Z {context.length(z, signed=True)}, below the top of "
                f"the work at {context.length(context.stock_top, signed=True)}: the tool stays in it",
                place=(x, y, z),
                measured=z,
                limit=context.stock_top,
                rule="out of the work before any stop",
                remedy="Go up first.",
            )


def _check_material(context: CheckContext, rapid: NDArray[np.bool_], sideways: NDArray[np.bool_]) -> None:
    moves = context.moves
    with np.errstate(invalid="ignore"):
        deep = rapid & (context.low[:, 2] < context.stock_top - context.tolerance)
        upward = ~sideways & (moves.end[:, 2] >= moves.start[:, 2])
    suspects = np.flatnonzero(deep & ~upward & context.over_stock(context.radii()))
    if not len(suspects):
        return
    bad = np.zeros(len(moves), np.bool_)
    down = suspects[~sideways[suspects]]
    bad[suspects[sideways[suspects]]] = True
    bad[_not_cut_before(context, down)] = True
    context.report(
        bad,
        "rapid-into-stock",
        lambda i: (
            f"a rapid goes to Z {context.length(float(context.low[i, 2]), signed=True)}, "
            f"{context.length(context.stock_top - float(context.low[i, 2]))} under the top of the stock"
        ),
        measured=lambda i: context.stock_top - float(context.low[i, 2]),
        limit=0.0,
        rule=RULE,
        remedy="Feed there.",
    )


def _not_cut_before(context: CheckContext, down: Indexes) -> Indexes:
    """Return the downward rapids that end deeper than any earlier cut at their place, by a tool that made room."""
    moves = context.moves
    if not len(down):
        return down
    wanted = distinct(_keys(moves.end[down]))
    feeds = np.flatnonzero(context.feeds & (context.low[:, 2] < context.stock_top))
    starts, ends = _keys(moves.start[feeds]), _keys(moves.end[feeds])
    at_start, at_end = feeds[np.isin(starts, wanted)], feeds[np.isin(ends, wanted)]
    # (move, key, height) of everything that matters, in the order of the program
    index = np.concatenate((at_start, at_end, down))
    key = np.concatenate((_keys(moves.start[at_start]), _keys(moves.end[at_end]), _keys(moves.end[down])))
    height = np.concatenate((moves.start[at_start, 2], moves.end[at_end, 2], moves.end[down, 2]))
    is_rapid = np.arange(len(index)) >= len(at_start) + len(at_end)
    deepest: dict[tuple[int, int], float] = {}
    left: list[int] = []
    order = np.argsort(index, kind="stable")
    tool_of = context.tool_numbers
    for i, k, z, rapid in zip(
        index[order].tolist(), key[order].tolist(), height[order].tolist(), is_rapid[order].tolist(), strict=True
    ):
        tool = int(tool_of[i])
        if not rapid:
            deepest[tool, k] = min(deepest.get((tool, k), np.inf), z)
            continue
        free = min(deepest.get((t, k), np.inf) + context.deeper_by(t, tool) for t in context.tools_used)
        if not z >= free - context.tolerance:
            left.append(i)
    kept = [i for i in left[:MOST_SEARCHES] if not _on_earlier_cut(context, i)]
    return np.array(kept + left[MOST_SEARCHES:], dtype=np.intp)


def _keys(points: Floats) -> NDArray[np.int64]:
    """Return one whole number for each place in plan."""
    grid = np.round(np.nan_to_num(points[:, :2]) / SAME_HOLE).astype(np.int64)
    return np.asarray(grid[:, 0] * (1 << 31) + grid[:, 1])


def _on_earlier_cut(context: CheckContext, index: int) -> bool:
    """Return whether a rapid ends on the path of an earlier cut of a tool that made room, at its height or above."""
    moves = context.moves
    x, y, z = moves.end[index]
    low, high = context.low[:index], context.high[:index]
    tool = int(context.tool_numbers[index])
    with np.errstate(invalid="ignore"):
        near = context.feeds[:index] & (low[:, 2] <= z + context.tolerance)
        near &= (low[:, 0] <= x + ON_PATH) & (high[:, 0] >= x - ON_PATH)
        near &= (low[:, 1] <= y + ON_PATH) & (high[:, 1] >= y - ON_PATH)
    pick = np.flatnonzero(near)
    if not len(pick):
        return False
    away, height = nearest_on_path(moves.take(pick), float(x), float(y))
    more = np.array([context.deeper_by(int(t), tool) for t in context.tool_numbers[pick]])
    return bool(((away <= ON_PATH) & (height + more <= z + context.tolerance)).any())


def nearest_on_path(moves: Moves, x: float, y: float) -> tuple[Floats, Floats]:
    """Return for every move its distance from a place in plan, and its height at the nearest point; mm."""
    a, d = moves.start, moves.end - moves.start
    square = d[:, 0] ** 2 + d[:, 1] ** 2
    share = ((x - a[:, 0]) * d[:, 0] + (y - a[:, 1]) * d[:, 1]) / np.where(square > 0, square, 1.0)
    share = np.clip(share, 0.0, 1.0)
    level = square <= 0
    near = a[:, :2] + share[:, None] * d[:, :2]
    height = np.where(level, np.minimum(moves.start[:, 2], moves.end[:, 2]), a[:, 2] + share * d[:, 2])
    arc = np.flatnonzero(moves.kind >= Kind.ARC_CW)
    if len(arc):
        some = moves.take(arc)
        c, sweep, r = some.center, sweeps(some), radii(some)
        first = np.arctan2(some.start[:, 1] - c[:, 1], some.start[:, 0] - c[:, 0])
        turn = (np.arctan2(y - c[:, 1], x - c[:, 0]) - first) * np.sign(sweep) % (2 * np.pi)
        reach = np.abs(sweep)
        facing = turn <= reach
        # Outside the sweep the nearer end counts
        to_start = np.hypot(some.start[:, 0] - x, some.start[:, 1] - y)
        to_end = np.hypot(some.end[:, 0] - x, some.end[:, 1] - y)
        part = np.where(facing, turn / reach, np.where(to_start <= to_end, 0.0, 1.0))
        angle = first + np.sign(sweep) * part * reach
        near[arc, 0], near[arc, 1] = c[:, 0] + r * np.cos(angle), c[:, 1] + r * np.sin(angle)
        height[arc] = some.start[:, 2] + part * (some.end[:, 2] - some.start[:, 2])
    return np.hypot(near[:, 0] - x, near[:, 1] - y), height
