"""Least distance against an independent 3-D computation: a sampled cutter body against the bent sheet as a surface.

Nothing of the project's section formulas or plane distances is used here: the sheet is swept from a section along the
wall, the cutter turned from its profile, and the nearest pair of points is found by a tree and then by zooming in.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.inside_bend_wall import BendWall
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.step_down_clearance import LeastGap, WallFacts, least_gaps
from holecam.cuts.step_down_cut import BendSide, CutRequest, plan_cut
from holecam.cuts.step_down_heights import HeightsRequest, plan_heights
from holecam.cuts.step_down_passes import PassRule
from holecam.shapes import Arc, Curve, Point, Segment, rectangle

FIVE_MICRON = 0.005
FAR = 12.0
"""mm. How far sheet, wall and cutter reach in the model."""

Floats = NDArray[np.float64]
Surface = Callable[[Floats, Floats], Floats]


def bent_sheet(wall: tuple[Curve, ...], radius: float) -> Surface:
    """Return the surface as a function of (share along the wall, way along the section); the cut is on the left."""
    lengths = np.array([c.length for c in wall])
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    fillet = 0.5 * math.pi * radius

    def at(share: Floats, way: Floats) -> Floats:
        along = np.clip(share, 0, 1) * starts[-1]
        which = np.clip(np.searchsorted(starts, along, side="right") - 1, 0, len(wall) - 1)
        base, normal = np.empty((len(along), 2)), np.empty((len(along), 2))
        for n, curve in enumerate(wall):
            rows = which == n
            t = np.clip((along[rows] - starts[n]) / lengths[n], 0, 1)
            if isinstance(curve, Segment):
                a, b = np.array(curve.start), np.array(curve.end)
                base[rows] = a + t[:, None] * (b - a)
                tangent = np.broadcast_to((b - a) / lengths[n], (rows.sum(), 2))
            else:
                angle = curve.start_angle + t * curve.sweep
                spoke = np.column_stack([np.cos(angle), np.sin(angle)])
                base[rows] = np.array(curve.center) + curve.radius * spoke
                tangent = np.sign(curve.sweep) * np.column_stack([-spoke[:, 1], spoke[:, 0]])
            normal[rows] = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        # down the wall, round the fillet, out along the sheet
        turn = (
            np.clip((way - FAR) / fillet, 0, 1) * 0.5 * math.pi if fillet > 0 else np.where(way > FAR, math.pi / 2, 0.0)
        )
        x = radius * (1 - np.cos(turn)) + np.maximum(way - FAR - fillet, 0)
        z = radius * (1 - np.sin(turn)) + np.maximum(FAR - way, 0)
        return np.column_stack([base + x[:, None] * normal, z])

    return at


def cutter_body(axis: Point, height: float, cutter: MillingCutter) -> Surface:
    """Return the cutter's surface as a function of (share of a turn, way along the profile from the top down)."""
    rc, flat = cutter.corner_radius, cutter.radius - cutter.corner_radius
    bend = 0.5 * math.pi * rc

    def at(share: Floats, way: Floats) -> Floats:
        turn = np.clip((way - FAR) / bend, 0, 1) * 0.5 * math.pi if bend > 0 else np.where(way > FAR, math.pi / 2, 0.0)
        r = flat + rc * np.cos(turn) - np.clip(way - FAR - bend, 0, flat)
        z = height + rc * (1 - np.sin(turn)) + np.maximum(FAR - way, 0)
        angle = 2 * math.pi * share
        return np.column_stack([axis[0] + r * np.cos(angle), axis[1] + r * np.sin(angle), z])

    return at


def grid(*ranges: tuple[float, float, int]) -> list[Floats]:
    return [m.ravel() for m in np.meshgrid(*(np.linspace(a, b, n) for a, b, n in ranges), indexing="ij")]


def nearest_pair(first: Surface, first_way: float, second: Surface, second_way: float) -> float:
    """Return the least distance between two surfaces of (0 to 1, 0 to way)."""
    # fine around the corner and the fillet, where both begin at FAR
    near = np.concatenate([np.linspace(0, FAR, 25), np.linspace(FAR, FAR + 16, 240)])
    a = [m.ravel() for m in np.meshgrid(np.linspace(0, 1, 121), near[near <= first_way], indexing="ij")]
    b = [m.ravel() for m in np.meshgrid(np.linspace(0, 1, 301), near[near <= second_way], indexing="ij")]
    away, which = cKDTree(second(*b)).query(first(*a))
    best = math.inf
    for start in np.argsort(away)[:3]:
        centre = np.array([a[0][start], a[1][start], b[0][which[start]], b[1][which[start]]])
        window = np.array([1 / 100, 0.6, 1 / 200, 0.6])
        for _ in range(26):
            p = grid(*((c - w, c + w, 7) for c, w in zip(centre, window, strict=True)))
            p[1], p[3] = np.clip(p[1], 0, first_way), np.clip(p[3], 0, second_way)
            d = np.linalg.norm(first(p[0], p[1]) - second(p[2], p[3]), axis=1)
            k = int(d.argmin())
            best = min(best, float(d[k]))
            centre, window = np.array([q[k] for q in p]), window * 0.62
    return best


