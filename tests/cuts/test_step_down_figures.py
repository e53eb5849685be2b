"""Figures of a step-down by hand: the ladder, the floor, the drill, the table of passes, what was seen, the words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import brentq
from scipy.stats import norm

from holecam.cuts.layer_estimates import DoubtRule, Estimate, Term
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.step_down_answers import ANYWHERE, Answer, Bounds, face_bounds, sheet_seen
from holecam.cuts.step_down_belief import SeenFaces
from holecam.cuts.step_down_chance import LEAST_STANDARD, Faces, LayerWindow, chance_in_layer, layer_window
from holecam.cuts.step_down_drilling import DrillLimit, drill_limit, tip_below_hard_floor
from holecam.cuts.step_down_floor import FloorAim, FloorRule
from holecam.cuts.step_down_heights import (
    SHOWING_CHANCE,
    STOP_CHANCE,
    SURENESS,
    HeightsRequest,
    StepDownHeights,
    _zone,
    plan_heights,
)
from holecam.cuts.step_down_looks import LEAST_CHANCE, bar_above, look_table
from holecam.cuts.step_down_passes import (
    LAST_STEPS,
    LEAST_CHIP,
    MOST_PASSES,
    TAPER_SHARE,
    WRITTEN_STEPS,
    PassRule,
    _fitted,
    _level,
    _steps_upward,
    count_at_or_above,
    floor_count,
    lowest_written,
    reading_z,
    step_counts,
    steps_within,
)
from holecam.cuts.step_down_practice import CHECK_LIST, REMOVAL_METHODS, ROUGH_STEP, Hold, colour_of, look_words
from holecam.errors import InputError

HALF_THOU = Fraction(254, 20_000)
MICRON = Fraction(1, 1000)
ROOT_3 = math.sqrt(3.0)


# The ladder


def test_rules_of_the_ladder_stand_as_the_practice_says() -> None:
    assert pytest.approx((0.0254, 0.0127), abs=0.0) == LAST_STEPS
    assert (TAPER_SHARE, LEAST_CHIP, MOST_PASSES) == (0.5, 0.005, 2000)
    assert list(WRITTEN_STEPS) == [MICRON, Fraction(254, 100_000)]
    assert ROUGH_STEP == {Hold.FIRM: 0.5, Hold.LIGHT: 0.25, Hold.BY_SHEET: 0.1}
    rule = PassRule(0.25)
    assert (rule.last_steps, rule.taper_share, rule.least_chip) == (LAST_STEPS, 0.5, 0.005)


@pytest.mark.parametrize(
    ("length", "step", "count"),
    [(0.0254, HALF_THOU, 2), (0.02539, HALF_THOU, 1), (0.01, Fraction(1, 100), 1), (0.0099, Fraction(1, 100), 0)],
)
def test_whole_steps_within_a_length(length: float, step: Fraction, count: int) -> None:
    assert steps_within(length, step) == count


@pytest.mark.parametrize(("z", "count"), [(-4.76, -374), (-4.7498, -374), (-4.7497, -373), (0.0, 0), (0.001, 1)])
def test_a_height_rounds_up_to_the_readout(z: float, count: int) -> None:
    """374 steps of 0.0127 mm are 4.7498 mm."""
    assert count_at_or_above(z, HALF_THOU) == count


def test_a_reading_in_mm() -> None:
    assert reading_z(-374, HALF_THOU) == -4.7498
    assert reading_z(3, Fraction(1, 200)) == 0.015


@pytest.mark.parametrize(
    ("count", "lowest"),
    [
        (-375, Fraction(-4763, 1000)),  # -4.7625 as shown, -4.763 with three decimals, -0.1875 in
        (-374, Fraction(-47_500, 10_000)),  # -4.7498 is -4.750
        (-1, Fraction(-13, 1000)),  # -0.0127 is -0.013
        (100, Fraction(127, 100)),  # 1.27 everywhere
    ],
)
def test_the_lowest_way_to_write_a_reading(count: int, lowest: Fraction) -> None:
    assert lowest_written(count, HALF_THOU) == lowest


def test_in_millimetres_four_decimals_of_an_inch_may_be_the_lowest() -> None:
    # -1 mm is -0.03937 in, written -0.0394: -1.00076 mm
    assert lowest_written(-200, Fraction(1, 200)) == Fraction(-394, 10_000) * Fraction(254, 10)


@pytest.mark.parametrize(
    ("hard", "wanted", "count"),
    [
        (-4.7500, -9.0, -374),  # -4.7498, written -4.750, just stays
        (-4.7499, -9.0, -373),  # there it would not: one step up
        (-4.7499, -4.70, -370),  # wanted higher than the hard floor: -4.6990
        (-4.7499, -4.7498, -373),
        (2.0, 1.0, 158),  # 157.48 steps: 2.0066, written 2.007 and 0.0790 in
    ],
)
def test_the_floor_is_above_the_hard_floor_however_written(hard: float, wanted: float, count: int) -> None:
    assert floor_count(hard, wanted=wanted, resolution=HALF_THOU) == count


@pytest.mark.parametrize(
    ("total", "zone", "share", "rough", "caps"),
    [
        (240, 0, 0.5, 1000, [5, 10, 15, 30, 60, 120]),
        (241, 0, 0.5, 1000, [5, 10, 15, 30, 60, 120, 240]),
        (240, 0, 0.5, 40, [5, 10, 15, 30, 40, 40, 40, 40, 40]),
        # To 20 above the floor one looks after each pass: none is deeper than the first of the last ones
        (240, 20, 0.5, 1000, [5, 10, 10, 25, 50, 100, 200]),
        (240, 15, 0.5, 1000, [5, 10, 15, 30, 60, 120]),
        (240, 16, 0.5, 1000, [5, 10, 10, 25, 50, 100, 200]),
        # A third of what is above is half of what is below: 15 // 2 = 7 is less than the pass after it
        (70, 0, 1 / 3, 1000, [5, 10, 10, 12, 18, 27]),
        (5, 0, 0.5, 1000, [5]),
        (6, 0, 0.5, 1000, [5, 10]),
    ],
)
def test_greatest_steps_from_the_floor_up(total: int, zone: int, share: float, rough: int, caps: list[int]) -> None:
    assert _steps_upward(total, (10, 5), rough, share, zone) == caps


@pytest.mark.parametrize(
    ("caps", "total", "least", "steps"),
    [
        ([5, 10, 15, 30], 60, 1, (30, 15, 10, 5)),
        ([5, 10, 15, 30], 50, 1, (20, 15, 10, 5)),
        ([5, 10, 15, 30], 45, 1, (15, 15, 10, 5)),
        ([5, 10, 15, 30], 44, 1, (15, 14, 10, 5)),  # what cannot be divided goes to the uppermost
        ([5, 10, 30, 30], 46, 1, (16, 15, 10, 5)),
        ([5, 10, 15, 30], 29, 8, (8, 8, 8, 5)),
        # Slivers: fewer passes of at least 3
        ([5, 10, 15, 30], 9, 3, (3, 3, 3)),
        ([5, 10, 15, 30], 10, 3, (4, 3, 3)),
        ([5, 10, 15, 30], 2, 3, (2,)),
        # Never deeper than the greatest step for it: three passes although each is less than the least chip
        ([4, 4, 4], 11, 6, (4, 4, 3)),
        ([4, 4], 7, 6, (4, 3)),
        # Not more passes than there are steps
        ([30, 30], 9, 10, (9,)),
    ],
)
def test_steps_are_lowered_to_one_level(caps: list[int], total: int, least: int, steps: tuple[int, ...]) -> None:
    assert _fitted(caps, total, least=least) == steps


@given(st.lists(st.integers(1, 60), min_size=1, max_size=9), st.integers(0, 400))
def test_the_level_is_the_greatest_that_does_not_take_too_much(caps: list[int], total: int) -> None:
    tried = [w for w in range(max(caps) + 1) if sum(min(cap, w) for cap in caps) <= total]
    assert _level(caps, total) == max(tried)


def test_no_chip_is_thinner_than_told_nor_than_the_last_pass() -> None:
    """A readout of 0.001 mm, last passes 0.03 and 0.02: no chip thinner than 0.0101 mm, 11 steps."""
    rule = PassRule(0.3, last_steps=(0.03, 0.02), least_chip=0.0101)
    found = {n: step_counts(start=7 + n, floor=7, rule=rule, resolution=MICRON) for n in (10, 21, 22, 26, 49, 50, 51)}
    # 20 + 30 + 50 + ... upward: of 50 the two last passes, of less two equal ones or one, of 51 a third one
    assert found[10] == (10,)
    assert found[21] == (21,)
    assert found[22] == (11, 11)
    assert found[26] == (13, 13)
    assert found[49] == (29, 20)
    assert found[50] == (30, 20)
    assert found[51] == (17, 17, 17)
    # A least chip above the last pass counts as the last pass
    thick = replace(rule, least_chip=0.5)
    assert step_counts(start=26, floor=0, rule=thick, resolution=MICRON) == (26,)
    assert step_counts(start=40, floor=0, rule=thick, resolution=MICRON) == (20, 20)


def test_roughing_step_as_deep_as_the_first_of_the_last_passes_is_allowed() -> None:
    rule = PassRule(0.03, last_steps=(0.03, 0.02))
    assert step_counts(start=90, floor=0, rule=rule, resolution=MICRON) == (24, 23, 23, 20)
    with pytest.raises(InputError, match=r"roughing step 0.0299 mm: expected at least .*, 0.03 mm") as told:
        step_counts(start=90, floor=0, rule=replace(rule, rough_step=0.0299), resolution=MICRON)
    assert told.value.key == "rough_step"
    # A readout coarser than the steps: one step of it each
    assert step_counts(start=3, floor=0, rule=rule, resolution=Fraction(1, 10)) == (1, 1, 1)


def test_more_passes_than_two_thousand_are_a_mistake() -> None:
    rule = PassRule(0.001, last_steps=(0.001,))
    assert len(step_counts(start=2000, floor=0, rule=rule, resolution=MICRON)) == 2000
    with pytest.raises(InputError, match="more than 2000 passes: check the sizes"):
        step_counts(start=2001, floor=0, rule=rule, resolution=MICRON)
    with pytest.raises(InputError, match="floor 3 steps lies above the start 2"):
        step_counts(start=2, floor=3, rule=rule, resolution=MICRON)


@pytest.mark.parametrize("bad", [0.0, -0.1, math.nan, math.inf])
def test_wrong_ladders_are_refused(bad: float) -> None:
    with pytest.raises(InputError, match=f"roughing step {bad} mm: expected a length above zero"):
        PassRule(bad)
    with pytest.raises(InputError, match=f"last pass {bad} mm: expected a length above zero"):
        PassRule(0.2, last_steps=(0.03, bad))
    if bad != 0.0:
        with pytest.raises(InputError, match=f"least chip {bad} mm: expected a length of 0 or more"):
            PassRule(0.2, least_chip=bad)
    if bad < 1.0 or math.isnan(bad):
        with pytest.raises(InputError, match=f"taper share {bad}: expected between 0 and 1"):
            PassRule(0.2, taper_share=bad)


def test_allowed_ladders() -> None:
    assert PassRule(0.2, last_steps=(0.02, 0.02), taper_share=0.999, least_chip=0.0).least_chip == 0.0
    with pytest.raises(InputError, match=r"last passes 0\.02, 0\.01, 0\.011 mm: expected none larger"):
        PassRule(0.2, last_steps=(0.02, 0.01, 0.011))
    with pytest.raises(InputError, match=r"taper share 1\.0"):
        PassRule(0.2, taper_share=1.0)


# The floor and the drill


@dataclass(frozen=True)
class Stated:
    """A belief that says what it is told."""

    hard: float = -1.0
    likely: float = -1.06
    above: float = -0.9
    contact_until: float = -0.95

    def contact(self, z: float) -> float:
        return 0.01 if z <= self.contact_until + 1e-12 else 0.0

    def showing(self, z: float) -> float:
        return self.contact(z)

    def hard_floor(self) -> float:
        return self.hard

    def likeliest(self) -> float:
        return self.likely

    def above_layer(self) -> float:
        return self.above


@pytest.mark.parametrize(
    ("rule", "count"),
    [
        (FloorRule(Fraction(1, 100)), -99),  # one step above -1.00
        (FloorRule(Fraction(1, 100), margin=0.0), -99),  # -1.00 would be -0.0394 in, which is -1.00076 mm
        (FloorRule(Fraction(1, 100), margin=0.045), -95),
        (FloorRule(Fraction(1, 100), skin=0.12), -94),  # over the likeliest place
        (FloorRule(Fraction(1, 100), margin=0.08, skin=0.12), -92),
        (FloorRule(Fraction(1, 100), aim=FloorAim.ABOVE_LAYER), -90),
        (FloorRule(Fraction(1, 100), skin=0.2, aim=FloorAim.ABOVE_LAYER), -86),
    ],
)
def test_the_floor_is_the_highest_of_what_is_wanted(rule: FloorRule, count: int) -> None:
    assert rule.count(Stated()) == count


@pytest.mark.parametrize("bad", [-0.01, math.nan, math.inf])
def test_margin_and_skin_of_a_floor_are_lengths(bad: float) -> None:
    with pytest.raises(InputError, match=f"floor margin {bad} mm: expected a length of 0 or more"):
        FloorRule(Fraction(1, 100), margin=bad)
    with pytest.raises(InputError, match=f"skin {bad} mm: expected a length of 0 or more"):
        FloorRule(Fraction(1, 100), skin=bad)
    assert FloorRule(Fraction(1, 100)).margin_used == 0.01
    assert FloorRule(Fraction(1, 100), margin=0.0).margin_used == 0.0


def test_drill_over_a_floor_by_hand() -> None:
    """4 mm at 90 degrees has a point of 2 mm; 0.1 mm above -3.0 its tip, 0.9 mm of full diameter under a face at 0."""
    found = drill_limit(
        face_z=0.0, hard_floor=-3.0, diameter=4.0, point_angle_deg=90.0, resolution=Fraction(1, 10), margin=0.1
    )
    assert (found.tip_count, found.tip_z) == (-29, -2.9)
    assert (found.point_length, found.cylinder_z) == (pytest.approx(2.0), pytest.approx(-0.9))
    assert found.cylinder_depth == pytest.approx(0.9)
    one_step = drill_limit(face_z=0.5, hard_floor=-3.0, diameter=4.0, point_angle_deg=90.0, resolution=Fraction(1, 10))
    assert one_step == replace(found, cylinder_depth=one_step.cylinder_depth)
    assert one_step.cylinder_depth == pytest.approx(1.4)
    none = drill_limit(
        face_z=0.0, hard_floor=-3.0, diameter=4.0, point_angle_deg=90.0, resolution=Fraction(1, 10), margin=0.0
    )
    assert none.tip_count == -30  # -0.1181 in is -2.99974 mm: above the floor as well


@pytest.mark.parametrize(("depth", "possible"), [(0.0, False), (-0.1, False), (1e-6, True), (0.5, True)])
def test_a_drill_of_which_only_the_point_goes_in_makes_no_hole(depth: float, possible: bool) -> None:
    assert DrillLimit(-1, -0.1, 1.0, 0.9, depth).possible is possible


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.001])
def test_margin_under_a_drill_is_a_length(bad: float) -> None:
    with pytest.raises(InputError, match=f"margin {bad} mm: expected a length of 0 or more") as told:
        drill_limit(
            face_z=0.0, hard_floor=-3.0, diameter=4.0, point_angle_deg=90.0, resolution=Fraction(1, 10), margin=bad
        )
    assert told.value.key == "margin"


@pytest.mark.parametrize(("tip", "floor"), [(math.inf, 0.0), (0.0, math.inf), (0.0, math.nan), (math.nan, 0.0)])
def test_a_tip_and_a_floor_are_heights(tip: float, floor: float) -> None:
    with pytest.raises(InputError, match=f"tip {tip} mm and hard floor {floor} mm: expected finite heights"):
        tip_below_hard_floor(tip, floor)


def test_a_tip_on_the_floor_is_not_below_it() -> None:
    assert tip_below_hard_floor(-1.5, -1.5) == 0.0
    assert tip_below_hard_floor(-1.4, -1.5) == 0.0
    assert tip_below_hard_floor(-1.75, -1.5) == 0.25


# The faces before looking


def bar_and_sheet(bond: float | None = 0.1, *, bar_within: float = 0.03, bond_within: float = 0.04) -> TouchedStack:
    layers = [Layer.of("bar", 1.0, within=bar_within), Layer.of("sheet", 0.6, within=0.0, keep=True)]
    if bond is not None:
        layers.insert(1, Layer.of("solder", bond, within=bond_within))
    return TouchedStack(LayerStack(tuple(layers)), HeightTouch("bar", "x", 0.0, 0.0), Fraction(1, 100), 0.0)


def faces(rule: DoubtRule = DoubtRule.ROOT_OF_SQUARES, k: float = 2.0) -> Faces:
    touched = bar_and_sheet()
    return Faces(touched.substrate_z, touched.layer_top_z, rule, k)


SHEET_SPREAD, TOP_SPREAD = 0.05 / ROOT_3, 0.03 / ROOT_3
"""Bar 1 +- 0.03 and solder 0.1 +- 0.04: the sheet at -1.1 within sqrt(0.03^2 + 0.04^2), the solder's top at -1."""


