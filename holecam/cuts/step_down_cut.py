"""A step-down in the plane: for every pass the sideways limits, the strokes, what stays, and the least distance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from holecam.cuts.cut_choices import Direction
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.cutting_steps import FINEST_STEP_OVER
from holecam.cuts.inside_bend import InsideBend, flank_limit
from holecam.cuts.inside_bend_wall import BendWall, check_region_side, line_beside
from holecam.cuts.path_values import CutMove, LevelPath, MoveKind, along, upright
from holecam.cuts.step_down_clearance import LeastGap, WallFacts, least_gaps
from holecam.cuts.step_down_direction import DirectionNote, direction_notes
from holecam.cuts.step_down_heights import PassHeight, StepDownHeights
from holecam.cuts.step_down_region import KeptOff, Leftover, leftover, reached_area, region_polygon
from holecam.cuts.step_down_strokes import LEAST_LEAD, Guide, StrokePlanner, straight_guide
from holecam.cuts.stroke_values import Stroke
from holecam.errors import InputError
from holecam.shapes import Curve, Outline, Point, Segment
from holecam.shapes.distances import nearest_approach, point_to_curve

STEP_OVER_SHARE = 0.4
"""Ratio to the diameter. Greatest step-over in copper when nothing is said (0.25 to 0.4, common practice)."""

RUN_ON = 10.0
"""Cutter radii. How far beyond the region's size a wall is run straight on."""


class BendSide(Struct, frozen=True):
    """One bend beside the cut.

    Parameters
    ----------
    name : str
    wall : BendWall
    radius : float
        Inside radius, the largest that was measured, mm.
    sideways : float
        Margin along the section for wall, runout, spring and backlash, mm.
    gap : float or None
        Gap that may never be lost, square to the surface, mm; ``None`` takes the gap planned between floor and sheet.
    wall_standard : float
        Standard doubt of the wall's place, mm.
    wall_height : float or None
        How far the wall stands above the sheet, mm; higher up it limits nothing. ``None``: higher than the cut.
    """

    name: str
    wall: BendWall
    radius: float
    sideways: float
    gap: float | None = None
    wall_standard: float = 0.0
    wall_height: float | None = None


class CutRequest(Struct, frozen=True):
    """What to clear, with what, beside what.

    Parameters
    ----------
    region : Outline
        What has to come off, seen from above.
    cutter : MillingCutter
        Flat or bull nose.
    bends : tuple of BendSide
        The strokes run along the first one.
    step_over : float or None
        Sideways step, mm; ``None`` takes 0.4 of the diameter, or what the flat of a bull nose covers.
    direction : Direction
    shoulder : tuple of chains
        Edges of metal that stays, such as the end of the rest of the bar: the cutter comes up to them and no farther.
    shoulder_margin : float
        Distance that the cutter's edge keeps from a shoulder, mm.
    lead : float
        How far off the metal strokes start and end, mm.
    feed_deg : float or None
        Direction of straight strokes; needed without a bend, refused beside one (the strokes run along it).
    clamped_toward_deg : float or None
        Direction in plan from the free end of the piece toward where it is held.
    """

    region: Outline
    cutter: MillingCutter
    bends: tuple[BendSide, ...] = ()
    step_over: float | None = None
    direction: Direction = Direction.CONVENTIONAL
    shoulder: tuple[tuple[Curve, ...], ...] = ()
    shoulder_margin: float = 0.0
    lead: float = LEAST_LEAD
    feed_deg: float | None = None
    clamped_toward_deg: float | None = None

    def __post_init__(self) -> None:
        if self.cutter.corner_radius >= self.cutter.radius:
            raise InputError(
                f'cutter "{self.cutter.name}": a ball nose leaves no flat floor; take a flat or bull-nose cutter',
                key="cutter",
            )
        flat = self.cutter.radius - self.cutter.corner_radius
        if self.step_over is not None and not 0 < self.step_over <= flat:
            raise InputError(
                f"step-over {self.step_over:g} mm: expected above 0 and at most {flat:g} mm, half the flat end of the "
                "cutter; more leaves ridges",
                key="step_over",
            )
        finest = min(FINEST_STEP_OVER * self.cutter.diameter, flat)
        if self.step_over is not None and self.step_over < finest - 1e-9:
            raise InputError(
                f"step-over {self.step_over:g} mm with a cutter of {self.cutter.diameter:g} mm: it would rub "
                f"rather than cut. Give at least {finest:.3f} mm.",
                key="step_over",
            )
        if not self.bends and self.feed_deg is None:
            raise InputError("strokes: expected a bend to run along, or the direction of the strokes", key="feed_deg")
        if self.bends and self.feed_deg is not None:
            raise InputError("strokes: beside a bend they run along it; leave out their direction", key="feed_deg")
        if not (math.isfinite(self.shoulder_margin) and self.shoulder_margin >= 0):
            raise InputError(f"margin before the shoulder {self.shoulder_margin} mm: expected 0 or more")

    @property
    def flat_radius(self) -> float:
        """Radius of the flat end, mm."""
        return self.cutter.radius - self.cutter.corner_radius

    @property
    def step_over_used(self) -> float:
        """The sideways step, mm."""
        if self.step_over is not None:
            return self.step_over
        return min(STEP_OVER_SHARE * self.cutter.diameter, self.flat_radius)


