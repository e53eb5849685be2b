"""The ladder of passes and the floor: never below the hard floor, however it is written; order, sums, last passes."""

from __future__ import annotations

import itertools
import math
import random
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.cuts.layer_estimates import DoubtRule
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.step_down_floor import FloorAim, FloorRule
from holecam.cuts.step_down_heights import HeightsRequest, StepDownHeights, plan_heights
from holecam.cuts.step_down_passes import (
    LAST_STEPS,
    PassRule,
    floor_count,
    lowest_written,
    step_counts,
    steps_within,
)
from holecam.errors import InputError

INCH = 25.4
THOU = Fraction(254, 10_000)
RESOLUTIONS = (THOU / 2, THOU / 10, THOU, Fraction(5, 1000), Fraction(1, 1000), Fraction(1, 100))


def written(z: Fraction) -> list[Decimal]:
    """Return the height in mm as readout, mm program and inch program state it, by another rounding library."""
    exact = Decimal(z.numerator) / Decimal(z.denominator)
    in_mm = exact.quantize(Decimal("0.001"), ROUND_HALF_UP)
    in_inch = (exact / Decimal("25.4")).quantize(Decimal("0.0001"), ROUND_HALF_UP) * Decimal("25.4")
    return [exact, in_mm, in_inch]


def random_stack(rng: random.Random) -> tuple[StepDownHeights, float]:
    """Return planned heights and the hard floor by a sum of its own."""
    bar, bond = rng.uniform(0.3, 4.0), rng.uniform(0.01, 0.3)
    bar_within, bond_within = rng.uniform(0.0, 0.05), rng.uniform(0.0, 1.2) * bond
    offset, touch_within = rng.uniform(-0.01, 0.12), rng.uniform(0.0, 0.03)
    step, k = rng.choice(RESOLUTIONS), rng.uniform(0.5, 4.0)
    on_sheet, worst = rng.random() < 0.4, rng.random() < 0.3
    stack = LayerStack(
        (
            Layer.of("bar", bar, within=bar_within),
            Layer.of("bond", bond, within=bond_within),
            Layer.of("sheet", 0.6, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("sheet" if on_sheet else "bar", "x", offset, touch_within), step)
    passes = PassRule(rng.uniform(0.1, 0.6), taper_share=rng.uniform(0.35, 0.6))
    heights = plan_heights(
        HeightsRequest(
            touched,
            passes,
            rule=DoubtRule.WORST_CASE if worst else DoubtRule.ROOT_OF_SQUARES,
            sureness=k,
            floor_margin=rng.choice([None, 0.0, rng.uniform(0.0, 0.05)]),
            skin=rng.choice([0.0, rng.uniform(0.0, 0.05)]),
        ),
        with_looks=False,
    )
    set_to = float(written_half_up(offset / float(step)) * step)
    withins = [touch_within, float(step)] + ([] if on_sheet else [bar_within, bond_within])
    doubt = sum(withins) if worst else k * math.sqrt(sum(w * w for w in withins) / 3.0)
    sheet = set_to - offset - (0.0 if on_sheet else bar + bond)
    return heights, sheet + doubt


def written_half_up(value: float) -> int:
    return int(math.copysign(math.floor(abs(value) + 0.5), value))


def check_heights(heights: StepDownHeights, hard_floor: float) -> None:
    assert heights.hard_floor == pytest.approx(hard_floor, abs=1e-9)
    limit = Decimal(hard_floor) - Decimal("2e-9")  # arithmetic of the two sums
    count, before = heights.start_count, None
    for p in heights.passes:
        assert p.count == count - p.step_count
        assert p.step_count > 0
        assert before is None or p.step_count <= before
        count, before = p.count, p.step_count
    if heights.passes:
        assert count == heights.floor_count  # the last pass lands on the floor exactly
        for z in (heights.passes[0].count, heights.passes[-1].count):
            assert min(written(z * heights.resolution)) >= limit
        lowest = min(heights.passes, key=lambda p: p.count)
        assert lowest is heights.passes[-1]
    else:
        assert heights.floor_count >= heights.start_count


@given(st.integers(0, 10**9))
def test_no_pass_lies_below_the_hard_floor(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(4):
        check_heights(*random_stack(rng))


@pytest.mark.slow
def test_no_pass_lies_below_the_hard_floor_in_a_hundred_thousand_stacks() -> None:
    rng = random.Random(20260)
    cut = 0
    for _ in range(100_000):
        heights, hard = random_stack(rng)
        check_heights(heights, hard)
        cut += bool(heights.passes)
    assert cut > 90_000


@given(
    st.integers(1, 4000),
    st.floats(0.05, 0.6),
    st.sampled_from(RESOLUTIONS),
    st.integers(0, 40),
    st.floats(0.0, 0.02),
)
def test_steps_sum_exactly_and_never_grow(total: int, rough: float, step: Fraction, zone: int, chip: float) -> None:
    rule = PassRule(rough, least_chip=chip)
    steps = step_counts(start=total, floor=0, rule=rule, resolution=step, fine_zone=zone)
    assert sum(steps) == total
    assert all(a >= b >= 1 for a, b in itertools.pairwise(steps))
    assert steps[0] <= max(1, steps_within(rough, step))
    last = rule.last_counts(step)
    below = 0
    for count in reversed(steps):
        if below < zone or below == 0:
            assert count <= last[0]  # passes that end where one looks are fine ones
        below += count


@pytest.mark.outside_check(
    subject="last passes",
    source="0.001 in, then 0.0005 in",
    closeness="exact",
    standing="common practice",
)
def test_default_tail_ends_in_a_thousandth_and_half_a_thousandth() -> None:
    # last passes over a thin sheet 0.001 in, then 0.0005 in: common practice, design page section 9
    assert pytest.approx((0.001 * INCH, 0.0005 * INCH)) == LAST_STEPS
    steps = step_counts(start=0, floor=-373, rule=PassRule(0.25), resolution=THOU / 2)
    assert steps[-2:] == (2, 1)
    fine = step_counts(start=0, floor=-373, rule=PassRule(0.25), resolution=THOU / 10)
    assert sum(fine) == 373
    assert fine[-2:] == (10, 5)
    assert all(later >= 0.4 * earlier for earlier, later in itertools.pairwise(steps))  # it tapers


def test_told_last_passes_are_kept_and_a_coarse_readout_rounds_down() -> None:
    rule = PassRule(0.3, last_steps=(0.05, 0.03, 0.02))
    assert step_counts(start=300, floor=0, rule=rule, resolution=Fraction(1, 200))[-3:] == (10, 6, 4)
    metric = step_counts(start=300, floor=0, rule=PassRule(0.3), resolution=Fraction(1, 200))
    assert metric[-2:] == (5, 2)  # 0.025 and 0.010 mm: never larger than told


def test_little_metal_takes_fewer_passes_instead_of_slivers() -> None:
    rule = PassRule(0.3, last_steps=(0.03, 0.02), least_chip=0.02)
    assert step_counts(start=5, floor=0, rule=rule, resolution=Fraction(1, 100)) == (3, 2)
    assert step_counts(start=1, floor=0, rule=rule, resolution=Fraction(1, 100)) == (1,)
    assert step_counts(start=0, floor=0, rule=rule, resolution=Fraction(1, 100)) == ()


def test_floor_rounds_up_away_from_the_sheet() -> None:
    # -0.18735 in: the readout of 0.0005 in shows -0.1870, not the nearer -0.1875
    hard = -0.18735 * INCH
    assert floor_count(hard, wanted=hard, resolution=THOU / 2) == -374
    # -4.7625 mm is a readout step; written with three decimals it would be -4.763, below a floor just under it
    hard = -4.7626
    count = floor_count(hard, wanted=hard, resolution=THOU / 2)
    assert count == -374
    assert lowest_written(-375, THOU / 2) == Fraction(-4763, 1000)


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        ({"rough_step": 0.0}, "roughing step 0.0 mm: expected a length above zero"),
        ({"rough_step": math.nan}, "expected a length above zero"),
        ({"rough_step": 0.2, "last_steps": ()}, "expected at least one"),
        ({"rough_step": 0.2, "last_steps": (0.01, 0.02)}, "none larger than the one before"),
        ({"rough_step": 0.2, "taper_share": 1.0}, "taper share 1.0: expected between 0 and 1"),
        ({"rough_step": 0.2, "least_chip": -0.1}, "least chip -0.1 mm"),
    ],
)
def test_wrong_rules_are_named(rule: dict[str, object], message: str) -> None:
    with pytest.raises(InputError, match=message):
        PassRule(**rule)  # type: ignore[arg-type]


def test_roughing_step_below_the_last_passes_is_refused() -> None:
    with pytest.raises(InputError, match="expected at least the first of the last passes"):
        step_counts(start=100, floor=0, rule=PassRule(0.01), resolution=THOU / 10)


def test_floor_above_start_is_refused() -> None:
    with pytest.raises(InputError, match="lies above the start"):
        step_counts(start=0, floor=1, rule=PassRule(0.2), resolution=THOU)


def rail(face: str = "bar") -> TouchedStack:
    stack = LayerStack(
        (
            Layer.of("bar", 3 / 16 * INCH, within=0.001 * INCH),
            Layer.of("solder", 0.004 * INCH, within=0.002 * INCH),
            Layer.of("sheet", 0.025 * INCH, within=0.0, keep=True),
        )
    )
    return TouchedStack(stack, HeightTouch(face, "x", 0.0, 0.005), THOU / 2)


def test_stops_begin_at_the_stated_chance_and_the_last_passes_always_stop() -> None:
    for chance in (1e-9, 1e-5, 1e-3, 0.02):
        heights = plan_heights(HeightsRequest(rail(), PassRule(0.25), stop_chance=chance), with_looks=False)
        for p in heights.passes:
            if p.contact >= chance:
                assert p.stop
                assert p.step <= LAST_STEPS[0] + 1e-12
        assert heights.passes[-1].stop
        assert not heights.passes[0].stop
        flags = [p.stop for p in heights.passes]
        assert flags == sorted(flags)  # once begun, every pass is a stop


def test_every_pass_above_the_stated_chance_is_a_stop_whatever_shows() -> None:
    stack = LayerStack((Layer.of("bar", 3.0, within=0.05), Layer.of("sheet", 0.6, within=0.0, keep=True)))
    touched = TouchedStack(stack, HeightTouch("bar"), Fraction(1, 200))
    heights = plan_heights(HeightsRequest(touched, PassRule(0.25), sureness=1.0, stop_chance=0.001), with_looks=False)
    unlikely = [p for p in heights.passes[: -len(LAST_STEPS)] if 0.001 <= p.contact < 0.01]
    assert unlikely
    assert all(p.stop for p in unlikely)
    assert not any(p.stop for p in heights.passes if p.contact < 0.001)


def test_skin_margin_and_aim_raise_the_floor() -> None:
    def floor(**more: object) -> float:
        return plan_heights(HeightsRequest(rail("sheet"), PassRule(0.25), **more), with_looks=False).floor  # type: ignore[arg-type]

    base = floor()
    assert floor(skin=0.05) >= 0.05
    assert floor(skin=0.05) > base
    assert floor(floor_margin=0.04) >= base + 0.02
    above = floor(aim=FloorAim.ABOVE_LAYER)
    assert above >= 0.004 * INCH + 3 * rail("sheet").layer_top_z.standard
    with pytest.raises(InputError, match=r"skin -0.1 mm: expected a length of 0 or more"):
        FloorRule(THOU, skin=-0.1)


def test_asked_floor_below_the_hard_floor_is_never_clamped() -> None:
    heights = plan_heights(HeightsRequest(rail(), PassRule(0.25), asked_floor=-5.0))
    assert heights.below_hard_floor
    assert heights.passes == ()
    fine = plan_heights(HeightsRequest(rail(), PassRule(0.25), asked_floor=-4.0))
    assert not fine.below_hard_floor
    assert fine.passes[-1].z == pytest.approx(-4.0, abs=0.0127)
    assert fine.passes[-1].z >= -4.0


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.1, 1.5, math.nan])
def test_a_chance_for_stops_lies_between_none_and_all(chance: float) -> None:
    with pytest.raises(InputError, match=f"chance for a stop {chance}: expected between 0 and 1"):
        HeightsRequest(rail(), PassRule(0.2), stop_chance=chance)
    assert HeightsRequest(rail(), PassRule(0.2), stop_chance=0.999).stop_chance == 0.999
    for floor in (math.nan, math.inf):
        with pytest.raises(InputError, match=f"floor {floor} mm: expected a finite height"):
            HeightsRequest(rail(), PassRule(0.2), asked_floor=floor)


def test_a_tail_takes_half_of_what_lies_above_the_floor_each_time() -> None:
    """Upward from the floor in ten-thousandths of an inch: 5, 10, and then as much as lies below: 15, 30, 60, 120."""
    halves = step_counts(start=240, floor=0, rule=PassRule(10.0), resolution=THOU / 10)
    assert halves == (120, 60, 30, 15, 10, 5)
    # 0.4 of what is above: two thirds of what lies below, 10 (never less than the pass after), 16, 27, 45
    slower = step_counts(start=113, floor=0, rule=PassRule(10.0, taper_share=0.4), resolution=THOU / 10)
    assert slower == (45, 27, 16, 10, 10, 5)
    # The set-up bears 0.002 in: no pass takes more, and all of it comes off
    rough = step_counts(start=95, floor=0, rule=PassRule(0.0508), resolution=THOU / 10)
    assert max(rough) <= 20
    assert sum(rough) == 95
    assert rough[-2:] == (10, 5)
