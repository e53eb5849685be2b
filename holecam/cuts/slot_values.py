"""Slots as values: what is asked for and what was planned. Lengths in mm, Z up, Z 0 at the face that is cut."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.cuts.chain_drilling_values import ChainDrilling
from holecam.cuts.clearance import ClearanceSum
from holecam.cuts.cut_choices import (
    ENGAGEMENT_RATIO,
    RAMP_DEG,
    ChainDrillWish,
    Corners,
    Direction,
    Entry,
    EntryHole,
    KeepAway,
    SneakWish,
)
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.hand_values import HandWork
from holecam.cuts.path_values import CutPath
from holecam.cuts.proof_values import CutProof, WallReport
from holecam.cuts.sneaking_values import SneakPass
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point


class OpenEnd(Struct, frozen=True):
    """The slot runs out past the edge; the cutter's centre goes ``run_out`` past it, its radius when ``None``."""

    run_out: float | None = None

    def __post_init__(self) -> None:
        if self.run_out is not None and not (math.isfinite(self.run_out) and self.run_out >= 0):
            raise InputError(f"run-out {self.run_out} mm: expected a length of 0 or more")


class BlindEnd(Struct, frozen=True):
    """A round end inside. The end of the line is where the cleared bar ends (``"bar"``), where the cutter's centre
    stops (``"axis"``), or where the slot ends on its axis (``"arc"``)."""

    measured_to: str = "bar"

    def __post_init__(self) -> None:
        if self.measured_to not in ("bar", "axis", "arc"):
            raise InputError(f'blind end measured to "{self.measured_to}": expected "bar", "axis" or "arc"')


class StopShort(Struct, frozen=True):
    """It stops before a curve or keep-out; the cutter's edge keeps the margin."""

    before: KeepAway


SlotEnd = OpenEnd | BlindEnd | StopShort


class Bar(Struct, frozen=True):
    """The bar that a slot clears: its width, its clearance on each side, and whether its ends are square."""

    name: str
    width: float
    clearance: float
    square_ends: bool = True


class SlotRequest(Struct, frozen=True):
    """A slot to plan.

    Parameters
    ----------
    name : str
    centre_line : tuple of Segment or Arc
        A chain from its start to its end, each curve starting where the one before ended.
    width, depth : float
    cutter : MillingCutter
    ends : (SlotEnd, SlotEnd)
        At the start and at the end of the centre line.
    body : Outline or None
        Outline of the former or part; walls, open ends and the depth of run-out are measured from it.
    body_name : str
    stock_thickness : float or None
        Height of the body under the face that is cut.
    through : bool
    bar : Bar or None
        What it clears; then the ends say how far the bar may reach.
    keep_away : tuple of KeepAway
        Curves and keep-outs beside the one at the end.
    step_depth, step_over, finish : float or None
        Depth of one pass, sideways step, what is left on the walls for the last pass; ``None`` takes a share of the
        cutter's diameter. :func:`holecam.cuts.cutting_steps.cutting_steps` knows better ones for a material.
    spoil_board : bool
        A board is clamped against the edge where the slot runs out; without it the cutter gets down in the air there.
    chain : ChainDrillWish or None
        Holes to drill where two handwheels cannot follow.
    direction, entry, entry_hole, ramp_deg : see :mod:`holecam.cuts.cut_choices`
    sneak : SneakWish or None
    clearance_z : float
        Height for sideways travel.
    least_wall, least_bottom : float or None
    """

    name: str
    centre_line: tuple[Curve, ...]
    width: float
    depth: float
    cutter: MillingCutter
    ends: tuple[SlotEnd, SlotEnd] = (BlindEnd(), BlindEnd())
    body: Outline | None = None
    body_name: str = "part"
    stock_thickness: float | None = None
    through: bool = False
    bar: Bar | None = None
    keep_away: tuple[KeepAway, ...] = ()
    step_depth: float | None = None
    step_over: float | None = None
    finish: float = 0.0
    direction: Direction = Direction.CONVENTIONAL
    entry: Entry | None = None
    entry_hole: EntryHole | None = None
    ramp_deg: float = RAMP_DEG
    corners: Corners = Corners.SLOW
    engagement_ratio: float = ENGAGEMENT_RATIO
    sneak: SneakWish | None = None
    clearance_z: float = 5.0
    least_wall: float | None = None
    least_bottom: float | None = None
    spoil_board: bool = True
    chain: ChainDrillWish | None = None
    sums: tuple[ClearanceSum, ...] = ()


class EndReport(Struct, frozen=True):
    """How one end of a slot came out.

    Parameters
    ----------
    at_start : bool
        At the start of the centre line, else at its end.
    words : str
    centre_stops_at : Point
        Where the cutter's centre turns round, on the centre line or its straight continuation.
    spoil_board : float or None
        Open ends: the least thickness of the spoil board, square to the edge: what the cutter reaches past it.
    board : Outline or None
        Where that board lies, for a picture: hard against the edge, its length free.
    kept_margin : float or None
        Stopped ends: the cutter's edge to the curve, mm, as planned.
    bar_ends_at : Point or None
        How far a bar with square ends may reach along the centre line, its clearance kept.
    bar_too_long_by : float or None
        What has to come off the bar when it was meant to end at the end of the centre line; 0 when it fits, ``inf``
        when no place for its end is found.
    led_on : float
        Open ends: how far past the end of the centre line the edge lies to which the slot is led straight on, mm; below
        0 where the line goes past it.
    round_corners_to : float or None
        Or: the radius to which its two corners have to be rounded instead; ``None`` where rounding does not help.
    """

    at_start: bool
    words: str
    centre_stops_at: Point
    spoil_board: float | None = None
    kept_margin: float | None = None
    bar_ends_at: Point | None = None
    bar_too_long_by: float | None = None
    round_corners_to: float | None = None
    board: Outline | None = None
    led_on: float = 0.0


class KeptOut(Struct, frozen=True):
    """What keep-outs that no end of a slot names take from it.

    Parameters
    ----------
    names : tuple of str
        The keep-outs that bind it.
    area : float
        Of the slot as it would be without them, mm2.
    length : float
        Of the pass along its middle, mm.
    across : bool
        The middle goes on behind them: what lies there is not cut at all.
    """

    names: tuple[str, ...]
    area: float
    length: float
    across: bool


class SlotPlan(Struct, frozen=True):
    """A planned slot.

    ``swept`` is its exact outline at full depth, run-out included; ``path`` is the whole cut, or with sneaking up the
    undersize one, which is the first stage of ``sneak``; ``by_hand`` says how two handwheels do it, or that they
    cannot; ``chain_drilling`` where they cannot and it was asked for; ``entry_holes`` are drilled before, to full
    depth; ``kept_out`` is what keep-outs in its way take from it.
    """

    request: SlotRequest
    step_over: float
    step_depth: float
    centre_path: tuple[Curve, ...]
    swept: tuple[Outline, ...]
    ends: tuple[EndReport, EndReport]
    walls: WallReport
    path: CutPath
    proof: CutProof
    by_hand: HandWork
    sneak: tuple[SneakPass, ...] = ()
    notes: tuple[str, ...] = ()
    chain_drilling: ChainDrilling | None = None
    entry_holes: tuple[EntryHole, ...] = ()
    kept_out: KeptOut | None = None
