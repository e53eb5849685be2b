"""Thread tables against their formulas, minor diameter limits against published ones."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from holecam.errors import InputError
from holecam.standards.minor_limits import (
    minor_limits,
    no_limits_reason,
    unified_minor_tolerance_in,
)
from holecam.standards.table import rows
from holecam.standards.thread_forms import ThreadForm, all_forms, thread_form
from holecam.standards.thread_names import parse_thread
from holecam.standards.threads import (
    FREE,
    Thread,
    all_threads,
    free_thread,
    hole_for_percent,
    thread_percent,
)


def series(name: str) -> list[Thread]:
    return [t for t in all_threads() if t.series == name]


@pytest.mark.outside_check(
    subject=(
        "minor diameter, 60 degrees",
        "Whitworth form",
        "stress area, inch",
        "stress area, metric",
        "table thread_forms",
    ),
    source="the triangle H = P/2 cot(half angle), shares by ISO 68-1, ASME B1.1, BS 84, BS 93, ISO 898-1",
    closeness="1e-6 of a pitch; stress constant 1e-4",
    standing="memory",
)
@pytest.mark.parametrize("form", all_forms(), ids=lambda f: f.name)
def test_form_constants_follow_from_the_angle(form: ThreadForm) -> None:
    """ISO 68-1, ASME B1.1: H = P/2 cot(30 deg), minor 5/4 H, stress 13/12 H or 0.9743; BS 84: 2/3 H; BS 93: 0.6 P."""
    half = math.radians(form.angle_deg / 2)
    H = 0.5 / math.tan(half)
    assert form.shear_shape == pytest.approx(math.tan(half), abs=1e-6)
    if form.angle_deg == 60:
        assert form.depth == pytest.approx(0.75 * H, abs=1e-6)
        assert form.minor == pytest.approx(1.25 * H, abs=1e-6)
    elif form.name == "whitworth":
        assert form.depth == pytest.approx(2 / 3 * H, abs=1e-6)
        assert form.minor == pytest.approx(2 * form.depth, abs=1e-6)
    else:
        assert form.depth == 0.6
        assert form.minor == 1.2
    expected_stress = {
        "unified": 9 * math.sqrt(3) / 16,  # FED-STD-H28/2B Table II.B.1 (1b): D - 9 sqrt(3)/(16 n)
        "metric": 13 / 12 * H,  # ISO 898-1: mean of d2 = d - 3/4 H and d3 = d1 - H/6
        "whitworth": 1.5 * form.depth,  # mean of pitch and minor diameters
        "ba": 1.5 * form.depth,
    }[form.name]
    assert form.stress == pytest.approx(expected_stress, abs=1e-4)


def test_names_are_unique_and_series_run_upward() -> None:
    assert len({t.name for t in all_threads()}) == len(all_threads())
    for name in {t.series for t in all_threads()}:
        sizes = [t.size for t in series(name)]
        assert sizes == sorted(sizes) or name == "BA"
    assert [t.size for t in series("BA")] == sorted((t.size for t in series("BA")), reverse=True)


def test_nothing_that_the_tables_promise_is_missing() -> None:
    assert [t.nominal for t in series("BA")] == [f"{n} BA" for n in range(17)]
    assert series("UNC")[0].nominal == "#1"
    assert series("UNF")[0].nominal == "#0"
    for name in ("UNC", "UNF", "UNEF", "BSW", "BSF"):
        assert series(name)[-1].nominal == "1"
    for name in ("metric coarse", "metric fine"):
        assert series(name)[0].nominal == "M1"
        assert series(name)[-1].nominal == "M24"


@pytest.mark.outside_check(
    subject="table threads",
    source="ASME B1.1: diameter 0.060 + 0.013 n inch",
    closeness="exact",
    standing="memory",
)
@pytest.mark.parametrize("thread", [t for t in all_threads() if t.nominal.startswith("#")], ids=lambda t: t.name)
def test_number_sizes_follow_their_formula(thread: Thread) -> None:
    """ASME B1.1: diameter 0.060 + 0.013 n inch."""
    assert thread.size == Fraction(60 + 13 * int(thread.nominal[1:]), 1000)


@pytest.mark.parametrize("thread", [t for t in all_threads() if "/" in t.nominal], ids=lambda t: t.name)
def test_fraction_sizes_are_what_they_are_called(thread: Thread) -> None:
    assert thread.size == Fraction(thread.nominal)


@pytest.mark.outside_check(
    subject=("BA form", "table threads"),
    source="BS 93: P = 0.9^n, D = 6 P^1.2, both to two figures",
    closeness="half of the last figure",
    standing="memory",
)
@pytest.mark.parametrize("thread", series("BA"), ids=lambda t: t.name)
def test_ba_follows_its_formulas(thread: Thread) -> None:
    """BS 93: P = 0.9^n to two figures, D = 6 P^1.2 to two figures."""
    n = int(thread.nominal.split()[0])
    assert float(thread.pitch_size) == pytest.approx(0.9**n, abs=0.0051)
    two_figures = 0.0505 if n <= 14 else 0.0051
    assert float(thread.size) == pytest.approx(6 * (0.9**n) ** 1.2, abs=two_figures)


BA_CORE_IN = [0.1890, 0.1661, 0.1468, 0.1269, 0.1106, 0.0981, 0.0852, 0.0758, 0.0663, 0.0564, 0.0504]
"""Core diameters of BA screws 0 to 10 in inches, from memory of workshop tables."""


@pytest.mark.outside_check(
    subject=("BA form", "table threads"),
    source="workshop tables: core diameters of 0 to 10 BA in inches",
    closeness="0.00006 in",
    standing="memory",
)
@pytest.mark.parametrize(("thread", "core"), list(zip(series("BA")[:11], BA_CORE_IN, strict=True)), ids=str)
def test_ba_core_diameters(thread: Thread, core: float) -> None:
    assert thread.basic_minor / 25.4 == pytest.approx(core, abs=0.00006)


@pytest.mark.outside_check(
    subject=("Whitworth form", "table threads"),
    source="BS 84 tables: core diameters of BSW and BSF in inches",
    closeness="0.00015 in",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "core"),
    [
        # Core diameters of BS 84 tables, inches, from memory
        ("1/8 BSW", 0.0930), ("3/16 BSW", 0.1341), ("1/4 BSW", 0.1860), ("5/16 BSW", 0.2414), ("3/8 BSW", 0.2950),
        ("7/16 BSW", 0.3461), ("1/2 BSW", 0.3932), ("9/16 BSW", 0.4557), ("5/8 BSW", 0.5085), ("3/4 BSW", 0.6220),
        ("7/8 BSW", 0.7327), ("1 BSW", 0.8400), ("3/16 BSF", 0.1475), ("7/32 BSF", 0.1730), ("1/4 BSF", 0.2007),
        ("9/32 BSF", 0.2320), ("5/16 BSF", 0.2543), ("3/8 BSF", 0.3110), ("7/16 BSF", 0.3663), ("1/2 BSF", 0.4200),
        ("9/16 BSF", 0.4825), ("5/8 BSF", 0.5335), ("3/4 BSF", 0.6433), ("1 BSF", 0.8719),
    ],
)  # fmt: skip
def test_whitworth_core_diameters(name: str, core: float) -> None:
    assert parse_thread(name).basic_minor / 25.4 == pytest.approx(core, abs=0.00015)


def test_pitches_never_grow_from_coarse_to_fine() -> None:
    for coarse_name, fine_name in (("UNC", "UNF"), ("UNF", "UNEF"), ("metric coarse", "metric fine"), ("BSW", "BSF")):
        coarse = {t.nominal: t.pitch for t in series(coarse_name)}
        for fine in series(fine_name):
            if fine.nominal in coarse:
                assert fine.pitch < coarse[fine.nominal], fine.name


# Internal minor diameter, class 2B, inches. From memory of the tables of ASME B1.1 (1989 edition and handbooks)
TABLE_2B = """
0-80 .0465 .0514, 1-64 .0561 .0623, 1-72 .0580 .0635, 2-56 .0667 .0737, 2-64 .0691 .0753, 3-48 .0764 .0845,
3-56 .0797 .0865, 4-40 .0849 .0939, 4-48 .0894 .0968, 5-40 .0979 .1062, 5-44 .1004 .1079, 6-32 .104 .114,
6-40 .111 .119, 8-32 .130 .139, 8-36 .134 .142, 10-24 .145 .156, 10-32 .156 .164, 12-24 .171 .181,
12-28 .177 .186, 12-32 .182 .190,
1/4-20 .196 .207, 1/4-28 .211 .220, 5/16-18 .252 .265, 5/16-24 .267 .277, 3/8-16 .307 .321, 3/8-24 .330 .340,
7/16-14 .360 .376, 7/16-20 .383 .395, 1/2-13 .417 .434, 1/2-20 .446 .457, 9/16-12 .472 .490, 9/16-18 .502 .515,
5/8-11 .527 .546, 5/8-18 .565 .578, 3/4-10 .642 .663, 3/4-16 .682 .696, 7/8-9 .755 .778, 7/8-14 .798 .814,
1-8 .865 .890, 1-12 .910 .928
"""


@pytest.mark.outside_check(
    subject=("limits of the minor diameter", "minor diameter, 60 degrees"),
    source="ASME B1.1 (1989 edition and handbooks): class 2B minor diameters, 40 threads",
    closeness="smallest to the last digit, largest to one",
    standing="memory",
)
@pytest.mark.parametrize("row", [r.split() for r in TABLE_2B.replace("\n", " ").split(",")], ids=lambda r: r[0])
def test_class_2b_agrees_with_the_table(row: list[str]) -> None:
    """The smallest agrees to the last digit, the largest to one: editions round the sum or its parts."""
    limits = minor_limits(parse_thread(row[0]))
    assert limits is not None
    last_digit = 10.0 ** -(len(row[1]) - 1)
    assert limits.smallest / 25.4 == pytest.approx(float(row[1]), abs=1e-9)
    assert limits.largest / 25.4 == pytest.approx(float(row[2]), abs=last_digit + 1e-9)
    assert limits.class_name == "2B"


@pytest.mark.outside_check(
    subject=("limits of the minor diameter", "minor diameter, 60 degrees"),
    source="ASME B1.1-2019 as tabulated in screw_thread_lib 0.0.6, an open library of thread strength",
    closeness="to the last digit",
    standing="published",
)
@pytest.mark.parametrize(
    ("name", "smallest", "largest"),
    [
        # ASME B1.1-2019, as tabulated in an open library of thread strength
        ("10-24", 0.145, 0.155), ("10-32", 0.156, 0.164), ("1/4-20", 0.196, 0.207), ("1/4-28", 0.211, 0.220),
        ("1/2-13", 0.417, 0.434), ("1/2-20", 0.446, 0.457), ("3/4-10", 0.642, 0.663), ("3/4-16", 0.682, 0.696),
        ("1-8", 0.865, 0.890), ("1-12", 0.910, 0.928), ("1 in x 14 tpi 60 deg", 0.923, 0.938),
    ],
)  # fmt: skip
def test_class_2b_agrees_with_the_2019_edition_to_the_last_digit(name: str, smallest: float, largest: float) -> None:
    limits = minor_limits(parse_thread(name))
    assert limits is not None
    assert (limits.smallest / 25.4, limits.largest / 25.4) == pytest.approx((smallest, largest), abs=1e-9)


@pytest.mark.outside_check(
    subject="limits of the minor diameter",
    source="ASME B1.1: tolerance of the minor diameter, 0-80 and 1/4-20",
    closeness="exact",
    standing="memory",
)
def test_tolerance_formula_is_continuous_enough_and_capped() -> None:
    """ASME B1.1: 0-80 takes the cap 0.394 P; 1/4-20 is 0.0115."""
    assert unified_minor_tolerance_in(major_in=0.060, pitch_in=1 / 80) == pytest.approx(0.394 / 80)
    assert unified_minor_tolerance_in(major_in=0.25, pitch_in=1 / 20) == pytest.approx(0.0115)
    assert unified_minor_tolerance_in(major_in=2.0, pitch_in=0.3) == pytest.approx(0.045)


@pytest.mark.outside_check(
    subject="limits of the minor diameter",
    source="ISO 965-2: 6H minor diameters, 15 threads",
    closeness="0.0006 mm",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "smallest", "largest"),
    [
        # ISO 965-2, internal minor diameter 6H, mm, from memory; M8 to M24 also as tabulated by ASME B1.13M in inches
        ("M1.6", 1.221, 1.321), ("M2", 1.567, 1.679), ("M2.5", 2.013, 2.138), ("M3", 2.459, 2.599),
        ("M4", 3.242, 3.422), ("M5", 4.134, 4.334), ("M6", 4.917, 5.153), ("M8", 6.647, 6.912), ("M8x1", 6.917, 7.153),
        ("M10", 8.376, 8.676), ("M10x1.25", 8.647, 8.912), ("M12", 10.106, 10.441), ("M16", 13.835, 14.210),
        ("M20", 17.294, 17.744), ("M24", 20.752, 21.252),
    ],
)  # fmt: skip
def test_class_6h_agrees_with_the_table(name: str, smallest: float, largest: float) -> None:
    limits = minor_limits(parse_thread(name))
    assert limits is not None
    assert (limits.smallest, limits.largest) == pytest.approx((smallest, largest), abs=0.0006)
    assert limits.class_name == "6H"


@pytest.mark.outside_check(
    subject=("limits of the minor diameter", "table metric_minor_tolerance"),
    source="ASME B1.13M as tabulated in screw_thread_lib 0.0.6",
    closeness="0.00003 in",
    standing="published",
)
@pytest.mark.parametrize(
    ("name", "smallest_in", "largest_in"),
    [("M8", 0.26169, 0.27213), ("M12", 0.39787, 0.41106), ("M20", 0.68087, 0.69858), ("M24", 0.81701, 0.83669)],
)
def test_class_6h_agrees_with_inch_values_of_an_open_library(name: str, smallest_in: float, largest_in: float) -> None:
    limits = minor_limits(parse_thread(name))
    assert limits is not None
    assert limits.smallest / 25.4 == pytest.approx(smallest_in, abs=0.00003)
    assert limits.largest / 25.4 == pytest.approx(largest_in, abs=0.00003)


@pytest.mark.outside_check(
    subject="table metric_minor_tolerance",
    source="ISO 965-1: 433 P - 190 P^1.22 and 230 P^0.7",
    closeness="4.5 percent (a step of R 40 is 6)",
    standing="memory",
)
@pytest.mark.parametrize("row", rows("metric_minor_tolerance"), ids=lambda r: r["pitch_mm"])
def test_metric_tolerances_agree_with_their_formula(row: dict[str, str]) -> None:
    """ISO 965-1: TD1(6) = 433 P - 190 P^1.22 below 1 mm, 230 P^0.7 from 1 mm, in micrometres, rounded to R 40.

    Grades 5 and 4 are 0.8 and 0.63 of grade 6. A step of R 40 is 6 percent, and the standard smooths some values.
    """
    pitch = float(row["pitch_mm"])
    grade_6 = 433 * pitch - 190 * pitch**1.22 if pitch < 1 else 230 * pitch**0.7
    factor = {"6H": 1.0, "5H": 0.8, "4H": 0.63}[row["class"]]
    assert float(row["tolerance_um"]) == pytest.approx(factor * grade_6, rel=0.045)


@pytest.mark.outside_check(
    subject="limits of the minor diameter",
    source="BS 84 nut limits, four threads",
    closeness="0.0002 in",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "smallest", "largest"),
    [
        # BS 84 nut limits in inches, medium class, from memory
        ("1/4 BSW", 0.1860, 0.2030), ("1/2 BSW", 0.3932, 0.4169), ("1/4 BSF", 0.2007, 0.2124),
        ("1/8 BSW", 0.0930, 0.1020),
    ],
)  # fmt: skip
def test_whitworth_nut_limits(name: str, smallest: float, largest: float) -> None:
    limits = minor_limits(parse_thread(name))
    assert limits is not None
    assert (limits.smallest / 25.4, limits.largest / 25.4) == pytest.approx((smallest, largest), abs=0.0002)
    assert "from memory" in limits.source


@pytest.mark.outside_check(
    subject="limits of the minor diameter",
    source="BS 93: nut of 0 BA, 4.80 to 5.175 mm",
    closeness="0.0005 mm",
    standing="memory",
)
def test_ba_nut_limits() -> None:
    """BS 93, 0 BA nut 4.80 to 5.175 mm, from memory."""
    limits = minor_limits(parse_thread("0 BA"))
    assert limits is not None
    assert (limits.smallest, limits.largest) == pytest.approx((4.80, 5.175), abs=0.0005)


def test_where_nothing_is_published_the_answer_is_not_known() -> None:
    odd = parse_thread("7 x 0.73 60 deg")
    assert minor_limits(odd) is None
    assert no_limits_reason(odd) == "no published limits of the minor diameter are known for 7 x 0.73 mm 60 deg"
    assert minor_limits(parse_thread("3 x 0.5 47.5 deg")) is None
    with pytest.raises(InputError, match="M4 has published limits"):
        no_limits_reason(parse_thread("M4"))
    carried_over = minor_limits(parse_thread("3/16 x 40 ME"))
    assert carried_over is not None
    assert "carried over" in carried_over.source


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_limits_enclose_a_usable_hole_in_every_standard_thread(thread: Thread) -> None:
    limits = minor_limits(thread)
    assert limits is not None, "every standard series has limits"
    assert 0 < limits.smallest < limits.largest < thread.major
    assert limits.holds(limits.smallest)
    assert limits.holds(limits.largest)
    assert not limits.holds(limits.smallest - 0.001)
    assert not limits.holds(limits.largest + 0.001)


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_minor_is_major_less_the_depth(thread: Thread) -> None:
    factor = {"unified": 1.082532, "metric": 1.082532, "whitworth": 1.280654, "ba": 1.2}[thread.form.name]
    assert thread.basic_minor == pytest.approx(thread.major - factor * thread.pitch, abs=1e-12)


@pytest.mark.outside_check(
    subject=("percentage of thread, cut",),
    source="tap drill charts of handbooks, 14 inch threads",
    closeness="the whole percent",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "hole_in", "percent"),
    [
        # Percentages as printed in tap drill charts of handbooks (76.98 (D - d)/P for 60 degrees), to the whole percent
        ("1/4-20", 0.201, 75), ("6-32", 0.1065, 78), ("6-32", 0.110, 69), ("4-40", 0.089, 71), ("8-32", 0.136, 69),
        ("10-24", 0.1495, 75), ("10-32", 0.159, 76), ("5-40", 0.1015, 72), ("5/16-18", 0.257, 77),
        ("3/8-16", 0.3125, 77),
        ("1/2-13", 0.421875, 78), ("2-56", 0.070, 69), ("0-80", 0.046875, 81), ("1-8", 0.875, 77),
    ],
)  # fmt: skip
def test_published_percentages(name: str, hole_in: float, percent: int) -> None:
    assert round(thread_percent(parse_thread(name), hole_in * 25.4)) == percent


@pytest.mark.outside_check(
    subject=("percentage of thread, cut",),
    source="metric tap drill charts, six threads",
    closeness="the whole percent",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "hole", "percent"),
    [
        # Metric charts: M3 2.5 and M4 3.3 and M6 5.0 each 77 percent, M8 6.8 74, M10 8.5 77
        ("M3", 2.5, 77), ("M4", 3.3, 77), ("M5", 4.2, 77), ("M6", 5.0, 77), ("M8", 6.8, 74), ("M10", 8.5, 77),
    ],
)  # fmt: skip
def test_published_percentages_metric(name: str, hole: float, percent: int) -> None:
    assert round(thread_percent(parse_thread(name), hole)) == percent


@pytest.mark.outside_check(
    subject="percentage of thread, formed",
    source="handbook form: hole = D - 0.0068 percent / threads an inch; 1/4-20 at 65 percent 0.2279 in",
    closeness="2e-6 in",
    standing="memory",
)
def test_formed_percent_is_the_handbook_form() -> None:
    """Handbook: hole = D - 0.0068 * percent / tpi; 1/4-20 at 65 percent: 0.2279 in."""
    thread = parse_thread("1/4-20")
    assert hole_for_percent(thread, 65, formed=True) / 25.4 == pytest.approx(0.250 - 0.0068 * 65 / 20, abs=2e-6)
    assert thread_percent(thread, 0.2279 * 25.4, formed=True) == pytest.approx(65, abs=0.02)
    with pytest.raises(InputError, match=r"2 BA: no published drill size for a forming tap of BA 47\.5 deg"):
        thread_percent(parse_thread("2 BA"), 4.0, formed=True)


@pytest.mark.outside_check(
    subject="percentage of thread, formed",
    source="metal only moves: what the groove displaces fills the ridges of ISO 68-1; integrals and brentq of scipy",
    closeness="full ridges at 86 to 90 percent of the rule",
    standing="mathematics",
)
@pytest.mark.parametrize("name", ["M3", "M6", "M12", "5-40", "10-32", "1/4-20", "1/2-13"])
def test_formed_ridges_are_full_where_the_metal_suffices(name: str) -> None:
    """A forming tap moves metal and takes none away, so the volume tells how high the ridges rise.

    The groove is P/8 wide at the major diameter and opens by 60 degrees. Drawn out flat, the ridges of the basic
    profile, 5/8 H = 0.541266 P deep, are full for a hole of D - 0.609 P; a ridge on the inside of a cylinder needs a
    little less. The rule calls that 86 to 90 percent: it leaves room for crests that do not close (from memory).
    """
    thread = parse_thread(name)
    pitch, outer, inner = thread.pitch, thread.major / 2, thread.major / 2 - 0.541266 * thread.pitch

    def groove(radius: float) -> float:
        return pitch / 8 + 2 * (outer - radius) * math.tan(math.radians(30))

    def metal_left_over(hole: float) -> float:
        displaced = quad(lambda r: groove(r) * math.tau * r, hole / 2, outer)[0]
        wanted = quad(lambda r: (pitch - groove(r)) * math.tau * r, inner, hole / 2)[0]
        return displaced - wanted

    hole = brentq(metal_left_over, 2 * inner, 2 * outer)
    assert 0.59 < (thread.major - hole) / pitch < 0.62
    assert 86 < thread_percent(thread, hole, formed=True) < 90


@settings(max_examples=150, deadline=None)
@given(thread=st.sampled_from(all_threads()), percent=st.floats(1, 100))
def test_percent_and_hole_are_inverse(thread: Thread, percent: float) -> None:
    assert thread_percent(thread, hole_for_percent(thread, percent)) == pytest.approx(percent, abs=1e-9)
    if thread.form.angle_deg == 60:
        hole = hole_for_percent(thread, percent, formed=True)
        assert thread_percent(thread, hole, formed=True) == pytest.approx(percent, abs=1e-9)


def test_percent_refuses_holes_and_shares_that_make_no_thread() -> None:
    thread = parse_thread("M4")
    with pytest.raises(InputError, match="hole 4 mm is not below the major diameter of M4, 4 mm: no thread"):
        thread_percent(thread, 4.0)
    with pytest.raises(InputError, match="hole nan mm: expected a positive diameter"):
        thread_percent(thread, math.nan)
    with pytest.raises(InputError, match="percent of thread 0: expected more than 0"):
        hole_for_percent(thread, 0)
    with pytest.raises(InputError, match="percent of thread nan"):
        hole_for_percent(thread, math.nan)


def test_a_free_thread_keeps_what_it_was_given() -> None:
    thread = free_thread(size=Fraction(1, 4), pitch_size=Fraction(1, 36), unit="in", form=thread_form("whitworth"))
    assert thread.series == FREE
    assert (thread.major, thread.tpi) == pytest.approx((6.35, 36))
    assert thread.name == "1/4 x 36 tpi whitworth"
    assert thread.pitch_text == "36 tpi"


@pytest.mark.parametrize(
    ("size", "pitch", "message"),
    [
        (Fraction(0), Fraction(1), "thread diameter 0 mm: expected more than 0"),
        (Fraction(300), Fraction(1), "thread diameter 300 mm"),
        (Fraction(5), Fraction(0), "thread pitch 0 mm: expected more than 0"),
        (Fraction(5), Fraction(4), "the pitch is too coarse"),
    ],
)
def test_free_threads_that_cannot_be_are_refused(size: Fraction, pitch: Fraction, message: str) -> None:
    with pytest.raises(InputError, match=message):
        free_thread(size=size, pitch_size=pitch, unit="mm", form=thread_form("metric"))


def test_an_unknown_form_is_refused() -> None:
    with pytest.raises(InputError, match='thread form "acme" is not known'):
        thread_form("acme")