class SideLimit(Struct, frozen=True):
    """How near a pass may come to one wall, mm from its face: flank, start of the flat end, axis.

    All ``None`` when the pass lies above the wall.
    """

    bend: str
    flank: float | None
    flat: float | None
    axis: float | None


class StepPass(Struct, frozen=True):
    """One pass, ready to be turned into motions.

    ``sheet_height`` is its height above the sheet's best place; ``limits`` one for each bend; ``left`` what stays of
    the region beside it; ``gaps`` the least distance of any tooth to the open sheet, and to each bend or wall that is
    nearer to it than the sheet.
    """

    height: PassHeight
    sheet_height: float
    limits: tuple[SideLimit, ...]
    strokes: tuple[Stroke, ...]
    left: Leftover
    gaps: tuple[LeastGap, ...]

    @property
    def least(self) -> LeastGap:
        """The least of the distances."""
        return min(self.gaps, key=lambda gap: gap.gap)

    @property
    def z(self) -> float:
        """Height of the cutter's tip on the readout, mm."""
        return self.height.z


class StepDownCut(Struct, frozen=True):
    """The whole cut.

    ``left_volume`` is the metal of the region that stays above the floor, mm3; ``left_flat`` what is not flat at the
    floor (a bull nose leaves its radius). ``shoulder_room`` is
    how much farther than asked every tooth stays from the shoulders, mm, below 0 where one cuts into it; it is worked
    out from the strokes, exactly, and not from what they were laid by.
    ``direction_notes`` say whether the cut pushes the sheet the right way.
    """

    request: CutRequest
    heights: StepDownHeights
    passes: tuple[StepPass, ...]
    left_volume: float = 0.0
    left_flat: Leftover | None = None
    shoulder_room: float | None = None
    least: LeastGap | None = None
    fits_without_cutter: bool = True
    direction_notes: tuple[DirectionNote, ...] = ()

    @property
    def reaches_nothing(self) -> bool:
        """Whether some pass has no stroke: margins, walls and cutter leave no room."""
        return any(not p.strokes for p in self.passes)


class _Sides(Struct, frozen=True, dict=True):
    request: CutRequest
    heights: StepDownHeights

    @cached_property
    def reach(self) -> float:
        x0, y0, x1, y1 = self.request.region.bounds
        return math.hypot(x1 - x0, y1 - y0) + RUN_ON * self.request.cutter.radius

    def limits(self, sheet_height: float) -> tuple[SideLimit, ...]:
        out = []
        for side in self.request.bends:
            if side.wall_height is not None and sheet_height > side.wall_height:
                out.append(SideLimit(side.name, None, None, None))
                continue
            bend = InsideBend(side.radius, self.gap_of(side), side.sideways)
            flank = flank_limit(bend, height=sheet_height, corner_radius=self.request.cutter.corner_radius)
            out.append(
                SideLimit(
                    side.name, flank, flank + self.request.cutter.corner_radius, flank + self.request.cutter.radius
                )
            )
        return tuple(out)

    def gap_of(self, side: BendSide) -> float:
        planned = self.heights.sheet_gap
        if side.gap is not None and side.gap > planned + 1e-9:
            raise InputError(
                f'bend "{side.name}": a gap of {side.gap:.4f} mm is to be kept, and the floor lies only '
                f"{planned:.4f} mm over the sheet. Ask for a smaller gap or leave more over the sheet",
                key="gap",
            )
        return planned if side.gap is None else side.gap

    def walls(self, limits: Sequence[SideLimit]) -> list[KeptOff]:
        return [
            KeptOff(side.wall.run_on(self.reach), limit.axis)
            for side, limit in zip(self.request.bends, limits, strict=True)
            if limit.axis is not None
        ]

    def shoulders(self) -> list[KeptOff]:
        keep = self.request.cutter.radius + self.request.shoulder_margin
        return [KeptOff(chain, keep, is_shoulder=True) for chain in self.request.shoulder]


