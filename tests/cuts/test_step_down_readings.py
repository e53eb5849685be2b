"""Layer from solder used and from micrometer readings: published sums, Student's t against scipy, cancelling doubts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from holecam.cuts.layer_estimates import Estimate, Term
from holecam.cuts.layer_readings import layer_from_mass, layer_from_readings, layer_from_wire, student_quantile
from holecam.errors import InputError

INCH = 25.4


@pytest.mark.outside_check(
    subject="layer from readings",
    source="scipy: Student t",
    closeness="1e-9",
    standing="library",
)
@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 7, 10, 29, 30, 100])
@pytest.mark.parametrize("chance", [0.6, 0.9, 0.97725, 0.99865])
def test_student_quantile_against_scipy(freedom: int, chance: float) -> None:
    assert student_quantile(chance, freedom) == pytest.approx(stats.t.ppf(chance, freedom), rel=1e-9)


@pytest.mark.outside_check(
    subject="layer from readings",
    source="GUM (JCGM 100:2008) table G.2",
    closeness="0.005",
    standing="memory",
)
@pytest.mark.parametrize(
    ("freedom", "value"),
    # GUM, JCGM 100:2008, table G.2, 95.45 percent two-sided
    [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (10, 2.28), (20, 2.13), (50, 2.05)],
)
def test_student_quantile_against_the_table_of_the_gum(freedom: int, value: float) -> None:
    assert student_quantile(0.5 + 0.9545 / 2, freedom) == pytest.approx(value, abs=0.005)


@pytest.mark.outside_check(
    subject="layer from the solder used",
    source="copper tube soldering data sheet, Table 1: 0.080 in of 1/8 in wire for a 5/8 in tube",
    closeness="0.5 percent",
    standing="memory",
)
def test_wire_over_area() -> None:
    # tube joint of 0.625 in by 0.500 in with 0.001 in gap takes 0.080 in of 1/8 in wire: copper tube soldering data
    # sheet, Table 1, value from memory; here the other way round
    layer = layer_from_wire(
        "solder",
        wire_length=0.080 * INCH,
        wire_diameter=INCH / 8,
        joint_area=math.pi * 0.625 * 0.5 * INCH**2,
        local_half_width=0.0,
    )
    assert layer.value == pytest.approx(0.001 * INCH, rel=0.005)
    half = layer_from_wire(
        "solder",
        wire_length=0.080 * INCH,
        wire_diameter=INCH / 8,
        joint_area=math.pi * 0.625 * 0.5 * INCH**2,
        local_half_width=0.01,
        lost_percent=50.0,
        wire_diameter_within=0.0127,
    )
    assert half.value == pytest.approx(layer.value / 2)
    # twice the relative doubt of the diameter, and the local one
    relative = 2 * 0.0127 / (INCH / 8)
    assert half.half_width == pytest.approx(half.value * relative + 0.01)


def test_mass_and_wire_of_the_same_solder_agree() -> None:
    length, diameter, area = 200.0, 1.5, 900.0
    mass = length * math.pi / 4 * diameter**2 * 8.4e-3  # Sn-Pb, 8.4 g/cm3 from memory
    by_mass = layer_from_mass("s", mass_g=mass, density_g_cm3=8.4, joint_area=area, local_half_width=0.02)
    by_wire = layer_from_wire("s", wire_length=length, wire_diameter=diameter, joint_area=area, local_half_width=0.02)
    assert by_mass.value == pytest.approx(by_wire.value)


def test_readings_mean_spread_and_small_sample() -> None:
    readings = [5.512, 5.498, 5.505, 5.493]
    found = layer_from_readings("solder", readings, less=Estimate(5.4), instrument_half_width=0.005, sureness=2.0)
    s = float(np.std(readings, ddof=1))
    assert found.mean == pytest.approx(np.mean(readings))
    assert found.spread == pytest.approx(s)
    assert found.small_sample == pytest.approx(stats.t.ppf(stats.norm.cdf(2.0), 3) / 2.0)
    one_more = s * math.sqrt(1 + 1 / 4) * found.small_sample
    assert found.thickness.value == pytest.approx(np.mean(readings) - 5.4)
    assert found.thickness.standard == pytest.approx(math.hypot(one_more, 0.005 / math.sqrt(3)))


def test_doubt_of_the_bar_cancels_when_the_stack_was_measured_as_a_whole() -> None:
    bar = Estimate.of(4.76, Term.within("thickness of bar", 0.03))
    found = layer_from_readings("solder", [4.86, 4.87, 4.85], less=bar, sureness=3.0)
    depth = bar + found.thickness
    assert depth.value == pytest.approx(4.86)
    assert all(term.name != "thickness of bar" for term, _ in depth.parts)
    assert depth.standard < found.thickness.standard


def test_wedge_is_found_and_the_thin_end_taken() -> None:
    places = [0.0, 10.0, 20.0, 30.0, 40.0]
    readings = [0.20, 0.19, 0.18, 0.17, 0.16]
    found = layer_from_readings("solder", readings, places=places, cut_from=0.0, cut_to=50.0)
    assert found.thickness.value == pytest.approx(0.15)
    assert found.wedge == pytest.approx(0.05)
    assert found.spread == pytest.approx(0.0, abs=1e-12)


def test_doubt_at_the_thin_end_against_simulation() -> None:
    rng = np.random.default_rng(5)
    places = np.array([0.0, 15.0, 30.0, 45.0, 60.0])
    outside = 0
    trials = 2000
    for _ in range(trials):
        truth = 0.30 - 0.002 * places
        found = layer_from_readings(
            "s", list(truth + rng.normal(0, 0.004, 5)), places=list(places), cut_from=0, cut_to=60, sureness=2.0
        )
        real = 0.30 - 0.002 * 60 + rng.normal(0, 0.004)  # one more place there
        outside += real < found.thickness.value - 2.0 * found.thickness.standard
    assert outside / trials == pytest.approx(0.0228, abs=0.01)  # one-sided at two standard doubts


@pytest.mark.parametrize(
    ("readings", "message"),
    [([1.0], "expected readings at two places or more"), ([1.0, math.nan], "expected readings above zero")],
)
def test_bad_readings(readings: list[float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        layer_from_readings("solder", readings)


def test_layer_that_comes_out_negative_is_refused() -> None:
    with pytest.raises(InputError, match=r"leaves -0.0100 mm: expected a layer above zero"):
        layer_from_readings("solder", [5.0, 5.0], less=Estimate(5.01))


@pytest.mark.parametrize("lost", [-0.1, 100.0, 120.0, math.nan])
def test_solder_cannot_be_lost_that_was_not_there(lost: float) -> None:
    sizes = {"joint_area": 1500.0, "local_half_width": 0.0, "lost_percent": lost}
    with pytest.raises(InputError, match=f"solder lost {lost} percent: expected 0 up to 100"):
        layer_from_wire("solder", wire_length=200.0, wire_diameter=1.0, **sizes)
    with pytest.raises(InputError, match=f"solder lost {lost} percent"):
        layer_from_mass("solder", mass_g=1.3, density_g_cm3=8.4, **sizes)
    half = layer_from_wire("solder", wire_length=200.0, wire_diameter=1.0, **(sizes | {"lost_percent": 50.0}))
    assert half.value == pytest.approx(0.5 * 200.0 * math.pi / 4 / 1500.0)


@pytest.mark.parametrize("place", [math.nan, math.inf])
@pytest.mark.parametrize("at", [0, 2])
def test_readings_at_places_that_are_none_are_refused(place: float, at: int) -> None:
    """Also where they are too few for a slope: an unknown place must not quietly leave the wedge out."""
    for count in (3, 5):
        places = [10.0 * k for k in range(count)]
        places[at] = place
        with pytest.raises(InputError, match="places of the readings: expected finite lengths"):
            layer_from_readings("solder", [0.20, 0.19, 0.18, 0.17, 0.16][:count], places=places)


@pytest.mark.parametrize(("chance", "freedom"), [(0.49, 3), (1.0, 3), (1.2, 3), (0.9, 0), (math.nan, 3)])
def test_student_needs_a_chance_and_freedom(chance: float, freedom: int) -> None:
    with pytest.raises(InputError, match=r"expected 0\.5 to 1 and 1 or more"):
        student_quantile(chance, freedom)


def test_student_at_the_ends() -> None:
    assert student_quantile(0.5, 4) == pytest.approx(0.0, abs=1e-9)
    assert student_quantile(0.95, 1) == pytest.approx(math.tan(0.45 * math.pi))  # the Cauchy distribution
