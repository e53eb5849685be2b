"""Checks of what the machine can do: travel, spindle speeds, feeds; and whether its tools are known."""

from __future__ import annotations

import numpy as np

from holecam.program.check_context import CheckContext
from holecam.program.moves import EventKind

RULE = "travel of the machine as stated"
RATIO_NOISE = 1e-9
"""Ratio. Feeds went through a unit and back: arithmetic noise."""

WHOLE_NOISE = 1e-6
"""Turns a minute. S is written in whole numbers, so the range counts as whole turns: a pulley may give 62.5."""


def check_machine(context: CheckContext) -> None:
    """Add findings about positions, speeds and feeds that the machine does not have."""
    if not len(context.moves):
        return
    _check_travel(context)
    limits = context.limits
    setups = context.moves.setups
    if limits.spindle_rpm is not None:
        slowest, fastest = limits.spindle_rpm
        speed = context.moves.per_setup([s.rpm or 0.0 if s.spindle else slowest for s in setups])
        outside = (speed < np.floor(slowest) - WHOLE_NOISE) | (speed > np.ceil(fastest) + WHOLE_NOISE)
        context.report(
            outside & (speed > 0),
            "spindle-out-of-range",
            lambda i: f"the spindle is to turn at {speed[i]:.0f} rpm; it has {slowest:.0f} to {fastest:.0f} rpm",
            measured=lambda i: float(speed[i]),
            limit=fastest,
            unit="rpm",
            rule="spindle range of the machine as stated",
        )
    if limits.fastest_feed_mm_min is not None:
        fastest_feed = limits.fastest_feed_mm_min
        with np.errstate(invalid="ignore"):
            fast = context.feeds & (context.moves.feed > fastest_feed * (1 + RATIO_NOISE))
        context.report(
            fast,
            "feed-out-of-range",
            lambda i: f"a feed of {context.moves.feed[i]:.0f} mm/min; the machine has {fastest_feed:.0f} mm/min",
            measured=lambda i: float(context.moves.feed[i]),
            limit=fastest_feed,
            unit="mm/min",
            rule="fastest feed of the machine as stated",
        )
    _check_tools(context)


def _check_travel(context: CheckContext) -> None:
    travel = context.limits.travel
    for axis, name in enumerate("xyz"):
        low, high = context.low[:, axis], context.high[:, axis]
        ends = getattr(travel, name)
        if ends is not None:
            with np.errstate(invalid="ignore"):
                outside = (low < ends[0] - context.tolerance) | (high > ends[1] + context.tolerance)
            context.report(
                outside,
                "out-of-travel",
                lambda i, name=name, ends=ends: (  # type: ignore[misc]
                    f"{name.upper()} leaves the travel from {context.length(ends[0], signed=True)} to "
                    f"{context.length(ends[1], signed=True)}"
                ),
                rule=RULE,
            )
        length = getattr(travel, f"{name}_length")
        known = ~np.isnan(low) & ~np.isnan(high)
        if length is None or not known.any():
            continue
        extent = float(high[known].max() - low[known].min())
        if extent > length + context.tolerance:
            farthest = int(np.flatnonzero(known)[np.argmax(high[known])])
            context.found.add(
                "out-of-travel",
                context.line(farthest),
                f"the program needs {context.length(extent)} along {name.upper()}; the machine has "
                f"{context.length(length)}",
                place=context.place(farthest),
                measured=extent,
                limit=length,
                rule=RULE,
            )


def _check_tools(context: CheckContext) -> None:
    """Name tools that nobody described, once each, and cuts before any tool was taken."""
    context.report(
        context.cuts() & (context.tool_numbers == 0),
        "tool-unknown",
        lambda i: "a cut before any tool was taken (T and M6): only the line of its tip is checked",
        rule="tools of the plan",
    )
    told: set[int] = set()
    for event in context.events:
        number = int(event.number)
        if event.kind is EventKind.TOOL_CHANGE and number not in context.tools and number not in told:
            told.add(number)
            context.found.add(
                "tool-unknown",
                event.line,
                f"tool T{number} is not described: only the line of its tip is checked, not its body",
                rule="tools of the plan",
            )
