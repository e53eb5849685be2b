"""Stress areas, shear areas and least engagement against published tables and independently evaluated formulas."""

from __future__ import annotations

import math

import pytest

from holecam.errors import InputError
from holecam.standards.material_strengths import all_screw_strengths, material_strength, screw_strength
from holecam.standards.materials import all_materials, material
from holecam.standards.thread_names import parse_thread
from holecam.standards.thread_strength import (
    BASIC_SIZES_MARGIN,
    external_shear_area,
    internal_shear_area,
    least_engagement,
    tensile_stress_area,
    thread_extremes,
)
from holecam.standards.threads import Thread, all_threads

SQUARE_INCH = 25.4**2


@pytest.mark.outside_check(
    subject="stress area, inch",
    source="ASME B1.1, handbook tables, 15 threads",
    closeness="0.3 percent (three figures)",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "area_in2"),
    [
        # Tensile stress areas of ASME B1.1 (handbook tables), from memory
        ("0-80", 0.00180), ("2-56", 0.00370), ("4-40", 0.00604), ("6-32", 0.00909), ("8-32", 0.0140), ("10-24", 0.0175),
        ("10-32", 0.0200), ("1/4-20", 0.0318), ("1/4-28", 0.0364), ("5/16-18", 0.0524), ("3/8-16", 0.0775),
        ("1/2-13", 0.1419), ("1/2-20", 0.1599), ("3/4-10", 0.334), ("1-8", 0.606),
    ],
)  # fmt: skip
def test_inch_stress_areas(name: str, area_in2: float) -> None:
    assert tensile_stress_area(parse_thread(name)) / SQUARE_INCH == pytest.approx(area_in2, rel=0.003)  # three figures


@pytest.mark.outside_check(
    subject="stress area, metric",
    source="ISO 898-1, 13 threads",
    closeness="three figures",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "area"),
    [
        # ISO 898-1, nominal stress area, mm2 (three figures), from memory
        ("M3", 5.03), ("M4", 8.78), ("M5", 14.2), ("M6", 20.1), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3),
        ("M16", 157), ("M20", 245), ("M24", 353), ("M8x1", 39.2), ("M10x1.25", 61.2), ("M12x1.5", 88.1),
    ],
)  # fmt: skip
def test_metric_stress_areas(name: str, area: float) -> None:
    assert float(f"{tensile_stress_area(parse_thread(name)):.3g}") == area


@pytest.mark.outside_check(
    subject=("stress area, metric", "stress area, inch", "minor diameter, 60 degrees"),
    source="screw_thread_lib 0.0.6: ISO/TR 16224 4.2.2.2 (metric), FED-STD-H28/2B (1b) (inch), basic minor diameter",
    closeness="1e-6 metric, 6e-5 inch (six decimals there)",
    standing="library",
)
@pytest.mark.parametrize(
    ("name", "area"),
    [
        # As_ISO() of the library, mm2
        ("M8", 36.6085408), ("M12", 84.2665330), ("M20", 244.7943787), ("M24", 352.5039054),
        # As_FEDSTD_1b(), in2, and D1bsc, in
        ("10-24", (0.017532, 0.144895)), ("10-32", (0.019994, 0.156171)), ("1/4-20", (0.031821, 0.195873)),
        ("1/4-28", (0.036374, 0.211338)), ("1/2-13", (0.141900, 0.416728)), ("1/2-20", (0.159953, 0.445873)),
        ("3/4-10", (0.334462, 0.641747)), ("1-8", (0.605748, 0.864684)), ("1-12", (0.663043, 0.909789)),
    ],
)  # fmt: skip
def test_stress_areas_of_a_reference_library(name: str, area: float | tuple[float, float]) -> None:
    thread = parse_thread(name)
    if isinstance(area, tuple):
        assert tensile_stress_area(thread) / SQUARE_INCH == pytest.approx(area[0], abs=6e-5 * area[0])
        assert thread.basic_minor / 25.4 == pytest.approx(area[1], abs=1e-6)
    else:
        assert tensile_stress_area(thread) == pytest.approx(area, rel=1e-6)


def test_inch_and_metric_have_two_constants() -> None:
    """At 1/4-20 the metric constant would give 1.8 percent more."""
    thread = parse_thread("1/4-20")
    metric = math.pi / 4 * (thread.major - 0.938194 * thread.pitch) ** 2
    assert metric / tensile_stress_area(thread) == pytest.approx(1.018, abs=0.001)


