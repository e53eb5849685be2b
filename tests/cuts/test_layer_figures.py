"""Doubts, readings and stacks by hand: every figure and every refusal, on both sides of its limit."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.layer_estimates import WORST_CASE_SPREADS, DoubtRule, Estimate, Term, covariance
from holecam.cuts.layer_readings import LayerReading, layer_from_mass, layer_from_readings, layer_from_wire
from holecam.cuts.layer_stack import COVERED_SPREADS, HeightTouch, Layer, LayerStack, TouchedStack, Wedge
from holecam.errors import InputError

ROOT_3 = math.sqrt(3.0)


def figures(estimate: Estimate) -> list[tuple[str, float, float, float]]:
    """Return the doubts of a length by name: standard doubt, limit and share."""
    return [(t.name, round(t.standard, 9), round(t.half_width, 9), round(share, 9)) for t, share in estimate.parts]


def test_a_spread_has_three_of_itself_as_its_worst_case() -> None:
    assert WORST_CASE_SPREADS == 3.0
    term = Term.spread("wear", 0.02)
    assert (term.name, term.standard, term.half_width) == ("wear", 0.02, pytest.approx(0.06))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1e-9])
def test_a_doubt_is_a_finite_length_of_nothing_or_more(bad: float) -> None:
    with pytest.raises(InputError, match=r"^x: standard doubt .* mm: expected a finite length of 0 or more") as told:
        Term("x", bad, 0.1)
    assert told.value.key == "x"
    with pytest.raises(InputError, match=r"^x: half-width .* mm: expected a finite length of 0 or more"):
        Term("x", 0.1, bad)
    assert Term("x", 0.0, 0.0).half_width == 0.0


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_length_and_the_shares_of_its_doubts_are_finite(bad: float) -> None:
    with pytest.raises(InputError, match=f"length {bad} mm: expected a finite number"):
        Estimate(bad)
    term = Term.within("x", 0.1)
    with pytest.raises(InputError, match=r"length 2\.0 mm: expected finite shares of its doubts"):
        Estimate(2.0, ((Term.within("y", 0.1), 1.0), (term, bad)))


def test_sums_differences_and_multiples_of_lengths() -> None:
    """a = 5 with x once and y once; b = 2 with y twice: every sum has y counted with its sign."""
    x, y = Term("x", 0.03, 0.05), Term("y", 0.04, 0.06)
    a, b = Estimate(5.0, ((x, 1.0), (y, 1.0))), Estimate(2.0, ((y, 2.0),))
    for found, value, shares in (
        (a + b, 7.0, {"x": 1.0, "y": 3.0}),
        (a - b, 3.0, {"x": 1.0, "y": -1.0}),
        (b - a, -3.0, {"x": -1.0, "y": 1.0}),
        (a.scaled(-2.0), -10.0, {"x": -2.0, "y": -2.0}),
        (a.scaled(0.5), 2.5, {"x": 0.5, "y": 0.5}),
    ):
        assert found.value == pytest.approx(value)
        assert {t.name: s for t, s in found.parts} == shares
        sx, sy = shares["x"], shares["y"]
        assert found.standard == pytest.approx(math.sqrt((0.03 * sx) ** 2 + (0.04 * sy) ** 2))
        assert found.half_width == pytest.approx(0.05 * abs(sx) + 0.06 * abs(sy))
    assert a.doubt(DoubtRule.ROOT_OF_SQUARES, 2.0) == pytest.approx(0.1)  # 2 * hypot(0.03, 0.04)
    assert a.doubt(DoubtRule.WORST_CASE, 2.0) == pytest.approx(0.11)
    # mm2: y once in a and twice in b
    assert covariance(a, b) == pytest.approx(2.0 * 0.04**2)
    assert covariance(a, a) == pytest.approx(a.standard**2)
    assert covariance(a, Estimate(1.0, ((Term.within("z", 1.0), 1.0),))) == 0.0
    with pytest.raises(InputError, match=r'"y" is stated twice with different sizes \(0.04 and 0.05 mm\)') as told:
        a + Estimate(1.0, ((Term("y", 0.05, 0.06), 1.0),))
    assert told.value.key == "y"


def test_layer_from_wire_with_each_doubt_by_hand() -> None:
    """100 mm of 2 mm wire on 1000 mm2: pi / 10 mm; a tenth lost; 1 mm, 0.05 mm and 20 mm2 of doubt; 0.02 locally."""
    found = layer_from_wire(
        "solder",
        wire_length=100.0,
        wire_diameter=2.0,
        joint_area=1000.0,
        local_half_width=0.02,
        lost_percent=10.0,
        wire_length_within=1.0,
        wire_diameter_within=0.05,
        joint_area_within=20.0,
    )
    mean = 0.9 * math.pi / 10.0
    assert found.value == pytest.approx(mean)
    limits = {
        "solder: wire length": mean * 0.01,
        "solder: wire diameter": mean * 2 * 0.025,  # the area of its section goes with the square
        "solder: joint area": mean * 0.02,
        "solder: from place to place": 0.02,
    }
    assert figures(found) == [(n, round(w / ROOT_3, 9), round(w, 9), 1.0) for n, w in limits.items()]
    plain = layer_from_wire("s", wire_length=100.0, wire_diameter=2.0, joint_area=1000.0, local_half_width=0.02)
    assert plain.value == pytest.approx(math.pi / 10.0)
    assert plain.half_width == pytest.approx(0.02)


def test_layer_from_mass_with_each_doubt_by_hand() -> None:
    """4 g of 8 g/cm3 are 500 mm3, on 1000 mm2 half a millimetre; half of it lost; 0.2 g and 50 mm2 of doubt."""
    found = layer_from_mass(
        "solder",
        mass_g=4.0,
        density_g_cm3=8.0,
        joint_area=1000.0,
        local_half_width=0.01,
        lost_percent=50.0,
        mass_within_g=0.2,
        joint_area_within=50.0,
    )
    assert found.value == pytest.approx(0.25)
    limits = {"solder: mass": 0.0125, "solder: joint area": 0.0125, "solder: from place to place": 0.01}
    assert figures(found) == [(n, round(w / ROOT_3, 9), round(w, 9), 1.0) for n, w in limits.items()]
    plain = layer_from_mass("s", mass_g=4.0, density_g_cm3=8.0, joint_area=1000.0, local_half_width=0.01)
    assert (plain.value, plain.half_width) == (pytest.approx(0.5), pytest.approx(0.01))
    most = layer_from_wire(
        "s", wire_length=1.0, wire_diameter=2.0, joint_area=1.0, local_half_width=0.0, lost_percent=99.5
    )
    assert most.value == pytest.approx(0.005 * math.pi)


def test_level_readings_by_hand() -> None:
    """0.10, 0.12, 0.14: mean 0.12, spread 0.02, one more place sqrt(4/3) of it; Student's t of 2 in closed form."""
    found = layer_from_readings("tin", [0.10, 0.12, 0.14], instrument_half_width=0.006, sureness=2.0)
    both = math.erf(2.0 / math.sqrt(2.0))  # chance within two spreads, both sides
    t = both * math.sqrt(2.0 / (1.0 - both * both))  # Abramowitz and Stegun 26.7.4 for 2 degrees of freedom, solved
    local = 0.02 * math.sqrt(4.0 / 3.0) * t / 2.0
    assert found == LayerReading(
        thickness=found.thickness,
        mean=pytest.approx(0.12),  # type: ignore[arg-type]
        spread=pytest.approx(0.02),  # type: ignore[arg-type]
        places=3,
        small_sample=pytest.approx(t / 2.0),  # type: ignore[arg-type]
    )
    assert found.thickness.value == pytest.approx(0.12)
    assert figures(found.thickness) == [
        ("tin: places", round(local, 9), round(2.0 * local, 9), 1.0),
        ("tin: micrometer", round(0.006 / ROOT_3, 9), 0.006, 1.0),
    ]
    # Without a micrometer's doubt only the places are left; three spreads are the rule when nothing is said
    plain = layer_from_readings("tin", [0.10, 0.12, 0.14])
    both = math.erf(3.0 / math.sqrt(2.0))
    assert plain.small_sample == pytest.approx(both * math.sqrt(2.0 / (1.0 - both * both)) / 3.0)
    assert plain.thickness.half_width == pytest.approx(3.0 * plain.thickness.standard)


