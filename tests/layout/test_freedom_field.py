"""Allowed shifts mean what the spacing check means, limit by limit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from spacing_scenes import HELD, Scene, scenes, shifted

from holecam.errors import InputError
from holecam.layout.freedom_cells import all_limits
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.spacing import SpacingReport, check_spacing
from holecam.layout.spacing_rules import LimitTerm, table_limits
from holecam.layout.spacing_sites import Bore, DrillSite, Head, HoleProfile, ZRange, plain_profile
from holecam.layout.spacing_surroundings import KeepOut, OldHole, PartShape, Surroundings
from holecam.plan.finding import Severity
from holecam.shapes import Circle, rectangle

LIMITS = table_limits()
shifts = st.tuples(st.floats(-12.0, 12.0), st.floats(-12.0, 12.0))
levels = st.sampled_from(list(Severity))


def reaches(report: SpacingReport, level: Severity) -> bool:
    """Whether the spacing check finds something of this level against what stays, webs within the pattern apart."""
    found = [r.severity for r in report.hole_relations if isinstance(r.other, OldHole)]
    found += [r.severity for r in report.edge_relations]
    return any(s is not None and s.rank >= level.rank for s in found)


def meets_old_holes(report: SpacingReport) -> bool:
    """Whether a new hole touches or overlaps an old one: always forbidden to a shift."""
    return any(isinstance(r.other, OldHole) and r.web <= LIMITS.touching + 1e-9 for r in report.hole_relations)


@given(scenes, shifts, levels)
@settings(max_examples=80)
def test_a_shift_is_allowed_exactly_when_the_spacing_check_is_content(
    scene: Scene, shift: tuple[float, float], level: Severity
) -> None:
    sites, surroundings = scene
    freedom = freedom_of(sites, surroundings, LIMITS, level=level)
    margin = freedom.margin(shift)
    report = check_spacing(shifted(sites, shift), surroundings, LIMITS)
    if abs(margin) > 1e-7:
        assert (margin > 0) is not (reaches(report, level) or meets_old_holes(report))
        assert freedom.allowed(shift) is (margin > 0)


@given(scenes, shifts, shifts)
@settings(max_examples=40)
def test_the_margin_changes_by_no_more_than_the_move(
    scene: Scene, a: tuple[float, float], b: tuple[float, float]
) -> None:
    freedom = freedom_of(*scene, LIMITS)
    here, there = freedom.margin(a), freedom.margin(b)
    if math.isfinite(here):
        assert abs(here - there) <= math.dist(a, b) + 1e-9


@given(scenes, shifts)
@settings(max_examples=40)
def test_what_binds_has_the_margin(scene: Scene, shift: tuple[float, float]) -> None:
    freedom = freedom_of(*scene, LIMITS)
    binding, margin = freedom.binding(shift), freedom.margin(shift)
    if binding is None:
        assert math.isinf(margin)
        return
    assert binding.margin == pytest.approx(margin, abs=1e-9)
    (first, *_) = freedom.bindings(shift, within=1e-6)
    assert first.margin == pytest.approx(margin, abs=1e-9)
    assert binding.obstacle_name
    if isinstance(binding.obstacle, OldHole):
        there = (binding.site.center[0] + shift[0], binding.site.center[1] + shift[1])
        assert binding.distance == pytest.approx(math.dist(there, binding.obstacle.center), abs=1e-9)
    else:
        assert binding.demand is not None
        assert binding.demand.need == pytest.approx(binding.need)


@given(scenes)
@settings(max_examples=40)
def test_limits_that_are_left_out_change_nothing(scene: Scene) -> None:
    freedom = freedom_of(*scene, LIMITS)
    random = np.random.default_rng(3)
    asked = random.uniform(-15, 15, (200, 2))
    assert all_limits(freedom).margins(asked) == pytest.approx(freedom.margins(asked), abs=1e-8)
    assert freedom.margins(asked[:1])[0] == pytest.approx(freedom.margin(tuple(asked[0])), abs=0)


def row_on_itself(count: int) -> Freedom:
    sites = [DrillSite(i + 1, "row", (10.0 * i, 0.0), plain_profile(3.0)) for i in range(count)]
    old = tuple(OldHole(f"old {i + 1}", (10.0 * i, 0.0), 3.0) for i in range(count))
    return freedom_of(sites, Surroundings(old_holes=old), LIMITS)


def test_a_row_on_its_own_old_holes_has_each_disc_once() -> None:
    freedom = row_on_itself(40)
    assert len(freedom.discs) == 1600
    assert all_limits(freedom).count == 79  # multiples of the pitch from -39 to 39


@pytest.mark.parametrize("sizes", [(3.0, 5.0), (5.0, 3.0)])
def test_of_limits_about_one_shift_the_largest_is_kept(sizes: tuple[float, float]) -> None:
    """Two holes of different width, each over an old hole of its own: both limits lie about the shift of zero."""
    sites = [DrillSite(i + 1, "row", (20.0 * i, 0.0), plain_profile(d)) for i, d in enumerate(sizes)]
    old = tuple(OldHole(f"old {i + 1}", (20.0 * i, 0.0), d) for i, d in enumerate(sizes))
    freedom = freedom_of(sites, Surroundings(old_holes=old), LIMITS)
    # 5 mm beside 5 mm: 2.5 + 2.5 + 2.5 mm of web
    assert all_limits(freedom).count == 3
    assert all_limits(freedom).margins(np.array([(0.0, 1.0)]))[0] == pytest.approx(1.0 - 7.5)


def test_levels_keep_different_limits() -> None:
    # 4 mm hole, 4 mm old hole; stop at a web of 1 mm, caution 2, note 4: centres 5, 6, 8 mm apart
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0))]
    surroundings = Surroundings(old_holes=(OldHole("old 1", (20.0, 0.0), 4.0),))
    for level, keeps in ((Severity.STOP, 5.0), (Severity.CAUTION, 6.0), (Severity.NOTE, 8.0)):
        freedom = freedom_of(sites, surroundings, LIMITS, level=level)
        assert freedom.margin((20.0 - keeps, 0.0)) == pytest.approx(0.0, abs=1e-12)
        assert freedom.allowed((20.0 - keeps, 0.0))
        assert not freedom.allowed((20.0 - keeps + 1e-6, 0.0))


def test_a_hole_may_go_wholly_into_a_plug_that_is_held() -> None:
    # Plug of 10 mm, hole of 4 mm with a pitch of 0.7: wall 0.7, so 5 - 2 - 0.7 = 2.3 mm off centre at most
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0, pitch=0.7))]
    surroundings = Surroundings(old_holes=(OldHole("old 1", (20.0, 0.0), 10.0, HELD),))
    outside = freedom_of(sites, surroundings, LIMITS)
    both = freedom_of(sites, surroundings, LIMITS, inside_held_plugs=True)
    assert not outside.allowed((20.0, 0.0))
    assert both.allowed((20.0, 0.0))
    assert both.margin((20.0, 0.0)) == pytest.approx(2.3)
    assert both.margin((20.0, 2.3)) == pytest.approx(0.0, abs=1e-12)
    assert not both.allowed((20.0, 2.301))
    binding = both.binding((20.0, 2.0))
    assert binding is not None
    assert binding.margin == pytest.approx(0.3)
    # and outside it as before: 5 + 2 + half of the larger diameter
    assert both.margin((20.0, 12.0)) == pytest.approx(0.0, abs=1e-12)
    loose = Surroundings(old_holes=(OldHole("old 1", (20.0, 0.0), 10.0),))
    assert not freedom_of(sites, loose, LIMITS, inside_held_plugs=True).allowed((20.0, 0.0))


def test_heads_and_standing_holes_count() -> None:
    headed = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)),), (Head(9.0, ZRange(3.0, 0.0)),))
    sites = [DrillSite(1, "row", (0.0, 0.0), headed)]
    standing = DrillSite(7, "other row", (20.0, 0.0), headed)
    freedom = freedom_of(sites, Surroundings(standing_sites=(standing,)), LIMITS)
    assert freedom.margin((11.0, 0.0)) == pytest.approx(0.0, abs=1e-12)  # heads: 9 mm apart
    binding = freedom.binding((11.0, 0.0))
    assert binding is not None
    assert binding.obstacle_name == 'hole 7 of "other row"'


def test_depth_counts_for_shifts_too() -> None:
    blind = HoleProfile(4.0, (Bore(4.0, ZRange(0.0, -3.0)),))
    sites = [DrillSite(1, "row", (0.0, 0.0), blind)]
    deep = KeepOut("oil way", "pocket", Circle((5.0, 0.0), 3.0), z=ZRange(-4.0, -6.0))
    freedom = freedom_of(sites, Surroundings(keep_outs=(deep,)), LIMITS)
    assert freedom.areas == ()
    assert math.isinf(freedom.margin((5.0, 0.0)))
    assert freedom.binding((5.0, 0.0)) is None
    assert len(freedom_of(sites, Surroundings(keep_outs=(replace(deep, z=ZRange(-2.0)),)), LIMITS).areas) == 1


def test_overrides_move_the_border() -> None:
    sites = [DrillSite(1, "row", (10.0, 10.0), plain_profile(4.0))]
    plate = Surroundings(PartShape(rectangle(0, 0, 60, 40)))
    assert freedom_of(sites, plate, LIMITS).margin((-4.0, 0.0)) == pytest.approx(0.0, abs=1e-12)  # 1.5 D from the edge
    lower = LIMITS.overridden("edge-distance", Severity.CAUTION, LimitTerm(5.0, "mm", "job file", "light cover"))
    assert freedom_of(sites, plate, lower).margin((-5.0, 0.0)) == pytest.approx(0.0, abs=1e-12)


def test_nothing_to_shift_is_refused() -> None:
    with pytest.raises(InputError, match="at least one hole to shift"):
        freedom_of([], Surroundings(), LIMITS)
    with pytest.raises(InputError, match="finite numbers"):
        row_on_itself(2).margin((math.nan, 0.0))
