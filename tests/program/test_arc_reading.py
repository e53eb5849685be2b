"""Centres of arcs as a program states them: worked by hand, and the laws that both formats have to keep."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from holecam.program.arc_reading import (
    CHORD_TOLERANCE,
    PLANE_AXES,
    center_from_offsets,
    center_from_radius,
    upright_chords,
)
from holecam.program.arc_words import arc_sweep, chord_count, part_count
from holecam.program.blocks import RefusedLineError

LIMIT = 0.002  # mm, the published limit of the mismatch of both radii
places = st.tuples(st.floats(-50, 50), st.floats(-50, 50))


def test_offsets_count_from_the_start_or_are_the_centre_itself() -> None:
    assert center_from_offsets((3, 4), (13, 4), (5.0, None), absolute=False, limit=LIMIT) == (8.0, 4.0)
    assert center_from_offsets((3, 4), (3, 14), (None, 5.0), absolute=False, limit=LIMIT) == (3.0, 9.0)
    assert center_from_offsets((3, 4), (10, 11), (7.0, 0.0), absolute=False, limit=LIMIT) == (10.0, 4.0)
    assert center_from_offsets((3, 4), (10, 11), (10.0, 4.0), absolute=True, limit=LIMIT) == (10.0, 4.0)


def test_centres_that_cannot_be() -> None:
    for end, offsets, absolute, says in [
        ((10.0, 0.0), (None, None), False, "neither a centre"),
        ((10.0, 0.0), (5.0, None), True, "both words of the centre are needed"),
        ((10.0, 0.0), (None, 5.0), True, "both words of the centre are needed"),
        ((10.0, 0.0), (0.0, 0.0), False, "its centre is its start"),
        ((10.0, 0.0), (0.0, 0.0), True, "its centre is its start"),
        ((10.003, 0.0), (5.0, 0.0), False, r"lie 5\.00000 and 5\.00300 mm from its centre; they may differ by 0\.002"),
        ((9.997, 0.0), (5.0, 0.0), False, r"5\.00000 and 4\.99700"),
    ]:  # fmt: skip
        with pytest.raises(RefusedLineError, match=says):
            center_from_offsets((0.0, 0.0), end, offsets, absolute=absolute, limit=LIMIT)


def test_the_published_limit_itself_is_accepted() -> None:
    for off in [0.002, -0.002, 0.0019]:
        assert center_from_offsets((0, 0), (10 + off, 0), (5.0, 0.0), absolute=False, limit=LIMIT) == (5.0, 0.0)


def test_centre_of_a_radius_by_hand() -> None:
    """Chord from (0, 0) to (8, 0), radius 5: the centre is 3 mm off the chord, (4, 3) or (4, -3).

    Anticlockwise and short: the arc bulges to the right of the way, its centre lies on the left.
    """
    ends = (0.0, 0.0), (8.0, 0.0)
    assert center_from_radius(*ends, 5.0, ccw=True, limit=LIMIT) == pytest.approx((4.0, 3.0))
    assert center_from_radius(*ends, 5.0, ccw=False, limit=LIMIT) == pytest.approx((4.0, -3.0))
    assert center_from_radius(*ends, -5.0, ccw=True, limit=LIMIT) == pytest.approx((4.0, -3.0))
    assert center_from_radius(*ends, -5.0, ccw=False, limit=LIMIT) == pytest.approx((4.0, 3.0))
    small = center_from_radius((0.0, 0.0), (0.8, 0.0), -0.5, ccw=True, limit=LIMIT)
    assert small == pytest.approx((0.4, -0.3)), "the sign alone decides, however small the radius"
    # Half a circle whose radius was rounded down within the limit
    assert center_from_radius(*ends, 3.998, ccw=True, limit=LIMIT) == pytest.approx((4.0, 0.0))


@given(places, places, st.floats(1.0, 20.0), st.booleans(), st.booleans())
def test_a_radius_above_zero_is_the_short_way_round(
    start: tuple[float, float], end: tuple[float, float], more: float, long: bool, ccw: bool
) -> None:
    chord = math.dist(start, end)
    assume(chord > 0.1)
    radius = chord / 2 * more + 0.01
    center = center_from_radius(start, end, -radius if long else radius, ccw=ccw, limit=LIMIT)
    assert math.dist(start, center) == pytest.approx(radius, rel=1e-9)
    assert math.dist(end, center) == pytest.approx(radius, rel=1e-9)
    assert (abs(arc_sweep(start, end, center, ccw=ccw)) > math.pi) is long


def test_radii_that_cannot_be() -> None:
    for end, radius, says in [
        ((0.0, 0.0), 5.0, "may not end where it starts"),
        ((8.0, 0.0), 0.0, "the arc has the radius 0"),
        ((8.0, 0.0), 3.9, r"the radius 3\.9000 mm is too short: the ends are 8\.0000 mm apart"),
        ((8.0, 0.0), -3.9, r"the radius 3\.9000 mm is too short"),
        ((8.0, 0.0), 3.9979, "too short"),
    ]:
        with pytest.raises(RefusedLineError, match=says):
            center_from_radius((0.0, 0.0), end, radius, ccw=True, limit=LIMIT)


def test_an_upright_arc_is_walked_in_chords_that_hug_it() -> None:
    """A quarter or three quarters of a 5 mm circle in ZX or YZ, with 3 mm along the third axis spread evenly."""
    for ccw in [True, False]:
        for plane in [180, 190]:
            first, second, third = PLANE_AXES[plane]
            start, end = [0.0] * 3, [0.0] * 3
            start[first], start[second], start[third] = 12.0, 20.0, -1.0  # centre (7, 20): right of it
            end[first], end[second], end[third] = 7.0, 25.0, 2.0  # above it
            points = upright_chords(tuple(start), tuple(end), (7.0, 20.0), plane, ccw=ccw)  # type: ignore[arg-type]
            assert points[-1] == tuple(end)
            turn = math.pi / 2 if ccw else -3 * math.pi / 2
            before = tuple(start)
            for k, point in enumerate(points, 1):
                angle = turn * k / len(points)
                assert (point[first], point[second]) == pytest.approx(
                    (7 + 5 * math.cos(angle), 20 + 5 * math.sin(angle)), abs=1e-9
                )
                assert point[third] == pytest.approx(-1.0 + 3.0 * k / len(points))
                middle = ((before[first] + point[first]) / 2, (before[second] + point[second]) / 2)
                assert 5.0 - math.dist(middle, (7.0, 20.0)) <= CHORD_TOLERANCE * (1 + 1e-9)
                before = point
            assert len(points) == chord_count(turn, 5.0, CHORD_TOLERANCE)
            # One chord fewer would not do: r (1 - cos(turn / 2 n))
            assert 5.0 * (1 - math.cos(turn / (2 * (len(points) - 1)))) > CHORD_TOLERANCE


def test_an_upright_arc_of_an_absurd_radius_is_refused() -> None:
    with pytest.raises(RefusedLineError, match=r"an upright arc of radius 100000\.0 mm is not read"):
        upright_chords((0.0, 0.0, 1e5), (0.0, 0.0, -1e5), (0.0, 0.0), 180, ccw=True)


def test_the_greatest_upright_arc_has_twenty_thousand_chords() -> None:
    """r (1 - cos(pi / n)) = 0.0001 mm: for n = 20000 chords of a full circle r is 8105.69 mm."""
    for radius, count in ((8105.3, 20_000), (8106.1, None)):
        place = (0.0, 0.0, radius)
        if count is None:
            with pytest.raises(RefusedLineError, match="is not read"):
                upright_chords(place, place, (0.0, 0.0), 180, ccw=True)
        else:
            assert len(upright_chords(place, place, (0.0, 0.0), 180, ccw=True)) == count


def test_parts_and_chords_by_hand() -> None:
    """At most half a circle a part; chords of r = 1 within 1 - cos 45 degrees span 90 degrees each."""
    assert [part_count(s) for s in (0.1, math.pi, -math.pi, 3.2, -math.tau, math.tau)] == [1, 1, 1, 2, 2, 2]
    tolerance = 1 - math.cos(math.pi / 4)
    assert [chord_count(s, 1.0, tolerance) for s in (0.1, math.pi / 2, math.pi, -math.tau)] == [1, 1, 2, 4]
    assert [chord_count(s, 1e-5, 1e-4) for s in (0.1, math.pi / 2, math.pi, -math.tau)] == [1, 1, 2, 4]
