"""What is said about a bolt-up: codes, severities, figures, and that every message reads well."""

from __future__ import annotations

import math

import pytest

from holecam.layout.assembly_chance import JointDoubt, chance_of_assembly
from holecam.layout.bolt_up import BoltUp, Joint, bolt_up
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import CountersunkHole, RoundHole, SlottedHole, TappedHole
from holecam.layout.opening_up import open_up
from holecam.layout.reference_doubt import ReferenceDoubt
from holecam.plan.finding import Finding, Severity
from holecam.plan.hole_words import numbers_text
from holecam.planning.bolt_up_findings import bolt_up_findings
from holecam.shapes import Point

DRILLS = tuple((f"{d / 10:.1f} mm", d / 10) for d in range(40, 100))


def row(off: float, *, diameter: float = 4.5, count: int = 3) -> list[Joint]:
    return [
        Joint(k + 1, (30.0 * k, 0.0), (30.0 * k + off * k, 0.0), RoundHole(diameter), TappedHole(), 4.0)
        for k in range(count)
    ]


def by_code(found: tuple[Finding, ...]) -> dict[str, Finding]:
    return {f.code: f for f in found}


def test_a_comfortable_fit_is_a_note() -> None:
    joints = row(0.05)
    (finding,) = bolt_up_findings("base", "rail screws", joints, bolt_up(joints))
    assert (finding.code, finding.severity) == ("bolts-up", Severity.NOTE)
    assert finding.measured == pytest.approx(0.2)
    assert "20 percent of its play, 0.200 mm are left; tightest: screws 1 and 3" in finding.message
    assert finding.about == 'pattern "rail screws" on mate "base"'


def test_a_tight_fit_is_a_caution() -> None:
    joints = row(0.225)
    (finding,) = bolt_up_findings("base", "rail screws", joints, bolt_up(joints), unit="in")
    assert (finding.code, finding.severity) == ("tight-bolt-up", Severity.CAUTION)
    assert "0.0010 in are left" in finding.message
    assert finding.holes == (1, 3)


def test_what_does_not_go_together_stops_and_says_what_to_open() -> None:
    joints = row(0.3)
    fit = bolt_up(joints)
    found = by_code(bolt_up_findings("base", "rail", joints, fit, opening=open_up(joints, drills=DRILLS)))
    finding = found["does-not-bolt-up"]
    assert finding.severity is Severity.STOP
    assert finding.holes == (1, 2, 3)
    assert "needs 1.20 times its play and 0.050 mm are missing. Held by screws 1 and 3." in finding.message
    assert 'Open hole 1 of "rail" in the part from 4.500 mm to 4.7 mm (4.700 mm).' in finding.remedy
    assert 'Or: Draw hole 1 of "rail" in the part out by 0.100 mm toward 180 degrees.' in finding.remedy
    without = by_code(bolt_up_findings("base", "rail", joints, fit))["does-not-bolt-up"]
    assert without.remedy.startswith("Move the pattern")


def test_opening_the_mate_names_it() -> None:
    joints = [Joint(j.number, j.part_xy, j.mate_xy, j.mate_hole, j.part_hole, j.screw) for j in row(0.3)]
    found = bolt_up_findings("base", "rail", joints, bolt_up(joints), opening=open_up(joints, drills=DRILLS))
    assert 'Open hole 1 of "base" from' in by_code(found)["does-not-bolt-up"].remedy


def test_screws_larger_than_their_holes() -> None:
    joints = row(0.0, diameter=3.9)
    (finding,) = bolt_up_findings("base", "rail", joints, bolt_up(joints))
    assert (finding.code, finding.severity, finding.holes) == ("no-play", Severity.STOP, (1, 2, 3))
    assert finding.message.startswith("Screws 1, 2 and 3 cannot enter at all")
    assert "1 by 0.050 mm" in finding.message


