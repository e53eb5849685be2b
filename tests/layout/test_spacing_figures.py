"""Spacing in full: every pair of holes, every demand of an edge, by hand at each limit and as recorded on parts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from recorded_figures import plain_figures, same_as_recorded
from spacing_scenes import HELD, LOOSE, SOLID, Scene, grid_scene_of, scene_of

from holecam.errors import InputError
from holecam.layout import spacing_holes
from holecam.layout.spacing import SpacingReport, check_spacing
from holecam.layout.spacing_boundaries import Side, boundaries_of
from holecam.layout.spacing_columns import _stack, old_columns, site_columns
from holecam.layout.spacing_compare import combinations, compare_pairs, head_clearance, web_needed
from holecam.layout.spacing_edges import edge_table
from holecam.layout.spacing_holes import HolePairs, between_pairs, new_hole_pairs, old_hole_pairs
from holecam.layout.spacing_relations import Bite, Filling, Relation, bite, code_of, filling_of
from holecam.layout.spacing_rules import LimitTerm, SeverityChange, SpacingLimits, table_limits
from holecam.layout.spacing_sites import EVERYWHERE, Bore, DrillSite, Head, HoleProfile, ZRange, plain_profile
from holecam.layout.spacing_surroundings import (
    KeepOut,
    OldHole,
    PartShape,
    Plug,
    PlugFixing,
    PlugHardness,
    Surroundings,
)
from holecam.plan.finding import Severity
from holecam.shapes import Circle, Segment, circle_outline, rectangle

FILE = "spacing"
LIMITS = table_limits()
SCENES: dict[str, Scene] = {
    "bend and seat": scene_of(8), "plugs": scene_of(5), "opening": scene_of(19), "bend, pocket and seat": scene_of(15),
    "tight grid": grid_scene_of(4), "grid with a pocket": grid_scene_of(13),
}  # fmt: skip


def told(report: SpacingReport) -> object:
    """Every figure of a report, the tables as columns."""
    pairs = {n: getattr(report, n).columns for n in ("old_holes", "new_holes", "standing")}
    return [
        pairs, report.edges.distance, report.hole_relations, report.edge_relations, report.worst, report.least_web,
        report.plugs_met, [report.edges.least_of(i) for i in range(len(report.edges.sites))],
    ]  # fmt: skip


@pytest.mark.parametrize("name", SCENES)
def test_whole_reports_as_recorded(name: str) -> None:
    sites, surroundings = SCENES[name]
    near = replace(sites[0], number=90, pattern="other", center=(sites[0].center[0] + 7.0, sites[0].center[1] + 2.0))
    report = check_spacing(sites, replace(surroundings, standing_sites=(near,)), LIMITS)
    same_as_recorded(f"report: {name}", told(report), file=FILE)


def test_reports_with_limits_of_the_job() -> None:
    own = LIMITS.overridden("web", Severity.STOP, LimitTerm(1.2, "mm", "job file", "thin foil"))
    own = own.overridden("edge-distance", Severity.CAUTION, LimitTerm(0.9, "thickness", "job file", "tested"))
    own = replace(
        own,
        severities=(
            SeverityChange("thin-web", Severity.NOTE, "brass"),
            SeverityChange("edge-distance", Severity.NOTE, "tested"),
            SeverityChange("touches", Severity.CAUTION, "filled later"),
        ),
    )  # fmt: skip
    for name in ("bend and seat", "tight grid"):
        same_as_recorded(f"report with own limits: {name}", told(check_spacing(*SCENES[name], own)), file=FILE)
    assert own.reason_for("thin-web") == "brass"
    assert own.reason_for("web") == ""
    assert own.severity_of("thin-web", Severity.STOP) is Severity.NOTE
    assert own.severity_of("web", Severity.STOP) is Severity.STOP


def lie(
    c: float, rn: float, ro: float, plug: Plug | None = None, *, limits: SpacingLimits = LIMITS
) -> tuple[str, str | None]:
    """How a new hole of radius rn lies to an old one of ro, c apart: relation and severity."""
    site = DrillSite(1, "a", (c, 0.0), plain_profile(2.0 * rn))
    found = old_hole_pairs([site], [OldHole("old", (0.0, 0.0), 2.0 * ro, plug)], LIMITS).relation(0)
    assert found.web == pytest.approx(c - rn - ro)
    assert found.wall == pytest.approx(ro - c - rn)
    assert (found.distance, found.radius, found.other_radius) == (c, rn, ro)
    return found.relation.name, None if found.severity is None else found.severity.name


def test_how_two_holes_lie_at_each_limit() -> None:
    """4 mm against 6 mm: webs of the table for 6 mm, a touch within 0.01 mm, into it, over its centre, round it."""
    note, caution, stop = (float(w[0]) for w in web_needed(np.array([2.0]), np.array([3.0]), LIMITS, thickness=None))
    assert note > caution > stop > 0.02
    assert lie(5.0 + note, 2.0, 3.0) == ("CLEAR", None)
    assert lie(5.0 + note - 1e-6, 2.0, 3.0) == ("CLEAR", "NOTE")
    assert lie(5.0 + caution, 2.0, 3.0) == ("CLEAR", "NOTE")
    assert lie(5.0 + caution - 1e-6, 2.0, 3.0) == ("THIN_WEB", "CAUTION")
    assert lie(5.0 + stop - 1e-6, 2.0, 3.0) == ("THIN_WEB", "STOP")
    assert lie(5.0101, 2.0, 3.0) == ("THIN_WEB", "STOP")
    assert lie(5.0099, 2.0, 3.0) == ("TOUCHES", "STOP")
    assert lie(4.9901, 2.0, 3.0) == ("TOUCHES", "STOP")
    assert lie(4.9899, 2.0, 3.0) == ("BREAKS_INTO", "STOP")
    assert lie(3.001, 2.0, 3.0) == ("BREAKS_INTO", "STOP")
    assert lie(2.999, 2.0, 3.0) == ("CENTRE_INSIDE", "STOP")
    assert lie(1.001, 2.0, 3.0) == ("CENTRE_INSIDE", "STOP")
    assert lie(0.999, 2.0, 3.0)[0] in ("INSIDE", "INSIDE_THIN_WALL")
    assert lie(0.051, 2.0, 3.0)[0] in ("INSIDE", "INSIDE_THIN_WALL")
    assert lie(0.049, 2.0, 3.0) == ("CONCENTRIC", "STOP")  # smaller than the open hole: it cuts nothing
    assert lie(0.049, 3.0, 3.0) == ("CONCENTRIC", "NOTE")
    assert lie(0.049, 2.951, 3.0) == ("CONCENTRIC", "NOTE")
    assert lie(0.049, 2.949, 3.0) == ("CONCENTRIC", "STOP")
    # a larger drill that takes the old hole in whole follows it where its axis falls into it
    assert lie(1.5, 5.0, 2.0) == ("SWALLOWS", "STOP")
    assert lie(2.1, 5.0, 2.0) == ("SWALLOWS", "CAUTION")
    assert lie(3.001, 5.0, 2.0) == ("BREAKS_INTO", "STOP")


def test_the_limit_beside_a_hole_in_its_place() -> None:
    """Inside it is the wall that is left, beside it the web; a hole that opens the old one up has neither."""
    wall, stop = (LIMITS.binding(r, Severity.STOP, diameter=d) for r, d in (("plug-wall", 4.0), ("web", 6.0)))
    assert wall is not None
    assert stop is not None
    for c, rn, limit in (
        (0.5, 2.0, wall.value),
        (0.01, 2.0, wall.value),
        (0.01, 2.97, None),
        (0.01, 3.0, None),
        (4.0, 2.0, stop.value),
    ):
        site = DrillSite(1, "a", (c, 0.0), plain_profile(2.0 * rn))
        found = old_hole_pairs([site], [OldHole("old", (0.0, 0.0), 6.0, HELD)], LIMITS).relation(0)
        assert found.limit == (None if limit is None else pytest.approx(limit))
        assert (found.term is None) is (limit is None)


@pytest.mark.parametrize(("plug", "filling"), [(LOOSE, "loose"), (HELD, "held"), (SOLID, "solid")])
def test_how_a_hole_lies_to_a_plug(plug: Plug, filling: str) -> None:
    """Severities by what the drill meets: same metal and held, held alone, or neither; the wall that is left."""
    wall = LIMITS.binding("plug-wall", Severity.STOP, diameter=4.0)
    assert wall is not None
    at_wall = 6.0 - 2.0 - wall.value
    grave = {"loose": "STOP", "held": "STOP", "solid": "CAUTION"}[filling]
    inside = {"loose": "STOP", "held": "NOTE", "solid": "NOTE"}[filling]
    assert lie(8.0, 2.0, 6.0, plug) == ("TOUCHES", grave)
    assert lie(7.0, 2.0, 6.0, plug) == ("BREAKS_INTO", grave)
    assert lie(5.0, 2.0, 6.0, plug) == ("CENTRE_INSIDE", grave)
    assert lie(at_wall + 1e-6, 2.0, 6.0, plug) == ("INSIDE_THIN_WALL", grave)
    assert lie(at_wall, 2.0, 6.0, plug) == ("INSIDE", inside)
    assert lie(0.01, 2.0, 6.0, plug) == ("CONCENTRIC", inside)
    assert lie(0.01, 5.9, 6.0, plug) == ("CONCENTRIC", grave)
    assert lie(0.01, 6.0, 6.0, plug) == ("CONCENTRIC", "NOTE")
    assert lie(1.0, 9.0, 6.0, plug) == ("SWALLOWS", "CAUTION")


def test_new_holes_among_themselves() -> None:
    a, b = DrillSite(1, "a", (0.0, 0.0), plain_profile(4.0)), DrillSite(2, "a", (0.01, 0.0), plain_profile(4.0))
    far = DrillSite(3, "a", (50.0, 0.0), plain_profile(4.0))
    pairs = new_hole_pairs([a, b, far], LIMITS)
    assert len(pairs) == 3
    assert (pairs.columns.first.tolist(), pairs.columns.second.tolist()) == ([0, 0, 1], [1, 2, 2])
    one = pairs.relation(0)
    assert (one.relation, one.filling, one.code, one.severity) == (
        Relation.CONCENTRIC, Filling.NEW_HOLE, "same-place", Severity.STOP,
    )  # fmt: skip
    assert pairs.relation(1).code == "modest-web"
    assert pairs.relation(1).severity is None
    assert pairs.relation(1).limit is None
    assert [r.other_name for r in pairs.notable()] == ['hole 2 of "a"']
    least = pairs.least_web()
    assert least is not None
    assert least.distance == 0.01
    nearest = pairs.nearest(1)
    assert nearest is not None
    assert nearest.distance == pytest.approx(49.99)
    assert pairs.nearest(2) is None
    assert new_hole_pairs([a], LIMITS).least_web() is None
    assert between_pairs([a], [far], LIMITS).relation(0).distance == 50.0


def test_holes_at_other_heights_do_not_meet() -> None:
    """A blind hole above a cross hole: they share less than nothing; a shared hair counts, noise does not."""
    top = DrillSite(1, "a", (0.0, 0.0), plain_profile(4.0, z=ZRange(0.0, -5.0)))
    for depth, met in ((-5.0, False), (-5.0 + 5e-10, False), (-5.0 + 2e-9, True), (-4.9, True)):
        low = OldHole("low", (1.0, 0.0), 6.0, z=ZRange(depth, -9.0))
        found = old_hole_pairs([top], [low], LIMITS).relation(0)
        assert (found.relation is Relation.OTHER_DEPTH) is not met
        assert (found.severity is None) is not met
    alone = old_hole_pairs([top], [OldHole("low", (1.0, 0.0), 6.0, z=ZRange(-6.0, -9.0))], LIMITS)
    assert alone.least_web() is None
    assert alone.relation(0).limit is None


def test_the_bore_that_matters_most_counts() -> None:
    """A counterbore of 9 above a bore of 4: an old hole beside its upper part meets 4.5, beside the lower one 2."""
    profile = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)), Bore(9.0, ZRange(0.0, -2.0), "counterbore")))
    site = DrillSite(1, "a", (0.0, 0.0), profile)
    upper = old_hole_pairs([site], [OldHole("u", (7.0, 0.0), 4.0, z=ZRange(0.0, -1.0))], LIMITS).relation(0)
    lower = old_hole_pairs([site], [OldHole("l", (7.0, 0.0), 4.0, z=ZRange(-3.0, -9.0))], LIMITS).relation(0)
    assert (upper.radius, lower.radius) == (4.5, 2.0)
    assert (upper.web, lower.web) == (0.5, 3.0)
    radius, other, together = combinations(
        site_columns([site]).bores, old_columns([OldHole("l", (7.0, 0.0), 4.0, z=ZRange(-3.0, -9.0))]).bores
    )
    assert (radius.tolist(), other.tolist(), together.tolist()) == ([[2.0, 4.5]], [[2.0, 2.0]], [[True, False]])


def test_heads_that_meet() -> None:
    """Washers of 10 and 8 on holes 9.4 apart: a gap of 0.4, too small where the table asks for more."""

    def site(number: int, x: float, head: float) -> DrillSite:
        return DrillSite(number, "a", (x, 0.0), plain_profile(3.0, head=head))

    clearance = head_clearance(LIMITS)
    for apart, meet in ((9.0 + clearance, False), (9.0 + clearance - 1e-6, True), (8.0, True)):
        found = new_hole_pairs([site(1, 0.0, 10.0), site(2, apart, 8.0)], LIMITS).relation(0)
        assert found.head_gap == pytest.approx(apart - 9.0)
        assert found.heads_meet is meet
    none = new_hole_pairs([site(1, 0.0, 10.0), DrillSite(2, "a", (5.0, 0.0), plain_profile(3.0))], LIMITS).relation(0)
    assert (none.head_gap, none.heads_meet) == (None, False)
    report = check_spacing([site(1, 0.0, 10.0), site(2, 8.0, 8.0)], Surroundings(), LIMITS)
    assert report.worst is Severity.STOP
    roomy = LIMITS.overridden("head-clearance", Severity.STOP, LimitTerm(2.0, "mm", "job file", "fingers"))
    assert head_clearance(roomy) == 2.0
    assert new_hole_pairs([site(1, 0.0, 10.0), site(2, 10.9, 8.0)], roomy).relation(0).heads_meet


def test_webs_that_two_bores_ask_for() -> None:
    """The larger diameter counts; a rule for centres is turned into the web that it leaves."""
    own = LIMITS.overridden("web", Severity.STOP, LimitTerm(0.5, "diameter", "job file", "x"))
    own = own.overridden("hole-spacing", Severity.STOP, LimitTerm(3.0, "diameter", "job file", "x"))
    stop = web_needed(np.array([2.0, 1.0]), np.array([3.0, 1.0]), own, thickness=None)[2]
    assert stop.tolist() == [18.0 - 5.0, 6.0 - 2.0]
    pairs = old_hole_pairs([DrillSite(1, "a", (17.0, 0.0), plain_profile(4.0))], [OldHole("o", (0.0, 0.0), 6.0)], own)
    found = pairs.relation(0)
    assert (found.severity, found.limit) == (Severity.STOP, 13.0)
    assert found.term is not None
    assert found.term.factor == 3.0
    thick = LIMITS.overridden("web", Severity.STOP, LimitTerm(2.0, "thickness", "job file", "x"))
    assert web_needed(np.array([2.0]), np.array([3.0]), thick, thickness=4.0)[2].tolist() == [8.0]


def test_limits_by_size_pitch_and_thickness() -> None:
    terms = (
        LimitTerm(1.5, "mm", "a"),
        LimitTerm(0.5, "diameter", "b"),
        LimitTerm(2.0, "pitch", "c"),
        LimitTerm(1.0, "thickness", "d"),
    )
    own = SpacingLimits((("web", Severity.STOP, terms),))
    diameters = np.array([2.0, 4.0])
    assert own.lengths("web", Severity.STOP, diameter=diameters).tolist() == [1.5, 2.0]
    assert own.lengths("web", Severity.STOP, diameter=diameters, pitch=np.array([0.5, 2.0])).tolist() == [1.5, 4.0]
    assert own.lengths("web", Severity.STOP, diameter=diameters, thickness=3.0).tolist() == [3.0, 3.0]
    assert own.lengths("web", Severity.NOTE, diameter=diameters).tolist() == [0.0, 0.0]

    def binding(**sizes: float) -> tuple[float, str] | None:
        found = own.binding("web", Severity.STOP, **sizes)
        return None if found is None else (found.value, found.term.source)

    assert binding() == (1.5, "a")
    assert binding(diameter=4.0) == (2.0, "b")
    assert binding(diameter=4.0, pitch=1.5) == (3.0, "c")
    assert binding(diameter=4.0, pitch=1.5, thickness=5.0) == (5.0, "d")
    assert own.binding("edge", Severity.STOP) is None
    assert SpacingLimits((("web", Severity.STOP, terms[1:2]),)).binding("web", Severity.STOP) is None
    assert [t.words for t in terms] == ["1.5 mm", "0.5 x diameter", "2 x pitch", "1 x thickness"]
    assert LimitTerm(1.0, "mm", "job file", "foil").cited == "job file: foil"
    assert terms[0].cited == "a"


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: LimitTerm(1.0, "radius", "x"), 'limit per "radius": expected one of mm, diameter, pitch, thickness'),
        (lambda: LimitTerm(-0.1, "mm", "x"), r"limit -0\.1: expected a finite number"),
        (lambda: LimitTerm(math.inf, "mm", "x"), "limit inf"),
        (lambda: SeverityChange("web", Severity.NOTE, " "), 'severity of "web": expected a reason'),
        (
            lambda: LIMITS.overridden("gap", Severity.STOP, LimitTerm(1.0, "mm", "x", "y")),
            'spacing rule "gap" is not known',
        ),
        (
            lambda: LIMITS.overridden("web", Severity.STOP, LimitTerm(1.0, "mm", "x", " ")),
            'limit "web": expected a reason',
        ),
        (lambda: ZRange(1.0, 1.0), r"heights 1\.0 to 1\.0 mm"),
        (lambda: ZRange(math.nan, 1.0), "heights nan to"),
        (lambda: ZRange(1.0, math.nan), "to nan mm"),
        (lambda: Bore(0.0), r"diameter of the hole 0\.0 mm"),
        (lambda: Bore(math.inf), "diameter of the hole inf mm"),
        (lambda: Head(-1.0), r"diameter of the screw head -1\.0 mm"),
        (lambda: HoleProfile(0.0, (Bore(1.0),)), r"nominal diameter 0\.0"),
        (lambda: HoleProfile(1.0, ()), "expected at least one bore"),
        (lambda: HoleProfile(1.0, (Bore(1.0),), (), 0.0), r"pitch 0\.0 mm"),
        (lambda: DrillSite(1, "a", (math.nan, 0.0), plain_profile(1.0)), 'hole 1 of "a": expected a finite centre'),
        (lambda: DrillSite(1, "", (0.0, math.inf), plain_profile(1.0)), "hole 1: expected a finite centre"),
        (lambda: OldHole("o", (0.0, math.nan), 1.0), "o: expected a finite centre"),
        (lambda: OldHole("o", (math.inf, 0.0), 1.0), "o: expected a finite centre"),
        (lambda: OldHole("o", (0.0, 0.0), 0.0), r"o: diameter 0\.0 mm"),
        (lambda: OldHole("o", (0.0, 0.0), math.inf), "o: diameter inf mm"),
        (lambda: KeepOut("k", "joint", ()), 'keep-out "k": expected at least one line or arc'),
        (lambda: KeepOut("k", "joint", Circle((0, 0), 1), margin=-0.1), 'keep-out "k": expected margins'),
        (lambda: KeepOut("k", "joint", Circle((0, 0), 1), caution_margin=math.inf), 'keep-out "k": expected margins'),
        (lambda: KeepOut("k", "joint", Circle((0, 0), 1), head_margin=-0.1), 'keep-out "k": expected margins'),
        (lambda: KeepOut("k", "joint", Circle((0, 0), 1), half_width=math.nan), 'keep-out "k": expected margins'),
        (lambda: KeepOut("k", "joint", Circle((0, 0), 1), depth_margin=-0.1), 'keep-out "k": expected margins'),
        (lambda: PartShape(thickness=0.0), r"thickness 0\.0 mm"),
        (lambda: PartShape(thickness=math.inf), "thickness inf mm"),
    ],
)
def test_surroundings_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]


def test_small_values_of_holes_and_plugs() -> None:
    assert Bore(5.0).radius == Head(5.0).radius == OldHole("o", (0.0, 0.0), 5.0).radius == 2.5
    profile = HoleProfile(4.0, (Bore(4.0), Bore(9.0)), (), 0.7)
    assert (profile.largest_radius, profile.tapped) == (4.5, True)
    assert not plain_profile(4.0).tapped
    assert plain_profile(4.0, pitch=0.7, head=8.0) == HoleProfile(
        4.0, (Bore(4.0, EVERYWHERE, "thread"),), (Head(8.0),), 0.7
    )
    assert plain_profile(4.0).bores[0].what == "hole"
    assert ZRange(0.0, -5.0).widened(1.0) == ZRange(1.0, -6.0)
    keep_out = KeepOut("k", "pocket", Circle((0, 0), 1), depth_margin=2.0, z=ZRange(-3.0, -9.0))
    assert keep_out.z_counted == ZRange(-1.0, -11.0)
    assert replace(keep_out, depth_margin=0.0).z_counted == ZRange(-3.0, -9.0)
    held = {f for f in PlugFixing if f.holds_against_a_tap}
    assert held == {PlugFixing.BRAZED, PlugFixing.WELDED, PlugFixing.LOCKED, PlugFixing.PINNED}
    assert Plug("x", PlugFixing.WELDED, PlugHardness.SAME).drills_like_solid
    assert not Plug("x", PlugFixing.WELDED, PlugHardness.SOFTER).drills_like_solid
    assert not Plug("x", PlugFixing.PRESSED, PlugHardness.SAME).drills_like_solid
    fillings = [filling_of(OldHole("o", (0, 0), 1.0, p)) for p in (None, LOOSE, HELD, SOLID)]
    assert fillings == [Filling.OPEN, Filling.LOOSE_PLUG, Filling.HELD_PLUG, Filling.SOLID_PLUG]
    assert [f.is_plug for f in Filling] == [False, False, True, True, True]
    assert filling_of(DrillSite(1, "a", (0, 0), plain_profile(1.0))) is Filling.NEW_HOLE


def test_codes_of_findings() -> None:
    told = {r.name: [code_of(r, f) for f in Filling] for r in Relation}
    same_as_recorded("codes", told, file=FILE)
    assert told["CLEAR"] == ["modest-web"] * 5
    assert told["BREAKS_INTO"] == ["breaks-into-new-hole", "breaks-into-open-hole", *["breaks-into-plug"] * 3]


def test_how_deep_a_drill_bites() -> None:
    """Equal circles a radius apart: a third of the rim; half the rim where cos phi is 0: c^2 = ro^2 - rn^2, 3-4-5."""
    third = bite(3.0, 3.0, (0.0, 0.0), (0.0, -3.0))
    assert (third.depth, third.share, third.towards) == (3.0, pytest.approx(1 / 3), (0.0, -1.0))
    half = bite(3.0, 5.0, (1.0, 1.0), (5.0, 1.0))
    assert (half.depth, half.share, half.towards) == (4.0, pytest.approx(0.5), (1.0, 0.0))
    assert bite(2.0, 3.0, (0.0, 0.0), (5.0, 0.0)) == Bite(0.0, 0.0, (1.0, 0.0))
    assert bite(2.0, 3.0, (0.0, 0.0), (6.0, 0.0)) == Bite(-1.0, 0.0, (1.0, 0.0))
    assert bite(5.0, 2.0, (0.0, 0.0), (3.0, 0.0)) == Bite(4.0, 0.0, (1.0, 0.0))
    assert bite(2.0, 5.0, (0.0, 0.0), (3.0, 0.0)) == Bite(4.0, 1.0, (1.0, 0.0))
    assert bite(2.0, 5.0, (1.0, 1.0), (1.0, 1.0)) == Bite(7.0, 1.0, None)
    assert 0.9 < bite(2.0, 5.0, (0.0, 0.0), (3.01, 0.0)).share < 1.0
    assert 0.0 < bite(5.0, 2.0, (0.0, 0.0), (3.01, 0.0)).share < 0.1


def test_columns_of_holes() -> None:
    shared = plain_profile(4.0, pitch=0.7)
    wide = HoleProfile(5.0, (Bore(5.0, ZRange(0.0)), Bore(9.0, ZRange(1.0, -2.0))), (Head(8.0, ZRange(3.0, 1.0)),))
    sites = [
        DrillSite(1, "a", (1.0, 2.0), shared),
        DrillSite(2, "a", (3.0, 4.0), wide),
        DrillSite(3, "a", (5.0, 6.0), shared),
    ]
    c = site_columns(sites)
    assert len(c) == 3
    assert c.xy.tolist() == [[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]]
    assert c.bores.radius.tolist() == [[2.0, -math.inf], [2.5, 4.5], [2.0, -math.inf]]
    assert c.bores.top[1].tolist() == [0.0, 1.0]
    assert c.bores.bottom[1].tolist() == [-math.inf, -2.0]
    assert c.heads.radius.tolist() == [[-math.inf], [4.0], [-math.inf]]
    assert (c.heads.top[1].tolist(), c.heads.bottom[1].tolist()) == ([3.0], [1.0])
    assert c.pitch.tolist() == [0.7, 0.0, 0.7]
    assert c.filling.tolist() == [0, 0, 0]
    assert c.bores.largest.tolist() == [2.0, 4.5, 2.0]
    old = [OldHole("o", (1.0, 2.0), 4.0, p, ZRange(0.0, -3.0)) for p in (None, LOOSE, LOOSE, SOLID, None, HELD)]
    o = old_columns(old)
    assert o.filling.tolist() == [1, 4, 4, 2, 1, 3]
    assert o.bores.radius.tolist() == [[2.0]] * 6
    assert (o.bores.top[0, 0], o.bores.bottom[0, 0]) == (0.0, -3.0)
    assert o.heads.radius.shape == (6, 0)
    assert o.pitch.tolist() == [0.0] * 6
    assert _stack([], least_width=1).radius.shape == (0, 1)
    assert site_columns([]).xy.shape == (0, 2)


def test_many_holes_by_the_index_as_few_by_all_pairs(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the index leaves out is clear; what it keeps is the same."""
    for name, (sites, surroundings) in SCENES.items():
        whole = (old_hole_pairs(sites, surroundings.old_holes, LIMITS), new_hole_pairs(sites, LIMITS))
        with monkeypatch.context() as few:
            few.setattr(spacing_holes, "ALL_PAIRS_UP_TO", 0)
            index = (old_hole_pairs(sites, surroundings.old_holes, LIMITS), new_hole_pairs(sites, LIMITS))
        for a, b in zip(whole, index, strict=True):
            assert a.complete
            assert not b.complete or not len(surroundings.old_holes)
            assert plain_figures(a.notable()) == plain_figures(b.notable()), name
            kept = set(zip(b.columns.first.tolist(), b.columns.second.tolist(), strict=True))
            for k in range(len(a)):
                if (int(a.columns.first[k]), int(a.columns.second[k])) not in kept:
                    assert a.columns.severity[k] == -1
    limit = spacing_holes.ALL_PAIRS_UP_TO
    assert limit == 300
    many = [OldHole(f"{k}", (10.0 * k, 0.0), 3.0) for k in range(301)]
    site = [DrillSite(1, "a", (11.0, 0.0), plain_profile(3.0))]
    assert len(old_hole_pairs(site, many[:300], LIMITS)) == 300
    found = old_hole_pairs(site, many, LIMITS)
    assert not found.complete
    assert found.columns.second.tolist() == [1]
    # a pair exactly at the greatest limit is still asked, one a little beyond is not
    reach = 3.0 + max(float(w[0]) for w in web_needed(np.array([1.5]), np.array([1.5]), LIMITS, thickness=None))
    for away, kept in ((reach, 1), (reach + 1e-5, 0)):
        near = [DrillSite(1, "a", (-away, 0.0), plain_profile(3.0))]
        assert len(old_hole_pairs(near, many, LIMITS)) == kept
    assert len(old_hole_pairs([], many, LIMITS)) == 0
    assert old_hole_pairs([], many, LIMITS).complete


