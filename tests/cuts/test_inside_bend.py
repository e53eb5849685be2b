"""Limits beside an inside bend: the formula against brute force in the section, and exact limit curves in plan."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from holecam.cuts.inside_bend import InsideBend, bend_gap, flank_limit, gap_standard, sideways_margin
from holecam.cuts.inside_bend_wall import BendWall, _share, check_region_side, line_beside, wall_through
from holecam.cuts.layer_estimates import DoubtRule, Estimate, Term
from holecam.errors import InputError
from holecam.shapes import Arc, Segment, distance, rectangle
from holecam.shapes.distances import point_to_chain


def section_distance(x: NDArray[np.float64], z: NDArray[np.float64], radius: float) -> NDArray[np.float64]:
    """Return the distance of points from the bent sheet's surface: wall, sheet and a finely drawn fillet."""
    theta = np.linspace(math.pi, 1.5 * math.pi, 4001)
    fillet_x, fillet_z = radius + radius * np.cos(theta), radius + radius * np.sin(theta)
    out = np.full(x.shape, np.inf)
    for n in range(len(x)):
        arc = np.hypot(fillet_x - x[n], fillet_z - z[n]).min()
        wall = math.hypot(x[n], max(radius - z[n], 0.0))
        sheet = math.hypot(z[n], max(radius - x[n], 0.0))
        out[n] = min(arc, wall, sheet)
    return out


