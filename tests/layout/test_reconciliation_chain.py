"""What the readings of a chain should be: worked values, derivatives against differences, the reading to take next."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holecam.layout.reconciliation_chain import Across, Chain, Reading, Section
from holecam.layout.reconciliation_deciding import LONGEST_LIST, deciding_reading
from holecam.layout.reconciliation_sections import SectionsVerdict, find_carriers

SLOPED = (
    Section("heel", 20.0),
    Section("ramp", 50.0, 30.0),
    Section("riser", 10.0, 90.0),
    Section("back", 15.0, 180.0),
    Section("toe", 8.0, -45.0),
)
ALL = tuple(s.name for s in SLOPED)
MEASURED = (Reading("slope of the ramp", ("ramp",), 30.0, 0.1, Across.SLOPE), Reading("whole", ALL, 50.0, 0.1))


def test_values_of_a_chain_with_slopes() -> None:
    """Ramp of 50 at 30 degrees: 43.301 along, 25 up; riser 10 up; back 15 to the left; toe 8 at -45: 5.657, -5.657."""
    chain = Chain(SLOPED, MEASURED)
    asked = [
        Reading(f"{across} {of}", of, 0.0, 1.0, across)
        for across in (Across.ALONG, Across.SQUARE, Across.STRAIGHT)
        for of in (("ramp",), ("riser",), ("back",), ALL)
    ]
    x, y = 20 + 43.301270 - 15 + 5.656854, 25 + 10 - 5.656854
    values, rows = chain.expected(chain.drawn_sizes, [*asked, MEASURED[0]])
    expected = [43.301270, 0, -15, x, 25, 10, 0, y, 50, 10, 15, math.hypot(x, y), 30]
    assert values == pytest.approx(expected, abs=1e-5)
    # Quarter and half turns leave no crumbs
    assert (rows[1, 2], rows[6, 3]) == (0.0, 0.0)


def test_derivatives_agree_with_differences() -> None:
    chain = Chain(SLOPED, MEASURED)
    asked = [
        Reading(f"{across} {of}", of, 0.0, 1.0, across)
        for across in (Across.ALONG, Across.SQUARE, Across.STRAIGHT)
        for of in (("heel",), ("ramp",), ("riser", "back"), ALL, ("ramp", "toe"))
    ] + [MEASURED[0]]
    sizes = chain.drawn_sizes + np.array([0.3, -0.2, 0.1, 0.4, -0.1, 1.5])
    _, rows = chain.expected(sizes, asked)
    for unknown in range(len(sizes)):
        step = np.zeros(len(sizes))
        step[unknown] = 1e-6
        more, less = chain.expected(sizes + step, asked)[0], chain.expected(sizes - step, asked)[0]
        assert rows[:, unknown] == pytest.approx((more - less) / 2e-6, abs=1e-7)


@pytest.mark.parametrize("count", [3, 5, LONGEST_LIST, LONGEST_LIST + 1])
def test_of_readings_that_tell_as_much_the_shortest_is_taken(count: int) -> None:
    """Is it the first section or the last? Either alone tells, and so does every longer run that leaves one of them."""
    names = [f"s{i}" for i in range(count)]
    chain = Chain(tuple(Section(n, 10.0) for n in names), (Reading("whole", tuple(names), 10.0 * count + 1, 0.1),))
    drawn = chain.drawn_sizes
    first, last = drawn.copy(), drawn.copy()
    first[0] += 1.0
    last[-1] += 1.0
    found = deciding_reading(chain, {"first": first, "last": last}, doubt=0.05)
    assert found is not None
    assert found.of in (("s0",), (names[-1],))
    assert found.groups == ((("last",), ("first",)) if found.of == ("s0",) else (("first",), ("last",)))
    assert dict(found.expected) == pytest.approx(
        {"first": 11.0, "last": 10.0} if found.of == ("s0",) else {"first": 10.0, "last": 11.0}
    )


@pytest.mark.parametrize(("doubt", "tells"), [(0.2499, True), (0.2501, False), (1.0, False)])
def test_a_reading_tells_only_what_is_four_doubts_apart(doubt: float, tells: bool) -> None:
    chain = Chain((Section("a", 10.0), Section("b", 10.0)), (Reading("whole", ("a", "b"), 21.0, 0.1),))
    rivals = {"a": np.array([11.0, 10.0]), "b": np.array([10.0, 11.0])}
    assert (deciding_reading(chain, rivals, doubt=doubt) is not None) is tells
    assert deciding_reading(chain, {"a": rivals["a"]}, doubt=0.01) is None


@pytest.mark.parametrize("weak", ["a", "b"])
def test_suspects_come_in_the_order_of_their_likelihood(weak: str) -> None:
    """The whole is 1 mm too long; one section was read as drawn, but poorly (0.6 mm): the other is the likelier.

    By hand, readings y = (1, 0) beyond the drawing: w = A'C^-1 y / sqrt(A'C^-1 A) with A = (1, 0) for the section that
    was not read, (1, 1) for the other; the shares are as exp(w^2 / 2).
    """
    other = "b" if weak == "a" else "a"
    readings = (Reading("whole", ("a", "b"), 21.0, 0.05), Reading(weak, (weak,), 10.0, 0.6))
    found = find_carriers(Chain((Section("a", 10.0), Section("b", 10.0)), readings), readings, critical=3.0)
    assert found.verdict is SectionsVerdict.INSEPARABLE
    assert [c.name for c in found.suspects] == [other, weak]
    assert found.suspects[0].share > found.suspects[1].share
    w_other = 1.0 / 0.05
    w_weak = (1.0 / 0.05**2) / math.sqrt(1 / 0.05**2 + 1 / 0.6**2)
    expected = 1.0 / (1.0 + math.exp((w_weak**2 - w_other**2) / 2))
    assert found.suspects[0].share == pytest.approx(expected, rel=1e-6)