def test_heads_reach_farther_than_webs_in_the_index(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spacing_holes, "ALL_PAIRS_UP_TO", 0)
    sites = [DrillSite(k, "a", (21.0 * k, 0.0), plain_profile(3.0, head=21.0)) for k in (1, 2)]
    clearance = head_clearance(LIMITS)
    assert len(new_hole_pairs(sites, LIMITS)) == 1
    apart = [sites[0], replace(sites[1], center=(42.0 + clearance + 1e-5, 0.0))]
    assert len(new_hole_pairs(apart, LIMITS)) == 0


def test_demands_of_edges_and_keep_outs() -> None:
    """Every distance that plain, tapped, counterbored and headed holes keep from an edge, a joint and a bend."""
    profiles = {
        "plain": plain_profile(4.0), "tapped": plain_profile(4.0, pitch=0.7), "headed": plain_profile(4.0, head=9.0),
        "counterbored": HoleProfile(
            4.0, (Bore(4.0), Bore(8.0, ZRange(0.0, -2.0), "counterbore")), (Head(7.0, ZRange(2.0, 0.0)),)
        ),
    }  # fmt: skip
    line = (Segment((0.0, 0.0), (50.0, 0.0)),)
    surroundings = Surroundings(
        PartShape(rectangle(-20, -20, 80, 40), (circle_outline(Circle((70.0, 30.0), 3.0)),), 2.0),
        (),
        (
            KeepOut("seam", "joint", line, margin=1.0, caution_margin=2.5, half_width=0.7, head_margin=0.4),
            KeepOut("fold", "bend", line, z=ZRange(0.0, -1.0)), KeepOut("flange", "bend", line, margin=3.0),
            KeepOut("under", "pocket", Circle((5.0, 5.0), 4.0), z=ZRange(-6.0, -9.0), depth_margin=1.0),
            KeepOut("bare", "keep-out", Circle((5.0, 5.0), 4.0)),
        ),
    )  # fmt: skip
    boundaries = boundaries_of(surroundings)
    assert [(b.name, b.kind, b.side) for b in boundaries[:3]] == [
        ("the edge of the part", "edge", Side.INSIDE), ("opening 1", "opening", Side.OUTSIDE),
        ("seam", "joint", Side.EITHER),
    ]  # fmt: skip
    found = {
        f"{name}, {b.name}": [[d.code, d.severity, d.radius, d.limit, d.term, d.what] for d in b.demands(p, LIMITS, t)]
        for name, p in profiles.items()
        for b in boundaries
        for t in (2.0, None)
    }
    same_as_recorded("demands", found, file=FILE)
    points = np.array([[0.0, 0.0], [-21.0, 0.0], [70.0, 30.0], [5.0, 5.0], [10.0, 3.0]])
    clear = [b.clear_by(points).tolist() for b in boundaries]
    assert clear[0] == [20.0, -1.0, 10.0, 25.0, 23.0]
    assert clear[1][2] == -3.0
    assert clear[2] == [0.0, 21.0, pytest.approx(math.hypot(20.0, 30.0)), 5.0, 3.0]
    assert clear[5][3:] == [-4.0, pytest.approx(math.hypot(5.0, 2.0) - 4.0)]