PLACES = [0.0, 10.0, 20.0, 30.0]
SLOPING = [0.20, 0.23, 0.22, 0.25]
RESIDUAL = math.sqrt(0.00016)
"""Line 0.225 + 0.0014 (x - 15); residuals -0.004, 0.012, -0.012, 0.004; their squares 0.00032 over 2."""


def local_spread(found: LayerReading) -> float:
    return found.thickness.parts[0][0].standard / found.small_sample


def test_a_sloping_line_by_hand() -> None:
    found = layer_from_readings("tin", SLOPING, places=PLACES)
    assert found.mean == pytest.approx(0.225)
    assert found.spread == pytest.approx(RESIDUAL)
    assert found.places == 4
    # The thinner end is at 0 when no cut is stated
    assert found.thickness.value == pytest.approx(0.225 - 0.0014 * 15)
    assert local_spread(found) == pytest.approx(RESIDUAL * math.sqrt(1 + 1 / 4 + 15**2 / 500))
    assert found.wedge == pytest.approx(0.0014 * 30)
    assert found.wedge_standard == pytest.approx(RESIDUAL * 30 / math.sqrt(500))
    both = math.erf(3.0 / math.sqrt(2.0))
    assert found.small_sample == pytest.approx(both * math.sqrt(2.0 / (1.0 - both * both)) / 3.0)  # four less two
    # The same seen from the other end, and moved along: the places are only measured from elsewhere
    turned = layer_from_readings("tin", SLOPING, places=[1000.0 - p for p in PLACES], cut_from=1000.0, cut_to=970.0)
    assert turned.thickness.value == pytest.approx(found.thickness.value)
    assert turned.thickness.standard == pytest.approx(found.thickness.standard)
    assert turned.wedge == pytest.approx(found.wedge)
    assert turned.wedge_standard == pytest.approx(found.wedge_standard)


