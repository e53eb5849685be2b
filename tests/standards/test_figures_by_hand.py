"""Figures of the look-ups worked out on paper, each decision at its last value and at the next."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from holecam.errors import InputError
from holecam.standards.blind_holes import (
    BlindHole,
    DeepestHole,
    below_thread,
    blind_hole,
    deepest_hole,
    has_male_centre,
    point_length,
)
from holecam.standards.bonding_layers import bonding_layer, mean_gap_from_mass, mean_gap_from_wire
from holecam.standards.cautions import material_tags
from holecam.standards.cutting_data import chip_load, cutting_start, drill_feed, spindle_rpm, surface_speeds
from holecam.standards.drill_oversize import drill_oversize
from holecam.standards.drills import (
    largest_at_most,
    nearest,
    next_larger,
    next_smaller,
    owned_drills,
    smallest_at_least,
)
from holecam.standards.instruments import instrument, resolution_uncertainty
from holecam.standards.materials import material
from holecam.standards.milling_depths import milling_depths, wood_chip_factor
from holecam.standards.minor_limits import MinorLimits, minor_limits, unified_minor_tolerance_in
from holecam.standards.names import find_by_name, nearest_names
from holecam.standards.spacing_limits import spacing_limit, spacing_terms
from holecam.standards.table import rows
from holecam.standards.thread_engagement import usual_engagement
from holecam.standards.thread_names import parse_thread
from holecam.standards.thread_percent import ceiling_percent, checked_length, stated_target
from holecam.standards.thread_strength import (
    external_shear_area,
    internal_shear_area,
    least_engagement,
    tensile_stress_area,
    thread_extremes,
)
from holecam.standards.threads import free_thread, hole_for_percent, thread_percent
from holecam.standards.touch_off import touch_off

M6 = parse_thread("M6")
NO_LENGTHS = (0.0, -1.0, math.nan, math.inf)


def refused(make: Callable[[], object], says: str) -> None:
    with pytest.raises(InputError, match=says):
        make()


def test_points_of_drills() -> None:
    """d / 2 / tan(half the angle): 5 / tan 15, 5 / tan 45, flat."""
    assert point_length(10.0, point_deg=30.0) == pytest.approx(18.660254)
    assert point_length(10.0, point_deg=90.0) == pytest.approx(5.0)
    assert point_length(10.0, point_deg=180.0) == 0.0
    assert point_length(0.5) == pytest.approx(0.25 / 1.6642795)
    for angle in (29.99, 180.01, math.nan):
        refused(lambda a=angle: point_length(10.0, point_deg=a), "included angle of 30 to 180")
    for size in NO_LENGTHS:
        refused(lambda d=size: point_length(d), "expected a positive diameter")


def test_room_under_a_thread() -> None:
    """M6: a lead of 2 and a room of 1.5 pitches are 3.5 mm; a male centre is 3 mm, room for chips 6 mm."""
    for centre, chips, length in ((False, False, 3.5), (True, False, 6.5), (False, True, 9.5), (True, True, 12.5)):
        found = below_thread(M6, lead_pitches=2, clearance_pitches=1.5, male_centre=centre, chips_stay=chips)
        assert found == pytest.approx(length)
    assert below_thread(M6, lead_pitches=2) == pytest.approx(3.0)
    assert below_thread(M6, lead_pitches=0, clearance_pitches=0) == 0.0
    for wrong in (-0.1, math.nan, math.inf):
        refused(lambda w=wrong: below_thread(M6, lead_pitches=w), "lead_pitches")
        refused(lambda w=wrong: below_thread(M6, lead_pitches=1, clearance_pitches=w), "clearance_pitches")
    for name, with_centre in (("3/8-16", True), ("7/16-14", False), ("M10", False), ("M8", True)):
        assert has_male_centre(parse_thread(name), male_centre_d=0.5) is with_centre
        assert has_male_centre(parse_thread(name), male_centre_d=0.0) is False


def test_blind_holes() -> None:
    """M6, 9 mm of thread over 3 mm of room, a drill of 5 mm with a point of 90 degrees: 12 mm, 14.5 mm to the tip."""
    assert blind_hole(M6, full_thread=9, drill=5, below=3, point_deg=90, thickness=20) == BlindHole(
        9, 9.0, 12, pytest.approx(14.5), pytest.approx(5.5)
    )
    assert blind_hole(M6, full_thread=9, drill=5, below=0, point_deg=90) == BlindHole(
        9, 9.0, 9, pytest.approx(11.5), None
    )
    through = blind_hole(parse_thread("M4"), full_thread=7, drill=5, below=3, point_deg=90, thickness=10)
    assert (through.threads, through.bottom) == (pytest.approx(10.0), pytest.approx(-2.5))
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: blind_hole(M6, full_thread=w, drill=5, below=3), "full thread")
        refused(lambda w=wrong: blind_hole(M6, full_thread=9, drill=5, below=3, thickness=w), "thickness")
    for wrong in (-1e-3, math.nan, math.inf):
        refused(lambda w=wrong: blind_hole(M6, full_thread=9, drill=5, below=w), "length below the thread")


def test_the_deepest_hole() -> None:
    def deepest(thickness: float, bottom: float, below: float = 3.0) -> DeepestHole:
        return deepest_hole(M6, thickness=thickness, bottom=bottom, drill=5, below=below, point_deg=90)

    assert deepest(10, 2) == DeepestHole(8, pytest.approx(5.5), pytest.approx(2.5), pytest.approx(2.5), "")
    assert deepest(10, 0) == DeepestHole(10, pytest.approx(7.5), pytest.approx(4.5), pytest.approx(4.5), "")
    short = deepest(10, 5)
    assert (short.cylinder, short.full_thread, short.threads) == (pytest.approx(2.5), 0.0, 0.0)
    assert short.why_none == "the cylinder is 2.5 mm deep, the tap takes 3 mm below its last full thread"
    point = deepest(10, 8)
    assert (point.tip, point.cylinder, point.full_thread) == (2, 0.0, 0.0)
    assert point.why_none == "the point of the drill alone is 2.5 mm long, 2 mm may be drilled"
    assert deepest(10, 2, below=0.0).full_thread == pytest.approx(5.5)
    four = deepest_hole(parse_thread("M4"), thickness=10, bottom=2, drill=5, below=2.0, point_deg=90)
    assert (four.full_thread, four.threads) == (pytest.approx(3.5), pytest.approx(5.0))
    refused(lambda: deepest(10, 10), "there is nothing to drill")
    refused(lambda: deepest(10, -0.1), "bottom")
    refused(lambda: deepest(0, 0), "thickness")
    refused(lambda: deepest(10, 1, below=-1.0), "length below the thread")


def test_limits_of_the_minor_diameter_by_their_formulas() -> None:
    """ASME B1.1: each of the four ways, and the bounds between them, worked out on paper in inches."""
    for size, pitch, tolerance in (
        (0.06, 1 / 80, 0.394 / 80), (0.19, 1 / 24, 0.05 * 0.1201875 + 0.03 / 24 / 0.19 - 0.002),
        (0.2499, 0.0125, 0.003125 - 0.0000625),
        (0.25, 0.05, 0.0125 - 0.001), (0.25, 0.0125, 0.003125 - 0.0000625),
        (1.0, 0.25, 0.0625 - 0.025), (1.0, 0.3, 0.045),
        (0.2, 0.05, 0.05 * 0.1357209 + 0.0075 - 0.002),
    ):  # fmt: skip
        assert unified_minor_tolerance_in(major_in=size, pitch_in=pitch) == pytest.approx(tolerance, rel=2e-6)
    # BS 84: a fifth of the pitch and 0.004, 0.005 or 0.007 in by 26, 24 and 22, and 20 threads an inch
    for name, n, constant in (
        ("1/4 BSF", 26, 0.004), ("3/16 BSW", 24, 0.005), ("5/16 BSF", 22, 0.005), ("1/4 BSW", 20, 0.007),
        ("3/16 x 32 ME", 32, 0.004), ("3/16 x 40 ME", 40, 0.004), ("1/4 x 25 tpi whitworth", 25, 0.005),
        ("1/4 x 21 tpi whitworth", 21, 0.007),
    ):  # fmt: skip
        limits = minor_limits(parse_thread(name))
        assert limits is not None
        assert limits.largest - limits.smallest == pytest.approx((0.2 / n + constant) * 25.4)
        assert ("carried over" in limits.source) is not name.endswith(("BSW", "BSF"))
    two = minor_limits(parse_thread("2 BA"))
    assert two is not None
    assert (two.smallest, two.largest) == (pytest.approx(4.7 - 1.2 * 0.81), pytest.approx(4.7 - 0.825 * 0.81))
    assert minor_limits(parse_thread("0.3 in x 36 tpi 47.5 deg")) is None
    # Tables of ASME B1.1 have four decimals below #6 and three from there on; ISO 965-2 has three
    for name, ends in (("5-40", (0.0979, 0.1062)), ("6-32", (0.104, 0.114)), ("5-44", (0.1004, 0.1079))):
        limits = minor_limits(parse_thread(name))
        assert limits is not None
        assert (limits.smallest / 25.4, limits.largest / 25.4) == pytest.approx(ends, abs=1e-9)
    assert minor_limits(parse_thread("M6")) == MinorLimits(
        4.917, pytest.approx(5.153), "6H", "ISO 965-1 Table 3 (from memory)"
    )


def test_ends_of_limits_are_inside() -> None:
    limits = MinorLimits(2.0, 3.0, "6H", "")
    for size, inside in (
        (2.0, True), (3.0, True), (2.0 - 5e-10, True), (3.0 + 5e-10, True), (2.0 - 2e-9, False), (3.0 + 2e-9, False),
        (2.5, True), (1.0, False), (4.0, False),
    ):  # fmt: skip
        assert limits.holds(size) is inside


def test_shares_of_thread() -> None:
    """M6: 100 percent is 2 x 0.649519 mm on the diameter; a forming tap's is 100 / 147.06 mm."""
    assert thread_percent(M6, 5.0) == pytest.approx(100 / 1.299038, rel=1e-6)
    assert thread_percent(M6, 5.5, formed=True) == pytest.approx(0.5 * 147.06)
    assert hole_for_percent(M6, 75.0) == pytest.approx(6 - 0.75 * 1.299038, abs=1e-6)
    assert hole_for_percent(M6, 100.0, formed=True) == pytest.approx(6 - 100 / 147.06)
    for wrong in (0.0, -1.0, 100.1, math.nan):
        refused(lambda w=wrong: hole_for_percent(M6, w), "more than 0 and at most 100")
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: thread_percent(M6, w), "expected a positive diameter")
    refused(lambda: thread_percent(M6, 6.0), "not below the major diameter of M6")
    assert thread_percent(M6, 5.999) > 0
    assert [stated_target(p).percent for p in (20, 100)] == [20, 100]
    for wrong in (19.9, 100.1):
        refused(lambda w=wrong: stated_target(w), "expected 20 to 100")
    assert [ceiling_percent(parse_thread(n), formed=False) for n in ("M6", "1/4-20", "1/4 BSW", "2 BA")] == [
        83,
        83,
        90,
        90,
    ]
    assert ceiling_percent(parse_thread("1/4 BSW"), formed=True) == 80
    assert checked_length(0.1, "it") == 0.1
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: checked_length(w, "it"), "expected a positive length")