def plan_cut(request: CutRequest, heights: StepDownHeights) -> StepDownCut:
    """Return the strokes, limits, leftovers and least distances of every pass.

    Raises
    ------
    InputError
        The region crosses itself or lies on the wrong side of a wall, or a gap is asked for that the floor does not
        leave.
    """
    region_polygon(request.region)
    sides = _Sides(request, heights)
    for bend in request.bends:
        check_region_side(bend.wall, request.region, length=sides.reach, name=bend.name)
    planner = StrokePlanner(
        request.region, request.cutter.radius, request.step_over_used, request.direction, request.lead
    )
    sheet = heights.belief.likeliest()
    behind = _LeftBehind(request.region)
    passes = [_pass(request, sides, planner, behind, height, height.z - sheet) for height in heights.passes]
    if not passes:
        return StepDownCut(request, heights, ())
    floor = passes[-1]
    flat = behind.at(floor.z, floor.strokes, cutting_radius=request.flat_radius)
    return StepDownCut(
        request,
        heights,
        tuple(passes),
        math.fsum(p.left.area * p.height.step for p in passes),
        flat,
        _shoulder_room(passes, sides.shoulders()),
        min((p.least for p in passes), key=lambda gap: gap.gap),
        _fits_without_cutter(request, sides, floor),
        direction_notes(
            floor.strokes,
            bends=[bend.name for bend in request.bends],
            direction=request.direction,
            clamped_toward_deg=request.clamped_toward_deg,
        ),
    )


def _shoulder_room(passes: Sequence[StepPass], shoulders: Sequence[KeptOff]) -> float | None:
    """Return by how much more than asked the nearest stroke stays off the shoulders, mm; ``None`` without any."""
    ways = {curve for p in passes for stroke in p.strokes for curve in stroke.curves}
    least = math.inf
    for side in shoulders:
        for curve in side.line:
            for way in ways:
                # no point of the way lies farther from its middle than half its length
                if point_to_curve(way.point_at(0.5), curve) - way.length / 2.0 - side.away < least:
                    least = min(least, nearest_approach(way, curve).distance - side.away)
    return least if math.isfinite(least) else None


class _LeftBehind(Struct, dict=True):
    """What stays of a region, worked out once for passes that are cut alike: above a wall many of them are."""

    region: Outline

    @cached_property
    def _known(self) -> dict[tuple[tuple[Stroke, ...], float], Leftover]:
        return {}

    def at(self, z: float, strokes: tuple[Stroke, ...], *, cutting_radius: float) -> Leftover:
        key = (strokes, cutting_radius)
        if key not in self._known:
            ways = [stroke.curves for stroke in strokes]
            self._known[key] = leftover(self.region, ways, cutting_radius=cutting_radius, z=z)
        return replace(self._known[key], z=z)