@pytest.mark.parametrize(
    ("cut_from", "cut_to", "at"),
    [
        (None, None, 0.0),
        (14.0, None, 14.0),
        (None, -10.0, -10.0),
        (-10.0, 20.0, -10.0),
        # Far outside the readings the line is so doubtful that three spreads less of it are the thinner end:
        # at 14: 0.2236 - 3 * 0.0142 = 0.181; at 130: 0.386 - 3 * 0.0666 = 0.186; at 200: 0.484 - 3 * 0.1056 = 0.167
        (14.0, 130.0, 14.0),
        (14.0, 200.0, 200.0),
    ],
)
def test_the_thinner_end_of_the_cut_counts(cut_from: float | None, cut_to: float | None, at: float) -> None:
    found = layer_from_readings("tin", SLOPING, places=PLACES, cut_from=cut_from, cut_to=cut_to)
    assert found.thickness.value == pytest.approx(0.225 + 0.0014 * (at - 15.0))
    assert local_spread(found) == pytest.approx(RESIDUAL * math.sqrt(1.25 + (at - 15.0) ** 2 / 500))
    start, end = 0.0 if cut_from is None else cut_from, 30.0 if cut_to is None else cut_to
    assert found.wedge == pytest.approx(0.0014 * abs(end - start))
    assert found.wedge_standard == pytest.approx(RESIDUAL * abs(end - start) / math.sqrt(500))


