"""The key of a cut's picture: every kind of line, every place with its letter, every size, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from holecam.output.cut_scene import LOOKS, too_many
from holecam.output.plain_words import ranges, short
from holecam.output.sizes import area_text, place_text, size_text
from holecam.plan.cut_view import CutterPass, CutterSpot, CutView, LeftPatch, LineKind, SpotKind
from holecam.plan.milled import MilledCut
from holecam.plan.plan import Plan

MOST_ROWS = 12
"""Sizes of leftovers that are told one by one; of the rest the sum."""

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def line_rows(view: CutView, work: CutterPass, *, kept_seen: bool) -> list[tuple[str, str, str]]:
    """Return the kinds of lines and areas of a picture: what draws it, its look, its words.

    ``kept_seen`` says whether a kept curve, or its margin, lies in what is seen.
    """
    kinds = {line.kind for line in work.lines}
    rows = [("line", LOOKS[kind], _line_words(work, kind)) for kind in LineKind if kind in kinds]
    rows.append(("circle", "cutter", "cutter, where letters stand"))
    if work.left:
        rows.append(("area", "left", "stays: out of its reach"))
    if work.number > 1 and view.passes[0].left:
        rows.append(("area", "barred", "left before, comes off now"))
    if view.islands:
        rows.append(("area", "edge", "stays standing"))
    if kept_seen:
        rows.append(("line", "kept", "keeps its shape"))
    if kept_seen and any(k.margin_lines for k in view.kept):
        rows.append(("line", "margin", "limit of the cutter's edge"))
    if view.holes:
        rows.append(("circle", "drilled", "drilled before"))
    if view.boards:
        rows.append(("area", "halt", "spoil board, hard against the edge"))
    return rows


def _line_words(work: CutterPass, kind: LineKind) -> str:
    words = {
        LineKind.ENTRY: "centre: on the way down",
        LineKind.CUT: "centre: cutting",
        LineKind.FINISH: "centre: last pass along a wall",
        LineKind.CLEAN_UP: f"centre: {work.last_stage}, to full size",
        LineKind.LINK: "centre: through cut material",
        LineKind.TRAVEL: "centre: lifted, above the work",
    }[kind]
    if too_many(work, kind):
        return f"{words.removeprefix('centre: ')}: too many lines to be drawn"
    if kind is LineKind.FINISH and work.stage:
        return f"centre: along the walls, {work.stage}"
    return words


def lettered(spots: Sequence[CutterSpot]) -> list[tuple[str, CutterSpot]]:
    """Return the telling places with their letters."""
    return list(zip(LETTERS, spots, strict=False))


def spot_rows(plan: Plan, cut: MilledCut, spots: Sequence[tuple[str, CutterSpot]]) -> list[str]:
    """Return what each lettered place is."""
    rows = []
    for letter, spot in spots:
        words = {
            SpotKind.ENTRY: "gets down here",
            SpotKind.START: "begins to cut",
            SpotKind.END: "ends",
            SpotKind.WIDEST: f"widest: nearest wall {size_text(plan, spot.figure or 0.0)} from the centre",
            SpotKind.GREATEST_BITE: f"greatest bite: a tooth cuts over {spot.figure or 0.0:.0f} degrees",
            SpotKind.NEAREST: f'nearest to "{short(spot.to, 24)}"',
        }[spot.kind]
        straight = f" (straight cut {cut.straight_deg:.0f})" if cut.straight_deg is not None else ""
        if spot.kind is SpotKind.GREATEST_BITE:
            words += straight
        rows.append(f"{letter} at {place_text(plan, spot.at)}: {words}")
    return rows


def left_rows(plan: Plan, left: Sequence[LeftPatch]) -> list[str]:
    """Return the sizes of what stays, alike ones together."""
    if not left:
        return ["It clears all that is wanted."]
    groups: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for number, patch in enumerate(left, start=1):
        out = "" if patch.sticks_out is None else size_text(plan, patch.sticks_out)
        groups[(patch.reason, area_text(plan, patch.area), out)].append(number)
    rows = []
    for (reason, area, out), numbers in list(groups.items())[:MOST_ROWS]:
        each = " each" if len(numbers) > 1 else ""
        sticks = f", stands out {out} from the rim" if out else ""
        rows.append(f"{ranges(numbers)}: stays in {_article(reason)}: {area}{each}{sticks}")
    rest = [n for numbers in list(groups.values())[MOST_ROWS:] for n in numbers]
    if rest:
        rows.append(f"{ranges(sorted(rest))}: {area_text(plan, sum(left[n - 1].area for n in rest))}")
    if len(left) > 1:
        rows.append(f"In all {len(left)} places, {area_text(plan, sum(p.area for p in left))}.")
    return rows


def _article(reason: str) -> str:
    return f"an {reason}" if reason[0] in "aeiou" else f"a {reason}"


def body_rows(plan: Plan, cut: MilledCut, view: CutView) -> list[str]:
    """Return what remains of the body, how boards are chosen, what is overcut."""
    rows = []
    if view.wall is not None:
        rows.append(f"Thinnest wall left: {size_text(plan, view.wall.length)}.")
    if cut.bottom is not None:
        rows.append(f"Left under it: {size_text(plan, cut.bottom)}." if cut.bottom > 0 else "It goes right through.")
    for kept in view.kept:
        if kept.kept is not None:
            asked = f" (asked for {size_text(plan, kept.margin)})" if kept.margin > 0 else ""
            rows.append(f'"{short(kept.name, 24)}" stays {size_text(plan, kept.kept.length)} off{asked}.')
    for board in view.boards:
        where = "start" if board.at_start else "end"
        rows.append(f"Spoil board at its {where}: {size_text(plan, board.thickness)} thick or more.")
    entries = [h for h in view.holes if h.is_entry]
    for hole in entries:
        rows.append(f"Drill first, for the way down: {size_text(plan, hole.diameter)} at {place_text(plan, hole.at)}.")
    if len(view.holes) > len(entries):
        chain = next(h for h in view.holes if not h.is_entry)
        rows.append(
            f"Chain drilling: {len(view.holes) - len(entries)} holes of {size_text(plan, chain.diameter)}; two "
            "handwheels cannot follow the lines."
        )
    bites: dict[str, int] = defaultdict(int)
    for overcut in view.overcuts:
        bites[size_text(plan, overcut.bite)] += 1
    for bite, count in bites.items():
        rows.append(f"{count} corner{'s' if count > 1 else ''} overcut, {bite} past the walls.")
    return rows