def test_faces_by_hand() -> None:
    found = faces()
    for z in (-1.2, -1.1, -1.05, -1.0, -0.9):
        assert found.contact(z) == pytest.approx(norm.sf((z + 1.1) / SHEET_SPREAD), rel=1e-9)
        assert found.showing(z) == pytest.approx(norm.sf((z + 1.0) / TOP_SPREAD), rel=1e-9)
        wanted = max(0.0, norm.sf((z + 1.0) / TOP_SPREAD) - norm.sf((z + 1.1) / SHEET_SPREAD))
        assert chance_in_layer(found, z) == pytest.approx(wanted, abs=1e-12)
    assert found.doubt() == pytest.approx(2 * SHEET_SPREAD)
    assert found.hard_floor() == pytest.approx(-1.1 + 2 * SHEET_SPREAD)
    assert found.likeliest() == pytest.approx(-1.1)
    assert found.above_layer() == pytest.approx(-1.0 + 2 * TOP_SPREAD)
    assert found.correlation == pytest.approx(0.6)  # the bar's 0.03 of 0.05
    worst = faces(DoubtRule.WORST_CASE)
    assert worst.doubt() == pytest.approx(0.07)
    assert worst.hard_floor() == pytest.approx(-1.03)
    assert worst.above_layer() == pytest.approx(-0.97)
    assert Faces(Estimate(-1.1), Estimate(-1.0)).correlation == 0.0
    assert Faces(Estimate(-1.1), Estimate(-1.0)).sureness == 3.0


