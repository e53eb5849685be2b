"""The error of a chain from the inside: expected readings, adjustment, suspects, carriers, the deciding reading."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from recorded_figures import plain_figures, same_as_recorded
from scipy.stats import chi2, norm

from holecam.errors import InputError
from holecam.layout.reconciliation import Reconciliation, corrected, reconcile
from holecam.layout.reconciliation_adjustment import adjust
from holecam.layout.reconciliation_blunders import _shares, contradictory, snoop, suspects_of
from holecam.layout.reconciliation_chain import Across, Chain, Reading, Section
from holecam.layout.reconciliation_deciding import _groups, _runs, deciding_reading
from holecam.layout.reconciliation_sections import _candidates, _together, find_carriers, section_results
from holecam.layout.reconciliation_statistics import (
    chi_square_tail,
    critical_value,
    findable_value,
    normal_two_sided,
)

FILE = "reconciliation"

# A foot rail with a sloped end; all figures invented
SECTIONS = (
    Section("heel", 20.0, process=0.05), Section("waist", 50.0, process=0.1),
    Section("slope", 30.0, 25.0, 0.08, 0.2), Section("toe", 15.0),
)  # fmt: skip
NAMES = ("heel", "waist", "slope", "toe")
COS, SIN = math.cos(math.radians(25.0)), math.sin(math.radians(25.0))

READINGS = (
    Reading("heel itself", ("heel",), 20.02, 0.05),
    Reading("waist itself", ("waist",), 49.97, 0.05),
    Reading("slope itself", ("slope",), 30.05, 0.05, Across.STRAIGHT),
    Reading("toe itself", ("toe",), 15.01, 0.05),
    Reading("to waist", ("heel", "waist"), 70.03, 0.05),
    Reading("to slope", ("heel", "waist", "slope"), 70.0 + 30.0 * COS, 0.1),
    Reading("overall", NAMES, 85.04 + 30.0 * COS, 0.05),
    Reading("rise", ("slope",), 30.0 * SIN + 0.03, 0.05, Across.SQUARE),
    Reading("slope and toe", ("slope", "toe"), math.hypot(15.0 + 30.0 * COS, 30.0 * SIN) - 0.02, 0.1, Across.STRAIGHT),
    Reading("angle", ("slope",), 25.1, 0.2, Across.SLOPE),
)


def chain(*changes: tuple[str, float], without: tuple[str, ...] = ()) -> Chain:
    more = dict(changes)
    readings = [replace(r, value=r.value + more.get(r.name, 0.0)) for r in READINGS if r.name not in without]
    return Chain(SECTIONS, tuple(readings))


def test_expected_readings_and_their_derivatives_by_hand() -> None:
    """Along, square, straight and as a slope; per mm of each length, and per degree of the measured slope."""
    c = chain()
    assert c.names == NAMES
    assert c.measured_slopes == (2,)
    assert c.drawn_sizes.tolist() == [20.0, 50.0, 30.0, 15.0, 25.0]
    assert c.process.tolist() == [0.05, 0.1, 0.08, 0.0, 0.2]
    values, rows = c.expected(c.drawn_sizes, READINGS)
    x, y = 15.0 + 30.0 * COS, 30.0 * SIN
    way = math.hypot(x, y)
    radian = math.pi / 180.0
    assert values == pytest.approx([20.0, 50.0, 30.0, 15.0, 70.0, 70.0 + 30.0 * COS, 85.0 + 30.0 * COS, y, way, 25.0])
    assert rows[0].tolist() == [1, 0, 0, 0, 0]
    assert rows[2] == pytest.approx([0, 0, 1, 0, 0])
    assert rows[4].tolist() == [1, 1, 0, 0, 0]
    assert rows[6] == pytest.approx([1, 1, COS, 1, -30.0 * SIN * radian])
    assert rows[7] == pytest.approx([0, 0, SIN, 0, 30.0 * COS * radian])
    ux, uy = x / way, y / way
    assert rows[8] == pytest.approx([0, 0, ux * COS + uy * SIN, ux, 30.0 * (uy * COS - ux * SIN) * radian])
    assert rows[9].tolist() == [0, 0, 0, 0, 1]
    # against differences, at other sizes
    sizes = c.drawn_sizes + np.array([0.3, -0.2, 0.5, 0.1, 2.0])
    base, slopes = c.expected(sizes, READINGS)
    for k in range(5):
        step = np.zeros(5)
        step[k] = 1e-6
        assert (c.expected(sizes + step, READINGS)[0] - base) / 1e-6 == pytest.approx(slopes[:, k], abs=1e-5)
    # a slope that was not measured is taken as drawn, and has no column
    plain = Chain(SECTIONS, READINGS[:9])
    assert plain.drawn_sizes.tolist() == [20.0, 50.0, 30.0, 15.0]
    assert plain.expected(plain.drawn_sizes, READINGS[:9])[0] == pytest.approx(values[:9])
    assert plain.process.tolist() == [0.05, 0.1, 0.08, 0.0]


def test_sections_square_to_the_chain_count_exactly_nothing_along_it() -> None:
    upright = Chain((Section("post", 40.0, 90.0), Section("back", 30.0, 180.0), Section("down", 10.0, -90.0)), ())
    along, rows = upright.vector(upright.drawn_sizes, ("post", "back", "down"))
    assert along.tolist() == [-30.0, 30.0]
    assert rows.tolist() == [[0.0, -1.0, 0.0], [1.0, 0.0, -1.0]]
    # a straight line that comes back to its beginning: no direction, along X is taken
    there_and_back = Chain((Section("out", 5.0), Section("home", 5.0, 180.0)), ())
    values, rows = there_and_back.expected(
        there_and_back.drawn_sizes, [Reading("gap", ("out", "home"), 0.0, 0.1, Across.STRAIGHT)]
    )
    assert values.tolist() == [0.0]
    assert rows.tolist() == [[1.0, -1.0]]


def test_an_adjustment_by_hand() -> None:
    """One length read twice, 10.0 and 10.3, doubts 0.1 and 0.2: weights 100 and 25, so 10.06."""
    c = Chain((Section("a", 10.0),), (Reading("one", ("a",), 10.0, 0.1), Reading("two", ("a",), 10.3, 0.2)))
    found = adjust(c, c.readings, significance=0.001)
    assert found.sizes == pytest.approx([10.06])
    assert found.covariance == pytest.approx(np.array([[1.0 / 125.0]]))
    one, two = found.readings
    assert (one.adjusted, one.residual) == (pytest.approx(10.06), pytest.approx(-0.06))
    assert (one.redundancy, two.redundancy) == (pytest.approx(0.2), pytest.approx(0.8))
    w = 0.3 / math.hypot(0.1, 0.2)
    assert (one.normalised, two.normalised) == (pytest.approx(-w), pytest.approx(w))
    assert (one.error, two.error) == (pytest.approx(-0.3), pytest.approx(0.3))
    factor = norm.isf(0.0005) + norm.ppf(0.8)
    assert (one.findable, two.findable) == (
        pytest.approx(factor * 0.1 / math.sqrt(0.2)),
        pytest.approx(factor * 0.2 / math.sqrt(0.8)),
    )
    assert found.statistic == pytest.approx(w * w)
    assert found.dof == 1
    assert found.chance == pytest.approx(float(chi2.sf(w * w, 1)))
    assert found.alike == pytest.approx(np.array([[1.0, -1.0], [-1.0, 1.0]]))
    assert found.determined == (True,)
    assert found.loose.shape == (0, 1)
    # alone it is checked by nothing
    alone = adjust(c, c.readings[:1], significance=0.001)
    assert alone.chance is None
    assert alone.dof == 0
    assert (alone.readings[0].error, alone.readings[0].findable, alone.readings[0].normalised) == (None, None, 0.0)
    assert not alone.readings[0].checkable


def test_sizes_that_no_reading_settles() -> None:
    """Two sections read over both only: their sum is known, neither of them; each takes half of what is over."""
    c = Chain((Section("a", 10.0), Section("b", 20.0)), (Reading("both", ("a", "b"), 30.4, 0.1),))
    found = adjust(c, c.readings, significance=0.001)
    assert found.determined == (False, False)
    assert found.sizes == pytest.approx([10.2, 20.2])
    assert np.abs(found.loose) == pytest.approx(np.array([[math.sqrt(0.5)] * 2]))
    results = section_results(c, found, 1.0)
    assert plain_figures(results) == [
        {"name": n, "drawn": d, "actual": None, "doubt": None, "deviation": None, "z": None, "chance": None,
         "correction": None, "checked": False} for n, d in (("a", 10.0), ("b", 20.0))
    ]  # fmt: skip


def test_adjustments_as_recorded() -> None:
    for name, c in (
        ("good", chain()),
        ("one wrong", chain(("toe itself", -1.0))),
        ("slope wrong", chain(("angle", 3.0))),
    ):
        same_as_recorded(f"adjustment: {name}", adjust(c, c.readings, significance=0.001), file=FILE, within=1e-6)


def test_a_contradiction_is_told_by_the_whole_or_by_one() -> None:
    c = Chain((Section("a", 10.0),), (Reading("one", ("a",), 10.0, 0.1), Reading("two", ("a",), 10.3, 0.2)))
    found = adjust(c, c.readings, significance=0.001)  # w = 1.34, chance 0.18
    assert not contradictory(found, 1.35)
    assert contradictory(found, 1.34)
    assert not contradictory(replace(found, chance=0.0101), 1.35)
    assert contradictory(replace(found, chance=0.0099), 1.35)
    assert not contradictory(replace(found, chance=None), 0.0)


def test_shares_of_suspects_by_hand() -> None:
    """Figures 4, 3 and 2: likelihoods 1, exp(-3.5), exp(-6) of the first; 20 to 1 leaves only what is nearer."""
    c = chain()
    readings = adjust(c, c.readings, significance=0.001).readings
    three = [
        replace(r, normalised=w, redundancy=0.5, error=w) for r, w in zip(readings[:3], (-4.0, 3.0, 2.0), strict=True)
    ]
    silent = replace(readings[3], normalised=0.0, redundancy=1e-10)
    shares = _shares([*three, silent])
    whole = 1.0 + math.exp(-3.5) + math.exp(-6.0)
    assert shares == pytest.approx(
        {"heel itself": 1.0 / whole, "waist itself": math.exp(-3.5) / whole, "slope itself": math.exp(-6.0) / whole}
    )
    adjustment = replace(adjust(c, c.readings, significance=0.001), readings=(*three, silent))
    (only,) = suspects_of(adjustment)
    assert (only.name, only.error, only.normalised) == ("heel itself", -4.0, -4.0)
    assert only.error_doubt == pytest.approx(0.05 / math.sqrt(0.5))
    # 2 ln 20 = 5.99: squares nearer than that are not three apart
    near = replace(adjustment, readings=(three[1], replace(three[0], normalised=math.sqrt(9.0 + 5.9)), silent))
    assert [s.name for s in suspects_of(near)] == ["heel itself", "waist itself"]
    apart = replace(adjustment, readings=(three[1], replace(three[0], normalised=math.sqrt(9.0 + 6.1)), silent))
    assert [s.name for s in suspects_of(apart)] == ["heel itself"]
    assert suspects_of(replace(adjustment, readings=(silent,))) == ()


CASES: dict[str, tuple[Chain, dict[str, float]]] = {
    "good": (chain(), {}),
    "toe misread": (chain(("toe itself", -1.0)), {}),
    "two misread": (chain(("toe itself", -1.0), ("rise", 2.0)), {}),
    "waist longer": (chain(("waist itself", 1.4), ("to waist", 1.4), ("to slope", 1.4), ("overall", 1.4)), {}),
    "both": (
        chain(("waist itself", 1.4), ("to waist", 1.4), ("to slope", 1.4), ("overall", 1.4), ("heel itself", 1.0)), {}
    ),
    "steeper": (
        chain(("angle", 4.0), ("rise", 1.9), ("to slope", -1.0), ("overall", -1.0), ("slope and toe", -0.6)), {}
    ),
    "one closure": (chain(("overall", 1.5), without=("to waist", "to slope", "rise", "slope and toe", "angle")), {}),
    "two closures": (
        chain(("overall", 1.5), without=("to waist", "rise", "slope and toe", "angle")), {"next_doubt": 0.02}
    ),
    "unchecked": (chain(("heel itself", 0.6), without=tuple(r.name for r in READINGS[4:])), {}),
    "strained": (
        chain(("heel itself", 0.16), ("to waist", -0.13), ("waist itself", 0.13), ("overall", 0.18), ("rise", -0.16),
              ("slope and toe", 0.26), ("toe itself", 0.16)), {"significance": 0.000001},
    ),
    "over all alone": (chain(("overall", 0.9), without=tuple(r.name for r in (*READINGS[:6], *READINGS[7:]))), {}),
}  # fmt: skip


def told(found: Reconciliation) -> object:
    figures = plain_figures(found)
    assert isinstance(figures, dict)
    del figures["chain"], figures["adjustment"]
    return figures


@pytest.mark.parametrize("name", CASES)
def test_whole_answers_as_recorded(name: str) -> None:
    c, how = CASES[name]
    found = reconcile(c, **how)  # type: ignore[arg-type]
    same_as_recorded(f"answer: {name}", told(found), file=FILE, within=1e-6)
    kept = snoop(c, significance=how.get("significance", 0.001)).kept
    same_as_recorded(f"kept: {name}", [r.name for r in kept], file=FILE)
    if found.trustworthy and all(found.adjustment.determined[:4]):
        shifts = [found.shift(), found.shift(("heel",)), found.shift(("slope", "toe"))]
        same_as_recorded(f"shifts: {name}", shifts, file=FILE, within=1e-6)


def test_a_shift_by_hand() -> None:
    """Heel 20.4 and waist 49.9, each read twice, 0.05: the place behind them has moved by 0.3."""
    sections = (Section("heel", 20.0), Section("waist", 50.0), Section("slope", 30.0, 25.0))
    readings = [
        Reading(f"{n} {k}", (n,), v, 0.05) for n, v in (("heel", 20.4), ("waist", 49.9)) for k in (1, 2)
    ]  # fmt: skip
    found = reconcile(Chain(sections, tuple(readings)))
    shift = found.shift(("heel", "waist"))
    assert (shift.along, shift.square) == (pytest.approx(0.3), pytest.approx(0.0))
    assert (shift.along_doubt, shift.square_doubt) == (pytest.approx(0.05), pytest.approx(0.0))
    assert shift.sections == ("heel", "waist")
    with pytest.raises(InputError, match="do not settle heel, waist, slope along the chain"):
        found.shift()
    # read along only: what is square to it stays open
    over = reconcile(Chain(sections, (Reading("all", ("heel", "waist", "slope"), 97.5, 0.05),)))
    open_ = over.shift()
    assert open_.along == pytest.approx(97.5 - 70.0 - 30.0 * COS)
    assert (open_.square, open_.square_doubt) == (None, None)
    torn = reconcile(chain(("overall", 1.5), without=("to waist", "to slope", "rise", "slope and toe", "angle")))
    with pytest.raises(InputError, match="the readings contradict each other, so that no shift can be trusted"):
        torn.shift()
    with pytest.raises(InputError, match='there is no section "sole"; there are '):
        found.section("sole")
    assert found.section("waist").deviation == pytest.approx(-0.1)


def test_sections_against_the_drawing_by_hand() -> None:
    """Read once, 20.3 of 20.0, 0.05: with a process of 0.12 that is 0.3 / 0.13; without doubt and process, endless."""
    sections = (Section("heel", 20.0, process=0.12), Section("waist", 50.0))
    c = Chain(
        sections,
        (
            Reading("h", ("heel",), 20.3, 0.05),
            Reading("w", ("waist",), 50.0, 0.1),
            Reading("w2", ("waist",), 50.0, 0.1),
        ),
    )
    adjustment = adjust(c, c.readings, significance=0.001)
    heel, waist = section_results(c, adjustment, 1.0)
    assert (heel.actual, heel.doubt, heel.deviation) == (pytest.approx(20.3), pytest.approx(0.05), pytest.approx(0.3))
    assert heel.z == pytest.approx(0.3 / 0.13)
    assert heel.chance == pytest.approx(2.0 * float(norm.sf(0.3 / 0.13)))
    assert heel.correction == pytest.approx(-0.3)
    assert not heel.checked
    assert waist.checked
    assert waist.doubt == pytest.approx(0.1 / math.sqrt(2.0))
    wide = section_results(c, adjustment, 2.0)[0]
    assert wide.doubt == pytest.approx(0.1)
    assert wide.z == pytest.approx(0.3 / math.hypot(0.1, 0.12))
    exact = replace(adjustment, covariance=adjustment.covariance * 0.0)
    none = Chain((Section("heel", 20.0), Section("waist", 50.0)), c.readings)
    assert [r.z for r in section_results(none, exact, 1.0)] == [math.inf, 0.0]


def test_carriers_by_hand() -> None:
    """Heel read 20.5, waist as drawn; doubts 0.05, process 0.12 of the heel: C = 0.13^2, figure 0.5 / 0.13."""
    sections = (Section("heel", 20.0, process=0.12), Section("waist", 50.0), Section("toe", 15.0))
    readings = (Reading("h", ("heel",), 20.5, 0.05), Reading("w", ("waist",), 50.0, 0.05))
    c = Chain(sections, readings)
    found = find_carriers(c, readings, critical=3.29)
    assert found.verdict.value == "named"
    (heel,) = found.named
    assert (heel.name, heel.error, heel.error_doubt) == ("heel", pytest.approx(0.5), pytest.approx(0.13))
    assert heel.normalised == pytest.approx(0.5 / 0.13)
    assert heel.share == pytest.approx(1.0 / (1.0 + math.exp(-((0.5 / 0.13) ** 2) / 2.0)))
    assert found.suspects == ()
    assert find_carriers(c, readings, critical=3.9).verdict.value == "as drawn"
    assert (
        find_carriers(c, readings, critical=0.5 / math.hypot(0.1, 0.12) + 0.01, scale=2.0).verdict.value == "as drawn"
    )
    assert find_carriers(c, readings, critical=0.5 / math.hypot(0.1, 0.12) - 0.01, scale=2.0).verdict.value == "named"
    assert find_carriers(c, (), critical=3.29).verdict.value == "cannot tell"
    # read over both: one of two; over all three: nobody can tell
    two = (Reading("hw", ("heel", "waist"), 70.9, 0.05),)
    pair = find_carriers(Chain(sections, two), two, critical=3.29)
    assert pair.verdict.value == "inseparable"
    assert [s.name for s in pair.suspects] == ["heel", "waist"]
    assert [s.error for s in pair.suspects] == pytest.approx([0.9, 0.9])
    three = (Reading("all", ("heel", "waist", "toe"), 85.9, 0.05),)
    assert find_carriers(Chain(sections, three), three, critical=3.29).verdict.value == "cannot tell"


def test_candidates_beside_a_section_that_is_named() -> None:
    """What the named section can explain counts for nobody else; together their errors are worked out anew."""
    c = chain(("waist itself", 1.4), ("to waist", 1.4), ("to slope", 0.6), ("overall", 0.6), ("slope itself", -0.9))
    expected, design = c.expected(c.drawn_sizes, c.readings)
    y = np.array([r.value for r in c.readings]) - expected
    noise = np.diag([r.doubt**2 for r in c.readings])
    covariance = (design * c.process**2) @ design.T + noise
    columns = design[:, :4]
    for taken in ([], ["waist"], ["waist", "slope"]):
        found = _candidates(c, columns, y, covariance, taken)
        assert math.fsum(f.share for f in found) == pytest.approx(1.0)
        # the same by least squares: the named columns and one more, weighted by the inverse of the covariance
        root = np.linalg.cholesky(np.linalg.inv(covariance)).T
        for f in found:
            use = [c.names.index(n) for n in (*taken, f.name)]
            free = root @ columns[:, use]
            best = np.linalg.lstsq(free, root @ y, rcond=None)[0]
            doubt = math.sqrt(float(np.linalg.inv(free.T @ free)[-1, -1]))
            assert (f.error, f.error_doubt) == (pytest.approx(best[-1]), pytest.approx(doubt))
            assert f.normalised == pytest.approx(best[-1] / doubt)
    named = [f for f in _candidates(c, columns, y, covariance, []) if f.name in ("waist", "slope")]
    both = _together(c, columns, y, covariance, named)
    free = root @ columns[:, [1, 2]]
    best = np.linalg.lstsq(free, root @ y, rcond=None)[0]
    assert [b.error for b in both] == pytest.approx(best)
    assert [b.normalised * b.error_doubt for b in both] == pytest.approx(best)
    assert [b.error_doubt for b in both] == pytest.approx(np.sqrt(np.diag(np.linalg.inv(free.T @ free))))
    assert [b.share for b in both] == [n.share for n in named]
    assert _together(c, columns, y, covariance, named[:1]) == (named[0],)


def test_two_readings_of_one_size_never_say_which_is_wrong() -> None:
    """A single closure: both figures are equal, and however few the suspects are, nobody can tell."""
    pair = Chain((Section("a", 10.0),), (Reading("one", ("a",), 10.0, 0.1), Reading("two", ("a",), 11.0, 0.1)))
    found = snoop(pair, significance=0.001)
    assert found.verdict.value == "cannot tell"
    assert [s.name for s in found.suspects] == ["one", "two"]
    third = replace(pair, readings=(*pair.readings, Reading("three", ("a",), 10.5, 0.1)))
    assert snoop(third, significance=0.001).verdict.value == "inseparable"


def test_an_angle_is_never_the_reading_that_decides() -> None:
    """The next reading is a length: rivals that differ by 3 degrees are told apart by a length."""
    c = Chain(
        (Section("rise", 30.0, 25.0), Section("toe", 15.0)), (Reading("angle", ("rise",), 25.0, 0.2, Across.SLOPE),)
    )
    rivals = {"flat": np.array([30.0, 15.0, 25.0]), "steep": np.array([30.0, 15.0, 28.0])}
    found = deciding_reading(c, rivals, doubt=0.05)
    assert found is not None
    assert found.across is Across.ALONG
    assert found.of == ("rise", "toe")
    assert found.expected[1][1] == pytest.approx(15.0 + 30.0 * math.cos(math.radians(28.0)))
    # a reading across that is there already is one of those that may be repeated
    square = replace(c, readings=(*c.readings, Reading("height", ("rise",), 12.7, 0.05, Across.SQUARE)))
    again = deciding_reading(square, rivals, doubt=0.05)
    assert again is not None
    assert (again.of, again.across, again.repeats) == (("rise",), Across.SQUARE, "height")


def test_runs_of_sections_to_measure_over() -> None:
    assert _runs("abc") == [("a",), ("a", "b"), ("a", "b", "c"), ("b",), ("b", "c"), ("c",)]
    assert len(_runs(range(40))) == 40 * 41 // 2  # type: ignore[arg-type]
    long = _runs(range(41))  # type: ignore[arg-type]
    assert len(long) == 41 + 40
    assert long[0] == (0,)
    assert long[40] == tuple(range(41))
    assert long[41] == tuple(range(1, 41))
    assert long[-1] == (40,)


def test_groups_that_a_reading_still_leaves_together() -> None:
    expected = {"a": 10.0, "b": 10.41, "c": 9.9, "d": 10.8}
    assert _groups(expected, 0.1) == (("c", "a"), ("b", "d"))
    assert _groups({"a": 1.0, "b": 1.4}, 0.1) == (("a", "b"),)
    assert _groups({"b": 1.0, "a": 1.0}, 0.1) == (("a", "b"),)


def test_the_reading_that_decides_by_hand() -> None:
    """Rivals: the heel is 0.9 longer, or the waist. The heel alone decides; it was read already, so it is repeated."""
    c = Chain(
        (Section("heel", 20.0), Section("waist", 50.0)),
        (Reading("both", ("heel", "waist"), 70.9, 0.05), Reading("h", ("heel",), 20.0, 0.05)),
    )
    rivals = {"heel": np.array([20.9, 50.0]), "waist": np.array([20.0, 50.9])}
    found = deciding_reading(c, rivals, doubt=0.1)
    assert found is not None
    assert (found.of, found.across, found.repeats, found.doubt) == (("heel",), Across.STRAIGHT, "h", 0.1)
    assert found.expected == (("heel", 20.9), ("waist", 20.0))
    assert found.groups == (("waist",), ("heel",))
    assert deciding_reading(c, rivals, doubt=0.23) is None  # 0.9 is less than four doubts
    assert deciding_reading(c, {"heel": rivals["heel"]}, doubt=0.1) is None
    # of three rivals the reading that leaves fewest together; then the one where they lie farthest apart
    three = Chain(tuple(Section(n, 10.0) for n in "abc"), ())
    sizes = {n: np.array([10.0 + (n == m) for m in "abc"]) for n in "abc"}
    best = deciding_reading(three, sizes, doubt=0.1)
    assert best is not None
    assert max(len(g) for g in best.groups) == 2
    assert best.of == ("a",)
    sizes["b"] = np.array([10.0, 12.0, 10.0])
    wide = deciding_reading(three, sizes, doubt=0.1)
    assert wide is not None
    assert wide.of == ("a", "b")
    assert [len(g) for g in wide.groups] == [1, 1, 1]


@pytest.mark.parametrize("dof", [1, 2, 3, 4, 7, 10, 31])
def test_the_chi_square_tail_against_scipy(dof: int) -> None:
    for value in (0.0, 0.1, 1.0, 3.841, 12.5, 60.0):
        assert chi_square_tail(value, dof) == pytest.approx(float(chi2.sf(value, dof)), rel=1e-10)
    assert chi_square_tail(math.inf, dof) == 0.0
    with pytest.raises(InputError, match=r"chi-square -0\.1 with"):
        chi_square_tail(-0.1, dof)


def test_normal_tails_and_critical_values_against_scipy() -> None:
    for z in (0.0, 0.5, -1.96, 3.29):
        assert normal_two_sided(z) == pytest.approx(2.0 * float(norm.sf(abs(z))))
    for chance in (0.5, 0.05, 0.001):
        assert critical_value(chance) == pytest.approx(float(norm.isf(chance / 2.0)))
        assert findable_value(chance, 0.9) == pytest.approx(float(norm.isf(chance / 2.0) + norm.ppf(0.9)))
    assert critical_value() == pytest.approx(3.2905, abs=1e-4)
    assert findable_value() == pytest.approx(4.1321, abs=1e-4)
    for bad in (0.0, 1.0, -0.1, math.nan):
        with pytest.raises(InputError, match=f"significance {bad}"):
            critical_value(bad)
        with pytest.raises(InputError, match=f"power {bad}"):
            findable_value(0.01, bad)
    with pytest.raises(InputError, match="with 0 degrees of freedom"):
        chi_square_tail(1.0, 0)
    with pytest.raises(InputError, match="chi-square nan"):
        chi_square_tail(math.nan, 1)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Section("s", math.inf), 'section "s": expected finite figures'),
        (lambda: Section("s", 1.0, math.nan), 'section "s": expected finite figures'),
        (lambda: Section("s", 1.0, 0.0, math.inf), 'section "s": expected finite figures'),
        (lambda: Section("s", 1.0, 0.0, 0.0, math.nan), 'section "s": expected finite figures'),
        (lambda: Section("s", 1.0, 0.0, -0.1), 'section "s": expected a process spread of zero or more'),
        (lambda: Section("s", 1.0, 0.0, 0.1, -0.1), 'section "s": expected a process spread of zero or more'),
        (lambda: Reading("r", ("s",), math.nan, 0.1), 'reading "r": expected a finite value and a doubt above zero'),
        (lambda: Reading("r", ("s",), 1.0, math.inf), "got 1.0 and inf"),
        (lambda: Reading("r", ("s",), 1.0, 0.0), "got 1.0 and 0.0"),
        (lambda: Reading("r", (), 1.0, 0.1), "expected at least one section that it spans"),
        (lambda: Reading("r", ("s", "s"), 1.0, 0.1), 'reading "r": a section is named twice'),
        (lambda: Reading("r", ("s", "t"), 1.0, 0.1, Across.SLOPE), "a slope belongs to one section, got 2"),
        (lambda: Chain((), ()), "chain: expected at least one section"),
        (lambda: Chain((Section("s", 1.0), Section("s", 2.0)), ()), "expected a different name for each section"),
        (
            lambda: Chain((Section("s", 1.0),), (Reading("r", ("s",), 1.0, 0.1),) * 2),
            "expected a different name for each reading",
        ),
        (lambda: Chain((Section("s", 1.0),), (Reading("r", ("t",), 1.0, 0.1),)), 'there is no section "t"'),
        (lambda: reconcile(Chain((Section("s", 1.0),), ())), "chain: expected at least one reading"),
        (lambda: reconcile(chain(), next_doubt=0.0), r"doubt of the next reading 0\.0 mm: expected above zero"),
        (lambda: reconcile(chain(), next_doubt=math.inf), "doubt of the next reading inf mm"),
        (lambda: corrected(chain(), "sole", 1.0), 'there is no reading "sole"'),
    ],
)
def test_chains_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]


def test_one_reading_is_replaced_and_the_others_stay() -> None:
    again = corrected(chain(), "rise", 12.9)
    assert [r.value for r in again.readings if r.name == "rise"] == [12.9]
    assert [r for r in again.readings if r.name != "rise"] == [r for r in READINGS if r.name != "rise"]
    assert again.sections == SECTIONS


def test_readings_that_one_closure_blames_alike_stand_in_the_order_of_the_job() -> None:
    """One sum contradicts its parts: by symmetry each of the five explains it as well, whatever the last bit says."""
    story, more = CASES["one closure"]
    answer = reconcile(story, **more)  # type: ignore[arg-type]
    assert [s.name for s in answer.suspects] == [r.name for r in story.readings]
    assert [s.share for s in answer.suspects] == pytest.approx([0.2] * 5)
