"""Slots and pockets as text and as plain values."""

from __future__ import annotations

from typing import Any

from holecam.lengths import Unit, area_text, decimal_text, exact, length_text, number_in
from holecam.output.plain_words import plain
from holecam.plan.cut_view import LeftPatch
from holecam.plan.milled import MilledCut, SizeSum


def milled_lines(cut: MilledCut, unit: Unit) -> list[str]:
    """Return what a sheet says of a slot or pocket: sums, levels, walls, proof. One sentence a line."""
    lines = [f'{cut.kind.upper()} "{plain(cut.name)}" in {plain(cut.body)}, with {plain(cut.cutter)}']
    for size in cut.sums:
        lines.append(_sum(size, unit))
    if cut.width is not None:
        lines.append(f"Width {length_text(cut.width, unit)}, depth {length_text(cut.depth, unit)}.")
    else:
        lines.append(f"Depth {length_text(cut.depth, unit)}.")
    if cut.box is not None:
        low_x, low_y, high_x, high_y = (number_in(v, unit, signed=True) for v in cut.box)
        lines.append(
            f"It reaches from X {low_x} to {high_x} and from Y {low_y} to {high_y} {unit}, on the piece as drawn: "
            f"{length_text(cut.box[2] - cut.box[0], unit)} by {length_text(cut.box[3] - cut.box[1], unit)}."
        )
    heights = ", ".join(number_in(z, unit, signed=True) for z in cut.levels)
    passes = "Passes" if len(cut.levels) > 1 else "One pass"
    lines.append(f"{passes} at Z {heights} {unit}; sideways step {length_text(cut.step_over, unit)} (starting points).")
    if cut.thinnest_wall is not None:
        lines.append(f"Thinnest wall left beside it: {length_text(cut.thinnest_wall, unit)}.")
    if cut.bottom is not None:
        lines.append(f"Left under it: {length_text(cut.bottom, unit)}.")
    for name, away in cut.kept:
        lines.append(f'Distance to "{plain(name)}": {length_text(away, unit)}.')
    share = decimal_text(exact(100 * cut.reachable_share), 2)
    lines.append(
        f"Simulated: the cutter's edge stays {length_text(cut.nearest_wall, unit)} or more from what must stay; it "
        f"reaches {share} percent of the wanted area, and all of that is cut."
    )
    if cut.peak_deg is not None and cut.straight_deg is not None:
        lines.append(
            f"A tooth cuts over at most {cut.peak_deg:.0f} degrees; "
            f"in a straight cut at this step {cut.straight_deg:.0f}."
        )
    for reason in dict.fromkeys(p.reason for p in cut.left):
        patches = [p for p in cut.left if p.reason == reason]
        area = sum(p.area for p in patches)
        count = f"{len(patches)} place{'s' if len(patches) > 1 else ''}"
        lines.append(f"Left by the cutter, {plain(reason)}: {count}, {area_text(area, unit)} in all.")
    for stage in cut.stages:
        if stage.size is not None:
            meant = length_text(stage.size, unit)
            lines.append(f"{stage.name.capitalize()}: to {meant}, {minutes_words(stage.minutes)}.")
    return lines


def minutes_words(minutes: float) -> str:
    """Return a time of cutting as a person says it."""
    if minutes < 1.0:
        return "less than a minute"
    whole = round(minutes)
    return f"about {whole} minute{'s' if whole != 1 else ''}"


def _sum(size: SizeSum, unit: Unit) -> str:
    def term(words: str, length: float, times: int) -> str:
        count = f"{times} x " if times != 1 else ""
        return f"{count}{length_text(length, unit)} ({plain(words)})"

    parts = " + ".join(term(t.words, t.length, t.times) for t in size.terms)
    return f"{plain(size.words).capitalize()}: {parts} = {length_text(size.total, unit)}."


def milled_facts(cut: MilledCut) -> dict[str, Any]:
    """Return a slot or pocket as plain values; lengths in mm, areas in mm2."""
    return {
        "name": cut.name,
        "kind": cut.kind,
        "body": cut.body,
        "cutter": cut.cutter,
        "depth_mm": cut.depth,
        "width_mm": cut.width,
        "step_depth_mm": cut.step_depth,
        "step_over_mm": cut.step_over,
        "levels_mm": list(cut.levels),
        "sums": [
            {
                "words": s.words,
                "total_mm": s.total,
                "terms": [{"words": t.words, "length_mm": t.length, "times": t.times} for t in s.terms],
            }
            for s in cut.sums
        ],
        "thinnest_wall_mm": cut.thinnest_wall,
        "bottom_mm": cut.bottom,
        "kept": [{"name": name, "distance_mm": away} for name, away in cut.kept],
        "nearest_wall_mm": cut.nearest_wall,
        "reachable_share": cut.reachable_share,
        "peak_engagement_deg": cut.peak_deg,
        "straight_engagement_deg": cut.straight_deg,
        "left": [_patch_facts(p) for p in cut.left],
        "left_by_second_cutter": [_patch_facts(p) for work in cut.view.passes if work.number > 1 for p in work.left],
        "overcuts": [{"corner_mm": list(o.corner), "bite_mm": o.bite} for o in cut.view.overcuts],
        "spoil_boards": [{"at_start": b.at_start, "thickness_mm": b.thickness} for b in cut.view.boards],
        "stages": [{"name": s.name, "size_mm": s.size, "minutes": s.minutes} for s in cut.stages],
        "chain_drilled_mm": [list(p) for p in cut.drilled],
        "words": list(cut.words),
    }


def _patch_facts(patch: LeftPatch) -> dict[str, Any]:
    return {
        "area_mm2": patch.area,
        "at_mm": list(patch.at),
        "reason": patch.reason,
        "sticks_out_mm": patch.sticks_out,
    }