@pytest.mark.parametrize(
    ("x", "codes"),
    [
        (-0.5, ["off-part"]), (0.0, ["breaks-through-edge"]), (1.9, ["breaks-through-edge"]), (2.1, ["edge-distance"]),
        (5.9, ["edge-distance"]), (6.0, ["modest-edge-distance"]), (20.0, []),
    ],
)  # fmt: skip
def test_what_is_said_of_a_hole_near_an_edge(x: float, codes: list[str]) -> None:
    """4 mm: 1.5 D from the centre is the caution; where the graver is said the lighter has nothing left to say."""
    part = Surroundings(PartShape(rectangle(0.0, -50.0, 100.0, 50.0)))
    sites = [DrillSite(1, "a", (x, 0.0), plain_profile(4.0))]
    table = edge_table(sites, boundaries_of(part), LIMITS)
    relation = table.relation(0, 0)
    assert [d.code for d in relation.broken] == codes
    assert (relation.distance, relation.nearest) == (pytest.approx(x), (0.0, 0.0))
    assert relation.diameters == pytest.approx(x / 4.0)
    assert relation.metal == pytest.approx(x - 2.0)
    assert [r.distance for r in table.notable()] == ([pytest.approx(x)] if codes else [])
    assert (relation.severity is None) is (not codes)
    assert edge_table(sites, (), LIMITS).least_of(0) is None
    nearest = table.least_of(0)
    assert nearest is not None
    assert nearest.distance == pytest.approx(x)


