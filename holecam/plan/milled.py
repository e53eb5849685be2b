"""Slots and pockets as the papers show them."""

from __future__ import annotations

from msgspec import Struct

from holecam.plan.cut_view import CutView, LeftPatch
from holecam.shapes import Curve, Outline, Point


class SumTerm(Struct, frozen=True):
    """One term of a sum: ``times`` times ``length`` mm, in words."""

    words: str
    length: float
    times: int


class SizeSum(Struct, frozen=True):
    """A size and what it is the sum of, mm."""

    words: str
    total: float
    terms: tuple[SumTerm, ...]


class CutStage(Struct, frozen=True):
    """One stage of a cut: the whole of it, or one step of sneaking up on the size.

    ``size`` is the width meant after it, mm, ``None`` for a pocket cut at once; ``measure`` and ``next_rule`` are empty
    where there is nothing to measure. ``minutes`` is an estimate.
    """

    name: str
    size: float | None
    measure: str
    next_rule: str
    minutes: float


class MilledCut(Struct, frozen=True):
    """A slot or pocket.

    Parameters
    ----------
    name, kind, body : str
        ``kind`` is ``slot`` or ``pocket``; ``body`` what is cut, in the user's words.
    depth, step_depth, step_over : float
    width : float or None
        Of a slot.
    cutter : str
    sums : tuple of SizeSum
    walls : tuple of Outline
        Its edge at full depth.
    islands : tuple of Outline
    centre_line : tuple of Segment or Arc
        Of a slot.
    levels : tuple of float
        Heights of the passes.
    left : tuple of LeftPatch
    thinnest_wall, bottom : float or None
    kept : tuple of (name, distance)
        Curves that keep their shape, and how far the cut stays from them.
    nearest_wall : float
        Least distance between cutter's edge and what must stay, mm: the proof that nothing is gouged.
    reachable_share : float
        Share of the wanted area that the cutter reaches; everything of it is cut.
    peak_deg, straight_deg : float or None
        Greatest angle over which a tooth cuts, and that of a straight cut.
    words : tuple of str
        Ends, notes, advice by hand.
    stages : tuple of CutStage
    view : CutView
        The same from above, for a picture.
    drilled : tuple of Point
        Centres of a chain-drilled line.
    box : (x least, y least, x greatest, y greatest) or None
        How far the finished cut reaches, its round ends and a run-out over the edge included, mm.
    """

    name: str
    kind: str
    body: str
    depth: float
    step_depth: float
    step_over: float
    width: float | None
    cutter: str
    sums: tuple[SizeSum, ...]
    walls: tuple[Outline, ...]
    islands: tuple[Outline, ...]
    centre_line: tuple[Curve, ...]
    levels: tuple[float, ...]
    left: tuple[LeftPatch, ...]
    thinnest_wall: float | None
    bottom: float | None
    kept: tuple[tuple[str, float], ...]
    nearest_wall: float
    reachable_share: float
    peak_deg: float | None
    straight_deg: float | None
    words: tuple[str, ...]
    stages: tuple[CutStage, ...]
    view: CutView
    drilled: tuple[Point, ...] = ()
    box: tuple[float, float, float, float] | None = None
