"""The highest sheet that answers allow, against a linear program; and the part of a normal density that is summed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from holecam.cuts.layer_estimates import Estimate, Term
from holecam.cuts.step_down_belief import Bounds, _highest, _window

NAMES = ("thickness of bar", "thickness of solder", "touch-off", "tram")
shares = st.sampled_from([-1.0, -0.5, 0.0, 0.5, 1.0])


@pytest.mark.outside_check(
    subject="belief after a look",
    source="scipy.optimize.linprog over the errors",
    closeness="1e-9 mm",
    standing="library",
)
@given(
    st.lists(st.sampled_from([0.01, 0.02, 0.05]), min_size=4, max_size=4),
    st.lists(shares, min_size=4, max_size=4),
    st.lists(shares, min_size=4, max_size=4),
    st.floats(-0.9, 0.9),
    st.sampled_from(["below", "above", "between"]),
)
@settings(max_examples=150)
def test_the_highest_sheet_is_that_of_a_linear_program(
    halves: list[float], of_sheet: list[float], of_face: list[float], share: float, known: str
) -> None:
    terms = [Term(name, half / math.sqrt(3), half) for name, half in zip(NAMES, halves, strict=True)]
    # A doubt that does not touch one of the two is not listed with it
    sheet = Estimate(-1.6, tuple((t, s) for t, s in zip(terms, of_sheet, strict=True) if s))
    face = Estimate(-0.4, tuple((t, s) for t, s in zip(terms, of_face, strict=True) if s))
    seen = face.value + share * face.half_width
    low = -math.inf if known == "below" else seen - 0.002
    high = math.inf if known == "above" else seen + 0.002
    box = [(-half, half) for half in halves]
    row = np.array(of_face)
    rows, ends = [], []
    if math.isfinite(high):
        rows.append(row)
        ends.append(high - face.value)
    if math.isfinite(low):
        rows.append(-row)
        ends.append(face.value - low)
    best = optimize.linprog(-np.array(of_sheet), A_ub=np.array(rows), b_ub=np.array(ends), bounds=box)
    assert best.success
    assert _highest(sheet, face, Bounds(low, high)) == pytest.approx(sheet.value - best.fun, abs=1e-9)


def test_a_face_seen_higher_raises_the_sheet_by_what_they_share_and_no_more() -> None:
    """Bar +-0.05 lies on the face alone, solder +-0.02 on both: a face known to lie low holds the solder low."""
    bar, solder = Term("bar", 0.03, 0.05), Term("solder", 0.01, 0.02)
    sheet = Estimate(-1.6, ((solder, 1.0),))
    face = Estimate(-0.4, ((solder, 1.0), (bar, 1.0)))
    assert _highest(sheet, face, Bounds(-math.inf, math.inf)) == pytest.approx(-1.58)
    assert _highest(sheet, face, Bounds(-math.inf, -0.4)) == pytest.approx(-1.58), "the bar may be thin"
    assert _highest(sheet, face, Bounds(-math.inf, -0.46)) == pytest.approx(-1.61), (
        "the solder is thin at least by 0.01"
    )
    apart = Estimate(-0.4, ((bar, 1.0),))
    assert _highest(sheet, apart, Bounds(-math.inf, -0.45)) == pytest.approx(-1.58), "nothing is shared"


@pytest.mark.outside_check(
    subject="belief after a look",
    source="scipy.stats.norm",
    closeness="e^-38 of the mass",
    standing="library",
)
@pytest.mark.parametrize("edge", [-30.0, -12.0, -6.0, -1.5, -1e-3, 1e-3, 1.5, 6.0, 12.0, 30.0])
def test_beyond_the_window_lies_no_mass_that_counts(edge: float) -> None:
    low, high = _window(-math.inf, edge) if edge < 0.0 else _window(edge, math.inf)
    assert (high if edge < 0.0 else low) == edge
    far = max(abs(low), abs(high))
    assert stats.norm.logsf(far) - stats.norm.logsf(abs(edge)) <= -38.0
    # Nor is it so wide that the sum would miss the narrow peak at its edge: the density falls by e^40 within it
    assert far**2 - edge**2 == pytest.approx(80.0)
    near = 0.01 if edge > 0.0 else -0.01
    assert _window(*sorted((edge, edge + near))) == pytest.approx(tuple(sorted((edge, edge + near)))), "limits stay"
