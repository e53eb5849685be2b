"""Hole circles against the unit-circle coordinates and chord factors of the handbooks."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.hole_circles import chord, hole_circle
from holecam.shapes import distance

# Machinery's Handbook, "Hole Coordinate Dimension Factors for Jig Boring", circle of diameter 1, first hole at the top,
# X from the left-hand tangent to the right, Y from the upper tangent downward, holes numbered to the left. From memory;
# the formula X = (1 - sin a) / 2, Y = (1 - cos a) / 2 with a = 360 (k - 1) / n has to agree in every digit.
JIG_BORING = {
    3: [(0.50000, 0.00000), (0.06699, 0.75000), (0.93301, 0.75000)],
    4: [(0.50000, 0.00000), (0.00000, 0.50000), (0.50000, 1.00000), (1.00000, 0.50000)],
    5: [(0.50000, 0.00000), (0.02447, 0.34549), (0.20611, 0.90451), (0.79389, 0.90451), (0.97553, 0.34549)],
    6: [
        (0.50000, 0.00000),
        (0.06699, 0.25000),
        (0.06699, 0.75000),
        (0.50000, 1.00000),
        (0.93301, 0.75000),
        (0.93301, 0.25000),
    ],
    7: [
        (0.50000, 0.00000),
        (0.10908, 0.18826),
        (0.01254, 0.61126),
        (0.28306, 0.95048),
        (0.71694, 0.95048),
        (0.98746, 0.61126),
        (0.89092, 0.18826),
    ],
    8: [
        (0.50000, 0.00000),
        (0.14645, 0.14645),
        (0.00000, 0.50000),
        (0.14645, 0.85355),
        (0.50000, 1.00000),
        (0.85355, 0.85355),
        (1.00000, 0.50000),
        (0.85355, 0.14645),
    ],
}
HALF_DIGIT = 0.5e-5

# Machinery's Handbook, "Lengths of Chords for Spacing Off the Circumferences of Circles", circle of diameter 1; from
# memory; the formula sin(180 / n) has to agree in every digit.
CHORDS = {
    3: 0.866025,
    4: 0.707107,
    5: 0.587785,
    6: 0.500000,
    7: 0.433884,
    8: 0.382683,
    9: 0.342020,
    10: 0.309017,
    11: 0.281733,
    12: 0.258819,
    13: 0.239316,
    14: 0.222521,
    15: 0.207912,
    16: 0.195090,
    18: 0.173648,
    20: 0.156434,
    24: 0.130526,
    30: 0.104528,
    36: 0.087156,
}


@pytest.mark.outside_check(
    subject="hole circle",
    source="Machinery's Handbook, hole coordinate factors, 3 to 8 holes; the same by sine and cosine",
    closeness="half of the last digit",
    standing="memory",
)
@pytest.mark.parametrize("count", sorted(JIG_BORING))
def test_handbook_coordinates_of_a_circle_of_diameter_one(count: int) -> None:
    circle = hole_circle(count, diameter=1.0, start_deg=90.0)
    for k, ((x, y), (table_x, table_y)) in enumerate(zip(circle.points, JIG_BORING[count], strict=True)):
        angle = math.tau * k / count
        assert ((1 - math.sin(angle)) / 2, (1 - math.cos(angle)) / 2) == pytest.approx(
            (table_x, table_y), abs=HALF_DIGIT
        )
        assert (0.5 + x, 0.5 - y) == pytest.approx((table_x, table_y), abs=HALF_DIGIT)


@pytest.mark.outside_check(
    subject="hole circle",
    source="Machinery's Handbook, lengths of chords, to 36 holes; the same by sin(pi/n)",
    closeness="half of the last digit",
    standing="memory",
)
@pytest.mark.parametrize("count", sorted(CHORDS))
def test_handbook_chords_between_neighbours(count: int) -> None:
    circle = hole_circle(count, diameter=1.0, start_deg=17.0)
    assert math.sin(math.pi / count) == pytest.approx(CHORDS[count], abs=0.5e-6)
    assert chord(diameter=1.0, step_deg=360 / count) == pytest.approx(CHORDS[count], abs=0.5e-6)
    for a, b in zip(circle.points, circle.points[1:] + circle.points[:1], strict=True):
        assert distance(a, b) == pytest.approx(CHORDS[count], abs=0.5e-6)


@given(st.integers(1, 60), st.floats(0.5, 900), st.floats(-360, 360), st.booleans())
def test_all_holes_lie_on_the_circle_and_their_middle_is_the_centre(
    count: int, diameter: float, start: float, clockwise: bool
) -> None:
    circle = hole_circle(count, diameter=diameter, start_deg=start, clockwise=clockwise)
    assert [math.hypot(*p) for p in circle.points] == pytest.approx([diameter / 2] * count, rel=1e-14)
    if count > 1:
        assert math.fsum(x for x, _ in circle.points) == pytest.approx(0.0, abs=1e-11 * diameter)
        assert math.fsum(y for _, y in circle.points) == pytest.approx(0.0, abs=1e-11 * diameter)
    angle = math.degrees(math.atan2(circle.points[0][1], circle.points[0][0]))
    assert math.remainder(angle - start, 360.0) == pytest.approx(0.0, abs=1e-9)


@given(st.integers(2, 30), st.floats(1, 359), st.floats(-180, 180), st.booleans())
def test_a_partial_circle_has_holes_at_both_ends(count: int, included: float, start: float, clockwise: bool) -> None:
    circle = hole_circle(count, diameter=100.0, start_deg=start, included_deg=included, clockwise=clockwise)
    side = -1 if clockwise else 1
    for k, (x, y) in enumerate(circle.points):
        angle = math.radians(start + side * k * included / (count - 1))
        assert (x, y) == pytest.approx((50 * math.cos(angle), 50 * math.sin(angle)), abs=1e-11)


def test_a_step_instead_of_an_included_angle() -> None:
    by_step = hole_circle(4, diameter=80.0, start_deg=10.0, step_deg=22.5)
    by_span = hole_circle(4, diameter=80.0, start_deg=10.0, included_deg=67.5)
    assert by_step.points == by_span.points


def test_clockwise_is_the_mirror_image_of_anticlockwise_to_the_last_bit() -> None:
    left = hole_circle(8, diameter=63.5)
    right = hole_circle(8, diameter=63.5, clockwise=True)
    assert right.points == tuple((x, -y) for x, y in left.points)
    assert left.numbering == "anticlockwise from hole 1 at 0 degrees"
    assert right.numbering == "clockwise from hole 1 at 0 degrees"


def test_one_hole_on_a_circle_lies_at_the_start_angle() -> None:
    assert hole_circle(1, diameter=10.0, start_deg=90.0).points == ((0.0, 5.0),)
    assert hole_circle(1, diameter=10.0, start_deg=180.0, included_deg=90.0).points == ((-5.0, 0.0),)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: hole_circle(0, diameter=10), "hole circle: count 0: expected at least 1 hole"),
        (lambda: hole_circle(3, diameter=0), "diameter 0 mm: expected above zero"),
        (lambda: hole_circle(3, diameter=math.nan), "diameter nan mm: expected above zero"),
        (lambda: hole_circle(3, diameter=10, start_deg=math.inf), "start angle inf: expected a finite number"),
        (lambda: hole_circle(3, diameter=10, included_deg=0), "included angle 0 degrees: expected above 0 and at most"),
        (lambda: hole_circle(3, diameter=10, included_deg=361), "included angle 361 degrees"),
        (lambda: hole_circle(3, diameter=10, included_deg=math.nan), "included angle nan degrees"),
        (lambda: hole_circle(3, diameter=10, included_deg=90, step_deg=30), "expected an included angle or a step"),
        (lambda: hole_circle(5, diameter=10, step_deg=90), r"5 holes 90 degrees apart: .* less than 90 degrees"),
        (lambda: hole_circle(5, diameter=10, step_deg=-10), "expected a step above zero"),
        (lambda: hole_circle(2, diameter=10, step_deg=math.nan), "expected a step above zero"),
        (lambda: hole_circle(90_000, diameter=10), "lie in one place"),
    ],
)
def test_circles_that_cannot_be_are_refused(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]
