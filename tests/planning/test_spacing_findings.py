"""Findings of the spacing check: every code has its words, figures, source and remedy, and reads like a sentence."""

from __future__ import annotations

import re

import pytest

from holecam.layout.spacing import check_spacing
from holecam.layout.spacing_boundaries import MODEST
from holecam.layout.spacing_relations import Filling, Relation, code_of
from holecam.layout.spacing_rules import LimitTerm, SeverityChange, SpacingLimits, table_limits
from holecam.layout.spacing_sites import Bore, DrillSite, Head, HoleProfile, ZRange, plain_profile
from holecam.layout.spacing_surroundings import (
    KeepOut,
    OldHole,
    PartShape,
    Plug,
    PlugFixing,
    PlugHardness,
    Surroundings,
)
from holecam.lengths import Unit
from holecam.plan.finding import Finding, Severity
from holecam.planning.spacing_findings import REMEDIES, direction_words, spacing_findings
from holecam.shapes import Segment, rectangle

LIMITS = table_limits()
SOFT = Plug("brass screw", PlugFixing.SOFT_SOLDERED, PlugHardness.SOFTER)
HARD = Plug("steel grub screw", PlugFixing.SCREWED, PlugHardness.HARDER)
SAME = Plug("brass screw", PlugFixing.BRAZED, PlugHardness.SAME)
UNKNOWN = Plug("", PlugFixing.UNKNOWN, PlugHardness.UNKNOWN)


def found(
    surroundings: Surroundings,
    *centers: tuple[float, float],
    profile: HoleProfile | None = None,
    limits: SpacingLimits = LIMITS,
    unit: Unit = "mm",
) -> tuple[Finding, ...]:
    profile = profile or plain_profile(4.0, pitch=0.7)
    sites = [DrillSite(i + 1, "rail screws", c, profile) for i, c in enumerate(centers)]
    return spacing_findings(check_spacing(sites, surroundings, limits), unit=unit)


def beside(x: float, plug: Plug | None, *, diameter: float = 4.0, y: float = 0.0) -> Surroundings:
    return Surroundings(old_holes=(OldHole("old 2", (x, y), diameter, plug),))


def test_a_drill_that_breaks_into_a_plug() -> None:
    (finding,) = found(beside(3.0, SOFT), (0.0, 0.0))
    assert finding.code == "breaks-into-plug"
    assert finding.severity is Severity.STOP
    assert finding.about == 'hole 1 of "rail screws"'
    assert finding.measured == pytest.approx(-1.0)
    assert finding.limit == pytest.approx(1.0)
    assert finding.source == "common practice"
    assert finding.holes == (1,)
    # cos phi = (9 + 4 - 4) / 12, so 41.4 degrees to each side: 23 percent
    assert finding.message == (
        'hole 1 of "rail screws" breaks into old 2 (brass screw, soft soldered, softer than the part) by 1.000 mm '
        "(centres 3.000 mm apart); 23 % of the drill's circumference runs in it; it will run towards +X (0 degrees). "
        "Limit 1.000 mm: common practice."
    )
    assert "slot drill" in finding.remedy


@pytest.mark.parametrize(
    ("plug", "words"),
    [
        (SOFT, "it will run towards +X -Y (-45 degrees)"),
        (HARD, "it will be pushed off towards -X +Y (135 degrees)"),
        (SAME, "cuts like the part itself if it cannot move"),
        (UNKNOWN, "it will run along +X -Y (-45 degrees) or back, to whichever side is softer"),
        (None, "it will run towards +X -Y (-45 degrees)"),
    ],
)
def test_where_the_drill_runs(plug: Plug | None, words: str) -> None:
    (finding,) = found(beside(2.1, plug, y=-2.1), (0.0, 0.0))
    assert words in finding.message


def test_directions_in_words() -> None:
    assert direction_words((1.0, 0.0)) == "+X (0 degrees)"
    assert direction_words((0.0, -1.0)) == "-Y (-90 degrees)"
    assert direction_words((-0.6, 0.8)) == "-X +Y (127 degrees)"


def every_code() -> tuple[Finding, ...]:
    """Findings of as many kinds as there are, in small scenes."""
    headed = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)),), (Head(9.0, ZRange(3.0, 0.0), "washer"),), 0.7)
    plate = Surroundings(PartShape(rectangle(0, 0, 60, 60)))
    bend = KeepOut("rear bend", "bend", (Segment((0, 30), (60, 30)),))
    patch = KeepOut("patch", "pocket", rectangle(0, 0, 10, 10), margin=1.0)
    scenes: list[tuple[Finding, ...]] = [
        *(found(beside(x, SOFT), (0.0, 0.0)) for x in (7.0, 5.5, 4.5, 4.0, 3.0, 1.0, 0.01)),
        *(found(beside(x, None), (0.0, 0.0)) for x in (3.0, 1.0)),
        *(found(beside(1.0, p, diameter=10.0), (0.0, 0.0)) for p in (None, SAME, SOFT)),
        found(beside(2.6, SAME, diameter=10.0), (0.0, 0.0)),
        *(found(beside(0.5, p, diameter=2.0), (0.0, 0.0)) for p in (None, SOFT)),
        *(found(Surroundings(), (0.0, 0.0), (x, 0.0)) for x in (0.0, 1.0, 3.0)),
        found(Surroundings(), (0.0, 0.0), (8.5, 0.0), profile=headed),
        *(found(plate, (30.0, y)) for y in (7.0, 5.0, 1.0, -1.0)),
        found(plate, (30.0, 3.0), profile=headed),
        *(found(Surroundings(PartShape(thickness=2.0), keep_outs=(bend,)), (30.0, y)) for y in (36.5, 35.0, 31.0)),
        found(Surroundings(keep_outs=(patch,)), (12.5, 5.0)),
    ]
    return tuple(f for scene in scenes for f in scene)


