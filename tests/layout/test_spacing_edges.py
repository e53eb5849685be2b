"""Holes against edges, openings and keep-outs: exact distances, multiples of D, depth, heads."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from msgspec.structs import replace
from spacing_scenes import Scene, scenes, triangle

from holecam.errors import InputError
from holecam.layout.spacing import check_spacing
from holecam.layout.spacing_boundaries import boundaries_of
from holecam.layout.spacing_edges import EdgeRelation, edge_table
from holecam.layout.spacing_rules import LimitTerm, table_limits
from holecam.layout.spacing_sites import EVERYWHERE, Bore, DrillSite, Head, HoleProfile, ZRange, plain_profile
from holecam.layout.spacing_surroundings import KeepOut, PartShape, Surroundings
from holecam.plan.finding import Severity
from holecam.shapes import Arc, Circle, Outline, Segment, circle_outline, rectangle

LIMITS = table_limits()
STOP, CAUTION, NOTE = Severity.STOP, Severity.CAUTION, Severity.NOTE
PLATE = rectangle(0.0, 0.0, 100.0, 60.0)


def at_edge(distance: float, profile: HoleProfile, *, outline: Outline = PLATE) -> EdgeRelation:
    """A hole ``distance`` from the lower edge of a plate, half-way along."""
    boundaries = boundaries_of(Surroundings(PartShape(outline)))
    return edge_table([DrillSite(1, "row", (50.0, distance), profile)], boundaries, LIMITS).relation(0, 0)


def codes(relation: EdgeRelation) -> list[tuple[str, Severity]]:
    return [(d.code, d.severity) for d in relation.broken]


@pytest.mark.outside_check(
    subject="metal at edges and webs",
    source="2 D comfortable, 1.5 D caution, 1 D stop",
    closeness="exact",
    standing="common practice",
)
@pytest.mark.parametrize(
    ("distance", "expected"),
    [
        # Hole of 4 mm, common practice: comfortable 2 D = 8, caution below 1.5 D = 6, stop below 1 D = 4
        (8.0, []),
        (7.99, [("modest-edge-distance", NOTE)]),
        (6.0, [("modest-edge-distance", NOTE)]),
        (5.99, [("edge-distance", CAUTION)]),
        (4.0, [("edge-distance", CAUTION)]),
        (3.99, [("edge-distance", STOP)]),
        (1.99, [("breaks-through-edge", STOP)]),
        (-0.01, [("off-part", STOP)]),
    ],
)
def test_edge_distance_in_multiples_of_d(distance: float, expected: list[tuple[str, Severity]]) -> None:
    found = at_edge(distance, plain_profile(4.0))
    assert codes(found) == expected
    assert found.distance == pytest.approx(distance, abs=1e-12)
    assert found.diameters == pytest.approx(distance / 4.0)
    assert found.metal == pytest.approx(distance - 2.0)
    assert found.nearest == pytest.approx((50.0, 0.0))


def test_the_metal_outside_a_thread_is_at_least_a_pitch() -> None:
    # 4 mm thread with a very coarse pitch of 2.2 mm: 2 + 2.2 = 4.2 mm, more than 1 D; common practice
    (first, *_) = at_edge(4.1, plain_profile(4.0, pitch=2.2)).broken
    assert (first.code, first.severity, first.limit, first.radius) == ("edge-distance", STOP, 2.2, 2.0)
    assert first.term.words == "1 x pitch"
    (first, *_) = at_edge(4.1, plain_profile(4.0)).broken
    assert first.severity is CAUTION


def test_a_counterbore_keeps_its_own_web_to_the_edge() -> None:
    # Counterbore of 8 mm: stop below 0.25 x 8 = 2 mm of metal (centre at 6), caution below 0.5 x 8 = 4 mm (8)
    stepped = HoleProfile(4.0, (Bore(4.0), Bore(8.0, ZRange(0.0, -4.0), "counterbore")))
    worst = [at_edge(d, stepped).broken[0].severity for d in (5.99, 6.01, 7.99)]
    assert worst == [STOP, CAUTION, CAUTION]
    # Comfortable at 1 x 8 mm of metal, so 12 mm from the centre
    assert codes(at_edge(11.9, stepped)) == [("modest-edge-distance", NOTE)]
    assert codes(at_edge(12.0, stepped)) == []
    assert at_edge(3.9, stepped).broken[0].code == "breaks-through-edge"


def test_heads_may_not_hang_over_an_edge() -> None:
    headed = HoleProfile(4.0, (Bore(4.0),), (Head(20.0, ZRange(2.0, 0.0), "washer"),))
    assert ("head-overhang", STOP) in codes(at_edge(9.99, headed))
    assert codes(at_edge(10.0, headed)) == []


def test_edges_of_openings_count_too() -> None:
    window = circle_outline(Circle((50.0, 30.0), 10.0))
    boundaries = boundaries_of(Surroundings(PartShape(PLATE, (window,))))
    sites = [DrillSite(1, "row", (50.0, y), plain_profile(4.0)) for y in (14.5, 30.0)]
    table = edge_table(sites, boundaries, LIMITS)
    near, inside = table.relation(0, 1), table.relation(1, 1)
    assert near.distance == pytest.approx(5.5)
    assert codes(near)[0] == ("edge-distance", CAUTION)
    assert inside.distance == pytest.approx(-10.0)
    assert codes(inside)[0] == ("off-part", STOP)
    assert table.least_of(0) is not None


def test_an_outline_with_arcs_is_not_a_polygon() -> None:
    """1 um inside the limit at the end of a slot-shaped plate; chords of 5 degrees would hide 10 um of it."""
    slot = rectangle(0.0, 0.0, 100.0, 20.0, corner_radius=10.0)
    turn = math.radians(2.5)
    for off, expected in ((0.001, []), (-0.001, [("modest-edge-distance", NOTE)])):
        away = 10.0 - 8.0 - off
        center = (90.0 + away * math.cos(turn), 10.0 + away * math.sin(turn))
        boundaries = boundaries_of(Surroundings(PartShape(slot)))
        found = edge_table([DrillSite(1, "row", center, plain_profile(4.0))], boundaries, LIMITS).relation(0, 0)
        assert found.distance == pytest.approx(8.0 + off, abs=1e-12)
        assert codes(found) == expected


def around(
    keep_out: KeepOut, center: tuple[float, float], profile: HoleProfile, thickness: float = 2.0
) -> EdgeRelation:
    boundaries = boundaries_of(Surroundings(keep_outs=(keep_out,)))
    return edge_table([DrillSite(1, "row", center, profile)], boundaries, LIMITS, thickness=thickness).relation(0, 0)


def test_keep_outs_and_their_margins() -> None:
    pocket = KeepOut("patch", "pocket", rectangle(0, 0, 10, 10), margin=1.0, caution_margin=2.0)
    hole = plain_profile(4.0)
    assert codes(around(pocket, (5.0, 14.1), hole)) == []
    assert codes(around(pocket, (5.0, 13.9), hole)) == [("near-keep-out", CAUTION)]
    assert codes(around(pocket, (5.0, 12.9), hole)) == [("near-keep-out", STOP)]
    assert codes(around(pocket, (5.0, 11.9), hole)) == [("in-keep-out", STOP)]
    assert codes(around(pocket, (5.0, 5.0), hole)) == [("in-keep-out", STOP)]
    assert around(pocket, (5.0, 5.0), hole).distance == pytest.approx(-5.0)


def test_depth_counts_against_keep_outs() -> None:
    """A blind hole above a keep-out does not clash with it; one that reaches it does."""
    channel = KeepOut("oil way", "pocket", rectangle(0, 0, 10, 10), margin=1.0, z=ZRange(-6.0, -8.0))
    for bottom, clash in ((-5.0, False), (-6.0, False), (-6.01, True), (-math.inf, True)):
        blind = HoleProfile(4.0, (Bore(4.0, ZRange(0.0, bottom)),))
        assert bool(around(channel, (5.0, 5.0), blind).broken) is clash
    blind = HoleProfile(4.0, (Bore(4.0, ZRange(0.0, -5.0)),))
    assert codes(around(replace(channel, depth_margin=1.0), (5.0, 5.0), blind)) == []
    assert codes(around(replace(channel, depth_margin=1.1), (5.0, 5.0), blind)) == [("in-keep-out", STOP)]


def test_bends_take_the_limits_of_the_table() -> None:
    # 2 mm sheet: hole edge to the bend's tangent caution below 2 t = 4 mm, comfortable 2.5 t = 5 mm (guides disagree)
    tangent = KeepOut("rear bend", "bend", (Segment((0.0, 0.0), (80.0, 0.0)),))
    hole = plain_profile(4.0)
    assert codes(around(tangent, (40.0, 7.0), hole)) == []
    assert codes(around(tangent, (40.0, 6.9), hole)) == [("modest-keep-out-distance", NOTE)]
    assert codes(around(tangent, (40.0, -5.9), hole))[0] == ("near-keep-out", CAUTION)
    assert codes(around(tangent, (40.0, 1.9), hole))[0] == ("in-keep-out", STOP)
    # Beyond its end the bend does not reach
    assert around(tangent, (83.0, 4.0), hole).distance == pytest.approx(5.0)
    headed = HoleProfile(4.0, (Bore(4.0),), (Head(16.0, ZRange(2.0, 0.0)),))
    assert ("head-overhang", STOP) in codes(around(tangent, (40.0, 7.9), headed))
    assert codes(around(replace(tangent, margin=0.5), (40.0, 6.9), hole)) == []


def test_a_joint_with_a_width_counts_from_its_edge() -> None:
    joint = KeepOut("seam", "joint", (Segment((0.0, 0.0), (80.0, 0.0)),), margin=1.0, half_width=1.5)
    found = around(joint, (40.0, 4.4), plain_profile(4.0))
    assert codes(found) == [("near-keep-out", STOP)]
    assert found.metal == pytest.approx(0.9)
    assert codes(around(joint, (40.0, 4.5), plain_profile(4.0))) == []


def test_a_wall_above_the_face_meets_heads_only() -> None:
    wall = KeepOut("rail", "wall", rectangle(0, 0, 80, 5), z=ZRange(10.0, 0.0))
    headed = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)),), (Head(9.0, ZRange(3.0, 0.0)),))
    assert codes(around(wall, (40.0, 9.4), headed)) == [("head-overhang", STOP)]
    assert codes(around(wall, (40.0, 9.5), headed)) == []
    assert codes(around(wall, (40.0, 2.0), plain_profile(4.0, z=ZRange(0.0)))) == []


@given(scenes)
@settings(max_examples=40)
def test_tables_and_single_relations_agree(scene: Scene) -> None:
    sites, surroundings = scene
    report = check_spacing(sites, surroundings, LIMITS)
    table, thickness = report.edges, surroundings.part.thickness
    for i, site in enumerate(sites):
        for j, boundary in enumerate(table.boundaries):
            r = table.relation(i, j)
            if boundary.area is not None and isinstance(boundary.area.shape, Outline):
                inside_by = boundary.area.shape.inside_by(site.center)
                assert abs(r.distance) == pytest.approx(abs(inside_by), abs=1e-9)
            assert math.dist(site.center, r.nearest) == pytest.approx(abs(r.distance), abs=1e-9)
            broken = [d for d in boundary.demands(site.profile, LIMITS, thickness) if r.distance < d.need - 1e-9]
            assert bool(broken) is bool(r.broken)
            if broken:
                assert r.severity is max((d.severity for d in broken), key=lambda s: s.rank)
            notable = [e for e in report.edge_relations if e.site is site and e.boundary is boundary]
            assert len(notable) == bool(broken)


def test_the_report_sums_up() -> None:
    sites = [
        DrillSite(1, "row", (20.0, 20.0), plain_profile(4.0)),
        DrillSite(2, "row", (30.0, 20.0), plain_profile(4.0)),
    ]
    calm = check_spacing(sites, Surroundings(PartShape(PLATE)), LIMITS)
    assert calm.worst is None
    assert calm.least_web is not None
    assert calm.least_web.web == 6.0
    headed = HoleProfile(4.0, (Bore(4.0),), (Head(10.1, ZRange(2.0, 0.0)),))
    meeting = check_spacing([replace(s, profile=headed) for s in sites], Surroundings(PartShape(PLATE)), LIMITS)
    assert meeting.worst is STOP
    other = DrillSite(3, "other row", (32.0, 20.0), plain_profile(4.0))
    crowded = check_spacing(sites, Surroundings(PartShape(PLATE), standing_sites=(other,)), LIMITS)
    assert crowded.worst is STOP
    assert crowded.hole_relations[0].code == "breaks-into-new-hole"
    assert crowded.plugs_met == ()


def test_an_outline_without_symmetry_and_a_turned_sense() -> None:
    for outline in (triangle(40.0), triangle(40.0).reversed()):
        boundaries = boundaries_of(Surroundings(PartShape(outline)))
        inside, outside = (
            edge_table([DrillSite(1, "row", p, plain_profile(1.0))], boundaries, LIMITS).relation(0, 0)
            for p in ((18.0, 15.0), (1.0, 20.0))
        )
        assert inside.distance > 0
        assert codes(outside)[0] == ("off-part", STOP)


def test_the_job_lowers_an_edge_limit_with_a_reason() -> None:
    own = LIMITS.overridden("edge-distance", STOP, LimitTerm(0.7, "diameter", "job file", "no load on this screw"))
    boundaries = boundaries_of(Surroundings(PartShape(PLATE)))
    sites = [DrillSite(1, "row", (50.0, y), plain_profile(4.0)) for y in (3.0, 2.7, 1.9)]
    table = edge_table(sites, boundaries, own)
    worst = [(table.relation(i, 0).broken[0].code, table.relation(i, 0).broken[0].severity) for i in range(3)]
    # However low the job sets it, a hole may not open into the edge
    assert worst == [("edge-distance", CAUTION), ("edge-distance", STOP), ("breaks-through-edge", STOP)]


def test_impossible_surroundings_are_refused() -> None:
    with pytest.raises(InputError, match="at least one line or arc"):
        KeepOut("seam", "joint", ())
    with pytest.raises(InputError, match="margins that are finite"):
        KeepOut("seam", "joint", Circle((0, 0), 1.0), margin=math.nan)
    with pytest.raises(InputError, match="thickness"):
        PartShape(thickness=0.0)
    assert KeepOut("seam", "joint", Circle((0, 0), 1.0)).z_counted == EVERYWHERE


def test_an_arc_keep_out_is_exact() -> None:
    rib = KeepOut("rib", "joint", (Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), ccw=True),), margin=1.0)
    inside = around(rib, (0.0, 7.0), plain_profile(4.0))
    assert (inside.distance, codes(inside)) == (pytest.approx(3.0), [])
    assert around(rib, (0.0, -10.0), plain_profile(4.0)).distance == pytest.approx(math.hypot(10, 10))