def test_a_face_without_doubt_is_a_step() -> None:
    sure = Faces(Estimate(-1.1), Estimate(-1.0))
    assert LEAST_STANDARD == 1e-9
    assert [sure.contact(-1.1 + d) for d in (-1e-6, 0.0, 1e-6)] == [1.0, 0.5, 0.0]
    assert [sure.showing(-1.0 + d) for d in (-1e-6, 0.0, 1e-6)] == [1.0, 0.5, 0.0]


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_sureness_of_the_faces_is_above_zero(bad: float) -> None:
    with pytest.raises(InputError, match=f"sureness {bad}: expected a number above zero, such as 3") as told:
        Faces(Estimate(-1.0), Estimate(-0.9), sureness=bad)
    assert told.value.key == "sureness"


@pytest.mark.parametrize(("k", "rule"), [(1.0, DoubtRule.ROOT_OF_SQUARES), (3.0, DoubtRule.WORST_CASE)])
def test_window_inside_the_layer_by_hand(k: float, rule: DoubtRule) -> None:
    found = layer_window(faces(rule, k))
    worst = rule is DoubtRule.WORST_CASE
    assert found.low == pytest.approx(-1.03 if worst else -1.1 + SHEET_SPREAD)
    assert found.high == pytest.approx(-1.03 if worst else -1.0 - TOP_SPREAD)

    def slope(z: float) -> float:  # of the chance inside: it is greatest where the two densities are the same
        return float(norm.pdf(z, -1.1, SHEET_SPREAD) - norm.pdf(z, -1.0, TOP_SPREAD))

    best = brentq(slope, -1.08, -1.01)
    assert found.best_z == pytest.approx(best, abs=1e-7)
    assert found.best_chance == pytest.approx(norm.sf((best + 1.0) / TOP_SPREAD) - norm.sf((best + 1.1) / SHEET_SPREAD))


