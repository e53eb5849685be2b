"""A slot or pocket seen from above, for its picture: what is wanted, where the cutter goes, what stays.

Places are in the frame of the body that is cut, mm; heights are mm below its face, Z 0, up is positive.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from holecam.shapes import Curve, Outline, Point


class LineKind(StrEnum):
    """What the cutter does along a stretch of its path, seen from above."""

    ENTRY = "entry"
    CUT = "cut"
    FINISH = "finish"
    CLEAN_UP = "clean-up"
    LINK = "link"
    TRAVEL = "travel"


class SpotKind(StrEnum):
    """Why a place of the cutter is telling."""

    ENTRY = "entry"
    START = "start"
    END = "end"
    WIDEST = "widest"
    GREATEST_BITE = "greatest bite"
    NEAREST = "nearest"


class LeftPatch(Struct, frozen=True):
    """What a cutter leaves: border, holes in it, area, mm2, and the reason.

    ``sticks_out`` is how far it stands out of the cutter's rim into the corner, mm; ``None`` where it is no corner.
    """

    border: Outline
    area: float
    at: Point
    reason: str
    holes: tuple[Outline, ...] = ()
    sticks_out: float | None = None


class CutterLine(Struct, frozen=True):
    """A chain along which the cutter's centre goes, all of one kind."""

    kind: LineKind
    curves: tuple[Curve, ...]


class CutterSpot(Struct, frozen=True):
    """A place of the cutter's centre that tells something.

    ``figure`` goes with the kind: degrees over which a tooth cuts at the greatest bite; mm from the centre to the
    nearest wall at the widest place; mm from the cutter's edge to the curve ``to`` at the nearest one.
    """

    kind: SpotKind
    at: Point
    figure: float | None = None
    to: str = ""


class CutterPass(Struct, frozen=True):
    """What one cutter does at each of its levels, which are alike in plan.

    ``number`` is 1 for the first cutter, 2 for the one that cuts what the first left; ``left`` is what stays after it.
    ``stage`` and ``last_stage`` name the stages of sneaking up whose lines are shown, empty when it is cut at once.
    """

    number: int
    cutter: str
    diameter: float
    levels: tuple[float, ...]
    lines: tuple[CutterLine, ...]
    spots: tuple[CutterSpot, ...]
    left: tuple[LeftPatch, ...]
    stage: str = ""
    last_stage: str = ""


class Gauge(Struct, frozen=True):
    """A distance with both its ends."""

    name: str
    length: float
    start: Point
    end: Point


class KeptCurve(Struct, frozen=True):
    """A curve that keeps its shape, and the lines that the cutter's edge does not cross."""

    name: str
    curves: tuple[Curve, ...]
    margin: float
    margin_lines: tuple[tuple[Curve, ...], ...]
    kept: Gauge | None


class Overcut(Struct, frozen=True):
    """A relieved corner: where it is, where the cutter's centre goes, how far the bite reaches past the walls."""

    corner: Point
    center: Point
    radius: float
    bite: float


class SpoilBoard(Struct, frozen=True):
    """A board against the edge where a slot runs out. Its thickness is the least that is needed; its length is free."""

    outline: Outline
    thickness: float
    at_start: bool


class HoleForCut(Struct, frozen=True):
    """A hole that is drilled for a cut: for the cutter to get down, or one of a chain along the line."""

    at: Point
    diameter: float
    is_entry: bool


class CutView(Struct, frozen=True):
    """Everything that the picture of a cut draws.

    Parameters
    ----------
    on_part : bool
        The body is the part, and lies as the set-up says; any other lies on its own datum.
    wanted, islands : tuple of Outline
        The edge that is asked for, run-out past an open edge included, and what stands inside.
    cleared : tuple of Outline
        Edge of what the first cutter clears at full depth.
    body : Outline or None
    openings : tuple of Outline
    thickness : float or None
        Of the body, mm.
    """

    on_part: bool
    wanted: tuple[Outline, ...]
    islands: tuple[Outline, ...]
    cleared: tuple[Outline, ...]
    body: Outline | None
    openings: tuple[Outline, ...]
    thickness: float | None
    kept: tuple[KeptCurve, ...]
    passes: tuple[CutterPass, ...]
    overcuts: tuple[Overcut, ...]
    boards: tuple[SpoilBoard, ...]
    wall: Gauge | None
    holes: tuple[HoleForCut, ...] = ()