def test_a_keep_out_at_another_height_asks_for_nothing() -> None:
    low = KeepOut("low", "pocket", Circle((0.0, 0.0), 5.0), margin=1.0, z=ZRange(-6.0, -9.0))
    sites = [DrillSite(1, "a", (0.0, 0.0), plain_profile(4.0, z=ZRange(0.0, -5.0)))]
    table = edge_table(sites, boundaries_of(Surroundings(keep_outs=(low,))), LIMITS)
    assert table.notable() == []
    assert table.relation(0, 0).broken == ()
    assert table.relation(0, 0).distance == -5.0


def test_pairs_in_full_by_index() -> None:
    """A table with every kind of relation: any rows at once are those one by one."""
    sites, surroundings = SCENES["tight grid"]
    pairs = old_hole_pairs(sites, surroundings.old_holes, LIMITS, thickness=3.0)
    assert isinstance(pairs, HolePairs)
    rows = np.array([3, 0, 7], dtype=np.intp)
    assert [plain_figures(r) for r in pairs.relations(rows)] == [plain_figures(pairs.relation(int(k))) for k in rows]
    columns = compare_pairs(
        site_columns(sites),
        pairs.columns.first,
        old_columns(surroundings.old_holes),
        pairs.columns.second,
        LIMITS,
        thickness=3.0,
    )
    assert plain_figures(columns) == plain_figures(pairs.columns)
    assert columns.web == pytest.approx(columns.distance - columns.radius - columns.other_radius)