def test_strength_of_threads() -> None:
    """M6: pi/4 (6 - 0.938194)^2; shear areas by the formulas of FED-STD-H28/2 from the sizes of the classes."""
    assert tensile_stress_area(M6) == pytest.approx(math.pi / 4 * 5.061806**2)
    x = thread_extremes(M6)
    # 6g: es 26, Td 180 - 3.15 = 176.85, Td2 90 x (mean of 5.6 and 11.2)^0.1 micrometres
    mean = math.sqrt(5.6 * 11.2) ** 0.1
    assert x.external_major == pytest.approx(6 - 0.026 - 0.17685)
    assert x.external_pitch == pytest.approx(5.350481 - 0.026 - 0.09 * mean, abs=1e-6)
    assert x.internal_pitch == pytest.approx(5.350481 + 0.09 * 1.32 * mean, abs=1e-6)
    assert x.internal_minor == pytest.approx(5.153)
    assert thread_extremes(M6, minor=5.0).internal_minor == 5.0
    screw = math.pi * 2 * x.internal_minor * (0.5 + 0.57735027 * (x.external_pitch - x.internal_minor))
    hole = math.pi * 2 * x.external_major * (0.5 + 0.57735027 * (x.external_major - x.internal_pitch))
    assert external_shear_area(M6, 2.0) == pytest.approx(screw, rel=1e-6)
    assert internal_shear_area(M6, 2.0) == pytest.approx(hole, rel=1e-6)
    eight = parse_thread("M8")
    y = thread_extremes(eight)
    mean8 = 0.09 * 1.25**0.4 * mean
    assert y.external_major == pytest.approx(8 - 0.02875 - (180 * 1.1603972 - 3.15 / 1.1180340) / 1000)
    assert y.external_pitch == pytest.approx(8 - 0.81189875 - 0.02875 - mean8, abs=1e-6)
    assert y.internal_pitch == pytest.approx(8 - 0.81189875 + 1.32 * mean8, abs=1e-6)
    assert external_shear_area(eight, 5.0) == pytest.approx(
        math.pi * 5 / 1.25 * y.internal_minor * (0.625 + 0.57735027 * (y.external_pitch - y.internal_minor)), rel=1e-6
    )
    assert internal_shear_area(eight, 5.0) == pytest.approx(
        math.pi * 5 / 1.25 * y.external_major * (0.625 + 0.57735027 * (y.external_major - y.internal_pitch)), rel=1e-6
    )
    assert thread_percent(eight, 7.0) == pytest.approx(100 / 1.6237976, rel=1e-6)
    assert thread_percent(eight, 7.5, formed=True) == pytest.approx(0.5 * 147.06 / 1.25)
    assert hole_for_percent(eight, 50.0) == pytest.approx(8 - 0.5 * 1.6237976, abs=1e-6)
    assert below_thread(eight, lead_pitches=2, clearance_pitches=1, male_centre=True) == pytest.approx(3.75 + 4)
    strong = least_engagement(M6, screw_mpa=400, hole_mpa=800)
    assert strong.length == strong.equal_materials == pytest.approx(4 * tensile_stress_area(M6) / screw, rel=1e-6)
    assert strong.weakness == pytest.approx(screw * 400 / (hole * 800), rel=1e-6)
    soft = least_engagement(M6, screw_mpa=800, hole_mpa=200)
    assert soft.length == pytest.approx(soft.equal_materials * screw * 4 / hole, rel=1e-6)
    assert (soft.diameters, soft.threads) == (pytest.approx(soft.length / 6), pytest.approx(soft.length))
    # Basic sizes where no class is known, and a tenth more
    basic = least_engagement(parse_thread("2 BA"), screw_mpa=400, hole_mpa=4000)
    assert basic.length == pytest.approx(1.1 * basic.equal_materials)
    assert basic.note.endswith("basic sizes, and 10% more length")
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: external_shear_area(M6, w), "engagement")
        refused(lambda w=wrong: least_engagement(M6, screw_mpa=w, hole_mpa=1), "screw strength")
        refused(lambda w=wrong: least_engagement(M6, screw_mpa=1, hole_mpa=w), "hole strength")
    for wrong in (0.0, 6.0, -1.0):
        refused(lambda w=wrong: thread_extremes(M6, minor=w), "expected a diameter below 6 mm")
    assert external_shear_area(parse_thread("M1"), 1.0, minor=0.999) == 0.0
    refused(
        lambda: least_engagement(parse_thread("M1"), screw_mpa=1, hole_mpa=1, minor=0.999), "no thread is left to bear"
    )


