"""Pockets as values: what is asked for and what was planned. Lengths in mm, Z up, Z 0 at the face that is cut."""

from __future__ import annotations

from enum import StrEnum

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
    Strategy,
)
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.hand_values import HandWork
from holecam.cuts.path_values import CutPath
from holecam.cuts.proof_values import CutProof, WallReport
from holecam.cuts.region_checks import island_label
from holecam.cuts.sneaking_values import SneakPass
from holecam.shapes import Outline, Point


class ReliefShape(StrEnum):
    """Where the round overcut of an inside corner lies: on its bisector, along one wall, or along the longer wall.

    Along a wall means that the overcut bites into the other one; ``ALONG_FIRST`` follows the wall before the corner
    in the order of the outline, travelled anticlockwise.
    """

    DIAGONAL = "diagonal"
    ALONG_FIRST = "along one wall"
    ALONG_LONGER = "longer wall"


class ReliefWish(Struct, frozen=True):
    """Overcut in inside corners.

    ``corners`` counts the corners of the outline from 1, anticlockwise from its first point; ``None`` takes all square
    and sharper ones. ``mirrored``: the outline is seen in a mirror, and the first wall of a corner is its second.
    """

    shape: ReliefShape = ReliefShape.DIAGONAL
    corners: tuple[int, ...] | None = None
    mirrored: bool = False


class Relief(Struct, frozen=True):
    """One planned overcut: the corner, where the cutter's centre goes, and how far the bite reaches past the walls."""

    corner: Point
    center: Point
    radius: float
    bite: float


class PocketRequest(Struct, frozen=True):
    """A pocket with a flat floor to plan.

    ``outline`` is its wall, ``islands`` stay standing. Everything else as in
    :class:`holecam.cuts.slot_values.SlotRequest`. ``second_cutter`` cuts only what ``cutter`` leaves. ``island_names``
    names the first islands; an empty name leaves one its number.
    """

    name: str
    outline: Outline
    depth: float
    cutter: MillingCutter
    islands: tuple[Outline, ...] = ()
    keep_away: tuple[KeepAway, ...] = ()
    body: Outline | None = None
    body_name: str = "part"
    stock_thickness: float | None = None
    through: bool = False
    step_depth: float | None = None
    step_over: float | None = None
    finish: float = 0.0
    strategy: Strategy = Strategy.ALONG_OUTLINE
    row_angle_deg: float = 0.0
    direction: Direction = Direction.CONVENTIONAL
    corners: Corners = Corners.SLOW
    engagement_ratio: float = ENGAGEMENT_RATIO
    entry: Entry | None = None
    entry_at: Point | None = None
    entry_hole: EntryHole | None = None
    ramp_deg: float = RAMP_DEG
    relief: ReliefWish | None = None
    second_cutter: MillingCutter | None = None
    sneak: SneakWish | None = None
    clearance_z: float = 5.0
    least_wall: float | None = None
    least_bottom: float | None = None
    chain: ChainDrillWish | None = None
    sums: tuple[ClearanceSum, ...] = ()
    island_names: tuple[str, ...] = ()

    @property
    def island_labels(self) -> tuple[str, ...]:
        """What messages call the islands: the job's names in quotes, else their numbers."""
        return tuple(island_label(self.island_names, k) for k in range(len(self.islands)))


class PocketPlan(Struct, frozen=True):
    """A planned pocket.

    Parameters
    ----------
    request : PocketRequest
    step_over, step_depth : float
        As used.
    path : CutPath
        Of the first cutter.
    proof : CutProof
        Of the first cutter; its leftovers carry their exact borders.
    reached : tuple of Outline
        Edge of what the first cutter clears at full depth, exact.
    reliefs : tuple of Relief
    rest_path, rest_proof, rest_by_hand : of the second cutter, or ``None``
    by_hand : HandWork
    sneak : tuple of SneakPass
    chain_drilling : ChainDrilling or None
    entry_holes : tuple of EntryHole
        Holes to drill before, to full depth, through which the cutter gets down.
    """

    request: PocketRequest
    step_over: float
    step_depth: float
    path: CutPath
    proof: CutProof
    reached: tuple[Outline, ...]
    walls: WallReport
    by_hand: HandWork
    reliefs: tuple[Relief, ...] = ()
    rest_path: CutPath | None = None
    rest_proof: CutProof | None = None
    sneak: tuple[SneakPass, ...] = ()
    chain_drilling: ChainDrilling | None = None
    notes: tuple[str, ...] = ()
    entry_holes: tuple[EntryHole, ...] = ()
    rest_by_hand: HandWork | None = None
