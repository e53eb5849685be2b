"""Checks of what must be set before a move: units, distance mode, place, spindle, feed, length offset; and the end."""

from __future__ import annotations

import numpy as np

from holecam.program.check_context import CheckContext
from holecam.program.moves import EventKind, Kind
from holecam.program.program_findings import FindingList
from holecam.program.reader import Reading

RULE_START = "units and distance mode are stated before any motion"
RULE_SPINDLE = "the spindle turns clockwise at a stated speed before any cut"
RULE_FEED = "NISTIR 6556, G1 to G3: a feed is stated and above zero"
PLANNED_ZERO = "G54"
RULE_END = "the last word is M30 or M2"


def check_reading(reading: Reading, found: FindingList) -> None:
    """Add what the reader refused or doubted, and whether the program ends."""
    for refused in reading.refused:
        shown = refused.text if len(refused.text) <= 60 else refused.text[:60] + "..."
        found.add(
            "not-read",
            refused.line,
            f'"{shown}": {refused.reason}',
            rule=refused.rule,
            remedy="Nothing after this line was followed.",
        )
    texts = {
        "space-in-number": "a blank stands within a number; by the published rule it has no meaning, "
        "but some controls read two numbers",
        "remark-not-ascii": "a remark has characters beyond plain ASCII",
        "return-level-unclear": "the height that G98 returns to in this run of cycles differs among controls "
        "(before this line, or before the first hole); the lower one is taken here",
    }
    for line, code in reading.doubts:
        found.add(code, line, texts[code])
    if reading.refused:
        return
    if not reading.ended_at:
        found.add("no-program-end", 0, "the program has no M30 or M2", rule=RULE_END, remedy="Write M30 last.")
    if reading.after_end:
        found.add(
            "text-after-end",
            reading.after_end,
            "words stand after the end of the program; they are never run",
            rule=RULE_END,
        )


def check_zero(reading: Reading, found: FindingList) -> None:
    """Add a finding where a program counts from another zero than programs of a plan do."""
    if reading.zero not in ("", PLANNED_ZERO):
        found.add(
            "other-zero",
            0,
            f"the program counts from the zero {reading.zero}; the plan writes {PLANNED_ZERO}: all of it runs "
            f"elsewhere on the table unless {reading.zero} is set to the zero of this job",
            rule="zero of the plan",
            remedy=f"Write {PLANNED_ZERO}, or make sure of {reading.zero}.",
        )


def check_modes(context: CheckContext) -> None:
    """Add findings about what was not set when a move needed it."""
    moves = context.moves
    if not len(moves):
        return
    setups = moves.setups
    units = moves.per_setup([float(s.units_stated) for s in setups])
    distance = moves.per_setup([float(s.distance_stated) for s in setups])
    context.report(units == 0, "units-not-stated", lambda i: "a move before G20 or G21 is stated", rule=RULE_START)
    context.report(
        distance == 0, "distance-mode-not-stated", lambda i: "a move before G90 or G91 is stated", rule=RULE_START
    )
    _check_places(context)
    cuts = context.cuts()
    spindle = moves.per_setup([float(s.spindle) for s in setups])
    speed = moves.per_setup([s.rpm or 0.0 for s in setups])
    context.report(
        cuts & (spindle == 0), "spindle-stopped", lambda i: "the spindle is stopped in a cut", rule=RULE_SPINDLE
    )
    context.report(
        cuts & (spindle < 0),
        "spindle-backward",
        lambda i: "the spindle turns anticlockwise (M4) in a cut",
        rule=RULE_SPINDLE,
    )
    context.report(
        cuts & (spindle != 0) & (speed <= 0),
        "spindle-speed-missing",
        lambda i: "no spindle speed is stated in a cut",
        rule=RULE_SPINDLE,
    )
    context.report(
        context.feeds & ~(moves.feed > 0),
        "feed-missing",
        lambda i: "no feed is stated, or none since the units changed",
        rule=RULE_FEED,
    )
    _check_length_offsets(context)
    _check_lengths_set(context)
    _check_stops(context)


def _check_places(context: CheckContext) -> None:
    """A move needs its place: only a rapid that ends high may do without, going up alone or sideways at a height."""
    moves = context.moves
    start, end = moves.start, moves.end
    unknown = np.isnan(start).any(axis=1) | np.isnan(end).any(axis=1)
    same_place = ((start[:, :2] == end[:, :2]) | np.isnan(end[:, :2])).all(axis=1)
    with np.errstate(invalid="ignore"):
        from_high = start[:, 2] >= context.safe_height - context.tolerance
        to_high = end[:, 2] >= context.safe_height - context.tolerance
    allowed = (moves.kind == Kind.RAPID) & to_high & (from_high | same_place)
    context.report(
        unknown & ~allowed,
        "place-unknown",
        lambda i: "the move needs a position that no line before it has stated",
        rule="the safe height is stated before any other move, also after a change of tool or length offset",
        remedy=f"Begin with G0 Z at {context.length(context.safe_height)} or above.",
    )


def _check_length_offsets(context: CheckContext) -> None:
    wrong = context.moves.per_setup([float(s.length_offset not in (None, 0, s.tool)) for s in context.moves.setups])
    context.report(
        wrong == 1,
        "length-offset",
        lambda i: (
            f"the length offset H{context.moves.setups[context.moves.setup[i]].length_offset} is in effect with tool "
            f"T{context.moves.setups[context.moves.setup[i]].tool}"
        ),
        rule="a tool is used with the length offset of its own number (common practice)",
    )


def _check_lengths_set(context: CheckContext) -> None:
    """A further tool is longer or shorter: its length offset is called, or it has its height set at a stop."""
    moves = context.moves
    for index, stop in context.length_stops().items():
        change = context.events[index]
        if stop is not None:
            continue
        later = [e.before_move for e in context.events[index + 1 :] if e.kind is EventKind.TOOL_CHANGE]
        end = min(later, default=len(moves))
        cuts = np.flatnonzero(context.feeds[change.before_move : end]) + change.before_move
        if len(cuts) and not moves.setups[moves.setup[cuts[0]]].length_offset:
            context.found.add(
                "length-not-set",
                change.line,
                f"after the change to T{change.number:.0f} nothing sets its length: there is neither G43 nor a stop "
                "before the next move",
                rule="each tool has its own length",
                remedy="Write M0 after M6 and set the height there, or G43 with H.",
            )


def _check_stops(context: CheckContext) -> None:
    for event in context.events:
        by_hand = event.kind is EventKind.TOOL_CHANGE and event.halts  # M6 stops the spindle by itself, M0 does not
        if (by_hand or event.kind in (EventKind.STOP, EventKind.OPTIONAL_STOP)) and event.spindle_turning:
            what = f"takes tool T{event.number:.0f}" if by_hand else "looks or measures"
            context.found.add(
                "stop-spindle-turning",
                event.line,
                f"the spindle turns at a stop where somebody {what}",
                remedy="Write M5 before the stop and M3 after it.",
            )
