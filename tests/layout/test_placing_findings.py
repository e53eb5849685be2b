"""What measured placements have to say, and when it becomes a caution or a stop."""

from __future__ import annotations

import pytest

from holecam.layout.best_fit import BestFit, MeasuredHole, best_fit
from holecam.layout.patterns import free_points, line
from holecam.layout.placing_findings import best_fit_findings, two_hole_finding, units_mixed
from holecam.layout.two_holes import TwoHoleFit, place_from_two
from holecam.plan.finding import Severity
from holecam.shapes import Placement

IRREGULAR = free_points([(0.0, 0.0), (31.7, 4.2), (12.9, 55.1), (-8.3, 20.6), (40.0, 40.0)])


def two(distance: float, hold: str = "first") -> TwoHoleFit:
    return place_from_two(
        line(5, pitch=10.0),
        first=1,
        first_at=(0.0, 0.0),
        second=5,
        second_at=(distance, 0.0),
        hold=hold,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("distance", "doubt", "severity"),
    [
        (40.05, 0.03, Severity.NOTE),
        (40.07, 0.03, Severity.CAUTION),
        (39.93, 0.03, Severity.CAUTION),
        (40.0, 0.0, Severity.NOTE),
        (43.0, None, Severity.NOTE),
    ],
)
def test_a_misfit_beyond_twice_its_doubt_is_a_caution(distance: float, doubt: float | None, severity: Severity) -> None:
    finding = two_hole_finding(two(distance), about='"rail screws"', doubt=doubt, unit="mm")
    assert finding.severity is severity
    assert finding.code == "two-hole-misfit"
    assert finding.measured == pytest.approx(abs(distance - 40.0))
    assert finding.limit == (None if doubt is None else pytest.approx(2 * doubt))


def test_the_words_have_both_distances_and_the_share_of_a_pitch() -> None:
    finding = two_hole_finding(two(40.2), about='"rail screws"', doubt=0.01, unit="mm")
    assert finding.message == (
        "Hole 1 and hole 5 were found 40.200 mm apart and are 40.000 mm apart as drawn: +0.200 mm, +0.050 mm a pitch. "
        "Spacing is kept as drawn. Hole 1 is held, so hole 5 sits off by it."
    )
    assert finding.remedy == "Find both holes once more, and check that they are hole 1 and hole 5."
    assert "Both sit off by half of it." in two_hole_finding(two(40.2, "split"), about="", doubt=0.1, unit="mm").message
    inches = two_hole_finding(two(40.2, "second"), about="", doubt=0.1, unit="in").message
    assert "+0.0079 in" in inches
    assert "Hole 5 is held, so hole 1 sits off by it." in inches


@pytest.mark.parametrize("factor", [25.4, 1 / 25.4, 25.0])
def test_two_units_are_a_stop(factor: float) -> None:
    finding = two_hole_finding(two(40.0 * factor), about="", doubt=0.1, unit="mm")
    assert finding.severity is Severity.STOP
    assert finding.code == "two-hole-units"
    assert finding.measured == pytest.approx(factor)
    assert not units_mixed(1.0)
    assert not units_mixed(20.0)


def fitted(*measured: MeasuredHole) -> BestFit:
    fit = best_fit(IRREGULAR, measured)
    assert isinstance(fit, BestFit)
    return fit


def measured_holes(truth: Placement, **changes: tuple[float, float]) -> list[MeasuredHole]:
    holes = []
    for number, p in IRREGULAR.holes():
        x, y = truth.apply(p)
        dx, dy = changes.get(f"hole_{number}", (0.01 * (-1) ** number, 0.01 * (number % 3 - 1)))
        holes.append(MeasuredHole(number, (x + dx, y + dy)))
    return holes


def test_a_clean_fit_has_one_note() -> None:
    fit = fitted(*measured_holes(Placement(12.0, (5.0, 6.0))))
    (note,) = best_fit_findings(fit, about='"cover"', unit="mm")
    assert (note.code, note.severity) == ("best-fit-misfit", Severity.NOTE)
    assert note.measured == fit.worst.size
    assert note.message.startswith(f"The best fit leaves hole {fit.worst.hole} 0.0")


def test_a_wrong_hole_is_a_caution_about_that_hole() -> None:
    fit = fitted(*measured_holes(Placement(12.0, (5.0, 6.0)), hole_3=(0.8, 0.4)))
    suspect = best_fit_findings(fit, about='"cover"', unit="mm")[1]
    assert (suspect.code, suspect.severity, suspect.holes) == ("best-fit-suspect", Severity.CAUTION, (3,))
    assert suspect.about == 'hole 3 of "cover"'


def test_the_other_hand_and_two_units_and_brave_doubts() -> None:
    other = fitted(*measured_holes(Placement(12.0, (5.0, 6.0), mirror=True)))
    assert "best-fit-other-hand" in [f.code for f in best_fit_findings(other, about="", unit="mm")]
    inches = fitted(*(MeasuredHole(n, (x / 25.4, y / 25.4)) for n, (x, y) in IRREGULAR.holes()))
    stops = [f for f in best_fit_findings(inches, about="", unit="mm") if f.severity is Severity.STOP]
    assert [f.code for f in stops] == ["best-fit-units"]
    brave = fitted(*(MeasuredHole(m.number, m.at, 0.001) for m in measured_holes(Placement())))
    found = [f for f in best_fit_findings(brave, about="", unit="mm") if f.code == "best-fit-doubts"]
    assert found[0].measured == brave.doubt_ratio
    honest = fitted(*(MeasuredHole(m.number, m.at, 0.01) for m in measured_holes(Placement())))
    assert [f.code for f in best_fit_findings(honest, about="", unit="mm")] == ["best-fit-misfit"]
