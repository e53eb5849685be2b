"""Stack, touch-off and doubts: sums by hand, shared terms counted once, and a simulation that adds the errors up."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from holecam.cuts.layer_estimates import NOTHING, DoubtRule, Estimate, Term, covariance
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack, Wedge
from holecam.cuts.step_down_chance import Faces, layer_window, normal_chance
from holecam.errors import InputError

INCH = 25.4
HALF_THOU = Fraction(254, 20_000)


def rail_stack(solder_within: float = 0.002 * INCH) -> LayerStack:
    return LayerStack(
        (
            Layer.of("brass rail", 0.1875 * INCH, within=0.001 * INCH),
            Layer.of("soft solder", 0.004 * INCH, within=solder_within),
            Layer.of("copper hood", 0.025 * INCH, within=0.001 * INCH, keep=True),
        )
    )


def touched(face: str = "brass rail", **more: object) -> TouchedStack:
    touch = HeightTouch(face, "paper", 0.0889, 0.02)  # 0.0035 in, a whole number of readout steps
    return TouchedStack(rail_stack(), touch, HALF_THOU, **more)  # type: ignore[arg-type]


@pytest.mark.outside_check(
    subject="step-down doubt",
    source="standard deviation of a rectangular distribution (GUM, JCGM 100:2008, 4.3.7)",
    closeness="1e-6",
    standing="mathematics",
)
def test_rectangular_doubt_is_half_width_over_root_three() -> None:
    # GUM, JCGM 100:2008, 4.3.7
    term = Term.within("x", 0.03)
    assert term.standard == pytest.approx(0.03 / math.sqrt(3))
    assert term.half_width == 0.03


def test_shared_terms_add_and_cancel() -> None:
    bar, total = Estimate.of(5.0, Term.within("bar", 0.02)), Estimate.of(5.7, Term.within("total", 0.01))
    layer = total - bar
    assert layer.value == pytest.approx(0.7)
    assert layer.standard == pytest.approx(math.hypot(0.02, 0.01) / math.sqrt(3))
    assert layer.half_width == pytest.approx(0.03)
    again = layer + bar
    assert again == Estimate.of(again.value, Term.within("total", 0.01))  # the bar's doubt is gone
    assert (bar + bar).standard == pytest.approx(2 * bar.standard)  # one error twice, not two errors
    assert covariance(layer, bar) == pytest.approx(-(bar.standard**2))
    assert (bar - bar).parts == ()


def test_one_name_with_two_sizes_is_refused() -> None:
    with pytest.raises(InputError, match=r'doubt "bar" is stated twice with different sizes'):
        Estimate.of(1.0, Term.within("bar", 0.02)) + Estimate.of(1.0, Term.within("bar", 0.03))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.1])
def test_doubts_that_are_no_lengths_are_refused(bad: float) -> None:
    with pytest.raises(InputError, match=r"expected a finite length of 0 or more"):
        Term.within("x", bad)


def test_sum_by_hand_from_the_top() -> None:
    faces = touched().faces
    sheet = touched().substrate_z
    assert faces[0].value == pytest.approx(0.0, abs=1e-12)
    assert faces[1].value == pytest.approx(-0.1875 * INCH)
    assert sheet.value == pytest.approx(-0.1915 * INCH)
    # paper 0.02 mm, readout one step of 0.0127 mm, rail 0.0254, solder 0.0508; each rectangular
    by_hand = math.sqrt(0.02**2 + 0.0127**2 + 0.0254**2 + 0.0508**2) / math.sqrt(3)
    assert sheet.standard == pytest.approx(by_hand, rel=1e-12)
    assert sheet.half_width == pytest.approx(0.02 + 0.0127 + 0.0254 + 0.0508)
    for k in (1.0, 2.0, 3.0):
        hard = Faces(sheet, touched().layer_top_z, sureness=k).hard_floor()
        assert hard == pytest.approx(-0.1915 * INCH + k * by_hand)  # design page section 5: d_s - k u
    worst = Faces(sheet, touched().layer_top_z, DoubtRule.WORST_CASE).hard_floor()
    assert worst == pytest.approx(-0.1915 * INCH + 0.1089)


def test_touch_on_bare_sheet_leaves_the_layers_out() -> None:
    stack = touched("bare sheet")
    assert stack.substrate_z.value == pytest.approx(0.0, abs=1e-12)
    assert stack.substrate_z.standard == pytest.approx(math.hypot(0.02, 0.0127) / math.sqrt(3))
    assert stack.layer_top_z.value == pytest.approx(0.004 * INCH)
    assert stack.faces[0].value == pytest.approx(0.1915 * INCH)


def test_touch_below_the_sheet_counts_the_sheet() -> None:
    layers = (*rail_stack().layers, Layer.of("former", 20.0, within=1.0, keep=True))
    stack = TouchedStack(LayerStack(layers), HeightTouch("former"), HALF_THOU)
    assert stack.substrate_z.value == pytest.approx(0.025 * INCH)
    assert stack.substrate_z.standard == pytest.approx(math.hypot(0.0127, 0.0254) / math.sqrt(3))


def test_offset_that_the_readout_cannot_show_shifts_the_face() -> None:
    stack = TouchedStack(rail_stack(), HeightTouch("brass rail", "paper", 0.09, 0.02), HALF_THOU)
    assert stack.set_count == 7  # 0.0035 in
    assert stack.faces[0].value == pytest.approx(7 * 0.0127 - 0.09)


def test_high_spot_lifts_the_sheet_and_not_the_bar() -> None:
    lifted = touched(high_spot=Estimate.of(0.05, Term.within("high spot", 0.01)))
    assert lifted.substrate_z.value == pytest.approx(touched().substrate_z.value + 0.05)
    assert lifted.layer_top_z == touched().layer_top_z


def test_wedge_lifts_every_face_and_counts_once() -> None:
    wedge = Wedge.from_second_touch(distance=80.0, difference=0.04, cut_from=0.0, cut_to=80.0, half_width=0.01)
    lifted, level = touched(wedge=wedge), touched()
    for up, flat in zip(lifted.faces, level.faces, strict=True):
        assert up.value == pytest.approx(flat.value + 0.04)
    assert lifted.substrate_z.standard == pytest.approx(math.hypot(level.substrate_z.standard, wedge.rise.standard))


def test_wedge_from_two_touches_takes_the_higher_end() -> None:
    rising = Wedge.from_second_touch(distance=80.0, difference=0.04, cut_from=10.0, cut_to=60.0, half_width=0.02)
    assert rising.rise.value == pytest.approx(0.04 * 60 / 80)
    falling = Wedge.from_second_touch(distance=80.0, difference=-0.04, cut_from=10.0, cut_to=60.0, half_width=0.02)
    assert falling.rise.value == pytest.approx(-0.04 * 10 / 80)
    # two independent touches: root of two of one, over the lever
    assert rising.rise.standard == pytest.approx(math.sqrt(2) * 0.02 / math.sqrt(3) * 60 / 80)
    for k in (0.0, 1.0, 2.0, 3.0):  # the end that seems lower is covered too
        far = -0.04 * 60 / 80 + k * math.sqrt(2) * 0.02 / math.sqrt(3) * 60 / 80
        assert falling.rise.value + k * falling.rise.standard >= far - 1e-12
    level = Wedge.from_second_touch(distance=80.0, difference=0.0, cut_from=0.0, cut_to=60.0, half_width=0.02)
    assert level.rise.standard > 0  # a level bar may rise either way
    # practice A6: 0.05 per 100 mm over 80 mm is 0.04 (common practice)
    assert Wedge.unknown(80.0).rise.half_width == pytest.approx(0.04)


@given(
    st.lists(st.floats(0.02, 5.0), min_size=2, max_size=5),
    st.data(),
)
def test_doubt_of_every_face_by_simulation_of_the_errors(sizes: list[float], data: st.DataObject) -> None:
    withins = [data.draw(st.floats(0.0, 0.05)) for _ in sizes]
    keep_from = data.draw(st.integers(1, len(sizes) - 1))
    on = data.draw(st.integers(0, len(sizes) - 1))
    paper, machine = data.draw(st.floats(0, 0.03)), data.draw(st.floats(0, 0.02))
    stack = LayerStack(
        tuple(
            Layer.of(f"layer {n}", size, within=w, keep=n >= keep_from)
            for n, (size, w) in enumerate(zip(sizes, withins, strict=True))
        )
    )
    found = TouchedStack(stack, HeightTouch(f"layer {on}", "x", 0.0, paper), Fraction(1, 100), machine)
    rng = np.random.default_rng(7)
    number = 20_000
    thick = np.array(sizes) + rng.uniform(-1, 1, (number, len(sizes))) * np.array(withins)
    face = rng.uniform(-paper, paper, number) + rng.uniform(-machine, machine, number)
    tops = np.cumsum(np.column_stack([np.zeros(number), thick]), axis=1)[:, :-1]
    heights = face[:, None] - (tops - tops[:, [on]])
    for n, estimate in enumerate(found.faces):
        assert heights[:, n].mean() == pytest.approx(
            estimate.value, abs=5 * estimate.standard / math.sqrt(number) + 1e-12
        )
        assert heights[:, n].std() == pytest.approx(estimate.standard, rel=0.03, abs=1e-9)
        assert abs(heights[:, n] - estimate.value).max() <= estimate.half_width + 1e-12
    for i, a in enumerate(found.faces):
        for j, b in enumerate(found.faces):
            simulated = np.cov(heights[:, i], heights[:, j])[0, 1]
            assert simulated == pytest.approx(covariance(a, b), abs=0.05 * a.standard * b.standard + 1e-12)


def test_chance_of_contact_agrees_with_a_simulation_of_normal_errors() -> None:
    stack = touched()
    faces = Faces(stack.substrate_z, stack.layer_top_z)
    rng = np.random.default_rng(11)
    number = 400_000
    sheet = np.full(number, stack.substrate_z.value)
    for term, share in stack.substrate_z.parts:
        sheet += share * rng.normal(0, term.standard, number)
    for z in (-0.1915 * INCH, -0.190 * INCH, -0.1885 * INCH, -0.1875 * INCH):
        expected = faces.contact(z)
        assert (sheet > z).mean() == pytest.approx(expected, abs=5 * math.sqrt(expected / number) + 1e-6)


def test_chance_is_on_the_safe_side_for_limits_that_are_really_sure() -> None:
    # a sum of rectangular errors has thinner tails than the normal one that is reckoned with
    stack = touched()
    faces = Faces(stack.substrate_z, stack.layer_top_z)
    rng = np.random.default_rng(12)
    number = 400_000
    sheet = np.full(number, stack.substrate_z.value)
    for term, share in stack.substrate_z.parts:
        sheet += share * rng.uniform(-term.half_width, term.half_width, number)
    for k in (2.0, 2.5, 3.0):
        z = stack.substrate_z.value + k * stack.substrate_z.standard
        assert (sheet > z).mean() < faces.contact(z)


@pytest.mark.outside_check(
    subject=("chance of contact", "hard floor"),
    source="handbook values of the normal tail: k = 2, 3, 3.09",
    closeness="5e-5",
    standing="memory",
)
@pytest.mark.parametrize(
    ("k", "chance"),
    [(2.0, 0.0228), (3.0, 0.0013), (3.09, 0.0010)],  # one-sided normal tail, handbook values
)
def test_normal_tail(k: float, chance: float) -> None:
    assert normal_chance(-k) == pytest.approx(chance, abs=5e-5)


@pytest.mark.outside_check(
    subject="chance of contact", source="scipy: normal distribution", closeness="1e-9 of the chance", standing="library"
)
@given(k=st.floats(-8, 8))
def test_normal_chance_against_a_reference_library(k: float) -> None:
    assert normal_chance(k) == pytest.approx(float(norm.cdf(k)), rel=1e-9)


def test_window_inside_the_layer_against_a_scan() -> None:
    stack = touched("bare sheet")
    faces = Faces(stack.substrate_z, stack.layer_top_z, sureness=1.0)
    window = layer_window(faces)
    assert window.exists
    middle = 0.5 * (window.low + window.high)
    assert faces.showing(middle) > normal_chance(1.0)
    assert faces.contact(middle) < normal_chance(-1.0)
    scan = [faces.showing(z) - faces.contact(z) for z in np.linspace(-0.1, 0.2, 3001)]
    assert window.best_chance == pytest.approx(max(scan), abs=1e-6)
    assert not layer_window(Faces(stack.substrate_z, stack.layer_top_z, sureness=3.0)).exists


@pytest.mark.parametrize(
    ("layers", "message"),
    [
        ((("bar", 1.0, False),), "expected at least two layers"),
        ((("bar", 1.0, False), ("bar", 1.0, True)), 'two layers are called "bar"'),
        ((("bar", 1.0, False), ("sheet", 1.0, False)), "no layer is marked to keep"),
        ((("bar", 1.0, True), ("solder", 0.1, False), ("sheet", 1.0, True)), 'nothing lies above "bar"'),
        ((("bar", 1.0, True), ("sheet", 1.0, False)), "nothing to cut"),
    ],
)
def test_wrong_stacks_are_named(layers: tuple[tuple[str, float, bool], ...], message: str) -> None:
    with pytest.raises(InputError, match=message):
        LayerStack(tuple(Layer.of(name, size, within=0.0, keep=keep) for name, size, keep in layers))


@pytest.mark.parametrize("bad", [0.0, -1.0])
def test_layer_without_thickness_is_refused(bad: float) -> None:
    with pytest.raises(InputError, match=r'layer "bar": thickness .* expected a length above zero'):
        Layer.of("bar", bad, within=0.0)


def test_face_that_is_not_in_the_stack_is_named_with_those_that_are() -> None:
    with pytest.raises(
        InputError, match=r'face "table" is not in the stack: expected one of "brass rail", "soft solder"'
    ):
        TouchedStack(rail_stack(), HeightTouch("table"), HALF_THOU)


def test_nothing_has_no_doubt() -> None:
    assert NOTHING.standard == 0.0
    assert NOTHING.doubt(DoubtRule.WORST_CASE, 3.0) == 0.0


def test_faces_above_and_below_the_touched_one_by_hand() -> None:
    """Paint 0.1, bar 4.7, solder 0.1, sheet 0.6, tape 0.2 on a block of 9: touched on each face in turn, offset 0."""
    thick = (("paint", 0.1), ("bar", 4.7), ("solder", 0.1), ("sheet", 0.6), ("tape", 0.2), ("block", 9.0))
    stack = LayerStack(tuple(Layer.of(n, t, within=0.0, keep=n == "sheet") for n, t in thick))
    tops = [-sum(t for _, t in thick[:k]) for k in range(len(thick))]
    for k, (name, _) in enumerate(thick):
        found = TouchedStack(stack, HeightTouch(name, "x", 0.0, 0.0), Fraction(1, 1000))
        assert [face.value for face in found.faces] == pytest.approx([top - tops[k] for top in tops], abs=1e-12)


def test_the_sheet_lies_as_deep_as_all_that_is_above_it_is_thick() -> None:
    """3/16 and 0.004 in above it: 4.864 mm down, its own thickness not counted; the doubts of both add up."""
    depth = rail_stack().substrate_depth
    assert depth.value == pytest.approx(0.1915 * INCH)
    assert depth.half_width == pytest.approx(0.003 * INCH)
    assert depth.standard == pytest.approx(math.hypot(0.001, 0.002) * INCH / math.sqrt(3))
