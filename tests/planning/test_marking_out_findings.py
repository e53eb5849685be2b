"""What is said about a correction: what comes off, what is missing, and the good edges."""

from __future__ import annotations

import math

import pytest

from holecam.layout.marking_out import mark_out
from holecam.layout.marking_out_alignment import HeldEdge
from holecam.plan.finding import Severity
from holecam.planning.marking_out_findings import marking_out_findings
from holecam.shapes import Outline, outline_through, rectangle

WANTED = rectangle(0, 0, 80, 20)
GOOD = (HeldEdge(1, 1), HeldEdge(4, 4))


def codes(made: Outline, **more: float) -> dict[str, tuple[Severity, str]]:
    out = mark_out(WANTED, made, GOOD, **more)  # type: ignore[arg-type]
    return {f.code: (f.severity, f.message) for f in marking_out_findings("former", out)}


def test_too_long_and_too_low() -> None:
    found = codes(rectangle(0, 0, 82, 19))
    severity, words = found["comes-off"]
    assert severity is Severity.NOTE
    assert words == "38.00 sq mm come off in one place, at most 2.000 mm square to the edge."
    severity, words = found["metal-missing"]
    assert severity is Severity.CAUTION
    assert words.startswith("80.00 sq mm are missing in one place, at most 1.000 mm")
    in_inches = marking_out_findings("former", mark_out(WANTED, rectangle(0, 0, 82, 20), GOOD), unit="in")
    assert in_inches[0].message == "0.0620 sq in come off in one place, at most 0.0787 in square to the edge."
    assert in_inches[0].measured == pytest.approx(2.0)


def test_within_what_is_known_nothing_comes_off() -> None:
    assert set(codes(WANTED)) == {"nothing-comes-off"}
    assert set(codes(rectangle(0, 0, 80.2, 20), within=0.3)) == {"nothing-comes-off"}
    assert set(codes(rectangle(0, 0, 80.4, 20), within=0.3)) == {"comes-off"}


def test_edges_that_are_not_so_good() -> None:
    lean = 20 * math.tan(math.radians(1.0))
    found = codes(outline_through([(0, 0), (80, 0), (80, 20), (lean, 20)]))
    severity, words = found["held-edges-disagree"]
    assert severity is Severity.CAUTION
    assert "number 2 of them lies up to 0.175 mm off" in words
    out = mark_out(WANTED, WANTED, (HeldEdge(1, 1), HeldEdge(3, 3)))
    assert "edges-leave-open" in {f.code for f in marking_out_findings("former", out)}