def distance_3d(wall: tuple[Curve, ...], radius: float, axis: Point, height: float, cutter: MillingCutter) -> float:
    body = cutter_body(axis, height, cutter)
    sheet = bent_sheet(wall, radius)
    profile = FAR + 0.5 * math.pi * cutter.corner_radius + (cutter.radius - cutter.corner_radius)
    return nearest_pair(body, profile, sheet, FAR + 0.5 * math.pi * radius + 8.0)


def random_wall(rng: np.random.Generator) -> tuple[Curve, ...]:
    """Return a straight wall, one round an inside corner, or one round an outside corner; the cut is on its left."""
    kind, r = rng.integers(3), float(rng.uniform(6.0, 12.0))
    if kind == 0:
        return (Segment((-20.0, 0.0), (20.0, 0.0)),)
    if kind == 1:
        return (
            Segment((0.0, 25.0), (0.0, r)),
            Arc((0.0, r), (r, 0.0), (r, r), ccw=True),
            Segment((r, 0.0), (25.0, 0.0)),
        )
    return (
        Segment((-25.0, 0.0), (-r, 0.0)),
        Arc((-r, 0.0), (0.0, -r), (-r, -r), ccw=False),
        Segment((0.0, -r), (0.0, -25.0)),
    )


@pytest.mark.outside_check(
    subject="inside bend",
    source="scipy: k-d tree over a sampled cutter and a sampled sheet, in three dimensions",
    closeness="0.005 mm",
    standing="library",
)
@pytest.mark.parametrize(
    "seed", [seed if seed < 10 else pytest.param(seed, marks=pytest.mark.slow) for seed in range(40)]
)
def test_least_distance_on_random_cutters_bends_and_heights(seed: int) -> None:
    rng = np.random.default_rng(seed)
    wall, radius = random_wall(rng), float(rng.uniform(0.4, 4.5))
    cutter = MillingCutter("c", float(rng.uniform(2.0, 9.0)), corner_radius=0.0)
    if rng.random() < 0.6:
        cutter = MillingCutter("c", cutter.diameter, corner_radius=float(rng.uniform(0.05, 0.9)) * cutter.radius)
    curve = wall[int(rng.integers(len(wall)))]
    share = float(rng.uniform(0.3, 0.7))
    (x, y), (tx, ty) = curve.point_at(share), curve.tangent_at(share)
    height = float(rng.uniform(0.02, 1.3 * radius))
    flank = float(rng.uniform(0.05, 1.2 * radius))
    away = cutter.radius + flank
    axis = (x - away * ty, y + away * tx)
    (sheet, *others) = least_gaps(
        [(Segment(axis, (axis[0] + 1e-9, axis[1])),)],
        [WallFacts("b", BendWall(wall), radius, 0.0)],
        cutter_radius=cutter.radius,
        corner_radius=cutter.corner_radius,
        sheet_height=height,
        sheet_standard=0.0,
        z=0.0,
    )
    found = min([sheet, *others], key=lambda g: g.gap)
    if found.gap < 0.03:  # the surfaces touch or cross: a distance between surfaces says nothing of the depth
        assert distance_3d(wall, radius, axis, height, cutter) < 0.04 if found.gap > 0 else True
        return
    assert distance_3d(wall, radius, axis, height, cutter) == pytest.approx(found.gap, abs=FIVE_MICRON)


def test_least_distance_of_a_planned_cut_along_its_own_strokes() -> None:
    stack = LayerStack(
        (
            Layer.of("rail", 1.2, within=0.03),
            Layer.of("solder", 0.1, within=0.04),
            Layer.of("hood", 0.6, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("bare sheet", "lamp", 0.0, 0.005), Fraction(1, 200))
    heights = plan_heights(HeightsRequest(touched, PassRule(0.4)), with_looks=False)
    r = 8.0
    wall = (Segment((0.0, 40.0), (0.0, r)), Arc((0.0, r), (r, 0.0), (r, r), ccw=True), Segment((r, 0.0), (40.0, 0.0)))
    cutter = MillingCutter("bull", 6.0, corner_radius=0.5)
    request = CutRequest(
        rectangle(2.6, 2.6, 22.0, 13.0), cutter, (BendSide("front", BendWall(wall), 2.4, 0.15, wall_standard=0.05),)
    )
    cut = plan_cut(request, heights)
    for step in (cut.passes[0], cut.passes[-1]):
        least = math.inf
        for stroke in step.strokes:
            for curve in stroke.cut:
                for axis in (curve.point_at(0.45),):
                    if not stroke.along_bend and stroke is not step.strokes[0]:  # farther from the walls
                        continue
                    least = min(least, distance_3d(wall, 2.4, axis, step.sheet_height, cutter))
        assert least == pytest.approx(step.least.gap, abs=FIVE_MICRON)
        assert step.least.gap >= cut.heights.sheet_gap - 1e-9  # the gap planned under the floor is kept everywhere


@pytest.mark.parametrize(
    ("gap", "standard", "spreads"), [(0.06, 0.02, 3.0), (-0.01, 0.02, -0.5), (0.06, 0.0, math.inf)]
)
def test_a_gap_in_standard_doubts(gap: float, standard: float, spreads: float) -> None:
    assert LeastGap(gap, "sheet", "", (0.0, 0.0), -1.5, standard).spreads == pytest.approx(spreads)