def test_metric_ranges_of_diameter() -> None:
    """A size at the end of a range belongs to it: 5.6 mm to the one from 2.8, 5.61 mm to the one from 5.6."""
    form, quarter = M6.form, M6.pitch_size / 2
    steps = (0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0, 355.0)  # ISO 965-1 (from memory)
    ends = [(round(100 * high) + more, k + (more > 0)) for k, high in enumerate(steps[1:9]) for more in (0, 1)]
    for size, k in ends:
        low, high = steps[k], steps[k + 1]
        pitch = quarter / 2 if size < 200 else quarter
        thread = free_thread(size=M6.size * size / 600, pitch_size=pitch, unit="mm", form=form)
        tolerance = 0.09 * float(pitch) ** 0.4 * math.sqrt(low * high) ** 0.1
        basic = size / 100 - 0.649519 * float(pitch)
        assert thread_extremes(thread).internal_pitch == pytest.approx(basic + 1.32 * tolerance, abs=1e-6)


def test_sizes_of_free_threads() -> None:
    form = M6.form
    one = M6.size / 6
    assert free_thread(size=one * 200, pitch_size=one, unit="mm", form=form).name == "200 x 1 mm 60 deg"
    refused(lambda: free_thread(size=one * 201, pitch_size=one, unit="mm", form=form), "at most 200 mm")
    refused(lambda: free_thread(size=0 * one, pitch_size=one, unit="mm", form=form), "more than 0")
    refused(
        lambda: free_thread(size=one * 9, pitch_size=0 * one, unit="mm", form=form), "pitch 0 mm: expected more than 0"
    )
    # 1.0825 P must stay below 0.7 D: 1.55 P for a diameter of P
    assert free_thread(size=one * 31 / 20, pitch_size=one, unit="mm", form=form).major == 1.55
    refused(lambda: free_thread(size=one * 154 / 100, pitch_size=one, unit="mm", form=form), "hardly any core")


