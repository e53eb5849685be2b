"""Holes against holes: the named relations, their figures, one at a time and ten thousand at once."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from spacing_scenes import HELD, LOOSE, OPEN, SOLID

from holecam.errors import InputError
from holecam.layout.spacing_holes import ALL_PAIRS_UP_TO, new_hole_pairs, old_hole_pairs
from holecam.layout.spacing_relations import Filling, HoleRelation, Relation, bite
from holecam.layout.spacing_rules import LimitTerm, SeverityChange, SpacingLimits, table_limits
from holecam.layout.spacing_sites import Bore, DrillSite, Head, HoleProfile, ZRange, plain_profile
from holecam.layout.spacing_surroundings import OldHole, Plug, PlugFixing, PlugHardness
from holecam.plan.finding import Severity

LIMITS = table_limits()
STOP, CAUTION, NOTE = Severity.STOP, Severity.CAUTION, Severity.NOTE


def one(
    apart: float,
    *,
    new: float = 4.0,
    old: float = 4.0,
    plug: Plug | None = LOOSE,
    pitch: float | None = 0.7,
    limits: SpacingLimits = LIMITS,
    thickness: float | None = None,
) -> HoleRelation:
    """The relation of one new hole at the origin to one old hole ``apart`` mm along a slanted line."""
    at = (apart * math.cos(0.7), apart * math.sin(0.7))
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(new, pitch=pitch))]
    pairs = old_hole_pairs(sites, [OldHole("old 1", at, old, plug)], limits, thickness=thickness)
    return pairs.relation(0)


@pytest.mark.parametrize(
    ("apart", "new", "old", "relation", "severity"),
    [
        # Limits for 4 mm holes, common practice: comfortable 1 D = 4, caution 0.5 D = 2, stop 1 mm or 0.25 D = 1
        (8.0, 4.0, 4.0, Relation.CLEAR, None),
        (7.9, 4.0, 4.0, Relation.CLEAR, NOTE),
        (6.0, 4.0, 4.0, Relation.CLEAR, NOTE),
        (5.9, 4.0, 4.0, Relation.THIN_WEB, CAUTION),
        (5.0, 4.0, 4.0, Relation.THIN_WEB, CAUTION),
        (4.9, 4.0, 4.0, Relation.THIN_WEB, STOP),
        (4.011, 4.0, 4.0, Relation.THIN_WEB, STOP),
        (4.009, 4.0, 4.0, Relation.TOUCHES, STOP),
        (3.991, 4.0, 4.0, Relation.TOUCHES, STOP),
        (3.9, 4.0, 4.0, Relation.BREAKS_INTO, STOP),
        (2.0, 4.0, 4.0, Relation.BREAKS_INTO, STOP),
        (1.9, 4.0, 4.0, Relation.CENTRE_INSIDE, STOP),
        (0.05, 4.0, 4.0, Relation.CONCENTRIC, NOTE),
        (0.06, 4.0, 4.0, Relation.CENTRE_INSIDE, STOP),
        (0.9, 6.0, 4.0, Relation.SWALLOWS, CAUTION),
        (1.0, 6.0, 4.0, Relation.SWALLOWS, CAUTION),
        (1.1, 6.0, 4.0, Relation.CENTRE_INSIDE, STOP),
    ],
)
def test_relations_have_their_names(
    apart: float, new: float, old: float, relation: Relation, severity: Severity | None
) -> None:
    found = one(apart, new=new, old=old)
    assert found.relation is relation
    assert found.severity is severity
    assert found.distance == pytest.approx(apart, abs=1e-12)
    assert found.web == pytest.approx(apart - (new + old) / 2, abs=1e-12)


@pytest.mark.parametrize(
    ("plug", "severity", "relation"),
    [
        (OPEN, STOP, Relation.INSIDE),
        (LOOSE, STOP, Relation.INSIDE),
        (HELD, NOTE, Relation.INSIDE),
        (SOLID, NOTE, Relation.INSIDE),
    ],
)
def test_a_hole_wholly_inside_needs_a_plug_that_cannot_turn(
    plug: Plug | None, severity: Severity, relation: Relation
) -> None:
    # Plug 10 mm, hole 4 mm, centres 1 mm apart: wall 5 - 1 - 2 = 2 mm
    found = one(1.0, new=4.0, old=10.0, plug=plug)
    assert (found.relation, found.severity) == (relation, severity)
    assert found.wall == pytest.approx(2.0, abs=1e-12)


@pytest.mark.parametrize(
    ("apart", "pitch", "relation", "limit"),
    [
        # Wall of at least one pitch and 0.5 mm, common practice: 5 - 2 - apart
        (2.3, 0.7, Relation.INSIDE, 0.7),
        (2.31, 0.7, Relation.INSIDE_THIN_WALL, 0.7),
        (2.5, 0.4, Relation.INSIDE, 0.5),
        (2.51, 0.4, Relation.INSIDE_THIN_WALL, 0.5),
        (2.51, None, Relation.INSIDE_THIN_WALL, 0.5),
    ],
)
def test_the_wall_inside_a_plug(apart: float, pitch: float | None, relation: Relation, limit: float) -> None:
    found = one(apart, new=4.0, old=10.0, plug=HELD, pitch=pitch)
    assert found.relation is relation
    assert found.limit == pytest.approx(limit)
    assert found.severity is (NOTE if relation is Relation.INSIDE else STOP)


@pytest.mark.parametrize(("plug", "severity"), [(OPEN, STOP), (LOOSE, STOP), (HELD, STOP), (SOLID, CAUTION)])
def test_only_a_plug_of_the_same_metal_that_is_held_may_be_cut_into(plug: Plug | None, severity: Severity) -> None:
    assert one(3.0, plug=plug).severity is severity
    harder = Plug("steel grub screw", PlugFixing.LOCKED, PlugHardness.HARDER)
    assert one(3.0, plug=harder).severity is STOP


def test_codes_tell_plugs_from_open_holes() -> None:
    assert one(3.0, plug=LOOSE).code == "breaks-into-plug"
    assert one(3.0, plug=OPEN).code == "breaks-into-open-hole"
    assert one(1.0, plug=LOOSE).code == "centre-in-plug"
    assert one(1.0, plug=OPEN).code == "centre-in-open-hole"
    assert one(2.4, new=4.0, old=10.0, plug=HELD).code == "thin-plug-wall"
    assert one(0.0, plug=OPEN).code == "concentric"
    assert one(7.0).code == "modest-web"
    # A drill that takes in an open hole off-centre follows it while its axis falls into it
    lost, held = one(1.9, new=12.0, old=4.0, plug=OPEN), one(2.1, new=12.0, old=4.0, plug=OPEN)
    assert (lost.code, lost.severity) == ("takes-in-open-hole", STOP)
    assert (held.code, held.severity) == ("takes-in-open-hole", CAUTION)


@pytest.mark.outside_check(
    subject="metal at edges and webs",
    source="angle of two crossing circles",
    closeness="1e-7",
    standing="mathematics",
)
@pytest.mark.parametrize(
    ("rn", "ro", "c", "depth", "share"),
    [
        # cos phi = (c^2 + rn^2 - ro^2) / (2 c rn), share = phi / pi
        (3.0, 3.0, 3.0, 3.0, 1 / 3),  # equilateral: 60 degrees to each side
        (3.0, 4.0, 5.0, 2.0, math.acos(0.6) / math.pi),  # 3-4-5: cos phi = 18 / 30
        (3.0, 3.0, 3.0 * math.sqrt(2), 6 - 3 * math.sqrt(2), 1 / 4),  # right angle: 45 degrees to each side
        (2.0, 5.0, 7.0, 0.0, 0.0),  # touching
        (2.0, 5.0, 2.9, 4.1, 1.0),  # wholly inside
        (5.0, 2.0, 2.9, 4.1, 0.0),  # its rim runs round the other hole
        (2.0, 5.0, math.sqrt(21.0), 7 - math.sqrt(21.0), 1 / 2),  # c^2 = ro^2 - rn^2: half of the rim
    ],
)
def test_the_share_of_the_circumference_in_the_other_metal(
    rn: float, ro: float, c: float, depth: float, share: float
) -> None:
    found = bite(rn, ro, (1.0, 2.0), (1.0 + c * 0.6, 2.0 - c * 0.8))
    assert found.depth == pytest.approx(depth, abs=1e-12)
    assert found.share == pytest.approx(share, abs=1e-7)
    assert found.towards == pytest.approx((0.6, -0.8))


@given(st.floats(0.5, 10.0), st.floats(0.5, 10.0), st.floats(0.0, 25.0), st.floats(0.0, math.tau))
def test_the_share_agrees_with_walking_round_the_drill(rn: float, ro: float, c: float, turn: float) -> None:
    assume(c > 1e-3 or abs(rn - ro) > 1e-3)  # one circle on the other: all of the rim or none
    other = (c * math.cos(turn), c * math.sin(turn))
    steps = (np.arange(20_000) + 0.5) * (math.tau / 20_000)
    rim = np.stack([rn * np.cos(steps), rn * np.sin(steps)], axis=1)
    inside = float((np.hypot(rim[:, 0] - other[0], rim[:, 1] - other[1]) < ro).mean())
    share = bite(rn, ro, (0.0, 0.0), other).share
    # The rim that runs nearly along the other's is the only place where a step of the walk counts for much
    slack = 2e-4 if abs(abs(rn - ro) - c) > 1e-3 and abs(rn + ro - c) > 1e-3 else 0.05
    assert share == pytest.approx(inside, abs=slack)


def test_centres_that_coincide_have_no_direction() -> None:
    assert bite(2.0, 2.0, (1.0, 1.0), (1.0, 1.0)).towards is None


def test_depth_counts() -> None:
    blind = HoleProfile(4.0, (Bore(4.0, ZRange(0.0, -3.0), "thread"),), pitch=0.7)
    sites = [DrillSite(1, "row", (0.0, 0.0), blind)]
    below = OldHole("from the back", (1.0, 0.0), 4.0, None, ZRange(-3.0, -10.0))
    deeper = OldHole("from the back", (1.0, 0.0), 4.0, None, ZRange(-2.9, -10.0))
    passes = old_hole_pairs(sites, [below], LIMITS).relation(0)
    assert (passes.relation, passes.severity) == (Relation.OTHER_DEPTH, None)
    assert old_hole_pairs(sites, [deeper], LIMITS).relation(0).severity is STOP


def test_the_worst_height_counts() -> None:
    """A counterbore takes an old hole in whole, but the drill below it breaks into that hole."""
    stepped = HoleProfile(4.0, (Bore(4.0, ZRange(0.0), "drill"), Bore(10.0, ZRange(0.0, -2.0), "counterbore")))
    old = OldHole("old 1", (3.0, 0.0), 3.0, LOOSE)
    found = old_hole_pairs([DrillSite(1, "row", (0.0, 0.0), stepped)], [old], LIMITS).relation(0)
    assert found.code == "breaks-into-plug"
    assert found.radius == 2.0
    shallow = OldHole("old 1", (3.0, 0.0), 3.0, LOOSE, ZRange(0.0, -2.0))
    found = old_hole_pairs([DrillSite(1, "row", (0.0, 0.0), stepped)], [shallow], LIMITS).relation(0)
    assert found.radius == 2.0  # still the drill: it runs through the counterbore's heights as well
    bored = HoleProfile(4.0, (Bore(4.0, ZRange(-2.0), "drill"), Bore(10.0, ZRange(0.0, -2.0), "counterbore")))
    found = old_hole_pairs([DrillSite(1, "row", (0.0, 0.0), bored)], [shallow], LIMITS).relation(0)
    assert (found.code, found.radius) == ("takes-in-plug", 5.0)


def test_heads_meet_where_holes_do_not() -> None:
    profile = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)),), (Head(7.0, ZRange(4.0, 0.0)),), 0.7)
    sunk = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)),), (Head(7.0, ZRange(0.0, -4.0)),), 0.7)
    near = [DrillSite(1, "row", (0.0, 0.0), profile), DrillSite(2, "row", (6.9, 0.0), profile)]
    found = new_hole_pairs(near, LIMITS).relation(0)
    assert found.heads_meet
    assert found.head_gap == pytest.approx(-0.1)
    just = [near[0], DrillSite(2, "row", (7.0, 0.0), profile)]
    assert not new_hole_pairs(just, LIMITS).relation(0).heads_meet
    other_height = [near[0], DrillSite(2, "row", (6.9, 0.0), sunk)]
    assert new_hole_pairs(other_height, LIMITS).relation(0).head_gap is None


def test_the_same_hole_asked_for_twice() -> None:
    profile = plain_profile(4.0)
    sites = [DrillSite(1, "a", (0.0, 0.0), profile), DrillSite(2, "b", (0.01, 0.0), profile)]
    (found,) = new_hole_pairs(sites, LIMITS).notable()
    assert (found.code, found.severity, found.filling) == ("same-place", STOP, Filling.NEW_HOLE)


def test_thickness_raises_the_web() -> None:
    # Caution below the thickness, common practice: 3 mm web between 4 mm holes in 3.2 mm plate
    assert one(7.0, thickness=3.0).severity is NOTE
    found = one(7.0, thickness=3.2)
    assert (found.severity, found.limit) == (CAUTION, pytest.approx(3.2))
    assert found.term is not None
    assert found.term.words == "1 x thickness"


@pytest.mark.outside_check(
    subject="metal at edges and webs",
    source="AISC 360-16 J3.3: 2-2/3 D between centres",
    closeness="exact",
    standing="published",
)
def test_structural_steel_asks_for_a_distance_of_centres() -> None:
    # AISC 360-16 J3.3: least 2-2/3 D, preferred 3 D, centre to centre
    steel = table_limits("structural-steel")
    assert one(8.0 / 3 * 4.0, limits=steel).relation is Relation.CLEAR
    found = one(8.0 / 3 * 4.0 - 0.01, limits=steel)
    assert (found.code, found.severity) == ("thin-web", CAUTION)
    assert found.term is not None
    assert "AISC" in found.term.source


def test_the_job_overrides_limits_with_a_reason() -> None:
    own = LimitTerm(3.0, "mm", "job file", "thin brass, tapped by hand")
    limits = LIMITS.overridden("web", STOP, own)
    found = one(6.5, limits=limits)
    assert (found.severity, found.limit, found.term) == (STOP, 3.0, own)
    assert own.cited == "job file: thin brass, tapped by hand"
    with pytest.raises(InputError, match="expected a reason"):
        LIMITS.overridden("web", STOP, LimitTerm(3.0, "mm", "job file"))
    with pytest.raises(InputError, match='rule "wob" is not known'):
        LIMITS.overridden("wob", STOP, own)
    with pytest.raises(InputError, match="expected one of mm, diameter"):
        LimitTerm(3.0, "inch", "job file")
    with pytest.raises(InputError, match="zero or more"):
        LimitTerm(math.nan, "mm", "job file")


def test_the_job_changes_severities_with_a_reason() -> None:
    change = SeverityChange("breaks-into-plug", CAUTION, "same bar, silver soldered, tried on scrap")
    limits = SpacingLimits(LIMITS.rules, (change, SeverityChange("thin-web", CAUTION, "as above")))
    assert one(3.0, limits=limits).severity is CAUTION
    assert one(4.5, limits=limits).severity is CAUTION
    assert one(3.0, plug=OPEN, limits=limits).severity is STOP
    with pytest.raises(InputError, match="expected a reason"):
        SeverityChange("thin-web", CAUTION, " ")


def test_arithmetic_noise_earns_no_finding() -> None:
    """A row spaced exactly at the limit, in inches, keeps it wherever it starts."""
    diameter, pitch = 25.4 * 0.125, 25.4 * 0.125 * 1.5
    for k in range(200):
        x = 25.4 * 0.0005 * k
        sites = [DrillSite(1, "row", (x, 0.1 * k), plain_profile(diameter))]
        pairs = old_hole_pairs(sites, [OldHole("old", (x + pitch, 0.1 * k), diameter)], LIMITS)
        assert pairs.relation(0).relation is Relation.CLEAR


def scattered(seed: int, count: int, side: float) -> tuple[list[DrillSite], list[OldHole]]:
    random = np.random.default_rng(seed)
    profiles = [
        plain_profile(3.2, pitch=0.635),
        HoleProfile(3.0, (Bore(3.0), Bore(6.0, ZRange(0.0, -2.0))), (Head(5.5, ZRange(3.0, 0.0)),)),
    ]
    sites = [
        DrillSite(i + 1, "row", (float(x), float(y)), profiles[i % 2])
        for i, (x, y) in enumerate(random.uniform(0, side, (count, 2)))
    ]
    plugs = [OPEN, LOOSE, HELD, SOLID]
    old = [
        OldHole(f"old {i}", (float(x), float(y)), float(random.uniform(1, 9)), plugs[i % 4], ZRange(0.0, -5.0))
        for i, (x, y) in enumerate(random.uniform(0, side, (count, 2)))
    ]
    return sites, old


def test_the_index_finds_what_all_pairs_find() -> None:
    sites, old = scattered(5, ALL_PAIRS_UP_TO + 60, 150.0)
    indexed = old_hole_pairs(sites, old, LIMITS, thickness=2.0)
    assert not indexed.complete
    few = [s for k in range(0, len(sites), 100) for s in sites[k : k + 100]]
    direct = [
        relation
        for k in range(0, len(few), 100)
        for start in range(0, len(old), 100)
        for relation in old_hole_pairs(few[k : k + 100], old[start : start + 100], LIMITS, thickness=2.0).notable()
    ]

    def key(r: HoleRelation) -> tuple[int, str, str, str, float]:
        return (r.site.number, r.other_name, r.code, str(r.severity), round(r.web, 9))

    assert sorted(map(key, indexed.notable())) == sorted(map(key, direct))
    assert len(direct) > 500
    fresh = new_hole_pairs(sites, LIMITS)
    pairs = {(int(a), int(b)) for a, b in zip(fresh.columns.first, fresh.columns.second, strict=True)}
    assert all(a < b for a, b in pairs)
    brute = {
        (i, j)
        for i in range(len(sites))
        for j in range(i + 1, len(sites))
        if math.dist(sites[i].center, sites[j].center) < 6.0
    }
    assert brute <= pairs
    assert len(brute) > 50


@given(st.integers(0, 10_000))
@settings(max_examples=25)
def test_relations_agree_with_a_plain_reading_of_the_rules(seed: int) -> None:
    """Everything again, pair by pair and bore by bore, in the words of the practice table."""
    sites, old = scattered(seed, 12, 30.0)
    pairs = old_hole_pairs(sites, old, LIMITS)
    for row in range(len(pairs)):
        r = pairs.relation(row)
        assert isinstance(r.other, OldHole)
        c, ro = math.dist(r.site.center, r.other.center), r.other.radius
        expected = [_plainly(c, b.radius, ro, r) for b in r.site.profile.bores if b.z.shares_height_with(r.other.z)]
        assert (r.severity, r.code) in expected
        assert (r.severity.rank if r.severity else -1) == max(s.rank if s else -1 for s, _ in expected)


def _plainly(c: float, rn: float, ro: float, r: HoleRelation) -> tuple[Severity | None, str]:
    kind = "open-hole" if r.filling is Filling.OPEN else "plug"
    solid, held = r.filling is Filling.SOLID_PLUG, r.filling in (Filling.SOLID_PLUG, Filling.HELD_PLUG)
    larger, pitch = 2 * max(rn, ro), r.site.profile.pitch or 0.0
    web = c - rn - ro
    if c <= 0.05 and rn >= ro - 0.05:
        return (NOTE, "concentric")
    if rn < ro and c + rn <= ro:
        code = "concentric" if c <= 0.05 else f"inside-{kind}"
        if kind == "open-hole":
            return (STOP, code)
        if ro - rn - c < max(pitch, 0.5):
            return (CAUTION if solid else STOP, "concentric" if c <= 0.05 else "thin-plug-wall")
        return (NOTE if held else STOP, code)
    if c + ro <= rn:
        return (STOP if kind == "open-hole" and c < ro else CAUTION, f"takes-in-{kind}")
    if c < ro:
        return (CAUTION if solid else STOP, f"centre-in-{kind}")
    if web < -0.01:
        return (CAUTION if solid else STOP, f"breaks-into-{kind}")
    if web <= 0.01:
        return (CAUTION if solid else STOP, "touches")
    if web < max(1.0, 0.25 * larger):
        return (STOP, "thin-web")
    if web < 0.5 * larger:
        return (CAUTION, "thin-web")
    return (NOTE, "modest-web") if web < larger else (None, "modest-web")


def test_nearest_and_least_web() -> None:
    sites = [DrillSite(1, "row", (0.0, 0.0), plain_profile(4.0)), DrillSite(2, "row", (50.0, 0.0), plain_profile(4.0))]
    old = [OldHole("near", (9.0, 0.0), 4.0), OldHole("far", (20.0, 0.0), 4.0)]
    pairs = old_hole_pairs(sites, old, LIMITS)
    assert len(pairs) == 4
    near, least = pairs.nearest(0), pairs.least_web()
    assert near is not None
    assert near.other_name == "near"
    assert least is not None
    assert least.web == 5.0
    assert old_hole_pairs(sites, [], LIMITS).least_web() is None
    assert old_hole_pairs(sites, [], LIMITS).nearest(0) is None
    assert old_hole_pairs([], old, LIMITS).notable() == []


def test_impossible_holes_are_refused() -> None:
    with pytest.raises(InputError, match="diameter of the hole"):
        Bore(0.0)
    with pytest.raises(InputError, match="at least one bore"):
        HoleProfile(4.0, ())
    with pytest.raises(InputError, match="finite centre"):
        DrillSite(3, "row", (math.nan, 0.0), plain_profile(4.0))
    with pytest.raises(InputError, match="top above the bottom"):
        ZRange(-3.0, 0.0)
    with pytest.raises(InputError, match="old 1: diameter"):
        OldHole("old 1", (0.0, 0.0), -1.0)
    with pytest.raises(InputError, match="finite centre"):
        OldHole("old 1", (0.0, math.inf), 1.0)
