"""A row moved onto its own old holes: what half a pitch gives."""

from __future__ import annotations

import math

import pytest

from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_half_pitch import half_pitch_advice
from holecam.layout.freedom_lines import free_along
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, PartShape, Surroundings
from holecam.shapes import rectangle

LIMITS = table_limits()


def row(pitch: float, *, diameter: float = 4.0, count: int = 5, turn_deg: float = 0.0, off: float = 0.0) -> Freedom:
    """A row and its own old holes, ``off`` mm beside it, in a wide plate."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    profile = plain_profile(diameter)
    sites = [DrillSite(i + 1, "row", (c * pitch * i, s * pitch * i), profile) for i in range(count)]
    old = tuple(
        OldHole(f"old {i + 1}", (c * pitch * i - s * off, s * pitch * i + c * off), diameter) for i in range(count)
    )
    part = PartShape(rectangle(-200.0, -200.0, 400.0, 400.0))
    return freedom_of(sites, Surroundings(part, old), LIMITS)


def test_half_a_pitch_passes_on_the_line() -> None:
    # Web pitch / 2 - rn - ro = 16 - 4 = 12 mm; 6 mm between centres needed
    advice = half_pitch_advice(row(32.0), (3.0, 0.0))
    assert advice is not None
    assert (advice.pitch, advice.web, advice.needed) == (32.0, 12.0, 6.0)
    assert advice.passes_on_the_line
    assert advice.shift == pytest.approx((16.0, 0.0))
    assert advice.allowed
    assert advice.margin == pytest.approx(10.0)
    assert [h.label for h in advice.old_holes] == [f"old {i}" for i in range(1, 6)]
    # It is the middle of a stretch that is free along the row
    assert any((i.low + i.high) / 2.0 == pytest.approx(16.0) for i in free_along(row(32.0), (1.0, 0.0)).free)
    back = half_pitch_advice(row(32.0), (-3.0, 0.0))
    assert back is not None
    assert back.shift == pytest.approx((-16.0, 0.0))


def test_a_short_pitch_needs_a_move_aside() -> None:
    # Pitch 10 < 2 s = 12: sqrt(6^2 - 5^2) between the lines
    aside = math.sqrt(36.0 - 25.0)
    advice = half_pitch_advice(row(10.0), (1.0, 0.5))
    assert advice is not None
    assert not advice.passes_on_the_line
    assert advice.web == pytest.approx(1.0)
    assert advice.aside == pytest.approx(aside)
    assert advice.shift == pytest.approx((5.0, aside))
    assert advice.margin == pytest.approx(0.0, abs=1e-9)
    blocked = free_along(row(10.0), (1.0, 0.0)).free
    assert all(i.high <= -40.0 or i.low >= 40.0 for i in blocked)
    below = half_pitch_advice(row(10.0), (1.0, -0.5))
    assert below is not None
    assert below.shift == pytest.approx((5.0, -aside))


def test_a_turned_row_and_an_old_line_beside_it() -> None:
    advice = half_pitch_advice(row(32.0, turn_deg=30.0, off=1.5), (1.0, 0.0))
    assert advice is not None
    assert advice.along == pytest.approx((math.cos(math.radians(30.0)), 0.5))
    assert advice.allowed
    along = advice.shift[0] * advice.along[0] + advice.shift[1] * advice.along[1]
    assert along == pytest.approx(16.0)


def test_something_else_may_forbid_it() -> None:
    sites = [DrillSite(i + 1, "row", (32.0 * i, 0.0), plain_profile(4.0)) for i in range(3)]
    old = [OldHole(f"old {i + 1}", (32.0 * i, 0.0), 4.0) for i in range(3)]
    old.append(OldHole("rivet", (17.0, 1.0), 4.0))
    advice = half_pitch_advice(freedom_of(sites, Surroundings(old_holes=tuple(old)), LIMITS), (3.0, 0.0))
    assert advice is not None
    assert not advice.allowed
    assert advice.binding is not None
    assert advice.binding.obstacle_name == "rivet"
    assert "rivet" not in [h.label for h in advice.old_holes]


def test_no_advice_where_it_means_nothing() -> None:
    assert half_pitch_advice(row(32.0), (0.0, 50.0)) is None  # far beside the old row
    crooked = [DrillSite(i + 1, "row", p, plain_profile(4.0)) for i, p in enumerate([(0, 0), (30, 0), (70, 0)])]
    old = tuple(OldHole(f"old {i}", (30.0 * i, 0.0), 4.0) for i in range(3))
    assert half_pitch_advice(freedom_of(crooked, Surroundings(old_holes=old), LIMITS), (0.0, 0.0)) is None
    sites = [DrillSite(i + 1, "row", (32.0 * i, 0.0), plain_profile(4.0)) for i in range(3)]
    other_pitch = tuple(OldHole(f"old {i}", (21.0 * i + 5.0, 0.0), 4.0) for i in range(3))
    assert half_pitch_advice(freedom_of(sites, Surroundings(old_holes=other_pitch), LIMITS), (0.0, 0.0)) is None
    assert half_pitch_advice(freedom_of(sites, Surroundings(), LIMITS), (0.0, 0.0)) is None
    assert half_pitch_advice(freedom_of(sites[:1], Surroundings(old_holes=old), LIMITS), (0.0, 0.0)) is None