@pytest.mark.parametrize(("low", "high", "exists"), [(-1.0, -0.9, True), (-1.0, -1.0, True), (-1.0, -1.001, False)])
def test_a_window_may_be_a_single_height(low: float, high: float, exists: bool) -> None:
    assert LayerWindow(low, high, -1.0, 0.5).exists is exists


# What was seen


def test_bounds_are_narrowed_to_both_sides() -> None:
    assert ANYWHERE.is_open
    low = ANYWHERE.narrowed(low=-1.0)
    assert (low, low.is_open) == (Bounds(-1.0, math.inf), False)
    assert ANYWHERE.narrowed(high=2.0) == Bounds(-math.inf, 2.0)
    assert not ANYWHERE.narrowed(high=2.0).is_open
    assert low.narrowed(low=-2.0, high=3.0) == Bounds(-1.0, 3.0)
    assert low.narrowed(low=-0.5).narrowed(high=1.0).narrowed(high=4.0) == Bounds(-0.5, 1.0)


FOUR = TouchedStack(
    LayerStack(
        (
            Layer.of("bar", 3.0, within=0.05),
            Layer.of("plate", 0.5, within=0.02),
            Layer.of("solder", 0.1, within=0.02),
            Layer.of("sheet", 0.6, within=0.0, keep=True),
            Layer.of("former", 9.0, within=0.0, keep=True),
        )
    ),
    HeightTouch("bar"),
    Fraction(1, 100),
)


