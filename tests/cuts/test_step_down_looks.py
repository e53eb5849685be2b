"""What a look is worth: the belief after answers against a simulation, the worst case against a linear program."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import optimize

from holecam.cuts.layer_estimates import DoubtRule, Estimate, Term, covariance
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.step_down_answers import Answer, Bounds, face_bounds, sheet_seen
from holecam.cuts.step_down_belief import SeenFaces
from holecam.cuts.step_down_chance import Faces, normal_chance
from holecam.cuts.step_down_floor import FloorRule
from holecam.cuts.step_down_heights import HeightsRequest, plan_heights
from holecam.cuts.step_down_looks import look_table
from holecam.cuts.step_down_passes import PassRule
from holecam.cuts.step_down_practice import look_words
from holecam.errors import InputError

INCH = 25.4
STEP = Fraction(254, 20_000)
TRIALS = 800_000


def rail(face: str = "rail", **more: object) -> TouchedStack:
    stack = LayerStack(
        (
            Layer.of("rail", 0.1875 * INCH, within=0.001 * INCH),
            Layer.of("solder", 0.004 * INCH, within=0.002 * INCH),
            Layer.of("hood", 0.025 * INCH, within=0.0, keep=True),
        )
    )
    return TouchedStack(stack, HeightTouch(face, "paper", 0.0889, 0.02), STEP, **more)  # type: ignore[arg-type]


def faces_of(touched: TouchedStack, rule: DoubtRule = DoubtRule.ROOT_OF_SQUARES, k: float = 3.0) -> Faces:
    return Faces(touched.substrate_z, touched.layer_top_z, rule, k)


def simulated(estimates: list[Estimate], seed: int) -> NDArray[np.float64]:
    """Return draws of the faces, shape (n, faces), from independent normal errors of the named terms."""
    rng = np.random.default_rng(seed)
    errors: dict[str, NDArray[np.float64]] = {}
    columns = []
    for estimate in estimates:
        column = np.full(TRIALS, estimate.value)
        for term, share in estimate.parts:
            if term.name not in errors:
                errors[term.name] = rng.normal(0.0, term.standard, TRIALS)
            column += share * errors[term.name]
        columns.append(column)
    return np.column_stack(columns)


CASES: list[tuple[str, list[Answer], Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.bool_]]]] = [
    ("rail", [Answer("rail", -0.1870 * INCH)], lambda top, _: top < -0.1870 * INCH),
    ("rail", [Answer("rail", -0.1885 * INCH)], lambda top, _: top < -0.1885 * INCH),
    (
        "rail",
        [Answer("rail", -0.1870 * INCH), Answer("solder", -0.1875 * INCH)],
        lambda top, sheet: (top < -0.1870 * INCH) & (top >= -0.1875 * INCH) & (sheet < -0.1875 * INCH),
    ),
    (
        "rail",
        [Answer("solder", -0.1875 * INCH), Answer("solder", -0.1895 * INCH)],
        lambda top, sheet: (top >= -0.1875 * INCH) & (sheet < -0.1895 * INCH),
    ),
    ("hood", [Answer("rail", 0.003 * INCH)], lambda top, _: top < 0.003 * INCH),
    (
        "hood",
        [Answer("solder", 0.002 * INCH)],
        lambda top, sheet: (top >= 0.002 * INCH) & (sheet < 0.002 * INCH),
    ),
]


@pytest.mark.parametrize(("face", "answers", "kept"), CASES)
def test_belief_after_answers_against_a_simulation(
    face: str,
    answers: list[Answer],
    kept: Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.bool_]],
) -> None:
    touched = rail(face)
    prior = faces_of(touched, k=2.0)
    seen = SeenFaces.after(touched, prior, answers)
    draws = simulated([touched.layer_top_z, touched.substrate_z], seed=3)
    draws = draws[draws[:, 0] >= draws[:, 1]]  # a layer's top lies above its bottom
    chosen = draws[kept(draws[:, 0], draws[:, 1])]
    number = len(chosen)
    assert number > 20_000
    assert seen.chance_of_answers() == pytest.approx(number / len(draws), rel=0.03)
    for quantile in (0.5, 0.9, 0.99):
        z = float(np.quantile(chosen[:, 1], quantile))
        expected = (chosen[:, 1] > z).mean()
        assert seen.contact(z) == pytest.approx(expected, abs=5 * math.sqrt(expected / number))
        height = float(np.quantile(chosen[:, 0], quantile))
        assert seen.showing(height) == pytest.approx((chosen[:, 0] >= height).mean(), abs=5 * math.sqrt(0.5 / number))
    hard = seen.hard_floor()
    assert (chosen[:, 1] > hard).mean() == pytest.approx(normal_chance(-2.0), abs=5 * math.sqrt(0.023 / number))
    assert seen.contact(hard) <= normal_chance(-2.0)
    assert seen.contact(hard - 1e-4) > normal_chance(-2.0)
    assert seen.likeliest() == pytest.approx(
        float(np.median(chosen[:, 1])), abs=6 * chosen[:, 1].std() / math.sqrt(number)
    )
    assert seen.above_layer() == pytest.approx(
        float(np.quantile(chosen[:, 0], 1 - normal_chance(-2.0))), abs=0.02 * chosen[:, 0].std() + 1e-5
    )


@pytest.mark.outside_check(
    subject="belief after a look",
    source="mean of a truncated normal distribution, phi(a) / (1 - Phi(a))",
    closeness="1e-9 of the chance, 2e-5 mm of the mean",
    standing="mathematics",
)
def test_truncated_normal_mean_of_the_handbook_formula() -> None:
    # practice C5: mean mu + s phi(a)/(1 - Phi(a)) for the part beyond a; only the face that was looked at, so the
    # layer itself is made exact and thick
    stack = LayerStack(
        (
            Layer.of("bar", 5.0, within=0.06),
            Layer.of("plate", 1.0, within=0.0),
            Layer.of("sheet", 1.0, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("bar"), Fraction(1, 1000), 0.0)
    seen = SeenFaces.after(touched, faces_of(touched), [Answer("bar", -5.02)])
    s = touched.layer_top_z.standard
    a = 0.02 / s
    chance = normal_chance(-a)
    mean = -5.0 - s * math.exp(-0.5 * a * a) / math.sqrt(2 * math.pi) / chance
    assert seen.chance_of_answers() == pytest.approx(chance, rel=1e-9)
    # the sheet is the layer's top less exactly 1 mm; integrate its chance for the mean
    zs = np.linspace(-6.3, -6.02, 4001)
    contact = np.array([seen.contact(float(z)) for z in zs])
    assert -6.3 + np.trapezoid(contact, zs) == pytest.approx(mean - 1.0, abs=2e-5)


def test_bond_under_two_upper_layers_uses_what_was_seen_of_the_middle_one() -> None:
    stack = LayerStack(
        (
            Layer.of("bar", 3.0, within=0.05),
            Layer.of("plate", 0.5, within=0.04),
            Layer.of("solder", 0.12, within=0.06),
            Layer.of("sheet", 0.6, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("bar", "x", 0.0, 0.02), Fraction(1, 200))
    prior = faces_of(touched, k=2.0)
    answers = [Answer("bar", -2.99), Answer("plate", -3.02)]  # the plate's top lies between
    seen = SeenFaces.after(touched, prior, answers)
    draws = simulated([touched.faces[1], touched.layer_top_z, touched.substrate_z], seed=9)
    keep = (draws[:, 0] < -2.99) & (draws[:, 0] >= -3.02) & (draws[:, 1] < draws[:, 0]) & (draws[:, 2] < draws[:, 1])
    chosen = draws[keep & (draws[:, 1] < -3.02)]
    hard = seen.hard_floor()
    assert (chosen[:, 2] > hard).mean() == pytest.approx(normal_chance(-2.0), abs=5 * math.sqrt(0.023 / len(chosen)))
    assert hard < prior.hard_floor()


def test_shared_terms_that_reach_past_the_layer_are_used_too() -> None:
    # solder measured as "plate and solder less plate": what is learned of the plate's top moves the sheet by itself
    plate = Term.within("thickness of plate", 0.05)
    stack = LayerStack(
        (
            Layer.of("bar", 3.0, within=0.05),
            Layer("plate", Estimate.of(0.5, plate)),
            Layer("solder", Estimate(0.15, ((Term.within("together", 0.02), 1.0), (plate, -0.9))), bond=True),
            Layer.of("sheet", 0.6, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("bar", "x", 0.0, 0.01), Fraction(1, 200))
    prior = faces_of(touched, k=2.0)
    seen = SeenFaces.after(touched, prior, [Answer("bar", -2.97), Answer("plate", -3.03)])
    draws = simulated([touched.faces[1], touched.layer_top_z, touched.substrate_z], seed=13)
    keep = (draws[:, 0] < -2.97) & (draws[:, 0] >= -3.03) & (draws[:, 1] < draws[:, 0]) & (draws[:, 2] < draws[:, 1])
    chosen = draws[keep & (draws[:, 1] < -3.03)][:, 2]
    assert seen.likeliest() == pytest.approx(float(np.median(chosen)), abs=6 * chosen.std() / math.sqrt(len(chosen)))
    assert (chosen > seen.hard_floor()).mean() == pytest.approx(
        normal_chance(-2.0), abs=5 * math.sqrt(0.023 / len(chosen))
    )


def worst_case_by_program(substrate: Estimate, layer: Estimate, low: float, high: float) -> float:
    """Return the highest substrate with the layer between two heights, by a general linear-programming solver."""
    names = sorted({t.name for t, _ in (*substrate.parts, *layer.parts)})
    limits = {t.name: t.half_width for t, _ in (*substrate.parts, *layer.parts)}
    s = {t.name: share for t, share in substrate.parts}
    u = {t.name: share for t, share in layer.parts}
    top = np.array([u.get(n, 0.0) for n in names])
    rows, bounds = [], []
    if math.isfinite(high):
        rows.append(top)
        bounds.append(high - layer.value)
    if math.isfinite(low):
        rows.append(-top)
        bounds.append(layer.value - low)
    found = optimize.linprog(
        [-s.get(n, 0.0) for n in names],
        A_ub=np.array(rows),
        b_ub=bounds,
        bounds=[(-limits[n], limits[n]) for n in names],
    )
    assert found.success
    return substrate.value - float(found.fun)


@pytest.mark.outside_check(
    subject="belief after a look",
    source="scipy: linprog",
    closeness="1e-9 mm",
    standing="library",
)
@pytest.mark.parametrize(
    "answers",
    [
        [Answer("rail", -0.1870 * INCH)],
        [Answer("rail", -0.1890 * INCH)],
        [Answer("rail", -0.1860 * INCH), Answer("solder", -0.1865 * INCH)],
        [Answer("rail", -0.1880 * INCH), Answer("solder", -0.1885 * INCH)],
    ],
)
def test_worst_case_after_answers_against_a_linear_program(answers: list[Answer]) -> None:
    touched = rail()
    prior = faces_of(touched, DoubtRule.WORST_CASE)
    seen = SeenFaces.after(touched, prior, answers)
    expected = worst_case_by_program(prior.substrate, prior.layer_top, seen.layer.low, seen.layer.high)
    highest = min(expected, seen.layer.high, seen.substrate.high)
    assert seen.hard_floor() == pytest.approx(highest, abs=1e-9)
    assert seen.hard_floor() <= prior.hard_floor() + 1e-12


def test_worst_case_knows_that_a_layer_lies_under_its_own_top() -> None:
    stack = LayerStack(
        (
            Layer.of("bar", 3.0, within=0.02),
            Layer.of("solder", 0.05, within=0.08),  # stated so badly that it could be less than nothing
            Layer.of("sheet", 0.6, within=0.0, keep=True),
        )
    )
    touched = TouchedStack(stack, HeightTouch("bar"), Fraction(1, 200), 0.0)
    prior = faces_of(touched, DoubtRule.WORST_CASE)
    assert prior.hard_floor() == pytest.approx(-3.05 + 0.1)
    seen = SeenFaces.after(touched, prior, [Answer("bar", -2.99), Answer("solder", -3.0)])
    assert seen.hard_floor() == pytest.approx(-3.0)  # the sheet lies under the solder that was seen
    only = SeenFaces(prior, Bounds(-math.inf, -2.995))
    assert only.hard_floor() == pytest.approx(-2.995)  # and under a top that is known to lie lower


def test_each_still_bar_buys_depth() -> None:
    touched = rail()
    prior = faces_of(touched)
    floors = [prior.hard_floor()]
    for count in range(-366, -380, -1):
        z = float(count * STEP)
        floors.append(SeenFaces.after(touched, prior, [Answer("rail", z)]).hard_floor())
    assert all(b < a for a, b in itertools.pairwise(floors))


@pytest.mark.parametrize(("margin", "least_found"), [(None, 0.70), (0.0, 0.98)])
def test_following_the_plan_finds_the_layer_and_hardly_ever_touches_the_sheet(
    margin: float | None, least_found: float
) -> None:
    # the whole procedure played out: while the bar shows the plan is made again, until nothing lower is sure enough
    touched = rail()
    heights: list[float] = []
    answers: tuple[Answer, ...] = ()
    while len(heights) < 200:
        request = HeightsRequest(touched, PassRule(0.25), floor_margin=margin, answers=answers)
        stops = [p.z for p in plan_heights(request, with_looks=False).passes if p.stop]
        if not stops or stops[0] < touched.substrate_z.value - 5 * touched.substrate_z.standard:
            break
        heights += stops
        answers = (Answer("rail", stops[-1]),)
    assert len(heights) > 3
    draws = simulated([touched.layer_top_z, touched.substrate_z], seed=21)
    draws = draws[draws[:, 0] > draws[:, 1]]
    top, sheet = draws[:, 0], draws[:, 1]
    first = (np.array(heights)[None, :] <= top[:20_000, None]).argmax(axis=1)
    shows = (np.array(heights)[None, :] <= top[:20_000, None]).any(axis=1)
    z = np.where(shows, np.array(heights)[first], heights[-1])
    hit = z < sheet[:20_000]
    assert (shows & ~hit).mean() > least_found
    # one look after another, each with the stated chance of 0.13 percent: together still below half a percent
    assert hit.mean() < 0.005


def test_table_rows_follow_from_the_belief() -> None:
    heights = plan_heights(HeightsRequest(rail(), PassRule(0.25)))
    assert [row.number for row in heights.looks] == [p.number for p in heights.passes if p.stop]
    row = heights.looks[0]
    assert row.still_bar is not None
    assert row.layer_showing is not None
    assert row.still_bar.chance + row.layer_showing.chance == pytest.approx(1.0, abs=0.01)
    seen = SeenFaces.after(rail(), faces_of(rail()), [Answer("rail", row.z)])
    assert row.still_bar.hard_floor == pytest.approx(seen.hard_floor(), abs=2e-6)
    assert row.still_bar.next_floor_count == FloorRule(STEP).count(seen)
    assert row.still_bar.next_floor_count <= heights.floor_count
    assert row.layer_showing.next_floor_count >= row.still_bar.next_floor_count
    for each in heights.looks:
        for outcome in (each.still_bar, each.layer_showing):
            assert outcome is not None
            assert outcome.next_floor_count <= each.count  # what is cut is cut
            assert outcome.ends_here == (outcome.next_floor_count == each.count)
    assert any(each.layer_showing is not None and each.layer_showing.ends_here for each in heights.looks)
    # the plan after that answer is the one that the table promised
    after = plan_heights(HeightsRequest(rail(), PassRule(0.25), answers=(Answer("rail", row.z),)))
    assert after.floor_count == row.still_bar.next_floor_count
    assert after.start_count == row.count
    assert all(p.count < row.count for p in after.passes)


def test_without_a_bonding_layer_only_the_bar_can_be_seen() -> None:
    stack = LayerStack((Layer.of("bar", 3.0, within=0.02), Layer.of("sheet", 0.6, within=0.0, keep=True)))
    touched = TouchedStack(stack, HeightTouch("bar"), Fraction(1, 200))
    prior = faces_of(touched)
    rows = look_table(touched, prior, FloorRule(Fraction(1, 200)), [(1, -590)])
    assert rows[0].layer_showing is None
    assert rows[0].still_bar is not None
    seen = SeenFaces.after(touched, prior, [Answer("bar", -2.99)])
    # the sheet itself is cut off above: a normal truncated at -2.99
    u = prior.substrate.standard
    expected = (normal_chance(0.01 / u * -1) - normal_chance(-0.02 / u)) / normal_chance(-0.01 / u * -1)
    chance = (normal_chance(0.01 / u) - normal_chance(0.005 / u)) / normal_chance(0.01 / u)
    assert seen.contact(-2.995) == pytest.approx(chance)
    assert expected < 1.0


def test_answers_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(InputError, match=r"answers contradict each other: .*solder.*rail"):
        face_bounds(rail(), [Answer("solder", -4.70), Answer("rail", -4.75)])


def test_the_sheet_seen_ends_the_work() -> None:
    answer = Answer("hood", -4.86)
    assert sheet_seen(rail(), [Answer("rail", -4.0), answer]) is answer
    plan = plan_heights(HeightsRequest(rail(), PassRule(0.25), answers=(answer,)))
    assert plan.sheet_answer is answer
    assert plan.passes == ()
    with pytest.raises(InputError, match=r'"hood" bare at -4.8600 mm: nothing is left to mill'):
        face_bounds(rail(), [answer])


def test_an_answer_that_can_hardly_be_stops_the_plan() -> None:
    plan = plan_heights(HeightsRequest(rail(), PassRule(0.25), answers=(Answer("solder", -4.5),)))
    assert plan.answers_chance < 1e-5
    assert plan.passes == ()


def test_answer_about_an_unknown_layer_is_named() -> None:
    with pytest.raises(InputError, match=r'face "paint" is not in the stack'):
        face_bounds(rail(), [Answer("paint", -4.0)])


def test_shared_terms_tie_the_faces() -> None:
    touched = rail()
    prior = faces_of(touched)
    assert covariance(prior.substrate, prior.layer_top) == pytest.approx(prior.layer_top.standard**2)
    assert prior.correlation == pytest.approx(prior.layer_top.standard / prior.substrate.standard)


@pytest.mark.parametrize("above", [(), (("paint", 0.1),)])
def test_words_for_a_look_name_the_bar_above_the_sheet_and_the_layer_between(
    above: tuple[tuple[str, float], ...],
) -> None:
    """With a bond the bar lies two above the sheet, without one on it and on top; what lies higher is not named."""
    bonded = [*above, ("brass bar", 4.7), ("soft solder", 0.1), ("copper sheet", 0.6)]
    bare = [*above, ("brass bar", 4.7), ("copper sheet", 0.6)]
    for layers, bond in ((bonded, True), *(() if above else ((bare, False),))):
        stack = LayerStack(tuple(Layer.of(n, t, within=0.0, keep="sheet" in n) for n, t in layers))
        words = look_words(stack)
        assert (stack.bond is not None) is bond
        assert "only brass bar" in words.look_for
        assert words.still_bar.startswith("Still only brass bar, everywhere")
        assert words.sheet_shows.startswith("Copper sheet")
        assert ("soft solder" in words.look_for) is bond
        assert words.layer_shows.startswith('"soft solder" shows') is bond
        assert ("no bonding layer to warn" in words.layer_shows) is not bond