def test_the_other_hand_is_named() -> None:
    corners: list[Point] = [(0, 0), (40, 0), (40, 20), (10, 30)]
    joints = [Joint(i, p, (-p[0], p[1]), RoundHole(4.5), TappedHole(), 4.0) for i, p in enumerate(corners)]
    found = by_code(bolt_up_findings("base", "rail", joints, bolt_up(joints)))
    assert found["looks-mirrored"].severity is Severity.STOP
    assert "does-not-bolt-up" in found


def test_countersunk_and_leaning() -> None:
    joints = [
        Joint(1, (0, 0), (0, 0), CountersunkHole(0.05), TappedHole(), 4.0),
        Joint(2, (30, 0), (30, 0), RoundHole(4.5), TappedHole(2.0), 4.0, 3.0),
        Joint(3, (60, 0), (60, 0), CountersunkHole(0.05), RoundHole(4.5), 4.0),
    ]
    found = by_code(bolt_up_findings("base", "rail", joints, bolt_up(joints)))
    sunk, lean = found["no-play-countersunk"], found["leaning-thread"]
    assert (sunk.severity, sunk.holes, sunk.limit) == (Severity.CAUTION, (1,), 0.05)
    assert (lean.severity, lean.holes) == (Severity.NOTE, (2,))
    assert lean.measured == pytest.approx(3 * math.tan(math.radians(2)))
    assert sunk.source == "common practice"


def test_slots_in_both_members_are_not_proved() -> None:
    joints = [
        Joint(1, (0, 0), (0, 0.9), SlottedHole(4.5, 5.5, 0.0), TappedHole(), 4.0),
        Joint(2, (50, 0), (50, 0), TappedHole(), SlottedHole(4.5, 5.5, 0.0), 4.0),
        Joint(3, (25, 0), (25, 0), RoundHole(4.5), TappedHole(), 4.0),
    ]
    fit = bolt_up(joints)
    assert isinstance(fit, BoltUp)
    assert by_code(bolt_up_findings("base", "rail", joints, fit))["not-proved"].severity is Severity.NOTE


def test_the_chance_tells_both_effects_apart() -> None:
    joints = row(0.0)
    held = Motion(Freedom.HELD)
    chance = chance_of_assembly(
        joints,
        [JointDoubt(0.1)] * 3,
        reference=ReferenceDoubt(0.0, 0.1, 0.1, 0.05, (0.0, 0.0), ()),
        motion=held,
        trials=2000,
    )
    found = by_code(bolt_up_findings("base", "rail", joints, bolt_up(joints, motion=held), chance=chance))
    finding = found["chance-of-assembly"]
    assert finding.severity is Severity.CAUTION
    assert finding.measured == chance.total.chance
    assert "with the doubt of each hole alone" in finding.message
    assert "with the doubt of the reference alone" in finding.message
    assert "2000 trials, seed 20240" in finding.message
    assert "held where it is" in found["bolts-up"].message
    sure = chance_of_assembly(joints, [JointDoubt(0.01)] * 3, trials=500)
    (_, note) = bolt_up_findings("base", "rail", joints, bolt_up(joints), chance=sure)
    assert (note.code, note.severity) == ("chance-of-assembly", Severity.NOTE)
    assert "a chance of at least 99.23 %." in note.message  # 500 of 500: Wilson, low end 1/(1 + 1.96^2/500)


def test_the_worst_comes_first_and_sentences_end() -> None:
    joints = [*row(0.3), Joint(9, (10, 10), (10, 10), RoundHole(4.5), TappedHole(1.0), 4.0, 2.0)]
    found = bolt_up_findings("base", "rail", joints, bolt_up(joints))
    ranks = [f.severity.rank for f in found]
    assert ranks == sorted(ranks, reverse=True)
    assert all(f.message.endswith(".") for f in found)


def test_numbers_as_a_reader_says_them() -> None:
    assert [numbers_text(n) for n in ((), (3,), (3, 5), (1, 2, 7))] == ["", "3", "3 and 5", "1, 2 and 7"]
