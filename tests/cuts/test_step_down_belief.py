"""The belief after looking against integrals of another order, linear algebra and root finding of a library."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ndtr
from scipy.stats import norm

from holecam.cuts.layer_estimates import DoubtRule, Estimate, Term, covariance
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack
from holecam.cuts.step_down_answers import ANYWHERE, Answer, Bounds
from holecam.cuts.step_down_belief import (
    FARTHEST,
    FLOOR_ACCURACY,
    PANEL,
    SeenFaces,
    _between,
    _integral,
    _normal_scale,
    _Regression,
    _window,
)
from holecam.cuts.step_down_chance import LEAST_STANDARD, Faces
from holecam.errors import InputError

NODES, WEIGHTS = np.polynomial.legendre.leggauss(12)
BAR, SOLDER, TOUCH = 0.03, 0.02, 0.015
"""Standard doubts, mm: the bar is 3 thick, the solder 0.1, touched off on the bar."""


def stack(face: str = "bar", plate: float | None = None, solder: float = SOLDER) -> TouchedStack:
    def layer(name: str, size: float, doubt: float, **more: bool) -> Layer:
        return Layer(name, Estimate.of(size, Term(name, doubt, 2.0 * doubt)), **more)

    layers = [layer("bar", 3.0, BAR), layer("solder", 0.1, solder), Layer("sheet", Estimate(0.6), keep=True)]
    if plate is not None:
        layers.insert(1, layer("plate", 0.5, plate))
    touch = HeightTouch(face, "x", 0.0, TOUCH * math.sqrt(3.0))
    return TouchedStack(LayerStack(tuple(layers)), touch, Fraction(1, 100), 0.0)


def belief(answers: list[Answer], face: str = "bar", **more: object) -> SeenFaces:
    touched = stack(face)
    return SeenFaces.after(touched, Faces(touched.substrate_z, touched.layer_top_z, **more), answers)  # type: ignore[arg-type]


def sheet_above(
    z: float, low: float, high: float, highest: float, face: str, solder: float = SOLDER, panels: int = 32
) -> float:
    """Return the chance of a sheet from ``z`` to ``highest`` under a layer whose top is from ``low`` to ``high``.

    Over the sheet first: with the solder's own doubt its top lies 0.1 above it.
    """
    if face == "bar":  # top and sheet both carry touch and bar; the top given the sheet follows by regression
        top, sheet = -3.0, -3.1
        u_top, u_sheet = math.hypot(TOUCH, BAR), math.sqrt(TOUCH**2 + BAR**2 + solder**2)
        slope = u_top**2 / u_sheet**2
        rest = u_top * math.sqrt(1.0 - slope)
    else:
        top, sheet, u_sheet, slope, rest = 0.1, 0.0, TOUCH, 1.0, solder

    a, b = max(z, sheet - 9 * u_sheet), min(highest, high, sheet + 9 * u_sheet)
    if a >= b:
        return 0.0
    ends = np.unique(np.concatenate([np.linspace(a, b, panels + 1), [c for c in (low, high) if a < c < b]]))
    half = 0.5 * np.diff(ends)[:, None]
    s = (ends[:-1, None] + half) + half * NODES[None, :]
    mean = top + slope * (s - sheet)
    above = ndtr((high - mean) / rest) - ndtr((np.minimum(np.maximum(low, s), high) - mean) / rest)
    density = np.exp(-0.5 * ((s - sheet) / u_sheet) ** 2) / (u_sheet * math.sqrt(math.tau))
    return float((half * WEIGHTS[None, :] * density * above).sum())


INF = math.inf
CASES = [
    ("bar", [Answer("bar", -3.02)], (-INF, -3.02, -3.02)),
    ("bar", [Answer("bar", -2.98), Answer("solder", -3.03)], (-3.03, -2.98, -3.03)),
    ("bar", [Answer("solder", -3.01)], (-3.01, INF, -3.01)),
    ("bare sheet", [Answer("bar", 0.09)], (-INF, 0.09, 0.09)),
    ("bare sheet", [Answer("bar", 0.12), Answer("solder", 0.05)], (0.05, 0.12, 0.05)),
]


@pytest.mark.parametrize(("face", "answers", "limits"), CASES)
def test_chances_after_answers(face: str, answers: list[Answer], limits: tuple[float, float, float]) -> None:
    low, high, highest = limits
    found = belief(answers, face)
    assert (found.layer, found.substrate) == (Bounds(low, high), Bounds(-INF, highest))
    whole = sheet_above(-INF, low, high, highest, face)
    prior = sheet_above(-INF, -INF, INF, INF, face)
    assert found.chance_of_answers() == pytest.approx(whole / prior, rel=1e-7)
    sheet = -3.1 if face == "bar" else 0.0
    for z in (sheet - 0.05, sheet - 0.01, sheet + 0.02, sheet + 0.05, highest - 1e-4, highest, highest + 0.01):
        contact = sheet_above(z, low, high, highest, face) / whole
        assert found.contact(z) == pytest.approx(contact, rel=1e-6, abs=1e-12)
    for z in (sheet + 0.03, sheet + 0.07, sheet + 0.09, sheet + 0.12):
        showing = sheet_above(-INF, max(low, z), high, highest, face) / whole if z < high else 0.0
        assert found.showing(z) == pytest.approx(showing, rel=1e-6, abs=1e-12)

    def more_than(chance: float) -> float:
        return float(
            brentq(
                lambda z: sheet_above(z, low, high, highest, face) / whole - chance,
                sheet - 0.3,
                highest - 1e-9,
                xtol=1e-9,
            )
        )

    floor, middle = more_than(float(norm.sf(3.0))), more_than(0.5)
    assert 0.0 <= found.hard_floor() - floor <= 1.1 * FLOOR_ACCURACY
    assert found.likeliest() == pytest.approx(middle, abs=1.1 * FLOOR_ACCURACY)


@pytest.mark.parametrize("solder", [0.0003, 0.003, 0.3])
@pytest.mark.parametrize(
    ("face", "low", "high", "highest"),
    [
        ("bar", -INF, -3.0, -3.0),
        ("bar", -3.03, -2.98, -3.03),
        ("bare sheet", -INF, 0.09, 0.09),
        ("bare sheet", 0.09, 0.11, 0.09),
    ],
)
def test_chances_where_the_layer_is_hardly_or_most_in_doubt(
    solder: float, face: str, low: float, high: float, highest: float
) -> None:
    """A solder known to 0.3 micron makes the sheet follow its top like a step: no digit may be lost in the sums."""
    touched = stack(face, solder=solder)
    found = SeenFaces(Faces(touched.substrate_z, touched.layer_top_z), Bounds(low, high), Bounds(-INF, highest))
    sheet = -3.1 if face == "bar" else 0.0
    for z in (-INF, sheet - 0.03, sheet - 0.002, sheet + 0.011, sheet + 0.05):
        expected = sheet_above(z, low, high, highest, face, solder, 6000)
        assert found._mass(above_z=z) == pytest.approx(expected, rel=1e-6 if solder == 0.3 else 1e-9, abs=1e-12)


def test_surer_is_higher_and_the_top_that_is_surely_bare() -> None:
    answers = [Answer("bar", -2.98), Answer("solder", -3.03)]
    floors = [belief(answers, sureness=k).hard_floor() for k in (0.5, 1.0, 2.0, 3.0)]
    assert floors == sorted(floors)
    assert len(set(floors)) == 4
    one = belief(answers, sureness=1.0)
    whole = sheet_above(-INF, -3.03, -2.98, -3.03, "bar")
    top = brentq(lambda z: sheet_above(-INF, z, -2.98, -3.03, "bar") / whole - norm.sf(1.0), -3.029, -2.981, xtol=1e-9)
    assert one.above_layer() == pytest.approx(top, abs=1.1 * FLOOR_ACCURACY)
    # In the worst case what was seen bounds the top, else the doubts do: -3 + 0.06 + 0.026
    worst = belief(answers, rule=DoubtRule.WORST_CASE)
    assert worst.above_layer() == -2.98
    open_ = belief([Answer("solder", -3.03)], rule=DoubtRule.WORST_CASE)
    assert open_.above_layer() == pytest.approx(-3.0 + 2 * BAR + TOUCH * math.sqrt(3.0))


def test_nothing_seen_leaves_the_belief_as_it_was() -> None:
    touched = stack()
    prior = Faces(touched.substrate_z, touched.layer_top_z)
    found = SeenFaces.after(touched, prior, [])
    assert found == SeenFaces(prior)
    assert found.chance_of_answers() == 1.0
    for z in (-3.2, -3.1, -3.0, -2.95):
        # but for the normal sheets that would stand out of their solder
        assert found.contact(z) == pytest.approx(prior.contact(z), abs=2e-6)
    assert found.hard_floor() == pytest.approx(prior.hard_floor(), abs=1e-4)


def test_without_a_layer_the_sheet_is_a_cut_off_normal() -> None:
    u = math.hypot(BAR, TOUCH)
    layers = (Layer("bar", Estimate.of(3.0, Term("bar", BAR, 0.06))), Layer("sheet", Estimate(0.6), keep=True))
    touch = HeightTouch("bar", "x", 0.0, TOUCH * math.sqrt(3.0))
    touched = TouchedStack(LayerStack(layers), touch, Fraction(1, 100), 0.0)
    prior = Faces(touched.substrate_z, touched.layer_top_z, sureness=2.0)
    found = SeenFaces.after(touched, prior, [Answer("bar", -2.98)])
    assert not found.has_layer
    assert belief([]).has_layer
    whole = norm.cdf(-2.98, -3.0, u)
    assert found.chance_of_answers() == pytest.approx(whole)
    for z in (-3.05, -3.0, -2.99, -2.981):
        assert found.contact(z) == pytest.approx((whole - norm.cdf(z, -3.0, u)) / whole)
        assert found.showing(z) == found.contact(z)
    assert found.contact(-2.98) == found.contact(-2.9) == 0.0
    assert found.hard_floor() == pytest.approx(norm.ppf(whole * (1 - norm.sf(2.0)), -3.0, u), abs=1.1 * FLOOR_ACCURACY)
    assert found.likeliest() == pytest.approx(norm.ppf(whole * 0.5, -3.0, u), abs=1.1 * FLOOR_ACCURACY)
    assert found.above_layer() == pytest.approx(found.hard_floor(), abs=1.1 * FLOOR_ACCURACY)


def test_a_face_above_the_layer_counts_as_well() -> None:
    """Plate 0.5 within 0.01 between bar and solder: seen bare at -3.05 and still bar at -2.98, its top lies between."""
    touched = stack(plate=0.01)
    prior = Faces(touched.substrate_z, touched.layer_top_z)
    found = SeenFaces.after(touched, prior, [Answer("bar", -2.98), Answer("plate", -3.05)])
    assert found.above == (touched.faces[1], Bounds(-3.05, -2.98))
    assert (found.layer, found.substrate) == (Bounds(high=-3.05), Bounds(high=-3.05))
    u = math.hypot(BAR, TOUCH)
    face = np.linspace(-3.05, -2.98, 1401)
    middle = 0.5 * (face[1:] + face[:-1])
    # Under each place of the plate's top the sheet is 0.6 lower, within the doubts of plate and solder together;
    # neither limit at -3.05 is within fifty spreads of plate and solder
    weight = np.diff(norm.cdf(face, -3.0, u))
    rest = math.hypot(0.01, SOLDER)
    for z in (-3.65, -3.6, -3.57, -3.5):
        expected = float((weight * norm.sf((z - (middle - 0.6)) / rest)).sum() / weight.sum())
        assert found.contact(z) == pytest.approx(
            expected, rel=2e-5, abs=4e-7
        )  # of 5 spreads: a sheet out of its solder
    for z in (-3.55, -3.5, -3.47):
        expected = float((weight * norm.sf((z - (middle - 0.5)) / 0.01)).sum() / weight.sum())
        assert found.showing(z) == pytest.approx(expected, rel=2e-5)
    assert found.chance_of_answers() == pytest.approx(float(weight.sum()), rel=1e-6)
    # Nothing seen of it: left out
    assert SeenFaces.after(touched, prior, []).above is None
    assert SeenFaces.after(stack(), belief([]).prior, [Answer("bar", -2.98)]).above is None


@pytest.mark.parametrize("seed", range(6))
def test_a_face_expected_from_others(seed: int) -> None:
    rng = np.random.default_rng(seed)
    terms = [Term(f"t{k}", float(rng.uniform(0.01, 0.05)), 0.1) for k in range(4)]
    face, first, second = (
        Estimate(0.0, tuple((t, float(s)) for t, s in zip(terms, rng.uniform(-1, 1, 4), strict=True))) for _ in range(3)
    )
    one = _Regression.of(face, first)
    assert one.slopes == (pytest.approx(covariance(face, first) / first.standard**2),)
    assert one.rest == pytest.approx(math.sqrt(face.standard**2 - covariance(face, first) ** 2 / first.standard**2))
    both = _Regression.of(face, first, second)
    given = np.array([[covariance(a, b) for b in (first, second)] for a in (first, second)])
    shared = np.array([covariance(face, first), covariance(face, second)])
    slopes = np.linalg.solve(given, shared)
    assert both.slopes == (pytest.approx(slopes[0]), pytest.approx(slopes[1]))
    assert both.rest == pytest.approx(math.sqrt(face.standard**2 - float(shared @ slopes)))


def test_two_faces_that_say_the_same_are_one() -> None:
    bar, solder = Term("bar", 0.03, 0.06), Term("solder", 0.02, 0.04)
    face = Estimate(-1.0, ((bar, 1.0), (solder, 1.0)))
    near, far = Estimate(-0.9, ((bar, 1.0),)), Estimate(0.5, ((bar, 2.0),))
    found = _Regression.of(face, near, far)
    assert found.slopes == (pytest.approx(1.0), 0.0)
    assert found.rest == pytest.approx(0.02)
    # A face known without doubt says nothing, and one that follows wholly keeps the least spread there is
    sure = _Regression.of(face, Estimate(-0.9))
    assert sure.slopes == (0.0,)
    assert sure.rest == pytest.approx(face.standard)
    assert _Regression.of(near, near) == _Regression((pytest.approx(1.0),), LEAST_STANDARD)  # type: ignore[arg-type]


@pytest.mark.parametrize(("low", "high"), [(-1.0, 2.0), (0.5, 9.0), (5.0, 6.0), (-9.0, -7.0), (-INF, 0.3), (0.3, INF)])
def test_chance_between_two_heights(low: float, high: float) -> None:
    expected = (
        norm.sf((low - 0.2) / 0.5) - norm.sf((high - 0.2) / 0.5)
        if low > 0.2
        else norm.cdf(high, 0.2, 0.5) - norm.cdf(low, 0.2, 0.5)
    )
    assert _between(0.2, 0.5, low, high) == pytest.approx(expected, rel=1e-9, abs=0.0)
    assert _between(0.2, 0.5, high, low) == 0.0
    assert _between(0.2, 0.5, low, low) == 0.0


def test_chance_between_two_heights_of_a_sure_place() -> None:
    assert _between(0.2, 0.0, 0.1, 0.3) == 1.0
    assert _between(0.2, 0.0, 0.2, 0.3) == pytest.approx(0.5)
    assert _between(0.2, 0.0, 0.21, 0.3) == 0.0


def test_integrals_over_a_normal_density() -> None:
    """1, x, x^2, x^4 over mean 2, spread 0.5: 1, 2, 4.25, 2^4 + 6 * 4 * 0.25 + 3 * 0.0625 = 22.1875."""
    assert (FARTHEST, PANEL) == (9.0, 0.75)
    moments = {0: 1.0, 1: 2.0, 2: 4.25, 4: 22.1875}
    for power, value in moments.items():
        for marks in ((), (1.0, 2.3), (-50.0, 50.0, 2.0, 2.0)):
            found = _integral(lambda x, n=power: x**n, 2.0, 0.5, ANYWHERE, marks)  # type: ignore[misc]
            assert found == pytest.approx(value, rel=1e-12)
    # Within bounds: mean of a cut-off normal
    low, high = 1.8, 2.9
    a, b = (low - 2.0) / 0.5, (high - 2.0) / 0.5
    assert _integral(lambda x: 1.0, 2.0, 0.5, Bounds(low, high), ()) == pytest.approx(
        norm.cdf(b) - norm.cdf(a), rel=1e-12
    )
    mean = 2.0 * (norm.cdf(b) - norm.cdf(a)) + 0.5 * (norm.pdf(a) - norm.pdf(b))
    assert _integral(lambda x: x, 2.0, 0.5, Bounds(low, high), ()) == pytest.approx(mean, rel=1e-12)
    # A step in the middle is exact only where a panel begins at it
    step = _integral(lambda x: float(x > 2.31), 2.0, 0.5, ANYWHERE, (2.31,))
    assert step == pytest.approx(norm.sf(0.62), rel=1e-12)
    assert _integral(lambda x: 1.0, 2.0, 0.5, Bounds(3.0, 3.0), ()) == 0.0
    assert _integral(lambda x: x, 2.0, 0.0, ANYWHERE, ()) == pytest.approx(2.0)


def test_window_of_a_normal_density() -> None:
    assert _window(-INF, INF) == (-9.0, 9.0)
    assert _window(-2.0, 3.0) == (-2.0, 3.0)
    assert _window(0.0, INF) == (0.0, 9.0)
    assert _window(-INF, 0.0) == (-9.0, 0.0)
    # beyond sqrt(4 + 80) the density is e^-40 of what it is at 2
    assert _window(2.0, INF) == (2.0, pytest.approx(math.sqrt(84.0)))
    assert _window(2.0, 5.0) == (2.0, 5.0)
    assert _window(-INF, -2.0) == (pytest.approx(-math.sqrt(84.0)), -2.0)
    assert _window(-5.0, -2.0) == (-5.0, -2.0)


def test_normal_scale_within_its_limits() -> None:
    for t in (-8.0, -3.0, 0.0, 2.0):
        assert _normal_scale(float(norm.cdf(t))) == pytest.approx(t, abs=1e-6)
    assert _normal_scale(0.0) == pytest.approx(-9.0, abs=1e-6)
    assert 8.0 < _normal_scale(1.0) < 9.0


def test_what_cannot_be_is_refused() -> None:
    for rule in (DoubtRule.ROOT_OF_SQUARES, DoubtRule.WORST_CASE):
        with pytest.raises(InputError, match="what was seen cannot be with the stack as stated") as told:
            belief([Answer("bar", -5.0)], rule=rule).hard_floor()
        assert told.value.key == "answer"
        with pytest.raises(InputError, match="what was seen cannot be with the stack as stated"):
            belief([Answer("solder", -1.0)], rule=rule).hard_floor()
    with pytest.raises(InputError, match="cannot be"):
        belief([Answer("bar", -5.0)]).contact(-5.1)


def test_worst_case_to_the_very_limit() -> None:
    """The solder's top lies within 0.06 + 0.026 of -3: seen at its highest it is just possible, a hair above not."""
    limit = 2 * BAR + TOUCH * math.sqrt(3.0)
    highest = belief([Answer("solder", -3.0 + limit - 1e-6)], rule=DoubtRule.WORST_CASE)
    assert highest.hard_floor() == pytest.approx(-3.0 + limit - 0.1 + 2 * SOLDER, abs=2e-6)
    lowest = belief([Answer("bar", -3.0 - limit + 1e-6)], rule=DoubtRule.WORST_CASE)
    assert lowest.hard_floor() == pytest.approx(-3.0 - limit - 0.1 + 2 * SOLDER, abs=2e-6)
    for answer in (Answer("solder", -3.0 + limit + 1e-6), Answer("bar", -3.0 - limit - 1e-6)):
        with pytest.raises(InputError, match="cannot be"):
            belief([answer], rule=DoubtRule.WORST_CASE).hard_floor()


def test_worst_case_with_a_plate_above() -> None:
    """Plate +-0.02 and solder +-0.04 under a plate's top that lies below -3.04: the sheet at -3.64 + 0.06 at most."""
    touched = stack(plate=0.01)
    prior = Faces(touched.substrate_z, touched.layer_top_z, DoubtRule.WORST_CASE)
    found = SeenFaces.after(touched, prior, [Answer("bar", -3.04)])
    assert found.hard_floor() == pytest.approx(-3.04 - 0.6 + 0.06)
    assert SeenFaces(prior).hard_floor() == pytest.approx(-3.6 + 0.06 + 0.06 + TOUCH * math.sqrt(3.0))