def test_spacing_terms() -> None:
    """Of two terms as large the first is told; a size of nothing is a size; the class goes before the general rows."""
    equal = spacing_limit("web", "stop", diameter=4.0)
    assert equal is not None
    assert (equal.value, equal.reason) == (1.0, "0.25 x diameter")
    for diameter, value, reason in ((3.9, 1.0, "1 mm"), (4.1, 1.025, "0.25 x diameter"), (0.0, 1.0, "1 mm")):
        limit = spacing_limit("web", "stop", diameter=diameter)
        assert limit is not None
        assert (limit.value, limit.reason) == (pytest.approx(value), reason)
    sheet = spacing_limit("web", "stop", material_class="soft-sheet", diameter=9.0, thickness=1.5)
    assert sheet is not None
    assert (sheet.value, sheet.reason) == (1.5, "1 x thickness")
    assert spacing_limit("web", "stop", material_class="soft-sheet", diameter=9.0) is None
    pitch = spacing_limit("edge-metal", "stop", pitch=0.7, diameter=99.0)
    assert pitch is not None
    assert pitch.value == 0.7
    assert spacing_terms("head-clearance", "comfortable") == ()
    for wrong in (-0.1, math.nan, math.inf):
        for name in ("diameter", "pitch", "thickness"):
            refused(lambda n=name, w=wrong: spacing_limit("web", "stop", **{n: w}), name)
    refused(lambda: spacing_terms("webs", "stop"), 'spacing rule "webs" is not known')
    refused(lambda: spacing_terms("web", "halt"), 'level "halt"')