@pytest.mark.outside_check(
    subject="thread shear and engagement",
    source="ASME B1.1-2019 limits as tabulated in screw_thread_lib 0.0.6",
    closeness="0.00016 in",
    standing="published",
)
@pytest.mark.parametrize(
    ("name", "external_major", "external_pitch", "internal_pitch"),
    [
        # ASME B1.1-2019, class 2A minimum major and pitch diameter, class 2B maximum pitch diameter, as tabulated in an
        # open library of thread strength
        ("10-24", 0.1818, 0.1586, 0.1672), ("10-32", 0.1831, 0.1658, 0.1736), ("1/4-20", 0.2408, 0.2127, 0.2224),
        ("1/4-28", 0.2425, 0.2225, 0.2311), ("1/2-13", 0.4876, 0.4435, 0.4565), ("1/2-20", 0.4906, 0.4619, 0.4731),
        ("3/4-10", 0.7353, 0.6773, 0.6927), ("1-8", 0.9830, 0.9101, 0.9276), ("1-12", 0.9868, 0.9382, 0.9535),
    ],
)  # fmt: skip
def test_unified_extremes(name: str, external_major: float, external_pitch: float, internal_pitch: float) -> None:
    x = thread_extremes(parse_thread(name))
    assert x.external_major / 25.4 == pytest.approx(external_major, abs=0.00016)
    assert x.external_pitch / 25.4 == pytest.approx(external_pitch, abs=0.00016)
    assert x.internal_pitch / 25.4 == pytest.approx(internal_pitch, abs=0.00016)
    assert x.from_class


@pytest.mark.outside_check(
    subject="thread shear and engagement",
    source="ASME B1.13M limits as tabulated in screw_thread_lib 0.0.6",
    closeness="0.012 mm",
    standing="published",
)
@pytest.mark.parametrize(
    ("name", "external_major", "external_pitch", "internal_pitch"),
    [
        # ASME B1.13M, 6g minimum and 6H maximum in inches, as tabulated in an open library of thread strength
        ("M8", 0.30551, 0.27724, 0.28929), ("M12", 0.46067, 0.42023, 0.43555), ("M20", 0.77256, 0.71512, 0.73228),
        ("M24", 0.92823, 0.85839, 0.87858),
    ],
)  # fmt: skip
def test_metric_extremes(name: str, external_major: float, external_pitch: float, internal_pitch: float) -> None:
    """The standard rounds its tolerances to preferred numbers, by up to 6 percent of some 0.3 mm."""
    x = thread_extremes(parse_thread(name))
    assert x.external_major == pytest.approx(external_major * 25.4, abs=0.012)
    assert x.external_pitch == pytest.approx(external_pitch * 25.4, abs=0.008)
    assert x.internal_pitch == pytest.approx(internal_pitch * 25.4, abs=0.008)


@pytest.mark.outside_check(
    subject=("thread shear and engagement", "stress area, inch"),
    source="FED-STD-H28/2B (1991) Table II.B.1 formulas (4a), (2a), (14), evaluated by screw_thread_lib 0.0.6",
    closeness="0.2 percent",
    standing="library",
)
@pytest.mark.parametrize(
    ("name", "external_in2", "internal_in2", "equal_in"),
    [
        # FED-STD-H28/2B (1991) Table II.B.1 formulas (4a), (2a) and (14), 1 in of engagement, evaluated from ASME
        # B1.1-2019 limits by an open library of thread strength
        ("1/4-20", 0.367957, 0.538976, 0.172962),
        ("1/2-13", 0.778943, 1.123487, 0.364339),
        ("10-32", 0.274744, 0.388573, 0.145548),
    ],
)
def test_shear_areas_and_engagement(name: str, external_in2: float, internal_in2: float, equal_in: float) -> None:
    thread = parse_thread(name)
    assert external_shear_area(thread, 25.4) / SQUARE_INCH == pytest.approx(external_in2, rel=0.002)
    assert internal_shear_area(thread, 25.4) / SQUARE_INCH == pytest.approx(internal_in2, rel=0.002)
    least = least_engagement(thread, screw_mpa=400, hole_mpa=400)
    assert least.length / 25.4 == pytest.approx(equal_in, rel=0.002)
    assert least.weakness < 1
    assert least.note == ""