def _pass(
    request: CutRequest,
    sides: _Sides,
    planner: StrokePlanner,
    behind: _LeftBehind,
    height: PassHeight,
    sheet_height: float,
) -> StepPass:
    limits = sides.limits(sheet_height)
    walls, shoulders = sides.walls(limits), sides.shoulders()
    if walls:
        guide = Guide(walls[0].line, walls[0].away, is_bend=True)
    elif request.bends:  # above the wall: run along it all the same, over the whole region
        line = request.bends[0].wall.run_on(sides.reach)
        guide = Guide(line, request.cutter.radius, is_bend=False)
    else:
        assert request.feed_deg is not None
        guide = straight_guide(
            request.region, request.feed_deg, cutter_radius=request.cutter.radius, direction=request.direction
        )
    strokes = planner.strokes(guide, walls + shoulders, walls[1:])
    left = behind.at(height.z, strokes, cutting_radius=_band_radius(request.cutter, height.step))
    facts = [
        WallFacts(side.name, side.wall, side.radius, side.wall_standard)
        for side, limit in zip(request.bends, limits, strict=True)
        if limit.axis is not None
    ]
    gaps = least_gaps(
        [stroke.curves for stroke in strokes],
        facts,
        cutter_radius=request.cutter.radius,
        corner_radius=request.cutter.corner_radius,
        sheet_height=sheet_height,
        sheet_standard=sides.heights.sheet_standard,
        z=height.z,
    )
    return StepPass(height, sheet_height, limits, strokes, left, gaps)


def _band_radius(cutter: MillingCutter, step: float) -> float:
    """Return the radius that clears, on average over the height of the step, the volume that the cutter clears.

    Below its corner radius rc a bull nose is narrower: R - rc + sqrt(2 rc t - t^2) at the height t above the tip.
    """
    rc = cutter.corner_radius
    if rc == 0.0:
        return cutter.radius
    nodes = (0.5 - 0.5 / math.sqrt(3.0), 0.5 + 0.5 / math.sqrt(3.0))
    total = 0.0
    for share in nodes:
        t = min(share * step, rc)
        total += cutter.radius - rc + math.sqrt(2.0 * rc * t - t * t)
    return total / len(nodes)


def _fits_without_cutter(request: CutRequest, sides: _Sides, floor: StepPass) -> bool:
    """Return whether the finest cutter would reach anything at the floor: else the margins leave nothing."""
    if floor.strokes:
        return True
    needle = 0.01 * request.cutter.radius
    walls = [
        KeptOff(k.line, k.away - request.cutter.radius + needle) for k in sides.walls(floor.limits) + sides.shoulders()
    ]
    return reached_area(request.region, walls, cutting_radius=needle) > 0.01 * request.region.area


class LimitLines(Struct, frozen=True):
    """Line in plan at one height that the cutter's edge may not cross beside one bend, exact, for a picture."""

    bend: str
    flank: tuple[tuple[Curve, ...], ...]


def limit_lines(cut: StepDownCut, step_pass: StepPass) -> tuple[LimitLines, ...]:
    """Return the limit lines of a pass, one for each bend that limits it; they run on beyond the region."""
    reach = _Sides(cut.request, cut.heights).reach
    out = []
    for side, limit in zip(cut.request.bends, step_pass.limits, strict=True):
        if limit.flank is not None:
            out.append(LimitLines(side.name, line_beside(side.wall.run_on(reach), limit.flank)))
    return tuple(out)


def level_path(step_pass: StepPass, *, z_above: float, clearance_z: float) -> LevelPath:
    """Return all moves of a pass, from the clearance height and back to it after every stroke, straight up.

    ``z_above`` is what lay there before: the height of the pass above.
    """
    moves: list[CutMove] = []
    z, here = step_pass.z, None
    for stroke in step_pass.strokes:
        start = stroke.curves[0].start
        if here is not None and here != start:
            moves.append(CutMove(MoveKind.TRAVEL, _line(here, start), start, clearance_z, clearance_z))
        moves.append(upright(MoveKind.ENTRY if stroke.plunges else MoveKind.DESCEND, start, clearance_z, z))
        inward = MoveKind.ENTRY if stroke.starts_in_metal else MoveKind.LINK
        moves += [along(inward, curve, z) for curve in stroke.lead_in]
        moves += [along(MoveKind.CUT, curve, z) for curve in stroke.cut]
        # at a shoulder the way out takes the ridge off that the strokes leave there
        outward = MoveKind.CUT if stroke.ends_in_metal else MoveKind.LINK
        moves += [along(outward, curve, z) for curve in stroke.lead_out]
        here = moves[-1].at
        moves.append(upright(MoveKind.RETRACT, here, z, clearance_z))
    return LevelPath(z, z_above, tuple(moves))


def _line(start: Point, end: Point) -> Segment:
    return Segment(start, end)
