"""The least distance between any tooth and the sheet, each bend and each wall, over all strokes of a pass."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from msgspec import Struct

from holecam.cuts.inside_bend import bend_gap, gap_standard
from holecam.cuts.inside_bend_wall import BendWall, least_distance
from holecam.shapes import Curve, Point


class WallFacts(Struct, frozen=True):
    """A wall beside the cut: its name, its line, the inside radius of its bend and the doubt of its place, mm."""

    name: str
    wall: BendWall
    radius: float
    standard: float


class LeastGap(Struct, frozen=True):
    """The least distance, mm, negative when a tooth cuts in.

    ``surface`` is ``sheet``, or ``bend`` or ``wall`` with the name of the bend in ``of``. ``at`` is the place in plan
    of the protected surface (of the cutter, over the open sheet), ``z`` the height of the pass. ``standard`` is the
    distance's standard doubt.
    """

    gap: float
    surface: str
    of: str
    at: Point
    z: float
    standard: float

    @property
    def spreads(self) -> float:
        """How many standard doubts the distance is; infinite when there is no doubt."""
        return self.gap / self.standard if self.standard > 0 else float("inf")


def least_gaps(
    paths: Sequence[Sequence[Curve]],
    walls: Sequence[WallFacts],
    *,
    cutter_radius: float,
    corner_radius: float,
    sheet_height: float,
    sheet_standard: float,
    z: float,
) -> tuple[LeastGap, ...]:
    """Return the least distances over all paths of the axis at one height: to the open sheet, then to each bend.

    Parameters
    ----------
    paths : sequence of chains
        Where the axis goes, leads included; without any the cutter is nowhere and only the height counts.
    sheet_height : float
        Height of the tip above the sheet's best place, mm.
    sheet_standard : float
        Standard doubt of that height, mm.

    The bent sheet is the same section all along the wall, and the free side of it is convex: the least distance in plan
    between axis and wall decides, less the cutter's radius.
    """
    at = paths[0][0].start if paths else (0.0, 0.0)
    found = [LeastGap(sheet_height, "sheet", "", at, z, sheet_standard)]
    for facts in walls:
        if not paths:
            continue
        approaches = (_path_to_wall(tuple(path), facts.wall) for path in paths)
        away, on_path, on_wall = min(approaches, key=lambda approach: approach[0])
        gap = bend_gap(facts.radius, flank=away - cutter_radius, height=sheet_height, corner_radius=corner_radius)
        if gap.surface != "sheet":
            share = min(gap.foot[0] / away, 1.0) if away > 0 else 0.0
            place = (
                on_wall[0] + share * (on_path[0] - on_wall[0]),
                on_wall[1] + share * (on_path[1] - on_wall[1]),
            )
            spread = gap_standard(gap, sideways=facts.standard, vertical=sheet_standard)
            found.append(LeastGap(gap.gap, gap.surface, facts.name, place, z, spread))
    return tuple(found)


@lru_cache(maxsize=4096)
def _path_to_wall(path: tuple[Curve, ...], wall: BendWall) -> tuple[float, Point, Point]:
    """Return the least distance of one path; the strokes far from a bend are the same at every height."""
    return least_distance(path, wall)