@pytest.mark.outside_check(
    subject="thread shear and engagement",
    source="Machinery's Handbook (as quoted): Le = 2 At / (pi Kn (1/2 + 0.57735 n (Es - Kn))), 1/4-20 by hand",
    closeness="0.2 percent",
    standing="published",
)
def test_handbook_form_of_the_engagement() -> None:
    """Machinery's Handbook: Le = 2 At/(pi Kn (1/2 + 0.57735 n (Es - Kn))), 1/4-20 by hand with its table values."""
    by_hand = 2 * 0.0318 / (math.pi * 0.207 * (0.5 + 0.57735 * 20 * (0.2127 - 0.207)))
    found = least_engagement(parse_thread("1/4-20"), screw_mpa=400, hole_mpa=400)
    assert found.equal_materials / 25.4 == pytest.approx(by_hand, rel=0.002)


def test_a_weaker_hole_takes_longer_by_j() -> None:
    thread = parse_thread("M6")
    equal = least_engagement(thread, screw_mpa=800, hole_mpa=800)
    weak = least_engagement(thread, screw_mpa=800, hole_mpa=220)
    areas = external_shear_area(thread, 1.0) / internal_shear_area(thread, 1.0)
    assert weak.weakness == pytest.approx(areas * 800 / 220)
    assert weak.length == pytest.approx(weak.weakness * equal.length)
    assert weak.diameters == pytest.approx(weak.length / 6)
    assert weak.threads == pytest.approx(weak.length)


@pytest.mark.outside_check(
    subject="thread shear and engagement",
    source="1 D steel, about 1.5 D brass, 2 D aluminium and copper",
    closeness="about half a diameter",
    standing="common practice",
)
def test_rule_of_thumb_follows() -> None:
    """Common practice: 1 D steel in steel, about 1.5 D in brass, 2 D in aluminium or copper for strong screws."""
    thread = parse_thread("M6")
    same = least_engagement(thread, screw_mpa=400, hole_mpa=400)
    assert 0.5 < same.diameters < 1.0
    copper = least_engagement(
        thread,
        screw_mpa=screw_strength("8.8").tensile_mpa,
        hole_mpa=material_strength(material("copper")).tensile_mpa,
    )
    assert 1.5 < copper.diameters < 2.5


def test_a_larger_hole_leaves_less_to_shear() -> None:
    thread = parse_thread("1/4-20")
    assert external_shear_area(thread, 10, minor=5.3) < external_shear_area(thread, 10, minor=5.1)
    assert (
        least_engagement(thread, screw_mpa=400, hole_mpa=400, minor=5.4).length
        > least_engagement(thread, screw_mpa=400, hole_mpa=400, minor=5.1).length
    )


def test_series_without_class_limits_get_basic_sizes_a_margin_and_a_note() -> None:
    for name in ("2 BA", "1/4 BSW", "3/16 x 40 ME"):
        found = least_engagement(parse_thread(name), screw_mpa=400, hole_mpa=400)
        assert found.basis == "basic sizes"
        assert "basic sizes, and 10% more length" in found.note
        assert found.length == pytest.approx(BASIC_SIZES_MARGIN * found.equal_materials * max(1, found.weakness))


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_every_thread_has_sensible_areas(thread: Thread) -> None:
    area = tensile_stress_area(thread)
    assert math.pi / 4 * (0.95 * thread.basic_minor) ** 2 < area < math.pi / 4 * thread.major**2
    assert 0 < external_shear_area(thread, 1.0) < math.pi * thread.major
    assert external_shear_area(thread, 1.0) < internal_shear_area(thread, 1.0) < math.pi * thread.major
    assert 0.4 < least_engagement(thread, screw_mpa=400, hole_mpa=400).diameters < 1.6


def test_strengths_have_a_row_for_every_metal_and_plastic() -> None:
    for one in all_materials():
        if one.family != "wood":
            assert 10 < material_strength(one).tensile_mpa < 1000
    with pytest.raises(InputError, match="no tensile strength is known for beech"):
        material_strength(material("beech"))


@pytest.mark.outside_check(
    subject="table screw_strengths",
    source="SAE J429: 74, 120, 150 ksi",
    closeness="0.6 MPa",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "ksi"),
    [("grade 2", 74), ("grade 5", 120), ("grade 8", 150)],
)
def test_screw_grades_agree_in_both_units(name: str, ksi: float) -> None:
    """SAE J429: grade 2 74 ksi, 5 120 ksi, 8 150 ksi; 1 ksi is 6.894757 MPa."""
    assert screw_strength(name).tensile_mpa == pytest.approx(ksi * 6.894757, abs=0.6)


