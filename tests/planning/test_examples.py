"""The examples plan as their READMEs say. Expected figures were worked out by hand from the job files."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from holecam.job.reader import read_job
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plans

EXAMPLES = Path(__file__).parents[2] / "examples"
INCH = 25.4


def plans_of(name: str) -> tuple[Plan, ...]:
    return make_plans(read_job(EXAMPLES / name / "job.toml"))


def test_the_rail_keeps_its_pitch_and_moves_only_along_the_rail() -> None:
    (plan,) = plans_of("lantern-hood")
    xs = [h.xy_part[0] / INCH for h in plan.holes]
    ys = [h.xy_part[1] / INCH for h in plan.holes]
    assert len(plan.holes) == 6
    assert [b - a for a, b in pairwise(xs)] == pytest.approx([1.25] * 5, abs=1e-12)
    assert ys == pytest.approx([-0.195] * 6, abs=1e-12)


def test_the_chain_names_the_heel_and_moves_the_row_by_it() -> None:
    # heel read 1.109 and 1.111, heel and waist 5.110, waist 4.000, nose 2.200, overall 7.310. All say 1.110
    (plan,) = plans_of("lantern-hood")
    (chain,) = plan.chains
    assert chain.sections_verdict == "named"
    assert [s.name for s in chain.sections if s.named] == ["heel"]
    assert chain.shift == pytest.approx((0.210 * INCH, 0.0), abs=1e-6)
    assert plan.places[0].wanted == pytest.approx(((0.620 + 0.210) * INCH, -0.195 * INCH), abs=1e-6)


def test_the_oversize_plug_pushes_the_row_to_the_nearest_place() -> None:
    # hole 4 wanted at 0.830 + 3 x 1.250 = 4.580; plug at 4.370, 0.250 across. The web has to be a quarter of the
    # larger diameter: 0.0625 + 0.125 + 0.0625 = 0.250 between centres, so hole 4 must go to 4.620 or more.
    (plan,) = plans_of("lantern-hood")
    hole_4 = plan.holes[3].xy_part[0] / INCH
    assert hole_4 >= 4.620
    assert hole_4 <= 4.620 + 0.0011  # two steps of the readout: no farther than it has to
    place = plan.places[0]
    assert not place.wanted_allowed
    assert any("hole 4" in w and "old oversize plug 1" in w for w in place.words)


def test_the_rail_goes_together_with_the_base() -> None:
    (plan,) = plans_of("lantern-hood")
    (mate,) = plan.mates
    assert mate.goes_together
    assert mate.play_left > 0
    assert mate.bound == pytest.approx(mate.ratio, abs=1e-6)


def test_the_cover_goes_together_only_with_one_hole_opened() -> None:
    (plan,) = plans_of("pump-cover")
    drills = {h.number: next(s.diameter for s in h.steps if s.kind.value == "drill") for h in plan.holes}
    assert drills == pytest.approx({1: 4.3, 2: 4.3, 3: 4.5, 4: 4.3, 5: 4.3, 6: 4.3})
    assert plan.mates[0].goes_together
    # 4.4 mm would just pass; the next size leaves the worst screw a fifth of its play
    assert plan.mates[0].ratio is not None
    assert plan.mates[0].ratio <= 0.8
    (opened,) = [f for f in plan.findings if f.code == "hole-opened"]
    assert opened.holes == (3,)
    assert "does not go together" in opened.message


def test_the_row_lies_on_steps_of_the_readout() -> None:
    (plan,) = plans_of("lantern-hood")
    step = Fraction(254, 10) / 2000
    for hole in plan.holes:
        for value in hole.xy_part:
            assert abs(value / float(step) - round(value / float(step))) < 1e-6


def test_the_pump_cover_goes_where_the_measured_holes_are() -> None:
    (plan,) = plans_of("pump-cover")
    assert len(plan.holes) == 6
    radii = [(h.xy_part[0] ** 2 + h.xy_part[1] ** 2) ** 0.5 for h in plan.holes]
    assert max(abs(r - 37.0) for r in radii) < 0.1
    assert plan.places[0].method == "best fit"
    assert {r.hole for r in plan.places[0].residuals} == {1, 2, 4, 5}


def test_the_pair_has_two_sheets_and_only_x_changes_its_sign() -> None:
    left, right = plans_of("signal-pair")
    assert left.part.hand != right.part.hand
    for a, b in zip(left.holes, right.holes, strict=True):
        assert a.number == b.number
        assert b.xy_part[0] == -a.xy_part[0]
        assert b.xy_part[1] == a.xy_part[1]
        assert a.steps == b.steps
