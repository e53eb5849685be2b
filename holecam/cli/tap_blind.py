"""A blind hole as ``holecam tap`` is asked for it: depth for a wanted thread, or the deepest over a bottom."""

from __future__ import annotations

from typing import NamedTuple

from holecam.cli.look_up import both, number
from holecam.lengths.parsing import Unit
from holecam.planning.words_in_unit import in_unit
from holecam.standards.blind_holes import (
    BlindHole,
    DeepestHole,
    below_thread,
    blind_hole,
    deepest_hole,
    has_male_centre,
)
from holecam.standards.tap_leads import TapLead, tap_lead
from holecam.standards.threads import Thread


class BlindAnswer(NamedTuple):
    """The answers that were asked for; lengths in mm. ``bottom`` is what ``deepest`` leaves."""

    tap: TapLead
    male_centre: bool
    point_deg: float
    below: float
    made: BlindHole | None
    deepest: DeepestHole | None
    bottom: float | None


def blind_answer(
    thread: Thread,
    *,
    hole: float,
    lead: str,
    point_deg: float,
    depth: float | None,
    thickness: float | None,
    bottom: float | None,
) -> BlindAnswer:
    """Return the depths for a wanted ``depth`` of thread, and the deepest hole that leaves ``bottom``, all in mm.

    Raises
    ------
    InputError
        The kind of tap is not known, the angle is none, or the bottom is as thick as the stock.
    """
    tap = tap_lead(lead)
    centre = has_male_centre(thread, male_centre_d=tap.male_centre_d)
    below = below_thread(thread, lead_pitches=tap.most_pitches, male_centre=centre)
    made = deepest = None
    if depth is not None:
        made = blind_hole(thread, full_thread=depth, drill=hole, below=below, point_deg=point_deg, thickness=thickness)
    if bottom is not None and thickness is not None:
        deepest = deepest_hole(thread, thickness=thickness, bottom=bottom, drill=hole, below=below, point_deg=point_deg)
    return BlindAnswer(tap, centre, point_deg, below, made, deepest, bottom)


def blind_json(answer: BlindAnswer) -> dict[str, object]:
    """Return the answer for JSON."""
    data: dict[str, object] = {
        "tap": answer.tap.name,
        "lead_pitches": answer.tap.most_pitches,
        "male_centre": answer.male_centre,
        "point_deg": answer.point_deg,
        "below_thread_mm": number(answer.below),
        "source": answer.tap.source,
    }
    if answer.made is not None:
        data["full_thread_mm"] = number(answer.made.full_thread)
        data["threads"] = number(answer.made.threads)
        data["drill_depth_mm"] = number(answer.made.cylinder)
        data["tip_depth_mm"] = number(answer.made.tip)
        data["bottom_mm"] = number(answer.made.bottom)
    if answer.deepest is not None:
        data["deepest"] = {
            "bottom_mm": number(answer.bottom),
            "tip_depth_mm": number(answer.deepest.tip),
            "drill_depth_mm": number(answer.deepest.cylinder),
            "full_thread_mm": number(answer.deepest.full_thread),
            "threads": number(answer.deepest.threads),
            "why_none": answer.deepest.why_none,
        }
    return data


def blind_lines(answer: BlindAnswer, unit: Unit) -> list[str]:
    """Return the answer as text, the unit ``unit`` first."""
    centre = ", half a diameter for the tap's male centre" if answer.male_centre else ""
    kind = f"{answer.tap.name} tap, lead {answer.tap.most_pitches:g} threads, 1 of clearance{centre}"
    lines = [f"Below the last full thread: {both(answer.below, unit)} ({kind})"]
    made, deepest = answer.made, answer.deepest
    if made is not None:
        lines.append(
            f"Blind hole for {both(made.full_thread, unit)} of thread: drill {both(made.cylinder, unit)} to the full "
            f"diameter, {both(made.tip, unit)} to the tip"
        )
        if made.bottom is not None:
            left = f"Left under the tip: {both(made.bottom, unit)}"
            lines.append(left if made.bottom > 0 else f"{left}: THE DRILL COMES THROUGH")
    if deepest is not None and answer.bottom is not None:
        lines.append(
            f"To leave {both(answer.bottom, unit)} under the tip: tip at most {both(deepest.tip, unit)}, full diameter "
            f"{both(deepest.cylinder, unit)}; usable thread {both(deepest.full_thread, unit)}, "
            f"{deepest.threads:.1f} threads"
        )
        if deepest.why_none:
            lines.append(f"No thread remains: {in_unit(deepest.why_none, unit)}")
    return lines