def cutter_profile(flank: float, height: float, corner: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    theta = np.linspace(math.pi, 1.5 * math.pi, 161)
    x = np.concatenate([flank + corner + corner * np.cos(theta), [flank] * 30, flank + corner + np.linspace(0, 9, 30)])
    z = np.concatenate(
        [height + corner + corner * np.sin(theta), height + corner + np.linspace(0, 9, 30), [height] * 30]
    )
    return x, z


@given(st.floats(0.5, 6.0), st.floats(0.0, 3.0), st.floats(0.01, 0.4), st.floats(0.0, 1.0), st.floats(0.0, 2.0))
def test_at_the_limit_the_gap_is_kept_and_a_hair_nearer_it_is_lost(
    radius: float, corner: float, gap: float, margin: float, share: float
) -> None:
    height = gap + share * radius
    flank = flank_limit(InsideBend(radius, gap, margin), height=height, corner_radius=corner)
    for sideways, keeps in ((margin, True), (margin + 0.01, False)):
        x, z = cutter_profile(flank - sideways, height, corner)
        least = section_distance(x, z, radius).min()
        if keeps:
            assert least >= gap - 1e-5
        elif height > gap + 0.02:
            assert least < gap


@given(st.floats(0.3, 6.0), st.floats(0.0, 3.0), st.floats(0.02, 8.0), st.floats(0.02, 8.0))
def test_gap_against_brute_force_in_the_section(radius: float, corner: float, flank: float, height: float) -> None:
    found = bend_gap(radius, flank=flank, height=height, corner_radius=corner)
    assume(found.gap > 0.01)
    x, z = cutter_profile(flank, height, corner)
    assert found.gap == pytest.approx(section_distance(x, z, radius).min(), abs=2e-4)
    assert math.hypot(*found.toward) == pytest.approx(1.0)
    # the foot lies on the surface
    fx, fz = found.foot
    on_fillet = abs(math.hypot(fx - radius, fz - radius) - radius) < 1e-9 and fx <= radius and fz <= radius
    assert {"sheet": abs(fz) < 1e-12, "wall": abs(fx) < 1e-12, "bend": on_fillet}[found.surface]


def test_margin_square_to_the_surface_is_not_a_margin_added_sideways() -> None:
    # design page section 5: a margin added to the fillet's x alone loses the gap near the floor
    radius, gap, height = 2.38125, 0.05, 0.08
    right = flank_limit(InsideBend(radius, gap), height=height, corner_radius=0.0)
    naive = radius - math.sqrt(radius**2 - (radius - height) ** 2) + gap
    assert bend_gap(radius, flank=naive, height=height, corner_radius=0.0).gap < 0.75 * gap
    assert bend_gap(radius, flank=right, height=height, corner_radius=0.0).gap == pytest.approx(gap)


@pytest.mark.outside_check(
    subject="inside bend",
    source="tangent line of a circle",
    closeness="1e-6",
    standing="mathematics",
)
def test_last_pass_stands_at_the_tangent_line_plus_margin_less_corner() -> None:
    for corner in (0.0, 0.5, 1.2):
        bend = InsideBend(2.4, gap=0.06, sideways=0.3)
        assert flank_limit(bend, height=0.06, corner_radius=corner) == pytest.approx(2.4 - corner + 0.3)
    # a bull nose comes nearer with its flank, and its flat begins no nearer
    sharp = flank_limit(InsideBend(2.4, 0.06), height=0.3, corner_radius=0.0)
    bull = flank_limit(InsideBend(2.4, 0.06), height=0.3, corner_radius=0.8)
    assert bull < sharp
    assert bull + 0.8 > sharp


def test_higher_up_only_the_wall_binds() -> None:
    bend = InsideBend(2.0, gap=0.1, sideways=0.25)
    assert flank_limit(bend, height=2.0, corner_radius=0.0) == pytest.approx(0.35)
    assert flank_limit(bend, height=50.0, corner_radius=0.0) == pytest.approx(0.35)
    assert flank_limit(bend, height=0.2, corner_radius=2.5) == pytest.approx(0.35)  # corner larger than the bend
    assert flank_limit(InsideBend(0.0, 0.1), height=0.1, corner_radius=0.0) == pytest.approx(0.1)  # a sharp bend


@given(st.floats(0.5, 5.0), st.floats(0.0, 1.0), st.floats(0.01, 0.3))
def test_the_lower_the_pass_the_farther_out(radius: float, corner: float, gap: float) -> None:
    bend = InsideBend(radius, gap)
    heights = np.linspace(gap, 1.5 * radius + gap, 40)
    limits = [flank_limit(bend, height=float(h), corner_radius=corner) for h in heights]
    assert all(b <= a + 1e-12 for a, b in itertools.pairwise(limits))


def test_height_below_the_gap_is_refused() -> None:
    with pytest.raises(InputError, match=r"height 0.04 mm over the sheet: expected at least the gap of 0.05 mm"):
        flank_limit(InsideBend(2.0, 0.05), height=0.04, corner_radius=0.0)
    with pytest.raises(InputError, match=r"height nan mm"):
        flank_limit(InsideBend(2.0, 0.05), height=math.nan, corner_radius=0.0)
    with pytest.raises(InputError, match=r"bend: inside radius -1.0 mm"):
        InsideBend(-1.0, 0.05)


def test_margin_adds_up_what_moves_the_flank() -> None:
    wall = Estimate.of(0.0, Term.within("wall", 0.3))
    assert sideways_margin(0.1, wall=wall, runout=0.04, spring=0.02, backlash=0.1, sureness=2.0) == pytest.approx(
        0.1 + 2 * 0.3 / math.sqrt(3) + 0.02 + 0.02 + 0.1
    )
    assert sideways_margin(0.1, wall=wall, rule=DoubtRule.WORST_CASE) == pytest.approx(0.4)
    with pytest.raises(InputError, match=r"runout -0.1 mm"):
        sideways_margin(0.1, runout=-0.1)


def test_doubt_of_a_gap_follows_its_direction() -> None:
    over_sheet = bend_gap(2.0, flank=3.0, height=0.1, corner_radius=0.0)
    assert gap_standard(over_sheet, sideways=0.5, vertical=0.02) == pytest.approx(0.02)
    at_wall = bend_gap(2.0, flank=0.3, height=3.0, corner_radius=0.0)
    assert gap_standard(at_wall, sideways=0.5, vertical=0.02) == pytest.approx(0.5)
    slanting = bend_gap(2.0, flank=0.9, height=0.9, corner_radius=0.0)
    assert gap_standard(slanting, sideways=0.3, vertical=0.4) == pytest.approx(math.hypot(0.3, 0.4) / math.sqrt(2))


CORNER = (
    Segment((0.0, 40.0), (0.0, 8.0)),
    Arc((0.0, 8.0), (8.0, 0.0), (8.0, 8.0), ccw=True),
    Segment((8.0, 0.0), (60.0, 0.0)),
)


@pytest.mark.parametrize("away", [0.5, 3.9, 7.5, 8.0, 12.0])
def test_limit_curve_keeps_its_distance_everywhere_and_stays_exact(away: float) -> None:
    chains = line_beside(BendWall(CORNER).run_on(50.0), away)
    assert len(chains) == 1
    for curve in chains[0]:
        for n in range(21):
            assert point_to_chain(curve.point_at(n / 20), CORNER) >= away - 1e-6
            assert point_to_chain(curve.point_at(n / 20), BendWall(CORNER).run_on(50.0)) == pytest.approx(
                away, abs=1e-6
            )
    arcs = [c for c in chains[0] if isinstance(c, Arc)]
    assert [a.radius for a in arcs] == pytest.approx([8.0 - away] if away < 8.0 else [])


@pytest.mark.outside_check(
    subject="inside bend",
    source="shapely: buffer of a fine line",
    closeness="2e-3 mm",
    standing="library",
)
def test_limit_curve_against_a_polygon_library() -> None:
    wavy = (
        Segment((0, 0), (10, 0)),
        Arc((10, 0), (14, 4), (10, 4), ccw=True),
        Segment((14, 4), (14, 9)),
        Arc((14, 9), (18, 13), (18, 9), ccw=False),
        Segment((18, 13), (30, 13)),
    )
    line = BendWall(wavy).run_on(30.0)
    (chain,) = line_beside(line, 2.5)
    points = [c.point_at(n / 200) for c in line for n in range(200)] + [line[-1].end]
    band = shapely.buffer(shapely.LineString(points), 2.5, quad_segs=256)
    for curve in chain:
        for n in range(1, 20):
            p = shapely.Point(*curve.point_at(n / 20))
            assert shapely.distance(p, band.exterior) < 2e-3


def test_cut_side_turns_the_line_round() -> None:
    left = BendWall(CORNER)
    assert left.line == CORNER
    right = BendWall(tuple(c.reversed() for c in reversed(CORNER)), "right")
    assert right.line == CORNER
    assert left.distance_to((5.0, 5.0)) == pytest.approx(8.0 - distance((5.0, 5.0), (8.0, 8.0)))


def test_region_on_the_wrong_side_or_through_the_wall_is_refused() -> None:
    region = rectangle(3.0, 3.0, 30.0, 12.0)
    check_region_side(BendWall(CORNER), region, length=50.0, name="front")
    with pytest.raises(InputError, match=r'bend "front": the region to clear lies on the far side of its wall'):
        check_region_side(BendWall(CORNER, "right"), region, length=50.0, name="front")
    with pytest.raises(InputError, match=r'bend "front": the region to clear reaches .* mm through its wall'):
        check_region_side(BendWall(CORNER), rectangle(-2.0, 3.0, 30.0, 12.0), length=50.0, name="front")


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: BendWall(()), "expected at least one line or arc"),
        (lambda: BendWall((Segment((0, 0), (1, 0)), Segment((2, 0), (3, 0)))), "a gap of 1.0000 mm"),
        (lambda: wall_through([(0, 0), (5, 0), (5, 5), (0, 0)]), "its line closes on itself"),
        (lambda: BendWall((Arc((5, 0), (5, 0), (0, 0), ccw=True),)), "its line closes on itself"),
        (lambda: BendWall((Arc((5, 0), (-5, 0), (0, 0), ccw=False), Segment((-5, 0), (5, 0)))), "its line closes on"),
        (lambda: wall_through([(0, 0)]), "expected at least two points"),
        (lambda: BendWall((Segment((0, 0), (1, 0)),), "up"), 'cut side "up": expected left or right'),  # type: ignore[arg-type]
    ],
)
def test_walls_that_cannot_be_are_named(make: object, message: str) -> None:
    assert callable(make)
    with pytest.raises(InputError, match=message):
        make()


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.001])
def test_no_margin_of_a_bend_is_taken_that_is_no_length(bad: float) -> None:
    """An endless or unknown margin would silently move the flank to nowhere."""
    for sizes in ((bad, 0.05, 0.0), (2.0, bad, 0.0), (2.0, 0.05, bad)):
        with pytest.raises(InputError, match=f"{bad} mm: expected a length of 0 or more"):
            InsideBend(*sizes)
    for what in ("runout", "spring", "backlash"):
        with pytest.raises(InputError, match=f"{what} {bad} mm: expected a length of 0 or more"):
            sideways_margin(0.1, **{what: bad})
    with pytest.raises(InputError, match=f"margin {bad} mm"):
        sideways_margin(bad)
    assert sideways_margin(0.0) == 0.0
    with pytest.raises(InputError, match=r"height inf mm"):
        flank_limit(InsideBend(2.0, 0.05), height=math.inf, corner_radius=0.0)