def test_no_wedge_from_three_places_nor_from_four_at_one() -> None:
    for places, readings in ((PLACES[:3], SLOPING[:3]), ([7.0] * 4, SLOPING)):
        found = layer_from_readings("tin", readings, places=places)
        assert (found.wedge, found.wedge_standard) == (None, None)
        assert found.thickness.value == pytest.approx(sum(readings) / len(readings))
    assert layer_from_readings("tin", SLOPING, places=PLACES).wedge is not None


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_sureness_and_readings_are_above_zero(bad: float) -> None:
    with pytest.raises(InputError, match=f"sureness {bad}: expected a number above zero") as told:
        layer_from_readings("tin", [0.1, 0.2], sureness=bad)
    assert told.value.key == "sureness"
    with pytest.raises(InputError, match=r'"tin": expected readings above zero'):
        layer_from_readings("tin", [0.1, bad])
    assert layer_from_readings("tin", [0.1, 0.2], sureness=0.5).places == 2


def test_each_reading_has_its_place() -> None:
    with pytest.raises(InputError, match=r'"tin": 4 readings and 3 places: expected one for each'):
        layer_from_readings("tin", SLOPING, places=PLACES[:3])
    with pytest.raises(InputError, match=r"0.1500 mm read, less 0.1500 mm of its neighbours, leaves 0.0000 mm"):
        layer_from_readings("tin", [0.15, 0.15], less=Estimate(0.15))


def sheet(**more: object) -> Layer:
    return Layer("sheet", Estimate(0.6), keep=True, **more)  # type: ignore[arg-type]


def test_a_layer_is_neither_kept_nor_a_bond_unless_it_is_said() -> None:
    plain = Layer("bar", Estimate(3.0))
    assert (plain.keep, plain.bond, plain.looks) == (False, False, "")
    made = Layer.of("bar", 3.0, within=0.3, looks="yellow")
    assert made == Layer("bar", Estimate.of(3.0, Term("thickness of bar", 0.3 / ROOT_3, 0.3)), looks="yellow")
    assert Layer.of("hood", 1.0, within=0.0, keep=True).keep
    with pytest.raises(InputError, match="layer: expected a name, such as brass rail"):
        Layer(" ", Estimate(1.0))


def test_which_layer_is_the_sheet_and_which_the_bond() -> None:
    names = ("paint", "bar", "solder", "sheet", "former")
    layers = [Layer(n, Estimate(1.0 + k), keep=k >= 3) for k, n in enumerate(names)]
    stack = LayerStack(tuple(layers))
    assert (stack.substrate_index, stack.substrate) == (3, layers[3])
    assert (stack.bond_index, stack.bond) == (2, layers[2])
    assert stack.substrate_depth.value == 1.0 + 2.0 + 3.0
    assert [stack.index_of(n) for n in (" PAINT ", "bar", "Solder", "bare sheet", "Bare Sheet", "former")] == [
        0,
        1,
        2,
        3,
        3,
        4,
    ]
    bare = LayerStack((Layer("bar", Estimate(3.0)), sheet()))
    assert (bare.bond_index, bare.bond, bare.substrate_index) == (None, None, 1)
    three = LayerStack((Layer("bar", Estimate(3.0)), Layer("glue", Estimate(0.1)), sheet()))
    assert three.bond_index == 1
    with pytest.raises(
        InputError, match='face "tape" is not in the stack: expected one of "bar", "glue", "sheet", or "bare'
    ) as told:
        three.index_of("tape")
    assert (told.value.key, told.value.value) == ("face", "tape")


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_touch_is_at_a_finite_height(bad: float) -> None:
    with pytest.raises(InputError, match=f"touch-off offset {bad} mm: expected a finite length") as told:
        HeightTouch("bar", offset=bad)
    assert told.value.key == "offset"
    for no_length in (bad, -0.01):
        with pytest.raises(InputError, match=r"^touch-off: .* mm: expected a finite length of 0 or more"):
            HeightTouch("bar", half_width=no_length)
    assert HeightTouch("bar") == HeightTouch("bar", "touch", 0.0, 0.0)