def test_depths_and_chips() -> None:
    assert [wood_chip_factor(depth=d, diameter=6.0) for d in (1.0, 6.0, 6.01, 12.0, 12.01, 90.0)] == [
        1,
        1,
        0.75,
        0.75,
        0.5,
        0.5,
    ]
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: wood_chip_factor(depth=w, diameter=6.0), "depth")
        refused(lambda w=wrong: wood_chip_factor(depth=6.0, diameter=w), "diameter")
        refused(lambda w=wrong: milling_depths(material("brass"), diameter=w), "positive diameter")
        refused(lambda w=wrong: spindle_rpm(surface_speed=w, diameter=1.0), "surface speed")
    assert spindle_rpm(surface_speed=math.pi, diameter=10.0) == pytest.approx(100.0)


def test_ends_of_the_spindle() -> None:
    """Drilling mild steel at 6 mm: 34 m/min are 1803.76 rpm."""

    def start(slowest: float | None, fastest: float | None) -> tuple[int, str, int]:
        made = cutting_start(material("mild steel"), "drill", diameter=6.0, slowest_rpm=slowest, fastest_rpm=fastest)
        assert made.wanted_rpm == pytest.approx(34000 / math.pi / 6)
        return made.rpm, made.bound, len(made.notes)

    wanted = 34000 / math.pi / 6
    for slowest, fastest, told in (
        (None, None, (1803, "", 1)), (None, 1800.7, (1800, "fastest", 2)), (None, wanted, (1803, "", 1)),
        (100.0, 1803.9, (1803, "", 1)), (1803.9, None, (1804, "slowest", 2)), (wanted, None, (1803, "", 1)),
        (2254.0, None, (2254, "slowest", 2)), (2255.0, None, (2255, "slowest", 3)), (500.0, 500.0, (500, "fastest", 2)),
        (None, 0.5, (1, "fastest", 2)),
    ):  # fmt: skip
        assert start(slowest, fastest) == told
    refused(lambda: start(501.0, 500.0), "slowest 501 rpm is above fastest 500 rpm")
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: start(w, None), "slowest spindle speed")
        refused(lambda w=wrong: start(None, w), "fastest spindle speed")