@pytest.mark.outside_check(
    subject="table screw_strengths",
    source="ISO 898-1: the first figure of a property class is a hundredth of its strength",
    closeness="not below",
    standing="memory",
)
def test_property_classes_are_what_their_name_says() -> None:
    """ISO 898-1: the first figure is a hundredth of the nominal tensile strength; the minimum is no lower."""
    for one in all_screw_strengths():
        if one.name.startswith("property class"):
            assert one.tensile_mpa >= 100 * int(one.name.split()[-1].split(".")[0])
    with pytest.raises(InputError, match=r'screw strength "11\.7" is not known'):
        screw_strength("11.7")


def test_wrong_figures_are_refused() -> None:
    thread = parse_thread("M4")
    with pytest.raises(InputError, match="screw strength 0 MPa: expected a positive strength"):
        least_engagement(thread, screw_mpa=0, hole_mpa=100)
    with pytest.raises(InputError, match="hole strength nan MPa"):
        least_engagement(thread, screw_mpa=100, hole_mpa=math.nan)
    with pytest.raises(InputError, match="engagement nan mm: expected a positive length"):
        external_shear_area(thread, math.nan)
    with pytest.raises(InputError, match=r"hole 4\.5 mm: expected a diameter below 4 mm"):
        thread_extremes(thread, minor=4.5)
    with pytest.raises(InputError, match="no thread is left to bear"):
        least_engagement(parse_thread("M1 x 0.2"), screw_mpa=400, hole_mpa=400, minor=0.99)


def test_other_unified_series_take_nine_pitches_of_engagement() -> None:
    """ASME B1.1 class 2A for 1/4-32 UNEF by hand, inches.

    Tolerance 0.0015 x 0.25^(1/3) + 0.0015 x (9/32)^(1/2) + 0.015 x (1/32)^(2/3) = 0.000945 + 0.000795 + 0.001488
    = 0.003229; allowance 0.000969; least pitch diameter 0.25 - 0.649519/32 - 0.000969 - 0.003229 = 0.225505;
    handbook tables (from memory) print 0.2255.
    """
    x = thread_extremes(parse_thread("1/4-32 UNEF"))
    assert x.external_pitch / 25.4 == pytest.approx(0.225505, abs=3e-6)
    assert x.internal_pitch / 25.4 == pytest.approx(0.25 - 0.649519 / 32 + 1.3 * 0.003229, abs=3e-6)


@pytest.mark.parametrize(
    ("name", "allowance", "major", "external", "internal", "table"),
    [
        # Micrometres, by hand from the formulas of ISO 965-1: es = 15 + 11 P; Td = 180 P^(2/3) - 3.15 P^(-1/2); Td2 =
        # 90 P^0.4 d^0.1 with d the geometric mean of its range (1.4, 2.8, 5.6, 11.2, 22.4, 45 mm); TD2 = 1.32 Td2.
        # Last: es, Td, Td2, TD2 as the standard prints them, rounded to preferred numbers (from memory)
        ("M2", 19.4, 92.74, 66.79, 88.17, (19, 95, 67, 90)),
        ("M3", 20.5, 108.94, 78.27, 103.32, (20, 106, 75, 100)),
        ("M5", 23.8, 151.60, 94.46, 124.69, (24, 150, 95, 125)),
        ("M6", 26.0, 176.85, 110.69, 146.11, (26, 180, 112, 150)),
        ("M8", 28.75, 206.05, 121.03, 159.75, (28, 212, 118, 160)),
        ("M16", 37.0, 283.50, 156.54, 206.63, (38, 280, 160, 212)),
        ("M20", 42.5, 329.57, 171.16, 225.93, (42, 335, 170, 224)),
        ("M24", 48.0, 372.60, 197.36, 260.52, (48, 375, 200, 265)),
    ],
)
def test_metric_tolerances_follow_the_standard(
    name: str, allowance: float, major: float, external: float, internal: float, table: tuple[float, ...]
) -> None:
    thread = parse_thread(name)
    x = thread_extremes(thread)
    middle = thread.major - 0.649519 * thread.pitch
    found = (
        1000 * (thread.major - x.external_major) - allowance,
        1000 * (middle - x.external_pitch) - allowance,
        1000 * (x.internal_pitch - middle),
    )
    assert found == pytest.approx((major, external, internal), abs=0.02)
    assert (allowance, *found) == pytest.approx(table, rel=0.065)
