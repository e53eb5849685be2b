"""Which of the cutters at hand fits a pocket, which is best, and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import PLAIN_STEP_OVER
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.proof_values import LEFTOVER_SHARE
from holecam.cuts.reach import HARDLY, reach_of
from holecam.errors import InputError
from holecam.shapes import Outline

HALF = 0.5
"""A second cutter is worth its change when it takes at least this share of what the first one leaves (common
practice)."""

Feed = Callable[[MillingCutter], float]
"""Feed of a cutter, mm/min."""


class CutterVerdict(Struct, frozen=True):
    """What one cutter would do: whether it can be used, what it leaves, how long it would cut, and the reason in words.

    ``left_area`` mm2 and ``narrow_places`` count what stays inside the wanted shape; ``minutes`` is for one level.
    """

    cutter: MillingCutter
    fits: bool
    left_area: float
    corners: int
    narrow_places: int
    minutes: float
    reason: str


class CutterChoice(Struct, frozen=True):
    """The best cutter, a second one for what it leaves, and the verdict on each in the order given."""

    best: MillingCutter
    second: MillingCutter | None
    verdicts: tuple[CutterVerdict, ...]


def choose_cutter(
    outline: Outline,
    cutters: Sequence[MillingCutter],
    *,
    what: str,
    depth: float,
    islands: Sequence[Outline] = (),
    keep_away: Sequence[KeepAway] = (),
    corner_radius: float | None = None,
    feed: Feed | None = None,
) -> CutterChoice:
    """Return which cutter to take.

    The largest one that leaves nothing but inside corners; with a ``corner_radius`` that the corners may have, mm, the
    largest that is not wider. Where each leaves narrow places, the one that leaves least. ``feed`` serves the times;
    without it all cut at the same chip and speed, so that the feed goes with the diameter.

    Raises
    ------
    InputError
        No cutter is given, or none of them enters or reaches the depth.
    """
    if not cutters:
        raise InputError(f"{what}: no cutter is listed; add one", key="cutter")
    verdicts = [_verdict(outline, c, depth, islands, keep_away, feed) for c in cutters]
    usable = [v for v in verdicts if v.fits]
    if not usable:
        reasons = "; ".join(v.reason for v in verdicts)
        raise InputError(
            f"{what}: none of the cutters can cut it: {reasons}. Add a smaller or longer one.", key="cutter"
        )
    whole = [v for v in usable if v.narrow_places == 0]
    if corner_radius is not None:
        tight = [v for v in whole if v.cutter.radius <= corner_radius + 1e-9]
        whole = tight or whole
    best = (
        max(whole, key=lambda v: v.cutter.diameter)
        if whole
        else min(usable, key=lambda v: (v.left_area, -v.cutter.diameter))
    )
    second = _second(best, usable)
    named = tuple(_with_words(v, best, second) for v in verdicts)
    return CutterChoice(best.cutter, second.cutter if second else None, named)


def _verdict(
    outline: Outline,
    cutter: MillingCutter,
    depth: float,
    islands: Sequence[Outline],
    keep_away: Sequence[KeepAway],
    feed: Feed | None,
) -> CutterVerdict:
    name = f'"{cutter.name}"'
    if not cutter.reaches(depth):
        return CutterVerdict(cutter, False, 0.0, 0, 0, 0.0, f"{name} is too short for a depth of {depth:.3f} mm")
    walls, allowed = walls_of_cut(outline, islands, keep_away)
    level = OffsetStack(walls.walls, allowed).at(cutter.radius)
    if not level.loops:
        reason = f"{name} of {cutter.diameter:.3f} mm does not enter"
        return CutterVerdict(cutter, False, outline.area, 0, 0, 0.0, reason)
    border = OffsetStack(walls.walls, allowed).at(HARDLY) if keep_away else None
    reach = reach_of(walls.walls, level, border)
    least = LEFTOVER_SHARE * cutter.diameter**2
    patches = [p for p in reach.leftovers if p.area > least]
    narrow = sum(1 for p in patches if p.reason != "inside corner")
    corners = len(patches) - narrow
    rooms = sum(loop.signed_area for loop in level.loops)
    rate = feed(cutter) if feed is not None else 100.0 * cutter.diameter
    length = rooms / (PLAIN_STEP_OVER * cutter.diameter) + sum(loop.length for loop in level.loops)
    words = f"{name} leaves {reach.left_area:.2f} mm2 in {corners} inside corner{'s' if corners != 1 else ''}"
    if narrow:
        words += f" and {narrow} narrow place(s)"
    return CutterVerdict(cutter, True, reach.left_area, corners, narrow, length / rate, words)


def _second(best: CutterVerdict, usable: Sequence[CutterVerdict]) -> CutterVerdict | None:
    """Return the largest cutter that takes at least half of what the best one leaves, if that is worth a number."""
    if best.left_area <= LEFTOVER_SHARE * best.cutter.diameter**2:
        return None
    smaller = [v for v in usable if v.cutter.diameter < best.cutter.diameter and v.left_area <= HALF * best.left_area]
    return max(smaller, key=lambda v: v.cutter.diameter, default=None)


def _with_words(verdict: CutterVerdict, best: CutterVerdict, second: CutterVerdict | None) -> CutterVerdict:
    words = verdict.reason
    if verdict is best:
        words += ": taken" + (
            ", the largest that gets everywhere" if not verdict.narrow_places else ", it leaves least"
        )
    elif verdict is second:
        words += ": for what the first one leaves"
    elif verdict.fits and verdict.narrow_places and not best.narrow_places:
        words += ": does not get everywhere"
    elif verdict.fits and verdict.cutter.diameter < best.cutter.diameter:
        words += f": smaller than needed, about {verdict.minutes / best.minutes:.1f} times as long"
    return CutterVerdict(
        verdict.cutter,
        verdict.fits,
        verdict.left_area,
        verdict.corners,
        verdict.narrow_places,
        verdict.minutes,
        words,
    )