def test_each_answer_bounds_the_faces_above_and_below() -> None:
    everywhere = ANYWHERE
    assert face_bounds(FOUR, []) == (everywhere,) * 4
    under = Bounds(high=-2.9)
    assert face_bounds(FOUR, [Answer("bar", -2.9)]) == (everywhere, under, under, under)
    plate = face_bounds(FOUR, [Answer("bar", -2.9), Answer("plate", -3.1)])
    assert plate == (everywhere, Bounds(-3.1, -2.9), Bounds(high=-3.1), Bounds(high=-3.1))
    solder = face_bounds(FOUR, [Answer("plate", -3.1), Answer("solder", -3.55)])
    assert solder == (everywhere, Bounds(-3.1), Bounds(-3.55, -3.1), Bounds(high=-3.55))


def test_one_height_cannot_be_bar_and_layer_at_once() -> None:
    for second in (-3.0, -2.9):
        with pytest.raises(
            InputError, match=rf'answers contradict each other: "plate" at {second:.4f} mm; "bar" at -3.0000 mm. Look'
        ) as told:
            face_bounds(FOUR, [Answer("plate", second), Answer("bar", -3.0)])
        assert told.value.key == "answer"
    assert face_bounds(FOUR, [Answer("plate", -3.01), Answer("bar", -3.0)])[1] == Bounds(-3.01, -3.0)


