"""What is said about a chain: codes, severities, names, and the measurement that would decide."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from holecam.layout.reconciliation import Reconciliation, reconcile
from holecam.layout.reconciliation_chain import Across, Chain, Reading, Section
from holecam.plan.finding import Finding, Severity
from holecam.planning.error_findings import deciding_text, error_findings, pattern_shift, quoted

U = 0.05
NAMES = ("heel", "waist", "toe")
DRAWN = {"heel": 20.0, "waist": 50.0, "toe": 30.0}


def chain(errors: dict[str, float] | None = None, *, sub_totals: bool = True, **sizes: float) -> Chain:
    actual = {**DRAWN, **sizes}
    spans: list[tuple[str, tuple[str, ...]]] = [(f"{n} itself", (n,)) for n in NAMES]
    spans.append(("overall", NAMES))
    if sub_totals:
        spans += [("to waist", ("heel", "waist")), ("from waist", ("waist", "toe"))]
    readings = tuple(
        Reading(name, of, sum(actual[n] for n in of) + (errors or {}).get(name, 0.0), U) for name, of in spans
    )
    return Chain(tuple(Section(n, DRAWN[n]) for n in NAMES), readings)


def by_code(found: Reconciliation, **more: object) -> dict[str, Finding]:
    return {f.code: f for f in error_findings("rail", found, **more)}  # type: ignore[arg-type]


def test_all_well_is_two_notes() -> None:
    found = by_code(reconcile(chain()))
    assert set(found) == {"readings-agree", "as-drawn"}
    assert all(f.severity is Severity.NOTE for f in found.values())
    assert "3 of them beyond need" in found["readings-agree"].message


def test_a_misread_number() -> None:
    found = by_code(reconcile(chain({"toe itself": 1.5})))
    finding = found["misread"]
    assert finding.severity is Severity.CAUTION
    assert finding.about == 'chain "rail", reading "toe itself"'
    assert '"toe itself" does not agree with the other readings: it is 1.500 mm too large' in finding.message
    assert "less than one in a million" in finding.message
    assert "as-drawn" in found
    small = by_code(reconcile(chain({"toe itself": -1.5})), unit="in")["misread"]
    assert "0.0591 in too small" in small.message


def test_a_section_that_differs_with_its_correction_and_shift() -> None:
    found = by_code(reconcile(chain(waist=51.2)), moves=["heel", "waist"])
    finding = found["error-section"]
    assert finding.about == 'chain "rail", section "waist"'
    assert '"waist" is 1.200 mm longer than drawn' in finding.message
    assert finding.measured == pytest.approx(1.2)
    assert "take off 1.200 mm, or move the pattern" in finding.remedy
    shift = found["pattern-shift"]
    assert 'Behind "heel" and "waist" everything has moved +1.200 mm along the chain' in shift.message
    assert shift.measured == pytest.approx(1.2)
    short = by_code(reconcile(chain(waist=48.8)))
    assert "1.200 mm shorter" in short["error-section"].message
    assert "add 1.200 mm" in short["error-section"].remedy


def test_a_single_closure_names_nobody_and_says_what_would_decide() -> None:
    result = reconcile(chain({"overall": 1.5}, sub_totals=False))
    found = by_code(result)
    finding = found["readings-disagree"]
    assert finding.severity is Severity.STOP
    assert "With one closure only" in finding.message
    assert "No section is named." in finding.message
    assert 'Measure along the chain over "heel" and "waist".' in finding.remedy
    assert '70.000 mm if it is "overall"' in finding.remedy
    assert found["cannot-tell"].severity is Severity.STOP
    assert not {"error-section", "pattern-shift", "misread"} & set(found)
    assert pattern_shift(result) is None


def test_two_that_cannot_be_told_apart() -> None:
    sections = (Section("heel", 20.0), Section("toe", 30.0))
    readings = (
        Reading("heel", ("heel",), 20.0, U),
        Reading("heel again", ("heel",), 20.0, U),
        Reading("toe", ("toe",), 31.0, U),
        Reading("sum", ("heel", "toe"), 50.0, U),
    )
    finding = by_code(reconcile(Chain(sections, readings)))["readings-disagree"]
    assert finding.message.startswith(("One of \"toe\" and \"sum\"", "One of \"sum\" and \"toe\""))  # fmt: skip
    assert 'Measure "toe" once more.' in finding.remedy


def test_nothing_checks_anything() -> None:
    sections = (Section("heel", 20.0), Section("toe", 30.0))
    found = by_code(
        reconcile(Chain(sections, (Reading("heel", ("heel",), 22.0, U), Reading("toe", ("toe",), 30.0, U))))
    )
    assert found["readings-unchecked"].severity is Severity.CAUTION
    assert "if the reading is right: nothing checks it" in found["error-section-unchecked"].message
    assert "once more" in found["error-section-unchecked"].remedy


def test_only_the_overall_size() -> None:
    sections = tuple(Section(n, DRAWN[n]) for n in NAMES)
    found = by_code(reconcile(Chain(sections, (Reading("overall", NAMES, 101.0, U),))))
    finding = found["cannot-tell"]
    assert finding.severity is Severity.CAUTION
    assert (
        'differs from the drawing by about 1.000 mm, and any of "heel", "waist" and "toe" may carry it'
        in finding.message
    )
    assert "pattern-shift" in found


def test_a_reading_that_nothing_checks_is_told() -> None:
    extra = Section("tip", 5.0)
    base = chain()
    whole = replace(base, sections=(*base.sections, extra), readings=(*base.readings, Reading("tip", ("tip",), 5.0, U)))
    found = by_code(reconcile(whole))
    assert found["uncheckable-reading"].message.startswith('Nothing checks "tip"')


def test_strained_readings() -> None:
    values = [49.88, 50.12, 49.9, 50.1, 49.87, 50.13, 49.89, 50.11]
    readings = tuple(Reading(f"r{k}", ("bar",), v, 0.05) for k, v in enumerate(values))
    finding = by_code(reconcile(Chain((Section("bar", 50.0),), readings)))["readings-strained"]
    assert "widened 2.4" in finding.message


def test_a_slope_is_told_in_degrees() -> None:
    sections = (Section("flat", 40.0), Section("ramp", 30.0, 30.0))
    readings = (
        Reading("flat", ("flat",), 40.0, 0.03),
        Reading("ramp", ("ramp",), 30.0, 0.03, Across.STRAIGHT),
        Reading("angle", ("ramp",), 36.0, 0.1, Across.SLOPE),
        Reading("length", ("flat", "ramp"), 65.98076, 0.03),
        Reading("rise", ("flat", "ramp"), 15.0, 0.03, Across.SQUARE),
    )
    assert "6.00 deg too large" in by_code(reconcile(Chain(sections, readings)))["misread"].message


def test_words() -> None:
    assert quoted(()) == ""
    assert deciding_text(None, "mm").startswith("No single further reading")
    found = error_findings("rail", reconcile(chain({"toe itself": 1.5}, waist=51.5)))
    assert [f.severity.rank for f in found] == sorted((f.severity.rank for f in found), reverse=True)
    assert all(f.message.endswith(".") for f in found)


def test_no_figure_is_given_that_holds_for_one_of_two_suspects_only() -> None:
    # The heel is 1.2 longer on the sum, 6.2 longer on its own reading; the toe is 2 longer whoever is wrong
    sections = tuple(Section(n, DRAWN[n], process=0.3) for n in NAMES)
    readings = (
        Reading("heel itself", ("heel",), 26.2, U),
        Reading("waist itself", ("waist",), 50.0, U),
        Reading("toe itself", ("toe",), 32.0, U),
        Reading("overall", NAMES, 103.2, U),
        Reading("from waist", ("waist", "toe"), 82.0, U),
    )
    found = reconcile(Chain(sections, readings))
    assert [s.name for s in found.suspects] == ["heel itself", "overall"]
    assert found.suspects[0].error == pytest.approx(5.0, abs=0.01)
    assert found.section("heel").actual is None  # 21.2 or 26.2, and nothing between
    assert found.section("toe").deviation == pytest.approx(2.0, abs=0.01)
    told = error_findings("rail", found)
    assert [f.about for f in told if f.code == "error-section"] == ['chain "rail", section "toe"']
    unsure = next(f for f in told if f.code == "cannot-tell")
    assert unsure.severity is Severity.STOP
    assert "Which other section differs from the drawing, and by how much, cannot be told" in unsure.message


def test_a_section_that_is_named_all_the_same_is_not_denied() -> None:
    sections = (Section("heel", 20.0, process=1.0), Section("toe", 30.0, process=1.0), Section("tail", 40.0))
    readings = (
        Reading("heel", ("heel",), 20.0, U),
        Reading("toe", ("toe",), 30.0, U),
        Reading("both", ("heel", "toe"), 50.6, U),
        Reading("tail", ("tail",), 41.5, U),
    )
    found = by_code(reconcile(Chain(sections, readings)))
    assert found["error-section-unchecked"].about == 'chain "rail", section "tail"'
    message = found["readings-disagree"].message
    assert "No section is named" not in message
    assert 'Only "tail" can be named: the same whichever of them is wrong.' in message