@pytest.mark.parametrize(
    ("distance", "difference", "cut", "half", "rise", "standard", "limit"),
    [
        # Slope 0.0004: the end at 50 is 0.02 up and 0.028 above the other; doubt of a touch 0.01 * sqrt(2/3) over 100
        (100.0, 0.04, (-20.0, 50.0), 0.01, 0.02, math.sqrt(2 / 3) * 1e-4 * 50, 0.01),
        (100.0, 0.04, (50.0, -20.0), 0.01, 0.02, math.sqrt(2 / 3) * 1e-4 * 50, 0.01),
        (100.0, -0.04, (-50.0, 20.0), 0.01, 0.02, math.sqrt(2 / 3) * 1e-4 * 50, 0.01),
        # Nearly level: the end at -80 is 0.0013 lower, but more doubtful: its doubt less that, a third of it a spread
        (100.0, 0.001, (-80.0, 50.0), 0.01, 0.0005, math.sqrt(2 / 3) * 1e-4 * 80 - 0.0013 / 3, 0.016 - 0.0013),
        # Level: the farther end has the greater doubt, whichever comes first
        (100.0, 0.0, (-80.0, 50.0), 0.01, 0.0, math.sqrt(2 / 3) * 1e-4 * 80, 0.016),
        (100.0, 0.0, (50.0, -80.0), 0.01, 0.0, math.sqrt(2 / 3) * 1e-4 * 80, 0.016),
        # A second touch 200 mm away: half the slope, half the doubt
        (200.0, 0.04, (0.0, 50.0), 0.01, 0.01, math.sqrt(2 / 3) * 0.5e-4 * 50, 0.005),
    ],
)
def test_wedge_from_two_touches_by_hand(
    distance: float,
    difference: float,
    cut: tuple[float, float],
    half: float,
    rise: float,
    standard: float,
    limit: float,
) -> None:
    assert COVERED_SPREADS == 3.0
    found = Wedge.from_second_touch(
        distance=distance, difference=difference, cut_from=cut[0], cut_to=cut[1], half_width=half
    )
    assert found.source == "two touch-offs"
    assert found.rise.value == pytest.approx(rise, abs=1e-15)
    ((term, share),) = found.rise.parts
    assert (term.name, share) == ("wedge", 1.0)
    assert (term.standard, term.half_width) == (pytest.approx(standard), pytest.approx(limit))


def test_wedges_of_one_touch_and_stated_ones() -> None:
    unknown, stated = Wedge.unknown(200.0), Wedge.stated(0.03)
    assert (unknown.rise.value, unknown.rise.half_width) == (0.0, pytest.approx(0.1))  # 0.05 in 100 mm
    assert unknown.rise.standard == pytest.approx(0.1 / ROOT_3)
    assert unknown.source == "common practice, one touch-off"
    assert (stated.rise.value, stated.rise.half_width, stated.source) == (0.0, 0.03, "stated")
    assert Wedge.unknown(0.0).rise.half_width == 0.0
    assert Wedge().source == "not stated"


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_the_second_touch_lies_away_from_the_first(bad: float) -> None:
    with pytest.raises(InputError, match=f"distance {bad} mm between two touch-offs: expected a length above zero"):
        Wedge.from_second_touch(distance=bad, difference=0.0, cut_from=0.0, cut_to=1.0, half_width=0.0)
    near = Wedge.from_second_touch(distance=0.5, difference=0.0, cut_from=0.0, cut_to=1.0, half_width=0.1)
    assert near.rise.half_width == pytest.approx(0.4)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
@pytest.mark.parametrize("which", ["difference", "cut_from", "cut_to"])
def test_a_wedge_has_finite_lengths(which: str, bad: float) -> None:
    sizes = {"difference": 0.0, "cut_from": 0.0, "cut_to": 1.0, which: bad}
    with pytest.raises(InputError, match="wedge: expected finite lengths"):
        Wedge.from_second_touch(distance=10.0, half_width=0.0, **sizes)


