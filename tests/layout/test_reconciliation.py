"""Finding the error: adjustment and tests against a reference library, a textbook net, leave-one-out and simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import least_squares
from scipy.stats import chi2, kstest

from holecam.errors import InputError
from holecam.layout.reconciliation import Reconciliation, corrected, reconcile
from holecam.layout.reconciliation_adjustment import adjust
from holecam.layout.reconciliation_blunders import ReadingsVerdict
from holecam.layout.reconciliation_chain import Across, Chain, Reading, Section
from holecam.layout.reconciliation_sections import SectionsVerdict

ALPHA = 0.001
U = 0.05

# A foot rail with a sloped end; all figures invented
DRAWN = (("heel", 20.0, 0.0), ("waist", 50.0, 0.0), ("slope", 30.0, 25.0), ("toe", 15.0, 0.0))
SECTIONS = tuple(Section(name, drawn, slope) for name, drawn, slope in DRAWN)
NAMES = tuple(name for name, *_ in DRAWN)


def true_value(reading: Reading, sizes: dict[str, float]) -> float:
    """What the reading should show: written out once more from the definition."""
    slope = {name: s for name, _, s in DRAWN}
    x = sum(sizes[n] * math.cos(math.radians(slope[n])) for n in reading.of)
    y = sum(sizes[n] * math.sin(math.radians(slope[n])) for n in reading.of)
    if reading.across is Across.ALONG:
        return x
    if reading.across is Across.SQUARE:
        return y
    return math.hypot(x, y)


def well_measured(sizes: dict[str, float], *, u: float = U, sub_totals: bool = True) -> tuple[Reading, ...]:
    """Every section, the overall size, and sub-totals from the datum, without error."""
    spans = [(f"{n} itself", (n,), Across.STRAIGHT) for n in NAMES]
    spans.append(("overall", NAMES, Across.ALONG))
    if sub_totals:
        spans += [("to waist", NAMES[:2], Across.ALONG), ("to slope", NAMES[:3], Across.ALONG)]
        spans.append(("from waist", NAMES[1:], Across.ALONG))
        spans.append(("slope and toe", NAMES[2:], Across.STRAIGHT))
    readings = [Reading(name, of, 0.0, u, across) for name, of, across in spans]
    return tuple(replace(r, value=true_value(r, sizes)) for r in readings)


AS_DRAWN = {name: drawn for name, drawn, _ in DRAWN}


def with_error(readings: tuple[Reading, ...], name: str, error: float) -> tuple[Reading, ...]:
    return tuple(replace(r, value=r.value + error) if r.name == name else r for r in readings)


def test_good_readings_of_a_good_part_say_nothing() -> None:
    found = reconcile(Chain(SECTIONS, well_measured(AS_DRAWN)))
    assert found.readings_verdict is ReadingsVerdict.AGREE
    assert found.sections_verdict is SectionsVerdict.AS_DRAWN
    assert found.chance == pytest.approx(1.0)
    assert found.deciding is None
    assert all(s.deviation == pytest.approx(0.0, abs=1e-9) for s in found.sections)


@pytest.mark.parametrize("name", [r.name for r in well_measured(AS_DRAWN)])
@pytest.mark.parametrize("error", [1.0, -1.0])
def test_a_misread_number_is_named_and_the_part_is_not_blamed(name: str, error: float) -> None:
    readings = with_error(well_measured(AS_DRAWN), name, error)
    found = reconcile(Chain(SECTIONS, readings))
    assert found.readings_verdict is ReadingsVerdict.NAMED
    (suspect,) = found.removed
    assert suspect.name == name
    assert suspect.error == pytest.approx(error, abs=1e-3)
    assert suspect.share > 0.95
    assert found.sections_verdict is SectionsVerdict.AS_DRAWN


@pytest.mark.parametrize("name", NAMES)
def test_a_section_that_differs_is_named_and_no_reading_is_blamed(name: str) -> None:
    sizes = {**AS_DRAWN, name: AS_DRAWN[name] + 0.8}
    sections = tuple(replace(s, process=0.1) for s in SECTIONS)
    found = reconcile(Chain(sections, well_measured(sizes)))
    assert found.readings_verdict is ReadingsVerdict.AGREE
    assert found.sections_verdict is SectionsVerdict.NAMED
    (carrier,) = found.carriers
    assert carrier.name == name
    # the process is believed about the other sections, which pulls the figure by a few microns only
    assert carrier.error == pytest.approx(0.8, abs=0.02)
    result = found.section(name)
    assert result.deviation == pytest.approx(0.8, abs=1e-6)
    assert result.correction == pytest.approx(-0.8, abs=1e-6)
    assert result.z == pytest.approx(0.8 / math.hypot(0.1, result.doubt or 0.0), abs=1e-6)
    assert result.checked


def test_both_questions_at_once() -> None:
    sizes = {**AS_DRAWN, "waist": 51.4}
    found = reconcile(Chain(SECTIONS, with_error(well_measured(sizes), "toe itself", -2.0)))
    assert [s.name for s in found.removed] == ["toe itself"]
    assert [c.name for c in found.carriers] == ["waist"]
    assert found.carriers[0].error == pytest.approx(1.4, abs=1e-6)


def test_two_sections_are_named_one_after_the_other() -> None:
    sizes = {**AS_DRAWN, "heel": 20.9, "slope": 28.7}
    found = reconcile(Chain(SECTIONS, well_measured(sizes)))
    # a straight size over a slope is not linear in the sections: a fraction of a micron is left
    assert {c.name: round(c.error, 3) for c in found.carriers} == {"heel": 0.9, "slope": -1.3}


@pytest.mark.parametrize("size", [0.5, 5.0, 50.0])
def test_a_single_closure_never_names_anybody(size: float) -> None:
    # Guo 2015: with one closure all normalised residuals are equal
    readings = tuple(r for r in well_measured(AS_DRAWN, sub_totals=False))
    found = reconcile(Chain(SECTIONS, with_error(readings, "overall", size)))
    assert found.dof == 1
    assert len({round(abs(r.normalised), 6) for r in found.readings}) == 1
    assert np.abs(found.adjustment.alike) == pytest.approx(np.ones((5, 5)), abs=1e-6)
    assert found.readings_verdict is ReadingsVerdict.CANNOT_TELL
    assert found.removed == ()
    assert {s.name for s in found.suspects} == {r.name for r in readings}
    assert found.sections_verdict is SectionsVerdict.CANNOT_TELL
    assert found.carriers == ()
    assert not found.trustworthy
    with pytest.raises(InputError, match="contradict each other"):
        found.shift()


def test_the_deciding_measurement_halves_the_suspects() -> None:
    readings = well_measured(AS_DRAWN, sub_totals=False)
    found = reconcile(Chain(SECTIONS, with_error(readings, "waist itself", 1.2)))
    deciding = found.deciding
    assert deciding is not None
    assert deciding.across is Across.ALONG
    assert max(len(g) for g in deciding.groups) == 3
    # take it: the truth is known here, so two rounds lead to the one that was misread
    chain = found.chain
    for k in range(4):
        if found.trustworthy or found.deciding is None:
            break
        extra = Reading(f"next {k}", found.deciding.of, 0.0, U, found.deciding.across)
        extra = replace(extra, value=true_value(extra, AS_DRAWN))
        chain = replace(chain, readings=(*chain.readings, extra))
        fewer = reconcile(chain)
        assert len(fewer.suspects) < len(found.suspects)
        found = fewer
    assert found.readings_verdict is ReadingsVerdict.NAMED
    assert found.removed[0].name == "waist itself"


def test_expected_values_of_the_deciding_measurement_come_true() -> None:
    readings = with_error(well_measured(AS_DRAWN, sub_totals=False), "overall", 2.0)
    found = reconcile(Chain(SECTIONS, readings))
    assert found.deciding is not None
    expected = dict(found.deciding.expected)
    real = true_value(Reading("x", found.deciding.of, 0.0, U, found.deciding.across), AS_DRAWN)
    assert expected["overall"] == pytest.approx(real, abs=1e-9)  # the overall size was misread, the sections are true


def test_two_that_cannot_be_told_apart_are_named_together() -> None:
    # heel and toe hang on the chain by themselves and one sum: whichever is wrong, the same is seen
    sections = (Section("heel", 20.0), Section("toe", 30.0))
    readings = (
        Reading("heel", ("heel",), 20.0, U),
        Reading("heel again", ("heel",), 20.0, U),
        Reading("toe", ("toe",), 31.0, U),
        Reading("sum", ("heel", "toe"), 50.0, U),
    )
    found = reconcile(Chain(sections, readings))
    assert found.dof == 2
    assert found.readings_verdict is ReadingsVerdict.INSEPARABLE
    assert {s.name for s in found.suspects} == {"toe", "sum"}
    assert found.suspects[0].share == pytest.approx(0.5, abs=1e-9)
    assert found.deciding is not None
    assert found.deciding.of == ("toe",)
    assert found.deciding.repeats == "toe"
    assert found.deciding.groups in ((("sum",), ("toe",)), (("toe",), ("sum",)))
    assert dict(found.deciding.expected)["toe"] == pytest.approx(30.0, abs=0.02)
    # measured once more: now it is plain
    again = reconcile(replace(found.chain, readings=(*readings, Reading("toe again", ("toe",), 30.01, U))))
    assert again.readings_verdict is ReadingsVerdict.NAMED
    assert again.removed[0].name == "toe"


def test_what_nothing_checks_is_said() -> None:
    sections = (Section("heel", 20.0, process=0.2), Section("toe", 30.0, process=0.2))
    readings = (Reading("heel", ("heel",), 22.0, U), Reading("toe", ("toe",), 30.0, U))
    found = reconcile(Chain(sections, readings))
    assert found.readings_verdict is ReadingsVerdict.UNCHECKED
    assert (found.dof, found.chance) == (0, None)
    assert all(not r.checkable and r.error is None and r.findable is None for r in found.readings)
    # the part differs if the number is right, and that it is right nobody has checked
    assert [c.name for c in found.carriers] == ["heel"]
    assert not found.section("heel").checked


def test_only_the_overall_size_is_known() -> None:
    chain = Chain(SECTIONS, (Reading("overall", NAMES, 116.0, U),))
    found = reconcile(chain)
    assert found.sections_verdict is SectionsVerdict.CANNOT_TELL
    assert found.carriers == ()
    assert {c.name for c in found.carrier_suspects} == set(NAMES)
    assert all(s.actual is None and not s.checked for s in found.sections)
    assert found.deciding is not None
    assert found.deciding.repeats == ""
    # the whole is settled though no part is
    assert found.shift().along == pytest.approx(116.0 - true_value(Reading("x", NAMES, 0, 1), AS_DRAWN))
    with pytest.raises(InputError, match="do not settle heel along"):
        found.shift(["heel"])


def test_strained_readings_widen_the_doubt() -> None:
    sections = (Section("bar", 50.0),)
    values = [49.88, 50.12, 49.9, 50.1, 49.87, 50.13, 49.89, 50.11]
    readings = tuple(Reading(f"r{k}", ("bar",), v, 0.05) for k, v in enumerate(values))
    found = reconcile(Chain(sections, readings))
    assert found.readings_verdict is ReadingsVerdict.STRAINED
    scatter = math.sqrt(sum((v - np.mean(values)) ** 2 for v in values) / 7)
    assert found.doubt_scale == pytest.approx(scatter / 0.05)
    assert found.section("bar").doubt == pytest.approx(scatter / math.sqrt(8))
    assert found.sections_verdict is SectionsVerdict.AS_DRAWN


def test_shift_of_the_pattern_with_a_sloped_section() -> None:
    sizes = {**AS_DRAWN, "slope": 31.5}
    found = reconcile(Chain(SECTIONS, well_measured(sizes)))
    shift = found.shift(["heel", "waist", "slope"])
    assert shift.along == pytest.approx(1.5 * math.cos(math.radians(25)), abs=1e-9)
    assert shift.square == pytest.approx(1.5 * math.sin(math.radians(25)), abs=1e-9)
    assert found.shift(["heel"]).along == pytest.approx(0.0, abs=1e-9)
    assert found.shift(["heel"]).along_doubt == pytest.approx(found.section("heel").doubt)
    assert 0.0 < shift.along_doubt < 3 * U


def test_measured_slope_is_an_unknown_of_its_own() -> None:
    sections = (Section("flat", 40.0), Section("ramp", 30.0, 30.0, slope_process_deg=0.2))
    truth_slope = math.radians(31.0)
    readings = (
        Reading("flat", ("flat",), 40.0, 0.03),
        Reading("ramp", ("ramp",), 30.0, 0.03, Across.STRAIGHT),
        Reading("ramp angle", ("ramp",), 31.0, 0.1, Across.SLOPE),
        Reading("length", ("flat", "ramp"), 40 + 30 * math.cos(truth_slope), 0.03),
        Reading("rise", ("flat", "ramp"), 30 * math.sin(truth_slope), 0.03, Across.SQUARE),
        Reading("end to end", ("flat", "ramp"), math.hypot(40 + 30 * math.cos(truth_slope), 30 * math.sin(truth_slope)),
                0.03, Across.STRAIGHT),
    )  # fmt: skip
    found = reconcile(Chain(sections, readings))
    assert found.readings_verdict is ReadingsVerdict.AGREE
    assert found.dof == 3
    assert found.adjustment.sizes == pytest.approx([40.0, 30.0, 31.0], abs=1e-7)
    shift = found.shift(["ramp"])
    assert shift.square == pytest.approx(30 * (math.sin(truth_slope) - math.sin(math.radians(30))), abs=1e-7)
    wrong = reconcile(Chain(sections, with_error(readings, "ramp angle", 5.0)))
    assert [s.name for s in wrong.removed] == ["ramp angle"]
    assert wrong.removed[0].error == pytest.approx(5.0, abs=0.02)


def random_net(rng: np.random.Generator, n: int, m: int) -> Chain:
    sections = tuple(Section(f"s{i}", float(rng.uniform(10, 60)), float(rng.choice([0, 0, 20, -35]))) for i in range(n))
    names = [s.name for s in sections]
    readings = [
        Reading(f"single {name}", (name,), 0.0, float(rng.uniform(0.03, 0.2)), Across.STRAIGHT) for name in names
    ]
    for k in range(m):
        i = int(rng.integers(0, n - 1))
        j = int(rng.integers(i + 2, n + 1))
        across = Across.STRAIGHT if rng.random() < 0.3 else Across.ALONG
        readings.append(Reading(f"span {k}", tuple(names[i:j]), 0.0, float(rng.uniform(0.03, 0.2)), across))
    chain = Chain(sections, tuple(readings))
    values, _ = chain.expected(chain.drawn_sizes, readings)
    noise = rng.normal(0, 1, len(readings)) * [r.doubt for r in readings]
    return replace(
        chain, readings=tuple(replace(r, value=float(v + e)) for r, v, e in zip(readings, values, noise, strict=True))
    )


@pytest.mark.outside_check(
    subject="error in a chain",
    source="scipy: least_squares and chi2",
    closeness="1e-6",
    standing="library",
)
@pytest.mark.parametrize("seed", range(5))
def test_adjustment_against_a_reference_library(seed: int) -> None:
    chain = random_net(np.random.default_rng(seed), 5, 5)
    doubts = np.array([r.doubt for r in chain.readings])
    values = np.array([r.value for r in chain.readings])
    other = least_squares(
        lambda x: (chain.expected(x, chain.readings)[0] - values) / doubts, chain.drawn_sizes, xtol=1e-15, gtol=1e-15,
        ftol=1e-15,
    )  # fmt: skip
    mine = adjust(chain, chain.readings, significance=ALPHA)
    assert mine.sizes == pytest.approx(other.x, abs=1e-6)
    assert mine.statistic == pytest.approx(2 * other.cost, abs=1e-6)
    assert mine.chance == pytest.approx(chi2.sf(mine.statistic, mine.dof), abs=1e-12)
    assert sum(r.redundancy for r in mine.readings) == pytest.approx(mine.dof)
    assert mine.covariance == pytest.approx(np.linalg.inv(other.jac.T @ other.jac), rel=1e-5, abs=1e-8)


@pytest.mark.parametrize("seed", range(3))
def test_estimated_error_is_what_the_others_say(seed: int) -> None:
    # v / r is the reading less its prediction from all the others, and w that over its spread: leave one out
    chain = random_net(np.random.default_rng(seed), 4, 4)
    flat = replace(chain, sections=tuple(replace(s, slope_deg=0.0) for s in chain.sections))
    mine = adjust(flat, flat.readings, significance=ALPHA)
    for k, reading in enumerate(flat.readings):
        rest = [r for r in flat.readings if r.name != reading.name]
        without = adjust(flat, rest, significance=ALPHA)
        predicted, row = flat.expected(without.sizes, [reading])
        spread = math.sqrt(float((row @ without.covariance @ row.T)[0, 0]) + reading.doubt**2)
        result = mine.readings[k]
        assert result.error == pytest.approx(reading.value - float(predicted[0]), abs=1e-8)
        assert result.normalised == pytest.approx((reading.value - float(predicted[0])) / spread, abs=1e-7)


@pytest.mark.outside_check(
    subject="error in a chain",
    source="level net of Ghilani, Adjustment Computations (figures), and its normal equations solved by numpy",
    closeness="0.0006 in height; 1e-6",
    standing="memory",
)
def test_textbook_level_net() -> None:
    # Level net of Ghilani, Adjustment Computations, differential levelling with weights 1/length (figures from memory):
    # benchmarks X = 100.000 and Y = 107.500; A = 105.150, B = 104.489, C = 106.197 adjusted
    steps = (("XA", 5.0), ("AB", -0.7), ("BC", 1.7), ("CY", 1.3))
    sections = tuple(Section(name, rise) for name, rise in steps)
    lines = [
        (("XA",), 5.10, 4), (("AB", "BC", "CY"), 2.34, 3), (("CY",), 1.25, 2), (("XA", "AB", "BC"), 6.13, 3),
        (("AB",), -0.68, 2), (("BC", "CY"), 3.00, 2), (("BC",), 1.70, 2),
    ]  # fmt: skip
    readings = [
        Reading(f"line {k}", of, rise, math.sqrt(length) * 0.01) for k, (of, rise, length) in enumerate(lines, start=1)
    ]
    readings.append(Reading("benchmarks", ("XA", "AB", "BC", "CY"), 7.50, 1e-7))
    found = adjust(Chain(sections, tuple(readings)), readings, significance=ALPHA)
    heights = 100.0 + np.cumsum(found.sizes)[:3]
    assert heights == pytest.approx([105.150, 104.489, 106.197], abs=6e-4)
    # and by the normal equations, written out once more
    design = np.array([[1, 0, 0], [-1, 0, 0], [0, 0, -1], [0, 0, 1], [-1, 1, 0], [0, -1, 0], [0, -1, 1]], dtype=float)
    right = np.array([105.10, 2.34 - 107.5, -106.25, 106.13, -0.68, 3.00 - 107.5, 1.70])
    weight = np.diag([1 / length for *_, length in lines])
    assert heights == pytest.approx(np.linalg.solve(design.T @ weight @ design, design.T @ weight @ right), abs=1e-6)


def test_false_alarms_and_found_errors_come_as_often_as_stated() -> None:
    rng = np.random.default_rng(3)
    chain = Chain(SECTIONS, well_measured(AS_DRAWN))
    chances, found = [], 0
    findable = adjust(chain, chain.readings, significance=ALPHA).readings[1].findable or 0.0
    trials = 400
    for _ in range(trials):
        noisy = tuple(replace(r, value=r.value + float(rng.normal(0, r.doubt))) for r in chain.readings)
        chances.append(adjust(chain, noisy, significance=ALPHA).chance)
        wrong = with_error(noisy, "waist itself", findable)
        found += abs(adjust(chain, wrong, significance=ALPHA).readings[1].normalised) > 3.29
    assert kstest(chances, "uniform").pvalue > 0.001
    assert abs(found / trials - 0.80) < 4 * math.sqrt(0.16 / trials)  # Baarda: power 0.80 at 4.13 u / sqrt(r)


def same_story(one: Reconciliation, two: Reconciliation) -> None:
    assert one.readings_verdict is two.readings_verdict
    assert one.sections_verdict is two.sections_verdict
    assert {s.name for s in one.removed} == {s.name for s in two.removed}
    assert {s.name for s in one.suspects} == {s.name for s in two.suspects}
    assert {c.name for c in one.carriers} == {c.name for c in two.carriers}
    assert one.chance == pytest.approx(two.chance, abs=1e-6)


@given(
    seed=st.integers(0, 1000), name=st.sampled_from([r.name for r in well_measured(AS_DRAWN)]), error=st.floats(-3, 3)
)
@settings(max_examples=20)
def test_mirrored_and_unit_swapped_chains_tell_the_same(seed: int, name: str, error: float) -> None:
    rng = np.random.default_rng(seed)
    noisy = tuple(replace(r, value=r.value + float(rng.normal(0, r.doubt))) for r in well_measured(AS_DRAWN))
    chain = Chain(SECTIONS, with_error(noisy, name, error))
    one = reconcile(chain)
    inch = Chain(
        tuple(replace(s, drawn=s.drawn / 25.4) for s in chain.sections),
        tuple(replace(r, value=r.value / 25.4, doubt=r.doubt / 25.4) for r in chain.readings),
    )
    same_story(one, reconcile(inch))
    mirrored = Chain(
        tuple(replace(s, slope_deg=-s.slope_deg) for s in chain.sections[::-1]), tuple(chain.readings[::-1])
    )
    same_story(one, reconcile(mirrored))


def test_corrected_chain_is_asked_again() -> None:
    chain = Chain(SECTIONS, with_error(well_measured(AS_DRAWN), "overall", 3.0))
    again = reconcile(corrected(chain, "overall", true_value(Reading("x", NAMES, 0, 1), AS_DRAWN)))
    assert again.readings_verdict is ReadingsVerdict.AGREE
    with pytest.raises(InputError, match='no reading "total"'):
        corrected(chain, "total", 1.0)


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match='no section "knee"'):
        Chain(SECTIONS, (Reading("r", ("knee",), 1.0, U),))
    with pytest.raises(InputError, match="different name for each section"):
        Chain((SECTIONS[0], SECTIONS[0]), ())
    with pytest.raises(InputError, match="different name for each reading"):
        Chain(SECTIONS, (Reading("r", ("heel",), 1.0, U), Reading("r", ("toe",), 1.0, U)))
    with pytest.raises(InputError, match="at least one section"):
        Chain((), ())
    with pytest.raises(InputError, match=r"doubt above zero, got 1\.0 and 0\.0"):
        Reading("r", ("heel",), 1.0, 0.0)
    with pytest.raises(InputError, match="at least one section that it spans"):
        Reading("r", (), 1.0, U)
    with pytest.raises(InputError, match="named twice"):
        Reading("r", ("heel", "heel"), 1.0, U)
    with pytest.raises(InputError, match="a slope belongs to one section"):
        Reading("r", ("heel", "toe"), 1.0, U, Across.SLOPE)
    with pytest.raises(InputError, match='section "heel": expected finite'):
        Section("heel", math.nan)
    with pytest.raises(InputError, match="process spread of zero or more"):
        Section("heel", 1.0, process=-0.1)
    with pytest.raises(InputError, match="at least one reading"):
        reconcile(Chain(SECTIONS, ()))
    with pytest.raises(InputError, match="doubt of the next reading 0 mm"):
        reconcile(Chain(SECTIONS, well_measured(AS_DRAWN)), next_doubt=0)
    for bad in (math.inf, math.nan, -0.05):
        with pytest.raises(InputError, match=f"doubt of the next reading {bad} mm: expected above zero"):
            reconcile(Chain(SECTIONS, well_measured(AS_DRAWN)), next_doubt=bad)
    found = reconcile(Chain(SECTIONS, well_measured(AS_DRAWN)))
    with pytest.raises(InputError, match='no section "knee"'):
        found.section("knee")