def test_layers_instruments_and_touches() -> None:
    """100 mm of 2 mm wire are 314.16 mm3; 8.4 g at 8.4 g/cm3 are 1000 mm3."""
    assert mean_gap_from_wire(wire_length=100, wire_diameter=2, joint_area=100 * math.pi) == pytest.approx(1.0)
    assert mean_gap_from_mass(mass_g=8.4, density_g_cm3=8.4, joint_area=500.0) == pytest.approx(2.0)
    assert bonding_layer("solder").standard_uncertainty == pytest.approx(0.1 / 1.7320508)
    for wrong in NO_LENGTHS:
        for k in range(3):
            sizes = [1.0, 1.0, 1.0]
            sizes[k] = wrong
            refused(
                lambda s=sizes: mean_gap_from_wire(wire_length=s[0], wire_diameter=s[1], joint_area=s[2]),
                "positive size",
            )
            refused(
                lambda s=sizes: mean_gap_from_mass(mass_g=s[0], density_g_cm3=s[1], joint_area=s[2]), "positive size"
            )
    rule = instrument("steel rule class II")
    for length, width in ((0.0, 0.3), (0.1, 0.5), (1000.0, 0.5), (1000.1, 0.7), (2000.0, 0.7)):
        assert rule.half_width_at(length) == pytest.approx(width)
        assert rule.half_width_at(length, from_end=True) == pytest.approx(width + 0.2)
        assert rule.standard_uncertainty(length, from_end=True) == pytest.approx((width + 0.2) / 1.7320508)
    assert rule.half_width_at() == 0.3
    assert rule.standard_uncertainty() == pytest.approx(0.3 / 1.7320508)
    assert resolution_uncertainty(0.01) == pytest.approx(0.0028867513)
    level = instrument("digital level")
    assert level.standard_uncertainty_deg() == pytest.approx(0.2 / 1.7320508)
    assert (level.measures_angles, rule.measures_angles) == (True, False)
    refused(level.half_width_at, "measures angles, not lengths")
    refused(rule.standard_uncertainty_deg, "measures lengths, not angles")
    paper, block = touch_off("paper"), touch_off("setter block")
    assert (paper.offset_with(None), paper.offset_with(0.1), paper.offset_with(0.0)) == (0.09, 0.1, 0.0)
    assert block.offset_with(25.0) == 25.0
    refused(lambda: block.offset_with(None), "state its height")
    for wrong in (-0.1, math.nan, math.inf):
        refused(lambda w=wrong: paper.offset_with(w), "touch-off height")
        refused(lambda w=wrong: rule.half_width_at(w), "length")
    assert touch_off("ink").offset == -0.0025
    assert (touch_off("continuity").on_thin_sheet, paper.on_thin_sheet) == (True, False)


def test_tags_of_materials() -> None:
    assert material_tags(material("brass")) == ("brass",)
    assert material_tags(material("copper"), thickness=2.0) == ("copper", "thin-sheet")
    assert material_tags(material("copper"), thickness=2.001) == ("copper",)
    assert "thin-sheet" not in material_tags(material("hardwood"), thickness=1.0)


def test_names_shown_and_near() -> None:
    class Row:
        def __init__(self, name: str, *aliases: str) -> None:
            self.name, self.aliases = name, aliases

    known = (Row("red brass", "gilding metal"), Row("brass", "yellow"), Row("steel", "yellow", "metal"))
    assert find_by_name("Brass, red", known, what="it") is known[0]
    assert find_by_name("metal gilding", known, what="it") is known[0]
    assert find_by_name("metal", known, what="it") is known[2]
    refused(
        lambda: find_by_name("yellow", known, what="it"),
        'it "yellow" can mean more than one thing. Write one of: brass, steel',
    )
    refused(lambda: find_by_name("zzz", known, what="it"), 'it "zzz" is not known. Known: red brass, brass, steel')
    refused(lambda: find_by_name("bras", known, what="it"), "Did you mean brass")
    refused(lambda: find_by_name("?" * 60, known, what="it"), r'it "\?{60}" is not known')
    refused(lambda: find_by_name("?" * 61, known, what="it"), r'it "\?{60}\.\.\." is not known')
    assert nearest_names("bras", ["brass", "grass", "glass", "steel"]) == ["brass", "grass"]
    assert nearest_names("brass", ["brass", "brasss", "brassss", "brasssss"], most=2) == ["brass", "brasss"]
    assert len(nearest_names("brass", ["brass", "brasss", "brassss", "brasssss"])) == 3


