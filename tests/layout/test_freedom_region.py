"""The exact region: areas by closed form, by counting, by fine polygons; its border; a known bound on its corners."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from spacing_scenes import HELD, Scene, grid_scenes, scenes

from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_nearest import SAFE_BY, nearest_allowed
from holecam.layout.freedom_region import FreedomRegion, region
from holecam.layout.freedom_roomiest import GAP, roomiest, window_around
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, PartShape, Surroundings
from holecam.shapes import Arc, rectangle

LIMITS = table_limits()


def one_hole(*old: tuple[float, float], part: PartShape | None = None) -> Freedom:
    """One 4 mm hole at the origin among 4 mm old holes: 6 mm from their centres and from edges."""
    holes = tuple(OldHole(f"old {i + 1}", p, 4.0) for i, p in enumerate(old))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    return freedom_of(sites, Surroundings(part or PartShape(), holes), LIMITS)


def window_area(found: FreedomRegion) -> float:
    x0, y0, x1, y1 = found.window
    return (x1 - x0) * (y1 - y0)


def closed(found: FreedomRegion) -> bool:
    chains = (*found.allowed, *found.forbidden)
    return all(math.dist(a.end, b.start) <= 1e-5 for c in chains for a, b in zip(c, (*c[1:], c[0]), strict=True))


def test_one_disc() -> None:
    found = region(one_hole((1.0, 2.0)), window_around((0.0, 0.0), 10.0))
    assert found.forbidden_area == pytest.approx(math.pi * 36.0, abs=1e-9)
    assert found.allowed_area == pytest.approx(400.0 - math.pi * 36.0, abs=1e-9)
    assert len(found.border) == 1
    assert isinstance(found.border[0], Arc)
    assert found.corners == 1  # a full circle starts and ends at one point


@pytest.mark.outside_check(
    subject="freedom",
    source="area of two overlapping discs in closed form",
    closeness="1e-9",
    standing="mathematics",
)
def test_two_discs_that_overlap() -> None:
    # Lens of two circles of 6 mm, 6 mm apart: 2 r^2 acos(d / 2r) - d / 2 sqrt(4 r^2 - d^2)
    lens = 2 * 36.0 * math.acos(0.5) - 3.0 * math.sqrt(144.0 - 36.0)
    found = region(one_hole((-3.0, 0.0), (3.0, 0.0)), window_around((0.0, 0.0), 20.0))
    assert found.forbidden_area == pytest.approx(2 * math.pi * 36.0 - lens, abs=1e-9)
    assert found.corners == 2


def test_cut_by_the_window() -> None:
    found = region(one_hole((0.0, 0.0)), (0.0, 0.0, 10.0, 10.0))
    assert found.forbidden_area == pytest.approx(math.pi * 9.0, abs=1e-9)
    assert found.allowed_area == pytest.approx(100.0 - math.pi * 9.0, abs=1e-9)
    assert closed(found)


def test_inside_an_outline_with_arcs() -> None:
    # Rounded rectangle 40 x 30, corner radius 8, shrunk by 6: 28 x 18 with corner radius 2
    part = PartShape(rectangle(-20.0, -15.0, 20.0, 15.0, corner_radius=8.0))
    found = region(one_hole(part=part), window_around((0.0, 0.0), 30.0))
    assert found.allowed_area == pytest.approx(28.0 * 18.0 - (4.0 - math.pi) * 4.0, abs=1e-6)
    assert sum(isinstance(c, Arc) for c in found.border) == 4


def test_a_row_along_an_edge_draws_one_border() -> None:
    sites = [DrillSite(i + 1, "row", (10.0 * i, 0.0), plain_profile(4.0)) for i in range(4)]
    bar = PartShape(rectangle(-15.0, -9.0, 45.0, 9.0))
    found = region(freedom_of(sites, Surroundings(bar), LIMITS), window_around((0.0, 0.0), 20.0))
    assert found.allowed_area == pytest.approx(18.0 * 6.0, abs=1e-9)
    assert len(found.allowed) == 1


def test_all_forbidden_and_all_allowed() -> None:
    full = region(one_hole((0.0, 0.0)), window_around((0.0, 0.0), 2.0))
    assert (full.allowed, full.border) == ((), ())
    assert full.forbidden_area == pytest.approx(16.0)
    empty = region(one_hole(), window_around((0.0, 0.0), 2.0))
    assert empty.forbidden == ()
    assert empty.allowed_area == pytest.approx(16.0)


def test_an_island_in_a_plug_that_is_held() -> None:
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    surroundings = Surroundings(old_holes=(OldHole("old 1", (0.0, 0.0), 10.0, HELD),))
    freedom = freedom_of(sites, surroundings, LIMITS, inside_held_plugs=True)
    found = region(freedom, window_around((0.0, 0.0), 20.0))
    assert found.forbidden_area == pytest.approx(math.pi * (144.0 - 6.25), abs=1e-9)
    assert len(found.forbidden) == 2


@pytest.mark.outside_check(
    subject="freedom",
    source="shapely: which points lie inside",
    closeness="every point that is not within 0.001 mm of the border",
    standing="library",
)
@given(scenes, st.tuples(st.floats(-4, 4), st.floats(-4, 4)), st.booleans())
@settings(max_examples=30)
def test_the_region_is_what_is_allowed(scene: Scene, middle: tuple[float, float], inside: bool) -> None:
    freedom = freedom_of(*scene, LIMITS, inside_held_plugs=inside)
    found = region(freedom, window_around(middle, 7.0))
    assert closed(found)
    assert found.allowed_area + found.forbidden_area == pytest.approx(window_area(found), abs=1e-3)
    for curve in found.border:
        at = [curve.point_at(share) for share in (0.0, 0.3, 0.5, 0.9)]
        assert freedom.margins(np.array(at)) == pytest.approx(0.0, abs=2e-7)
        (x, y), (ux, uy) = curve.point_at(0.5), curve.tangent_at(0.5)
        off = min(1e-5, curve.length / 4)
        assert freedom.margin((x - off * uy, y + off * ux)) > 0.0  # allowed on the left
        assert freedom.margin((x + off * uy, y - off * ux)) < 0.0
    # A second way: the chains as fine polygons, asked point by point (even-odd)
    rings = [_fine(chain) for chain in found.forbidden]
    asked = np.random.default_rng(6).uniform(found.window[:2], found.window[2:], (400, 2))
    times = np.sum([shapely.contains_xy(ring, asked[:, 0], asked[:, 1]) for ring in rings], axis=0)
    margins = freedom.margins(asked)
    sure = np.abs(margins) > 1e-3
    assert (np.asarray(times % 2 == 1)[sure] == (margins < 0)[sure]).all() if rings else (margins[sure] > 0).all()


@given(grid_scenes, st.tuples(st.integers(-5, 5), st.integers(-5, 5)))
@settings(max_examples=25)
def test_limits_that_touch_and_coincide(scene: Scene, middle: tuple[int, int]) -> None:
    freedom = freedom_of(*scene, LIMITS)
    window = window_around((float(middle[0]), float(middle[1])), 8.0)
    found = region(freedom, window)
    assert closed(found)
    assert found.allowed_area + found.forbidden_area == pytest.approx(window_area(found), abs=1e-3)
    # Counting points of a grid: each border piece errs by at most a cell's breadth along its length
    steps = (np.arange(80) + 0.5) / 5.0
    grid = np.stack(np.meshgrid(window[0] + steps + 1e-4, window[1] + steps + 2e-4), axis=-1).reshape(-1, 2)
    counted = float((freedom.margins(grid) >= 0.0).sum()) * 0.04
    assert found.allowed_area == pytest.approx(counted, abs=0.1 * sum(c.length for c in found.border) + 0.1)
    nearest = nearest_allowed(freedom, (float(middle[0]), float(middle[1])), reach=12.0)
    inside = grid[freedom.margins(grid) >= 2 * SAFE_BY]
    if len(inside):
        assert nearest.distance <= np.hypot(inside[:, 0] - middle[0], inside[:, 1] - middle[1]).min() + 1e-6
    best = roomiest(freedom, window)
    assert freedom.margins(grid).max() <= best.bound
    assert best.gap <= GAP + 1e-9


def test_a_sliver_between_curves_that_nearly_touch() -> None:
    """Two circles that overlap by 1e-7 mm, and two that miss each other by as much."""
    for by in (1e-7, -1e-7):
        found = region(one_hole((-6.0 + by / 2, 0.0), (6.0 - by / 2, 0.0)), window_around((0.0, 0.0), 15.0))
        assert closed(found)
        assert found.forbidden_area == pytest.approx(72.0 * math.pi, abs=1e-6)
        assert found.allowed_area == pytest.approx(900.0 - 72.0 * math.pi, abs=1e-6)


def _fine(chain: tuple[object, ...]) -> shapely.Polygon:
    points = [c.point_at(k / 200) for c in chain for k in range(200)]  # type: ignore[attr-defined]
    return shapely.Polygon(points)


@pytest.mark.outside_check(
    subject="freedom",
    source="shapely: fine polygons from inside and outside; Kedem, Livne, Pach, Sharir 1986: 6 m - 12 corners (memory)",
    closeness="between the two polygon areas",
    standing="library",
)
@given(st.integers(0, 10_000))
@settings(max_examples=15)
def test_areas_and_corners_of_many_discs(seed: int) -> None:
    """Against a polygon library from both sides; and at most 6 m - 12 corners for the union of m discs.

    Kedem, Livne, Pach, Sharir 1986, On the union of Jordan regions and collision-free translational motion amidst
    polygonal obstacles (bound quoted from memory).
    """
    random = np.random.default_rng(seed)
    places = random.uniform(-25.0, 25.0, (int(random.integers(3, 25)), 2)).tolist()
    found = region(one_hole(*[(x, y) for x, y in places]), window_around((0.0, 0.0), 40.0))
    quad = 64
    inscribed = shapely.union_all([shapely.Point(p).buffer(6.0, quad_segs=quad) for p in places])
    grown = 6.0 / math.cos(math.pi / (4 * quad))
    around = shapely.union_all([shapely.Point(p).buffer(grown, quad_segs=quad) for p in places])
    assert inscribed.area <= found.forbidden_area <= around.area
    single = sum(c.length > 2 * math.pi * 6.0 - 1e-6 for c in found.border)
    assert found.corners - single <= max(2, 6 * len(places) - 12)
    if _rings(inscribed) == _rings(around):  # no gap so narrow that the polygons disagree about it
        assert len(found.forbidden) == _rings(around)


def _rings(area: shapely.Polygon | shapely.MultiPolygon) -> int:
    return sum(1 + len(part.interiors) for part in getattr(area, "geoms", [area]))