@pytest.mark.parametrize("layer", ["sheet", "former", "bare sheet"])
def test_sheet_or_what_is_under_it_ends_the_work(layer: str) -> None:
    seen = Answer(layer, -3.65)
    assert sheet_seen(FOUR, [Answer("solder", -3.5), seen]) is seen
    assert sheet_seen(FOUR, [Answer("solder", -3.5)]) is None
    with pytest.raises(InputError, match=f'"{layer}" bare at -3.6500 mm: nothing is left to mill') as told:
        face_bounds(FOUR, [seen])
    assert (told.value.key, told.value.value) == ("answer", layer)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_an_answer_has_a_height(bad: float) -> None:
    with pytest.raises(InputError, match=f'answer "bar": height {bad} mm: expected a finite number') as told:
        Answer("bar", bad)
    assert told.value.key == "answer"


# All heights together


def request(**more: object) -> HeightsRequest:
    return HeightsRequest(bar_and_sheet(), PassRule(0.3), **{"sureness": 2.0} | more)  # type: ignore[arg-type]


def test_what_is_asked_for_when_nothing_is_said() -> None:
    assert (SURENESS, STOP_CHANCE, SHOWING_CHANCE, LEAST_CHANCE) == (3.0, 0.001, 0.1, 1e-5)
    plain = HeightsRequest(bar_and_sheet(), PassRule(0.3))
    assert (plain.sureness, plain.skin, plain.stop_chance, plain.answers) == (3.0, 0.0, 0.001, ())
    assert plain.faces == Faces(plain.touched.substrate_z, plain.touched.layer_top_z, DoubtRule.ROOT_OF_SQUARES, 3.0)
    assert plain.floor_rule == FloorRule(Fraction(1, 100), None, 0.0, FloorAim.INTO_LAYER)


def test_heights_by_hand() -> None:
    """Hard floor -1.1 + 2 * 0.0289 = -1.0423; one step of 0.01 above it -1.0323, so -1.03, which is -0.0406 in."""
    found = plan_heights(request(), with_looks=False)
    assert found.hard_floor == pytest.approx(-1.1 + 2 * SHEET_SPREAD)
    assert (found.floor_count, found.floor) == (-103, -1.03)
    assert (found.start_count, found.start) == (0, 0.0)
    assert found.sheet_gap == pytest.approx(0.07)
    assert found.sheet_standard == pytest.approx(SHEET_SPREAD)
    assert found.looks == ()
    assert not found.below_hard_floor
    assert found.answers_chance == 1.0
    assert found.window == layer_window(faces())
    # Last passes 2 and 1 steps. Contact is likelier than a thousandth up to 3.09 spreads, -1.0108: two steps above the
    # floor. Upward 1, 2, then half of what is above, 3, 6, 12, 24, then 30 and 30; of these 5 too many in the two
    assert [p.step_count for p in found.passes] == [28, 27, 24, 12, 6, 3, 2, 1]
    assert [p.number for p in found.passes] == list(range(1, len(found.passes) + 1))
    count = 0
    for p in found.passes:
        count -= p.step_count
        assert (p.count, p.z, p.step) == (count, count / 100, p.step_count / 100)
        assert p.contact == pytest.approx(norm.sf((p.z + 1.1) / SHEET_SPREAD), rel=1e-9)
        assert p.showing == pytest.approx(norm.sf((p.z + 1.0) / TOP_SPREAD), rel=1e-9)
        assert p.in_layer == pytest.approx(p.showing - p.contact if p.showing > p.contact else 0.0)
        assert p.stop is (p.contact >= 0.001 or p.showing >= 0.1 or p.number > len(found.passes) - 2)
    assert count == -103
    assert found.stops == tuple(p for p in found.passes if p.stop)