def test_a_family_that_no_table_has_is_refused() -> None:
    gold = material("copper")._replace(name="gold", family="gold")
    refused(lambda: chip_load(gold, 6.0), "no chip load is known for gold")
    refused(lambda: surface_speeds(gold, "drill"), "no cutting speed is known for gold")
    refused(lambda: milling_depths(gold, diameter=6.0), "no milling depths are known for gold")
    refused(lambda: usual_engagement(M6, gold), "no usual engagement is known for gold")
    for wrong in NO_LENGTHS:
        refused(lambda w=wrong: chip_load(material("brass"), w), "diameter")
        refused(lambda w=wrong: drill_feed(w), "diameter")
    refused(lambda: cutting_start(material("brass"), "tap", diameter=6.0), "state the thread")
    refused(lambda: cutting_start(material("brass"), "mill", diameter=6.0, teeth=0), "teeth 0: expected 1 or more")
    assert cutting_start(material("brass"), "mill", diameter=6.0, teeth=1).feed_per_turn == pytest.approx(0.05)
    refused(
        lambda: cutting_start(material("brass"), "mill", diameter=6.0, tool_material="wood"), 'tool material "wood"'
    )
    fast = cutting_start(material("brass"), "drill", diameter=6.0, tool_material="Solid Carbide")
    assert fast.surface_speed == pytest.approx(2 * 61)


def test_the_class_of_a_rule_without_rows_of_its_own_is_the_general_one() -> None:
    for rule, level in (("edge-distance", "comfortable"), ("web", "stop"), ("web", "comfortable")):
        for kind in ("general", "steel"):
            assert {t.material_class for t in spacing_terms(rule, level, material_class=kind)} == {"general"}
    assert [t.factor for t in spacing_terms("edge-distance", "comfortable", material_class="aluminium")] == [2.5]
    assert spacing_terms("hole-spacing", "caution", material_class="sheet") == ()


def test_oversize_of_drills_and_where_it_comes_from() -> None:
    """Up to a row's size its figure; above the last row that row stands; both sources are told."""
    quarter = drill_oversize(6.35)
    assert drill_oversize(6.35 + 5e-10) == quarter
    assert drill_oversize(6.3501).usual > quarter.usual
    assert drill_oversize(99.0) == drill_oversize(25.4)
    usual, _, tolerance = quarter.source.rpartition("; ")
    table = rows("drill_oversize")
    assert usual in {row["source"] for row in table if row["amount"] == "usual"}
    assert tolerance in {row["source"] for row in table if row["amount"] == "most"}


def test_feeds_of_drills_above_the_last_row() -> None:
    last = rows("drill_feeds")[-1]
    assert drill_feed(1e6) == (float(last["low_mm_rev"]), float(last["high_mm_rev"]), last["source"])
    first = rows("drill_feeds")[0]
    edge = float(first["drill_to_mm"])
    assert drill_feed(edge) == drill_feed(edge + 5e-10) == drill_feed(0.01)
    assert drill_feed(edge + 2e-9) != drill_feed(edge)


def test_of_drills_of_one_size_alone_the_first_is_named() -> None:
    """Letter E and 1/4 in, and nothing else."""
    both = owned_drills(["E", "1/4"])
    size = both[0].exact_diameter
    assert [d.name for d in both] == ["E", "1/4 in"]
    for found in (
        largest_at_most(size, both),
        smallest_at_least(size, both),
        nearest(size, both),
        nearest(size * 2, both),
    ):
        assert found is both[0]
    assert next_smaller(size, both) is next_larger(size, both) is None
    assert nearest(size, ()) is None
    pair = owned_drills(["5 mm", "6 mm"])
    assert [nearest(size, pair) for size in (pair[0].size, pair[0].size + (pair[1].size - pair[0].size) / 2)] == [
        pair[0]
    ] * 2
    assert nearest(pair[1].size * 51 / 60 + pair[0].size * 9 / 60, pair) is pair[1]