@pytest.mark.parametrize("bad", [-0.5, math.nan, math.inf])
def test_a_bar_is_not_shorter_than_nothing(bad: float) -> None:
    with pytest.raises(InputError, match=f"length of the bar {bad} mm: expected a length of 0 or more"):
        Wedge.unknown(bad)


STACK = LayerStack(
    (
        Layer.of("bar", 3.0, within=0.03),
        Layer.of("solder", 0.1, within=0.02),
        Layer.of("sheet", 0.6, within=0.01, keep=True),
        Layer.of("former", 20.0, within=0.5, keep=True),
    )
)


def test_doubts_of_a_touched_stack_by_name() -> None:
    touch = HeightTouch("bar", "paper", 0.083, 0.004)
    wedge, high = Wedge.stated(0.008), Estimate.of(0.05, Term.within("high spot", 0.02))
    found = TouchedStack(STACK, touch, Fraction(1, 200), wedge=wedge, high_spot=high)
    assert found.set_count == 17  # 0.083 / 0.005 = 16.6
    assert found.touched_index == 0
    face = 17 * 0.005 - 0.083
    assert [f.value for f in found.faces] == pytest.approx([face, face - 3.0, face - 3.1 + 0.05, face - 3.7])
    always = {"touch-off": 0.004, "machine and readout": 0.005, "wedge": 0.008}
    bar, solder, sheet = {"thickness of bar": -0.03}, {"thickness of solder": -0.02}, {"thickness of sheet": -0.01}
    for face_found, more in zip(
        found.faces, ({}, bar, bar | solder | {"high spot": 0.02}, bar | solder | sheet), strict=True
    ):
        named = {t.name: round(share * t.half_width, 9) for t, share in face_found.parts}
        assert named == always | more
    assert found.substrate_z is found.faces[2]
    assert found.layer_top_z is found.faces[1]
    stated = TouchedStack(STACK, touch, Fraction(1, 200), 0.0007)
    assert figures(stated.faces[0]) == [
        ("touch-off", round(0.004 / ROOT_3, 9), 0.004, 1.0),
        ("machine and readout", round(0.0007 / ROOT_3, 9), 0.0007, 1.0),
    ]
    without = TouchedStack(LayerStack((STACK.layers[0], STACK.layers[2])), touch, Fraction(1, 200))
    assert without.layer_top_z is without.substrate_z


@pytest.mark.parametrize("step", [Fraction(0), Fraction(-1, 100)])
def test_a_readout_has_steps(step: Fraction) -> None:
    with pytest.raises(InputError, match=r"readout step -?0\.\d+ mm: expected a length above zero"):
        TouchedStack(STACK, HeightTouch("bar"), step)


def test_a_high_spot_is_not_a_hollow() -> None:
    with pytest.raises(InputError, match=r"high spot of the sheet -0\.01 mm: expected 0 or more"):
        TouchedStack(STACK, HeightTouch("bar"), Fraction(1, 100), high_spot=Estimate(-0.01))


@given(st.floats(-0.1, 0.1), st.floats(0.0, 0.1), st.sampled_from(["bar", "solder", "bare sheet", "former"]))
def test_a_stack_in_inches_is_the_same_stack(offset: float, within: float, face: str) -> None:
    """All lengths 25.4 times as long, the readout too: every height and doubt is 25.4 times as long."""
    k = 25.4
    large = LayerStack(
        tuple(
            Layer(x.name, Estimate.of(x.thickness.value * k, x.thickness.parts[0][0]), keep=x.keep)
            for x in STACK.layers
        )
    )
    a = TouchedStack(STACK, HeightTouch(face, "x", offset, within), Fraction(1, 200))
    b = TouchedStack(
        large, HeightTouch(face, "x", a.touch.offset * k, within * k), Fraction(1, 200) * Fraction(254, 10)
    )
    assert [f.value for f in b.faces] == pytest.approx([f.value * k for f in a.faces], abs=1e-9)