def test_every_finding_is_whole() -> None:
    findings = every_code()
    assert {f.code for f in findings} == {
        "modest-web",
        "thin-web",
        "touches",
        "breaks-into-plug",
        "centre-in-plug",
        "concentric",
        "breaks-into-open-hole",
        "centre-in-open-hole",
        "inside-open-hole",
        "inside-plug",
        "thin-plug-wall",
        "takes-in-open-hole",
        "takes-in-plug",
        "same-place",
        "centre-in-new-hole",
        "breaks-into-new-hole",
        "head-overhang",
        "modest-edge-distance",
        "edge-distance",
        "breaks-through-edge",
        "off-part",
        "modest-keep-out-distance",
        "near-keep-out",
        "in-keep-out",
    }
    for f in findings:
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", f.code)
        assert f.source, f.code
        assert f.remedy.endswith("."), f.code
        assert f.message.endswith("."), f.code
        assert ".." not in f.message
        assert "-0.000" not in f.message
        assert f.about in f.message
        assert f.measured is not None
        assert f.holes
        if f.code not in ("concentric", "same-place") and f.limit is not None:
            assert f.measured < f.limit or f.code in ("inside-plug", "inside-open-hole", "takes-in-open-hole")


def test_no_relation_is_without_a_remedy() -> None:
    earned = {code_of(relation, filling) for relation in Relation for filling in Filling}
    edges = {"off-part", "breaks-through-edge", "edge-distance", "in-keep-out", "near-keep-out", *MODEST.values()}
    assert earned | edges | {"head-overhang"} == set(REMEDIES)


def test_edges_speak_in_multiples_of_the_diameter() -> None:
    plate = Surroundings(PartShape(rectangle(0, 0, 60, 60)))
    (finding,) = found(plate, (30.0, 5.0))
    assert finding.message == (
        'hole 1 of "rail screws": its hole centre is 5.000 mm from the edge of the part (1.25 x its diameter). '
        "Limit 6.000 mm: 1.5 x diameter, common practice."
    )
    (inches,) = found(plate, (30.0, 5.0), unit="in")
    assert "0.1969 in from the edge of the part" in inches.message
    assert inches.measured == finding.measured


def test_overrides_print_their_reason() -> None:
    own = LimitTerm(4.5, "mm", "job file", "cover carries no load")
    limits = LIMITS.overridden("edge-distance", Severity.CAUTION, own)
    plate = Surroundings(PartShape(rectangle(0, 0, 60, 60)))
    (finding,) = found(plate, (30.0, 4.4), limits=limits)
    assert finding.limit == 4.5
    assert finding.source == "job file: cover carries no load"
    assert "job file: cover carries no load" in finding.message
    lowered = SpacingLimits(LIMITS.rules, (SeverityChange("breaks-into-plug", Severity.CAUTION, "tried on scrap"),))
    (finding,) = found(beside(3.0, SOFT), (0.0, 0.0), limits=lowered)
    assert finding.severity is Severity.CAUTION
    assert "severity by the job file: tried on scrap" in finding.message


def test_a_stop_that_the_job_lifted_leaves_its_reason() -> None:
    """What stays is a caution by the table; the sheet still says who let it pass, and why."""
    accepted = LimitTerm(0.0, "mm", "job file", "tried on scrap")
    limits = LIMITS.overridden("web", Severity.STOP, accepted).overridden("edge-distance", Severity.STOP, accepted)
    (finding,) = found(beside(4.5, SOFT), (0.0, 0.0), limits=limits)
    assert (finding.code, finding.severity) == ("thin-web", Severity.CAUTION)
    assert finding.message.endswith(
        "Limit 2.000 mm: common practice. The job stops it only below 0 mm: tried on scrap."
    )
    plate = Surroundings(PartShape(rectangle(0, 0, 60, 60)))
    (finding,) = found(plate, (30.0, 3.0), limits=limits)
    assert (finding.code, finding.severity) == ("edge-distance", Severity.CAUTION)
    assert "The job stops it only below 0 mm: tried on scrap." in finding.message


def test_the_worst_comes_first_and_pairs_withhold_both() -> None:
    findings = found(Surroundings(), (0.0, 0.0), (7.0, 0.0), (10.0, 0.0))
    assert [f.severity for f in findings] == [Severity.STOP, Severity.NOTE]
    assert findings[0].holes == (2, 3)


def test_heads_that_meet() -> None:
    headed = HoleProfile(4.0, (Bore(4.0, ZRange(0.0)),), (Head(9.0, ZRange(3.0, 0.0), "washer"),), 0.7)
    (finding,) = found(Surroundings(), (0.0, 0.0), (8.5, 0.0), profile=headed)
    assert finding.message.startswith(
        'Heads of hole 1 of "rail screws" and hole 2 of "rail screws" overlap by 0.500 mm.'
    )
    plate = Surroundings(PartShape(rectangle(0, 0, 60, 60)))
    overhang = next(f for f in found(plate, (30.0, 4.0), profile=headed) if f.code == "head-overhang")
    assert "its washer rim hangs 0.500 mm over the edge of the part" in overhang.message