@pytest.mark.parametrize("sweep_deg", [0.5, 20.0, 57.0, 90.0, 200.0, 350.0])
@pytest.mark.parametrize("first_deg", [0.0, 90.0, 170.0, -100.0])
@pytest.mark.parametrize("ccw", [True, False])
def test_share_of_an_arc_either_way_round_and_however_short(sweep_deg: float, first_deg: float, ccw: bool) -> None:
    """The side on which a cut lies hangs on the direction of the wall there."""
    a = math.radians(first_deg)
    b = a + math.radians(sweep_deg if ccw else -sweep_deg)
    arc = Arc(
        (2.0 + 8.0 * math.cos(a), 1.0 + 8.0 * math.sin(a)),
        (2.0 + 8.0 * math.cos(b), 1.0 + 8.0 * math.sin(b)),
        (2.0, 1.0),
        ccw,
    )
    for share in (0.02, 0.25, 0.5, 0.98):
        assert _share(arc, arc.point_at(share)) == pytest.approx(share, abs=1e-9)
    hair = 1e-9 if ccw else -1e-9
    before, after = a - hair, b + hair
    assert _share(arc, (2.0 + 8.0 * math.cos(before), 1.0 + 8.0 * math.sin(before))) == pytest.approx(0.0, abs=1e-6)
    assert _share(arc, (2.0 + 8.0 * math.cos(after), 1.0 + 8.0 * math.sin(after))) == pytest.approx(1.0, abs=1e-6)
