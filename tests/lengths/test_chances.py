"""Chances as papers print them: no certainty that nobody has."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from holecam.lengths.chances import at_least_text, chance_text


def figure(text: str) -> float:
    return float(text.strip("<> %"))


@given(st.floats(0.0, 1.0))
def test_no_chance_reads_as_certain_or_impossible_and_none_is_far_off(chance: float) -> None:
    shown = figure(chance_text(chance))
    assert 0.0 < shown < 100.0
    if 0.001 <= 100 * chance <= 99.9:
        assert abs(shown - 100 * chance) <= min(0.5, 0.05 * 100 * chance) + 1e-9 or chance < 1e-4


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_greater_chance_never_reads_smaller(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert figure(chance_text(low)) <= figure(chance_text(high))


@given(st.floats(0.0, 1.0))
def test_a_lower_bound_is_never_rounded_up(chance: float) -> None:
    assert figure(at_least_text(chance)) <= 100 * chance + 1e-12