def test_without_a_bond_nothing_lies_inside_it() -> None:
    touched = bar_and_sheet(None)
    found = plan_heights(HeightsRequest(touched, PassRule(0.3)), with_looks=False)
    assert found.window is None
    assert all(p.in_layer == 0.0 for p in found.passes)
    assert all(p.showing == p.contact for p in found.passes)


def test_a_layer_that_may_show_makes_a_stop_of_a_pass_that_cannot_touch() -> None:
    """Solder 0.5 thick: contact cannot be, its top shows with one in ten from 1.28 spreads, 22 microns, above -1 on."""
    touched = bar_and_sheet(0.5)
    found = plan_heights(
        HeightsRequest(touched, PassRule(0.1, last_steps=(0.05,)), asked_floor=-1.2, stop_chance=0.9), with_looks=False
    )
    assert all(p.contact < 0.9 for p in found.passes)
    assert [p.stop for p in found.passes] == [p.z <= -1.0 + 1.2815 * TOP_SPREAD for p in found.passes]
    assert sum(p.stop for p in found.passes) > 2


def test_only_the_last_passes_are_stops_far_above_the_sheet() -> None:
    found = plan_heights(request(asked_floor=-0.5), with_looks=False)
    assert [p.stop for p in found.passes] == [False] * (len(found.passes) - 2) + [True, True]
    assert found.floor_count == -50


@pytest.mark.parametrize(
    ("limit", "steps"), [(-0.95, 6), (-0.951, 5), (-1.0, 1), (-1.01, 0), (-0.5, 50), (-0.51, 50), (-0.52, 49)]
)
def test_how_far_above_the_floor_passes_end_finely(limit: float, steps: int) -> None:
    """Floor -1.00, start -0.50: the chance stays at the limit up to a height, and the first step above it is free."""
    belief = Stated(contact_until=limit)
    assert _zone(belief, 0.01, -100, -50, Fraction(1, 100)) == steps
    assert _zone(belief, 0.011, -100, -50, Fraction(1, 100)) == 0


def test_a_floor_at_the_start_leaves_no_pass() -> None:
    assert plan_heights(request(asked_floor=0.0)).passes == ()
    assert plan_heights(request(asked_floor=0.5)).passes == ()
    assert [p.count for p in plan_heights(request(asked_floor=-0.01), with_looks=False).passes] == [-1]


def test_an_asked_floor_on_the_hard_floor_and_below_it() -> None:
    hard = -1.1 + 2 * SHEET_SPREAD  # -1.0423
    above = plan_heights(request(asked_floor=-1.035), with_looks=False)
    assert (above.floor_count, above.below_hard_floor) == (-103, False)
    below = plan_heights(request(asked_floor=-1.05))
    assert (below.floor_count, below.below_hard_floor, below.passes) == (-105, True, ())
    assert below.hard_floor == pytest.approx(hard)
    for bad in (math.nan, -math.inf):
        with pytest.raises(InputError, match="expected a finite height"):
            request(asked_floor=bad)


@pytest.mark.parametrize("bad", [0.0, 1.0])
def test_a_stop_has_a_chance(bad: float) -> None:
    with pytest.raises(InputError, match=f"chance for a stop {bad}: expected between 0 and 1") as told:
        request(stop_chance=bad)
    assert told.value.key == "stop_chance"


def seen_heights(**more: object) -> StepDownHeights:
    return plan_heights(request(answers=(Answer("bar", -0.98), Answer("bar", -1.0)), **more), with_looks=False)


def test_after_answers_the_cut_goes_on_from_the_lowest() -> None:
    found = seen_heights()
    belief = SeenFaces.after(bar_and_sheet(), faces(), (Answer("bar", -0.98), Answer("bar", -1.0)))
    assert found.belief == belief
    assert (found.start_count, found.start) == (-100, -1.0)
    assert found.hard_floor == belief.hard_floor()
    assert found.answers_chance == belief.chance_of_answers()
    assert found.sheet_standard == pytest.approx((belief.hard_floor() - belief.likeliest()) / 2.0)
    assert found.sheet_gap == pytest.approx(found.floor - belief.likeliest())
    assert [p.count for p in found.passes][-1] == found.floor_count == FloorRule(Fraction(1, 100)).count(belief)
    worst = seen_heights(rule=DoubtRule.WORST_CASE)
    assert worst.sheet_standard == pytest.approx(SHEET_SPREAD)


def test_the_table_of_looks_row_by_row() -> None:
    touched, prior, rule = bar_and_sheet(), faces(), FloorRule(Fraction(1, 100))
    before = (Answer("bar", -0.9),)
    rows = look_table(touched, prior, rule, [(3, -98), (4, -100)], before)
    assert [(r.number, r.count, r.z) for r in rows] == [(3, -98, -0.98), (4, -100, -1.0)]
    so_far = before
    for row in rows:
        for outcome, name in ((row.still_bar, "bar"), (row.layer_showing, "solder")):
            assert outcome is not None
            assert outcome.answer == Answer(name, row.z)
            belief = SeenFaces.after(touched, prior, (*so_far, outcome.answer))
            earlier = SeenFaces.after(touched, prior, so_far).chance_of_answers()
            assert outcome.chance == pytest.approx(belief.chance_of_answers() / earlier)
            assert outcome.hard_floor == belief.hard_floor()
            assert outcome.next_floor_count == min(rule.count(belief), row.count)
            assert outcome.next_floor == outcome.next_floor_count / 100
            assert outcome.ends_here is (outcome.next_floor_count == row.count)
        so_far = (*before, Answer("bar", row.z))
    shown = look_table(touched, prior, rule, [(5, -101), (6, -102)], (Answer("solder", -1.0),))
    assert [r.still_bar for r in shown] == [None, None]
    assert all(r.layer_showing is not None for r in shown)
    # The solder shows already, so it shows lower down too, unless the sheet does: next to nothing new is learned
    chances = [r.layer_showing.chance for r in shown if r.layer_showing]
    assert 0.99 < chances[1] < chances[0] < 1.0


def test_an_answer_that_can_hardly_come_has_no_row() -> None:
    touched, prior, rule = bar_and_sheet(), faces(), FloorRule(Fraction(1, 100))
    (high,) = look_table(touched, prior, rule, [(1, -80)])
    assert high.layer_showing is None  # 11 spreads above the solder
    assert high.still_bar is not None
    assert high.still_bar.chance == pytest.approx(1.0)
    (low,) = look_table(touched, prior, rule, [(1, -120)])
    assert low.still_bar is None
    (contradiction,) = look_table(touched, prior, rule, [(1, -90)], (Answer("bar", -0.95),))
    assert contradiction.layer_showing is None


def test_the_layer_that_is_cut_away_first() -> None:
    assert bar_above(FOUR.stack) == "plate"
    assert bar_above(bar_and_sheet().stack) == "bar"
    assert bar_above(bar_and_sheet(None).stack) == "bar"


# Words


@pytest.mark.parametrize(
    ("name", "stated", "colour"),
    [
        ("copper hood", "", "pink"),
        ("Brass Rail", "", "yellow"),
        ("nickel silver plate", "", "warm white"),
        ("silver", "", "white"),
        ("silver solder", "", "white"),
        ("soft solder", "", "grey"),
        ("soft solder", "bright", "bright"),
        ("wood", "", ""),
    ],
)
def test_colour_of_a_fresh_cut(name: str, stated: str, colour: str) -> None:
    assert colour_of(name, stated) == colour


def test_words_of_a_look() -> None:
    layers = (
        Layer("wood bar", Estimate(3.0)),
        Layer("soft solder", Estimate(0.1), looks="dull"),
        Layer("copper hood", Estimate(0.6), keep=True),
    )
    words = look_words(LayerStack(layers))
    assert "only wood bar, or soft solder (dull) showing anywhere?" in words.look_for
    assert words.still_bar == "Still only wood bar, everywhere: the next floor for this answer holds."
    assert words.layer_shows.startswith('"soft solder" shows: write down where')
    assert words.sheet_shows == "Copper hood (pink) shows, even as a line: stop, lift straight up, mill no more."
    bare = look_words(LayerStack((Layer("brass bar", Estimate(3.0)), layers[2])))
    assert "only brass bar (yellow), or the line of the copper hood (pink) at the edge" in bare.look_for
    assert bare.layer_shows.startswith("There is no bonding layer to warn")


def test_every_item_of_the_practice_has_words_and_a_source() -> None:
    assert len({item.code for item in CHECK_LIST}) == len(CHECK_LIST) == 12
    assert all(item.text.endswith(".") and item.source == "common practice" for item in CHECK_LIST)
    assert REMOVAL_METHODS[0].name == "scraper"
    assert all(m.cautions and m.how and m.source == "common practice" for m in REMOVAL_METHODS)


def test_a_spread_known_only_as_such_counts_in_the_faces() -> None:
    found = Faces(Estimate.of(-1.0, Term.spread("sheet", 0.02)), Estimate(-0.9), DoubtRule.WORST_CASE)
    assert found.hard_floor() == pytest.approx(-0.94)
